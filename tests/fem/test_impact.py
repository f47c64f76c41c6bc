"""A strike by the balance of energy. Published drops and strikes stand in tests/reference (cases 8.1 to 8.6)."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fesolve.errors import InputError
from fesolve.fem.impact import (
    GRAVITY,
    Chain,
    Link,
    captured_share,
    drop_factor,
    drop_speed,
    energy_balance,
    half_period,
    in_series,
    mass_at_arm,
    rolling_speed,
    strike_force,
    wave_speed,
    wave_stress,
)

PART = Link("part", 2000.0)


def test_rolling_is_between_sliding_and_a_hoop():
    """sqrt(4/3 g s sin θ) for a log; 2 g s sin θ for what slides; a hoop (I = m r^2) has half the sliding energy."""
    drop = 3000.0 * math.sin(math.radians(10.0))
    assert rolling_speed(3000.0, 10.0) == pytest.approx(math.sqrt(4 / 3 * GRAVITY * drop), rel=1e-12)
    assert rolling_speed(3000.0, 10.0, turning=0.0) == pytest.approx(drop_speed(drop), rel=1e-12)
    assert rolling_speed(3000.0, 10.0, turning=1.0) == pytest.approx(drop_speed(drop) / math.sqrt(2), rel=1e-12)


def test_shock_sheet_s_sizes():
    """200 kg at 1.5 m/s into 2000 N/mm: 30.0 kN; with the push of a 30 deg slope 31.0 kN (own example, by hand)."""
    push = 0.2 * GRAVITY / 2
    assert strike_force(0.2, 1500.0, 2000.0) == pytest.approx(30_000.0, rel=1e-12)
    assert strike_force(0.2, 1500.0, 2000.0, push) == pytest.approx(31.0e3, abs=50)


def test_push_is_doubled_and_a_drop_is_a_push():
    assert strike_force(0.2, 0.0, 2000.0, push=700.0) == pytest.approx(1400.0, rel=1e-12)
    weight = 0.05 * GRAVITY
    for height in (0.0, 10.0, 2500.0):
        force = strike_force(0.05, drop_speed(height), 800.0, push=weight)
        assert force == pytest.approx(weight * drop_factor(height, weight / 800.0), rel=1e-12)


def test_constant_mass_quantities():
    assert mass_at_arm(2.0 * 300.0**2, 300.0) == pytest.approx(2.0)
    assert half_period(0.05, 12_000.0) == pytest.approx(math.pi * math.sqrt(0.05 / 12_000.0))
    assert captured_share(1.0, 0.0) == 1.0
    assert wave_stress(12_000.0, 500e-12, 1500.0) == pytest.approx(500e-12 * wave_speed(12_000.0, 500e-12) * 1500.0)


def test_springs_in_a_row():
    assert in_series(4000.0, 4000.0) == 2000.0
    assert in_series(math.inf) == math.inf
    assert Chain((PART, Link("mount", 2000.0), Link("striker", math.inf))).stroke(500.0) == pytest.approx(0.5)


def test_pad_in_straight_pieces():
    """Pad 100 N/mm, full at 4 mm and 400 N; part 2000 N/mm. At 400 N: 4.2 mm, 840 N mm; then the part alone."""
    chain = Chain((PART, Link("pad", 100.0, travel=4.0)))
    assert [stage.force for stage in chain.stages] == [0.0, 400.0]
    assert chain.stroke(400.0) == pytest.approx(4.2) and chain.energy(400.0) == pytest.approx(840.0)
    assert chain.stroke(2400.0) == pytest.approx(5.2)
    assert chain.energy(2400.0) == pytest.approx(840.0 + 0.5 * (400 + 2400) * 1.0)
    # the energy that just fills the pad, and more: by hand F^2 = 400^2 + 2 k (E - 840)
    full = energy_balance(chain, 2e-3, math.sqrt(2 * 839.999 / 2e-3))
    assert full.force == pytest.approx(400.0, abs=1e-2) and full.bottomed == ()
    hard = energy_balance(chain, 0.1, 200.0)
    assert hard.force == pytest.approx(math.sqrt(400.0**2 + 4000.0 * (2000.0 - 840.0)), rel=1e-12)
    assert hard.bottomed == ("pad",)
    assert hard.force < energy_balance(Chain((PART,)), 0.1, 200.0).force


@given(
    stiffness=st.floats(10.0, 1e5),
    pad=st.floats(1.0, 1e4),
    travel=st.floats(0.1, 50.0),
    mass=st.floats(1e-4, 1.0),
    speed=st.floats(0.0, 5000.0),
    push=st.floats(0.0, 3000.0),
    own=st.floats(0.0, 0.1),
    limit=st.floats(100.0, 1e6),
)
def test_energy_is_accounted_for(stiffness, pad, travel, mass, speed, push, own, limit):
    """In = lost + elastic + dent; the force is the chain's at that stroke, and never above the limit."""
    chain = Chain((Link("part", stiffness), Link("pad", pad, travel), Link("mount", 5e4)))
    end = energy_balance(chain, mass, speed, push=push, part_mass=own, limit=limit)
    assert end.force <= limit
    assert end.stroke == pytest.approx(chain.stroke(end.force), rel=1e-12)
    if math.isfinite(end.dent):
        into, out = end.energy_in + end.push_work, end.energy_lost + end.elastic + end.dent_energy
        assert into == pytest.approx(out, rel=1e-9, abs=1e-9)
    else:
        assert push >= limit
    # the elastic energy by another way: the area under force over stroke
    kinks = [stage.force for stage in chain.stages if stage.force <= end.force]
    forces = np.unique([*np.linspace(0.0, end.force, 21), *kinks])
    strokes = np.array([chain.stroke(force) for force in forces])
    area = float((0.5 * (forces[1:] + forces[:-1]) * np.diff(strokes)).sum())
    assert area == pytest.approx(end.elastic, rel=1e-9)


def test_a_limited_force_makes_a_dent():
    """E = F_y^2/(2 k) + F_y d; 225 J into 2000 N/mm and 20 kN: 100 J and 6.25 mm (by hand)."""
    end = energy_balance(Chain((PART,)), 0.2, 1500.0, limit=20_000.0)
    assert end.dent == pytest.approx(6.25, rel=1e-12) and end.dent_energy == pytest.approx(125e3, rel=1e-12)
    # the mass taken along leaves half of the energy: 112.5 J, 12.5 J for the dent
    half = energy_balance(Chain((PART,)), 0.2, 1500.0, limit=20_000.0, part_mass=0.2)
    assert half.energy_lost == pytest.approx(112.5e3) and half.dent == pytest.approx(12.5e3 / 20e3)
    # a push of 4 kN works over spring and dent: 100 J + 20 kN d = 225 J + 4 kN (10 mm + d)
    pushed = energy_balance(Chain((PART,)), 0.2, 1500.0, limit=20_000.0, push=4000.0)
    assert pushed.dent == pytest.approx(165e3 / 16e3, rel=1e-12)
    assert energy_balance(Chain((PART,)), 0.2, 1500.0, limit=500.0, push=600.0).dent == math.inf


REFUSED = {
    "The drop is -1 mm": lambda: drop_speed(-1.0),
    "The run is -5 mm": lambda: rolling_speed(-5.0, 10.0),
    "The slope is 95 deg": lambda: rolling_speed(5.0, 95.0),
    "moment of inertia is 0": lambda: mass_at_arm(0.0, 10.0),
    "arm of the strike is 0 mm": lambda: mass_at_arm(1.0, 0.0),
    "A stiffness is 0 N/mm": lambda: in_series(10.0, 0.0),
    "striking mass is 0 tonne": lambda: strike_force(0.0, 1.0, 1.0),
    "striking speed is nan": lambda: strike_force(1.0, math.nan, 1.0),
    "The push is -1 N": lambda: strike_force(1.0, 1.0, 1.0, push=-1.0),
    "part's mass is -1 tonne": lambda: captured_share(1.0, -1.0),
    "The static deflection is 0 mm": lambda: drop_factor(1.0, 0.0),
    "The density is 0 tonne": lambda: wave_speed(1.0, 0.0),
    'stiffness of "pad" is 0': lambda: Link("pad", 0.0),
    'travel of "pad" is -2 mm': lambda: Link("pad", 1.0, -2.0),
    "force has no limit": lambda: Chain((Link("pad", 1.0, 2.0), Link("striker", math.inf))),
    "limiting force is 0 N": lambda: energy_balance(Chain((PART,)), 1.0, 1.0, limit=0.0),
}


@pytest.mark.parametrize("message", REFUSED)
def test_bad_input(message):
    with pytest.raises(InputError, match=message):
        REFUSED[message]()
