"""What a worker does: check variants of one part, keeping the mesh of the one that leads those drawn the same way.

The lead is always the same variant, whoever checks the others and in whichever order: so figures do not depend on how
many workers there are.
"""

from __future__ import annotations

from collections.abc import Mapping

from ..analysis import Result
from ..errors import InputError
from ..judge.outcome import Row
from ..part.model import Part
from ..part.read import part_from
from .evaluate import evaluate

Sent = tuple[dict[str, object], str | None, str]
"""A part as it travels: its source in plain lists and dicts, its file and that file's hash."""


def sent(part: Part) -> Sent:
    """A part ready to travel to another process.

    Raises
    ------
    InputError
        For a part on a mesh that was made here and is in no file.
    """
    if part.shape is not None and part.mesh.file is None:
        message = "This part stands on a mesh made in Python, which worker processes do not have."
        raise InputError(f"{message} Write the mesh to a file and name it ([mesh] file).", key="mesh.file")
    source = _plain(part.source)
    return (source if isinstance(source, dict) else {}), part.file, part.sha256


def _plain(value: object) -> object:
    if isinstance(value, Mapping):
        return {str(name): _plain(item) for name, item in value.items()}
    return [_plain(item) for item in value] if isinstance(value, list | tuple) else value


class Keeper:
    """Checks variants of a part.

    Parameters
    ----------
    part : Sent
        As `sent` gives it.
    """

    def __init__(self, part: Sent) -> None:
        source, file, sha256 = part
        self.part = part_from(source, file=file, sha256=sha256)
        self._lead: tuple[Mapping[str, str], Result | None] | None = None

    def check(self, changes: Mapping[str, str], lead: Mapping[str, str] | None) -> Row:
        """Check a variant on the mesh of its lead, or as a lead itself (None)."""
        if lead is None:
            row, result = evaluate(self.part, changes)
            if result is not None:
                self._lead = (changes, result)
            return row
        if self._lead is None or self._lead[0] != lead:
            self._lead = (lead, evaluate(self.part, lead)[1])
        return evaluate(self.part, changes, self._lead[1])[0]
