"""Loose strokes joined into closed loops; gaps closed as far as is allowed, and refused with their place beyond."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ..errors import InputError
from .strokes import Point, Ring, Stroke

NOTHING = 1e-7  # mm: a stroke shorter than this is none
SAME = 1e-6  # mm: ends nearer than this are one place

_Cells = dict[tuple[int, int], list[tuple[int, Point]]]


@dataclass(frozen=True)
class Joined:
    """Closed loops of strokes, each end the next one's start.

    Parameters
    ----------
    loops : tuple of tuple of Stroke
        mm.
    rings : tuple of Ring
        Whole circles, each once.
    widest : float
        The greatest gap that was closed, mm.
    closed, doubled : int
        How many gaps were closed, and how many things lay exactly on others.
    """

    loops: tuple[tuple[Stroke, ...], ...]
    rings: tuple[Ring, ...]
    widest: float
    closed: int
    doubled: int


def join(strokes: Sequence[Stroke], rings: Sequence[Ring], gap: float) -> Joined:
    """Join strokes whose ends are at most ``gap`` (mm) apart.

    Parameters
    ----------
    strokes, rings : sequence
        As drawn, in any order and sense, mm.
    gap : float
        Ends nearer than this are one place, half-way between them.

    Raises
    ------
    InputError
        Where an end meets no other or more than one, with the place, and for strokes shorter than the gap.

    Examples
    --------
    >>> corners = [(0.0, 0.0), (9.0, 0.0), (9.0, 5.0)]
    >>> sides = [Stroke(a, b) for a, b in zip(corners, corners[1:] + corners[:1])]
    >>> [len(loop) for loop in join([sides[0], sides[2], sides[1].reverse()], [], 0.01).loops]
    [3]
    """
    kept = _single(strokes, gap)
    circles = _single_rings(rings, gap)
    groups = _places(kept, gap)
    _refuse_short(kept, groups, gap)
    _refuse_open(kept, groups, gap)
    loops, widest, closed = _walk(kept, groups)
    doubled = sum(one.chord > NOTHING for one in strokes) - len(kept)
    doubled += sum(one.radius > NOTHING for one in rings) - len(circles)
    return Joined(tuple(loops), tuple(circles), widest, closed, doubled)


def _single(strokes: Sequence[Stroke], gap: float) -> list[Stroke]:
    """Leave out strokes without length, and those that lie on another one from end to end."""
    kept: list[Stroke] = []
    cells: _Cells = defaultdict(list)
    near = min(gap, 1e-3)
    for one in strokes:
        if one.chord <= NOTHING:
            continue
        twins = (kept[number] for number, _ in _around(cells, one.middle, near))
        if any(_same(one, twin, near) for twin in twins):
            continue
        _put(cells, one.middle, near, len(kept))
        kept.append(one)
    return kept


def _same(one: Stroke, two: Stroke, near: float) -> bool:
    ends = (two.start, two.end), (two.end, two.start)
    return any(math.dist(one.start, a) <= near and math.dist(one.end, b) <= near for a, b in ends)


def _single_rings(rings: Sequence[Ring], gap: float) -> list[Ring]:
    kept: list[Ring] = []
    near = min(gap, 1e-3)
    for one in rings:
        twins = (two for two in kept if math.dist(one.center, two.center) <= near)
        if one.radius > NOTHING and all(abs(one.radius - two.radius) > near for two in twins):
            kept.append(one)
    return kept


def _refuse_short(strokes: Sequence[Stroke], groups: Sequence[int], gap: float) -> None:
    for k, one in enumerate(strokes):
        if groups[2 * k] == groups[2 * k + 1]:
            raise InputError(
                f"A line or arc only {one.chord:.3g} mm long at {at(one.start)} is no longer than the gap that may be "
                f"closed, {gap:.3g} mm; give a smaller gap, or take that piece out."
            )


def _cell(point: Point, size: float) -> tuple[int, int]:
    return math.floor(point[0] / size), math.floor(point[1] / size)


def _put(cells: _Cells, point: Point, size: float, number: int) -> None:
    cells[_cell(point, size)].append((number, point))


def _around(cells: _Cells, point: Point, size: float) -> list[tuple[int, Point]]:
    """What lies within ``size`` of a point."""
    i, j = _cell(point, size)
    near = (cells.get((i + di, j + dj), ()) for di in (-1, 0, 1) for dj in (-1, 0, 1))
    return [(number, place) for found in near for number, place in found if math.dist(place, point) <= size]


def _places(strokes: Sequence[Stroke], gap: float) -> list[int]:
    """Number of the place of each end (start and end of each stroke in turn).

    Ends that are one place share one; of those that are alone, ones within the gap do.
    """
    place = list(range(2 * len(strokes)))
    ends = _ends(strokes)
    _gather(place, ends, range(len(ends)), SAME)
    times = Counter(_root(place, number) for number in range(len(ends)))
    alone = [number for number in range(len(ends)) if times[_root(place, number)] == 1]
    _gather(place, ends, alone, gap)
    return [_root(place, number) for number in range(len(ends))]


def _gather(place: list[int], ends: Sequence[Point], numbers: Iterable[int], near: float) -> None:
    """Give ends within a distance of one another the same place."""
    cells: _Cells = defaultdict(list)
    for number in numbers:
        for other, _ in _around(cells, ends[number], near):
            place[_root(place, number)] = _root(place, other)
        _put(cells, ends[number], near, number)


def _root(place: list[int], number: int) -> int:
    while place[number] != number:
        place[number] = place[place[number]]
        number = place[number]
    return number


def _ends(strokes: Sequence[Stroke]) -> list[Point]:
    return [point for stroke in strokes for point in (stroke.start, stroke.end)]


def _refuse_open(strokes: Sequence[Stroke], groups: Sequence[int], gap: float) -> None:
    """Every place has two ends; else the message says where, and what is nearest."""
    ends = _ends(strokes)
    members: dict[int, list[int]] = defaultdict(list)
    for number, group in enumerate(groups):
        members[group].append(number)
    for found in members.values():
        if len(found) > 2:
            raise InputError(
                f"{len(found)} lines meet at {at(ends[found[0]])}; along an outline two do. Take out what does not "
                "belong to it, put it on another layer and name the layers to read (layers = [...]), or give a smaller "
                "gap."
            )
    loose = [found[0] for found in members.values() if len(found) == 1]
    if loose:
        raise InputError(_open_message(strokes, ends, loose, gap))


def _open_message(strokes: Sequence[Stroke], ends: Sequence[Point], loose: Sequence[int], gap: float) -> str:
    pairs = [(math.dist(ends[a], ends[b]), a, b) for k, a in enumerate(loose) for b in loose[:k]]
    if not pairs:  # an end that meets the middle of a line
        a = loose[0]
        return f"The outline is open: the line that ends at {at(ends[a])} meets no other end there. {_ADVICE}"
    apart, a, b = min(pairs)
    count = "" if len(loose) == 2 else f" ({len(loose)} loose ends in all)"
    size = f"{_rounded_up(apart):g} mm"
    cure = (
        f'If they are meant to meet, gap = "{size}" closes it (now {gap:g} mm).'
        if apart < 0.1 * min(stroke.chord for stroke in strokes)
        else _ADVICE
    )
    return f"The outline is open between {at(ends[a])} and {at(ends[b])}, {apart:.4g} mm apart{count}. {cure}"


_ADVICE = "Close it in the drawing, or name the layers to read (layers = [...]) where that line is none of the outline."


def _rounded_up(length: float) -> float:
    """Two digits of a length, not below it."""
    unit = 10.0 ** (math.floor(math.log10(max(length, 1e-9))) - 1)
    return float(f"{math.ceil(length / unit * (1 - 1e-12)) * unit:.2g}")


def _walk(strokes: Sequence[Stroke], groups: Sequence[int]) -> tuple[list[tuple[Stroke, ...]], float, int]:
    """Follow the strokes round each loop; gives the loops, the greatest gap and the number of gaps."""
    ends = _ends(strokes)
    partner: dict[int, int] = {}
    first: dict[int, int] = {}
    for number, group in enumerate(groups):
        if group in first:
            partner[number], partner[first[group]] = first[group], number
        else:
            first[group] = number
    gaps = [math.dist(ends[a], ends[b]) for a, b in partner.items() if a < b]
    meet = {a: _between(ends[a], ends[b]) for a, b in partner.items()}
    left, loops = set(range(len(strokes))), []
    while left:
        number = 2 * min(left)  # the end at which the next stroke begins
        loop = []
        while number // 2 in left:
            left.remove(number // 2)
            stroke = strokes[number // 2] if number % 2 == 0 else strokes[number // 2].reverse()
            loop.append(replace(stroke, start=meet[number], end=meet[number ^ 1]))
            number = partner[number ^ 1]
        loops.append(tuple(loop))
    return loops, max(gaps, default=0.0), sum(gap > SAME for gap in gaps)


def _between(one: Point, two: Point) -> Point:
    return one if one == two else (round((one[0] + two[0]) / 2, 9), round((one[1] + two[1]) / 2, 9))


def at(point: Point) -> str:
    """A place as messages show it."""
    return f"({point[0]:.6g}, {point[1]:.6g}) mm"
