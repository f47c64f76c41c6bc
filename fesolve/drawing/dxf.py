"""Lines, arcs, circles, polylines and curves of a DXF file, in the plane of the drawing."""

from __future__ import annotations

import logging
import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

from ..errors import InputError
from .strokes import Bend, Drawing, Drawn, Point, Ring, Stroke, arc_through, halved

MOST = 5_000  # things drawn; an outline has some tens
DEEPEST = 8  # blocks within blocks
SPLINE = 1e-5  # of a spline's size: how near its pieces are to it
FLAT = 1e-6  # of a unit: what lies higher or lower than the rest by more is not in one plane
UNITS: dict[int, tuple[str, float]] = {  # $INSUNITS, DXF Reference (Autodesk), HEADER section; from memory
    1: ("inches", 25.4),
    2: ("feet", 304.8),
    4: ("mm", 1.0),
    5: ("cm", 10.0),
    6: ("m", 1000.0),
    9: ("mils", 0.0254),
    10: ("yards", 914.4),
    13: ("microns", 0.001),
    14: ("dm", 100.0),
}
FRAME = 16  # flag of a vertex that only steers a curve
HIDDEN = "on hidden layers"
PAPER = "on paper layouts, of which none is read"
OUTSIDE = "references to other files"


def read_dxf(path: Path, layers: Iterable[str] = ()) -> Drawing:
    """Read what is drawn in model space.

    Parameters
    ----------
    path : Path
        A DXF file, text or binary, any version that ezdxf reads (R12 on).
    layers : iterable of str
        The layers to read, in either case; none: all that are shown.

    Returns
    -------
    Drawing
        Blocks taken apart; texts, dimensions and the like only counted.

    Raises
    ------
    InputError
        For a file that is damaged or no DXF, one without lines, layers that are not in it, and what does not lie
        in a plane parallel to x and y.
    """
    document = _document(path)
    reader = _Reader(document, frozenset(name.casefold() for name in layers))
    try:
        things = tuple(reader.all_of(document.modelspace(), "0", 0))
    except InputError:
        raise
    except Exception as error:  # a value that is not what its kind wants, found only as it is drawn
        raise _damaged(error) from None
    reader.check_layers(layers)
    if not things:
        on_paper = (entity for layout in document.layouts if not layout.is_modelspace for entity in layout)
        reader.aside[PAPER] += sum(entity.dxftype() in READERS for entity in on_paper)
    unit = UNITS.get(document.units)
    name = unit[0] if unit else "no unit" if document.units == 0 else f"unit number {document.units} ($INSUNITS)"
    return Drawing(things, unit[1] if unit else None, name, dict(+reader.aside))


def _document(path: Path) -> Any:
    logging.getLogger("ezdxf").addHandler(logging.NullHandler())  # or its warnings would go to the terminal
    from ezdxf.filemanagement import readfile

    try:
        # not ezdxf.recover: that reads "0625" where "0.625" was damaged, and another part would be judged
        return readfile(path, errors="strict")
    except Exception as error:  # a damaged file brings up anything
        raise _damaged(error) from None


def _damaged(error: Exception) -> InputError:
    said = " ".join(str(error).split())[:120].rstrip(".") or type(error).__name__
    return InputError(f"This cannot be read as DXF ({said}). Open it where it was drawn and save it anew.")


class _Reader:
    """Walks through entities; counts what it leaves aside."""

    def __init__(self, document: Any, layers: frozenset[str]) -> None:
        self.document = document
        self.layers = layers
        self.aside: Counter[str] = Counter()
        self.seen: dict[str, str] = {}  # layers that hold something to read, as spelled
        self.height: float | None = None
        self.count = 0

    def all_of(self, entities: Iterable[Any], around: str, depth: int) -> Iterator[Drawn]:
        """Give what entities draw; ``around`` is the layer of the block that they are in."""
        for entity in entities:
            kind, layer = entity.dxftype(), _layer_of(entity, around)
            if not self._shown(entity, layer):
                self.aside[HIDDEN] += 1
            elif kind == "INSERT":
                yield from self._block(entity, layer, depth)
            elif kind in READERS:
                self.seen.setdefault(layer.casefold(), layer)
                if not self.layers or layer.casefold() in self.layers:
                    yield from self._one(entity, kind, layer)
            else:
                self.aside[kind] += 1

    def _one(self, entity: Any, kind: str, layer: str) -> Iterator[Drawn]:
        self._count()
        for place in _heights(entity, kind):
            self._check_height(place, kind)
        for one in READERS[kind](entity, "" if layer == "0" else layer.strip()):
            self._count()
            yield one

    def _count(self) -> None:
        self.count += 1
        if self.count > MOST:
            raise InputError(
                f"The drawing has more than {MOST} lines and curves; an outline has some tens. Name the layers to "
                'read, as in layers = ["outline"].'
            )

    def _block(self, insert: Any, layer: str, depth: int) -> Iterator[Drawn]:
        block = insert.block()
        if block is None or block.block.is_xref:
            self.aside[OUTSIDE] += 1
            return
        if depth >= DEEPEST:
            raise InputError(f"Blocks stand in one another more than {DEEPEST} deep; take them apart (explode).")
        for one in insert.multi_insert() if insert.mcount > 1 else (insert,):
            self._count()
            yield from self.all_of(one.virtual_entities(), layer, depth + 1)

    def _shown(self, entity: Any, layer: str) -> bool:
        if entity.dxf.get("invisible", 0) or layer.casefold() == "defpoints":
            return False
        if not self.document.layers.has_entry(layer):
            return True
        found = self.document.layers.get(layer)
        return not (found.is_off() or found.is_frozen())

    def _check_height(self, z: float, kind: str) -> None:
        if self.height is None:
            self.height = z
        if abs(z - self.height) > FLAT:
            raise InputError(
                f"The drawing is not flat: one {kind} reaches z = {z:.6g}, other things lie at z = {self.height:.6g}. "
                "Lay the outline flat, all at one height, and save it anew."
            )

    def check_layers(self, wanted: Iterable[str]) -> None:
        """Refuse layers that hold nothing to read."""
        for name in wanted:
            if name.casefold() not in self.seen:
                listed = ", ".join(f'"{layer}"' for layer in sorted(self.seen.values())) or "none"
                raise InputError(f'Layer "{name}" holds no lines or curves that are shown. Layers that do: {listed}.')


def _layer_of(entity: Any, around: str) -> str:
    """Layer of an entity; in a block what is on layer 0 goes with the block."""
    layer = str(entity.dxf.get("layer", "0"))
    return around if layer == "0" else layer


def _upright(entity: Any, kind: str) -> float:
    """1 for an entity drawn in the plane, -1 for one seen from behind; refused else."""
    x, y, z = entity.dxf.get("extrusion", (0.0, 0.0, 1.0))
    if math.hypot(x, y) > 1e-9 * abs(z) or z == 0.0:
        raise InputError(
            f"The drawing is not flat: one {kind} lies in a plane that is not that of x and y. Lay it flat and save it "
            "anew."
        )
    return math.copysign(1.0, z)


def _heights(entity: Any, kind: str) -> list[float]:
    """Give z of the points of an entity."""
    if kind == "LINE":
        return [float(entity.dxf.start.z), float(entity.dxf.end.z)]
    if kind in {"ARC", "CIRCLE"}:
        return [float(_upright(entity, kind) * entity.dxf.center.z)]
    if kind == "LWPOLYLINE":
        return [float(_upright(entity, kind) * entity.dxf.elevation)]
    if kind == "POLYLINE":
        side = 1.0 if entity.is_3d_polyline else _upright(entity, kind)
        return [float(side * vertex.dxf.location.z) for vertex in entity.vertices]
    if kind == "SPLINE":
        return [float(point[2]) for point in entity.construction_tool().control_points]
    from ezdxf.path import make_path

    return [float(point.z) for point in make_path(entity).control_vertices()]


def _at(vector: Any) -> Point:
    return float(vector.x), float(vector.y)


def _line(entity: Any, layer: str) -> Iterator[Drawn]:
    yield Stroke(_at(entity.dxf.start), _at(entity.dxf.end), 0.0, layer)


def _arc(entity: Any, layer: str) -> Iterator[Drawn]:
    side = _upright(entity, "ARC")
    swept = (entity.dxf.end_angle - entity.dxf.start_angle) % 360.0 or 360.0
    yield from arc_through(
        _at(entity.start_point), _at(entity.ocs().to_wcs(entity.dxf.center)), side * math.radians(swept), layer
    )


def _circle(entity: Any, layer: str) -> Iterator[Drawn]:
    yield Ring(_at(entity.ocs().to_wcs(entity.dxf.center)), abs(float(entity.dxf.radius)), layer)


def _polyline(entity: Any, layer: str) -> Iterator[Drawn]:
    flat = entity.dxftype() == "LWPOLYLINE" or entity.is_2d_polyline
    if not (flat or entity.is_3d_polyline):
        raise InputError("A mesh of three-dimensional faces is no outline; draw it with lines and arcs.")
    side = _upright(entity, "POLYLINE") if flat else 1.0
    if entity.dxftype() == "LWPOLYLINE":
        rows = [tuple(map(float, row)) for row in entity.get_points("xyb")]
    else:
        kept = [vertex.dxf for vertex in entity.vertices if not vertex.dxf.flags & FRAME]
        rows = [(*_at(vertex.location), float(vertex.get("bulge", 0.0))) for vertex in kept]
    closed = entity.closed if entity.dxftype() == "LWPOLYLINE" else entity.is_closed
    ends = rows[1:] + rows[:1] if closed else rows[1:]
    for (x, y, bulge), (to_x, to_y, _) in zip(rows, ends, strict=False):
        yield from halved(Stroke((side * x, y), (side * to_x, to_y), side * bulge, layer))


def _ellipse(entity: Any, layer: str) -> Iterator[Drawn]:
    """Cubic Bezier pieces, so many that they are on the ellipse to 1e-5 of its size."""
    from ezdxf.path import make_path

    path: Any = make_path(entity, segments=8)
    here = path.start
    for piece in path.commands():
        yield Bend((_at(here), _at(piece.ctrl1), _at(piece.ctrl2), _at(piece.end)), layer)
        here = piece.end


def _spline(entity: Any, layer: str) -> Iterator[Drawn]:
    """Cubic Bezier pieces between the knots: exact for a cubic spline without weights, else halved until near."""
    tool: Any = entity.construction_tool()
    knots = [float(knot) for knot in tool.knots()]
    inside = sorted(set(knots[tool.degree : len(knots) - tool.degree]))
    frame = list(tool.control_points)
    size = max(max(point[k] for point in frame) - min(point[k] for point in frame) for k in (0, 1))
    for first, last in pairwise(inside):
        yield from _between(tool, first, last, SPLINE * size, layer, DEEPEST)


def _between(tool: Any, first: float, last: float, near: float, layer: str, left: int) -> Iterator[Drawn]:
    """The piece that has the places and the speeds of a spline at both ends of a range of its parameter."""
    span = last - first
    inner = 1e-9 * span  # at a kink the speeds on this side count
    start, end = tool.point(first), tool.point(last)
    speeds = [row[1] for row in tool.derivatives([first + inner, last - inner], 1)]
    a, b, c, d = start, start + speeds[0] * (span / 3), end - speeds[1] * (span / 3), end
    off = 0.0
    for t in (0.25, 0.5, 0.75):
        here = a * (1 - t) ** 3 + b * (3 * (1 - t) ** 2 * t) + c * (3 * (1 - t) * t**2) + d * t**3
        off = max(off, here.distance(tool.point(first + t * span)))
    if off > near and left:
        yield from _between(tool, first, first + span / 2, near, layer, left - 1)
        yield from _between(tool, first + span / 2, last, near, layer, left - 1)
        return
    yield Bend((_at(a), _at(b), _at(c), _at(d)), layer)


READERS: dict[str, Callable[[Any, str], Iterator[Drawn]]] = {
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _circle,
    "LWPOLYLINE": _polyline,
    "POLYLINE": _polyline,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
}
