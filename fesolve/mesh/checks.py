"""Refusals that need the whole shape: crossing and touching curves, holes that do not fit."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..errors import InputError
from ..part.model import Hole, Part
from .curves import TOUCH, Curve, CurveSet, Point, crossings, distance, turn_at
from .trace import SHORTEST, mm


def called(curve: Curve) -> str:
    """What messages call a curve: ``edge "A-B"``, ``notch "N"``, ``round at "B"``."""
    kind, _, name = curve.names[0].partition(" ")
    return f'round at corner "{name}"' if kind == "round" else f'{kind} "{name}"'


def check_details(curves: Sequence[Curve], part: Part) -> None:
    """Refuse curves too short to be meshed."""
    shortest = min(curves, key=lambda curve: curve.length)
    if shortest.length >= SHORTEST:
        return
    x, y = shortest.start
    raise InputError(
        f"{called(shortest)[0].upper()}{called(shortest)[1:]} has a piece only {shortest.length:.2g} mm long at "
        f"({x:.6g}, {y:.6g}) mm; {SHORTEST:g} mm is the least. Enlarge that detail, or leave it out.",
        key=_key_of(part, shortest) or "outline",
    )


def _key_of(part: Part, curve: Curve) -> str | None:
    """Key path of the hole or notch that a curve belongs to."""
    names = {f"hole {hole.name}": f"hole.{i}" for i, hole in enumerate(part.holes, 1)}
    names |= {f"notch {notch.name}": f"notch.{i}" for i, notch in enumerate(part.notches, 1)}
    return names.get(curve.names[0])


def check_loop(curves: Sequence[Curve], part: Part) -> None:
    """Refuse an outer loop that crosses, touches or folds back on itself."""
    found = _first_contact(curves)
    if found is None:
        return
    one, two, place = found
    key = _key_of(part, two) or _key_of(part, one) or "outline.corners"
    what = f"{called(one)} and {called(two)} meet"
    if one.names[0] == two.names[0]:
        what = f"{called(one)} meets itself"
    raise InputError(
        f"The outline crosses or touches itself: {what} at ({place[0]:.6g}, {place[1]:.6g}) mm. "
        "Check the order of the corners, and the bows and notches there.",
        key=key,
    )


def _first_contact(curves: Sequence[Curve]) -> tuple[Curve, Curve, Point] | None:
    count = len(curves)
    for i, j in _near_pairs(curves):
        one, two = curves[i], curves[j]
        if j == i + 1 or (i == 0 and j == count - 1):
            before, after = (one, two) if j == i + 1 else (two, one)
            place = _contact_of_neighbours(before, after, both=count == 2)
        else:
            gap, place, _ = distance(one, two)
            if gap >= TOUCH:
                continue
        if place is not None:
            return one, two, place
    return None


def _near_pairs(curves: Sequence[Curve]) -> list[tuple[int, int]]:
    """Pairs i < j of curves whose bounding boxes touch."""
    box = np.array([curve.bounds for curve in curves])
    x = (box[:, None, 0] <= box[None, :, 1] + TOUCH) & (box[None, :, 0] <= box[:, None, 1] + TOUCH)
    y = (box[:, None, 2] <= box[None, :, 3] + TOUCH) & (box[None, :, 2] <= box[:, None, 3] + TOUCH)
    i, j = np.nonzero(np.triu(x & y, 1))
    return list(zip(i.tolist(), j.tolist(), strict=True))


def _contact_of_neighbours(before: Curve, after: Curve, *, both: bool) -> Point | None:
    """Where two curves that follow one another meet again, or their shared point if the way turns straight back."""
    turn = abs(turn_at(before, after))
    if turn > math.pi - 1e-6:
        return after.start
    if turn < 1e-9:  # tangent: two different circles, or a circle and its tangent, share no second point
        return None
    shared = [after.start, after.end] if both else [after.start]
    for place in crossings(before, after):
        if all(math.dist(place, known) > 1e-5 for known in shared):
            return place
    return None


def check_holes(part: Part, outer: Sequence[Curve], raw: Sequence[Curve]) -> None:
    """Refuse holes outside, across an edge, or touching one another; distances are stated."""
    shape = CurveSet(outer)
    uncut = CurveSet(raw)
    for i, hole in enumerate(part.holes, 1):
        _check_hole_inside(part, hole, i, shape, uncut)
        for j, other in enumerate(part.holes[: i - 1], 1):
            _check_two_holes(other, hole, i)
            if other.name == hole.name:
                raise InputError(
                    f'Holes {j} and {i} are both named "{hole.name}"; name each once.', key=f"hole.{i}.name"
                )


def _check_hole_inside(part: Part, hole: Hole, number: int, shape: CurveSet, uncut: CurveSet) -> None:
    center = np.array([hole.center])
    where = f"({hole.center[0]:.6g}, {hole.center[1]:.6g}) mm"
    gaps = shape.distances(center)[0]
    nearest = shape.curves[int(np.argmin(gaps))]
    gap, radius = float(gaps.min()), hole.diameter / 2
    if not shape.contains(center)[0]:
        by = f"{mm(gap)} beyond {called(nearest)}"
        if uncut.contains(center)[0] and nearest.names[0].startswith("notch "):
            by = f"in the wood that {called(nearest)} cuts away"
        raise InputError(
            f'Hole "{hole.name}" is outside the outline: its centre {where} lies {by}. Move it inside.',
            key=f"hole.{number}.center",
        )
    if gap - radius >= TOUCH:
        return
    over = radius - gap
    notch = _key_of(part, nearest)
    word = "touches" if over < 1e-3 else "crosses"
    raise InputError(
        f'Hole "{hole.name}" {word} {called(nearest)}: its centre is {mm(gap)} from it and its radius is {mm(radius)}, '
        f"{mm(max(over, 0.0))} too much. Move the hole, or give a diameter below {mm(2 * gap)}.",
        key=f"{notch}.depth" if notch else f"hole.{number}.center",
    )


def _check_two_holes(one: Hole, two: Hole, number: int) -> None:
    apart = math.dist(one.center, two.center)
    needed = (one.diameter + two.diameter) / 2
    if apart - needed < TOUCH:
        word = "touch" if needed - apart < 1e-3 else "overlap"
        raise InputError(
            f'Holes "{one.name}" and "{two.name}" {word}: their centres are {mm(apart)} apart and their radii add up '
            f"to {mm(needed)}, {mm(max(needed - apart, 0.0))} too much. Move one of them.",
            key=f"hole.{number}.center",
        )
