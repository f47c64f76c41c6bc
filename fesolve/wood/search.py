"""Looking woods up: every value of the tables that belongs to a species, a grade or a class, with source and status."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from . import tables
from .elastic import COLUMNS
from .strengths import COLUMN, SCATTER, WORDS

Kind = Literal["species", "graded lumber", "strength class"]

ENERGY_WORDS = {"I": "opening", "II": "sliding"}
DESIGN_COLUMNS = {
    "bending_MPa": "bending",
    "tension_parallel_MPa": WORDS["tension_along"],
    "tension_perp_MPa": WORDS["tension_across"],
    "comp_parallel_MPa": WORDS["compression_along"],
    "comp_perp_MPa": WORDS["compression_across"],
    "shear_MPa": "shear",
    "E_mean_MPa": "E_0, mean",
    "E_low_MPa": "E_0, low",
    "E90_mean_MPa": "E_90, mean",
    "G_mean_MPa": "G, mean",
    "density_low_kg_m3": "density, low",
    "density_mean_kg_m3": "density, mean",
}


@dataclass(frozen=True)
class WoodValue:
    """One figure of a table: ``value`` in ``unit``, under which ``conditions``, from where, and how sure."""

    name: str
    value: float
    unit: str
    conditions: str
    source: str
    status: str
    note: str = ""


@dataclass(frozen=True)
class WoodRow:
    """One wood of the tables.

    Parameters
    ----------
    kind : str
        ``species``, ``graded lumber`` or ``strength class``.
    name : str
        As the part file names it.
    group : str
        ``softwood``, ``hardwood``, or the grouping of the lumber.
    values : tuple of WoodValue
        Everything known, strengths first.
    faces : tuple of str
        The drawn faces for which the elastic constants are complete.
    note : str
        What to know before using it.
    package : str
        The package that brings it, with its version; empty for the tables here.
    """

    kind: Kind
    name: str
    group: str
    values: tuple[WoodValue, ...]
    faces: tuple[str, ...] = ()
    note: str = ""
    package: str = ""


def find_woods(word: str | None = None) -> tuple[WoodRow, ...]:
    """Find the woods whose name, group or kind has all the words asked for.

    Parameters
    ----------
    word : str, optional
        One or more words in any order and case, each may be the beginning of a word; None or an empty text finds all.

    Returns
    -------
    tuple of WoodRow
        Species first, then graded lumber, then strength classes; empty where nothing fits
        (`nearest_species` then offers names).

    Examples
    --------
    >>> [row.name for row in find_woods("coast douglas")]
    ['Douglas-fir, coast']
    >>> find_woods("c24")[0].kind
    'strength class'
    """
    asked = _words(word or "")
    return tuple(row for row in _all() if all(any(have.startswith(w) for have in _names(row)) for w in asked))


def _words(text: str) -> list[str]:
    return re.findall(r"[a-z0-9]+", text.casefold())


def _names(row: WoodRow) -> list[str]:
    return _words(f"{row.name} {row.group} {row.kind}")


def _all() -> Iterator[WoodRow]:
    for name in tables.species():
        yield _species(name)
    for row in tables.rows("design_values"):
        yield _design(row)


def _species(name: str) -> WoodRow:
    row = tables.strength_row(name)
    assert row is not None, name  # the list of species is made from these rows
    values = (*_strengths(name), *_elastic(name), *_fracture(name), *_scatter(name))
    elastic = tables.elastic_row(name)
    faces = tuple(face for face, columns in COLUMNS.items() if elastic and all(elastic[c] for c in columns.values()))
    notes = [tables.names_row(name)["note"], row["note"]]
    if elastic is None:
        notes.append("no elastic ratios in the tables: give E_90, G and nu_0_90 in [wood.elastic]")
    elif len(faces) < len(COLUMNS):
        notes.append(f"elastic ratios complete for: {', '.join(faces) or 'neither face'}")
    other = tables.added(name)
    package = "" if other is None else f"{other.package} {other.version}"
    return WoodRow("species", name, row["group"], values, faces, "; ".join(note for note in notes if note), package)


def _strengths(name: str) -> Iterator[WoodValue]:
    for moisture in (tables.DRY, tables.GREEN):
        row = tables.strength_row(name, moisture)
        if row is None:
            continue
        where = "12 % moisture" if moisture == tables.DRY else "green"
        known = (row["source"], row["status"], row["note"])
        for key, column in COLUMN.items():
            value = tables.number(row, column)
            word = "bending strength (stands in for tension along the grain)" if key == "tension_along" else WORDS[key]
            if value is not None:
                yield WoodValue(word, value / 1000, "MPa", where, *known)
        for word, column, unit in (
            ("E_0" if tables.added(name) else "E_0, 1.1 times the bending modulus", "E_L_MPa", "MPa"),
            ("density", "density_kg_m3", "kg/m^3"),
        ):
            value = tables.number(row, column)
            if value is not None:
                yield WoodValue(word, value, unit, where, *known)


def _elastic(name: str) -> Iterator[WoodValue]:
    row = tables.elastic_row(name)
    if row is None:
        return
    for face, columns in COLUMNS.items():
        for key, column in columns.items():
            value = tables.number(row, column)
            if value is not None:
                word = key if key == "nu_0_90" else f"{key}/E_0"
                yield WoodValue(word, value, "1", f"{face} face", row["source"], row["status"], row["note"])


def _fracture(name: str) -> Iterator[WoodValue]:
    for row in tables.fracture_rows(name):
        value = tables.number(row, "value")
        if value is not None:
            word = f"{row['quantity'].replace('_c', '')}_{row['mode']}c, {ENERGY_WORDS[row['mode']]}"
            unit = row["unit"].replace("J/m2", "J/m^2").replace("*", " ")
            where = f"crack system {row['crack_system']}"
            yield WoodValue(word, value, unit, where, row["source"], row["status"], row["note"])


def _scatter(name: str) -> Iterator[WoodValue]:
    for key, prop in SCATTER.items():
        row = tables.scatter_row(name, prop)
        whose = "default" if row["material"].startswith(tables.DEFAULT_SCATTER) else row["material"]
        word = f"coefficient of variation, {WORDS[key]}"
        yield WoodValue(word, float(row["cov_percent"]), "%", whose, row["source"], row["status"], row["note"])


def _design(row: tables.Row) -> WoodRow:
    group, grade, width = row["species_group_or_class"], row["grade"], row["nominal_width_in"]
    is_class = row["system"].startswith("EN 338")
    kind: Kind = "strength class" if is_class else "graded lumber"
    values = tuple(_design_value(row, column) for column in DESIGN_COLUMNS if row[column])
    name = group if is_class else f"{group} {grade}"
    use = "basis lower 5% or design" if is_class else "basis design"
    note = use + (f"; nominal width {width} in" if width else "")
    return WoodRow(kind, name, grade if is_class else group, values, (), note)


def _design_value(row: tables.Row, column: str) -> WoodValue:
    unit = "kg/m^3" if column.endswith("kg_m3") else "MPa"
    source, status = row["source"], row["status"]
    if column == "G_mean_MPa" and row["system"].startswith("NDS"):
        source, status = "E/16, a convention and no table value", tables.COMPUTED
    return WoodValue(DESIGN_COLUMNS[column], float(row[column]), unit, row["basis"], source, status, row["note"])
