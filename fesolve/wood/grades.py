"""Allowable stress design: reference values of graded lumber with their adjustment factors (NDS).

Which factor touches which value is NDS 2018, Table 4.3.1 (read): Fb C_D C_M C_t C_F C_fu C_r; Ft C_D C_M C_t C_F; Fv
C_D C_M C_t; Fc C_D C_M C_t C_F; Fc_perp C_M C_t; E C_M C_t. C_D belongs to the load case and comes with it.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import prod
from types import MappingProxyType

from ..errors import InputError
from . import tables
from .conditions import Conditions
from .model import ALLOWABLE, CHOICE, Factor, Strength

MPA_PER_PSI = 4.4482216152605 / 25.4**2
COLUMN = {
    "shear": "Fv",
    "compression_across": "Fc_perp",
    "tension_along": "Ft",
    "compression_along": "Fc",
    "bending": "Fb",
    "E_0": "E",
}
TOUCHED = {
    "Fb": ("C_M", "C_t", "C_F", "C_fu", "C_r"),
    "Ft": ("C_M", "C_t", "C_F"),
    "Fv": ("C_M", "C_t"),
    "Fc": ("C_M", "C_t", "C_F"),
    "Fc_perp": ("C_M", "C_t"),
    "E": ("C_M", "C_t"),
}
EXEMPT = {"Fb": 1150.0, "Fc": 750.0}  # psi with C_F, up to which C_M is 1 (NDS Supplement, Table 4A, read)
APPLICABLE = "NDS 2018, Table 4.3.1"
SPLITTING = ("shear", "tension_across", "compression_across")
OWN = "own, no code value"
HOT = (38.0, 52.0, 66.0)  # degC: 100, 125, 150 degF
DRESSED = {2: 1.5, 3: 2.5, 4: 3.5}  # in.: dry, dressed thickness by nominal one (NDS Supplement, Table 1A, from memory)
WIDTHS = (2, 3, 4, 5, 6, 8, 10, 12, 14, 16)
SAME = 1.0  # mm: a part so near to the dressed thickness has it


@dataclass(frozen=True)
class Group:
    """A species combination: its specific gravity (the notes of design_values.csv, read) and tree species in it."""

    specific_gravity: float
    species: tuple[str, ...]


# which species belong to a combination: NDS Supplement, Table 2A, from memory
GROUPS: Mapping[str, Group] = MappingProxyType(
    {
        "Douglas Fir-Larch": Group(
            0.50,
            (
                *("Douglas-fir, coast", "Douglas-fir, interior north", "Douglas-fir, interior west"),
                "Larch, western",
            ),
        ),
        "Hem-Fir": Group(
            0.43,
            (
                *("Hemlock, western", "Fir, California red", "Fir, grand", "Fir, noble", "Fir, Pacific silver"),
                "Fir, white",
            ),
        ),
        "Spruce-Pine-Fir": Group(
            0.42,
            (
                *("Spruce, Engelmann", "Spruce, black", "Spruce, red", "Spruce, white", "Pine, lodgepole"),
                *("Pine, jack", "Fir, balsam", "Fir, subalpine"),
            ),
        ),
        "Southern Pine": Group(0.55, ("Pine, loblolly", "Pine, longleaf", "Pine, shortleaf", "Pine, slash")),
    }
)


@dataclass(frozen=True)
class Grade:
    """A row of the table of graded lumber: species combination, grade, and reference values in psi by letter."""

    group: str
    grade: str
    psi: Mapping[str, float]
    source: str
    status: str
    sized: bool  # its values are for the width already

    @property
    def name(self) -> str:
        """As the part file names it."""
        return f"{self.group} {self.grade}"


def _squeezed(text: str) -> str:
    return "".join(text.casefold().split())


def grade_of(text: str, size: tuple[int, int] | None) -> Grade:
    """Find a grade with its reference values.

    Parameters
    ----------
    text : str
        Species combination and grade, ``"Douglas Fir-Larch No.2"``; case and blanks do not matter.
    size : (int, int) or None
        Nominal thickness and width, in.

    Raises
    ------
    InputError
        For a grade that is not in the table, with the nearest ones, and for a size that it is not for.

    Examples
    --------
    >>> grade_of("douglas fir-larch no. 2", (2, 6)).psi["Fb"], grade_of("Southern Pine No.2", (2, 8)).psi["Fb"]
    (900.0, 925.0)
    """
    listed = [row for row in tables.rows("design_values") if row["system"].startswith("NDS")]
    names = {_squeezed(f"{row['species_group_or_class']} {row['grade']}"): row for row in listed}
    found = names.get(_squeezed(text))
    if found is None:
        offers = [f"{names[one]['species_group_or_class']} {names[one]['grade']}" for one in _near(text, list(names))]
        nearest = "Nearest: " + "; ".join(f'"{one}"' for one in offers) + "." if offers else "No name comes near it."
        raise InputError(f'Grade "{text}" is not in the tables. {nearest} All: fesolve woods NDS.', key="wood.grade")
    name = f"{found['species_group_or_class']} {found['grade']}"
    _check_size(name, size)
    assert size is not None  # refused above
    rows = [row for row in listed if f"{row['species_group_or_class']} {row['grade']}" == name]
    row = rows[0] if len(rows) == 1 else next((row for row in rows if _covers(row, size[1])), None)
    if row is None:
        raise InputError(f'The tables have "{name}" up to 12 in. wide, not {size[1]}.', key="wood.size")
    psi = {letter: float(row[f"{letter}_psi"]) for letter in TOUCHED}
    return Grade(row["species_group_or_class"], row["grade"], MappingProxyType(psi), row["source"], row["status"],
                 len(rows) > 1)  # fmt: skip


def _near(text: str, names: list[str]) -> list[str]:
    return difflib.get_close_matches(_squeezed(text), names, n=5, cutoff=0.5)


def _covers(row: tables.Row, width: int) -> bool:
    low, _, high = row["nominal_width_in"].partition("-")
    return int(low) <= width <= int(high or low)


def _check_size(name: str, size: tuple[int, int] | None) -> None:
    if size is None:
        raise InputError(
            f'The values of "{name}" depend on the size of the lumber; give its nominal inches as it is sold, '
            'thickness by width: size = "2x6".',
            key="wood.size",
        )
    thickness, width = size
    if thickness not in DRESSED or width not in WIDTHS or width < thickness:
        raise InputError(
            f'"{thickness}x{width}" is not dimension lumber, which the tables are for: 2, 3 or 4 in. thick and '
            f"{', '.join(map(str, WIDTHS[:-1]))} or {WIDTHS[-1]} in. wide, the width not below the thickness.",
            key="wood.size",
        )
    if name.endswith("Stud") and width > 6:
        raise InputError(f'"{name}" has size factors up to 6 in. wide; wider take the values of No.3.', key="wood.size")


def check_species(grade: Grade, species: str) -> None:
    """Refuse a species that does not belong to the grade's combination.

    Raises
    ------
    InputError
        With those that do (key ``wood.species``).
    """
    allowed = GROUPS[grade.group].species
    if species not in allowed:
        raise InputError(
            f'"{species}" is no {grade.group}. Splitting length and elastic ratios come from the species beside the '
            f"grade; give one of: {'; '.join(allowed)}.",
            key="wood.species",
        )


# ---- factors


def asd_factors(grade: Grade, letter: str, conditions: Conditions) -> tuple[Factor, ...]:
    """All factors on a reference value except C_D, in the order of NDS Table 4.3.1; those at 1 with the reason.

    Parameters
    ----------
    grade : Grade
    letter : str
        ``Fb``, ``Ft``, ``Fv``, ``Fc``, ``Fc_perp`` or ``E``.
    conditions : Conditions

    Examples
    --------
    2x8 No.1, wet: 1,000 psi times 0.85 times 1.2.

    >>> one = grade_of("Douglas Fir-Larch No.1", (2, 8))
    >>> [(f.name, f.value) for f in asd_factors(one, "Fb", Conditions(size=(2, 8), wet=True))][:3]
    [('C_M', 0.85), ('C_t', 1.0), ('C_F', 1.2)]
    """
    made = {"C_M": _wet, "C_t": _hot, "C_F": _size, "C_fu": _flat, "C_r": _repetitive}
    return tuple(made[name](grade, letter, conditions) for name in TOUCHED[letter])


def _listed(name: str, when: str, touches: str, shown: str = "") -> Factor:
    row = tables.factor_row(ALLOWABLE, name, when, touches)
    note = "; ".join(text for text in (row["note"], row["status"]) if text)
    return Factor(shown or name, float(row["value"]), row["source"], note)


def _wet(grade: Grade, letter: str, conditions: Conditions) -> Factor:
    if not conditions.wet:
        return Factor("C_M", 1.0, APPLICABLE, "dry in service, at most 19 % moisture")
    found = _listed("C_M", "wet", letter)
    limit = EXEMPT.get(letter)
    if limit is not None and grade.psi[letter] * _size(grade, letter, conditions).value <= limit:
        return replace(found, value=1.0, note=f"{letter} C_F is at most {limit:g} psi; read")
    return found


def heat_band(temperature: float | None, wet: bool) -> str:
    """The row of the table of C_t.

    Raises
    ------
    InputError
        Above 66 degC (150 degF), where the table ends.
    """
    felt = HOT[0] if temperature is None else temperature
    top = next((limit for limit in HOT if felt <= limit), None)
    if top is None:
        raise InputError(
            f"{felt:g} degC is above 66 degC (150 degF), where the factors for heat end; wood that hot for long needs "
            "an engineer's judgement.",
            key="wood.temperature",
        )
    return f"up to {top:g} degC, {'wet' if wet else 'dry'}"


def _hot(_: Grade, letter: str, conditions: Conditions) -> Factor:
    return _listed("C_t", heat_band(conditions.temperature, conditions.wet), letter)


def _size(grade: Grade, letter: str, conditions: Conditions) -> Factor:
    if grade.sized:
        return Factor("C_F", 1.0, grade.source, "the values of southern pine are for the width already")
    assert conditions.size is not None  # `grade_of` has refused None
    thickness, width = conditions.size
    if grade.grade == "Stud":
        return _listed("C_F, Stud", str(width), letter, "C_F")
    touches = "Fb, 4 in. thick" if letter == "Fb" and thickness == 4 else letter
    return _listed("C_F", str(width), touches)


def _flat(_: Grade, letter: str, conditions: Conditions) -> Factor:
    assert conditions.size is not None
    thickness, width = conditions.size
    if not conditions.flat_use:
        return Factor("C_fu", 1.0, APPLICABLE, "loaded on the narrow face")
    if thickness == 4:
        return Factor("C_fu", 1.0, APPLICABLE, f"that of lumber 4 in. thick is not in the tables; left at 1 ({CHOICE})")
    return _listed("C_fu", str(width), letter)


def _repetitive(_: Grade, letter: str, conditions: Conditions) -> Factor:
    if not conditions.repetitive:
        return Factor("C_r", 1.0, APPLICABLE, "a single member")
    return _listed("C_r", "repetitive", letter)


# ---- values


def asd_strength(grade: Grade, name: str, conditions: Conditions, clear: Strength) -> Strength:
    """A design value without C_D, MPa; `clear` is the species', for its mean and scatter.

    Parameters
    ----------
    grade : Grade
    name : str
        ``shear``, ``compression_across``, ``tension_along``, ``compression_along``, ``bending`` or ``E_0``.
    conditions : Conditions
    clear : Strength

    References
    ----------
    NDS 2018, 4.3; NDS Supplement 2018, Tables 4A and 4B.
    """
    letter = COLUMN[name]
    factors = asd_factors(grade, letter, conditions)
    value = grade.psi[letter] * MPA_PER_PSI * prod(factor.value for factor in factors)
    note = f"reference value {letter} of {grade.psi[letter]:,.0f} psi"
    return replace(clear, value=value, source=grade.source, status=grade.status, note=note, factors=factors)


def asd_splitting(
    clear: Mapping[str, Strength], green: Mapping[str, float], conditions: Conditions
) -> dict[str, Strength]:
    """Strengths that splitting is judged with on the design basis, without C_D: clear wood at lower 5 % over 2.1.

    The code has no value for tension across the grain. All three are taken from the species, so that the criterion
    keeps its shape. In wet service the green value counts where it is lower: no credit for drying.

    Parameters
    ----------
    clear : mapping of str to Strength
        Of the species, on ``lower 5%``.
    green : mapping of str to float
        Its green means, MPa, where the tables have them.
    conditions : Conditions
    """
    found = {}
    for name in SPLITTING:
        one = clear[name]
        more = [_listed("1/2.1", "ten years", "shear, tension and compression across of clear wood at lower 5 %")]
        if conditions.wet:
            more.append(_green(one, green.get(name)))
        more.append(_listed("C_t", heat_band(conditions.temperature, conditions.wet), "Fv"))
        value = one.value * prod(factor.value for factor in more)
        note = f"{OWN}; {one.note}" if one.note else OWN
        found[name] = replace(one, value=value, note=note, factors=(*one.factors, *more))
    return found


def _green(one: Strength, green: float | None) -> Factor:
    source = "USDA Wood Handbook, Table 5-3a, green over 12 %"
    if green is None:
        return Factor("green/dry", 0.67, CHOICE, "no green value is known: the lowest C_M of the code stands in")
    return Factor("green/dry", min(1.0, green / one.mean), source, "wet in service; no credit for drying")


def asd_bearing(conditions: Conditions) -> tuple[Factor, ...]:
    """Factors on the bearing of dowels for moisture and heat."""
    found = [_listed("C_M", "wet", "dowel bearing")] if conditions.wet else []
    found.append(_listed("C_t", heat_band(conditions.temperature, conditions.wet), "dowel bearing"))
    return tuple(found)


def thickness_note(conditions: Conditions) -> str:
    """A caution where the part is not as thick as its lumber; empty where it is, or where nobody knows."""
    if conditions.size is None or conditions.thickness is None:
        return ""
    dressed = 25.4 * DRESSED[conditions.size[0]]
    if abs(conditions.thickness - dressed) <= SAME:
        return ""
    return (
        f"The part is {conditions.thickness:.4g} mm thick, dressed lumber of {conditions.size[0]} in. {dressed:.4g}. "
        "A grade holds for the whole piece as it was graded, not for what is sawn from it (common practice, no source)."
    )
