"""Solving a model with one-way supports: the part condensed onto its contacts through the factor of a held part.

What two-way supports and springs leave free is held at a few nodes far apart (auxiliary supports). The part so held is
condensed onto the contacts; rigid motions and unfixed pins join as unknowns, so that in the end the auxiliary supports
bear nothing. Each load case has its own contacts. Displacements are small: contact stands on the unmoved outline.
Friction acts in one step from the unloaded state: a node that bears has slid from where it began, in one direction.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..errors import FreeMotionError, InputError, SolveError
from .complementarity import (
    FREE,
    ChatterError,
    Condensed,
    Forces,
    active,
    contact_forces,
    settled_with,
    unbalanced_motion,
)
from .compliance import compliance
from .constraints import Hold, describe_motion, describe_one_way, free_motions, rigid_motions
from .contact import Contact, OneWay
from .model import PlaneModel
from .solution import Reaction, Solution
from .solve import (
    BALANCE_LIMIT,
    _assemble,
    _displacement,
    _factorised,
    _imbalance,
    _reactions,
    _System,
    _used_nodes,
)

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

Cases = Sequence[Mapping[str, float]]
OPEN_LIMIT = 1e-7  # of the greatest displacement: how far a closed contact may stand open after the last solution
DOUBLED = 1e-10  # added to the give of each contact, of its own: contacts that share a node share its force


@dataclass(frozen=True)
class _Directions:
    """All directions along which contacts push: normals first, then tangents of those with friction.

    Attributes
    ----------
    nodes : (r,) array
    along : (r, 2) array
        Force on the wood; v = along · (movement of the wood less the support's).
    pins : (r, p) array
        Movement v by those of the unfixed pins' own displacements.
    start : (r,) array
        Gap of normals, 0 for tangents.
    give : (r,) array
        Of the supports, mm/N.
    owner, friction : (r - k,) arrays
        See `Condensed`.
    place : (r,) array
        Which contact a direction belongs to.
    """

    nodes: IntArray
    along: Array
    pins: Array
    start: Array
    give: Array
    owner: IntArray
    friction: Array
    place: IntArray


@dataclass(frozen=True)
class _Held:
    """The part on auxiliary supports, ready for any load."""

    model: PlaneModel
    system: _System
    auxiliary: tuple[Hold, ...]
    motions: Array  # (n, 2, m): rigid motions that two-way supports leave free
    directions: _Directions
    give: Array  # (r, r)
    motion: Array  # (r, m + p)
    mount: Array  # (m + p,)


def solve_one_way(model: PlaneModel, wanted: list[dict[str, float]], force: Array, several: bool) -> Solution:
    """Displacements, reactions and contacts of a model with one-way supports; nodal forces (c, n, 2) by case.

    Raises
    ------
    FreeMotionError
        If no contact forces can balance the loads of a case.
    SolveError
        If the contacts of a case do not come to rest, or the solution does not balance.
    """
    if model.pins:
        raise InputError(
            f'Pin "{model.pins[0].name}" ties half its hole and cannot stand beside one-way supports; '
            "use a one-way pin of the hole's diameter."
        )
    held = _hold(model)
    free, _ = _displacement(held.system, held.auxiliary, force)
    found = []
    for case, factors in enumerate(wanted):
        problem = _condensed(held, free[case], force[case], factors)
        found.append(_solved(held, problem, _size(held, force[case], factors), _named(factors, case, several)))
    return _finished(held, wanted, force, found, several)


def _named(factors: Mapping[str, float], case: int, several: bool) -> str:
    loads = " + ".join(name if factor == 1.0 else f"{factor:g} {name}" for name, factor in factors.items())
    return f"Load case {case + 1} ({loads})" if several else "The loads"


# ---- holding and condensing


def _hold(model: PlaneModel) -> _Held:
    system = _assemble(model)
    supports = (*model.holds, *(spring.hold for spring in model.springs))
    depends = (model.mesh, *supports, *model.contacts)
    auxiliary, motions = model.keep("auxiliary", depends, lambda: _auxiliary(model, supports))
    directions = model.keep("directions", model.contacts, lambda: _all_directions(model.contacts))
    part, _ = _factorised(system, auxiliary)
    give = model.keep(
        "compliance", (part, system.data, directions), lambda: _contact_give(system, auxiliary, directions)
    )
    rigid = np.einsum("ri,rim->rm", directions.along, motions[directions.nodes])
    mounts = [stiffness for contact in model.contacts for stiffness in contact.mount if np.isfinite(stiffness)]
    mount = np.concatenate([np.zeros(motions.shape[2]), mounts])
    return _Held(
        model, system, auxiliary, motions, directions, give, np.concatenate([rigid, directions.pins], axis=1), mount
    )


def _auxiliary(model: PlaneModel, supports: tuple[Hold, ...]) -> tuple[tuple[Hold, ...], Array]:
    """Holds that stop the free motions, one displacement each, far apart; and these motions (n, 2, m)."""
    points = model.mesh.points
    free = free_motions(points, supports)
    center, size = points.mean(axis=0), float(np.ptp(points, axis=0).max()) / 2
    motions = rigid_motions(points, center, size) @ free.T
    if len(free) == 0:
        return (), motions
    usable = _used_nodes(model)
    for hold in supports:
        usable[hold.nodes] = False
    plain = usable.copy()
    for contact in model.contacts:
        plain[contact.nodes] = False
    chosen = _far_apart(motions, plain if plain.sum() >= 3 else usable)
    axes = np.eye(2)
    return tuple(Hold("auxiliary", np.array([u // 2]), axes[[u % 2]]) for u in chosen), motions


def _far_apart(motions: Array, usable: NDArray[np.bool_]) -> IntArray:
    """Unknowns (m,) of usable nodes that together stop all motions (n, 2, m), by pivoting on the greatest movement."""
    rows = motions.reshape(-1, motions.shape[2]).copy()
    rows[np.repeat(~usable, 2)] = 0.0
    chosen = []
    for _ in range(rows.shape[1]):
        size = np.linalg.norm(rows, axis=1)
        best = int(np.argmax(size))
        chosen.append(best)
        along = rows[best] / size[best]
        rows -= np.outer(rows @ along, along)
    return np.array(chosen)


def _all_directions(contacts: tuple[OneWay, ...]) -> _Directions:
    unfixed = [(i, j) for i, c in enumerate(contacts) for j in range(2) if np.isfinite(c.mount[j])]
    parts: list[tuple[int, OneWay, Array, Array, Array]] = [
        (i, c, -c.normals, c.gap, c.give) for i, c in enumerate(contacts)
    ]
    counts = np.cumsum([0, *(len(c.nodes) for c in contacts)])
    owner = [counts[i] + np.arange(len(c.nodes)) for i, c in enumerate(contacts) if c.friction > 0]
    friction = [np.full(len(c.nodes), c.friction) for c in contacts if c.friction > 0]
    parts += [
        (i, c, c.tangents, np.zeros(len(c.nodes)), np.zeros(len(c.nodes)))
        for i, c in enumerate(contacts)
        if c.friction > 0
    ]
    place = np.concatenate([np.full(len(c.nodes), i) for i, c, *_ in parts])
    along = np.concatenate([part[2] for part in parts])
    pins = np.zeros((len(place), len(unfixed)))
    for column, (i, j) in enumerate(unfixed):
        pins[place == i, column] = -along[place == i, j]
    return _Directions(
        np.concatenate([c.nodes for _, c, *_ in parts]),
        along,
        pins,
        np.concatenate([part[3] for part in parts]),
        np.concatenate([part[4] for part in parts]),
        np.concatenate(owner) if owner else np.zeros(0, dtype=np.int64),
        np.concatenate(friction) if friction else np.zeros(0),
        place,
    )


def _contact_give(system: _System, auxiliary: tuple[Hold, ...], directions: _Directions) -> Array:
    """Movement along all directions by unit forces along them, mm/N; shape (r, r)."""
    part, solve = _factorised(system, auxiliary)
    nodes = np.unique(directions.nodes)
    number = np.full(2 * len(system.model.mesh.points), -1)
    number[part.free] = np.arange(len(part.free))
    unknowns = (2 * nodes[:, None] + [0, 1]).reshape(-1)
    places = number[unknowns]
    known = places >= 0
    whole = np.zeros((len(unknowns), len(unknowns)))
    whole[np.ix_(known, known)] = compliance(part, system.data, places[known], solve)
    local = np.einsum("rci,ri->rc", system.frames.axes[directions.nodes], directions.along)
    first = 2 * np.searchsorted(nodes, directions.nodes)
    rows = np.zeros((len(first), len(unknowns)))
    rows[np.arange(len(first)), first], rows[np.arange(len(first)), first + 1] = local.T
    give = rows @ whole @ rows.T
    own = np.diag(give)
    # a node that does not give along a direction is held along it: rounding must not make it a contact
    own_give = np.where(own > DOUBLED * own.max(initial=0.0), DOUBLED * own, own.max(initial=0.0))
    give[np.diag_indices_from(give)] += own_give + directions.give
    return np.asarray(give)


def _condensed(held: _Held, free: Array, force: Array, factors: Mapping[str, float]) -> Condensed:
    """The small problem of one case from displacements (n, 2) of the part on its auxiliary supports."""
    directions = held.directions
    start = directions.start + np.einsum("ri,ri->r", directions.along, free[directions.nodes])
    work = np.einsum("ni,nim->m", force, held.motions)
    load = np.concatenate([work, _pin_forces(held.model.contacts, factors)])
    return Condensed(held.give, start, held.motion, load, held.mount, directions.owner, directions.friction)


def _pin_forces(contacts: tuple[OneWay, ...], factors: Mapping[str, float]) -> Array:
    """Loads on the displacements of unfixed pins, N."""
    return np.array(
        [
            factors.get(c.name, 0.0) * c.force[j] if any(c.force) else 0.0
            for c in contacts
            for j in range(2)
            if np.isfinite(c.mount[j])
        ]
    )


def _size(held: _Held, force: Array, factors: Mapping[str, float]) -> float:
    """Sum of the sizes of all applied forces, N."""
    on_pins = sum(abs(factors.get(c.name, 0.0)) * float(np.hypot(*c.force)) for c in held.model.contacts)
    return float(np.linalg.norm(force, axis=1).sum()) + on_pins


# ---- one case


def _solved(held: _Held, problem: Condensed, size: float, case: str) -> Forces:
    motion = unbalanced_motion(problem, size)
    if motion is not None:
        raise FreeMotionError(
            f"{case}: no contact forces can balance the loads: {_free_way(held, motion)}. "
            "Add a support that stops this, or hold another direction."
        )
    try:
        return contact_forces(problem)
    except ChatterError as error:
        places = held.model.mesh.points[held.directions.nodes[error.nodes]]
        shown = ", ".join(f"({x:.4g}, {y:.4g})" for x, y in places[:4])
        names = ", ".join(f'"{held.model.contacts[i].name}"' for i in np.unique(held.directions.place[error.nodes]))
        raise SolveError(
            f"{case}: the contacts do not come to rest; {len(places)} nodes of {names} keep changing between open, "
            f"closed and sliding, near {shown} mm. Less friction or a finer mesh there may help."
        ) from error


def _free_way(held: _Held, motion: Array) -> str:
    count = held.motions.shape[2]
    if np.linalg.norm(motion[:count]) > 1e-6:
        return f"the part would {describe_one_way(_rigid(held, motion), held.model.mesh.points)}"
    unfixed = [c.name for c in held.model.contacts for stiffness in c.mount if np.isfinite(stiffness)]
    name = unfixed[int(np.argmax(np.abs(motion[count:])))]
    return f'pin "{name}" would move out of its hole'


def _rigid(held: _Held, motion: Array) -> Array:
    """A free motion (m + p,) as velocity along x, y and turning, (3,)."""
    supports = (*held.model.holds, *(spring.hold for spring in held.model.springs))
    return np.asarray(motion[: held.motions.shape[2]] @ free_motions(held.model.mesh.points, supports))


# ---- putting together


def _finished(
    held: _Held, wanted: list[dict[str, float]], force: Array, found: list[Forces], several: bool
) -> Solution:
    model = held.model
    pushed = np.stack([_nodal(held, one.forces) for one in found])
    displacement, reaction = _displaced(held, force + pushed, found)
    contacts = [_contacts(held, d, one) for d, one in zip(displacement, found, strict=True)]
    rows, imbalance = [], 0.0
    for case, factors in enumerate(wanted):
        row = _reactions(model, displacement[case], reaction[case], ())
        row += [Reaction(c.name, c.points, c.force) for c in contacts[case]]
        rows.append(tuple(row))
        imbalance = max(imbalance, _imbalance(model, force[case], row, _size(held, force[case], factors)))
    if imbalance > BALANCE_LIMIT:
        raise SolveError(f"Loads and reactions differ by {imbalance:.1e} of the loads; the solution is not used.")
    energy = 0.5 * np.einsum("cni,cni->c", force + pushed, displacement)
    solution = Solution.of(model, displacement, tuple(rows), energy, imbalance, several)
    loose = tuple(_loose(held, one) for one in found)
    return replace(solution, contacts=tuple(contacts), loose=loose, states=tuple(one.state for one in found))


def _nodal(held: _Held, forces: Array) -> Array:
    """Nodal forces (n, 2) of forces (r,) along all directions."""
    nodal = np.zeros_like(held.model.mesh.points)
    np.add.at(nodal, held.directions.nodes, forces[:, None] * held.directions.along)
    return nodal


def _displaced(held: _Held, total: Array, found: list[Forces]) -> tuple[Array, Array]:
    """Displacements and nodal reactions (c, n, 2) of the balanced part, rigid motions put back."""
    displacement, reaction = _displacement(held.system, held.auxiliary, total)
    for hold in held.auxiliary:
        reaction[:, hold.nodes] = 0.0  # what they bear is part of the imbalance
    count = held.motions.shape[2]
    rigid = np.stack([one.motion[:count] for one in found])
    return displacement + np.einsum("nim,cm->cni", held.motions, rigid), reaction


def _contacts(held: _Held, displacement: Array, found: Forces) -> tuple[Contact, ...]:
    """What each support does in one case; refuses closed contacts that stand open."""
    directions, count = held.directions, held.motions.shape[2]
    v = np.einsum("ri,ri->r", directions.along, displacement[directions.nodes])
    v += directions.pins @ found.motion[count:]
    k = len(v) - len(directions.owner)
    bears = (found.state[:k] == FREE) & (found.forces[:k] > 0)
    gap = directions.start[:k] + v[:k] + directions.give[:k] * found.forces[:k]
    scale = float(np.abs(displacement).max(initial=0.0)) + float(np.abs(gap).max(initial=0.0))
    worst = float(np.abs(gap[bears]).max(initial=0.0)) if bears.any() else 0.0
    if max(worst, -float(gap.min(initial=0.0))) > OPEN_LIMIT * scale:
        raise SolveError(f"Closed contacts stand {worst:.1e} mm open after the solution; it is not used.")
    moved = _pins_moved(held.model.contacts, found.motion[count:])
    return tuple(
        _contact(held, i, displacement, found, np.where(bears, 0.0, np.maximum(gap, 0.0)), moved[i])
        for i in range(len(held.model.contacts))
    )


def _contact(held: _Held, number: int, displacement: Array, found: Forces, gap: Array, moved: Array) -> Contact:
    support, directions = held.model.contacts[number], held.directions
    k = len(directions.nodes) - len(directions.owner)
    mine = np.flatnonzero(directions.place == number)
    normal, tangent = mine[mine < k], mine[mine >= k]
    push = found.forces[normal]
    with np.errstate(divide="ignore", invalid="ignore"):
        pressure = np.where(support.area > 0, push / support.area, np.nan)
    force = push[:, None] * directions.along[normal]
    status = np.where(push > 0, "closed", "open").astype("<U6")
    if len(tangent):
        force = force + found.forces[tangent][:, None] * directions.along[tangent]
        status[(push > 0) & (found.state[tangent] != FREE)] = "slip"
    slip = np.einsum("ki,ki->k", support.tangents, displacement[support.nodes] - moved)
    points = held.model.mesh.points[support.nodes]
    return Contact(support, points, pressure, gap[normal], force, slip, status, moved)


def _pins_moved(contacts: tuple[OneWay, ...], motion: Array) -> list[Array]:
    """Displacement (2,) of each support from the motions (p,) of unfixed pins."""
    values = iter(motion)
    return [np.array([next(values) if np.isfinite(s) else 0.0 for s in contact.mount]) for contact in contacts]


def _loose(held: _Held, found: Forces) -> str | None:
    """What nothing stops in a case, in words."""
    count = held.motions.shape[2]
    words = [
        describe_motion(_rigid(held, motion), held.model.mesh.points)
        for motion in found.loose
        if np.linalg.norm(motion[:count]) > 1e-6
    ]
    if len(words) == 3:
        return "the part is loose: it can slide in any direction and turn"
    if words:
        return f"the part is loose: it can {' and '.join(words)}"
    return "a pin is loose in its hole" if len(found.loose) else None


# ---- other loads with the same contacts


def answer_one_way(solution: Solution, case: int, functionals: Array) -> Array:
    """Displacements (g, n, 2) under nodal forces (g, n, 2), contacts open, closed and sliding as in one case.

    What answers to a wanted quantity is the transposed problem: where a node slides, its force and the movement that
    vanishes change places.
    """
    held, state = _hold(solution.model), solution.states[case]
    free, _ = _displacement(held.system, held.auxiliary, functionals)
    found = []
    for one, force in zip(free, functionals, strict=True):
        problem = _condensed(held, one, force, {})
        problem = replace(problem, start=problem.start - held.directions.start)
        columns, rows = active(problem, state)
        found.append(settled_with(problem, rows, columns, state, np.zeros(len(problem.load))))
    pushed = np.stack([_nodal(held, one.forces) for one in found])
    return _displaced(held, functionals + pushed, found)[0]
