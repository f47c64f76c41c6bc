"""hotspots.png: a free-body sketch on wood, with the split drawn over it in pencil.

From the top: the verdict's first sentences; the part with its loads, supports, colours and split; below it
or beside it a detail where the split starts, the hot spots by number, and the scale of colours.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ..judge.verdict import Anchor, HotSpot, Point, Verdict
from ..units import Formatter
from .across import verb_of
from .amounts import ratio_text
from .by_energy import coloured_text, share_text
from .forces import Force, draw_dents, draw_forces, draw_patch, forces_of
from .ramp import FAINT, INK, PENCIL, TOP, above, below
from .sheet import Box, Sheet, View
from .sketch import Look, Shading, draw_wood, pencil, shade
from .words import (
    breaks_across,
    direction,
    headline,
    inside,
    leaves_at,
    offset,
    place_name,
    run_of,
    split_of,
    where,
)

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

WIDTH = 10.5
MARGIN = 1.2  # inches round the part for arrows and labels
PANEL = 3.5  # width of the column, or of the detail in the row, with detail, list and colours
ROW = 2.75  # height of that row
SPOTS = 5  # hot spots with a number
_HALO = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "boxstyle": "round,pad=0.15"}


@dataclass(frozen=True)
class Layout:
    """Where things go, in inches."""

    width: float
    height: float
    view: View
    detail: Box
    text_at: tuple[float, float]  # top left corner of the list of hot spots and the colours below it
    text_width: float
    header: float  # height of the sheet above the drawing


def draw_hotspots(
    verdict: Verdict,
    outline_polygons: Sequence[FloatArray],
    points: FloatArray,
    triangles: IntArray,
    utilisation: FloatArray,
    look: Look,
    path: Path,
    formatter: Formatter,
) -> None:
    """Draw hotspots.png.

    Parameters
    ----------
    verdict : Verdict
        Everything that is said on the picture comes from it.
    outline_polygons : sequence of (k, 2) arrays
        Outer outline first, then the holes, mm.
    points : (m, 2) array
        Stress points, mm.
    triangles : (e, 3) or (e, 6) array
        Numbers of the points.
    utilisation : (m,) array
        Splitting at the points, as a share of the strength; 1.0 changes the hue.
    look : Look
        The wood by the direction of its grain, and the lines in it.
    path : Path
        Where the PNG is written.
    formatter : Formatter
        Puts numbers in the reader's units.
    """
    polygons = [np.asarray(polygon, dtype=np.float64) for polygon in outline_polygons]
    shading = shade(np.asarray(points, dtype=np.float64)[:, :2], np.asarray(triangles), utilisation)
    _sketch(verdict, polygons, shading, look, formatter).save(path)


def _sketch(verdict: Verdict, polygons: list[FloatArray], shading: Shading, look: Look, formatter: Formatter) -> Sheet:
    """Draw everything in the order in which labels look for their places."""
    lines = _balanced(headline(verdict, formatter), 84), _balanced(where(verdict, formatter), 130)
    layout = lay_out(polygons[0], header=0.3 + 0.27 * len(lines[0]) + 0.2 * len(lines[1]))
    sheet = Sheet(layout.width, layout.height)
    sheet.part = [layout.view(polygon) for polygon in polygons]
    _header(sheet, *lines)
    sheet.occupied.extend((layout.detail, _text_box(layout)))
    forces = forces_of(verdict, polygons, formatter)
    draw_wood(sheet, layout.view, polygons, shading, look)
    draw_dents(sheet, layout.view, verdict, forces)
    draw_pencil_line(sheet, layout.view, verdict)
    detail = detail_view(verdict, polygons, layout)
    if detail is not None:
        _frame_of(sheet, layout.view, detail)
    draw_forces(sheet, layout.view, polygons, forces, verdict.contacts)
    _name_split(sheet, layout.view, verdict)
    _numbers(sheet, layout.view, verdict)
    scale_bar(sheet, layout.view, polygons[0], formatter)
    if detail is not None:
        _detail(sheet, detail, verdict, polygons, shading, look, forces, formatter)
    _panel(sheet, layout, verdict, formatter)
    _footer(sheet, verdict)
    return sheet


def _balanced(text: str, columns: int) -> list[str]:
    """Return a sentence in lines of about equal length."""
    count = -(-len(text) // columns)
    lines = textwrap.wrap(text, columns if count < 2 else min(columns, len(text) // count + 8), break_on_hyphens=False)
    return lines or [""]


def _text_box(layout: Layout) -> Box:
    left, top = layout.text_at
    return (left, top - 2.6, left + layout.text_width, top)


def lay_out(outline: FloatArray, header: float) -> Layout:
    """Return the layout: a row below lying parts, a column beside standing and square ones."""
    lowest, highest = outline.min(axis=0), outline.max(axis=0)
    wide, high = (highest - lowest).tolist()
    lying = wide >= 1.25 * high
    room = (WIDTH - 2 * MARGIN, 4.2) if lying else (WIDTH - PANEL - 2 * MARGIN - 0.3, 6.0)
    scale = min(room[0] / wide, room[1] / high)
    drawing = scale * high + 2 * MARGIN
    foot = 0.4
    if lying:
        height = header + drawing + ROW + 0.15 + foot
        center, bottom = WIDTH / 2, foot + ROW + 0.15 + MARGIN
        detail = (0.35, foot + 0.05, 0.35 + PANEL + 0.6, foot + ROW - 0.2)
        text_at, text_width = (PANEL + 1.35, foot + ROW - 0.2), WIDTH - PANEL - 1.7
    else:
        height = max(header + drawing + foot, header + foot + 6.2)
        center, bottom = (WIDTH - PANEL - 0.3) / 2, foot + 0.5 * (height - header - foot - scale * high)
        left = WIDTH - PANEL - 0.3
        detail = (left, height - header - 3.0, left + PANEL, height - header - 0.25)
        text_at, text_width = (left, height - header - 3.2), PANEL
    middle = 0.5 * (lowest[0] + highest[0])
    view = View(scale, (center - scale * middle, bottom - scale * lowest[1]))
    return Layout(WIDTH, height, view, detail, text_at, text_width, header)


def _header(sheet: Sheet, title: list[str], place: list[str]) -> None:
    top = sheet.height - 0.2
    sheet.text((0.35, top), "\n".join(title), size=14, weight="bold", va="top", linespacing=1.15)
    sheet.text((0.35, top - 0.05 - 0.27 * len(title)), "\n".join(place), size=10, va="top", linespacing=1.2)


def _footer(sheet: Sheet, verdict: Verdict) -> None:
    face = f", {verdict.face}" if verdict.face else ""
    text = f"{verdict.part.title}  ·  {verdict.wood}{face}  ·  basis {verdict.basis}  ·  fesolve {verdict.version}"
    sheet.text((0.35, 0.16), text, size=7.5, color=FAINT)


def draw_pencil_line(sheet: Sheet, view: View, verdict: Verdict) -> None:
    """Draw the pencil line: start mark, the length of fibres that splits first, and on to where it leaves."""
    spot = split_of(verdict)
    if breaks_across(verdict):
        _break(sheet, view, verdict)
        return
    if spot is None:
        return
    start, (near, far), leaves = view(spot.at), view(spot.path), view(spot.exits_at)
    pencil(sheet, near, far, heavy=True, clip=view.clip)
    pencil(sheet, far, leaves, heavy=False, clip=view.clip)
    sheet.circle(start, 0.045, facecolor="white", edgecolor=PENCIL, linewidth=1.4, zorder=6.5, clip=view.clip)
    if view.clip is None:
        sheet.occupy([near, leaves], 0.12)
        _arrow_head(sheet, leaves, np.array(run_of(spot)) / max(math.hypot(*run_of(spot)), 1e-12))


def _name_split(sheet: Sheet, view: View, verdict: Verdict) -> None:
    """Write where the split leaves the wood, or where the fibres break; after the forces, which come first."""
    style = {"fontsize": 8.0, "color": PENCIL, "style": "italic", "linespacing": 1.1}
    governing, spot = verdict.governing, split_of(verdict)
    if breaks_across(verdict) and governing is not None and governing.at is not None:
        places = [(*(view(governing.at) + shift).tolist(), "center", "center") for shift in 1.2 * _SHIFTS[1:]]
        sheet.label(f"{verb_of(governing)}\nhere", places, **style)
    elif spot is not None:
        leaves, run = view(spot.exits_at), np.array(run_of(spot)) / max(math.hypot(*run_of(spot)), 1e-12)
        places = [(*(leaves + 0.12 * run + shift).tolist(), *_beyond(run)) for shift in _SHIFTS]
        places += [(*(leaves + 1.3 * shift).tolist(), "center", "center") for shift in _SHIFTS[1:]]
        name = textwrap.wrap(leaves_at(spot), 18, break_on_hyphens=False)
        across = np.array([-run[1], run[0]])
        inner = [leaves - back * run + side * across for back in (0.7, 1.0) for side in (0.45, -0.45)]
        places += [(*point.tolist(), "center", "center") for point in inner]
        with sheet.on_the_wood():  # better there than on a support
            sheet.label("\n".join(name), places, bbox=_HALO, **style)


def _break(sheet: Sheet, view: View, verdict: Verdict) -> None:
    """Draw a small ring where the fibres break; the break has no line of its own to draw."""
    if verdict.governing is None or verdict.governing.at is None:
        return
    at = view(verdict.governing.at)
    sheet.circle(at, 0.09, facecolor="none", edgecolor=PENCIL, linewidth=1.8, zorder=6.5, clip=view.clip)


_SHIFTS = np.array([[0.0, 0.0], [0.0, 0.3], [0.0, -0.3], [0.3, 0.0], [-0.3, 0.0], [0.0, 0.6], [0.0, -0.6]])


def _beyond(run: FloatArray) -> tuple[str, str]:
    if abs(run[1]) > abs(run[0]):
        return "center", "bottom" if run[1] > 0 else "top"
    return "left" if run[0] > 0 else "right", "middle"


def _arrow_head(sheet: Sheet, tip: FloatArray, run: FloatArray) -> None:
    across = np.array([-run[1], run[0]])
    barbs = [tip - 0.12 * run + 0.05 * across, tip, tip - 0.12 * run - 0.05 * across]
    sheet.line(barbs, color=PENCIL, linewidth=1.3, zorder=6)


def _numbers(sheet: Sheet, view: View, verdict: Verdict) -> None:
    """Number the hot spots: a disc beside each, tied to it by a thin line, with its share."""
    for spot in spots_of(verdict):
        sheet.occupy([view(spot.at), view(spot.path[1])], 0.14)
    for spot in spots_of(verdict):
        at = view(spot.at)
        places = []
        for reach in (0.42, 0.6, 0.8):
            for angle in np.radians([60, 120, -60, -120, 90, -90, 30, 150, -30, -150]):
                x, y = (at + reach * np.array([math.cos(angle), math.sin(angle)])).tolist()
                places.append((x, y, "center", "center"))
        style = {"boxstyle": "round,pad=0.22", "facecolor": "white", "edgecolor": INK, "linewidth": 0.7, "alpha": 0.92}
        text = f"{spot.rank}  {share_text(verdict, spot)}"
        with sheet.on_the_wood():
            box = sheet.label(text, places, fontsize=8.0, bbox=style, zorder=8.5)
        middle = np.array([0.5 * (box[0] + box[2]), 0.5 * (box[1] + box[3])])
        sheet.line([at, middle], linewidth=0.7, zorder=6.2)


def spots_of(verdict: Verdict) -> list[HotSpot]:
    """Return the hot spots that get a number: the worst few of the governing case."""
    worst = split_of(verdict)
    if worst is None:
        return []
    return sorted((spot for spot in verdict.hotspots if spot.case == worst.case), key=lambda spot: spot.rank)[:SPOTS]


def detail_view(verdict: Verdict, polygons: Sequence[FloatArray], layout: Layout) -> View | None:
    """Return the view of the detail: the start of the split, its length of fibres and what it is measured from."""
    spot = split_of(verdict)
    if spot is None:
        return None
    if breaks_across(verdict) and verdict.governing is not None and verdict.governing.at is not None:
        spot = replace(spot, at=verdict.governing.at, path=(verdict.governing.at,) * 2, measured_from=None)
    shown = [spot.at, *spot.path]
    hole = _hole_of(spot.measured_from, polygons)
    corners = np.array(shown)
    if hole is not None:
        corners = np.vstack((corners, hole))
    elif spot.measured_from is not None and math.dist(spot.at, spot.measured_from.at) < 4.0 * spot.mean_length:
        corners = np.vstack((corners, spot.measured_from.at))
    left, bottom, right, top = layout.detail
    lowest, highest = corners.min(axis=0), corners.max(axis=0)
    extent = np.maximum(highest - lowest, 0.35 * spot.mean_length)
    scale = float(np.min((np.array([right - left, top - bottom]) - (0.9, 1.1)) / extent))
    scale = min(scale, 40.0 * layout.view.scale)
    scale = max(scale, 1.3 * layout.view.scale)
    x, y = (np.array([left + right, bottom + top]) / 2 - scale * 0.5 * (lowest + highest)).tolist()
    return View(scale, (x, y), layout.detail)


def _hole_of(anchor: Anchor | None, polygons: Sequence[FloatArray]) -> FloatArray | None:
    """Return the hole that a place is measured from."""
    if anchor is None or not anchor.name.startswith("hole ") or len(polygons) < 2:
        return None
    return min(polygons[1:], key=lambda polygon: math.dist(polygon.mean(axis=0), anchor.at))


def _frame_of(sheet: Sheet, view: View, detail: View) -> None:
    """Draw a thin frame on the drawing round what the detail shows."""
    assert detail.clip is not None
    corners = (np.array(detail.clip).reshape(2, 2) - np.array(detail.origin)) / detail.scale
    (left, bottom), (right, top) = view(corners).tolist()
    frame = [(left, bottom), (right, bottom), (right, top), (left, top)]
    sheet.polygon(frame, facecolor="none", edgecolor=FAINT, linewidth=0.7, linestyle=(0, (4, 2)), zorder=5.8)


def _detail(
    sheet: Sheet,
    view: View,
    verdict: Verdict,
    polygons: list[FloatArray],
    shading: Shading,
    look: Look,
    forces: list[Force],
    formatter: Formatter,
) -> None:
    """Draw the detail: the same wood at a larger scale, with the split's dimensions."""
    assert view.clip is not None
    draw_wood(sheet, view, polygons, shading, look)
    draw_dents(sheet, view, verdict, forces)
    for force in forces:
        draw_patch(sheet, view, force)
    draw_pencil_line(sheet, view, verdict)
    spot = split_of(verdict)
    if spot is not None and not breaks_across(verdict):
        _mean_length(sheet, view, spot, formatter)
        _dimensions(sheet, view, spot, formatter)
    left, bottom, right, top = view.clip
    frame = [(left, bottom), (right, bottom), (right, top), (left, top)]
    sheet.polygon(frame, facecolor="none", edgecolor=FAINT, linewidth=0.8, linestyle=(0, (4, 2)), zorder=8)
    text = f"where it starts ({formatter.length((right - left) / view.scale)} across)"
    sheet.text((left, top + 0.06), text, size=8.0, color=FAINT)


def _mean_length(sheet: Sheet, view: View, spot: HotSpot, formatter: Formatter) -> None:
    """Write the length of fibres over which the mean is taken, along the heavy pencil line."""
    near, far = view(spot.path)
    run = (far - near) / max(float(np.linalg.norm(far - near)), 1e-9)
    across = np.array([-run[1], run[0]])
    side = 1.0 if spot.measured_from is None or (np.array(spot.at) - spot.measured_from.at) @ across >= 0 else -1.0
    ends = np.array([near, far]) + 0.16 * side * across
    _dimension(sheet, ends, f"mean over {formatter.length(spot.mean_length)}", side * across, color=PENCIL)


def _dimensions(sheet: Sheet, view: View, spot: HotSpot, formatter: Formatter) -> None:
    """Dimension the start of the split: in x and y from a hole's centre, straight from an edge."""
    anchor = spot.measured_from
    if anchor is None:
        return
    origin, start = view(anchor.at), view(spot.at)
    for arm in (np.array([0.07, 0.0]), np.array([0.0, 0.07])):
        sheet.line([origin - arm, origin + arm], linewidth=1.2, zorder=7, clip=view.clip)
    dx, dy = spot.at[0] - anchor.at[0], spot.at[1] - anchor.at[1]
    if math.hypot(dx, dy) < 0.25:
        return
    if not anchor.name.startswith("hole "):
        away = np.array([-dy, dx]) / max(math.hypot(dx, dy), 1e-9)
        _dimension(sheet, np.array([origin, start]) - 0.2 * away, formatter.length(math.hypot(dx, dy)), -away)
        return
    if abs(dx) >= 0.25:
        up = 1.0 if dy <= 0 else -1.0
        ends = np.array([[origin[0], origin[1] + 0.3 * up], [start[0], origin[1] + 0.3 * up]])
        sheet.line([start, ends[1]], linewidth=0.5, color=FAINT, zorder=7)
        sheet.line([origin, ends[0]], linewidth=0.5, color=FAINT, zorder=7)
        _dimension(sheet, ends, formatter.length(abs(dx)), np.array([0.0, up]))
    if abs(dy) >= 0.25:
        left = -1.0 if dx >= 0 else 1.0
        ends = np.array([[origin[0] + 0.3 * left, origin[1]], [origin[0] + 0.3 * left, start[1]]])
        sheet.line([start, ends[1]], linewidth=0.5, color=FAINT, zorder=7)
        sheet.line([origin, ends[0]], linewidth=0.5, color=FAINT, zorder=7)
        _dimension(sheet, ends, formatter.length(abs(dy)), np.array([left, 0.0]))


def _dimension(sheet: Sheet, ends: FloatArray, text: str, away: FloatArray, color: str = INK) -> None:
    """Draw a dimension line with slanted ticks and its figure on the side ``away``."""
    sheet.line(ends, linewidth=0.8, color=color, zorder=7)
    for end in ends:
        sheet.line([end - 0.035, end + 0.035], linewidth=1.1, color=color, zorder=7)
    x, y = (ends.mean(axis=0) + 0.08 * away).tolist()
    ha = "center" if abs(away[0]) < 0.3 else "left" if away[0] > 0 else "right"
    va = "center" if abs(away[1]) < 0.3 else "bottom" if away[1] > 0 else "top"
    sheet.text((x, y), text, size=8.5, ha=ha, va=va, color=color, bbox=_HALO, keep=False)


def _panel(sheet: Sheet, layout: Layout, verdict: Verdict, formatter: Formatter) -> None:
    """Write the list of hot spots, and below it the scale of colours."""
    left, y = layout.text_at
    columns = int(layout.text_width / 0.077)
    for spot in spots_of(verdict)[: 4 if layout.text_width > 4 else 3]:
        share, by, _ = share_text(verdict, spot).partition(" by energy")
        text = _spot_text(spot, formatter) + (f" (by energy; mean stress {ratio_text(spot.utilisation)})" if by else "")
        lines = textwrap.wrap(text, columns - 9)
        sheet.text((left, y), f"{spot.rank}", size=8.5, va="top", weight="bold")
        sheet.text((left + 0.2, y), share, size=8.5, va="top", weight="bold")
        sheet.text((left + 0.65, y), "\n".join(lines), size=8.5, va="top", linespacing=1.15)
        y -= 0.09 + 0.15 * len(lines)
    colour_bar(sheet, left, y - 0.42, min(layout.text_width, 4.4))
    lines = textwrap.wrap(coloured_text(verdict), columns)
    sheet.text((left, y - 0.92), "\n".join(lines), size=8.0, va="top", weight="bold", keep=False)


def _spot_text(spot: HotSpot, formatter: Formatter) -> str:
    if spot.measured_from is not None:
        start = offset(spot.at, spot.measured_from, formatter) + inside(spot.region)
    else:
        start = place_name(spot.where) or "inside the wood"
    return f"{start}; runs {direction(run_of(spot))}"


def colour_bar(
    sheet: Sheet,
    left: float,
    bottom: float,
    width: float,
    *,
    what: str = "share of the strength against splitting",
    note: str = "mean over a length of fibres  ·  hatched: dented",
) -> None:
    """Draw the scale of colours with the strength, 1.0, marked; `what` is coloured above it, a note below."""
    high = 0.17
    half = width / 2
    for ramp, start, share in ((below, left, np.linspace(0, 1, 128)), (above, left + half, np.linspace(1, TOP, 128))):
        sheet.axes.imshow(
            ramp(share)[None], extent=(start, start + half, bottom, bottom + high), aspect="auto", zorder=3
        )
    sheet.axes.set(xlim=(0.0, sheet.width), ylim=(0.0, sheet.height))
    frame = [(left, bottom), (left + width, bottom), (left + width, bottom + high), (left, bottom + high)]
    sheet.polygon(frame, facecolor="none", linewidth=0.8, zorder=5)
    for value in (0.0, 0.5, 1.0, 1.5, TOP):
        x, strong = left + width * value / TOP, value == 1.0
        top = bottom + high + 0.07 if strong else bottom
        sheet.line([(x, bottom - 0.05), (x, top)], linewidth=1.8 if strong else 0.8)
        text = f"{value:g} and more" if value == TOP else f"{value:.1f}"
        style = {"ha": "right" if value == TOP else "center", "weight": "bold" if strong else "normal"}
        at = (x + (0.2 if value == TOP else 0.0), bottom - 0.08)
        sheet.text(at, text, size=8.0, va="top", keep=False, **style)
    sheet.text((left, bottom + high + 0.08), what, size=8.0, color=FAINT)
    sheet.text((left, bottom - 0.3), note, size=7.5, va="top", color=FAINT)


def scale_bar(sheet: Sheet, view: View, outline: FloatArray, formatter: Formatter) -> None:
    """Draw a bar of a round length at the lower right of the drawing."""
    unit = 25.4 if formatter.system == "us" else 1.0
    length = round_below(1.3 / view.scale / unit) * unit
    size = length * view.scale
    corners: list[Point] = view(np.array([outline.min(axis=0), outline.max(axis=0)])).tolist()
    (left, bottom), (right, _) = corners
    y = bottom - 0.75
    places = (right - size, left, 0.5 * (left + right - size), right + 0.2)
    x = min(places, key=lambda place: sheet.overlap((place - 0.1, y - 0.1, place + size + 0.1, y + 0.25)))
    sheet.line([(x, y), (x + size, y)], linewidth=1.6)
    for end in (x, x + size):
        sheet.line([(end, y - 0.05), (end, y + 0.05)], linewidth=1.2)
    sheet.text((x + size / 2, y + 0.06), formatter.length(length), size=8.0, ha="center")


def round_below(value: float) -> float:
    """Return the greatest of 1, 2, 5 times a power of ten that is not above a value.

    Examples
    --------
    >>> round_below(73.0), round_below(0.3)
    (50.0, 0.2)
    """
    power = 10.0 ** math.floor(math.log10(value))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= value * (1 + 1e-9))
