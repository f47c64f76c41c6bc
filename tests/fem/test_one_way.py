"""One-way supports: what pushes and never pulls. Against closed forms, two-way solutions and conditions of contact."""

import dataclasses
import sys

import numpy as np
import pytest

import fesolve
from fesolve.fem import solve as solving
from fesolve.fem.boundary import side_quadrature
from fesolve.fem.complementarity import Condensed, unbalanced_motion
from fesolve.fem.factor import superlu
from fesolve.fem.loads import side_load
from meshes import KINDS, W1, grid_quads, plate_with_hole, rectangle, rim, to_kind

NONE = (None,)


def turned(mesh, angle, shift=(0.0, 0.0)):
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    return dataclasses.replace(mesh, points=mesh.points @ np.array([[c, s], [-s, c]]) + np.asarray(shift))


def conditions(solution):
    """No pull, no overlap, one of both zero; all forces in balance."""
    assert solution.equilibrium < 1e-9
    for contacts in solution.contacts:
        for contact in contacts:
            push = -(contact.force * contact.support.normals).sum(axis=1)
            assert push.min() >= 0.0
            assert contact.gap.min() >= 0.0
            assert (contact.gap[contact.touching] == 0.0).all()
            assert (push[~contact.touching] == 0.0).all()


# ---- what is exact


@pytest.mark.parametrize("angle", [0.0, 37.0, 200.0])
@pytest.mark.parametrize("kind", KINDS)
def test_patch_of_contact(kind, angle):
    """A distorted mesh pressed on a rest alone: one pressure at all nodes, one stress everywhere.

    The part is free to slide along the rest, and no load drives it.
    """
    mesh = turned(rectangle(kind, distort=0.2), angle, (5.0, 900.0))
    solution = fesolve.PlaneModel(mesh, W1, 2.0, 30.0).one_way("bottom").pressure("top", 3.0).solve()
    contact = solution.contact("bottom")
    assert contact.pressure == pytest.approx(3.0, rel=1e-8)
    assert (contact.status == "closed").all()
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    assert solution.stress_xy == pytest.approx(
        np.broadcast_to([-3 * s * s, -3 * c * c, 3 * s * c], solution.stress_xy.shape), abs=1e-7
    )
    assert "loose: it can slide" in solution.loose[0]
    conditions(solution)


@pytest.mark.parametrize("grain", [0.0, 90.0])
@pytest.mark.parametrize("kind", ["triangle6", "quad8"])
def test_pressure_that_varies_along_the_rest_is_exact_too(kind, grain):
    """σ_y = -3 - x/20 MPa everywhere solves plane elasticity and leaves y = 0 flat: displacements are quadratic."""
    mesh = rectangle(kind, distort=0.2 if kind == "triangle6" else 0.0)  # 8 nodes are not quadratic when distorted
    face = side_quadrature(mesh, mesh.edges["top"])
    stress = -3.0 - face.points[..., 0] / 20
    push = np.stack([np.zeros_like(stress), 2.0 * stress * face.lengths], axis=-1)
    model = fesolve.PlaneModel(mesh, W1, 2.0, grain).one_way("bottom")
    solution = dataclasses.replace(model, loads=(side_load("top", mesh, face, push),)).solve()
    contact = solution.contact("bottom")
    assert contact.pressure == pytest.approx(3.0 + contact.points[:, 0] / 20, rel=1e-8)
    assert solution.stress_xy[:, 1] == pytest.approx(-3.0 - mesh.points[:, 0] / 20, rel=1e-7)
    conditions(solution)


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_as_rollers_where_nothing_lifts(kind):
    mesh = rectangle(kind, distort=0.2)
    base = fesolve.PlaneModel(mesh, W1, 38.0, 20.0).fix("D", ["x"]).pressure("top", 5.0)
    base = base.traction("right", (1.0, 0.5)).traction("left", (-1.0, -0.5), name="left")
    one, two = base.one_way("bottom").solve(), base.roller("bottom").solve()
    assert one.contact("bottom").touching.all()
    assert one.displacement == pytest.approx(two.displacement, abs=1e-8 * np.abs(two.displacement).max())
    assert one.stress_xy == pytest.approx(two.stress_xy, abs=1e-7 * np.abs(two.stress_xy).max())
    assert one.reactions["bottom"] == pytest.approx(two.reactions["bottom"], abs=1e-5)
    assert one.energy == pytest.approx(two.energy, rel=1e-9)
    assert one.loose == NONE


def test_a_rest_with_give_is_a_spring_bed_where_nothing_lifts():
    mesh = rectangle("triangle6")
    base = fesolve.PlaneModel(mesh, W1, 2.0, 0.0).fix("A", ["x"])
    base = base.pressure("top", 5.0).force("right", (0.0, -20.0))
    one, two = base.one_way("bottom", stiffness=50.0).solve(), base.spring("bottom", 50.0, ["y"]).solve()
    # the bed's own matrix couples nodes of a side, the rest's stand one by one: the same foundation in the limit
    assert one.reactions["bottom"] == pytest.approx(two.reactions["bottom"], rel=1e-8, abs=1e-8)
    assert one.displacement == pytest.approx(two.displacement, rel=0.02, abs=0.005)
    contact = one.contact("bottom")
    sunk = -one.displacement[contact.support.nodes, 1]
    assert contact.pressure * 2.0 == pytest.approx(50.0 * sunk, rel=1e-6)


def test_rest_over_a_gap():
    """A bar pushed to a stop 0.001 mm off: the stop takes what is left after the gap has closed (Hooke's law)."""
    mesh = rectangle("quad8")
    model = fesolve.PlaneModel(mesh, dataclasses.replace(W1, nu_0_90=0.0), 2.0, 0.0).fix("left", ["x"]).fix("A", ["y"])
    model = model.one_way("right", gap=0.001, name="stop").body_force((0.05, 0.0))
    weak = model.solve([{"body force": 0.01}])
    assert not weak.contact("stop").touching.any()
    u = 0.01 * 0.05 * 40**2 / (2 * 12_000)
    assert weak.contact("stop").gap == pytest.approx(0.001 - u, rel=1e-9)
    full = model.solve().contact("stop")
    free = 0.05 * 40**2 / (2 * 12_000) / 0.001  # times the gap
    left = (1 - 1 / free) * 0.05 * 40 / 2
    assert full.pressure == pytest.approx(left, rel=1e-8)
    assert full.resultant == pytest.approx([-left * 40, 0.0], abs=1e-6)


def test_gap_by_node_makes_a_wedge_bear_on_its_tip():
    mesh = rectangle("triangle6", columns=8)
    gap = 1e-3 * np.abs(mesh.points[:, 0] - 20.0)
    solution = (
        fesolve.PlaneModel(mesh, W1, 2.0, 0.0).fix("A", ["x"]).one_way("bottom", gap=gap).force("top", (0.0, -1e-3))
    ).solve()
    contact = solution.contact("bottom")
    assert contact.touching.sum() == 1
    assert contact.points[contact.touching][0] == pytest.approx([20.0, 0.0])
    assert contact.resultant == pytest.approx([0.0, 1e-3], abs=1e-12)


# ---- rounded stamp on a half-plane


def graded_block(reach=30.0, fine=0.05, kind="triangle6"):
    """|x| <= reach, 0 <= y <= 2 reach, fine about the origin; edge foot on y = 0, roof above."""

    def steps(even, growth):
        found = [0.0, fine]
        while found[-1] < reach:
            found.append(found[-1] + (fine if found[-1] < even else growth * (found[-1] - found[-2])))
        return np.array(found)

    side = steps(1.5, 1.25)
    x, y = np.concatenate([-side[:0:-1], side]), steps(0.2, 1.15)
    y = np.append(y, [1.5 * y[-1], 2 * y[-1]])
    columns, rows = len(x) - 1, len(y) - 1
    Y, X = np.meshgrid(y, x, indexing="ij")
    points, cells = to_kind(kind, np.column_stack([X.ravel(), Y.ravel()]), grid_quads(columns, rows))
    sides = rim(kind, cells)
    middle = points[sides[:, :2]].mean(axis=1)
    near = (middle[:, 1] < 1e-9) & (np.abs(middle[:, 0]) < 1.6)
    return fesolve.Mesh(points, {kind: cells}, edges={"foot": sides[near], "roof": sides[middle[:, 1] > y[-1] - 1e-9]})


@pytest.mark.parametrize("grain", [0.0, 90.0])
def test_round_stamp_on_wood(grain):
    """Rigid parabola x^2/(2 R) on an orthotropic half-plane: p = p_0 sqrt(1 - x^2/a^2), a^2 = 4 F R/(π E* t).

    K. L. Johnson, Contact Mechanics (1985), eq. 4.43 to 4.45; in wood 1/E* = sqrt(S_11 S_22/2) (sqrt(S_22/S_11) +
    (2 S_12 + S_66)/(2 S_11))^(1/2), 1 along the surface (the factor of G. C. Sih, P. C. Paris, G. R. Irwin, Int. J.
    Fracture Mech. 1 (1965), which opens a crack along the same line); from memory.
    """
    mesh = graded_block()
    R, force, t = 60.0, 200.0, 10.0
    gap = mesh.points[:, 0] ** 2 / (2 * R)
    model = fesolve.PlaneModel(mesh, W1, t, grain).one_way("foot", gap=gap, name="stamp").force("roof", (0.0, -force))
    contact = model.solve().contact("stamp")
    S11, S22 = (1 / 12_000, 1 / 600) if grain == 0.0 else (1 / 600, 1 / 12_000)
    S12, S66 = -0.4 / 12_000, 1 / 780
    soft = np.sqrt(S11 * S22 / 2) * np.sqrt(np.sqrt(S22 / S11) + (2 * S12 + S66) / (2 * S11))
    a = np.sqrt(4 * force / t * R * soft / np.pi)
    x = contact.points[:, 0]
    assert 0.5 < a < 1.4
    assert np.abs(x[contact.touching]).max() == pytest.approx(a, abs=0.04)
    p_0 = 2 * force / t / (np.pi * a)
    inside = np.abs(x) < 0.8 * a
    assert contact.pressure[inside] == pytest.approx(p_0 * np.sqrt(1 - (x[inside] / a) ** 2), rel=0.01)
    # no oscillation: corner and middle nodes lie on one curve
    order = np.argsort(x[inside])
    share = (contact.pressure / (p_0 * np.sqrt(np.maximum(1 - (x / a) ** 2, 0.1))))[inside][order]
    assert np.abs(np.diff(share)).max() < 0.015  # fewer elements meet at some corners


# ---- order of nodes, cases, other grain


def beam(kind="triangle6", columns=40):
    """A strip on two patches, which lifts off the left one under a load beyond the right one."""
    mesh = rectangle(kind, length=200.0, depth=20.0, columns=columns, rows=4)
    middle = mesh.points[mesh.edges["bottom"][:, :2]].mean(axis=1)[:, 0]
    top = mesh.points[mesh.edges["top"][:, :2]].mean(axis=1)[:, 0]
    edges = {
        **mesh.edges,
        "one": mesh.edges["bottom"][middle < 20],
        "two": mesh.edges["bottom"][(middle > 100) & (middle < 130)],
        "tip": mesh.edges["top"][top > 180],
        "inside": mesh.edges["top"][(top > 40) & (top < 80)],
    }
    return dataclasses.replace(mesh, edges=edges)


def on_rests(mesh, grain=10.0, **more):
    model = fesolve.PlaneModel(mesh, W1, 30.0, grain).one_way("one", **more).one_way("two", **more)
    return model.fix("A", ["x"]).force("tip", (0.0, -200.0)).force("inside", (0.0, -2000.0))


def test_results_do_not_depend_on_the_order_of_nodes():
    mesh = beam()
    order = np.random.default_rng(3).permutation(len(mesh.points))
    back = np.argsort(order)
    mixed = fesolve.Mesh(
        mesh.points[order],
        {kind: back[cells][::-1] for kind, cells in mesh.cells.items()},
        edges={name: back[sides][::-1] for name, sides in mesh.edges.items()},
        point_sets={name: back[nodes] for name, nodes in mesh.point_sets.items()},
    )
    one, two = on_rests(mesh).solve(), on_rests(mixed).solve()
    assert two.displacement == pytest.approx(one.displacement[order], abs=1e-8 * np.abs(one.displacement).max())
    for name in ("one", "two"):
        a, b = one.contact(name), two.contact(name)
        by = np.searchsorted(a.support.nodes, order[b.support.nodes])
        assert (b.status == a.status[by]).all()
        assert b.pressure == pytest.approx(a.pressure[by], abs=1e-6 * a.pressure.max())


def test_each_case_has_its_own_contacts():
    model = on_rests(beam())
    cases = [{"inside": 1.0}, {"tip": 1.0, "inside": 1.0}, {"tip": 1.0, "inside": 0.02}, {"inside": 2.0}]
    with pytest.raises(fesolve.InputError, match=r"Load case 3 \(tip \+ 0.02 inside\): no contact forces can balance"):
        model.solve(cases)
    held = model.one_way("left", normal=(-1.0, 0.0)).fix("D", ["x", "y"])
    together = held.solve(cases)
    conditions(together)
    for case, factors in enumerate(cases):
        alone = held.solve([factors])
        assert together.displacement[case] == pytest.approx(alone.displacement[0], abs=1e-12)
        assert (together.contact("one", case).status == alone.contact("one").status).all()
    assert together.contact("one", 0).touching.any() and not together.contact("one", 2).touching.any()


def test_receding_contact_grows_with_its_load():
    """Without gaps contact stands wherever it stood, and forces double with the load (Dundurs and Stippes, 1970)."""
    model = on_rests(beam())
    one, two = model.solve([{"tip": 1.0, "inside": 1.0}, {"tip": 2.0, "inside": 2.0}]).contacts
    for a, b in zip(one, two, strict=True):
        assert (a.status == b.status).all()
        assert b.force == pytest.approx(2 * a.force, rel=1e-7, abs=1e-9)


def test_another_grain_is_worked_out_anew():
    mesh = beam()
    first = on_rests(mesh, grain=10.0)
    first.solve()
    again, fresh = first.with_(grain=60.0).solve(), on_rests(mesh, grain=60.0).solve()
    assert again.displacement == pytest.approx(fresh.displacement, rel=1e-9, abs=1e-14)


def test_without_cholmod(monkeypatch):
    usual = on_rests(beam()).solve()
    monkeypatch.setattr(solving, "best_factoriser", lambda: superlu)
    monkeypatch.setitem(sys.modules, "cvxopt.cholmod", None)
    assert on_rests(beam()).solve().displacement == pytest.approx(usual.displacement, rel=1e-7, abs=1e-12)


def test_patches_that_share_a_node_share_its_force():
    mesh = rectangle("triangle6", columns=6)
    middle = mesh.points[mesh.edges["bottom"][:, :2]].mean(axis=1)[:, 0]
    halves = {"a": mesh.edges["bottom"][middle < 20], "b": mesh.edges["bottom"][middle > 20]}
    mesh = dataclasses.replace(mesh, edges={**mesh.edges, **halves})
    solution = fesolve.PlaneModel(mesh, W1, 1.0, 0.0).one_way("a").one_way("b").pressure("top", 2.0).solve()
    for name in "ab":
        contact = solution.contact(name)
        assert contact.resultant == pytest.approx([0.0, 40.0], rel=1e-6)
        assert contact.moment(np.array([20.0, 0.0])) == pytest.approx(400.0 * (-1 if name == "a" else 1), rel=1e-6)
    conditions(solution)


def test_a_node_that_is_held_altogether_takes_no_contact_force():
    mesh = rectangle("triangle6")
    model = fesolve.PlaneModel(mesh, W1, 1.0, 0.0).fix("left").one_way("bottom").pressure("top", 2.0)
    solution = model.solve()
    contact = solution.contact("bottom")
    assert contact.force[np.isclose(contact.points[:, 0], 0.0)] == pytest.approx(0.0, abs=1e-6)
    conditions(solution)


# ---- loose and unbalanced


def refused(model, cases=None):
    with pytest.raises(fesolve.InputError) as caught:
        model.solve(cases)
    return str(caught.value)


@pytest.mark.parametrize("shift", [(0.0, 0.0), (1000.0, -500.0)])
def test_loads_that_nothing_can_balance(shift):
    model = fesolve.PlaneModel(rectangle("triangle6", origin=shift), W1, 38.0, 0.0).one_way("bottom")
    x, y = shift
    assert "no contact forces can balance the loads: the part would slide up." in refused(model.pressure("top", -1.0))
    assert "the part would slide to the right." in refused(model.force("left", (10.0, 0.0)))
    assert "the part would slide to the left." in refused(model.force("left", (-10.0, 0.0)).pressure("top", 1.0))
    tilts = fesolve.PlaneModel(rectangle("triangle6", origin=shift), W1, 38.0, 0.0).one_way("A", normal=(0, -1))
    tilts = tilts.fix("A", ["x"]).pressure("top", 1.0)
    assert f"turn clockwise about the point ({x:.1f}, {y:.1f}) mm" in refused(tilts)
    tipped = model.fix("A", ["x"]).force("C", (0.0, -10.0)).force("B", (0.0, 12.0))
    assert "Add a support that stops this" in refused(tipped)


@pytest.mark.parametrize("number", range(40))
def test_balanced_loads_are_never_refused_and_others_always(number):
    """Loads made of contact forces themselves can be balanced (Farkas' lemma), on short rests with long levers too."""
    rng = np.random.default_rng(number)
    k, reach = int(rng.integers(4, 200)), (1.0, 1e-3)[number % 2]
    arms = rng.uniform(0, reach, k) + (0.0, rng.uniform(-1, 1))[number % 3 == 0]
    motion = np.stack([np.zeros(k), np.ones(k), arms], axis=1)  # upward normals
    forces = rng.exponential(size=k) * (rng.random(k) < 0.3)
    forces[0] += 1.0
    none, load = np.zeros(0), -motion.T @ forces
    problem = Condensed(np.eye(k), np.zeros(k), motion, load, np.zeros(3), none.astype(int), none, 1e-2)
    assert unbalanced_motion(problem) is None
    outside = np.array([0.0, load[1], load[1] * (arms.max() + 1e-3)])  # acts beyond the last contact
    lost = unbalanced_motion(dataclasses.replace(problem, load=outside, size=float(forces.sum())))
    assert lost is not None
    assert (motion @ lost > -1e-9).all() and outside @ lost > 0


def test_on_the_verge_of_tipping_one_node_bears():
    """A load right over the end of a rest is carried by its last node alone."""
    mesh = rectangle("quad8")
    solution = fesolve.PlaneModel(mesh, W1, 1.0, 0.0).one_way("bottom").force("C", (0.0, -10.0)).solve()
    contact = solution.contact("bottom")
    assert contact.points[contact.touching] == pytest.approx(np.array([[40.0, 0.0]]))


def test_without_loads_all_is_loose_and_stays():
    solution = fesolve.PlaneModel(rectangle("quad8"), W1, 1.0, 0.0).one_way("bottom").pressure("top", 0.0).solve()
    assert np.abs(solution.displacement).max() == 0.0
    assert solution.loose == ("the part is loose: it can slide in any direction and turn",)


# ---- what answers to a wanted quantity


def test_the_answer_to_a_functional_is_that_of_the_solution():
    """J(u) of a small further load equals that load's work on the answer (Betti's theorem), contacts staying."""
    model = on_rests(beam())
    solution = model.solve()
    rng = np.random.default_rng(2)
    wanted, more = rng.normal(size=(2, len(model.mesh.points), 2))
    answer = solving.answer_to(solution, 0, wanted[None])[0]
    small = dataclasses.replace(model.loads[0], name="more", nodal=1e-7 * more)
    moved = dataclasses.replace(model, loads=(*model.loads, small)).solve()
    assert all((a.status == b.status).all() for a, b in zip(solution.contacts[0], moved.contacts[0], strict=True))
    change = ((moved.displacement - solution.displacement) * wanted).sum() / 1e-7
    assert change == pytest.approx((answer * more).sum(), rel=1e-4)


# ---- refusals


def test_refusals():
    mesh = rectangle("triangle6")
    model = fesolve.PlaneModel(mesh, W1, 1.0, 0.0)
    for words, keys in (
        (r'"bottom": its gap is -0.1 mm; give 0 or more', {"gap": -0.1}),
        (r"its gap is nan mm", {"gap": np.nan}),
        (r"its gap has shape \(3,\); give one value, or one for each of the mesh's 63 points", {"gap": np.zeros(3)}),
        (r"its friction is -0.2; give 0 or more", {"friction": -0.2}),
        (r"its stiffness is 0 N/mm\^2; give a value above 0", {"stiffness": 0.0}),
        (r"its normal \[0.0, 1.0\] points into the wood; turn it round", {"normal": (0, 1)}),
        (r"its normal is \[0.0, 0.0\]; give a direction", {"normal": (0, 0)}),
    ):
        with pytest.raises(fesolve.InputError, match=words):
            model.one_way("bottom", **keys)
    with pytest.raises(fesolve.InputError, match=r'"A" stands on points, which have no normal: state one'):
        model.one_way("A")
    with pytest.raises(fesolve.InputError, match=r'"A" stands on points; a stiffness a length needs an edge'):
        model.one_way("A", normal=(0, -1), stiffness=1.0)
    with pytest.raises(fesolve.InputError, match=r'Two one-way supports are named "bottom"'):
        model.one_way("bottom").one_way("bottom")
    with pytest.raises(fesolve.InputError, match=r'No one-way support is named "top". One-way supports: bottom'):
        model.one_way("bottom").pressure("top", 1.0).solve().contact("top")
    hole = fesolve.PlaneModel(plate_with_hole("triangle6"), W1, 1.0, 0.0).pin("hole", (0, 0)).one_way("outer")
    with pytest.raises(fesolve.InputError, match=r'Pin "hole" ties half its hole and cannot stand beside one-way'):
        hole.solve()
