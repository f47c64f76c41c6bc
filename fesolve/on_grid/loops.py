"""Sides put in order: the loops of a grid's edge, and the run of sides that something acts on."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..fem.boundary import boundary_sides
from ..mesh.mesh import Mesh

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


def runs(sides: IntArray) -> list[IntArray]:
    """Sides (k, 2 or 3) one after another, as numbers of sides; an open run begins at its first end.

    Returns
    -------
    list of (r,) arrays
        One for each run or loop; the wood stays on the left.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components, depth_first_order

    count = len(sides)
    if count == 0:
        return []
    order = np.argsort(sides[:, 0])
    place = np.minimum(np.searchsorted(sides[order, 0], sides[:, 1]), count - 1)
    follows = sides[order[place], 0] == sides[:, 1]
    one, two = np.flatnonzero(follows), order[place][follows]
    graph = coo_array((np.ones(len(one)), (one, two)), shape=(count, count)).tocsr()
    pieces, label = connected_components(graph, directed=False)
    first = np.ones(count, dtype=bool)
    first[two] = False
    begins = np.full(pieces, -1)
    begins[label[::-1]] = np.arange(count)[::-1]
    begins[label[first]] = np.flatnonzero(first)
    return [depth_first_order(graph, int(begin), return_predecessors=False).astype(np.int64) for begin in begins]


def polygons(mesh: Mesh) -> list[Array]:
    """The edge of a mesh as closed polygons (k, 2) mm, the largest first, then holes."""
    sides = boundary_sides(mesh.cells)
    found = [_line(mesh, sides[run])[:-1] for run in runs(sides)]
    return sorted(found, key=lambda polygon: -float(np.prod(np.ptp(polygon, axis=0))))


def patch(mesh: Mesh, sides: IntArray) -> Array:
    """Points (k, 2) mm along the longest run of some sides, both ends included; none without sides."""
    found = [_line(mesh, sides[run]) for run in runs(sides)]
    lengths = [float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum()) for line in found]
    return found[int(np.argmax(lengths))] if found else np.zeros((0, 2))


def _line(mesh: Mesh, sides: IntArray) -> Array:
    """Points along sides in order: first ends, middles where there are any, and the last end."""
    columns = sides[:, [0, 2]] if sides.shape[1] == 3 else sides[:, :1]
    return np.asarray(mesh.points[np.append(columns.ravel(), sides[-1, 1])])
