"""Stress along the grain near the surface: means over 5 mm along the inward normal from every edge.

A mean is taken because peaks tell too little: round a hole they are very narrow, at a sharp corner unlimited. The
length of 5 mm is our own choice.
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
SIMPSON = np.array([1, 4, 2, 4, 2, 4, 2, 4, 1]) / 24.0
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
    """

    points: Array
    element: IntArray
    reference: Array

    def means(self, solution: Solution, stress: Array) -> Array:
        """Mean of σ_0 over each line, MPa, shape (k,); `stress` (m, 3) in grain axes at the stress points."""
        flat = solution.sampler.evaluate(
            stress[:, :1], self.element.reshape(-1), self.reference.reshape(-1, 2), solution.stress_cells
        )
        return np.asarray(flat.reshape(self.element.shape) @ SIMPSON)


def edge_probes(solution: Solution) -> EdgeProbes:
    """Probes from two points of every boundary side of a solved part."""
    model = solution.model
    sides = boundary_sides(model.cells)
    corner = model.mesh.points[sides]
    start = np.einsum("qa,kai->kqi", side_shape(_ALONG_SIDE), corner).reshape(-1, 2)
    slopes = np.stack([4 * _ALONG_SIDE - 3, 4 * _ALONG_SIDE - 1, 4 - 8 * _ALONG_SIDE], axis=1)
    tangent = np.einsum("qa,kai->kqi", slopes, corner).reshape(-1, 2)
    inward = np.stack([-tangent[:, 1], tangent[:, 0]], axis=1) / np.linalg.norm(tangent, axis=1, keepdims=True)
    depth = np.linspace(0.0, DEPTH, len(SIMPSON))
    depth[0] = 1e-6
    query = start[:, None, :] + depth[:, None] * inward[:, None, :]
    element, reference = solution.sampler.locate(query.reshape(-1, 2))
    element, reference = element.reshape(query.shape[:2]), reference.reshape(query.shape)
    inside = (element >= 0).all(axis=1)
    return EdgeProbes(start[inside], element[inside], reference[inside])
