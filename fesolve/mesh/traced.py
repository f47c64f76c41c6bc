"""The shape of a mesh that others made: its boundary as lines and arcs, round holes, and the names of all of them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import count, product
from string import ascii_uppercase

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..part.model import Corner, Hole, Opening, Shape
from .curves import Point, as_point
from .given import KEY, Given, Six
from .mesh import FloatArray, IntArray
from .order import side_keys
from .patchwork import region_shapes
from .rim import Rim, rim_of
from .runs import STEEPEST, Path, Run, runs_of

BoolArray = NDArray[np.bool_]

MOST_EDGES = 1500  # lines and arcs of an outline
CIRCLE = 8  # sides of a hole with middle nodes on its circle, at least


@dataclass(frozen=True)
class Traced:
    """A mesh of six-node triangles put on the shape that was found in it.

    Attributes
    ----------
    points : (n, 2) array
        mm; those of the boundary lie on its lines and arcs.
    cells : (e, 6) array
    sides : (b, 3) array
        Of the boundary: end, end, middle.
    owner : (b,) array
        The cell of each side.
    shape : Shape
    regions : mapping of str to (e,) bool array
        Which cells lie in each named group of them.
    moved : float
        How far (mm) the farthest point was moved on to its line or arc.
    notes : tuple of str
    """

    points: FloatArray
    cells: IntArray
    sides: IntArray
    owner: IntArray
    shape: Shape
    regions: Mapping[str, BoolArray]
    moved: float = 0.0
    notes: tuple[str, ...] = ()


@dataclass
class _Loop:
    """One loop on its way to be named: its sides, its runs or its circle."""

    place: slice
    path: Path
    runs: list[Run] = field(default_factory=list)
    circle: tuple[Point, float] | None = None


def traced(given: Given, six: Six) -> Traced:
    """Find the shape of a mesh.

    Raises
    ------
    InputError
        For cells that are not one piece of wood (`rim_of`), and an outline of far too many pieces.
    """
    rim = rim_of(six)
    members = {name: _members(six, rim, given, name) for name in (*given.lines, *given.nodes)}
    members = {name: which for name, which in members.items() if which.any()}
    singles = _singles(six, rim, given, members)
    loops = [_loop(given, six, rim, place, members, singles) for place in rim.loops()]
    if sum(len(loop.runs) for loop in loops) > MOST_EDGES:
        raise InputError(
            f"The outline of the mesh falls into {sum(len(loop.runs) for loop in loops):,} lines and arcs, more than "
            f"{MOST_EDGES:,}: its boundary is ragged. Give a mesh whose boundary runs along the part's own lines.",
            key=KEY,
        )
    points, moved = _on_shape(six, rim, loops)
    regions = {name: np.isin(six.owner, cells) for name, cells in given.regions.items()}
    shape = _Namer(rim, points, loops, members, singles, given.scale).shape()
    shape = shape.model_copy(update={"regions": region_shapes(points, six.cells, rim, regions)})
    notes = (*six.notes, *_notes(given, members, singles, shape))
    return Traced(points, six.cells, rim.sides, rim.owner, shape, regions, moved, notes)


def _members(six: Six, rim: Rim, given: Given, name: str) -> BoolArray:
    """Which boundary sides (b,) a group of lines or points holds; of points those with both ends in it."""
    if name in given.nodes:
        inside = np.zeros(len(six.points) + 1, dtype=bool)
        inside[six.number[given.nodes[name]]] = True
        inside[-1] = False  # a point of no cell
        return np.asarray(inside[rim.sides[:, :2]].all(axis=1))
    ends = six.number[given.lines[name]]
    ends = ends[(ends >= 0).all(axis=1)]
    total = len(six.points)
    return np.isin(side_keys(rim.sides[:, :2], total), side_keys(ends, total))


def _singles(six: Six, rim: Rim, given: Given, members: Mapping[str, BoolArray]) -> dict[int, str]:
    """Names of boundary nodes that are a group of points without a side."""
    ends = set(rim.sides[:, 0].tolist())
    found: dict[int, str] = {}
    for name, nodes in given.nodes.items():
        mine = [node for node in six.number[nodes].tolist() if node in ends] if name not in members else []
        for number, node in enumerate(mine, 1):
            found.setdefault(node, name if len(mine) == 1 else f"{name} {number}")
    return found


def _loop(
    given: Given, six: Six, rim: Rim, place: slice, members: Mapping[str, BoolArray], singles: Mapping[int, str]
) -> _Loop:
    sides = rim.sides[place]
    rounding = given.precision * six.size
    path = Path(six.points[sides[:, 0]], six.points[sides[:, 2]], rounding, six.straight)
    changed = np.zeros(len(sides), dtype=bool)
    for which in members.values():
        changed |= which[place] != np.roll(which[place], 1)
    changed |= np.isin(sides[:, 0], list(singles))
    breaks = np.flatnonzero(changed).tolist()
    circle = None if breaks or place.start == 0 else _circle(path)
    loop = _Loop(place, path, circle=circle)
    if circle is None:
        loop.runs = runs_of(path, breaks)
        while len(loop.runs) < 3 and any(run.last - run.first > 1 for run in loop.runs):
            loop.runs = [half for run in loop.runs for half in _halves(path, run)]
    return loop


def _halves(path: Path, run: Run) -> list[Run]:
    """A run as two, where it has a node between."""
    middle = (run.first + run.last) // 2
    if middle == run.first:
        return [run]
    ends = ((run.first, middle), (middle, run.last))
    return [Run(a, b, path.round_run(a, b, rough=True) if run.rise else 0.0) for a, b in ends]


def _circle(path: Path) -> tuple[Point, float] | None:
    """Centre and radius (mm) of the circle on which all nodes of a loop lie, by least squares; None without one.

    x^2 + y^2 = 2 a x + 2 b y + c is linear in what is sought (Kasa's fit; I. Kasa 1976, from memory).
    """
    middles_on = not path.straight
    held = np.concatenate([path.nodes, path.middles]) if middles_on else path.nodes
    origin = held.mean(axis=0)
    p = held - origin
    found = np.linalg.lstsq(np.column_stack([2 * p, np.ones(len(p))]), (p * p).sum(axis=1), rcond=None)[0]
    radius = math.sqrt(max(float(found[2] + found[:2] @ found[:2]), 0.0))
    center = origin + found[:2]
    off = np.abs(np.linalg.norm(held - center, axis=1) - radius)
    if radius == 0.0 or off.max() > path.slack(0, len(path.nodes) - 1):
        return None
    after = np.roll(path.nodes, -1, axis=0) - path.nodes
    length = np.linalg.norm(after, axis=1)
    cosine = (after * np.roll(after, -1, axis=0)).sum(axis=1) / length / np.roll(length, -1)
    if len(after) < CIRCLE or (not middles_on and cosine.min() < STEEPEST):
        return None
    return as_point(center), radius


# ---- points on to the shape


def _on_shape(six: Six, rim: Rim, loops: Sequence[_Loop]) -> tuple[FloatArray, float]:
    """All points, those of the boundary moved on to its lines and arcs; and how far the farthest was moved."""
    points = six.points.copy()
    for loop in loops:
        sides = rim.sides[loop.place]
        if loop.circle is not None:
            center, radius = loop.circle
            points[sides[:, 0]] = on_circle(points[sides[:, 0]], center, radius)
        for run in loop.runs:
            _put(points, sides, loop.path, run)
    moved = float(np.linalg.norm(points - six.points, axis=1).max())
    if six.straight:
        ends = six.cells[:, [[0, 1], [1, 2], [2, 0]]]
        points[six.cells[:, 3:]] = points[ends].mean(axis=2)
    for loop in loops:
        sides = rim.sides[loop.place]
        if loop.circle is not None:
            points[sides[:, 2]] = on_circle(points[sides[:, 2]], *loop.circle)
        for run in loop.runs:
            _put(points, sides, loop.path, run, middles=True)
    return points, moved


def _put(points: FloatArray, sides: IntArray, path: Path, run: Run, *, middles: bool = False) -> None:
    """Put the nodes between the ends of a run on its line or arc, or its middle nodes."""
    number = np.arange(run.first, run.last) % len(sides)
    nodes = sides[number, 2] if middles else sides[number[1:], 0]
    curve = run.curve(path)
    if curve.radius is not None and curve.center is not None:
        points[nodes] = on_circle(points[nodes], curve.center, curve.radius)
    else:
        start, along = np.asarray(curve.start), curve.tangent(0.0)
        points[nodes] = start + ((points[nodes] - start) @ along)[:, None] * along


def on_circle(places: FloatArray, center: Point, radius: float) -> FloatArray:
    """Places (k, 2) moved on to a circle along its radius."""
    away = places - np.asarray(center)
    return np.asarray(center + radius * away / np.linalg.norm(away, axis=1)[:, None])


# ---- names


def _letters() -> Iterator[str]:
    """A to Z, then AA, AB, and so on."""
    for length in count(1):
        yield from ("".join(letters) for letters in product(ascii_uppercase, repeat=length))


@dataclass
class _Namer:
    """Gives names to edges, corners and holes: those of groups where there are some, else letters and numbers."""

    rim: Rim
    points: FloatArray
    loops: Sequence[_Loop]
    members: Mapping[str, BoolArray]
    singles: Mapping[int, str]
    scale: float

    def __post_init__(self) -> None:
        taken = {*self.singles.values(), *self.members}
        self.letters = (letter for letter in _letters() if letter not in taken)
        for loop in self.loops:
            start = self._begins(loop)
            loop.runs = [*loop.runs[start:], *loop.runs[:start]]
        self.edges = {
            (k, i): [
                name for name, which in self.members.items() if which[loop.place][run.first % len(loop.path.nodes)]
            ]
            for k, loop in enumerate(self.loops)
            for i, run in enumerate(loop.runs)
        }

    def shape(self) -> Shape:
        """All of it."""
        named = self._edge_names()
        every = [self._corners(k, loop, named) for k, loop in enumerate(self.loops)]
        openings = tuple(Opening(name=f"opening {k}", corners=one) for k, one in enumerate(every) if k and one)
        groups = {
            name: tuple(self._called(every, k, i) for (k, i), names in self.edges.items() if name in names)
            for name in self.members
        }
        holes = self._holes()
        groups = {name: edges for name, edges in groups.items() if edges}
        return Shape(corners=every[0], holes=holes, openings=openings, groups=groups)

    def _begins(self, loop: _Loop) -> int:
        """The run that begins at the lower left: least x + y."""
        if not loop.runs:
            return 0
        sums = [round(float(loop.path.at(run.first).sum()), 6) for run in loop.runs]
        return int(np.argmin(sums))

    def _edge_names(self) -> dict[tuple[int, int], str]:
        """The name of each run that a group names: the group's where it is all of it, else numbered."""
        named: dict[tuple[int, int], str] = {}
        for name in self.members:
            mine = [key for key, names in self.edges.items() if name in names]
            free = [key for key in mine if key not in named]
            if len(mine) == 1 and free and name not in named.values():
                named[mine[0]] = name
            numbers = (f"{name} {k}" for k in count(1))
            for key in free if len(mine) > 1 else ():
                named[key] = next(one for one in numbers if one not in named.values() and one not in self.members)
        return named

    def _corners(self, k: int, loop: _Loop, named: Mapping[tuple[int, int], str]) -> tuple[Corner, ...]:
        found = []
        for i, run in enumerate(loop.runs):
            node = int(self.rim.sides[loop.place][run.first % len(loop.path.nodes), 0])
            name = self.singles.get(node) or next(self.letters)
            at = as_point(self.points[node])
            out = 1.0 if k == 0 else -1.0  # a bow goes out of the corners' polygon, a rise out of the wood
            found.append(Corner(name=name, at=at, bow=out * run.rise, edge=named.get((k, i))))
        return tuple(found)

    @staticmethod
    def _called(every: Sequence[tuple[Corner, ...]], k: int, i: int) -> str:
        corners = every[k]
        return corners[i].edge or f"{corners[i].name}-{corners[(i + 1) % len(corners)].name}"

    def _holes(self) -> tuple[Hole, ...]:
        """The round holes from the lower left on, named by the groups that hold all of them, else by number."""
        mine = [loop for loop in self.loops if loop.circle is not None]
        mine.sort(key=lambda loop: round(sum(loop.circle[0]), 6) if loop.circle else 0.0)
        wanted = [[name for name, which in self.members.items() if which[loop.place].all()] for loop in mine]
        holes: list[Hole] = []
        for number, (loop, names) in enumerate(zip(mine, wanted, strict=True), 1):
            assert loop.circle is not None  # the list holds no others
            several = bool(names) and sum(names[0] in other for other in wanted) > 1
            name = (names[0] if not several else f"{names[0]} {number}") if names else str(number)
            (x, y), radius = loop.circle
            rounding = 2 * loop.path.rounding
            at = (plain(x, self.scale, rounding), plain(y, self.scale, rounding))
            holes.append(Hole(name=name, center=at, diameter=plain(2 * radius, self.scale, rounding)))
        return tuple(holes)


def plain(value: float, scale: float, rounding: float) -> float:
    """A length (mm) with as few digits in its own unit of `scale` mm as lie within `rounding` mm of it.

    Examples
    --------
    >>> plain(24.99999999998, 1.0, 1e-6), plain(12.699999, 25.4, 1e-5), plain(7.123456, 1.0, 1e-9)
    (25.0, 12.7, 7.123456)
    """
    own = value / scale
    rounded = (round(own, digits) for digits in range(12))
    found = next((one * scale for one in rounded if abs(one * scale - value) <= rounding), value)
    return round(found, 9) + 0.0


def _notes(given: Given, members: Mapping[str, BoolArray], singles: Mapping[int, str], shape: Shape) -> Iterator[str]:
    """What is told of names that lie elsewhere."""
    inside = [name for name in given.lines if name not in members]
    if inside:
        listed = ", ".join(f'"{name}"' for name in inside)
        yield f"No side of the boundary is in {listed}: nothing can be held or loaded there."
    if any(corner.bow < 0.0 for corner in shape.corners) or _turns_in(shape.corners):
        yield (
            "Its notches and rounds are part of its outline: the plain formulas see the depth that is left, and rules "
            "and codes' formulas for notches are not applied."
        )
    free = sum(bool(corner.bow) for corner in shape.corners)
    if free > 40:
        yield f"Its outline has {free} arcs: a free curve is followed by one after another."


def _turns_in(corners: Sequence[Corner]) -> bool:
    """Whether an outline has a corner that points into the wood."""
    at = np.array([corner.at for corner in corners])
    before, after = at - np.roll(at, 1, axis=0), np.roll(at, -1, axis=0) - at
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return bool((cross < -1e-6 * np.linalg.norm(before, axis=1) * np.linalg.norm(after, axis=1)).any())
