"""The house's picture of a solved grid: wood and grain, what holds and loads it, utilisation in colours.

The same sketch as hotspots.png without what only a verdict knows: no split is drawn and none is dimensioned.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..judge.verdict import LoadRow, ReactionRow
from ..units import Formatter
from .forces import Force, draw_forces
from .pictures import colour_bar, scale_bar
from .ramp import FAINT, PENCIL, TOP, colours
from .sheet import Sheet, View
from .sketch import Look, Piece, draw_wood, shade

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

WIDTH = 10.5  # inches
MARGIN = 1.2  # round the part for arrows and labels
HEADER, FOOT = 0.85, 1.2
TALLEST = 6.0
NOTHING = 1e-5  # of the greatest force: rounding


@dataclass(frozen=True)
class GridShown:
    """What a picture of a solved grid is made from.

    Attributes
    ----------
    title, second, footer : str
        What is said above, below that, and at the foot.
    what, note : str
        What the colours are, and a note below their scale.
    polygons : sequence of (k, 2) arrays
        The outer edge first, then holes, mm.
    points, cells : (m, 2), (e, 6) arrays
        Six-node triangles, mm.
    values : (m,) array
        Utilisation at the points.
    worst : (x, y) or None
        Where it is greatest, mm.
    pieces : sequence of Piece
        The wood by its grain.
    rows : sequence of LoadRow or ReactionRow
        What acts.
    """

    title: str
    second: str
    footer: str
    what: str
    note: str
    polygons: Sequence[FloatArray]
    points: FloatArray
    cells: IntArray
    values: FloatArray
    worst: tuple[float, float] | None
    pieces: Sequence[Piece]
    rows: Sequence[LoadRow | ReactionRow]


def draw_grid(shown: GridShown, path: Path, formatter: Formatter) -> None:
    """Draw a solved grid as PNG.

    Parameters
    ----------
    shown : GridShown
    path : Path
    formatter : Formatter
        Puts numbers in the reader's units.
    """
    low, high = shown.polygons[0].min(axis=0), shown.polygons[0].max(axis=0)
    wide, deep = (high - low).tolist()
    scale = min((WIDTH - 2 * MARGIN) / wide, TALLEST / deep)
    height = FOOT + 2 * MARGIN + scale * deep + HEADER
    origin = np.array([WIDTH / 2, FOOT + MARGIN]) - scale * np.array([0.5 * (low[0] + high[0]), low[1]])
    view = View(scale, (float(origin[0]), float(origin[1])))
    sheet = Sheet(WIDTH, height)
    sheet.part = [view(polygon) for polygon in shown.polygons]
    sheet.text((0.35, height - 0.2), shown.title, size=14, weight="bold", va="top")
    second = "\n".join(textwrap.wrap(shown.second, 130))
    sheet.text((0.35, height - 0.52), second, size=10, va="top")
    colour_bar(sheet, 0.35, 0.7, 4.4, what=shown.what, note=shown.note)
    sheet.occupied.append((0.0, 0.0, WIDTH, FOOT))
    draw_wood(sheet, view, shown.polygons, shade(shown.points, shown.cells, shown.values), Look(shown.pieces))
    if shown.worst is not None:
        at = view(shown.worst)
        sheet.circle(at, 0.09, facecolor="none", edgecolor=PENCIL, linewidth=1.8, zorder=6.5)
        sheet.occupy([at, at], 0.2)
    least = NOTHING * max((float(np.hypot(*row.force)) for row in shown.rows), default=0.0)
    draw_forces(sheet, view, shown.polygons, [_force(row, least, formatter) for row in shown.rows])
    scale_bar(sheet, view, shown.polygons[0], formatter)
    sheet.text((0.35, 0.12), shown.footer, size=7.5, color=FAINT)
    sheet.save(path)


def _force(row: LoadRow | ReactionRow, least: float, formatter: Formatter) -> Force:
    size = float(np.hypot(*row.force))
    patch = np.array(row.patch).reshape(-1, 2)
    text = f"{row.name} {formatter.force(size)}" if size > least else f"{row.name}, no force"
    return Force(row, text, isinstance(row, ReactionRow), patch, closed(patch))


def closed(line: FloatArray) -> bool:
    """Whether a line (k, 2) ends where it begins: it goes round a hole."""
    return len(line) > 2 and bool((line[0] == line[-1]).all())


def colour_map() -> Any:
    """The house's colours as a map of matplotlib, from 0 to `TOP`; the hue changes at 1."""
    from matplotlib.colors import ListedColormap

    return ListedColormap(colours(np.linspace(0.0, TOP, 512)), name="fesolve")
