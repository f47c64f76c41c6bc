"""Tables in a window of 80 columns: no column vanishes, no head is broken within a word, numbers stay whole."""

import io
from dataclasses import replace

import pytest

from fesolve.judge.comparison import Compared, Comparison, Dent
from fesolve.judge.outcome import Outcome, Row
from fesolve.judge.rows_split import SplitRow, SplitStart
from fesolve.part.axes import Axis
from fesolve.units import Formatter
from fesolve.view import comparison, splits, sweeps
from fesolve.view.amounts import ALL_LOADS
from fesolve.view.tables import fit, plain_table
from fesolve.view.terminal import make_console

SI = Formatter("si")
AS_LOADED = Outcome(
    utilisation=0.65, enough=True, mode="tension along grain", case="wind", where="notch hook",
    x=1.0, y=2.0, low=1.53, best=2.44, high=12.3, of=ALL_LOADS, mass=97.0, deflection=0.28, error=None,
)  # fmt: skip


def printed(table, width=80):
    stream = io.StringIO()
    make_console(stream, width=width).print(table)
    return stream.getvalue()


def heads_in(text, head):
    """Whether every word of every head stands whole in the text."""
    words = text.split()
    return all(word in words for name in head for word in name.split())


def split_rows(verdict):
    low = SplitStart(0.092, 0.552, 0.66, 3.3, 1.0, None, 0.67)
    high = replace(low, load=1.25)
    row = SplitRow("hot spot 1", "wind", (0.0, 0.0), "notch hook", (1.0, 0.0), 60.0, 0.0, (1.0,), (0.1,), (0.1,),
                   (0.1,), (0.1,), low, high, 1.0, "energy", "short")  # fmt: skip
    waits = replace(row, of="crack from the seasoned end", low=replace(low, stops_at=12.7), trusted="mean stress")
    never = replace(row, of="hot spot 2", low=replace(low, load=None), whole=False)
    takes = replace(verdict.takes, of=ALL_LOADS)
    return splits.split_cells(replace(verdict, takes=takes, splits=(row, waits, never)), SI)


def test_splitting_by_energy(verdict):
    text = printed(plain_table(splits.TITLE, splits.HEAD, split_rows(verdict), right=(1, 2, 3, 5, 6)))
    assert heads_in(text, splits.HEAD)
    assert "times the loads" not in text
    assert text.count("x loads") == 4
    for word in ("hot", "seasoned", "runs", "waits", "drives", "energy", "mean", "0.66", "1.25", "0.67", "1.00"):
        assert word in text.split()


def test_a_comparison():
    one = Compared("notch_depth 12 mm, wood.species Birch, yellow", None, {}, (), AS_LOADED, rank=1, moved=83.0,
                   dents=(Dent("keeper plate", 1.24, 0.5), Dent("strike bar", 1.05, None)))  # fmt: skip
    told = Comparison("Latch", one.name, "0", (one,), {})
    stream = io.StringIO()
    comparison.print_comparison(told, SI, make_console(stream, width=80))
    text = stream.getvalue()
    assert heads_in(text, comparison.HEAD)
    assert heads_in(text, comparison.BESIDE)
    assert text.count("x loads") == 2
    for word in ("1.53", "12", "0.65", "Birch,", "yellow", "keeper", "along"):
        assert word in text.split()


@pytest.mark.parametrize("width", [72, 80, 100])
def test_a_sweep(width):
    axis = Axis("notch.hook.notch_depth", ("6 mm", "12 mm"), (6.0, 12.0), "mm", 1.0)
    other = Axis("wood.species", ("Birch, yellow", "Oak, northern red"))
    rows = [
        Row({axis.name: "6 mm", other.name: "Birch, yellow"}, AS_LOADED),
        Row({axis.name: "12 mm", other.name: "Oak, northern red"}, None, "No room."),
    ]
    text = printed(sweeps.variants_table([axis, other], rows, SI), width)
    assert heads_in(
        text, ("notch_depth", "species", "used", "enough", "takes low", "best", "moves", "mass", "decided by")
    )
    for word in ("drawn", "solved", "tension", "grain", "1.53", "2.4", "yes"):
        assert word in text.split()
    assert max(map(len, text.splitlines())) <= width


def test_a_wide_window_folds_nothing():
    lines = printed(
        plain_table("", ("", "takes, low", "fails by"), [("a b c", "2.5 times the loads", "splitting")], (1,))
    )
    assert [line.split() for line in lines.splitlines()] == [
        ["takes,", "low"], ["x", "loads", "fails", "by"], ["a", "b", "c", "2.5", "splitting"]]  # fmt: skip


def test_what_gives_first():
    """Words down to 16 columns, heads over numbers, blanks between, then words on; numbers never."""
    cells = [("splits at", "1.25"), ("where", "at the floor of notch hook"), ("name", "a long name of a thing")]
    heads = [("splits at",), ("where",), ("name",)]
    assert fit(cells, heads, {0}, 100) == (2, [9, 26, 22])
    assert fit(cells, heads, {0}, 47) == (2, [9, 16, 16])
    assert fit(cells, heads, {0}, 45) == (2, [7, 16, 16])
    assert fit(cells, heads, {0}, 41) == (1, [6, 16, 16])
    assert fit(cells, heads, {0}, 30) == (1, [6, 10, 11])
