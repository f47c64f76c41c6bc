"""The [wood] table: a species of the tables, or own values, and on which basis."""

from __future__ import annotations

import re
from typing import Literal, cast

from ..bases import DESIGN, LOWER, MEAN, SERVICE, share_below, spelled
from ..units import NUMBER, either, shorten
from .document import Section, is_list
from .model import WoodChoice
from .piece import read_moisture, read_percentile, read_seen, read_shrinkage

OF_GRADES = ("size", "wet", "temperature", "flat_use", "repetitive", "treated")
OF_CLASSES = ("service",)
CONDITIONS = (*OF_GRADES, *OF_CLASSES)
GRADED_KEYS = ("grade", "class", *CONDITIONS)
KEYS = (
    *("species", "board", "thickness", "grain", "basis", "density"),
    *GRADED_KEYS,
    *("elastic", "strength", "fracture"),
    *("moisture", "made_at", "shrinkage", "seen", "percentile"),
)
ELASTIC = {"E_0": "stress", "E_90": "stress", "G": "stress", "nu_0_90": "number"}
STRENGTHS = ("shear", "tension_across", "compression_across", "tension_along", "compression_along")
ENERGIES = ("G_Ic", "G_IIc")
BASES = {
    "mean": "half of such clear pieces are weaker",
    "lower 5%": "1 in 20 of such clear pieces is weaker",
}
DESIGN_MEANS = "the code's design value, of a lumber grade or a strength class"
OTHER_SHARES = 'Other shares of clear wood are spelled alike, from "lower 0.1%" to below 50 %, as "lower 10%".'
BASES_TABLE = (
    'Allowed: species or own values with "mean", "lower 5%" or another lower percentage; class with "lower 5%" or '
    '"design"; grade with "design".'
)
BOARDS = {
    "flat-sawn": "on the board's end the growth rings run about along the wide face, and the wide face is drawn",
    "quarter-sawn": "on the end they stand about square to the face that is drawn",
    "unknown": "both are computed and the worse decides",
}
QUESTION = "which face of the board is drawn? Look at its end."


def read_wood(section: Section) -> WoodChoice:
    """Read the [wood] table.

    Parameters
    ----------
    section : Section
        The table.

    Returns
    -------
    WoodChoice
        Stresses and strengths in MPa, energies in N/mm, lengths in mm, grain in deg, density in tonne/mm^3.

    Raises
    ------
    InputError
        For unknown keys, a missing basis, thickness, species or board, and values that cannot be meant.
    """
    section.allow(KEYS)
    elastic, strength = _elastic(section), _strength(section)
    grade, strength_class, basis = section.text("grade"), section.text("class"), _basis(section)
    _check_family(section, grade, strength_class, basis)
    species, board = _species(section, own=elastic is not None and bool(strength))
    fracture, single, split_length = _fracture(section)
    thickness = section.above_zero("thickness", "length")
    if thickness is None:
        raise section.missing("thickness", 'the size square to the drawing, as in thickness = "38 mm".')
    if strength_class is not None and basis == DESIGN and not section.has("service"):
        listed = "; ".join(f"{number}: {meaning}" for number, meaning in SERVICE.items())
        raise section.missing("service", f"the service class of a strength class. Choices: {listed}.")
    return WoodChoice(
        species=species,
        board=board,
        thickness=thickness,
        grain=section.quantity("grain", "angle") or 0.0,
        basis=basis,
        density=section.above_zero("density", "density"),
        elastic=elastic,
        strength=strength,
        fracture=fracture,
        fracture_single=single,
        split_length=split_length,
        grade=grade,
        strength_class=strength_class,
        size=_size(section),
        wet=section.flag("wet") is True,
        temperature=_temperature(section),
        flat_use=section.flag("flat_use") is True,
        repetitive=section.flag("repetitive") is True,
        treated=section.flag("treated") is True,
        service=_service(section),
        moisture=read_moisture(section, "moisture"),
        made_at=read_moisture(section, "made_at"),
        shrinkage=read_shrinkage(section),
        seen=read_seen(section),
        percentile=read_percentile(section, mean=basis == MEAN and grade is None and strength_class is None),
    )


def _basis(section: Section) -> str:
    """Read the basis; which pieces the verdict is about is the user's to say, so it has no default."""
    listed = "; ".join(f'"{word}": {meaning}' for word, meaning in (BASES | {DESIGN: DESIGN_MEANS}).items())
    basis = section.text("basis")
    if basis is None:
        raise section.missing("basis", f"which pieces is the verdict about? It has no default. Choices: {listed}.")
    if basis not in (*BASES, DESIGN) and share_below(basis) is None:
        raise section.error("basis", f'"{shorten(basis)}" is not a basis. Choices: {listed}. {OTHER_SHARES}')
    return spelled(basis)


def _check_family(section: Section, grade: str | None, strength_class: str | None, basis: str) -> None:
    """Keep clear wood, graded lumber and strength classes apart: bases, keys and own strengths."""
    if grade is not None and strength_class is not None:
        message = (
            "A grade belongs to allowable stress design (NDS), a class to limit states (EN 338); their values and "
            "factors are not mixed. Leave one out."
        )
        raise section.error("class", message)
    kind = "grade" if grade is not None else "class" if strength_class is not None else "species"
    allowed = {"grade": basis == DESIGN, "class": basis in {LOWER, DESIGN}, "species": basis != DESIGN}[kind]
    if not allowed:
        has = {"grade": "A lumber grade", "class": "A strength class", "species": "Clear wood"}[kind]
        raise section.error("basis", f'{has} has no values on basis "{basis}". {BASES_TABLE}')
    if kind != "species" and section.has("strength"):
        message = f"Own strengths are clear wood's and do not go with a {kind}, whose values have factors of their own."
        raise section.error("strength", f"{message} Leave one out.")
    for keys, owner, why in (
        (OF_GRADES, "grade", "a lumber grade (allowable stress design)"),
        (OF_CLASSES, "class", "a strength class (limit states)"),
    ):
        for key in keys:
            if section.has(key) and kind != owner:
                have = {"grade": "a lumber grade", "class": "a strength class", "species": "clear wood"}[kind]
                raise section.error(key, f"{key} belongs to {why}; this is {have}. {_instead(kind)}")


def _instead(kind: str) -> str:
    """What the other family has in place of a key."""
    return {
        "grade": f"Of a grade there are {', '.join(OF_GRADES)}.",
        "class": "Moisture and duration of a class are told by service = 1, 2 or 3 and the duration of cases.",
        "species": "Leave it out, or name a grade or class.",
    }[kind]


def check_one_family(section: Section, found: WoodChoice, body: WoodChoice) -> None:
    """Refuse a region of another family than the part's on the design basis, whose factors would be mixed.

    Raises
    ------
    InputError
        With what both are.
    """
    if found.basis == DESIGN and (found.grade is None) != (body.grade is None):
        key = "grade" if found.grade is not None else "class"
        message = (
            "This region has a grade and the part a class, or the other way round: allowable stress design and limit "
            "states are not mixed in one part."
        )
        raise section.error(key, message)


def _size(section: Section) -> tuple[int, int] | None:
    """Read a nominal size, ``2x6``."""
    text = section.text("size")
    if text is None:
        return None
    found = re.fullmatch(r"([0-9]{1,2}) ?[xX\u00d7] ?([0-9]{1,2})", text)
    if found is None:
        message = f'"{shorten(text)}" is not a nominal size; write thickness by width in inches as sold: size = "2x6".'
        raise section.error("size", message)
    return int(found[1]), int(found[2])


def _temperature(section: Section) -> float | None:
    """Read a temperature, in degC."""
    text = section.text("temperature")
    if text is None:
        return None
    found = re.fullmatch(rf"({NUMBER}) (degC|degF)", text)
    if found is None:
        message = f'"{shorten(text)}" is not a temperature; write it as in "45 degC" or "115 degF".'
        raise section.error("temperature", message)
    value = float(found[1])
    return value if found[2] == "degC" else (value - 32.0) / 1.8


def _service(section: Section) -> int | None:
    """Read the service class."""
    if not section.has("service"):
        return None
    value = section.quantity("service", "number")
    if value not in (1.0, 2.0, 3.0):
        listed = "; ".join(f"{number}: {meaning}" for number, meaning in SERVICE.items())
        raise section.error("service", f"{section.shown('service')} is not a service class. Choices: {listed}.")
    return int(value)


def _species(
    section: Section, *, own: bool
) -> tuple[str | None, Literal["flat-sawn", "quarter-sawn", "unknown"] | None]:
    """Read species and board: a species needs its board, because strength and stiffness differ with the face."""
    species, board = section.text("species"), section.choice("board", BOARDS)
    if species is None and (section.has("grade") or section.has("class")):
        why = "splitting length, missing values and elastic ratios come from the tree beside a grade or class, as in"
        raise section.missing("species", f'{why} species = "Douglas-fir, coast" (`fesolve woods` lists them).')
    if species is None and not own:
        raise section.missing(
            "species",
            'as in species = "Douglas-fir, coast" (`fesolve woods` lists them); only own [wood.elastic] and '
            "[wood.strength] together do without.",
        )
    if species is not None and board is None:
        listed = "; ".join(f'"{word}": {meaning}' for word, meaning in BOARDS.items())
        raise section.missing("board", f"{QUESTION} Choices: {listed}.")
    return species, cast('Literal["flat-sawn", "quarter-sawn", "unknown"] | None', board)


def _elastic(section: Section) -> dict[str, float] | None:
    """Read own elastic constants: all four or none."""
    own = section.section("elastic", "[wood.elastic]")
    if own is None:
        return None
    own.allow(ELASTIC)
    absent = [key for key in ELASTIC if not own.has(key)]
    if absent:
        message = f"[wood.elastic] needs all of {', '.join(ELASTIC)}; {', '.join(absent)} missing."
        raise own.error(absent[0], message)
    values: dict[str, float] = {}
    for key, dimension in ELASTIC.items():
        values[key] = own.needed(key, dimension)
        if dimension == "stress":
            own.above_zero(key, dimension)
    return values


def _strength(section: Section) -> dict[str, float]:
    """Read own strengths, each greater than 0."""
    own = section.section("strength", "[wood.strength]")
    if own is None:
        return {}
    own.allow(STRENGTHS)
    found = {key: own.above_zero(key, "stress") for key in STRENGTHS}
    return {key: value for key, value in found.items() if value is not None}


def _fracture(section: Section) -> tuple[dict[str, tuple[float, float]], tuple[str, ...], float | None]:
    """Read own energies, single or [low, high], or the splitting length itself."""
    own = section.section("fracture", "[wood.fracture]")
    if own is None:
        return {}, (), None
    own.allow((*ENERGIES, "split_length"))
    length = own.above_zero("split_length", "length")
    given = [key for key in ENERGIES if own.has(key)]
    if length is not None and given:
        message = f"Give either split_length or energies, not both: {either(tuple(given))} would not be used."
        raise own.error("split_length", message)
    energies = {key: _band(own, key) for key in given}
    return energies, tuple(key for key in given if not is_list(own.table[key])), length


def _band(own: Section, key: str) -> tuple[float, float]:
    """Read one energy: a single value stands for both ends of the band."""
    if is_list(own.table[key]):
        low, high = own.pair(own.table[key], key, "energy per area")
    else:
        low = high = own.needed(key, "energy per area")
    if low <= 0.0:
        raise own.error(key, f"{own.shown(key)}: an energy has to be greater than 0.")
    if high < low:
        raise own.error(key, f"{own.shown(key)}: write the lower value first, [low, high].")
    return low, high
