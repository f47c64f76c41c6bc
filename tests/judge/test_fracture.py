"""From energy release rates to loads: the mixed criterion, the start where no crack is yet, and whether it runs."""

import numpy as np
import pytest

from fesolve.judge.criteria import SplitStrength
from fesolve.judge.fracture import (
    Curve,
    mixed_ratio,
    past_length,
    pressed_mean,
    signed_mean,
    spaced,
    split_cautions,
    start_of,
    trusted,
)
from fesolve.judge.rows_split import SplitRow, SplitStart
from fesolve.judge.verdict import Takes
from fesolve.wood.orthotropic import OrthotropicPlane

W1 = OrthotropicPlane(E_0=12_000, E_90=600, G=780, nu_0_90=0.4)
STRENGTH = SplitStrength(shear=7.8, tension=2.3, compression=5.5)
ENERGY = (0.25, 0.8)  # N/mm


def curve(ratio, existing=0.0, across=None, shear=None, lengths=None):
    """A curve whose opening alone gives the ratio(length) at ENERGY, under given means."""
    lengths = np.array(spaced(1.0, 100.0, 10) if lengths is None else lengths)
    along = np.geomspace(lengths[0] / 8, lengths[-1], 200)
    none = np.zeros(200)
    across = none if across is None else across(along)
    shear = none if shear is None else shear(along)
    return Curve(lengths, ENERGY[0] * ratio(lengths), 0 * lengths, 200.0, existing, along, across, shear)


def test_wu_and_the_straight_line():
    """G_I/G_Ic + G_II/G_IIc: 90/250 + 260/800 (case 7.20, by hand)."""
    assert mixed_ratio(np.array(90.0), np.array(260.0), (250.0, 800.0)) == pytest.approx(0.685)


def test_an_existing_crack_starts_at_griffiths_load():
    start = start_of(curve(lambda a: a / 25.0, existing=1.0), ENERGY, STRENGTH)
    assert start.factor == pytest.approx(5.0)  # 1/sqrt(1/25)
    assert start.length == 1.0
    assert start.stops_at is None  # the ratio grows with the length: it runs


def test_ahead_of_a_long_crack_the_coupled_start_is_griffiths():
    """Cornetti, Pugno, Carpinteri and Taylor (2006): near a long crack stress over a length and energy over the same
    length give K_Ic, and the length is the splitting length x0 = (2/π) E' G_c / f^2."""
    E_I, _ = W1.crack_stiffness()
    K = 10.0  # MPa mm^0.5
    G = K**2 / E_I
    found = start_of(
        curve(lambda a: G / ENERGY[0] + 0 * a, across=lambda x: 2 * K / np.sqrt(2 * np.pi * x)), ENERGY, STRENGTH
    )
    assert found.factor == pytest.approx(np.sqrt(ENERGY[0] / G), rel=1e-3)
    x0 = 2 / np.pi * E_I * ENERGY[0] / 2.3**2
    assert found.length <= x0 * 1.02


def test_even_stress_needs_the_strength():
    """Where the stress is even and energy is plenty the strength alone counts."""
    found = start_of(curve(lambda a: 1e3 * a, across=lambda x: 1.15 + 0 * x), ENERGY, STRENGTH)
    assert found.factor == pytest.approx(2.0)


def test_energy_of_a_small_start_counts_by_its_power():
    """ratio = a: its mean over 0..a is a/2, so with stress to spare the longest length wants the least load."""
    found = start_of(curve(lambda a: a, across=lambda x: 1e6 + 0 * x), ENERGY, STRENGTH)
    assert found.length == pytest.approx(100.0)
    assert found.factor == pytest.approx(1 / np.sqrt(50.0), rel=1e-2)


def test_a_crack_that_waits_says_where_and_for_how_much():
    def falling(a):
        return np.where(a < 10.0, 1.0, 0.25)

    found = start_of(curve(falling, existing=1.0), ENERGY, STRENGTH)
    assert found.factor == pytest.approx(1.0)
    assert found.stops_at == pytest.approx(spaced(1.0, 100.0, 10)[4])
    assert found.runs_at == pytest.approx(2.0)


def test_a_start_that_waits_early_is_no_split_yet():
    """Ratio 1 up to 10 mm and a quarter beyond: past 5 mm the start's factor, past 50 mm twice that."""
    waiting = curve(lambda a: np.where(a < 10.0, 1.0, 0.25), existing=1.0)
    start = start_of(waiting, ENERGY, STRENGTH)
    assert past_length(waiting, start, ENERGY, 5.0) == pytest.approx(1.0)
    assert past_length(waiting, start, ENERGY, 50.0) == pytest.approx(2.0)


def test_nothing_drives_it():
    found = start_of(curve(lambda a: 0 * a, existing=1.0), ENERGY, STRENGTH)
    assert found.factor == float("inf")


def test_which_load_is_trusted():
    assert trusted(10.0, 11.0, 5.0, 100.0, 50.0, short=False)[0] == ""
    assert trusted(10.0, 20.0, 60.0, 100.0, 500.0, short=False) == (
        "energy",
        "the mean goes over 60 mm of the 100 mm of wood ahead, too much of it",
    )
    which, why = trusted(10.0, 7.0, 12.0, 100.0, 30.0, short=False)
    assert (which, "30 mm of wood beside" in why) == ("energy", True)
    assert trusted(10.0, 20.0, 5.0, 100.0, 50.0, short=True)[0] == "energy"
    assert trusted(10.0, 20.0, 5.0, 100.0, 50.0, short=False)[0] == "mean stress"
    assert trusted(20.0, 10.0, 5.0, 100.0, 50.0, short=False)[0] == "energy"


def test_running_means():
    """Of a line that falls from 2 to -2 over 4 mm: the mean over all is 0, of what pulls 1 over the first half."""
    x = np.linspace(1e-6, 4.0, 4001)
    values = 2.0 - x
    assert signed_mean(values, x)[-1] == pytest.approx(0.0, abs=1e-3)
    assert pressed_mean(values, x)[2000] == pytest.approx(1.0, rel=1e-3)
    assert pressed_mean(values, x)[-1] == pytest.approx(0.5, rel=1e-3)
    assert pressed_mean(-values[:1000], x[:1000])[-1] == pytest.approx(-1.5, rel=1e-2)


def row(energy, **more):
    start = SplitStart(0.1, 0.6, energy, 3.0, energy, None, energy)
    known = ("end crack as seen", "all", (0, 0), "there", (1, 0), 50.0, 40.0, (), (), (), (), (), start, start)
    return SplitRow(*known, None, "", "so", **more)


def test_a_caution_only_where_an_assumed_crack_asks_for_less():
    takes = Takes(150.0, 90.0, 220.0, "push", judged=100.0)
    (said,) = split_cautions([row(60.0, assumed=True)], takes)
    assert said.startswith("End crack as seen: by energy it runs on at 0.60 of the load")
    assert split_cautions([row(130.0, assumed=True), row(None, assumed=True), row(60.0)], takes) == []
