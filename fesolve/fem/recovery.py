"""From displacement to stress at the stress points.

Strains of a quadratic triangle are most accurate at its inner Gauss points: they are fitted linearly there, carried
to the nodes, and averaged over the elements that meet at a node within one region.
"""

from __future__ import annotations

import functools

import numpy as np
from numpy.typing import NDArray

from .elements import shape_gradients, triangle_rule
from .stiffness import CHUNK, _jacobian

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


@functools.cache
def extrapolation() -> Array:
    """Matrix (6, 3) that carries values at the three inner Gauss points linearly to the six nodes."""
    points, _ = triangle_rule(2)
    nodes = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])
    fit = np.linalg.inv(np.column_stack([np.ones(3), points]))
    return np.asarray(np.column_stack([np.ones(6), nodes]) @ fit)


def gauss_strain(points: Array, cells: IntArray, displacement: Array) -> Array:
    """Strain (x, y, xy with engineering shear) at the three inner Gauss points.

    Parameters
    ----------
    points : (n, 2) array
    cells : (e, 6) array
    displacement : (c, n, 2) array
        One or several cases.

    Returns
    -------
    (e, 3, c, 3) array
        Axes: element, Gauss point, case, component.
    """
    reference, _ = triangle_rule(2)
    strain = np.empty((len(cells), 3, len(displacement), 3))
    for q, gradients in enumerate(shape_gradients(reference)):
        for start in range(0, len(cells), CHUNK):
            part = slice(start, start + CHUNK)
            inverse, _ = _jacobian(points[cells[part]], gradients)
            slopes = np.matmul(gradients, inverse)  # dN_a/dx_p, (e, a, p)
            gradient = np.einsum("eap,ceai->ecip", slopes, displacement[:, cells[part]], optimize=True)
            strain[part, q, :, 0] = gradient[..., 0, 0]
            strain[part, q, :, 1] = gradient[..., 1, 1]
            strain[part, q, :, 2] = gradient[..., 0, 1] + gradient[..., 1, 0]
    return strain


def nodal_mean(values: Array, cells: IntArray, count: int) -> Array:
    """Mean over the elements that meet at a point.

    Parameters
    ----------
    values : (e, 6, s) array
        Values at each element's own nodes.
    cells : (e, 6) array
        Numbers of the points they belong to.
    count : int
        Number of points.

    Returns
    -------
    (count, s) array
    """
    flat = cells.reshape(-1)
    weight = np.bincount(flat, minlength=count)
    columns = values.reshape(len(flat), -1)
    total = np.stack([np.bincount(flat, columns[:, s], minlength=count) for s in range(columns.shape[1])], axis=1)
    return np.asarray(total / np.maximum(weight, 1)[:, None])
