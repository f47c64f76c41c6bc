"""What a part file means: values, names, defaults, cautions, overrides, examples, and US beside SI."""

import copy
import doctest
import math
import pickle
import tomllib
from pathlib import Path

import pytest

from fesolve.part import overrides, places
from fesolve.part.model import Corner, Part
from fesolve.part.places import edge_length
from fesolve.part.read import part_from, read_part
from fesolve.part.starter import starter

MESHES = Path(__file__).parents[2] / "meshes"

EVERYTHING = """
title = "Everything at once"
mesh_accuracy = "2 %"
accuracy_of = "peak"
margin = 2

[dimensions]
length = "10 in"
n = 2
push = "1 kN"
slope = "0.1 rad"

[wood]
species = "Ash, white"
board = "unknown"
thickness = "0.75 in"
grain = "slope/n"
basis = "lower 5%"
density = "600 kg/m^3"

[wood.elastic]
E_0 = "12 GPa"
E_90 = "600 MPa"
G = "780 N/mm^2"
nu_0_90 = 0.4

[wood.strength]
shear = "8 MPa"
tension_across = "2.3 MPa"

[wood.fracture]
G_Ic = ["100 J/m^2", "250 J/m^2"]
G_IIc = "800 J/m^2"

[outline]
corners = [
  {at = ["0 mm", "0 mm"], name = "B"},
  {at = ["length", "0 mm"], round = "8 mm"},
  {at = ["length", "4 in"], bow = "-5 mm"},
  {at = ["0 mm", "4 in"], name = "toe"},
]

[[hole]]
name = "big hole"
center = ["1 in", "2 in"]
diameter = "20 mm"

[[notch]]
name = "N"
edge = "edge B-A"
from = "4 in"
to = "5 in"
depth = "10 mm"
round = "2 mm"
ends = "square"

[[support]]
kind = "pin"
on = "hole big hole"
pin = "19.5 mm"
friction = 0.3

[[support]]
name = "seat"
kind = "rest"
on = "notch N floor"
gap = "0.5 mm"

[[support]]
name = "wall"
kind = "fixed"
on = "edge toe-B"
axes = ["y"]

[[support]]
name = "mat"
kind = "spring"
on = "edge B-A"
from = "8 in"
stiffness = "200 N/mm/mm"

[[support]]
name = "rail"
kind = "roller"
on = "edge A-C"
with_rounds = true

[[load]]
name = "push"
on = "corner C"
force = ["-push", "0 N"]

[[load]]
name = "wind"
on = "edge A-C"
to = "1 in"
traction = ["0 MPa", "n * 1 kPa"]

[[load]]
name = "water"
on = "hole big hole"
pressure = "-2 psi"

[gravity]
direction = [3, -4]

[[case]]
name = "full"
loads = {push = 1.0, gravity = "n/2", water = -1}
duration = "10 minutes"

[[case]]
loads = {push = 0}

[[cut]]
from = ["5 in", "0 mm"]
to = ["5 in", "4 in"]

[member]
line = [["0 mm", "2 in"], ["length", "2 in"]]

[if_it_breaks]
then = "the boards slide off"
people = "none"
second_catch = true

[mesh]
size = "4 mm"
refine_limit = 3
solver = "yard-lu"
"""


@pytest.fixture(scope="module")
def everything() -> Part:
    return part_from(tomllib.loads(EVERYTHING), file="all.toml")


def test_wood(everything: Part) -> None:
    wood = everything.wood
    assert wood.thickness == 19.05
    assert wood.grain == pytest.approx(math.degrees(0.05), rel=1e-14)
    assert wood.basis == "lower 5%"
    assert wood.density == pytest.approx(6e-10)
    assert wood.elastic == {"E_0": 12000.0, "E_90": 600.0, "G": 780.0, "nu_0_90": 0.4}
    assert wood.strength == {"shear": 8.0, "tension_across": 2.3}
    assert wood.fracture["G_Ic"] == pytest.approx((0.1, 0.25))
    assert wood.fracture["G_IIc"] == pytest.approx((0.8, 0.8))
    assert wood.fracture_single == ("G_IIc",)


def test_shape(everything: Part) -> None:
    assert everything.edge_names == ("B-A", "A-C", "C-toe", "toe-B")
    assert everything.corners[2] == Corner(name="C", at=(254.0, 101.6), bow=-5.0)
    assert everything.holes[0].center == (25.4, 50.8)
    notch = everything.notches[0]
    assert (notch.edge, notch.start, notch.stop, notch.depth, notch.round) == ("B-A", 101.6, 127.0, 10.0, 2.0)
    assert everything.cuts[0].name == "1"
    assert everything.member_line == ((0.0, 50.8), (254.0, 50.8))
    assert everything.mesh.size == 4.0
    assert everything.mesh.refine_limit == 3
    assert everything.mesh.solver == "yard-lu"


def test_supports_and_loads(everything: Part) -> None:
    pin, seat, wall, mat, rail = everything.supports
    assert (pin.name, pin.on.text, pin.pin, pin.friction) == ("1", "hole big hole", 19.5, 0.3)
    assert (seat.on.text, seat.on.face, seat.gap) == ("notch N floor", "floor", 0.5)
    assert wall.axes == ("y",)
    assert (mat.stiffness, mat.on.start, mat.on.stop) == (200.0, 203.2, 254.0)
    assert (rail.on.with_rounds, rail.on.start, rail.on.stop) == (True, None, None)
    push, wind, water = everything.loads
    assert push.force == (-1000.0, 0.0)
    assert wind.traction == pytest.approx((0.0, 0.002))
    assert (wind.on.start, wind.on.stop) == (0.0, 25.4)
    assert water.pressure == pytest.approx(-0.01378951, rel=1e-6)  # psi: NIST SP 811 (2008), appendix B.8
    assert everything.gravity is not None
    assert everything.gravity.direction == pytest.approx((0.6, -0.8))


def test_cases(everything: Part) -> None:
    assert everything.has_cases
    assert [(case.name, dict(case.factors)) for case in everything.cases] == [
        ("full", {"push": 1.0, "gravity": 1.0, "water": -1.0}),
        ("2", {"push": 0.0}),
    ]
    assert everything.if_it_breaks.people == "none"
    assert everything.if_it_breaks.second_catch is True


def test_settings_and_dimensions(everything: Part) -> None:
    assert (everything.mesh_accuracy, everything.accuracy_of, everything.margin) == (0.02, "peak", 2.0)
    assert everything.dimensions == {"length": "10 in", "n": "2", "push": "1 kN", "slope": "0.1 rad"}


def test_a_part_can_be_copied_and_sent_to_another_process(everything: Part) -> None:
    assert copy.deepcopy(everything) == everything
    assert pickle.loads(pickle.dumps(everything)) == everything


def test_the_sum_of_all_loads_is_the_case_where_none_is_named() -> None:
    text = EVERYTHING[: EVERYTHING.index("[[case]]")]
    part = part_from(tomllib.loads(text))
    assert not part.has_cases
    assert dict(part.cases[0].factors) == {"push": 1.0, "wind": 1.0, "water": 1.0, "gravity": 1.0}


def test_free_letters_skip_those_in_use() -> None:
    corners = [{"at": [f"{math.cos(k)} mm", f"{math.sin(k)} mm"]} for k in range(6)]
    corners[1]["name"] = "A"  # type: ignore[assignment]
    corners[3]["name"] = "C"  # type: ignore[assignment]
    document = tomllib.loads(EVERYTHING[: EVERYTHING.index("[outline]")])
    document |= {"outline": {"corners": corners}, "load": [{"on": "corner A", "force": ["1 N", "0 N"]}]}
    document |= {"support": [{"kind": "fixed", "on": "edge B-A"}]}
    assert [corner.name for corner in part_from(document).corners] == ["B", "A", "D", "C", "E", "F"]


def test_length_of_a_bowed_edge() -> None:
    # an arc of radius r over the half angle t: chord 2 r sin t, rise r (1 - cos t), length 2 r t
    radius, half = 50.0, 0.4
    chord, rise = 2 * radius * math.sin(half), radius * (1 - math.cos(half))
    arc = edge_length(Corner(name="A", at=(0, 0), bow=-rise), Corner(name="B", at=(chord, 0)))
    assert arc == pytest.approx(2 * radius * half, rel=1e-12)


def test_a_range_may_end_at_the_end_of_an_oblique_edge() -> None:
    document = tomllib.loads((MESHES / "pile_stop.toml").read_text())
    document["outline"]["corners"][1]["at"] = ["400 mm", "30 mm"]
    document["support"][1]["to"] = "401.123422 mm"  # hypot(400, 30) = 401.1234224...
    part = part_from(document)
    assert part.supports[1].on.stop == pytest.approx(401.123422)


def test_overrides() -> None:
    log_stop = MESHES / "pile_stop.toml"
    changed = read_part(
        log_stop,
        {
            "depth": "100 mm",
            "push": "5 kN",
            "wood.species": "Larch, western",
            "wood.thickness": "1.5 in",
            "wood.fracture.split_length": "20 mm",
            "support.2.from": "180 mm",
            "load.1.force.1": "1 kN",
            "if_it_breaks.second_catch": "true",
            "margin": "2",
            "title": "true",
        },
    )
    assert changed.holes[0].center == (70.0, 50.0)
    assert changed.loads[0].force == (1000.0, -5000.0)
    assert changed.wood.species == "Larch, western"
    assert changed.wood.thickness == pytest.approx(38.1)
    assert changed.wood.split_length == 20.0
    assert changed.supports[1].on.start == 180.0
    assert changed.if_it_breaks.second_catch is True
    assert changed.margin == 2.0
    assert changed.title == "true"
    assert changed.dimensions["depth"] == "100 mm"
    assert changed.source["dimensions"]["depth"] == "100 mm"  # type: ignore[index]
    assert read_part(log_stop).dimensions["depth"] == "140 mm"


LENGTHS = {"420 mm": 420.0, "140 mm": 140.0, "25 mm": 25.0, "70 mm": 70.0, "210 mm": 210.0, "40 mm": 40.0}


def test_the_same_part_in_us_units() -> None:
    text = (MESHES / "pile_stop.toml").read_text()
    us = text
    for old, value in {**LENGTHS, "320 mm": 320.0, "20 mm": 20.0, "38 mm": 38.0}.items():
        us = us.replace(f'"{old}"', f'"{value / 25.4!r} in"')
    us = us.replace('"10 kN"', f'"{10_000 / 4.4482216152605!r} lbf"').replace('"0 deg"', '"0 rad"')
    si_part, us_part = part_from(tomllib.loads(text)), part_from(tomllib.loads(us))
    left, right = numbers(si_part.model_dump(exclude={"source"})), numbers(us_part.model_dump(exclude={"source"}))
    assert len(left) == len(right) > 20
    assert left == pytest.approx(right, abs=1e-9, rel=1e-12)
    assert si_part.corners == us_part.corners
    assert si_part.holes == us_part.holes


def numbers(value: object) -> list[float]:
    """Collect every number in nested plain data."""
    if isinstance(value, dict):
        return [number for item in value.values() for number in numbers(item)]
    if isinstance(value, tuple | list):
        return [number for item in value for number in numbers(item)]
    return [value] if isinstance(value, float) else []


@pytest.mark.parametrize("path", sorted(MESHES.glob("*.toml")), ids=lambda path: path.stem)
def test_example_files(path: Path) -> None:
    part = read_part(path)
    assert path.read_text().startswith("# ")
    assert part.dimensions
    assert part.if_it_breaks.then
    assert len(part.sha256) == 64
    assert part.file == str(path)


def test_the_log_stop_is_the_lead_example() -> None:
    part = read_part(MESHES / "pile_stop.toml")
    assert [corner.at for corner in part.corners] == [(0.0, 0.0), (420.0, 0.0), (420.0, 140.0), (0.0, 140.0)]
    assert (part.holes[0].center, part.holes[0].diameter) == ((70.0, 70.0), 25.0)
    pin, beam = part.supports
    assert (beam.on.name, beam.on.start, beam.on.stop) == ("A-B", 190.0, 230.0)
    load = part.loads[0]
    assert load.on.start is not None
    assert load.on.stop is not None
    assert (420.0 - load.on.stop, 420.0 - load.on.start) == (310.0, 330.0)
    assert load.force == (0.0, -10000.0)
    assert (part.wood.species, part.wood.board, part.wood.basis) == ("Douglas-fir, coast", "flat-sawn", "mean")
    assert not part.wood.fracture
    assert pin.pin == 25.0


def test_starter_is_a_part_file_that_asks() -> None:
    text = starter()
    part = part_from(tomllib.loads(text))
    assert part.if_it_breaks.people == "near"
    for question in ("Why did it split?", "Will it hold?", "WHICH FACE OF THE BOARD", "WHAT HAPPENS IF IT BREAKS?"):
        assert question in text
    commented = "\n".join(line.removeprefix("# ") if line.startswith("# ") else line for line in text.splitlines())
    for table in ("[[notch]]", "[[strike]]", "[gravity]", "[[case]]"):
        assert table in commented


def test_what_the_starter_leaves_commented_parses_too() -> None:
    pieces = [block for block in starter().split("\n\n") if "# [" in block]
    extra = "\n".join(
        line.removeprefix("# ")
        for block in pieces
        for line in block[block.index("# [") :].splitlines()
        if line.startswith("# ")
    )
    part = part_from(tomllib.loads(starter() + extra))
    assert part.notches
    assert part.gravity
    assert part.strikes[0].pad
    assert part.cases[0].seconds
    assert part.has_cases


def test_examples_in_docstrings() -> None:
    for module in (places, overrides):
        assert doctest.testmod(module).failed == 0
