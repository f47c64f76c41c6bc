"""Woods that other packages bring: their rows checked, and made what the tables hold."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import isfinite
from types import MappingProxyType

from ..errors import InputError
from . import tables
from .model import Face
from .orthotropic import OrthotropicPlane

FACES: Mapping[Face, tuple[str, str, str]] = {
    "flat-sawn": ("E_T/E_L", "G_LT/E_L", "nu_LT"),
    "quarter-sawn": ("E_R/E_L", "G_LR/E_L", "nu_LR"),
}
TEXTS = ("species", "group", "source", "status")
# Between what no wood falls below and none exceeds, from balsa to the heaviest, so that a slip of unit is found: own
# choice, wide about the rows of the tables.
REQUIRED = {
    "density_kg_m3": (50.0, 1_500.0),
    "E_L_MPa": (500.0, 60_000.0),
    "MOR_kPa": (5_000.0, 400_000.0),
    "comp_parallel_kPa": (3_000.0, 250_000.0),
    "comp_perp_kPa": (200.0, 100_000.0),
    "shear_parallel_kPa": (500.0, 80_000.0),
    "tension_perp_kPa": (200.0, 40_000.0),
}
RATIOS = {name: (0.001, 1.0) for columns in FACES.values() for name in columns[:2]}
POISSON = tuple(columns[2] for columns in FACES.values())
ENERGIES = {
    f"{energy}_{system}_J_m2": (mode, system)
    for energy, mode in (("G_Ic", "I"), ("G_IIc", "II"))
    for system in ("TL", "RL")
}
SHRINKAGE = ("radial_percent", "tangential_percent")
LIMITS: Mapping[str, tuple[float, float]] = {
    **REQUIRED,
    **RATIOS,
    **dict.fromkeys(ENERGIES, (5.0, 20_000.0)),
    **dict.fromkeys(SHRINKAGE, (0.5, 30.0)),
}
GROUPS = ("softwood", "hardwood")
STATUSES = (tables.READ, tables.MEASURED, tables.COMPUTED, tables.FROM_MEMORY)
COLUMNS = (*TEXTS, *REQUIRED, *RATIOS, *POISSON, *ENERGIES, *SHRINKAGE, "note")


def added_woods(rows: Iterable[Mapping[str, object]], package: str, version: str) -> tuple[tables.AddedWood, ...]:
    """Make the rows of another package what the tables hold.

    Parameters
    ----------
    rows : iterable of mapping
        One a species, by the columns of `COLUMNS`: texts, or numbers in the unit of the column's name. Of the elastic
        ratios a face is complete or left out, and one of both is there; energies, shrinkage and ``note`` may be left
        out.
    package, version : str
        Whose they are; named as their source.

    Returns
    -------
    tuple of AddedWood

    Raises
    ------
    InputError
        For the first row that cannot be used; the message names row, column and value.
    """
    found: dict[str, tables.AddedWood] = {}
    known = {_squeezed(name) for name in tables.species() if tables.added(name) is None}
    for number, given in enumerate(rows, start=1):
        if not isinstance(given, Mapping):
            raise InputError(f"Row {number} is {type(given).__name__}; give a mapping of column to value.")
        row, label = _texts(given), f"Row {number}"
        name = row["species"]
        label = f'Row {number} ("{name}")' if name else label
        _refuse_incomplete(row, label)
        if _squeezed(name) in known:
            raise InputError(f"{label}: this species is in fesolve's own tables, which are not replaced. Rename it.")
        if _squeezed(name) in {_squeezed(other) for other in found}:
            raise InputError(f"{label}: this species is there twice.")
        _refuse_values(row, label)
        found[name] = _made(row, package, version)
    if not found:
        raise InputError("It gives no rows.")
    return tuple(found.values())


def _squeezed(name: str) -> str:
    return " ".join(name.casefold().split())


def _texts(given: Mapping[str, object]) -> dict[str, str]:
    """All columns as printed text, those left out empty."""
    row = {str(name): "" if value is None else str(value).strip() for name, value in given.items()}
    return {**dict.fromkeys(COLUMNS, ""), **row}


def _refuse_incomplete(row: Mapping[str, str], label: str) -> None:
    strange = [name for name in row if name not in COLUMNS]
    if strange:
        raise InputError(f'{label}: column "{strange[0]}" is not known. Columns: {", ".join(COLUMNS)}.')
    missing = [name for name in (*TEXTS, *REQUIRED) if not row[name]]
    if missing:
        raise InputError(f"{label}: {', '.join(missing)} is missing; a wood has to be complete.")
    for name, allowed in (("group", GROUPS), ("status", STATUSES)):
        if row[name] not in allowed:
            raise InputError(f'{label}: {name} = "{row[name]}"; allowed: {", ".join(allowed)}.')
    for columns in (*FACES.values(), SHRINKAGE):
        lacking = [name for name in columns if not row[name]]
        if 0 < len(lacking) < len(columns):
            raise InputError(f"{label}: {', '.join(lacking)} is missing beside {_there(row, columns)}.")
    if not any(row[columns[0]] for columns in FACES.values()):
        faces = " or ".join(f"{', '.join(columns)} ({face})" for face, columns in FACES.items())
        raise InputError(f"{label}: no elastic ratios; give {faces}.")


def _there(row: Mapping[str, str], columns: Sequence[str]) -> str:
    return ", ".join(name for name in columns if row[name])


def _refuse_values(row: Mapping[str, str], label: str) -> None:
    numbers = {}
    for name in (*LIMITS, *POISSON):
        if row[name]:
            numbers[name] = _number(row[name], f"{label}: {name}", *LIMITS.get(name, (-5.0, 5.0)))
    for face, (across, shear, poisson) in FACES.items():
        if across not in numbers:
            continue
        E_0 = numbers["E_L_MPa"]
        try:
            OrthotropicPlane(E_0, E_0 * numbers[across], E_0 * numbers[shear], numbers[poisson])
        except InputError as error:
            said = f"{across} = {row[across]}, {shear} = {row[shear]}, {poisson} = {row[poisson]}"
            raise InputError(f"{label}: the {face} face cannot be ({said}): {error.message}") from None


def _number(text: str, what: str, least: float, most: float) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not isfinite(value):
        raise InputError(f'{what} = "{text}" is not a finite number.')
    if not least <= value <= most:
        raise InputError(f"{what} = {text} is not between {least:g} and {most:g}, where wood is; look at its unit.")
    return value


def _made(row: Mapping[str, str], package: str, version: str) -> tables.AddedWood:
    """The rows of the tables, with the package in the source."""
    name = row["species"]
    whose = {"source": f"{row['source']} (package {package} {version})", "status": row["status"]}
    said = {**whose, "note": row["note"]}
    strength = {**dict.fromkeys(tables.rows("strength")[0], ""), **{key: row[key] for key in (*TEXTS, *REQUIRED)}}
    elastic = {**dict.fromkeys(tables.rows("elastic")[0], ""), "species": name, "group": row["group"]}
    elastic |= {key: row[key] for columns in FACES.values() for key in columns} | whose
    blank = dict.fromkeys(tables.rows("fracture")[0], "")
    energies = [
        {**blank, "material": name, "quantity": "G_c", "mode": mode, "crack_system": system, "value": row[column],
         "unit": "J/m2", **whose}
        for column, (mode, system) in ENERGIES.items() if row[column]
    ]  # fmt: skip
    shrinks = {"species": name, **{key: row[key] for key in SHRINKAGE}, **whose}
    return tables.AddedWood(
        package,
        version,
        MappingProxyType({**strength, "moisture": tables.DRY, **said}),
        MappingProxyType(elastic),
        tuple(MappingProxyType(one) for one in energies),
        MappingProxyType(shrinks) if row[SHRINKAGE[0]] else None,
    )
