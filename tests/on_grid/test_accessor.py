"""The accessor against closed forms, and against the model that it is made of."""

import dataclasses

import numpy as np
import pytest
import pyvista
from grids import ALL_ROUND, bar, middles, mixed_grid, uniform

import fesolve
from fesolve.mesh.convert import to_pyvista
from meshes import KINDS, W1, plate_with_hole, rectangle

ASH = {"wood": "Ash, white", "basis": "mean", "board": "flat-sawn"}


# ---- the patch test: a uniform stress is met exactly (any text on finite elements)


@pytest.mark.parametrize("grain", [0, 30])
@pytest.mark.parametrize("stress", [(1, 0, 0), (0, 1, 0), (0, 0, 1), (2.0, -1.0, 0.5)])
@pytest.mark.parametrize("kind", KINDS)
def test_a_uniform_stress_is_met_on_a_distorted_grid(kind, stress, grain):
    grid = bar(kind, distort=0.3, seed=3)
    found = uniform(grid, stress, W1, grain=grain)
    assert found["stress_xy"] == pytest.approx(np.broadcast_to(stress, (found.n_points, 3)), abs=1e-9)
    strain = W1.compliance_xy(grain) @ stress
    x, y = found.points[:, 0], found.points[:, 1]
    moved = found["displacement"]
    # A stays and B keeps to y = 0, so that nothing turns: u = ε_x x + γ_xy y, v = ε_y y
    assert moved[:, 0] == pytest.approx(strain[0] * x + strain[2] * y, abs=1e-10)
    assert moved[:, 1] == pytest.approx(strain[1] * y, abs=1e-10)


def test_a_uniform_stress_is_met_where_kinds_are_mixed_and_cells_turn_clockwise():
    grid = mixed_grid()
    grid.cell_data["mine"] = np.arange(grid.n_cells)
    found = uniform(grid, (2.0, -1.0, 0.5), W1, grain=20)
    assert found["stress_xy"] == pytest.approx(np.broadcast_to([2.0, -1.0, 0.5], (found.n_points, 3)), abs=1e-9)
    assert found.celltypes.tolist() == grid.celltypes.tolist()
    assert found["mine"].tolist() == list(range(grid.n_cells))
    assert middles(found) == pytest.approx(middles(grid))


# ---- closed forms


@pytest.mark.parametrize(("kind", "miss"), [("triangle6", 2e-3), ("quad8", 2e-3), ("quad", 1e-2)])
def test_a_cantilever_sinks_as_timoshenko_s_beam(kind, miss):
    """Tip of a cantilever: F L^3/(3 E I) + 6 F L/(5 G A) (S. Timoshenko, Strength of Materials I, shear factor 6/5)."""
    grid = bar(kind, length=400.0, depth=20.0, columns=80, rows=6)
    found = grid.fesolve.solve(W1, thickness=10, fix="left", force={"right": (0, -50)})
    area, inertia = 10 * 20, 10 * 20**3 / 12
    sinks = 50 * 400**3 / (3 * W1.E_0 * inertia) + 1.2 * 50 * 400 / (W1.G * area)
    tip = found["displacement"][found.points[:, 0] > 399.999, 1].mean()
    assert -tip == pytest.approx(sinks, rel=miss)
    for x in (3.3, 200, 287.1):
        assert found.fesolve.resultants((x, 0), (x, 20)) == pytest.approx((0, -50, 50 * (400 - x)), abs=1e-4)


@pytest.mark.parametrize("kind", ["triangle6", "quad8"])
def test_the_peak_at_a_hole_is_kirsch_s(kind):
    """A small hole in a wide isotropic plate: 3 times the pull beside it, -1 times before it (G. Kirsch, 1898)."""
    steel = {"E_0": 1000, "E_90": 1000, "G": 1000 / 2.6, "nu_0_90": 0.3}
    grid = to_pyvista(plate_with_hole(kind, radius=5, half=200, per_quarter=24, rings=30))
    found = uniform(grid, (1, 0, 0), steel)
    pull, across = found["stress_xy"][:, 0], found["stress_xy"][:, 1]
    assert pull.max() == pytest.approx(3.0, rel=0.01) and across.min() == pytest.approx(-1.0, rel=0.01)
    assert np.abs(found.points[int(pull.argmax()), :2]) == pytest.approx([0, 5], abs=1e-6)


# ---- the same as the model


def test_it_is_the_model_with_names():
    mesh = rectangle("quad8", distort=0.2)
    model = fesolve.PlaneModel(mesh, W1, thickness=38, grain=15)
    solution = model.fix("left").force("right", (100.0, -30.0)).pressure("top", 0.2).solve()
    found = to_pyvista(mesh).fesolve.solve(
        W1, thickness=38, grain=15, fix={"left": "xy"}, force={"right": (100, -30)}, pressure={"top": 0.2}
    )
    assert found["displacement"][:, :2] == pytest.approx(solution.displacement, abs=1e-12)
    assert found["stress_grain"] == pytest.approx(solution.stress_grain, abs=1e-9)
    assert found.fesolve.reactions["left"] == pytest.approx(solution.reactions["left"])


def test_it_judges_as_a_part_is_judged():
    """The fields of `check` on its own mesh, from that mesh alone: a notched shelf, clamped and loaded."""
    part = fesolve.part_from({
        "title": "notched shelf",
        "wood": {"species": "Ash, white", "board": "flat-sawn", "thickness": "18 mm", "grain": "5 deg",
                 "basis": "mean"},
        "outline": {"corners": [{"at": ["0 mm", "0 mm"]}, {"at": ["200 mm", "0 mm"]}, {"at": ["200 mm", "40 mm"]},
                                {"at": ["120 mm", "40 mm"]}, {"at": ["120 mm", "60 mm"]}, {"at": ["0 mm", "60 mm"]}]},
        "support": [{"name": "wall", "kind": "fixed", "on": "edge F-A"}],
        "load": [{"name": "push", "on": "edge B-C", "force": ["0 N", "800 N"]}],
    })  # fmt: skip
    result = fesolve.check(part, sure=False)
    found = to_pyvista(result.mesh).fesolve.solve(**ASH, thickness=18, grain=5, fix="left", force={"right": (0, 800)})
    assert found["stress_grain"] == pytest.approx(result.solution.stress_grain[0], abs=1e-6)
    (fields,) = result.utilisation.values()
    for mode, wanted in fields.items():
        array = found[f"utilisation_{mode.replace(' ', '_')}"]
        assert array == pytest.approx(wanted, abs=2e-3 * wanted.max()), mode
    assert {name for name in found.point_data if name.startswith("utilisation_")} == {
        f"utilisation_{mode.replace(' ', '_')}" for mode in fields
    }


@pytest.mark.parametrize("kind", ["triangle", "quad", "quad8"])
def test_every_kind_of_cell_is_judged_alike(kind):
    """A short cantilever: the worst mean of six-node triangles, on cells of other kinds."""

    def worst(one, columns, rows):
        grid = bar(one, length=120.0, depth=40.0, columns=columns, rows=rows)
        return grid.fesolve.solve(**ASH, thickness=20, fix="left", force={"right": (0, -3000)})["utilisation_splitting"]

    wanted = worst("triangle6", 36, 12)
    found = worst(kind, *((72, 24) if kind != "quad8" else (36, 12)))
    assert found.max() == pytest.approx(wanted.max(), rel=0.03)


# ---- what differs from cell to cell


def test_thickness_of_cells_by_name_and_as_an_array():
    grid = bar("quad8")
    grid.cell_data["plank"] = np.where(middles(grid)[:, 0] < 20, 10.0, 20.0)
    for given in ("plank", grid.cell_data["plank"], list(grid.cell_data["plank"])):
        found = grid.fesolve.solve(
            W1, thickness=given, fix={"left": "normal", "bottom": "normal"}, force={"right": (100, 0)}
        )
        pull = found["stress_xy"][:, 0]
        assert pull[found.points[:, 0] < 1].mean() == pytest.approx(100 / 200, rel=0.02)
        assert pull[found.points[:, 0] > 39].mean() == pytest.approx(100 / 400, rel=0.02)
        assert pytest.approx(100, abs=1e-6) == found.fesolve.resultants((20, 0), (20, 20)).N
        assert found["fesolve_thickness"].tolist() == grid["plank"].tolist()
        assert found.n_points > grid.n_points  # points repeat where the thickness steps


def test_grain_of_cells_as_angles_and_as_vectors():
    """Two pieces in a row under σ grow by σ (L_1/E_0 + L_2/E_90) along the middle, where nothing holds them across."""
    plane = fesolve.OrthotropicPlane(E_0=12_000, E_90=600, G=780, nu_0_90=0.0)  # else they would hold one another
    grid = bar("quad8")
    first = middles(grid)[:, 0] < 20
    grid.cell_data["fibres"] = np.where(first, 0.0, 90.0)
    grid.cell_data["ways"] = np.where(first[:, None], [[2.0, 0.0, 0.0]], [[0.0, -1.0, 0.0]])
    for name in ("fibres", "ways"):
        found = grid.fesolve.solve(
            plane, thickness=10, grain=name, fix={"left": "normal", "bottom": "normal"}, traction={"right": (6, 0)}
        )
        right = found.points[:, 0] > 39.999
        assert found["displacement"][right, 0] == pytest.approx(6 * (20 / 12_000 + 20 / 600), rel=1e-9)
        along, across = found["stress_grain"][:, 0], found["stress_grain"][:, 1]
        assert (along + across) == pytest.approx(6.0) and set(along.round(6)) == {0.0, 6.0}


def test_grain_that_changes_steadily_has_stress_in_its_own_axes():
    """Under a uniform σ_x the stress along fibres at θ is σ cos²θ; splits along bent fibres are left out and said."""
    grid = bar("quad8", columns=30, rows=2)
    grid.cell_data["fibres"] = 0.5 * middles(grid)[:, 0]
    steady = {"E_0": 1000, "E_90": 1000, "G": 500, "nu_0_90": 0.0}  # the same in all directions
    found = uniform(grid, (1, 0, 0), steady, grain="fibres")
    angle = np.radians(0.5 * found.points[:, 0])
    inner = (found.points[:, 0] > 1) & (found.points[:, 0] < 39)
    assert found["stress_grain"][inner, 0] == pytest.approx(np.cos(angle[inner]) ** 2, abs=2e-3)
    judged = uniform(
        grid, (1, 0, 0), fesolve.make_wood(species="Ash, white", face="flat-sawn", basis="mean"), grain="fibres"
    )
    assert "utilisation_splitting" not in judged.point_data
    assert "24 directions" in judged.fesolve.notes[0]


def test_wood_of_cells_by_name_from_the_tables_and_the_caller_s_own():
    grid = bar("triangle6", rows=4)
    low = middles(grid)[:, 1] < 10
    grid.cell_data["wood"] = np.where(low, "Ash, white", "mine")
    common = {"basis": "mean", "board": "flat-sawn", "thickness": 10, "fix": "left", "force": {"right": (0, -100)}}
    found = grid.fesolve.solve("wood", woods={"mine": W1}, **common)
    upper = found.points[:, 1] > 10.001
    assert np.isnan(found["utilisation_splitting"][upper]).all()  # no strengths are known there
    assert (found["utilisation_splitting"][found.points[:, 1] < 9.999] >= 0).all()
    numbered = grid.fesolve.solve(np.where(low, 1, 2), woods={1: "Ash, white", 2: W1}, **common)
    assert numbered["stress_xy"] == pytest.approx(found["stress_xy"])
    same = grid.fesolve.solve(np.where(low, "Ash, white", "ash, WHITE"), **common)
    assert same["displacement"].shape[1] == 3


# ---- grids as they come


def test_the_grid_stays_and_its_arrays_go_over():
    grid = pyvista.Plane(center=(50, 20, 3), i_size=100, j_size=40, i_resolution=20, j_resolution=8)
    grid.cell_data["knots"] = np.arange(grid.n_cells)
    grid.point_data["paint"] = np.arange(grid.n_points)
    grid.field_data["label"] = ["shelf"]
    before = grid.copy()
    found = grid.fesolve.solve(**ASH, thickness="18 mm", fix="left", force={"right": ("0 N", "-0.4 kN")})
    assert grid == before
    assert found["knots"].tolist() == grid["knots"].tolist() and found["label"][0] == "shelf"
    assert found["paint"].tolist() == list(range(grid.n_points))
    assert np.asarray(found.points) == pytest.approx(np.asarray(grid.points, dtype=float))  # z = 3 as well
    assert found.fesolve.reactions["left"] == pytest.approx([0, 400], abs=1e-6)


def test_lines_vertices_and_pixels():
    image = pyvista.ImageData(dimensions=(11, 5, 1), spacing=(10, 10, 1))
    found = image.fesolve.solve(W1, thickness=10, fix="left", force={"right": (100, 0)})
    assert set(found.celltypes) == {9}
    points = np.asarray(image.points, dtype=float)
    flat = np.concatenate(
        [[2, 0, 1, 1, 0], np.insert(image.cast_to_unstructured_grid().cells.reshape(-1, 5)[:, 1:], 0, 4, 1).ravel()]
    )
    kinds = [3, 1] + [8] * image.n_cells
    grid = pyvista.UnstructuredGrid(flat, kinds, np.vstack([points, [[5, 5, 0]]]))
    grid.cell_data["t"] = np.r_[99.0, 99.0, np.full(image.n_cells, 10.0)]
    again = grid.fesolve.solve(W1, thickness="t", fix="left", force={"right": (100, 0)})
    assert again.n_cells == image.n_cells and again.n_points == image.n_points
    assert again["displacement"] == pytest.approx(found["displacement"])


def test_units_of_length():
    grid = bar("quad8")
    small = grid.scale((1e-3, 1e-3, 1.0), inplace=False)
    wanted = grid.fesolve.solve(**ASH, thickness=18, fix="left", force={"right": (0, -100)})
    for thickness in (0.018, "18 mm"):
        found = small.fesolve.solve(**ASH, thickness=thickness, fix="left", force={"right": (0, -100)}, length_unit="m")
        assert 1e3 * found["displacement"] == pytest.approx(wanted["displacement"], rel=1e-6, abs=1e-9)
        assert found["stress_xy"] == pytest.approx(wanted["stress_xy"], rel=1e-6, abs=1e-6)
        cut = found.fesolve.resultants((0.02, 0), (0.02, 0.02))
        assert cut == pytest.approx(wanted.fesolve.resultants((20, 0), (20, 20)), rel=1e-5, abs=1e-5)


def test_ways_to_say_where():
    grid = bar("triangle6", length=120.0)
    left = np.flatnonzero(grid.points[:, 0] == 0)
    grid.point_data["held"] = grid.points[:, 0] == 0
    ways = [
        {"fix": "left"},
        {"fix": ["left"]},
        {"fix": {"left": ("x", "y")}},
        {"fix": "held"},
        {"fix": "wall", "places": {"wall": left}},
        {"fix": "wall", "places": {"wall": left.tolist()}},
        {"fix": "wall", "places": {"wall": grid["held"].astype(bool)}},
        {"fix": "wall", "places": {"wall": "held"}},
        {"fix": "wall", "places": {"wall": lambda x, y: x < 0.1}},
    ]
    moved = [grid.fesolve.solve(W1, 10, force={"right": (0, -9)}, **way)["displacement"] for way in ways]
    assert all(np.array_equal(one, moved[0]) for one in moved)


def test_a_force_on_one_point_and_loads_of_two_kinds_on_one_place():
    grid = bar("quad", length=120.0, columns=24)
    tip = {"tip": lambda x, y: (x > 119.9) & (y > 19.9)}
    found = grid.fesolve.solve(
        W1, 10, fix="left", force={"tip": (0, -9), "top": (5, 0)}, pressure={"top": 0.01}, places=tip
    )
    assert found.fesolve.reactions["left"] == pytest.approx([-5, 9 + 0.01 * 120 * 10])


@pytest.mark.parametrize("kind", ["quad8", "triangle"])
def test_a_force_on_a_round_hole_is_a_pin_s_pressure(kind):
    """Radial pressure p cos θ on the pushed half; its sum is F if p = 2 F/(π r t): ∫ p cos² θ r t dθ = p π r t/2.

    That it goes as the cosine is common practice, no source.
    """
    mesh = plate_with_hole(kind, radius=10, half=40, per_quarter=16, rings=16)
    rim = {"bore": lambda x, y: x * x + y * y < 10.01**2}
    found = to_pyvista(mesh).fesolve.solve(W1, 20, fix="left", force={"bore": (3000, 0)}, places=rim)
    model = fesolve.PlaneModel(mesh, W1, thickness=20, grain=0).bearing("hole", (3000.0, 0.0))
    nodes = np.flatnonzero(mesh.points[:, 0] < -39.999)
    wanted = dataclasses.replace(model, mesh=dataclasses.replace(mesh, point_sets={"left": nodes})).fix("left").solve()
    assert found["displacement"][:, :2] == pytest.approx(wanted.displacement, abs=1e-12)
    assert found.fesolve.reactions["left"] == pytest.approx([-3000, 0], abs=1e-6)
    if kind == "quad8":
        at = int(np.argmin(np.linalg.norm(found.points - (10, 0, 0), axis=1)))
        assert found["stress_xy"][at, 0] == pytest.approx(-2 * 3000 / (np.pi * 10 * 20), rel=0.03)


def test_slits_are_met_on_purpose_only():
    one, other = bar("quad"), bar("quad").translate((40, 0, 0), inplace=False)
    grid = one.merge(other, merge_points=False)
    load = {"fix": "left", "force": {"right": (1, 0)}}
    with pytest.raises(fesolve.InputError, match=r"points lie on other points.*grid.clean\(\)"):
        grid.fesolve.solve(W1, 10, **load)
    with pytest.raises(fesolve.InputError, match=r"2 pieces that share no points; point 20 at \(40, 0\).*split_bodies"):
        grid.fesolve.solve(W1, 10, slits=True, **load)
    slit = bar("quad")
    cells = slit.cells.reshape(-1, 5).copy()
    middle = slit.n_points
    cells[2, 1:][cells[2, 1:] == 2] = middle  # the cell right of (20, 0) gets a point of its own there
    opened = pyvista.UnstructuredGrid(cells.ravel(), slit.celltypes, np.vstack([slit.points, slit.points[2]]))
    with pytest.raises(fesolve.InputError, match="points lie on other points"):
        opened.fesolve.solve(W1, 10, **load)
    pull = opened.fesolve.solve(W1, 10, slits=True, **load)
    assert pull["displacement"][:, 0].max() > slit.fesolve.solve(W1, 10, **load)["displacement"][:, 0].max()
    assert grid.clean().fesolve.solve(W1, 10, **load).n_cells == grid.n_cells


def test_solving_again_from_a_solved_grid():
    grid = bar("quad8")
    once = grid.fesolve.solve(W1, 10, fix="left", force={"right": (0, -9)})
    twice = once.fesolve.solve(W1, 10, fix="left", force={"right": (0, -9)})
    assert twice["displacement"] == pytest.approx(once["displacement"])
    assert set(twice.array_names) == set(once.array_names)
    assert set(ALL_ROUND).isdisjoint(twice.array_names)


def test_several_grids_keep_their_own_solutions():
    grid = bar("quad8")
    one = grid.fesolve.solve(W1, 10, fix="left", force={"right": (0, -9)})
    two = grid.fesolve.solve(W1, 10, fix="left", force={"right": (0, -18)})
    assert one.fesolve.reactions["left"] == pytest.approx([0, 9], abs=1e-9)
    assert two.fesolve.reactions["left"] == pytest.approx([0, 18], abs=1e-9)
    with pytest.raises(fesolve.InputError, match="no solution behind this grid"):
        _ = one.copy().fesolve.reactions


def test_a_place_is_its_whole_sides_and_the_rest_is_told():
    grid = bar("quad", length=120.0, columns=24)
    load = {"force": {"right": (0, -9)}}
    edge = grid.fesolve.solve(W1, 10, fix="left", **load)
    band = grid.fesolve.solve(
        W1, 10, fix="wall", places={"wall": lambda x, y: (x < 1) | (x < 6) & (y > 1) & (y < 19)}, **load
    )
    assert np.array_equal(edge["displacement"], band["displacement"])
    assert band.fesolve.notes[0].startswith('Place "wall": 2 of its points lie on no whole side')
    assert not any("Place" in note for note in edge.fesolve.notes)


def test_the_middle_point_of_half_a_side_does_not_count():
    grid = bar("quad8", length=120.0, columns=24)  # sides of 5 mm, with points in their middles
    held = {"fix": {"left": "x", "foot": "y"}, "force": {"right": (0, -9)}}
    one = grid.fesolve.solve(W1, 10, **held, places={"foot": lambda x, y: (y == 0) & (x < 10)})
    other = grid.fesolve.solve(W1, 10, **held, places={"foot": lambda x, y: (y == 0) & (x < 5.1)})
    assert np.array_equal(one["displacement"], other["displacement"])
