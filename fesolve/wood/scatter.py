"""Scatter from piece to piece: strengths at other points of their spread, and the toughness."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from ..bases import LOWER
from . import tables
from .model import Strength, Wood
from .strengths import deviations_below

Z_5 = deviations_below(LOWER)
TOUGHNESS = "toughness"


def mean_of(strength: Strength, basis: str) -> float:
    """The mean behind a strength that stands on a basis, MPa: value/(1 - z CoV) on a lower one."""
    return strength.value / (1.0 - deviations_below(basis) * strength.cov)


def at_percent(wood: Wood, where: Literal["5", "mean", "95"]) -> Wood:
    """The same wood with all strengths at 5 or 95 % of their spread, or at their mean: mean (1 -+ 1.645 CoV).

    The means that the splitting length is computed from stay.

    Examples
    --------
    >>> from .species import make_wood
    >>> fir = make_wood(species="Douglas-fir, coast", face="flat-sawn", basis="mean")
    >>> round(at_percent(fir, "95").strengths["shear"].value, 2)  # 7.8 (1 + 1.645 x 0.14)
    9.6
    """
    sign = {"5": -1.0, "mean": 0.0, "95": 1.0}[where]
    changed = {
        name: replace(one, value=mean_of(one, wood.basis) * (1.0 + sign * Z_5 * one.cov))
        for name, one in wood.strengths.items()
    }
    return replace(wood, strengths=changed)


def with_energies(wood: Wood, factor: float) -> Wood:
    """The same wood with its low energies multiplied, as both ends of the band."""
    low = wood.fracture.G_Ic[0] * factor, wood.fracture.G_IIc[0] * factor
    return replace(wood, fracture=replace(wood.fracture, G_Ic=(low[0], low[0]), G_IIc=(low[1], low[1])))


def toughness_scatter(species: str | None) -> tuple[float, str, str]:
    """Coefficient of variation of toughness as a fraction, with its source and status."""
    row = tables.scatter_row(species, TOUGHNESS)
    return float(row["cov_percent"]) / 100.0, row["source"], row["status"]
