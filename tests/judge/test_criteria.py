"""The splitting criterion and its length, against their definition, their limits and a slit in a wide plate.

The criterion is of the form of SIA 265 and Steiger and Gehri (CIB-W18/44-6-2, 2011), from memory; its limits are
checked by substitution. The length is derived so that it agrees with the energy criterion ahead of a crack.
"""

import dataclasses

import numpy as np
import pytest
from parts import check, uniform
from scipy.optimize import brentq

import fesolve
from fesolve.judge.criteria import SplitLength, SplitStrength, split_utilisation
from fesolve.judge.lines import GrainLines
from fesolve.judge.modes import Inspection
from fesolve.judge.splitting import Integrals, find_windows

F = SplitStrength(shear=7.8, tension=2.3, compression=5.5)
W1 = fesolve.OrthotropicPlane(E_0=12_000, E_90=600, G=780, nu_0_90=0.4)
LENGTH = SplitLength(F, W1.crack_stiffness(), (0.071, 0.771))
RAYS = [(np.cos(a), np.sin(a)) for a in np.radians([0, 1, 20, 45, 70, 89.9, 90, 90.1, 100, 120, 135, 150, 170, 179])]


def defined(across, shear, f=F):
    """1/λ by root finding on the criterion as it is written down."""
    total = f.compression + f.tension
    r = f.compression / total

    def excess(factor):
        s, t = factor * across, factor * shear
        if s < -f.compression:
            return abs(t) * np.sqrt(1 - r * r) / f.shear - 1
        return ((f.compression + s) / total) ** 2 + (1 - r * r) * (t / f.shear) ** 2 - 1

    return 1.0 / brentq(excess, 1e-6, 1e9, xtol=1e-13, rtol=1e-13)


@pytest.mark.parametrize(("across", "shear"), [ray for ray in RAYS if ray[1] > 0.0 or ray[0] > 0.0])
@pytest.mark.parametrize("f", [F, SplitStrength(8.0, 2.0, 5.0), SplitStrength(12.0, 5.0, 9.0)])
def test_utilisation_is_the_root_of_the_criterion(f, across, shear):
    found = split_utilisation(np.array([across]), np.array([shear]), f)[0]
    assert found == pytest.approx(defined(across, shear, f), rel=1e-9)
    assert split_utilisation(np.array([across]), np.array([-shear]), f)[0] == pytest.approx(found, rel=1e-14)
    assert split_utilisation(np.array([7 * across]), np.array([7 * shear]), f)[0] == pytest.approx(7 * found, rel=1e-12)


def test_limits():
    """τ = f_v alone, σ_90 = f_t90 alone, and the greatest shear 1.41 f_v = f_v/sqrt(1 - r^2) at σ_90 = -f_c90."""
    assert split_utilisation([0.0, 2.3, -5.5], [7.8, 0.0, F.shear_under_pressure], F) == pytest.approx([1, 1, 1])
    assert F.shear_under_pressure / 7.8 == pytest.approx(1.41, abs=0.005)
    assert split_utilisation(np.array([0.0]), np.array([0.0]), F)[0] == 0.0


def test_pressure_alone_splits_nothing():
    assert (split_utilisation(-np.geomspace(1e-3, 1e3, 50), np.zeros(50), F) == 0.0).all()


def test_no_further_credit_beyond_the_strength_under_pressure():
    """Continuous where λ σ_90 = -f_c90, and flat beyond."""
    shear = F.shear_under_pressure
    edge = split_utilisation(np.array([-5.5 - 1e-9, -5.5 + 1e-9, -8.0, -80.0]), np.full(4, shear), F)
    assert edge == pytest.approx(1.0, abs=1e-8)


def test_a_basis_on_which_pressure_does_not_help():
    f = dataclasses.replace(F, pressure_helps=False)
    assert split_utilisation([-4.0, 0.0, 2.3], [7.8, 7.8, 0.0], f) == pytest.approx([1, 1, 1])
    assert f.shear_under_pressure == 7.8


# ---- the length


def test_limits_of_the_length():
    """(2/π) E_I G_Ic/f_t90^2 opening, (2/π) E_II G_IIc/f_v^2 sliding: the mean-stress method's (from memory)."""
    E_I, E_II = W1.crack_stiffness()
    assert LENGTH.exact(1.0, 0.0) == pytest.approx(2 / np.pi * E_I * 0.071 / 2.3**2, rel=1e-12)
    assert LENGTH.exact(0.0, 1.0) == pytest.approx(2 / np.pi * E_II * 0.771 / 7.8**2, rel=1e-12)
    assert LENGTH.exact(0.0, -1.0) == LENGTH.exact(0.0, 1.0)
    deep = 2 / np.pi * E_II * 0.771 / F.shear_under_pressure**2
    assert LENGTH.exact(-5.5, F.shear_under_pressure) == pytest.approx(deep, rel=1e-12)
    assert LENGTH.exact(-50.0, 1.0) == pytest.approx(deep, rel=1e-12)  # at most f_v/sqrt(1 - r^2)


def test_the_length_is_continuous_at_no_stress_across():
    away = np.array([-1e-3, -1e-6, -1e-9, 0.0, 1e-9, 1e-6, 1e-3])
    found = LENGTH.exact(away, np.ones(7))
    assert found == pytest.approx(found[3], rel=5e-3)
    assert found[2:5] == pytest.approx(found[3], rel=1e-8)


@pytest.mark.parametrize("energy", [(0.071, 0.771), (0.25, 0.8), (0.1, 0.6)])
def test_the_table_is_as_good_as_the_formula(energy):
    length = SplitLength(F, W1.crack_stiffness(), energy)
    angle = np.linspace(0.0, np.pi, 20_011)
    across, shear = 3.7 * np.cos(angle), 3.7 * np.sin(angle)
    assert length(across, shear) == pytest.approx(length.exact(across, shear), rel=1e-5)
    assert length(across, -shear) == pytest.approx(length(across, shear), rel=1e-14)
    assert length.least == pytest.approx(length.exact(across, shear).min(), rel=1e-5)
    assert length.greatest == pytest.approx(length.exact(across, shear).max(), rel=1e-5)


def test_an_own_length_stands_for_all():
    length = SplitLength(F, W1.crack_stiffness(), (0.1, 0.6), fixed=12.0)
    assert (length(np.array([1.0, -1.0]), np.array([0.0, 2.0])) == 12.0).all()
    assert (length.least, length.greatest) == (12.0, 12.0)


def test_the_length_does_not_depend_on_the_basis():
    """Derived: x0 f^2 is constant, so a length from lowered strengths would cancel the lowering."""
    lengths = []
    for basis in ("mean", "lower 5%"):
        wood = fesolve.make_wood(species="Douglas-fir, coast", face="flat-sawn", basis=basis)
        inspection = Inspection(None, None, wood, None, {})
        lengths.append([[float(x.exact(c, s)) for c, s in RAYS] for x in inspection.lengths])
        assert (inspection.strength.shear < 7.8) == (basis == "lower 5%")
    assert np.array(lengths[0]) == pytest.approx(np.array(lengths[1]), rel=1e-14)


# ---- a slit along the grain in a wide plate


def ahead_of_a_slit(half, across, shear, reach=400.0, count=40_001):
    """The grain line ahead of a slit of length 2 half, with its exact running integrals.

    Remote stress s becomes s (x + a)/sqrt(x^2 + 2 a x), whose integral from the tip is s sqrt(x^2 + 2 a x) (the
    textbook solution, e.g. Tada, Paris and Irwin; on the line of the crack it is the same in an orthotropic plate).
    """
    x = np.linspace(0.0, reach, count)
    swept = np.sqrt(x * x + 2 * half * x)
    columns = [0 * x, across * swept, across * swept, shear * swept, abs(shear) * swept]
    zeros = np.zeros(count, dtype=np.int64)
    lines = GrainLines(
        0.0, np.zeros(1), zeros[:1], np.array([0, count]), np.array([x[1]]), zeros, x, zeros,
        np.zeros((count, 2)), np.array([True]), np.array([[0.0, reach]]),
    )  # fmt: skip
    pulled = np.arange(count + 1) if across > 0 else np.zeros(count + 1, dtype=np.int64)
    return Integrals(lines, np.column_stack(columns), pulled)


@pytest.mark.parametrize("share", [0.03, 0.05, 0.07, 0.1])
@pytest.mark.parametrize(("across", "shear"), [(1.0, 0.0), (0.0, 1.0), (1.0, 1.0), (1.0, 4.0)])
def test_slit_by_means_and_by_energy(share, across, shear):
    """Load by means over load by G_I/G_Ic + G_II/G_IIc = 1: 1/sqrt(1 + x0/2a), 0.98 at x0/a = 0.1, 1.00 at 0.03."""
    x0 = float(LENGTH.exact(across, shear))
    half = x0 / share
    windows = find_windows(ahead_of_a_slit(half, across, shear), F, LENGTH)
    from_tip = (windows.start == 0) & (windows.sense == 1)
    assert windows.length[from_tip] == pytest.approx(x0, rel=1e-4)
    by_means = 1.0 / windows.utilisation.max()
    E_I, E_II = W1.crack_stiffness()
    K_I, K_II = across * np.sqrt(np.pi * half), shear * np.sqrt(np.pi * half)
    by_energy = 1.0 / np.sqrt(K_I**2 / (E_I * 0.071) + K_II**2 / (E_II * 0.771))
    assert by_means / by_energy == pytest.approx(1 / np.sqrt(1 + share / 2), rel=1e-3)
    assert by_means / by_energy == pytest.approx(0.98 if share == 0.1 else 1.0, abs=0.02)


def test_a_uniform_state_is_judged_as_the_criterion_says():
    """From a part file to the verdict, once: σ_90 = 1, τ = 3 MPa against 8, 2 and 5 MPa."""
    result = check(uniform((0.0, 1.0, 3.0)))
    assert result.verdict.governing.utilisation == pytest.approx(defined(1.0, 3.0, SplitStrength(8, 2, 5)), rel=1e-8)
