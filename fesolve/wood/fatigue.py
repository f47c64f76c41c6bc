"""What is left of a static strength when its load comes again and again.

Straight lines of strength over the logarithm of the number of cycles, through 100 % at one cycle and a handbook's point
each. They are used between 10^3 and 10^7.5 cycles; below that they only join the point to a single load, and above
nothing is known.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log10

from ..errors import InputError
from . import tables
from .model import CHOICE

LEAST, MOST = 1e3, 10**7.5  # cycles: nothing is claimed outside
USUAL = 100_000  # blows whose figure stands beside that for one
FATIGUE_SOURCE = "USDA Wood Handbook, FPL-GTR-282 (2021), Table 5-17, range ratio 0.1; straight line from 100 % at 1"
FATIGUE_STATUS = "points from memory; the line is a choice of this program"
CLEAR, ONE, BOTH = "clear", "knots or slope of grain", "knots and slope of grain"
_ROW = {
    "shear": ("shear along the grain", "glued-laminated"),
    "tension": ("tension along the grain", "clear, straight grain"),
    "compression": ("compression along the grain", "clear, straight grain"),
    "bending": ("bending", "clear, straight grain, third-point loading"),
    f"bending, {ONE}": ("bending", "small knots or slope of grain 1 in 12"),
    f"bending, {BOTH}": ("bending", "small knots and slope of grain 1 in 12"),
    "bending, reversed": ("bending, reversed", "clear, cantilever or rotating"),
}
CODE_LINES = {"shear": (6.7, 1.3), "tension": (9.5, 1.1), "bending": (9.5, 1.1), "compression": (2.0, 9.0)}


@dataclass(frozen=True)
class Point:
    """One point of the handbook: ``percent`` of the static strength lasts ``cycles``."""

    percent: float
    cycles: float
    source: str
    status: str


def point_of(line: str) -> Point:
    """The handbook's point of a line: ``shear``, ``tension``, ``compression``, ``bending`` or ``bending, reversed``."""
    wanted = _ROW[line]
    row = next(row for row in tables.rows("fatigue") if (row["property"], row["piece"]) == wanted)
    return Point(float(row["strength_percent"]), 1e6 * float(row["life_million"]), row["source"], row["status"])


def loss_per_decade(line: str) -> float:
    """Share of the static strength lost with each tenfold number of cycles.

    Examples
    --------
    Shear (100 - 45)/log10(30 million), bending (100 - 60)/log10(2 million):

    >>> round(100 * loss_per_decade("shear"), 1), round(100 * loss_per_decade("bending"), 1)
    (7.4, 6.3)
    """
    point = point_of(line)
    return (1.0 - point.percent / 100.0) / log10(point.cycles)


def fatigue_factor(line: str, cycles: float) -> float:
    """Share of the static strength that is left after a number of cycles, 1 - loss log10(N).

    Parameters
    ----------
    line : str
        As for `point_of`.
    cycles : float
        N, from 1 to 10^7.5.

    Raises
    ------
    InputError
        For less than one cycle, or more than the line is drawn for.

    References
    ----------
    The handbook's points (from memory); the straight line is a choice of this program.

    Examples
    --------
    >>> fatigue_factor("shear", 1.0), round(fatigue_factor("shear", 100_000), 3)
    (1.0, 0.632)
    """
    if not 1.0 <= cycles <= MOST:
        raise InputError(f"{cycles:.3g} cycles: figures are known for 1 to {MOST:.3g}.", key="repeats")
    return 1.0 - loss_per_decade(line) * log10(cycles)


def code_fatigue_factor(line: str, cycles: float, *, range_ratio: float = 0.1, severe: bool = False) -> float:
    """k_fat = 1 - (1 - R) log10(β N)/(a (b - R)), at least 0: a design line for characteristic strengths.

    Parameters
    ----------
    line : str
        ``shear``, ``tension``, ``bending`` or ``compression``.
    cycles : float
        N.
    range_ratio : float
        R, least over greatest stress.
    severe : bool
        Whether a failure has severe consequences: β = 3, else 1.

    References
    ----------
    EN 1995-2:2004, annex A (from memory).

    Examples
    --------
    >>> round(code_fatigue_factor("shear", 3e7), 2)         # 1 - 0.9 x 7.477/(6.7 x 1.2)
    0.16
    """
    a, b = CODE_LINES[line]
    loss = (1.0 - range_ratio) * log10((3.0 if severe else 1.0) * cycles) / (a * (b - range_ratio))
    return max(0.0, 1.0 - max(0.0, loss))


def bending_line(*, knots: bool, slope: bool) -> str:
    """Which bending line belongs to a piece with knots, or with grain that dives 1 in 12 or steeper, or both."""
    return f"bending, {BOTH}" if knots and slope else f"bending, {ONE}" if knots or slope else "bending"


def beyond(cycles: float) -> str:
    """What to say of a number of cycles for which nothing is claimed; empty inside the range."""
    if cycles < LEAST:
        return (
            f"below {LEAST:,.0f} cycles nothing is claimed: the line only joins its point to a single load ({CHOICE})"
        )
    return ""
