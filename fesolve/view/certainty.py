"""How sure it is, and the chance of failure, in words and as a table."""

from __future__ import annotations

from ..judge.rows_sure import Chance, SureRow
from ..judge.verdict import Verdict
from ..units import Formatter
from .across import BASE, verb_of
from .amounts import load_text, ratio_text
from .blows import OWN

RARE = 1e-3  # a chance below this is not told as a number: nobody has tested the tail
SAYS = {
    "splits or breaks": "fails",
    "does not reach its mean strength": "does not",
    "above the design value": "above",
    "within the design value": "within",
}
Cells = tuple[str, ...]


def sure_text(verdict: Verdict, band: str) -> str:
    """``Likely, within a factor of 2.9. The answer would change with strength at 5 %.``; empty where nothing varied."""
    if verdict.sure is None:
        return ""
    word = verdict.sure[:1].upper() + verdict.sure[1:]
    return f"{word}{band}. {verdict.why_sure}".strip()


def chance_text(verdict: Verdict, formatter: Formatter) -> str:
    """How many of a hundred such pieces fail at this load; the loads with 5 and 50 %; and what broke one that did."""
    chance = verdict.chance
    if chance is None:
        return verdict.no_chance
    governing = verdict.governing
    verb = "fail" if governing is None else BASE[verb_of(governing)]
    loads = [load_text(load, chance.of, formatter) for load in (chance.five, chance.half, chance.ninety_five)]
    if chance.own is not None:
        kind = "speed" if verdict.takes.quantity == "speed" else "length"
        own = [f"{OWN[verdict.takes.quantity]} {formatter.quantity(one, kind)}" for one in chance.own]
        loads = [f"{load} ({one})" for load, one in zip(loads, own, strict=True)]
    at = "the loads" if chance.of not in {row.name for row in verdict.loads} else formatter.force(chance.load)
    return (
        f"{_of_hundred(chance.fails)} such clear, straight-grained pieces {verb} at {at}; 5 of 100 below {loads[0]}, "
        f"half below {loads[1]}. If one did {verb}, a load between {loads[0]} and {loads[2]} did it (9 times in 10)."
        f"{_by_size(chance, formatter)}"
    )


def _by_size(chance: Chance, formatter: Formatter) -> str:
    one = chance.by_size
    if one is None:
        return ""
    half = load_text(one.half, chance.of, formatter)
    count = _of_hundred(one.fails)
    what = f"By the size of what is stressed ({one.mode}, weakest link)"
    return f" {what}: {count[:1].lower()}{count[1:]}, half below {half}."


def _of_hundred(chance: float) -> str:
    if chance < RARE:
        return "Fewer than 1 of 1,000"
    if chance > 1.0 - RARE:
        return "Nearly all"
    if chance < 0.01:
        return f"About {1000.0 * chance:.0f} of 1,000"
    return f"About {100.0 * chance:.0f} of 100"


def sure_rows(verdict: Verdict, formatter: Formatter) -> list[Cells]:
    """Rows of the table: what was varied, what it takes then, its share, what it says, what changes."""
    return [
        (
            row.what,
            "-" if row.takes is None else load_text(row.takes, verdict.takes.of, formatter),
            ratio_text(row.utilisation),
            SAYS.get(row.answer, row.answer),
            _changes(row),
        )
        for row in verdict.how_sure
    ]


def _changes(row: SureRow) -> str:
    words = {"answer": "the answer", "mode": "the mode", "place": "the place"}
    return ", ".join(words[one] for one in row.changes) or "-"


def scatter_words(verdict: Verdict) -> list[str]:
    """What the chance is made of, a line each."""
    chance = verdict.chance
    if chance is None:
        return []
    return [
        f"{row.what}: CoV {100.0 * row.cov:.0f} % ({row.status}); the load goes as its power {row.share:.2f}. "
        f"{row.source}."
        for row in chance.scatter
    ]
