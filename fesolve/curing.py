"""What to change where a part does not hold, best first.

Every change is looked at quickly first, as "how sure" does: one coarse sweep for splits on an unrefined mesh, with
strikes by the balance of energy, against the same look at the part as told. The best few are then checked in full,
and only those are told with figures.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from .bases import DESIGN, MEAN
from .certainty import Judged
from .errors import FesolveError
from .judge.growth import worst_deciding
from .judge.inspected import inspect_part
from .judge.lasting import duration_factors
from .judge.outcome import outcome_of
from .judge.rows_cures import CureRow, Cures, LookedRow
from .judge.taking import breaking, by_hand
from .judge.verdict import Verdict
from .mesh.generate import mesh_part
from .mesh.mesh import Mesh
from .mesh.outline import part_outline
from .modelling import woods_of
from .otherwise import Progress, solved
from .part.cures import (
    Change,
    Varied,
    of_species,
    padded,
    rounder,
    slower,
    thicker,
    turned_grain,
    varied_dimensions,
)
from .part.model import Part
from .wood import tables
from .wood.model import Wood

Check = Callable[[Part], Verdict]
Uses = Mapping[str, float]  # by case

BEST = 4  # changes that are checked in full, the thickness beside
STRUCK = 2  # of them in a part that is struck: each is followed through time
MORE = 8  # of them where cures are asked for
WORTH = 1.02  # a gain below that is none
IDLE = 0.01  # of the load: a dimension that changes less, up and down, is idle
MOST = 3.0  # times the thickness: beyond that it is no cure
TOUGHER = 1.1  # of the energy in opening: woods with less than so many times as much are no tougher
WOODS = 3
TRIES = 3  # thicknesses that are checked until one is enough
NO_HELP = "more of it does not help"
HAND = "M/S"  # with this the note of a row begins that rests on the hand calculation


def wants_cures(verdict: Verdict, *, holds: bool) -> bool:
    """Whether a verdict ends with cures: where the part does not hold.

    On the basis "mean" nothing is said to hold; there where less than the margin is in hand or the answer is not clear.
    """
    governing = verdict.governing
    if governing is None or not governing.load_factor:
        return False
    if verdict.basis == MEAN:
        return governing.load_factor < verdict.margin or verdict.sure not in (None, "clear")
    return not holds


def cures_of(part: Part, judged: Judged, check: Check, say: Progress, *, every: bool) -> Cures | None:
    """Changes that make a part take more, checked and ranked.

    Parameters
    ----------
    part : Part
        As it was read.
    judged : Judged
        As it is told.
    check : callable
        Gives the verdict of a changed part.
    say : callable
        Told what is being done.
    every : bool
        Whether to check more of them.

    Returns
    -------
    Cures or None
        None where nothing loads the part.
    """
    verdict = judged.assessment.verdict
    governing = verdict.governing
    if governing is None or not governing.load_factor:
        return None
    told = _Told(part, judged, governing.load_factor, check, say)
    dimensions = varied_dimensions(part) if part.shape is None else []  # on a mesh of the user's nothing is redrawn
    candidates = [*_changes(told), *_of_dimensions(told, dimensions)]
    most = MORE if every else STRUCK if part.strikes else BEST
    rows, failed = _checked(told, _worth(candidates)[:most])
    thickness, no_thickness = _thickness(told)
    tried = {one.what for one in rows} | {one.what for one in failed}
    rest = [one for one in candidates if one.what not in tried]
    return Cures(
        aim=told.aim,
        rows=tuple(sorted((*rows, *thickness), key=lambda row: -row.load_factor)),
        looked=tuple(sorted((*rest, *failed, *no_thickness), key=_gain)),
        idle=tuple(pair[0].name for pair in dimensions if _idle(pair, candidates)),
        loads=tuple(pair[0].name for pair in dimensions if "load" in {one.kind for one in pair}),
    )


def _worth(looked: Sequence[LookedRow]) -> list[LookedRow]:
    """Those that help, best first, but of all woods only the best; the others come last."""
    helps = sorted((one for one in looked if one.gain is not None and one.gain >= WORTH), key=_gain)
    woods = [one for one in helps if one.group == "wood"]
    return [*(one for one in helps if one not in woods[1:]), *woods[1:]]


def _gain(row: LookedRow) -> float:
    return math.inf if row.gain is None else -row.gain


@dataclass(frozen=True)
class _Told:
    """What changes are measured against."""

    part: Part
    judged: Judged
    load_factor: float
    check: Check
    say: Progress

    @property
    def verdict(self) -> Verdict:
        """As it was told."""
        return self.judged.assessment.verdict

    @property
    def aim(self) -> float:
        """The load factor that is wanted."""
        return 1.0 if self.verdict.basis == DESIGN else self.verdict.margin

    @property
    def mesh(self) -> Mesh:
        """The one that the verdict rests on."""
        return self.judged.seen.inspected.inspection.solution.model.mesh

    @cached_property
    def first(self) -> Uses:
        """A look at the part as told on its first mesh."""
        return self.here if self.verdict.mesh.rounds == 1 else self.look(self.part, None)

    @cached_property
    def here(self) -> Uses:
        """A look at the part as told on the mesh of the verdict."""
        return self.look(self.part, self.mesh)

    @property
    def hand(self) -> bool:
        """Whether the hand calculation decides."""
        governing = self.verdict.governing
        return governing is not None and governing.note.startswith(HAND)

    def look(self, part: Part, mesh: Mesh | None) -> Uses:
        """The worst utilisation of each case by a quick look, on a mesh or on a new first one."""
        part = self._placed(part)
        outline = part_outline(part)
        face = self.verdict.face if part.wood.board == "unknown" else part.wood.board
        wood = woods_of(part, face)
        mesh = mesh or mesh_part(part, outline)
        stands, solution, _ = solved(part, outline, mesh, wood, near=self.judged.seen.forces or None)
        further = self.judged.seen.inspected.inspection.further
        inspected = inspect_part(stands, outline, wood, solution, quick=True, further=further)
        hand = by_hand(inspected, self.verdict.takes.of, inspected.loads, inspected.reactions)[0] if self.hand else ()
        rows = breaking(inspected.looks, hand, duration_factors(stands))
        worst = {case.name: worst_deciding(rows, case.name) for case in stands.cases}
        return {name: 0.0 if row is None else row.utilisation for name, row in worst.items()}

    def _placed(self, part: Part) -> Part:
        """Loads that may sit anywhere where they were worst as told."""
        starts = {row.name: row.start for row in self.verdict.moving}
        loads = tuple(one.moved(starts[one.name]) if one.name in starts else one for one in part.loads)
        strikes = tuple(one.moved(starts[one.name]) if one.name in starts else one for one in part.strikes)
        return part.model_copy(update={"loads": loads, "strikes": strikes})

    def gain(self, uses: Uses, before: Uses) -> float:
        """About the load factor over that as told: of all cases, each as much worse or better as its look is."""
        factors = self.judged.assessment.low_factors
        cases = [case.name for case in self.judged.seen.inspected.inspection.part.cases]
        found = [
            factor * before[name] / use
            for name, factor in zip(cases, factors, strict=True)
            if factor is not None and (use := uses.get(name, 0.0)) > 0.0
        ]
        return min(found, default=math.inf) / self.load_factor


# ---- looks


def _changes(told: _Told) -> list[LookedRow]:
    """All that is no dimension and no thickness, looked at."""
    part = told.part
    found = [_looked(told, change, told.mesh) for change in turned_grain(part)]
    found += [_looked(told, change, told.mesh) for change in _tougher(told)]
    found += [_looked(told, change, told.mesh) for change in (*slower(part), *_pads(told))]
    return found + [_looked(told, change, None) for change in (rounder(part) if part.shape is None else ())]


def _looked(told: _Told, change: Change, mesh: Mesh | None, part: Part | None = None) -> LookedRow:
    """One change looked at on a mesh of the part as told, or on a new one."""
    told.say(f"cures: {change.what}")
    before = told.first if mesh is None else told.here
    try:
        gain = told.gain(told.look(part or told.part.with_(change.changes), mesh), before)
    except FesolveError as error:
        return LookedRow(change.what, change.group, change.changes, None, error.message)
    return LookedRow(change.what, change.group, change.changes, gain)


def _of_dimensions(told: _Told, pairs: Sequence[tuple[Varied, Varied]]) -> list[LookedRow]:
    """Dimensions of the part, down and up."""
    found = []
    for one in (varied for pair in pairs for varied in pair):
        if one.part is None:
            found.append(LookedRow(one.change.what, "dimension", one.change.changes, None, one.why))
        elif one.kind == "part":
            found.append(_looked(told, one.change, None, one.part))
    return found


def _idle(pair: tuple[Varied, Varied], looked: Sequence[LookedRow]) -> bool:
    """Whether a dimension changes next to nothing, up and down."""
    if "load" in {one.kind for one in pair}:
        return False
    gains = {row.what: row.gain for row in looked}
    mine = [1.0 if one.kind == "nothing" else gains.get(one.change.what) for one in pair]
    return all(gain is not None and abs(gain - 1.0) < IDLE for gain in mine)


def _tougher(told: _Told) -> list[Change]:
    """The next tougher species that the tables know as well, of a part that names a species and nothing of its own."""
    wood = told.part.wood
    if wood.species is None or wood.elastic or wood.strength or wood.fracture or wood.grade or wood.strength_class:
        return []
    if wood.split_length is not None:
        return []
    mine = told.judged.woods["part"]
    least = TOUGHER * mine.fracture.G_Ic[0]
    tougher = []
    for name in tables.species():
        other = None if name == mine.name else _of(told, name)
        if other is not None and other.fracture.G_Ic[0] >= least:
            tougher.append((other.fracture.G_Ic[0], -other.strengths["tension_across"].value, name))
    return [of_species(told.part, name) for _, _, name in sorted(tougher)[:WOODS]]


def _of(told: _Told, name: str) -> Wood | None:
    """The wood of another species; None where the tables have not all of it."""
    if tables.elastic_row(name) is None:
        return None
    part = told.part.model_copy(update={"wood": told.part.wood.model_copy(update={"species": name}), "regions": ()})
    try:
        return woods_of(part, told.verdict.face)["part"]
    except FesolveError:
        return None


def _pads(told: _Told) -> list[Change]:
    """A pad for each strike, soft enough for what the part takes with the load factor that is wanted.

    The pad takes what the striker brings beyond what the rest of the row takes at that force F: with the push P,
    F^2 / (2 k) = (E - E_row(F)) + P F / k.
    """
    found = []
    numbers = {one.name: number for number, one in enumerate(told.part.strikes, start=1)}
    for one in told.judged.seen.strikes:
        force = min(told.load_factor / told.aim, 2.0 / 3.0) * one.force
        left = one.blow.energy - one.energy_at(force)
        stiffness = force * (0.5 * force - one.blow.push) / left if left > 0.0 else 0.0
        number = numbers.get(one.strike.name)
        if stiffness > 0.0 and number is not None:
            found.append(padded(told.part, number, _round_down(stiffness)))
    return list({change.what: change for change in found}.values())


def _round_down(value: float) -> float:
    """To two digits."""
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return math.floor(value / step + 1e-9) * step


# ---- checks


def _checked(told: _Told, looked: Sequence[LookedRow]) -> tuple[list[CureRow], list[LookedRow]]:
    """Those that do help, checked in full; and those that cannot be, or do not."""
    rows: list[CureRow] = []
    failed: list[LookedRow] = []
    for one in looked:
        told.say(f"cures: checking {one.what}")
        try:
            row = _row(told, Change(one.what, one.group, one.changes))
        except FesolveError as error:
            failed.append(LookedRow(one.what, one.group, one.changes, None, error.message))
            continue
        if row.gain >= WORTH:
            rows.append(row)
        else:
            failed.append(LookedRow(one.what, one.group, one.changes, row.gain))
    return rows, failed


def _row(told: _Told, change: Change) -> CureRow:
    verdict = told.check(told.part.with_(change.changes))
    outcome, takes, governing = outcome_of(verdict), verdict.takes, verdict.governing
    factor = governing.load_factor if governing is not None and governing.load_factor else math.inf
    return CureRow(
        what=change.what,
        group=change.group,
        changes=change.changes,
        takes=takes.low if takes.judged is None else takes.judged,
        own=None if takes.own is None else takes.own[1],
        load_factor=factor,
        utilisation=outcome.utilisation,
        gain=factor / told.load_factor,
        enough=factor >= told.aim,
        mode=outcome.mode,
        where=outcome.where,
        mass=outcome.mass,
    )


def _thickness(told: _Told) -> tuple[list[CureRow], list[LookedRow]]:
    """The thickness at which the load factor that is wanted is reached, checked; none where it is reached already.

    What a plane part that stands still takes is proportional to the thickness; so is a load by its area or weight, and
    then it helps nothing. A struck one gets stiffer, too, and is struck harder: of an elastic bar with the root of its
    stiffness. The next try follows the power law so far.
    """
    now = told.part.wood.thickness
    if told.load_factor >= told.aim:
        return [], []
    row, power, thickness = None, 0.5 if told.part.strikes else 1.0, now
    for _ in range(TRIES):
        factor = told.load_factor if row is None else row.load_factor
        thickness = _round_up(thickness * (told.aim / factor) ** (1.0 / power))
        if thickness > MOST * now:
            why = f"more than {MOST:g} times the thickness would be needed"
            return [], [LookedRow("thickness", "thickness", {}, None, why)]
        change = thicker(told.part, thickness)
        told.say(f"cures: checking {change.what}")
        try:
            row = _row(told, change)
        except FesolveError as error:
            return [], [LookedRow(change.what, "thickness", change.changes, None, error.message)]
        if row.gain < WORTH:
            return [], [LookedRow("thickness", "thickness", {}, row.gain, NO_HELP)]
        if row.enough:
            break
        power = max(math.log(row.gain) / math.log(thickness / now), 0.2)
    assert row is not None
    return [row], []


def _round_up(thickness: float) -> float:
    """To half a millimetre below 20 mm, else to a whole one."""
    step = 0.5 if thickness < 20.0 else 1.0
    return math.ceil(thickness / step - 1e-6) * step
