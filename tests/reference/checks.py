"""One row of the verification table, and the reference data that rows are made from."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Values = Sequence[float] | NDArray[np.float64]

NAMES = ("cases.json", "worked_examples.json", "interaction.json", "codes.json", "piece.json", "allowables.json")
FILES = [Path(__file__).with_name(name) for name in NAMES]


@cache
def reference_cases() -> Mapping[str, Mapping[str, Any]]:
    """The reference cases by their number, as the files of this folder have them."""
    return {case["id"]: case for file in FILES for case in json.loads(file.read_text(encoding="utf-8"))["cases"]}


def numbers(case: str, *keys: str) -> list[Any]:
    """Expected values of a case, by key."""
    return [reference_cases()[case]["expected"][key] for key in keys]


@dataclass(frozen=True)
class Check:
    """A quantity compared.

    Attributes
    ----------
    case : str
        Number of the case in cases.json.
    quantity : str
        What is compared, with its unit.
    reference, result : float
    tolerance : float or None
        Greatest error; None: shown for information.
    scale : float
        What the difference is divided by to give the error; the reference's size unless said otherwise.
    unknowns : int
        Displacement components of the mesh; 0 where a formula alone is evaluated.
    own : bool
        Whether the tolerance is this project's own, the reference stating none for the quantity.
    at_least : bool
        Whether only falling short of the reference counts.
    word : str
        The status of this value, where the case's source names several.
    """

    case: str
    quantity: str
    reference: float
    result: float
    tolerance: float | None
    scale: float
    unknowns: int = 0
    own: bool = False
    at_least: bool = False
    word: str = ""

    @property
    def title(self) -> str:
        return str(reference_cases()[self.case]["title"])

    @property
    def source(self) -> str:
        return str(reference_cases()[self.case]["source"])

    @property
    def status(self) -> str:
        """The reference's word on where the value comes from."""
        return self.word or status_word(self.source)

    @property
    def error(self) -> float:
        if self.at_least:
            return max(0.0, self.reference - self.result) / self.scale
        return abs(self.result - self.reference) / self.scale

    @property
    def met(self) -> bool:
        return self.tolerance is None or self.error <= self.tolerance


def status_word(source: str) -> str:
    """READ, derived, computed, textbook or from memory: the first of these words that a source begins with or has."""
    words = ("READ", "derived", "computed", "textbook", "from memory")
    return min((w for w in words if w in source), key=source.index)


def relative(case: str, quantity: str, reference: float, result: float, tolerance: float | None, **more: Any) -> Check:
    """A row whose error is relative to the reference, or to `floor` where that is greater."""
    floor = more.pop("floor", 0.0)
    scale = max(abs(reference), floor)
    return Check(case, quantity, float(reference), float(result), tolerance, scale, **more)


def worst(
    case: str,
    quantity: str,
    reference: Values,
    result: Values,
    tolerance: float,
    at: str,
    **more: Any,
) -> Check:
    """Of many points the one with the greatest error; `at` names it, with {} for its entry in `places`."""
    places = more.pop("places")
    rows = [
        relative(case, f"{quantity}; worst of {len(reference)}: {at.format(place)}", r, x, tolerance, **more)
        for r, x, place in zip(np.ravel(reference), np.ravel(result), places, strict=True)
    ]
    return max(rows, key=lambda row: row.error)


def rate(case: str, quantity: str, order: float, result: float, unknowns: int) -> Check:
    """An order of convergence; 0.1 short of the order is allowed (own choice)."""
    return Check(case, quantity, order, result, 0.1, 1.0, unknowns, own=True, at_least=True)
