"""From a solution to the verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from importlib.metadata import PackageNotFoundError, version

import numpy as np
from numpy.typing import NDArray

from ..fem.solution import Solution
from ..part.model import Part
from ..part.regions import BODY as REST
from ..wood.model import Wood
from .allowables import allowable_rows
from .at_angle import angle_rows
from .bearing import beyond_play, contact_rows, dent_rows, inside_rows
from .cautions import cautions_of, limits_of
from .codes import cases_of, code_rows
from .energy import ByEnergy, End, by_energy, mesh_by_energy, not_above, with_energy
from .fracture import split_cautions
from .goals import GoalErrors
from .growth import Growth, growth_of, size_of
from .hand import sheets
from .inspected import Inspected, pair
from .lasting import Left, case_factors, duration_factors, lasting_fields, lasting_row, lasting_spot
from .modes import (
    CaseField,
    Inspection,
    Look,
    crushing_row,
    of_windows,
    with_high,
    worst_of,
)
from .of_wood import pointwise_use
from .patches import Patch
from .piece import with_piece
from .proportions import proportions
from .rows_interaction import JudgingRow
from .rows_split import SplitRow
from .search import MOST_SPOTS, SPOT_SHARE, Spot
from .size_effect import size_cautions, size_rows
from .struck import Struck
from .taking import breaking, by_case, by_hand, hand_cases, taken
from .through_time import strike_row
from .verdict import (
    COMBINED,
    SPLITTING,
    BesideRow,
    Consequence,
    DrawingInfo,
    HandRow,
    HandSummary,
    HotSpot,
    MeshInfo,
    ModeRow,
    NoLimit,
    PartInfo,
    Proportion,
    ReactionRow,
    RegionRow,
    Takes,
    ThroughTime,
    Verdict,
)
from .where import anchor_of, exit_name, place_text
from .zones import choice_of, region_names, region_of

Array = NDArray[np.float64]
ENDS: tuple[End, ...] = ("low", "high")


@dataclass(frozen=True)
class Assessment:
    """The verdict and the fields that pictures and field.vtu show.

    Attributes
    ----------
    verdict : Verdict
    utilisation : mapping of case name to mapping of mode to (m,) array
        At the stress points.
    growth : Growth
        Which loads grow.
    high : tuple of ModeRow
        What could break it with the high energies.
    low_factors, high_factors : tuple of float or None
        Load factor of each case with low and with high energies.
    """

    verdict: Verdict
    utilisation: Mapping[str, Mapping[str, Array]]
    growth: Growth
    high: tuple[ModeRow, ...]
    low_factors: tuple[float | None, ...]
    high_factors: tuple[float | None, ...]


def assess(
    inspected: Inspected,
    mesh: MeshInfo | None = None,
    strikes: Sequence[tuple[Struck, ThroughTime | None]] = (),
    splits: Sequence[SplitRow] = (),
) -> Assessment:
    """Judge a solved part that has been looked at.

    Parameters
    ----------
    inspected : Inspected
    mesh : MeshInfo, optional
        What is known of its mesh and the mesh's error; without it no error is stated.
    strikes : sequence of (Struck, ThroughTime or None)
        What the loads of strikes stand for.
    splits : sequence of SplitRow
        Splitting by energy; what of it counts decides like the mean stress.
    """
    inspection, loads, reactions = inspected.inspection, inspected.loads, inspected.reactions
    part, solution, woods = inspection.part, inspection.solution, inspected.woods
    looks = _with_both_energies(inspected.looks)
    growth = growth_of(part, solution)
    hand, diagrams, summary = by_hand(inspected, growth.of, loads, reactions)
    cases, factors = [case.name for case in part.cases], duration_factors(part)
    modes, high, energy = _breaking(looks, hand, factors, [by_energy(splits, growth.of, loads, end) for end in ENDS])
    pairs = list(zip(cases, by_case(looks), strict=True))
    beside = [row for name, zones in pairs for row in _beside(zones, inspected.actions[name], factors)]
    found = taken(inspected, growth, modes, high, {one.case: (one, timed) for one, timed in strikes}, energy)
    mesh = mesh_by_energy(mesh or mesh_info(solution), found.governing, splits)
    rules = _rules(part, inspection, woods, reactions)
    verdict = Verdict(
        part=_part_info(part),
        version=_version(),
        family=_main(woods).family,
        basis=part.wood.basis,
        margin=part.margin,
        wood=_main(woods).name,
        face=_main(woods).face or "as given",
        mesh=mesh,
        equilibrium=solution.equilibrium,
        loads=loads,
        reactions=reactions,
        modes=tuple(modes),
        governing=found.governing,
        takes=found.takes,
        hotspots=_hotspots(looks, factors),
        beside=tuple(beside),
        hand=hand,
        diagrams=diagrams,
        hand_summary=_with_ratio(summary, found.takes),
        proportions=rules,
        allowables=allowable_rows(looks, case_factors(part)),
        contacts=contact_rows(part, solution),
        beyond_play=beyond_play(beside),
        strikes=tuple(strike_row(*one) for one in strikes),
        limits=limits_of(looks, found.takes, found.governing, mesh),
        no_limit=_no_limit(inspection),
        if_it_breaks=Consequence(**part.if_it_breaks.model_dump()),
        judging=JudgingRow(part.judging.combined, part.judging.size_effect),
        regions=_regions(part, woods),
        cautions=(*cautions_of(looks, reactions, solution, rules, mesh), *split_cautions(splits, found.takes)),
        splits=tuple(splits),
    )
    verdict = _with_codes(_with_plain_checks(verdict, inspected, looks, factors), inspected, growth)
    verdict = with_piece(verdict, inspected)
    fields = {name: lasting_fields(_point_fields(zones), factors[name]) for name, zones in pairs}
    return Assessment(verdict, fields, growth, tuple(high), found.low, found.high)


def _breaking(
    looks: Sequence[Look], hand: tuple[HandRow, ...], factors: Mapping[str, Left], energy: Sequence[dict[str, ByEnergy]]
) -> tuple[list[ModeRow], list[ModeRow], tuple[Mapping[str, ByEnergy], Mapping[str, ByEnergy]]]:
    """All modes that break, with low energies and with high ones, and what energy says of splitting at each end."""
    low = with_energy(breaking(looks, hand, factors, high=False), energy[0])
    most = not_above(energy[1], low)
    return low, with_energy(breaking(looks, hand, factors, high=True), most), (energy[0], most)


def _part_info(part: Part) -> PartInfo:
    used = part.drawing
    return PartInfo(part.title, part.file, part.sha256, DrawingInfo(used.file, used.sha256) if used else None)


def with_splits(
    assessment: Assessment,
    inspected: Inspected,
    strikes: Sequence[tuple[Struck, ThroughTime | None]],
    splits: Sequence[SplitRow],
) -> Assessment:
    """A part as judged already, with splitting by energy: judged anew where that may decide, else told beside it."""
    verdict = assessment.verdict
    if any(by_energy(splits, assessment.growth.of, verdict.loads, end) for end in ENDS):
        return assess(inspected, verdict.mesh, strikes, splits)
    cautions = (*verdict.cautions, *split_cautions(splits, verdict.takes))
    return replace(assessment, verdict=replace(verdict, splits=tuple(splits), cautions=cautions))


def _with_both_energies(looks: Sequence[Look]) -> list[Look]:
    return [replace(look, fields=tuple(with_high(look.inspection, field) for field in look.fields)) for look in looks]


def _with_plain_checks(
    verdict: Verdict, inspected: Inspected, looks: Sequence[Look], factors: Mapping[str, Left]
) -> Verdict:
    """The verdict with what stands beside its modes and never decides: stress at an angle, and the effect of size."""
    part = inspected.inspection.part
    pairs = list(zip((case.name for case in part.cases), by_case(looks), strict=True))
    angles = [
        row
        for name, zones in pairs
        for row in angle_rows(zones, inspected.actions[name], verdict.hand, factors[name].plain)
    ]
    shown = pairs if part.judging.size_effect else []
    sizes = [row for name, zones in shown for row in size_rows(zones, factors[name].plain.strength)]
    cautions = (*verdict.cautions, *size_cautions(sizes, verdict.governing))
    return replace(verdict, at_an_angle=tuple(angles), size_effect=tuple(sizes), cautions=cautions)


def _with_codes(verdict: Verdict, inspected: Inspected, growth: Growth) -> Verdict:
    """The verdict with the codes' formulas beside it, and what they have none for."""
    one, loads = inspected.inspection, inspected.loads
    cases = hand_cases(inspected, growth.of, loads, inspected.reactions)
    found = sheets(one.part, one.outline, inspected.woods, one.solution.model.mesh, cases)
    sizes = {case.name: size_of(growth.of, loads, case.name) for case in one.part.cases}
    mesh_rows = verdict.hotspots, verdict.beside
    left = {name: one.plain for name, one in duration_factors(one.part).items()}
    filled = cases_of(found, inspected.actions, left, sizes, mesh_rows)
    codes, missing = code_rows(filled, verdict.governing, verdict.takes, verdict.basis)
    return replace(verdict, codes=codes, codes_missing=missing)


def _no_limit(inspection: Inspection) -> tuple[NoLimit, ...]:
    cases = inspection.part.cases
    return tuple(
        NoLimit(place.at, place.what, None if place.case is None else cases[place.case].name)
        for place in inspection.unlimited
    )


def _rules(
    part: Part, inspection: Inspection, woods: Mapping[str, Wood], reactions: Sequence[ReactionRow]
) -> tuple[Proportion, ...]:
    groups = {name: wood.group for name, wood in woods.items()}
    return proportions(part, inspection.outline, group=groups, reactions=reactions, woods=woods)


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


def _beside(
    zones: Sequence[tuple[Inspection, CaseField]],
    actions: list[tuple[Patch, Array]],
    factors: Mapping[str, Left],
) -> list[BesideRow]:
    """What dents or crushes in one case: of each patch, the inside and all surfaces the worst zone's row."""
    dents = [
        [row for inspection, field in zones for row in dent_rows(inspection, field.name, [action])]
        for action in actions
    ]
    dents.append([row for zone in zones for row in inside_rows(*zone)])
    crushed = worst_of([crushing_row(*zone) for zone in zones])
    return [*(worst_of(rows) for rows in dents if rows), lasting_row(crushed, factors)]


def _with_ratio(summary: HandSummary, takes: Takes) -> HandSummary:
    if summary.load is None or not takes.best:
        return summary
    return replace(summary, ratio=summary.load / takes.best)


# ---- hot spots, allowables, fields


def _hotspots(looks: Sequence[Look], factors: Mapping[str, Left]) -> tuple[HotSpot, ...]:
    """The worst few of each case, over all zones; `factors` are those of the cases' durations."""
    rows: list[HotSpot] = []
    for zones in by_case(looks):
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
        at=pair(spot.at),
        where=place_text(spot.at, anchor, region),
        path=(pair(ends[0]), pair(ends[1])),
        exits_at=pair(leaves),
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


def _point_fields(zones: Sequence[tuple[Inspection, CaseField]]) -> dict[str, Array]:
    """Utilisation of each mode at the stress points of all zones: splitting as means, the others pointwise."""
    parts = [_fields_of(*zone) for zone in zones]
    return {mode: np.sum([part[mode] for part in parts], axis=0) for mode in parts[0]}


def _fields_of(inspection: Inspection, field: CaseField) -> dict[str, Array]:
    """The same in one zone; 0 outside it."""
    sweep, others = field.low.sweep, (COMBINED, *(one.name for one in inspection.further))
    together = {mode: inspection.search.spread(sweep, of_windows(inspection, mode)(sweep)) for mode in others}
    pointwise = pointwise_use(inspection.wood, field.stress)
    return {SPLITTING: field.low.utilisation, **pointwise, **together}


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
