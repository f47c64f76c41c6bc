"""What cannot be used on a grid is refused with one clear message."""

import numpy as np
import pytest
import pyvista
from grids import bar, mixed_grid

import fesolve
from meshes import W1

LOAD = {"fix": "left", "force": {"right": (0, -10)}}


def solve(grid=None, wood=W1, thickness=10, **more):
    return (bar("quad") if grid is None else grid).fesolve.solve(wood, thickness, **{**LOAD, **more})


def refused(match, **more):
    with pytest.raises(fesolve.InputError, match=match):
        solve(**more)


# ---- grids


def test_three_dimensions():
    box = pyvista.ImageData(dimensions=(3, 3, 3)).cast_to_unstructured_grid()
    refused(r"8 cells with a volume \(VTK type 11\): it is three-dimensional.*slice", grid=box)


def test_cells_of_other_kinds():
    refused(r"1 cells of VTK type 7;.*grid\.triangulate\(\)", grid=pyvista.Polygon(n_sides=6))


def test_no_cells_at_all():
    refused("no triangles and no quadrilaterals", grid=pyvista.Line())
    refused("no triangles and no quadrilaterals", grid=pyvista.PolyData(np.zeros((3, 3))))


def test_grids_that_are_not_plane():
    refused(r"z = -10 and z = 10.*rotate_x\(90\)", grid=pyvista.Plane(direction=(0, 1, 0), i_size=20, j_size=20))
    refused(r"z = -10 and z = 10.*rotate_y\(90\)", grid=pyvista.Plane(direction=(1, 0, 0), i_size=20, j_size=20))
    refused("flatten or cut it first", grid=pyvista.Sphere())


def test_points_that_are_not_finite():
    grid = bar("quad")
    grid.points[3, 1] = np.nan
    refused(r"Point 3 of the grid's cells is at \(.*nan.*not finite", grid=grid)


def test_linear_and_quadratic_cells_together():
    grid = bar("quad").merge(bar("quad8").translate((40, 0, 0), inplace=False))
    refused("Linear and quadratic cells are mixed", grid=grid)


def test_cells_that_overlap():
    grid = mixed_grid()
    doubled = pyvista.UnstructuredGrid(np.r_[grid.cells, [3, 0, 1, 6]], [*grid.celltypes, 5], grid.points)
    refused("is there twice", grid=doubled)


# ---- cell values


def test_thickness():
    refused("Thickness of cell 0 is 0 mm; give a value above 0", thickness=0)
    refused("Thickness of cell 0 is -3 mm", thickness="-3 mm")
    refused("Thickness has 5 values, but the grid has 12 cells; give one for each", thickness=np.ones(5))
    refused('"stout".*Cell arrays of the grid: none', thickness="stout")
    refused("a mass.*length|length.*a mass", thickness="3 kg")
    refused("Thickness is None; give a number, a quantity, an array or its name", thickness=None)
    refused("Thickness of cell 2 is not finite", thickness=[1, 1, np.nan, *[1] * 9])
    refused("Thickness has shape", thickness=np.ones((12, 2)))
    grid = bar("quad")
    grid.point_data["t"] = np.ones(grid.n_points)
    refused(
        r'"t" is an array of the points; thickness wants one of the cells: grid\.point_data_to',
        grid=grid,
        thickness="t",
    )
    grid.cell_data["words"] = ["thick"] * grid.n_cells
    refused("give a number, a quantity, an array or its name", grid=grid, thickness="words")


def test_grain():
    refused("Grain of cell 0 is not finite", grain=np.inf)
    refused("vectors without a direction", grain=np.tile([0.0, 0.0, 1.0], (12, 1)))
    refused(r"Grain has shape \(12, 5\); give angles in deg, or vectors", grain=np.ones((12, 5)))
    refused("Grain has 3 values", grain=[0, 1, 2])


def test_wood():
    names = {"basis": "mean", "board": "flat-sawn"}
    refused('needs a basis: basis = "mean"', wood="Ash, white")
    refused('needs the drawn face: board = "flat-sawn"', wood="Ash, white", basis="mean")
    refused("solve with each, and take the worse", wood="Ash, white", basis="mean", board="unknown")
    refused("Ash, whit", wood="Ash, whit", **names)
    refused("middling", wood="Ash, white", basis="middling", board="flat-sawn")
    refused("Own constants have E_0; give E_0, E_90, G, nu_0_90", wood={"E_0": 1})
    refused('"soft" is not a stress', wood={"E_0": 1, "E_90": 1, "G": "soft", "nu_0_90": 0})
    refused(r"G is -1 MPa.*\(wood\.G\)", wood={"E_0": 1, "E_90": 1, "G": -1, "nu_0_90": 0})
    refused("Wood is 3; woods has 1.*A wood is a name of the tables", wood=3, woods={1: W1})
    refused("Wood is None; name it in woods", wood=None)
    refused("Wood has 2 values", wood=["Ash, white", "Ash, white"], **names)


def test_units():
    refused("length_unit is 'furlong'; units of length: mm, cm, m, in, ft, yd", length_unit="furlong")
    refused("length_unit", length_unit="kg")


# ---- where and what


def test_places():
    refused('There is no place "nail"\\. Known are: "left", "right", "bottom", "top"', fix="nail")
    refused('No point of the grid lies in place "hook".*from \\(0, 0\\) to \\(40, 20\\)', fix="hook",
            places={"hook": lambda x, y: x > 99})  # fmt: skip
    refused(r'The function for "hook" failed \(ValueError.*join conditions with &', fix="hook",
            places={"hook": lambda x, y: x > 1 and y > 1})  # fmt: skip
    refused('The function for "hook" gave float64', fix="hook", places={"hook": lambda x, y: x})
    refused('"hook" names point 99; the grid has 0 to 19', fix="hook", places={"hook": [0, 99]})
    refused('"hook" has 3 true-false values, but the grid has 20 points', fix="hook", places={"hook": [True] * 3})
    refused('"hook" is 1.5; give an array of point numbers', fix="hook", places={"hook": 1.5})
    refused("places is 7; give it by place", fix="hook", places=7)
    grid = bar("quad")
    grid.point_data["heat"] = np.linspace(0, 90, grid.n_points)
    grid.cell_data["knot"] = np.ones(grid.n_cells)
    refused('Point array "heat" is not one of true and false', grid=grid, fix="heat")
    refused('"knot" is an array of the cells, not of the points', grid=grid, fix="knot")
    loose = pyvista.UnstructuredGrid(grid.cells, grid.celltypes, np.vstack([grid.points, [[99, 99, 0]]]))
    refused('"hook" names point 20, which no cell uses', grid=loose, fix="hook", places={"hook": [20]})


def test_what_holds():
    refused('"left" is fixed along \'z\'; give "x", "y", "xy", or "normal"', fix={"left": "z"})
    refused("fix is 3; give places", fix=3)
    refused('"A" has 1 points, but no whole side', fix={"A": "normal"}, places={"A": [0]})


def test_what_acts():
    refused("Nothing acts on the grid", force=None)
    refused("force.right is 5; give x and y", force={"right": 5})
    refused("force.right has 'much'|much", force={"right": (0, "much")})
    refused("force.right has nan", force={"right": (0, np.nan)})
    refused("pressure.top has", pressure={"top": [1, 2]})
    refused("traction is 5", traction=5)
    refused("kg.*force|force.*kg", force={"right": (0, "3 kg")})
    refused('Place "two" has 2 points, but no whole side', force={"two": (0, 1)}, places={"two": [0, 19]})
    refused('Place "A" has 1 points, but no whole side', traction={"A": (0, 1)}, places={"A": [0]})


def test_free_motion_says_which():
    with pytest.raises(fesolve.FreeMotionError, match=r"slide|move|turn"):
        solve(fix={"left": "x"})
    with pytest.raises(fesolve.FreeMotionError, match="turn"):
        solve(fix={"A": "xy"}, places={"A": [0]})
    with pytest.raises(fesolve.FreeMotionError):
        solve(fix=None)


# ---- questions


def test_questions_to_a_grid_without_a_solution():
    for ask in (lambda g: g.resultants((0, 0), (0, 1)), lambda g: g.reactions, lambda g: g.notes):
        with pytest.raises(fesolve.InputError, match="no solution behind this grid"):
            ask(bar("quad").fesolve)


def test_cuts():
    found = solve().fesolve
    with pytest.raises(fesolve.InputError, match="meets no wood"):
        found.resultants((99, 0), (99, 20))
    with pytest.raises(fesolve.InputError, match="give two different points"):
        found.resultants((10, 0), (10, 0))
    for a, b in ((1, 2), ((1, 2), "top"), ((1,), (2,))):
        with pytest.raises(fesolve.InputError, match="two points"):
            found.resultants(a, b)
