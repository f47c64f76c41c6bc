"""The wood tables as they stand in the package: one CSV a subject, read once, every row with source and status.

======================  ======================================================================
``strength``            clear-wood strengths, bending modulus and density, by species and moisture
``elastic``             ratios of the elastic constants, by species
``variability``         coefficients of variation, by property; default rows and species rows
``fracture``            toughness K_c and fracture energy G_c, by material and crack system
``design_values``       graded lumber (NDS) and strength classes (EN 338)
``factors``             what design values are multiplied by, by family
``size_effect``         how strength falls with volume: exponents and the volumes they refer to
``moisture``            where drying begins to change strength, by species
``shrinkage``           shrinkage from green to oven-dry, by species
``fatigue``             strength left after many cycles, by property
``slope_of_grain``      strength left where the grain slopes
``names``               which rows of the other tables belong to a strength species, by hand
======================  ======================================================================

Status: ``read`` in a public text, ``computed here`` from other rows, or ``from memory``. Woods that other packages
bring (`added`) are found by name beside these, their status may be ``measured`` too; `rows` does not hold them, so that
medians over the tables do not change with what is installed.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

Row = Mapping[str, str]

DRY, GREEN = "12%", "green"
DEFAULT_SCATTER = "clear straight-grained wood"
FROM_MEMORY, READ, COMPUTED, MEASURED = "from memory", "read", "computed here", "measured"


@dataclass(frozen=True)
class AddedWood:
    """A species that another package brings: its rows as the tables here would hold them, and whose they are.

    Parameters
    ----------
    package, version : str
        Of the package that brings it.
    strength, elastic : mapping of str to str
        At 12 % moisture.
    fracture : tuple of mapping of str to str
        Possibly none.
    shrinkage : mapping of str to str or None
    """

    package: str
    version: str
    strength: Row
    elastic: Row
    fracture: tuple[Row, ...] = ()
    shrinkage: Row | None = None

    @property
    def name(self) -> str:
        """The species."""
        return self.strength["species"]


_ADDED: dict[str, AddedWood] = {}


def add(woods: Iterable[AddedWood]) -> None:
    """Add species that other packages bring, checked before; a name that was added already is replaced."""
    _ADDED.update({wood.name: wood for wood in woods})
    species.cache_clear()


def added(name: str | None) -> AddedWood | None:
    """The species of a name that another package brings; None for one of the tables here."""
    return None if name is None else _ADDED.get(name)


@cache
def rows(table: str) -> tuple[Row, ...]:
    """All rows of one table, as printed text by column name.

    Parameters
    ----------
    table : str
        Name of the table, as in the list at the top of this file.

    Returns
    -------
    tuple of mapping of str to str
        One mapping a row; an empty text is a value that the source does not give.

    Examples
    --------
    >>> rows("strength")[0]["species"]
    'Alder, red'
    """
    path = files(__package__).joinpath("tables", f"{table}.csv")
    with path.open(encoding="utf-8") as stream:
        return tuple(MappingProxyType(row) for row in csv.DictReader(stream))


def number(row: Row, column: str) -> float | None:
    """Read the number in a column, None where the source gives none.

    Parameters
    ----------
    row : mapping of str to str
        A row of a table.
    column : str
        Its column; the unit stands in the column's name.

    Returns
    -------
    float or None
        In the unit of the column.

    Examples
    --------
    >>> number({"G": "0.5", "nu": ""}, "G"), number({"G": "0.5", "nu": ""}, "nu")
    (0.5, None)
    """
    return float(row[column]) if row[column] else None


@cache
def species() -> tuple[str, ...]:
    """List all species that have clear-wood strengths at 12 % moisture, in the order of the table, then those added.

    Returns
    -------
    tuple of str
        Names as the strength table spells them.

    Examples
    --------
    >>> len(species())
    83
    """
    return (*(row["species"] for row in rows("strength") if row["moisture"] == DRY), *_ADDED)


def strength_row(name: str, moisture: str = DRY) -> Row | None:
    """Look up the clear-wood strengths of a species.

    Parameters
    ----------
    name : str
        A species as the table spells it.
    moisture : str
        ``12%`` or ``green``.

    Returns
    -------
    mapping of str to str, or None
        Strengths kPa, moduli MPa, density kg/m3; None where there is no such row.

    References
    ----------
    USDA Wood Handbook, FPL-GTR-190 (2010) and FPL-GTR-282 (2021), Table 5-3a; each row names its own.

    Examples
    --------
    >>> strength_row("Douglas-fir, coast")["shear_parallel_kPa"]
    '7800'
    """
    if (other := added(name)) is not None:
        return other.strength if moisture == DRY else None
    return next((r for r in rows("strength") if r["species"] == name and r["moisture"] == moisture), None)


def names_row(name: str) -> Row:
    """Look up the names under which the other tables know a strength species.

    Parameters
    ----------
    name : str
        A strength species.

    Returns
    -------
    mapping of str to str
        ``elastic``, ``fracture``, ``variability``: an empty text where none honestly fits; ``note`` says why one does.

    Examples
    --------
    >>> names_row("Douglas-fir, coast")["elastic"]
    'Douglas-fir'
    """
    if added(name) is not None:
        return {"strength": name, "elastic": name, "fracture": "", "variability": "", "note": ""}
    return next(r for r in rows("names") if r["strength"] == name)


def elastic_row(name: str) -> Row | None:
    """Look up the elastic ratios of a strength species.

    Parameters
    ----------
    name : str
        A strength species.

    Returns
    -------
    mapping of str to str, or None
        Ratios without unit, to E_L; None where the tables have none.

    References
    ----------
    USDA Wood Handbook, FPL-GTR-282 (2021), Tables 5-1 and 5-2.

    Examples
    --------
    >>> elastic_row("Douglas-fir, coast")["E_T/E_L"]
    '0.050'
    """
    if (other := added(name)) is not None:
        return other.elastic
    wanted = names_row(name)["elastic"]
    return next((r for r in rows("elastic") if r["species"] == wanted), None)


def fracture_rows(name: str) -> tuple[Row, ...]:
    """Look up toughness and fracture energies of a strength species.

    Parameters
    ----------
    name : str
        A strength species.

    Returns
    -------
    tuple of mapping of str to str
        Rows with ``quantity`` K_c (kPa m^0.5) or G_c (J/m2), ``mode`` I or II and ``crack_system``; possibly none.

    Examples
    --------
    >>> [row["value"] for row in fracture_rows("Douglas-fir, coast") if row["quantity"] == "G_c"]
    ['71', '80', '771']
    """
    if (other := added(name)) is not None:
        return other.fracture
    wanted = names_row(name)["fracture"]
    return tuple(r for r in rows("fracture") if wanted and r["material"] == wanted)


def shrinkage_row(name: str) -> Row | None:
    """Look up the shrinkage of a species.

    Parameters
    ----------
    name : str
        A species.

    Returns
    -------
    mapping of str to str, or None
        ``radial_percent`` and ``tangential_percent`` from green to oven-dry; None where the tables have none.

    References
    ----------
    USDA Wood Handbook, FPL-GTR-190 (2010), Table 4-3.

    Examples
    --------
    >>> shrinkage_row("Ash, white")["tangential_percent"]
    '7.8'
    """
    if (other := added(name)) is not None:
        return other.shrinkage
    return next((row for row in rows("shrinkage") if row["species"] == name), None)


def scatter_row(name: str | None, prop: str) -> Row:
    """Coefficient of variation of a property (percent): the species' own row, else the default row.

    Parameters
    ----------
    name : str or None
        A strength species; None asks for the default row.
    prop : str
        The property as the table spells it, such as ``"shear parallel to grain"``.

    Returns
    -------
    mapping of str to str
        The row; ``material`` says whose it is.

    Examples
    --------
    >>> scatter_row("Fir, white", "shear parallel to grain")["cov_percent"]
    '10.3'
    >>> scatter_row("Douglas-fir, coast", "shear parallel to grain")["cov_percent"]
    '14'
    """
    own = names_row(name)["variability"] if name else ""
    mine = [r for r in rows("variability") if r["property"] == prop]
    for row in mine:
        if own and row["material"] == own:
            return row
    return next(r for r in mine if r["material"].startswith(DEFAULT_SCATTER))


def factor_row(family: str, factor: str, when: str, touches: str) -> Row:
    """Look up a factor on design values.

    Parameters
    ----------
    family : str
        ``allowable stress design`` or ``limit states``.
    factor : str
        As the code writes it: ``C_D``, ``k_mod``.
    when : str
        The condition, as the table spells it; a range of nominal widths such as ``2-4`` is met by the width.
    touches : str
        The value that it is wanted for, one of the words of the row's list.

    Returns
    -------
    mapping of str to str
        With ``value``, ``source``, ``status``, ``note``.

    Raises
    ------
    LookupError
        Where the table has none.

    Examples
    --------
    >>> factor_row("allowable stress design", "C_D", "2 months", "Fv")["value"]
    '1.15'
    >>> factor_row("allowable stress design", "C_F", "3", "Ft")["value"]
    '1.5'
    """
    for row in rows("factors"):
        same = (row["family"], row["factor"]) == (family, factor) and _meets(when, row["when"])
        if same and (touches == row["touches"] or touches in row["touches"].split()):
            return row
    raise LookupError(f"{family}: {factor}, {when}, for {touches}")


def _meets(when: str, condition: str) -> bool:
    """Whether a condition is the one wanted, or a range that a width lies in."""
    if when == condition or not when.isdigit():
        return when == condition
    low, dash, high = condition.partition("-")
    return bool(dash) and low.isdigit() and int(low) <= int(when) <= (int(high) if high else 10**6)
