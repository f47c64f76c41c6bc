"""From a plane grid to a grid with displacement, stress and utilisation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..fem.model import PlaneModel
from ..fem.picked import Picked
from ..fem.six_node import with_six_nodes
from ..fem.solution import Solution
from ..judge.plain_fields import searched, split_searches, zone_fields
from ..judge.zones import Zone
from ..mesh.from_grid import GridMesh, mesh_of_grid, solved_grid
from ..mesh.mesh import Mesh
from ..units import KINDS, UNIT_NAMES, parse_quantity, shorten
from ..wood.model import Wood
from ..wood.orthotropic import stress_rotation
from .near import near_what_presses
from .places import Acting, held_and_loaded, with_places
from .values import CellWoods, cell_angles, cell_lengths, cell_woods
from .zones import MOST, Pieces, pieces_of, point_grain, reentrant_corners, zones_of

Array = NDArray[np.float64]

THICKNESS, GRAIN = "fesolve_thickness", "fesolve_grain"


@dataclass(frozen=True)
class Chosen:
    """The wood of a grid as the caller names it, and how it lies."""

    wood: Any
    thickness: Any
    grain: Any = 0.0
    basis: str | None = None
    board: str | None = None
    woods: Mapping[Any, Any] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Solved:
    """Everything behind a solved grid.

    Attributes
    ----------
    read : GridMesh
    solution : Solution
        In mm, N and MPa.
    woods : CellWoods
    pieces : Pieces
    acting : Acting
    places : mapping of str to Picked
        Points and sides of each place that is held or loaded.
    notes : tuple of str
        What was left out, and why.
    """

    read: GridMesh
    solution: Solution
    woods: CellWoods
    pieces: Pieces
    acting: Acting
    places: Mapping[str, Picked]

    @property
    def unlimited(self) -> Array:
        """Points (p, 2), mm, at which the stress has no limit: sharp corners, ends of what is fixed, single points."""
        mesh = self.solution.model.mesh
        found = [reentrant_corners(mesh)]
        for name, one in self.places.items():
            ends, times = np.unique(one.sides[:, :2], return_counts=True)
            if name in self.acting.holds:
                found.append(mesh.points[ends[times == 1]])
            if len(one.sides) == 0:
                found.append(mesh.points[one.points])
        return np.unique(np.concatenate(found), axis=0)

    @cached_property
    def _carried(self) -> Solution | InputError:
        try:
            return with_six_nodes(self.solution)
        except InputError as error:
            return error

    @property
    def six(self) -> Solution:
        """The solution on six-node triangles, along whose grain lines the search for splits runs.

        Raises
        ------
        InputError
            If a quadrilateral is bent so much that a half of it is folded.
        """
        if isinstance(self._carried, InputError):
            raise self._carried
        return self._carried

    @cached_property
    def zones(self) -> list[Zone]:
        """Wood of one kind with one grain, on the six-node triangles; only woods that can be judged."""
        return [] if isinstance(self._carried, InputError) else zones_of(self.pieces, self.woods, self.six)

    def on_six(self, values: Array) -> Array:
        """Values (m,) at the stress points of the six-node triangles, from those at the grid's own."""
        carried = replace(self.solution, stress_xy=np.repeat(values[:, None], 3, axis=1))
        return with_six_nodes(carried).stress_xy[:, 0]

    @property
    def notes(self) -> tuple[str, ...]:
        """What was left out, and why, a sentence each."""
        found = [
            f'Place "{name}": {one.left_out} of its points lie on no whole side of the grid\'s edge and do not count.'
            for name, one in self.places.items()
            if one.left_out
        ]
        if not any(isinstance(wood, Wood) for wood in self.woods.woods):
            found.append("The wood has no strengths, only elastic constants: stresses are not judged.")
        elif self.pieces.grain is None:
            found.append(
                f"The grain has more than {MOST} directions: splits are looked for along straight fibres, and are not "
                "judged here."
            )
        elif isinstance(self._carried, InputError):
            found.append(f"The cells are bent too much to look for splits: {self._carried.message}")
        return tuple(found)


def solve_on_grid(
    grid: Any, chosen: Chosen, acting: Acting, length_unit: str, *, slits: bool, utilisation: bool
) -> tuple[Any, Solved]:
    """Solve a plane grid as it is.

    Parameters
    ----------
    grid : pyvista.UnstructuredGrid
    chosen : Chosen
    acting : Acting
    length_unit : str
        Of the grid's points, and of thicknesses that are plain numbers.
    slits : bool
        Whether points that lie on one another without being one are meant.
    utilisation : bool
        Whether stresses are held against strengths.

    Returns
    -------
    pyvista.UnstructuredGrid
        With the caller's own arrays and the new ones.
    Solved

    Raises
    ------
    InputError
        For whatever cannot be used, and FreeMotionError if the part can slide or turn.
    """
    read = mesh_of_grid(grid, _scale(length_unit))
    if not slits:
        _check_joined(read)
    _check_one_piece(read)
    woods = cell_woods(grid, read, chosen.wood, chosen.basis, chosen.board, chosen.woods)
    thickness = cell_lengths(grid, read, chosen.thickness, "thickness")
    grain = cell_angles(grid, read, chosen.grain, "grain")
    pieces = pieces_of(woods, thickness, grain)
    mesh, places = with_places(grid, read, acting)
    model = held_and_loaded(_model(mesh, pieces, woods, thickness, grain), acting, places)
    solution = model.solve()
    if pieces.grain is None:
        turned = stress_rotation(point_grain(solution))
        solution = replace(solution, stress_grain=np.einsum("mst,mt->ms", turned, solution.stress_xy))
    solved = Solved(read, solution, woods, pieces, acting, places)
    points = {
        "displacement": _with_z(solution.displacement[solution.stress_point] / read.scale),
        "stress_grain": solution.stress_grain,
        "stress_xy": solution.stress_xy,
    }
    if utilisation and solved.zones:
        points |= utilisation_arrays(solved)
    cells = {THICKNESS: thickness, GRAIN: grain}
    return solved_grid(grid, read, solution.stress_point, solution.stress_blocks, points, cells), solved


def _model(mesh: Mesh, pieces: Pieces, woods: CellWoods, thickness: Array, grain: Array) -> PlaneModel:
    regions = pieces.elements(mesh)
    planes = woods.planes
    if not regions:
        return PlaneModel(mesh, planes[0], thickness=thickness, grain=grain)
    material = {name: planes[wood] for name, wood in zip(pieces.names, pieces.wood, strict=True)}
    return PlaneModel(replace(mesh, regions=regions), material, thickness=thickness, grain=grain)


def utilisation_arrays(solved: Solved) -> dict[str, Array]:
    """``utilisation_<mode>`` (m,) at the stress points; not-a-number where the wood has no strengths."""
    six, zones = solved.six, solved.zones
    places = solved.unlimited
    searches = split_searches(six, zones, reentrant_corners(solved.solution.model.mesh), places)
    near = near_what_presses(solved.solution, solved.acting, solved.places)
    total: dict[str, Array] = {}
    judged = np.any([zone.points for zone in zones], axis=0)
    for search, zone in zip(searches, zones, strict=True):
        result = searched(search, zone, six.stress_grain, near)
        for mode, values in zone_fields(search, zone, six.stress_grain, result).items():
            total[mode] = total.get(mode, 0.0) + values
    place = _among(solved.solution, six)
    return {utilisation_name(mode): np.where(judged, values, np.nan)[place] for mode, values in total.items()}


def utilisation_name(mode: str) -> str:
    """What the array of a mode is called."""
    return f"utilisation_{mode.replace(' ', '_')}"


def _among(one: Solution, six: Solution) -> NDArray[np.int64]:
    """Where the stress points of a solution stand among those of the same on six-node triangles, (m,)."""
    width = len(six.model.mesh.points)
    keys = six.stress_region * width + six.stress_point
    order = np.argsort(keys)
    return np.asarray(order[np.searchsorted(keys[order], one.stress_region * width + one.stress_point)])


def _scale(unit: str) -> float:
    if unit not in KINDS["length"].units:
        listed = ", ".join(one for one in UNIT_NAMES if one in KINDS["length"].units)
        raise InputError(f"length_unit is {shorten(repr(unit))}; units of length: {listed}.", key="length_unit")
    return parse_quantity(f"1 {unit}", "length")


def _check_joined(read: GridMesh) -> None:
    """Refuse grids that fall apart where points lie on one another."""
    from scipy.spatial import cKDTree

    pairs = cKDTree(read.mesh.points).query_pairs(max(read.rounding, 1e-9), output_type="ndarray")
    if len(pairs) == 0:
        return
    one, other = read.point[pairs[0]]
    x, y = read.mesh.points[pairs[0, 0]] / read.scale
    raise InputError(
        f"{len(np.unique(pairs))} points lie on other points, the first two are {one} and {other} at ({x:.6g}, "
        f"{y:.6g}): the cells are not joined there. Merge them with grid.clean(), or say slits=True if they are slits.",
        key="slits",
    )


def _check_one_piece(read: GridMesh) -> None:
    """Refuse grids in several pieces: a force on one would not reach what holds another."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    count = len(read.mesh.points)
    pairs = np.concatenate(
        [np.stack([block, np.roll(block, 1, axis=1)], axis=2).reshape(-1, 2) for block in read.mesh.cells.values()]
    )
    graph = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    pieces, label = connected_components(graph, directed=False)
    if pieces > 1:
        number = int(np.argmax(label != label[0]))
        x, y = read.mesh.points[number] / read.scale
        raise InputError(
            f"The grid falls into {pieces} pieces that share no points; point {read.point[number]} at ({x:.6g}, "
            f"{y:.6g}) belongs to another piece than the first. Solve each of grid.split_bodies(), or join them.",
            key="grid",
        )


def _with_z(pairs: Array) -> Array:
    return np.column_stack([pairs, np.zeros(len(pairs))])
