"""split.png: the load that a crack along the grain needs, and the energy it sets free, over its length."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..judge.fracture import mixed_ratio
from ..judge.rows_split import SplitRow, SplitStart
from ..judge.verdict import Verdict
from ..units import Formatter
from .amounts import ALL_LOADS, load_text
from .charts import HAND, MESH, units_of
from .ramp import FAINT, INK, PAPER
from .sheet import DPI
from .splits import drawn_rows

Array = NDArray[np.float64]

FEW = 3.0  # times the start: the load axis ends there, or a little above what is marked


def draw_split(verdict: Verdict, path: Path, formatter: Formatter) -> None:
    """Draw up to three cracks side by side.

    Above: the load at which a crack of that length runs on, with the low and the high energies, where it starts, and
    the load by the mean stress. Below: energy release rate in opening and sliding at the loads as given.

    Parameters
    ----------
    verdict : Verdict
        With at least one crack that was opened.
    path : Path
        Where the PNG is written.
    formatter : Formatter
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    rows = drawn_rows(verdict)
    width = 4.4 * max(len(rows), 2)
    figure: Any = Figure(figsize=(width, 7.4), dpi=DPI, facecolor=PAPER)
    FigureCanvasAgg(figure)
    for number, row in enumerate(rows):
        left = (0.8 + 4.4 * number) / width
        panels = [
            figure.add_axes((left, bottom, 3.35 / width, height)) for bottom, height in ((0.47, 0.36), (0.1, 0.26))
        ]
        for axes in panels:
            _plain(axes, row, formatter)
        _loads(panels[0], row, verdict, formatter)
        _energies(panels[1], row, formatter)
        panels[1].set_xlabel(f"length of the crack, {units_of(formatter)['length'][0]}", fontsize=9, color=INK)
    _words(figure, verdict, formatter)
    figure.savefig(path, format="png", dpi=DPI, facecolor=PAPER, pil_kwargs={"compress_level": 1})


def _plain(axes: Any, row: SplitRow, formatter: Formatter) -> None:
    from matplotlib.ticker import LogLocator, NullFormatter

    size = units_of(formatter)["length"][1]
    axes.set_facecolor("white")
    axes.set_xscale("log")
    starts = [start.length for start in (row.low, row.high) if start is not None and start.load is not None]
    axes.set_xlim(min(row.lengths[0], *starts) / size / 1.15, row.lengths[-1] / size * 1.15)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.tick_params(labelsize=8, colors=INK)
    axes.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axes.xaxis.set_major_formatter("{x:g}")
    axes.xaxis.set_minor_formatter(NullFormatter())


def _loads(axes: Any, row: SplitRow, verdict: Verdict, formatter: Formatter) -> None:
    """The load that each length needs: the load as given over the root of the mixed ratio, scaled as the start is."""
    assert row.low is not None
    assert row.high is not None
    of = verdict.takes.of
    unit, size = ("times the loads", 1.0) if of == ALL_LOADS else units_of(formatter)["force"]
    length = units_of(formatter)["length"][1]
    tops = []
    for start, colour, word in ((row.low, MESH, "low energies"), (row.high, HAND, "high energies")):
        needed = _needed(row, start) / size
        axes.plot(np.array(row.lengths) / length, needed, color=colour, linewidth=1.6, label=word)
        if start.load is not None:
            axes.plot([start.length / length], [start.load / size], "o", color=colour, markersize=6)
            tops.append(start.load / size)
    if row.mean_load is not None:
        label = f"mean stress: {load_text(row.mean_load, of, formatter)}"
        axes.axhline(row.mean_load / size, color=INK, linewidth=1.0, linestyle=(0, (4, 2.5)), label=label)
        tops.append(row.mean_load / size)
    axes.set_ylim(0.0, FEW * max(tops))
    axes.set_ylabel(f"load that it needs, {unit}", fontsize=9, color=INK)
    axes.legend(fontsize=8, frameon=False, loc="upper left", labelcolor=INK)
    several = len({one.case for one in verdict.splits}) > 1
    axes.set_title(_titled(row, several=several), fontsize=9, color=INK, loc="left")


def _needed(row: SplitRow, start: SplitStart) -> Array:
    """Load at which a crack of each length runs on; not-a-number where nothing drives it."""
    ratio = mixed_ratio(np.array(row.opening), np.array(row.sliding), (start.G_Ic, start.G_IIc))
    with np.errstate(divide="ignore"):
        needed = row.reference / np.sqrt(ratio)
    return np.where(np.isfinite(needed), needed, np.nan)


def _energies(axes: Any, row: SplitRow, formatter: Formatter) -> None:
    lengths = np.array(row.lengths)
    size = 1.0 / units_of(formatter)["length"][1]
    for values, colour, word in ((row.opening, MESH, "opening"), (row.sliding, HAND, "sliding")):
        axes.plot(lengths * size, 1000.0 * np.array(values), color=colour, linewidth=1.6, marker=".", label=word)
    axes.set_ylim(bottom=0.0)
    axes.set_ylabel("set free at these loads, J/m²", fontsize=9, color=INK)
    axes.legend(fontsize=8, frameon=False, loc="upper left", labelcolor=INK)


def _titled(row: SplitRow, *, several: bool) -> str:
    import textwrap

    case = f" in {row.case}" if several else ""
    return "\n".join(textwrap.wrap(f"From {row.of}{case}: {row.where}", 48)[:3])


def _words(figure: Any, verdict: Verdict, formatter: Formatter) -> None:
    import textwrap

    figure.text(0.02, 0.97, "Splitting by energy", fontsize=13, weight="bold", color=INK, va="top")
    text = (
        "Where a curve rises a longer crack needs more load and the crack waits; where it falls it runs. A dot is the "
        "start, over the length that parts at once."
    )
    figure.text(0.02, 0.935, "\n".join(textwrap.wrap(text, 110)), fontsize=9.5, color=INK, va="top")
    about = f"{verdict.part.title}  ·  {verdict.wood}  ·  basis {verdict.basis}  ·  fesolve {verdict.version}"
    figure.text(0.02, 0.012, about, fontsize=7.5, color=FAINT)
