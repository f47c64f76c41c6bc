"""The hand calculation along the member, beside what the mesh says at the same cuts.

At each station: N, V and M from the mesh's stresses summed over the cut (and V by statics where the supports
allow), then V Q/(I t), M/S + N/A and the formulas for holes, tapers, bends and sloping grain, and the mesh's own
stress at the same height. Signs as in :mod:`fesolve.judge.statics`: heights run to the left of the member axis, N is
tension positive, V positive pushes the part before the cut to the left, M positive stretches the left side.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..mesh.mesh import Mesh
from ..part.model import Part
from .makeup import Makeup
from .member import SMALL, Cut, Layer, Member, bend_radius, edge_slopes, member_of
from .mine import compare
from .own_figures import Around, at_cut, drawn_note
from .rows_hand import Mine
from .section import InLayer, Section, layer_stresses, ligament_shear, sloping_grain, taper_shear, worst_shear
from .statics import Acting, Actions, HandReaction, Seat, internal_forces, seat, statics_reactions
from .stations import Extent, Scan, Station, choose_stations, extents
from .summary import Along, hand_summary, plain_stresses
from .verdict import HandDiagram, HandRow, HandSummary, ReactionRow, Takes
from .zones import woods_by_region

if TYPE_CHECKING:
    from ..mesh.outline import Outline
    from ..wood.model import Wood

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
StressAt = Callable[[FloatArray], FloatArray]
SECTIONS = 80  # sampled along the member for the diagrams
RAMP = 0.1  # slope of a notch's face from which it is a ramp and no taper
PANELS = 32  # of each ligament, closer together towards its faces; three Gauss points in each


@dataclass(frozen=True)
class HandCase:
    """One solved load case, as the hand calculation needs it.

    Parameters
    ----------
    name : str
        Of the case.
    applied : sequence of Acting
        Every load in it, factors in and self-weight included: ``name``, ``points`` (q, 2) mm, ``forces`` (q, 2) N.
    reactions : sequence of ReactionRow
        From the mesh.
    stress_at : callable
        Points (k, 2) mm to stresses (k, 3): sigma_x, sigma_y, tau_xy in MPa; nan outside the wood.
    reference : float
        The load that grows (``takes.of``) in this case, N; 1 where all loads grow together.
    """

    name: str
    applied: Sequence[Acting]
    reactions: Sequence[ReactionRow]
    stress_at: StressAt
    reference: float = 1.0


def hand_calculation(
    part: Part,
    outline: Outline,
    wood: Wood | Mapping[str, Wood],
    mesh: Mesh,
    *,
    cases: Sequence[HandCase],
    takes: Takes,
) -> tuple[tuple[HandRow, ...], tuple[HandDiagram, ...], HandSummary]:
    """Calculate the member by hand at its stations, beside the mesh.

    Parameters
    ----------
    part : Part
    outline : Outline
    wood : Wood, or mapping of str to Wood
        By region, ``part`` for the rest.
    mesh : Mesh
        For the patches of supports and loads (edges ``"support <name>"``, ``"load <name>"``).
    cases : sequence of HandCase
    takes : Takes
        What the mesh says the part takes, for the ratio.

    Returns
    -------
    rows : tuple of HandRow
        A dozen stations a case at most, and each cut of the part.
    diagrams : tuple of HandDiagram
        V and M at 80 sections a case.
    summary : HandSummary
        Of all cases together.

    Notes
    -----
    Where the supports make the part determinate ``shear_statics`` and the diagram's statics are from
    :func:`fesolve.judge.statics.statics_reactions`; else they are None and the mesh stands alone.

    Examples
    --------
    A plank of 38 x 140 mm with F = 10 kN between its bearings has V Q/(I t) = 1.5 * 10,000/(38 * 140) = 2.82 MPa.
    """
    found = sheets(part, outline, wood, mesh, cases)
    rows = [sheet.row(station) for sheet in found for station in sheet.stations]
    makeup, member = Makeup(part, woods_by_region(part, wood)), member_of(part, outline)
    along = [sheet.along for sheet in found]
    return tuple(rows), tuple(sheet.diagram for sheet in found), hand_summary(makeup, member, along, takes)


def sheets(
    part: Part, outline: Outline, wood: Wood | Mapping[str, Wood], mesh: Mesh, cases: Sequence[HandCase]
) -> list[Sheet]:
    """The calculation of each case, worked out as far as it is asked for; parameters as for `hand_calculation`."""
    member, makeup = member_of(part, outline), Makeup(part, woods_by_region(part, wood))
    return [Sheet(makeup, mesh, member, case) for case in cases]


class Summed(NamedTuple):
    """What the mesh's stresses add up to on a cut: N, V (N) and M (N mm), and the samples they came from."""

    N: float
    V: float
    M: float
    heights: FloatArray
    sigma: FloatArray
    tau: FloatArray
    across: FloatArray
    layer: IntArray

    def at(self, height: float, values: FloatArray, layer: int) -> float:
        """One of its stresses at a height within one layer of the cut."""
        mine = self.layer == layer
        return float(np.interp(height, self.heights[mine], values[mine])) if mine.any() else float("nan")


def sum_over(cuts: Sequence[Cut], stress_at: StressAt, makeup: Makeup) -> list[Summed | None]:
    """Add up the stresses on cuts: ``N = int b sigma``, ``V = int b tau``, ``M = int b sigma (y - centroid)``.

    Parameters
    ----------
    cuts : sequence of Cut
    stress_at : callable
        As in HandCase.
    makeup : Makeup
        For the thickness b at each height, and the grain, which the stress across it refers to.

    Returns
    -------
    list of Summed or None
        One a cut; None where no sample lies in the wood.
    """
    rules = [_rule(cut) for cut in cuts]
    if not rules:
        return []
    points = np.concatenate([cut.points(heights) for cut, (heights, _, _) in zip(cuts, rules, strict=True)])
    stress = stress_at(points)
    ends = np.cumsum([len(heights) for heights, _, _ in rules])[:-1]
    return [
        _summed(cut, rule, values, makeup)
        for cut, rule, values in zip(cuts, rules, np.split(stress, ends), strict=True)
    ]


Rule = tuple[FloatArray, FloatArray, IntArray]


def _rule(cut: Cut) -> Rule:
    """Gauss heights (k,), weights (k,) and layer (k,), closer together towards the layers' faces, where peaks are."""
    at, share = np.polynomial.legendre.leggauss(3)
    edges = (1 - np.cos(np.pi * np.arange(PANELS + 1) / PANELS)) / 2
    unit = (edges[:-1, None] + np.diff(edges)[:, None] * (at + 1) / 2).ravel()
    weight = (np.diff(edges)[:, None] * share / 2).ravel()
    layers = cut.layers
    heights = np.concatenate([low + (high - low) * unit for low, high, _ in layers])
    weights = np.concatenate([(high - low) * weight for low, high, _ in layers])
    return heights, weights, np.repeat(np.arange(len(layers)), len(unit))


def _summed(cut: Cut, rule: Rule, stress: FloatArray, makeup: Makeup) -> Summed | None:
    heights, weights, layer = rule
    good = np.isfinite(stress).all(axis=1)
    if not good.any():
        return None
    # a point a hair outside the mesh's sides takes its neighbour's stress
    stress = np.stack([np.interp(heights, heights[good], stress[good, s]) for s in range(3)], axis=1)
    sigma, tau = _on_plane(stress, cut.axis)
    layers = cut.layers
    choices = [makeup.choice(one.region) for one in layers]
    grain = np.radians([choice.grain for choice in choices])[layer]
    across, _ = _on_plane(stress, np.stack([-np.sin(grain), np.cos(grain)]))
    lever = heights - makeup.section(layers, cut.axis).centroid
    area = weights * np.array([choice.thickness for choice in choices])[layer]
    N, V, M = (float(area @ values) for values in (sigma, tau, sigma * lever))
    return Summed(N, V, M, heights, sigma, tau, across, layer)


def _on_plane(stress: FloatArray, normal: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Resolve into normal and shear stress on the plane of a normal (2,) or (2, k); shear positive to its left."""
    x, y = normal
    s_x, s_y, t = stress.T
    return s_x * x * x + s_y * y * y + 2 * t * x * y, (s_y - s_x) * x * y + t * (x * x - y * y)


class Shear(NamedTuple):
    """The hand calculation's greatest shear stress on a cut (MPa), its height and layer, and the formula in words."""

    tau: float
    height: float
    layer: int
    note: str


@dataclass(frozen=True, eq=False)
class Sheet:
    """The calculation of one case: N, V and M anywhere along the member, its stations and its diagram."""

    makeup: Makeup
    mesh: Mesh
    member: Member
    case: HandCase

    @property
    def part(self) -> Part:
        """The part that the member is."""
        return self.makeup.part

    @cached_property
    def seats(self) -> tuple[Seat, ...]:
        """Where supports and loads that do something sit."""
        acting = {load.name for load in self.case.applied if np.abs(load.forces).max(initial=0.0) > 0}
        size = {row.name: float(np.hypot(*row.force)) + abs(row.moment) / self.mesh.size for row in self.case.reactions}
        idle = {name for name, value in size.items() if value < 1e-3 * max(size.values())}
        held = [seat(self.part, self.mesh, "support", s.name, s.on) for s in self.part.supports if s.name not in idle]
        pushed = [seat(self.part, self.mesh, "load", s.name, s.on) for s in self.part.loads if s.name in acting]
        return (*held, *pushed)

    @cached_property
    def places(self) -> tuple[Extent, ...]:
        """The same as stretches of the axis, in order."""
        return extents(self.member, self.seats)

    @cached_property
    def reactions(self) -> tuple[HandReaction, ...] | None:
        """By statics; None where statics does not give them."""
        return statics_reactions(self.part, self.mesh, self.case.applied)

    @cached_property
    def actions(self) -> Actions | None:
        """All loads and reactions by statics."""
        if self.reactions is None:
            return None
        total = Actions.of(self.case.applied)
        for reaction in self.reactions:
            total = total + reaction.actions
        return total

    def statics(self, cut: Cut) -> tuple[float, float, float] | None:
        """N, V, M by statics; None where it does not give them."""
        if self.actions is None or not cut.whole:
            return None
        centroid = self.makeup.section(cut.layers, cut.axis).centroid
        return internal_forces(self.actions, cut.origin + centroid * cut.left, cut.axis)

    @cached_property
    def sampled(self) -> list[tuple[Cut, Summed]]:
        """80 sections along the member, those with hardly any wood left out."""
        positions = (np.arange(SECTIONS) + 0.5) / SECTIONS * self.member.length
        cuts = [cut for cut in map(self.member.cut, positions) if cut is not None]
        usual = float(np.median([cut.gross_depth for cut in cuts])) if cuts else 0.0
        return self._summed([cut for cut in cuts if cut.gross_depth > 0.2 * usual])

    def _summed(self, cuts: Sequence[Cut]) -> list[tuple[Cut, Summed]]:
        sums = sum_over(cuts, self.case.stress_at, self.makeup)
        return [(cut, s) for cut, s in zip(cuts, sums, strict=True) if s is not None]

    @cached_property
    def diagram(self) -> HandDiagram:
        """V and M along the member, by the mesh and by statics."""
        statics = [self.statics(cut) for cut, _ in self.sampled]
        known = [forces for forces in statics if forces is not None]
        complete = bool(known) and len(known) == len(statics)
        return HandDiagram(
            case=self.case.name,
            position=tuple(cut.position for cut, _ in self.sampled),
            shear_mesh=tuple(s.V for _, s in self.sampled),
            moment_mesh=tuple(s.M for _, s in self.sampled),
            shear_statics=tuple(V for _, V, _ in known) if complete else None,
            moment_statics=tuple(M for _, _, M in known) if complete else None,
        )

    @cached_property
    def along(self) -> Along:
        """N, V, M along the member: by statics where that goes, else from the mesh."""
        forces = np.array([self.statics(cut) or (s.N, s.V, s.M) for cut, s in self.sampled]).reshape(-1, 3)
        depth = np.array([cut.gross_depth for cut, _ in self.sampled])
        position = np.array([cut.position for cut, _ in self.sampled])
        scan = Scan(position, forces[:, 1], forces[:, 2], depth)
        plain = plain_stresses([cut for cut, _ in self.sampled], forces, self.makeup)
        return Along(self.case, scan, forces[:, 0], self.places, self.actions is not None, self.forces_at, plain)

    def forces_at(self, position: float) -> tuple[float, float, float] | None:
        """N, V, M at one more position, statics first."""
        cut = self.member.cut(position)
        if cut is None:
            return None
        known = self.statics(cut)
        if known is not None:
            return known
        summed = self._summed([cut])
        return (summed[0][1].N, summed[0][1].V, summed[0][1].M) if summed else None

    @cached_property
    def stations(self) -> list[tuple[Station, Summed]]:
        """The stations with what the mesh carries there."""
        if not self.sampled:
            return []
        chosen = choose_stations(self.member, self.along.scan, self.places)
        sums = sum_over([station.cut for station in chosen], self.case.stress_at, self.makeup)
        return [(station, s) for station, s in zip(chosen, sums, strict=True) if s is not None]

    def row(self, station_and_sum: tuple[Station, Summed]) -> HandRow:
        """Work out one station."""
        station, mesh = station_and_sum
        cut, layers = station.cut, station.cut.layers
        net = self.makeup.section(layers, cut.axis)
        shear = self._shear(cut, net, mesh)
        pulled = self.makeup.strength(layers, "tension_along")
        stresses = layer_stresses(net, mesh.N, mesh.M)
        face, pull = _worse_face(stresses, pulled), max(stresses, key=lambda one: one.stress / pulled[one.layer])
        across, across_height, across_note = self._across(cut, net, mesh, face)
        statics = self.statics(cut)
        tau_mesh = mesh.at(shear.height, mesh.tau, shear.layer)
        sigma_mesh = mesh.at(face.height, mesh.sigma, face.layer)
        notes = (shear.note, across_note, _transformed(net), drawn_note(self.member, station))
        low, high = cut.points(np.array([cut.low, cut.high])).tolist()
        return HandRow(
            station=station.name,
            case=self.case.name,
            at=((low[0], low[1]), (high[0], high[1])),
            depth=cut.depth,
            width=max(t for _, t in net.layers),
            A=net.A,
            I=net.I,
            Q=float(net.Q(shear.height)),
            S=net.I / max(abs(face.height - net.centroid), SMALL * net.depth),
            t=net.layers[shear.layer][1],
            axial=mesh.N,
            shear=mesh.V,
            moment=mesh.M,
            shear_statics=None if statics is None else statics[1],
            tau_vqit=shear.tau,
            tau_height=shear.height - cut.low,
            tau_mesh=tau_mesh,
            sigma_mcI=face.stress,
            sigma_mesh=sigma_mesh,
            short=abs(mesh.M) < abs(mesh.V) * cut.depth,
            mine=self._mine(station, net, mesh, shear, (shear.tau, tau_mesh, face.stress, sigma_mesh)),
            note="; ".join(note for note in notes if note),
            position=cut.position,
            sigma_90=across,
            sigma_90_mesh=None if across is None else mesh.at(across_height.height, mesh.across, across_height.layer),
            ratio=net.ratios[face.layer],
            sigma_pull=max(pull.stress, 0.0),
            moment_statics=None if statics is None else statics[2],
            **self._regions(shear_region=layers[shear.layer], sigma_region=layers[face.layer],
                            pull_region=layers[pull.layer]),
        )  # fmt: skip

    def _mine(
        self, station: Station, net: Section, mesh: Summed, shear: Shear, stresses: tuple[float, float, float, float]
    ) -> Mine | None:
        """The reader's own figures at a cut, if there are any for this case."""
        drawn = station.drawn
        if drawn is None or not drawn.mine or self.case.name != (drawn.case or self.part.cases[0].name):
            return None
        scan = self.along.scan
        greatest = float(np.abs(scan.V).max()), float(np.abs(scan.M).max())
        around = Around(
            self.makeup, self.member, self.places, self.case, self.reactions, self.forces_at, greatest
        )  # fmt: skip
        return compare(drawn.mine, at_cut(around, station.cut, net, mesh, shear, stresses))

    def _regions(self, **layers: Layer) -> dict[str, str]:
        """Names of the regions of some layers, empty where the part has none."""
        return {name: layer.region if self.part.regions else "" for name, layer in layers.items()}

    def _shear(self, cut: Cut, net: Section, mesh: Summed) -> Shear:
        """Choose the formula for the shear stress and evaluate it."""
        if len(cut.ligaments) > 1:
            return self._beside_hole(cut, mesh)
        strength = self.makeup.strength(cut.layers, "shear")
        slopes, note = edge_slopes(self.member, cut), "V Q/(I t)"
        if slopes is not None and max(map(abs, slopes)) > 0.01 and not _on_ramp(cut, slopes):
            if len(cut.layers) == 1:
                heights, b = np.linspace(cut.low, cut.high, 81), net.layers[0][1]
                tau = taper_shear(b, (cut.low, cut.high), slopes, (mesh.N, mesh.V, mesh.M), heights)
                k = int(np.argmax(np.abs(tau)))
                note = "taper: change along the member of the normal force beyond the height, per b"
                return Shear(float(tau[k]), float(heights[k]), 0, note)
            note += "; the taper is left out, for a section of one layer only is its formula known"
        return Shear(*worst_shear(net, mesh.V, strength), note)

    def _beside_hole(self, cut: Cut, mesh: Summed) -> Shear:
        """Shear in the beams on both sides of a hole, and which of them counts."""
        layers, count = cut.layers, len(cut.ligaments)
        many = {2: "two", 3: "three"}.get(count, str(count))
        if len({layer.region for layer in layers}) == 1:
            beams = ligament_shear(cut.ligaments, self.makeup.choice(layers[0].region).thickness, mesh.V)
            number = max(range(count), key=lambda i: abs(mesh.at(beams[i].middle, mesh.tau, i)))
            note = f"hole: {many} ligaments, V shared by depth, 1.5 V_i/(b h_i) in each; I and S deducted"
            found = Shear(beams[number].tau, beams[number].middle, number, note)
        else:
            note = f"hole: {many} ligaments, V shared by G A, V_i Q_i/(I_i t) in each; I and S deducted"
            found = Shear(*self._parallel(cut, mesh.V), note)
        if any(place.low < cut.position < place.high and place.on_hole for place in self.places):
            note += "; the pin gives its force across this cut, V is between those on its two sides"
        return found._replace(note=note)

    def _parallel(self, cut: Cut, V: float) -> InLayer:
        """The worst shear in beams that share V by their G A, each of its own layers."""
        layers = cut.layers
        G = [self.makeup.wood(one.region).plane.G for one in layers]
        t = [self.makeup.choice(one.region).thickness for one in layers]
        GA = np.array([g * b * (one.high - one.low) for g, b, one in zip(G, t, layers, strict=True)])
        found = []
        for low, high in cut.ligaments:
            mine = [i for i, one in enumerate(layers) if one.low >= low - SMALL and one.high <= high + SMALL]
            beam = [layers[i] for i in mine]
            section, strength = self.makeup.section(beam, cut.axis), self.makeup.strength(beam, "shear")
            worst = worst_shear(section, V * float(GA[mine].sum() / GA.sum()), strength)
            found.append((abs(worst.stress) / strength[worst.layer], worst._replace(layer=mine[worst.layer])))
        return max(found)[1]

    def _across(self, cut: Cut, net: Section, mesh: Summed, face: InLayer) -> tuple[float | None, InLayer, str]:
        """Stress across the grain by hand, in a bend or under a face that the grain meets at an angle."""
        bend = bend_radius(self.member, cut)
        if bend is not None:
            note = "bend: across the grain 1.5 M/(r b h), r the mean radius"
            if len(cut.layers) > 1:
                note = "bend: across the grain M Q/(I r t), r the mean radius"
            # the force between two fibres is M Q/(I r): 1.5 M/(r b h) in the middle of a rectangle
            worst = worst_shear(net, mesh.M / bend, self.makeup.strength(cut.layers, "tension_across"))
            return worst.stress, worst, note
        slopes = edge_slopes(self.member, cut) or (0.0, 0.0)
        slope = slopes[1] if face.height == net.high else slopes[0] if face.height == net.low else 0.0
        grain = self.makeup.choice(cut.layers[face.layer].region).grain
        angle = np.degrees(np.arctan2(cut.axis[1], cut.axis[0]) + np.arctan(slope)) - grain
        angle = float((angle + 90.0) % 180.0 - 90.0)
        if abs(angle) < 1.0:
            return None, face, ""
        value, _ = sloping_grain(face.stress, angle)
        note = (
            f"sloping grain, {abs(angle):.0f} deg to the stressed edge: sigma sin^2 across it, sigma sin cos along it"
        )
        return value, face, note


def _on_ramp(cut: Cut, slopes: tuple[float, float]) -> bool:
    """Whether a cut goes through the ramp of a notch, which ends too soon for a taper's stresses to settle."""
    notched = abs(cut.low - cut.gross[0]) > SMALL, abs(cut.high - cut.gross[1]) > SMALL
    return any(cut_away and abs(slope) > RAMP for cut_away, slope in zip(notched, slopes, strict=True))


def _worse_face(stresses: Sequence[InLayer], strength: FloatArray) -> InLayer:
    """The place with the greatest |M/S + N/A| over its strength; the most stretched of those that are alike."""
    share = np.array([one.stress / strength[one.layer] for one in stresses])
    alike = np.abs(share) >= np.abs(share).max() * (1 - 1e-6)
    return stresses[int(np.where(alike, share, -np.inf).argmax())]


def _transformed(net: Section) -> str:
    """A note on a section of unlike layers."""
    if len(set(net.ratios)) == 1:
        return ""
    ratios = ", ".join(f"{n:.2g}" for n in net.ratios)
    return f"transformed section, E over that of most of the wood, from the right face up: {ratios}"
