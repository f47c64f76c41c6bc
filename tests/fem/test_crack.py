"""Cracks in the solver: tip fields, faces that press on one another, and what a cracked part does in equilibrium.

Energy release rates of bodies with known answers stand in tests/reference/cases_fracture.py.
"""

import dataclasses

import numpy as np
import pytest

from fesolve.errors import InputError, SolveError
from fesolve.fem.crack import Tip, characteristic_roots, closure, energy_release, tip_fields
from fesolve.fem.model import PlaneModel
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.mouths import Mouth, line_of
from fesolve.mesh.outline import part_outline
from fesolve.mesh.splits import opened
from fesolve.part.read import part_from
from fesolve.wood.orthotropic import OrthotropicPlane

W1 = OrthotropicPlane(E_0=12_000, E_90=600, G=780, nu_0_90=0.4)
ISO = OrthotropicPlane(E_0=10_000, E_90=10_000, G=10_000 / 2.6, nu_0_90=0.3)
LENGTH, HALF, CRACK = 160.0, 20.0, 60.0


@pytest.mark.parametrize("plane", [W1, ISO])
def test_tip_fields_obey_the_material_and_balance(plane):
    """Strains from the slopes give the stresses, and the stresses are in equilibrium (central differences)."""
    x, y = np.array([1.0, -0.5, 0.3, -0.8]), np.array([0.4, 0.9, -1.1, -0.2])
    stress, slope = tip_fields(plane, x, y)
    strain = np.stack([slope[..., 0, 0], slope[..., 1, 1], slope[..., 0, 1] + slope[..., 1, 0]], axis=-1)
    # equal roots are kept apart by a part in ten thousand
    assert strain @ plane.reduced_stiffness() == pytest.approx(stress, rel=2e-4, abs=2e-4)
    h = 1e-5
    (ahead, behind), (above, below) = (
        (tip_fields(plane, x + h * i, y + h * j)[0], tip_fields(plane, x - h * i, y - h * j)[0])
        for i, j in ((1, 0), (0, 1))
    )
    by_x, by_y = (ahead - behind) / (2 * h), (above - below) / (2 * h)
    assert by_x[..., 0] + by_y[..., 2] == pytest.approx(np.zeros((2, 4)), abs=1e-6)
    assert by_x[..., 2] + by_y[..., 1] == pytest.approx(np.zeros((2, 4)), abs=1e-6)


def test_tip_fields_have_the_stated_intensities():
    """Ahead of the tip σ_y sqrt(2πr) = K_I and τ sqrt(2πr) = K_II; the faces are free (definition of K)."""
    r = 0.7
    stress, _ = tip_fields(W1, np.array([r, -r]), np.array([0.0, 1e-12]))
    size = np.sqrt(2 * np.pi * r)
    assert stress[:, 0, 1:] * size == pytest.approx(np.array([[1.0, 0.0], [0.0, 1.0]]), abs=1e-9)
    assert stress[:, 1, 1:] == pytest.approx(np.zeros((2, 2)), abs=1e-5)


def test_isotropic_tip_stress():
    """σ_x + σ_y at 90 deg is K_I cos 45° 2/sqrt(2πr) (Westergaard, from memory)."""
    stress, _ = tip_fields(ISO, np.array([0.0]), np.array([1.0]))
    assert stress[0, 0, :2].sum() == pytest.approx(2 * np.cos(np.pi / 4) / np.sqrt(2 * np.pi), rel=1e-3)


def test_roots_of_wood_are_those_of_its_equation():
    s = W1.compliance()
    for root in characteristic_roots(W1):
        left = s[0, 0] * root**4 + (2 * s[0, 1] + s[2, 2]) * root**2 + s[1, 1]
        assert abs(left) < 1e-15
        assert root.imag > 0


# ---- a bar split from its end


@pytest.fixture(scope="module")
def bar():
    """A clamped bar split along its middle from the free end: mesh, line."""
    corners = [{"at": [f"{x} mm", f"{y} mm"]} for x, y in ((0, -HALF), (LENGTH, -HALF), (LENGTH, HALF), (0, HALF))]
    part = part_from(
        {
            "title": "split bar",
            "wood": {"species": "Ash, white", "board": "flat-sawn", "thickness": "1 mm", "basis": "mean"},
            "outline": {"corners": corners},
            "support": [{"name": "wall", "kind": "fixed", "on": "edge B-C"}],
            "load": [
                {"name": "top", "on": "edge C-D", "from": "150 mm", "to": "160 mm", "force": ["0 N", "1 N"]},
                {"name": "under", "on": "edge A-B", "from": "0 mm", "to": "10 mm", "force": ["0 N", "1 N"]},
            ],
        }
    )
    outline = part_outline(part)
    line = line_of(outline, "middle", Mouth((0.0, 0.0), (1.0, 0.0), LENGTH), (CRACK,))
    return opened(mesh_part(part, outline.with_splits([line])), line)


def loaded(one, top, under):
    model = PlaneModel(one.mesh, W1, thickness=1.0, grain=0.0).fix("edge B-C", name="wall")
    return model.force("load top", (0.0, top), name="top").force("load under", (0.0, under), name="under")


def gap(one, solution):
    moved = solution.displacement
    return moved[one.left, 1] - moved[one.right, 1]


TIP = Tip((CRACK, 0.0), (1.0, 0.0), 15.0)


def test_faces_that_part_are_free(bar):
    model = loaded(bar, 1.0, -1.0)
    free, held = model.solve(), model.faces(bar.left, bar.right, (1.0, 0.0)).solve()
    assert (gap(bar, free) > 0).all()
    assert held.displacement == pytest.approx(free.displacement, abs=1e-9 * np.abs(free.displacement).max())
    assert not held.contact("crack").touching.any()


def test_faces_that_are_pressed_together_do_not_overlap(bar):
    """An arm that leans on the other: no opening, and both arms bend alike as half of the load each."""
    model = loaded(bar, -1.0, 0.0)
    free, held = model.solve(), model.faces(bar.left, bar.right, (1.0, 0.0)).solve()
    assert gap(bar, free).min() < -1e-3
    assert gap(bar, held).min() > -1e-8 * np.abs(held.displacement).max()
    assert held.equilibrium < 1e-9
    assert "crack" not in held.reactions  # what presses inside the part is no support
    one = energy_release(held, TIP)
    assert one.opening < 1e-3 * one.sliding  # K_I comes out to a few thousandths of K_II
    # what is no opening is sliding: the same as where both arms have half the load each
    alike = energy_release(loaded(bar, -0.5, -0.5).solve(), TIP)
    assert one.sliding == pytest.approx(alike.sliding, rel=0.02)


def test_stiff_springs_do_what_contact_does(bar):
    model = loaded(bar, -1.0, 0.0)
    held = model.faces(bar.left, bar.right, (1.0, 0.0)).solve()
    touch = held.contact("crack").touching
    springs = model.pressed(bar.left[touch], bar.right[touch], (1.0, 0.0), 1e7).solve()
    assert springs.displacement == pytest.approx(held.displacement, abs=1e-4 * np.abs(held.displacement).max())


def test_total_is_the_sum_of_both_modes(bar):
    one = energy_release(loaded(bar, 1.0, -0.2).solve(), TIP)
    assert one.opening > 0.0
    assert one.sliding > 0.0
    assert one.opening + one.sliding == pytest.approx(one.total, rel=1e-9)
    # and the shares by the tip fields leave little to put right with sides of a fortieth of the crack
    E_I, E_II = W1.crack_stiffness()
    assert pytest.approx(one.total, rel=0.02) == one.K_I**2 / E_I + one.K_II**2 / E_II


def test_shrinkage_that_nothing_holds_back_releases_nothing(bar):
    """Free wood takes on its strain without stress; beside a load it changes neither G nor its shares."""
    drying = (-1e-4, -5e-3)  # along and across the grain
    x = np.unique(bar.mesh.edges["edge B-C"])
    middle = x[np.argmin(np.abs(bar.mesh.points[x, 1]))]
    sets = {**bar.mesh.point_sets, "middle": np.array([middle])}
    mesh = dataclasses.replace(bar.mesh, point_sets=sets)
    wet = PlaneModel(mesh, W1, thickness=1.0, grain=0.0).fix("edge B-C", axes=("x",)).fix("middle", axes=("y",))
    wet = wet.force("load top", (0.0, 1.0), name="top").force("load under", (0.0, -0.5), name="under")
    wet = wet.initial_strain(drying, name="drying")
    loads = {"top": 1.0, "under": 1.0}
    solution = wet.solve([loads, {**loads, "drying": 1.0}, {"drying": 1.0}])
    plain, both, alone = (energy_release(solution, TIP, case) for case in range(3))
    assert both.opening == pytest.approx(plain.opening, rel=1e-6)
    assert both.sliding == pytest.approx(plain.sliding, rel=1e-6)
    assert alone.total == pytest.approx(0.0, abs=1e-9 * plain.total)
    behind = bar.left[[-2, -1]], bar.right[[-2, -1]]
    assert closure(solution, TIP, behind, 1) == pytest.approx(closure(solution, TIP, behind, 0), rel=1e-6)


def test_release_does_not_depend_on_the_ring(bar):
    solution = loaded(bar, 1.0, -0.2).solve()
    totals = [energy_release(solution, Tip(TIP.at, TIP.direction, radius)).total for radius in (8.0, 12.0, 18.0)]
    assert totals == pytest.approx([totals[0]] * 3, rel=2e-3)


def test_a_mesh_too_coarse_for_a_tip_is_refused(bar):
    with pytest.raises(SolveError, match="too coarse around the crack's tip at"):
        energy_release(loaded(bar, 1.0, -1.0).solve(), Tip((150.0, 10.0), (1.0, 0.0), 0.01))


def test_faces_that_do_not_fit_are_refused(bar):
    with pytest.raises(InputError, match="do not lie on one another"):
        loaded(bar, 1.0, 1.0).faces(bar.left, bar.right[::-1], (1.0, 0.0))
