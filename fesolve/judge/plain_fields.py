"""Utilisation of every mode at the stress points of a solution, without a part: no names, no hand calculation.

The same criteria and the same search along grain lines as for a part; what a part would add is left to it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from ..fem.solution import Solution
from .interaction import NORRIS
from .of_wood import combined_use, plane_strength, pointwise_use, split_lengths, split_strength
from .search import SplitResult, SplitSearch
from .splitting import Windows
from .verdict import COMBINED, SPLITTING
from .zones import Zone

Array = NDArray[np.float64]
NearPatch = Callable[[Array], NDArray[np.bool_]]


def split_searches(solution: Solution, zones: Sequence[Zone], corners: Array, unlimited: Array) -> list[SplitSearch]:
    """The grain lines of each zone of a solution on six-node triangles.

    Parameters
    ----------
    solution : Solution
    zones : sequence of Zone
    corners : (k, 2) array
        Sharp re-entrant corners, mm.
    unlimited : (p, 2) array
        Points at which the stress has no limit, mm.
    """
    found = []
    for zone in zones:
        least = min(length.least for length in split_lengths(zone.wood))
        found.append(SplitSearch(solution, zone.grain, least, corners, unlimited, zone))
    return found


def searched(
    search: SplitSearch, zone: Zone, stress: Array, near: NearPatch | None, *, high: bool = False
) -> SplitResult:
    """The worst splits of one zone; `stress` (m, 3) in grain axes counts in the zone alone."""
    mine = np.where(zone.points[:, None], stress, 0.0)
    strength, length = split_strength(zone.wood), split_lengths(zone.wood)[int(high)]
    return search.run(mine, strength, length, near, [lambda windows: combined_windows(zone, windows)])


def combined_windows(zone: Zone, windows: Windows) -> Array:
    """Combined utilisation (k,) of windows."""
    mean = np.column_stack([windows.along, windows.across, windows.shear])
    return combined_use(mean, plane_strength(zone.wood), split_strength(zone.wood), NORRIS)


def zone_fields(search: SplitSearch, zone: Zone, stress: Array, result: SplitResult) -> dict[str, Array]:
    """Utilisation (m,) by mode at the stress points of one zone; 0 outside it."""
    pointwise = pointwise_use(zone.wood, np.where(zone.points[:, None], stress, 0.0))
    combined = search.spread(result.sweep, combined_windows(zone, result.sweep))
    return {SPLITTING: result.utilisation, **pointwise, COMBINED: combined}
