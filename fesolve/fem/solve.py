"""Solving a PlaneModel: one factorisation for each set of held unknowns, cases that share it together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveError
from .assembly import lower_triangle, symmetric_product, turn_blocks
from .constraints import Frames, Hold, node_frames, refuse_free_motion
from .factor import best_factoriser
from .loads import combined
from .model import PlaneModel
from .solution import Reaction, Solution

if TYPE_CHECKING:
    from scipy.sparse import csc_array

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

RESIDUAL_LIMIT = 1e-7
BALANCE_LIMIT = 1e-6


@dataclass(frozen=True)
class _System:
    """The assembled equations in the nodes' own frames, before anything is left out."""

    model: PlaneModel
    frames: Frames
    lower: csc_array[Any]

    def local(self, vectors: Array) -> Array:
        """Vectors (n, 2) or (c, n, 2) in x, y turned into the nodes' frames."""
        return np.asarray(np.einsum("nci,...ni->...nc", self.frames.axes, vectors))

    def world(self, vectors: Array) -> Array:
        """The reverse of `local`."""
        return np.asarray(np.einsum("nci,...nc->...ni", self.frames.axes, vectors))


def _assemble(model: PlaneModel) -> _System:
    frames = node_frames(len(model.mesh.points), model.holds + model.pins)
    groups = [(model.cells, turn_blocks(model.element_matrices(), model.cells, frames))]
    groups += [(spring.sides, turn_blocks(spring.blocks, spring.sides, frames)) for spring in model.springs]
    return _System(model, frames, lower_triangle(len(model.mesh.points), groups))


def _held(model: PlaneModel, frames: Frames, active: tuple[Hold, ...]) -> BoolArray:
    """Held local unknowns (n, 2) when of the pins only `active` holds."""
    held = np.zeros_like(frames.held)
    for hold in model.holds + active:
        share = np.einsum("kci,ki->kc", frames.axes[hold.nodes], hold.directions)
        held[hold.nodes] |= np.abs(share) > 1e-9
    return held


def _displacement(system: _System, held: BoolArray, force: Array) -> tuple[Array, Array]:
    """Displacement and nodal reactions (c, n, 2) in x, y for nodal forces (c, n, 2)."""
    free = np.flatnonzero(~held.reshape(-1))
    local = system.local(force).reshape(len(force), -1).T
    matrix = system.lower[free][:, free]
    solve = best_factoriser()(matrix)
    right = local[free]
    unknown = solve(right)
    residual = right - symmetric_product(matrix, unknown)
    unknown = unknown + solve(residual)  # one step of iterative refinement
    scale = np.abs(right).max(axis=0)
    worst = np.abs(right - symmetric_product(matrix, unknown)).max(axis=0) / np.where(scale > 0, scale, 1.0)
    if not np.isfinite(unknown).all() or worst.max(initial=0.0) > RESIDUAL_LIMIT:
        raise SolveError(f"The equations were solved only to a residual of {worst.max():.1e}; look for slivers.")
    full = np.zeros_like(local)
    full[free] = unknown
    reaction = symmetric_product(system.lower, full) - local
    reaction[free] = 0.0
    shape = (len(force), -1, 2)
    return system.world(full.T.reshape(shape)), system.world(reaction.T.reshape(shape))


def _facing(pin: Hold, reaction: Array) -> Hold | None:
    """The half of a pin's hole that faces the force (2,) which the pin exerts on the wood."""
    size = float(np.linalg.norm(reaction))
    if size == 0.0:
        return pin
    chosen = pin.directions @ (reaction / size) > 1e-9
    return Hold(pin.name, pin.nodes[chosen], pin.directions[chosen])


def _pin_reaction(pin: Hold, reaction: Array) -> Array:
    return np.asarray(reaction[pin.nodes].sum(axis=0))


def _solve_case_with_pins(system: _System, force: Array, scale: float) -> tuple[Array, Array, tuple[Hold, ...]]:
    """Full circle first, then the facing half, then one correction of its direction; one case (1, n, 2)."""
    model = system.model
    active = model.pins
    displacement, reaction = _displacement(system, _held(model, system.frames, active), force)
    for _ in range(2):
        totals = [_pin_reaction(pin, reaction[0]) for pin in model.pins]
        halves = tuple(
            half if np.linalg.norm(total) > 1e-9 * scale else pin
            for pin, total in zip(model.pins, totals, strict=True)
            if (half := _facing(pin, total)) is not None
        )
        if all(
            len(a.nodes) == len(b.nodes) and (a.nodes == b.nodes).all() for a, b in zip(halves, active, strict=True)
        ):
            break
        active = halves
        refuse_free_motion(model.mesh.points, (*model.holds, *active, *(s.hold for s in model.springs)))
        displacement, reaction = _displacement(system, _held(model, system.frames, active), force)
    return displacement, reaction, active


def _reactions(model: PlaneModel, displacement: Array, reaction: Array, active: tuple[Hold, ...]) -> list[Reaction]:
    """Reaction of each support in one case; a node that two supports share counts for the first."""
    taken = np.zeros(len(reaction), dtype=bool)
    rows: dict[str, list[tuple[Array, Array]]] = {}
    for hold in (*model.holds, *active):
        mine = rows.setdefault(hold.name, [])
        fresh = hold.nodes[~taken[hold.nodes]]
        taken[fresh] = True
        mine.append((model.mesh.points[fresh], reaction[fresh]))
    for spring in model.springs:
        pull = -np.einsum("kab,kb->ka", spring.blocks, displacement[spring.sides].reshape(len(spring.sides), 6))
        pieces = (model.mesh.points[spring.sides].reshape(-1, 2), pull.reshape(-1, 2))
        rows.setdefault(spring.name, []).append(pieces)
    return [
        Reaction(name, np.concatenate([p for p, _ in pieces]), np.concatenate([f for _, f in pieces]))
        for name, pieces in rows.items()
    ]


def _imbalance(model: PlaneModel, force: Array, reactions: list[Reaction]) -> float:
    """Greatest of |ΣF|/F_ref and |ΣM|/(F_ref size), F_ref the sum of the sizes of all applied forces."""
    reference = float(np.linalg.norm(force, axis=1).sum())
    if reference == 0.0:
        return 0.0
    points = np.concatenate([model.mesh.points, *(r.points for r in reactions)])
    forces = np.concatenate([force, *(r.forces for r in reactions)])
    arms = points - model.mesh.points.mean(axis=0)
    moment = float((arms[:, 0] * forces[:, 1] - arms[:, 1] * forces[:, 0]).sum())
    total = float(np.linalg.norm(forces.sum(axis=0)))
    return max(total, abs(moment) / model.mesh.size) / reference


def solve_model(model: PlaneModel, cases: Sequence[Mapping[str, float]] | None) -> Solution:
    """See `PlaneModel.solve`."""
    springs = tuple(spring.hold for spring in model.springs)
    refuse_free_motion(model.mesh.points, model.holds + model.pins + springs)
    wanted = [dict(case) for case in cases] if cases is not None else [{load.name: 1.0 for load in model.loads}]
    force = np.stack([combined(model.loads, case, len(model.mesh.points)) for case in wanted])
    system = _assemble(model)
    if model.pins:
        scale = float(np.abs(force).sum())
        solved = [_solve_case_with_pins(system, one[None], scale) for one in force]
        displacement = np.concatenate([one[0] for one in solved])
        reaction = np.concatenate([one[1] for one in solved])
        active = [one[2] for one in solved]
    else:
        displacement, reaction = _displacement(system, _held(model, system.frames, ()), force)
        active = [()] * len(force)
    rows = [_reactions(model, d, r, pins) for d, r, pins in zip(displacement, reaction, active, strict=True)]
    imbalance = max(_imbalance(model, f, one) for f, one in zip(force, rows, strict=True))
    if imbalance > BALANCE_LIMIT:
        raise SolveError(f"Loads and reactions differ by {imbalance:.1e} of the loads; the solution is not used.")
    energy = 0.5 * np.einsum("cni,cni->c", force, displacement)
    return Solution.of(model, displacement, tuple(tuple(r) for r in rows), energy, imbalance, cases is not None)
