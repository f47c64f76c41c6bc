"""Tables without frames, so that they survive a pipe, a narrow window and a printer."""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Iterable, Sequence
from typing import TYPE_CHECKING

from .amounts import TIMES_LOADS

if TYPE_CHECKING:
    from rich.console import Console, ConsoleOptions, RenderResult
    from rich.table import Table

Cells = Sequence[str]
GAP = 2  # blanks between columns
COMFORT = 16  # a column of words is not folded to less while heads over numbers can be
SHORT = "x loads"  # what a table says for `TIMES_LOADS`


def plain_table(title: str, head: Cells, rows: Iterable[Cells], right: Iterable[int] = ()) -> Table:
    """Return a table without frames; the columns ``right`` hold numbers, their common unit moves to the head.

    No column vanishes in a narrow window: words are folded, then heads over numbers, then columns move together.
    """
    from rich.table import Table

    class Fitted(Table):
        def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
            gap, widths = fit(
                [(*heads[i], *column) for i, column in enumerate(columns)], heads, numeric, options.max_width
            )
            self.padding = (0, gap, 0, 0)
            for column, width in zip(self.columns, widths, strict=True):
                column.width = width
            yield from super().__rich_console__(console, options)

    table = Fitted(title=title or None, title_justify="left", title_style="bold", box=None, padding=(0, GAP, 0, 0))
    short = [[cell.replace(TIMES_LOADS, SHORT) for cell in row] for row in rows]
    columns: list[Cells] = list(zip(*short, strict=True)) or [()] * len(head)
    numeric, heads = set(right), [list[str]()] * len(head)
    for index, name in enumerate(head):
        unit, columns[index] = lift_unit(columns[index]) if index in numeric else ("", columns[index])
        heads[index] = [name, unit] if unit else [name]
        table.add_column(
            "\n".join(heads[index]),
            justify="right" if index in numeric else "left",
            overflow="fold",
            header_style="dim",
        )
    for row in zip(*columns, strict=True):
        table.add_row(*row)
    return table


def fit(columns: Sequence[Cells], heads: Sequence[Cells], numeric: Collection[int], room: int) -> tuple[int, list[int]]:
    """Return the blanks between columns and the width of each, so that all fit into a window if they can.

    Parameters
    ----------
    columns : sequence of sequence of str
        Lines of each, with those of its head.
    heads : sequence of sequence of str
        Lines of each head; the second one is a unit, which stays in one piece.
    numeric : collection of int
        Columns whose cells are numbers, which stay in one piece.
    room : int
        Width of the window.

    Examples
    --------
    >>> fit([("share", "0.5"), ("where", "at the floor of notch hook")], [("share",), ("where",)], {0}, 29)
    (2, [5, 20])
    """
    widths = [_longest(column) for column in columns]
    titles = [max(_longest(head[0].split()), _longest(head[1:])) for head in heads]
    words = [_longest(word for cell in column for word in cell.split()) for column in columns]
    numbers = [
        max(title, _longest(column[len(head) :])) for title, head, column in zip(titles, heads, columns, strict=True)
    ]
    text = [index for index in range(len(columns)) if index not in numeric]
    for gap, chosen, least in (
        (GAP, text, [max(COMFORT, word) for word in words]),
        (GAP, numeric, numbers),
        (1, (), widths),
        (1, text, [max(title, min(COMFORT, word)) for title, word in zip(titles, words, strict=True)]),
        (1, text, titles),
    ):
        _narrow(widths, chosen, least, room - gap * len(columns))
        if sum(widths) + gap * len(columns) <= room:
            return gap, widths
    return 1, widths


def _narrow(widths: list[int], chosen: Iterable[int], least: Sequence[int], room: int) -> None:
    """Take from the widest of the chosen columns until all fit, or none is wider than its least width."""
    chosen = sorted(chosen)
    while sum(widths) > room:
        wide = [index for index in chosen if widths[index] > least[index]]
        if not wide:
            return
        widths[max(wide, key=widths.__getitem__)] -= 1


def _longest(texts: Iterable[str]) -> int:
    from rich.cells import cell_len

    return max((cell_len(text) for text in texts), default=0)


def lift_unit(cells: Cells) -> tuple[str, Cells]:
    """Return the unit that all cells of a column share, and the cells without it."""
    units = {cell.partition(" ")[2] for cell in cells if cell not in {"-", "0"}}
    if len(units) != 1:
        return "", cells
    (unit,) = units
    return unit, tuple(cell.partition(" ")[0] for cell in cells)


def print_list(title: str, items: Sequence[str], console: Console) -> None:
    """Print a title and a line with a dash for each item; nothing where there are none."""
    if not items:
        return
    console.print(f"\n{title}", style="bold")
    for item in items:
        console.print(textwrap.fill(item, console.width, initial_indent="- ", subsequent_indent="  "))
