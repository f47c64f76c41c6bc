"""A table of the part file: typed access to its keys, with a message for everything that cannot be meant."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TypeGuard

from ..errors import InputError
from ..units import KINDS, NUMBER, Quantity, check_kind, either, kind_of, measure, shorten, with_article
from .expressions import Names, evaluate
from .model import Point

_NOTHING: Mapping[str, str] = MappingProxyType({})
_LENGTH = re.compile(rf"{NUMBER}\s+({'|'.join(KINDS['length'].units)})(?![\w*/^·²³])")


@dataclass(frozen=True)
class Section:
    """One table of a part file.

    Parameters
    ----------
    table : mapping of str to object
        As the TOML reader gives it.
    path : str
        Key path, counted from 1 in lists: ``"support.2"``; empty for the file itself.
    title : str
        What messages call it: ``"[wood]"``.
    names : mapping of str to Quantity
        The named dimensions that expressions may use.
    """

    table: Mapping[str, object]
    path: str
    title: str
    names: Mapping[str, Quantity] = field(default_factory=dict)

    def key(self, key: str) -> str:
        """Key path of one of this table's keys."""
        return f"{self.path}.{key}" if self.path else key

    def error(self, key: str, message: str) -> InputError:
        """Make the error for one of this table's keys."""
        return InputError(message, key=self.key(shorten(key)))

    def allow(self, keys: Iterable[str], later: Mapping[str, str] = _NOTHING) -> Section:
        """Refuse keys that are not allowed here; ``later`` holds those of later versions, with what they are."""
        allowed = tuple(keys)
        for key in self.table:
            if key in later:
                raise self.error(key, f"{later[key]} is not supported in this version.")
            if key not in allowed:
                near = difflib.get_close_matches(key, allowed, n=1, cutoff=0.5)
                hint = f' Nearest: "{near[0]}".' if near else ""
                message = f'Key "{shorten(key)}" is not known in {self.title}.{hint} Allowed: {", ".join(allowed)}.'
                raise self.error(key, message)
        return self

    def has(self, key: str) -> bool:
        """Whether the user wrote this key."""
        return key in self.table

    def missing(self, key: str, advice: str) -> InputError:
        """Make the error for a key that has to be there."""
        return self.error(
            key, f"{self.title[0].upper()}{self.title[1:]} needs {key if self.path else f'[{key}]'}; {advice}"
        )

    def text(self, key: str) -> str | None:
        """Read text of one printable line; None where the key is absent."""
        if not self.has(key):
            return None
        value = self.table[key]
        if not isinstance(value, str):
            raise self.error(key, f'{_found(value)} is not text; write it in quotes: {key} = "...".')
        if not value.strip() or not value.isprintable():
            raise self.error(key, "Text of one printable line is wanted here, and not an empty one.")
        return value.strip()

    def flag(self, key: str) -> bool | None:
        """Read true or false; None where the key is absent."""
        if not self.has(key):
            return None
        value = self.table[key]
        if not isinstance(value, bool):
            raise self.error(key, f"{_found(value)} is neither true nor false; write {key} = true, without quotes.")
        return value

    def choice(self, key: str, choices: Mapping[str, str]) -> str | None:
        """Read one of several words, given with what each means; None where the key is absent."""
        word = self.text(key)
        if word is not None and word not in choices:
            near = difflib.get_close_matches(word, list(choices), n=1, cutoff=0.6)
            hint = f' Nearest: "{near[0]}".' if near else ""
            raise self.error(key, f'"{shorten(word)}" is not a choice for {key}.{hint} {_listed(choices)}')
        return word

    def quantity(self, key: str, dimension: str) -> float | None:
        """Read an expression of the kind wanted, in internal units; None where the key is absent."""
        return self.evaluate(self.table[key], key, dimension) if self.has(key) else None

    def needed(self, key: str, dimension: str) -> float:
        """Read an expression that has to be there."""
        value = self.quantity(key, dimension)
        if value is None:
            raise self.missing(key, f'{with_article(dimension)}, as in {key} = "{kind_of(dimension).example}".')
        return value

    def above_zero(self, key: str, dimension: str) -> float | None:
        """Read an expression whose value has to be greater than 0; None where the key is absent."""
        value = self.quantity(key, dimension)
        if value is not None and value <= 0.0:
            raise self.error(key, f"{self.shown(key)} is not greater than 0; {key} has to be.")
        return value

    def not_negative(self, key: str, dimension: str) -> float | None:
        """Read an expression whose value must not be below 0; None where the key is absent."""
        value = self.quantity(key, dimension)
        if value is not None and value < 0.0:
            raise self.error(key, f"{self.shown(key)} is below 0; {key} must not be.")
        return value

    def shown(self, key: str) -> str:
        """Show a key's value as the user wrote it, for a message."""
        return _found(self.table[key])

    def length_like(self, key: str, value: float) -> str:
        """Show a length (mm) for a message, in the unit that the user wrote at a key; in mm where there is none."""
        value_there = self.table.get(key)
        texts = value_there if is_list(value_there) else (value_there,)
        found = next((match for text in texts if (match := _LENGTH.search(str(text)))), None)
        unit = found[1] if found else "mm"
        return f"{round(value / measure(1.0, unit).value, 4):g} {unit}"

    def point(self, key: str, dimension: str) -> Point | None:
        """Read a pair of expressions of one kind; None where the key is absent."""
        if not self.has(key):
            return None
        return self.pair(self.table[key], key, dimension)

    def pair(self, value: object, key: str, dimension: str) -> Point:
        """Evaluate a list of two expressions."""
        example = kind_of(dimension).example
        if not is_list(value) or len(value) != 2:
            raise self.error(key, f'{_found(value)} is not a pair; write [x, y] as in ["{example}", "{example}"].')
        return self.evaluate(value[0], key, dimension), self.evaluate(value[1], key, dimension)

    def direction(self, key: str, words: Mapping[str, Point], also: str = "") -> Point | None:
        """Read a direction, a word or [dx, dy], as a unit vector; None where the key is absent.

        ``also`` is a further word, one that the caller deals with, for the list in a message.
        """
        if not self.has(key):
            return None
        value = self.table[key]
        if isinstance(value, str):
            if value not in words:
                allowed = ", ".join(f'"{word}"' for word in (*words, also) if word)
                raise self.error(key, f"{_found(value)} is not a direction. Directions: {allowed} or [dx, dy].")
            return words[value]
        x, y = self.pair(value, key, "number")
        largest = max(abs(x), abs(y))
        if largest == 0.0:
            raise self.error(key, "A direction of [0, 0] points nowhere; at least one of the two must not be 0.")
        length = math.hypot(x / largest, y / largest)
        return x / largest / length, y / largest / length

    def evaluate(self, value: object, key: str, dimension: str) -> float:
        """Evaluate one expression, or a bare number where the kind wanted has no unit.

        Lengths are rounded to 1e-9 mm, so that the same part in mm and in inches is the same part.
        """
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            example = kind_of(dimension).example
            message = f'{_found(value)} is not {with_article(dimension)}; write it as in {key} = "{example}".'
            raise self.error(key, message)
        if isinstance(value, str):
            found = evaluate(value, self.names, key=self.key(key))
        else:
            found = Quantity(to_float(value), KINDS["number"].dims)
        try:
            result = check_kind(found, dimension, str(value), key=self.key(key))
        except InputError as error:
            raise self._at_dimension(error, value) or error from None
        return round(result, 9) + 0.0 if dimension == "length" else result

    def _at_dimension(self, error: InputError, value: object) -> InputError | None:
        """Move an error to the dimension that lacks a unit, where the value is but its name."""
        if not isinstance(self.names, Names) or not isinstance(value, str):
            return None
        fault = self.names.without_unit(value.strip())
        if fault is None:
            return None
        written = shorten(self.names.expressions[fault])
        message = f'{error.message} Dimension "{fault}" is written "{written}"; it is used for {error.key}.'
        return InputError(message, key=f"dimensions.{fault}")

    def section(self, key: str, title: str) -> Section | None:
        """Open a table in this one; None where the key is absent."""
        if not self.has(key):
            return None
        value = self.table[key]
        if not isinstance(value, Mapping):
            raise self.error(key, f"{_found(value)} is not a table; write {title} and its keys below it.")
        return Section(value, self.key(key), title, self.names)

    def sections(self, key: str, form: str = "") -> Iterator[Section]:
        """Open the tables of a list such as [[support]], one after the other; ``form`` is shown where it is none."""
        value = self.table.get(key, ())
        wrong = f"{_found(value)} is not a list of {form or f'tables; write [[{key}]] above each of them'}."
        if not is_list(value):
            raise self.error(key, wrong)
        for number, item in enumerate(value, start=1):
            if not isinstance(item, Mapping):
                raise self.error(key, wrong)
            yield Section(item, f"{self.key(key)}.{number}", f"[[{key}]] {number}", self.names)


def is_list(value: object) -> TypeGuard[Sequence[object]]:
    """Whether a value is a list of the part file (a tuple in a document made in Python)."""
    return isinstance(value, Sequence) and not isinstance(value, str | bytes)


def to_float(value: float) -> float:
    """Turn a number of the document into a float; one that is too large becomes infinite and is refused later."""
    try:
        return float(value)
    except OverflowError:
        return math.inf


def _found(value: object) -> str:
    """Show a value in a message as a part file would spell it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{shorten(value)}"'
    if isinstance(value, Mapping):
        return "A table"
    return shorten(repr(value) if not is_list(value) else list(value))


def _listed(choices: Mapping[str, str]) -> str:
    """List choices with what each means."""
    if not any(choices.values()):
        return f"Choices: {either(tuple(f'{chr(34)}{word}{chr(34)}' for word in choices))}."
    return "Choices: " + "; ".join(f'"{word}": {meaning}' for word, meaning in choices.items()) + "."
