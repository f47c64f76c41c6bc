"""Strikes followed through time on meshes: the published strikes of `cases_strikes`, and Saint-Venant's struck bar.

Any consistent units will do: pounds and inches, or metres and newtons, as the case has them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from checks import Check, numbers, reference_cases, relative
from numpy.typing import NDArray

from fesolve.fem.history import History
from fesolve.fem.impact import wave_speed, wave_stress
from fesolve.fem.march import march
from fesolve.fem.model import PlaneModel
from fesolve.fem.striker import Striker
from fesolve.mesh.mesh import Mesh
from fesolve.wood.orthotropic import OrthotropicPlane

Array = NDArray[np.float64]
Inputs = Mapping[str, float]

LIGHT = 1e-5  # of the striker's mass: a rod whose own is left out, as these examples do
RATIOS = (1.0, 0.5)  # mass of the bar over the striker's


def rod(length: float, area: float, modulus: float, columns: int) -> PlaneModel:
    """A straight bar along x of one row of eight-node elements, 1/20 of a column deep; fixed at its right end.

    Poisson's ratio is 0, so that it is a bar.
    """
    depth = length / columns / 20
    x = np.linspace(0.0, length, 2 * columns + 1)
    low, high = (np.column_stack([x, np.full(len(x), y)]) for y in (0.0, depth))
    middle = np.column_stack([x[::2], np.full(columns + 1, depth / 2)])
    left, top, up = 2 * np.arange(columns), len(x), 2 * len(x) + np.arange(columns)
    corners = [left, left + 2, top + left + 2, top + left]
    cells = np.column_stack([*corners, left + 1, up + 1, top + left + 1, up])
    last = 2 * columns
    edges = {"struck": np.array([[top, 0, 2 * len(x)]]), "end": np.array([[last, top + last, 2 * len(x) + columns]])}
    mesh = Mesh(np.vstack([low, high, middle]), {"quad8": cells}, edges=edges)
    wood = OrthotropicPlane(modulus, modulus, modulus / 2, 0.0)
    return PlaneModel(mesh, wood, area / depth, 0.0).fix("end")


def struck(model: PlaneModel, mass: float, speed: float, density: float, push: float = 0.0) -> History:
    """Struck on its free end until the force is greatest, in fine steps."""
    striker = Striker("struck", (1.0, 0.0), mass, speed, push=push)
    return march(model, striker, density, accuracy=1e-3, most_steps=2000)


def unknowns(model: PlaneModel) -> int:
    return 2 * len(model.mesh.points)


def light_rod(i: Inputs, mass: float, speed: float, push: float = 0.0) -> tuple[float, float, float, int]:
    """Greatest force, stress and stroke of a round rod without a mass of its own, and the unknowns."""
    area = math.pi * i["d"] ** 2 / 4
    model = rod(i["L"], area, i["E"], 4)
    history = struck(model, mass, speed, LIGHT * mass / (area * i["L"]), push)
    return history.peak_force, history.peak_force / area, float(history.stroke.max()), unknowns(model)


def dropped(case: str) -> list[Check]:
    """8.3, the gravity of the case's pounds and inches being 386 in/s^2."""
    i = reference_cases()[case]["inputs"]
    g = 386.0
    (expected,) = numbers(case, "stress_psi")
    _, stress, _, count = light_rod(i, i["W"] / g, math.sqrt(2 * g * i["h"]), push=i["W"])
    return [relative(case, "through time: stress, psi", expected, stress, 3e-3, own=True, unknowns=count)]


def driven(case: str) -> list[Check]:
    """8.4."""
    i = reference_cases()[case]["inputs"]
    shortening, expected, stress = numbers(case, "delta_in", "force_lb", "stress_psi")
    found = light_rod(i, i["W"] / i["g"], i["v_in_s"])
    more = {"own": True, "unknowns": found[3]}
    return [
        relative(case, "through time: shortening, in", shortening, found[2], 3e-3, **more),
        relative(case, "through time: force, lb", expected, found[0], 3e-3, **more),
        relative(case, "through time: stress, psi", stress, found[1], 3e-3, **more),
    ]


def factors(case: str) -> list[Check]:
    """8.2: a weight of 1 let fall on a rod that gives by 1 under it, with g = 1."""
    rows = []
    model = rod(10.0, 1.0, 10.0, 4)
    for ratio, factor in zip(reference_cases()[case]["inputs"]["h_over_dst"], *numbers(case, "factor"), strict=True):
        history = struck(model, 1.0, math.sqrt(2 * ratio), LIGHT / 10.0, push=1.0)
        what = f"through time: drop factor at h/δ = {ratio:g}"
        rows.append(relative(case, what, factor, history.peak_force, 3e-3, own=True, unknowns=unknowns(model)))
    return rows


def long_bar(i: Inputs, ratio: float, crossings: float) -> tuple[Array, Array, int, History]:
    """Time in crossings and stress on the struck end over ρ c v, of a bar of 1 by 0.01; 400 steps a crossing.

    ratio: the bar's mass over the striker's.
    """
    area = 1e-2
    model, crossing = rod(1.0, area, i["E"], 100), 1.0 / wave_speed(i["E"], i["rho"])
    striker = Striker("struck", (1.0, 0.0), i["rho"] * area / ratio, i["v"])
    history = march(model, striker, i["rho"], step=crossing / 400, until=crossings * crossing, rho=0.5)
    stress = history.force / area / wave_stress(i["E"], i["rho"], i["v"])
    return history.time / crossing, stress, unknowns(model), history


def front(case: str) -> list[Check]:
    """8.6: the mean behind the front until it returns, the striker too heavy to slow down."""
    i = reference_cases()[case]["inputs"]
    (expected,) = numbers(case, "sigma")
    t, stress, count, _ = long_bar(i, 1e-6, 1.9)
    mean = stress[(t > 0.1) & (t < 1.9)].mean() * wave_stress(i["E"], i["rho"], i["v"])
    what = "through time: mean stress on the struck end, Pa"
    return [relative(case, what, expected, mean, 2e-3, own=True, unknowns=count)]


def saint_venant(case: str) -> list[Check]:
    """8.7: the striker as heavy as the bar, or twice; stress over ρ c v at moments between the fronts, errors
    of that."""
    i = reference_cases()[case]["inputs"]
    rows = []
    for ratio, leaves, expected in zip(RATIOS, *numbers(case, "leaves", "stress"), strict=True):
        t, stress, count, history = long_bar(i, ratio, max(i["at"] + [leaves]) + 0.2)
        name = f"the bar's mass {ratio:g} of the striker's"
        more = {"own": True, "unknowns": count}
        last = float(t[np.argmin(history.touching)])
        rows.append(relative(case, f"through time: end of contact, crossings, {name}", leaves, last, 2e-3, **more))
        for at, value in zip(i["at"], expected, strict=True):
            found = float(np.interp(at, t, stress))
            what = f"through time: stress over ρ c v after {at:g} crossings, {name}"
            rows.append(relative(case, what, value, found, 0.01, floor=1.0, **more))
    return rows
