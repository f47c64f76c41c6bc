"""Words for what breaks across the fibres or crushes them, alone or by all stresses together."""

from __future__ import annotations

from ..judge.verdict import COMBINED, TENSION_ALONG, ModeRow
from ..units import Formatter

BASE = {"splits": "split", "breaks": "break", "crushes": "crush", "fails": "fail"}
STARTS = {
    "breaks": "Breaks across the fibres",
    "crushes": "Crushes along the fibres",
    "fails": "Fails, pressed along the fibres and sheared,",
}


def is_across(row: ModeRow) -> bool:
    """Whether the fibres themselves give way first, by tension or by all stresses together, not the wood between."""
    return row.mode in {TENSION_ALONG, COMBINED}


def verb_of(row: ModeRow) -> str:
    """What the wood does: ``splits``, ``breaks``, ``crushes``, ``fails``.

    Where all stresses act together and the fibres are pressed, nothing breaks across them: they crush where that
    pressure has the greatest share, else they fail by more than one thing.
    """
    if not is_across(row):
        return "splits"
    if row.end == "crushes":
        return "crushes"
    return "fails" if row.mode == COMBINED and row.means is not None and row.means[0] < 0.0 else "breaks"


def together(row: ModeRow, choice: str, formatter: Formatter) -> str:
    """Why stresses together are worse than each: their means, and by which criterion.

    What is below a hundredth of the greatest is left out.
    """
    if row.means is None:
        return f"Stress along the grain, across it and shear act together ({choice}); none of them alone is as bad."
    along, across, _ = row.means
    words = (
        f"{'pressed' if along < 0.0 else 'pulled'} along the grain",
        f"{'pressed' if across < 0.0 else 'pulled'} across it",
        "shear",
    )
    least = 0.01 * max(map(abs, row.means))
    pairs = zip(row.means, words, strict=True)
    parts = [f"{formatter.stress(abs(value))} {word}" for value, word in pairs if abs(value) >= least]
    if len(parts) == 1:
        return f"{parts[0]}, on the mean of a length of fibres inside the wood ({choice})."
    return f"{', '.join(parts)} act together ({choice}); none of them alone is as bad."
