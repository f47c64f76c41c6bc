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
    start : (nodes + 1,) int32 array
        First pair of each column; the diagonal pair comes first.
    slots : (k,) int32 array
        The pair that each element pair adds to, group after group.
    flipped : (k,) bool array
        Element pairs whose first node has the lower number: their block is transposed.
    """

    nodes: int
    row: SlotArray
    start: SlotArray
    slots: SlotArray
    flipped: NDArray[np.bool_]

    @classmethod
    def of(cls, count: int, groups: Sequence[tuple[SlotArray, tuple[IntArray, IntArray]]]) -> Pattern:
        """From groups of cells (e, a) with their local pairs (a >= b), on `count` nodes.

        Within a group element pairs are counted pair by pair, then by element. Every node is in the pattern with its
        diagonal, used or not.
        """
        first = np.concatenate([cells.T[one].reshape(-1) for cells, (one, _) in groups])
        second = np.concatenate([cells.T[two].reshape(-1) for cells, (_, two) in groups])
        diagonal = np.arange(count, dtype=np.int32)
        columns, rows = np.minimum(first, second), np.maximum(first, second)
        number, row, start = _number_pairs(np.concatenate([diagonal, columns]), np.concatenate([diagonal, rows]), count)
        return cls(count, row, start, number[count:], first < second)

    def layout(self) -> Layout:
        """The scalar lower triangle by columns: row of each entry, first entry of each column, pair-entry places.

        Returns
        -------
        rows : (Z,) int32 array
        pointer : (2 nodes + 1,) int32 array
            The diagonal entry comes first in each column.
        places : (4, P) int32 array
            Entry of each pair's component; the upper right one of a diagonal pair has none and points past the end.
        """
        size = np.diff(self.start)
        counts = np.column_stack([2 * size, 2 * size - 1]).reshape(-1)
        pointer = np.concatenate([[0], np.cumsum(counts)]).astype(np.int32)
        double_rank = 2 * (np.arange(len(self.row), dtype=np.int32) - np.repeat(self.start[:-1], size))
        left = np.repeat(pointer[:-1:2], size) + double_rank
        right = np.repeat(pointer[1::2], size) + double_rank - 1
        places = np.stack([left, right, left + 1, right + 1])
        places[1, self.start[:-1]] = pointer[-1]
        rows = np.empty(pointer[-1] + 1, dtype=np.int32)
        double_row = 2 * self.row
        rows[left] = rows[places[1]] = double_row
        rows[left + 1] = rows[places[3]] = double_row + 1
        return rows[:-1], pointer, places

    def data(self, values: Array, layout: Layout) -> Array:
        """Entries (Z,) of the scalar lower triangle: blocks (4, k) of all element pairs, added up where they belong."""
        slots = self.slots.astype(np.intp)  # once, or bincount does it four times
        data = np.empty(len(layout[0]) + 1)
        for component, place in zip(values, layout[2], strict=True):
            data[place] = np.bincount(slots, component, minlength=len(self.row))
        return data[:-1]


def _number_pairs(column: SlotArray, row: SlotArray, count: int) -> tuple[SlotArray, SlotArray, SlotArray]:
    """Number the different pairs by column, then row.

    Returns
    -------
    number : (k,) int32 array
        The pair's number of each entry.
    row : (P,) int32 array
        Row of each pair.
    start : (count + 1,) int32 array
        First pair of each column.
    """
    from scipy import sparse

    size = len(column)
    # a sparse matrix with one mark in each column, transposed, is the fastest counting sort there is
    marks = sparse.csc_array(
        (np.ones(size, dtype=np.int8), column, np.arange(size + 1, dtype=np.int32)), shape=(count, size)
    ).tocsr()
    order = marks.indices
    by_column = sparse.csr_array((order, row[order], marks.indptr), shape=(count, count))
    by_column.sort_indices()
    order, sorted_row, first = by_column.data, by_column.indices, by_column.indptr
    fresh = np.empty(size, dtype=bool)
    fresh[1:] = sorted_row[1:] != sorted_row[:-1]
    fresh[first[:-1]] = True  # every column has its diagonal
    counted = np.cumsum(fresh, dtype=np.int32)
    number = np.empty(size, dtype=np.int32)
    number[order] = counted - 1
    return number, sorted_row[fresh], np.concatenate([[0], counted[first[1:] - 1]]).astype(np.int32)
