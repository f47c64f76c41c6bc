"""sweep.png: what variants of a part do, as a curve, a map, or a ranking of what matters."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby, pairwise
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from ..judge.outcome import Row
from ..part.axes import Axis
from ..units import Formatter
from .amounts import ALL_LOADS, ratio_text
from .charts import HAND, MESH, units_of
from .ramp import FAINT, INK, PAPER, colours
from .sheet import DPI

Array = NDArray[np.float64]
Limit = tuple[float, str]  # a utilisation and what to call it

LINES = ("#5a4fb0", "#a4662c", "#1b8a7a", "#26241f", "#c0588f", "#7d8f2f")  # told apart with any colour blindness
MARKS = ("o", "s", "^", "D", "v", "P")
MOST_LINES = len(LINES)
MOST_BARS = 14
FIGURES = 80  # cells of a map that are written in
LEFT, WIDE = 0.1, 0.86


class Ranked(Protocol):
    """What `fesolve.explore.ranking.Influence` tells of one varied name."""

    @property
    def name(self) -> str:
        """As ``--set`` takes it."""

    @property
    def share(self) -> float:
        """Of the variance that it explains by itself."""

    @property
    def share_range(self) -> tuple[float, float]:
        """95 % of bootstrap samples."""

    @property
    def correlation(self) -> float | None:
        """Rank correlation; None for choices."""

    @property
    def correlation_range(self) -> tuple[float, float] | None:
        """95 % of bootstrap samples."""

    @property
    def stands_out(self) -> bool:
        """Whether it can be told from noise."""


def draw_sweep(
    axes: Sequence[Axis],
    rows: Sequence[Row],
    formatter: Formatter,
    path: Path,
    *,
    title: str = "",
    use: float = 1.0,
    use_words: str = "margin used up",
    ranking: Sequence[Ranked] = (),
) -> bool:
    """Draw what variants do to utilisation, and to what the part takes.

    Parameters
    ----------
    axes : sequence of Axis
        What was varied. One: a curve, or bars for choices; two: a map, or curves where one of them is a choice of up to
        six; more: bars of `ranking`.
    rows : sequence of Row
        Variants without figures are marked where they lie.
    formatter : Formatter
        Sets the unit of loads; what was varied stays in the unit that it was written in.
    path : Path
        Where the PNG is written.
    title : str
        Of the part, for the foot.
    use : float
        Utilisation from which a variant is no longer enough: 1, or less where a margin is wanted; nan where that
        differs.
    use_words : str
        What to call that, where it is not 1.
    ranking : sequence of Ranked
        From `fesolve.explore.ranking.influences`, of utilisation.

    Returns
    -------
    bool
        False, and nothing written, where there is nothing to draw: no figures, or several dimensions and no ranking.
    """
    known = [row for row in rows if row.outcome is not None]
    if not known or not axes or (len(axes) > 2 and not ranking):
        return False
    figure = _figure(7.2 if len(axes) == 1 else 6.2)
    if len(axes) > 2 or (ranking and _scattered(axes, rows) and len(axes) > 1):
        _draw_ranking(figure, ranking)
        _head(
            figure, "What matters", f"{_counted(rows)}. Bars: share of the scatter of utilisation that each explains."
        )
    elif len(axes) == 1:
        _draw_one(figure, axes[0], rows, formatter, (use, use_words))
        _head(figure, f"What {axes[0].name} does", _counted(rows) + ".")
    else:
        _draw_two(figure, axes, rows, (use, use_words))
        _head(figure, f"What {axes[0].name} and {axes[1].name} do", _counted(rows) + ".")
    figure.text(0.03, 0.015, title, fontsize=7.5, color=FAINT)
    figure.savefig(path, format="png", dpi=DPI, facecolor=PAPER, pil_kwargs={"compress_level": 1})
    return True


def _figure(height: float) -> Any:
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure: Any = Figure(figsize=(9.0, height), dpi=DPI, facecolor=PAPER)
    FigureCanvasAgg(figure)
    return figure


def _counted(rows: Sequence[Row]) -> str:
    failed = sum(row.outcome is None for row in rows)
    text = f"{len(rows)} variants"
    return f"{text}, {failed} of them could not be drawn or solved" if failed else text


def _head(figure: Any, title: str, text: str) -> None:
    figure.text(0.03, 0.97, title, fontsize=13, weight="bold", color=INK, va="top")
    figure.text(0.03, 0.97 - 0.3 / figure.get_figheight(), text, fontsize=9.5, color=INK, va="top")


def _panel(figure: Any, bottom: float, height: float) -> Any:
    axes = figure.add_axes((LEFT, bottom, WIDE, height))
    axes.set_facecolor("white")
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.tick_params(labelsize=8, colors=INK)
    return axes


def _scattered(axes: Sequence[Axis], rows: Sequence[Row]) -> bool:
    """Whether the variants are a sample: far fewer than every value with every other."""
    return len(rows) < 0.5 * math.prod(len(axis.values) for axis in axes)


def _places(axis: Axis, rows: Sequence[Row]) -> Array:
    """Where each row lies along an axis: in its unit, choices counted from 0."""
    if axis.numbers is None:
        return np.array([float(axis.values.index(row.changes[axis.name])) for row in rows])
    number = dict(zip(axis.values, axis.numbers, strict=True))
    return np.array([number[row.changes[axis.name]] for row in rows]) / axis.size


def _name(axis: Axis) -> str:
    return f"{axis.name}, {axis.unit}" if axis.unit else axis.name


def _uses(rows: Sequence[Row]) -> Array:
    """Utilisation of each row, nan where there is none."""
    return np.array([math.nan if row.outcome is None else row.outcome.utilisation for row in rows])


# ---- one dimension


def _draw_one(figure: Any, axis: Axis, rows: Sequence[Row], formatter: Formatter, limit: Limit) -> None:
    """Utilisation above, what it takes below."""
    upper, lower = _panel(figure, 0.47, 0.38), _panel(figure, 0.1, 0.3)
    x = _places(axis, rows)
    order = np.argsort(x, kind="stable")
    rows, x = [rows[number] for number in order], x[order]
    line = "-" if axis.numbers is not None else "none"
    uses = _uses(rows)
    upper.plot(x, uses, color=MESH, linewidth=1.8, linestyle=line, zorder=2)
    upper.scatter(x, uses, c=colours(np.nan_to_num(uses)), edgecolors=INK, linewidths=0.7, s=34, zorder=3)
    _limits(upper, uses, limit)
    if axis.numbers is not None:
        _crossing(upper, x, uses, limit[0], axis)
        _modes(upper, x, rows)
    else:
        _named(upper, x, rows)
    _failed(upper, x, uses)
    upper.set_ylabel("utilisation", fontsize=9, color=INK)
    _takes(lower, x, rows, formatter, line)
    for panel in (upper, lower):
        _along(panel, axis, x)
    upper.tick_params(labelbottom=False)
    lower.set_xlabel(_name(axis), fontsize=9, color=INK)


def _along(panel: Any, axis: Axis, x: Array) -> None:
    """The scale of what is varied."""
    margin = 0.04 * float(np.ptp(x)) or 0.5
    if axis.numbers is None:
        panel.set_xticks(range(len(axis.values)), [_wrapped(one) for one in axis.values])
        margin = 0.5
    panel.set_xlim(float(x.min()) - margin, float(x.max()) + margin)


def _wrapped(text: str) -> str:
    import textwrap

    return "\n".join(textwrap.wrap(text, 16))


def _limits(panel: Any, uses: Array, limit: Limit) -> None:
    """Lines at 1 and at what is wanted."""
    top = 1.15 * max(float(np.nanmax(uses)), 1.0, limit[0] if math.isfinite(limit[0]) else 0.0)
    panel.set_ylim(0.0, top)
    panel.axhspan(1.0, top, color=MESH, alpha=0.06, linewidth=0.0)
    style = {"fontsize": 8, "color": INK, "ha": "right", "va": "bottom", "transform": panel.get_yaxis_transform()}
    panel.axhline(1.0, color=INK, linewidth=1.2)
    panel.text(0.998, 1.0, "1: used up", **style)
    use, words = limit
    if math.isfinite(use) and use != 1.0:
        panel.axhline(use, color=HAND, linewidth=1.2, linestyle=(0, (4, 2.5)))
        panel.text(0.998, use, f"{ratio_text(use)}: {words}", **style)


def _crossing(panel: Any, x: Array, uses: Array, use: float, axis: Axis) -> None:
    """Where it passes what is wanted, on a straight line between neighbours."""
    if not math.isfinite(use):
        return
    known = np.flatnonzero(np.isfinite(uses))
    for one, two in pairwise(known):
        low, high = uses[one] - use, uses[two] - use
        if low * high < 0.0:
            at = x[one] + (x[two] - x[one]) * low / (low - high)
            panel.plot([at, at], [0.0, use], color=HAND, linewidth=1.2)
            panel.plot([at], [use], "D", color="white", markeredgecolor=HAND, markersize=6, zorder=4)
            text = f"{float(f'{at:.3g}'):g} {axis.unit}".strip()
            panel.annotate(
                text, (at, 0.0), xytext=(4, 4), textcoords="offset points", fontsize=8.5, color=INK, weight="bold"
            )


def _modes(panel: Any, x: Array, rows: Sequence[Row]) -> None:
    """Names of the governing modes along the top, with a line where another takes over."""
    told = [(place, row.outcome) for place, row in zip(x.tolist(), rows, strict=True) if row.outcome is not None]
    stretches = [list(group) for _, group in groupby(told, key=lambda one: one[1].mode)]
    last, level = -math.inf, 0
    for number, stretch in enumerate(stretches):
        start, stop = stretch[0][0], stretch[-1][0]
        close = (start + stop) / 2 - last < 0.2 * float(np.ptp(x))
        last, level = (start + stop) / 2, (level + 1) % 3 if close else 0
        if number:
            border = (stretches[number - 1][-1][0] + start) / 2
            panel.axvline(border, color=FAINT, linewidth=0.9, linestyle=(0, (1, 2)))
        style = {"fontsize": 8, "color": INK, "ha": "center", "va": "bottom", "transform": panel.get_xaxis_transform()}
        panel.text((start + stop) / 2, 1.02 + 0.05 * level, stretch[0][1].mode, **style)


def _named(panel: Any, x: Array, rows: Sequence[Row]) -> None:
    """Mode and figure beside the mark of each choice."""
    for place, row in zip(x, rows, strict=True):
        if row.outcome is not None:
            text = f"{ratio_text(row.outcome.utilisation)}\n{_wrapped(row.outcome.mode)}"
            panel.annotate(
                text, (place, row.outcome.utilisation), xytext=(8, 0), textcoords="offset points", fontsize=8,
                color=INK, va="center",
            )  # fmt: skip


def _failed(panel: Any, x: Array, uses: Array) -> None:
    """Crosses on the axis where a variant could not be drawn or solved."""
    bad = x[np.isnan(uses)]
    if len(bad):
        style = {"color": INK, "markersize": 7, "markeredgewidth": 1.6, "linestyle": "none", "clip_on": False}
        panel.plot(bad, np.zeros(len(bad)), marker="x", label="could not be drawn or solved", **style)
        panel.legend(fontsize=8, frameon=False, loc="upper left", labelcolor=INK)


def _takes(panel: Any, x: Array, rows: Sequence[Row], formatter: Formatter, line: str) -> None:
    """What it takes, low to high as a band."""
    loads = {row.outcome.of for row in rows if row.outcome is not None and row.outcome.best is not None}
    if len(loads) != 1:
        panel.text(0.5, 0.5, "what it takes is told in different loads", transform=panel.transAxes, ha="center")
        return
    (of,) = loads
    unit, size = ("times the loads", 1.0) if of == ALL_LOADS else units_of(formatter)["force"]
    low, best, high = (_figures(rows, name) / size for name in ("low", "best", "high"))
    if line == "none":
        panel.vlines(x, low, high, color=HAND, linewidth=6, alpha=0.35)
    else:
        panel.fill_between(x, low, high, color=HAND, alpha=0.18, linewidth=0.0, label="low to high")
    panel.plot(x, best, color=HAND, linewidth=1.6, linestyle=line, marker="o", markersize=3.5, label="best")
    panel.set_ylim(0.0, 1.08 * float(np.nanmax(high)))
    name = "takes" if of == ALL_LOADS else f'"{of}" that it takes'
    panel.set_ylabel(f"{name}, {unit}", fontsize=9, color=INK)
    if line != "none":
        panel.legend(fontsize=8, frameon=False, loc="best", ncols=2, labelcolor=INK)


def _figures(rows: Sequence[Row], name: str) -> Array:
    found = [None if row.outcome is None else getattr(row.outcome, name) for row in rows]
    return np.array([math.nan if one is None else one for one in found])


# ---- two dimensions


def _draw_two(figure: Any, axes: Sequence[Axis], rows: Sequence[Row], limit: Limit) -> None:
    """A map; curves where one of both is a choice of few."""
    choices = [axis for axis in axes if axis.numbers is None]
    if not choices and _scattered(axes, rows):
        _draw_sample(figure, axes, rows, limit)
    elif len(choices) == 1 and len(choices[0].values) <= MOST_LINES:
        other = next(axis for axis in axes if axis is not choices[0])
        _draw_curves(figure, other, choices[0], rows, limit)
    else:
        _draw_map(figure, axes, rows, limit)


def _draw_curves(figure: Any, along: Axis, choice: Axis, rows: Sequence[Row], limit: Limit) -> None:
    panel = _panel(figure, 0.12, 0.68)
    for number, value in enumerate(choice.values):
        mine = sorted(
            (row for row in rows if row.changes[choice.name] == value), key=lambda row: _places(along, [row])[0]
        )
        style = {"color": LINES[number], "marker": MARKS[number], "markersize": 5, "linewidth": 1.6}
        panel.plot(_places(along, mine), _uses(mine), label=value, **style)
    x, uses = _places(along, rows), _uses(rows)
    _limits(panel, uses, limit)
    bad = np.unique(x[np.isnan(uses)])
    panel.plot(bad, np.zeros(len(bad)), "x", color=INK, markersize=7, markeredgewidth=1.6, clip_on=False)
    _along(panel, along, x)
    panel.set_ylabel("utilisation", fontsize=9, color=INK)
    panel.set_xlabel(_name(along), fontsize=9, color=INK)
    panel.legend(
        fontsize=8, frameon=False, loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=3, labelcolor=INK,
        borderaxespad=0.0,
    )  # fmt: skip


def _draw_map(figure: Any, axes: Sequence[Axis], rows: Sequence[Row], limit: Limit) -> None:
    """Cells coloured by utilisation, lines through equal ones."""
    panel = _panel(figure, 0.12, 0.72)
    x, y = axes
    values = np.full((len(y.values), len(x.values)), math.nan)
    columns = {text: number for number, text in enumerate(x.values)}
    lines = {text: number for number, text in enumerate(y.values)}
    for row, value in zip(rows, _uses(rows), strict=True):
        values[lines[row.changes[y.name]], columns[row.changes[x.name]]] = value
    (at_x, by_x), (at_y, by_y) = (_ordered(axis) for axis in axes)
    values = values[np.ix_(by_y, by_x)]
    paint = colours(np.nan_to_num(values))
    paint[np.isnan(values)] = (1.0, 1.0, 1.0, 1.0)
    panel.pcolormesh(_borders(at_x), _borders(at_y), paint)
    _contours(panel, at_x, at_y, values, limit)
    _marked(panel, at_x, at_y, values)
    for axis, at, set_ticks in ((x, at_x, panel.set_xticks), (y, at_y, panel.set_yticks)):
        if axis.numbers is None:
            set_ticks(at, [_wrapped(axis.values[number]) for number in range(len(at))])
    panel.set_xlabel(_name(x), fontsize=9, color=INK)
    panel.set_ylabel(_name(y), fontsize=9, color=INK)


def _ordered(axis: Axis) -> tuple[Array, NDArray[np.int64]]:
    """Places along an axis, rising, and which value each is."""
    if axis.numbers is None:
        return np.arange(len(axis.values), dtype=np.float64), np.arange(len(axis.values))
    places = np.array(axis.numbers) / axis.size
    order = np.argsort(places)
    return places[order], order


def _borders(at: Array) -> Array:
    """Borders of cells about places, half-way between neighbours."""
    if len(at) == 1:
        return np.array([at[0] - 0.5, at[0] + 0.5])
    middle = (at[1:] + at[:-1]) / 2
    return np.concatenate(([2 * at[0] - middle[0]], middle, [2 * at[-1] - middle[-1]]))


def _contours(panel: Any, x: Array, y: Array, values: Array, limit: Limit) -> None:
    """The line where utilisation is 1 is the thick one."""
    known = values[np.isfinite(values)]
    if min(values.shape) < 2 or len(known) < 4 or float(np.ptp(known)) < 1e-9:
        return
    _lines(panel.contour, panel, (x, y, np.ma.masked_invalid(values)), known, limit, thin=values.size > FIGURES)


def _lines(contour: Any, panel: Any, field: tuple[Any, ...], known: Array, limit: Limit, *, thin: bool) -> None:
    """Lines through equal utilisation: at 1, where the margin is used up, and thin ones between."""
    levels = [one for one in (0.2, 0.4, 0.6, 0.8, 1.2, 1.5, 2.0) if known.min() < one < known.max()]
    if levels and thin:
        paint = [INK if level < 1.0 else "white" for level in levels]
        panel.clabel(contour(*field, levels, colors=paint, linewidths=0.6), fontsize=7.5, fmt="%g")
    if known.min() < 1.0 < known.max():
        panel.clabel(contour(*field, [1.0], colors=[INK], linewidths=2.4), fontsize=9, fmt="1: used up")
    use, words = limit
    if use != 1.0 and known.min() < use < known.max():
        dashed = contour(*field, [use], colors=[INK], linewidths=1.6, linestyles="dashed")
        panel.clabel(dashed, fontsize=8, fmt=f"{ratio_text(use)}: {words}")


def _marked(panel: Any, x: Array, y: Array, values: Array) -> None:
    """Figures in the cells where there is room, crosses where there are none."""
    down, right = np.nonzero(np.isnan(values))
    panel.plot(x[right], y[down], "x", color=INK, markersize=6, markeredgewidth=1.4)
    if values.size > FIGURES:
        return
    for (line, column), value in np.ndenumerate(values):
        if math.isfinite(value):
            dark = value >= 1.0
            style = {"fontsize": 8, "ha": "center", "va": "center", "color": "white" if dark else INK}
            panel.text(x[column], y[line], ratio_text(float(value)), **style)


def _draw_sample(figure: Any, axes: Sequence[Axis], rows: Sequence[Row], limit: Limit) -> None:
    """Marks of a sample coloured by utilisation, and the line where it is 1, straight between neighbours."""
    panel = _panel(figure, 0.12, 0.72)
    x, y, uses = _places(axes[0], rows), _places(axes[1], rows), _uses(rows)
    good = np.isfinite(uses)
    if good.sum() > 3 and min(np.ptp(x[good]), np.ptp(y[good])) > 0.0:
        _lines(panel.tricontour, panel, (x[good], y[good], uses[good]), uses[good], limit, thin=False)
    panel.scatter(x[good], y[good], c=colours(uses[good]), edgecolors=INK, linewidths=0.6, s=40, zorder=3)
    panel.plot(x[~good], y[~good], "x", color=INK, markersize=6, markeredgewidth=1.4)
    _along(panel, axes[0], x)
    panel.set_ylim(float(y.min()) - 0.04 * float(np.ptp(y)), float(y.max()) + 0.04 * float(np.ptp(y)))
    panel.set_xlabel(_name(axes[0]), fontsize=9, color=INK)
    panel.set_ylabel(_name(axes[1]), fontsize=9, color=INK)


# ---- more dimensions


def _draw_ranking(figure: Any, ranking: Sequence[Ranked]) -> None:
    """Bars, the greatest above, with what noise may make of each."""
    shown = list(ranking)[:MOST_BARS]
    panel = figure.add_axes((0.27, 0.14, 0.66, 0.68))
    panel.set_facecolor("white")
    for side in ("top", "right", "left"):
        panel.spines[side].set_visible(False)
    panel.tick_params(labelsize=9, colors=INK, length=0)
    at = np.arange(len(shown))[::-1]
    shares = np.array([one.share for one in shown])
    paint = [MESH if one.stands_out else "#c9c4ba" for one in shown]
    panel.barh(at, np.clip(shares, 0.0, None), color=paint, height=0.56)
    ranges = np.clip(np.array([one.share_range for one in shown]), 0.0, None)
    panel.hlines(at, ranges[:, 0], ranges[:, 1], color=INK, linewidth=1.4)
    for place, one, end in zip(at, shown, np.maximum(ranges[:, 1], shares), strict=True):
        panel.text(end + 0.012, place, _told(one), fontsize=8.5, color=INK if one.stands_out else FAINT, va="center")
    panel.set_yticks(at, [one.name for one in shown])
    panel.set_xlim(0.0, max(1.0, float(ranges.max())) * 1.28)
    panel.set_xticks([0.0, 0.25, 0.5, 0.75, 1.0], ["0", "25 %", "50 %", "75 %", "100 %"])
    panel.set_xlabel("share of the variance by itself; the line is its 95 % range", fontsize=9, color=INK)
    left = 1.0 - float(np.clip(shares, 0.0, None).sum())
    if left > 0.1:
        text = f"About {100 * left:.0f} % lies in how they act together, and in noise."
        figure.text(0.27, 0.855, text, fontsize=8.5, color=INK)


def _told(one: Ranked) -> str:
    if not one.stands_out:
        return "not told from noise"
    text = f"{100 * one.share:.0f} %"
    if one.correlation is None:
        return f"{text}, a choice"
    if one.correlation_range is None or one.correlation_range[0] * one.correlation_range[1] <= 0.0:
        return f"{text}, up and down"
    return f"{text}, {'more' if one.correlation > 0.0 else 'less'} with more of it"
