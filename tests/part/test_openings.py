"""Holes with corners in the part file: letters, edges, areas by hand, and refusals."""

import re

import pytest
from parts import document, mm

import fesolve
from fesolve.errors import InputError
from fesolve.mesh.outline import part_outline

SQUARE = [(0, 0), (100, 0), (100, 60), (0, 60)]
HELD = [{"name": "foot", "kind": "fixed", "on": "edge D-A"}]
PUSH = {"name": "push", "on": "edge B-C", "force": ["0 N", "-100 N"]}


def part(*corners, load=None, **more):
    hole = {"name": "hand hold", "corners": [{"at": mm(*at), **keys} for at, keys in corners], **more}
    return fesolve.part_from(document(SQUARE, hole=[hole], support=HELD, load=[{**PUSH, **(load or {})}]))


def plain(*places):
    return [(place, {}) for place in places]


def test_its_edges_go_on_after_the_outline_and_can_be_loaded():
    square = plain((30, 20), (70, 20), (70, 40), (30, 40))
    found = part(*square, load={"on": "edge E-F", "from": "10 mm", "to": "20 mm"})
    outline = part_outline(found)
    assert outline.area == pytest.approx(100 * 60 - 40 * 20, rel=1e-12)
    assert set(outline.sharp_corners) == set("ABCDEFGH")
    (loaded,) = outline.named("load push")
    assert sorted((loaded.start, loaded.end)) == [(40.0, 20.0), (50.0, 20.0)]
    verdict = fesolve.check(found, sure=False, splits=False).verdict
    assert verdict.equilibrium < 1e-9
    assert sum(row.force[1] for row in verdict.reactions) == pytest.approx(100.0, abs=1e-6)


def test_pressure_in_it_pushes_into_the_wood():
    load = {"name": "swelling", "on": "edge E-F", "pressure": "1 MPa"}
    hole = {"name": "m", "corners": [{"at": mm(*at)} for at in ((30, 20), (70, 20), (70, 40), (30, 40))]}
    found = fesolve.part_from(document(SQUARE, hole=[hole], support=HELD, load=[load]))
    (row,) = fesolve.check(found, sure=False, splits=False).verdict.reactions
    # 1 MPa on 40 mm of a wall of 20 mm, downwards into the wood below the opening
    assert row.force == pytest.approx((0.0, 800.0), abs=1e-6)


def test_a_blow_in_it_goes_into_the_wood():
    hole = {"name": "m", "corners": [{"at": mm(*at)} for at in ((30, 20), (70, 20), (70, 40), (30, 40))]}
    strike = {"name": "tenon", "on": "edge F-G", "direction": "into the wood", "mass": "1 kg", "speed": "1 m/s"}
    found = fesolve.part_from(document(SQUARE, hole=[hole], support=HELD, strike=[strike]))
    assert found.strikes[0].direction == (1.0, 0.0)


def test_rounds_and_bows():
    found = part(((30, 20), {"round": "4 mm"}), ((70, 20), {}), ((70, 40), {"bow": "20 mm"}), ((30, 40), {}))
    # the bow is a half circle of 20 mm on the upper side; one corner is rounded: by hand
    gone = 40 * 20 + 3.141592653589793 * 20**2 / 2 - (1 - 3.141592653589793 / 4) * 4**2
    with pytest.raises(InputError, match=r"crosses or touches edge .C-D. at \(50, 60\)"):
        part_outline(found)
    smaller = part(((30, 10), {"round": "4 mm"}), ((70, 10), {}), ((70, 30), {"bow": "20 mm"}), ((30, 30), {}))
    assert part_outline(smaller).area == pytest.approx(100 * 60 - gone, rel=1e-9)


@pytest.mark.parametrize(
    ("corners", "more", "message", "key"),
    [
        (plain((30, 20), (70, 20)), {}, 'Hole "hand hold" has 2 corners; it needs at least 3', "hole.1.corners"),
        (plain((30, 20), (70, 20), (50, 30)), {"diameter": "9 mm"}, 'Key "diameter" is not known', "hole.1.diameter"),
        ([((30, 20), {"name": "B"}), *plain((70, 20), (50, 30))], {}, '"B" is used for two', "hole.1.corners.1.name"),
    ],
)
def test_what_cannot_be_meant_is_refused(corners, more, message, key):
    with pytest.raises(InputError, match=re.escape(message)) as found:
        part(*corners, **more)
    assert found.value.key == key


@pytest.mark.parametrize(
    ("places", "message"),
    [
        ([(110, 20), (150, 20), (150, 40)], "lies outside the outline, at (110, 20) mm"),
        ([(80, 20), (150, 20), (150, 40)], 'crosses or touches edge "B-C" at (100, '),
        ([(30, 20), (70, 40), (70, 20), (30, 41)], "crosses or touches itself"),
    ],
)
def test_what_does_not_fit_is_refused(places, message):
    with pytest.raises(InputError, match=re.escape(message)) as found:
        part_outline(part(*plain(*places)))
    assert found.value.key == "hole.1.corners"
