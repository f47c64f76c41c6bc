"""Where along the member a person would cut: at what loads and weakens it, and where V and M are greatest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..mesh.curves import Curve, turn_at
from ..part.model import Cut as Drawn
from .member import Cut, Member, edge_slopes
from .proportions import hole_extent
from .statics import Seat

FloatArray = NDArray[np.float64]
CLOSE = 0.02  # of the member's length: stations nearer than this are one
MOST = 12


@dataclass(frozen=True)
class Scan:
    """Shear and moment sampled along the member: ``position``, ``V``, ``M``, ``depth`` (gross), each (k,)."""

    position: FloatArray
    V: FloatArray
    M: FloatArray
    depth: FloatArray


@dataclass(frozen=True)
class Extent:
    """The stretch of the axis that a support or load covers, mm."""

    name: str
    low: float
    high: float
    on_hole: bool = False

    @property
    def middle(self) -> float:
        """Half way, mm."""
        return (self.low + self.high) / 2


@dataclass(frozen=True)
class Station:
    """A named cut; ``drawn`` is the [[cut]] that the part file asks for, if one."""

    name: str
    cut: Cut
    drawn: Drawn | None = None


@dataclass(frozen=True)
class _Wish:
    name: str
    position: float
    place: bool = False  # something that can be pointed at, not just a great value


def extents(member: Member, seats: Sequence[Seat]) -> tuple[Extent, ...]:
    """Return the stretch of the axis that each seat covers, in order along it."""
    found = []
    for seat in seats:
        along = member.position_of(seat.points)
        low, high = float(along.min()), float(along.max())
        found.append(Extent(seat.name, low, high, seat.on.kind == "hole"))
    return tuple(sorted(found, key=lambda extent: extent.middle))


def whereabouts(position: float, places: Sequence[Extent]) -> str:
    """Say in words where a position lies: ``at keeper``, ``between pivot pin and keeper``, ``beyond keeper``."""
    at = [place.name for place in places if place.low <= position <= place.high]
    if at:
        return f"at {at[0]}"
    before = [place for place in places if place.high < position]
    after = [place for place in places if place.low > position]
    if before and after:
        return f"between {max(before, key=lambda p: p.high).name} and {min(after, key=lambda p: p.low).name}"
    if before:
        return f"beyond {max(before, key=lambda p: p.high).name}"
    return f"before {min(after, key=lambda p: p.low).name}" if after else "along the member"


def plateau_middle(scan: Scan, values: FloatArray) -> int:
    """Return the index in the middle of the longest run of values within 2 % of the greatest."""
    size = np.abs(values)
    high = size >= 0.98 * size.max()
    starts = np.flatnonzero(high & ~np.concatenate([[False], high[:-1]]))
    stops = np.flatnonzero(high & ~np.concatenate([high[1:], [False]]))
    longest = int(np.argmax(scan.position[stops] - scan.position[starts]))
    return int(starts[longest] + stops[longest]) // 2


def choose_stations(member: Member, scan: Scan, places: Sequence[Extent]) -> tuple[Station, ...]:
    """Choose the cuts: the part's own first, then a dozen at most, by what a person would look at.

    Parameters
    ----------
    member : Member
    scan : Scan
        To find the greatest V and M, and to leave out stretches where nothing acts.
    places : sequence of Extent
        Supports and loads, in order along the axis.

    Returns
    -------
    tuple of Station
        In order along the axis.
    """
    own = [(drawn, member.cut_between(drawn.start, drawn.stop)) for drawn in member.part.cuts]
    stations = [Station(drawn.name, cut, drawn) for drawn, cut in own if cut is not None]
    taken: list[_Wish] = [_Wish(station.name, station.cut.position, True) for station in stations]
    fixed = len(taken)
    for wish in _wishes(member, scan, places):
        _take(wish, taken, fixed, scan, member.length)
    for wish in taken[fixed:]:
        cut = member.cut(wish.position)
        if cut is not None:
            stations.append(Station(wish.name, cut))
    return tuple(sorted(stations, key=lambda station: station.cut.position))


def _take(wish: _Wish, taken: list[_Wish], fixed: int, scan: Scan, length: float) -> None:
    """Add a wish, or lend its name and place to a nameless one close by."""
    for k, other in enumerate(taken):
        if abs(other.position - wish.position) <= CLOSE * length:
            if k >= fixed and wish.place and not other.place:
                taken[k] = replace(wish, name=f"{wish.name}: {other.name}")
            elif k >= fixed and not wish.place and not other.place:
                taken[k] = replace(other, name=f"{other.name} and {wish.name.removeprefix('greatest ')}")
            return
    if len(taken) < MOST and _something_acts(wish.position, scan):
        taken.append(wish)


def _something_acts(position: float, scan: Scan) -> bool:
    if not scan.position[0] <= position <= scan.position[-1]:
        return False
    near = [abs(np.interp(position, scan.position, a)) / (np.abs(a).max() or 1.0) for a in (scan.V, scan.M)]
    deep = np.interp(position, scan.position, scan.depth) > 0.2 * np.median(scan.depth)
    return bool(deep and max(near) > 0.02)


def _wishes(member: Member, scan: Scan, places: Sequence[Extent]) -> Iterator[_Wish]:
    """Name every place worth a cut, most important first."""
    yield _Wish("greatest moment", float(scan.position[np.argmax(np.abs(scan.M))]))
    yield _Wish("greatest shear", float(scan.position[plateau_middle(scan, scan.V)]))
    holes = [(hole, float(member.position_of(np.array([hole.center]))[0])) for hole in member.part.holes]
    for hole, position in holes:
        yield _Wish(f"hole {hole.name}", position, True)
    yield from _notch_ends(member)
    yield from _region_ends(member)
    for hole, position in holes:
        half = 0.5 * hole_extent(hole, member.direction(position))
        away = half + max(0.25 * hole.diameter, 1.05 * CLOSE * member.length)
        yield _Wish(f"beside hole {hole.name}, after it", position + away, True)
        yield _Wish(f"beside hole {hole.name}, before it", position - away, True)
    yield from _free_stretches(member, places)
    bent = np.abs(scan.M) / (np.abs(scan.M).max() or 1.0)
    for place in places:
        name, position = _strongest_cut(place, scan, member.length)
        if np.interp(position, scan.position, bent) > 0.3:  # an end bearing has no moment to speak of
            yield _Wish(name, position, True)
    yield from _tapers(member)
    yield from _beside(places, 1.05 * CLOSE * member.length)


def _strongest_cut(place: Extent, scan: Scan, length: float) -> tuple[str, float]:
    """Name the cut for the moment at a place: its middle, or where it ends inwards if it holds an end of the member."""
    first, last = scan.position[[0, -1]]
    if place.low <= first:
        return f"at {place.name}", max(place.high + 0.005 * length, float(first))
    if place.high >= last:
        return f"at {place.name}", min(place.low - 0.005 * length, float(last))
    return f"middle of {place.name}", place.middle


def _beside(places: Sequence[Extent], out: float) -> Iterator[_Wish]:
    """Place a cut a little outside each end of each support and load, where nothing else touches the wood."""
    for place in places:
        for word, position in (("before", place.low - out), ("after", place.high + out)):
            if not any(other.low <= position <= other.high for other in places):
                yield _Wish(f"just {word} {place.name}", position, True)


def _free_stretches(member: Member, places: Sequence[Extent]) -> Iterator[_Wish]:
    """Place a cut in the middle of each stretch between places, longest first; in a taper at its quarters too."""
    stretches, reached = [], None
    for place in sorted(places, key=lambda p: p.low):
        if reached is not None and place.low - reached.high > 2 * CLOSE * member.length:
            stretches.append((reached, place))
        if reached is None or place.high > reached.high:
            reached = place
    stretches.sort(key=lambda pair: pair[0].high - pair[1].low)
    for share, word in ((0.5, ""), (0.25, ", first quarter"), (0.75, ", last quarter")):
        for before, after in stretches:
            position = (1 - share) * before.high + share * after.low
            if share == 0.5 or _tapers_at(member, position):
                yield _Wish(f"between {before.name} and {after.name}{word}", position, True)


def _tapers_at(member: Member, position: float) -> bool:
    cut = member.cut(position)
    slopes = None if cut is None else edge_slopes(member, cut)
    return slopes is not None and max(abs(slopes[0]), abs(slopes[1])) > 0.01


def _notch_ends(member: Member) -> Iterator[_Wish]:
    """Place a cut at the foot of each face of each notch, half into its round: there the net depth carries it all.

    A ramp's foot lies its run further in; the hole that an end is drilled out with has its middle at the foot.
    """
    corners = {corner.name: np.array(corner.at) for corner in member.part.corners}
    ends = dict(zip(member.part.edge_names, _edge_ends(member), strict=True))
    for notch in member.part.notches:
        first, second = (corners[name] for name in ends[notch.edge])
        length = float(np.linalg.norm(second - first))
        along = (second - first) / length
        inside = min(0.5 * notch.round or 0.02 * notch.depth, 0.5 * (notch.stop - notch.start))
        before, after = (run * notch.depth + (HAIR if notch.drill else inside) for run in notch.ramp)
        for word, s, skip in (
            ("start", notch.start + before, notch.start <= SLACK),
            ("end", notch.stop - after, notch.stop >= length - SLACK),
        ):
            if not skip:
                at = first + s * along
                yield _Wish(f"notch {notch.name}, {word}", float(member.position_of(at[None])[0]), True)


def notch_feet(member: Member) -> list[float]:
    """Positions (mm along the axis) of the feet of all notches' faces."""
    return [wish.position for wish in _notch_ends(member)]


def _region_ends(member: Member) -> Iterator[_Wish]:
    """Place a cut just outside each end of each region that ends along the member."""
    out = 0.5 * CLOSE * member.length
    for region in member.part.regions:
        lines = [line for line in member.outline.interfaces if f"region {region.name}" in line.names]
        if not lines:
            continue
        along = member.position_of(np.array([place for line in lines for place in (line.start, line.end)]))
        middles = along.reshape(-1, 2).mean(axis=1)
        slant = [
            abs(float(line.tangent(0.0) @ member.direction(position)))
            for line, position in zip(lines, middles.tolist(), strict=True)
        ]
        steps = middles[np.array(slant) < STEEP]
        for word, position, sign in (("before", along.min(), -1), ("after", along.max(), 1)):
            if (np.abs(steps - position) < out).any():
                yield _Wish(f"just {word} region {region.name}", float(position + sign * out), True)


STEEP = np.cos(np.radians(45.0))  # a line between regions nearer to the axis than this is no step along it
SLACK = 1e-6
SMOOTH = 1e-4  # radians
MANY, SHARP = (
    40,
    np.radians(10.0),
)  # with more corners than that, only sharp ones have a section of their own (own choice)
HAIR = 1e-3  # mm: beside a notch's face, not along it


def _edge_ends(member: Member) -> list[tuple[str, str]]:
    names = [corner.name for corner in member.part.corners]
    return list(zip(names, names[1:] + names[:1], strict=True))


def _tapers(member: Member) -> Iterator[_Wish]:
    """Place a cut at each corner at which a taper begins or ends, away from the member's own ends."""
    least = SHARP if len(member.part.corners) > MANY else 0.0
    for number, corner in enumerate(member.part.corners):
        if _runs_on(member.edges[number - 1], member.edges[number], least):
            continue
        position = float(member.position_of(np.array([corner.at]))[0])
        if 3 * CLOSE * member.length < position < (1 - 3 * CLOSE) * member.length:
            yield _Wish(f"corner {corner.name}", position, True)


def _runs_on(before: Curve, after: Curve, least: float) -> bool:
    """Whether one arc goes on into another, as where a drawn curve was cut in pieces, or a turn is below ``least``."""
    turn = abs(turn_at(before, after))
    return turn < least or (before.kind == after.kind == "arc" and turn < SMOOTH)
