"""Regions of a mesh that others made: the sides round each group of cells, and the borders that lie inside the wood."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from ..part.model import Point, RegionShape
from .mesh import FloatArray, IntArray
from .order import SIDES, side_keys
from .rim import Rim

BoolArray = NDArray[np.bool_]

STRAIGHT = 1e-4  # sine of the angle between sides that are one line, and rise over length of a straight side
FINE = 1e-4  # mm: what is left of the rise of a curved side of the outline once it is divided
PIECES = 64  # that it is divided into at most


def region_shapes(
    points: FloatArray, cells: IntArray, rim: Rim, regions: Mapping[str, BoolArray]
) -> dict[str, RegionShape]:
    """The shape of each group of cells.

    Parameters
    ----------
    points : (n, 2) array
        mm.
    cells : (e, 6) array
    rim : Rim
        The boundary.
    regions : mapping of str to (e,) bool array
    """
    if not regions:
        return {}
    label = np.unique(np.column_stack(list(regions.values())), axis=0, return_inverse=True)[1].reshape(-1)
    sides, one, two = _between(cells, label, len(points))
    kinds = np.sort(np.column_stack([label[one], label[two]]), axis=1)
    kind = np.unique(kinds, axis=0, return_inverse=True)[1].reshape(-1)
    lines, of_side = _lines(points, sides, kind, rim)
    outer, of_rim = _divided(points, rim.sides)
    found = {}
    for name, inside in regions.items():
        borders = lines[(inside[one] != inside[two])[of_side]]
        mine = outer[inside[rim.owner][of_rim]]
        found[name] = RegionShape(sides=_pairs(np.concatenate([mine, borders])), borders=_pairs(borders))
    return found


def _between(cells: IntArray, label: IntArray, count: int) -> tuple[IntArray, IntArray, IntArray]:
    """Sides (k, 3) between cells of different labels, and the cells on both sides of each."""
    sides = np.column_stack([cells[:, SIDES].reshape(-1, 2), cells[:, 3:].reshape(-1)])
    owner = np.repeat(np.arange(len(cells)), 3)
    keys = side_keys(sides[:, :2], count)
    order = np.argsort(keys, kind="stable")
    pair = np.flatnonzero(keys[order][1:] == keys[order][:-1])
    first, one, two = order[pair], owner[order[pair]], owner[order[pair + 1]]
    differ = label[one] != label[two]
    return sides[first[differ]], one[differ], two[differ]


def _lines(points: FloatArray, sides: IntArray, kind: IntArray, rim: Rim) -> tuple[FloatArray, IntArray]:
    """Straight lines (k, 2, 2) mm along the sides, each as long as it goes, and one of the sides that each is of."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    if len(sides) == 0:
        return np.zeros((0, 2, 2)), np.zeros(0, dtype=np.int64)
    a, b, m = (points[sides[:, k]] for k in range(3))
    along = b - a
    bent = np.linalg.norm(m - (a + b) / 2, axis=1) > STRAIGHT * np.linalg.norm(along, axis=1)
    node, side = sides[:, :2].ravel(), np.repeat(np.arange(len(sides)), 2)
    order = np.argsort(node, kind="stable")
    users = np.bincount(node, minlength=len(points))
    users[rim.sides[:, 0]] = 0  # where a border meets the outline it ends
    both = order[users[node[order]] == 2].reshape(-1, 2)
    one, two = side[both[:, 0]], side[both[:, 1]]
    cross = along[one, 0] * along[two, 1] - along[one, 1] * along[two, 0]
    lengths = np.linalg.norm(along, axis=1)
    joins: BoolArray = (np.abs(cross) <= STRAIGHT * lengths[one] * lengths[two]) & (kind[one] == kind[two])
    joins &= ~bent[one] & ~bent[two]
    one, two = one[joins], two[joins]
    graph = coo_matrix((np.ones(len(one)), (one, two)), shape=(len(sides), len(sides)))
    run = connected_components(graph, directed=False)[1]
    inner = np.isin(node, node[both[joins, 0]])
    free = np.flatnonzero(~inner & ~bent[side])
    ends = free[np.argsort(run[side[free]], kind="stable")].reshape(-1, 2)
    halves = np.concatenate([np.stack([a, m], axis=1)[bent], np.stack([m, b], axis=1)[bent]])
    straight = points[node[ends]]
    return np.concatenate([straight, halves]), np.concatenate([side[ends[:, 0]], *[np.flatnonzero(bent)] * 2])


def _divided(points: FloatArray, sides: IntArray) -> tuple[FloatArray, IntArray]:
    """The sides (k, 3) as straight pieces (p, 2, 2) mm, curved ones divided, and the side that each is of.

    Along a curved side a point is a (1 - t)(1 - 2t) + b t (2t - 1) + 4 m t (1 - t).
    """
    a, b, m = (points[sides[:, k]] for k in range(3))
    rise = np.linalg.norm(m - (a + b) / 2, axis=1)
    bent = rise > STRAIGHT * np.linalg.norm(b - a, axis=1)
    pieces = np.where(bent, np.clip(np.ceil(np.sqrt(rise / FINE)), 1, PIECES), 1).astype(np.int64)
    of = np.repeat(np.arange(len(sides)), pieces)
    number = np.arange(len(of)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    ends = []
    for step in (0, 1):
        t = ((number + step) / pieces[of])[:, None]
        ends.append(a[of] * (1 - t) * (1 - 2 * t) + b[of] * t * (2 * t - 1) + 4 * m[of] * t * (1 - t))
    return np.stack(ends, axis=1), of


def _pairs(lines: FloatArray) -> tuple[tuple[Point, Point], ...]:
    return tuple(((ax, ay), (bx, by)) for (ax, ay), (bx, by) in lines.tolist())
