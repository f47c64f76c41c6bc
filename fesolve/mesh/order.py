"""From three-node to six-node triangles, with middle nodes on the arcs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .mesh import FloatArray, IntArray

SIDES = np.array([[0, 1], [1, 2], [2, 0]])


@dataclass(frozen=True)
class Raised:
    """Six-node triangles, and the numbers needed to find the middle node of a side.

    Parameters
    ----------
    points : (n + sides, 2) array
        The corner nodes first, then the middle nodes, mm.
    cells : (e, 6) array
        Corners counter-clockwise, then the middles of sides 0-1, 1-2, 2-0.
    keys : (sides,) array
        Sorted side keys; the middle node of ``keys[i]`` is ``corners + i``.
    corners : int
        Number of corner nodes.
    """

    points: FloatArray
    cells: IntArray
    keys: IntArray
    corners: int

    def middles(self, ends: IntArray) -> IntArray:
        """Middle nodes (k,) of the sides between the end nodes ``ends`` (k, 2), which must be sides of the mesh."""
        return np.asarray(np.searchsorted(self.keys, side_keys(ends, self.corners)) + self.corners, dtype=np.int64)


def side_keys(ends: IntArray, corners: int) -> IntArray:
    """One number a side, the same from both its ends: smaller node times ``corners`` plus the greater node."""
    return np.asarray(ends.min(axis=-1) * corners + ends.max(axis=-1), dtype=np.int64)


def raise_order(points: FloatArray, triangles: IntArray) -> Raised:
    """Add a node in the middle of every side.

    Parameters
    ----------
    points : (n, 2) array
        Corner nodes, mm.
    triangles : (e, 3) array
        Node numbers, counter-clockwise.

    Returns
    -------
    Raised
        The middle nodes come after the corner nodes, in the order of their side keys.

    Examples
    --------
    >>> raised = raise_order(np.array([[0.0, 0], [2, 0], [0, 2]]), np.array([[0, 1, 2]]))
    >>> raised.points[raised.cells[0, 3:]].tolist()
    [[1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]
    """
    corners = len(points)
    keys, numbers = np.unique(side_keys(triangles[:, SIDES], corners), return_inverse=True)
    ends = np.stack([keys // corners, keys % corners], axis=1)
    cells = np.hstack([triangles, numbers.reshape(-1, 3) + corners])
    return Raised(np.vstack([points, points[ends].mean(axis=1)]), cells.astype(np.int64), keys, corners)


def jacobians(points: FloatArray, cells: IntArray) -> FloatArray:
    """Jacobian determinants of six-node triangles at their six nodes.

    J = det(sum_a x_a dN_a/dξ) with the quadratic shape functions N_a; on a straight-sided triangle it
    is twice the area everywhere.

    Parameters
    ----------
    points : (n, 2) array
        Nodes, mm.
    cells : (e, 6) array
        Node numbers.

    Returns
    -------
    (e, 6) array
        Determinants at the nodes in the cell's order, mm².

    References
    ----------
    O. C. Zienkiewicz, R. L. Taylor, *The Finite Element Method*, quadratic triangle (from memory).
    """
    gradients = _gradients_at_nodes()
    J = np.einsum("qaj,eai->eqij", gradients, points[cells])
    return np.asarray(J[..., 0, 0] * J[..., 1, 1] - J[..., 0, 1] * J[..., 1, 0])


def _gradients_at_nodes() -> FloatArray:
    """Derivatives (6 nodes, 6 functions, 2) of the quadratic shape functions by ξ and η at the nodes."""
    xi = np.array([0.0, 1.0, 0.0, 0.5, 0.5, 0.0])
    eta = np.array([0.0, 0.0, 1.0, 0.0, 0.5, 0.5])
    o, z = np.ones(6), np.zeros(6)
    rest = 1 - xi - eta
    by_xi = [o - 4 * rest, 4 * xi - o, z, 4 * (rest - xi), 4 * eta, -4 * eta]
    by_eta = [o - 4 * rest, z, 4 * eta - o, -4 * xi, 4 * xi, 4 * (rest - eta)]
    return np.stack([np.array(by_xi).T, np.array(by_eta).T], axis=-1)


def areas(points: FloatArray, cells: IntArray) -> FloatArray:
    """Exact areas (e,) mm² of six-node triangles with curved sides: the three middle nodes' Jacobians, 1/6 each.

    The Jacobian of a quadratic triangle is a quadratic polynomial, for which the mid-side rule is exact.

    Examples
    --------
    >>> raised = raise_order(np.array([[0.0, 0], [2, 0], [0, 2]]), np.array([[0, 1, 2]]))
    >>> areas(raised.points, raised.cells).tolist()
    [2.0]
    """
    return np.asarray(jacobians(points, cells)[:, 3:].sum(axis=1) / 6)
