"""Sides of a mesh: quadrature along named edges, the free boundary, which element owns a side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..mesh.mesh import Mesh
from .elements import side_rule

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

SIDES = np.array([[0, 1, 3], [1, 2, 4], [2, 0, 5]])  # end, end, middle in a six-node triangle


@dataclass(frozen=True)
class SideQuadrature:
    """Gauss points along sides.

    Attributes
    ----------
    sides : (k, 3) array
        Node numbers: end, end, middle.
    points : (k, 3, 2) array
        Positions, mm.
    normals : (k, 3, 2) array
        Unit normals out of the wood.
    lengths : (k, 3) array
        Length that each point stands for, mm.
    values : (3, 3) array
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
    _, weights, values, slopes = side_rule()
    corner = mesh.points[sides]
    tangent = np.einsum("qa,kai->kqi", slopes, corner)
    speed = np.linalg.norm(tangent, axis=2)
    normals = np.stack([tangent[..., 1], -tangent[..., 0]], axis=2) / speed[..., None]
    return SideQuadrature(sides, np.einsum("qa,kai->kqi", values, corner), normals, speed * weights, values)


def boundary_sides(cells: IntArray) -> IntArray:
    """All sides with one element only, wood on the left; shape (k, 3)."""
    sides = cells[:, SIDES].reshape(-1, 3)
    ends = np.sort(sides[:, :2], axis=1)
    key = ends[:, 0] * (int(cells.max(initial=0)) + 1) + ends[:, 1]
    _, first, count = np.unique(key, return_index=True, return_counts=True)
    return np.asarray(sides[np.sort(first[count == 1])])


def side_owners(cells: IntArray, sides: IntArray) -> IntArray:
    """The element on the wood side of each side, shape (k,); raises InputError for a side that is no element's."""
    all_sides = cells[:, SIDES].reshape(-1, 3)
    width = int(cells.max(initial=0)) + 1
    key = all_sides[:, 0] * width + all_sides[:, 1]
    order = np.argsort(key)
    wanted = sides[:, 0] * width + sides[:, 1]
    place = np.minimum(np.searchsorted(key[order], wanted), len(key) - 1)
    found = order[place]
    if (key[found] != wanted).any():
        raise InputError("A named edge has a side that belongs to no element on its left; check its direction.")
    return np.asarray(found // 3)


def node_normals(mesh: Mesh, sides: IntArray) -> tuple[IntArray, Array]:
    """Nodes of sides and the mean unit normal (out of the wood) at each: shapes (k,), (k, 2)."""
    ends = mesh.points[sides]
    first, second, middle = ends[:, 0], ends[:, 1], ends[:, 2]
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
