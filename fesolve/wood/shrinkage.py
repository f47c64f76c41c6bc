"""How much wood shrinks by drying: strain along and across the grain for each percent of moisture lost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from statistics import median

from . import tables
from .model import CHOICE, GIVEN, Face, Group

MIDDLE = 10.0  # %: the moisture whose dimension a change is referred to
SATURATED = 30.0  # %
ALONG_TOTAL = 0.15  # %, green to oven-dry along the grain
ALONG_SOURCE = "along the grain 0.15 % in all, the middle of the usual 0.1 to 0.2 % (AWC, answers on shrinkage, read)"
COLUMN: Mapping[Face, str] = {"flat-sawn": "tangential_percent", "quarter-sawn": "radial_percent"}


@dataclass(frozen=True)
class Shrinkage:
    """Strain for a change of moisture by one percent, along and across the grain, with source and status.

    ``along`` and ``across`` are positive: wood that takes up moisture swells.
    """

    along: float
    across: float
    source: str
    status: str
    note: str = ""


def change_coefficient(total: float) -> float:
    """Strain for 1 % of moisture from a total shrinkage, C = (S/30)/(1 - S (30 - 10)/30).

    Shrinkage is linear in moisture below 30 %. S is of the green size; the strain is of that at 10 % moisture.

    Parameters
    ----------
    total : float
        S, from green to oven-dry, %.

    Returns
    -------
    float
        Without unit.

    References
    ----------
    Derived from the handbook's straight line from 30 % moisture to none; it gives back the coefficients of USDA Wood
    Handbook, FPL-GTR-190 (2010), Table 13-5, for 6 to 14 % moisture.

    Examples
    --------
    White ash, 7.8 % tangential; the table has 0.00274.

    >>> round(change_coefficient(7.8), 5)
    0.00274
    """
    share = total / 100.0
    return share / SATURATED / (1.0 - share * (SATURATED - MIDDLE) / SATURATED)


def shrinkage_of(
    species: str | None, face: Face | None, group: Group, own: Mapping[str, float] | None = None
) -> Shrinkage | None:
    """Shrinkage on a drawn face: own figures, else the species', else the median of its group; None without any.

    Across the grain of a flat-sawn face it is tangential, of a quarter-sawn one radial; of an unknown face tangential,
    which is greater.

    Parameters
    ----------
    species : str or None
    face : str or None
    group : str
    own : mapping of str to float, optional
        ``along``, ``across``: strain for 1 % of moisture.
    """
    given = dict(own or {})
    along = given.get("along", ALONG_TOTAL / 100.0 / SATURATED)
    if "across" in given:
        source = GIVEN if "along" in given else f"across {GIVEN}; {ALONG_SOURCE}"
        return Shrinkage(along, given["across"], source, GIVEN)
    if species is None:
        return None
    column = COLUMN[face or "flat-sawn"]
    row = tables.shrinkage_row(species)
    if row is not None:
        across = change_coefficient(float(row[column]))
        return Shrinkage(along, across, f"{row['source']}; {ALONG_SOURCE}", row["status"])
    alike = [float(other[column]) for other in tables.rows("shrinkage") if _group(other["species"]) == group]
    total = median(alike)
    note = (
        f'Shrinkage of "{species}" is not in the tables; {total:.3g} %, the median of {group}s, stands in ({CHOICE}).'
    )
    return Shrinkage(along, change_coefficient(total), f"median of {len(alike)} {group}s", CHOICE, note)


def _group(species: str) -> str:
    row = tables.strength_row(species)
    return row["group"] if row else ""
