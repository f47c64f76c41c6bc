"""From displacement to stress at the stress points.

Strains are most accurate at an element's inner Gauss points: they are carried to its nodes by the polynomial that fits
them, and averaged over the elements that meet at a node within one region.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .elements import TRIANGLE6, Element
from .stiffness import CHUNK

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
    slopes = element.gradients(at).transpose(0, 2, 1).reshape(-1, element.nodes)  # (qk, a)
    cases = len(displacement)
    fields = np.concatenate([points, displacement.transpose(1, 0, 2).reshape(len(points), -1)], axis=1)
    strain = np.empty((len(cells), len(at), cases, 3))
    for start in range(0, len(cells), CHUNK):
        part = cells[start : start + CHUNK]
        local = fields[part.T].reshape(element.nodes, -1)
        by_reference = (slopes @ local).reshape(len(at), 2, len(part), -1)  # d(x, y, u)/dξ_k at (q, k, e)
        (x_1, x_2), (y_1, y_2), *u = np.ascontiguousarray(by_reference.transpose(3, 1, 0, 2))
        scale = 1.0 / (x_1 * y_2 - x_2 * y_1)
        for case in range(cases):
            (u_1, u_2), (v_1, v_2) = u[2 * case : 2 * case + 2]
            own = strain[start : start + CHUNK, :, case]
            own[..., 0] = ((u_1 * y_2 - u_2 * y_1) * scale).T
            own[..., 1] = ((v_2 * x_1 - v_1 * x_2) * scale).T
            own[..., 2] = ((u_2 * x_1 - u_1 * x_2 + v_1 * y_2 - v_2 * y_1) * scale).T
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
