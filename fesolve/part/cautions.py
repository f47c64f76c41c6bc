"""What a part file asks for and this version does not do, as full sentences for the verdict."""

from __future__ import annotations

from collections.abc import Iterator

from .model import Case, Hole, Support
from .shape import hole_named


def not_modelled(
    supports: tuple[Support, ...],
    holes: tuple[Hole, ...],
    cases: tuple[Case, ...],
) -> tuple[str, ...]:
    """Collect a sentence for each thing that was read and is not modelled.

    Parameters
    ----------
    supports, holes, cases
        As read.

    Returns
    -------
    tuple of str
        Supports first, then cases.
    """
    sentences = [sentence for support in supports for sentence in _support(support, holes)]
    for case in cases:
        if case.duration is not None:
            sentences.append(
                f'How long case "{case.name}" lasts ({case.duration}) is not taken into account: '
                "strengths are those of a test of a few minutes."
            )
    return tuple(sentences)


def _support(support: Support, holes: tuple[Hole, ...]) -> Iterator[str]:
    name = f'"{support.name}"'
    if support.kind == "pin":
        diameter = hole_named(holes, support.on.name).diameter
        play = diameter - (diameter if support.pin is None else support.pin)
        amount = f" of {play:g} mm" if play > 0.0 else ""
        yield (
            f"Pin {name}: play{amount}, friction and the true contact arc are not modelled yet; it is a rigid round "
            "pin that bears on the half of the hole that faces the force."
        )
    if support.kind == "rest":
        yield f"Rest {name} holds both ways here: where its reaction pulls, the part would in truth lift off."
    if support.gap is not None:
        yield f"The gap of {support.gap:g} mm at rest {name} is not modelled: the part touches it from the start."
    if support.friction is not None:
        yield f"The friction of {support.friction:g} at {support.kind} {name} is not modelled: it slides freely."
