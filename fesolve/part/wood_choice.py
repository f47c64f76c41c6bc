"""The [wood] table: a species of the tables, or own values, and on which basis."""

from __future__ import annotations

from typing import Literal, cast

from ..bases import share_below, spelled
from ..units import either, shorten
from .document import Section, is_list
from .model import WoodChoice

KEYS = (
    *("species", "board", "thickness", "grain", "basis", "density"),
    *("elastic", "strength", "fracture"),
)
LATER = {"grade": "A lumber grade", "class": "A strength class"}
ELASTIC = {"E_0": "stress", "E_90": "stress", "G": "stress", "nu_0_90": "number"}
STRENGTHS = ("shear", "tension_across", "compression_across", "tension_along", "compression_along")
ENERGIES = ("G_Ic", "G_IIc")
BASES = {
    "mean": "half of such clear pieces are weaker",
    "lower 5%": "1 in 20 of such clear pieces is weaker",
}
OTHER_SHARES = 'Other shares of clear wood are spelled alike, from "lower 0.1%" to below 50 %, as "lower 10%".'
DESIGN = "the code's design value; not supported in this version"
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
    section.allow(KEYS, LATER)
    elastic, strength = _elastic(section), _strength(section)
    species, board = _species(section, own=elastic is not None and bool(strength))
    fracture, single, split_length = _fracture(section)
    thickness = section.above_zero("thickness", "length")
    if thickness is None:
        raise section.missing("thickness", 'the size square to the drawing, as in thickness = "38 mm".')
    return WoodChoice(
        species=species,
        board=board,
        thickness=thickness,
        grain=section.quantity("grain", "angle") or 0.0,
        basis=_basis(section),
        density=section.above_zero("density", "density"),
        elastic=elastic,
        strength=strength,
        fracture=fracture,
        fracture_single=single,
        split_length=split_length,
    )


def _basis(section: Section) -> str:
    """Read the basis; which pieces the verdict is about is the user's to say, so it has no default."""
    listed = "; ".join(f'"{word}": {meaning}' for word, meaning in (BASES | {"design": DESIGN}).items())
    basis = section.text("basis")
    if basis is None:
        raise section.missing("basis", f"which pieces is the verdict about? It has no default. Choices: {listed}.")
    if basis == "design":
        raise section.error("basis", f'Basis "design" is not supported in this version. Choices: {listed}.')
    if basis not in BASES and share_below(basis) is None:
        raise section.error("basis", f'"{shorten(basis)}" is not a basis. Choices: {listed}. {OTHER_SHARES}')
    return spelled(basis)


def _species(
    section: Section, *, own: bool
) -> tuple[str | None, Literal["flat-sawn", "quarter-sawn", "unknown"] | None]:
    """Read species and board: a species needs its board, because strength and stiffness differ with the face."""
    species, board = section.text("species"), section.choice("board", BOARDS)
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
