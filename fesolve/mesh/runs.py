"""Straight lines and arcs along the nodes of a loop of sides, as far as each goes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from .curves import Curve, as_point, bowed, line
from .mesh import FloatArray, IntArray

EXACT = 1e-4  # of the shortest side of a run: nearer than that to a line or circle a node is on it
ROUGH = 0.5  # of the rise of a side: a free curve in sides without middle nodes is as well known by arcs as by these
SIDES_OF_ARC = 3  # straight sides that make an arc, at least
STEEPEST = math.cos(math.radians(36.1))  # between two of them: a circle of ten
FLATTEST = 1e-4  # rise over chord of an arc: less is straight
MOST = math.radians(181.0)  # that an arc turns by, half a circle; what turns further is several


@dataclass(frozen=True)
class Run:
    """Sides ``first`` to ``last`` (not included, may be counted on round the loop) on one line or one circle."""

    first: int
    last: int
    rise: float = 0.0

    def curve(self, path: Path) -> Curve:
        """The line or arc from its first node to its last."""
        start, end = as_point(path.at(self.first)), as_point(path.at(self.last))
        return bowed(start, end, self.rise) if self.rise else line(start, end)


@dataclass(frozen=True)
class Path:
    """A closed loop: nodes (n, 2) and the middles (n, 2) of the sides that follow them, wood on the left.

    ``rounding`` (mm) is how exact they are; ``straight``: the middles were not given.
    """

    nodes: FloatArray
    middles: FloatArray
    rounding: float
    straight: bool

    def at(self, number: int) -> FloatArray:
        """A node, counted on round the loop."""
        return np.asarray(self.nodes[number % len(self.nodes)])

    def _numbers(self, first: int, last: int) -> IntArray:
        return np.arange(first, last) % len(self.nodes)

    def between(self, first: int, last: int) -> tuple[FloatArray, FloatArray]:
        """Nodes from first to last, both included, and the middles between them."""
        return self.nodes[self._numbers(first, last + 1)], self.middles[self._numbers(first, last)]

    def slack(self, first: int, last: int) -> float:
        """How far off (mm) a node may lie."""
        nodes, _ = self.between(first, last)
        return max(self.rounding, EXACT * float(np.linalg.norm(np.diff(nodes, axis=0), axis=1).min()))

    def straight_run(self, first: int, last: int) -> bool:
        """Whether all nodes between two lie on the line from one to the other."""
        nodes, middles = self.between(first, last)
        chord = nodes[-1] - nodes[0]
        length = float(np.linalg.norm(chord))
        if length == 0.0 or ((np.diff(nodes, axis=0) @ chord) <= 0).any():
            return False
        gap = np.concatenate([nodes, middles]) - nodes[0]
        off = np.abs(chord[0] * gap[:, 1] - chord[1] * gap[:, 0]) / length
        return bool((off <= self.slack(first, last)).all())

    def round_run(self, first: int, last: int, *, rough: bool = False) -> float:
        """Rise (mm) of the arc on which all nodes between two lie, positive out of the wood; 0 where they do not."""
        nodes, middles = self.between(first, last)
        sides = np.diff(nodes, axis=0)
        rises = (middles - (nodes[1:] + nodes[:-1]) / 2) @ _right(nodes[-1] - nodes[0])
        slack = self.slack(first, last)
        chorded = bool((np.abs(rises) <= slack).all())
        if chorded and not _turns_evenly(sides):
            return 0.0
        through = middles[0] if last - first == 1 else nodes[(last - first) // 2]
        found = circle_through(nodes[0], through, nodes[-1])
        if found is None:
            return 0.0
        center, radius = found
        length = np.linalg.norm(sides, axis=1)
        if rough:
            slack = ROUGH * float((length**2).min()) / (8 * radius)
        held = nodes if chorded else np.concatenate([nodes, middles])
        if (np.abs(np.linalg.norm(held - center, axis=1) - radius) > slack).any():
            return 0.0
        return _rise(nodes, through, center, radius)


def _right(vector: FloatArray) -> FloatArray:
    """Unit vector to the right of a vector."""
    size = float(np.linalg.norm(vector)) or 1.0
    return np.array([vector[1], -vector[0]]) / size


def _turns_evenly(sides: FloatArray) -> bool:
    """Whether straight sides (k, 2) can be those of an arc: enough of them, turning the same way and never much."""
    if len(sides) < SIDES_OF_ARC:
        return False
    one, two = sides[:-1], sides[1:]
    cross = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    cosine = (one * two).sum(axis=1) / np.linalg.norm(one, axis=1) / np.linalg.norm(two, axis=1)
    return bool(((cross > 0).all() or (cross < 0).all()) and (cosine >= STEEPEST).all())


def circle_through(a: FloatArray, b: FloatArray, c: FloatArray) -> tuple[FloatArray, float] | None:
    """Centre and radius of the circle through three points; None where they lie on a line.

    The centre is where the perpendicular bisectors of two chords meet (Euclid IV.5).

    Examples
    --------
    >>> center, radius = circle_through(np.array([5.0, 0.0]), np.array([0.0, 5.0]), np.array([-3.0, 4.0]))
    >>> center.tolist(), radius
    ([0.0, 0.0], 5.0)
    """
    u, v = b - a, c - a
    det = 2.0 * float(u[0] * v[1] - u[1] * v[0])
    if abs(det) <= 1e-9 * float(u @ u + v @ v):
        return None
    uu, vv = float(u @ u), float(v @ v)
    away = np.array([v[1] * uu - u[1] * vv, u[0] * vv - v[0] * uu]) / det
    return a + away, float(np.linalg.norm(away))


def _rise(nodes: FloatArray, through: FloatArray, center: FloatArray, radius: float) -> float:
    """Rise over the chord from first to last node, to its right positive; 0 where it is too flat or too long."""
    chord = nodes[-1] - nodes[0]
    length = float(np.linalg.norm(chord))
    right = _right(chord)
    out = float((through - nodes[0]) @ right)
    middle = (nodes[-1] + nodes[0]) / 2
    rise = math.copysign(radius, out) + float((center - middle) @ right)
    turned = 4.0 * math.atan2(2.0 * abs(rise), length)
    if abs(rise) <= FLATTEST * length or turned > MOST:
        return 0.0
    return math.copysign(min(abs(rise), length / 2), rise)


def runs_of(path: Path, breaks: Sequence[int]) -> list[Run]:
    """Cut a loop into lines and arcs, always at the `breaks` (numbers of nodes), else where they end.

    Returns
    -------
    list of Run
        In order; where there are no breaks from the sharpest corner on.
    """
    count = len(path.nodes)
    stops = sorted(set(breaks)) or [_sharpest(path)]
    found: list[Run] = []
    for first, last in zip(stops, [*stops[1:], stops[0] + count], strict=True):
        here = first
        while here < last:
            run = _longest(path, here, last)
            found.append(run)
            here = run.last
    return _joined(path, found) if not breaks else found


def _sharpest(path: Path) -> int:
    """The node at which the loop turns most."""
    before = path.nodes - np.roll(path.nodes, 1, axis=0)
    after = np.roll(path.nodes, -1, axis=0) - path.nodes
    cosine = (before * after).sum(axis=1) / np.linalg.norm(before, axis=1) / np.linalg.norm(after, axis=1)
    return int(np.argmin(cosine.round(9)))


def _longest(path: Path, first: int, last: int) -> Run:
    """The line or arc from a node that goes furthest."""
    line_to = _furthest(lambda stop: path.straight_run(first, stop), first + 1, last)
    least = first + SIDES_OF_ARC if path.straight else first + 1
    arc_to = _furthest(lambda stop: path.round_run(first, stop) != 0.0, least, last)
    if arc_to is None and not path.straight:
        arc_to = _furthest(lambda stop: path.round_run(first, stop) != 0.0, first + SIDES_OF_ARC, last)
    if arc_to is not None and arc_to > (line_to or first + 1):
        return Run(first, arc_to, path.round_run(first, arc_to))
    if line_to is not None and line_to > first + 1:
        return Run(first, line_to)
    if arc_to is not None and line_to is None:
        return Run(first, arc_to, path.round_run(first, arc_to))
    rough = _furthest(lambda stop: path.round_run(first, stop, rough=True) != 0.0, first + SIDES_OF_ARC, last)
    if rough is not None and path.straight:
        return Run(first, rough, path.round_run(first, rough, rough=True))
    return Run(first, first + 1)


def _furthest(holds: Callable[[int], bool], least: int, most: int) -> int | None:
    """The greatest stop up to which something holds, which holds for all before it; by doubling, then halving."""
    if least > most or not holds(least):
        return None
    good, step = least, 1
    while good + step <= most and holds(good + step):
        good += step
        step *= 2
    bad = min(good + step, most + 1)
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if holds(middle) else (good, middle)
    return good


def _joined(path: Path, found: list[Run]) -> list[Run]:
    """The last run joined to the first where both are one: the loop was cut in the middle of it."""
    if len(found) < 2:
        return found
    first, last = found[0], found[-1]
    stop = last.last + first.last - first.first
    if not first.rise and not last.rise and path.straight_run(last.first, stop):
        return [Run(last.first, stop), *found[1:-1]]
    rise = path.round_run(last.first, stop) if first.rise and last.rise else 0.0
    return [replace(last, last=stop, rise=rise), *found[1:-1]] if rise else found
