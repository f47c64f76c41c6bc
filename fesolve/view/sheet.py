"""A sheet of paper measured in inches, and views of the part on it.

Everything on a picture is laid out in inches of paper, so that text, arrows and symbols keep their size
whatever the part's; a `View` turns millimetres of the part into inches of the sheet. The sheet remembers
what is occupied and finds each label a free place.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .ramp import INK, PAPER

FloatArray = NDArray[np.float64]
Box = tuple[float, float, float, float]  # left, bottom, right, top in inches
DPI = 130
EDGE = 0.03  # in, of the boxes that keep a label from lying across an edge


@dataclass(frozen=True)
class View:
    """The part at a scale: a point p (mm) lies at ``origin + scale * p`` (inches)."""

    scale: float
    origin: tuple[float, float]
    clip: Box | None = None

    def __call__(self, points: Any) -> FloatArray:
        """Return points of the part, (..., 2) mm, in inches of the sheet."""
        moved: FloatArray = np.asarray(points, dtype=np.float64) * self.scale + np.asarray(self.origin)
        return moved


@dataclass
class Sheet:
    """A figure whose only axes span the whole of it, in inches."""

    width: float
    height: float
    occupied: list[Box] = field(default_factory=list)
    part: Sequence[FloatArray] = ()  # polygons in inches that labels stay off

    def __post_init__(self) -> None:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        self.figure: Any = Figure(figsize=(self.width, self.height), dpi=DPI, facecolor=PAPER)
        self.canvas: Any = FigureCanvasAgg(self.figure)
        self.axes: Any = self.figure.add_axes((0.0, 0.0, 1.0, 1.0))
        self.axes.set_axis_off()
        self.axes.set(xlim=(0.0, self.width), ylim=(0.0, self.height))
        self.axes.set_autoscale_on(False)

    def line(self, points: Any, **style: Any) -> None:
        """Draw a line through (k, 2) points in inches."""
        from matplotlib.lines import Line2D

        points = np.asarray(points, dtype=np.float64)
        clip = style.pop("clip", None)
        options = {"color": INK, "linewidth": 0.8, "solid_capstyle": "round", "dash_capstyle": "round", **style}
        self.add(Line2D(points[:, 0], points[:, 1], **options), clip)

    def polygon(self, points: Any, **style: Any) -> None:
        """Draw a closed polygon through (k, 2) points in inches."""
        from matplotlib.patches import Polygon

        clip = style.pop("clip", None)
        self.add(Polygon(points, closed=True, **{"edgecolor": INK, "linewidth": 0.8, **style}), clip)

    def circle(self, center: Any, radius: float, **style: Any) -> None:
        """Draw a circle; centre and radius in inches."""
        from matplotlib.patches import Circle

        clip = style.pop("clip", None)
        self.add(Circle(tuple(center), radius, **{"edgecolor": INK, "linewidth": 0.8, **style}), clip)

    def add(self, artist: Any, clip: Box | None = None) -> Any:
        """Add an artist in sheet coordinates, cut off at a box if one is given."""
        artist.set_transform(self.axes.transData)
        self.axes.add_artist(artist)
        if clip is not None:
            artist.set_clip_path(self._clip(clip))
        return artist

    def _clip(self, box: Box) -> Any:
        from matplotlib.patches import Rectangle

        left, bottom, right, top = box
        return Rectangle((left, bottom), right - left, top - bottom, transform=self.axes.transData)

    def text(self, at: Any, text: str, *, size: float = 9.0, keep: bool = True, **style: Any) -> Box:
        """Write text at a point in inches; return the box it takes, remembered as occupied if ``keep``."""
        artist = self.axes.text(at[0], at[1], text, fontsize=size, **{"color": INK, "zorder": 9.0, **style})
        box = self._box_of(artist)
        if keep:
            self.occupied.append(box)
        return box

    def _box_of(self, artist: Any) -> Box:
        extent = artist.get_window_extent(self.canvas.get_renderer())
        return (extent.x0 / DPI, extent.y0 / DPI, extent.x1 / DPI, extent.y1 / DPI)

    def label(self, text: str, places: Iterable[tuple[float, float, str, str]], **style: Any) -> Box:
        """Write text at the best of some places ``(x, y, ha, va)``: the first free one, else the least bad."""
        artist = self.axes.text(0.0, 0.0, text, **{"color": INK, "fontsize": 9.0, "zorder": 9.0, **style})
        best: tuple[float, tuple[float, float, str, str], Box] | None = None
        left, bottom, right, top = self._box_of(artist)
        for place in places:
            box = _placed(right - left, top - bottom, place)
            cost = self.overlap(box)
            if best is None or cost < best[0]:
                best = (cost, place, box)
            if cost == 0.0:
                break
        assert best is not None
        _, (x, y, ha, va), box = best
        artist.set(x=x, y=y, ha=ha, va="center_baseline" if va == "middle" else va)
        self.occupied.append(box)
        return box

    @contextlib.contextmanager
    def on_the_wood(self) -> Iterator[None]:
        """Let labels lie on the part meanwhile, but not across its edges."""
        part, edges = self.part, [box for one in self.part for box in _row_of([*one, one[0]], EDGE)]
        before = len(self.occupied)
        self.part, self.occupied = (), [*self.occupied, *edges]
        try:
            yield
        finally:
            self.part, self.occupied = part, [*self.occupied[:before], *self.occupied[before + len(edges) :]]

    def overlap(self, box: Box) -> float:
        """Return how bad a place is: area shared with occupied boxes, with the part, and outside the sheet."""
        left, bottom, right, top = box
        area = 0.0
        if self.occupied:
            boxes = np.array(self.occupied)
            wide = np.clip(np.minimum(boxes[:, 2], right) - np.maximum(boxes[:, 0], left), 0.0, None)
            high = np.clip(np.minimum(boxes[:, 3], top) - np.maximum(boxes[:, 1], bottom), 0.0, None)
            area += float((wide * high).sum())
        outside = max(0.0, 0.08 - left, right - self.width + 0.08, 0.08 - bottom, top - self.height + 0.08)
        if self.part:
            grid = np.stack(np.meshgrid(np.linspace(left, right, 9), np.linspace(bottom, top, 5)), -1).reshape(-1, 2)
            area += float(inside(grid, self.part).mean()) * (right - left) * (top - bottom)
        return area + 10.0 * outside

    def occupy(self, points: Any, size: float = 0.08) -> None:
        """Keep labels away from a line through points: a row of small boxes along it."""
        self.occupied.extend(_row_of(points, size))

    def save(self, path: Path) -> None:
        """Write the sheet as PNG; quick rather than small."""
        self.figure.savefig(path, format="png", dpi=DPI, facecolor=PAPER, pil_kwargs={"compress_level": 1})


def _placed(width: float, height: float, place: tuple[float, float, str, str]) -> Box:
    x, y, ha, va = place
    left = x - {"left": 0.0, "center": 0.5, "right": 1.0}[ha] * width
    bottom = y - {"bottom": 0.0, "middle": 0.5, "center": 0.5, "top": 1.0}[va] * height
    return (left, bottom, left + width, bottom + height)


def inside(points: FloatArray, polygons: Sequence[FloatArray]) -> NDArray[np.bool_]:
    """Return which points lie inside the first polygon and outside the others (even-odd rule).

    Parameters
    ----------
    points : (m, 2) array
    polygons : sequence of (k, 2) arrays
        Outer polygon first, then the holes; open (the last point is not the first again) or closed.

    Returns
    -------
    (m,) bool array
    """
    odd = np.zeros(len(points), dtype=bool)
    x, y = points[:, :1], points[:, 1:]
    for polygon in polygons:
        start, stop = polygon, np.roll(polygon, -1, axis=0)
        rise = stop[:, 1] - start[:, 1]
        spans = (start[:, 1] > y) != (stop[:, 1] > y)
        crossing = start[:, 0] + (y - start[:, 1]) / np.where(rise == 0.0, 1.0, rise) * (stop[:, 0] - start[:, 0])
        odd ^= (spans & (x < crossing)).sum(axis=1) % 2 == 1
    return odd


def _row_of(points: Any, size: float) -> list[Box]:
    """Small boxes along a line through points."""
    found: list[Box] = []
    for start, stop in pairwise(np.asarray(points, dtype=np.float64)):
        steps = np.linspace(0.0, 1.0, max(2, int(np.linalg.norm(stop - start) / size) + 1))
        row = start + steps[:, None] * (stop - start)
        found += [(x - size / 2, y - size / 2, x + size / 2, y + size / 2) for x, y in row.tolist()]
    return found
