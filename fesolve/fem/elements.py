"""The six-node triangle: shape functions, quadrature, and its reference integrals.

Reference triangle (0,0), (1,0), (0,1) with coordinates ξ, η; nodes are the corners, then the middles of
sides 0-1, 1-2, 2-0. Index letters: `e` element, `a b` local node, `q` quadrature point, `k l` reference
direction, `i j` x/y component.
"""

from __future__ import annotations

import functools

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def shape_functions(points: Array) -> Array:
    """Values N_a of the six shape functions.

    Parameters
    ----------
    points : (q, 2) array
        Reference coordinates.

    Returns
    -------
    (q, 6) array

    References
    ----------
    O. C. Zienkiewicz, R. L. Taylor, The Finite Element Method, vol. 1, quadratic triangle in area coordinates.

    Examples
    --------
    >>> shape_functions(np.array([[1 / 3, 1 / 3]])).round(4)
    array([[-0.1111, -0.1111, -0.1111,  0.4444,  0.4444,  0.4444]])
    """
    x, y = points[:, 0], points[:, 1]
    z = 1.0 - x - y
    return np.stack([z * (2 * z - 1), x * (2 * x - 1), y * (2 * y - 1), 4 * z * x, 4 * x * y, 4 * y * z], axis=1)


def shape_gradients(points: Array) -> Array:
    """Derivatives dN_a/dξ_k at reference points.

    Parameters
    ----------
    points : (q, 2) array
        Reference coordinates.

    Returns
    -------
    (q, 6, 2) array
        Axes: point, node, reference direction.
    """
    x, y = points[:, 0], points[:, 1]
    z = 1.0 - x - y
    zero = np.zeros_like(x)
    along_x = [1 - 4 * z, 4 * x - 1, zero, 4 * (z - x), 4 * y, -4 * y]
    along_y = [1 - 4 * z, zero, 4 * y - 1, -4 * x, 4 * x, 4 * (z - y)]
    return np.stack([np.stack(along_x, axis=1), np.stack(along_y, axis=1)], axis=2)


def _orbit(weight: float, a: float) -> list[tuple[float, float, float]]:
    return [(weight, a, a), (weight, 1 - 2 * a, a), (weight, a, 1 - 2 * a)]


@functools.cache
def triangle_rule(degree: int) -> tuple[Array, Array]:
    """Quadrature on the reference triangle (area 1/2), exact for polynomials up to `degree` (2, 4 or 6).

    Returns
    -------
    points : (q, 2) array
    weights : (q,) array, summing to 1/2

    References
    ----------
    D. A. Dunavant, High degree efficient symmetrical Gaussian quadrature rules for the triangle, Int. J. Numer.
    Meth. Eng. 21 (1985) 1129-1148 (rules of 3, 6 and 12 points; digits from memory, checked by exact integrals).
    """
    if degree <= 2:
        rows = _orbit(1 / 3, 1 / 6)
    elif degree <= 4:
        rows = _orbit(0.223381589678011, 0.445948490915965) + _orbit(0.109951743655322, 0.091576213509771)
    else:
        a, b = 0.310352451033785, 0.053145049844816
        c = 1 - a - b
        rows = _orbit(0.116786275726379, 0.249286745170910) + _orbit(0.050844906370207, 0.063089014491502)
        rows += [(0.082851075618374, x, y) for x, y in ((a, b), (b, a), (a, c), (c, a), (b, c), (c, b))]
    table = np.array(rows)
    weights = table[:, 0] / table[:, 0].sum() / 2
    return np.ascontiguousarray(table[:, 1:]), weights


@functools.cache
def reference_integrals() -> Array:
    """∫ dN_a/dξ_k dN_b/dξ_l over the reference triangle, exact.

    Returns
    -------
    (36, 4) array
        Rows (a, b), columns (k, l): the fixed factor of every straight-sided element's stiffness.
    """
    points, weights = triangle_rule(2)
    gradients = shape_gradients(points)
    return np.asarray(np.einsum("q,qak,qbl->abkl", weights, gradients, gradients).reshape(36, 4))


@functools.cache
def side_rule() -> tuple[Array, Array, Array, Array]:
    """Three Gauss points on a three-node side (end, end, middle), s from 0 to 1.

    Returns
    -------
    s : (3,) array
    weights : (3,) array, summing to 1
    values : (3, 3) array
        Shape functions: point, node.
    slopes : (3, 3) array
        Their derivatives along s.
    """
    x, w = np.polynomial.legendre.leggauss(3)
    s, weights = (x + 1) / 2, w / 2
    return s, weights, side_shape(s), np.stack([4 * s - 3, 4 * s - 1, 4 - 8 * s], axis=1)


def side_shape(s: Array) -> Array:
    """Shape functions of a three-node side (end, end, middle) at s in 0..1; shape (len(s), 3)."""
    values: Array = np.stack([(1 - s) * (1 - 2 * s), s * (2 * s - 1), 4 * s * (1 - s)], axis=1)
    return values
