"""From displacement to stress at the stress points.

Strains are most accurate at an element's inner Gauss points: they are carried to its nodes by the polynomial that fits
them, and averaged over the elements that meet at a node within one region.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .elements import TRIANGLE6, Element
from .stiffness import CHUNK, jacobian

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


def element_strain(
    points: Array, cells: IntArray, displacement: Array, at: Array, element: Element = TRIANGLE6
) -> Array:
    """Strain (x, y, xy with engineering shear) at reference points of all elements.

    Parameters
    ----------
    points : (n, 2) array
    cells : (e, a) array
    displacement : (c, n, 2) array
        One or several cases.
    at : (q, 2) array
        Reference coordinates.
    element : Element

    Returns
    -------
    (e, q, c, 3) array
        Axes: element, point, case, component.
    """
    gradients = element.gradients(at)
    moved = np.ascontiguousarray(displacement.transpose(1, 2, 0))  # (n, i, c)
    strain = np.empty((len(cells), len(at), len(displacement), 3))
    for start in range(0, len(cells), CHUNK):
        part = slice(start, start + CHUNK)
        corner, local = points[cells[part]], moved[cells[part]].reshape(-1, element.nodes, 2 * len(displacement))
        for q, slope in enumerate(gradients):
            inverse, _ = jacobian(corner, slope)
            in_reference = np.matmul(slope.T, local)  # du_i/dξ_k: (e, k, ic)
            gradient = np.matmul(inverse.transpose(0, 2, 1), in_reference).reshape(-1, 2, 2, len(displacement))
            strain[part, q, :, 0] = gradient[:, 0, 0]
            strain[part, q, :, 1] = gradient[:, 1, 1]
            strain[part, q, :, 2] = gradient[:, 1, 0] + gradient[:, 0, 1]
    return strain


def gauss_strain(points: Array, cells: IntArray, displacement: Array, element: Element = TRIANGLE6) -> Array:
    """Strain at the points of each element where it is most accurate; shape (e, q, c, 3)."""
    return element_strain(points, cells, displacement, element.stress_points, element)


def nodal_mean(values: list[Array], cells: list[IntArray], count: int) -> Array:
    """Mean over the elements that meet at a point.

    Parameters
    ----------
    values : list of (e, a, s) arrays
        Values at each element's own nodes, by block of cells.
    cells : list of (e, a) arrays
        Numbers of the points they belong to.
    count : int
        Number of points.

    Returns
    -------
    (count, s) array
    """
    flat = np.concatenate([block.reshape(-1) for block in cells])
    columns = np.concatenate([block.reshape(-1, block.shape[-1]) for block in values])
    weight = np.maximum(np.bincount(flat, minlength=count), 1)
    total = np.empty((count, columns.shape[1]))
    for s in range(columns.shape[1]):
        total[:, s] = np.bincount(flat, columns[:, s], minlength=count) / weight
    return total
