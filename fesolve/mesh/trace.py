"""From the corners of a part to its outer loop: bows, then notches, then rounds.

Everything here runs counter-clockwise. An edge whose corners were given the other way round keeps its
name and its distances: `Edge.forward` says which end its distances are counted from.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from ..errors import InputError
from ..part.model import Corner, Notch, Part
from .curves import SAME, Curve, Fillet, Point, as_point, bowed, crossings, fillet, line, turn_at

TWIN = 1e-6  # mm: corners nearer than this are one
FLATTEST = 1e-4  # rise over chord of the flattest bow
SHORTEST = 1e-4  # mm: nothing shorter is meshed


def mm(length: float) -> str:
    """A length as messages show it: ``12.5 mm``."""
    return f"{length:.6g} mm"


def at_most(length: float) -> str:
    """A length rounded down to 0.001 mm, so that taking it is safe; finer where it is tiny."""
    digits = 3 if length >= 0.01 else 3 - math.floor(math.log10(max(length, 1e-12)))
    return mm(math.floor(length * 10**digits) / 10**digits)


@dataclass
class Edge:
    """One edge on its way to the final loop; all distances in mm in the direction of travel.

    ``low`` to ``high`` is what its neighbours leave of it; ``notches`` and ``pieces`` are sorted.
    """

    name: str
    curve: Curve
    forward: bool
    begins: int  # number of the corner it begins at, as the part counts them
    corner: str  # the name of that corner
    low: float = 0.0
    high: float = 0.0
    notches: list[Cutout] = field(default_factory=list)

    @property
    def length(self) -> float:
        """Full length, before rounds and notches, mm."""
        return self.curve.length

    def span(self, start: float, stop: float) -> tuple[float, float]:
        """A range counted from the edge's first corner, in the direction of travel."""
        return (start, stop) if self.forward else (self.length - stop, self.length - start)

    @property
    def first_cut(self) -> float:
        """How far a round at its beginning may reach, mm."""
        return min([self.high, *(cut.low for cut in self.notches)])

    @property
    def last_cut(self) -> float:
        """How far back a round at its end may reach, mm."""
        return max([self.low, *(cut.high for cut in self.notches)])


@dataclass
class Cutout:
    """A notch in travel distances. Its path is built by `_cut`; ``at_start``/``at_end``: it takes that corner away.

    ``low`` to ``high`` is its mouth, ``foot`` the range of its floor before it runs out to a neighbouring edge.
    """

    notch: Notch
    key: str
    low: float
    high: float
    at_start: bool
    at_end: bool
    foot: tuple[float, float]
    path: tuple[Curve, ...] = ()


@dataclass(frozen=True)
class Piece:
    """A curve of the outer loop; ``edge`` and the distances ``s0`` to ``s1`` (travel, mm) where it lies on an edge."""

    curve: Curve
    edge: Edge | None = None
    s0: float = 0.0
    s1: float = 0.0


@dataclass(frozen=True)
class Trace:
    """The outer loop in pieces, the edges it was made of, and the corners that are still sharp (part's numbers)."""

    pieces: tuple[Piece, ...]
    edges: tuple[Edge, ...]
    sharp: frozenset[int]
    rounded: frozenset[int]


def raw_edges(part: Part) -> list[Edge]:
    """The edges between the corners, bows in, counter-clockwise."""
    corners = part.corners
    count = len(corners)
    if count < 3:
        raise InputError(f"The outline has {count} corners; give at least 3.", key="outline.corners")
    _refuse_twins(corners)
    ccw = _polygon_area(part) > 0
    edges = []
    for i, name in enumerate(part.edge_names):
        begin, end = corners[i], corners[(i + 1) % count]
        curve = _edge_curve(begin, end, name, f"outline.corners.{i + 1}.bow", 1.0 if ccw else -1.0)
        begins = i if ccw else (i + 1) % count
        edge = Edge(name, curve if ccw else curve.reverse(), ccw, begins, corners[begins].name)
        edge.high = edge.length
        edges.append(edge)
    return edges if ccw else edges[::-1]


def _refuse_twins(corners: tuple[Corner, ...]) -> None:
    for j, second in enumerate(corners):
        for first in corners[:j]:
            if first.name == second.name:
                raise InputError(
                    f'Two corners are named "{first.name}"; name each once.', key=f"outline.corners.{j + 1}"
                )
            if math.dist(first.at, second.at) < TWIN:
                x, y = second.at
                raise InputError(
                    f'Corners "{first.name}" and "{second.name}" are both at ({x:.6g}, {y:.6g}) mm, which makes an '
                    "edge of zero length or an outline that touches itself. Remove or move one.",
                    key=f"outline.corners.{j + 1}.at",
                )


def _polygon_area(part: Part) -> float:
    points = np.array([corner.at for corner in part.corners])
    x, y = (points - points[0]).T
    area = 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    if abs(area) < 1e-9 * float(np.ptp(points, axis=0).max()) ** 2:
        raise InputError(
            "The outline encloses no area: its corners lie on one line, or its halves cancel out. Check the corners.",
            key="outline.corners",
        )
    return area


def _edge_curve(begin: Corner, end: Corner, name: str, key: str, sense: float) -> Curve:
    label = f"edge {name}"
    rise = begin.bow * sense
    chord = math.dist(begin.at, end.at)
    if abs(rise) <= SAME:
        return line(begin.at, end.at, label)
    if abs(rise) > chord / 2 * (1 + 1e-9):
        raise InputError(
            f'Edge "{name}" has a bow of {mm(begin.bow)} over a chord of {mm(chord)}. The greatest rise is half the '
            f"chord, {at_most(chord / 2)} (a half circle); split the edge with another corner for more.",
            key=key,
        )
    if abs(rise) < FLATTEST * chord:  # its centre would be too far away to place points well
        raise InputError(
            f'Edge "{name}" has a bow of {mm(begin.bow)} over a chord of {mm(chord)}, too flat to matter. '
            f"Leave it out, or give a rise of {mm(FLATTEST * chord)} or more.",
            key=key,
        )
    return bowed(begin.at, end.at, rise, label)


def add_notches(part: Part, edges: list[Edge]) -> None:
    """Put the notches on their edges and shorten the neighbours of end notches."""
    by_name = {edge.name: edge for edge in edges}
    names = set()
    for i, notch in enumerate(part.notches, start=1):
        key = f"notch.{i}"
        if notch.name in names:
            raise InputError(f'Two notches are named "{notch.name}"; name each once.', key=f"{key}.name")
        names.add(notch.name)
        edge = find_edge(by_name, notch.edge, f'Notch "{notch.name}"', f"{key}.edge")
        if edge.curve.kind == "arc":
            raise InputError(
                f'Notch "{notch.name}": edge "{edge.name}" has a bow, and a notch on a bowed edge is not supported '
                "in this version. Put it on a straight edge.",
                key=f"{key}.edge",
            )
        check_range(notch.start, notch.stop, edge, f'Notch "{notch.name}"', key)
        if notch.depth <= SAME:
            raise InputError(
                f'Notch "{notch.name}" is {mm(notch.depth)} deep; give a depth above 0.', key=f"{key}.depth"
            )
        edge.notches.append(_cutout(notch, key, edge))
    for edge in edges:
        edge.notches.sort(key=lambda cut: cut.low)
        _refuse_overlap(edge)
    for k, edge in enumerate(edges):
        for cut in edge.notches:
            _cut(cut, edges, k)
    for edge in edges:
        _refuse_overlap(edge)


def _cutout(notch: Notch, key: str, edge: Edge) -> Cutout:
    """The mouth of a notch and the foot of its ramps; there is no ramp where it takes a corner away."""
    low, high = edge.span(notch.start, notch.stop)
    at_start, at_end = low <= TWIN, high >= edge.length - TWIN
    first, last = notch.ramp if edge.forward else notch.ramp[::-1]
    foot = (low if at_start else low + first * notch.depth, high if at_end else high - last * notch.depth)
    if foot[1] - foot[0] <= TWIN:
        raise InputError(
            f'Notch "{notch.name}": at {mm(notch.depth)} deep its ramps take {mm(foot[0] - low + high - foot[1])} of '
            f"the {mm(high - low)} between from and to, and no floor is left. Give steeper ramps, less depth or more "
            "width.",
            key=f"{key}.ramp",
        )
    return Cutout(notch, key, low, high, at_start, at_end, foot)


def find_edge(by_name: dict[str, Edge], name: str, who: str, key: str) -> Edge:
    """The edge of that name, or an error that lists the edges (and offers "A-B" for "B-A")."""
    if name in by_name:
        return by_name[name]
    turned = [known for known in by_name if known.split("-", 1) == name.split("-", 1)[::-1]]
    offer = f' Did you mean "{turned[0]}"?' if turned else ""
    known = ", ".join(f'"{known}"' for known in by_name)
    raise InputError(f'{who}: edge "{name}" is not on the outline.{offer} Edges: {known}.', key=key)


def check_range(start: float, stop: float, edge: Edge, who: str, key: str) -> None:
    """Refuse a range that leaves the edge or runs backwards."""
    length = edge.length
    for word, value in (("from", start), ("to", stop)):
        if not -TWIN <= value <= length + TWIN:
            raise InputError(
                f'{who}: "{word}" is {mm(value)}, but edge "{edge.name}" is {mm(length)} long. '
                f"Give a distance from 0 to {mm(length)}.",
                key=f"{key}.{word}",
            )
    if stop - start <= TWIN:
        raise InputError(
            f'{who}: "from" ({mm(start)}) must be smaller than "to" ({mm(stop)}) on edge "{edge.name}".',
            key=f"{key}.to",
        )


def _refuse_overlap(edge: Edge) -> None:
    for one, two in zip(edge.notches, edge.notches[1:], strict=False):
        if two.low <= one.high + TWIN:
            raise InputError(
                f'Notches "{one.notch.name}" and "{two.notch.name}" overlap or touch on edge "{edge.name}": one ends '
                f"{mm(max(one.high - two.low, 0.0))} past where the other begins. Leave wood between them, or make "
                "them one notch.",
                key=two.key,
            )
    for cut in edge.notches:
        if (edge.low > 0 and cut.low < edge.low + TWIN) or (edge.high < edge.length and cut.high > edge.high - TWIN):
            raise InputError(
                f'Notch "{cut.notch.name}" overlaps an end notch that takes away the corner of edge "{edge.name}". '
                "Move or shorten one of them.",
                key=cut.key,
            )


def _cut(cut: Cutout, edges: list[Edge], k: int) -> None:
    """Build the faces of a notch: into the wood, along the floor, out again."""
    edge = edges[k]
    notch = cut.notch
    _refuse_deep(cut, edges, k)
    into = notch.depth * edge.curve.inward(0.0)
    mouth = [as_point(edge.curve.point(s)) for s in (cut.low, cut.high)]
    floor = [as_point(edge.curve.point(s) + into) for s in cut.foot]
    if cut.at_end:
        floor[1], edges[(k + 1) % len(edges)].low = _run_out(cut, edge, edges[(k + 1) % len(edges)], after=True)
        edge.high = cut.high
    if cut.at_start:
        floor[0], edges[k - 1].high = _run_out(cut, edge, edges[k - 1], after=False)
        edge.low = cut.low
    _refuse_long_ramp(cut, edge, floor)
    names = ("start", "end") if edge.forward else ("end", "start")
    path = [line(floor[0], floor[1], f"notch {notch.name}", f"notch {notch.name} floor")]
    if not cut.at_start:
        path.insert(0, line(mouth[0], floor[0], f"notch {notch.name}", f"notch {notch.name} {names[0]}"))
    if not cut.at_end:
        path.append(line(floor[1], mouth[1], f"notch {notch.name}", f"notch {notch.name} {names[1]}"))
    cut.path = _round_floor(cut, path) if notch.drill is None else _drill_floor(cut, path, notch.drill)


def _refuse_long_ramp(cut: Cutout, edge: Edge, floor: list[Point]) -> None:
    """Refuse an end notch whose ramp passes the place where its floor would run out."""
    left = float(np.subtract(floor[1], floor[0]) @ edge.curve.tangent(0.0))
    if left <= TWIN:
        raise InputError(
            f'Notch "{cut.notch.name}": at {mm(cut.notch.depth)} deep its ramp reaches the end of the wood, and no '
            "floor is left. Give a steeper ramp, less depth or more width.",
            key=f"{cut.key}.ramp",
        )


def _run_out(cut: Cutout, edge: Edge, neighbour: Edge, *, after: bool) -> tuple[Point, float]:
    """Where the floor of an end notch meets the neighbouring edge, and the distance along that edge."""
    n = edge.curve.inward(0.0)
    t = edge.curve.tangent(0.0) * (1.0 if after else -1.0)
    inner = edge.curve.point(cut.low if after else cut.high) + cut.notch.depth * n
    far = inner + t * (2 * edge.length + 2 * neighbour.length)
    met = crossings(line(as_point(inner), as_point(far)), neighbour.curve)
    if not met:
        reach = _reach(edge, neighbour)
        how = f'the wood there is {mm(reach)} deep (edge "{neighbour.name}"). Give a smaller depth'
        if reach <= TWIN:
            how = "that corner is re-entrant. End the notch before the corner"
        raise InputError(
            f'Notch "{cut.notch.name}" is {mm(cut.notch.depth)} deep and runs to the end of edge "{edge.name}", '
            f'where its floor does not meet edge "{neighbour.name}": {how}.',
            key=f"{cut.key}.depth",
        )
    place = min(met, key=lambda p: math.dist(p, inner))
    s = neighbour.curve.foot(place) or 0.0
    return place, s


def _reach(edge: Edge, neighbour: Edge) -> float:
    """How deep a neighbouring edge goes into the wood, measured square to the edge, mm."""
    points = np.vstack([neighbour.curve.start, neighbour.curve.end, neighbour.curve.sample(neighbour.length / 16)])
    return float(((points - np.asarray(edge.curve.start)) @ edge.curve.inward(0.0)).max())


def _refuse_deep(cut: Cutout, edges: list[Edge], k: int) -> None:
    """Refuse a notch that reaches another edge: the wood's depth under it is the smallest over its floor."""
    edge = edges[k]
    passed = {k}
    if cut.at_end:
        passed.add((k + 1) % len(edges))
    if cut.at_start:
        passed.add((k - 1) % len(edges))
    least, which = math.inf, ""
    for j, other in enumerate(edges):
        if j in passed:
            continue
        depth = _depth_under(other.curve, edge.curve, *cut.foot)
        if depth < least:
            least, which = depth, other.name
    if cut.notch.depth >= least - TWIN:
        raise InputError(
            f'Notch "{cut.notch.name}" is {mm(cut.notch.depth)} deep, but the wood under it is only {mm(least)} deep '
            f'(edge "{which}"). Give a depth below that.',
            key=f"{cut.key}.depth",
        )


def _depth_under(curve: Curve, edge: Curve, low: float, high: float) -> float:
    """Smallest depth (mm, square to the edge, more than 0) at which a curve lies under the range low to high."""
    origin, t, n = np.asarray(edge.start), edge.tangent(0.0), edge.inward(0.0)
    places = [curve.start, curve.end]
    if curve.center is not None and curve.radius is not None:
        places.append(as_point(np.asarray(curve.center) - curve.radius * n))
        places = [p for p in places if curve.nearest(p)[0] <= SAME]
    for s in (low, high):
        side = line(as_point(origin + s * t), as_point(origin + s * t + n))
        far = replace(side, end=as_point(np.asarray(side.start) + 1e6 * n))
        places += crossings(far, curve)
    depths = [math.inf]
    for place in places:
        u, v = float((place - origin) @ t), float((place - origin) @ n)
        if low - TWIN <= u <= high + TWIN and v > TWIN:
            depths.append(v)
    return min(depths)


def _round_floor(cut: Cutout, path: list[Curve]) -> tuple[Curve, ...]:
    """Round the floor corners of a notch; a round of r takes r tan(φ/2) of both sides of a turn by φ."""
    r = cut.notch.round
    if r <= SAME:
        return tuple(path)
    floor = next(c for c in path if c.names[-1].endswith(" floor"))
    taken = [math.tan(abs(turn_at(before, after)) / 2) for before, after in pairwise(path)]
    faces = [face.length for face in path if face is not floor]
    limit = min([length / share for length, share in zip(faces, taken, strict=True)], default=cut.notch.depth)
    if taken:
        limit = min(limit, floor.length / sum(taken))
    if r > limit + SAME:
        raise InputError(
            f'Notch "{cut.notch.name}" has a round of {mm(r)}; at {mm(cut.notch.depth)} deep and '
            f"{mm(floor.length)} wide the greatest possible is {at_most(limit)}.",
            key=f"{cut.key}.round",
        )
    out = [path[0]]
    for after in path[1:]:
        before = out.pop()
        made = fillet(before, after, r, f"notch {cut.notch.name}")
        assert made is not None  # the limit above leaves room for it
        out += [before.part(0.0, made.before), made.arc, after.part(made.after, after.length)]
    return tuple(c for c in out if c.length > SAME)


def _drill_floor(cut: Cutout, path: list[Curve], diameter: float) -> tuple[Curve, ...]:
    """Drill the inner corners of a notch out, each with a circle about the corner itself."""
    r = diameter / 2
    if r < SHORTEST:
        raise InputError(
            f'Notch "{cut.notch.name}" is drilled {mm(diameter)}; give a diameter above {mm(2 * SHORTEST)}.',
            key=f"{cut.key}.ends",
        )
    floor = next(c for c in path if c.names[-1].endswith(" floor"))
    limit = min(cut.notch.depth, floor.length / max(1, len(path) - 1))
    if len(path) > 1 and r >= limit - TWIN:
        raise InputError(
            f'Notch "{cut.notch.name}" is drilled {mm(diameter)} at its inner corners; at {mm(cut.notch.depth)} deep '
            f"and with {mm(floor.length)} of floor it has to be less than {mm(2 * limit)}.",
            key=f"{cut.key}.ends",
        )
    out = [path[0]]
    for after in path[1:]:
        before = out.pop()
        face, rest = before.part(0.0, before.length - r), after.part(r, after.length)
        arc = Curve("arc", face.end, rest.start, after.start, r, False, (f"notch {cut.notch.name}",))
        out += [face, arc, rest]
    return tuple(out)


def trace(part: Part, edges: list[Edge]) -> Trace:
    """Round the corners and join all pieces into the outer loop."""
    fillets = _fillets(part, edges)
    pieces: list[Piece] = []
    sharp = set()
    for k, edge in enumerate(edges):
        made = fillets.get(k)
        if made is not None:
            pieces.append(Piece(made.arc))
        elif edge.low <= 0.0 and edges[k - 1].high >= edges[k - 1].length and not _taken(edges, k):
            sharp.add(edge.begins)
        pieces += _edge_pieces(edge)
    rounded = frozenset(edges[k].begins for k in fillets)
    return Trace(_closed(pieces), tuple(edges), frozenset(sharp), rounded)


def _taken(edges: list[Edge], k: int) -> bool:
    """Whether a notch takes away the corner where edge k begins."""
    return any(cut.at_start for cut in edges[k].notches) or any(cut.at_end for cut in edges[k - 1].notches)


def _fillets(part: Part, edges: list[Edge]) -> dict[int, Fillet]:
    """Fillets by the edge that begins at the corner, each checked for room; shortens the edges."""
    radii = {k: part.corners[edge.begins].round for k, edge in enumerate(edges)}
    radii = {k: r for k, r in radii.items() if r > SAME}
    for k in radii:
        corner = part.corners[edges[k].begins]
        key = f"outline.corners.{edges[k].begins + 1}.round"
        if _taken(edges, k):
            raise InputError(f'Corner "{corner.name}" has a round, but a notch takes it away. Remove one.', key=key)
        if abs(math.sin(turn_at(edges[k - 1].curve, edges[k].curve))) < 1e-6:
            raise InputError(
                f'Corner "{corner.name}" has a round of {mm(corner.round)}, but the outline runs straight on there. '
                "Remove the round.",
                key=key,
            )
    fitted = {k: _fit(edges, k, r) for k, r in radii.items()}
    for k in sorted(radii, key=lambda k: -radii[k]):
        if not _has_room(edges, k, radii[k], radii):
            _refuse_round(part, edges, k, radii)
    made = {k: f for k, f in fitted.items() if f is not None}
    for k, found in made.items():
        edges[k - 1].high = found.before
        edges[k].low = found.after
    return made


def _fit(edges: list[Edge], k: int, radius: float) -> Fillet | None:
    return fillet(edges[k - 1].curve, edges[k].curve, radius, f"round {edges[k].corner}")


def _has_room(edges: list[Edge], k: int, radius: float, radii: dict[int, float]) -> bool:
    """Whether a round where edge k begins leaves the notches and the other rounds of both edges alone."""
    made = _fit(edges, k, radius)
    if made is None:
        return False
    before, after = edges[k - 1], edges[k]
    back, ahead = before.last_cut, after.first_cut
    k_back, k_ahead = (k - 1) % len(edges), (k + 1) % len(edges)
    if not before.notches and k_back in radii:
        other = _fit(edges, k_back, radii[k_back])
        back = math.inf if other is None else max(back, other.after)
    if not after.notches and k_ahead in radii:
        other = _fit(edges, k_ahead, radii[k_ahead])
        ahead = -math.inf if other is None else min(ahead, other.before)
    return made.before >= back - SAME and made.after <= ahead + SAME


def _refuse_round(part: Part, edges: list[Edge], k: int, radii: dict[int, float]) -> None:
    corner = part.corners[edges[k].begins]
    one, two = edges[k - 1], edges[k]
    beside = "beside the rounds and notches there"
    most = _greatest(lambda r: _has_room(edges, k, r, radii), radii[k])
    if most <= 1e-6 * radii[k]:
        most = _greatest(lambda r: _has_room(edges, k, r, {j: min(r, old) for j, old in radii.items()}), radii[k])
        beside = "with no greater rounds at the corners beside it"
    raise InputError(
        f'Corner "{corner.name}" has a round of {mm(corner.round)}, too big for its edges "{one.name}" '
        f'({mm(one.length)} long) and "{two.name}" ({mm(two.length)} long). The greatest possible is '
        f"{at_most(most)}, {beside}.",
        key=f"outline.corners.{edges[k].begins + 1}.round",
    )


def _greatest(fits: Callable[[float], bool], too_big: float) -> float:
    """The greatest radius that fits, by halving the interval down to it."""
    low, high = 0.0, too_big
    for _ in range(48):
        middle = (low + high) / 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return round(low, 9)


def _edge_pieces(edge: Edge) -> list[Piece]:
    """What is left of an edge, and its notches, in order."""
    pieces = []
    here = edge.low
    for cut in edge.notches:
        pieces += _stretch(edge, here, cut.low)
        pieces += [Piece(curve) for curve in cut.path]
        here = cut.high
    return pieces + _stretch(edge, here, edge.high)


def _stretch(edge: Edge, s0: float, s1: float) -> list[Piece]:
    return [Piece(edge.curve.part(s0, s1), edge, s0, s1)] if s1 - s0 > SAME else []


def _closed(pieces: list[Piece]) -> tuple[Piece, ...]:
    """The pieces with each start made the very same point as the end before it."""
    ends = [piece.curve.end for piece in pieces]
    return tuple(
        replace(piece, curve=replace(piece.curve, start=end))
        for piece, end in zip(pieces, ends[-1:] + ends[:-1], strict=True)
    )
