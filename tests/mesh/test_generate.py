"""Meshes against the exact outline they were made from."""

import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mesh_parts import BLOCK, hole, load, log_stop, make_part, notch, support

from fesolve.errors import InputError, MissingLibraryError, SolveError
from fesolve.mesh import generate
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.order import SIDES, areas, jacobians
from fesolve.mesh.outline import part_outline
from fesolve.mesh.sizes import SizeField, least_width, size_field
from fesolve.part.model import MeshChoice

FULL = make_part(
    rounds={"C": 8.0},
    bows={"D": 3.0},
    holes=(hole(20, 24, 12),),
    notches=(notch("A-B", 12, 24, 6, 1.5), notch("B-C", 0, 8, 14, name="end")),
    supports=(support("edge A-B", 30, 40), support("corner A").model_copy(update={"name": "tip"})),
    loads=(load("edge C-D", 25, 35),),
)


@pytest.fixture(scope="module")
def full():
    outline = part_outline(FULL)
    return outline, mesh_part(FULL, outline)


def boundary_sides(mesh):
    """Corner node pairs of sides that belong to one cell only, in the cell's direction."""
    directed = mesh.cells["triangle6"][:, SIDES].reshape(-1, 2)
    _, first, count = np.unique(np.sort(directed, axis=1), axis=0, return_index=True, return_counts=True)
    assert count.max() == 2
    return {tuple(pair) for pair in directed[first[count == 1]].tolist()}


def own_sides(outline, mesh):
    """Sides of the curves' own first names: together the whole boundary, once."""
    return [tuple(row[:2]) for name in {c.names[0] for c in outline.curves} for row in mesh.edges[name].tolist()]


def test_edges_cover_the_boundary_once_with_the_wood_on_the_left(full):
    outline, mesh = full
    sides = own_sides(outline, mesh)
    assert len(sides) == len(set(sides))
    assert set(sides) == boundary_sides(mesh)
    assert set(mesh.edges) == {name for curve in outline.curves for name in curve.names}


def test_middle_nodes_belong_to_their_sides(full):
    _, mesh = full
    cells = mesh.cells["triangle6"]
    middle = {
        tuple(sorted(pair)): m
        for pair, m in zip(cells[:, SIDES].reshape(-1, 2).tolist(), cells[:, 3:].ravel().tolist(), strict=True)
    }
    for block in mesh.edges.values():
        assert all(middle[tuple(sorted((a, b)))] == m for a, b, m in block.tolist())


def test_nodes_lie_on_the_outline(full):
    outline, mesh = full
    for name in {c.names[0] for c in outline.curves}:
        nodes = np.unique(mesh.edges[name])
        curves = outline.named(name)
        for x, y in mesh.points[nodes]:
            gap = min(curve.nearest((x, y))[0] for curve in curves)
            assert gap < 1e-9


def test_middle_nodes_halve_their_arcs(full):
    _, mesh = full
    rows = mesh.edges["hole h"]
    angle = np.unwrap(np.arctan2(*(mesh.points[rows] - (20.0, 24.0)).transpose(2, 1, 0)[::-1]), axis=0)
    np.testing.assert_allclose(angle[2], (angle[0] + angle[1]) / 2, atol=1e-9)
    assert len(rows) >= 32


def test_cells_are_counter_clockwise_everywhere(full):
    _, mesh = full
    assert jacobians(mesh.points, mesh.cells["triangle6"]).min() > 0


def test_every_node_is_used_once(full):
    _, mesh = full
    np.testing.assert_array_equal(np.unique(mesh.cells["triangle6"]), np.arange(len(mesh.points)))
    assert len(np.unique(np.round(mesh.points, 7), axis=0)) == len(mesh.points)


def test_area_of_fine_arcs_is_exact():
    # a side of angle φ on an arc errs by about (φ/2)^4/90 of its sector as a parabola (Taylor series)
    outline = part_outline(FULL)
    mesh = mesh_part(FULL, outline, scale=0.5)
    assert areas(mesh.points, mesh.cells["triangle6"]).sum() == pytest.approx(outline.area, rel=1e-7)


def test_corners_and_patches_on_corners(full):
    outline, mesh = full
    assert {name for name in mesh.point_sets if name.startswith("corner ")} == {"corner A", "corner D"}
    assert outline.sharp_corners == ("A", "D")
    for name, at in (("corner A", (0.0, 0.0)), ("corner D", (0.0, 40.0)), ("support tip", (0.0, 0.0))):
        np.testing.assert_array_equal(mesh.points[mesh.point_sets[name]], [at])


def test_patch_ends_are_nodes(full):
    _, mesh = full
    x = mesh.points[mesh.edges["support s"]][..., 0]
    assert (x.min(), x.max()) == (30.0, 40.0)
    assert len(x) >= 6


def test_log_stop_is_of_a_useful_size():
    part = log_stop()
    mesh = mesh_part(part, part_outline(part))
    assert 2000 < len(mesh.cells["triangle6"]) < 6000
    assert len(mesh.edges["hole pivot"]) >= 32
    assert min(len(mesh.edges["support beam"]), len(mesh.edges["load log"])) >= 6


def test_meshes_are_repeatable():
    part = log_stop()
    outline = part_outline(part)
    one, two = mesh_part(part, outline), mesh_part(part, outline)
    np.testing.assert_array_equal(one.points, two.points)
    np.testing.assert_array_equal(one.cells["triangle6"], two.cells["triangle6"])


def test_halved_sizes_make_four_times_the_triangles():
    part = log_stop()
    outline = part_outline(part)
    counts = [len(mesh_part(part, outline, scale=s).cells["triangle6"]) for s in (1.0, 0.5)]
    assert 3.5 < counts[1] / counts[0] < 4.5


def test_thin_wood_has_elements_across():
    part = make_part(holes=(hole(30, 6, 10),))  # 1 mm below the hole
    mesh = mesh_part(part, part_outline(part))
    line = np.column_stack([np.full(400, 30.0), np.linspace(0.0, 1.0, 402)[1:-1]])
    a, b, c = mesh.points[mesh.cells["triangle6"][:, :3]].transpose(1, 0, 2)
    crossed = set()
    for p in line:
        inside = [(v[:, 0] - u[:, 0]) * (p[1] - u[:, 1]) - (v[:, 1] - u[:, 1]) * (p[0] - u[:, 0]) for u, v in
                  ((a, b), (b, c), (c, a))]  # fmt: skip
        crossed |= set(np.flatnonzero(np.min(inside, axis=0) >= 0).tolist())
    assert len(crossed) >= 4


def test_size_caps_every_side():
    part = make_part(mesh=MeshChoice(size=1.5))
    mesh = mesh_part(part, part_outline(part))
    corners = mesh.points[mesh.cells["triangle6"][:, :3]]
    assert np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=-1).max() <= 1.5


def test_size_that_is_far_too_small():
    part = make_part(mesh=MeshChoice(size=0.01))
    with pytest.raises(InputError, match="more than 400,000 triangles") as caught:
        mesh_part(part, part_outline(part))
    assert caught.value.key == "mesh.size"


def test_long_thin_wood_is_refused_with_its_place():
    points = [(0, 0), (60, 0), (60, 40), (30, 40), (30, 0.0005), (10, 0.0005), (10, 40), (0, 40)]
    part = make_part(points)
    with pytest.raises(InputError, match=r"only 0\.0005 mm thick near .* mm, edge \"(A-B|E-F)\", over so long"):
        mesh_part(part, part_outline(part))


def test_a_thin_strip_has_elements_across_all_along():
    points = [(0, 0), (60, 0), (60, 40), (50, 40), (50, 1), (10, 1), (10, 40), (0, 40)]
    part = make_part(points)
    mesh = mesh_part(part, part_outline(part))
    x, y = mesh.points.T
    strip = (x > 20) & (x < 40) & (y < 1)
    assert areas(mesh.points, mesh.cells["triangle6"]).sum() == pytest.approx(60 * 40 - 40 * 39)
    assert np.histogram(x[strip], bins=20, range=(20, 40))[0].min() >= 4 * 3 * 2  # 4 rows, 3 sides a mm, middles


def test_given_sizes_are_followed():
    part = make_part()
    outline = part_outline(part)
    points = np.array([(-1.0, -1.0), (61.0, -1.0), (61.0, 41.0), (-1.0, 41.0)])
    field = SizeField(points, np.array([[0, 1, 2], [0, 2, 3]]), np.array([0.5, 6.0, 6.0, 0.5]))
    mesh = mesh_part(part, outline, size=field)
    left, right = mesh.edges["edge D-A"], mesh.edges["edge B-C"]
    assert 60 <= len(left) <= 90 and 5 <= len(right) <= 10
    assert len(mesh_part(part, outline, size=field, scale=0.5).edges["edge D-A"]) == pytest.approx(
        2 * len(left), rel=0.1
    )


@pytest.mark.parametrize(("size", "words"), [(np.array([1.0, 0.0, 1.0]), "above 0"), (np.array([1.0]), "do not fit")])
def test_unusable_size_fields(size, words):
    with pytest.raises(InputError, match=words):
        SizeField(np.zeros((3, 2)), np.array([[0, 1, 2]]), size)


def test_scale_must_be_positive():
    with pytest.raises(InputError, match="Mesh scale is 0"):
        mesh_part(FULL, part_outline(FULL), scale=0)


def test_coarse_sizes_on_a_hole_are_made_finer_or_refused():
    part = make_part(holes=(hole(30, 20, 38),))
    outline = part_outline(part)
    field = SizeField(np.array([(-9.0, -9.0), (99.0, -9.0), (-9.0, 99.0)]), np.array([[0, 1, 2]]), np.full(3, 60.0))
    try:
        mesh = mesh_part(part, outline, size=field)
    except SolveError as error:
        assert "No usable mesh" in str(error)
    else:
        assert jacobians(mesh.points, mesh.cells["triangle6"]).min() > 0


def test_sizes_do_not_depend_on_the_direction_of_the_part():
    c, s = math.cos(0.5), math.sin(0.5)
    turned = [(c * x - s * y, s * x + c * y) for x, y in BLOCK]
    assert least_width(part_outline(make_part(turned))) == pytest.approx(40.0, rel=1e-12)
    field = size_field(FULL, part_outline(FULL))
    assert field.size.min() < 0.5 < field.size.max()


def test_missing_libraries_are_named(monkeypatch):
    class Broken:
        def find_spec(self, name, path=None, target=None):
            if name == "gmsh":
                raise OSError("libGLU.so.1: cannot open shared object file")

    monkeypatch.delitem(sys.modules, "gmsh", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Broken(), *sys.meta_path])
    with pytest.raises(MissingLibraryError, match=r"libGLU\.so\.1.*libgl1 libglu1-mesa libgomp1") as caught:
        mesh_part(FULL, part_outline(FULL))
    assert caught.value.exit_code == 3


def test_a_session_of_the_caller_is_left_alone():
    import gmsh

    gmsh.initialize(readConfigFiles=False, interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.option.setNumber("Mesh.ElementOrder", 2)
        gmsh.model.add("mine")
        gmsh.model.occ.addPoint(0, 0, 0)
        mesh_part(FULL, part_outline(FULL))
        assert gmsh.model.getCurrent() == "mine"
        assert gmsh.option.getNumber("Mesh.ElementOrder") == 2
        assert gmsh.model.occ.getEntities() == [(0, 1)]
        assert "fesolve outline" not in gmsh.model.list()
        assert len(gmsh.view.getTags()) == 0
    finally:
        gmsh.finalize()


def test_failures_of_gmsh_become_solve_errors(monkeypatch):
    def fail(*_):
        raise Exception("Invalid boundary mesh")

    monkeypatch.setattr(generate, "_background", fail)
    with pytest.raises(SolveError, match="No usable mesh could be made: gmsh could not mesh the outline"):
        mesh_part(FULL, part_outline(FULL))
    import gmsh

    assert not gmsh.isInitialized()


def test_outlines_need_neither_gmsh_nor_scipy():
    code = (
        "import sys, fesolve.mesh.outline, fesolve.mesh.generate, fesolve.mesh.convert;"
        "print([n for n in ('gmsh', 'scipy', 'meshio', 'pyvista', 'vtk') if n in sys.modules])"
    )
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"


length = st.floats(0.05, 30.0)


@settings(max_examples=25, deadline=None)
@given(
    rounds=st.dictionaries(st.sampled_from("ABCD"), length, max_size=3),
    bows=st.dictionaries(st.sampled_from("ABCD"), st.floats(-15.0, 15.0), max_size=2),
    holes=st.lists(st.tuples(st.floats(5, 55), st.floats(5, 35), st.floats(0.5, 20.0)), max_size=2),
    cuts=st.lists(st.tuples(st.sampled_from(["A-B", "C-D"]), st.floats(0, 50), length, length, st.floats(0, 3)),
                  max_size=2),
    patch=st.tuples(st.floats(0, 50), length),
)  # fmt: skip
def test_any_part_meshes_or_says_why_not(rounds, bows, holes, cuts, patch):
    part = make_part(
        rounds=rounds,
        bows=bows,
        holes=tuple(hole(x, y, d, f"h{i}") for i, (x, y, d) in enumerate(holes)),
        notches=tuple(notch(e, a, a + w, d, r, f"N{i}") for i, (e, a, w, d, r) in enumerate(cuts)),
        supports=(support("edge B-C", patch[0] * 0.7, patch[0] * 0.7 + patch[1] * 0.1),),
    )
    try:
        outline = part_outline(part)
        mesh = mesh_part(part, outline)
    except InputError as error:
        assert error.message
        return
    assert areas(mesh.points, mesh.cells["triangle6"]).sum() == pytest.approx(outline.area, rel=1e-4)
    assert set(own_sides(outline, mesh)) == boundary_sides(mesh)
