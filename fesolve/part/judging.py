"""The [judging] table: by which criterion stresses act together."""

from __future__ import annotations

from typing import cast

from .document import Section
from .model import Interaction, Judging

KEYS = ("combined",)
COMBINED = {
    "Norris": "the sum of squares, each stress over its strength (the default)",
    "Norris with product": "the same less the product of both normal stresses",
    "Tsai-Hill": "the same with the product over the square of the strength along the grain",
    "Hoffman": "one surface through tension and compression strengths",
    "Tsai-Wu": "one surface too, with a greater product of both normal stresses",
}


def read_judging(document: Section) -> Judging:
    """Read [judging].

    Parameters
    ----------
    document : Section
        The part file.

    Returns
    -------
    Judging

    Raises
    ------
    InputError
        For a key or a choice that is not known.
    """
    section = document.section("judging", "[judging]")
    if section is None:
        return Judging()
    section.allow(KEYS)
    combined = section.choice("combined", COMBINED)
    return Judging() if combined is None else Judging(combined=cast(Interaction, combined))
