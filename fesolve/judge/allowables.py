"""The strengths that a part is judged with, as the verdict lists them: every factor by name, value and source."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from ..wood.allowables import Used, values_used
from ..wood.bearing import INPUT, dowel_of
from ..wood.case_factors import CaseFactors
from ..wood.model import Factor, Wood
from .modes import Look
from .patches import Patch
from .verdict import (
    COMPRESSION_ACROSS,
    COMPRESSION_ALONG,
    SHEAR,
    SPLITTING,
    TENSION_ACROSS,
    TENSION_ALONG,
    Allowable,
)

DOWEL = "dowel bearing"
MODE_OF_STRENGTH = {
    "shear": SHEAR,
    "tension_across": TENSION_ACROSS,
    "compression_across": COMPRESSION_ACROSS,
    "tension_along": TENSION_ALONG,
    "compression_along": COMPRESSION_ALONG,
    "bending": "bending",
    "splitting: shear": f"{SPLITTING}: {SHEAR}",
    "splitting: tension_across": f"{SPLITTING}: {TENSION_ACROSS}",
    "splitting: compression_across": f"{SPLITTING}: {COMPRESSION_ACROSS}",
}


def allowable_rows(looks: Sequence[Look], factors: Mapping[str, CaseFactors]) -> tuple[Allowable, ...]:
    """Every strength and energy of every wood; a row for each group of cases whose factors are the same.

    Parameters
    ----------
    looks : sequence of Look
        One a zone.
    factors : mapping of str to CaseFactors
        By case.
    """
    groups: dict[CaseFactors, list[str]] = {}
    for case, one in factors.items():
        groups.setdefault(one, []).append(case)
    several = len(groups) > 1
    named = [(one, ", ".join(cases) if several else "") for one, cases in groups.items()]
    return tuple(row for look in _of_each_wood(looks) for row in _of_wood(looks, look, named))


def _of_each_wood(looks: Sequence[Look]) -> list[Look]:
    """The first look of each wood."""
    kept: list[Look] = []
    for look in looks:
        if all(look.wood != other.wood for other in kept):
            kept.append(look)
    return kept


def _of_wood(looks: Sequence[Look], look: Look, cases: Sequence[tuple[CaseFactors, str]]) -> list[Allowable]:
    """The rows of one wood, with the regions that it makes up."""
    regions = tuple(name for one in looks if one.wood == look.wood for name in one.inspection.regions)
    rows = [row for used in values_used(look.wood) for row in _in_cases(used, regions, cases)]
    return rows + dowel_rows(look.wood, look.inspection.patches.values(), regions, cases)


def _in_cases(used: Used, regions: tuple[str, ...], cases: Sequence[tuple[CaseFactors, str]]) -> list[Allowable]:
    """One value in each group of cases; a single row where its factors are the same in all."""
    mode = MODE_OF_STRENGTH.get(used.name, used.name)
    found: dict[tuple[Factor, ...], list[str]] = {}
    for one, names in cases:
        more = _more(used, one)
        found.setdefault(more, []).append(names)
    return [
        Allowable(
            mode, used.value * _product(more), used.basis, (*used.factors, *more), used.source, used.status, regions,
            ", ".join(names) if len(found) > 1 else "", used.note,
        )
        for more, names in found.items()
    ]  # fmt: skip


def _more(used: Used, one: CaseFactors) -> tuple[Factor, ...]:
    """The case's factors on one value: none on stiffness, energies and lengths."""
    if used.name == "compression_across":
        return one.across
    return one.factors if used.name in MODE_OF_STRENGTH else ()


def _product(factors: Iterable[Factor]) -> float:
    product = 1.0
    for factor in factors:
        product *= factor.value
    return product


def dowel_rows(
    wood: Wood, patches: Iterable[Patch], regions: tuple[str, ...], cases: Sequence[tuple[CaseFactors, str]]
) -> list[Allowable]:
    """What a wood bears under each pin, by diameter: along the grain and across it, MPa.

    Parameters
    ----------
    wood : Wood
    patches : iterable of Patch
        All; those in holes count.
    regions : tuple of str
        That the wood makes up.
    cases : sequence of (CaseFactors, str)
        Groups of cases by what they do to strengths.
    """
    rows = []
    for diameter in sorted({patch.bearing for patch in patches if patch.bearing is not None}):
        dowel = dowel_of(wood, diameter)
        for angle, value in ((0.0, dowel.along), (90.0, dowel.across)):
            for one, names in cases:
                more = one.factors if dowel.by_gravity or angle == 0.0 else one.across
                factors = (Factor("deg to the grain", angle, INPUT), *dowel.factors, *more)
                rows.append(
                    Allowable(
                        DOWEL, value * _product(more), wood.basis, factors, dowel.source, dowel.status, regions, names,
                        dowel.note,
                    )
                )  # fmt: skip
    return rows
