"""What rows of variations say together: whether they change the answer, and what the part takes from least to most."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..bases import DESIGN, MEAN
from .rows_sure import Answer, Chance, Sure, SureRow

SAME_PLACE = 10.0  # mm: what moves less than this, or than the length of a mean, has not moved
MOST = 3  # variations that are named
LIKELY = 0.2  # greatest chance of the other answer with which one is still likely
FAILS: Answer = "splits or breaks"
CLOSE: Answer = "too close to call"


def answer_of(basis: str, margin: float, factor: float | None) -> Answer:
    """What a load factor says on a basis; None is that of a part which no load that was looked for breaks.

    Examples
    --------
    >>> answer_of("lower 5%", 1.5, 1.2), answer_of("mean", 1.5, 0.9)
    ('too close to call', 'splits or breaks')
    """
    found = math.inf if factor is None else factor
    if basis == DESIGN:
        return "within the design value" if found >= 1.0 else "above the design value"
    if found < 1.0:
        return FAILS
    if basis == MEAN:
        return "does not reach its mean strength"
    return "holds" if found >= margin else CLOSE


def moved(one: tuple[float, float] | None, other: tuple[float, float] | None, reach: float = SAME_PLACE) -> bool:
    """Whether two places are further apart than `reach` (mm); a place that is not known has not moved."""
    return one is not None and other is not None and math.dist(one, other) > reach


def sure_of(rows: Sequence[SureRow], answer: Answer, basis: str, chance: Chance | None) -> Sure:
    """How sure the answer is.

    Clear: no single row changes it. Otherwise likely or too close to call: on the basis "mean" by the chance of the
    other answer, likely up to 1 in 5; on the others, whose answer is not about the average piece, likely where one kind
    of variation alone changes it. What is told as too close to call is never more (choices of this program).
    """
    if answer == CLOSE:
        return "too close to call"
    groups = {row.group for row in rows if "answer" in row.changes}
    if not groups:
        return "clear"
    if basis == MEAN and chance is not None:
        other = 1.0 - chance.fails if answer == FAILS else chance.fails
        return "likely" if other <= LIKELY else "too close to call"
    return "likely" if len(groups) == 1 else "too close to call"


def why_sure(rows: Sequence[SureRow], judged: float) -> str:
    """A sentence: which single variations change the answer, or which of them matter most; what matters most first."""
    by_effect = sorted(rows, key=lambda row: -_effect(row, judged))
    changing = [row.what for row in by_effect if "answer" in row.changes]
    if changing:
        return f"The answer would change with {listed(changing)}."
    most = [row.what for row in by_effect if _effect(row, judged) > 0.0]
    return f"Nothing that was varied changes the answer{f'; what matters most is {most[0]}' if most else ''}."


def _effect(row: SureRow, judged: float) -> float:
    if row.takes is None:
        return 0.0
    return abs(math.log(row.takes / judged)) if row.takes > 0.0 else math.inf


def listed(texts: Sequence[str]) -> str:
    """A few texts in a row; of more than three how many are left out.

    Examples
    --------
    >>> listed(["grain 5 deg clockwise", "strength at 5 %"])
    'grain 5 deg clockwise, or strength at 5 %'
    """
    kept = list(dict.fromkeys(texts))
    if len(kept) > MOST:
        return f"{', '.join(kept[:MOST])}, or {len(kept) - MOST} more"
    return kept[0] if len(kept) == 1 else f"{', '.join(kept[:-1])}, or {kept[-1]}"


def elsewhere(rows: Sequence[SureRow]) -> str:
    """A sentence where single variations let it start elsewhere or fail in another way; empty where none does."""
    other = [row.what for row in rows if {"mode", "place"} & set(row.changes)]
    return f"It would start elsewhere, or fail in another way, with {listed(other)}." if other else ""


def least_and_most(rows: Sequence[SureRow], judged: float) -> tuple[float, float]:
    """The least and the greatest load of single rows and of what is judged."""
    loads = [judged, *(row.takes for row in rows if row.takes is not None)]
    return min(loads), max(loads)
