"""What timber codes have formulas for in a part: notches at bearings, pins, bearings; beside the mesh's answer.

They are evaluated with the strengths of the basis, so on clear wood they are the codes' formulas and no code check.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..bases import DESIGN
from ..part.model import Notch, Part
from ..part.regions import BODY as REST
from ..wood import tables
from ..wood.bearing import hankinson
from ..wood.case_factors import CaseFactors
from ..wood.model import ALLOWABLE, LIMIT
from . import code_formulas as codes
from .hand import Sheet
from .member import SMALL, Cut, Member
from .patches import Patch
from .proportions import NEARLY_ALONG, SAME, reach
from .rows_hand import CodeRow
from .section import pin_split_shear
from .summary import ALONG_ENOUGH, Push, on_holes, one_wood
from .verdict import BesideRow, Governing, HotSpot, Takes
from .where import distance_to_hole
from .zones import names_at

FloatArray = NDArray[np.float64]
STRAIGHT = 10.0  # deg, own choice: grain that slopes more to an edge is not what the formulas are for
ACROSS = 45.0  # deg to the grain from which a bearing counts as one across it (own choice)
UNEVEN = 0.25
LEAST = 1e-3  # of the greatest action: a shear force below this is none
HAIR = 1e-3  # mm


class Found(NamedTuple):
    """A formula at a place in one case: its name in the table, place in words, what acts and what it allows (N)."""

    name: str
    place: str
    load: float
    resistance: float
    note: str
    near: Sequence[HotSpot | BesideRow]  # what the mesh has at the same place, worst first


@dataclass(frozen=True)
class CodeCase:
    """One case, as the codes' formulas need it.

    Parameters
    ----------
    sheet : Sheet
        The hand calculation's, for N, V and M.
    actions : sequence of (Patch, (2,) array)
        Every patch with the force on the wood there, N.
    factors : CaseFactors
        What the case leaves of the strengths.
    size : float
        The load that the verdict's answer is stated in, N; 1 where all grow together.
    spots, beside : sequences of rows
        Of this case.
    """

    sheet: Sheet
    actions: Sequence[tuple[Patch, FloatArray]]
    factors: CaseFactors
    size: float
    spots: Sequence[HotSpot]
    beside: Sequence[BesideRow]

    @property
    def member(self) -> Member:
        """The part as a member."""
        return self.sheet.member

    @property
    def kept(self) -> float:
        """What is left of strengths; those across the grain under pressure have their own."""
        return self.factors.strength

    def strength(self, region: str, name: str) -> float:
        """A strength that is left in this case, MPa; in shear without k_cr, which formulas for notches do without."""
        wood = self.sheet.makeup.wood(region)
        sound = wood.splitting if name == "shear" and wood.family == LIMIT else wood.strengths
        return sound[name].value * (self.factors.pressed if name == "compression_across" else self.kept)

    def spots_near(self, near: Sequence[float], within: float) -> list[HotSpot]:
        """Hot spots within a distance (mm) of a point (2,)."""
        return [spot for spot in self.spots if np.hypot(*np.subtract(spot.at, near)) <= within]


def code_rows(
    cases: Sequence[CodeCase], governing: Governing | None, takes: Takes, basis: str
) -> tuple[tuple[CodeRow, ...], tuple[str, ...]]:
    """Evaluate the codes' formulas wherever they have one.

    Parameters
    ----------
    cases : sequence of CodeCase
    governing, takes
        The mesh's answer.
    basis : str

    Returns
    -------
    rows : tuple of CodeRow
        Each formula at each place in the case where it is worst.
    missing : tuple of str
        What there is no formula for, a sentence each.
    """
    worst: dict[tuple[str, str], CodeRow] = {}
    missing: list[str] = []
    answer = None if governing is None or not takes.best else governing
    for case in cases:
        for one in (*_notches(case, missing), *_pins(case, missing), *_bearings(case)):
            if _other_family(one.name, case.member.part, case.sheet.makeup.wood(REST).family):
                continue
            row = _row(one, case, basis, _best(answer, takes, cases))
            key = (one.name, one.place)
            if key not in worst or row.utilisation > worst[key].utilisation:
                worst[key] = row
    missing += _without(cases[0].member) if cases else []
    if not any(row.what != "bearing" for row in worst.values()):
        missing.append("Beyond bearing and the plain beam formulas the codes have no formula for this part.")
    return tuple(worst.values()), tuple(dict.fromkeys(missing))


def _other_family(name: str, part: Part, family: str) -> bool:
    """Whether a formula belongs to another code than the values: on the design basis the two are not mixed."""
    code = next(row["family"] for row in tables.rows("code_formulas") if row["name"] == name)
    other = {ALLOWABLE: "EN 1995-1-1", LIMIT: "NDS"}.get(family)
    return part.wood.basis == DESIGN and code == other


def _best(governing: Governing | None, takes: Takes, cases: Sequence[CodeCase]) -> float | None:
    """The mesh's best factor on the loads times the governing utilisation: what a place of utilisation 1 would take."""
    if governing is None or takes.best is None:
        return None
    size = next((case.size for case in cases if case.sheet.case.name == governing.case), 0.0)
    return takes.best / size * governing.utilisation if size else None


def _row(one: Found, case: CodeCase, basis: str, best: float | None) -> CodeRow:
    text = next(row for row in tables.rows("code_formulas") if row["name"] == one.name)
    utilisation = one.load / one.resistance
    ratio = None
    mesh = one.near[0].utilisation if one.near else 0.0
    if mesh > 0.0 and utilisation > 0.0:  # a dent is met at its utilisation 1, a split at the best of its band
        band = 1.0 if isinstance(one.near[0], BesideRow) else best
        ratio = None if band is None else mesh / utilisation / band
    takes = case.size / utilisation if utilisation > 0.0 and case.size else None
    return CodeRow(
        what=text["what"],
        family=text["family"],
        formula=text["formula"],
        place=one.place,
        case=case.sheet.case.name,
        load=one.load,
        resistance=one.resistance,
        utilisation=utilisation,
        takes=takes,
        ratio=ratio,
        basis=basis,
        source=text["source"],
        status=text["status"],
        note=one.note,
    )


# ---- notches


class Corner(NamedTuple):
    """The inner corner of an end notch: where it is, which way the reduced end lies, and the depths there."""

    notch: Notch
    position: float
    at: FloatArray
    sense: float  # +1: the reduced end lies further along the member
    h: float
    h_ef: float
    low_side: bool
    slope: float
    region: str


def _notches(case: CodeCase, missing: list[str]) -> Iterator[Found]:
    for notch in case.member.part.notches:
        corner = _corner(case, notch, missing)
        if corner is not None:
            yield from _end_notch(case, corner)


def _corner(case: CodeCase, notch: Notch, missing: list[str]) -> Corner | None:
    member, what = case.member, f'notch "{notch.name}"'
    first, second = _ends(member, notch.edge)
    length = float(np.linalg.norm(second - first))
    along = (second - first) / length
    starts, stops = notch.start <= SAME, notch.stop >= length - SAME
    if starts == stops:
        missing.append(
            f"{what[0].upper()}{what[1:]} is not at an end: the codes' formulas are for notches at bearings."
        )
        return None
    s = notch.stop - notch.ramp[1] * notch.depth if starts else notch.start + notch.ramp[0] * notch.depth
    at, toward_end = first + s * along, -along if starts else along
    position = float(member.position_of(at[None])[0])
    sense = float(np.sign(toward_end @ member.direction(position)))
    cut, full = (member.cut(position + step * HAIR) for step in (sense, -sense))
    if cut is None or full is None or abs(float(along @ cut.axis)) < NEARLY_ALONG:
        return None
    regions = {layer.region for one in (cut, full) for layer in one.layers}
    grain = case.sheet.makeup.choice(cut.layers[0].region).grain
    if len(regions) > 1 or _between(grain, along) > STRAIGHT:
        missing.append(f"At {what} layers or sloping grain lie beyond what the codes' formulas are for.")
        return None
    low_side = float((at - cut.origin) @ cut.left) < (cut.gross[0] + cut.gross[1]) / 2
    h_ef = cut.gross_depth - notch.depth - (notch.drill or 0.0) / 2
    slope = notch.ramp[1] if starts else notch.ramp[0]
    floor = cut.points(np.array([cut.low if low_side else cut.high]))[0]
    return Corner(notch, position, floor, sense, cut.gross_depth, h_ef, low_side, slope, cut.layers[0].region)


def _ends(member: Member, edge: str) -> tuple[FloatArray, FloatArray]:
    points = [np.array(corner.at) for corner in member.part.corners]
    number = member.part.edge_names.index(edge)
    return points[number], points[(number + 1) % len(points)]


def _between(grain: float, direction: FloatArray) -> float:
    """Angle between the grain and a direction, 0 to 90 deg."""
    angle = np.degrees(np.arctan2(direction[1], direction[0])) - grain
    return float(abs((angle + 90.0) % 180.0 - 90.0))


def _end_notch(case: CodeCase, corner: Corner) -> Iterator[Found]:
    """The formulas at an end notch: by whether what acts on the reduced end pulls it off the rest or presses it on."""
    forces = case.sheet.forces_at(corner.position + corner.sense * HAIR)
    greatest = max((float(np.linalg.norm(force)) for _, force in case.actions), default=0.0)
    if forces is None or abs(forces[1]) <= LEAST * greatest:
        return
    _, V, M = forces
    # seen from the notch: what acts on the reduced end away from the notched side opens it
    opens = (V * corner.sense > 0) == corner.low_side
    b = case.sheet.makeup.choice(corner.region).thickness
    f_v, h, h_ef = case.strength(corner.region, "shear"), corner.h, corner.h_ef
    place, x = f"notch {corner.notch.name}", abs(M / V)
    near = case.spots_near(corner.at.tolist(), max(corner.notch.depth, h / 4))
    shear = abs(V)
    if not opens:
        e = _beyond_support(case, corner)
        resistance = codes.nds_notch_compression(f_v, b, h, h_ef, e)
        yield Found("notch_nds_compression", place, shear, resistance, f"e = {e:.3g} mm", near)
        yield Found("notch_en", place, shear, codes.en_notch(f_v, b, h_ef, 1.0), "k_v = 1: pressed side", near)
        return
    note = f"d_n/d = {h_ef / h:.3g}"
    yield Found("notch_nds_tension", place, shear, codes.nds_notch_tension(f_v, b, h, h_ef), note, near)
    k_v = codes.notch_factor(h, h_ef, x, corner.slope)
    note = f"k_v = {k_v:.3g}, x = {x:.3g} mm"
    yield Found("notch_en", place, shear, codes.en_notch(f_v, b, h_ef, k_v), note, near)
    yield from _by_energy(case, corner, shear, x, near)


def _by_energy(case: CodeCase, corner: Corner, shear: float, x: float, near: Sequence[HotSpot]) -> Iterator[Found]:
    """Gustafsson's form with the geometric mean of both energies, as `takes.best` is one."""
    wood = case.sheet.makeup.wood(corner.region)
    if wood.fracture.split_length is not None:
        return
    low, high = wood.fracture.G_Ic
    b, across = case.sheet.makeup.choice(corner.region).thickness, wood.splitting["tension_across"]
    share = across.value / across.mean * case.kept
    G_c = float(np.sqrt(low * high))
    V = share * codes.energy_notch(b, corner.h, corner.h_ef, x, G_c, wood.plane.E_0, wood.plane.G)
    note = f"G_c = {1000 * G_c:.3g} J/m2, between {1000 * low:.3g} and {1000 * high:.3g}, beta = {x / corner.h:.3g}"
    yield Found("notch_energy", f"notch {corner.notch.name}", shear, V, note, near)


def _beyond_support(case: CodeCase, corner: Corner) -> float:
    """How far the notch reaches beyond the inner edge of what bears on the reduced end, mm."""
    ends = [_extent(case.member, patch) for patch, _ in case.actions if patch.length > 0]
    on_it = [(low, high) for low, high in ends if corner.sense * ((low + high) / 2 - corner.position) > 0]
    inner = [corner.sense * ((low if corner.sense > 0 else high) - corner.position) for low, high in on_it]
    return max(min(inner, default=0.0), 0.0)


# ---- pins


def _pins(case: CodeCase, missing: list[str]) -> Iterator[Found]:
    for push in on_holes(case.member.part, case.sheet.case):
        region = names_at(case.member.part, np.array([push.hole.center]))[0]
        cut = case.member.cut(float(case.member.position_of(np.array([push.hole.center]))[0]))
        if cut is None:
            continue
        angle = _between(case.sheet.makeup.choice(region).grain, push.force)
        if angle >= ALONG_ENOUGH:
            if not one_wood(case.member, cut):
                missing.append(f'At "{push.name}" thickness or wood change: the codes have no formula for that.')
            elif not _even(case.member, cut):
                missing.append(f'At "{push.name}" the depth changes too fast for the codes\' formulas for members.')
            else:
                yield from _across_member(case, push, cut, region)
        if angle <= 90.0 - ALONG_ENOUGH:
            yield _torn_out(case, push, region)


def _even(member: Member, cut: Cut) -> bool:
    """Whether the depth half a depth before and after a cut is within a quarter of that on it (own choice)."""
    near = [member.shifted(cut, step * cut.gross_depth / 2) for step in (-1, 1)]
    return all(one is None or abs(one.gross_depth / cut.gross_depth - 1) <= UNEVEN for one in near)


def _spots_at(case: CodeCase, push: Push) -> list[HotSpot]:
    return [spot for spot in case.spots if distance_to_hole(push.hole, np.array(spot.at)) <= push.hole.diameter]


def _across_member(case: CodeCase, push: Push, cut: Cut, region: str) -> Iterator[Found]:
    """The formulas for a pin that pushes across the grain: by the greater shear of its two sides."""
    hole, makeup = push.hole, case.sheet.makeup
    beside = [case.sheet.forces_at(cut.position + s * (0.5 * hole.diameter + 0.5)) for s in (-1, 1)]
    V = max((abs(forces[1]) for forces in beside if forces is not None), default=0.0)
    height = float((np.array(hole.center) - cut.origin) @ cut.left)
    h_e = abs((cut.high if push.force @ cut.left > 0 else cut.low) - height)
    if V == 0.0 or h_e <= SMALL:
        return
    b, h, near = makeup.choice(region).thickness, cut.gross_depth, _spots_at(case, push)
    wood, from_end = makeup.wood(region), min(cut.position, case.member.length - cut.position)
    f_v, place, note = case.strength(region, "shear"), f"hole {hole.name}", f"h_e = {h_e:.3g} of {h:.3g} mm"
    yield Found("joint_nds_shear", place, V, codes.nds_joint_shear(f_v, b, h, h_e, from_end), note, near)
    softwood = "" if wood.group == "softwood" else ", though this is a hardwood"
    said = f"{note}; characteristic for softwood{softwood}"
    yield Found("joint_en_splitting", place, V, case.kept * codes.en_joint_splitting(b, h, h_e), said, near)
    if wood.fracture.split_length is None:
        low, high = wood.fracture.G_Ic
        across, G_c = wood.splitting["tension_across"], float(np.sqrt(low * high))
        share = across.value / across.mean * case.kept
        said = f"{note}; G_Ic = {1000 * G_c:.3g} J/m2, between {1000 * low:.3g} and {1000 * high:.3g}"
        resistance = share * pin_split_shear(b, h, h_e, wood.plane.G, G_c)
        yield Found("joint_energy", place, V, resistance, said, near)


def _torn_out(case: CodeCase, push: Push, region: str) -> Found:
    """Shear-out of a plug towards the end that a pin pushes at, by its force along the grain."""
    choice, hole = case.sheet.makeup.choice(region), push.hole
    grain = np.radians(choice.grain)
    along = np.array([np.cos(grain), np.sin(grain)])
    force = float(push.force @ along)
    e = reach(case.member, hole, float(np.sign(force)) * along)
    resistance = codes.tear_out(case.strength(region, "shear"), choice.thickness, e)
    return Found("tear_out_nds", f"hole {hole.name}", abs(force), resistance, f"e = {e:.3g} mm", _spots_at(case, push))


# ---- bearings


def _bearings(case: CodeCase) -> Iterator[Found]:
    pressing = [(patch, force) for patch, force in case.actions if patch.length > 0 and patch.pushes(force)]
    flat = [(patch, force) for patch, force in pressing if patch.diameter is None]
    for patch, force in flat:
        if len(set(patch.regions)) == 1:
            yield from _bearing(case, patch, force, [other for other, _ in flat if other is not patch])


def _bearing(case: CodeCase, patch: Patch, force: FloatArray, others: Iterable[Patch]) -> Iterator[Found]:
    """Mean pressure over a whole patch; across the grain the wood beside it helps."""
    region = patch.regions[0]
    area = float(np.linalg.norm((patch.weights * patch.thickness) @ patch.normals))
    angle = _between(case.sheet.makeup.choice(region).grain, patch.normal)
    load, length = float(-force @ patch.normal), area / float(patch.thickness.mean())
    along, across = (case.strength(region, name) for name in ("compression_along", "compression_across"))
    near = [row for row in case.beside if row.name == patch.name]
    low, high = _extent(case.member, patch)
    ends = low, case.member.length - high
    C_b = codes.bearing_area_factor(length, min(ends)) if angle >= ACROSS else 1.0
    note = f"C_b = {C_b:.3g}" if angle >= ACROSS else f"{angle:.0f} deg to the grain"
    yield Found("bearing_nds", patch.name, load, hankinson(along, across * C_b, angle) * area, note, near)
    if angle >= ACROSS:
        beside = [_extent(case.member, one) for one in others if float(one.normal @ patch.normal) > NEARLY_ALONG]
        gaps = (
            min((low - other[1] for other in beside if other[1] <= low), default=np.inf),
            min((other[0] - high for other in beside if other[0] >= high), default=np.inf),
        )
        l_ef = codes.en_contact_length(length, ends, gaps)
        resistance = hankinson(along, across * l_ef / length, angle) * area
        yield Found("bearing_en", patch.name, load, resistance, f"l_ef = {l_ef:.3g} of {length:.3g} mm", near)


def _extent(member: Member, patch: Patch) -> tuple[float, float]:
    along = member.position_of(np.array(patch.outline))
    return float(along.min()), float(along.max())


# ---- what there is no formula for


def _without(member: Member) -> list[str]:
    """Holes that carry no pin, and axes along which the grain does not run."""
    part = member.part
    places = [one.on for one in part.supports] + [one.on for one in part.loads]
    used = {on.name for on in places if on.kind == "hole"}
    bare = [f'"{hole.name}"' for hole in part.holes if hole.name not in used]
    said = []
    if bare:
        said.append(f"Hole {', '.join(bare)} carries no pin: neither code's main text has a formula for a bare hole.")
    if _between(part.wood.grain, member.direction(member.length / 2)) > STRAIGHT:
        said.append(
            "The grain slopes to the member: the codes limit its slope and have no formula for splitting along it."
        )
    return said


def cases_of(
    sheets: Sequence[Sheet],
    actions: Mapping[str, Sequence[tuple[Patch, FloatArray]]],
    factors: Mapping[str, CaseFactors],
    sizes: Mapping[str, float],
    rows: tuple[Sequence[HotSpot], Sequence[BesideRow]],
) -> list[CodeCase]:
    """Put together what the formulas need of each case, each mapping by its name; `rows` are hot spots and dents."""
    spots, beside = rows
    return [
        CodeCase(
            sheet,
            actions[name],
            factors[name],
            sizes[name],
            [spot for spot in spots if spot.case == name],
            [row for row in beside if row.case == name],
        )
        for sheet in sheets
        for name in [sheet.case.name]
    ]
