"""Lines, arcs and curves of an SVG file, y turned upwards; nothing outside the file is looked at."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree
from xml.parsers import expat

from ..errors import InputError
from .strokes import Bend, Drawing, Drawn, Point, Ring, Stroke, arc_through, quadratic

MOST = 20_000  # elements, each as often as it is used
DEEPEST = 100
PER_INCH = 96.0  # user units (CSS Values and Units Level 3, absolute lengths)
MM_OF = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25}
NAMES = {1.0: "mm", 10.0: "cm", 25.4: "inches"}
GROUPS = {"g", "a", "switch"}
UNSEEN = {
    *("defs", "symbol", "clippath", "mask", "pattern", "marker", "lineargradient", "radialgradient", "filter", "style"),
    *("metadata", "namedview", "title", "desc", "script", "font", "view", "cursor"),
}
HIDDEN, OUTSIDE = "hidden", "references to other files"
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
HREF = "{http://www.w3.org/1999/xlink}href"
_MADE_UP = re.compile(  # ids that programs give by themselves
    r"(svg|path|rect|circle|ellipse|line|polyline|polygon|g|group|layer|use|shape|vector)[-_ ]?[\d-]*", re.I
)
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_LENGTH = re.compile(rf"\s*({_NUMBER.pattern})\s*([a-zA-Z%]*)\s*")


def read_svg(path: Path, layers: Iterable[str] = ()) -> Drawing:
    """Read what is drawn.

    Parameters
    ----------
    path : Path
        An SVG file.
    layers : iterable of str
        Names of layers, groups or elements to read, in either case; none: all that is shown.

    Returns
    -------
    Drawing
        The lower left corner of the page (of its viewBox) is at (0, 0), y up, in units of the file.

    Raises
    ------
    InputError
        For a file that is damaged or no SVG, declares entities, or draws in ways that are not read.
    """
    root = _root(path)
    page = _page(root)
    reader = _Reader(root, frozenset(name.casefold() for name in layers), page)
    try:
        things = tuple(reader.inside(root, _State((), _matrix(""), True), 0))
    except InputError:
        raise
    except Exception as error:  # a path or a transform that cannot be parsed
        raise _damaged(error) from None
    reader.check_layers(layers)
    return Drawing(things, page.unit, page.unit_name, dict(reader.aside))


def _damaged(error: Exception) -> InputError:
    said = " ".join(str(error).split())[:120].rstrip(".") or type(error).__name__
    return InputError(f"This cannot be read as SVG ({said}). Open it where it was drawn and save it anew.")


def _root(path: Path) -> ElementTree.Element:
    """Parse the file; entities are refused before anything is made of them."""
    content = path.read_bytes()
    parser = expat.ParserCreate()
    parser.EntityDeclHandler = _refuse_entity
    try:
        parser.Parse(content, True)
        root = ElementTree.fromstring(content)
        if _tag(root) != "svg":
            raise InputError(f'This is no SVG: its outermost element is "{_tag(root)[:40]}", not "svg".')
        _count(root)
    except InputError:
        raise
    except Exception as error:
        raise _damaged(error) from None
    return root


def _refuse_entity(name: str, *_: object) -> None:
    raise InputError(
        f'The file declares an entity ("{name[:40]}"); such files are not read. Save it as plain SVG, without them.'
    )


def _tag(element: ElementTree.Element) -> str:
    """Name of an element without its namespace; comments and the like have none."""
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def _count(root: ElementTree.Element) -> None:
    """Refuse files that are too large once everything that is used again stands where it is used."""
    by_id = _by_id(root)
    sizes: dict[int, int] = {}

    def size(element: ElementTree.Element, depth: int) -> int:
        if depth > DEEPEST:
            raise InputError(f"Elements stand in one another more than {DEEPEST} deep, or use themselves.")
        if id(element) not in sizes:
            target = by_id.get(_target(element))
            of_others = [size(child, depth + 1) for child in element]
            sizes[id(element)] = 1 + sum(of_others) + (size(target, depth + 1) if target is not None else 0)
        return sizes[id(element)]

    if size(root, 0) > MOST:
        raise InputError(f"The file has more than {MOST} elements; an outline has some tens. Save the part alone.")


def _by_id(root: ElementTree.Element) -> dict[str, ElementTree.Element]:
    return {element.get("id", ""): element for element in root.iter() if element.get("id")}


def _target(element: ElementTree.Element) -> str:
    """Id of what a `use` stands for; empty for anything else, and for what is in another file."""
    if _tag(element) != "use":
        return ""
    href = element.get("href") or element.get(HREF) or ""
    return href[1:] if href.startswith("#") else ""


# ---- the page


@dataclass(frozen=True)
class _Page:
    """Where the lower left corner of the page is in user units, and mm a user unit."""

    left: float
    bottom: float
    unit: float | None
    unit_name: str

    def at(self, point: Any) -> Point:
        return float(point.x) - self.left, self.bottom - float(point.y)


def _page(root: ElementTree.Element) -> _Page:
    width, height = root.get("width"), root.get("height")
    box = [float(number) for number in re.findall(r"[^\s,]+", root.get("viewBox", "")) if _is_number(number)]
    size = _mm(width), _mm(height)
    if len(box) != 4 or min(box[2:]) <= 0.0:
        unit = 25.4 / PER_INCH if None not in size else None
        return _Page(0.0, (size[1] or 0.0) * PER_INCH / 25.4 if unit else _plain(height), unit, _called(unit, width))
    scales = [length / side for length, side in zip(size, box[2:], strict=True) if length is not None]
    unit = min(scales, default=None)
    stretched = root.get("preserveAspectRatio", "").startswith("none")
    if stretched and len(scales) == 2 and max(scales) > 1.001 * min(scales):
        raise InputError("The page stretches what is drawn (preserveAspectRatio = none); save it without that.")
    return _Page(box[0], box[1] + box[3], unit, _called(unit, width))


def _called(unit: float | None, width: str | None) -> str:
    if unit is None:
        return f'its width is "{width[:20]}", no true length' if width else "it has no width in mm, cm or in"
    near = next((name for size, name in NAMES.items() if math.isclose(size, unit, rel_tol=1e-6)), None)
    return near or f"units of {unit:.6g} mm"


def _is_number(text: str) -> bool:
    match = _LENGTH.fullmatch(text)
    return match is not None and not match[2]


def _mm(text: str | None) -> float | None:
    """A true length in mm; None for pixels, shares of something, and nothing."""
    match = _LENGTH.fullmatch(text or "")
    factor = MM_OF.get(match[2].lower()) if match else None
    return float(match[1]) * factor if match and factor and float(match[1]) > 0.0 else None


def _plain(text: str | None) -> float:
    match = _LENGTH.fullmatch(text or "")
    return float(match[1]) if match and match[2].lower() in {"", "px"} else 0.0


# ---- what is drawn


@dataclass(frozen=True)
class _State:
    """What an element takes over from those that it is in: names, outermost first, transform, whether it is seen."""

    names: tuple[str, ...]
    matrix: Any
    seen: bool


def _matrix(text: str) -> Any:
    from svgelements import Matrix

    return Matrix(text)


class _Reader:
    """Walks through elements; counts what it leaves aside."""

    def __init__(self, root: ElementTree.Element, layers: frozenset[str], page: _Page) -> None:
        self.by_id = _by_id(root)
        self.layers = layers
        self.page = page
        self.aside: Counter[str] = Counter()
        self.names: dict[str, str] = {}

    def inside(self, element: ElementTree.Element, state: _State, depth: int) -> Iterator[Drawn]:
        """Give what the children of an element draw."""
        for child in element:
            yield from self._one(child, state, depth + 1)

    def _one(self, element: ElementTree.Element, state: _State, depth: int) -> Iterator[Drawn]:
        tag = _tag(element).casefold()
        if not tag or tag in UNSEEN:
            return
        style = _style(element)
        if style.get("display") == "none":
            self.aside[HIDDEN] += 1
            return
        state = _within(element, style, state)
        if tag in GROUPS:
            yield from self.inside(element, state, depth)
        elif tag == "use":
            yield from self._use(element, state, depth)
        elif tag not in SHAPES:
            self.aside[tag.upper()] += 1
        elif not state.seen:
            self.aside[HIDDEN] += 1
        else:
            yield from self._shape(element, tag, state)

    def _shape(self, element: ElementTree.Element, tag: str, state: _State) -> Iterator[Drawn]:
        for name in state.names:
            self.names.setdefault(name.casefold(), name)
        if not self.layers or any(name.casefold() in self.layers for name in state.names):
            layer = state.names[-1] if state.names else ""
            for one in SHAPES[tag](element, state.matrix, self.page):
                yield replace(one, layer=layer)

    def _use(self, element: ElementTree.Element, state: _State, depth: int) -> Iterator[Drawn]:
        target = self.by_id.get(_target(element))
        if target is None:
            self.aside[OUTSIDE] += 1
            return
        moved = _matrix(f"translate({_number(element, 'x')},{_number(element, 'y')})")
        state = replace(state, matrix=moved * state.matrix)
        if _tag(target).casefold() == "symbol":
            yield from self.inside(target, state, depth + 1)
        else:
            yield from self._one(target, state, depth + 1)

    def check_layers(self, wanted: Iterable[str]) -> None:
        """Refuse names that nothing shown bears."""
        for name in wanted:
            if name.casefold() not in self.names:
                listed = ", ".join(f'"{layer}"' for layer in sorted(self.names.values())) or "none"
                raise InputError(f'Layer "{name}" holds no lines or curves that are shown. Layers that do: {listed}.')


def _style(element: ElementTree.Element) -> Mapping[str, str]:
    """What an element says about being shown, in attributes and in its style."""
    pairs = (pair.partition(":") for pair in element.get("style", "").split(";"))
    found = {name: element.get(name, "") for name in ("display", "visibility")}
    return found | {name.strip(): value.strip() for name, _, value in pairs if value}


def _within(element: ElementTree.Element, style: Mapping[str, str], state: _State) -> _State:
    name = (element.get(LABEL) or "").strip()
    if not name:
        known = element.get("id", "").strip()
        name = "" if _MADE_UP.fullmatch(known) else known
    visibility = style.get("visibility", "")
    seen = state.seen if visibility not in {"hidden", "collapse", "visible"} else visibility == "visible"
    matrix = _matrix(element.get("transform", "")) * state.matrix
    return _State((*state.names, name) if name else state.names, matrix, seen)


def _number(element: ElementTree.Element, key: str) -> float:
    """A coordinate or length in user units; 0 where there is none."""
    text = element.get(key)
    if text is None or text.strip() == "auto":
        return 0.0
    match = _LENGTH.fullmatch(text)
    unit = match[2].lower() if match else ""
    if match is None or unit not in {"", "px", *MM_OF}:
        what = f'The length {key} = "{text[:20]}" of a {_tag(element)}'
        raise InputError(f"{what} is not read; save it as plain numbers.")
    return float(match[1]) * (MM_OF[unit] * PER_INCH / 25.4 if unit in MM_OF else 1.0)


def _path(element: ElementTree.Element, matrix: Any, page: _Page) -> Iterator[Drawn]:
    from svgelements import Path as SvgPath

    yield from _segments(SvgPath(element.get("d", "")), matrix, page)


def _segments(path: Any, matrix: Any, page: _Page) -> Iterator[Drawn]:
    from svgelements import Arc, CubicBezier, Move, QuadraticBezier

    for piece in abs(path * matrix):
        if isinstance(piece, Move) or piece.start is None or piece.end is None:
            continue
        start, end = page.at(piece.start), page.at(piece.end)
        if isinstance(piece, CubicBezier):
            yield Bend((start, page.at(piece.control1), page.at(piece.control2), end))
        elif isinstance(piece, QuadraticBezier):
            yield quadratic(start, page.at(piece.control), end)
        elif isinstance(piece, Arc):
            yield from _arc(piece, start, end, page)
        else:
            yield Stroke(start, end)


def _arc(piece: Any, start: Point, end: Point, page: _Page) -> Iterator[Drawn]:
    if math.isclose(piece.rx, piece.ry, rel_tol=1e-9):
        arcs = arc_through(start, page.at(piece.center), -float(piece.sweep))  # y is turned round
        arcs[-1] = replace(arcs[-1], end=end)
        yield from arcs
        return
    for cubic in piece.as_cubic_curves(max(2, math.ceil(abs(piece.sweep) / math.tau * 16))):
        places = (cubic.start, cubic.control1, cubic.control2, cubic.end)
        a, b, c, d = (page.at(place) for place in places)
        yield Bend((a, b, c, d))


def _circle(element: ElementTree.Element, matrix: Any, page: _Page) -> Iterator[Drawn]:
    from svgelements import Circle, Point
    from svgelements import Path as SvgPath

    r = _number(element, "r")
    if r <= 0.0:
        return
    center = Point(_number(element, "cx"), _number(element, "cy"))
    a, b, c, d = matrix.a, matrix.b, matrix.c, matrix.d
    scale = math.hypot(a, b)
    if math.hypot(a - d, b + c) <= 1e-12 * scale or math.hypot(a + d, b - c) <= 1e-12 * scale:  # turned, mirrored
        yield Ring(page.at(matrix.point_in_matrix_space(center)), r * scale)
    else:
        yield from _segments(SvgPath(Circle(center.x, center.y, r)), matrix, page)


def _ellipse(element: ElementTree.Element, matrix: Any, page: _Page) -> Iterator[Drawn]:
    from svgelements import Ellipse
    from svgelements import Path as SvgPath

    sizes = [_number(element, key) for key in ("cx", "cy", "rx", "ry")]
    if min(sizes[2:]) > 0.0:
        yield from _segments(SvgPath(Ellipse(*sizes)), matrix, page)


def _rect(element: ElementTree.Element, matrix: Any, page: _Page) -> Iterator[Drawn]:
    from svgelements import Path as SvgPath
    from svgelements import Rect

    x, y, width, height = (_number(element, key) for key in ("x", "y", "width", "height"))
    if min(width, height) <= 0.0:
        return
    given = [_number(element, key) if element.get(key, "auto") != "auto" else None for key in ("rx", "ry")]
    rx, ry = (next((r for r in (one, other) if r is not None), 0.0) for one, other in (given, given[::-1]))
    yield from _segments(SvgPath(Rect(x, y, width, height, min(rx, width / 2), min(ry, height / 2))), matrix, page)


def _line(element: ElementTree.Element, matrix: Any, page: _Page) -> Iterator[Drawn]:
    places = [(_number(element, f"x{k}"), _number(element, f"y{k}")) for k in (1, 2)]
    yield from _chain(places, matrix, page)


def _poly(element: ElementTree.Element, matrix: Any, page: _Page) -> Iterator[Drawn]:
    numbers = [float(text) for text in _NUMBER.findall(element.get("points", ""))]
    places = list(zip(numbers[::2], numbers[1::2], strict=False))
    if _tag(element).casefold() == "polygon":
        places += places[:1]
    yield from _chain(places, matrix, page)


def _chain(places: list[Point], matrix: Any, page: _Page) -> Iterator[Drawn]:
    from svgelements import Point

    found = [page.at(matrix.point_in_matrix_space(Point(x, y))) for x, y in places]
    for start, end in pairwise(found):
        yield Stroke(start, end)


SHAPES: dict[str, Callable[[ElementTree.Element, Any, _Page], Iterator[Drawn]]] = {
    "path": _path,
    "line": _line,
    "polyline": _poly,
    "polygon": _poly,
    "rect": _rect,
    "circle": _circle,
    "ellipse": _ellipse,
}
