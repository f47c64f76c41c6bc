"""Sweeps as CSV and Parquet: one line a variant, names with their units in square brackets."""

from __future__ import annotations

import csv
import math
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from ..errors import InputError, MissingLibraryError
from .sweep import Sweep

_PARQUET = b"PAR1"


def check_exports(csv_file: str | Path | None, parquet_file: str | Path | None) -> None:
    """See, before anything is run, that what is wanted can be written; raises as `check_csv` and `check_parquet`."""
    if csv_file is not None:
        check_csv(csv_file)
    if parquet_file is not None:
        check_parquet(parquet_file)


def export(sweep: Sweep, csv_file: str | Path | None, parquet_file: str | Path | None) -> None:
    """Write what is wanted of the two; raises as `write_csv` and `write_parquet`."""
    if csv_file is not None:
        write_csv(sweep, csv_file)
    if parquet_file is not None:
        write_parquet(sweep, parquet_file)


def check_csv(path: str | Path) -> None:
    """See, before anything is run, that a CSV file can be written; raises InputError if not."""
    _check(path, "--csv", lambda start: start.partition(b"\n")[0].find(b"utilisation") >= 0)


def check_parquet(path: str | Path) -> None:
    """See, before anything is run, that a Parquet file can be written.

    Raises
    ------
    InputError
        If the place cannot be written to, or something else is there.
    MissingLibraryError
        If pyarrow is not installed.
    """
    _check(path, "--parquet", lambda start: start.startswith(_PARQUET))
    _pyarrow()


def write_csv(sweep: Sweep, path: str | Path) -> None:
    """Write a sweep as CSV, comma between, point in numbers, UTF-8; no figures: empty.

    Parameters
    ----------
    sweep : Sweep
    path : str or path
        Replaced, if it is an earlier one.

    Raises
    ------
    InputError
        As `check_csv`.
    """
    check_csv(path)
    columns = [[_text(value) for value in _values(sweep, name)] for name in sweep.columns]

    def write(draft: Path) -> None:
        with draft.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.writer(stream)
            writer.writerow(titles(sweep))
            writer.writerows(zip(*columns, strict=True))

    _replace(path, write, "--csv")


def write_parquet(sweep: Sweep, path: str | Path) -> None:
    """Write a sweep as Parquet, with the same names as CSV; no figures: null. Raises as `check_parquet`."""
    check_parquet(path)
    pa, parquet = _pyarrow()
    columns = {
        title: pa.array(_values(sweep, name), from_pandas=True)
        for title, name in zip(titles(sweep), sweep.columns, strict=True)
    }
    _replace(path, lambda draft: parquet.write_table(pa.table(columns), draft), "--parquet")


def titles(sweep: Sweep) -> list[str]:
    """Names of the columns with their units: ``notch_depth [mm]``, ``utilisation``, ``mass [kg]``."""
    return [f"{name} [{sweep.units[name]}]" if name in sweep.units else name for name in sweep.columns]


def _values(sweep: Sweep, name: str) -> list[object]:
    """A column with None for whether it is enough where that is not known."""
    values: list[object] = sweep[name].tolist()
    if name != "enough":
        return values
    return [None if row.outcome is None else value for row, value in zip(sweep.rows, values, strict=True)]


def _text(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return "" if math.isnan(value) else repr(value)
    return "" if value is None else str(value)


def _pyarrow() -> tuple[Any, Any]:
    try:
        import pyarrow
        from pyarrow import parquet
    except ImportError:
        raise MissingLibraryError("Parquet needs pyarrow: pip install 'fesolve[frames]'. CSV needs nothing.") from None
    return pyarrow, parquet


def _check(path: str | Path, key: str, ours: Callable[[bytes], bool]) -> None:
    path = Path(path)
    try:
        if path.is_dir():
            raise InputError(f"{path} is a folder; give a file.", key=key)
        if not path.absolute().parent.is_dir():
            raise InputError(f"There is no folder {path.absolute().parent} to write in.", key=key)
        if path.exists():
            with path.open("rb") as stream:
                start = stream.read(4096)
            if start and not ours(start):
                raise InputError(
                    f"{path} is there already and is no earlier table of a sweep. Choose another.", key=key
                )
        if not os.access(path.absolute().parent, os.W_OK):
            raise InputError(f"You may not write to {path.absolute().parent}. Choose another folder.", key=key)
    except OSError as error:
        raise InputError(f"{path} cannot be written: {error.strerror or error}.", key=key) from None


def _replace(path: str | Path, write: Callable[[Path], object], key: str) -> None:
    """Write beside, then rename into place: what is there is whole at any moment."""
    path = Path(path)
    draft = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        write(draft)
        draft.replace(path)
    except OSError as error:
        draft.unlink(missing_ok=True)
        raise InputError(f"{path} cannot be written: {error.strerror or error}.", key=key) from None
