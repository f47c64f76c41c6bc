"""A sweep as arrays, frame, CSV and Parquet: read back by the standard library, pandas and pyarrow."""

import csv
import sys

import numpy as np
import pytest
from small import cantilever

import fesolve
from fesolve.explore.export import export, write_csv, write_parquet
from fesolve.explore.sweep import Sweep
from fesolve.explore.vary import read_axes
from fesolve.judge.outcome import Outcome, Row
from fesolve.part.axes import grid


def outcome(use):
    return Outcome(
        utilisation=use, enough=use <= 1, mode="splitting", case="", where="near \"B\", below", x=1.5, y=2.5,
        low=1e3 / use, best=1.1e3 / use, high=None, of="push", mass=0.1, deflection=0.3 * use, error=0.01,
    )  # fmt: skip


@pytest.fixture(scope="module")
def made():
    """Six rows, one of which failed."""
    part = cantilever()
    axes = read_axes(part, {"length": "6 in to 8 in in 3", "board": "flat-sawn; quarter-sawn"})
    rows = [Row(one, outcome(0.1 + 0.2 * number), "", 0.5) for number, one in enumerate(grid(axes))]
    rows[3] = Row(rows[3].changes, None, "Cannot be drawn, for a reason.", 0.01)
    return Sweep(part, tuple(axes), tuple(rows))


def test_arrays(made):
    assert made.shape == (3, 2) and len(made["utilisation"]) == 6
    assert made["length"].tolist() == [6, 6, 7, 7, 8, 8] and made.units["length"] == "in"
    assert made["board"].tolist()[:2] == ["flat-sawn", "quarter-sawn"]
    np.testing.assert_allclose(made["utilisation"], [0.1, 0.3, 0.5, np.nan, 0.9, 1.1])
    assert made["enough"].tolist() == [True, True, True, False, True, False]
    assert np.isnan(made["high"]).all() and made["mode"][3] == "" and made["message"][3].startswith("Cannot be drawn")
    assert made["seconds"].dtype == float
    with pytest.raises(fesolve.InputError, match=r'"stress" is no column\. Columns: length, board, utilisation'):
        made["stress"]


def test_csv_reads_back(made, tmp_path):
    write_csv(made, tmp_path / "table.csv")
    write_csv(made, tmp_path / "table.csv")  # an earlier one is replaced
    with (tmp_path / "table.csv").open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["length [in]"] for row in rows] == ["6.0", "6.0", "7.0", "7.0", "8.0", "8.0"]
    assert [float(row["utilisation"]) for row in rows if row["utilisation"]] == [
        row.outcome.utilisation for row in made.rows if row.outcome
    ]
    assert rows[3]["utilisation"] == "" and rows[3]["enough"] == "" and rows[5]["enough"] == "false"
    assert rows[0]["where"] == 'near "B", below' and rows[3]["message"] == "Cannot be drawn, for a reason."
    assert rows[0]["mass [kg]"] == "0.1" and rows[0]["high"] == ""


def test_frame_and_parquet_agree(made, tmp_path):
    pd = pytest.importorskip("pandas", reason="of the extra frames")
    pytest.importorskip("pyarrow", reason="of the extra frames")
    frame = made.frame()
    assert list(frame.columns) == list(made.columns) and frame.attrs["units"]["length"] == "in"
    write_parquet(made, tmp_path / "table.parquet")
    write_parquet(made, tmp_path / "table.parquet")
    read = pd.read_parquet(tmp_path / "table.parquet")
    assert list(read.columns)[:2] == ["length [in]", "board"]
    np.testing.assert_array_equal(read["utilisation"], frame["utilisation"])
    assert read["enough"].isna().tolist() == [False, False, False, True, False, False]
    assert read["message"].tolist() == frame["message"].tolist()


def test_without_the_libraries(made, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "pandas", None)
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(fesolve.MissingLibraryError, match=r"pip install 'fesolve\[frames\]'"):
        made.frame()
    with pytest.raises(fesolve.MissingLibraryError, match=r"Parquet needs pyarrow: pip install 'fesolve\[frames\]'"):
        export(made, None, tmp_path / "table.parquet")
    export(made, tmp_path / "table.csv", None)
    assert (tmp_path / "table.csv").exists() and not (tmp_path / "table.parquet").exists()


@pytest.mark.parametrize("write", [write_csv, write_parquet])
def test_what_is_there_and_is_not_ours_stays(made, tmp_path, write):
    pytest.importorskip("pyarrow", reason="of the extra frames")
    letter = tmp_path / "letter"
    letter.write_text("Dear reader,\n")
    with pytest.raises(fesolve.InputError, match=r"is there already and is no earlier table of a sweep"):
        write(made, letter)
    assert letter.read_text() == "Dear reader,\n"
    with pytest.raises(fesolve.InputError, match=r"is a folder"):
        write(made, tmp_path)
    with pytest.raises(fesolve.InputError, match=r"There is no folder .*nowhere"):
        write(made, tmp_path / "nowhere" / "table")
