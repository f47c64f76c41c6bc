"""The shape found in a mesh that others made: lines, arcs, holes, regions and names, against what was drawn in gmsh."""

import math

import numpy as np
import pytest
from foreign_meshes import drawbar, edges_of, plate

from fesolve.errors import InputError
from fesolve.fem.boundary import boundary_sides
from fesolve.fem.model import PlaneModel
from fesolve.mesh.convert import read_mesh_file
from fesolve.mesh.fitted import fitted
from fesolve.mesh.foreign import Foreign, foreign_of, read_foreign
from fesolve.mesh.given import six_node
from fesolve.mesh.mesh import Mesh
from fesolve.mesh.names import given_in
from fesolve.mesh.order import areas
from fesolve.mesh.outline import part_outline
from fesolve.mesh.regions import region_at
from fesolve.mesh.traced import traced
from fesolve.part.model import MeshChoice
from meshes import W1

WOOD = {"species": "Ash, white", "board": "flat-sawn", "thickness": "18 mm", "basis": "mean"}
HELD = {
    "support": [{"name": "foot", "kind": "fixed", "on": "edge left"}],
    "load": [{"name": "pull", "on": "edge right", "force": ["100 N", "0 N"]}],
}


def read(path, scale=1.0):
    return read_foreign(MeshChoice(file=str(path), scale=scale))


def part_on(found, **tables):
    return found.part({"wood": WOOD, **(tables or HELD)})


@pytest.mark.parametrize(
    ("version", "order", "quads", "binary"),
    [
        (4.1, 1, False, False),
        (2.2, 1, False, True),
        (4.1, 2, False, True),
        (2.2, 2, True, False),
        (4.1, 1, True, False),
    ],
)
def test_the_drawbar_as_drawn(tmp_path, version, order, quads, binary):
    drawbar(tmp_path / "bar.msh", size=20, fine=2, version=version, order=order, quads=quads, binary=binary)
    shape = read(tmp_path / "bar.msh").shape
    edges = edges_of(shape.corners)
    assert {"post", "gate leaf", "keeper"} <= set(edges) and shape.holes == () and shape.openings == ()
    assert [round(float(x), 9) for x in edges["keeper"][0].at + edges["keeper"][1].at] == [0, 25, 34, 25]
    assert shape.corners[0].at == (0.0, 25.0)  # the lower left: least x + y
    arcs = [(a, b) for a, b in edges.values() if a.bow]
    assert len(arcs) == 1 and len(shape.corners) == 11
    a, _ = arcs[0]  # a quarter of a circle of 6 mm, into the wood: rise r (1 - cos 45 deg)
    assert a.bow == pytest.approx(-6 * (1 - math.cos(math.pi / 4)), rel=1e-9)
    assert "end" in [corner.name for corner in shape.corners]


@pytest.mark.parametrize(("order", "quads"), [(1, False), (2, False), (1, True), (2, True)])
def test_a_round_hole_is_one(tmp_path, order, quads):
    plate(tmp_path / "p.msh", order=order, quads=quads)
    found = read(tmp_path / "p.msh")
    (hole,) = found.shape.holes
    assert (hole.name, hole.center, hole.diameter) == ("hole", (25.0, 20.0), 25.0)
    outline = part_outline(part_on(found))
    assert outline.area == pytest.approx(60 * 40 - math.pi * 12.5**2, rel=1e-12)
    mesh = fitted(part_on(found), outline, found.traced)
    around = np.unique(mesh.edges["hole hole"])
    assert np.abs(np.hypot(*(mesh.points[around] - (25, 20)).T) - 12.5).max() < 1e-9
    # sides of second order follow the circle to the fourth power of their length
    assert areas(mesh.points, mesh.cells["triangle6"]).sum() == pytest.approx(outline.area, rel=1e-4)


def test_inches_give_round_figures(tmp_path):
    drawbar(tmp_path / "bar.msh", scale=1 / 25.4)
    shape = read(tmp_path / "bar.msh", 25.4).shape
    assert np.allclose(
        sorted(c.at for c in shape.corners),
        sorted(
            [
                (40, 0),
                (580, 0),
                (620, 0),
                (640, 0),
                (640, 80),
                (350, 80),
                (290, 80),
                (0, 80),
                (0, 25),
                (34, 25),
                (40, 19),
            ]
        ),
        atol=1e-9,
    )


def test_groups_of_cells_are_regions(tmp_path):
    plate(tmp_path / "p.msh")
    found = read(tmp_path / "p.msh")
    part = part_on(found, **HELD, region=[{"name": "cheek", "thickness": "30 mm"}])
    outline = part_outline(part)
    (border,) = outline.interfaces
    assert sorted((border.start, border.end)) == [(45.0, 0.0), (45.0, 40.0)] and border.names == ("region cheek",)
    assert region_at(part, [(50, 1), (44, 1), (10, 20)]).tolist() == [0, -1, -1]
    mesh = fitted(part, outline, found.traced)
    counts = {name: len(cells["triangle6"]) for name, cells in mesh.regions.items()}
    assert set(counts) == {"part", "cheek"} and sum(counts.values()) == len(mesh.cells["triangle6"])
    cheek = mesh.cells["triangle6"][mesh.regions["cheek"]["triangle6"]]
    assert areas(mesh.points, cheek).sum() == pytest.approx(15 * 40, rel=1e-12)
    assert all(np.isin(name, list(mesh.edges)) for name in ("support foot", "load pull"))
    assert any('"joint"' in note for note in found.notes)


@pytest.mark.parametrize("order", [1, 2])
def test_a_load_may_begin_between_nodes(tmp_path, order):
    plate(tmp_path / "p.msh", order=order)
    found = read(tmp_path / "p.msh")
    load = {"name": "push", "on": "edge top", "from": "7.03 mm", "to": "11.57 mm", "force": ["0 N", "-90 N"]}
    part = part_on(found, support=HELD["support"], load=[load])
    outline = part_outline(part)
    mesh = fitted(part, outline, found.traced)
    sides = mesh.points[mesh.edges["load push"]]
    assert np.linalg.norm(sides[:, 1] - sides[:, 0], axis=1).sum() == pytest.approx(11.57 - 7.03, rel=1e-12)
    start = edges_of(part.corners)["top"][0].at
    assert np.abs(sides[..., 0] - start[0]).max() == pytest.approx(11.57, rel=1e-12)
    assert areas(mesh.points, mesh.cells["triangle6"]).sum() == pytest.approx(outline.area, rel=1e-4)
    total = sum(len(mesh.edges[f"edge {name}"]) for name in part.edge_names) + len(mesh.edges["hole hole"])
    assert total == len({tuple(sorted(side[:2])) for name in mesh.edges for side in mesh.edges[name].tolist()})


def test_a_group_of_several_edges(tmp_path):
    drawbar(tmp_path / "bar.msh", size=20, fine=3)
    given = read_mesh_file(tmp_path / "bar.msh")
    given.cell_sets["both"] = [
        a if b is None or len(b) == 0 else b
        for a, b in zip(given.cell_sets["post"], given.cell_sets["gate leaf"], strict=True)
    ]
    found = Foreign(traced(given_in(given, 1.0), six_node(given_in(given, 1.0))))
    assert found.shape.groups["both"] == ("post", "gate leaf")
    held = {"name": "f", "kind": "fixed", "on": "edge both"}
    part = part_on(found, support=[held], load=[{"name": "p", "on": "edge keeper", "pressure": "1 MPa"}])
    outline = part_outline(part)
    assert sum(curve.length for curve in outline.named("support f")) == pytest.approx(40 + 60)  # as drawn
    with pytest.raises(InputError, match='"both" is several edges; name one of them: "post", "gate leaf"') as raised:
        part_on(found, support=[{**held, "from": "1 mm"}])
    assert raised.value.key == "support.1.on"


def ellipse(count, kind="triangle"):
    """A fan of triangles in an ellipse of 40 mm by 20 mm."""
    angle = np.linspace(0, 2 * np.pi, count, endpoint=False)
    points = np.vstack([[0, 0], np.column_stack([40 * np.cos(angle), 20 * np.sin(angle)])])
    number = 1 + np.arange(count)
    return Mesh(points, {kind: np.column_stack([np.zeros(count, int), number, np.roll(number, -1)])})


def test_a_free_curve_is_followed_by_arcs():
    found = foreign_of(ellipse(60))
    arcs = [corner for corner in found.shape.corners if corner.bow]
    assert len(found.shape.corners) < 35 and len(arcs) > 0.3 * len(found.shape.corners)
    first, second, *_ = edges_of(found.shape.corners)
    held = {"support": [{"name": "f", "kind": "fixed", "on": f"edge {first}"}]}
    pushed = {"load": [{"name": "p", "on": f"edge {second}", "pressure": "1 MPa"}]}
    outline = part_outline(part_on(found, **held, **pushed))
    assert outline.area == pytest.approx(math.pi * 40 * 20, rel=9e-4)  # the polygon itself has 0.18 % less


@pytest.mark.parametrize(("quads", "as_given"), [(False, 0.976), (True, 0.988)])
def test_middle_nodes_make_a_bar_less_stiff(tmp_path, quads, as_given):
    """Deflection over that on a fine mesh (1.582 mm, by both kinds of cells), of cells as given and as used."""
    drawbar(tmp_path / "bar.msh", fine=0.7, quads=quads)
    found = read(tmp_path / "bar.msh")
    held = [{"name": name, "kind": "fixed", "on": f"edge {name}"} for name in ("keeper", "post")]
    load = [{"name": "gate leaf", "on": "edge gate leaf", "force": ["0 N", "-6 kN"]}]
    part = part_on(found, support=held, load=load)
    used = fitted(part, part_outline(part), found.traced)
    given = given_in(read_mesh_file(tmp_path / "bar.msh"), 1.0)
    number = np.full(len(given.points), -1)
    inside = np.unique(np.concatenate([cells.ravel() for cells in given.cells.values()]))
    number[inside] = np.arange(len(inside))
    cells = {kind: number[block] for kind, block in given.cells.items()}
    sides = boundary_sides(cells)
    wanted = {name: np.sort(number[lines], axis=1) for name, lines in given.lines.items()}
    edges = {
        name: sides[(np.sort(sides, axis=1)[:, None] == lines).all(axis=2).any(axis=1)]
        for name, lines in wanted.items()
    }
    bent = []
    for mesh, prefix in ((Mesh(given.points[inside], cells, edges=edges), ""), (used, "edge ")):
        model = PlaneModel(mesh, W1, thickness=32, grain=0).fix(f"{prefix}keeper").fix(f"{prefix}post")
        solution = model.force(f"{prefix}gate leaf", (0, -6000)).solve()
        bent.append(np.linalg.norm(solution.displacement, axis=1).max() / 1.582)
    assert bent[0] == pytest.approx(as_given, abs=0.003)
    assert bent[1] == pytest.approx(0.998, abs=0.001)


def test_cells_turned_the_wrong_way_are_turned():
    mesh = Mesh([[0, 0], [9, 0], [9, 6], [0, 6]], {"triangle": [[0, 2, 1], [0, 2, 3]]})
    found = foreign_of(mesh)
    assert "1 of its cells were clockwise and are turned." in found.notes
    assert [c.at for c in found.shape.corners] == [(0, 0), (9, 0), (9, 6), (0, 6)]


@pytest.mark.parametrize(
    ("points", "cells", "message"),
    [
        ([[0, 0], [1, 0], [1, 1], [5, 5], [6, 5], [6, 6]], {"triangle": [[0, 1, 2], [3, 4, 5]]}, "in 2 pieces"),
        ([[0, 0], [1, 0], [1, 1], [2, 1], [2, 2]], {"triangle": [[0, 1, 2], [2, 3, 4]]}, "in 2 pieces"),
        ([[0, 0], [4, 0], [4, 4], [0, 4], [0, 0], [4, 4]], {"triangle": [[0, 1, 2], [4, 5, 3]]}, "in one place"),
        ([[0, 0], [4, 0], [4, 4], [2, 2], [0, 4]], {"triangle": [[0, 1, 2], [0, 3, 4], [3, 2, 4]]}, "hanging nodes"),
        ([[0, 0], [4, 0], [4, 4], [0, 4]], {"triangle": [[0, 1, 2], [0, 2, 3], [0, 1, 2]]}, "on the same side"),
        ([[0, 0], [4, 0], [4, 4], [3, 1]], {"triangle": [[0, 1, 2], [0, 1, 3]]}, "on the same side"),
        ([[0, 0], [4, 0], [2, 0]], {"triangle": [[0, 1, 2]]}, "have no area"),
        ([[0, 0], [4, 0], [0, 4], [4, 4]], {"quad": [[0, 1, 2, 3]]}, "have no area|folded"),
        ([[0, 0], [4, 0], [4, 4], [1, 3.9]], {"quad": [[0, 3, 2, 1]]}, None),
        (
            [[0, 0], [4, 0], [0, 4], [2, 0], [2, 2], [2.9, 0.5]],
            {"triangle6": [[0, 1, 2, 3, 4, 5]]},
            "folded by their middle nodes",
        ),
    ],
)
def test_what_is_no_part(points, cells, message):
    mesh = Mesh(np.array(points, float), cells)
    if message is None:
        assert len(foreign_of(mesh).shape.corners) == 4
        return
    with pytest.raises(InputError, match=message) as raised:
        foreign_of(mesh)
    assert raised.value.key == "mesh.file"


def test_a_strip_that_laps_over_itself():
    """A strip of quadrilaterals wound one and a half times round a ring lies on itself."""
    turn = np.linspace(0, 3.1 * np.pi, 40)
    inner, outer = (np.column_stack([r * np.cos(turn), r * np.sin(turn)]) for r in (20 + turn, 28 + turn))
    points = np.vstack([inner, outer])
    i = np.arange(39)
    with pytest.raises(InputError, match="crosses itself near"):
        foreign_of(Mesh(points, {"quad": np.column_stack([i, i + 40, i + 41, i + 1])}))
