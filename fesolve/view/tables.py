"""Tables without frames, so that they survive a pipe, a narrow window and a printer."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

Cells = Sequence[str]


def plain_table(title: str, head: Cells, rows: Iterable[Cells], right: Iterable[int] = ()) -> Table:
    """Return a table without frames; the columns ``right`` hold numbers, their common unit moves to the head."""
    from rich.table import Table

    table = Table(title=title or None, title_justify="left", title_style="bold", box=None, padding=(0, 2, 0, 0))
    columns: list[Cells] = list(zip(*rows, strict=True)) or [()] * len(head)
    numeric = set(right)
    for index, name in enumerate(head):
        unit, columns[index] = lift_unit(columns[index]) if index in numeric else ("", columns[index])
        table.add_column(
            f"{name}\n{unit}" if unit else name, justify="right" if index in numeric else "left",
            no_wrap=index in numeric, overflow="fold", header_style="dim",
        )  # fmt: skip
    for row in zip(*columns, strict=True):
        table.add_row(*row)
    return table


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
