"""The wood of a picture: grain lines, the coloured field, the outline, the pencil line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .ramp import GRAIN, INK, PENCIL, WOOD, above, below
from .sheet import Sheet, View

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True)
class Shading:
    """Triangles to shade: corners (k, 3, 2) mm and colours (k, 3, 4)."""

    corners: FloatArray
    colours: FloatArray


@dataclass(frozen=True)
class Piece:
    """Wood with one direction of the grain: its angle (deg, from +x), and its triangles (k, 3, 2) mm; None for all."""

    grain: float
    triangles: FloatArray | None = None


def shade(points: FloatArray, triangles: IntArray, utilisation: FloatArray) -> Shading:
    """Return the field as coloured triangles, cut exactly along utilisation 1.0.

    Each side of the cut has the colours of its own half of the ramp, so that the hue changes along a sharp
    line and not somewhere inside a triangle.

    Parameters
    ----------
    points : (m, 2) array
        mm.
    triangles : (k, 3) or (k, 6) array
        Six-node triangles are drawn as four.
    utilisation : (m,) array
        At the points.
    """
    flat = _four_from_six(triangles) if triangles.shape[1] == 6 else triangles
    values = np.nan_to_num(np.asarray(utilisation, dtype=np.float64))
    low, high = split_at(points[flat], values[flat], 1.0)
    return Shading(np.concatenate((low[0], high[0])), np.concatenate((below(low[1]), above(high[1]))))


def _four_from_six(triangles: IntArray) -> IntArray:
    parts = triangles[:, [[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]]]
    return parts.reshape(-1, 3)


def split_at(
    corners: FloatArray, values: FloatArray, level: float
) -> tuple[tuple[FloatArray, FloatArray], tuple[FloatArray, FloatArray]]:
    """Cut triangles along the line where a linear field has a level.

    Parameters
    ----------
    corners : (k, 3, 2) array
    values : (k, 3) array
        The field at the corners.
    level : float

    Returns
    -------
    two pairs of arrays
        Corners and values of the triangles below the level, and of those at or above it.

    Examples
    --------
    A triangle with values 0, 0, 2 cut at 1 gives two triangles below (three quarters of its area) and one above.
    """
    high = values >= level
    count = high.sum(axis=1)
    alone = np.where(count == 1, np.argmax(high, axis=1), np.argmin(high, axis=1))
    order = (alone[:, None] + np.arange(3)) % 3
    mixed = (count == 1) | (count == 2)
    p, v = (np.take_along_axis(corners, order[..., None], 1)[mixed], np.take_along_axis(values, order, 1)[mixed])
    share = ((level - v[:, :1]) / (v[:, 1:] - v[:, :1]))[..., None]
    cuts = p[:, :1] + share * (p[:, 1:] - p[:, :1])  # on the sides 0-1 and 0-2
    at = np.full(len(p), level)
    tip = (np.stack((p[:, 0], cuts[:, 0], cuts[:, 1]), 1), np.stack((v[:, 0], at, at), 1))
    near = (np.stack((cuts[:, 0], p[:, 1], p[:, 2]), 1), np.stack((at, v[:, 1], v[:, 2]), 1))
    far = (np.stack((cuts[:, 0], p[:, 2], cuts[:, 1]), 1), np.stack((at, v[:, 2], at), 1))
    up = count[mixed] == 1  # the lone corner is the high one
    low = [(corners[count == 0], values[count == 0]), _pick(tip, ~up), _pick(near, up), _pick(far, up)]
    top = [(corners[count == 3], values[count == 3]), _pick(tip, up), _pick(near, ~up), _pick(far, ~up)]
    return _join(low), _join(top)


def _pick(pair: tuple[FloatArray, FloatArray], mask: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray]:
    return pair[0][mask], pair[1][mask]


def _join(pairs: Sequence[tuple[FloatArray, FloatArray]]) -> tuple[FloatArray, FloatArray]:
    return np.concatenate([pair[0] for pair in pairs]), np.concatenate([pair[1] for pair in pairs])


@dataclass(frozen=True)
class Look:
    """What the wood looks like beside its colours: pieces by grain; lines (2, 2) mm between regions, and cracks."""

    pieces: Sequence[Piece]
    borders: Sequence[FloatArray] = ()
    cracks: Sequence[FloatArray] = ()


def draw_wood(sheet: Sheet, view: View, polygons: Sequence[FloatArray], shading: Shading, look: Look) -> None:
    """Draw the part: wood tone, coloured field, the grain lines of each piece, lines between regions, outline."""
    from matplotlib.patches import PathPatch

    outline = _outline(view, polygons)
    sheet.add(PathPatch(outline, facecolor=WOOD, edgecolor="none", zorder=1), view.clip)
    _draw_shading(sheet, view, shading)
    for piece in look.pieces:
        clip = outline if piece.triangles is None else _triangles(view, piece.triangles)
        _draw_grain(sheet, view, polygons, clip, piece.grain)
    for border in look.borders:
        sheet.line(view(border), linewidth=1.0, color=INK, alpha=0.8, zorder=3.5, clip=view.clip)
    for crack in look.cracks:
        sheet.line(view(crack), linewidth=2.2, color=INK, zorder=3.6, clip=view.clip)
    sheet.add(PathPatch(outline, facecolor="none", edgecolor=INK, linewidth=1.3, zorder=4), view.clip)


def _outline(view: View, polygons: Sequence[FloatArray]) -> Any:
    """Return the part as one path: outer polygon counter-clockwise, holes clockwise, so that holes stay empty."""
    from matplotlib.path import Path

    paths = []
    for number, polygon in enumerate(polygons):
        points = view(polygon)
        x, y = points.T
        left_turning = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) > 0.0
        points = points if left_turning == (number == 0) else points[::-1]
        paths.append(Path(np.vstack((points, points[:1])), closed=True))
    return Path.make_compound_path(*paths)


def _triangles(view: View, triangles: FloatArray) -> Any:
    """Return triangles (k, 3, 2) as one path, all turning the same way, so that together they are one area."""
    from matplotlib.path import Path

    closed = np.concatenate((triangles, triangles[:, :1]), axis=1)
    codes = np.tile([Path.MOVETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY], len(triangles))
    return Path(view(closed).reshape(-1, 2), codes)


def _draw_shading(sheet: Sheet, view: View, shading: Shading) -> None:
    from matplotlib.collections import TriMesh
    from matplotlib.tri import Triangulation

    corners, colours = view(shading.corners), shading.colours
    if view.clip is not None:
        left, bottom, right, top = view.clip
        lowest, highest = corners.min(axis=1), corners.max(axis=1)
        seen = (highest >= (left, bottom)).all(axis=1) & (lowest <= (right, top)).all(axis=1)
        corners, colours = corners[seen], colours[seen]
    if not len(corners):
        return
    flat = corners.reshape(-1, 2)
    mesh = TriMesh(Triangulation(flat[:, 0], flat[:, 1], np.arange(len(flat)).reshape(-1, 3)), zorder=2)
    mesh.set_facecolor(colours.reshape(-1, 4))
    sheet.add(mesh, view.clip)


def _draw_grain(sheet: Sheet, view: View, polygons: Sequence[FloatArray], outline: Any, grain_deg: float) -> None:
    """Draw thin lines along the grain, not quite even, as wood has them; fixed numbers, so that runs agree."""
    from matplotlib.collections import LineCollection

    box = np.array(view.clip).reshape(2, 2) if view.clip is not None else view(polygons[0])
    lowest, highest = box.min(axis=0), box.max(axis=0)
    middle, reach = 0.5 * (lowest + highest), 0.5 * float(np.linalg.norm(highest - lowest)) + 0.1
    along = np.array([np.cos(np.radians(grain_deg)), np.sin(np.radians(grain_deg))])
    across = np.array([-along[1], along[0]])
    random = np.random.default_rng(7)
    offsets = np.cumsum(0.05 + 0.07 * random.random(int(2 * reach / 0.085) + 2)) - reach
    s = np.linspace(-reach, reach, max(12, int(2 * reach / 0.15)))
    phase = random.random(len(offsets))[:, None]
    wave = 0.007 * np.sin(1.7 * s + 6.3 * phase) + 0.004 * np.sin(4.1 * s + 9.0 * phase)
    lines = middle + s[None, :, None] * along + (offsets[:, None] + wave)[..., None] * across
    widths = 0.3 + 0.5 * random.random(len(offsets)) ** 2
    collection = sheet.add(LineCollection(lines, colors=GRAIN, linewidths=widths, alpha=0.55, zorder=3), view.clip)
    collection.set_clip_path(outline, sheet.axes.transData)  # beside the view's box, which stays


def pencil(sheet: Sheet, start: FloatArray, stop: FloatArray, *, heavy: bool, clip: Any = None) -> None:
    """Draw a line by hand: graphite grey, a little uneven; light ones are dashed."""
    length = float(np.linalg.norm(stop - start))
    if length < 1e-6:
        return
    along = (stop - start) / length
    count = max(4, int(length / 0.12))
    random = np.random.default_rng(3)
    share = np.linspace(0.0, 1.0, count)[:, None]
    passes = 2 if heavy else 1
    sheet.line([start, stop], color="white", linewidth=4.0 if heavy else 2.4, alpha=0.55, zorder=5.9, clip=clip)
    for _ in range(passes):
        jitter = 0.008 * (random.random((count, 1)) - 0.5) * np.array([[-along[1], along[0]]])
        style = {"linewidth": 1.7, "alpha": 0.75} if heavy else {"linewidth": 1.1, "linestyle": (0, (5, 2.5))}
        sheet.line(start + share * (stop - start) + jitter, color=PENCIL, zorder=6, clip=clip, **style)
