"""What does nothing in a case changes nothing in its verdict; what is too long or too small is still seen."""

import numpy as np
import pytest
from parts import check, document, uniform

import fesolve
from fesolve.errors import InputError

CORNERS = [(0, 0), (300, 0), (300, 80), (0, 80)]
PULL = {"name": "pull", "on": "edge B-C", "force": ["0 N", "-1000 N"]}
WALL = [{"name": "wall", "kind": "fixed", "on": "edge D-A"}]
IDLE = {"name": "idle", "on": "edge C-D", "from": "100 mm", "to": "250 mm", "force": ["0 N", "-1 N"]}
NOTCH = [{"name": "n", "edge": "A-B", "from": "100 mm", "to": "140 mm", "depth": "30 mm"}]


def utilisation(verdict, mode):
    rows = [*verdict.modes, *verdict.beside]
    return next(row.utilisation for row in rows if row.mode == mode)


@pytest.mark.parametrize(
    "extra",
    [{"load": [PULL, IDLE], "case": [{"name": "a", "loads": {"pull": 1.0}}]}],
)
def test_a_load_outside_the_case_excuses_nothing(extra):
    plain = check(document(CORNERS, support=WALL, notch=NOTCH, load=[PULL])).verdict
    idle = check(document(CORNERS, support=WALL, notch=NOTCH, **extra)).verdict
    for mode in ("combined", "splitting", "compression along grain"):
        assert utilisation(idle, mode) == pytest.approx(utilisation(plain, mode), rel=0.02)


def test_a_load_that_pulls_excuses_no_crushing():
    pulls = {"name": "up", "on": "edge A-B", "from": "0 mm", "to": "100 mm", "force": ["0 N", "-1 N"]}
    plain = check(document(CORNERS, support=WALL, load=[PULL])).verdict
    pulled = check(document(CORNERS, support=WALL, load=[PULL, pulls])).verdict
    one, other = (utilisation(v, "compression along grain") for v in (plain, pulled))
    assert other == pytest.approx(one, rel=0.05)


def test_rounding_in_the_force_of_a_wall_excuses_nothing():
    """A wall that is sheared and bent has no force along its normal but rounding, of either sign from mesh to mesh."""
    (wall,) = check(document(CORNERS, support=WALL, load=[PULL])).verdict.reactions
    assert abs(wall.force[0]) < 1e-6 * abs(wall.force[1])
    found = [
        utilisation(check(document(CORNERS, support=WALL, load=[PULL], mesh={"size": size})).verdict, "combined")
        for size in ("8 mm", "5 mm", "3.5 mm", "3 mm")
    ]
    assert max(found) < 1.03 * min(found), found


def test_a_case_without_the_load_that_grows_is_not_counted_in_newtons():
    cases = [{"name": "own", "loads": {"gravity": 1.0}}, {"name": "full", "loads": {"pull": 1.0, "gravity": 1.0}}]
    gravity = {"direction": "down", "density": "500 kg/m^3"}
    verdict = check(document(CORNERS, support=WALL, load=[PULL], gravity=gravity, case=cases)).verdict
    assert (verdict.takes.of, verdict.governing.case) == ("pull", "full")
    assert verdict.takes.low == pytest.approx(1000 * verdict.governing.load_factor)


@pytest.mark.parametrize("length", [100, 300, 500, 5000])
def test_a_splitting_length_beyond_the_part_counts_whole_stretches(length):
    """Uniform shear: every stretch counts whole, with τ/f_v = 2/8 (own strengths), whatever the length."""
    doc = uniform((0.0, 0.0, 2.0), length=20.0, depth=6.0, energies={"split_length": f"{length} mm"})
    assert utilisation(check(doc).verdict, "splitting") == pytest.approx(0.25, rel=1e-6)


def test_a_splitting_length_far_too_short_for_the_part_is_refused():
    corners = [(0, 0), (3000, 0), (3000, 400), (0, 400)]
    doc = document(corners, support=WALL, load=[PULL], energies={"split_length": "0.2 mm"})
    with pytest.raises(InputError, match=r"splitting length of 0\.2 mm is too short .* 3000 by 400 mm.*wood\.fracture"):
        check(doc)


def test_a_pin_dents_over_its_own_diameter():
    """F/(d t), d the pin's diameter (dowel bearing, NDS and EN 1995-1-1): half the pin, twice the pressure."""
    hole = [{"name": "h", "center": ["40 mm", "40 mm"], "diameter": "20 mm"}]
    rest = {"name": "rest", "kind": "fixed", "on": "corner B", "axes": ["y"]}
    values = []
    for pin in ("20 mm", "10 mm"):
        support = [{"name": "p", "kind": "pin", "on": "hole h", "pin": pin, "friction": 0}, rest]
        push = {"name": "push", "on": "edge C-D", "from": "140 mm", "to": "160 mm", "force": ["0 N", "-1000 N"]}
        verdict = check(document(CORNERS, support=support, hole=hole, load=[push])).verdict
        values.append(next(row.value for row in verdict.beside if row.name == "p"))
    assert values[1] == pytest.approx(2 * values[0])


def test_a_dent_on_a_rounded_patch_is_the_mean_over_it():
    """Pressure p on a straight part and a quarter round: the mean of sin^2 to the grain is (a + r π/4)/(a + r π/2)."""
    corners = [(0, 0), (300, 0), {"at": ["300 mm", "80 mm"], "round": "30 mm"}, (0, 80)]
    load = {"name": "press", "on": "edge C-D", "from": "0 mm", "to": "40 mm", "pressure": "2 MPa", "with_rounds": True}
    verdict = check(document(corners, support=WALL, load=[load])).verdict
    dent = next(row for row in verdict.beside if row.name == "press")
    round_ = 30 * np.pi / 2
    s = (10 + round_ / 2) / (10 + round_)
    assert dent.allowable == pytest.approx(200 / (40 * s + 5 * (1 - s)), rel=0.02)


def test_takes_follow_the_load_factor():
    verdict = check(document(CORNERS, support=WALL, load=[PULL])).verdict
    assert verdict.takes.of == "pull"
    assert verdict.takes.low == pytest.approx(1000 * verdict.governing.load_factor)
    assert fesolve.Verdict is type(verdict)
