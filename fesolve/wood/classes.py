"""Limit states: characteristic values of strength classes (EN 338) with the factors of EN 1995-1-1.

k_mod and gamma_M belong to the load case and come with it; partial load factors belong to the loads.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import prod

from ..bases import DESIGN
from ..errors import InputError
from . import tables
from .conditions import Conditions
from .model import LIMIT, Factor, Strength

COLUMN = {
    "shear": "shear_MPa",
    "tension_across": "tension_perp_MPa",
    "compression_across": "comp_perp_MPa",
    "tension_along": "tension_parallel_MPa",
    "compression_along": "comp_parallel_MPa",
    "bending": "bending_MPa",
    "E_0": "E_mean_MPa",
}
LETTER = {
    "shear": "f_v,k",
    "tension_across": "f_t,90,k",
    "compression_across": "f_c,90,k",
    "tension_along": "f_t,0,k",
    "compression_along": "f_c,0,k",
    "bending": "f_m,k",
    "E_0": "E_0,mean",
}
DEPTH_SOURCE = "EN 1995-1-1:2004, 3.2 (3)"
DEEP, DENSE, MOST = 150.0, 700.0, 1.3  # mm, kg/m3, and the greatest k_h


def class_row(text: str) -> tables.Row:
    """Find a strength class.

    Parameters
    ----------
    text : str
        ``"C24"``, in any case.

    Raises
    ------
    InputError
        For one that is not in the table, with all of them.

    Examples
    --------
    >>> class_row("c24")["bending_MPa"], class_row("D30")["grade"]
    ('24', 'hardwood')
    """
    rows = [row for row in tables.rows("design_values") if row["system"].startswith("EN 338")]
    names = {row["species_group_or_class"].casefold(): row for row in rows}
    found = names.get("".join(text.casefold().split()))
    if found is None:
        listed = ", ".join(row["species_group_or_class"] for row in rows)
        raise InputError(f'"{text}" is not a strength class of EN 338. Classes: {listed}.', key="wood.class")
    return found


def check_species(row: tables.Row, species: str, group: str) -> None:
    """Refuse a softwood beside a hardwood class; classes C are used for some hardwoods too.

    Raises
    ------
    InputError
        With what to do (key ``wood.species``).
    """
    if row["grade"] == "hardwood" and group != "hardwood":
        raise InputError(
            f'Class {row["species_group_or_class"]} is for hardwoods, but "{species}" is a softwood; splitting length '
            "and missing values come from the species beside the class: give a hardwood, or a class C.",
            key="wood.species",
        )


def depth_factor(depth: float | None, density: float) -> Factor:
    """k_h on bending and tension along the grain: min((150/h)^0.2, 1.3) below 150 mm, up to 700 kg/m3.

    Parameters
    ----------
    depth : float or None
        h, extent of the part across the grain, mm; None leaves it at 1.
    density : float
        Characteristic, kg/m3.

    References
    ----------
    EN 1995-1-1:2004, 3.2 (3), eq. 3.1 (read in a transcription).

    Examples
    --------
    >>> round(depth_factor(100.0, 350.0).value, 3), depth_factor(30.0, 350.0).value, depth_factor(100.0, 900.0).value
    (1.084, 1.3, 1.0)
    """
    if depth is None:
        return Factor("k_h", 1.0, DEPTH_SOURCE, "the depth is not known")
    if density > DENSE:
        return Factor("k_h", 1.0, DEPTH_SOURCE, f"denser than {DENSE:g} kg/m3")
    if depth >= DEEP:
        return Factor("k_h", 1.0, DEPTH_SOURCE, f"{depth:.4g} mm, not below 150")
    return Factor("k_h", min((DEEP / depth) ** 0.2, MOST), DEPTH_SOURCE, f"h = {depth:.4g} mm; read")


def _factors(row: tables.Row, name: str, basis: str, conditions: Conditions) -> tuple[Factor, ...]:
    """Those of the wood; k_mod and gamma_M come with the case."""
    if basis != DESIGN:
        return ()
    if name in {"bending", "tension_along"}:
        return (depth_factor(conditions.depth, float(row["density_low_kg_m3"])),)
    if name == "shear":
        found = tables.factor_row(LIMIT, "k_cr", "solid timber", "f_v")
        return (Factor("k_cr", float(found["value"]), found["source"], f"{found['note']}; {found['status']}"),)
    if name == "compression_across":
        return (Factor("k_c,90", 1.0, "EN 1995-1-1:2004, 6.1.5", "no credit for wood beside the pressed face"),)
    return ()


def class_strength(row: tables.Row, name: str, basis: str, conditions: Conditions, clear: Strength) -> Strength:
    """A characteristic value with the factors of the wood, MPa; `clear` is the species', for its mean and scatter.

    Parameters
    ----------
    row : mapping of str to str
        As `class_row` gives it.
    name : str
        One of the strengths, ``bending`` or ``E_0``.
    basis : str
        On ``lower 5%`` the table's value stands alone.
    conditions : Conditions
    clear : Strength

    References
    ----------
    EN 338:2016, Tables 1 and 3; EN 1995-1-1:2004, 2.4.1, 3.2, 6.1.7.
    """
    factors = _factors(row, name, basis, conditions)
    value = float(row[COLUMN[name]])
    note = f"{LETTER[name]} = {value:g} MPa"
    return replace(clear, value=value * prod(one.value for one in factors), source=row["source"], status=row["status"],
                   note=note, factors=factors)  # fmt: skip


def class_splitting(row: tables.Row, clear: Mapping[str, Strength]) -> dict[str, Strength]:
    """Strengths that splitting is judged with: the class's in shear and compression, the species' in tension across.

    The class's tension across the grain (0.4 MPa in softwoods) is that of 0.01 m3 pulled evenly; a split is judged by
    the mean over a few centimetres of fibres. Clear wood of the species at the lower 5 % stands in for it; docs tell
    by how much the two differ and what the code's own formulas say.

    Parameters
    ----------
    row : mapping of str to str
    clear : mapping of str to Strength
        Of the species, on ``lower 5%``.
    """
    plain = Conditions()
    found = {
        name: class_strength(row, name, "lower 5%", plain, clear[name]) for name in ("shear", "compression_across")
    }
    across = clear["tension_across"]
    note = (
        f"own, the code's value is for far more wood; {across.note}"
        if across.note
        else ("own, the code's value is for far more wood")
    )
    found["tension_across"] = replace(across, note=note)
    return {name: found[name] for name in ("shear", "tension_across", "compression_across")}
