"""Pictures of a solved grid: what is on them, in a PNG and in a plotter."""

import numpy as np
import pytest
import pyvista
from grids import bar

import fesolve
from fesolve.mesh.convert import to_pyvista
from fesolve.on_grid.loops import patch, polygons, runs
from fesolve.on_grid.show import _shown
from fesolve.view.grid_picture import colour_map
from fesolve.view.ramp import colours
from meshes import W1, plate_with_hole, rectangle

ASH = {"wood": "Ash, white", "basis": "mean", "board": "flat-sawn", "thickness": 18}


@pytest.fixture(scope="module")
def solved():
    grid = bar("quad8", length=120.0, depth=40.0, columns=18, rows=6)
    grid.cell_data["fibres"] = np.where(grid.cell_centers().points[:, 0] < 60, 0.0, 15.0)
    return grid.fesolve.solve(
        **ASH,
        grain="fibres",
        fix={"left": "xy", "foot": "y"},
        force={"right": (0, -900)},
        pressure={"top": 0.1},
        places={"foot": lambda x, y: (y == 0) & (x > 60) & (x < 80)},
    )


def test_the_png_shows_wood_colours_and_paper(solved, tmp_path):
    from matplotlib.image import imread

    path = solved.fesolve.plot(tmp_path / "latch.png")
    image = imread(path)[..., :3]
    assert path == tmp_path / "latch.png" and image.shape[1] > 1300
    assert image[2, 2] == pytest.approx([0xFC / 255, 0xFA / 255, 0xF5 / 255], abs=0.01)  # the house's paper
    wood = colours(np.array([0.0, 0.2]))[:, :3]
    flat = image.reshape(-1, 3)
    assert all((np.abs(flat - tone).max(axis=1) < 0.05).sum() > 500 for tone in wood)
    other = solved.fesolve.plot(str(tmp_path / "us.png"), mode="tension along grain", units="us")
    assert not np.array_equal(imread(other)[..., :3], image)


def test_what_the_png_says(solved):
    behind = solved.fesolve._solved
    values = np.asarray(solved["utilisation_splitting"])
    shown = _shown(behind, values, "splitting")
    assert f"{values.max():.3g}" in shown.title and "worst mean over a length of fibres" in shown.second
    assert [row.name for row in shown.rows] == ["right", "top", "left", "foot"]
    assert [row.kind for row in shown.rows[2:]] == ["fixed", "roller"]
    assert shown.rows[0].force == pytest.approx((0, -900)) and shown.rows[1].force == pytest.approx(
        (0, -0.1 * 120 * 18)
    )
    total = np.sum([row.force for row in shown.rows], axis=0)
    assert total == pytest.approx([0, 0], abs=1e-6)
    assert sorted(piece.grain for piece in shown.pieces) == [0.0, 15.0]
    assert shown.values.max() == pytest.approx(values.max(), rel=0.05)
    assert "decides nothing" in _shown(behind, values, "shear along grain").second


def test_the_plotter_shows_the_same_field_in_the_same_colours(solved, monkeypatch):
    monkeypatch.setattr(pyvista, "OFF_SCREEN", True)
    plotter = solved.fesolve.plot(mode="combined")
    try:
        mapper = next(iter(plotter.actors.values())).mapper
        assert mapper.array_name == "utilisation_combined" and tuple(mapper.scalar_range) == (0.0, 2.0)
    finally:
        plotter.close()
    half = colour_map()(np.array([0.499, 0.5]))  # the hue changes at exactly 1 of 2
    assert np.abs(half[0] - half[1]).max() > 0.2


def test_refused_pictures(solved, tmp_path):
    with pytest.raises(fesolve.InputError, match=r"should end in \.png"):
        solved.fesolve.plot(tmp_path / "latch.svg")
    with pytest.raises(fesolve.InputError, match="Cannot write"):
        solved.fesolve.plot(tmp_path / "nowhere" / "latch.png")
    with pytest.raises(fesolve.InputError, match=r"no utilisation of 'rot'\. Modes: splitting, "):
        solved.fesolve.plot(mode="rot")
    with pytest.raises(fesolve.InputError, match='units is \'uk\'; give "si" or "us"'):
        solved.fesolve.plot(tmp_path / "latch.png", units="uk")
    bare = bar("quad").fesolve.solve(W1, 10, fix="left", force={"right": (0, -9)})
    with pytest.raises(fesolve.InputError, match=r"It has none at all: see grid\.fesolve\.notes"):
        bare.fesolve.plot()
    assert "no strengths" in bare.fesolve.notes[0]


def test_a_force_on_a_hole_acts_in_its_middle(tmp_path):
    grid = to_pyvista(plate_with_hole("quad8", per_quarter=8, rings=6, center=(50, 60)))
    solved = grid.fesolve.solve(
        **ASH, fix="left", force={"bore": (0, -900)}, places={"bore": lambda x, y: np.hypot(x - 50, y - 60) < 10.01}
    )
    row = _shown(solved.fesolve._solved, np.asarray(solved["utilisation_splitting"]), "splitting").rows[0]
    assert row.at == pytest.approx((50, 60)) and row.patch[0] == row.patch[-1]
    assert solved.fesolve.plot(tmp_path / "bore.png").exists()


def test_cells_that_are_bent_too_much_are_solved_and_not_judged():
    x = [0, 10, 10, 0, 5, 7, 5, 3]  # both sides bulge inwards so far that neither half of the cell stands alone
    y = [0, 0, 10, 10, 0, 5, 10, 5]
    grid = pyvista.UnstructuredGrid([8, *range(8)], [23], np.column_stack([x, y, np.zeros(8)]).astype(float))
    ash = fesolve.make_wood(species="Ash, white", face="flat-sawn", basis="mean")
    places = {"low": lambda x, y: y == 0, "high": lambda x, y: y == 10}
    found = grid.fesolve.solve(ash, 10, fix="low", force={"high": (0, -9)}, places=places)
    assert "utilisation_splitting" not in found.point_data and "stress_xy" in found.point_data
    assert "bent too much to look for splits" in found.fesolve.notes[0]


def test_loops_of_an_edge_and_runs_of_sides():
    mesh = plate_with_hole("quad8", per_quarter=4, rings=3)
    outer, hole = polygons(mesh)
    assert len(outer) == len(hole) == 2 * 16
    assert np.linalg.norm(hole, axis=1) == pytest.approx(10.0)
    area = [0.5 * float(np.sum(p[:, 0] * np.roll(p[:, 1], -1) - np.roll(p[:, 0], -1) * p[:, 1])) for p in (outer, hole)]
    # the wood on the left: the outer edge counter-clockwise; a regular 32-gon has n r^2 sin(2π/n)/2 of area
    assert area[0] == pytest.approx(80.0**2) and area[1] == pytest.approx(-16 * 100 * np.sin(np.pi / 16))
    bottom = rectangle("triangle").edges["bottom"]
    mixed = np.concatenate([bottom[[2, 0]], bottom[[3]]])  # one side is missing: two runs
    assert sorted(len(run) for run in runs(mixed)) == [1, 2]
    assert patch(rectangle("triangle"), mixed).tolist() == [[20, 0], [30, 0], [40, 0]]
    assert runs(bottom[:0]) == [] and patch(rectangle("triangle"), bottom[:0]).shape == (0, 2)
