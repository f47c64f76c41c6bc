"""Meshes to and from meshio and pyvista, and VTU files; the one file that imports meshio."""

from __future__ import annotations

import contextlib
import io
import warnings
from collections.abc import Iterator, Mapping
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import InputError, MissingLibraryError
from ..units import shorten
from .mesh import NODES_OF, FloatArray, Mesh

Arrays = Mapping[str, ArrayLike]
VTK_TYPE = {"triangle": 5, "triangle6": 22, "quad": 9, "quad8": 23}  # VTK file formats, cell types


def to_meshio(mesh: Mesh, point_data: Arrays | None = None, cell_data: Arrays | None = None) -> Any:
    """Turn a mesh into a ``meshio.Mesh``.

    Parameters
    ----------
    mesh : Mesh
        Points and cells are taken; the names of edges and regions have no place in it.
    point_data : mapping of str to (n, ...) array, optional
        Values at the points; vectors of two components get a third of 0, as VTK wants them.
    cell_data : mapping of str to (e, ...) array, optional
        Values of all cells, in the order of ``mesh.cells``.

    Returns
    -------
    meshio.Mesh
        With points (n, 3), z = 0.

    Raises
    ------
    InputError
        For data whose length is not the number of points or cells.
    """
    import meshio

    blocks = [(kind, np.asarray(cells)) for kind, cells in mesh.cells.items()]
    starts = np.cumsum([len(cells) for _, cells in blocks])[:-1]
    count = sum(len(cells) for _, cells in blocks)
    by_cell = {name: np.split(values, starts) for name, values in _checked(cell_data, count, "cells").items()}
    at_points = _checked(point_data, len(mesh.points), "points")
    return meshio.Mesh(_padded(mesh.points), blocks, point_data=at_points, cell_data=by_cell)


def from_meshio(other: Any) -> Mesh:
    """Take points and cells of a ``meshio.Mesh``; lines and vertices in it are left out.

    Raises
    ------
    InputError
        For cells that are not triangles or quadrilaterals, and for points out of the plane z = 0.
    """
    blocks: dict[str, list[NDArray[Any]]] = {}
    for block in other.cells:
        if block.type in ("vertex", "line", "line3"):
            continue
        if block.type not in NODES_OF:
            raise InputError(f'Cell type "{block.type}" is not supported. Types: {", ".join(NODES_OF)}.')
        blocks.setdefault(block.type, []).append(np.asarray(block.data))
    if not blocks:
        raise InputError(f"The mesh has no cells of the types {', '.join(NODES_OF)}.")
    cells = {kind: np.concatenate(parts) for kind, parts in blocks.items()}
    return Mesh(_plane(np.asarray(other.points, dtype=np.float64)), cells)


def write_vtu(path: Path | str, mesh: Mesh, point_data: Arrays | None = None, cell_data: Arrays | None = None) -> None:
    """Write a VTU file (VTK XML, binary) that meshio and pyvista read.

    Fields on stress points, which repeat a node at an interface, need no more than their own points and
    cells: ``write_vtu(path, Mesh(points[stress_point], {"triangle6": cells}), fields)``.

    Parameters
    ----------
    path : path
        The file; its folder must be there.
    mesh : Mesh
        Points and cells.
    point_data, cell_data : mapping of str to array, optional
        As for `to_meshio`.

    Raises
    ------
    InputError
        If the file cannot be written, or data do not fit.
    """
    import meshio

    grid = to_meshio(mesh, point_data, cell_data)
    try:
        meshio.vtu.write(str(path), grid)
    except OSError as error:
        raise InputError(
            f"Cannot write {path}: {error.strerror or error}. Choose a folder you may write to."
        ) from error


def read_vtu(path: Path | str) -> tuple[Mesh, dict[str, FloatArray]]:
    """Read a VTU file.

    Returns
    -------
    Mesh
        Points and cells.
    dict of str to (n, ...) array
        The values at the points.

    Raises
    ------
    InputError
        If the file is not there, not VTU, or not a plane mesh of triangles and quadrilaterals.
    """
    import meshio

    if not Path(path).is_file():
        raise InputError(f"There is no file {path}.")
    try:
        # the format's own reader: meshio.read would end the process on a broken file
        found = meshio.vtu.read(str(path))
    except (Exception, SystemExit) as error:
        raise InputError(f"{path} could not be read as VTU ({error or type(error).__name__}).") from error
    data = {name: np.asarray(values, dtype=np.float64) for name, values in found.point_data.items()}
    return from_meshio(found), data


ROOM, ROOM_A_BYTE = 300_000_000, 60  # bytes that reading may take, and for each byte of the file
FORMATS = {".msh": "gmsh", ".vtu": "vtu", ".xdmf": "xdmf", ".xmf": "xdmf"}


def read_mesh_file(path: Path) -> Any:
    """Read a mesh that others made.

    Parameters
    ----------
    path : Path
        A gmsh (.msh), VTU or XDMF file.

    Returns
    -------
    meshio.Mesh

    Raises
    ------
    InputError
        For another kind of file, and one that is broken off, damaged or of another kind than its name says.
    MissingLibraryError
        For XDMF without h5py.
    """
    import meshio

    kind = FORMATS.get(path.suffix.lower())
    if kind is None:
        raise InputError(
            f'"{path.name}" is not a known kind of mesh file. Kinds: {", ".join(FORMATS)}.', key="mesh.file"
        )
    if kind == "xdmf":
        _need_h5py()
    said = io.StringIO()
    try:
        # the format's own reader: meshio.read would end the process on a broken file; what is read in part is refused
        with contextlib.redirect_stderr(said), contextlib.redirect_stdout(said), _bounded(path.stat().st_size):
            found = getattr(meshio, kind).read(str(path))
    except (Exception, SystemExit) as error:
        raise _unreadable(path, kind, " ".join(str(error).split()) or type(error).__name__) from None
    if "not closed" in said.getvalue():
        raise _unreadable(path, kind, "it ends too early")
    return found


@contextlib.contextmanager
def _bounded(size: int) -> Iterator[None]:
    """Read a file of so many bytes: what is read in part is an error, and damaged counts cannot fill the memory.

    A count of cells or points that is damaged asks for gigabytes, which end the process before they are refused. So the
    room that a process may take is bounded while it reads; where the system knows no such bound it is not.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("error", DeprecationWarning)
        try:
            import resource

            pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
        except (ImportError, OSError, ValueError):
            yield
            return
        soft, hard = resource.getrlimit(resource.RLIMIT_AS)
        wanted = pages * resource.getpagesize() + ROOM + ROOM_A_BYTE * size
        bound = min([wanted, *(limit for limit in (soft, hard) if limit != resource.RLIM_INFINITY)])
        try:
            resource.setrlimit(resource.RLIMIT_AS, (bound, hard))
            yield
        finally:
            resource.setrlimit(resource.RLIMIT_AS, (soft, hard))


def _unreadable(path: Path, kind: str, why: str) -> InputError:
    advice = "Write it again; perhaps it was broken off, or is of another kind than its name says."
    if "Incompatible cell data" in why:
        advice = "In gmsh leave Mesh.SaveAll at 0, so that only what is in a physical group is written."
    what = {"gmsh": "a gmsh mesh", "vtu": "VTU", "xdmf": "XDMF"}[kind]
    return InputError(f"{path.name} could not be read as {what}: {shorten(why, 160)}. {advice}", key="mesh.file")


def _need_h5py() -> None:
    if find_spec("h5py") is None:
        raise MissingLibraryError(
            "XDMF files are read with h5py, which is not installed: pip install 'fesolve[xdmf]'. Or save the mesh as "
            "VTU."
        )


def to_pyvista(mesh: Mesh, point_data: Arrays | None = None, cell_data: Arrays | None = None) -> Any:
    """Turn a mesh into a ``pyvista.UnstructuredGrid``; parameters as for `to_meshio`."""
    import pyvista

    flat = [np.insert(cells, 0, cells.shape[1], axis=1).ravel() for cells in mesh.cells.values()]
    kinds = [np.full(len(cells), VTK_TYPE[kind], dtype=np.uint8) for kind, cells in mesh.cells.items()]
    grid = pyvista.UnstructuredGrid(np.concatenate(flat), np.concatenate(kinds), _padded(mesh.points))
    for name, values in _checked(point_data, len(mesh.points), "points").items():
        grid.point_data[name] = values
    for name, values in _checked(cell_data, sum(map(len, mesh.cells.values())), "cells").items():
        grid.cell_data[name] = values
    return grid


def _checked(data: Arrays | None, count: int, what: str) -> dict[str, NDArray[Any]]:
    """Arrays as VTK takes them: one row each, vectors of three components, no booleans."""
    out = {}
    for name, given in (data or {}).items():
        values = np.asarray(given)
        if values.ndim == 0 or len(values) != count:
            raise InputError(f'Data "{name}" has shape {values.shape}, but there are {count} {what}.')
        if values.dtype == bool:
            values = values.astype(np.uint8)
        out[name] = np.ascontiguousarray(_padded(values) if values.ndim == 2 and values.shape[1] == 2 else values)
    return out


def _padded(pairs: NDArray[Any]) -> NDArray[Any]:
    return np.hstack([pairs, np.zeros((len(pairs), 1), dtype=pairs.dtype)])


def _plane(points: FloatArray) -> FloatArray:
    if points.shape[1] == 3:
        off = float(np.abs(points[:, 2]).max(initial=0.0))
        if off > 1e-9 * max(float(np.abs(points).max(initial=0.0)), 1.0):
            raise InputError(f"The mesh is not plane: a point lies at z = {off:.6g} mm. Give a mesh with z = 0.")
    return points[:, :2]
