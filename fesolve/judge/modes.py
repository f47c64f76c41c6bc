"""The failure modes, one function each: from a case's stress to a row of the verdict.

What is measured and what decides is the table in docs/theory.md; peaks are shown and never decide.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ..bases import DESIGN
from ..fem.solution import Solution
from ..mesh.outline import Outline
from ..part.model import Part
from ..part.regions import BODY as REST
from ..wood.model import Wood
from .criteria import SplitLength, SplitStrength, split_utilisation
from .edges import DEPTH, EdgeProbes, edge_probes
from .further import Further
from .interaction import PlaneStrength
from .of_wood import combined_use, plane_strength, split_lengths, split_strength
from .patches import Patch, near_any
from .pull import pulled, pulled_by_hand
from .samples import Samples
from .search import NOISE, SplitResult, SplitSearch
from .splitting import Windows
from .unlimited import NO_LIMIT, Unlimited, place_near, sharp_corners, unlimited_places
from .verdict import (
    COMBINED,
    COMPRESSION_ALONG,
    SHEAR,
    SPLITTING,
    TENSION_ACROSS,
    TENSION_ALONG,
    BesideRow,
    HandRow,
    ModeRow,
)
from .where import anchor_of, place_text
from .zones import Zone, region_of

Array = NDArray[np.float64]
Row = TypeVar("Row", bound=ModeRow)

COMBINED_MARGIN = 1.05  # combined decides only where it exceeds its parts by more than this
NEAR_GRAIN = 45.0  # deg, an edge within this of the grain counts as along it


@dataclass(frozen=True)
class Inspection:
    """Everything that the modes look at, for one zone of a solved part; shared by all its cases.

    Without a `zone` all of the part is one, with the grain of the part. `further` are the modes of other packages.
    """

    part: Part
    outline: Outline
    wood: Wood
    solution: Solution
    patches: dict[tuple[str, str], Patch]
    grown: tuple[Unlimited, ...] = ()
    zone: Zone | None = None
    further: tuple[Further, ...] = ()

    def with_wood(self, wood: Wood) -> Inspection:
        """The same solution with other strengths or energies; the lines that are looked along are kept."""
        other = replace(self, wood=wood)
        kept = ("search", "unlimited", "probes")
        vars(other).update({name: vars(self)[name] for name in kept if name in vars(self)})
        return other

    @property
    def grain(self) -> float:
        """From +x to the fibres, deg."""
        return self.part.wood.grain if self.zone is None else self.zone.grain

    @property
    def regions(self) -> tuple[str, ...]:
        """The regions that are looked at; empty where the part has none."""
        return () if self.zone is None or not self.part.regions else self.zone.regions

    def mine(self, stress: Array) -> Array:
        """Stress (m, 3) at the stress points, with nothing outside the zone."""
        return stress if not self.regions or self.zone is None else np.where(self.zone.points[:, None], stress, 0.0)

    def rows(self, hand: Sequence[HandRow], case: str, where: Callable[[HandRow], str]) -> list[HandRow]:
        """The stations of a case whose place, by the region that `where` names, lies in the zone."""
        return [row for row in hand if row.case == case and (not self.regions or where(row) in self.regions)]

    @cached_property
    def strength(self) -> SplitStrength:
        """Splitting strengths on the basis."""
        return split_strength(self.wood)

    @cached_property
    def plane_strength(self) -> PlaneStrength:
        """All five strengths on the basis; where codes have several, those of splitting, and of bending."""
        return plane_strength(self.wood)

    @cached_property
    def lengths(self) -> tuple[SplitLength, SplitLength]:
        """Splitting length with the low and with the high energies; always from mean strengths."""
        return split_lengths(self.wood)

    @cached_property
    def search(self) -> SplitSearch:
        """Grain lines, spaced for the shorter of both lengths."""
        least = min(length.least for length in self.lengths)
        places = np.array([place.at for place in self.unlimited]).reshape(-1, 2)
        ends = [place for line in self.outline.interfaces for place in (line.start, line.end)]
        corners = np.concatenate([sharp_corners(self.outline), np.array(ends).reshape(-1, 2)])
        return SplitSearch(self.solution, self.grain, least, corners, places, self.zone)

    @cached_property
    def unlimited(self) -> tuple[Unlimited, ...]:
        """Places where the stress has no limit, by the drawing and by growth from mesh to mesh."""
        return (*unlimited_places(self.part, self.outline, self.solution), *self.grown)

    def peak(self, case: str, values: Array) -> tuple[float | None, str]:
        """Greatest of values (m,) at the stress points; None, and a note on the place, where it has no limit."""
        point = int(values.argmax())
        place = self.place_near(case, self.solution.model.mesh.points[self.solution.stress_point[point]])
        return (float(values[point]), "") if place is None else (None, f"{NO_LIMIT}{place.what}")

    def place_near(self, case: str, at: Array) -> Unlimited | None:
        """The place without a limit at which a point (2,) mm lies, if it lies at one."""
        return place_near(self.unlimited, self._number(case), self.solution, at)

    def places(self, case: str) -> Array:
        """Points (p, 2) without a limit in a case, mm."""
        number = self._number(case)
        return np.array([place.at for place in self.unlimited if place.case in (None, number)]).reshape(-1, 2)

    def along(self, case: str, stress: Array) -> Array:
        """Means of σ_0 (k,) from the surface for stress (m, 3) of a case, one a probe."""
        return self.probes.means(self.solution, stress, self.places(case))

    def clear(self, case: str) -> NDArray[np.bool_]:
        """Which stress points (m,) are further than 5 mm from places without a limit; all if none is."""
        points = self.solution.model.mesh.points[self.solution.stress_point]
        away = np.full(len(points), np.inf)
        for place in self.places(case):
            away = np.minimum(away, np.linalg.norm(points - place, axis=1))
        return away > DEPTH if (away > DEPTH).any() else np.ones(len(points), dtype=bool)

    def _number(self, case: str) -> int:
        return [one.name for one in self.part.cases].index(case)

    @cached_property
    def samples(self) -> Samples:
        """Quadrature over the wood."""
        return Samples.of(self.solution, None if self.zone is None else self.zone.elements)

    @cached_property
    def probes(self) -> EdgeProbes:
        """Short lines into the wood from every edge."""
        lines = np.array([(line.start, line.end) for line in self.outline.interfaces]).reshape(-1, 2, 2)
        return edge_probes(self.solution, self.zone, lines)

    @cached_property
    def band(self) -> bool:
        """Whether low and high energies differ."""
        return self.lengths[0] != self.lengths[1]

    def row(self, case: str, mode: str, value: float, allowable: float, at: Array | None, **more: object) -> ModeRow:
        """A row with its place put into words; the utilisation is value/allowable unless given."""
        anchor = anchor_of(self.outline, self.part, at) if at is not None else None
        region = region_of(self.part, self.zone, np.asarray(at)) if at is not None else ""
        fields: dict[str, object] = {
            "case": case, "mode": mode, "end": "breaks", "decides": True, "value": value, "allowable": allowable,
            "utilisation": abs(value) / allowable, "at": None if at is None else (float(at[0]), float(at[1])),
            "where": place_text(at, anchor, region) if at is not None and anchor is not None else "", "peak": None,
            "note": "", "measured_from": anchor, "region": region,
        }  # fmt: skip
        kind = BesideRow if more.pop("beside", False) else ModeRow
        return kind(**{**fields, **more})  # type: ignore[arg-type]


@dataclass(frozen=True)
class CaseField:
    """One case's stress (m, 3) in grain axes at the stress points, and its splits for both energies."""

    name: str
    stress: Array
    low: SplitResult
    high: SplitResult
    pressing: tuple[Patch, ...] = ()


@dataclass(frozen=True)
class Look:
    """One zone of a solved part, and what was found in it: a field a case."""

    inspection: Inspection
    fields: tuple[CaseField, ...]

    @property
    def wood(self) -> Wood:
        """Of the zone."""
        return self.inspection.wood

    @property
    def names(self) -> tuple[str, ...]:
        """The regions that the zone is made of."""
        return self.inspection.zone.regions if self.inspection.zone is not None else (REST,)


def inspect_case(
    inspection: Inspection,
    name: str,
    stress: Array,
    pressing: tuple[Patch, ...] = (),
    *,
    high: bool = False,
    quick: bool = False,
) -> CaseField:
    """Sweep one case for splits with the low energies, or the high ones; `pressing` patches push into the wood."""
    stress = inspection.mine(stress)
    low = _searched(inspection, stress, inspection.lengths[int(high)], pressing, quick=quick)
    return CaseField(name, stress, low, low, pressing)


def _searched(
    inspection: Inspection, stress: Array, length: SplitLength, pressing: tuple[Patch, ...], *, quick: bool = False
) -> SplitResult:
    deciding = [one.name for one in inspection.further if one.mode.decides]
    beside = [of_windows(inspection, mode) for mode in (COMBINED, *deciding)]
    return inspection.search.run(stress, inspection.strength, length, near_any(pressing), beside, quick=quick)


def with_high(inspection: Inspection, field: CaseField) -> CaseField:
    """The same case swept with the high energies as well."""
    if not inspection.band:
        return field
    return replace(field, high=_searched(inspection, field.stress, inspection.lengths[1], field.pressing))


def breaking_rows(zones: Sequence[tuple[Inspection, CaseField]], hand: tuple[HandRow, ...]) -> list[ModeRow]:
    """All modes that break, for one case: of each the row of the zone in which it is worst."""
    split = worst_of([splitting_row(*zone) for zone in zones])
    stretched = [tension_along_row(*zone, hand) for zone in zones]
    along = worst_of(stretched)
    parts = max(split.utilisation, along.utilisation)
    return [
        split,
        worst_of([shear_row(*zone, hand) for zone in zones]),
        worst_of([tension_across_row(*zone) for zone in zones]),
        along,
        worst_of([combined_row(*zone, parts, row.allowable) for zone, row in zip(zones, stretched, strict=True)]),
        *(worst_of([further_row(*zone, one) for zone in zones]) for one in zones[0][0].further),
    ]


def worst_of(rows: Sequence[Row]) -> Row:
    """The row with the greatest utilisation."""
    return max(rows, key=lambda row: row.utilisation)


def splitting_row(inspection: Inspection, field: CaseField) -> ModeRow:
    """Worst mean over a length of fibres; value and allowable are shear on the ray of the worst window."""
    pointwise = split_utilisation(field.stress[:, 1], field.stress[:, 2], inspection.strength)
    peak, no_limit = inspection.peak(field.name, pointwise)
    if not field.low.spots:
        f = inspection.strength.shear
        return inspection.row(field.name, SPLITTING, 0.0, f, None, peak=peak)
    spot = field.low.spots[0]
    w, i = spot.windows, spot.index
    size, use = float(np.hypot(w.across[i], w.shear[i])), float(w.utilisation[i])
    note = (
        f"mean over {w.length[i]:.1f} mm of fibres: {w.across[i]:.2f} MPa across the grain, {w.shear[i]:.2f} MPa shear"
    )
    if w.short[i]:
        note += "; the line is shorter than the splitting length: rough"
    note += no_limit
    allowable = size / use
    means = means_of(w, i)
    return inspection.row(
        field.name, SPLITTING, size, allowable, spot.at, utilisation=use, peak=peak, note=note, means=means
    )


def shear_row(inspection: Inspection, field: CaseField, hand: tuple[HandRow, ...]) -> ModeRow:
    """Greatest |mean τ| over the windows, or V Q/(I t) where that is greater; decides on the design basis only."""
    f, decides = inspection.wood.strengths["shear"].value, inspection.wood.basis == DESIGN
    windows = max((field.low.sweep, field.low.fine), key=lambda w: float(np.abs(w.shear).max(initial=0.0)))
    peak, no_limit = inspection.peak(field.name, np.abs(field.stress[:, 2]))
    if len(windows.shear) == 0:
        return inspection.row(field.name, SHEAR, 0.0, f, None, decides=decides, peak=peak)
    i = int(np.abs(windows.shear).argmax())
    value, at, note = float(abs(windows.shear[i])), _middle(windows, i), "mean over a splitting length"
    rows = inspection.rows(hand, field.name, lambda row: row.shear_region)
    by_hand = max(rows, key=lambda row: abs(row.tau_vqit), default=None)
    if by_hand is not None and abs(by_hand.tau_vqit) > value:
        value, at, note = abs(by_hand.tau_vqit), np.mean(by_hand.at, axis=0), f"V Q/(I t), {by_hand.station}"
    return inspection.row(field.name, SHEAR, value, f, at, decides=decides, peak=peak, note=note + no_limit)


def tension_across_row(inspection: Inspection, field: CaseField) -> ModeRow:
    """The peak, shown: it is inside splitting and never decides alone.

    Where it has no limit the greatest value further than 5 mm from such places stands in for it.
    """
    across = field.stress[:, 1]
    peak, no_limit = inspection.peak(field.name, across)
    if peak is None:
        across = np.where(inspection.clear(field.name), across, -np.inf)
    point = int(across.argmax())
    value = max(float(across[point]), 0.0)
    at = inspection.solution.model.mesh.points[inspection.solution.stress_point[point]]
    f = inspection.wood.strengths["tension_across"].value
    note = "a peak, shown; splitting decides"
    if no_limit:
        note = f"the greatest further than {DEPTH:g} mm from places without a limit; splitting decides{no_limit}"
    return inspection.row(field.name, TENSION_ACROSS, value, f, at, decides=False, peak=peak, note=note)


def tension_along_row(inspection: Inspection, field: CaseField, hand: tuple[HandRow, ...]) -> ModeRow:
    """Mean of σ_0 over 5 mm from the surface, or M/S on the net section where that is greater."""
    wood = inspection.wood
    means = inspection.along(field.name, field.stress)
    peak, no_limit = inspection.peak(field.name, field.stress[:, 0])
    value, f, at, note = 0.0, wood.bending.value, None, "mean over 5 mm from the surface"
    if len(means) and means.max() > NOISE * float(np.abs(field.stress).max()):
        strength = pulled(inspection, field.stress, means)
        i = int((means / strength).argmax())
        value, f, at = float(means[i]), float(strength[i]), inspection.probes.points[i]
    rows = inspection.rows(hand, field.name, lambda row: row.pull_region)
    by_hand = max(rows, key=lambda row: row.sigma_pull / pulled_by_hand(row, wood), default=None)
    if by_hand is not None and by_hand.sigma_pull / pulled_by_hand(by_hand, wood) > value / f:
        value, f = by_hand.sigma_pull, pulled_by_hand(by_hand, wood)
        at, note = np.mean(by_hand.at, axis=0), f"M/S, {by_hand.station}"
    return inspection.row(field.name, TENSION_ALONG, value, f, at, peak=peak, note=note + no_limit)


def combined_row(inspection: Inspection, field: CaseField, parts: float, pull: float | None = None) -> ModeRow:
    """The chosen interaction on splitting's windows; decides only where it exceeds its parts by more than 5 %.

    `pull` (MPa) is the strength of stretched fibres, by default that in bending.
    """
    use, at, means = 0.0, None, None
    notes: list[str] = [inspection.part.judging.combined]
    for windows in (field.low.sweep, field.low.fine):
        values = combined_of(inspection, windows, pull)
        if len(values) and values.max() > use:
            best = int(values.argmax())
            use, at, means = float(values[best]), _middle(windows, best), means_of(windows, best)
            along, across, shear = means
            mean = f"mean over {windows.length[best]:.1f} mm of fibres: {along:.2f} MPa along the grain"
            notes[1:] = [f"{mean}, {across:.2f} across it, {shear:.2f} shear"]
    decides = use > COMBINED_MARGIN * parts
    if not decides:
        notes.append("shown: not more than 5 % above its parts")
    end = "crushes" if means is not None and _crushes(inspection, means) else "breaks"
    return inspection.row(
        field.name, COMBINED, use, 1.0, at, decides=decides, note="; ".join(notes), means=means, end=end
    )


def _crushes(inspection: Inspection, means: tuple[float, float, float]) -> bool:
    """Whether pressure along the fibres has the greatest share in stresses that act together, each over its strength.

    What then gives way are fibres that buckle and fold, not fibres that part.
    """
    f = inspection.plane_strength
    along, across, shear = means
    pressed = split_utilisation(np.array([min(across, 0.0)]), np.array([shear]), inspection.strength)
    return -along / f.compression_along > max(across / f.tension_across, float(pressed[0]))


def means_of(windows: Windows, index: int) -> tuple[float, float, float]:
    """Means of σ_0, σ_90, τ (MPa) over one window."""
    return float(windows.along[index]), float(windows.across[index]), float(windows.shear[index])


def combined_of(inspection: Inspection, windows: Windows, pull: float | None = None) -> Array:
    """Combined utilisation (k,) of windows; `pull` (MPa) the strength of stretched fibres."""
    return combined_of_means(inspection, np.column_stack([windows.along, windows.across, windows.shear]), pull)


def combined_of_means(inspection: Inspection, mean: Array, pull: float | None = None) -> Array:
    """Combined utilisation (k,) of means (k, 3) of σ_0, σ_90, τ; `pull` (MPa) the strength of stretched fibres."""
    f = inspection.plane_strength if pull is None else replace(inspection.plane_strength, tension_along=pull)
    return combined_use(mean, f, inspection.strength, inspection.part.judging.combined)


def of_means(inspection: Inspection, mode: str) -> Callable[[Array], Array]:
    """The utilisation (k,) of means (k, 3) of σ_0, σ_90, τ by all stresses together, or by a mode of others."""
    if mode == COMBINED:
        return lambda mean: combined_of_means(inspection, mean)
    further = next(one for one in inspection.further if one.name == mode)
    return lambda mean: further.use(mean, inspection.plane_strength, inspection.wood)


def of_windows(inspection: Inspection, mode: str) -> Callable[[Windows], Array]:
    """The same of windows."""
    use = of_means(inspection, mode)
    return lambda windows: use(np.column_stack([windows.along, windows.across, windows.shear]))


def further_row(inspection: Inspection, field: CaseField, further: Further) -> ModeRow:
    """A mode of another package on splitting's windows: it is judged by means as all are, its peak is shown."""
    use, at, means, note = 0.0, None, None, f"from {further.package}"
    pointwise = of_means(inspection, further.name)
    peak, no_limit = inspection.peak(field.name, pointwise(field.stress))
    for windows in (field.low.sweep, field.low.fine):
        values = of_windows(inspection, further.name)(windows)
        if len(values) and values.max() > use:
            best = int(values.argmax())
            use, at, means = float(values[best]), _middle(windows, best), means_of(windows, best)
            note = f"from {further.package}; mean over {windows.length[best]:.1f} mm of fibres"
    mode = further.mode
    return inspection.row(
        field.name, further.name, use, 1.0, at, decides=mode.decides, end=mode.end, peak=peak, means=means,
        note=note + no_limit,
    )  # fmt: skip


def _middle(windows: Windows, index: int) -> Array:
    lines = windows.lines
    start = windows.start[index]
    along = lines.along[start] + 0.5 * windows.sense[index] * windows.length[index]
    return np.asarray(lines.place(lines.stretch[[start]], np.array([along]))[0])


# ---- what crushes or dents, reported beside


def crushing_row(inspection: Inspection, field: CaseField) -> BesideRow:
    """Mean of pressed σ_0 over 5 mm from the surface, away from patches that press on edges along the grain."""
    f = inspection.wood.strengths["compression_along"].value
    means = inspection.along(field.name, field.stress)
    keep = ~_under_patches(inspection, field.pressing, inspection.probes.points)
    value, at = 0.0, None
    if keep.any() and means[keep].min() < 0.0:
        i = int(np.where(keep, means, np.inf).argmin())
        value, at = float(-means[i]), inspection.probes.points[i]
    peak, no_limit = inspection.peak(field.name, -field.stress[:, 0])
    note = "mean over 5 mm from the surface" + no_limit
    row = inspection.row(
        field.name, COMPRESSION_ALONG, value, f, at, end="crushes", decides=False, peak=peak, note=note, beside=True
    )
    assert isinstance(row, BesideRow)
    return row


def _under_patches(inspection: Inspection, pressing: tuple[Patch, ...], points: Array) -> NDArray[np.bool_]:
    """Points within min(patch length, D/4) of a patch on an edge within 45 deg of the grain."""
    across = _across(inspection)
    depth = float(np.ptp(inspection.solution.model.mesh.points @ across))
    near = np.zeros(len(points), dtype=bool)
    for patch in pressing:
        if patch.diameter is None and abs(patch.normal @ across) < np.cos(np.radians(NEAR_GRAIN)):
            continue
        near |= patch.within(points, min(patch.length, depth / 4))
    return near


def _across(inspection: Inspection) -> Array:
    """Unit vector (2,) across the grain."""
    grain = np.radians(inspection.grain)
    return np.array([-np.sin(grain), np.cos(grain)])
