"""Stress along the grain near the surface: means over 5 mm along the inward normal from every edge.

A mean is taken because peaks tell too little: round a hole they are very narrow, at a sharp corner unlimited. At a
place where the stress has no limit the mean is over 5 mm of surface as well, since next to it even that of one line
settles only as the square root of the elements' size. The lengths are our own choice.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..fem.boundary import boundary_sides
from ..fem.elements import side_shape
from ..fem.solution import Solution

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

DEPTH = 5.0  # mm, own choice


def _graded() -> tuple[Array, Array]:
    """Depths (9,) over the length and weights: Gauss's rule in t, depth = t^2, and the far end, which counts nothing.

    A stress that grows without limit towards the surface, as r^(-1/2) at a sharp corner, is integrated as well as a
    polynomial; a rule with a sample at the surface would follow the peak.
    """
    x, w = np.polynomial.legendre.leggauss(8)
    t = 0.5 * (x + 1.0)
    return np.append(t * t, 1.0), np.append(w * t, 0.0)


RELATIVE_DEPTH, WEIGHTS = _graded()
_ALONG_SIDE = np.array([0.25, 0.75])


@dataclass(frozen=True)
class EdgeProbes:
    """Short lines into the wood from points of the boundary, those that leave the wood left out.

    Attributes
    ----------
    points : (k, 2) array
        Where they start, mm.
    element, reference : (k, 9), (k, 9, 2) arrays
        Where their samples lie in the mesh.
    width : (k,) array
        Length of surface that each stands for, mm.
    """

    points: Array
    element: IntArray
    reference: Array
    width: Array

    def together(self, places: Array) -> list[IntArray]:
        """Lines that count as one, those within 2.5 mm of each of the points (p, 2) where stress has no limit."""
        away = np.linalg.norm(self.points[None] - places.reshape(-1, 1, 2), axis=2)
        return [np.flatnonzero(row <= DEPTH / 2) for row in away if (row <= DEPTH / 2).any()]

    def share(self, lines: IntArray) -> Array:
        """Weight of each of some lines that count as one, shape (k,)."""
        return np.asarray(self.width[lines] / self.width[lines].sum())

    def means(self, solution: Solution, stress: Array, places: Array) -> Array:
        """Mean of σ_0 over each line, MPa, shape (k,); near `places` (p, 2) over all lines there.

        `stress` (m, 3) in grain axes at the stress points.
        """
        single = self._single(solution, stress)
        result = single.copy()
        for lines in self.together(places):
            result[lines] = self.share(lines) @ single[lines]
        return result

    def _single(self, solution: Solution, stress: Array) -> Array:
        flat = solution.sampler.evaluate(
            stress[:, :1], self.element.reshape(-1), self.reference.reshape(-1, 2), solution.stress_cells
        )
        return np.asarray(flat.reshape(self.element.shape) @ WEIGHTS)


def edge_probes(solution: Solution) -> EdgeProbes:
    """Probes from two points of every boundary side of a solved part."""
    model = solution.model
    sides = boundary_sides(model.cells)
    corner = model.mesh.points[sides]
    start = np.einsum("qa,kai->kqi", side_shape(_ALONG_SIDE), corner).reshape(-1, 2)
    slopes = np.stack([4 * _ALONG_SIDE - 3, 4 * _ALONG_SIDE - 1, 4 - 8 * _ALONG_SIDE], axis=1)
    tangent = np.einsum("qa,kai->kqi", slopes, corner).reshape(-1, 2)
    inward = np.stack([-tangent[:, 1], tangent[:, 0]], axis=1) / np.linalg.norm(tangent, axis=1, keepdims=True)
    depth = DEPTH * RELATIVE_DEPTH
    query = start[:, None, :] + depth[:, None] * inward[:, None, :]
    element, reference = solution.sampler.locate(query.reshape(-1, 2))
    element, reference = element.reshape(query.shape[:2]), reference.reshape(query.shape)
    inside = (element >= 0).all(axis=1)
    width = np.linalg.norm(tangent, axis=1) / len(_ALONG_SIDE)  # the tangent is the slope by a coordinate from 0 to 1
    return EdgeProbes(start[inside], element[inside], reference[inside], width[inside])
