"""Many variants on a terminal: how many are enough, where that ends, and a table."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from ..bases import DESIGN, MEAN
from ..judge.outcome import Outcome, Row
from ..part.axes import Axis, spelled
from ..units import Formatter
from .amounts import load_text, ratio_text
from .tables import Cells, plain_table

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

ALL_UP_TO = 30  # rows that are shown all; of more the best and the worst
ENDS = 8  # of each
CAUTION = (
    "Each variant is a quick check of its own. Before cutting, run fesolve check on the one that you choose: how sure "
    "it is, dents and cautions stand there."
)


@dataclass(frozen=True)
class Limit:
    """What is asked of a variant, in words that follow the basis, and the utilisation at which it is no longer so."""

    one: str
    many: str
    use: float


def limit_of(basis: str | None, margin: float) -> Limit:
    """The limit on a basis; None where bases are varied."""
    if basis == MEAN:
        return Limit("stays below its mean strength", "stay below their mean strength", 1.0)
    if basis == DESIGN:
        return Limit("is within the design value", "are within the design value", 1.0)
    if basis is None:
        return Limit("is enough", "are enough", math.nan)
    return Limit(f"holds with {margin:g} in hand", f"hold with {margin:g} in hand", 1.0 / margin)


def print_sweep(
    axes: Sequence[Axis],
    rows: Sequence[Row],
    limit: Limit,
    formatter: Formatter,
    console: Console,
    *,
    table: bool = True,
) -> None:
    """Print sentences, then a table.

    Parameters
    ----------
    axes : sequence of Axis
    rows : sequence of Row
    limit : Limit
        From `limit_of`.
    formatter : Formatter
    console : rich.console.Console
        From `make_console`.
    table : bool
        Whether more than the sentences is printed.
    """
    for line in sweep_words(axes, rows, limit):
        console.print(line)
    if not table:
        return
    console.print()
    console.print(variants_table(axes, rows, formatter))
    failed = [row for row in rows if row.outcome is None]
    for row in failed[:ENDS]:
        console.print(f"{changes_text(row)}: {row.message}", style="dim")
    if len(failed) > ENDS:
        console.print(f"... and {len(failed) - ENDS} more; the results file has them all.", style="dim")
    console.print()
    console.print(CAUTION, style="dim")


def sweep_words(axes: Sequence[Axis], rows: Sequence[Row], limit: Limit) -> list[str]:
    """How many are enough; which is best and which worst; and for one dimension where it ends."""
    outcomes = [row.outcome for row in rows if row.outcome is not None]
    enough = sum(one.enough for one in outcomes)
    failed = len(rows) - len(outcomes)
    parts = [f"{enough} {limit.one if enough == 1 else limit.many}", f"{len(outcomes) - enough} not"]
    if failed:
        parts.append(f"{failed} could not be drawn or solved")
    lines = [f"{len(rows)} variant{'s' if len(rows) != 1 else ''}: {', '.join(parts)}."]
    if len(outcomes) > 1:
        good = sorted((row for row in rows if row.outcome is not None), key=_use)
        lines.append(f"Least used: {_used(good[0])}; most: {_used(good[-1])}.")
    if len(axes) == 1 and axes[0].numbers is not None:
        lines += crossings(axes[0], rows, limit)
    return lines


def _use(row: Row) -> float:
    return math.inf if row.outcome is None else row.outcome.utilisation


def _used(row: Row) -> str:
    return f"{ratio_text(_use(row))} with {changes_text(row)}"


def changes_text(row: Row) -> str:
    """``notch_depth 12 mm, grain 5 deg``."""
    return ", ".join(f"{name} {value}" for name, value in row.changes.items()) or "the part as it stands"


def crossings(axis: Axis, rows: Sequence[Row], limit: Limit) -> list[str]:
    """Where along one dimension it stops or begins to be enough, a sentence each.

    Between two neighbours that were checked utilisation is taken as a straight line.
    """
    if axis.numbers is None:
        return []
    number = dict(zip(axis.values, axis.numbers, strict=True))
    known = [(number[row.changes[axis.name]], row.changes[axis.name], row.outcome) for row in rows if row.outcome]
    known.sort(key=lambda one: one[0])
    lines = []
    for (a, first, here), (b, second, there) in pairwise(known):
        if here.enough == there.enough:
            continue
        kind = f"From {axis.name} {second} on it {limit.one}, up to {first} it does not"
        if here.enough:
            kind = f"Up to {axis.name} {first} it {limit.one}, from {second} on it does not"
        at = _crossing(a, b, here, there, limit.use)
        where = "." if at is None else f"; on a straight line between them that changes at {_spelled(at, axis)}."
        lines.append(kind + where)
    return lines


def _crossing(a: float, b: float, here: Outcome, there: Outcome, use: float) -> float | None:
    """Where utilisation passes a value; None where something else decides, such as a split that energy tells of."""
    low, high = here.utilisation - use, there.utilisation - use
    return a + (b - a) * low / (low - high) if low * high < 0.0 else None


def _spelled(value: float, axis: Axis) -> str:
    return spelled(float(f"{value / axis.size:.3g}"), axis.unit)


def variants_table(axes: Sequence[Axis], rows: Sequence[Row], formatter: Formatter) -> Table:
    """A table of all variants, or of the best and the worst where they are many."""
    shown = [row for row in rows if row.outcome is not None] if len(rows) > ALL_UP_TO else list(rows)
    title = ""
    if len(shown) > ALL_UP_TO:
        shown.sort(key=_use)
        title = f"The {ENDS} that are used least, and the {ENDS} that are used most, of {len(shown)}"
        shown = [*shown[:ENDS], *shown[-ENDS:]]
    head = (*_heads(axes), "used", "enough", "takes low", "best", "moves", "mass", "decided by")
    count, several = len(axes), len({row.outcome.case for row in rows if row.outcome is not None}) > 1
    numeric = [place for place, one in enumerate(axes) if one.numbers is not None]
    right = [*numeric, count, *range(count + 2, count + 6)]
    return plain_table(title, head, [_cells(axes, row, formatter, several) for row in shown], right=right)


def _heads(axes: Sequence[Axis]) -> list[str]:
    """Names for a table: of a path its last word, where only one ends so."""
    last = [one.name.rpartition(".")[2] for one in axes]
    return [one.name if last.count(word) > 1 or word.isdigit() else word for one, word in zip(axes, last, strict=True)]


def _cells(axes: Sequence[Axis], row: Row, formatter: Formatter, several: bool) -> Cells:
    one, varied = row.outcome, [row.changes[axis.name] for axis in axes]
    if one is None:
        return (*varied, *("-",) * 6, "not drawn or solved")
    return (
        *varied,
        ratio_text(one.utilisation),
        "yes" if one.enough else "no",
        "-" if one.low is None else load_text(one.low, one.of, formatter),
        "-" if one.best is None else load_text(one.best, one.of, formatter),
        formatter.length(one.deflection),
        "-" if one.mass is None else formatter.quantity(1e-3 * one.mass, "mass"),
        one.mode + (f" [{one.case}]" if several else ""),
    )
