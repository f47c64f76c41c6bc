"""Strengths of clear wood on a basis: the species' own, the part file's, or a stand-in that is named."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isfinite
from statistics import NormalDist
from typing import NamedTuple

from ..bases import LOWER, MEAN, share_below
from ..errors import InputError
from . import tables
from .model import CHOICE, GIVEN, STRENGTHS, Basis, Factor, Strength
from .moisture import FORMULA, AtMoisture

COLUMN = {
    "shear": "shear_parallel_kPa",
    "tension_across": "tension_perp_kPa",
    "compression_across": "comp_perp_kPa",
    "tension_along": "MOR_kPa",
    "compression_along": "comp_parallel_kPa",
}
SCATTER = {
    "shear": "shear parallel to grain",
    "tension_across": "tension perpendicular to grain",
    "compression_across": "compression perpendicular to grain (proportional limit)",
    "tension_along": "tension parallel to grain",
    "compression_along": "compression parallel to grain",
}
WORDS = {
    "shear": "shear along the grain",
    "tension_across": "tension across the grain",
    "compression_across": "compression across the grain",
    "tension_along": "tension along the grain",
    "compression_along": "compression along the grain",
}
LOWER_SOURCE = "normal distribution of clear wood (USDA Wood Handbook, ch. 5 and 7; ASTM D2555)"
FIVE_PERCENT = 1.645  # standard deviations, as the handbook rounds it


def deviations_below(basis: Basis) -> float:
    """Standard deviations between the mean and a lower value of clear wood, by the normal distribution; 0 on the mean.

    Parameters
    ----------
    basis : str
        ``mean``, or a lower percentage such as ``lower 10%``.

    Examples
    --------
    >>> deviations_below("lower 5%"), round(deviations_below("lower 10%"), 4), deviations_below("mean")
    (1.645, 1.2816, 0.0)
    """
    share = share_below(basis)
    if share is None:
        return 0.0
    return FIVE_PERCENT if basis == LOWER else NormalDist().inv_cdf(1.0 - share)


def lower_factor(basis: Basis, cov: float, whose: str = "") -> Factor:
    """The factor from a mean to a lower value, 1 - z CoV; `whose` says where the scatter comes from.

    Parameters
    ----------
    basis : str
        A lower percentage such as ``lower 10%``.
    cov : float
        Coefficient of variation as a fraction.

    References
    ----------
    USDA Wood Handbook, ch. 5 and 7 (percentiles by the normal distribution); ASTM D2555.

    Examples
    --------
    >>> lower_factor("lower 10%", 0.14).name, round(lower_factor("lower 10%", 0.14).value, 4)     # 1 - 1.2816 x 0.14
    ('1 - 1.282 CoV', 0.8206)
    """
    z = deviations_below(basis)
    return Factor(f"1 - {z:.4g} CoV", 1.0 - z * cov, LOWER_SOURCE, f"CoV {100 * cov:g} %{whose}")


class _Mean(NamedTuple):
    """A species' mean with its origin, before the basis."""

    mean: float
    source: str
    status: str
    note: str = ""
    factors: tuple[Factor, ...] = ()


def strengths(
    species: str | None, basis: Basis, own: Mapping[str, float], at: AtMoisture | None = None
) -> tuple[dict[str, Strength], tuple[str, ...]]:
    """All five strengths on a basis, with the sentences that name what stood in.

    A species' mean is its 12 % row; ``lower 5%`` is mean (1 - 1.645 CoV), other
    shares have their own figure. An own value stands for the basis as it is.
    Its mean (for the splitting length, a property of the material and not of the basis) is the value itself on the mean
    basis; on a lower one the species' mean where that is not below the own value, else own value / (1 - 1.645 CoV).

    Parameters
    ----------
    species : str or None
        Name as the tables spell it.
    basis : str
        ``mean``, or a lower percentage such as ``lower 5%``.
    own : mapping of str to float
        Own strengths on that basis, MPa; they stand for the moisture that the part has.
    at : AtMoisture, optional
        What the part's moisture makes of the species' 12 % values.

    Returns
    -------
    values : dict of str to Strength
        By the five names of ``STRENGTHS``.
    notes : tuple of str
        One sentence for each stand-in, with its status.

    Raises
    ------
    InputError
        For a strength that is in neither place and has no stand-in (the message names the keys of [wood.strength]), and
        for own values that are not above 0.

    Examples
    --------
    >>> values, _ = strengths("Douglas-fir, coast", "mean", {})
    >>> values["shear"].value, values["tension_across"].value, values["compression_across"].value
    (7.8, 2.3, 5.5)
    """
    _check_own(own)
    means, notes = _species_means(species)
    means = {name: _moist(name, mean, at) for name, mean in means.items()}
    without_stand_in = [name for name in STRENGTHS if name != "tension_across"]
    _refuse_missing([name for name in without_stand_in if name not in own and name not in means], species)
    values: dict[str, Strength] = {}
    for name in STRENGTHS:
        if name in own:
            values[name], remark = _own(name, own[name], basis, species, means.get(name))
            notes.pop(name, None)
            if remark:
                notes[name] = remark
            continue
        if name == "tension_across" and name not in means:
            means[name], notes[name] = _third_of_shear(values["shear"].mean, species)
        values[name] = _on_basis(name, means[name], basis, species)
    scatter = scatter_note(species, basis, [name for name in STRENGTHS if name not in own])
    return values, (*notes.values(), *scatter)


def _check_own(own: Mapping[str, float]) -> None:
    for name, value in own.items():
        key = f"wood.strength.{name}"
        if name not in STRENGTHS:
            raise InputError(f'"{name}" is not a strength. Strengths: {", ".join(STRENGTHS)}.', key=key)
        if not isfinite(value) or value <= 0:
            raise InputError(f"The strength {name} is {value:g} MPa; give a finite value above 0.", key=key)


def _refuse_missing(names: list[str], species: str | None) -> None:
    if not names:
        return
    whose = f'The tables lack strengths of "{species}"' if species else "Without a species strengths are missing"
    raise InputError(f"{whose}: {', '.join(names)}. Give them in [wood.strength].", key=f"wood.strength.{names[0]}")


def _species_means(species: str | None) -> tuple[dict[str, _Mean], dict[str, str]]:
    """Means of the 12 % row, MPa; tension across from the green row where that has it."""
    means: dict[str, _Mean] = {}
    notes: dict[str, str] = {}
    row = tables.strength_row(species) if species else None
    if row is None:
        return means, notes
    for name, column in COLUMN.items():
        value = tables.number(row, column)
        if value is not None:
            means[name] = _Mean(value / 1000, f"{row['source']}, 12 % moisture", row["status"])
    if "tension_along" in means:
        note = (
            "Tension along the grain: the modulus of rupture stands in, a low estimate for clear wood "
            f"(USDA Wood Handbook, ch. 5; {row['status']})."
        )
        means["tension_along"] = means["tension_along"]._replace(note=note)
        notes["tension_along"] = note
    green = tables.strength_row(row["species"], tables.GREEN)
    other = tables.number(green, COLUMN["tension_across"]) if green else None
    if "tension_across" not in means and green is not None and other is not None:
        note = (
            f'Tension across the grain of "{species}" is not tabulated at 12 % moisture; the green value, '
            f"{other / 1000:.3g} MPa, stands in ({green['status']})."
        )
        means["tension_across"] = _Mean(other / 1000, f"{green['source']}, green", green["status"], note)
        notes["tension_across"] = note
    return means, notes


def _moist(name: str, mean: _Mean, at: AtMoisture | None) -> _Mean:
    """A species' mean at the part's moisture."""
    factor = 1.0 if at is None else at.factors[name]
    if at is None or factor == 1.0:
        return mean
    moist = Factor(f"moisture {at.moisture:.3g} %", factor, FORMULA)
    return mean._replace(mean=mean.mean * factor, factors=(*mean.factors, moist))


def _third_of_shear(shear: float, species: str | None) -> tuple[_Mean, str]:
    whose = f' of "{species}" is not in the tables' if species else " is not given"
    note = f"Tension across the grain{whose}; a third of the shear strength, {shear / 3:.3g} MPa, stands in ({CHOICE})."
    return _Mean(
        shear / 3, "a third of the mean shear strength", CHOICE, note, (Factor("shear / 3", 1 / 3, CHOICE),)
    ), note


def _cov(species: str | None, name: str) -> float:
    return float(tables.scatter_row(species, SCATTER[name])["cov_percent"]) / 100


def _on_basis(name: str, found: _Mean, basis: Basis, species: str | None) -> Strength:
    cov = _cov(species, name)
    value, factors = found.mean, found.factors
    if basis != MEAN:
        lower = lower_factor(basis, cov, f", {_whose_scatter(species, name)}")
        value, factors = value * lower.value, (*factors, lower)
    return Strength(found.mean, value, cov, found.source, found.status, found.note, factors)


def _whose_scatter(species: str | None, name: str) -> str:
    row = tables.scatter_row(species, SCATTER[name])
    whose = "default" if row["material"].startswith(tables.DEFAULT_SCATTER) else row["material"]
    return f"{whose}, {row['status']}"


def _own(
    name: str, value: float, basis: Basis, species: str | None, known: _Mean | None
) -> tuple[Strength, str | None]:
    """Take an own value as it is; the mean behind it only matters to the splitting length."""
    cov = _cov(species, name)
    if basis == MEAN:
        return Strength(value, value, cov, GIVEN, GIVEN), None
    if known is not None and known.mean >= value:
        return Strength(known.mean, value, cov, GIVEN, GIVEN, f"mean of the species {known.mean:.3g} MPa"), None
    lower = lower_factor(basis, cov)
    mean = value / lower.value
    why = "no mean is known" if known is None else f"the species' mean is only {known.mean:.3g} MPa"
    note = (
        f"Strength in {WORDS[name]}: {why}; {value:.3g} MPa / (1 - {deviations_below(basis):.4g} x {cov:.3g}) = "
        f"{mean:.3g} MPa is taken as the mean behind the splitting length ({CHOICE})."
    )
    return Strength(mean, value, cov, GIVEN, GIVEN, note), note


def scatter_note(species: str | None, basis: Basis, names: Sequence[str]) -> tuple[str, ...]:
    """On a lower basis: whose coefficients of variation were used, where they are not the species' own."""
    if basis == MEAN:
        return ()
    stand_in = []
    for name in names:
        row = tables.scatter_row(species, SCATTER[name])
        if row["material"].startswith(tables.DEFAULT_SCATTER):
            stand_in.append(f"{WORDS[name]} {row['cov_percent']} % ({row['status']})")
    if not stand_in:
        return ()
    whose = f'No scatter of its own is known for "{species}"' if species else "No scatter is known for own wood"
    return (f"{whose}; the default coefficients of variation of clear wood stand in: {', '.join(stand_in)}.",)
