"""The short story of the hand calculation: what the plain formula would say, and whether it may be believed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..part.model import Hole, Part
from .member import Member
from .section import pin_split_shear, shear_governs
from .stations import Extent, Scan, plateau_middle, whereabouts
from .verdict import HandSummary, Takes

if TYPE_CHECKING:
    from ..wood.model import Wood
    from .hand import HandCase

FloatArray = NDArray[np.float64]
ALONG_ENOUGH = 20.0  # deg: a pin that pushes nearer to the grain than this does not split it by the energy formula


@dataclass(frozen=True)
class Along:
    """N, V, M of one case along the member, by statics where ``determinate``, else from the mesh."""

    case: HandCase
    scan: Scan
    N: FloatArray
    places: tuple[Extent, ...]
    determinate: bool
    forces_at: Callable[[float], tuple[float, float, float] | None]


class Plain(NamedTuple):
    """Where the plain formula comes to its strength first: formula, load, place, and M/(V h)."""

    formula: str
    load: float
    station: str
    span_ratio: float


class PinSplit(NamedTuple):
    """The pin energy formula's loads with low and high energy."""

    low: float
    high: float
    pin: str


def hand_summary(part: Part, wood: Wood, member: Member, along: Sequence[Along], takes: Takes) -> HandSummary:
    """Tell the hand calculation's story over all cases.

    Parameters
    ----------
    part : Part
    wood : Wood
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
    loaded = [a for a in along if len(a.scan.V) and max(np.abs(a.scan.V).max(), np.abs(a.scan.M).max()) > 0]
    if not loaded:
        return HandSummary("V Q/(I t)", None, None, "", True, False, ("Nothing loads the member.",))
    plain = min((_plain(part, wood, a) for a in loaded), key=lambda p: p.load)
    ratio = plain.span_ratio
    R = wood.strengths["tension_along"].value / wood.strengths["shear"].value
    splits, remarks = _pin_splits(part, wood, member, loaded)
    split = min(splits, key=lambda s: s.low) if splits else None
    best = takes.best
    return HandSummary(
        formula=plain.formula,
        load=plain.load,
        ratio=plain.load / best if best else None,
        station=plain.station,
        beam_theory_applies=ratio >= 1.0,
        shear_governs=shear_governs(ratio, R),
        sentences=(*_sentences(ratio, R), *_about_statics(loaded), *remarks),
        energy_low=split.low if split else None,
        energy_high=split.high if split else None,
        energy_at=split.pin if split else "",
    )


def _plain(part: Part, wood: Wood, along: Along) -> Plain:
    """V Q/(I t) and M/S of the sound section at every sampled cut; whichever reaches its strength first.

    M/(V h) is the greatest M/S over four times the greatest V Q/(I t): in a member of one depth the greatest M over
    the greatest V and the depth, and in a tapered one still what decides between the two.
    """
    scan, b = along.scan, part.wood.thickness
    tau = 1.5 * np.abs(scan.V) / (b * scan.depth)
    sigma = 6 * np.abs(scan.M) / (b * scan.depth**2) + np.maximum(along.N, 0.0) / (b * scan.depth)
    shear = tau / wood.strengths["shear"].value
    bending = sigma / wood.strengths["tension_along"].value
    by_shear = bool(shear.max() >= bending.max())
    used = shear if by_shear else bending
    k = plateau_middle(scan, used)
    load = abs(along.case.reference) / float(used.max())
    station = whereabouts(float(scan.position[k]), along.places)
    ratio = float(sigma.max() / (4 * tau.max())) if tau.max() > 0 else float("inf")
    return Plain("V Q/(I t)" if by_shear else "M/S", load, station, ratio)


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


def _pin_splits(part: Part, wood: Wood, member: Member, loaded: Sequence[Along]) -> tuple[list[PinSplit], list[str]]:
    """Apply the energy formula at every pin or load on a hole that pushes across the grain."""
    pushes = [(push, a) for a in loaded for push in _on_holes(part, a)]
    if not pushes:
        return [], []
    if wood.fracture.split_length is not None:
        return [], ["The energy formula for the pin is left out: the part gives its own splitting length, no energy."]
    splits, remarks = [], []
    for push, a in pushes:
        angle = abs((np.degrees(np.arctan2(push.force[1], push.force[0])) - part.wood.grain + 90.0) % 180.0 - 90.0)
        if angle < ALONG_ENOUGH:
            why = f"it pushes within {ALONG_ENOUGH:.0f} deg of the grain"
            remarks.append(f'The energy formula is left out at "{push.name}": {why}.')
            continue
        split = _pin_split(wood, member, a, push)
        if split is not None:
            splits.append(split)
    return splits, list(dict.fromkeys(remarks))


class Push(NamedTuple):
    """What pushes on a hole: the support or load, the hole, and its force (2,) N on the wood."""

    name: str
    hole: Hole
    force: FloatArray


def _on_holes(part: Part, along: Along) -> list[Push]:
    """Collect the forces (2,) N on the wood at holes: from supports by the mesh's reactions, and from loads."""
    holes = {hole.name: hole for hole in part.holes}
    reactions = {row.name: np.array(row.force) for row in along.case.reactions}
    loads = {load.name: load.forces.sum(axis=0) for load in along.case.applied}
    found = [(s.name, holes[s.on.name], reactions.get(s.name)) for s in part.supports if s.on.kind == "hole"]
    found += [(s.name, holes[s.on.name], loads.get(s.name)) for s in part.loads if s.on.kind == "hole"]
    return [Push(name, hole, force) for name, hole, force in found if force is not None and np.linalg.norm(force) > 0]


def _pin_split(wood: Wood, member: Member, along: Along, push: Push) -> PinSplit | None:
    """Find the loads at which V beside a pin is ``b sqrt(G_Ic G h_e/(0.6 (1 - h_e/h)))``, for both energies."""
    hole, b = push.hole, member.part.wood.thickness
    center = np.array(hole.center)
    position = float(member.position_of(center[None])[0])
    cut = member.cut(position)
    beside = [along.forces_at(position + s * (0.5 * hole.diameter + 0.5)) for s in (-1, 1)]
    V = max((abs(forces[1]) for forces in beside if forces is not None), default=0.0)
    if cut is None or V == 0.0:
        return None
    height = float((center - cut.origin) @ cut.left)
    loaded_edge = cut.high if push.force @ cut.left > 0 else cut.low
    h_e = abs(loaded_edge - height)
    across = wood.strengths["tension_across"]
    scale = across.value / across.mean * abs(along.case.reference) / V
    low, high = (scale * pin_split_shear(b, cut.depth, h_e, wood.plane.G, G_Ic) for G_Ic in wood.fracture.G_Ic)
    return PinSplit(low, high, push.name)
