"""Values at any point of a mesh: find the element, then its shape functions.

Two ways to find candidates: a grid of boxes for scattered points, and sweeps along rows for the many samples of
parallel lines. Both end in the same step: reference coordinates (Newton's method on curved elements), best one wins.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from .elements import ELEMENTS, TRIANGLE6, Element
from .stiffness import is_curved

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
Cells = Mapping[str, IntArray] | IntArray

INSIDE = 1e-7  # how far outside an element, in reference coordinates, a point may lie
BLOCK = 200_000


def expand_ranges(start: IntArray, stop: IntArray) -> tuple[IntArray, IntArray]:
    """All integers of many ranges: (which range, the integer), each of length Σ(stop - start)."""
    count = np.maximum(stop - start, 0)
    owner = np.repeat(np.arange(len(start)), count)
    first = np.repeat(np.cumsum(count) - count, count)
    return owner, np.arange(len(owner)) - first + np.repeat(start, count)


class Sampler:
    """Point location and interpolation. Elements are counted over all kinds in order.

    Parameters
    ----------
    points : (n, 2) array
        mm.
    cells : mapping of str to (e, a) array
        Node numbers by kind, as the mesh has them; a bare (e, 6) array is taken as six-node triangles.
    """

    def __init__(self, points: Array, cells: Cells) -> None:
        self.points = points
        self.cells = cells if isinstance(cells, Mapping) else {TRIANGLE6.name: cells}
        sizes = [len(block) for block in self.cells.values()]
        self._first = np.concatenate([[0], np.cumsum(sizes)])

    def _blocks(self, element: IntArray) -> Iterator[tuple[Element, str, IntArray, IntArray]]:
        """For elements (k,): kind, its name, which of them are of that kind, and their number among it."""
        for number, kind in enumerate(self.cells):
            begin, end = self._first[number], self._first[number + 1]
            if len(self.cells) == 1:
                yield ELEMENTS[kind], kind, np.arange(len(element)), element
                return
            which = np.flatnonzero((element >= begin) & (element < end))
            yield ELEMENTS[kind], kind, which, element[which] - begin

    @cached_property
    def _curved(self) -> NDArray[np.bool_]:
        blocks = [is_curved(self.points, cells, ELEMENTS[kind]) for kind, cells in self.cells.items()]
        return np.concatenate(blocks)

    @cached_property
    def _boxes(self) -> tuple[Array, Array]:
        """Lower and upper corners of the elements' boxes, widened for bulging sides, (e, 2) each."""
        low = np.concatenate([self.points[cells].min(axis=1) for cells in self.cells.values()])
        high = np.concatenate([self.points[cells].max(axis=1) for cells in self.cells.values()])
        margin = np.where(self._curved[:, None], 0.1, 1e-6) * (high - low)
        return low - margin, high + margin

    @cached_property
    def _bins(self) -> tuple[Array, float, IntArray, IntArray, IntArray]:
        """A grid of square bins: origin, bin size, bins along x and y, elements sorted by bin, start of each bin."""
        low, high = self._boxes
        origin, extent = low.min(axis=0), high.max(axis=0) - low.min(axis=0)
        size = float(np.sqrt(extent.prod() / max(len(low), 1))) * 1.5
        shape = np.floor(extent / size).astype(np.int64) + 1
        first = np.floor((low - origin) / size).astype(np.int64)
        last = np.floor((high - origin) / size).astype(np.int64)
        element, x = expand_ranges(first[:, 0], last[:, 0] + 1)
        pair, y = expand_ranges(first[element, 1], last[element, 1] + 1)
        number = x[pair] * shape[1] + y
        order = np.argsort(number, kind="stable")
        start = np.searchsorted(number[order], np.arange(shape.prod() + 1))
        return origin, size, shape, element[pair][order], start

    @cached_property
    def _straight(self) -> tuple[Array, Array]:
        """Of every element, as if its sides were straight: a corner of the map and the inverse of its slope.

        ``reference = (point - origin) @ inverse``; shapes (E, 2) and (E, 2, 2). Exact for straight triangles.
        """
        origin, inverse = [], []
        for kind, cells in self.cells.items():
            element = ELEMENTS[kind]
            middle = element.places[: element.corners].mean(axis=0)
            slope = np.einsum("kai,ap->kip", self.points[cells], element.gradients(middle[None])[0], optimize=True)
            back = np.linalg.inv(slope).transpose(0, 2, 1)
            center = np.einsum("a,kai->ki", element.shape(middle[None])[0], self.points[cells], optimize=True)
            origin.append(center - np.einsum("kip,p->ki", slope, middle))
            inverse.append(back)
        return np.concatenate(origin), np.concatenate(inverse)

    def reference(self, element: IntArray, query: Array) -> Array:
        """Reference coordinates (k, 2) of points (k, 2) in given elements (k,), inside them or not."""
        origin, inverse = self._straight
        away, back = query - origin[element], inverse[element]
        result = away[:, :1] * back[:, 0] + away[:, 1:] * back[:, 1]
        bent = np.flatnonzero(self._curved[element])
        for kind, name, which, number in self._blocks(element[bent]):
            nodes = self.points[self.cells[name][number]]
            result[bent[which]] = self._corrected(kind, nodes, query[bent[which]], result[bent[which]])
        return result

    @staticmethod
    def _corrected(kind: Element, nodes: Array, query: Array, guess: Array) -> Array:
        """Newton's method from a guess (k, 2) in elements with curved sides or without a constant slope."""
        for _ in range(6):
            miss = query - np.einsum("ka,kai->ki", kind.shape(guess), nodes)
            slope = np.einsum("kai,kap->kip", nodes, kind.gradients(guess))
            guess = np.clip(guess + _solve2(slope, miss), -2.0, 2.0)
        return guess

    def depth(self, element: IntArray, reference: Array) -> Array:
        """How deep reference points (k, 2) lie inside their elements (k,); negative outside."""
        result = np.empty(len(element))
        for kind, _, which, _ in self._blocks(element):
            result[which] = kind.depth(reference[which])
        return result

    def best(self, pair_point: IntArray, pair_element: IntArray, query: Array) -> tuple[IntArray, Array, Array]:
        """Of candidate pairs choose for each point the element it lies deepest in.

        Returns
        -------
        element : (k,) array
            -1 without a candidate.
        reference : (k, 2) array
        depth : (k,) array
            Least area coordinate; negative outside.
        """
        element = np.full(len(query), -1, dtype=np.int64)
        reference = np.zeros((len(query), 2))
        depth = np.full(len(query), -np.inf)
        for start in range(0, len(pair_point), BLOCK):
            point, cell = pair_point[start : start + BLOCK], pair_element[start : start + BLOCK]
            place = self.reference(cell, query[point])
            score = self.depth(cell, place)
            order = np.argsort(score, kind="stable")  # the last to be written is the deepest
            order = order[score[order] > depth[point[order]]]
            element[point[order]], reference[point[order]], depth[point[order]] = (
                cell[order],
                place[order],
                score[order],
            )
        return element, reference, depth

    def locate(self, query: Array) -> tuple[IntArray, Array]:
        """Element (k,) and reference coordinates (k, 2) of points (k, 2); element -1 outside the mesh."""
        query = np.asarray(query, dtype=float).reshape(-1, 2)
        origin, size, shape, elements, start = self._bins
        place = np.floor((query - origin) / size)
        place = np.where(np.isfinite(place), place, -1).astype(np.int64)
        within = ((place >= 0) & (place < shape)).all(axis=1)
        number = np.where(within, place[:, 0] * shape[1] + place[:, 1], 0)
        point, slot = expand_ranges(start[number], np.where(within, start[number + 1], start[number]))
        element, reference, depth = self.best(point, elements[slot], query)
        element[depth < -INSIDE] = -1
        return element, reference

    def interpolate(self, values: Array, query: Array, value_cells: Cells | None = None) -> Array:
        """Nodal values (m, s) at points (k, 2), shape (k, s); not-a-number outside the mesh.

        `value_cells`, as `cells`, says which rows of `values` belong to each element, if not the mesh's own nodes.
        """
        element, reference = self.locate(query)
        result = self.evaluate(values, np.maximum(element, 0), reference, value_cells)
        result[element < 0] = np.nan
        return result

    def evaluate(self, values: Array, element: IntArray, reference: Array, value_cells: Cells | None = None) -> Array:
        """Nodal values (m, s) at reference coordinates (k, 2) of elements (k,); shape (k, s)."""
        result = np.empty((len(element), values.shape[1]))
        for kind, name, which, number in self._blocks(element):
            cells = self.cells if value_cells is None else value_cells
            rows = (cells[name] if isinstance(cells, Mapping) else cells)[number]
            shape = kind.shape(reference[which])
            total = shape[:, :1] * values[rows[:, 0]]
            for a in range(1, kind.nodes):
                total += shape[:, a : a + 1] * values[rows[:, a]]
            result[which] = total
        return result

    def locate_on_rows(self, heights: Array, row: IntArray, along: Array) -> tuple[IntArray, Array]:
        """Locate samples on horizontal rows, all known to lie in the mesh.

        Parameters
        ----------
        heights : (r,) array
            y of the rows, ascending.
        row : (k,) array
            Row of each sample, ascending.
        along : (k,) array
            x of each sample, ascending within a row.

        Returns
        -------
        element : (k,) array
        reference : (k, 2) array
        """
        if len(along) == 0:
            return np.empty(0, dtype=np.int64), np.empty((0, 2))
        low, high = self._boxes
        first = np.searchsorted(heights, low[:, 1], side="left")
        last = np.searchsorted(heights, high[:, 1], side="right")
        element, height = expand_ranges(first, last)
        left, right = self._crossing(element, heights[height], low, high)
        base, width = float(along.min()), float(np.ptp(along)) * 1.5 + 1.0
        key = row * width + (along - base)
        start = np.searchsorted(key, height * width + np.clip(left - base, -0.1, width - 0.2), side="left")
        stop = np.searchsorted(key, height * width + np.clip(right - base, -0.1, width - 0.2), side="right")
        pair, sample = expand_ranges(start, stop)
        query = np.column_stack([along, heights[row]])
        found, reference, _ = self.best(sample, element[pair], query)
        lost = np.flatnonzero(found < 0)
        if len(lost):
            found[lost], reference[lost] = self._nearest(query[lost])
        return found, reference

    def _crossing(self, element: IntArray, height: Array, low: Array, high: Array) -> tuple[Array, Array]:
        """Where rows enter and leave elements; the whole box for curved ones."""
        left, right = np.full(len(element), np.inf), np.full(len(element), -np.inf)
        for kind, name, which, number in self._blocks(element):
            corner = self.points[self.cells[name][number, : kind.corners]]
            after = np.roll(corner, -1, axis=1)
            with np.errstate(divide="ignore", invalid="ignore"):
                share = (height[which, None] - corner[..., 1]) / (after[..., 1] - corner[..., 1])
                x = corner[..., 0] + share * (after[..., 0] - corner[..., 0])
            hit = (share >= -1e-6) & (share <= 1 + 1e-6)
            left[which] = np.where(hit, x, np.inf).min(axis=1)
            right[which] = np.where(hit, x, -np.inf).max(axis=1)
        whole = self._curved[element] | ~np.isfinite(left)
        margin = 1e-6 * (high[element, 0] - low[element, 0])
        return np.where(whole, low[element, 0], left - margin), np.where(whole, high[element, 0], right + margin)

    def _nearest(self, query: Array) -> tuple[IntArray, Array]:
        """Fallback for samples a hair outside: the element whose box's middle is nearest, coordinates clipped to it."""
        low, high = self._boxes
        middle = 0.5 * (low + high)
        element = np.array([int(((middle - q) ** 2).sum(axis=1).argmin()) for q in query], dtype=np.int64)
        return element, np.clip(self.reference(element, query), -1.0, 1.0)


def _solve2(matrix: Array, right: Array) -> Array:
    """Solve many 2 by 2 systems: matrix (k, 2, 2), right (k, 2)."""
    determinant = matrix[:, 0, 0] * matrix[:, 1, 1] - matrix[:, 0, 1] * matrix[:, 1, 0]
    first = matrix[:, 1, 1] * right[:, 0] - matrix[:, 0, 1] * right[:, 1]
    second = matrix[:, 0, 0] * right[:, 1] - matrix[:, 1, 0] * right[:, 0]
    return np.stack([first, second], axis=1) / determinant[:, None]
