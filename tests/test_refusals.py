"""What cannot stand is refused by the name of its case or strike, with the motion that nothing stops."""

import pytest
from parts import check, document

import fesolve

CORNERS = [(0, 0), (420, 0), (420, 140), (0, 140)]
HOLE = [{"name": "h", "center": ["70 mm", "70 mm"], "diameter": "25 mm"}]
PIN = {"name": "pivot", "kind": "pin", "on": "hole h", "pin": "24 mm"}
BEAM = {"name": "beam", "kind": "rest", "on": "edge A-B", "from": "20 mm", "to": "40 mm"}
PUSH = {"name": "log", "on": "edge C-D", "from": "90 mm", "to": "110 mm", "force": ["0 N", "-2000 N"]}


def test_a_case_that_no_contact_can_balance():
    """A lever pushed off its rest turns about its pin."""
    case = [{"name": "full deck", "loads": {"log": 1}}]
    doc = document(CORNERS, support=[PIN, BEAM], hole=HOLE, load=[PUSH], case=case)
    with pytest.raises(fesolve.FesolveError, match=r'Case "full deck": no contact forces .* turn clockwise about'):
        check(doc)


def test_a_strike_that_no_contact_can_stop():
    blow = {"name": "log", "on": "edge C-D", "direction": "down", "mass": "60 kg", "speed": "1 m/s"}
    doc = document(CORNERS, support=[PIN, BEAM], hole=HOLE, strike=[blow | {"from": "90 mm", "to": "110 mm"}])
    with pytest.raises(fesolve.FesolveError, match=r'Strike "log": no contact forces can balance the loads'):
        check(doc)
