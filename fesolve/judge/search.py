"""The search for splits: a sweep over the whole part, a fine one where it is worst, and separate hot spots.

The first sweep has rows and samples close enough to see every stress that a splitting length can average; the second
has those that the answer is read from. Energies, bases and cases share the grain lines of one solved part.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..fem.solution import Solution
from .criteria import SplitLength, SplitStrength, split_utilisation
from .lines import GrainLines, Shape, row_heights, sample_lines, to_grain
from .splitting import PRESSED, Integrals, Windows, find_windows, worst_at_samples
from .zones import Zone

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
# which of the points (k, 2) lie so near a patch that pressed σ_0 does not count there
NearPatch = Callable[[Array], BoolArray]

ROWS = 20  # rows and starts per least splitting length in the fine sweep
STARTS = 40
LEAST_SPACING = 0.25  # mm, rows are not closer than this
LEAST_ROWS = 40  # but a shallow part has so many
MOST_SAMPLES = 4_000_000  # of the first sweep; beyond it rows stand further apart, at most a splitting length
SWEEP_ROWS, SWEEP_SAMPLES = 90, 900  # the first sweep needs no more than these over the part
SWEEP_STEPS, STRIDE = 12, 4  # but at least so many samples per least splitting length; a start at every fourth
QUICK_STRIDE = 8  # in the sweep that only compares
MOST_SPOTS = 5
NOISE = 1e-9  # what is below this share of the greatest stress is rounding
RIVAL = 0.93  # of the sweep's worst: windows near it that the fine sweep looks at as well
TIE = 1e-6  # mm
SPOT_SHARE = 0.5  # hot spots below this share of the worst are not listed
VALLEY = 0.9  # two spots are separate where the way between them dips below this share of the lesser


@dataclass(frozen=True)
class Spot:
    """One separate place: its worst window, and the point in it where the pointwise utilisation is greatest."""

    windows: Windows
    index: int
    at: Array
    at_along: float
    peak: float

    @property
    def utilisation(self) -> float:
        """Of its worst window."""
        return float(self.windows.utilisation[self.index])


@dataclass(frozen=True)
class SplitResult:
    """What one search finds.

    Attributes
    ----------
    spots : tuple of Spot
        Separate hot spots, worst first.
    sweep, fine : Windows
        All windows of the whole part, and those about the hot spots on closer lines.
    utilisation : (m,) array
        At each stress point the worst mean passing through it.
    """

    spots: tuple[Spot, ...]
    sweep: Windows
    fine: Windows
    utilisation: Array

    @property
    def worst(self) -> float:
        """Greatest utilisation; 0 where nothing is loaded."""
        return self.spots[0].utilisation if self.spots else 0.0


@dataclass(frozen=True)
class _Question:
    """One stress field and how it is judged."""

    stress: Array
    strength: SplitStrength
    length: SplitLength
    near: NearPatch | None


class SplitSearch:
    """Grain lines of one solved part, shared by all cases, energies and bases.

    Parameters
    ----------
    solution : Solution
    grain : float
        deg, one for all that is searched.
    least : float
        Least splitting length of all that will be asked, mm: it sets the spacing.
    corners : (k, 2) array
        Sharp re-entrant corners, each given a line on either side.
    unlimited : (p, 2) array, optional
        Points at which the stress has no limit, to be sampled with care.
    zone : Zone, optional
        The piece of the part that is searched; all of it without.
    """

    def __init__(
        self,
        solution: Solution,
        grain: float,
        least: float,
        corners: Array,
        unlimited: Array | None = None,
        zone: Zone | None = None,
    ) -> None:
        model = solution.model
        self.solution, self.least = solution, least
        elements = None if zone is None else zone.elements
        self.shape = Shape.of(model.mesh.points, model.cells, grain, unlimited, elements)
        self._own = np.arange(len(solution.stress_point)) if zone is None else np.flatnonzero(zone.points)
        thickness = model.cell_thickness
        stepped = np.ptp(thickness[self.shape.elements]) > 0.0
        self.thickness = thickness if stepped else None  # of each element, where it is not the same all over
        self._corners = to_grain(corners.reshape(-1, 2), grain)[:, 1]
        low, high = self.shape.bounds
        self._low, self._high = float(low[1]), float(high[1])
        wide, deep = (high - low).tolist()
        self.spacing = min(max(least / ROWS, LEAST_SPACING), deep / LEAST_ROWS)
        between = max(self.spacing, min(deep / SWEEP_ROWS, least * STRIDE / SWEEP_STEPS))
        step = max(least / STARTS, min(wide / SWEEP_SAMPLES, least / SWEEP_STEPS))
        if deep / between * wide / step > MOST_SAMPLES:
            between = min(deep / MOST_SAMPLES * wide / step, least)
        if deep / between * wide / step > 2 * MOST_SAMPLES:
            raise InputError(
                f"A splitting length of {least:.3g} mm is too short to search a part of {wide:.0f} by {deep:.0f} mm "
                "for: give greater fracture energies or a longer split_length, or draw less of the part.",
                key="wood.fracture",
            )
        self.between = between
        self.sweep = sample_lines(self.shape, row_heights(self._low, self._high, between, self._corners), step)

    def sampled(self, lines: GrainLines, stress: Array) -> Array:
        """Stress (N + K q, 3) in grain axes at the samples, then within the steep steps, from (m, 3) at the points."""
        sampler = self.solution.sampler
        return sampler.evaluate(stress, lines.element, lines.reference, self.solution.stress_cells)

    def run(
        self,
        stress: Array,
        strength: SplitStrength,
        length: SplitLength,
        near: NearPatch | None = None,
        beside: Sequence[Callable[[Windows], Array]] = (),
        *,
        quick: bool = False,
    ) -> SplitResult:
        """Search one stress field.

        Parameters
        ----------
        stress : (m, 3) array
            Stress in grain axes at the stress points, MPa.
        strength : SplitStrength
            On the basis that judges.
        length : SplitLength
        near : callable, optional
            Tells where pressed σ_0 does not count, for the combined mode.
        beside : sequence of callable
            Other utilisations (k,) of windows: the fine sweep looks where each is worst, too.
        quick : bool
            The first sweep alone, with fewer starts, and its worst window as the only spot: to compare like with like.
        """
        question = _Question(stress, strength, length, near)
        at_sweep = self.sampled(self.sweep, stress)
        # the state at which the part splits is not known yet: begin with one that scales with the loads
        even = at_sweep[: len(self.sweep.along)]
        state = float(np.quantile(split_utilisation(even[:, 1], even[:, 2], strength), 0.99))
        sweep = self._windows(question, self.sweep, at_sweep, state, QUICK_STRIDE if quick else STRIDE)
        if quick:
            return self._at_a_glance(sweep, at_sweep, strength)
        field = self.spread(sweep, sweep.utilisation)
        spots = self._spots(sweep, at_sweep, strength, field)
        state = float(sweep.utilisation.max(initial=0.0))
        centers = [(spot.index, sweep.utilisation) for spot in spots]
        for values in [other(sweep) for other in beside] if spots else []:
            centers.append((int(values.argmax()), values))
        lines = self._about(sweep, centers, length)
        at_fine = self.sampled(lines, stress)
        fine = self._windows(question, lines, at_fine, state)
        field = np.maximum(field, self.spread(fine, fine.utilisation, self.between))
        return SplitResult(self._spots(fine, at_fine, strength, field) or spots, sweep, fine, field)

    def _at_a_glance(self, sweep: Windows, stress: Array, strength: SplitStrength) -> SplitResult:
        """The worst window of a sweep alone, without a field."""
        nothing = np.zeros(len(self.solution.stress_point))
        if len(sweep.utilisation) == 0 or sweep.utilisation.max() <= _noise(stress, strength):
            return SplitResult((), sweep, sweep, nothing)
        pointwise = split_utilisation(stress[:, 1], stress[:, 2], strength)
        spot = _spot(sweep, int(sweep.utilisation.argmax()), pointwise)
        return SplitResult((spot,), sweep, sweep, nothing)

    def _windows(self, question: _Question, lines: GrainLines, stress: Array, state: float, stride: int = 1) -> Windows:
        along = stress[:, 0]
        if question.near is not None:
            near = question.near(lines.place(lines.stretch, lines.along))
            near = np.concatenate([near, np.repeat(near[lines.steep], lines.steep_weight.shape[1])])
            along = np.where((along < 0) & near, 0.0, along)
        thickness = None if self.thickness is None else self.thickness[lines.element]
        integrals = Integrals.of(lines, stress, along, PRESSED * question.strength.tension * state, thickness)
        return find_windows(integrals, question.strength, question.length, stride)

    def _about(self, w: Windows, centers: list[tuple[int, Array]], length: SplitLength) -> GrainLines:
        """Close rows about windows of the sweep, each worst by values (k,), sampled as far as theirs may reach."""
        heights, pieces = [np.empty(0)], [np.empty((0, 2))]
        grid = row_heights(self._low, self._high, self.spacing, self._corners)
        margin = 1.5 * self.between + self.spacing
        for index, values in centers:
            low, high = self._rivals(w, index, values)
            middle = _middles(w, np.array([index]))[0, 0]
            near = grid[(grid >= low - margin) & (grid <= high + margin)]
            reach = min(1.5 * length.greatest, 3.0 * w.length[index]) + 2 * self.least
            if w.short[index]:
                reach = np.inf
            heights.append(near)
            pieces.append(np.broadcast_to([middle - reach, middle + reach], (len(near), 2)))
        rows, which = np.unique(np.concatenate(heights), return_inverse=True)
        reach_of = np.column_stack([np.full(len(rows), np.inf), np.full(len(rows), -np.inf)])
        every = np.concatenate(pieces)
        np.minimum.at(reach_of[:, 0], which, every[:, 0])
        np.maximum.at(reach_of[:, 1], which, every[:, 1])
        return sample_lines(self.shape, rows, self.least / STARTS, reach_of)

    def _rivals(self, w: Windows, index: int, values: Array) -> tuple[float, float]:
        """Lowest and highest row near a window on which another comes so near that it may be the worst.

        The sweep's samples are too far apart to tell them in order where the stress is steep, at the edge of a hole.
        """
        close = np.append(np.flatnonzero(values >= RIVAL * values[index]), index)
        middles = _middles(w, close)
        beside = middles[(np.abs(middles - middles[-1]) <= self.least).all(axis=1)]
        return float(beside[:, 1].min()), float(beside[:, 1].max())

    def spread(self, windows: Windows, values: Array, reach: float = np.inf) -> Array:
        """At each stress point (m,) the worst of `values` over the windows through the nearest samples.

        Samples on the rows above and below count; further off than `reach` (mm), and outside the zone that is
        searched, the result is 0.
        """
        result = np.zeros(len(self.solution.stress_point))
        place = self.shape.sampler.points[self.solution.stress_point[self._own]]
        result[self._own] = _nearest(windows, values, place, reach)
        return result

    def _spots(self, windows: Windows, stress: Array, strength: SplitStrength, field: Array) -> tuple[Spot, ...]:
        """Separate hot spots, worst first: between two of them the field dips."""
        if len(windows.utilisation) == 0 or windows.utilisation.max() <= _noise(stress, strength):
            return ()
        candidates = _candidates(windows)
        use = windows.utilisation[candidates]
        candidates, use = candidates[use >= SPOT_SHARE * use[0]], use[use >= SPOT_SHARE * use[0]]
        pointwise = split_utilisation(stress[:, 1], stress[:, 2], strength)
        basins = _Basins(self.solution, self.shape, field)
        nodes = basins.nodes(_middles(windows, candidates))
        open_, spots, taken = np.ones(len(candidates), dtype=bool), list[Spot](), list[int]()
        while open_.any() and len(spots) < MOST_SPOTS:
            first = int(open_.argmax())
            basin = basins.about(nodes[first], VALLEY * use[first])
            if not basin[taken].any():
                spots.append(_spot(windows, int(candidates[first]), pointwise))
                taken.append(int(nodes[first]))
            open_ &= ~basin[nodes]
            open_[first] = False
        return tuple(spots)


def _noise(stress: Array, strength: SplitStrength) -> float:
    """A utilisation that is rounding beside the greatest stress."""
    return NOISE * float(np.abs(stress).max(initial=0.0)) / strength.shear


def _spot(windows: Windows, index: int, pointwise: Array) -> Spot:
    """A window with the sample in it where the pointwise utilisation (N,) is greatest."""
    lines = windows.lines
    low, high = (int(end[0]) for end in windows.take(np.array([index])).span())
    sample = low + int(pointwise[low : high + 1].argmax())
    at = lines.place(lines.stretch[[sample]], lines.along[[sample]])[0]
    return Spot(windows, index, at, float(lines.along[sample]), float(pointwise[sample]))


def _middles(windows: Windows, chosen: IntArray) -> Array:
    """Middles (k, 2) of windows in u, v."""
    lines, start = windows.lines, windows.start[chosen]
    middle = lines.along[start] + 0.5 * windows.sense[chosen] * windows.length[chosen]
    return np.column_stack([middle, lines.heights[lines.row[lines.stretch[start]]]])


class _Basins:
    """Tells hot spots apart: two are one as long as the field stays high on some way between them.

    Ways may cross a step in thickness: at a mesh point the greater of both sides counts.
    """

    def __init__(self, solution: Solution, shape: Shape, field: Array) -> None:
        corners = solution.model.cells[shape.elements, :3]
        self._field = np.zeros(len(solution.model.mesh.points))
        np.maximum.at(self._field, solution.stress_point, field)
        self._links = np.concatenate([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [2, 0]]])
        self._least = self._field[self._links].min(axis=1)
        self._corners, self._sampler = corners, shape.sampler

    def nodes(self, places: Array) -> IntArray:
        """For places (k, 2) in u, v the corner of the element there at which the field is greatest, (k,)."""
        element, _ = self._sampler.locate(places)
        corners = self._corners[np.maximum(element, 0)]
        return np.asarray(np.take_along_axis(corners, self._field[corners].argmax(axis=1)[:, None], axis=1)[:, 0])

    def about(self, node: int, level: float) -> BoolArray:
        """The mesh points (n,) that hang together with one by way of points at or above a level."""
        from scipy.sparse import coo_array
        from scipy.sparse.csgraph import connected_components

        links = self._links[self._least >= level]
        count = len(self._field)
        graph = coo_array((np.ones(len(links)), (links[:, 0], links[:, 1])), shape=(count, count))
        labels = connected_components(graph, directed=False)[1]
        return np.asarray(labels == labels[node])


def _nearest(windows: Windows, worst: Array, place: Array, reach: float) -> Array:
    """Values (m,) of the worst windows at the samples nearest to points (m, 2) in u, v; 0 further off than `reach`."""
    lines = windows.lines
    if len(lines.along) == 0:
        return np.zeros(len(place))
    values = worst_at_samples(windows, worst)
    row = lines.row[lines.stretch]
    base, width = float(lines.along.min()), 2.0 * float(np.ptp(lines.along)) + 1.0
    key = row * width + lines.along - base
    upper = np.searchsorted(lines.heights, place[:, 1])
    best, distance = np.zeros(len(place)), np.full(len(place), np.inf)
    for shift in (-1, 0):
        height = np.clip(upper + shift, 0, len(lines.heights) - 1)
        right = np.searchsorted(key, height * width + np.clip(place[:, 0] - base, -0.1, 0.75 * width))
        for sample in (np.clip(right - 1, 0, len(key) - 1), np.clip(right, 0, len(key) - 1)):
            away = np.hypot(lines.along[sample] - place[:, 0], lines.heights[row[sample]] - place[:, 1])
            nearer, level = away < distance - TIE, np.abs(away - distance) <= TIE  # of two as near the worse counts
            found = np.where(nearer, values[sample], np.where(level, np.maximum(values[sample], best), best))
            best = np.where(away <= reach, found, best)
            distance = np.where(nearer & (away <= reach), away, distance)
    return best


def _candidates(windows: Windows) -> IntArray:
    """Indices of the worst window in each quarter window of each stretch, worst first."""
    lines = windows.lines
    stretch = lines.stretch[windows.start]
    block = (lines.along[windows.start] // max(0.25 * float(windows.length.min()), 1e-3)).astype(np.int64)
    order = np.lexsort((-windows.utilisation, block, stretch))
    fresh = np.ones(len(order), dtype=bool)
    fresh[1:] = (np.diff(stretch[order]) != 0) | (np.diff(block[order]) != 0)
    chosen = order[fresh]
    return np.asarray(chosen[np.argsort(-windows.utilisation[chosen], kind="stable")])
