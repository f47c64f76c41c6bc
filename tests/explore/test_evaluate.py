"""One variant checked: the figures of a check of the same part, or its message; and the name it has by its content."""

import pytest
from parts import document

import fesolve
from fesolve.explore import evaluate as module
from fesolve.explore.evaluate import content_key, evaluate, key
from fesolve.judge.outcome import outcome_of


@pytest.fixture(scope="module")
def bar():
    doc = document(
        [(0, 0), (200, 0), (200, 40), (0, 40)],
        support=[{"name": "wall", "kind": "fixed", "on": "edge D-A"}],
        load=[{"name": "pull", "on": "edge B-C", "force": ["0 N", "-100 N"]}],
    )
    for corner in doc["outline"]["corners"][1:3]:
        corner["at"][0] = "length"
    return fesolve.part_from({**doc, "dimensions": {"length": "200 mm"}})


def test_a_row_is_that_of_a_check(bar):
    row, result = evaluate(bar, {"length": "150 mm"})
    assert row.outcome == outcome_of(fesolve.check(bar.with_(length="150 mm"), sure=False).verdict)
    assert result.part.dimensions["length"] == "150 mm"
    assert (row.changes, row.message) == ({"length": "150 mm"}, "") and row.seconds > 0


def test_a_mesh_serves_again(bar):
    _, first = evaluate(bar, {})
    row, again = evaluate(bar, {"grain": "3 deg"}, first)
    assert again.mesh.points is first.mesh.points and row.outcome.utilisation > 0


def test_what_cannot_be_drawn_is_a_message(bar):
    row, result = evaluate(bar, {"length": "0 mm"})
    assert row.outcome is None and result is None
    assert row.message and "Traceback" not in row.message


def test_what_should_not_happen_is_a_message_too(bar, monkeypatch):
    def full(*_, **__):
        raise MemoryError("no more")

    monkeypatch.setattr(module, "check", full)
    row, _ = evaluate(bar, {"length": "150 mm"})
    assert row.message == "This should not have happened (MemoryError: no more)."


def test_equal_content_has_one_name(bar):
    assert key(bar, {"length": "150 mm"}) == key(bar, {"length": "15.0  cm"}) == key(bar.with_(length="150 mm"), {})
    names = {key(bar, {}), key(bar, {"length": "150 mm"}), key(bar, {"grain": "1 deg"})}
    assert len(names) == 3
    assert content_key(bar) == content_key(bar.with_(length="200 mm")) != content_key(bar.with_(length="201 mm"))


def test_another_version_names_it_anew(bar, monkeypatch):
    before = key(bar, {})
    monkeypatch.setattr(module, "our_version", lambda: "another")
    assert key(bar, {}) != before
