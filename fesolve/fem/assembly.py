"""Element blocks into one sparse matrix, in the nodes' own frames; and what of it a set of supports leaves free."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from .constraints import Frames

if TYPE_CHECKING:
    from scipy.sparse import csc_array

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


def turn_pairs(blocks: Array, nodes: IntArray, pairs: tuple[IntArray, IntArray], frames: Frames) -> Array:
    """Blocks (e, p, 2, 2) of node pairs, turned into the nodes' frames where these differ from x, y.

    Parameters
    ----------
    blocks : (e, p, 2, 2) array
    nodes : (e, a) array
    pairs : (p,), (p,) arrays
        Local nodes a and b of each pair.
    frames : Frames
    """
    touched = np.flatnonzero(frames.turned[nodes].any(axis=1))
    if len(touched) == 0:
        return blocks
    axes = frames.axes[nodes[touched]]  # (e, a, c, i)
    blocks[touched] = axes[:, pairs[0]] @ blocks[touched] @ axes[:, pairs[1]].transpose(0, 1, 3, 2)
    return blocks


def collect(count: int, pairs: int, chunks: Iterable[tuple[IntArray, Array]]) -> Array:
    """Blocks (count, pairs, 2, 2) of all elements from chunks of them."""
    result = np.empty((count, pairs, 2, 2))
    for which, blocks in chunks:
        result[which] = blocks
    return result


@dataclass(frozen=True)
class FreePart:
    """The rows and columns of the lower triangle that supports leave free.

    Attributes
    ----------
    free : (f,) array
        Free unknowns.
    entries : (Z,) array
        Which entries of the whole lower triangle they keep.
    rows, columns : (Z,) int64 arrays
        Their place among the free unknowns.
    pointer : (f + 1,) int32 array
        First entry of each column.
    """

    free: IntArray
    entries: IntArray
    rows: IntArray
    columns: IntArray
    pointer: NDArray[np.int32]

    @classmethod
    def of(cls, pattern_rows: NDArray[np.int32], pattern_pointer: NDArray[np.int32], held: BoolArray) -> FreePart:
        """From the scalar pattern of the whole and the held unknowns (2n,)."""
        free = ~held
        number = np.cumsum(free) - 1
        columns = np.repeat(np.arange(len(held), dtype=np.int32), np.diff(pattern_pointer))
        entries = np.flatnonzero(free[pattern_rows] & free[columns])
        rows, inside = number[pattern_rows[entries]], number[columns[entries]]
        pointer = np.concatenate([[0], np.cumsum(np.bincount(inside, minlength=int(free.sum())))])
        return cls(np.flatnonzero(free), entries, rows, inside, pointer.astype(np.int32))

    def matrix(self, data: Array) -> csc_array[Any]:
        """The free lower triangle from the entries of the whole."""
        from scipy import sparse

        size = len(self.free)
        return sparse.csc_array((data[self.entries], self.rows.astype(np.int32), self.pointer), shape=(size, size))


def symmetric_product(lower: csc_array[Any], vectors: Array) -> Array:
    """K v from the lower triangle of K; vectors (f, c)."""
    return np.asarray(lower @ vectors + lower.T @ vectors - lower.diagonal()[:, None] * vectors)
