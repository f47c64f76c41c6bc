"""What holds the part and what acts on it: supports, loads, gravity, cases, and what follows if it breaks."""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import Literal, cast

from ..errors import InputError
from ..units import shorten
from .document import Section, is_list
from .model import Case, Gravity, Hole, IfItBreaks, Load, Place, Point, Support, WoodChoice
from .places import Places, read_place
from .shape import hole_named, name_of

Axes = tuple[Literal["x", "y"], ...]

ALL_LOADS = "all loads together"
DIRECTIONS = MappingProxyType({"up": (0.0, 1.0), "down": (0.0, -1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)})
COMMON_KEYS = ("name", "kind", "on", "from", "to", "with_rounds")
KINDS = {
    "fixed": "holds in x and y, or in the axes named",
    "roller": "holds along the edge's normal and lets it slide",
    "spring": "holds by a stiffness for each length of edge",
    "rest": "the part leans on it",
    "pin": "a round pin in a hole, which lets it turn",
}
OWN_KEYS: dict[str, tuple[str, ...]] = {
    "fixed": ("axes",),
    "roller": (),
    "spring": ("stiffness",),
    "rest": ("gap", "friction"),
    "pin": ("pin", "friction"),
}
PLACES_OF: dict[str, tuple[str, ...]] = {
    "fixed": ("edge", "corner", "hole", "notch"),
    "roller": ("edge", "notch"),
    "spring": ("edge", "hole", "notch"),
    "rest": ("edge", "notch"),
    "pin": ("hole",),
}
PEOPLE = {
    "none": "nobody can be where it fails",
    "near": "people work or pass near it",
    "carried": "it carries or holds people",
}


def read_supports(document: Section, places: Places, holes: tuple[Hole, ...]) -> tuple[Support, ...]:
    """Read what holds the part.

    Raises
    ------
    InputError
        For no support at all, unknown kinds, keys that do not belong to the kind, places where it cannot sit.
    """
    supports: dict[str, Support] = {}
    for section in document.sections("support"):
        name = name_of(section, supports, "supports")
        kind = _kind(section)
        place = read_place(section, places, f'Support "{name}"')
        _check_seat(section, name, kind, place)
        if kind == "pin" and hole_named(holes, place.name).length is not None:
            message = (
                f'Support "{name}": a pin in a slot is not supported in this version, and hole "{place.name}" is one. '
                "Draw a round hole where the pin lies."
            )
            raise section.error("on", message)
        supports[name] = _support(section, name, kind, place, holes)
    if not supports:
        message = "Nothing holds the part; write at least one [[support]] with a kind and the place it sits on."
        raise document.error("support", message)
    return tuple(supports.values())


def _kind(section: Section) -> str:
    """Read the kind, and refuse keys of other kinds, saying whose they are."""
    kind = section.choice("kind", KINDS)
    if kind is None:
        raise section.missing("kind", "one of " + "; ".join(f'"{word}" ({does})' for word, does in KINDS.items()) + ".")
    for key in section.table:
        owners = [word for word, keys in OWN_KEYS.items() if key in keys]
        if owners and kind not in owners:
            message = f'{key} belongs to a support of kind {" or ".join(owners)}, but this one is "{kind}".'
            raise section.error(key, message)
    section.allow(COMMON_KEYS + OWN_KEYS[kind])
    return kind


def _check_seat(section: Section, name: str, kind: str, place: Place) -> None:
    """Refuse places where a kind of support cannot sit."""
    if place.kind in PLACES_OF[kind]:
        return
    hint = ' In a hole use kind = "pin".' if place.kind == "hole" else ""
    message = f'Support "{name}": a {kind} sits on {" or ".join(PLACES_OF[kind])}, not on "{place.text}".{hint}'
    raise section.error("on", message)


def _support(section: Section, name: str, kind: str, place: Place, holes: tuple[Hole, ...]) -> Support:
    stiffness = section.above_zero("stiffness", "stiffness per length")
    if kind == "spring" and stiffness is None:
        raise section.missing("stiffness", 'force a displacement and length of edge, as in stiffness = "200 N/mm/mm".')
    pin = section.above_zero("pin", "length")
    if pin is not None and pin > hole_named(holes, place.name).diameter:
        size = hole_named(holes, place.name).diameter
        message = f'Support "{name}": a pin of {pin:g} mm does not go into hole "{place.name}" of {size:g} mm.'
        raise section.error("pin", message)
    return Support(
        name=name,
        kind=cast('Literal["fixed", "roller", "spring", "rest", "pin"]', kind),
        on=place,
        axes=_axes(section),
        stiffness=stiffness,
        pin=pin,
        gap=section.not_negative("gap", "length"),
        friction=section.not_negative("friction", "number"),
    )


def _axes(section: Section) -> Axes | None:
    """Read the axes that a fixed support holds; None for both."""
    if not section.has("axes"):
        return None
    value = section.table["axes"]
    if not is_list(value) or not value or any(axis not in ("x", "y") for axis in value) or len(set(value)) < len(value):
        raise section.error("axes", 'axes is a list of "x" and "y", as in axes = ["x"]; leave it out for both.')
    return cast(Axes, tuple(value))


def read_loads(document: Section, places: Places, holes: tuple[Hole, ...]) -> tuple[Load, ...]:
    """Read what pushes and pulls.

    Raises
    ------
    InputError
        For none or several of force, traction and pressure, names used twice, places that are not there.
    """
    loads: dict[str, Load] = {}
    slots = [hole.name for hole in holes if hole.length is not None]
    for section in document.sections("load"):
        section.allow(("name", "on", "from", "to", "with_rounds", "force", "traction", "pressure"))
        name = name_of(section, loads, "loads")
        if name == "gravity":
            raise section.error("name", 'A load cannot be called "gravity"; cases call self-weight so.')
        place = read_place(section, places, f'Load "{name}"')
        loads[name] = _load(section, name, place)
        if loads[name].force is not None and place.kind == "hole" and place.name in slots:
            message = (
                f'Load "{name}": a force on a slot is not supported in this version, since it would be spread as a pin '
                f'does it, and hole "{place.name}" is one. Give a traction or a pressure, or draw a round hole.'
            )
            raise section.error("force", message)
    return tuple(loads.values())


def _load(section: Section, name: str, place: Place) -> Load:
    given = [key for key in ("force", "traction", "pressure") if section.has(key)]
    if len(given) != 1:
        found = " and ".join(given) if given else "none of them"
        message = (
            f'Load "{name}" needs exactly one of force = [fx, fy] (the sum), traction = [tx, ty] (a stress) and '
            f"pressure (a stress, positive into the wood); found {found}."
        )
        raise section.error(given[1] if given else "force", message)
    if place.kind == "corner" and given != ["force"]:
        message = f'Load "{name}": a corner has no area for a {given[0]}; give a force, or load an edge.'
        raise section.error(given[0], message)
    return Load(
        name=name,
        on=place,
        force=section.point("force", "force"),
        traction=section.point("traction", "stress"),
        pressure=section.quantity("pressure", "stress"),
    )


def read_gravity(document: Section, wood: WoodChoice) -> Gravity | None:
    """Read self-weight.

    Raises
    ------
    InputError
        For no direction, or no density from anywhere.
    """
    section = document.section("gravity", "[gravity]")
    if section is None:
        return None
    section.allow(("direction", "density"))
    direction: Point | None = section.direction("direction", DIRECTIONS)
    if direction is None:
        raise section.missing("direction", '"down", "up", "left", "right" or [dx, dy] in the drawing.')
    density = section.above_zero("density", "density")
    if density is None and wood.density is None and wood.species is None:
        raise section.missing("density", 'as in density = "520 kg/m^3"; without a species it is not known.')
    return Gravity(direction=direction, density=density)


def read_cases(document: Section, loads: tuple[Load, ...], gravity: Gravity | None) -> tuple[Case, ...]:
    """Read the load cases; without any, one in which all loads act together.

    Raises
    ------
    InputError
        For nothing that loads the part, names used twice, loads that are not there.
    """
    known = tuple(load.name for load in loads) + (("gravity",) if gravity else ())
    if not known:
        message = "Nothing loads the part; write at least one [[load]], or [gravity]."
        raise document.error("load", message)
    cases: dict[str, Case] = {}
    for section in document.sections("case"):
        section.allow(("name", "loads", "duration"))
        name = name_of(section, cases, "cases")
        cases[name] = Case(name=name, factors=_factors(section, name, known), duration=section.text("duration"))
    return tuple(cases.values()) or (Case(name=ALL_LOADS, factors=dict.fromkeys(known, 1.0)),)


def _factors(section: Section, name: str, known: tuple[str, ...]) -> dict[str, float]:
    """Read a case's factor for each of its loads."""
    listed = ", ".join(f'"{load}"' for load in known)
    loads = section.section("loads", "loads = {...}")
    if loads is None or not loads.table:
        raise section.missing("loads", f"a factor for each load that acts, as in loads = {{{known[0]} = 1.0}}.")
    for load in loads.table:
        if load not in known:
            hint = " There is no [gravity] in this file." if load == "gravity" else ""
            raise loads.error(load, f'Case "{name}": there is no load "{shorten(load)}".{hint} Loads: {listed}.')
    return {load: loads.needed(load, "number") for load in loads.table}


def read_if_it_breaks(document: Section) -> IfItBreaks:
    """Read what follows when the part fails.

    Raises
    ------
    InputError
        For unknown keys and values that are not a choice.
    """
    section = document.section("if_it_breaks", "[if_it_breaks]")
    if section is None:
        return IfItBreaks()
    section.allow(("then", "people", "second_catch"))
    return IfItBreaks(
        then=section.text("then"),
        people=cast('Literal["none", "near", "carried"] | None', section.choice("people", PEOPLE)),
        second_catch=section.flag("second_catch"),
    )


def whole_number(section: Section, key: str) -> int | None:
    """Read a whole number above 0; None where the key is absent.

    Raises
    ------
    InputError
        For anything else.
    """
    value: float | None = section.quantity(key, "number")
    if value is None:
        return None
    if value < 1.0 or not math.isfinite(value) or value != int(value):
        raise InputError(f"{section.shown(key)} is not a whole number above 0.", key=section.key(key))
    return int(value)
