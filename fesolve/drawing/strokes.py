"""What a drawing is made of: lines and arcs, whole circles, and curves that are neither."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from types import MappingProxyType

Point = tuple[float, float]


@dataclass(frozen=True)
class Stroke:
    """A line, or an arc of at most a half circle.

    Parameters
    ----------
    start, end : (x, y)
        In the drawing's unit, later in mm.
    bulge : float
        Tangent of a quarter of the angle swept, counter-clockwise positive; 0 for a line, 1 for a half circle.
    layer : str
        Empty on the layer that has no name of its own.

    Examples
    --------
    >>> half = Stroke((0.0, 0.0), (2.0, 0.0), 1.0)
    >>> half.radius, half.center, half.middle
    (1.0, (1.0, 0.0), (1.0, -1.0))
    """

    start: Point
    end: Point
    bulge: float = 0.0
    layer: str = ""

    @property
    def chord(self) -> float:
        """Distance from start to end."""
        return math.dist(self.start, self.end)

    @property
    def radius(self) -> float:
        """Of an arc: c (1 + b²)/(4 |b|) for the chord c and the bulge b."""
        return self.chord * (1.0 + self.bulge**2) / (4.0 * abs(self.bulge))

    @property
    def rise(self) -> float:
        """Height of an arc over its chord, positive to the right of start-end: c b/2."""
        return self.chord * self.bulge / 2.0

    @property
    def middle(self) -> Point:
        """The place half-way along."""
        return self._beside(self.rise)

    @property
    def center(self) -> Point:
        """Of an arc: it lies (1 - b²)/(4 b) chords to the left of the middle of the chord."""
        return self._beside(-self.chord * (1.0 - self.bulge**2) / (4.0 * self.bulge))

    def _beside(self, right: float) -> Point:
        (ax, ay), (bx, by) = self.start, self.end
        c = self.chord
        return (ax + bx) / 2 + right * (by - ay) / c, (ay + by) / 2 - right * (bx - ax) / c

    def tangent(self, *, at_end: bool = False) -> Point:
        """Unit vector along it at its start or its end: the chord turned by half the angle swept."""
        (ax, ay), (bx, by) = self.start, self.end
        turned = (2.0 if at_end else -2.0) * math.atan(self.bulge)
        x, y, c = bx - ax, by - ay, self.chord
        return (
            (x * math.cos(turned) - y * math.sin(turned)) / c,
            (x * math.sin(turned) + y * math.cos(turned)) / c,
        )

    def reverse(self) -> Stroke:
        """The same run the other way."""
        return replace(self, start=self.end, end=self.start, bulge=-self.bulge)


@dataclass(frozen=True)
class Ring:
    """A whole circle."""

    center: Point
    radius: float
    layer: str = ""


@dataclass(frozen=True)
class Bend:
    """A curve that is neither line nor arc, as one cubic Bézier piece by its four points."""

    points: tuple[Point, Point, Point, Point]
    layer: str = ""


Drawn = Stroke | Ring | Bend


@dataclass(frozen=True)
class Drawing:
    """All that a file holds of lines and curves.

    Parameters
    ----------
    things : tuple of Stroke, Ring and Bend
        In the drawing's own unit, y up.
    unit : float, optional
        mm that one unit of the drawing is; None where the file does not say.
    unit_name : str
        What the file says about it, for messages.
    aside : mapping of str to int
        What else is in the file, by kind, and how often.
    """

    things: tuple[Drawn, ...]
    unit: float | None
    unit_name: str = ""
    aside: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))


def scaled(drawing: Drawing, factor: float) -> tuple[Drawn, ...]:
    """Give all that is drawn with every length multiplied (mm a unit of the drawing), rounded to 1e-9 mm."""

    def at(point: Point) -> Point:
        return round(point[0] * factor, 9) + 0.0, round(point[1] * factor, 9) + 0.0

    found: list[Drawn] = []
    for one in drawing.things:
        if isinstance(one, Ring):
            found.append(Ring(at(one.center), round(one.radius * factor, 9), one.layer))
        elif isinstance(one, Bend):
            a, b, c, d = one.points
            found.append(Bend((at(a), at(b), at(c), at(d)), one.layer))
        else:
            found.append(replace(one, start=at(one.start), end=at(one.end)))
    return tuple(found)


def arc_through(start: Point, center: Point, swept: float, layer: str = "") -> list[Stroke]:
    """Strokes of an arc that sweeps an angle (radians, counter-clockwise positive): two above a half circle.

    Examples
    --------
    >>> [round(one.bulge, 6) for one in arc_through((1.0, 0.0), (0.0, 0.0), 1.5 * math.pi)]
    [0.668179, 0.668179]
    """
    count = 1 if abs(swept) <= math.pi * (1 + 1e-9) else 2
    bulge = math.tan(swept / count / 4)
    x, y = start[0] - center[0], start[1] - center[1]
    turns = [swept * k / count for k in range(count + 1)]
    points = [
        (center[0] + x * math.cos(a) - y * math.sin(a), center[1] + x * math.sin(a) + y * math.cos(a)) for a in turns
    ]
    points[0] = start
    return [Stroke(a, b, bulge, layer) for a, b in pairwise(points)]


def halved(stroke: Stroke) -> list[Stroke]:
    """Give an arc above a half circle as two, anything else as it is.

    Examples
    --------
    >>> most = Stroke((0.0, 0.0), (2.0, 0.0), 1.0 + math.sqrt(2.0))  # 270 deg
    >>> [round(one.bulge, 6) for one in halved(most)]
    [0.668179, 0.668179]
    """
    if abs(stroke.bulge) <= 1.0 + 1e-9 or stroke.chord == 0.0:
        return [stroke]
    half = math.tan(math.atan(stroke.bulge) / 2)
    return [replace(stroke, end=stroke.middle, bulge=half), replace(stroke, start=stroke.middle, bulge=half)]


def quadratic(start: Point, control: Point, end: Point, layer: str = "") -> Bend:
    """Give a quadratic Bézier piece as a cubic one: the inner points lie two thirds of the way to the control point."""

    def towards(point: Point) -> Point:
        return point[0] + 2 / 3 * (control[0] - point[0]), point[1] + 2 / 3 * (control[1] - point[1])

    return Bend((start, towards(start), towards(end), end), layer)
