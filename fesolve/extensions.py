"""What other packages plug in, by the entry points of their installation: woods, failure modes, solvers.

Each is loaded where it is needed and checked then; one that cannot be used stops what needs it with a message that
names the package. Nothing is taken in silence: the verdict lists what it rests on (`Verdict.extensions`).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache, wraps
from importlib.metadata import EntryPoint, entry_points
from typing import Any

import numpy as np

from .errors import ExtensionError, InputError, SolveError, unusable
from .fem.assembly import LowerTriangle
from .fem.factor import NamedSolver
from .judge.further import Further, Mode
from .judge.interaction import PlaneStrength
from .judge.rows_extension import ExtensionKind, ExtensionRow
from .judge.verdict import MODES
from .part.model import Part
from .wood import species, tables
from .wood.added import added_woods
from .wood.model import Wood

GROUPS: Mapping[ExtensionKind, str] = {"wood": "fesolve.woods", "mode": "fesolve.modes", "solver": "fesolve.solvers"}
KEY = "mesh.solver"


@dataclass(frozen=True)
class Offer:
    """One entry point: what a package offers under a name."""

    kind: ExtensionKind
    name: str
    package: str
    version: str
    load: Callable[[], Any]

    @property
    def who(self) -> str:
        """The package, and where in it, in words."""
        return f'Package {self.package} {self.version} ({GROUPS[self.kind]}: "{self.name}")'

    def refused(self, why: str) -> ExtensionError:
        """The error for something that cannot be used."""
        return unusable(self.who, self.package, why)

    def run(self, what: str, call: Callable[[], Any]) -> Any:
        """What foreign code returns; whatever it raises is one message.

        Raises
        ------
        ExtensionError
            That says `what` could not be done.
        """
        try:
            return call()
        except KeyboardInterrupt:
            raise
        except BaseException as error:  # an import may end the process too (SystemExit)
            said = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
            raise self.refused(f"{what} ({said}).") from error


@cache
def _environment() -> Any:
    return entry_points()  # it reads a file of every installed package


def installed(group: str) -> Iterable[EntryPoint]:
    """The entry points of a group in this environment."""
    found: Iterable[EntryPoint] = _environment().select(group=group)
    return found


@cache
def plugged_in() -> tuple[str, ...]:
    """What is offered in this environment, with versions, without loading any of it: results hang on it."""
    points = [(group, one) for group in GROUPS.values() for one in installed(group)]
    said = [f"{group} {one.name} {one.dist.name} {one.dist.version}" for group, one in points if one.dist]
    return tuple(sorted(said))


@cache
def offers(kind: ExtensionKind) -> tuple[Offer, ...]:
    """What is offered of a kind, by name.

    Raises
    ------
    ExtensionError
        Where two packages offer the same name; the message names both.
    """
    found: dict[str, Offer] = {}
    for point in sorted(installed(GROUPS[kind]), key=lambda one: one.name):
        owner, version = (point.dist.name, point.dist.version) if point.dist is not None else ("unknown", "unknown")
        offer = Offer(kind, point.name, owner, version, point.load)
        if point.name in found:
            other = found[point.name]
            raise _both(f'the {kind} entry "{point.name}" ({GROUPS[kind]})', other, offer)
        found[point.name] = offer
    return tuple(found.values())


def _both(what: str, one: Offer, other: Offer) -> ExtensionError:
    return ExtensionError(
        f"Two packages offer {what}: {one.package} {one.version} and {other.package} {other.version}. "
        "Take one of them out (pip uninstall), or rename it there."
    )


# ---- woods


@cache
def join_woods() -> None:
    """Load the woods of all packages, once, and add them to the species of the tables.

    An entry point of the group ``fesolve.woods`` is a function without arguments that returns rows, one a species, or
    these rows themselves (`fesolve.wood.added`).

    Raises
    ------
    ExtensionError
        For a package that cannot be loaded, a row that cannot be used, and a species that two packages bring. Nothing
        is added then.
    """
    found: dict[str, tuple[Offer, tables.AddedWood]] = {}
    for offer in offers("wood"):
        for wood in _woods(offer):
            key = " ".join(wood.name.casefold().split())
            if key in found:
                raise _both(f'the species "{wood.name}"', found[key][0], offer)
            found[key] = offer, wood
    tables.add(wood for _, wood in found.values())


def _woods(offer: Offer) -> tuple[tables.AddedWood, ...]:
    given = offer.run("it cannot be loaded", offer.load)
    rows = offer.run("its rows cannot be had", given) if callable(given) else given
    if isinstance(rows, (str, bytes, Mapping)) or not isinstance(rows, Iterable):
        raise offer.refused(f"it gives {type(rows).__name__}; a list of rows is wanted, each a mapping.")
    every = offer.run("its rows cannot be had", lambda: list(rows))
    try:
        return added_woods(every, offer.package, offer.version)
    except InputError as error:
        raise offer.refused(error.message) from None


@wraps(species.make_wood)
def make_wood(*args: Any, **given: Any) -> Wood:
    """As `fesolve.wood.species.make_wood`, with the woods that other packages bring."""
    join_woods()
    return species.make_wood(*args, **given)


# ---- failure modes


@cache
def further_modes() -> tuple[Further, ...]:
    """The failure modes of all packages, loaded and tried out once.

    An entry point of the group ``fesolve.modes`` is a `Mode`, or a criterion alone that stands beside. The mode's word
    is the entry's name, with blanks for ``_`` and ``-``.

    Raises
    ------
    ExtensionError
        For a package that cannot be loaded, a name that is taken, and a criterion that fails when it is tried out.
    """
    found: dict[str, tuple[Offer, Further]] = {}
    for offer in offers("mode"):
        mode = _mode(offer)
        if mode.name in found:
            raise _both(f'the failure mode "{mode.name}"', found[mode.name][0], offer)
        found[mode.name] = offer, mode
    return tuple(mode for _, mode in found.values())


def _mode(offer: Offer) -> Further:
    word = " ".join(re.split(r"[_\s-]+", offer.name)).casefold().strip()
    if not re.fullmatch(r"[a-z][a-z0-9 ]*", word):
        raise offer.refused("the name of a mode is of letters a to z and digits, with _ or - between words.")
    if word in MODES:
        raise offer.refused(f'"{word}" is a mode of fesolve itself, which is not replaced.')
    given = offer.run("it cannot be loaded", offer.load)
    mode = given if isinstance(given, Mode) else Mode(given)
    if not callable(mode.criterion):
        raise offer.refused(f"it gives {type(mode.criterion).__name__}; a fesolve.Mode or a function is wanted.")
    if mode.end not in ("breaks", "crushes") or not isinstance(mode.decides, bool):
        raise offer.refused(f"end is {mode.end!r} and decides {mode.decides!r}; breaks or crushes, True or False.")
    further = Further(word, f"{offer.package} {offer.version}", offer.who, mode)
    wood = species.make_wood(species="Douglas-fir, coast", face="flat-sawn", basis="mean")
    further.try_out(PlaneStrength(**{name: one.value for name, one in wood.strengths.items()}), wood)
    return further


# ---- solvers


@cache
def solver_of(name: str | None) -> NamedSolver | None:
    """The solver that a package offers under a name, loaded and tried on a small matrix; None for none.

    An entry point of the group ``fesolve.solvers`` is a function as `fesolve.fem.factor.MatrixSolver` says.

    Raises
    ------
    InputError
        For a name that nobody offers, with those that are.
    ExtensionError
        For a package that cannot be loaded, or fails on the small matrix.
    """
    if name is None:
        return None
    known = {offer.name: offer for offer in offers("solver")}
    if name not in known:
        there = f"Solvers: {', '.join(known)}." if known else "No installed package offers one."
        raise InputError(f'Solver "{name}" is not there. {there} Without the key the own solver is used.', key=KEY)
    offer = known[name]
    factorise = offer.run("it cannot be loaded", offer.load)
    if not callable(factorise):
        raise offer.refused(f"it gives {type(factorise).__name__}; a function of a matrix is wanted.")
    solver = NamedSolver(f'Solver "{name}" of package {offer.package} {offer.version}', factorise)
    _try(offer, solver)
    return solver


def _try(offer: Offer, solver: NamedSolver) -> None:
    """Refuse a solver that fails on a chain of six springs, whose answers numpy knows as well."""
    dense = 2.0 * np.eye(6) - np.eye(6, k=1) - np.eye(6, k=-1)
    rows, columns = np.nonzero(np.tril(dense).T)[::-1]
    pointer = np.searchsorted(columns, np.arange(7))
    lower = LowerTriangle(rows.astype(np.int32), pointer.astype(np.int32))
    right = np.stack([np.arange(6.0), np.ones(6)], axis=1)
    try:
        found = solver(lower, dense[rows, columns], {})(right)
    except SolveError as error:
        raise offer.refused(f"tried on a small matrix: {error.message}") from error
    if not np.allclose(found, np.linalg.solve(dense, right), rtol=1e-6, atol=1e-6):
        raise offer.refused("it answers wrongly for a small matrix.")


# ---- what was used


def used(part: Part, woods: Iterable[Wood]) -> tuple[ExtensionRow, ...]:
    """What of other packages a verdict rests on: the species of its woods, all modes, the solver that was asked for."""
    found = [tables.added(wood.species) for wood in woods]
    rows = [ExtensionRow("wood", wood.name, wood.package, wood.version) for wood in found if wood is not None]
    rows += [ExtensionRow("mode", mode.name, *mode.package.split(" ", 1)) for mode in further_modes()]
    solvers = [offer for offer in offers("solver") if offer.name == part.mesh.solver]
    rows += [ExtensionRow("solver", offer.name, offer.package, offer.version) for offer in solvers]
    return tuple(dict.fromkeys(rows))


def cautions() -> tuple[str, ...]:
    """What to know of the modes that other packages bring."""
    return tuple(
        f'The mode "{mode.name}" is that of {mode.package}: fesolve has checked its form, not what it says of wood.'
        for mode in further_modes()
    )
