"""Lines and arcs, exactly: points, lengths, feet, crossings, distances and fillets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
Point = tuple[float, float]

SAME = 1e-9  # mm: two places nearer than this are one place
TOUCH = 1e-6  # mm: two curves nearer than this touch


@dataclass(frozen=True)
class Curve:
    """A straight line or a circular arc, run from ``start`` to ``end`` with the wood on its left.

    Parameters
    ----------
    kind : "line" or "arc"
        Which of the two.
    start, end : (x, y)
        End points, mm. An arc is never a full circle.
    center, radius : (x, y) and float, optional
        Of an arc, mm.
    ccw : bool
        Whether an arc runs counter-clockwise about its centre.
    names : tuple of str
        What it is part of: ``("edge A-B", "support keeper")``; what it is itself comes first.

    Examples
    --------
    >>> quarter = Curve("arc", (2.0, 0.0), (0.0, 2.0), (0.0, 0.0), 2.0)
    >>> round(quarter.length, 6)
    3.141593
    """

    kind: Literal["line", "arc"]
    start: Point
    end: Point
    center: Point | None = None
    radius: float | None = None
    ccw: bool = True
    names: tuple[str, ...] = ()

    @cached_property
    def angles(self) -> tuple[float, float]:
        """Angle of the start seen from the centre, and the angle swept (counter-clockwise positive), radians."""
        cx, cy = self.center or (0.0, 0.0)
        first = math.atan2(self.start[1] - cy, self.start[0] - cx)
        last = math.atan2(self.end[1] - cy, self.end[0] - cx)
        swept = (last - first) % (2 * math.pi) if self.ccw else -((first - last) % (2 * math.pi))
        return first, swept

    @cached_property
    def length(self) -> float:
        """Length along the curve, mm."""
        if self.radius is None:
            return math.dist(self.start, self.end)
        return abs(self.angles[1]) * self.radius

    @cached_property
    def curvature(self) -> float:
        """1/radius, positive where the curve turns left, 1/mm."""
        return 0.0 if self.radius is None else (1.0 if self.ccw else -1.0) / self.radius

    def point(self, s: ArrayLike) -> FloatArray:
        """Points at the distances ``s`` (mm, any shape) from the start, shape of ``s`` + (2,)."""
        s = np.asarray(s, dtype=np.float64)[..., None]
        if self.center is None or self.radius is None:
            return np.asarray(self.start) + s * self._direction
        angle = self.angles[0] + s * self.curvature
        return np.asarray(self.center) + self.radius * np.concatenate([np.cos(angle), np.sin(angle)], axis=-1)

    def tangent(self, s: ArrayLike) -> FloatArray:
        """Unit vectors along the curve at the distances ``s`` (mm), shape of ``s`` + (2,)."""
        s = np.asarray(s, dtype=np.float64)[..., None]
        if self.center is None:
            return self._direction + 0.0 * s
        angle = self.angles[0] + s * self.curvature
        sense = 1.0 if self.ccw else -1.0
        return sense * np.concatenate([-np.sin(angle), np.cos(angle)], axis=-1)

    def inward(self, s: ArrayLike) -> FloatArray:
        """Unit normals into the wood (to the left) at the distances ``s`` (mm), shape of ``s`` + (2,)."""
        t = self.tangent(s)
        return np.stack([-t[..., 1], t[..., 0]], axis=-1)

    @cached_property
    def _direction(self) -> FloatArray:
        chord = np.subtract(self.end, self.start)
        return np.asarray(chord / np.linalg.norm(chord), dtype=np.float64)

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest and greatest x, then y, mm: ``(x0, x1, y0, y1)``."""
        corners = [self.start, self.end, *(as_point(p) for p in self.point(self._extremes))]
        xs, ys = zip(*corners, strict=True)
        return min(xs), max(xs), min(ys), max(ys)

    @cached_property
    def _extremes(self) -> FloatArray:
        """Distances at which an arc passes 0, 90, 180 or 270 degrees, in order."""
        if self.radius is None:
            return np.zeros(0)
        first, swept = self.angles
        sense = math.copysign(1.0, swept)
        turned = (sense * (np.arange(4) * math.pi / 2 - first)) % (2 * math.pi)
        return np.sort(turned[turned < abs(swept)]) * self.radius

    def foot(self, point: Point) -> float | None:
        """Distance (mm) at which a normal through ``point`` leaves the curve, or None where none does.

        On an arc it is the foot on the same side of the centre as the point.
        """
        if self.center is None or self.radius is None:
            s = float(np.dot(np.subtract(point, self.start), self._direction))
        else:
            first, swept = self.angles
            angle = math.atan2(point[1] - self.center[1], point[0] - self.center[0])
            turned = (math.copysign(1.0, swept) * (angle - first)) % (2 * math.pi)
            slack = SAME / self.radius
            s = (turned - 2 * math.pi if turned > 2 * math.pi - slack else turned) * self.radius
        return min(max(s, 0.0), self.length) if -SAME <= s <= self.length + SAME else None

    def nearest(self, point: Point) -> tuple[float, Point]:
        """Distance (mm) from ``point`` to the curve, and the place on it that is nearest."""
        places = [self.start, self.end]
        s = self.foot(point)
        if s is not None:
            places.append(as_point(self.point(s)))
        return min((math.dist(point, place), place) for place in places)

    def part(self, s0: float, s1: float) -> Curve:
        """The piece between the distances ``s0`` and ``s1`` (mm) from the start."""
        start = self.start if s0 <= 0 else as_point(self.point(s0))
        end = self.end if s1 >= self.length else as_point(self.point(s1))
        return replace(self, start=start, end=end)

    def reverse(self) -> Curve:
        """The same curve run the other way."""
        return replace(self, start=self.end, end=self.start, ccw=not self.ccw)

    def sample(self, step: float) -> FloatArray:
        """Points (k, 2) from the start up to but without the end: one of a line, at most ``step`` mm apart on arcs."""
        count = 1 if self.radius is None else max(1, math.ceil(self.length / step))
        return self.point(np.arange(count) * (self.length / count))


def line(start: Point, end: Point, *names: str) -> Curve:
    """A straight line from ``start`` to ``end`` (mm)."""
    return Curve("line", start, end, names=names)


def bowed(start: Point, end: Point, rise: float, *names: str) -> Curve:
    """The arc over a chord that rises ``rise`` mm to the right of start-end at mid-chord.

    R = (c²/4 + h²)/(2 h) for the chord c and the rise h (the sagitta; Euclid III.35).

    Examples
    --------
    >>> bowed((0.0, 0.0), (8.0, 0.0), 2.0).radius
    5.0
    """
    chord = np.subtract(end, start)
    c = float(np.linalg.norm(chord))
    right = np.array([chord[1], -chord[0]]) / c
    radius = (c * c / 4 + rise * rise) / (2 * abs(rise))
    towards = rise - math.copysign(radius, rise)
    center = np.add(start, end) / 2 + towards * right
    return Curve("arc", start, end, as_point(center), radius, rise > 0, names)


def as_point(values: FloatArray) -> Point:
    """An (x, y) tuple of plain floats."""
    return float(values[0]), float(values[1])


def crossings(one: Curve, other: Curve) -> list[Point]:
    """Points (mm) that two curves share, without those where lines or circles lie on one another."""
    return [
        place
        for place in _carriers_meet(_carrier(one), _carrier(other))
        if one.nearest(place)[0] <= SAME and other.nearest(place)[0] <= SAME
    ]


def distance(one: Curve, other: Curve) -> tuple[float, Point, Point]:
    """Smallest distance (mm) between two curves, and the place on each where it is found.

    It is found at a crossing, at an end, or on a common normal: through the centre of an arc.
    """
    met = crossings(one, other)
    if met:
        return 0.0, met[0], met[0]
    pairs = []
    for place in _candidates(one, other):
        gap, there = other.nearest(place)
        pairs.append((gap, place, there))
    for place in _candidates(other, one):
        gap, here = one.nearest(place)
        pairs.append((gap, here, place))
    return min(pairs)


def _candidates(one: Curve, other: Curve) -> list[Point]:
    places = [one.start, one.end]
    if other.center is not None:
        s = one.foot(other.center)
        if s is not None:
            places.append(as_point(one.point(s)))
    if one.center is not None and one.radius is not None:
        c = np.asarray(one.center)
        away = other.inward(0.0) if other.center is None else np.subtract(other.center, c)
        norm = float(np.linalg.norm(away))
        if norm > SAME:
            for sign in (1.0, -1.0):
                place = as_point(c + sign * one.radius * away / norm)
                if one.foot(place) is not None:
                    places.append(place)
    return places


@dataclass(frozen=True)
class Fillet:
    """A rounding arc, and where it leaves and meets the curves: ``before`` and ``after`` are distances on them, mm."""

    arc: Curve
    before: float
    after: float


def fillet(before: Curve, after: Curve, radius: float, *names: str) -> Fillet | None:
    """The arc of ``radius`` mm tangent to two curves that meet at a corner, or None where none fits.

    Its centre is where the curves, moved ``radius`` to the inside of the turn, meet.

    Examples
    --------
    >>> made = fillet(line((0.0, 0.0), (9.0, 0.0)), line((9.0, 0.0), (9.0, 5.0)), 2.0)
    >>> made.before, made.after
    (7.0, 2.0)
    """
    turn = turn_at(before, after)
    if abs(math.sin(turn)) < 1e-9:
        return None
    side = math.copysign(radius, turn)
    found: list[tuple[float, float, float, Point]] = []
    for center in _carriers_meet(_carrier(before, side), _carrier(after, side)):
        s_before, s_after = before.foot(center), after.foot(center)
        if s_before is not None and s_after is not None:
            found.append((before.length - s_before + s_after, s_before, s_after, center))
    if not found:
        return None
    _, s_before, s_after, center = min(found)
    start, end = as_point(before.point(s_before)), as_point(after.point(s_after))
    return Fillet(Curve("arc", start, end, center, radius, side > 0, names), s_before, s_after)


def turn_at(before: Curve, after: Curve) -> float:
    """Angle (radians, left positive, -pi to pi) by which the way turns from one curve to the next."""
    (ax, ay), (bx, by) = before.tangent(before.length), after.tangent(0.0)
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


_Carrier = tuple[FloatArray, FloatArray | float]  # a point and a direction, or a centre and a radius


def _carrier(curve: Curve, left: float = 0.0) -> _Carrier:
    """The endless line or whole circle a curve lies on, moved ``left`` mm to its left."""
    if curve.center is None or curve.radius is None:
        return np.asarray(curve.start) + left * curve.inward(0.0), curve.tangent(0.0)
    return np.asarray(curve.center), curve.radius - left * (1.0 if curve.ccw else -1.0)


def _carriers_meet(one: _Carrier, other: _Carrier) -> list[Point]:
    (p, a), (q, b) = one, other
    if isinstance(a, float) and isinstance(b, float):
        return _circles_meet(p, a, q, b)
    if isinstance(a, float):
        return _carriers_meet(other, one)
    gap = np.subtract(q, p)
    if isinstance(b, float):
        along = float(gap @ a)
        off = gap - along * a
        room = b * b - float(off @ off)
        if b <= 0 or room < -1e-12 * b * b:
            return []
        half = math.sqrt(max(room, 0.0))
        return [as_point(p + (along + sign * half) * a) for sign in (-1.0, 1.0)]
    det = float(a[0] * b[1] - a[1] * b[0])
    if abs(det) < 1e-12:
        return []
    return [as_point(p + float(gap[0] * b[1] - gap[1] * b[0]) / det * a)]


def _circles_meet(p: FloatArray, r: float, q: FloatArray, t: float) -> list[Point]:
    gap = np.subtract(q, p)
    apart = float(np.linalg.norm(gap))
    if apart < SAME or r <= 0 or t <= 0:
        return []
    along = (apart * apart + r * r - t * t) / (2 * apart)
    room = r * r - along * along
    if room < -1e-12 * r * r:
        return []
    unit = gap / apart
    across = math.sqrt(max(room, 0.0)) * np.array([-unit[1], unit[0]])
    return [as_point(p + along * unit + sign * across) for sign in (-1.0, 1.0)]


class CurveSet:
    """Many curves as arrays, for questions about many points or lines at once.

    Parameters
    ----------
    curves : sequence of Curve
        Closed loops, one after the other.
    """

    def __init__(self, curves: Sequence[Curve]) -> None:
        self.curves = tuple(curves)
        self.lines = np.flatnonzero([c.radius is None for c in curves])
        self.arcs = np.flatnonzero([c.radius is not None for c in curves])
        straight = [c for c in curves if c.radius is None]
        bent = [c for c in curves if c.radius is not None]
        self._a = np.array([c.start for c in straight]).reshape(-1, 2)
        self._ab = np.array([c.end for c in straight]).reshape(-1, 2) - self._a
        self._c = np.array([c.center for c in bent]).reshape(-1, 2)
        self._r = np.array([c.radius for c in bent], dtype=np.float64)
        self._first = np.array([c.angles[0] for c in bent])
        self._swept = np.array([c.angles[1] for c in bent])
        self._ends = np.array([(c.start, c.end) for c in bent]).reshape(-1, 2, 2)
        self._pieces = _monotone_pieces(bent)

    def distances(self, points: FloatArray) -> FloatArray:
        """Distance (mm) from each of (k, 2) points to each curve, (k, curves)."""
        out = np.empty((len(points), len(self.curves)))
        d = points[:, None] - self._a
        t = np.clip((d * self._ab).sum(-1) / (self._ab**2).sum(-1), 0.0, 1.0)
        out[:, self.lines] = np.linalg.norm(d - t[..., None] * self._ab, axis=-1)
        d = points[:, None] - self._c
        radial = np.abs(np.linalg.norm(d, axis=-1) - self._r)
        ends = np.linalg.norm(points[:, None, None] - self._ends, axis=-1).min(axis=-1)
        out[:, self.arcs] = np.where(self._within(d), np.minimum(radial, ends), ends)
        return out

    def _within(self, d: FloatArray, slack: float = 0.0) -> BoolArray:
        """Whether the directions ``d`` (k, arcs, 2) from the centres point at the arcs themselves."""
        angle = np.arctan2(d[..., 1], d[..., 0])
        turned = (np.sign(self._swept) * (angle - self._first) + slack) % (2 * np.pi)
        return np.asarray(turned <= np.abs(self._swept) + 2 * slack)

    def hits(self, origins: FloatArray, directions: FloatArray) -> tuple[FloatArray, NDArray[np.int64]]:
        """Where endless lines meet the curves.

        Parameters
        ----------
        origins, directions : (k, 2) array
            Points and vectors (any length but 0), mm.

        Returns
        -------
        (k, h) array
            Multiples of the direction vector; nan where that line and curve do not meet.
        (h,) array
            The curve each column belongs to (arcs have two columns).
        """
        d = directions[:, None]
        gap = self._a - origins[:, None]
        det = _cross(d, self._ab)
        length = np.linalg.norm(self._ab, axis=-1)
        with np.errstate(divide="ignore", invalid="ignore"):
            t = _cross(gap, self._ab) / det
            u = _cross(gap, d) / det
        parallel = np.abs(det) < 1e-12 * length * np.linalg.norm(d, axis=-1)
        t_lines = np.where(~parallel & (u > -SAME / length) & (u < 1 + SAME / length), t, np.nan)
        gap = self._c - origins[:, None]
        dd = (d * d).sum(-1)
        along = (gap * d).sum(-1) / dd
        off = gap - along[..., None] * d
        room = self._r**2 - (off * off).sum(-1)
        half = np.sqrt(np.where(room < -1e-12 * self._r**2, np.nan, np.maximum(room, 0.0)) / dd)
        both = [self._on_arc(origins, d, along + sign * half) for sign in (-1.0, 1.0)]
        return np.concatenate([t_lines, *both], axis=1), np.concatenate([self.lines, self.arcs, self.arcs])

    def _on_arc(self, origins: FloatArray, d: FloatArray, t: FloatArray) -> FloatArray:
        place = origins[:, None] + t[..., None] * d - self._c
        return np.where(self._within(place, 1e-12), t, np.nan)

    def contains(self, points: FloatArray) -> BoolArray:
        """Whether (k, 2) points lie inside the loops: an odd number of crossings to the right, arcs taken exactly."""
        x, y = points[:, 0, None], points[:, 1, None]
        a, b = self._a, self._a + self._ab
        with np.errstate(divide="ignore", invalid="ignore"):
            where = a[:, 0] + (y - a[:, 1]) / self._ab[:, 1] * self._ab[:, 0]
        count = (((a[:, 1] > y) != (b[:, 1] > y)) & (x < where)).sum(axis=1)
        y0, y1, cx, cy, r, side = self._pieces.T
        where = cx + side * np.sqrt(np.maximum(r * r - (y - cy) ** 2, 0.0))
        count += (((y0 > y) != (y1 > y)) & (x < where)).sum(axis=1)
        return np.asarray(count % 2 == 1)


def _cross(a: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def _monotone_pieces(arcs: Sequence[Curve]) -> FloatArray:
    """Arcs cut at their highest and lowest points: rows (y0, y1, centre x, centre y, radius, side ±1 in x)."""
    rows = []
    for arc in arcs:
        assert arc.center is not None and arc.radius is not None
        stops = np.concatenate([[0.0], arc._extremes, [arc.length]])
        heights = np.concatenate([[arc.start[1]], arc.point(arc._extremes)[:, 1], [arc.end[1]]])
        middles = arc.point((stops[:-1] + stops[1:]) / 2)
        for y0, y1, middle in zip(heights[:-1], heights[1:], middles, strict=True):
            rows.append((y0, y1, *arc.center, arc.radius, 1.0 if middle[0] >= arc.center[0] else -1.0))
    return np.array(rows).reshape(-1, 6)
