"""The piece in hand: moisture, shrinkage, repeated loads and sloping grain by formula, held shrinkage on meshes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from checks import Check, numbers, reference_cases, relative, worst
from plates import W1

import fesolve
from fesolve.wood import tables
from fesolve.wood.fatigue import code_fatigue_factor, loss_per_decade
from fesolve.wood.moisture import at_moisture
from fesolve.wood.shrinkage import change_coefficient
from fesolve.wood.slope import hankinson_band, slope_shares


def _inputs(case: str) -> Mapping[str, Any]:
    return reference_cases()[case]["inputs"]


def moisture(case: str) -> list[Check]:
    i = _inputs(case)
    (printed,) = numbers(case, "P_kPa")
    found = at_moisture(i["P12_kPa"], i["Pg_kPa"], i["M_percent"], i["Mp_percent"])
    return [relative(case, "formula: modulus of rupture, kPa", printed, found, 50 / printed)]


def coefficients(case: str) -> list[Check]:
    """Totals of the package's own table, turned into strain for 1 % of moisture."""
    woods = _inputs(case)["woods"]
    rows = {row["species"]: row for row in tables.rows("shrinkage")}
    made = []
    for key, column, word in (("C_R", "radial_percent", "radial"), ("C_T", "tangential_percent", "tangential")):
        (printed,) = numbers(case, key)
        found = [change_coefficient(float(rows[wood][column])) for wood in woods]
        made.append(worst(case, f"formula: {word} strain for 1 %", printed, found, 5e-3, "{}", places=woods, own=True))
    return made


def fatigue(case: str) -> list[Check]:
    i = _inputs(case)
    shear, bending, code = numbers(case, "shear_percent", "bending_percent", "k_fat_shear")
    k = code_fatigue_factor("shear", i["cycles"], range_ratio=i["R"])
    lines = (("shear", shear), ("bending", bending))
    made = [
        relative(case, f"formula: {line}, % lost a decade", value, 100 * loss_per_decade(line), 0.05 / value)
        for line, value in lines
    ]
    return [*made, relative(case, "formula: k_fat in shear", code, k, 0.005 / code)]


def slope(case: str) -> list[Check]:
    run = _inputs(case)["run"]
    least, greatest, table = numbers(case, "least", "greatest", "table")
    low, high = hankinson_band(run)
    shares = slope_shares(run)
    assert shares is not None
    return [
        relative(case, "formula: least share", least, low, 0.005 / least),
        relative(case, "formula: greatest share", greatest, high, 0.005 / greatest),
        relative(case, "formula: share in the package's table", table, shares[0], 1e-9),
    ]


def bar(case: str) -> list[Check]:
    """Quadratic triangles; grain along the bar, then across it."""
    i = _inputs(case)
    stress, energy = numbers(case, "sigma", "energy")
    made = []
    for word, grain, sigma, work in zip(("along", "across"), (0.0, 90.0), stress, energy, strict=True):
        model = fesolve.PlaneModel(_strip(i["length"], i["depth"], 8, 2), W1, thickness=i["thickness"], grain=grain)
        model = model.fix("left", ["x"]).fix("corner").initial_strain(i["strain"])
        free, held = model.solve(), model.fix("right", ["x"]).solve()
        size = 2 * len(model.mesh.points)
        rest = float(np.abs(free.stress_grain).max())
        shorter, moved = sigma / i["E"][0 if word == "along" else 1] * i["length"], float(free.displacement[:, 0].min())
        made += [
            Check(case, f"{word} the grain, free: greatest stress, MPa", 0.0, rest, 1e-9, sigma, size),
            relative(case, f"{word} the grain, free: shortening, mm", shorter, -moved, 1e-6, unknowns=size),
            relative(
                case, f"{word} the grain, held: stress, MPa", sigma, held.stress_xy[:, 0].mean(), 1e-6, unknowns=size
            ),
            relative(case, f"{word} the grain, held: energy, N mm", work, float(held.energy), 1e-6, unknowns=size),
        ]
    return made


def layers(case: str) -> list[Check]:
    """Two regions of one mesh, held so that they can neither slide nor turn; curvature away from the ends."""
    i = _inputs(case)
    mesh = _strip(i["length"], i["h"], 40, 5)
    low = mesh.points[mesh.cells["triangle6"][:, :3]].mean(axis=1)[:, 1] < i["h_1"]
    regions = {"one": {"triangle6": np.flatnonzero(low)}, "two": {"triangle6": np.flatnonzero(~low)}}
    mesh = fesolve.Mesh(mesh.points, mesh.cells, edges=mesh.edges, point_sets=mesh.point_sets, regions=regions)
    wood = {name: fesolve.OrthotropicPlane(E, E, E / 2, 0.0) for name, E in (("one", i["E_1"]), ("two", i["E_2"]))}
    model = fesolve.PlaneModel(mesh, wood, thickness=5.0, grain=0.0).fix("corner").fix("far corner", ["y"])
    solution = model.initial_strain({"one": (i["strain"], 0.0), "two": (0.0, 0.0)}).solve()
    bottom = np.flatnonzero((mesh.points[:, 1] < 1e-9) & (abs(mesh.points[:, 0] / i["length"] - 0.5) < 0.3))
    found = abs(2 * np.polyfit(mesh.points[bottom, 0], solution.displacement[bottom, 1], 2)[0])
    (curvature,) = numbers(case, "curvature")
    size = 2 * len(mesh.points)
    return [relative(case, "curvature in the middle, 1/mm", curvature, found, 1e-6, unknowns=size)]


def _strip(length: float, depth: float, columns: int, rows: int) -> fesolve.Mesh:
    """A rectangle of six-node triangles with edges left and right, and its lower corners."""
    nx, ny = 2 * columns + 1, 2 * rows + 1
    y, x = np.meshgrid(np.linspace(0, depth, ny), np.linspace(0, length, nx), indexing="ij")
    points = np.column_stack([x.ravel(), y.ravel()])
    j, i = np.meshgrid(2 * np.arange(rows), 2 * np.arange(columns), indexing="ij")
    first = (j * nx + i).ravel()[:, None]

    def at(*places: tuple[int, int]) -> np.ndarray[Any, Any]:
        return first + np.array([dx + dy * nx for dx, dy in places])

    lower = at((0, 0), (2, 0), (2, 2), (1, 0), (2, 1), (1, 1))
    upper = at((0, 0), (2, 2), (0, 2), (1, 1), (1, 2), (0, 1))
    steps = 2 * np.arange(rows)
    right = np.column_stack([steps, steps + 2, steps + 1]) * nx + nx - 1
    left = np.column_stack([steps + 2, steps, steps + 1]) * nx
    sets = {"corner": np.array([0]), "far corner": np.array([nx - 1])}
    cells = {"triangle6": np.concatenate([lower, upper])}
    return fesolve.Mesh(points, cells, edges={"left": left[::-1], "right": right}, point_sets=sets)


FAMILIES = {
    "PC-01": moisture,
    "PC-02": coefficients,
    "PC-03": fatigue,
    "PC-04": slope,
    "PC-05": bar,
    "PC-06": layers,
}
