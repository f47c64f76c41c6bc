"""[outline] file: corners, holes and openings from a drawing, named by its layers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import count
from pathlib import Path

from ..drawing.read import GAP, UNITS, WITHIN, Outlined, Wanted, read_outline
from ..drawing.shape import Round, Vertex
from ..errors import InputError
from ..units import shorten
from .document import Section, is_list
from .model import Corner, DrawingUsed, Hole, Opening, edge_names
from .shape import letters, named_holes, read_corners, read_holes, read_openings

KEYS = ("file", "unit", "gap", "within", "layers")
MOST_NAMED = 12  # corners that the note lists with their places


@dataclass(frozen=True)
class Drawn:
    """What a drawing gives."""

    corners: tuple[Corner, ...]
    holes: tuple[Hole, ...]
    openings: tuple[Opening, ...]
    chains: Mapping[str, tuple[str, ...]]
    used: DrawingUsed


Form = tuple[
    tuple[Corner, ...], tuple[Hole, ...], tuple[Opening, ...], Mapping[str, tuple[str, ...]], DrawingUsed | None
]


def read_form(document: Section, file: str | None) -> Form:
    """Read the outline and what is cut out of it, from the part file and from the drawing that it names.

    Parameters
    ----------
    document : Section
        The part file.
    file : str, optional
        Its path.

    Returns
    -------
    tuple
        Corners, holes, openings, edges that have a name together, and the drawing used, None without one.

    Raises
    ------
    InputError
        For everything that cannot be meant.
    """
    drawn = read_drawn(document, file)
    corners = drawn.corners if drawn else read_corners(document)
    holes = read_holes(document)
    openings = drawn.openings if drawn else ()
    taken = [corner.name for loop in (corners, *(one.corners for one in openings)) for corner in loop]
    openings = (*openings, *read_openings(document, taken))
    if drawn is None:
        return corners, holes, openings, {}, None
    return corners, (*holes, *drawn.holes), openings, drawn.chains, drawn.used


def read_drawn(document: Section, file: str | None) -> Drawn | None:
    """Read the drawing that [outline] names; None where it lists corners.

    Parameters
    ----------
    document : Section
        The part file; names of its holes are taken, and numbers of drawn ones go on after them.
    file : str, optional
        Its path; that of the drawing counts from its folder, without it from the current one.

    Raises
    ------
    InputError
        For keys that cannot be meant, and for everything in the drawing that is no outline of one flat part.
    """
    outline = document.section("outline", "[outline]")
    if outline is None or not outline.has("file"):
        return None
    if outline.has("corners"):
        raise outline.error(
            "corners",
            "The corners of this part stand in its drawing; change them there, or leave out either corners or file.",
        )
    outline.allow(KEYS)
    name = outline.text("file")
    assert name is not None  # the key is there
    if isinstance(document.table.get("hole"), Mapping):  # as `--set hole.1.diameter` makes it
        message = f'The holes of this part stand in its drawing, "{name}"; change them there, or add a [[hole]].'
        raise document.error("hole", message)
    wanted = Wanted(
        outline.choice("unit", dict.fromkeys(UNITS, "")),
        outline.above_zero("gap", "length") or GAP,
        outline.above_zero("within", "length") or WITHIN,
        _layers(outline),
    )
    try:
        found = read_outline(Path(file or "").parent / name, wanted)
    except InputError as error:
        error.key = error.key or outline.key("file")
        raise
    return _named(outline, found, name, [hole for _, hole in named_holes(document)])


def _layers(outline: Section) -> tuple[str, ...]:
    if not outline.has("layers"):
        return ()
    given = outline.table["layers"]
    if not is_list(given) or not given or not all(isinstance(one, str) and one.strip() for one in given):
        raise outline.error("layers", 'layers is a list of names in quotes: layers = ["outline", "holes"].')
    return tuple(str(one).strip() for one in given)


def _named(outline: Section, found: Outlined, name: str, own: Sequence[str]) -> Drawn:
    """Give letters, numbers and the names of layers."""
    shape, key = found.shape, outline.key("file")
    edges = Counter(one.layer for loop in (shape.outer, *shape.openings) for one in loop)
    free = letters()
    loops = [tuple(_corner(one, next(free), edges) for one in loop) for loop in (shape.outer, *shape.openings)]
    chains = _chains((shape.outer, *shape.openings), loops)
    _check_edges(outline, loops, chains)
    numbers = (str(number) for number in count(len(own) + 1) if str(number) not in own)
    of_holes = Counter(one.layer for one in shape.holes)
    cut = tuple(_hole(one, _only(one.layer, of_holes) or next(numbers), key) for one in shape.holes)
    mortises = tuple(Opening(name=next(numbers), corners=loop, key=key) for loop in loops[1:])
    _check_holes(outline, own, (*cut, *mortises))
    notes = "; ".join(found.notes)
    width, height = shape.size
    sentence = f"Drawing {name}: {width:.6g} by {height:.6g} mm, {notes}. {_listed(loops, chains, cut)}"
    return Drawn(loops[0], cut, mortises, chains, DrawingUsed(file=name, sha256=found.sha256, note=sentence))


def _only(layer: str, on_it: Counter[str]) -> str:
    """A layer's name where one thing is on it, else none."""
    return _fit(layer) if on_it[layer] == 1 else ""


def _fit(layer: str) -> str:
    """A layer's name as a part file writes names: blanks single, nothing that does not print."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in layer).split())


def _corner(one: Vertex, letter: str, edges: Counter[str]) -> Corner:
    return Corner(name=letter, at=one.at, round=one.round, bow=one.bow, edge=_only(one.layer, edges) or None)


def _hole(one: Round, name: str, key: str) -> Hole:
    return Hole(name=name, center=one.center, diameter=one.diameter, length=one.length, angle=one.angle, key=key)


def _chains(drawn: Sequence[tuple[Vertex, ...]], loops: Sequence[tuple[Corner, ...]]) -> dict[str, tuple[str, ...]]:
    """Edges that follow one another, all that are on one layer; not the whole outline."""
    layers = [[_fit(one.layer) for one in loop] for loop in drawn]
    found = {}
    for number, on_it in enumerate(layers):
        names = edge_names(loops[number])
        for layer in dict.fromkeys(on_it):
            mine = [k for k, other in enumerate(on_it) if other == layer]
            begins = [k for k in mine if on_it[k - 1] != layer]
            elsewhere = any(layer in others for other, others in enumerate(layers) if other != number)
            whole = len(mine) == len(on_it)
            if layer and len(mine) > 1 and not elsewhere and ((whole and number > 0) or len(begins) == 1):
                first = 0 if whole else begins[0]
                found[layer] = tuple(names[(first + k) % len(names)] for k in range(len(mine)))
    return found


def _check_edges(outline: Section, loops: Sequence[tuple[Corner, ...]], chains: Mapping[str, tuple[str, ...]]) -> None:
    named = Counter([*(name for loop in loops for name in edge_names(loop)), *chains])
    for name, times in named.items():
        if times > 1:
            message = (
                f'Layer "{shorten(name)}" is called as the edge between two corners or as another layer; rename it.'
            )
            raise outline.error("file", message)


def _check_holes(outline: Section, own: Sequence[str], made: Sequence[Hole | Opening]) -> None:
    taken = set(own)
    for one in made:
        if one.name in taken:
            message = f'Two holes are called "{shorten(one.name)}", one by its layer in the drawing; names must differ.'
            raise outline.error("file", message)
        taken.add(one.name)


def _listed(loops: Sequence[tuple[Corner, ...]], chains: Mapping[str, tuple[str, ...]], holes: Sequence[Hole]) -> str:
    """Say what is called how and where."""
    corners = [corner for loop in loops for corner in loop]
    shown = ", ".join(f"{one.name} ({one.at[0]:.6g}, {one.at[1]:.6g})" for one in corners[:MOST_NAMED])
    said = f"Corners {shown}{', ...' if len(corners) > MOST_NAMED else ''}"
    layers = [f'"{name}"' for name in (*(corner.edge for corner in corners if corner.edge), *chains)]
    said += f"; edges by layer {', '.join(layers)}" if layers else ""
    return said + (f"; holes {', '.join(f'{chr(34)}{hole.name}{chr(34)}' for hole in holes)}." if holes else ".")
