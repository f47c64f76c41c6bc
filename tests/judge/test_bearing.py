"""Bearing by hand numbers: contact length, Hankinson, dowel bearing, rough depths, play, and loads that last."""

import dataclasses
import math

import numpy as np
import pytest
from parts import THICKNESS, check, document, held

import fesolve
from fesolve.fem.model import PlaneModel
from fesolve.judge.assess import assess
from fesolve.judge.inspected import inspect_part
from fesolve.judge.verdict import COMPRESSION_ACROSS, COMPRESSION_ALONG
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.outline import part_outline
from fesolve.modelling import wood_of
from fesolve.units import Formatter
from fesolve.view.words import dented, headline, holds

BED = {"name": "bed", "kind": "rest", "on": "edge A-B"}
CORNERS = [(0, 0), (100, 0), (100, 60), (0, 60)]


def push(start, stop, force=-6000):
    where = {"on": "edge C-D", "from": f"{start} mm", "to": f"{stop} mm"}
    return {"name": "push", **where, "force": ["0 N", f"{force} N"]}


def judged(doc, add, stiff=100.0):
    """Judge a part of own wood whose supports `add` puts on the model."""
    part = fesolve.part_from(doc)
    outline = part_outline(part)
    wood = wood_of(part, None)
    mesh = mesh_part(part, outline)
    plane = dataclasses.replace(wood.plane, E_0=stiff * wood.plane.E_0, E_90=stiff * wood.plane.E_90)
    model = add(PlaneModel(mesh, plane, thickness=part.wood.thickness, grain=part.wood.grain))
    for load in part.loads:
        model = model.force(f"load {load.name}", load.force, name=load.name)
    solution = model.solve([case.factors for case in part.cases])
    return assess(inspect_part(part, outline, wood, solution)).verdict


def on_bed(**more):
    """On a one-way bed, stopped sideways at corner A."""

    def add(model):
        return model.one_way("support bed", name="bed", **more).fix("corner A", ("x",), name="side")

    return add


SIDE = {"name": "side", "kind": "fixed", "on": "corner A", "axes": ["x"]}


def beside(verdict, name):
    return next(row for row in verdict.beside if row.name == name)


def test_a_bed_that_touches_all_over_bears_on_all_of_it():
    verdict = judged(document(CORNERS, support=[BED, SIDE], load=[push(0, 100)]), on_bed())
    row, (contact,) = beside(verdict, "bed"), verdict.contacts
    assert row.value == pytest.approx(6000 / (100 * THICKNESS), rel=1e-6) and "100 mm that touch" in row.note
    assert (contact.name, contact.case, contact.open) == ("bed", "all loads together", False)
    assert contact.length == pytest.approx(100.0) and contact.force == pytest.approx((0.0, 6000.0), abs=1e-6)
    assert contact.pressure == pytest.approx(3.0, rel=1e-6) and contact.play == 0.0 and contact.arcs == ()


def test_a_block_that_leans_bears_on_what_touches():
    """A stiff block on a bed of springs, pushed 30 mm to the right of its middle: 3 (L/2 - e) = 60 mm touch.

    The rule of the middle third: the pressure falls evenly to nothing, its greatest is twice the mean, F/(60 mm t) = 5
    MPa (textbook).
    """
    verdict = judged(
        document(CORNERS, support=[BED, SIDE], load=[push(10, 30)], mesh={"size": "2 mm"}), on_bed(stiffness=50.0)
    )
    row, (contact,) = beside(verdict, "bed"), verdict.contacts
    assert contact.length == pytest.approx(60.0, abs=1.5)
    assert row.value == pytest.approx(6000 / (contact.length * THICKNESS), rel=1e-9)
    over_five = 10.0 * (1 - 2.5 / 60)  # the greatest mean over 5 mm
    assert contact.pressure == pytest.approx(over_five, rel=0.02)
    assert contact.at[0] > 97.5 and contact.at[1] == 0.0
    assert row.utilisation == pytest.approx(row.value / 5.0) and row.depth == pytest.approx(1.0, rel=0.1)


def test_a_mean_pressure_is_over_five_millimetres_at_least():
    """Pushed beyond the corner's very edge nearly all of 600 N stand on it: 600/(5 mm t), whatever the mesh."""
    values = []
    for size in ("4 mm", "2 mm"):
        doc = document(CORNERS, support=[BED, SIDE], load=[push(0, 2, -600)], mesh={"size": size})
        values.append(beside(judged(doc, on_bed(), stiff=1e6), "bed"))
    assert [row.value for row in values] == pytest.approx([600 / (5 * THICKNESS)] * 2, rel=1e-6)
    assert "mean pressure over 5 mm, of which" in values[0].note


def test_a_rest_out_of_reach_is_open():
    def add(model):
        model = model.one_way("support bed", name="bed", gap=5.0)
        return model.fix("corner A", name="one").fix("corner B", ("y",), name="two")

    verdict = judged(document(CORNERS, support=[{**BED, "gap": "5 mm"}, *held()], load=[push(0, 100)]), add)
    (contact,) = verdict.contacts
    assert contact.open and contact.length == 0.0 and contact.pressure is None and contact.at is None
    assert contact.play == 5.0 and contact.slip == 0.0 and not any(row.name == "bed" for row in verdict.beside)


def test_a_pin_with_play_says_where_it_bears():
    """A pin of 19.5 mm in a hole of 20 mm, the part hung on it: the arc lies about the top of the pin."""
    hole = [{"name": "h", "center": ["50 mm", "30 mm"], "diameter": "20 mm"}]
    support = [{"name": "pivot", "kind": "pin", "on": "hole h", "pin": "19.5 mm"}, SIDE]

    def add(model):
        # in touch at the top: the pin's centre is 0.25 mm above the hole's
        model = model.one_way_pin("support pivot", (50.0, 30.25), 19.5, name="pivot")
        return model.fix("corner A", ("x",), name="side")

    doc = document(CORNERS, support=support, hole=hole, load=[push(40, 60, -2000)])
    verdict = judged(doc, add, stiff=1.0)
    (contact,), row = verdict.contacts, beside(verdict, "pivot")
    ((start, stop),) = contact.arcs
    assert 0.5 * (start + stop) == pytest.approx(90.0, abs=3.0) and 20.0 < stop - start < 180.0
    assert contact.play == pytest.approx(0.5) and contact.force == pytest.approx((0.0, 2000.0), abs=5.0)
    assert contact.length == pytest.approx(math.radians(stop - start) * 10.0, rel=0.1)
    assert row.value == pytest.approx(2000 / (19.5 * THICKNESS), rel=1e-3)  # over d t, not over the arc


# ---- pins in a species


def eye(basis="mean", angle=90.0, density=None, force=3000, **more):
    pull = force * np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))])
    hole = {"name": "h", "center": ["50 mm", "30 mm"], "diameter": "12.7 mm"}
    doc = document(
        CORNERS, basis=basis, support=[{"name": "foot", "kind": "fixed", "on": "edge D-A"}],
        load=[{"name": "pin", "on": "hole h", "force": [f"{pull[0]} N", f"{pull[1]} N"]}], hole=[hole], **more,
    )  # fmt: skip
    if density:
        doc["wood"]["density"] = density
    return doc


@pytest.mark.parametrize("angle, limit", [(0, 38.61), (90, 21.75), (45, 27.82)])
def test_a_pin_is_held_against_dowel_bearing(angle, limit):
    """G 0.50 and 1/2 in.: 5,600 and 3,150 psi (NDS 2018, Table 12.3.3, from memory), 2 P Q/(P + Q) at 45 deg.

    531.3 kg/m3 at 12 % moisture is G = 0.50: 1,000 x 0.50 x 1.12/(1 + 0.9 x 0.12 x 0.50).
    """
    row = beside(check(eye(angle=angle, density="531.3 kg/m^3")).verdict, "pin")
    assert row.allowable == pytest.approx(limit, rel=0.004)  # the table is rounded to 50 psi
    assert row.value == pytest.approx(3000 / (12.7 * THICKNESS)) and row.mode == COMPRESSION_ACROSS
    assert "F/(d t) against dowel bearing" in row.note and f"{angle} deg to the grain" in row.note


def test_dowel_bearing_is_listed_with_source_and_status():
    verdict = check(eye("lower 5%", density="531.3 kg/m^3")).verdict
    along, across = (row for row in verdict.allowables if row.mode == "dowel bearing")
    factors = {one.name: one.value for one in along.factors}
    assert factors["specific gravity"] == pytest.approx(0.50, rel=1e-3)
    assert factors["1 - 1.645 CoV"] == pytest.approx(1 - 1.645 * 0.10)
    assert along.value == pytest.approx(38.61 * 0.8355, rel=2e-3)
    assert across.value == pytest.approx(21.75 * 0.8355**1.45, rel=4e-3)
    assert "NDS 2018" in along.source and "given in the part file" in along.source and along.status == "computed here"
    assert along.basis == "lower 5%" and (along.factors[0].value, across.factors[0].value) == (
        0,
        90,
    )
    stand_in = [row for row in check(eye()).verdict.allowables if row.mode == "dowel bearing"]
    assert [row.value for row in stand_in] == [40.0, 5.0]
    assert all("choice of this program" in row.status and "stand in" in row.source for row in stand_in)


# ---- dents beyond their play


@pytest.mark.parametrize("limit, beyond", [(1.2, True), (3.0, False), (None, False)])
def test_a_dent_beyond_its_play_does_not_hold(limit, beyond):
    """6 kN on 40 mm by 20 mm: 7.5 MPa, 1.5 times f_c90 of 5 MPa: 1.5^2.2 = 2.44 mm deep."""
    foot = {"name": "foot", "kind": "rest", "on": "edge A-B", "from": "30 mm", "to": "70 mm"}
    part = fesolve.part_from(document(CORNERS, basis="lower 5%", support=[foot, SIDE], load=[push(30, 70)]))
    part = part.model_copy(
        update={"supports": (part.supports[0].model_copy(update={"play_limit": limit}), part.supports[1])}
    )
    verdict = fesolve.check(part, sure=False, splits=False).verdict
    row = beside(verdict, "foot")
    assert row.depth == pytest.approx(1.5**2.2, rel=0.02) and row.play_limit == limit
    assert ("dents beyond its play" in row.note) == beyond and row.end == "dents" and not row.decides
    assert verdict.beyond_play == (("foot",) if beyond else ())
    assert ("(roughly 2.4 mm deep, beyond its play)" in dented(verdict, Formatter("si"))) == beyond
    said = headline(verdict, Formatter("si"))
    assert said.startswith('DENTS BEYOND ITS PLAY: at "foot" roughly 2.4 mm deep, 1.2 mm allowed') == beyond
    assert holds(dataclasses.replace(verdict, governing=None)) != beyond


def test_a_break_is_told_before_a_dent():
    foot = {"name": "foot", "kind": "fixed", "on": "edge D-A"}
    part = fesolve.part_from(document(CORNERS, support=[foot], load=[push(0, 40, -60000)]))
    part = part.model_copy(update={"supports": (part.supports[0].model_copy(update={"play_limit": 1e-6}),)})
    verdict = fesolve.check(part, sure=False, splits=False).verdict
    verdict = dataclasses.replace(verdict, beyond_play=("foot",))
    assert verdict.governing.utilisation > 1.0 and not headline(verdict, Formatter("si")).startswith("DENTS")


# ---- loads that last


def test_a_lasting_load_lowers_the_strengths_of_its_case_once():
    """Two equal cases, one of them ten years long: everything but dents across the grain by 101.5/62.1 (the curve)."""
    case = {"loads": {"pull": 1.0, "push": 1.0}}
    doc = document(
        [(0, 0), (200, 0), (200, 40), (0, 40)],
        support=[{"name": "wall", "kind": "fixed", "on": "edge D-A"}],
        load=[
            {"name": "pull", "on": "edge B-C", "force": ["0 N", "-400 N"]},
            {**push(50, 90), "name": "push"},
        ],
        hole=[{"name": "h", "center": ["120 mm", "20 mm"], "diameter": "10 mm"}],
        case=[{"name": "short", **case}, {"name": "long", **case}],
    )
    doc["load"].append({"name": "pin", "on": "hole h", "force": ["-200 N", "0 N"]})
    for one in doc["case"]:
        one["loads"] = {"pull": 1.0, "push": 1.0, "pin": 1.0}
    part = fesolve.part_from(doc)
    ten_years = 10 * 365.25 * 86400
    part = part.model_copy(update={"cases": (part.cases[0], part.cases[1].model_copy(update={"seconds": ten_years}))})
    result = fesolve.check(part, sure=False, splits=False)
    verdict = result.verdict
    k = (18.3 + 108.4 * ten_years**-0.04635) / (18.3 + 108.4 * 300**-0.04635)
    assert k == pytest.approx(62.1 / 101.5, rel=2e-3)
    short, long = ([row for row in verdict.modes if row.case == name] for name in ("short", "long"))
    for a, b in zip(short, long, strict=True):
        assert (b.value, b.utilisation) == pytest.approx((a.value, a.utilisation / k), rel=1e-9)
        assert b.allowable == pytest.approx(a.allowable * k, rel=1e-9) and f"strength times {k:.2f}" in b.note
    assert verdict.governing.case == "long" and verdict.takes.low == pytest.approx(verdict.governing.load_factor)
    spots = {name: max(s.utilisation for s in verdict.hotspots if s.case == name) for name in ("short", "long")}
    assert spots["long"] == pytest.approx(spots["short"] / k, rel=1e-9)
    beside = {(row.case, row.name or row.mode): row for row in verdict.beside}
    assert beside["long", "push"].utilisation == pytest.approx(beside["short", "push"].utilisation, rel=1e-9)
    for name in ("pin", COMPRESSION_ALONG):  # at 0 deg to the grain f_c0 stands in for the pin
        assert beside["long", name].utilisation == pytest.approx(beside["short", name].utilisation / k, rel=1e-9)
    for mode, field in result.utilisation["long"].items():
        factor = 1.0 if mode == COMPRESSION_ACROSS else k
        assert field * factor == pytest.approx(result.utilisation["short"][mode], rel=1e-9, abs=1e-12)


def test_the_hand_s_load_falls_with_the_strength():
    part = fesolve.part_from(
        document(CORNERS, support=[{"name": "wall", "kind": "fixed", "on": "edge D-A"}], load=[push(20, 60)])
    )
    long = part.model_copy(update={"cases": (part.cases[0].model_copy(update={"seconds": 60 * 86400.0}),)})
    one, other = (
        fesolve.check(part, sure=False, splits=False).verdict,
        fesolve.check(long, sure=False, splits=False).verdict,
    )
    k = one.modes[0].utilisation / other.modes[0].utilisation
    assert k == pytest.approx(0.70, abs=0.005)  # (18.3 + 108.4 x 0.4883)/101.5
    assert other.hand_summary.load == pytest.approx(k * one.hand_summary.load, rel=1e-9)
    assert other.hand_summary.ratio == pytest.approx(one.hand_summary.ratio, rel=1e-9)


def test_a_blow_is_given_no_credit():
    part = fesolve.part_from(document(CORNERS, support=[{"name": "wall", "kind": "fixed", "on": "edge D-A"}],
                                      load=[push(20, 60)]))  # fmt: skip
    quick = part.model_copy(update={"cases": (part.cases[0].model_copy(update={"seconds": 0.1}),)})
    assert (
        fesolve.check(quick, sure=False, splits=False).verdict.modes
        == fesolve.check(part, sure=False, splits=False).verdict.modes
    )


def test_the_greatest_pressure_of_a_contact_does_not_follow_the_mesh():
    """A stiff bed under the middle third of a block: pressure has no limit at its ends; its means over 5 mm have."""
    bed = {"name": "bed", "kind": "rest", "on": "edge A-B", "from": "35 mm", "to": "65 mm"}
    found = []
    for size in ("3 mm", "1 mm"):
        doc = document(CORNERS, support=[bed, SIDE], load=[push(0, 100)], mesh={"size": size, "refine_limit": 1})
        verdict = check(doc).verdict
        (contact,) = verdict.contacts
        found.append((contact.pressure, contact.force[1]))
    assert found[0][0] == pytest.approx(found[1][0], rel=0.02) and found[0][0] > 10.0
    assert found[0][1] == pytest.approx(6000.0, rel=1e-9)


def test_a_rest_under_two_woods_is_judged_where_the_wood_is_weaker():
    """5 kN on 100 mm by 20 mm, all of it touching: 2.5 MPa; half of it on wood that bears 1 MPa."""
    soft = {"name": "soft", "corners": [[f"{x} mm", f"{y} mm"] for x, y in [(50, -1), (110, -1), (110, 70), (50, 70)]]}
    soft["wood"] = {"strength": {"compression_across": "1 MPa"}}
    doc = document(CORNERS, support=[BED, SIDE], load=[push(0, 100, -5000)], region=[soft])
    row = beside(check(doc).verdict, "bed")
    assert (row.value, row.allowable, row.utilisation) == pytest.approx((2.5, 1.0, 2.5), rel=1e-3)
    assert "over the 100 mm that touch" in row.note


def test_a_rest_on_a_thicker_piece_bears_on_its_thickness():
    """4 kN, all on a shoe 40 mm long and 30 mm thick: 3.33 MPa."""
    shoe = {"name": "shoe", "corners": [[f"{x} mm", f"{y} mm"] for x, y in [(28, -1), (72, -1), (72, 15), (28, 15)]]}
    foot = {"name": "foot", "kind": "rest", "on": "edge A-B", "from": "30 mm", "to": "70 mm"}
    doc = document(CORNERS, support=[foot, SIDE], load=[push(30, 70, -4000)], region=[{**shoe, "thickness": "30 mm"}])
    verdict = check(doc).verdict
    assert beside(verdict, "foot").value == pytest.approx(4000 / (40 * 30), rel=1e-6)
    assert verdict.contacts[0].length == pytest.approx(40.0)


def test_the_profile_of_a_contact_adds_up_to_its_force():
    """∫ p t ds along what touches is the reaction; it runs in one direction, with normals out of the wood."""
    corners = [(0, 0), (300, 0), (300, 60), (0, 60)]
    support = [
        {"name": "left", "kind": "rest", "on": "edge A-B", "from": "20 mm", "to": "60 mm", "friction": 0},
        {"name": "right", "kind": "rest", "on": "edge A-B", "from": "240 mm", "to": "280 mm", "friction": 0},
        {"name": "stop", "kind": "fixed", "on": "corner A", "axes": ["x"]},
    ]
    load = [{"name": "push", "on": "edge C-D", "from": "140 mm", "to": "160 mm", "force": ["0 N", "-2000 N"]}]
    (left, _) = check(document(corners, support=support, load=load)).verdict.contacts
    x, _, nx, ny, p = np.array(left.profile).T
    assert (np.diff(x) < 0).all() or (np.diff(x) > 0).all()
    assert (nx, ny) == (pytest.approx(0.0, abs=1e-9), pytest.approx(-1.0))
    assert abs(np.trapezoid(p, x)) * 20.0 == pytest.approx(left.force[1], rel=0.15)  # means over 5 mm, node to node
