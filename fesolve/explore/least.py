"""``--least``: the values in given ranges at which one figure is least while others keep within bounds.

Figures and values are seen by their logarithms, on which what goes as a power of a dimension is a plane: COBYLA, which
goes by planes through a handful of checks, then needs some ten to twenty. It may stop early, where two bounds meet or a
mode takes over, so it is begun anew from the best until that gains nothing. docs/find-and-least.md compares it with
others on closed forms (benchmarks/searches.py).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ..analysis import Result, check
from ..errors import FesolveError, InputError
from ..judge.growth import stated_in
from ..judge.outcome import Outcome, Row, outcome_of
from ..part.axes import Span
from ..part.model import Part
from .present import present
from .probe import Bound, Probe, Progress, bound_of, check_figure, figure_of, figure_text
from .store import Store
from .vary import read_vary

Array = NDArray[np.float64]

BEGIN, AGAIN, END = 0.25, 0.2, 0.01  # of the ranges: first steps, those of a new beginning, the last ones
ROUNDS = 3
GAIN = 3e-3  # of the figure, below which another beginning is not worth it
CHECKS = 100
WITHIN = 5e-3  # of a bound, by which it may be missed: what another mesh makes of a figure
AT_END = 0.01  # of the range
REFUSED = 0.7  # logarithm by which bounds count as missed where a variant cannot be drawn
DIGITS = 5
WIDE = 1.5
LESS = ("mass", "deflection", "utilisation")


@dataclass(frozen=True)
class Least:
    """What a search for the least came to.

    Attributes
    ----------
    figure : str
        What was to be least.
    bounds : tuple of Bound
        What had to be kept.
    row : Row or None
        The best of the checks that keep within the bounds; None where none does.
    result : Result or None
        Of a fresh check of it, on a mesh of its own.
    holds : bool
        Whether the fresh check keeps within the bounds, to 0.5 %.
    at_ends : mapping of str to str
        Names whose value lies at an end of its range, with "lower" or "upper".
    binding : tuple of str
        Bounds that are met to 2 %: what keeps it from being less.
    settled : bool
        Whether the search came to rest; else it ran out of checks.
    rows : tuple of Row
        Every check, in order.
    notes : tuple of str
        What to know, a sentence each.
    """

    figure: str
    bounds: tuple[Bound, ...]
    row: Row | None
    result: Result | None
    holds: bool
    at_ends: Mapping[str, str]
    binding: tuple[str, ...]
    settled: bool
    rows: tuple[Row, ...]
    notes: tuple[str, ...]


def least(
    part: Part,
    figure: str,
    subject: str | Sequence[str],
    within: Mapping[str, str],
    progress: Progress | None = None,
    checks: int = CHECKS,
    out: str | Path | None = None,
) -> Least:
    """Find the values at which a figure is least while others keep within bounds.

    Parameters
    ----------
    part : Part
    figure : str
        "mass", "deflection" or "utilisation".
    subject : str or sequence of str
        Bounds: ``"utilisation<=0.8"``, ``["utilisation<=0.8", "deflection<=2 mm"]``.
    within : mapping of str to str
        Ranges by name: ``{"thickness": "18 mm to 50 mm", "depth": "60 mm to 140 mm"}``.
    progress : callable, optional
        Told what is being checked.
    checks : int
        At most.
    out : str or path, optional
        An SQLite file, as for `fesolve.sweep`: what it holds is not checked again.

    Raises
    ------
    InputError
        For a figure, bound or range that cannot be meant.

    References
    ----------
    M. J. D. Powell, A direct search optimization method that models the objective and constraint functions by linear
    interpolation, in: Advances in Optimization and Numerical Analysis, 1994, 51-67 (COBYLA, as scipy has it; from
    memory).
    """
    if check_figure(figure, "--least") not in LESS:
        raise InputError(f"The least {figure} is not sought. Figures: {', '.join(LESS)}.", key="--least")
    bounds = tuple(bound_of(one, of=stated_in(part)) for one in ([subject] if isinstance(subject, str) else subject))
    if not bounds:
        raise InputError('Give what has to be kept, as in "utilisation<=0.8".', key="--subject")
    spans = _spans(part, within)
    with Store(out, part) as store:
        search = _Search(Probe(part, store, progress or (lambda _: None)), spans, figure, bounds, checks)
        search.run([_share(part, span) for span in spans])
    return search.told()


def _spans(part: Part, within: Mapping[str, str]) -> tuple[Span, ...]:
    if not within:
        raise InputError('Give ranges to look in, as in --vary thickness="18 mm to 50 mm".', key="--least")
    found = []
    for name, text in within.items():
        span = read_vary(part, name, text)
        if not isinstance(span, Span):
            message = f'"{name}" takes single values; the least is sought in ranges, as in "18 mm to 50 mm".'
            raise InputError(message, key=f"--vary {name}")
        found.append(span)
    return tuple(found)


def _share(part: Part, span: Span) -> float:
    """Where the present value lies in a range, 0 to 1; the middle where it lies outside."""
    now = present(part, span.name)
    if now is None or not span.low <= now.low <= span.high:
        return 0.5
    return float(min(max(_place(span, now.low), 0.05), 0.95))  # off the ends, where steps have room


def _by_ratio(span: Span) -> bool:
    return span.low > 0.0 and span.high > WIDE * span.low


def _place(span: Span, value: float) -> float:
    if _by_ratio(span):
        return float(np.log(value / span.low) / np.log(span.high / span.low))
    return (value - span.low) / (span.high - span.low)


def _value(span: Span, share: float) -> float:
    if _by_ratio(span):
        return span.low * float((span.high / span.low) ** share)
    return span.low + share * (span.high - span.low)


@dataclass
class _Search:
    """Checks at points of the unit cube that the ranges are mapped to."""

    probe: Probe
    spans: tuple[Span, ...]
    figure: str
    bounds: tuple[Bound, ...]
    most: int
    places: dict[int, Array] = field(default_factory=dict)  # of each row, in the cube
    settled: bool = True
    last: float = 0.0  # logarithm of the figure

    def changes(self, point: Array) -> dict[str, str]:
        texts = {}
        for span, share in zip(self.spans, np.clip(point, 0.0, 1.0).tolist(), strict=True):
            number = _value(span, share) / span.size
            texts[span.name] = span.text(float(f"{number:.{DIGITS}g}") * span.size)
        return texts

    def row(self, point: Array) -> Row:
        changes = self.changes(point)
        row = self.probe.row(changes)
        self.places.setdefault(id(row), np.clip(point, 0.0, 1.0))
        return row

    def goal(self, point: Array) -> float:
        """Logarithm of the figure; of the last one that there was where a variant cannot be drawn."""
        outcome = self.row(point).outcome
        value = None if outcome is None else figure_of(outcome, self.figure)
        if value is not None:
            self.last = math.log(max(value, 1e-9))
        return self.last

    def room(self, point: Array) -> Array:
        """How far each bound is kept, as logarithms."""
        return np.array(self.rooms(self.row(point).outcome))

    def rooms(self, outcome: Outcome | None) -> list[float]:
        found = [None if outcome is None else bound.room(outcome) for bound in self.bounds]
        return [-REFUSED if one is None else one for one in found]

    def keeps(self, row: Row) -> bool:
        """Whether a row keeps within all bounds, and has the figure."""
        return (
            row.outcome is not None
            and figure_of(row.outcome, self.figure) is not None
            and (min(self.rooms(row.outcome)) >= -WITHIN)
        )

    def best(self) -> Row | None:
        """The least of those that keep within the bounds."""
        kept = [row for row in self.probe.rows if self.keeps(row)]
        return min(kept, key=self._size, default=None)

    def _size(self, row: Row) -> float:
        assert row.outcome is not None
        size = figure_of(row.outcome, self.figure)
        assert size is not None
        return size

    def run(self, start: Sequence[float]) -> None:
        """COBYLA from the start, then anew from the best until nothing is gained."""
        point, before = np.array(start), math.inf
        for number in range(ROUNDS):
            self._once(point, BEGIN if number == 0 else AGAIN)
            best = self.best()
            if len(self.probe.rows) >= self.most:
                self.settled = False
                return
            now = math.inf if best is None else self._size(best)
            if number and now >= before * (1.0 - GAIN):
                return
            before = now
            point = self.places[id(best if best is not None else max(self.probe.rows, key=self._nearness))]

    def _nearness(self, row: Row) -> float:
        return min(self.rooms(row.outcome))

    def _once(self, start: Array, steps: float) -> None:
        from scipy.optimize import NonlinearConstraint, minimize

        left = max(self.most - len(self.probe.rows), len(self.spans) + 2)
        minimize(
            self.goal,
            start,
            method="COBYLA",
            bounds=[(0.0, 1.0)] * len(self.spans),
            constraints=NonlinearConstraint(self.room, 0.0, np.inf),
            tol=END,
            options={"rhobeg": steps, "maxiter": left},
        )

    # ---- what it came to

    def told(self) -> Least:
        """The best, checked afresh."""
        best, result, notes = self.best(), None, list(self._failures())
        if best is None:
            notes.insert(0, self._none_kept())
        else:
            self.probe.say("checking the result afresh")
            try:
                result = check(self.probe.part.with_(best.changes), sure=False)
            except FesolveError as error:
                notes.append(f"A fresh check of it failed: {error.message}")
        if not self.settled:
            notes.append(f"It had not come to rest after {self.most} checks; what is told is the best of them.")
        fresh = None if result is None else outcome_of(result.verdict)
        holds = fresh is not None and min(self.rooms(fresh)) >= -WITHIN
        if fresh is not None and not holds:
            notes.append("A fresh check of it, on a mesh of its own, misses a bound by more than 0.5 %.")
        return Least(
            figure=self.figure,
            bounds=self.bounds,
            row=best,
            result=result,
            holds=holds,
            at_ends={} if best is None else self._at_ends(best),
            binding=() if best is None else self._binding(best),
            settled=self.settled,
            rows=tuple(self.probe.rows),
            notes=tuple(notes),
        )

    def _at_ends(self, row: Row) -> dict[str, str]:
        place = self.places[id(row)]
        return {
            span.name: "lower" if share < 0.5 else "upper"
            for span, share in zip(self.spans, place.tolist(), strict=True)
            if min(share, 1.0 - share) <= AT_END
        }

    def _binding(self, row: Row) -> tuple[str, ...]:
        rooms = self.rooms(row.outcome)
        return tuple(bound.text for bound, room in zip(self.bounds, rooms, strict=True) if room <= 0.02)

    def _failures(self) -> list[str]:
        failed = [row for row in self.probe.rows if row.outcome is None]
        if not failed:
            return []
        return [f"{len(failed)} of {len(self.probe.rows)} variants could not be checked, such as: {failed[0].message}"]

    def _none_kept(self) -> str:
        told = [row for row in self.probe.rows if row.outcome is not None]
        if not told:
            return "Nothing in these ranges could be checked."
        near = max(told, key=self._nearness)
        assert near.outcome is not None
        changes = ", ".join(f"{name} {text}" for name, text in near.changes.items())
        figures = ", ".join(
            f"{bound.figure} {figure_text(bound.figure, figure_of(near.outcome, bound.figure) or math.nan)}"
            for bound in self.bounds
        )
        return f"Nothing in these ranges keeps within the bounds; the nearest is {changes}, with {figures}."
