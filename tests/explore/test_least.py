"""The least of a figure within bounds: against closed forms, and what is said where there is none."""

import math
from dataclasses import replace

import numpy as np
import pytest
from plain import FORCE, PATCH, SPAN, beam, figures, instead

from fesolve.errors import InputError
from fesolve.explore.least import least

RANGES = {"b": "15 mm to 60 mm", "h": "40 mm to 120 mm"}


@pytest.fixture(scope="module")
def part():
    return beam()


def test_the_lightest_beam_by_hand(part):
    """M/S goes with b h^2, mass with b h: the least is at the greatest depth, or the least thickness; beam theory.

    At h = 90 mm: b = 6 M/(h^2 0.8 f) > 15 mm, so the depth is what ends.
    """
    found = least(part, "mass", "utilisation<=0.8", {"b": "10 mm to 40 mm", "h": "40 mm to 90 mm"}, checks=30)
    moment = FORCE / 2 * (SPAN / 2 - PATCH / 4)
    b = 6 * moment / (90**2 * 0.8 * 25)
    assert found.at_ends == {"h": "upper"} and found.holds and found.settled
    assert found.row.outcome.mass == pytest.approx(500e-9 * (SPAN + 10) * b * 90, rel=0.01)
    assert found.result.verdict.governing.load_factor == pytest.approx(1 / 0.8, rel=0.01)
    assert found.binding == ("utilisation <= 0.8",) and len(found.rows) <= 20


def test_a_bar_in_tension_needs_an_area(part, monkeypatch):
    """A = F/(0.8 f) whatever the shape: any b and h on that line is least, and the mass is that of A."""
    instead(monkeypatch, lambda b, h: figures(1500 / (b * h), mass=b * h / 1000))
    found = least(part, "mass", "utilisation<=0.8", RANGES)
    assert found.row.outcome.mass == pytest.approx(1500 / 0.8 / 1000, rel=0.006) and len(found.rows) <= 20


def test_where_two_bounds_meet(part, monkeypatch):
    """b h^2 = 1.92e5 and b^3 h = 2.16e6: both hold at b = 30, h = 80 mm; b h is (b h^2)^0.4 (b^3 h)^0.2."""

    def formula(b, h):
        return replace(figures(0.8 * 1.92e5 / (b * h * h), mass=b * h / 1000), deflection=2.16e6 / (b**3 * h))

    instead(monkeypatch, formula)
    found = least(part, "mass", ["utilisation<=0.8", "deflection<=1 mm"], RANGES)
    assert found.row.outcome.mass == pytest.approx(30 * 80 / 1000, rel=0.006)
    assert found.binding == ("utilisation <= 0.8", "deflection <= 1 mm") and found.at_ends == {}


def kinked(b, h):
    """Bending goes with 1/(b h^2); what else there is with sqrt(h)/b, as a notch does that deepens with the part."""
    bends, splits = 2e5 / (b * h * h), 2.4 * math.sqrt(h) / b
    return figures(max(bends, splits), mass=b * h / 1000, mode="bends" if bends > splits else "splits")


def test_where_two_modes_meet(part, monkeypatch):
    """On a fine grid of the closed form the least mass within 0.8 is found to half a percent."""
    instead(monkeypatch, kinked)
    found = least(part, "mass", ["utilisation<=0.8"], RANGES)
    b, h = np.meshgrid(np.linspace(15, 60, 1500), np.linspace(40, 120, 1500))
    kept = np.maximum(2e5 / (b * h * h), 2.4 * np.sqrt(h) / b) <= 0.8
    best = (b * h)[kept].min() / 1000
    assert found.row.outcome.mass == pytest.approx(best, rel=0.008) and len(found.rows) <= 60


def test_nothing_keeps_within_the_bounds(part, monkeypatch):
    instead(monkeypatch, lambda b, h: figures(9e6 / (b * h * h), mass=b * h / 1000))
    found = least(part, "mass", "utilisation<=0.8", RANGES)
    assert found.row is None and found.result is None and not found.holds
    start = "Nothing in these ranges keeps within the bounds; the nearest is b 60 mm, h 120 mm"
    assert found.notes[0].startswith(start)


def test_it_says_when_it_ran_out_of_checks(part, monkeypatch):
    instead(monkeypatch, kinked)
    found = least(part, "mass", "utilisation<=0.8", RANGES, checks=6)
    assert not found.settled and "had not come to rest after 6 checks" in " ".join(found.notes)


def test_variants_that_cannot_be_drawn_are_passed_by(part, monkeypatch):
    def formula(b, h):
        if h > 100:
            raise ValueError("no board that wide")
        return figures(2e5 / (b * h * h), mass=b * h / 1000)

    instead(monkeypatch, formula)
    found = least(part, "mass", "utilisation<=0.8", RANGES)
    best = 2e5 / (0.8 * 100**2) * 100 / 1000
    assert found.row.outcome.mass == pytest.approx(best, rel=0.05)
    assert any("could not be checked, such as: no board that wide" in note for note in found.notes)


@pytest.mark.parametrize(
    ("figure", "subject", "within", "message"),
    [
        ("weight", "utilisation<=0.8", RANGES, '"weight" is not a figure of a verdict'),
        ("low", "utilisation<=0.8", RANGES, "The least low is not sought. Figures: mass"),
        ("mass", "utilisation=0.8", RANGES, "is not a bound; write it as in"),
        ("mass", "utilisation<=0 mm", RANGES, "is a length"),
        ("mass", [], RANGES, "Give what has to be kept"),
        ("mass", "utilisation<=0.8", {}, "Give ranges to look in"),
        ("mass", "utilisation<=0.8", {"b": "15 mm; 20 mm"}, "takes single values"),
        ("mass", "utilisation<=0.8", {"bb": "15 mm to 20 mm"}, 'Cannot set "bb"'),
    ],
)
def test_what_cannot_be_sought(part, figure, subject, within, message):
    with pytest.raises(InputError, match=message):
        least(part, figure, subject, within)
