"""What to change, in words and as a table."""

from __future__ import annotations

from collections.abc import Iterable

from ..judge.rows_cures import CureRow, LookedRow
from ..judge.verdict import Verdict
from ..units import Formatter
from .amounts import load_text, ratio_text
from .blows import OWN

Cells = tuple[str, ...]

TITLE = "What to change: checked, best first"
HEAD = ("change", "takes, low", "times", "share", "in hand", "fails by")
TOLD = 3  # cures in the sentence
NAMED = 8  # changes of a kind that are named in the list
SAME = 0.02  # of a ratio: nearer ones are the same
LITTLE = 0.01  # of a gain: told as neither better nor worse
PROVE = "A calculation: prove it before use."


def cures_text(verdict: Verdict, formatter: Formatter) -> str:
    """Return the best few: ``species Ash, white takes 11.9 kN (1.26 times); rounds doubled 11 kN (1.16); ...``."""
    cures = verdict.cures
    if cures is None:
        return ""
    checked = any(row.group == "thickness" and row.gain is not None for row in cures.looked)
    vain = " More thickness does not help." if checked else ""
    if not cures.rows:
        return f"None of the changes that were looked at helps.{vain}"
    told = [_told(row, verdict, formatter, first=number == 0) for number, row in enumerate(cures.rows[:TOLD])]
    return f"{'; '.join(told)}.{vain} {PROVE}"


def _told(row: CureRow, verdict: Verdict, formatter: Formatter, *, first: bool) -> str:
    what = cure_name(row)
    what = what[:1].upper() + what[1:] if first and row.group not in ("dimension", "wood") else what
    if verdict.strikes or _acts_otherwise(row, verdict):  # newtons alone say nothing where what acts changes, too
        return f"{what}: {ratio_text(row.utilisation)} {'times' if row.utilisation >= 1.0 else 'of'} what it takes"
    if row.takes is None:
        return f"{what}: nothing breaks it"
    load = load_text(row.takes, verdict.takes.of, formatter)
    return (
        f"{what}: takes {load}, {ratio_text(row.gain)} times as much"
        if first
        else (f"{what}: {load}, {ratio_text(row.gain)} times")
    )


def _acts_otherwise(row: CureRow, verdict: Verdict) -> bool:
    """Whether what acts changes with the part: a load by its area or weight, of which newtons do not tell the gain."""
    before = verdict.takes.low if verdict.takes.judged is None else verdict.takes.judged
    return row.takes is not None and bool(before) and abs(row.takes / (before or 1.0) / row.gain - 1.0) > SAME


def cure_name(row: CureRow | LookedRow) -> str:
    """What it is called; a species as one."""
    return f"species {row.what}" if row.group == "wood" else row.what


def cure_cells(verdict: Verdict, formatter: Formatter) -> list[Cells]:
    """Rows of the table: the change, the load, the gain, the share, what is in hand then, and what it fails by."""
    cures = verdict.cures
    return [] if cures is None else [_cells(row, verdict, formatter) for row in cures.rows]


def _cells(row: CureRow, verdict: Verdict, formatter: Formatter) -> Cells:
    load = "-" if row.takes is None else load_text(row.takes, verdict.takes.of, formatter)
    if row.own is not None:
        kind = "speed" if verdict.takes.quantity == "speed" else "length"
        load += f" ({OWN[verdict.takes.quantity]} {formatter.quantity(row.own, kind)})"
    hand = ratio_text(row.load_factor) + ("" if row.enough else " -")
    return cure_name(row), load, ratio_text(row.gain), ratio_text(row.utilisation), hand, row.mode or "nothing"


def cure_words(verdict: Verdict) -> list[str]:
    """What else was looked at: better, worse, idle, loads, not possible; a line each."""
    cures = verdict.cures
    if cures is None:
        return []
    gains = [(row, row.gain) for row in cures.looked if row.gain is not None]
    better = [f"{cure_name(row)} {ratio_text(gain)}" for row, gain in gains if gain > 1.0 + LITTLE]
    worse = [f"{cure_name(row)} {ratio_text(gain)}" for row, gain in reversed(gains) if gain < 1.0 - LITTLE]
    words = [f"In hand is the load factor; {ratio_text(cures.aim)} is wanted, and a - marks those that have less."]
    words += _listed("By a quick look, about so many times the load", better)
    words += _listed("Worse", worse)
    words += _listed("Next to nothing, 10 % up or down", cures.idle)
    words += _listed("Only change what acts, which is no cure of the part", cures.loads)
    words += [f"Not possible: {cure_name(row)} ({row.why.rstrip('.')})." for row in cures.looked if row.gain is None]
    return [*words, f"Each change by itself. {PROVE}"]


def _listed(what: str, names: Iterable[str]) -> list[str]:
    listed = list(names)
    more = f", {len(listed) - NAMED} more" if len(listed) > NAMED else ""
    return [f"{what}: {', '.join(listed[:NAMED])}{more}."] if listed else []
