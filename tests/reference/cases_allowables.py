"""Design values of both codes: adjusted values and design loads of published examples."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from checks import Check, reference_cases, relative

import fesolve
from fesolve.part.read import part_from
from fesolve.wood.case_factors import DAY, asd_case_factors
from fesolve.wood.conditions import Conditions

PSI = 25.4**2 / 4.4482216152605  # in one MPa
NAMES = {"Ft": "tension_along", "Fv": "shear", "Fc_perp": "compression_across", "Fc": "compression_along"}


def _case(case: str) -> Mapping[str, Any]:
    return reference_cases()[case]


def adjusted(case: str) -> list[Check]:
    """Each adjusted value, psi, of lumber with its factors and those of its load case."""
    i, printed = _case(case)["inputs"], _case(case)["expected"]
    conditions = Conditions(size=tuple(i["size"]), wet=i["wet"], repetitive=i["repetitive"])
    wood = fesolve.make_wood(
        grade=i["grade"], species=i["species"], face="flat-sawn", basis="design", conditions=conditions
    )
    assert wood.graded is not None
    values = {"Fb": wood.bending, "E": wood.graded.stiffness}
    values |= {letter: wood.strengths[name] for letter, name in NAMES.items()}
    left = asd_case_factors(i["duration_days"] * DAY)
    on = {"Fc_perp": left.pressed, "E": 1.0}
    rows = []
    for key, value in printed.items():
        letter = key.removesuffix("_psi")
        found = values[letter].value * on.get(letter, left.strength) * PSI
        rows.append(relative(case, f"formula: {letter}', psi", value, found, 0.51 / value))
    return rows


def factored(case: str) -> list[Check]:
    """The sum of two loads with their partial factors, N, as a part of class C24 is loaded."""
    i, printed = _case(case)["inputs"], _case(case)["expected"]
    corners = [{"at": [f"{x} mm", f"{y} mm"]} for x, y in ((0, 0), (400, 0), (400, 90), (0, 90))]
    loads = [
        {"name": kind, "kind": kind, "on": "edge B-C", "force": ["0 N", f"{i[f'{kind}_N']} N"]}
        for kind in ("permanent", "variable")
    ]
    wood = {"class": "C24", "species": "Larch, western", "board": "flat-sawn", "thickness": "47 mm", "service": 1}
    part = part_from(
        {
            "wood": wood | {"basis": "design"},
            "outline": {"corners": corners},
            "support": [{"name": "wall", "kind": "fixed", "on": "edge D-A"}],
            "load": loads,
        }
    )
    (one,) = part.cases
    found = sum(one.factors[load.name] * load.force[1] for load in part.loads if load.force is not None)
    return [relative(case, "formula: design shear, N", printed["V_N"], found, 0.5 / printed["V_N"])]


FAMILIES = {"AL-01": adjusted, "AL-02": adjusted, "AL-03": factored}
