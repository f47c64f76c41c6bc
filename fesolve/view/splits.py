"""Splitting by energy, in words and as a table."""

from __future__ import annotations

from ..judge.growth import size_of
from ..judge.rows_split import SplitRow, SplitStart
from ..judge.verdict import Verdict
from ..units import Formatter
from .amounts import load_text

Cells = tuple[str, ...]

TITLE = "Splitting by energy, from where a crack can start"
HEAD = ("from", "starts at, low", "high", "over", "then", "splits at", "mean stress", "trusted")


HOPELESS = 5.0  # times the load that starts a crack: what drives it on only then is not told as a figure
MOST = 3  # cracks that are drawn, beside one another


def drawn_rows(verdict: Verdict) -> list[SplitRow]:
    """The first few cracks that were followed to near the end of the wood and that something drives."""
    found = [row for row in verdict.splits if row.whole and row.low is not None and row.low.load is not None]
    return found[:MOST]


def split_cells(verdict: Verdict, formatter: Formatter) -> list[Cells]:
    """Rows of the table: loads by the low and the high energies, and what the mean stress says there."""
    several = len({row.case for row in verdict.splits}) > 1
    return [_cells(row, verdict.takes.of, formatter, several=several) for row in verdict.splits if row.low is not None]


def _cells(row: SplitRow, of: str, formatter: Formatter, *, several: bool) -> Cells:
    assert row.low is not None
    assert row.high is not None
    where = f"{row.of} ({row.case})" if several else row.of
    loads = (row.low.load, row.high.load, row.low.past, row.mean_load)
    low, high, past, mean = (_load(one, of, formatter) for one in loads)
    over = formatter.quantity(row.low.length, "length")
    trusted = row.trusted or ("-" if row.mean_load is None else "agree")
    return where, low, high, over, _then(row.low, formatter, whole=row.whole), past, mean, trusted


def _load(load: float | None, of: str, formatter: Formatter) -> str:
    return "-" if load is None else load_text(load, of, formatter)


def _then(start: SplitStart, formatter: Formatter, *, whole: bool) -> str:
    if start.load is None:
        return "nothing drives it"
    if not whole:
        return "not looked at"
    if start.stops_at is None:
        return "runs"
    return f"waits at {formatter.quantity(start.stops_at, 'length')}"


def split_words(verdict: Verdict, formatter: Formatter) -> list[str]:
    """A sentence or two on each: energies, the load that drives a waiting crack on, and why one figure is trusted."""
    said, several = [], len({row.case for row in verdict.splits}) > 1
    for row in verdict.splits:
        if row.low is None or row.high is None:
            said.append(f"{_capital(row.of)} ({row.where}): not opened, {row.why.rstrip('.')}.")
            continue
        energies = (
            f"energies {1000 * row.low.G_Ic:.0f} to {1000 * row.high.G_Ic:.0f} J/m2 opening, "
            f"{1000 * row.low.G_IIc:.0f} to {1000 * row.high.G_IIc:.0f} sliding"
        )
        case = f", {row.case}" if several else ""
        there = f"a crack of {formatter.quantity(row.existing, 'length')} already" if row.existing else "none yet"
        why = row.why or "no mean stress to compare with"
        place = f"tip {row.where}" if row.existing and not row.assumed else row.where
        text = f"{_capital(row.of)}{case} ({place}; {there}; {energies}): {why}."
        if row.low.stops_at is not None and row.low.runs_at is not None:
            waits, far = (formatter.quantity(one, "length") for one in (row.low.stops_at, row.lengths[-1]))
            driven = load_text(row.low.runs_at, verdict.takes.of, formatter)
            on = f"it is driven on to {far} by {driven}"
            if row.low.load is not None and row.low.runs_at > HOPELESS * row.low.load:
                on = f"nothing near that load drives it on to {far}"
            text += f" It starts, and waits at {waits}; {on}."
        said.append(text + _scaled(verdict, row))
    return said


def _scaled(verdict: Verdict, row: SplitRow) -> str:
    """Say what the basis and the case's duration take off the loads, where they do."""
    acts = size_of(verdict.takes.of, verdict.loads, row.case)
    if acts <= 0.0 or abs(row.reference / acts - 1.0) < 0.005:
        return ""
    return f" Its loads are those of mean wood times {row.reference / acts:.2f}, for the basis and how the load lasts."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
