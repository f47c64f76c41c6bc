"""What is said where not the mean stress at rest decides, but splitting by energy or a moment of a blow."""

from __future__ import annotations

from ..judge.energy import deciding
from ..judge.rows_split import SplitRow
from ..judge.taking import THROUGH_TIME
from ..judge.verdict import HotSpot, Verdict
from ..units import Formatter
from .amounts import load_text, ratio_text


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


def timed_text(verdict: Verdict) -> str:
    """``through time splitting reaches 1.54``; empty where no moment of a blow decides."""
    governing = verdict.governing
    if governing is None or not governing.note.startswith(THROUGH_TIME):
        return ""
    return f"{THROUGH_TIME} {governing.mode} reaches {ratio_text(governing.utilisation)}"


def coloured_text(verdict: Verdict) -> str:
    """``colour: mean stress; by energy 1.49 at hot spot 1, which decides``; empty where the colour is what decides."""
    if timed := timed_text(verdict):
        return f"colour and shares: the blow as a force at rest; {timed}, which decides"
    row, governing = deciding_split(verdict), verdict.governing
    if row is None or governing is None:
        return ""
    at = "at" if row.of.startswith("hot spot ") else "from"
    return f"colour: mean stress; by energy {ratio_text(governing.utilisation)} {at} {row.of}, which decides"


def share_text(verdict: Verdict, spot: HotSpot) -> str:
    """The share of a hot spot: by energy where that decides there, else that of the mean stress."""
    row, governing = deciding_split(verdict), verdict.governing
    if row is None or governing is None or (row.of, row.case) != (f"hot spot {spot.rank}", spot.case):
        return ratio_text(spot.utilisation)
    return f"{ratio_text(governing.utilisation)} by energy"
