"""Solving a PlaneModel: one factorisation for each set of held unknowns, cases that share it together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveError
from .assembly import LowerTriangle, turn_pairs
from .constraints import Frames, Hold, node_frames, refuse_free_motion
from .factor import Solve, best_factoriser
from .initial_strain import strains_of, without_strain
from .loads import combined
from .memory import refuse_what_does_not_fit
from .model import PlaneModel
from .ordering import Numbering, number_nodes
from .pattern import Layout, Pattern
from .solution import Reaction, Solution
from .stiffness import Chunk, chunks
from .topology import element_neighbours

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

Held = tuple[Hold, ...]  # what the pins hold in one case

RESIDUAL_LIMIT = 1e-7
REFINE_ABOVE = 1e-10
BALANCE_LIMIT = 1e-6


@dataclass(frozen=True)
class _System:
    """The assembled equations in the nodes' own frames, numbered for the factorisation, before anything is held.

    Attributes
    ----------
    lower : LowerTriangle
    data : (Z,) array
        Its entries, N/mm.
    """

    model: PlaneModel
    frames: Frames
    numbering: Numbering
    lower: LowerTriangle
    data: Array

    def local(self, vectors: Array) -> Array:
        """Vectors (c, n, 2) in x, y as columns (2n, c) of the equations."""
        return self._turned(vectors, self.frames.axes)[:, self.numbering.order].reshape(len(vectors), -1).T

    def world(self, columns: Array) -> Array:
        """The reverse of `local`."""
        vectors = columns.T.reshape(columns.shape[1], -1, 2)[:, self.numbering.rank]
        return self._turned(vectors, self.frames.axes.transpose(0, 2, 1))

    def _turned(self, vectors: Array, axes: Array) -> Array:
        nodes = np.flatnonzero(self.frames.turned)
        result = vectors.copy()
        result[..., nodes, :] = np.einsum("nci,...ni->...nc", axes[nodes], vectors[..., nodes, :])
        return result


def _assemble(model: PlaneModel) -> _System:
    mesh, springs = model.mesh, model.springs
    frames = model.keep(
        "frames", (mesh, *model.holds, *model.pins), lambda: node_frames(len(mesh.points), model.holds + model.pins)
    )
    numbering, parts = model.keep("numbering", (mesh,), lambda: _numbered(model))
    pattern, layout, lower = model.keep("pattern", (mesh, *springs), lambda: _pattern(model, numbering, parts))
    depends = (mesh, model.material, model.thickness, model.grain, frames, *springs)
    data = model.keep("data", depends, lambda: pattern.data(_values(model, frames, parts, pattern), layout))
    return _System(model, frames, numbering, lower, data)


def _numbered(model: PlaneModel) -> tuple[Numbering, list[Chunk]]:
    """The order of nodes, and the elements in chunks that keep to it."""
    mesh = model.mesh
    numbering = number_nodes(mesh.points, mesh.cells, element_neighbours(mesh.cells))
    parts, every = [], np.arange(model.count)
    for (element, cells, place), order in zip(model.blocks, numbering.elements, strict=True):
        parts += chunks(mesh.points, cells, element, every[place], order)
    return numbering, parts


def _pattern(model: PlaneModel, numbering: Numbering, parts: list[Chunk]) -> tuple[Pattern, Layout, LowerTriangle]:
    rank = numbering.rank
    groups = [(rank[part.cells], part.element.pairs) for part in parts]
    groups += [(rank[spring.sides], _side_pairs(spring.sides)) for spring in model.springs]
    pattern = Pattern.of(len(rank), groups)
    layout = pattern.layout()
    return pattern, layout, LowerTriangle(*layout[:2])


def _side_pairs(sides: IntArray) -> tuple[IntArray, IntArray]:
    one, two = np.tril_indices(sides.shape[1])
    return one.astype(np.int64), two.astype(np.int64)


def _values(model: PlaneModel, frames: Frames, parts: list[Chunk], pattern: Pattern) -> Array:
    """Blocks (4, k) of the node pairs of all elements and springs, in the nodes' frames, as the pattern wants them."""
    stiffness, thickness = model.cell_stiffness, model.cell_thickness
    same = stiffness.strides[0] == 0  # one wood and one grain angle
    places = np.ascontiguousarray(model.mesh.points.T)
    values, first = np.empty((4, len(pattern.slots))), 0

    def put(blocks: Array, nodes: IntArray, pairs: tuple[IntArray, IntArray]) -> None:
        nonlocal first
        one = turn_pairs(blocks, nodes, pairs, frames).reshape(4, -1)
        place = slice(first, first + one.shape[1])
        first = place.stop
        swap = pattern.flipped[place]
        values[::3, place] = one[::3]
        values[1, place], values[2, place] = np.where(swap, one[2], one[1]), np.where(swap, one[1], one[2])

    for part in parts:
        own = stiffness[:1] if same else stiffness[part.numbers]
        put(part.blocks(places, own, thickness[part.numbers]), part.cells, part.element.pairs)
    for spring in model.springs:
        count = spring.sides.shape[1]
        one, two = _side_pairs(spring.sides)
        whole = spring.blocks.reshape(-1, count, 2, count, 2)[:, one, :, two, :]  # (p, e, 2, 2)
        put(np.ascontiguousarray(whole.reshape(*whole.shape[:2], 4).transpose(2, 0, 1)), spring.sides, (one, two))
    return values


def _held(system: _System, active: Held) -> BoolArray:
    """Held unknowns (2n,) of the equations when of the pins only `active` holds."""
    frames = system.frames
    held = np.zeros_like(frames.held)
    for hold in system.model.holds + active:
        share = np.einsum("kci,ki->kc", frames.axes[hold.nodes], hold.directions)
        held[hold.nodes] |= np.abs(share) > 1e-9
    return held[system.numbering.order].reshape(-1)


def _factorised(system: _System, active: Held) -> tuple[BoolArray, Solve]:
    """The held unknowns with some pins' halves held, and the factorisation of the rest.

    One factorisation is kept, the last; the symbolic one is kept with the pattern.
    """
    model, lower = system.model, system.lower
    depends = (lower, *model.holds, *(hold.nodes for hold in active))
    held = model.keep("held", depends, lambda: _held(system, active))
    kept: dict[str, Any] = model.keep("symbolic", (lower,), dict)

    factorise = model.solver or best_factoriser()
    solve = model.keep(
        "factor", (held, system.data, model.solver), lambda: factorise(lower, lower.hold(system.data, held), kept)
    )
    return held, solve


def _displacement(system: _System, active: Held, force: Array) -> tuple[Array, Array]:
    """Displacement and nodal reactions (c, n, 2) in x, y for nodal forces (c, n, 2)."""
    held, solve = _factorised(system, active)
    free = ~held
    local = system.local(force)
    scale = np.abs(local[free]).max(axis=0, initial=0.0)
    scale[scale == 0.0] = 1.0

    def solved(right: Array) -> Array:
        return solve(np.where(held[:, None], 0.0, right))

    def balance_of(full: Array) -> tuple[Array, float]:
        """K u - f, zero at free unknowns and the reactions at held ones; and what is left at free ones."""
        balance = system.lower.product(system.data, full) - local
        return balance, float((np.abs(balance[free]).max(axis=0, initial=0.0) / scale).max())

    full = solved(local)
    balance, worst = balance_of(full)
    if worst > REFINE_ABOVE:
        full -= solved(balance)  # one step of iterative refinement
        balance, worst = balance_of(full)
    if not np.isfinite(full).all() or not worst <= RESIDUAL_LIMIT:
        raise _not_solved(system.model, worst)
    balance[free] = 0.0
    return system.world(full), system.world(balance)


def _not_solved(model: PlaneModel, residual: float) -> SolveError:
    if model.solver is None:
        return SolveError(f"The equations were solved only to a residual of {residual:.1e}; look for slivers.")
    return SolveError(
        f"{model.solver.name} answers with a residual of {residual:.1e}, and {RESIDUAL_LIMIT:.0e} is allowed; its "
        "answer is not used. Look for slivers, or leave [mesh] solver out."
    )


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


def solve_model(
    model: PlaneModel, cases: Sequence[Mapping[str, float]] | None, names: Sequence[str] | None = None
) -> Solution:
    """See `PlaneModel.solve`."""
    refuse_what_does_not_fit(2 * len(model.mesh.points), again=model.has("factor"))
    wanted = [dict(case) for case in cases] if cases is not None else [{load.name: 1.0 for load in model.loads}]
    force = np.stack([combined(model.loads, case, len(model.mesh.points)) for case in wanted])
    if model.contacts:
        from .one_way import solve_one_way

        return solve_one_way(model, wanted, force, cases is not None, names)
    springs = tuple(spring.hold for spring in model.springs)
    refuse_free_motion(model.mesh.points, model.holds + model.pins + springs)
    system = _assemble(model)
    displacement, reaction, active = _solve_cases(system, force)
    rows = [_reactions(model, d, r, pins) for d, r, pins in zip(displacement, reaction, active, strict=True)]
    imbalance = max(_imbalance(model, f, one) for f, one in zip(force, rows, strict=True))
    if imbalance > BALANCE_LIMIT:
        raise SolveError(f"Loads and reactions differ by {imbalance:.1e} of the loads; the solution is not used.")
    energy = without_strain(0.5 * np.einsum("cni,cni->c", force, displacement), model, displacement, wanted)
    initial = strains_of(model.loads, wanted)
    reactions = tuple(tuple(r) for r in rows)
    solution = Solution.of(model, displacement, reactions, energy, imbalance, cases is not None, initial)
    return replace(solution, pins_held=tuple(active))


def answer_to(solution: Solution, case: int, functionals: Array) -> Array:
    """Displacements (g, n, 2) under nodal forces (g, n, 2), the part held as it is in one case of a solution."""
    model = solution.model
    if model.contacts:
        from .one_way import answer_one_way

        return answer_one_way(solution, case, functionals)
    displacement, _ = _displacement(_assemble(model), solution.pins_held[case], functionals)
    return displacement
