"""From what the user names to a `Wood`: constants, strengths and energies, with everything that stood in said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isfinite
from types import MappingProxyType
from typing import cast

from ..bases import MEAN, share_below
from ..errors import InputError
from . import tables
from .elastic import elastic_constants
from .energies import fracture_energies
from .model import CHOICE, GIVEN, Energy, Face, Fracture, Group, Strength, Wood
from .names import species_name
from .strengths import strengths

__all__ = ["Energy", "Fracture", "Strength", "Wood", "make_wood"]

KG_PER_M3 = 1e-12  # in tonne/mm^3
OWN_WOOD = "own wood"


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
        ``mean``, or a lower percentage such as ``lower 5%``.
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
    _check_words(basis, face)
    name = _named(species, elastic, strength)
    drawn = cast("Face | None", face)
    row = tables.strength_row(name) if name else None
    group = cast(Group, row["group"]) if row else "softwood"
    stiffness = elastic_constants(name, drawn, elastic or {})
    values, strength_notes = strengths(name, basis, strength)
    energies, energy_notes = fracture_energies(
        name,
        group,
        drawn,
        stiffness.plane,
        own={
            key: (band[0], band[0]) if key in fracture_single else (band[0], band[1]) for key, band in fracture.items()
        },
        split_length=split_length,
    )
    unknown: tuple[str, ...] = ()
    if row is None and split_length is None and "G_Ic" not in fracture:
        unknown = (f"The wood has no species; fracture energies not given are those of softwoods ({CHOICE}).",)
    return Wood(
        name=name or OWN_WOOD,
        group=group,
        face=drawn,
        plane=stiffness.plane,
        density=_density(density, row),
        basis=basis,
        strengths=MappingProxyType(values),
        fracture=energies,
        notes=(*stiffness.notes, *strength_notes, *unknown, *energy_notes),
        elastic_source=stiffness.source,
        elastic_status=stiffness.status,
        species=name,
        density_source=_density_origin(density, row)[0],
        density_status=_density_origin(density, row)[1],
    )


def _check_words(basis: str, face: str | None) -> None:
    if basis != MEAN and share_below(basis) is None:
        raise InputError(f'Basis "{basis}" is not supported in this version. Bases: mean, lower 5%.', key="wood.basis")
    if face not in ("flat-sawn", "quarter-sawn", None):
        raise InputError(f'Board "{face}" is not a drawn face. Faces: flat-sawn, quarter-sawn.', key="wood.board")


def _named(species: str | None, elastic: Mapping[str, float] | None, strength: Mapping[str, float]) -> str | None:
    if species is not None:
        return species_name(species)
    if not elastic and not strength:
        raise InputError(
            'The wood is not named; give species = "…" (names: fesolve woods), or [wood.elastic] and [wood.strength].',
            key="wood.species",
        )
    return None


def _density(own: float | None, row: tables.Row | None) -> float | None:
    if own is not None:
        if not isfinite(own) or own <= 0:
            raise InputError(f"Density is {own / KG_PER_M3:g} kg/m^3; give a finite value above 0.", key="wood.density")
        return own
    tabled = tables.number(row, "density_kg_m3") if row else None
    return None if tabled is None else tabled * KG_PER_M3


def _density_origin(own: float | None, row: tables.Row | None) -> tuple[str, str]:
    """Source and status of the density; empty without one."""
    if own is not None:
        return f"{GIVEN}, taken as that at 12 % moisture", GIVEN
    if row is None or tables.number(row, "density_kg_m3") is None:
        return "", ""
    return f"{row['source']}, 12 % moisture", row["status"]
