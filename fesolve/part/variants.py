"""The same part held a little differently where the part file leaves it open: friction, and a pin that has worn."""

from __future__ import annotations

from dataclasses import dataclass

from .model import Part, Support
from .shape import hole_named

FRICTION = 0.3  # the upper end of the bracket where friction is not known; the lower end is none


@dataclass(frozen=True)
class Variant:
    """One of them: what is different, in words, and the part."""

    what: str
    part: Part


def variants(part: Part) -> tuple[Variant, ...]:
    """Parts to run beside the one as drawn, which has no friction where none is given and its pins as made.

    Returns
    -------
    tuple of Variant
        With friction 0.3 where it is not known, and with each pin worn to its stated play.
    """
    found = []
    unknown = [one.name for one in part.supports if one.kind in ("rest", "pin") and one.friction is None]
    if unknown:
        changed = {name: {"friction": FRICTION} for name in unknown}
        found.append(Variant(f"friction {FRICTION:g} where none is given", _with(part, changed)))
    for one in part.supports:
        if one.worn is not None:
            pin = hole_named(part.holes, one.on.name).diameter - one.worn
            what = f'pin "{one.name}" worn to a play of {one.worn:g} mm'
            found.append(Variant(what, _with(part, {one.name: {"pin": pin}})))
    return tuple(found)


def _with(part: Part, changed: dict[str, dict[str, float]]) -> Part:
    def new(one: Support) -> Support:
        return one.model_copy(update=changed[one.name]) if one.name in changed else one

    return part.model_copy(update={"supports": tuple(new(one) for one in part.supports)})
