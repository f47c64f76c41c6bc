"""Loads that may sit anywhere, pins that wear, and friction that is not known."""

import pytest
from parts import check, document

BOARD = [(0, 0), (400, 0), (400, 30), (0, 30)]
BED = [
    {"name": "left", "kind": "rest", "on": "edge A-B", "from": "0 mm", "to": "10 mm"},
    {"name": "right", "kind": "rest", "on": "edge A-B", "from": "390 mm", "to": "400 mm"},
    {"name": "stop", "kind": "fixed", "on": "corner A", "axes": ["x"]},
]


def test_a_moving_load_is_worst_at_midspan():
    """Simple beam, M = F a b/L: greatest at the middle (any textbook)."""
    load = {
        "name": "wheel",
        "on": "edge C-D",
        "width": "20 mm",
        "anywhere": ["30 mm", "370 mm"],
        "force": ["0 N", "-800 N"],
    }
    verdict = check(document(BOARD, support=BED, load=[load])).verdict
    (row,) = verdict.moving
    assert (row.start + row.stop) / 2 == pytest.approx(200.0, abs=30.0)
    assert row.tried == 9 and row.most > 1.5 * row.least
    assert verdict.loads[0].at[0] == pytest.approx(200.0, abs=30.0)


def lever(**pin):
    support = [
        {"name": "pivot", "kind": "pin", "on": "hole h", "pin": "24 mm", **pin},
        {"name": "beam", "kind": "rest", "on": "edge A-B", "from": "190 mm", "to": "230 mm", "friction": 0},
    ]
    hole = [{"name": "h", "center": ["70 mm", "70 mm"], "diameter": "25 mm"}]
    push = {"name": "log", "on": "edge C-D", "from": "90 mm", "to": "110 mm", "force": ["0 N", "-2000 N"]}
    return document([(0, 0), (420, 0), (420, 140), (0, 140)], support=support, hole=hole, load=[push])


def test_a_worn_pin_is_run_again_and_the_worse_is_told():
    """Worn to 3 mm of play: the same as a pin of 22 mm, and the verdict is that of the worst."""
    verdict = check(lever(friction=0, worn="3 mm")).verdict
    new, worn = verdict.variants
    assert worn.what == 'pin "pivot" worn to a play of 3 mm'
    thin = check(lever(friction=0, pin="22 mm")).verdict
    assert worn.utilisation == pytest.approx(thin.governing.utilisation, rel=0.01)
    assert verdict.governing.utilisation == pytest.approx(max(new.utilisation, worn.utilisation), rel=1e-6)


def test_friction_that_is_not_known_is_bracketed():
    verdict = check(lever()).verdict
    smooth, rough = verdict.variants
    assert rough.what == "friction 0.3 where none is given"
    known = check(lever(friction=0.3)).verdict
    assert known.variants == ()
    assert rough.utilisation == pytest.approx(known.governing.utilisation, rel=0.01)
    assert verdict.governing.utilisation == pytest.approx(max(smooth.utilisation, rough.utilisation), rel=1e-6)
    assert any("How it is held matters by" in text for text in verdict.limits)


def test_a_pin_on_springs_gives():
    soft, rigid = (check(lever(friction=0, **more)) for more in ({"stiffness": "500 N/mm"}, {}))
    moved = soft.solution.contact("pivot").moved
    force = next(row.force for row in soft.verdict.reactions if row.name == "pivot")
    assert moved == pytest.approx([-force[0] / 500.0, -force[1] / 500.0], rel=1e-6, abs=1e-9)
    assert rigid.solution.contact("pivot").moved == pytest.approx([0.0, 0.0])
