"""The patches on which loads and supports act, as the judgement needs them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ..mesh.mesh import Mesh
from ..mesh.outline import Outline
from ..part.model import Part, Place

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


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
        Unit normals out of the wood along it, and the length (mm) each stands for.
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

    def pushes(self, force: Array) -> bool:
        """Whether a force (2,) N on the wood here pushes into it."""
        if self.diameter is not None:
            return bool(np.any(force != 0.0))
        return float(-force @ self.normal) > 0.0

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
        none = np.zeros((0, 2)), np.zeros(0)
        return Patch(name, kind, on, center, (hole.center,), around, np.zeros(2), hole.diameter, bearing, *none)
    curves = outline.named(f"{kind} {name}")
    if not curves:
        key = next(key for key in (f"{kind} {name}", on.text) if key in mesh.point_sets)
        point = mesh.points[mesh.point_sets[key][0]]
        place = ((float(point[0]), float(point[1])),)
        return Patch(name, kind, on, point, place, 0.0, np.zeros(2), None, None, np.zeros((0, 2)), np.zeros(0))
    places = np.concatenate([curve.point(np.linspace(0.0, curve.length, 9)) for curve in curves])
    weight = np.concatenate([np.array([0.5, *[1.0] * 7, 0.5]) / 8 * curve.length for curve in curves])
    inward = np.concatenate([curve.inward(np.linspace(0.0, curve.length, 9)) for curve in curves])
    normal = -(weight @ inward)
    size = float(np.linalg.norm(normal))
    length = float(weight.sum())
    keep = places if any(curve.kind == "arc" for curve in curves) else places[[0, -1]]
    return Patch(
        name,
        kind,
        on,
        weight @ places / length,
        tuple((float(x), float(y)) for x, y in keep),
        length,
        normal / size if size > 1e-9 * length else np.zeros(2),
        None,
        None,
        -inward,
        weight,
    )


def near_any(patches: Sequence[Patch]) -> Callable[[Array], BoolArray]:
    """A function that tells which points lie within a patch's length of any of the patches."""

    def near(points: Array) -> BoolArray:
        found = np.zeros(len(points), dtype=bool)
        for patch in patches:
            found |= patch.near(points)
        return found

    return near
