"""The chance of failure against closed forms of the lognormal distribution, and scipy's."""

import math
from dataclasses import replace

import numpy as np
import pytest
from docs_text import ROOT
from parts import document, uniform

import fesolve
from fesolve.judge.chance import Spread, Weibull, energy_scatter, strength_scatter
from fesolve.wood.scatter import at_percent, at_point, log_sigma, mean_of, with_energies

Z = 1.645  # of 5 %


def checked(doc):
    return fesolve.check(fesolve.part_from(doc), splits=False, cures=False).verdict


def wood(**more):
    return fesolve.make_wood(species="Douglas-fir, coast", face="flat-sawn", basis="mean", **more)


def lognormal_points(mean, cov):
    s = log_sigma(cov)
    points = (-Z, 0.0, Z)
    return points, tuple(mean * math.exp(z * s - 0.5 * s * s) for z in points)


def test_the_load_of_5_percent_is_that_of_a_lognormal_strength():
    """X_k = exp(m_y - 1.645 s_y), s_y = sqrt(ln(V^2 + 1)): EN 1990:2002, D7.2, V known, many tests (from memory)."""
    for cov in (0.1, 0.25, 0.5):
        spread = Spread(*lognormal_points(20.0, cov), 0.0)
        s = math.sqrt(math.log(cov**2 + 1.0))
        m = math.log(20.0) - s * s / 2
        assert spread.load(0.05) == pytest.approx(math.exp(m - Z * s), rel=1e-4)
        assert spread.load(0.5) == pytest.approx(math.exp(m), rel=1e-6)


def test_chances_are_those_of_scipy():
    from scipy.stats import lognorm

    spread = Spread(*lognormal_points(20.0, 0.3), 0.0)
    s = log_sigma(0.3)
    known = lognorm(s, scale=20.0 * math.exp(-s * s / 2))
    assert known.mean() == pytest.approx(20.0) and known.std() == pytest.approx(6.0)
    for load in (8.0, 15.0, 20.0, 32.0):
        assert spread.chance(load) == pytest.approx(known.cdf(load), abs=3e-5)


def test_doubling_the_scatter_of_strengths_doubles_the_band():
    """At small CoV sigma is the CoV itself: ln(P_95/P_5) = 2 x 1.645 sigma."""
    for cov, sigma in ((0.12, math.sqrt(math.log(1.0144))), (0.24, math.sqrt(math.log(1.0576)))):
        spread = Spread(*lognormal_points(5.0, cov), 0.0)
        assert math.log(spread.load(0.95) / spread.load(0.05)) == pytest.approx(2 * Z * sigma, rel=1e-3)


def test_independent_energies_add_by_squares():
    """Variances of the logarithms of independent lognormals add (Johnson, Kotz, Balakrishnan 1994, ch. 14)."""
    points, loads = lognormal_points(10.0, 0.3)
    both = Spread(points, loads, 0.4)
    sigma = math.hypot(log_sigma(0.3), 0.4)
    assert math.log(both.load(0.95) / both.load(0.05)) == pytest.approx(2 * 1.6449 * sigma, rel=1e-3)
    assert both.load(0.5) == pytest.approx(loads[1], rel=1e-4)
    assert both.chance(loads[1]) == pytest.approx(0.5, abs=1e-4)


def test_where_another_strength_decides_in_strong_pieces_the_curve_has_a_kink():
    spread = Spread((-Z, 0.0, Z), (5.0, 10.0, 11.0), 0.0)
    assert spread.load(0.5) == pytest.approx(10.0, rel=1e-4)
    assert spread.load(0.05) == pytest.approx(5.0, rel=2e-3)
    assert spread.load(0.95) == pytest.approx(11.0, rel=2e-3)
    loads, chances = np.array(spread.curve()).T
    assert (np.diff(loads) > 0).all() and (np.diff(chances) > 0).all()


def test_a_bar_pulled_evenly_across_the_grain_by_hand():
    """One strength, f = 2 MPa with a CoV of 25 %, under 1.6 MPa: chance = Phi(ln(1.6/median)/sigma)."""
    chance = checked(uniform((0.0, 1.6, 0.0))).chance
    s = math.sqrt(math.log(1.0 + 0.25**2))
    median = 2.0 * math.exp(-s * s / 2) / 1.6
    assert chance.of == "all loads together"
    assert chance.half == pytest.approx(median, rel=2e-3)
    assert chance.five == pytest.approx(median * math.exp(-Z * s), rel=2e-3)
    assert chance.ninety_five == pytest.approx(median * math.exp(Z * s), rel=2e-3)
    assert chance.fails == pytest.approx(0.5 * (1 + math.erf(math.log(1.0 / median) / s / math.sqrt(2))), abs=2e-3)
    assert chance.load == pytest.approx(1.0)
    (row,) = chance.scatter
    assert (row.what, row.cov, row.share) == ("tension across the grain", 0.25, pytest.approx(1.0, abs=1e-6))


def test_on_the_lower_basis_the_chance_is_of_the_same_pieces():
    """An own 2 MPa as the lower 5 % has a mean of 2/(1 - 1.645 x 0.25): the median is that of this mean."""
    chance = checked(uniform((0.0, 1.0, 0.0), basis="lower 5%")).chance
    s = math.sqrt(math.log(1.0625))
    assert chance.half == pytest.approx(2.0 / (1 - Z * 0.25) * math.exp(-s * s / 2), rel=2e-3)


def test_shares_add_up_to_one_and_energies_count_at_a_hole():
    pull = [{"name": "pull", "on": "edge B-C", "traction": ["0 MPa", "1 MPa"]}]
    hole = [{"name": "h", "center": ["40 mm", "40 mm"], "diameter": "20 mm"}]
    corners = [(0, 0), (150, 0), (150, 80), (0, 80)]
    clamp = [{"name": "wall", "kind": "fixed", "on": "edge D-A"}]
    band = {"G_Ic": ["100 J/m^2", "300 J/m^2"], "G_IIc": ["700 J/m^2", "2100 J/m^2"]}
    verdict = checked(document(corners, support=clamp, load=pull, hole=hole, energies=band))
    *strengths, energy = verdict.chance.scatter
    assert sum(row.share for row in strengths) == pytest.approx(1.0, abs=1e-5)
    assert (
        0.0 < energy.share < 1.0
    )  # at a long crack a load goes as the root of the energy; a mean falls no faster than 1/x0
    takes = verdict.takes
    high = takes.best**2 / takes.judged
    assert energy.sigma == pytest.approx(math.log(high / takes.judged) / (2 * 1.2816), rel=1e-3)
    together = sum(row.sigma for row in strengths)
    assert verdict.chance.sigma == pytest.approx(math.hypot(together, energy.sigma), rel=0.05)


def test_without_a_band_the_energies_scatter_as_toughness_does():
    """Handbook's CoV of toughness, 34 %: sigma = share sqrt(ln(1 + 0.34^2))."""
    row = energy_scatter(wood(), 0.4, 10.0, 10.0)
    assert row.sigma == pytest.approx(0.4 * math.sqrt(math.log(1 + 0.34**2)))
    wide = energy_scatter(wood(), 0.4, 10.0, 20.0)
    assert wide.sigma == pytest.approx(math.log(2.0) / (2 * 1.2816), rel=1e-4)
    assert energy_scatter(wood(split_length=20.0), 0.4, 10.0, 10.0) is None


def test_strengths_at_points_of_their_spread():
    """ASTM D2555 for 5 and 95 % (normal, mean (1 -+ 1.645 CoV)); lognormal for the chance: both have the mean's own."""
    fir = wood()
    weak, strong = at_percent(fir, "5"), at_percent(fir, "95")
    lower = fesolve.make_wood(species="Douglas-fir, coast", face="flat-sawn", basis="lower 5%")
    for name, one in fir.strengths.items():
        assert weak.strengths[name].value == pytest.approx(lower.strengths[name].value, rel=1e-9)
        assert weak.strengths[name].value + strong.strengths[name].value == pytest.approx(2 * one.value)
        assert weak.strengths[name].mean == one.mean  # the splitting length stays
        assert mean_of(lower.strengths[name], lower.basis) == pytest.approx(one.value, rel=1e-9)
        s = log_sigma(one.cov)
        assert at_point(lower, 0.0).strengths[name].value == pytest.approx(one.value * math.exp(-s * s / 2), rel=1e-9)
    tough = with_energies(fir, 1.5).fracture
    assert tough.G_Ic == pytest.approx((1.5 * fir.fracture.G_Ic[0],) * 2)


def test_scatter_rows_are_share_times_sigma():
    fir = wood()
    (row,) = strength_scatter(replace(fir), {"shear": 0.6})
    assert row.sigma == pytest.approx(0.6 * math.sqrt(math.log(1 + 0.14**2)))


def test_weakest_link_is_scipys_weibull_with_the_mean_of_the_test():
    from scipy.stats import weibull_min

    law = Weibull(10.0, 5.0)
    known = weibull_min(5.0, scale=law.scale)
    assert known.mean() == pytest.approx(10.0)
    assert law.chance(8.0) == pytest.approx(known.cdf(8.0), rel=1e-9)
    assert law.load(0.05) == pytest.approx(known.ppf(0.05), rel=1e-9)


def test_a_large_volume_pulled_evenly_has_the_chance_of_its_weakest_link():
    """Barrett 1974, k = 5, V_0 = 82 cm^3: of 24,000 cm^3 under even stress the mean is f (V_0/V)^(1/5)."""
    chance = checked(uniform((0.0, 0.8, 0.0), length=1500.0, depth=800.0)).chance
    volume, f = 1500.0 * 800.0 * 20.0, 2.0
    mean = f * (82_000.0 / volume) ** 0.2 / 0.8
    scale = mean / math.gamma(1.2)
    one = chance.by_size
    assert (one.mode, one.exponent) == ("tension across grain", 5.0)
    assert one.half == pytest.approx(scale * math.log(2.0) ** 0.2, rel=0.01)
    assert one.five == pytest.approx(scale * (-math.log(0.95)) ** 0.2, rel=0.01)
    assert one.fails == pytest.approx(1.0 - math.exp(-((1.0 / scale) ** 5)), abs=0.01)
    assert checked(uniform((0.0, 0.8, 0.0), length=60.0, depth=40.0)).chance.by_size is None


def test_graded_lumber_and_design_values_have_no_chance():
    bearer = fesolve.check(fesolve.read_part(ROOT / "meshes" / "rack_bearer.toml"), splits=False, cures=False).verdict
    assert bearer.chance is None and "says nothing of chance" in bearer.no_chance
    assert {row.group for row in bearer.how_sure} >= {"grain", "place", "face"}
    assert not [row for row in bearer.how_sure if row.group == "strength"]
    assert bearer.sure in ("clear", "likely", "too close to call")
    changes = {"wood.species": "Douglas-fir, coast", "wood.class": "C24", "wood.service": "1", "wood.basis": "lower 5%"}
    arm = fesolve.check(fesolve.read_part(ROOT / "meshes" / "bracket.toml", changes), splits=False, cures=False).verdict
    assert arm.chance is None and "scatter in the tables is that of clear wood" in arm.no_chance
