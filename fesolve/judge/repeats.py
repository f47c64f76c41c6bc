"""Cases that come again and again, and blows that are judged for once with the figure for many beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..part.model import Case, Part
from ..wood.fatigue import (
    FATIGUE_SOURCE,
    FATIGUE_STATUS,
    USUAL,
    beyond,
    code_fatigue_factor,
)
from .lasting import Left, duration_factors, left_of
from .rows_piece import RepeatsRow
from .verdict import SPLITTING, TENSION_ALONG, ModeRow, ThroughTime


def repeats_rows(
    part: Part, modes: Sequence[ModeRow], blows: Mapping[str, ThroughTime | None]
) -> tuple[RepeatsRow, ...]:
    """Rows of all cases with a number of repeats, and of all strikes.

    Parameters
    ----------
    part : Part
    modes : sequence of ModeRow
        As judged: with what is left of the strengths in each case.
    blows : mapping of case name to ThroughTime or None
        Cases with a strike, and what time makes of it.
    """
    factors = duration_factors(part)
    return tuple(
        _row(part, case, modes, factors[case.name], blows.get(case.name))
        for case in part.cases
        if case.repeats is not None or case.name in blows
    )


def _row(part: Part, case: Case, modes: Sequence[ModeRow], judged: Left, through: ThroughTime | None) -> RepeatsRow:
    counted = case.repeats or float(USUAL)
    once, many = left_of(part, case, 1.0), left_of(part, case, counted)
    severe = part.if_it_breaks.people in ("near", "carried")
    along = many.line(TENSION_ALONG).partition(",")[0]
    return RepeatsRow(
        case=case.name,
        repeats=case.repeats,
        written=case.often or "",
        counted=counted,
        left_splitting=many.of(SPLITTING),
        left_along=many.of(TENSION_ALONG),
        code_shear=code_fatigue_factor("shear", counted, severe=severe),
        code_along=code_fatigue_factor(along, counted, severe=severe),
        utilisation=_use(case, modes, judged, many, through),
        once=_use(case, modes, judged, once, through),
        note=beyond(counted),
        source=FATIGUE_SOURCE,
        status=FATIGUE_STATUS,
    )


def _use(case: Case, modes: Sequence[ModeRow], judged: Left, wanted: Left, through: ThroughTime | None) -> float:
    """The worst deciding utilisation of a case, as if another share of the strengths were left."""
    rows = [row for row in modes if row.case == case.name and row.decides]
    found = [(row.mode, row.utilisation) for row in rows]
    found += [(mode.mode, mode.utilisation) for mode in through.modes] if through is not None else []
    return max((use * judged.of(mode) / wanted.of(mode) for mode, use in found), default=0.0)


def repeats_cautions(rows: Sequence[RepeatsRow]) -> list[str]:
    """What to know of the figures for repeated loads."""
    if not rows:
        return []
    codes = [f'"{row.case}" {row.code_shear:.2f} in shear, {row.code_along:.2f} along the grain' for row in rows]
    found = [
        f"Repeated loads go by {FATIGUE_SOURCE} ({FATIGUE_STATUS}); across the grain and in splitting the line of "
        "shear stands in. Loads that turn about wear more: in reversed bending 30 % lasts 30 million times "
        "(from memory).",
        "A code's design line for characteristic strengths leaves less (EN 1995-2, annex A, from memory; "
        f"{'; '.join(codes)}): where people depend on it the lower figure counts.",
    ]
    return found + [f'Case "{row.case}": {row.note}.' for row in rows if row.note and row.repeats is not None]
