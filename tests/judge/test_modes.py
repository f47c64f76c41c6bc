"""The modes: uniform fields are judged exactly, and what decides, dents and crushes is what the table says."""

import math

import numpy as np
import pytest
from parts import THICKNESS, check, document, held, in_xy, row, uniform

from fesolve.judge.verdict import (
    COMBINED,
    COMPRESSION_ACROSS,
    COMPRESSION_ALONG,
    SHEAR,
    SPLITTING,
    TENSION_ACROSS,
    TENSION_ALONG,
)

F_V, F_T90, F_C90, F_T0, F_C0 = 8.0, 2.0, 5.0, 80.0, 40.0

STATES = [
    (0.0, 1.0, 0.0), (0.0, 0.0, 4.0), (0.0, 0.0, -4.0), (10.0, 0.0, 0.0), (-10.0, 0.0, 0.0),
    (5.0, 1.0, 3.0), (-5.0, -1.0, 3.0), (60.0, 0.5, 1.0), (0.0, -2.0, 0.0), (0.0, -8.0, 3.0), (-30.0, 0.0, 2.0),
]  # fmt: skip


def splitting(across, shear):
    """1/λ by the quadratic of the theory page, written out anew: a λ^2 + b λ - (1 - r^2) = 0."""
    total, r = F_C90 + F_T90, F_C90 / (F_C90 + F_T90)
    a = (across / total) ** 2 + (1 - r * r) * (shear / F_V) ** 2
    b = 2 * F_C90 * across / total**2
    if a == 0.0:
        return 0.0
    root = (-b + math.sqrt(b * b + 4 * a * (1 - r * r))) / (2 * a)
    if root * across < -F_C90:
        return abs(shear) * math.sqrt(1 - r * r) / F_V
    return 1.0 / root


def combined(along, across, shear):
    f_0 = F_T0 if along >= 0 else F_C0
    pressed = splitting(min(across, 0.0), shear)
    return math.sqrt((along / f_0) ** 2 + (max(across, 0.0) / F_T90) ** 2 + pressed**2)


@pytest.fixture(scope="module")
def results():
    kept = {}

    def get(stress, grain=0.0):
        if (stress, grain) not in kept:
            kept[stress, grain] = check(uniform(stress, grain=grain))
        return kept[stress, grain]

    return get


@pytest.mark.parametrize("grain", [0.0, 30.0])
@pytest.mark.parametrize("stress", STATES)
def test_uniform_fields_are_judged_exactly(results, stress, grain):
    """σ_0, σ_90, τ alone and together, on a rectangle; every mode to 1e-6 of the closed form."""
    result = results(stress, grain)
    along, across, shear = stress
    near = {"rel": 1e-6, "abs": 1e-9}
    assert row(result, SPLITTING).utilisation == pytest.approx(splitting(across, shear), **near)
    assert row(result, SPLITTING).peak == pytest.approx(splitting(across, shear), **near)
    assert row(result, TENSION_ACROSS).utilisation == pytest.approx(max(across, 0.0) / F_T90, **near)
    assert row(result, TENSION_ALONG).utilisation >= max(along, 0.0) / F_T0 * (1 - 1e-6)
    assert row(result, TENSION_ALONG).peak == pytest.approx(along, rel=1e-6, abs=1e-8)
    assert row(result, SHEAR).utilisation >= abs(shear) / F_V * (1 - 1e-6)
    if along >= 0.0:  # pressed σ_0 counts as zero near the patches that press
        assert row(result, COMBINED).utilisation == pytest.approx(combined(*stress), **near)
    crush = next(one for one in result.verdict.beside if one.mode == COMPRESSION_ALONG)
    if grain == 0.0:  # else all edges are within 45 deg of the grain: left out near their patches
        assert crush.utilisation == pytest.approx(max(-along, 0.0) / F_C0, **near)
    assert crush.utilisation <= max(-along, 0.0) / F_C0 * (1 + 1e-6) + 1e-9
    for field in result.utilisation.values():
        assert field[SPLITTING] == pytest.approx(splitting(across, shear), **near)
        assert field[TENSION_ALONG] == pytest.approx(max(along, 0.0) / F_T0, **near)
        assert field[COMPRESSION_ACROSS] == pytest.approx(max(-across, 0.0) / F_C90, **near)
        assert field[COMPRESSION_ALONG] == pytest.approx(max(-along, 0.0) / F_C0, **near)


@pytest.mark.parametrize("grain", [0.0, 30.0])
@pytest.mark.parametrize("stress", STATES)
def test_uniform_fields_dent_exactly(results, stress, grain):
    """Mean normal pressure against Hankinson's strength at its angle, on each edge that is pushed, and on no other."""
    result = results(stress, grain)
    x, y, xy = in_xy(grain, stress)
    tensor = np.array([[x, xy], [xy, y]])
    across = np.array([-np.sin(np.radians(grain)), np.cos(np.radians(grain))])
    wanted = {}
    for name, normal in {"A-B": (0, -1), "B-C": (1, 0), "C-D": (0, 1), "D-A": (-1, 0)}.items():
        n = np.array(normal, dtype=float)
        pressure = -float(n @ tensor @ n)
        if pressure > 1e-9:
            s = float(n @ across) ** 2
            wanted[name] = pressure * (F_C0 * s + F_C90 * (1 - s)) / (F_C0 * F_C90)
    found = {one.name: one for one in result.verdict.beside if one.mode == COMPRESSION_ACROSS}
    assert {
        name: one.utilisation for name, one in found.items() if one.value > 1e-9 or name in wanted
    } == pytest.approx(wanted, rel=1e-6, abs=1e-12)
    for one in found.values():
        assert not one.decides and one.end == "dents"
        deep = one.utilisation >= 1.0
        assert (one.depth is not None) == deep
        assert not deep or one.depth == pytest.approx(one.utilisation**2.2, rel=1e-9)


def test_what_decides():
    """Splitting, tension along the grain and, where it exceeds both, combined; shear and tension across only show."""
    verdict = check(uniform((5.0, 1.0, 3.0))).verdict
    decides = {one.mode: one.decides for one in verdict.modes}
    assert decides == {
        SPLITTING: True, SHEAR: False, TENSION_ACROSS: False, TENSION_ALONG: True, COMBINED: False,
    }  # fmt: skip
    assert verdict.governing.mode == SPLITTING
    assert verdict.governing.load_factor == pytest.approx(1 / splitting(1.0, 3.0), rel=1e-8)
    assert all(one.end == "breaks" for one in verdict.modes)
    assert not any(one.decides for one in verdict.beside)


def test_combined_decides_where_it_exceeds_its_parts():
    """σ_0 = 40 with τ = 4: sqrt(0.5^2 + 0.5^2) = 0.707 beside 0.5 and 0.5."""
    result = check(uniform((40.0, 0.0, 4.0), length=200.0))
    assert row(result, COMBINED).utilisation == pytest.approx(math.sqrt(0.5), rel=1e-6)
    assert row(result, COMBINED).decides == (math.sqrt(0.5) > 1.05 * row(result, TENSION_ALONG).utilisation)
    assert row(result, SPLITTING).utilisation == pytest.approx(0.5, rel=1e-6)


def test_tension_along_the_grain_decides():
    result = check(uniform((60.0, 0.0, 0.0)))
    assert result.verdict.governing.mode == TENSION_ALONG
    assert result.verdict.governing.utilisation == pytest.approx(0.75, rel=1e-6)
    assert result.verdict.takes.low == pytest.approx(1 / 0.75, rel=1e-6)


def test_pressed_stress_along_the_grain_does_not_count_near_a_patch():
    """Every edge is a patch here, each as long as the part: nothing is left of pressed σ_0 in the combined mode."""
    result = check(uniform((-30.0, 0.0, 2.0)))
    assert row(result, COMBINED).utilisation == pytest.approx(0.25, rel=1e-6)


# ---- dents and crushing at patches and pins


def block(load, grain=0.0, **more):
    return document([(0, 0), (100, 0), (100, 60), (0, 60)], grain=grain, support=more.pop("support"), load=load, **more)


def rest(name, start, stop, on="edge A-B"):
    return {"name": name, "kind": "rest", "on": on, "from": f"{start} mm", "to": f"{stop} mm"}


@pytest.mark.parametrize("grain", [0.0, 90.0, 35.0])
def test_a_block_on_a_bed_dents_at_both_ends(grain):
    """6 kN on 40 mm by 20 mm are 7.5 MPa, against 5 MPa across the grain, 40 along it, Hankinson's between."""
    push = {"name": "push", "on": "edge C-D", "from": "30 mm", "to": "70 mm", "force": ["0 N", "-6000 N"]}
    side = {"name": "side", "kind": "fixed", "on": "corner A", "axes": ["x"]}
    result = check(block([push], grain, support=[rest("bed", 0, 100), side]))
    dents = {one.name: one for one in result.verdict.beside if one.mode == COMPRESSION_ACROSS}
    limit = {0.0: 5.0, 90.0: 40.0, 35.0: 200 / (40 * 0.6710 + 5 * 0.3290)}[grain]  # cos^2 and sin^2 of 35 deg
    assert dents["push"].value == pytest.approx(6000 / (40 * THICKNESS), rel=1e-6)
    (contact,) = result.verdict.contacts  # with upright fibres the block rises from the bed's ends
    assert contact.length < 70 if grain == 90.0 else contact.length == pytest.approx(100.0)
    assert dents["bed"].value == pytest.approx(6000 / (contact.length * THICKNESS), rel=1e-6)
    assert [dents[name].allowable for name in ("push", "bed")] == pytest.approx([limit] * 2, rel=1e-4)
    assert dents["push"].utilisation == pytest.approx(7.5 / limit, rel=1e-4)
    assert f", {90 - grain:.0f} deg to the grain" in dents["push"].note
    assert "side" not in dents  # a corner has no face


def test_pressure_and_traction_dent_like_a_force():
    base = {"name": "push", "on": "edge C-D", "from": "30 mm", "to": "70 mm"}
    side = {"name": "side", "kind": "fixed", "on": "corner A", "axes": ["x"]}
    ways = ({"force": ["0 N", "-6000 N"]}, {"pressure": "7.5 MPa"}, {"traction": ["0 MPa", "-7.5 MPa"]})
    values = []
    for way in ways:
        result = check(block([base | way], support=[rest("bed", 0, 100), side]))
        values.append(next(one.value for one in result.verdict.beside if one.name == "push"))
    assert values == pytest.approx([7.5] * 3, rel=1e-9)


@pytest.mark.parametrize("angle", [0, 30, 90])
def test_a_pin_dents_by_its_direction(angle):
    """F/(d t) against Hankinson's strength at the angle of the force, also from a load on a hole; no density known."""
    force = 3000 * np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))])
    load = {"name": "push", "on": "hole h", "force": [f"{force[0]} N", f"{force[1]} N"]}
    hole = {"name": "h", "center": ["50 mm", "30 mm"], "diameter": "16 mm"}
    support = [{"name": "foot", "kind": "fixed", "on": "edge D-A"}]
    result = check(block([load], support=support, hole=[hole]))
    found = {one.name: one for one in result.verdict.beside if one.mode == COMPRESSION_ACROSS}
    assert found["push"].value == pytest.approx(3000 / (16 * THICKNESS), rel=1e-9)
    limit = {0: F_C0, 30: 200 / (40 * 0.25 + 5 * 0.75), 90: F_C90}[angle]
    assert found["push"].allowable == pytest.approx(limit, rel=1e-9)
    assert "no density is known" in found["push"].note


def test_crushing_on_end_grain_counts_and_under_a_bearing_does_not():
    """A post pressed on its ends by 20 MPa: σ_0 = -20 all over, 0.5 of 40 MPa. Pressed on its side: no.

    Under a uniform pressure p on an edge along the grain σ_0 = -p sqrt(E_0/E_90) at the surface (4.5 p here): that
    dents, and is left out of crushing within a patch's length.
    """
    result = check(uniform((-20.0, 0.0, 0.0)))
    crush = next(one for one in result.verdict.beside if one.mode == COMPRESSION_ALONG)
    assert crush.utilisation == pytest.approx(0.5, rel=1e-6) and crush.end == "crushes"
    push = {"name": "push", "on": "edge C-D", "from": "40 mm", "to": "60 mm", "force": ["0 N", "-4000 N"]}
    side = {"name": "side", "kind": "fixed", "on": "corner A", "axes": ["x"]}
    pressed = check(block([push], support=[rest("bed", 0, 100), side]))
    under = pressed.solution.stress_grain[0][:, 0].min()
    assert under < -10 * math.sqrt(20) * 0.6  # the peak is there
    crush = next(one for one in pressed.verdict.beside if one.mode == COMPRESSION_ALONG)
    assert crush.value < 0.5 * -under
    assert crush.at is None or abs(crush.at[0] - 50) > 24 or crush.at[1] < 45


def test_nothing_loaded_is_no_verdict_of_breaking():
    """Loads of 0: every utilisation is 0, nothing governs, no load factor."""
    push = {"name": "push", "on": "edge C-D", "force": ["0 N", "0 N"]}
    result = check(block([push], support=held()))
    verdict = result.verdict
    assert verdict.governing is None
    assert (verdict.takes.best, verdict.takes.low, verdict.takes.high) == (None, None, None)
    assert all(one.utilisation == 0.0 for one in (*verdict.modes, *verdict.beside))
    assert verdict.hotspots == ()
    assert all(np.isfinite(field).all() for fields in result.utilisation.values() for field in fields.values())


def test_each_case_is_judged_by_its_own_loads():
    loads = [
        {"name": "pull", "on": "edge C-D", "traction": ["0 MPa", "1 MPa"]},
        {"name": "hold", "on": "edge A-B", "traction": ["0 MPa", "-1 MPa"]},
    ]
    cases = [
        {"name": "once", "loads": {"pull": 1.0, "hold": 1.0}},
        {"name": "half", "loads": {"pull": 0.5, "hold": 0.5}},
    ]
    verdict = check(block(loads, support=held(), case=cases)).verdict
    use = {one.case: one.utilisation for one in verdict.modes if one.mode == SPLITTING}
    assert use == pytest.approx({"once": 0.5, "half": 0.25}, rel=1e-9)
    assert verdict.governing.case == "once"


def test_rounding_never_governs():
    """Under pure pressure along the grain nothing breaks: what is left of the other stresses is rounding."""
    verdict = check(uniform((-10.0, 0.0, 0.0))).verdict
    assert verdict.hotspots == ()
    assert all(row.utilisation < 1e-6 for row in verdict.modes if row.mode in {"splitting", "tension along grain"})


def two_pins(force):
    """A bar with two pinned holes on its axis, pushed along it at one of them: the pins share it or oppose."""
    holes = [
        {"name": name, "center": [f"{x} mm", "40 mm"], "diameter": "16 mm"} for name, x in (("one", 40), ("two", 160))
    ]
    pins = [{"name": f"pin {hole['name']}", "kind": "pin", "on": f"hole {hole['name']}"} for hole in holes]
    load = [{"name": "push", "on": "edge C-D", "from": "80 mm", "to": "120 mm", "force": force}]
    return document([(0, 0), (200, 0), (200, 80), (0, 80)], hole=holes, support=pins, load=load)


def test_pins_that_work_against_each_other_are_said():
    """Bending between two rigid pins stretches at both: no force acts along x, so all of the pins' x is internal."""
    verdict = check(two_pins(["0 N", "-5000 N"])).verdict
    x = [row.force[0] for row in verdict.reactions]
    assert x[0] == pytest.approx(-x[1], abs=1e-6 * 5000)
    assert min(map(abs, x)) > 0.1 * max(math.hypot(*row.force) for row in verdict.reactions)
    (said,) = [text for text in verdict.cautions if "work against each other" in text]
    assert f"with {abs(x[0]):.0f} N" in said


def test_pins_that_share_a_load_are_not_said_to_work_against_each_other():
    verdict = check(two_pins(["-5000 N", "0 N"])).verdict
    x = [row.force[0] for row in verdict.reactions]
    assert min(x) > 0.0
    assert not any("work against each other" in text for text in verdict.cautions)


def test_proportions_that_are_not_met_are_cautions():
    """A hole centred 2.5 diameters from the end where 4 are wanted (NDS, from memory) is said, not only listed."""
    verdict = check(two_pins(["0 N", "-500 N"])).verdict
    assert any(text.startswith("Proportions not met: hole one: centre to the nearer end") for text in verdict.cautions)
