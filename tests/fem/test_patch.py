"""Patch tests: a uniform stress is reproduced exactly on distorted meshes (cases 3.10 and 3.11)."""

import numpy as np
import pytest
from exact_fields import exact_tractions

import fesolve
from fesolve.fem.elements import ELEMENTS
from fesolve.fem.recovery import element_strain
from fesolve.fem.stiffness import element_stiffness
from meshes import KINDS, W1, hold_three, plate_with_hole, rectangle, uniform_loads

# strains for 1 MPa, as printed in cases 3.10 and 3.11 (derived there; per Pa turned into per MPa)
PRINTED = {
    0: [[8.33333e-05, -3.33333e-05, 0], [-3.33333e-05, 0.00166667, 0], [0, 0, 0.00128205]],
    30: [
        [0.000378926, 6.69071e-05, -0.000569856],
        [6.69071e-05, 0.00117059, -0.000801351],
        [-0.000569856, -0.000801351, 0.00168301],
    ],
}


@pytest.mark.parametrize("grain", [0, 30])
@pytest.mark.parametrize("component", [0, 1, 2])
@pytest.mark.parametrize("kind", KINDS)
def test_uniform_stress_on_a_distorted_mesh(kind, component, grain):
    mesh = rectangle(kind, distort=0.3, seed=3)
    stress = np.eye(3)[component]
    model = hold_three(fesolve.PlaneModel(mesh, W1, thickness=38, grain=grain))
    solution = uniform_loads(model, stress).solve()
    assert solution.stress_xy == pytest.approx(np.broadcast_to(stress, solution.stress_xy.shape), abs=1e-10)
    element = ELEMENTS[kind]
    strain = element_strain(mesh.points, mesh.cells[kind], solution.displacement[None], element.stress_points, element)
    wanted = W1.compliance_xy(grain)[:, component]
    assert np.abs(strain[:, :, 0] - wanted).max() < 1e-10 * np.abs(wanted).max()
    assert wanted == pytest.approx(PRINTED[grain][component], rel=5e-6, abs=1e-12)
    # three holds that stop rigid motion only take nothing
    assert all(np.abs(force).max() < 1e-8 for force in solution.reactions.values())


@pytest.mark.parametrize("grain", [0, 30])
def test_uniform_stress_on_kinds_side_by_side(grain):
    """Triangles beside quadrilaterals: the left half of six-node triangles, the right half of eight-node cells."""
    mesh = beside_one_another()
    model = hold_three(fesolve.PlaneModel(mesh, W1, thickness=38, grain=grain))
    solution = uniform_loads(model, (2.0, -1.0, 0.5)).solve()
    assert solution.stress_xy == pytest.approx(np.broadcast_to([2.0, -1.0, 0.5], solution.stress_xy.shape), abs=1e-9)


def beside_one_another():
    whole = rectangle("quad8", columns=4, rows=2, distort=0.2)
    cells, points = whole.cells["quad8"], whole.points
    left = points[cells[:, :4]].mean(axis=1)[:, 0] < 20
    middle = len(points) + np.arange(left.sum())
    q = cells[left]
    points = np.vstack([points, 0.5 * (points[q[:, 0]] + points[q[:, 2]])])
    triangles = np.concatenate(
        [
            np.column_stack([q[:, 0], q[:, 1], q[:, 2], q[:, 4], q[:, 5], middle]),
            np.column_stack([q[:, 0], q[:, 2], q[:, 3], middle, q[:, 6], q[:, 7]]),
        ]
    )
    cells = {"triangle6": triangles, "quad8": cells[~left]}
    return fesolve.Mesh(points, cells, edges=whole.edges, point_sets=whole.point_sets)


@pytest.mark.parametrize("kind", ["triangle6", "quad8"])
def test_uniform_strain_on_curved_elements(kind):
    """Inner forces of a linear displacement vanish at every inner node, curved sides or not."""
    mesh = plate_with_hole(kind, per_quarter=4, rings=3)
    element, cells = ELEMENTS[kind], mesh.cells[kind]
    C = np.broadcast_to(W1.stiffness_xy(30.0), (len(cells), 3, 3))
    K = element_stiffness(mesh.points, cells, C, np.full(len(cells), 38.0), element)
    slope = np.array([[1.0, 0.3], [-0.2, 0.7]])
    u = mesh.points @ slope.T
    force = np.zeros_like(mesh.points)
    np.add.at(force, cells, np.einsum("eab,eb->ea", K, u[cells].reshape(len(cells), -1)).reshape(*cells.shape, 2))
    inner = np.ones(len(mesh.points), dtype=bool)
    inner[np.concatenate([sides.ravel() for sides in mesh.edges.values()])] = False
    assert np.abs(force[inner]).max() < 1e-10 * np.abs(force).max()


def test_a_beam_in_pure_bending_is_exact_with_quadratic_elements():
    """σ_x linear over the depth (beam theory): displacement is quadratic, which these elements hold exactly."""
    for kind in ("triangle6", "quad8"):
        mesh = rectangle(kind, 40.0, 20.0, 3, 2)
        model = hold_three(fesolve.PlaneModel(mesh, W1, thickness=1.0, grain=0.0))

        def stress(points):
            return np.column_stack([points[:, 1] - 10.0, np.zeros((len(points), 2))])

        solution = exact_tractions(exact_tractions(model, "left", stress), "right", stress).solve()
        assert solution.stress_xy == pytest.approx(stress(mesh.points), abs=1e-9)
