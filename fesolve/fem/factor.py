"""Solvers for K u = f, K symmetric and positive definite: CHOLMOD through cvxopt, SuperLU as the fallback.

A factoriser is a plain function: it takes the lower triangle of K, its entries, and returns a function that maps
right-hand sides (N, c) to solutions of the same shape. What does not depend on the entries is kept in the dictionary it
is given, so that a new material on the same mesh costs the numeric step only; the last factorisation is the valid one.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveError
from .assembly import LowerTriangle

if TYPE_CHECKING:
    from scipy.sparse import csc_array

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
Solve = Callable[[Array], Array]
Factorise = Callable[[LowerTriangle, Array, dict[str, Any]], Solve]

MatrixSolver = Callable[["csc_array[Any]"], Solve]
"""A solver of others: from the whole symmetric matrix (N, N) to a function of right-hand sides (N, c)."""

NOT_DEFINITE = (
    "The equations have no unique solution: the matrix is not positive definite. "
    "Look for a region that hangs on a single point, or an element turned inside out."
)
# supernodes, and no ordering besides the one that is given
_OPTIONS = {"supernodal": 2, "nmethods": 1}


def cholmod(lower: LowerTriangle, data: Array, kept: dict[str, Any]) -> Solve:
    """Supernodal Cholesky factorisation by CHOLMOD; raises SolveError if the matrix is not positive definite."""
    from cvxopt import cholmod as backend
    from cvxopt import matrix

    values = matrix(data)
    if "cholmod" not in kept:
        kept["cholmod"] = symbolic(lower, values, np.arange(lower.size))
    entries, factor = kept["cholmod"]
    entries.V = values
    del values
    try:
        backend.numeric(entries, factor)
    except ArithmeticError as error:
        raise SolveError(NOT_DEFINITE) from error

    def solve(right: Array) -> Array:
        block = matrix(np.asfortranarray(right))
        backend.solve(factor, block)
        return np.array(block).reshape(right.shape)

    return solve


def symbolic(lower: LowerTriangle, values: Any, order: IntArray) -> tuple[Any, Any]:
    """CHOLMOD's sparse matrix of entries (Z, 1), and its symbolic factorisation that eliminates in an order (N,)."""
    from cvxopt import cholmod as backend
    from cvxopt import matrix, spmatrix

    rows, columns = (matrix(part.astype(np.int64)) for part in (lower.rows, lower.columns()))
    entries = spmatrix(values, rows, columns, (lower.size, lower.size))
    del rows, columns
    with _options(backend.options):
        return entries, backend.symbolic(entries, p=matrix(order))


@contextlib.contextmanager
def _options(options: dict[str, Any]) -> Iterator[None]:
    """The options of a library that has one set of them for everyone, put back afterwards."""
    before = dict(options)
    options.update(_OPTIONS)
    try:
        yield
    finally:
        options.clear()
        options.update(before)


def superlu(lower: LowerTriangle, data: Array, kept: dict[str, Any]) -> Solve:
    """SuperLU with a symmetric ordering and no pivoting off the diagonal."""
    from scipy import sparse
    from scipy.sparse.linalg import splu

    half = lower.matrix(data)
    full = (half + sparse.tril(half, -1).T).tocsc()
    try:
        factor = splu(full, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    except RuntimeError as error:
        raise SolveError(NOT_DEFINITE) from error
    if not (factor.U.diagonal() > 0.0).all():  # without pivoting these have the signs of the eigenvalues
        raise SolveError(NOT_DEFINITE)
    return lambda right: np.asarray(factor.solve(right))


@dataclass(frozen=True)
class NamedSolver:
    """A solver of others as a factoriser; what it raises and what cannot be an answer become messages with its name.

    Whether the answer is right is asked where the equations are (`solve`).

    Parameters
    ----------
    name : str
        As messages call it.
    factorise : function
        See `MatrixSolver`.
    """

    name: str
    factorise: MatrixSolver

    def __call__(self, lower: LowerTriangle, data: Array, kept: dict[str, Any]) -> Solve:
        """Factorise the whole matrix; raises SolveError where that, or a solution, cannot be had."""
        from scipy import sparse

        half = lower.matrix(data)
        whole = (half + sparse.tril(half, -1).T).tocsc()
        whole.sort_indices()
        solve = self._run("cannot factorise", lambda: self.factorise(whole))
        if not callable(solve):
            raise SolveError(f"{self.name} gives {type(solve).__name__} for a matrix; a function is wanted.")
        return lambda right: self._answer(solve, right)

    def _answer(self, solve: Solve, right: Array) -> Array:
        """An answer (N, c) of its own to right-hand sides (N, c), which it gets as a copy."""
        found = self._run("cannot solve", lambda: np.array(solve(right.copy()), dtype=float))
        if found.shape != right.shape:
            raise SolveError(f"{self.name} answers with shape {found.shape}; {right.shape} was asked for.")
        if not np.isfinite(found).all():
            raise SolveError(f"{self.name} answers with values that are not finite.")
        return np.asarray(found)

    def _run(self, what: str, call: Callable[[], Any]) -> Any:
        try:
            return call()
        except KeyboardInterrupt:
            raise
        except BaseException as error:  # foreign code may also end the process
            raise SolveError(f"{self.name} {what} ({type(error).__name__}: {error}).") from error


def best_factoriser() -> Factorise:
    """CHOLMOD where cvxopt can be loaded, else SuperLU."""
    try:
        import cvxopt.cholmod  # noqa: F401
    except ImportError:
        return superlu
    return cholmod
