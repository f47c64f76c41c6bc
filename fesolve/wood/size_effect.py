"""The effect of size on strength: the weakest link in a volume of wood.

A volume fails where its weakest piece does, so the more of it is stressed the less it bears. With W. Weibull's
distribution the strength under even stress goes as V^(-1/k), and an uneven stress counts as the even one, on the volume
that the strength belongs to, which is as likely to break it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from . import tables

MM3 = 1000.0  # in 1 cm3


@dataclass(frozen=True)
class SizeLaw:
    """How the strength in one mode depends on volume.

    Parameters
    ----------
    mode : str
        ``tension across grain`` or ``shear along grain``.
    exponent : float
        k.
    volume : float
        V_0 that the tabled strengths belong to, mm^3.
    least, greatest : float or None
        The volumes between which tests stand behind it, mm^3.
    source, status, note : str
    """

    mode: str
    exponent: float
    volume: float
    least: float | None
    greatest: float | None
    source: str
    status: str
    note: str

    def strength(self, known: float, volume: float) -> float:
        """Strength (MPa) of a volume (mm^3) under even stress, from the `known` one that belongs to V_0.

        f(V) = f_0 (V_0/V)^(1/k).

        References
        ----------
        W. Weibull, A statistical theory of the strength of materials, Royal Swedish Institute for Engineering Research,
        Proceedings 151, 1939 (from memory); J. D. Barrett, Wood and Fiber 6(2), 1974 (abstract read).

        Examples
        --------
        Barrett's mean for 1 cubic inch of Douglas-fir, 460 psi, leads to his 100 psi for 2000:

        >>> law = size_law("tension across grain")
        >>> round(law.strength(2.3, law.volume), 6)
        2.3
        >>> inch = SizeLaw(law.mode, law.exponent, 16_387.0, None, None, "", "", "")
        >>> round(inch.strength(460.0, 2000 * 16_387.0))
        101
        """
        return float(known * (self.volume / volume) ** (1.0 / self.exponent))


@cache
def size_laws() -> tuple[SizeLaw, ...]:
    """The laws that wood is judged with, one a mode; the table lists others beside them."""
    return tuple(_law(row) for row in tables.rows("size_effect") if row["used"])


def size_law(mode: str) -> SizeLaw:
    """The law of one mode.

    Raises
    ------
    KeyError
        For a mode that has none.
    """
    return {law.mode: law for law in size_laws()}[mode]


def _law(row: tables.Row) -> SizeLaw:
    least, greatest = (tables.number(row, column) for column in ("least_cm3", "greatest_cm3"))
    return SizeLaw(
        row["mode"],
        float(row["k"]),
        MM3 * float(row["volume_cm3"]),
        None if least is None else MM3 * least,
        None if greatest is None else MM3 * greatest,
        row["source"],
        row["status"],
        row["note"],
    )
