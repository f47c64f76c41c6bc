"""From a solution to the verdict."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from importlib.metadata import PackageNotFoundError, version
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ..fem.loads import AppliedLoad
from ..fem.solution import Reaction, Solution
from ..mesh.outline import Outline
from ..part.model import Case, Part
from ..part.regions import BODY as REST
from ..wood.allowables import values_used
from ..wood.model import Wood
from .bearing import beyond_play, contact_rows, dent_rows, dowel_allowables, inside_rows
from .cautions import cautions_of, limits_of
from .goals import GoalErrors
from .growth import Growth, factors_of, growth_of, searched, size_of, takes_of, worst_deciding
from .hand import HandCase, hand_calculation
from .lasting import duration_factors, lasting_fields, lasting_row, lasting_spot
from .modes import (
    CaseField,
    Inspection,
    Look,
    breaking_rows,
    combined_of,
    crushing_row,
    inspect_case,
    with_high,
    worst_of,
)
from .patches import Patch, patches_of
from .proportions import proportions
from .search import MOST_SPOTS, SPOT_SHARE, Spot
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
    Proportion,
    ReactionRow,
    RegionRow,
    Takes,
    Verdict,
)
from .where import anchor_of, exit_name, place_text
from .zones import choice_of, region_names, region_of, woods_by_region, zones_of

Array = NDArray[np.float64]

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
    looks : tuple of Look
        One a zone: wood of one kind with one grain.
    loads, reactions : tuple of rows
        All cases.
    actions : mapping of case name to list of (Patch, (2,) array)
        Every patch on which something acts, with the force on the wood there, N.
    """

    looks: tuple[Look, ...]
    loads: tuple[LoadRow, ...]
    reactions: tuple[ReactionRow, ...]
    actions: Mapping[str, list[tuple[Patch, Array]]]

    @property
    def inspection(self) -> Inspection:
        """That of the first zone, for what all of them share."""
        return self.looks[0].inspection

    @property
    def woods(self) -> Mapping[str, Wood]:
        """The wood of each region."""
        return {name: look.wood for look in self.looks for name in look.names}


def inspect_part(
    part: Part,
    outline: Outline,
    wood: Wood | Mapping[str, Wood],
    solution: Solution,
    before: Inspected | None = None,
    *,
    grown: tuple[Unlimited, ...] = (),
    high: bool = False,
) -> Inspected:
    """Find what acts on a solved part and its worst splits: enough to see how good the mesh is.

    Parameters
    ----------
    part : Part
    outline : Outline
    wood : Wood, or mapping of str to Wood
        By region, ``part`` for the rest.
    solution : Solution
        With one entry a case of the part, in their order.
    before : Inspected, optional
        On the mesh before this one, to see which peaks grow.
    grown : tuple of Unlimited
        What is known to grow already.
    high : bool
        Search with the high energies instead of the low ones.
    """
    patches = patches_of(part, outline, solution.model.mesh)
    if before is not None:
        known = before.inspection.unlimited
        grown = (*before.inspection.grown, *growing_peaks(before.inspection.solution, solution, known))
    loads = tuple(row for case in part.cases for row in _load_rows(case, solution.model.loads, patches))
    reactions = tuple(
        _reaction_row(part, case, one, patches)
        for case, rows in zip(part.cases, solution.case_reactions, strict=True)
        for one in rows
    )
    actions = {case.name: _actions(patches, case.name, loads, reactions) for case in part.cases}
    pressing = {name: tuple(p for p, force in rows if p.pushes(force)) for name, rows in actions.items()}
    looks = []
    for zone in zones_of(part, woods_by_region(part, wood), solution):
        inspection = Inspection(part, outline, zone.wood, solution, patches, grown, zone)
        fields = tuple(
            inspect_case(inspection, case.name, stress, pressing[case.name], high=high)
            for case, stress in zip(part.cases, solution.stress_grain, strict=True)
        )
        looks.append(Look(inspection, fields))
    return Inspected(tuple(looks), loads, reactions, actions)


def assess(inspected: Inspected, mesh: MeshInfo | None = None) -> Assessment:
    """Judge a solved part that has been looked at.

    Parameters
    ----------
    inspected : Inspected
    mesh : MeshInfo, optional
        What is known of its mesh and the mesh's error; without it no error is stated.
    """
    inspection, loads, reactions = inspected.inspection, inspected.loads, inspected.reactions
    part, solution, woods = inspection.part, inspection.solution, inspected.woods
    looks = [
        replace(look, fields=tuple(with_high(look.inspection, field) for field in look.fields))
        for look in inspected.looks
    ]
    mesh = mesh or mesh_info(solution)
    growth = growth_of(part, solution)
    hand, diagrams, summary = _by_hand(inspected, growth.of, loads, reactions)
    cases, factors = [case.name for case in part.cases], duration_factors(part)
    modes = _breaking(looks, hand, factors)
    pairs = list(zip(cases, _by_case(looks), strict=True))
    beside = [row for name, zones in pairs for row in _beside(zones, inspected.actions[name], factors)]
    low = _factors(inspected, growth, modes)
    governing = _governing(growth, cases, modes, low)
    high = _factors(inspected, growth, _breaking(looks, hand, factors, high=True), high=True)
    takes = takes_of(growth.of, loads, cases, low, high)
    rules = _rules(part, inspection, woods, reactions)
    verdict = Verdict(
        part=PartInfo(part.title, part.file, part.sha256),
        version=_version(),
        basis=part.wood.basis,
        margin=part.margin,
        wood=_main(woods).name,
        face=_main(woods).face or "as given",
        mesh=mesh,
        equilibrium=solution.equilibrium,
        loads=loads,
        reactions=reactions,
        modes=tuple(modes),
        governing=governing,
        takes=takes,
        hotspots=_hotspots(looks, factors),
        beside=tuple(beside),
        hand=hand,
        diagrams=diagrams,
        hand_summary=_with_ratio(summary, takes),
        proportions=rules,
        allowables=tuple(row for look in _of_each_wood(looks) for row in _allowables(looks, look)),
        contacts=contact_rows(part, solution),
        beyond_play=beyond_play(beside),
        limits=limits_of(looks, takes, governing, mesh),
        no_limit=tuple(
            NoLimit(place.at, place.what, None if place.case is None else part.cases[place.case].name)
            for place in inspection.unlimited
        ),
        if_it_breaks=Consequence(**part.if_it_breaks.model_dump()),
        regions=_regions(part, woods),
        cautions=cautions_of(looks, reactions, solution, rules, mesh),
    )
    return Assessment(verdict, {name: lasting_fields(_point_fields(zones), factors[name]) for name, zones in pairs})


def _rules(
    part: Part, inspection: Inspection, woods: Mapping[str, Wood], reactions: Sequence[ReactionRow]
) -> tuple[Proportion, ...]:
    groups = {name: wood.group for name, wood in woods.items()}
    return proportions(part, inspection.outline, group=groups, reactions=reactions)


def _breaking(
    looks: Sequence[Look], hand: tuple[HandRow, ...], factors: Mapping[str, float], *, high: bool = False
) -> list[ModeRow]:
    """The rows of all modes that break, of all cases, with what their durations leave of the strengths."""
    return [lasting_row(row, factors) for zones in _by_case(looks, high=high) for row in breaking_rows(zones, hand)]


def _by_case(looks: Sequence[Look], *, high: bool = False) -> list[list[tuple[Inspection, CaseField]]]:
    """For each case its fields, one a zone; with the high energies' splits in place of the low ones' on demand."""
    count = len(looks[0].fields)
    rows = [[(look.inspection, look.fields[case]) for look in looks] for case in range(count)]
    if not high:
        return rows
    return [[(inspection, replace(field, low=field.high)) for inspection, field in row] for row in rows]


def _main(woods: Mapping[str, Wood]) -> Wood:
    """The wood of the part, or of its first region where regions cover all of it."""
    return woods.get(REST) or next(iter(woods.values()))


def _regions(part: Part, woods: Mapping[str, Wood]) -> tuple[RegionRow, ...]:
    """What each region is, where there are any."""
    if not part.regions:
        return ()
    rows = []
    for name in region_names(part):
        if name in woods:
            choice, wood = choice_of(part, name), woods[name]
            rows.append(RegionRow(name, choice.thickness, choice.grain, wood.name, wood.face or "as given"))
    return tuple(rows)


def _of_each_wood(looks: Sequence[Look]) -> list[Look]:
    """The first look of each wood."""
    kept: list[Look] = []
    for look in looks:
        if all(look.wood != other.wood for other in kept):
            kept.append(look)
    return kept


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
    inspected: Inspected, of: str, loads: Sequence[LoadRow], reactions: Sequence[ReactionRow]
) -> tuple[tuple[HandRow, ...], tuple[HandDiagram, ...], HandSummary]:
    inspection = inspected.inspection
    part, solution = inspection.part, inspection.solution
    factors = duration_factors(part)  # the load at which a strength is met falls with the strength
    cases = [
        _hand_case(case, number, solution, reactions, factors[case.name] * (size_of(of, loads, case.name) or 1.0))
        for number, case in enumerate(part.cases)
    ]
    nothing_yet = Takes(None, None, None, of)
    mesh = solution.model.mesh
    return hand_calculation(part, inspection.outline, inspected.woods, mesh, cases=cases, takes=nothing_yet)


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
    patches: Mapping[tuple[str, str], Patch], case: str, loads: Sequence[LoadRow], reactions: Sequence[ReactionRow]
) -> list[tuple[Patch, Array]]:
    """Every patch on which something acts in a case, with the force (2,) N on the wood there."""
    rows = [("load", row) for row in loads] + [("support", row) for row in reactions]
    return [
        (patches[kind, row.name], np.array(row.force))
        for kind, row in rows
        if row.case == case and (kind, row.name) in patches
    ]


def _beside(
    zones: Sequence[tuple[Inspection, CaseField]],
    actions: list[tuple[Patch, Array]],
    factors: Mapping[str, float],
) -> list[BesideRow]:
    """What dents or crushes in one case: of each patch, the inside and all surfaces the worst zone's row."""
    dents = [
        [row for inspection, field in zones for row in dent_rows(inspection, field.name, [action])]
        for action in actions
    ]
    dents.append([row for zone in zones for row in inside_rows(*zone)])
    crushed = worst_of([crushing_row(*zone) for zone in zones])
    return [*(worst_of(rows) for rows in dents if rows), lasting_row(crushed, factors)]


# ---- what governs, and the load it takes


def _factors(
    inspected: Inspected, growth: Growth, modes: Sequence[ModeRow], *, high: bool = False
) -> list[float | None]:
    """Load factor of each case on the loads that grow, from its rows at factor 1; contact is solved again."""
    cases = [case.name for case in inspected.inspection.part.cases]
    at_one = factors_of(cases, modes)
    if growth.proportional:
        return at_one
    first = [0.0 if factor is None else 1.0 / factor for factor in at_one]
    return searched(lambda factors: _use_at(inspected, growth, factors, high=high), first)


def _use_at(inspected: Inspected, growth: Growth, factors: Sequence[float], *, high: bool) -> list[float]:
    """Worst deciding utilisation of each case with the loads that grow multiplied, with low or high energies."""
    inspection = inspected.inspection
    part = inspection.part
    cases = tuple(
        case.model_copy(update={"factors": growth.scaled(case.factors, factor)})
        for case, factor in zip(part.cases, factors, strict=True)
    )
    grown = part.model_copy(update={"cases": cases})
    solution = inspection.solution.model.solve([case.factors for case in cases])
    seen = inspect_part(grown, inspection.outline, inspected.woods, solution, grown=inspection.grown, high=high)
    hand, _, _ = _by_hand(seen, growth.of, seen.loads, seen.reactions)
    rows = _breaking(seen.looks, hand, duration_factors(part))
    worst = [worst_deciding(rows, case.name) for case in cases]
    return [0.0 if row is None else row.utilisation for row in worst]


def _governing(
    growth: Growth, cases: Sequence[str], modes: Sequence[ModeRow], factors: Sequence[float | None]
) -> Governing | None:
    """The worst deciding row of the case that the loads which grow break first."""
    rows = [
        (math.inf if factor is None else factor, row)
        for case, factor in zip(cases, factors, strict=True)
        if (row := worst_deciding(modes, case)) is not None
    ]
    if not rows:
        return None
    factor, row = min(rows, key=lambda one: (one[0], -one[1].utilisation))
    kind: Literal["proportional", "searched"] = "proportional" if growth.proportional else "searched"
    return Governing(**vars(row), load_factor=factor if math.isfinite(factor) else None, load_factor_kind=kind)


def _with_ratio(summary: HandSummary, takes: Takes) -> HandSummary:
    if summary.load is None or not takes.best:
        return summary
    return replace(summary, ratio=summary.load / takes.best)


# ---- hot spots, allowables, fields


def _hotspots(looks: Sequence[Look], factors: Mapping[str, float]) -> tuple[HotSpot, ...]:
    """The worst few of each case, over all zones; `factors` are those of the cases' durations."""
    rows: list[HotSpot] = []
    for zones in _by_case(looks):
        mine = [_hotspot(inspection, field.name, spot) for inspection, field in zones for spot in field.low.spots]
        mine.sort(key=lambda row: -row.utilisation)
        kept = [row for row in mine[:MOST_SPOTS] if row.utilisation >= SPOT_SHARE * mine[0].utilisation]
        rows += [lasting_spot(row, factors) for row in kept]
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
    region = region_of(inspection.part, inspection.zone, spot.at)
    return HotSpot(
        rank=0,
        case=case,
        mode=SPLITTING,
        utilisation=float(w.utilisation[i]),
        at=_pair(spot.at),
        where=place_text(spot.at, anchor, region),
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
        region=region,
    )


def _allowables(looks: Sequence[Look], look: Look) -> list[Allowable]:
    """The strengths of one wood, with the regions that it makes up."""
    regions = tuple(name for one in looks if one.wood == look.wood for name in one.inspection.regions)
    rows = [
        Allowable(
            MODE_OF_STRENGTH.get(one.name, one.name), one.value, one.basis, one.factors, one.source, one.status, regions
        )
        for one in values_used(look.wood)
    ]
    return rows + dowel_allowables(look.wood, look.inspection.patches.values(), regions)


def _point_fields(zones: Sequence[tuple[Inspection, CaseField]]) -> dict[str, Array]:
    """Utilisation of each mode at the stress points of all zones: splitting as means, the others pointwise."""
    parts = [_fields_of(*zone) for zone in zones]
    return {mode: np.sum([part[mode] for part in parts], axis=0) for mode in parts[0]}


def _fields_of(inspection: Inspection, field: CaseField) -> dict[str, Array]:
    """The same in one zone; 0 outside it."""
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
