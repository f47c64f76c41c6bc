"""Where splitting by energy decides: its load takes the place of the mean stress's in splitting's row of that case."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal, NamedTuple

import numpy as np

from .growth import size_of
from .rows_split import SplitRow, SplitStart
from .unlimited import NO_LIMIT
from .verdict import SPLITTING, Governing, LoadRow, MeshInfo, ModeRow

BY_ENERGY = "by energy, from "
"""With this the note of splitting's row begins where energy decides; what it comes from follows."""


TINY = 1e-300
ONE_MESH = "it goes by one mesh along the crack; a smaller mesh.size makes it finer"


class ByEnergy(NamedTuple):
    """The load factor by energy in one case, what is used at the loads as given, and the row that it comes from."""

    factor: float
    use: float
    row: SplitRow


End = Literal["low", "high"]


def counts(row: SplitRow, end: End) -> bool:
    """Whether a row decides: it is the one to trust, or its crack is there; not where its place is only assumed."""
    which = row.trusted if end == "low" else row.trusted_high
    return (which == "energy" or row.existing > 0.0) and not row.assumed


def by_energy(rows: Sequence[SplitRow], of: str, loads: Sequence[LoadRow], end: End) -> dict[str, ByEnergy]:
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
        if not counts(row, end) or start is None or start.past is None or size <= 0.0:
            continue
        one = ByEnergy(start.past / size, start.use, row)
        if row.case not in found or one.factor < found[row.case].factor:
            found[row.case] = one
    return found


def not_above(high: Mapping[str, ByEnergy], low: Sequence[ModeRow]) -> dict[str, ByEnergy]:
    """What energy says with high energies, no case using more than with low ones, by its rows there."""
    uses = {
        case: max((row.utilisation for row in low if row.decides and row.case == case), default=0.0) for case in high
    }
    return {case: one._replace(use=min(one.use, uses[case])) for case, one in high.items()}


def with_energy(modes: Sequence[ModeRow], found: Mapping[str, ByEnergy]) -> list[ModeRow]:
    """The rows of all modes; those of splitting by energy where more is used by that than by the mean stress."""
    return [
        _by_energy(row, found[row.case])
        if row.mode == SPLITTING and row.case in found and found[row.case].use > row.utilisation
        else row
        for row in modes
    ]


def _by_energy(row: ModeRow, one: ByEnergy) -> ModeRow:
    split, use = one.row, one.use
    _, begins, no_limit = row.note.partition(NO_LIMIT)  # the peak is the mean stress's, and so is why there is none
    return replace(
        row,
        decides=True,
        utilisation=use,
        allowable=row.value / use,
        at=split.at,
        where=split.where,
        measured_from=split.measured_from,
        region=row.region and split.region,
        note=f"{BY_ENERGY}{split.of}; the mean stress says {row.utilisation:.2f}{begins}{no_limit}",
    )


def capped(factors: Sequence[float | None], cases: Sequence[str], found: Mapping[str, ByEnergy]) -> list[float | None]:
    """Load factors of cases, none above that by energy."""
    return [
        found[case].factor if case in found and (factor is None or found[case].factor < factor) else factor
        for case, factor in zip(cases, factors, strict=True)
    ]


def deciding(governing: Governing | None, splits: Sequence[SplitRow]) -> SplitRow | None:
    """The row of splitting by energy that governs, if one does."""
    if governing is None or not governing.note.startswith(BY_ENERGY):
        return None
    of = governing.note.removeprefix(BY_ENERGY).partition(";")[0]
    return next((row for row in splits if (row.of, row.case) == (of, governing.case)), None)


def mesh_by_energy(mesh: MeshInfo, governing: Governing | None, splits: Sequence[SplitRow]) -> MeshInfo:
    """What is told of the mesh, with the error of the energy where that governs: the means then decide nothing."""
    row = deciding(governing, splits)
    if row is None or row.low is None or row.low.past is None:
        return mesh
    return replace(
        mesh, relative_error=_error(row, row.low), relative_error_of=f"{SPLITTING} by energy", stopped=ONE_MESH
    )


def _error(row: SplitRow, start: SplitStart) -> float:
    """Domain integral against crack closure, of G_I/G_Ic + G_II/G_IIc at the length that decides.

    A load goes with the root of it, so its own error is about half of that.
    """
    by_domain, by_closure = (
        np.add(np.divide(opening, start.G_Ic), np.divide(sliding, start.G_IIc))
        for opening, sliding in ((row.opening, row.sliding), (row.closure_opening, row.closure_sliding))
    )
    at = 0
    if not row.existing:  # of lengths looked at that whose load is nearest to the one told
        needs = row.reference / np.sqrt(np.maximum(by_domain, TINY))
        at = int(np.abs(needs - (start.past or 0.0)).argmin())
    return float(abs(by_closure[at] / max(by_domain[at], TINY) - 1.0))
