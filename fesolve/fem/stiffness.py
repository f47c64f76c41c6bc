"""Element stiffness: closed form where the element's map is affine, quadrature elsewhere.

K_ab,ij = t ∫ dN_a/dx_p C_pi,qj dN_b/dx_q dA. On a straight-sided triangle or a parallelogram the Jacobian is constant,
so the integral is the product of a geometry-and-material factor M_kl,ij (four by four numbers) with fixed reference
integrals. Blocks are made for the node pairs a >= b only: the rest is their transpose.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from .elements import TRIANGLE6, Element

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

CHUNK = 2000  # elements at a time: temporaries of about 2 MiB stay in the cache
# position in Voigt order (xx, yy, xy) of the tensor component (p, i)
_VOIGT = np.array([[0, 2], [2, 1]])


def is_affine(points: Array, cells: IntArray, element: Element = TRIANGLE6) -> BoolArray:
    """Which elements have a constant Jacobian: straight sides with their middles halfway, and parallelograms; (e,)."""
    corner = points[cells[:, : element.corners]]
    after = np.roll(corner, -1, axis=1)
    size = np.linalg.norm(after - corner, axis=2).max(axis=1)
    off = np.zeros(len(cells))
    if element.order == 2:
        offset = points[cells[:, element.corners :]] - 0.5 * (corner + after)
        off = np.linalg.norm(offset, axis=2).max(axis=1)
    if element.corners == 4:
        off = np.maximum(off, np.linalg.norm(corner[:, 0] - corner[:, 1] + corner[:, 2] - corner[:, 3], axis=1))
    return np.asarray(off <= 1e-9 * size)


def is_curved(points: Array, cells: IntArray, element: Element = TRIANGLE6) -> BoolArray:
    """Which elements need more than an affine map; shape (e,)."""
    return ~is_affine(points, cells, element)


def jacobian(coordinates: Array, gradients: Array) -> tuple[Array, Array]:
    """Inverse Jacobian dξ_k/dx_p (e, 2, 2) and its determinant (e,) at one reference point.

    Parameters
    ----------
    coordinates : (e, a, 2) array
    gradients : (a, 2) array
    """
    matrix = np.einsum("eai,ak->eik", coordinates, gradients, optimize=True)
    determinant = matrix[:, 0, 0] * matrix[:, 1, 1] - matrix[:, 0, 1] * matrix[:, 1, 0]
    inverse = np.empty_like(matrix)
    inverse[:, 0, 0], inverse[:, 1, 1] = matrix[:, 1, 1], matrix[:, 0, 0]
    inverse[:, 0, 1], inverse[:, 1, 0] = -matrix[:, 0, 1], -matrix[:, 1, 0]
    inverse /= determinant[:, None, None]
    return inverse, determinant


def _factor(inverse: Array, scale: Array, stiffness: Array) -> Array:
    """M_kl,ij = scale Σ_pq (dξ_k/dx_p) C_pi,qj (dξ_l/dx_q); shape (e, 4, 4), rows (k, l), columns (i, j)."""
    tensor = stiffness[..., _VOIGT[:, :, None, None], _VOIGT[None, None, :, :]]  # (e, p, i, q, j)
    half = np.matmul(inverse, tensor.reshape(len(tensor), 2, 8)).reshape(-1, 2, 2, 2, 2)  # (e, k, i, q, j)
    half = half.transpose(0, 1, 2, 4, 3).reshape(-1, 8, 2)  # (e, kij, q)
    full = np.matmul(half, inverse.transpose(0, 2, 1)).reshape(-1, 2, 2, 2, 2)  # (e, k, i, j, l)
    return np.asarray(full.transpose(0, 1, 4, 2, 3) * scale[:, None, None, None, None]).reshape(-1, 4, 4)


def _affine(element: Element, coordinates: Array, stiffness: Array, thickness: Array) -> Array:
    gradients = element.gradients(element.places.mean(axis=0)[None])[0]
    inverse, determinant = jacobian(coordinates, gradients)
    factor = _factor(inverse, determinant * thickness, stiffness)
    return np.asarray(np.matmul(element.integrals, factor))


def _mapped(element: Element, coordinates: Array, stiffness: Array, thickness: Array) -> Array:
    points, weights = element.rule
    one, two = element.pairs
    total = np.zeros((len(coordinates), len(one), 4))
    for gradients, weight in zip(element.gradients(points), weights, strict=True):
        inverse, determinant = jacobian(coordinates, gradients)
        factor = _factor(inverse, determinant * thickness * weight, stiffness)
        outer = np.einsum("pk,pl->pkl", gradients[one], gradients[two]).reshape(-1, 4)
        total += np.matmul(outer, factor)
    return total


def pair_blocks(
    points: Array, cells: IntArray, stiffness: Array, thickness: Array, element: Element = TRIANGLE6
) -> Iterator[tuple[IntArray, Array]]:
    """Stiffness blocks of elements, a chunk at a time.

    Parameters
    ----------
    points : (n, 2) array
        Coordinates, mm.
    cells : (e, a) array
        Node numbers.
    stiffness : (e, 3, 3) array
        Reduced stiffness in x, y, MPa, Voigt order (x, y, xy).
    thickness : (e,) array
        mm.
    element : Element

    Yields
    ------
    which : (c,) array
        The elements of the chunk.
    blocks : (c, p, 2, 2) array
        K_ab of the element's node pairs a >= b, N/mm; rows the component at a, columns that at b.
    """
    affine = is_affine(points, cells, element)
    for mask, build in ((affine, _affine), (~affine, _mapped)):
        chosen = np.flatnonzero(mask)
        for start in range(0, len(chosen), CHUNK):
            part = chosen[start : start + CHUNK]
            blocks = build(element, points[cells[part]], stiffness[part], thickness[part])
            yield part, blocks.reshape(len(part), -1, 2, 2)


def element_stiffness(
    points: Array, cells: IntArray, stiffness: Array, thickness: Array, element: Element = TRIANGLE6
) -> Array:
    """Whole stiffness matrices of elements in plane stress.

    Parameters
    ----------
    points, cells, stiffness, thickness, element
        As for `pair_blocks`.

    Returns
    -------
    (e, 2a, 2a) array
        N/mm; unknowns ordered x, y of node 0, x, y of node 1, …

    References
    ----------
    Zienkiewicz and Taylor, The Finite Element Method, vol. 1; the closed form is exact integration.
    """
    one, two = element.pairs
    result = np.empty((len(cells), element.nodes, 2, element.nodes, 2))
    for part, blocks in pair_blocks(points, cells, stiffness, thickness, element):
        whole = np.empty((len(part), element.nodes, 2, element.nodes, 2))
        whole[:, one, :, two, :] = blocks.transpose(1, 0, 2, 3)
        whole[:, two, :, one, :] = blocks.transpose(1, 0, 3, 2)
        result[part] = whole
    return result.reshape(len(cells), 2 * element.nodes, 2 * element.nodes)
