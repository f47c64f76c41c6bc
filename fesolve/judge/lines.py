"""Grain lines: every unbroken stretch of a line along the grain inside the wood, sampled evenly.

Work is done in the grain's own axes: u along it, v across it (mm). A line is a row of constant v; where it meets the
boundary it is cut into stretches, so that a hole or a notch ends a stretch.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..fem.boundary import boundary_sides
from ..fem.sample import Sampler, expand_ranges

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

LEAST_SAMPLES = 24  # steps of the shortest stretch
CORNER_OFFSET = 1e-5  # mm, how far beside a re-entrant corner its two lines run
STEEP = 3.0  # steps; nearer than this to a point without a limit they are steep
GAUSS = 6  # samples in each half of a steep step


def to_grain(points: Array, grain: float) -> Array:
    """Points (k, 2) in x, y to (u, v), u along the grain at `grain` deg."""
    c, s = np.cos(np.radians(grain)), np.sin(np.radians(grain))
    return np.asarray(points @ np.array([[c, -s], [s, c]]))


def from_grain(points: Array, grain: float) -> Array:
    """The reverse of `to_grain`."""
    return to_grain(points, -grain)


@dataclass(frozen=True)
class GrainLines:
    """Sampled stretches.

    Attributes
    ----------
    grain : float
        deg.
    heights : (r,) array
        v of the rows, ascending, mm.
    row : (s,) array
        Row of each stretch.
    first : (s + 1,) array
        First sample of each stretch; the last entry is the number of samples.
    step : (s,) array
        Distance between samples of each stretch, mm.
    stretch : (N,) array
        Stretch of each sample.
    along : (N,) array
        u of each sample, mm; ascending within a row.
    element, reference : (N + K q,), (N + K q, 2) arrays
        Where each sample lies in the mesh, and then those within the steep steps, q in each.
    whole : (s,) array
        Which stretches are sampled from end to end; the others are pieces of longer ones.
    ends : (s, 2) array
        u at which each stretch, sampled whole or not, enters and leaves the wood.
    steep : (K,) array
        Samples from which to the next one the stress is steep: it is integrated over samples within the step.
    steep_weight : (K, q) array
        Length for which each of those stands, mm.
    """

    grain: float
    heights: Array
    row: IntArray
    first: IntArray
    step: Array
    stretch: IntArray
    along: Array
    element: IntArray
    reference: Array
    whole: NDArray[np.bool_]
    ends: Array
    steep: IntArray = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    steep_weight: Array = field(default_factory=lambda: np.empty((0, 2 * GAUSS)))

    @property
    def count(self) -> IntArray:
        """Samples of each stretch, shape (s,)."""
        return np.diff(self.first)

    @property
    def length(self) -> Array:
        """Length of each stretch, mm, shape (s,)."""
        return self.step * (self.count - 1)

    def place(self, stretch: IntArray, along: Array) -> Array:
        """Points (k, 2) in x, y at u on given stretches."""
        return from_grain(np.column_stack([along, self.heights[self.row[stretch]]]), self.grain)

    def exits(self, stretch: int) -> Array:
        """Both points (2, 2) in x, y at which the line of a stretch enters and leaves the wood."""
        return self.place(np.array([stretch, stretch]), self.ends[stretch])


def row_heights(low: float, high: float, spacing: float, corners: Array) -> Array:
    """Heights of evenly spaced rows in low..high, and two beside each height in `corners`; ascending."""
    count = max(int(np.ceil((high - low) / spacing)), 1)
    even = low + (np.arange(count) + 0.5) * (high - low) / count
    if len(corners):  # one that runs along a border between regions would see now one side, now the other
        even = even[np.abs(even[:, None] - corners).min(axis=1) > CORNER_OFFSET]
    beside = np.concatenate([corners - CORNER_OFFSET, corners + CORNER_OFFSET])
    beside = beside[(beside > low) & (beside < high)]
    return np.unique(np.concatenate([even, beside]))


def crossings(ends: Array, heights: Array) -> tuple[IntArray, Array]:
    """Where rows cross boundary sides.

    A side that a row enters below and leaves above (or the reverse) is crossed once, also when it bulges; a bulge
    beyond both ends is crossed twice. So every row is crossed an even number of times.

    Parameters
    ----------
    ends : (k, 3, 2) array
        u, v of the sides' first end, second end, middle.
    heights : (r,) array

    Returns
    -------
    row : (h,) array
    along : (h,) array
        u of the crossings, in order of row and u.
    """
    v0, v1, vm = ends[:, 0, 1], ends[:, 1, 1], ends[:, 2, 1]
    curve, slope = 2 * (v0 + v1 - 2 * vm), 4 * vm - 3 * v0 - v1  # v(s) = v0 + slope s + curve s^2
    with np.errstate(divide="ignore", invalid="ignore"):
        turn = -slope / (2 * curve)
    bulges = (np.abs(curve) > 1e-12 * (np.abs(slope) + 1e-300)) & (turn > 0) & (turn < 1)
    extreme = np.where(bulges, v0 + 0.5 * slope * np.where(bulges, turn, 0.0), v0)
    low, high = np.minimum(np.minimum(v0, v1), extreme), np.maximum(np.maximum(v0, v1), extreme)
    side, row = expand_ranges(np.searchsorted(heights, low), np.searchsorted(heights, high, side="right"))
    c = v0[side] - heights[row]
    once = (c <= 0) != (v1[side] - heights[row] <= 0)
    twice = ~once & bulges[side] & (np.sign(extreme[side] - heights[row]) == -np.sign(c)) & (c != 0)
    roots = _roots(curve[side], slope[side], c)
    inner = np.where(np.abs(roots - 0.5).argmin(axis=1) == 0, roots[:, 0], roots[:, 1])
    pairs = [(side[once], row[once], np.clip(inner[once], 0, 1))]
    pairs += [(side[twice], row[twice], np.clip(roots[twice, k], 0, 1)) for k in (0, 1)]
    side, row, s = (np.concatenate(column) for column in zip(*pairs, strict=True))
    u0, u1, um = ends[side, 0, 0], ends[side, 1, 0], ends[side, 2, 0]
    along = u0 + (4 * um - 3 * u0 - u1) * s + 2 * (u0 + u1 - 2 * um) * s * s
    order = np.lexsort((along, row))
    return row[order], along[order]


def _roots(a: Array, b: Array, c: Array) -> Array:
    """Both roots of a s^2 + b s + c, stable also for a = 0 (then the second is far away); shape (k, 2)."""
    root = np.sqrt(np.maximum(b * b - 4 * a * c, 0.0))
    q = -0.5 * (b + np.where(b >= 0, root, -root))
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = c / q, q / a
    return np.stack([np.nan_to_num(one, nan=0.0, posinf=9e9, neginf=-9e9), np.nan_to_num(two, nan=9e9)], axis=1)


def stretches(ends: Array, heights: Array, least: float = 1e-4) -> tuple[IntArray, Array, Array]:
    """Unbroken stretches inside the wood: row (s,), first u (s,), last u (s,); shorter ones than `least` left out."""
    row, along = crossings(ends, heights)
    odd = np.bincount(row, minlength=len(heights)) % 2 == 1  # a row through a flaw of the boundary is left out
    row, along = row[~odd[row]], along[~odd[row]]
    begin, end = along[0::2], along[1::2]
    keep = end - begin > least
    return row[0::2][keep], begin[keep], end[keep]


@dataclass(frozen=True)
class Shape:
    """A mesh as grain lines see it: turned into the grain's axes, with its boundary sides.

    Attributes
    ----------
    sampler : Sampler
        On points in u, v.
    sides : (k, 3, 2) array
        u, v of the ends and middles of all boundary sides.
    grain : float
        deg.
    unlimited : (p, 2) array
        u, v of points at which the stress has no limit: steps near them are steep.
    elements : (e,) array
        Numbers of its elements in the whole mesh.
    """

    sampler: Sampler
    sides: Array
    grain: float
    unlimited: Array
    elements: IntArray

    @classmethod
    def of(
        cls,
        points: Array,
        cells: IntArray,
        grain: float,
        unlimited: Array | None = None,
        elements: IntArray | None = None,
    ) -> Shape:
        """From points (n, 2) in x, y, cells (e, 6), and points (p, 2) without a limit.

        `elements` says which of the cells are meant, if not all: lines end where they do, at the outline or at other
        wood.
        """
        turned = to_grain(points, grain)
        places = np.empty((0, 2)) if unlimited is None else to_grain(unlimited.reshape(-1, 2), grain)
        elements = np.arange(len(cells)) if elements is None else elements
        mine = cells[elements]
        return cls(Sampler(turned, mine), turned[boundary_sides(mine)], grain, places, elements)

    @property
    def bounds(self) -> tuple[Array, Array]:
        """Least and greatest u and v."""
        corners = self.sampler.points[np.unique(np.concatenate([*self.sampler.cells.values()]))]
        return corners.min(axis=0), corners.max(axis=0)


def sample_lines(shape: Shape, heights: Array, step: float, pieces: Array | None = None) -> GrainLines:
    """Sample the grain lines of a mesh.

    Parameters
    ----------
    shape : Shape
    heights : (r,) array
        v of the rows, ascending.
    step : float
        Greatest distance between samples, mm.
    pieces : (r, 2) array, optional
        u from and to which each row is sampled; without it all of it.
    """
    row, begin, end = stretches(shape.sides, heights)
    ends = np.column_stack([begin, end])
    if pieces is not None:
        begin, end = np.maximum(begin, pieces[row, 0]), np.minimum(end, pieces[row, 1])
        keep = (end - begin > step) | ((end > begin) & (begin == ends[:, 0]) & (end == ends[:, 1]))
        row, begin, end, ends = row[keep], begin[keep], end[keep], ends[keep]
    whole = (begin == ends[:, 0]) & (end == ends[:, 1])
    count = np.maximum(np.ceil((end - begin) / step).astype(np.int64), LEAST_SAMPLES) + 1
    first = np.concatenate([[0], np.cumsum(count)])
    stretch, number = expand_ranges(np.zeros_like(count), count)
    spacing = (end - begin) / (count - 1)
    along = begin[stretch] + number * spacing[stretch]
    inset = np.minimum(1e-7, spacing * 1e-3)[stretch]  # the ends lie on the boundary: look a hair inside
    inside = np.clip(along, begin[stretch] + inset, end[stretch] - inset)
    element, reference = shape.sampler.locate_on_rows(heights, row[stretch], inside)
    steep, within, weight = _steep_steps(shape.unlimited, along, heights[row[stretch]], spacing[stretch], first)
    near = shape.sampler.locate_on_rows(heights, np.repeat(row[stretch[steep]], within.shape[1]), within.ravel())
    element, reference = np.concatenate([element, near[0]]), np.concatenate([reference, near[1]])
    element = shape.elements[element]
    return GrainLines(
        shape.grain, heights, row, first, spacing, stretch, along, element, reference, whole, ends, steep, weight
    )


def _steep_steps(
    unlimited: Array, along: Array, height: Array, step: Array, first: IntArray
) -> tuple[IntArray, Array, Array]:
    """Steps near points (p, 2) at which the stress has no limit, with samples and weights within.

    The trapezium rule over samples would miss much of a stress that goes as r^(-1/2), or count a peak for a step. Each
    such step is halved, at the point where it lies in it, and each half gets Gauss's rule in the square root of the
    distance along the line, in which such a stress is smooth.

    Parameters
    ----------
    unlimited : (p, 2) array
        u, v, mm.
    along, height, step : (N,) arrays
        u and v of the samples, and the distance to the next, mm.
    first : (s + 1,) array
        First sample of each stretch.

    Returns
    -------
    steep : (K,) array
        Sample at which each such step begins, ascending.
    within, weight : (K, q) arrays
        u of the samples within, ascending, and the length each stands for, mm.
    """
    last = np.zeros(len(along), dtype=bool)
    last[first[1:] - 1] = True
    found, owner = [np.empty(0, dtype=np.int64)], [np.empty(0)]
    for u, v in unlimited:
        reach = STEEP * step
        close = ~last & (np.abs(height - v) <= reach) & (along <= u + reach) & (along + step >= u - reach)
        found.append(np.flatnonzero(close))
        owner.append(np.full(len(found[-1]), u))
    steep, chosen = np.unique(np.concatenate(found), return_index=True)
    u = np.concatenate(owner)[chosen]
    begin, end = along[steep], along[steep] + step[steep]
    middle = np.where((u > begin) & (u < end), u, 0.5 * (begin + end))
    halves = [_root_rule(begin, middle, u), _root_rule(middle, end, u)]
    within, weight = (np.concatenate(pair, axis=1) for pair in zip(*halves, strict=True))
    return steep, within, weight


def _root_rule(begin: Array, end: Array, pole: Array) -> tuple[Array, Array]:
    """Gauss's rule from `begin` to `end` (k,) in the root of the distance from `pole`, which lies beyond or at an end.

    Returns
    -------
    place, weight : (k, GAUSS) arrays
        The places ascend.
    """
    x, w = np.polynomial.legendre.leggauss(GAUSS)
    near, far = np.sqrt(np.abs(begin - pole)), np.sqrt(np.abs(end - pole))
    root = 0.5 * ((far + near)[:, None] + (far - near)[:, None] * x)
    side = np.where(0.5 * (begin + end) >= pole, 1.0, -1.0)[:, None]
    return pole[:, None] + side * root**2, np.abs(far - near)[:, None] * root * w
