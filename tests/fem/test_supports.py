"""Supports: rollers on slopes, springs, pins, and the messages for parts that are not held."""

import dataclasses

import numpy as np
import pytest

import fesolve
from meshes import KINDS, W1, hold_three, plate_with_hole, rectangle

STEEL = fesolve.OrthotropicPlane(E_0=1e6, E_90=1e6, G=4e5, nu_0_90=0.25)


def turned(mesh, angle, shift=(0.0, 0.0)):
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    return dataclasses.replace(mesh, points=mesh.points @ np.array([[c, s], [-s, c]]) + np.asarray(shift))


@pytest.mark.parametrize("angle", [0.0, 20.0, 37.0, 90.0, 135.0])
@pytest.mark.parametrize("kind", KINDS)
def test_rollers_on_sloping_edges(kind, angle):
    """A bar on rollers all along two edges, pulled along a third: uniform stress in its own axes."""
    mesh = turned(rectangle(kind, distort=0.2), angle, (5.0, 900.0))
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    model = fesolve.PlaneModel(mesh, W1, thickness=2.0, grain=angle)
    solution = model.roller("left").roller("bottom").traction("right", (3 * c, 3 * s)).solve()
    assert solution.stress_grain == pytest.approx(
        np.broadcast_to([3.0, 0.0, 0.0], solution.stress_grain.shape), abs=1e-9
    )
    assert solution.reactions["left"] == pytest.approx([-120 * c, -120 * s], abs=1e-8)
    assert solution.reactions["bottom"] == pytest.approx([0, 0], abs=1e-8)
    right = mesh.edges["right"].ravel()
    assert solution.displacement[right] @ [c, s] == pytest.approx(40 * 3 / 12_000, rel=1e-9)


def test_a_corner_on_two_rollers_is_held_altogether():
    mesh = turned(rectangle("triangle6"), 30.0)
    solution = fesolve.PlaneModel(mesh, W1, 1.0, 0.0).roller("left").roller("bottom").force("C", (1.0, 1.0)).solve()
    corner = mesh.point_sets["A"][0]
    assert solution.displacement[corner] == pytest.approx([0, 0], abs=1e-15)


@pytest.mark.parametrize("kind", KINDS)
def test_springs_on_a_bar(kind):
    """Pulled by F on a spring bed of k N/mm per mm along an edge of 20 mm: u = F/(20 k) at the bed, exactly."""
    mesh = rectangle(kind)
    model = fesolve.PlaneModel(mesh, W1, thickness=2.0, grain=0.0)
    model = model.spring("left", 50.0).fix("A", axes=["y"]).traction("right", (1.0, 0.0))
    solution = model.solve()
    assert solution.displacement[mesh.edges["left"].ravel(), 0] == pytest.approx(40.0 / (20 * 50.0), rel=1e-9)
    assert solution.reactions["left"] == pytest.approx([-40.0, 0.0], abs=1e-9)
    assert solution.reactions["A"] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert solution.stress_xy[:, 0] == pytest.approx(1.0, abs=1e-9)


def test_springs_carry_shear_and_moment():
    """A stiff block on a bed along its foot: v = V/(k L), turn = M/(k L^3/12) (elementary statics of a rigid block)."""
    mesh = rectangle("quad8", length=60.0, depth=20.0)
    rigid = fesolve.OrthotropicPlane(E_0=1e6, E_90=1e6, G=4e5, nu_0_90=0.0)
    model = fesolve.PlaneModel(mesh, rigid, thickness=10.0, grain=0.0)
    solution = model.spring("bottom", 5.0, ["x", "y"]).force("right", (0.0, -300.0)).solve()
    turn = (-300.0 * 30) / (5.0 * 60**3 / 12)
    x = mesh.points[:, 0]
    assert solution.displacement[:, 1] == pytest.approx(-300.0 / (5.0 * 60) + turn * (x - 30), rel=2e-4, abs=2e-4)
    assert solution.reactions["bottom"] == pytest.approx([0.0, 300.0], abs=1e-5)
    (bed,) = solution.case_reactions[0]
    assert bed.moment(np.array([30.0, 0.0])) == pytest.approx(300.0 * 30, rel=1e-9)


def test_springs_on_a_slope_act_along_the_normal():
    mesh = turned(rectangle("triangle6"), 37.0)
    c, s = np.cos(np.radians(37)), np.sin(np.radians(37))
    model = fesolve.PlaneModel(mesh, W1, 2.0, 37.0).spring("left", 50.0).roller("bottom").traction("right", (c, s))
    solution = model.solve()
    assert solution.displacement[mesh.edges["left"].ravel()] @ [c, s] == pytest.approx(0.04, rel=1e-9)


@pytest.mark.parametrize("stiffness", [0.0, -1.0, np.nan, np.inf])
def test_spring_refused(stiffness):
    with pytest.raises(fesolve.InputError, match=r"Spring stiffness is .*give a value above 0"):
        fesolve.PlaneModel(rectangle("quad"), W1, 1.0, 0.0).spring("left", stiffness)


# ---- pins


def lever(center=(0.0, 0.0)):
    return plate_with_hole("triangle6", per_quarter=16, rings=8, center=center)


@pytest.mark.parametrize("angle", [0, 45, 90, 200])
def test_a_pin_ties_the_half_that_it_pushes_on(angle):
    """Held against turning by two corner loads that balance: pulled along `angle`, the pin's far half is free."""
    mesh = lever((100.0, 50.0))
    pull = 1000.0 * np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).pin("hole", (100.0, 50.0)).spring("outer", 1e-3, ["x", "y"])
    solution = model.body_force(pull / (38 * (6400 - np.pi * 100))).solve()
    reaction = next(r for r in solution.case_reactions[0] if r.name == "hole")
    force = reaction.resultant
    assert force == pytest.approx(-pull, rel=2e-3, abs=2.0)
    outward = (reaction.points - [100.0, 50.0]) / 10
    assert (outward @ force > 0).all()  # only the half that faces the pin's force is tied
    assert len(outward) == pytest.approx(65, abs=2)  # of 128 nodes on the circle
    radial = (solution.displacement[on_circle(mesh)] * (mesh.points[on_circle(mesh)] - [100.0, 50.0]) / 10).sum(axis=1)
    facing = (mesh.points[on_circle(mesh)] - [100.0, 50.0]) @ force > 1e-6 * np.linalg.norm(force)
    assert np.abs(radial[facing]).max() < 1e-12
    assert np.abs(radial[~facing]).max() > 1e-4
    # free of friction: the forces of the pin are radial
    cross = outward[:, 0] * reaction.forces[:, 1] - outward[:, 1] * reaction.forces[:, 0]
    assert np.abs(cross).max() < 1e-8 * np.abs(reaction.forces).max()


def on_circle(mesh):
    return np.unique(mesh.edges["hole"])


def test_a_lever_balances_about_its_pin():
    """Loads in the ratio of their arms: the pin takes their sum (the law of the lever)."""
    mesh = rectangle_with_pin()
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).pin("hole", (0.0, 0.0)).fix("rest", axes=["y"])
    solution = model.force("end", (0.0, -500.0)).solve()
    # the end's load acts at x = 40, the rest at x = -40: the rest pulls down as much
    assert solution.reactions["rest"] == pytest.approx([0.0, -500.0], rel=1e-7, abs=1e-6)
    assert solution.reactions["hole"] == pytest.approx([0.0, 1000.0], rel=1e-7, abs=1e-5)


def rectangle_with_pin():
    mesh = lever()
    at = {"rest": (-40.0, 0.0), "end": (40.0, 0.0)}
    sets = {name: np.flatnonzero(np.abs(mesh.points - place).max(axis=1) < 1e-9) for name, place in at.items()}
    return dataclasses.replace(mesh, point_sets=sets)


def test_a_mirrored_pull_turns_the_pin_about():
    mesh = rectangle_with_pin()
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).pin("hole", (0.0, 0.0)).fix("rest", axes=["y"])
    model = model.force("end", (30.0, -500.0), name="push")
    up, down = model.solve([{"push": 1.0}]), model.solve([{"push": -1.0}])
    one, two = up.reactions["hole"][0], down.reactions["hole"][0]
    assert one == pytest.approx(-two, rel=1e-6)
    pinned = [next(r for r in s.case_reactions[0] if r.name == "hole").points for s in (up, down)]
    assert np.sort(pinned[0], axis=0) == pytest.approx(np.sort(-pinned[1], axis=0), abs=1e-9)


# ---- parts that are not held


def free(model):
    with pytest.raises(fesolve.FreeMotionError) as caught:
        model.force("right", (1.0, 0.0)).solve()
    assert caught.value.exit_code == 2
    return str(caught.value)


@pytest.mark.parametrize("shift", [(0.0, 0.0), (1000.0, -500.0)])
def test_messages_for_a_part_that_can_move(shift):
    model = fesolve.PlaneModel(rectangle("triangle6", origin=shift), W1, 38.0, 0.0)
    x, y = shift
    assert "can slide in any direction and turn" in free(model)
    assert "can slide left and right (along x). Add a support" in free(model.fix("bottom", axes=["y"]))
    assert "can slide up and down (along y). Add a support" in free(model.fix("left", axes=["x"]))
    assert f"can turn about the point ({x:.1f}, {y:.1f}) mm" in free(model.fix("A"))
    assert f"can turn about the point ({x:.1f}, {y + 20:.1f}) mm" in free(model.fix("A", ["y"]).fix("C", ["x"]))
    assert "can slide left and right (along x) and turn" in free(model.fix("A", ["y"]))
    assert "can slide up and down (along y) and turn" in free(model.fix("A", ["x"]))


@pytest.mark.parametrize(
    ("angle", "words"), [(37.0, "slide along 37 deg from x"), (150.0, "slide along 150 deg from x")]
)
def test_message_for_a_slide_along_a_slope(angle, words):
    mesh = turned(rectangle("triangle6"), angle)
    assert words in free(fesolve.PlaneModel(mesh, W1, 38.0, 0.0).roller("bottom"))


def test_a_pin_alone_may_turn():
    mesh = lever((30.0, 40.0))
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).pin("hole", (30.0, 40.0))
    with pytest.raises(fesolve.FreeMotionError, match=r"turn about the point \(30.0, 40.0\) mm"):
        model.force("outer", (1.0, 0.0)).solve()


def test_springs_hold_a_part():
    model = fesolve.PlaneModel(rectangle("triangle6"), W1, 38.0, 0.0).spring("left", 1.0, ["x", "y"])
    assert model.force("right", (1.0, 0.0)).solve().reactions["left"] == pytest.approx([-1.0, 0.0], abs=1e-9)
    normal = fesolve.PlaneModel(rectangle("triangle6"), W1, 38.0, 0.0).spring("left", 1.0)
    assert "slide up and down (along y)" in free(normal)


def test_holding_only_rigid_motion_takes_no_force():
    model = hold_three(fesolve.PlaneModel(rectangle("quad8"), STEEL, 1.0, 0.0))
    solution = model.traction("right", (5.0, 0.0)).traction("left", (-5.0, 0.0)).solve()
    assert all(np.abs(force).max() < 1e-9 for force in solution.reactions.values())
