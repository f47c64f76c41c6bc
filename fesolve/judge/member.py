"""A part seen as a member: its axis, and the cuts across it that a hand calculation makes.

The axis runs along the grain through the middle of the part (holes and notches left out) unless the part names its own.
Positions run along it from the part's first end, heights across it to its left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..mesh.curves import Curve, CurveSet, bowed, line
from ..part.model import Part
from ..part.regions import BODY as REST
from .zones import names_at

if TYPE_CHECKING:
    from ..mesh.outline import Outline

FloatArray = NDArray[np.float64]
Interval = tuple[float, float]
SMALL = 1e-6  # mm: a sliver of wood thinner than this is none
BESIDE = 1e-3  # mm: a cut along a border between regions is taken so far after it


class Layer(NamedTuple):
    """A piece of a cut within one region: heights (mm) and the region's name, ``part`` for the rest."""

    low: float
    high: float
    region: str


@dataclass(frozen=True)
class Cut:
    """One straight cut across the member.

    Parameters
    ----------
    position : float
        Along the member axis, mm.
    origin, axis, left : (2,) array
        A point of the axis (mm), the cut's unit normal along the axis, and the direction in which heights run.
    ligaments : tuple of (float, float)
        Heights between which there is wood, from below, mm; only those that belong together.
    gross : (float, float)
        The same with holes and notches left out.
    whole : bool
        Whether this is all the wood on the line, so that the cut parts the member in two.
    gross_layers : tuple of Layer
        The regions over `gross`, from below.
    """

    position: float
    origin: FloatArray
    axis: FloatArray
    left: FloatArray
    ligaments: tuple[Interval, ...]
    gross: Interval
    whole: bool
    gross_layers: tuple[Layer, ...]

    @property
    def layers(self) -> tuple[Layer, ...]:
        """The ligaments, divided where one region ends and another begins, from below."""
        pieces = [
            Layer(max(low, layer.low), min(high, layer.high), layer.region)
            for low, high in self.ligaments
            for layer in self.gross_layers
        ]
        return tuple(piece for piece in pieces if piece.high - piece.low > SMALL)

    @property
    def low(self) -> float:
        """Height of the lower face, mm."""
        return self.ligaments[0][0]

    @property
    def high(self) -> float:
        """Height of the upper face, mm."""
        return self.ligaments[-1][1]

    @property
    def depth(self) -> float:
        """From face to face, mm."""
        return self.high - self.low

    @property
    def gross_depth(self) -> float:
        """From face to face with holes and notches left out, mm."""
        return self.gross[1] - self.gross[0]

    def points(self, heights: FloatArray) -> FloatArray:
        """Return the points (k, 2) at ``heights`` (k,)."""
        return self.origin + np.asarray(heights)[:, None] * self.left


@dataclass(frozen=True, eq=False)
class Member:
    """The part as a member: ``vertices`` (k, 2) of its axis, mm, in order."""

    part: Part
    outline: Outline
    vertices: FloatArray

    @cached_property
    def _stations(self) -> FloatArray:
        return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(self.vertices, axis=0), axis=1))])

    @property
    def length(self) -> float:
        """Length of the axis, mm."""
        return float(self._stations[-1])

    @cached_property
    def edges(self) -> tuple[Curve, ...]:
        """The outline between the corners, bows in, without rounds and notches."""
        return tuple(_edges(self.part))

    @cached_property
    def _gross(self) -> CurveSet:
        return CurveSet(self.edges)

    def direction(self, position: float) -> FloatArray:
        """Return the unit direction (2,) of the axis at a position (mm)."""
        step = np.diff(self.vertices, axis=0)[self._piece(position)]
        return np.asarray(step / np.linalg.norm(step))

    def point(self, position: float) -> FloatArray:
        """Return the point (2,) of the axis at a position (mm)."""
        k = self._piece(position)
        return np.asarray(self.vertices[k] + (position - self._stations[k]) * self.direction(position))

    def _piece(self, position: float) -> int:
        return int(np.clip(np.searchsorted(self._stations, position, side="right") - 1, 0, len(self.vertices) - 2))

    def position_of(self, points: FloatArray) -> FloatArray:
        """Return the positions (k,) of the feet of points (k, 2) on the axis; its ends are prolonged."""
        start, step = self.vertices[:-1], np.diff(self.vertices, axis=0)
        length = np.linalg.norm(step, axis=1)
        along = np.einsum("kpi,pi->kp", points[:, None] - start, step / length[:, None])
        low, high = np.zeros(len(length)), length.copy()
        low[0], high[-1] = -np.inf, np.inf
        along = np.clip(along, low, high)
        foot = start + along[..., None] * (step / length[:, None])
        nearest = np.argmin(np.linalg.norm(points[:, None] - foot, axis=2), axis=1)
        rows = np.arange(len(points))
        return np.asarray(self._stations[nearest] + along[rows, nearest])

    def cut(self, position: float) -> Cut | None:
        """Cut square to the axis through everything that belongs together; None where there is no wood."""
        axis = self.direction(position)
        return self._cut(position, self.point(position), axis, (-np.inf, np.inf))

    def cut_between(self, start: Sequence[float], stop: Sequence[float]) -> Cut | None:
        """Cut from point to point (mm); None where there is no wood between them."""
        p, q = np.asarray(start, dtype=float), np.asarray(stop, dtype=float)
        middle = (p + q) / 2
        position = float(self.position_of(middle[None])[0])
        left = (q - p) / np.linalg.norm(q - p)
        axis = np.array([left[1], -left[0]])
        if axis @ self.direction(position) < 0:
            axis = -axis
        half = float(np.linalg.norm(q - p)) / 2
        return self._cut(position, middle, axis, (-half, half))

    def shifted(self, cut: Cut, distance: float) -> Cut | None:
        """Make a cut parallel to another one, ``distance`` mm further along."""
        return self._cut(cut.position + distance, cut.origin + distance * cut.axis, cut.axis, (-np.inf, np.inf))

    def _cut(self, position: float, origin: FloatArray, axis: FloatArray, window: Interval) -> Cut | None:
        left = np.array([-axis[1], axis[0]])
        if self._along_border(origin, axis):
            origin = origin + BESIDE * axis
        wood = self._wood(origin, left)
        inside = [(max(a, window[0]), min(b, window[1])) for a, b in wood]
        inside = [(a, b) for a, b in inside if b - a > SMALL]
        if not inside:
            return None
        ligaments = inside if np.isfinite(window[0]) else self._together(inside, origin, left)
        gross = self._gross_interval(origin, left, ligaments)
        whole = len(ligaments) == len(wood) and ligaments[0][0] <= wood[0][0] + SMALL
        whole = whole and ligaments[-1][1] >= wood[-1][1] - SMALL
        return Cut(position, origin, axis, left, tuple(ligaments), gross, whole, self._layers(origin, left, gross))

    @cached_property
    def _region_sides(self) -> CurveSet | None:
        """The sides of all regions; None without any."""
        pairs = [
            pair
            for region in self.part.regions
            for pair in zip(region.corners, region.corners[1:] + region.corners[:1], strict=True)
        ]
        return CurveSet([line(a, b) for a, b in pairs]) if pairs else None

    def _along_border(self, origin: FloatArray, axis: FloatArray) -> bool:
        """Whether a cut runs along a line between regions, where it would see now one side, now the other."""
        ends = np.array([(one.start, one.end) for one in self.outline.interfaces]).reshape(-1, 2, 2)
        return bool((np.abs((ends - origin) @ axis) < BESIDE / 10).all(axis=1).any())

    def _layers(self, origin: FloatArray, left: FloatArray, gross: Interval) -> tuple[Layer, ...]:
        if self._region_sides is None:
            return (Layer(*gross, REST),)
        hits = self._region_sides.hits(origin[None], left[None])[0][0]
        inner = np.unique(hits[np.isfinite(hits) & (hits > gross[0] + SMALL) & (hits < gross[1] - SMALL)])
        edges = np.concatenate([[gross[0]], inner, [gross[1]]])
        names = names_at(self.part, origin + (edges[:-1] + edges[1:])[:, None] / 2 * left)
        layers: list[Layer] = []
        for low, high, name in zip(edges[:-1].tolist(), edges[1:].tolist(), names, strict=True):
            if layers and (layers[-1].region == name or high - low <= SMALL):
                layers[-1] = Layer(layers[-1].low, high, layers[-1].region)
            else:
                layers.append(Layer(low, high, name))
        return tuple(layers)

    def _wood(self, origin: FloatArray, left: FloatArray) -> list[Interval]:
        p, q = origin, origin + left  # a line of 1 mm made endless: its parameters are heights
        pieces = self.outline.clip_line((float(p[0]), float(p[1])), (float(q[0]), float(q[1])), endless=True)
        return [(a, b) for a, b in pieces if b - a > SMALL]

    def _together(self, pieces: list[Interval], origin: FloatArray, left: FloatArray) -> list[Interval]:
        """Keep the pieces joined across holes and notches to the one nearest the axis."""
        groups = [[pieces[0]]]
        for below, above in pairwise(pieces):
            middle = origin + (below[1] + above[0]) / 2 * left
            if self._gross.contains(middle[None])[0]:
                groups[-1].append(above)
            else:
                groups.append([above])
        return min(groups, key=lambda group: max(group[0][0], -group[-1][1], 0.0))

    def _gross_interval(self, origin: FloatArray, left: FloatArray, ligaments: Sequence[Interval]) -> Interval:
        hits = self._gross.hits(origin[None], left[None])[0][0]
        edges = np.unique(hits[np.isfinite(hits)])
        middles = (edges[:-1] + edges[1:]) / 2
        inside = self._gross.contains(origin + middles[:, None] * left)
        low, high = ligaments[0][0], ligaments[-1][1]
        touching = inside & (edges[:-1] < high) & (edges[1:] > low)
        if not touching.any():
            return low, high
        return min(low, float(edges[:-1][touching].min())), max(high, float(edges[1:][touching].max()))


def member_of(part: Part, outline: Outline) -> Member:
    """Find the member axis of a part: its own line, or along the grain through its middle, from end to end."""
    if part.member_line is not None:
        return Member(part, outline, np.array(part.member_line, dtype=float))
    border = np.vstack([edge.sample(edge.length / 32) for edge in _edges(part)])
    middle = _centroid(border)
    angle = np.radians(part.wood.grain)
    along = np.array([np.cos(angle), np.sin(angle)])
    reach = (border - middle) @ along
    return Member(part, outline, np.array([middle + reach.min() * along, middle + reach.max() * along]))


def edge_slopes(member: Member, cut: Cut) -> tuple[float, float] | None:
    """Slopes of the lower and upper face along the member at a cut, or None where they bend, step or are pierced.

    Returns
    -------
    (low, high) or None
        Change of each face's height for each mm along the member.
    """
    step = max(0.0025 * member.length, 0.02)
    near = [member.shifted(cut, -step), member.shifted(cut, step)]
    if not cut.whole or len(cut.ligaments) > 1 or any(c is None or len(c.ligaments) > 1 for c in near):
        return None
    before, after = ((c.low, c.high) for c in near if c is not None)
    one = np.subtract((cut.low, cut.high), before) / step
    two = np.subtract(after, (cut.low, cut.high)) / step
    if np.abs(two - one).max() > 0.05 or np.abs(one + two).max() / 2 > 0.6:
        return None
    low, high = ((one + two) / 2).tolist()
    return low, high


def bend_radius(member: Member, cut: Cut) -> float | None:
    """Mean radius of the bend that a cut goes through, mm, or None; positive where a positive moment straightens it.

    Both faces of a bend are bows with their centres on the same side.
    """
    radii = []
    for height in (cut.low, cut.high):
        x, y = cut.points(np.array([height]))[0].tolist()
        for curve in member.edges:
            if curve.center is not None and curve.radius is not None and curve.nearest((x, y))[0] < 1e-6:
                side = float((np.asarray(curve.center) - cut.origin) @ cut.left) - height
                radii.append(float(np.copysign(curve.radius, side)))
                break
    if len(radii) < 2 or radii[0] * radii[1] < 0:
        return None
    return sum(radii) / 2


def _edges(part: Part) -> list[Curve]:
    """Draw the outline between the corners, bows in, without rounds and notches."""
    corners = part.corners
    points = np.array([corner.at for corner in corners])
    x, y = points.T
    sense = np.sign(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) or 1.0
    pairs = zip(corners, corners[1:] + corners[:1], strict=True)
    return [bowed(a.at, b.at, sense * a.bow) if a.bow else line(a.at, b.at) for a, b in pairs]


def _centroid(polygon: FloatArray) -> FloatArray:
    """Centroid of a polygon (k, 2), by the sum over its triangles from the first corner."""
    p = polygon - polygon[0]
    q = np.roll(p, -1, axis=0)
    twice = p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]
    return np.asarray(polygon[0] + ((p + q) * twice[:, None]).sum(axis=0) / (3 * twice.sum()))
