"""The value that a name of a part has now, and the unit it is written in."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from ..errors import InputError
from ..part.axes import Span
from ..part.expressions import evaluate, resolve
from ..part.model import Part
from ..part.overrides import WOOD_KEYS
from ..units import KINDS, NUMBER, Dims, match_fraction, match_unit, measure

_PLAIN = re.compile(rf"\s*[+-]?{NUMBER}\s+(\S+)\s*")


def present(part: Part, name: str) -> Span | None:
    """What a name stands for in the part file, as a range of no width; None where that is no quantity.

    Examples
    --------
    >>> from fesolve.part.read import read_part
    >>> now = present(read_part("meshes/log_stop.toml"), "pivot_height")  # doctest: +SKIP
    >>> now.low, now.unit  # doctest: +SKIP
    (70.0, 'mm')
    """
    text = part.dimensions.get(name.removeprefix("dimensions."), _written(part.source, name))
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        return None
    try:
        value = evaluate(str(text), resolve(part.dimensions))
    except InputError:
        return None
    unit = _unit(str(text), value.dims)
    return Span(name, value.value, value.value, unit, _size(unit))


def _unit(text: str, dims: Dims) -> str:
    """The unit that a plain quantity is written in, else one near the internal one of its kind."""
    if (fraction := match_fraction(text)) is not None and not text[fraction[2] :].strip():
        return fraction[1]
    plain = _PLAIN.fullmatch(text)
    if plain and (matched := match_unit(plain[1])) and matched[1] == len(plain[1]):
        return plain[1]
    for kind in KINDS.values():
        if kind.dims == dims:
            return min(kind.units, key=lambda unit: abs(math.log(_size(unit))), default="")
    bases = zip(("tonne", "mm", "s", "deg"), dims, strict=True)
    return "*".join(f"{base}^{power}" for base, power in bases if power)


def _size(unit: str) -> float:
    """One of a unit in mm, N, MPa, deg, tonne, s."""
    matched = match_unit(unit) if unit else None
    return 1.0 if matched is None else measure(1.0, matched[0]).value


def _written(source: Mapping[str, object], name: str) -> object:
    """What stands in the file under a name that is no dimension."""
    place: object = source
    for step in (f"wood.{name}" if name in WOOD_KEYS else name).split("."):
        if isinstance(place, Mapping):
            place = place.get(step)
        elif isinstance(place, list):
            named = [one for one in place if isinstance(one, Mapping) and one.get("name") == step]
            counted = place[int(step) - 1] if step.isdigit() and 0 < int(step) <= len(place) else None
            place = named[0] if named else counted
        else:
            return None
    return place
