"""Solvers for K u = f, K symmetric and positive definite: CHOLMOD through cvxopt, SuperLU as the fallback.

A factoriser is a plain function: it takes the free part of K's lower triangle and its numbers, and returns a function
that maps right-hand sides (f, c) to solutions of the same shape. What does not depend on the numbers is kept in the
dictionary it is given, so that a new material on the same mesh costs the numeric step only.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveError
from .assembly import FreePart

Array = NDArray[np.float64]
Solve = Callable[[Array], Array]
Factorise = Callable[[FreePart, Array, dict[str, Any]], Solve]

NOT_DEFINITE = (
    "The equations have no unique solution: the matrix is not positive definite. "
    "Look for a region that hangs on a single point, or an element turned inside out."
)


def cholmod(part: FreePart, data: Array, kept: dict[str, Any]) -> Solve:
    """Supernodal Cholesky factorisation by CHOLMOD; raises SolveError if the matrix is not positive definite."""
    import cvxopt
    from cvxopt import cholmod as backend

    backend.options["supernodal"] = 2
    values = cvxopt.matrix(np.ascontiguousarray(data[part.entries]))
    if "cholmod" not in kept:
        rows, columns = (cvxopt.matrix(np.ascontiguousarray(x), tc="i") for x in (part.rows, part.columns))
        size = len(part.free)
        matrix = cvxopt.spmatrix(values, rows, columns, (size, size))
        kept["cholmod"] = matrix, backend.symbolic(matrix)
    matrix, factor = kept["cholmod"]
    matrix.V = values
    try:
        backend.numeric(matrix, factor)
    except ArithmeticError as error:
        raise SolveError(NOT_DEFINITE) from error

    def solve(right: Array) -> Array:
        block = cvxopt.matrix(np.asfortranarray(right))
        backend.solve(factor, block)
        return np.array(block).reshape(right.shape)

    return solve


def superlu(part: FreePart, data: Array, kept: dict[str, Any]) -> Solve:
    """SuperLU with a symmetric ordering and no pivoting off the diagonal."""
    from scipy import sparse
    from scipy.sparse.linalg import splu

    lower = part.matrix(data)
    full = (lower + sparse.tril(lower, -1).T).tocsc()
    try:
        factor = splu(full, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    except RuntimeError as error:
        raise SolveError(NOT_DEFINITE) from error
    if not (factor.U.diagonal() > 0.0).all():  # without pivoting these have the signs of the eigenvalues
        raise SolveError(NOT_DEFINITE)
    return lambda right: np.asarray(factor.solve(right))


def best_factoriser() -> Factorise:
    """CHOLMOD where cvxopt can be loaded, else SuperLU."""
    try:
        import cvxopt.cholmod  # noqa: F401
    except ImportError:
        return superlu
    return cholmod
