"""Meshes made without a mesh generator, for tests: rectangles and plates with a hole, of all four kinds."""

import numpy as np

import fesolve
from fesolve.fem.elements import ELEMENTS

KINDS = ("triangle", "triangle6", "quad", "quad8")
W1 = fesolve.OrthotropicPlane(E_0=12_000, E_90=600, G=780, nu_0_90=0.4)  # the wood of the reference solutions


def grid_quads(columns, rows, *, closed=False):
    """Quadrilaterals (e, 4) of a grid of nodes numbered row by row; `closed` joins the last column to the first."""
    width = columns if closed else columns + 1
    j, i = np.meshgrid(np.arange(rows), np.arange(columns), indexing="ij")
    one, two = (j * width + i).ravel(), (j * width + (i + 1) % width).ravel()
    return np.column_stack([one, two, two + width, one + width])


def to_kind(kind, points, quads):
    """Points and cells of one kind from quadrilaterals; triangles by the diagonals that alternate."""
    cells = quads
    if kind.startswith("triangle"):
        odd = np.arange(len(quads)) % 2 == 1
        turned = np.where(odd[:, None], np.roll(quads, 1, axis=1), quads)
        cells = np.concatenate([turned[:, [0, 1, 2]], turned[:, [0, 2, 3]]])
    if ELEMENTS[kind].order == 1:
        return points, cells
    return with_middles(points, cells)


def with_middles(points, cells):
    """A node in the middle of every side, numbered after the corners."""
    sides = np.stack([cells, np.roll(cells, -1, axis=1)], axis=2)
    ends, inverse = np.unique(np.sort(sides.reshape(-1, 2), axis=1), axis=0, return_inverse=True)
    numbers = inverse.reshape(cells.shape) + len(points)
    return np.vstack([points, points[ends].mean(axis=1)]), np.hstack([cells, numbers])


def rim(kind, cells):
    """Sides with one element only, wood on the left; (k, 2) or (k, 3)."""
    element = ELEMENTS[kind]
    sides = cells[:, element.sides].reshape(-1, element.sides.shape[1])
    _, first, count = np.unique(np.sort(sides[:, :2], axis=1), axis=0, return_index=True, return_counts=True)
    return sides[np.sort(first[count == 1])]


def rectangle(kind, length=40.0, depth=20.0, columns=4, rows=3, *, distort=0.0, seed=1, origin=(0.0, 0.0), **more):
    """A rectangle with edges bottom, right, top, left; inner corner nodes moved by up to `distort` of a cell."""
    y, x = np.meshgrid(np.linspace(0, depth, rows + 1), np.linspace(0, length, columns + 1), indexing="ij")
    points = np.column_stack([x.ravel(), y.ravel()])
    inner = (points > 0).all(axis=1) & (points < [length, depth]).all(axis=1)
    move = np.random.default_rng(seed).uniform(-distort, distort, points.shape) * [length / columns, depth / rows]
    points = points + inner[:, None] * move
    points, cells = to_kind(kind, points, grid_quads(columns, rows))
    sides = rim(kind, cells)
    middle = points[sides[:, :2]].mean(axis=1)
    eps = 1e-9 * length
    edges = {
        "bottom": sides[middle[:, 1] < eps],
        "right": sides[middle[:, 0] > length - eps],
        "top": sides[middle[:, 1] > depth - eps],
        "left": sides[middle[:, 0] < eps],
    }
    corners = {"A": (0, 0), "B": (length, 0), "C": (length, depth), "D": (0, depth)}
    sets = {name: np.flatnonzero(np.abs(points - at).max(axis=1) < eps) for name, at in corners.items()}
    return fesolve.Mesh(points + np.asarray(origin), {kind: cells}, edges=edges, point_sets=sets, **more)


def plate_with_hole(kind, radius=10.0, half=40.0, per_quarter=8, rings=8, *, center=(0.0, 0.0), round_sides=True):
    """A square plate |x|, |y| <= half with a round hole; edges hole and outer, the hole's sides curved if they can be.

    Cells grow from the hole outwards by a constant factor.
    """
    count = 4 * per_quarter
    angle = 2 * np.pi * np.arange(count) / count
    unit = np.column_stack([np.cos(angle), np.sin(angle)])
    outer = half * unit / np.abs(unit).max(axis=1)[:, None]
    first = np.pi / 2 / per_quarter * radius
    # geometric growth: sizes first, first q, … fill half - radius
    growth = _growth((half - radius) / first, rings)
    share = np.concatenate([[0.0], np.cumsum(growth ** np.arange(rings))])
    share /= share[-1]
    points = np.concatenate([radius * unit + s * (outer - radius * unit) for s in share])
    quads = grid_quads(count, rings, closed=True)[:, ::-1]  # angles run counter-clockwise while rings run outwards
    points, cells = to_kind(kind, points, quads)
    sides = rim(kind, cells)
    on_hole = np.linalg.norm(points[sides[:, 0]], axis=1) < radius * (1 + 1e-9)
    if sides.shape[1] == 3 and round_sides:
        middles = sides[on_hole, 2]
        points[middles] *= radius / np.linalg.norm(points[middles], axis=1)[:, None]
    edges = {"hole": sides[on_hole], "outer": sides[~on_hole]}
    return fesolve.Mesh(points + np.asarray(center), {kind: cells}, edges=edges)


def _growth(total, count):
    low, high = 0.2, 5.0
    for _ in range(200):
        q = 0.5 * (low + high)
        low, high = (q, high) if (q ** np.arange(count)).sum() < total else (low, q)
    return 0.5 * (low + high)


def area(mesh):
    """Area of all cells by their own quadrature, mm^2."""
    total = 0.0
    for kind, cells in mesh.cells.items():
        element = ELEMENTS[kind]
        points, weights = element.rule
        jacobian = np.einsum("qak,eai->eqik", element.gradients(points), mesh.points[cells])
        total += float((np.linalg.det(jacobian) * weights).sum())
    return total


def hold_three(model, first="A", second="B"):
    """Hold the part at two corners so that it can neither slide nor turn, with no force of constraint."""
    return model.fix(first).fix(second, axes=["y"])


def uniform_loads(model, stress):
    """Tractions on the four edges of a rectangle that are in balance with a uniform stress (σ_x, σ_y, τ_xy)."""
    x, y, xy = stress
    model = model.traction("right", (x, xy), name="right").traction("left", (-x, -xy), name="left")
    return model.traction("top", (xy, y), name="top").traction("bottom", (-xy, -y), name="bottom")
