"""Quantities against published conversion factors and against pint's own full registry; and how they are shown."""

import contextlib
import doctest
import math
import re

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fesolve import units
from fesolve.errors import InputError
from fesolve.units import KINDS, UNIT_NAMES, Formatter, match_unit, parse_quantity

# NIST Special Publication 811 (2008), appendix B.8; the factors in bold there are exact.
NIST = [
    ("1 in", "length", 25.4),
    ("1 ft", "length", 304.8),
    ("1 yd", "length", 914.4),
    ("1 lb", "mass", 4.5359237e-4),
    ("1 lbf", "force", 4.448222),
    ("1 kip", "force", 4448.222),
    ("1 kgf", "force", 9.80665),
    ("1 psi", "stress", 6.894757e-3),
    ("1 ksi", "stress", 6.894757),
    ("1 lb/ft^3", "density", 1.601846e-11),
    ("1 lbf*in", "moment", 112.9848),
    ("1 lbf*ft", "moment", 1355.818),
    ("1 lbf/in", "energy per area", 0.1751268),
    ("1 rad", "angle", 57.29578),
    ("1 ft/s", "speed", 304.8),
]


@pytest.mark.parametrize(("text", "dimension", "value"), NIST)
def test_published_factors(text: str, dimension: str, value: float) -> None:
    assert parse_quantity(text, dimension) == pytest.approx(value, rel=5e-7)


FULL = pint.UnitRegistry()
BASES = {"[length]": "mm", "[mass]": "tonne", "[time]": "s"}


@pytest.mark.parametrize("name", [name for name in UNIT_NAMES if name not in ("%", "°", "tonne")])
def test_every_unit_against_the_full_pint_registry(name: str) -> None:
    spelled = match_unit(name)
    assert spelled
    ours = units.measure(1.0, spelled[0])
    powers = dict(FULL.parse_units(name).dimensionality)
    target = FULL.Unit("dimensionless") if powers else FULL.Unit("deg")
    for base, power in powers.items():
        target = target * FULL.Unit({"tonne": "metric_ton"}.get(BASES[base], BASES[base])) ** power
    assert ours.value == pytest.approx(FULL.Quantity(1.0, name).to(target).magnitude, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("25 mm", "length", 25.0),
        ("  2.5   cm ", "length", 25.0),
        ("-1.2e3 N", "force", -1200.0),
        ("+.5 kN", "force", 500.0),
        ("5. MPa", "stress", 5.0),
        ("5 N/mm^2", "stress", 5.0),
        ("5 N/mm²", "stress", 5.0),
        ("250 J/m^2", "energy per area", 0.25),
        ("520 kg/m^3", "density", 5.2e-10),
        ("0.52 g/cm^3", "density", 5.2e-10),
        ("200 N/mm/mm", "stiffness per length", 200.0),
        ("1 kN*m", "moment", 1e6),
        ("1 kN·m", "moment", 1e6),
        ("30 °", "angle", 30.0),
        ("1 %", "percent", 0.01),
        ("1.5", "number", 1.5),
    ],
)
def test_spellings(text: str, dimension: str, value: float) -> None:
    assert parse_quantity(text, dimension) == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "dimension", "message"),
    [
        ("38", "length", '"38" has no unit; a length needs mm, cm, m, in, ft or yd, as in "25 mm".'),
        ("8", "angle", '"8" has no unit; an angle needs deg or rad, as in "30 deg".'),
        ("38mm", "length", '"38mm" wants a blank before its unit: "38 mm".'),
        ("38 mmm", "length", '"mmm" is not a unit. Nearest: mm. Units of a length: mm, cm, m, in, ft, yd.'),
        ("38 mm^", "length", '"mm^" is not a unit.'),
        ("38 furlong", "force", "Units of a force: N, kN, kgf, lbf, kip."),
        ("38 kg", "force", "is a mass, but a force (N, kN, kgf, lbf, kip) is wanted here. For the weight of a mass"),
        ("3 N", "length", '"3 N" is a force, but a length (mm, cm, m, in, ft, yd) is wanted here.'),
        ("3 mm", "number", '"3 mm" is a length, but a number, without a unit, is wanted here.'),
        ("3 mm^2*s", "length", "is length^2 * time, but a length"),
        ("1e999 mm", "length", '"1e999 mm" is not a finite number.'),
        ("nan mm", "length", '"nan mm" is not a length; write it as in "25 mm".'),
        ("inf mm", "length", "is not a length"),
        ("", "length", '"" is not a length'),
        ("1,5 mm", "length", '"1,5 mm" is not a length'),
        ("__import__('os')", "length", "is not a length"),
        ("٣ mm", "length", "is not a length"),
        ("9" * 2000 + " mm", "length", "is not a length"),
    ],
)
def test_bad_quantities(text: str, dimension: str, message: str) -> None:
    with pytest.raises(InputError, match=re.escape(message)) as raised:
        parse_quantity(text, dimension, key="wood.thickness")
    assert raised.value.key == "wood.thickness"
    assert len(str(raised.value)) < 300


def test_quantity_that_is_not_text() -> None:
    with pytest.raises(InputError, match=r'38 is not text; write a length as in "25 mm"\. \(wood\.thickness\)'):
        parse_quantity(38, "length", key="wood.thickness")  # type: ignore[arg-type]


SCRAPS = st.sampled_from(
    ["1", ".", "e9", "-", " ", "mm", "/", "*", "^", "4", "kJ^4", "*kJ^4", "lbf/in^2", "%", "²", "\n"]
)


@given(st.one_of(st.text(), st.lists(SCRAPS, max_size=30).map("".join)), st.sampled_from(sorted(KINDS)))
def test_any_text_gives_a_finite_number_or_an_input_error(text: str, dimension: str) -> None:
    with contextlib.suppress(InputError):
        assert math.isfinite(parse_quantity(text, dimension))


@pytest.mark.parametrize(
    ("shown", "si", "us"),
    [
        (
            "force",
            {950.0: "950 N", 8712.0: "8.7 kN", 19345.0: "19.3 kN", 0.0: "0 N", -55.0: "-55 N"},
            {8712.0: "1,960 lbf"},
        ),
        ("length", {16.0: "16 mm", 9.5: "9.5 mm", 420.0: "420 mm"}, {16.0: "0.63 in", 25.4: "1 in", 420.0: "16.5 in"}),
        ("stress", {5.31: "5.3 MPa", 0.0123: "0.012 MPa", 14740.0: "14,740 MPa"}, {5.31: "770 psi"}),
        ("moment", {8.1e5: "810 N m", 1.234e6: "1.2 kN m"}, {8.1e5: "600 lbf ft"}),
        ("area", {5320.0: "5,320 mm²"}, {5320.0: "8.25 in²"}),
        ("energy", {0.071: "71 J/m²"}, {0.071: "0.41 lbf/in"}),
        ("density", {5.38e-10: "538 kg/m³"}, {5.38e-10: "33.6 lb/ft³"}),
        ("angle", {30.0: "30 deg", 12.34: "12.3 deg"}, {30.0: "30 deg"}),
        ("percent", {0.012: "1.2 %"}, {0.012: "1.2 %"}),
    ],
)
def test_numbers_for_people(shown: str, si: dict[float, str], us: dict[float, str]) -> None:
    for system, expected in (("si", si), ("us", us)):
        formatter = Formatter(system)  # type: ignore[arg-type]
        for value, text in expected.items():
            assert getattr(formatter, shown)(value) == text


def test_table_columns_have_one_unit() -> None:
    us = Formatter("us")
    assert us.unit("force") == "lbf"
    assert us.number(8712.0, "force") == "1,960"
    assert us.convert(4.4482216152605, "force") == pytest.approx(1.0)
    assert Formatter().number(8712.0, "force") == "8,710"
    assert Formatter().force(math.nan) == "not known"


@given(
    st.floats(allow_nan=True, allow_infinity=True), st.sampled_from(["force", "length", "stress", "moment", "angle"])
)
def test_every_number_can_be_shown(value: float, dimension: str) -> None:
    for system in ("si", "us"):
        assert Formatter(system).quantity(value, dimension)  # type: ignore[arg-type]
        assert Formatter(system).number(value, dimension)  # type: ignore[arg-type]


def test_unknown_system_of_units() -> None:
    with pytest.raises(InputError, match=r'Units "metric" are not known; choose si or us\. \(units\)'):
        Formatter("metric")  # type: ignore[arg-type]


def test_examples_in_docstrings() -> None:
    assert doctest.testmod(units).failed == 0
