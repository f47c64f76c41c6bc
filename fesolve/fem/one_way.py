"""Solving a model with one-way supports, case by case.

Each load case has its own contacts. Displacements are small: contact stands on the unmoved outline. Friction acts in
one step from the unloaded state: a node that bears has slid from where it began, in one direction.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ..errors import FreeMotionError, InputError, SolveError
from .complementarity import (
    HOLDS,
    ChatterError,
    Condensed,
    Forces,
    active,
    contact_forces,
    settled_with,
    unbalanced_motion,
)
from .condensed import HeldPart, condensed, hold_part, load_size
from .constraints import describe_motion, describe_one_way, free_motions
from .contact import Contact, OneWay
from .initial_strain import strains_of, without_strain
from .model import PlaneModel
from .solution import Reaction, Solution
from .solve import BALANCE_LIMIT, _displacement, _imbalance, _reactions

Array = NDArray[np.float64]

OPEN_LIMIT = 1e-8  # of the greatest displacement: how far a closed contact may stand open after the last solution
REFINEMENTS = 4


def solve_one_way(
    model: PlaneModel,
    wanted: list[dict[str, float]],
    force: Array,
    several: bool,
    names: Sequence[str] | None = None,
) -> Solution:
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
    held = hold_part(model)
    free, _ = _displacement(held.system, held.auxiliary, force)
    found = []
    for case, factors in enumerate(wanted):
        problem = condensed(held, free[case], force[case], factors)
        found.append(_solved(held, problem, names[case] if names else _named(factors, case, several)))
    return _finished(held, wanted, force, found, several)


def _named(factors: Mapping[str, float], case: int, several: bool) -> str:
    loads = " + ".join(name if factor == 1.0 else f"{factor:g} {name}" for name, factor in factors.items())
    return f"Load case {case + 1} ({loads})" if several else "The loads"


# ---- one case


def _solved(held: HeldPart, problem: Condensed, case: str) -> Forces:
    motion = unbalanced_motion(problem)
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


def _free_way(held: HeldPart, motion: Array) -> str:
    count = held.motions.shape[2]
    if np.linalg.norm(motion[:count]) > 1e-6:
        return f"the part would {describe_one_way(_rigid(held, motion), held.model.mesh.points)}"
    unfixed = [c.name for c in held.model.contacts for stiffness in c.mount if np.isfinite(stiffness)]
    name = unfixed[int(np.argmax(np.abs(motion[count:])))]
    return f'pin "{name}" would move out of its hole'


def _rigid(held: HeldPart, motion: Array) -> Array:
    """A free motion (m + p,) as velocity along x, y and turning, (3,)."""
    supports = (*held.model.holds, *(spring.hold for spring in held.model.springs))
    return np.asarray(motion[: held.motions.shape[2]] @ free_motions(held.model.mesh.points, supports))


# ---- putting together


def _finished(
    held: HeldPart, wanted: list[dict[str, float]], force: Array, found: list[Forces], several: bool
) -> Solution:
    model = held.model
    found, displacement, reaction = _refined(held, force, found)
    contacts = [_contacts(held, d, one) for d, one in zip(displacement, found, strict=True)]
    rows, imbalance = [], 0.0
    for case, factors in enumerate(wanted):
        row = _reactions(model, displacement[case], reaction[case], ())
        row += [Reaction(c.name, c.points, c.force) for c in contacts[case] if c.support.others is None]
        rows.append(tuple(row))
        size = load_size(model.contacts, force[case], factors)
        imbalance = max(imbalance, _imbalance(model, force[case], row, size))
    if imbalance > BALANCE_LIMIT:
        raise SolveError(f"Loads and reactions differ by {imbalance:.1e} of the loads; the solution is not used.")
    pushed = np.stack([_nodal(held, one.forces) for one in found])
    energy = without_strain(0.5 * np.einsum("cni,cni->c", force + pushed, displacement), model, displacement, wanted)
    initial = strains_of(model.loads, wanted)
    solution = Solution.of(model, displacement, tuple(rows), energy, imbalance, several, initial)
    loose = tuple(_loose(held, one) for one in found)
    return replace(solution, contacts=tuple(contacts), loose=loose, states=tuple(one.state for one in found))


def _refined(held: HeldPart, force: Array, found: list[Forces]) -> tuple[list[Forces], Array, Array]:
    """Forces, displacements and nodal reactions (c, n, 2); forces corrected by what closed contacts stand open."""
    for _ in range(REFINEMENTS):
        pushed = np.stack([_nodal(held, one.forces) for one in found])
        displacement, reaction = _displaced(held, force + pushed, found)
        left = [_movement(held, d, one) for d, one in zip(displacement, found, strict=True)]
        if all(_openness(held, d, v, one) < OPEN_LIMIT for d, v, one in zip(displacement, left, found, strict=True)):
            return found, displacement, reaction
        found = [_corrected(held, v, one) for v, one in zip(left, found, strict=True)]
    worst = max(_openness(held, d, v, one) for d, v, one in zip(displacement, left, found, strict=True))
    raise SolveError(
        f"Closed contacts stand open by {worst:.1e} of the greatest displacement; the solution is not used. "
        "Look for slivers, or for parts that are very slender."
    )


def _movement(held: HeldPart, displacement: Array, found: Forces) -> Array:
    """Movement v (r,) past the supports by displacements (n, 2); that of normals is their gap."""
    directions, count = held.directions, held.motions.shape[2]
    v = directions.movement(displacement)
    return np.asarray(v + directions.start + directions.pins @ found.motion[count:] + directions.give * found.forces)


def _openness(held: HeldPart, displacement: Array, v: Array, found: Forces) -> float:
    """How far closed contacts stand open, stuck ones have slipped, or open ones overlap; of the greatest movement."""
    _, fixed, _ = active(_unloaded(held, v), found.state, None)
    k = len(v) - len(held.directions.owner)
    scale = float(np.abs(displacement).max(initial=0.0)) + float(np.abs(held.directions.start).max(initial=0.0))
    worst = max(float(np.abs(fixed.take(v)).max(initial=0.0)), -float(v[:k].min(initial=0.0)))
    return worst / scale if scale > 0 else 0.0


def _unloaded(held: HeldPart, start: Array) -> Condensed:
    directions = held.directions
    none = np.zeros(len(held.mount))
    return Condensed(held.give, start, held.motion, none, held.mount, directions.owner, directions.friction, 0.0)


def _corrected(held: HeldPart, v: Array, found: Forces) -> Forces:
    """Forces and motions with what closes the contacts that stand open by v (r,)."""
    problem = _unloaded(held, v)
    forced, fixed, given = active(problem, found.state, None)
    still = np.zeros(len(held.mount))
    more = settled_with(problem, forced, fixed, given, found.state, still, still)
    return replace(found, forces=found.forces + more.forces, motion=found.motion + more.motion)


def _nodal(held: HeldPart, forces: Array) -> Array:
    """Nodal forces (n, 2) of forces (r,) along all directions."""
    nodal = np.zeros_like(held.model.mesh.points)
    directions, paired = held.directions, held.directions.others >= 0
    np.add.at(nodal, directions.nodes, forces[:, None] * directions.along)
    np.add.at(nodal, directions.others[paired], -forces[paired, None] * directions.along[paired])
    return nodal


def _displaced(held: HeldPart, total: Array, found: list[Forces]) -> tuple[Array, Array]:
    """Displacements and nodal reactions (c, n, 2) of the balanced part, rigid motions put back."""
    displacement, reaction = _displacement(held.system, held.auxiliary, total)
    for hold in held.auxiliary:
        reaction[:, hold.nodes] = 0.0  # what they bear is part of the imbalance
    count = held.motions.shape[2]
    rigid = np.stack([one.motion[:count] for one in found])
    return displacement + np.einsum("nim,cm->cni", held.motions, rigid), reaction


def _contacts(held: HeldPart, displacement: Array, found: Forces) -> tuple[Contact, ...]:
    """What each support does in one case."""
    k = len(held.directions.nodes) - len(held.directions.owner)
    gap = _movement(held, displacement, found)[:k]
    gap = np.where(found.state[:k] == HOLDS, 0.0, np.maximum(gap, 0.0))
    moved = _pins_moved(held.model.contacts, found.motion[held.motions.shape[2] :])
    return tuple(_contact(held, i, displacement, found, gap, moved[i]) for i in range(len(moved)))


def _contact(held: HeldPart, number: int, displacement: Array, found: Forces, gap: Array, moved: Array) -> Contact:
    support, directions = held.model.contacts[number], held.directions
    k = len(directions.nodes) - len(directions.owner)
    mine = np.flatnonzero(directions.place == number)
    normal, tangent = mine[mine < k], mine[mine >= k]
    bears = found.state[normal] == HOLDS
    push = np.where(bears, np.maximum(found.forces[normal], 0.0), 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        pressure = np.where(support.area > 0, push / support.area, np.nan)
    force = push[:, None] * directions.along[normal]
    status = np.where(bears, "closed", "open").astype("<U6")
    if len(tangent):
        force = force + found.forces[tangent][:, None] * directions.along[tangent]
        status[bears & (found.state[tangent] != HOLDS)] = "slip"
    past = moved if support.others is None else displacement[support.others]
    slip = np.einsum("ki,ki->k", support.tangents, displacement[support.nodes] - past)
    points = held.model.mesh.points[support.nodes]
    return Contact(support, points, pressure, gap[normal], force, slip, status, moved)


def _pins_moved(contacts: tuple[OneWay, ...], motion: Array) -> list[Array]:
    """Displacement (2,) of each support from the motions (p,) of unfixed pins."""
    values = iter(motion)
    return [np.array([next(values) if np.isfinite(s) else 0.0 for s in contact.mount]) for contact in contacts]


def _loose(held: HeldPart, found: Forces) -> str | None:
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
    held, state = hold_part(solution.model), solution.states[case]
    free, _ = _displacement(held.system, held.auxiliary, functionals)
    found = []
    for one, force in zip(free, functionals, strict=True):
        problem = condensed(held, one, force, {})
        problem = replace(problem, start=problem.start - held.directions.start)
        forced, fixed, given = active(problem, state, None)
        still = np.zeros(len(problem.load))
        found.append(settled_with(problem, fixed, forced, given, state, still, still))
    pushed = np.stack([_nodal(held, one.forces) for one in found])
    return _displaced(held, functionals + pushed, found)[0]
