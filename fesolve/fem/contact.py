"""One-way supports: what pushes on the wood and never pulls, and what is found of it in a solution.

A support touches at the nodes of its sides. A node's opening may not be negative and its force may not pull; the force
of a uniform pressure on a six-node side stands 1 : 4 : 1 at its nodes, so that force over the area which a node stands
for is the pressure there, exact where pressure varies linearly along a side.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..mesh.mesh import Mesh
from .boundary import node_normals, side_quadrature

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

ROUND_TOLERANCE = 1e-3  # of the radius: how far the nodes of a hole may lie off its circle
FIT_TOLERANCE = 1e-6  # of the radius: a pin this much larger than its hole fits it


@dataclass(frozen=True)
class OneWay:
    """A support that only pushes.

    Attributes
    ----------
    name : str
    nodes : (k,) array
        Node numbers.
    normals : (k, 2) array
        Unit vectors out of the wood, towards the support.
    gap : (k,) array
        Opening along the normal before anything moves, mm.
    area : (k,) array
        Face that each node stands for, mm^2; 0 on a point.
    give : (k,) array
        How far the support itself gives under 1 N on the node, mm/N; 0 where it is rigid.
    friction : float
        Coulomb's coefficient.
    center : (2,) array or None
        Of a pin, mm.
    mount : (2,)
        Stiffness that holds a pin along x and y, N/mm: infinite where it cannot move, 0 where it is free to.
    force : (2,)
        Load on a pin, N.
    others : (k,) array or None
        Nodes that these ones press on, of the other face of a crack; None on supports, which do not belong to the part.
    """

    name: str
    nodes: IntArray
    normals: Array
    gap: Array
    area: Array
    give: Array
    friction: float = 0.0
    center: Array | None = None
    mount: tuple[float, float] = (np.inf, np.inf)
    force: tuple[float, float] = (0.0, 0.0)
    others: IntArray | None = None

    @property
    def tangents(self) -> Array:
        """Normals turned by 90 deg counter-clockwise, (k, 2): slip counts along these."""
        return np.stack([-self.normals[:, 1], self.normals[:, 0]], axis=1)


@dataclass(frozen=True)
class Contact:
    """How one support touches in one case.

    Attributes
    ----------
    support : OneWay
    points : (k, 2) array
        Of its nodes, mm.
    pressure : (k,) array
        Force along the normal over the area that a node stands for, MPa; not-a-number on a point.
    gap : (k,) array
        Opening, mm; 0 where closed.
    force : (k, 2) array
        On the wood, N.
    slip : (k,) array
        Movement of the wood along the tangent past the support since the unloaded state, mm.
    status : (k,) array of str
        "closed", "open" or "slip"; a closed node that slides against friction has "slip".
    moved : (2,) array
        Displacement of a pin, mm.
    """

    support: OneWay
    points: Array
    pressure: Array
    gap: Array
    force: Array
    slip: Array
    status: NDArray[np.str_]
    moved: Array

    @property
    def name(self) -> str:
        """The support's."""
        return self.support.name

    @property
    def resultant(self) -> Array:
        """Force on the wood, N, shape (2,)."""
        return np.asarray(self.force.sum(axis=0))

    def moment(self, about: Array) -> float:
        """Moment of the support's forces on the wood about a point, N mm, counter-clockwise positive."""
        arms = self.points - about
        return float((arms[:, 0] * self.force[:, 1] - arms[:, 1] * self.force[:, 0]).sum())

    @property
    def touching(self) -> BoolArray:
        """Which nodes bear, (k,)."""
        return np.asarray(self.status != "open")

    @cached_property
    def arcs(self) -> tuple[tuple[float, float], ...]:
        """Where a pin bears: from, to in deg from +x, counter-clockwise; none on other supports.

        An arc ends midway between the last node that bears and the next.
        """
        if self.support.center is None or not self.touching.any():
            return ()
        away = self.points - self.support.center
        return touching_arcs(np.degrees(np.arctan2(away[:, 1], away[:, 0])), self.touching)


def touching_arcs(angles: Array, touching: BoolArray) -> tuple[tuple[float, float], ...]:
    """Runs of touching nodes by their angle (k,) deg; each begins within -180 to 180 and ends later.

    Where neighbours stand more than four times as far apart as is usual the edge ends.

    Examples
    --------
    >>> touching_arcs(np.array([0.0, 90.0, 180.0, -90.0]), np.array([True, True, False, False]))
    ((-45.0, 135.0),)
    """
    order = np.argsort(angles)
    angle, touch = angles[order], touching[order]
    step = np.diff(np.append(angle, angle[0] + 360.0))
    whole = step <= 4 * np.median(step)
    if touch.all() and whole.all():
        return ((-180.0, 180.0),)
    half = np.where(whole, step / 2, 0.0)  # from each node to the end of its share
    joined = touch & np.roll(touch, -1) & whole
    found = []
    ends = np.flatnonzero(touch & ~joined)
    for begin in np.flatnonzero(touch & ~np.roll(joined, 1)):
        later = ends[ends >= begin]
        end = int(later[0]) if len(later) else int(ends[0])
        start, stop = float(angle[begin] - half[begin - 1]), float(angle[end] + half[end])
        start = (start + 180.0) % 360.0 - 180.0
        found.append((start, start + (stop - start) % 360.0))
    return tuple(found)


def rest(
    mesh: Mesh,
    name: str,
    sides: IntArray,
    thickness: Array,
    gap: float | Array,
    normal: tuple[float, float] | None,
    friction: float,
    stiffness: float | None,
) -> OneWay:
    """A flat or fitting support along sides (k, s); see `PlaneModel.one_way`."""
    if len(sides) == 0:
        raise InputError(f'One-way support "{name}": its edge has no sides.')
    nodes, normals = node_normals(mesh, sides)
    if normal is not None:
        normals = _stated(name, np.asarray(normal, dtype=float), normals)
    lengths, area = node_shares(mesh, sides, thickness)
    give = _give(name, stiffness, lengths)
    return OneWay(name, nodes, normals, _gaps(name, gap, mesh, nodes), area, give, _friction(name, friction))


def point_rest(
    mesh: Mesh, name: str, nodes: IntArray, gap: float | Array, normal: tuple[float, float] | None, friction: float
) -> OneWay:
    """A support under single points, which have no pressure; see `PlaneModel.one_way`."""
    if normal is None:
        raise InputError(f'One-way support "{name}" stands on points, which have no normal: state one.')
    normals = _stated(name, np.asarray(normal, dtype=float), np.zeros((len(nodes), 2)))
    none = np.zeros(len(nodes))
    return OneWay(name, nodes, normals, _gaps(name, gap, mesh, nodes), none, none, _friction(name, friction))


def faces(
    mesh: Mesh, name: str, left: IntArray, right: IntArray, direction: tuple[float, float], thickness: float
) -> OneWay:
    """Both faces of a crack; see `PlaneModel.faces`."""
    x, y = direction
    if len(left) != len(right) or not np.allclose(mesh.points[left], mesh.points[right], atol=1e-9):
        raise InputError(f'Crack "{name}": its faces do not lie on one another, node by node.')
    order = np.argsort(mesh.points[left] @ np.array(direction))
    along = mesh.points[left[order]] @ np.array(direction)
    share = np.empty(len(left))
    share[order] = np.gradient(along) if len(left) > 1 else 0.0
    none = np.zeros(len(left))
    normals = np.broadcast_to(np.array([y, -x]), (len(left), 2)).copy()
    return OneWay(name, left, normals, none, share * thickness, none, others=right)


def round_pin(
    mesh: Mesh,
    name: str,
    sides: IntArray,
    thickness: Array,
    center: tuple[float, float],
    diameter: float,
    friction: float,
) -> OneWay:
    """A rigid round pin in the hole whose sides are given, fixed at `center`; see `PlaneModel.one_way_pin`.

    The opening at a node is its distance from the pin's centre less the pin's radius, and grows with the node's
    movement away from the centre. That is exact for an unmoved pin; once hole and pin have moved by d past each other
    across the direction to the node, d^2/(2 r) is left out.
    """
    nodes, outward = node_normals(mesh, sides)
    place = np.asarray(center, dtype=float)
    if place.shape != (2,) or not np.isfinite(place).all():
        raise InputError(f'Pin "{name}": its centre is {place.tolist()}; give [x, y] in mm.')
    middle, radius = fitted_circle(mesh.points[nodes], name)
    if not (np.isfinite(diameter) and diameter > 0):
        raise InputError(f'Pin "{name}" has a diameter of {diameter:g} mm; give a value above 0.')
    if diameter > 2 * radius * (1 + FIT_TOLERANCE):
        raise InputError(
            f'Pin "{name}" of {diameter:g} mm does not go into its hole of {2 * radius:.6g} mm; '
            "give a diameter of at most the hole's."
        )
    away = mesh.points[nodes] - place
    distance = np.linalg.norm(away, axis=1)
    gap = distance - diameter / 2
    if gap.min() < -FIT_TOLERANCE * radius:
        raise InputError(
            f'Pin "{name}" of {diameter:g} mm at ({place[0]:g}, {place[1]:g}) mm reaches {-gap.min():.3g} mm into '
            f"the wood: the hole's centre is ({middle[0]:.6g}, {middle[1]:.6g}) mm. Move its centre or make it thinner."
        )
    normals = -away / distance[:, None]
    if (np.einsum("ki,ki->k", normals, outward) < 0.5).any():
        raise InputError(f'Pin "{name}" stands on an edge that does not face it; name the edge of a hole.')
    area = node_shares(mesh, sides, thickness)[1]
    none = np.zeros(len(nodes))
    return OneWay(name, nodes, normals, np.maximum(gap, 0.0), area, none, _friction(name, friction), place)


def mounted(pin: OneWay, stiffness: tuple[float, float] | None, force: tuple[float, float] | None) -> OneWay:
    """The pin held by springs (infinite ones fix it), free without any, and pushed by a force."""
    springs = np.asarray((0.0, 0.0) if stiffness is None else stiffness, dtype=float)
    push = np.asarray((0.0, 0.0) if force is None else force, dtype=float)
    if springs.shape != (2,) or not (springs >= 0).all():
        raise InputError(f'Pin "{pin.name}": its stiffness is {springs.tolist()}; give [x, y] in N/mm, 0 or more.')
    if push.shape != (2,) or not np.isfinite(push).all():
        raise InputError(f'Pin "{pin.name}": its force is {push.tolist()}; give [x, y] in N.')
    if (np.isinf(springs) & (push != 0)).any():
        raise InputError(
            f'Pin "{pin.name}": its force {push.tolist()} N pushes along an axis on which it is fixed, and would not '
            "reach the part; give a finite stiffness there."
        )
    return replace(pin, mount=(float(springs[0]), float(springs[1])), force=(float(push[0]), float(push[1])))


def fitted_circle(points: Array, name: str) -> tuple[Array, float]:
    """Centre (2,) and radius of the circle through points (k, 2); raises InputError if they lie on none.

    Least squares of x^2 + y^2 = 2 a x + 2 b y + c.
    """
    middle = points.mean(axis=0)
    x, y = (points - middle).T
    matrix = np.column_stack([2 * x, 2 * y, np.ones_like(x)])
    (a, b, c), *_ = np.linalg.lstsq(matrix, x * x + y * y, rcond=None)
    center, radius = middle + np.array([a, b]), float(np.sqrt(max(c + a * a + b * b, 0.0)))
    off = float(np.abs(np.linalg.norm(points - center, axis=1) - radius).max())
    if not off <= ROUND_TOLERANCE * radius:
        raise InputError(f'Pin "{name}" needs a round hole: its edge lies up to {off:.3g} mm off the nearest circle.')
    return center, radius


def node_shares(mesh: Mesh, sides: IntArray, thickness: Array) -> tuple[Array, Array]:
    """Length (mm) and face (mm^2) that each node of sides stands for: ∫ N_a ds and ∫ N_a t ds, by node number."""
    quadrature = side_quadrature(mesh, sides)
    lengths = np.einsum("kq,qa->ka", quadrature.lengths, quadrature.values)
    nodes, inverse = np.unique(sides, return_inverse=True)
    place = inverse.reshape(-1)
    share = np.bincount(place, lengths.reshape(-1), minlength=len(nodes))
    face = np.bincount(place, (lengths * thickness[:, None]).reshape(-1), minlength=len(nodes))
    return share.astype(np.float64), face.astype(np.float64)


def _stated(name: str, normal: Array, edge: Array) -> Array:
    size = float(np.linalg.norm(normal)) if normal.shape == (2,) else 0.0
    if not (np.isfinite(size) and size > 0):
        raise InputError(f'One-way support "{name}": its normal is {normal.tolist()}; give a direction [x, y].')
    if (edge @ (normal / size) < -1e-9).any():
        raise InputError(f'One-way support "{name}": its normal {normal.tolist()} points into the wood; turn it round.')
    return np.broadcast_to(normal / size, (len(edge), 2)).copy()


def _gaps(name: str, gap: float | Array, mesh: Mesh, nodes: IntArray) -> Array:
    given = np.asarray(gap, dtype=float)
    if given.ndim and given.shape != (len(mesh.points),):
        raise InputError(
            f'One-way support "{name}": its gap has shape {given.shape}; give one value, or one for each of the '
            f"mesh's {len(mesh.points)} points (those off the support are not looked at)."
        )
    values = given[nodes] if given.ndim else np.full(len(nodes), float(given))
    good = np.isfinite(values) & (values >= 0)
    if not good.all():
        raise InputError(f'One-way support "{name}": its gap is {values[~good][0]:g} mm; give 0 or more.')
    return values


def _give(name: str, stiffness: float | None, lengths: Array) -> Array:
    if stiffness is None:
        return np.zeros(len(lengths))
    if not (np.isfinite(stiffness) and stiffness > 0):
        raise InputError(f'One-way support "{name}": its stiffness is {stiffness:g} N/mm^2; give a value above 0.')
    return np.asarray(1.0 / (stiffness * lengths))


def _friction(name: str, friction: float) -> float:
    if not (np.isfinite(friction) and friction >= 0):
        raise InputError(f'One-way support "{name}": its friction is {friction:g}; give 0 or more.')
    return float(friction)
