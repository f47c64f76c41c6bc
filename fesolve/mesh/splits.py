"""Lines along which a mesh can be opened: laid into the outline before meshing, opened node by node afterwards.

A mesh is made once for all lengths of a crack: its line is drawn with a point at every length, and of the same mesh as
much of the line is opened as is wanted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..errors import InputError
from .curves import Curve, FloatArray, Point, as_point, line
from .mesh import IntArray, Mesh

LABEL = "split "
ONE_SIDE = "one side"
"""Name of a piece that is one element side: both sides of a tip have the same length, as crack closure wants it."""


@dataclass(frozen=True)
class SplitLine:
    """A straight line in the wood that can be opened from its start to any of its tips.

    Attributes
    ----------
    name : str
    start : (x, y)
        Its mouth on the surface, or its other tip inside the wood, mm.
    direction : (x, y)
        Unit vector along the line.
    tips : tuple of float
        Distances of the tips from the start, growing, mm.
    sides : tuple of float
        Length of the element sides at each tip, mm.
    inside : bool
        Whether the start is a tip too.
    """

    name: str
    start: Point
    direction: Point
    tips: tuple[float, ...]
    sides: tuple[float, ...]
    inside: bool = False

    def at(self, distance: float) -> Point:
        """The point at a distance from the start, mm."""
        return as_point(np.add(self.start, np.multiply(distance, self.direction)))

    @property
    def stops(self) -> list[tuple[float, bool]]:
        """All points along the line, and whether the piece before each is one element side."""
        found = [(0.0, False)]
        if self.inside:
            found.append((self.sides[0], True))
        for tip, side in zip(self.tips, self.sides, strict=True):
            found += [(tip - side, False), (tip, True), (tip + side, True)]
        return found


def pieces(one: SplitLine) -> list[Curve]:
    """The line cut at all its stops; pieces of one element side have a second name that says so."""
    label, stops = f"{LABEL}{one.name}", one.stops
    places = [one.start if distance == 0.0 else one.at(distance) for distance, _ in stops]
    flags = [flag for _, flag in stops[1:]]
    return [
        line(a, b, label, ONE_SIDE) if flag else line(a, b, label)
        for (a, b), flag in zip(pairwise(places), flags, strict=True)
    ]


def tip_sizes(one: SplitLine) -> tuple[FloatArray, FloatArray]:
    """Places (k, 2) and sizes (k,) mm that the tips of a line ask of the mesh."""
    return np.array([place for place, _ in _ends(one)]), np.array([side for _, side in _ends(one)])


def fans(one: SplitLine) -> list[Point]:
    """Four places round each tip, on a regular hexagon with its two neighbours on the line.

    Crack closure wants elements that are alike before and behind a tip.
    """
    found = []
    for place, side in _ends(one):
        for angle in (60.0, 120.0, 240.0, 300.0):
            c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
            x, y = one.direction
            found.append(as_point(np.add(place, [side * (c * x - s * y), side * (s * x + c * y)])))
    return found


def _ends(one: SplitLine) -> list[tuple[Point, float]]:
    found = [(one.at(tip), side) for tip, side in zip(one.tips, one.sides, strict=True)]
    return [(one.start, one.sides[0]), *found] if one.inside else found


@dataclass(frozen=True)
class Opened:
    """A mesh opened along a line.

    Attributes
    ----------
    mesh : Mesh
    left, right : (k,) arrays
        Nodes of both faces that were one before, in order from the start; left of the line's direction.
    nodes : (j,) array
        All nodes of the opened length as they are on the right, both ends included, middle nodes between.
    """

    mesh: Mesh
    left: IntArray
    right: IntArray
    nodes: IntArray


def opened(mesh: Mesh, one: SplitLine, tip: int = -1) -> Opened:
    """Open a mesh along a line, from its start to one of its tips.

    Parameters
    ----------
    mesh : Mesh
        Of six-node triangles, made from an outline with this line.
    one : SplitLine
    tip : int
        Which of the line's tips it ends at.

    Raises
    ------
    InputError
        If the mesh has no such line.
    """
    label = f"{LABEL}{one.name}"
    if label not in mesh.point_sets:
        raise InputError(f'The mesh has no line "{one.name}" to open.')
    nodes = _upto(mesh, mesh.point_sets[label], one.at(one.tips[tip]))
    double = nodes[1:-1] if one.inside else nodes[:-1]
    cells = mesh.cells["triangle6"]
    own = _left_cells(cells, nodes, double)
    fresh = np.arange(len(mesh.points))
    fresh[double] = len(mesh.points) + np.arange(len(double))
    changed = cells.copy()
    changed[own] = fresh[cells[own]]
    edges = _followed(mesh.edges, cells[own], double, fresh)
    made = Mesh(
        np.concatenate([mesh.points, mesh.points[double]]),
        {"triangle6": changed},
        regions=mesh.regions,
        edges=edges,
        point_sets=mesh.point_sets,
    )
    return Opened(made, fresh[double], double, nodes)


def _upto(mesh: Mesh, chain: IntArray, end: Point) -> IntArray:
    away = np.linalg.norm(mesh.points[chain] - end, axis=1)
    return chain[: int(np.argmin(away)) + 1]


def _left_cells(cells: IntArray, nodes: IntArray, double: IntArray) -> IntArray:
    """Cells left of an opened line (numbers): those that hang together around the nodes that are doubled."""
    from scipy import sparse
    from scipy.sparse.csgraph import connected_components

    near = np.flatnonzero(np.isin(cells, double).any(axis=1))
    middles = cells[near, 3:]  # a middle node stands for its side
    shut = nodes[1::2]
    side, inverse = np.unique(middles, return_inverse=True)
    owner = np.repeat(np.arange(len(near)), 3)
    keep = ~np.isin(middles.reshape(-1), shut)
    joins = sparse.csr_array(
        (np.ones(int(keep.sum())), (owner[keep], inverse.reshape(-1)[keep])), shape=(len(near), len(side))
    )
    _, label = connected_components(joins @ joins.T, directed=False)
    # the left cell runs along the line's first side in the line's own direction
    corners = cells[near, :3]
    first = (corners == nodes[0]) & (np.roll(corners, -1, axis=1) == nodes[2])
    return np.asarray(near[label == label[int(first.any(axis=1).argmax())]])


def _followed(edges: Mapping[str, IntArray], own: IntArray, double: IntArray, fresh: IntArray) -> dict[str, IntArray]:
    """Edges whose cells have the doubled nodes now."""
    middles = own[:, 3:]
    found = {}
    for name, sides in edges.items():
        mine = np.isin(sides[:, :2], double).any(axis=1) & np.isin(sides[:, 2], middles)
        found[name] = np.where(mine[:, None], fresh[sides], sides) if mine.any() else sides
    return found
