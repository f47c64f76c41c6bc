"""Element stiffness: closed form where the element's map is affine, quadrature elsewhere.

K_ab,ij = t ∫ dN_a/dx_p C_pi,qj dN_b/dx_q dA. On a straight-sided triangle or a parallelogram the Jacobian is constant,
so the integral is the product of a geometry-and-material factor M_kl,ij (four by four numbers) with fixed reference
integrals. Blocks are made for the node pairs a >= b only: the rest is their transpose. Elements come last in all
arrays, so that a whole chunk of them is one matrix product.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .elements import TRIANGLE6, Element

if TYPE_CHECKING:
    from .model import PlaneModel

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
SlotArray = NDArray[np.int32]
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


def inverse_jacobian(coordinates: Array, gradients: Array) -> tuple[Array, Array]:
    """Inverse Jacobian dξ_k/dx_p (k, p, e) and its determinant (e,) at one reference point.

    Parameters
    ----------
    coordinates : (i, a, e) array
    gradients : (a, k) array
    """
    (x_1, x_2), (y_1, y_2) = np.matmul(gradients.T, coordinates)  # dx_i/dξ_k
    determinant = x_1 * y_2 - x_2 * y_1
    return np.stack([y_2, -x_2, -y_1, x_1]).reshape(2, 2, -1) / determinant, determinant


def _factor(inverse: Array, scale: Array, stiffness: Array) -> Array:
    """M_ij,kl = scale Σ_pq (dξ_k/dx_p) C_pi,qj (dξ_l/dx_q); shape (ij, kl, e).

    Parameters
    ----------
    inverse : (k, p, e) array
    scale : (e,) array
    stiffness : (1, 3, 3) or (e, 3, 3) array
    """
    by_p = inverse.transpose(1, 0, 2)
    geometry = ((by_p * scale)[:, None, :, None] * by_p[None, :, None]).reshape(4, 4, -1)  # (pq, kl, e)
    tensor = stiffness[:, _VOIGT.T[:, None, :, None], _VOIGT.T[None, :, None, :]]  # (e, i, j, p, q)
    if len(tensor) == 1:
        return (tensor.reshape(4, 4) @ geometry.reshape(4, -1)).reshape(4, 4, -1)
    by_pq = np.ascontiguousarray(tensor.reshape(-1, 4, 4).transpose(2, 1, 0))  # (pq, ij, e)
    return np.asarray(sum(C[:, None] * G for C, G in zip(by_pq, geometry, strict=True)))


def _affine(element: Element, coordinates: Array, stiffness: Array, thickness: Array) -> Array:
    gradients = element.gradients(element.places.mean(axis=0)[None])[0]
    inverse, determinant = inverse_jacobian(coordinates, gradients)
    return np.asarray(np.matmul(element.integrals, _factor(inverse, determinant * thickness, stiffness)))


def _mapped(element: Element, coordinates: Array, stiffness: Array, thickness: Array) -> Array:
    points, weights = element.rule
    one, two = element.pairs
    total = np.zeros((4, len(one), coordinates.shape[2]))
    for gradients, weight in zip(element.gradients(points), weights, strict=True):
        inverse, determinant = inverse_jacobian(coordinates, gradients)
        outer = np.einsum("pk,pl->pkl", gradients[one], gradients[two]).reshape(-1, 4)
        total += np.matmul(outer, _factor(inverse, determinant * thickness * weight, stiffness))
    return total


@dataclass(frozen=True)
class Chunk:
    """Elements of one kind that are worked on together.

    Attributes
    ----------
    element : Element
    numbers : (e,) array
        The elements, counted over all kinds.
    cells : (e, a) array
        Their nodes.
    affine : bool
        Whether all of them have a constant Jacobian.
    """

    element: Element
    numbers: IntArray
    cells: IntArray
    affine: bool

    def blocks(self, places: Array, stiffness: Array, thickness: Array) -> Array:
        """Stiffness blocks of the elements.

        Parameters
        ----------
        places : (2, n) array
            Coordinates of all nodes, mm.
        stiffness : (1, 3, 3) or (e, 3, 3) array
            Reduced stiffness in x, y, MPa, Voigt order (x, y, xy).
        thickness : (e,) array
            mm.

        Returns
        -------
        (4, p, e) array
            K_ab of the element's node pairs a >= b, N/mm: component (at a, at b) in the order xx, xy, yx, yy; pair;
            element.
        """
        build = _affine if self.affine else _mapped
        return build(self.element, places[:, self.cells.T], stiffness, thickness)


def chunks(
    points: Array, cells: IntArray, element: Element, numbers: IntArray, order: IntArray | SlotArray
) -> list[Chunk]:
    """Elements (e, a) of one kind in chunks, in the given order: affine ones first, then the others.

    Parameters
    ----------
    points : (n, 2) array
    cells : (e, a) array
    element : Element
    numbers : (e,) array
        What the elements are called in the chunks.
    order : (e,) array
    """
    affine = is_affine(points, cells, element)[order]
    result = []
    for mask, word in ((affine, True), (~affine, False)):
        chosen = order[mask]
        parts = [chosen[start : start + CHUNK] for start in range(0, len(chosen), CHUNK)]
        result += [Chunk(element, numbers[part], cells[part], word) for part in parts]
    return result


def element_stiffness(
    points: Array, cells: IntArray, stiffness: Array, thickness: Array, element: Element = TRIANGLE6
) -> Array:
    """Whole stiffness matrices of elements in plane stress.

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
    every = np.arange(len(cells))
    for chunk in chunks(points, cells, element, every, every):
        components = chunk.blocks(points.T, stiffness[chunk.numbers], thickness[chunk.numbers])
        blocks = components.reshape(2, 2, len(one), -1).transpose(2, 3, 0, 1)
        whole = np.empty((len(chunk.cells), element.nodes, 2, element.nodes, 2))
        whole[:, one, :, two, :] = blocks
        whole[:, two, :, one, :] = blocks.transpose(0, 1, 3, 2)
        result[chunk.numbers] = whole
    return result.reshape(len(cells), 2 * element.nodes, 2 * element.nodes)


def volumes(model: PlaneModel) -> Array:
    """Volume of each element (e,), mm^3, by quadrature."""
    found = np.empty(model.count)
    for element, cells, place in model.blocks:
        points, weights = element.rule
        local = np.einsum("qak,eai->eqik", element.gradients(points), model.mesh.points[cells])
        found[place] = np.linalg.det(local) @ weights
    return np.asarray(found * model.cell_thickness)
