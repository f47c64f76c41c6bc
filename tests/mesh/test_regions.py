"""Regions: exact areas, shared nodes, names that stay, later over earlier, and refusals."""

import doctest
import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mesh_parts import hole, load, make_part, notch, support
from test_generate import boundary_sides, own_sides

from fesolve.errors import InputError
from fesolve.mesh import regions
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.mesh import Mesh
from fesolve.mesh.order import SIDES, areas, jacobians
from fesolve.mesh.outline import part_outline
from fesolve.mesh.regions import region_at, thickness_at
from fesolve.part.model import MeshChoice, Region


def rect(x0, y0, x1, y1):
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def region(name, corners, thickness=9.0):
    return Region(name=name, corners=corners, thickness=thickness)


BEAM = make_part(
    [(0, 0), (300, 0), (300, 80), (0, 80)],
    regions=(region("bottom", rect(0, 0, 300, 12), 40.0), region("top", rect(-5, 68, 305, 90), 40.0)),
    supports=(support("edge A-B", 10, 30),),
    loads=(load("edge C-D", 140, 160),),
)
BUSY = make_part(
    rounds={"B": 8.0},
    bows={"D": 4.0},
    holes=(hole(20, 24, 12),),
    notches=(notch("A-B", 12, 24, 6, 1.5),),
    supports=(support("edge A-B", 30, 40),),
    loads=(load("edge C-D", 20, 35),),
    regions=(region("one", rect(-9, 4, 35, 30)), region("two", ((0, 35), (60, 5), (70, 30), (20, 60)))),
)


def area_of(mesh):
    each = areas(mesh.points, mesh.cells["triangle6"])
    return {name: float(each[cells["triangle6"]].sum()) for name, cells in mesh.regions.items()}


def meshed(part):
    outline = part_outline(part)
    return outline, mesh_part(part, outline)


def check_conforming(outline, mesh):
    """Each cell in one region; all sides between two cells are whole; each side along a border has both beside it."""
    cells = mesh.cells["triangle6"]
    numbers = np.concatenate([block["triangle6"] for block in mesh.regions.values()])
    np.testing.assert_array_equal(np.sort(numbers), np.arange(len(cells)))
    assert set(own_sides(outline, mesh)) == boundary_sides(mesh)  # a hanging node would open a boundary inside
    assert len(np.unique(np.round(mesh.points, 7), axis=0)) == len(mesh.points)
    assert jacobians(mesh.points, cells).min() > 0
    owner = np.empty(len(cells), dtype=int)
    for i, block in enumerate(mesh.regions.values()):
        owner[block["triangle6"]] = i
    sides = np.sort(cells[:, SIDES].reshape(-1, 2), axis=1)
    _, number = np.unique(sides, axis=0, return_inverse=True)
    order = np.argsort(number.ravel(), kind="stable")
    same = np.flatnonzero(np.diff(number.ravel()[order]) == 0)
    pairs = np.stack([order[same], order[same + 1]], axis=1)
    between = pairs[owner[pairs[:, 0] // 3] != owner[pairs[:, 1] // 3]]
    middles = cells[between[:, 0] // 3, 3 + between[:, 0] % 3]
    on_border = np.concatenate([mesh.points[sides[between[:, 0]]].reshape(-1, 2), mesh.points[middles]])
    for x, y in on_border:
        assert min(line.nearest((x, y))[0] for line in outline.interfaces) < 1e-9
    return sum(np.hypot(*np.diff(mesh.points[sides[between[:, 0]]], axis=1)[:, 0].T))


def test_flanges_and_web():
    outline, mesh = meshed(BEAM)
    assert area_of(mesh) == pytest.approx({"part": 300 * 56, "bottom": 3600, "top": 3600}, rel=1e-12)
    assert [(c.start, c.end) for c in outline.interfaces] == [((300, 12), (0, 12)), ((0, 68), (300, 68))]
    assert check_conforming(outline, mesh) == pytest.approx(600)


def test_outer_names_survive():
    plain = part_outline(BEAM.model_copy(update={"regions": ()}))
    outline, mesh = meshed(BEAM)
    assert outline.area == pytest.approx(plain.area, rel=1e-14)
    names = {name for curve in plain.curves for name in curve.names}
    assert set(mesh.edges) == names
    for name in names:
        assert sum(c.length for c in outline.named(name)) == pytest.approx(sum(c.length for c in plain.named(name)))
    assert len(outline.named("edge B-C")) == 3
    assert set(mesh.point_sets) == {"corner A", "corner B", "corner C", "corner D"}


def test_a_thin_flange_has_elements_across():
    _, mesh = meshed(BEAM)
    heights = mesh.points[np.abs(mesh.points[:, 0] - 300) < 1e-9][:, 1]
    assert (heights <= 12.0).sum() >= 2 * 4 + 1  # ends and middles of four sides
    inner = mesh.points[np.abs(mesh.points[:, 0] - 210) < 4]
    assert len(np.unique(np.round(inner[inner[:, 1] < 12, 1]))) >= 4


def test_curved_wood_with_everything():
    outline, mesh = meshed(BUSY)
    check_conforming(outline, mesh)
    assert sum(area_of(mesh).values()) == pytest.approx(outline.area, rel=1e-6)
    finer = area_of(mesh_part(BUSY, outline, scale=0.5))
    assert finer == pytest.approx(area_of(mesh), rel=1e-6)


def test_half_a_hole_in_a_region():
    outline, mesh = meshed(make_part(holes=(hole(30, 20, 10),), regions=(region("half", rect(0, 0, 60, 20)),)))
    expected = 1200 - math.pi * 25 / 2
    assert area_of(mesh) == pytest.approx({"part": expected, "half": expected}, rel=1e-6)
    assert check_conforming(outline, mesh) == pytest.approx(50)


def test_an_island_and_a_region_round_a_hole():
    diamond = ((30, 5), (45, 20), (30, 35), (15, 20))
    outline, mesh = meshed(make_part(holes=(hole(30, 20, 10),), regions=(region("cheek", diamond),)))
    assert area_of(mesh)["cheek"] == pytest.approx(450 - math.pi * 25, rel=1e-6)
    assert check_conforming(outline, mesh) == pytest.approx(60 * math.sqrt(2))


def test_later_regions_win():
    first, second = region("first", rect(10, 10, 40, 30)), region("second", rect(30, 0, 50, 20))
    outline, mesh = meshed(make_part(regions=(first, second)))
    assert area_of(mesh) == pytest.approx({"part": 1500, "first": 500, "second": 400}, rel=1e-12)
    assert check_conforming(outline, mesh) == pytest.approx(100 - 10 - 10 + 20 + 20 + 20)
    _, mesh = meshed(make_part(regions=(second, first)))
    assert area_of(mesh) == pytest.approx({"part": 1500, "first": 600, "second": 300}, rel=1e-12)


def test_sides_shared_by_neighbours_and_by_the_edge():
    left, right = region("left", rect(0, 0, 30, 40)), region("right", rect(30, 10, 60, 30))
    outline, mesh = meshed(make_part(regions=(left, right)))
    assert area_of(mesh) == pytest.approx({"part": 600, "left": 1200, "right": 600}, rel=1e-12)
    assert check_conforming(outline, mesh) == pytest.approx(40 + 60)


def test_a_region_over_the_whole_part_leaves_an_empty_rest():
    outline, mesh = meshed(make_part(regions=(region("all", rect(-1, -1, 61, 41)),)))
    assert area_of(mesh) == {"part": 0.0, "all": pytest.approx(2400)}
    assert outline.interfaces == ()


def test_no_regions_without_regions():
    outline, mesh = meshed(make_part())
    assert mesh.regions == {} and outline.interfaces == ()


def test_a_side_drawn_up_to_an_oblique_edge_ends_on_it():
    # corners are rounded to 1e-9 mm, so that the oblique edge is met within rounding only
    points = [(0, 0), (60, 0), (53, 41), (0, 40)]
    at = (round(60 - 7 / 3, 9), round(41 / 3, 9))
    outline, mesh = meshed(make_part(points, regions=(region("foot", ((0, 0), (60, 0), at, (0, 12))),)))
    (line,) = outline.interfaces
    assert math.dist(line.start, at) < 1e-8
    assert area_of(mesh)["foot"] == pytest.approx(0.5 * (60 * at[1] + at[0] * 12), rel=1e-9)
    check_conforming(outline, mesh)


def test_a_patch_that_a_region_cuts_keeps_its_length():
    part = make_part(supports=(support("edge A-B", 10, 30),), regions=(region("r", rect(20, -5, 50, 50)),))
    outline, mesh = meshed(part)
    assert [(c.start[0], c.end[0]) for c in outline.named("support s")] == [(10, 20), (20, 30)]
    x = mesh.points[mesh.edges["support s"]][..., 0]
    assert (x.min(), x.max()) == (10.0, 30.0)


def test_size_caps_every_side():
    _, mesh = meshed(BEAM.model_copy(update={"mesh": MeshChoice(size=4.0)}))
    corners = mesh.points[mesh.cells["triangle6"][:, :3]]
    assert np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=-1).max() <= 4.0


def test_region_and_thickness_at_points():
    points = [(1, 1), (1, 40), (150, 79), (299, 67.9), (299, 68.1)]
    assert region_at(BEAM, points).tolist() == [0, -1, 1, -1, 1]
    assert thickness_at(BEAM, points).tolist() == [40, 38, 40, 38, 40]
    grain = Region(name="g", corners=rect(0, 0, 300, 80), grain=90.0)
    turned = BEAM.model_copy(update={"regions": (*BEAM.regions, grain)})
    assert set(region_at(turned, points)) == {2}
    assert set(thickness_at(turned, points)) == {38}  # its own thickness was not given: the part's
    assert region_at(make_part(), points).tolist() == [-1] * 5


REFUSED = {
    "outside": ((region("r", rect(70, 0, 90, 20)),), "region.1",
                'Region "r" covers no wood: it lies outside the part, or within a hole or a notch. Its corner nearest '
                "to the wood is (70, 0) mm, 10 mm from it."),
    "beside": ((region("r", rect(60, 0, 90, 20)),), "region.1", "covers no wood"),
    "in a hole": ((region("r", rect(28, 18, 32, 22)),), "region.1", "within a hole"),
    "covered": ((region("r", rect(0, 0, 9, 9)), region("s", rect(0, 0, 20, 20)), region("t", rect(40, 0, 50, 9))),
                "region.1", 'Region "r" counts nowhere: what stands later in the file, "s", covers all of it'),
    "covered by two": ((region("r", rect(0, 0, 20, 9)), region("s", rect(0, 0, 10, 20)),
                        region("t", rect(10, 0, 30, 20))), "region.1", '"s", "t", covers all of it'),
    "no area": ((region("r", ((0, 0), (9, 9), (5, 5))),), "region.1.corners", "or has no area"),
    "bow tie": ((region("q", rect(0, 0, 9, 9)), region("r", ((0, 0), (9, 9), (9, 0), (0, 9)))), "region.2.corners",
                'Region "r" crosses or touches itself at (4.5, 4.5) mm'),
    "two corners": ((region("r", ((0, 0), (9, 9))),), "region.1.corners", "has 2 corners; give at least 3"),
    "twins": ((region("r", ((0, 0), (9, 9), (9, 9), (0, 9))),), "region.1.corners",
              "two corners in a row are at (9, 9)"),
    "tangent": ((region("r", rect(0, 25, 60, 40)),), "region.1",
                'A side of region "r" meets hole "h" at (30, 25) mm at 0 deg, too flat for elements to fit between'),
    "flat": ((region("r", ((0, 0), (60, 0.3), (60, 20), (0, 20))),), "region.1",
             'A side of region "r" meets edge "A-B" at (0, 0) mm at 0.29 deg'),
    "flat wedge": ((region("r", ((10, 10), (50, 10), (50, 10.2))),), "region.1", "meets another side at (10, 10) mm"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_refusals(name):
    found, key, words = REFUSED[name]
    with pytest.raises(InputError, match=re.escape(words)) as caught:
        part_outline(make_part(holes=(hole(30, 20, 10),), regions=found))
    assert caught.value.key == key


def test_a_sliver_is_refused_with_its_place():
    part = make_part(regions=(region("r", rect(0, 0.001, 60, 20)),))
    with pytest.raises(InputError, match=r'A side of region "r" leaves a strip only 0\.001 mm wide near') as caught:
        mesh_part(part, part_outline(part))
    assert caught.value.key == "region"


@pytest.mark.parametrize(
    ("blocks", "words"),
    [
        ({"triangle": [0, 2]}, r'region "r" names a cell "triangle" that is not there \(0 to 1 are\)'),
        ({"triangle": [-1]}, "that is not there"),
        ({"triangle": [[0, 1]]}, r"has shape \(1, 2\); give \(k,\) cell numbers"),
        ({"quad": [0]}, 'names cells "quad", and the mesh has none'),
    ],
)
def test_regions_of_a_mesh_are_checked(blocks, words):
    square = np.array([(0.0, 0.0), (1, 0), (1, 1), (0, 1)])
    with pytest.raises(InputError, match=words):
        Mesh(square, {"triangle": [[0, 1, 2], [0, 2, 3]]}, regions={"r": blocks})


def test_regions_of_a_mesh_are_frozen():
    square = np.array([(0.0, 0.0), (1, 0), (1, 1), (0, 1)])
    mesh = Mesh(
        square, {"triangle": [[0, 1, 2], [0, 2, 3]]}, regions={"r": {"triangle": [1]}, "rest": {"triangle": []}}
    )
    assert not mesh.regions["r"]["triangle"].flags.writeable
    assert mesh.regions["rest"]["triangle"].dtype == np.int64


def test_examples_in_docstrings():
    assert doctest.testmod(regions).failed == 0


whole = st.tuples(st.integers(-3, 11), st.integers(-3, 7), st.integers(1, 12), st.integers(1, 8))


@settings(max_examples=15, deadline=None)
@given(st.lists(whole, min_size=1, max_size=4), st.integers(0, 359))
def test_rectangles_on_a_grid_have_the_areas_that_painting_gives(boxes, turn):
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))

    def turned(points):
        return tuple((round(c * x - s * y, 9), round(s * x + c * y, 9)) for x, y in points)

    found = tuple(
        region(f"r{i}", turned(rect(5 * x, 5 * y, 5 * (x + w), 5 * (y + h)))) for i, (x, y, w, h) in enumerate(boxes)
    )
    paint = np.full((12, 8), -1)  # squares of 5 mm
    for i, (x, y, w, h) in enumerate(boxes):
        paint[max(x, 0) : max(x + w, 0), max(y, 0) : max(y + h, 0)] = i
    expected = {"part": 25.0 * (paint == -1).sum()} | {r.name: 25.0 * (paint == i).sum() for i, r in enumerate(found)}
    part = make_part(list(turned(rect(0, 0, 60, 40))), regions=found)
    if 0.0 in list(expected.values())[1:]:
        with pytest.raises(InputError, match=r"covers no wood|counts nowhere"):
            part_outline(part)
        return
    outline, mesh = meshed(part)
    assert area_of(mesh) == pytest.approx(expected, rel=1e-8, abs=1e-6)
    check_conforming(outline, mesh)


corner = st.tuples(st.floats(3.0, 40.0), st.floats(0.0, 1.0))


@settings(max_examples=15, deadline=None)
@given(
    polygons=st.lists(
        st.tuples(st.floats(0, 60), st.floats(0, 40), st.lists(corner, min_size=3, max_size=5)), min_size=1, max_size=2
    ),
    holes=st.lists(st.tuples(st.floats(8, 52), st.floats(8, 32), st.floats(2, 12)), max_size=1),
    bow=st.floats(-8.0, 8.0),
)
def test_any_regions_mesh_or_say_why_not(polygons, holes, bow):
    found = []
    for i, (x, y, corners) in enumerate(polygons):
        turns = 2 * np.pi * np.cumsum([0.2 + t for _, t in corners]) / sum(0.2 + t for _, t in corners)
        radii = [r for r, _ in corners]
        found.append(region(f"r{i}", tuple((x + r * math.cos(t), y + r * math.sin(t)) for r, t in zip(radii, turns))))  # noqa: B905
    part = make_part(
        bows={"C": bow} if abs(bow) > 0.1 else {}, holes=tuple(hole(*h) for h in holes), regions=tuple(found)
    )
    try:
        outline, mesh = meshed(part)
    except InputError as error:
        assert error.message
        return
    check_conforming(outline, mesh)
    assert sum(area_of(mesh).values()) == pytest.approx(outline.area, rel=1e-4)
