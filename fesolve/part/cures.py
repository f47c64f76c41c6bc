"""What could be changed in a part that does not hold: changes as ``--set`` takes them, nothing solved.

Each is one change by itself. How much: 10 % of a dimension, 15 deg of the grain, twice a round, half of a speed (common
sense of the bench, choices of this program).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from ..errors import InputError
from ..units import NUMBER
from .document import is_list
from .model import Part, Strike

Group = Literal["thickness", "dimension", "round", "grain", "wood", "strike"]
Kind = Literal["part", "load", "nothing"]

SHARE = 0.1  # of a dimension, up and down
TURN = 15.0  # deg, of the grain
SHARP = 0.25  # of the depth of a notch: the round that one without any is given
_PLAIN = re.compile(rf"\s*([+-]?{NUMBER})\s*(\S+.*?)?\s*")
_SEEN_ONLY = ("source", "dimensions", "sha256", "file", "title", "cuts", "member_line", "if_it_breaks")


@dataclass(frozen=True)
class Change:
    """One change: in words, of what kind, and by name as ``--set`` takes it."""

    what: str
    group: Group
    changes: Mapping[str, str]


@dataclass(frozen=True)
class Varied:
    """One dimension up or down: what it changes (the part, only its loads, or nothing), or why that cannot be drawn."""

    name: str
    change: Change
    kind: Kind
    part: Part | None
    why: str = ""


def varied_dimensions(part: Part) -> list[tuple[Varied, Varied]]:
    """Every named dimension 10 % down and 10 % up, each by itself, in the order of the file."""
    written = part.source.get("dimensions")
    if not isinstance(written, Mapping):
        return []
    pairs = []
    for name, value in written.items():
        less, more = (_varied(part, str(name), str(value), sign) for sign in (-1, 1))
        pairs.append((less, more))
    return pairs


def _varied(part: Part, name: str, value: str, sign: int) -> Varied:
    changes = {name: scaled(value, 1.0 + sign * SHARE)}
    change = Change(f"{name} {changes[name]}", "dimension", changes)
    try:
        other = part.with_(changes)
    except InputError as error:
        return Varied(name, change, "part", None, error.message)
    change = Change(f"{name} {other.dimensions[name]}", "dimension", changes)
    return Varied(name, change, kind_of(part, other), other)


def scaled(value: str, factor: float) -> str:
    """A quantity or expression times a factor, as a part file spells it.

    Examples
    --------
    >>> scaled("25 mm", 1.1), scaled("depth/2", 0.9)
    ('27.5 mm', '(depth/2) * 0.9')
    """
    found = _PLAIN.fullmatch(value)
    if found:
        return f"{float(found[1]) * factor:.10g} {found[2] or ''}".strip()
    return f"({value}) * {factor:.10g}"


def kind_of(part: Part, other: Part) -> Kind:
    """What differs between two parts: themselves, only what acts on them, or nothing that is solved.

    How large loads are counts as load, where they act does not: that is a matter of the part and what it meets.
    """
    if _sizes(part) != _sizes(other):
        return "load"
    names = [name for name in type(part).model_fields if name not in _SEEN_ONLY]
    return "part" if any(getattr(part, name) != getattr(other, name) for name in names) else "nothing"


def _sizes(part: Part) -> object:
    """How large everything is that acts on a part."""
    loads = [(one.name, one.force, one.traction, one.pressure) for one in part.loads]
    strikes = [_brings(one) for one in part.strikes]
    return loads, strikes, part.gravity, [(case.name, dict(case.factors)) for case in part.cases]


def _brings(one: Strike) -> tuple[object, ...]:
    return (one.name, one.mass, one.inertia, one.arm, one.speed, one.drop, one.run, one.slope, one.push)


def thicker(part: Part, thickness: float) -> Change:
    """The part at another thickness (mm), its regions in proportion."""
    ratio = thickness / part.wood.thickness
    changes = {"wood.thickness": f"{thickness:.10g} mm"}
    for number, row in _rows(part, "region"):
        if "thickness" in row:
            changes[f"region.{number}.thickness"] = scaled(str(row["thickness"]), ratio)
    return Change(f"thickness {thickness:.10g} mm", "thickness", changes)


def turned_grain(part: Part) -> list[Change]:
    """All grain of the part turned either way."""
    found = []
    for sign, way in ((1, "counter-clockwise"), (-1, "clockwise")):
        turn = f"{'+' if sign > 0 else '-'} {TURN:g} deg"
        wood = part.source.get("wood")
        changes = {"wood.grain": _turned(wood if isinstance(wood, Mapping) else {}, turn)}
        for number, row in _rows(part, "region"):
            if "grain" in row:
                changes[f"region.{number}.grain"] = _turned(row, turn)
        found.append(Change(f"grain turned {TURN:g} deg {way}", "grain", changes))
    return found


def _turned(row: Mapping[str, object], turn: str) -> str:
    return f"({row.get('grain', '0 deg')}) {turn}"


def rounder(part: Part) -> list[Change]:
    """All rounds doubled; and notches without any given one."""
    doubled = {key: scaled(value, 2.0) for key, value in _rounds(part)}
    found = [Change("rounds doubled", "round", doubled)] if doubled else []
    for number, notch in enumerate(part.notches, start=1):
        if notch.round == 0.0 and notch.drill is None:
            radius = f"{SHARP * notch.depth:.3g} mm"
            found.append(Change(f"round of {radius} in notch {notch.name}", "round", {f"notch.{number}.round": radius}))
    return found


def _rounds(part: Part) -> Iterator[tuple[str, str]]:
    """Every round that the file has, by its key."""
    outline = part.source.get("outline")
    corners = outline.get("corners") if isinstance(outline, Mapping) else None
    lists = [("outline.corners", corners), ("notch", part.source.get("notch"))]
    lists += [(f"hole.{number}.corners", row.get("corners")) for number, row in _rows(part, "hole")]
    for path, rows in lists:
        for number, row in enumerate(rows if is_list(rows) else (), start=1):
            if isinstance(row, Mapping) and row.get("round"):
                yield f"{path}.{number}.round", str(row["round"])


def slower(part: Part) -> list[Change]:
    """Each strike at half its speed: a quarter of the height that it drops or of the way that it rolls."""
    found = []
    for number, row in _rows(part, "strike"):
        key = next((key for key in ("speed", "drop", "run") if key in row), None)
        if key is None:
            continue
        value = scaled(str(row[key]), 0.5 if key == "speed" else 0.25)
        changes = {f"strike.{number}.{key}": value}
        name = part.strikes[number - 1].name
        try:
            shown = getattr(part.with_(changes).strikes[number - 1], key)
        except InputError:
            continue
        unit = "m/s" if key == "speed" else "mm"
        size = shown / 1000.0 if key == "speed" else shown
        found.append(Change(f"{name} at half the speed ({key} {size:.3g} {unit})", "strike", changes))
    return found


def padded(part: Part, number: int, stiffness: float) -> Change:
    """A pad of a stiffness (N/mm) between a strike, counted from 1, and the part."""
    name = part.strikes[number - 1].name
    changes = {f"strike.{number}.pad.stiffness": f"{stiffness:.10g} N/mm"}
    return Change(f"a pad of {stiffness:.10g} N/mm for {name}", "strike", changes)


def of_species(part: Part, name: str) -> Change:
    """The same part of another species."""
    return Change(name, "wood", {"wood.species": name})


def _rows(part: Part, table: str) -> list[tuple[int, Mapping[str, object]]]:
    """Tables of a list of the file, counted from 1."""
    rows = part.source.get(table)
    return [
        (number, row) for number, row in enumerate(rows if is_list(rows) else (), start=1) if isinstance(row, Mapping)
    ]
