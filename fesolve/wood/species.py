"""From what the user names to a `Wood`: constants, strengths and energies, with everything that stood in said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import isfinite
from types import MappingProxyType
from typing import cast

from ..errors import InputError
from . import tables
from .conditions import Conditions, check_basis
from .cracks import WEAKENED, weakened
from .elastic import elastic_constants
from .energies import fracture_energies
from .graded import GradedValues, graded_values
from .model import CHOICE, GIVEN, Energy, Face, Fracture, Group, Strength, Wood
from .moisture import AtMoisture, moistened
from .names import species_name
from .shrinkage import shrinkage_of
from .strengths import strengths

__all__ = ["Energy", "Fracture", "Strength", "Wood", "make_wood"]

KG_PER_M3 = 1e-12  # in tonne/mm^3
OWN_WOOD = "own wood"
NO_CONDITIONS = Conditions()


def make_wood(
    *,
    species: str | None = None,
    face: str | None = None,
    basis: str,
    elastic: Mapping[str, float] | None = None,
    strength: Mapping[str, float] = MappingProxyType({}),
    fracture: Mapping[str, tuple[float, float]] = MappingProxyType({}),
    fracture_single: Sequence[str] = (),
    split_length: float | None = None,
    density: float | None = None,
    grade: str | None = None,
    strength_class: str | None = None,
    conditions: Conditions = NO_CONDITIONS,
    moisture: float | None = None,
    shrinkage: Mapping[str, float] = MappingProxyType({}),
    cracks: tuple[float, bool] | None = None,
) -> Wood:
    """Put together the wood to judge with.

    Parameters
    ----------
    species : str, optional
        A species of the tables (case and spacing free). Without one ``elastic`` and ``strength`` have to be complete
        but for the tension across the grain.
    face : str, optional
        ``flat-sawn`` or ``quarter-sawn``: the drawn face. An unknown board is judged once with each.
    basis : str
        ``mean``, a lower percentage such as ``lower 5%``, or, of grades and classes, ``design``.
    elastic : mapping, optional
        Own E_0, E_90, G (MPa), nu_0_90, any of them.
    strength : mapping, optional
        Own strengths on that basis, MPa.
    fracture : mapping, optional
        Own G_Ic, G_IIc as (low, high), N/mm.
    fracture_single : sequence of str, optional
        Which of them were given as one value; low and high are then made equal.
    split_length : float, optional
        Own splitting length, mm, instead of energies.
    density : float, optional
        Own density, tonne/mm^3.
    grade, strength_class : str, optional
        A lumber grade of the NDS or a strength class of EN 338, with the tree beside it as the species.
    conditions : Conditions, optional
        What the factors of a grade or class depend on.
    moisture : float, optional
        %, of the piece; strengths and stiffness of a species follow it, own values stand for it as they are.
    shrinkage : mapping, optional
        Own strain ``along`` and ``across`` the grain for 1 % of moisture.
    cracks : (float, bool), optional
        Share of the thickness that drying cracks leave for shear and splitting, and whether their depth is known.

    Returns
    -------
    Wood
        Complete; ``notes`` names every value that stands in for a missing one.

    Raises
    ------
    InputError
        For an unknown species, face or basis, and for values that are missing or cannot be; the message says what to
        give.

    Examples
    --------
    >>> wood = make_wood(species="Douglas-fir, coast", face="flat-sawn", basis="lower 5%")
    >>> round(wood.strengths["tension_across"].value, 2)         # 2.3 (1 - 1.645 x 0.25)
    1.35
    """
    if face not in ("flat-sawn", "quarter-sawn", None):
        raise InputError(f'Board "{face}" is not a drawn face. Faces: flat-sawn, quarter-sawn.', key="wood.board")
    check_basis(basis, grade, strength_class)
    if grade is not None or strength_class is not None:
        _refuse_own(strength)
        name = None if species is None else species_name(species)
    else:
        name = _named(species, elastic, strength)
    drawn = cast("Face | None", face)
    row = tables.strength_row(name) if name else None
    group = cast(Group, row["group"]) if row else "softwood"
    at = moistened(name, group, moisture) if name is not None and moisture is not None else None
    values = _values(name, drawn, basis, elastic or {}, strength, grade, strength_class, conditions, at)
    values = _cracked(values, cracks)
    shrinks = shrinkage_of(name, drawn, group, shrinkage)
    moist = (at.note,) if at is not None and at.note and values.graded is None else ()
    energies, energy_notes = fracture_energies(
        name,
        group,
        drawn,
        values.elastic.plane if values.graded is None else values.graded.clear_plane,
        own={
            key: (band[0], band[0]) if key in fracture_single else (band[0], band[1]) for key, band in fracture.items()
        },
        split_length=split_length,
    )
    unknown: tuple[str, ...] = ()
    if row is None and split_length is None and "G_Ic" not in fracture:
        unknown = (f"The wood has no species; fracture energies not given are those of softwoods ({CHOICE}).",)
    weight = _density(density, row) if density is not None or values.density is None else values.density
    return Wood(
        name=name or OWN_WOOD if values.graded is None else f"{values.graded.name} ({name})",
        group=group,
        face=drawn,
        plane=values.elastic.plane,
        density=weight[0],
        basis=basis,
        strengths=MappingProxyType(dict(values.strengths)),
        fracture=energies,
        notes=(*values.notes, *unknown, *energy_notes, *moist),
        elastic_source=values.elastic.source,
        elastic_status=values.elastic.status,
        species=name,
        density_source=weight[1],
        density_status=weight[2],
        graded=values.graded,
        moisture=moisture,
        shrinkage=shrinks,
    )


def _values(
    name: str | None,
    face: Face | None,
    basis: str,
    elastic: Mapping[str, float],
    strength: Mapping[str, float],
    grade: str | None,
    strength_class: str | None,
    conditions: Conditions,
    at: AtMoisture | None,
) -> GradedValues:
    """Strengths and constants: of clear wood at a moisture, or of a grade or class."""
    if grade is not None or strength_class is not None:
        return graded_values(
            name, face, basis, grade=grade, strength_class=strength_class, conditions=conditions, elastic=elastic
        )
    stiffness = elastic_constants(name, face, elastic, at)
    values, notes = strengths(name, basis, strength, at)
    return GradedValues(values, None, stiffness, None, (*stiffness.notes, *notes))


def _cracked(values: GradedValues, cracks: tuple[float, bool] | None) -> GradedValues:
    """With what drying cracks take of shear and splitting; values of a grade or class allow for them already."""
    if cracks is None:
        return values
    if values.graded is not None:
        note = "Drying cracks: the values of a grade or class allow for usual ones, and nothing is taken off again."
        return replace(values, notes=(*values.notes, note))
    less = {key: weakened(values.strengths[key], cracks[0], known=cracks[1]) for key in WEAKENED}
    return replace(values, strengths={**values.strengths, **less})


def _refuse_own(strength: Mapping[str, float]) -> None:
    for name in strength:
        raise InputError(
            "Own strengths are clear wood's, on the basis named; they do not go with a grade or class, whose values "
            "have their own factors. Leave one out.",
            key=f"wood.strength.{name}",
        )


def _named(species: str | None, elastic: Mapping[str, float] | None, strength: Mapping[str, float]) -> str | None:
    if species is not None:
        return species_name(species)
    if not elastic and not strength:
        raise InputError(
            'The wood is not named; give species = "…" (names: fesolve woods), or [wood.elastic] and [wood.strength].',
            key="wood.species",
        )
    return None


def _density(own: float | None, row: tables.Row | None) -> tuple[float | None, str, str]:
    """Density, tonne/mm^3, with source and status, both empty without one."""
    if own is not None:
        if not isfinite(own) or own <= 0:
            raise InputError(f"Density is {own / KG_PER_M3:g} kg/m^3; give a finite value above 0.", key="wood.density")
        return own, f"{GIVEN}, taken as that at 12 % moisture", GIVEN
    tabled = tables.number(row, "density_kg_m3") if row else None
    if row is None or tabled is None:
        return None, "", ""
    return tabled * KG_PER_M3, f"{row['source']}, 12 % moisture", row["status"]
