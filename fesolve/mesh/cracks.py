"""The cracks that a part has already, laid into its outline: along the grain, from the surface or inside the wood."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np

from ..errors import InputError
from ..part.facing import way
from ..part.model import Crack, Part
from .curves import Curve, Point, as_point, distance, line
from .mouths import Mouth, line_of, mouth_near, wood_ahead
from .outline import Outline
from .regions import BODY, region_at
from .splits import SplitLine
from .trace import mm

ACROSS = 15.0  # deg: a stated direction further than this from the grain is no crack along it
AT_SURFACE = 0.5  # mm: a crack that begins this near to the surface begins on it
LEFT = 0.05  # of the wood ahead that has to be left, or the part would be in two pieces


def grain_at(part: Part, place: Point) -> float:
    """Angle (deg) from +x to the fibres at a place."""
    index = int(region_at(part, [place])[0])
    own = None if index == BODY else part.regions[index].grain
    return part.wood.grain if own is None else own


def stated_lines(part: Part, outline: Outline) -> list[SplitLine]:
    """The lines of all [[crack]] tables.

    Raises
    ------
    InputError
        For a crack off the wood, across the grain, that parts the piece, or that meets another one.
    """
    lines = [_line(part, outline, crack, f"crack.{number}") for number, crack in enumerate(part.cracks, 1)]
    for (i, one), (j, other) in combinations(enumerate(lines), 2):
        gap, at, _ = distance(_drawn(one), _drawn(other))
        if gap < 0.1 * min(one.tips[-1], other.tips[-1]):
            raise InputError(
                f'Cracks "{part.cracks[i].name}" and "{part.cracks[j].name}" come within {mm(gap)} of each other near '
                f"({at[0]:.6g}, {at[1]:.6g}) mm. Join them into one, or leave the shorter one out.",
                key=f"crack.{j + 1}.at",
            )
    return lines


def _drawn(one: SplitLine) -> Curve:
    return line(one.start, one.at(one.tips[-1]))


def _line(part: Part, outline: Outline, crack: Crack, key: str) -> SplitLine:
    gap, curve = outline.nearest_curve(crack.at)
    on_surface = gap <= AT_SURFACE
    if not on_surface and not outline.contains(crack.at)[0]:
        x, y = crack.at
        raise InputError(
            f'Crack "{crack.name}" begins at ({x:.6g}, {y:.6g}) mm, {mm(gap)} outside the wood ({curve.names[0]} is '
            "nearest). Move it on to the wood.",
            key=f"{key}.at",
        )
    angle = math.radians(grain_at(part, crack.at))
    direction = _direction(outline, crack, (math.cos(angle), math.sin(angle)), key, on_surface=on_surface)
    if on_surface:
        mouth = mouth_near(outline, crack.at, direction, AT_SURFACE * 2)
        if isinstance(mouth, str):
            raise InputError(f'Crack "{crack.name}": {mouth}. Move it, or turn it.', key=f"{key}.at")
    else:
        mouth = Mouth(crack.at, direction, wood_ahead(outline, crack.at, direction))
    if crack.length > (1.0 - LEFT) * mouth.ahead:
        raise InputError(
            f'Crack "{crack.name}" is {mm(crack.length)} long, and the wood ahead of it ends (or another region '
            f"begins) after {mm(mouth.ahead)}: it would part the piece. Make it shorter than "
            f"{mm((1.0 - LEFT) * mouth.ahead)}.",
            key=f"{key}.length",
        )
    return line_of(outline, crack.name, mouth, (crack.length,), inside=not on_surface, most=part.mesh.size)


def _direction(outline: Outline, crack: Crack, grain: Point, key: str, *, on_surface: bool) -> Point:
    """Along the grain, in the sense that is stated, or into the wood."""
    back = (-grain[0], -grain[1])
    if crack.direction is not None:
        cosine = float(np.dot(crack.direction, grain))
        if abs(cosine) < math.cos(math.radians(ACROSS)):
            turned = math.degrees(math.acos(min(1.0, abs(cosine))))
            raise InputError(
                f'Crack "{crack.name}" runs {way(crack.direction)}, {turned:.0f} deg to the grain; wood splits along '
                f"the grain, so only directions within {ACROSS:g} deg of it are taken: {way(grain)} or {way(back)}.",
                key=f"{key}.direction",
            )
        return grain if cosine > 0 else back
    ways = [one for one in (grain, back) if wood_ahead(outline, _eased(outline, crack.at), one) > crack.length / 2]
    if len(ways) == 1 and on_surface:
        return ways[0]
    raise InputError(
        f'Crack "{crack.name}" can run {way(grain)} or {way(back)} from there; write which: '
        f'direction = "right", "left", "up", "down" or [dx, dy].',
        key=f"{key}.direction",
    )


def _eased(outline: Outline, place: Point) -> Point:
    """The nearest point of the surface, so that a place a little off it does."""
    gap, curve = outline.nearest_curve(place)
    return curve.nearest(place)[1] if gap <= AT_SURFACE else as_point(np.asarray(place, dtype=float))
