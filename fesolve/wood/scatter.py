"""Scatter from piece to piece: strengths at other points of their spread, and the toughness."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from statistics import NormalDist
from types import MappingProxyType
from typing import Literal

from ..bases import LOWER
from . import tables
from .model import CHOICE, Energy, Factor, Fracture, Strength, Wood
from .strengths import deviations_below

Z_5 = deviations_below(LOWER)
TOUGHNESS = "toughness"
STIFFNESS = "modulus of elasticity (bending)"
BAND_ENDS = 0.10  # chance below the low energies, and above the high ones
Z_BAND = NormalDist().inv_cdf(1.0 - BAND_ENDS)


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


def log_sigma(cov: float) -> float:
    """Standard deviation of the logarithm of what scatters lognormally: sqrt(ln(1 + CoV^2)).

    Its median is the mean times exp(-sigma^2/2).

    References
    ----------
    Moments of the lognormal distribution: N. L. Johnson, S. Kotz, N. Balakrishnan, Continuous Univariate
    Distributions, vol. 1, 2nd ed. 1994, ch. 14 (from memory).

    Examples
    --------
    >>> round(log_sigma(0.25), 4)
    0.2462
    """
    return math.sqrt(math.log1p(cov * cov))


def at_point(wood: Wood, z: float) -> Wood:
    """The same wood with all strengths at a point z of their lognormal spread: mean exp(z sigma - sigma^2/2)."""
    changed = {}
    for name, one in wood.strengths.items():
        sigma = log_sigma(one.cov)
        changed[name] = replace(one, value=mean_of(one, wood.basis) * math.exp(z * sigma - 0.5 * sigma**2))
    return replace(wood, strengths=changed)


def at_percentiles(wood: Wood, percentile: Mapping[str, float]) -> Wood:
    """One piece of a wood: where its strengths, its fracture energies and its stiffness lie among such pieces.

    All strengths lie at one place of their lognormal spreads, both energies at one, and E_0, E_90 and G are multiplied
    by one factor. The three are independent of each other. The mean strengths, which the splitting length is computed
    from, stay.

    Parameters
    ----------
    wood : Wood
        On the mean basis.
    percentile : mapping of str to float
        ``strength``, ``toughness``, ``stiffness``: the share (between 0 and 1) of pieces with less of it.

    Returns
    -------
    Wood
        With one value of each energy instead of a band: that of the piece.

    References
    ----------
    EN 14358:2016, 3.2 (logarithmic normal distribution; from memory); coefficients of variation from the table.

    Examples
    --------
    >>> from .species import make_wood
    >>> fir = make_wood(species="Douglas-fir, coast", face="flat-sawn", basis="mean")
    >>> round(at_percentiles(fir, {"strength": 0.05}).strengths["shear"].value, 2)  # 7.8 exp(-1.645 s - s^2/2), s 0.139
    6.14
    """
    found = wood
    if "strength" in percentile:
        found = _strengths_at(found, percentile["strength"])
    if "toughness" in percentile:
        found = replace(found, fracture=_energies_at(found, percentile["toughness"]))
    if "stiffness" in percentile:
        found = _stiffness_at(found, percentile["stiffness"])
    return found


def _said(share: float) -> str:
    return f"{100.0 * share:.3g} % of pieces have less"


def _strengths_at(wood: Wood, share: float) -> Wood:
    found = at_point(wood, NormalDist().inv_cdf(share))
    source = "lognormal spread (EN 14358, from memory), given in the part file"
    strengths = {}
    for name, one in found.strengths.items():
        factor = Factor(_said(share), one.value / mean_of(wood.strengths[name], wood.basis), source)
        strengths[name] = replace(one, factors=(*one.factors, factor))
    note = f"All strengths are those of a piece of which {_said(share)}; the splitting length stays that of the mean."
    return replace(found, strengths=strengths, notes=(*wood.notes, note))


def energy_sigma(species: str | None, low: float, high: float) -> float:
    """Standard deviation of the logarithm of an energy from piece to piece: the wider of toughness' scatter and a band.

    The ends of the band are read as 10 and 90 %.

    Examples
    --------
    >>> round(energy_sigma(None, 0.1, 0.1), 3), round(energy_sigma(None, 0.1, 0.3), 3)
    (0.331, 0.429)
    """
    cov, _, _ = toughness_scatter(species)
    return max(log_sigma(cov), math.log(high / low) / (2.0 * Z_BAND))


def _energies_at(wood: Wood, share: float) -> Fracture:
    """Both energies of one piece; their median is the middle of the band, by ratio."""
    z, fracture = NormalDist().inv_cdf(share), wood.fracture
    source = f"band of energies with the scatter of toughness, {_said(share)}"
    energies = {}
    for name, (low, high) in (("G_Ic", fracture.G_Ic), ("G_IIc", fracture.G_IIc)):
        value = math.sqrt(low * high) * math.exp(z * energy_sigma(wood.species, low, high))
        energies[name] = Energy(value, value, source, CHOICE, source, CHOICE)
    opening, sliding = energies["G_Ic"].low, energies["G_IIc"].low
    note = f"Both fracture energies are those of a piece of which {_said(share)} ({CHOICE})."
    return replace(
        fracture,
        G_Ic=(opening, opening),
        G_IIc=(sliding, sliding),
        energies=MappingProxyType(energies),
        note=f"{fracture.note} {note}".strip(),
    )


def _stiffness_at(wood: Wood, share: float) -> Wood:
    row = tables.scatter_row(wood.species, STIFFNESS)
    sigma = log_sigma(float(row["cov_percent"]) / 100.0)
    factor = math.exp(NormalDist().inv_cdf(share) * sigma - 0.5 * sigma**2)
    plane = replace(wood.plane, E_0=wood.plane.E_0 * factor, E_90=wood.plane.E_90 * factor, G=wood.plane.G * factor)
    note = f"E_0, E_90 and G are {factor:.3g} times the mean, those of a piece of which {_said(share)}."
    return replace(wood, plane=plane, notes=(*wood.notes, note))
