"""Where splitting by energy objects to what the means say."""

from __future__ import annotations

from ..bases import DESIGN, MEAN
from ..judge.growth import size_of
from ..judge.rows_split import SplitRow
from ..judge.verdict import Verdict
from ..units import Formatter
from .amounts import load_text, ratio_text


def in_hand(verdict: Verdict, row: SplitRow) -> float | None:
    """The load that makes a split over what acts in its case; None where nothing drives it."""
    acts = size_of(verdict.takes.of, verdict.loads, row.case)
    return None if row.low is None or row.low.past is None or acts <= 0.0 else row.low.past / acts


def energy_objection(verdict: Verdict) -> SplitRow | None:
    """The worst split by energy, trusted or of a crack that is there, that leaves less than is wanted on the basis.

    On the mean basis less than what acts, on design the same, on a lower one less than the margin; and less than what
    the verdict goes by.
    """
    wanted = 1.0 if verdict.basis in (MEAN, DESIGN) else verdict.margin
    judged = verdict.takes.low if verdict.takes.judged is None else verdict.takes.judged
    rows = [
        (ratio, row)
        for row in verdict.splits
        if (row.trusted == "energy" or row.existing > 0.0)
        and (ratio := in_hand(verdict, row)) is not None
        and ratio < wanted
        and row.low is not None
        and (judged is None or (row.low.past or 0.0) < judged)
    ]
    return min(rows, key=lambda one: one[0], default=(0.0, None))[1]


def energy_text(verdict: Verdict, formatter: Formatter) -> str:
    """``A split from hot spot 2 comes at 2.2 kN, below what acts; it runs.``; else empty."""
    row = energy_objection(verdict)
    if row is None or row.low is None or row.low.past is None:
        return ""
    what = f"The {row.of} runs on" if row.existing > 0.0 else f"A split from {row.of} comes"
    load, ratio = load_text(row.low.past, verdict.takes.of, formatter), in_hand(verdict, row) or 0.0
    acts = "below what acts" if ratio < 1.0 else f"{ratio_text(ratio)} times what acts"
    then = "it runs" if row.low.stops_at is None else f"it waits at {formatter.quantity(row.low.stops_at, 'length')}"
    trust = " Trust this more than the mean stress there." if row.trusted == "energy" else ""
    return f"{what} at {load}, {acts}; {then}.{trust}"
