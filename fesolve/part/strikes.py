"""The [[strike]] tables: what hits the part, how fast, how heavy, and what is soft in between."""

from __future__ import annotations

from collections.abc import Iterable
from types import MappingProxyType

from .actions import DIRECTIONS
from .document import Section
from .facing import outward_normal, way
from .model import Corner, Notch, Opening, Pad, Place, Point, Strike
from .places import PLACE_KEYS, Places, read_moving, read_place
from .shape import name_of

KEYS = (
    *("name", *PLACE_KEYS, "width", "anywhere", "direction", "mass", "inertia", "arm", "speed", "drop", "run", "slope"),
    *("push", "striker_stiffness", "mount_stiffness", "pad"),
)
INTO = "into the wood"
SPEEDS = MappingProxyType({"speed": "speed", "drop": "drop", "run": "run and slope", "slope": "run and slope"})
HOW_FAST = 'speed = "2 m/s", drop = "300 mm" (it falls that far) or run = "2 m" with slope = "5 deg" (it rolls down)'
HOW_HEAVY = 'mass = "180 kg", or inertia = "12 kg*m^2" with arm = "600 mm" (the striker turns about a pivot)'
GRAZES = 1e-9  # of a blow along an edge: its share square to it is nothing but rounding


def read_strikes(
    document: Section,
    places: Places,
    corners: tuple[Corner, ...],
    notches: tuple[Notch, ...],
    taken: Iterable[str],
    openings: tuple[Opening, ...] = (),
) -> tuple[Strike, ...]:
    """Read what hits the part.

    Parameters
    ----------
    document : Section
    places, corners, notches, openings
        What is drawn.
    taken : iterable of str
        Names of the loads.

    Raises
    ------
    InputError
        For a mass or a speed that is missing, given twice or 0, a place that cannot be hit, a blow on an edge that
        faces away, and names that are in use.
    """
    strikes: dict[str, Strike] = {}
    loads = tuple(taken)
    for section in document.sections("strike"):
        section.allow(KEYS)
        named = section if section.has("name") else _numbered(section)
        name = name_of(named, strikes, "strikes")
        if name in loads:
            raise section.error("name", f'The name "{name}" is used for a load and a strike; names must differ.')
        if name == "gravity":
            raise section.error("name", 'A strike cannot be called "gravity"; cases call self-weight so.')
        strikes[name] = _strike(section, name, places, corners, notches, openings)
    return tuple(strikes.values())


def _numbered(section: Section) -> Section:
    """A nameless strike is "strike 2", so that it is not mistaken for the nameless load "2"."""
    name = f"strike {section.path.rpartition('.')[2]}"
    return Section({"name": name, **section.table}, section.path, section.title, section.names)


def _strike(
    section: Section,
    name: str,
    places: Places,
    corners: tuple[Corner, ...],
    notches: tuple[Notch, ...],
    openings: tuple[Opening, ...],
) -> Strike:
    owner = f'Strike "{name}"'
    place = read_place(section, places, owner)
    _check_seat(section, owner, place)
    place, width, anywhere = read_moving(section, places, place, owner)
    direction = _direction(section, owner, place, outward_normal(place, corners, notches, openings))
    mass, inertia, arm = _mass(section, owner)
    speed, drop, run, slope = _speed(section, owner)
    return Strike(
        name=name,
        on=place,
        direction=direction,
        mass=mass,
        inertia=inertia,
        arm=arm,
        speed=speed,
        drop=drop,
        run=run,
        slope=slope,
        push=section.not_negative("push", "force"),
        striker_stiffness=section.above_zero("striker_stiffness", "stiffness"),
        mount_stiffness=section.above_zero("mount_stiffness", "stiffness"),
        pad=_pad(section, owner),
        width=width,
        anywhere=anywhere,
    )


def _check_seat(section: Section, owner: str, place: Place) -> None:
    """Refuse what cannot be hit."""
    if place.kind in ("edge", "notch"):
        return
    reason = {
        "corner": "a corner has no area, and the stress of a blow there has no limit; name a short piece of an edge.",
        "hole": "a strike meets an edge or a notch. What hits a hole's wall is a pin: give its force as a [[load]].",
    }[place.kind]
    raise section.error("on", f'{owner} is on "{place.text}": {reason}')


def _direction(section: Section, owner: str, place: Place, normal: Point) -> Point:
    """Read which way the striker moves, and refuse a blow that does not meet its place from outside."""
    if section.table.get("direction") == INTO:
        return -normal[0] + 0.0, -normal[1] + 0.0
    direction = section.direction("direction", DIRECTIONS, also=INTO)
    if direction is None:
        raise section.missing(
            "direction", f'the way the striker moves: "down", "up", "left", "right", "{INTO}" or [dx, dy].'
        )
    if direction[0] * normal[0] + direction[1] * normal[1] > -GRAZES:
        there = f"faces {way(normal)} ({normal[0]:.3g}, {normal[1]:.3g})"
        message = (
            f'{owner} moves {way(direction)}, and "{place.text}" {there}: such a blow does not meet it from outside. '
            f'Write direction = "{INTO}", or name the place that is hit.'
        )
        raise section.error("direction", message)
    return direction


def _mass(section: Section, owner: str) -> tuple[float | None, float | None, float | None]:
    """Read the mass, or the inertia and the arm."""
    turning = [key for key in ("inertia", "arm") if section.has(key)]
    if section.has("mass") and turning:
        message = f"{owner} has a mass and {' and '.join(turning)}; give one of them: {HOW_HEAVY}."
        raise section.error(turning[0], message)
    if len(turning) == 1:
        other = "arm" if turning == ["inertia"] else "inertia"
        raise section.missing(other, f"inertia and arm go together: {HOW_HEAVY}.")
    if not section.has("mass") and not turning:
        raise section.missing("mass", f"what hits has a mass: {HOW_HEAVY}.")
    return (
        section.above_zero("mass", "mass"),
        section.above_zero("inertia", "inertia"),
        section.above_zero("arm", "length"),
    )


def _speed(section: Section, owner: str) -> tuple[float | None, float | None, float | None, float | None]:
    """Read how fast it comes: its speed, the height it drops, or the way it rolls and the slope."""
    given = [key for key in SPEEDS if section.has(key)]
    ways = tuple(dict.fromkeys(SPEEDS[key] for key in given))
    if not given:
        raise section.missing("speed", f"a strike arrives with a speed: {HOW_FAST}. Without one it is a [[load]].")
    if len(ways) > 1:
        found = " and ".join(given)
        raise section.error(given[1], f"{owner} needs exactly one of {HOW_FAST}; found {found}.")
    if given in (["run"], ["slope"]):
        other = "slope" if given == ["run"] else "run"
        raise section.missing(other, 'run and slope go together, as in run = "2 m", slope = "5 deg".')
    slope = section.quantity("slope", "angle")
    if slope is not None and not 0.0 < slope < 90.0:
        message = f"{owner}: slope = {section.shown('slope')} is not between 0 and 90 deg, measured from the level."
        raise section.error("slope", message)
    return (
        section.above_zero("speed", "speed"),
        section.above_zero("drop", "length"),
        section.above_zero("run", "length"),
        slope,
    )


def _pad(section: Section, owner: str) -> Pad | None:
    """Read what is soft between striker and wood."""
    pad = section.section("pad", 'pad = {stiffness = "200 N/mm", travel = "15 mm"}')
    if pad is None:
        return None
    pad = Section(pad.table, pad.path, f"the pad of {owner[0].lower()}{owner[1:]}", pad.names)
    pad.allow(("stiffness", "travel"))
    stiffness = pad.above_zero("stiffness", "stiffness")
    if stiffness is None:
        raise pad.missing("stiffness", 'force for each length that it gives, as in stiffness = "200 N/mm".')
    return Pad(stiffness=stiffness, travel=pad.above_zero("travel", "length"))
