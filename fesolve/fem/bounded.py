"""Forces between 0 and a limit that stop what they may stop: small convex problems, solved again and again."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveError

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

ROUNDS = 30  # of whole sets, before one row at a time
KEPT = 16  # factors of sets that are remembered
DOUBLED = 1e-13  # added to the diagonal, of its own: rows that push at one place share its force


class BoundedForces:
    """Forces 0 <= λ <= limit with v = v_0 + A λ: v = 0 where λ lies between, v >= 0 at 0, v <= 0 at the limit.

    Parameters
    ----------
    matrix : (k, k) array
        A, symmetric; positive definite but for rows that say the same or nothing.

    References
    ----------
    Primal-dual active set, M. Hintermüller, K. Ito, K. Kunisch, SIAM J. Optim. 13 (2003) 865-888; where that goes
    round in circles, one row at a time as C. L. Lawson, R. J. Hanson, Solving Least Squares Problems (1974),
    chapter 23, which ends: each round lowers λ·A λ/2 + v_0·λ (both from memory).

    Examples
    --------
    Two places that hardly know each other, one hit at 3, one left at 1:

    >>> both, free = np.array([True, True]), np.full(2, np.inf)
    >>> BoundedForces(np.diag([2.0, 2.0])).solve(both, np.array([-3.0, 1.0]), free, np.zeros(2)).round(9).tolist()
    [1.5, 0.0]
    """

    def __init__(self, matrix: Array) -> None:
        own = np.diag(matrix)
        greatest = float(own.max(initial=0.0))
        # a row that is held, or says nothing, is made to need no force
        added = np.where(own > 1e-10 * greatest, DOUBLED * own, greatest)
        self.matrix = matrix + np.diag(added)
        self.scale = 1.0 / np.diag(self.matrix)
        self.known: dict[bytes, Array] = {}

    def solve(self, here: BoolArray, start: Array, limit: Array, guess: Array) -> Array:
        """Forces of the rows `here`; the others have none.

        Parameters
        ----------
        here : (k,) bool array
        start : (k,) array
            v_0, what v is without force.
        limit : (k,) array
            inf where there is none.
        guess : (k,) array
            Forces near the wanted ones, of the step before.

        Raises
        ------
        SolveError
            If no such forces are found.
        """
        if not np.isfinite(start).all():
            raise SolveError("What touches moves by no finite way in a time step; look for slivers at what touches.")
        forces, between, above = np.where(here, guess, 0.0), np.zeros_like(here), np.zeros_like(here)
        for count in range(ROUNDS):
            wish = forces - self.scale * (start + self.matrix @ forces)
            new_above = here & (wish >= limit)
            new_between = here & (wish > 0.0) & ~new_above
            if count and (new_between == between).all() and (new_above == above).all():
                return forces
            between, above = new_between, new_above
            forces = self._settled(between, above, start, limit)
        return self._one_by_one(here, start, limit, np.clip(forces, 0.0, limit))

    def _settled(self, between: BoolArray, above: BoolArray, start: Array, limit: Array) -> Array:
        """Forces with v = 0 between, the limit above, none elsewhere."""
        forces = np.zeros(len(start))
        if above.any():
            forces[above] = limit[above]
            start = start + self.matrix @ forces
        if between.any():
            forces[between] = self._stopping(between, -start[between])
        return forces

    def _stopping(self, between: BoolArray, wanted: Array) -> Array:
        """A⁻¹ of some rows times a vector; Cholesky's factor of a set is remembered for the steps that follow."""
        from scipy.linalg.lapack import dpotrf, dpotrs

        key = between.tobytes()
        if key not in self.known:
            if len(self.known) >= KEPT:
                self.known.pop(next(iter(self.known)))
            factor, failed = dpotrf(self.matrix[np.ix_(between, between)], lower=1)
            if failed:
                raise SolveError("What touches answers to no force; look for slivers at what touches.")
            self.known[key] = factor
        return np.asarray(dpotrs(self.known[key], wanted, lower=1)[0])

    def _one_by_one(self, here: BoolArray, start: Array, limit: Array, forces: Array) -> Array:
        """The same, one row at a time from forces within their bounds."""
        between = here & (forces > 0.0) & (forces < limit)
        tolerance = 1e-12 * float(np.abs(start[here]).max(initial=0.0))
        for _ in range(20 * len(start) + 100):
            while between.any():
                above = here & ~between & (forces > 0.0)
                wanted = self._settled(between, above, start, forces)
                out = between & ((wanted < 0.0) | (wanted > limit))
                if not out.any():
                    forces = wanted
                    break
                bound = np.where(wanted < 0.0, 0.0, limit)
                share = np.full(len(start), np.inf)
                share[out] = (bound[out] - forces[out]) / (wanted[out] - forces[out])
                first = int(np.argmin(share))
                forces = forces + max(0.0, share[first]) * (wanted - forces)
                forces[first], between[first] = bound[first], False
            speed = start + self.matrix @ forces
            wrong = np.where(here & ~between, np.where(forces > 0.0, speed, -speed), 0.0) * np.sqrt(self.scale)
            worst = int(np.argmax(wrong))
            if wrong[worst] <= tolerance * np.sqrt(self.scale[worst]):
                return forces
            between[worst] = True
        raise SolveError("The contacts of a time step do not come to rest; a shorter step may help.")
