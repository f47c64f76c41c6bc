"""compare.json and compare.png, in a folder of their own."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ..judge.comparison import Comparison
from ..judge.verdict import Verdict
from ..units import Formatter
from .files import Shown, new_folder, plain, try_drawing

COMPARE = "compare.json"
PICTURE = "compare.png"


@dataclass(frozen=True)
class Panel:
    """One variant that was checked, as it is drawn."""

    name: str
    verdict: Verdict
    shown: Shown


def comparison_json(comparison: Comparison) -> str:
    """Return the comparison as JSON text: always mm, N, N mm, MPa, kg, and finite numbers only."""
    return json.dumps(plain(comparison), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def save_comparison(
    folder: Path | str, comparison: Comparison, panels: Sequence[Panel], *, formatter: Formatter, pictures: bool = True
) -> list[str]:
    """Write the folder of a comparison.

    Parameters
    ----------
    folder : path
        An earlier comparison is replaced whole.
    comparison : Comparison
    panels : sequence of Panel
        In the order in which they are drawn.
    formatter : Formatter
        Units of the picture.
    pictures : bool
        Whether to draw it.

    Returns
    -------
    list of str
        Notes for the user: what is missing, and why.

    Raises
    ------
    InputError
        If the folder holds something else, or cannot be written.
    """
    notes: list[str] = []
    with new_folder(folder, COMPARE) as draft:
        (draft / COMPARE).write_text(comparison_json(comparison), encoding="utf-8")
        if pictures and panels:

            def draw(path: Path) -> None:
                from .side_by_side import draw_side_by_side

                notes.extend(draw_side_by_side(comparison, panels, path, formatter))

            note = try_drawing(PICTURE, draw, draft / PICTURE)
            notes += [note] if note else []
    return notes
