"""A part with one-way supports, condensed onto its contacts through the factor of a held part.

What two-way supports leave free is held at a few nodes far apart (auxiliary supports), and the part so held is
condensed onto the contacts. Rigid motions and unfixed pins join as unknowns, so that in the end the auxiliary supports
bear nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .complementarity import Condensed
from .compliance import compliance
from .constraints import Hold, free_motions, rigid_motions
from .contact import OneWay
from .model import PlaneModel
from .solve import _assemble, _factorised, _System

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

DOUBLED = 1e-10  # added to the give of each contact, of its own: contacts that share a node share its force


@dataclass(frozen=True)
class Directions:
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
    others : (r,) array
        Node that is pushed the other way, -1 where a support does the pushing.
    """

    nodes: IntArray
    along: Array
    pins: Array
    start: Array
    give: Array
    owner: IntArray
    friction: Array
    place: IntArray
    others: IntArray

    def movement(self, displacement: Array) -> Array:
        """Movement along all directions, (r,) or (r, m), by displacements (n, 2) or (n, 2, m)."""
        paired = self.others >= 0
        moved = displacement[self.nodes]
        moved[paired] -= displacement[self.others[paired]]
        return np.asarray(np.einsum("ri,ri...->r...", self.along, moved))


@dataclass(frozen=True)
class HeldPart:
    """The part on auxiliary supports, ready for any load."""

    model: PlaneModel
    system: _System
    auxiliary: tuple[Hold, ...]
    motions: Array  # (n, 2, m): rigid motions that two-way supports leave free
    directions: Directions
    give: Array  # (r, r)
    motion: Array  # (r, m + p)
    mount: Array  # (m + p,)


def hold_part(model: PlaneModel) -> HeldPart:
    """The part on auxiliary supports, factorised and condensed; kept with the model as long as nothing changes."""
    system = _assemble(model)
    supports = (*model.holds, *(spring.hold for spring in model.springs))
    depends = (model.mesh, *supports, *model.contacts)
    auxiliary, motions = model.keep("auxiliary", depends, lambda: _auxiliary(model, supports))
    directions = model.keep("directions", model.contacts, lambda: _all_directions(model.contacts))
    out, _ = _factorised(system, auxiliary)
    give = model.keep(
        "compliance", (out, system.data, directions), lambda: _contact_give(system, auxiliary, directions)
    )
    rigid = directions.movement(motions)
    mounts = [stiffness for contact in model.contacts for stiffness in contact.mount if np.isfinite(stiffness)]
    mount = np.concatenate([np.zeros(motions.shape[2]), mounts])
    return HeldPart(
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
    usable = np.ones(len(points), dtype=bool)
    for hold in supports:
        usable[hold.nodes] = False
    plain = usable.copy()
    for contact in model.contacts:
        plain[contact.nodes] = False
        if contact.others is not None:
            plain[contact.others] = False
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


def _all_directions(contacts: tuple[OneWay, ...]) -> Directions:
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
    return Directions(
        np.concatenate([c.nodes for _, c, *_ in parts]),
        along,
        pins,
        np.concatenate([part[3] for part in parts]),
        np.concatenate([part[4] for part in parts]),
        np.concatenate(owner) if owner else np.zeros(0, dtype=np.int64),
        np.concatenate(friction) if friction else np.zeros(0),
        place,
        np.concatenate([np.full(len(c.nodes), -1) if c.others is None else c.others for _, c, *_ in parts]),
    )


def _contact_give(system: _System, auxiliary: tuple[Hold, ...], directions: Directions) -> Array:
    """Movement along all directions by unit forces along them, mm/N; shape (r, r)."""
    out, solve = _factorised(system, auxiliary)
    paired = np.flatnonzero(directions.others >= 0)
    nodes = np.unique(np.concatenate([directions.nodes, directions.others[paired]]))
    rows = np.zeros((len(directions.nodes), 2 * len(nodes)))
    for sign, mine, there in ((1.0, slice(None), directions.nodes), (-1.0, paired, directions.others[paired])):
        local = np.einsum("rci,ri->rc", system.frames.axes[there], directions.along[mine])
        first = 2 * np.searchsorted(nodes, there)
        number = np.arange(len(rows))[mine]
        rows[number, first], rows[number, first + 1] = sign * local.T
    places = (2 * system.numbering.rank[nodes][:, None] + [0, 1]).reshape(-1).astype(np.int64)
    needed = ~out[places] & (np.abs(rows) > 1e-14).any(axis=0)
    rows, places = rows[:, needed], places[needed]
    whole = compliance(system.lower, system.lower.hold(system.data, out), places, solve)
    give = rows @ whole @ rows.T
    own = np.diag(give)
    # a node that does not give along a direction is held along it: rounding must not make it a contact
    own_give = np.where(own > DOUBLED * own.max(initial=0.0), DOUBLED * own, own.max(initial=0.0))
    give[np.diag_indices_from(give)] += own_give + directions.give
    return np.asarray(give)


def condensed(held: HeldPart, free: Array, force: Array, factors: Mapping[str, float]) -> Condensed:
    """The small problem of one case from displacements (n, 2) of the part on its auxiliary supports."""
    directions = held.directions
    start = directions.start + directions.movement(free)
    work = np.einsum("ni,nim->m", force, held.motions)
    load = np.concatenate([work, _pin_forces(held.model.contacts, factors)])
    size = load_size(held.model.contacts, force, factors)
    return Condensed(held.give, start, held.motion, load, held.mount, directions.owner, directions.friction, size)


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


def load_size(contacts: tuple[OneWay, ...], force: Array, factors: Mapping[str, float]) -> float:
    """Sum of the sizes of all applied forces (n, 2) and of those on pins, N."""
    on_pins = sum(abs(factors.get(c.name, 0.0)) * float(np.hypot(*c.force)) for c in contacts)
    return float(np.linalg.norm(force, axis=1).sum()) + on_pins
