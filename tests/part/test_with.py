"""The same part with values of its file replaced."""

import pytest

import fesolve

STOP = "meshes/log_stop.toml"


@pytest.fixture(scope="module")
def stop():
    return fesolve.read_part(STOP)


def test_a_dimension_and_what_hangs_on_it(stop):
    other = stop.with_(depth="150 mm")
    assert other.corners[2].at[1] == 150.0 and other.holes[0].center[1] == 75.0
    assert stop.corners[2].at[1] == 140.0 and other.file == STOP


def test_the_wood_by_short_names(stop):
    other = stop.with_(species="Ash, white", grain="5 deg", thickness="45 mm")
    assert (other.wood.species, other.wood.grain, other.wood.thickness) == ("Ash, white", 5.0, 45.0)


def test_a_dimension_of_that_name_goes_first():
    doc = {**fesolve.read_part(STOP).source}
    doc["dimensions"] = {**doc["dimensions"], "thickness": "30 mm"}
    doc["wood"] = {**doc["wood"], "thickness": "thickness + 2 mm"}
    assert fesolve.part_from(doc).with_(thickness="40 mm").wood.thickness == 42.0


def test_entries_of_lists_by_name_or_count(stop):
    by_name = stop.with_({"support.cross-beam.from": "150 mm", "strike.log.mass": "70 kg"})
    by_count = stop.with_({"support.2.from": "150 mm", "strike.1.mass": "70 kg"})
    assert by_name.supports == by_count.supports and by_name.strikes == by_count.strikes
    assert by_name.supports[1].on.start == 150.0


def test_names_that_lead_nowhere(stop):
    with pytest.raises(
        fesolve.InputError, match=r'"pin" is not one of the list; there are 2, counted from 1, or by name'
    ):
        stop.with_({"support.pin.from": "1 mm"})
    with pytest.raises(fesolve.InputError, match=r'Cannot set "hole_dia": it is not a dimension.*Nearest: "hole_d"'):
        stop.with_(hole_dia="20 mm")


def test_changes_add_up(stop):
    assert stop.with_(depth="150 mm").with_(hole_d="30 mm", pin_d="29 mm").corners[2].at[1] == 150.0


def test_a_list_as_a_part_file_writes_it(stop):
    moved = stop.with_({"hole.1.center": '["60 mm", "depth/2"]'})
    assert moved.holes[0].center == (60.0, 70.0)
    with pytest.raises(fesolve.InputError, match=r"is not a pair; write \[x, y\]"):
        stop.with_({"hole.1.center": "[60 mm, 30 mm]"})  # as it arrives where a shell took the quotes away
