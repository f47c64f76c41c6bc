"""What is taken without being written is told: a range that a notch cuts short, a grain that is not given."""

import copy

from parts import check, document

CORNERS = [(0, 0), (180, 0), (180, 100), (0, 100)]
WALL = [{"name": "wall", "kind": "fixed", "on": "edge B-C"}]


def squeezed(**more):
    """A jaw on 30 mm of the left edge from D down; a notch 20 mm deep in the upper edge begins at D."""
    notch = [{"name": "rail", "edge": "C-D", "from": "120 mm", "to": "180 mm", "depth": "20 mm"}]
    jaw = {"name": "jaw", "on": "edge D-A", "from": "0 mm", "to": "30 mm", "force": ["600 N", "0 N"]}
    return document(CORNERS, notch=notch, support=WALL, load=[jaw | more])


def told(doc, words):
    return [text for text in check(doc).verdict.cautions if words in text]


def test_a_range_that_a_notch_cuts_short_is_told():
    assert told(squeezed(), "are left") == [
        'Of the 30 mm of "jaw" only 10 are left: a notch or a round takes the rest.'
    ]


def test_a_range_that_is_whole_is_not_told():
    assert told(squeezed(**{"from": "20 mm"}), "are left") == []


def test_a_range_without_an_end_goes_to_the_edge_s_own():
    doc = squeezed()
    del doc["load"][0]["to"]
    assert told(doc, "are left") == ['Of the 100 mm of "jaw" only 80 are left: a notch or a round takes the rest.']


def test_a_grain_that_is_not_given_is_told():
    doc = squeezed()
    assert told(doc, "No grain") == []
    silent = copy.deepcopy(doc)
    del silent["wood"]["grain"]
    assert told(silent, "No grain") == ["No grain is given: 0 deg, along x, is taken."]
