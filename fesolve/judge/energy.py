"""Where splitting by energy decides: its load takes the place of the mean stress's in splitting's row of that case."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal, NamedTuple

from .growth import size_of
from .rows_split import SplitRow
from .verdict import SPLITTING, LoadRow, ModeRow

BY_ENERGY = "by energy, from "
"""With this the note of splitting's row begins where energy decides; what it comes from follows."""


class ByEnergy(NamedTuple):
    """The load factor by energy in one case, and the row that it comes from."""

    factor: float
    row: SplitRow


def counts(row: SplitRow) -> bool:
    """Whether a row decides: it is the one to trust, or its crack is there; not where its place is only assumed."""
    return (row.trusted == "energy" or row.existing > 0.0) and not row.assumed


def by_energy(
    rows: Sequence[SplitRow], of: str, loads: Sequence[LoadRow], end: Literal["low", "high"]
) -> dict[str, ByEnergy]:
    """The least load factor by energy of each case, of the rows that count, with one end of the energies.

    Parameters
    ----------
    rows : sequence of SplitRow
    of : str
        The load that their loads are stated in.
    loads : sequence of LoadRow
        For its size in each case.
    end : str
        ``low`` or ``high``.
    """
    found: dict[str, ByEnergy] = {}
    for row in rows:
        start, size = getattr(row, end), size_of(of, loads, row.case)
        if not counts(row) or start is None or start.past is None or size <= 0.0:
            continue
        one = ByEnergy(start.past / size, row)
        if row.case not in found or one.factor < found[row.case].factor:
            found[row.case] = one
    return found


def with_energy(modes: Sequence[ModeRow], found: Mapping[str, ByEnergy]) -> list[ModeRow]:
    """The rows of all modes; those of splitting by energy where that asks for less load than the mean stress."""
    return [
        _by_energy(row, found[row.case])
        if row.mode == SPLITTING and row.case in found and found[row.case].factor * row.utilisation < 1.0
        else row
        for row in modes
    ]


def _by_energy(row: ModeRow, one: ByEnergy) -> ModeRow:
    split, use = one.row, 1.0 / one.factor
    return replace(
        row,
        decides=True,
        utilisation=use,
        allowable=row.value / use,
        at=split.at,
        where=split.where,
        measured_from=split.measured_from,
        region=row.region and split.region,
        note=f"{BY_ENERGY}{split.of}; the mean stress says {row.utilisation:.2f}",
    )


def capped(factors: Sequence[float | None], cases: Sequence[str], found: Mapping[str, ByEnergy]) -> list[float | None]:
    """Load factors of cases, none above that by energy."""
    return [
        found[case].factor if case in found and (factor is None or found[case].factor < factor) else factor
        for case, factor in zip(cases, factors, strict=True)
    ]
