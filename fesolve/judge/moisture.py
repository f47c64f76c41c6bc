"""Wood that dries while something holds it: cases with a change of moisture, and fasteners that may split it so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from math import cos, hypot, radians, sin

from ..part.actions import MOISTURE
from ..part.model import Part, Support
from ..part.regions import BODY
from ..wood.model import CHOICE, Wood
from .growth import worst_deciding
from .inspected import Inspected, inspect_part
from .lasting import duration_factors
from .rows_piece import MoistureRow
from .taking import breaking

CREPT = 0.4  # of the elastic stress of a drying that takes weeks; own choice
SEASON = 6.0  # %: what a heated room takes from wood that was dried outdoors (common practice, no source)
APART = 10.0  # mm across the grain: fasteners nearer to each other than that are told as one
FIT = 1e-6  # mm of play: less is none


def moisture_rows(inspected: Inspected) -> tuple[MoistureRow, ...]:
    """Each case with a change of moisture: its worst utilisation all elastic, and after creep.

    Wood under a strain that comes over weeks gives way: the stress that is left lies between the elastic one and 0.4 of
    it (own choice, no source). Contact is solved again for the lower one. Without the hand calculation.
    """
    part = inspected.inspection.part
    cases = [case for case in part.cases if MOISTURE in case.factors]
    if not cases:
        return ()
    elastic, crept = _uses(inspected, part), _uses(_crept(inspected), part)
    shrinks = (inspected.woods.get(BODY) or next(iter(inspected.woods.values()))).shrinkage
    assert shrinks is not None  # the model could not have been made
    rows = []
    for case in cases:
        change = case.factors[MOISTURE]
        strain = change * shrinks.along, change * shrinks.across
        uses = elastic[case.name], crept[case.name]
        rows.append(
            MoistureRow(
                case.name, change, case.moisture_change or "", *strain, *uses, CREPT, shrinks.source, shrinks.status
            )
        )
    return tuple(rows)


def _uses(inspected: Inspected, part: Part) -> dict[str, float]:
    rows = breaking(inspected.looks, (), duration_factors(part))
    worst = {case.name: worst_deciding(rows, case.name) for case in inspected.inspection.part.cases}
    return {name: 0.0 if row is None else row.utilisation for name, row in worst.items()}


def _crept(inspected: Inspected) -> Inspected:
    """The cases with a change of moisture, with what creep leaves of it."""
    one = inspected.inspection
    cases = tuple(
        case.model_copy(update={"factors": {**case.factors, MOISTURE: CREPT * case.factors[MOISTURE]}})
        for case in one.part.cases
        if MOISTURE in case.factors
    )
    part = one.part.model_copy(update={"cases": cases})
    solution = one.solution.model.solve([case.factors for case in cases])
    return inspect_part(part, one.outline, inspected.woods, solution, grown=one.grown, further=one.further)


# ---- without such a case


def drying_cautions(part: Part, woods: Mapping[str, Wood]) -> list[str]:
    """Fasteners that hold the wood across the grain, or fill their holes, where no case has a change of moisture."""
    if any(MOISTURE in case.factors for case in part.cases):
        return []
    tight = [support for support in part.supports if support.on.kind == "hole" and _tight(part, support)]
    wood = woods.get(BODY) or next(iter(woods.values()))
    pairs = [(one, two, _across(part, one, two)) for one, two in combinations(tight, 2)]
    pairs = [pair for pair in pairs if pair[2] > APART]
    if pairs:
        one, two, apart = max(pairs, key=lambda pair: pair[2])
        return [_held(wood, one.name, two.name, apart)]
    return [_filled(part, wood, tight)] if tight else []


def _tight(part: Part, support: Support) -> bool:
    """Whether it fills its hole, or holds the wall of it."""
    if support.kind != "pin":
        return support.kind == "fixed"
    hole = next(hole for hole in part.holes if hole.name == support.on.name)
    return support.pin is None or hole.diameter - support.pin <= FIT


def _across(part: Part, one: Support, two: Support) -> float:
    """How far two holes are apart across the grain, mm."""
    at = {hole.name: hole.center for hole in part.holes}
    (x1, y1), (x2, y2) = at[one.on.name], at[two.on.name]
    grain = radians(part.wood.grain)
    return abs((y2 - y1) * cos(grain) - (x2 - x1) * sin(grain)) if hypot(x2 - x1, y2 - y1) > 0.0 else 0.0


def _held(wood: Wood, one: str, two: str, apart: float) -> str:
    said = f'"{one}" and "{two}" hold the wood {apart:.0f} mm apart across the grain without play'
    shrinks = wood.shrinkage
    if shrinks is None or shrinks.across == 0.0:
        return f"{said}: it may split by drying alone. How much it shrinks is not known ([wood.shrinkage])."
    strength, stress = wood.strengths["tension_across"].value, wood.plane.E_90 * shrinks.across
    first = strength / stress
    return (
        f"{said}: it wants to shrink by {apart * shrinks.across:.2f} mm there for each 1 % of drying, and may split "
        f"by drying alone. Held altogether, {first:.2g} % (all elastic) to {first / CREPT:.2g} % (creep leaves "
        f"{CREPT:g} of the stress; {CHOICE}) reach its strength across the grain. A case with moisture_change computes "
        "it; a slot, or play, avoids it."
    )


def _filled(part: Part, wood: Wood, tight: Sequence[Support]) -> str:
    names = ", ".join(f'"{support.name}"' for support in tight)
    fills = f"{names} fill{'s its hole' if len(tight) == 1 else ' their holes'}"
    holes = {hole.name: hole.diameter for hole in part.holes}
    widest = max(holes[support.on.name] for support in tight)
    shrinks = wood.shrinkage
    size = ""
    if shrinks is not None and shrinks.across > 0.0:
        size = (
            f" By about {widest * shrinks.across * SEASON:.2f} mm for {SEASON:g} % of drying (common practice, no "
            "source): leave so much play, or more."
        )
    return (
        f"{fills}: as the wood dries the hole grows narrower across the grain, and steel does not; it may split by "
        f"drying alone.{size}"
    )
