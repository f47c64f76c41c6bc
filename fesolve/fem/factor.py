"""Solvers for K u = f, K symmetric and positive definite: CHOLMOD through cvxopt, SuperLU as the fallback.

A factoriser is a plain function: it takes the lower triangle of K (scipy CSC) and returns a function that maps
right-hand sides (f, c) to solutions of the same shape.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveError

if TYPE_CHECKING:
    from scipy.sparse import csc_array

Array = NDArray[np.float64]
Solve = Callable[[Array], Array]
Factorise = Callable[[Any], Solve]

_NOT_DEFINITE = (
    "The equations have no unique solution: the matrix is not positive definite. "
    "Look for a region that hangs on a single point, or an element turned inside out."
)


def cholmod(lower: csc_array[Any]) -> Solve:
    """Supernodal Cholesky factorisation by CHOLMOD; raises SolveError if the matrix is not positive definite."""
    import cvxopt
    from cvxopt import cholmod as backend

    backend.options["supernodal"] = 2
    entries = lower.tocoo()
    rows = cvxopt.matrix(np.ascontiguousarray(entries.row, dtype=np.int64), tc="i")
    columns = cvxopt.matrix(np.ascontiguousarray(entries.col, dtype=np.int64), tc="i")
    matrix = cvxopt.spmatrix(cvxopt.matrix(np.ascontiguousarray(entries.data)), rows, columns, lower.shape)
    factor = backend.symbolic(matrix)
    try:
        backend.numeric(matrix, factor)
    except ArithmeticError as error:
        raise SolveError(_NOT_DEFINITE) from error

    def solve(right: Array) -> Array:
        block = cvxopt.matrix(np.asfortranarray(right))
        backend.solve(factor, block)
        return np.array(block).reshape(right.shape)

    return solve


def superlu(lower: csc_array[Any]) -> Solve:
    """SuperLU with a symmetric ordering and no pivoting off the diagonal."""
    from scipy import sparse
    from scipy.sparse.linalg import splu

    full = (lower + sparse.tril(lower, -1).T).tocsc()
    try:
        factor = splu(full, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    except RuntimeError as error:
        raise SolveError(_NOT_DEFINITE) from error
    return lambda right: np.asarray(factor.solve(right))


def best_factoriser() -> Factorise:
    """CHOLMOD where cvxopt can be loaded, else SuperLU."""
    try:
        import cvxopt.cholmod  # noqa: F401
    except ImportError:
        return superlu
    return cholmod
