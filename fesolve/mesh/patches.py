"""Which curves each support, load and strike sits on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from ..errors import InputError
from ..part.model import Corner, Part, Place, edge_names
from .curves import SAME, Curve
from .trace import SHORTEST, Edge, Piece, Trace, check_range, find_edge, mm


@dataclass(frozen=True)
class Patch:
    """Where a support, load or strike sits: its label (``support keeper``), its name in messages and its key path."""

    label: str
    place: Place
    who: str
    key: str


def patches_of(part: Part) -> list[Patch]:
    """All supports, then all loads, then all strikes."""
    rows = [("support", number, one.name, one.on) for number, one in enumerate(part.supports, 1)]
    rows += [("load", number, one.name, one.on) for number, one in enumerate(part.loads, 1)]
    rows += [("strike", number, one.name, one.on) for number, one in enumerate(part.strikes, 1)]
    label = {"strike": "load"}  # a strike stands for a load of its force; the two share no names
    return [
        Patch(f"{label.get(what, what)} {name}", on, f'{what.capitalize()} "{name}"', f"{what}.{number}")
        for what, number, name, on in rows
    ]


def name_outer(part: Part, traced: Trace) -> tuple[Curve, ...]:
    """The outer loop, split at patch ends, each curve with the names of the patches it belongs to."""
    within = {name for opening in part.openings for name in _place_names(opening.corners)}
    return _name_loop(part, traced, [patch for patch in patches_of(part) if not _parts_of(patch.place) <= within])


def name_opening(alone: Part, traced: Trace) -> tuple[Curve, ...]:
    """The loop of an opening, counter-clockwise, of a part that has its corners in place of the outline's."""
    own = set(_place_names(alone.corners))
    return _name_loop(alone, traced, [patch for patch in patches_of(alone) if _parts_of(patch.place) & own])


def _parts_of(place: Place) -> set[str]:
    """The place, or the edges that it stands for."""
    return {f"edge {name}" for name in place.edges} or {place.text}


def _place_names(corners: tuple[Corner, ...]) -> Iterator[str]:
    yield from (f"edge {name}" for name in edge_names(corners))
    yield from (f"corner {corner.name}" for corner in corners)


def _name_loop(part: Part, traced: Trace, patches: list[Patch]) -> tuple[Curve, ...]:
    pieces = list(traced.pieces)
    for name, edges in part.chains.items():
        hit = _together(pieces, traced, edges)
        pieces = [_named(piece, f"edge {name}") if yes else piece for piece, yes in zip(pieces, hit, strict=True)]
    for patch in patches:
        place = patch.place
        if place.kind != "edge" and (place.start is not None or place.stop is not None):
            raise InputError(
                f'{patch.who}: "from" and "to" go with an edge, and this is on "{place.text}". Leave them out.',
                key=f"{patch.key}.{'to' if place.start is None else 'from'}",
            )
        if place.edges:
            pieces = _on_edges(pieces, traced, patch)
        elif place.kind == "edge":
            pieces = _on_edge(pieces, traced, patch)
        elif place.kind == "notch":
            pieces = _on_notch(pieces, part, patch)
        elif place.kind == "corner":
            _check_corner(part, traced, patch)
        else:
            _check_hole(part, patch)
    return tuple(piece.curve for piece in pieces)


def _named(piece: Piece, label: str) -> Piece:
    return replace(piece, curve=replace(piece.curve, names=(*piece.curve.names, label)))


def _on_edges(pieces: list[Piece], traced: Trace, patch: Patch) -> list[Piece]:
    """Edges that follow one another, with the rounds between them."""
    hit = _together(pieces, traced, patch.place.edges)
    if not any(hit):
        message = f'{patch.who}: "{patch.place.text}" is wholly cut away by notches or rounds.'
        raise InputError(message, key=f"{patch.key}.on")
    return [_named(piece, patch.label) if yes else piece for piece, yes in zip(pieces, hit, strict=True)]


def _together(pieces: list[Piece], traced: Trace, names: tuple[str, ...]) -> list[bool]:
    """Which pieces lie on edges in a row, or are the rounds between them."""
    own = [edge for edge in traced.edges if edge.name in names]
    ends = Counter(name for edge in own for name in _ends_of(edge, traced))
    between = {f"round {name}" for name, times in ends.items() if times == 2}
    return [piece.edge in own or piece.curve.names[0] in between for piece in pieces]


def _ends_of(edge: Edge, traced: Trace) -> tuple[str, str]:
    """The corners at which an edge begins and ends."""
    following = traced.edges[(traced.edges.index(edge) + 1) % len(traced.edges)]
    return edge.corner, following.corner


def _on_edge(pieces: list[Piece], traced: Trace, patch: Patch) -> list[Piece]:
    place, who, key = patch.place, patch.who, patch.key
    edge = find_edge({edge.name: edge for edge in traced.edges}, place.name, who, f"{key}.on")
    start = 0.0 if place.start is None else place.start
    stop = edge.length if place.stop is None else place.stop
    check_range(start, stop, edge, who, key)
    low, high = edge.span(start, stop)
    parts = [new for piece in pieces for new in (_split(piece, low, high) if piece.edge is edge else [piece])]
    hit = [p.edge is edge and low - SHORTEST < p.s0 and p.s1 < high + SHORTEST for p in parts]
    if place.with_rounds:
        hit = _with_rounds(parts, hit, edge, low, high)
    if not any(hit):
        whole = place.start is None and place.stop is None
        what = f'edge "{edge.name}"' if whole else f'edge "{edge.name}" from {mm(start)} to {mm(stop)}'
        raise InputError(
            f"{who}: {what} is wholly cut away by notches or rounds. {_what_is_left(parts, edge)}",
            key=f"{key}.on" if whole else f"{key}.from",
        )
    return [_named(p, patch.label) if yes else p for p, yes in zip(parts, hit, strict=True)]


def _split(piece: Piece, low: float, high: float) -> list[Piece]:
    """Cut a piece of an edge at the distances low and high where they lie inside it."""
    assert piece.edge is not None
    stops = [piece.s0, *(s for s in (low, high) if piece.s0 + SHORTEST < s < piece.s1 - SHORTEST), piece.s1]
    if len(stops) == 2:
        return [piece]
    curves = [piece.curve.part(a - piece.s0, b - piece.s0) for a, b in pairwise(stops)]
    for i in range(1, len(curves)):  # one point, not two within rounding
        curves[i] = replace(curves[i], start=curves[i - 1].end)
    curves[-1] = replace(curves[-1], end=piece.curve.end)
    return [Piece(c, piece.edge, a, b) for c, (a, b) in zip(curves, pairwise(stops), strict=True)]


def _with_rounds(parts: list[Piece], hit: list[bool], edge: Edge, low: float, high: float) -> list[bool]:
    """Add the rounds beside the edge where the range runs on past what is left of the edge."""
    out = list(hit)
    for i, piece in enumerate(parts):
        if not piece.curve.names[0].startswith("round "):
            continue
        after, before = parts[(i + 1) % len(parts)], parts[i - 1]
        begins = piece.curve.names[0] == f"round {edge.corner}"
        if begins and low < edge.low - SAME and (after.edge is not edge or out[(i + 1) % len(parts)]):
            out[i] = True
        if not begins and before.edge is edge and high > edge.high + SAME and out[i - 1]:
            out[i] = True
    return out


def _what_is_left(parts: list[Piece], edge: Edge) -> str:
    left = sorted(edge.span(p.s0, p.s1) for p in parts if p.edge is edge)
    if not left:
        return f'Nothing of "{edge.name}" is left; use a notch face or another edge.'
    return "What is left of it: " + ", ".join(f"{mm(max(a, 0.0))} to {mm(b)}" for a, b in left) + "."


def _on_notch(pieces: list[Piece], part: Part, patch: Patch) -> list[Piece]:
    place, who, key = patch.place, patch.who, patch.key
    known = [notch.name for notch in part.notches]
    if place.name not in known:
        listed = ", ".join(f'"{name}"' for name in known) or "none"
        raise InputError(f'{who}: there is no notch "{place.name}". Notches: {listed}.', key=f"{key}.on")
    hit = [place.text in piece.curve.names for piece in pieces]
    if not any(hit):
        faces = {n.rsplit(" ", 1)[1] for p in pieces for n in p.curve.names[1:] if n.startswith(f"notch {place.name} ")}
        raise InputError(
            f'{who}: notch "{place.name}" has no {place.face} face (an end notch or a full round takes it away). '
            f"Faces it has: {', '.join(sorted(faces))}.",
            key=f"{key}.on",
        )
    return [_named(p, patch.label) if yes else p for p, yes in zip(pieces, hit, strict=True)]


def _check_corner(part: Part, traced: Trace, patch: Patch) -> None:
    place, who, key = patch.place, patch.who, patch.key
    names = [corner.name for corner in part.corners]
    if place.name not in names:
        listed = ", ".join(f'"{name}"' for name in names)
        raise InputError(f'{who}: there is no corner "{place.name}". Corners: {listed}.', key=f"{key}.on")
    number = names.index(place.name)
    if number not in traced.sharp:
        what = "its round" if number in traced.rounded else "a notch"
        left = ", ".join(f'"{names[i]}"' for i in sorted(traced.sharp)) or "none"
        raise InputError(
            f'{who}: corner "{place.name}" is no longer there, {what} took it away. Corners left: {left}.',
            key=f"{key}.on",
        )


def _check_hole(part: Part, patch: Patch) -> None:
    place, who, key = patch.place, patch.who, patch.key
    known = [hole.name for hole in part.holes]
    if place.name not in known:
        listed = ", ".join(f'"{name}"' for name in known) or "none"
        raise InputError(f'{who}: there is no hole "{place.name}". Holes: {listed}.', key=f"{key}.on")
