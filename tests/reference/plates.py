"""Meshes, loads and error norms for the verification cases, on the package's own solver. mm, N, MPa; 1 mm thick."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from fesolve.fem.boundary import side_quadrature
from fesolve.fem.loads import side_load
from fesolve.fem.model import PlaneModel
from fesolve.fem.recovery import element_strain
from fesolve.fem.solution import Solution
from fesolve.mesh.curves import Curve
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.mesh import Mesh
from fesolve.mesh.outline import Outline
from fesolve.mesh.sizes import SizeField
from fesolve.part.model import Case, Part, WoodChoice
from fesolve.wood.orthotropic import OrthotropicPlane

Array = NDArray[np.float64]
Field = Callable[[Array], Array]
Point = tuple[float, float]

W1 = OrthotropicPlane(E_0=12_000, E_90=600, G=780, nu_0_90=0.4)


def isotropic(E: float, nu: float) -> OrthotropicPlane:
    return OrthotropicPlane(E, E, E / (2 * (1 + nu)), nu)


# ---- meshes drawn by the mesh room


def lines(points: Sequence[Point], names: Sequence[str]) -> list[Curve]:
    """Straight sides from each point to the next, the last one back to the first."""
    after = [*points[1:], points[0]]
    return [Curve("line", a, b, names=(name,)) for a, b, name in zip(points, after, names, strict=True)]


def circle(center: Point, radius: float, name: str, ccw: bool = False) -> list[Curve]:
    """A hole in four arcs that meet at 0, 90, 180 and 270 deg."""
    turns = np.radians([0, 90, 180, 270] if ccw else [0, 270, 180, 90])
    at = [(center[0] + radius * float(np.cos(t)), center[1] + radius * float(np.sin(t))) for t in turns]
    return [Curve("arc", a, b, center, radius, ccw, (name,)) for a, b in zip(at, [*at[1:], at[0]], strict=True)]


def graded(bounds: Array, sources: Sequence[tuple[Array, float]], cap: float, growth: float) -> SizeField:
    """Sizes that grow by `growth` a millimetre from the places (k, 2) of each source, at most `cap`.

    Squares over the bounds (x0, y0, x1, y1) are quartered until they are no larger than the size in them.
    """
    places = np.concatenate([np.atleast_2d(p) for p, _ in sources])
    wanted = np.concatenate([np.full(len(np.atleast_2d(p)), h) for p, h in sources])

    def at(points: Array) -> Array:
        gap = np.hypot(*(points[:, None] - places).transpose(2, 0, 1))
        return np.minimum(cap, (wanted + growth * gap).min(axis=1))

    low, high = np.array(bounds[:2]), np.array(bounds[2:])
    step = 4 * cap
    counts = np.ceil((high - low) / step).astype(int)
    cells = np.stack(np.meshgrid(*(np.arange(n) + 0.5 for n in counts), indexing="ij"), axis=-1).reshape(-1, 2)
    centers, side = low + step * cells, np.full(len(cells), step)
    done = []
    quarter = np.array([(-0.25, -0.25), (0.25, -0.25), (0.25, 0.25), (-0.25, 0.25)])
    while len(centers):
        fine = side <= 2 * at(centers)
        done.append((centers[fine], side[fine]))
        centers = (centers[~fine, None] + side[~fine, None, None] * quarter).reshape(-1, 2)
        side = np.repeat(side[~fine] / 2, 4)
    middle, size = np.concatenate([c for c, _ in done]), np.concatenate([s for _, s in done])
    points = (middle[:, None] + 2 * size[:, None, None] * quarter).reshape(-1, 2)
    first = 4 * np.arange(len(middle))[:, None, None]
    return SizeField(points, (first + np.array([[0, 1, 2], [0, 2, 3]])).reshape(-1, 3), at(points))


def drawn(loops: Sequence[Sequence[Curve]], size: SizeField) -> Mesh:
    """The mesh room's triangles in an outline of lines and arcs."""
    wood = WoodChoice(thickness=1.0, basis="mean", strength={}, fracture={})
    cases = (Case(name="all loads", factors={}),)
    part = Part(title="plate", wood=wood, corners=(), cases=cases, dimensions={}, source={})
    outline = Outline(tuple(tuple(loop) for loop in loops), {}, (), {})
    return mesh_part(part, outline, size=size)


# ---- structured meshes of mapped squares


def mapped(u: Array, v: Array, place: Callable[[Array, Array], Array], kind: str = "triangle6") -> Mesh:
    """A grid of (u, v), cut into `kind`, with every node put where `place` maps it; wood on the left of its edges.

    Edges "u0", "u1", "v0", "v1" where u or v is least or greatest; x, y of `place` must turn the way u, v does. Where
    u0 and u1 fall on one another (a ring) they are joined.
    """
    nu, nv = len(u) - 1, len(v) - 1
    U, V = np.meshgrid(_halved(u), _halved(v), indexing="ij")
    points = place(U.ravel(), V.ravel())
    number = np.arange(U.size).reshape(U.shape)
    if np.allclose(points[number[0]], points[number[-1]], atol=1e-9 * np.ptp(points)):
        number[-1] = number[0]
    i, j = (a.ravel() for a in np.meshgrid(np.arange(nu) * 2, np.arange(nv) * 2, indexing="ij"))
    square = np.stack([number[i + a, j + b] for a, b in _NINE], axis=1)
    cells = square[:, _CUTS[kind]].reshape(-1, _CUTS[kind].shape[-1])
    width = 3 if kind in {"triangle6", "quad8"} else 2
    sides = {
        "v0": number[:, 0],
        "u1": number[-1, :],
        "v1": number[::-1, -1],
        "u0": number[0, ::-1],
    }
    edges = {name: np.stack([s[:-2:2], s[2::2], s[1:-1:2]], axis=1)[:, :width] for name, s in sides.items()}
    used, inverse = np.unique(cells, return_inverse=True)
    renumber = np.full(U.size, -1)
    renumber[used] = np.arange(len(used))
    edges = {name: renumber[s] for name, s in edges.items() if (renumber[s] >= 0).all()}
    return Mesh(points[used], {kind: inverse.reshape(cells.shape)}, edges=edges)


def _halved(u: Array) -> Array:
    result = np.empty(2 * len(u) - 1)
    result[::2], result[1::2] = u, (u[:-1] + u[1:]) / 2
    return result


# nodes of a square: corners, middles of sides, centre; and how the kinds are cut from them
_NINE = [(0, 0), (2, 0), (2, 2), (0, 2), (1, 0), (2, 1), (1, 2), (0, 1), (1, 1)]
_CUTS = {
    "triangle": np.array([[0, 1, 2], [0, 2, 3]]),
    "triangle6": np.array([[0, 1, 2, 4, 5, 8], [0, 2, 3, 8, 6, 7]]),
    "quad": np.array([[0, 1, 2, 3]]),
    "quad8": np.array([[0, 1, 2, 3, 4, 5, 6, 7]]),
}


def growing(count: int, ratio: float) -> Array:
    """Places 0 to 1, the last gap `ratio` times the first, growing evenly."""
    gaps = np.geomspace(1.0, ratio, count)
    return np.concatenate([[0.0], np.cumsum(gaps)]) / gaps.sum()


# ---- models


def plate(mesh: Mesh, material: OrthotropicPlane, grain: float = 0.0) -> PlaneModel:
    return PlaneModel(mesh, material, thickness=1.0, grain=grain)


def pull(model: PlaneModel, edges: Sequence[str], stress: Field) -> PlaneModel:
    """Load edges by the tractions of a stress field, at the quadrature points of the mesh's own sides."""
    for edge in edges:
        quadrature = side_quadrature(model.mesh, model.mesh.edges[edge])
        shape = quadrature.points.shape
        s = stress(quadrature.points.reshape(-1, 2)).reshape(*shape[:2], 3)
        n = quadrature.normals
        traction = np.stack(
            [s[..., 0] * n[..., 0] + s[..., 2] * n[..., 1], s[..., 2] * n[..., 0] + s[..., 1] * n[..., 1]], axis=-1
        )
        load = side_load(edge, model.mesh, quadrature, quadrature.lengths[..., None] * traction)
        model = dataclasses.replace(model, loads=(*model.loads, load))
    return model


def hold(model: PlaneModel, first: Point, second: Point) -> PlaneModel:
    """Three displacements held at the nodes nearest two places: both of the first, one of the second across to it."""
    points = model.mesh.points
    a, b = (int(np.argmin(np.hypot(*(points - np.array(p)).T))) for p in (first, second))
    axis = "y" if abs(points[b, 0] - points[a, 0]) > abs(points[b, 1] - points[a, 1]) else "x"
    mesh = dataclasses.replace(
        model.mesh, point_sets={**model.mesh.point_sets, "hold 1": np.array([a]), "hold 2": np.array([b])}
    )
    return dataclasses.replace(model, mesh=mesh).fix("hold 1").fix("hold 2", axes=(axis,))


def unknowns(solution: Solution) -> int:
    """Displacement components in the mesh."""
    return int(solution.displacement.size)


def without_rigid_motion(points: Array, moved: Array) -> Array:
    """Displacements (k, 2) less the rigid motion that fits them best."""
    center = points.mean(axis=0)
    x, y = (points - center).T
    one, zero = np.ones_like(x), np.zeros_like(x)
    motions = np.stack([np.stack([one, zero], 1), np.stack([zero, one], 1), np.stack([-y, x], 1)], axis=-1)
    motions = motions.reshape(-1, 3)
    fit = np.linalg.lstsq(motions, moved.reshape(-1), rcond=None)[0]
    return moved - (motions @ fit).reshape(-1, 2)


def energy_error(solution: Solution, stress: Field) -> float:
    """Energy norm of (stress of the elements - exact stress), relative to that of the exact stress."""
    model = solution.model
    points = model.mesh.points
    wrong = right = 0.0
    for element, cells, place in model.blocks:
        at, weights = element.rule
        strain = element_strain(points, cells, solution.displacement[None], at, element)[:, :, 0]
        Q = model.cell_stiffness[place]
        S = np.linalg.inv(Q)
        jacobian = np.einsum("qak,eai->eqik", element.gradients(at), points[cells])
        area = np.linalg.det(jacobian) * weights
        where = np.einsum("qa,eai->eqi", element.shape(at), points[cells])
        exact = stress(where.reshape(-1, 2)).reshape(strain.shape)
        off = np.einsum("est,eqt->eqs", Q, strain) - exact
        wrong += float(np.einsum("eq,eqs,est,eqt->", area, off, S, off, optimize=True))
        right += float(np.einsum("eq,eqs,est,eqt->", area, exact, S, exact, optimize=True))
    return float(np.sqrt(wrong / right))


def fitted_rate(sizes: Sequence[float], errors: Sequence[float]) -> float:
    """Order of convergence between the last two meshes."""
    return float(np.log(errors[-2] / errors[-1]) / np.log(sizes[-2] / sizes[-1]))


def polar(radius: float, degrees: Array, center: Point = (0.0, 0.0)) -> Array:
    """Points (k, 2) on a circle."""
    t = np.radians(np.asarray(degrees, dtype=float))
    return np.array(center) + radius * np.stack([np.cos(t), np.sin(t)], axis=1)


def hoop(solution: Solution, center: Point, radius: float, degrees: Array) -> Array:
    """Recovered stress along a hole's edge (k,), a millionth of the radius inside the wood so that it is found."""
    degrees = np.asarray(degrees, dtype=float)
    stress = solution.stress_at(polar(radius * (1 + 2e-6), degrees, center))
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return stress[:, 0] * s * s + stress[:, 1] * c * c - 2 * stress[:, 2] * s * c
