"""What differs from cell to cell of a grid: thickness, grain and wood, given as one value, an array or its name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..extensions import make_wood
from ..mesh.from_grid import GridMesh
from ..units import parse_quantity, shorten
from ..wood.model import Wood
from ..wood.orthotropic import OrthotropicPlane

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

ELASTIC = ("E_0", "E_90", "G", "nu_0_90")
SAYS = 'a name of the tables (as "Ash, white"), a fesolve.Wood, a fesolve.OrthotropicPlane, or E_0, E_90, G, nu_0_90'


@dataclass(frozen=True)
class CellWoods:
    """The woods of a grid, and which of them each element (e,) is made of."""

    woods: tuple[Wood | OrthotropicPlane, ...]
    index: IntArray

    @property
    def planes(self) -> list[OrthotropicPlane]:
        """Elastic constants of each."""
        return [wood.plane if isinstance(wood, Wood) else wood for wood in self.woods]


def cell_lengths(grid: Any, read: GridMesh, given: Any, key: str) -> Array:
    """A length of each element, mm (e,): plain numbers are in the grid's unit.

    Raises
    ------
    InputError
        For an array that is not there or of another length, and for what is not finite or not above 0.
    """
    values = _cell_numbers(grid, read, given, key, "length", read.scale)
    if not (values > 0.0).all():
        bad = int(np.argmin(values > 0.0))
        raise InputError(
            f"{key.capitalize()} of cell {int(read.cell[bad])} is {values[bad]:g} mm; give a value above 0.", key=key
        )
    return values


def cell_angles(grid: Any, read: GridMesh, given: Any, key: str) -> Array:
    """The direction of the grain in each element, deg (e,): angles, or vectors along the fibres.

    Raises
    ------
    InputError
        As `cell_lengths`, and for vectors that have no direction in the plane.
    """
    array = _array_of(grid, given, key)
    if array is None or array.ndim < 2:
        return _cell_numbers(grid, read, given, key, "angle", 1.0)
    vectors = _mine(read, array, key).astype(np.float64)
    if vectors.shape[1] not in (2, 3):
        raise InputError(f"{key.capitalize()} has shape {array.shape}; give angles in deg, or vectors.", key=key)
    if not (np.isfinite(vectors).all() and (np.abs(vectors[:, :2]).max(axis=1) > 0.0).all()):
        raise InputError(f"{key.capitalize()} has vectors without a direction in x and y.", key=key)
    return np.degrees(np.arctan2(vectors[:, 1], vectors[:, 0]))


def _cell_numbers(grid: Any, read: GridMesh, given: Any, key: str, dimension: str, scale: float) -> Array:
    array = _array_of(grid, given, key)
    if array is None and isinstance(given, str):
        try:
            return np.full(len(read.cell), parse_quantity(given, dimension, key=key))
        except InputError as error:
            listed = ", ".join(f'"{name}"' for name in grid.cell_data) or "none"
            raise InputError(f"{error.message} Cell arrays of the grid: {listed}.", key=key) from None
    try:
        values = np.asarray(float(given) if array is None else array, dtype=np.float64)
    except (TypeError, ValueError):
        raise InputError(
            f"{key.capitalize()} is {shorten(repr(given))}; give a number, a quantity, an array or its name.", key=key
        ) from None
    values = scale * (np.full(len(read.cell), float(values)) if values.ndim == 0 else _mine(read, values, key))
    if values.ndim != 1:
        raise InputError(f"{key.capitalize()} has shape {values.shape}; give one value for each cell.", key=key)
    if not np.isfinite(values).all():
        bad = int(np.argmin(np.isfinite(values)))
        raise InputError(f"{key.capitalize()} of cell {int(read.cell[bad])} is not finite.", key=key)
    return values


def _array_of(grid: Any, given: Any, key: str) -> NDArray[Any] | None:
    """The array that is meant: one of the grid's by name, or the given one; None for a single value."""
    if isinstance(given, str):
        if given in grid.cell_data:
            return np.asarray(grid.cell_data[given])
        if given in grid.point_data:
            raise InputError(
                f'"{given}" is an array of the points; {key} wants one of the cells: grid.point_data_to_cell_data().',
                key=key,
            )
        return None
    if isinstance(given, np.ndarray | Sequence):
        return np.asarray(given)
    return None


def _mine(read: GridMesh, array: NDArray[Any], key: str) -> NDArray[Any]:
    """The rows of an array that belong to the elements, of one row for each cell of the grid, or each that is used."""
    if len(array) == read.cells:
        return array[read.cell]
    if len(array) == len(read.cell):
        return array[np.argsort(np.argsort(read.cell, kind="stable"), kind="stable")]
    used = "" if read.cells == len(read.cell) else f" ({len(read.cell)} without lines and vertices)"
    raise InputError(
        f"{key.capitalize()} has {len(array)} values, but the grid has {read.cells} cells{used}; give one for each.",
        key=key,
    )


# ---- wood


def cell_woods(
    grid: Any, read: GridMesh, given: Any, basis: str | None, board: str | None, known: Mapping[Any, Any]
) -> CellWoods:
    """The wood of each element.

    Parameters
    ----------
    grid, read
    given : Any
        One wood, an array of names a cell, or the name of such an array.
    basis, board : str or None
        For woods of the tables.
    known : mapping
        Woods of the caller's own by the names that the array uses.

    Raises
    ------
    InputError
        For a wood that cannot be had; the message says what to give.
    """
    array = _array_of(grid, given, "wood")
    if array is None or array.ndim == 0:
        return CellWoods((_wood(given, basis, board, known),), np.zeros(len(read.cell), dtype=np.int64))
    names, index = np.unique(_mine(read, array, "wood"), return_inverse=True)
    woods = tuple(_wood(name.item() if hasattr(name, "item") else name, basis, board, known) for name in names)
    return CellWoods(woods, index.reshape(-1))


def _wood(given: Any, basis: str | None, board: str | None, known: Mapping[Any, Any]) -> Wood | OrthotropicPlane:
    if isinstance(given, str | int | float) and given in known:
        return _wood(known[given], basis, board, {})
    if isinstance(given, Wood | OrthotropicPlane):
        return given
    if isinstance(given, Mapping):
        return _own(given)
    if not isinstance(given, str):
        listed = f"; woods has {', '.join(map(repr, known))}" if known else "; name it in woods = {…}"
        raise InputError(f"Wood is {shorten(repr(given))}{listed}. A wood is {SAYS}.", key="wood")
    if basis is None:
        raise InputError(
            f'Wood "{given}" needs a basis: basis = "mean" (clear wood on the average), or "lower 5%".', key="basis"
        )
    if board not in ("flat-sawn", "quarter-sawn"):
        unknown = " Where it is not known solve with each, and take the worse." if board == "unknown" else ""
        raise InputError(
            f'Wood "{given}" needs the drawn face: board = "flat-sawn" or "quarter-sawn".{unknown}', key="board"
        )
    return make_wood(species=given, face=board, basis=basis)


def _own(given: Mapping[str, Any]) -> OrthotropicPlane:
    """Own elastic constants: numbers in MPa, or quantities."""
    if set(given) != set(ELASTIC):
        raise InputError(
            f"Own constants have {', '.join(map(str, given)) or 'nothing'}; give {', '.join(ELASTIC)}. With strengths: "
            "fesolve.make_wood(elastic=…, strength=…, basis=…).",
            key="wood",
        )
    values = {}
    for name, value in given.items():
        try:
            stress = isinstance(value, str) and name != "nu_0_90"
            values[name] = parse_quantity(value, "stress", key=f"wood.{name}") if stress else float(value)
        except (TypeError, ValueError):
            raise InputError(f"{name} is {shorten(repr(value))}; give a number.", key=f"wood.{name}") from None
    try:
        return OrthotropicPlane(**values)
    except InputError as error:
        raise InputError(error.message, key=(error.key or "wood").replace("wood.elastic", "wood")) from None
