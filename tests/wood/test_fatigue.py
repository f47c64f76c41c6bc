"""Repeated loads, sloping grain, cracks, and the factor for impact: the published points and rules."""

import pytest

from fesolve.errors import InputError
from fesolve.wood.case_factors import asd_case_factors
from fesolve.wood.cracks import crack_factor
from fesolve.wood.fatigue import (
    bending_line,
    beyond,
    code_fatigue_factor,
    fatigue_factor,
    loss_per_decade,
    point_of,
)
from fesolve.wood.slope import hankinson_band, slope_shares

# USDA Wood Handbook FPL-GTR-282 Table 5-17 (from memory): percent of static strength, million cycles
POINTS = {
    "shear": (45, 30),
    "tension": (50, 30),
    "compression": (75, 3.5),
    "bending": (60, 2),
    "bending, knots or slope of grain": (50, 2),
    "bending, knots and slope of grain": (40, 2),
    "bending, reversed": (30, 30),
}


@pytest.mark.parametrize("line", POINTS)
def test_a_line_goes_through_its_point_and_all_of_the_strength(line):
    percent, million = POINTS[line]
    assert (point_of(line).percent, point_of(line).cycles) == (percent, 1e6 * million)
    assert point_of(line).status == "from memory"
    assert fatigue_factor(line, 1e6 * million) == pytest.approx(percent / 100)
    assert fatigue_factor(line, 1.0) == 1.0
    assert fatigue_factor(line, 1e3) - fatigue_factor(line, 1e4) == pytest.approx(loss_per_decade(line))


def test_which_bending_line():
    assert bending_line(knots=False, slope=False) == "bending"
    assert bending_line(knots=True, slope=False) == bending_line(knots=False, slope=True)
    assert loss_per_decade(bending_line(knots=True, slope=True)) == pytest.approx(0.6 / 6.30103, rel=1e-5)


def test_nothing_is_claimed_outside():
    assert "nothing is claimed" in beyond(999) and beyond(1000) == "" and beyond(10**7.5) == ""
    for cycles in (0.5, 10**7.6):
        with pytest.raises(InputError, match=r"figures are known for 1 to 3\.16e"):
            fatigue_factor("shear", cycles)


def test_the_code_s_line():
    # EN 1995-2, annex A (from memory): shear a = 6.7, b = 1.3; R = 0.1, β = 1: 1 - 0.9 x 7.4771/8.04
    assert code_fatigue_factor("shear", 3e7) == pytest.approx(0.163, abs=5e-4)
    assert code_fatigue_factor("shear", 3e7, severe=True) < code_fatigue_factor("shear", 3e7)
    assert code_fatigue_factor("bending", 1.0) == 1.0
    assert code_fatigue_factor("shear", 1e12, range_ratio=-1.0) == 0.0  # 1 - 2 x 12/15.41 is below 0


def test_slope_of_grain():
    # USDA Wood Handbook Table 5-12 (from memory)
    rows = ((25, 96, 95, 100), (20, 93, 90, 100), (15, 89, 81, 100), (10, 81, 62, 99), (5, 55, 36, 93))
    for run, mor, impact, along in rows:
        assert slope_shares(run) == pytest.approx((mor / 100, impact / 100, along / 100))
    assert slope_shares(1e9) == pytest.approx((1, 1, 1))
    assert slope_shares(12.0)[0] == pytest.approx(0.85)  # 1/12 lies half-way between 1/10 and 1/15
    assert slope_shares(4.0) is None
    assert hankinson_band(10.0) == pytest.approx((0.56, 0.92), abs=0.005)  # adjustments to Table 5-11 (from memory)


def test_cracks_in_the_faces():
    assert crack_factor(40.0, 10.0) == 0.75 and crack_factor(40.0, 10.0, both=True) == 0.5
    assert crack_factor(40.0, None) == 0.67 and crack_factor(40.0, 50.0) == 0.0


def test_impact_on_design_values():
    # NDS 2018 Table 2.3.2 (read): 2.0, at a connection 1.6; none for repeated blows (choice of this program)
    assert asd_case_factors(None, blow=True).strength == 2.0
    assert asd_case_factors(None, blow=True, joint=True).strength == 1.6
    assert {asd_case_factors(None, blow=True, joint=joint, repeated=True).strength for joint in (True, False)} == {1.0}
