"""Consistent loads: resultants and moments are exact, on straight and on curved sides."""

import numpy as np
import pytest

import fesolve
from meshes import KINDS, W1, area, plate_with_hole, rectangle

CURVED = ("triangle6", "quad8")


def model_on(mesh, thickness=38.0):
    return fesolve.PlaneModel(mesh, W1, thickness=thickness, grain=0.0)


def moment(points, forces):
    return float((points[:, 0] * forces[:, 1] - points[:, 1] * forces[:, 0]).sum())


def check_load(model, resultant, about_origin):
    (load,) = model.loads
    points = model.mesh.points
    size = np.abs(resultant).max()
    assert load.resultant == pytest.approx(resultant, rel=1e-12, abs=1e-12 * size)
    assert load.nodal.sum(axis=0) == pytest.approx(resultant, rel=1e-12, abs=1e-12 * size)
    assert moment(points, load.nodal) == pytest.approx(about_origin, rel=1e-11, abs=1e-10 * size)
    assert moment(load.points, load.forces) == pytest.approx(about_origin, rel=1e-11, abs=1e-10 * size)


@pytest.mark.parametrize("kind", KINDS)
def test_straight_edges(kind):
    """Traction times face, pressure against the normal, a force spread evenly: 20 mm by 38 mm at x = 40 mm."""
    mesh = rectangle(kind, distort=0.2)
    check_load(model_on(mesh).traction("right", (2.0, -3.0)), (1520.0, -2280.0), 40 * -2280.0 - 10 * 1520.0)
    check_load(model_on(mesh).pressure("right", 2.0), (-1520.0, 0.0), 10 * 1520.0)
    check_load(model_on(mesh).force("top", (10.0, -1000.0)), (10.0, -1000.0), 20 * -1000.0 - 20 * 10.0)
    check_load(model_on(mesh).force("C", (5.0, 7.0)), (5.0, 7.0), 40 * 7.0 - 20 * 5.0)


@pytest.mark.parametrize("kind", KINDS)
def test_self_weight(kind):
    """Density of force times volume, at the centre of the area."""
    mesh = plate_with_hole(kind, per_quarter=4, rings=4, center=(7.0, -3.0))
    volume = 38 * area(mesh)
    check_load(model_on(mesh).body_force((0.0, -2e-6)), (0.0, -2e-6 * volume), 7.0 * -2e-6 * volume)


@pytest.mark.parametrize("kind", KINDS)
def test_pressure_in_a_hole_has_no_resultant(kind):
    mesh = plate_with_hole(kind, center=(50.0, 20.0))
    (load,) = model_on(mesh).pressure("hole", 4.0).loads
    scale = 4.0 * 2 * np.pi * 10 * 38
    assert np.abs(load.nodal.sum(axis=0)).max() < 1e-12 * scale
    assert abs(moment(mesh.points, load.nodal)) < 1e-12 * scale * 50


@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0, 211.7])
@pytest.mark.parametrize("kind", CURVED)
def test_bearing_on_a_hole(kind, angle):
    """p = (2 F/(π r t)) cos θ on the pushed half: the sum is exact, no moment about the centre."""
    center = np.array([50.0, 20.0])
    mesh = plate_with_hole(kind, per_quarter=16, center=center)
    direction = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    (load,) = model_on(mesh).bearing("hole", 1000.0 * direction).loads
    assert load.nodal.sum(axis=0) == pytest.approx(1000.0 * direction, abs=1e-9)
    assert abs(moment(mesh.points - center, load.nodal)) < 1.0  # N mm: 1e-4 of F r
    outward = (load.points - center) / np.linalg.norm(load.points - center, axis=1)[:, None]
    cosine = outward @ direction
    length = face_lengths(mesh)
    p = np.linalg.norm(load.forces, axis=1) / (length * 38)
    exact = 2 * 1000.0 / (np.pi * 10 * 38) * np.maximum(cosine, 0.0)
    assert p == pytest.approx(exact, abs=2e-3 * exact.max())
    assert (load.forces[cosine < -1e-3] == 0.0).all()


def face_lengths(mesh):
    from fesolve.fem.boundary import edge_sides, side_quadrature

    return side_quadrature(mesh, edge_sides(mesh, "hole")).lengths.ravel()


def test_bearing_of_no_force_and_centers():
    mesh = plate_with_hole("triangle6")
    model = model_on(mesh).bearing("hole", (0.0, 0.0))
    assert (model.loads[0].nodal == 0.0).all()
    assert model.loads[0].center == pytest.approx([0, 0], abs=1e-9)
    assert model_on(rectangle("quad")).force("right", (0.0, 3.0)).loads[0].center == pytest.approx([40, 10])


def test_force_follows_the_thickness_of_the_face():
    """An even force is a constant traction: twice the thickness takes twice the share."""
    mesh = rectangle("quad8", columns=2, rows=2)
    thickness = np.where(mesh.points[mesh.cells["quad8"]].mean(axis=1)[:, 1] > 10, 40.0, 20.0)
    (load,) = model_on(mesh, thickness).force("right", (900.0, 0.0)).loads
    upper = load.points[:, 1] > 10
    assert load.forces[upper, 0].sum() == pytest.approx(600.0)
    assert load.forces[~upper, 0].sum() == pytest.approx(300.0)


def test_unknown_names():
    model = model_on(rectangle("triangle6")).force("right", (1.0, 0.0), name="pull").fix("left")
    with pytest.raises(fesolve.InputError, match=r'Edge "rigth" is not in the mesh. Edges: bottom, left, right, top'):
        model.traction("rigth", (1.0, 0.0))
    with pytest.raises(fesolve.InputError, match=r'No load is named "push". Loads: pull'):
        model.solve([{"push": 1.0}])
