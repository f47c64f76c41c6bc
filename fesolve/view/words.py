"""What a verdict says, in sentences.

Everything here is made from the `Verdict` alone and put in the reader's units by a formatter, so that the
terminal, the pictures' titles and a report say the same. The words follow the basis: strengths at their mean
never "hold", since about half of all pieces are weaker.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from ..bases import DESIGN, LOWER, MEAN, share_below
from ..judge.bearing import INSIDE
from ..judge.verdict import (
    COMBINED,
    SHEAR,
    SPLITTING,
    TENSION_ACROSS,
    TENSION_ALONG,
    Anchor,
    BesideRow,
    Consequence,
    Governing,
    HotSpot,
    Point,
    Verdict,
)
from ..units import Formatter
from ..wood.model import CLEAR
from .across import BASE, by_others, is_across, is_further, starts, together, verb_of
from .amounts import ALL_LOADS, load_text, ratio_text
from .blows import own_quantity, struck
from .by_energy import deciding_split, runs_on, why_by_energy
from .by_size import objection
from .certainty import chance_text, sure_text
from .cures import cures_text
from .own_figures import own_figures
from .piece import drying, repeated

REST = "part"  # what the wood outside all regions is called
CLEAR_WOOD = "of clear, straight-grained pieces"
OF_CLASS = "of pieces of that class"
DEEPEST = 10.0  # mm: the rough formula for dents says nothing beyond
CRUSHED = 2.0  # times the limit from which the first line tells a dent (own choice)
_NEAR = 0.25  # mm: smaller offsets are left out of a sentence


@dataclass(frozen=True)
class Line:
    """One labelled sentence of the verdict; the headline has no label."""

    label: str
    text: str


def story(verdict: Verdict, formatter: Formatter) -> tuple[Line, ...]:
    """Everything a person needs before acting, most important first.

    Parameters
    ----------
    verdict : Verdict
        What was found.
    formatter : Formatter
        Puts numbers in the reader's units.

    Returns
    -------
    tuple of Line
        Headline, where, takes, struck, repeats, drying, why, by hand, yours, dented, risk, how sure, chance, cures;
        what does not apply is left out.
    """
    lines = [
        Line("", headline(verdict, formatter)),
        Line("Where", where(verdict, formatter)),
        Line("Takes", takes(verdict, formatter)),
        Line("Struck", struck(verdict, formatter)),
        Line("Repeats", repeated(verdict)),
        Line("Drying", drying(verdict)),
        Line("Why", why(verdict, formatter)),
        Line("By hand", by_hand(verdict, formatter)),
        Line("Yours", own_figures(verdict, formatter)),
        Line("Dented", dented(verdict, formatter)),
        Line("Risk", risk(verdict)),
        Line("How sure", how_sure(verdict)),
        Line("Chance", chance_text(verdict, formatter)),
        Line("Cures", cures_text(verdict, formatter)),
    ]
    return tuple(line for line in lines if line.text)


def holds(verdict: Verdict) -> bool:
    """Whether the part holds on its basis: never said on the mean one.

    On the lower 5 % from a load factor of ``margin`` up, on the design basis from 1 up; a part that nothing
    loads holds. What dents deeper than the play it is allowed does not hold, nor what has less in hand by its size.
    """
    governing = verdict.governing
    if verdict.basis == MEAN or verdict.beyond_play or objection(verdict) is not None:
        return False
    if governing is None or not governing.load_factor:
        return governing is None or governing.utilisation == 0.0
    return governing.load_factor >= (1.0 if verdict.basis == DESIGN else verdict.margin)


def holds_with_error(verdict: Verdict) -> bool:
    """Whether it still holds when the mesh's estimated error is added to the utilisation."""
    governing, error = verdict.governing, verdict.mesh.relative_error or 0.0
    if governing is None or not governing.load_factor:
        return holds(verdict)
    worse = replace(governing, load_factor=governing.load_factor / (1.0 + error))
    return holds(replace(verdict, governing=worse))


def headline(verdict: Verdict, formatter: Formatter) -> str:
    """Return the verdict's first sentence: what happens, and by how much.

    On `mean` it is SPLITS (or BREAKS) from utilisation 1 up, and below it the part does not reach its mean
    strength; on `lower 5%` it holds from the margin up and is too close to call below; on `design` it is
    within the design value or above it. Where nothing breaks first, a dent deeper than its support allows is told,
    and what is crushed at supports and loads, which decides nothing.
    """
    governing = verdict.governing
    if verdict.beyond_play and (governing is None or governing.utilisation < 1.0):
        return _beyond_play(verdict, formatter)
    if governing is None:
        return "NOTHING LOADS IT: no stress that could break the wood was found. Look at the loads."
    by_basis = {MEAN: _mean_headline, DESIGN: _design_headline}.get(verdict.basis, _lower_headline)
    said = by_basis(verdict, governing, formatter)
    crushed = _crushed(verdict) if governing.utilisation < 1.0 else ""
    return f"{said[:-1]}; {crushed}." if crushed else said


def _crushed(verdict: Verdict) -> str:
    """``but the wood is crushed at "jaw" and 2 more``: supports and loads far above their limit; empty if none is."""
    names = [row.name for row in worst_beside(verdict) if row.utilisation > CRUSHED and row.name not in {"", INSIDE}]
    more = f" and {len(names) - 1} more" if len(names) > 1 else ""
    return f'but the wood is crushed at "{names[0]}"{more}' if names else ""


def _beyond_play(verdict: Verdict, formatter: Formatter) -> str:
    """``DENTS BEYOND ITS PLAY: at "pivot" roughly 1.6 mm deep, 1 mm allowed; nothing breaks first``."""
    places = [
        f'at "{row.name}" roughly {formatter.length(row.depth or 0.0)} deep, '
        f"{formatter.length(row.play_limit or 0.0)} allowed"
        for row in worst_beside(verdict)
        if row.name in verdict.beyond_play
    ]
    return f"DENTS BEYOND ITS PLAY: {', '.join(places)}; nothing breaks first."


def _mean_headline(verdict: Verdict, governing: Governing, formatter: Formatter) -> str:
    if governing.utilisation >= 1.0:
        return f"{verb_of(governing).upper()}: {_load_against(verdict, governing, formatter)}."
    return f"DOES NOT REACH its mean strength: {_load_against(verdict, governing, formatter)}."


def _lower_headline(verdict: Verdict, governing: Governing, formatter: Formatter) -> str:
    factor = governing.load_factor or math.inf
    if factor < 1.0:
        return f"{verb_of(governing).upper()}: {_load_against(verdict, governing, formatter)}, {whose(verdict)}."
    if factor < verdict.margin:
        hand = f"{ratio_text(factor)} in hand, below the margin of {verdict.margin:g}"
        return f"TOO CLOSE TO CALL: {hand}, {whose(verdict)}."
    size = objection(verdict)
    if size is not None:
        by_size = f"{ratio_text(1.0 / (size.utilisation or 1.0))} by its size ({size.mode})"
        return f"TOO CLOSE TO CALL: {ratio_text(factor)} in hand, but only {by_size}, {whose(verdict)}."
    if verdict.if_it_breaks.people in {"near", "carried"}:
        return f"MEETS THESE FIGURES; not a release for use. {ratio_text(factor)} in hand, {whose(verdict)}."
    return f"HOLDS, {ratio_text(factor)} in hand, {whose(verdict)}."


def _design_headline(verdict: Verdict, governing: Governing, formatter: Formatter) -> str:
    share = _load_against(verdict, governing, formatter)
    if governing.utilisation > 1.0:
        return f"ABOVE THE DESIGN VALUE: {share}."
    if verdict.if_it_breaks.people in {"near", "carried"}:
        return f"MEETS THESE FIGURES; not a release for use. Within the design value: {share}."
    return f"WITHIN THE DESIGN VALUE: {share}."


def whose(verdict: Verdict) -> str:
    """Which pieces a lower value is about: clear ones, or those of a strength class."""
    seen = ", which this one is not" if verdict.piece is not None and verdict.piece.seen else ""
    return (CLEAR_WOOD if verdict.family == CLEAR else OF_CLASS) + seen


def _load_against(verdict: Verdict, governing: Governing, formatter: Formatter) -> str:
    """``10 kN of "log" is 1.15 times the 8.7 kN it takes (low toughness)``: what it is judged by."""
    ratio = 1.0 / governing.load_factor if governing.load_factor else governing.utilisation
    share = f"{ratio_text(ratio)} {'times' if ratio >= 1.0 else 'of'}"
    found = verdict.takes
    applied, low = applied_load(verdict, governing.case), found.low if found.judged is None else found.judged
    note = " (low toughness)" if low is not None and found.best is not None and found.best > 1.0025 * low else ""
    if applied is None or low is None:
        return f"what acts on it is {share} what it takes{note}"
    return f'{formatter.force(applied)} of "{verdict.takes.of}" is {share} the {formatter.force(low)} it takes{note}'


def applied_load(verdict: Verdict, case: str) -> float | None:
    """Size (N) of the load that ``takes`` speaks of, in one case; None where it speaks of all loads together.

    As the user states it: without the partial factor of limit states.
    """
    if verdict.takes.of == ALL_LOADS:
        return None
    sizes = [
        math.hypot(*load.force) / load.partial
        for load in verdict.loads
        if (load.name, load.case) == (verdict.takes.of, case)
    ]
    return sizes[0] if sizes and sizes[0] > 0.0 else None


def where(verdict: Verdict, formatter: Formatter) -> str:
    """Where it starts, which way it runs and where it leaves the wood (as drawn: y up, x to the right)."""
    governing = verdict.governing
    if governing is None:
        return ""
    case = f' In case "{governing.case}".' if len({row.case for row in verdict.modes}) > 1 else ""
    case += "".join(
        f' Worst with "{row.name}" from {formatter.length(row.start)} to {formatter.length(row.stop)} of {row.on}.'
        for row in verdict.moving
    )
    split = deciding_split(verdict)
    if split is not None:
        place = _place(split.at, split.measured_from, split.where, formatter)
        way = f"along the grain {direction(split.direction)}.{case}"
        if split.existing > 0.0:
            return f"{runs_on(split)}, {place}{inside(split.region)}, {way}"
        return f"Starts {place}{inside(split.region)}, runs {way}"
    spot = split_of(verdict)
    if spot is None or breaks_across(verdict) or governing.mode == SHEAR:
        verb = starts(governing) if breaks_across(verdict) else "Starts"
        verb = "Shears along the grain" if governing.mode == SHEAR else verb
        place = _place(governing.at, governing.measured_from, governing.where, formatter)
        return f"{verb} {place}{inside(governing.region)}.{case}"
    start = _place(spot.at, spot.measured_from or governing.measured_from, spot.where, formatter)
    end = f", {leaves_at(spot)}" if spot.exits_where else ""
    sharp = f" ({spot.no_limit})" if spot.no_limit else ""  # named where stress has no limit, not told as a number
    return f"Starts {start}{sharp}{inside(spot.region)}, runs along the grain {direction(run_of(spot))}{end}.{case}"


def inside(region: str) -> str:
    """Return ``, in region web``; nothing in the rest of a part, or in one without regions."""
    return f", in region {region}" if region not in {"", REST} else ""


def leaves_at(spot: HotSpot) -> str:
    """Return where a split ends: ``leaves the wood at edge B-C``, or at the border of a region with another grain."""
    if spot.exits_where.startswith("region "):
        return f"ends at the border of {spot.exits_where}"
    return f"leaves the wood at {place_name(spot.exits_where)}"


def breaks_across(verdict: Verdict) -> bool:
    """Whether what gives way first is no split between fibres."""
    return verdict.governing is not None and is_across(verdict.governing)


def split_of(verdict: Verdict) -> HotSpot | None:
    """Return the worst hot spot of the governing case: the split that the sentences and the pencil line speak of."""
    governing = verdict.governing
    if governing is None:
        return None
    spots = [spot for spot in verdict.hotspots if spot.case == governing.case]
    split = deciding_split(verdict)
    if split is not None:  # that of the crack, or none where no hot spot lies at it
        spots = [spot for spot in spots if f"hot spot {spot.rank}" == split.of]
    return min(spots, key=lambda spot: spot.rank, default=None)


def run_of(spot: HotSpot) -> Point:
    """Return the vector (mm) from where the split starts to where it leaves the wood."""
    run = (spot.exits_at[0] - spot.at[0], spot.exits_at[1] - spot.at[1])
    if math.hypot(*run) > 1e-6:
        return run
    (x0, y0), (x1, y1) = spot.path
    return (x1 - x0, y1 - y0)


def direction(vector: Point) -> str:
    """Return the direction of a vector in a few words.

    Examples
    --------
    >>> direction((10.0, 0.0)), direction((-1.0, 1.0))
    ('to the right', 'up and to the left')
    """
    angle = math.degrees(math.atan2(vector[1], vector[0])) % 360.0
    names = {0: "to the right", 90: "upwards", 180: "to the left", 270: "downwards", 360: "to the right"}
    for axis, name in names.items():
        if abs(angle - axis) <= 8.0:
            return name
    return f"{'up' if angle < 180.0 else 'down'} and to the {'left' if 90.0 < angle < 270.0 else 'right'}"


def place_name(name: str) -> str:
    """Return a place of the part file as a person would say it.

    Examples
    --------
    >>> place_name("hole pivot"), place_name("notch N floor"), place_name("edge B-C")
    ('the pivot hole', 'the floor of notch N', 'edge B-C')
    """
    kind, _, rest = name.partition(" ")
    if kind == "hole" and rest:
        return f"the {rest} hole"
    if kind == "notch" and rest.rpartition(" ")[2] in {"start", "floor", "end"}:
        notch, _, face = rest.rpartition(" ")
        return f"the {face} of notch {notch}"
    if kind == "round" and rest:
        return f"the round at {rest}"
    return name


def offset(at: Point, anchor: Anchor, formatter: Formatter) -> str:
    """Return the place of a point from its anchor.

    ``5 mm below and 9 mm to the right of the pivot hole's centre``, ``12 mm above edge A-B, 210 mm from A``.
    """
    dx, dy = at[0] - anchor.at[0], at[1] - anchor.at[1]
    parts = []
    if abs(dy) >= _NEAR:
        parts.append(f"{formatter.length(abs(dy))} {'above' if dy > 0 else 'below'}")
    if abs(dx) >= _NEAR:
        parts.append(f"{formatter.length(abs(dx))} to the {'right' if dx > 0 else 'left'} of")
    name = place_name(anchor.name)
    target = f"{name}'s centre" if anchor.name.startswith("hole ") else name
    text = f"{' and '.join(parts)} {target}" if parts else f"at {target}"
    if anchor.along is not None:
        text += f", {formatter.length(anchor.along)} from {anchor.corner}"
    return text


def _place(at: Point | None, anchor: Anchor | None, text: str, formatter: Formatter) -> str:
    if at is not None and anchor is not None:
        return offset(at, anchor, formatter)
    text = text.partition(", in region ")[0]  # told beside
    return f"at {place_name(text)}" if text else "inside the wood"


def takes(verdict: Verdict, formatter: Formatter) -> str:
    """Return the load that the part takes: low, best and high, and what that means on its basis."""
    found, governing = verdict.takes, verdict.governing
    if governing is None or found.best is None:
        return ""
    if found.best == 0.0:
        return f'Nothing of "{found.of}": what stays on it, a change of moisture or self-weight, breaks it alone.'
    best = amount_text(found.best, verdict, formatter)
    if _has_band(verdict):
        low, high = (
            amount_text(found.low or 0.0, verdict, formatter),
            amount_text(found.high or 0.0, verdict, formatter),
        )
        text = f"{best}." if low == high else f"Low {low}, best {best}, high {high}."
    else:
        text = f"{best}."
    own = own_quantity(found, formatter)
    text += f" That is {own}." if own else ""
    if verdict.chance is not None:
        return text + _beside_chance(verdict)
    return f"{text} {_means(verdict, governing, best)}"


def _means(verdict: Verdict, governing: Governing, best: str) -> str:
    """What a load means on its basis, where no chance was worked out."""
    verb = verb_of(governing)
    if verdict.basis == MEAN:
        return f"About half of such clear pieces {BASE[verb]} below {best}."
    if verdict.basis == DESIGN:
        return _as_designed(verdict)
    share = share_below(verdict.basis) or 0.0
    some = "1 in 20" if verdict.basis == LOWER else f"{100.0 * share:g} %"
    if _has_band(verdict) or deciding_split(verdict) is not None:  # energies do not change with the basis
        lower = f"That is with lower strengths ({some} {whose(verdict)} has less)"
        return f"{lower}, not all the scatter of toughness: more than {some} may {BASE[verb]} below {best}."
    return f"About {some} {whose(verdict)} {verb if verdict.basis == LOWER else BASE[verb]} below {best}."


def _beside_chance(verdict: Verdict) -> str:
    """Why more pieces fail below the least load told than the basis has weaker ones; empty where no more do."""
    found, low = verdict.chance, verdict.takes.low
    if found is None or low is None or share_below(verdict.basis) is None or found.five >= low:
        return ""
    return " Each thing is varied alone, on lower strengths; the chance below lets all of toughness scatter, too."


def _as_designed(verdict: Verdict) -> str:
    """What a load on the design basis means: with its partial factor, if it has one."""
    of = [row for row in verdict.loads if row.name == verdict.takes.of and row.partial != 1.0]
    if of:
        return f"As you state it; {of[0].partial:g} times that meets the design values."
    return "That meets the design values."


def _has_band(verdict: Verdict) -> bool:
    low, high = verdict.takes.low, verdict.takes.high
    return low is not None and high is not None and high > 1.005 * low


def amount_text(value: float, verdict: Verdict, formatter: Formatter) -> str:
    """Return a load in the verdict's own quantity: a force, or a factor on all loads."""
    return load_text(value, verdict.takes.of, formatter)


def why(verdict: Verdict, formatter: Formatter) -> str:
    """Return what breaks the wood: the mean stress over a length of fibres, and how it opens or slides."""
    governing = verdict.governing
    if governing is None:
        return ""
    value, allowable = formatter.stress(governing.value), formatter.stress(governing.allowable)
    short = {
        TENSION_ALONG: f"Pulled along the fibres with {value}",
        SHEAR: f"Shear of {value} along the grain,",
    }.get(governing.mode)
    if short is not None:
        return f"{short} on the mean of a short length; the strength is {allowable}."
    if governing.mode == COMBINED or is_further(governing):
        return _together(verdict, governing, formatter)
    split = deciding_split(verdict)
    if split is not None:
        return why_by_energy(verdict, split, formatter)
    spot = split_of(verdict)
    if spot is None:
        return f"Mean stress {value} against {allowable}."
    text = f"Mean stress over {formatter.length(spot.mean_length)} of fibres: {_opening(verdict, spot, formatter)}."
    return f"{text} The fibres there are shorter than the splitting length: rough." if spot.short_line else text


def _together(verdict: Verdict, governing: Governing, formatter: Formatter) -> str:
    if governing.mode == COMBINED:
        return together(governing, verdict.judging.combined, formatter)
    brought = [row for row in verdict.extensions if (row.kind, row.name) == ("mode", governing.mode)]
    package = f"{brought[0].package} {brought[0].version}" if brought else "another package"
    return by_others(governing, package, formatter)


def _opening(verdict: Verdict, spot: HotSpot, formatter: Formatter) -> str:
    tau = formatter.stress(abs(spot.mean_tau))
    if spot.mean_s90 <= 0.0:
        pressed = f", pressed shut by {formatter.stress(-spot.mean_s90)}" if spot.mean_s90 < 0.0 else ""
        return f"all sliding ({tau} shear{pressed})"
    share = opening_share(verdict, spot)
    if share is None:
        return f"{formatter.stress(spot.mean_s90)} across the grain, {tau} shear"
    if share > 0.995:
        return f"all opening ({formatter.stress(spot.mean_s90)} across the grain)"
    return f"{100 * share:.0f} % opening, {100 - 100 * share:.0f} % sliding"


def opening_share(verdict: Verdict, spot: HotSpot) -> float | None:
    """Return how much of a split is opening, 0 to 1; None where the strengths are not in the verdict.

    With the mean stresses as shares of their strengths, ``a = s90/f_t90`` and ``b = tau/f_v``, the share is
    ``a^2 / (a^2 + b^2)`` (own choice; it says what to work on, it judges nothing).

    Examples
    --------
    ``s90 = 1.15, f_t90 = 2.3, tau = 3.9, f_v = 7.8`` gives ``0.25 / (0.25 + 0.25) = 0.5``.
    """
    rows = [row for row in verdict.allowables if not row.regions or spot.region in row.regions]
    strength = {row.mode: row.value for row in rows}
    across, shear = (  # of a grade or class splitting has its own
        strength.get(f"{SPLITTING}: {mode}", strength.get(mode)) for mode in (TENSION_ACROSS, SHEAR)
    )
    if not across or not shear:
        return None
    a, b = max(spot.mean_s90, 0.0) / across, spot.mean_tau / shear
    return a * a / (a * a + b * b) if a or b else None


def by_hand(verdict: Verdict, formatter: Formatter) -> str:
    """Return the hand figure with holes and notches left out, and its ratio to the best figure."""
    summary = verdict.hand_summary
    if summary.load is None:
        return summary.sentences[0] if summary.sentences else ""
    load = amount_text(summary.load, verdict, formatter)
    left_out = f", {summary.left_out} left out" if summary.left_out else ""
    text = f"{summary.formula}{left_out}: {load}"
    if summary.ratio is None:
        return f"{text}."
    if summary.ratio >= 1.15:
        return f"{text}, {ratio_text(summary.ratio)} times the best: too bold."
    if summary.ratio <= 0.85:
        return f"{text}, {ratio_text(summary.ratio)} of the best: on the safe side."
    word = "they agree" if _same_failure(verdict) else "near it, though by another way of failing"
    return f"{text}, {ratio_text(summary.ratio)} of the best: {word}."


def _same_failure(verdict: Verdict) -> bool:
    """Whether the plain formula and the mesh speak of the same: shear along the grain, or tension in bending."""
    governing, spot = verdict.governing, split_of(verdict)
    if governing is None:
        return True
    if not verdict.hand_summary.formula.startswith("V"):
        return governing.mode == TENSION_ALONG
    slides = spot is not None and (opening_share(verdict, spot) or 0.0) < 0.5
    return governing.mode == SHEAR or (governing.mode == SPLITTING and slides)


def dented(verdict: Verdict, formatter: Formatter) -> str:
    """Return where the wood is dented or crushed, at what share of its limit and roughly how deep; worst first."""
    worst = worst_beside(verdict)
    if not worst:
        return ""
    over = [row for row in worst if row.utilisation >= 1.0]
    if not over:
        row = worst[0]
        return f"Nowhere; nearest to it: {beside_place(row, formatter)}, {ratio_text(row.utilisation)} of its limit."
    head, *rest = over[:3]
    share = f"{ratio_text(head.utilisation)} times its limit"
    phrases = [f"{beside_place(head, formatter)} {share}{_depth(head, formatter, ' deep')}"]
    phrases += [f"{beside_place(row, formatter)} {ratio_text(row.utilisation)}{_depth(row, formatter)}" for row in rest]
    more = f", {len(over) - 3} more below" if len(over) > 3 else ""
    return f"{', '.join(phrases)}{more}."


def worst_beside(verdict: Verdict) -> list[BesideRow]:
    """Return the worst row of each place that is dented or crushed, worst first."""
    worst: dict[str, BesideRow] = {}
    for row in verdict.beside:
        key = row.name or row.where
        kept = worst.get(key)
        if row.utilisation > 0.0 and (kept is None or row.utilisation > kept.utilisation):
            worst[key] = row
    return sorted(worst.values(), key=lambda row: -row.utilisation)


def beside_place(row: BesideRow, formatter: Formatter) -> str:
    """Return where a row dents or crushes: the name of the support or load, else the place."""
    if row.at is None or row.measured_from is None:
        return row.name or place_name(row.where)
    place = offset(row.at, row.measured_from, formatter)
    return f"{row.name} ({place})" if row.name else place


def _depth(row: BesideRow, formatter: Formatter, after: str = "") -> str:
    if row.depth is None:
        return ""
    beyond = ", beyond its play" if row.play_limit is not None and row.depth > row.play_limit else ""
    if row.depth > DEEPEST:
        return f" (more than {formatter.length(DEEPEST)}{after}: crushed{beyond})"
    return f" (roughly {formatter.length(row.depth)}{after}{beyond})"


def how_sure(verdict: Verdict) -> str:
    """Return how sure it is and what would change it, or else the band of the answer and what limits it most."""
    low, high = verdict.takes.low, verdict.takes.high
    if verdict.sure is not None:
        return sure_text(verdict, f", within a factor of {ratio_text(high / low)}" if low and high else "")
    reason = verdict.limits[0] if verdict.limits else ""
    if verdict.governing is not None and low and high and _has_band(verdict):
        return f"Within a factor of {ratio_text(high / low)}. {reason}".strip()
    return reason


def risk(verdict: Verdict) -> str:
    """Return what happens if it goes, with the cautions for people."""
    what = verdict.if_it_breaks
    then = f"If it goes, {_lower_first(what.then).rstrip('.')}." if what.then else ""
    return " ".join(text for text in (then, _people(what), _second_catch(what)) if text)


def _people(what: Consequence) -> str:
    if what.people == "none":
        return "No one near, as declared."
    if what.people == "near":
        return "People near: keep clear."
    if what.people == "carried":
        return "It carries people: a licensed engineer decides."
    return "Not said who is near: keep clear; not a release for use."


def _second_catch(what: Consequence) -> str:
    if what.second_catch is None or (what.second_catch is False and what.people == "none"):
        return ""
    return "Check the second catch too." if what.second_catch else "No second catch."


def _lower_first(text: str) -> str:
    first, _, _ = text.partition(" ")
    return text if first.isupper() and len(first) > 1 else text[:1].lower() + text[1:]
