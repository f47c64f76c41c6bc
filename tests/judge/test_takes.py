"""The load that a part takes: low with the low energies, high with the high ones, best their geometric mean."""

import math

import pytest
from parts import check, document, row, uniform

from fesolve.judge.verdict import SPLITTING, TENSION_ALONG

BAND = {"G_Ic": ["100 J/m^2", "300 J/m^2"], "G_IIc": ["600 J/m^2", "900 J/m^2"]}


def pulled(cases=None, energies=BAND):
    """A clamped block, pulled across the grain by 2 kN in its hole."""
    load = {"name": "pull", "on": "hole h", "force": ["0 N", "2000 N"]}
    hole = {"name": "h", "center": ["100 mm", "50 mm"], "diameter": "20 mm"}
    corners = [(0, 0), (200, 0), (200, 80), (0, 80)]
    support = [{"name": "foot", "kind": "fixed", "on": "edge A-B"}]
    more = {"case": cases} if cases else {}
    return check(document(corners, support=support, load=[load], hole=[hole], energies=energies, **more))


def test_low_best_and_high():
    result = pulled()
    takes = result.verdict.takes
    assert takes.of == "pull"
    assert takes.low == pytest.approx(2000 / result.verdict.governing.utilisation, rel=1e-12)
    assert takes.high > 1.1 * takes.low
    assert takes.best == pytest.approx(math.sqrt(takes.low * takes.high), rel=1e-12)
    tough = pulled(energies={"G_Ic": "300 J/m^2", "G_IIc": "900 J/m^2"}).verdict.takes
    assert tough.low == tough.high == tough.best  # one value each: no band
    assert tough.low == pytest.approx(takes.high, rel=5e-3)


def test_energies_do_not_matter_to_a_uniform_field_or_to_tension_along_the_grain():
    for stress in ((0.0, 1.0, 1.0), (60.0, 0.0, 0.0)):
        takes = check(uniform(stress, energies=BAND)).verdict.takes
        assert takes.low == pytest.approx(takes.high, rel=1e-6)


def test_of_several_cases_the_least():
    """A case with 1.5 times the load is worse by that; what the part takes of the load is the same."""
    cases = [{"name": "once", "loads": {"pull": 1.0}}, {"name": "more", "loads": {"pull": 1.5}}]
    one, two = pulled().verdict, pulled(cases).verdict
    assert two.governing.case == "more"
    assert two.governing.utilisation == pytest.approx(1.5 * one.governing.utilisation, rel=1e-9)
    assert two.takes.low == pytest.approx(one.takes.low, rel=1e-9)


def test_another_mode_caps_the_high_end():
    """Tension along the grain at 0.75 governs; energies do not help it: 1/0.75 low and high."""
    result = check(uniform((60.0, 0.2, 0.0), energies=BAND))
    assert row(result, SPLITTING).utilisation == pytest.approx(0.1, rel=1e-6)
    assert row(result, TENSION_ALONG).utilisation == pytest.approx(0.75, rel=1e-6)
    takes = result.verdict.takes
    assert (takes.low, takes.best, takes.high) == pytest.approx((1 / 0.75,) * 3, rel=1e-6)
