"""Stress along the grain near the surface: the mean over 5 mm along the inward normal."""

import numpy as np
import pytest

import fesolve
from fesolve.judge.edges import DEPTH, edge_probes
from meshes import W1, hold_three, plate_with_hole, rectangle

NOWHERE = np.empty((0, 2))  # no place without a limit


def solved(mesh):
    """Any solution: the stress below is put in by hand."""
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0)
    model = hold_three(model) if mesh.point_sets else model.spring("outer", 1.0, ["x", "y"])
    return model.body_force((0.0, 0.0)).solve()


def test_a_linear_field_has_the_mean_of_its_middle():
    """σ_0 = 60 y/h of a bent beam, h = 24 mm: on its upper edge the mean over 5 mm is 60 (1 - 2.5/24)."""
    solution = solved(rectangle("triangle6", 60.0, 24.0, 12, 6))
    stress = np.zeros((len(solution.stress_point), 3))
    stress[:, 0] = 60 * solution.model.mesh.points[solution.stress_point, 1] / 24
    probes = edge_probes(solution)
    means = probes.means(solution, stress, NOWHERE)
    assert DEPTH == 5.0
    inside = (probes.points[:, 0] > 1e-9) & (probes.points[:, 0] < 60 - 1e-9)
    upper, lower = probes.points[:, 1] > 24 - 1e-9, probes.points[:, 1] < 1e-9
    near = {"rel": 1e-6}  # the first sample lies 1e-6 mm inside
    assert means[upper & inside] == pytest.approx(60 * (1 - 2.5 / 24), **near)
    assert means[lower & inside] == pytest.approx(60 * 2.5 / 24, **near)
    assert means[~inside] == pytest.approx(60 * probes.points[~inside, 1] / 24, **near)  # normals along x


def test_a_quadratic_field_has_its_exact_mean():
    """σ_0 = y^2: the mean over 5 mm from the lower edge is 25/3; six-node triangles hold y^2 exactly."""
    solution = solved(rectangle("triangle6", 60.0, 24.0, 12, 6))
    stress = np.zeros((len(solution.stress_point), 3))
    stress[:, 0] = solution.model.mesh.points[solution.stress_point, 1] ** 2
    probes = edge_probes(solution)
    lower = (probes.points[:, 1] < 1e-9) & (probes.points[:, 0] > 5) & (probes.points[:, 0] < 55)
    assert probes.means(solution, stress, NOWHERE)[lower] == pytest.approx(25 / 3, rel=1e-4)


def test_normals_of_a_hole_run_outwards_from_its_centre():
    """σ_0 = the distance from the centre of a 20 mm hole: the mean over 10..15 mm is 12.5."""
    solution = solved(plate_with_hole("triangle6", per_quarter=24, rings=16))
    stress = np.zeros((len(solution.stress_point), 3))
    stress[:, 0] = np.linalg.norm(solution.model.mesh.points[solution.stress_point], axis=1)
    probes = edge_probes(solution)
    hole = np.linalg.norm(probes.points, axis=1) < 11
    assert hole.sum() == 2 * 96
    assert probes.means(solution, stress, NOWHERE)[hole] == pytest.approx(12.5, rel=2e-3)


def test_where_the_normal_leaves_the_wood_nothing_is_measured():
    """A strip 4 mm deep: its long edges have no 5 mm of wood behind them, its ends have."""
    probes = edge_probes(solved(rectangle("triangle6", 40.0, 4.0, 20, 2)))
    assert len(probes.points) == 2 * 2 * 2
    assert (np.isclose(probes.points[:, 0], 0.0) | np.isclose(probes.points[:, 0], 40.0)).all()
