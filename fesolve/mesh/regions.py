"""Regions: where each one counts, and the lines between them, cut where they meet one another and the outline.

Everything nearer together than ``SHORTEST`` is one point: a region drawn up to an edge ends on that edge.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import InputError
from ..part.model import Part, Region
from .checks import called, first_contact
from .curves import SAME, Curve, CurveSet, FloatArray, Point, crossings, line
from .trace import SHORTEST, mm

Loops = tuple[tuple[Curve, ...], ...]

BODY = -1
"""Index of the wood that is in no region."""
PROBE = 3 * SHORTEST  # mm from a line at which is asked which region lies there
FLATTEST_LINE = math.radians(0.5)  # between a region's side and a straight edge
FLATTEST_ARC = math.radians(5.0)  # between a region's side and an arc, whose elements are curved


def region_at(part: Part, points: ArrayLike) -> NDArray[np.int64]:
    """Which region counts at each point.

    Parameters
    ----------
    part : Part
        The description.
    points : (k, 2) array
        Places, mm; on the border of a region either answer may come.

    Returns
    -------
    (k,) int array
        Index into ``part.regions``, the last that covers the point; -1 for the rest of the part.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> square = Region(name="cheek", corners=((0, 0), (4, 0), (4, 4), (0, 4)), thickness=9)
    >>> region_at(SimpleNamespace(regions=(square,)), [(1, 1), (5, 1)]).tolist()
    [0, -1]
    """
    places = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    index = np.full(len(places), BODY, dtype=np.int64)
    for i, region in enumerate(part.regions):
        index[CurveSet(_sides(region)).contains(places)] = i
    return index


def thickness_at(part: Part, points: ArrayLike) -> FloatArray:
    """Thickness (k,) mm of the wood at points (k, 2) mm, that of the region that counts there."""
    of_region = [part.wood.thickness if r.thickness is None else r.thickness for r in part.regions]
    return np.array([*of_region, part.wood.thickness])[region_at(part, points)]  # BODY is the last


def _sides(region: Region) -> tuple[Curve, ...]:
    """The sides of a region's polygon, or of all loops round its cells."""
    following = region.corners[1:] + region.corners[:1]
    pairs = region.patch.sides if region.patch else zip(region.corners, following, strict=True)
    return tuple(line(a, b, f"region {region.name}") for a, b in pairs)


def lay_regions(part: Part, loops: Loops) -> tuple[Loops, tuple[Curve, ...]]:
    """Cut the outline and the sides of the regions where they meet.

    Parameters
    ----------
    part : Part
        The description.
    loops : tuple of tuple of Curve
        The outline, wood on the left.

    Returns
    -------
    tuple of tuple of Curve
        The outline with the same shape and names, split where a region's side begins or ends.
    tuple of Curve
        The lines between regions, named ``region <name>``. They share no point but their ends, and these are the
        same points as the ends of the curves of the outline that they meet.

    Raises
    ------
    InputError
        For polygons without area or that cross themselves, regions that cover no wood, and sides that leave the
        outline at too flat an angle to be meshed.
    """
    if not part.regions:
        return loops, ()
    if any(region.patch for region in part.regions):
        return _as_meshed(part, loops)
    for i, region in enumerate(part.regions, 1):
        _check_polygon(region, i)
    outline = CurveSet([curve for loop in loops for curve in loop])
    points = _Points(outline)
    drawn = _pieces(part, points)
    _check_covered(part, loops, drawn)
    lines = _visible(part, drawn, outline)
    ends = sorted({place for piece in lines for place in (piece.start, piece.end)})
    split = split_loops(loops, ends)
    _check_angles(part, split, lines)
    return split, lines


def _as_meshed(part: Part, loops: Loops) -> tuple[Loops, tuple[Curve, ...]]:
    """The borders of regions as the mesh has them; a side that two regions share has both names."""
    pieces: dict[tuple[Point, Point], tuple[str, ...]] = {}
    for region in part.regions:
        for a, b in region.patch.borders if region.patch else ():
            same = (b, a) if (b, a) in pieces else (a, b)
            pieces[same] = (*pieces.get(same, ()), f"region {region.name}")
    lines = tuple(line(a, b, *names) for (a, b), names in pieces.items())
    ends = sorted({place for piece in lines for place in (piece.start, piece.end)})
    return split_loops(loops, ends), lines


def _check_polygon(region: Region, number: int) -> None:
    """Refuse polygons that are none."""
    key = f"region.{number}.corners"
    if len(region.corners) < 3:
        raise InputError(f'Region "{region.name}" has {len(region.corners)} corners; give at least 3.', key=key)
    sides = region.corners[1:] + region.corners[:1]
    for corner, following in zip(region.corners, sides, strict=True):
        if math.dist(corner, following) < SHORTEST:
            x, y = following
            raise InputError(
                f'Region "{region.name}": two corners in a row are at ({x:.6g}, {y:.6g}) mm. Remove one of them.',
                key=key,
            )
    contact = first_contact(_sides(region))
    if contact is not None:
        x, y = contact[2]
        raise InputError(
            f'Region "{region.name}" crosses or touches itself at ({x:.6g}, {y:.6g}) mm, or has no area. Check the '
            "order of its corners, which go round it.",
            key=key,
        )


@dataclass
class _Points:
    """All points that matter, no two within ``SHORTEST``: ends of the outline's curves first, exactly as they are.

    A point that close to the outline is moved on to it.
    """

    outline: CurveSet

    def __post_init__(self) -> None:
        self.places: list[Point] = list(dict.fromkeys(curve.start for curve in self.outline.curves))

    def add(self, place: Point) -> int:
        """Number of the point that stands for a place."""
        known = self._near(place)
        if known is None:
            gaps = self.outline.distances(np.array([place]))[0]
            nearest = int(np.argmin(gaps))
            if gaps[nearest] < SHORTEST:
                place = self.outline.curves[nearest].nearest(place)[1]
                known = self._near(place)
        if known is None:
            known = len(self.places)
            self.places.append(place)
        return known

    def _near(self, place: Point) -> int | None:
        gaps = np.hypot(*(np.array(self.places) - place).T)
        nearest = int(np.argmin(gaps))
        return nearest if gaps[nearest] < SHORTEST else None

    def at(self, number: int) -> Point:
        """Coordinates of a point, mm."""
        return self.places[number]

    def along(self, first: int, last: int) -> list[int]:
        """All points on the way from one to another, in order, both included."""
        places = np.array(self.places)
        side = line(self.at(first), self.at(last))
        t = (places - side.start) @ side.tangent(0.0)
        off = np.abs((places - side.start) @ side.inward(0.0))
        on = np.flatnonzero((off < SHORTEST) & (t > 0) & (t < side.length))
        inner = [int(i) for i in on[np.argsort(t[on])] if i not in (first, last)]
        return [first, *inner, last]


def _pieces(part: Part, points: _Points) -> list[Curve]:
    """The sides of all regions, cut at one another and at the outline; a piece that several share has all names."""
    corners = [[points.add(corner) for corner in region.corners] for region in part.regions]
    sides = [
        (i, j, f"region {region.name}")
        for region, numbers in zip(part.regions, corners, strict=True)
        for i, j in zip(numbers, numbers[1:] + numbers[:1], strict=True)
        if i != j
    ]
    drawn = [line(points.at(i), points.at(j)) for i, j, _ in sides]
    for k, side in enumerate(drawn):
        for other in (*points.outline.curves, *drawn[:k]):
            for place in crossings(side, other):
                points.add(place)
    pieces: dict[tuple[int, int], tuple[str, ...]] = {}
    for first, last, name in sides:
        for i, j in pairwise(points.along(first, last)):
            same = (j, i) if (j, i) in pieces else (i, j)
            pieces[same] = (*pieces.get(same, ()), name)
    return [line(points.at(i), points.at(j), *names) for (i, j), names in pieces.items()]


def _visible(part: Part, pieces: Sequence[Curve], outline: CurveSet) -> tuple[Curve, ...]:
    """Those pieces that lie inside the wood and are not covered by a later region."""
    middles = np.array([piece.point(piece.length / 2) for piece in pieces])
    seen = outline.contains(middles) & (outline.distances(middles).min(axis=1) >= SHORTEST)
    last = np.array([_last_of(part, piece) for piece in pieces])
    for i, region in enumerate(part.regions):
        polygon = CurveSet(_sides(region))
        inside = polygon.contains(middles) & (polygon.distances(middles).min(axis=1) >= SHORTEST)
        seen &= ~(inside & (i > last))
    return tuple(piece for piece, yes in zip(pieces, seen, strict=True) if yes)


def _last_of(part: Part, piece: Curve) -> int:
    """Index of the last region that a line is a side of."""
    names = [f"region {region.name}" for region in part.regions]
    return max(names.index(name) for name in piece.names)


def split_loops(loops: Loops, ends: Sequence[Point]) -> Loops:
    """The same loops, their curves split at those of the points that lie on them."""
    return tuple(tuple(new for curve in loop for new in _split(curve, ends)) for loop in loops)


def _split(curve: Curve, ends: Sequence[Point]) -> list[Curve]:
    """A curve of the outline, split at those of the points that lie inside it."""
    x0, x1, y0, y1 = curve.bounds
    near = [p for p in ends if x0 - SAME <= p[0] <= x1 + SAME and y0 - SAME <= p[1] <= y1 + SAME]
    stops = sorted(
        (curve.foot(p) or 0.0, p) for p in near if p not in (curve.start, curve.end) and curve.nearest(p)[0] <= SAME
    )
    places = [curve.start, *(place for _, place in stops), curve.end]
    return [replace(curve, start=a, end=b) for a, b in pairwise(places)]


def _check_angles(part: Part, loops: Loops, lines: Sequence[Curve]) -> None:
    """Refuse sides that leave the outline, or one another, at an angle so flat that no element fits in."""
    leaving: dict[Point, list[tuple[Curve, FloatArray]]] = {}
    for piece in lines:
        for place, way in _ways(piece):
            leaving.setdefault(place, []).append((piece, way))
    for place, found in leaving.items():
        for (piece, way), (other, there) in combinations(found, 2):
            _check_angle(part, place, piece, other, float(way @ there))
    for curve in (curve for loop in loops for curve in loop):
        for place, way in _ways(curve):
            for piece, there in leaving.get(place, ()):
                _check_angle(part, place, piece, curve, float(way @ there))


def _ways(curve: Curve) -> tuple[tuple[Point, FloatArray], tuple[Point, FloatArray]]:
    """Both ends of a curve, and the direction in which it leaves each."""
    return (curve.start, curve.tangent(0.0)), (curve.end, -curve.tangent(curve.length))


def _check_angle(part: Part, place: Point, piece: Curve, other: Curve, cosine: float) -> None:
    limit = FLATTEST_LINE if other.kind == "line" else FLATTEST_ARC
    angle = math.acos(max(-1.0, min(1.0, cosine)))
    if angle >= limit:
        return
    what = "another side" if other.names[0] == piece.names[0] else called(other)
    raise InputError(
        f"A side of {called(piece)} meets {what} at ({place[0]:.6g}, {place[1]:.6g}) mm at {math.degrees(angle):.2g} "
        f"deg, too flat for elements to fit between them; {math.degrees(limit):g} deg is the least. Move that side, or "
        "turn it.",
        key=f"region.{_last_of(part, piece) + 1}",
    )


def _check_covered(part: Part, loops: Loops, pieces: Sequence[Curve]) -> None:
    """Refuse regions that cover no wood: every patch of wood has a side, so it is asked beside all sides."""
    curves = [curve for loop in loops for curve in loop]
    probes = [curve.point(curve.length / 2) + PROBE * curve.inward(curve.length / 2) for curve in (*curves, *pieces)]
    probes += [piece.point(piece.length / 2) - PROBE * piece.inward(piece.length / 2) for piece in pieces]
    places = np.array(probes)
    places = places[CurveSet(curves).contains(places)]
    counts = region_at(part, places)
    for i, region in enumerate(part.regions):
        if (counts == i).any():
            continue
        over = counts[CurveSet(_sides(region)).contains(places)]
        if len(over):
            listed = ", ".join(f'"{part.regions[k].name}"' for k in np.unique(over))
            raise InputError(
                f'Region "{region.name}" counts nowhere: what stands later in the file, {listed}, covers all of it. '
                "Put it after them, or leave it out.",
                key=f"region.{i + 1}",
            )
        raise InputError(f"{_where_not(region, curves)} Move it on to the wood.", key=f"region.{i + 1}")


def _where_not(region: Region, curves: Sequence[Curve]) -> str:
    """Say that a region covers no wood, and how far off it is."""
    gaps = [(min(c.nearest(p)[0] for c in curves), p) for p in region.corners]
    gap, (x, y) = min(gaps)
    return (
        f'Region "{region.name}" covers no wood: it lies outside the part, or within a hole or a notch. Its corner '
        f"nearest to the wood is ({x:.6g}, {y:.6g}) mm, {mm(gap)} from it."
    )
