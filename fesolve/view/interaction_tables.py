"""Rows for the tables on stresses at an angle to the grain."""

from __future__ import annotations

from collections.abc import Sequence

from ..judge.rows_interaction import AngleRow
from ..judge.verdict import Verdict
from ..units import Formatter
from .words import inside, offset, place_name, ratio_text

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
