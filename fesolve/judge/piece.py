"""The piece in hand: what was seen on it, what to look at, and the push that would prove it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import hypot

from ..part.model import Part, Seen
from ..wood.cracks import DEPTH_NAME, K_CR_NAME
from ..wood.fatigue import point_of
from ..wood.model import CHOICE, Wood
from ..wood.slope import SLOPE_SOURCE, SLOPE_STATUS, hankinson_band, slope_shares
from .growth import ALL_LOADS
from .inspected import Inspected
from .moisture import drying_cautions, moisture_rows
from .repeats import repeats_cautions, repeats_rows
from .rows_piece import PieceRow, ProofRow
from .verdict import TENSION_ALONG, ModeRow, Verdict

PROVES = 1.25  # times the largest expected load; own choice
HARMLESS = 0.8  # of the low end of what it takes; own choice


def with_piece(verdict: Verdict, inspected: Inspected) -> Verdict:
    """The verdict with what belongs to the piece in hand: moisture, what was seen, repeats, and what to look at."""
    part, woods = inspected.inspection.part, inspected.woods
    strikes = {row.case: row.through_time for row in verdict.strikes}
    repeats = repeats_rows(part, verdict.modes, strikes)
    told = [*seen_cautions(part, verdict.modes), *drying_cautions(part, woods), *repeats_cautions(repeats)]
    return replace(
        verdict,
        piece=piece_row(part, woods),
        moisture_changes=moisture_rows(inspected),
        repeats=repeats,
        look_at=look_at(part, verdict),
        cautions=(*verdict.cautions, *told),
    )


def piece_row(part: Part, woods: Mapping[str, Wood]) -> PieceRow:
    """What the part file says of the piece."""
    wood = part.wood
    shear = next(iter(woods.values())).strengths["shear"]
    cracked = [factor.value for factor in shear.factors if factor.name in (DEPTH_NAME, K_CR_NAME)]
    seen = tuple(one.text for one in wood.seen)
    return PieceRow(wood.moisture, wood.made_at, seen, cracked[0] if cracked else 1.0)


# ---- what was seen


def seen_cautions(part: Part, modes: Sequence[ModeRow]) -> list[str]:
    """A caution for each thing seen, with numbers where a source gives them."""
    words = {"drying cracks": _cracks, "end crack": _end_crack, "knot": _knot, "pith": _pith}
    if part.wood.grade is not None or part.wood.strength_class is not None:
        words.pop("drying cracks")  # what values of a grade or class allow for is said of the wood
    found = [words[seen.kind](seen) for seen in part.wood.seen if seen.kind in words]
    return found + [_slope(seen, modes) for seen in part.wood.seen if seen.kind == "grain dives"]


def _cracks(seen: Seen) -> str:
    if seen.size is None:
        return (
            f'"{seen.text}": their depth is not known, so the code\'s k_cr = 0.67 of the thickness counts in shear and '
            "splitting (EN 1995-1-1, from memory). Measure it with a thin blade, and state it."
        )
    faces = "on both faces, the deepest of each" if seen.both else "on one face, the other taken as sound"
    return (
        f'"{seen.text}": shear and splitting count on the thickness less the depth, {faces} ({CHOICE}); where the '
        "wood is thinnest, everywhere."
    )


def _end_crack(seen: Seen) -> str:
    return (
        f'"{seen.text}": a crack along the grain can run on at less than the load told here for sound wood. Splitting '
        "by energy looks at it in the middle of the depth at both ends; draw it as a [[crack]] where it is, saw it "
        "off, or keep every load and fastener away from it."
    )


def _knot(seen: Seen) -> str:
    clear, knotty = point_of("bending"), point_of("bending, knots or slope of grain")
    return (
        f'"{seen.text}": strengths are those of clear wood, and fibres run round a knot at an angle; no figure is used '
        f"for a single load. Repeated bending leaves {knotty.percent:.0f} % in place of {clear.percent:.0f} % at "
        f"{clear.cycles / 1e6:g} million times ({clear.source}, {clear.status})."
    )


def _pith(seen: Seen) -> str:
    return (
        f'"{seen.text}": cracks run out from it as it dries, and the young wood round it is weaker and shrinks more '
        "along the grain (common practice, no source); no figure is used."
    )


def _slope(seen: Seen, modes: Sequence[ModeRow]) -> str:
    run = seen.run or 1.0
    low, high = hankinson_band(run)
    band = f"{low:.2f} to {high:.2f} by Hankinson's formula with the handbook's exponents (from memory)"
    shares = slope_shares(run)
    if shares is None:
        return f'"{seen.text}": bending strength falls to {band}; the handbook\'s table ends at 1 in 5. Do not use it.'
    worst = max((row.utilisation for row in modes if row.mode == TENSION_ALONG), default=0.0)
    return (
        f'"{seen.text}": of straight-grained wood it has {100 * shares[0]:.0f} % in bending, {100 * shares[1]:.0f} % '
        f"in impact bending, {100 * shares[2]:.0f} % in compression along the grain ({SLOPE_SOURCE}, {SLOPE_STATUS}); "
        f"{band}. Not in the figures above: tension along the grain, {worst:.2f} of its strength, becomes "
        f"{worst / shares[0]:.2f}."
    )


# ---- what to look at


def look_at(part: Part, verdict: Verdict) -> tuple[str, ...]:
    """What to look at on the piece before it is used, a sentence each."""
    found = []
    if verdict.hotspots:
        places = "; ".join(dict.fromkeys(spot.where for spot in verdict.hotspots[:3]))
        found.append(f"Along the grain where it would split first ({places}): any crack there, however fine.")
    kinds = {seen.kind for seen in part.wood.seen}
    if not kinds:
        found.append(
            "Both faces for drying cracks, the ends for cracks, all over for knots, pith, and grain that dives out of "
            "the face: nothing was said of them ([wood] seen), and the figures are of clear, straight-grained wood."
        )
    if part.wood.moisture is None:
        found.append("Its moisture, with a meter: 12 % was taken ([wood] moisture).")
    if any(row.utilisation >= 1.0 for row in verdict.beside):
        found.append("Dents at supports and loads: a loose fit makes every blow harder.")
    if part.strikes or any((case.repeats or 1.0) > 1.0 for case in part.cases):
        found.append("Again and again while it serves: a crack means out of service until it is replaced.")
    return tuple(found)


# ---- proving it


def with_proof(verdict: Verdict) -> Verdict:
    """The verdict with the push that would prove the piece, by what it takes as told in the end."""
    return replace(verdict, proof=proof_of(verdict))


def proof_of(verdict: Verdict) -> ProofRow | None:
    """A slow push of 1.25 times the largest expected load, never above 0.8 of the low end of what it takes.

    Nor above the load at which 5 of 100 pieces break, where a chance is told. Both factors are choices of this
    program. A strike is expected with the greatest force that either way finds.

    Returns
    -------
    ProofRow or None
        None where nothing pushes, or no load that grows breaks it.
    """
    takes = verdict.takes
    if takes.low is None or not verdict.loads:
        return None
    expected = 1.0
    if takes.of != ALL_LOADS:
        sizes = [hypot(*row.force) for row in verdict.loads if row.name == takes.of]
        sizes += [
            row.through_time.peak_force
            for row in verdict.strikes
            if row.name == takes.of and row.through_time is not None
        ]
        expected = max(sizes, default=0.0)
    if expected <= 0.0:
        return None
    wanted, most = PROVES * expected, HARMLESS * takes.low
    if verdict.chance is not None:
        most = min(most, verdict.chance.five)
    return ProofRow(takes.of, expected, wanted, most, wanted if wanted <= most else None)
