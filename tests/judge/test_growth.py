"""Loads that grow beside loads that stay, and parts with play: contact is solved again at each factor."""

import pytest
from parts import check, document, uniform

import fesolve
from fesolve.errors import FreeMotionError
from fesolve.judge.growth import searched


def beside(stays, grows):
    """A part whose loads grow, with those of another that stay."""
    one, two = fesolve.part_from(grows), fesolve.part_from(stays)
    more = [load.model_copy(update={"name": f"{load.name} stays", "grows": False}) for load in two.loads]
    loads = (*one.loads, *more)
    case = one.cases[0].model_copy(update={"factors": {load.name: 1.0 for load in loads}})
    return one.model_copy(update={"loads": loads, "cases": (case,)})


def test_loads_that_stay_are_not_multiplied():
    """Closed form: 0.6 MPa stay and 0.4 MPa grow across the grain; 2 MPa, the strength, is met at 3.5 times."""
    verdict = fesolve.check(
        beside(uniform((0.0, 0.6, 0.0)), uniform((0.0, 0.4, 0.0))), sure=False, splits=False
    ).verdict
    assert verdict.governing.utilisation == pytest.approx(0.5, rel=1e-6)
    assert verdict.governing.load_factor == pytest.approx(3.5, rel=1e-4)
    assert verdict.governing.load_factor_kind == "searched"
    assert (verdict.takes.low, verdict.takes.of) == (pytest.approx(3.5, rel=1e-4), "all loads together")


def test_loads_that_stay_and_break_it_alone_leave_nothing():
    verdict = fesolve.check(
        beside(uniform((0.0, 2.4, 0.0)), uniform((0.0, 0.4, 0.0))), sure=False, splits=False
    ).verdict
    assert verdict.governing.load_factor == verdict.takes.low == 0.0


def lever(pin, load=2000.0):
    """A board that turns on a pin of its hole of 25 mm and leans on a rest near its middle."""
    support = [
        {"name": "pivot", "kind": "pin", "on": "hole h", "pin": pin},
        {"name": "beam", "kind": "rest", "on": "edge A-B", "from": "190 mm", "to": "230 mm"},
    ]
    hole = [{"name": "h", "center": ["70 mm", "70 mm"], "diameter": "25 mm"}]
    push = {"name": "log", "on": "edge C-D", "from": "90 mm", "to": "110 mm", "force": ["0 N", f"{-load} N"]}
    return document([(0, 0), (420, 0), (420, 140), (0, 140)], support=support, hole=hole, load=[push])


def test_what_a_loose_pin_lets_it_take_is_met_when_it_is_loaded_so():
    """The searched load, applied: utilisation 1. Without play the same is plain proportion."""
    loose = check(lever("23 mm")).verdict
    assert (loose.governing.load_factor_kind, loose.takes.of) == ("searched", "log")
    again = check(lever("23 mm", loose.takes.low)).verdict
    assert again.governing.utilisation == pytest.approx(1.0, abs=0.01)  # within the accuracy of either mesh
    tight = check(lever("25 mm")).verdict
    assert tight.governing.load_factor_kind == "proportional"
    assert tight.takes.low == pytest.approx(2000 / tight.governing.utilisation, rel=1e-12)
    assert abs(loose.takes.low / tight.takes.low - 1) > 0.01  # play matters


def test_secants_find_the_factor_of_each_case():
    """u = a + b λ; one without load, one that its steady loads break, one that never breaks."""
    a, b = (0.2, 0.0, 1.4, 0.5), (0.3, 0.0, 0.1, 0.0)

    def use(factors):
        return [one + two * factor for one, two, factor in zip(a, b, factors, strict=True)]

    assert searched(use, use([1.0] * 4)) == [pytest.approx(0.8 / 0.3, rel=1e-3), None, 0.0, None]


def test_a_part_that_would_move_first_has_no_factor():
    def use(factors):
        if factors[0] > 2.0:
            raise FreeMotionError("it tips")
        return [0.25 * factors[0]]

    assert searched(use, [0.25]) == [None]
