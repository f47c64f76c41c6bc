"""Refusals that need the whole shape: crossing and touching curves, details too small."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..errors import InputError
from ..part.model import Part
from .curves import TOUCH, Curve, Point, crossings, distance, turn_at
from .trace import SHORTEST


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
        key=key_of(part, shortest) or "outline",
    )


def key_of(part: Part, curve: Curve) -> str | None:
    """Key path of the hole or notch that a curve belongs to."""
    names = {f"hole {hole.name}": hole.key or f"hole.{i}" for i, hole in enumerate(part.holes, 1)}
    names |= {f"notch {notch.name}": f"notch.{i}" for i, notch in enumerate(part.notches, 1)}
    return names.get(curve.names[0])


def check_loop(curves: Sequence[Curve], part: Part) -> None:
    """Refuse an outer loop that crosses, touches or folds back on itself."""
    found = first_contact(curves)
    if found is None:
        return
    one, two, place = found
    key = key_of(part, two) or key_of(part, one) or "outline.corners"
    what = f"{called(one)} and {called(two)} meet"
    if one.names[0] == two.names[0]:
        what = f"{called(one)} meets itself"
    raise InputError(
        f"The outline crosses or touches itself: {what} at ({place[0]:.6g}, {place[1]:.6g}) mm. "
        "Check the order of the corners, and the bows and notches there.",
        key=key,
    )


def first_contact(curves: Sequence[Curve]) -> tuple[Curve, Curve, Point] | None:
    """Two curves of a closed loop that cross, touch or fold back on one another, and where; None where all is well."""
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
