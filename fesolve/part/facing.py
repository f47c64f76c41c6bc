"""Which way a place on the outline faces: the mean outward normal of an edge, of a piece of it, or of a notch."""

from __future__ import annotations

import math
from itertools import pairwise

from .model import Corner, Notch, Opening, Place, Point, edge_names
from .places import edge_length

_COMPASS = (
    *("to the right", "up and to the right", "up", "up and to the left"),
    *("to the left", "down and to the left", "down", "down and to the right"),
)


def outward_normal(
    place: Place, corners: tuple[Corner, ...], notches: tuple[Notch, ...], openings: tuple[Opening, ...] = ()
) -> Point:
    """Mean outward normal of an edge or a notch, before rounds.

    Parameters
    ----------
    place : Place
        An edge or a piece of one, a notch or a face of one.
    corners, notches, openings
        Of the part.

    Returns
    -------
    tuple of float
        A unit vector out of the wood; for an arc that of the chord over the piece.

    Raises
    ------
    KeyError
        If the place is not on this outline.

    Examples
    --------
    >>> square = tuple(Corner(name=n, at=at) for n, at in zip("ABCD", ((0, 0), (9, 0), (9, 9), (0, 9))))
    >>> outward_normal(Place(kind="edge", name="A-B"), square, ())
    (0.0, -1.0)
    """
    if place.kind == "notch":
        notch = {notch.name: notch for notch in notches}[place.name]
        return _of_notch(notch, place.face, outward_normal(Place(kind="edge", name=notch.edge), corners, notches))
    if place.edges:
        sides = [_side(name, corners, openings) for name in place.edges]
        return _clean((math.fsum(x for x, _ in sides), math.fsum(y for _, y in sides)))
    for opening in openings:
        if place.name in edge_names(opening.corners):
            x, y = outward_normal(place, opening.corners, ())
            return -x + 0.0, -y + 0.0  # out of the wood is into the opening
    first, second = dict(zip(edge_names(corners), pairwise((*corners, corners[0])), strict=True))[place.name]
    length, sense = edge_length(first, second), _sense(corners)
    x, y = (second.at[0] - first.at[0]) / _chord(first, second), (second.at[1] - first.at[1]) / _chord(first, second)
    normal = (sense * y, -sense * x)
    if first.bow == 0.0:
        return _clean(normal)
    radius = _chord(first, second) ** 2 / (8.0 * abs(first.bow)) + abs(first.bow) / 2.0
    start, stop = place.start or 0.0, length if place.stop is None else place.stop
    turned = sense * math.copysign(1.0, first.bow) * (start + stop - length) / 2.0 / radius
    return _clean(_turn(normal, turned))


def _side(name: str, corners: tuple[Corner, ...], openings: tuple[Opening, ...]) -> Point:
    """Outward normal of an edge times its chord."""
    x, y = outward_normal(Place(kind="edge", name=name), corners, (), openings)
    loops = (corners, *(opening.corners for opening in openings))
    chord = next(
        _chord(one, two)
        for loop in loops
        for edge, one, two in zip(edge_names(loop), loop, loop[1:] + loop[:1], strict=True)
        if edge == name
    )
    return x * chord, y * chord


def _of_notch(notch: Notch, face: str | None, up: Point) -> Point:
    """Of a notch in an edge that faces `up`: sums over its faces of length times normal.

    A face that leaves the mouth at a ramp r and goes down by h has the length times normal h (t + r n), with t along
    the edge and n out of it; the floor has what the ramps leave of the mouth.
    """
    along = (-up[1], up[0])  # the edge's direction where the wood is on the left: out of the start face into the notch
    width, (begin, end) = notch.stop - notch.start, notch.ramp
    faces = {
        "start": (notch.depth, notch.depth * begin),
        "floor": (0.0, width - notch.depth * (begin + end)),
        "end": (-notch.depth, notch.depth * end),
    }
    chosen = [faces[face]] if face else list(faces.values())
    t, n = sum(one[0] for one in chosen), sum(one[1] for one in chosen)
    return _clean((t * along[0] + n * up[0], t * along[1] + n * up[1]))


def _sense(corners: tuple[Corner, ...]) -> float:
    """1 for an outline that goes round counter-clockwise, -1 for the other way."""
    around = zip(corners, corners[1:] + corners[:1], strict=True)
    return math.copysign(1.0, math.fsum(a.at[0] * b.at[1] - b.at[0] * a.at[1] for a, b in around))


def _chord(first: Corner, second: Corner) -> float:
    return math.dist(first.at, second.at)


def _turn(vector: Point, angle: float) -> Point:
    c, s = math.cos(angle), math.sin(angle)
    return c * vector[0] - s * vector[1], s * vector[0] + c * vector[1]


def _clean(vector: Point) -> Point:
    """Make a unit vector, without the noise of roots about 0 and without -0."""
    size = math.hypot(*vector) or 1.0
    x, y = (round(value / size, 15) + 0.0 for value in vector)
    return x, y


def way(direction: Point) -> str:
    """Name a direction in words, to the nearest 45 degrees.

    Examples
    --------
    >>> way((0.0, -1.0)), way((0.7, 0.7))
    ('down', 'up and to the right')
    """
    return _COMPASS[round(math.degrees(math.atan2(direction[1], direction[0])) / 45.0) % 8]
