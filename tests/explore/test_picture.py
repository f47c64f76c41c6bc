"""The picture of a sweep stands beside its results, and never in the place of something else."""

import pytest
from small import cantilever

import fesolve
from fesolve.explore.sweep import Sweep
from fesolve.explore.vary import read_axes
from fesolve.judge.outcome import Outcome, Row
from fesolve.part.axes import grid


def made(vary):
    """A sweep whose utilisation goes with the number of the variant."""
    part = cantilever()
    axes = read_axes(part, vary)
    rows = []
    for number, one in enumerate(grid(axes)):
        figures = {"x": 0.0, "y": 0.0, "low": 2e3, "best": 3e3, "high": 4e3, "of": "push", "mass": 0.1, "error": 0.01}
        use = 0.5 + 0.1 * number
        rows.append(Row(one, Outcome(use, use <= 1, "splitting", "", "", deflection=0.3, **figures), "", 0.5))
    return Sweep(part, tuple(axes), tuple(rows))


@pytest.mark.parametrize(
    "vary",
    [
        {"length": "150 mm to 200 mm in 6"},
        {"length": "150 mm to 200 mm in 3", "depth": "30 mm to 40 mm in 3"},
        {"length": "150 mm to 200 mm in 3", "depth": "30 mm to 40 mm in 3", "push": "80 N; 100 N"},
    ],
)
def test_one_two_and_more_dimensions(vary, tmp_path):
    path = tmp_path / "sweep.png"
    assert made(vary).draw(path) and path.read_bytes().startswith(b"\x89PNG")
    assert made(vary).draw(path, units="us")  # an earlier picture is replaced


def test_nothing_to_draw(tmp_path):
    sweep = made({"length": "150 mm to 200 mm in 2"})
    empty = Sweep(sweep.part, sweep.axes, tuple(Row(row.changes, None, "No room.") for row in sweep.rows))
    assert not empty.draw(tmp_path / "sweep.png") and not (tmp_path / "sweep.png").exists()


def test_what_is_no_picture_stays(tmp_path):
    letter = tmp_path / "sweep.png"
    letter.write_text("Dear reader,")
    with pytest.raises(fesolve.InputError, match=r"is there already and is no picture.*Choose another --out"):
        made({"length": "150 mm to 200 mm in 2"}).draw(letter)
    with pytest.raises(fesolve.InputError, match=r"is a folder, but the picture would go there"):
        made({"length": "150 mm to 200 mm in 2"}).draw(tmp_path)
    with pytest.raises(fesolve.InputError, match=r"cannot be written"):
        made({"length": "150 mm to 200 mm in 2"}).draw(tmp_path / "nowhere" / "sweep.png")
    assert letter.read_text() == "Dear reader,"
