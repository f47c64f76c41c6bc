"""Polynomial beams and the wedge (3.1 to 3.7), patch tests (3.10, 3.11), short beams (section 4)."""

from __future__ import annotations

import numpy as np
from checks import Check, numbers, rate, reference_cases, relative, worst
from closed_forms import AiryField, Wedge, cantilever, pressed_beam
from lekhnitskii import compliance_xy
from numpy.typing import NDArray
from plates import (
    W1,
    Field,
    drawn,
    energy_error,
    fitted_rate,
    graded,
    hold,
    isotropic,
    lines,
    mapped,
    plate,
    pull,
    unknowns,
    without_rigid_motion,
)

from fesolve.fem.recovery import element_strain
from fesolve.fem.solution import Solution
from fesolve.mesh.mesh import Mesh

Array = NDArray[np.float64]

ALL_SIDES = ("u0", "u1", "v0", "v1")


def w1_compliance(grain: float) -> Array:
    return compliance_xy(12_000, 600, 780, 0.4, grain)


# ---- exact polynomials and the wedge


def strip_mesh(x0: float, x1: float, h: float, count: int) -> Mesh:
    """Right-angled T6, `count` squares over the depth."""
    along = np.linspace(x0, x1, round(count * (x1 - x0) / h) + 1)
    return mapped(along, np.linspace(-h / 2, h / 2, count + 1), lambda u, v: np.stack([u, v], axis=1))


def solved(mesh: Mesh, grain: float, stress: Field) -> Solution:
    """All four sides under exact tractions, three displacements held."""
    low, high = mesh.points.min(axis=0), mesh.points.max(axis=0)
    model = pull(plate(mesh, W1, grain), ALL_SIDES, stress)
    return hold(model, (low[0], low[1]), (high[0], low[1])).solve()


def polynomial_beam(case: str) -> list[Check]:
    """3.1 to 3.5: the reference's points by the formula and by the mesh, the order of convergence, the deflection."""
    inputs = reference_cases()[case]["inputs"]
    grain, L, h = inputs["grain_deg"], 1e3 * inputs["L"], 1e3 * inputs["h"]
    S = w1_compliance(grain)
    if case in {"3.1", "3.2"}:
        field, ends = cantilever(S, h, inputs["load"] / 1e3), (0.0, L)
    else:
        field, ends = pressed_beam(S, L, h, inputs["load"] / 1e6), (-L / 2, L / 2)
    points, stress, moved = (np.array(x) for x in numbers(case, "points", "stress", "displacement"))
    at, stress, moved = 1e3 * points, stress / 1e6, 1e3 * moved
    solutions = [solved(strip_mesh(*ends, h, count), grain, field.stress) for count in (4, 8, 16)]
    errors = [energy_error(solution, field.stress) for solution in solutions]
    best, size = solutions[-1], unknowns(solutions[-1])
    shown = ", ".join(f"{e:.2g}" for e in errors)
    rows = [
        *_points(case, "formula: ", at, stress, moved, field.stress(at), field.displacement(at), 0),
        rate(case, f"order of the energy norm's error, triangle6 ({shown})", 2, fitted_rate((4, 2, 1), errors), size),
        *_points(case, "", at, stress, moved, best.stress_at(at), _aligned(best, field, at), size),
    ]
    return rows + (_tip(case, best, L, size) if case in {"3.1", "3.2"} else _bottom(case, best, h, size))


def _aligned(solution: Solution, field: AiryField, at: Array) -> Array:
    """Displacement of the mesh at points (k, 2), moved rigidly onto the exact one over all nodes."""
    mesh = solution.model.mesh.points
    exact = field.displacement(mesh)
    rigid = (exact - without_rigid_motion(mesh, exact)) - (
        solution.displacement - without_rigid_motion(mesh, solution.displacement)
    )
    return solution.sampler.interpolate(solution.displacement + rigid, at)


def _points(
    case: str, what: str, at: Array, stress: Array, moved: Array, found: Array, shift: Array, size: int
) -> list[Check]:
    """Stress and displacement at the reference's points, errors relative to the greatest of each."""
    where = [f"({x:g}, {y:g}) mm" for x, y in at]
    tolerance = (0.005, 1e-3) if size else (1e-6, 1e-6)
    return [
        worst(case, f"{what}stress, MPa", stress.ravel(), found.ravel(), tolerance[0], "{}", floor=np.abs(stress).max(),
              places=[f"{c} at {w}" for w in where for c in ("sx", "sy", "txy")], unknowns=size, own=bool(size)),
        worst(case, f"{what}displacement, mm", moved.ravel(), shift.ravel(), tolerance[1], "{}",
              floor=np.abs(moved).max(), places=[f"{c} at {w}" for w in where for c in "uv"], unknowns=size,
              own=bool(size)),
    ]  # fmt: skip


def _tip(case: str, solution: Solution, L: float, size: int) -> list[Check]:
    """Deflection of the loaded end from the tangent of the axis at the root: F L^3 S11/(3 I)."""
    (expected,) = numbers(case, "tip_v_with_u=v=dv/dx=0_at_(L,0)")
    at = np.array([[0.0, 0.0], [L, 0.0], [L - 10, 0.0]])
    near = np.linspace(L - 40, L, 9)
    axis = solution.sampler.interpolate(solution.displacement, np.stack([near, np.zeros(9)], axis=1))[:, 1]
    slope = np.polynomial.Polynomial.fit(near, axis, 3).deriv()(L)
    v = solution.sampler.interpolate(solution.displacement, at)[:, 1]
    found = v[0] - v[1] + slope * L
    name = "tip deflection from the axis' tangent at the root, mm"
    return [relative(case, name, 1e3 * expected, found, 1e-3, unknowns=size, own=True)]


def _bottom(case: str, solution: Solution, h: float, size: int) -> list[Check]:
    """Bottom fibre at midspan."""
    (expected,) = numbers(case, "bottom_fibre_sx_midspan")
    found = solution.stress_at(np.array([[0.0, -h / 2]]))[0, 0]
    return [relative(case, "bottom fibre sx at midspan, MPa", expected / 1e6, found, 0.005, unknowns=size, own=True)]


def wedge(case: str) -> list[Check]:
    """3.7: 200 <= r <= 500 mm, exact tractions on both ends, faces free."""
    inputs = reference_cases()[case]["inputs"]
    low, high = inputs["wedge_deg"]
    field = Wedge(w1_compliance(0.0), low, high, inputs["P"] / 1e3, inputs["direction_deg"])
    points, stress = numbers(case, "points", "stress")
    at, stress = 1e3 * np.array(points), np.array(stress) / 1e6
    t = np.radians([low, high])

    def mesh(count: int) -> Mesh:
        def place(u: Array, v: Array) -> Array:
            return np.stack([u * np.cos(v), u * np.sin(v)], axis=1)

        return mapped(np.linspace(200, 500, 3 * count + 1), np.linspace(*t, count + 1), place)

    def solve(count: int) -> Solution:
        model = pull(plate(mesh(count), W1), ("u0", "u1"), field.stress)
        return hold(model, (200.0, 0.0), (500.0, 0.0)).solve()

    solutions = [solve(count) for count in (4, 8, 16)]
    errors = [energy_error(solution, field.stress) for solution in solutions]
    size, shown = unknowns(solutions[-1]), ", ".join(f"{e:.2g}" for e in errors)
    places = [f"{c} at ({x:.0f}, {y:.0f}) mm" for x, y in at for c in ("sx", "sy", "txy")]
    floor = {"floor": float(np.abs(stress).max()), "places": places}
    inward = at * [1.0, 1 - 1e-9]
    return [
        worst(case, "formula: stress, MPa", stress.ravel(), field.stress(at).ravel(), 1e-6, "{}", **floor),
        rate(case, f"order of the energy norm's error, triangle6 ({shown})", 2, fitted_rate((4, 2, 1), errors), size),
        worst(case, "stress, MPa", stress.ravel(), solutions[-1].stress_at(inward).ravel(), 0.005, "{}", unknowns=size,
              own=True, **floor),
    ]  # fmt: skip


# ---- patch tests


def distorted(kind: str) -> Mesh:
    """A 60 x 40 mm rectangle of 6 x 4 crooked squares: inner nodes moved by up to a fifth of a square."""
    random = np.random.default_rng(7)
    shift = random.uniform(-2.0, 2.0, (7, 5, 2))
    shift[[0, -1]] = shift[:, [0, -1]] = 0.0

    def place(u: Array, v: Array) -> Array:
        # the shift is interpolated between corners, so that middles stay halfway
        i, j = np.minimum(u.astype(int), 5), np.minimum(v.astype(int), 3)
        x, y = (u - i)[:, None], (v - j)[:, None]
        moved = (1 - x) * ((1 - y) * shift[i, j] + y * shift[i, j + 1]) + x * (
            (1 - y) * shift[i + 1, j] + y * shift[i + 1, j + 1]
        )
        return 10.0 * np.stack([u, v], axis=1) + moved

    return mapped(np.arange(7.0), np.arange(5.0), place, kind)


def patch_test(case: str) -> list[Check]:
    """3.10, 3.11: uniform stress on distorted meshes of each element; strain at every quadrature point."""
    grain = reference_cases()[case]["inputs"]["grain_deg"]
    rows = []
    for kind in ("triangle", "triangle6", "quad", "quad8"):
        mesh = distorted(kind)
        for i, name in enumerate(("sx", "sy", "txy")):
            (expected,) = numbers(case, f"strain_for_{name}_1MPa")
            expected = np.array(expected)
            stress = np.eye(3)[i]
            solution = solved(mesh, grain, lambda p, stress=stress: np.broadcast_to(stress, (len(p), 3)))
            strain = np.concatenate(
                [
                    element_strain(mesh.points, cells, solution.displacement[None], element.rule[0], element)[..., 0, :]
                    for element, cells, _ in solution.model.blocks
                ]
            ).reshape(-1, 3)
            most = float(np.abs(expected).max())
            k = int(np.argmax(np.abs(strain - expected).max(axis=1)))
            rows.append(
                worst(case, f"strain for {name} = 1 MPa, {kind}, worst point", _exact(case, i), strain[k], 1e-10, "{}",
                      places=("ex", "ey", "gxy"), floor=most, unknowns=unknowns(solution))
            )  # fmt: skip
    return rows


def _exact(case: str, column: int) -> Array:
    """The reference's compliance column, which it prints to eight digits, computed in full from its constants."""
    return w1_compliance(reference_cases()[case]["inputs"]["grain_deg"])[:, column]


# ---- short beams


def beam_mesh(span: float, patch: float, h: float, over: float) -> Mesh:
    """|x| <= span/2 + over, |y| <= h/2; sides of 2 mm, finer where values are asked for and to the patch ends."""
    x, y, c, s = span / 2 + over, h / 2, patch / 2, span / 2
    points = [(-x, -y), (-s - c, -y), (-s + c, -y), (s - c, -y), (s + c, -y), (x, -y), (x, y), (c, y), (-c, y), (-x, y)]
    names = ("low", "support 1", "low", "support 2", "low", "right", "top", "load", "top", "left")
    ends = np.array([p for p in points if abs(p[0]) != x])
    columns = np.array([-span / 4, span / 4, c, s - c])
    asked = np.stack(np.meshgrid(columns, np.linspace(-y, y, 101)), axis=-1).reshape(-1, 2)
    depth = np.arange(4.0, 28.0, 1.0)
    near = np.concatenate([np.stack([np.full(24, c), y - depth], 1), np.stack([np.full(24, s - c), depth - y], 1)])
    size = graded(np.array([-x, -y, x, y]), [(ends, patch / 60), (asked, 0.8), (near, 0.5)], 2.0, 0.15)
    return drawn([lines(points, names)], size)


def short_beam(case: str) -> list[Check]:
    """Section 4: pressure on the top patch, carried by pressures on two patches below."""
    inputs, expected = reference_cases()[case]["inputs"], reference_cases()[case]["expected"]
    h, span, over, patch = (1e3 * inputs[k] for k in ("h", "span", "overhang_each_side", "patch_length"))
    V = inputs["V"] / 1e3
    wood = W1 if isinstance(inputs["material"], dict) else isotropic(12_000, 0.3)
    model = plate(beam_mesh(span, patch, h, over), wood, inputs["grain_deg"] or 0.0)
    model = model.pressure("load", 2 * V / patch).pressure("support 1", V / patch).pressure("support 2", V / patch)
    solution = hold(model, (-span / 2 - over, -h / 2), (span / 2 + over, -h / 2)).solve()
    size, unit = unknowns(solution), 1.5 * V / h

    def shear(x: float | Array, y: float | Array) -> Array:
        at = np.stack(np.broadcast_arrays(np.atleast_1d(x), np.atleast_1d(y)), axis=1).astype(float)
        return solution.stress_at(at)[:, 2] / unit

    def row(quantity: str, key: str, x: float, y: Array, tolerance: float, of: list[str] | None = None) -> Check:
        places = of or list(expected[key])
        return worst(case, quantity, [expected[key][p] for p in places], shear(x, y), tolerance, "{}", places=places,
                     unknowns=size)  # fmt: skip

    def heights(key: str) -> Array:
        return h * np.array([float(p.rstrip("h")) for p in expected[key]])

    section, other = "tau_over_1p5V_h_at_x_S4", "tau_at_minus_S4"
    under, above = "tau_under_load_patch_edge_at_depth", "tau_above_support_patch_edge_at_height"
    axis = np.linspace(-span / 2 - over, span / 2 + over, 4001)
    along = np.abs(shear(axis[1:-1], 0.0))
    bending = 6 * (V * span / 2 - V * patch / 4) / h**2
    bottom = solution.stress_at(np.array([[0.0, -h / 2]]))[0, 0]
    rows = [
        row("shear / (1.5 V/h) on x = S/4", section, span / 4, heights(section), 0.002),
        row("shear / (1.5 V/h) on x = -S/4", other, -span / 4, heights(other), 0.002),
    ]
    for name, key, x, sign, face in (
        ("under the load patch's end", under, patch / 2, -1, h / 2),
        ("above the support patch's end", above, span / 2 - patch / 2, 1, -h / 2),
    ):
        y = face + sign * heights(key)
        near = [p for p in expected[key] if p == "0.10h"]
        values, all_places = shear(x, y), list(expected[key])
        reference = [expected[key][p] for p in all_places]
        rows.append(relative(case, f"shear / (1.5 V/h) {name}, {near[0]} from it", reference[0], values[0], 0.005,
                             unknowns=size))  # fmt: skip
        rows.append(worst(case, f"shear / (1.5 V/h) {name}", reference[1:], values[1:], 0.002, "{} from it",
                          places=all_places[1:], unknowns=size))  # fmt: skip
    v = solution.sampler.interpolate(solution.displacement, np.array([[-span / 2, 0.0], [0.0, 0.0], [span / 2, 0.0]]))
    return [
        *rows,
        relative(case, "greatest shear at mid-depth / (1.5 V/h)", expected["max_abs_tau_mid_depth_over_1p5V_h"],
                 along.max(), 0.005, unknowns=size),
        relative(case, "bottom sx at midspan / (M/S)", expected["bottom_midspan_sx_over_beam_theory"],
                 bottom / bending, 0.002, unknowns=size),
        relative(case, "axis deflection at midspan from x = -S/2, S/2, mm", 1e3 * expected["midspan_axis_deflection"],
                 (v[0, 1] + v[2, 1]) / 2 - v[1, 1], 0.002, unknowns=size),
    ]  # fmt: skip


FAMILIES = {
    **dict.fromkeys(("3.1", "3.2", "3.4", "3.5"), polynomial_beam),
    "3.7": wedge,
    **dict.fromkeys(("3.10", "3.11"), patch_test),
    **{case: short_beam for case in reference_cases() if case.startswith("4.")},
}
