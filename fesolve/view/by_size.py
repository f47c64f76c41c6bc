"""Where the effect of size objects to a part that holds by its means."""

from __future__ import annotations

from ..judge.rows_interaction import SizeRow
from ..judge.verdict import TENSION_ACROSS, Verdict


def objection(verdict: Verdict) -> SizeRow | None:
    """The worst row of tension across the grain with less in hand than the margin and less than what governs.

    It changes no figure of the verdict, but a part is not said to hold against it. Shear along the grain is left to a
    caution: the volume that its strength belongs to is an own choice.
    """
    least = 0.0 if verdict.governing is None else verdict.governing.utilisation
    least = max(least, 1.0 / verdict.margin)
    rows = [
        row
        for row in verdict.size_effect
        if row.mode == TENSION_ACROSS and row.utilisation is not None and row.utilisation > least
    ]
    return max(rows, key=lambda row: row.utilisation or 0.0, default=None)
