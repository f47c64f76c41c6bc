"""Where something acts on a mesh without names: a side of its box, points, or a function of x and y."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..mesh.mesh import Mesh
from .boundary import boundary_sides

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

LEAST_SIDES = 8  # of a round hole
ROUND = 1e-3  # of its radius: how far from the circle a point may lie
EXTREMES = {"left": (0, -1.0), "right": (0, 1.0), "bottom": (1, -1.0), "top": (1, 1.0)}


@dataclass(frozen=True)
class Picked:
    """A place on a mesh: its points (k,), and those sides of the boundary that lie in it altogether, (s, 2 or 3).

    ``left_out`` is the number of points that were meant as well and lie on none of these sides.
    """

    points: IntArray
    sides: IntArray
    left_out: int = 0

    def is_round_hole(self, mesh: Mesh) -> bool:
        """Whether it is all of a round hole: one closed ring of sides on a circle, with the wood outside."""
        if len(self.sides) < LEAST_SIDES:
            return False
        nodes, times = np.unique(self.sides[:, :2], return_counts=True)
        ring = mesh.points[nodes]
        away = np.linalg.norm(ring - ring.mean(axis=0), axis=1)
        start, end = mesh.points[self.sides[:, :2]].transpose(1, 2, 0)
        area = 0.5 * float((start[0] * end[1] - start[1] * end[0]).sum())  # negative: clockwise, the wood on the left
        even = bool(np.ptp(away) <= ROUND * away.mean())
        return even and bool((times == 2).all()) and area < -0.5 * np.pi * float(away.mean()) ** 2


def picked(mesh: Mesh, inside: BoolArray) -> Picked:
    """The place that some points make: `inside` (n,) tells which.

    Where they hold whole sides of the boundary the place is these sides, else it is the points.
    """
    sides = boundary_sides(mesh.cells)
    whole = sides[inside[sides].all(axis=1)]
    if len(whole) == 0:
        return Picked(np.flatnonzero(inside), whole)
    beside = inside.copy()
    beside[whole] = False
    if sides.shape[1] == 3:
        beside[sides[:, 2]] = False  # the middle of half a side says no more than that the place ends there
    return Picked(np.unique(whole), whole, int(beside.sum()))


def at_extreme(mesh: Mesh, side: str, tolerance: float) -> BoolArray:
    """Which points (n,) of the boundary lie within a tolerance (mm) of the leftmost, rightmost, lowest or highest."""
    axis, sign = EXTREMES[side]
    value = sign * mesh.points[:, axis]
    rim = np.zeros(len(value), dtype=bool)
    rim[boundary_sides(mesh.cells)] = True
    return np.asarray(rim & (value >= value.max() - tolerance))


def where_true(name: str, function: Callable[[Array, Array], Any], places: Array) -> BoolArray:
    """Where a function of x and y is true at places (n, 2), asked once with arrays.

    Raises
    ------
    InputError
        If it fails, or gives anything else than one truth value a point.
    """
    try:
        found = np.asarray(function(places[:, 0], places[:, 1]))
    except Exception as error:
        raise InputError(
            f'The function for "{name}" failed ({type(error).__name__}: {error}). It is called once, with arrays of '
            "all x and all y; join conditions with & and |, as in lambda x, y: (x < 10) & (y == 0).",
            key=f"places.{name}",
        ) from error
    if found.dtype != bool or found.shape != (len(places),):
        raise InputError(
            f'The function for "{name}" gave {found.dtype} of shape {found.shape}; it should tell true or false for '
            f"each of the {len(places)} points, as lambda x, y: x < 10 does.",
            key=f"places.{name}",
        )
    return found
