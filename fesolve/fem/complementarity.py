"""Which contacts close, and with what force: small dense problems of complementarity.

The part is condensed onto its contacts. Multipliers Λ are forces on the wood along given directions (normals first,
into the wood; then tangents of contacts with friction), v the movement along the same directions:

    v = v_0 + C Λ + G b,     G^T Λ + h - K_b b = 0,

b the free motions: of the part as a rigid body, of pins that are not fixed. A normal direction opens (v >= 0) or bears
(Λ >= 0), one of both being zero; along a tangent |Λ_t| <= μ Λ_n, and where it slides Λ_t = -μ Λ_n sign(v_t).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
StateArray = NDArray[np.int8]

LOW, FREE, HIGH = np.int8(-1), np.int8(0), np.int8(1)
TOLERANCE = 1e-9  # of the greatest force or movement
PATIENCE = 5  # exchanges of whole blocks that may fail to help before single ones begin
NEWTON_STEPS = 30
ROUNDS = 100  # of bringing free motions and friction limits up to date
SOFT = 1e3  # give of the springs that stand in for what is not held, times the mean give of a contact
SOFTEST = 1e4  # times that: they grow softer from round to round


@dataclass(frozen=True)
class Condensed:
    """A part condensed onto its contacts in one load case; r directions, of which the first k are normals.

    Attributes
    ----------
    give : (r, r) array
        C, mm/N: symmetric, positive definite.
    start : (r,) array
        v_0, mm: for normals the gap and what the loads make of it, for tangents the slip that the loads make.
    motion : (r, m) array
        G: movement by free motions.
    load : (m,) array
        h: work of the loads on them, N.
    mount : (m,) array
        K_b, N/mm: stiffness that stops them; 0 for a motion that nothing stops.
    owner : (r - k,) array
        The normal direction that each tangent belongs to.
    friction : (r - k,) array
        Coulomb's coefficient of each tangent.
    """

    give: Array
    start: Array
    motion: Array
    load: Array
    mount: Array
    owner: IntArray
    friction: Array

    @property
    def normals(self) -> int:
        """How many directions are normals, k."""
        return len(self.start) - len(self.owner)


@dataclass(frozen=True)
class Forces:
    """A solution of `Condensed`.

    Attributes
    ----------
    forces : (r,) array
        Λ, N.
    motion : (m,) array
        b, mm.
    state : (r,) int8 array
        Normals: -1 open, 0 bears. Tangents: 0 sticks, or the sign of the force where it slides.
    loose : (f, m) array
        Motions that nothing stops and no load drives.
    """

    forces: Array
    motion: Array
    state: StateArray
    loose: Array


class ChatterError(Exception):
    """No state of the contacts satisfies all conditions; `nodes` (normal directions) keep changing."""

    def __init__(self, nodes: IntArray) -> None:
        super().__init__("the contacts do not come to rest")
        self.nodes = nodes


def unbalanced_motion(problem: Condensed, scale: float) -> Array | None:
    """The motion (m,) in which the loads drive the part away from all contacts, None if contacts can balance them.

    By Farkas' lemma either contact forces exist that balance the loads, or a motion exists that closes no contact and
    on which the loads do work; a linear programme looks for the latter. The motion told of is the one that the loads
    drive most: the projection of the loads onto all motions that close no contact, found by least squares with
    non-negative forces.

    Parameters
    ----------
    problem : Condensed
    scale : float
        Size of the loads, N.

    References
    ----------
    C. L. Lawson, R. J. Hanson, Solving Least Squares Problems (1974), chapter 23 (from memory).
    """
    from scipy.optimize import linprog, nnls

    free = problem.mount == 0.0
    if not free.any() or scale == 0.0:
        return None
    load, rows = problem.load[free] / scale, _opening_rows(problem)[:, free]
    found = linprog(-load, A_ub=-rows, b_ub=np.zeros(len(rows)), bounds=(-1.0, 1.0), method="highs")
    if found.fun is not None and -found.fun <= 10 * TOLERANCE:
        return None
    forces, _ = nnls(rows.T, -load)
    motion = np.zeros(len(free))
    motion[free] = load + rows.T @ forces
    size = float(np.linalg.norm(motion))
    return motion / size if size > TOLERANCE else None


def _opening_rows(problem: Condensed) -> Array:
    """Movement along the edges of every contact's cone of friction by free motions, (j, m)."""
    k = problem.normals
    rows = problem.motion[:k]
    if len(problem.owner) == 0:
        return rows
    plain = np.ones(k, dtype=bool)
    plain[problem.owner] = False
    slope = problem.friction[:, None] * problem.motion[k:]
    return np.concatenate([rows[plain], rows[problem.owner] + slope, rows[problem.owner] - slope])


def contact_forces(problem: Condensed) -> Forces:
    """Solve the problem of complementarity.

    What nothing stops is first held by soft springs, so that the problem has one solution; where its state of contacts
    satisfies all conditions without the springs, that is the solution, else the springs are let go to where the part
    has moved (proximal point method). With friction all that touches sticks at first; where Newton's steps do not end,
    friction has the limits μ Λ_n of the round before.

    Raises
    ------
    ChatterError
        If `ROUNDS` rounds find no state that satisfies all conditions.
    """
    moved = np.zeros(len(problem.load))
    limit = np.full(len(problem.owner), np.inf)
    state = np.concatenate([np.full(problem.normals, LOW), np.full(len(problem.owner), FREE)])
    before = state
    for turn in range(ROUNDS):
        matrix, right, soft = _softly_held(problem, moved, turn)
        low = np.concatenate([np.zeros(problem.normals), -limit])
        high = np.concatenate([np.full(problem.normals, np.inf), limit])
        before = state
        sliding = newton(problem, matrix, right, state) if len(problem.owner) else None
        forces, state = sliding or bounded(matrix, right, low, high, state)
        moved = (problem.motion.T @ forces + problem.load + soft * moved) / (problem.mount + soft)
        exact = settled(problem, state, moved)
        if satisfied(problem, exact):
            return exact
        limit = problem.friction * np.maximum(forces[problem.owner], 0.0)
    raise ChatterError(_restless(problem, before, state))


def _restless(problem: Condensed, before: StateArray, state: StateArray) -> IntArray:
    """Normal directions whose state, or whose tangent's, changed in the last round; else all that bear."""
    k = problem.normals
    changed = state != before
    found = np.union1d(np.flatnonzero(changed[:k]), problem.owner[changed[k:]])
    return found if len(found) else np.flatnonzero(state[:k] == FREE)


def _softly_held(problem: Condensed, moved: Array, turn: int) -> tuple[Array, Array, Array]:
    """The matrix (r, r) and right side (r,) with b eliminated, springs pulling back to `moved`; the springs (m,).

    Motions that a mounting stops have no such springs.
    """
    unit = SOFT * min(2.0**turn, SOFTEST) * float(np.mean(np.diag(problem.give)))
    soft = np.where(problem.mount > 0, 0.0, 1.0 / unit)
    stiffness = problem.mount + soft
    matrix = problem.give + (problem.motion / stiffness) @ problem.motion.T
    right = problem.start + problem.motion @ ((problem.load + soft * moved) / stiffness)
    return matrix, right, soft


def newton(problem: Condensed, matrix: Array, right: Array, state: StateArray) -> tuple[Array, StateArray] | None:
    """Forces and state with friction limits that follow the normal forces at once; None if it does not end.

    Semi-smooth Newton: every direction goes where its force or its movement belongs, all at once.

    References
    ----------
    P. Alart, A. Curnier, A mixed formulation for frictional contact problems prone to Newton like solution methods,
    Comput. Methods Appl. Mech. Eng. 92 (1991) 353-375 (from memory).
    """
    k = problem.normals
    for _ in range(NEWTON_STEPS):
        columns, rows = active(problem, state)
        x = columns @ np.linalg.solve(rows.T @ matrix @ columns, -(rows.T @ right))
        w = matrix @ x + right
        force, move = (TOLERANCE * float(np.abs(values).max(initial=0.0)) for values in (x, w))
        bears = state[:k] == FREE
        target = state.copy()
        target[:k][bears & (x[:k] < -force)] = LOW
        target[:k][~bears & (w[:k] < -move)] = FREE
        target[k:] = _sliding(problem, x, w, state, force, move)
        if (target == state).all():
            return x, state
        state = target
    return None


def _sliding(problem: Condensed, x: Array, w: Array, state: StateArray, force: float, move: float) -> StateArray:
    """States of the tangents (r - k,) by their forces and movements; those of open contacts stick, with no force."""
    k = problem.normals
    before, t, v = state[k:], x[k:], w[k:]
    limit = problem.friction * np.maximum(x[problem.owner], 0.0)
    target = before.copy()
    sticks = before == FREE
    target[sticks & (t > limit + force)] = HIGH
    target[sticks & (t < -limit - force)] = LOW
    target[~sticks & (before * v > move)] = FREE
    target[state[problem.owner] != FREE] = FREE
    return target


def bounded(matrix: Array, right: Array, low: Array, high: Array, state: StateArray) -> tuple[Array, StateArray]:
    """Values x between bounds with w = A x + q: w >= 0 at the low one, w <= 0 at the high one, w = 0 between them.

    Block principal pivoting: all components that break a condition change sides together; where that does not lessen
    their number for a while only the last one does (Murty's rule), which ends after finitely many steps.

    Parameters
    ----------
    matrix : (r, r) array
        A, symmetric and positive definite.
    right : (r,) array
        q.
    low, high : (r,) arrays
    state : (r,) int8 array
        Where to begin: -1 at the low bound, 0 between, 1 at the high one.

    Returns
    -------
    x : (r,) array
    state : (r,) int8 array

    References
    ----------
    J. J. Júdice, F. M. Pires, A block principal pivoting algorithm for large-scale strictly monotone linear
    complementarity problems, Computers and Operations Research 21 (1994) 587-596 (from memory).

    Examples
    --------
    Two springs of unit give, one pressed by 1 and one pulled by 1: only the first bears.

    >>> x, state = bounded(np.eye(2), np.array([-1.0, 1.0]), np.zeros(2), np.full(2, np.inf), np.full(2, LOW))
    >>> x.tolist(), state.tolist()
    ([1.0, 0.0], [0, -1])
    """
    state = state.copy()
    state[((state == HIGH) & ~np.isfinite(high)) | ((state == LOW) & ~np.isfinite(low))] = FREE
    fewest, patience = len(right) + 1, PATIENCE
    wrong = np.arange(0)
    for _ in range(1000 + 20 * len(right)):
        x, w = _at(matrix, right, low, high, state)
        target = _target(x, w, low, high, state)
        wrong = np.flatnonzero(target != state)
        if len(wrong) == 0:
            return x, state
        if len(wrong) < fewest:
            fewest, patience = len(wrong), PATIENCE
        elif patience > 0:
            patience -= 1
        else:
            wrong = wrong[-1:]
        state[wrong] = target[wrong]
    raise ChatterError(wrong)


def _at(matrix: Array, right: Array, low: Array, high: Array, state: StateArray) -> tuple[Array, Array]:
    """Values x with bounds where the state says so, and w = A x + q, which is zero between the bounds."""
    free = state == FREE
    x = np.where(state == HIGH, high, low)
    x[free] = 0.0
    w = matrix @ x + right
    if free.any():
        x[free] = np.linalg.solve(matrix[np.ix_(free, free)], -w[free])
        w = matrix @ x + right
    return x, w


def _target(x: Array, w: Array, low: Array, high: Array, state: StateArray) -> StateArray:
    """Where each component belongs by its value and its w."""
    free, fixed = state == FREE, low == high
    force = TOLERANCE * float(np.abs(x).max(initial=0.0))
    move = TOLERANCE * float(np.abs(w).max(initial=0.0))
    target = state.copy()
    target[free & (x < low - force)] = LOW
    target[free & (x > high + force)] = HIGH
    target[(state == LOW) & (w < -move)] = FREE
    target[(state == HIGH) & (w > move)] = FREE
    target[fixed] = np.where(w[fixed] < -move, HIGH, LOW)  # no room between the bounds
    return target


def settled(problem: Condensed, state: StateArray, moved: Array) -> Forces:
    """Forces and motions for a given state of all contacts; motions that nothing stops stay as in `moved`."""
    columns, rows = active(problem, state)
    return settled_with(problem, columns, rows, state, moved)


def active(problem: Condensed, state: StateArray) -> tuple[Array, Array]:
    """Forces (r, a) that each unknown stands for, and the movements (r, a) that vanish for it.

    Normals that bear; tangents that stick; where a tangent slides its force goes with its normal's, while only the
    normal's movement vanishes.
    """
    k = problem.normals
    bears = state[:k] == FREE
    sticks = (state[k:] == FREE) & bears[problem.owner]
    rows = np.eye(len(state))[:, np.concatenate([bears, sticks])]
    columns = rows.copy()
    place = np.cumsum(bears) - 1
    slides = np.flatnonzero((state[k:] != FREE) & bears[problem.owner])
    owner = problem.owner[slides]
    columns[k + slides, place[owner]] = state[k + slides] * problem.friction[slides]
    return columns, rows


def settled_with(problem: Condensed, columns: Array, rows: Array, state: StateArray, moved: Array) -> Forces:
    """Forces Λ = P x with Q^T v = 0, P and Q from `active`, and motions in equilibrium."""
    inner = rows.T @ problem.give @ columns
    both = np.concatenate([rows.T @ problem.start[:, None], rows.T @ problem.motion], axis=1)
    solved = np.linalg.solve(inner, both) if len(inner) else both
    push = problem.motion.T @ columns  # (m, a)
    stiffness = np.diag(problem.mount) + push @ solved[:, 1:]
    right = problem.load - push @ solved[:, 0]
    motion, loose = _least_change(stiffness, right, moved, problem)
    forces = -columns @ (solved[:, 0] + solved[:, 1:] @ motion)
    return Forces(forces, motion, state, loose)


def _least_change(stiffness: Array, right: Array, moved: Array, problem: Condensed) -> tuple[Array, Array]:
    """Motions b of S b = right that differs least from `moved`, and the directions (f, m) that S leaves free."""
    if len(right) == 0:
        return right, np.zeros((0, 0))
    left, values, turned = np.linalg.svd(stiffness)
    scale = 1.0 / float(np.mean(np.diag(problem.give)))
    held = values > TOLERANCE * max(float(values[0]), scale)
    change = left.T @ (right - stiffness @ moved)
    change[held] /= values[held]
    change[~held] = 0.0
    return np.asarray(moved + turned.T @ change), np.asarray(turned[~held])


def satisfied(problem: Condensed, found: Forces) -> bool:
    """Whether forces and movements satisfy all conditions and balance."""
    k, forces, state = problem.normals, found.forces, found.state
    moves = problem.motion @ found.motion
    v = problem.start + problem.give @ forces + moves
    force = 10 * TOLERANCE * max(float(np.abs(forces).max(initial=0.0)), float(np.abs(problem.load).max(initial=0.0)))
    size = np.abs(problem.start) + np.abs(problem.give) @ np.abs(forces) + np.abs(moves)
    move = 10 * TOLERANCE * float(size.max(initial=0.0))
    rest = problem.motion.T @ forces + problem.load - problem.mount * found.motion
    good = (forces[:k] >= -force).all() and (v[:k] >= -move).all() and np.abs(rest).max(initial=0.0) <= 10 * force
    limit = problem.friction * forces[problem.owner]
    slides = (state[k:] != FREE) & (state[:k] == FREE)[problem.owner]
    return bool(good and (np.abs(forces[k:]) <= limit + force).all() and (state[k:] * v[k:] <= move)[slides].all())
