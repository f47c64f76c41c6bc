"""From a solution to the verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from importlib.metadata import PackageNotFoundError, version

import numpy as np
from numpy.typing import NDArray

from ..fem.loads import AppliedLoad
from ..fem.solution import Reaction, Solution
from ..mesh.outline import Outline
from ..part.model import Case, Part
from ..wood.allowables import values_used
from ..wood.model import Wood
from .cautions import cautions_of, limits_of
from .goals import GoalErrors
from .hand import HandCase, hand_calculation
from .modes import CaseField, Inspection, breaking_rows, combined_of, crushing_row, dent_rows, inspect_case, with_high
from .patches import Patch, patches_of
from .proportions import proportions
from .search import Spot
from .unlimited import Unlimited, growing_peaks
from .verdict import (
    COMBINED,
    COMPRESSION_ACROSS,
    COMPRESSION_ALONG,
    SHEAR,
    SPLITTING,
    TENSION_ACROSS,
    TENSION_ALONG,
    Allowable,
    BesideRow,
    Consequence,
    Governing,
    HandDiagram,
    HandRow,
    HandSummary,
    HotSpot,
    LoadRow,
    MeshInfo,
    ModeRow,
    NoLimit,
    PartInfo,
    ReactionRow,
    Takes,
    Verdict,
)
from .where import anchor_of, exit_name, place_text

Array = NDArray[np.float64]

ALL_LOADS = "all loads together"
GRAVITY = "gravity"
HARDLY = 0.02  # self-weight below this share of the one load that grows does not change what it is stated in
MODE_OF_STRENGTH = {
    "shear": SHEAR,
    "tension_across": TENSION_ACROSS,
    "compression_across": COMPRESSION_ACROSS,
    "tension_along": TENSION_ALONG,
    "compression_along": COMPRESSION_ALONG,
}


@dataclass(frozen=True)
class Assessment:
    """The verdict and the fields that pictures and field.vtu show.

    Attributes
    ----------
    verdict : Verdict
    utilisation : mapping of case name to mapping of mode to (m,) array
        At the stress points.
    """

    verdict: Verdict
    utilisation: Mapping[str, Mapping[str, Array]]


@dataclass(frozen=True)
class Inspected:
    """A solved part looked at once: what acts on it, and its splits with the low energies.

    Attributes
    ----------
    inspection : Inspection
    loads, reactions : tuple of rows
        All cases.
    actions : mapping of case name to list of (Patch, (2,) array)
        Every patch on which something acts, with the force on the wood there, N.
    fields : tuple of CaseField
        One a case; their `high` is still that of the low energies.
    """

    inspection: Inspection
    loads: tuple[LoadRow, ...]
    reactions: tuple[ReactionRow, ...]
    actions: Mapping[str, list[tuple[Patch, Array]]]
    fields: tuple[CaseField, ...]


def inspect_part(
    part: Part, outline: Outline, wood: Wood, solution: Solution, before: Inspected | None = None
) -> Inspected:
    """Find what acts on a solved part and its worst splits: enough to see how good the mesh is.

    Parameters
    ----------
    part : Part
    outline : Outline
    wood : Wood
    solution : Solution
        With one entry a case of the part, in their order.
    before : Inspected, optional
        On the mesh before this one, to see which peaks grow.
    """
    patches = patches_of(part, outline, solution.model.mesh)
    grown: tuple[Unlimited, ...] = ()
    if before is not None:
        known = before.inspection.unlimited
        grown = (*before.inspection.grown, *growing_peaks(before.inspection.solution, solution, known))
    inspection = Inspection(part, outline, wood, solution, patches, grown)
    loads = tuple(row for case in part.cases for row in _load_rows(case, solution.model.loads, patches))
    reactions = tuple(
        _reaction_row(part, case, one, patches)
        for case, rows in zip(part.cases, solution.case_reactions, strict=True)
        for one in rows
    )
    actions = {case.name: _actions(inspection, case.name, loads, reactions) for case in part.cases}
    fields = tuple(
        inspect_case(inspection, case.name, stress, tuple(p for p, force in actions[case.name] if p.pushes(force)))
        for case, stress in zip(part.cases, solution.stress_grain, strict=True)
    )
    return Inspected(inspection, loads, reactions, actions, fields)


def assess(inspected: Inspected, mesh: MeshInfo | None = None) -> Assessment:
    """Judge a solved part that has been looked at.

    Parameters
    ----------
    inspected : Inspected
    mesh : MeshInfo, optional
        What is known of its mesh and the mesh's error; without it no error is stated.
    """
    inspection, loads, reactions, actions = (
        inspected.inspection, inspected.loads, inspected.reactions, inspected.actions,
    )  # fmt: skip
    part, wood, solution = inspection.part, inspection.wood, inspection.solution
    fields = [with_high(inspection, field) for field in inspected.fields]
    mesh = mesh or mesh_info(solution)
    of = _growing(loads)
    hand, diagrams, summary = _by_hand(inspection, of, loads, reactions)
    modes = [row for field in fields for row in breaking_rows(inspection, field, hand)]
    beside = [row for field in fields for row in _beside(inspection, field, actions[field.name])]
    governing = _governing(modes)
    high = [row for field in fields for row in breaking_rows(inspection, replace(field, low=field.high), hand)]
    takes = _takes(of, loads, modes, high)
    rules = proportions(part, inspection.outline, group=wood.group, reactions=reactions)
    verdict = Verdict(
        part=PartInfo(part.title, part.file, part.sha256),
        version=_version(),
        basis=part.wood.basis,
        margin=part.margin,
        wood=wood.name,
        face=wood.face or "as given",
        mesh=mesh,
        equilibrium=solution.equilibrium,
        loads=loads,
        reactions=reactions,
        modes=tuple(modes),
        governing=governing,
        takes=takes,
        hotspots=_hotspots(inspection, fields),
        beside=tuple(beside),
        hand=hand,
        diagrams=diagrams,
        hand_summary=_with_ratio(summary, takes),
        proportions=rules,
        allowables=tuple(_allowables(wood)),
        limits=limits_of(inspection, fields, takes, governing, mesh),
        no_limit=tuple(
            NoLimit(place.at, place.what, None if place.case is None else part.cases[place.case].name)
            for place in inspection.unlimited
        ),
        if_it_breaks=Consequence(**part.if_it_breaks.model_dump()),
        cautions=cautions_of(inspection, reactions, solution, rules, mesh),
    )
    return Assessment(verdict, {field.name: _point_fields(inspection, field) for field in fields})


# ---- rows of what acts


def _load_rows(case: Case, loads: Sequence[AppliedLoad], patches: Mapping[tuple[str, str], Patch]) -> list[LoadRow]:
    rows = []
    for load in loads:
        factor = case.factors.get(load.name, 0.0)
        if factor == 0.0:
            continue
        patch = patches.get(("load", load.name))
        force = factor * load.resultant
        at = load.center if patch is None else patch.middle
        on, outline = ("the whole part", ()) if patch is None else (patch.on.text, patch.outline)
        rows.append(LoadRow(load.name, case.name, _pair(force), on, _pair(at), outline))
    return rows


def _reaction_row(part: Part, case: Case, one: Reaction, patches: Mapping[tuple[str, str], Patch]) -> ReactionRow:
    support = next(support for support in part.supports if support.name == one.name)
    patch = patches["support", one.name]
    moment = one.moment(patch.middle)
    force = _pair(one.resultant)
    return ReactionRow(
        one.name, case.name, force, moment, support.kind, support.on.text, _pair(patch.middle), patch.outline
    )


def _pair(vector: Array) -> tuple[float, float]:
    return float(vector[0]), float(vector[1])


def _by_hand(
    inspection: Inspection, of: str, loads: Sequence[LoadRow], reactions: Sequence[ReactionRow]
) -> tuple[tuple[HandRow, ...], tuple[HandDiagram, ...], HandSummary]:
    part, solution = inspection.part, inspection.solution
    cases = [
        _hand_case(case, number, solution, reactions, _size_of(of, loads, case.name))
        for number, case in enumerate(part.cases)
    ]
    nothing_yet = Takes(None, None, None, of)
    mesh = solution.model.mesh
    return hand_calculation(part, inspection.outline, inspection.wood, mesh, cases=cases, takes=nothing_yet)


def _hand_case(
    case: Case, number: int, solution: Solution, reactions: Sequence[ReactionRow], reference: float
) -> HandCase:
    applied = [
        replace(load, forces=load.forces * factor, nodal=load.nodal * factor)
        for load in solution.model.loads
        if (factor := case.factors.get(load.name, 0.0)) != 0.0
    ]

    def stress_at(points: Array) -> Array:
        return solution.stress_at(points, number)

    mine = [row for row in reactions if row.case == case.name]
    return HandCase(case.name, applied, mine, stress_at, reference)


def _actions(
    inspection: Inspection, case: str, loads: Sequence[LoadRow], reactions: Sequence[ReactionRow]
) -> list[tuple[Patch, Array]]:
    """Every patch on which something acts in a case, with the force (2,) N on the wood there."""
    rows = [("load", row) for row in loads] + [("support", row) for row in reactions]
    return [
        (inspection.patches[kind, row.name], np.array(row.force))
        for kind, row in rows
        if row.case == case and (kind, row.name) in inspection.patches
    ]


def _beside(inspection: Inspection, field: CaseField, actions: list[tuple[Patch, Array]]) -> list[BesideRow]:
    return [*dent_rows(inspection, field.name, actions), crushing_row(inspection, field)]


# ---- what governs, and the load it takes


def _growing(loads: Sequence[LoadRow]) -> str:
    """The load that the answer is stated in, or all loads together.

    It is the only one besides gravity, acts in every case in which anything does, and self-weight hardly counts.
    """
    names = {row.name for row in loads if row.name != GRAVITY}
    if len(names) != 1:
        return ALL_LOADS
    (name,) = names
    size = {row.case: float(np.hypot(*row.force)) for row in loads if row.name == name}
    weight = {row.case: float(np.hypot(*row.force)) for row in loads if row.name == GRAVITY}
    cases = {row.case for row in loads}
    if all(size.get(case, 0.0) > 0.0 and weight.get(case, 0.0) <= HARDLY * size[case] for case in cases):
        return name
    return ALL_LOADS


def _size_of(of: str, loads: Sequence[LoadRow], case: str) -> float:
    """Size of the load `of` in a case, N; 1 for all loads together."""
    return next((float(np.hypot(*row.force)) for row in loads if (row.name, row.case) == (of, case)), 1.0)


def _governing(modes: Sequence[ModeRow]) -> Governing | None:
    deciding = [row for row in modes if row.decides]
    worst = max(deciding, key=lambda row: row.utilisation, default=None)
    if worst is None or worst.utilisation <= 0.0:
        return None
    return Governing(**vars(worst), load_factor=1.0 / worst.utilisation)


def _takes(of: str, loads: Sequence[LoadRow], low: Sequence[ModeRow], high: Sequence[ModeRow]) -> Takes:
    """The load at which the worst deciding mode is met, from the rows with low energies and with high ones."""
    least = [
        min(
            (_size_of(of, loads, row.case) / row.utilisation for row in rows if row.decides and row.utilisation > 0.0),
            default=None,
        )
        for rows in (low, high)
    ]
    if least[0] is None or least[1] is None:
        return Takes(None, None, None, of)
    return Takes(float(np.sqrt(least[0] * least[1])), least[0], least[1], of)


def _with_ratio(summary: HandSummary, takes: Takes) -> HandSummary:
    if summary.load is None or not takes.best:
        return summary
    return replace(summary, ratio=summary.load / takes.best)


# ---- hot spots, allowables, fields


def _hotspots(inspection: Inspection, fields: Sequence[CaseField]) -> tuple[HotSpot, ...]:
    rows = [_hotspot(inspection, field.name, spot) for field in fields for spot in field.low.spots]
    rows.sort(key=lambda row: -row.utilisation)
    return tuple(replace(row, rank=rank) for rank, row in enumerate(rows, start=1))


def _hotspot(inspection: Inspection, case: str, spot: Spot) -> HotSpot:
    w, i = spot.windows, spot.index
    lines, start = w.lines, w.start[i]
    stretch = lines.stretch[start]
    begin = lines.along[start]
    stop = begin + w.sense[i] * w.length[i]
    ends = lines.place(np.array([stretch, stretch]), np.array([begin, stop]))
    if abs(stop - spot.at_along) < abs(begin - spot.at_along):
        ends = ends[::-1]
    # it runs from where it starts to the far end of the window, and on until it leaves the wood
    exits = lines.exits(stretch)
    leaves = exits[1 if (ends[1] - ends[0]) @ (exits[1] - exits[0]) > 0 else 0]
    anchor = anchor_of(inspection.outline, inspection.part, spot.at)
    place = inspection.place_near(case, spot.at)
    return HotSpot(
        rank=0,
        case=case,
        mode=SPLITTING,
        utilisation=float(w.utilisation[i]),
        at=_pair(spot.at),
        where=place_text(spot.at, anchor),
        path=(_pair(ends[0]), _pair(ends[1])),
        exits_at=_pair(leaves),
        exits_where=exit_name(inspection.outline, leaves),
        mean_length=float(w.length[i]),
        mean_s90=float(w.across[i]),
        mean_tau=float(w.shear[i]),
        peak=spot.peak if place is None else None,
        short_line=bool(w.short[i]),
        measured_from=anchor,
        no_limit="" if place is None else place.what,
    )


def _allowables(wood: Wood) -> list[Allowable]:
    return [
        Allowable(MODE_OF_STRENGTH.get(one.name, one.name), one.value, one.basis, one.factors, one.source, one.status)
        for one in values_used(wood)
    ]


def _point_fields(inspection: Inspection, field: CaseField) -> dict[str, Array]:
    """Utilisation of each mode at the stress points: splitting as means, the others pointwise."""
    f = inspection.wood.strengths
    along, across, shear = field.stress.T
    return {
        SPLITTING: field.low.utilisation,
        SHEAR: np.abs(shear) / f["shear"].value,
        TENSION_ACROSS: np.maximum(across, 0.0) / f["tension_across"].value,
        TENSION_ALONG: np.maximum(along, 0.0) / f["tension_along"].value,
        COMBINED: inspection.search.spread(field.low.sweep, combined_of(inspection, field.low.sweep)),
        COMPRESSION_ALONG: np.maximum(-along, 0.0) / f["compression_along"].value,
        COMPRESSION_ACROSS: np.maximum(-across, 0.0) / f["compression_across"].value,
    }


def mesh_info(solution: Solution, rounds: int = 1, errors: GoalErrors | None = None, stopped: str = "") -> MeshInfo:
    """What the verdict says of its mesh: sizes, rounds, the estimated error, and why no finer one was made."""
    mesh = solution.model.mesh
    count = (len(mesh.points), len(solution.model.cells), 2, rounds)
    if errors is None or not errors.goals:
        return MeshInfo(*count, None, None, stopped)
    worst = errors.goals[int(errors.relative.argmax())]
    return MeshInfo(*count, errors.worst, f"peak of {worst.mode}" if worst.peak else worst.mode, stopped)


def _version() -> str:
    try:
        return version("fesolve")
    except PackageNotFoundError:
        return "unknown"
