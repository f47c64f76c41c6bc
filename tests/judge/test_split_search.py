"""The search on stress fields put in by hand: its answer grows as the stress, and spots far apart are all found."""

import numpy as np
import pytest

import fesolve
from fesolve.judge.criteria import SplitLength, SplitStrength, split_utilisation
from fesolve.judge.search import MOST_SPOTS, SplitSearch
from meshes import W1, hold_three, rectangle

F = SplitStrength(shear=8.0, tension=2.0, compression=5.0)
LENGTH = SplitLength(F, W1.crack_stiffness(), (0.12, 0.7), fixed=12.0)


@pytest.fixture(scope="module")
def sheet():
    """A sheet of 240 by 80 mm with its search; elements of 4 mm."""
    mesh = rectangle("triangle6", 240.0, 80.0, 60, 20)
    solution = hold_three(fesolve.PlaneModel(mesh, W1, 38.0, 0.0)).body_force((0.0, 0.0)).solve()
    return mesh.points[solution.stress_point], SplitSearch(solution, 0.0, LENGTH.least, np.empty((0, 2)))


def bumps(points, places, width=8.0):
    away = np.linalg.norm(points[:, None] - np.asarray(places), axis=2)
    return np.exp(-((away / width) ** 2))


@pytest.mark.parametrize("factor", [1e-3, 0.3, 7.0, 1e3])
def test_a_trace_of_pull_is_judged_in_proportion(sheet, factor):
    """Pressed wood under shear with a trace of pull of 0.3 % of f_t90 in a band: what counts as pressed altogether must
    not depend on how hard the part is loaded. The windows that leave the band show it."""
    points, search = sheet
    stress = np.zeros((len(points), 3))
    stress[:, 1] = 0.006 - 3.0 * np.minimum(np.abs(points[:, 0] - 120) / 30, 1.0) ** 4
    stress[:, 2] = 4.0 - ((points[:, 1] - 33) / 80) ** 2 - 0.001 * points[:, 0]  # one place is the worst
    one, many = search.run(stress, F, LENGTH), search.run(factor * stress, F, LENGTH)
    assert many.worst == pytest.approx(factor * one.worst, rel=1e-9)
    assert many.utilisation == pytest.approx(factor * one.utilisation, rel=1e-9)


def test_a_trace_below_a_hundredth_of_the_strength_keeps_the_credit_of_pressure(sheet):
    """0.01 f_t90 = 0.02 MPa of pull at the load at which the part splits: above it a pressed stretch counts as zero."""
    points, search = sheet
    stress = np.zeros((len(points), 3))
    stress[:, 1], stress[:, 2] = -3.0, 4.0
    pressed = search.run(stress, F, LENGTH).worst
    assert pressed == pytest.approx(split_utilisation(np.array([-3.0]), np.array([4.0]), F)[0], rel=1e-9)
    worst = []
    for trace in (0.2, 5.0):  # shares of the threshold
        stress[:, 1] = -3.0 + (3.0 + trace * 0.02 * pressed) * bumps(points, [(120, 40)])[:, 0]
        worst.append(search.run(stress, F, LENGTH).worst)
    free = split_utilisation(np.array([0.0]), np.array([4.0]), F)[0]  # the pressure counts as zero
    assert pressed < worst[0] < worst[1] == pytest.approx(free, rel=0.02)


def test_spots_apart_are_listed_worst_first_and_at_most_five(sheet):
    points, search = sheet
    places = [(24 + 38 * i, 40 + (-1) ** i * 20) for i in range(6)]
    sizes = np.array([1.0, 1.4, 1.2, 1.7, 0.9, 1.5])
    stress = np.zeros((len(points), 3))
    stress[:, 1] = bumps(points, places) @ sizes
    spots = search.run(stress, F, LENGTH).spots
    assert len(spots) == MOST_SPOTS == 5
    wanted = [places[i] for i in np.argsort(-sizes)][:5]
    for spot, place in zip(spots, wanted, strict=True):
        assert spot.at == pytest.approx(place, abs=2.5)
        assert spot.peak == pytest.approx(sizes[places.index(place)] / 2.0, rel=0.05)
    assert np.diff([spot.utilisation for spot in spots]).max() <= 0.0


def test_spots_below_half_of_the_worst_are_not_listed(sheet):
    points, search = sheet
    stress = np.zeros((len(points), 3))
    stress[:, 1] = bumps(points, [(60, 40), (180, 40)]) @ [1.5, 0.7]
    assert len(search.run(stress, F, LENGTH).spots) == 1
    stress[:, 1] = bumps(points, [(60, 40), (180, 40)]) @ [1.5, 0.8]
    assert len(search.run(stress, F, LENGTH).spots) == 2
