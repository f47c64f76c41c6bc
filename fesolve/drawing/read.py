"""From a drawing's file to its shape in mm, with what was made of it in words."""

from __future__ import annotations

import hashlib
import math
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from ..errors import InputError
from .biarcs import as_arcs
from .dxf import read_dxf
from .loops import Joined, join
from .shape import Shape, shape_of
from .strokes import Bend, Drawing, Ring, Stroke, scaled
from .svg import read_svg

Reader = Callable[[Path, Iterable[str]], Drawing]
READERS: dict[str, Reader] = {".dxf": read_dxf, ".svg": read_svg}
LARGEST = 20_000_000  # bytes
GAP = 0.01
"""mm: ends nearer than this meet unless another gap is stated (own choice; the rounding of drawings' numbers)."""
WITHIN = 0.05
"""mm: how near arcs follow a curve unless stated otherwise (own choice; finer than a saw cuts)."""
SMALLEST, GREATEST = 5.0, 30_000.0  # mm: the longer side of what is a part of wood (own choice)
UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
TEXTS = {"TEXT", "MTEXT", "ATTDEF", "ATTRIB"}
DIMENSIONS = {"DIMENSION", "LEADER", "MULTILEADER", "ARC_DIMENSION", "TOLERANCE"}


@dataclass(frozen=True)
class Wanted:
    """How a drawing is to be read: a unit that is stated, the gap to close, nearness of arcs (mm), and layers."""

    unit: str | None = None
    gap: float = GAP
    within: float = WITHIN
    layers: tuple[str, ...] = ()


@dataclass(frozen=True)
class Outlined:
    """A drawing read: its shape in mm, sentences on how that came about, and the SHA-256 of the file."""

    shape: Shape
    notes: tuple[str, ...]
    sha256: str


def read_outline(path: Path, wanted: Wanted) -> Outlined:
    """Read an outline from a DXF or SVG file.

    Parameters
    ----------
    path : Path
        Its ending says which of the two.
    wanted : Wanted
        What the part file states.

    Raises
    ------
    InputError
        For everything in the drawing that is no outline of one flat part, with the place.
    """
    ending = path.suffix.lower()
    if ending not in READERS:
        known = " and ".join(name[1:].upper() for name in READERS)
        raise InputError(f'"{path.name}" is no drawing of a kind that is read here: {known}. Save it as one of them.')
    digest = hashlib.sha256(_content(path)).hexdigest()
    return _read(path, digest, wanted)


def _content(path: Path) -> bytes:
    try:
        if path.is_file() and path.stat().st_size > LARGEST:
            size = path.stat().st_size / 1e6
            raise InputError(
                f'"{path.name}" has {size:.0f} MB; a drawing of one part has at most {LARGEST / 1e6:g} MB.'
            )
        return path.read_bytes()
    except FileNotFoundError:
        raise InputError(f'There is no drawing "{path}"; its path counts from the folder of the part file.') from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise InputError(f'The drawing "{path}" cannot be read: {reason}.') from None


@lru_cache(maxsize=32)
def _read(path: Path, digest: str, wanted: Wanted) -> Outlined:
    """Read once for each content, as a sweep asks for the same drawing a thousand times."""
    drawing = READERS[path.suffix.lower()](path, wanted.layers)
    if not drawing.things:
        raise InputError(f"The drawing has no lines or curves that are shown.{_instead(drawing)}")
    factor, by_unit = _factor(drawing, wanted)
    _check_size(drawing, factor, wanted.unit)
    strokes, rings, off = _as_strokes(drawing, factor, wanted.within)
    joined = join(strokes, rings, wanted.gap)
    shape = shape_of(joined.loops, joined.rings)
    return Outlined(shape, (by_unit, *_notes(drawing, joined, off)), digest)


def _instead(drawing: Drawing) -> str:
    listed = ", ".join(f"{count} {kind}" for kind, count in sorted(drawing.aside.items()))
    return f" What it has: {listed}; take blocks and regions apart (explode) into lines and arcs." if listed else ""


def _factor(drawing: Drawing, wanted: Wanted) -> tuple[float, str]:
    """Give mm a unit of the drawing, and a sentence."""
    if wanted.unit is None:
        if drawing.unit is None:
            raise InputError(
                f"The drawing does not say what its numbers are in ({drawing.unit_name}). State it beside file, as in "
                'unit = "mm" (mm, cm, m, in or ft).'
            )
        return drawing.unit, f"read in {drawing.unit_name}, as it says"
    factor = UNITS[wanted.unit]
    if drawing.unit is not None and not math.isclose(factor, drawing.unit, rel_tol=1e-6):
        return factor, f"read in {wanted.unit} as stated, though it says {drawing.unit_name} itself"
    return factor, f"read in {wanted.unit}, as stated"


def _check_size(drawing: Drawing, factor: float, stated: str | None) -> None:
    """Refuse what is no number, and a drawing that is much too large or too small, which another unit may cure."""
    xs, ys = zip(*(place for one in drawing.things for place in _places(one)), strict=True)
    if not all(map(math.isfinite, (*xs, *ys))):
        raise InputError("The drawing holds a number that is not finite; open it where it was drawn and save it anew.")
    longest = max(max(xs) - min(xs), max(ys) - min(ys))
    if SMALLEST <= longest * factor <= GREATEST:
        return
    fits = [name for name, other in UNITS.items() if 2 * SMALLEST <= longest * other <= GREATEST / 2]
    how = f'as stated (unit = "{stated}")' if stated else f"in {drawing.unit_name}, as the drawing says"
    offer = " or ".join(f'unit = "{name}" ({longest * UNITS[name]:.4g} mm)' for name in fits)
    cure = f"If its numbers are meant otherwise, state {offer}." if fits else "Check its scale."
    length = f"{longest * factor:.0f}" if longest * factor >= 1e3 else f"{longest * factor:.4g}"
    raise InputError(f"What is drawn is {length} mm long when read {how}; no wooden part is. {cure}")


def _places(one: Stroke | Ring | Bend) -> list[tuple[float, float]]:
    if isinstance(one, Ring):
        (x, y), r = one.center, one.radius
        return [(x - r, y - r), (x + r, y + r)]
    return [*one.points] if isinstance(one, Bend) else [one.start, one.end]


def _as_strokes(drawing: Drawing, factor: float, within: float) -> tuple[list[Stroke], list[Ring], float | None]:
    """All in mm, curves as arcs; with the greatest distance of arcs from their curve, None without curves."""
    strokes: list[Stroke] = []
    rings: list[Ring] = []
    off: float | None = None
    for one in scaled(drawing, factor):
        if isinstance(one, Ring):
            rings.append(one)
        elif isinstance(one, Bend):
            arcs, here = as_arcs(one, within)
            strokes += arcs
            off = max(off or 0.0, here)
        else:
            strokes.append(one)
    return strokes, rings, off


def _notes(drawing: Drawing, joined: Joined, off: float | None) -> list[str]:
    """Say what was changed and what was left aside, each a clause."""
    found = []
    if joined.closed:
        gaps = "1 gap" if joined.closed == 1 else f"{joined.closed} gaps"
        found.append(f"{gaps} of up to {joined.widest:.2g} mm closed")
    if joined.doubled:
        found.append(f"{joined.doubled} of its lines left out that lay on others")
    if off is not None:
        found.append(f"curves followed by arcs to within {max(off, 1e-4):.1g} mm")
    kinds: Counter[str] = Counter()
    for kind, count in drawing.aside.items():
        kinds["text" if kind in TEXTS else "dimension" if kind in DIMENSIONS else kind] += count
    if kinds:
        found.append(
            "left aside " + ", ".join(f"{count} {_plural(kind, count)}" for kind, count in sorted(kinds.items()))
        )
    return found


def _plural(kind: str, count: int) -> str:
    return f"{kind}s" if kind in {"text", "dimension"} and count > 1 else kind
