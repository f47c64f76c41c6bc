"""Reactions and internal forces by rigid-body statics alone, as a hand calculation has them.

A support is a few unknown forces (and perhaps a moment) at one place: a pin two through its centre, a roller
or rest one along the normal at the middle of its patch, a spring one (two with both axes), a fixed edge three.
Only with three independent unknowns does statics alone give the reactions.

Sign convention at a cut, seen along the member axis: N pulls (tension positive); V is positive when the part
beyond the cut pushes the part before it to the left of the axis; M is positive when it stretches the left
side. So N, V and M are the sums of sigma, tau and sigma times height over the cut, and dM/ds = V.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from ..fem.boundary import edge_sides, side_quadrature
from ..mesh.mesh import Mesh
from ..part.model import Part, Place, Support

FloatArray = NDArray[np.float64]
AXES = {"x": (1.0, 0.0), "y": (0.0, 1.0)}


class Acting(Protocol):
    """A load as forces (q, 2) N at points (q, 2) mm."""

    @property
    def name(self) -> str:
        """The load's name."""

    @property
    def points(self) -> FloatArray:
        """Where it acts."""

    @property
    def forces(self) -> FloatArray:
        """What acts there."""


@dataclass(frozen=True)
class Seat:
    """The piece of surface that a support or load covers.

    Parameters
    ----------
    name : str
        Of the support or load.
    points : (q, 2) array
        Quadrature points on it, mm; the hole's or corner's point where it has no sides.
    lengths : (q,) array
        Length each stands for, mm.
    normals : (q, 2) array
        Unit normals out of the wood; zero at a corner.
    middle : (2,) array
        Its middle, mm; a hole's centre.
    on : Place
    """

    name: str
    points: FloatArray
    lengths: FloatArray
    normals: FloatArray
    middle: FloatArray
    on: Place


@dataclass(frozen=True)
class Actions:
    """Forces (q, 2) N and moments (q,) N mm at points (q, 2) mm."""

    points: FloatArray
    forces: FloatArray
    moments: FloatArray

    @classmethod
    def of(cls, loads: Sequence[Acting]) -> Actions:
        """Put the forces of all loads together."""
        points = np.concatenate([np.zeros((0, 2)), *(load.points for load in loads)])
        forces = np.concatenate([np.zeros((0, 2)), *(load.forces for load in loads)])
        return cls(points, forces, np.zeros(len(points)))

    def __add__(self, other: Actions) -> Actions:
        return Actions(
            np.concatenate([self.points, other.points]),
            np.concatenate([self.forces, other.forces]),
            np.concatenate([self.moments, other.moments]),
        )

    def wrench(self, about: FloatArray) -> FloatArray:
        """Sum of forces and moment about a point: (F_x, F_y, M), N and N mm."""
        return np.array([*self.forces.sum(axis=0), (_cross(self.points - about, self.forces) + self.moments).sum()])


@dataclass(frozen=True)
class HandReaction:
    """What one support does to the part by statics: ``force`` (2,) N at ``at`` (2,) mm and ``moment`` N mm about it."""

    name: str
    force: FloatArray
    moment: float
    at: FloatArray
    actions: Actions


def seat(part: Part, mesh: Mesh, kind: str, name: str, on: Place) -> Seat:
    """Find the patch of ``"support"`` or ``"load"`` ``name`` on the mesh."""
    key = next((k for k in (f"{kind} {name}", on.text) if k in mesh.edges and len(mesh.edges[k])), None)
    if key is None:
        point = _corner_point(part, mesh, f"{kind} {name}", on)
        return Seat(name, point[None], np.ones(1), np.zeros((1, 2)), point, on)
    q = side_quadrature(mesh, edge_sides(mesh, key))
    points, lengths, normals = q.points.reshape(-1, 2), q.lengths.reshape(-1), q.normals.reshape(-1, 2)
    if on.kind == "hole":
        middle = np.array(next(hole.center for hole in part.holes if hole.name == on.name))
    else:
        middle = lengths @ points / lengths.sum()
    return Seat(name, points, lengths, normals, middle, on)


def _corner_point(part: Part, mesh: Mesh, key: str, on: Place) -> FloatArray:
    for name in (key, on.text):
        if name in mesh.point_sets and len(mesh.point_sets[name]):
            return np.asarray(mesh.points[mesh.point_sets[name]].mean(axis=0))
    return np.array(next(corner.at for corner in part.corners if corner.name == on.name))


def statics_reactions(part: Part, mesh: Mesh, loads: Sequence[Acting]) -> tuple[HandReaction, ...] | None:
    """Reactions from the balance of forces and moments, or None where that does not suffice.

    Parameters
    ----------
    part : Part
    mesh : Mesh
        With the seats of the supports as named edges or point sets.
    loads : sequence of Acting
        Every load of the case, self-weight included.

    Returns
    -------
    tuple of HandReaction or None
        None with more or fewer than three unknowns, or three that do not hold the part.

    Examples
    --------
    A lever on a pin, pushed by F 250 mm from it, leaning on a rest 140 mm from it: the rest gives
    250/140 F = 1.786 F, the pin 0.786 F.
    """
    seats = [seat(part, mesh, "support", support.name, support.on) for support in part.supports]
    unknowns = [_unknowns(support, place) for support, place in zip(part.supports, seats, strict=True)]
    if sum(len(rows) for rows in unknowns) != 3:
        return None
    given = Actions.of(loads)
    about, size = mesh.points.mean(axis=0), mesh.size
    columns = [_column(place, row, about, size) for place, rows in zip(seats, unknowns, strict=True) for row in rows]
    matrix = np.array(columns).T
    if np.linalg.cond(matrix) > 1e8:
        return None
    right = given.wrench(about) / np.array([1.0, 1.0, size])
    values = np.linalg.solve(matrix, -right)
    return _share_out(part.supports, seats, unknowns, values, size)


# an unknown is (x, y, moment): a unit force along (x, y) at the patch's middle, or a unit moment
Unknown = tuple[float, float, float]


def _unknowns(support: Support, place: Seat) -> list[Unknown]:
    if support.kind == "pin":
        return [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0)]
    if support.kind in ("roller", "rest", "spring") and support.axes is None:
        normal = place.lengths @ place.normals
        x, y = normal / (np.linalg.norm(normal) or 1.0)
        return [(float(x), float(y), 0.0)]
    axes = support.axes or ("x", "y")
    rows = [(*AXES[axis], 0.0) for axis in axes]
    if support.kind == "fixed" and _holds_turning(place, axes):
        rows.append((0.0, 0.0, 1.0))
    return rows


def _holds_turning(place: Seat, axes: Sequence[str]) -> bool:
    """Tell whether a fixed patch resists turning: it has length across a held axis."""
    extent = np.ptp(place.points, axis=0)
    across = {"x": extent[1], "y": extent[0]}
    return bool(len(place.points) > 1 and max(across[axis] for axis in axes) > 0.5 * extent.max())


def _column(place: Seat, row: Unknown, about: FloatArray, size: float) -> FloatArray:
    x, y, turn = row
    arm = (place.middle - about) / size
    return np.array([x, y, turn if turn else arm[0] * y - arm[1] * x])


def _share_out(
    supports: Sequence[Support],
    seats: Sequence[Seat],
    unknowns: Sequence[list[Unknown]],
    values: FloatArray,
    size: float,
) -> tuple[HandReaction, ...]:
    reactions, taken = [], 0
    for support, place, rows in zip(supports, seats, unknowns, strict=True):
        mine = values[taken : taken + len(rows)]
        taken += len(rows)
        total = np.array(rows).T @ mine if rows else np.zeros(3)
        force, moment = total[:2], float(total[2] * size)
        spread = _spread(place, force, moment)
        reactions.append(HandReaction(support.name, force, moment, place.middle, spread))
    return tuple(reactions)


def _spread(place: Seat, force: FloatArray, moment: float) -> Actions:
    """Evenly over an edge; as a radial cosine pressure on the pushed half of a hole."""
    share = place.lengths / place.lengths.sum()
    forces = share[:, None] * force
    if place.on.kind == "hole" and np.linalg.norm(force) > 0:
        points, forces = _bearing(place, force)
        return Actions(points, forces, np.full(len(points), moment / len(points)))
    return Actions(place.points, forces, moment * share)


def _bearing(place: Seat, force: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Cosine bearing of ``force`` on a round hole: every force through its centre, points (k, 2) and forces (k, 2)."""
    radius = np.linalg.norm(place.points - place.middle, axis=1).mean()
    angle = (np.arange(32) + 0.5) / 32 * np.pi - np.pi / 2
    u = force / np.linalg.norm(force)
    left = np.array([-u[1], u[0]])
    radial = np.cos(angle)[:, None] * u + np.sin(angle)[:, None] * left
    weight = np.cos(angle) / (np.cos(angle) ** 2).sum()
    return place.middle + radius * radial, np.linalg.norm(force) * weight[:, None] * radial


def internal_forces(actions: Actions, origin: FloatArray, axis: FloatArray) -> tuple[float, float, float]:
    """N, V, M at a straight cut, from everything that acts before it.

    Parameters
    ----------
    actions : Actions
        Loads and reactions in balance.
    origin : (2,) array
        The point of the cut about which M is taken (its centroid), mm.
    axis : (2,) array
        Unit normal of the cut, along the member axis.

    Returns
    -------
    (N, V, M)
        N, N, N mm; signs as in the head of this module. What acts exactly on the cut counts half.

    Examples
    --------
    A force of 10 N to the left of the axis at the free start, 50 mm before the cut:

    >>> tip = Actions(np.array([[0.0, 0.0]]), np.array([[0.0, 10.0]]), np.zeros(1))
    >>> internal_forces(tip, np.array([50.0, 0.0]), np.array([1.0, 0.0]))
    (0.0, -10.0, -500.0)
    """
    arm = actions.points - origin
    along = arm @ axis
    share = np.where(np.abs(along) <= 1e-9, 0.5, np.where(along < 0, 1.0, 0.0))
    force = share @ actions.forces
    moment = share @ (_cross(arm, actions.forces) + actions.moments)
    left = np.array([-axis[1], axis[0]])
    return float(0.0 - force @ axis), float(0.0 - force @ left), float(moment)


def _cross(a: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])
