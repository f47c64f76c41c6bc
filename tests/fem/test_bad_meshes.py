"""Meshes and values that cannot be used are refused before anything is assembled, with the element and its place."""

import dataclasses

import numpy as np
import pytest

import fesolve
from fesolve.fem.elements import ELEMENTS
from fesolve.fem.topology import element_neighbours
from meshes import KINDS, W1, hold_three, plate_with_hole, rectangle


def model_on(mesh, **changes):
    return fesolve.PlaneModel(dataclasses.replace(mesh, **changes), W1, 38.0, 0.0)


def inside_out(kind, cell):
    """The same cell run clockwise."""
    corners = ELEMENTS[kind].corners
    turned = np.roll(cell[:corners][::-1], 1)
    return np.concatenate([turned, cell[corners:][::-1]])


@pytest.mark.parametrize("kind", KINDS)
def test_an_inverted_cell_is_named_with_its_corners(kind):
    mesh = rectangle(kind)
    cells = mesh.cells[kind].copy()
    cells[7] = inside_out(kind, cells[7])
    x, y = mesh.points[cells[7, 0]]
    with pytest.raises(fesolve.InputError) as caught:
        model_on(mesh, cells={kind: cells})
    assert str(caught.value).startswith(f'Element 7 ("{kind}", corners at ({x:.6g}, {y:.6g}), (')
    assert "has its corners clockwise or on one line. List the corners counter-clockwise." in str(caught.value)


def test_a_flat_cell_is_refused():
    mesh = rectangle("triangle6")
    points = mesh.points.copy()
    a, b, c = mesh.cells["triangle6"][3, :3]
    points[c] = points[[a, b]].mean(axis=0)
    with pytest.raises(fesolve.InputError, match=r"Element .* has its corners clockwise or on one line"):
        model_on(mesh, points=points)


@pytest.mark.parametrize("kind", ["quad", "quad8"])
def test_a_quadrilateral_with_an_inward_corner_is_refused(kind):
    points = np.array([[0.0, 0.0], [4.0, 0.0], [1.0, 1.0], [0.0, 4.0]])
    middles = 0.5 * (points + np.roll(points, -1, axis=0))
    mesh = fesolve.Mesh(
        np.vstack([points, middles]) if kind == "quad8" else points,
        {kind: [range(len(points) * (1 + (kind == "quad8")))]},
    )
    with pytest.raises(fesolve.InputError, match=r"Element 0 .* has a corner that points inwards. Divide it into tri"):
        fesolve.PlaneModel(mesh, W1, 1.0, 0.0)


@pytest.mark.parametrize("kind", ["triangle6", "quad8"])
def test_folded_middle_nodes_are_refused(kind):
    mesh = rectangle(kind)
    cells = mesh.cells[kind].copy()
    corners = ELEMENTS[kind].corners
    cells[4, corners:] = np.roll(cells[4, corners:], 1)
    with pytest.raises(fesolve.InputError, match=rf'Element 4 \("{kind}", .* is folded by its middle nodes'):
        model_on(mesh, cells={kind: cells})


def test_a_middle_node_at_a_quarter_is_allowed_and_beyond_it_is_not():
    """Quarter points make strain grow as r^-1/2 (Barsoum, Int. J. Numer. Meth. Eng. 10 (1976) 25-37; from memory)."""
    mesh = rectangle("triangle6", columns=1, rows=1)
    cell = mesh.cells["triangle6"][0]
    for share, fine in ((0.25, True), (0.2, False)):
        points = mesh.points.copy()
        for middle, end in ((3, 1), (5, 2)):
            points[cell[middle]] = points[cell[0]] + share * (points[cell[end]] - points[cell[0]])
        if fine:
            model_on(mesh, points=points)
            continue
        with pytest.raises(fesolve.InputError, match="folded by its middle nodes"):
            model_on(mesh, points=points)


def test_curved_sides_are_not_taken_for_folds():
    model_on(plate_with_hole("triangle6", per_quarter=2, rings=3))


@pytest.mark.parametrize("kind", KINDS)
def test_a_cell_that_is_there_twice(kind):
    mesh = rectangle(kind)
    cells = mesh.cells[kind]
    turned = np.roll(cells[2, : ELEMENTS[kind].corners], 1), np.roll(cells[2, ELEMENTS[kind].corners :], 1)
    more = np.vstack([cells, np.concatenate(turned)])
    with pytest.raises(fesolve.InputError, match=rf"Element 2 .* is there twice, as element {len(cells)} too"):
        model_on(mesh, cells={kind: more})


@pytest.mark.parametrize("kind", ["triangle", "triangle6"])
def test_cells_that_overlap(kind):
    """A triangle over one that shares a side with it, on the same side of it."""
    points = np.array([[0.0, 0.0], [4.0, 0.0], [2.0, 3.0], [2.0, 2.0]])
    cells = np.array([[0, 1, 2], [0, 1, 3]])
    if kind == "triangle6":
        middles = [points[[a, b]].mean(axis=0) for a, b in ((0, 1), (1, 2), (2, 0), (1, 3), (3, 0))]
        points, cells = np.vstack([points, middles]), np.array([[0, 1, 2, 4, 5, 6], [0, 1, 3, 4, 7, 8]])
    with pytest.raises(fesolve.InputError, match=r"Element 0 .* and element 1 lie on the same side .* they overlap"):
        fesolve.PlaneModel(fesolve.Mesh(points, {kind: cells}), W1, 1.0, 0.0)


def test_points_of_no_cell():
    mesh = rectangle("triangle6")
    points = np.vstack([mesh.points, [[20.0, 10.0], [1.0, 2.0]]])
    message = (
        rf"2 of {len(points)} mesh points belong to no cell; the first is point {len(points) - 2} at \(20, 10\) mm"
    )
    with pytest.raises(fesolve.InputError, match=message):
        model_on(mesh, points=points)


def test_a_mesh_without_cells():
    with pytest.raises(fesolve.InputError, match="The mesh has no cells"):
        fesolve.PlaneModel(fesolve.Mesh(np.zeros((3, 2)), {}), W1, 1.0, 0.0)


def test_mixed_kinds_are_counted_on():
    """A square of a quadrilateral and two triangles, the second of them inside out: it is element 2 of the mesh."""
    points = np.array([[0.0, 0], [1, 0], [2, 0], [0, 1], [1, 1], [2, 1]])
    quads, triangles = [[0, 1, 4, 3]], [[1, 2, 5], [1, 5, 4]]
    fesolve.PlaneModel(fesolve.Mesh(points, {"quad": quads, "triangle": triangles}), W1, 1.0, 0.0)
    with pytest.raises(
        fesolve.InputError, match=r'Element 2 \("triangle", corners at \(1, 0\), \(1, 1\), \(2, 1\) mm\)'
    ):
        triangles = [[1, 2, 5], [1, 4, 5]]
        fesolve.PlaneModel(fesolve.Mesh(points, {"quad": quads, "triangle": triangles}), W1, 1.0, 0.0)


# ---- neighbours


@pytest.mark.parametrize("kind", KINDS)
def test_neighbours_share_two_corners(kind):
    mesh = plate_with_hole(kind, per_quarter=3, rings=2)
    cells = mesh.cells[kind][:, : ELEMENTS[kind].corners]
    found = element_neighbours(mesh.cells)
    pairs = {(e, int(other)) for row in found for e, other in enumerate(row) if other < len(cells)}
    sets = [set(cell.tolist()) for cell in cells]
    wanted = {(i, j) for i, a in enumerate(sets) for j, b in enumerate(sets) if i != j and len(a & b) == 2}
    assert pairs == wanted


# ---- values that are not finite


@pytest.mark.parametrize("value", [np.nan, np.inf])
def test_loads_that_are_not_finite(value):
    model = hold_three(model_on(plate_with_hole("triangle6", per_quarter=4, rings=2), point_sets={"A": [0], "B": [1]}))
    bad = [
        (lambda: model.traction("outer", (value, 0.0)), 'Traction on "outer"'),
        (lambda: model.pressure("outer", value), 'Pressure on "outer"'),
        (lambda: model.force("outer", (0.0, value)), 'Force on "outer"'),
        (lambda: model.force("A", (0.0, value)), 'Force on "A"'),
        (lambda: model.bearing("hole", (value, 1.0)), 'Force on "hole"'),
        (lambda: model.body_force((0.0, value)), 'Body force "body force"'),
        (lambda: model.pin("hole", (value, 0.0)), 'Centre of pin "hole"'),
        (lambda: model.force("A", (1.0, 0.0)).solve([{"A": value}]), 'The factor of load "A"'),
    ]
    for make, what in bad:
        with pytest.raises(fesolve.InputError, match=f"{what} is .*(nan|inf).*: not finite"):
            make()


@pytest.mark.parametrize("what", ["thickness", "grain"])
def test_arrays_that_are_not_finite(what):
    mesh = rectangle("triangle6")
    values = np.ones(len(mesh.cells["triangle6"]))
    values[9] = np.nan
    with pytest.raises(fesolve.InputError, match=f"{what.capitalize()} of element 9 is not finite"):
        fesolve.PlaneModel(mesh, W1, **({"thickness": 1.0, "grain": 0.0} | {what: values}))
