"""Where things sit: ``edge A-B``, ``corner A``, ``hole pivot``, ``notch N floor``, and the range along an edge."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal, cast

from ..errors import InputError
from ..units import shorten
from .document import Section
from .model import Corner, Hole, Notch, Place

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
    corners, holes, notches : tuple of str
        Names.
    """

    edges: Mapping[str, float]
    corners: tuple[str, ...]
    holes: tuple[str, ...] = ()
    notches: tuple[str, ...] = ()

    def find(self, text: str, owner: str, key: str) -> Place:
        """Read the name of a place.

        Raises
        ------
        InputError
            If there is no such place; the message lists those that are there.
        """
        kind, _, name = text.partition(" ")
        name = name.strip()
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
        first, _, second = name.partition("-")
        if f"{second}-{first}" in self.edges:
            message = (
                f'{owner}: edge "{shorten(name)}" is named against the order of the corners; '
                f'write "{second}-{first}" (distances run from {second}).'
            )
            raise InputError(message, key=key)
        message = f'{owner}: edge "{shorten(name)}" is not on the outline. Edges: {_quoted(self.edges)}.'
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


def find_places(corners: tuple[Corner, ...], holes: tuple[Hole, ...], notches: tuple[Notch, ...] = ()) -> Places:
    """Collect what can be named on a part."""
    following = corners[1:] + corners[:1]
    edges = {f"{a.name}-{b.name}": edge_length(a, b) for a, b in zip(corners, following, strict=True)}
    names = tuple(corner.name for corner in corners)
    return Places(edges, names, tuple(hole.name for hole in holes), tuple(notch.name for notch in notches))


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
        changes["start"], changes["stop"] = read_range(section, place.name, places.edges[place.name], owner)
    if section.flag("with_rounds"):
        if place.kind != "edge":
            raise section.error("with_rounds", f'{owner}: only an edge has rounds, but it sits on "{place.text}".')
        changes["with_rounds"] = True
    return place.model_copy(update=changes) if changes else place


def read_range(section: Section, edge: str, length: float, owner: str) -> tuple[float, float]:
    """Read ``from`` and ``to`` along an edge of the given length (mm); what is absent means the edge's end.

    Raises
    ------
    InputError
        If ``from`` is not below ``to``, or one of them is not on the edge; the message states its length.
    """
    start, stop = section.quantity("from", "length"), section.quantity("to", "length")
    start = 0.0 if start is None else start
    stop = length if stop is None else stop
    where = f'edge "{edge}" is {round(length, 3):g} mm long, counted from {edge.partition("-")[0]}'
    for key, value in (("from", start), ("to", stop)):
        if not -TOLERANCE <= value <= length + TOLERANCE:
            raise section.error(key, f"{owner}: {key} = {value:g} mm is not on the edge; {where}.")
    if start >= stop:
        key = "from" if section.has("from") else "to"
        raise section.error(key, f"{owner}: from = {start:g} mm is not below to = {stop:g} mm; {where}.")
    return max(start, 0.0), min(stop, length)
