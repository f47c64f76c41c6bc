"""Stresses along the grain, across it and shear together: each criterion against its textbook form and limits."""

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from parts import STRENGTH, check, document, row, uniform
from scipy.optimize import brentq

import fesolve
from fesolve.errors import InputError
from fesolve.judge.criteria import SplitStrength, split_utilisation
from fesolve.judge.interaction import CHOICES, PlaneStrength, check_closed, interaction, off_axis_strength
from fesolve.judge.verdict import COMBINED, COMPRESSION_ALONG, SPLITTING, TENSION_ALONG
from fesolve.units import Formatter
from fesolve.view import words
from fesolve.view.terminal import make_console, print_verdict
from fesolve.wood.bearing import hankinson

F = PlaneStrength(80.0, 40.0, 2.0, 5.0, 8.0)
# strengths and stresses of a 60 deg ply that A. K. Kaw works in Mechanics of Composite Materials, 2nd ed. 2006,
# examples 2.19 and 2.20 (from memory; strengths and stresses read again on a problem page)
PLY = PlaneStrength(1500.0, 1500.0, 40.0, 246.0, 68.0)
SI = Formatter("si")


def ply_stress(angle=60.0, x=2.0, y=-3.0, xy=4.0):
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    return (
        np.array([c * c * x + s * s * y + 2 * s * c * xy]),
        np.array([s * s * x + c * c * y - 2 * s * c * xy]),
        np.array([(c * c - s * s) * xy - s * c * (x - y)]),
    )


@pytest.mark.parametrize(
    ("choice", "changes", "printed"),
    [
        ("Tsai-Hill", {"compression_across": 40.0}, 10.94),  # with the tension strengths alone
        ("Tsai-Hill", {}, 16.06),
        ("Hoffman", {}, 22.49),
        ("Tsai-Wu", {}, 22.39),
    ],
)
def test_a_textbook_ply(choice, changes, printed):
    found = 1.0 / interaction(*ply_stress(), replace(PLY, **changes), choice)[0]
    assert found == pytest.approx(printed, abs=0.005)


def written(along, across, shear, f, choice):
    """The left side of each criterion as textbooks write it (references in the module)."""
    X = f.tension_along if along >= 0 else f.compression_along
    Y = f.tension_across if across >= 0 else f.compression_across
    squares = (along / X) ** 2 + (across / Y) ** 2 + (shear / f.shear) ** 2
    F1, F2 = 1 / f.tension_along - 1 / f.compression_along, 1 / f.tension_across - 1 / f.compression_across
    F11, F22 = 1 / (f.tension_along * f.compression_along), 1 / (f.tension_across * f.compression_across)
    F12 = {"Hoffman": -F11 / 2, "Tsai-Wu": -np.sqrt(F11 * F22) / 2}.get(choice, 0.0)
    tensor = F1 * along + F2 * across + F11 * along**2 + F22 * across**2 + shear**2 / f.shear**2
    return {
        "Norris": squares,
        "Norris with product": squares - along * across / (X * Y),
        "Tsai-Hill": squares - along * across / X**2,
    }.get(choice, tensor + 2 * F12 * along * across)


STATES = [(40, 1, 4), (-20, 1, 4), (30, -3, 2), (-30, -4, -6), (60, 0, 0.1), (-39, 0, 0), (0, 1.9, 0.5), (5, -4.9, 7)]


@pytest.mark.parametrize("choice", CHOICES)
@pytest.mark.parametrize("state", STATES)
def test_the_utilisation_is_one_over_the_factor_at_which_it_is_met(choice, state):
    found = interaction(*(np.array([float(one)]) for one in state), F, choice)[0]
    factor = brentq(lambda k: written(*(k * one for one in state), F, choice) - 1.0, 1e-9, 1e3, xtol=1e-13)
    assert found == pytest.approx(1.0 / factor, rel=1e-9)
    again = interaction(*(np.array([7.0 * one]) for one in state), F, choice)[0]
    assert again == pytest.approx(7.0 * found, rel=1e-12)


@pytest.mark.parametrize("choice", CHOICES)
def test_each_strength_alone_is_met(choice):
    along = np.array([80.0, -40.0, 0.0, 0.0, 0.0, 0.0])
    across = np.array([0.0, 0.0, 2.0, -5.0, 0.0, 0.0])
    shear = np.array([0.0, 0.0, 0.0, 0.0, 8.0, -8.0])
    assert interaction(along, across, shear, F, choice) == pytest.approx(np.ones(6), rel=1e-12)
    assert interaction(np.zeros(1), np.zeros(1), np.zeros(1), F, choice) == pytest.approx([0.0])


def test_tsai_hill_at_an_angle_is_the_textbook_curve():
    """1/σ² = c⁴/X² + (1/S² - 1/X²) s² c² + s⁴/Y² (Azzi and Tsai 1965, from memory)."""
    for angle in (0.0, 5.0, 20.0, 45.0, 80.0, 90.0):
        c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
        inverse = c**4 / 80**2 + (1 / 8**2 - 1 / 80**2) * s * s * c * c + s**4 / 2**2
        assert off_axis_strength(F, angle, "Tsai-Hill") == pytest.approx(inverse**-0.5, rel=1e-12)


@pytest.mark.parametrize(("choice", "parts"), [("Norris", 2.0), ("Norris with product", 3.0)])
@pytest.mark.parametrize("pressed", [False, True])
def test_norris_is_hankinson_where_shear_strength_says_so(choice, parts, pressed):
    """(c²/P + s²/Q)² holds the term 2 s² c²/(P Q): f_v² = P Q/2, or P Q/3 with the product term (derived)."""
    P, Q = (40.0, 5.0) if pressed else (80.0, 2.0)
    f = replace(F, shear=float(np.sqrt(P * Q / parts)))
    for angle in (0.0, 7.0, 30.0, 60.0, 90.0):
        found = off_axis_strength(f, angle, choice, pressed=pressed)
        assert found == pytest.approx(hankinson(P, Q, angle), rel=1e-12)


def test_an_open_criterion_is_refused():
    """Tsai-Hill closes for f_90 < 2 f_0, Hoffman for f_t90 f_c90 < 4 f_t0 f_c0 (derived: 4 p r > q²)."""
    across = PlaneStrength(2.0, 4.0, 80.0, 40.0, 8.0)
    for choice in ("Tsai-Hill", "Hoffman"):
        with pytest.raises(InputError, match=f"{choice} has no limit for some stresses") as caught:
            check_closed(across, choice)
        assert caught.value.key == "judging.combined"
        check_closed(F, choice)
    for choice in ("Norris", "Norris with product", "Tsai-Wu"):
        check_closed(across, choice)
    check_closed(PlaneStrength(1.01, 1.01, 2.0, 2.0, 1.0), "Tsai-Hill")
    with pytest.raises(InputError, match="Tsai-Hill"):
        check_closed(PlaneStrength(0.99, 1.01, 2.0, 2.0, 1.0), "Tsai-Hill")
    with pytest.raises(InputError, match=r'"Hill" is not an interaction\. Choices: Norris'):
        interaction(np.ones(1), np.ones(1), np.ones(1), F, "Hill")


# ---- in the verdict


def expected(state, choice):
    """The criterion on (σ_0, max(σ_90, 0), f_v u_p), u_p splitting's utilisation of pressure across and shear."""
    along, across, shear = state
    pressed = split_utilisation(np.array([min(across, 0.0)]), np.array([shear]), SplitStrength(8.0, 2.0, 5.0))
    return interaction(np.array([along]), np.array([max(across, 0.0)]), 8.0 * pressed, F, choice)[0]


@pytest.mark.parametrize("choice", CHOICES)
def test_the_choice_of_the_part_file_judges(choice):
    state = (40.0, 0.6, 4.0)
    result = check(uniform(state, judging={"combined": choice}))
    found = row(result, COMBINED)
    assert found.utilisation == pytest.approx(expected(state, choice), rel=1e-6)
    assert found.means == pytest.approx(state, rel=1e-6)
    assert found.note.startswith(f"{choice}; mean over ")
    assert result.verdict.judging.combined == choice
    for field in result.utilisation.values():
        assert field[COMBINED] == pytest.approx(expected(state, choice), rel=1e-6)
    stream = io.StringIO()
    print_verdict(result.verdict, SI, make_console(stream, width=100))
    assert f"combined: {choice}; mean over" in stream.getvalue()


def test_pressure_across_the_grain_is_no_break_by_any_choice():
    """Four fifths of f_c90 alone load nothing; with shear they help, as in splitting."""
    for choice in CHOICES:
        assert row(check(uniform((0.0, -4.0, 0.0), judging={"combined": choice})), COMBINED).utilisation < 1e-9
    assert expected((0.0, -4.0, 4.0), "Hoffman") < expected((0.0, 0.0, 4.0), "Hoffman") == pytest.approx(0.5)


def strut(shear, **more):
    """A strut that a rest presses along its fibres far from its middle, with a shear on its long edges."""
    push = [
        {"name": "push", "on": "edge B-C", "traction": ["-30 MPa", f"{shear} MPa"]},
        {"name": "foot", "on": "edge D-A", "traction": ["30 MPa", f"{-shear} MPa"]},
        {"name": "top", "on": "edge C-D", "traction": [f"{shear} MPa", "0 MPa"]},
        {"name": "under", "on": "edge A-B", "traction": [f"{-shear} MPa", "0 MPa"]},
    ]
    held = [
        {"name": "one", "kind": "fixed", "on": "corner A"},
        {"name": "two", "kind": "fixed", "on": "corner B", "axes": ["y"]},
    ]
    return document([(0, 0), (500, 0), (500, 60), (0, 60)], support=held, load=push, **more)


def test_what_is_pressed_along_its_fibres_is_not_said_to_break_across_them():
    """30 of 40 MPa with 2 of 8 crushes; with 6.5 of 8 MPa shear has the greater share, and it is said to fail."""
    crushed, sheared = check(strut(2.0)), check(strut(6.5))
    worst = crushed.verdict.governing
    assert (worst.mode, worst.end) == (COMBINED, "crushes")
    assert worst.utilisation == pytest.approx(np.hypot(0.75, 0.25), rel=1e-3)
    told = " ".join(line.text for line in words.story(crushed.verdict, SI))
    assert "Crushes along the fibres" in told
    assert "pieces crush below" in told
    assert "pressed along the grain" in told
    worst = sheared.verdict.governing
    assert (worst.mode, worst.end) == (COMBINED, "breaks")
    told = " ".join(line.text for line in words.story(sheared.verdict, SI))
    assert told.startswith("FAILS: ")
    assert "Fails, pressed along the fibres and sheared," in told
    assert "pieces fail below" in told
    for result in (crushed, sheared):
        text = " ".join(line.text for line in words.story(result.verdict, SI))
        assert "across the fibres" not in text
        assert next(one for one in result.verdict.beside if one.mode == COMPRESSION_ALONG).decides is False


def test_on_lower_5_percent_it_says_one_in_twenty_crushes():
    told = " ".join(line.text for line in words.story(check(strut(2.0, basis="lower 5%")).verdict, SI))
    assert "About 1 in 20 of clear, straight-grained pieces crushes below" in told


def test_fibres_that_are_pulled_still_break_across():
    result = check(uniform((60.0, 0.0, 4.0), length=200.0))
    assert row(result, COMBINED).decides
    assert row(result, COMBINED).utilisation > 1.05 * max(
        row(result, SPLITTING).utilisation, row(result, TENSION_ALONG).utilisation
    )
    assert "Breaks across the fibres" in words.where(result.verdict, SI)


def test_the_table_of_a_part_file(tmp_path: Path):
    part = fesolve.part_from(uniform((1.0, 0.0, 0.0)))
    assert part.judging.combined == "Norris"
    for wrong, said in (
        (
            {"combined": "Tsai Hill"},
            '"Tsai Hill" is not a choice for combined. Nearest: "Tsai-Hill". Choices: "Norris"',
        ),
        ({"combined": 3}, "3 is not text"),
        ({"combine": "Norris"}, 'Key "combine" is not known in .judging.. Nearest: "combined"'),
        ("Norris", '"Norris" is not a table; write .judging. and its keys below it'),
    ):
        with pytest.raises(InputError, match=said):
            fesolve.part_from(uniform((1.0, 0.0, 0.0), judging=wrong))
    odd = {**STRENGTH, "tension_across": "900 MPa"}
    doc = uniform((1.0, 0.0, 0.0), judging={"combined": "Tsai-Hill"})
    doc["wood"]["strength"] = odd
    with pytest.raises(InputError, match=r"Choose \"Norris\", or look at \[wood.strength\]"):
        check(doc)
