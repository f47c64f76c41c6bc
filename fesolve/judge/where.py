"""Where a point of the part is, in the words of the part file: from a hole's centre, or from an edge."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..mesh.curves import Curve
from ..mesh.outline import Outline
from ..part.model import Hole, Part
from ..part.regions import BODY
from .verdict import Anchor, Point

Array = NDArray[np.float64]


def curve_name(curve: Curve) -> str:
    """What a curve is itself, not what sits on it: ``edge A-B``, ``notch N floor``; an arc the curve it is of."""
    own = [name for name in curve.names if name.split(" ", 1)[0] in {"edge", "round", "hole", "notch"}]
    faces = [name for name in own if name.split(" ")[-1] in {"start", "floor", "end"} and name.startswith("notch ")]
    if curve.kind == "arc" and own and own[-1].startswith("edge "):
        return own[-1]
    return (faces or own or [curve.names[0] if curve.names else "the outline"])[0]


def anchor_of(outline: Outline, part: Part, point: Array) -> Anchor:
    """What a place is measured from: the hole whose edge it is nearer to than one diameter, else the nearest edge.

    Parameters
    ----------
    outline : Outline
    part : Part
    point : (2,) array
        mm.
    """
    x, y = float(point[0]), float(point[1])
    near = [(distance_to_hole(h, point), h) for h in part.holes]
    if near:
        distance, hole = min(near, key=lambda pair: pair[0])
        if distance <= hole.diameter:
            return Anchor(f"hole {hole.name}", hole.center)
    _, curve = outline.nearest_curve((x, y))
    foot = curve.nearest((x, y))[1]
    name = curve_name(curve)
    return Anchor(name, foot, *_along(part, name, foot))


def distance_to_hole(hole: Hole, point: Array) -> float:
    """Distance (mm) of a point (2,) from the wall of a hole or slot; negative inside."""
    half = 0.0 if hole.length is None else (hole.length - hole.diameter) / 2
    angle = np.radians(hole.angle)
    axis, gap = np.array([np.cos(angle), np.sin(angle)]), np.asarray(point) - np.array(hole.center)
    foot = np.clip(gap @ axis, -half, half) * axis
    return float(np.linalg.norm(gap - foot)) - hole.diameter / 2


def _along(part: Part, name: str, foot: Point) -> tuple[float | None, str]:
    """Distance of a point on a straight edge from the edge's first corner, mm, and that corner's name."""
    kind, _, edge = name.partition(" ")
    if kind != "edge" or edge not in part.edge_names:
        return None, ""
    corner = part.corners[part.edge_names.index(edge)]
    if corner.bow:
        return None, ""
    return float(np.hypot(foot[0] - corner.at[0], foot[1] - corner.at[1])), corner.name


def place_text(point: Array, anchor: Anchor, region: str = "") -> str:
    """A place in words, mm: ``5 mm below and 9 mm right of the centre of hole pivot``.

    Examples
    --------
    >>> place_text(np.array([79.0, 65.0]), Anchor("hole pivot", (70.0, 70.0)))
    '9 mm right of and 5 mm below the centre of hole pivot'
    """
    dx, dy = float(point[0]) - anchor.at[0], float(point[1]) - anchor.at[1]
    words = []
    if abs(dx) >= 0.05:
        words.append(f"{abs(dx):.3g} mm {'right' if dx > 0 else 'left'} of")
    if abs(dy) >= 0.05:
        words.append(f"{abs(dy):.3g} mm {'above' if dy > 0 else 'below'}")
    name = f"the centre of {anchor.name}" if anchor.name.startswith("hole ") else anchor.name
    tail = "" if anchor.along is None else f", {anchor.along:.4g} mm along it"
    inside = f", in region {region}" if region not in ("", BODY) else ""
    return f"{' and '.join(words) if words else 'on'} {name}{tail}{inside}"


def exit_name(outline: Outline, point: Array) -> str:
    """The edge, hole or notch face at which a line leaves the wood, or the border between regions at which it ends."""
    place = (float(point[0]), float(point[1]))
    away, curve = outline.nearest_curve(place)
    gaps = [line.nearest(place)[0] for line in outline.interfaces]
    if gaps and min(gaps) < away:
        return outline.interfaces[int(np.argmin(gaps))].names[-1]
    return curve_name(curve)
