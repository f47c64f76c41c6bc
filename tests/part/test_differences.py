"""What differs between two part files, by their keys."""

import fesolve
from fesolve.part.differences import Difference, differences


def test_quantities_are_compared_and_not_their_spelling():
    one = {"dimensions": {"depth": "42 mm", "push": "1 kN", "half": "depth/2"}, "title": "one"}
    other = {"dimensions": {"depth": "42.0  mm", "push": "2 kN", "half": "depth / 2"}, "title": "other"}
    assert [row.name for row in differences(one, other)] == ["push", "half"]
    assert differences(one, one) == ()


def test_tables_of_a_list_are_matched_by_name():
    one = {"support": [{"name": "a", "on": "edge A-B"}, {"name": "b", "friction": 0.3}]}
    other = {"support": [{"name": "b", "friction": 0.4}, {"name": "a", "on": "edge A-B"}, {"name": "c"}]}
    assert differences(one, other) == (
        Difference("support.b.friction", "0.3", "0.4"),
        Difference("support.c", "-", "there"),
    )


def test_what_one_file_lacks_is_told():
    one = {"wood": {"grain": "0 deg"}, "hole": [{"name": "pivot"}]}
    assert differences(one, {"wood": {}, "load": [{"force": ["0 N", "-5 N"]}]}) == (
        Difference("wood.grain", "0 deg", "-"),
        Difference("hole", "1 of them", "-"),
        Difference("load", "-", "1 of them"),
    )
    moved = differences(
        {"outline": {"corners": [{"at": ["0 mm", "0 mm"]}]}}, {"outline": {"corners": [{"at": [0, 1]}]}}
    )
    assert moved == (Difference("outline.corners.1.at", "[0 mm, 0 mm]", "[0, 1]"),)


def test_names_can_be_set(tmp_path):
    """Each difference of a part and its variant is a name that --set takes."""
    part = fesolve.read_part("meshes/drawbar.toml")
    changes = {"notch_depth": "12 mm", "wood.grain": "3 deg", "support.post.to": "post_at + 30 mm"}
    rows = differences(part.source, part.with_(changes).source)
    assert {row.name: row.now for row in rows} == changes
