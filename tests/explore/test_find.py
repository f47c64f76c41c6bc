"""The value at which a figure is reached: against beam theory, and on formulas with kinks, jumps and holes."""

import dataclasses
import math
import re

import pytest
from plain import beam, bending, depth_for, figures, instead

import fesolve
from fesolve.errors import InputError
from fesolve.explore.find import find
from fesolve.explore.least import least
from fesolve.explore.telling import found_words
from fesolve.units import Formatter


@pytest.fixture(scope="module")
def part():
    return beam()


def test_the_depth_of_a_beam_by_hand(part):
    """M/S of a simply supported beam under a patch (statics; beam theory): h = sqrt(6 M/(b 0.8 f))."""
    found = find(part, "h", until={"utilisation": 0.8})
    assert found.row.outcome.mode == "tension along grain"
    assert found.value == pytest.approx(depth_for(0.8), rel=2e-3) and found.unit == "mm"
    assert found.row.outcome.utilisation == pytest.approx(0.8, rel=2e-3)
    assert len(found.rows) <= 6
    low, high = found.bracket
    assert float(low.changes["h"].split()[0]) < found.value < float(high.changes["h"].split()[0])
    cut = float(found.cut.changes["h"].split()[0])
    assert cut == math.ceil(found.value) and found.cut.outcome.utilisation < 0.8
    assert found.notes == ()


def test_within_a_range_and_by_what_it_takes(part):
    """Utilisation 0.5 is a low of twice the load."""
    found = find(part, "b", until={"low": "6 kN"}, within="10 mm to 60 mm")
    assert found.value == pytest.approx(20.0 * bending(70.0) / 0.5, rel=3e-3)
    assert found.cut.outcome.low >= 6000.0 and len(found.rows) <= 6


def test_a_kink_where_the_mode_changes(part, monkeypatch):
    instead(monkeypatch, lambda h: figures(max(50 / h, (60 / h) ** 4)))
    found = find(part, "h", until={"utilisation": 0.7}, within="40 mm to 200 mm")
    assert found.value == pytest.approx(50 / 0.7, rel=3e-3) and len(found.rows) <= 12


def test_no_crossing_tells_both_ends(part, monkeypatch):
    instead(monkeypatch, lambda h: figures(20 / h))
    found = find(part, "h", until={"utilisation": 0.8}, within="30 mm to 90 mm")
    assert found.value is None and found.row is None and found.cut is None
    assert found.notes == (
        "utilisation 0.8 was not met: utilisation stays below it, 0.6667 at 30 mm and 0.2222 at 90 mm.",
    )
    assert [row.changes["h"] for row in found.bracket] == ["30 mm", "90 mm"]
    outward = find(part, "h", until={"utilisation": 100.0})
    assert outward.value is None and "was not met" in outward.notes[0]


def test_several_crossings_are_noticed(part, monkeypatch):
    """u = 1 + (h - 40)(h - 80)/1000 crosses 1 at 40 and at 80; the one nearest to the present 70 is given."""
    instead(monkeypatch, lambda h: figures(1 + (h - 40) * (h - 80) / 1000))
    found = find(part, "h", until={"utilisation": 1.0}, within="30 mm to 120 mm")
    assert found.value == pytest.approx(80.0, rel=5e-3)
    assert any("crosses utilisation 1 2 times" in note for note in found.notes)


def test_what_cannot_be_drawn_at_an_end_is_told_and_passed_by(part, monkeypatch):
    def formula(h):
        if h < 45:
            raise ValueError("too thin")
        return figures(50 / h)

    instead(monkeypatch, formula)
    found = find(part, "h", until={"utilisation": 1.0}, within="10 mm to 100 mm")
    assert found.value == pytest.approx(50.0, rel=3e-3)
    assert found.notes[0] == "10 mm cannot be checked: too thin."
    outward = find(part, "h", until={"utilisation": 1.2})  # at 41.7, where it cannot be drawn
    assert outward.value is None and len(outward.rows) < 15 and "was not met" in outward.notes[-1]


def test_a_hole_inside_the_bracket_loses_nothing(part, monkeypatch):
    def formula(h):
        if 45 < h < 55:
            raise ValueError("no such board")
        return figures(50 / h)

    instead(monkeypatch, formula)
    found = find(part, "h", until={"utilisation": 1.0}, within="30 mm to 100 mm")
    assert found.value is None
    assert "lies between, but values there cannot be checked" in found.notes[-1]
    assert found.bracket[0].outcome.utilisation > 1.0 > found.bracket[1].outcome.utilisation


def test_a_jump_is_told(part, monkeypatch):
    instead(monkeypatch, lambda h: figures(2.0 if h < 61.3 else 0.5))
    found = find(part, "h", until={"utilisation": 1.0}, within="40 mm to 90 mm")
    assert found.value is None and "is jumped over: 2 at 61" in found.notes[-1]


@pytest.mark.parametrize(
    ("name", "until", "within", "message"),
    [
        ("hh", {"utilisation": 1.0}, None, 'Cannot set "hh": it is not a dimension'),
        ("h", {"use": 1.0}, None, r'"use" is not a figure of a verdict\. Figures: utilisation, low'),
        ("h", {"utilisation": 0.0}, None, "is not above 0"),
        ("h", {"deflection": "2 N"}, None, "is a force, but a length"),
        ("h", {"utilisation": 1.0}, "30 mm to 60 mm in 4", "is not a range to look in"),
        ("grain", {"utilisation": 1.0}, None, '"grain" is 0 deg now, and nothing can be sought outward from that'),
        ("title", {"utilisation": 1.0}, None, "is not a quantity of this part"),
    ],
)
def test_what_cannot_be_sought(part, name, until, within, message):
    with pytest.raises(InputError, match=message):
        find(part, name, until=until, within=within)


@pytest.mark.parametrize(
    ("loads", "value", "message"),
    [
        (1, "1.5", 'is a force here, of load "push", and "1.5" has no unit. Give low one, such as "5 kN"'),
        (1, 1.5, 'is a force here, of load "push"'),
        (2, "5 kN", 'is a factor on all loads here, and "5 kN" has a unit. Give low a bare number'),
    ],
)
def test_what_it_takes_is_a_force_or_a_factor(part, loads, value, message):
    (push,) = part.source["load"]
    more = [{**push, "name": f"push {number}"} for number in range(2, loads + 1)]
    several = fesolve.part_from({**part.source, "load": [push, *more]})
    with pytest.raises(InputError, match=re.escape(message)):
        find(several, "h", until={"low": value})
    with pytest.raises(InputError, match=re.escape(message)):
        least(several, "mass", f"low>={value}", {"h": "60 mm to 90 mm"})


def test_a_factor_on_several_loads_is_sought(part, monkeypatch):
    (push,) = part.source["load"]
    two = fesolve.part_from({**part.source, "load": [push, {**push, "name": "push 2"}]})
    instead(monkeypatch, lambda h: figures(50 / h))  # its low is one over the utilisation
    assert find(two, "h", until={"low": "1.6"}).value == pytest.approx(80.0, rel=3e-3)


@pytest.mark.parametrize(
    ("figure", "doubted"), [("utilisation", True), ("low", True), ("mass", False), ("deflection", False)]
)
def test_the_error_of_stress_is_no_doubt_of_mass_or_deflection(part, monkeypatch, figure, doubted):
    """Of what goes with 1/h, an error of 0.1 % moves h by 0.1 %; mass is b h l; of a deflection it is not known."""

    def formula(h):
        return dataclasses.replace(figures(50 / h, mass=h / 50), low=1000 * h / 50, deflection=50 / h)

    instead(monkeypatch, formula)
    wanted = {"utilisation": 0.8, "low": "1250 N", "mass": "1.25 kg", "deflection": "0.8 mm"}
    found = find(part, "h", until={figure: wanted[figure]}, within="40 mm to 90 mm")
    assert found.value == pytest.approx(62.5, rel=3e-3)
    assert found.doubt == (pytest.approx(0.0625, rel=0.01) if doubted else None)


def test_deflections_beside_the_one_found_are_told_apart(part, monkeypatch):
    """Of 8.4/h: 0.21 mm at 40 mm and 0.187 mm at 45 mm, by division."""
    instead(monkeypatch, lambda h: dataclasses.replace(figures(0.5), deflection=8.4 / h))
    found = find(part, "h", until={"deflection": "0.1972 mm"}, within="40 mm to 45 mm")
    words = " ".join(found_words(part, found, Formatter("si")))
    assert "deflection 0.197 mm" in words and "Rounded to the safe side: h 43 mm, deflection 0.195 mm" in words
    assert "Beside it: 0.21 mm at 40 mm and 0.187 mm at 45 mm." in words
    assert f"{8.4 / 43 / 25.4:.3g} in" in " ".join(found_words(part, found, Formatter("us")))


def test_what_is_found_but_not_enough_on_the_basis_is_said_to_be_so(part, monkeypatch):
    """With 1.5 in hand, as on "lower 5%", utilisation 1/1.5 is enough."""

    def formula(h):
        return dataclasses.replace(figures(50 / h), enough=50 / h <= 1 / 1.5)

    instead(monkeypatch, formula)
    low = part.with_({"wood.basis": "lower 5%", "margin": 1.5})
    words = {
        wanted: " ".join(found_words(low, find(low, "h", until={"utilisation": wanted}), Formatter("si")))
        for wanted in (0.9, 0.6)
    }
    said = 'not enough on the basis "lower 5%": what holds with 1.5 in hand has utilisation 0.67 or less.'
    assert said in words[0.9] and "not enough" not in words[0.6]
    plain = find(part, "h", until={"utilisation": 0.9})
    assert "not enough" not in " ".join(found_words(part, plain, Formatter("si")))
