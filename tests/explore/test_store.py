"""Results files: what is written comes back the same, and a file that is not ours is left as it is."""

import shutil
import sqlite3

import pytest
from small import cantilever

import fesolve
from fesolve.explore.store import Store
from fesolve.judge.outcome import Outcome, Row

OUTCOME = Outcome(
    utilisation=1 / 3, enough=True, mode="splitting", case="", where="in the middle", x=1.5, y=None,
    low=0.1 + 0.2, best=1e4, high=None, of="push", mass=None, deflection=1e-17, error=0.0101,
)  # fmt: skip
GOOD = Row({"length": "150 mm"}, OUTCOME, "", 0.25)
BAD = Row({"length": "0 mm"}, None, 'Edge "A-B" has no length.', 0.01)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "results.sqlite"


def written(path):
    """A file with two variants in it; gives their names."""
    with Store(path, cantilever()) as store:
        names = store.begin("a grid", [GOOD.changes, BAD.changes])
        store.add(names[0], GOOD)
        store.add(names[1], BAD)
    return names


def test_rows_come_back_to_the_last_digit(path):
    names = written(path)
    with Store(path, cantilever()) as store:
        assert [store.get(name) for name in names] == [GOOD, BAD]
        assert store.get("no such name") is None
        assert store.begin("a grid", [GOOD.changes, BAD.changes]) == names
    assert count(path, "sweep") == 1 and count(path, "member") == 2


def count(path, table):
    base = sqlite3.connect(path)
    (number,) = base.execute(f"SELECT count(*) FROM {table}").fetchone()
    base.close()
    return number


def test_sweeps_of_one_part_share_what_they_have_in_common(path):
    names = written(path)
    with Store(path, cantilever()) as store:
        more = store.begin("another grid", [{"length": "170 mm"}, GOOD.changes])
        assert store.get(more[1]) == GOOD and more[1] == names[0]
    assert count(path, "sweep") == 2 and count(path, "variant") == 2


def test_what_is_there_is_not_replaced_unless_it_was_lost(path):
    with Store(path, cantilever()) as store:
        (name,) = store.begin("a grid", [GOOD.changes])
        store.add(name, Row(GOOD.changes, None, "Its process ended.", again=True))
        assert store.get(name) is None and store.get(name, lost=True).message == "Its process ended."
        store.add(name, GOOD)
        store.add(name, BAD)
        assert store.get(name) == GOOD


def test_without_a_file_it_is_in_memory():
    with Store(None, cantilever()) as store:
        (name,) = store.begin("a grid", [GOOD.changes])
        store.add(name, GOOD)
        assert store.get(name) == GOOD


def test_two_processes_write_side_by_side(path):
    names = written(path)
    with Store(path, cantilever()) as one, Store(path, cantilever()) as other:
        (third,) = one.begin("more", [{"length": "170 mm"}])
        other.add(third, GOOD)
        assert one.get(third).outcome == OUTCOME and other.get(names[1]) == BAD


def refused(path, said, part=None):
    before = path.read_bytes() if path.is_file() else b""
    with pytest.raises(fesolve.InputError, match=said):
        Store(path, part or cantilever())
    assert (path.read_bytes() if path.is_file() else b"") == before


def test_a_file_that_is_no_database(path):
    path.write_text("Dear reader, this was a letter once.\n" * 50)
    refused(path, r"is there already and is no results file\. Choose another name")


def test_a_database_of_another_program(path):
    base = sqlite3.connect(path)
    base.execute("CREATE TABLE birds (name TEXT)")
    base.commit()
    base.close()
    refused(path, r"is another program's SQLite file")


def test_a_damaged_file(path):
    written(path)
    content = bytearray(path.read_bytes())
    content[4096:] = b"\x55" * (len(content) - 4096)
    path.write_bytes(content)
    refused(path, r"is damaged.*it is left as it is")


def test_half_a_file(path):
    written(path)
    path.write_bytes(path.read_bytes()[:5000])
    refused(path, r"is damaged")


def test_another_part(path):
    written(path)
    refused(path, r'holds results of another part, "Test part"', cantilever(title="Another"))


def test_a_later_layout(path):
    written(path)
    base = sqlite3.connect(path)
    base.execute("PRAGMA user_version = 7")
    base.close()
    refused(path, r"written by another version of fesolve \(layout 7; this one has 1\)")


def test_an_empty_file_is_begun(path):
    path.touch()
    written(path)
    assert count(path, "variant") == 2


def test_a_folder_and_one_that_is_missing(tmp_path):
    refused(tmp_path, r"is a folder; give a file")
    refused(tmp_path / "nowhere" / "results.sqlite", r"There is no folder .*nowhere to write the results in")


def test_a_file_that_may_not_be_written(path):
    written(path)
    path.chmod(0o444)
    base = None
    try:
        base = path.open("ab")
    except OSError:
        refused(path, r"cannot be written")
    else:  # whoever may write anything, may write this
        base.close()


def test_one_that_is_held_by_another(path, monkeypatch):
    monkeypatch.setattr("fesolve.explore.store.WAIT", 0.05)
    written(path)
    base = sqlite3.connect(path, isolation_level=None)
    base.execute("BEGIN EXCLUSIVE")
    with pytest.raises(fesolve.SolveError, match=r"is being written by another process, for more than 0\.05 s"):
        Store(path, cantilever())
    base.execute("ROLLBACK")
    base.close()


def test_a_full_disk(path, monkeypatch):
    """SQLite's own limit on pages stands for it: the same message, and what was there is kept."""
    names = written(path)
    with Store(path, cantilever()) as store:
        pages = store._base.execute("PRAGMA page_count").fetchone()[0]
        store._base.execute(f"PRAGMA max_page_count = {pages}")
        long = Row({"length": "1 mm"}, None, "x" * 50_000)
        with pytest.raises(
            fesolve.SolveError, match=r"cannot be written \(database or disk is full\)\. What was in it"
        ):
            store.add("name", long)
        assert store.get(names[0]) == GOOD


def test_a_copy_taken_while_it_is_open_is_whole(path, tmp_path):
    with Store(path, cantilever()) as store:
        (name,) = store.begin("a grid", [GOOD.changes])
        store.add(name, GOOD)
        copy = shutil.copyfile(path, tmp_path / "copy.sqlite")
    with Store(copy, cantilever()) as store:
        assert store.get(name) == GOOD
