"""sweep.png: where its lines lie, what it names, and when there is none."""

import numpy as np
import pytest

from fesolve.explore.ranking import Influence
from fesolve.judge.outcome import Outcome, Row
from fesolve.part.axes import Axis, grid
from fesolve.units import Formatter
from fesolve.view import sweep_charts
from fesolve.view.sweep_charts import draw_sweep

DEPTHS = [10.0, 20.0, 30.0, 40.0]


def axis(name, numbers, unit="mm", size=1.0):
    texts = tuple(f"{one:g} {unit}" for one in numbers)
    return Axis(name, texts, tuple(one * size for one in numbers), unit, size)


def outcome(use, mode="splitting", of="gate leaf"):
    return Outcome(use, use <= 1, mode, "all", "there", 0.0, 0.0, 900 / use, 1000 / use, 1400 / use, of, 1.0, 1.0, 0.01)


@pytest.fixture
def drawn(monkeypatch, tmp_path):
    """Draws, and gives the figure itself."""
    figures = []
    make = sweep_charts._figure
    monkeypatch.setattr(sweep_charts, "_figure", lambda height: figures.append(make(height)) or figures[-1])

    def draw(axes, rows, **more):
        path = tmp_path / "sweep.png"
        assert draw_sweep(axes, rows, Formatter(more.pop("units", "si")), path, **more)
        assert path.read_bytes().startswith(b"\x89PNG") and path.stat().st_size > 10_000
        return figures[-1]

    return draw


def texts(figure):
    return [text.get_text() for panel in figure.axes for text in panel.texts] + [t.get_text() for t in figure.texts]


def numbers(text):
    return float(text.changes["depth"].split()[0])


def test_a_curve_with_the_line_where_it_is_used_up(drawn):
    """Utilisation 0.4, 0.8, 1.6 at 10, 20, 40 mm: a straight line from 20 to 40 passes 1 at 25 mm. 30 mm fails."""
    uses = {10.0: 0.4, 20.0: 0.8, 30.0: None, 40.0: 1.6}
    modes = {10.0: "combined", 20.0: "splitting", 40.0: "splitting"}
    rows = [
        Row({"depth": f"{x:g} mm"}, None if use is None else outcome(use, modes[x]), "" if use else "no room")
        for x, use in uses.items()
    ]
    figure = drawn([axis("depth", DEPTHS)], rows, title="Bar")
    upper, lower = figure.axes
    assert "25 mm" in texts(figure) and {"combined", "splitting", "1: used up", "Bar"} <= set(texts(figure))
    assert "4 variants, 1 of them could not be drawn or solved." in texts(figure)
    crosses = next(line for line in upper.lines if line.get_marker() == "x")
    assert crosses.get_xdata().tolist() == [30.0]
    best = next(line for line in lower.lines if line.get_label() == "best")
    assert best.get_ydata()[[0, 1, 3]].tolist() == [2.5, 1.25, 0.625]  # 1000 N over utilisation, kN
    assert lower.get_xlabel() == "depth, mm" and lower.get_ylabel() == '"gate leaf" that it takes, kN'


def test_the_margin_has_a_line_of_its_own(drawn):
    rows = [Row({"depth": f"{x:g} mm"}, outcome(x / 40)) for x in DEPTHS]
    figure = drawn([axis("depth", DEPTHS)], rows, use=0.625, units="us")
    assert "25 mm" in texts(figure) and "0.62: margin used up" in texts(figure)
    assert figure.axes[1].get_ylabel().endswith("lbf")


def test_choices_stand_side_by_side(drawn):
    woods = ("Ash, white", "Oak, northern red")
    rows = [Row({"species": wood}, outcome(use)) for wood, use in zip(woods, (0.5, 1.2), strict=True)]
    figure = drawn([Axis("species", woods)], rows)
    assert "1.20\nsplitting" in texts(figure)
    assert [tick.get_text() for tick in figure.axes[1].get_xticklabels()] == ["Ash, white", "Oak, northern\nred"]


def test_a_map_with_the_line_where_it_is_one(drawn):
    """u = x y/600 is 1 on x y = 600; a contour is straight between values of the grid."""
    x, y = axis("depth", np.linspace(10, 40, 31).tolist()), axis("thickness", np.linspace(15, 60, 31).tolist())

    def use(changes):
        return float(changes["depth"].split()[0]) * float(changes["thickness"].split()[0]) / 600

    rows = [Row(changes, outcome(use(changes))) for changes in grid([x, y])]
    figure = drawn([x, y], rows)
    (thick,) = [one for one in figure.axes[0].collections if np.ravel(one.get_linewidths()).tolist() == [2.4]]
    points = np.concatenate([path.vertices for path in thick.get_paths()])
    assert len(points) > 20 and np.prod(points, axis=1) == pytest.approx(600.0, rel=2e-3)
    assert figure.axes[0].get_xlabel() == "depth, mm" and figure.axes[0].get_ylabel() == "thickness, mm"


def test_curves_for_a_few_choices(drawn):
    x, woods = axis("depth", DEPTHS), Axis("species", ("ash", "oak"))
    rows = [Row(c, outcome(numbers(Row(c, None)) / (30 if c["species"] == "ash" else 50))) for c in grid([x, woods])]
    figure = drawn([x, woods], rows)
    by_name = {line.get_label(): line for line in figure.axes[0].lines}
    assert by_name["oak"].get_ydata() == pytest.approx([0.2, 0.4, 0.6, 0.8])


def test_a_ranking_says_what_is_not_told_from_noise(drawn):
    ranking = (
        Influence("depth", 0.7, (0.6, 0.8), -0.9, (-0.95, -0.8), True),
        Influence("push", 0.15, (0.1, 0.2), 0.0, (-0.1, 0.1), True),
        Influence("length", 0.01, (-0.05, 0.06), 0.1, (-0.1, 0.2), False),
    )
    axes = [axis(name, DEPTHS) for name in ("depth", "push", "length")]
    rows = [Row(dict.fromkeys(("depth", "push", "length"), f"{x:g} mm"), outcome(x / 40)) for x in DEPTHS]
    figure = drawn(axes, rows, ranking=ranking)
    assert {"70 %, less with more of it", "15 %, up and down", "not told from noise"} <= set(texts(figure))


def test_nothing_to_draw(tmp_path):
    axes = [axis(name, DEPTHS) for name in ("depth", "push", "length")]
    row = Row(dict.fromkeys(("depth", "push", "length"), "10 mm"), outcome(0.5))
    path = tmp_path / "none.png"
    assert not draw_sweep(axes, [row], Formatter("si"), path)
    assert not draw_sweep(axes[:1], [Row({"depth": "10 mm"}, None, "no room")], Formatter("si"), path)
    assert not path.exists()
