"""The means that a verdict rests on as weighted sums of stress, and how well their error is estimated."""

import numpy as np
import pytest
from parts import check, document

import fesolve
from fesolve.fem.error import size_factors
from fesolve.judge.goals import goal_errors, goals_of, window_weights
from fesolve.judge.inspected import inspect_part
from fesolve.judge.verdict import SPLITTING, TENSION_ALONG
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.outline import part_outline
from fesolve.modelling import model_of, wood_of


def strip(**more):
    """A strip pulled at both ends across a hole off its axis, grain off its axis too; 1 mm of play in nothing."""
    corners = [(0, 0), (260, 0), (260, 60), (0, 60)]
    loads = [
        {"name": "pull", "on": "edge B-C", "traction": ["2 MPa", "0 MPa"]},
        {"name": "back", "on": "edge D-A", "traction": ["-2 MPa", "0 MPa"]},
    ]
    supports = [
        {"name": "one", "kind": "fixed", "on": "corner A"},
        {"name": "two", "kind": "fixed", "on": "corner B", "axes": ["y"]},
    ]
    hole = [{"name": "h", "center": ["110 mm", "37 mm"], "diameter": "18 mm"}]
    return document(corners, grain=20.0, support=supports, load=loads, hole=hole, **more)


def looked_at(doc, scale):
    part = fesolve.part_from(doc)
    outline = part_outline(part)
    wood = wood_of(part, None)
    solution = model_of(part, mesh_part(part, outline, scale=scale), wood).solve([c.factors for c in part.cases])
    return inspect_part(part, outline, wood, solution)


@pytest.fixture(scope="module")
def rounds():
    return {scale: looked_at(strip(), scale) for scale in (2.0, 1.4, 1.0, 0.3)}


def test_weights_of_a_window_give_its_means_again(rounds):
    """Trapezium rule over the samples, the last step in part."""
    seen = rounds[1.0]
    field = seen.looks[0].fields[0]
    for spot in field.low.spots:
        w, i = spot.windows, spot.index
        samples, weights = window_weights(w, i)
        stress = seen.inspection.search.sampled(w.lines, field.stress)[samples]
        assert weights.sum() == pytest.approx(1.0)
        assert weights @ stress[:, 2] == pytest.approx(w.shear[i], rel=1e-9)
        assert weights @ np.maximum(stress[:, 1], 0.0) == pytest.approx(w.across[i], rel=1e-9)


def test_the_weighted_sum_of_a_goal_is_its_utilisation(rounds):
    """Euler: a utilisation grows in proportion to the stresses, so its slope times them is the utilisation."""
    seen = rounds[1.0]
    solution = seen.inspection.solution
    goals = goals_of(seen.looks, "peak")
    assert {goal.mode for goal in goals} >= {SPLITTING, TENSION_ALONG} or len(goals) > 2
    for goal in goals:
        stress = solution.sampler.evaluate(
            solution.stress_grain[0], goal.element, goal.reference, solution.stress_cells
        )
        assert float((goal.weights * stress).sum()) == pytest.approx(goal.utilisation, rel=2e-3), goal.mode


def test_the_estimate_is_not_below_the_true_error_and_not_far_above(rounds):
    """Against a mesh of 0.3 times the size: derived, no published value."""
    best = goals_of(rounds[0.3].looks)[0].utilisation
    for scale in (2.0, 1.4, 1.0):
        seen = rounds[scale]
        goals = goals_of(seen.looks)
        errors = goal_errors(seen.inspection.solution, goals)
        true = abs(best / goals[0].utilisation - 1.0)
        assert true < errors.relative[0] + 1e-3, (scale, true, errors.relative)
        assert errors.relative[0] < 10 * true + 0.01, (scale, true, errors.relative)


def test_nothing_is_followed_where_nothing_is_loaded():
    doc = strip()
    doc["load"][0]["traction"] = doc["load"][1]["traction"] = ["0 MPa", "0 MPa"]
    result = check(doc)
    assert (result.verdict.mesh.relative_error, result.verdict.mesh.rounds) == (None, 1)


def test_size_factors_reach_the_wanted_sum_with_few_elements():
    """A share falls as r^4: the new sum is as wanted, and equal shares shrink alike."""
    shares = np.array([3.0, 3.0, 0.5, 1e-6])
    r = size_factors(shares, 1.0)
    assert float((shares * r**4).sum()) == pytest.approx(1.0, rel=1e-6)
    assert r[0] == r[1] < r[2] < r[3] == 1.0


@pytest.mark.parametrize("of", ["mean", "peak"])
def test_a_hole_off_the_axis_is_right_without_a_hand_on_the_mesh(of):
    """Own strip, grain at 20 deg: within 1 % of elements nine times as small as at first; derived."""
    result = check(strip(mesh_accuracy="0.3 %", accuracy_of=of))
    mesh = result.verdict.mesh
    assert mesh.relative_error <= 0.003 and mesh.stopped == ""
    seen = looked_at(strip(), 0.22)
    finer = goals_of(seen.looks, of)
    assert result.verdict.hotspots[0].utilisation == pytest.approx(finer[0].utilisation, rel=0.01)
    if of == "peak":
        assert mesh.rounds > 1
        rows = {row.mode: row.peak for row in result.verdict.modes}
        (split,) = [goal.utilisation for goal in finer if goal.peak and goal.mode == SPLITTING]
        assert rows[SPLITTING] == pytest.approx(split, rel=0.01)


def test_a_limit_that_stops_the_refinement_is_a_caution():
    result = check(strip(mesh_accuracy="0.02 %", mesh={"refine_limit": 2}))
    mesh = result.verdict.mesh
    assert mesh.rounds == 2 and mesh.relative_error > 0.0002
    (caution,) = [text for text in result.verdict.cautions if "mesh_accuracy" in text]
    assert "it stopped after 2 meshes (mesh.refine_limit)" in caution and "0.02 % asked for" in caution


def test_finer_where_asked_for_and_nowhere_much_else():
    """For wood a peak is a few degrees wide: the mesh away from it stays as it was."""
    coarse = check(strip(mesh={"refine_limit": 1}))
    fine = check(strip(accuracy_of="peak", mesh_accuracy="0.3 %"))
    assert fine.verdict.mesh.rounds > 1
    far = [result.mesh.points[:, 0] > 180 for result in (coarse, fine)]
    assert far[1].sum() < 1.15 * far[0].sum()
    assert len(fine.mesh.points) < 2.5 * len(coarse.mesh.points)
