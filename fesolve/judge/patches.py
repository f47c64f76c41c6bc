"""The patches on which loads and supports act, as the judgement needs them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ..mesh.curves import Curve
from ..mesh.mesh import Mesh
from ..mesh.outline import Outline
from ..part.model import Part, Place
from .zones import NUDGE, choice_of, names_at

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

GLANCING = 0.1  # of a pin's greatest pressure: what bears less is not looked at
FINE = math.radians(3.0)  # between the points of an arc that is shown
ROUNDING = 1e-6  # of a force: a wall that is sheared alone does not push


@dataclass(frozen=True)
class Patch:
    """The piece of surface that one support or load covers.

    Attributes
    ----------
    name, kind : str
        Its name, and ``"support"`` or ``"load"``.
    on : Place
    middle : (2,) array
        Its middle, mm; a hole's centre.
    outline : tuple of (x, y)
        A few points along it, in order, wood on the left.
    length : float
        mm; 0 at a corner.
    normal : (2,) array
        Mean unit normal out of the wood; zero at a hole or corner.
    diameter : float or None
        Of the hole.
    bearing : float or None
        Diameter that bears in the hole: the pin's, the hole's without one.
    normals, weights : (q, 2), (q,) arrays
        Unit normals out of the wood along it, and the length (mm) each stands for; in a hole all round.
    thickness : (q,) array
        mm.
    regions : tuple of str
        Of each; ``part`` outside all regions.
    """

    name: str
    kind: str
    on: Place
    middle: Array
    outline: tuple[tuple[float, float], ...]
    length: float
    normal: Array
    diameter: float | None
    bearing: float | None
    normals: Array
    weights: Array
    thickness: Array
    regions: tuple[str, ...]

    def bears_on(self, force: Array, regions: Sequence[str]) -> BoolArray:
        """Which of its points (q,) a force (2,) N presses on and lie in some regions; in any, if none is named."""
        mine = np.array([not regions or name in regions for name in self.regions], dtype=bool)
        return mine & (self._share(force) > GLANCING) if self.diameter is not None else mine

    def bearing_thickness(self, force: Array) -> float:
        """Mean thickness (mm) of the half of a hole that a force (2,) N presses on, by the part each point carries."""
        share = self.weights * self._share(force) ** 2
        return float(share @ self.thickness / share.sum())

    def _share(self, force: Array) -> Array:
        """Radial pressure (q,) over its greatest under a force (2,) N in a hole: the cosine of the angle to it."""
        return np.maximum(-self.normals @ force / float(np.linalg.norm(force)), 0.0)

    def pushes(self, force: Array) -> bool:
        """Whether a force (2,) N on the wood here pushes into it; what is rounding beside its size does not."""
        if self.diameter is not None:
            return bool(np.any(force != 0.0))
        return float(-force @ self.normal) > ROUNDING * float(np.linalg.norm(force))

    def near(self, points: Array) -> BoolArray:
        """Which points (k, 2) lie within a patch's length of it (a hole: one diameter from its surface)."""
        return self.within(points, self.length if self.diameter is None else self.diameter)

    def within(self, points: Array, reach: float) -> BoolArray:
        """Which points (k, 2) lie within `reach` (mm) of its surface."""
        if self.diameter is not None:
            return np.asarray(np.linalg.norm(points - self.middle, axis=1) <= self.diameter / 2 + reach)
        line = np.array(self.outline)
        distance = np.full(len(points), np.inf)
        for p, q in pairwise(line):
            along = q - p
            share = np.clip((points - p) @ along / max(float(along @ along), 1e-300), 0.0, 1.0)
            distance = np.minimum(distance, np.linalg.norm(points - p - share[:, None] * along, axis=1))
        return distance <= reach


def patches_of(part: Part, outline: Outline, mesh: Mesh) -> dict[tuple[str, str], Patch]:
    """All patches by (kind, name)."""
    rows = [("support", s.name, s.on) for s in part.supports] + [("load", one.name, one.on) for one in part.loads]
    return {(kind, name): _patch(part, outline, mesh, kind, name, on) for kind, name, on in rows}


def _patch(part: Part, outline: Outline, mesh: Mesh, kind: str, name: str, on: Place) -> Patch:
    if on.kind == "hole":
        hole = next(hole for hole in part.holes if hole.name == on.name)
        center = np.array(hole.center)
        pin = next((s.pin for s in part.supports if kind == "support" and s.name == name), None)
        bearing = hole.diameter if pin is None else pin
        around = np.pi * hole.diameter
        wall = _along(part, outline.named(f"hole {hole.name}"))
        return Patch(name, kind, on, center, (hole.center,), around, np.zeros(2), hole.diameter, bearing, *wall[1:])
    curves = outline.named(f"{kind} {name}")
    if not curves:
        key = next(key for key in (f"{kind} {name}", on.text) if key in mesh.point_sets)
        point = mesh.points[mesh.point_sets[key][0]]
        place = ((float(point[0]), float(point[1])),)
        none = np.zeros((0, 2)), np.zeros(0), np.zeros(0), ()
        return Patch(name, kind, on, point, place, 0.0, np.zeros(2), None, None, *none)
    curves = _in_order(curves)
    places, normals, weight, thickness, regions = _along(part, curves)
    normal = weight @ normals
    size = float(np.linalg.norm(normal))
    length = float(weight.sum())
    bent = bool(on.edges) or any(curve.kind == "arc" for curve in curves)
    return Patch(
        name,
        kind,
        on,
        weight @ places / length,
        tuple((float(x), float(y)) for x, y in _traced(curves, bent=bent)),
        length,
        normal / size if size > 1e-9 * length else np.zeros(2),
        None,
        None,
        normals,
        weight,
        thickness,
        regions,
    )


def _in_order(curves: Sequence[Curve]) -> tuple[Curve, ...]:
    """The same curves from the one that follows none of them, so that they run on where a loop was cut for its list."""
    ends = {curve.end for curve in curves}
    first = next((k for k, curve in enumerate(curves) if curve.start not in ends), 0)
    return (*curves[first:], *curves[:first])


def _traced(curves: Sequence[Curve], *, bent: bool) -> Array:
    """Points (k, 2) along curves for drawing: both ends of one straight piece, ends of several, arcs every few deg."""
    found: list[Array] = []
    for curve in curves:
        swept = abs(curve.angles[1]) if curve.kind == "arc" else 0.0
        count = max(9, math.ceil(swept / FINE) + 1) if swept else 2
        found.append(curve.point(np.linspace(0.0, curve.length, count)))
    places = np.concatenate(found)
    return places if bent else places[[0, -1]]


def _along(part: Part, curves: Sequence[Curve]) -> tuple[Array, Array, Array, Array, tuple[str, ...]]:
    """Points (q, 2) along curves, their normals out of the wood, lengths, thickness and region.

    A curve of the outline lies in one region, being cut where the next begins.
    """
    count, share = 9, np.array([0.5, *[1.0] * 7, 0.5]) / 8
    places = [curve.point(np.linspace(0.0, curve.length, count)) for curve in curves]
    inward = [curve.inward(np.linspace(0.0, curve.length, count)) for curve in curves]
    inside = np.array([curve.point(curve.length / 2) + NUDGE * curve.inward(curve.length / 2) for curve in curves])
    names = names_at(part, inside)
    return (
        np.concatenate(places),
        -np.concatenate(inward),
        np.concatenate([share * curve.length for curve in curves]),
        np.repeat([choice_of(part, name).thickness for name in names], count),
        tuple(name for name in names for _ in range(count)),
    )


def near_any(patches: Sequence[Patch]) -> Callable[[Array], BoolArray]:
    """A function that tells which points lie within a patch's length of any of the patches."""

    def near(points: Array) -> BoolArray:
        found = np.zeros(len(points), dtype=bool)
        for patch in patches:
            found |= patch.near(points)
        return found

    return near
