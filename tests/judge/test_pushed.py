"""Proportions of what pushes along the grain, each by hand.

Strengths of coast Douglas-fir: f_v 7.8, f_c0 49.9 MPa (USDA Wood Handbook, Table 5-3a, as the package's table).
"""

import pytest
from beams import board, fixed, make_part, push, wood_of

from fesolve.judge.proportions import proportions
from fesolve.judge.pushed import BEHIND, STOUT, TEAR_OUT, stoutest
from fesolve.judge.verdict import ReactionRow
from fesolve.mesh.outline import part_outline
from fesolve.wood.bearing import dowel_of

B, F_V, F_C0 = 38.0, 7.8, 49.9
HOLE = '[[hole]]\nname = "h"\ncenter = ["250 mm", "30 mm"]\ndiameter = "12 mm"\n'
ALL = "all loads together"


def rows_of(rest, reactions=(), **more):
    part = make_part(board(300, 60), rest, **more)
    woods = {"part": wood_of(part)}
    rows = proportions(part, part_outline(part), group="softwood", reactions=reactions, woods=woods)
    return {row.rule: row for row in rows}


@pytest.mark.parametrize(("size", "met"), [(10e3, True), (20e3, False)])
def test_shear_out_of_a_pin(size, met):
    # 50 mm from the centre to the end that it pulls towards: 7.8 * 38 * 50 = 14.8 kN
    row = rows_of(HOLE + fixed() + push(size, 0, on='"hole h"'))[
        "hole h: f_v t e over its push along the grain (shear-out)"
    ]
    assert row.value == pytest.approx(F_V * B * 50 / size)
    assert (row.wanted, row.met, row.source) == ("at least 1", met, TEAR_OUT)
    assert "from memory" in row.source


def test_a_pin_that_pushes_the_other_way_has_all_the_wood_before_it():
    row = rows_of(HOLE + fixed("B-C") + push(-10e3, 0, on='"hole h"'))[
        "hole h: f_v t e over its push along the grain (shear-out)"
    ]
    assert row.value == pytest.approx(F_V * B * 250 / 10e3)


def test_a_pin_across_the_grain_tears_nothing_out():
    rows = rows_of(HOLE + fixed() + push(0, -10e3, on='"hole h"'))
    assert not any("shear-out" in rule for rule in rows)


def test_reaction_of_a_pin_counts_in_its_worst_case():
    pin = '[[support]]\nname = "pin"\nkind = "pin"\non = "hole h"\npin = "11.5 mm"\n'
    reactions = [
        ReactionRow("pin", case, (force, 0.0), 0.0, "pin", "hole h", (250.0, 30.0))
        for case, force in (("a", 3000.0), ("b", 20e3))
    ]
    rows = rows_of(HOLE + pin + push(-100, 0), reactions)
    assert rows["hole h: f_v t e over its push along the grain (shear-out)"].value == pytest.approx(F_V * B * 50 / 20e3)
    assert rows["hole h: thickness over the pin's diameter"].value == pytest.approx(B / 11.5)


def test_how_stout_a_pin_is():
    # double shear by the NDS' yield limit equations: F_e d t of the wood, 2 d^2 sqrt(2 F_e F_yb/3) of a pin that bends
    F_e, d, F_yb = 40.0, 12.0, 310.0
    t = stoutest(F_e) * d
    assert F_e * d * t == pytest.approx(2 * d**2 * (2 * F_e * F_yb / 3) ** 0.5)
    part = make_part(board(300, 60), HOLE + fixed() + push(10e3, 0, on='"hole h"'))
    most = stoutest(dowel_of(wood_of(part), 12.0).along)
    row = rows_of(HOLE + fixed() + push(10e3, 0, on='"hole h"'))["hole h: thickness over the pin's diameter"]
    assert (row.value, row.wanted, row.met) == (pytest.approx(B / 12), f"at most {most:.2g}", True)
    assert row.source == STOUT
    thick = rows_of(HOLE + fixed() + push(10e3, 0, on='"hole h"'), b=80)["hole h: thickness over the pin's diameter"]
    assert thick.met is False


NOTCH = (
    '[[notch]]\nname = "step"\nedge = "C-D"\nfrom = "{} mm"\nto = "{} mm"\ndepth = "15 mm"\n'
    '[[load]]\nname = "dog"\non = "notch step {}"\nforce = ["{} N", "0 N"]\n'
)


@pytest.mark.parametrize(("force", "met"), [(10e3, True), (25e3, False)])
def test_wood_behind_a_pushed_face(force, met):
    # a notch from x = 200 to 240 (C-D runs from x = 300): its face at 240 is pushed towards the end at 300, 60 mm of
    # fibres behind 15 mm of face, which hold 7.8 * 38 * 60 = 17.8 kN
    row = rows_of(fixed() + NOTCH.format(60, 100, "start", force))["dog: shortest fibre behind the face over its depth"]
    assert row.value == pytest.approx(60 / 15, rel=1e-4)
    assert row.met is met
    needed, most = force / (F_V * B * 15), F_C0 / F_V
    assert row.wanted == f"at least {needed:.2g} for what acts, {most:.2g} for all that the face can bear"
    assert row.source == BEHIND


@pytest.mark.parametrize(("force", "told"), [("1e-12", False), ("10", True)])
def test_round_off_of_a_force_across_the_grain_asks_for_no_wood(force, told):
    rows = rows_of(fixed() + NOTCH.format(60, 100, "start", force))
    assert ("dog: shortest fibre behind the face over its depth" in rows) == told


def test_no_more_than_eight_depths_count():
    # 240 mm of fibres behind the face at x = 240, towards a free end at 0: eight depths are 120 mm, 35.6 kN
    rows = rows_of(fixed("B-C") + NOTCH.format(60, 100, "end", -40e3))
    row = rows["dog: shortest fibre behind the face over its depth"]
    assert row.value == pytest.approx(200 / 15, rel=1e-4)
    assert row.met is False  # 40 kN asks for 9 depths


def test_fibres_that_are_held_at_their_end_are_not_sheared_out():
    rows = rows_of(fixed("B-C") + NOTCH.format(60, 100, "start", 10e3))
    assert not any("fibre" in rule for rule in rows)


def test_a_face_that_is_the_whole_end_has_nothing_to_shear_from():
    rows = rows_of(HOLE + fixed("A-B") + push(10e3, 0, on='"edge D-A"'))
    assert not any("fibre" in rule for rule in rows)


@pytest.mark.parametrize("form", ['pressure = "10 MPa"', 'traction = ["10 MPa", "0 MPa"]'])
def test_pressure_and_traction_count_as_forces(form):
    # 10 MPa on 15 x 38 mm
    text = NOTCH.format(60, 100, "start", 0).replace('force = ["0 N", "0 N"]', form)
    row = rows_of(fixed() + text)["dog: shortest fibre behind the face over its depth"]
    assert row.wanted.startswith(f"at least {10 * 15 * B / (F_V * B * 15):.2g} ")
