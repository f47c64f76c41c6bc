"""Bearing: Hankinson's formula, dowel bearing strengths by the tables of fasteners they lead to, and durations.

The yield limit equations (NDS 2018, 12.3, from memory) are evaluated here; the program has the strengths alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt
from typing import Any

import numpy as np
from checks import Check, numbers, reference_cases, relative, worst

from fesolve.wood.bearing import dowel_bearing, hankinson
from fesolve.wood.duration import strength_level

PSI = 25.4**2 / 4.4482216152605  # in one MPa
ACROSS = 1.25  # K_θ of a member loaded across the grain


def _inputs(case: str) -> Mapping[str, Any]:
    return reference_cases()[case]["inputs"]


def strengths(gravity: float, inches: float) -> tuple[float, float]:
    """Dowel bearing strengths along and across the grain, psi, as the program has them."""
    along, across = dowel_bearing(gravity, 25.4 * inches)
    return along * PSI, across * PSI


def mode_two(D: float, length: float, F_em: float, F_es: float, K: float) -> float:
    """Rotation of the pin in two members of one thickness: k_1 D l F_es/R_d, R_d = 3.6 K_θ."""
    R_e = F_em / F_es
    k_1 = (sqrt(R_e + 6 * R_e**2 + R_e**3) - 2 * R_e) / (1 + R_e)
    return k_1 * D * length * F_es / (3.6 * K)


def mode_three(D: float, l_s: float, F_em: float, F_es: float, F_yb: float, R_d: float) -> float:
    """A hinge in the main member: k_3 D l_s F_em/((2 + R_e) R_d)."""
    R_e = F_em / F_es
    k_3 = -1 + sqrt(2 * (1 + R_e) / R_e + 2 * F_yb * (2 + R_e) * D**2 / (3 * F_em * l_s**2))
    return k_3 * D * l_s * F_em / ((2 + R_e) * R_d)


def angles(case: str) -> list[Check]:
    i = _inputs(case)
    (printed,) = numbers(case, "N_MPa")
    found = [hankinson(i["P_MPa"], i["Q_MPa"], angle) for angle in i["angles_deg"]]
    at = [f"{angle} deg" for angle in i["angles_deg"]]
    return [worst(case, "formula: strength, MPa", printed, found, 1e-6, "{}", places=at)]


def plate(case: str) -> list[Check]:
    i = _inputs(case)
    (printed,) = numbers(case, "Z_lb")
    rows = []
    words = (("along", 1.0), ("across", ACROSS))
    for (word, K), F_em, value in zip(words, strengths(i["G"], i["D_in"]), printed, strict=True):
        # the root is thinner than 1/4 in., the screw is not: R_d = K_D K_θ, K_D = 10 D + 0.5 above 0.17 in.
        R_d = (10 * i["Dr_in"] + 0.5) * K
        Z = mode_three(i["Dr_in"], i["plate_in"], F_em, i["F_es_psi"], i["F_yb_psi"], R_d)
        rows.append(relative(case, f"formula: Z {word} the grain, lb", value, Z, 5 / value))
    return rows


def bolt_and_lag(case: str) -> list[Check]:
    i = _inputs(case)
    bolt, screw = numbers(case, "bolt_lb", "lag_lb")
    along, across = strengths(i["G"], i["D_in"])  # of the main member, and of the side member
    Z = mode_two(i["D_in"], i["ls_in"], along, across, ACROSS)
    lag = mode_three(i["Dr_lag_in"], i["ls_in"], along, across, i["Fyb_psi"], 3.2 * ACROSS)
    return [
        relative(case, "formula: Z of the bolt, lb", bolt, Z, 5 / bolt),
        relative(case, "formula: Z of the lag screw, lb", screw, lag, 5 / screw),
    ]


def lags(case: str) -> list[Check]:
    i = _inputs(case)
    (printed,) = numbers(case, "Z_lb")
    rows = []
    for G, value in zip(i["G"], printed, strict=True):
        F_e = strengths(G, i["D_in"])[1]
        Z = mode_three(i["Dr_in"], i["ls_in"], F_e, F_e, i["F_yb_psi"], 3.2 * ACROSS)
        rows.append(relative(case, f"formula: Z across the grain, G {G:g}, lb", value, Z, 5 / value))
    return rows


def bolt(case: str) -> list[Check]:
    i = _inputs(case)
    F_e, Z = numbers(case, "Fe_psi", "Z_lb")
    rows = []
    for k, (word, K) in enumerate((("along", 1.0), ("across", ACROSS))):
        found = strengths(i["G"], i["D_in"])[k]
        rows.append(relative(case, f"formula: dowel bearing {word} the grain, psi", F_e[k], found, 25 / F_e[k]))
        single = mode_two(i["D_in"], i["l_in"], found, found, K)
        rows.append(relative(case, f"formula: Z {word} the grain, lb", Z[k], single, 5 / Z[k]))
    return rows


def nail(case: str) -> list[Check]:
    i = _inputs(case)
    F_e, Z = numbers(case, "Fe_psi", "Z_lb")
    found = strengths(i["G"], i["D_in"])[0]
    single = i["D_in"] ** 2 / 2.2 * sqrt(2 * found * i["F_yb_psi"] / (3 * 2))
    return [
        relative(case, "formula: dowel bearing, psi", F_e, found, 25 / F_e),
        relative(case, "formula: Z, lb", Z, single, 0.5 / Z),
    ]


def durations(case: str) -> list[Check]:
    i = _inputs(case)
    (printed,) = numbers(case, "CD")
    found = np.array([strength_level(t) for t in i["t_s"]]) / strength_level(i["ten_years_s"])
    return [
        relative(case, f"formula: factor for {t:,} s", value, x, 0.025, own=True)
        for t, value, x in zip(i["t_s"], printed, found, strict=True)
    ]


FAMILIES = {
    "HA-01": angles,
    "FA-03": plate,
    "FA-04": bolt_and_lag,
    "FA-05": lags,
    "FA-06": bolt,
    "FA-08": nail,
    "DL-01": durations,
}
