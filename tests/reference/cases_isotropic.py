"""Isotropic benchmarks (6.2 to 6.8): elliptic membrane, tapered panel, U-notches, shoulder fillet, curved bar."""

from __future__ import annotations

import numpy as np
from checks import Check, numbers, reference_cases, relative, worst
from closed_forms import Golovin
from numpy.typing import NDArray
from plates import (
    Curve,
    drawn,
    graded,
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

from fesolve.fem.solution import Solution
from fesolve.mesh.mesh import Mesh

Array = NDArray[np.float64]


def membrane(case: str) -> list[Check]:
    """6.2: a quarter of the elliptic ring, sides growing away from the inner edge."""
    inputs = reference_cases()[case]["inputs"]
    inner, outer = 1e3 * np.array(inputs["inner"]), 1e3 * np.array(inputs["outer"])

    def place(u: Array, v: Array) -> Array:
        way = np.stack([np.sin(u), np.cos(u)], axis=1)
        return way * (inner + v[:, None] * (outer - inner))

    mesh = mapped(np.linspace(0, np.pi / 2, 81), np.linspace(0, 1, 51) ** 1.5, place)
    model = plate(mesh, isotropic(inputs["E"] / 1e6, inputs["nu"])).fix("u0", axes=("x",)).fix("u1", axes=("y",))
    solution = model.pressure("v1", -inputs["outward_pressure_outer_edge"] / 1e6).solve()
    size = unknowns(solution)
    at = solution.stress_at(np.array([[inner[0], 0.0], [0.0, inner[1]]]))
    book, converged, side, energy = numbers(
        case, "sigma_yy", "sigma_yy_converged", "sigma_xx_at_0_1", "strain_energy_per_thickness_quarter"
    )
    computed = {"unknowns": size, "word": "computed"}
    return [
        relative(case, "sy at (2, 0) m, MPa, value read", book / 1e6, at[0, 1], 0.001, unknowns=size),
        relative(case, "sy at (2, 0) m, MPa, converged value", converged / 1e6, at[0, 1], 0.001, **computed),
        relative(case, "sx at (0, 1) m, MPa", side / 1e6, at[1, 0], 0.001, own=True, **computed),
        relative(case, "strain energy, N", energy, float(solution.energy), 0.001, own=True, **computed),
    ]


def cook(case: str) -> list[Check]:
    """6.3: the tapered panel, sides of 0.02 at the corners where stress has no limit."""
    inputs = reference_cases()[case]["inputs"]
    corners = [tuple(map(float, corner)) for corner in inputs["corners"]]
    ends = [(np.array([corners[0], corners[3]]), 0.02), (np.array([(24.0, 22.0), (24.0, 52.0)]), 0.3)]
    size = graded(np.array([0, 0, 48, 60]), ends, 1.0, 0.15)
    mesh = drawn([lines(corners, ("low", "right", "top", "left"))], size)
    model = plate(mesh, isotropic(inputs["E"], inputs["nu"])).fix("left").traction("right", (0.0, 1 / 16))
    solution = model.solve()
    count = unknowns(solution)
    v, energy, most, least = numbers(
        case, "v_mid_right_edge_48_52", "strain_energy", "max_principal_bottom_mid_24_22", "min_principal_top_mid_24_52"
    )
    tip = solution.sampler.interpolate(solution.displacement, np.array([[48.0, 52.0]]))[0, 1]
    (read,) = numbers(case, "principal_values_read")
    computed = {"unknowns": count, "word": "computed"}
    low, high = (_principal(solution.stress_at(np.array([p]))[0]) for p in ([24, 22.0 + 1e-9], [24, 52.0 - 1e-9]))
    return [
        relative(case, "v at (48, 52), value read", 23.96, tip, 0.0005, unknowns=count),
        relative(case, "v at (48, 52), converged value", v, tip, 0.0005, **computed),
        relative(case, "strain energy", energy, float(solution.energy), 0.0005, own=True, **computed),
        relative(case, "greatest principal stress at (24, 22), converged value", most, low[1], 0.002, **computed),
        relative(case, "least principal stress at (24, 52), converged value", least, high[0], 0.002, **computed),
        relative(case, "greatest principal stress at (24, 22), value read", read[0], low[1], None, unknowns=count),
        relative(case, "least principal stress at (24, 52), value read", read[1], high[0], None, unknowns=count),
    ]


def _principal(stress: Array) -> tuple[float, float]:
    x, y, xy = stress
    middle, radius = (x + y) / 2, float(np.hypot((x - y) / 2, xy))
    return middle - radius, middle + radius


def u_notches(case: str) -> list[Check]:
    """6.4: two U-notches in a bar under tension; sides of r/80 round the notches."""
    inputs = reference_cases()[case]["inputs"]
    D, t, r, x = (1e3 * inputs[k] for k in ("D", "t_each", "r", "half_length"))
    y, deep = D / 2, D / 2 - t

    def notch(sign: float) -> list[Curve]:
        """From one flank's mouth to the other's, wood on the left; sign -1 below, 1 above."""
        first = sign * r
        center, foot = (0.0, sign * (deep + r)), (0.0, sign * deep)
        mouth, bend = (first, sign * y), (first, sign * (deep + r))
        far, out = (-first, bend[1]), (-first, mouth[1])
        arcs = [Curve("arc", a, b, center, r, False, ("notch",)) for a, b in ((bend, foot), (foot, far))]
        return [Curve("line", mouth, bend, names=("flank",)), *arcs, Curve("line", far, out, names=("flank",))]

    sides = [
        Curve("line", (-x, -y), (-r, -y), names=("low",)), *notch(-1.0),
        Curve("line", (r, -y), (x, -y), names=("low",)),
        Curve("line", (x, -y), (x, y), names=("right",)), Curve("line", (x, y), (r, y), names=("top",)), *notch(1.0),
        Curve("line", (-r, y), (-x, y), names=("top",)), Curve("line", (-x, y), (-x, -y), names=("left",)),
    ]  # fmt: skip
    angles = np.arange(0, 180.1, 2)
    fine = np.concatenate([polar(r, angles + 180, (0.0, deep + r)), polar(r, angles, (0.0, -deep - r))])
    mesh = drawn([sides], graded(np.array([-x, -y, x, y]), [(fine, r / 80)], 8.0, 0.2))
    model = plate(mesh, isotropic(1000, inputs["nu"])).traction("right", (1.0, 0.0)).traction("left", (-1.0, 0.0))
    solution = hold(model, (-x, -y), (x, -y)).solve()
    (expected,) = numbers(case, "Ktn")
    around = np.linspace(181, 359, 891)
    peak = hoop(solution, (0.0, deep + r), r, around).max() * 2 * deep / D
    return [relative(case, "peak stress / net nominal stress", expected, peak, 0.003, unknowns=unknowns(solution))]


def fillet(case: str) -> list[Check]:
    """6.6: a stepped bar under tension and bending, unit nominal stress in the narrow part."""
    inputs = reference_cases()[case]["inputs"]
    d, long, narrow = (1e3 * inputs[k] for k in ("d", "wide_length", "narrow_length"))
    D, r = d * inputs["D_over_d"], d * inputs["r_over_d"]
    mesh = stepped(d, D, r, long, narrow)
    model = plate(mesh, isotropic(1000, inputs["nu"]))

    def axial(p: Array) -> Array:
        return np.where(p[:, :1] > 0, 1.0, d / D) * np.array([1.0, 0.0, 0.0])

    def bending(p: Array) -> Array:
        return np.where(p[:, :1] > 0, 2 / d, 2 * d**2 / D**3) * p[:, 1:] * np.array([1.0, 0.0, 0.0])

    rows = []
    for name, key, stress in (("tension", "Ktn_tension", axial), ("bending", "Ktn_bending", bending)):
        solution = hold(pull(model, ("wide", "narrow"), stress), (-long, -D / 2), (narrow, -d / 2)).solve()
        (expected,) = numbers(case, key)
        peak = hoop(solution, (r, d / 2 + r), r, np.linspace(181, 269, 881)).max()
        rows.append(
            relative(case, f"peak / nominal stress, {name}", expected, peak, 0.005, unknowns=unknowns(solution))
        )
    return rows


def stepped(d: float, D: float, r: float, long: float, narrow: float) -> Mesh:
    """x from -long to narrow, the step at x = 0, fillets of radius r; sides of r/80 in them."""
    y, step = d / 2, D / 2
    low, high = (r, -y - r), (r, y + r)
    sides = [
        Curve("line", (-long, -step), (0.0, -step), names=("low",)),
        Curve("line", (0.0, -step), (0.0, -y - r), names=("shoulder",)),
        Curve("arc", (0.0, -y - r), (r, -y), low, r, False, ("fillet",)),
        Curve("line", (r, -y), (narrow, -y), names=("low",)),
        Curve("line", (narrow, -y), (narrow, y), names=("narrow",)),
        Curve("line", (narrow, y), (r, y), names=("top",)),
        Curve("arc", (r, y), (0.0, y + r), high, r, False, ("fillet",)),
        Curve("line", (0.0, y + r), (0.0, step), names=("shoulder",)),
        Curve("line", (0.0, step), (-long, step), names=("top",)),
        Curve("line", (-long, step), (-long, -step), names=("wide",)),
    ]
    angles = np.arange(0, 90.1, 2)
    fine = np.concatenate([polar(r, angles + 180, high), polar(r, angles + 90, low)])
    return drawn([sides], graded(np.array([-long, -step, narrow, step]), [(fine, r / 80)], 6.0, 0.2))


def curved_bar(case: str) -> list[Check]:
    """6.8: a 15 deg piece of the bar, exact tractions on its ends, sides growing away from both edges."""
    inputs = reference_cases()[case]["inputs"]
    a, b = 1e3 * inputs["a"], 1e3 * inputs["b"]
    field = Golovin(a, b, inputs["M_per_thickness"])  # N m/m is N mm/mm
    inner, outer, middle, low, high = numbers(
        case, "sigma_theta_inner", "sigma_theta_outer", "sigma_r_at_1p5a", "factors_b_over_a_1p3_2_3_inner", "outer"
    )
    solution = bar_solution(field, np.radians(15.0))
    size = unknowns(solution)
    places = np.array([[a, 0.0], [b, 0.0], [1.5 * a, 0.0]])
    found = solution.stress_at(places)
    bars = [Golovin(1.0, ratio, 1.0).polar(np.array([1.0, ratio]))[1] for ratio in (1.3, 2.0, 3.0)]
    ratios = {"places": ["b/a 1.3", "b/a 2", "b/a 3"], "at": "{}"}
    return [
        worst(case, "formula: inner hoop stress a^2/M", low, [bar[0] for bar in bars], 1e-4, **ratios),
        worst(case, "formula: outer hoop stress a^2/M", high, [bar[1] for bar in bars], 1e-4, **ratios),
        relative(case, "hoop stress at the inner edge, MPa", inner / 1e6, found[0, 1], 1e-4, unknowns=size),
        relative(case, "hoop stress at the outer edge, MPa", outer / 1e6, found[1, 1], 1e-4, unknowns=size),
        relative(case, "radial stress at 1.5 a, MPa", middle / 1e6, found[2, 0], 1e-4, unknowns=size),
    ]


def bar_solution(field: Golovin, opening: float) -> Solution:
    a, b = field.a, field.b

    def place(u: Array, v: Array) -> Array:
        return np.stack([u * np.cos(v), u * np.sin(v)], axis=1)

    s = np.linspace(-1, 1, 181)
    across = (a + b) / 2 + (b - a) / 2 * np.sin(np.pi / 2 * s)
    mesh = mapped(across, np.linspace(-opening / 2, opening / 2, 25), place)
    model = pull(plate(mesh, isotropic(1000, 0.3)), ("v0", "v1"), field.stress)
    return hold(model, (a, 0.0), (b, 0.0)).solve()


FAMILIES = {"6.2": membrane, "6.3": cook, "6.4": u_notches, "6.6": fillet, "6.8": curved_bar}
