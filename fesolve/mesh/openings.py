"""Openings of any form: their curves, and refusals of those that do not fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from ..errors import InputError
from ..part.model import Opening, Part, edge_names
from .checks import called, check_loop
from .curves import TOUCH, Curve, CurveSet, distance
from .holes import hole_loop
from .patches import name_opening
from .trace import raw_edges, trace

CORNERS = "outline.corners"


@dataclass(frozen=True)
class Cut:
    """An opening drawn: its curves clockwise, the corners that are still sharp, and the full lengths of its edges."""

    loop: tuple[Curve, ...]
    sharp: tuple[str, ...]
    lengths: dict[str, float]


def draw_openings(part: Part, outer: Sequence[Curve]) -> tuple[Cut, ...]:
    """Draw the openings of a part, each with the wood on its left.

    Parameters
    ----------
    part : Part
    outer : sequence of Curve
        The outer loop.

    Raises
    ------
    InputError
        For one that crosses itself, the outline, a hole or another one.
    """
    if not part.openings:
        return ()
    found = tuple(_draw(part, opening) for opening in part.openings)
    if part.shape is not None:
        return found  # the mesh has been looked at, and its corners may be rough
    shape = CurveSet(outer)
    for opening, cut in zip(part.openings, found, strict=True):
        if not shape.contains(np.array([cut.loop[0].start]))[0]:
            raise _error(opening, f"lies outside the outline, at {_at(cut.loop[0].start)}. Move it inside.")
        _check_apart(opening, cut.loop, outer)
        for hole in part.holes:
            _check_apart(opening, cut.loop, hole_loop(hole))
    for (one, first), (two, second) in combinations(zip(part.openings, found, strict=True), 2):
        _check_apart(two, second.loop, first.loop)
        if CurveSet(first.loop).contains(np.array([second.loop[0].start]))[0]:
            raise _error(two, f'lies within opening "{one.name}". Take one of them out.')
    return found


def _draw(part: Part, opening: Opening) -> Cut:
    """Draw one as if it were an outline, then turn it round."""
    alone = part.model_copy(update={"corners": opening.corners, "notches": (), "holes": (), "openings": ()})
    try:
        edges = raw_edges(alone)
        if part.shape is None:
            check_loop([edge.curve for edge in edges], alone)
        traced = trace(alone, edges)
        if part.shape is None:
            check_loop([piece.curve for piece in traced.pieces], alone)
        curves = name_opening(alone, traced)
    except InputError as error:
        if error.key and error.key.startswith(CORNERS):
            error.key = f"{_key(opening)}{error.key.removeprefix(CORNERS)}"
            error.message = f'Opening "{opening.name}": {error.message}'
        raise
    names = [corner.name for corner in opening.corners]
    lengths = {edge.name: edge.length for edge in edges}
    return Cut(
        tuple(curve.reverse() for curve in reversed(curves)),
        tuple(names[i] for i in sorted(traced.sharp)),
        {name: lengths[name] for name in edge_names(opening.corners)},
    )


def _check_apart(opening: Opening, loop: Sequence[Curve], others: Sequence[Curve]) -> None:
    """Refuse an opening that crosses or touches other curves."""
    for one in loop:
        for other in others:
            gap, place, _ = distance(one, other)
            if gap < TOUCH:
                raise _error(opening, f"crosses or touches {called(other)} at {_at(place)}. Leave wood between them.")


def _error(opening: Opening, what: str) -> InputError:
    return InputError(f'Opening "{opening.name}" {what}', key=_key(opening))


def _key(opening: Opening) -> str:
    return opening.key if opening.key.startswith("outline.") else f"{opening.key}.corners"


def _at(place: tuple[float, float]) -> str:
    return f"({place[0]:.6g}, {place[1]:.6g}) mm"
