"""Stresses together: published and hand-worked states, curves over the angle to the grain; the effect of size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import radians, sqrt
from typing import Any

import numpy as np
from checks import Check, numbers, reference_cases, relative, worst
from plates import W1, mapped

from fesolve.fem.model import PlaneModel
from fesolve.fem.solution import Solution
from fesolve.judge.interaction import PlaneStrength, interaction, off_axis_strength
from fesolve.judge.samples import Samples
from fesolve.judge.size_effect import weibull_stress
from fesolve.wood.size_effect import size_law

PSI = 25.4**2 / 4.4482216152605  # in one MPa


def _inputs(case: str) -> Mapping[str, Any]:
    return reference_cases()[case]["inputs"]


def _strength(case: str) -> PlaneStrength:
    return PlaneStrength(*_inputs(case)["strength_MPa"])


def ply(case: str) -> list[Check]:
    f, (x, y, xy) = _strength(case), _inputs(case)["stress"]
    c, s = np.cos(radians(_inputs(case)["angle_deg"])), np.sin(radians(_inputs(case)["angle_deg"]))
    along, across = c * c * x + s * s * y + 2 * s * c * xy, s * s * x + c * c * y - 2 * s * c * xy
    stress = [np.array([one]) for one in (along, across, (c * c - s * s) * xy - s * c * (x - y))]
    (printed,) = numbers(case, "S_MPa")
    rows = []
    for word, value in printed.items():
        choice, _, alone = word.partition(", ")
        used = replace(f, compression_across=f.tension_across) if alone else f
        found = 1.0 / float(interaction(*stress, used, choice)[0])
        rows.append(relative(case, f"formula: S by {word}, MPa", value, found, 0.005 / value))
    return rows


def states(case: str) -> list[Check]:
    f, at = _strength(case), _inputs(case)["states_MPa"]
    (expected,) = numbers(case, "utilisation")
    stress = np.array(at, dtype=float).T
    return [
        worst(case, f"formula: utilisation by {choice}", values, interaction(*stress, f, choice), 1e-8, "{}", places=at)
        for choice, values in expected.items()
    ]


def angles(case: str) -> list[Check]:
    f, at = _strength(case), _inputs(case)["angles_deg"]
    hill, pulled, pressed = numbers(case, "tsai_hill_MPa", "hankinson_tension_MPa", "hankinson_compression_MPa")
    found = [off_axis_strength(f, angle, "Tsai-Hill") for angle in at]
    places = [f"{angle} deg" for angle in at]
    rows = [worst(case, "formula: Tsai-Hill in tension, MPa", hill, found, 1e-8, "{}", places=places)]
    for word, part in (("Norris", 2.0), ("Norris with product", 3.0)):
        for name, curve, P, Q in (
            ("tension", pulled, f.tension_along, f.tension_across),
            ("compression", pressed, f.compression_along, f.compression_across),
        ):
            kin = replace(f, shear=sqrt(P * Q / part))
            found = [off_axis_strength(kin, angle, word, pressed=name == "compression") for angle in at]
            said = f"formula: {word} in {name} where it is Hankinson's, MPa"
            rows.append(worst(case, said, curve, found, 1e-8, "{}", places=places))
    return rows


def stretched(size: Sequence[float], stress: float) -> Solution:
    """A rectangle (length, depth, thickness, mm) of W1 with its fibres along it, pulled across them."""
    length, depth, thickness = size
    x, y = np.linspace(0.0, length, 25), np.linspace(0.0, depth, 16)
    mesh = mapped(x, y, lambda u, v: np.stack([u, v], axis=1))
    model = PlaneModel(mesh, W1, thickness=thickness, grain=0.0)
    return model.roller("v0").fix("u0", ("x",)).traction("v1", (0.0, stress)).solve()


def barrett(case: str) -> list[Check]:
    i, law = _inputs(case), size_law("tension across grain")
    (printed,) = numbers(case, "psi")
    rows = []
    for sides, psi in zip(i["sides_in"], printed, strict=True):
        solution = stretched([25.4 * one for one in sides], 1.0)
        samples = Samples.of(solution)
        found, _ = weibull_stress(samples.at(solution.stress_grain[:, 1]), samples.volume, law)
        said = f"stress at which {np.prod(sides):.0f} in^3 reach their strength, psi"
        unknowns = 2 * len(solution.model.mesh.points)
        rows.append(relative(case, said, psi, i["block_MPa"] / found * PSI, 0.01, own=True, unknowns=unknowns))
    return rows


def distributions(case: str) -> list[Check]:
    i = _inputs(case)
    solution = stretched(i["size_mm"], i["greatest_MPa"])
    samples, unknowns = Samples.of(solution), 2 * len(solution.model.mesh.points)
    s = 2.0 * solution.model.mesh.points[solution.stress_point, 1] / i["size_mm"][1] - 1.0
    greatest = i["greatest_MPa"]
    fields = (
        ("even", solution.stress_grain[:, 1], "tension across grain"),
        ("linear", greatest * s, "tension across grain"),
        ("parabola", greatest * (1.0 - s * s), "shear along grain"),
    )
    rows = []
    for name, stress, mode in fields:
        (expected,) = numbers(case, f"{name}_MPa")
        found, _ = weibull_stress(samples.at(stress), samples.volume, size_law(mode))
        said = f"equivalent stress, {name}, MPa"
        rows.append(relative(case, said, expected, found, 1e-6, own=True, unknowns=unknowns))
    return rows


FAMILIES = {"IN-01": ply, "IN-02": states, "IN-03": angles, "SZ-01": barrett, "SZ-02": distributions}
