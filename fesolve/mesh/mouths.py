"""Where a crack along the grain may begin on the surface, how far the wood goes on from there, and its line."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .curves import SAME, Curve, FloatArray, Point, as_point, line, turn_at
from .curves import crossings as meeting_points
from .outline import Outline
from .splits import SplitLine

STEEPEST = math.sin(math.radians(20.0))  # least sine between a crack and the surface it leaves
BEYOND = 1e-6  # mm: how far from its mouth a line is looked at, so that it does not meet its own surface
SIDE = 1 / 40  # element side at a tip over the length of the crack
TIP_ROOM = 16.0  # clear distance round a tip over its element side, at least
GAPS = 4.0  # distance to the next tip over the element side, at least


@dataclass(frozen=True)
class Mouth:
    """Where a crack leaves the surface, its direction, and the length of wood ahead of it, mm."""

    at: Point
    direction: Point
    ahead: float


def mouth_near(outline: Outline, place: Point, direction: Point, within: float) -> Mouth | str:
    """The point of the surface near a place from which a crack along the grain can start.

    Parameters
    ----------
    outline : Outline
    place : (x, y)
        mm.
    direction : (x, y)
        Unit vector along the grain, the way it runs.
    within : float
        Greatest distance of the surface from the place, mm.

    Returns
    -------
    Mouth or str
        Or why there is none.
    """
    gap, curve = outline.nearest_curve(place)
    if gap > within:
        return "it begins inside the wood, away from every surface"
    corner = _corner_near(outline, place, within)
    if corner is None and float(_inward(curve, curve.nearest(place)[1]) @ direction) < -STEEPEST:
        return "no wood lies ahead of it"
    at = corner if corner is not None else _steep(curve, curve.nearest(place)[1], direction)
    if at is None:
        return f"the grain runs along the surface there ({curve.names[0]})"
    ahead = wood_ahead(outline, at, direction)
    return Mouth(at, direction, ahead) if ahead > 0.0 else "no wood lies ahead of it"


def _corner_near(outline: Outline, place: Point, within: float) -> Point | None:
    """The sharp re-entrant corner at a place, if it is at one."""
    for loop in outline.loops:
        for before, after in zip(loop, loop[1:] + loop[:1], strict=True):
            if turn_at(before, after) < -math.radians(5.0) and math.dist(after.start, place) <= within:
                return after.start
    return None


def _steep(curve: Curve, foot: Point, direction: Point) -> Point | None:
    """The point itself, or the nearest one of its arc from which a crack leaves steeply enough to be meshed."""
    inward = _inward(curve, foot)
    if float(inward @ direction) >= STEEPEST:
        return foot
    if curve.radius is None or curve.center is None or curve.ccw:
        return None
    g = np.array(direction)
    across = np.array([-g[1], g[0]])
    side = 1.0 if float(inward @ across) >= 0.0 else -1.0
    away = (STEEPEST + 1e-3) * g + side * math.sqrt(1.0 - (STEEPEST + 1e-3) ** 2) * across
    moved = as_point(np.add(curve.center, curve.radius * away))
    return moved if curve.nearest(moved)[0] < SAME * 10 else None


def _inward(curve: Curve, foot: Point) -> FloatArray:
    return np.asarray(curve.inward(curve.foot(foot) or 0.0))


def wood_ahead(outline: Outline, at: Point, direction: Point) -> float:
    """Length (mm) of the wood from a point of the surface along a direction, to the next surface or border of a region.

    0 where the direction leaves the wood at once.
    """
    start = np.add(at, np.multiply(BEYOND, direction))
    if not outline.contains(start)[0]:
        return 0.0
    far = as_point(np.add(start, np.multiply(2 * math.dist(outline.bounds[:2], outline.bounds[2:]), direction)))
    ray = line(as_point(start), far)
    met = [math.dist(at, place) for curve in outline.lines for place in meeting_points(ray, curve)]
    return min((one for one in met if one > 10 * BEYOND), default=0.0)


def wood_beside(outline: Outline, place: Point, direction: Point) -> float:
    """Depth (mm) of the wood on the thinner side of a line, measured across it from a place inside the wood."""
    x, y = direction
    return min(wood_ahead(outline, place, (-y, x)), wood_ahead(outline, place, (y, -x)))


def clear_of(outline: Outline, place: Point) -> float:
    """Distance from a place to the nearest surface or border of a region, mm."""
    return min(curve.nearest(place)[0] for curve in outline.lines)


def line_of(
    outline: Outline,
    name: str,
    mouth: Mouth,
    lengths: tuple[float, ...],
    *,
    inside: bool = False,
    most: float | None = None,
) -> SplitLine:
    """A line from a mouth with tips at the given lengths, its element sides small against everything near a tip.

    `most` (mm) is the longest side that the part allows.
    """
    gaps = np.diff(lengths, prepend=0.0)
    after = np.append(gaps[1:], mouth.ahead - lengths[-1])
    sides = []
    for number, length in enumerate(lengths):
        tip = as_point(np.add(mouth.at, np.multiply(length, mouth.direction)))
        room = clear_of(outline, tip) / TIP_ROOM
        sides.append(min(SIDE * length, room, gaps[number] / GAPS, after[number] / GAPS, most or math.inf))
    return SplitLine(name, mouth.at, mouth.direction, lengths, tuple(sides), inside)
