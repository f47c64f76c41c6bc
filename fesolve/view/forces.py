"""Loads, supports and dents on a picture: arrows with names and sizes, symbols of our own, hatching."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..judge.verdict import ContactRow, LoadRow, ReactionRow, Verdict
from ..units import Formatter
from .amounts import ratio_text
from .ramp import FAINT, INK
from .sheet import Sheet, View, inside

FloatArray = NDArray[np.float64]

SUPPORT = "#2f6b62"  # reactions and supports: a dark green, so that they are told from loads, which are ink
BLOCK = "#d7d9d2"
PRESSED = 0.18  # inches: how high the greatest pressure under a support is drawn
SYMBOL = 0.2  # inches that a support's symbol takes outside the part


@dataclass(frozen=True)
class Force:
    """One arrow: where it acts (mm), its force (N), and what is written beside it."""

    row: LoadRow | ReactionRow
    text: str
    reaction: bool
    patch: FloatArray  # (k, 2) mm along the surface, wood on the left; fewer than two points where there is none
    on_hole: bool


def forces_of(verdict: Verdict, polygons: list[FloatArray], formatter: Formatter) -> list[Force]:
    """Return the loads and reactions of the governing case (else of the first) with their labels."""
    case = verdict.governing.case if verdict.governing else next((row.case for row in verdict.loads), "")
    dents = {row.name: row.utilisation for row in verdict.beside if row.case == case and row.end == "dents"}
    rows: list[LoadRow | ReactionRow] = [*verdict.loads, *verdict.reactions]
    rows = [row for row in rows if row.case == case]
    least = 1e-5 * max((math.hypot(*row.force) for row in rows), default=0.0)
    forces = []
    for row in rows:
        size = math.hypot(*row.force)
        text = f"{row.name} {formatter.force(size)}" if size > least else f"{row.name}, no force"
        if isinstance(row, ReactionRow) and row.kind == "fixed" and abs(row.moment) > 1.0:
            text += f"\n{formatter.moment(row.moment)}"
        if dents.get(row.name, 0.0) >= 1.0:
            text += f"\ndented, {ratio_text(dents[row.name])} × its limit"
        on_hole = row.on.startswith("hole ")
        patch = _half_hole(row, polygons[1:]) if on_hole else np.array(row.patch).reshape(-1, 2)
        forces.append(Force(row, text, isinstance(row, ReactionRow), patch, on_hole))
    return forces


def _half_hole(row: LoadRow | ReactionRow, holes: list[FloatArray]) -> FloatArray:
    """Return the half of a hole that is pushed, clockwise (wood on the left); nothing for a force of nothing."""
    if not holes or not any(row.force):
        return np.zeros((0, 2))
    hole = min(holes, key=lambda polygon: math.dist(polygon.mean(axis=0), row.at))
    radius = float(np.linalg.norm(hole - np.array(row.at), axis=1).mean())
    angles = math.atan2(row.force[1], row.force[0]) + np.radians(np.linspace(90.0, -90.0, 25))
    return np.array(row.at) + radius * np.stack((np.cos(angles), np.sin(angles)), axis=1)


def draw_pressures(sheet: Sheet, view: View, contacts: Sequence[ContactRow], forces: Sequence[Force]) -> None:
    """Draw the pressure between supports and wood as a shaded strip outside the wood, as high as it is great."""
    case = forces[0].row.case if forces else ""
    rows = [row for row in contacts if row.case == case and len(row.profile) > 1]
    greatest = max((point[4] for row in rows for point in row.profile), default=0.0)
    for row in rows:
        table = np.array(row.profile)
        surface = view(table[:, :2])
        edge = surface + PRESSED * (table[:, 4] / greatest)[:, None] * table[:, 2:4]
        strip = np.concatenate([surface, edge[::-1]])
        sheet.polygon(strip, facecolor=SUPPORT, edgecolor=SUPPORT, alpha=0.35, linewidth=0.6, zorder=6)


def draw_forces(
    sheet: Sheet,
    view: View,
    polygons: Sequence[FloatArray],
    forces: Sequence[Force],
    contacts: Sequence[ContactRow] = (),
) -> None:
    """Draw symbols first, then arrows, then labels, so that labels can stay clear of everything."""
    for force in forces:
        draw_patch(sheet, view, force)
        if len(force.patch) > 1:
            sheet.occupy(view(force.patch), 0.34)
    draw_pressures(sheet, view, contacts, forces)
    biggest = max((math.hypot(*force.row.force) for force in forces), default=0.0)
    arrows = [_arrow(view, polygons, force, biggest) for force in forces]
    for force, arrow in zip(forces, arrows, strict=True):
        if arrow is not None:
            arrow.draw(sheet, force)
    for force, arrow in zip(forces, arrows, strict=True):
        color = SUPPORT if force.reaction else INK
        places = arrow.places() if arrow is not None else _around(view(force.row.at))
        sheet.label(force.text, places, color=color, fontsize=9.0, linespacing=1.25)


@dataclass(frozen=True)
class Arrow:
    """An arrow on the sheet (inches) and, where it acts inside the part, the point its line runs to."""

    tail: FloatArray
    tip: FloatArray
    acts_at: FloatArray | None
    pulls: bool
    beside: FloatArray | None = None  # for a force along the surface: the way out of the wood

    def draw(self, sheet: Sheet, force: Force) -> None:
        """Draw it: loads filled with ink, reactions in outline; a dotted line of action to where it acts."""
        from matplotlib.patches import FancyArrowPatch

        style = {"color": INK} if not force.reaction else {"facecolor": "white", "edgecolor": SUPPORT, "linewidth": 1.2}
        shape = "simple,head_length=9,head_width=9,tail_width=3.2"
        ends = (tuple(self.tail.tolist()), tuple(self.tip.tolist()))
        sheet.add(FancyArrowPatch(*ends, arrowstyle=shape, mutation_scale=1.0, zorder=7, **style))
        sheet.occupy([self.tail, self.tip], 0.16)
        if self.acts_at is not None:
            near = self.tail if self.pulls else self.tip
            color = SUPPORT if force.reaction else INK
            sheet.line([near, self.acts_at], color=color, linewidth=0.9, linestyle=(0, (1, 2.2)), zorder=5)
            sheet.occupy([near, self.acts_at], 0.08)

    def places(self) -> Iterator[tuple[float, float, str, str]]:
        """Yield places for the label: beyond the arrow's outer end, then beside it, then further out."""
        outer, inner = (self.tip, self.tail) if self.pulls else (self.tail, self.tip)
        away = (outer - inner) / max(float(np.linalg.norm(outer - inner)), 1e-9)
        ha, va = _anchors(away)
        middle = 0.5 * (outer + inner)
        if self.beside is not None:
            yield from _along_surface(outer, inner, self.beside)
        if abs(away[1]) < 0.5:
            yield middle[0], middle[1] + 0.14, "center", "bottom"
            yield middle[0], middle[1] - 0.14, "center", "top"
            yield inner[0], inner[1] + 0.14, ha, "bottom"
            yield inner[0], inner[1] - 0.14, ha, "top"
        for step in (0.1, 0.25, 0.4, 0.6):
            x, y = (outer + step * away).tolist()
            yield x, y, ha, va
            level = "middle" if abs(away[1]) > 0.5 else va
            yield x + 0.15, y + 0.02, "left", level
            yield x - 0.15, y + 0.02, "right", level
        yield middle[0] + 0.14, middle[1], "left", "middle"
        yield middle[0] - 0.14, middle[1], "right", "middle"


def _along_surface(outer: FloatArray, inner: FloatArray, beside: FloatArray) -> Iterator[tuple[float, float, str, str]]:
    """Yield places for the label of an arrow along the surface: out from its middle, then beyond either end."""
    x, y = (0.5 * (outer + inner) + 0.16 * beside).tolist()
    yield x, y, *_anchors(beside)
    side = "right" if beside[0] < 0 else "left"
    for end, other in ((outer, inner), (inner, outer)):
        away = (end - other) / max(float(np.linalg.norm(end - other)), 1e-9)
        x, y = (end + 0.1 * away - 0.12 * beside).tolist()
        yield x, y, side, _anchors(away)[1]


def _anchors(away: FloatArray) -> tuple[str, str]:
    if abs(away[1]) >= abs(away[0]):
        return "center", "bottom" if away[1] > 0 else "top"
    return "left" if away[0] > 0 else "right", "middle"


def _around(at: FloatArray) -> Iterator[tuple[float, float, str, str]]:
    for reach in (0.3, 0.5, 0.8):
        for angle in np.radians([90, -90, 0, 180, 45, -45, 135, -135]):
            away = np.array([math.cos(angle), math.sin(angle)])
            ha, va = _anchors(away)
            x, y = (at + reach * away).tolist()
            yield x, y, ha, va


def _arrow(view: View, polygons: Sequence[FloatArray], force: Force, biggest: float) -> Arrow | None:
    """Place an arrow outside the part, on the force's line of action; None for a force of nothing."""
    size = math.hypot(*force.row.force)
    if size <= 1e-5 * biggest or size == 0.0:
        return None
    along = np.array(force.row.force) / size
    length = 0.38 + 0.5 * size / biggest
    at = view(force.row.at)
    gap = SYMBOL + 0.06 if isinstance(force.row, ReactionRow) and force.row.kind != "pin" else 0.04
    if len(force.patch) > 1 and not force.on_hole:
        outward = _outward(force.patch)
        if abs(along @ outward) <= 0.25:  # along the surface: beside its middle
            tip = at + (gap + 0.1) * outward + 0.5 * length * along
            return Arrow(tip - length * along, tip, None, False, outward)
        if along @ outward < 0.0:
            tip = at - gap * along
            return Arrow(tip - length * along, tip, None, False)
        return Arrow(at + gap * along, at + (gap + length) * along, None, True)
    return _through(view, polygons, at, along, length)


def _outward(patch: FloatArray) -> FloatArray:
    """Return the unit normal out of the wood, on the right of the way along the patch."""
    run = patch[-1] - patch[0]
    return np.array([run[1], -run[0]]) / max(float(np.linalg.norm(run)), 1e-12)


def _through(view: View, polygons: Sequence[FloatArray], at: FloatArray, along: FloatArray, length: float) -> Arrow:
    """Place the arrow of a force inside the part (a pin's, a weight's) outside it, on the nearer side."""
    outer = [view(polygons[0])]
    steps = np.arange(0.0, 30.0, 0.02)[:, None]
    behind, ahead = (_leaves(at + sign * steps * along, outer) for sign in (-1.0, 1.0))
    if behind <= ahead + 0.3:
        tip = at - (behind + 0.08) * along
        return Arrow(tip - length * along, tip, at, False)
    tail = at + (ahead + 0.08) * along
    return Arrow(tail, tail + length * along, at, True)


def _leaves(points: FloatArray, polygons: list[FloatArray]) -> float:
    within = inside(points, polygons)
    return 0.02 * (int(np.flatnonzero(within)[-1]) + 1) if within.any() else 0.0


def draw_patch(sheet: Sheet, view: View, force: Force) -> None:
    """Draw what touches the wood: a pin in its hole, a block, a wall, rollers, a spring, a load's width."""
    row = force.row
    patch = view(force.patch) if len(force.patch) > 1 else None
    if isinstance(row, LoadRow):
        if patch is not None:
            sheet.line(patch, linewidth=3.0, solid_capstyle="butt", zorder=6, clip=view.clip)
        return
    if row.kind == "pin":
        _pin(sheet, view, force)
    elif patch is not None:
        draw = {"rest": _block, "fixed": _wall, "roller": _rollers, "spring": _spring}.get(row.kind, _wall)
        draw(sheet, patch, view)
    else:
        sheet.circle(view(row.at), 0.06, facecolor=BLOCK, edgecolor=SUPPORT, zorder=5, clip=view.clip)


def _pin(sheet: Sheet, view: View, force: Force) -> None:
    center, radius = view(force.row.at), 0.11
    if len(force.patch):
        radius = view.scale * math.dist(force.patch[0], force.row.at)
    style = {"color": SUPPORT, "linewidth": 0.8, "zorder": 5.5, "clip": view.clip}
    sheet.circle(center, 0.95 * radius, facecolor=BLOCK, edgecolor=SUPPORT, linewidth=1.2, zorder=5, clip=view.clip)
    for arm in (np.array([1.0, 0.0]), np.array([0.0, 1.0])):
        sheet.line([center - 0.5 * radius * arm, center + 0.5 * radius * arm], **style)


def _band(patch: FloatArray, depth: float) -> FloatArray:
    """Return the closed strip between a patch and its copy ``depth`` inches out of the wood (negative: into it)."""
    tangent = np.gradient(patch, axis=0)
    normal = np.stack((tangent[:, 1], -tangent[:, 0]), axis=1)
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-12)
    return np.vstack((patch, (patch + depth * normal)[::-1]))


def _block(sheet: Sheet, patch: FloatArray, view: View) -> None:
    sheet.polygon(_band(patch, SYMBOL), facecolor=BLOCK, edgecolor=SUPPORT, zorder=5, clip=view.clip)


def _wall(sheet: Sheet, patch: FloatArray, view: View) -> None:
    band = _band(patch, 0.8 * SYMBOL)
    sheet.polygon(band, facecolor=BLOCK, edgecolor=SUPPORT, linewidth=0.0, hatch="////", zorder=5, clip=view.clip)
    sheet.line(patch, color=SUPPORT, linewidth=2.2, zorder=6, clip=view.clip)


def _rollers(sheet: Sheet, patch: FloatArray, view: View) -> None:
    outward = _outward(patch)
    count = max(2, min(6, int(np.linalg.norm(patch[-1] - patch[0]) / 0.18)))
    radius = 0.4 * SYMBOL
    for share in (np.arange(count) + 0.5) / count:
        center = patch[0] + share * (patch[-1] - patch[0]) + radius * outward
        sheet.circle(center, radius, facecolor=BLOCK, edgecolor=SUPPORT, zorder=5, clip=view.clip)
    sheet.line(patch[[0, -1]] + 2.2 * radius * outward, color=SUPPORT, linewidth=1.2, zorder=5, clip=view.clip)


def _spring(sheet: Sheet, patch: FloatArray, view: View) -> None:
    outward = _outward(patch)
    across = np.array([-outward[1], outward[0]])
    middle = 0.5 * (patch[0] + patch[-1])
    out = np.linspace(0.0, SYMBOL, 8)[:, None] * outward
    zigzag = middle + out + 0.07 * np.array([0, 1, -1, 1, -1, 1, -1, 0])[:, None] * across
    sheet.line(zigzag, color=SUPPORT, linewidth=1.2, zorder=5, clip=view.clip)
    sheet.line([zigzag[-1] - 0.15 * across, zigzag[-1] + 0.15 * across], color=SUPPORT, zorder=5, clip=view.clip)


def draw_dents(sheet: Sheet, view: View, verdict: Verdict, forces: list[Force]) -> None:
    """Hatch the wood under each patch that is dented; never colour it, for a dent decides nothing."""
    case = forces[0].row.case if forces else ""
    over = {row.name for row in verdict.beside if row.case == case and row.end == "dents" and row.utilisation >= 1.0}
    for force in forces:
        if force.row.name in over and len(force.patch) > 1:
            band = _band(view(force.patch), -0.13)
            style = {"facecolor": "none", "edgecolor": FAINT, "linewidth": 0.6, "hatch": "xxxxx", "zorder": 4.5}
            sheet.polygon(band, clip=view.clip, **style)
