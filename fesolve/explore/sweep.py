"""``fesolve.sweep``: a part with some of its values varied, every one with every other, as plain arrays."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError, MissingLibraryError
from ..judge.outcome import NUMBERS, OUTCOMES, Row
from ..part.axes import Axis, grid
from ..part.model import Part
from ..units import shorten
from .crew import check_workers
from .ranking import Influence, influences
from .run import Tell, run
from .store import Store
from .vary import read_axes

if TYPE_CHECKING:
    import pandas as pd

_FIGURES = (*NUMBERS, "x", "y")
UNITS = {"mass": "kg", "deflection": "mm", "x": "mm", "y": "mm", "seconds": "s"}
"""Of the figures that always have the same; `low`, `best` and `high` are N of the load that `of` names, or a factor."""


@dataclass(frozen=True)
class Sweep:
    """What a sweep gave: one row a variant, in the order of the grid, its last axis changing fastest.

    ``sweep["utilisation"]`` is an array of one figure, ``sweep["notch_depth"]`` of what was varied.

    Attributes
    ----------
    part : Part
        That was varied.
    axes : tuple of Axis
    rows : tuple of Row
    """

    part: Part
    axes: tuple[Axis, ...]
    rows: tuple[Row, ...]

    @property
    def shape(self) -> tuple[int, ...]:
        """Number of values of each axis: ``sweep["utilisation"].reshape(sweep.shape)`` is the grid."""
        return tuple(len(one.values) for one in self.axes)

    @property
    def columns(self) -> tuple[str, ...]:
        """Names of all arrays: what was varied, the figures, `message` and `seconds`."""
        return (*(one.name for one in self.axes), *OUTCOMES, "message", "seconds")

    def __getitem__(self, name: str) -> NDArray[Any]:
        """One column.

        Returns
        -------
        (n,) array
            One value a variant. What was varied in the unit that it was written in, choices as texts; figures in the
            units of `units`, nan where there are none; `enough` as bool, False where there are no figures.

        Raises
        ------
        InputError
            For a name that is no column.
        """
        for axis in self.axes:
            if name == axis.name:
                return self._varied(axis)
        if name in ("message", "seconds"):
            return np.array([getattr(row, name) for row in self.rows])
        if name not in OUTCOMES:
            raise InputError(f'"{shorten(name)}" is no column. Columns: {", ".join(self.columns)}.')
        found = [None if row.outcome is None else getattr(row.outcome, name) for row in self.rows]
        if name in _FIGURES:
            return np.array([np.nan if one is None else one for one in found], float)
        return np.array([bool(one) for one in found]) if name == "enough" else np.array([one or "" for one in found])

    def _varied(self, axis: Axis) -> NDArray[Any]:
        texts = [row.changes[axis.name] for row in self.rows]
        if axis.numbers is None:
            return np.array(texts)
        as_written = {
            text: float(f"{one / axis.size:.12g}") for text, one in zip(axis.values, axis.numbers, strict=True)
        }
        return np.array([as_written[text] for text in texts])

    def draw(self, path: str | Path, *, units: Literal["si", "us"] = "si") -> bool:
        """Draw it as PNG: a curve, a map or a ranking of what matters; False where there is nothing to draw.

        Raises
        ------
        InputError
            If something else than a picture is there, or nothing can be written.
        """
        from ..units import Formatter
        from .picture import draw

        return draw(self, path, Formatter(units))

    def ranking(self, figure: str = "utilisation") -> tuple[Influence, ...]:
        """What matters to a figure: the share of its variance that each varied name explains, the greatest first.

        Empty where fewer than 10 variants have the figure, or it does not change.
        """
        values = self[figure]
        known = np.isfinite(values)
        columns = {one.name: self[one.name][known].tolist() for one in self.axes}
        return influences(columns, values[known].tolist())

    def frame(self) -> pd.DataFrame:
        """The same as a table of pandas, one column a name; units stand in its ``attrs["units"]``.

        Raises
        ------
        MissingLibraryError
            If pandas is not installed.
        """
        try:
            import pandas as pd
        except ImportError:
            raise MissingLibraryError("A frame needs pandas: pip install 'fesolve[frames]'.") from None
        frame = pd.DataFrame({name: self[name] for name in self.columns})
        frame.attrs["units"] = self.units
        return frame

    @property
    def basis(self) -> str | None:
        """That of all variants; None where it is varied."""
        return None if any(one.name in ("basis", "wood.basis") for one in self.axes) else self.part.wood.basis

    @property
    def units(self) -> dict[str, str]:
        """Unit of each column that has one."""
        return {one.name: one.unit for one in self.axes if one.unit} | UNITS


def sweep(
    part: Part,
    vary: Mapping[str, str | Sequence[object]],
    *,
    workers: int | None = None,
    out: str | Path | None = None,
    scheduler: str | None = None,
    tell: Tell | None = None,
) -> Sweep:
    """Check a part with some of its values varied, every value of one with every value of the others.

    Parameters
    ----------
    part : Part
    vary : mapping of str to str or sequence
        By name as ``--set`` takes it: ``"5 mm to 30 mm in 6"``, ``"5 mm; 8 mm"`` or ``["5 mm", "8 mm"]``.
    workers : int, optional
        Processes on this machine; as many as there are processors unless given.
    out : str or path, optional
        An SQLite file that every variant is written to as it comes. If it is there, what it holds is not checked
        again. Without it the results are only returned.
    scheduler : str, optional
        Address of a Dask cluster ("tcp://host:8786"), which takes the place of processes on this machine.
    tell : callable, optional
        Told the number done, the number in all, and the last row.

    Returns
    -------
    Sweep
        Variants that could not be drawn or solved have a message and no figures.

    Raises
    ------
    InputError
        For a name that the part does not have, values that cannot be meant, and a file that cannot be used; before
        anything is run.
    SolveError
        If workers cannot be started, or the file cannot be written any more.
    """
    axes = read_axes(part, vary)
    if workers is not None:
        check_workers(workers)
    asked = json.dumps({one.name: list(one.values) for one in axes}, ensure_ascii=False)
    with Store(out, part) as store:
        rows = run(part, grid(axes), asked, store, workers=workers, scheduler=scheduler, tell=tell)
    return Sweep(part, tuple(axes), tuple(rows))
