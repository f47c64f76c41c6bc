"""How small the elements must be, and where: a size field made from the outline alone.

Every rule sets a size at some places on the boundary. Away from a place the size grows by ``GROWTH`` a
millimetre up to the cap, and the smallest wins. The numbers are our own choice, tuned so that
halving all sizes changes means over 10 mm and more by less than 5 %.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import InputError
from ..part.model import Part
from .checks import called
from .curves import TOUCH, BoolArray, Curve, CurveSet, FloatArray, Point, as_point, distance, turn_at
from .mesh import IntArray
from .outline import Outline
from .splits import tip_sizes

GROWTH = 0.25  # mm of size a mm of distance
ACROSS = 4.5  # elements across the narrowest wood
ACROSS_PART = 8.0  # the least width of the part over the greatest size
HOLE = 16.0  # radius over size: 100 sides round a hole
INNER_ROUND = 5.0
OUTER_ROUND = 3.0
PATCH = 7.0  # sides along a support or load
PATCH_END = 40.0
BETWEEN = 1.5  # greatest size over the size along a line between regions
BETWEEN_END = 4.0  # and at its ends
SHARP = 5000.0  # notch depth over size at its sharp corners
MARGIN = 0.7  # gmsh makes some sides longer than the size asked for
LIMIT = 400_000  # triangles
STATIONS = 6_000  # places where the width is measured; about 20 triangles each
MANY, SLIGHT = 80, math.radians(15.0)  # with more curves, pairs of them that turn less and face alike are left out


@dataclass(frozen=True)
class SizeField:
    """Element sizes given on triangles, linear on each; the triangles need not fit one another.

    Parameters
    ----------
    points : (n, 2) array
        Places, mm.
    triangles : (k, 3) array
        Node numbers into ``points``; outside all triangles the size at the nearest point counts.
    size : (n,) array
        Wanted side length at each point, mm.

    Raises
    ------
    InputError
        For shapes that do not fit or sizes that are not above 0.
    """

    points: FloatArray
    triangles: IntArray
    size: FloatArray

    def __post_init__(self) -> None:
        n = len(self.points)
        if np.shape(self.points) != (n, 2) or np.shape(self.size) != (n,) or np.shape(self.triangles)[1:] != (3,):
            raise InputError(
                f"Size field shapes {np.shape(self.points)}, {np.shape(self.triangles)}, {np.shape(self.size)} do not "
                "fit; give points (n, 2), triangles (k, 3) and size (n,)."
            )
        if not (np.isfinite(self.size).all() and np.min(self.size) > 0):
            raise InputError("Size field holds sizes that are not finite or not above 0 mm; give sizes above 0.")


@dataclass(frozen=True)
class Sources:
    """Places (k, 2) mm on the boundary with the size (k,) mm wanted there, and the greatest size anywhere."""

    places: FloatArray
    size: FloatArray
    cap: float

    def at(self, points: FloatArray) -> FloatArray:
        """Size (m,) at points (m, 2): the smallest of size + GROWTH * distance, at most the cap."""
        return np.minimum(self.cap, _least(points, self.places, self.size))


def _least(points: FloatArray, places: FloatArray, size: FloatArray) -> FloatArray:
    """Smallest of size + GROWTH * distance at each point (m,); inf without sources.

    Many points are halved into near and far, and only sources that can win in a half are kept for it.
    """
    if len(points) * len(size) <= 50_000 or len(points) < 32:
        gap = np.hypot(*(points[:, None] - places).transpose(2, 0, 1))
        return np.asarray((size + GROWTH * gap).min(axis=1, initial=np.inf))
    low, high = points.min(axis=0), points.max(axis=0)
    center = (low + high) / 2
    there = size + GROWTH * np.hypot(*(places - center).T)
    wins = there <= there.min() + GROWTH * float(np.hypot(*(high - low)))
    order = np.argpartition(points[:, int(np.argmax(high - low))], len(points) // 2)
    out = np.empty(len(points))
    for half in (order[: len(points) // 2], order[len(points) // 2 :]):
        out[half] = _least(points[half], places[wins], size[wins])
    return out


def size_field(part: Part, outline: Outline, *, scale: float = 1.0) -> SizeField:
    """Element sizes for a part.

    Parameters
    ----------
    part : Part
        Its ``mesh.size`` caps all sizes.
    outline : Outline
        The same part, drawn.
    scale : float
        Multiplies every size (0.5: all halved).

    Returns
    -------
    SizeField
        Squares cut into two triangles, as small as the size in them.

    Raises
    ------
    InputError
        If more than 400,000 triangles would be needed.
    """
    sources = size_sources(part, outline)
    centers, side = _squares(part, outline, sources, scale)
    corners = np.array([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)])
    points = (centers[:, None] + side[:, None, None] * corners).reshape(-1, 2)
    first = 4 * np.arange(len(centers))[:, None, None]
    triangles = (first + np.array([[0, 1, 2], [0, 2, 3]])).reshape(-1, 3)
    return SizeField(points, triangles, scale * sources.at(points))


def _squares(part: Part, outline: Outline, sources: Sources, scale: float) -> tuple[FloatArray, FloatArray]:
    """Squares (k, 2) and (k,) over the part, quartered until their side is no more than the unscaled size there."""
    x0, y0, x1, y1 = outline.bounds
    step = 4 * sources.cap
    nx, ny = math.ceil((x1 - x0) / step) + 1, math.ceil((y1 - y0) / step) + 1
    _refuse_many(part, outline, sources, nx * ny)
    gx, gy = np.meshgrid(np.arange(nx), np.arange(ny), indexing="ij")
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    centers = middle + step * (np.stack([gx.ravel(), gy.ravel()], axis=1) - np.array([nx - 1, ny - 1]) / 2)
    side = np.full(len(centers), step)
    done: list[tuple[FloatArray, FloatArray]] = []
    total = 0.0
    while len(centers):
        wanted = sources.at(centers)
        inside = outline.contains(centers)
        near = inside | (outline.curve_set.distances(centers).min(axis=1) < side)
        fine = (side <= wanted) | ~near
        done.append((centers[fine], side[fine]))
        total += float((side[fine & inside] ** 2 / wanted[fine & inside] ** 2).sum()) * 4 / math.sqrt(3) / scale**2
        _refuse_many(part, outline, sources, total + 0.5 * float((~fine).sum()))
        offsets = np.array([(-0.25, -0.25), (0.25, -0.25), (0.25, 0.25), (-0.25, 0.25)])
        centers = (centers[~fine, None] + side[~fine, None, None] * offsets).reshape(-1, 2)
        side = np.repeat(side[~fine] / 2, 4)
    return np.concatenate([c for c, _ in done]), np.concatenate([s for _, s in done])


def _refuse_many(part: Part, outline: Outline, sources: Sources, count: float) -> None:
    if count <= LIMIT:
        return
    smallest = int(np.argmin(sources.size)) if len(sources.size) else -1
    if part.mesh.size is not None and (smallest < 0 or sources.size[smallest] > 0.3 * sources.cap):
        raise InputError(
            f"Elements of {part.mesh.size:.6g} mm would make more than {LIMIT:,} triangles. Give a greater size.",
            key="mesh.size",
        )
    x, y = sources.places[smallest]
    _, curve = _nearest_line(outline, (x, y))
    raise InputError(
        f"This part would need more than {LIMIT:,} triangles: elements of {sources.size[smallest]:.2g} mm at "
        f"({x:.6g}, {y:.6g}) mm, {called(curve)}. Remove or enlarge the thin wood or small detail there.",
        key="outline",
    )


def size_sources(part: Part, outline: Outline) -> Sources:
    """All sizes that the rules ask for, without those that others make unnecessary."""
    cap = least_width(outline) / ACROSS_PART
    if part.mesh.size is not None:
        cap = min(cap, MARGIN * part.mesh.size)
    found = [*_along_curves(outline, cap), *_patches(outline), *_sharp_corners(part, outline), *_narrows(outline, cap)]
    found += [*_between(outline, cap), _widths(outline, cap), *map(tip_sizes, outline.splits)]
    places = np.concatenate([p for p, _ in found])
    size = np.concatenate([h for _, h in found])
    size = np.maximum(size, 1e-6 * math.dist(outline.bounds[:2], outline.bounds[2:]))
    keep = size < cap
    return _thinned(places[keep], size[keep], cap)


def _thinned(places: FloatArray, size: FloatArray, cap: float) -> Sources:
    """Sources without those that smaller ones nearby make unnecessary."""
    order = np.argsort(size, kind="stable")
    places, size = places[order], size[order]
    needed = np.ones(len(size), dtype=bool)
    step = max(1, 2_000_000 // max(1, len(size)))
    for first in range(0, len(size), step):
        chunk = slice(first, first + step)
        by_others = size + GROWTH * np.hypot(*(places[chunk, None] - places).transpose(2, 0, 1))
        needed[chunk] = ~np.tril(by_others < 0.999 * size[chunk, None], first - 1).any(axis=1)
    return Sources(places[needed], size[needed], cap)


_Found = tuple[FloatArray, FloatArray]


def least_width(outline: Outline) -> float:
    """Smallest distance (mm) between two parallel lines that hold the outline between them.

    It is found square to a side of the convex hull, so it is looked for square to every chord.
    """
    step = math.dist(outline.bounds[:2], outline.bounds[2:]) / 64
    points = outline.polygon(0, step)
    chords = np.roll(points, -1, axis=0) - points
    normals = np.stack([-chords[:, 1], chords[:, 0]], axis=1) / np.linalg.norm(chords, axis=1)[:, None]
    return float(np.ptp(points @ normals.T, axis=0).min())


def _spread(curve: Curve, size: float) -> _Found:
    """Places along a whole curve, ends included, about ``size`` apart."""
    count = min(max(1, math.ceil(curve.length / size)), 4096)
    places = curve.point(np.linspace(0.0, curve.length, count + 1))
    return places, np.full(len(places), size)


def _along_curves(outline: Outline, cap: float) -> list[_Found]:
    """Holes, rounds and bows: so many elements a radius."""
    found = []
    for curve in outline.curves:
        if curve.radius is None:
            continue
        if curve.names[0].startswith("hole "):
            size = curve.radius / HOLE
        else:
            size = curve.radius / (OUTER_ROUND if curve.ccw else INNER_ROUND)
        if size < cap:
            found.append(_spread(curve, size))
    return found


def _patches(outline: Outline) -> list[_Found]:
    """Supports and loads on a piece of an edge or notch: finer towards the ends, where the stress jumps."""
    found = []
    cut = _cuts(outline)
    for curve in outline.curves:
        patched = [name for name in curve.names if name.startswith(("support ", "load "))]
        if not patched or curve.names[0].startswith("hole "):
            continue
        length = min(sum(c.length for c in outline.named(name)) for name in patched)
        found.append(_spread(curve, min(length, curve.length * 2) / PATCH))
        ends = np.array([end for end in (curve.start, curve.end) if end not in cut])
        found.append((ends.reshape(-1, 2), np.full(len(ends), min(length, curve.length * 2) / PATCH_END)))
    return found


def _cuts(outline: Outline) -> set[Point]:
    """Points where one curve was split for a region, and neither edge nor patch ends."""
    pairs = ((a, b) for loop in outline.loops for a, b in zip(loop, loop[1:] + loop[:1], strict=True))
    return {b.start for a, b in pairs if a.names == b.names and abs(turn_at(a, b)) < 1e-9}


def _between(outline: Outline, cap: float) -> list[_Found]:
    """Lines between regions: stress jumps across them, and peaks where they end or turn."""
    found = []
    for curve in outline.interfaces:
        found.append(_spread(curve, cap / BETWEEN))
        found.append((np.array([curve.start, curve.end]), np.full(2, cap / BETWEEN_END)))
    return found


def _sharp_corners(part: Part, outline: Outline) -> list[_Found]:
    """Re-entrant corners, where the stress has no limit."""
    depth_of = {f"notch {notch.name}": notch.depth for notch in part.notches}
    width = least_width(outline)
    found = []
    around = ((a, b) for loop in outline.loops for a, b in zip(loop, loop[1:] + loop[:1], strict=True))
    for before, after in around:
        if turn_at(before, after) < -math.radians(5):
            depth = min(depth_of.get(before.names[0], width), depth_of.get(after.names[0], width))
            found.append((np.array([after.start]), np.array([min(depth, width) / SHARP])))
    return found


def _beside(some: Sequence[Curve], others: Sequence[Curve]) -> BoolArray:
    """Whether a curve (row) shares an end point with another (column), as each does with itself."""
    ends = [{curve.start, curve.end} for curve in others]
    return np.array([[bool(mine & theirs) for theirs in ends] for mine in ({c.start, c.end} for c in some)])


def _narrows(outline: Outline, cap: float) -> list[_Found]:
    """The narrowest wood between two curves that are close together."""
    curves = outline.lines
    box = np.array([curve.bounds for curve in curves])
    gap_x = np.maximum(box[:, None, 0] - box[None, :, 1], box[None, :, 0] - box[:, None, 1])
    gap_y = np.maximum(box[:, None, 2] - box[None, :, 3], box[None, :, 2] - box[:, None, 3])
    close = np.hypot(np.maximum(gap_x, 0), np.maximum(gap_y, 0)) < ACROSS * cap
    if len(curves) > MANY:
        close &= ~_face_alike(outline)
    found = []
    for i, j in zip(*np.nonzero(np.triu(close & ~_beside(curves, curves), 1)), strict=True):
        gap, here, there = distance(curves[i], curves[j])
        middle = np.add(here, there) / 2
        if gap < ACROSS * cap and outline.contains(middle)[0] and _clear(outline, middle, gap):
            found.append((np.array([here, middle, there]), np.full(3, gap / ACROSS)))
    return found


def _face_alike(outline: Outline) -> BoolArray:
    """Pairs of curves with the wood on the same side, as of one bent line drawn in many pieces: no wood is between.

    Only pieces that turn little at their ends count: where the nearest place is a corner their sides say nothing.
    """
    slight = []
    for loop in outline.loops:
        turns = [abs(turn_at(before, after)) for before, after in zip(loop, loop[1:] + loop[:1], strict=True)]
        bent = [abs(curve.length * curve.curvature) for curve in loop]
        slight += [max(turns[k - 1], turns[k], bent[k]) < SLIGHT for k in range(len(loop))]
    plain = np.array([*slight, *(False for _ in outline.interfaces)])  # between regions wood is on both sides
    normals = np.array([curve.inward(curve.length / 2) for curve in outline.lines])
    return np.asarray((normals @ normals.T > 0.0) & plain & plain[:, None])


def _clear(outline: Outline, middle: FloatArray, gap: float) -> bool:
    """Whether a place has wood around it (two pieces of one edge are not thin wood)."""
    return _nearest_line(outline, as_point(middle))[0] > 0.25 * gap


def _nearest_line(outline: Outline, place: Point) -> tuple[float, Curve]:
    """Distance (mm) to the boundary or the nearest line between regions, and which it is."""
    between = ((curve.nearest(place)[0], curve) for curve in outline.interfaces)
    return min((outline.nearest_curve(place), *between), key=lambda found: found[0])


def _widths(outline: Outline, cap: float) -> _Found:
    """The wood's width square to the boundary, at stations that come closer together where it is thin.

    A line between regions has wood on both sides, and ends the width on either.
    """
    curves: Sequence[Curve] = (*outline.lines, *(curve.reverse() for curve in outline.interfaces))
    steps = [2 * cap if c.radius is None else min(cap, c.radius / 2) for c in curves]
    counts = np.array([min(max(2, math.ceil(c.length / step)), 256) for c, step in zip(curves, steps, strict=True)])
    owner = np.repeat(np.arange(len(curves)), counts)
    step = np.repeat([c.length / n for c, n in zip(curves, counts, strict=True)], counts)
    s = (np.concatenate([np.arange(n) for n in counts]) + 0.5) * step
    floor = 1e-6 * math.dist(outline.bounds[:2], outline.bounds[2:])
    width_at = _width_at(outline, curves)
    found: list[_Found] = []
    total = 0
    while len(s):
        places, width = width_at(owner, s)
        size = np.maximum(width / ACROSS, floor)
        found.append((places, size))
        total += len(s)
        if total > STATIONS:
            _refuse_thin(outline, places[int(np.argmin(width))], float(width.min()))
        coarse = step > 4 * size
        owner = np.repeat(owner[coarse], 2)
        step = np.repeat(step[coarse] / 2, 2)
        s = np.repeat(s[coarse], 2) + step / 2 * np.tile([-1.0, 1.0], int(coarse.sum()))
    return np.concatenate([p for p, _ in found]), np.concatenate([h for _, h in found])


def _width_at(outline: Outline, curves: Sequence[Curve]) -> Callable[[IntArray, FloatArray], _Found]:
    """Places (k, 2) on curves (k,) at distances (k,), and the width (k,) there, inf where only a neighbour is met."""
    beside = _beside(curves, outline.lines)
    lines = CurveSet(outline.lines)

    def width_at(owner: IntArray, s: FloatArray) -> _Found:
        places, inward = np.empty((len(s), 2)), np.empty((len(s), 2))
        for i in np.unique(owner):
            mine = owner == i
            places[mine], inward[mine] = curves[i].point(s[mine]), curves[i].inward(s[mine])
        t, column = lines.hits(places, inward)
        usable = (t > TOUCH) & ~beside[owner[:, None], column[None, :]]
        return places, np.where(usable, t, 1e9).min(axis=1)

    return width_at


def _refuse_thin(outline: Outline, place: FloatArray, width: float) -> None:
    at = as_point(place)
    where = f"near ({at[0]:.6g}, {at[1]:.6g}) mm"
    between = [curve for curve in outline.interfaces if curve.nearest(at)[0] <= 1.01 * width]
    if between:
        raise InputError(
            f"A side of {called(between[0])} leaves a strip only {width:.3g} mm wide {where}, so long that it would "
            "need far too many elements. Let it end on the edge or the side beside it, or move it away.",
            key="region",
        )
    raise InputError(
        f"The wood is only {width:.3g} mm thick {where}, {called(outline.nearest_curve(at)[1])}, over so long a "
        "stretch that it would need far too many elements. Make it thicker, or leave it out.",
        key="outline",
    )
