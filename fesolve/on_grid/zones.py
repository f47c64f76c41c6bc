"""Regions and zones of a grid: which cells are one wood, of one thickness and one direction of the grain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..fem.boundary import boundary_sides
from ..fem.solution import Solution
from ..judge.zones import Zone
from ..mesh.mesh import Mesh
from ..wood.model import Wood
from .values import CellWoods

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

MOST = 24  # regions; where there are more, thickness or grain counts as one that changes steadily
ALIKE = 6  # decimals of a degree or millimetre by which values are one
WHOLE = "part"
SHARP = {1: 30.0, 2: 5.0}  # deg, by the order of the elements: straight sides along an arc turn as well


@dataclass(frozen=True)
class Pieces:
    """How a grid divides: stresses jump from region to region, grain lines end where a zone does.

    Attributes
    ----------
    region : (e,) array
        Region of each element.
    wood : (r,) array
        Number of the wood of each region.
    grain : (r,) array or None
        deg, of each region; None where the grain changes steadily from cell to cell.
    """

    region: IntArray
    wood: IntArray
    grain: Array | None

    @property
    def names(self) -> list[str]:
        """Names of the regions."""
        return [f"region {number}" for number in range(len(self.wood))]

    def elements(self, mesh: Mesh) -> dict[str, dict[str, IntArray]]:
        """Cells of each region by kind, as a mesh names them; nothing where all is one region."""
        if len(self.wood) == 1:
            return {}
        kinds = np.split(self.region, np.cumsum([len(block) for block in mesh.cells.values()])[:-1])
        return {
            name: {kind: np.flatnonzero(mine == number) for kind, mine in zip(mesh.cells, kinds, strict=True)}
            for number, name in enumerate(self.names)
        }


def pieces_of(woods: CellWoods, thickness: Array, grain: Array) -> Pieces:
    """Put cells together that are alike; at most 24 regions, by wood alone where it takes more."""
    turned = np.round(np.mod(grain, 180.0), ALIKE) % 180.0
    wood = woods.index.astype(np.float64)
    for columns in ([wood, turned, np.round(thickness, ALIKE)], [wood, turned], [wood]):
        keys, region = np.unique(np.column_stack(columns), axis=0, return_inverse=True)
        if len(keys) <= MOST:
            break
    angles = keys[:, 1] if len(columns) > 1 else None
    return Pieces(region.reshape(-1), keys[:, 0].astype(np.int64), angles)


def zones_of(pieces: Pieces, woods: CellWoods, solution: Solution) -> list[Zone]:
    """The zones whose wood has strengths; none where the grain changes steadily."""
    if pieces.grain is None:
        return []
    elements = solution.model.regions or {WHOLE: np.arange(solution.model.count)}
    names, found = list(elements), []
    for wood, grain in sorted(set(zip(pieces.wood.tolist(), pieces.grain.tolist(), strict=True))):
        made = woods.woods[wood]
        if isinstance(made, Wood):
            mine = np.flatnonzero((pieces.wood == wood) & (pieces.grain == grain))
            cells = {names[number]: elements[names[number]] for number in mine}
            points = np.isin(solution.stress_region, mine)
            found.append(Zone(tuple(cells), made, float(grain), cells, points))
    return found


def point_grain(solution: Solution) -> Array:
    """Direction of the grain at the stress points (m,), deg: the mean of the elements there."""
    twice = np.radians(2.0 * solution.model.cell_grain)
    total = np.zeros((2, len(solution.stress_point)))
    for rows, (_, _, place) in zip(solution.stress_blocks.values(), solution.model.blocks, strict=True):
        for one, values in zip(total, (np.cos(twice[place]), np.sin(twice[place])), strict=True):
            np.add.at(one, rows, values[:, None])
    return np.asarray(np.degrees(np.arctan2(total[1], total[0])) / 2.0)


def reentrant_corners(mesh: Mesh) -> Array:
    """Corners of the boundary (k, 2), mm, at which it turns into the wood sharply."""
    sides = boundary_sides(mesh.cells)
    begin, end = _tangents(mesh.points[sides])
    after = np.full(len(mesh.points), -1, dtype=np.int64)
    after[sides[:, 0]] = np.arange(len(sides))
    following = after[sides[:, 1]]
    known = following >= 0
    one, two = end[known], begin[following[known]]
    turn = np.degrees(np.arctan2(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0], (one * two).sum(axis=1)))
    return np.asarray(mesh.points[sides[known, 1][turn < -SHARP[sides.shape[1] - 1]]])


def _tangents(place: Array) -> tuple[Array, Array]:
    """Directions (k, 2) at the first and the second end of sides with nodes (k, 2 or 3, 2)."""
    first, second = place[:, 0], place[:, 1]
    if place.shape[1] == 2:
        return second - first, second - first
    return 4 * place[:, 2] - 3 * first - second, first + 3 * second - 4 * place[:, 2]
