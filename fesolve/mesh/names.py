"""From what meshio has read to a plane mesh with names: physical groups of gmsh, arrays of VTU and XDMF."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from .given import KEY, NODES, Given, precision_of
from .mesh import FloatArray, IntArray

LINES = ("line", "line3")
BEYOND = 1e12  # in any unit no place of a part
FLAT = 1e-6  # of the size: how far a point may lie off the plane of the others
MOST_VALUES = 100  # different values of an array that names things; more are numbers, not names
OWN = ("gmsh:geometrical", "gmsh:dim_tags", "gmsh:bounding_entities")
PHYSICAL = "gmsh:physical"
Group = tuple[str, str, IntArray]  # name, kind of cells ("cells", "lines", "nodes"), numbers


def given_in(read: Any, scale: float) -> Given:
    """The plane mesh in a ``meshio.Mesh``, lengths times `scale` (mm).

    Parameters
    ----------
    read : meshio.Mesh
    scale : float
        mm a unit of its coordinates.

    Returns
    -------
    Given
        Named are: physical groups of gmsh (by number where they have no name); an array of whole numbers at cells or
        points, by its own name if it holds 0 and 1 alone, else ``NAME 2`` for each of its values but 0.

    Raises
    ------
    InputError
        For cells in three dimensions or of a kind that is not supported, lines that are no sides of cells, and points
        off the plane.
    """
    _check_kinds(read)
    points = _plane(np.asarray(read.points, dtype=np.float64))
    blocks: dict[str, list[NDArray[Any]]] = {}
    for block in read.cells:
        if block.type in NODES:
            blocks.setdefault(block.type, []).append(np.asarray(block.data, dtype=np.int64))
    cells = {kind: np.concatenate(parts) for kind, parts in blocks.items()}
    lines = [np.asarray(block.data, dtype=np.int64)[:, :2] for block in read.cells if block.type in LINES]
    every_line = np.concatenate([np.zeros((0, 2), dtype=np.int64), *lines])
    _check_numbers(len(points), [*cells.values(), every_line])
    _check_stray(points, cells, every_line)
    regions, edges, nodes = _groups(read, cells, every_line)
    cells, regions, notes = _merged(cells, regions)
    used = np.zeros(len(points), dtype=bool)
    for block in cells.values():
        used[block] = True
    if not used.all():
        notes.append(f"{int((~used).sum()):,} of its points are in no cell and are left out.")
    return Given(points * scale, cells, regions, edges, nodes, tuple(notes), scale, precision_of(points))


def _check_kinds(read: Any) -> None:
    kinds = [block.type for block in read.cells if len(block.data)]
    solid = [kind for kind in kinds if kind.startswith(("tetra", "hexa", "wedge", "pyramid", "polyhedron"))]
    if solid:
        raise InputError(
            f'The mesh is in three dimensions (cells "{solid[0]}"). A part is drawn in the plane: give a mesh of its '
            "face, in x and y.",
            key=KEY,
        )
    strange = [kind for kind in kinds if kind not in (*NODES, *LINES, "vertex")]
    strange.sort(key=lambda kind: kind.startswith("line"))  # what is said of the cells is what helps
    if strange:
        raise InputError(f'Cell type "{strange[0]}" is not supported. Types: {", ".join(NODES)}.', key=KEY)
    if not any(kind in NODES for kind in kinds):
        found = f"only cells of the types {', '.join(dict.fromkeys(kinds))}" if kinds else "no cells"
        raise InputError(f"The mesh has {found}; it needs some of {', '.join(NODES)}.", key=KEY)


def _plane(points: FloatArray) -> FloatArray:
    """The first two coordinates of points; the third has to be the same everywhere."""
    if points.ndim != 2 or points.shape[1] not in (2, 3):
        raise InputError(f"The points of the mesh have shape {points.shape}; (n, 2) or (n, 3) is wanted.", key=KEY)
    sound = (np.abs(points) < BEYOND).all(axis=1)
    if not sound.all():
        bad = int(np.argmin(sound))
        what = (
            f"lies at {points[bad, 0]:.3g}, {points[bad, 1]:.3g}" if np.isfinite(points[bad]).all() else "is not finite"
        )
        raise InputError(f"Point {bad} of the mesh {what}. The file is damaged.", key=KEY)
    if points.shape[1] == 3 and len(points):
        size = float(np.linalg.norm(np.ptp(points, axis=0)))
        low, high = float(points[:, 2].min()), float(points[:, 2].max())
        if high - low > FLAT * size:
            raise InputError(
                f"The mesh is not plane: z goes from {low:.6g} to {high:.6g}. Give a mesh in x and y, all at one z.",
                key=KEY,
            )
    return points[:, :2]


def _check_numbers(count: int, blocks: list[IntArray]) -> None:
    for block in blocks:
        if block.size and (block.min() < 0 or block.max() >= count):
            raise InputError(f"A cell names a point that is not there (there are {count:,}).", key=KEY)


def _check_stray(points: FloatArray, cells: dict[str, IntArray], lines: IntArray) -> None:
    """Refuse lines that are no sides of cells."""
    found = []
    for kind, block in cells.items():
        corner = block[:, : 3 if kind.startswith("triangle") else 4]
        found.append(np.stack([corner, np.roll(corner, -1, axis=1)], axis=-1).reshape(-1, 2))
    sides = np.concatenate(found)
    width = len(points)
    keys, wanted = (one.min(axis=1) * width + one.max(axis=1) for one in (sides, lines))
    stray = ~np.isin(wanted, keys)
    if stray.any():
        (ax, ay), (bx, by) = points[lines[int(np.argmax(stray))]]
        raise InputError(
            f"{int(stray.sum()):,} lines of the mesh are no sides of its cells, the first from ({ax:.6g}, {ay:.6g}) to "
            f"({bx:.6g}, {by:.6g}) in the unit of the file. Leave out what is not of the part (in gmsh: give physical "
            "groups to its face and its edges alone, and leave Mesh.SaveAll at 0).",
            key=KEY,
        )


# ---- names


def _groups(
    read: Any, cells: dict[str, IntArray], lines: IntArray
) -> tuple[dict[str, IntArray], dict[str, IntArray], dict[str, IntArray]]:
    """Cells (counted over all types), sides (k, 2) and points of each name."""
    first = dict(zip(cells, np.cumsum([0, *map(len, cells.values())]).tolist(), strict=False))
    places: list[tuple[str, IntArray]] = []  # of each block: what its cells are, and their numbers
    seen, line = dict.fromkeys(cells, 0), 0
    for block in read.cells:
        number = np.arange(len(block.data))
        if block.type in NODES:
            places.append(("cells", first[block.type] + seen[block.type] + number))
            seen[block.type] += len(number)
        elif block.type in LINES:
            places.append(("lines", line + number))
            line += len(number)
        else:
            places.append(("nodes", np.asarray(block.data, dtype=np.int64).reshape(len(number), -1)[:, 0]))
    found: dict[str, dict[str, list[IntArray]]] = {"cells": {}, "lines": {}, "nodes": {}}
    for name, kind, numbers in _named(read, places):
        if len(numbers):
            found[kind].setdefault(name, []).append(numbers)
    regions, edges, nodes = (
        {name: np.unique(np.concatenate(parts)) for name, parts in found[kind].items()} for kind in found
    )
    return regions, {name: lines[numbers] for name, numbers in edges.items()}, nodes


def _named(read: Any, places: list[tuple[str, IntArray]]) -> Iterator[Group]:
    sets = {name: blocks for name, blocks in read.cell_sets.items() if name not in OWN}
    for name, blocks in sets.items():
        for (kind, numbers), chosen in zip(places, blocks, strict=True):
            if chosen is not None:
                yield name, kind, numbers[np.asarray(chosen, dtype=np.int64)]
    for name, arrays in read.cell_data.items():
        if name in OWN:
            continue
        for which in ("cells", "lines", "nodes"):
            mine = [
                (numbers, np.asarray(a)) for (kind, numbers), a in zip(places, arrays, strict=True) if kind == which
            ]
            if mine and all(values.ndim == 1 for _, values in mine):
                numbers, values = (np.concatenate(parts) for parts in zip(*mine, strict=True))
                yield from _of_array(read, name, which, numbers, values, sets)
    for name, values in read.point_data.items():
        if name not in OWN and np.asarray(values).ndim == 1:
            yield from _of_array(read, name, "nodes", np.arange(len(read.points)), np.asarray(values), sets)


def _of_array(
    read: Any, name: str, kind: str, numbers: IntArray, values: NDArray[Any], sets: dict[str, Any]
) -> Iterator[Group]:
    """The groups that an array of whole numbers makes."""
    if values.dtype == bool:
        values = values.astype(np.int64)
    if not np.issubdtype(values.dtype, np.integer):
        return
    known = np.unique(values)
    if name == PHYSICAL:
        dimension = {"nodes": 0, "lines": 1, "cells": 2}[kind]
        names = {int(one[0]): key for key, one in read.field_data.items() if int(one[1]) == dimension}
        for value in known[known != 0].tolist():
            if names.get(value) not in sets:
                yield names.get(value, str(value)), kind, numbers[values == value]
    elif np.isin(known, (0, 1)).all():
        yield name, kind, numbers[values == 1]
    elif len(known) <= MOST_VALUES:
        for value in known[known != 0].tolist():
            yield f"{name} {value}", kind, numbers[values == value]


def _merged(
    cells: dict[str, IntArray], regions: dict[str, IntArray]
) -> tuple[dict[str, IntArray], dict[str, IntArray], list[str]]:
    """Cells that are written once for each of their groups, as gmsh 2 does it, made one cell."""
    kept, number, first, left = {}, [], 0, 0
    for kind, block in cells.items():
        _, once, inverse = np.unique(np.sort(block, axis=1), axis=0, return_index=True, return_inverse=True)
        order = np.argsort(np.argsort(once))
        kept[kind] = block[np.sort(once)]
        number.append(left + order[inverse.reshape(-1)])
        first, left = first + len(block), left + len(once)
    if left == first or not _in_groups(np.concatenate(number), regions):
        return cells, regions, []
    new = np.concatenate(number)
    note = f"{first - left:,} cells are there once for each of their groups, and are used once."
    return kept, {name: np.unique(new[mine]) for name, mine in regions.items()}, [note]


def _in_groups(number: IntArray, regions: dict[str, IntArray]) -> bool:
    """Whether no group holds a cell twice, and each cell that is there twice is in as many groups."""
    total = np.zeros(number.max() + 1, dtype=np.int64)
    for mine in regions.values():
        np.add.at(total, np.unique(number[mine]), 1)
    times = np.bincount(number)
    return bool((total[times > 1] >= times[times > 1]).all())
