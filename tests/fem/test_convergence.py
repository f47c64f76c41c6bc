"""Convergence against exact fields: the round hole (case 2.1) and the cantilever (case 3.1)."""

import numpy as np
import pytest
from exact_fields import HoleField, cantilever_stress, energy_error, exact_tractions, hole_solution

import fesolve
from fesolve.fem.constraints import rigid_motions
from meshes import KINDS, W1, hold_three, rectangle

# case 2.1 (derived and computed there): points in units of the radius, stress for 1 MPa pull, radius 10 mm
CASE_2_1 = {
    (10.01, 0): (-222.924e-6, -223152e-6, 0),
    (0, 10.01): (5.76261, 5718.83e-6, 0),
    (12, 3): (3965.11e-6, -115562e-6, -13968.2e-6),
    (-15, 11): (1.33995, -45083.9e-6, 115425e-6),
    (20, 20): (1.19689, -7969.87e-6, 14095.2e-6),
    (35, -25): (1.10464, -10685.4e-6, 2706.17e-6),
    (2, -13): (1.68873, 125112e-6, -31697.1e-6),
}


def test_the_exact_field_itself():
    """The evaluator used below against the figures of cases 2.1, 1.1 and 1.2."""
    found = HoleField(W1, 0.0, (1.0, 0.0, 0.0), 10.0).stress(np.array(list(CASE_2_1), dtype=float))
    assert found == pytest.approx(np.array(list(CASE_2_1.values())), rel=1e-5, abs=1e-6)
    side = np.array([[0.0, 10.0]])
    assert HoleField(W1, 0.0, (1, 0, 0), 10.0).stress(side)[0, 0] == pytest.approx(5.85066, rel=1e-5)
    assert HoleField(W1, 90.0, (1, 0, 0), 10.0).stress(side)[0, 0] == pytest.approx(2.08464, rel=1e-5)


@pytest.mark.parametrize("grain", [0.0, 30.0])
@pytest.mark.parametrize(("kind", "order", "counts"), [
    ("triangle", 1, (16, 32, 64)), ("triangle6", 2, (16, 32, 64)),
    ("quad", 1, (16, 32, 64)), ("quad8", 2, (18, 36, 72)),
])  # fmt: skip
def test_rate_at_the_hole(kind, order, counts, grain):
    """Case 2.1 and its sibling at 30 deg: the energy error falls as h with linear, as h^2 with quadratic elements."""
    errors = []
    for count in counts:
        solution, field = hole_solution(kind, count, grain)
        errors.append(energy_error(solution, field.stress))
        assert max(np.abs(force).max() for force in solution.reactions.values()) < 0.3  # N on 80 N of pull
    rates = np.log2(np.array(errors[:-1]) / errors[1:])
    assert rates[-1] == pytest.approx(order, abs=0.2), errors
    assert order == 1 or rates[-1] > rates[0]  # the peak is a few degrees wide: the rate is reached slowly


def test_energy_and_stress_at_the_hole():
    """Strain energy 0.311927 N mm per mm (case 2.1); the peak 1 + n = 5.850658 (case 1.1) within 0.5 %."""
    solution, _ = hole_solution("triangle6", 64)
    assert solution.energy == pytest.approx(0.311927, rel=1e-4)
    at = np.array(list(CASE_2_1), dtype=float)
    found = solution.stress_at(at)
    assert found[1:] == pytest.approx(np.array(list(CASE_2_1.values()))[1:], rel=5e-3, abs=5e-3)
    top = np.abs(solution.model.mesh.points - [0.0, 10.0]).max(axis=1).argmin()
    assert solution.stress_xy[top, 0] == pytest.approx(5.850658, rel=5e-3)


# case 3.1: displacement (m for F = 1000 N/m) at x = 0, 0.2, 0.4 m and five heights, as printed there
CANTILEVER_U = [
    [1.6859e-07, 0], [2.01362e-07, 0], [0, 0], [-2.01362e-07, 0], [-1.6859e-07, 0],
    [1.16859e-06, -4.89744e-07], [7.01362e-07, -5.64744e-07], [0, -5.89744e-07], [-7.01362e-07, -5.64744e-07],
    [-1.16859e-06, -4.89744e-07], [4.16859e-06, 7.02051e-06], [2.20136e-06, 6.87051e-06], [0, 6.82051e-06],
    [-2.20136e-06, 6.87051e-06], [-4.16859e-06, 7.02051e-06],
]  # fmt: skip


@pytest.mark.parametrize(("kind", "order"), [("triangle", 1), ("triangle6", 2), ("quad", 1), ("quad8", 2)])
def test_cantilever_with_parabolic_shear(kind, order):
    """Case 3.1, F = 1000 N/m on 0.1 by 0.4 m: in N, mm and 1 mm of thickness F = 1 N, h = 100, L = 400."""
    F, L, h = 1.0, 400.0, 100.0
    errors = []
    for rows in (2, 4, 8):
        mesh = rectangle(kind, L, h, 4 * rows, rows, origin=(0.0, -h / 2))
        model = hold_three(fesolve.PlaneModel(mesh, W1, 1.0, 0.0))
        for edge in ("left", "right"):
            model = exact_tractions(model, edge, lambda p: cantilever_stress(p, F, L, h))
        solution = model.solve()
        errors.append(energy_error(solution, lambda p: cantilever_stress(p, F, L, h)))
    assert np.log2(errors[1] / errors[2]) == pytest.approx(order, abs=0.1)
    at = np.array([[x, y] for x in (0, 200, 400) for y in (-50, -25, 0, 25, 50)], dtype=float)
    found = solution.sampler.interpolate(solution.displacement, at)
    wanted = 1e3 * np.array(CANTILEVER_U)
    miss = without_rigid_motion(at, found - wanted)
    assert np.abs(miss).max() < (1e-5 if order == 2 else 0.03) * np.abs(wanted).max()


def without_rigid_motion(points, displacement):
    """What is left of displacements (k, 2) when the best-fitting rigid motion is taken off."""
    motions = rigid_motions(points, points.mean(axis=0), 1.0).reshape(-1, 3)
    best = np.linalg.lstsq(motions, displacement.ravel(), rcond=None)[0]
    return displacement.ravel() - motions @ best


@pytest.mark.parametrize("kind", KINDS)
def test_stress_at_points_improves_with_the_mesh(kind):
    """Recovered stress a little way into the wood, against the exact field; no point is left without a value."""
    worst = []
    for count in (8, 16, 32):
        solution, field = hole_solution(kind, count)
        angle = np.linspace(0, 2 * np.pi, 37)
        at = 13.0 * np.column_stack([np.cos(angle), np.sin(angle)])
        worst.append(np.abs(solution.stress_at(at) - field.stress(at)).max())
    assert worst[2] < 0.5 * worst[0]
    assert worst[2] < (0.2 if kind in ("triangle", "quad") else 0.02)
