"""Formulas of timber codes against printed and independently evaluated figures."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from checks import Check, reference_cases, relative

from fesolve.judge.code_formulas import bearing_area_factor, energy_notch, notch_factor


def notched_joist(case: str) -> list[Check]:
    """Depth ratio and k_v, to half of the last digit printed."""
    i, expected = _data(case)
    a, k_v = i["h_ef_mm"] / i["h_mm"], notch_factor(i["h_mm"], i["h_ef_mm"], i["x_mm"], i["i"], i["k_n"])
    return [
        relative(case, f"formula: {name}", printed, result, 0.0005 / printed)
        for name, printed, result in (("alpha", expected["alpha"], a), ("k_v", expected["k_v"], k_v))
    ]


def end_notch(case: str) -> list[Check]:
    """The shear at which the notch splits on."""
    i, expected = _data(case)
    V = energy_notch(i["b_mm"], i["h_mm"], i["h_ef_mm"], i["x_mm"], i["G_c"], i["E"], i["G"])
    return [relative(case, "formula: V, N", expected["V_N"], V, 1e-7)]


def notch_factors(case: str) -> list[Check]:
    """k_v for solid timber, laminated veneer lumber, and glued laminated timber without and with a slope."""
    i, expected = _data(case)
    woods = (("k_n = 5", 5.0, 0.0), ("k_n = 4.5", 4.5, 0.0), ("k_n = 6.5", 6.5, 0.0), ("k_n = 6.5, i = 2", 6.5, 2.0))
    return [
        relative(case, f"formula: k_v, {name}", value, notch_factor(i["h_mm"], i["h_ef_mm"], i["x_mm"], run, k_n), 1e-6)
        for (name, k_n, run), value in zip(woods, expected["k_v"], strict=True)
    ]


def bearing_areas(case: str) -> list[Check]:
    """The table's factors; away from the end."""
    i, expected = _data(case)
    return [
        relative(case, f"formula: C_b, {inches:g} in.", value, bearing_area_factor(25.4 * inches, 200.0), 0.01 / value)
        for inches, value in zip(i["length_in"], expected["C_b"], strict=True)
    ]


def _data(case: str) -> tuple[Mapping[str, Any], Mapping[str, Any]]:
    data = reference_cases()[case]
    return data["inputs"], data["expected"]


FAMILIES = {"NO-01": notched_joist, "CO-7.16": end_notch, "CO-7.19": notch_factors, "CO-CB": bearing_areas}
