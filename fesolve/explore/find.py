"""``--find``: the value of one name at which a figure of the verdict reaches what is wanted, in few checks.

The figure's logarithm is sought over the logarithm of the value, where what goes as a power is a straight line, so that
two checks and a third often do. Where another mode takes over the line has a kink, which costs one or two more.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from ..errors import InputError
from ..judge.growth import stated_in
from ..judge.outcome import Row
from ..part.axes import Span
from ..part.model import Part
from ..units import shorten
from .present import present
from .probe import Probe, Progress, check_figure, figure_of, figure_text, value_of
from .store import Store
from .vary import read_vary

CLOSE = 2e-3  # of the figure: below what another mesh makes of it
APART = 0.01  # of the figure: what is told beside the value differs by so much
NARROW = 1e-4  # of the range, or of the value: where the figure jumps
FARTHEST = 8.0  # times the present value, or a part of it, that is looked for outward
FIRST, MOST, LEAST_STEP = 1.1, 2.0, 1.15  # ratios of one value to the next, outward
CHECKS = 40
DIGITS = 5  # of a value as it is checked and told
INSIDE = (0.5, 0.25, 0.75)  # of a range whose ends agree, looked at for a place where it does not
AWAY = (0.0, 0.125, 0.25, 0.5, 0.75)  # of a range, from an end that cannot be drawn
BISECTIONS = 3  # from there back towards that end
BACK = 5  # halvings from a value that cannot be drawn to the last that could
BY_STRESS = ("utilisation", "low", "best", "high")  # figures that the error of the means of stress is one of
DOWN = ("utilisation", "mass", "deflection", "error")  # figures that are better the less they are
SHOP = {"mm": (1.0, 0.5, 20.0), "in": (1 / 16, 1 / 32, 0.75), "deg": (1.0, 0.5, 10.0), "cm": (0.1, 0.05, 2.0)}


@dataclass(frozen=True)
class Found:
    """What a search came to.

    Attributes
    ----------
    name, figure : str
        What was varied, and the figure that was to reach `wanted`.
    wanted : float
        As `Outcome` has it.
    value : float or None
        In `unit`; None where it was not found.
    row : Row or None
        The check there.
    bracket : (Row, Row) or None
        The nearest checks on either side, the lower value first; without a crossing both ends that were looked at.
    doubt : float or None
        By how much the mesh's estimated error moves the value, in `unit`; None where it is not known, as for mass and
        deflection: what is estimated is the error of stress.
    cut : Row or None
        The next value that a shop would set out, on the side that meets what is wanted, checked.
    unit : str
    rows : tuple of Row
        Every check, in order.
    notes : tuple of str
        What to know, a sentence each: why nothing was found, other crossings, values that cannot be drawn.
    """

    name: str
    figure: str
    wanted: float
    value: float | None
    row: Row | None
    bracket: tuple[Row, Row] | None
    doubt: float | None
    cut: Row | None
    unit: str
    rows: tuple[Row, ...]
    notes: tuple[str, ...]

    @property
    def text(self) -> str:
        """The value as a part file has it; empty where none was found."""
        return "" if self.row is None else self.row.changes[self.name]


def find(
    part: Part,
    name: str,
    until: Mapping[str, float | str],
    within: str | None = None,
    progress: Progress | None = None,
    out: str | Path | None = None,
) -> Found:
    """Find the value of a dimension at which a figure of the verdict reaches what is wanted.

    Parameters
    ----------
    part : Part
    name : str
        A dimension, or any quantity of the file as ``--set`` takes it.
    until : mapping of str to float or str
        One figure and its value: ``{"utilisation": 0.8}``, ``{"deflection": "2 mm"}``, ``{"low": "5 kN"}``.
    within : str, optional
        Where to look, "5 mm to 30 mm"; outward from the present value unless given, to 8 times or an eighth of it.
    progress : callable, optional
        Told what is being checked.
    out : str or path, optional
        An SQLite file, as for `fesolve.sweep`: what it holds is not checked again.

    Raises
    ------
    InputError
        For a name that is no quantity of the part, a figure that does not exist, and a part without a present value
        to look outward from.

    Examples
    --------
    >>> import fesolve
    >>> bar = fesolve.read_part("meshes/drawbar.toml")  # doctest: +SKIP
    >>> fesolve.find(bar, "notch_depth", until={"utilisation": 1.0}, within="5 mm to 30 mm").text  # doctest: +SKIP
    '12.5 mm'
    """
    if len(until) != 1:
        raise InputError('Give one figure to be reached, as in until={"utilisation": 0.8}.', key="--until")
    ((figure, value),) = until.items()
    wanted = value_of(check_figure(figure, "--until"), value, "--until", stated_in(part))
    now = present(part, name)
    span = _span(part, name, within, now)
    with Store(out, part) as store:
        line = _Line(Probe(part, store, progress or (lambda _: None)), span, figure, wanted)
        ends = line.between(now) if within is not None else line.outward()
        return line.found(ends)


def _span(part: Part, name: str, within: str | None, now: Span | None) -> Span:
    """Where to look: the range that was given, or the present value as one of no width."""
    if within is not None:
        span = read_vary(part, name, within)
        if not isinstance(span, Span):
            message = f'"{shorten(within)}" is not a range to look in; write it as in "5 mm to 30 mm".'
            raise InputError(message, key=f"--vary {name}")
        return span
    if now is None:
        part.with_({name: "1"})  # tells better where there is no such name
        raise InputError(f'"{shorten(name)}" is not a quantity of this part, so it cannot be sought.', key="--find")
    if now.low <= 0.0:
        message = f'"{name}" is {now.text(now.low)} now, and nothing can be sought outward from that. '
        raise InputError(f'{message}Give a range: --vary {name}="... to ...".', key="--find")
    return now


class _UndrawableError(Exception):
    """A value inside a bracket that cannot be drawn."""


class _CloseError(Exception):
    """Near enough."""


Ends = tuple[float, float]


@dataclass
class _Line:
    """A figure over one value, as a search sees it; values here are internal ones."""

    probe: Probe
    span: Span
    figure: str
    wanted: float
    seen: dict[float, float] = field(default_factory=dict)  # logarithm of figure over wanted by value
    notes: list[str] = field(default_factory=list)

    @property
    def by_ratio(self) -> bool:
        return self.span.low > 0.0

    def along(self, value: float) -> float:
        """Where a value lies on the scale of the search."""
        return math.log(value) if self.by_ratio else value

    def value_at(self, place: float) -> float:
        return math.exp(place) if self.by_ratio else place

    def written(self, value: float) -> float:
        """A value rounded to the digits that a variant is written with."""
        return float(f"{value / self.span.size:.{DIGITS}g}") * self.span.size

    def row(self, value: float) -> Row:
        return self.probe.row({self.span.name: self.span.text(value)})

    def __call__(self, value: float) -> float | None:
        """Logarithm of the figure over what is wanted; None where there is none."""
        value = self.written(value)
        if value in self.seen:
            return self.seen[value]
        row = self.row(value)
        figure = None if row.outcome is None else figure_of(row.outcome, self.figure)
        if figure is None:
            why = row.message or f'its verdict has no "{self.figure}"'
            self.note(f"{self.span.text(value)} cannot be checked: {why.rstrip('.')}.")
            return None
        self.seen[value] = math.log(max(figure, 1e-9) / self.wanted)
        return self.seen[value]

    def note(self, text: str) -> None:
        if text not in self.notes:
            self.notes.append(text)

    # ---- brackets

    def between(self, now: Span | None) -> Ends | None:
        """A part of the range at whose ends the figure lies on either side of what is wanted."""
        low, high = self._end(self.span.low, self.span.high), self._end(self.span.high, self.span.low)
        if low is None or high is None or low >= high:
            return None
        if self.seen[low] * self.seen[high] > 0.0:
            for share in INSIDE:
                self(self.value_at(self.along(low) + share * (self.along(high) - self.along(low))))
                if self.crossings():
                    break
        crossings = self.crossings()
        if not crossings:
            return None
        here = now.low if now is not None else low
        return min(crossings, key=lambda ends: max(ends[0] - here, here - ends[1], 0.0))

    def _end(self, end: float, other: float) -> float | None:
        """The end of the range, or the value nearest to it that can be drawn."""
        bad = None
        place, far = self.along(end), self.along(other)
        for share in AWAY:
            value = self.value_at(place + share * (far - place))
            if self(value) is not None:
                good = self.written(value)
                return good if bad is None else self._nearer(good, bad)
            bad = value
        return None

    def _nearer(self, good: float, bad: float) -> float:
        """Between a value that can be drawn and one that cannot, half the way and half again, towards the latter."""
        for _ in range(BISECTIONS):
            middle = self.value_at((self.along(good) + self.along(bad)) / 2)
            if self(middle) is None:
                bad = middle
            else:
                good = self.written(middle)
        return good

    def crossings(self) -> list[Ends]:
        """Neighbours among the values checked with what is wanted between them."""
        values = sorted(self.seen)
        return [(a, b) for a, b in itertools.pairwise(values) if self.seen[a] * self.seen[b] <= 0.0]

    def outward(self) -> Ends | None:
        """From the present value towards what is wanted, by steps that follow the slope."""
        start = self.span.low
        first = self(start)
        if first is None:
            return None
        if abs(first) <= CLOSE:
            return self.written(start), self.written(start)
        second = self(start * FIRST)
        step = FIRST if second is not None else 1.0 / FIRST
        if second is None and (second := self(start * step)) is None:
            return None
        slope = (second - first) / math.log(step)
        towards = -1.0 if first * slope > 0.0 else 1.0
        return self._steps(towards, slope)

    def _steps(self, towards: float, slope: float) -> Ends | None:
        """Steps up (1) or down (-1) until it is crossed, it gets too far, or nothing can be drawn."""
        start = self.written(self.span.low)
        good = max(self.seen) if towards > 0.0 else min(self.seen)
        halvings, ratio = 0, math.inf
        while not self.crossings() and len(self.probe.rows) < CHECKS:
            if halvings == 0:
                wanted = abs(self.seen[good] / slope) * 1.1 if slope else math.inf
                ratio = math.exp(min(max(wanted, math.log(LEAST_STEP)), math.log(MOST)))
            value = good * ratio**towards
            if not 1.0 / FARTHEST <= value / start <= FARTHEST * (1 + 1e-9):
                break
            if self(value) is None:
                halvings, ratio = halvings + 1, math.sqrt(ratio)
                if halvings > BACK:
                    break
                continue
            value = self.written(value)
            slope = (self.seen[value] - self.seen[good]) / math.log(value / good)
            if self.seen[value] * slope * towards > 0.0:
                slope = 0.0  # it turned away: the longest steps
            good = value
        return next(iter(self.crossings()), None)

    # ---- the root

    def narrow(self, ends: Ends) -> None:
        """Shrink a bracket until a value in it is close."""
        from scipy.optimize import brentq

        def of(place: float) -> float:
            found = self(self.value_at(place))
            if found is None:
                raise _UndrawableError
            if abs(found) <= CLOSE:
                raise _CloseError
            return found

        low, high = (self.along(end) for end in ends)
        try:
            brentq(of, low, high, xtol=NARROW * (1.0 if self.by_ratio else high - low), maxiter=CHECKS, disp=False)
        except (_UndrawableError, _CloseError):
            pass
        except ValueError:  # both ends on one side by a hair, as their texts are rounded
            pass

    def found(self, ends: Ends | None) -> Found:
        """What the search came to, with all that was seen on the way."""
        if ends is not None and ends[0] < ends[1]:
            self.narrow(ends)
        value = self._best(ends)
        row = None if value is None else self.row(value)
        bracket = self._bracket(value)
        if len(self.crossings()) > 1:
            self.note(f"It crosses {self._wanted()} {len(self.crossings())} times among the values checked.")
        if ends is None:
            self.note(self._nowhere())
        elif value is None:
            self._why_not()
        cut = None if value is None else self._cut(value)
        return Found(
            name=self.span.name,
            figure=self.figure,
            wanted=self.wanted,
            value=None if value is None else value / self.span.size,
            row=row,
            bracket=bracket,
            doubt=None if value is None else self._doubt(value),
            cut=cut,
            unit=self.span.unit,
            rows=tuple(self.probe.rows),
            notes=tuple(self.notes),
        )

    def _best(self, ends: Ends | None) -> float | None:
        """The value whose figure is closest, if that is close enough."""
        if ends is None:
            return None
        inside = [value for value in self.seen if ends[0] <= value <= ends[1]]
        best = min(inside, key=lambda value: abs(self.seen[value]))
        return best if abs(self.seen[best]) <= CLOSE else None

    def _bracket(self, value: float | None) -> tuple[Row, Row] | None:
        values = sorted(self.seen)
        if len(values) < 2:
            return None
        if value is not None:
            apart = [one for one in values if abs(self.seen[one]) > APART or one == value]
            place = apart.index(value)
            around = apart[max(place - 1, 0)], apart[min(place + 1, len(apart) - 1)]
        elif self.crossings():
            around = min(self.crossings(), key=lambda ends: self.along(ends[1]) - self.along(ends[0]))
        else:
            around = values[0], values[-1]
        return self.row(around[0]), self.row(around[1])

    def _wanted(self) -> str:
        return f"{self.figure} {figure_text(self.figure, self.wanted)}"

    def _told(self, value: float) -> str:
        figure = math.exp(self.seen[value]) * self.wanted
        return f"{figure_text(self.figure, figure)} at {self.span.text(value)}"

    def _nowhere(self) -> str:
        """That what is wanted was not met, with both ends."""
        if not self.seen:
            return f"{self._wanted()} was not met: no value could be checked."
        ends = sorted(self.seen)
        listed = " and ".join(self._told(value) for value in dict.fromkeys((ends[0], ends[-1])))
        way = "above" if self.seen[ends[0]] > 0.0 else "below"
        return f"{self._wanted()} was not met: {self.figure} stays {way} it, {listed}."

    def _why_not(self) -> None:
        """Why a bracket was not narrowed to a value: the figure jumps, or values in it cannot be drawn."""
        low, high = min(self.crossings(), key=lambda ends: self.along(ends[1]) - self.along(ends[0]))
        what = f"{self._told(low)}, {self._told(high)}"
        if self.along(high) - self.along(low) < 100 * NARROW * (1.0 if self.by_ratio else self.span.high):
            self.note(f"{self._wanted()} is jumped over: {what}.")
        else:
            self.note(f"{self._wanted()} lies between, but values there cannot be checked: {what}.")

    def _doubt(self, value: float) -> float | None:
        """How far the mesh's error moves the value, in the unit, by the slope to the nearest other value."""
        row = self.row(value)
        others = [other for other in self.seen if other != value]
        if self.figure not in BY_STRESS or row.outcome is None or not row.outcome.error or not others:
            return None
        near = min(others, key=lambda other: abs(abs(self.seen[other] - self.seen[value]) - 0.1))
        slope = (self.seen[near] - self.seen[value]) / (self.along(near) - self.along(value))
        if slope == 0.0:
            return None
        moved = row.outcome.error / abs(slope)
        return moved * (value if self.by_ratio else 1.0) / self.span.size

    def _cut(self, value: float) -> Row | None:
        """The next value that a shop would set out, on the side that meets what is wanted."""
        if self.span.unit not in SHOP or len(self.seen) < 2:
            return None
        coarse, fine, small = SHOP[self.span.unit]
        written = value / self.span.size
        step = coarse if abs(written) >= small else fine
        better = -1.0 if self.figure in DOWN else 1.0
        others = sorted(self.seen, key=lambda other: abs(self.along(other) - self.along(value)))[1:]
        near = next((other for other in others if abs(self.seen[other] - self.seen[value]) > CLOSE), others[0])
        rising = (self.seen[near] - self.seen[value]) * (near - value) > 0.0
        up = rising == (better > 0.0)
        rounded = (math.ceil(written / step - 1e-6) if up else math.floor(written / step + 1e-6)) * step
        if rounded <= 0.0 < written:
            return None
        row = self.probe.row({self.span.name: self.span.text(rounded * self.span.size)})
        return row if row.outcome is not None else None
