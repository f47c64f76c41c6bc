"""The judgement by region: each piece by its own wood, grain and thickness."""

import numpy as np
import pytest
from parts import STRENGTH, check, document, held, mm, row, uniform

import fesolve
from fesolve.judge.edges import _first_border
from fesolve.judge.lines import GrainLines
from fesolve.judge.splitting import SHEAR, Integrals
from fesolve.judge.zones import names_at, region_of, zones_of
from fesolve.modelling import woods_of


def box(low, left, high, right):
    return [mm(left, low), mm(right, low), mm(right, high), mm(left, high)]


def region(name, corners, **more):
    return {"name": name, "corners": corners, **more}


def strip_in_tension(regions, length=300.0, depth=60.0, force=24_000.0, **more):
    """A bar pulled along the grain, held at three points."""
    corners = [(0, 0), (length, 0), (length, depth), (0, depth)]
    loads = [
        {"name": "right", "on": "edge B-C", "force": [f"{force} N", "0 N"]},
        {"name": "left", "on": "edge D-A", "force": [f"{-force} N", "0 N"]},
    ]
    return document(corners, support=held(), load=loads, region=regions, **more)


def test_a_region_that_is_like_the_rest_changes_nothing():
    """A hole pulled across the grain beside and within a region of the same thickness: one zone, the same split."""
    plain = uniform((0.0, 1.0, 0.0))
    plain["hole"] = [{"name": "h", "center": mm(75, 40), "diameter": "20 mm"}]
    parted = {**plain, "region": [region("same", box(-10, 60, 90, 95), thickness="20 mm")]}
    whole, pieces = check(plain), check(parted)
    assert len(zones_of(pieces.part, pieces.woods, pieces.solution)) == 1
    assert pieces.verdict.governing.utilisation == pytest.approx(whole.verdict.governing.utilisation, rel=5e-3)
    assert len(pieces.verdict.hotspots) == len(whole.verdict.hotspots)
    assert pieces.verdict.hotspots[0].mean_length == pytest.approx(whole.verdict.hotspots[0].mean_length, rel=5e-3)
    assert pieces.verdict.allowables[0].regions == ("part", "same")


def test_grain_turned_by_half_a_turn_is_the_same_grain():
    result = check({**uniform((0.0, 0.5, 0.5)), "region": [region("turned", box(-1, 40, 81, 90), grain="180 deg")]})
    zones = zones_of(result.part, result.woods, result.solution)
    assert [zone.regions for zone in zones] == [("part", "turned")]


def test_zones_by_wood_and_by_grain():
    """Another thickness alone makes no zone of its own; another grain or other strengths do."""
    doc = uniform((0.0, 0.5, 0.0))
    doc["region"] = [
        region("thin", box(-1, 10, 81, 40), thickness="8 mm"),
        region("cross", box(-1, 50, 81, 80), grain="90 deg"),
        region("weak", box(-1, 90, 81, 120), wood={"strength": {"shear": "3 MPa"}}),
    ]
    result = check(doc)
    zones = zones_of(result.part, result.woods, result.solution)
    assert [zone.regions for zone in zones] == [("part", "thin"), ("cross",), ("weak",)]
    assert [zone.grain for zone in zones] == [0.0, 90.0, 0.0]
    assert sum(zone.points.sum() for zone in zones) == len(result.solution.stress_point)
    assert sum(len(zone.elements) for zone in zones) == result.solution.model.count
    assert {one.regions for one in result.verdict.allowables} == {("part", "thin", "cross"), ("weak",)}
    assert [one.name for one in result.verdict.regions] == ["part", "thin", "cross", "weak"]
    assert result.verdict.regions[1].thickness == 8.0


def test_what_a_point_on_a_border_belongs_to():
    result = check(strip_in_tension([region("cross", box(-1, 100, 61, 200), grain="90 deg")]))
    body, cross = zones_of(result.part, result.woods, result.solution)
    assert names_at(result.part, np.array([[99.0, 30.0], [101.0, 30.0]])) == ["part", "cross"]
    border = np.array([100.0, 30.0])
    assert region_of(result.part, body, border) == "part" and region_of(result.part, cross, border) == "cross"


def test_grain_lines_end_where_other_grain_begins():
    doc = strip_in_tension([region("cross", box(-1, 100, 61, 200), grain="90 deg")])
    result = check(doc)
    spots = result.verdict.hotspots
    assert spots
    for spot in spots:
        xs = sorted(x for x, _ in spot.path)
        if spot.region == "cross":
            assert xs[0] >= 100 - 1e-6 and xs[1] <= 200 + 1e-6
            assert spot.path[0][0] == pytest.approx(spot.path[1][0])  # its lines run upwards
        else:
            assert xs[1] <= 100 + 1e-6 or xs[0] >= 200 - 1e-6


def test_across_its_own_grain_a_piece_breaks_first():
    """A bar with a piece of cross grain between: F/(b h) = 24,000/(20 * 60) = 20 MPa across it, f_t90 = 2 MPa."""
    result = check(strip_in_tension([region("cross", box(-1, 100, 61, 200), grain="90 deg")]))
    worst = result.verdict.governing
    assert worst.mode == "splitting" and worst.region == "cross" and ", in region cross" in worst.where
    assert worst.utilisation == pytest.approx(10.0, rel=0.06)  # Poisson's strains at both ends disturb it a little
    turned = check({**strip_in_tension([]), "region": []})
    assert turned.verdict.governing.utilisation == pytest.approx(20 / 80, rel=1e-3)


def test_a_weak_piece_is_held_against_its_own_strength():
    """F/(b h) = 20 MPa along the grain: 0.25 of 80 MPa in the bar, 0.5 of 40 MPa in the piece."""
    weak = {"strength": {"tension_along": "40 MPa"}}
    result = check(strip_in_tension([region("weak", box(-1, 100, 61, 200), wood=weak)]))
    found = row(result, "tension along grain")
    assert (found.region, found.allowable) == ("weak", 40.0)
    assert found.utilisation == pytest.approx(0.5, rel=1e-3)


def test_a_thin_piece_carries_more_stress():
    """F/(b h) with b = 10 mm: 40 MPa away from the steps, and at them no less."""
    result = check(strip_in_tension([region("thin", box(-1, 100, 61, 200), thickness="10 mm")]))
    found = row(result, "tension along grain")
    assert found.region == "thin" and 0.5 <= found.utilisation < 0.6


def test_probes_end_at_the_next_border():
    start, direction = np.array([[0.0, 0.0], [5.0, 0.0], [50.0, 0.0]]), np.tile([0.0, 1.0], (3, 1))
    lines = np.array([[[-10.0, 3.0], [10.0, 3.0]], [[0.0, 2.0], [10.0, 2.0]], [[-9.0, 0.0], [99.0, 0.0]]])
    assert _first_border(start, direction, lines).tolist() == [2.0, 2.0, np.inf]


def line_of(values, step=1.0):
    """One stretch sampled evenly."""
    count = len(values)
    none = np.zeros(count, dtype=np.int64)
    return GrainLines(
        0.0, np.zeros(1), np.zeros(1, dtype=np.int64), np.array([0, count]), np.array([step]), none,
        np.arange(count) * step, none, np.zeros((count, 2)), np.ones(1, dtype=bool),
        np.array([[0.0, step * (count - 1)]]),
    )  # fmt: skip


def test_a_mean_over_a_step_in_thickness_is_a_force_over_an_area():
    """Shear flow q the same on both sides, 10 and 30 mm thick over 50 and 50 mm: q 100/(10 * 50 + 30 * 50) = q/20."""
    thickness = np.where(np.arange(1001) < 500, 10.0, 30.0)
    thickness[500] = 20.0
    flow = 60.0
    stress = np.zeros((1001, 3))
    stress[:, 2] = flow / thickness
    lines = line_of(stress, 0.1)
    integrals = Integrals.of(lines, stress, stress[:, 0], 0.0, thickness)
    start, one = np.array([0]), np.array([1])
    assert integrals.means(start, one, np.array([100.0]))[0, SHEAR] == pytest.approx(flow / 20, rel=1e-3)
    assert integrals.means(start, one, np.array([40.0]))[0, SHEAR] == pytest.approx(flow / 10, rel=1e-12)
    back = integrals.means(np.array([1000]), -one, np.array([75.0]))[0, SHEAR]
    assert back == pytest.approx(flow * 75 / (30 * 50 + 10 * 25), rel=1e-3)


def test_pressure_goes_by_the_thickness_under_it():
    """F/(L b): 4,000 N on 40 mm of a block of 30 mm, 3.33 MPa; the rest of the part is 20 mm thick."""
    doc = document(
        [(0, 0), (160, 0), (160, 60), (0, 60)],
        support=[{"name": "foot", "kind": "fixed", "on": "edge A-B"}],
        load=[
            {"name": "shoe", "on": "edge C-D", "from": "60 mm", "to": "100 mm", "force": ["0 N", "-4000 N"]},
        ],
        region=[region("block", box(20, 50, 61, 110), thickness="30 mm")],
    )
    rows = {one.name: one for one in check(doc).verdict.beside}
    assert rows["shoe"].value == pytest.approx(4000 / (40 * 30), rel=1e-9)
    assert rows["foot"].value == pytest.approx(4000 / (160 * 20), rel=1e-3)


def test_a_pin_bears_on_the_thickness_that_it_pushes_on():
    """F/(d t) = 2,000/(12 * 35): the hole lies in the cheek altogether."""
    doc = document(
        [(0, 0), (160, 0), (160, 80), (0, 80)],
        hole=[{"name": "eye", "center": mm(120, 40), "diameter": "12 mm"}],
        support=[{"name": "wall", "kind": "fixed", "on": "edge D-A"}],
        load=[{"name": "pin", "on": "hole eye", "force": ["0 N", "-2000 N"]}],
        region=[region("cheek", box(10, 90, 70, 150), thickness="35 mm")],
    )
    pin = next(one for one in check(doc).verdict.beside if one.name == "pin")
    assert pin.value == pytest.approx(2000 / (12 * 35), rel=1e-6)


def test_dents_are_judged_where_the_wood_is_weaker():
    """Half of the shoe on a piece that bears 1 MPa, half on wood that bears 5: the weak half is named."""
    soft = {"strength": {"compression_across": "1 MPa"}}
    doc = document(
        [(0, 0), (160, 0), (160, 60), (0, 60)],
        support=[{"name": "foot", "kind": "fixed", "on": "edge A-B"}],
        load=[{"name": "shoe", "on": "edge C-D", "from": "60 mm", "to": "100 mm", "force": ["0 N", "-1600 N"]}],
        region=[region("soft", box(20, -1, 61, 80), wood=soft)],
    )
    shoe = next(one for one in check(doc).verdict.beside if one.name == "shoe")
    assert (shoe.value, shoe.allowable, shoe.utilisation) == pytest.approx((2.0, 1.0, 2.0), rel=1e-9)


def species(regions, board="flat-sawn", **more):
    doc = strip_in_tension(regions, **more)
    doc["wood"] = {"species": "Douglas-fir, coast", "board": board, "thickness": "20 mm", "basis": "mean"}
    return doc


def test_both_faces_of_every_unknown_board():
    cheek = region("cheek", box(-1, 100, 61, 200), wood={"species": "Ash, white", "board": "unknown"})
    known = region("key", box(-1, 220, 61, 250), wood={"species": "Ash, white", "board": "quarter-sawn"})
    part = fesolve.part_from(species([cheek, known], board="unknown"))
    flat, quarter = woods_of(part, "flat-sawn"), woods_of(part, "quarter-sawn")
    assert (flat["cheek"].face, quarter["cheek"].face) == ("flat-sawn", "quarter-sawn")
    assert flat["key"] == quarter["key"] and flat["key"].face == "quarter-sawn"
    verdict = fesolve.check(part, sure=False, splits=False).verdict
    assert [one.face for one in verdict.faces] == ["flat-sawn", "quarter-sawn"]
    assert verdict.regions[2].face == "quarter-sawn"


def test_self_weight_by_the_density_of_each_region():
    """500 and 800 kg/m^3 in 200 x 60 x 20 and 100 x 60 x 20 mm: (0.12 + 0.096) kg, times 9.80665 m/s^2."""
    heavy = region("heavy", box(-1, 100, 61, 200), wood={"density": "800 kg/m^3"})
    doc = strip_in_tension([heavy], gravity={"direction": "down"})
    doc["wood"]["density"] = "500 kg/m^3"
    weight = next(one for one in check(doc).verdict.loads if one.name == "gravity")
    assert weight.force[1] == pytest.approx(-(0.12 + 0.096) * 9.80665, rel=1e-9)


# ---- bad input


def refused(doc):
    with pytest.raises(fesolve.InputError) as caught:
        check(doc)
    return str(caught.value)


def test_a_region_needs_a_density_of_its_own_for_self_weight():
    """Another species takes no density over from [wood]; own wood without one has none."""
    own = {"elastic": {"E_0": "9000 MPa", "E_90": "500 MPa", "G": "600 MPa", "nu_0_90": 0.4}, "strength": STRENGTH}
    doc = species([region("own", box(-1, 100, 61, 200), wood=own)], gravity={"direction": "down"})
    assert check(doc).verdict.loads  # that of the species of [wood] is taken over
    doc = strip_in_tension([region("bare", box(-1, 100, 61, 200), grain="10 deg")], gravity={"direction": "down"})
    assert "without a species it is not known" in refused(doc)


def test_own_wood_of_a_region_needs_all_that_the_part_does_not_say():
    message = refused(strip_in_tension([region("own", box(-1, 100, 61, 200), wood={"elastic": {"E_0": "9 GPa"}})]))
    assert "needs all of E_0, E_90, G, nu_0_90" in message and "region.1.wood.elastic" in message


def test_a_region_of_an_unknown_species():
    message = refused(species([region("cheek", box(-1, 100, 61, 200), wood={"species": "Ahs", "board": "flat-sawn"})]))
    assert 'Region "cheek"' in message and "(region.1.wood.species)" in message


def test_a_region_outside_the_part():
    message = refused(strip_in_tension([region("lost", box(200, 0, 260, 50), thickness="9 mm")]))
    assert 'Region "lost" covers no wood' in message and "(region.1)" in message


def test_strengths_of_the_parts():
    assert STRENGTH["shear"] == "8 MPa"  # the figures above rest on these


def test_corners_and_ends_of_borders_have_no_limit():
    """A strip across the bar: its border meets both edges twice; a strip inside has four corners."""
    across = check(strip_in_tension([region("cross", box(-1, 100, 61, 200), grain="90 deg")]))
    places = [place.at for place in across.verdict.no_limit if "border of region cross" in place.what]
    assert sorted(places) == [(100.0, 0.0), (100.0, 60.0), (200.0, 0.0), (200.0, 60.0)]
    inside = check(strip_in_tension([region("pocket", box(20, 100, 40, 200), thickness="10 mm")]))
    places = [place.at for place in inside.verdict.no_limit if "border of region pocket" in place.what]
    assert sorted(places) == [(100.0, 20.0), (100.0, 40.0), (200.0, 20.0), (200.0, 40.0)]


EVEN = {"name": "press", "on": "edge C-D", "force": ["0 N", "-4000 N"]}


def test_a_thin_web_is_crushed_inside_under_a_thick_flange():
    """4 kN spread over 200 mm of a flange 20 mm thick: 1 MPa there, 5 MPa in a web of 4 mm under it; statics, derived.

    Pressed on 60 mm of it the same web bears more than that in the middle.
    """
    supports = [{"name": "bed", "kind": "fixed", "on": "edge A-B"}]
    load = [{"name": "press", "on": "edge C-D", "from": "70 mm", "to": "130 mm", "force": ["0 N", "-4000 N"]}]
    corners = [(0, 0), (200, 0), (200, 60), (0, 60)]
    web = region("web", box(20, -10, 40, 210), thickness="4 mm")
    thin = check(document(corners, support=supports, load=load, region=[web])).verdict
    thick = check(document(corners, support=supports, load=load, region=[{**web, "thickness": "19 mm"}])).verdict
    even = check(document(corners, support=supports, load=[EVEN], region=[web])).verdict
    rows = [next(row for row in one.beside if row.name == "inside") for one in (thin, thick, even)]
    assert rows[0].utilisation > 1.5 and rows[1].utilisation < 1.0
    assert rows[0].region == "web" and rows[0].depth == pytest.approx(rows[0].utilisation ** 2.2)
    assert abs(rows[0].at[0] - 100) < 10 and 20 <= rows[0].at[1] <= 40
    assert rows[2].value == pytest.approx(5.0, rel=0.02) and rows[2].allowable == 5.0
    assert rows[2].end == "dents" and not rows[2].decides and "mean over 5 mm along the grain" in rows[2].note
    assert not any("at a point inside" in text for text in thin.cautions)
