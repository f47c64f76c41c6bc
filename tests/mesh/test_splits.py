"""Meshes that can be opened along a line: what is opened, how much of it, and what keeps its name."""

import numpy as np
import pytest

from fesolve.errors import InputError
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.mouths import Mouth, line_of, mouth_near, wood_ahead
from fesolve.mesh.outline import part_outline
from fesolve.mesh.splits import opened
from fesolve.part.read import part_from


def bar(**more):
    """A bar of 120 x 40 mm with a hole of 20 mm in it, the grain along it."""
    corners = [{"at": [f"{x} mm", f"{y} mm"]} for x, y in ((0, 0), (120, 0), (120, 40), (0, 40))]
    document = {
        "title": "bar",
        "wood": {"species": "Ash, white", "board": "flat-sawn", "thickness": "18 mm", "basis": "mean"},
        "outline": {"corners": corners},
        "hole": [{"name": "pivot", "center": ["40 mm", "20 mm"], "diameter": "20 mm"}],
        "support": [{"name": "wall", "kind": "fixed", "on": "edge D-A"}],
        "load": [{"name": "pull", "on": "edge B-C", "force": ["9 N", "0 N"]}],
        **more,
    }
    return part_from(document)


@pytest.fixture(scope="module")
def from_hole():
    """A line from the hole to the right with three tips, and its mesh."""
    part = bar()
    outline = part_outline(part)
    line = line_of(outline, "right", Mouth((50.0, 20.0), (1.0, 0.0), 70.0), (4.0, 12.0, 36.0))
    drawn = outline.with_splits([line])
    return part, line, mesh_part(part, drawn)


def area(mesh):
    a, b, c = mesh.points[mesh.cells["triangle6"][:, :3]].transpose(1, 0, 2)
    return 0.5 * ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])


@pytest.mark.parametrize("tip", [0, 1, 2])
def test_the_line_opens_up_to_its_tip(from_hole, tip):
    _, line, mesh = from_hole
    one = opened(mesh, line, tip)
    places = one.mesh.points
    assert np.array_equal(places[one.left], places[one.right])
    assert places[one.nodes[-1]] == pytest.approx((50.0 + line.tips[tip], 20.0))
    assert one.nodes[-1] not in one.right
    assert len(places) == len(mesh.points) + len(one.left)
    assert area(one.mesh).sum() == pytest.approx(area(mesh).sum())
    # cells with a node of the left face lie above the line, those with its twin below it, from the mouth on
    cells = one.mesh.cells["triangle6"]
    middle = places[cells[:, :3]].mean(axis=1)
    inner = one.left[1:], one.right[1:]
    assert (middle[np.isin(cells, inner[0]).any(axis=1), 1] > 20.0).all()
    assert (middle[np.isin(cells, inner[1]).any(axis=1), 1] < 20.0).all()


def test_both_sides_of_a_tip_are_as_long(from_hole):
    _, line, mesh = from_hole
    chain = mesh.point_sets["split right"]
    places = mesh.points[chain[::2], 0] - 50.0
    for tip, side in zip(line.tips, line.sides, strict=True):
        at = int(np.argmin(np.abs(places - tip)))
        assert np.diff(places[at - 1 : at + 2]) == pytest.approx([side, side], rel=1e-6)


def test_the_edge_follows_its_cells_at_the_mouth(from_hole):
    _, line, mesh = from_hole
    one = opened(mesh, line)
    sides = one.mesh.edges["hole pivot"]
    corners = one.mesh.cells["triangle6"][:, :3]
    pairs = np.stack([corners, np.roll(corners, -1, axis=1)], axis=2).reshape(-1, 2)
    owner = set(map(tuple, pairs.tolist()))
    assert all(tuple(side) in owner for side in sides[:, :2].tolist())
    assert {one.left[0], one.right[0]} <= set(sides[:, :2].ravel().tolist())


def test_a_line_that_is_not_there_is_refused(from_hole):
    part, line, _ = from_hole
    with pytest.raises(InputError, match='no line "right"'):
        opened(mesh_part(part, part_outline(part)), line)


def test_mouths_lie_on_the_surface_and_leave_it_steeply():
    outline = part_outline(bar())
    mouth = mouth_near(outline, (40.2, 30.4), (1.0, 0.0), 2.0)  # near the top of the hole, where the grain touches it
    away = np.subtract(mouth.at, (40.0, 20.0))
    assert np.hypot(*away) == pytest.approx(10.0)
    assert away[0] / 10.0 == pytest.approx(np.sin(np.radians(20.0)), abs=2e-3)
    assert mouth.ahead == pytest.approx(120.0 - mouth.at[0], abs=1e-3)
    assert "inside the wood" in mouth_near(outline, (80.0, 20.0), (1.0, 0.0), 2.0)
    assert "along the surface" in mouth_near(outline, (80.0, 39.9), (1.0, 0.0), 2.0)
    assert wood_ahead(outline, (50.0, 20.0), (-1.0, 0.0)) == 0.0


def crack(**more):
    return {"crack": [{"name": "check", "at": ["120 mm", "20 mm"], "length": "30 mm", **more}]}


def test_a_stated_crack_is_open_in_the_mesh_and_keeps_to_the_grain():
    part = bar(**crack())
    mesh = mesh_part(part, part_outline(part))
    left, right = (mesh.point_sets[f"crack check {side}"] for side in ("left", "right"))
    assert np.array_equal(mesh.points[left], mesh.points[right])
    assert mesh.points[left[0]] == pytest.approx((120.0, 20.0))
    assert mesh.points[left, 1] == pytest.approx(20.0)
    assert mesh.points[left, 0].min() > 90.0  # the tip itself is one node


def test_a_crack_inside_the_wood_has_two_tips():
    part = bar(**crack(at=["70 mm", "30 mm"], direction="right"))
    outline = part_outline(part)
    assert outline.splits[0].inside
    mesh = mesh_part(part, outline)
    places = mesh.points[mesh.point_sets["crack check left"], 0]
    assert 70.0 < places.min() < places.max() < 100.0


@pytest.mark.parametrize(
    ("more", "key", "words"),
    [
        ({"at": ["130 mm", "20 mm"]}, "crack.1.at", "10 mm outside the wood"),
        ({"at": ["40 mm", "20 mm"]}, "crack.1.at", "outside the wood .hole pivot is nearest"),
        ({"direction": "up"}, "crack.1.direction", "90 deg to the grain"),
        ({"direction": "right"}, "crack.1.at", "no wood lies ahead"),
        ({"at": ["80 mm", "30 mm"]}, "crack.1.direction", "can run to the right or to the left"),
        ({"length": "69.9 mm"}, "crack.1.length", "would part the piece"),
        ({"at": ["80 mm", "40 mm"], "direction": "left"}, "crack.1.at", "along the surface"),
    ],
)
def test_cracks_that_cannot_be(more, key, words):
    with pytest.raises(InputError, match=words) as caught:
        part_outline(bar(**crack(**more)))
    assert caught.value.key == key


def test_two_cracks_that_meet_are_refused():
    both = crack()["crack"] + [{"name": "other", "at": ["120 mm", "21 mm"], "length": "30 mm"}]
    with pytest.raises(InputError, match=r'"check" and "other" come within 1 mm') as caught:
        part_outline(bar(crack=both))
    assert caught.value.key == "crack.2.at"


@pytest.mark.parametrize(
    ("change", "key", "words"),
    [
        ({"length": "0 mm"}, "crack.1.length", "greater than 0|above 0"),
        ({"length": "30 N"}, "crack.1.length", "length"),
        ({"lenght": "30 mm"}, "crack.1.lenght", "length"),
    ],
)
def test_bad_crack_tables(change, key, words):
    with pytest.raises(InputError, match=words) as caught:
        bar(**crack(**change))
    assert caught.value.key == key


@pytest.mark.parametrize("missing", ["at", "length"])
def test_a_crack_needs_a_place_and_a_length(missing):
    table = {key: value for key, value in crack()["crack"][0].items() if key != missing}
    with pytest.raises(InputError) as caught:
        bar(crack=[table])
    assert caught.value.key == f"crack.1.{missing}"
