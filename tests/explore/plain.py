"""Parts and figures with closed forms, for searches."""

import math

import fesolve
from fesolve.errors import InputError
from fesolve.judge.outcome import Outcome, Row
from tests.parts import document, mm

SPAN, SEAT, PATCH, FORCE = 800.0, 10.0, 60.0, 3000.0  # mm, N; seats and patch are centred on their resultants


def beam():
    """A simply supported beam of own wood, weak along the grain so that bending governs; `h` deep and `b` thick."""
    length = SPAN + SEAT
    doc = document(
        [],
        energies={"G_Ic": "1200 J/m^2", "G_IIc": "7000 J/m^2"},  # splitting decides nowhere here
        dimensions={"h": "70 mm", "b": "20 mm"},
        support=[
            {"name": "left", "kind": "spring", "stiffness": "200 N/mm/mm", "on": "edge A-B", **_range(0, SEAT)},
            {"name": "right", "kind": "spring", "stiffness": "200 N/mm/mm", "on": "edge A-B", **_range(SPAN, length)},
            {"name": "stop", "kind": "fixed", "on": "corner C", "axes": ["x"]},
        ],
        load=[
            {
                "name": "push", "on": "edge C-D", "force": ["0 N", f"{-FORCE} N"],
                **_range((length - PATCH) / 2, (length + PATCH) / 2),
            }
        ],
    )  # fmt: skip
    corners = [(0, 0), (length, 0), (length, "h"), (0, "h")]
    doc["outline"]["corners"] = [
        {"at": [f"{x} mm", y if isinstance(y, str) else f"{y} mm"], "name": name}
        for name, (x, y) in zip("ABCD", corners, strict=True)
    ]
    doc["wood"]["strength"] = {**doc["wood"]["strength"], "tension_along": "25 MPa"}
    doc["mesh"] = {"refine_limit": 1}  # what decides here is M/S
    doc["wood"] |= {"thickness": "b", "density": "500 kg/m^3"}
    return fesolve.part_from(doc)


def _range(start, stop):
    return dict(zip(("from", "to"), mm(start, stop), strict=True))


def bending(h, b=20.0):
    """Utilisation in bending: M = F/2 (L/2 - w/4) under a patch w, M/S over 25 MPa (statics and beam theory)."""
    moment = FORCE / 2 * (SPAN / 2 - PATCH / 4)
    return moment / (b * h**2 / 6) / 25.0


def depth_for(use, b=20.0):
    return math.sqrt(bending(1.0, b) / use)


def figures(use, *, mass=1.0, mode="splitting"):
    return Outcome(use, use <= 1.0, mode, "all", "there", 0.0, 0.0, 1 / use, 1 / use, 1 / use, "push", mass, 1.0, 0.001)


def instead(monkeypatch, formula):
    """Take `formula` (plain numbers by name, to figures) for a check; ValueError stands for a part that cannot be."""

    def evaluate(part, changes, like=None):
        values = {name: float(text.split()[0]) for name, text in changes.items()}
        try:
            return Row(dict(changes), formula(**values)), None
        except ValueError as error:
            return Row(dict(changes), None, str(InputError(str(error)))), None

    monkeypatch.setattr("fesolve.explore.probe.evaluate", evaluate)
