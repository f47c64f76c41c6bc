"""Strength and stiffness at another moisture than the 12 % of the tables."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from statistics import median

from . import tables
from .model import CHOICE, Group

TABLED = 12.0  # %, of the tables' dry rows
SATURATED = 30.0  # %: no cell wall takes up more, and none shrinks above
OTHERS = "all others"
FORMULA = "USDA Wood Handbook, FPL-GTR-282 (2021), eq. 5-3 and Table 5-13 (read in a transcription)"
COLUMN = {
    "shear": "shear_parallel_kPa",
    "tension_across": "tension_perp_kPa",
    "compression_across": "comp_perp_kPa",
    "tension_along": "MOR_kPa",
    "compression_along": "comp_parallel_kPa",
    "E_0": "E_L_MPa",
}
UNCREDITED = ("shear", "tension_across")  # both are in splitting: no credit for drying below 12 %


@dataclass(frozen=True)
class AtMoisture:
    """What a moisture makes of the 12 % values of one species.

    Attributes
    ----------
    moisture : float
        %.
    factors : dict of str to float
        On each of the five strengths and ``E_0``.
    stand_ins : tuple of str
        Those whose green value is not in the tables.
    """

    moisture: float
    factors: dict[str, float]
    stand_ins: tuple[str, ...]
    note: str


def at_moisture(dry: float, green: float, moisture: float, limit: float) -> float:
    """Value at a moisture, P = P12 (P12/Pg)^((12 - M)/(Mp - 12)); green from Mp up.

    Parameters
    ----------
    dry, green : float
        P12 and Pg, in one unit.
    moisture : float
        M, %.
    limit : float
        Mp, %, above 12.

    Returns
    -------
    float
        In the unit of the values.

    References
    ----------
    USDA Wood Handbook, FPL-GTR-282 (2021), eq. 5-3 (read in a transcription).

    Examples
    --------
    The handbook's own example, the modulus of rupture of white ash at 8 %: 119 500 kPa.

    >>> round(at_moisture(103_000, 66_000, 8.0, 24.0), -2)
    119500.0
    """
    if moisture >= limit:
        return green
    return float(dry * (dry / green) ** ((TABLED - moisture) / (limit - TABLED)))


def limit_of(species: str) -> float:
    """Mp of a species, %: where drying begins to change its strength."""
    known = {row["species"]: float(row["Mp_percent"]) for row in tables.rows("moisture")}
    return known.get(species, known[OTHERS])


@cache
def usual_ratio(name: str, group: Group) -> tuple[float, int]:
    """Median of green over 12 % value among the species of a group that have both, and their number."""
    ratios = []
    for species in tables.species():
        dry, green = tables.strength_row(species), tables.strength_row(species, tables.GREEN)
        if dry is None or green is None or dry["group"] != group:
            continue
        pair = tables.number(dry, COLUMN[name]), tables.number(green, COLUMN[name])
        if pair[0] and pair[1]:
            ratios.append(pair[1] / pair[0])
    return median(ratios), len(ratios)


def moistened(species: str, group: Group, moisture: float) -> AtMoisture:
    """Factors on the 12 % values of a species at a moisture.

    By the handbook's formula for compression and tension along the grain, compression across it, shear and E_0.
    Tension across the grain answers erratically to drying, and the handbook warns against the formula there: below 12 %
    it stays as at 12 %, above it is the lower of the green and the 12 % value. Shear above 12 % follows the formula; it
    is the other strength of splitting, and below 12 % it is given no credit either (own choice).

    Parameters
    ----------
    species : str
        Name as the tables spell it.
    group : str
        ``softwood`` or ``hardwood``: where its green value is not tabled, the group's median ratio stands in.
    moisture : float
        M, %.

    Examples
    --------
    >>> found = moistened("Douglas-fir, coast", "softwood", 20.0).factors    # shear (7.8/6.2)^((12 - 20)/12)
    >>> round(found["shear"], 3), round(found["tension_across"], 3)           # 2.1/2.3 green
    (0.858, 0.913)
    """
    dry, green = tables.strength_row(species), tables.strength_row(species, tables.GREEN)
    assert dry is not None, species  # every species of the table has its 12 % row
    limit = limit_of(species)
    factors, stand_ins = {}, []
    for name, column in COLUMN.items():
        pair = tables.number(dry, column), tables.number(green, column) if green else None
        ratio = pair[1] / pair[0] if pair[0] and pair[1] else usual_ratio(name, group)[0]
        if pair[0] and not pair[1]:
            stand_ins.append(name)
        factors[name] = _factor(name, ratio, moisture, limit, tabled=pair[0] is not None)
    return AtMoisture(moisture, factors, tuple(stand_ins), _note(species, group, moisture, factors, stand_ins))


def _factor(name: str, ratio: float, moisture: float, limit: float, *, tabled: bool) -> float:
    if name in UNCREDITED and moisture <= TABLED:
        return 1.0
    if name == "tension_across":
        # without a 12 % value the green one stands in already
        return min(1.0, ratio) if tabled and moisture > TABLED else 1.0
    return at_moisture(1.0, ratio, moisture, limit)


def _note(species: str, group: Group, moisture: float, factors: dict[str, float], stand_ins: list[str]) -> str:
    if moisture == TABLED:
        return ""
    words = {
        "shear": "shear",
        "tension_across": "tension across",
        "compression_across": "compression across",
        "tension_along": "tension along",
        "compression_along": "compression along the grain",
        "E_0": "stiffness",
    }
    listed = ", ".join(f"{words[name]} {factor:.2f}" for name, factor in factors.items())
    said = f"At {moisture:.3g} % moisture the 12 % values count times: {listed} ({FORMULA}; tension across the grain "
    said += "apart: no credit for drying, the lower of green and 12 % above 12 %"
    said += "; shear has none below 12 % either, own choice)." if moisture < TABLED else ")."
    if stand_ins:
        ratios = ", ".join(f"{words[name]} {usual_ratio(name, group)[0]:.2f}" for name in stand_ins)
        said += f' No green value of "{species}" is tabled for {ratios}: green over 12 % is that of {group}s, median '
        said += "(computed here)."
    return said + f" Density, energies and ratios of stiffness are left at 12 % ({CHOICE})."
