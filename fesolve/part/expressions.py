"""Expressions in a part file: ``depth/2``, ``length - 30 mm``, ``2*(a + b)``.

    sum      product, then any number of  + product  or  - product
    product  factor, then any number of  * factor  or  / factor
    factor   any number of signs, then a number, a quantity, a name, or a sum in parentheses

A quantity is a number, a blank and a unit; inches and feet also as a rule has them, ``1/2 in`` and ``1 3/8 in``, where
no product goes before. Text is read by this grammar alone and never evaluated as Python; every value carries its powers
of mass, length, time and angle, so that a length is not added to an angle.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable, Mapping
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple

from ..errors import InputError
from ..units import (
    KINDS,
    LONGEST,
    NUMBER,
    UNIT_NAMES,
    Dims,
    Quantity,
    either,
    match_fraction,
    match_unit,
    measure,
    name_dims,
    shorten,
    unknown_unit,
)

DEEPEST = 50
_PLAIN = KINDS["number"].dims
_BLANK = re.compile(r"\s*")
_NUMBER = re.compile(NUMBER)
_NAME = re.compile(r"[^\W\d]\w*")


class Token(NamedTuple):
    """A piece of an expression: ``kind`` is "value", "name" or the operator's own character."""

    kind: str
    text: str
    value: Quantity | None = None


def tokenize(text: str, *, key: str | None = None) -> list[Token]:
    """Cut an expression into numbers, quantities, names and operators.

    Raises
    ------
    InputError
        For text that is too long or holds a character that has no place in an expression, and for a number
        that is followed by something that is not a unit.

    Examples
    --------
    >>> [token.text for token in tokenize("depth/2 - 1.5 in")]
    ['depth', '/', '2', '-', '1.5 in']
    >>> [token.text for token in tokenize("depth - 1 3/8 in")]
    ['depth', '-', '1 3/8 in']
    """
    if len(text) > LONGEST:
        raise InputError(f"The expression has {len(text)} characters; at most {LONGEST} are read.", key=key)
    tokens: list[Token] = []
    place = _skip(text, 0)
    while place < len(text):
        fraction = None if tokens and tokens[-1].kind in "*/" else match_fraction(text, place)
        if fraction is not None:
            size, unit, end = fraction
            token, place = Token("value", text[place:end], measure(size, unit)), end
        elif number := _NUMBER.match(text, place):
            token, place = _value(text, number, key)
        elif name := _NAME.match(text, place):
            token, place = Token("name", name[0]), name.end()
        elif text[place] in "+-*/()":
            token, place = Token(text[place], text[place]), place + 1
        else:
            raise InputError(
                f'"{shorten(text)}": "{shorten(text[place])}" has no place in an expression. '
                "Allowed: + - * / ( ), names of dimensions, quantities and numbers.",
                key=key,
            )
        tokens.append(token)
        place = _skip(text, place)
    return tokens


def _skip(text: str, place: int) -> int:
    """Go past blanks."""
    blank = _BLANK.match(text, place)
    return blank.end() if blank else place


def _value(text: str, number: re.Match[str], key: str | None) -> tuple[Token, int]:
    """Read a number and the unit behind it, if there is one."""
    size, place = float(number[0]), _skip(text, number.end())
    if match := match_unit(text, place):
        unit, end = match
        if place == number.end():
            wanted = f"{number[0]} {text[place:end]}"
            raise InputError(f'"{shorten(text)}" wants a blank before its unit: "{shorten(wanted)}".', key=key)
        return Token("value", text[number.start() : end], measure(size, unit)), end
    if word := _NAME.match(text, place):
        raise InputError(
            f'"{shorten(text)}": {unknown_unit(word[0], None)} '
            f'(To multiply by a dimension write "{number[0]} * {shorten(word[0])}".)',
            key=key,
        )
    return Token("value", number[0], Quantity(size, _PLAIN)), number.end()


class _Parser:
    """One pass over the tokens of one expression."""

    def __init__(self, text: str, names: Mapping[str, Quantity], key: str | None) -> None:
        self.text, self.names, self.key = text, names, key
        self.tokens = tokenize(text, key=key)
        self.place = 0
        self.depth = 0

    def run(self) -> Quantity:
        if not self.tokens:
            raise self.error("is empty; write a quantity or an expression.")
        result = self.sum()
        if self.place < len(self.tokens):
            found = self.tokens[self.place].text
            before = self.tokens[self.place - 1].text
            raise self.error(f'"{shorten(found)}" after "{shorten(before)}" makes no sense; an operator is missing?')
        return result

    def error(self, message: str) -> InputError:
        return InputError(f'"{shorten(self.text)}" {message}', key=self.key)

    def take(self, kinds: str) -> Token | None:
        """Step past the next token if it is one of these one-character operators."""
        if self.place < len(self.tokens) and self.tokens[self.place].kind in tuple(kinds):
            self.place += 1
            return self.tokens[self.place - 1]
        return None

    def sum(self) -> Quantity:
        result = self.product()
        while operator := self.take("+-"):
            result = self.add(result, self.product(), operator.kind)
        return result

    def product(self) -> Quantity:
        result = self.factor()
        while operator := self.take("*/"):
            result = self.multiply(result, self.factor(), operator.kind)
        return result

    def factor(self) -> Quantity:
        sign = 1.0
        while operator := self.take("+-"):
            sign = -sign if operator.kind == "-" else sign
        value = self.group() if self.take("(") else self.atom()
        return Quantity(sign * value.value, value.dims)

    def group(self) -> Quantity:
        self.depth += 1
        if self.depth > DEEPEST:
            raise self.error(f"has parentheses more than {DEEPEST} deep; name the parts of it in [dimensions].")
        result = self.sum()
        if not self.take(")"):
            raise self.error('has a "(" without its ")".')
        self.depth -= 1
        return result

    def atom(self) -> Quantity:
        if self.place >= len(self.tokens):
            raise self.error("ends too early: a quantity, number or name is missing.")
        token = self.tokens[self.place]
        self.place += 1
        if token.value is not None:
            return token.value
        if token.kind == "name":
            if token.text not in self.names:
                raise InputError(_unknown_name(token.text, self.names, self.text), key=self.key)
            return self.names[token.text]
        raise self.error(f'has "{token.text}" where a quantity, number or name is wanted.')

    def add(self, left: Quantity, right: Quantity, operator: str) -> Quantity:
        if left.dims != right.dims:
            word = "adds" if operator == "+" else "subtracts"
            raise self.error(f"{word} {name_dims(left.dims)} and {name_dims(right.dims)}; both must be of one kind.")
        return self.finite(left.value + right.value if operator == "+" else left.value - right.value, left.dims)

    def multiply(self, left: Quantity, right: Quantity, operator: str) -> Quantity:
        sign = 1 if operator == "*" else -1
        if sign < 0 and right.value == 0.0:
            raise self.error("divides by zero.")
        mass, length, time, angle = (a + sign * b for a, b in zip(left.dims, right.dims, strict=True))
        value = left.value * right.value if sign > 0 else left.value / right.value
        return self.finite(value, (mass, length, time, angle))

    def finite(self, value: float, dims: Dims) -> Quantity:
        if not math.isfinite(value):
            raise self.error("is not a finite number.")
        return Quantity(value, dims)


def _unknown_name(name: str, names: Iterable[str], text: str) -> str:
    """Say that a name is not known, with those nearest to it."""
    known = tuple(names)
    near = tuple(difflib.get_close_matches(name, known, n=3, cutoff=0.5))
    where = "" if text.strip() == name else f' in "{shorten(text)}"'
    if near:
        offer = f"Nearest: {either(near)}."
    elif known:
        offer = f"Dimensions: {shorten(', '.join(known), 300)}."
    else:
        offer = "There are no [dimensions] in this file."
    if name in UNIT_NAMES:
        offer = f'It is a unit and wants a number before it: "1 {name}". {offer}'
    return f'"{shorten(name)}"{where} is not a dimension of this part. {offer}'


def evaluate(text: str, names: Mapping[str, Quantity], *, key: str | None = None) -> Quantity:
    """Evaluate an expression.

    Parameters
    ----------
    text : str
        The expression.
    names : mapping of str to Quantity
        The named dimensions, in internal units.
    key : str, optional
        Key path for messages.

    Returns
    -------
    Quantity
        Value in internal units and its powers of mass, length, time and angle.

    Raises
    ------
    InputError
        For anything that is not an expression, unknown names, sums of different kinds, division by zero, and
        results that are not finite.

    Examples
    --------
    >>> evaluate("depth/2 - 1 in", {"depth": Quantity(140.0, (0, 1, 0, 0))}).value
    44.6
    """
    result = _Parser(text, names, key).run()
    if not math.isfinite(result.value):
        raise InputError(f'"{shorten(text)}" is not a finite number.', key=key)
    return result


def resolve(expressions: Mapping[str, str], path: str = "dimensions") -> dict[str, Quantity]:
    """Evaluate named dimensions that may use each other, in any order.

    Parameters
    ----------
    expressions : mapping of str to str
        Expression by name.
    path : str
        Key path of the table they stand in.

    Returns
    -------
    dict of str to Quantity
        In the order given.

    Raises
    ------
    InputError
        As `evaluate`; and for dimensions that depend on each other in a circle, which the message spells out.

    Examples
    --------
    >>> resolve({"half": "depth/2", "depth": "42 mm"})["half"].value
    21.0
    """
    uses = {
        name: [token.text for token in tokenize(text, key=f"{path}.{name}") if token.kind == "name"]
        for name, text in expressions.items()
    }
    for name, used in uses.items():
        for other in used:
            if other not in expressions:
                raise InputError(_unknown_name(other, expressions, expressions[name]), key=f"{path}.{name}")
    values: dict[str, Quantity] = {}
    try:
        for name in TopologicalSorter(uses).static_order():
            values[name] = evaluate(expressions[name], values, key=f"{path}.{name}")
    except CycleError as error:
        circle = list(reversed(error.args[1]))
        chain = shorten(" -> ".join(circle), 200)
        message = f"Dimensions depend on each other in a circle: {chain}. Give one of them a plain quantity."
        raise InputError(message, key=f"{path}.{circle[0]}") from None
    return {name: values[name] for name in expressions}


class Names(dict[str, Quantity]):
    """The named dimensions by name, with how each is written in ``expressions``.

    Examples
    --------
    >>> Names({"half": "depth/2", "depth": "42"}).without_unit("half")
    'depth'
    """

    def __init__(self, expressions: Mapping[str, str]) -> None:
        super().__init__(resolve(expressions))
        self.expressions = dict(expressions)

    def without_unit(self, name: str) -> str | None:
        """Find the dimension that makes a dimension a bare number.

        Returns
        -------
        str or None
            The dimension itself, or the one that it is made of and that is written as a bare number; None if it has a
            unit, or if several such numbers are in it.
        """
        if name not in self or self[name].dims != _PLAIN:
            return None
        used = {token.text for token in tokenize(self.expressions[name]) if token.kind == "name"}
        if not used:
            return name
        bare = [other for other in used if self[other].dims == _PLAIN]
        return self.without_unit(bare[0]) if len(bare) == 1 and len(used) == 1 else None


def check_name(name: str, path: str = "dimensions") -> None:
    """Refuse a dimension's name that an expression could not use.

    Raises
    ------
    InputError
        If it is not letters, digits and underscores, or is the name of a unit ("25 mm/s" would have two readings).
    """
    if not _NAME.fullmatch(name):
        message = f'Dimension "{shorten(name)}" cannot be used in expressions; use letters, digits and underscores.'
        raise InputError(message, key=f"{path}.{shorten(name)}")
    if name in UNIT_NAMES:
        message = f'Dimension "{name}" has the name of a unit; choose another, such as "{name}_1".'
        raise InputError(message, key=f"{path}.{name}")
