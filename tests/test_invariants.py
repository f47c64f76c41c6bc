"""What must not change an answer: turning, mirroring, renumbering, units, scale of loads, finer elements."""

import dataclasses
import functools
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import fesolve
from fesolve.judge.assess import assess
from fesolve.judge.criteria import SplitLength, SplitStrength
from fesolve.judge.inspected import inspect_part
from fesolve.judge.search import SplitSearch
from fesolve.judge.verdict import SPLITTING
from fesolve.mesh.generate import mesh_part
from fesolve.modelling import model_of
from meshes import W1, hold_three, plate_with_hole, rectangle

EXAMPLES = Path(__file__).parents[1] / "meshes"
FIVE = ("pile_stop", "drawbar", "pump_lever", "bench_stub", "bracket")
F = SplitStrength(shear=8.0, tension=2.0, compression=5.0)
LENGTH = SplitLength(F, W1.crack_stiffness(), (0.12, 0.7))


# ---- meshes of arrays, turned and mirrored with their loads and grain


@dataclasses.dataclass(frozen=True)
class Change:
    """A rigid change of the plane: points @ matrix.T + shift; a mirror turns every cell and side about."""

    matrix: np.ndarray
    shift: np.ndarray

    @property
    def mirrors(self):
        return np.linalg.det(self.matrix) < 0

    def mesh(self, mesh):
        points = mesh.points @ self.matrix.T + self.shift
        if not self.mirrors:
            return dataclasses.replace(mesh, points=points)
        cells = {"triangle6": mesh.cells["triangle6"][:, [0, 2, 1, 5, 4, 3]]}
        edges = {name: sides[:, [1, 0, 2]] for name, sides in mesh.edges.items()}
        return fesolve.Mesh(points, cells, edges=edges, point_sets=mesh.point_sets)

    def vector(self, vector):
        x, y = self.matrix @ vector
        return float(x), float(y)

    def grain(self, grain):
        x, y = self.matrix @ [np.cos(np.radians(grain)), np.sin(np.radians(grain))]
        return float(np.degrees(np.arctan2(y, x)))


def turn(angle):
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    return np.array([[c, -s], [s, c]])


MIRROR = np.diag([-1.0, 1.0])
CHANGES = {
    "a quarter turn": Change(turn(90.0), np.zeros(2)),
    "turned by 37 deg": Change(turn(37.0), np.array([12.0, -7.0])),
    "turned about": Change(turn(180.0), np.zeros(2)),
    "mirrored": Change(MIRROR, np.zeros(2)),
    "mirrored and turned": Change(turn(-50.0) @ MIRROR, np.array([3.0, 4.0])),
    "moved far away": Change(np.eye(2), np.array([1000.0, -2000.0])),
}


def pushed_plate(change=None, renumber=None):
    """A plate on a spring bed all round and a roller, its hole pushed askew; grain at 20 deg."""
    change = change or Change(np.eye(2), np.zeros(2))
    mesh = change.mesh(plate_with_hole("triangle6", per_quarter=12, rings=8))
    if renumber is not None:
        mesh = fesolve.Mesh(
            mesh.points[renumber],
            {"triangle6": np.argsort(renumber)[mesh.cells["triangle6"]][np.random.default_rng(2).permutation(768)]},
            edges={name: np.argsort(renumber)[sides] for name, sides in mesh.edges.items()},
        )
    grain = change.grain(20.0)
    model = fesolve.PlaneModel(mesh, W1, 38.0, grain).spring("outer", 3.0)
    model = model.bearing("hole", change.vector([3000.0, 7000.0])).body_force(change.vector([0.0, -0.01]))
    solution = model.solve()
    search = SplitSearch(solution, grain, LENGTH.least, np.empty((0, 2)))
    return solution, search.run(solution.stress_grain, F, LENGTH)


@functools.cache
def as_drawn():
    return pushed_plate()


@pytest.mark.parametrize("name", CHANGES)
def test_turned_and_mirrored_meshes(name):
    change = CHANGES[name]
    solution, splits = as_drawn()
    other, its_splits = pushed_plate(change)
    size = np.abs(solution.displacement).max()
    assert np.abs(other.displacement - solution.displacement @ change.matrix.T).max() < 1e-9 * size
    sign = np.array([1.0, 1.0, -1.0 if change.mirrors else 1.0])
    stress = solution.stress_grain * sign
    assert np.abs(other.stress_grain - stress).max() < 1e-9 * np.abs(stress).max()
    assert other.energy == pytest.approx(solution.energy, rel=1e-9)
    assert its_splits.worst == pytest.approx(splits.worst, rel=1e-9)
    assert its_splits.spots[0].at == pytest.approx(change.matrix @ splits.spots[0].at + change.shift, abs=1e-4)


def test_renumbered_nodes():
    solution, splits = as_drawn()
    order = np.random.default_rng(5).permutation(len(solution.displacement))
    other, its_splits = pushed_plate(renumber=order)
    size = np.abs(solution.displacement).max()
    assert np.abs(other.displacement - solution.displacement[order]).max() < 1e-9 * size
    assert np.abs(other.stress_grain - solution.stress_grain[order]).max() < 1e-9 * np.abs(solution.stress_grain).max()
    assert its_splits.worst == pytest.approx(splits.worst, rel=1e-9)


@settings(max_examples=15, deadline=None)
@given(st.floats(-90, 90), st.floats(-5, 5), st.floats(-5, 5), st.floats(0.01, 100.0))
def test_superposition_and_scale(grain, a, b, factor):
    """Loads add up; a wood stiffer by a factor moves less by it and carries the same stress."""
    mesh = rectangle("triangle6", columns=5, rows=3, distort=0.2)

    def model(scale=1.0):
        plane = fesolve.OrthotropicPlane(scale * W1.E_0, scale * W1.E_90, scale * W1.G, W1.nu_0_90)
        held = hold_three(fesolve.PlaneModel(mesh, plane, 38.0, grain))
        return held.force("right", (100.0, 30.0), name="one").pressure("top", 2.0, name="two")

    cases = [{"one": 1.0}, {"two": 1.0}, {"one": a, "two": b}]
    first, second, both = (solved := model().solve(cases)).displacement
    size = (abs(a) + abs(b)) * np.abs(solved.displacement[:2]).max() + 1e-300
    assert np.abs(both - a * first - b * second).max() <= 1e-10 * size
    stiffer = model(factor).solve(cases)
    assert np.abs(factor * stiffer.displacement - solved.displacement).max() < 1e-9 * np.abs(solved.displacement).max()
    assert np.abs(stiffer.stress_xy - solved.stress_xy).max() < 1e-9 * np.abs(solved.stress_xy).max()


# ---- through a part file


def stop(change=None, *, push=10_000.0, length="mm", force="N", stress="MPa", grain=0.0):
    """A stop with a pin, a rest and a push; its own numbers, in any units, turned or mirrored."""
    change = change or Change(np.eye(2), np.zeros(2))
    inch = {"mm": 25.4, "in": 1.0}[length]
    newton = {"N": 1.0, "lbf": 1 / 4.4482216152605}[force]
    mega = {"MPa": 1.0, "psi": 1 / 0.006894757293168361}[stress]

    def place(x, y):
        return [f"{value * inch!r} {length}" for value in map(float, change.vector([x, y]))]

    def span(start, end):
        return {"from": f"{start * inch!r} {length}", "to": f"{end * inch!r} {length}"}

    down = change.vector([0.0, -push * newton])
    strengths = {"shear": 8.0, "tension_across": 2.0, "compression_across": 5.0}
    strengths |= {"tension_along": 80.0, "compression_along": 40.0}
    return {
        "title": "Stop",
        "wood": {
            "thickness": f"{1.5 * inch!r} {length}", "grain": f"{change.grain(grain)!r} deg", "basis": "mean",
            "elastic": {
                "E_0": f"{12_000 * mega!r} {stress}", "E_90": f"{600 * mega!r} {stress}",
                "G": f"{780 * mega!r} {stress}", "nu_0_90": 0.4,
            },
            "strength": {name: f"{value * mega!r} {stress}" for name, value in strengths.items()},
            "fracture": {"G_Ic": ["120 J/m^2", "250 J/m^2"], "G_IIc": ["700 J/m^2", "800 J/m^2"]},
        },
        "outline": {"corners": [{"at": place(x, y)} for x, y in [(0, 0), (16, 0), (16, 5.5), (0, 5.5)]]},
        "hole": [{"name": "pivot", "center": place(2.75, 2.5), "diameter": f"{inch!r} {length}"}],
        "support": [
            {"name": "pin", "kind": "pin", "on": "hole pivot"},
            {"name": "beam", "kind": "rest", "on": "edge A-B", **span(7.5, 9.0)},
        ],
        "load": [{"name": "push", "on": "edge C-D", **span(3.0, 4.0), "force": [f"{f!r} {force}" for f in down]}],
    }  # fmt: skip


@functools.cache
def stop_as_drawn():
    return fesolve.check(fesolve.part_from(stop()), sure=False).verdict


def judged(document):
    return fesolve.check(fesolve.part_from(document), sure=False).verdict


@pytest.mark.parametrize("name", [name for name in CHANGES if name != "moved far away"])
def test_turned_and_mirrored_part_files(name):
    """Another mesh each time: within 2 %."""
    change = dataclasses.replace(CHANGES[name], shift=np.zeros(2))
    one, two = stop_as_drawn(), judged(stop(change))
    assert two.takes.best == pytest.approx(one.takes.best, rel=0.02)
    assert two.takes.low == pytest.approx(one.takes.low, rel=0.02)
    assert two.governing.mode == one.governing.mode
    assert splitting_of(two) == pytest.approx(splitting_of(one), rel=0.02)
    for a, b in zip(one.reactions, two.reactions, strict=True):
        assert b.force == pytest.approx(change.vector(a.force), abs=2.0)
    assert two.hotspots[0].at == pytest.approx(change.vector(one.hotspots[0].at), abs=0.5)


def test_units_do_not_matter():
    """Inches, pounds and psi (1 in = 25.4 mm, 1 lbf = 4.4482216152605 N, exact by definition) against mm, N, MPa."""
    one, two = stop_as_drawn(), judged(stop(length="in", force="lbf", stress="psi"))
    same_verdict(two, one, 1.0)


def test_doubled_loads_double_every_mean():
    same_verdict(judged(stop(push=20_000.0)), stop_as_drawn(), 2.0)


def same_verdict(found, wanted, factor, rel=1e-9):
    """Every mean and reaction of a verdict is `factor` times that of another, at the same places."""
    for a, b in zip(found.modes, wanted.modes, strict=True):
        assert (a.mode, a.decides) == (b.mode, b.decides)
        assert a.utilisation == pytest.approx(factor * b.utilisation, rel=rel)
        assert a.peak == (None if b.peak is None else pytest.approx(factor * b.peak, rel=rel))
        assert a.at == (None if b.at is None else pytest.approx(b.at, rel=rel, abs=1e-6))
    for a, b in zip(found.beside, wanted.beside, strict=True):
        assert a.value == pytest.approx(factor * b.value, rel=rel)
    for a, b in zip(found.hotspots, wanted.hotspots, strict=True):
        assert a.mean_s90 == pytest.approx(factor * b.mean_s90, rel=rel, abs=1e-9)
        assert a.mean_tau == pytest.approx(factor * b.mean_tau, rel=rel, abs=1e-9)
        assert a.mean_length == pytest.approx(b.mean_length, rel=rel)
    for a, b in zip(found.reactions, wanted.reactions, strict=True):
        assert a.force == pytest.approx(tuple(factor * f for f in b.force), rel=rel, abs=1e-6)
    for name in ("best", "low", "high"):  # the load that it takes stays what it was
        assert getattr(found.takes, name) == pytest.approx(getattr(wanted.takes, name), rel=rel)
    for a, b in zip(found.hand, wanted.hand, strict=True):
        assert (a.shear, a.moment) == pytest.approx((factor * b.shear, factor * b.moment), rel=1e-6, abs=1e-3)


# ---- the examples


@functools.cache
def example(name):
    return fesolve.check(fesolve.read_part(EXAMPLES / f"{name}.toml"), sure=False, splits=False)


@pytest.mark.parametrize("name", FIVE)
def test_halved_elements_change_splitting_by_less_than_5_percent(name):
    result = example(name)
    mesh = mesh_part(result.part, result.outline, scale=0.5)
    assert sum(map(len, mesh.cells.values())) > 2 * sum(map(len, result.mesh.cells.values()))
    solution = model_of(result.part, mesh, result.wood).solve([case.factors for case in result.part.cases])
    finer = assess(inspect_part(result.part, result.outline, result.wood, solution)).verdict
    assert splitting_of(finer) == pytest.approx(splitting_of(result.verdict), rel=0.05)
    assert finer.takes.best == pytest.approx(result.verdict.takes.best, rel=0.05)


def splitting_of(verdict):
    return max(row.utilisation for row in verdict.modes if row.mode == SPLITTING)


@pytest.mark.parametrize("name", FIVE)
def test_reactions_balance_the_loads(name):
    verdict = example(name).verdict
    rows = [*verdict.loads, *verdict.reactions]
    forces = np.array([row.force for row in rows])
    size = np.abs(forces).sum()
    assert np.abs(forces.sum(axis=0)).max() < 1e-9 * size
    at = np.array([row.at for row in rows])
    moments = at[:, 0] * forces[:, 1] - at[:, 1] * forces[:, 0]
    turning = moments.sum() + sum(row.moment for row in verdict.reactions)
    assert abs(turning) < 1e-4 * np.abs(moments).sum()
    assert verdict.equilibrium < 1e-9
