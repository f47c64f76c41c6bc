"""The effect of size: the even stress on a reference volume that counts as much as the stress in all of the wood.

σ_eq = ((1/V_0) ∫ σ^k dV)^(1/k), of the tension across the grain and of the shear along it. It is shown and never
decides. Where the integral has no limit, at a sharp corner, there is no such figure.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..wood.size_effect import SizeLaw, size_laws
from .edges import DEPTH
from .modes import CaseField, Inspection
from .rows_interaction import SizeRow
from .search import NOISE
from .unlimited import VISIBLE
from .verdict import TENSION_ACROSS, Governing

Array = NDArray[np.float64]

LEFT_OUT = DEPTH / 2  # mm about places without a limit, own choice
CM3, DM3 = 1e3, 1e6  # mm^3


def weibull_stress(stress: Array, volume: Array, law: SizeLaw) -> tuple[float, float]:
    """Equivalent stress σ_eq, and the volume that it comes from: twice the least one that holds half of the integral.

    Of an even stress that is all of the volume.

    Parameters
    ----------
    stress : (...) array
        Positive where it counts, MPa; what is negative counts as nothing.
    volume : (...) array
        mm^3.
    law : SizeLaw

    Returns
    -------
    float
        MPa, on the volume V_0 of the law.
    float
        mm^3; 0 where nothing is stressed. The choice of a half is an own one; a peak in little wood hardly moves it.

    References
    ----------
    W. Weibull 1939 (from memory); as used for wood by J. D. Barrett, Wood and Fiber 6(2), 1974.

    Examples
    --------
    >>> from ..wood.size_effect import size_law
    >>> law = size_law("tension across grain")
    >>> found = weibull_stress(np.full(1000, 2.0), np.full(1000, law.volume / 1000), law)
    >>> [round(value, 6) for value in found]
    [2.0, 82000.0]
    """
    stress, volume = np.ravel(stress), np.ravel(volume)
    greatest = float(stress.max(initial=0.0))
    if greatest <= 0.0:
        return 0.0, 0.0
    counts = np.flatnonzero((stress > 0.0) & (volume > 0.0))
    order = counts[np.argsort(-stress[counts])]
    share = np.cumsum((stress[order] / greatest) ** law.exponent * volume[order])
    half = int(np.searchsorted(share, 0.5 * share[-1]))
    value = greatest * (float(share[-1]) / law.volume) ** (1.0 / law.exponent)
    return value, 2.0 * float(volume[order[: half + 1]].sum())


def size_rows(zones: Sequence[tuple[Inspection, CaseField]], lasting: float) -> list[SizeRow]:
    """One row a mode for one case: that of the zone in which it is worst.

    Parameters
    ----------
    zones : sequence of (Inspection, CaseField)
    lasting : float
        What the case's duration leaves of the strengths.
    """
    rows = []
    for law in size_laws():
        found = [row for zone in zones if (row := _row(*zone, law, lasting)) is not None]
        if found:
            rows.append(max(found, key=lambda row: (row.value is None, (row.value or 0.0) / row.allowable)))
    return rows


def _row(inspection: Inspection, field: CaseField, law: SizeLaw, lasting: float) -> SizeRow | None:
    samples = inspection.samples
    across = law.mode == TENSION_ACROSS
    stress = samples.at(field.stress[:, 1]) if across else np.abs(samples.at(field.stress[:, 2]))
    strength = inspection.plane_strength.tension_across if across else inspection.plane_strength.shear
    if float(stress.max(initial=0.0)) <= NOISE * float(np.abs(field.stress).max(initial=0.0)):
        return None
    places = inspection.places(field.name)
    kept, closer = (np.where(samples.near(places, reach), 0.0, samples.volume) for reach in (LEFT_OUT, LEFT_OUT / 2))
    counted = np.where(kept > 0.0, stress, 0.0)
    value, even = weibull_stress(counted, kept, law)
    nearer, _ = weibull_stress(np.where(closer > 0.0, stress, 0.0), closer, law)
    limited = nearer <= VISIBLE * value
    notes = []
    if not limited:
        notes.append("no figure: it grows with every step towards a place where stress has no limit")
    elif law.least is not None and even < law.least:
        notes.append(
            f"no share: the stress is crowded into {even / CM3:.2g} cm3, less than the {law.least / CM3:.3g} cm3 down "
            "to which this is relied on; splitting judges it"
        )
    elif len(places):
        notes.append(f"without what lies within {LEFT_OUT:g} mm of places where stress has no limit")
    if law.greatest is not None and even > law.greatest:
        notes.append(f"beyond the tests, which end at {law.greatest / CM3:.0f} cm3")
    at = samples.points.reshape(-1, 2)[int(counted.argmax())]
    share = None if not limited or (law.least or 0.0) > even else value / (lasting * strength)
    return SizeRow(
        field.name, law.mode, value if limited else None, lasting * strength, share, law.volume, law.exponent,
        even if limited else None, (float(at[0]), float(at[1])), law.source, law.status, "; ".join(notes),
        ", ".join(inspection.regions),
    )  # fmt: skip


def size_cautions(rows: Sequence[SizeRow], governing: Governing | None) -> list[str]:
    """A sentence where size makes more of a stress than what governs."""
    least = 0.0 if governing is None else governing.utilisation
    return [
        f"By size {row.mode} has the share {row.utilisation:.2f}, more than what governs: for so much evenly stressed "
        f"wood ({row.even_volume / DM3:.2g} dm3) strengths from small blocks are too high."
        for row in rows
        if row.utilisation is not None and row.even_volume is not None and row.utilisation > least
    ]
