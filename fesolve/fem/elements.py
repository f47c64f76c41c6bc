"""The elements: one table of shape functions, quadrature and sides.

Three- and six-node triangles, four- and eight-node quadrilaterals.
Triangles live on (0,0), (1,0), (0,1), quadrilaterals on the square -1..1, coordinates ξ, η. Corners come first,
counter-clockwise, then the middles of the sides in the same order. Index letters: `e` element, `a b` local node,
`q` quadrature point, `k l` reference direction, `i j` x/y component.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
Rule = tuple[Array, Array]


@dataclass(frozen=True)
class Element:
    """One kind of element.

    Attributes
    ----------
    name : str
        As meshio spells it.
    corners, nodes : int
        Number of corners, and of all nodes.
    order : int
        1 for straight displacement along sides, 2 for quadratic.
    places : (a, 2) array
        Reference coordinates of the nodes.
    shape : callable
        Points (q, 2) to values N_a, (q, a).
    gradients : callable
        Points (q, 2) to dN_a/dξ_k, (q, a, 2).
    rule : (points, weights)
        Quadrature for the stiffness of distorted or curved elements.
    exact : (points, weights)
        Quadrature that integrates dN_a/dξ_k dN_b/dξ_l exactly.
    stress_points : (q, 2) array
        Where strain is most accurate.
    """

    name: str
    corners: int
    nodes: int
    order: int
    places: Array
    shape: Callable[[Array], Array]
    gradients: Callable[[Array], Array]
    rule: Rule
    exact: Rule
    stress_points: Array

    @functools.cached_property
    def sides(self) -> IntArray:
        """Local nodes of the sides: end, end and, on quadratic elements, middle; shape (corners, 2 or 3)."""
        first = np.arange(self.corners)
        columns = [first, (first + 1) % self.corners]
        return np.column_stack([*columns, first + self.corners] if self.order == 2 else columns)

    @functools.cached_property
    def pairs(self) -> tuple[IntArray, IntArray]:
        """Local node pairs a >= b of the lower triangle."""
        one, two = np.tril_indices(self.nodes)
        return one.astype(np.int64), two.astype(np.int64)

    @functools.cached_property
    def integrals(self) -> Array:
        """∫ dN_a/dξ_k dN_b/dξ_l over the reference element for the pairs a >= b, shape (pairs, 4), columns (k, l).

        The fixed factor of the stiffness of every element whose map is affine.
        """
        points, weights = self.exact
        gradients = self.gradients(points)
        whole = np.einsum("q,qak,qbl->abkl", weights, gradients, gradients)
        return np.asarray(whole[self.pairs].reshape(-1, 4))

    @functools.cached_property
    def extrapolation(self) -> Array:
        """Matrix (a, q) that carries values at the stress points to the nodes by the polynomial that fits them."""
        basis = {1: _constant, 3: _linear, 4: _bilinear}[len(self.stress_points)]
        return np.asarray(basis(self.places) @ np.linalg.inv(basis(self.stress_points)))

    def depth(self, points: Array) -> Array:
        """How deep points (k, 2) lie inside: least distance to a side in reference coordinates, negative outside."""
        x, y = points[:, 0], points[:, 1]
        if self.corners == 3:
            return np.minimum(np.minimum(x, y), 1.0 - x - y)
        return np.asarray(1.0 - np.maximum(np.abs(x), np.abs(y)))


def _constant(points: Array) -> Array:
    return np.ones((len(points), 1))


def _linear(points: Array) -> Array:
    return np.column_stack([np.ones(len(points)), points])


def _bilinear(points: Array) -> Array:
    return np.column_stack([np.ones(len(points)), points, points[:, 0] * points[:, 1]])


# ---- shape functions (Zienkiewicz and Taylor, The Finite Element Method, vol. 1)


def _triangle3(points: Array) -> Array:
    x, y = points[:, 0], points[:, 1]
    return np.stack([1.0 - x - y, x, y], axis=1)


def _triangle3_slopes(points: Array) -> Array:
    return np.broadcast_to(np.array([[-1.0, -1.0], [1.0, 0.0], [0.0, 1.0]]), (len(points), 3, 2)).copy()


def _triangle6(points: Array) -> Array:
    x, y = points[:, 0], points[:, 1]
    z = 1.0 - x - y
    return np.stack([z * (2 * z - 1), x * (2 * x - 1), y * (2 * y - 1), 4 * z * x, 4 * x * y, 4 * y * z], axis=1)


def _triangle6_slopes(points: Array) -> Array:
    x, y = points[:, 0], points[:, 1]
    z = 1.0 - x - y
    zero = np.zeros_like(x)
    along_x = [1 - 4 * z, 4 * x - 1, zero, 4 * (z - x), 4 * y, -4 * y]
    along_y = [1 - 4 * z, zero, 4 * y - 1, -4 * x, 4 * x, 4 * (z - y)]
    return np.stack([np.stack(along_x, axis=1), np.stack(along_y, axis=1)], axis=2)


_SQUARE = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])


def _quad4(points: Array) -> Array:
    x, y = points[:, :1], points[:, 1:]
    return np.asarray(0.25 * (1 + x * _SQUARE[:, 0]) * (1 + y * _SQUARE[:, 1]))


def _quad4_slopes(points: Array) -> Array:
    x, y = points[:, :1], points[:, 1:]
    u, v = _SQUARE.T
    return np.stack([0.25 * u * (1 + y * v), 0.25 * v * (1 + x * u)], axis=2)


def _quad8(points: Array) -> Array:
    x, y = points[:, :1], points[:, 1:]
    u, v = _SQUARE.T
    corner = 0.25 * (1 + x * u) * (1 + y * v) * (x * u + y * v - 1)
    middle = [
        0.5 * (1 - x * x) * (1 - y), 0.5 * (1 - y * y) * (1 + x),
        0.5 * (1 - x * x) * (1 + y), 0.5 * (1 - y * y) * (1 - x),
    ]  # fmt: skip
    return np.concatenate([corner, *middle], axis=1)


def _quad8_slopes(points: Array) -> Array:
    x, y = points[:, :1], points[:, 1:]
    u, v = _SQUARE.T
    along_x = [0.25 * u * (1 + y * v) * (2 * x * u + y * v)]
    along_x += [-x * (1 - y), 0.5 * (1 - y * y), -x * (1 + y), -0.5 * (1 - y * y)]
    along_y = [0.25 * v * (1 + x * u) * (x * u + 2 * y * v)]
    along_y += [-0.5 * (1 - x * x), -y * (1 + x), 0.5 * (1 - x * x), -y * (1 - x)]
    return np.stack([np.concatenate(along_x, axis=1), np.concatenate(along_y, axis=1)], axis=2)


# ---- quadrature


def _orbit(weight: float, a: float) -> list[tuple[float, float, float]]:
    return [(weight, a, a), (weight, 1 - 2 * a, a), (weight, a, 1 - 2 * a)]


@functools.cache
def triangle_rule(degree: int) -> Rule:
    """Quadrature on the reference triangle (area 1/2), exact for polynomials up to `degree` (1, 2, 4 or 6).

    Returns
    -------
    points : (q, 2) array
    weights : (q,) array, summing to 1/2

    References
    ----------
    D. A. Dunavant, High degree efficient symmetrical Gaussian quadrature rules for the triangle, Int. J. Numer.
    Meth. Eng. 21 (1985) 1129-1148 (rules of 3, 6 and 12 points; digits from memory, checked by exact integrals).
    """
    if degree <= 1:
        rows = [(1.0, 1 / 3, 1 / 3)]
    elif degree <= 2:
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
def square_rule(count: int) -> Rule:
    """Gauss quadrature with `count` points each way on the square -1..1: points (q, 2), weights (q,) summing to 4."""
    x, w = np.polynomial.legendre.leggauss(count)
    grid = np.stack(np.meshgrid(x, x, indexing="ij"), axis=-1).reshape(-1, 2)
    return grid, np.outer(w, w).reshape(-1)


_TRIANGLE = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])


def _with_middles(corners: Array) -> Array:
    return np.concatenate([corners, 0.5 * (corners + np.roll(corners, -1, axis=0))])


TRIANGLE3 = Element(
    "triangle", 3, 3, 1, _TRIANGLE, _triangle3, _triangle3_slopes,
    triangle_rule(1), triangle_rule(1), triangle_rule(1)[0],
)  # fmt: skip
TRIANGLE6 = Element(
    "triangle6", 3, 6, 2, _with_middles(_TRIANGLE), _triangle6, _triangle6_slopes,
    triangle_rule(6), triangle_rule(2), triangle_rule(2)[0],
)  # fmt: skip
QUAD4 = Element(
    "quad", 4, 4, 1, _SQUARE, _quad4, _quad4_slopes, square_rule(2), square_rule(2), square_rule(2)[0]
)  # fmt: skip
QUAD8 = Element(
    "quad8", 4, 8, 2, _with_middles(_SQUARE), _quad8, _quad8_slopes, square_rule(3), square_rule(3), square_rule(2)[0]
)  # fmt: skip

ELEMENTS = MappingProxyType({element.name: element for element in (TRIANGLE3, TRIANGLE6, QUAD4, QUAD8)})


# ---- sides


@functools.cache
def side_rule(nodes: int = 3) -> tuple[Array, Array, Array, Array]:
    """Three Gauss points on a side of two nodes (ends) or three (ends, middle), s from 0 to 1.

    Returns
    -------
    s : (3,) array
    weights : (3,) array, summing to 1
    values : (3, nodes) array
        Shape functions: point, node.
    slopes : (3, nodes) array
        Their derivatives along s.
    """
    x, w = np.polynomial.legendre.leggauss(3)
    s, weights = (x + 1) / 2, w / 2
    if nodes == 2:
        return s, weights, np.stack([1 - s, s], axis=1), np.tile([-1.0, 1.0], (3, 1))
    return s, weights, side_shape(s), np.stack([4 * s - 3, 4 * s - 1, 4 - 8 * s], axis=1)


def side_shape(s: Array) -> Array:
    """Shape functions of a three-node side (end, end, middle) at s in 0..1; shape (len(s), 3)."""
    values: Array = np.stack([(1 - s) * (1 - 2 * s), s * (2 * s - 1), 4 * s * (1 - s)], axis=1)
    return values
