"""What a case does to strengths (how long its load lasts, how often it comes), once, in every figure of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ..bases import DESIGN
from ..part.model import Case, Part
from ..wood.case_factors import LASTING, CaseFactors, asd_case_factors, clear_factors, limit_case_factors
from ..wood.fatigue import FATIGUE_SOURCE, FATIGUE_STATUS, bending_line, fatigue_factor, loss_per_decade
from ..wood.model import Factor
from .verdict import (
    COMPRESSION_ACROSS,
    COMPRESSION_ALONG,
    SHEAR,
    SPLITTING,
    TENSION_ACROSS,
    TENSION_ALONG,
    HotSpot,
    ModeRow,
)

Array = NDArray[np.float64]
Row = TypeVar("Row", bound=ModeRow)

STEEP = 12.0  # run of a rise of 1: grain that dives so or steeper has a line of its own in repeated bending
NOTHING = CaseFactors()  # a short test
BETWEEN = (SPLITTING, SHEAR, TENSION_ACROSS, COMPRESSION_ACROSS)  # modes that happen between fibres
ACROSS = "shear"  # the line that stands in for all that happens between fibres: of it alone a point is known


@dataclass(frozen=True)
class Left:
    """Share of the strengths that is left in one case, by mode.

    Attributes
    ----------
    lasting : CaseFactors
        By how long it lasts, as its family has it.
    repeats : float
        How many times it comes; 1 where nobody said.
    along : str
        The handbook's line for tension along the grain.
    """

    lasting: CaseFactors = NOTHING
    repeats: float = 1.0
    along: str = "tension"

    def line(self, mode: str) -> str:
        """The handbook's line that a mode goes by; `combined`, and a mode of others, by the lower of both."""
        if mode == TENSION_ALONG:
            return self.along
        if mode == COMPRESSION_ALONG:
            return "compression"
        return ACROSS if mode in BETWEEN else max(ACROSS, self.along, key=loss_per_decade)

    def worn(self, mode: str) -> float:
        """By how often it comes; nothing is known of dents."""
        return 1.0 if mode == COMPRESSION_ACROSS else fatigue_factor(self.line(mode), self.repeats)

    def of(self, mode: str) -> float:
        """Of clear wood the lower of both, since tests of many cycles hold their time under load already.

        Of design values both together (own choices).
        """
        if mode == COMPRESSION_ACROSS:
            return self.lasting.pressed
        worn = self.worn(mode)
        return min(self.duration, worn) if self._clear else self.duration * worn

    @property
    def duration(self) -> float:
        """By how long it lasts alone."""
        return self.lasting.strength

    @property
    def _clear(self) -> bool:
        return all(factor.name == LASTING for factor in self.lasting.factors)

    @property
    def by_hand(self) -> float:
        """For the plain formulas, shear and bending together."""
        return min(self.of(SHEAR), self.of(TENSION_ALONG))

    @property
    def plain(self) -> CaseFactors:
        """The same as factors for the plain formulas, what repeats take beside what the duration does."""
        if self.by_hand == self.duration:
            return self.lasting
        worn = Factor("repeats", self.by_hand / self.duration, FATIGUE_SOURCE, FATIGUE_STATUS)
        return replace(self.lasting, factors=(*self.lasting.factors, worn))

    def said(self, mode: str) -> str:
        """What lowers a strength, in words."""
        k = self.of(mode)
        if k == 1.0 and not self.lasting.factors:
            return ""
        if k == self.duration:
            return self.lasting.said
        return f"strength times {k:.2f} after {self.repeats:,.0f} times, by the line for {self.line(mode)}"


def case_factors(part: Part) -> dict[str, CaseFactors]:
    """The factors on strengths in each case, by name, of the family that the part's wood belongs to."""
    return {case.name: factors_of_case(part, case) for case in part.cases}


def factors_of_case(part: Part, case: Case) -> CaseFactors:
    """Those of one case."""
    wood = part.wood
    blow = any(strike.name in case.factors for strike in part.strikes)
    if wood.grade is not None:
        often = (case.repeats or 1.0) > 1.0
        return asd_case_factors(
            case.seconds, blow=blow, joint=is_joint(part), treated=wood.treated, repeated=often and blow
        )
    if wood.strength_class is not None and wood.basis == DESIGN:
        return limit_case_factors(case.seconds, wood.service, blow=blow, accidental=case.accidental)
    return clear_factors(case.seconds)


def is_joint(part: Part) -> bool:
    """Whether the part is a connection: a pin or anything else bears on a hole of it."""
    places = [one.on for one in part.supports] + [one.on for one in part.loads] + [one.on for one in part.strikes]
    return any(place.kind == "hole" for place in places)


def duration_factors(part: Part) -> dict[str, Left]:
    """What is left of the strengths in each case, by name."""
    along = _along(part)
    return {case.name: Left(factors_of_case(part, case), case.repeats or 1.0, along) for case in part.cases}


def left_of(part: Part, case: Case, repeats: float) -> Left:
    """What is left in a case if it comes so many times."""
    return Left(factors_of_case(part, case), repeats, _along(part))


def _along(part: Part) -> str:
    """The line of tension along the grain, or of bending where that falls faster: with knots, or grain that dives."""
    seen = {one.kind: one for one in part.wood.seen}
    dives = "grain dives" in seen and (seen["grain dives"].run or 0.0) <= STEEP
    return max("tension", bending_line(knots="knot" in seen, slope=dives), key=loss_per_decade)


def lasting_row(row: Row, factors: Mapping[str, Left]) -> Row:
    """A row against the strength that is left in its case; the note says so. Not for dents, which have their own."""
    left = factors[row.case]
    k, said = left.of(row.mode), left.said(row.mode)
    if k == 1.0:
        return row
    peak = row.peak / k if row.peak is not None and row.mode == SPLITTING else row.peak
    return replace(
        row,
        allowable=row.allowable * k,
        utilisation=row.utilisation / k,
        peak=peak,
        note=f"{row.note}; {said}" if row.note else said,
    )


def lasting_spot(spot: HotSpot, factors: Mapping[str, Left]) -> HotSpot:
    """A hot spot against the strength that is left in its case."""
    k = factors[spot.case].of(SPLITTING)
    return replace(spot, utilisation=spot.utilisation / k, peak=None if spot.peak is None else spot.peak / k)


def lasting_fields(fields: Mapping[str, Array], left: Left) -> dict[str, Array]:
    """Fields of utilisation by mode, against what is left of the strengths; of dents nothing is lost."""
    return {mode: values / left.of(mode) for mode, values in fields.items()}
