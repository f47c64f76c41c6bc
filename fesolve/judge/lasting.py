"""Loads that last: strengths of a short test times the duration factor, once, in every figure of that case."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ..part.model import Part
from ..wood.duration import duration_factor
from .verdict import COMPRESSION_ACROSS, SPLITTING, HotSpot, ModeRow

Array = NDArray[np.float64]
Row = TypeVar("Row", bound=ModeRow)


def duration_factors(part: Part) -> dict[str, float]:
    """The factor on strengths in each case, by name; 1 where nobody said how long it lasts."""
    return {case.name: duration_factor(case.seconds) for case in part.cases}


def lasting_row(row: Row, factors: Mapping[str, float]) -> Row:
    """A row against the strength that is left in its case; the note says so. Not for dents, which have their own."""
    k = factors[row.case]
    if k == 1.0:
        return row
    peak = row.peak / k if row.peak is not None and row.mode == SPLITTING else row.peak
    said = f"strength times {k:.2f} as the load lasts"
    return replace(
        row,
        allowable=row.allowable * k,
        utilisation=row.utilisation / k,
        peak=peak,
        note=f"{row.note}; {said}" if row.note else said,
    )


def lasting_spot(spot: HotSpot, factors: Mapping[str, float]) -> HotSpot:
    """A hot spot against the strength that is left in its case."""
    k = factors[spot.case]
    return replace(spot, utilisation=spot.utilisation / k, peak=None if spot.peak is None else spot.peak / k)


def lasting_fields(fields: Mapping[str, Array], factor: float) -> dict[str, Array]:
    """Fields of utilisation by mode, against what is left of the strengths; across the grain nothing is lost."""
    return {mode: values if mode == COMPRESSION_ACROSS else values / factor for mode, values in fields.items()}
