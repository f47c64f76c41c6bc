"""What the program knows at a cut for which the reader gave figures: what is right there, and what acts."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from .makeup import Makeup
from .member import SMALL, Cut, Layer, Member, edge_slopes
from .mine import AtCut
from .section import Section, layer_stresses
from .slips import Share, Wood
from .statics import Actions, HandReaction, internal_forces
from .stations import Extent, Station, notch_feet

if TYPE_CHECKING:
    from .hand import HandCase, Shear, Summed

SKEW = 10.0  # deg: a cut further from square than this is no section of the beam
Forces = tuple[float, float, float]


class Around(NamedTuple):
    """The member around a cut: all that acts, and N, V, M anywhere by statics (or the mesh, where that is silent)."""

    makeup: Makeup
    member: Member
    places: Sequence[Extent]
    case: HandCase
    reactions: Sequence[HandReaction] | None
    forces_at: Callable[[float], Forces | None]
    greatest: tuple[float, float]


def at_cut(
    around: Around, cut: Cut, net: Section, summed: Summed, shear: Shear, stresses: tuple[float, float, float, float]
) -> AtCut:
    """Collect what is right at a cut.

    Parameters
    ----------
    around : Around
    cut : Cut
    net : Section
        Of the wood on it.
    summed : Summed
        The mesh's N, V, M there.
    shear : Shear
        The hand calculation's, for the mesh's V.
    stresses : (tau, tau by the mesh, sigma, sigma by the mesh)
        MPa.
    """
    shares = _shares(around, cut, net.centroid)
    known = None if around.reactions is None or not cut.whole else _total(around, cut, net.centroid)
    N, V, M = known or (summed.N, summed.V, summed.M)
    beside = [*(_beside(around, cut) if cut.whole else ()), (summed.N, summed.V, summed.M)]
    tau, tau_mesh, sigma, sigma_mesh = stresses
    shears = [V, *(forces[1] for forces in beside)]
    faces = sorted((one.stress for one in layer_stresses(net, N, M)), key=lambda one: -abs(one))
    height, t = shear.height, net.layers[shear.layer][1]
    wood = Wood(net, _sound(around.makeup, cut), cut.ligaments, t, height, _left_out(cut))
    accepted = {
        **{"b": sorted({width for _, width in net.layers}, reverse=True), "h": [net.depth], "t": [t]},
        **{"A": [net.A, Section(net.layers).A], "I": [net.I], "S": [min(net.S_low, net.S_high), net.S_low, net.S_high]},
        **{"Q": _first_moments(wood), "N": [N], "V": shears, "M": [M, *(forces[2] for forces in beside)]},
        **{"tau": [tau * one / summed.V if summed.V else tau for one in shears], "sigma": [faces[0], *faces, sigma]},
    }
    mesh = {"N": summed.N, "V": summed.V, "M": summed.M, "tau": tau_mesh, "sigma": sigma_mesh}
    force = max((float(np.linalg.norm(actions.forces.sum(axis=0))) for _, actions in _acting(around)), default=0.0)
    reasons = tuple(_reasons(around, cut, summed, len(beside) > 1))
    greatest = around.greatest if cut.whole else None
    return AtCut(wood, accepted, mesh, shares, greatest, force, reasons, known is not None)


def _acting(around: Around) -> Iterator[tuple[str, Actions]]:
    """Every load and reaction, as sentences name them; reactions from the mesh where statics does not give them."""
    for load in around.case.applied:
        name = "the self-weight" if load.name == "gravity" else f'load "{load.name}"'
        yield name, Actions.of([load])
    if around.reactions is not None:
        yield from ((f'the reaction of "{one.name}"', one.actions) for one in around.reactions)
        return
    for row in around.case.reactions:
        points, forces = np.array([row.at]), np.array([row.force])
        yield f'the reaction of "{row.name}"', Actions(points, forces, np.array([row.moment]))


def _shares(around: Around, cut: Cut, centroid: float) -> list[Share]:
    """What each action gives to V and M; after the cut with the sign with which that side's sum has it."""
    if not cut.whole:
        return []
    origin = cut.origin + centroid * cut.left
    found = []
    for name, actions in _acting(around):
        _, V, M = internal_forces(actions, origin, cut.axis)
        x, y, moment = actions.wrench(origin)
        across = float(np.array([x, y]) @ cut.left)
        found.append(Share(name, (V, M), (V + across, M - moment)))
    return found


def _total(around: Around, cut: Cut, centroid: float) -> Forces:
    origin = cut.origin + centroid * cut.left
    parts = [internal_forces(actions, origin, cut.axis) for _, actions in _acting(around)]
    N, V, M = np.sum(parts, axis=0).tolist()
    return N, V, M


def _beside(around: Around, cut: Cut) -> list[Forces]:
    """N, V, M on both sides of what acts on the cut itself."""
    on = [place for place in around.places if place.low < cut.position < place.high]
    ends = [end for place in on for end in (place.low - 1e-3, place.high + 1e-3)]
    return [forces for forces in map(around.forces_at, ends) if forces is not None]


def _sound(makeup: Makeup, cut: Cut) -> Section:
    """The section with holes and notches left out; of a cut through a part of the member, with holes left out."""
    layers: Sequence[Layer] = cut.gross_layers
    if not cut.whole:
        layers = [Layer(max(one.low, cut.low), min(one.high, cut.high), one.region) for one in layers]
    return makeup.section([one for one in layers if one.high - one.low > SMALL], cut.axis)


def _left_out(cut: Cut) -> str:
    notched = cut.whole and (cut.low - cut.gross[0] > SMALL or cut.gross[1] - cut.high > SMALL)
    words = ["the hole"] * (len(cut.ligaments) > 1) + ["the notch"] * notched
    return " and ".join(words)


def _first_moments(wood: Wood) -> list[float]:
    """Q at the height of the shear stress; at a gap that of one piece, and that of the deducted section, serve too.

    Where edges slope the shear stress may be greatest at a face, where Q is nothing: then Q at the axis counts.
    """
    found = [float(wood.net.Q(wood.height))]
    if wood.holed:
        found += [wood.b * (stop - start) ** 2 / 8 for start, stop in wood.pieces]
        found += [float(wood.net.Q(edge)) for piece in wood.pieces for edge in piece]
    least = 1e-9 * wood.net.A * wood.net.depth
    return [value for value in found if value > least] or [float(wood.net.Q(wood.net.centroid))]


def _reasons(around: Around, cut: Cut, summed: Summed, pressed: bool) -> Iterator[str]:
    """Why statics or the formulas may not hold at a cut, the weightiest first."""
    h, member = cut.depth, around.member
    if not cut.whole:
        yield "it goes through only a part of the member"
    if abs(summed.M) < abs(summed.V) * h:
        yield "M/(V h) is below 1, so that load goes across as a strut and beam theory does not apply"
    if len(cut.ligaments) > 1:
        yield "there is a hole in it"
    for hole in member.part.holes:
        position = float(member.position_of(np.array([hole.center]))[0])
        if len(cut.ligaments) == 1 and abs(position - cut.position) < h:
            yield f'hole "{hole.name}" is nearer than one depth'
    if any(abs(foot - cut.position) < h for foot in notch_feet(member)):
        yield "a notch is nearer than one depth"
    if pressed:
        yield "something acts on the cut itself"
    near = [f'"{one.name}"' for one in around.places if one.low - h < cut.position < one.high + h]
    if near:
        listed = " and ".join([", ".join(near[:-1])] * (len(near) > 1) + near[-1:])
        yield f"what acts at {listed} is nearer than one depth"
    slopes = edge_slopes(member, cut)
    if slopes is not None and max(map(abs, slopes)) > 0.01:
        yield "the edges slope"
    if skew(member, cut) > SKEW:
        yield f"the cut is {skew(member, cut):.0f} deg from square to the member"


def skew(member: Member, cut: Cut) -> float:
    """How far a cut is from square to the member's axis, deg."""
    return float(np.degrees(np.arccos(np.clip(cut.axis @ member.direction(cut.position), -1.0, 1.0))))


def drawn_note(member: Member, station: Station) -> str:
    """What to know of a cut of the part file: that it goes through a part of the member only, or is not square to it.

    Parameters
    ----------
    member : Member
    station : Station
    """
    if station.drawn is None:
        return ""
    cut, notes = station.cut, []
    if not cut.whole:
        all_of_it = member.shifted(cut, 0.0) or cut
        wood, whole = (sum(stop - start for start, stop in one.ligaments) for one in (cut, all_of_it))
        share = f"{wood:.3g} of {whole:.3g} mm of the member's depth" if wood < whole else "one limb of the member"
        notes.append(f"it goes through {share}: N, V and M are what the mesh carries there, statics gives them whole")
    if skew(member, cut) > SKEW:
        notes.append(f"it is {skew(member, cut):.0f} deg from square to the member")
    return "; ".join(notes)
