"""A mesh that others made, looked at before anything is done with it: made of triangles, and refused if it is none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from .mesh import FloatArray, IntArray, Mesh
from .order import SIDES, jacobians, raise_order, side_keys

BoolArray = NDArray[np.bool_]

KEY = "mesh.file"
NODES = {"triangle": 3, "quad": 4, "triangle6": 6, "quad8": 8, "quad9": 9}
TURNED = {
    "triangle": [0, 2, 1],
    "quad": [0, 3, 2, 1],
    "triangle6": [0, 2, 1, 5, 4, 3],
    "quad8": [0, 3, 2, 1, 7, 6, 5, 4],
    "quad9": [0, 3, 2, 1, 7, 6, 5, 4, 8],
}
HALVES = {  # corners and middles of the triangles on both sides of a diagonal; 8 is the node in its middle
    (0, 2): ([0, 1, 2, 4, 5, 8], [0, 2, 3, 8, 6, 7]),
    (1, 3): ([0, 1, 3, 4, 8, 7], [1, 2, 3, 5, 6, 8]),
}
QUADRATIC = ("triangle6", "quad8", "quad9")
SAME_PLACE = 1e-7  # of the size of the part: points nearer than that are in one place
ROUNDED, EXACT = 2e-6, 1e-9  # of the size of the part: how exact places are in seven digits, and in sixteen
FLAT = 1e-12  # of the square of a cell's extent: less area than that is none


@dataclass(frozen=True)
class Given:
    """A mesh as it was given, lengths in mm: points (n, 2), cells by type, and what has a name.

    ``regions`` hold cell numbers, counted over all types in order; ``lines`` (k, 2) the ends of sides, ``nodes`` (k,)
    points. ``scale`` (mm) is the unit that it was given in, ``precision`` how exact its places are, over its size;
    ``notes`` say what had to be done to it.
    """

    points: FloatArray
    cells: Mapping[str, IntArray]
    regions: Mapping[str, IntArray] = field(default_factory=dict)
    lines: Mapping[str, IntArray] = field(default_factory=dict)
    nodes: Mapping[str, IntArray] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    scale: float = 1.0
    precision: float = EXACT


@dataclass(frozen=True)
class Six:
    """The same mesh of six-node triangles: points (n, 2), cells (e, 6), and the given cell that each is of.

    ``number`` (p,) is that of each given point, -1 where no cell has it. ``straight``: the middle nodes were not given,
    and lie in the middle of straight sides.
    """

    points: FloatArray
    cells: IntArray
    owner: IntArray
    number: IntArray
    straight: bool
    notes: tuple[str, ...]

    @property
    def size(self) -> float:
        """Diagonal of the bounding box, mm."""
        return float(np.linalg.norm(np.ptp(self.points, axis=0)))


def given_of(mesh: Mesh) -> Given:
    """A mesh made in Python, with its names."""
    first = dict(zip(mesh.cells, np.cumsum([0, *map(len, mesh.cells.values())]).tolist(), strict=False))
    regions = {
        name: np.concatenate([first[kind] + cells for kind, cells in blocks.items()])
        for name, blocks in mesh.regions.items()
        if blocks
    }
    lines = {name: sides[:, :2] for name, sides in mesh.edges.items()}
    precision = precision_of(mesh.points)
    return Given(mesh.points, mesh.cells, regions, lines, mesh.point_sets, precision=precision)


def precision_of(points: FloatArray) -> float:
    """How exact places (n, 2) are, over the size of the part: less so where they fit 32 bits or seven digits."""
    places = points[np.abs(points) > 1e-9 * np.abs(points).max(initial=0.0)]  # others are 0
    single = places.astype(np.float32).astype(np.float64) == places
    size = 10.0 ** (6 - np.floor(np.log10(np.abs(places))))
    digits = np.abs(places * size - np.round(places * size)) <= 1e-6
    return ROUNDED if single.all() or digits.all() else EXACT


def six_node(given: Given) -> Six:
    """Turn the cells the right way, halve the quadrilaterals, and give three-node triangles middle nodes.

    The judgement follows straight lines through six-node triangles. Halves of a quadrilateral keep all its nodes;
    three-node triangles, whose stress is constant, gain an order.

    Raises
    ------
    InputError
        For cells of mixed order, without area, folded, there twice, or on one another.
    """
    kinds = [kind for kind, block in given.cells.items() if len(block)]
    if not kinds:
        raise InputError(f"The mesh has no cells of the types {', '.join(NODES)}.", key=KEY)
    strange = [kind for kind in kinds if kind not in NODES]
    if strange:
        raise InputError(f'Cell type "{strange[0]}" is not supported. Types: {", ".join(NODES)}.', key=KEY)
    quadratic = [kind in QUADRATIC for kind in kinds]
    if any(quadratic) and not all(quadratic):
        raise InputError(f"Linear and quadratic cells are mixed: {', '.join(kinds)}. Use cells of one order.", key=KEY)
    blocks, turned = _counter_clockwise(given)
    points, cells, owner = _triangles(given.points, blocks, quadratic=all(quadratic))
    notes = [f"{turned:,} of its cells were clockwise and are turned."] if turned else []
    if not all(quadratic):
        raised = raise_order(points, cells)
        points, cells = raised.points, raised.cells
        notes.append("Its sides are straight: middle nodes are added to make six-node triangles.")
    if any(kind.startswith("quad") for kind in kinds):
        notes.append("Each quadrilateral is used as two triangles.")
    points, cells, number = _without_unused(points, cells)
    number = number[: len(given.points)]
    six = Six(points, cells, owner, number, not all(quadratic), (*given.notes, *notes))
    _check_sides(six)
    _check_folds(six)
    return six


def _corners(kind: str) -> int:
    return 3 if kind.startswith("triangle") else 4


def _areas(points: FloatArray, cells: IntArray) -> FloatArray:
    """Signed area (e,) by the corners (e, c), mm^2: the shoelace formula."""
    x, y = (points[cells] - points[cells[:, :1]]).transpose(2, 0, 1)
    return np.asarray((x * np.roll(y, -1, axis=1) - np.roll(x, -1, axis=1) * y).sum(axis=1) / 2)


def _counter_clockwise(given: Given) -> tuple[dict[str, IntArray], int]:
    """All blocks of cells with their corners counter-clockwise, and how many had to be turned."""
    blocks, count = {}, 0
    for kind, cells in given.cells.items():
        corner = cells[:, : _corners(kind)]
        area = _areas(given.points, corner)
        extent = np.ptp(given.points[corner], axis=1).max(axis=1, initial=0.0)
        flat = ~(np.abs(area) > FLAT * extent**2)
        if flat.any():
            place = _at(given.points[corner[int(np.argmax(flat))]].mean(axis=0))
            raise InputError(f"{int(flat.sum()):,} cells have no area, the first at {place}. Leave them out.", key=KEY)
        wrong = area < 0
        blocks[kind] = np.where(wrong[:, None], cells[:, TURNED[kind]], cells)
        count += int(wrong.sum())
    return blocks, count


def _at(place: FloatArray) -> str:
    return f"({place[0]:.6g}, {place[1]:.6g}) mm"


def _triangles(
    points: FloatArray, blocks: Mapping[str, IntArray], *, quadratic: bool
) -> tuple[FloatArray, IntArray, IntArray]:
    """Points, triangles (e, 3 or 6) and the number of the cell that each is of, counted over all blocks."""
    found, owners, first = [], [], 0
    for kind, cells in blocks.items():
        number = np.arange(first, first + len(cells))
        first += len(cells)
        if _corners(kind) == 3:
            found.append(cells)
            owners.append(number)
            continue
        points, with_middle = _with_middle(points, kind, cells)
        for diagonal, chosen in _halved(points, cells[:, :4]).items():
            for half in HALVES[diagonal]:
                found.append(with_middle[chosen][:, half if quadratic else half[:3]])
                owners.append(number[chosen])
    return points, np.concatenate(found), np.concatenate(owners)


def _with_middle(points: FloatArray, kind: str, cells: IntArray) -> tuple[FloatArray, IntArray]:
    """Nine nodes of each quadratic quadrilateral: of one with eight the place in its middle is where its map puts it.

    N(0, 0) = -1/4 at corners and 1/2 at middle nodes of the eight-node quadrilateral (Zienkiewicz and Taylor, vol. 1,
    serendipity family).
    """
    if kind != "quad8":
        return points, cells
    middle = 0.5 * points[cells[:, 4:]].sum(axis=1) - 0.25 * points[cells[:, :4]].sum(axis=1)
    return np.vstack([points, middle]), np.column_stack([cells, len(points) + np.arange(len(cells))])


def _halved(points: FloatArray, corner: IntArray) -> dict[tuple[int, int], IntArray]:
    """Which quadrilaterals are halved along which diagonal: the one whose lesser half is greater.

    Raises
    ------
    InputError
        For one that neither diagonal halves: it is folded.
    """
    least = []
    for pair in HALVES.values():
        halves = [_areas(points, corner[:, half[:3]]) for half in pair]
        least.append(np.minimum(*halves))
    best = np.maximum(*least)
    if not (best > 0).all():
        bad = best <= 0
        place = _at(points[corner[int(np.argmax(bad))]].mean(axis=0))
        raise InputError(
            f"{int(bad.sum()):,} cells are folded: their sides cross, the first at {place}. List corners in order.",
            key=KEY,
        )
    first = least[0] >= least[1]
    return {diagonal: np.flatnonzero(which) for diagonal, which in zip(HALVES, (first, ~first), strict=True)}


def _without_unused(points: FloatArray, cells: IntArray) -> tuple[FloatArray, IntArray, IntArray]:
    """Points in use, cells, and the new number of each point; -1 of those that are in no cell."""
    used, numbers = np.unique(cells, return_inverse=True)
    number = np.full(len(points), -1, dtype=np.int64)
    number[used] = np.arange(len(used))
    return points[used], numbers.reshape(cells.shape).astype(np.int64), number


def _check_sides(six: Six) -> None:
    """Refuse cells that are there twice or lie on one another, and sides with two middle nodes."""
    sides, middles = six.cells[:, SIDES].reshape(-1, 2), six.cells[:, 3:].reshape(-1)
    directed = sides[:, 0] * len(six.points) + sides[:, 1]
    _, first, count = np.unique(directed, return_index=True, return_counts=True)
    if (count > 1).any():
        place = _at(six.points[sides[first[int(np.argmax(count > 1))]]].mean(axis=0))
        raise InputError(
            f"{int((count > 1).sum()):,} sides have two cells on the same side of them, the first at {place}: cells "
            "are there twice, or lie on one another. Leave one of them out.",
            key=KEY,
        )
    keys = side_keys(sides, len(six.points))
    _, inverse = np.unique(keys, return_inverse=True)
    low, high = np.full(inverse.max() + 1, len(six.points)), np.full(inverse.max() + 1, -1)
    np.minimum.at(low, inverse, middles)
    np.maximum.at(high, inverse, middles)
    if (low != high).any():
        place = _at(six.points[low[int(np.argmax(low != high))]])
        raise InputError(
            f"{int((low != high).sum()):,} sides have two middle nodes, one of each cell, the first at {place}: the "
            "cells are not joined there. Merge the points that are in one place.",
            key=KEY,
        )


def _check_folds(six: Six) -> None:
    folded = (jacobians(six.points, six.cells) <= 0).any(axis=1)
    if folded.any():
        place = _at(six.points[six.cells[int(np.argmax(folded)), :3]].mean(axis=0))
        raise InputError(
            f"{int(folded.sum()):,} cells are folded by their middle nodes, the first at {place}. Put each middle node "
            "near the middle of its side.",
            key=KEY,
        )
