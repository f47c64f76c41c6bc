"""Sides of a mesh: quadrature along named edges, the free boundary, which element owns a side."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..mesh.mesh import Mesh
from .elements import ELEMENTS, TRIANGLE6, side_rule

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True)
class SideQuadrature:
    """Gauss points along sides.

    Attributes
    ----------
    sides : (k, s) array
        Node numbers: end, end and, on quadratic sides, middle.
    points : (k, 3, 2) array
        Positions, mm.
    normals : (k, 3, 2) array
        Unit normals out of the wood.
    lengths : (k, 3) array
        Length that each point stands for, mm.
    values : (3, s) array
        Shape functions: point, node.
    """

    sides: IntArray
    points: Array
    normals: Array
    lengths: Array
    values: Array

    @property
    def length(self) -> float:
        """Length of all sides together, mm."""
        return float(self.lengths.sum())


def edge_sides(mesh: Mesh, name: str) -> IntArray:
    """Sides of a named edge, shape (k, 3); raises InputError naming the edges there are."""
    if name not in mesh.edges:
        raise InputError(f'Edge "{name}" is not in the mesh. Edges: {", ".join(sorted(mesh.edges)) or "none"}.')
    return mesh.edges[name]


def side_quadrature(mesh: Mesh, sides: IntArray) -> SideQuadrature:
    """Three Gauss points on each side; the wood lies on the left from first end to second."""
    _, weights, values, slopes = side_rule(sides.shape[1])
    corner = mesh.points[sides]
    tangent = np.einsum("qa,kai->kqi", slopes, corner)
    speed = np.linalg.norm(tangent, axis=2)
    normals = np.stack([tangent[..., 1], -tangent[..., 0]], axis=2) / speed[..., None]
    return SideQuadrature(sides, np.einsum("qa,kai->kqi", values, corner), normals, speed * weights, values)


def element_sides(cells: Mapping[str, IntArray]) -> IntArray:
    """Sides of all elements, element after element, wood on the left; shape (k, 2) or (k, 3).

    Raises
    ------
    InputError
        If linear and quadratic elements are mixed: their sides cannot meet.
    """
    if len({ELEMENTS[kind].order for kind in cells}) > 1:
        raise InputError(f"Linear and quadratic cells are mixed: {', '.join(cells)}. Use cells of one order.")
    width = 3 if any(ELEMENTS[kind].order == 2 for kind in cells) else 2
    blocks = [block[:, ELEMENTS[kind].sides].reshape(-1, width) for kind, block in cells.items()]
    return np.concatenate(blocks)


def boundary_sides(cells: Mapping[str, IntArray] | IntArray) -> IntArray:
    """All sides with one element only, wood on the left; (e, 6) cells are taken as six-node triangles."""
    sides = element_sides(cells if isinstance(cells, Mapping) else {TRIANGLE6.name: cells})
    ends = np.sort(sides[:, :2], axis=1)
    key = ends[:, 0] * (int(sides.max(initial=0)) + 1) + ends[:, 1]
    _, first, count = np.unique(key, return_index=True, return_counts=True)
    return np.asarray(sides[np.sort(first[count == 1])])


def side_owners(cells: Mapping[str, IntArray], sides: IntArray) -> IntArray:
    """The element on the wood side of each side, shape (k,), counted over all blocks of cells in order.

    Raises
    ------
    InputError
        For a side that is no element's, or whose element lies on its right.
    """
    every = element_sides(cells)
    owner = np.repeat(
        np.arange(sum(len(block) for block in cells.values())),
        np.concatenate([np.full(len(block), ELEMENTS[kind].corners) for kind, block in cells.items()]),
    )
    width = int(every.max(initial=0)) + 1
    key = every[:, 0] * width + every[:, 1]
    order = np.argsort(key)
    wanted = sides[:, 0] * width + sides[:, 1]
    place = np.minimum(np.searchsorted(key[order], wanted), len(key) - 1)
    found = order[place]
    if (key[found] != wanted).any():
        raise InputError("A named edge has a side that belongs to no element on its left; check its direction.")
    return np.asarray(owner[found])


def node_normals(mesh: Mesh, sides: IntArray) -> tuple[IntArray, Array]:
    """Nodes of sides and the mean unit normal (out of the wood) at each: shapes (k,), (k, 2)."""
    ends = mesh.points[sides]
    first, second = ends[:, 0], ends[:, 1]
    if sides.shape[1] == 2:
        tangents = np.stack([second - first, second - first], axis=1)
    else:
        middle = ends[:, 2]
        tangents = np.stack([4 * middle - 3 * first - second, first + 3 * second - 4 * middle, second - first], axis=1)
    normals = np.stack([tangents[..., 1], -tangents[..., 0]], axis=2)
    normals /= np.linalg.norm(normals, axis=2, keepdims=True)
    nodes, inverse = np.unique(sides, return_inverse=True)
    total = np.zeros((len(nodes), 2))
    np.add.at(total, inverse.reshape(-1), normals.reshape(-1, 2))
    size = np.linalg.norm(total, axis=1)
    if (size < 1e-6).any():
        raise InputError("An edge turns back on itself, so its normal has no direction there.")
    return nodes, total / size[:, None]
