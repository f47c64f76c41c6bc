"""Strikes through time: waves, rebounds, springs, frequencies, against closed forms named beside each."""

import dataclasses
import math

import numpy as np
import pytest

import fesolve
from fesolve.errors import FreeMotionError, InputError
from fesolve.fem import partitioned
from fesolve.fem.factor import superlu
from fesolve.fem.impact import Chain, Link, energy_balance, half_period, strike_force, wave_speed, wave_stress
from fesolve.fem.march import march
from fesolve.fem.mass import MassMatrix
from fesolve.fem.motion import Motion
from fesolve.fem.striker import Striker
from fesolve.fem.timing import plan
from meshes import KINDS, W1, plate_with_hole, rectangle

E, RHO, SPEED = 11_000.0, 450e-12, 2000.0  # case 8.6: MPa, tonne/mm^3, mm/s
LINEAR = fesolve.OrthotropicPlane(E_0=E, E_90=E, G=E / 2, nu_0_90=0.0)  # a bar in it is a bar: no Poisson's ratio
LENGTH, DEPTH, THICK = 1000.0, 10.0, 5.0
BAR = RHO * LENGTH * DEPTH * THICK  # tonne
CROSSING = LENGTH / wave_speed(E, RHO)  # s
SIGMA = wave_stress(E, RHO, SPEED)


def bar(kind="quad8", count=100):
    return fesolve.PlaneModel(rectangle(kind, length=LENGTH, depth=DEPTH, columns=count, rows=1), LINEAR, THICK, 0.0)


def struck_bar(model, mass, until, count=200, rho=1.0, **more):
    """The bar struck on its left end by `mass`; `until` in crossings, `count` steps a crossing."""
    striker = Striker("left", (1.0, 0.0), mass, SPEED)
    return march(model, striker, RHO, step=CROSSING / count, until=until * CROSSING, rho=rho, **more)


def pressure(history):
    """Mean stress on the struck end over ρ c v."""
    return history.force / (DEPTH * THICK) / SIGMA


def st_venant(ratio, t):
    """Stress on the struck end of a bar fixed at the other, over ρ c v; t in crossings up to 4, ratio bar/striker.

    Saint-Venant and Boussinesq, as in S. P. Timoshenko, J. N. Goodier, Theory of Elasticity, longitudinal impact of
    bars (from memory; it solves p' + q' ... = -ratio (p + q), q(t) = p(t - 2), where p leaves the end and q returns).
    """
    first = np.exp(-ratio * t)
    back = np.exp(-ratio * (t - 2)) * (1 + 2 * ratio * (2 - t))
    return first + np.where(t > 2, back + np.exp(-ratio * (t - 2)), 0.0)


# ---- waves


@pytest.mark.parametrize(("kind", "count"), [("quad8", 100), ("triangle6", 100), ("quad", 200), ("triangle", 200)])
def test_wave_limit(kind, count):
    """ρ c v behind the front of a bar that a heavy mass strikes, until the reflection returns (case 8.6)."""
    history = struck_bar(bar(kind, count).fix("right"), 1e6 * BAR, 1.9, rho=0.8)
    within = (history.time > 0.1 * CROSSING) & (history.time < 1.9 * CROSSING)
    found = pressure(history)[within]
    assert found.mean() == pytest.approx(1.0, abs=4e-3)  # triangles are not quite symmetric about the bar's axis
    assert np.abs(found - 1.0).max() < 0.08
    assert pytest.approx(4.4497191, rel=1e-7) == SIGMA


@pytest.mark.parametrize("ratio", [0.5, 1.0])
def test_bar_on_a_wall_and_a_mass_like_its_own(ratio):
    """Saint-Venant's stress until the striker leaves; it leaves at 3.068 and 4.708 crossings (same book)."""
    leaves = {1.0: 3.068, 0.5: 4.708}[ratio]
    history = struck_bar(bar().fix("right"), BAR / ratio, 5.0, count=400, rho=0.5)
    found, t = pressure(history), history.time / CROSSING
    for low, high in ((0.1, 1.9), (2.15, min(3.85, leaves - 0.1))):
        inside = (t > low) & (t < high)
        assert found[inside].mean() == pytest.approx(st_venant(ratio, t[inside]).mean(), rel=2e-3)
        assert np.abs(found[inside] - st_venant(ratio, t[inside])).max() < 0.06
    assert t[np.argmin(history.touching)] == pytest.approx(leaves, rel=2e-3)


def test_free_bar_flies_off():
    """A free bar struck by a mass like its own: contact ends when the wave returns, at 2 crossings; then the mass goes
    on with e^-2 of its speed, the bar with the rest (d'Alembert, derived: F = ρ c v A e^(-t))."""
    history = struck_bar(bar(), BAR, 2.6, count=400, at=[2.2 * CROSSING, 2.5 * CROSSING])
    assert history.duration / CROSSING == pytest.approx(2.0, rel=0.02)
    assert history.velocity[-1] / SPEED == pytest.approx(math.exp(-2.0), abs=4e-3)
    assert history.impulse == pytest.approx(BAR * (SPEED - history.velocity[-1]), rel=1e-9)
    mass = MassMatrix.of(bar(), RHO)
    way = mass.product(history.frames[1] - history.frames[0]).sum(axis=0)
    assert way / (0.3 * CROSSING) == pytest.approx([history.impulse, 0.0], rel=1e-6, abs=1e-6 * history.impulse)
    whole = history.energy.kinetic + history.energy.strain + history.energy.striker
    assert whole[-1] == pytest.approx(whole[0], rel=2e-3)  # but for the end face's own mass, taken along at once
    assert whole + history.energy.lost == pytest.approx(np.full(len(whole), whole[0]), rel=1e-9)
    assert np.abs(history.energy.numerical).max() < 1e-9 * whole[0]
    assert history.rebound_speed is None  # it goes on, it does not go back


# ---- springs


def block(rho=1e-15):
    """A block on its left edge, struck on the right: so light that it is a spring."""
    mesh = rectangle("quad8", length=40.0, depth=20.0, columns=6, rows=4)
    model = fesolve.PlaneModel(mesh, W1, 38.0, 20.0).fix("left")
    known = plan(
        model, Striker("right", (-1.0, 0.0), 0.1, 500.0), MassMatrix.of(model, rho), np.zeros((len(mesh.points), 2))
    )
    return model, known.stiffness


def test_light_part_is_a_spring():
    """v sqrt(k m), half a period, and the whole speed back (elementary mechanics)."""
    model, k = block()
    history = march(model, Striker("right", (-1.0, 0.0), 0.1, 500.0), 1e-15)
    assert history.peak_force == pytest.approx(strike_force(0.1, 500.0, k), rel=1e-3)
    assert history.duration == pytest.approx(half_period(0.1, k), rel=0.01)
    assert history.peak_time == pytest.approx(half_period(0.1, k) / 2, rel=0.01)
    assert history.rebound_speed == pytest.approx(500.0, rel=1e-3)
    assert history.settled and history.step_change < 0.01
    assert history.touches == 1 and not history.bottomed and history.dent == 0.0


def test_push_stays_on():
    """P + sqrt(P^2 + k m v^2); with v = 0 twice the push (as `strike_force`)."""
    model, k = block()
    for speed in (300.0, 0.0):
        history = march(model, Striker("right", (-1.0, 0.0), 0.1, speed, push=5000.0), 1e-15)
        assert history.peak_force == pytest.approx(strike_force(0.1, speed, k, 5000.0), rel=2e-3)
        assert history.energy.work[-1] == pytest.approx(5000.0 * history.position[-1], rel=1e-9)


PADS = {
    "soft": {"pad_stiffness": 2000.0},
    "bottoms out before a sprung striker": {"pad_stiffness": 2000.0, "pad_travel": 1.0, "stiffness": 40_000.0},
    "bottoms out before a rigid striker": {"pad_stiffness": 2000.0, "pad_travel": 1.0},
    "crushed": {"stiffness": 40_000.0, "limit": 8000.0},
    "crushed, rigid striker": {"limit": 8000.0},
    "crushed, after the pad": {"pad_stiffness": 2000.0, "pad_travel": 1.0, "limit": 8000.0},
}


@pytest.mark.parametrize("name", PADS)
def test_springs_before_a_light_part(name):
    """The balance of energy with the same springs in a row, which case 8.1 to 8.4 and hand calculations check."""
    model, k = block()
    striker = Striker("right", (-1.0, 0.0), 0.1, 400.0, **PADS[name])
    # without mass behind it a face that is crushed at once rings from step to step unless that is damped
    history = march(
        model, striker, 1e-15, accuracy=1e-3, most_steps=800, rho=0.2 if name.startswith("crushed, ") else 0.8
    )
    end = energy_balance(striker.chain(k), 0.1, 400.0, limit=striker.limit)
    assert history.peak_force == pytest.approx(end.force, rel=4e-3)
    assert history.bottomed == (end.bottomed == ("pad",))
    assert history.dent == pytest.approx(end.dent, rel=0.01, abs=1e-9)
    assert history.energy.lost[-1] == pytest.approx(end.dent_energy, rel=0.01, abs=1e-3 * end.energy_in)
    assert history.rebound_speed == pytest.approx(math.sqrt(2 * end.elastic / 0.1), rel=0.01)
    assert np.abs(history.energy.numerical).max() < 1e-3 * end.energy_in


# ---- rebound of a real part


@pytest.mark.parametrize("kind", KINDS)
def test_momentum_and_energy_of_a_struck_cantilever(kind):
    """What the striker loses the part gains; forces on the part and its supports make its inertia."""
    mesh = rectangle(kind, length=200.0, depth=40.0, columns=20, rows=4)
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).fix("left")
    corner = dataclasses.replace(
        mesh,
        edges=mesh.edges
        | {"hit": mesh.edges["top"][mesh.points[mesh.edges["top"][:, :2], 0].min(axis=1) >= 180 - 1e-9]},
    )
    model = dataclasses.replace(model, mesh=corner)
    striker = Striker("hit", (0.0, -1.0), 5e-4, 1500.0)
    history = march(model, striker, RHO, rho=1.0, watch=lambda now: now.frame())
    energy, start = history.energy, 0.5 * 5e-4 * 1500.0**2
    assert np.abs(energy.numerical).max() < 1e-9 * start
    assert 0.0 < energy.lost[-1] < (0.01 if kind.endswith(("6", "8")) else 0.02) * start  # corners weigh more there
    assert history.impulse == pytest.approx(5e-4 * (1500.0 - history.velocity[-1]), rel=1e-9)
    assert history.rebound_speed is not None and history.rebound_speed < 1500.0
    mass = MassMatrix.of(model, RHO)
    for frame in (history.peak, *history.watched[::40]):
        (wall,) = frame.reactions
        total = wall.resultant + frame.force * striker.unit
        inertia = mass.product(frame.acceleration).sum(axis=0)
        assert total == pytest.approx(inertia, abs=1e-6 * history.peak_force)
        assert frame.residual < 1e-8
    assert history.peak.force == history.force.max()
    assert len(history.watched) == len(history.force)


def test_a_cantilever_s_force_lies_near_the_balance_of_energy():
    """A heavy striker bends it slowly: v sqrt(k (m + M)) with M = 33/140 of its own mass, within its ripples."""
    mesh = rectangle("quad8", length=300.0, depth=20.0, columns=30, rows=2)
    model = fesolve.PlaneModel(mesh, LINEAR, 20.0, 0.0).fix("left")
    history = march(model, Striker("C", (0.0, -1.0), 0.05, 100.0), RHO)
    stiffness = 3 * E * (20.0 * 20.0**3 / 12) / 300.0**3
    assert history.peak_force == pytest.approx(strike_force(0.05, 100.0, stiffness), rel=0.03)


def test_order_two_in_time():
    """Striker and face go together from the start: a linear problem; 128, 256, 512 steps."""
    model = fesolve.PlaneModel(rectangle("quad8", columns=3, rows=1), W1, 38.0, 20.0).fix("left")
    striker, until = Striker("right", (-1.0, 0.0), 0.002, 1000.0), 1e-5

    def end(count, rho):
        history = march(model, striker, RHO, step=until / count, until=until, rho=rho)
        assert history.touching.all()
        return np.array([history.position[-1], history.velocity[-1] * until, history.energy.strain[-1] / 1e4])

    for rho in (1.0, 0.8, 0.4):
        exact = end(4096, rho)
        errors = [np.abs(end(count, rho) - exact).max() for count in (128, 256, 512)]
        assert (np.log2(np.divide(errors[:-1], errors[1:])) > 1.9).all()


# ---- frequencies


def frequencies(model, density, count):
    """The first natural frequencies, Hz: of K and M as the stepping has them."""
    from scipy import sparse
    from scipy.sparse.linalg import eigsh

    motion = Motion.of(model, (), MassMatrix.of(model, density))
    lower, free = motion.system.lower.matrix(motion.system.data), np.flatnonzero(~motion.held)
    stiff = (lower + sparse.tril(lower, -1).T).tocsr()[free][:, free].tocsc()
    mass = motion.inner[free][:, free].tocsc()
    values = eigsh(stiff, count, M=mass, sigma=0.0, return_eigenvectors=False)
    return np.sqrt(np.sort(values)) / (2 * np.pi)


def timoshenko_cantilever(E, G, rho, L, h, shear, count):
    """Frequencies (Hz) of a cantilever by Timoshenko's beam of unit width, from the transfer of (w, θ, M, V).

    w' = V/(κ G A) - θ, θ' = M/(E I), M' = V - ρ I ω^2 θ, V' = -ρ A ω^2 w; M and V vanish at the free end.
    S. P. Timoshenko 1921, as in textbooks on vibration (from memory).
    """
    from scipy.linalg import expm
    from scipy.optimize import brentq

    area, inertia = h, h**3 / 12

    def end(omega):
        matrix = np.array(
            [
                [0, 1, 0, 1 / (shear * G * area)],
                [0, 0, 1 / (E * inertia), 0],
                [0, -rho * inertia * omega**2, 0, -1],
                [-rho * area * omega**2, 0, 0, 0],
            ]
        )
        scale = np.array([1.0, 1 / L, E * inertia / L**2, E * inertia / L**3])
        transfer = expm(L * matrix) / scale[:, None] * scale
        return np.linalg.det(transfer[2:, 2:])

    slender = math.sqrt(E * inertia / (rho * area)) / L**2
    grid = slender * np.linspace(0.5, 70.0, 700)
    values = [end(omega) for omega in grid]
    roots = [brentq(end, a, b) for a, b, x, y in zip(grid, grid[1:], values, values[1:], strict=False) if x * y < 0]
    return np.array(roots[:count]) / (2 * np.pi)


def test_natural_frequencies_of_a_slender_cantilever():
    """1.8751^2, 4.6941^2 and 7.8548^2 sqrt(E I/(ρ A))/(2 π L^2) (Euler-Bernoulli, textbook), L/h = 50."""
    L, h = 500.0, 10.0
    model = fesolve.PlaneModel(rectangle("quad8", length=L, depth=h, columns=40, rows=1), LINEAR, 1.0, 0.0).fix("left")
    slender = np.array([1.87510407, 4.69409113, 7.85475744]) ** 2 * math.sqrt(E * h**2 / 12 / RHO) / L**2 / (2 * np.pi)
    assert frequencies(model, RHO, 3) == pytest.approx(slender, rel=8e-3)
    assert timoshenko_cantilever(E, E / 2, RHO, L, h, 5 / 6, 3) == pytest.approx(slender, rel=8e-3)


def test_natural_frequencies_of_a_short_wooden_cantilever():
    """Timoshenko's beam with κ = 5/6, E/G = 15.4 along the grain, L/h = 8: shear takes a seventh of the second."""
    L, h = 320.0, 40.0
    model = fesolve.PlaneModel(rectangle("quad8", length=L, depth=h, columns=40, rows=6), W1, 1.0, 0.0).fix("left")
    beam = timoshenko_cantilever(12_000.0, 780.0, RHO, L, h, 5 / 6, 3)
    slender = np.array([1.87510407, 4.69409113]) ** 2 * math.sqrt(12_000 * h**2 / 12 / RHO) / L**2 / (2 * np.pi)
    assert beam[1] < 0.87 * slender[1]
    found = frequencies(model, RHO, 4)
    along = wave_speed(12_000.0, RHO) / (4 * L)  # the bar's own first, beside those of bending
    bending = found[np.abs(found / along - 1) > 0.02][:3]
    assert bending == pytest.approx(beam, rel=0.01)


def test_axial_frequency_is_exact():
    """c/(4 L) of a bar fixed at one end (textbook)."""
    model = bar(count=40).fix("left").fix("bottom", axes=["y"]).fix("top", axes=["y"])
    assert frequencies(model, RHO, 1)[0] == pytest.approx(wave_speed(E, RHO) / (4 * LENGTH), rel=1e-6)


# ---- how it is held and asked


def test_turned_supports_make_no_difference():
    """The same struck block drawn at 30 deg, on rollers with frames of their own."""
    mesh = rectangle("triangle6", columns=4, rows=2)
    c, s = math.cos(math.radians(30)), math.sin(math.radians(30))
    turned = dataclasses.replace(mesh, points=mesh.points @ np.array([[c, s], [-s, c]]))
    results = []
    for one, grain, way in ((mesh, 0.0, (-1.0, 0.0)), (turned, 30.0, (-c, -s))):
        model = fesolve.PlaneModel(one, W1, 38.0, grain).roller("left").roller("bottom")
        striker = Striker("right", way, 0.001, 800.0)
        results.append(march(model, striker, RHO, step=1e-6, until=6e-5))
    assert results[1].force == pytest.approx(results[0].force, rel=1e-8, abs=1e-6 * results[0].peak_force)
    assert results[1].energy.kinetic == pytest.approx(results[0].energy.kinetic, rel=1e-7, abs=1e-6)
    back = results[1].peak.displacement @ np.array([[c, -s], [s, c]])
    assert back == pytest.approx(results[0].peak.displacement, abs=1e-9)


def test_pins_hold_the_half_that_the_strike_presses_on():
    mesh = plate_with_hole("triangle6", per_quarter=6, rings=5)
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).pin("hole", (0.0, 0.0)).spring("outer", 5.0)
    right = mesh.edges["outer"][mesh.points[mesh.edges["outer"][:, :2], 0].min(axis=1) > 40 - 1e-9]
    model = dataclasses.replace(model, mesh=dataclasses.replace(mesh, edges=mesh.edges | {"hit": right}))
    history = march(model, Striker("hit", (-1.0, 0.0), 0.02, 500.0), RHO)
    by_name = {r.name: r for r in history.peak.reactions}
    assert (by_name["hole"].points[:, 0] > -1e-6).all()  # pushed to the left, the hole's left-hand wall would lift off
    assert by_name["hole"].resultant[0] > 0.8 * history.peak_force


def test_steady_loads_bend_the_part_before():
    """A linear part held both ways: force and motion beside the steady bend are those without it."""
    mesh = rectangle("quad8", length=100.0, depth=20.0, columns=10, rows=2)
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).fix("left").pressure("top", 0.2, name="bed")
    striker, steps = Striker("right", (-1.0, -0.5), 1e-3, 700.0), {"step": 2e-6, "until": 1e-4, "rho": 1.0}
    bent, free = (march(model, striker, RHO, loads=loads, **steps) for loads in ({"bed": 1.0}, None))
    assert bent.force == pytest.approx(free.force, rel=1e-7, abs=1e-6 * free.peak_force)
    rest = model.solve([{"bed": 1.0}]).displacement[0]
    assert bent.peak.displacement - rest == pytest.approx(free.peak.displacement, abs=1e-9)
    assert np.abs(bent.energy.numerical).max() < 1e-6 * bent.energy.striker[0]
    with pytest.raises(InputError, match='No load is named "wind"'):
        march(model, striker, RHO, loads={"wind": 1.0})


def test_node_by_node_contact():
    """A flat rigid face and an even spread give nearly the same force; a leaning face touches at one end first."""
    mesh = rectangle("quad8", length=60.0, depth=40.0, columns=6, rows=8)
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).fix("left")
    steps = {"step": 2e-6, "until": 3e-4, "rho": 1.0}
    even = march(model, Striker("right", (-1.0, 0.0), 2e-3, 500.0), RHO, **steps)
    flat = march(model, Striker("right", (-1.0, 0.0), 2e-3, 500.0, spread="nodes"), RHO, **steps)
    assert flat.peak_force == pytest.approx(even.peak_force, rel=0.03)
    assert np.abs(flat.energy.numerical).max() < 1e-9 * flat.energy.striker[0]
    assert flat.impulse == pytest.approx(2e-3 * (500.0 - flat.velocity[-1]), rel=1e-9)
    nodes = np.unique(mesh.edges["right"])
    gaps = tuple(0.01 * mesh.points[nodes, 1])  # it leans away from the upper end
    leaning = march(model, Striker("right", (-1.0, 0.0), 2e-3, 500.0, spread="nodes", gaps=gaps), RHO, **steps)
    assert leaning.peak_force < 0.97 * flat.peak_force
    early = leaning.watched
    assert early == ()
    with pytest.raises(InputError, match=r"gaps have shape \(3,\); give one value or 17"):
        march(model, Striker("right", (-1.0, 0.0), 2e-3, 500.0, spread="nodes", gaps=(0.0,) * 3), RHO, **steps)


def test_superlu_agrees(monkeypatch):
    model, steps = bar(count=20).fix("right"), {"until": 1.0, "count": 50}
    first = struck_bar(model, BAR, **steps)
    monkeypatch.setattr(partitioned, "best_factoriser", lambda: superlu)
    again = struck_bar(bar(count=20).fix("right"), BAR, **steps)
    assert again.force == pytest.approx(first.force, rel=1e-8)


def test_solving_between_steps_does_no_harm():
    """The model keeps one factorisation; a callback that solves with it takes it away, and the march makes it again."""
    model = bar(count=20).fix("right").force("left", (10.0, 0.0), name="end")
    alone = struck_bar(model, BAR, 0.5, count=50)
    before = model.solve().displacement
    among = struck_bar(model, BAR, 0.5, count=50, watch=lambda now: model.solve().displacement)
    assert among.force == pytest.approx(alone.force, rel=1e-10)
    assert among.watched[-1] == pytest.approx(before, rel=1e-10)
    assert model.solve().displacement == pytest.approx(before, rel=1e-12)


def test_frames_at_times():
    model = bar(count=20).fix("right")
    seen = struck_bar(model, BAR, 1.0, count=50, watch=lambda now: (now.time, now.displacement))
    asked = struck_bar(model, BAR, 1.0, count=50, at=[0.31 * CROSSING, seen.time[20]])
    assert asked.frames[1] == pytest.approx(seen.watched[20][1], abs=1e-12)
    (t0, d0), (t1, d1) = seen.watched[14:16]
    share = (0.31 * CROSSING - t0) / (t1 - t0)
    assert 0 <= share <= 1
    assert asked.frames[0] == pytest.approx((1 - share) * d0 + share * d1, abs=1e-12)


# ---- bad input

WRONG = {
    "mass is 0 tonne": {"mass": 0.0},
    "speed is -1 mm/s": {"speed": -1.0},
    "push is -5 N": {"push": -5.0},
    "stiffness is 0 N/mm": {"stiffness": 0.0},
    "pad_travel is 0 mm": {"pad_stiffness": 1.0, "pad_travel": 0.0},
    "travel needs its stiffness": {"pad_travel": 2.0},
    "limit is nan N": {"limit": math.nan},
    "neither speed nor push": {"speed": 0.0},
    "not both 0": {"direction": (0.0, 0.0)},
    'use spread="mean"': {"spread": "nodes", "stiffness": 10.0},
}


@pytest.mark.parametrize("message", WRONG)
def test_strikers_that_cannot_be(message):
    good = {"edge": "left", "direction": (1.0, 0.0), "mass": 0.1, "speed": 100.0}
    with pytest.raises(InputError, match=message):
        Striker(**good | WRONG[message])


def test_marches_that_cannot_be():
    held, striker = bar(count=4).fix("right"), Striker("left", (1.0, 0.0), 0.1, 100.0)
    with pytest.raises(InputError, match="goes out of the wood"):
        march(held, Striker("left", (-1.0, 0.0), 0.1, 100.0), RHO)
    with pytest.raises(InputError, match='edge "nose" is not in the mesh'):
        march(held, Striker("nose", (-1.0, 0.0), 0.1, 100.0), RHO)
    with pytest.raises(InputError, match="density is 0"):
        march(held, striker, 0.0)
    with pytest.raises(InputError, match="accuracy is 0"):
        march(held, striker, RHO, accuracy=0.0)
    with pytest.raises(InputError, match="time to follow is -1 s"):
        march(held, striker, RHO, until=-1.0)
    with pytest.raises(InputError, match="time step is 0 s"):
        march(held, striker, RHO, step=0.0)
    with pytest.raises(FreeMotionError, match="The part is not held"):
        march(bar(count=4), striker, RHO)


def test_the_chain_of_a_striker():
    striker = Striker("left", (3.0, 4.0), 0.1, 100.0, stiffness=500.0, pad_stiffness=100.0, pad_travel=2.0)
    assert striker.chain(1000.0) == Chain((Link("part", 1000.0), Link("striker", 500.0), Link("pad", 100.0, 2.0)))
    assert striker.unit == pytest.approx([0.6, 0.8])
