"""How a held part gives at a few of its unknowns: the part of K^-1 that belongs to them.

With these unknowns last in the elimination, the end of Cholesky's factor alone holds the answer: K^-1 of the last block
is (L L^T)^-1 of the factor's last block. That costs one factorisation, where a solution for each unknown costs many.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveError
from .assembly import LowerTriangle
from .factor import NOT_DEFINITE, Solve, symbolic

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

COLUMNS = 16  # right-hand sides solved at once


def compliance(lower: LowerTriangle, data: Array, places: IntArray, solve: Solve) -> Array:
    """K^-1 at some of the unknowns, (d, d) mm/N.

    Parameters
    ----------
    lower : LowerTriangle
    data : (Z,) array
        Its entries, held unknowns taken out (`LowerTriangle.hold`).
    places : (d,) array
        The unknowns, each once, none of them held.
    solve : function
        Solver with the same matrix, used where CHOLMOD is not there.

    Raises
    ------
    SolveError
        If the matrix is not positive definite.
    """
    if len(places) == 0:
        return np.zeros((0, 0))
    try:
        import cvxopt.cholmod  # noqa: F401
    except ImportError:
        return by_columns(lower.size, places, solve)
    found = by_last_block(lower, data, places)
    return by_columns(lower.size, places, solve) if found is None else found


def by_columns(size: int, places: IntArray, solve: Solve) -> Array:
    """The compliance (d, d) from a solution for each unknown."""
    result = np.empty((len(places), len(places)))
    for begin in range(0, len(places), COLUMNS):
        some = places[begin : begin + COLUMNS]
        right = np.zeros((size, len(some)))
        right[some, np.arange(len(some))] = 1.0
        result[:, begin : begin + len(some)] = solve(right)[places]
    return np.asarray((result + result.T) / 2)


def by_last_block(lower: LowerTriangle, data: Array, places: IntArray) -> Array | None:
    """The compliance (d, d) from the end of a factor that has these unknowns last; None if that order was not kept.

    The others are eliminated as they are numbered.
    """
    import cvxopt
    from cvxopt import cholmod

    last = np.zeros(lower.size, dtype=bool)
    last[places] = True
    order = np.concatenate([np.flatnonzero(~last), places])
    matrix, factor = symbolic(lower, cvxopt.matrix(data), order)
    try:
        cholmod.numeric(matrix, factor)
    except ArithmeticError as error:
        raise SolveError(NOT_DEFINITE) from error
    return _last_inverse(cholmod, factor, lower.size, places)


def _last_inverse(cholmod: Any, factor: Any, size: int, places: IntArray) -> Array | None:
    """(L L^T)^-1 of the last block, in the order of `places`; the factor is used up."""
    import cvxopt
    from scipy.linalg.lapack import dtrtri

    numbers = cvxopt.matrix(np.arange(size, dtype=float))
    cholmod.solve(factor, numbers, sys=7)  # the order that the factor has in the end
    found = np.array(numbers).reshape(-1)[size - len(places) :].astype(np.int64)
    if not np.array_equal(np.sort(found), np.sort(places)):
        return None
    lower = cholmod.getfactor(factor)
    inverse = np.tril(dtrtri(np.array(cvxopt.matrix(lower[size - len(places) :, size - len(places) :])), lower=1)[0])
    back = np.empty(len(places), dtype=np.int64)
    back[np.argsort(places)] = np.argsort(found)
    return np.asarray((inverse.T @ inverse)[np.ix_(back, back)])
