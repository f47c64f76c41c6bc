"""Cracks along the grain: energy release rates by domain integral and by crack closure (7)."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from functools import cache

import numpy as np
from checks import Check, numbers, reference_cases, relative
from numpy.typing import NDArray
from plates import W1, graded, hold, isotropic, lines, plate, pull, unknowns

from fesolve.fem.crack import Release, Tip, closure, energy_release
from fesolve.fem.model import PlaneModel
from fesolve.fem.solution import Solution
from fesolve.judge.fracture import mixed_ratio
from fesolve.mesh.curves import Curve
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.outline import Outline
from fesolve.mesh.splits import Opened, SplitLine, opened, tip_sizes
from fesolve.part.model import Case, Part, WoodChoice
from fesolve.wood.orthotropic import OrthotropicPlane

Array = NDArray[np.float64]

FINE = 1 / 200  # side at a tip over the length of the crack
AGREES = 0.01  # both methods, of the total


def opened_plate(corners: Sequence[tuple[float, float]], names: Sequence[str], line: SplitLine, cap: float) -> Opened:
    """A polygon opened along a line, elements growing from its tips and sharp corners."""
    loop: tuple[Curve, ...] = tuple(lines(corners, names))
    outline = Outline((loop,), {}, (), {}).with_splits([line])
    wood = WoodChoice(thickness=1.0, basis="mean", strength={}, fracture={})
    part = Part(title="plate", wood=wood, corners=(), cases=(Case(name="all", factors={}),), dimensions={}, source={})
    places, sizes = tip_sizes(line)
    low, high = np.min(corners, axis=0), np.max(corners, axis=0)
    field = graded(np.append(low, high), list(zip(places, sizes, strict=True)), cap, 0.15)
    return opened(mesh_part(part, outline, size=field), line)


def released(solution: Solution, one: Opened, line: SplitLine, radius: float) -> tuple[Release, tuple[float, float]]:
    """By domain integral and by closure, N/mm."""
    tip = Tip(line.at(line.tips[-1]), line.direction, radius)
    return energy_release(solution, tip), closure(solution, tip, (one.left[[-2, -1]], one.right[[-2, -1]]))


def agreement(case: str, where: str, one: Release, other: tuple[float, float], size: int) -> list[Check]:
    """Rows that hold both methods to each other."""
    total = one.opening + one.sliding
    rows = []
    for word, first, second in (("opening", one.opening, other[0]), ("sliding", one.sliding, other[1])):
        quantity = f"{word} by closure against the domain integral, of the total; {where}"
        rows.append(Check(case, quantity, first / total, second / total, AGREES, 1.0, size, own=True))
    return rows


# ---- 7.1, 7.20: formulas


def conversion(case: str) -> list[Check]:
    opening, sliding = numbers(case, "G_I_at_K_0p3MPa_sqrt_m", "G_II_at_K_1p5")
    E_I, E_II = W1.crack_stiffness()
    # K in MPa sqrt(mm), G in N/mm = 1000 J/m2
    found = [1000 * (K * np.sqrt(1000.0)) ** 2 / E for K, E in ((0.3, E_I), (1.5, E_II))]
    return [
        relative(case, "G_I at K_I = 0.3 MPa m^0.5, J/m²", opening, found[0], 1e-7),
        relative(case, "G_II at K_II = 1.5 MPa m^0.5, J/m²", sliding, found[1], 1e-7),
    ]


def mixed(case: str) -> list[Check]:
    given = reference_cases()[case]["inputs"]
    (linear,) = numbers(case, "linear")
    ratio = mixed_ratio(np.array(given["GI"]), np.array(given["GII"]), (given["GIc"], given["GIIc"]))
    return [relative(case, "G_I/G_Ic + G_II/G_IIc", linear, float(ratio), 1e-7)]


# ---- 7.2 to 7.4: a crack in the middle of a square


@cache
def centre_crack(case: str) -> tuple[Release, tuple[float, float], int]:
    """The square under tractions of 1 MPa, the crack along x."""
    given = reference_cases()[case]["inputs"]
    # with the fibres across it, x is the weak direction: the same plane with its axes changed
    wood = W1 if given["grain_deg"] == 0 else OrthotropicPlane(E_0=600, E_90=12_000, G=780, nu_0_90=0.4 / 20)
    half = 1000 * given["half_length"]
    line = SplitLine("centre", (-half, 0.0), (1.0, 0.0), (2 * half,), (half * FINE,), inside=True)
    names = ("bottom", "right", "top", "left")
    one = opened_plate([(-500, -500), (500, -500), (500, 500), (-500, 500)], names, line, 40.0)
    stress = np.array(given["remote_stress"]) / 1e6
    model = pull(plate(one.mesh, wood), names, lambda points: np.broadcast_to(stress, (len(points), 3)))
    solution = hold(model, (-500, -500), (500, -500)).solve()
    return *released(solution, one, line, 0.9 * half), unknowns(solution)


def centre(case: str) -> list[Check]:
    (total,) = numbers(case, "J_fe_1m_square")
    one, other, size = centre_crack(case)
    G = 1000 * (one.opening + one.sliding)
    return [relative(case, "G, J/m²", total, G, 0.005, unknowns=size), *agreement(case, "far tip", one, other, size)]


# ---- 7.7 to 7.12: bars split along the middle


def shear_on_arms(sense: float, height: float) -> object:
    """Parabolic shear on the end face x = 0, 1 N up on the upper arm and `sense` N up on the lower one."""

    def stress(points: Array) -> Array:
        y = np.abs(points[:, 1])
        shear = 6 * y * (height - y) / height**3 * np.where(points[:, 1] > 0, 1.0, sense)
        return np.stack([0 * y, 0 * y, -shear], axis=1)  # the face looks to -x

    return stress


@cache
def split_bar(case: str, number: int) -> tuple[Release, tuple[float, float], int]:
    given = reference_cases()[case]["inputs"]
    wood = W1 if given["material"]["EL"] > given["material"]["ET"] else isotropic(10_000, 0.3)
    bent = "half_depth_h" in given
    height = 1000 * given["half_depth_h" if bent else "arm_depth_h"]
    length, ahead = 1000 * given["a"][number], 1000 * given["wood_ahead"]
    line = SplitLine("middle", (0.0, 0.0), (1.0, 0.0), (length,), (length * FINE,))
    corners = [(0.0, -height), (length + ahead, -height), (length + ahead, height), (0.0, height)]
    one = opened_plate(corners, ("bottom", "wall", "top", "end"), line, height / 5)
    load = shear_on_arms(1.0 if bent else -1.0, height)
    model = pull(plate(one.mesh, wood), ["end"], load).fix("wall")  # type: ignore[arg-type]
    factor = 0.5 if bent else 1.0
    model = dataclasses.replace(model, loads=tuple(scaled(one, factor) for one in model.loads))
    solution = model.solve()
    return *released(solution, one, line, 0.9 * height), unknowns(solution)


def scaled(load, factor):  # type: ignore[no-untyped-def]
    return dataclasses.replace(load, forces=factor * load.forces, nodal=factor * load.nodal)


def double_cantilever(case: str) -> list[Check]:
    (totals,) = numbers(case, "G_fe")
    rows = []
    for number, (a, total) in enumerate(zip(reference_cases()[case]["inputs"]["a"], totals, strict=True)):
        one, other, size = split_bar(case, number)
        where = f"a = {1000 * a:g} mm"
        rows.append(relative(case, f"G, J/m²; {where}", total, 1000 * one.total, 0.002, unknowns=size))
        rows.append(Check(case, f"share of opening; {where}", 1.0, one.opening / one.total, 0.002, 1.0, size, own=True))
        rows += agreement(case, where, one, other, size)
    return rows


def end_loaded(case: str) -> list[Check]:
    simple, ratios = numbers(case, "G_simple_beam", "G_over_simple_beam_fe")
    rows = []
    for number, (a, G, ratio) in enumerate(zip(reference_cases()[case]["inputs"]["a"], simple, ratios, strict=True)):
        one, other, size = split_bar(case, number)
        where = f"a = {1000 * a:g} mm"
        rows.append(relative(case, f"G, J/m²; {where}", G * ratio, 1000 * one.total, 0.003, unknowns=size))
        rows.append(Check(case, f"share of sliding; {where}", 1.0, one.sliding / one.total, 0.002, 1.0, size, own=True))
        rows += agreement(case, where, one, other, size)
    return rows


# ---- 7.13, 7.14: a beam with an end notch


@cache
def notched(case: str, number: int) -> tuple[Release, tuple[float, float], int]:
    """The beam under 1 N a millimetre of width on its reduced end."""
    given = reference_cases()[case]["inputs"]
    h, x0, xc = 1000 * given["h"], 1000 * given["end_face_x"], 1000 * given["corner_x"]
    right, left = xc + 1000 * given["far_face_beyond_corner"], given["alpha"] * h
    length = 1000 * numbers(case, "a0")[0][number]
    side = length / 100
    line = SplitLine("corner", (xc, -left), (1.0, 0.0), (length,), (side,))
    corners = [(x0, -left), (xc, -left), (xc, -h), (right, -h), (right, 0.0), (x0, 0.0)]
    one = opened_plate(corners, ("under", "step", "bottom", "far", "top", "end"), line, h / 10)

    def stress(points: Array) -> Array:
        depth = np.where(points[:, 0] < xc, left, h)
        shear = 6 * -points[:, 1] * (depth + points[:, 1]) / depth**3
        return np.stack([0 * shear, 0 * shear, -shear], axis=1)

    model = pull(plate(one.mesh, W1), ["end", "far"], stress).fix("far", axes=("x",))
    solution = held_up(model, (right, 0.0)).solve()
    return *released(solution, one, line, 0.9 * min(length, h - left)), unknowns(solution)


def held_up(model: PlaneModel, place: tuple[float, float]) -> PlaneModel:
    """The node nearest a place held along y."""
    node = int(np.argmin(np.hypot(*(model.mesh.points - place).T)))
    mesh = dataclasses.replace(model.mesh, point_sets={**model.mesh.point_sets, "held": np.array([node])})
    return dataclasses.replace(model, mesh=mesh).fix("held", axes=("y",))


def end_notch(case: str) -> list[Check]:
    totals, shares = numbers(case, "G_total_J_per_m2_at_1N_per_m", "mode_I_share")
    rows = []
    for number, a in enumerate(numbers(case, "a0")[0]):
        one, other, size = notched(case, number)
        where = f"a = {1000 * a:g} mm"
        # 1 N/mm is 1000 N/m, and G grows with its square; 1 N/mm of G is 1000 J/m2
        rows.append(relative(case, f"G, mJ/m²; {where}", 1e9 * totals[number], 1e6 * one.total, 0.003, unknowns=size))
        share = one.opening / (one.opening + one.sliding)
        rows.append(Check(case, f"share of opening; {where}", shares[number], share, 0.015, 1.0, size))
        rows += agreement(case, where, one, other, size)
    return rows


FAMILIES = {
    "7.1": conversion,
    **dict.fromkeys(("7.2", "7.3", "7.4"), centre),
    **dict.fromkeys(("7.7", "7.9"), double_cantilever),
    **dict.fromkeys(("7.10", "7.12"), end_loaded),
    **dict.fromkeys(("7.13", "7.14"), end_notch),
    "7.20": mixed,
}
