"""A mesh that others made leads to the verdict of the part that it was drawn from."""

import importlib.util
from pathlib import Path

import meshio
import numpy as np
import pytest

import fesolve
from fesolve.analysis import check
from fesolve.cli import main
from fesolve.errors import InputError
from fesolve.mesh.foreign import foreign_of
from fesolve.part.read import part_from, read_part

ROOT = Path(__file__).parents[1]
_spec = importlib.util.spec_from_file_location("foreign_meshes", ROOT / "tests" / "mesh" / "foreign_meshes.py")
draw = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(draw)
WOOD = {"species": "Ash, white", "board": "flat-sawn", "thickness": "18 mm", "basis": "mean"}


@pytest.fixture(scope="module")
def drawn():
    """The drawbar of the part file, judged on a mesh of its own."""
    return check(
        read_part(ROOT / "meshes" / "drawbar.toml", {"mesh_accuracy": "0.3 %"}), sure=False, splits=False
    ).verdict


def on_mesh(path, **changes):
    return read_part(ROOT / "meshes" / "drawbar_mesh.toml", {"mesh.file": str(path), **changes})


def assert_same(verdict, drawn):
    """Mode, place and load, within what both meshes leave, estimated, and the way of the hot spot along the round."""
    errors = verdict.mesh.relative_error + drawn.mesh.relative_error
    assert errors < 0.02
    one, other = verdict.governing, drawn.governing
    assert (one.mode, one.case) == (other.mode, other.case) == ("splitting", "all loads together")
    assert np.hypot(*np.subtract(one.at, other.at)) < 1.0
    assert one.utilisation == pytest.approx(other.utilisation, rel=errors)
    for name in ("low", "best", "high"):
        assert getattr(verdict.takes, name) == pytest.approx(getattr(drawn.takes, name), rel=errors)
    ours, theirs = ({(r.name): r.force for r in v.reactions} for v in (verdict, drawn))
    for name, force in ours.items():
        assert force == pytest.approx(theirs[name], rel=2e-3, abs=2.0)


@pytest.mark.parametrize(
    ("version", "order", "quads"), [(2.2, 1, False), (4.1, 2, False), (4.1, 1, True), (4.1, 2, True)]
)
def test_gmsh(tmp_path, drawn, version, order, quads):
    draw.drawbar(tmp_path / "bar.msh", size=14, fine=1.0, version=version, order=order, quads=quads)
    verdict = check(on_mesh(tmp_path / "bar.msh"), sure=False, splits=False).verdict
    assert_same(verdict, drawn)
    assert verdict.mesh.file.endswith("bar.msh") and len(verdict.mesh.sha256) == 64 and verdict.mesh.rounds == 1


@pytest.mark.parametrize("kind", ["vtu", "xdmf"])
def test_vtu_and_xdmf(tmp_path, drawn, kind):
    """As gmsh's own numbers of groups, and with the coordinates in metres."""
    one = meshio.gmsh.read(str(ROOT / "meshes" / "drawbar.msh"))
    numbers = {"post": 2, "gate leaf": 3, "keeper": 4}
    cells = [block for block in one.cells if block.type != "vertex"]
    tags = [tag for block, tag in zip(one.cells, one.cell_data["gmsh:physical"], strict=True) if block.type != "vertex"]
    at_end = (np.hypot(*(one.points[:, :2] - (640, 80)).T) < 1e-6).astype(np.int32)
    data = {"cell_data": {"group": tags}, "point_data": {"end": at_end}}
    meshio.Mesh(one.points / 1000, cells, **data).write(tmp_path / f"bar.{kind}")
    changes = {f"support.{name}.on": f"edge group {numbers[name]}" for name in ("post", "keeper")}
    changes |= {"load.gate leaf.on": "edge group 3", "mesh.unit": "m"}
    assert_same(check(on_mesh(tmp_path / f"bar.{kind}", **changes), sure=False, splits=False).verdict, drawn)


def test_the_example_is_the_drawbar(drawn):
    result = check(read_part(ROOT / "meshes" / "drawbar_mesh.toml"), sure=False, splits=False)
    assert_same(result.verdict, drawn)
    assert (ROOT / "meshes" / "drawbar.msh").stat().st_size < 300_000
    assert any("Its notches and rounds are part of its outline" in note for note in result.verdict.mesh.notes)
    again = check(result.part.with_(push="7 kN"), sure=False, like=result)
    assert again.mesh is result.mesh  # nothing is drawn otherwise
    ratio = again.verdict.governing.utilisation / result.verdict.governing.utilisation
    assert ratio == pytest.approx(7 / 6, rel=1e-9)


def test_a_pin_stands_in_a_hole_of_a_mesh(tmp_path):
    """The plank under a pile of logs: its hole is round in the mesh, and a pin of its size bears in it."""
    draw.pile_stop(tmp_path / "stop.msh")
    own = check(read_part(ROOT / "meshes" / "pile_stop.toml"), sure=False, splits=False).verdict
    document = {
        "wood": {"species": "Douglas-fir, coast", "board": "flat-sawn", "thickness": "38 mm", "basis": "mean"},
        "mesh": {"file": "stop.msh", "unit": "mm"},
        "support": [
            {"name": "pivot pin", "kind": "pin", "on": "hole pivot", "pin": "25 mm"},
            {"name": "cross-beam", "kind": "rest", "on": "edge cross-beam"},
        ],
        "load": [{"name": "log", "on": "edge log", "force": ["0 N", "-10 kN"]}],
    }
    verdict = check(part_from(document, file=str(tmp_path / "stop.toml")), sure=False, splits=False).verdict
    errors = verdict.mesh.relative_error + own.mesh.relative_error
    assert errors < 0.015
    assert verdict.governing.mode == own.governing.mode == "splitting"
    assert np.hypot(*np.subtract(verdict.governing.at, own.governing.at)) < 1.0
    assert verdict.governing.utilisation == pytest.approx(own.governing.utilisation, rel=errors)
    assert verdict.takes.low == pytest.approx(own.takes.low, rel=errors)
    with pytest.raises(InputError, match='a pin of 26 mm does not go into hole "pivot" of 25 mm'):
        document["support"][0]["pin"] = "26 mm"
        check(part_from(document, file=str(tmp_path / "stop.toml")))


def test_a_load_that_may_sit_anywhere_and_one_between_nodes(tmp_path):
    """What moves is looked at on meshes made within the same shape, and judged on the mesh that was given."""
    draw.drawbar(tmp_path / "bar.msh", size=12, fine=2)
    changes = {
        "load.gate leaf.on": "edge D-E",
        "load.gate leaf.width": "20 mm",
        "load.gate leaf.anywhere": ["20 mm", "61 mm"],
        "load.gate leaf.force": ["0 N", "2 kN"],
    }
    part = on_mesh(tmp_path / "bar.msh", **changes)
    result = check(part, sure=False, splits=False)
    (moved,) = result.verdict.moving
    assert 20.0 <= moved.start < moved.stop <= 61.0 and moved.tried >= 7
    start = result.outline.corner_points["D"][0]
    sides = result.mesh.points[result.mesh.edges["load gate leaf"]][..., 0] - start
    assert (sides.min(), sides.max()) == pytest.approx((moved.start, moved.stop), abs=1e-9)
    assert result.verdict.mesh.file


def test_a_coarse_mesh_stays_and_is_told(tmp_path):
    draw.drawbar(tmp_path / "bar.msh", size=40, fine=12)
    verdict = check(on_mesh(tmp_path / "bar.msh"), sure=False, splits=False).verdict
    assert verdict.mesh.relative_error > 0.01 and verdict.mesh.rounds == 1
    assert verdict.mesh.stopped == "it is used as it was given (mesh.file)"
    assert any("asked for (mesh_accuracy): it is used as it was given" in one for one in verdict.cautions)


def test_regions_of_a_mesh_are_those_of_the_part_file(tmp_path):
    """A cheek of another thickness and grain, as a group of cells and as a polygon."""
    draw.plate(tmp_path / "p.msh", size=1.5)
    cheek = {"name": "cheek", "thickness": "30 mm", "grain": "20 deg"}
    place = {"left": "D-A", "right": "B-C"}
    made = []
    for on_mesh_file in (True, False):
        edge = {name: name if on_mesh_file else letters for name, letters in place.items()}
        document = {
            "wood": WOOD,
            "mesh_accuracy": "0.5 %",
            "support": [{"name": "wall", "kind": "fixed", "on": f"edge {edge['left']}"}],
            "load": [{"name": "pull", "on": f"edge {edge['right']}", "force": ["300 N", "-900 N"]}],
        }
        if on_mesh_file:
            document |= {"mesh": {"file": "p.msh", "unit": "mm"}, "region": [cheek]}
        else:
            corners = [
                {"at": [x, y]} for x, y in (("0 mm", "0 mm"), ("60 mm", "0 mm"), ("60 mm", "40 mm"), ("0 mm", "40 mm"))
            ]
            strip = {"from": ["52.5 mm", "0 mm"], "to": ["52.5 mm", "40 mm"], "width": "15 mm"}
            document |= {"outline": {"corners": corners}, "region": [{**cheek, "strip": strip}]}
            document["hole"] = [{"name": "hole", "center": ["25 mm", "20 mm"], "diameter": "25 mm"}]
        made.append(check(part_from(document, file=str(tmp_path / "p.toml")), sure=False, splits=False).verdict)
    one, other = made
    assert (one.governing.mode, one.governing.region) == (other.governing.mode, other.governing.region)
    assert one.governing.utilisation == pytest.approx(other.governing.utilisation, rel=0.02)
    assert [row.name for row in one.regions] == [row.name for row in other.regions] == ["part", "cheek"]
    assert one.mass == pytest.approx(other.mass, rel=1e-6)


def test_a_mesh_made_in_python():
    """A tongue of quadrilaterals under its own pull: σ = F/A everywhere (statics)."""
    x, y = np.meshgrid(np.linspace(0, 200, 41), np.linspace(0, 30, 7))
    points, number = np.column_stack([x.ravel(), y.ravel()]), np.arange(41 * 7).reshape(7, 41)
    one, up = number[:-1, :-1].ravel(), number[1:, :-1].ravel()
    sides = {
        "left": np.column_stack([number[1:, 0], number[:-1, 0]]),
        "right": np.column_stack([number[:-1, -1], number[1:, -1]]),
    }
    mesh = fesolve.Mesh(points, {"quad": np.column_stack([one, one + 1, up + 1, up])}, edges=sides)
    on = foreign_of(mesh)
    held = [{"name": "wall", "kind": "roller", "on": "edge left"}, {"name": "floor", "kind": "fixed", "on": "corner A"}]
    load = [{"name": "pull", "on": "edge right", "force": ["5400 N", "0 N"]}]
    part = on.part({"wood": WOOD, "support": held, "load": load})
    result = fesolve.check(part, on=on, sure=False, splits=False)
    assert np.abs(result.solution.stress_xy[0, :, 0] - 10.0).max() < 1e-6  # 5400 N over 30 mm by 18 mm
    assert result.verdict.mesh.file == ""
    with pytest.raises(InputError, match="no longer that which the part was read with"):
        fesolve.check(part, on=foreign_of(fesolve.Mesh(points[:, ::-1], mesh.cells)), sure=False, splits=False)


@pytest.mark.parametrize(
    ("changes", "message", "key"),
    [
        ({"support.keeper.on": "edge keper"}, 'Nearest: "keeper". Edges: "keeper", "B-C"', "support.1.on"),
        ({"support.keeper.on": "corner Z"}, 'no corner "Z"', "support.1.on"),
        ({"support.keeper.on": "hole pivot"}, "The part has no holes", "support.1.on"),
        ({"support.keeper.from": "90 mm"}, 'edge "keeper" is 34 mm long, counted from A', "support.1.from"),
        ({"mesh.file": "none.msh"}, "There is no mesh file", "mesh.file"),
        ({"mesh.unit": "m"}, 'Cut "beyond the notch" misses the part', "cut.1.from"),
    ],
)
def test_bad_input_at_the_command(tmp_path, capsys, changes, message, key):
    words = [f"--set={name}={value}" for name, value in changes.items()]
    code = main(["check", str(ROOT / "meshes" / "drawbar_mesh.toml"), "--quick", *words])
    said = capsys.readouterr()
    text = " ".join(said.err.split())
    assert code == 2 and message in text and f"({key})" in text and "Traceback" not in text
