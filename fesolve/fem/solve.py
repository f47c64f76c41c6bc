"""Solving a PlaneModel: one factorisation for each set of held unknowns, cases that share it together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveError
from .assembly import FreePart, collect, symmetric_product, turn_pairs
from .constraints import Frames, Hold, node_frames, refuse_free_motion
from .factor import Solve, best_factoriser
from .loads import combined
from .model import PlaneModel
from .pattern import Layout, Pattern
from .solution import Reaction, Solution
from .stiffness import pair_blocks

if TYPE_CHECKING:
    from scipy.sparse import csc_array

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

Held = tuple[Hold, ...]  # what the pins hold in one case

RESIDUAL_LIMIT = 1e-7
REFINE_ABOVE = 1e-10
BALANCE_LIMIT = 1e-6


@dataclass(frozen=True)
class _System:
    """The assembled equations in the nodes' own frames, before anything is left out.

    Attributes
    ----------
    layout : (rows, pointer, places)
        Of the scalar lower triangle, by columns.
    data : (Z,) array
        Its entries, N/mm.
    """

    model: PlaneModel
    frames: Frames
    layout: Layout
    data: Array

    def local(self, vectors: Array) -> Array:
        """Vectors (n, 2) or (c, n, 2) in x, y turned into the nodes' frames."""
        return self._turned(vectors, self.frames.axes)

    def world(self, vectors: Array) -> Array:
        """The reverse of `local`."""
        return self._turned(vectors, self.frames.axes.transpose(0, 2, 1))

    def _turned(self, vectors: Array, axes: Array) -> Array:
        nodes = np.flatnonzero(self.frames.turned)
        result = vectors.copy()
        result[..., nodes, :] = np.einsum("nci,...ni->...nc", axes[nodes], vectors[..., nodes, :])
        return result

    def whole(self) -> csc_array[Any]:
        """The lower triangle with all unknowns."""
        from scipy import sparse

        rows, pointer, _ = self.layout
        size = len(pointer) - 1
        return sparse.csc_array((self.data, rows, pointer), shape=(size, size))


def _assemble(model: PlaneModel) -> _System:
    mesh, springs = model.mesh, model.springs
    frames = model.keep(
        "frames", (mesh, *model.holds, *model.pins), lambda: node_frames(len(mesh.points), model.holds + model.pins)
    )
    pattern = model.keep("pattern", (mesh, *springs), lambda: _pattern(model))
    layout = model.keep("layout", (pattern,), pattern.layout)
    depends = (mesh, model.material, model.thickness, model.grain, frames, *springs)
    data = model.keep("data", depends, lambda: pattern.data(pattern.sum(_values(model, frames)), layout))
    return _System(model, frames, layout, data)


def _pattern(model: PlaneModel) -> Pattern:
    groups = [(cells, element.pairs) for element, cells, _ in model.blocks]
    groups += [(spring.sides, _side_pairs(spring.sides)) for spring in model.springs]
    return Pattern.of(len(model.mesh.points), groups)


def _side_pairs(sides: IntArray) -> tuple[IntArray, IntArray]:
    one, two = np.tril_indices(sides.shape[1])
    return one.astype(np.int64), two.astype(np.int64)


def _values(model: PlaneModel, frames: Frames) -> list[Array]:
    """Blocks (e, p, 2, 2) of the node pairs of each kind of element and each spring, in the nodes' frames."""
    stiffness, thickness = model.cell_stiffness, model.cell_thickness
    values = []
    for element, cells, place in model.blocks:
        chunks = pair_blocks(model.mesh.points, cells, stiffness[place], thickness[place], element)
        blocks = collect(len(cells), len(element.pairs[0]), chunks)
        values.append(turn_pairs(blocks, cells, element.pairs, frames))
    for spring in model.springs:
        count = spring.sides.shape[1]
        one, two = _side_pairs(spring.sides)
        blocks = spring.blocks.reshape(-1, count, 2, count, 2)[:, one, :, two, :].transpose(1, 0, 2, 3)
        values.append(turn_pairs(np.ascontiguousarray(blocks), spring.sides, (one, two), frames))
    return values


def _held(model: PlaneModel, frames: Frames, active: tuple[Hold, ...]) -> BoolArray:
    """Held local unknowns (n, 2) when of the pins only `active` holds."""
    held = np.zeros_like(frames.held)
    for hold in model.holds + active:
        share = np.einsum("kci,ki->kc", frames.axes[hold.nodes], hold.directions)
        held[hold.nodes] |= np.abs(share) > 1e-9
    used = model.keep("used", (model.mesh,), lambda: _used_nodes(model))
    held[~used] = True  # a node of no element has no stiffness
    return held


def _used_nodes(model: PlaneModel) -> BoolArray:
    used = np.zeros(len(model.mesh.points), dtype=bool)
    for cells in model.mesh.cells.values():
        used[cells] = True
    return used


def _factorised(system: _System, active: tuple[Hold, ...]) -> tuple[FreePart, Solve]:
    """The free part of the equations with some pins' halves held, and its factorisation."""
    model = system.model
    name = f"free {len(active)}"
    part, kept = model.keep(
        name, (system.layout, *model.holds, *(hold.nodes for hold in active)), lambda: _free_part(system, active)
    )
    solve = model.keep(f"factor {name}", (part, system.data), lambda: best_factoriser()(part, system.data, kept))
    return part, solve


def _free_part(system: _System, active: tuple[Hold, ...]) -> tuple[FreePart, dict[str, Any]]:
    held = _held(system.model, system.frames, active)
    return FreePart.of(system.layout[0], system.layout[1], held.reshape(-1)), {}


def _displacement(system: _System, active: tuple[Hold, ...], force: Array) -> tuple[Array, Array]:
    """Displacement and nodal reactions (c, n, 2) in x, y for nodal forces (c, n, 2)."""
    part, solve = _factorised(system, active)
    free = part.free
    local = system.local(force).reshape(len(force), -1).T
    right = local[free]
    full = np.zeros_like(local)
    full[free] = solve(right)
    whole = system.whole()
    balance = symmetric_product(whole, full) - local  # zero at free unknowns, the reactions at held ones
    scale = np.abs(right).max(axis=0)
    scale[scale == 0.0] = 1.0
    if (np.abs(balance[free]).max(axis=0) / scale).max(initial=0.0) > REFINE_ABOVE:
        full[free] -= solve(balance[free])  # one step of iterative refinement
        balance = symmetric_product(whole, full) - local
    worst = float((np.abs(balance[free]).max(axis=0) / scale).max(initial=0.0))
    if not np.isfinite(full).all() or worst > RESIDUAL_LIMIT:
        raise SolveError(f"The equations were solved only to a residual of {worst:.1e}; look for slivers.")
    balance[free] = 0.0
    shape = (len(force), -1, 2)
    return system.world(full.T.reshape(shape)), system.world(balance.T.reshape(shape))


def _facing(pin: Hold, reaction: Array, scale: float) -> Hold:
    """The half of a pin's hole that faces the force (2,) which the pin exerts on the wood; all of it without one."""
    size = float(np.linalg.norm(reaction))
    if size <= 1e-9 * scale:
        return pin
    chosen = pin.directions @ (reaction / size) > 1e-9
    return Hold(pin.name, pin.nodes[chosen], pin.directions[chosen])


def _same(one: Held, other: Held) -> bool:
    return all(np.array_equal(a.nodes, b.nodes) for a, b in zip(one, other, strict=True))


def _halves(model: PlaneModel, reaction: Array, scale: float, before: list[Held]) -> Held:
    """What the pins hold in a case with nodal reactions (n, 2); the very object of `before` where it is the same."""
    totals = [reaction[pin.nodes].sum(axis=0) for pin in model.pins]
    found = tuple(_facing(pin, total, scale) for pin, total in zip(model.pins, totals, strict=True))
    return next((held for held in before if _same(held, found)), found)


def _solve_cases(system: _System, force: Array) -> tuple[Array, Array, list[Held]]:
    """Displacements, reactions (c, n, 2) and what the pins hold in each case.

    The full circle of every pin first, then the half that faces its force, then one correction of its direction;
    cases that hold the same are solved together.
    """
    model = system.model
    active: list[Held] = [model.pins] * len(force)
    displacement, reaction = _displacement(system, model.pins, force)
    scale = float(np.abs(force).sum())
    for _ in range(2 if model.pins else 0):
        known = list(active)
        for case, one in enumerate(reaction):
            known[case] = _halves(model, one, scale, known)
        changed = [case for case in range(len(force)) if known[case] is not active[case]]
        active = known
        for held in {id(active[case]): active[case] for case in changed}.values():
            together = [case for case in changed if active[case] is held]
            refuse_free_motion(model.mesh.points, (*model.holds, *held, *(s.hold for s in model.springs)))
            displacement[together], reaction[together] = _displacement(system, held, force[together])
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
        pull = -np.einsum("kab,kb->ka", spring.blocks, displacement[spring.sides].reshape(len(spring.sides), -1))
        pieces = (model.mesh.points[spring.sides].reshape(-1, 2), pull.reshape(-1, 2))
        rows.setdefault(spring.name, []).append(pieces)
    return [
        Reaction(name, np.concatenate([p for p, _ in pieces]), np.concatenate([f for _, f in pieces]))
        for name, pieces in rows.items()
    ]


def _imbalance(model: PlaneModel, force: Array, reactions: list[Reaction], reference: float | None = None) -> float:
    """Greatest of |ΣF|/F_ref and |ΣM|/(F_ref size), F_ref the sum of the sizes of all applied forces."""
    if reference is None:
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
    wanted = [dict(case) for case in cases] if cases is not None else [{load.name: 1.0 for load in model.loads}]
    force = np.stack([combined(model.loads, case, len(model.mesh.points)) for case in wanted])
    if model.contacts:
        from .one_way import solve_one_way

        return solve_one_way(model, wanted, force, cases is not None)
    springs = tuple(spring.hold for spring in model.springs)
    refuse_free_motion(model.mesh.points, model.holds + model.pins + springs)
    system = _assemble(model)
    displacement, reaction, active = _solve_cases(system, force)
    rows = [_reactions(model, d, r, pins) for d, r, pins in zip(displacement, reaction, active, strict=True)]
    imbalance = max(_imbalance(model, f, one) for f, one in zip(force, rows, strict=True))
    if imbalance > BALANCE_LIMIT:
        raise SolveError(f"Loads and reactions differ by {imbalance:.1e} of the loads; the solution is not used.")
    energy = 0.5 * np.einsum("cni,cni->c", force, displacement)
    solution = Solution.of(model, displacement, tuple(tuple(r) for r in rows), energy, imbalance, cases is not None)
    return replace(solution, pins_held=tuple(active))


def answer_to(solution: Solution, case: int, functionals: Array) -> Array:
    """Displacements (g, n, 2) under nodal forces (g, n, 2), the part held as it is in one case of a solution."""
    model = solution.model
    if model.contacts:
        from .one_way import answer_one_way

        return answer_one_way(solution, case, functionals)
    displacement, _ = _displacement(_assemble(model), solution.pins_held[case], functionals)
    return displacement
