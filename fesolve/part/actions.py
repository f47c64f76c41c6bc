"""What holds the part and what acts on it: supports, loads, gravity, cases, and what follows if it breaks."""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import Literal, cast

from ..errors import InputError
from ..units import shorten
from .document import Section, is_list
from .durations import read_duration
from .model import Case, Gravity, Hole, IfItBreaks, Load, Place, Point, Strike, Support, WoodChoice
from .partial_factors import KINDS as ACTIONS
from .piece import read_change
from .places import PLACE_KEYS, Places, read_moving, read_place
from .repeats import read_repeats
from .shape import hole_named, name_of

Axes = tuple[Literal["x", "y"], ...]

ALL_LOADS = "all loads together"
MOISTURE = "moisture"
"""What a change of moisture is called among the loads of a case; its factor is in percent of moisture."""
DIRECTIONS = MappingProxyType({"up": (0.0, 1.0), "down": (0.0, -1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)})
COMMON_KEYS = ("name", "kind", *PLACE_KEYS)
KINDS = {
    "fixed": "holds in x and y, or in the axes named",
    "roller": "holds along the edge's normal and lets it slide",
    "spring": "holds by a stiffness for each length of edge",
    "rest": "the part leans on it; it pushes and never pulls",
    "pin": "a round pin in a hole, which lets it turn",
}
OWN_KEYS: dict[str, tuple[str, ...]] = {
    "fixed": ("axes", "play_limit"),
    "roller": (),
    "spring": ("stiffness",),
    "rest": ("gap", "friction", "play_limit"),
    "pin": ("pin", "stiffness", "friction", "worn", "play_limit"),
}
PLACES_OF: dict[str, tuple[str, ...]] = {
    "fixed": ("edge", "corner", "hole", "notch"),
    "roller": ("edge", "notch"),
    "spring": ("edge", "hole", "notch"),
    "rest": ("edge", "notch"),
    "pin": ("hole",),
}
LOAD_KEYS = ("name", *PLACE_KEYS, "width", "anywhere", "force", "traction", "pressure", "grows", "kind")
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
    stiffness = section.above_zero("stiffness", "stiffness" if kind == "pin" else "stiffness per length")
    if kind == "spring" and stiffness is None:
        raise section.missing("stiffness", 'force a displacement and length of edge, as in stiffness = "200 N/mm/mm".')
    pin, worn = _pin(section, name, hole_named(holes, place.name)) if kind == "pin" else (None, None)
    return Support(
        name=name,
        kind=cast('Literal["fixed", "roller", "spring", "rest", "pin"]', kind),
        on=place,
        axes=_axes(section),
        stiffness=None if kind == "pin" else stiffness,
        pin=pin,
        pin_stiffness=stiffness if kind == "pin" else None,
        worn=worn,
        gap=section.not_negative("gap", "length"),
        friction=section.not_negative("friction", "number"),
        play_limit=section.above_zero("play_limit", "length"),
    )


def _pin(section: Section, name: str, hole: Hole) -> tuple[float | None, float | None]:
    """Read a pin's diameter, and its play once it is worn."""
    pin, worn = section.above_zero("pin", "length"), section.above_zero("worn", "length")
    if pin is not None and pin > hole.diameter:
        shown = section.length_like("pin", pin), section.length_like("pin", hole.diameter)
        message = f'Support "{name}": a pin of {shown[0]} does not go into hole "{hole.name}" of {shown[1]}.'
        raise section.error("pin", message)
    play = 0.0 if pin is None else hole.diameter - pin
    if worn is not None and not play < worn < hole.diameter:
        shown = section.length_like("worn", worn), section.length_like("worn", play)
        size = section.length_like("worn", hole.diameter)
        why = f"above the play now, {shown[1]}" if worn <= play else f"below the hole's diameter, {size}"
        message = f'Support "{name}": worn = {shown[0]} is the play (hole less pin) once it is worn, and not {why}.'
        raise section.error("worn", message)
    return pin, worn


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
        section.allow(LOAD_KEYS)
        name = name_of(section, loads, "loads")
        if name == "gravity":
            raise section.error("name", 'A load cannot be called "gravity"; cases call self-weight so.')
        place = read_place(section, places, f'Load "{name}"')
        loads[name] = _load(section, name, place, places)
        if loads[name].force is not None and place.kind == "hole" and place.name in slots:
            message = (
                f'Load "{name}": a force on a slot is not supported in this version, since it would be spread as a pin '
                f'does it, and hole "{place.name}" is one. Give a traction or a pressure, or draw a round hole.'
            )
            raise section.error("force", message)
    return tuple(loads.values())


def _load(section: Section, name: str, place: Place, places: Places) -> Load:
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
    moving = next((key for key in ("anywhere", "width") if section.has(key)), None)
    if moving and given != ["force"]:
        raise section.error(moving, f'Load "{name}": {moving} goes with a force, but a {given[0]} is given.')
    place, width, anywhere = read_moving(section, places, place, f'Load "{name}"')
    return Load(
        name=name,
        on=place,
        width=width,
        anywhere=anywhere,
        grows=section.flag("grows") is not False,
        kind=section.choice("kind", ACTIONS),
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
    section.allow(("direction", "density", "grows"))
    direction: Point | None = section.direction("direction", DIRECTIONS)
    if direction is None:
        raise section.missing("direction", '"down", "up", "left", "right" or [dx, dy] in the drawing.')
    density = section.above_zero("density", "density")
    if density is None and wood.density is None and wood.species is None:
        raise section.missing("density", 'as in density = "520 kg/m^3"; without a species it is not known.')
    return Gravity(direction=direction, density=density, grows=section.flag("grows") is True)


def read_cases(
    document: Section,
    loads: tuple[Load, ...],
    strikes: tuple[Strike, ...],
    gravity: Gravity | None,
    wood: WoodChoice,
) -> tuple[Case, ...]:
    """Read the load cases; without any, one in which all loads act together.

    A strike is in that one too; of several each has a case of its own, with all loads and the name of the strike.

    Raises
    ------
    InputError
        For nothing that loads the part, names used twice, loads that are not there, and for strikes that come twice,
        in part, with a duration, or with a change of moisture.
    """
    steady = tuple(load.name for load in loads) + (("gravity",) if gravity else ())
    blows = tuple(strike.name for strike in strikes)
    dries = any(section.has("moisture_change") for section in document.sections("case"))
    if not steady and not blows and not dries:
        message = "Nothing loads the part; write at least one [[load]], [[strike]], or [gravity]."
        raise document.error("load", message)
    cases: dict[str, Case] = {}
    for section in document.sections("case"):
        section.allow(("name", "loads", "duration", "repeats", "moisture_change"))
        name = name_of(section, cases, "cases")
        cases[name] = _case(section, name, steady, blows, wood)
    return tuple(cases.values()) or _all_together(steady, blows)


def _case(section: Section, name: str, steady: tuple[str, ...], blows: tuple[str, ...], wood: WoodChoice) -> Case:
    """Read one case; a change of moisture is one more of its loads."""
    written, change = read_change(section, name, wood)
    factors = {} if written and not section.table.get("loads") else _factors(section, name, steady, blows)
    duration, seconds = read_duration(section, name)
    often, repeats = read_repeats(section, name)
    struck = next((blow for blow in blows if blow in factors), None)
    if duration is not None and struck is not None:
        message = (
            f'Case "{name}": strike "{struck}" is a blow, over in milliseconds, and its strengths are those of a '
            "short test: it has no duration. Leave it out; what lasts goes into a case without the strike."
        )
        raise section.error("duration", message)
    if change is not None:
        _refuse_with_moisture(section, name, (*steady, *blows), struck)
        factors = {**factors, MOISTURE: change}
    return Case(
        name=name,
        factors=factors,
        duration=duration,
        seconds=seconds,
        repeats=repeats,
        often=often,
        moisture_change=written,
    )


def _refuse_with_moisture(section: Section, name: str, others: tuple[str, ...], struck: str | None) -> None:
    """Refuse a change of moisture beside what it cannot stand with."""
    if MOISTURE in others:
        message = f'A load or strike is called "{MOISTURE}", as a change of moisture is in cases; give it another name.'
        raise section.error("moisture_change", message)
    if struck is not None:
        message = (
            f'Case "{name}": moisture changes in weeks, strike "{struck}" is over in milliseconds; give each a '
            "case of its own. The drying goes with the loads that stay."
        )
        raise section.error("moisture_change", message)


def _all_together(steady: tuple[str, ...], blows: tuple[str, ...]) -> tuple[Case, ...]:
    """Make the cases of a file that names none."""
    if len(blows) < 2:
        return (Case(name=ALL_LOADS, factors=dict.fromkeys((*steady, *blows), 1.0)),)
    return tuple(Case(name=blow, factors=dict.fromkeys((*steady, blow), 1.0)) for blow in blows)


def _factors(section: Section, name: str, steady: tuple[str, ...], blows: tuple[str, ...]) -> dict[str, float]:
    """Read a case's factor for each of its loads, and 1 for its strike."""
    known = steady + blows
    listed = ", ".join(f'"{load}"' for load in known)
    loads = section.section("loads", "loads = {...}")
    if loads is None or not loads.table:
        raise section.missing("loads", f"a factor for each load that acts, as in loads = {{{known[0]} = 1.0}}.")
    for load in loads.table:
        if load not in known:
            hint = " There is no [gravity] in this file." if load == "gravity" else ""
            raise loads.error(load, f'Case "{name}": there is no load "{shorten(load)}".{hint} Loads: {listed}.')
    factors = {load: loads.needed(load, "number") for load in loads.table}
    struck = [load for load in factors if load in blows]
    if len(struck) > 1:
        both = " and ".join(f'"{blow}"' for blow in struck[:2])
        message = f'Case "{name}" has the strikes {both}; one blow at a time: give each a case of its own.'
        raise loads.error(struck[1], message)
    if struck and factors[struck[0]] != 1.0:
        message = (
            f'Case "{name}": the factor of strike "{struck[0]}" is {factors[struck[0]]:g}, but a strike happens or it '
            "does not: write 1, or leave it out. A harder blow has another mass, speed, drop, run or slope."
        )
        raise loads.error(struck[0], message)
    return factors


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
