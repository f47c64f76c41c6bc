"""The effect of size: closed forms of the weakest-link integral, Barrett's tests, and where there is no figure."""

import io
from math import gamma, pi, sqrt

import pytest
from parts import STRENGTH, THICKNESS, check, document, held, mm, uniform

import fesolve
from fesolve.errors import InputError
from fesolve.judge.inspected import inspect_part
from fesolve.judge.samples import Samples
from fesolve.judge.size_effect import size_rows, weibull_stress
from fesolve.judge.taking import by_case
from fesolve.mesh.generate import mesh_part
from fesolve.modelling import model_of
from fesolve.part.document import Section
from fesolve.part.judging import read_judging
from fesolve.units import Formatter
from fesolve.view import words
from fesolve.view.terminal import make_console, print_verdict
from fesolve.wood.size_effect import size_law

ACROSS, SHEAR = size_law("tension across grain"), size_law("shear along grain")
PSI = 0.0068947572931684
INCH3 = 25.4**3


def rows(result):
    return rows_of(result.verdict)


def rows_of(verdict):
    return {row.mode: row for row in verdict.size_effect}


@pytest.fixture(scope="module")
def plate():
    """A solved rectangle of 150 x 80 x 20 mm under σ_90 = 1.5 and τ = 2 MPa."""
    return check(uniform((0.0, 1.5, 2.0)))


def test_an_evenly_stressed_bar(plate):
    """σ (V/V_0)^(1/k) (Weibull 1939, from memory): 240 cm3 on 82 and on 164."""
    found = rows(plate)
    for law, stress, strength in ((ACROSS, 1.5, 2.0), (SHEAR, 2.0, 8.0)):
        row = found[law.mode]
        assert row.value == pytest.approx(stress * (240e3 / law.volume) ** (1 / law.exponent), rel=1e-5)
        assert row.allowable == strength
        assert row.utilisation == pytest.approx(row.value / strength)
        assert row.even_volume == pytest.approx(240e3, rel=1e-3)
        assert (row.volume, row.exponent) == (law.volume, law.exponent)
        assert row.source
        assert row.status in {"read", "computed here", "from memory"}


def test_beams_of_textbooks(plate):
    """Linear stress: V/(2(k+1)) of the volume; a parabola of shear: sqrt(π)/2 Γ(k+1)/Γ(k+3/2) of it (derived)."""
    samples = Samples.of(plate.solution)
    height = plate.solution.model.mesh.points[plate.solution.stress_point][:, 1]
    s = (height - 40.0) / 40.0
    found, even = weibull_stress(samples.at(3.0 * s), samples.volume, ACROSS)
    k = ACROSS.exponent
    assert found == pytest.approx(3.0 * (240e3 / ACROSS.volume / (2 * (k + 1))) ** (1 / k), rel=1e-3)
    assert even == pytest.approx(240e3 * (1 - 0.5 ** (1 / (k + 1))), rel=0.02)  # 1 - y^(k+1) = 1/2, of one half, twice
    k = SHEAR.exponent
    found, _ = weibull_stress(samples.at(3.0 * (1 - s * s)), samples.volume, SHEAR)
    share = sqrt(pi) / 2 * gamma(k + 1) / gamma(k + 1.5)
    assert found == pytest.approx(3.0 * (240e3 * share / SHEAR.volume) ** (1 / k), rel=1e-4)


def test_a_beam_in_four_point_bending_from_a_part_file():
    """Fibres upright: σ_90 = M/S. Even moment over a: a/(2(k+1)); from 0 over b on each side: b/(2(k+1)²) (derived)."""
    length, depth, inner, F = 400.0, 30.0, 160.0, 300.0
    loads = [
        {"name": name, "on": "edge C-D", "from": f"{x - 3} mm", "to": f"{x + 3} mm", "force": ["0 N", f"{-F} N"]}
        for name, x in (("one", (length - inner) / 2), ("two", (length + inner) / 2))
    ]
    corners = [(0, 0), (length, 0), (length, depth), (0, depth)]
    row = rows(check(document(corners, grain=90.0, support=held(), load=loads)))[ACROSS.mode]
    arm = (length - inner) / 2
    stress = 6 * F * arm / (THICKNESS * depth**2)
    k = ACROSS.exponent
    even = THICKNESS * depth * (inner / (2 * (k + 1)) + 2 * arm / (2 * (k + 1) ** 2))
    assert row.value == pytest.approx(stress * (even / ACROSS.volume) ** (1 / k), rel=0.01)


@pytest.mark.parametrize(("side", "thickness", "psi"), [((1.0, 1.0), 1.0, 460.0), ((20.0, 10.0), 10.0, 100.0)])
def test_barretts_means_of_douglas_fir(side, thickness, psi):
    """460 psi in 1 cubic inch, 100 psi in 2000 (Barrett 1974, abstract read): both break at the strength, to 1 %."""
    length, depth = (25.4 * one for one in side)
    doc = uniform((0.0, psi * PSI, 0.0), length=length, depth=depth)
    doc["wood"]["thickness"] = f"{thickness} in"
    doc["wood"]["strength"] = {**STRENGTH, "tension_across": "2.3 MPa"}  # the handbook's block
    row = rows(check(doc))[ACROSS.mode]
    assert row.even_volume == pytest.approx(side[0] * side[1] * thickness * INCH3, rel=1e-3)
    assert row.utilisation == pytest.approx(1.0, abs=0.01)


def test_thickness_by_region_and_curved_holes():
    """The volume is that of the drawing: 150 x 80 less a hole of 30, 20 thick, and 8 in a strip of 20 beside it."""
    hole = {"name": "eye", "center": ["60 mm", "40 mm"], "diameter": "30 mm"}
    strip = {"from": ["120 mm", "0 mm"], "to": ["120 mm", "80 mm"], "width": "20 mm"}
    doc = uniform((1.0, 0.5, 0.0), hole=[hole], region=[{"name": "web", "strip": strip, "thickness": "8 mm"}])
    result = check(doc)
    samples = Samples.of(result.solution)
    area = 150 * 80 - pi * 15**2
    assert samples.volume.sum() == pytest.approx(20 * (area - 20 * 80) + 8 * 20 * 80, rel=1e-6)


def test_it_converges_with_the_mesh():
    """A hole pulled across the grain: the peak is narrow, and halving all elements moves the figure by under 0.5 %."""
    hole = {"name": "eye", "center": ["75 mm", "40 mm"], "diameter": "20 mm"}
    part = fesolve.part_from(uniform((0.0, 1.0, 0.0), hole=[hole]))
    outline = fesolve.mesh.outline.part_outline(part)
    wood = fesolve.check(part, sure=False, splits=False).wood
    found = []
    for scale in (1.0, 0.5):
        solution = model_of(part, mesh_part(part, outline, scale=scale), wood).solve([part.cases[0].factors])
        (row, *_) = size_rows(by_case(inspect_part(part, outline, wood, solution).looks)[0], 1.0)
        assert row.mode == ACROSS.mode
        found.append(row.value)
    assert found[0] == pytest.approx(found[1], rel=5e-3)


# ---- where there is no figure


def pulled_strip(notch, depth=200.0):
    """A strip pulled across its upright fibres past two deep notches, one on either edge."""
    rows_ = [
        {"name": f"cut {edge}", "edge": edge, "from": "97 mm", "to": "103 mm", "depth": f"{0.4 * depth} mm", **notch}
        for edge in ("A-B", "C-D")
    ]
    load = [
        {"name": "far", "on": "edge B-C", "traction": ["0.5 MPa", "0 MPa"]},
        {"name": "near", "on": "edge D-A", "traction": ["-0.5 MPa", "0 MPa"]},
    ]
    corners = [(0, 0), (200, 0), (200, depth), (0, depth)]
    return document(corners, grain=90.0, support=held(), load=load, notch=rows_)


def test_at_a_sharp_notch_there_is_no_figure():
    """σ^5 of r^(-1/2) has no integral: the figure would follow how near the corner is looked at."""
    sharp, rounded = check(pulled_strip({})), check(pulled_strip({"round": "3 mm"}))
    row = rows(sharp)[ACROSS.mode]
    assert (row.value, row.utilisation, row.even_volume) == (None, None, None)
    assert row.note == "no figure: it grows with every step towards a place where stress has no limit"
    assert rows(rounded)[ACROSS.mode].value > 1.5 * rows(rounded)[ACROSS.mode].allowable / 4
    stream = io.StringIO()
    print_verdict(sharp.verdict, Formatter("si"), make_console(stream, width=100))
    assert "tension across grain: no figure: it grows with every step towards a place" in stream.getvalue()


def test_a_place_without_a_limit_that_bears_little_is_left_out():
    """Small sharp notches at the end of a long strip, where nothing pulls: the strip counts, and the note says so."""
    doc = pulled_strip({}, 40.0)
    doc["outline"]["corners"][1]["at"] = mm(600, 0)
    doc["outline"]["corners"][2]["at"] = mm(600, 40)
    doc["notch"] = [{"name": "end", "edge": "D-A", "from": "18 mm", "to": "22 mm", "depth": "1 mm"}]
    row = rows(check(doc))[ACROSS.mode]
    assert row.value == pytest.approx(0.5 * (600 * 40 * 20 / ACROSS.volume) ** 0.2, rel=0.03)
    assert row.note == "without what lies within 2.5 mm of places where stress has no limit"


def test_stress_in_less_than_the_tests_reach_has_no_share():
    """Eight cubic centimetres, half of Barrett's 1 cubic inch."""
    row = rows(check(uniform((0.0, 1.0, 0.0), length=20.0, depth=20.0)))[ACROSS.mode]
    assert row.value == pytest.approx((8e3 / ACROSS.volume) ** 0.2, rel=1e-4)
    assert row.even_volume == pytest.approx(8e3, rel=0.01)
    assert row.even_volume < ACROSS.least == pytest.approx(INCH3, rel=1e-4)
    assert row.utilisation is None
    assert "no share: the stress is crowded into 8" in row.note


def test_beyond_the_tests_it_says_so():
    doc = uniform((0.0, 0.3, 0.0), length=900.0, depth=400.0)
    doc["wood"]["thickness"] = "100 mm"
    row = rows(check(doc))[ACROSS.mode]
    assert row.even_volume > ACROSS.greatest == pytest.approx(2000 * INCH3, rel=1e-4)
    assert "beyond the tests, which end at 32774 cm3" in row.note


# ---- in the verdict


def test_a_large_piece_gets_a_caution():
    """0.75 of the strength in 48 cm3 is less by size; in 9 dm3 it is nearly twice the strength."""
    small = check(uniform((0.0, 1.5, 0.0), length=60.0, depth=40.0)).verdict
    assert rows_of(small)[ACROSS.mode].utilisation == pytest.approx(0.75 * (48e3 / ACROSS.volume) ** 0.2, rel=1e-4)
    assert not any("By size" in text for text in small.cautions)
    doc = uniform((0.0, 1.5, 0.0), length=500.0, depth=300.0)
    doc["wood"]["thickness"] = "60 mm"
    result = check(doc)
    (said,) = [text for text in result.verdict.cautions if text.startswith("By size")]
    share = 0.75 * (500 * 300 * 60 / ACROSS.volume) ** 0.2
    assert f"tension across grain has the share {share:.2f}, more than what governs" in said
    assert result.verdict.governing.utilisation == pytest.approx(0.75, rel=1e-3)  # it is shown and does not decide
    assert "(9 dm3)" in said


def large(stress, **more):
    doc = uniform((0.0, stress, 0.0), length=500.0, depth=300.0, basis="lower 5%", **more)
    doc["wood"]["thickness"] = "60 mm"
    return check(doc).verdict


def test_a_large_piece_is_not_said_to_hold_against_its_size():
    """0.5 of the strength leaves 2 in hand by the mean; (9 dm3/82 cm3)^0.2 = 2.56 times that by its size."""
    verdict = large(1.0)
    share = 0.5 * (9e6 / ACROSS.volume) ** 0.2
    told = words.headline(verdict, Formatter("si"))
    assert told.startswith("TOO CLOSE TO CALL: 2.00 in hand, but only ")
    assert f"only {1 / share:.2f} by its size (tension across grain), of clear" in told
    assert not words.holds(verdict)
    assert words.holds(large(1.0, judging={"size_effect": False}))
    assert words.headline(large(0.4), Formatter("si")).startswith("HOLDS, 5.0 in hand")  # 0.51: less than 1/1.5


def test_a_load_that_lasts():
    doc = uniform((0.0, 1.0, 0.0))
    names = {load["name"]: 1.0 for load in doc["load"]}
    doc["case"] = [{"name": "long", "loads": names, "duration": "50 years"}]
    row = rows(check(doc))[ACROSS.mode]
    assert row.allowable == pytest.approx(2.0 * 0.58, abs=0.01)
    assert row.utilisation == pytest.approx(row.value / row.allowable)


def test_it_can_be_left_out():
    assert check(uniform((0.0, 1.5, 0.0), judging={"size_effect": False})).verdict.size_effect == ()
    assert check(uniform((30.0, 0.0, 0.0))).verdict.size_effect == ()  # nothing of the kind acts
    given = check(uniform((0.0, 1.5, 0.0), judging={"size_effect": True})).verdict
    assert given.judging.size_effect
    assert given.size_effect


def test_the_design_basis_has_its_own():
    document = Section({"judging": {"size_effect": True}}, "", "the part file")
    with pytest.raises(InputError, match='not for basis "design": its code has factors for size of its own') as caught:
        read_judging(document, "design")
    assert caught.value.key == "judging.size_effect"
    assert read_judging(document, "mean").size_effect
    assert not read_judging(Section({}, "", "the part file"), "design").size_effect
    assert not read_judging(Section({"judging": {"combined": "Tsai-Wu"}}, "", "the part file"), "design").size_effect
    with pytest.raises(InputError, match="is neither true nor false"):
        read_judging(Section({"judging": {"size_effect": "yes"}}, "", "the part file"), "mean")
