"""Quantities: text in, numbers in mm, N, MPa, tonne, s and deg out, and back to text that people read.

The internal system is consistent without factors: 1 N = 1 tonne mm/s^2, 1 MPa = 1 N/mm^2. Units are
kept in a small pint registry of our own (the full one costs a quarter of a second at start-up and
knows many units that would only hide a slip of the pen). Text is matched against a pattern first
and never evaluated.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal, NamedTuple

from .errors import InputError

Dims = tuple[int, int, int, int]
"""Powers of mass, length, time and angle."""

NUMBER = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
LONGEST = 1000  # characters in a quantity or an expression
_MOST_PARTS = 6  # of a compound unit; with powers up to 4 no factor overflows

# Exact by definition: inch, pound and standard gravity (NIST SP 811, 2008 edition, appendix B).
_DEFINITIONS = """\
millimetre = [length] = mm
tonne = [mass]
second = [time] = s
degree = [angle] = deg
centimetre = 10 mm = cm
metre = 1000 mm = m
inch = 25.4 mm = in
foot = 304.8 mm = ft
yard = 914.4 mm = yd
radian = 57.29577951308232 deg = rad
millisecond = 0.001 s = ms
kilogram = 0.001 tonne = kg
gram = 0.000001 tonne = g
pound = 0.00045359237 tonne = lb
newton = tonne * mm / s ** 2 = N
kilonewton = 1000 N = kN
meganewton = 1000000 N = MN
kilogram_force = 9.80665 N = kgf
pound_force = 4.4482216152605 N = lbf
kip = 4448.2216152605 N
megapascal = N / mm ** 2 = MPa
pascal = 0.000001 MPa = Pa
kilopascal = 0.001 MPa = kPa
gigapascal = 1000 MPa = GPa
pound_per_square_inch = lbf / in ** 2 = psi
kip_per_square_inch = kip / in ** 2 = ksi
joule = 1000 N * mm = J
kilojoule = 1000000 N * mm = kJ
percent = 0.01"""

_SPELLED = {"%": "percent", "°": "deg"}
UNIT_NAMES = (
    *("mm", "cm", "m", "in", "ft", "yd", "deg", "rad", "s", "ms", "g", "kg", "tonne", "lb"),
    *("N", "kN", "MN", "kgf", "lbf", "kip", "Pa", "kPa", "MPa", "GPa", "psi", "ksi", "J", "kJ", *_SPELLED),
)
"""Every unit by the name a part file may use; products, quotients and whole powers of them are units too."""

_UNIT_PART = re.compile(r"(%|°|[A-Za-z]+)(?:\^(-?[1-4])|([²³]))?")
_FRACTION = re.compile(r"\s*(?:([0-9]+)\s+)?([0-9]+)\s*/\s*([0-9]+)\s+(in|ft)(?![\^*/\w])")
_QUANTITY = re.compile(rf"\s*([+-]?{NUMBER})(\s*)(\S*|[A-Za-z]\S*(?: [A-Za-z]\S*)+)\s*")


class Quantity(NamedTuple):
    """A number in internal units and the powers of mass, length, time and angle that it carries."""

    value: float
    dims: Dims


@dataclass(frozen=True)
class Kind:
    """A kind of quantity that a part file asks for: its powers, and units to offer in a message."""

    dims: Dims
    units: tuple[str, ...]
    example: str


KINDS: dict[str, Kind] = {
    "length": Kind((0, 1, 0, 0), ("mm", "cm", "m", "in", "ft", "yd"), "25 mm"),
    "force": Kind((1, 1, -2, 0), ("N", "kN", "kgf", "lbf", "kip"), "2.5 kN"),
    "stress": Kind((1, -1, -2, 0), ("Pa", "kPa", "MPa", "GPa", "psi", "ksi", "N/mm^2", "lbf/in^2"), "5 MPa"),
    "angle": Kind((0, 0, 0, 1), ("deg", "rad"), "30 deg"),
    "mass": Kind((1, 0, 0, 0), ("kg", "g", "tonne", "lb"), "80 kg"),
    "density": Kind((1, -3, 0, 0), ("kg/m^3", "g/cm^3", "lb/ft^3"), "520 kg/m^3"),
    "energy per area": Kind((1, 0, -2, 0), ("J/m^2", "N/mm", "lbf/in"), "250 J/m^2"),
    "stiffness": Kind((1, 0, -2, 0), ("N/mm", "kN/mm", "kN/m", "lbf/in"), "3 kN/mm"),
    "stiffness per length": Kind((1, -1, -2, 0), ("N/mm/mm", "N/mm^2", "kN/mm/m", "lbf/in/in"), "200 N/mm/mm"),
    "moment": Kind((1, 2, -2, 0), ("N*mm", "N*m", "kN*m", "lbf*in", "lbf*ft"), "1.2 kN*m"),
    "inertia": Kind((1, 2, 0, 0), ("kg*m^2", "kg*mm^2", "lb*ft^2", "lb*in^2"), "12 kg*m^2"),
    "area": Kind((0, 2, 0, 0), ("mm^2", "cm^2", "in^2"), "120 mm^2"),
    "first moment": Kind((0, 3, 0, 0), ("mm^3", "cm^3", "in^3"), "93100 mm^3"),
    "second moment": Kind((0, 4, 0, 0), ("mm^4", "cm^4", "in^4"), "8.69e6 mm^4"),
    "speed": Kind((0, 1, -1, 0), ("m/s", "mm/s", "ft/s"), "3 m/s"),
    "time": Kind((0, 0, 1, 0), ("s", "ms"), "2 s"),
    "number": Kind((0, 0, 0, 0), (), "1.5"),
    "percent": Kind((0, 0, 0, 0), ("%",), "1 %"),
}
_WORD_OF = {kind.dims: word for word, kind in reversed(KINDS.items())} | {KINDS["number"].dims: "number"}


def kind_of(dimension: str) -> Kind:
    """Look up a kind of quantity by its word ("length", "energy per area"); KeyError if there is none."""
    return KINDS[dimension]


def name_dims(dims: Dims) -> str:
    """Name powers of mass, length, time and angle for a message.

    Examples
    --------
    >>> name_dims((1, -1, -2, 0)), name_dims((0, 2, 0, 1))
    ('a stress', 'length^2 * angle')
    """
    word = _WORD_OF.get(dims)
    if word:
        return with_article(word)
    bases = zip(("mass", "length", "time", "angle"), dims, strict=True)
    return " * ".join(base if power == 1 else f"{base}^{power}" for base, power in bases if power)


def with_article(word: str) -> str:
    """Put "a" or "an" before a word: ``with_article("angle")`` is ``"an angle"``."""
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


def either(words: tuple[str, ...]) -> str:
    """Join words for a message: ``either(("mm", "in"))`` is ``"mm or in"``."""
    return " or ".join((", ".join(words[:-1]), words[-1])) if len(words) > 1 else "".join(words)


@lru_cache(maxsize=1)
def registry() -> Any:
    """Build the pint registry of exactly the units that a part file may use (about 5 ms)."""
    import pint

    return pint.UnitRegistry(_DEFINITIONS.splitlines(), cache_folder=None)


@lru_cache(maxsize=512)
def _unit(text: str) -> Quantity:
    """One of a unit whose spelling `match_unit` has found good, in internal units."""
    one = registry().Quantity(1.0, registry().parse_units(text)).to_base_units()
    powers = dict(one.dimensionality)
    mass, length, time, angle = (int(powers.get(f"[{base}]", 0)) for base in ("mass", "length", "time", "angle"))
    return Quantity(float(one.magnitude), (mass, length, time, angle))


def match_unit(text: str, start: int = 0) -> tuple[str, int] | None:
    """Find the longest unit that begins at a place in a text.

    A unit is a unit's name with an optional power, and more of them after ``*``, ``·`` or ``/``, without
    blanks. A blank multiplies too ("kg m^2"), but not behind a ``/``, where it could be read in two ways. What
    follows the last name that is a unit is not part of it.

    Parameters
    ----------
    text : str
        Any text.
    start : int
        Where the unit has to begin.

    Returns
    -------
    tuple of str and int, or None
        The unit as pint spells it, and the place after it; None where no unit begins.

    Examples
    --------
    >>> match_unit("25 mm/2", 3), match_unit("J/m^2"), match_unit("kg m^2"), match_unit("furlong")
    (('mm', 5), ('J/m**2', 5), ('kg*m**2', 6), None)
    """
    spelled, end, operator = "", start, ""
    for _ in range(_MOST_PARTS):
        part = _UNIT_PART.match(text, end + bool(operator))
        if part is None or part[1] not in UNIT_NAMES:
            break
        power = part[2] or ({"²": "2", "³": "3"}[part[3]] if part[3] else "")
        spelled += operator + _SPELLED.get(part[1], part[1]) + (f"**{power}" if power else "")
        end = part.end()
        following = text[end : end + 1]
        if not following or following not in ("*/·" if "/" in spelled else "*/· "):
            break
        operator = "/" if following == "/" else "*"
    return (spelled, end) if spelled else None


def match_fraction(text: str, start: int = 0) -> tuple[float, str, int] | None:
    """Find a fraction of an inch or a foot, as rules have them, that begins at a place in a text.

    Returns
    -------
    tuple of float, str and int, or None
        The number, its unit, and the place after it; None where no such fraction begins.

    Examples
    --------
    >>> match_fraction("3/4 in"), match_fraction("1 3/8 in"), match_fraction("3/4 mm")
    ((0.75, 'in', 6), (1.375, 'in', 8), None)
    """
    found = _FRACTION.match(text, start)
    if found is None or int(found[3]) == 0:
        return None
    return int(found[1] or 0) + int(found[2]) / int(found[3]), found[4], found.end()


def measure(number: float, unit: str) -> Quantity:
    """Turn a number of a unit (spelled by `match_unit`) into a quantity in internal units."""
    factor = _unit(unit)
    return Quantity(number * factor.value, factor.dims)


def check_kind(quantity: Quantity, dimension: str, text: str, *, key: str | None) -> float:
    """Return a quantity's value if it is of the kind asked for.

    Raises
    ------
    InputError
        If it is of another kind, or not finite; the message names the units that fit.
    """
    kind = kind_of(dimension)
    if quantity.dims != kind.dims:
        raise InputError(_wrong_kind(quantity, dimension, text), key=key)
    if not math.isfinite(quantity.value):
        raise InputError(f'"{shorten(text)}" is not a finite number.', key=key)
    return quantity.value


def _wrong_kind(quantity: Quantity, dimension: str, text: str) -> str:
    """Say why a quantity of one kind cannot stand where another is wanted."""
    kind, shown = kind_of(dimension), shorten(text)
    if quantity.dims == KINDS["number"].dims:
        return f'"{shown}" has no unit; {with_article(dimension)} needs {either(kind.units)}, as in "{kind.example}".'
    wanted = with_article(dimension) + (f" ({', '.join(kind.units)})" if kind.units else ", without a unit,")
    message = f'"{shown}" is {name_dims(quantity.dims)}, but {wanted} is wanted here.'
    if dimension == "force" and quantity.dims == KINDS["mass"].dims:
        message += " For the weight of a mass write kgf or lbf."
    if re.fullmatch(r"\s*[0-9]+\s*/\s*[0-9]+\s+\S+\s*", text):
        message += ' Write a fraction of a unit as "0.75 in" or "(3/4) * 1 in".'
    return message


def parse_quantity(text: str, dimension: str, *, key: str | None = None) -> float:
    """Read a quantity: a sign, a decimal number, an optional exponent, a blank and a unit; or a fraction of an inch.

    Parameters
    ----------
    text : str
        Such as ``"25 mm"``, ``"-1.2e3 lbf"``, ``"250 J/m^2"``; numbers alone only for "number" and "percent".
    dimension : str
        The kind wanted, a key of `KINDS`: "length", "force", "stress", "angle", ...
    key : str, optional
        Key path in the part file for messages.

    Returns
    -------
    float
        The value in mm, N, MPa, deg, tonne, s and their products: density tonne/mm^3, energy per area N/mm,
        moment N mm, stiffness per length N/mm for each mm; a percentage as a fraction.

    Raises
    ------
    InputError
        For a missing or unknown unit, a unit of another kind, no number, or one that is not finite.

    Examples
    --------
    >>> parse_quantity("1 in", "length"), parse_quantity("250 J/m^2", "energy per area")
    (25.4, 0.25)
    """
    if not isinstance(text, str):
        shown, example = shorten(text), kind_of(dimension).example
        raise InputError(f'{shown} is not text; write {with_article(dimension)} as in "{example}".', key=key)
    fraction = match_fraction(text) if len(text) <= LONGEST else None
    if fraction is not None and not text[fraction[2] :].strip():
        return check_kind(measure(fraction[0], fraction[1]), dimension, text, key=key)
    found = _QUANTITY.fullmatch(text) if len(text) <= LONGEST else None
    if found is None:
        example = kind_of(dimension).example
        raise InputError(f'"{shorten(text)}" is not {with_article(dimension)}; write it as in "{example}".', key=key)
    number, blank, unit = found.groups()
    if not unit:
        quantity = Quantity(float(number), KINDS["number"].dims)
    else:
        matched = match_unit(unit)
        if matched is None or matched[1] != len(unit):
            raise InputError(unknown_unit(unit, dimension), key=key)
        if not blank:
            raise InputError(f'"{shorten(text)}" wants a blank before its unit: "{number} {unit}".', key=key)
        quantity = measure(float(number), matched[0])
    return check_kind(quantity, dimension, text, key=key)


def unknown_unit(unit: str, dimension: str | None) -> str:
    """Say that a unit is not known, with those nearest to it or those of the kind that is wanted."""
    near = difflib.get_close_matches(unit, UNIT_NAMES, n=2, cutoff=0.6)
    units = kind_of(dimension).units if dimension else ()
    hint = f"Nearest: {either(tuple(near))}. " if near else ""
    fitting = f"Units of {with_article(dimension)}: {', '.join(units)}." if dimension and units else ""
    return f'"{shorten(unit)}" is not a unit. {hint}{fitting or "Units: " + ", ".join(UNIT_NAMES) + "."}'


def shorten(text: object, longest: int = 60) -> str:
    """Cut text for a message to one printable line of a bearable length."""
    line = "".join(character if character.isprintable() else " " for character in str(text))
    return line if len(line) <= longest else line[: longest - 3] + "..."


# ---------------------------------------------------------------------------------------------- for people to read


def _significant(value: float, digits: int) -> tuple[float, int]:
    """Round to significant digits; the second number is the count of decimals to show."""
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    return round(value, decimals), max(decimals, 0)


def _coarse(value: float) -> tuple[float, int]:
    """Round N, lbf, psi: 950, 1,960, 12,300; small ones to two digits."""
    size = abs(value)
    if size >= 10_000:
        return _significant(value, 3)
    return (round(value, -1), 0) if size >= 100 else _significant(value, 2)


def _fine(value: float) -> tuple[float, int]:
    """Round kN, MPa, deg: 8.7, 19.3, 140; small ones to two digits."""
    size = abs(value)
    if size >= 1:
        return round(value, int(size < 100)), int(size < 100)
    return _significant(value, 2)


def _whole(value: float) -> tuple[float, int]:
    """Round mm, J/m^2, kg/m^3: 16, 140, 9.5; small ones to two digits."""
    return (round(value), 0) if abs(value) >= 10 else _significant(value, 2)


def _hundredths(value: float) -> tuple[float, int]:
    """Round inches: 0.63, 5.51, 16.5, 120."""
    size = abs(value)
    if size < 0.1:
        return _significant(value, 2)
    decimals = 2 if size < 10 else int(size < 100)
    return round(value, decimals), decimals


Rounding = Callable[[float], tuple[float, int]]


@dataclass(frozen=True)
class _Shown:
    """How a kind is shown: from which internal value up, with which unit, and how rounded."""

    least: float
    unit: str
    size: float  # internal units in one of `unit`
    rounding: Rounding


_INCH, _LBF, _FOOT = 25.4, 4.4482216152605, 304.8
_PSI = _LBF / _INCH**2
_SHOWN: dict[str, dict[str, tuple[_Shown, ...]]] = {
    "si": {
        "length": (_Shown(0, "mm", 1, _whole),),
        "force": (_Shown(995, "kN", 1000, _fine), _Shown(0, "N", 1, _coarse)),
        "stress": (_Shown(0, "MPa", 1, _fine),),
        "moment": (_Shown(995e3, "kN m", 1e6, _fine), _Shown(0, "N m", 1000, _coarse)),
        "area": (_Shown(0, "mm²", 1, _whole),),
        "first moment": (_Shown(0, "mm³", 1, _coarse),),
        "second moment": (_Shown(0, "mm⁴", 1, _coarse),),
        "energy per area": (_Shown(0, "J/m²", 1e-3, _whole),),
        "density": (_Shown(0, "kg/m³", 1e-12, _whole),),
        "mass": (_Shown(0, "kg", 1e-3, _fine),),
        "speed": (_Shown(0, "m/s", 1000, _hundredths),),
        "stiffness": (_Shown(995, "kN/mm", 1000, _fine), _Shown(0, "N/mm", 1, _coarse)),
    },
    "us": {
        "length": (_Shown(0, "in", _INCH, _hundredths),),
        "force": (_Shown(0, "lbf", _LBF, _coarse),),
        "stress": (_Shown(0, "psi", _PSI, _coarse),),
        "moment": (_Shown(0, "lbf ft", _LBF * _FOOT, _coarse),),
        "area": (_Shown(0, "in²", _INCH**2, _hundredths),),
        "first moment": (_Shown(0, "in³", _INCH**3, _hundredths),),
        "second moment": (_Shown(0, "in⁴", _INCH**4, _hundredths),),
        "energy per area": (_Shown(0, "lbf/in", _LBF / _INCH, _hundredths),),
        "density": (_Shown(0, "lb/ft³", 0.00045359237 / _FOOT**3, _fine),),
        "mass": (_Shown(0, "lb", 0.00045359237, _fine),),
        "speed": (_Shown(0, "ft/s", _FOOT, _hundredths),),
        "stiffness": (_Shown(0, "lbf/in", _LBF / _INCH, _coarse),),
    },
}
_EVERYWHERE = {"angle": (_Shown(0, "deg", 1, _fine),), "percent": (_Shown(0, "%", 0.01, _fine),)}


@dataclass(frozen=True)
class Formatter:
    """Numbers for people: "si" (mm, N, kN, MPa, N m) or "us" (in, lbf, psi, lbf ft), sensibly rounded.

    Examples
    --------
    >>> Formatter("si").force(8712.0), Formatter("us").force(8712.0), Formatter("us").length(16.0)
    ('8.7 kN', '1,960 lbf', '0.63 in')
    """

    system: Literal["si", "us"] = "si"

    def __post_init__(self) -> None:
        if self.system not in _SHOWN:
            raise InputError(f'Units "{shorten(self.system)}" are not known; choose si or us.', key="units")

    def quantity(self, value: float, dimension: str) -> str:
        """Format a value in internal units with its unit; ``dimension`` is a key of `KINDS`."""
        if not math.isfinite(value):
            return "not known"
        shown = next(each for each in self._shown(dimension) if abs(value) >= each.least)
        return f"{_text(value / shown.size, shown.rounding)} {shown.unit}"

    def length(self, value: float) -> str:
        """Format a length in mm: "16 mm" or "0.63 in"."""
        return self.quantity(value, "length")

    def force(self, value: float) -> str:
        """Format a force in N: "950 N", "8.7 kN" or "1,960 lbf"."""
        return self.quantity(value, "force")

    def stress(self, value: float) -> str:
        """Format a stress in MPa: "5.3 MPa" or "770 psi"."""
        return self.quantity(value, "stress")

    def moment(self, value: float) -> str:
        """Format a moment in N mm: "810 N m", "1.2 kN m" or "600 lbf ft"."""
        return self.quantity(value, "moment")

    def area(self, value: float) -> str:
        """Format an area in mm^2: "5,320 mm²" or "8.25 in²"."""
        return self.quantity(value, "area")

    def angle(self, value: float) -> str:
        """Format an angle in deg: "30 deg"."""
        return self.quantity(value, "angle")

    def energy(self, value: float) -> str:
        """Format an energy per area in N/mm: "71 J/m²" or "0.41 lbf/in"."""
        return self.quantity(value, "energy per area")

    def density(self, value: float) -> str:
        """Format a density in tonne/mm^3: "540 kg/m³" or "33.7 lb/ft³"."""
        return self.quantity(value, "density")

    def percent(self, value: float) -> str:
        """Format a fraction: 0.012 is "1.2 %"."""
        return self.quantity(value, "percent")

    def unit(self, dimension: str) -> str:
        """Name the unit that a table's column of this kind has (the smallest one used): "N" or "lbf"."""
        return self._shown(dimension)[-1].unit

    def convert(self, value: float, dimension: str) -> float:
        """Convert from internal units to `unit`, unrounded, for tables and axes of charts."""
        return value / self._shown(dimension)[-1].size

    def number(self, value: float, dimension: str) -> str:
        """Format a value as `quantity` does, in the unit that `unit` names and without writing it."""
        shown = self._shown(dimension)[-1]
        return _text(value / shown.size, shown.rounding) if math.isfinite(value) else "-"

    def _shown(self, dimension: str) -> tuple[_Shown, ...]:
        return _SHOWN[self.system].get(dimension) or _EVERYWHERE[dimension]


def _text(value: float, rounding: Rounding) -> str:
    """Write a rounded number with thousands marked and without trailing zeros."""
    if abs(value) < 1e-12:
        return "0"
    if not 1e-4 <= abs(value) < 1e12:
        return f"{value:.2g}"
    rounded, decimals = rounding(value)
    text = f"{rounded:,.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
