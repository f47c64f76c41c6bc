"""What differs between two part files, key by key."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from ..units import NUMBER, match_unit
from .document import is_list

_NUMBER = re.compile(rf"\s*([+-]?{NUMBER})\s*(.*?)\s*", re.DOTALL)
NOTHING = "-"
SKIPPED = ("title",)  # says nothing about the part


@dataclass(frozen=True)
class Difference:
    """One key with its value in one file and in the other, as written; a dash where it is not there.

    ``name`` is as ``--set`` takes it: ``pin_d``, ``wood.grain``, ``support.keeper.from``.
    """

    name: str
    was: str
    now: str


def differences(one: Mapping[str, object], other: Mapping[str, object]) -> tuple[Difference, ...]:
    """What another parsed part file has otherwise.

    Tables of a list are matched by their names, others by their place; "25 mm" and "25.0 mm" are the same. A
    table that only one of them has is one difference.

    Parameters
    ----------
    one, other : mapping
        As `tomllib.loads` gives them, or ``Part.source``.

    Returns
    -------
    tuple of Difference
        In the order of the keys of `one`; then what only the other has.

    Examples
    --------
    >>> differences({"dimensions": {"depth": "42 mm"}}, {"dimensions": {"depth": "60 mm"}})
    (Difference(name='depth', was='42 mm', now='60 mm'),)
    """
    return tuple(row for row in _walk("", one, other) if row.name not in SKIPPED)


def _walk(path: str, one: object, other: object) -> Iterator[Difference]:
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        for key in dict.fromkeys((*one, *other)):
            yield from _walk(f"{path}.{key}" if path else str(key), one.get(key), other.get(key))
    elif _are_tables(one) and _are_tables(other):
        yield from _walk(path, _by_name(one), _by_name(other))
    elif _plain(one) != _plain(other):
        yield Difference(path.removeprefix("dimensions."), _told(one), _told(other))


def _are_tables(value: object) -> bool:
    return is_list(value) and all(isinstance(row, Mapping) for row in value)


def _by_name(rows: object) -> dict[str, object]:
    """Tables of a list by their names, or counted from 1."""
    assert isinstance(rows, list | tuple)
    return {str(row.get("name") or number): row for number, row in enumerate(rows, start=1)}


def _plain(value: object) -> object:
    """The same with each quantity spelled one way."""
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if is_list(value):
        return [_plain(item) for item in value]
    if isinstance(value, bool) or value is None:
        return value
    text = " ".join(str(value).split())
    found = _NUMBER.fullmatch(text)
    if found and (not found[2] or match_unit(found[2]) is not None):
        return (float(found[1]), found[2])
    return text


def _told(value: object) -> str:
    if value is None:
        return NOTHING
    if isinstance(value, Mapping):
        return "there"
    if is_list(value):
        return f"{len(value)} of them" if value and _are_tables(value) else f"[{', '.join(map(_told, value))}]"
    return " ".join(str(value).split())
