"""Variants side by side: plain data from which the table, the picture and compare.json are made."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ..part.differences import Difference
from .outcome import Outcome
from .verdict import UNITS, Verdict

Point = tuple[float, float]
SAME = 1e-6  # of a force, below which two are the same load


@dataclass(frozen=True)
class Dent:
    """A support or load that presses harder than the wood bears, by what share, and how deep roughly (mm)."""

    name: str
    utilisation: float
    depth: float | None


@dataclass(frozen=True)
class Compared:
    """One variant.

    Attributes
    ----------
    name : str
        What it is called: as given, its changes, or its file.
    file : str or None
    changes : mapping of str to str
        By name as ``--set`` takes them.
    differs : tuple of Difference
        What its part file has otherwise than the first variant's.
    outcome : Outcome or None
        Its figures; None where it could not be drawn or solved, and `message` says why.
    own : float or None
        What it takes with low energies in the `quantity` that a strike was given in: mm/s of speed, mm of drop or run.
    dents : tuple of Dent
        Worst first.
    rank : int or None
        1 is the best: of those that have the loads and the basis of the first, the one with the least utilisation.
    unlike : str
        Why it has no rank, if it was checked.
    gain : float or None
        Its load factor over that of the first variant, where both are loaded alike.
    moved : float or None
        How far what governs lies from where it lies in the first variant, mm.
    """

    name: str
    file: str | None
    changes: Mapping[str, str]
    differs: tuple[Difference, ...]
    outcome: Outcome | None
    message: str = ""
    own: float | None = None
    quantity: str = "force"
    dents: tuple[Dent, ...] = ()
    rank: int | None = None
    unlike: str = ""
    gain: float | None = None
    moved: float | None = None


@dataclass(frozen=True)
class Comparison:
    """All variants: those with a rank, best first; then those that are not alike; then those that failed.

    ``base`` is the name of the first one as given, which the others are measured against.
    """

    title: str
    base: str
    version: str
    variants: tuple[Compared, ...]
    units: Mapping[str, str]

    @property
    def ranked(self) -> tuple[Compared, ...]:
        """Those that are loaded alike, best first."""
        return tuple(one for one in self.variants if one.rank is not None)

    @property
    def first(self) -> Compared:
        """What the others are measured against."""
        return next(one for one in self.variants if one.name == self.base)


@dataclass(frozen=True)
class Loaded:
    """How a variant is loaded: its basis, and what acts; strikes as what they bring."""

    basis: str
    of: str
    acts: Mapping[str, Point]
    brings: Mapping[str, tuple[float, ...]]


def loaded(verdict: Verdict) -> Loaded:
    """Basis and loads of a verdict: resultants by case and load in N; of a strike mass, speed and push."""
    struck, several = {row.name for row in verdict.strikes}, len({row.case for row in verdict.loads}) > 1
    acts = {
        f'"{row.name}"' + (f' in case "{row.case}"' if several else ""): row.force
        for row in verdict.loads
        if row.name not in struck | {"gravity"}
    }
    brings = {row.name: (row.mass, row.speed, row.push) for row in verdict.strikes}
    return Loaded(verdict.basis, verdict.takes.of, acts, brings)


def unlike(one: Loaded, other: Loaded) -> str:
    """Why two variants cannot be ranked together; empty where they can."""
    if one.basis != other.basis:
        return f"basis {one.basis}, not {other.basis}"
    if one.acts.keys() != other.acts.keys() or one.brings.keys() != other.brings.keys() or one.of != other.of:
        return "other loads"
    least = SAME * max((math.hypot(*force) for force in other.acts.values()), default=0.0)
    changed = [name for name, force in one.acts.items() if math.dist(force, other.acts[name]) > least]
    changed += [
        f'"{name}"'
        for name, row in one.brings.items()
        if any(
            not math.isclose(a, b, rel_tol=SAME, abs_tol=1e-12) for a, b in zip(row, other.brings[name], strict=True)
        )
    ]
    return f"loaded otherwise: {', '.join(changed)}" if changed else ""


def dents_of(verdict: Verdict) -> tuple[Dent, ...]:
    """What is dented beyond its limit, each place once, worst first."""
    worst: dict[str, Dent] = {}
    for row in sorted(verdict.beside, key=lambda row: row.utilisation):
        if row.end == "dents" and row.utilisation >= 1.0:
            worst[row.name or row.where] = Dent(row.name or row.where, row.utilisation, row.depth)
    return tuple(sorted(worst.values(), key=lambda dent: -dent.utilisation))


def compared(title: str, version: str, rows: Sequence[tuple[Compared, Loaded | None]]) -> Comparison:
    """Rank variants and measure them against the first.

    Parameters
    ----------
    title : str
    version : str
        Of the program.
    rows : sequence of (Compared, Loaded or None)
        In the order given, without rank, gain and distance; None for those that failed.

    Returns
    -------
    Comparison
    """
    like = next((how for _, how in rows if how is not None), None)
    base = rows[0][0]
    told = [_against(base, one, "" if how is None or like is None else unlike(how, like)) for one, how in rows]
    alike = sorted((one for one in told if one.outcome is not None and not one.unlike), key=_use)
    ranked = [replace(one, rank=number) for number, one in enumerate(alike, start=1)]
    others = [one for one in told if one.outcome is not None and one.unlike]
    failed = [one for one in told if one.outcome is None]
    return Comparison(title, base.name, version, (*ranked, *others, *failed), dict(UNITS))


def _use(one: Compared) -> float:
    return 0.0 if one.outcome is None else one.outcome.utilisation


def _against(base: Compared, one: Compared, why: str) -> Compared:
    """A variant measured against the first."""
    mine, first = one.outcome, base.outcome
    if mine is None or first is None or one is base:
        return replace(one, unlike=why)
    gain = first.utilisation / mine.utilisation if not why and mine.utilisation > 0.0 else None
    moved = None
    if mine.x is not None and mine.y is not None and first.x is not None and first.y is not None:
        moved = math.hypot(mine.x - first.x, mine.y - first.y)
    return replace(one, unlike=why, gain=gain, moved=moved)
