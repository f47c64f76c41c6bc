"""The drawn shape: corners, holes, notches and the member's line. Whether they fit is asked by `fesolve.mesh`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import count, pairwise, product
from string import ascii_uppercase

from ..units import shorten
from .document import Section, is_list
from .model import Corner, Hole, Notch, Opening, Point, edge_names
from .places import TOLERANCE, Places, read_range


def read_corners(document: Section) -> tuple[Corner, ...]:
    """Read the outline's corners; those without a name get the first free letters.

    Raises
    ------
    InputError
        For fewer than three corners, names used twice, two corners in one place, and values that cannot be meant.
    """
    outline = document.section("outline", "[outline]")
    if outline is None:
        raise document.missing("outline", "write [outline] with the list of its corners.")
    outline.allow(("corners", "file"))
    return _loop(outline, "the outline", ())


def _loop(owner: Section, what: str, taken: Sequence[str]) -> tuple[Corner, ...]:
    """Read a closed loop of corners; ``taken`` are names that are not free any more."""
    listed = owner.sections("corners", 'corners; write corners = [{at = ["0 mm", "0 mm"]}, ...]')
    found = [_corner_section(section, number, what) for number, section in enumerate(listed, start=1)]
    if len(found) < 3:
        raise owner.error("corners", f"{what[0].upper()}{what[1:]} has {len(found)} corners; it needs at least 3.")
    given = [section.text("name") for section in found]
    _check_corner_names(found, given, taken)
    free = (letter for letter in letters() if letter not in given and letter not in taken)
    corners = tuple(_corner(section, name or next(free)) for section, name in zip(found, given, strict=True))
    for number, (corner, following) in enumerate(zip(corners, corners[1:] + corners[:1], strict=True)):
        if corner.at == following.at:
            message = f'Corners "{corner.name}" and "{following.name}" are in the same place, {_at(corner.at)}.'
            raise found[(number + 1) % len(found)].error("at", message)
    return corners


def _at(point: Point) -> str:
    return f"({point[0]:g}, {point[1]:g}) mm"


def _corner_section(section: Section, number: int, what: str) -> Section:
    titled = Section(section.table, section.path, f"Corner {number} of {what}", section.names)
    return titled.allow(("at", "name", "round", "bow"))


def letters() -> Iterator[str]:
    """Give A to Z, then AA, AB, and so on."""
    for length in count(1):
        yield from ("".join(letters) for letters in product(ascii_uppercase, repeat=length))


def _check_corner_names(found: list[Section], given: list[str | None], taken: Sequence[str]) -> None:
    """Refuse names used twice, and names that would make an edge's name ambiguous."""
    for number, (section, name) in enumerate(zip(found, given, strict=True)):
        if name is None:
            continue
        if "-" in name or " " in name:
            message = (
                f'Corner "{shorten(name)}": a corner\'s name has no blank and no "-", since edges are named "A-B".'
            )
            raise section.error("name", message)
        if name in given[:number] or name in taken:
            raise section.error("name", f'The name "{shorten(name)}" is used for two corners; names must differ.')


def _corner(section: Section, name: str) -> Corner:
    at = section.point("at", "length")
    if at is None:
        raise section.missing("at", 'its place, as in at = ["0 mm", "25 mm"].')
    return Corner(
        name=name,
        at=at,
        round=section.not_negative("round", "length") or 0.0,
        bow=section.quantity("bow", "length") or 0.0,
    )


def name_of(section: Section, taken: Iterable[str], what: str) -> str:
    """Read a name, or number the nameless ("hole 2"); refuse one that is used already.

    Raises
    ------
    InputError
        If another of the same kind has this name.
    """
    name = section.text("name") or section.path.rpartition(".")[2]
    if name in taken:
        raise section.error("name", f'The name "{shorten(name)}" is used for two {what}; names must differ.')
    return name


def read_holes(document: Section) -> tuple[Hole, ...]:
    """Read the holes, round ones and slots; those with corners are openings.

    Raises
    ------
    InputError
        For names used twice, slots that are not longer than wide, and values that cannot be meant.
    """
    holes = []
    for section, name in named_holes(document):
        if section.has("corners"):
            continue
        section.allow(("name", "center", "diameter", "length", "angle", "corners"))
        center = section.point("center", "length")
        if center is None:
            raise section.missing("center", 'its place, as in center = ["70 mm", "depth/2"].')
        diameter = section.above_zero("diameter", "length")
        if diameter is None:
            raise section.missing("diameter", 'as in diameter = "25 mm".')
        length, angle = _slot(section, name, diameter)
        holes.append(Hole(name=name, center=center, diameter=diameter, length=length, angle=angle, key=section.path))
    return tuple(holes)


def read_openings(document: Section, taken: Iterable[str]) -> tuple[Opening, ...]:
    """Read the holes that are given by corners; ``taken`` are the names of the other corners of the part.

    Raises
    ------
    InputError
        For names used twice, keys of a round hole beside corners, and corners that cannot be meant.
    """
    known = list(taken)
    found = []
    for section, name in named_holes(document):
        if section.has("corners"):
            section.allow(("name", "corners"))
            corners = _loop(section, f'hole "{name}"', known)
            known += [corner.name for corner in corners]
            found.append(Opening(name=name, corners=corners, key=section.path))
    return tuple(found)


def named_holes(document: Section) -> Iterator[tuple[Section, str]]:
    """Give each [[hole]] with its name."""
    names: list[str] = []
    for section in document.sections("hole"):
        names.append(name_of(section, names, "holes"))
        yield section, names[-1]


def _slot(section: Section, name: str, diameter: float) -> tuple[float | None, float]:
    """Read a slot's length over its round ends, and the angle of its long axis."""
    length, angle = section.above_zero("length", "length"), section.quantity("angle", "angle")
    if length is None:
        if angle is not None:
            message = f'Hole "{name}": angle turns a slot, and this is a round hole; give its length too.'
            raise section.error("angle", message)
        return None, 0.0
    if length <= diameter:
        shown = section.length_like("length", length), section.length_like("length", diameter)
        message = (
            f'Hole "{name}": length = {shown[0]} is not more than diameter = {shown[1]}, the width of the slot; length '
            "goes over both round ends. Leave it out for a round hole."
        )
        raise section.error("length", message)
    return length, angle or 0.0


def read_notches(document: Section, places: Places, corners: tuple[Corner, ...]) -> tuple[Notch, ...]:
    """Read the notches.

    Raises
    ------
    InputError
        For edges that are not there or bowed, ranges that are not on the edge, and values that cannot be meant.
    """
    notches: dict[str, Notch] = {}
    bowed = {name for name, corner in zip(edge_names(corners), corners, strict=True) if corner.bow != 0.0}
    for section in document.sections("notch"):
        section.allow(("name", "edge", "from", "to", "depth", "round", "ramp", "ends"))
        name = name_of(section, notches, "notches")
        notches[name] = _notch(section, name, places, bowed)
    return tuple(notches.values())


def _drill(section: Section, owner: str) -> float | None:
    """Read ends = "drilled 10 mm", the diameter; None for square ends, which a notch has without it."""
    ends = section.text("ends")
    if ends is None or ends == "square":
        return None
    word, _, size = ends.partition(" ")
    if word != "drilled":
        message = f'"{shorten(ends)}" is not a choice for ends. Choices: "square" or "drilled 10 mm".'
        raise section.error("ends", message)
    if not size.strip():
        raise section.error("ends", f'{owner}: ends = "drilled" needs the diameter, as in ends = "drilled 10 mm".')
    diameter = section.evaluate(size, "ends", "length")
    if diameter <= 0.0:
        raise section.error("ends", f"{owner}: a drill of {diameter:g} mm is not greater than 0; it has to be.")
    if section.not_negative("round", "length"):
        raise section.error("ends", f"{owner}: an inner corner is either rounded or drilled; leave one of them out.")
    return diameter


def _ramp(section: Section, owner: str, *, at_start: bool, at_end: bool) -> tuple[float, float]:
    """Read the run for a rise of 1 of both faces; a face that an end notch does not have has none."""
    ramp = section.point("ramp", "number") or (0.0, 0.0)
    for value, face, gone in zip(ramp, ("start", "end"), (at_start, at_end), strict=True):
        if value < 0.0:
            raise section.error("ramp", f"{owner}: a ramp of {value:g} undercuts the wood; it must not be below 0.")
        if gone and value > 0.0:
            message = f"{owner} runs to the edge's end and has no {face} face; write 0 for its ramp there."
            raise section.error("ramp", message)
    return ramp


def _notch(section: Section, name: str, places: Places, bowed: set[str]) -> Notch:
    owner = f'Notch "{name}"'
    text = section.text("edge")
    if text is None:
        raise section.missing("edge", f'the edge it is cut into, as in edge = "{next(iter(places.edges))}".')
    edge = places.find_edge(text.removeprefix("edge ").strip(), owner, section.key("edge"))
    if edge in bowed:
        raise section.error("edge", f'{owner}: edge "{edge}" is bowed; a notch is cut into a straight edge.')
    for key in ("from", "to", "depth"):
        if not section.has(key):
            raise section.missing(key, f'a length, as in {key} = "25 mm".')
    start, stop = read_range(section, places, edge, owner)
    depth = section.above_zero("depth", "length") or 0.0
    rounding = section.not_negative("round", "length") or 0.0
    at_start, at_end = start <= TOLERANCE, stop >= places.edges[edge] - TOLERANCE
    ramp = _ramp(section, owner, at_start=at_start, at_end=at_end)
    if rounding > min(depth, stop - start) and ramp == (0.0, 0.0):  # beside a ramp there is room for more
        size, limit = (section.length_like("round", value) for value in (rounding, min(depth, stop - start)))
        message = f"{owner}: round = {size} is more than its depth or width leaves room for ({limit})."
        raise section.error("round", message)
    drill = _drill(section, owner)
    return Notch(name=name, edge=edge, start=start, stop=stop, depth=depth, round=rounding, ramp=ramp, drill=drill)


def read_member(document: Section) -> tuple[Point, ...] | None:
    """Read the axis for the hand calculation; None where it is to run along the grain.

    Raises
    ------
    InputError
        For fewer than two points, or the same point twice in a row.
    """
    section = document.section("member", "[member]")
    if section is None:
        return None
    section.allow(("line",))
    line: object = section.table.get("line", ())
    if not is_list(line) or len(line) < 2:
        raise section.error("line", "The member's line needs at least two points: line = [[x, y], [x, y]].")
    points = tuple(section.pair(point, "line", "length") for point in line)
    for point, following in pairwise(points):
        if point == following:
            raise section.error("line", f"The member's line stays at {_at(point)}; each point must be a new one.")
    return points


def hole_named(holes: tuple[Hole, ...], name: str) -> Hole:
    """Find a hole by its name."""
    return next(hole for hole in holes if hole.name == name)
