"""The short story of the hand calculation: what the plain formula would say, and whether it may be believed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..part.model import Hole, Part
from ..part.regions import BODY as REST
from .makeup import Makeup
from .member import Cut, Member
from .section import layer_stresses, pin_split_shear, shear_governs, worst_shear
from .stations import Extent, Scan, plateau_middle, whereabouts
from .verdict import HandSummary, Takes
from .zones import names_at

if TYPE_CHECKING:
    from .hand import HandCase

FloatArray = NDArray[np.float64]
NOISE = 1e-9  # of the forces that act: what is below is rounding
ALONG_ENOUGH = 20.0  # deg: a pin that pushes nearer to the grain than this does not split it by the energy formula


@dataclass(frozen=True)
class PlainStresses:
    """V Q/(I t) and M/S + N/A of the sound section at every sampled cut, (k,) each: MPa, and as shares of strengths.

    ``stepped`` where a section is not one rectangle.
    """

    tau: FloatArray
    sigma: FloatArray
    shear: FloatArray
    bending: FloatArray
    stepped: bool


def plain_stresses(cuts: Sequence[Cut], forces: FloatArray, makeup: Makeup) -> PlainStresses:
    """The plain formulas with holes and notches left out.

    Parameters
    ----------
    cuts : sequence of Cut
    forces : (k, 3) array
        N, V, M at each, N and N mm.
    makeup : Makeup
    """
    rows = [_plain_stress(cut, makeup, *values) for cut, values in zip(cuts, forces.tolist(), strict=True)]
    table = np.array(rows).reshape(-1, 4)
    tau, sigma, shear, bending = table.T
    return PlainStresses(tau, sigma, shear, bending, any(len(cut.gross_layers) > 1 for cut in cuts))


def _plain_stress(cut: Cut, makeup: Makeup, N: float, V: float, M: float) -> tuple[float, float, float, float]:
    layers = cut.gross_layers
    f_v, f_t, f_b = (makeup.strength(layers, name) for name in ("shear", "tension_along", "bending"))
    if len(layers) == 1:
        b, h = makeup.choice(layers[0].region).thickness, cut.gross_depth
        tau, bent, drawn = 1.5 * abs(V) / (b * h), 6 * abs(M) / (b * h**2), max(N, 0.0) / (b * h)
        return tau, bent + drawn, tau / float(f_v[0]), bent / float(f_b[0]) + drawn / float(f_t[0])
    section = makeup.section(layers, cut.axis)
    shear = worst_shear(section, V, f_v)
    pull = max(layer_stresses(section, max(N, 0.0), M), key=lambda one: one.stress / f_b[one.layer])
    tau, sigma = abs(shear.stress), max(pull.stress, 0.0)
    drawn = min(max(N, 0.0) / section.A, sigma) if N > 0.0 else 0.0
    share = (sigma - drawn) / float(f_b[pull.layer]) + drawn / float(f_t[pull.layer])
    return tau, sigma, tau / float(f_v[shear.layer]), share


@dataclass(frozen=True)
class Along:
    """N, V, M of one case along the member, by statics where ``determinate``, else from the mesh."""

    case: HandCase
    scan: Scan
    N: FloatArray
    places: tuple[Extent, ...]
    determinate: bool
    forces_at: Callable[[float], tuple[float, float, float] | None]
    plain: PlainStresses


class Plain(NamedTuple):
    """Where the plain formula comes to its strength first: formula, load, place, M/(V h), and the shares of both."""

    formula: str
    load: float
    station: str
    span_ratio: float
    shear: float
    bending: float


class PinSplit(NamedTuple):
    """The pin energy formula's loads with low and high energy."""

    low: float
    high: float
    pin: str


def hand_summary(makeup: Makeup, member: Member, along: Sequence[Along], takes: Takes) -> HandSummary:
    """Tell the hand calculation's story over all cases.

    Parameters
    ----------
    makeup : Makeup
        For shear and bending strength on the basis, G, and the energies.
    member : Member
    along : sequence of Along
        One a case.
    takes : Takes
        Of the mesh, for the ratio.

    Returns
    -------
    HandSummary
    """
    loaded = [a for a in along if _loads_the_member(a, member.length)]
    loaded = [a for a in loaded if np.isfinite(a.case.reference)]  # others say nothing of the load that grows
    if not loaded:
        return _without_bending(makeup, along, takes)
    plain = min((_plain(a) for a in loaded), key=lambda p: p.load)
    ratio = plain.span_ratio
    main = makeup.wood(REST)
    R = main.bending.value / main.strengths["shear"].value
    stepped = bool(makeup.part.regions)
    governs = plain.shear >= plain.bending if stepped else shear_governs(ratio, R)
    splits, remarks = _pin_splits(makeup, member, loaded)
    split = min(splits, key=lambda s: s.low) if splits else None
    best = takes.best
    return HandSummary(
        formula=plain.formula,
        load=plain.load,
        ratio=plain.load / best if best else None,
        station=plain.station,
        beam_theory_applies=ratio >= 1.0,
        shear_governs=governs,
        sentences=(
            *(_stepped_sentences(plain) if stepped else _sentences(ratio, R)),
            *_about_statics(loaded),
            *remarks,
        ),
        energy_low=split.low if split else None,
        energy_high=split.high if split else None,
        energy_at=split.pin if split else "",
        left_out=_left_out(makeup.part),
    )


def _loads_the_member(along: Along, length: float) -> bool:
    """Whether V or M of a case is more than rounding: loads that balance one another at once leave nothing of both."""
    if not len(along.scan.V):
        return False
    acting = sum(float(np.linalg.norm(load.forces, axis=1).sum()) for load in along.case.applied)
    acting += sum(float(np.hypot(*row.force)) + abs(row.moment) / length for row in along.case.reactions)
    greatest = max(float(np.abs(along.scan.V).max()), float(np.abs(along.scan.M).max()) / length)
    return greatest > NOISE * acting


def _without_bending(makeup: Makeup, along: Sequence[Along], takes: Takes) -> HandSummary:
    """The story where there is no V and no M: N/A of a pull along the member, or that nothing loads it."""
    along = [a for a in along if np.isfinite(a.case.reference) and len(a.N)]
    if not any(float(np.abs(a.N).max()) > NOISE * _acting(a) for a in along):
        return HandSummary("V Q/(I t)", None, None, "", True, False, ("Nothing loads the member.",))
    pulled = [a for a in along if float(a.N.max()) > NOISE * _acting(a)]
    if not pulled:
        said = "Nothing bends or shears the member: it is pressed along its length."
        return HandSummary("V Q/(I t)", None, None, "", True, False, (said,))
    plain = min((_plain(a) for a in pulled), key=lambda p: p.load)
    ratio, said = plain.load / takes.best if takes.best else None, "It is pulled along its length alone: N/A."
    left_out = _left_out(makeup.part)
    return HandSummary("N/A", plain.load, ratio, plain.station, True, False, (said,), left_out=left_out)


def _acting(along: Along) -> float:
    """The sizes of all forces of a case together, N: what is small against them is rounding."""
    acting = sum(float(np.linalg.norm(load.forces, axis=1).sum()) for load in along.case.applied)
    return acting + sum(float(np.hypot(*row.force)) for row in along.case.reactions)


def _left_out(part: Part) -> str:
    """What the plain formula leaves out of account: ``hole``, ``holes and notch``; empty where there is nothing."""
    counts = {"hole": len(part.holes), "notch": len(part.notches), "crack": len(part.cracks)}
    many = {"hole": "holes", "notch": "notches", "crack": "cracks"}
    words = [one if count == 1 else many[one] for one, count in counts.items() if count]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def _plain(along: Along) -> Plain:
    """V Q/(I t) and M/S of the sound section at every sampled cut; whichever reaches its strength first.

    In a member of one wood and thickness M/(V h) is the greatest M/S over four times the greatest V Q/(I t): the
    greatest M over the greatest V and the depth where the depth is one, and in a tapered one still what decides between
    the two. Where sections are stepped it is the greatest M over the greatest V times the depth there.
    """
    scan, plain = along.scan, along.plain
    shear, bending, tau, sigma = plain.shear, plain.bending, plain.tau, plain.sigma
    by_shear = bool(shear.max() >= bending.max())
    used = shear if by_shear else bending
    k = plateau_middle(scan, used)
    load = abs(along.case.reference) / float(used.max())
    station = whereabouts(float(scan.position[k]), along.places)
    top, bottom = (float(np.abs(scan.M).max()), float(np.abs(scan.V * scan.depth).max()))
    if not plain.stepped:
        top, bottom = float(sigma.max()), float(4 * tau.max())
    ratio = top / bottom if bottom > 0 else float("inf")
    formula = "V Q/(I t)" if by_shear else "M/S"
    return Plain(formula, load, station, ratio, float(shear.max()), float(bending.max()))


def _stepped_sentences(plain: Plain) -> list[str]:
    """What governs by hand where thickness or wood are not the same all over: no one ratio R tells it."""
    said = []
    if plain.span_ratio < 1.0:
        figures = f"M/(V h) = {plain.span_ratio:.2f}"
        said.append(f"Beam theory does not apply: {figures}, below 1; the hand figures are a rough screen here.")
    shares = f"V Q/(I t) reaches {plain.shear:.2f} of its strength, M/S {plain.bending:.2f}"
    first, second = ("Shear", "bending") if plain.shear >= plain.bending else ("Bending", "shear")
    said.append(f"{first} governs, not {second}: {shares}.")
    return said


def _sentences(ratio: float, R: float) -> list[str]:
    figures = f"M/(V h) = {ratio:.2f}"
    said = []
    if ratio < 1.0:
        said.append(f"Beam theory does not apply: {figures}, below 1; the hand figures are a rough screen here.")
    limit = f"R/4 = {R / 4:.1f} (R = {R:.1f}, bending over shear strength)"
    if shear_governs(ratio, R):
        said.append(f"Shear governs, not bending: {figures} is below {limit}.")
    else:
        said.append(f"Bending governs, not shear: {figures} is not below {limit}.")
    return said


def _about_statics(loaded: Sequence[Along]) -> list[str]:
    if all(a.determinate for a in loaded):
        return []
    return ["The supports leave more than statics can tell: N, V and M of the hand calculation are the mesh's own."]


def _pin_splits(makeup: Makeup, member: Member, loaded: Sequence[Along]) -> tuple[list[PinSplit], list[str]]:
    """Apply the energy formula at every pin or load on a hole that pushes across the grain."""
    splits, remarks = list[PinSplit](), list[str]()
    for push, a in ((push, one) for one in loaded for push in on_holes(makeup.part, one.case)):
        region = names_at(makeup.part, np.array([push.hole.center]))[0]
        if makeup.wood(region).fracture.split_length is not None:
            remarks.append(
                "The energy formula for the pin is left out: the part gives its own splitting length, no energy."
            )
            continue
        grain = makeup.choice(region).grain
        angle = abs((np.degrees(np.arctan2(push.force[1], push.force[0])) - grain + 90.0) % 180.0 - 90.0)
        if angle < ALONG_ENOUGH:
            why = f"it pushes within {ALONG_ENOUGH:.0f} deg of the grain"
            remarks.append(f'The energy formula is left out at "{push.name}": {why}.')
            continue
        cut = member.cut(float(member.position_of(np.array([push.hole.center]))[0]))
        if cut is None:
            continue
        if not one_wood(member, cut):
            remarks.append(f'The energy formula is left out at "{push.name}": it is for one thickness and one wood.')
            continue
        split = _pin_split(makeup, cut, a, push)
        if split is not None:
            splits.append(split)
    return splits, list(dict.fromkeys(remarks))


def one_wood(member: Member, cut: Cut) -> bool:
    """Whether one region alone lies on a cut through a pin and on those one depth before and after it.

    The formula's split runs on along the member; where a cheek plate or a web ends it meets another thickness.
    """
    near = [member.shifted(cut, step) for step in (-cut.depth, -cut.depth / 2, cut.depth / 2, cut.depth)]
    return len({layer.region for one in (cut, *near) if one is not None for layer in one.layers}) == 1


class Push(NamedTuple):
    """What pushes on a hole: the support or load, the hole, and its force (2,) N on the wood."""

    name: str
    hole: Hole
    force: FloatArray


def on_holes(part: Part, case: HandCase) -> list[Push]:
    """Collect the forces (2,) N on the wood at holes: from supports by the mesh's reactions, and from loads."""
    holes = {hole.name: hole for hole in part.holes}
    reactions = {row.name: np.array(row.force) for row in case.reactions}
    loads = {load.name: load.forces.sum(axis=0) for load in case.applied}
    found = [(s.name, holes[s.on.name], reactions.get(s.name)) for s in part.supports if s.on.kind == "hole"]
    found += [(s.name, holes[s.on.name], loads.get(s.name)) for s in part.loads if s.on.kind == "hole"]
    return [Push(name, hole, force) for name, hole, force in found if force is not None and np.linalg.norm(force) > 0]


def _pin_split(makeup: Makeup, cut: Cut, along: Along, push: Push) -> PinSplit | None:
    """Find the loads at which V beside a pin is ``b sqrt(G_Ic G h_e/(0.6 (1 - h_e/h)))``, for both energies."""
    hole, region = push.hole, cut.layers[0].region
    wood, b = makeup.wood(region), makeup.choice(region).thickness
    beside = [along.forces_at(cut.position + s * (0.5 * hole.diameter + 0.5)) for s in (-1, 1)]
    V = max((abs(forces[1]) for forces in beside if forces is not None), default=0.0)
    if V == 0.0:
        return None
    height = float((np.array(hole.center) - cut.origin) @ cut.left)
    loaded_edge = cut.high if push.force @ cut.left > 0 else cut.low
    h_e = abs(loaded_edge - height)
    across = wood.splitting["tension_across"]
    scale = across.value / across.mean * abs(along.case.reference) / V
    low, high = (scale * pin_split_shear(b, cut.depth, h_e, wood.plane.G, G_Ic) for G_Ic in wood.fracture.G_Ic)
    return PinSplit(low, high, push.name)
