"""One variant checked: the figures of a check of the same part, or its message; and the name it has by its content."""

import sqlite3

import ezdxf
import pytest
from parts import document

import fesolve
from fesolve.explore import evaluate as module
from fesolve.explore.evaluate import content_key, evaluate, key
from fesolve.explore.probe import Probe
from fesolve.explore.store import Store
from fesolve.explore.sweep import sweep
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
    assert row.message and "Traceback" not in row.message and not row.again


def test_what_should_not_happen_is_a_message_too(bar, monkeypatch):
    def full(*_, **__):
        raise MemoryError("no more")

    monkeypatch.setattr(module, "check", full)
    row, _ = evaluate(bar, {"length": "150 mm"})
    assert row.message == "This should not have happened (MemoryError: no more)." and row.again


def test_equal_content_has_one_name(bar):
    assert key(bar, {"length": "150 mm"}) == key(bar, {"length": "15.0  cm"}) == key(bar.with_(length="150 mm"), {})
    names = {key(bar, {}), key(bar, {"length": "150 mm"}), key(bar, {"grain": "1 deg"})}
    assert len(names) == 3
    assert content_key(bar) == content_key(bar.with_(length="200 mm")) != content_key(bar.with_(length="201 mm"))


def test_another_version_names_it_anew(bar, monkeypatch):
    before = key(bar, {})
    monkeypatch.setattr(module, "our_version", lambda: "another")
    assert key(bar, {}) != before


def draw(path, depth):
    """A plate of 200 mm by this depth."""
    document = ezdxf.new("R2010")
    document.units = ezdxf.units.MM
    document.modelspace().add_lwpolyline([(0, 0), (200, 0), (200, depth), (0, depth)], close=True)
    document.saveas(path)


@pytest.fixture
def drawn(bar, tmp_path):
    """The bar from a drawing, another beside it."""
    draw(tmp_path / "a.dxf", 40)
    draw(tmp_path / "b.dxf", 50)
    source = {name: value for name, value in bar.source.items() if name != "dimensions"}
    source |= {"outline": {"file": "a.dxf"}, "mesh": {"refine_limit": 1}}
    return fesolve.part_from(source, file=str(tmp_path / "bar.toml"))


def test_a_drawing_that_is_varied_counts_by_its_content(drawn, tmp_path):
    """A bar half as deep has a fourth of the strength (M/S, from memory): the old figure is unsafe."""
    vary, out = {"outline.file": "a.dxf; b.dxf"}, tmp_path / "results.sqlite"
    first = sweep(drawn, vary, workers=1, out=out)
    draw(tmp_path / "b.dxf", 20)
    fresh = fesolve.check(drawn.with_({"outline.file": "b.dxf"}), sure=False)
    again = sweep(drawn, vary, workers=1, out=out)
    assert again.rows[1].outcome.utilisation == pytest.approx(outcome_of(fresh.verdict).utilisation, rel=1e-9)
    assert again.rows[1].outcome.utilisation > 3 * first.rows[1].outcome.utilisation
    assert again.rows[0] == first.rows[0]
    with sqlite3.connect(out) as base:
        found = base.execute("SELECT sweep, state FROM member NATURAL JOIN variant ORDER BY sweep").fetchall()
    assert found == [(1, "done")] * 2 + [(2, "done")] * 2


def test_a_drawing_that_was_missing_is_tried_again(drawn, tmp_path):
    """Also where it goes missing and comes back unchanged, so that the name of its variant is the same."""
    row, _ = evaluate(drawn, {"outline.file": "c.dxf"})
    assert row.again and "c.dxf" in row.message
    vary, out = {"outline.file": "a.dxf; c.dxf"}, tmp_path / "results.sqlite"
    assert [one.outcome is None for one in sweep(drawn, vary, workers=1, out=out).rows] == [False, True]
    draw(tmp_path / "c.dxf", 40)
    with Store(out, drawn) as store:
        store.add(key(drawn, {"outline.file": "c.dxf"}), row)
        assert store.get(key(drawn, {"outline.file": "c.dxf"}), lost=True).again
    assert sweep(drawn, vary, workers=1, out=out).rows[1].outcome.utilisation > 0


def test_what_should_not_happen_is_tried_again_and_what_cannot_be_drawn_is_not(bar, monkeypatch):
    with Store(None, bar) as store:
        good, bad = {"length": "150 mm"}, {"length": "0 mm"}
        with monkeypatch.context() as context:
            context.setattr(module, "check", lambda *_, **__: 1 / 0)
            assert "ZeroDivisionError" in Probe(bar, store).row(good).message
        Probe(bar, store).row(bad)
        heard = []
        again = Probe(bar, store, heard.append)
        assert again.row(good).outcome is not None and again.row(bad).outcome is None
        assert heard == ["check 1: length 150 mm"]


def test_the_arrays_of_an_xdmf_mesh_count_too(bar, tmp_path):
    """XDMF 3: an HDF item's text is the file, a colon, and the path in it (the format's own documentation)."""
    item = '<DataItem DataType="Float" Dimensions="4 2" Format="HDF" Precision="8">plate.h5:/data0</DataItem>'
    (tmp_path / "plate.xdmf").write_text(f"<Xdmf Version='3.0'><Domain><Grid>{item}</Grid></Domain></Xdmf>")
    part = fesolve.part_from(bar.source, file=str(tmp_path / "bar.toml"))
    names = {key(part, {"mesh.file": "plate.xdmf"})}
    for content in (b"0 1", b"0 2"):
        (tmp_path / "plate.h5").write_bytes(content)
        names.add(key(part, {"mesh.file": "plate.xdmf"}))
    assert len(names) == 3
