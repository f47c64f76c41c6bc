"""How a held part gives at a few of its unknowns: the part of K^-1 that belongs to them.

With these unknowns last in the elimination, the end of Cholesky's factor alone holds the answer: K^-1 of the last block
is (L L^T)^-1 of the factor's last block. That costs one factorisation, where a solution for each unknown costs many.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveError
from .assembly import FreePart
from .factor import NOT_DEFINITE, Solve

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

COLUMNS = 16  # right-hand sides solved at once


def compliance(part: FreePart, data: Array, places: IntArray, solve: Solve) -> Array:
    """K^-1 at some of the free unknowns, (d, d) mm/N.

    Parameters
    ----------
    part : FreePart
    data : (Z,) array
        Entries of the whole lower triangle.
    places : (d,) array
        Their numbers among the free unknowns, each once.
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
        return by_columns(len(part.free), places, solve)
    return by_last_block(part, data, places)


def by_columns(size: int, places: IntArray, solve: Solve) -> Array:
    """The compliance (d, d) from a solution for each unknown."""
    result = np.empty((len(places), len(places)))
    for begin in range(0, len(places), COLUMNS):
        some = places[begin : begin + COLUMNS]
        right = np.zeros((size, len(some)))
        right[some, np.arange(len(some))] = 1.0
        result[:, begin : begin + len(some)] = solve(right)[places]
    return np.asarray((result + result.T) / 2)


def by_last_block(part: FreePart, data: Array, places: IntArray) -> Array:
    """The compliance (d, d) from the end of a factor that has these unknowns last."""
    import cvxopt
    from cvxopt import amd, cholmod

    size = len(part.free)
    rows, columns = (cvxopt.matrix(np.ascontiguousarray(x), tc="i") for x in (part.rows, part.columns))
    matrix = cvxopt.spmatrix(cvxopt.matrix(np.ascontiguousarray(data[part.entries])), rows, columns, (size, size))
    order = np.array(amd.order(matrix)).reshape(-1)
    last = np.zeros(size, dtype=bool)
    last[places] = True
    order = np.concatenate([order[~last[order]], places])
    cholmod.options["supernodal"] = 2
    before = cholmod.options.get("nmethods")
    cholmod.options["nmethods"] = 1  # this order and no other
    try:
        factor = cholmod.symbolic(matrix, p=cvxopt.matrix(order, tc="i"))
    finally:
        _restore(cholmod.options, before)
    try:
        cholmod.numeric(matrix, factor)
    except ArithmeticError as error:
        raise SolveError(NOT_DEFINITE) from error
    return _last_inverse(cholmod, factor, size, places)


def _restore(options: dict[str, Any], before: int | None) -> None:
    if before is None:
        options.pop("nmethods")
    else:
        options["nmethods"] = before


def _last_inverse(cholmod: Any, factor: Any, size: int, places: IntArray) -> Array:
    """(L L^T)^-1 of the last block, in the order of `places`; the factor is used up."""
    import cvxopt

    numbers = cvxopt.matrix(np.arange(size, dtype=float))
    cholmod.solve(factor, numbers, sys=7)  # the order that the factor has in the end
    found = np.array(numbers).reshape(-1)[size - len(places) :].astype(np.int64)
    lower = cholmod.getfactor(factor)
    block = np.tril(np.array(cvxopt.matrix(lower[size - len(places) :, size - len(places) :])))
    inverse = np.linalg.inv(block)
    back = np.empty(len(places), dtype=np.int64)
    back[np.argsort(places)] = np.argsort(found)
    return np.asarray((inverse.T @ inverse)[np.ix_(back, back)])
