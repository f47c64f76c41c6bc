"""Coulomb friction: sticking, sliding and its direction, against statics and closed forms."""

import dataclasses

import numpy as np
import pytest

import fesolve
from fesolve.fem import complementarity
from fesolve.fem.solve import answer_to
from meshes import KINDS, W1, plate_with_hole, rectangle

MU = 0.3


def limits_hold(contact, mu):
    """|t| <= μ n at all nodes, = where it slides, against the slip."""
    support = contact.support
    n = -(contact.force * support.normals).sum(axis=1)
    t = (contact.force * support.tangents).sum(axis=1)
    scale = np.abs(n).max()
    assert (np.abs(t) <= mu * n + 1e-8 * scale).all()
    slips = contact.status == "slip"
    assert np.abs(t[slips]) == pytest.approx(mu * n[slips], abs=1e-8 * scale)
    assert (t[slips] * contact.slip[slips] <= 1e-12).all()
    sticks = contact.status == "closed"
    assert np.abs(contact.slip[sticks]).max(initial=0.0) < 1e-8 * max(np.abs(contact.slip).max(), 1e-3)


@pytest.mark.parametrize("kind", KINDS)
def test_a_block_sticks_up_to_the_angle_of_friction(kind):
    """A block under its own weight on a slope stays where tan(angle) < μ; beyond nothing balances it (Coulomb)."""
    mesh = rectangle(kind, length=60.0, depth=10.0)
    model = fesolve.PlaneModel(mesh, W1, 10.0, 0.0).one_way("bottom", friction=MU)
    for slope in (0.1, -0.2, 0.29):
        solution = model.body_force((1e-3 * slope, -1e-3)).solve()
        contact = solution.contact("bottom")
        assert contact.resultant == pytest.approx([-6.0 * slope, 6.0], rel=1e-7)
        limits_hold(contact, MU)
        assert solution.loose == (None,)
        assert solution.equilibrium < 1e-9
    with pytest.raises(fesolve.FreeMotionError, match=r"the part would slide to the right"):
        model.body_force((1e-3 * 0.31, -1e-3)).solve()
    with pytest.raises(fesolve.FreeMotionError, match=r"the part would slide to the left"):
        model.body_force((-1e-3 * 0.31, -1e-3)).solve()


def test_sliding_all_along_is_exact():
    """A strip on a spring at its end, pulled beyond friction: all nodes slide, the spring takes the rest."""
    mesh = rectangle("triangle6", distort=0.2)
    stiff = fesolve.OrthotropicPlane(E_0=1e7, E_90=1e7, G=4e6, nu_0_90=0.2)
    model = fesolve.PlaneModel(mesh, stiff, 2.0, 0.0).one_way("bottom", friction=MU).pressure("top", 3.0)
    model = model.spring("left", 100.0, ["x"]).traction("right", (5.0, 0.0))
    solution = model.solve()
    contact = solution.contact("bottom")
    assert (contact.status == "slip").all()
    assert contact.resultant == pytest.approx([-MU * 240.0, 240.0], rel=1e-7)
    assert solution.reactions["left"] == pytest.approx([-(200.0 - MU * 240.0), 0.0], abs=1e-4)
    assert contact.slip == pytest.approx((200.0 - MU * 240.0) / (100.0 * 20.0), rel=0.01)
    limits_hold(contact, MU)


def test_a_bar_drawn_over_its_bed_slides_over_a_part_of_it():
    """Shear lag of a thin bar under normal pressure p: pulled by F it slides over F/(μ p t) from its end (statics).

    The bar sticks beyond; its end moves by F^2/(2 E A μ p t), as a bar's with constant friction along that length.
    """
    length, depth, t, E = 400.0, 2.0, 5.0, 10_000.0
    mesh = rectangle("quad8", length=length, depth=depth, columns=100, rows=1)
    wood = fesolve.OrthotropicPlane(E_0=E, E_90=E, G=E / 2, nu_0_90=0.0)
    p, F = 0.5, 150.0
    model = fesolve.PlaneModel(mesh, wood, t, 0.0).one_way("bottom", friction=MU).pressure("top", p)
    solution = model.force("right", (F, 0.0)).solve()
    contact = solution.contact("bottom")
    slides = contact.status == "slip"
    reach = F / (MU * p * t)  # 200 mm
    assert length - contact.points[slides, 0].min() == pytest.approx(reach, abs=3 * depth)
    end = mesh.edges["right"].ravel()
    assert solution.displacement[end, 0].mean() == pytest.approx(F**2 / (2 * E * depth * t * MU * p * t), rel=0.02)
    assert contact.resultant[0] == pytest.approx(-F, rel=1e-8)
    limits_hold(contact, MU)


def test_much_friction_is_a_fixed_edge_where_nothing_lifts():
    mesh = rectangle("triangle6", distort=0.2)
    base = fesolve.PlaneModel(mesh, W1, 2.0, 20.0).pressure("top", 5.0).force("top", (20.0, 0.0))
    one, two = base.one_way("bottom", friction=50.0).solve(), base.fix("bottom").solve()
    assert one.contact("bottom").touching.all()
    assert one.displacement == pytest.approx(two.displacement, abs=1e-8 * np.abs(two.displacement).max())
    assert one.reactions["bottom"] == pytest.approx(two.reactions["bottom"], rel=1e-8)


def test_no_friction_is_the_limit_of_little():
    mesh = rectangle("triangle6", columns=8)
    base = fesolve.PlaneModel(mesh, W1, 2.0, 20.0).fix("D", ["x"]).pressure("top", 5.0).force("C", (0.0, -50.0))
    none, little = base.one_way("bottom").solve(), base.one_way("bottom", friction=1e-7).solve()
    assert little.displacement == pytest.approx(none.displacement, abs=1e-5 * np.abs(none.displacement).max())


def pinned(friction, per_quarter=24, load=(0.0, -2e-3), turn=0.0, play=0.1, kind="triangle6"):
    mesh = plate_with_hole(kind, per_quarter=per_quarter, rings=6)
    at = {"right": (40, 0), "left": (-40, 0)}
    sets = {name: np.flatnonzero(np.abs(mesh.points - xy).max(axis=1) < 1e-9) for name, xy in at.items()}
    model = fesolve.PlaneModel(dataclasses.replace(mesh, point_sets=sets), W1, 10.0, 0.0)
    model = model.one_way_pin("hole", (0.0, 0.0), 20.0 - play, friction=friction, name="pin")
    return model.body_force(load).force("right", (0.0, -turn)).force("left", (0.0, turn))


def test_friction_at_a_pin_holds_a_moment_up_to_its_limit():
    """A part hung on a pin does not turn while the moment is below that of friction, at most μ N r (Coulomb).

    At limit the resultant stands at an angle of friction to the radius: M = N r sin(atan μ), for contact at one point.
    """
    weight = 2e-3 * 10 * (6400 - np.pi * 100)
    most = weight * 10.0 * np.sin(np.arctan(MU))
    turn = 0.5 * most / 80.0
    solution = pinned(MU, turn=turn).solve()
    pin = solution.contact("pin")
    assert pin.resultant == pytest.approx([0.0, weight], rel=3e-3, abs=1e-6)
    assert pin.moment(np.zeros(2)) == pytest.approx(80.0 * turn, rel=1e-6)
    limits_hold(pin, MU)
    assert solution.loose == (None,)
    with pytest.raises(fesolve.FreeMotionError, match=r"turn clockwise about the point"):
        pinned(0.0, turn=turn).solve()


def test_friction_at_a_pin_is_even_about_its_load():
    """Without a moment friction on the two sides of a hung part is mirrored."""
    pin = pinned(MU).solve().contact("pin")
    left = pin.points[:, 0] < -1e-9
    t = (pin.force * pin.support.tangents).sum(axis=1)
    mirrored = {tuple(np.round(p, 6)): i for i, p in enumerate(pin.points)}
    for i in np.flatnonzero(left):
        j = mirrored[(round(-pin.points[i, 0], 6) + 0.0, round(pin.points[i, 1], 6) + 0.0)]
        assert t[i] == pytest.approx(-t[j], abs=0.03 * np.abs(t).max())  # diagonals of the mesh are not mirrored


def test_forces_double_with_the_load_where_no_gap_closes():
    mesh = rectangle("triangle6", columns=8)
    model = fesolve.PlaneModel(mesh, W1, 2.0, 20.0).one_way("bottom", friction=MU)
    model = model.pressure("top", 5.0).force("C", (30.0, -50.0), name="C")
    one, two = model.solve([{"top": 1.0, "C": 1.0}, {"top": 2.0, "C": 2.0}]).contacts
    assert (one[0].status == two[0].status).all()
    assert two[0].force == pytest.approx(2 * one[0].force, rel=1e-6, abs=1e-8)


@pytest.mark.parametrize("number", range(12))
def test_any_part_on_rests_and_pins_comes_to_rest(number):
    """Play, friction, grain and loads at random, up to seven tenths of what friction can hold: all conditions hold."""
    rng = np.random.default_rng(number)
    mu, kind = float(rng.choice([0.1, 0.3, 0.6])), ("triangle6", "quad8")[number % 2]
    grain, share = float(rng.uniform(0, 180)), float(rng.uniform(-0.7, 0.7))
    if number % 3 == 0:
        weight = 2e-3 * 10 * (6400 - np.pi * 100)
        model = pinned(mu, play=float(rng.choice([0, 0.02, 0.1, 0.5])), turn=share * mu * weight * 10 / 80, kind=kind)
        model = model.with_(grain=grain)
    else:
        mesh = rectangle(kind, length=200.0, depth=30.0, columns=30, rows=5)
        middle = mesh.points[mesh.edges["bottom"][:, :2]].mean(axis=1)[:, 0]
        ends = {"one": mesh.edges["bottom"][middle < 35], "two": mesh.edges["bottom"][middle > 160]}
        model = fesolve.PlaneModel(dataclasses.replace(mesh, edges={**mesh.edges, **ends}), W1, 20.0, grain)
        model = model.one_way("one", friction=mu).one_way("two", friction=mu, gap=0.01 * (number % 2))
        model = model.pressure("top", 1.0).force("right", (share * mu * 4000, 0.0))
    solution = model.solve()
    for contact in solution.contacts[0]:
        limits_hold(contact, mu)
    assert solution.equilibrium < 1e-9


def test_what_answers_to_a_quantity_where_nodes_slide():
    """The answer is that of the transposed problem: J of a small further load is that load's work on it."""
    mesh = rectangle("triangle6", columns=10, distort=0.2)
    model = fesolve.PlaneModel(mesh, W1, 2.0, 20.0).one_way("bottom", friction=MU).pressure("top", 5.0)
    model = model.force("top", (80.0, 0.0), name="push")
    solution = model.solve()
    assert {"slip", "closed"} <= set(solution.contact("bottom").status)
    wanted, more = np.random.default_rng(2).normal(size=(2, len(mesh.points), 2))
    answer = answer_to(solution, 0, wanted[None])[0]
    small = dataclasses.replace(model.loads[0], name="more", nodal=1e-6 * more)
    moved = dataclasses.replace(model, loads=(*model.loads, small)).solve()
    assert (solution.contact("bottom").status == moved.contact("bottom").status).all()
    change = ((moved.displacement - solution.displacement) * wanted).sum() / 1e-6
    assert change == pytest.approx((answer * more).sum(), rel=1e-4)


def test_order_of_nodes():
    mesh = rectangle("triangle6", columns=12, distort=0.2)
    order = np.random.default_rng(5).permutation(len(mesh.points))
    back = np.argsort(order)
    mixed = fesolve.Mesh(
        mesh.points[order],
        {kind: back[cells] for kind, cells in mesh.cells.items()},
        edges={name: back[sides] for name, sides in mesh.edges.items()},
        point_sets={name: back[nodes] for name, nodes in mesh.point_sets.items()},
    )
    found = []
    for one in (mesh, mixed):
        model = fesolve.PlaneModel(one, W1, 2.0, 20.0).one_way("bottom", friction=MU).pressure("top", 5.0)
        found.append(model.force("top", (60.0, 0.0), name="push").solve())
    scale = np.abs(found[0].displacement).max()
    assert found[1].displacement == pytest.approx(found[0].displacement[order], abs=1e-8 * scale)


def test_where_it_does_not_come_to_rest_no_result_is_given(monkeypatch):
    monkeypatch.setattr(complementarity, "broken", lambda problem, found, limit: np.ones(len(found.state), dtype=bool))
    monkeypatch.setattr(complementarity, "LIMIT_ROUNDS", 3)
    mesh = rectangle("triangle6")
    model = fesolve.PlaneModel(mesh, W1, 2.0, 20.0).one_way("bottom", friction=MU).pressure("top", 5.0)
    with pytest.raises(
        fesolve.SolveError, match=r'do not come to rest; 9 nodes of "bottom" keep changing .* near \(0, 0\), .* mm'
    ):
        model.solve()


def test_limits_of_the_round_before_find_the_same(monkeypatch):
    """With Newton's steps out of the way the fixed-point rounds on friction's limits end at the same forces."""
    model = pinned(MU, per_quarter=12, turn=2.0)
    usual = model.solve()
    monkeypatch.setattr(complementarity, "ROUNDS", 0)
    again = pinned(MU, per_quarter=12, turn=2.0).solve()
    assert again.displacement == pytest.approx(usual.displacement, abs=1e-6 * np.abs(usual.displacement).max())
    assert (again.contact("pin").status == usual.contact("pin").status).all()
