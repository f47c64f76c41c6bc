"""Rows for the tables on stresses at an angle to the grain, and on the effect of size."""

from __future__ import annotations

from collections.abc import Sequence

from ..judge.rows_interaction import AngleRow
from ..judge.verdict import Verdict
from ..units import Formatter
from .amounts import ratio_text
from .words import inside, offset, place_name

Cells = Sequence[str]
ANGLE_TITLE = "One stress at an angle to the grain (Hankinson's formula; never decides)"
ANGLE_HEAD = ("Along", "stress", "angle\ndeg", "strength", "share", "where")


def angle_cells(verdict: Verdict, formatter: Formatter, *, several: bool) -> list[Cells]:
    """One row for each stress at an angle, with its case where there are several."""
    return [
        (
            ("edge, " if row.kind == "edge" else "member, ")
            + ("pressed" if row.value < 0.0 else "pulled")
            + (f" [{row.case}]" if several else ""),
            formatter.stress(abs(row.value)),
            f"{row.angle:.0f}",
            formatter.stress(row.allowable),
            ratio_text(row.utilisation),
            _where(row, formatter),
        )
        for row in verdict.at_an_angle
    ]


def _where(row: AngleRow, formatter: Formatter) -> str:
    if row.kind == "section":
        return row.note.removeprefix("M/S + N/A at the section ") + inside(row.region)
    if row.measured_from is None:
        return place_name(row.where)
    return offset(row.at, row.measured_from, formatter) + inside(row.region)


SIZE_TITLE = "Effect of size (never decides)"
SIZE_HEAD = ("For", "even stress", "strength", "on", "k", "share", "as if even in")
INCH = 25.4  # mm


def size_cells(verdict: Verdict, formatter: Formatter, *, several: bool) -> list[Cells]:
    """One row a mode; stress and strength are those of the reference volume."""
    return [
        (
            row.mode + (f" [{row.case}]" if several else ""),
            "-" if row.value is None else formatter.stress(row.value),
            formatter.stress(row.allowable),
            _volume(row.volume, formatter),
            f"{row.exponent:g}",
            "-" if row.utilisation is None else ratio_text(row.utilisation),
            "-" if row.even_volume is None else _volume(row.even_volume, formatter),
        )
        for row in verdict.size_effect
    ]


def size_words(verdict: Verdict) -> list[str]:
    """What is to be known of the rows, a sentence each."""
    notes = dict.fromkeys((row.mode, row.note) for row in verdict.size_effect if row.note)
    return [f"{mode}: {note}." for mode, note in notes]


def _volume(value: float, formatter: Formatter) -> str:
    if formatter.system == "us":
        return f"{value / INCH**3:.3g} in3"
    return f"{value / 1000.0:.3g} cm3" if value < 1e6 else f"{value / 1e6:.3g} dm3"
