"""Reactions and internal forces by statics, against sums done by hand."""

import numpy as np
import pytest
from beams import board, fixed, load_at, make_part, push, rest
from hypothesis import given
from hypothesis import strategies as st

from fesolve.judge.statics import Actions, internal_forces, seat, statics_reactions
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.outline import part_outline

PIVOT = '[[hole]]\nname = "pivot"\ncenter = ["70 mm", "70 mm"]\ndiameter = "25 mm"\n'
PIN = '[[support]]\nname = "pin"\nkind = "pin"\non = "hole pivot"\n'
TOP = '"edge C-D"'


def solve(part, loads):
    return statics_reactions(part, mesh_part(part, part_outline(part), scale=3.0), loads)


def log_stop(F=1.0):
    patch = 'from = "90 mm"\nto = "110 mm"\n'
    part = make_part(board(420, 140), PIVOT + PIN + rest("beam", 190, 230) + push(0, -1000, on=TOP, extra=patch))
    x = 310 + np.linspace(0.5, 19.5, 20)
    return part, [load_at(np.stack([x, np.full(20, 140.0)], axis=1), np.tile([0.0, -F / 20], (20, 1)))]


def test_log_stop_reactions():
    # moments about the pin: F 250 = R 140, so R = 1.786 F and the pin holds 0.786 F back
    part, loads = log_stop()
    pin, beam = solve(part, loads)
    assert beam.force == pytest.approx([0, 250 / 140], abs=1e-9)
    assert pin.force == pytest.approx([0, -110 / 140], abs=1e-9)
    assert beam.force[1] == pytest.approx(1.786, abs=5e-4)


def test_log_stop_shear_and_moment():
    part, loads = log_stop()
    actions = Actions.of(loads)
    for reaction in solve(part, loads):
        actions = actions + reaction.actions
    axis = np.array([1.0, 0.0])
    cut = {x: internal_forces(actions, np.array([x, 70.0]), axis) for x in (20.0, 130.0, 270.0, 400.0)}
    assert cut[20.0] == pytest.approx((0, 0, 0), abs=1e-9)
    assert cut[130.0] == pytest.approx((0, 110 / 140, 60 * 110 / 140), abs=1e-9)
    assert cut[270.0] == pytest.approx((0, -1.0, 50.0), abs=1e-9)
    assert cut[400.0] == pytest.approx((0, 0, 0), abs=1e-9)


def test_cantilever_reaction_is_force_and_moment():
    # tip load 900 N downwards at 300 mm: 900 N up and 270,000 N mm at the wall
    part = make_part(board(300, 60), fixed() + push(0, -900))
    (wall,) = solve(part, [load_at([300, 30], [0, -900])])
    assert wall.force == pytest.approx([0, 900])
    assert wall.moment == pytest.approx(270_000)


def test_spring_and_roller_and_axes():
    springs = '[[support]]\nname = "pad"\nkind = "spring"\non = "edge A-B"\nfrom = "0 mm"\nto = "20 mm"\n'
    springs += 'stiffness = "50 N/mm^2"\n'
    roller = '[[support]]\nname = "end"\nkind = "roller"\non = "edge A-B"\nfrom = "280 mm"\nto = "300 mm"\n'
    part = make_part(board(300, 60), springs + roller + push(0, -900))
    pad, end = part.supports  # a spring that acts along both axes is said in Python only
    part = part.model_copy(update={"supports": (pad.model_copy(update={"axes": ("x", "y")}), end)})
    pad, end = solve(part, [load_at([150, 60], [40, -900])])
    # 900 N at mid-span of bearings 10 and 290 mm from the end; 40 N along acts 60 mm above both
    tip = 40 * 60 / 280
    assert pad.force == pytest.approx([-40, 450 - tip])
    assert end.force == pytest.approx([0, 450 + tip])


def test_held_twice_is_not_statics():
    # two walls: six unknowns
    part = make_part(board(300, 60), fixed() + fixed("B-C").replace("wall", "other") + push(0, -9, on=TOP))
    assert solve(part, [load_at([150, 60], [0, -9])]) is None


def test_three_that_do_not_hold_are_not_statics():
    # three parallel bearings cannot hold a push along them
    part = make_part(board(300, 60), rest("a", 0, 20) + rest("b", 140, 160) + rest("c", 280, 300) + push(0, -9, on=TOP))
    assert solve(part, [load_at([150, 60], [0, -9])]) is None


def test_one_axis_of_a_wall_resists_turning():
    # the end grain held along x only, and a rest: force and moment at the wall, one at the rest
    wall = fixed() + 'axes = ["x"]\n'
    part = make_part(board(300, 60), wall + rest("pad", 90, 110) + push(0, -900))
    held, pad = solve(part, [load_at([300, 30], [0, -900])])
    assert pad.force == pytest.approx([0, 900])
    assert held.force == pytest.approx([0, 0], abs=1e-9)
    assert held.moment == pytest.approx(900 * 200)


@given(fx=st.floats(-1e4, 1e4), fy=st.floats(-1e4, 1e4))
def test_reactions_balance_any_push(fx, fy):
    part, _ = log_stop()
    loads = [load_at([320, 140], [fx, fy])]
    reactions = statics_reactions(part, MESH, loads)
    total = Actions.of(loads)
    for reaction in reactions:
        total = total + reaction.actions
    size = abs(fx) + abs(fy) + 1.0
    assert total.wrench(np.array([33.0, -7.0])) / [size, size, size * 420] == pytest.approx([0, 0, 0], abs=1e-9)


MESH = mesh_part(log_stop()[0], part_outline(log_stop()[0]), scale=3.0)


def test_pin_force_is_spread_over_half_its_hole():
    # radial, so without moment about the centre; half of it on each side of the middle
    part, loads = log_stop()
    pin = statics_reactions(part, MESH, loads)[0].actions
    assert pin.forces.sum(axis=0) == pytest.approx([0, -110 / 140])
    assert pin.wrench(np.array([70.0, 70.0]))[2] == pytest.approx(0, abs=1e-9)
    assert (pin.points[:, 1] <= 70).all()
    assert pin.forces[pin.points[:, 0] < 70].sum(axis=0)[1] == pytest.approx(-55 / 140)


def test_seat_of_an_edge_and_a_corner():
    part, _ = log_stop()
    beam = seat(part, MESH, "support", "beam", part.supports[1].on)
    assert beam.middle == pytest.approx([210, 0])
    assert beam.lengths.sum() == pytest.approx(40)
    tip = '[[support]]\nname = "tip"\nkind = "fixed"\non = "corner B"\n'
    corner = make_part(board(300, 60), tip + fixed() + push(0, -9))
    mesh = mesh_part(corner, part_outline(corner), scale=3.0)
    assert seat(corner, mesh, "support", "tip", corner.supports[0].on).middle == pytest.approx([300, 0])


def test_what_acts_on_the_cut_counts_half():
    on = Actions(np.array([[50.0, 0.0]]), np.array([[0.0, 10.0]]), np.zeros(1))
    assert internal_forces(on, np.array([50.0, 0.0]), np.array([1.0, 0.0])) == (0.0, -5.0, 0.0)
