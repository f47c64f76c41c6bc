"""From closed loops to what a part file would say: corners with bows and rounds, round holes, slots, and openings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from .loops import at
from .strokes import Point, Ring, Stroke

Loop = tuple[Stroke, ...]
FloatArray = NDArray[np.float64]
TRUE = 0.01
"""mm: what a drawing's numbers may be off from a true circle, slot or fillet (own choice; no saw cuts to that)."""
ONE_LINE = 1e-4  # mm: points nearer than this to a line or circle lie on it
FLATTEST, FLAT = 1.01e-4, 0.05  # an arc whose rise is below that share of its chord, and that (mm), is a line
LEAST_TURN, MOST_TURN = math.radians(2.0), math.radians(150.0)  # of a fillet; beyond, an arc is an edge of its own


@dataclass(frozen=True)
class Vertex:
    """A corner: its place, the rise of the arc to the next one (outward positive), its round, that edge's layer; mm."""

    at: Point
    bow: float = 0.0
    round: float = 0.0
    layer: str = ""


@dataclass(frozen=True)
class Round:
    """A round hole, or a slot with its length over the ends (mm) and the angle of its long axis (deg)."""

    center: Point
    diameter: float
    length: float | None = None
    angle: float = 0.0
    layer: str = ""


@dataclass(frozen=True)
class Shape:
    """What is drawn: the outer loop counter-clockwise from its lower left corner, and what is cut out of it."""

    outer: tuple[Vertex, ...]
    holes: tuple[Round, ...]
    openings: tuple[tuple[Vertex, ...], ...]
    bounds: tuple[float, float, float, float]  # smallest x, smallest y, greatest x, greatest y

    @property
    def size(self) -> tuple[float, float]:
        """Width and height, mm."""
        x0, y0, x1, y1 = self.bounds
        return x1 - x0, y1 - y0


def shape_of(loops: Sequence[Loop], rings: Sequence[Ring]) -> Shape:
    """Sort closed loops into an outline and its holes.

    Parameters
    ----------
    loops, rings : sequence
        As `join` gives them, mm.

    Raises
    ------
    InputError
        For no loop at all, two outlines side by side, and holes within holes.

    Examples
    --------
    >>> corners = [(0.0, 0.0), (9.0, 0.0), (9.0, 5.0), (0.0, 5.0)]
    >>> sides = tuple(Stroke(a, b) for a, b in zip(corners, corners[1:] + corners[:1]))
    >>> shape = shape_of([sides], [Ring((3.0, 2.0), 1.0, "pivot")])
    >>> len(shape.outer), shape.holes[0].diameter
    (4, 2.0)
    """
    found: list[Loop] = [_ccw(_merged(loop)) for loop in loops]
    found += [_quarters(ring) for ring in rings]
    if not found:
        raise InputError("The drawing has no closed line; draw the outline as lines and arcs that meet end to end.")
    polygons = [_polygon(loop) for loop in found]
    outer = max(range(len(found)), key=lambda k: abs(_area(polygons[k])))
    inner = [k for k in range(len(found)) if k != outer]
    _check_nesting(polygons, outer, inner)
    holes, openings = [], []
    for k in inner:
        hole = _as_circle(found[k]) or _as_slot(found[k])
        if hole is None:
            openings.append(_vertices(found[k], polygons[k]))
        else:
            holes.append(hole)
    low, high = polygons[outer].min(axis=0), polygons[outer].max(axis=0)
    bounds = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    return Shape(
        _vertices(found[outer], polygons[outer]),
        tuple(sorted(holes, key=lambda hole: (hole.center[0], hole.center[1]))),
        tuple(sorted(openings, key=lambda one: one[0].at)),
        bounds,
    )


def _ccw(loop: Loop) -> Loop:
    return loop if _area(_polygon(loop)) > 0 else tuple(stroke.reverse() for stroke in reversed(loop))


def _polygon(loop: Sequence[Stroke]) -> FloatArray:
    """A loop as points (k, 2); arcs by 33 places each, ends and middle among them."""
    points = []
    for stroke in loop:
        points.append(np.array([stroke.start]))
        if stroke.bulge != 0.0:
            swept = 4.0 * math.atan(stroke.bulge) * np.arange(1, 32) / 32
            c, s = np.cos(swept), np.sin(swept)
            x, y = np.subtract(stroke.start, stroke.center)
            points.append(np.array(stroke.center) + np.column_stack([x * c - y * s, x * s + y * c]))
    return np.concatenate(points)


def _area(polygon: FloatArray) -> float:
    x, y = (polygon - polygon[0]).T
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _inside(points: FloatArray, polygon: FloatArray) -> NDArray[np.bool_]:
    """Which of some 64 places along one polygon lie in another: an odd number of crossings to their right."""
    x, y = points[:: max(1, len(points) // 64), :, None].transpose(1, 0, 2)
    (ax, ay), (bx, by) = polygon.T, np.roll(polygon, -1, axis=0).T
    with np.errstate(divide="ignore", invalid="ignore"):
        where = ax + (y - ay) / (by - ay) * (bx - ax)
    return np.asarray((((ay > y) != (by > y)) & (where > x)).sum(axis=1) % 2 == 1)


def _check_nesting(polygons: Sequence[FloatArray], outer: int, inner: Sequence[int]) -> None:
    for k in inner:
        if not _inside(polygons[k], polygons[outer]).any():
            raise InputError(
                f"The drawing has two outlines side by side: {_extent(polygons[outer])}, and {_extent(polygons[k])}. "
                "A part file is about one part; put the other on another layer and name the layers to read "
                "(layers = [...])."
            )
    for k, j in permutations(inner, 2):
        if abs(_area(polygons[j])) > abs(_area(polygons[k])) and _inside(polygons[k], polygons[j]).all():
            raise InputError(
                f"The drawing has a closed line within a hole: {_extent(polygons[k])}, within {_extent(polygons[j])}. "
                "Take it out, or put it on another layer and name the layers to read (layers = [...])."
            )


def _extent(polygon: FloatArray) -> str:
    (x0, y0), (x1, y1) = polygon.min(axis=0), polygon.max(axis=0)
    return f"one from {at((x0, y0))} to {at((x1, y1))}"


# ---- lines drawn in pieces


def _merged(loop: Loop) -> Loop:
    """Join pieces of one line, and of one circle up to a half, where they are on one layer."""
    count = len(loop)
    first = next((k for k in range(count) if _joined(loop[k - 1], loop[k], ()) is None), 0)
    out: list[Stroke] = []
    passed: list[Point] = []
    for stroke in loop[first:] + loop[:first]:
        one = _joined(out[-1], stroke, passed) if out else None
        if one is None:
            out.append(stroke)
            passed = []
        else:
            passed.append(stroke.start)
            out[-1] = one
    return tuple(out)


def _joined(a: Stroke, b: Stroke, passed: Sequence[Point]) -> Stroke | None:
    """The one stroke that two are; ``passed`` are the places along the first that it has been joined at."""
    if a.layer != b.layer or (a.bulge == 0.0) != (b.bulge == 0.0) or math.dist(a.start, b.end) <= ONE_LINE:
        return None
    if a.bulge == 0.0:
        one = Stroke(a.start, b.end, 0.0, a.layer)
        (tx, ty), (ux, uy) = a.tangent(), b.tangent()
        on_it = all(_off_line(place, one) <= ONE_LINE for place in (*passed, b.start))
        return one if on_it and tx * ux + ty * uy > 0 else None
    quarter = math.atan(a.bulge) + math.atan(b.bulge)
    same_way, within_half = a.bulge * b.bulge > 0, abs(quarter) <= math.pi / 4 * (1 + 1e-9)
    if not (same_way and within_half and math.dist(a.center, b.center) <= ONE_LINE):
        return None
    return Stroke(a.start, b.end, math.tan(quarter), a.layer) if abs(a.radius - b.radius) <= ONE_LINE else None


def _off_line(place: Point, stroke: Stroke) -> float:
    (ax, ay), (bx, by) = stroke.start, stroke.end
    return abs((bx - ax) * (place[1] - ay) - (by - ay) * (place[0] - ax)) / stroke.chord


# ---- round holes and slots


def _quarters(ring: Ring) -> Loop:
    """A whole circle as four arcs, counter-clockwise from its lower left."""
    (x, y), d = ring.center, ring.radius * math.sqrt(0.5)
    points = [(tidy(x + i * d), tidy(y + j * d)) for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    bulge = math.tan(math.pi / 8)
    return tuple(Stroke(a, b, bulge, ring.layer) for a, b in zip(points, points[1:] + points[:1], strict=True))


def _as_circle(loop: Loop) -> Round | None:
    if any(stroke.bulge <= 0.0 for stroke in loop):
        return None
    centers = np.array([stroke.center for stroke in loop])
    weights = np.array([4.0 * math.atan(stroke.bulge) for stroke in loop])
    center = weights @ centers / weights.sum()
    places = np.array([place for stroke in loop for place in (stroke.start, stroke.middle)])
    radii = np.linalg.norm(places - center, axis=1)
    if np.ptp(radii) > TRUE or abs(weights.sum() - 2 * math.pi) > 1e-3:
        return None
    middle = (tidy(float(center[0])), tidy(float(center[1])))
    return Round(middle, tidy(2.0 * float(radii.mean())), layer=_layer(loop))


def _as_slot(loop: Loop) -> Round | None:
    """A slot: two equal half circles, and the lines that touch both."""
    arcs, lines = loop[0::2], loop[1::2]
    if len(loop) == 4 and loop[0].bulge == 0.0:
        arcs, lines = lines, arcs
    if len(loop) != 4 or any(one.bulge <= 0.0 for one in arcs) or any(one.bulge != 0.0 for one in lines):
        return None
    radius = (arcs[0].radius + arcs[1].radius) / 2
    ends = np.array([one.center for one in arcs])
    apart = ends[1] - ends[0]
    long = float(np.linalg.norm(apart))
    if max(abs(one.bulge - 1.0) * radius for one in arcs) > TRUE or abs(arcs[0].radius - arcs[1].radius) > TRUE:
        return None
    if max(abs(one.chord - long) for one in lines) > TRUE or long <= TRUE:
        return None
    center = ends.mean(axis=0)
    angle = tidy(math.degrees(math.atan2(apart[1], apart[0])) % 180.0) % 180.0
    middle = (tidy(float(center[0])), tidy(float(center[1])))
    return Round(middle, tidy(2 * radius), tidy(long + 2 * radius), angle, _layer(loop))


def _layer(loop: Loop) -> str:
    return next((stroke.layer for stroke in loop if stroke.layer), "")


# ---- corners


def _vertices(loop: Loop, polygon: FloatArray) -> tuple[Vertex, ...]:
    """Corners of a loop, at least three, beginning with the one nearest the lower left of what encloses it."""
    strokes = list(loop)
    while len(strokes) < 3:
        k = max(range(len(strokes)), key=lambda i: strokes[i].chord)
        strokes[k : k + 1] = _cut(strokes[k])
    rounds = [_fillet(strokes, k) for k in range(len(strokes))]
    if len(strokes) - sum(one is not None for one in rounds) < 3:
        rounds = [None] * len(strokes)
    corners = []
    for k, stroke in enumerate(strokes):
        made = rounds[k]
        if made is not None:
            corners.append(replace(made, layer=strokes[(k + 1) % len(strokes)].layer))
        elif rounds[k - 1] is None:
            corners.append(Vertex(stroke.start, _bow(stroke), layer=stroke.layer))
    low = polygon.min(axis=0)
    first = min(range(len(corners)), key=lambda k: (round(math.dist(corners[k].at, low), 6), corners[k].at[1]))
    return tuple(corners[first:] + corners[:first])


def _bow(stroke: Stroke) -> float:
    """Rise of an arc; 0 for one so flat that it counts as a line."""
    rise = tidy(stroke.rise)
    return 0.0 if abs(rise) <= min(FLATTEST * stroke.chord, FLAT) else rise


def _cut(stroke: Stroke) -> list[Stroke]:
    """Two halves of a stroke."""
    half = math.tan(math.atan(stroke.bulge) / 2)
    middle = (tidy(stroke.middle[0]), tidy(stroke.middle[1]))
    return [replace(stroke, end=middle, bulge=half), replace(stroke, start=middle, bulge=half)]


def _fillet(strokes: Sequence[Stroke], k: int) -> Vertex | None:
    """The rounded corner that an arc between two lines is: tangent to both, on the layer of one or on none."""
    before, arc, after = strokes[k - 1], strokes[k], strokes[(k + 1) % len(strokes)]
    if arc.bulge == 0.0 or before.bulge != 0.0 or after.bulge != 0.0:
        return None
    if arc.layer not in {"", before.layer, after.layer}:
        return None
    (tx, ty), (ux, uy) = before.tangent(), after.tangent()
    turn = math.atan2(tx * uy - ty * ux, tx * ux + ty * uy)
    if not LEAST_TURN <= abs(turn) <= MOST_TURN or turn * arc.bulge <= 0.0:
        return None
    # where the two lines would meet: before.end + s t
    s = ((after.start[0] - before.end[0]) * uy - (after.start[1] - before.end[1]) * ux) / (tx * uy - ty * ux)
    place = (tidy(before.end[0] + s * tx), tidy(before.end[1] + s * ty))
    reach = arc.radius * math.tan(abs(turn) / 2)
    off = max(abs(math.dist(place, arc.start) - reach), abs(math.dist(place, arc.end) - reach))
    return Vertex(place, round=tidy(arc.radius)) if off <= TRUE else None


def tidy(length: float) -> float:
    """A length without the noise of roots: to 1e-6 where it is that but for noise, else to 1e-9.

    Examples
    --------
    >>> tidy(8.000000003), tidy(8.1234567)
    (8.0, 8.1234567)
    """
    short = round(length, 6)
    return (short if abs(length - short) <= 2e-8 else round(length, 9)) + 0.0
