"""Cracks driven through a part: the mesh opened further and further along a line of fibres, and what that sets free."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .errors import FesolveError
from .fem.crack import Release, Tip, closure, energy_release
from .fem.model import PlaneModel
from .fem.solution import Solution
from .judge.criteria import SplitStrength, split_utilisation
from .judge.fracture import (
    SHORT_SHARE,
    Curve,
    doubted,
    past_length,
    pressed_mean,
    signed_mean,
    spaced,
    start_of,
    trusted,
)
from .judge.growth import growth_of, size_of
from .judge.inspected import Inspected
from .judge.lasting import duration_factors
from .judge.of_wood import split_lengths
from .judge.rows_split import SplitRow, SplitStart
from .judge.verdict import SPLITTING, HotSpot, Verdict
from .judge.where import anchor_of, place_text
from .judge.zones import names_at
from .mesh.cracks import grain_at
from .mesh.generate import mesh_part
from .mesh.mesh import Mesh
from .mesh.mouths import Mouth, clear_of, line_of, mouth_near, wood_ahead, wood_beside
from .mesh.outline import Outline
from .mesh.splits import Opened, SplitLine, opened
from .modelling import model_of
from .part.model import Part
from .part.regions import BODY
from .wood.model import Wood
from .wood.orthotropic import OrthotropicPlane, stress_rotation

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Point = tuple[float, float]
Progress = Callable[[str], None]

LENGTHS = 10  # of the curve from the worst hot spot and from every crack
FEWER = 6  # from the other hot spots
NEEDED = 5  # where no more is wanted than what decides: from a hot spot, to
REACH = 2.0  # times the length of the mean, and
BEYOND = 1.1  # times that with high energies
FARTHEST, APART = 5.0, 0.25  # factor of a second look where some loads stay, and its least distance from 1
FIRST = 0.15  # shortest length over the length that the mean stress is taken over
GROWN = 1.02  # first length looked at, over that of a crack which is there already, after its own
LAST = 0.9  # longest length over the wood ahead
NEAR = 0.25  # of the length of the mean: a hot spot this near the surface starts there
AT_TIP = 1.0  # mm: a hot spot this near the tip of a crack is the crack's
ROOM = 3.0  # mm of wood ahead below which nothing is opened
OVERLAP = 1e-9  # of the greatest displacement: faces that overlap by more have to press on one another
STIFF = 1e5  # stiffness of what keeps faces apart, over that of a block of wood as deep as the crack is long
ROUNDS = 8  # until it is known which nodes of the faces press on one another
SAMPLES = 120  # along a line before it opens
CLEAR = 0.9  # of the distance to whatever is near a tip


@dataclass(frozen=True)
class _Mean:
    """The mean stress of a hot spot: its utilisation, its length (mm), whether the line is too short, and `longer`.

    That is the length with high energies.
    """

    use: float
    length: float
    short: bool
    longer: float


@dataclass(frozen=True)
class Asked:
    """A crack to be opened in one case: from a hot spot, or one that is there already, further.

    ``why`` says why nothing can be opened; ``mean`` is what the mean stress says there, where it says anything.
    ``assumed``: nobody said where it is; ``whole``: it is followed to near the end of the wood.
    """

    of: str
    case: str
    mouth: Mouth
    lengths: tuple[float, ...]
    existing: float
    inside: bool
    region: str
    mean: _Mean | None = None
    why: str = ""
    assumed: bool = False
    whole: bool = True

    @property
    def start(self) -> Point:
        """Where it starts: the mouth, or the tip of what is open already; where its place is assumed, the mouth."""
        (x, y), (along, up) = self.mouth.at, self.mouth.direction
        opened = 0.0 if self.assumed else self.existing
        return (x + opened * along, y + opened * up)


@dataclass(frozen=True)
class Studied:
    """A crack opened step by step: its curve, and the energy release rates behind it, one a length."""

    curve: Curve
    releases: tuple[Release, ...]
    closures: tuple[tuple[float, float], ...]


# ---- which cracks


def split_rows(inspected: Inspected, verdict: Verdict, say: Progress, *, whole: bool = True) -> tuple[SplitRow, ...]:
    """Splitting by energy, from every crack and every hot spot of a part that has been judged.

    Parameters
    ----------
    inspected : Inspected
    verdict : Verdict
        For its hot spots and loads.
    say : callable
        Told what is being done.
    whole : bool
        Whether to open all of them, to near the end of the wood. Else only what may decide and is known to beforehand:
        cracks that are there, and hot spots where the mean stress is doubted; each only as far as decides.
    """
    part, outline = inspected.inspection.part, inspected.inspection.outline
    asked = [*_from_cracks(inspected, verdict.hotspots), *_from_end_cracks(part, outline)]
    tips = [np.array(one.at(one.tips[-1])) for one in outline.splits]
    for spot in verdict.hotspots:
        if all(np.linalg.norm(tip - spot.at) > AT_TIP for tip in tips):
            off = np.linalg.norm(np.subtract(spot.at, verdict.hotspots[0].at))  # 0 in another case too
            asked.append(_from_hot_spot(inspected, spot, LENGTHS if off <= AT_TIP else FEWER))
    wanted = asked if whole else [_as_far_as_decides(one) for one in asked if _may_decide(outline, one)]
    return tuple(_row(inspected, verdict, one, say) for one in wanted)


def _may_decide(outline: Outline, asked: Asked) -> bool:
    """Whether energy decides whatever it says: the crack is there, or the mean stress is doubted beforehand."""
    return not (asked.why or asked.assumed) and (asked.existing > 0.0 or bool(_doubt(outline, asked)))


def _as_far_as_decides(asked: Asked) -> Asked:
    """A crack that is there as it is; one that has yet to start over lengths about that of the mean."""
    if asked.mean is None or asked.existing > 0.0:
        return replace(asked, lengths=asked.lengths[:1], whole=False)
    last = min(asked.lengths[-1], max(REACH * asked.mean.length, BEYOND * asked.mean.longer))
    return replace(asked, lengths=spaced(asked.lengths[0], last, NEEDED), whole=False)


def _doubt(outline: Outline, asked: Asked) -> str:
    """Why the mean stress is not to be trusted there with high energies; empty where it is, or where there is none.

    These ask for the longer mean: where it is to be trusted, that with low ones is, too.
    """
    if asked.mean is None:
        return ""
    longer = asked.mean.longer
    return doubted(*_room(outline, asked, longer), short=asked.mean.short or longer > asked.mouth.ahead)


def _room(outline: Outline, asked: Asked, length: float) -> tuple[float, float, float]:
    """Length of a mean, and wood ahead of the tip and beside the middle of that length, mm."""
    middle = np.add(asked.mouth.at, np.multiply(asked.existing + 0.5 * length, asked.mouth.direction))
    beside = wood_beside(outline, (float(middle[0]), float(middle[1])), asked.mouth.direction)
    return length, asked.mouth.ahead - asked.existing, beside


def _mean(spot: HotSpot, wood: Wood) -> _Mean:
    low, high = (float(one.exact(np.array(spot.mean_s90), np.array(spot.mean_tau))) for one in split_lengths(wood))
    return _Mean(spot.utilisation, spot.mean_length, spot.short_line, spot.mean_length * high / low)


def _from_hot_spot(inspected: Inspected, spot: HotSpot, count: int) -> Asked:
    part, outline = inspected.inspection.part, inspected.inspection.outline
    of, region = f"hot spot {spot.rank}", spot.region or BODY
    mean = _mean(spot, inspected.woods[region])
    angle = math.radians(grain_at(part, spot.at))
    sense = 1.0 if np.dot(np.subtract(spot.exits_at, spot.at), (math.cos(angle), math.sin(angle))) >= 0 else -1.0
    direction = (sense * math.cos(angle), sense * math.sin(angle))
    mouth = mouth_near(outline, spot.at, direction, max(AT_TIP, NEAR * spot.mean_length))
    if not isinstance(mouth, str) and mouth.ahead < ROOM:
        mouth = f"only {mouth.ahead:.2g} mm of wood lie ahead of it"
    if isinstance(mouth, str):
        return Asked(of, spot.case, Mouth(spot.at, direction, 0.0), (), 0.0, False, region, mean, mouth)
    first = min(FIRST * spot.mean_length, 0.3 * mouth.ahead)
    lengths = spaced(first, LAST * mouth.ahead, count)
    return Asked(of, spot.case, mouth, lengths, 0.0, False, region, mean)


def _from_cracks(inspected: Inspected, spots: tuple[HotSpot, ...]) -> Iterator[Asked]:
    """Each crack in each case; one inside the wood from both tips."""
    part, outline = inspected.inspection.part, inspected.inspection.outline
    lines = {one.name: one for one in outline.splits}
    for crack in part.cracks:
        line = lines[crack.name]
        length, (x, y) = line.tips[-1], line.direction
        ends = [("", line.start, line.direction)]
        if line.inside:
            ends = [(", far tip", line.start, (x, y)), (", near tip", line.at(length), (-x, -y))]
        for word, start, direction in ends:
            ahead = wood_ahead(outline, start, direction)
            tip = np.add(start, np.multiply(length, direction))
            lengths = (length, *spaced(GROWN * length, max(LAST * ahead, 1.05 * GROWN * length), LENGTHS - 1))
            (region,) = names_at(part, tip[None])
            for case in part.cases:
                near = [s for s in spots if s.case == case.name and np.linalg.norm(tip - s.at) <= AT_TIP]
                mean = _mean(near[0], inspected.woods[region]) if near else None
                of = f"crack {crack.name}{word}"
                yield Asked(of, case.name, Mouth(start, direction, ahead), lengths, length, line.inside, region, mean)


def _from_end_cracks(part: Part, outline: Outline) -> Iterator[Asked]:
    """An end crack that was seen, whose place nobody said: in the middle of the depth at both ends of the fibres."""
    length = next((one.size for one in part.wood.seen if one.kind == "end crack"), None)
    if length is None or part.cracks:  # one that is drawn is where it is
        return
    for start, direction in _ends(part, outline):
        place = f"at {round(start[0], 3) + 0.0:g}, {round(start[1], 3) + 0.0:g} mm"
        (region,) = names_at(part, np.add(start, np.multiply(1e-3, direction))[None])
        mouth = mouth_near(outline, start, direction, AT_TIP)
        why = mouth if isinstance(mouth, str) else ""
        if not isinstance(mouth, str) and length > LAST * mouth.ahead:
            why = f"a crack of {length:.4g} mm leaves too little of the {mouth.ahead:.4g} mm of wood ahead"
        found = Mouth(start, direction, 0.0) if isinstance(mouth, str) else mouth
        lengths = (length, *spaced(GROWN * length, max(LAST * found.ahead, 1.05 * GROWN * length), FEWER - 1))
        for case in part.cases:
            of = f"end crack as seen, {place}"
            yield Asked(of, case.name, found, () if why else lengths, length, False, region, None, why, assumed=True)


def _ends(part: Part, outline: Outline) -> list[tuple[Point, Point]]:
    """Where the grain line in the middle of the depth enters and leaves the wood, each with the way into the wood."""
    angle = math.radians(part.wood.grain)
    along, across = np.array([math.cos(angle), math.sin(angle)]), np.array([-math.sin(angle), math.cos(angle)])
    corners = np.array([curve.start for curve in outline.loops[0]])
    heights, reach = corners @ across, corners @ along
    middle = (heights.min() + heights.max()) / 2 * across
    first, last = (tuple((middle + r * along).tolist()) for r in (reach.min() - 1.0, reach.max() + 1.0))
    pieces = outline.clip_line(first, last)
    if not pieces:
        return []
    at = [np.add(first, s * np.subtract(last, first)) for s in (pieces[0][0], pieces[-1][1])]
    ways = (along, -along)
    return [((float(p[0]), float(p[1])), (float(w[0]), float(w[1]))) for p, w in zip(at, ways, strict=True)]


# ---- opening one


def study(inspected: Inspected, asked: Asked, loads: Sequence[Mapping[str, float]]) -> list[Studied]:
    """Open a part along a line, length by length, under each of some sets of factors on its loads.

    Raises
    ------
    FesolveError
        If no mesh could be made along it, or a solution fails.
    """
    one = inspected.inspection
    part, outline = _without(one.part, one.outline, asked)
    line = line_of(outline, "opened", asked.mouth, asked.lengths, inside=asked.inside, most=part.mesh.size)
    drawn = outline.with_splits([line])
    mesh = mesh_part(part, drawn)
    softer = _softer(inspected.woods[asked.region])
    releases: list[list[Release]] = [[] for _ in loads]
    closures: list[list[tuple[float, float]]] = [[] for _ in loads]
    closed = [np.zeros(0, dtype=bool) for _ in loads]
    for number, length in enumerate(line.tips):  # one opened model at a time: each holds its factorisation
        part_open = opened(mesh, line, number)
        model = model_of(part, part_open.mesh, inspected.woods)
        tip = Tip(line.at(length), line.direction, CLEAR * _clear(drawn, line, length))
        last = part_open.left[[-2, -1]], part_open.right[[-2, -1]]
        for which, factors in enumerate(loads):
            solution, closed[which] = _solved(model, part_open, line, factors, closed[which])
            releases[which].append(_as_of_clear_wood(energy_release(solution, tip), softer))
            opening, sliding = closure(solution, tip, last)
            closures[which].append((opening * softer[0], sliding * softer[1]))
    return [
        Studied(_curve(inspected, asked, part, mesh, line, factors, one), tuple(one), tuple(shut))
        for factors, one, shut in zip(loads, releases, closures, strict=True)
    ]


def _softer(wood: Wood) -> tuple[float, float]:
    """Stiffness at a crack of the wood as used over that of its clear wood, opening and sliding.

    A toughness K_c is what was measured, and the energies are those of clear wood, G_c = K_c^2/E'. A grade's lower
    stiffness sets more energy free at the same K, which is no reason to split sooner.
    """
    used, clear = wood.plane.crack_stiffness(), wood.clear_plane.crack_stiffness()
    return used[0] / clear[0], used[1] / clear[1]


def _as_of_clear_wood(one: Release, softer: tuple[float, float]) -> Release:
    opening, sliding = one.opening * softer[0], one.sliding * softer[1]
    return replace(one, opening=opening, sliding=sliding, total=opening + sliding)


def _without(part: Part, outline: Outline, asked: Asked) -> tuple[Part, Outline]:
    """The part without the crack that is to be opened itself."""
    if asked.existing == 0.0:
        return part, outline
    name = asked.of.removeprefix("crack ").partition(",")[0]
    cracks = tuple(crack for crack in part.cracks if crack.name != name)
    splits = tuple(line for line in outline.splits if line.name != name)
    return part.model_copy(update={"cracks": cracks}), replace(outline, splits=splits)


def _clear(outline: Outline, line: SplitLine, length: float) -> float:
    """Distance from a tip to the nearest surface, border or other end of its crack, mm."""
    return min(clear_of(outline, line.at(length)), length)


def _solved(
    model: PlaneModel, part_open: Opened, line: SplitLine, factors: Mapping[str, float], closed: Flags
) -> tuple[Solution, Flags]:
    """The opened part; its faces press on one another through stiff springs where they would overlap.

    Parameters
    ----------
    closed : (j,) bool array
        Which of the first j pairs of nodes press on one another at the length before; a good first guess.

    Raises
    ------
    SolveError
        If the part cannot be solved.
    """
    left, right = part_open.left, part_open.right
    x, y = line.direction
    weakest = min(plane.E_90 for plane in _planes(model))
    stiffness = STIFF * weakest * float(model.cell_thickness.mean()) / len(left)
    guess = np.full(len(left), bool(closed[-1]) if len(closed) else False)
    guess[: len(closed)] = closed
    for _ in range(ROUNDS):
        held = model.pressed(left[guess], right[guess], line.direction, stiffness) if guess.any() else model
        solution = held.solve([factors])
        moved = solution.displacement[0]
        gap = (moved[left] - moved[right]) @ np.array([-y, x])
        after = np.where(guess, gap < 0.0, gap < -OVERLAP * np.abs(moved).max())
        if (after == guess).all():
            return solution, guess
        guess = after
    # which nodes press keeps changing: contact proper settles it, at several times the cost
    exact = model.faces(left, right, line.direction, name=f"crack {line.name}").solve([factors])
    return exact, exact.contact(f"crack {line.name}").touching


def _planes(model: PlaneModel) -> list[OrthotropicPlane]:
    material = model.material
    return list(material.values()) if isinstance(material, Mapping) else [material]


def _curve(
    inspected: Inspected,
    asked: Asked,
    part: Part,
    mesh: Mesh,
    line: SplitLine,
    factors: Mapping[str, float],
    releases: list[Release],
) -> Curve:
    """The curve, with the means of stress along the line before it opens where no crack is there yet."""
    lengths = np.array(line.tips)
    along = np.geomspace(lengths[0] / 8, lengths[-1], SAMPLES)
    across = shear = np.zeros(SAMPLES)
    if asked.existing == 0.0:
        solution = model_of(part, mesh, inspected.woods).solve([factors])
        places = np.add(line.start, along[:, None] * np.array(line.direction))
        angle = math.degrees(math.atan2(line.direction[1], line.direction[0]))
        stress = solution.stress_at(places, 0) @ stress_rotation(angle).T
        across, shear = pressed_mean(stress[:, 1], along), signed_mean(stress[:, 2], along)
    opening, sliding = (np.array([getattr(one, name) for one in releases]) for name in ("opening", "sliding"))
    return Curve(lengths, opening, sliding, asked.mouth.ahead, asked.existing, along, across, shear)


# ---- rows


def _row(inspected: Inspected, verdict: Verdict, asked: Asked, say: Progress) -> SplitRow:
    part, outline = inspected.inspection.part, inspected.inspection.outline
    start = asked.start
    anchor = anchor_of(outline, part, np.array(start))
    where = place_text(np.array(start), anchor, asked.region)
    row = SplitRow(
        asked.of, asked.case, start, where, asked.mouth.direction, asked.mouth.ahead, asked.existing,
        (), (), (), (), (), None, None, None, "", asked.why, asked.region, 0.0, asked.assumed, asked.whole, anchor,
    )  # fmt: skip
    growth, lasts = growth_of(part, inspected.inspection.solution), duration_factors(part)[asked.case].of(SPLITTING)
    factors = next(case.factors for case in part.cases if case.name == asked.case)
    scale = _Scale(
        size_of(growth.of, verdict.loads, asked.case) or 1.0, 0.0 if growth.proportional else _further(verdict, asked)
    )
    if asked.mean is not None and asked.mean.use > 0.0:
        row = replace(row, mean_load=scale.size / asked.mean.use)
    if asked.why:
        return row
    say(f"opening a crack from {asked.of}")
    try:
        sets = [factors, growth.scaled(factors, scale.at)] if scale.at else [factors]
        found = study(inspected, asked, sets)
    except FesolveError as error:
        return replace(row, why=f"it could not be opened: {error.message}")
    wood, curves = inspected.woods[asked.region], [one.curve for one in found]
    basis = lasts * wood.splitting["tension_across"].value / wood.splitting["tension_across"].mean
    low, high = (_start(curves, wood, end, basis, length, scale) for end, length in enumerate(_past(asked)))
    if not asked.whole:
        low, high = (replace(one, runs_at=None, stops_at=None) for one in (low, high))
    curve, closures = curves[0], np.array(found[0].closures)
    row = replace(
        row,
        low=low,
        high=high,
        reference=scale.size * basis,
        lengths=_floats(curve.lengths),
        opening=_floats(curve.opening),
        sliding=_floats(curve.sliding),
        closure_opening=_floats(closures[:, 0]),
        closure_sliding=_floats(closures[:, 1]),
    )
    if asked.mean is None or row.mean_load is None or not low.use:
        return replace(row, why="" if low.load else "no load drives it open or sliding")
    which, why = trusted(
        1.0 / asked.mean.use, 1.0 / low.use, *_room(outline, asked, asked.mean.length), short=asked.mean.short
    )
    row = replace(row, trusted=which, why=why)
    return row if asked.existing > 0.0 else _by_mean(row, outline, asked, asked.mean, curves, wood, scale)


def _past(asked: Asked) -> tuple[float, float]:
    """Lengths that a crack has to get past to count as a split, with low and with high energies, mm.

    A mean over more than a third of the wood ahead says nothing of how far; what is there has only to go on.
    """
    if asked.mean is None or asked.existing > 0.0:
        return 0.0, 0.0
    third = SHORT_SHARE * asked.mouth.ahead
    return min(asked.mean.length, third), min(asked.mean.longer, third)


class _Scale(NamedTuple):
    """How a share that is used becomes a load that is taken: of the load stated in the case.

    ``at`` is the factor on the loads that grow of a second look, 0 where everything grows and one look is enough.
    """

    size: float
    at: float

    def load(self, uses: Sequence[float]) -> float | None:
        """The load at which a share reaches 1, of what is used at the loads as given and at the second look.

        Stress and its intensity are linear in the loads, so the root of an energy release rate is, of one mode and
        without contact; between and near both looks also otherwise.
        """
        if max(uses) <= 0.0:
            return None
        if not self.at:
            return self.size / uses[0]
        slope = (uses[1] - uses[0]) / (self.at - 1.0)
        if slope <= 0.0:  # the more of it, the less is used
            return None if uses[0] < 1.0 else 0.0
        return self.size * max(1.0 + (1.0 - uses[0]) / slope, 0.0)


def _further(verdict: Verdict, asked: Asked) -> float:
    """A factor on the loads that grow, away from 1, near which the crack may start."""
    governing, use = verdict.governing, 0.0 if asked.mean is None else asked.mean.use
    factor = 1.0 / use if use > 0.0 else 1.5
    if governing is not None and governing.case == asked.case and governing.load_factor:
        factor = governing.load_factor
    factor = min(max(factor, 1.0 / FARTHEST), FARTHEST)
    return factor if abs(factor - 1.0) >= APART else 1.0 + APART


def _by_mean(
    row: SplitRow, outline: Outline, asked: Asked, mean: _Mean, curves: Sequence[Curve], wood: Wood, scale: _Scale
) -> SplitRow:
    """What the mean stress says with low and with high energies, and which is trusted with high ones.

    With these the mean goes over a longer length of the line, before it opens.
    """
    lengths, uses = np.array([mean.length, mean.longer]), []
    for one in curves:
        across, shear = (np.interp(lengths, one.mean_lengths, values) for values in (one.mean_across, one.mean_shear))
        uses.append(split_utilisation(across, shear, _mean_strength(wood)))
    if uses[0].min() <= 0.0 or row.high is None or not row.high.use:
        return replace(row, trusted_high=row.trusted)
    low, high = (scale.load([mean.use * float(one[end] / uses[0][0]) for one in uses]) for end in (0, 1))
    use, short = mean.use * float(uses[0][1] / uses[0][0]), mean.short or mean.longer > asked.mouth.ahead
    which, _ = trusted(1.0 / use, 1.0 / row.high.use, *_room(outline, asked, mean.longer), short=short)
    return replace(row, mean_load=low, mean_high=high, trusted_high=which)


def _mean_strength(wood: Wood) -> SplitStrength:
    f = wood.strengths
    return SplitStrength(f["shear"].mean, f["tension_across"].mean, f["compression_across"].mean)


def _floats(values: Array) -> tuple[float, ...]:
    return tuple(float(x) for x in values)


def _start(curves: Sequence[Curve], wood: Wood, end: int, basis: float, length: float, scale: _Scale) -> SplitStart:
    """What one end of the energies says; `basis` is the strength used over the mean, `length` (mm) that of the mean."""
    end = 0 if wood.fracture.split_length is not None else end  # there is no band then
    energy = (wood.fracture.G_Ic[end], wood.fracture.G_IIc[end])
    starts = [start_of(one, energy, _mean_strength(wood)) for one in curves]
    past = [past_length(one, start, energy, length) for one, start in zip(curves, starts, strict=True)]
    load, runs_at, drives = (
        scale.load([1.0 / (basis * one) for one in factors])
        for factors in ([one.factor for one in starts], [one.runs_at for one in starts], past)
    )
    first = starts[0]
    return SplitStart(*energy, load, first.length, runs_at, first.stops_at, drives, 1.0 / (basis * past[0]))
