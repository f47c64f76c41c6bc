"""Solving: both factorisers, cases, what is kept between models, regions, values a cell, and refusals."""

import dataclasses

import numpy as np
import pytest

import fesolve
from fesolve.fem import solve as solving
from fesolve.fem.factor import cholmod, superlu
from meshes import KINDS, W1, hold_three, plate_with_hole, rectangle, uniform_loads

W2 = fesolve.OrthotropicPlane(E_0=14_000, E_90=450, G=600, nu_0_90=0.45)


def cantilever(mesh=None, material=W1, thickness=38.0, grain=20.0):
    mesh = mesh if mesh is not None else rectangle("triangle6", columns=8, rows=4, distort=0.2)
    return fesolve.PlaneModel(mesh, material, thickness, grain)


def loaded(model):
    return model.fix("left").force("right", (20.0, -100.0), name="end").pressure("top", 0.1, name="bed")


def same(one, two, rel=1e-9):
    for name in ("displacement", "stress_xy"):
        a, b = getattr(one, name), getattr(two, name)
        assert np.abs(a - b).max() <= rel * np.abs(b).max()
    for name, force in two.reactions.items():
        assert one.reactions[name] == pytest.approx(force, rel=rel, abs=rel * 1000)


@pytest.mark.parametrize("kind", KINDS)
def test_superlu_agrees_with_cholmod(kind, monkeypatch):
    mesh = rectangle(kind, columns=6, rows=4, distort=0.2)
    first = loaded(cantilever(mesh)).solve()
    monkeypatch.setattr(solving, "best_factoriser", lambda: superlu)
    same(loaded(cantilever(mesh)).solve(), first)


def test_fallback_without_cvxopt(monkeypatch):
    import sys

    from fesolve.fem.factor import best_factoriser

    assert best_factoriser() is cholmod
    monkeypatch.setitem(sys.modules, "cvxopt.cholmod", None)
    assert best_factoriser() is superlu


@pytest.mark.parametrize("kind", KINDS)
def test_loads_and_reactions_balance(kind):
    solution = loaded(cantilever(rectangle(kind, origin=(500.0, 300.0)))).solve()
    assert solution.equilibrium < 1e-11
    assert solution.reactions["left"] == pytest.approx([-20.0, 100.0 + 0.1 * 40 * 38], rel=1e-9)
    wall = solution.case_reactions[0][0]
    about = np.array([500.0, 310.0])
    assert wall.moment(about) == pytest.approx(100.0 * 40 + 0.1 * 40 * 38 * 20, rel=1e-9)


def test_energy_is_half_the_work_of_the_loads():
    """Bar of 40 by 20 by 2 mm pulled by 3 MPa along the grain: σ^2 V/(2 E)."""
    model = hold_three(fesolve.PlaneModel(rectangle("quad"), W1, 2.0, 0.0))
    solution = uniform_loads(model, (3.0, 0.0, 0.0)).solve()
    assert solution.energy == pytest.approx(9.0 * 1600 / (2 * 12_000), rel=1e-10)


def test_cases_together_equal_cases_alone():
    model = loaded(cantilever())
    cases = [{"end": 1.0}, {"bed": 2.0}, {"end": -3.0, "bed": 0.5}, {}]
    together = model.solve(cases)
    assert together.displacement.shape == (4, len(model.mesh.points), 2)
    for number, case in enumerate(cases):
        alone = loaded(cantilever()).solve([case])
        scale = np.abs(together.displacement).max()
        assert np.abs(alone.displacement[0] - together.displacement[number]).max() < 1e-12 * scale
        assert np.abs(alone.stress_grain[0] - together.stress_grain[number]).max() < 1e-9
        assert alone.energy[0] == pytest.approx(together.energy[number], rel=1e-9)
    # superposition
    first, second, third, _ = together.displacement
    assert third == pytest.approx(-3 * first + 0.25 * second, abs=1e-12 * np.abs(third).max() + 1e-15)
    assert (together.displacement[3] == 0.0).all()


def test_cases_together_with_pins_that_turn():
    """Each case has its own half of the hole tied."""
    mesh = plate_with_hole("triangle6", per_quarter=8, rings=4)
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).pin("hole", (0.0, 0.0)).spring("outer", 0.5, ["x", "y"])
    model = model.body_force((1e-3, 0.0), name="right").body_force((0.0, 1e-3), name="up")
    cases = [{"right": 1.0}, {"up": 1.0}, {"right": -1.0}, {"right": 1.0, "up": 1.0}]
    together = model.solve(cases)
    for number, case in enumerate(cases):
        fresh = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).pin("hole", (0.0, 0.0)).spring("outer", 0.5, ["x", "y"])
        fresh = fresh.body_force((1e-3, 0.0), name="right").body_force((0.0, 1e-3), name="up")
        alone = fresh.solve([case])
        assert (
            np.abs(alone.displacement[0] - together.displacement[number]).max()
            < 1e-10 * np.abs(alone.displacement).max()
        )


# ---- what is kept from one model to the next


CHANGES = {
    "grain": lambda m: m.with_(grain=-50.0),
    "material": lambda m: m.with_(material=W2),
    "thickness": lambda m: m.with_(thickness=12.0),
    "holds": lambda m: m.fix("B"),
    "roller": lambda m: m.roller("bottom"),
    "spring": lambda m: m.spring("right", 30.0),
    "mesh": lambda m: dataclasses.replace(m, mesh=dataclasses.replace(m.mesh, points=m.mesh.points * [1.0, 1.3])),
}


@pytest.mark.parametrize("change", CHANGES)
def test_a_changed_model_equals_a_fresh_one(change):
    base = loaded(cantilever())
    before = base.solve()
    changed = CHANGES[change](base)
    fresh = dataclasses.replace(CHANGES[change](loaded(cantilever())), _kept={})
    again = changed.solve()
    same(again, fresh.solve())
    assert np.abs(again.displacement - before.displacement).max() > 1e-3 * np.abs(before.displacement).max()
    same(base.solve(), before, rel=0.0 if change != "mesh" else 1e-12)


def test_back_and_forth_between_models_that_share_what_they_keep():
    base = loaded(cantilever())
    first = base.solve()
    models = [base.with_(grain=70.0), base.fix("B"), base.spring("right", 1e3), base.with_(thickness=1.0), base]
    for _ in range(2):
        for model in models:
            same(model.solve(), dataclasses.replace(model, _kept={}).solve())
    same(base.solve(), first)


def test_pins_are_kept_apart():
    """Two pins whose halves differ from case to case and from load to load."""
    mesh = plate_with_hole("triangle6", per_quarter=8, rings=4)
    base = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).pin("hole", (0.0, 0.0)).spring("outer", 0.5, ["x", "y"])
    for force in ((1e-3, 0.0), (0.0, 1e-3), (-1e-3, 0.0)):
        model = base.body_force(force)
        same(model.solve(), dataclasses.replace(model, _kept={}).solve())


def test_nothing_is_changed_in_place():
    base = cantilever()
    loaded(base)
    assert base.loads == () and base.holds == ()
    with pytest.raises(dataclasses.FrozenInstanceError):
        base.grain = 3.0
    with pytest.raises(ValueError, match=r"read-only"):
        base.mesh.points[0] = 1.0


def test_with_refuses_other_names():
    with pytest.raises(
        fesolve.InputError, match=r'"holds" cannot be changed on a model; change material, thickness, grain'
    ):
        cantilever().with_(holds=())


# ---- regions and values a cell


def split(kind="triangle6"):
    """Lower and upper half as regions."""
    mesh = rectangle(kind, rows=4)
    low = mesh.points[mesh.cells[kind]].mean(axis=1)[:, 1] < 10
    regions = {"lower": {kind: np.flatnonzero(low)}, "upper": {kind: np.flatnonzero(~low)}}
    return dataclasses.replace(mesh, regions=regions), low


@pytest.mark.parametrize("kind", KINDS)
def test_regions_keep_their_stress_apart(kind):
    """Two layers pulled together along their length: equal strain, stress by stiffness (Voigt's rule).

    Poisson's ratio is zero so that the layers don't disturb one another; the end moves as one by rollers.
    """
    mesh, _ = split(kind)
    stiff = fesolve.OrthotropicPlane(E_0=9000, E_90=500, G=700, nu_0_90=0.0)
    soft = fesolve.OrthotropicPlane(E_0=3000, E_90=500, G=700, nu_0_90=0.0)
    model = fesolve.PlaneModel(mesh, {"lower": stiff, "upper": soft}, {"lower": 10.0, "upper": 20.0}, 0.0)
    model = model.roller("left").roller("bottom")
    tractions = {"lower": 9.0, "upper": 3.0}  # strain 0.001 in both
    right = mesh.edges["right"]
    low = mesh.points[right[:, :2]].mean(axis=1)[:, 1] < 10
    edges = {**mesh.edges, "right lower": right[low], "right upper": right[~low]}
    model = dataclasses.replace(model, mesh=dataclasses.replace(mesh, edges=edges))
    for name, stress in tractions.items():
        model = model.traction(f"right {name}", (stress, 0.0))
    solution = model.solve()
    for number, stress in enumerate(tractions.values()):
        mine = solution.stress_region == number
        assert solution.stress_xy[mine] == pytest.approx(np.broadcast_to([stress, 0, 0], (mine.sum(), 3)), abs=1e-8)
    on_interface = np.isclose(mesh.points[:, 1], 10.0).sum()
    assert len(solution.stress_point) == len(mesh.points) + on_interface
    assert solution.reactions["left"][0] == pytest.approx(-(9.0 * 10 * 10 + 3.0 * 20 * 10))


def test_values_a_cell_equal_values_a_region():
    mesh, low = split()
    named = {"lower": 10.0, "upper": 20.0}, {"lower": 30.0, "upper": -15.0}
    by_region = loaded(fesolve.PlaneModel(mesh, W1, *named)).solve()
    by_cell = loaded(fesolve.PlaneModel(mesh, W1, np.where(low, 10.0, 20.0), np.where(low, 30.0, -15.0))).solve()
    same(by_region, by_cell)
    grain = np.where(by_region.stress_region == 0, 30.0, -15.0)
    c, s = np.cos(np.radians(grain)), np.sin(np.radians(grain))
    x, y, xy = by_region.stress_xy.T
    assert by_region.stress_grain[:, 0] == pytest.approx(c * c * x + s * s * y + 2 * s * c * xy, abs=1e-9)


def test_one_region_for_all_changes_nothing():
    mesh = rectangle("quad8")
    named = dataclasses.replace(mesh, regions={"all": {"quad8": np.arange(len(mesh.cells["quad8"]))}})
    same(loaded(cantilever(named)).solve(), loaded(cantilever(mesh)).solve(), rel=0.0)


# ---- refusals


def test_bad_values():
    mesh, _ = split()
    for thickness, found in ((0.0, "0"), (-3.0, "-3")):
        with pytest.raises(
            fesolve.InputError, match=rf"Thickness is {found} mm; give a value above 0. \(wood.thickness\)"
        ):
            fesolve.PlaneModel(mesh, W1, thickness, 0.0)
    with pytest.raises(fesolve.InputError, match=r"Thickness of element 0 is not finite"):
        fesolve.PlaneModel(mesh, W1, np.nan, 0.0)
    with pytest.raises(fesolve.InputError, match=r"Thickness has shape \(3,\); give one value or \(32,\) values"):
        fesolve.PlaneModel(mesh, W1, np.ones(3), 0.0)
    with pytest.raises(fesolve.InputError, match=r"No thickness is given for: upper"):
        fesolve.PlaneModel(mesh, W1, {"lower": 3.0}, 0.0)
    with pytest.raises(fesolve.InputError, match=r'Region "web" is not in the mesh. Regions: lower, upper'):
        fesolve.PlaneModel(mesh, W1, {"web": 3.0}, 0.0)
    with pytest.raises(fesolve.InputError, match=r"No material is given for: lower"):
        fesolve.PlaneModel(mesh, {"upper": W1}, 1.0, 0.0)
    with pytest.raises(fesolve.InputError, match=r"Grain of element 0 is not finite"):
        fesolve.PlaneModel(mesh, W1, 1.0, np.inf)


def test_bad_meshes():
    mesh = rectangle("triangle6")
    points, cells = mesh.points, mesh.cells["triangle6"]
    broken = points.copy()
    broken[3, 1] = np.nan
    with pytest.raises(fesolve.InputError, match=r"Mesh point 3 is not finite"):
        fesolve.Mesh(broken, {"triangle6": cells})
    with pytest.raises(fesolve.InputError, match=r'Mesh cells "triangle6" has shape \(24, 3\); give \(e, 6\)'):
        fesolve.Mesh(points, {"triangle6": cells[:, :3]})
    with pytest.raises(fesolve.InputError, match=r'cells "triangle6" names .* not there: number \d+ has \d+ \(0 to 19'):
        fesolve.Mesh(points[:20], {"triangle6": cells})
    with pytest.raises(
        fesolve.InputError, match=r'Cell type "tetra" is not supported. Types: triangle, triangle6, quad, quad8'
    ):
        fesolve.Mesh(points, {"tetra": cells[:, :4]})
    with pytest.raises(fesolve.InputError, match=r"Linear and quadratic cells are mixed: triangle6, triangle"):
        fesolve.PlaneModel(fesolve.Mesh(points, {"triangle6": cells, "triangle": cells[:, :3]}), W1, 1.0, 0.0)


def test_an_edge_drawn_the_wrong_way():
    mesh = rectangle("triangle6")
    edges = {**mesh.edges, "right": mesh.edges["right"][:, [1, 0, 2]]}
    with pytest.raises(fesolve.InputError, match=r"belongs to no element on its left; check its direction"):
        cantilever(dataclasses.replace(mesh, edges=edges)).pressure("right", 1.0)


def test_a_region_that_hangs_on_one_point():
    """Two squares that share a corner only: the second can turn about it, which no count of supports shows."""
    points = np.array([[0, 0], [1, 0], [1, 1], [0, 1], [2, 1], [2, 2], [1, 2]], dtype=float)
    mesh = fesolve.Mesh(points, {"quad": [[0, 1, 2, 3], [2, 4, 5, 6]]}, edges={"left": [[3, 0]], "top": [[5, 6]]})
    with pytest.raises(fesolve.SolveError, match=r"hangs on a single point|residual"):
        fesolve.PlaneModel(mesh, W1, 1.0, 0.0).fix("left").traction("top", (1.0, 0.0)).solve()
