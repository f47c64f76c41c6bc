"""Quadrature over the wood, for integrals of stress over its volume."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..fem.elements import TRIANGLE6, triangle_rule
from ..fem.solution import Solution

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

DEGREE = 6


@dataclass(frozen=True)
class Samples:
    """Quadrature over the elements of a zone.

    Attributes
    ----------
    shape : (q, a) array
        Shape functions of all elements.
    cells : (e, a) array
        Stress points of each element.
    points : (e, q, 2) array
        mm.
    volume : (e, q) array
        That each stands for, mm^3.
    """

    shape: Array
    cells: IntArray
    points: Array
    volume: Array

    @classmethod
    def of(cls, solution: Solution, elements: IntArray | None = None) -> Samples:
        """Samples in some of the elements of a solved part; without any, in all."""
        model = solution.model
        chosen = np.arange(model.count) if elements is None else elements
        corner = model.mesh.points[model.cells[chosen]]
        places, weights = triangle_rule(DEGREE)
        shape, slopes = TRIANGLE6.shape(places), TRIANGLE6.gradients(places)
        way = np.einsum("qak,eai->eqik", slopes, corner, optimize=True)
        area = np.abs(way[..., 0, 0] * way[..., 1, 1] - way[..., 0, 1] * way[..., 1, 0]) * weights
        points = np.einsum("qa,eai->eqi", shape, corner, optimize=True)
        return cls(shape, solution.stress_cells[chosen], points, area * model.cell_thickness[chosen, None])

    def at(self, values: Array) -> Array:
        """Values (m,) at the stress points, at the samples (e, q)."""
        return np.asarray(values[self.cells] @ self.shape.T)

    def near(self, places: Array, reach: float) -> BoolArray:
        """Which samples (e, q) lie within `reach` (mm) of any of the places (p, 2)."""
        found = np.zeros(self.volume.shape, dtype=bool)
        low, high = self.points.min(axis=1), self.points.max(axis=1)
        for place in places:
            close = np.flatnonzero(((low <= place + reach) & (high >= place - reach)).all(axis=1))
            found[close] |= np.linalg.norm(self.points[close] - place, axis=2) <= reach
        return found
