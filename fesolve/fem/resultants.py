"""Axial force, shear and moment through a cut, from the forces that its elements pass on."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from .elements import Element
from .solution import Solution
from .stiffness import element_stiffness

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

ON = 1e-9  # of the mesh's size: a node so near to the cut lies on it


class Resultants(NamedTuple):
    """What the wood passes on through a cut from a to b: N and V in N, M in N mm.

    N is tension positive. V is the force towards b that the wood on the right of a → b puts on the wood on its left.
    M is about the middle of the cut area; it is positive where it stretches the end b.
    """

    N: float
    V: float
    M: float


def resultants(solution: Solution, cut: Array) -> Resultants:
    """What the elements that a straight cut meets pass on from the nodes on its right to those on its left.

    Parameters
    ----------
    solution : Solution
        Of one case.
    cut : (2, 2) array
        a and b, mm. It should lead from edge to edge: an element counts if the middle of its share lies between them.

    Raises
    ------
    InputError
        If both points are one, or no wood lies between them.

    Notes
    -----
    The forces K_e u_e at the right nodes of the elements met add up to all that acts on the right: the sum balances the
    loads to rounding however coarse the mesh is. What acts on the elements met themselves counts by its nodes.

    References
    ----------
    Elements balance at their nodes: Zienkiewicz and Taylor, The Finite Element Method, vol. 1 (internal forces).
    """
    way = cut[1] - cut[0]
    length = float(np.linalg.norm(way))
    if not (np.isfinite(cut).all() and length > 0.0):
        raise InputError(f"The cut goes from {_text(cut[0])} to {_text(cut[1])}; give two different points.")
    along = way / length
    axis = np.array([along[1], -along[0]])  # to the right of the cut: what lies there pulls with N
    force, moment, area, first = np.zeros(2), 0.0, 0.0, 0.0
    model, tolerance = solution.model, ON * solution.model.mesh.size
    for element, cells, place in model.blocks:
        met, span = _met(model.mesh.points, cells, element, cut[0], along, tolerance)
        keep = (span.mean(axis=1) >= -tolerance) & (span.mean(axis=1) <= length + tolerance)
        met, span = met[keep], span[keep]
        numbers = place.start + met
        thickness, stiffness = model.cell_thickness[numbers], model.cell_stiffness[numbers]
        K = element_stiffness(model.mesh.points, cells[met], stiffness, thickness, element)
        u = solution.displacement[cells[met]].reshape(len(met), 2 * element.nodes)
        given = np.einsum("eab,eb->ea", K, u).reshape(len(met), element.nodes, 2)
        arm = model.mesh.points[cells[met]] - cut[0]
        given = np.where((arm @ axis > tolerance)[..., None], given, 0.0)
        force += given.sum(axis=(0, 1))
        moment += float((arm[..., 0] * given[..., 1] - arm[..., 1] * given[..., 0]).sum())
        share = thickness * np.diff(span, axis=1)[:, 0]
        area, first = area + float(share.sum()), first + float(share @ span.mean(axis=1))
    if area == 0.0:
        raise InputError(f"The cut from {_text(cut[0])} to {_text(cut[1])} meets no wood; move it on to the part.")
    N, V = float(force @ axis), float(force @ along)
    return Resultants(N, V, -moment - first / area * N)


def _met(
    points: Array, cells: IntArray, element: Element, origin: Array, along: Array, tolerance: float
) -> tuple[IntArray, Array]:
    """Elements with nodes on both sides of a line, (k,), and from where to where they lie on it, (k, 2) mm."""
    arm = points[cells] - origin
    right = arm @ np.array([along[1], -along[0]])
    met = np.flatnonzero((right > tolerance).any(axis=1) & (right <= tolerance).any(axis=1))
    beside, ahead = right[met, : element.corners], (arm @ along)[met, : element.corners]
    then, there = np.roll(beside, -1, axis=1), np.roll(ahead, -1, axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        place = ahead + beside / (beside - then) * (there - ahead)
    crossed = (beside > tolerance) != (then > tolerance)
    low, high = np.where(crossed, place, np.inf).min(axis=1), np.where(crossed, place, -np.inf).max(axis=1)
    real = np.isfinite(low)  # else it is met by a bulging side alone
    return met[real], np.column_stack([low, high])[real]


def _text(point: Array) -> str:
    return f"({point[0]:.6g}, {point[1]:.6g}) mm"
