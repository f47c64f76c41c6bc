"""Bearing: what presses on the wood's surface or inside it, as mean pressures; and how one-way supports touch.

A dent is not a break. What is measured, against which limit, and why, stands in docs/theory.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..fem.contact import Contact
from ..fem.solution import Solution
from ..part.model import Case, Part, Support
from ..wood.bearing import DowelBearing, dent_depth, dowel_of, hankinson
from ..wood.case_factors import CaseFactors
from .edges import DEPTH
from .lasting import factors_of_case
from .modes import CaseField, Inspection
from .patches import Patch
from .search import NOISE
from .verdict import COMPRESSION_ACROSS, BesideRow, ContactRow
from .zones import NUDGE, choice_of, names_at

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

SMALL_NORMAL = 1e-9  # of the mean of unit normals: they cancel all round
LEAST = 5.0  # mm, own choice: a mean pressure is taken over at least this length of a patch that is as long
INSIDE = "inside"
MEAN_INSIDE = 5.0  # mm along the grain, own choice
CANDIDATES = 200  # stress points with the greatest pressure, around which means are taken
BEYOND = "dents beyond its play"
DEPTH_NOTE = "depth rough (own choice after two deformation bases)"


@dataclass(frozen=True)
class Bearing:
    """How one patch presses on one zone: mean pressure and limit (MPa), angle to the grain (deg), what was measured."""

    pressure: float
    limit: float
    angle: float
    note: str


def dent_rows(inspection: Inspection, case: str, actions: Sequence[tuple[Patch, Array]]) -> list[BesideRow]:
    """One row for every support or load that pushes into the wood of the zone.

    Parameters
    ----------
    inspection : Inspection
    case : str
    actions : sequence of (Patch, (2,) array)
        Each patch with the force on the wood there, N.
    """
    rows = []
    for patch, force in actions:
        if not patch.pushes(force):
            continue
        found = _bearing(inspection, case, patch, force)
        if found is not None:
            rows.append(_dent(inspection, case, patch, found))
    return rows


def _dent(inspection: Inspection, case: str, patch: Patch, found: Bearing) -> BesideRow:
    depth = dent_depth(found.pressure / found.limit)
    allowed = play_limit(inspection.part, patch)
    notes = [f"{found.note}, {found.angle:.0f} deg to the grain"]
    if depth is not None and allowed is not None and depth > allowed:
        notes.append(BEYOND)
    if depth is not None:
        notes.append(DEPTH_NOTE)
    row = inspection.row(
        case, COMPRESSION_ACROSS, found.pressure, found.limit, patch.middle, end="dents", decides=False, beside=True,
        where=patch.on.text, measured_from=None, name=patch.name, depth=depth, play_limit=allowed,
        note="; ".join(notes),
    )  # fmt: skip
    assert isinstance(row, BesideRow)
    return row


def play_limit(part: Part, patch: Patch) -> float | None:
    """How deep (mm) the wood may be dented at a support; None where nobody said, and for loads."""
    support = _support(part, patch.name) if patch.kind == "support" else None
    return None if support is None else support.play_limit


def beyond_play(rows: Sequence[BesideRow]) -> tuple[str, ...]:
    """Names of the supports that dent deeper than their play allows, in any case."""
    deep = [row.name for row in rows if row.depth and row.play_limit is not None and row.depth > row.play_limit]
    return tuple(dict.fromkeys(deep))


def _support(part: Part, name: str) -> Support | None:
    return next((support for support in part.supports if support.name == name), None)


def case_of(part: Part, name: str) -> Case:
    """The load case of that name."""
    return next(case for case in part.cases if case.name == name)


# ---- pressure under one patch


def _bearing(inspection: Inspection, case: str, patch: Patch, force: Array) -> Bearing | None:
    """Pressure and limit; None where nothing bears on the zone's wood."""
    lasting = factors_of_case(inspection.part, case_of(inspection.part, case))
    if patch.bearing is not None:
        if not patch.bears_on(force, inspection.regions).any():
            return None
        return _under_pin(inspection, patch, force, patch.bearing, lasting)
    contact = contact_of(inspection.part, inspection.solution, case, patch)
    found = _over_patch(inspection, patch, force) if contact is None else _over_contact(inspection, patch, contact)
    if found is None:
        return None
    pressure, share, what = found
    f = inspection.wood.strengths
    angle = float(np.degrees(np.arcsin(np.sqrt(min(share, 1.0)))))
    along = lasting.strength * f["compression_along"].value
    limit = hankinson(along, lasting.pressed * f["compression_across"].value, angle)
    return Bearing(pressure, limit, angle, what)


def _under_pin(inspection: Inspection, patch: Patch, force: Array, diameter: float, lasting: CaseFactors) -> Bearing:
    """F/(d t) against the dowel bearing strength at the angle of the force to the grain."""
    size = float(np.linalg.norm(force))
    across = min(abs(float(force @ _across(inspection))) / size, 1.0)
    angle = float(np.degrees(np.arcsin(across)))
    dowel = dowel_of(inspection.wood, diameter)
    against = "dowel bearing" if dowel.by_gravity else "compression"
    notes = ["pin: F/(d t) against " + against]
    if dowel.note:
        notes.append(dowel.note)
    if lasting.strength != 1.0:
        notes.append(lasting.said.replace("strength times", "times"))
    return Bearing(size / (diameter * patch.bearing_thickness(force)), _limit(dowel, lasting, angle), angle,
                   ", ".join(notes))  # fmt: skip


def _limit(dowel: DowelBearing, lasting: CaseFactors, angle: float) -> float:
    """Of a pin, MPa: dowel bearing takes the factor of duration; a limit across the grain that stands in does not."""
    across = dowel.across * (lasting.strength if dowel.by_gravity else lasting.pressed)
    return hankinson(lasting.strength * dowel.along, across, angle)


def _over_patch(inspection: Inspection, patch: Patch, force: Array) -> tuple[float, float, str] | None:
    """Mean pressure over the whole patch (MPa), mean of sin^2 of its angle to the grain in the zone, and words.

    The pressure is the one that, spread evenly, has the force's part along the mean normal.
    """
    mine = patch.weights * patch.bears_on(force, inspection.regions)
    if not mine.any():
        return None
    projected = float(np.linalg.norm((patch.weights * patch.thickness) @ patch.normals))
    share = float(mine @ (patch.normals @ _across(inspection)) ** 2) / float(mine.sum())
    return float(-force @ patch.normal) / projected, share, "mean pressure"


def _over_contact(inspection: Inspection, patch: Patch, contact: Contact) -> tuple[float, float, str] | None:
    """The same over what touches; sin^2 weighted by the force.

    Where less than `LEAST` (or less than the patch, if that is shorter) touches, the mean is over that much: pressure
    under an edge has no limit and would follow the mesh.
    """
    push = -np.einsum("ki,ki->k", contact.force, contact.support.normals)
    thickness, names = _under_nodes(inspection.part, contact)
    total, pressed = float(push.sum()), push > 0.0
    mine = pressed & np.isin(names, inspection.regions) if inspection.regions else pressed
    if total <= 0.0 or not mine.any():
        return None
    touching = contact.touching & (contact.support.area > 0.0)
    area, length = float(contact.support.area[touching].sum()), contact_length(contact, thickness)
    least = min(LEAST, patch.length)
    what = f"mean pressure over the {length:.3g} mm that touch"
    if length < least:
        area = float(push @ thickness) / total * least
        what = f"mean pressure over {least:.3g} mm, of which {length:.2g} mm touch"
    share = float(push[mine] @ (contact.support.normals[mine] @ _across(inspection)) ** 2) / float(push[mine].sum())
    return total / area, share, what


def _across(inspection: Inspection) -> Array:
    """Unit vector (2,) across the grain."""
    grain = np.radians(inspection.grain)
    return np.array([-np.sin(grain), np.cos(grain)])


# ---- one-way supports


def contact_of(part: Part, solution: Solution, case: str, patch: Patch) -> Contact | None:
    """How a support touches in a case, if it is a one-way support."""
    if patch.kind != "support" or not solution.contacts:
        return None
    number = [one.name for one in part.cases].index(case)
    return next((one for one in solution.contacts[number] if one.name == patch.name), None)


def _under_nodes(part: Part, contact: Contact) -> tuple[Array, list[str]]:
    """Thickness (k,) mm of the wood at the nodes of a support, and the names of its regions."""
    if not part.regions:
        return np.full(len(contact.points), part.wood.thickness), []
    names = names_at(part, contact.points - NUDGE * contact.support.normals)
    return np.array([choice_of(part, name).thickness for name in names]), names


def contact_length(contact: Contact, thickness: Array) -> float:
    """Length (mm) of surface that touches, by what each node stands for; `thickness` (k,) mm at the nodes."""
    return float((contact.support.area / thickness)[contact.touching].sum())


def contact_rows(part: Part, solution: Solution) -> tuple[ContactRow, ...]:
    """How each one-way support touches in each case.

    Parameters
    ----------
    part : Part
    solution : Solution
        With one entry a case of the part, in their order.
    """
    pairs = zip(part.cases, solution.contacts, strict=True) if solution.contacts else ()
    return tuple(
        _contact_row(part, case.name, contact)
        for case, found in pairs
        for contact in found
        if contact.support.others is None
    )


def _contact_row(part: Part, case: str, contact: Contact) -> ContactRow:
    thickness, touching = _under_nodes(part, contact)[0], contact.touching
    pressure = contact_pressures(contact, contact.support.area / thickness)
    worst = int(pressure.argmax())
    force, at, bears = contact.resultant, contact.points[worst], bool(pressure[worst] > 0.0)
    return ContactRow(
        name=contact.name,
        case=case,
        force=(float(force[0]), float(force[1])),
        pressure=float(pressure[worst]) if bears else None,
        at=(float(at[0]), float(at[1])) if bears else None,
        length=contact_length(contact, thickness),
        arcs=contact.arcs,
        play=_play(part, contact),
        open=not bool(np.linalg.norm(force) > 0.0),
        slip=float(np.abs(contact.slip[touching]).max()) if touching.any() else 0.0,
        profile=_profile(contact, pressure) if bears else (),
    )


def _profile(contact: Contact, pressure: Array) -> tuple[tuple[float, float, float, float, float], ...]:
    """Points of what touches in their order along the surface, with normals and pressures; at most 60."""
    center = contact.support.center
    bears = np.flatnonzero(contact.touching)
    points, normals = contact.points[bears], contact.support.normals[bears]
    if center is None:
        way = contact.points[-1] - contact.points[0] if len(contact.points) > 1 else np.array([1.0, 0.0])
        across = np.array([-normals.mean(axis=0)[1], normals.mean(axis=0)[0]])
        along = points @ (across if np.linalg.norm(across) > SMALL_NORMAL else way)
    else:  # from the middle of the arc, so that it may lie across any angle
        middle = -normals.sum(axis=0)
        turn = np.stack([middle, [-middle[1], middle[0]]])
        x, y = turn @ (points - center).T
        along = np.arctan2(y, x)
    order = np.argsort(along)
    order = order[:: max(1, len(order) // 60)]
    rows = np.column_stack([points, normals, pressure[bears]])[order]
    return tuple((float(x), float(y), float(nx), float(ny), float(p)) for x, y, nx, ny, p in rows)


def contact_pressures(contact: Contact, length: Array) -> Array:
    """Mean pressure (k,) MPa over the 5 mm of surface nearest to each node of a support; 0 on points.

    Means, since at the end of a stiff rest the pressure of single nodes has no limit and follows the mesh.

    Parameters
    ----------
    contact : Contact
    length : (k,) array
        Of surface that each node stands for, mm.
    """
    push = -np.einsum("ki,ki->k", contact.force, contact.support.normals)
    apart = np.linalg.norm(contact.points[:, None] - contact.points[None], axis=2)
    order = np.argsort(apart, axis=1, kind="stable")
    near = length[order]
    before = np.cumsum(near, axis=1) - near
    share = np.clip(LEAST - before, 0.0, near) / np.maximum(near, 1e-300)
    face = (share * contact.support.area[order]).sum(axis=1)
    total = (share * push[order]).sum(axis=1)
    return np.asarray(np.divide(total, face, out=np.zeros(len(face)), where=face > 0.0))


def _play(part: Part, contact: Contact) -> float | None:
    """Hole less pin, or the gap of a rest, mm; None where nobody said."""
    support = _support(part, contact.name)
    if support is None:
        return None
    if support.kind != "pin":
        return support.gap or 0.0
    hole = next(hole for hole in part.holes if hole.name == support.on.name)
    return hole.diameter - (hole.diameter if support.pin is None else support.pin)


# ---- pressed inside


def inside_rows(inspection: Inspection, field: CaseField) -> list[BesideRow]:
    """Where a part with regions is pressed most across the grain away from all patches: a row, if anywhere.

    A web between flanges can crush where no support or load touches it. The pressure is the mean over 5 mm along the
    grain (own choice), around the stress points with the greatest pressure that are further than 5 mm from the surface
    under a patch and from places without a limit.
    """
    if not inspection.part.regions:
        return []
    points = inspection.solution.model.mesh.points[inspection.solution.stress_point]
    away = inspection.clear(field.name)
    for patch in inspection.patches.values():
        away &= ~patch.within(points, DEPTH)
    pressed = np.where(away, -field.stress[:, 1], 0.0)
    worst = np.argsort(-pressed)[:CANDIDATES]
    worst = worst[pressed[worst] > NOISE * float(np.abs(field.stress).max(initial=0.0))]
    if len(worst) == 0:
        return []
    places = _in_their_wood(inspection.solution, worst)
    means = _means_along(inspection, field, places)
    i = int(means.argmax())
    lasting = factors_of_case(inspection.part, case_of(inspection.part, field.name))
    f = lasting.pressed * inspection.wood.strengths["compression_across"].value
    depth = dent_depth(float(means[i]) / f)
    note = f"mean over {MEAN_INSIDE:g} mm along the grain, away from supports and loads"
    row = inspection.row(
        field.name, COMPRESSION_ACROSS, float(means[i]), f, places[i], end="dents", decides=False, beside=True,
        name=INSIDE, depth=depth, note=f"{note}; {DEPTH_NOTE}" if depth else note, peak=float(pressed[worst[0]]),
    )  # fmt: skip
    assert isinstance(row, BesideRow)
    return [row]


def _in_their_wood(solution: Solution, numbers: NDArray[np.intp]) -> Array:
    """Stress points (k,) by number as places (k, 2) mm, moved a little into an element of the wood they belong to."""
    points, cells = solution.model.mesh.points, solution.stress_cells
    order = np.argsort(cells.reshape(-1), kind="stable")
    element = order[np.searchsorted(cells.reshape(-1)[order], numbers)] // cells.shape[1]
    place = points[solution.stress_point[numbers]]
    toward = points[solution.stress_point[cells[element][:, :3]]].mean(axis=1) - place
    return np.asarray(place + NUDGE * toward / np.linalg.norm(toward, axis=1)[:, None])


def _means_along(inspection: Inspection, field: CaseField, places: Array) -> Array:
    """Mean pressure across the grain (k,) over 5 mm along the grain with places (k, 2) in the middle.

    What lies outside the part is left out.
    """
    solution, grain = inspection.solution, np.radians(inspection.grain)
    t, w = np.polynomial.legendre.leggauss(8)
    line = places[:, None] + 0.5 * MEAN_INSIDE * t[None, :, None] * np.array([np.cos(grain), np.sin(grain)])
    stress = solution.sampler.interpolate(field.stress, line.reshape(-1, 2), solution.stress_blocks)
    pressure = -stress[:, 1].reshape(len(places), -1)
    inside = np.isfinite(pressure)
    return np.asarray((np.where(inside, pressure, 0.0) @ w) / np.maximum(inside @ w, 1e-12))
