"""The codes' formulas beside the mesh: rows of a table, and in words which formula and where it comes from."""

from __future__ import annotations

from ..judge.verdict import Verdict
from ..units import Formatter
from ..wood.model import CLEAR
from .amounts import ratio_text

HEAD = ("Formula", "of", "at", "acts", "allows", "share", "over the mesh")


def code_title(verdict: Verdict) -> str:
    """Return the table's title; with strengths of clear wood it is no code check, and says so."""
    if verdict.basis == "design":
        return "Codes' formulas beside the mesh (design values)"
    whose = "clear wood" if verdict.family == CLEAR else verdict.wood
    return f"Codes' formulas beside the mesh ({verdict.basis} strengths of {whose}: no code check)"


def code_cells(verdict: Verdict, formatter: Formatter, several: bool) -> list[tuple[str, ...]]:
    """Return a row a formula and place: what acts, what it allows, its share, and its load over the mesh's.

    Parameters
    ----------
    verdict : Verdict
    formatter : Formatter
    several : bool
        Whether there are several cases, to be named.
    """
    return [
        (
            row.what + (f" [{row.case}]" if several else ""),
            row.family,
            row.place,
            formatter.force(row.load),
            formatter.force(row.resistance),
            ratio_text(row.utilisation),
            "-" if row.ratio is None else ratio_text(row.ratio),
        )
        for row in verdict.codes
    ]


def code_words(verdict: Verdict) -> list[str]:
    """Return each formula with its source and status and the figures that went in, then what there is none for."""
    said: dict[str, list[str]] = {}
    for row in verdict.codes:
        key = f"{row.family}, {row.what}: {row.formula} ({row.source}; {row.status})"
        said.setdefault(key, []).append(f"{row.place}: {row.note}")
    words = [f"{key}. {'; '.join(places)}." for key, places in said.items()]
    return words + list(verdict.codes_missing)
