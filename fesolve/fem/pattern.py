"""Where the stiffness of a mesh has entries: made once a mesh, refilled for every material.

The pattern is one of node pairs, a quarter of the size of the matrix; the lower triangle is kept by columns, so that
it goes to the factorisation as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
SlotArray = NDArray[np.int32]
Layout = tuple[SlotArray, SlotArray, SlotArray]  # rows, column pointer, places of pair components


@dataclass(frozen=True)
class Pattern:
    """Node pairs (i >= j) that share an element, by column j, then i; and where element pairs go.

    Attributes
    ----------
    nodes : int
    row : (P,) int32 array
        i of each pair.
    start : (nodes + 1,) array
        First pair of each column; the diagonal pair comes first.
    slots : tuple of (e, p) int32 arrays
        For each block of cells the pair that each element pair adds to.
    flipped : tuple of (e, p) bool arrays
        Element pairs whose first node has the lower number: their block is transposed.
    """

    nodes: int
    row: SlotArray
    start: IntArray
    slots: tuple[SlotArray, ...]
    flipped: tuple[NDArray[np.bool_], ...]

    @classmethod
    def of(cls, count: int, groups: Sequence[tuple[IntArray, tuple[IntArray, IntArray]]]) -> Pattern:
        """From blocks of cells (e, a) with their local pairs (a >= b), on `count` nodes.

        Every node is in the pattern with its diagonal, used or not.
        """
        keys, flips = [np.arange(count) * (count + 1)], []
        for cells, (one, two) in groups:
            first, second = cells[:, one], cells[:, two]
            flips.append(first < second)
            keys.append((np.minimum(first, second) * count + np.maximum(first, second)).reshape(-1))
        every = np.concatenate(keys)
        unique, inverse = np.unique(every, return_inverse=True)
        column, row = np.divmod(unique, count)
        start = np.searchsorted(column, np.arange(count + 1))
        sizes = np.cumsum([count, *[flip.size for flip in flips]])
        slots = tuple(
            inverse[begin:end].astype(np.int32).reshape(flip.shape)
            for begin, end, flip in zip(sizes[:-1], sizes[1:], flips, strict=True)
        )
        return cls(count, row.astype(np.int32), start, slots, tuple(flips))

    def column(self) -> IntArray:
        """Column j of each pair, (P,)."""
        return np.repeat(np.arange(self.nodes), np.diff(self.start))

    def sum(self, values: Sequence[Array]) -> Array:
        """Add up blocks (e, p, 2, 2) of each block of cells; returns (4, P), components (row, column) in order."""
        result = np.zeros((4, len(self.row)))
        for slots, flipped, blocks in zip(self.slots, self.flipped, values, strict=True):
            flat = slots.reshape(-1)
            parts = blocks.reshape(-1, 4).T
            swapped = flipped.reshape(-1)
            result[0] += np.bincount(flat, parts[0], minlength=len(self.row))
            result[1] += np.bincount(flat, np.where(swapped, parts[2], parts[1]), minlength=len(self.row))
            result[2] += np.bincount(flat, np.where(swapped, parts[1], parts[2]), minlength=len(self.row))
            result[3] += np.bincount(flat, parts[3], minlength=len(self.row))
        return result

    def layout(self) -> Layout:
        """The scalar lower triangle by columns: row of each entry, first entry of each column, pair-entry places.

        Returns
        -------
        rows : (Z,) int32 array
        pointer : (2 nodes + 1,) int32 array
        places : (4, P) int32 array
            Entry of each pair's component; the upper right one of a diagonal pair has none and points past the end.
        """
        size = np.diff(self.start)
        rank = np.arange(len(self.row)) - np.repeat(self.start[:-1], size)
        counts = np.column_stack([2 * size, 2 * size - 1]).reshape(-1)
        pointer = np.concatenate([[0], np.cumsum(counts)])
        column = self.column()
        left, right = pointer[2 * column] + 2 * rank, pointer[2 * column + 1] + 2 * rank - 1
        places = np.stack([left, right, left + 1, right + 1])
        places[1, rank == 0] = pointer[-1]
        rows = np.empty(pointer[-1] + 1, dtype=np.int32)
        rows[places[0]], rows[places[2]] = 2 * self.row, 2 * self.row + 1
        rows[places[1]], rows[places[3]] = 2 * self.row, 2 * self.row + 1
        return rows[:-1], pointer.astype(np.int32), places.astype(np.int32)

    def data(self, sums: Array, layout: Layout) -> Array:
        """Entries (Z,) of the scalar lower triangle from the sums (4, P)."""
        data = np.empty(len(layout[0]) + 1)
        for component, place in zip(sums, layout[2], strict=True):
            data[place] = component
        return data[:-1]
