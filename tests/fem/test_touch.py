"""The scheme of stepping, the springs of a striker, and forces of one-way contact, without a part."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fesolve.errors import InputError, SolveError
from fesolve.fem.bounded import BoundedForces
from fesolve.fem.impact import Chain, Link
from fesolve.fem.scheme import Scheme
from fesolve.fem.spring_law import SpringLaw
from fesolve.fem.touch import Touch


def one_step(scheme, omega):
    """What a step makes of (u, v, a) of a free oscillator, (3, 3)."""
    way = np.array([-(omega**2), *scheme.carried]) / (omega**2 + scheme.inertia)
    return scheme.update[:, :3] + np.outer(scheme.update[:, 3], way)


@pytest.mark.parametrize("rho", [0.0, 0.3, 0.8, 1.0])
def test_fast_swings_are_damped_to_rho(rho):
    """Spectral radius of a step that is far too long: ρ_∞ (J. Chung, G. M. Hulbert 1993, its definition)."""
    radius = np.abs(np.linalg.eigvals(one_step(Scheme(1.0, rho), 1e6))).max()
    assert radius == pytest.approx(rho, abs=1e-2 if rho == 0.0 else 1e-4)  # three equal eigenvalues round badly


@pytest.mark.parametrize("rho", [0.0, 0.5, 0.8, 1.0])
def test_order_two_on_an_oscillator(rho):
    """u = cos t after t = 5, by 50, 100 and 200 steps."""
    errors = []
    for count in (50, 100, 200):
        matrix, state = one_step(Scheme(5.0 / count, rho), 1.0), np.array([1.0, 0.0, -1.0])
        errors.append(abs((np.linalg.matrix_power(matrix, count) @ state)[0] - math.cos(5.0)))
    assert np.log2(np.divide(errors[:-1], errors[1:])) == pytest.approx(2.0, abs=0.1)


def test_average_acceleration_keeps_energy_and_has_its_known_period():
    """tan(ω' Δt/2) = ω Δt/2: the frequency that average acceleration gives (textbook)."""
    values = np.linalg.eigvals(one_step(Scheme(0.3), 1.0))
    swinging = values[np.abs(values.imag) > 1e-9]
    assert np.abs(swinging) == pytest.approx(1.0, rel=1e-12)
    assert abs(np.angle(swinging[0])) == pytest.approx(2 * math.atan(0.15), rel=1e-12)


def test_scheme_refuses():
    with pytest.raises(InputError, match="time step is 0 s"):
        Scheme(0.0)
    with pytest.raises(InputError, match=r"rho is 1.2; .*0 to 1"):
        Scheme(1.0, 1.2)


# ---- springs


def test_law_of_striker_and_pad():
    """Pad 100 N/mm, 4 mm, before a striker of 2000 N/mm; full at 400 N and 4.2 mm; the face bears 1000 N."""
    law = SpringLaw.of(Chain((Link("striker", 2000.0), Link("pad", 100.0, 4.0))), limit=1000.0)
    assert law.at(-1.0) == 0.0 and law.work(-1.0) == 0.0
    assert law.at(4.2) == pytest.approx(400.0) and law.at(4.4) == pytest.approx(800.0)
    assert law.yields == pytest.approx(4.5) and law.at(9.0) == pytest.approx(1000.0)
    assert law.work(5.5) == pytest.approx(0.5 * 400 * 4.2 + 0.5 * 1400 * 0.3 + 1000.0)
    assert SpringLaw.of(Chain((Link("striker", 2000.0),))).yields == math.inf


@given(st.floats(-5.0, 20.0), st.floats(-5.0, 20.0))
def test_mean_force_times_way_is_work(start, end):
    law = SpringLaw.of(Chain((Link("striker", 2000.0), Link("pad", 100.0, 4.0))), limit=1000.0)
    assert law.mean(start, end) * (end - start) == pytest.approx(law.work(end) - law.work(start), rel=1e-9, abs=2e-3)
    assert min(law.at(start), law.at(end)) - 1e-6 <= law.mean(start, end) <= max(law.at(start), law.at(end)) + 1e-6


# ---- forces


@settings(deadline=None)  # the first run imports scipy
@given(st.integers(0, 10_000), st.integers(1, 12), st.booleans())
def test_bounded_forces_meet_their_conditions(seed, count, limited):
    random = np.random.default_rng(seed)
    half = random.normal(size=(count, count + 2))
    matrix, speed = half @ half.T + 1e-3 * np.eye(count), random.normal(size=count)
    limit = random.uniform(0.01, 0.3, count) if limited else np.full(count, math.inf)
    here, still, problem = np.ones(count, bool), np.zeros(count), BoundedForces(matrix)
    for forces in (problem.solve(here, speed, limit, still), problem._one_by_one(here, speed, limit, still)):
        after = speed + matrix @ forces
        assert (forces >= -1e-9).all() and (forces <= limit + 1e-9).all()
        assert (after[forces < limit - 1e-9] >= -1e-7).all()
        assert (after[forces > 1e-9] <= 1e-7).all()


def two_masses(scheme, heavy, light, law=None, limit=math.inf, gap=0.0):
    """A striker (1, speed 1000) on a loose mass: both are free, the springs between them are all there is."""
    answer = (1 / heavy + 1 / light) / scheme.inertia
    motion = np.array([[0.0], [-1000.0], [0.0]])
    return Touch(
        scheme, np.array([[answer]]), np.array([[1 / heavy + 1 / light]]), np.array([gap]), np.array([limit]), law,
        np.array([True]), motion, np.zeros(1, bool), np.zeros(1), np.zeros((1, 1)),
    )  # fmt: skip


def go(touch, count):
    """Both masses by their momentum: r' after some steps, and what contact did."""
    done = []
    for _ in range(count):
        done.append(touch.step(np.array([touch.scheme.carried @ touch.motion[1:, 0] / touch.scheme.inertia])))
    return done


def test_hard_masses_go_on_together():
    """Inelastic: p = v/(1/m + 1/M), half of p v is lost (elementary mechanics); no force after it."""
    touch = two_masses(Scheme(1e-4), 0.03, 0.01)
    done = go(touch, 5)
    assert done[0].impulses[0] == pytest.approx(1000.0 / 133.3333333333, rel=1e-9)
    assert touch.lost == pytest.approx(0.5 * 7.5 * 1000.0, rel=1e-9)
    assert touch.motion[1, 0] == pytest.approx(0.0, abs=1e-9)
    assert max(abs(step.forces[0]) for step in done) < 1e-6


def test_masses_with_a_spring_bounce():
    """Elastic: r' is turned round; greatest force v sqrt(k m), m the reduced mass; half a period π sqrt(m/k)."""
    law = SpringLaw.of(Chain((Link("striker", 300.0),)))
    reduced = 0.0075
    period = math.pi * math.sqrt(reduced / 300.0)
    touch = two_masses(Scheme(period / 400), 0.03, 0.01, law)
    forces = np.array([step.forces[0] for step in go(touch, 500)])
    assert touch.motion[1, 0] == pytest.approx(1000.0, rel=1e-9)
    assert forces.max() == pytest.approx(1000.0 * math.sqrt(300.0 * reduced), rel=1e-3)
    assert (forces > 0).sum() == pytest.approx(400, abs=2)
    assert touch.lost == 0.0


def test_crushed_spring_gives_back_only_what_it_holds():
    """Face of 1000 N on 300 N/mm: F^2/(2 k) comes back, the rest is lost over the dent (energy by hand)."""
    law = SpringLaw.of(Chain((Link("striker", 300.0),)), 1000.0)
    touch = two_masses(Scheme(1e-5), 0.03, 0.01, law, limit=1000.0)
    forces = np.array([step.forces[0] for step in go(touch, 3000)])
    energy, kept = 0.5 * 0.0075 * 1000.0**2, 1000.0**2 / 600.0
    assert forces.max() == pytest.approx(1000.0, rel=1e-9)
    assert 0.5 * 0.0075 * touch.motion[1, 0] ** 2 == pytest.approx(kept, rel=1e-6)
    assert touch.lost == pytest.approx(energy - kept, rel=1e-6)
    assert touch.dents[0] == pytest.approx((energy - kept) / 1000.0, rel=1e-6)


def test_a_gap_is_crossed_first_and_a_hard_face_can_be_crushed():
    """0.5 mm at 1000 mm/s take 0.5 ms; then 2000 N stop 0.0075 tonne in 3.75 ms over 1.875 mm (by hand)."""
    touch = two_masses(Scheme(1e-5), 0.03, 0.01, limit=2000.0, gap=0.5)
    done = go(touch, 600)
    pressed = np.array([step.forces[0] for step in done]) > 0
    assert np.argmax(pressed) in (49, 50)
    assert pressed.sum() * 1e-5 == pytest.approx(3.75e-3, rel=0.01)
    assert touch.dents[0] == pytest.approx(1.875, rel=0.01)
    assert touch.lost == pytest.approx(0.5 * 0.0075 * 1000.0**2, rel=1e-3)


def test_a_fixed_row_beside_the_striker_s():
    """A row with e = 0 takes no part in the striker's mass: a wall behind a mass stops it alone."""
    scheme = Scheme(1e-4)
    mobility = np.array([[1 / 0.01, 1 / 0.01], [1 / 0.01, 1 / 0.01 + 1 / 0.03]])
    motion = np.array([[0.0, 0.0], [-500.0, 500.0], [0.0, 0.0]])  # the mass runs from the striker into the wall
    touch = Touch(
        scheme, mobility / scheme.inertia, mobility, np.zeros(2), np.full(2, math.inf), None,
        np.array([False, True]), motion, np.zeros(2, bool), np.zeros(2), np.zeros((2, 2)),
    )  # fmt: skip
    step = touch.step(scheme.carried @ touch.motion[1:] / scheme.inertia)
    assert step.impulses == pytest.approx([5.0, 0.0])
    assert touch.motion[1] == pytest.approx([0.0, 1000.0])


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 10_000))
def test_two_hundred_rows_close_to_one_another(seed):
    """Compliance that falls off slowly from row to row, a third of the rows twice: both ways end, and agree."""
    random = np.random.default_rng(seed)
    place = np.sort(random.uniform(0.0, 1.0, 150))
    place = np.concatenate([place, place[::3]])
    matrix = np.exp(-10.0 * np.abs(place[:, None] - place)) + 1e-6 * np.exp(-0.1 * np.abs(place[:, None] - place))
    speed, free = np.sin(20.0 * place + random.uniform(0, 6)), np.full(len(place), math.inf)
    here, problem = random.uniform(size=len(place)) < 0.9, BoundedForces(matrix)
    for forces in (
        problem.solve(here, speed, free, np.zeros(len(place))),
        problem.solve(here, speed, free, random.uniform(0, 5, len(place))),
        problem._one_by_one(here, speed, free, np.zeros(len(place))),
    ):
        after = speed + matrix @ forces
        assert (forces >= 0.0).all() and (forces[~here] == 0.0).all()
        assert (after[here] > -1e-6).all() and np.abs(after[forces > 1e-6]).max() < 1e-6


def test_what_cannot_be_is_refused():
    """Never not-a-number in silence."""
    both, free = np.ones(2, bool), np.full(2, math.inf)
    for strange in (math.nan, math.inf, -math.inf):
        with pytest.raises(SolveError, match="no finite way"):
            BoundedForces(np.eye(2)).solve(both, np.array([-1.0, strange]), free, np.zeros(2))
    with pytest.raises(SolveError, match="answers to no force"):
        BoundedForces(np.array([[1.0, 2.0], [2.0, 1.0]])).solve(both, -np.ones(2), free, np.ones(2))
