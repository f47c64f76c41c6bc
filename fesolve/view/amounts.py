"""Loads and ratios as people read them."""

from __future__ import annotations

from ..units import Formatter

ALL_LOADS = "all loads together"
TIMES_LOADS = "times the loads"


def load_text(value: float, of: str, formatter: Formatter) -> str:
    """Return a load in the verdict's own quantity: a force, or a factor on all loads."""
    if of == ALL_LOADS:
        return f"{ratio_text(value)} {TIMES_LOADS}"
    return formatter.force(value)


def ratio_text(value: float) -> str:
    """Return a ratio with the digits that it deserves.

    Examples
    --------
    >>> ratio_text(0.694), ratio_text(1.149), ratio_text(2.23), ratio_text(14.3)
    ('0.69', '1.15', '2.2', '14')
    """
    if value < 2.0:
        return f"{value:.2f}"
    return f"{value:.1f}" if value < 10.0 else f"{value:.0f}"
