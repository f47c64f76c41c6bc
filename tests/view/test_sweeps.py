"""What is said of many variants: counts in the words of the basis, where it ends, and a table that stays short."""

import io

import pytest

from fesolve.judge.outcome import Outcome, Row
from fesolve.part.axes import Axis, grid
from fesolve.units import Formatter
from fesolve.view.sweeps import changes_text, crossings, limit_of, print_sweep, sweep_words
from fesolve.view.terminal import make_console

MEAN = limit_of("mean", 1.5)


def outcome(use, *, enough=None, case=""):
    return Outcome(
        utilisation=use, enough=use <= 1 if enough is None else enough, mode="splitting", case=case, where="", x=0.0,
        y=0.0, low=1e4 / use, best=2e4 / use, high=None, of="push", mass=1.5, deflection=0.3, error=0.01,
    )  # fmt: skip


def rows(axis, uses, **more):
    return [
        Row({axis.name: text}, None if use is None else outcome(use, **more), "" if use else "No room.")
        for text, use in zip(axis.values, uses, strict=True)
    ]


DEPTH = Axis("depth", ("10 mm", "20 mm", "30 mm", "40 mm"), (10.0, 20.0, 30.0, 40.0), "mm", 1.0)
INCH = Axis("depth", ("1 in", "2 in"), (25.4, 50.8), "in", 25.4)


def test_counts_and_ends():
    words = sweep_words([DEPTH], rows(DEPTH, [0.5, 0.8, 1.2, None]), MEAN)
    assert words == [
        "4 variants: 2 stay below their mean strength, 1 not, 1 could not be drawn or solved.",
        "Least used: 0.50 with depth 10 mm; most: 1.20 with depth 30 mm.",
        "Up to depth 20 mm it stays below its mean strength, from 30 mm on it does not; on a straight line between "
        "them that changes at 25 mm.",
    ]


def test_the_other_way_round_and_in_inches():
    (line,) = crossings(INCH, rows(INCH, [1.25, 0.75]), MEAN)
    assert line == (
        "From depth 2 in on it stays below its mean strength, up to 1 in it does not; on a straight line between them "
        "that changes at 1.5 in."
    )


def test_order_does_not_matter_and_gaps_are_bridged():
    back = Axis("depth", DEPTH.values[::-1], DEPTH.numbers[::-1], "mm", 1.0)
    (line,) = crossings(back, rows(back, [1.2, None, 0.8, 0.5]), MEAN)
    assert line.startswith("Up to depth 20 mm it stays") and line.endswith("changes at 30 mm.")


def test_several_ends_are_told():
    assert len(crossings(DEPTH, rows(DEPTH, [0.5, 1.5, 0.5, 1.5]), MEAN)) == 3
    assert crossings(DEPTH, rows(DEPTH, [0.5, 0.6, 0.7, 0.8]), MEAN) == []


def test_the_margin_counts_on_a_lower_basis():
    limit = limit_of("lower 5%", 2.0)
    uses = [(0.4, True), (0.6, False)]
    two = [Row({"depth": text}, outcome(use, enough=ok)) for text, (use, ok) in zip(INCH.values, uses, strict=True)]
    (line,) = crossings(INCH, two, limit)
    assert line.startswith("Up to depth 1 in it holds with 2 in hand") and line.endswith("changes at 1.5 in.")
    assert sweep_words([INCH], two, limit)[0] == "2 variants: 1 holds with 2 in hand, 1 not."


def test_where_something_else_decides_no_place_is_made_up():
    two = [Row({"depth": text}, outcome(0.5, enough=ok)) for text, ok in zip(INCH.values, (True, False), strict=True)]
    (line,) = crossings(INCH, two, MEAN)
    assert line == "Up to depth 1 in it stays below its mean strength, from 2 in on it does not."


@pytest.mark.parametrize(("basis", "words"), [("design", "is within the design value"), (None, "is enough")])
def test_words_follow_the_basis(basis, words):
    assert limit_of(basis, 1.5).one == words


def printed(axes, made, formatter=None, *, table=True):
    stream = io.StringIO()
    console = make_console(stream, width=100)
    print_sweep(axes, made, MEAN, formatter or Formatter(), console, table=table)
    return stream.getvalue()


def test_the_table():
    text = printed([DEPTH], rows(DEPTH, [0.5, 0.8, 1.2, None]))
    lines = [" ".join(line.split()) for line in text.splitlines()]
    assert "10 0.50 yes 20 40 0.3 1.5 splitting" in lines
    assert "40 - - - - - - not drawn or solved" in lines
    assert "depth 40 mm: No room." in lines
    assert "fesolve check" in text
    assert "lbf" in printed([DEPTH], rows(DEPTH, [0.5, 0.8, 1.2, 1.3]), Formatter("us"))
    assert len(printed([DEPTH], rows(DEPTH, [0.5, 0.8, 1.2, None]), table=False).splitlines()) == 4


def test_many_rows_are_cut_to_both_ends():
    one = Axis("depth", tuple(f"{number} mm" for number in range(1, 11)), tuple(range(1, 11)), "mm", 1.0)
    two = Axis("wood", ("a", "b", "c", "d"))
    made = [Row(changes, outcome(0.1 + 0.01 * number)) for number, changes in enumerate(grid([one, two]))]
    text = printed([one, two], made)
    assert "The 8 that are used least, and the 8 that are used most, of 40" in text
    assert len([line for line in text.splitlines() if " yes " in line]) == 16


def test_cases_are_named_where_they_differ():
    made = rows(INCH, [0.5, 0.8])
    assert "[" not in printed([INCH], made)
    made[1] = Row(made[1].changes, outcome(0.8, case="wind"))
    assert "splitting [wind]" in printed([INCH], made)


def test_the_part_as_it_stands():
    assert changes_text(Row({}, None, "")) == "the part as it stands"
