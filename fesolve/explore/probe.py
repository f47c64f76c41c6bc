"""Checks of variants, one after the other, for a search: each made once, none lost."""

from __future__ import annotations

import math
import operator
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from ..analysis import Result
from ..errors import InputError
from ..judge.growth import ALL_LOADS
from ..judge.outcome import NUMBERS, Outcome, Row
from ..part.model import Part
from ..units import NUMBER, parse_quantity, shorten
from .evaluate import evaluate, key
from .store import Store

Progress = Callable[[str], None]

LEAST = 1e-9  # of a figure, in its logarithm: where nothing loads the part
KIND_OF = {"mass": "mass", "deflection": "length", "utilisation": "number", "error": "percent"}
FIGURES_OF = {"low": "force", "best": "force", "high": "force"}
KG = 1e3  # in a tonne
_BOUND = re.compile(r"\s*(\w+)\s*(<=|>=|<|>)\s*(\S.*?)\s*")


@dataclass(frozen=True)
class Bound:
    """A figure of an outcome and the value that it may reach.

    Attributes
    ----------
    figure : str
        One of `fesolve.judge.outcome.NUMBERS`.
    value : float
        As `Outcome` has it: kg, mm, N.
    most : bool
        Whether it is the most or the least that it may be.

    Examples
    --------
    >>> bound_of("utilisation<=0.8")
    Bound(figure='utilisation', value=0.8, most=True)
    """

    figure: str
    value: float
    most: bool

    @property
    def text(self) -> str:
        """As people write it."""
        return f"{self.figure} {'<=' if self.most else '>='} {figure_text(self.figure, self.value)}"

    def room(self, outcome: Outcome) -> float | None:
        """How far it is met, as a logarithm: above 0 within, below 0 beyond; None where there is no such figure."""
        figure = figure_of(outcome, self.figure)
        if figure is None:
            return None
        ratio = math.log(max(figure, LEAST) / self.value)
        return -ratio if self.most else ratio


def figure_of(outcome: Outcome, figure: str) -> float | None:
    """One figure of an outcome."""
    found: float | None = operator.attrgetter(figure)(outcome)
    return found


def figure_text(figure: str, value: float) -> str:
    """A figure as Outcome has it with its unit, three digits."""
    if figure == "error":
        return f"{100 * value:.3g} %"
    unit = {"mass": " kg", "deflection": " mm"}.get(figure, "")
    return f"{value:.4g}{unit}"


def check_figure(figure: str, key: str) -> str:
    """Refuse what is no figure of an outcome."""
    if figure not in NUMBERS:
        raise InputError(f'"{shorten(figure)}" is not a figure of a verdict. Figures: {", ".join(NUMBERS)}.', key=key)
    return figure


def bound_of(text: str, *, of: str = "", key: str = "--subject") -> Bound:
    """Read ``utilisation<=0.8`` or ``deflection<=2 mm``; `of` as for `value_of`.

    Raises
    ------
    InputError
        For another form, a figure that there is none of, and values that are not above 0 or of another kind.
    """
    found = _BOUND.fullmatch(text)
    if found is None:
        raise InputError(f'"{shorten(text)}" is not a bound; write it as in "utilisation<=0.8".', key=key)
    figure = check_figure(found[1], key)
    return Bound(figure, value_of(figure, found[3], key, of), found[2].startswith("<"))


def value_of(figure: str, value: object, key: str, of: str = "") -> float:
    """A figure's value as `Outcome` has it, from a number or a quantity with a unit.

    Parameters
    ----------
    figure : str
    value : object
    key : str
        For the message.
    of : str
        What `low`, `best` and `high` are stated in: a load, which wants a force, or `ALL_LOADS`, which wants a plain
        number; either is taken unless given.

    Raises
    ------
    InputError
        For what is no value of this figure, or not above 0.
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise InputError(f"{shorten(value)} is not a value of {figure}.", key=key)
    text = str(value)
    plain = re.fullmatch(rf"\s*[+-]?{NUMBER}\s*", text) is not None
    if figure in FIGURES_OF:
        _check_kind(figure, text, of, plain=plain, key=key)
        number = float(text) if plain else parse_quantity(text, "force", key=key)
    elif plain:
        number = float(text)
    else:
        number = parse_quantity(text, KIND_OF[figure], key=key) * (KG if figure == "mass" else 1.0)
    if not (math.isfinite(number) and number > 0.0):
        raise InputError(f'"{shorten(text)}" is not above 0; give {figure} a value above 0.', key=key)
    return number


def _check_kind(figure: str, text: str, of: str, *, plain: bool, key: str) -> None:
    """Refuse a force where a factor is meant, and a plain number where a force is."""
    if of == ALL_LOADS and not plain:
        message = f'What it takes is a factor on all loads here, and "{shorten(text)}" has a unit.'
        raise InputError(f"{message} Give {figure} a bare number, such as 1.5.", key=key)
    if of not in ("", ALL_LOADS) and plain:
        message = f'What it takes is a force here, of load "{shorten(of)}", and "{shorten(text)}" has no unit.'
        raise InputError(f'{message} Give {figure} one, such as "5 kN".', key=key)


def _quiet(_: str) -> None:
    """Say nothing."""


@dataclass
class Probe:
    """Checks variants of a part; the same one is never checked twice.

    Attributes
    ----------
    part : Part
    store : Store
        Open; what it holds is not checked again, and every row is written as it comes.
    say : callable
        Told what is being checked.
    rows : list of Row
        Every variant in the order in which it was checked.
    """

    part: Part
    store: Store
    say: Progress = _quiet
    rows: list[Row] = field(default_factory=list)
    _known: dict[tuple[tuple[str, str], ...], Row] = field(default_factory=dict)
    _last: Result | None = None

    def row(self, changes: Mapping[str, str]) -> Row:
        """Check a variant, or give what is known of it."""
        name = tuple(sorted(changes.items()))
        if name not in self._known:
            self._known[name] = row = replace(self._checked(changes), changes=dict(changes))
            self.rows.append(row)
        return self._known[name]

    def _checked(self, changes: Mapping[str, str]) -> Row:
        kept = key(self.part, changes)
        if (row := self.store.get(kept)) is not None:
            return row
        told = ", ".join(f"{one} {text}" for one, text in changes.items())
        self.say(f"check {len(self.rows) + 1}: {told}")
        row, result = evaluate(self.part, changes, self._last)
        self._last = result or self._last
        self.store.add(kept, row)
        return row
