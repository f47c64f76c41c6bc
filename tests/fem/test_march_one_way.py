"""Strikes through time on supports that only push: closed forms, the static solver, and momentum."""

import dataclasses
import math

import numpy as np
import pytest

import fesolve
from fesolve.errors import FreeMotionError, InputError
from fesolve.fem import partitioned
from fesolve.fem.factor import superlu
from fesolve.fem.impact import strike_force, wave_speed, wave_stress
from fesolve.fem.march import frame_solution, march
from fesolve.fem.mass import MassMatrix
from fesolve.fem.striker import Striker, unit_force
from fesolve.fem.timing import plan
from meshes import W1, plate_with_hole, rectangle

E, RHO, SPEED = 11_000.0, 450e-12, 2000.0  # MPa, tonne/mm^3, mm/s
LINEAR = fesolve.OrthotropicPlane(E_0=E, E_90=E, G=E / 2, nu_0_90=0.0)
LENGTH, DEPTH, THICK = 1000.0, 10.0, 5.0
BAR = RHO * LENGTH * DEPTH * THICK
CROSSING = LENGTH / wave_speed(E, RHO)
FRONT = wave_stress(E, RHO, SPEED) * DEPTH * THICK  # ρ c v A, N


def bar(count=100):
    mesh = rectangle("quad8", length=LENGTH, depth=DEPTH, columns=count, rows=1)
    return fesolve.PlaneModel(mesh, LINEAR, THICK, 0.0)


def with_sides(mesh, **boxes):
    """The mesh with edges added: the sides of its boundary within x0, x1, y0, y1."""
    found = dict(mesh.edges)
    for name, (edge, low, high) in boxes.items():
        x = mesh.points[mesh.edges[edge][:, :2], 0]
        found[name] = mesh.edges[edge][(x.min(axis=1) >= low - 1e-9) & (x.max(axis=1) <= high + 1e-9)]
    return dataclasses.replace(mesh, edges=found)


def plank(kind="triangle6", length=400.0, depth=20.0, columns=40, rows=2):
    mesh = rectangle(kind, length=length, depth=depth, columns=columns, rows=rows)
    return with_sides(
        mesh, near=("bottom", 60, 80), far=("bottom", 320, 340), tip=("top", 0, 20), middle=("top", 180, 220)
    )


def by_name(frame):
    return {reaction.name: reaction.resultant for reaction in frame.reactions}


def check_balance(model, frame, striker, steady=0.0):
    """Loads, strike and reactions make the inertia: ΣF = Σ M a, and with the moments as `imbalance`."""
    inertia = MassMatrix.of(model, RHO).product(frame.acceleration).sum(axis=0)
    total = steady + frame.force * striker.unit + sum(by_name(frame).values())
    scale = frame.force + sum(np.linalg.norm(force) for force in by_name(frame).values()) + np.linalg.norm(inertia)
    assert total == pytest.approx(inertia, abs=1e-8 * scale + 1e-8)
    assert frame.imbalance < 1e-6 and frame.residual < 1e-8


# ---- waves against a wall


def test_a_bar_runs_into_its_wall():
    """The far end of a bar that a heavy mass drives moves with 2 v from one crossing on (d'Alembert, a free end); a
    wall a crossing's way off stops it at 1.5 crossings with 2 ρ c v A, until a wave from the mass adds to it at 3."""
    model, striker = bar().one_way("right", gap=SPEED * CROSSING), Striker("left", (1.0, 0.0), 1e6 * BAR, SPEED)
    seen = march(model, striker, RHO, step=CROSSING / 300, until=2.9 * CROSSING, watch=lambda now: now.frame())
    t = seen.time / CROSSING
    wall = np.array([-by_name(frame)["right"][0] for frame in seen.watched]) / FRONT
    assert t[np.argmax(wall > 0)] == pytest.approx(1.5, abs=0.01)
    assert wall[(t > 1.65) & (t < 2.9)].mean() == pytest.approx(2.0, rel=5e-3)
    assert (wall >= 0.0).all()
    inside = (t > 0.1) & (t < 1.9)
    assert (seen.force / FRONT)[inside].mean() == pytest.approx(1.0, rel=5e-3)


def test_a_wall_takes_no_tension():
    """As long as a fixed end is pressed, a one-way wall is the same; then the bar leaves it; momentum is kept."""
    striker = Striker("left", (1.0, 0.0), BAR, SPEED)
    steps = {"step": CROSSING / 200, "until": 5.0 * CROSSING, "watch": lambda now: now.frame(), "rho": 1.0}
    tied, free = march(bar().fix("right"), striker, RHO, **steps), march(bar().one_way("right"), striker, RHO, **steps)
    pulls = [by_name(frame)["right"][0] for frame in tied.watched]
    first = int(np.argmax(np.array(pulls) > 0.05 * FRONT))  # where the fixed end begins to pull
    assert 2.5 < tied.time[first] / CROSSING < 4.0
    count = first - 10
    assert free.force[:count] == pytest.approx(tied.force[:count], abs=0.01 * FRONT)
    wall = np.array([by_name(frame)["right"][0] for frame in free.watched])
    assert (wall <= 0.0).all() and (wall[-20:] == 0.0).all()
    for frame in free.watched[::50]:
        check_balance(bar(), frame, striker)
    assert np.abs(free.energy.numerical).max() < 1e-8 * free.energy.striker[0]
    assert free.energy.lost[-1] < 5e-3 * free.energy.striker[0]


# ---- rests


@pytest.mark.parametrize("kind", ["triangle6", "quad8", "triangle"])
def test_a_struck_plank_lifts_off_its_far_rest(kind):
    """Hit beyond the near rest it turns about that one: the far rest is left, and nothing pulls."""
    model = fesolve.PlaneModel(plank(kind), W1, 38.0, 0.0).fix("A", ["x"]).one_way("near").one_way("far")
    striker = Striker("tip", (0.0, -1.0), 1e-4, 1500.0)
    seen = march(model, striker, RHO, step=5e-6, until=1.5e-3, rho=1.0, watch=lambda now: now.frame())
    pushes = {name: np.array([by_name(f)[name][1] for f in seen.watched]) for name in ("near", "far")}
    assert min(push.min() for push in pushes.values()) >= 0.0
    assert pushes["near"].max() > seen.peak_force
    end = {contact.name: contact for contact in seen.watched[-1].contacts}
    assert (end["far"].gap > 0.02).all() and (end["far"].status == "open").all()
    for frame in (seen.peak, *seen.watched[::25]):
        check_balance(model, frame, striker)
    energy = seen.energy
    assert np.abs(energy.numerical).max() < 1e-8 * energy.striker[0]
    gained = np.minimum(np.diff(energy.lost), 0.0).sum()  # where a row that closed too late is made up for
    assert gained > -5e-3 * energy.striker[0] and 0.0 < energy.lost[-1] < 0.02 * energy.striker[0]


def test_a_pressed_rest_is_a_roller():
    """Where steady pressure keeps a rest closed it holds as one that holds both ways."""
    base = fesolve.PlaneModel(plank(columns=20), W1, 38.0, 0.0).fix("A", ["x"]).pressure("top", 2.0, name="bed")
    striker = Striker("middle", (0.0, -1.0), 2e-4, 500.0, pad_stiffness=20_000.0)
    steps = {"step": 4e-6, "until": 4e-4, "loads": {"bed": 1.0}, "watch": lambda now: now.frame()}
    tied, rest = (march(model, striker, RHO, **steps) for model in (base.roller("bottom"), base.one_way("bottom")))
    assert all((frame.contacts[0].status == "closed").all() for frame in rest.watched)
    assert rest.force == pytest.approx(tied.force, rel=1e-6, abs=1e-6 * tied.peak_force)
    assert rest.peak.displacement == pytest.approx(tied.peak.displacement, abs=1e-9)
    for one, other in zip(rest.watched[::20], tied.watched[::20], strict=True):
        # a node that two supports hold counts for the first
        assert sum(by_name(one).values()) == pytest.approx(
            sum(by_name(other).values()), rel=1e-6, abs=1e-6 * tied.peak_force
        )


def test_a_part_at_rest_stays_as_its_steady_loads_leave_it():
    """Begun from the static solution, a march hit by next to nothing shows its contacts and reactions all the time."""
    model = fesolve.PlaneModel(plank(), W1, 38.0, 0.0).fix("A", ["x"]).one_way("near", gap=0.01).one_way("far")
    model = model.pressure("top", 0.02, name="snow").force("tip", (0.0, -500.0), name="tip")
    striker = Striker("middle", (0.0, -1.0), 1e-12, 1.0)
    loads = {"snow": 1.0, "tip": 1.0}
    seen = march(model, striker, RHO, loads=loads, step=1e-5, until=1e-3, watch=lambda now: now.frame())
    static = model.solve([loads])
    for frame in seen.watched[::10]:
        assert frame.displacement == pytest.approx(static.displacement[0], abs=1e-6)
        for name, force in static.reactions.items():
            assert by_name(frame)[name] == pytest.approx(force[0], abs=0.02)
        for contact in frame.contacts:
            assert (contact.status == static.contact(contact.name).status).all()
    assert [contact.touching.all() for contact in seen.peak.contacts] != [True, True]


def test_a_part_so_light_is_as_the_static_solver_has_it():
    """Mass next to none, a striker heavy and slow: contact in a hole with play, at the peak, as without time."""
    mesh = plate_with_hole("triangle6", per_quarter=6, rings=5)
    right = mesh.edges["outer"][mesh.points[mesh.edges["outer"][:, :2], 0].min(axis=1) > 40 - 1e-9]
    mesh = dataclasses.replace(mesh, edges=mesh.edges | {"hit": right})
    radius = np.hypot(*mesh.points[mesh.edges["hole"][0, 0]])
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).one_way_pin("hole", (0.0, 0.0), 2 * radius - 0.2)
    model = model.fix("hit", ["y"])
    striker = Striker("hit", (-1.0, 0.0), 0.02, 500.0)
    known = plan(model, striker, MassMatrix.of(model, 1e-14), np.zeros_like(mesh.points))
    history = march(model, striker, 1e-14, rho=0.2)
    assert history.peak_force == pytest.approx(known.force, rel=0.03)
    assert history.peak_force == pytest.approx(strike_force(0.02, 500.0, known.stiffness), rel=0.03)
    static = model.force("hit", (-history.peak_force, 0.0), name="hit").solve([{"hit": 1.0}])
    found = frame_solution(model, history.peak)
    assert found.displacement.shape == static.displacement.shape
    assert found.displacement == pytest.approx(static.displacement, abs=0.02 * np.abs(static.displacement).max())
    touching, same = found.contact("hole").touching, static.contact("hole").touching
    assert np.count_nonzero(touching != same) <= 2
    pressure = static.contact("hole").pressure
    assert found.contact("hole").pressure == pytest.approx(pressure, abs=0.05 * pressure.max())
    assert found.stress_grain == pytest.approx(static.stress_grain, abs=0.03 * np.abs(static.stress_grain).max())
    assert found.reactions["hole"] == pytest.approx(static.reactions["hole"], rel=0.01, abs=1.0)
    assert found.equilibrium < 1e-6 and found.energy == pytest.approx(static.energy, rel=0.03)


def test_a_rest_that_gives_is_a_spring():
    """A light stiff block on a bed of k N/mm for each mm: v sqrt(K m), K = k L in series with the block (mechanics)."""
    mesh = rectangle("quad8", length=40.0, depth=20.0, columns=6, rows=4)
    model = fesolve.PlaneModel(mesh, LINEAR, 100.0, 0.0).fix("left", ["x"]).one_way("bottom", stiffness=50.0)
    history = march(model, Striker("top", (0.0, -1.0), 0.05, 200.0), 1e-11)
    bed, block = 50.0 * 40.0, E * 40.0 * 100.0 / 20.0
    expected = strike_force(0.05, 200.0, 1 / (1 / bed + 1 / block))
    assert history.peak_force == pytest.approx(expected, rel=2e-3)
    assert history.rebound_speed == pytest.approx(200.0, rel=5e-3)
    assert history.energy.spring.max() == pytest.approx(expected**2 / 2 / bed, rel=5e-3)
    assert by_name(history.peak)["bottom"][1] == pytest.approx(expected, rel=2e-3)


def test_a_pin_on_springs_gives():
    """A light block on a sprung pin of its hole's diameter: v sqrt(K m), K the pin's 3000 N/mm behind the block."""
    mesh = plate_with_hole("triangle6", per_quarter=6, rings=5)
    right = mesh.edges["outer"][mesh.points[mesh.edges["outer"][:, :2], 0].min(axis=1) > 40 - 1e-9]
    mesh = dataclasses.replace(mesh, edges=mesh.edges | {"hit": right})
    radius = float(np.hypot(*mesh.points[mesh.edges["hole"][0, 0]]))
    base, striker = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).fix("hit", ["y"]), Striker("hit", (-1.0, 0.0), 0.05, 300.0)
    rigid = base.one_way_pin("hole", (0.0, 0.0), 2 * radius)
    sprung = base.one_way_pin("hole", (0.0, 0.0), 2 * radius, stiffness=(3000.0, 3000.0))
    none, mass = np.zeros_like(mesh.points), MassMatrix.of(base, 1e-11)
    block, whole = (plan(model, striker, mass, none).stiffness for model in (rigid, sprung))
    assert whole == pytest.approx(1 / (1 / block + 1 / 3000.0), rel=1e-6)
    history = march(sprung, striker, 1e-11)
    assert history.peak_force == pytest.approx(strike_force(0.05, 300.0, whole), rel=5e-3)
    assert history.rebound_speed == pytest.approx(300.0, rel=0.01)
    pin = history.peak.contacts[0]
    assert pin.moved == pytest.approx([-history.peak_force / 3000.0, 0.0], rel=0.01, abs=1e-3)
    static = sprung.force("hit", (-history.peak_force, 0.0), name="hit").solve([{"hit": 1.0}])
    assert history.peak.displacement == pytest.approx(static.displacement[0], abs=0.01 * abs(static.displacement).max())
    assert history.energy.spring.max() == pytest.approx(history.peak_force**2 / 6000.0, rel=0.01)


def test_friction_is_left_out():
    base = fesolve.PlaneModel(plank(columns=20), W1, 38.0, 0.0).fix("A", ["x"])
    striker, steps = Striker("middle", (0.0, -1.0), 2e-4, 500.0), {"step": 4e-6, "until": 2e-4}
    smooth, rough = (march(base.one_way("bottom", friction=mu), striker, RHO, **steps) for mu in (0.0, 0.4))
    assert (smooth.force == rough.force).all()
    assert rough.peak.contacts[0].support.friction == 0.0


def test_default_steps_on_rests():
    """By itself: a few hundred steps, the greatest force steady, momentum kept."""
    model = fesolve.PlaneModel(plank(), W1, 38.0, 0.0).fix("A", ["x"]).one_way("near").one_way("far")
    striker = Striker("middle", (0.0, -1.0), 0.02, 1000.0, pad_stiffness=2000.0)
    history = march(model, striker, RHO, watch=lambda now: now.frame())
    assert 50 <= len(history.time) <= 400 and history.settled
    assert history.impulse == pytest.approx(0.02 * (1000.0 - history.velocity[-1]), rel=1e-9)
    for frame in history.watched[::20]:
        check_balance(model, frame, striker)
    again = march(model, striker, RHO, step=history.step / 8)
    assert history.peak_force == pytest.approx(again.peak_force, rel=0.01)


def test_a_first_blow_that_is_passed_over_is_told():
    """A soft plank and a heavy striker behind a stiff pad: the spike comes out with shorter steps, and is told of."""
    mesh = plank(columns=20, rows=1)
    model = fesolve.PlaneModel(mesh, W1, 10.0, 0.0).fix("A", ["x"]).one_way("near").one_way("far")
    striker = Striker("middle", (0.0, -1.0), 0.1, 1000.0, pad_stiffness=5000.0)
    known = plan(model, striker, MassMatrix.of(model, RHO), np.zeros_like(mesh.points))
    assert known.hammer < known.contact / 100
    coarse = march(model, striker, RHO)
    fine = march(model, striker, RHO, step=known.hammer / 12, until=6 * known.hammer)
    assert coarse.resolved is False and fine.resolved is None
    early = coarse.time < fine.time[-1]
    assert fine.peak_force > 1.3 * coarse.force[early].max()
    soft = march(model, Striker("middle", (0.0, -1.0), 0.001, 1000.0, pad_stiffness=20.0), RHO)
    assert soft.resolved


# ---- what is refused


def test_refused():
    base, striker = fesolve.PlaneModel(plank(columns=20), W1, 38.0, 0.0), Striker("tip", (0.0, -1.0), 1e-4, 100.0)
    with pytest.raises(
        FreeMotionError, match=r"The strike on \"tip\", supports without friction: .* turn counter-clock"
    ):
        march(base.fix("A", ["x"]).one_way("near").one_way("near", name="again"), striker, RHO)
    with pytest.raises(FreeMotionError, match=r"The steady loads, supports without friction: .* slide up"):
        lifted = base.fix("A", ["x"]).one_way("bottom").pressure("bottom", 1.0, name="lift")
        march(lifted, striker, RHO, loads={"lift": 1.0}, step=1e-6, until=1e-5)
    with pytest.raises(InputError, match=r"The part does not give way where it is struck, on \"left\".*\(edge\)"):
        march(base.fix("left"), Striker("left", (1.0, 0.0), 1e-4, 100.0), RHO)


def test_loose_pins_are_refused():
    mesh = plate_with_hole("triangle6", per_quarter=4, rings=3)
    radius = float(np.hypot(*mesh.points[mesh.edges["hole"][0, 0]]))
    base, striker = fesolve.PlaneModel(mesh, W1, 38.0, 0.0), Striker("outer", (1.0, 1.0), 1e-4, 100.0)
    sprung = base.fix("outer", ["y"]).one_way_pin("hole", (0.0, 0.0), 2 * radius, stiffness=(100.0, math.inf))
    point = dataclasses.replace(mesh, point_sets={"knot": np.array([int(np.argmax(mesh.points.sum(axis=1)))])})
    striker = Striker("knot", (-1.0, 0.0), 1e-4, 100.0)
    sprung = dataclasses.replace(sprung, mesh=point)
    with pytest.raises(InputError, match='Pin "hole" is free to move along one axis at least, or rigid along one only'):
        march(sprung, striker, RHO)
    pushed = dataclasses.replace(base, mesh=point).fix("outer", ["y"])
    pushed = pushed.one_way_pin("hole", (0.0, 0.0), 2 * radius, stiffness=(100.0, 100.0), force=(5.0, 0.0))
    with pytest.raises(InputError, match='Load "hole" acts on a pin, not on the part'):
        march(pushed, striker, RHO, loads={"hole": 1.0})
    both = dataclasses.replace(base, mesh=point).pin("hole", (0.0, 0.0)).one_way("knot", normal=(1.0, 1.0))
    with pytest.raises(InputError, match="cannot stand beside one-way supports"):
        march(both, striker, RHO)


def test_superlu_agrees_on_rests(monkeypatch):
    """Without CHOLMOD two whole solutions a step take the place of the two halves."""
    model = fesolve.PlaneModel(plank(columns=20, rows=1), W1, 38.0, 0.0).fix("A", ["x"]).one_way("near").one_way("far")
    striker, steps = Striker("middle", (0.0, -1.0), 1e-3, 500.0), {"step": 1e-5, "until": 5e-4}
    first = march(model, striker, RHO, **steps)
    monkeypatch.setattr(partitioned, "best_factoriser", lambda: superlu)
    again = march(model, striker, RHO, **steps)
    assert again.force == pytest.approx(first.force, rel=1e-7, abs=1e-7 * first.peak_force)
    assert again.peak.acceleration == pytest.approx(
        first.peak.acceleration, rel=1e-6, abs=1e-6 * np.abs(first.peak.acceleration).max()
    )


def test_a_strike_on_several_points():
    """Spread evenly over them; a strike on one point is that on its node."""
    mesh = plank(columns=20, rows=1)
    at = {x: int(np.argmin(np.abs(mesh.points - [x, 20.0]).sum(axis=1))) for x in (180.0, 200.0, 220.0)}
    mesh = dataclasses.replace(mesh, point_sets=mesh.point_sets | {"three": np.array(list(at.values()))})
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).fix("A", ["x"]).one_way("near").one_way("far")
    striker = Striker("three", (0.0, -2.0), 1e-3, 500.0, pad_stiffness=500.0)
    history = march(model, striker, RHO)
    check_balance(model, history.peak, striker)
    loaded = unit_force(model, striker)
    assert np.flatnonzero(loaded.any(axis=1)).tolist() == sorted(at.values())
    assert loaded[list(at.values())] == pytest.approx(np.full((3, 2), [0.0, -1 / 3]))
