"""Lists of variants of a part, as people write them: one text each, or a file of them.

A text holds one variant, with a semicolon between changes::

    pin_d=20 mm; hole_d=21 mm

A file holds as many as it likes, each with a name of its own::

    [[variant]]
    name = "shallow"
    set = {notch_depth = "12 mm", wood.grain = "3 deg"}
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from ..errors import InputError
from ..units import shorten
from .document import is_list
from .model import Part
from .overrides import override

AS_IT_STANDS = "as it stands"
MOST = 100
_EXAMPLE = '[[variant]] with name = "shallow" and set = {notch_depth = "12 mm"}'


@dataclass(frozen=True)
class Wanted:
    """One variant: its name, and what is replaced by name as ``--set`` takes it."""

    name: str
    changes: Mapping[str, str]


def read_texts(texts: Sequence[str]) -> list[Wanted]:
    """Variants of texts such as ``"pin_d=20 mm; hole_d=21 mm"``, called by their changes.

    Raises
    ------
    InputError
        For a text that is not name=value.
    """
    return [_wanted(_pairs(text)) for text in texts]


def _wanted(changes: Mapping[str, str]) -> Wanted:
    return Wanted(", ".join(f"{name} {value}" for name, value in changes.items()), changes)


def _pairs(text: str) -> dict[str, str]:
    pairs = {}
    for piece in text.rstrip().removesuffix(";").split(";"):
        name, sign, value = piece.partition("=")
        if not sign or not name.strip() or not value.strip():
            message = f'"{shorten(piece.strip())}" is not name=value; write --set "pin_d=20 mm; hole_d=21 mm".'
            raise InputError(message, key="--set")
        pairs[name.strip()] = value.strip()
    return pairs


def read_file(path: str | Path) -> list[Wanted]:
    """Variants of a TOML file.

    Raises
    ------
    InputError
        For a file that cannot be read, and one that is no list of variants.
    """
    try:
        document = tomllib.loads(Path(path).read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise InputError(f"The file cannot be read: {error.strerror or error}.", file=str(path)) from None
    except ValueError as error:
        raise InputError(f"The file is not TOML: {shorten(error, 200)}.", file=str(path)) from None
    rows = document.get("variant")
    if not is_list(rows) or set(document) != {"variant"}:
        raise InputError(f"The file is no list of variants; write {_EXAMPLE}.", file=str(path))
    return [_row(row, number, str(path)) for number, row in enumerate(rows, start=1)]


def _row(row: object, number: int, file: str) -> Wanted:
    key = f"variant.{number}"
    if not isinstance(row, Mapping) or not isinstance(row.get("set"), Mapping) or set(row) - {"name", "set"}:
        raise InputError(f"A variant has a name and what it sets; write {_EXAMPLE}.", key=key, file=file)
    name = row.get("name", "")
    if not isinstance(name, str):
        raise InputError("A name is a text.", key=f"{key}.name", file=file)
    changes = dict(_flat("", row["set"], f"{key}.set", file))
    if not changes:
        raise InputError("This variant sets nothing; the part as it stands is compared anyway.", key=key, file=file)
    return Wanted(name.strip(), changes) if name.strip() else _wanted(changes)


def _flat(path: str, table: Mapping[str, object], key: str, file: str) -> Iterator[tuple[str, str]]:
    """Names and texts: a dotted key without quotes is a table in TOML."""
    for name, value in table.items():
        full = f"{path}.{name}" if path else name
        if isinstance(value, Mapping):
            yield from _flat(full, value, key, file)
        elif isinstance(value, str | int | float) and not isinstance(value, bool):
            yield full, str(value)
        else:
            raise InputError(f'"{shorten(full)}" is not given a quantity, number or word.', key=key, file=file)


def check_variants(part: Part, wanted: Sequence[Wanted]) -> None:
    """Refuse names that the part does not have, before anything is run; two variants of one name; and too many.

    Raises
    ------
    InputError
    """
    if not wanted:
        raise InputError('There is nothing to compare it with: give --set name="value", --variants, or more parts.')
    if len(wanted) > MOST:
        raise InputError(
            f"These are {len(wanted):,} variants; at most {MOST} stand side by side. `fesolve sweep` takes more."
        )
    seen = {AS_IT_STANDS}
    for one in wanted:
        if one.name in seen:
            raise InputError(f'Two variants are called "{shorten(one.name)}".')
        seen.add(one.name)
        override(part.source, one.changes)
