"""What to change, as plain data: cures that were checked, and those that were only looked at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..part.cures import Group


@dataclass(frozen=True)
class CureRow:
    """One change and the full check of the part with it, without what is varied for "how sure".

    ``changes`` are by name as ``--set`` takes them. ``takes`` is the load with low energies (N of the load that grows,
    or a factor on all), ``own`` the same in the quantity that a strike was given in (mm/s or mm), None without one;
    ``load_factor`` that over what acts, and ``gain`` over that as told. ``enough``: whether it reaches the load factor
    aimed for. ``mode`` and ``where`` are of what governs then; ``mass`` in kg, None where a density is not known.
    """

    what: str
    group: Group
    changes: Mapping[str, str]
    takes: float | None
    own: float | None
    load_factor: float
    utilisation: float
    gain: float
    enough: bool
    mode: str
    where: str
    mass: float | None


@dataclass(frozen=True)
class LookedRow:
    """One change that was looked at quickly: ``gain`` is about its load factor over that as told.

    None where it cannot be drawn or solved, and ``why`` says so.
    """

    what: str
    group: Group
    changes: Mapping[str, str]
    gain: float | None
    why: str = ""


@dataclass(frozen=True)
class Cures:
    """What to change where a part does not hold.

    ``aim`` is the load factor that is wanted. ``rows`` are checked, best first; ``looked`` were looked at and not
    checked, best first. ``idle`` names the dimensions that change next to nothing, ``loads`` those that only change
    what acts, which is no cure of the part.
    """

    aim: float
    rows: tuple[CureRow, ...]
    looked: tuple[LookedRow, ...]
    idle: tuple[str, ...]
    loads: tuple[str, ...]
