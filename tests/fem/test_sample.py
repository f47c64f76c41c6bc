"""Sampling: linear and quadratic fields are given back exactly, anywhere in the wood, and not outside it."""

import numpy as np
import pytest
from test_patch import beside_one_another

import fesolve
from fesolve.fem.sample import Sampler
from meshes import KINDS, W1, plate_with_hole, rectangle

SHIFTS = [(0.0, 0.0), (1000.0, -2000.0), (1e5, 1e5)]


def linear(points):
    return np.column_stack([1.0 + 2.0 * points[:, 0] - 3.0 * points[:, 1], points[:, 1]])


def quadratic(points):
    x, y = points.T
    return np.column_stack([x * x - 3 * x * y + 0.5 * y * y, x * y])


def scattered(count, low, high, seed=0):
    return np.random.default_rng(seed).uniform(low, high, (count, 2))


@pytest.mark.parametrize("shift", SHIFTS)
@pytest.mark.parametrize("kind", KINDS)
def test_linear_fields_on_distorted_cells(kind, shift):
    mesh = rectangle(kind, distort=0.3, origin=shift)
    at = scattered(500, (0, 0), (40, 20)) + np.asarray(shift)
    found = Sampler(mesh.points, mesh.cells).interpolate(linear(mesh.points), at)
    scale = np.abs(linear(at)).max()
    assert np.abs(found - linear(at)).max() < 1e-10 * scale


@pytest.mark.parametrize("kind", ["triangle6", "quad8"])
def test_quadratic_fields_on_straight_cells(kind):
    mesh = rectangle(kind, distort=0.3 if kind == "triangle6" else 0.0)
    at = scattered(500, (0, 0), (40, 20))
    found = Sampler(mesh.points, mesh.cells).interpolate(quadratic(mesh.points), at)
    assert found == pytest.approx(quadratic(at), abs=1e-10)


@pytest.mark.parametrize("shift", SHIFTS)
@pytest.mark.parametrize("kind", KINDS)
def test_curved_cells(kind, shift):
    """Isoparametric elements hold linear fields exactly, curved or not; the hole is outside."""
    mesh = plate_with_hole(kind, per_quarter=6, rings=4, center=shift)
    at = scattered(2000, (-45, -45), (45, 45))
    at = np.concatenate([at, scattered(500, (-11, -11), (11, 11))])
    radius = np.linalg.norm(at, axis=1)
    inside = (np.abs(at) < 40 - 1e-6).all(axis=1) & (radius > 10.0 + 1e-3)
    outside = (np.abs(at) > 40 + 1e-3).any(axis=1) | (radius < (9.6 if kind in ("triangle", "quad") else 9.99))
    found = Sampler(mesh.points, mesh.cells).interpolate(linear(mesh.points), at + np.asarray(shift))
    scale = max(np.abs(linear(mesh.points)).max(), 1.0)
    assert np.abs(found - linear(at + np.asarray(shift)))[inside].max() < 1e-9 * scale
    assert np.isnan(found[outside]).all()


def test_mixed_kinds():
    mesh = beside_one_another()
    at = scattered(500, (0, 0), (40, 20))
    found = Sampler(mesh.points, mesh.cells).interpolate(linear(mesh.points), at)
    assert found == pytest.approx(linear(at), abs=1e-10)
    element, _ = Sampler(mesh.points, mesh.cells).locate(at)
    triangles = len(mesh.cells["triangle6"])
    assert (
        (element < triangles) == (Sampler(mesh.points, {"triangle6": mesh.cells["triangle6"]}).locate(at)[0] >= 0)
    ).all()


@pytest.mark.parametrize("kind", KINDS)
def test_nodes_edges_and_far_away(kind):
    mesh = rectangle(kind, distort=0.2)
    sampler = Sampler(mesh.points, mesh.cells)
    assert sampler.interpolate(linear(mesh.points), mesh.points) == pytest.approx(linear(mesh.points), abs=1e-9)
    strange = np.array([[-1e-3, 5.0], [41.0, 5.0], [1e9, 1e9], [np.nan, 1.0], [np.inf, 1.0], [20.0, -1e-3]])
    assert np.isnan(sampler.interpolate(linear(mesh.points), strange)).all()
    assert sampler.interpolate(linear(mesh.points), np.empty((0, 2))).shape == (0, 2)


@pytest.mark.parametrize("shift", SHIFTS[:2])
@pytest.mark.parametrize("kind", ["triangle6", "quad8", "triangle"])
def test_rows_find_the_same_as_scattered_points(kind, shift):
    mesh = plate_with_hole(kind, per_quarter=6, rings=4, center=shift)
    heights = np.linspace(-39.9, 39.9, 60) + shift[1]
    x = np.linspace(-39.9, 39.9, 101) + shift[0]
    row, along = np.repeat(np.arange(60), 101), np.tile(x, 60)
    query = np.column_stack([along, heights[row]])
    keep = np.linalg.norm(query - shift, axis=1) > 10.01
    sampler = Sampler(mesh.points, mesh.cells)
    element, reference = sampler.locate_on_rows(heights, row[keep], along[keep])
    found = sampler.evaluate(linear(mesh.points), element, reference)
    assert np.abs(found - linear(query[keep])).max() < 1e-9 * np.abs(linear(mesh.points)).max()


def test_stress_at_points_outside_the_part():
    mesh = plate_with_hole("triangle6", per_quarter=6, rings=4)
    model = fesolve.PlaneModel(mesh, W1, 1.0, 0.0).spring("outer", 1.0, ["x", "y"]).pressure("hole", 1.0)
    stress = model.solve().stress_at(np.array([[0.0, 0.0], [20.0, 0.0], [50.0, 0.0]]))
    assert np.isnan(stress[[0, 2]]).all() and np.isfinite(stress[1]).all()
