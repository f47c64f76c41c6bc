"""Grain that slopes out of the drawn face: what it leaves of the strength of straight-grained wood."""

from __future__ import annotations

from itertools import pairwise
from math import atan, cos, sin

from . import tables

SLOPE_SOURCE = "USDA Wood Handbook, FPL-GTR-282 (2021), Table 5-12"
SLOPE_STATUS = "from memory"
EXPONENTS, RATIOS = (1.5, 2.0), (0.04, 0.10)  # of bending: Table 5-11 (from memory)
COLUMNS = ("MOR_percent", "impact_bending_percent", "comp_parallel_percent")


def slope_shares(run: float) -> tuple[float, float, float] | None:
    """Shares of the straight-grained modulus of rupture, impact bending and compression along the grain.

    Linear between the table's slopes.

    Parameters
    ----------
    run : float
        Of a rise of 1: 10 for 1 in 10.

    Returns
    -------
    tuple of three float, or None
        None for a slope steeper than 1 in 5, where the table ends.

    References
    ----------
    USDA Wood Handbook, FPL-GTR-282 (2021), Table 5-12 (from memory).

    Examples
    --------
    >>> slope_shares(10.0)
    (0.81, 0.62, 0.99)
    """
    rows = [(0.0 if r["run"] == "straight" else 1.0 / float(r["run"]), r) for r in tables.rows("slope_of_grain")]
    slope = 1.0 / run
    for (low, first), (high, second) in pairwise(rows):
        if low <= slope <= high + 1e-12:
            share = (slope - low) / (high - low)
            values = [float(first[c]) + share * (float(second[c]) - float(first[c])) for c in COLUMNS]
            return values[0] / 100.0, values[1] / 100.0, values[2] / 100.0
    return None


def hankinson_band(run: float) -> tuple[float, float]:
    """Least and greatest share of the bending strength by Hankinson's formula with the handbook's exponents and ratios.

    N/P = (Q/P)/(sin^n θ + (Q/P) cos^n θ), n from 1.5 to 2, Q/P from 0.04 to 0.10.

    Parameters
    ----------
    run : float
        Of a rise of 1.

    References
    ----------
    USDA Wood Handbook, FPL-GTR-282 (2021), eq. 5-2 (read in a transcription) and Table 5-11 (from memory).

    Examples
    --------
    >>> [round(one, 2) for one in hankinson_band(10.0)]
    [0.56, 0.92]
    """
    angle = atan(1.0 / run)
    found = [q / (sin(angle) ** n + q * cos(angle) ** n) for n in EXPONENTS for q in RATIOS]
    return min(found), max(found)
