"""Strikes, moving loads, worn and sprung pins and durations: what is read, and one message for each thing refused."""

import doctest
import math
import re
import tomllib
from typing import Any

import pytest

from fesolve.errors import InputError
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.outline import part_outline
from fesolve.mesh.patches import patches_of
from fesolve.part import expressions, facing
from fesolve.part.durations import YEAR
from fesolve.part.facing import outward_normal, way
from fesolve.part.model import Corner, Notch, Pad, Part, Place
from fesolve.part.read import part_from

STOP = """
[dimensions]
length = "300 mm"
fast = "1.5 m/s"
season = "5 s"
[wood]
species = "Ash, white"
board = "flat-sawn"
thickness = "40 mm"
basis = "mean"
[outline]
corners = [
  {at = ["0 mm", "0 mm"], name = "A"},
  {at = ["length", "0 mm"], name = "B"},
  {at = ["length", "80 mm"], name = "C"},
  {at = ["0 mm", "80 mm"], name = "D", bow = "6 mm"},
]
[[hole]]
name = "pivot"
center = ["60 mm", "40 mm"]
diameter = "20 mm"
[[notch]]
name = "step"
edge = "C-D"
from = "200 mm"
to = "240 mm"
depth = "10 mm"
ramp = [0, 1]
[[support]]
name = "pin"
kind = "pin"
on = "hole pivot"
pin = "19.5 mm"
[[support]]
name = "beam"
kind = "rest"
on = "edge A-B"
from = "150 mm"
to = "190 mm"
"""
BLOW: dict[str, Any] = {
    "name": "log",
    "on": "edge C-D",
    "from": "50 mm",
    "to": "80 mm",
    "direction": "down",
    "mass": "180 kg",
    "speed": "fast",
}
LOAD: dict[str, Any] = {"name": "pile", "on": "edge C-D", "from": "50 mm", "to": "80 mm", "force": ["0 N", "-200 N"]}


def stop(*strikes: dict[str, Any], load: bool | list[dict[str, Any]] = False, **tables: Any) -> Part:
    document: dict[str, Any] = tomllib.loads(STOP) | {"strike": list(strikes)} | tables
    if load:
        document["load"] = [LOAD] if load is True else load
    return part_from(document, file="stop.toml")


def blow(*left_out: str, **changes: Any) -> dict[str, Any]:
    """The plain blow, with keys left out and changed."""
    return {key: value for key, value in (BLOW | changes).items() if key not in left_out}


# ---- what is read


def test_a_strike_in_internal_units() -> None:
    (strike,) = stop(blow("speed", run="2 m", slope="5 deg", push="0 N", pad={"stiffness": "0.6 kN/mm"})).strikes
    assert (strike.name, strike.on.text, strike.on.start, strike.on.stop) == ("log", "edge C-D", 50.0, 80.0)
    assert strike.direction == (0.0, -1.0)
    assert strike.mass == pytest.approx(0.18)  # tonne
    assert (strike.run, strike.slope, strike.push, strike.speed, strike.drop) == (2000.0, 5.0, 0.0, None, None)
    assert strike.pad == Pad(stiffness=600.0, travel=None)
    assert (strike.striker_stiffness, strike.mount_stiffness, strike.inertia) == (None, None, None)


@pytest.mark.parametrize("inertia", ["12 kg m^2", "12 kg*m^2", "12 kg·m²", "12e6 kg*mm^2", "12 N*m*s^2"])
def test_a_turning_striker(inertia: str) -> None:
    strike = stop(
        blow("mass", inertia=inertia, arm="600 mm", striker_stiffness="3 kN/mm", mount_stiffness="900 kN/m")
    ).strikes[0]
    assert strike.inertia == pytest.approx(12_000.0)  # tonne mm^2: 1 kg m^2 is 1000 of them
    assert (strike.arm, strike.mass) == (600.0, None)
    assert strike.striker_stiffness == pytest.approx(3000.0)
    assert strike.mount_stiffness == pytest.approx(900.0)


@pytest.mark.parametrize(
    ("given", "speed", "drop"),
    [({"speed": "1.5 m/s"}, 1500.0, None), ({"speed": "10 ft/s"}, 3048.0, None), ({"drop": "1 ft"}, None, 304.8)],
)
def test_how_fast_it_comes(given: dict[str, str], speed: float | None, drop: float | None) -> None:
    strike = stop(blow("speed") | given).strikes[0]
    assert strike.speed == (speed and pytest.approx(speed))
    assert strike.drop == (drop and pytest.approx(drop))


def test_nameless_strikes_are_not_mistaken_for_nameless_loads() -> None:
    load = {key: value for key, value in LOAD.items() if key != "name"}
    part = stop(blow("name"), load=[load])
    assert (part.loads[0].name, part.strikes[0].name) == ("1", "strike 1")


def test_overrides_reach_the_keys_of_strikes() -> None:
    document = tomllib.loads(STOP) | {"strike": [blow(pad={"stiffness": "200 N/mm"})], "load": [LOAD]}
    changes = {
        "strike.1.speed": "3 m/s",
        "strike.1.pad.travel": "9 mm",
        "support.1.worn": "1.5 mm",
        "support.2.play_limit": "2 mm",
        "load.1.grows": "false",
    }
    part = part_from(document, overrides=changes)
    assert part.strikes[0].speed == pytest.approx(3000.0)
    assert part.strikes[0].pad == Pad(stiffness=200.0, travel=9.0)
    assert (part.supports[0].worn, part.supports[1].play_limit) == (1.5, 2.0)
    assert part.loads[0].grows is False


def test_what_grows() -> None:
    part = stop(load=[LOAD, LOAD | {"name": "other", "grows": False}], gravity={"direction": "down"})
    assert [load.grows for load in part.loads] == [True, False]
    assert part.gravity is not None and part.gravity.grows is False
    part = stop(load=True, gravity={"direction": "down", "grows": True})
    assert part.gravity is not None and part.gravity.grows is True


def test_a_pin_that_gives_and_wears() -> None:
    document = tomllib.loads(STOP) | {"load": [LOAD]}
    document["support"][0] |= {"stiffness": "8 kN/mm", "worn": "1.5 mm", "play_limit": "1 mm", "friction": 0.2}
    pin, rest = part_from(document).supports
    assert (pin.pin_stiffness, pin.stiffness) == (8000.0, None)
    assert (pin.worn, pin.play_limit, pin.friction) == (1.5, 1.0, 0.2)
    assert (rest.pin_stiffness, rest.worn, rest.play_limit, rest.friction) == (None, None, None, None)


# ---- which way a place faces


def test_into_the_wood_is_against_the_mean_outward_normal() -> None:
    def into(on: str) -> tuple[float, float]:
        return stop(blow("from", "to", on=on, direction="into the wood")).strikes[0].direction

    assert into("edge C-D") == (0.0, -1.0)
    assert into("edge B-C") == (-1.0, 0.0)
    assert into("edge D-A") == (1.0, 0.0)  # an arc: square to its chord
    assert into("notch step floor") == into("notch step") == (0.0, -1.0)
    assert into("notch step start") == (1.0, 0.0)  # C-D runs to the left: the start face looks along it, to the left
    assert into("notch step end") == pytest.approx((-math.sqrt(0.5), -math.sqrt(0.5)))  # it rises 1 in 1


def test_the_sense_of_the_outline_does_not_matter() -> None:
    corners = tuple(Corner(name=n, at=at) for n, at in zip("ABC", ((0, 0), (3, 0), (3, 4)), strict=True))
    back = tuple(reversed(corners))
    assert outward_normal(Place(kind="edge", name="C-A"), corners, ()) == pytest.approx((-0.8, 0.6))
    assert outward_normal(Place(kind="edge", name="A-C"), back, ()) == pytest.approx((-0.8, 0.6))


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("bow", [1.0, -0.4])
def test_a_piece_of_an_arc_faces_away_from_the_arc_s_centre(sense: int, bow: float) -> None:
    """Of a circle through (0, 0), (2, 0) and the crown: the normal at the middle of a piece is the radius there."""
    low, high = Corner(name="A", at=(0, 0), bow=bow), Corner(name="B", at=(2, 0))
    corners = (low, high, Corner(name="C", at=(1, 9)))
    if sense < 0:
        corners = (Corner(name="A", at=(2, 0), bow=bow), Corner(name="B", at=(0, 0)), Corner(name="C", at=(1, 9)))
    radius = (1.0 + bow**2) / (2.0 * abs(bow))
    centre = (1.0, -bow + math.copysign(radius, bow))  # the crown lies at y = -bow: outward is down
    half = 2.0 * math.atan(abs(bow))
    middle = radius * half / 2.0  # a quarter of the way from A to B
    place = Place(kind="edge", name="A-B", start=0.5 * middle, stop=1.5 * middle)
    x, y = outward_normal(place, corners, ())
    outward = math.copysign(1.0, bow)  # a bulge faces away from its centre, a hollow towards it
    angle = half / 2.0
    point = (centre[0] - sense * radius * math.sin(angle), centre[1] - math.copysign(radius * math.cos(angle), bow))
    expected = ((point[0] - centre[0]) / radius * outward, (point[1] - centre[1]) / radius * outward)
    assert (x, y) == pytest.approx(expected, abs=1e-12)


def test_a_whole_notch_faces_as_its_mouth() -> None:
    corners = tuple(Corner(name=n, at=at) for n, at in zip("ABCD", ((0, 0), (9, 0), (9, 9), (0, 9)), strict=True))
    notch = Notch(name="n", edge="A-B", start=2, stop=8, depth=2, ramp=(0.5, 1.5))
    assert outward_normal(Place(kind="notch", name="n"), corners, (notch,)) == (0.0, -1.0)


def test_directions_in_words() -> None:
    assert [way((x, y)) for x, y in ((1, 0), (0, 1), (-1, 0.1), (-0.7, -0.7))] == [
        *("to the right", "up", "to the left", "down and to the left")
    ]


# ---- what moves


def test_what_moves_begins_at_the_first_position() -> None:
    moving = {"width": "20 mm", "anywhere": ["50 mm", "0.2 m"]}
    (strike,) = stop(blow("from", "to", **moving)).strikes
    assert (strike.width, strike.anywhere) == (20.0, (50.0, 200.0))
    assert (strike.on.start, strike.on.stop) == (50.0, 70.0)
    there = strike.moved(120.0)
    assert (there.on.start, there.on.stop, there.anywhere) == (120.0, 140.0, (50.0, 200.0))
    assert there.model_copy(update={"on": strike.on}) == strike
    with pytest.raises(ValueError, match="stays in one place"):
        stop(blow()).strikes[0].moved(3.0)


def test_a_load_that_moves() -> None:
    load = {key: value for key, value in LOAD.items() if key not in {"from", "to"}}
    (found,) = stop(load=[load | {"width": "20 mm", "anywhere": ["length - 250 mm", "length"]}]).loads
    assert (found.width, found.anywhere) == (20.0, (50.0, 300.0))
    assert (found.moved(280.0).on.start, found.moved(280.0).on.stop) == (280.0, 300.0)


def test_the_mesh_has_an_edge_for_each_strike() -> None:
    part = stop(blow(), blow("from", "to", name="end", on="edge B-C", direction="left"), load=True)
    labels = ["support pin", "support beam", "load pile", "load log", "load end"]
    assert [patch.label for patch in patches_of(part)] == labels
    mesh = mesh_part(part, part_outline(part))
    x, y = mesh.points[mesh.edges["load log"].ravel()].T
    assert (x.min(), x.max()) == pytest.approx((220.0, 250.0))
    assert y == pytest.approx(80.0)
    x, y = mesh.points[mesh.edges["load end"].ravel()].T
    assert x == pytest.approx(300.0)
    assert (y.min(), y.max()) == pytest.approx((0.0, 80.0))


# ---- cases


def test_one_strike_acts_with_all_loads() -> None:
    part = stop(blow(), load=True, gravity={"direction": "down"})
    assert not part.has_cases
    assert [(case.name, dict(case.factors)) for case in part.cases] == [
        ("all loads together", {"pile": 1.0, "gravity": 1.0, "log": 1.0})
    ]


def test_several_strikes_come_one_at_a_time() -> None:
    part = stop(blow(), blow(name="next"), load=True)
    assert part.has_cases
    assert [(case.name, dict(case.factors)) for case in part.cases] == [
        ("log", {"pile": 1.0, "log": 1.0}),
        ("next", {"pile": 1.0, "next": 1.0}),
    ]


def test_a_part_may_be_struck_and_bear_nothing_else() -> None:
    assert dict(stop(blow()).cases[0].factors) == {"log": 1.0}


def test_cases_name_strikes() -> None:
    part = stop(blow(), load=True, case=[{"loads": {"pile": 0.5, "log": 1}}, {"loads": {"pile": 2}}])
    assert [dict(case.factors) for case in part.cases] == [{"pile": 0.5, "log": 1.0}, {"pile": 2.0}]


@pytest.mark.parametrize(
    ("written", "seconds"),
    [
        ("10 years", 10 * YEAR),
        ("1 year", YEAR),
        ("2 months", YEAR / 6),
        ("1 week", 604_800),
        ("7 days", 604_800),
        ("3 h", 10_800),
        ("2 hours", 7200),
        ("10 min", 600),
        ("10 minutes", 600),
        ("1.5e1 s", 15),
        ("50 ms", 0.05),
        ("season", 5),
        ("permanent", 50 * YEAR),
        ("impact", 1),
    ],
)
def test_durations(written: str, seconds: float) -> None:
    (case,) = stop(load=True, case=[{"loads": {"pile": 1}, "duration": written}]).cases
    assert case.duration == written
    assert case.seconds == pytest.approx(seconds)


# ---- what is refused

REFUSED = [  # keys left out, keys changed, message, key path
    ("direction", {}, '[[strike]] 1 needs direction; the way the striker moves: "down", "up"', "strike.1.direction"),
    ("", {"direction": "south"}, '"right", "into the wood" or [dx, dy].', "strike.1.direction"),
    ("", {"direction": [0, 0]}, "points nowhere", "strike.1.direction"),
    (
        "",
        {"direction": "up"},
        'Strike "log" moves up, and "edge C-D" faces up (0, 1): such a blow does not meet it from outside.',
        "strike.1.direction",
    ),
    ("", {"direction": "left"}, 'Write direction = "into the wood", or name the place', "strike.1.direction"),
    ("", {"on": "notch step start", "from": None, "direction": "left"}, "faces to the left (-1, 0)", "strike.1."),
    ("on", {}, "[[strike]] 1 needs on; the place where it sits", "strike.1.on"),
    ("from to", {"on": "corner C"}, "a corner has no area, and the stress of a blow there has no limit", "strike.1.on"),
    ("from to", {"on": "hole pivot", "direction": "into the wood"}, "give its force as a [[load]]", "strike.1.on"),
    ("", {"on": "edge D-C"}, 'write "C-D"', "strike.1.on"),
    ("", {"to": "301 mm"}, "to = 301 mm is not on the edge", "strike.1.to"),
    ("mass", {}, '[[strike]] 1 needs mass; what hits has a mass: mass = "180 kg", or inertia', "strike.1.mass"),
    ("", {"mass": "0 kg"}, '"0 kg" is not greater than 0; mass has to be.', "strike.1.mass"),
    ("", {"mass": "-1 kg"}, "is not greater than 0", "strike.1.mass"),
    ("", {"mass": "180 N"}, '"180 N" is a force, but a mass (kg, g, tonne, lb) is wanted', "strike.1.mass"),
    ("", {"inertia": "9 kg*m^2", "arm": "1 m"}, "has a mass and inertia and arm; give one of them", "strike.1.inertia"),
    ("", {"arm": "1 m"}, "has a mass and arm; give one of them", "strike.1.arm"),
    ("mass", {"inertia": "9 kg*m^2"}, "needs arm; inertia and arm go together", "strike.1.arm"),
    ("mass", {"arm": "1 m"}, "needs inertia; inertia and arm go together", "strike.1.inertia"),
    ("mass", {"inertia": "0 kg*m^2", "arm": "1 m"}, "is not greater than 0", "strike.1.inertia"),
    ("mass", {"inertia": "9 kg*m^2", "arm": "0 m"}, "is not greater than 0", "strike.1.arm"),
    ("mass", {"inertia": "9 kg", "arm": "1 m"}, "is a mass, but an inertia (kg*m^2, ", "strike.1.inertia"),
    ("speed", {}, '[[strike]] 1 needs speed; a strike arrives with a speed: speed = "2 m/s"', "strike.1.speed"),
    ("", {"speed": "0 m/s"}, "is not greater than 0; speed has to be.", "strike.1.speed"),
    ("", {"speed": "2 m"}, "is a length, but a speed (m/s, mm/s, ft/s) is wanted", "strike.1.speed"),
    ("", {"drop": "1 m"}, "needs exactly one of speed", "strike.1.drop"),
    ("", {"run": "1 m", "slope": "5 deg"}, "found speed and run and slope.", "strike.1.run"),
    ("speed", {"drop": "1 m", "run": "1 m"}, "found drop and run.", "strike.1.run"),
    ("speed", {"drop": "0 m"}, "is not greater than 0; drop has to be.", "strike.1.drop"),
    ("speed", {"run": "1 m"}, "needs slope; run and slope go together", "strike.1.slope"),
    ("speed", {"slope": "5 deg"}, "needs run; run and slope go together", "strike.1.run"),
    ("speed", {"slope": "5 deg", "run": "-1 m"}, "is not greater than 0", "strike.1.run"),
    *(
        ("speed", {"run": "1 m", "slope": slope}, f'"{slope}" is not between 0 and 90 deg', "strike.1.slope")
        for slope in ("0 deg", "90 deg", "-5 deg")
    ),
    ("", {"push": "-1 N"}, '"-1 N" is below 0; push must not be.', "strike.1.push"),
    ("", {"striker_stiffness": "0 N/mm"}, "is not greater than 0", "strike.1.striker_stiffness"),
    ("", {"mount_stiffness": "3 kN"}, "is a force, but a stiffness (N/mm, kN/mm, ", "strike.1.mount_stiffness"),
    ("", {"pad": "soft"}, '"soft" is not a table; write pad = {stiffness', "strike.1.pad"),
    ("", {"pad": {"travel": "3 mm"}}, 'The pad of strike "log" needs stiffness; force for', "strike.1.pad.stiffness"),
    ("", {"pad": {"stiffness": "1 N/mm", "travel": "0 mm"}}, "is not greater than 0", "strike.1.pad.travel"),
    ("", {"pad": {"stifness": "1 N/mm"}}, 'Nearest: "stiffness".', "strike.1.pad.stifness"),
    ("", {"velocity": "1 m/s"}, 'Key "velocity" is not known in [[strike]] 1.', "strike.1.velocity"),
    ("", {"sped": "1 m/s"}, 'Nearest: "speed".', "strike.1.sped"),
    ("", {"name": "pile"}, 'The name "pile" is used for a load and a strike; names must differ.', "strike.1.name"),
    ("", {"name": "gravity"}, 'A strike cannot be called "gravity"', "strike.1.name"),
    # what moves
    ("from to", {"width": "20 mm"}, "needs anywhere; width and anywhere go together", "strike.1.anywhere"),
    ("from to", {"anywhere": ["9 mm", "99 mm"]}, "needs width; width and anywhere go together", "strike.1.width"),
    (
        "to",
        {"width": "20 mm", "anywhere": ["9 mm", "99 mm"]},
        "from says where it stays, but anywhere says that it moves",
        "strike.1.from",
    ),
    (
        "from to",
        {"width": "20 mm", "anywhere": ["9 mm", "99 mm"], "with_rounds": True},
        "with_rounds says where it stays",
        "strike.1.with_rounds",
    ),
    ("from to", {"width": "0 mm", "anywhere": ["9 mm", "99 mm"]}, "is not greater than 0", "strike.1.width"),
    (
        "from to",
        {"width": "90 mm", "anywhere": ["9 mm", "99 mm"]},
        "width = 90 mm leaves no way to go in a range of 90 mm (anywhere).",
        "strike.1.width",
    ),
    (
        "from to",
        {"width": "1 in", "anywhere": ["0 in", "12 in"]},
        '12 in of anywhere is not on the edge; edge "C-D" is 11.811 in long, counted from C.',
        "strike.1.anywhere",
    ),
    ("from to", {"width": "1 mm", "anywhere": ["-1 mm", "9 mm"]}, "-1 mm of anywhere is not on", "strike.1.anywhere"),
    ("from to", {"width": "1 mm", "anywhere": ["9 mm", "8 mm"]}, "from has to be below to", "strike.1.anywhere"),
    ("from to", {"width": "1 mm", "anywhere": "9 mm"}, "is not a pair; write [x, y]", "strike.1.anywhere"),
    (
        "from to",
        {"on": "edge D-A", "direction": "right", "width": "1 mm", "anywhere": ["1 mm", "9 mm"]},
        'anywhere runs along a straight edge, but "edge D-A" is an arc.',
        "strike.1.on",
    ),
    (
        "from to",
        {"on": "notch step floor", "width": "1 mm", "anywhere": ["1 mm", "9 mm"]},
        'but it sits on "notch step floor".',
        "strike.1.on",
    ),
]


@pytest.mark.parametrize(("left_out", "changes", "message", "key"), REFUSED)
def test_strikes_that_are_refused(left_out: str, changes: dict[str, Any], message: str, key: str) -> None:
    changed = {name: value for name, value in changes.items() if value is not None}
    gone = [*left_out.split(), *(name for name, value in changes.items() if value is None)]
    if "notch" in changed.get("on", ""):
        gone += ["from", "to"]
    refuse(message, key, blow(*gone, **changed), load=True)


def refuse(message: str, key: str, *strikes: dict[str, Any], **tables: Any) -> None:
    with pytest.raises(InputError, match=re.escape(message)) as raised:
        stop(*strikes, **tables)
    assert raised.value.key is not None
    assert raised.value.key.startswith(key) if key.endswith(".") else raised.value.key == key
    assert raised.value.exit_code == 2
    assert len(str(raised.value)) < 600


def test_names_of_strikes_differ() -> None:
    refuse('The name "log" is used for two strikes', "strike.2.name", blow(), blow())


@pytest.mark.parametrize(
    ("case", "message", "key"),
    [
        (
            {"log": 2},
            'the factor of strike "log" is 2, but a strike happens or it does not: write 1',
            "case.1.loads.log",
        ),
        ({"log": 0}, "is 0, but a strike happens or it does not", "case.1.loads.log"),
        ({"log": 1, "next": 1}, 'Case "1" has the strikes "log" and "next"; one blow at a time', "case.1.loads.next"),
        ({"lag": 1}, 'there is no load "lag". Loads: "pile", "log", "next".', "case.1.loads.lag"),
    ],
)
def test_cases_that_are_refused(case: dict[str, int], message: str, key: str) -> None:
    refuse(message, key, blow(), blow(name="next"), load=True, case=[{"loads": case}])


@pytest.mark.parametrize("duration", ["50 ms", "impact", "permanent"])
def test_a_blow_has_no_duration(duration: str) -> None:
    case = [{"name": "hit", "loads": {"log": 1}, "duration": duration}]
    message = 'Case "hit": strike "log" is a blow, over in milliseconds'
    refuse(message, "case.1.duration", blow(), case=case)


@pytest.mark.parametrize(
    ("duration", "message"),
    [
        ("long", 'Case "1": "long" is not a duration. Nearest: "long-term". Write "permanent" (50 years)'),
        ("permanant", 'Nearest: "permanent".'),
        ("3 yeers", 'Nearest: "year".'),
        ("3", '"3" is not a duration.'),
        ("-3 s", '"-3 s" is not a duration.'),
        ("0 s", '"0 s" is not a time above 0.'),
        ("length", "is a length, but a time"),
        (3, "3 is not text; write it in quotes"),
    ],
)
def test_durations_that_are_refused(duration: object, message: str) -> None:
    refuse(message, "case.1.duration", load=True, case=[{"loads": {"pile": 1}, "duration": duration}])


@pytest.mark.parametrize(
    ("number", "changes", "message", "key"),
    [
        (0, {"worn": "0.3 mm"}, "worn = 0.3 mm is the play (hole less pin) once it is worn, and not above", "worn"),
        (0, {"worn": "0.5 mm"}, "and not above the play now, 0.5 mm.", "worn"),
        (0, {"worn": "1 in"}, "and not below the hole's diameter, 0.7874 in.", "worn"),
        (0, {"worn": "0 mm"}, "is not greater than 0", "worn"),
        (0, {"pin": "0.8 in"}, 'a pin of 0.8 in does not go into hole "pivot" of 0.7874 in.', "pin"),
        (0, {"stiffness": "8 N/mm/mm"}, "is a stress, but a stiffness (N/mm, ", "stiffness"),
        (0, {"stiffness": "0 N/mm"}, "is not greater than 0", "stiffness"),
        (0, {"play_limit": "0 mm"}, '"0 mm" is not greater than 0; play_limit has to be.', "play_limit"),
        (0, {"friction": -0.1}, "-0.1 is below 0; friction must not be.", "friction"),
        (1, {"friction": "-0.1"}, '"-0.1" is below 0; friction must not be.', "friction"),
        (1, {"play_limit": "-1 mm"}, "is not greater than 0", "play_limit"),
        (1, {"worn": "1 mm"}, 'worn belongs to a support of kind pin, but this one is "rest".', "worn"),
        (
            1,
            {"kind": "roller", "play_limit": "1 mm"},
            'play_limit belongs to a support of kind fixed or rest or pin, but this one is "roller".',
            "play_limit",
        ),
    ],
)
def test_supports_that_are_refused(number: int, changes: dict[str, Any], message: str, key: str) -> None:
    document = tomllib.loads(STOP)
    document["support"][number] |= changes
    refuse(message, f"support.{number + 1}.{key}", load=True, support=document["support"])


@pytest.mark.parametrize(
    ("changes", "message", "key"),
    [
        ({"width": "9 mm"}, "needs anywhere; width and anywhere go together", "load.1.anywhere"),
        (
            {"pressure": "1 MPa", "width": "9 mm", "anywhere": ["0 mm", "99 mm"]},
            'Load "wheel": anywhere goes with a force, but a pressure is given.',
            "load.1.anywhere",
        ),
        (
            {"on": "hole pivot", "width": "9 mm", "anywhere": ["0 mm", "99 mm"]},
            'anywhere runs along a straight edge, but it sits on "hole pivot".',
            "load.1.on",
        ),
        ({"width": "9 mm", "anywhere": ["0 mm", "301 mm"]}, "301 mm of anywhere is not on the edge", "load.1.anywhere"),
        ({"grows": "no"}, '"no" is neither true nor false', "load.1.grows"),
    ],
)
def test_moving_loads_that_are_refused(changes: dict[str, Any], message: str, key: str) -> None:
    load = {"name": "wheel", "on": "edge C-D", "force": ["0 N", "-1 N"]} | changes
    if "pressure" in load:
        del load["force"]
    refuse(message, key, load=[load])


def test_gravity_that_grows_is_true_or_false() -> None:
    refuse("is neither true nor false", "gravity.grows", gravity={"direction": "down", "grows": 1})


def test_lengths_are_told_in_the_user_s_own_unit() -> None:
    message = 'to = 12 in is not on the edge; edge "C-D" is 11.811 in long, counted from C.'
    refuse(message, "strike.1.to", blow(to="12 in"))
    refuse(
        'from = 2 in is not below to = 1 in; edge "C-D" is 11.811 in',
        "strike.1.from",
        blow(**{"from": "2 in", "to": "1 in"}),
    )


def test_examples_in_docstrings_of_expressions_and_facing() -> None:
    for module in (facing, expressions):
        assert doctest.testmod(module).failed == 0
