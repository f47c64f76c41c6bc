"""One variant of a part checked: a row of figures, or the message why there are none."""

from __future__ import annotations

import hashlib
import json
import re
import time
from collections.abc import Mapping
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from ..analysis import Result, check
from ..errors import FesolveError, InputError, SolveError
from ..extensions import plugged_in
from ..judge.outcome import Row, outcome_of
from ..part.model import Part
from ..part.overrides import override
from ..units import NUMBER, match_unit, measure

_HDF = re.compile(r">\s*([^<>:]+):/")  # "mesh.h5:/data0", as XDMF names an array of an HDF5 file
_QUANTITY = re.compile(rf"\s*([+-]?{NUMBER})\s*(\S*)\s*")


def evaluate(part: Part, changes: Mapping[str, str], like: Result | None = None) -> tuple[Row, Result | None]:
    """Check a part with some of its values replaced, without varying what is not known exactly.

    Parameters
    ----------
    part : Part
    changes : mapping of str to str
        By name, as ``--set`` takes them; none for the part as it stands.
    like : Result, optional
        Of a variant whose mesh may serve again (`fesolve.check`).

    Returns
    -------
    Row
        With a message instead of figures where the variant cannot be drawn or solved; nothing is raised then.
    Result or None
        All that the check made, if it was made.
    """
    start, result, message, again = time.perf_counter(), None, "", False
    try:
        result = check(part.with_(changes) if changes else part, sure=False, like=like)
    except FesolveError as error:
        message = str(InputError(error.message, key=error.key))
        again = not isinstance(error, InputError | SolveError) or _lacks_a_file(part, changes)
    except Exception as error:  # one variant, out of memory perhaps, does not end those that are still to come
        message = f"This should not have happened ({type(error).__name__}: {error})."
        again = True
    outcome = None if result is None else outcome_of(result.verdict)
    return Row(dict(changes), outcome, message, time.perf_counter() - start, again), result


def key(part: Part, changes: Mapping[str, str]) -> str:
    """Name of a variant by its content: equal for equal parts, however they came about, and the same versions.

    Parameters
    ----------
    part : Part
    changes : mapping of str to str
        As for `evaluate`. "25 mm" and "2.5 cm" are equal, and so are a change and a file that has it already.

    Returns
    -------
    str
        64 hexadecimal digits.
    """
    source = override(part.source, changes)
    return _digest([our_version(), plugged_in(), _contents(source, part.file), _plain(source)])


def content_key(part: Part) -> str:
    """Name of a part by its content: its source and the files that this names; where it lies does not count."""
    return _digest([_contents(part.source, part.file), _plain(part.source)])


def _digest(content: object) -> str:
    text = json.dumps(content, sort_keys=True, ensure_ascii=False, default=str)
    return hashlib.sha256(text.encode()).hexdigest()


def our_version() -> str:
    """The version installed; empty where it is not installed."""
    try:
        return version("fesolve")
    except PackageNotFoundError:
        return ""


def _plain(value: object) -> object:
    """The same with each plain quantity spelled one way."""
    if isinstance(value, Mapping):
        return {str(name): _plain(item) for name, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, str) and (found := _QUANTITY.fullmatch(value)):
        unit = match_unit(found[2])
        if unit is None or unit[1] != len(found[2]):
            return f"{float(found[1]):.12g} {found[2]}"
        one = measure(float(found[1]), unit[0])
        return f"{one.value:.12g} {one.dims}"
    return value


def _contents(source: Mapping[str, object], file: str | None) -> list[str]:
    """What is in the files that a part is drawn or meshed from; the name of one that is not there."""
    found = []
    for name, path in _files(source, file):
        try:
            found.append(hashlib.sha256(path.read_bytes()).hexdigest())
        except OSError:
            found.append(name)
    return found


def _lacks_a_file(part: Part, changes: Mapping[str, str]) -> bool:
    """Whether a variant names a file that is not there now: it may be another time."""
    try:
        source = override(part.source, changes)
    except FesolveError:
        return False
    return not all(path.is_file() for _, path in _files(source, part.file))


def _files(source: Mapping[str, object], file: str | None) -> list[tuple[str, Path]]:
    """The files that a part is drawn or meshed from, as it names them and where they lie."""
    named = []
    for table in ("mesh", "outline"):
        section = source.get(table)
        name = section.get("file") if isinstance(section, Mapping) else None
        if isinstance(name, str):
            path = Path(file or "").parent / name
            named += [(name, path), *((one, path.parent / one) for one in _arrays(path))]
    return named


def _arrays(path: Path) -> list[str]:
    """The HDF5 files that hold the numbers of an XDMF mesh, by their names; none for another mesh or a drawing."""
    if path.suffix.lower() not in (".xdmf", ".xmf"):
        return []
    try:
        text = path.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return []
    return sorted({one.strip() for one in _HDF.findall(text)})
