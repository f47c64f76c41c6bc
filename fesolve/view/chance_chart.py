"""chance.png: how many of a hundred such pieces fail below a load."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from ..judge.rows_sure import Chance
from ..judge.verdict import Verdict
from ..units import Formatter
from .amounts import ALL_LOADS, load_text
from .certainty import chance_text
from .charts import HAND, MESH, units_of
from .ramp import FAINT, INK, PAPER
from .sheet import DPI

BANDS = (5.0, 50.0, 95.0)  # %


def draw_chance(verdict: Verdict, path: Path, formatter: Formatter) -> None:
    """Draw the chance of failure over the load.

    The curve, the loads with 5, 50 and 95 %, the band between the outer two shaded, and what acts as a line.

    Parameters
    ----------
    verdict : Verdict
        With a chance.
    path : Path
        Where the PNG is written.
    formatter : Formatter
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    chance = verdict.chance
    assert chance is not None
    figure: Any = Figure(figsize=(9.0, 5.0), dpi=DPI, facecolor=PAPER)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.1, 0.2, 0.86, 0.54))
    axes.set_facecolor("white")
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.tick_params(labelsize=8, colors=INK)
    unit, size = ("times the loads", 1.0) if chance.of == ALL_LOADS else units_of(formatter)["force"]
    _curve(axes, chance, size, formatter)
    axes.set_ylim(0.0, 100.0)
    axes.set_ylabel("of 100 pieces fail below it", fontsize=9, color=INK)
    axes.set_xlabel(unit if chance.of == ALL_LOADS else f'"{chance.of}", {unit}', fontsize=9, color=INK)
    _words(figure, verdict, formatter)
    figure.savefig(path, format="png", dpi=DPI, facecolor=PAPER, pil_kwargs={"compress_level": 1})


def _curve(axes: Any, chance: Chance, size: float, formatter: Formatter) -> None:
    load, share = np.array(chance.curve).T
    ends = [one / size for one in (chance.five, chance.half, chance.ninety_five)]
    last = 1.04 * max(float(load[-1]), 1.1 * chance.load) / size
    axes.set_xlim(0.0, last)
    band = "what broke one that broke, 9 times in 10"
    axes.axvspan(ends[0], ends[2], color=HAND, alpha=0.12, linewidth=0.0, label=band)
    axes.plot([0.0, *(load / size), last], [0.0, *(100.0 * share), 100.0], color=MESH, linewidth=1.8)
    axes.plot(ends, BANDS, "o", color=MESH, markersize=6)
    loads = (chance.five, chance.half, chance.ninety_five)
    for at, percent, one in zip(ends, BANDS, loads, strict=True):
        text = f"{percent:.0f} %: {load_text(one, chance.of, formatter)}"
        high = percent > BANDS[1]
        offset = (8, -11 if high else -3)
        halo = {"facecolor": "white", "alpha": 0.75, "linewidth": 0.0, "pad": 1.0}  # over the line of what acts
        axes.annotate(
            text, (at, percent), xytext=offset, textcoords="offset points", fontsize=8.5, color=INK, bbox=halo
        )
    acts = f"what acts: {load_text(chance.load, chance.of, formatter)}"
    axes.axvline(chance.load / size, color=HAND, linewidth=1.5, linestyle=(0, (4, 2.5)), label=acts)
    style = {"fontsize": 8, "frameon": False, "loc": "lower right", "ncols": 2, "labelcolor": INK}
    axes.legend(bbox_to_anchor=(1.0, 1.0), borderaxespad=0.0, **style)


def _words(figure: Any, verdict: Verdict, formatter: Formatter) -> None:
    import textwrap

    figure.text(0.03, 0.95, "The chance that it fails", fontsize=13, weight="bold", color=INK, va="top")
    lines = "\n".join(textwrap.wrap(chance_text(verdict, formatter), 118)[:3])
    figure.text(0.03, 0.885, lines, fontsize=9.5, color=INK, va="top", linespacing=1.35)
    text = f"{verdict.part.title}  ·  {verdict.wood}  ·  basis {verdict.basis}  ·  fesolve {verdict.version}"
    figure.text(0.03, 0.03, text, fontsize=7.5, color=FAINT)
