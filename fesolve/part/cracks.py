"""The [[crack]] tables: checks from drying and partial splits that are there already, along the grain."""

from __future__ import annotations

from .actions import DIRECTIONS
from .document import Section
from .model import Crack
from .shape import name_of

KEYS = ("name", "at", "length", "direction")


def read_cracks(document: Section) -> tuple[Crack, ...]:
    """Read the cracks; where they lie in the wood is looked at when the part is drawn.

    Raises
    ------
    InputError
        For names used twice, and cracks without a place or a length above 0.
    """
    cracks: dict[str, Crack] = {}
    for section in document.sections("crack"):
        section.allow(KEYS)
        name = name_of(section, cracks, "cracks")
        at = section.point("at", "length")
        if at is None:
            raise section.missing("at", 'where it begins, as in at = ["0 mm", "70 mm"].')
        length = section.above_zero("length", "length")
        if length is None:
            raise section.missing("length", 'how far it runs along the grain, as in length = "40 mm".')
        direction = section.direction("direction", DIRECTIONS)
        cracks[name] = Crack(name=name, at=at, length=length, direction=direction)
    return tuple(cracks.values())
