"""The verdict on a grid: that of the part which it was made from, and what it cannot be had for."""

import numpy as np
import pytest
from grids import bar, middles

import fesolve
from fesolve.mesh.convert import to_pyvista
from meshes import W1, plate_with_hole

ASH = {"wood": "Ash, white", "basis": "mean", "board": "flat-sawn", "thickness": 18}
LOAD = {"fix": "left", "force": {"right": (0, -900)}}


def long_bar(**more):
    return bar("quad8", length=120.0, depth=40.0, columns=24, rows=8, **more)


@pytest.fixture(scope="module")
def shelf():
    """A notched shelf, clamped and pushed up: the verdict of a part, and the mesh it was found on."""
    part = fesolve.part_from({
        "title": "notched shelf",
        "wood": {"species": "Ash, white", "board": "flat-sawn", "thickness": "18 mm", "grain": "5 deg",
                 "basis": "mean"},
        "outline": {"corners": [{"at": ["0 mm", "0 mm"]}, {"at": ["200 mm", "0 mm"]}, {"at": ["200 mm", "40 mm"]},
                                {"at": ["120 mm", "40 mm"]}, {"at": ["120 mm", "60 mm"]}, {"at": ["0 mm", "60 mm"]}]},
        "support": [{"name": "left", "kind": "fixed", "on": "edge F-A"}],
        "load": [{"name": "right", "on": "edge B-C", "force": ["0 N", "800 N"]}],
    })  # fmt: skip
    return fesolve.check(part, sure=False)


@pytest.mark.parametrize("inches", [False, True])
def test_the_verdict_is_that_of_the_part_whose_mesh_it_is(shelf, inches):
    grid = to_pyvista(shelf.mesh)
    unit = {"length_unit": "in", "thickness": 18 / 25.4} if inches else {}
    if inches:
        grid = grid.scale(1 / 25.4, inplace=False)
    solved = grid.fesolve.solve(**{**ASH, **unit}, grain=5, fix="left", force={"right": (0, 800)})
    found, wanted = solved.fesolve.check(sure=False, title="shelf").verdict, shelf.verdict
    assert found.part.title == "shelf"
    assert found.governing.mode == wanted.governing.mode
    assert found.governing.at == pytest.approx(wanted.governing.at, abs=0.1)
    takes = (found.takes.low, found.takes.best, found.takes.high)
    assert takes == pytest.approx((wanted.takes.low, wanted.takes.best, wanted.takes.high), rel=1e-3)
    assert found.takes.of == "right" and found.takes.quantity == "force"
    assert found.hotspots[0].path[0] == pytest.approx(wanted.hotspots[0].path[0], abs=0.2)
    assert found.reactions[0].force == pytest.approx(wanted.reactions[0].force, rel=1e-6, abs=1e-3)
    assert found.hand_summary.load == pytest.approx(wanted.hand_summary.load, rel=1e-3)
    assert "used as it was given" in found.mesh.stopped or not found.mesh.stopped


def test_it_saves_a_results_folder(shelf, tmp_path):
    solved = long_bar().fesolve.solve(**ASH, **LOAD)
    result = solved.fesolve.check(sure=False)
    assert result.save(tmp_path / "out") == []
    assert {"verdict.json", "field.vtu", "hotspots.png", "member.png"} <= {
        path.name for path in (tmp_path / "out").iterdir()
    }
    # V Q/(I t) of 900 N on 18 by 40 mm is 1.5 V/A (any text on beams)
    assert all(abs(row.tau_vqit) == pytest.approx(1.5 * 900 / (18 * 40), rel=5e-3) for row in result.verdict.hand)


def test_regions_of_thickness_grain_and_wood():
    grid = long_bar()
    left = middles(grid)[:, 0] < 60
    grid.cell_data["t"], grid.cell_data["g"] = np.where(left, 18.0, 24.0), np.where(left, 0.0, 10.0)
    grid.cell_data["w"] = np.where(left, "Ash, white", "Spruce, Sitka")
    solved = grid.fesolve.solve("w", "t", "g", basis="mean", board="flat-sawn", **LOAD)
    result = solved.fesolve.check(sure=False)
    rows = {(row.thickness, row.grain, row.wood) for row in result.verdict.regions}
    assert rows == {(18.0, 0.0, "Ash, white"), (24.0, 10.0, "Spruce, Sitka")}
    worst = np.nanmax(solved["utilisation_splitting"])
    split = next(row for row in result.verdict.modes if row.mode == "splitting")
    assert split.utilisation == pytest.approx(worst, rel=0.05)


def test_ways_to_hold_and_load_go_over():
    """Of six-node triangles the model is the same: so are all forces."""
    grid = bar("triangle6", length=120.0, depth=40.0, columns=24, rows=8)
    solved = grid.fesolve.solve(
        **ASH,
        fix={"left": "normal", "foot": "y", "end": ("y",)},
        traction={"top": ("0.1 MPa", -0.2)},
        pressure={"right": 0.3},
        force={"tip": (0, -5)},
        places={"foot": lambda x, y: (y == 0) & (x < 20), "end": lambda x, y: (y == 0) & (x > 110),
                "tip": lambda x, y: (x > 119.9) & (y > 39.9)},
    )  # fmt: skip
    rows = solved.fesolve.check(sure=False).verdict.reactions
    found = {row.name: row.force for row in rows}
    for name, force in solved.fesolve.reactions.items():
        assert found[name] == pytest.approx(tuple(force), rel=1e-6, abs=1e-4), name


def test_a_force_on_a_hole_is_a_pin_s_pressure_as_in_solve():
    grid = to_pyvista(plate_with_hole("quad8", per_quarter=6, rings=6))
    solved = grid.fesolve.solve(
        **ASH, fix="left", force={"bore": (500, 0)}, places={"bore": lambda x, y: x * x + y * y < 10.01**2}
    )
    verdict = solved.fesolve.check(sure=False).verdict
    assert verdict.loads[0].force == pytest.approx((500, 0), rel=1e-3)
    assert verdict.loads[0].on == "hole bore"
    split = next(row for row in verdict.modes if row.mode == "splitting")
    assert split.utilisation == pytest.approx(solved["utilisation_splitting"].max(), rel=0.05)


def test_own_woods():
    """A wood put together by hand, on the mean basis, is judged as it is."""
    strength = {"shear": 9, "tension_across": 3, "compression_across": 6, "tension_along": 90, "compression_along": 45}
    elastic = {"E_0": 11_000, "E_90": 700, "G": 800, "nu_0_90": 0.4}
    wood = fesolve.make_wood(
        elastic=elastic, strength=strength, basis="mean", fracture={"G_Ic": (0.2, 0.4), "G_IIc": (0.6, 1.0)}
    )
    solved = long_bar().fesolve.solve(wood, 18, **LOAD)
    split = next(row for row in solved.fesolve.check(sure=False).verdict.modes if row.mode == "splitting")
    assert split.utilisation == pytest.approx(solved["utilisation_splitting"].max(), rel=0.05)
    known = fesolve.make_wood(species="Ash, white", face="quarter-sawn", basis="lower 5%")
    assert long_bar().fesolve.solve(known, 18, **LOAD).fesolve.check(sure=False).verdict.wood == "Ash, white"


def test_what_no_verdict_can_be_had_for():
    def refused(match, wood, **more):
        solved = long_bar().fesolve.solve(wood, 18, **{**LOAD, **more})
        with pytest.raises(fesolve.InputError, match=match):
            solved.fesolve.check(sure=False)

    ash = fesolve.make_wood(species="Ash, white", face="flat-sawn", basis="mean")
    refused("needs strengths, and this wood has elastic constants alone", W1)
    refused("more than 24 directions", ash, grain=np.linspace(0, 40, 192))
    graded = fesolve.make_wood(strength_class="C24", species="Spruce, Sitka", face="flat-sawn", basis="lower 5%")
    refused(r"is a grade or class.*\[mesh\] file", graded)
    refused('Place "two" is 2 single points', ash, fix={"left": "xy", "two": "y"}, places={"two": [0, 24]})
    refused('"inside" does not lie on the edge', ash, force={"inside": (0, -1)}, places={"inside": [30]})
    with pytest.raises(fesolve.InputError, match="no solution behind this grid for a verdict"):
        long_bar().fesolve.check()
