"""The [[region]] tables: pieces of the part with a thickness, a grain or a wood of their own."""

from __future__ import annotations

import math
from collections.abc import Mapping

from ..units import shorten
from .document import Section, is_list
from .model import Point, Region, RegionShape, Shape, WoodChoice
from .shape import name_of
from .wood_choice import GRADED_KEYS, OF_CLASSES, OF_GRADES, check_one_family, read_wood

BODY = "part"
"""What the rest of the part is called beside its regions."""
KEYS = ("name", "strip", "corners", "thickness", "grain", "wood")
WOOD_KEYS = ("species", "board", "density", *GRADED_KEYS, "elastic", "strength", "fracture", "shrinkage", "percentile")
KEPT = ("board", "basis", "thickness", "grain", "moisture")
OF_THE_REGION = ("thickness", "grain")
FORMS = 'strip = {from = [x, y], to = [x, y], width = "20 mm"} or corners = [[x, y], [x, y], [x, y], ...]'


def read_regions(
    document: Section, wood_section: Section, wood: WoodChoice, shape: Shape | None = None
) -> tuple[Region, ...]:
    """Read the regions; strips become polygons.

    Parameters
    ----------
    document, wood_section : Section
        The file, and its [wood], which a region's wood takes over where it says nothing else.
    wood : WoodChoice
        [wood] as read.
    shape : Shape, optional
        Where it is that of a mesh: its regions, which then have no strip and no corners in the file.

    Returns
    -------
    tuple of Region
        In the order of the file; where they overlap, the later one counts.

    Raises
    ------
    InputError
        For names used twice, a region without a form, or with two, or which differs in nothing.
    """
    regions: dict[str, Region] = {}
    for section in document.sections("region"):
        section.allow(KEYS)
        name = name_of(section, regions, "regions")
        if name == BODY:
            raise section.error("name", f'A region cannot be called "{BODY}"; the rest of the wood is called so.')
        thickness, grain = section.above_zero("thickness", "length"), section.quantity("grain", "angle")
        own = _wood(section, name, wood_section, wood)
        if thickness is None and grain is None and own is None:
            message = f'Region "{name}" differs in nothing; give it a thickness, a grain or a wood of its own.'
            raise section.error("thickness", message)
        patch = None if shape is None else _patch(section, name, shape)
        corners = () if patch else _corners(section, name)
        regions[name] = Region(name=name, corners=corners, patch=patch, thickness=thickness, grain=grain, wood=own)
    return tuple(regions.values())


def _patch(section: Section, name: str, shape: Shape) -> RegionShape:
    """Find the region of a mesh."""
    for key in ("strip", "corners"):
        if section.has(key):
            message = f'Region "{name}": the shape is that of a mesh, and so are its regions; {key} cannot be given.'
            raise section.error(key, message)
    if name not in shape.regions:
        names = ", ".join(f'"{known}"' for known in shape.regions)
        known = f"It has: {shorten(names, 600)}." if names else "It has no named groups of cells."
        raise section.error("name", f'Region "{shorten(name)}" is not in the mesh. {known}')
    return shape.regions[name]


def _corners(section: Section, name: str) -> tuple[Point, ...]:
    """Read the polygon, or make it from the strip."""
    given = [key for key in ("strip", "corners") if section.has(key)]
    if len(given) != 1:
        found = "both" if given else "neither"
        message = f'Region "{name}" needs one of {FORMS}; found {found}.'
        raise section.error(given[1] if given else "strip", message)
    if given == ["strip"]:
        return _strip(section, name)
    listed = section.table["corners"]
    if not is_list(listed) or len(listed) < 3:
        raise section.error("corners", f'Region "{name}" needs at least three corners: corners = [[x, y], ...].')
    return tuple(section.pair(point, "corners", "length") for point in listed)


def _strip(section: Section, name: str) -> tuple[Point, ...]:
    """Give the four corners of a strip along a line, half its width on either side."""
    strip = section.section("strip", FORMS.partition(" or ")[0])
    assert strip is not None  # the caller has seen the key
    strip = Section(strip.table, strip.path, f'the strip of region "{name}"', strip.names)
    strip.allow(("from", "to", "width"))
    start, stop = strip.point("from", "length"), strip.point("to", "length")
    width = strip.above_zero("width", "length")
    for key, value in (("from", start), ("to", stop), ("width", width)):
        if value is None:
            example = '"20 mm"' if key == "width" else '["0 mm", "10 mm"]'
            raise strip.missing(key, f"it runs along the middle of the strip, as in {key} = {example}.")
    assert start is not None and stop is not None and width is not None
    length = math.dist(start, stop)
    if length == 0.0:
        message = f'The strip of region "{name}" goes from ({start[0]:g}, {start[1]:g}) mm to the same point; '
        raise strip.error("to", message + "it needs a length.")
    x, y = (start[1] - stop[1]) / length * width / 2, (stop[0] - start[0]) / length * width / 2
    ends = ((start, -1.0), (stop, -1.0), (stop, 1.0), (start, 1.0))
    return tuple((round(at[0] + side * x, 9) + 0.0, round(at[1] + side * y, 9) + 0.0) for at, side in ends)


def _wood(section: Section, name: str, wood_section: Section, wood: WoodChoice) -> WoodChoice | None:
    """Read [region.wood] over the part's [wood]; another wood takes nothing over but board, basis and use."""
    own = section.section("wood", "[region.wood]")
    if own is None:
        return None
    own = Section(own.table, own.path, f'the wood of region "{name}"', own.names)
    for key in own.table:
        if key in OF_THE_REGION:
            raise own.error(key, f"{key} is written in [[region]] itself, above [region.wood].")
        if key == "basis":
            raise own.error(key, "The basis is one for the whole part; it stands in [wood].")
    own.allow(WOOD_KEYS)
    if not own.table:
        raise section.error(
            "wood", f'The wood of region "{name}" is empty; give {", ".join(WOOD_KEYS[:-1])} or {WOOD_KEYS[-1]}.'
        )
    kept = tuple(wood_section.table)
    if any(own.has(key) for key in ("species", "grade", "class")):
        kept = (*KEPT, *(OF_GRADES if own.has("grade") else OF_CLASSES if own.has("class") else ()))
    merged = {key: wood_section.table[key] for key in kept if wood_section.has(key)}
    strengths = merged.get("strength"), own.table.get("strength")
    merged |= own.table
    if isinstance(strengths[0], Mapping) and isinstance(strengths[1], Mapping):
        merged["strength"] = {**strengths[0], **strengths[1]}
    merged |= {key: section.table[key] for key in OF_THE_REGION if section.has(key)}
    found = read_wood(Section(merged, own.path, own.title, own.names))
    check_one_family(own, found, wood)
    if found.board == "unknown" and wood.board != "unknown":
        message = (
            f'The wood of region "{name}": the board can be "unknown" only where that of [wood] is so too, since '
            f"then both faces of all are computed; that of [wood] is {shorten(str(wood.board))}."
        )
        raise own.error("board", message)
    return found
