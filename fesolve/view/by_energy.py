"""What is said where splitting by energy decides."""

from __future__ import annotations

from ..judge.energy import deciding
from ..judge.rows_split import SplitRow
from ..judge.verdict import Verdict
from ..units import Formatter
from .amounts import load_text


def deciding_split(verdict: Verdict) -> SplitRow | None:
    """The row of splitting by energy that governs, if one does."""
    return deciding(verdict.governing, verdict.splits)


def runs_on(row: SplitRow) -> str:
    """``The crack c runs on from its tip``; of one inside the wood, from which of its tips."""
    name, _, tip = row.of.partition(", ")
    return f"The {name} runs on from its {tip or 'tip'}"


def why_by_energy(verdict: Verdict, row: SplitRow, formatter: Formatter) -> str:
    """``By energy (100 J/m2 in opening, 600 in sliding) a split from hot spot 2 comes at 2.2 kN, and runs.``."""
    if row.low is None or row.low.past is None:
        return ""
    what = f"the {row.of} runs on" if row.existing > 0.0 else f"a split from {row.of} comes"
    then = ""
    if row.low.stops_at is not None:
        then = f", and waits at {formatter.quantity(row.low.stops_at, 'length')}"
    elif row.whole and not row.existing:
        then = ", and runs"
    energies = f"{1000 * row.low.G_Ic:.0f} J/m2 in opening, {1000 * row.low.G_IIc:.0f} in sliding"
    trust = f" Not the mean stress: {row.why}." if row.trusted == "energy" else ""
    load = load_text(row.low.past, verdict.takes.of, formatter)
    return f"By energy ({energies}) {what} at {load}{then}.{trust}"
