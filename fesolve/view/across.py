"""Words for what breaks across the fibres or crushes them, alone or by all stresses together."""

from __future__ import annotations

from ..judge.verdict import COMBINED, MODES, TENSION_ALONG, ModeRow
from ..units import Formatter

BASE = {"splits": "split", "breaks": "break", "crushes": "crush", "fails": "fail"}
STARTS = {
    "breaks": "Breaks across the fibres",
    "crushes": "Crushes along the fibres",
    "fails": "Fails, pressed along the fibres and sheared,",
}


def is_across(row: ModeRow) -> bool:
    """Whether what gives way first is no split between fibres, so that no line along the grain shows it.

    The fibres themselves do, by tension or by all stresses together; or a mode that another package brings is met.
    """
    return row.mode in {TENSION_ALONG, COMBINED} or is_further(row)


def is_further(row: ModeRow) -> bool:
    """Whether another package brings the mode."""
    return row.mode not in MODES


def starts(row: ModeRow) -> str:
    """What happens, where it is no split: ``Breaks across the fibres``."""
    return f"{verb_of(row).capitalize()}, by {row.mode}," if is_further(row) else STARTS[verb_of(row)]


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
    """Why stresses together are worse than each: their means, and by which criterion."""
    if row.means is None:
        return f"Stress along the grain, across it and shear act together ({choice}); none of them alone is as bad."
    parts = _parts(row.means, formatter)
    if len(parts) == 1:
        return f"{parts[0]}, on the mean of a length of fibres inside the wood ({choice})."
    return f"{', '.join(parts)} act together ({choice}); none of them alone is as bad."


def by_others(row: ModeRow, package: str, formatter: Formatter) -> str:
    """Why a mode of another package governs: its word, whose it is, and the stresses that it was asked about."""
    acts = f": {', '.join(_parts(row.means, formatter))}" if row.means is not None else ""
    return f"By {row.mode}, a mode of {package}, on the mean of a length of fibres{acts}."


def _parts(means: tuple[float, float, float], formatter: Formatter) -> list[str]:
    """Means of σ_0, σ_90, τ in words; what is below a hundredth of the greatest is left out."""
    along, across, _ = means
    words = (
        f"{'pressed' if along < 0.0 else 'pulled'} along the grain",
        f"{'pressed' if across < 0.0 else 'pulled'} across it",
        "shear",
    )
    least = 0.01 * max(map(abs, means))
    pairs = zip(means, words, strict=True)
    return [f"{formatter.stress(abs(value))} {word}" for value, word in pairs if abs(value) >= least]
