"""The words for a basis: which pieces a verdict is about, `mean`, a lower percentage of clear wood, or `design`."""

from __future__ import annotations

import re
from typing import Final

MEAN: Final = "mean"
LOWER: Final = "lower 5%"
DESIGN: Final = "design"
SERVICE: Final = {
    1: "indoors and heated, wood at most at about 12 % moisture",
    2: "under a roof, at most at about 20 %",
    3: "in the open, wetter",
}
"""Service classes of EN 1995-1-1:2004, 2.3.1.3 (from memory)."""
LEAST, MOST = 0.001, 0.5  # share of pieces below a lower value; beyond them scatter is not known, or it is no lower one
_LOWER = re.compile(r"lower ([0-9]{1,2}(?:\.[0-9]{1,2})?) ?%")


def share_below(basis: str) -> float | None:
    """Share of clear pieces that are weaker than a basis, from its words; None for other words.

    Parameters
    ----------
    basis : str
        ``lower 5%``, ``lower 10%``, ``lower 0.5%``.

    Examples
    --------
    >>> share_below("lower 5%"), share_below("lower 12.5 %"), share_below("design"), share_below("lower 60%")
    (0.05, 0.125, None, None)
    """
    found = _LOWER.fullmatch(basis)
    share = float(found[1]) / 100.0 if found else 0.0
    return share if LEAST <= share < MOST else None


def spelled(basis: str) -> str:
    """A basis as it is spelled everywhere: without a blank before the percent sign, and without idle zeros.

    Examples
    --------
    >>> spelled("lower 10 %"), spelled("lower 5.0%"), spelled("mean")
    ('lower 10%', 'lower 5%', 'mean')
    """
    share = share_below(basis)
    return basis if share is None else f"lower {100.0 * share:g}%"
