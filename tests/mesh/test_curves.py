"""Curves against closed forms of plane geometry (school geometry; derivations beside the numbers)."""

import math

import numpy as np
import pytest

from fesolve.mesh.curves import Curve, CurveSet, bowed, crossings, distance, fillet, line


def test_arc_over_a_chord():
    # chord 8, rise 2: R = (16 + 4) / 4 = 5, half angle asin(4/5)
    arc = bowed((0.0, 0.0), (8.0, 0.0), 2.0)
    assert arc.radius == pytest.approx(5.0, rel=1e-14)
    assert arc.length == pytest.approx(10 * math.asin(0.8), rel=1e-14)
    np.testing.assert_allclose(arc.point(arc.length / 2), (4.0, -2.0), atol=1e-12)
    np.testing.assert_allclose(bowed((0.0, 0.0), (8.0, 0.0), -2.0).point(arc.length / 2), (4.0, 2.0), atol=1e-12)


def test_half_circle():
    arc = bowed((0.0, 0.0), (8.0, 0.0), 4.0)
    assert arc.length == pytest.approx(4 * math.pi, rel=1e-14)
    np.testing.assert_allclose(arc.bounds, (0.0, 8.0, -4.0, 0.0), atol=1e-12)


def test_tangent_is_the_derivative_and_inward_its_left():
    arc = bowed((1.0, 2.0), (9.0, 5.0), -1.5)
    s, h = np.linspace(0.5, arc.length - 0.5, 7), 1e-5
    np.testing.assert_allclose(arc.tangent(s), (arc.point(s + h) - arc.point(s - h)) / (2 * h), atol=1e-9)
    turn = np.array([[0.0, 1.0], [-1.0, 0.0]])
    np.testing.assert_allclose(arc.inward(s), arc.tangent(s) @ turn, atol=1e-15)


@pytest.mark.parametrize("angle", [30.0, 60.0, 90.0, 120.0, 150.0])
def test_fillet_between_lines(angle):
    # setback r / tan(θ/2) on both sides of a corner with the inner angle θ
    theta = math.radians(angle)
    end = (100 - 80 * math.cos(theta), 80 * math.sin(theta))
    made = fillet(line((0.0, 0.0), (100.0, 0.0)), line((100.0, 0.0), end), 5.0)
    setback = 5.0 / math.tan(theta / 2)
    assert (100 - made.before, made.after) == pytest.approx((setback, setback), rel=1e-12)
    assert made.arc.length == pytest.approx(5.0 * (math.pi - theta), rel=1e-12)
    assert made.arc.ccw


@pytest.mark.parametrize("rise", [4.0, -4.0])
@pytest.mark.parametrize("corner", [(60.0, 40.0), (60.0, -40.0)], ids=["convex", "re-entrant"])
def test_fillet_between_arc_and_line_is_tangent_to_both(rise, corner):
    arc, after = bowed((0.0, 0.0), (60.0, 0.0), rise), line((60.0, 0.0), corner)
    made = fillet(arc, after, 3.0)
    assert made.arc.ccw == (corner[1] > 0)
    np.testing.assert_allclose(made.arc.tangent(0.0), arc.tangent(made.before), atol=1e-9)
    np.testing.assert_allclose(made.arc.tangent(made.arc.length), after.tangent(made.after), atol=1e-9)
    np.testing.assert_allclose(made.arc.start, arc.point(made.before), atol=1e-9)


def test_fillet_between_two_arcs():
    one, two = bowed((0.0, 0.0), (40.0, 0.0), 5.0), bowed((40.0, 0.0), (40.0, 40.0), 5.0)
    made = fillet(one, two, 4.0)
    np.testing.assert_allclose(made.arc.tangent(0.0), one.tangent(made.before), atol=1e-9)
    np.testing.assert_allclose(made.arc.tangent(made.arc.length), two.tangent(made.after), atol=1e-9)
    assert made.before == pytest.approx(one.length - made.after, rel=1e-9)  # mirror images of one another


def test_distances_on_common_normals():
    circle = Curve("arc", (10.0, 0.0), (-10.0, 0.0), (0.0, 0.0), 10.0)  # upper half
    assert distance(circle, line((-5.0, 13.0), (7.0, 13.0)))[0] == pytest.approx(3.0, rel=1e-12)
    other = Curve("arc", (-4.0, 25.0), (4.0, 25.0), (0.0, 25.0), 4.0)  # lower half of a circle above
    assert distance(circle, other)[0] == pytest.approx(25 - 10 - 4, rel=1e-12)
    assert distance(line((0.0, 0.0), (1.0, 0.0)), line((4.0, 4.0), (9.0, 4.0)))[0] == pytest.approx(5.0, rel=1e-12)


def test_crossings_and_hits_agree():
    curves = [line((-20.0, 1.0), (20.0, 3.0)), bowed((-10.0, -10.0), (10.0, 10.0), 3.0)]
    probe = line((-3.0, -30.0), (4.0, 30.0))
    t, column = CurveSet(curves).hits(np.array([probe.start]), np.subtract([probe.end], [probe.start]))
    for k, curve in enumerate(curves):
        found = sorted(x for x in t[0, column == k] if np.isfinite(x) and 0 <= x <= 1)
        expected = sorted(math.dist(p, probe.start) / probe.length for p in crossings(probe, curve))
        assert found == pytest.approx(expected, abs=1e-12)
        assert len(found) == 1


def test_distances_of_many_points_agree_with_one_by_one():
    curves = [line((0.0, 0.0), (5.0, 1.0)), bowed((5.0, 1.0), (0.0, 8.0), 2.0), bowed((0.0, 8.0), (0.0, 0.0), -1.0)]
    points = np.random.default_rng(1).uniform(-10, 15, (200, 2))
    found = CurveSet(curves).distances(points)
    expected = [[curve.nearest(tuple(p))[0] for curve in curves] for p in points]
    np.testing.assert_allclose(found, expected, atol=1e-12)
