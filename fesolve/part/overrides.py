"""``--set name="value"``: a part file's named dimensions, or any key by its dotted path, replaced before it is read."""

from __future__ import annotations

import copy
import difflib
import tomllib
from collections.abc import Mapping

from ..errors import InputError
from ..units import shorten
from .document import is_list

TOP_KEYS = ("title", "mesh_accuracy", "accuracy_of", "margin")
WOOD_KEYS = ("species", "board", "thickness", "grain", "basis", "grade", "class", "moisture")
_WORDS: dict[str, object] = {"true": True, "false": False}


def override(document: Mapping[str, object], overrides: Mapping[str, object]) -> dict[str, object]:
    """Return a copy of a document with values replaced.

    Parameters
    ----------
    document : mapping
        The parsed part file.
    overrides : mapping of str to object
        New value by name: a dimension ("depth"), a key of the file itself ("margin"), a key of [wood] that is no
        dimension ("species", "grain"), or a dotted path, lists by the name of an entry or counted from 1
        ("wood.elastic.G", "support.keeper.from", "support.2.from").

    Returns
    -------
    dict
        A deep copy; the document is left as it was.

    Raises
    ------
    InputError
        For a name that is no dimension, and a path that leads nowhere; the message lists the dimensions.

    Examples
    --------
    >>> override({"dimensions": {"depth": "42 mm"}}, {"depth": "60 mm"})
    {'dimensions': {'depth': '60 mm'}}
    """
    result: dict[str, object] = copy.deepcopy(dict(document))
    for name, value in overrides.items():
        _set(result, name.strip(), value)
    return result


def _set(document: dict[str, object], name: str, value: object) -> None:
    dimensions = document.get("dimensions", {})
    known = tuple(dimensions) if isinstance(dimensions, dict) else ()
    if name.startswith("dimensions."):
        name = name.removeprefix("dimensions.")
    if isinstance(dimensions, dict) and name in dimensions:
        dimensions[name] = value
        return
    if name in WOOD_KEYS:
        name = f"wood.{name}"
    if "." not in name and name not in TOP_KEYS:
        near = difflib.get_close_matches(name, known, n=1, cutoff=0.5)
        hint = f' Nearest: "{near[0]}".' if near else ""
        listed = f"Dimensions: {shorten(', '.join(known), 300)}." if known else "The file has no [dimensions]."
        message = (
            f'Cannot set "{shorten(name)}": it is not a dimension of this part.{hint} {listed} '
            "Other keys by their path, such as wood.species or support.1.from."
        )
        raise InputError(message)
    _set_path(document, name, _meant(value) if isinstance(value, str) and "." in name else value)


def _meant(text: str) -> object:
    """What text on the command line stands for: true, false, a list as TOML writes it, else the text itself."""
    if not text.lstrip().startswith("["):
        return _WORDS.get(text, text)
    try:
        read = tomllib.loads(f"value = {text}")
    except (tomllib.TOMLDecodeError, RecursionError):
        return text  # whoever reads the key says what is wanted there
    return read["value"] if len(read) == 1 else text


def _set_path(document: dict[str, object], name: str, value: object) -> None:
    """Walk a dotted path, lists by name or counted from 1, making tables that are not there; set what it ends in."""
    place: object = document
    *way, last = name.split(".")
    for step in way:
        place = _step(place, step, name)
    if isinstance(place, dict) and last:
        place[last] = value
    elif isinstance(place, list):
        place[_index(place, last, name)] = value
    else:
        raise _nowhere(name, last)


def _step(place: object, step: str, name: str) -> object:
    if isinstance(place, list):
        return place[_index(place, step, name)]
    if isinstance(place, dict) and step:
        return place.setdefault(step, {})
    raise _nowhere(name, step)


def _index(place: list[object], step: str, name: str) -> int:
    """Turn the name of an entry, or a count from 1, into an index."""
    named = [number for number, item in enumerate(place) if isinstance(item, dict) and item.get("name") == step]
    if len(named) == 1:
        return named[0]
    if step.isascii() and step.isdigit() and len(step) < 9 and 1 <= int(step) <= len(place):
        return int(step) - 1
    count = f"there {'is' if len(place) == 1 else 'are'} {len(place)}, counted from 1"
    raise InputError(f'Cannot set "{shorten(name)}": "{shorten(step)}" is not one of the list; {count}, or by name.')


def _nowhere(name: str, step: str) -> InputError:
    return InputError(f'Cannot set "{shorten(name)}": the path leads nowhere at "{shorten(step)}".')


def plain(document: Mapping[str, object]) -> dict[str, object]:
    """Copy a document made in Python into the plain dicts and lists that a part file gives.

    Raises
    ------
    InputError
        If tables are nested more than 20 deep, or a key is not text.
    """
    result = _plain(document, 0)
    return result if isinstance(result, dict) else {}


def _plain(value: object, depth: int) -> object:
    if depth > 20:
        raise InputError("Tables or lists are nested more than 20 deep; a part file has no such thing.")
    if isinstance(value, Mapping):
        if not all(isinstance(key, str) for key in value):
            raise InputError("A key of the document is not text.")
        return {key: _plain(item, depth + 1) for key, item in value.items()}
    return [_plain(item, depth + 1) for item in value] if is_list(value) else value
