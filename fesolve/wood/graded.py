"""From a lumber grade or a strength class, with the species beside it, to strengths and stiffness."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from ..bases import LOWER
from ..errors import InputError
from . import classes, grades, tables
from .conditions import Conditions
from .elastic import CONSTANTS, Elastic, elastic_constants
from .model import ALLOWABLE, GIVEN, LIMIT, STRENGTHS, Face, Graded, Strength
from .strengths import COLUMN, WORDS, scatter_note, strengths


@dataclass(frozen=True)
class GradedValues:
    """What a wood is made of: strengths, constants, density of a class (tonne/mm^3) and notes.

    ``graded`` is None for clear wood.
    """

    strengths: Mapping[str, Strength]
    graded: Graded | None
    elastic: Elastic
    density: tuple[float | None, str, str] | None
    notes: tuple[str, ...]


def graded_values(
    species: str | None,
    face: Face | None,
    basis: str,
    *,
    grade: str | None,
    strength_class: str | None,
    conditions: Conditions,
    elastic: Mapping[str, float],
) -> GradedValues:
    """Strengths and stiffness of a lumber grade or strength class; `species` is the tree beside it.

    Parameters
    ----------
    species : str or None
        Name as the tables spell it.
    face : str or None
        Drawn face, for the ratios of the elastic constants.
    basis : str
        As checked.
    grade, strength_class : str or None
        One of them.
    conditions : Conditions
        What the factors depend on.
    elastic : mapping of str to float
        Own constants; all four, or none.

    Raises
    ------
    InputError
        For a name that is not in the tables, a species that is missing or does not fit, and conditions without factors.
    """
    if species is None:
        raise InputError(
            'A grade or class needs the tree beside it, as in species = "Douglas-fir, coast": splitting length, '
            "missing values and elastic ratios come from there.",
            key="wood.species",
        )
    clear, said = strengths(species, LOWER, {})
    said = tuple(note for note in said if note.startswith(WORDS["tension_across"].capitalize()))
    if grade is not None:
        found = _of_grade(species, face, grade, conditions, elastic, clear)
        scatter = scatter_note(species, LOWER, grades.SPLITTING)
    else:
        found = _of_class(species, face, basis, strength_class or "", conditions, elastic, clear)
        scatter = scatter_note(species, LOWER, ("tension_across",))
    return replace(found, notes=(*found.notes, *said, *scatter))


def _of_grade(
    species: str,
    face: Face | None,
    text: str,
    conditions: Conditions,
    own: Mapping[str, float],
    clear: Mapping[str, Strength],
) -> GradedValues:
    grade = grades.grade_of(text, conditions.size)
    grades.check_species(grade, species)
    splitting = grades.asd_splitting(clear, _green(species), conditions)
    found = {
        name: splitting[name] if name == "tension_across" else grades.asd_strength(grade, name, conditions, clear[name])
        for name in STRENGTHS
    }
    bending = grades.asd_strength(grade, "bending", conditions, clear["tension_along"])
    stiffness = grades.asd_strength(grade, "E_0", conditions, clear["tension_along"])
    plain, used = _constants(species, face, own, {"E_0": stiffness.value}, grade.source, grade.status)
    graded = Graded(
        family=ALLOWABLE, name=grade.name, bending=bending, splitting=splitting, clear_plane=plain.plane,
        stiffness=_stiffness(stiffness, used, own), specific_gravity=grades.GROUPS[grade.group].specific_gravity,
        bearing_factors=grades.asd_bearing(conditions),
    )  # fmt: skip
    notes = (
        f'Splitting is judged with the strengths of clear wood of "{species}" at the lower 5 % divided by 2.1 '
        f"({grades.OWN}): the code has none for tension across the grain, and says to avoid it or to reinforce.",
        grades.thickness_note(conditions),
    )
    return GradedValues(found, graded, used, None, (*used.notes, *(note for note in notes if note)))


def _of_class(
    species: str,
    face: Face | None,
    basis: str,
    text: str,
    conditions: Conditions,
    own: Mapping[str, float],
    clear: Mapping[str, Strength],
) -> GradedValues:
    row = classes.class_row(text)
    name = row["species_group_or_class"]
    tree = tables.strength_row(species)
    classes.check_species(row, species, tree["group"] if tree else "softwood")
    found = {one: classes.class_strength(row, one, basis, conditions, clear[one]) for one in STRENGTHS}
    bending = classes.class_strength(row, "bending", basis, conditions, clear["tension_along"])
    stiffness = classes.class_strength(row, "E_0", basis, conditions, clear["tension_along"])
    tabled = {"E_0": "E_mean_MPa", "E_90": "E90_mean_MPa", "G": "G_mean_MPa"}
    values = {constant: float(row[column]) for constant, column in tabled.items()}
    plain, used = _constants(species, face, own, values, row["source"], row["status"])
    graded = Graded(
        family=LIMIT, name=name, bending=bending, splitting=classes.class_splitting(row, clear),
        clear_plane=plain.plane, stiffness=_stiffness(stiffness, used, own),
        density_low=1e-12 * float(row["density_low_kg_m3"]),
    )  # fmt: skip
    density = 1e-12 * float(row["density_mean_kg_m3"]), f"{row['source']}, mean", row["status"]
    note = (
        f"Splitting is judged with {name} in shear and compression, and in tension across the grain with clear wood of "
        f'"{species}" at the lower 5 % (own): the class\'s {float(row["tension_perp_MPa"]):g} MPa is for 0.01 m3 of '
        "wood pulled evenly."
    )
    return GradedValues(found, graded, used, density, (*used.notes, note))


def _constants(
    species: str, face: Face | None, own: Mapping[str, float], values: Mapping[str, float], source: str, status: str
) -> tuple[Elastic, Elastic]:
    """Constants of clear wood of the species, and those used: own ones, else the table's with the species' ratios."""
    clear = elastic_constants(species, face, own)
    if all(name in own for name in CONSTANTS):
        return clear, clear
    used = elastic_constants(species, face, {**values, **own})
    given = ", ".join(values)
    return clear, used._replace(
        source=used.source.replace(f"{given} {GIVEN}", f"{given}: {source}"), status=used.status.replace(GIVEN, status)
    )


def _stiffness(found: Strength, used: Elastic, own: Mapping[str, float]) -> Strength:
    """E_0 as used: the part file's where it has one."""
    if "E_0" in own:
        return replace(found, value=used.plane.E_0, source=GIVEN, status=GIVEN, note="", factors=())
    return found


def _green(species: str) -> dict[str, float]:
    """Green means of the species, MPa, of the strengths that splitting is judged with."""
    row = tables.strength_row(species, tables.GREEN)
    found = {name: tables.number(row, COLUMN[name]) for name in grades.SPLITTING} if row else {}
    return {name: value / 1000.0 for name, value in found.items() if value is not None}
