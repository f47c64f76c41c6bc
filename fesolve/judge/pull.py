"""Which strength a stretched edge is held against where bending and a pull have strengths of their own.

Codes do so for lumber: sums of both shares stay below 1 (NDS 2018, 3.9.1; EN 1995-1-1, 6.2.3; both from memory), which
is a strength in between, 1/(s/f_t + (1 - s)/f_b), s the pull's share of the stress. The pull is the mean of σ_0 over
the ligament across the grain, the rest is bending (own choice of what to call a section in a solved part).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..fem.elements import TRIANGLE6
from ..wood.model import Wood
from .verdict import HandRow

if TYPE_CHECKING:
    from .modes import Inspection

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

SAMPLES = 49  # on either side of a probe, over the extent of the part across the grain
INSIDE = 3  # which of a probe's samples the line goes through


def between(pull: Array, total: Array, wood: Wood) -> Array:
    """Strength (k,) MPa for stresses of which `pull` (k,) of `total` (k,) is a pull and the rest bending.

    Examples
    --------
    >>> from ..wood.species import make_wood
    >>> from ..wood.conditions import Conditions
    >>> lumber = make_wood(species="Douglas-fir, coast", face="flat-sawn", basis="design",
    ...     grade="Douglas Fir-Larch No.2", conditions=Conditions(size=(2, 14)))
    >>> (between(np.array([0.0, 1.0]), np.array([1.0, 1.0]), lumber) * 145.0377).round(1)    # 0.9 x 900 and 575 psi
    array([810. , 517.5])
    """
    tension, bending = wood.strengths["tension_along"].value, wood.bending.value
    share = np.clip(np.divide(pull, total, out=np.zeros_like(total), where=total > 0.0), 0.0, 1.0)
    return np.asarray(1.0 / (share / tension + (1.0 - share) / bending))


def pulled(inspection: Inspection, stress: Array, means: Array) -> Array:
    """Strength (k,) MPa along the grain of each probe, for stress (m, 3) with these means (k,) from the surface."""
    wood = inspection.wood
    tension, bending = wood.strengths["tension_along"].value, wood.bending.value
    found = np.full(len(means), bending)
    if tension == bending or len(means) == 0:
        return found
    lines = np.flatnonzero((means > 0.0) & (means >= min(tension / bending, 1.0) * means.max()))
    found[lines] = between(_through(inspection, stress, lines), means[lines], wood)
    return found


def _through(inspection: Inspection, stress: Array, lines: IntArray) -> Array:
    """Mean σ_0 (k,) over the wood across the grain from the probes `lines`, up to the next surface on either side."""
    solution, probes = inspection.solution, inspection.probes
    corners = solution.model.mesh.points[solution.model.cells[probes.element[lines, INSIDE]]]
    place = np.einsum("ka,kai->ki", TRIANGLE6.shape(probes.reference[lines, INSIDE]), corners)
    grain = np.radians(inspection.grain)
    across = np.array([-np.sin(grain), np.cos(grain)])
    reach = float(np.ptp(solution.model.mesh.points @ across)) * np.linspace(0.0, 1.0, SAMPLES)
    total, count = np.zeros(len(lines)), np.zeros(len(lines))
    for sign in (1.0, -1.0):
        query = place[:, None] + sign * reach[None, :, None] * across
        found = solution.sampler.interpolate(stress[:, :1], query.reshape(-1, 2), solution.stress_blocks)
        values = found.reshape(len(lines), SAMPLES)
        inside = np.cumprod(np.isfinite(values), axis=1).astype(bool)
        total += np.where(inside, values, 0.0).sum(axis=1)
        count += inside.sum(axis=1)
    return np.asarray(total / np.maximum(count, 1.0))


def pulled_by_hand(row: HandRow, wood: Wood) -> float:
    """Strength (MPa) that M/S + N/A of one station is held against."""
    axial = max(row.axial / row.A, 0.0)
    return float(between(np.array([axial]), np.array([row.sigma_pull]), wood)[0])
