"""Element stiffness: closed form for straight-sided triangles, quadrature for curved ones.

K_ab,ij = t ∫ dN_a/dx_p C_pi,qj dN_b/dx_q dA. On a straight element the Jacobian is constant, so the integral is the
product of a geometry-and-material factor M_kl,ij (four by four numbers) with fixed reference integrals.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .elements import reference_integrals, shape_gradients, triangle_rule

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

CHUNK = 2000  # elements at a time: temporaries of about 2 MiB stay in the cache
# position in Voigt order (xx, yy, xy) of the tensor component (p, i)
_VOIGT = np.array([[0, 2], [2, 1]])


def is_curved(points: Array, cells: IntArray) -> NDArray[np.bool_]:
    """Which six-node triangles have a side whose middle node lies off its chord's middle; shape (e,)."""
    corners, middles = points[cells[:, :3]], points[cells[:, 3:]]
    offset = middles - 0.5 * (corners + np.roll(corners, -1, axis=1))
    length = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)
    return np.asarray((np.linalg.norm(offset, axis=2) > 1e-9 * length).any(axis=1))


def _factor(inverse: Array, scale: Array, stiffness: Array) -> Array:
    """M_kl,ij = scale Σ_pq (dξ_k/dx_p) C_pi,qj (dξ_l/dx_q); shape (e, 4, 4), rows (k, l), columns (i, j)."""
    tensor = stiffness[..., _VOIGT[:, :, None, None], _VOIGT[None, None, :, :]]  # (e, p, i, q, j)
    half = np.matmul(inverse, tensor.reshape(len(tensor), 2, 8)).reshape(-1, 2, 2, 2, 2)  # (e, k, i, q, j)
    half = half.transpose(0, 1, 2, 4, 3).reshape(-1, 8, 2)  # (e, kij, q)
    full = np.matmul(half, inverse.transpose(0, 2, 1)).reshape(-1, 2, 2, 2, 2)  # (e, k, i, j, l)
    return np.asarray(full.transpose(0, 1, 4, 2, 3) * scale[:, None, None, None, None]).reshape(-1, 4, 4)


def _jacobian(coordinates: Array, gradients: Array) -> tuple[Array, Array]:
    """Inverse Jacobian dξ_k/dx_p (…, 2, 2) and its determinant (…) at one reference point."""
    jacobian = np.einsum("eai,ak->eik", coordinates, gradients)
    determinant = jacobian[:, 0, 0] * jacobian[:, 1, 1] - jacobian[:, 0, 1] * jacobian[:, 1, 0]
    inverse = np.empty_like(jacobian)
    inverse[:, 0, 0], inverse[:, 1, 1] = jacobian[:, 1, 1], jacobian[:, 0, 0]
    inverse[:, 0, 1], inverse[:, 1, 0] = -jacobian[:, 0, 1], -jacobian[:, 1, 0]
    inverse /= determinant[:, None, None]
    return inverse, determinant


def _straight(coordinates: Array, stiffness: Array, thickness: Array) -> Array:
    gradients = shape_gradients(np.array([[1 / 3, 1 / 3]]))[0]
    inverse, determinant = _jacobian(coordinates, gradients)
    factor = _factor(inverse, determinant * thickness, stiffness)
    return np.asarray(np.matmul(reference_integrals(), factor))  # (e, 36, 4): (a, b), (i, j)


def _curved(coordinates: Array, stiffness: Array, thickness: Array) -> Array:
    points, weights = triangle_rule(6)
    total = np.zeros((len(coordinates), 36, 4))
    for gradients, weight in zip(shape_gradients(points), weights, strict=True):
        inverse, determinant = _jacobian(coordinates, gradients)
        factor = _factor(inverse, determinant * thickness * weight, stiffness)
        outer = np.einsum("ak,bl->abkl", gradients, gradients).reshape(36, 4)
        total += np.matmul(outer, factor)
    return total


def element_stiffness(points: Array, cells: IntArray, stiffness: Array, thickness: Array) -> Array:
    """Stiffness matrices of six-node triangles in plane stress.

    Parameters
    ----------
    points : (n, 2) array
        Coordinates, mm.
    cells : (e, 6) array
        Node numbers.
    stiffness : (e, 3, 3) array
        Reduced stiffness in x, y, MPa, Voigt order (x, y, xy).
    thickness : (e,) array
        mm.

    Returns
    -------
    (e, 12, 12) array
        N/mm; unknowns ordered x, y of node 0, x, y of node 1, …

    References
    ----------
    Zienkiewicz and Taylor, The Finite Element Method, vol. 1; the closed form is exact integration of quadratics.
    """
    result = np.empty((len(cells), 6, 2, 6, 2))
    curved = is_curved(points, cells)
    for mask, build in ((~curved, _straight), (curved, _curved)):
        chosen = np.flatnonzero(mask)
        for start in range(0, len(chosen), CHUNK):
            part = chosen[start : start + CHUNK]
            blocks = build(points[cells[part]], stiffness[part], thickness[part])
            result[part] = blocks.reshape(-1, 6, 6, 2, 2).transpose(0, 1, 3, 2, 4)
    return result.reshape(-1, 12, 12)
