"""Rows of the verdict on stresses that act together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from .verdict import Anchor

Kind = Literal["edge", "section"]


@dataclass(frozen=True)
class JudgingRow:
    """How stresses were judged: ``combined`` is the criterion for all of them together."""

    combined: str


@dataclass(frozen=True)
class AngleRow:
    """One stress at an angle to the grain against Hankinson's strength there; shown, it never decides.

    ``kind`` is "edge" (along a free edge) or "section" (of the member, by hand). ``value`` (MPa, tension positive),
    ``angle`` to the grain (deg), ``allowable`` (MPa) that strength; ``region`` as for modes.
    """

    case: str
    kind: Kind
    end: Literal["breaks", "crushes", "dents"]
    value: float
    angle: float
    allowable: float
    utilisation: float
    at: tuple[float, float]
    where: str
    note: str
    measured_from: Anchor | None = None
    region: str = ""
