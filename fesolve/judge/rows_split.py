"""Rows of the verdict on splitting by energy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .verdict import Anchor

Point = tuple[float, float]


@dataclass(frozen=True)
class SplitStart:
    """What one pair of fracture energies (N/mm) says of a crack: loads in the quantity of `Takes`, lengths mm.

    ``load`` starts it, over ``length`` at once; ``past`` drives it past the length of the mean stress, which is what
    that calls a split; ``runs_at`` drives it on to the longest length looked at; ``stops_at`` is the length at which it
    waits for more load, None where it runs at once. Loads are None where nothing drives it; ``runs_at`` and
    ``stops_at`` also where the crack was not followed so far. ``use`` is the share that is used at the loads as given,
    as ``past`` counts it: one over their factor there, where all of them grow.
    """

    G_Ic: float
    G_IIc: float
    load: float | None
    length: float
    runs_at: float | None
    stops_at: float | None
    past: float | None = None
    use: float = 0.0


@dataclass(frozen=True)
class SplitRow:
    """Splitting by energy, from one hot spot or crack: energy release rate over the length of the crack.

    ``of`` is ``hot spot 1`` or a crack's name, ``at`` where it starts: its mouth, of a crack that is there already its
    tip. ``direction`` is a unit vector along the grain; ``ahead`` the wood's length from the mouth to where it leaves
    it, ``existing`` the length that is open already (mm). ``opening`` and
    ``sliding`` are G_I and G_II at the loads as given (N/mm), by domain integral; ``closure_*`` by crack closure.
    ``low`` and ``high`` belong to both ends of the energies; ``mean_load`` is what the mean stress says there (low
    energies); ``trusted`` is ``mean stress`` or ``energy`` where they differ by more than a fifth, else empty, and
    ``why`` the reason; ``mean_high`` and ``trusted_high`` are the same with high energies. Where nothing could be
    opened the arrays are empty and ``why`` says so.
    ``reference`` is the load as given, on the basis and for the case's duration: a crack runs on at ``reference`` over
    the root of G_I/G_Ic + G_II/G_IIc. ``assumed``: nobody said where the crack is, so its row decides nothing.
    ``whole``: it was followed to near the end of the wood, not only as far as decides.
    """

    of: str
    case: str
    at: Point
    where: str
    direction: Point
    ahead: float
    existing: float
    lengths: tuple[float, ...]
    opening: tuple[float, ...]
    sliding: tuple[float, ...]
    closure_opening: tuple[float, ...]
    closure_sliding: tuple[float, ...]
    low: SplitStart | None
    high: SplitStart | None
    mean_load: float | None
    trusted: str
    why: str
    region: str = ""
    reference: float = 0.0
    assumed: bool = False
    whole: bool = True
    measured_from: Anchor | None = None
    mean_high: float | None = None
    trusted_high: str = ""
