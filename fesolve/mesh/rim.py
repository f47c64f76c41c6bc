"""The boundary of a mesh that others made: loops of sides, refused where cells are not joined as one piece of wood."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..errors import InputError
from .given import KEY, SAME_PLACE, Six
from .mesh import FloatArray, IntArray
from .order import SIDES, side_keys

ROWS = 512  # sides that are compared with all others at a time


@dataclass(frozen=True)
class Rim:
    """The boundary sides (b, 3): end, end, middle, wood on the left, loop after loop and in order within each.

    ``starts`` (l + 1,) are where the loops begin, the outer one first; ``owner`` (b,) the cell of each side.
    """

    sides: IntArray
    starts: IntArray
    owner: IntArray

    def loops(self) -> list[slice]:
        """Where each loop lies in `sides`."""
        return [slice(a, b) for a, b in zip(self.starts[:-1].tolist(), self.starts[1:].tolist(), strict=True)]


def rim_of(six: Six) -> Rim:
    """Trace the boundary.

    Raises
    ------
    InputError
        For several pieces, pieces joined at a point alone, points in one place that are not joined, points on a side
        of another cell, and cells that lie on one another.
    """
    sides = np.column_stack([six.cells[:, SIDES].reshape(-1, 2), six.cells[:, 3:].reshape(-1)])
    owner = np.repeat(np.arange(len(six.cells)), 3)
    keys = side_keys(sides[:, :2], len(six.points))
    _, inverse, count = np.unique(keys, return_inverse=True, return_counts=True)
    outer = count[inverse] == 1
    _check_twins(six, sides[outer])
    _check_hanging(six, sides[outer])
    _check_one_piece(six, inverse, owner)
    rim = _ordered(six, sides[outer], owner[outer])
    _check_crossing(six, rim)
    return rim


def _check_one_piece(six: Six, side: IntArray, owner: IntArray) -> None:
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    cells, total = len(six.cells), len(six.cells) + int(side.max()) + 1
    graph = coo_matrix((np.ones(len(side)), (owner, cells + side)), shape=(total, total))
    _, label = connected_components(graph, directed=False)
    pieces, count = np.unique(label[:cells], return_counts=True)
    if len(pieces) == 1:
        return
    least = int(pieces[int(np.argmin(count))])
    x, y = six.points[six.cells[int(np.argmax(label[:cells] == least)), :3]].mean(axis=0)
    raise InputError(
        f"The mesh is in {len(pieces)} pieces that share no side; the smallest has {int(count.min()):,} triangles, at "
        f"({x:.6g}, {y:.6g}) mm. One part is one piece: join the cells, or leave the other pieces out.",
        key=KEY,
    )


def _check_twins(six: Six, sides: IntArray) -> None:
    """Refuse two boundary nodes in one place: cells that touch there without being joined."""
    from scipy.spatial import cKDTree

    nodes = np.unique(sides[:, :2])
    pairs = cKDTree(six.points[nodes]).query_pairs(SAME_PLACE * six.size, output_type="ndarray")
    if len(pairs) == 0:
        return
    x, y = six.points[nodes[pairs[0, 0]]]
    raise InputError(
        f"{len(pairs):,} pairs of points are in one place without being the same, the first at ({x:.6g}, {y:.6g}) mm: "
        "the cells on both sides are not joined, as if the wood were cut there. Merge these points (in gmsh: fragment "
        "the surfaces, or Coherence Mesh).",
        key=KEY,
    )


def _check_hanging(six: Six, sides: IntArray) -> None:
    """Refuse a boundary node that lies inside a boundary side of another cell."""
    from scipy.spatial import cKDTree

    nodes = np.unique(sides[:, :2])
    a, b = six.points[sides[:, 0]], six.points[sides[:, 1]]
    half = np.linalg.norm(b - a, axis=1) / 2
    found = cKDTree(six.points[nodes]).query_ball_point((a + b) / 2, half, return_sorted=False)
    count = np.array([len(one) for one in found])
    side = np.repeat(np.arange(len(sides)), count)
    node = nodes[np.concatenate([np.array(one, dtype=np.int64) for one in found])]
    own = (node == sides[side, 0]) | (node == sides[side, 1])
    side, node = side[~own], node[~own]
    along, gap = (b - a)[side], six.points[node] - a[side]
    off = np.abs(along[:, 0] * gap[:, 1] - along[:, 1] * gap[:, 0]) / np.linalg.norm(along, axis=1)
    bad = off < SAME_PLACE * six.size
    if bad.any():
        x, y = six.points[node[int(np.argmax(bad))]]
        raise InputError(
            f"{int(bad.sum()):,} points lie on a side of a cell that does not have them, the first at ({x:.6g}, "
            f"{y:.6g}) mm (hanging nodes). Each side must be a whole side of both cells that it lies between.",
            key=KEY,
        )


def _ordered(six: Six, sides: IntArray, owner: IntArray) -> Rim:
    """The sides in loops, the one round all others first.

    Raises
    ------
    InputError
        Where more than one side begins at a node: the wood is joined at a point alone.
    """
    begins, count = np.unique(sides[:, 0], return_counts=True)
    if (count > 1).any():
        x, y = six.points[begins[int(np.argmax(count > 1))]]
        raise InputError(
            f"At ({x:.6g}, {y:.6g}) mm the wood is joined at a single point. Join the cells there by a side, or part "
            "them.",
            key=KEY,
        )
    following = np.empty(len(six.points), dtype=np.int64)
    following[sides[:, 0]] = np.arange(len(sides))
    after = following[sides[:, 1]].tolist()
    left, loops = set(range(len(sides))), []
    while left:
        here = min(left)
        loop = []
        while here in left:
            left.remove(here)
            loop.append(here)
            here = after[here]
        loops.append(np.array(loop))
    loops.sort(key=lambda loop: -_loop_area(six.points[sides[loop, 0]]))
    order = np.concatenate(loops)
    return Rim(sides[order], np.cumsum([0, *map(len, loops)]), owner[order])


def _loop_area(polygon: FloatArray) -> float:
    x, y = (polygon - polygon[0]).T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2)


def _check_crossing(six: Six, rim: Rim) -> None:
    """Refuse a boundary that crosses itself, and several outer loops: there cells lie on one another."""
    a, b = six.points[rim.sides[:, 0]], six.points[rim.sides[:, 1]]
    low, high = np.minimum(a, b), np.maximum(a, b)
    for first in range(0, len(a), ROWS):
        mine = slice(first, first + ROWS)
        near = ((low[mine, None] <= high) & (low <= high[mine, None])).all(axis=2)
        one, two = np.nonzero(near)
        one += first
        apart = (one < two) & (rim.sides[one, 1] != rim.sides[two, 0]) & (rim.sides[one, 0] != rim.sides[two, 1])
        one, two = one[apart], two[apart]
        across = _side_of(a[one], b[one], a[two]) * _side_of(a[one], b[one], b[two]) < 0
        across &= _side_of(a[two], b[two], a[one]) * _side_of(a[two], b[two], b[one]) < 0
        if across.any():
            raise _lapped(a[one[int(np.argmax(across))]])
    for loop in rim.loops()[1:]:
        if _loop_area(a[loop]) > 0:
            raise _lapped(a[loop][0])


def _side_of(a: FloatArray, b: FloatArray, p: FloatArray) -> FloatArray:
    """Cross product of a-b and a-p: positive where p lies left of a-b."""
    return np.asarray((b - a)[:, 0] * (p - a)[:, 1] - (b - a)[:, 1] * (p - a)[:, 0])


def _lapped(place: FloatArray) -> InputError:
    return InputError(
        f"The boundary of the mesh crosses itself near ({place[0]:.6g}, {place[1]:.6g}) mm: cells lie on one another "
        "there.",
        key=KEY,
    )
