"""The search for splits: coarse windows over the whole part, fine ones where it is worst, and separate hot spots."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..fem.boundary import boundary_sides
from ..fem.solution import Solution
from .criteria import SplitLength, SplitStrength, split_utilisation
from .lines import GrainLines, row_heights, sample_lines, to_grain
from .splitting import PRESSED, Integrals, Windows, find_windows, worst_at_samples

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
# which of the points (k, 2) lie so near a patch that pressed σ_0 does not count there
NearPatch = Callable[[Array], BoolArray]

COARSE = 8  # samples per least splitting length in the first sweep
FINE = 40
ROWS = 20
LEAST_SPACING = 0.25  # mm
MOST_SPOTS = 5
SPOT_SHARE = 0.5  # hot spots below this share of the worst are not listed


@dataclass(frozen=True)
class Spot:
    """One separate place: its worst window, and the point in it where the pointwise utilisation is greatest."""

    windows: Windows
    index: int
    at: Array
    at_along: float
    peak: float


@dataclass(frozen=True)
class SplitResult:
    """What one sweep finds.

    Attributes
    ----------
    spots : tuple of Spot
        Separate hot spots, worst first.
    coarse, fine : Windows
        All windows of the whole part, and of the rows through the hot spots.
    utilisation : (m,) array
        At each stress point the worst mean passing through it.
    """

    spots: tuple[Spot, ...]
    coarse: Windows
    fine: Windows
    utilisation: Array

    @property
    def worst(self) -> float:
        """Greatest utilisation; 0 where nothing is loaded."""
        return max(float(self.coarse.utilisation.max(initial=0.0)), float(self.fine.utilisation.max(initial=0.0)))


class SplitSearch:
    """Grain lines of one solved part, shared by all cases, energies and bases.

    Parameters
    ----------
    solution : Solution
    grain : float
        deg, one for the whole part.
    least : float
        Least splitting length of all that will be asked, mm: it sets the spacing.
    corners : (k, 2) array
        Sharp re-entrant corners, each given a line on either side.
    """

    def __init__(self, solution: Solution, grain: float, least: float, corners: Array) -> None:
        model = solution.model
        self.solution, self.grain, self.least = solution, grain, least
        self._sides = boundary_sides(model.cells)
        self._turned = to_grain(model.mesh.points, grain)
        low, high = self._turned[:, 1].min(), self._turned[:, 1].max()
        spacing = max(least / ROWS, LEAST_SPACING)
        beside = to_grain(corners.reshape(-1, 2), grain)[:, 1]
        self.coarse = self._lines(row_heights(float(low), float(high), spacing, beside), least / COARSE)

    def _lines(self, heights: Array, step: float) -> GrainLines:
        model = self.solution.model
        return sample_lines(model.mesh.points, model.cells, self._sides, self.grain, heights, step)

    def stress(self, lines: GrainLines, stress: Array) -> Array:
        """Stress (N, 3) in grain axes at the samples, from stress (m, 3) at the stress points."""
        sampler = self.solution.sampler
        return sampler.evaluate(stress, lines.element, lines.reference, self.solution.stress_cells)

    def run(
        self, stress: Array, strength: SplitStrength, length: SplitLength, near: NearPatch | None = None
    ) -> SplitResult:
        """Sweep one stress field.

        Parameters
        ----------
        stress : (m, 3) array
            Stress in grain axes at the stress points, MPa.
        strength : SplitStrength
            On the basis that judges.
        length : SplitLength
        near : callable, optional
            Tells where pressed σ_0 does not count, for the combined mode.
        """
        sampled = self.stress(self.coarse, stress)
        # the state at which the part splits is not known yet: begin with one that scales with the loads
        state = float(np.quantile(split_utilisation(sampled[:, 1], sampled[:, 2], strength), 0.99))
        coarse = self._windows(self.coarse, sampled, strength, length, near, state)
        state = float(coarse.utilisation.max(initial=0.0))
        rows = self._rows_of(_spots(coarse, sampled, strength))
        lines = self._lines(self.coarse.heights[rows], self.least / FINE)
        sampled_fine = self.stress(lines, stress)
        fine = self._windows(lines, sampled_fine, strength, length, near, state)
        spots = _spots(fine, sampled_fine, strength)
        return SplitResult(spots, coarse, fine, self._at_points(coarse, fine))

    def _windows(
        self,
        lines: GrainLines,
        stress: Array,
        strength: SplitStrength,
        length: SplitLength,
        near: NearPatch | None,
        state: float,
    ) -> Windows:
        along = stress[:, 0]
        if near is not None:
            along = np.where((along < 0) & near(lines.place(lines.stretch, lines.along)), 0.0, along)
        integrals = Integrals.of(lines, stress, along, PRESSED * strength.tension * state)
        return find_windows(integrals, strength, length)

    def _rows_of(self, spots: tuple[Spot, ...]) -> IntArray:
        """Rows through the hot spots and two on either side."""
        lines = self.coarse
        middle = np.array([lines.row[lines.stretch[spot.windows.start[spot.index]]] for spot in spots], dtype=np.int64)
        rows = (middle[:, None] + np.arange(-2, 3)).reshape(-1)
        return np.unique(rows[(rows >= 0) & (rows < len(lines.heights))])

    def spread(self, windows: Windows, values: Array, reach: float = np.inf) -> Array:
        """At each stress point (m,) the worst of `values` over the windows through the nearest samples.

        Samples on the rows above and below count; further off than `reach` (mm) the result is 0.
        """
        place = self._turned[self.solution.stress_point]
        return _nearest(windows, values, place, reach)

    def _at_points(self, coarse: Windows, fine: Windows) -> Array:
        """Worst splitting mean through each stress point."""
        near = self.spread(fine, fine.utilisation, self.least / ROWS)
        return np.maximum(self.spread(coarse, coarse.utilisation), near)


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
        right = np.searchsorted(key, height * width + place[:, 0] - base)
        for sample in (np.clip(right - 1, 0, len(key) - 1), np.clip(right, 0, len(key) - 1)):
            away = np.hypot(lines.along[sample] - place[:, 0], lines.heights[row[sample]] - place[:, 1])
            nearer = (away < distance) & (away <= reach)
            best, distance = np.where(nearer, values[sample], best), np.where(nearer, away, distance)
    return best


def _spots(windows: Windows, stress: Array, strength: SplitStrength) -> tuple[Spot, ...]:
    """Separate hot spots: the worst window, then the next whose worst point lies half a window away, and so on."""
    if len(windows.utilisation) == 0 or windows.utilisation.max() <= 0.0:
        return ()
    candidates = _candidates(windows)
    floor = SPOT_SHARE * windows.utilisation[candidates[0]]
    low, high = windows.span()
    pointwise = split_utilisation(stress[:, 1], stress[:, 2], strength)
    lines, spots = windows.lines, list[Spot]()
    for index in candidates:
        if windows.utilisation[index] < floor or len(spots) == MOST_SPOTS:
            break
        sample = int(low[index] + pointwise[low[index] : high[index] + 1].argmax())
        at = lines.place(lines.stretch[[sample]], lines.along[[sample]])[0]
        reach = 0.5 * windows.length[index]
        if all(np.linalg.norm(at - spot.at) >= max(reach, 0.5 * spot.windows.length[spot.index]) for spot in spots):
            spots.append(Spot(windows, int(index), at, float(lines.along[sample]), float(pointwise[sample])))
    return tuple(spots)


def _candidates(windows: Windows) -> IntArray:
    """Indices of the worst window in each quarter window of each stretch, worst first."""
    lines = windows.lines
    stretch = lines.stretch[windows.start]
    block = (lines.along[windows.start] // max(0.25 * float(windows.length.min()), 1e-3)).astype(np.int64)
    order = np.lexsort((-windows.utilisation, block, stretch))
    fresh = np.ones(len(order), dtype=bool)
    fresh[1:] = (np.diff(stretch[order]) != 0) | (np.diff(block[order]) != 0)
    chosen = order[fresh]
    return np.asarray(chosen[np.argsort(-windows.utilisation[chosen], kind="stable")][:4000])
