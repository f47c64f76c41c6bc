"""Rows of all modes, case by case, and the factor on the loads that grow at which the worst of them is met."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..fem.solution import Solution
from ..part.model import Case
from .energy import ByEnergy, capped
from .growth import Growth, factors_of, searched, size_of, takes_of, worst_deciding
from .hand import HandCase, hand_calculation
from .inspected import Inspected, inspect_part
from .lasting import Left, duration_factors, lasting_row
from .modes import (
    CaseField,
    Inspection,
    Look,
    breaking_rows,
)
from .struck import Struck
from .verdict import (
    Governing,
    HandDiagram,
    HandRow,
    HandSummary,
    LoadRow,
    ModeRow,
    ReactionRow,
    Takes,
    ThroughTime,
    TimedMode,
)

Array = NDArray[np.float64]


def breaking(
    looks: Sequence[Look], hand: tuple[HandRow, ...], factors: Mapping[str, Left], *, high: bool = False
) -> list[ModeRow]:
    """The rows of all modes that break, of all cases, with what their durations leave of the strengths."""
    return [lasting_row(row, factors) for zones in by_case(looks, high=high) for row in breaking_rows(zones, hand)]


def worst_use(inspected: Inspected) -> float:
    """The worst deciding utilisation of all cases on the mesh alone, without the hand calculation."""
    rows = breaking(inspected.looks, (), duration_factors(inspected.inspection.part))
    return max((row.utilisation for row in rows if row.decides), default=0.0)


def by_case(looks: Sequence[Look], *, high: bool = False) -> list[list[tuple[Inspection, CaseField]]]:
    """For each case its fields, one a zone; with the high energies' splits in place of the low ones' on demand."""
    count = len(looks[0].fields)
    rows = [[(look.inspection, look.fields[case]) for look in looks] for case in range(count)]
    if not high:
        return rows
    return [[(inspection, replace(field, low=field.high)) for inspection, field in row] for row in rows]


def by_hand(
    inspected: Inspected, of: str, loads: Sequence[LoadRow], reactions: Sequence[ReactionRow]
) -> tuple[tuple[HandRow, ...], tuple[HandDiagram, ...], HandSummary]:
    """The hand calculation of all cases, its loads stated in the load `of`."""
    inspection = inspected.inspection
    cases, nothing_yet = hand_cases(inspected, of, loads, reactions), Takes(None, None, None, of)
    mesh = inspection.solution.model.mesh
    return hand_calculation(inspection.part, inspection.outline, inspected.woods, mesh, cases=cases, takes=nothing_yet)


def hand_cases(
    inspected: Inspected, of: str, loads: Sequence[LoadRow], reactions: Sequence[ReactionRow]
) -> list[HandCase]:
    """Each case of a solved part as the hand calculation needs it, its loads stated in the load `of`."""
    part, solution = inspected.inspection.part, inspected.inspection.solution
    factors = duration_factors(part)  # the load at which a strength is met falls with the strength
    return [
        _hand_case(
            case, number, solution, reactions, factors[case.name].by_hand * (size_of(of, loads, case.name) or math.inf)
        )
        for number, case in enumerate(part.cases)
    ]


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


def load_factors(
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
    seen = inspect_part(
        grown,
        inspection.outline,
        inspected.woods,
        solution,
        grown=inspection.grown,
        high=high,
        further=inspection.further,
    )
    hand, _, _ = by_hand(seen, growth.of, seen.loads, seen.reactions)
    rows = breaking(seen.looks, hand, duration_factors(part))
    worst = [worst_deciding(rows, case.name) for case in cases]
    return [0.0 if row is None else row.utilisation for row in worst]


THROUGH_TIME = "through time"  # with this the note of what governs begins where a moment of a blow does
Blows = Mapping[str, tuple[Struck, ThroughTime | None]]  # by case


class Taken(NamedTuple):
    """What governs a part, what it takes, and the load factor of each case with low and with high energies."""

    governing: Governing | None
    takes: Takes
    low: tuple[float | None, ...]
    high: tuple[float | None, ...]


def taken(
    inspected: Inspected,
    growth: Growth,
    modes: Sequence[ModeRow],
    high: Sequence[ModeRow],
    blows: Blows,
    energy: Sequence[Mapping[str, ByEnergy]] = ({}, {}),
) -> Taken:
    """What governs a part, and what it takes: its rows with low energies (`modes`) and with high ones.

    `energy` holds the load factors of splitting by energy that count, with low energies and with high ones.
    """
    cases = [case.name for case in inspected.inspection.part.cases]
    low_factors, high_factors = (
        harder(capped(load_factors(inspected, growth, rows, high=bool(which)), cases, most), cases, modes, blows)
        for which, (rows, most) in enumerate(zip((modes, high), energy, strict=True))
    )
    high_factors = [
        one if one is None or least is None else max(one, least)  # another mode may decide with tougher wood
        for one, least in zip(high_factors, low_factors, strict=True)
    ]
    struck = {case: one for case, (one, _) in blows.items()}
    takes = takes_of(growth.of, inspected.loads, cases, low_factors, high_factors, struck)
    governing = governing_of(growth, cases, modes, low_factors, blows)
    return Taken(governing, takes, tuple(low_factors), tuple(high_factors))


def harder(
    factors: Sequence[float | None], cases: Sequence[str], modes: Sequence[ModeRow], blows: Blows
) -> list[float | None]:
    """Load factors of cases, lowered where a strike followed through time asks more of the part than its force does."""
    return [
        None if factor is None else factor / _through_time(case, modes, blows)
        for case, factor in zip(cases, factors, strict=True)
    ]


def _through_time(case: str, modes: Sequence[ModeRow], blows: Blows) -> float:
    """The worst utilisation of a case through time over that at its standing force; at least 1."""
    row, timed = worst_deciding(modes, case), worst_timed(case, blows)
    return 1.0 if row is None or timed is None else max(1.0, timed.utilisation / row.utilisation)


def worst_timed(case: str, blows: Blows) -> TimedMode | None:
    """The worst moment of a case's strike, if it was followed through time."""
    through = blows[case][1] if case in blows else None
    return through.modes[0] if through is not None and through.modes else None


def governing_of(
    growth: Growth, cases: Sequence[str], modes: Sequence[ModeRow], factors: Sequence[float | None], blows: Blows
) -> Governing | None:
    """The worst deciding row of the case that the loads which grow break first; through time where that is worse."""
    rows = [
        (math.inf if factor is None else factor, row)
        for case, factor in zip(cases, factors, strict=True)
        if (row := worst_deciding(modes, case)) is not None
    ]
    if not rows:
        return None
    factor, row = min(rows, key=lambda one: (one[0], -one[1].utilisation))
    timed = worst_timed(row.case, blows)
    if timed is not None and timed.utilisation > row.utilisation:
        row = _at_its_moment(row, modes, timed)
    kind: Literal["proportional", "searched"] = "proportional" if growth.proportional else "searched"
    return Governing(**vars(row), load_factor=factor if math.isfinite(factor) else None, load_factor_kind=kind)


def _at_its_moment(row: ModeRow, modes: Sequence[ModeRow], timed: TimedMode) -> ModeRow:
    """The row of a mode as it is at its worst moment."""
    like = next((one for one in modes if (one.case, one.mode) == (row.case, timed.mode)), row)
    return replace(
        like,
        decides=True,
        utilisation=timed.utilisation,
        value=timed.utilisation * like.allowable,
        at=timed.at,
        where=timed.where,
        measured_from=timed.measured_from,
        region=timed.region,
        peak=None,
        means=None,
        note=f"{THROUGH_TIME}, {1000 * timed.time:.3g} ms after the first touch",
    )
