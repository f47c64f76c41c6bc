"""What is varied: one name with the values it takes, or with the range that it may take them from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product


@dataclass(frozen=True)
class Axis:
    """One name and its values.

    Attributes
    ----------
    name : str
        As ``--set`` takes it: "notch_depth", "species", "support.keeper.from".
    values : tuple of str
        Each as a part file spells it.
    numbers : tuple of float or None
        The same in mm, N, MPa, deg, tonne, s; None where they are choices or expressions.
    unit : str
        That the first value is written with; empty for numbers without one and for choices.
    size : float
        One of that unit in internal units: ``numbers[0] / size`` is the first number as written.
    """

    name: str
    values: tuple[str, ...]
    numbers: tuple[float, ...] | None = None
    unit: str = ""
    size: float = 1.0


@dataclass(frozen=True)
class Span:
    """One name and the range that it is sought or sampled in; attributes as those of `Axis`."""

    name: str
    low: float
    high: float
    unit: str = ""
    size: float = 1.0

    def text(self, value: float) -> str:
        """A value (internal units) as a part file spells it, in the unit that the range was given in.

        Examples
        --------
        >>> Span("depth", 25.4, 50.8, "in", 25.4).text(38.1)
        '1.5 in'
        """
        return spelled(value / self.size, self.unit)


def spelled(number: float, unit: str) -> str:
    """A number of a unit as a part file spells it."""
    return f"{number:.10g} {unit}".strip()


def grid(axes: Sequence[Axis]) -> list[Mapping[str, str]]:
    """Every value of each axis with every value of the others, the last axis changing fastest.

    Examples
    --------
    >>> [tuple(one.values()) for one in grid([Axis("a", ("1", "2")), Axis("b", ("3", "4"))])]
    [('1', '3'), ('1', '4'), ('2', '3'), ('2', '4')]
    """
    return [
        dict(zip((one.name for one in axes), values, strict=True)) for values in product(*(one.values for one in axes))
    ]
