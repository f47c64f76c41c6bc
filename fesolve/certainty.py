"""How sure: the part as told against itself with one thing varied, and the chance that one of such parts fails.

Every variation is measured as a ratio: the same quick look (`inspect_part(quick=True)`) at the part as told and at the
part with one thing varied, on the same mesh. So what a quick look leaves out counts for both.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

from .bases import DESIGN, MEAN
from .errors import FesolveError
from .fem.solution import Solution
from .judge.assess import Assessment
from .judge.chance import (
    NOTHING,
    STRENGTHS_AT,
    Spread,
    energy_scatter,
    size_chance,
    strength_scatter,
    strength_shares,
)
from .judge.energy import BY_ENERGY, deciding
from .judge.growth import ALL_LOADS, Growth, size_of, worst_deciding
from .judge.inspected import Inspected, inspect_part, judged_again
from .judge.lasting import duration_factors
from .judge.modes import Look
from .judge.rows_sure import Chance, Change, Group, How, SizeChance, SureRow
from .judge.sure import answer_of, elsewhere, least_and_most, moved, sure_of, why_sure
from .judge.taking import breaking, by_hand
from .judge.verdict import SHEAR, TENSION_ALONG, Governing, ModeRow, Takes, Verdict
from .mesh.generate import mesh_part
from .mesh.outline import Outline, part_outline
from .modelling import woods_of
from .otherwise import Progress, Seen, Tried, prepared
from .part.elsewhere import Shift, shifted, shifts_of
from .part.model import Case, Part
from .wood.model import Wood
from .wood.scatter import at_percent, at_point, mean_of, with_energies

TURN = 5.0  # deg, of the grain either way
NEAR = 2.0  # cases that take up to so many times the least are varied, too
MORE = 1.2  # on the loads, to see how steeply utilisation grows with them
TOUGHER = 1.4  # on the energies, to see what hangs on them
STEEPEST = 10.0
BY_HAND = 0.7  # of the mesh's utilisation: M/S below that is not looked at again
LEAST = 1e-3  # of a load, in its logarithm
ROOT = 0.5  # a crack's load goes with the root of the energies
OTHER_FACE = {"flat-sawn": "quarter-sawn", "quarter-sawn": "flat-sawn"}


@dataclass(frozen=True)
class Judged:
    """A part as it is told: looked at, its woods by region, its assessment, and its variants in how it is held."""

    seen: Seen
    woods: Mapping[str, Wood]
    assessment: Assessment
    tried: tuple[Tried, ...] = ()

    @property
    def utilisation(self) -> float:
        """Of what governs; 0 where nothing loads it."""
        governing = self.assessment.verdict.governing
        return governing.utilisation if governing else 0.0


@dataclass(frozen=True)
class Use:
    """The worst deciding row of one case by a look, and the size of the load that the answer is stated in."""

    use: float
    row: ModeRow | None
    size: float


Uses = Mapping[str, Use]  # by case


@dataclass(frozen=True)
class Told:
    """What rows are measured against.

    Attributes
    ----------
    part : Part
        With its strikes, and only the cases that come near to what decides.
    low : mapping of case name to float
        Load factor that each case is judged by.
    at : mapping of case name to float
        Factor on the loads that grow at which it is looked at: 1 where stress is proportional to them.
    slopes : mapping of case name to float
        By how many per cent utilisation grows for one per cent more of these loads.
    quick : Inspected
        A quick look at the part as told, at those factors.
    full : mapping of case name to Use
        The worst by the mesh alone at factor 1, as it was told.
    hand : mapping of case name to float
        Utilisation by M/S, where that is more than the mesh's tension along the grain and comes near what decides.
    """

    judged: Judged
    governing: Governing
    part: Part
    low: Mapping[str, float]
    at: Mapping[str, float]
    slopes: Mapping[str, float]
    quick: Inspected
    full: Uses
    hand: Mapping[str, float]

    @property
    def verdict(self) -> Verdict:
        """As it was told."""
        return self.judged.assessment.verdict

    @property
    def by_energy(self) -> bool:
        """Whether splitting by energy decides, which knows no strength."""
        return self.governing.note.startswith(BY_ENERGY)

    @cached_property
    def spare(self) -> float | None:
        """The load by the mean stress, which goes with strength, over that by energy, which does not, if this decides.

        None where the mean stress decides; infinite of a crack that is there, where it says nothing.
        """
        row = deciding(self.governing, self.verdict.splits)
        if row is None:
            return None
        if row.low is None or not row.low.past or not row.mean_load or row.existing:
            return math.inf
        return row.mean_load / row.low.past

    @property
    def growth(self) -> Growth:
        """Which loads grow."""
        return self.judged.assessment.growth

    @property
    def outline(self) -> Outline:
        """Of the part."""
        return self.quick.inspection.outline

    @cached_property
    def uses(self) -> Uses:
        """Of the quick look."""
        return uses_of(self.quick, self.growth.of, self.at)


def how_sure(judged: Judged, others: Sequence[Judged], say: Progress) -> Judged:
    """The verdict with its rows of "how sure", what they make of the load that it takes, and the chance of failure.

    Parameters
    ----------
    judged : Judged
        What is told.
    others : sequence of Judged
        The other face of a board that is not known.
    say : callable
        Told what is being done.
    """
    verdict = judged.assessment.verdict
    governing, takes = verdict.governing, verdict.takes
    if governing is None or not governing.load_factor or not takes.judged or not takes.best:
        return judged
    told = _told(judged, governing)
    rows, notes = [*_by_energy(told), *_held(told), *_other_faces(told, others)], list[str]()
    for what, varied in _variations(told):
        say(f"how sure: {what}")
        try:
            rows += varied()
        except FesolveError as error:
            notes.append(f"How sure leaves out {what}: {error.message}")
    chance, no_chance = _chance_of(told)
    least, most = least_and_most(rows, takes.judged)
    answer = answer_of(verdict.basis, verdict.margin, governing.load_factor)
    why = " ".join(text for text in (why_sure(rows, takes.judged), elsewhere(rows)) if text)
    verdict = replace(
        verdict,
        takes=replace(takes, low=least, high=most, own=_own(told, (takes.best, least, most))),
        sure=sure_of(rows, answer, verdict.basis, chance),
        why_sure=why,
        how_sure=tuple(rows),
        chance=chance,
        no_chance=no_chance,
        cautions=(*verdict.cautions, *notes),
    )
    return replace(judged, assessment=replace(judged.assessment, verdict=verdict))


def _variations(told: Told) -> list[tuple[str, Callable[[], list[SureRow]]]]:
    """What is looked at again, in words, and how; the cheap first."""
    found: list[tuple[str, Callable[[], list[SureRow]]]] = []
    scatters = told.verdict.basis == MEAN and "strength" not in _known(told.part)
    if scatters and told.spare != math.inf:  # else no strength enters
        found.append(("strength at 5 and 95 %", partial(_by_strength, told)))
    found += [
        (f"grain {TURN:g} deg {way}", partial(_by_grain, told, what, by))
        for way, what, by in (
            ("counter-clockwise", f"grain {TURN:g} deg counter-clockwise", TURN),
            ("clockwise", f"grain {TURN:g} deg clockwise", -TURN),
        )
    ]
    if told.part.wood.board in OTHER_FACE:
        found.append(("the other face of the board", partial(_by_face, told, OTHER_FACE[told.part.wood.board])))
    shifts = shifts_of(told.part)
    if shifts:
        found.append(("loads elsewhere", partial(_by_place, told, shifts)))
    return found


# ---- what rows are measured against


def _told(judged: Judged, governing: Governing) -> Told:
    """Look at the part as told, quickly, at the load that it takes where stress is not proportional to the loads."""
    assessment, inspected = judged.assessment, judged.seen.inspected
    growth, stands = assessment.growth, inspected.inspection.part
    factors = dict(zip([case.name for case in stands.cases], assessment.low_factors, strict=True))
    low = {name: one for name, one in factors.items() if one is not None and one > 0.0}
    low = {name: one for name, one in low.items() if one <= NEAR * min(low.values())}
    part = _only(judged.seen.part, low)
    at = dict.fromkeys(low, 1.0) if growth.proportional else low
    quick, slopes = _quick(judged, growth, at)
    full = uses_of(inspected, growth.of, dict.fromkeys(factors, 1.0))
    hand = {
        row.case: row.utilisation
        for row in assessment.verdict.modes
        if row.mode == TENSION_ALONG and row.note.startswith("M/S") and row.utilisation > BY_HAND * full[row.case].use
    }
    return Told(judged, governing, part, low, at, slopes, quick, full, hand)


def _only(part: Part, cases: Iterable[str]) -> Part:
    """The part with some of its cases."""
    names = set(cases)
    return part.model_copy(update={"cases": tuple(case for case in part.cases if case.name in names)})


def _quick(judged: Judged, growth: Growth, at: Mapping[str, float]) -> tuple[Inspected, dict[str, float]]:
    """A quick look at the part as told, and how steeply its utilisation grows with the loads."""
    one = judged.seen.inspected.inspection
    stands = _only(one.part, at)
    look = partial(
        inspect_part, outline=one.outline, wood=judged.woods, grown=one.grown, quick=True, further=one.further
    )
    slopes = dict.fromkeys(at, 1.0)
    if growth.proportional:
        every = len(stands.cases) == len(one.part.cases)
        return look(stands, solution=one.solution if every else _solve(stands, one.solution)), slopes
    here = scaled(stands, growth, at)
    quick = look(here, solution=_solve(here, one.solution))
    try:
        more = {name: MORE * factor for name, factor in at.items()}
        there = scaled(stands, growth, more)
        steeper = uses_of(look(there, solution=_solve(there, one.solution)), growth.of, more)
    except FesolveError:  # the part moves away under more: taken as proportional
        return quick, slopes
    for name, use in uses_of(quick, growth.of, at).items():
        if use.use > 0.0:
            slope = (steeper[name].use / use.use - 1.0) / (MORE - 1.0)
            slopes[name] = min(max(slope, 1.0 / STEEPEST), STEEPEST)
    return quick, slopes


def _solve(part: Part, like: Solution) -> Solution:
    return like.model.solve([case.factors for case in part.cases])


def scaled(part: Part, growth: Growth, factors: Mapping[str, float], also: Mapping[str, str] | None = None) -> Part:
    """The part with the loads that grow multiplied in each case; `also` names the loads that others stand for."""
    stands_for = also or {}

    def case_at(case: Case) -> Case:
        def grown(name: str, one: float) -> float:
            return one * factors[case.name] if stands_for.get(name, name) in growth.names else one

        return case.model_copy(update={"factors": {name: grown(name, one) for name, one in case.factors.items()}})

    return part.model_copy(update={"cases": tuple(case_at(case) for case in part.cases)})


def uses_of(inspected: Inspected, of: str, at: Mapping[str, float]) -> dict[str, Use]:
    """The worst of each case by the mesh alone; sizes of the load `of` at factor 1."""
    part = inspected.inspection.part
    rows = breaking(inspected.looks, (), duration_factors(part))
    found = {}
    for case in part.cases:
        row = worst_deciding(rows, case.name)
        found[case.name] = Use(0.0 if row is None else row.utilisation, row, _size(inspected, of, case.name, at))
    return found


def _size(inspected: Inspected, of: str, case: str, at: Mapping[str, float]) -> float:
    return 1.0 if of == ALL_LOADS else size_of(of, inspected.loads, case) / at[case]


# ---- rows


def _row(
    told: Told,
    what: str,
    group: Group,
    how: How,
    uses: Uses,
    before: Uses,
    by_hand: Mapping[str, float] | None = None,
    spare: float | None = None,
) -> SureRow:
    """A row from two looks alike: with something varied, and as told; `by_hand` is the ratio of M/S, 1 unless given.

    `spare` is given where what is varied changes the load by the mean stress alone, and energy decides.
    """
    found = []
    for name, use in uses.items():
        if before[name].use <= 0.0:
            continue
        ratio, hand = _ratio(told, name, use.use / before[name].use, (by_hand or {}).get(name, 1.0))
        ratio = ratio if spare is None else max(ratio / spare, 1.0)
        factor = told.low[name] * _load(ratio, told.slopes[name])
        found.append((factor, use.size, ratio, name, hand))
    factor, _, ratio, name, hand = min(found)
    loads = [size * one for one, size, *_ in found if size > 0.0 and math.isfinite(one)]
    row, was = uses[name].row, before[_first(told, before)].row
    if hand or row is None:
        row = was = told.governing
    verdict = told.verdict
    return SureRow(
        what=what,
        group=group,
        takes=min(loads, default=None),
        load_factor=factor if math.isfinite(factor) else None,
        utilisation=ratio * _utilisation(told, name),
        answer=answer_of(verdict.basis, verdict.margin, factor),
        mode=row.mode,
        at=row.at,
        where=row.where,
        changes=_changes(told, factor, row, was or row),
        how=how,
    )


def _first(told: Told, before: Uses) -> str:
    """The case that governs as told, or the first of those looked at."""
    return told.governing.case if told.governing.case in before else next(iter(before))


def _ratio(told: Told, case: str, mesh: float, hand: float) -> tuple[float, bool]:
    """Utilisation over that as told, by mesh or by hand, whichever is worse; and whether it is by hand."""
    full, ms = told.full[case].use, told.hand.get(case, 0.0)
    return max(full * mesh, ms * hand) / max(full, ms), ms * hand > full * mesh


def _load(ratio: float, slope: float) -> float:
    """The load over that as told where the utilisation at the load as told is `ratio` times 1.

    What stays and what has play to close first makes the utilisation a straight line in the load that grows, from
    which it is read: ratio (1 + slope (x - 1)) = 1.
    """
    return max(1.0 + (1.0 / ratio - 1.0) / slope, 0.0) if ratio > 0.0 else math.inf


def _utilisation(told: Told, case: str) -> float:
    """Of a case as told, through time where that is worse."""
    row = worst_deciding(told.verdict.modes, case)
    return told.governing.utilisation if case == told.governing.case or row is None else row.utilisation


def _changes(told: Told, factor: float | None, row: ModeRow, was: ModeRow) -> tuple[Change, ...]:
    """What is no longer as told."""
    basis, margin = told.verdict.basis, told.verdict.margin
    answer = answer_of(basis, margin, told.governing.load_factor)
    found: dict[Change, bool] = {
        "answer": answer_of(basis, margin, factor) != answer,
        "mode": row.mode != was.mode,
        "place": moved(row.at, was.at),
    }
    return tuple(name for name, yes in found.items() if yes)


def _plain_row(
    told: Told, what: str, group: Group, how: How, load: float, factor: float, use: float, row: ModeRow
) -> SureRow:
    """A row from a full judgement."""
    answer = answer_of(told.verdict.basis, told.verdict.margin, factor)
    changes = _changes(told, factor, row, told.governing)
    return SureRow(what, group, load, factor, use, answer, row.mode, row.at, row.where, changes, how)


def _by_energy(told: Told) -> list[SureRow]:
    """Low and high energies, as they were judged already; none where there is no band."""
    verdict, takes, governing = told.verdict, told.verdict.takes, told.governing
    look, _ = _deciding(told)
    ends = tuple(1000.0 * one for one in look.wood.fracture.G_Ic)
    rows: list[SureRow] = []
    if look.wood.fracture.split_length is not None or ends[0] == ends[1] or not takes.judged or not takes.high:
        return rows
    what = [f"toughness {word} ({end:.0f} J/m2 in opening)" for word, end in zip(("low", "high"), ends, strict=True)]
    low, factor = takes.judged, governing.load_factor or 0.0
    rows.append(_plain_row(told, what[0], "toughness", "judged again", low, factor, governing.utilisation, governing))
    cases = [case.name for case in told.judged.seen.inspected.inspection.part.cases]
    found = [
        (one, row)
        for name, one in zip(cases, told.judged.assessment.high_factors, strict=True)
        if one is not None and (row := worst_deciding(told.judged.assessment.high, name)) is not None
    ]
    if not found:
        return rows
    factor, row = min(found, key=lambda one: one[0])
    high = _energy_high(verdict)
    rows.append(_plain_row(told, what[1], "toughness", "judged again", high, factor, row.utilisation, row))
    return rows


def _energy_high(verdict: Verdict) -> float:
    """What it takes with the high energies: best is the geometric mean of both."""
    takes = verdict.takes
    return (takes.best or 0.0) ** 2 / (takes.judged or 1.0)


def _held(told: Told) -> list[SureRow]:
    """The variants in how it is held, as they were judged already, the told one among them."""
    of, cases = told.growth.of, told.low
    rows = []
    for one in told.judged.tried:
        uses = uses_of(one.seen.inspected, of, dict.fromkeys(told.full, 1.0))
        near = {name: uses[name] for name in cases}
        rows.append(_row(told, one.what, "held", "solved again", near, told.full))
    return rows


def _other_faces(told: Told, others: Sequence[Judged]) -> list[SureRow]:
    """The other face of a board that is not known, judged in full already."""
    rows = []
    for other in others:
        verdict = other.assessment.verdict
        row, load = verdict.governing, verdict.takes.judged
        if row is not None and row.load_factor and load:
            what, use = f"board {verdict.face}", row.utilisation
            rows.append(_plain_row(told, what, "face", "solved again", load, row.load_factor, use, row))
    return rows


def _by_strength(told: Told) -> list[SureRow]:
    """All strengths of the piece weak or strong together; what the splitting length is computed from stays.

    So does what energy says: the lower of both is taken.
    """
    rows = []
    for where in ("5", "95"):
        again = judged_again(told.quick, partial(at_percent, where=where))
        uses = uses_of(again, told.growth.of, told.at)
        hand = {name: _tension(told.quick) / _tension(again) for name in told.hand}
        what = f"strength at {where} %"
        rows.append(_row(told, what, "strength", "judged again", uses, told.uses, hand, told.spare))
    return rows


def _tension(inspected: Inspected) -> float:
    """The strength that M/S is held against, MPa."""
    return min(look.wood.strengths["tension_along"].value for look in inspected.looks)


def _looked(told: Told, part: Part, woods: Mapping[str, Wood]) -> Uses:
    """A quick look at another part or wood on the same mesh, at the load that the part takes."""
    one, grown = told.judged.seen.inspected.inspection, told.quick.inspection.grown
    forces = told.judged.seen.forces
    stands, model, _ = prepared(part, one.outline, one.solution.model.mesh, woods, one.solution, forces)
    stands = scaled(stands, told.growth, told.at)
    solution = model.solve([case.factors for case in stands.cases])
    seen = inspect_part(stands, one.outline, woods, solution, grown=grown, quick=True, further=one.further)
    return uses_of(seen, told.growth.of, told.at)


def _by_grain(told: Told, what: str, by: float) -> list[SureRow]:
    """All grain of the part turned alike."""
    uses = _looked(told, turned(told.part, by), told.judged.woods)
    return [_row(told, what, "grain", "solved again", uses, told.uses)]


def _by_face(told: Told, face: str) -> list[SureRow]:
    """The other face of the board; none where the wood is the same on it."""
    woods = woods_of(told.part, face)
    if all(_alike(wood, told.judged.woods[name]) for name, wood in woods.items()):
        return []
    return [_row(told, f"board {face}", "face", "solved again", _looked(told, told.part, woods), told.uses)]


def _alike(one: Wood, other: Wood) -> bool:
    return one.plane == other.plane and one.fracture == other.fracture and one.strengths == other.strengths


def turned(part: Part, by: float) -> Part:
    """The part with the grain of all its wood turned counter-clockwise, deg; the shape stays."""
    wood = part.wood.model_copy(update={"grain": part.wood.grain + by})
    regions = tuple(
        one.model_copy(
            update={
                "grain": None if one.grain is None else one.grain + by,
                "wood": None if one.wood is None else one.wood.model_copy(update={"grain": one.wood.grain + by}),
            }
        )
        for one in part.regions
    )
    return part.model_copy(update={"wood": wood, "regions": regions})


def _by_place(told: Told, shifts: Sequence[Shift]) -> list[SureRow]:
    """Each load and strike a little along its edge: all places on one first mesh, a case each, as told among them."""
    part, woods, of = told.part, told.judged.woods, told.growth.of
    every, of_case = shifted(part, shifts)
    outline = part_outline(every)
    mesh = mesh_part(every, outline)
    near = {name: told.judged.seen.forces.get(case, 0.0) for name, (case, _) in of_case.items()}
    stands, model, _ = prepared(every, outline, mesh, woods, near={name: one for name, one in near.items() if one})
    at = {name: told.at[case] for name, (case, _) in of_case.items()}
    stands = scaled(stands, told.growth, at, {shift.name: shift.of for shift in shifts})
    solution, further = model.solve([case.factors for case in stands.cases]), told.quick.inspection.further
    inspected = inspect_part(stands, outline, woods, solution, quick=True, further=further)
    looks = uses_of(inspected, of, at)
    pulls = _pulls(inspected, of) if told.hand else {}
    before = {case: looks[case] for case in told.low}
    rows = []
    for shift in shifts:
        named = {case: name for name, (case, one) in of_case.items() if one is shift}
        stated = shift.name if shift.of == of else of
        uses = {case: looks[named.get(case, case)] for case in told.low}
        uses |= {case: replace(looks[name], size=_size(inspected, stated, name, at)) for case, name in named.items()}
        hand = {case: pulls[named.get(case, case)] / pulls[case] for case in told.hand if pulls.get(case)}
        how: How = "solved again on a first mesh"
        rows.append(_row(told, shift.what, "place", how, uses, before, hand))
    return rows


def _pulls(inspected: Inspected, of: str) -> dict[str, float]:
    """The greatest M/S + N/A of each case."""
    rows, _, _ = by_hand(inspected, of, inspected.loads, inspected.reactions)
    cases = {row.case for row in rows}
    return {case: max(row.sigma_pull for row in rows if row.case == case) for case in cases}


# ---- the chance of failure


def _deciding(told: Told) -> tuple[Look, int]:
    """Where what governs lies, and the number of its case."""
    inspected = told.judged.seen.inspected
    row = worst_deciding(told.verdict.modes, told.governing.case) or told.governing
    look = next((one for one in inspected.looks if row.region in one.inspection.regions), inspected.looks[0])
    return look, [case.name for case in inspected.inspection.part.cases].index(told.governing.case)


def _known(part: Part) -> set[str]:
    """Of what the part file says where the piece lies among such pieces."""
    choices = [part.wood, *(region.wood for region in part.regions if region.wood is not None)]
    return {name for choice in choices for name in choice.percentile}


def _chance_of(told: Told) -> tuple[Chance | None, str]:
    """The chance of failure, or why there is none."""
    verdict, takes = told.verdict, told.verdict.takes
    if verdict.basis == DESIGN:
        return None, "A design value is an agreed low figure with factors in it: it says nothing of chance."
    if not {"strength", "toughness"}.isdisjoint(_known(told.part)):
        return None, "The part file says where this piece lies among such pieces: it is one piece, without a chance."
    look, number = _deciding(told)
    if look.wood.graded is not None:
        return None, "No chance is stated for graded lumber: the scatter in the tables is that of clear wood."
    case = told.governing.case
    row = worst_deciding(verdict.modes, case) or told.governing
    shares = {} if told.spare == math.inf else strength_shares(look, look.fields[number], row.mode)
    if not (shares or told.by_energy) or case not in told.low or not takes.best or not takes.judged:
        return None, "What governs hangs on no strength whose scatter is known."
    strengths = strength_scatter(look.wood, shares)
    share = (ROOT if told.by_energy else _energy_share(told, look, row)) / told.slopes[case]
    energy = energy_scatter(look.wood, share, takes.judged, _energy_high(verdict), alone=told.by_energy)
    across = look.wood.splitting["tension_across"]
    middle = mean_of(across, verdict.basis) / across.value  # loads by energy go with this strength on the basis
    law = Spread(
        STRENGTHS_AT,
        tuple(takes.best * _lower(told, case, z, middle) for z in STRENGTHS_AT),
        0.0 if energy is None else energy.sigma,
    )
    acting = takes.judged / (told.governing.load_factor or 1.0)  # in the case that governs
    loads = law.load(0.05), law.load(0.5), law.load(0.95)
    scatter = strengths if energy is None or energy.sigma < NOTHING else (*strengths, energy)
    sigma = math.log(loads[2] / loads[0]) / (STRENGTHS_AT[2] - STRENGTHS_AT[0])
    own = _own(told, loads)
    found = Chance(takes.of, "lognormal", acting, law.chance(acting), *loads, sigma, scatter, law.curve(), own)
    return replace(found, by_size=_by_size(told, found)), ""


def _by_size(told: Told, chance: Chance) -> SizeChance | None:
    """The chance by the weakest link, where half of the pieces fail by it at less, and stress grows with the load."""
    rows = [row for row in told.verdict.size_effect if row.case == told.governing.case]
    found = size_chance(rows, told.judged.woods, chance.load) if told.growth.proportional else None
    return found if found is not None and found.half < chance.half else None


def _lower(told: Told, case: str, z: float, middle: float) -> float:
    """The lower of both loads with all strengths at a point of their spread, over that as told."""
    if told.spare is None:
        return _with_strengths(told, case, z)
    return middle if told.spare == math.inf else min(told.spare * _with_strengths(told, case, z), middle)


def _with_strengths(told: Told, case: str, z: float) -> float:
    """The load of a case with all strengths at a point of their spread, over that as told."""
    again = judged_again(told.quick, partial(at_point, z=z))
    mesh = uses_of(again, told.growth.of, told.at)[case].use / told.uses[case].use
    ratio, _ = _ratio(told, case, mesh, _tension(told.quick) / _tension(again))
    return max(_load(ratio, told.slopes[case]), LEAST)


def _energy_share(told: Told, look: Look, row: ModeRow) -> float:
    """By how many per cent the load falls for one per cent less of both energies, by a look at the same solution."""
    if row.mode in (SHEAR, TENSION_ALONG) or look.wood.fracture.split_length is not None:
        return 0.0
    again = uses_of(judged_again(told.quick, lambda wood: with_energies(wood, TOUGHER)), told.growth.of, told.at)
    before, after = told.uses[told.governing.case].use, again[told.governing.case].use
    return max(math.log(before / after) / math.log(TOUGHER), 0.0) if before > 0.0 and after > 0.0 else 0.0


def _own(told: Told, loads: tuple[float, float, float]) -> tuple[float, float, float] | None:
    """Loads in the quantity that the user gave a strike in; None where it is not a strike's."""
    takes: Takes = told.verdict.takes
    struck = next((one for one in told.judged.seen.strikes if one.strike.name == takes.of), None)
    if struck is None or takes.own is None:
        return None
    first, second, third = (struck.amount_at(one) for one in loads)
    return first, second, third
