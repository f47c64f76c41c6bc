"""member.png: shear, bending and shear stress along the member, the mesh's figures against the hand's."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from ..judge.verdict import HandDiagram, HandRow, Verdict
from ..units import Formatter
from .ramp import FAINT, INK, PAPER
from .sheet import DPI
from .words import by_hand

MESH = "#5a4fb0"  # the violet of the sketch: what the mesh says
HAND = "#a4662c"  # its brown: what the hand says
# one displayed unit in mm, N, N mm, MPa; exact by definition (inch, pound-force)
_UNITS: dict[str, dict[str, tuple[str, float]]] = {
    "si": {"length": ("mm", 1.0), "force": ("kN", 1e3), "moment": ("kN m", 1e6), "stress": ("MPa", 1.0)},
    "us": {
        "length": ("in", 25.4),
        "force": ("lbf", 4.4482216152605),
        "moment": ("lbf ft", 4.4482216152605 * 304.8),
        "stress": ("psi", 4.4482216152605 / 25.4**2),
    },
}


def units_of(formatter: Formatter) -> dict[str, tuple[str, float]]:
    """Units of axes by kind: name, and one of it in mm, N, N mm or MPa."""
    return _UNITS[formatter.system]


def draw_member(verdict: Verdict, path: Path, formatter: Formatter) -> None:
    """Draw member.png for the governing case.

    Three strips over the position along the member: shear force and bending moment (line: integrated over
    the mesh; dashed: statics, where the part is determinate), and at each station the greatest V Q/(I t)
    beside the mesh's shear stress.

    Parameters
    ----------
    verdict : Verdict
        ``diagrams`` and ``hand`` are drawn.
    path : Path
        Where the PNG is written.
    formatter : Formatter
        Its system sets the units of the axes.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    case = verdict.governing.case if verdict.governing else next((row.case for row in verdict.diagrams), "")
    diagram = next((row for row in verdict.diagrams if row.case == case), None)
    stations = sorted((row for row in verdict.hand if row.case == case), key=lambda row: row.position)
    figure: Any = Figure(figsize=(9.0, 7.6), dpi=DPI, facecolor=PAPER)
    FigureCanvasAgg(figure)
    units = _UNITS[formatter.system]
    strips = [figure.add_axes((0.1, bottom, 0.86, 0.2)) for bottom in (0.665, 0.425, 0.185)]
    reach = _reach(diagram, stations, units["length"][1])
    for axes in strips:
        _prepare(axes, reach, stations, units["length"][1])
    _force_strip(strips[0], diagram, "shear", "shear V", units["force"], units["length"][1])
    _force_strip(strips[1], diagram, "moment", "bending M", units["moment"], units["length"][1])
    _stress_strip(strips[2], stations, units["stress"], units["length"][1])
    _number_stations(strips[0], stations, units["length"][1], reach)
    _name_axis(strips[2], units["length"][0])
    _words(figure, verdict, stations, formatter)
    figure.savefig(path, format="png", dpi=DPI, facecolor=PAPER, pil_kwargs={"compress_level": 1})


def _reach(diagram: HandDiagram | None, stations: Sequence[HandRow], unit: float) -> tuple[float, float]:
    positions = [*(diagram.position if diagram else ()), *(row.position for row in stations)]
    if not positions or max(positions) <= min(positions):
        return (0.0, 1.0)
    margin = 0.02 * (max(positions) - min(positions))
    return ((min(positions) - margin) / unit, (max(positions) + margin) / unit)


def _prepare(axes: Any, reach: tuple[float, float], stations: Sequence[HandRow], unit: float) -> None:
    axes.set_facecolor("white")
    axes.set_xlim(*reach)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.axhline(0.0, color=INK, linewidth=0.8)
    for row in stations:
        axes.axvline(row.position / unit, color=FAINT, linewidth=0.6, linestyle=(0, (1, 2)))
    axes.tick_params(labelsize=8, colors=INK, labelbottom=False)
    axes.locator_params(axis="y", nbins=5)


def _force_strip(
    axes: Any, diagram: HandDiagram | None, what: str, name: str, unit: tuple[str, float], length: float
) -> None:
    axes.set_ylabel(f"{name}, {unit[0]}", fontsize=9, color=INK)
    if diagram is None:
        return
    x = np.array(diagram.position) / length
    mesh = np.array(getattr(diagram, f"{what}_mesh"), dtype=np.float64) / unit[1]
    axes.fill_between(x, 0.0, mesh, color=MESH, alpha=0.1, linewidth=0.0)
    axes.plot(x, mesh, color=MESH, linewidth=1.8, label="from the mesh")
    statics = getattr(diagram, f"{what}_statics")
    if statics is not None:
        axes.plot(x, np.array(statics) / unit[1], color=HAND, linewidth=1.5, linestyle=(0, (4, 2.5)), label="statics")


def _stress_strip(axes: Any, stations: Sequence[HandRow], unit: tuple[str, float], length: float) -> None:
    axes.set_ylabel(f"shear stress, {unit[0]}", fontsize=9, color=INK)
    x = np.array([row.position for row in stations]) / length
    hand = np.abs([row.tau_vqit for row in stations]) / unit[1]
    mesh = np.abs([row.tau_mesh for row in stations]) / unit[1]
    axes.vlines(x, np.fmin(hand, mesh), np.fmax(hand, mesh), color=FAINT, linewidth=1.2)
    style = {"linestyle": "none", "markersize": 6}
    axes.plot(x, hand, marker="D", markerfacecolor="white", color=HAND, label="V Q/(I t)", **style)
    axes.plot(x, mesh, marker="o", color=MESH, label="mesh, at the same height", **style)
    axes.set_ylim(bottom=0.0, top=1.15 * float(np.nanmax([*hand, *mesh, 1e-9])))


def _number_stations(axes: Any, stations: Sequence[HandRow], unit: float, reach: tuple[float, float]) -> None:
    """Number the stations above the top strip; close ones step up, so that no number covers another."""
    last, level = -math.inf, 0
    for number, row in enumerate(stations, start=1):
        share = (row.position / unit - reach[0]) / (reach[1] - reach[0])
        level = (level + 1) % 3 if share - last < 0.022 else 0
        last = share
        axes.text(share, 1.03 + 0.1 * level, str(number), transform=axes.transAxes, fontsize=8, ha="center", color=INK)


def _name_axis(axes: Any, unit: str) -> None:
    axes.tick_params(labelbottom=True)
    axes.set_xlabel(f"along the member, {unit}", fontsize=9, color=INK)


def _words(figure: Any, verdict: Verdict, stations: Sequence[HandRow], formatter: Formatter) -> None:
    import textwrap

    figure.text(0.03, 0.965, "By hand and by mesh, along the member", fontsize=13, weight="bold", color=INK, va="top")
    figure.text(0.03, 0.925, by_hand(verdict, formatter), fontsize=9.5, color=INK, va="top")
    for axes, columns in ((figure.axes[0], 2), (figure.axes[2], 2)):
        if axes.get_legend_handles_labels()[0]:
            style = {"fontsize": 8, "frameon": False, "loc": "lower right", "ncols": columns, "labelcolor": INK}
            axes.legend(bbox_to_anchor=(1.0, 1.0 if axes is figure.axes[2] else 1.08), borderaxespad=0.0, **style)
    names = "   ".join(f"{number} {row.station}{' *' if row.short else ''}" for number, row in enumerate(stations, 1))
    if any(row.short for row in stations):
        names += "   (*: M/(V h) is below 1, beam theory does not apply)"
    lines = textwrap.wrap(names, 130, break_on_hyphens=False)[:4]
    figure.text(0.03, 0.115, "\n".join(lines), fontsize=8, color=INK, va="top", linespacing=1.3)
    text = f"{verdict.part.title}  ·  {verdict.wood}  ·  basis {verdict.basis}  ·  fesolve {verdict.version}"
    figure.text(0.03, 0.015, text, fontsize=7.5, color=FAINT)
