"""One stress at an angle to the grain, against Hankinson's strength: along free edges, and at sections of the member.

Along an edge that nothing touches there is one stress, that along it; where the fibres meet the edge at an angle, it is
a plain check to hold it against the strength at that angle. It is shown and never decides: splitting and tension along
the grain see the same stress by its parts.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..fem.solution import Solution
from ..wood.bearing import hankinson
from ..wood.case_factors import CaseFactors
from .edges import DEPTH, WEIGHTS, EdgeProbes
from .modes import CaseField, Inspection
from .patches import Patch
from .rows_interaction import AngleRow, Kind
from .search import NOISE
from .verdict import End, HandRow
from .where import anchor_of, place_text
from .zones import choice_of, region_of

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

LEAST_ANGLE = 1.0  # deg: below it the stress runs along the grain
ON = 0.1  # mm: a point so near a patch is on it
DENTS = 45.0  # deg: pressed nearer than this to across the grain, wood dents


def angle_rows(
    zones: Sequence[tuple[Inspection, CaseField]],
    actions: Sequence[tuple[Patch, Array]],
    hand: Sequence[HandRow],
    lasting: CaseFactors,
) -> list[AngleRow]:
    """The worst stress at an angle to the grain in one case, pulled and pressed: along edges, and at sections.

    Parameters
    ----------
    zones : sequence of (Inspection, CaseField)
        All zones of one case.
    actions : sequence of (Patch, (2,) array)
        What acts on the surface, with the force on the wood there, N.
    hand : sequence of HandRow
        Stations of the hand calculation, of all cases.
    lasting : CaseFactors
        What the case leaves of the strengths.
    """
    found: list[AngleRow] = []
    for inspection, field in zones:
        found += _along_edges(inspection, field, actions, lasting)
        found += _at_sections(inspection, field.name, hand, lasting)
    worst: dict[tuple[str, bool], AngleRow] = {}
    for row in sorted(found, key=lambda row: row.utilisation):
        worst[row.kind, row.value < 0.0] = row
    return sorted(worst.values(), key=lambda row: -row.utilisation)


def strength_at(inspection: Inspection, angle: float, lasting: CaseFactors, *, pressed: bool) -> float:
    """Hankinson's strength (MPa, exponent 2) at an angle to the grain (deg), in tension or in compression."""
    f = inspection.plane_strength
    if pressed:
        across = lasting.pressed * inspection.wood.strengths["compression_across"].value
        return hankinson(lasting.strength * f.compression_along, across, angle)
    return lasting.strength * hankinson(f.tension_along, f.tension_across, angle)


# ---- along edges


def _along_edges(
    inspection: Inspection, field: CaseField, actions: Sequence[tuple[Patch, Array]], lasting: CaseFactors
) -> list[AngleRow]:
    probes = inspection.probes
    stress, angle = along_edge(inspection.solution, field.stress, probes, inspection.grain)
    keep = free_probes(inspection, field.name, actions) & (angle >= LEAST_ANGLE)
    keep &= np.abs(stress) > NOISE * float(np.abs(field.stress).max())
    rows = [
        _worst_edge(inspection, field.name, stress, angle, keep & ((stress < 0.0) == pressed), lasting)
        for pressed in (False, True)
    ]
    return [row for row in rows if row is not None]


def along_edge(solution: Solution, stress: Array, probes: EdgeProbes, grain: float) -> tuple[Array, Array]:
    """Stress along the edge, the mean over 5 mm from each probe's start (k,), MPa, and its angle to the grain, deg.

    σ_t = σ_0 cos² + σ_90 sin² + 2 τ sin cos of the angle from the fibres to the edge.
    """
    x, y = probes.tangent.T
    turn = np.arctan2(y, x) - np.radians(grain)
    c, s = np.cos(turn), np.sin(turn)
    flat = solution.sampler.evaluate(
        stress, probes.element.reshape(-1), probes.reference.reshape(-1, 2), solution.stress_cells
    )
    along, across, shear = np.einsum("kqs,q->sk", flat.reshape(*probes.element.shape, 3), WEIGHTS)
    return c * c * along + s * s * across + 2 * s * c * shear, np.degrees(np.arctan2(np.abs(s), np.abs(c)))


def _worst_edge(
    inspection: Inspection, case: str, stress: Array, angle: Array, keep: BoolArray, lasting: CaseFactors
) -> AngleRow | None:
    """The worst of the probes to keep (k,), whose stresses are of one sign."""
    mine = np.flatnonzero(keep)
    if len(mine) == 0:
        return None
    pressed = bool(stress[mine[0]] < 0.0)
    limit = np.array([strength_at(inspection, a, lasting, pressed=pressed) for a in angle[mine].tolist()])
    worst = int((np.abs(stress[mine]) / limit).argmax())
    k = mine[worst]
    at = inspection.probes.points[k]
    note = f"stress along the free edge, mean over {DEPTH:g} mm from it"
    return _row(inspection, case, "edge", float(stress[k]), float(angle[k]), float(limit[worst]), at, note)


def free_probes(inspection: Inspection, case: str, actions: Sequence[tuple[Patch, Array]]) -> BoolArray:
    """Which probes (k,) start where nothing touches, not on a border of a region, nor near a place without a limit."""
    points = inspection.probes.points
    free = np.ones(len(points), dtype=bool)
    for place in inspection.places(case):
        free &= np.linalg.norm(points - place, axis=1) > DEPTH
    for line in inspection.outline.interfaces:
        p, along = np.array(line.start), np.subtract(line.end, line.start)
        share = np.clip((points - p) @ along / float(along @ along), 0.0, 1.0)
        free &= np.linalg.norm(points - p - share[:, None] * along, axis=1) > ON
    for patch, force in actions:
        free &= ~_touched(inspection, patch, force, points)
    return free


def _touched(inspection: Inspection, patch: Patch, force: Array, points: Array) -> BoolArray:
    """Which points (k, 2) a patch touches, or lie within 5 mm of it on an edge; of a pin in a hole the pressed half."""
    if patch.diameter is None:
        return patch.within(points, DEPTH)
    on_wall = patch.within(points, ON)
    kind = next((one.kind for one in inspection.part.supports if (patch.kind, one.name) == ("support", patch.name)), "")
    if kind not in {"pin", ""}:
        return on_wall
    return on_wall & ((points - patch.middle) @ force > 0.0)


# ---- at sections of the member


def _at_sections(inspection: Inspection, case: str, hand: Sequence[HandRow], lasting: CaseFactors) -> list[AngleRow]:
    """Stations where the grain slopes to the member: the greatest tension and compression of M/S + N/A."""
    found = []
    for row in inspection.rows(hand, case, lambda row: row.pull_region):
        if row.sigma_pull > 0.0:
            found.append(_section(inspection, row, row.sigma_pull, row.pull_region, lasting))
    for row in inspection.rows(hand, case, lambda row: row.sigma_region):
        if row.sigma_mcI < 0.0:
            found.append(_section(inspection, row, row.sigma_mcI, row.sigma_region, lasting))
    return [row for row in found if row is not None]


def _section(inspection: Inspection, row: HandRow, stress: float, region: str, lasting: CaseFactors) -> AngleRow | None:
    x, y = np.subtract(row.at[1], row.at[0])
    grain = choice_of(inspection.part, region).grain
    turn = np.arctan2(-x, y) - np.radians(grain)  # the member's axis stands square to its cut
    angle = float(np.degrees(np.arctan2(abs(np.sin(turn)), abs(np.cos(turn)))))
    if angle < LEAST_ANGLE:
        return None
    limit = strength_at(inspection, angle, lasting, pressed=stress < 0.0)
    note = f"M/S + N/A at the section {row.station}"
    return _row(inspection, row.case, "section", stress, angle, limit, np.mean(row.at, axis=0), note)


def _row(
    inspection: Inspection, case: str, kind: Kind, stress: float, angle: float, limit: float, at: Array, note: str
) -> AngleRow:
    anchor = anchor_of(inspection.outline, inspection.part, at)
    region = region_of(inspection.part, inspection.zone, at)
    end: End = "breaks" if stress > 0.0 else "crushes" if angle <= DENTS else "dents"
    return AngleRow(
        case, kind, end, stress, angle, limit, abs(stress) / limit,
        (float(at[0]), float(at[1])), place_text(at, anchor, region), note, anchor, region,
    )  # fmt: skip
