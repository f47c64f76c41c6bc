"""Rows of the verdict on stresses that act together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from .verdict import Anchor

Kind = Literal["edge", "section"]


@dataclass(frozen=True)
class JudgingRow:
    """How stresses were judged: ``combined`` is the criterion for all of them together.

    ``size_effect``: whether the effect of size is shown.
    """

    combined: str
    size_effect: bool = True


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


@dataclass(frozen=True)
class SizeRow:
    """The effect of size in one mode and case; shown, it never decides.

    ``value`` (MPa) is the even stress on ``volume`` (mm^3), which ``allowable`` (MPa) belongs to, that counts as much
    as all stress in the wood, by the ``exponent`` k; ``even_volume`` (mm^3) is twice the least volume that half of it
    comes from, and ``at`` where the stress is greatest. None: the sum has no limit. ``utilisation`` is None too where
    no test stands behind it. ``region`` names those of the wood.
    """

    case: str
    mode: str
    value: float | None
    allowable: float
    utilisation: float | None
    volume: float
    exponent: float
    even_volume: float | None
    at: tuple[float, float]
    source: str
    status: str
    note: str
    region: str = ""
