"""The outline of a part: exact lines and arcs with names, and questions about them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from ..errors import InputError
from ..part.model import Hole, Part
from .checks import check_details, check_loop
from .curves import SAME, BoolArray, Curve, CurveSet, FloatArray, Point
from .cuts import check_cuts
from .holes import check_holes, hole_loop
from .openings import Cut, draw_openings
from .patches import name_outer, patches_of
from .regions import lay_regions, split_loops
from .splits import SplitLine, pieces
from .trace import Edge, add_notches, raw_edges, trace

__all__ = ["Curve", "Outline", "part_outline"]


@dataclass(frozen=True)
class Outline:
    """The drawn shape, exactly. Lengths in mm.

    Parameters
    ----------
    loops : tuple of tuple of Curve
        The outer loop counter-clockwise, then each hole clockwise: the wood is always on the left.
    corner_points : mapping of str to (x, y)
        All corners as given, also those that a round or notch took away.
    sharp_corners : tuple of str
        The corners that are still there.
    edge_lengths : mapping of str to float
        Full lengths of the edges, before rounds and notches.
    interfaces : tuple of Curve
        The lines between regions inside the wood, named ``region web``; they meet one another and the loops in
        shared end points only.
    splits : tuple of SplitLine
        Lines inside the wood that a mesh can be opened along; they begin at ends of curves, or inside.

    Examples
    --------
    A 6 mm square with a hole of 2 mm has an area of 36 - pi:

    >>> from fesolve.part.read import part_from
    >>> corners = [{"at": [x, y]} for x, y in (("0 mm", "0 mm"), ("6 mm", "0 mm"), ("6 mm", "6 mm"), ("0 mm", "6 mm"))]
    >>> part = part_from({
    ...     "title": "tile",
    ...     "wood": {"species": "Ash, white", "board": "flat-sawn", "thickness": "18 mm", "basis": "mean"},
    ...     "outline": {"corners": corners},
    ...     "hole": [{"name": "h", "center": ["3 mm", "3 mm"], "diameter": "2 mm"}],
    ...     "support": [{"name": "foot", "kind": "fixed", "on": "edge A-B"}],
    ...     "load": [{"name": "push", "on": "edge C-D", "force": ["0 N", "-9 N"]}],
    ... })
    >>> outline = part_outline(part)
    >>> round(outline.area, 6)
    32.858407
    >>> [(round(a, 6), round(b, 6)) for a, b in outline.clip_line((0, 3), (6, 3))]
    [(0.0, 0.333333), (0.666667, 1.0)]
    """

    loops: tuple[tuple[Curve, ...], ...]
    corner_points: Mapping[str, Point]
    sharp_corners: tuple[str, ...]
    edge_lengths: Mapping[str, float]
    interfaces: tuple[Curve, ...] = ()
    splits: tuple[SplitLine, ...] = ()

    def same_lines(self, other: Outline) -> bool:
        """Whether every line and arc of another outline, with its names, is the same."""
        mine, others = ((one.loops, one.interfaces, one.splits) for one in (self, other))
        return mine == others

    @cached_property
    def curves(self) -> tuple[Curve, ...]:
        """All curves, loop after loop."""
        return tuple(curve for loop in self.loops for curve in loop)

    @cached_property
    def lines(self) -> tuple[Curve, ...]:
        """All curves, then the lines between regions."""
        return (*self.curves, *self.interfaces)

    @cached_property
    def drawn(self) -> tuple[Curve, ...]:
        """All curves, the lines between regions, then the pieces of the lines that can be opened."""
        return (*self.lines, *(piece for one in self.splits for piece in pieces(one)))

    def with_splits(self, lines: Sequence[SplitLine]) -> Outline:
        """The same outline with further lines that a mesh can be opened along, cut where they begin on it.

        Parameters
        ----------
        lines : sequence of SplitLine
            Each inside the wood, apart from its start; no two of them meet.
        """
        loops = split_loops(self.loops, [one.start for one in lines if not one.inside])
        return replace(self, loops=loops, splits=(*self.splits, *lines))

    @cached_property
    def curve_set(self) -> CurveSet:
        """All curves as arrays, for questions about many points at once."""
        return CurveSet(self.curves)

    def named(self, name: str) -> tuple[Curve, ...]:
        """The curves that bear a name: ``"edge A-B"``, ``"support keeper"``; none where it is unknown."""
        return tuple(curve for curve in self.curves if name in curve.names)

    def edge_length(self, name: str) -> float:
        """Full length (mm) of an edge before rounds and notches, by its name (``"A-B"``)."""
        return self.edge_lengths[name]

    @cached_property
    def area(self) -> float:
        """Area of the wood, mm²: shoelace formula over the chords plus r²(φ - sin φ)/2 for each arc."""
        total = 0.0
        x0, y0 = self.loops[0][0].start
        for c in self.curves:
            (ax, ay), (bx, by) = c.start, c.end
            total += ((ax - x0) * (by - y0) - (bx - x0) * (ay - y0)) / 2
            if c.radius is not None:
                swept = c.angles[1]
                total += c.radius**2 * (swept - math.sin(swept)) / 2
        return total

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest x, smallest y, greatest x, greatest y, mm."""
        x0, x1, y0, y1 = zip(*(curve.bounds for curve in self.loops[0]), strict=True)
        return min(x0), min(y0), max(x1), max(y1)

    def polygon(self, loop: int, step: float) -> FloatArray:
        """One loop as points for drawing.

        Parameters
        ----------
        loop : int
            0 for the outer loop, then the holes in order.
        step : float
            Greatest distance between points on arcs, mm.

        Returns
        -------
        (k, 2) array
            Points in order, mm; the first is not repeated.
        """
        return np.concatenate([curve.sample(step) for curve in self.loops[loop]])

    def contains(self, points: ArrayLike) -> BoolArray:
        """Whether points lie in the wood; arcs count exactly. On the boundary itself either answer may come.

        Parameters
        ----------
        points : (k, 2) array
            Places, mm.

        Returns
        -------
        (k,) bool array
        """
        return self.curve_set.contains(np.asarray(points, dtype=np.float64).reshape(-1, 2))

    def nearest_curve(self, point: Point) -> tuple[float, Curve]:
        """Distance (mm) from a point to the boundary, and the curve that is nearest."""
        gaps = self.curve_set.distances(np.array([point], dtype=np.float64))[0]
        nearest = int(np.argmin(gaps))
        return float(gaps[nearest]), self.curves[nearest]

    def clip_line(self, p: Point, q: Point, *, endless: bool = False) -> list[tuple[float, float]]:
        """Where the line from p to q lies in the wood.

        Wood includes its boundary: a line along an edge lies in the wood, a line that touches a hole is
        not cut in two, and one that touches the outline from outside has no part in it.

        Parameters
        ----------
        p, q : (x, y)
            Two different points, mm.
        endless : bool
            Whether the line goes on past p and q.

        Returns
        -------
        list of (float, float)
            Sorted intervals in parts of p-q: 0 at p, 1 at q.
        """
        origin, along = np.asarray(p, dtype=np.float64), np.subtract(q, p).astype(np.float64)
        t = self.curve_set.hits(origin[None], along[None])[0][0]
        stops = t[np.isfinite(t)]
        ends = self._ends_of_line(origin, along) if endless else (0.0, 1.0)
        stops = np.unique(np.concatenate([[ends[0]], stops[(stops > ends[0]) & (stops < ends[1])], [ends[1]]]))
        middles = (stops[:-1] + stops[1:]) / 2
        points = origin + middles[:, None] * along
        inside = self.contains(points)
        on_edge = self.curve_set.distances(points).min(axis=1) <= SAME
        wide = np.diff(stops) * np.linalg.norm(along) > 1e-3
        return _merged(stops, inside | on_edge, inside | wide)

    def _ends_of_line(self, origin: FloatArray, along: FloatArray) -> tuple[float, float]:
        """Parameters well outside the bounds on both sides."""
        x0, y0, x1, y1 = self.bounds
        corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
        t = (corners - origin) @ along / (along @ along)
        slack = math.dist((x0, y0), (x1, y1)) / float(np.linalg.norm(along))
        return float(t.min()) - slack, float(t.max()) + slack


def _merged(stops: FloatArray, inside: BoolArray, real: BoolArray) -> list[tuple[float, float]]:
    """Join neighbouring intervals that are inside; drop those that only touch the boundary (none of them real)."""
    out: list[list[float]] = []
    keep: list[bool] = []
    for i in np.flatnonzero(inside):
        if out and out[-1][1] == stops[i]:
            out[-1][1] = float(stops[i + 1])
            keep[-1] |= bool(real[i])
        else:
            out.append([float(stops[i]), float(stops[i + 1])])
            keep.append(bool(real[i]))
    return [(a, b) for (a, b), yes in zip(out, keep, strict=True) if yes]


def part_outline(part: Part) -> Outline:
    """Draw a part exactly: corners, bows, notches, rounds, holes, and the patches of supports and loads.

    Parameters
    ----------
    part : Part
        The description; lengths in mm.

    Returns
    -------
    Outline
        Its curves carry the names ``edge A-B``, ``round B``, ``notch N``, ``notch N start|floor|end``,
        ``hole pivot``, ``support s`` and ``load l``; the lines between regions ``region r``.

    Raises
    ------
    InputError
        For a shape that cannot be (crossing, holes outside, rounds too big), for regions that cover no wood,
        for supports and loads on places that are not there, and for cuts that meet no wood.
    """
    try:
        return _drawn(part)
    except InputError as error:
        if part.drawing and (error.key or "").startswith("outline."):
            error.key = "outline.file"  # its corners stand there, not in the part file
        if part.shape and (error.key or "").startswith("outline"):
            error.key = "mesh.file"
        raise


def _drawn(part: Part) -> Outline:
    edges = raw_edges(part)
    raw = [edge.curve for edge in edges]
    if part.shape is None:  # a mesh has been looked at, and its corners may be rough
        check_loop(raw, part)
    add_notches(part, edges)
    traced = trace(part, edges)
    outer = name_outer(part, traced)
    if part.shape is None:
        check_loop([piece.curve for piece in traced.pieces], part)
        check_holes(part, outer, raw)
    cuts = draw_openings(part, outer)
    holes = (hole_loop(hole, _labels_on(part, hole)) for hole in part.holes)
    loops = (outer, *holes, *(cut.loop for cut in cuts))
    check_details([curve for loop in loops for curve in loop], part)
    loops, interfaces = lay_regions(part, loops)
    names = [corner.name for corner in part.corners]
    lengths = {name: _length(edges, name) for name in part.edge_names} | _lengths(cuts)
    outline = Outline(
        loops,
        MappingProxyType({corner.name: corner.at for loop in part.loops for corner in loop}),
        (*(names[i] for i in sorted(traced.sharp)), *(name for cut in cuts for name in cut.sharp)),
        MappingProxyType(lengths | _of_groups(part, lengths)),
        interfaces,
    )
    if outline.area <= 0:
        raise InputError("The outline encloses no area. Check corners, bows and notches.", key="outline.corners")
    check_cuts(part, outline)
    if not part.cracks:
        return outline
    from .cracks import stated_lines  # it asks questions about an outline

    return outline.with_splits(stated_lines(part, outline))


def _length(edges: Sequence[Edge], name: str) -> float:
    return next(edge.length for edge in edges if edge.name == name)


def _of_groups(part: Part, lengths: Mapping[str, float]) -> dict[str, float]:
    groups = part.shape.groups if part.shape else {}
    return {name: sum(lengths[edge] for edge in edges) for name, edges in groups.items()}


def _lengths(cuts: Sequence[Cut]) -> dict[str, float]:
    return {name: length for cut in cuts for name, length in cut.lengths.items()}


def _labels_on(part: Part, hole: Hole) -> list[str]:
    """The supports and loads that sit on a hole."""
    patches = patches_of(part)
    return [patch.label for patch in patches if patch.place.kind == "hole" and patch.place.name == hole.name]
