"""Grids for tests of the accessor, made from the meshes of tests."""

import numpy as np
import pyvista

import fesolve.plugin  # noqa: F401  (registers the accessor in a tree that is not installed)
from fesolve.mesh.convert import to_pyvista
from meshes import rectangle

ALL_ROUND = ("left", "right", "bottom", "top")


def bar(kind="triangle6", **more):
    """A rectangle of 40 by 20 mm as a grid."""
    return to_pyvista(rectangle(kind, **more))


def middles(grid):
    """Middles of the cells, (e, 2)."""
    return np.asarray(grid.cell_centers().points)[:, :2]


def corner_point(grid, x, y):
    """Number of the point at a place."""
    return [int(grid.find_closest_point((x, y, 0.0)))]


def uniform(grid, stress, wood, **more):
    """Solve a rectangle under tractions on all sides that balance a uniform stress (σ_x, σ_y, τ_xy)."""
    x, y, xy = stress
    low, high = grid.points[:, :2].min(axis=0), grid.points[:, :2].max(axis=0)
    places = {"A": corner_point(grid, *low), "B": corner_point(grid, high[0], low[1])}
    traction = {"right": (x, xy), "left": (-x, -xy), "top": (xy, y), "bottom": (-xy, -y)}
    kept = {"thickness": 38, "places": places, "fix": {"A": "xy", "B": "y"}, "traction": traction} | more
    return grid.fesolve.solve(wood, **kept)


def mixed_grid():
    """Triangles on the left of quadrilaterals, the cells of both kinds in turn."""
    points = np.array([[x, y, 0.0] for y in (0, 10, 20) for x in (0, 10, 20, 30, 40)])
    quads = [[i, i + 1, i + 6, i + 5] for i in (0, 1, 2, 3, 5, 6, 7, 8)]
    cells, kinds = [], []
    for number, quad in enumerate(quads):
        if number % 2:
            cells += [4, *quad]
            kinds += [9]
        else:
            cells += [3, quad[0], quad[1], quad[2], 3, quad[0], quad[3], quad[2]]  # the second turns clockwise
            kinds += [5, 5]
    return pyvista.UnstructuredGrid(cells, kinds, points)
