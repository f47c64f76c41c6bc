"""One flat row of figures of a verdict: what tables of many parts are made of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields

from ..bases import DESIGN, MEAN
from .verdict import Verdict


@dataclass(frozen=True)
class Outcome:
    """What one check says, in figures.

    Attributes
    ----------
    utilisation : float
        Of what governs, with low fracture energies: one over the factor on what acts at which it fails; 0 where nothing
        loads the part.
    enough : bool
        Whether the load factor is at least what the basis wants: the margin on a lower basis, else 1. Words that
        defer to people, play and size are those of the verdict.
    mode, case, where : str
        What governs, in which case and at which place; empty where nothing loads the part.
    x, y : float or None
        That place, mm.
    low, best, high : float or None
        What it takes, in N of the load `of` or a factor on all loads.
    of : str
        The load that grows.
    mass : float or None
        kg; None where a density is not known.
    deflection : float
        The farthest that any point moves, play and gaps included, mm.
    error : float or None
        Estimated relative error of the means that decide, on its mesh.
    """

    utilisation: float
    enough: bool
    mode: str
    case: str
    where: str
    x: float | None
    y: float | None
    low: float | None
    best: float | None
    high: float | None
    of: str
    mass: float | None
    deflection: float
    error: float | None


OUTCOMES = tuple(one.name for one in fields(Outcome))
"""Names of all figures, in the order of the columns of a table."""
NUMBERS = ("utilisation", "low", "best", "high", "mass", "deflection", "error")
"""Those that can be sought, drawn and ranked."""


@dataclass(frozen=True)
class Row:
    """One variant of a part, and what its check says.

    Attributes
    ----------
    changes : mapping of str to str
        What is otherwise, by name as ``--set`` takes them; empty for the part as it stands.
    outcome : Outcome or None
        None where it could not be drawn or solved.
    message : str
        Why, if so.
    seconds : float
        That the check took.
    again : bool
        Whether another try may say otherwise: a file was missing, or something happened that should not.
    """

    changes: Mapping[str, str]
    outcome: Outcome | None
    message: str = ""
    seconds: float = 0.0
    again: bool = False


def outcome_of(verdict: Verdict) -> Outcome:
    """The figures of a verdict."""
    governing, takes = verdict.governing, verdict.takes
    factor = None if governing is None else governing.load_factor
    place = None if governing is None else governing.at
    use = 0.0 if governing is None else 1.0 / factor if factor else governing.utilisation
    wanted = 1.0 if verdict.basis in (MEAN, DESIGN) else verdict.margin
    return Outcome(
        utilisation=use,
        enough=use * wanted <= 1.0,
        mode="" if governing is None else governing.mode,
        case="" if governing is None else governing.case,
        where="" if governing is None else governing.where,
        x=None if place is None else place[0],
        y=None if place is None else place[1],
        low=takes.low,
        best=takes.best,
        high=takes.high,
        of=takes.of,
        mass=verdict.mass,
        deflection=verdict.deflection,
        error=verdict.mesh.relative_error,
    )
