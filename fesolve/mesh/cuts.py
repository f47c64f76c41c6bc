"""Refusal of cuts that meet no wood."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import InputError
from ..part.model import Part

if TYPE_CHECKING:
    from .outline import Outline

SLIVER = 1e-6  # mm


def check_cuts(part: Part, outline: Outline) -> None:
    """Refuse a [[cut]] between whose points there is no wood.

    Raises
    ------
    InputError
        With both points, and where the part lies.
    """
    for number, cut in enumerate(part.cuts, start=1):
        (ax, ay), (bx, by) = cut.start, cut.stop
        length = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
        if any((stop - start) * length > SLIVER for start, stop in outline.clip_line(cut.start, cut.stop)):
            continue
        x0, y0, x1, y1 = outline.bounds
        raise InputError(
            f'Cut "{cut.name}" misses the part: there is no wood between ({ax:g}, {ay:g}) and ({bx:g}, {by:g}) mm. '
            f"The part lies from x = {x0:g} to {x1:g} and from y = {y0:g} to {y1:g} mm; draw the cut across it.",
            key=f"cut.{number}.from",
        )
