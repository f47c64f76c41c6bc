"""What a design value depends on besides the wood itself: size, moisture, heat and how the piece is used."""

from __future__ import annotations

from dataclasses import dataclass

from ..bases import DESIGN, MEAN, share_below
from ..errors import InputError

BASES_TABLE = (
    'Allowed: species or own values with basis "mean", "lower 5%" or another lower percentage; a strength class with '
    '"lower 5%" or "design"; a lumber grade with "design".'
)


@dataclass(frozen=True)
class Conditions:
    """What a grade's or a class's factors depend on.

    Parameters
    ----------
    size : (int, int) or None
        Nominal thickness and width of the lumber, in., as it is sold: (2, 6). Grades only.
    wet : bool
        In service above 19 % moisture. Grades only.
    temperature : float or None
        Highest temperature that stays for long, degC; None: not above 38. Grades only.
    flat_use : bool
        Loaded on the wide face. Grades only.
    repetitive : bool
        One of three or more alike, at most 24 in. apart, joined by what shares the load. Grades only.
    service : int or None
        Service class, 1 to 3. Strength classes only.
    thickness, depth : float or None
        Of the part: square to the drawing, and its extent across the grain, mm.
    """

    size: tuple[int, int] | None = None
    wet: bool = False
    temperature: float | None = None
    flat_use: bool = False
    repetitive: bool = False
    service: int | None = None
    thickness: float | None = None
    depth: float | None = None


def check_basis(basis: str, grade: str | None, strength_class: str | None) -> None:
    """Refuse a basis that the kind of wood has no values for.

    Raises
    ------
    InputError
        With the bases allowed (key ``wood.basis``).
    """
    if grade is not None and strength_class is not None:
        raise InputError(
            "A grade belongs to allowable stress design (NDS), a class to limit states (EN 338): give one.",
            key="wood.class",
        )
    if grade is not None and basis != DESIGN:
        raise InputError(f'A lumber grade has design values alone, none on "{basis}". {BASES_TABLE}', key="wood.basis")
    if strength_class is not None and basis not in {DESIGN, "lower 5%"}:
        raise InputError(f'A strength class has no values on "{basis}". {BASES_TABLE}', key="wood.basis")
    if grade is None and strength_class is None and basis != MEAN and share_below(basis) is None:
        what = "Clear wood has no design value" if basis == DESIGN else f'"{basis}" is not a basis'
        raise InputError(f"{what}. {BASES_TABLE}", key="wood.basis")
