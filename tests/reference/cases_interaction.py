"""Stresses together: published and hand-worked states of stress, and curves over the angle to the grain."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import radians, sqrt
from typing import Any

import numpy as np
from checks import Check, numbers, reference_cases, relative, worst

from fesolve.judge.interaction import PlaneStrength, interaction, off_axis_strength


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


FAMILIES = {"IN-01": ply, "IN-02": states, "IN-03": angles}
