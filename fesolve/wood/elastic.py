"""The elastic constants of one face of a species: modulus along the grain from its strength row, ratios by face."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from ..errors import InputError
from . import tables
from .model import GIVEN, Face
from .moisture import AtMoisture
from .orthotropic import OrthotropicPlane

CONSTANTS = ("E_0", "E_90", "G", "nu_0_90")
COLUMNS: Mapping[Face, Mapping[str, str]] = {
    "flat-sawn": {"E_90": "E_T/E_L", "G": "G_LT/E_L", "nu_0_90": "nu_LT"},
    "quarter-sawn": {"E_90": "E_R/E_L", "G": "G_LR/E_L", "nu_0_90": "nu_LR"},
}
OTHER: Mapping[Face, Face] = {"flat-sawn": "quarter-sawn", "quarter-sawn": "flat-sawn"}


class Elastic(NamedTuple):
    """Constants with their sources, statuses and the sentences that name what stood in."""

    plane: OrthotropicPlane
    source: str
    status: str
    notes: tuple[str, ...]


def elastic_constants(
    species: str | None, face: Face | None, own: Mapping[str, float], at: AtMoisture | None = None
) -> Elastic:
    """Elastic constants of a face: own values where given, else the species'.

    E_0 = 1.1 times the bending modulus of the 12 % row (the handbook's correction for shear deflection, already in the
    table); E_90 = ratio E_0, G = ratio E_0 with the ratios of the elastic row, LT for a flat-sawn and LR for a
    quarter-sawn drawn face.

    Parameters
    ----------
    species : str or None
        Name as the tables spell it.
    face : str or None
        ``flat-sawn`` or ``quarter-sawn``; may be None where nothing is taken from the ratios.
    own : mapping of str to float
        Own constants, any of E_0, E_90, G (MPa), nu_0_90.
    at : AtMoisture, optional
        What the part's moisture makes of the species' E_0 at 12 %; the ratios stay.

    Returns
    -------
    Elastic
        The plane with source, status and notes.

    Raises
    ------
    InputError
        Where a constant is in neither place; the message names the keys of [wood.elastic], or the other face.

    References
    ----------
    USDA Wood Handbook, FPL-GTR-282 (2021), Tables 5-1, 5-2 and 5-3a.

    Examples
    --------
    Douglas-fir, coast, flat-sawn: 1.1 x 13 400 along, 0.050 of it across.

    >>> plane = elastic_constants("Douglas-fir, coast", "flat-sawn", {}).plane
    >>> round(plane.E_0), round(plane.E_90)
    (14740, 737)
    """
    for name in own:
        if name not in CONSTANTS:
            allowed = ", ".join(CONSTANTS)
            raise InputError(f'"{name}" is not an elastic constant. Constants: {allowed}.', key=f"wood.elastic.{name}")
    missing = [name for name in CONSTANTS if name not in own]
    if not missing:
        return Elastic(OrthotropicPlane(**own), GIVEN, GIVEN, ())
    if species is None:
        raise InputError(
            f"Without a species all elastic constants have to be given; missing: {', '.join(missing)}.",
            key=f"wood.elastic.{missing[0]}",
        )
    return _from_species(species, face, own, at)


def _from_species(species: str, face: Face | None, own: Mapping[str, float], at: AtMoisture | None) -> Elastic:
    strength = tables.strength_row(species)
    assert strength is not None, species  # every species of the table has its 12 % row
    values, origins, statuses = dict(own), [], []
    if own:
        origins.append(f"{', '.join(own)} {GIVEN}")
        statuses.append(GIVEN)
    if "E_0" not in own:
        factor = 1.0 if at is None else at.factors["E_0"]
        values["E_0"] = float(strength["E_L_MPa"]) * factor
        moist = "" if at is None or factor == 1.0 else f", times {factor:.3f} at {at.moisture:.3g} % moisture"
        of = "E_0" if tables.added(species) is not None else "E_0: 1.1 times the bending modulus"
        origins.append(f"{of} at 12 % moisture, {strength['source']}{moist}")
        statuses.append(strength["status"])
    wanted = [name for name in ("E_90", "G", "nu_0_90") if name not in own]
    notes: tuple[str, ...] = ()
    if wanted:
        row, ratios = _ratios(species, face, wanted, values["E_0"])
        for name in wanted:
            values[name] = ratios[name] * (1.0 if name == "nu_0_90" else values["E_0"])
        origins.append(f"{', '.join(wanted)}: ratios of {row['species']}, {row['source']}")
        statuses.append(row["status"])
        notes = _ratio_notes(species, row)
    return Elastic(OrthotropicPlane(**values), "; ".join(origins), ", ".join(dict.fromkeys(statuses)), notes)


def _ratios(species: str, face: Face | None, wanted: list[str], E_0: float) -> tuple[tables.Row, dict[str, float]]:
    """Elastic row and its ratios; refused where there is no row, no face, or a ratio is not printed."""
    row = tables.elastic_row(species)
    key = f"wood.elastic.{wanted[0]}" if len(wanted) == 1 else "wood.elastic"
    if row is None:
        raise InputError(
            f'The tables have no elastic ratios for "{species}". Give {_listing(wanted)} in [wood.elastic] '
            f"(E_0 = {E_0:.0f} MPa is known), or choose a species that has them.",
            key=key,
        )
    if face is None:
        raise InputError(
            f'The elastic constants of "{species}" depend on the drawn face; give board = "flat-sawn", "quarter-sawn" '
            'or "unknown".',
            key="wood.board",
        )
    found = {name: tables.number(row, column) for name, column in COLUMNS[face].items()}
    lacking = [name for name in wanted if found[name] is None]
    if lacking:
        other = OTHER[face]
        there = all(row[COLUMNS[other][name]] for name in wanted)
        way_out = f', or draw the other face (board = "{other}"), for which the table has them' if there else ""
        printed = ", ".join(COLUMNS[face][name] for name in lacking)
        raise InputError(
            f'The tables have no {_listing(lacking)} on the {face} face of "{species}" (the handbook prints no '
            f"{printed} for {row['species']}). Give {_listing(lacking)} in [wood.elastic]{way_out}.",
            key=f"wood.elastic.{lacking[0]}",
        )
    return row, {name: value for name, value in found.items() if value is not None}


def _ratio_notes(species: str, row: tables.Row) -> tuple[str, ...]:
    notes = []
    remark = tables.names_row(species)["note"]
    if "elastic ratios" in remark:
        notes.append(f'For "{species}" {remark} ({row["status"]}).')
    if row["status"] == tables.FROM_MEMORY:
        notes.append(f'The elastic ratios of "{row["species"]}" are not read but {tables.FROM_MEMORY}.')
    return tuple(notes)


def _listing(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
