"""Where things sit: ``edge A-B``, ``corner A``, ``hole pivot``, ``notch N floor``, and the range along an edge."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal, cast

from ..errors import InputError
from ..units import shorten
from .document import Section
from .model import Corner, Hole, Notch, Opening, Place, edge_names

PLACE_KEYS = ("on", "from", "to", "with_rounds")
FACES = ("start", "floor", "end")
TOLERANCE = 1e-6
"""Lengths of oblique edges and arcs are roots; a range may end this far (mm) beyond one and is cut to it."""


@dataclass(frozen=True)
class Places:
    """What `on` can name.

    Parameters
    ----------
    edges : mapping of str to float
        Full length of each edge of the outline, mm, before rounds and notches.
    corners, holes, notches, arcs : tuple of str
        Names; `arcs` are the edges that are not straight.
    firsts : mapping of str to str
        The corner from which distances on an edge count.
    chains : mapping of str to tuple of str
        Edges by the name that they have together; one alone has it as a second name.
    """

    edges: Mapping[str, float]
    corners: tuple[str, ...]
    holes: tuple[str, ...] = ()
    notches: tuple[str, ...] = ()
    arcs: tuple[str, ...] = ()
    firsts: Mapping[str, str] = field(default_factory=dict)
    chains: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def find(self, text: str, owner: str, key: str) -> Place:
        """Read the name of a place.

        Raises
        ------
        InputError
            If there is no such place; the message lists those that are there.
        """
        kind, _, name = text.partition(" ")
        name = name.strip()
        if kind == "edge" and len(self.chains.get(name, ())) > 1:
            return Place(kind="edge", name=name, edges=self.chains[name])
        if kind == "edge":
            return Place(kind="edge", name=self.find_edge(name, owner, key))
        if kind == "corner":
            return Place(kind="corner", name=_one_of(name, self.corners, "corner", owner, key))
        if kind == "hole":
            return Place(kind="hole", name=_one_of(name, self.holes, "hole", owner, key))
        if kind == "notch":
            return self._notch(name, owner, key)
        message = (
            f'{owner}: "{shorten(text)}" is not a place. Write "edge A-B", "corner A", "hole <name>", "notch <name>" '
            'or "notch <name> floor" (start, floor or end).'
        )
        raise InputError(message, key=key)

    def find_edge(self, name: str, owner: str, key: str) -> str:
        """Check that an edge is on the outline; the message for a reversed one offers the right name.

        Raises
        ------
        InputError
            If the edge is not on the outline.
        """
        if name in self.edges:
            return name
        if len(self.chains.get(name, ())) == 1:
            return self.chains[name][0]
        if name in self.holes:
            raise InputError(f'{owner}: "{name}" is a hole; write "hole {name}".', key=key)
        first, _, second = name.partition("-")
        if f"{second}-{first}" in self.edges:
            message = (
                f'{owner}: edge "{shorten(name)}" is named against the order of the corners; '
                f'write "{second}-{first}" (distances run from {second}).'
            )
            raise InputError(message, key=key)
        if name in self.chains:
            message = f'{owner}: "{shorten(name)}" is several edges; name one of them: {_quoted(self.chains[name])}.'
            raise InputError(message, key=key)
        near = difflib.get_close_matches(name, (*self.chains, *self.edges), n=1, cutoff=0.75) if len(name) > 3 else ()
        hint = f' Nearest: "{near[0]}".' if near else ""
        known = shorten(_quoted((*self.chains, *self.edges)), 600)
        message = f'{owner}: edge "{shorten(name)}" is not on the outline.{hint} Edges: {known}.'
        raise InputError(message, key=key)

    def _notch(self, name: str, owner: str, key: str) -> Place:
        if name in self.notches:
            return Place(kind="notch", name=name)
        stem, _, face = name.rpartition(" ")
        if face in FACES and stem:
            found = _one_of(stem.strip(), self.notches, "notch", owner, key)
            return Place(kind="notch", name=found, face=cast('Literal["start", "floor", "end"]', face))
        return Place(kind="notch", name=_one_of(name, self.notches, "notch", owner, key))


def _quoted(names: Iterable[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)


def _one_of(name: str, names: tuple[str, ...], kind: str, owner: str, key: str) -> str:
    """Return a name if it is among those known; else say which are."""
    if name in names:
        return name
    plural = {"corner": "Corners", "hole": "Holes", "notch": "Notches"}[kind]
    near = difflib.get_close_matches(name, names, n=1, cutoff=0.6)
    hint = f' Nearest: "{near[0]}".' if near else ""
    known = f"{plural}: {_quoted(names)}." if names else f"The part has no {plural.lower()}."
    raise InputError(f'{owner}: there is no {kind} "{shorten(name)}".{hint} {known}', key=key)


def edge_length(first: Corner, second: Corner) -> float:
    """Length of an edge before rounds and notches, mm.

    An arc of rise b over a chord c has the half angle 2 atan(2|b|/c) and the radius (c^2/4 + b^2)/(2|b|).

    Examples
    --------
    A half circle over a chord of 2 mm is pi mm long.

    >>> round(edge_length(Corner(name="A", at=(0, 0), bow=1.0), Corner(name="B", at=(2, 0))), 6)
    3.141593
    """
    chord, rise = math.dist(first.at, second.at), abs(first.bow)
    if rise == 0.0 or chord == 0.0:
        return chord
    radius = (chord**2 / 4.0 + rise**2) / (2.0 * rise)
    return radius * 4.0 * math.atan2(2.0 * rise, chord)


def edge_lengths(corners: tuple[Corner, ...]) -> dict[str, float]:
    """Full length (mm) of each edge of a closed loop, by its name."""
    ends = zip(edge_names(corners), corners, corners[1:] + corners[:1], strict=True)
    return {name: edge_length(first, second) for name, first, second in ends}


def find_places(
    corners: tuple[Corner, ...],
    holes: tuple[Hole, ...],
    notches: tuple[Notch, ...] = (),
    openings: tuple[Opening, ...] = (),
    chains: Mapping[str, tuple[str, ...]] = MappingProxyType({}),
) -> Places:
    """Collect what can be named on a part."""
    loops = (corners, *(opening.corners for opening in openings))
    edges = {name: length for loop in loops for name, length in edge_lengths(loop).items()}
    around = tuple(corner for loop in loops for corner in loop)
    arcs = tuple(edge for edge, corner in zip(edges, around, strict=True) if corner.bow != 0.0)
    names = tuple(corner.name for corner in around)
    others = tuple(hole.name for hole in holes), tuple(notch.name for notch in notches)
    return Places(edges, names, *others, arcs, dict(zip(edges, names, strict=True)), chains)


def read_place(section: Section, places: Places, owner: str) -> Place:
    """Read ``on``, ``from``, ``to`` and ``with_rounds`` of a support or load.

    Raises
    ------
    InputError
        If the place is not there, or the range is not on the edge.
    """
    text = section.text("on")
    if text is None:
        example = next(iter(places.edges))
        raise section.missing("on", f'the place where it sits, as in on = "edge {example}".')
    place = places.find(text, owner, section.key("on"))
    changes: dict[str, object] = {}
    if section.has("from") or section.has("to"):
        if place.kind != "edge":
            key = "from" if section.has("from") else "to"
            raise section.error(key, f'{owner}: from and to run along an edge, but it sits on "{place.text}".')
        edge = places.find_edge(place.name, owner, section.key("on"))
        changes["start"], changes["stop"] = read_range(section, places, edge, owner)
    if section.flag("with_rounds"):
        if place.kind != "edge":
            raise section.error("with_rounds", f'{owner}: only an edge has rounds, but it sits on "{place.text}".')
        changes["with_rounds"] = True
    return place.model_copy(update=changes) if changes else place


def read_range(section: Section, places: Places, edge: str, owner: str) -> tuple[float, float]:
    """Read ``from`` and ``to`` along an edge (mm); what is absent means the edge's end.

    Raises
    ------
    InputError
        If ``from`` is not below ``to``, or one of them is not on the edge; the message states its length.
    """
    start, stop = section.quantity("from", "length"), section.quantity("to", "length")
    length, first = places.edges[edge], places.firsts[edge]
    start = 0.0 if start is None else start
    stop = length if stop is None else stop
    for key, value in (("from", start), ("to", stop)):
        if not -TOLERANCE <= value <= length + TOLERANCE:
            shown, where = section.length_like(key, value), _extent(section, key, edge, length, first)
            raise section.error(key, f"{owner}: {key} = {shown} is not on the edge; {where}.")
    if start >= stop:
        key = "from" if section.has("from") else "to"
        ends = section.length_like(key, start), section.length_like(key, stop)
        where = _extent(section, key, edge, length, first)
        raise section.error(key, f"{owner}: from = {ends[0]} is not below to = {ends[1]}; {where}.")
    return max(start, 0.0), min(stop, length)


def _extent(section: Section, key: str, edge: str, length: float, first: str) -> str:
    """Say how long an edge is, in the unit of the value that is on trial."""
    return f'edge "{edge}" is {section.length_like(key, length)} long, counted from {first}'


def read_moving(
    section: Section, places: Places, place: Place, owner: str
) -> tuple[Place, float | None, tuple[float, float] | None]:
    """Read ``width`` and ``anywhere`` of what can act anywhere in a range of a straight edge.

    Returns
    -------
    tuple of Place, float or None, and tuple of float or None
        The place, at the first position in the range; the width; the range. Without these keys the place as it was.

    Raises
    ------
    InputError
        If one of the two keys is missing, if the place cannot be moved along, and for ranges off the edge or
        narrower than what moves in them.
    """
    given = [key for key in ("width", "anywhere") if section.has(key)]
    if not given:
        return place, None, None
    _check_movable(section, places, place, owner)
    if len(given) == 1:
        other, example = ("anywhere", '["50 mm", "250 mm"]') if given == ["width"] else ("width", '"20 mm"')
        raise section.missing(other, f"width and anywhere go together, as in {other} = {example}.")
    width, limits = section.above_zero("width", "length"), section.point("anywhere", "length")
    assert width is not None and limits is not None  # both keys are there
    start, stop = _check_limits(section, places, place.name, limits, owner)
    if width >= stop - start:
        shown = section.length_like("width", width), section.length_like("width", stop - start)
        message = f"{owner}: width = {shown[0]} leaves no way to go in a range of {shown[1]} (anywhere)."
        raise section.error("width", f"{message} Make the range longer, or give from and to instead.")
    return place.model_copy(update={"start": start, "stop": start + width}), width, (start, stop)


def _check_movable(section: Section, places: Places, place: Place, owner: str) -> None:
    """Refuse places along which nothing can be moved, and keys that say where it stays."""
    if place.kind != "edge" or place.edges or place.name in places.arcs:
        shape = "several edges" if place.edges else "an arc"
        what = f'"{place.text}" is {shape}' if place.kind == "edge" else f'it sits on "{place.text}"'
        raise section.error("on", f"{owner}: anywhere runs along a straight edge, but {what}.")
    for key in ("from", "to", "with_rounds"):
        if section.has(key):
            raise section.error(key, f"{owner}: {key} says where it stays, but anywhere says that it moves; give one.")


def _check_limits(
    section: Section, places: Places, edge: str, limits: tuple[float, float], owner: str
) -> tuple[float, float]:
    length = places.edges[edge]
    where = _extent(section, "anywhere", edge, length, places.firsts[edge])
    shown = [section.length_like("anywhere", value) for value in limits]
    for value, text in zip(limits, shown, strict=True):
        if not -TOLERANCE <= value <= length + TOLERANCE:
            raise section.error("anywhere", f"{owner}: {text} of anywhere is not on the edge; {where}.")
    if limits[0] >= limits[1]:
        message = (
            f"{owner}: anywhere = [from, to] runs from {shown[0]} to {shown[1]}; from has to be below to; {where}."
        )
        raise section.error("anywhere", message)
    return max(limits[0], 0.0), min(limits[1], length)
