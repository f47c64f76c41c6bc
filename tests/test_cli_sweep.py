"""``fesolve sweep`` as a user has it."""

import signal
import subprocess
import sys
import time

import pytest
from docs_text import ROOT

from fesolve.cli import main

BAR = """
dimensions = {length = "200 mm", lug = "20 mm"}
outline.corners = [
  {at = ["0 mm", "0 mm"]}, {at = ["length", "0 mm"]}, {at = ["length", "40 mm"]}, {at = ["0 mm", "40 mm"]},
]
support = [{name = "wall", kind = "fixed", on = "edge D-A"}]
load = [{name = "push", on = "edge B-C", force = ["0 N", "-100 N"]}]
[wood]
species = "Ash, white"
board = "flat-sawn"
thickness = "20 mm"
grain = "0 deg"
basis = "mean"
"""
DRAWBAR = str(ROOT / "meshes" / "drawbar.toml")


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    (tmp_path / "bar.toml").write_text(BAR)
    return tmp_path


def test_the_depth_at_which_the_drawbar_stops_holding(folder, capsys):
    """Deeper notches split it: between two of the depths, and the same command again takes all from the file."""
    command = ["sweep", DRAWBAR, "--vary", "notch_depth=5 mm; 30 mm; 45 mm", "--csv", "table.csv", "--workers", "2"]
    assert main(command) == 0
    first = capsys.readouterr().out
    assert "1 could not be drawn or solved" in first and "round = 6 mm is more than its depth" in first
    assert "Up to notch_depth 30 mm it stays below its mean strength, from 45 mm on it does not" in " ".join(
        first.split()
    )
    assert (folder / "drawbar.sweep.png").read_bytes().startswith(b"\x89PNG")
    assert (folder / "drawbar.sweep.sqlite").exists() and (folder / "table.csv").read_text().count("\n") == 4
    start = time.perf_counter()
    assert main([*command, "--quiet", "--no-pictures"]) == 0
    assert time.perf_counter() - start < 2.0  # nothing was checked
    again = capsys.readouterr().out
    assert again.splitlines()[0] == first.splitlines()[0] and "used  enough" not in again


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--vary", "noch_depth=5 mm; 6 mm"], 'drawbar.toml: Cannot set "noch_depth": it is not a dimension'),
        (["--vary", "notch_depth"], '"notch_depth" is not name="value", as in --vary depth="130 mm to 150 mm in 3"'),
        (["--vary", "notch_depth=5 mm", "--vary", "notch_depth=6 mm"], '"notch_depth" is varied twice'),
        ([], "Nothing is varied: give --vary NAME="),
        (["--vary", "notch_depth=5 mm to 9 mm"], 'write "5 mm to 9 mm in 6"'),
        (["--vary", "notch_depth=5 mm", "--workers", "0"], "0 workers are not possible; give 1 to 256"),
        (["--vary", "notch_depth=5 mm", "--csv", "nowhere/a.csv"], "There is no folder"),
        (["--vary", "notch_depth=5 mm", "--out", "letter"], "is there already and is no results file"),
        (["--vary", "notch_depth=5 mm", "--set", "depht=90 mm"], 'Cannot set "depht"'),
    ],
)
def test_bad_input(folder, capsys, words, said):
    (folder / "letter").write_text("Dear reader, this was a letter once.\n" * 50)
    assert main(["sweep", DRAWBAR, *words]) == 2
    assert said in capsys.readouterr().err
    assert not (folder / "drawbar.sweep.sqlite").exists()


def test_where_no_variant_can_be_drawn(capsys):
    assert main(["sweep", "bar.toml", "--vary", "length=0 mm; 0 in", "--workers", "1"]) == 3
    assert "2 could not be drawn or solved" in capsys.readouterr().out


COMMAND = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # it is ignored where tests run in the background
from fesolve.cli import main
sys.exit(main())
"""


@pytest.mark.skipif(sys.platform == "win32", reason="signals of Unix")
def test_interrupted_it_says_how_to_go_on(folder):
    command = [sys.executable, "-c", COMMAND, "sweep", "bar.toml", "--vary", "length=100 mm to 300 mm in 60"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=folder,
                          env=environment()) as process:  # fmt: skip
        deadline = time.monotonic() + 60
        while not begun(folder) and time.monotonic() < deadline:
            time.sleep(0.02)
        process.send_signal(signal.SIGINT)
        said = process.communicate(timeout=60)[1]
    assert process.returncode == 130
    assert "of 60 variants. They are kept in bar.sweep.sqlite; the same command goes on." in said
    assert "Traceback" not in said


def environment():
    import os

    return {**os.environ, "PYTHONPATH": str(ROOT)}


def begun(folder):
    """Whether one variant is in the file."""
    import sqlite3

    if not (folder / "bar.sweep.sqlite").exists():
        return False
    base = sqlite3.connect(folder / "bar.sweep.sqlite")
    try:
        return base.execute("SELECT count(*) FROM variant").fetchone()[0] > 0
    except sqlite3.OperationalError:
        return False
    finally:
        base.close()
