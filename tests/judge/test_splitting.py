"""Grain lines, windows and hot spots."""

import dataclasses

import numpy as np
import pytest
from parts import STRENGTH, check, document, held, in_xy, uniform

import fesolve
from fesolve.fem.boundary import boundary_sides
from fesolve.judge.criteria import SplitLength, SplitStrength, split_utilisation
from fesolve.judge.lines import CORNER_OFFSET, GrainLines, crossings, row_heights, stretches, to_grain
from fesolve.judge.modes import Inspection
from fesolve.judge.patches import patches_of
from fesolve.judge.search import SplitSearch
from fesolve.judge.splitting import ACROSS, PULL, SHEAR, SIZE, Integrals, find_windows, worst_at_samples
from meshes import W1, hold_three, plate_with_hole, rectangle, rim, uniform_loads

F = SplitStrength(shear=8.0, tension=2.0, compression=5.0)
LENGTH = SplitLength(F, W1.crack_stiffness(), (0.12, 0.7))


def line(stress, step=0.5, threshold=0.02):
    """One grain line with given stress (N, 3) at even samples, as integrals."""
    count = len(stress)
    zeros = np.zeros(count, dtype=np.int64)
    along = step * np.arange(count)
    lines = GrainLines(
        0.0, np.zeros(1), zeros[:1], np.array([0, count]), np.array([step]), zeros, along, zeros,
        np.zeros((count, 2)), np.array([True]), np.array([[0.0, along[-1]]]),
    )  # fmt: skip
    return Integrals.of(lines, stress, stress[:, 0], threshold)


def own_length(mm):
    return dataclasses.replace(LENGTH, fixed=mm)


# ---- means over windows


def test_a_pressed_stretch_counts_as_zero_beside_a_pulled_one():
    """1 MPa of pull on 0..50 mm, 3 MPa of pressure on 50..100 mm; by the rule of the theory page."""
    stress = np.zeros((201, 3))
    stress[:, 1] = np.where(np.arange(201) <= 100, 1.0, -3.0)
    integrals = line(stress)
    start, sense = np.array([0, 90, 110, 200, 110]), np.array([1, 1, 1, -1, -1])
    mean = integrals.means(start, sense, np.full(5, 20.0))
    # the first lies in the pull, the second has 5 of 20 mm of it (and half a step of the change), the third none
    assert mean[:, ACROSS] == pytest.approx([1.0, 0.25 + 0.25 / 20, -3.0, -3.0, (15 + 0.25) / 20], abs=1e-9)
    assert mean[:, PULL] == pytest.approx([1.0, 0.2625, 0.0, 0.0, 0.7625], abs=1e-9)


def test_a_trace_of_pull_does_not_undo_the_pressure():
    """Only what exceeds 0.01 f_t90 at splitting counts as pull."""
    stress = np.zeros((201, 3))
    stress[:, 1], stress[:, 2] = -3.0, 4.0
    stress[100, 1] = 0.019
    mean = line(stress, threshold=0.02).means(np.array([80]), np.array([1]), np.array([20.0]))
    assert mean[0, ACROSS] < -2.8
    stress[100, 1] = 0.021
    mean = line(stress, threshold=0.02).means(np.array([80]), np.array([1]), np.array([20.0]))
    assert 0.0 < mean[0, ACROSS] < 0.01


def test_means_of_shear_are_signed():
    stress = np.zeros((201, 3))
    stress[:, 2] = np.where(np.arange(201) < 100, 4.0, -4.0)
    mean = line(stress).means(np.array([80, 0]), np.array([1, 1]), np.array([20.0, 20.0]))
    assert abs(mean[0, SHEAR]) < 0.2 and mean[0, SIZE] == pytest.approx(4.0, abs=0.11)
    assert mean[1, SHEAR] == pytest.approx(4.0)


def test_a_stretch_too_short_for_a_window_counts_whole():
    """With the mean of |τ|, since τ of both signs cancels on a whole line."""
    stress = np.zeros((21, 3))
    stress[:, 2] = np.where(np.arange(21) < 10, 4.0, -4.0)
    stress[10, 2] = 0.0
    windows = find_windows(line(stress), F, own_length(30.0))
    assert len(windows.start) == 1 and windows.short[0]
    assert windows.length[0] == pytest.approx(10.0)
    assert windows.shear[0] == pytest.approx(4.0, rel=0.06)
    assert windows.utilisation[0] == pytest.approx(windows.shear[0] / 8.0)
    assert not find_windows(line(stress), F, own_length(8.0)).short.any()


def test_windows_stay_on_their_line():
    """Starts from which a window would leave the wood are dropped; a line as long as the window has two."""
    stress = np.ones((61, 3))
    windows = find_windows(line(stress), F, own_length(12.0))
    low, high = windows.span()
    assert low.min() == 0 and high.max() == 60
    assert len(windows.start) == 2 * (61 - 24)
    assert len(find_windows(line(stress), F, own_length(30.0)).start) == 2


def test_windows_are_as_long_as_their_own_mean_asks():
    """L >= x0(means over L), the least such: on a line whose stress changes along it."""
    x = np.linspace(0, 1, 1201)
    stress = np.column_stack([0 * x, 2 * np.cos(3 * x), 1 + 4 * x])
    windows = find_windows(line(stress, step=0.1), F, LENGTH)
    asked = LENGTH.exact(windows.across, windows.shear)
    assert (windows.length >= asked * (1 - 1e-5)).all()
    assert windows.length == pytest.approx(asked, rel=5e-3)
    assert not windows.short.any() and len(windows.start) > 1200


def test_windows_of_even_stress_have_the_length_of_the_ray():
    for across, shear in ((1.0, 0.0), (0.0, 2.0), (1.0, 3.0), (-2.0, 3.0)):
        stress = np.tile([0.0, across, shear], (1001, 1))
        windows = find_windows(line(stress, step=0.2), F, LENGTH)
        assert windows.length == pytest.approx(float(LENGTH.exact(across, shear)), rel=1e-4)
        exact = split_utilisation(np.array([across]), np.array([shear]), F)[0]
        assert windows.utilisation == pytest.approx(exact, rel=1e-12)


def test_worst_at_samples_against_a_plain_loop():
    rng = np.random.default_rng(4)
    x = np.linspace(0, 1, 301)
    stress = np.column_stack([0 * x, rng.normal(size=301).cumsum() / 5, rng.normal(size=301)])
    windows = find_windows(line(stress, step=0.5), F, LENGTH, stride=3)
    low, high = windows.span()
    plain = np.zeros(301)
    for a, b, u in zip(low, high, windows.utilisation, strict=True):
        plain[a : b + 1] = np.maximum(plain[a : b + 1], u)
    assert worst_at_samples(windows, windows.utilisation) == pytest.approx(plain, abs=0.0)


# ---- lines and their ends


@pytest.mark.parametrize("grain", [0.0, 90.0, 33.0])
@pytest.mark.parametrize("center", [(0.0, 0.0), (1000.0, -700.0)])
def test_rows_cross_a_plate_with_a_hole_an_even_number_of_times(center, grain):
    """Rows at random heights, through nodes and touching the hole; the wood on them is as long as geometry says."""
    mesh = plate_with_hole("triangle6", per_quarter=12, rings=6, center=center)
    turned = to_grain(mesh.points, grain)
    ends = turned[boundary_sides(mesh.cells)]
    v0 = float(to_grain(np.array([center]), grain)[0, 1])
    low, high = turned[:, 1].min(), turned[:, 1].max()
    heights = np.random.default_rng(1).uniform(low + 0.1, high - 0.1, 400)
    heights = np.unique(np.concatenate([heights, turned[::7, 1], v0 + np.array([-10, 10, 0, -10 + 1e-9, 10 - 1e-9])]))
    heights = heights[(heights > low + 1e-6) & (heights < high - 1e-6)]  # rows of a search lie inside the part
    row, _ = crossings(ends, heights)
    assert (np.bincount(row, minlength=len(heights)) % 2 == 0).all()
    row, begin, end = stretches(ends, heights)
    length = np.bincount(row, end - begin, minlength=len(heights))
    exact = square_chord(heights - v0, grain) - 2 * np.sqrt(np.maximum(100 - (heights - v0) ** 2, 0.0))
    well = np.abs(np.abs(heights - v0) - 10) > 0.01  # a chord near the tangent is as wrong as the parabola's sagitta
    assert length[well] == pytest.approx(exact[well], abs=0.02)


def square_chord(height, grain, half=40.0):
    """Length of the line at a height inside the square |x|, |y| <= half, the line at an angle."""
    c, s = np.cos(np.radians(grain)), np.sin(np.radians(grain))
    low, high = np.full_like(height, -np.inf), np.full_like(height, np.inf)
    for along, off in ((c, -s * height), (s, c * height)):
        if abs(along) < 1e-12:
            inside = np.abs(off) <= half
            low, high = np.where(inside, low, 0.0), np.where(inside, high, 0.0)
            continue
        ends = np.sort([(-half - off) / along, (half - off) / along], axis=0)
        low, high = np.maximum(low, ends[0]), np.minimum(high, ends[1])
    return np.maximum(high - low, 0.0)


def notched(shift=(0.0, 0.0)):
    """A rectangle of 60 by 30 mm with a square notch of 20 by 10 mm in the middle of its top."""
    mesh = rectangle("triangle6", 60.0, 30.0, 12, 6)
    cells = mesh.cells["triangle6"]
    middle = mesh.points[cells[:, :3]].mean(axis=1)
    keep = ~((middle[:, 0] > 20) & (middle[:, 0] < 40) & (middle[:, 1] > 20))
    used, inverse = np.unique(cells[keep], return_inverse=True)
    cells = inverse.reshape(-1, 6)
    points = mesh.points[used] + np.asarray(shift)
    return fesolve.Mesh(points, {"triangle6": cells}, edges={"rim": rim("triangle6", cells)})


def test_rows_along_the_floor_of_a_notch():
    """Below it one stretch, above it two; at its very height no half stretch."""
    mesh = notched()
    ends = mesh.points[boundary_sides(mesh.cells)]
    heights = np.array([5.0, 10.0, 19.9, 20.0 - 1e-5, 20.0, 20.0 + 1e-5, 25.0, 27.5, 29.99])
    row, begin, end = stretches(ends, heights)
    lengths = np.bincount(row, end - begin, minlength=len(heights))
    assert lengths[[0, 1, 2, 3]] == pytest.approx(60.0)
    assert lengths[[5, 6, 7, 8]] == pytest.approx(40.0)
    assert lengths[4] in (pytest.approx(40.0), pytest.approx(60.0))
    assert (np.bincount(row)[5:] == 2).all()


def test_two_lines_beside_every_re_entrant_corner():
    found = row_heights(0.0, 30.0, 0.4, np.array([20.0, 20.0, 0.0]))
    assert CORNER_OFFSET == 1e-5
    for height in (20 - 1e-5, 20 + 1e-5, 1e-5):
        assert np.abs(found - height).min() < 1e-12
    assert (np.diff(found) > 0).all() and found[0] > 0.0 and found[-1] < 30.0
    assert np.diff(found).max() <= 0.4 + 1e-12


def test_a_sharp_notch_is_searched_on_both_sides():
    """Through a part file: lines 1e-5 mm above and below the floor of a notch without a round."""
    notch = {"name": "N", "edge": "C-D", "from": "60 mm", "to": "90 mm", "depth": "20 mm"}
    doc = document([(0, 0), (150, 0), (150, 60), (0, 60)], notch=[notch], support=held(), load=bending(150, 60))
    result = check(doc)
    heights = SplitSearch(result.solution, 0.0, 10.0, np.array([[60.0, 40.0]])).sweep.heights
    assert np.abs(heights - (40 - 1e-5)).min() < 1e-9 and np.abs(heights - (40 + 1e-5)).min() < 1e-9
    at = np.array(result.verdict.hotspots[0].at)  # a little below the floor, whatever the elements' size at the corner
    assert min(np.linalg.norm(at - corner) for corner in ((60.0, 40.0), (90.0, 40.0))) < 1.5


def bending(length, depth):
    """Forces on patches of the upper and lower edge in balance: two pushes down at the ends, one up in the middle."""
    push = [("left", 0, 10, -500.0), ("right", length - 10, length, -500.0)]
    loads = [
        {"name": n, "on": "edge C-D", "from": f"{length - b} mm", "to": f"{length - a} mm", "force": ["0 N", f"{f} N"]}
        for n, a, b, f in push
    ]
    middle = {"from": f"{length / 2 - 10} mm", "to": f"{length / 2 + 10} mm", "force": ["0 N", "1000 N"]}
    return [*loads, {"name": "up", "on": "edge A-B", **middle}]


# ---- hot spots


def holed(stress, shift=(0.0, 0.0), **more):
    doc = uniform(stress, **more)
    doc["hole"] = [{"name": "h", "center": [f"{75 + shift[0]} mm", f"{40 + shift[1]} mm"], "diameter": "20 mm"}]
    for corner in doc["outline"]["corners"]:
        x, y = (float(text.removesuffix(" mm")) for text in corner["at"])
        corner["at"] = [f"{x + shift[0]} mm", f"{y + shift[1]} mm"]
    return check(doc)


def test_both_sides_of_a_hole_are_two_hot_spots():
    """Pulled across the grain a hole is worst on the grain line through its centre, alike on both sides."""
    spots = holed((0.0, 1.0, 0.0)).verdict.hotspots
    assert len(spots) == 2
    left, right = sorted(spots, key=lambda spot: spot.at[0])
    assert left.at == pytest.approx((65.0, 40.0), abs=1.0) and right.at == pytest.approx((85.0, 40.0), abs=1.0)
    assert left.utilisation == pytest.approx(right.utilisation, rel=0.01)
    assert left.path[1][0] < left.path[0][0] and right.path[1][0] > right.path[0][0]
    assert left.exits_at == pytest.approx((0.0, left.at[1])) and right.exits_at == pytest.approx((150.0, right.at[1]))
    assert spots[0].rank == 1 and spots[0].utilisation >= spots[1].utilisation


@pytest.mark.parametrize("stress", [(0.0, 1.0, 0.0), (0.0, 0.0, 3.0), (4.0, 1.0, 2.0)])
@pytest.mark.parametrize("grain", [0.0, 25.0])
def test_a_uniform_field_is_one_hot_spot(stress, grain):
    assert len(check(uniform(stress, grain=grain)).verdict.hotspots) == 1


@pytest.mark.parametrize("grain", [0.0, 30.0])
def test_far_from_the_origin_nothing_changes(grain):
    """The same part drawn 1,000 mm away; meshes differ by rounding only."""
    here = holed((2.0, 1.0, 1.0), grain=grain)
    away = holed((2.0, 1.0, 1.0), (1000.0, -1000.0), grain=grain)
    for one, two in zip(here.verdict.modes, away.verdict.modes, strict=True):
        assert two.utilisation == pytest.approx(one.utilisation, rel=2e-3, abs=1e-9)
    assert len(away.verdict.hotspots) == len(here.verdict.hotspots)
    for one, two in zip(here.verdict.hotspots, away.verdict.hotspots, strict=True):
        if one.utilisation == pytest.approx(here.verdict.hotspots[0].utilisation, rel=0.01):
            assert two.utilisation == pytest.approx(one.utilisation, rel=5e-3)


@pytest.mark.parametrize("shift", [(1000.0, -1000.0), (-20_000.0, 5_000.0)])
def test_far_from_the_origin_on_the_same_mesh(shift):
    worst = [search_plate(center) for center in ((0.0, 0.0), shift)]
    assert worst[1].worst == pytest.approx(worst[0].worst, rel=1e-7)
    assert worst[1].spots[0].at - shift == pytest.approx(worst[0].spots[0].at, abs=1e-4)
    assert worst[1].utilisation == pytest.approx(worst[0].utilisation, rel=1e-4)


def search_plate(center):
    mesh = plate_with_hole("triangle6", per_quarter=12, rings=8, center=center)
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).spring("outer", 1.0, ["x", "y"])
    solution = model.bearing("hole", (3000.0, 7000.0)).solve()
    return SplitSearch(solution, 0.0, LENGTH.least, np.empty((0, 2))).run(solution.stress_grain, F, LENGTH)


def test_uniform_stress_on_a_mesh_of_arrays():
    mesh = rectangle("triangle6", 120.0, 60.0, 12, 6, distort=0.2)
    model = hold_three(fesolve.PlaneModel(mesh, W1, 38.0, 30.0))
    solution = uniform_loads(model, in_xy(30.0, (1.0, 0.7, 2.0))).solve()
    found = SplitSearch(solution, 30.0, LENGTH.least, np.empty((0, 2))).run(solution.stress_grain, F, LENGTH)
    exact = split_utilisation(np.array([0.7]), np.array([2.0]), F)[0]
    assert found.worst == pytest.approx(exact, rel=1e-9)
    assert found.utilisation == pytest.approx(exact, rel=1e-9)


# ---- strengths lowered, the length kept


def test_all_strengths_lowered_by_one_factor():
    """Derived: at one splitting length utilisation goes as 1 over the common factor of the strengths."""
    result = holed((0.0, 1.0, 1.0))
    search = SplitSearch(result.solution, 0.0, LENGTH.least, np.empty((0, 2)))
    stress = result.solution.stress_grain[0]
    full = search.run(stress, F, LENGTH)
    for factor in (0.5, 0.77, 2.0):
        lowered = SplitStrength(factor * F.shear, factor * F.tension, factor * F.compression)
        assert search.run(stress, lowered, LENGTH).worst * factor == pytest.approx(full.worst, rel=1e-12)


@pytest.mark.parametrize("stress", [(0.0, 1.0, 0.0), (0.0, 0.5, 2.0), (5.0, 0.0, 3.0)])
def test_lower_5_percent_lies_between_the_ratios(stress):
    """With the default scatter the three strengths fall to 0.54 to 0.77 of their means; so does the load at a hole."""
    loads, ratios = [], []
    for basis in ("mean", "lower 5%"):
        doc = uniform(stress)
        doc["hole"] = [{"name": "h", "center": ["75 mm", "40 mm"], "diameter": "20 mm"}]
        doc["wood"] = {k: v for k, v in doc["wood"].items() if k in ("thickness", "grain")}
        doc["wood"] |= {"species": "Douglas-fir, coast", "board": "flat-sawn", "basis": basis}
        result = check(doc)
        loads.append(1 / next(row for row in result.verdict.modes if row.mode == "splitting").utilisation)
        f = result.wood.strengths
        ratios = [f[n].value / f[n].mean for n in ("shear", "tension_across", "compression_across")]
    assert min(ratios) == pytest.approx(0.54, abs=0.01) and max(ratios) == pytest.approx(0.77, abs=0.01)
    assert min(ratios) * (1 - 1e-9) <= loads[1] / loads[0] <= max(ratios) * (1 + 1e-9)


def test_the_worst_window_starts_at_the_hole():
    result = holed((0.0, 1.0, 0.0))
    inspection = Inspection(
        result.part, result.outline, result.wood, result.solution,
        patches_of(result.part, result.outline, result.mesh),
    )  # fmt: skip
    spot = inspection.search.run(result.solution.stress_grain[0], inspection.strength, inspection.lengths[0]).spots[0]
    w, i = spot.windows, spot.index
    assert w.length[i] == pytest.approx(float(inspection.lengths[0].exact(w.across[i], w.shear[i])), rel=1e-3)
    assert spot.utilisation == pytest.approx(result.verdict.governing.utilisation, rel=1e-9)
    assert float(STRENGTH["tension_across"].split()[0]) == inspection.strength.tension
