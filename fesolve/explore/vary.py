"""``--vary``: which name takes which values, as people write it.

    notch_depth="5 mm to 30 mm in 6"                six values, evenly from the first to the last
    notch_depth="5 mm; 8 mm; 12 mm"                 these; commas do between quantities too
    species="Ash, white; Oak, northern red"         a semicolon parts choices, since names hold commas
    notch_depth="5 mm to 30 mm"                     a range, to be sought or sampled in

Values may also be expressions ("depth/4; depth/3"); they are texts then, and have no numbers of their own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from math import prod
from typing import NamedTuple

from ..errors import InputError
from ..part.axes import Axis, Span, spelled
from ..part.model import Part
from ..part.overrides import WOOD_KEYS, override
from ..units import NUMBER, Dims, Quantity, match_fraction, match_unit, measure, name_dims, shorten, unknown_unit

MOST = 100_000  # variants in one sweep
_RANGE = re.compile(r"\s*(\S.*?)\s+to\s+(\S.*?)(?:\s+in\s+([0-9]+))?\s*", re.DOTALL)
_NUMBER = re.compile(rf"\s*([+-]?{NUMBER})(?:\s+(\S.*?))?\s*", re.DOTALL)
_HOW = 'Write it as in "5 mm to 30 mm in 6", "5 mm; 8 mm; 12 mm" or "Ash, white; Oak, northern red".'


class _Written(NamedTuple):
    """A quantity as written."""

    number: float
    unit: str
    size: float
    dims: Dims


def read_axes(part: Part, wanted: Mapping[str, str | Sequence[object]]) -> list[Axis]:
    """What a grid varies.

    Parameters
    ----------
    part : Part
    wanted : mapping of str to str or sequence
        By name, the text of ``--vary`` or the values themselves.

    Raises
    ------
    InputError
        As `read_vary`, and for a range without a number of values, and a grid that is too large.
    """
    axes = []
    for one in read_varied(part, wanted):
        if isinstance(one, Span):
            text = f"{one.text(one.low)} to {one.text(one.high)}"
            raise InputError(f'"{text}" does not say how many values; write "{text} in 6".', key=f"--vary {one.name}")
        axes.append(one)
    count = prod(len(one.values) for one in axes)
    if count > MOST:
        raise InputError(f"These are {count:,} variants; a sweep has at most {MOST:,}. Take fewer values.")
    return axes


def read_varied(part: Part, wanted: Mapping[str, str | Sequence[object]]) -> list[Axis | Span]:
    """What is varied, each by itself; raises as `read_vary`, and for one thing under two names, or nothing."""
    if not wanted:
        raise InputError(f'Nothing is varied: give --vary NAME="...", such as {_example(part)}.')
    names: dict[str, str] = {}
    for name in wanted:
        if (other := names.setdefault(_place(part, name), name)) != name:
            raise InputError(f'"{shorten(other)}" and "{shorten(name)}" are the same; vary it once.')
    return [read_vary(part, name.strip(), value) for name, value in wanted.items()]


def read_vary(part: Part, name: str, wanted: str | Sequence[object]) -> Axis | Span:
    """Read what one name takes.

    Parameters
    ----------
    part : Part
        Whose name it is.
    name : str
        As ``--set`` takes it.
    wanted : str or sequence
        As at the top of this file, or the values themselves.

    Returns
    -------
    Axis or Span
        A span where a range comes without a number of values.

    Raises
    ------
    InputError
        For a name that the part does not have, values of another kind than its own, and text that cannot be meant.
    """
    override(part.source, {name: ""})  # raises where there is no such name
    key = f"--vary {name}"
    written = _texts(wanted, key) if not isinstance(wanted, str) else wanted
    found = _range(name, written, key) if isinstance(written, str) else _axis(name, written)
    if found is None:
        found = _axis(name, _split(str(written), key))
    _check_kind(part, found, key)
    if "." in name or name in WOOD_KEYS:
        _check_reads(part, found)
    return found


def _texts(values: Sequence[object], key: str) -> list[str]:
    texts = [str(one).strip() for one in values]
    if not texts or not all(texts):
        raise InputError(f"There are no values, or an empty one. {_HOW}", key=key)
    return texts


def _split(text: str, key: str) -> list[str]:
    """Values of a list: parted by semicolons, or by commas where each piece is a quantity."""
    pieces = text.split(",")
    if ";" not in text and len(pieces) > 1 and all(_written(one, key) for one in pieces):
        return _texts(pieces, key)
    return _texts(text.rstrip().removesuffix(";").split(";"), key)


def _axis(name: str, texts: Sequence[str]) -> Axis:
    texts = tuple(dict.fromkeys(texts))
    written = [_written(one, f"--vary {name}") for one in texts]
    known = [one for one in written if one is not None]
    if len(known) < len(texts) or len({one.dims for one in known}) > 1:
        return Axis(name, texts)
    return Axis(name, texts, tuple(one.number * one.size for one in known), known[0].unit, known[0].size)


def _range(name: str, text: str, key: str) -> Axis | Span | None:
    """A range, if the text is one."""
    found = _RANGE.fullmatch(text)
    if found is None or ";" in text:
        return None
    ends = [_written(one, key) for one in found.groups()[:2]]
    if ends[0] is None and ends[1] is None:
        return None  # two words of a name
    if ends[0] is None or ends[1] is None:
        wrong = found[1 if ends[0] is None else 2]
        raise InputError(f'"{shorten(wrong)}" is not a quantity. {_HOW}', key=key)
    low, high = _same_unit(ends[0], ends[1], key)
    if low.number == high.number * high.size / low.size:
        raise InputError(f'"{shorten(text)}" begins and ends at the same value.', key=key)
    if found[3] is None:
        first, last = sorted((low.number * low.size, high.number * high.size))
        return Span(name, first, last, low.unit, low.size)
    count = int(found[3]) if len(found[3]) < 9 else MOST + 1
    if not 2 <= count <= MOST:
        raise InputError(f"A range has 2 to {MOST:,} values, not {shorten(found[3])}.", key=key)
    return _even(name, low, high, count)


def _even(name: str, low: _Written, high: _Written, count: int) -> Axis:
    """Values evenly from one end to the other, in the unit of the first."""
    last = high.number * high.size / low.size
    steps = [low.number + (last - low.number) * one / (count - 1) for one in range(count)]
    texts = tuple(spelled(one, low.unit) for one in steps)
    return Axis(name, texts, tuple(float(text.split()[0]) * low.size for text in texts), low.unit, low.size)


def _same_unit(low: _Written, high: _Written, key: str) -> tuple[_Written, _Written]:
    """Both ends with a unit: "5 to 30 mm" means 5 mm."""
    if not low.unit:
        low = _Written(low.number, *high[1:])
    elif not high.unit:
        high = _Written(high.number, *low[1:])
    if low.dims != high.dims:
        raise InputError(f"One end is {name_dims(low.dims)}, the other {name_dims(high.dims)}.", key=key)
    return low, high


def _written(text: str, key: str) -> _Written | None:
    """A plain quantity; None where a text is something else.

    Raises
    ------
    InputError
        For a number with a unit that is not known.
    """
    fraction = match_fraction(text)
    if fraction is not None and not text[fraction[2] :].strip():
        one = measure(1.0, fraction[1])
        return _Written(fraction[0], fraction[1], one.value, one.dims)
    found = _NUMBER.fullmatch(text)
    if found is None:
        return None
    number, unit = float(found[1]), found[2] or ""
    if not unit:
        return _Written(number, "", 1.0, (0, 0, 0, 0))
    matched = match_unit(unit)
    if matched is None:
        if re.fullmatch(r"\w+", unit):
            raise InputError(unknown_unit(unit, None), key=key)
        return None
    if matched[1] != len(unit):
        return None  # an expression, perhaps
    one = measure(1.0, matched[0])
    return _Written(number, unit, one.value, one.dims)


def _check_kind(part: Part, found: Axis | Span, key: str) -> None:
    """Refuse a force for a length, before anything is run."""
    present = _present(part, found.name)
    if present is None:
        return
    texts = found.values if isinstance(found, Axis) else (found.text(found.low),)
    for text in texts:
        one = _written(text, key)
        if one is not None and one.dims != present.dims:
            what = f"{name_dims(one.dims)}" if one.unit else "a number without a unit"
            message = f'"{shorten(text)}" is {what}, but "{shorten(found.name)}" is {name_dims(present.dims)}.'
            raise InputError(message, key=key)


def _present(part: Part, name: str) -> Quantity | None:
    """What it is in the part now, if that is a plain quantity."""
    place: object = part.dimensions.get(name.removeprefix("dimensions."))
    if place is None:
        place = part.source
        for step in _place(part, name).split("."):
            place = _inside(place, step)
    if isinstance(place, int | float) and not isinstance(place, bool):
        return Quantity(float(place), (0, 0, 0, 0))
    one = _written(place, name) if isinstance(place, str) else None
    return None if one is None else Quantity(one.number * one.size, one.dims)


def _inside(place: object, step: str) -> object:
    if isinstance(place, Mapping):
        return place.get(step)
    if isinstance(place, list | tuple):
        named = [one for one in place if isinstance(one, Mapping) and one.get("name") == step]
        if named:
            return named[0]
        return place[int(step) - 1] if step.isdigit() and 0 < int(step) <= len(place) else None
    return None


def _place(part: Part, name: str) -> str:
    """Where a name stands in the part file: its key path."""
    name = name.strip().removeprefix("dimensions.")
    if name in part.dimensions:
        return f"dimensions.{name}"
    return f"wood.{name}" if name in WOOD_KEYS else name


def _check_reads(part: Part, found: Axis | Span) -> None:
    """Refuse a key path under which no value can be read: its name is wrong then, or all of its values."""
    first: InputError | None = None
    texts = found.values if isinstance(found, Axis) else (found.text(found.low), found.text(found.high))
    for text in texts:
        try:
            part.with_({found.name: text})
        except InputError as error:
            first = first or error
        else:
            return
    if first is not None:
        raise InputError(first.message, key=first.key or f"--vary {found.name}")


def _example(part: Part) -> str:
    for name in part.dimensions:
        one = _present(part, name)
        if one is not None and one.dims == (0, 1, 0, 0):
            return f'--vary {name}="{0.8 * one.value:g} mm to {1.2 * one.value:g} mm in 5"'
    return '--vary grain="0 deg to 20 deg in 5"'
