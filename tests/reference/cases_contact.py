"""Contact: pins in wide plates with and without play (5.1 to 5.7), lugs (5.12 to 5.18), supports that only push (9)."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from functools import cache

import numpy as np
from cases_holes import SIDES, square_with_hole, w1_compliance
from checks import Check, numbers, reference_cases, relative, worst
from lekhnitskii import hole_under, nearly_isotropic, pressed_hole
from numpy.typing import NDArray
from plates import (
    W1,
    circle,
    drawn,
    graded,
    growing,
    hold,
    hoop,
    isotropic,
    lines,
    mapped,
    plate,
    polar,
    pull,
    unknowns,
)

from fesolve.fem.contact import Contact
from fesolve.fem.solution import Solution
from fesolve.mesh.mesh import Mesh

Array = NDArray[np.float64]

A = 10.0  # hole radius, mm


# ---- a pin in a wide plate


def seated(mesh: Mesh, reach: float = 95.0) -> Mesh:
    """The mesh with the sides of its hole within `reach` deg of +x as edge "seat": nothing touches beyond."""
    sides = mesh.edges["hole"]
    x, y = mesh.points[sides[:, 2]].T
    near = np.abs(np.degrees(np.arctan2(y, x))) < reach
    return dataclasses.replace(mesh, edges={**mesh.edges, "seat": sides[near]})


def angles_of(contact: Contact) -> tuple[Array, Array]:
    """Angles (k,) deg of a pin's nodes in rising order, and that order."""
    angle = np.degrees(np.arctan2(contact.points[:, 1], contact.points[:, 0]))
    order = np.argsort(angle)
    return angle[order], order


def pressures(contact: Contact, degrees: Array) -> Array:
    """Pressure at angles, between nodes by lines."""
    angle, order = angles_of(contact)
    return np.interp(degrees, angle, contact.pressure[order], left=0.0, right=0.0)


@cache
def wide_plate(case: str) -> tuple[Solution, float]:
    """A pin that pushes a square of 20 radii to +x; round it the tractions of the infinite plate under the same pin.

    They depend on the pressure that is looked for: begun with a cosine, they are made again from what was found, three
    times, which leaves 1e-4 of the pressure. Returns the solution and sb.
    """
    inputs, expected = reference_cases()[case]["inputs"], reference_cases()[case]["expected"]
    material, grain = (isotropic(12_000, 0.3), 0.0) if case == "5.1" else (W1, inputs["grain_deg"])
    S = nearly_isotropic(12_000, 0.3) if case == "5.1" else w1_compliance(grain)
    force, diameter, half = inputs["P_per_thickness"] / 1000, 2 * A - 2000 * inputs["clearance"], 10 * A
    ends = expected["contact_to_deg"] + np.array([-1, -0.5, 0, 0.5])
    peaks = [expected["hoop_max_at_deg"], expected["p_max_at_deg"]]
    narrow = np.concatenate([ends, peaks, np.negative(peaks), -ends, [180.0]])
    mesh = seated(square_with_hole(half, [*narrow], fine=64, finest=600))
    bare = hold(plate(mesh, material, grain), (-half, -half), (half, -half))
    model = bare.one_way_pin("seat", (0.0, 0.0), diameter, force=(force, 0.0), name="pin")
    round_it = np.degrees(2 * np.pi * np.arange(8192) / 8192)
    field = pressed_hole(S, A, force)
    for _ in range(3):
        solution = pull(model, SIDES, field.stress).solve()
        field = hole_under(S, A, pressures(solution.contact("pin"), (round_it + 180) % 360 - 180))
    return solution, force / (2 * A)


def pin_in_plate(case: str) -> list[Check]:
    """5.1 to 5.7: pressure and hoop stress at 1 %, ends of the contact within 0.5 deg.

    Pressure rises like a root from its end, which has a tolerance of its own: within 0.5 deg of it the error is
    one of sb.
    """
    solution, sb = wide_plate(case)
    pin, size = solution.contact("pin"), unknowns(solution)
    angle, p, edge, to, p_max, hoop_max, at_most = numbers(
        case, "theta_deg", "p_over_sb", "hoop_over_sb", "contact_to_deg", "p_max_over_sb", "hoop_max_over_sb",
        "hoop_max_at_deg",
    )  # fmt: skip
    angle, p = np.array(angle), np.array(p)
    found = pressures(pin, angle) / sb
    ((begin, end),) = pin.arcs
    near = np.abs(np.abs(angle) - to) <= 0.5
    bears = (p > 0) & ~near
    peak = hoop(solution, (0, 0), A, np.array([at_most]) + np.arange(-1, 1.01, 0.05)).max() / sb
    rows = [
        Check(case, "contact begins, deg", -to, begin, 0.5, 1.0, size),
        Check(case, "contact ends, deg", to, end, 0.5, 1.0, size),
        worst(case, "p / sb", p[bears], list(found[bears]), 0.01, "{} deg", places=angle[bears], unknowns=size),
        relative(case, "greatest p / sb", p_max, pin.pressure.max() / sb, 0.01, unknowns=size),
        worst(case, "hoop / sb", edge, list(hoop(solution, (0, 0), A, angle) / sb), 0.01, "{} deg", places=angle,
              floor=0.1, unknowns=size),
        relative(case, "greatest hoop / sb", hoop_max, peak, 0.01, unknowns=size),
    ]  # fmt: skip
    if near.any():
        rows.append(
            worst(case, "p / sb, within 0.5 deg of the end", p[near], list(found[near]), 0.01, "{} deg",
                  places=angle[near], floor=1.0, unknowns=size)
        )  # fmt: skip
    return rows


# ---- lugs


@cache
def lug_solution(case: str) -> Solution:
    inputs, expected = reference_cases()[case]["inputs"], reference_cases()[case]["expected"]
    width, free, far = (1000 * inputs[k] for k in ("width", "edge_distance_centre_to_free_end", "far_end_distance"))
    material, grain = (isotropic(1000, 0.3), 0.0) if case == "5.12" else (W1, inputs["grain_deg"])
    y = width / 2
    loop = lines([(-far, -y), (free, -y), (free, y), (-far, y)], SIDES)
    end = expected["contact_arc_deg"][1]
    peaks = [expected["hoop_max_upper_over_sb_and_angle"][1], expected["p_max_over_sb_and_angle"][1]]
    narrow = np.array([end - 1, end - 0.5, end, end + 0.5, *peaks])
    sources = [(polar(A, np.arange(0, 360, 0.5)), A / 64), (polar(A, np.append(narrow, -narrow)), A / 500)]
    size = graded(np.array([-far, -y, free, y]), sources, width / 8, 0.2)
    mesh = seated(drawn([loop, circle((0, 0), A, "hole")], size), 100.0)
    corner = np.flatnonzero(np.abs(mesh.points - [-far, -y]).max(axis=1) < 1e-9)
    mesh = dataclasses.replace(mesh, point_sets={**mesh.point_sets, "corner": corner})
    model = plate(mesh, material, grain).fix("left", ["x"]).fix("corner", ["y"])
    return model.one_way_pin("seat", (0.0, 0.0), 2 * A, force=(1.0, 0.0), name="pin").solve()


def lug(case: str) -> list[Check]:
    """5.12, 5.13, 5.16: contact within 1 deg, pressure 1 %, greatest hoop stress 2 %; the pin's way."""
    solution, sb = lug_solution(case), 1.0 / (2 * A)
    pin, size = solution.contact("pin"), unknowns(solution)
    arc, moved, p_0, (p_max, _), upper, lower, along = numbers(
        case, "contact_arc_deg", "pin_displacement_x_y_from_contact_free_centre", "p_at_0_over_sb",
        "p_max_over_sb_and_angle", "hoop_max_upper_over_sb_and_angle", "hoop_max_lower_over_sb_and_angle",
        "hoop_0_over_sb",
    )  # fmt: skip
    ((begin, end),) = pin.arcs
    rows = [
        Check(case, "contact begins, deg", arc[0], begin, 1.0, 1.0, size),
        Check(case, "contact ends, deg", arc[1], end, 1.0, 1.0, size),
        relative(case, "p / sb at 0 deg", p_0, pressures(pin, np.array([0.0]))[0] / sb, 0.01, unknowns=size),
        relative(case, "greatest p / sb", p_max, pin.pressure.max() / sb, 0.01, unknowns=size),
    ]
    for name, (value, at) in (("above", upper), ("below", lower)):
        peak = hoop(solution, (0, 0), A, at + np.arange(-1.5, 1.51, 0.05)).max() / sb
        rows.append(relative(case, f"greatest hoop / sb, {name}", value, peak, 0.02, unknowns=size))
    ahead = hoop(solution, (0, 0), A, np.array([0.0]))[0] / sb
    return [
        *rows,
        relative(case, "hoop / sb at 0 deg", along, ahead, 0.01, unknowns=size, own=True),
        relative(case, "pin moves along x, mm", 1e6 * moved[0], pin.moved[0], 0.005, unknowns=size, own=True),
        relative(case, "pin moves along y, mm", 1e6 * moved[1], pin.moved[1], 0.005, unknowns=size, own=True),
    ]


def steel_pin(case: str) -> list[Check]:
    """5.18, for information: the published factor is that of a steel pin in a laminate, ours of a rigid one."""
    solution, sb = wide_plate("5.1")
    peak = hoop(solution, (0, 0), A, np.arange(75, 90, 0.05)).max() / sb
    (published,) = numbers(case, "Ktb_quasi_isotropic")
    return [
        relative(case, "greatest hoop / sb, isotropic, rigid pin", published, peak, None, unknowns=unknowns(solution))
    ]


# ---- beams


def beam_on_points(case: str, force: float) -> Solution:
    """A strip 4 m long, 40 mm deep, on three points that push; bent as a beam of the case's EI."""
    EI, depth, weight = (
        1e6 * reference_cases()[case]["inputs"]["EI"],
        40.0,
        reference_cases()[case]["inputs"]["q"] / 1000,
    )
    length, E = 4000.0, 12_000.0
    thickness = EI * 12 / (E * depth**3)
    mesh = mapped(
        np.linspace(0, 1, 161), np.linspace(0, 1, 3), lambda u, v: np.stack([length * u, depth * v], 1), "quad8"
    )
    at = {"A": (0, 0), "B": (2000, 0), "C": (4000, 0), "load": (1000, depth)}
    sets = {name: np.flatnonzero(np.abs(mesh.points - np.array(xy)).max(axis=1) < 1e-6) for name, xy in at.items()}
    mesh = dataclasses.replace(mesh, point_sets=sets)
    model = dataclasses.replace(plate(mesh, isotropic(E, 0.0)), thickness=thickness)
    for name in "ABC":
        model = model.one_way(name, normal=(0.0, -1.0))
    model = model.fix("B", ["x"], name="middle").force("load", (0.0, -force), name="force")
    return model.body_force((0.0, -weight / (thickness * depth))).solve()


def three_supports(case: str) -> list[Check]:
    """9.1, 9.2: reactions at 1 %, and where the far end lifts off."""
    expected = reference_cases()[case]["expected"]
    solution = beam_on_points(case, reference_cases()[case]["inputs"]["P"])
    size = unknowns(solution)
    reactions = solution.reactions
    rows = [
        relative(case, f"R_{name}, N", expected[f"R{name}"], reactions[name][1], 0.01, unknowns=size,
                 floor=1.0)
        for name in "ABC"
    ]  # fmt: skip
    lift = solution.contact("C").gap[0]
    rows.append(
        relative(
            case, "the far end lifts by, mm", 1000 * expected["v_C"], lift, 0.01, unknowns=size, floor=1.0, own=True
        )
    )
    if case == "9.1":
        two = beam_on_points(case, 1500.0).reactions["C"][1]
        one, least = reactions["C"][1], reference_cases()[case]["inputs"]["P"]
        lifts = least + (1500.0 - least) * one / (one - two)
        (threshold,) = numbers(case, "lift_off_threshold_P")
        rows.append(relative(case, "force that lifts the far end, N", threshold, lifts, 0.01, unknowns=size, own=True))
    return rows


def tensionless_bed(case: str) -> list[Check]:
    """9.4: half a long strip, 20 mm deep, on a bed that only pushes, at 0.1 %."""
    inputs, depth, length, E = reference_cases()[case]["inputs"], 20.0, 1500.0, 12_000.0
    thickness = 1e6 * inputs["EI"] * 12 / (E * depth**3)
    mesh = mapped(
        np.linspace(0, 1, 301), np.linspace(0, 1, 3), lambda u, v: np.stack([length * u, depth * v], 1), "quad8"
    )
    sets = {"middle": np.flatnonzero(np.abs(mesh.points - [0, depth]).max(axis=1) < 1e-6)}
    mesh = dataclasses.replace(mesh, point_sets=sets)
    model = dataclasses.replace(plate(mesh, isotropic(E, 0.0)), thickness=thickness).fix("u0", ["x"])
    model = model.one_way("v0", stiffness=inputs["k"] / 1e6, name="bed").force("middle", (0.0, -inputs["P"] / 2))
    solution = model.solve()
    bed, size = solution.contact("bed"), unknowns(solution)
    order = np.argsort(bed.points[:, 0])
    x = bed.points[order, 0]
    sunk = -solution.displacement[bed.support.nodes[order], 1]
    first = int(np.argmax(sunk < 0))
    zero = x[first - 1] + (x[first] - x[first - 1]) * sunk[first - 1] / (sunk[first - 1] - sunk[first])
    half, w, M = numbers(case, "contact_half_length", "w0", "M0")
    return [
        relative(case, "contact's half length, mm", 1000 * half, zero, 0.001, unknowns=size),
        relative(case, "sinks under the force, mm", 1000 * w, sunk[0], 0.001, unknowns=size),
        relative(
            case, "greatest moment, N m", M, (bed.force[:, 1] * bed.points[:, 0]).sum() / 1000, 0.001, unknowns=size
        ),
    ]


# ---- receding contact


def layer(case: str, patch: float) -> Solution:
    """Half a layer 100 mm deep on a rigid base, pressed by 2 N/mm over a patch of the given width in the middle."""
    h = 100.0
    material, reach, far = (isotropic(12_000, 0.3), 1.2, 6.0) if case == "9.5" else (W1, 2.2, 12.0)
    near = np.linspace(0, reach * h, round(reach * 80) + 1)
    x = np.concatenate([near, reach * h + (far - reach) * h * growing(24, 20.0)[1:]])
    y = h * np.concatenate([0.5 * growing(20, 4.0), 1 - 0.5 * growing(20, 4.0)[-2::-1]])
    mesh = mapped(x, y, lambda u, v: np.stack([u, v], 1), "quad8")
    top, base = (mesh.points[mesh.edges[name][:, :2], 0].max(axis=1) for name in ("v1", "v0"))
    edges = {
        **mesh.edges,
        "patch": mesh.edges["v1"][top < patch * h / 2 + 1e-6],
        "base": mesh.edges["v0"][base < reach * h + 1e-6],
    }
    model = plate(dataclasses.replace(mesh, edges=edges), material).fix("u0", ["x"]).one_way("base")
    return model.force("patch", (0.0, -1.0)).solve()


def receding(case: str) -> list[Check]:
    """9.5, 9.6: half the contact within 0.006 h, the middle's deflection at 0.1 %."""
    expected, h, rows = reference_cases()[case]["expected"], 100.0, []
    patches: Sequence[float] = reference_cases()[case]["inputs"]["patch_over_h"]
    for patch, length in zip(patches, expected["contact_half_length_over_h"], strict=True):
        solution = layer(case, patch)
        base, size = solution.contact("base"), unknowns(solution)
        x = base.points[:, 0]
        found = (x[base.touching].max() + x[~base.touching].min()) / 2 / h
        rows.append(Check(case, f"contact's half length / h, patch {patch} h", length, found, 0.006, 1.0, size))
        if patch == 0.5:
            top = int(np.argmin(np.abs(solution.model.mesh.points - [0, h]).max(axis=1)))
            (deep,) = numbers(case, "top_centre_deflection_patch_0p5h")
            rows.append(
                relative(case, "deflection of the top's middle, mm", 1000 * deep, -solution.displacement[top, 1], 0.001,
                         unknowns=size)
            )  # fmt: skip
    return rows


FAMILIES = {
    **dict.fromkeys(("5.1", "5.2", "5.3", "5.5", "5.7"), pin_in_plate),
    **dict.fromkeys(("5.12", "5.13", "5.16"), lug),
    "5.18": steel_pin,
    **dict.fromkeys(("9.1", "9.2"), three_supports),
    "9.4": tensionless_bed,
    **dict.fromkeys(("9.5", "9.6"), receding),
}

SLOW = (pin_in_plate, lug, steel_pin, receding)
