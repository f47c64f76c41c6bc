"""strike.png: a strike through time, its force, what the deciding places feel, and where the energy is."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from ..judge.verdict import StrikeRow, ThroughTime, Verdict
from ..units import Formatter
from .blows import FOOT_POUND, brings, mode_text, time_text
from .charts import HAND, MESH, units_of
from .ramp import FAINT, INK, PAPER
from .sheet import DPI

JOULE = 1000.0  # N mm


def draw_strike(verdict: Verdict, row: StrikeRow, path: Path, formatter: Formatter) -> None:
    """Draw a strike through time.

    Three strips over time: force between striker and part, with the force by the balance of energy as a line and its
    band shaded; utilisation of the places that decide; and the energy in striker and part and what is lost.

    Parameters
    ----------
    verdict : Verdict
    row : StrikeRow
        With its history.
    path : Path
        Where the PNG is written.
    formatter : Formatter
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    assert row.through_time is not None
    figure: Any = Figure(figsize=(9.0, 7.6), dpi=DPI, facecolor=PAPER)
    FigureCanvasAgg(figure)
    places = ((0.585, 0.27), (0.345, 0.18), (0.105, 0.18))
    strips = [figure.add_axes((0.1, bottom, 0.86, height)) for bottom, height in places]
    time = 1000.0 * np.array(row.through_time.time)
    for axes in strips:
        axes.set_facecolor("white")
        axes.set_xlim(0.0, float(time[-1]))
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
        axes.tick_params(labelsize=8, colors=INK, labelbottom=axes is strips[-1])
        axes.locator_params(axis="y", nbins=5)
    _force_strip(strips[0], time, row, row.through_time, formatter)
    _use_strip(strips[1], time, row.through_time)
    _energy_strip(strips[2], time, row.through_time, formatter)
    strips[-1].set_xlabel("after the first touch, ms", fontsize=9, color=INK)
    _words(figure, verdict, row, formatter)
    figure.savefig(path, format="png", dpi=DPI, facecolor=PAPER, pil_kwargs={"compress_level": 1})


def _force_strip(axes: Any, time: Any, row: StrikeRow, through: ThroughTime, formatter: Formatter) -> None:
    unit, size = units_of(formatter)["force"]
    axes.set_ylabel(f"force, {unit}", fontsize=9, color=INK)
    if row.struck_low < row.struck_high:
        axes.axhspan(row.struck_low / size, row.struck_high / size, color=HAND, alpha=0.12, linewidth=0.0)
    energy = f"all elastic, by energy: {formatter.force(row.struck_high)}"
    axes.axhline(row.struck_high / size, color=HAND, linewidth=1.5, linestyle=(0, (4, 2.5)), label=energy)
    axes.plot(time, np.array(through.force) / size, color=MESH, linewidth=1.6, label="through time")
    peak = f"{formatter.force(through.peak_force)} after {time_text(through.peak_time)}"
    axes.plot([1000.0 * through.peak_time], [through.peak_force / size], "o", color=MESH, markersize=6, label=peak)
    axes.set_ylim(0.0, 1.08 * max(through.peak_force, row.struck_high) / size)
    _legend(axes, 3)


def _use_strip(axes: Any, time: Any, through: ThroughTime) -> None:
    axes.set_ylabel("share of what it takes", fontsize=9, color=INK)
    axes.plot(time, through.utilisation, color=MESH, linewidth=1.6, label="places that decide")
    axes.axhline(1.0, color=INK, linewidth=0.8)
    top = max([*through.utilisation, 1.0])
    if through.modes:
        worst = through.modes[0]
        axes.plot([1000.0 * worst.time], [worst.utilisation], "o", color=MESH, markersize=6, label=mode_text(worst))
        top = max(top, worst.utilisation)
    axes.set_ylim(0.0, 1.08 * top)
    _legend(axes, 2)


def _energy_strip(axes: Any, time: Any, through: ThroughTime, formatter: Formatter) -> None:
    unit, size = ("ft lbf", FOOT_POUND) if formatter.system == "us" else ("J", JOULE)
    axes.set_ylabel(f"energy, {unit}", fontsize=9, color=INK)
    for values, name, style in (
        (through.striker_energy, "in the striker", {"color": HAND}),
        (through.part_energy, "in the part", {"color": MESH}),
        (through.lost_energy, "lost where faces meet", {"color": FAINT, "linestyle": (0, (1, 1.5))}),
    ):
        axes.plot(time, np.array(values) / size, linewidth=1.6, label=name, **style)
    axes.set_ylim(bottom=0.0)
    _legend(axes, 3)


def _legend(axes: Any, columns: int) -> None:
    style = {"fontsize": 8, "frameon": False, "loc": "lower right", "ncols": columns, "labelcolor": INK}
    axes.legend(bbox_to_anchor=(1.0, 1.0), borderaxespad=0.0, **style)


def _words(figure: Any, verdict: Verdict, row: StrikeRow, formatter: Formatter) -> None:
    import textwrap

    title = f'Strike "{row.name}" through time: {brings(row, formatter)}'
    figure.text(0.03, 0.965, title, fontsize=13, weight="bold", color=INK, va="top")
    why = row.through_time.why if row.through_time is not None else ""
    figure.text(0.03, 0.925, "\n".join(textwrap.wrap(why, 125)), fontsize=9.5, color=INK, va="top")
    text = f"{verdict.part.title}  ·  {verdict.wood}  ·  basis {verdict.basis}  ·  fesolve {verdict.version}"
    figure.text(0.03, 0.015, text, fontsize=7.5, color=FAINT)
