"""Rows of the verdict that hold the reader's own figures against the hand calculation, and the codes' formulas."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class MineStep:
    """One step of the hand calculation at a cut: the reader's figure, the calculation's and the mesh's.

    ``step`` is its letter: b, h, t (mm), A (mm^2), S, Q (mm^3), I (mm^4), N, V (N), M (N mm), tau, sigma (MPa).
    ``yours`` is None where the reader gave none, ``mesh`` where the mesh has no such figure. ``agrees`` and
    ``agrees_with_mesh`` compare sizes, not signs; None where there is nothing to compare.
    """

    step: str
    yours: float | None
    here: float
    mesh: float | None
    agrees: bool | None
    agrees_with_mesh: bool | None


@dataclass(frozen=True)
class Mine:
    """The reader's own hand calculation at one cut, compared step by step.

    ``differs`` is the first step that does; ``outcome`` says how: ``slip`` (a usual one gives that figure, ``words``
    complete "your V ..."), ``unknown`` (none does), ``statics`` (the figures are right by statics, not by the mesh),
    ``formula`` (the figures are right and the mesh has another stress), ``agrees``. ``why`` gives reasons why statics
    or formula do not hold there. ``by_statics`` is false where V and M are the mesh's own.
    """

    steps: tuple[MineStep, ...]
    differs: str
    outcome: Literal["slip", "unknown", "statics", "formula", "agrees"]
    words: str = ""
    why: tuple[str, ...] = ()
    by_statics: bool = True


@dataclass(frozen=True)
class CodeRow:
    """A formula of a timber code (or the energy form behind it) at one place of the part, beside the mesh.

    ``what`` names it in a few words, ``formula`` is it in its code's letters, ``family`` whose it is. ``load`` (N) is
    what acts there in the case where it is worst, V or a force, ``resistance`` (N) what the formula allows with the
    strengths of ``basis``, ``utilisation`` one over the other. ``takes`` is the load at which it is met, in the
    quantity of the verdict's ``takes``; ``ratio`` that over what the mesh gives the same place, None where it finds
    nothing there. ``note`` holds the figures that went in.
    """

    what: str
    family: str
    formula: str
    place: str
    case: str
    load: float
    resistance: float
    utilisation: float
    takes: float | None
    ratio: float | None
    basis: str
    source: str
    status: str
    note: str = ""
