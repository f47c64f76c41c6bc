"""compare.png: variants of a part one beside the other, at one scale and with one range of colours."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ..judge.comparison import Compared, Comparison
from ..units import Formatter
from .amounts import ratio_text
from .comparison import comparison_headline, takes_text
from .comparison_files import Panel
from .forces import Force, draw_dents, draw_patch, forces_of
from .pictures import colour_bar, draw_pencil_line, round_below
from .ramp import FAINT, INK
from .sheet import Box, Sheet, View
from .sketch import Look, draw_wood, shade

FloatArray = NDArray[np.float64]

MOST = 9  # panels on one picture
WIDTH = 10.5
EDGE = 0.35  # inches left free at the sides
MARGIN = 0.5  # round the part, for arrows and symbols
CAPTION = 0.55  # above each part
TALLEST = 10.0  # inches of all rows of panels together
FOOT = 0.95  # scale of colours and scale bar
ARROW = 0.42


@dataclass(frozen=True)
class Grid:
    """Panels in rows and columns: how many, how large each is (inches), and the one scale (inches a mm)."""

    columns: int
    rows: int
    wide: float
    high: float
    scale: float


def draw_side_by_side(comparison: Comparison, panels: Sequence[Panel], path: Path, formatter: Formatter) -> list[str]:
    """Draw compare.png.

    Parameters
    ----------
    comparison : Comparison
        Its headline stands on top.
    panels : sequence of Panel
        In the order in which they are drawn, `MOST` at most; the part as it stands is among them.
    path : Path
        Where the PNG is written.
    formatter : Formatter
        Puts numbers in the reader's units.

    Returns
    -------
    list of str
        A note where not all of them are drawn.
    """
    chosen = chosen_panels(comparison, panels)
    outer = [panel.shown.polygons[0] for panel in chosen]
    extent = np.max([np.ptp(polygon, axis=0) for polygon in outer], axis=0)
    grid = grid_of(len(chosen), float(extent[0]), float(extent[1]))
    title = textwrap.wrap(comparison_headline(comparison, formatter), 84)
    header = 0.3 + 0.27 * len(title)
    sheet = Sheet(WIDTH, header + grid.rows * grid.high + FOOT)
    sheet.text((EDGE, sheet.height - 0.2), "\n".join(title), size=14, weight="bold", va="top", linespacing=1.15)
    by_name = {one.name: one for one in comparison.variants}
    for number, panel in enumerate(chosen):
        row, column = divmod(number, grid.columns)
        left, top = EDGE + column * grid.wide, sheet.height - header - row * grid.high
        _panel(sheet, panel, by_name[panel.name], (left, top - grid.high, left + grid.wide, top), grid, formatter)
    _foot(sheet, comparison, grid.scale, formatter)
    sheet.save(path)
    left_out = len(panels) - len(chosen)
    return [f"compare.png shows {len(chosen)} of {len(panels)} variants; the table has all."] if left_out else []


def chosen_panels(comparison: Comparison, panels: Sequence[Panel]) -> list[Panel]:
    """The first few, and what they are measured against, in their order."""
    if len(panels) <= MOST:
        return list(panels)
    first = list(panels[:MOST])
    base = next((panel for panel in panels if panel.name == comparison.base), None)
    return first if base is None or base in first else [*first[:-1], base]


def grid_of(count: int, wide: float, high: float) -> Grid:
    """The grid in which parts of an extent (mm) are drawn largest.

    Examples
    --------
    >>> grid_of(3, 640.0, 80.0).columns, grid_of(3, 100.0, 200.0).columns
    (1, 3)
    """
    grids = []
    for columns in range(1, min(count, 3) + 1):
        rows = -(-count // columns)
        room = ((WIDTH - 2 * EDGE) / columns - 2 * MARGIN, TALLEST / rows - 2 * MARGIN - CAPTION)
        scale = min(room[0] / wide, max(room[1], 0.6) / high)
        grids.append(Grid(columns, rows, (WIDTH - 2 * EDGE) / columns, scale * high + 2 * MARGIN + CAPTION, scale))
    return max(grids, key=lambda grid: grid.scale)


def _panel(sheet: Sheet, panel: Panel, one: Compared, box: Box, grid: Grid, formatter: Formatter) -> None:
    """Draw one variant: its name and figures, the part, what acts on it, and its split."""
    left, _, right, top = box
    _caption(sheet, one, (left, top), right - left, formatter)
    polygons = [np.asarray(polygon, dtype=np.float64) for polygon in panel.shown.polygons]
    middle = 0.5 * (polygons[0].min(axis=0) + polygons[0].max(axis=0))
    center = np.array([0.5 * (left + right), top - CAPTION - 0.5 * (grid.high - CAPTION)])
    x, y = (center - grid.scale * middle).tolist()
    view = View(grid.scale, (x, y))
    points = np.asarray(panel.shown.points, dtype=np.float64)[:, :2]
    shading = shade(points, np.asarray(panel.shown.cells), panel.shown.utilisation)
    look = Look(panel.shown.pieces, panel.shown.borders, panel.shown.cracks)
    forces = forces_of(panel.verdict, polygons, formatter)
    draw_wood(sheet, view, polygons, shading, look)
    draw_dents(sheet, view, panel.verdict, forces)
    for force in forces:
        draw_patch(sheet, view, force)
        _arrow(sheet, view, force)
    draw_pencil_line(sheet, view, panel.verdict)


def _caption(sheet: Sheet, one: Compared, at: tuple[float, float], width: float, formatter: Formatter) -> None:
    """Write rank and name, and below them what it does; cut to the width of the panel."""
    x, y = at
    rank = "" if one.rank is None else f"{one.rank}  "
    sheet.text((x, y), textwrap.shorten(f"{rank}{one.name}", int(width / 0.09), placeholder=" …"), size=10.5,
               weight="bold", va="top")  # fmt: skip
    outcome = one.outcome
    assert outcome is not None
    text = f"{ratio_text(outcome.utilisation)} of what it takes"
    text = f"{text}, {outcome.mode}; {takes_text(one, outcome, formatter)}" if outcome.mode else "nothing loads it"
    text += f"  ({one.unlike})" if one.unlike else ""
    lines = textwrap.wrap(text, int(width / 0.068))[:2]
    sheet.text((x, y - 0.2), "\n".join(lines), size=8.5, va="top", linespacing=1.15)


def _arrow(sheet: Sheet, view: View, force: Force) -> None:
    """Draw a short arrow on a load, from outside the part; supports have symbols enough."""
    from matplotlib.patches import FancyArrowPatch

    size = math.hypot(*force.row.force)
    if force.reaction or size == 0.0:
        return
    along = np.array(force.row.force) / size
    tip = view(force.row.at)
    if len(force.patch) > 1 and not force.on_hole:
        run = force.patch[-1] - force.patch[0]
        outward = np.array([run[1], -run[0]]) / max(float(np.linalg.norm(run)), 1e-12)
        tip = tip + (0.05 * outward if along @ outward <= 0.0 else ARROW * along)
    tail = tip - ARROW * along
    shape = "simple,head_length=7,head_width=7,tail_width=2.4"
    sheet.add(FancyArrowPatch(tuple(tail.tolist()), tuple(tip.tolist()), arrowstyle=shape, mutation_scale=1.0,
                              zorder=7, color=INK))  # fmt: skip


def _foot(sheet: Sheet, comparison: Comparison, scale: float, formatter: Formatter) -> None:
    """Draw the scale of colours, a bar of a round length, and what this is."""
    colour_bar(sheet, EDGE, 0.5, 4.4)
    unit = 25.4 if formatter.system == "us" else 1.0
    length = round_below(1.6 / scale / unit) * unit
    size, right = length * scale, WIDTH - EDGE
    sheet.line([(right - size, 0.55), (right, 0.55)], linewidth=1.6)
    for end in (right - size, right):
        sheet.line([(end, 0.5), (end, 0.6)], linewidth=1.2)
    sheet.text((right - size / 2, 0.62), formatter.length(length), size=8.0, ha="center")
    text = f"{comparison.title}  ·  all at one scale  ·  fesolve {comparison.version}"
    sheet.text((right, 0.16), text, size=7.5, color=FAINT, ha="right")
