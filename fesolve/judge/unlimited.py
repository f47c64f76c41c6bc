"""Places where the stress of an elastic solution has no limit: the finer the mesh, the greater the peak there.

They are known from the drawing: sharp re-entrant corners, the ends of what holds the surface rigidly, jumps of shear
on the surface, forces on a point. A peak there says nothing; means over a length still do.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..fem.solution import Solution
from ..mesh.curves import Curve, turn_at
from ..mesh.outline import Outline
from ..part.model import Load, Part, Support
from ..wood.orthotropic import stress_rotation
from .corners import corner_exponent

Array = NDArray[np.float64]

NO_LIMIT = "; the peak has no limit: "  # in a note; what has none follows
SHARP = np.radians(1.0)  # a turn to the right by more than this, without a round, is a sharp re-entrant corner
SMOOTH = np.radians(5.0)  # a lesser turn is no corner
SLANT = 1e-6  # share of a traction along the surface from which it counts as shear
NOTHING = 1e-4  # of all loads: a support on a point that bears less only keeps the part from sliding
SHRUNK = 0.7
VISIBLE = 1.03  # a peak that grows by less when elements are halved counts as one with a limit
GROWN = 0.7 ** (-1 / 3)
REACH = 0.5  # mm, or one element: a peak so near such a place is its peak


@dataclass(frozen=True)
class Unlimited:
    """One such place: the point (mm), what it is in words, and the case it belongs to, None for all."""

    at: tuple[float, float]
    what: str
    case: int | None = None


def unlimited_places(part: Part, outline: Outline, solution: Solution) -> tuple[Unlimited, ...]:
    """All places of a part where the stress has no limit.

    Parameters
    ----------
    part : Part
    outline : Outline
    solution : Solution
        For its wood, and for which ends of rests bear in which case.

    References
    ----------
    M. L. Williams, Stress singularities resulting from various boundary conditions in angular corners of plates in
    extension, J. Appl. Mech. 19 (1952) 526-528, from memory: free sides from 180 deg up; where sides are held,
    `corners.corner_exponent`; where a load ends, `load_growth`. A rigid flat punch: r^(-1/2) at its ends.
    D. B. Bogy, Two edge-bonded elastic wedges of different materials and wedge angles under surface tractions, J. Appl.
    Mech. 38 (1971) 377-386, from memory: where the border of two pieces meets the surface or turns.
    """
    found = [*_corners(outline), *_borders(outline), *_on_points(part, outline, solution)]
    found += list(_supports(part, outline, solution))
    for load in part.loads:
        found += list(_loads(outline, load, solution))
    return tuple(dict.fromkeys(found))


def sharp_corners(outline: Outline) -> Array:
    """Sharp re-entrant corners of the outline and tips of cracks, shape (k, 2), mm."""
    return np.array([place.at for place in _corners(outline)], dtype=float).reshape(-1, 2)


def _corners(outline: Outline) -> Iterator[Unlimited]:
    names = {place: name for name, place in outline.corner_points.items()}
    for loop in outline.loops:
        for before, after in zip(loop, loop[1:] + loop[:1], strict=True):
            if turn_at(before, after) < -SHARP:
                name = f"corner {names[after.start]}" if after.start in names else f"corner of {_own_name(after)}"
                yield Unlimited(after.start, f"{name}, not rounded")
    for one in outline.splits:
        ends = [one.at(one.tips[-1])] + ([one.start] if one.inside else [])
        for place in ends:
            yield Unlimited(place, f"tip of crack {one.name}")


def _borders(outline: Outline) -> Iterator[Unlimited]:
    """Where the border of a region turns, or meets another one or the outline; not where it merely goes on straight."""
    ends: dict[tuple[float, float], list[Curve]] = {}
    for line in outline.interfaces:
        for place in (line.start, line.end):
            ends.setdefault(place, []).append(line)
    for place, lines in ends.items():
        ways = [np.asarray(one.tangent(0.0)) for one in lines]
        straight = len(lines) == 2 and abs(float(ways[0] @ ways[1])) > np.cos(SHARP)
        if not straight:
            yield Unlimited(place, f"end or corner of the border of {lines[0].names[-1]}")


def _own_name(curve: Curve) -> str:
    return curve.names[0] if curve.names else "the outline"


def _on_points(part: Part, outline: Outline, solution: Solution) -> Iterator[Unlimited]:
    """Forces on a single point, in the cases in which there is one."""
    points = {row.name: outline.corner_points[row.on.name] for row in part.supports if row.on.kind == "corner"}
    for case, reactions in enumerate(solution.case_reactions):
        factors = part.cases[case].factors
        size = sum(abs(factors.get(one.name, 0.0)) * float(np.abs(one.nodal).sum()) for one in solution.model.loads)
        for one in reactions:
            if one.name in points and float(np.linalg.norm(one.resultant)) > NOTHING * size:
                yield Unlimited(points[one.name], f'support "{one.name}", on a single point', case)
    for load in part.loads:
        for case, factors in enumerate(one.factors for one in part.cases):
            if load.on.kind == "corner" and factors.get(load.name, 0.0) != 0.0:
                yield Unlimited(outline.corner_points[load.on.name], f'load "{load.name}", on a single point', case)


def _ends(outline: Outline, label: str) -> Iterator[tuple[Curve, Curve, tuple[float, float]]]:
    """Where the curves of a patch end: the curve before and after that point, one of the two in the patch."""
    for loop in outline.loops:
        for before, after in zip(loop, loop[1:] + loop[:1], strict=True):
            if (label in before.names) != (label in after.names):
                yield before, after, after.start


def _supports(part: Part, outline: Outline, solution: Solution) -> Iterator[Unlimited]:
    """Ends of what holds the surface, where the exponent of the corner there says that peaks grow."""
    rigid = [row for row in part.supports if row.kind in ("fixed", "rest", "roller") and row.on.kind != "corner"]
    for loop in outline.loops:
        for before, after in zip(loop, loop[1:] + loop[:1], strict=True):
            mine = [[row for row in rigid if f"support {row.name}" in one.names] for one in (before, after)]
            ends = [row for row in rigid if (row in mine[0]) != (row in mine[1])]
            if ends and _grows(before, after, mine, solution):
                word = "clamped edge" if ends[0].kind == "fixed" and ends[0].axes is None else ends[0].kind
                for case in _bearing_cases(solution, ends[0].name, np.array(after.start)):
                    yield Unlimited(after.start, f'end of {word} "{ends[0].name}"', case)


def _bearing_cases(solution: Solution, name: str, end: Array) -> list[int | None]:
    """Cases in which a support bears at its end (2,) mm: None, all of them, unless it may lift off there.

    Where a part lifts off, pressure goes to nothing at the border of what still touches, and no peak grows.
    """
    if all(one.name != name for one in solution.model.contacts):
        return [None]
    rows = [solution.contact(name, case) for case in range(len(solution.contacts))]
    bears = [bool(row.touching[np.linalg.norm(row.points - end, axis=1).argmin()]) for row in rows]
    return [None] if all(bears) else [case for case, yes in enumerate(bears) if yes]


def _grows(before: Curve, after: Curve, supports: list[list[Support]], solution: Solution) -> bool:
    """Whether stress grows without a limit where two curves meet, each held by its supports."""
    turn = turn_at(before, after)
    if abs(turn) < SMOOTH and not all(supports):
        return True  # r^(-1/2), whatever the wood
    held_before = _held(supports[0], np.asarray(before.inward(before.length)))
    held_after = _held(supports[1], np.asarray(after.inward(0.0)))
    x, y = np.asarray(after.tangent(0.0))
    start = float(np.arctan2(y, x))
    stiffness = _stiffness_at(solution, np.array(after.start))
    exponent = corner_exponent(stiffness, start, start + np.pi - turn, held_after, held_before)
    return bool(2.0 ** (1.0 - exponent) > VISIBLE)


def _held(supports: list[Support], inward: Array) -> Array:
    """Directions (k, 2) along which a curve is held where its inward normal is (2,)."""
    axes = {"x": np.array([1.0, 0.0]), "y": np.array([0.0, 1.0])}
    rows = [[axes[one] for one in row.axes or "xy"] if row.kind == "fixed" else [inward] for row in supports]
    return np.array([one for row in rows for one in row]).reshape(-1, 2)


def _loads(outline: Outline, load: Load, solution: Solution) -> Iterator[Unlimited]:
    """Ends, on a smooth surface, of loads whose jump leaves a logarithm; in a corner they leave the stress bounded."""
    if load.on.kind in ("hole", "corner"):
        return
    for before, after, at in _ends(outline, f"load {load.name}"):
        if abs(turn_at(before, after)) > SMOOTH:
            continue
        mine = before if f"load {load.name}" in before.names else after
        place = mine.length if mine is before else 0.0
        inward = np.asarray(mine.inward(place))
        pull = load.force if load.force is not None else load.traction
        jump = inward if pull is None else np.array(pull)
        if load_growth(_stiffness_at(solution, np.array(at)), inward, jump) <= VISIBLE - 1.0:
            continue
        slips = abs(float(np.dot(mine.tangent(place), jump))) > SLANT * float(np.hypot(*jump))
        yield Unlimited(
            at, f'end of load "{load.name}", ' + ("which pulls along the surface" if slips else "on sloping grain")
        )


def load_growth(stiffness: Array, inward: Array, jump: Array) -> float:
    """By how much the stress along a surface grows, as a share of a load that ends there, when elements are halved.

    On a half-plane whose load jumps by N across and T along the surface the stress along it holds a term
    ln(r) Im(μ_1 μ_2 N + (μ_1 + μ_2) T)/π, μ_1 and μ_2 the roots of S_tt μ^4 - 2 S_ts μ^3 + (2 S_tn + S_ss) μ^2
    - 2 S_ns μ + S_nn = 0 with positive imaginary parts (t along the surface, n out of the wood, s shear). So pressure
    leaves one only where the grain slopes to the surface.

    Parameters
    ----------
    stiffness : (3, 3) array
        Of the wood in x, y, MPa.
    inward, jump : (2,) arrays
        Unit normal into the wood, and the direction of the load; a load of nothing does not grow.

    Returns
    -------
    float

    References
    ----------
    S. G. Lekhnitskii, Anisotropic Plates, 1968, the half-plane under loads on its edge (from memory).
    """
    size = float(np.hypot(*jump))
    if size == 0.0:
        return 0.0
    n = -inward
    t = np.array([n[1], -n[0]])
    turn = stress_rotation(float(np.degrees(np.arctan2(t[1], t[0]))))  # to t, n
    S = np.linalg.inv(turn @ stiffness @ turn.T)
    roots = np.roots([S[0, 0], -2 * S[0, 2], 2 * S[0, 1] + S[2, 2], -2 * S[1, 2], S[1, 1]])
    one, two = roots[np.argsort(roots.imag)][2:]
    logarithm = (one * two * float(jump @ n) + (one + two) * float(jump @ t)).imag / np.pi
    return float(np.log(2.0) * abs(logarithm) / size)


def _stiffness_at(solution: Solution, point: Array) -> Array:
    """Stiffness (3, 3) in x, y, MPa, of an element at the node nearest to a point."""
    mesh = solution.model.mesh
    node = int(np.linalg.norm(mesh.points - point, axis=1).argmin())
    touching = np.concatenate([(cells == node).any(axis=1) for cells in mesh.cells.values()])
    return np.asarray(solution.model.cell_stiffness[int(touching.argmax())])


def growing_peaks(before: Solution, after: Solution, known: tuple[Unlimited, ...]) -> tuple[Unlimited, ...]:
    """Peaks that grew from one mesh to a finer one as if they had no limit, at places that are not known yet.

    Where the elements at the greatest σ_0, -σ_0, σ_90 or |τ| of a case shrank to less than 0.7 of their size, a peak
    that settles changes little; one that goes as r^(-1/3) or faster grows by more than an eighth.

    Parameters
    ----------
    before, after : Solution
        Of the same part with the same cases.
    known : tuple of Unlimited
        Not told again.
    """
    found: list[Unlimited] = []
    points = after.model.mesh.points[after.stress_point]
    earlier = before.model.mesh.points[before.stress_point]
    for case, (new, old) in enumerate(zip(_measures(after), _measures(before), strict=True)):
        for values, values_before in zip(new.T, old.T, strict=True):
            at = points[int(values.argmax())]
            size, size_before = _side_at(after, at), _side_at(before, at)
            near = np.linalg.norm(earlier - at, axis=1) <= size_before
            if size > SHRUNK * size_before or not near.any() or place_near((*known, *found), case, after, at):
                continue
            if values.max() > GROWN * values_before[near].max() > 0.0:
                found.append(Unlimited((float(at[0]), float(at[1])), "a peak that grows with each finer mesh", case))
    return tuple(found)


def _measures(solution: Solution) -> Array:
    """σ_0, -σ_0, σ_90, |τ| at the stress points of every case, (c, m, 4)."""
    along, across, shear = np.moveaxis(solution.stress_grain, -1, 0)
    return np.stack([along, -along, across, np.abs(shear)], axis=-1)


def place_near(places: tuple[Unlimited, ...], case: int, solution: Solution, point: Array) -> Unlimited | None:
    """The place without a limit at which a peak at a point (2,) mm of one case stands, if it stands at one."""
    mine = [place for place in places if place.case in (None, case)]
    if not mine:
        return None
    away = np.linalg.norm(np.array([place.at for place in mine]) - point, axis=1)
    nearest = int(away.argmin())
    return mine[nearest] if away[nearest] <= max(REACH, _side_at(solution, point)) else None


def _side_at(solution: Solution, point: Array) -> float:
    """Longest side (mm) of the elements at the node nearest to a point."""
    mesh = solution.model.mesh
    node = int(np.linalg.norm(mesh.points - point, axis=1).argmin())
    cells = np.concatenate([cells[(cells == node).any(axis=1)][:, :3] for cells in mesh.cells.values()])
    corner = mesh.points[cells]
    return float(np.linalg.norm(corner - np.roll(corner, 1, axis=1), axis=2).max(initial=0.0))
