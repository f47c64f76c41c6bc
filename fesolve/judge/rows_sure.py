"""How sure a verdict is: rows of what was varied, and the chance of failure, as plain data."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Point = tuple[float, float]
Sure = Literal["clear", "likely", "too close to call"]
Answer = Literal[
    "splits or breaks",
    "does not reach its mean strength",
    "too close to call",
    "holds",
    "above the design value",
    "within the design value",
]
Group = Literal["toughness", "strength", "grain", "place", "held", "face"]
Change = Literal["answer", "mode", "place"]
How = Literal["judged again", "solved again", "solved again on a first mesh"]


@dataclass(frozen=True)
class SureRow:
    """The part with one thing varied.

    ``takes`` is the load that it takes then (N of the load that grows, or a factor on all), None where none that was
    looked for breaks it; ``load_factor`` that over what acts, ``utilisation`` that of its worst case; ``mode``, ``at``
    and ``where`` of what governs then. ``changes`` names what is no longer as told: "answer" (does it split or hold),
    "mode", "place". ``group`` is what kind of thing was varied, ``how`` how it was measured.
    """

    what: str
    group: Group
    takes: float | None
    load_factor: float | None
    utilisation: float
    answer: Answer
    mode: str
    at: Point | None
    where: str
    changes: tuple[Change, ...]
    how: How


@dataclass(frozen=True)
class Scatter:
    """What scatters from piece to piece.

    ``share`` is by how many per cent the load falls for one per cent less of it, where it is judged; ``sigma`` what
    that adds to the standard deviation of the load's logarithm: strengths are weak or strong together, so theirs add
    up; energies are independent of them.
    """

    what: str
    cov: float
    share: float
    sigma: float
    source: str
    status: str


@dataclass(frozen=True)
class SizeChance:
    """The same by the weakest link of the volume that is stressed, where that fails before what governs.

    Weibull's distribution with the ``exponent`` of the effect of size in ``mode``; loads as in `Chance`.
    """

    mode: str
    exponent: float
    fails: float
    five: float
    half: float
    ninety_five: float


@dataclass(frozen=True)
class Chance:
    """The chance that a part drawn from this species fails.

    Loads in N of the load ``of``, or factors. ``load`` is what acts and ``fails`` the chance (0 to 1) at it; ``five``,
    ``half`` and ``ninety_five`` are the loads with 5, 50 and 95 % chance, and ``own`` the same three in the quantity
    that the user gave a strike in. ``sigma`` is the standard deviation of the load's logarithm, as the 5 and 95 % lie
    apart. ``curve`` has rows of load and chance. ``by_size`` is None where no volume is weaker than what governs.
    """

    of: str
    law: Literal["lognormal"]
    load: float
    fails: float
    five: float
    half: float
    ninety_five: float
    sigma: float
    scatter: tuple[Scatter, ...]
    curve: tuple[tuple[float, float], ...]
    own: tuple[float, float, float] | None = None
    by_size: SizeChance | None = None
