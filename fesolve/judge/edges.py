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
from .zones import Zone

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

DEPTH = 5.0  # mm, own choice
OFF = 1e-4  # mm: a border nearer than this is the one that a probe starts on


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
    region : (k,) array
        Number of the region that each lies in.
    tangent : (k, 2) array
        Unit vector along the surface there.
    """

    points: Array
    element: IntArray
    reference: Array
    width: Array
    region: IntArray
    tangent: Array

    def together(self, places: Array) -> list[IntArray]:
        """Lines of one region that count as one: within 2.5 mm of each of the points (p, 2) without a limit."""
        away = np.linalg.norm(self.points[None] - places.reshape(-1, 1, 2), axis=2)
        near = [np.flatnonzero(row <= DEPTH / 2) for row in away if (row <= DEPTH / 2).any()]
        return [lines[self.region[lines] == region] for lines in near for region in np.unique(self.region[lines])]

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


def edge_probes(solution: Solution, zone: Zone | None = None, borders: Array | None = None) -> EdgeProbes:
    """Probes from two points of every boundary side of a solved part, or of every region of a zone.

    Parameters
    ----------
    solution : Solution
    zone : Zone, optional
        Without it the whole part, as one region.
    borders : (s, 2, 2) array, optional
        Ends of the lines between regions, mm: a probe goes no further than to the next one.
    """
    cells = [np.arange(solution.model.count)] if zone is None else list(zone.cells.values())
    lines = np.empty((0, 2, 2)) if borders is None else borders
    found = [_probes(solution, mine, number, lines) for number, mine in enumerate(cells)]
    if len(found) == 1:
        return found[0]
    names = ("points", "element", "reference", "width", "region", "tangent")
    return EdgeProbes(*(np.concatenate([getattr(one, name) for one in found]) for name in names))


def _probes(solution: Solution, cells: IntArray, number: int, borders: Array) -> EdgeProbes:
    """Probes from the sides of some elements (k,), which are one region."""
    model = solution.model
    corner = model.mesh.points[boundary_sides(model.cells[cells])]
    start = np.einsum("qa,kai->kqi", side_shape(_ALONG_SIDE), corner).reshape(-1, 2)
    slopes = np.stack([4 * _ALONG_SIDE - 3, 4 * _ALONG_SIDE - 1, 4 - 8 * _ALONG_SIDE], axis=1)
    tangent = np.einsum("qa,kai->kqi", slopes, corner).reshape(-1, 2)
    inward = np.stack([-tangent[:, 1], tangent[:, 0]], axis=1) / np.linalg.norm(tangent, axis=1, keepdims=True)
    depth = np.minimum(DEPTH, _first_border(start, inward, borders))[:, None] * RELATIVE_DEPTH
    query = start[:, None, :] + depth[:, :, None] * inward[:, None, :]
    element, reference = solution.sampler.locate(query.reshape(-1, 2))
    element, reference = element.reshape(query.shape[:2]), reference.reshape(query.shape)
    inside = (element >= 0).all(axis=1)
    width = np.linalg.norm(tangent, axis=1) / len(_ALONG_SIDE)  # the tangent is the slope by a coordinate from 0 to 1
    region = np.full(int(inside.sum()), number)
    unit = np.stack([inward[:, 1], -inward[:, 0]], axis=1)
    return EdgeProbes(start[inside], element[inside], reference[inside], width[inside], region, unit[inside])


def _first_border(start: Array, direction: Array, borders: Array) -> Array:
    """Distance (k,) from points (k, 2) along unit directions (k, 2) to the first of some lines (s, 2, 2); else inf."""
    best = np.full(len(start), np.inf)
    for first, last in borders:
        along = last - first
        across = direction[:, 0] * along[1] - direction[:, 1] * along[0]
        gap = first - start
        with np.errstate(divide="ignore", invalid="ignore"):
            away = (gap[:, 0] * along[1] - gap[:, 1] * along[0]) / across
            share = (gap[:, 0] * direction[:, 1] - gap[:, 1] * direction[:, 0]) / across
        hit = (away > OFF) & (share >= -1e-9) & (share <= 1 + 1e-9)
        best = np.where(hit, np.minimum(best, away), best)
    return best
