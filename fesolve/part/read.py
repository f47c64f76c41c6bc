"""From a part file to a Part: read, override, check every key, evaluate, and refuse what cannot be meant."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Mapping
from os import PathLike, fspath
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal, cast

from pydantic import ValidationError

from ..errors import InputError
from ..units import KINDS, Dims, Quantity, match_unit, name_dims, shorten
from .actions import read_cases, read_gravity, read_if_it_breaks, read_loads, read_supports
from .cracks import read_cracks
from .cuts import read_cuts
from .document import Section
from .drawn import read_form
from .expressions import Names, check_name
from .judging import read_judging
from .mesh_choice import check_shapeless, read_mesh
from .model import Part, Shape, WoodChoice
from .overrides import override, plain
from .partial_factors import with_partial_factors
from .piece import check_cracks
from .places import find_places
from .regions import read_regions
from .shape import read_member, read_notches
from .strikes import read_strikes
from .wood_choice import read_wood

KEYS = (
    *("title", "mesh_accuracy", "accuracy_of", "margin", "dimensions", "wood", "outline", "hole", "notch", "region"),
    *("support", "load", "strike", "gravity", "case", "cut", "member", "if_it_breaks", "mesh", "judging", "crack"),
)
ACCURACY_OF = {"mean": "the means that the verdict rests on", "peak": "the greatest stress"}
LARGEST = 1_000_000  # bytes; a part file is a page or two
_NO_OVERRIDES: Mapping[str, object] = MappingProxyType({})
_BASE_UNITS: dict[Dims, str] = {
    KINDS[word].dims: unit
    for word, unit in (("length", "mm"), ("force", "N"), ("stress", "MPa"), ("angle", "deg"), ("moment", "N*mm"))
} | {KINDS["area"].dims: "mm^2", KINDS["energy per area"].dims: "N/mm", KINDS["number"].dims: ""}
_PLAIN_QUANTITY = re.compile(r"\s*[+-]?[0-9.]+(?:[eE][+-]?[0-9]+)?\s*(\S*)\s*")


def read_part(path: str | PathLike[str], overrides: Mapping[str, object] = _NO_OVERRIDES) -> Part:
    """Read a part file.

    Parameters
    ----------
    path : str or path
        A TOML file; docs/ describes its keys.
    overrides : mapping of str to object
        New values by name of a dimension ("depth") or by dotted key ("wood.species").

    Returns
    -------
    Part
        Every expression evaluated: mm, N, MPa, deg, tonne.

    Raises
    ------
    InputError
        For a file that cannot be read and for everything in it that cannot be meant; the message names file and
        key path, counted from 1 in lists.

    Examples
    --------
    >>> read_part("meshes/log_stop.toml").edge_names  # doctest: +SKIP
    ('A-B', 'B-C', 'C-D', 'D-A')
    """
    name = fspath(path)
    content = _content(name)
    try:
        document = tomllib.loads(content.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        message = f"The file is not UTF-8 text (line {line}); save it as UTF-8."
        raise InputError(message, file=name) from None
    except RecursionError:
        raise InputError("The file is not a part file: its lists are nested too deep.", file=name) from None
    except ValueError as error:  # TOMLDecodeError, and the whole numbers that Python refuses for their length
        raise InputError(f"The file is not TOML: {shorten(error, 200)}.", file=name) from None
    return part_from(document, file=name, sha256=hashlib.sha256(content).hexdigest(), overrides=overrides)


def _content(name: str) -> bytes:
    """Read a file's bytes, or say why that could not be done."""
    try:
        path = Path(name)
        if path.is_dir():
            raise InputError("This is a folder; give the part file in it.", file=name)
        if path.is_file() and path.stat().st_size > LARGEST:
            size = path.stat().st_size / 1e6
            raise InputError(f"The file has {size:.1f} MB; a part file has at most {LARGEST / 1e6:g} MB.", file=name)
        with path.open("rb") as stream:
            content = stream.read(LARGEST + 1)
    except FileNotFoundError:
        message = "There is no such file; `fesolve new` writes a starter to begin from."
        raise InputError(message, file=name) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise InputError(f"The file cannot be read: {reason}.", file=name) from None
    if len(content) > LARGEST:
        raise InputError(f"The file is too large; a part file has at most {LARGEST / 1e6:g} MB.", file=name)
    return content


def part_from(
    document: Mapping[str, object],
    *,
    file: str | None = None,
    sha256: str = "",
    overrides: Mapping[str, object] = _NO_OVERRIDES,
    shape: Shape | None = None,
) -> Part:
    """Make a Part from a parsed document.

    Parameters
    ----------
    document : mapping
        As `tomllib.loads` gives it.
    file, sha256 : str, optional
        Where it came from.
    overrides : mapping of str to object
        As for `read_part`.
    shape : Shape, optional
        What was found in a mesh, where the shape is that of one; it takes the place of [outline] and [[hole]].

    Returns
    -------
    Part
        Every expression evaluated: mm, N, MPa, deg, tonne. With [mesh] file and without `shape`: its wood and its
        mesh alone, since all else names places on that.

    Raises
    ------
    InputError
        As `read_part`.
    """
    try:
        return _part(override(plain(document), overrides), file, sha256, shape)
    except InputError as error:
        error.file = error.file or file
        raise
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(str(step) for step in first["loc"])
        raise InputError("This value cannot be meant.", key=key, file=file) from None


def _part(source: dict[str, object], file: str | None, sha256: str, shape: Shape | None) -> Part:
    """Read what does not depend on the shape, and the rest where the shape is known."""
    dimensions, names = _dimensions(Section(source, "", "the part file"))
    document = Section(source, "", "the part file", names).allow(KEYS)
    wood_section = document.section("wood", "[wood]")
    if wood_section is None:
        raise document.missing("wood", "write [wood] with species, board, thickness, grain and basis.")
    wood = read_wood(wood_section)
    accuracy, accuracy_of, margin = _settings(document)
    known: dict[str, Any] = {
        "title": document.text("title") or (Path(file).stem if file else "Part"),
        "file": file,
        "sha256": sha256,
        "mesh_accuracy": accuracy,
        "accuracy_of": accuracy_of,
        "margin": margin,
        "dimensions": dimensions,
        "wood": wood,
        "mesh": read_mesh(document, file),
        "shape": shape,
        "judging": read_judging(document, wood.basis),
        "if_it_breaks": read_if_it_breaks(document),
        "source": source,
    }
    if known["mesh"].file is not None or shape is not None:
        check_shapeless(document)
        if shape is None:
            return Part(corners=(), cases=(), **known)
    return Part(**known, **_on_shape(document, wood_section, wood, shape, file))


def _on_shape(
    document: Section, wood_section: Section, wood: WoodChoice, shape: Shape | None, file: str | None
) -> dict[str, Any]:
    """Read the shape, and table by table what sits on it, in the order in which they need each other."""
    if shape is None:
        corners, holes, openings, chains, used = read_form(document, file)
    else:
        corners, holes, openings, chains, used = shape.corners, shape.holes, shape.openings, shape.chains, None
    notches = read_notches(document, find_places(corners, holes), corners)
    places = find_places(corners, holes, notches, openings, chains)
    regions = read_regions(document, wood_section, wood, shape)
    supports, loads = read_supports(document, places, holes), read_loads(document, places, holes)
    gravity = read_gravity(document, wood)
    strikes = read_strikes(document, places, corners, notches, [load.name for load in loads], openings)
    cases = with_partial_factors(read_cases(document, loads, strikes, gravity, wood), loads, strikes, wood)
    check_cracks(wood.seen, min([wood.thickness, *(r.thickness for r in regions if r.thickness)]), "wood.seen")
    return {
        "corners": corners,
        "holes": holes,
        "openings": openings,
        "notches": notches,
        "drawing": used,
        "chains": chains,
        "regions": regions,
        "cracks": read_cracks(document),
        "supports": supports,
        "loads": loads,
        "strikes": strikes,
        "gravity": gravity,
        "cases": cases,
        "has_cases": bool(document.table.get("case")) or len(strikes) > 1,
        "cuts": read_cuts(document, cases),
        "member_line": read_member(document),
    }


def _settings(document: Section) -> tuple[float, Literal["mean", "peak"], float]:
    """Read the file's own keys: accuracy wanted, of what, and the margin."""
    accuracy = document.quantity("mesh_accuracy", "percent")
    if accuracy is not None and not 0.0 < accuracy < 1.0:
        message = f'{document.shown("mesh_accuracy")} is not between 0 and 100 %, as in mesh_accuracy = "1 %".'
        if "%" not in document.shown("mesh_accuracy"):
            message += f" Without its % sign it means {100.0 * accuracy:g} %."
        raise document.error("mesh_accuracy", message)
    accuracy_of = document.choice("accuracy_of", ACCURACY_OF) or "mean"
    margin = document.quantity("margin", "number")
    if margin is not None and margin < 1.0:
        message = f"{document.shown('margin')} is below 1; margin is the load factor from which it is said to hold."
        raise document.error("margin", message)
    return (
        0.01 if accuracy is None else accuracy,
        cast('Literal["mean", "peak"]', accuracy_of),
        1.5 if margin is None else margin,
    )


def _dimensions(document: Section) -> tuple[dict[str, str], Mapping[str, Quantity]]:
    """Evaluate [dimensions]: as text for people, and as quantities for expressions."""
    section = document.section("dimensions", "[dimensions]")
    if section is None:
        return {}, {}
    expressions: dict[str, str] = {}
    for name, value in section.table.items():
        check_name(name)
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            message = f'A dimension is a quantity or an expression, as in {shorten(name)} = "140 mm".'
            raise section.error(name, message)
        expressions[name] = value if isinstance(value, str) else _spell(value)
    values = Names(expressions)
    return {name: _shown(expressions[name], values[name]) for name in expressions}, values


def _spell(value: float) -> str:
    """Write a bare number of the file as an expression."""
    try:
        return format(float(value), ".17g")
    except OverflowError:
        return "1e999"


def _shown(expression: str, value: Quantity) -> str:
    """Show a dimension: as written where it is a plain quantity, else evaluated, in mm, N, MPa or deg."""
    match = _PLAIN_QUANTITY.fullmatch(expression)
    if match and (not match[1] or match_unit(match[1])):
        return " ".join(expression.split())
    unit = _BASE_UNITS.get(value.dims, f"({name_dims(value.dims)})")
    return f"{value.value:.10g} {unit}".strip()
