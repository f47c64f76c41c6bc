"""Plane grids of pyvista as meshes, and solved meshes as grids again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from .convert import VTK_TYPE
from .mesh import NODES_OF, FloatArray, IntArray, Mesh

LEFT_OUT = MappingProxyType({0: "empty", 1: "vertex", 2: "vertices", 3: "line", 4: "line", 21: "line"})
PIXEL = 8
KIND_OF = {number: kind for kind, number in VTK_TYPE.items()} | {PIXEL: "quad"}
VOLUMES = frozenset({10, 11, 12, 13, 14, 15, 16, 24, 25, 26, 27, 29, 30, 32, 33, 41, 42})  # VTK file formats
TURNED = MappingProxyType({
    "triangle": [0, 2, 1],
    "triangle6": [0, 2, 1, 5, 4, 3],
    "quad": [0, 3, 2, 1],
    "quad8": [0, 3, 2, 1, 7, 6, 5, 4],
})  # fmt: skip
FLAT = 1e-6  # of the grid's size: points further from one plane are not plane


@dataclass(frozen=True)
class GridMesh:
    """A plane grid as a mesh, and which of its points and cells are which.

    Attributes
    ----------
    mesh : Mesh
        Points in mm, all cells counter-clockwise; its blocks hold the cells of a kind in the order of the grid.
    point, cell : (n,), (e,) arrays
        Number in the grid of each point, and of each element counted over all kinds.
    scale : float
        mm in a unit of the grid.
    height : float
        z of the grid's plane, in its own unit.
    points, cells : int
        How many the grid has.
    rounding : float
        By how much rounding may move a point, mm: a grid may have single precision.
    """

    mesh: Mesh
    point: IntArray
    cell: IntArray
    scale: float
    height: float
    points: int
    cells: int
    rounding: float

    @property
    def number(self) -> IntArray:
        """Number in the mesh of each point of the grid; -1 of those that no cell uses."""
        found = np.full(self.points, -1, dtype=np.int64)
        found[self.point] = np.arange(len(self.point))
        return found


def mesh_of_grid(grid: Any, scale: float = 1.0) -> GridMesh:
    """Read a plane grid.

    Parameters
    ----------
    grid : pyvista.DataSet
        Of three- and six-node triangles, four- and eight-node quadrilaterals, in a plane of constant z; lines and
        vertices in it are left out, points of no cell as well.
    scale : float
        mm in a unit of the grid.

    Raises
    ------
    InputError
        For other cells, cells with a volume, no cells, or points that do not lie in one plane.
    """
    import pyvista

    kinds = np.asarray(grid.celltypes)
    _check_kinds(kinds)
    nodes = np.asarray(grid.cell_connectivity, dtype=np.int64)
    start = np.asarray(pyvista.convert_array(grid.GetCells().GetOffsetsArray()), dtype=np.int64)
    blocks: dict[str, IntArray] = {}
    cells: dict[str, IntArray] = {}
    for kind in NODES_OF:
        mine = np.flatnonzero(np.isin(kinds, [number for number, name in KIND_OF.items() if name == kind]))
        if len(mine):
            block = nodes[start[mine][:, None] + np.arange(NODES_OF[kind])]
            pixel = kinds[mine] == PIXEL
            block[pixel] = block[pixel][:, [0, 1, 3, 2]] if pixel.any() else block[pixel]
            blocks[kind], cells[kind] = block, mine
    used = np.unique(np.concatenate([block.ravel() for block in blocks.values()]))
    given = np.asarray(grid.points)
    place = np.asarray(given, dtype=np.float64)[used]
    height = _check_plane(place)
    number = np.full(grid.n_points, -1, dtype=np.int64)
    number[used] = np.arange(len(used))
    flat = scale * place[:, :2]
    found = {kind: _counter_clockwise(kind, number[block], flat) for kind, block in blocks.items()}
    precision = float(np.finfo(given.dtype).eps) if given.dtype.kind == "f" else 1e-16
    rounding = 4 * precision * float(np.abs(flat).max()) + 1e-9 * float(np.ptp(flat, axis=0).max())
    cell = np.concatenate([cells[kind] for kind in found])
    return GridMesh(Mesh(flat, found), used, cell, scale, height, grid.n_points, grid.n_cells, rounding)


def _check_kinds(kinds: NDArray[Any]) -> None:
    """Refuse grids with cells that cannot be used, or without those that can."""
    solid = int(np.isin(kinds, list(VOLUMES)).sum())
    if solid:
        raise InputError(
            f"The grid has {solid} cells with a volume (VTK type {_types(kinds, VOLUMES)}): it is three-dimensional. "
            'Give a plane one, such as a cut through it: grid.slice(normal="z").triangulate().'
        )
    strange = set(np.unique(kinds).tolist()) - set(KIND_OF) - set(LEFT_OUT)
    if strange:
        raise InputError(
            f"The grid has {int(np.isin(kinds, list(strange)).sum())} cells of VTK type {_types(kinds, strange)}; "
            "three- and six-node triangles (5, 22), four- and eight-node quadrilaterals (9, 23) can be used. "
            "grid.triangulate() turns cells with straight sides into triangles."
        )
    if not np.isin(kinds, list(KIND_OF)).any():
        raise InputError("The grid has no triangles and no quadrilaterals. Give a plane mesh, not lines or points.")


def _types(kinds: NDArray[Any], wanted: Any) -> str:
    return ", ".join(str(number) for number in np.unique(kinds).tolist() if number in wanted)


def _check_plane(points: FloatArray) -> float:
    """The z of all points; refuses those that are not finite or lie apart."""
    if not np.isfinite(points).all():
        bad = int(np.flatnonzero(~np.isfinite(points).all(axis=1))[0])
        raise InputError(f"Point {bad} of the grid's cells is at {tuple(points[bad].tolist())}: not finite.")
    low, high = float(points[:, 2].min()), float(points[:, 2].max())
    extent = np.ptp(points, axis=0)
    if high - low > FLAT * float(np.linalg.norm(extent)):
        turn = "rotate_x(90)" if extent[1] <= extent[0] else "rotate_y(90)"
        advice = f"turn it first: grid.{turn}." if extent.min() <= FLAT * extent.max() else "flatten or cut it first."
        raise InputError(
            f"The grid is not plane in x and y: its points lie between z = {low:.6g} and z = {high:.6g}. "
            f"Give a grid of constant z; {advice}"
        )
    return 0.5 * (low + high)


def _counter_clockwise(kind: str, cells: IntArray, points: FloatArray) -> IntArray:
    """The same cells, those that turn clockwise the other way round."""
    x, y = np.moveaxis(points[cells[:, : 3 if kind.startswith("triangle") else 4]], 2, 0)
    clockwise = (x * np.roll(y, -1, axis=1) - np.roll(x, -1, axis=1) * y).sum(axis=1) < 0
    return np.where(clockwise[:, None], cells[:, TURNED[kind]], cells)


def solved_grid(
    grid: Any,
    read: GridMesh,
    points: IntArray,
    blocks: Mapping[str, IntArray],
    point_data: Mapping[str, NDArray[Any]],
    cell_data: Mapping[str, NDArray[Any]],
) -> Any:
    """Make a grid with new arrays; the given one stays as it is.

    Parameters
    ----------
    grid : pyvista.DataSet
        The grid that `read` was read from: its own arrays go over.
    read : GridMesh
    points : (m,) array
        Mesh point of each point of the new grid; points repeat where stresses jump.
    blocks : mapping of str to (e, a) array
        Points of each element by kind, as the mesh's cells.
    point_data, cell_data : mapping of str to array
        New arrays (m, ...) and (e, ...), elements counted over all kinds.

    Returns
    -------
    pyvista.UnstructuredGrid
        Its cells in the order of the given grid, lines and vertices left out.
    """
    import pyvista

    order = np.argsort(read.cell, kind="stable")
    sizes = np.concatenate([np.full(len(block), block.shape[1]) for block in blocks.values()])
    kinds = np.concatenate([np.full(len(block), VTK_TYPE[kind], dtype=np.uint8) for kind, block in blocks.items()])
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.cumsum(sizes[order] + 1) - sizes[order] - 1
    flat, first = np.empty(int(sizes.sum()) + len(sizes), dtype=np.int64), 0
    for block in blocks.values():
        mine = place[first : first + len(block), None]
        flat[mine + np.arange(block.shape[1] + 1)] = np.insert(block, 0, block.shape[1], axis=1)
        first += len(block)
    old = read.point[points]
    made = pyvista.UnstructuredGrid(flat, kinds[order], np.asarray(grid.points, dtype=np.float64)[old])
    for name in grid.field_data:
        made.field_data[name] = grid.field_data[name]
    for name in grid.point_data:
        made.point_data[name] = np.asarray(grid.point_data[name])[old]
    for name in grid.cell_data:
        made.cell_data[name] = np.asarray(grid.cell_data[name])[read.cell[order]]
    for name, values in point_data.items():
        made.point_data[name] = values
    for name, values in cell_data.items():
        made.cell_data[name] = values[order]
    return made
