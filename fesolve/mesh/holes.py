"""Round holes and slots: their curves, and refusals of those that do not fit."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..errors import InputError
from ..part.model import Hole, Part
from .checks import called, key_of
from .curves import TOUCH, Curve, CurveSet, FloatArray, Point, as_point, distance, line
from .trace import mm


def hole_loop(hole: Hole, labels: Sequence[str] = ()) -> tuple[Curve, ...]:
    """The curves of a hole, clockwise: four quarter arcs, and in a slot its two straight sides.

    Parameters
    ----------
    hole : Hole
        Round, or a slot.
    labels : sequence of str
        Names of the patches on it, which all curves bear beside ``hole <name>``.

    Returns
    -------
    tuple of Curve
        A closed loop with the wood on its left.

    Examples
    --------
    Round a slot of 6 mm by 2 mm it is 2 · 4 + 2π mm:

    >>> slot = Hole(name="h", center=(0.0, 0.0), diameter=2.0, length=6.0, angle=90.0)
    >>> round(sum(curve.length for curve in hole_loop(slot)), 6)
    14.283185
    """
    r, along, across = hole.diameter / 2, _axis(hole), _axis(hole, 90.0)
    names = (f"hole {hole.name}", *labels)
    first, last = (np.asarray(p, dtype=np.float64) for p in spine(hole))
    turns = [(last, along), (last, -across), (first, -across), (first, -along), (first, across), (last, across)]
    points = [as_point(center + r * away) for center, away in turns]
    curves = []
    for i, (start, end) in enumerate(zip(points, points[1:] + points[:1], strict=True)):
        if i in {1, 4}:  # from one round end to the other
            curves.append(line(start, end, *names))
        else:
            curves.append(Curve("arc", start, end, as_point(turns[i][0]), r, False, names))
    return tuple(curve for curve in curves if hole.length is not None or curve.kind == "arc")


def _axis(hole: Hole, turned: float = 0.0) -> FloatArray:
    """Unit vector along the hole's long axis, turned on by an angle in degrees; exact at whole quarters."""
    quarters, rest = divmod(hole.angle + turned, 90.0)
    c, s = math.cos(math.radians(rest)), math.sin(math.radians(rest))
    return np.array([(c, s), (-s, c), (-c, -s), (s, -c)][int(quarters) % 4]) + 0.0


def spine(hole: Hole) -> tuple[Point, Point]:
    """The two centres of a slot's round ends, mm; twice the centre of a round hole."""
    half = 0.0 if hole.length is None else (hole.length - hole.diameter) / 2
    center = np.asarray(hole.center, dtype=np.float64)
    return as_point(center - half * _axis(hole)), as_point(center + half * _axis(hole))


def hole_key(hole: Hole, number: int, key: str) -> str:
    """Key path of one of a hole's keys; that of the drawing where it is drawn there."""
    return hole.key if hole.key.startswith("outline.") else f"{hole.key or f'hole.{number}'}.{key}"


def check_holes(part: Part, outer: Sequence[Curve], raw: Sequence[Curve]) -> None:
    """Refuse holes outside, across an edge, or touching one another; distances are stated."""
    shape = CurveSet(outer)
    uncut = CurveSet(raw)
    for i, hole in enumerate(part.holes, 1):
        if hole.length is not None and hole.length <= hole.diameter:
            raise InputError(
                f'Slot "{hole.name}" is {mm(hole.length)} long and {mm(hole.diameter)} wide; it has to be longer than '
                "wide. Leave the length out for a round hole.",
                key=hole_key(hole, i, "length"),
            )
        _check_hole_inside(part, hole, i, shape, uncut)
        for j, other in enumerate(part.holes[: i - 1], 1):
            _check_two_holes(other, hole, i)
            if other.name == hole.name:
                raise InputError(
                    f'Holes {j} and {i} are both named "{hole.name}"; name each once.', key=hole_key(hole, i, "name")
                )


def _check_hole_inside(part: Part, hole: Hole, number: int, shape: CurveSet, uncut: CurveSet) -> None:
    center = np.array([hole.center])
    where = f"({hole.center[0]:.6g}, {hole.center[1]:.6g}) mm"
    gaps = np.array([_spine_gap(hole, curve) for curve in shape.curves])
    nearest = shape.curves[int(np.argmin(gaps))]
    gap, radius = float(gaps.min()), hole.diameter / 2
    if not shape.contains(center)[0]:
        by = f"{mm(nearest.nearest(hole.center)[0])} beyond {called(nearest)}"
        if uncut.contains(center)[0] and nearest.names[0].startswith("notch "):
            by = f"in the wood that {called(nearest)} cuts away"
        raise InputError(
            f'Hole "{hole.name}" is outside the outline: its centre {where} lies {by}. Move it inside.',
            key=hole_key(hole, number, "center"),
        )
    if gap - radius >= TOUCH:
        return
    over = radius - gap
    notch = key_of(part, nearest)
    word = "touches" if over < 1e-3 else "crosses"
    what, cure = ("its centre", f"give a diameter below {mm(2 * gap)}")
    if hole.length is not None:
        what, cure = "the line between the centres of its round ends", "make it shorter or narrower"
    raise InputError(
        f'Hole "{hole.name}" {word} {called(nearest)}: {what} is {mm(gap)} from it and its radius is {mm(radius)}, '
        f"{mm(max(over, 0.0))} too much. Move the hole, or {cure}.",
        key=f"{notch}.depth" if notch else hole_key(hole, number, "center"),
    )


def _spine_gap(hole: Hole, curve: Curve) -> float:
    """Distance (mm) from a hole's centre, or from a slot's line between its centres, to a curve."""
    first, last = spine(hole)
    return curve.nearest(first)[0] if hole.length is None else distance(line(first, last), curve)[0]


def _check_two_holes(one: Hole, two: Hole, number: int) -> None:
    if two.length is not None:
        apart = _spine_gap(one, line(*spine(two)))
    else:
        apart = math.dist(one.center, two.center) if one.length is None else _spine_gap(two, line(*spine(one)))
    needed = (one.diameter + two.diameter) / 2
    if apart - needed < TOUCH:
        word = "touch" if needed - apart < 1e-3 else "overlap"
        what = "their centres" if one.length is None and two.length is None else "their middle lines"
        raise InputError(
            f'Holes "{one.name}" and "{two.name}" {word}: {what} are {mm(apart)} apart and their radii add up '
            f"to {mm(needed)}, {mm(max(needed - apart, 0.0))} too much. Move one of them.",
            key=hole_key(two, number, "center"),
        )
