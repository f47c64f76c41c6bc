"""A mesh: frozen arrays and names for the things in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

NODES_OF = MappingProxyType({"triangle": 3, "triangle6": 6, "quad": 4, "quad8": 8})


def _frozen(array: object, dtype: type) -> NDArray[Any]:
    copy: NDArray[Any] = np.array(array, dtype=dtype)
    copy.setflags(write=False)
    return copy


@dataclass(frozen=True)
class Mesh:
    """Points, cells and names.

    Parameters
    ----------
    points : (n, 2) array
        Coordinates, mm.
    cells : mapping of str to (e, nodes) array
        Node numbers by cell type as meshio spells it; corners counter-clockwise, then the middle nodes
        of sides 0-1, 1-2, 2-0.
    regions : mapping of str to mapping of str to (k,) array, optional
        Cell numbers by type for each named region; without any the mesh is one region.
    edges : mapping of str to (k, 3) array, optional
        Boundary sides by name: end, end, middle (of straight two-node sides: (k, 2)). The wood lies on
        the left of the direction from the first end to the second.
    point_sets : mapping of str to (k,) array, optional
        Node numbers by name.

    Raises
    ------
    InputError
        For coordinates that are not finite, or node or cell numbers that do not exist.
    """

    points: FloatArray
    cells: Mapping[str, IntArray]
    regions: Mapping[str, Mapping[str, IntArray]] = field(default_factory=dict)
    edges: Mapping[str, IntArray] = field(default_factory=dict)
    point_sets: Mapping[str, IntArray] = field(default_factory=dict)

    def __post_init__(self) -> None:
        points = _frozen(self.points, np.float64)
        if points.ndim != 2 or points.shape[1] != 2:
            raise InputError(f"Mesh points have shape {points.shape}; give (n, 2) coordinates in mm.")
        if not np.isfinite(points).all():
            bad = int(np.flatnonzero(~np.isfinite(points).all(axis=1))[0])
            raise InputError(f"Mesh point {bad} is not finite.")
        object.__setattr__(self, "points", points)
        cells = {}
        for kind, block in self.cells.items():
            if kind not in NODES_OF:
                raise InputError(f'Cell type "{kind}" is not supported. Types: {", ".join(NODES_OF)}.')
            cells[kind] = self._nodes(block, f'cells "{kind}"', NODES_OF[kind])
        object.__setattr__(self, "cells", MappingProxyType(cells))
        edges = {name: self._nodes(block, f'edge "{name}"', None) for name, block in self.edges.items()}
        object.__setattr__(self, "edges", MappingProxyType(edges))
        sets = {name: self._nodes(block, f'point set "{name}"', None) for name, block in self.point_sets.items()}
        object.__setattr__(self, "point_sets", MappingProxyType(sets))
        regions = {name: self._cells_of(name, blocks) for name, blocks in self.regions.items()}
        object.__setattr__(self, "regions", MappingProxyType(regions))

    def _nodes(self, block: object, what: str, columns: int | None) -> IntArray:
        array = _frozen(block, np.int64)
        if columns is not None and (array.ndim != 2 or array.shape[1] != columns):
            raise InputError(f"Mesh {what} has shape {array.shape}; give (e, {columns}) node numbers.")
        if array.size and (array.min() < 0 or array.max() >= len(self.points)):
            row, point = self._strange(array)
            raise InputError(
                f"Mesh {what} names a point that is not there: number {row} has {point} "
                f"(0 to {len(self.points) - 1} are)."
            )
        return array

    def _strange(self, array: IntArray) -> tuple[int, int]:
        """The first row that names a point which does not exist, and that point."""
        wrong = (array < 0) | (array >= len(self.points))
        place = np.unravel_index(int(np.argmax(wrong)), array.shape)
        return int(place[0]), int(array[place])

    def _cells_of(self, name: str, blocks: Mapping[str, object]) -> Mapping[str, IntArray]:
        """The cell numbers of one region, by type."""
        found = {}
        for kind, block in blocks.items():
            if kind not in self.cells:
                raise InputError(f'Mesh region "{name}" names cells "{kind}", and the mesh has none of that type.')
            numbers, count = _frozen(block, np.int64), len(self.cells[kind])
            if numbers.ndim != 1:
                raise InputError(f'Mesh region "{name}" has shape {numbers.shape}; give (k,) cell numbers.')
            if numbers.size and (numbers.min() < 0 or numbers.max() >= count):
                raise InputError(
                    f'Mesh region "{name}" names a cell "{kind}" that is not there (0 to {count - 1} are).'
                )
            found[kind] = numbers
        return MappingProxyType(found)

    @property
    def size(self) -> float:
        """Diagonal of the bounding box, mm."""
        return float(np.linalg.norm(np.ptp(self.points, axis=0)))
