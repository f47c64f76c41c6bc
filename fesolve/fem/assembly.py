"""Element blocks in the nodes' own frames, and the lower triangle that they are summed into."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from .constraints import Frames

if TYPE_CHECKING:
    from scipy.sparse import csc_array

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
SlotArray = NDArray[np.int32]
BoolArray = NDArray[np.bool_]


def turn_pairs(blocks: Array, nodes: IntArray, pairs: tuple[IntArray, IntArray], frames: Frames) -> Array:
    """Blocks (4, p, e) of node pairs, turned into the nodes' frames where these differ from x, y.

    Parameters
    ----------
    blocks : (4, p, e) array
        Components xx, xy, yx, yy.
    nodes : (e, a) array
    pairs : (p,), (p,) arrays
        Local nodes a and b of each pair.
    frames : Frames
    """
    touched = np.flatnonzero(frames.turned[nodes].any(axis=1)) if frames.turned.any() else np.zeros(0, dtype=int)
    if len(touched) == 0:
        return blocks
    axes = frames.axes[nodes[touched]]  # (e, a, c, i)
    own = blocks[:, :, touched].transpose(2, 1, 0).reshape(len(touched), -1, 2, 2)
    turned = axes[:, pairs[0]] @ own @ axes[:, pairs[1]].transpose(0, 1, 3, 2)
    blocks[:, :, touched] = turned.reshape(len(touched), -1, 4).transpose(2, 1, 0)
    return blocks


@dataclass(frozen=True)
class LowerTriangle:
    """Where the lower triangle of the equations has entries, by columns; the diagonal comes first in each.

    Attributes
    ----------
    rows : (Z,) int32 array
    pointer : (N + 1,) int32 array
        First entry of each column.
    """

    rows: SlotArray
    pointer: SlotArray

    @property
    def size(self) -> int:
        """Number of unknowns N."""
        return len(self.pointer) - 1

    def matrix(self, data: Array) -> csc_array[Any]:
        """The sparse matrix with these entries (Z,)."""
        from scipy import sparse

        return sparse.csc_array((data, self.rows, self.pointer), shape=(self.size, self.size))

    def columns(self) -> SlotArray:
        """Column of each entry, (Z,)."""
        return np.repeat(np.arange(self.size, dtype=np.int32), np.diff(self.pointer))

    def hold(self, data: Array, held: BoolArray) -> Array:
        """Entries (Z,) with held unknowns (N,) taken out of the equations: 0 beside the diagonal, 1 on it.

        The pattern stays, so that one symbolic factorisation serves whatever is held.
        """
        out = held[self.rows] | np.repeat(held, np.diff(self.pointer))
        result = np.where(out, 0.0, data)
        result[self.pointer[:-1][held]] = 1.0
        return result

    def product(self, data: Array, vectors: Array) -> Array:
        """K v, (N, c), of the whole symmetric matrix with a lower triangle of entries (Z,)."""
        lower = self.matrix(data)
        return np.asarray(lower @ vectors + lower.T @ vectors - data[self.pointer[:-1], None] * vectors)
