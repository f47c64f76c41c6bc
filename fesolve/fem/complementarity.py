"""Which contacts close, and with what force: small dense problems of complementarity.

The part is condensed onto its contacts. Multipliers Λ are forces on the wood along given directions (normals first,
into the wood; then tangents of contacts with friction), v the movement along the same directions:

    v = v_0 + C Λ + G b,     G^T Λ + h - K_b b = 0,

b the free motions: of the part as a rigid body, of pins that are not fixed. A normal direction opens (v >= 0) or bears
(Λ >= 0), one of both being zero; along a tangent |Λ_t| <= μ Λ_n, and where it slides Λ_t = -μ Λ_n sign(v_t). Without
friction this is a convex quadratic programme in Λ and has one solution.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
StateArray = NDArray[np.int8]
BoolArray = NDArray[np.bool_]

OPEN, HOLDS = np.int8(-1), np.int8(0)  # a normal that is open; a normal that bears, a tangent that sticks
TOLERANCE = 1e-9  # of the greatest force or movement
PATIENCE = 8  # changes of whole blocks that may fail to help before single ones begin
ROUNDS = 30  # of letting go the springs that hold free motions
LIMIT_ROUNDS = 200  # of bringing friction's limits up to date
SOFT = 1e6  # give of the springs that hold free motions, times the mean give of a contact


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
    size : float
        Sum of the sizes of all applied forces, N: what forces are measured by.
    """

    give: Array
    start: Array
    motion: Array
    load: Array
    mount: Array
    owner: IntArray
    friction: Array
    size: float

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


@dataclass(frozen=True)
class Picks:
    """A sparse matrix P (r, a) that picks directions: column j has 1 at `index[j]` and `share[j]` at `partner[j]`."""

    index: IntArray
    partner: IntArray
    share: Array

    @classmethod
    def plain(cls, index: IntArray) -> Picks:
        """Each direction by itself."""
        return cls(index, index, np.zeros(len(index)))

    def take(self, matrix: Array) -> Array:
        """P^T M, (a, …)."""
        taken = matrix[self.index]
        with_partner = np.flatnonzero(self.share)
        if len(with_partner):
            share = self.share[with_partner].reshape(-1, *[1] * (matrix.ndim - 1))
            taken[with_partner] += share * matrix[self.partner[with_partner]]
        return taken

    def spread(self, values: Array, size: int) -> Array:
        """P x, (size,)."""
        result = np.zeros(size)
        result[self.index] = values
        np.add.at(result, self.partner, self.share * values)
        return result


class ChatterError(Exception):
    """No state of the contacts satisfies all conditions; `nodes` (normal directions) keep changing."""

    def __init__(self, nodes: IntArray) -> None:
        super().__init__("the contacts do not come to rest")
        self.nodes = nodes


def unbalanced_motion(problem: Condensed) -> Array | None:
    """The motion (m,) in which the loads drive the part away from all contacts, None if contacts can balance them.

    By Farkas' lemma either contact forces exist that balance the loads, or a motion exists that closes no contact and
    on which the loads do work; a linear programme looks for the latter (with friction: a motion that friction does not
    stop either). What it finds counts only if the least squares of contact forces leave a part of the loads too, for
    its own tolerance is coarser. The motion told of is the one that the loads drive most: the projection of the loads
    onto all motions that close no contact, which is what least squares with non-negative forces leaves.

    References
    ----------
    C. L. Lawson, R. J. Hanson, Solving Least Squares Problems (1974), chapter 23 (from memory).
    """
    from scipy.optimize import linprog, nnls

    free = problem.mount == 0.0
    if not free.any() or problem.size == 0.0:
        return None
    load, rows = problem.load[free] / problem.size, _opening_rows(problem)[:, free]
    found = linprog(-load, A_ub=-rows, b_ub=np.zeros(len(rows)), bounds=(-1.0, 1.0), method="highs")
    if (found.fun is not None and -found.fun <= 10 * TOLERANCE) or nnls(rows.T, -load)[1] <= 10 * TOLERANCE:
        return None
    normals = problem.motion[: problem.normals, free]
    motion = np.zeros(len(free))
    motion[free] = load + normals.T @ nnls(normals.T, -load)[0]
    return np.asarray(motion / np.linalg.norm(motion))


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

    What nothing stops is first held by soft springs, so that every state of the contacts has a solution; where the
    state that is found satisfies all conditions without the springs, that is the solution, else the springs are let go
    to where the part has moved (proximal point method). Friction's limits μ Λ_n follow the normal forces at once; where
    that does not end they are those of the round before, each round a problem with one solution.

    Raises
    ------
    ChatterError
        If no state is found that satisfies all conditions.
    """
    state = np.full(len(problem.start), HOLDS)
    try:
        found = _let_go(problem, state, np.zeros(len(problem.load)))
    except ChatterError:
        if len(problem.owner) == 0:
            raise
        found = _by_limits(problem, state)
    return _without_idle(problem, found)


def _without_idle(problem: Condensed, found: Forces) -> Forces:
    """The same with contacts that bear nothing counted as open, so that what they seem to hold is seen to be loose."""
    k = problem.normals
    state = found.state.copy()
    idle = found.forces[:k] <= TOLERANCE * _force_scale(problem, found)
    state[:k][idle] = OPEN
    state[k:][idle[problem.owner]] = HOLDS
    other = settled(problem, state, 0.0 * problem.mount, found.motion, None)
    return found if broken(problem, other, None).any() else other


def _springs(problem: Condensed) -> Array:
    """Soft springs on the motions that nothing stops, (m,) N/mm."""
    give = SOFT * float(np.mean(np.diag(problem.give)))
    return np.where(problem.mount > 0, 0.0, 1.0 / give)


def _let_go(problem: Condensed, state: StateArray, moved: Array) -> Forces:
    soft = _springs(problem)
    wrong = np.zeros(len(state), dtype=bool)
    for _ in range(ROUNDS):
        found = pivoted(problem, state, soft, moved, None)
        state, moved = found.state, found.motion
        exact = settled(problem, state, 0.0 * soft, moved, None)
        wrong = broken(problem, exact, None)
        if not wrong.any():
            return exact
    raise ChatterError(_normals_of(problem, wrong))


def _by_limits(problem: Condensed, state: StateArray) -> Forces:
    """Friction by rounds of given limits, each begun where the last one ended.

    References
    ----------
    P. D. Panagiotopoulos, A nonlinear programming approach to the unilateral contact- and friction-boundary value
    problem in the theory of elasticity, Ingenieur-Archiv 44 (1975) 421-432 (from memory).
    """
    soft, still = _springs(problem), np.zeros(len(problem.load))
    limit = np.zeros(len(problem.owner))
    before = state
    for _ in range(LIMIT_ROUNDS):
        before = state
        found = pivoted(problem, state, soft, still, limit)
        state = found.state
        limit = problem.friction * np.maximum(found.forces[problem.owner], 0.0)
        own = state.copy()
        own[problem.normals :][state[problem.owner] == OPEN] = HOLDS
        exact = settled(problem, own, 0.0 * soft, found.motion, None)
        if not broken(problem, exact, None).any():
            return exact
    raise ChatterError(_normals_of(problem, state != before))


def _normals_of(problem: Condensed, wrong: BoolArray) -> IntArray:
    """Normal directions that are wrong or whose tangent is; all of them if none is."""
    k = problem.normals
    found = np.union1d(np.flatnonzero(wrong[:k]), problem.owner[wrong[k:]])
    return found if len(found) else np.arange(k)


def pivoted(problem: Condensed, state: StateArray, soft: Array, moved: Array, limit: Array | None) -> Forces:
    """Change the state of the contacts until all conditions hold, free motions on springs.

    Block principal pivoting: all directions that break their condition change together; where that does not lessen
    their number for a while only one does, by Murty's rule the last, which ends after finitely many steps where
    friction's limits are given. With Coulomb's own limits the one that is most wrong changes, and a state that comes
    again ends the search.

    Parameters
    ----------
    problem : Condensed
    state : (r,) int8 array
        Where to begin.
    soft : (m,) array
        Springs on the free motions, N/mm.
    moved : (m,) array
        Where they pull to, mm.
    limit : (r - k,) array or None
        Friction's limits, N; None for μ Λ_n.

    Raises
    ------
    ChatterError
        If it does not end.

    References
    ----------
    J. J. Júdice, F. M. Pires, A block principal pivoting algorithm for large-scale strictly monotone linear
    complementarity problems, Computers and Operations Research 21 (1994) 587-596 (from memory).

    Examples
    --------
    Two springs of unit give, one pressed by 1 mm and one 1 mm off: only the first bears, with 1 N.

    >>> none = np.zeros(0)
    >>> two = Condensed(np.eye(2), np.array([-1.0, 1.0]), np.zeros((2, 0)), none, none, none.astype(int), none, 1.0)
    >>> found = pivoted(two, np.full(2, OPEN), none, none, None)
    >>> found.forces.tolist(), found.state.tolist()
    ([1.0, 0.0], [0, -1])
    """
    convex = limit is not None or len(problem.owner) == 0
    fewest, patience = len(state) + 1, PATIENCE
    seen: set[bytes] = set()
    wrong = np.zeros(len(state), dtype=bool)
    for _ in range(200 + 20 * len(state) if convex else 100 + len(state)):
        found = settled(problem, state, soft, moved, limit)
        excess = breaches(problem, found, limit)
        wrong = excess > 0
        count = int(wrong.sum())
        if count == 0:
            return found
        if count < fewest:
            fewest, patience = count, PATIENCE
        else:
            patience -= 1
        if patience < 0:
            if not convex and state.tobytes() in seen:
                break
            seen.add(state.tobytes())
            one = int(np.flatnonzero(wrong)[-1]) if convex else int(np.argmax(excess))
            wrong = np.arange(len(state)) == one
        state = _changed(problem, found, wrong, limit)
    raise ChatterError(_normals_of(problem, wrong))


def _movements(problem: Condensed, found: Forces) -> Array:
    """Movement v (r,) along all directions, mm."""
    return np.asarray(problem.start + problem.give @ found.forces + problem.motion @ found.motion)


def broken(problem: Condensed, found: Forces, limit: Array | None) -> BoolArray:
    """Directions (r,) that break their condition; all of them where forces do not balance."""
    rest = problem.motion.T @ found.forces + problem.load - problem.mount * found.motion
    if np.abs(rest).max(initial=0.0) > 100 * TOLERANCE * _force_scale(problem, found):
        return np.ones(len(found.state), dtype=bool)
    return breaches(problem, found, limit) > 0


def _force_scale(problem: Condensed, found: Forces) -> float:
    return max(float(np.abs(found.forces).max(initial=0.0)), problem.size)


def breaches(problem: Condensed, found: Forces, limit: Array | None) -> Array:
    """By how much each direction breaks its condition (r,), over the tolerance; 0 where it does not.

    Forces are measured by the greatest force, movements by the greatest share of a movement.
    """
    k, state, forces = problem.normals, found.state, found.forces
    v = _movements(problem, found)
    shares = np.abs(problem.start) + np.abs(problem.give) @ np.abs(forces)
    shares += np.abs(problem.motion) @ np.abs(found.motion)
    force = TOLERANCE * _force_scale(problem, found) or 1.0
    move = TOLERANCE * float(shares.max(initial=0.0)) or 1.0
    bears = state[:k] == HOLDS
    excess = np.zeros(len(state))
    excess[:k] = np.where(bears, -forces[:k] / force, -v[:k] / move)
    if len(problem.owner):
        most = limit if limit is not None else problem.friction * np.maximum(forces[problem.owner], 0.0)
        t, way = forces[k:], state[k:]
        over = np.where(way == HOLDS, (np.abs(t) - most) / force, way * v[k:] / move)
        acts = limit > 0 if limit is not None else bears[problem.owner] & (excess[problem.owner] <= 1.0)
        excess[k:] = np.where(acts, over, 0.0)
    return np.where(excess > 1.0, excess, 0.0)


def _changed(problem: Condensed, found: Forces, wrong: BoolArray, limit: Array | None) -> StateArray:
    """The state with wrong directions on the other side; what closes begins by sliding the way it moves."""
    k, state = problem.normals, found.state.copy()
    v = _movements(problem, found)
    state[:k][wrong[:k]] = np.where(state[:k][wrong[:k]] == HOLDS, OPEN, HOLDS)
    before, t = found.state[k:], found.forces[k:]
    now = np.where(before == HOLDS, np.sign(t), 0).astype(np.int8)
    state[k:] = np.where(wrong[k:], now, before)
    if limit is None and len(problem.owner):
        closes = wrong[problem.owner] & (state[problem.owner] == HOLDS)
        state[k:][closes] = -np.sign(v[k:][closes]).astype(np.int8)
        state[k:][state[problem.owner] == OPEN] = HOLDS
    return state


def settled(problem: Condensed, state: StateArray, soft: Array, moved: Array, limit: Array | None) -> Forces:
    """Forces and motions for a given state of all contacts.

    With springs on the free motions these pull to `moved`; without them motions that nothing stops stay there.
    """
    forced, fixed, given = active(problem, state, limit)
    return settled_with(problem, forced, fixed, given, state, soft, moved)


def active(problem: Condensed, state: StateArray, limit: Array | None) -> tuple[Picks, Picks, Array]:
    """Forces that each unknown stands for, the movement that vanishes for it, and forces (r,) given.

    Unknowns are the forces of normals that bear and of tangents that stick. Where a tangent slides its force goes with
    its normal's, or is the limit; only the normal's movement vanishes.
    """
    k = problem.normals
    bears = state[:k] == HOLDS
    acts = bears[problem.owner] if limit is None else limit > 0
    sticks = acts & (state[k:] == HOLDS)
    slides = np.flatnonzero(acts & (state[k:] != HOLDS))
    index = np.concatenate([np.flatnonzero(bears), k + np.flatnonzero(sticks)])
    fixed, given = Picks.plain(index), np.zeros(len(state))
    if limit is not None:
        given[k + slides] = state[k + slides] * limit[slides]
        return fixed, fixed, given
    partner, share = index.copy(), np.zeros(len(index))
    place = (np.cumsum(bears) - 1)[problem.owner[slides]]
    partner[place], share[place] = k + slides, state[k + slides] * problem.friction[slides]
    return Picks(index, partner, share), fixed, given


def settled_with(
    problem: Condensed, forced: Picks, fixed: Picks, given: Array, state: StateArray, soft: Array, moved: Array
) -> Forces:
    """Forces Λ = P x + given with Q^T v = 0, P (`forced`) and Q (`fixed`) from `active`, and motions in equilibrium.

    The give of the contacts is eliminated first; what is left are the few motions.
    """
    start = problem.start + problem.give @ given if given.any() else problem.start
    both = fixed.take(np.concatenate([start[:, None], problem.motion], axis=1))
    inner = forced.take(fixed.take(problem.give).T).T
    solved = np.asarray(np.linalg.solve(inner, both) if len(inner) else both, dtype=np.float64)
    push = forced.take(problem.motion).T  # (m, a)
    stiffness = np.diag(problem.mount + soft) + push @ solved[:, 1:]
    right = problem.load + problem.motion.T @ given + soft * moved - push @ solved[:, 0]
    if soft.any():
        motion, loose = np.asarray(np.linalg.solve(stiffness, right), dtype=np.float64), np.zeros((0, len(right)))
    else:
        motion, loose = _least_change(stiffness, right, moved, problem)
    forces = given - forced.spread(solved[:, 0] + solved[:, 1:] @ motion, len(state))
    return Forces(forces, motion, state, loose)


def _least_change(stiffness: Array, right: Array, moved: Array, problem: Condensed) -> tuple[Array, Array]:
    """Motions b of S b = right that differ least from `moved`, and the directions (f, m) that S leaves free."""
    if len(right) == 0:
        return right, np.zeros((0, 0))
    left, values, turned = np.linalg.svd(stiffness)
    scale = 1.0 / float(np.mean(np.diag(problem.give)))
    held = values > TOLERANCE * max(float(values[0]), scale)
    change = left.T @ (right - stiffness @ moved)
    change[held] /= values[held]
    change[~held] = 0.0
    return np.asarray(moved + turned.T @ change), np.asarray(turned[~held])
