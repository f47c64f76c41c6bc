"""Results of sweeps in one SQLite file: each variant is written as it comes, and nothing in the file is ever replaced.

One file belongs to one part and may hold several sweeps of it; a variant that two of them share is kept once.

    about      name, value          what part this is of, its source as JSON, the version of the layout
    sweep      id, asked, made      what was asked for, as JSON
    member     sweep, number, key   its variants in order
    variant    key, state, changes (JSON), one column a figure, message, seconds, version, made

SQLite's own journal is used as it comes, not a log beside it: after each commit the file alone is whole, so it can be
copied while a sweep runs, and a run killed at any moment leaves what was committed.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import astuple
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from ..errors import InputError, SolveError
from ..judge.outcome import OUTCOMES, Outcome, Row
from ..part.model import Part
from .evaluate import content_key, key, our_version

APPLICATION = 0x66657377  # in the file's header (PRAGMA application_id): "fesw"
LAYOUT = 1
WAIT = 30.0  # seconds for another process that is writing
DONE, FAILED, LOST = "done", "failed", "lost"  # lost: another try may say otherwise (`Row.again`), and is made later
_COLUMNS = ("key", "state", "changes", *OUTCOMES, "message", "seconds", "version", "made")
_TABLES = (
    "CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT)",
    "CREATE TABLE sweep (id INTEGER PRIMARY KEY, asked TEXT NOT NULL, made TEXT NOT NULL)",
    "CREATE TABLE member (sweep INTEGER REFERENCES sweep, number INTEGER, key TEXT NOT NULL, "
    "PRIMARY KEY (sweep, number)) WITHOUT ROWID",
    "CREATE TABLE variant (" + ", ".join(f'"{name}"' for name in _COLUMNS) + ", PRIMARY KEY (key))",
)


class Store:
    """A results file, open; use it in a ``with`` statement.

    Parameters
    ----------
    path : str, path or None
        The file, made if it is not there; None: in memory.
    part : Part
        That all of it is about.

    Raises
    ------
    InputError
        For a file that is damaged, of another program, of another part or of a later version; it is left as it is.
    """

    def __init__(self, path: str | Path | None, part: Part) -> None:
        self.path, self.part = path, part
        if path is not None and Path(path).is_dir():
            raise InputError(f"{path} is a folder; give a file for the results.", key="--out")
        if path is not None and not Path(path).absolute().parent.is_dir():
            raise InputError(f"There is no folder {Path(path).absolute().parent} to write the results in.", key="--out")
        with self._told():
            self._base = sqlite3.connect(":memory:" if path is None else path, timeout=WAIT, isolation_level=None)
        try:
            with self._told():
                self._open()
        except BaseException:
            self._base.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; what was added is in it already."""
        self._base.close()

    def begin(self, asked: str, variants: Sequence[Mapping[str, str]]) -> list[str]:
        """Enter a sweep, if it is not there yet.

        Parameters
        ----------
        asked : str
            What was asked for; the same again, of the same content, is the same sweep.
        variants : sequence of mapping
            What is otherwise in each.

        Returns
        -------
        list of str
            The name of each variant by its content.
        """
        keys = [key(self.part, one) for one in variants]
        text = json.dumps([asked, our_version()], ensure_ascii=False)
        with self._told(), self._writing():
            if keys not in self._members(text):
                made = self._base.execute("INSERT INTO sweep (asked, made) VALUES (?, ?)", (text, _now()))
                rows = ((made.lastrowid, number, name) for number, name in enumerate(keys))
                self._base.executemany("INSERT INTO member VALUES (?, ?, ?)", rows)
        return keys

    def _members(self, asked: str) -> list[list[str]]:
        """The variants of each sweep that was asked for so; several where a file that they are drawn from changed."""
        sweeps = self._base.execute("SELECT id FROM sweep WHERE asked = ?", (asked,)).fetchall()
        query = "SELECT key FROM member WHERE sweep = ? ORDER BY number"
        return [[name for (name,) in self._base.execute(query, one)] for one in sweeps]

    def get(self, name: str, *, lost: bool = False) -> Row | None:
        """A variant that is there already, by the name of its content; with `lost` also one to be tried again."""
        with self._told():
            found = self._base.execute(f"SELECT {_listed(_COLUMNS)} FROM variant WHERE key = ?", (name,)).fetchone()
        if found is None or (found[1] == LOST and not lost):
            return None
        return _row(dict(zip(_COLUMNS, found, strict=True)))

    def add(self, name: str, row: Row) -> None:
        """Write what a variant gave, at once; what is there from before stays, unless that was to be tried again."""
        state = DONE if row.outcome is not None else LOST if row.again else FAILED
        figures = (None,) * len(OUTCOMES) if row.outcome is None else astuple(row.outcome)
        changes = json.dumps(dict(row.changes), ensure_ascii=False)
        values = (name, state, changes, *figures, row.message, row.seconds, our_version(), _now())
        with self._told(), self._writing():
            self._base.execute("DELETE FROM variant WHERE key = ? AND state = ?", (name, LOST))
            marks = ", ".join("?" * len(values))
            self._base.execute(f"INSERT OR IGNORE INTO variant VALUES ({marks})", values)

    def _open(self) -> None:
        """Make the tables in an empty file; else see that they are ours and whole."""
        with self._writing():
            (application,) = self._base.execute("PRAGMA application_id").fetchone()
            tables = self._base.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
            if application == 0 and tables == 0:
                self._make()
                return
        if application != APPLICATION:
            raise InputError(f"{self.path} is another program's SQLite file. Choose another name.", key="--out")
        (layout,) = self._base.execute("PRAGMA user_version").fetchone()
        if layout != LAYOUT:
            message = f"{self.path} was written by another version of fesolve (layout {layout}; this one has {LAYOUT})."
            raise InputError(f"{message} Choose another name.", key="--out")
        if self._base.execute("PRAGMA quick_check(1)").fetchone()[0] != "ok":
            raise self._damaged()
        about = dict(self._base.execute("SELECT name, value FROM about"))
        if about.get("content") != content_key(self.part):
            of = f'"{about.get("title")}" ({about.get("file")})'
            message = f"{self.path} holds results of another part, {of}, or of this one before it was changed."
            raise InputError(f"{message} It is left as it is: choose another name, or remove it.", key="--out")

    def _make(self) -> None:
        for table in _TABLES:
            self._base.execute(table)
        about = {
            "title": self.part.title,
            "file": self.part.file,
            "sha256": self.part.sha256,
            "content": content_key(self.part),
            "source": json.dumps(_plain(self.part.source), ensure_ascii=False, default=str),
            "units": "mm, N, MPa, deg, kg",
        }
        self._base.executemany("INSERT INTO about VALUES (?, ?)", about.items())
        self._base.execute(f"PRAGMA application_id = {APPLICATION}")
        self._base.execute(f"PRAGMA user_version = {LAYOUT}")

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """One transaction."""
        self._base.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            if self._base.in_transaction:  # a full disk has rolled it back already
                self._base.execute("ROLLBACK")
            raise
        self._base.execute("COMMIT")

    @contextmanager
    def _told(self) -> Iterator[None]:
        """What SQLite says as one of our messages."""
        try:
            yield
        except sqlite3.OperationalError as error:
            if "locked" in str(error):
                message = f"{self.path} is being written by another process, for more than {WAIT:g} s."
                raise SolveError(f"{message} What is in it is kept; try again.") from None
            if "open" in str(error) or "readonly" in str(error):
                raise InputError(f"{self.path} cannot be written ({error}).", key="--out") from None
            raise SolveError(f"{self.path} cannot be written ({error}). What was in it is kept.") from None
        except sqlite3.DatabaseError as error:
            if "not a database" in str(error):
                message = f"{self.path} is there already and is no results file. Choose another name."
                raise InputError(message, key="--out") from None
            raise self._damaged(str(error)) from None

    def _damaged(self, why: str = "") -> InputError:
        said = f" ({why})" if why else ""
        message = f"{self.path} is damaged{said}; it is left as it is. Choose another name"
        return InputError(f'{message}; SQLite\'s own ".recover" may read what is left of it.', key="--out")


def _row(values: Mapping[str, object]) -> Row:
    """A row of the table of variants as one of ours."""
    outcome = None
    if values["state"] == DONE:
        figures = {name: values[name] for name in OUTCOMES}
        outcome = Outcome(**{**figures, "enough": bool(figures["enough"])})  # type: ignore[arg-type]
    changes, seconds = json.loads(str(values["changes"])), float(str(values["seconds"]))
    return Row(changes, outcome, str(values["message"]), seconds, values["state"] == LOST)


def _listed(names: Sequence[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)


def _plain(value: object) -> object:
    """Mappings and tuples as JSON has them."""
    if isinstance(value, Mapping):
        return {str(name): _plain(item) for name, item in value.items()}
    return [_plain(item) for item in value] if isinstance(value, list | tuple) else value


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
