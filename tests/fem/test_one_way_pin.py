"""Round pins with play: fixed, sprung, loaded; several at once. Against statics, limits and rigid-body geometry."""

import dataclasses

import numpy as np
import pytest

import fesolve
from meshes import W1, plate_with_hole

STIFF = fesolve.OrthotropicPlane(E_0=1e8, E_90=1e8, G=4e7, nu_0_90=0.25)


def plate(material=W1, per_quarter=16, center=(0.0, 0.0), grain=0.0):
    """A square plate of 80 mm with a hole of 20 mm, 10 mm thick; node sets at the middles of its sides."""
    mesh = plate_with_hole("triangle6", per_quarter=per_quarter, rings=6, center=center)
    at = {"left": (-40, 0), "right": (40, 0), "top": (0, 40), "foot": (0, -40)}
    sets = {name: np.flatnonzero(np.abs(mesh.points - center - xy).max(axis=1) < 1e-9) for name, xy in at.items()}
    return fesolve.PlaneModel(dataclasses.replace(mesh, point_sets=sets), material, 10.0, grain)


@pytest.mark.parametrize("angle", [0, 45, 90, 200])
def test_a_pin_bears_where_it_pushes(angle):
    """Pulled along `angle` the part hangs on the far side of its pin: the arc stands about the opposite direction."""
    center = (100.0, 50.0)
    way = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    model = plate(center=center).one_way_pin("hole", center, 19.8)
    solution = model.body_force(way * 1e-2).solve()
    pin = solution.contact("hole")
    weight = 1e-2 * 10 * (6400 - np.pi * 100)
    assert pin.resultant == pytest.approx(-weight * way, rel=5e-3)
    assert abs(pin.moment(np.array(center))) < 1e-9 * weight  # without friction
    ((begin, end),) = pin.arcs
    assert 10 < end - begin < 120
    assert np.cos(np.radians((begin + end) / 2 - angle - 180)) > np.cos(np.radians(8))
    assert pin.gap[~pin.touching].min() > 0
    assert np.nanmax(pin.pressure) > weight / (20 * 10)
    assert solution.equilibrium < 1e-9


def test_a_loose_part_falls_by_its_play():
    """A stiff plate hung on a pin of 19 mm in its hole of 20 mm comes down by half a millimetre."""
    model = plate(STIFF).one_way_pin("hole", (0.0, 0.0), 19.0).fix("top", ["x"])
    solution = model.body_force((0.0, -1e-4)).solve()
    assert solution.displacement[:, 1] == pytest.approx(-0.5, abs=1e-4)
    pin = solution.contact("hole")
    angle = np.arctan2(*(pin.points.T[::-1]))
    assert pin.gap == pytest.approx(0.5 - 0.5 * np.sin(angle), abs=2e-4)  # the two circles, linearised


def test_without_load_a_part_rattles():
    solution = plate().one_way_pin("hole", (0.0, 0.0), 19.0).body_force((0.0, 0.0)).solve()
    assert solution.loose == ("the part is loose: it can slide in any direction and turn",)
    assert solution.contact("hole").arcs == ()


def test_a_part_on_one_pin_may_turn():
    model = plate(center=(30.0, 40.0)).one_way_pin("hole", (30.0, 40.0), 20.0)
    with pytest.raises(fesolve.FreeMotionError, match=r"turn clockwise about the point \(30.0, 40.0\) mm"):
        model.force("right", (0.0, -1.0)).solve()
    hangs = model.body_force((0.0, -1e-3)).solve()
    assert hangs.loose == ("the part is loose: it can turn about the point (30.0, 40.0) mm",)


def test_a_stiff_mounting_is_a_fixed_pin():
    base = plate().fix("left", ["x"]).fix("left", ["y"], name="post").body_force((0.01, 0.02))
    fixed = base.one_way_pin("hole", (0.0, 0.0), 20.0).solve()
    sprung = base.one_way_pin("hole", (0.0, 0.0), 20.0, stiffness=(1e12, 1e12)).solve()
    half = base.one_way_pin("hole", (0.0, 0.0), 20.0, stiffness=(np.inf, 1e12)).solve()
    scale = np.abs(fixed.displacement).max()
    for other in (sprung, half):
        assert other.displacement == pytest.approx(fixed.displacement, abs=1e-5 * scale)
        assert other.contact("hole").arcs == fixed.contact("hole").arcs


def test_a_sprung_pin_moves_by_its_force_over_its_stiffness():
    model = plate().one_way_pin("hole", (0.0, 0.0), 19.9, stiffness=(500.0, 2000.0), name="bolt").fix("top", ["x"])
    solution = model.body_force((3e-3, -1e-2)).solve()
    bolt = solution.contact("bolt")
    assert bolt.moved == pytest.approx(-bolt.resultant / [500.0, 2000.0], rel=1e-9)
    assert bolt.resultant[1] == pytest.approx(1e-2 * 10 * _area(model.mesh), rel=1e-9)
    assert solution.reactions["bolt"] == pytest.approx(bolt.resultant)


def _area(mesh):
    from meshes import area

    return area(mesh)


def test_a_loaded_pin_pushes_with_its_force():
    model = plate(grain=20.0).fix("right").fix("left", ["y"])
    model = model.one_way_pin("hole", (0.0, 0.0), 19.9, force=(800.0, 300.0), name="bolt")
    solution = model.solve([{"bolt": 1.0}, {"bolt": -2.0}, {"bolt": 0.0}])
    for case, factor in enumerate((1.0, -2.0, 0.0)):
        bolt = solution.contact("bolt", case)
        assert bolt.resultant == pytest.approx(factor * np.array([800.0, 300.0]), abs=1e-6)
        held = solution.reactions["right"][case] + solution.reactions["left"][case]
        assert held == pytest.approx(-bolt.resultant, abs=1e-5)
    assert solution.equilibrium < 1e-9
    assert solution.loose == (None, None, "a pin is loose in its hole")
    begin, end = solution.contact("bolt", 0).arcs[0]
    assert begin < np.degrees(np.arctan2(300, 800)) < end


def test_turned_with_all_that_acts_on_it():
    """Part, grain, pin and force turned together by 90 deg: the same forces, turned."""
    base, turned = plate(grain=20.0), plate(grain=110.0)
    one = (
        base.fix("right")
        .fix("left", ["y"])
        .one_way_pin("hole", (0, 0), 19.9, force=(500.0, 100.0))
        .solve()
        .contact("hole")
    )
    two = (
        turned.fix("top")
        .fix("foot", ["x"])
        .one_way_pin("hole", (0, 0), 19.9, force=(-100.0, 500.0))
        .solve()
        .contact("hole")
    )
    assert two.resultant == pytest.approx([-one.resultant[1], one.resultant[0]], abs=1e-6)
    assert np.array(two.arcs) == pytest.approx(np.array(one.arcs) + 90.0, abs=3.0)
    assert two.pressure.max() == pytest.approx(one.pressure.max(), rel=0.02)  # the mesh itself has no such symmetry


def test_pin_and_rests_at_once():
    """A lever on its pin and a one-way rest: statics gives both forces; pulled up it swings off the rest."""
    model = plate().one_way_pin("hole", (0.0, 0.0), 20.0).one_way("left", normal=(0.0, -1.0), name="rest")
    solution = model.force("right", (0.0, 100.0), name="up").force("top", (0.0, -300.0), name="down").solve()
    rest, pin = solution.contact("rest"), solution.contact("hole")
    # about the pin: 100 x 40 - 40 N_rest (up, at x = -40) = 0
    assert rest.resultant == pytest.approx([0.0, 100.0], abs=1e-6)
    assert pin.resultant == pytest.approx([0.0, 100.0], abs=1e-6)
    assert np.isnan(rest.pressure).all()
    with pytest.raises(fesolve.FreeMotionError, match=r"turn clockwise about the point \(0.0, 0.0\) mm"):
        model.force("right", (0.0, -100.0), name="down").solve()


# ---- refusals


def test_refusals():
    model = plate()
    for words, args, keys in (
        (r'Pin "hole" of 20.5 mm does not go into its hole of 20 mm; give a diameter of at most', (20.5,), {}),
        (r'Pin "hole" has a diameter of 0 mm; give a value above 0', (0.0,), {}),
        (r'Pin "hole" has a diameter of nan mm', (np.nan,), {}),
        (r"its friction is -0.1; give 0 or more", (19.0,), {"friction": -0.1}),
        (r"its stiffness is \[-1.0, 0.0\]; give \[x, y\] in N/mm, 0 or more", (19.0,), {"stiffness": (-1, 0)}),
        (r"its force is \[nan, 0.0\]; give \[x, y\] in N", (19.0,), {"force": (np.nan, 0)}),
        (r"pushes along an axis on which it is fixed", (19.0,), {"force": (1.0, 0), "stiffness": (np.inf, 0)}),
    ):
        with pytest.raises(fesolve.InputError, match=words):
            model.one_way_pin("hole", (0.0, 0.0), *args, **keys)
    with pytest.raises(fesolve.InputError, match=r"at \(1, 0\) mm reaches 0.5 mm into the wood: the hole's centre is"):
        model.one_way_pin("hole", (1.0, 0.0), 19.0)
    with pytest.raises(fesolve.InputError, match=r"its centre is \[nan, 0.0\]; give"):
        model.one_way_pin("hole", (np.nan, 0.0), 19.0)
    with pytest.raises(fesolve.InputError, match=r"needs a round hole: its edge lies up to"):
        model.one_way_pin("outer", (0.0, 0.0), 19.0)
    with pytest.raises(fesolve.InputError, match=r'Edge "left" is not in the mesh'):
        model.one_way_pin("left", (0.0, 0.0), 19.0)


def test_a_pin_on_the_outside_of_a_round_part_is_refused():
    mesh = plate_with_hole("triangle6", radius=2.0, half=10.0)
    far = np.linalg.norm(mesh.points, axis=1)
    side = 10.0 * far / np.abs(mesh.points).max(axis=1)  # where the ray through each node leaves the square
    ring = mesh.points / far[:, None] * (2.0 + 8.0 * (far - 2.0) / (side - 2.0))[:, None]
    disc = fesolve.Mesh(ring, mesh.cells, edges={"rim": mesh.edges["outer"]})
    with pytest.raises(fesolve.InputError, match=r"stands on an edge that does not face it"):
        fesolve.PlaneModel(disc, W1, 1.0, 0.0).one_way_pin("rim", (0.0, 0.0), 19.0)
