"""The expression parser: arithmetic as everyone knows it, with kinds kept apart, and messages for the rest."""

import doctest
import math
import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fesolve.errors import InputError
from fesolve.part import expressions
from fesolve.part.expressions import check_name, evaluate, resolve
from fesolve.units import Quantity

LENGTH, FORCE, ANGLE, NUMBER = (0, 1, 0, 0), (1, 1, -2, 0), (0, 0, 0, 1), (0, 0, 0, 0)
NAMES = {"depth": Quantity(140.0, LENGTH), "n": Quantity(4.0, NUMBER), "slope": Quantity(30.0, ANGLE)}


@pytest.mark.parametrize(
    ("text", "value", "dims"),
    [
        ("25 mm", 25.0, LENGTH),
        ("depth/2", 70.0, LENGTH),
        ("depth / n - 1 in", 9.6, LENGTH),
        ("2*(depth + 10 mm)", 300.0, LENGTH),
        ("-depth", -140.0, LENGTH),
        ("--+-depth", -140.0, LENGTH),
        ("2 - 3 - 4", -5.0, NUMBER),
        ("24/4/2", 3.0, NUMBER),
        ("2 + 3*4", 14.0, NUMBER),
        ("(2 + 3)*4", 20.0, NUMBER),
        ("depth*n*2 kN/depth", 8000.0, FORCE),
        ("25 mm/2", 12.5, LENGTH),
        ("1/2 in", 12.7, LENGTH),
        ("1 3/8 in", 34.925, LENGTH),
        ("3 in - 1/4 in", 69.85, LENGTH),
        ("2*(1 1/2 in)/n", 19.05, LENGTH),
        ("1/2 ft / 2", 76.2, LENGTH),
        ("depth/1/2 in", 140.0 / 50.8, NUMBER),
        ("10/4 mm", 2.5, (0, -1, 0, 0)),
        ("25 mm/n", 6.25, LENGTH),
        ("10 kN/(5 mm*4 mm)", 500.0, (1, -1, -2, 0)),
        ("slope + 5 deg", 35.0, ANGLE),
        ("50 % * depth", 70.0, LENGTH),
        ("1e-3", 1e-3, NUMBER),
        ("1e3*1 mm", 1e3, LENGTH),
    ],
)
def test_values(text: str, value: float, dims: tuple[int, int, int, int]) -> None:
    found = evaluate(text, NAMES)
    assert found.value == pytest.approx(value, rel=1e-14)
    assert found.dims == dims


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("depth + slope", '"depth + slope" adds a length and an angle; both must be of one kind.'),
        ("depth - 3", '"depth - 3" subtracts a length and a number; both must be of one kind.'),
        ("depth/0", '"depth/0" divides by zero.'),
        ("depth/(n - 4)", "divides by zero."),
        ("dept/2", '"dept" in "dept/2" is not a dimension of this part. Nearest: depth.'),
        ("zzz", '"zzz" is not a dimension of this part. Dimensions: depth, n, slope.'),
        ("2*mm", 'It is a unit and wants a number before it: "1 mm".'),
        ("2 depth", '"depth" is not a unit.'),
        ("2 depth", '(To multiply by a dimension write "2 * depth".)'),
        ("2mm", '"2mm" wants a blank before its unit: "2 mm".'),
        ("depth depth", '"depth" after "depth" makes no sense; an operator is missing?'),
        ("(depth", 'has a "(" without its ")".'),
        ("depth)", '")" after "depth" makes no sense'),
        ("depth +", "ends too early: a quantity, number or name is missing."),
        ("*depth", 'has "*" where a quantity, number or name is wanted.'),
        ("", '"" is empty; write a quantity or an expression.'),
        ("   ", "is empty"),
        ("depth ** 2", 'has "*" where a quantity, number or name is wanted.'),
        ("depth^2", '"^" has no place in an expression. Allowed: + - * / ( ), names of dimensions,'),
        ("__import__('os')", '"\'" has no place in an expression.'),
        ("depth.real", '"." has no place in an expression.'),
        ("1e308*10", "is not a finite number."),
        ("1e999", "is not a finite number."),
        ("(" * 60 + "1" + ")" * 60, "has parentheses more than 50 deep"),
        ("(" * 900, "has parentheses more than 50 deep"),
        ("1+" * 600 + "1", "The expression has 1201 characters; at most 1000 are read."),
    ],
)
def test_bad_expressions(text: str, message: str) -> None:
    with pytest.raises(InputError, match=re.escape(message)) as raised:
        evaluate(text, NAMES, key="hole.1.diameter")
    assert raised.value.key == "hole.1.diameter"
    assert len(str(raised.value)) < 400


def test_long_sums_and_signs_do_not_overflow_the_stack() -> None:
    assert evaluate("1" + "+1" * 499, {}).value == 500.0
    assert evaluate("-" * 999 + "1", {}).value == -1.0


def test_dimensions_in_any_order() -> None:
    values = resolve({"a": "b + c", "b": "2*c", "c": "5 mm"})
    assert [values[name].value for name in ("a", "b", "c")] == [15.0, 10.0, 5.0]
    assert list(values) == ["a", "b", "c"]


def test_a_long_chain_of_dimensions() -> None:
    chain = {f"d{k}": f"d{k + 1}" for k in range(3000)} | {"d3000": "7 mm"}
    assert resolve(chain)["d0"].value == 7.0


@pytest.mark.parametrize(
    ("dimensions", "chain"),
    [
        ({"a": "a + 1 mm"}, "a -> a"),
        ({"a": "b", "b": "a"}, "->"),
        ({"a": "b", "b": "c/2", "c": "2*a", "d": "3 mm"}, "->"),
    ],
)
def test_circles_are_named(dimensions: dict[str, str], chain: str) -> None:
    with pytest.raises(InputError, match=r"depend on each other in a circle: .*Give one of them a plain") as raised:
        resolve(dimensions)
    assert chain in raised.value.message
    named = raised.value.message.split("circle: ")[1].split(".")[0].split(" -> ")
    assert named[0] == named[-1]
    for name, used in pairwise(named):
        assert used in dimensions[name]


def test_unknown_name_in_dimensions() -> None:
    with pytest.raises(InputError, match=r'"dpeth" in "dpeth/2" is not .* Nearest: depth\. \(dimensions\.half\)'):
        resolve({"half": "dpeth/2", "depth": "3 mm"})


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("pin-d", 'Dimension "pin-d" cannot be used in expressions; use letters, digits and underscores.'),
        ("2d", "cannot be used in expressions"),
        ("", "cannot be used in expressions"),
        ("mm", 'Dimension "mm" has the name of a unit; choose another, such as "mm_1".'),
    ],
)
def test_bad_names(name: str, message: str) -> None:
    with pytest.raises(InputError, match=re.escape(message)):
        check_name(name)


SCRAPS = st.sampled_from(
    [
        "depth",
        "n",
        "slope",
        "1",
        "0",
        ".5",
        "1e9",
        "e",
        " ",
        " mm",
        " kN",
        " deg",
        "/",
        "*",
        "+",
        "-",
        "(",
        ")",
        "^",
        "µ",
    ]
)


@given(st.one_of(st.text(), st.lists(SCRAPS, max_size=40).map("".join)))
def test_any_text_gives_a_finite_value_or_an_input_error(text: str) -> None:
    try:
        assert math.isfinite(evaluate(text, NAMES).value)
    except InputError as error:
        assert error.message


NUMBERS = st.floats(0.01, 100.0).map(lambda value: f"{value:.4f}")
ARITHMETIC = st.recursive(
    NUMBERS,
    lambda inner: st.tuples(inner, st.sampled_from("+-*/"), inner).map(lambda t: f"({t[0]}{t[1]}{t[2]})"),
    max_leaves=12,
)


@given(ARITHMETIC)
def test_arithmetic_as_python_does_it(text: str) -> None:
    try:
        expected = eval(text)
    except ZeroDivisionError:
        return
    assert evaluate(text, {}).value == expected


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(expressions).failed == 0
