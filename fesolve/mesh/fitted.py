"""A mesh that others made, named by what sits on a part: its sides cut where a support or load begins or ends.

Only boundary sides are cut, each with the one triangle that it belongs to, so that all other cells stay as they are.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..errors import SolveError
from ..part.model import Part
from .curves import Curve, FloatArray, Point
from .generate import point_sets
from .mesh import IntArray, Mesh
from .order import jacobians
from .outline import Outline
from .traced import Traced, on_circle

NEAR = 1e-3  # of a side: a node so near to where a load begins is moved there
AT_NODE = 1e-9  # of the size of the part
ROLLED = ((0, 1, 2, 3, 4, 5), (1, 2, 0, 4, 5, 3), (2, 0, 1, 5, 3, 4))


def fitted(part: Part, outline: Outline, found: Traced) -> Mesh:
    """The mesh with the edges, regions and point sets that the part needs.

    Parameters
    ----------
    part : Part
        On the shape of this mesh.
    outline : Outline
        The same part, drawn.
    found : Traced

    Returns
    -------
    Mesh
        As `generate.mesh_part` gives it.

    Raises
    ------
    SolveError
        If a cut leaves a triangle folded.
    """
    work = _Work(found)
    for place in _ends(outline):
        work.cut_at(np.asarray(place))
    curves = outline.curves
    sides, which = work.on_curves(outline)
    if not (jacobians(work.points, work.cells) > 0).all():
        raise SolveError(
            "A cell of the mesh is folded where a support or load begins or ends. Use smaller cells there."
        )
    named: dict[str, list[IntArray]] = {}
    for number, curve in enumerate(curves):
        for name in curve.names:
            named.setdefault(name, []).append(sides[which == number])
    edges = {name: np.concatenate(blocks) for name, blocks in named.items()}
    sets = point_sets(part, outline, work.points)
    return Mesh(work.points, {"triangle6": work.cells}, _regions(part, found, work.origin), edges, sets)


def _ends(outline: Outline) -> Sequence[Point]:
    """Where the curves of the outline begin; those of round holes have no ends of their own."""
    return [c.start for c in outline.curves if not c.names[0].startswith("hole ")]


def _regions(part: Part, found: Traced, origin: IntArray) -> dict[str, dict[str, IntArray]]:
    """Cells of the rest of the part and of each region, the later one where they overlap; empty without regions."""
    if not part.regions:
        return {}
    index = np.full(len(origin), -1)
    for number, region in enumerate(part.regions):
        index[found.regions[region.name][origin]] = number
    names = [(-1, "part"), *((i, region.name) for i, region in enumerate(part.regions))]
    return {name: {"triangle6": np.flatnonzero(index == i)} for i, name in names}


class _Work:
    """Points, cells and boundary sides while they are cut; `origin` is the cell that each cell was."""

    def __init__(self, found: Traced) -> None:
        self.points = found.points.copy()
        self.cells = found.cells.copy()
        self.sides = found.sides.copy()
        self.owner = found.owner.copy()
        self.origin = np.arange(len(found.cells))
        self.slack = AT_NODE * float(np.linalg.norm(np.ptp(self.points, axis=0)))
        self.kept: set[int] = set()  # nodes at which something ends already

    def cut_at(self, place: FloatArray) -> None:
        """Have a node at a place of the boundary: one that is there, one beside it moved there, or a new one."""
        a, b = self.points[self.sides[:, 0]], self.points[self.sides[:, 1]]
        from_a, from_b = np.linalg.norm(place - a, axis=1), np.linalg.norm(place - b, axis=1)
        there = int(np.argmin(from_a))
        if from_a[there] <= self.slack:
            self.kept.add(int(self.sides[there, 0]))
            return
        side = int(np.argmin(from_a + from_b - np.linalg.norm(b - a, axis=1)))
        share = float(from_a[side] / (from_a[side] + from_b[side]))
        node = int(self.sides[side, 0 if share < 0.5 else 1])
        if min(share, 1.0 - share) < NEAR and node not in self.kept:
            self.points[node] = place
        else:
            node = self._split(side, place)
        self.kept.add(node)

    def _split(self, side: int, place: FloatArray) -> int:
        """Cut a side, and its triangle along a line to the opposite corner; the new node."""
        a, b, m = self.sides[side].tolist()
        cell = int(self.owner[side])
        local = int(np.flatnonzero(self.cells[cell, :3] == a)[0])
        _, _, c, _, of_b, of_a = self.cells[cell, list(ROLLED[local])].tolist()
        new, second, across = (len(self.points) + k for k in range(3))
        ends = self.points[[a, b, c]]
        self.points = np.vstack([self.points, place, (place + ends[1]) / 2, (place + ends[2]) / 2])
        self.points[m] = (ends[0] + place) / 2
        self.cells[cell] = [a, new, c, m, across, of_a]
        self.cells = np.vstack([self.cells, [new, b, c, second, of_b, across]])
        self.origin = np.append(self.origin, self.origin[cell])
        # the side b-c, if it is one of the boundary, goes with the new triangle
        self.owner[(self.sides[:, 2] == of_b)] = len(self.cells) - 1
        self.sides[side] = [a, new, m]
        self.sides = np.insert(self.sides, side + 1, [new, b, second], axis=0)
        self.owner = np.insert(self.owner, side + 1, len(self.cells) - 1)
        return new

    def on_curves(self, outline: Outline) -> tuple[IntArray, IntArray]:
        """The boundary sides (b, 3) and the curve that each is on; middle nodes are put on their arcs."""
        which = outline.curve_set.distances(self.points[self.sides[:, 2]]).argmin(axis=1)
        for number, curve in enumerate(outline.curves):
            self._put(curve, self.sides[which == number, 2])
        return self.sides, which

    def _put(self, curve: Curve, middles: IntArray) -> None:
        if curve.center is not None and curve.radius is not None and len(middles):
            self.points[middles] = on_circle(self.points[middles], curve.center, curve.radius)
