"""Equations solved in two halves, so that forces on a few unknowns may be found between them.

With these unknowns last in the elimination, forces on them do not enter the forward substitution but in its last block:
after it their movement is known, then the forces can be worked out and put in, and the backward substitution
gives the rest. Contact that is found anew in each step of time costs no second solution that way.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveError
from .assembly import LowerTriangle
from .compliance import by_columns, by_last_block
from .factor import NOT_DEFINITE, Solve, best_factoriser, cholmod, symbolic

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


class Partitioned(Protocol):
    """K x = f + what acts at a few places.

    Attributes
    ----------
    places : (p,) array
        The unknowns.
    give : (p, p) array
        K^-1 there, mm/N.
    """

    places: IntArray
    give: Array

    def begin(self, right: Array) -> Array:
        """Movement (p,) of the places under a right side (N,) alone."""

    def end(self, more: Array) -> Array:
        """Solution (N,) with forces (p,) at the places added to the right side that `begin` was given."""

    def under(self, forces: Array) -> Array:
        """Solution (N,) under forces (p,) at the places alone."""


@dataclass
class TwoHalves:
    """Forward and backward substitution by CHOLMOD."""

    places: IntArray
    give: Array
    factor: Any
    last: IntArray  # which place each unknown of the last block is
    corner: Array  # L^-1 of the last block
    size: int
    work: Any = field(default=None, init=False)

    def begin(self, right: Array) -> Array:
        """See `Partitioned`."""
        import cvxopt
        from cvxopt import cholmod as backend

        self.work = cvxopt.matrix(right)
        backend.solve(self.factor, self.work, sys=7)
        backend.solve(self.factor, self.work, sys=4)
        found = np.empty(len(self.places))
        found[self.last] = self.corner.T @ self._block()
        return found

    def end(self, more: Array) -> Array:
        """See `Partitioned`."""
        from cvxopt import cholmod as backend

        block = self._block()
        block += self.corner @ more[self.last]
        backend.solve(self.factor, self.work, sys=5)
        backend.solve(self.factor, self.work, sys=8)
        return np.asarray(self.work)[:, 0]

    def under(self, forces: Array) -> Array:
        """See `Partitioned`."""
        import cvxopt

        self.work = cvxopt.matrix(0.0, (self.size, 1))
        return self.end(forces)

    def _block(self) -> Array:
        whole = np.asarray(self.work)[:, 0]  # a view
        return whole[len(whole) - len(self.places) :]


@dataclass
class TwoSolutions:
    """The same by two whole solutions, with any solver."""

    places: IntArray
    give: Array
    solve: Solve
    size: int
    right: Array = field(default_factory=lambda: np.zeros(0), init=False)

    def begin(self, right: Array) -> Array:
        """See `Partitioned`."""
        self.right = right.copy()
        return np.asarray(self.solve(right[:, None])[self.places, 0])

    def under(self, forces: Array) -> Array:
        """See `Partitioned`."""
        self.right = np.zeros(self.size)
        return self.end(forces)

    def end(self, more: Array) -> Array:
        """See `Partitioned`."""
        self.right[self.places] += more
        return np.asarray(self.solve(self.right[:, None])[:, 0])


def partitioned(lower: LowerTriangle, data: Array, places: IntArray) -> Partitioned:
    """Factorise with some unknowns last.

    Parameters
    ----------
    lower : LowerTriangle
    data : (Z,) array
        Its entries, held unknowns taken out (`LowerTriangle.hold`).
    places : (p,) array
        The unknowns, each once, none of them held.

    Raises
    ------
    SolveError
        If the matrix is not positive definite.
    """
    factorise = best_factoriser()
    halves = _two_halves(lower, data, places) if factorise is cholmod and len(places) else None
    if halves is not None:
        return halves
    solve = factorise(lower, data, {})
    return TwoSolutions(places, by_columns(lower.size, places, solve), solve, lower.size)


def _two_halves(lower: LowerTriangle, data: Array, places: IntArray) -> TwoHalves | None:
    """None if the order was not kept."""
    import cvxopt
    from cvxopt import cholmod as backend

    give = by_last_block(lower, data, places)
    if give is None:
        return None
    last = np.zeros(lower.size, dtype=bool)
    last[places] = True
    matrix, factor = symbolic(lower, cvxopt.matrix(data), np.concatenate([np.flatnonzero(~last), places]))
    try:
        backend.numeric(matrix, factor)
    except ArithmeticError as error:
        raise SolveError(NOT_DEFINITE) from error
    numbers = cvxopt.matrix(np.arange(lower.size, dtype=float))
    backend.solve(factor, numbers, sys=7)
    found = np.array(numbers).reshape(-1)[lower.size - len(places) :].astype(np.int64)
    if not np.array_equal(np.sort(found), np.sort(places)):
        return None
    order = np.empty(len(places), dtype=np.int64)
    order[np.argsort(found)] = np.argsort(places)
    # give = W^T W, W = L^-1 lower triangular: Cholesky's factor of the rows and columns in reverse
    back = give[np.ix_(order, order)][::-1, ::-1]
    corner = np.ascontiguousarray(np.linalg.cholesky(back)[::-1, ::-1].T)
    return TwoHalves(places, give, factor, order, corner, lower.size)
