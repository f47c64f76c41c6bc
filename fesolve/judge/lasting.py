"""What a case does to strengths (how long its load lasts, by its family's own factors), once, in every figure of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ..bases import DESIGN
from ..part.model import Case, Part
from ..wood.case_factors import CaseFactors, asd_case_factors, clear_factors, limit_case_factors
from .verdict import COMPRESSION_ACROSS, SPLITTING, HotSpot, ModeRow

Array = NDArray[np.float64]
Row = TypeVar("Row", bound=ModeRow)


def case_factors(part: Part) -> dict[str, CaseFactors]:
    """The factors on strengths in each case, by name, of the family that the part's wood belongs to."""
    return {case.name: factors_of_case(part, case) for case in part.cases}


def factors_of_case(part: Part, case: Case) -> CaseFactors:
    """Those of one case."""
    wood = part.wood
    blow = any(strike.name in case.factors for strike in part.strikes)
    if wood.grade is not None:
        return asd_case_factors(case.seconds, blow=blow, joint=is_joint(part), treated=wood.treated)
    if wood.strength_class is not None and wood.basis == DESIGN:
        return limit_case_factors(case.seconds, wood.service, blow=blow, accidental=case.accidental)
    return clear_factors(case.seconds)


def is_joint(part: Part) -> bool:
    """Whether the part is a connection: a pin or anything else bears on a hole of it."""
    places = [one.on for one in part.supports] + [one.on for one in part.loads] + [one.on for one in part.strikes]
    return any(place.kind == "hole" for place in places)


def lasting_row(row: Row, factors: Mapping[str, CaseFactors]) -> Row:
    """A row against the strength that is left in its case; the note says so. Not for dents, which have their own."""
    k = factors[row.case].strength
    if k == 1.0:
        return row
    peak = row.peak / k if row.peak is not None and row.mode == SPLITTING else row.peak
    said = factors[row.case].said
    return replace(
        row,
        allowable=row.allowable * k,
        utilisation=row.utilisation / k,
        peak=peak,
        note=f"{row.note}; {said}" if row.note else said,
    )


def lasting_spot(spot: HotSpot, factors: Mapping[str, CaseFactors]) -> HotSpot:
    """A hot spot against the strength that is left in its case."""
    k = factors[spot.case].strength
    return replace(spot, utilisation=spot.utilisation / k, peak=None if spot.peak is None else spot.peak / k)


def lasting_fields(fields: Mapping[str, Array], factors: CaseFactors) -> dict[str, Array]:
    """Fields of utilisation by mode, against what is left of the strengths."""
    return {
        mode: values / (factors.pressed if mode == COMPRESSION_ACROSS else factors.strength)
        for mode, values in fields.items()
    }
