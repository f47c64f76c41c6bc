"""The struck force as a band."""

import pytest

from fesolve.errors import InputError
from fesolve.fem.impact import Chain, Link
from fesolve.judge.strike import dent_force, strike_band

CHAIN = Chain((Link("part", 2000.0),))


def test_band_is_one_force_where_nothing_is_lost():
    band = strike_band(CHAIN, 0.2, 1500.0, limit=1e9)
    assert band.low.force == band.high.force == pytest.approx(30_000.0)
    assert not band.dents


def test_low_end_by_the_dent_and_by_the_part_s_own_mass():
    """By hand: 225 J in; F_y = 2.5 · 5 MPa · 1600 mm^2 = 20 kN takes 100 J in the spring; M = m/4 leaves 180 J."""
    assert dent_force(5.0, 1600.0) == pytest.approx(20_000.0)
    band = strike_band(CHAIN, 0.2, 1500.0, part_mass=0.05, limit=dent_force(5.0, 1600.0))
    assert band.dents and band.low.force == pytest.approx(20_000.0)
    assert band.low.dent == pytest.approx(80e3 / 20e3)
    assert band.high.force == pytest.approx(30_000.0) and band.high.dent == 0.0
    free = strike_band(CHAIN, 0.2, 1500.0, part_mass=0.05, limit=1e9)
    assert free.low.force == pytest.approx(30_000.0 * 0.8**0.5)


@pytest.mark.parametrize(("strength", "area"), [(0.0, 10.0), (5.0, 0.0), (-1.0, 10.0)])
def test_bad_input(strength, area):
    with pytest.raises(InputError, match=f"f_c90 is {strength:g} MPa, the area {area:g} mm"):
        dent_force(strength, area)
