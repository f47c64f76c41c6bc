"""The strengths used, in rows and words: values, what they were multiplied by, and where all of it comes from."""

from __future__ import annotations

from ..judge.verdict import Allowable, Verdict
from ..units import Formatter
from ..wood.bearing import INPUT

NO_STRENGTHS = {"G_Ic low", "G_Ic high", "G_IIc low", "G_IIc high", "split_length", "E_0", "dowel bearing"}
HEAD = ("For", "value", "basis", "factors", "status", "source")


def strength_rows(verdict: Verdict, formatter: Formatter) -> list[tuple[str, ...]]:
    """Rows for the table of strengths, under `HEAD`; factors of 1 are told in words alone.

    Parameters
    ----------
    verdict : Verdict
    formatter : Formatter
        Puts numbers in the reader's units.
    """
    sources = strength_sources(verdict)
    several = len({row.regions for row in verdict.allowables}) > 1
    return [
        (
            _whose(row, several),
            _value(row, formatter),
            row.basis,
            ", ".join(f"{one.name} {one.value:.3g}" for one in row.factors if one.value != 1.0),
            row.status,
            f"[{sources[row.source]}]",
        )
        for row in verdict.allowables
    ]


def strength_sources(verdict: Verdict) -> dict[str, int]:
    """Sources of all strengths, numbered in the order in which they appear."""
    names = dict.fromkeys(row.source for row in verdict.allowables)
    return {name: number for number, name in enumerate(names, start=1)}


def factor_words(verdict: Verdict) -> list[str]:
    """Every factor once: name, value, on what it acts if not on all, its source and what to know of it."""
    found: dict[tuple[str, float, str, str], list[str]] = {}
    for row in verdict.allowables:
        for one in row.factors:
            if one.source != INPUT:
                found.setdefault((one.name, one.value, one.source, one.note), []).append(row.mode)
    every = set(dict.fromkeys(row.mode for row in verdict.allowables if row.mode not in NO_STRENGTHS))
    words = []
    for (name, value, source, note), modes in found.items():
        left = sorted(every - set(modes))
        on = ", ".join(dict.fromkeys(modes)) if len(left) > 1 else " but ".join(["all strengths", *left])
        words.append(f"{name} {value:.4g} on {on}: {source}" + (f" ({note})" if note else ""))
    return words


def _whose(row: Allowable, several: bool) -> str:
    """Which mode a strength is for, in which regions and cases."""
    regions = f" [{', '.join(row.regions)}]" if several else ""
    return f"{row.mode}{regions}" + (f" ({row.case})" if row.case else "")


def _value(row: Allowable, formatter: Formatter) -> str:
    if row.mode == "split_length":
        return formatter.length(row.value)
    return formatter.energy(row.value) if row.mode.startswith("G_") else formatter.stress(row.value)
