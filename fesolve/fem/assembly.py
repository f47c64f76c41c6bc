"""Element matrices into one sparse matrix, in the nodes' own frames."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from .constraints import Frames

if TYPE_CHECKING:
    from scipy.sparse import csc_array

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


def turn_blocks(blocks: Array, nodes: IntArray, frames: Frames) -> Array:
    """Matrices (e, 2a, 2a) of blocks with nodes (e, a), turned into the nodes' frames where these differ from x, y."""
    touched = np.flatnonzero(frames.turned[nodes].any(axis=1))
    if len(touched) == 0:
        return blocks
    axes = frames.axes[nodes[touched]]  # (e, a, c, i)
    count = nodes.shape[1]
    inner = blocks[touched].reshape(-1, count, 2, count, 2)
    inner = np.einsum("eaci,eaibj->eacbj", axes, inner, optimize=True)
    inner = np.einsum("eacbj,ebdj->eacbd", inner, axes, optimize=True)
    result = blocks.copy()
    result[touched] = inner.reshape(-1, 2 * count, 2 * count)
    return result


def lower_triangle(count: int, groups: list[tuple[IntArray, Array]]) -> csc_array[Any]:
    """Sum of blocks as the lower triangle of a sparse matrix.

    Parameters
    ----------
    count : int
        Number of nodes.
    groups : list of ((e, a) array, (e, 2a, 2a) array)
        Node numbers and matrices of one kind of block.

    Returns
    -------
    csc_array, shape (2 count, 2 count)
    """
    from scipy import sparse

    rows, columns, values = [], [], []
    for nodes, blocks in groups:
        unknowns = (2 * nodes[:, :, None] + np.arange(2)).reshape(len(nodes), -1).astype(np.int32)
        one, two = np.tril_indices(unknowns.shape[1])
        first, second = unknowns[:, one], unknowns[:, two]
        rows.append(np.maximum(first, second).reshape(-1))
        columns.append(np.minimum(first, second).reshape(-1))
        values.append(blocks[:, one, two].reshape(-1))
    size = 2 * count
    pattern = (np.concatenate(rows), np.concatenate(columns))
    return sparse.csc_array(sparse.coo_array((np.concatenate(values), pattern), shape=(size, size)))


def symmetric_product(lower: csc_array[Any], vectors: Array) -> Array:
    """K v from the lower triangle of K; vectors (f, c)."""
    return np.asarray(lower @ vectors + lower.T @ vectors - lower.diagonal()[:, None] * vectors)
