"""Curves that are neither lines nor arcs, followed by arcs that run on into one another."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from .strokes import Bend, Point, Stroke, halved

FloatArray = NDArray[np.float64]
SAMPLES = 24  # places at which the distance between curve and arcs is looked at
DEEPEST = 14  # halvings of one piece
STRAIGHT = 1e-7  # rise over chord below which an arc is a line


def as_arcs(bend: Bend, within: float) -> tuple[list[Stroke], float]:
    """Follow a cubic Bézier piece by pairs of arcs with its tangents at their ends, halving it until they are near.

    The two arcs of a pair share a tangent at their joint; of all such pairs the one with equal lengths from the ends
    to the two corners of its control polygon is taken (Bolton, K. M.: Biarc curves, Computer-Aided Design 7 (1975),
    from memory).

    Parameters
    ----------
    bend : Bend
        mm.
    within : float
        Greatest distance wanted, mm.

    Returns
    -------
    list of Stroke
        From its start to its end.
    float
        Greatest distance found, mm.

    Examples
    --------
    A quarter circle's usual Bézier piece is on it to 0.03 %:

    >>> k = 0.5523
    >>> arcs, off = as_arcs(Bend(((1.0, 0.0), (1.0, k), (k, 1.0), (0.0, 1.0))), 0.001)
    >>> len(arcs), round(arcs[0].radius, 3)
    (2, 1.0)
    """
    points = np.array(bend.points)
    if float(np.ptp(points, axis=0).max()) == 0.0:
        return [], 0.0
    arcs, off = _follow(points, within, bend.layer, DEEPEST)
    return [replace(one, start=_rounded(one.start), end=_rounded(one.end)) for one in arcs], off


def _rounded(point: Point) -> Point:
    return round(point[0], 9) + 0.0, round(point[1], 9) + 0.0


def _follow(points: FloatArray, within: float, layer: str, left: int) -> tuple[list[Stroke], float]:
    found = _pair(points, layer)
    off = math.inf if found is None else _off(points, found)
    if found is not None and (off <= within or left == 0):
        return found, off
    if left == 0:
        start, end = _point(points[0]), _point(points[3])
        chord = [] if start == end else [Stroke(start, end, 0.0, layer)]
        return chord, _off(points, chord) if chord else 0.0
    first, second = _halves(points)
    one, off_one = _follow(first, within, layer, left - 1)
    two, off_two = _follow(second, within, layer, left - 1)
    return one + two, max(off_one, off_two)


def _halves(p: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Cut a Bézier piece in its middle (de Casteljau)."""
    ab, bc, cd = (p[0] + p[1]) / 2, (p[1] + p[2]) / 2, (p[2] + p[3]) / 2
    abc, bcd = (ab + bc) / 2, (bc + cd) / 2
    middle = (abc + bcd) / 2
    return np.array([p[0], ab, abc, middle]), np.array([middle, bcd, cd, p[3]])


def _pair(p: FloatArray, layer: str) -> list[Stroke] | None:
    """Two arcs with the tangents of the piece at its ends; a line where it is one; None where there are none."""
    chord = p[3] - p[0]
    first, last = _tangent(p), -_tangent(p[::-1])
    across = float(chord @ chord)
    if across == 0.0 or min(float(first @ chord), float(last @ chord)) <= 0.0:
        return None  # it turns too far for one pair
    start, end = _point(p[0]), _point(p[3])
    turn = 1.0 - float(first @ last)
    along = float(chord @ (first + last))
    # |chord - d (first + last)| = 2 d
    d = across / (2.0 * along) if turn < 1e-9 else (-along + math.sqrt(along**2 + 2.0 * turn * across)) / (2.0 * turn)
    joint = _point((p[0] + p[3] + d * (first - last)) / 2)
    one, two = _arc(start, first, joint, layer), _arc(end, -last, joint, layer).reverse()
    if abs(one.bulge) < STRAIGHT and abs(two.bulge) < STRAIGHT:
        return [Stroke(start, end, 0.0, layer)]
    return [*halved(one), *halved(two)]


def _arc(start: Point, tangent: FloatArray, end: Point, layer: str) -> Stroke:
    """The arc from a point along a tangent to another point: it sweeps twice the angle between tangent and chord."""
    x, y = end[0] - start[0], end[1] - start[1]
    angle = math.atan2(tangent[0] * y - tangent[1] * x, tangent[0] * x + tangent[1] * y)
    bulge = math.tan(angle / 2)
    return Stroke(start, end, bulge if abs(bulge) > STRAIGHT else 0.0, layer)


def _tangent(p: FloatArray) -> FloatArray:
    """Unit vector along a piece at its start; where control points coincide, towards the next one."""
    for point in p[1:]:
        away = point - p[0]
        size = float(np.linalg.norm(away))
        if size > 1e-12 * float(np.abs(p).max()):
            return np.asarray(away / size)
    return np.array([1.0, 0.0])


def _off(p: FloatArray, strokes: list[Stroke]) -> float:
    """Greatest distance of places on the piece from the strokes."""
    t = np.linspace(0.0, 1.0, SAMPLES + 1)[:, None]
    places = (1 - t) ** 3 * p[0] + 3 * (1 - t) ** 2 * t * p[1] + 3 * (1 - t) * t**2 * p[2] + t**3 * p[3]
    return float(np.min([_distances(places, stroke) for stroke in strokes], axis=0).max())


def _distances(places: FloatArray, stroke: Stroke) -> FloatArray:
    """Distance (k,) of places (k, 2) from one stroke."""
    start, end = np.array(stroke.start), np.array(stroke.end)
    ends = np.minimum(np.linalg.norm(places - start, axis=1), np.linalg.norm(places - end, axis=1))
    chord = end - start
    s = (places - start) @ chord / (chord @ chord)
    if stroke.bulge == 0.0:
        off = np.linalg.norm(places - start - s[:, None] * chord, axis=1)
    else:
        off = np.abs(np.linalg.norm(places - np.array(stroke.center), axis=1) - stroke.radius)
    return np.asarray(np.where((s >= 0) & (s <= 1), off, ends))  # an arc of at most a half circle lies over its chord


def _point(values: FloatArray) -> Point:
    return float(values[0]), float(values[1])
