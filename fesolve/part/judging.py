"""The [judging] table: by which criterion stresses act together, and whether the effect of size is shown."""

from __future__ import annotations

from typing import cast

from ..bases import DESIGN
from .document import Section
from .model import Interaction, Judging

KEYS = ("combined", "size_effect")
COMBINED = {
    "Norris": "the sum of squares, each stress over its strength (the default)",
    "Norris with product": "the same less the product of both normal stresses",
    "Tsai-Hill": "the same with the product over the square of the strength along the grain",
    "Hoffman": "one surface through tension and compression strengths",
    "Tsai-Wu": "one surface too, with a greater product of both normal stresses",
}


def read_judging(document: Section, basis: str) -> Judging:
    """Read [judging].

    Parameters
    ----------
    document : Section
        The part file.
    basis : str
        Of the strengths.

    Returns
    -------
    Judging

    Raises
    ------
    InputError
        For a key or a choice that is not known, and for an effect of size wanted on the design basis.
    """
    section = document.section("judging", "[judging]")
    if section is None:
        return Judging(size_effect=basis != DESIGN)
    section.allow(KEYS)
    combined = section.choice("combined", COMBINED)
    size_effect = section.flag("size_effect")
    if size_effect and basis == DESIGN:
        raise section.error(
            "size_effect",
            'The effect of size is not for basis "design": its code has factors for size of its own. Leave size_effect '
            "out, or choose another basis.",
        )
    shown = basis != DESIGN if size_effect is None else size_effect
    return Judging(combined=cast(Interaction, combined or Judging().combined), size_effect=shown)
