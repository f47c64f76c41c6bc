"""The hand calculation of sections in layers, and where slots, ramps and regions put its cuts."""

import numpy as np
import pytest
from beams import board, calculate, fixed, load_at, make_part, push

from fesolve.judge.makeup import Makeup
from fesolve.judge.member import member_of
from fesolve.judge.proportions import proportions
from fesolve.judge.where import anchor_of, distance_to_hole
from fesolve.mesh.outline import part_outline
from fesolve.part.model import Hole
from fesolve.wood.species import make_wood

WEB = '[[region]]\nname = "web"\nthickness = "10 mm"\ncorners = [["0 mm", "20 mm"], ["600 mm", "20 mm"], \
["600 mm", "80 mm"], ["0 mm", "80 mm"]]\n'
CROSS = '[[region]]\nname = "core"\ngrain = "90 deg"\ncorners = [["0 mm", "30 mm"], ["600 mm", "30 mm"], \
["600 mm", "70 mm"], ["0 mm", "70 mm"]]\n'
V, ARM = 1000.0, 600.0


PLAIN = (40 * 100**3 / 12, lambda y: 20 * (50**2 - (y - 50) ** 2), lambda y: np.full_like(y, 40.0), np.ones_like)


def makeup_of(part):
    wood = make_wood(species=part.wood.species, face=part.wood.board, basis=part.wood.basis)
    return Makeup(part, dict.fromkeys(("part", *(region.name for region in part.regions)), wood))


def beam_stress(section):
    """Exact beam stresses of a cantilever under V at its free end; I, and Q, t, n by height."""
    second, first, thickness, ratio = section

    def stress_at(points):
        x, y = points.T
        moment = V * (ARM - x)
        sigma = ratio(y) * moment * (y - 50) / second
        return np.column_stack([sigma, np.zeros(len(x)), -V * first(y) / (second * thickness(y))])

    return stress_at


def i_section():
    """Flanges of 40 x 20 mm, a web of 10 x 60 mm, by parallel axes."""

    def first(y):
        d = np.abs(y - 50)
        flange = 40 * (50**2 - np.maximum(d, 30) ** 2) / 2
        return flange + np.where(d < 30, 10 * (30**2 - d**2) / 2, 0.0)

    def thickness(y):
        return np.where(np.abs(y - 50) < 30, 10.0, 40.0)

    return (40 * (100**3 - 60**3) + 10 * 60**3) / 12, first, thickness, np.ones_like


def rows_of(part, stress_at):
    rows, _, summary = calculate(part, stress_at, [load_at([(600, 50)], [(0, -V)])], wood=makeup_of(part).wood("part"))
    return rows, summary


def cantilever(regions, b=40, extra=""):
    return make_part(board(600, 100), fixed() + push(0, -V) + regions + extra, b=b)


def test_an_i_sections_stresses_add_up_to_its_forces():
    part = cantilever(WEB)
    second, first, *_ = i_section()
    rows, summary = rows_of(part, beam_stress(i_section()))
    row = next(row for row in rows if "shear" in row.station)
    assert abs(row.shear) == pytest.approx(V, rel=1e-3)
    assert abs(row.moment) == pytest.approx(V * (ARM - row.position), rel=1e-3)
    assert (row.I, row.Q, row.t, row.width) == pytest.approx((second, first(50.0), 10.0, 40.0))
    assert abs(row.tau_vqit) == pytest.approx(V * first(50.0) / (second * 10), rel=1e-3)
    assert row.tau_mesh == pytest.approx(row.tau_vqit, rel=1e-3)
    assert row.sigma_mesh == pytest.approx(row.sigma_mcI, rel=2e-3)
    assert (row.shear_region, row.sigma_region, row.pull_region) == ("web", "part", "part")
    assert row.sigma_pull == pytest.approx(abs(row.sigma_mcI), rel=1e-9)
    assert any("governs, not" in sentence and "of its strength" in sentence for sentence in summary.sentences)


def test_a_core_of_cross_grain_counts_with_its_ratio():
    """E_90/E_0 = 0.05 for coast Douglas-fir, flat-sawn: I = 40 (100^3 - 40^3)/12 + 0.05 * 40 * 40^3/12."""
    part = cantilever(CROSS)
    makeup = makeup_of(part)
    cut = member_of(part, part_outline(part)).cut(300.0)
    heights = [(round(one.low - cut.low, 6), round(one.high - cut.low, 6), one.region) for one in cut.layers]
    assert heights == [(0, 30, "part"), (30, 70, "core"), (70, 100, "part")]
    section = makeup.section(cut.layers, cut.axis)
    plane = makeup.wood("part").plane
    n = plane.E_90 / plane.E_0
    assert section.ratios == pytest.approx((1.0, n, 1.0))
    assert pytest.approx(40 * (100**3 - 40**3) / 12 + n * 40 * 40**3 / 12) == section.I


def test_the_modulus_along_the_member_of_a_turned_grain():
    """1/E_30 by the off-axis formula, Jones eq. 2.97 (number from memory), and E_0 along the grain itself."""
    part = make_part(board(600, 100), fixed() + push(0, -V), grain=30)
    plane = makeup_of(part).wood("part").plane
    c, s = np.cos(np.radians(30)) ** 2, np.sin(np.radians(30)) ** 2
    slanted = 1 / (c * c / plane.E_0 + (1 / plane.G - 2 * plane.nu_0_90 / plane.E_0) * s * c + s * s / plane.E_90)
    makeup = makeup_of(part)
    assert makeup.modulus("part", np.array([1.0, 0.0])) == pytest.approx(slanted)
    along = np.array([np.cos(np.radians(30)), np.sin(np.radians(30))])
    assert makeup.modulus("part", along) == pytest.approx(plane.E_0)


def test_cuts_just_outside_a_region_that_ends_along_the_member():
    block = '[[region]]\nname = "block"\nthickness = "80 mm"\ncorners = [["200 mm", "-1 mm"], ["320 mm", "-1 mm"], \
["320 mm", "101 mm"], ["200 mm", "101 mm"]]\n'
    part = cantilever(block)
    rows, _ = rows_of(
        part,
        beam_stress(PLAIN),
    )
    places = {row.station: row.position for row in rows}
    before = next(s for name, s in places.items() if "before region block" in name)
    after = next(s for name, s in places.items() if "after region block" in name)
    assert 180 < before < 200 and 320 < after < 340


def test_a_cut_along_a_border_is_taken_just_after_it():
    block = '[[region]]\nname = "block"\nthickness = "80 mm"\ncorners = [["200 mm", "-1 mm"], ["320 mm", "-1 mm"], \
["320 mm", "101 mm"], ["200 mm", "101 mm"]]\n'
    part = cantilever(block)
    member = member_of(part, part_outline(part))
    assert [layer.region for layer in member.cut(200.0).layers] == ["block"]
    assert [layer.region for layer in member.cut(320.0).layers] == ["part"]


@pytest.mark.parametrize(
    ("more", "start", "end"),
    [("ramp = [1, 2]", 200 + 15 + 0.3, 300 - 30 - 0.3), ('ends = "drilled 8 mm"', 200 + 1e-3, 300 - 1e-3)],
)
def test_cuts_at_the_feet_of_ramps_and_in_the_middle_of_drilled_ends(more, start, end):
    notch = f'[[notch]]\nname = "N"\nedge = "A-B"\nfrom = "200 mm"\nto = "300 mm"\ndepth = "15 mm"\n{more}\n'
    part = cantilever("", extra=notch)
    rows, _ = rows_of(
        part,
        beam_stress(PLAIN),
    )
    found = {row.station.partition(":")[0]: row for row in rows if "notch N" in row.station}
    assert found["notch N, start"].position == pytest.approx(start, abs=1e-6)
    assert found["notch N, end"].position == pytest.approx(end, abs=1e-6)
    depth = 85.0 if "ramp" in more else 81.0  # a hole of 8 mm about the inner corner reaches 4 mm below the floor
    assert found["notch N, start"].depth == pytest.approx(depth, abs=1e-3)


def test_a_drilled_end_counts_in_the_notchs_proportion():
    notch = (
        '[[notch]]\nname = "N"\nedge = "A-B"\nfrom = "50 mm"\nto = "150 mm"\ndepth = "15 mm"\nends = "drilled 8 mm"\n'
    )
    part = cantilever("", extra=notch)
    row = next(row for row in proportions(part, part_outline(part), group="softwood") if "notch N" in row.rule)
    assert row.value == pytest.approx((15 + 4) / 100) and row.met is False


SLOT = Hole(name="s", center=(100.0, 50.0), diameter=10.0, length=40.0, angle=90.0)


def test_how_far_a_point_is_from_a_slot():
    """Half circles of 5 mm about (100, 35) and (100, 65), straight sides between them."""
    assert distance_to_hole(SLOT, np.array([100.0, 75.0])) == pytest.approx(5.0)
    assert distance_to_hole(SLOT, np.array([112.0, 60.0])) == pytest.approx(7.0)
    assert distance_to_hole(SLOT, np.array([103.0, 69.0])) == pytest.approx(0.0)
    assert distance_to_hole(SLOT, np.array([100.0, 50.0])) == pytest.approx(-5.0)


def test_a_slot_is_what_places_at_its_ends_are_measured_from():
    slot = (
        '[[hole]]\nname = "s"\ncenter = ["100 mm", "50 mm"]\ndiameter = "10 mm"\nlength = "60 mm"\nangle = "90 deg"\n'
    )
    part = cantilever("", extra=slot)
    outline = part_outline(part)
    assert anchor_of(outline, part, np.array([100.0, 84.0])).name == "hole s"
    assert anchor_of(outline, part, np.array([125.0, 94.0])).name == "edge C-D"
    row = next(row for row in proportions(part, outline, group="softwood") if "hole s" in row.rule)
    assert row.rule == "hole s: extent across over depth" and row.value == pytest.approx(0.6)
