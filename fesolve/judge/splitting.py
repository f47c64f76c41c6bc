"""Splitting: the worst mean of stress over a length of fibres.

On every grain line, from every start and in both senses, stresses are averaged over the least length L that is not
below the splitting length of its own mean, and held against the criterion. A pressed stretch counts as zero in the
mean across the grain unless the whole window is pressed. A stretch too short for any window counts once, whole, with
the mean of |τ|.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from .criteria import SplitLength, SplitStrength, split_utilisation
from .lines import GrainLines

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

PRESSED = 0.01  # a window counts as pressed altogether if no σ_90 in it exceeds this share of f_t90 when it splits
LEVEL_RATIO = 1.12
# columns of the running integrals
ALONG, PULL, ACROSS, SHEAR, SIZE = range(5)


@dataclass(frozen=True)
class Integrals:
    """Running integrals along stretches: (N, 5) of σ_0 (counted), max(σ_90, 0), σ_90, τ, |τ|; and a count.

    Where the thickness is not the same all along, each counts with the thickness of its sample, and `weight` (N, 1) is
    the running integral of the thickness: means are forces over areas then.
    """

    lines: GrainLines
    total: Array
    pulled: IntArray  # samples before this one with σ_90 above the threshold, (N + 1,)
    weight: Array | None = None

    @classmethod
    def of(
        cls, lines: GrainLines, stress: Array, along: Array, threshold: float, thickness: Array | None = None
    ) -> Integrals:
        """From stress (N + K q, 3) in grain axes, σ_0 as it counts (N + K q,), and the threshold on σ_90 in MPa.

        The first N are at the samples of the lines, the others within the steep steps. `thickness` (N + K q,) mm
        is given where it is not the same everywhere.
        """
        across, shear = stress[:, 1], stress[:, 2]
        values = np.column_stack([along, np.maximum(across, 0.0), across, shear, np.abs(shear)])
        weight = None
        if thickness is not None:
            values *= thickness[:, None]
            weight = _running(lines, thickness[:, None])
        pulled = np.concatenate([[0], np.cumsum(across[: len(lines.along)] > threshold)])
        return cls(lines, _running(lines, values), pulled, weight)

    @cached_property
    def _needed(self) -> Array:
        """The columns that the search for lengths asks for again and again: PULL, ACROSS, SHEAR, side by side."""
        return np.ascontiguousarray(self.total[:, [PULL, ACROSS, SHEAR]])

    def _over(self, table: Array, start: IntArray, sense: IntArray, length: Array) -> tuple[Array, BoolArray]:
        """Means of the columns of `table` over windows, and which windows are pressed altogether."""
        lines = self.lines
        stretch = lines.stretch[start]
        reach = start + sense * length / lines.step[stretch]
        left = np.minimum(reach.astype(np.int64), lines.first[stretch + 1] - 2)
        end = _between(table, start, left, reach)
        if self.weight is None:
            end *= (sense / length)[:, None]
        else:
            end /= _between(self.weight, start, left, reach)
        far = np.where(sense > 0, reach + 1e-9, reach - 1e-9 + 1.0).astype(np.int64)
        low, high = np.minimum(start, far), np.maximum(start, far)
        return end, self.pulled[high + 1] == self.pulled[low]

    def across_and_shear(self, start: IntArray, sense: IntArray, length: Array) -> tuple[Array, Array]:
        """The means that count for splitting: across the grain (pressed stretches as zero) and shear, (k,) each."""
        mean, pressed = self._over(self._needed, start, sense, length)
        return np.where(pressed, mean[:, 1], mean[:, 0]), mean[:, 2]

    def means(self, start: IntArray, sense: IntArray, length: Array) -> Array:
        """All means (k, 5) over windows; in the column ACROSS stands the mean that counts for splitting."""
        mean, pressed = self._over(self.total, start, sense, length)
        mean[:, ACROSS] = np.where(pressed, mean[:, ACROSS], mean[:, PULL])
        return mean


def _running(lines: GrainLines, values: Array) -> Array:
    """Running integrals (N, s) of values (N + K q, s) along stretches.

    By the trapezium rule, and over the samples within where a step is steep.
    """
    count = len(lines.along)
    steps = 0.5 * (values[1:count] + values[: count - 1]) * lines.step[lines.stretch[1:], None]
    steps[lines.first[1:-1] - 1] = 0.0  # no integral from one stretch to the next
    within = values[count:].reshape(*lines.steep_weight.shape, values.shape[1])
    steps[lines.steep] = np.einsum("kq,kqs->ks", lines.steep_weight, within)
    return np.concatenate([np.zeros((1, values.shape[1])), np.cumsum(steps, axis=0)])


def _between(table: Array, start: IntArray, left: IntArray, reach: Array) -> Array:
    """Running integrals (N, s) from samples `start` to places `reach` (k,), each in the step after sample `left`."""
    end = table[left]
    end += (reach - left)[:, None] * (table[left + 1] - end)
    end -= table[start]
    return end


@dataclass(frozen=True)
class Windows:
    """Windows that fit, and whole stretches on which none does.

    Attributes
    ----------
    start : (k,) array
        Sample at which each window starts.
    sense : (k,) array
        +1 or -1 along the line.
    length : (k,) array
        mm.
    along, across, shear : (k,) arrays
        Means of σ_0 as it counts, σ_90, τ, MPa.
    utilisation : (k,) array
        Of splitting.
    short : (k,) array
        Whole stretches shorter than the splitting length.
    """

    lines: GrainLines
    start: IntArray
    sense: IntArray
    length: Array
    along: Array
    across: Array
    shear: Array
    utilisation: Array
    short: BoolArray

    def span(self) -> tuple[IntArray, IntArray]:
        """First and last sample of each window."""
        steps = self.length / self.lines.step[self.lines.stretch[self.start]]
        far = np.rint(self.start + self.sense * steps).astype(np.int64)
        return np.minimum(self.start, far), np.maximum(self.start, far)

    def take(self, chosen: IntArray | BoolArray) -> Windows:
        """Some of the windows."""
        names = ("start", "sense", "length", "along", "across", "shear", "utilisation", "short")
        return replace(self, **{name: getattr(self, name)[chosen] for name in names})


def find_windows(integrals: Integrals, strength: SplitStrength, length: SplitLength, stride: int = 1) -> Windows:
    """All windows of a set of grain lines.

    Parameters
    ----------
    integrals : Integrals
    strength : SplitStrength
        On the basis that judges.
    length : SplitLength
        From mean strengths.
    stride : int
        Start at every so many samples of a stretch, and at its ends.
    """
    lines = integrals.lines
    number = np.arange(len(lines.along))
    if stride > 1:
        begin, end = lines.first[lines.stretch], lines.first[lines.stretch + 1] - 1
        number = number[((number - begin) % stride == 0) | (number == end)]
    start = np.concatenate([number, number])
    sense = np.repeat([1, -1], len(number))
    stretch = lines.stretch[start]
    last = lines.first[stretch + 1] - 1
    room = np.where(sense > 0, last - start, start - lines.first[stretch]) * lines.step[stretch]
    fits = room >= length.least * (1 - 1e-12)
    start, sense, room = start[fits], sense[fits], room[fits]
    found, size = _least_lengths(integrals, start, sense, room, length)
    start, sense = start[found], sense[found]
    whole = np.setdiff1d(np.flatnonzero(lines.whole), lines.stretch[start])
    mean = np.concatenate([integrals.means(start, sense, size), _whole_means(integrals, whole)])
    start = np.concatenate([start, lines.first[whole]])
    sense = np.concatenate([sense, np.ones(len(whole), dtype=np.int64)])
    size = np.concatenate([size, lines.length[whole]])
    short = np.arange(len(start)) >= len(start) - len(whole)
    use = split_utilisation(mean[:, ACROSS], mean[:, SHEAR], strength)
    return Windows(lines, start, sense, size, mean[:, ALONG], mean[:, ACROSS], mean[:, SHEAR], use, short)


def _whole_means(integrals: Integrals, whole: IntArray) -> Array:
    lines = integrals.lines
    ones = np.ones(len(whole), dtype=np.int64)
    mean = integrals.means(lines.first[whole], ones, lines.length[whole])
    mean[:, SHEAR] = mean[:, SIZE]
    return mean


def _least_lengths(
    integrals: Integrals, start: IntArray, sense: IntArray, room: Array, length: SplitLength
) -> tuple[IntArray, Array]:
    """For each start the least L >= x0(means over L): which starts have one, and L."""

    def excess(which: IntArray, trial: Array) -> Array:
        across, shear = integrals.across_and_shear(start[which], sense[which], trial)
        return trial - length(across, shear)

    levels = max(int(np.ceil(np.log(length.greatest / length.least) / np.log(LEVEL_RATIO))), 0) + 1
    open_ = np.arange(len(start))
    low, low_excess = np.zeros(len(start)), np.full(len(start), -1.0)
    rows: list[tuple[IntArray, Array, Array]] = []
    for trial in np.geomspace(length.least, length.greatest * (1 + 1e-6), levels):
        high = np.minimum(trial, room[open_])
        g = excess(open_, high)
        met = g >= -1e-9 * high
        rows.append((open_[met], high[met], g[met]))
        low[open_], low_excess[open_] = np.where(met, low[open_], high), np.where(met, low_excess[open_], g)
        open_ = open_[~met & (room[open_] > trial)]
        if len(open_) == 0:
            break
    which, high, high_excess = (np.concatenate(column) for column in zip(*rows, strict=True))
    lower, lower_excess = low[which], low_excess[which]
    bracketed = lower > 0
    for _ in range(3):
        share = np.clip(lower_excess / (lower_excess - np.maximum(high_excess, 1e-300)), 0.02, 0.98)
        trial = np.where(bracketed, lower + share * (high - lower), high)
        g = excess(which, trial)
        up = g >= 0
        high, high_excess = np.where(up, trial, high), np.where(up, g, high_excess)
        lower, lower_excess = np.where(up, lower, trial), np.where(up, lower_excess, g)
    order = np.argsort(which)
    return which[order], high[order]


def worst_at_samples(windows: Windows, values: Array) -> Array:
    """At each sample the greatest of `values` (k,) over the windows that pass through it; 0 where none does."""
    low, high = windows.span()
    level = np.frexp(high - low + 1.0)[1] - 1  # window covered by two runs of 2^level samples
    count = len(windows.lines.along)
    top = int(level.max(initial=0))
    best = np.zeros((top + 1, count))
    np.maximum.at(best, (level, low), values)
    np.maximum.at(best, (level, high - (1 << level) + 1), values)
    for k in range(top, 0, -1):
        half = 1 << (k - 1)
        np.maximum(best[k - 1], best[k], out=best[k - 1])
        best[k - 1, half:] = np.maximum(best[k - 1, half:], best[k, :-half])
    return np.asarray(best[0])
