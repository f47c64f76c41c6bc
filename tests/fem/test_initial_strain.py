"""Strains that the wood takes on by itself: no stress where nothing holds them back, closed forms where it does."""

import numpy as np
import pytest

import fesolve
from fesolve.errors import InputError
from fesolve.fem.error import error_field
from meshes import KINDS, W1, hold_three, plate_with_hole, rectangle

SHRINKAGE = (-0.0003, -0.016)  # along and across the grain: about 6 % of drying


def in_xy(grain, strain=SHRINKAGE):
    """The strain tensor of a grain at an angle, (2, 2)."""
    a = np.radians(grain)
    R = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    return R @ np.diag(strain) @ R.T


@pytest.mark.parametrize("grain", [0.0, 30.0])
@pytest.mark.parametrize("kind", KINDS)
def test_a_free_part_shrinks_exactly_and_without_stress(kind, grain):
    """Patch test: the displacement is the strain's own, linear field (derived); no stress, no reactions, no energy."""
    mesh = rectangle(kind, distort=0.3, seed=3)
    model = hold_three(fesolve.PlaneModel(mesh, W1, thickness=38, grain=grain)).initial_strain(SHRINKAGE)
    solution = model.solve()
    held_back = 600 * 0.016  # MPa, what it would be if it were held
    assert np.abs(solution.stress_grain).max() < 1e-9 * held_back
    assert all(np.abs(force).max() < 1e-6 for force in solution.reactions.values())
    assert abs(solution.energy) < 1e-6
    e = in_xy(grain)
    u = mesh.points - mesh.points[mesh.point_sets["A"]]
    moved = u @ e.T
    far = mesh.points[mesh.point_sets["B"]] - mesh.points[mesh.point_sets["A"]]
    turn = -(far @ e.T)[0, 1] / far[0, 0]  # B does not move along y
    moved = moved + turn * np.column_stack([-u[:, 1], u[:, 0]])
    assert solution.displacement == pytest.approx(moved, abs=1e-11)


@pytest.mark.parametrize("kind", ["triangle6", "quad8"])
def test_a_free_part_with_curved_sides_has_no_stress(kind):
    mesh = plate_with_hole(kind, per_quarter=4, rings=3)
    node = np.argmax(mesh.points @ [1.0, 0.1])
    sets = {"A": np.array([np.argmin(mesh.points @ [1.0, 0.1])]), "B": np.array([node])}
    mesh = fesolve.Mesh(mesh.points, mesh.cells, edges=mesh.edges, point_sets=sets)
    solution = hold_three(fesolve.PlaneModel(mesh, W1, thickness=38, grain=20.0)).initial_strain(SHRINKAGE).solve()
    assert np.abs(solution.stress_grain).max() < 1e-8 * 600 * 0.016


@pytest.mark.parametrize(("grain", "E", "strain"), [(90.0, 600.0, -0.016), (0.0, 12_000.0, -0.0003)])
def test_a_bar_held_at_both_ends(grain, E, strain):
    """σ = -E ε_0 along the bar, free to move across it; strain energy σ²/(2E) of its volume (textbook)."""
    mesh = rectangle("triangle6", 60.0, 10.0, 6, 2)
    model = fesolve.PlaneModel(mesh, W1, thickness=20, grain=grain)
    model = model.fix("left", ["x"]).fix("right", ["x"]).fix("A").initial_strain(SHRINKAGE)
    solution = model.solve()
    stress = -E * strain
    wanted = np.broadcast_to([stress, 0.0, 0.0], solution.stress_xy.shape)
    assert solution.stress_xy == pytest.approx(wanted, abs=1e-9 * stress)
    assert solution.reactions["right"] == pytest.approx([stress * 200.0, 0.0], rel=1e-9, abs=1e-6)
    assert solution.energy == pytest.approx(stress**2 / (2 * E) * 60 * 200, rel=1e-9)
    assert solution.equilibrium < 1e-9
    assert error_field(model, solution.displacement[None], initial=solution.initial).squares().sum() < 1e-12


def test_a_whole_face_held_both_ways():
    """Held everywhere: σ = -Q ε_0 in both directions, with Q of plane stress (textbook)."""
    mesh = rectangle("quad8", 40.0, 20.0, 2, 2)
    model = fesolve.PlaneModel(mesh, W1, thickness=20, grain=0.0).initial_strain(SHRINKAGE)
    for edge in ("left", "right"):
        model = model.fix(edge, ["x"])
    for edge in ("bottom", "top"):
        model = model.fix(edge, ["y"])
    nu_90 = 0.4 * 600 / 12_000
    Q = np.array([[12_000, 0.4 * 600], [0.4 * 600, 600]]) / (1 - 0.4 * nu_90)
    solution = model.solve()
    wanted = [*(-Q @ np.array(SHRINKAGE)), 0.0]
    assert solution.stress_grain == pytest.approx(
        np.broadcast_to(wanted, solution.stress_grain.shape), rel=1e-9, abs=1e-9
    )


def test_a_bar_between_two_pins():
    """Pins that fill two holes across the grain: they pull against each other, and everything is in balance."""
    one = plate_with_hole("triangle6", radius=5.0, half=20.0, per_quarter=6, rings=5, center=(0.0, 0.0))
    two = plate_with_hole("triangle6", radius=5.0, half=20.0, per_quarter=6, rings=5, center=(0.0, 40.0))
    mesh = joined(one, two)
    model = fesolve.PlaneModel(mesh, W1, thickness=20, grain=0.0).initial_strain(SHRINKAGE)
    model = model.one_way_pin("low", (0.0, 0.0), 10.0).one_way_pin("high", (0.0, 40.0), 10.0)
    solution = model.solve()
    force = solution.reactions["high"]
    assert solution.reactions["low"] == pytest.approx(-force, rel=1e-6, abs=1e-3)
    # held back, it is pulled; a bar of the whole width fully held would take E_90 ε_0 b t
    assert 0.2 * 600 * 0.016 * 40 * 20 < force[1] < 600 * 0.016 * 40 * 20
    assert solution.equilibrium < 1e-7
    middle = solution.stress_at(np.array([[x, 20.0] for x in np.linspace(-19.9, 19.9, 200)]))[:, 1]
    assert middle.mean() * 40 * 20 == pytest.approx(force[1], rel=0.01)
    loose = fesolve.PlaneModel(mesh, W1, thickness=20, grain=0.0).initial_strain(SHRINKAGE)
    loose = loose.one_way_pin("low", (0.0, 0.0), 8.0).one_way_pin("high", (0.0, 40.0), 8.0)
    assert np.abs(loose.solve().stress_grain).max() < 1e-8  # 0.64 mm of movement within 2 mm of play


def joined(one, two):
    """Two plates that share an outer edge, their nodes there put together."""
    points = np.vstack([one.points, two.points])
    _, first, back = np.unique(points.round(6), axis=0, return_index=True, return_inverse=True)
    back, count = back.reshape(-1), len(one.points)
    cells = np.vstack([back[one.cells["triangle6"]], back[two.cells["triangle6"] + count]])
    edges = {"low": back[one.edges["hole"]], "high": back[two.edges["hole"] + count]}
    return fesolve.Mesh(points[first], {"triangle6": cells}, edges=edges)


def test_two_layers_bend_as_timoshenko_says():
    """Curvature of a free strip of two layers that would change their length differently.

    S. Timoshenko, Analysis of bi-metal thermostats, J. Opt. Soc. Am. 11 (1925) 233-255: with m = a_1/a_2, n = E_1/E_2,
    1/ρ = 6 Δε (1 + m)²/(h (3 (1 + m)² + (1 + m n)(m² + 1/(m n)))) (formula from memory).
    """
    length, h, E_1, E_2, strain = 200.0, 10.0, 1000.0, 3000.0, 0.002
    mesh = rectangle("quad8", length, h, 40, 5)
    height = mesh.points[mesh.cells["quad8"][:, :4]].mean(axis=1)[:, 1]
    low = height < 4.0  # layer 1, 4 mm
    regions = {"one": {"quad8": np.flatnonzero(low)}, "two": {"quad8": np.flatnonzero(~low)}}
    mesh = fesolve.Mesh(mesh.points, mesh.cells, edges=mesh.edges, point_sets=mesh.point_sets, regions=regions)
    wood = {name: fesolve.OrthotropicPlane(E, E, E / 2, 0.0) for name, E in (("one", E_1), ("two", E_2))}
    model = hold_three(fesolve.PlaneModel(mesh, wood, thickness=5.0, grain=0.0))
    solution = model.initial_strain({"one": (strain, 0.0), "two": (0.0, 0.0)}).solve()
    m, n = 4.0 / 6.0, E_1 / E_2
    curvature = 6 * strain * (1 + m) ** 2 / (h * (3 * (1 + m) ** 2 + (1 + m * n) * (m**2 + 1 / (m * n))))
    bottom = np.unique(mesh.edges["bottom"])
    x, y = mesh.points[bottom, 0], solution.displacement[bottom, 1]
    inside = (x > 40) & (x < 160)  # ends bend otherwise
    assert abs(2 * np.polyfit(x[inside], y[inside], 2)[0]) == pytest.approx(curvature, rel=2e-3)
    with pytest.raises(InputError, match='No initial strain is given for region "two"'):
        model.initial_strain({"one": (strain, 0.0)})


def test_it_is_scaled_by_cases_and_follows_another_grain():
    mesh = rectangle("triangle6", 60.0, 10.0, 6, 2)
    model = fesolve.PlaneModel(mesh, W1, thickness=20, grain=90.0).fix("left", ["x"]).fix("right", ["x"]).fix("A")
    model = model.initial_strain((0.0, 0.001), name="moisture").traction("top", (0.0, 1.0), name="lift")
    solution = model.solve([{"moisture": -6.0}, {"moisture": -3.0, "lift": 2.0}, {"lift": 1.0}])
    stress = solution.stress_xy[:, :, 0].mean(axis=1)
    assert stress[0] == pytest.approx(600 * 0.006, rel=1e-9)
    assert stress[1] == pytest.approx(0.5 * stress[0] + 2 * stress[2], rel=1e-9)
    turned = model.with_(grain=0.0).solve([{"moisture": -6.0}])
    assert np.abs(turned.stress_xy).max() < 1e-9  # across the grain is now free


def test_what_is_no_strain_is_refused():
    model = fesolve.PlaneModel(rectangle("triangle6"), W1, thickness=20, grain=0.0)
    with pytest.raises(InputError, match=r"An initial strain has shape \(3,\); give \(2,\) or"):
        model.initial_strain((0.1, 0.1, 0.1))
    with pytest.raises(InputError, match="not finite"):
        model.initial_strain((np.nan, 0.0))
