"""A rigid mass that runs into a patch of the part: what it is, and the rows of contact that it makes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from .boundary import edge_sides, side_quadrature
from .impact import Chain, Link
from .spring_law import SpringLaw

if TYPE_CHECKING:
    from scipy.sparse import csr_array

    from .contact import OneWay
    from .model import PlaneModel

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True)
class Striker:
    """A rigid mass, at the surface when the clock starts.

    Attributes
    ----------
    edge : str
        The struck edge (or point set) of the mesh.
    direction : (x, y)
        Which way it moves, into the wood; of any length.
    mass : float
        tonne.
    speed : float
        mm/s.
    push : float
        A steady force along the direction that stays on, N.
    stiffness : float
        Of the striker itself, N/mm; inf: rigid.
    pad_stiffness, pad_travel : float
        A pad between striker and part, N/mm, and the way after which it bottoms out, mm.
    limit : float
        Force above which the struck face is crushed, N.
    spread : "mean" or "nodes"
        "mean": the force is spread evenly over the patch, and the patch's mean displacement touches the striker;
        "nodes": a rigid face that each node of the patch touches or does not. A spring or pad needs "mean".
    gaps : float or (k,) sequence
        With "nodes", how far the striker's face lies from each node at first, mm, in the order of node numbers.
    """

    edge: str
    direction: tuple[float, float]
    mass: float
    speed: float
    push: float = 0.0
    stiffness: float = math.inf
    pad_stiffness: float = math.inf
    pad_travel: float = math.inf
    limit: float = math.inf
    spread: Literal["mean", "nodes"] = "mean"
    gaps: float | tuple[float, ...] = 0.0

    def __post_init__(self) -> None:
        wanted = {"mass": "tonne", "stiffness": "N/mm", "pad_stiffness": "N/mm", "pad_travel": "mm", "limit": "N"}
        for name, unit in wanted.items():
            value = getattr(self, name)
            if not value > 0.0 or (name == "mass" and math.isinf(value)):
                raise InputError(f"The striker's {name} is {value:g} {unit}; give a value above 0.", key=name)
        for name, unit in {"speed": "mm/s", "push": "N"}.items():
            value = getattr(self, name)
            if not (math.isfinite(value) and value >= 0.0):
                raise InputError(f"The striker's {name} is {value:g} {unit}; give a value of 0 or more.", key=name)
        if self.speed == 0.0 and self.push == 0.0:
            raise InputError("The striker has neither speed nor push; give one of them above 0.", key="speed")
        if not (np.isfinite(self.direction).all() and np.linalg.norm(self.direction) > 0.0):
            raise InputError(
                f"The striker's direction is {tuple(self.direction)}; give [x, y], not both 0.", key="direction"
            )
        if math.isfinite(self.pad_travel) and math.isinf(self.pad_stiffness):
            raise InputError("A pad's travel needs its stiffness too.", key="pad_stiffness")
        if self.spread == "nodes" and self.links:
            raise InputError(
                'A striker that touches node by node is rigid and has no pad; use spread="mean".', key="spread"
            )

    @property
    def unit(self) -> Array:
        """Direction of length 1, (2,)."""
        return np.asarray(self.direction, dtype=float) / float(np.linalg.norm(self.direction))

    @property
    def links(self) -> tuple[Link, ...]:
        """The springs between its mass and the wood."""
        every = (Link("striker", self.stiffness), Link("pad", self.pad_stiffness, self.pad_travel))
        return tuple(link for link in every if math.isfinite(link.stiffness))

    def chain(self, part: float) -> Chain:
        """The springs of the whole strike, the part's own stiffness (N/mm) first."""
        return Chain((Link("part", part), *self.links))

    @property
    def law(self) -> SpringLaw | None:
        """The spring between its mass and the wood, without the stop that a pad under a rigid striker ends at."""
        if not self.links:
            return None
        endless = math.isinf(self.stiffness)
        links = tuple(Link(x.name, x.stiffness) if endless else x for x in self.links)
        return SpringLaw.of(Chain(links), self.limit)


@dataclass(frozen=True)
class Rows:
    """Rows of one-way contact on the nodes of a part, before any step: those of supports, then the striker's.

    Attributes
    ----------
    matrix : (k, 2n) sparse array
        b of each row, in x, y: displacement along the push, and the nodal forces of a unit force.
    gaps, limits : (k,) arrays
        mm and N.
    moving : (k,) bool array
        Whether the row touches the striker; else something fixed.
    share : (k,) array
        What each row has in the mean displacement of the struck patch; its sum is 1.
    give : (k, k) array
        Way of each row's support under unit forces on the rows, mm/N; 0 where supports are rigid.
    law : SpringLaw or None
        Of the last row, if that is a spring.
    stop : int or None
        The row on which a full pad stands, if there is one.
    """

    matrix: csr_array[Any]
    gaps: Array
    limits: Array
    moving: BoolArray
    share: Array
    give: Array
    law: SpringLaw | None
    stop: int | None = None


def unit_force(model: PlaneModel, striker: Striker) -> Array:
    """Nodal forces (n, 2) of 1 N on the patch along the striker's way, spread evenly (over the nodes of a point set).

    Raises
    ------
    InputError
        If there is no such edge or point set, or the patch faces away from the striker.
    """
    mesh, edge = model.mesh, striker.edge
    x, y = striker.unit
    if edge in mesh.point_sets:
        nodal = np.zeros_like(mesh.points)
        nodal[mesh.point_sets[edge]] = striker.unit / len(mesh.point_sets[edge])
        return nodal
    if edge not in mesh.edges:
        known = ", ".join(sorted({*mesh.edges, *mesh.point_sets})) or "none"
        raise InputError(f'The struck edge "{edge}" is not in the mesh. Edges and point sets: {known}.', key="edge")
    sides = edge_sides(mesh, edge)
    if len(sides) == 0:
        raise InputError(f'The struck edge "{edge}" has no sides.', key="edge")
    faces = side_quadrature(mesh, sides)
    into = -float((faces.lengths * (faces.normals @ striker.unit)).sum()) / faces.length
    if into <= 1e-6:
        raise InputError(
            f'The strike on "{edge}" along ({x:g}, {y:g}) goes out of the wood or along its surface; '
            "turn the direction, or strike another edge.",
            key="direction",
        )
    return model.force(edge, (float(x), float(y))).loads[-1].nodal


def rows_of(model: PlaneModel, striker: Striker) -> Rows:
    """The rows of contact between a part and its one-way supports, and between a striker and its patch.

    Raises
    ------
    InputError
        For a one-way pin that moves and is not held by springs along x and y: it has no mass, so that nothing tells
        how it moves.
    """
    from scipy import sparse

    blow, gaps, limits = _striker_rows(model, striker)
    supports = model.contacts
    nodes = np.concatenate([np.zeros(0, dtype=np.int64), *(c.nodes for c in supports)])
    along = np.concatenate([np.zeros((0, 2)), *(-c.normals for c in supports)])
    fixed, count = len(nodes), len(gaps)
    columns = np.stack([2 * nodes, 2 * nodes + 1], axis=1).reshape(-1)
    rests = sparse.csr_array(
        (along.reshape(-1), (np.repeat(np.arange(fixed), 2), columns)), shape=(fixed, model.mesh.points.size)
    )
    law = striker.law
    stop = math.isfinite(striker.pad_travel) and math.isinf(striker.stiffness)
    share = np.ones(count) if striker.spread == "mean" else blow @ unit_force(model, striker).reshape(-1)
    return Rows(
        matrix=sparse.csr_array(sparse.vstack([rests, blow])),
        gaps=np.concatenate([*(c.gap for c in supports), gaps]),
        limits=np.concatenate([np.full(fixed, math.inf), limits]),
        moving=np.arange(fixed + count) >= fixed,
        share=np.concatenate([np.zeros(fixed), share / share.sum()]),
        give=_give(supports, fixed + count),
        law=law,
        stop=fixed if stop else None,
    )


def _give(supports: tuple[OneWay, ...], count: int) -> Array:
    """How supports give under unit forces on their rows (k, k): rests row by row, pins on springs as one."""
    result, first = np.zeros((count, count)), 0
    for support in supports:
        mine = slice(first, first + len(support.nodes))
        first = mine.stop
        result[mine, mine] = np.diag(support.give)
        mount = np.array(support.mount)
        if np.isinf(mount).all():
            continue
        if not (np.isfinite(mount) & (mount > 0.0)).all():
            raise InputError(
                f'Pin "{support.name}" is free to move along one axis at least, or rigid along one only, and has no '
                "mass: a strike cannot be followed through time with it. Fix it, or give it a stiffness along x and y."
            )
        result[mine, mine] = (support.normals / mount) @ support.normals.T
    return result


def _striker_rows(model: PlaneModel, striker: Striker) -> tuple[csr_array[Any], Array, Array]:
    """Rows (k, 2n), gaps and limits: one for the whole patch (two where a pad may stop), or one a node."""
    from scipy import sparse

    spread = unit_force(model, striker)
    if striker.spread == "nodes":
        return _node_rows(spread, striker)
    stop = math.isfinite(striker.pad_travel) and math.isinf(striker.stiffness)
    count = 2 if stop else 1
    gaps, limits = np.zeros(count), np.full(count, striker.limit)
    if stop:
        gaps[0] = striker.pad_travel
        limits[0] = max(0.0, striker.limit - striker.pad_stiffness * striker.pad_travel)
    return sparse.csr_array(np.broadcast_to(spread.reshape(1, -1), (count, spread.size))), gaps, limits


def _node_rows(spread: Array, striker: Striker) -> tuple[csr_array[Any], Array, Array]:
    from scipy import sparse

    share = spread @ striker.unit
    nodes = np.flatnonzero(share > 0.0)
    count = len(nodes)
    gaps = np.asarray(striker.gaps, dtype=float)
    if gaps.ndim and gaps.shape != (count,):
        raise InputError(
            f"The striker's gaps have shape {gaps.shape}; give one value or {count}, one a node.", key="gaps"
        )
    rows = np.repeat(np.arange(count), 2)
    columns = np.stack([2 * nodes, 2 * nodes + 1], axis=1).reshape(-1)
    matrix = sparse.csr_array((np.tile(striker.unit, count), (rows, columns)), shape=(count, spread.size))
    limits = striker.limit * share[nodes] if math.isfinite(striker.limit) else np.full(count, math.inf)
    return matrix, np.broadcast_to(gaps, (count,)).copy(), limits
