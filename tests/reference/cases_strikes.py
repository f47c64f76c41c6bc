"""Strikes: published examples by formulas alone, then followed through time (`cases_marches`)."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import cases_marches
from checks import Check, numbers, reference_cases, relative

from fesolve.fem.impact import drop_factor, strike_force, wave_speed, wave_stress

Inputs = Mapping[str, float]


def _inputs(case: str) -> Inputs:
    return reference_cases()[case]["inputs"]


def beam(case: str) -> list[Check]:
    """8.1: depth of a square simple beam from n W L/4 = σ d^3/6, the drop at midspan; SI units."""
    i = _inputs(case)
    W, h, L = i["W"], i["h"], i["L"]

    def stress(d: float) -> float:
        deflection = W * L**3 / (48 * i["E"] * d**4 / 12)
        return drop_factor(h, deflection) * W * L / 4 / (d**3 / 6)

    low, high = 0.05, 2.0
    for _ in range(60):
        d = 0.5 * (low + high)
        low, high = (d, high) if stress(d) > i["sigma_allow"] else (low, d)
    (expected,) = numbers(case, "d_more_digits")
    return [relative(case, "formula: depth of the square section, m", expected, d, 1e-3)]


def factors(case: str) -> list[Check]:
    """8.2: the factor at several h/δ; the tolerance is half of the last digit that the book prints."""
    ratios = list(_inputs(case)["h_over_dst"])
    (expected,) = numbers(case, "factor")
    return [
        Check(case, f"formula: drop factor at h/δ = {ratio:g}", factor, drop_factor(ratio, 1.0), 0.005, 1.0)
        for ratio, factor in zip(ratios, expected, strict=True)
    ]


def _rod(i: Inputs) -> tuple[float, float]:
    """Area and axial stiffness of a round rod."""
    area = math.pi * i["d"] ** 2 / 4
    return area, i["E"] * area / i["L"]


def rod_drop(case: str) -> list[Check]:
    """8.3: a weight dropped on a rod's end; pounds and inches."""
    i = _inputs(case)
    area, k = _rod(i)
    stress = i["W"] * drop_factor(i["h"], i["W"] / k) / area
    (expected,) = numbers(case, "stress_psi")
    return [relative(case, "formula: stress, psi", expected, stress, 1e-5)]


def rod_strike(case: str) -> list[Check]:
    """8.4: a mass that runs into a rod; pounds and inches."""
    i = _inputs(case)
    area, k = _rod(i)
    force = strike_force(i["W"] / i["g"], i["v_in_s"], k)
    shortening, expected, stress = numbers(case, "delta_in", "force_lb", "stress_psi")
    return [
        relative(case, "formula: shortening, in", shortening, force / k, 5e-4, own=True),
        relative(case, "formula: force, lb", expected, force, 1e-4),
        relative(case, "formula: stress, psi", stress, force / area, 1e-4),
    ]


def wave(case: str) -> list[Check]:
    """8.6: speed of the wave and stress behind its front; SI units."""
    i = _inputs(case)
    speed, stress = numbers(case, "c", "sigma")
    return [
        relative(case, "formula: wave speed, m/s", speed, wave_speed(i["E"], i["rho"]), 1e-8),
        relative(case, "formula: stress, Pa", stress, wave_stress(i["E"], i["rho"], i["v"]), 1e-8),
    ]


def both(formula: Callable[[str], list[Check]], mesh: Callable[[str], list[Check]]) -> Callable[[str], list[Check]]:
    """Rows by formula, then by a march."""
    return lambda case: [*formula(case), *mesh(case)]


FAMILIES = {
    "8.1": beam,
    "8.2": both(factors, cases_marches.factors),
    "8.3": both(rod_drop, cases_marches.dropped),
    "8.4": both(rod_strike, cases_marches.driven),
    "8.6": both(wave, cases_marches.front),
    "8.7": cases_marches.saint_venant,
}
