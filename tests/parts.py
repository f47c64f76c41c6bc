"""Part files as dictionaries, for tests: own wood, rectangles, and supports that only stop rigid motion."""

import numpy as np

import fesolve

ELASTIC = {"E_0": "12000 MPa", "E_90": "600 MPa", "G": "780 MPa", "nu_0_90": 0.4}
STRENGTH = {
    "shear": "8 MPa", "tension_across": "2 MPa", "compression_across": "5 MPa",
    "tension_along": "80 MPa", "compression_along": "40 MPa",
}  # fmt: skip
ENERGY = {"G_Ic": "120 J/m^2", "G_IIc": "700 J/m^2"}
THICKNESS = 20.0


def mm(*values):
    return [f"{value!r} mm" for value in map(float, values)]


def document(corners, *, grain=0.0, basis="mean", energies=ENERGY, **tables):
    """A part of own wood with named corners A, B, C … at (x, y) or full corner tables."""
    rows = [c if isinstance(c, dict) else {"at": mm(*c)} for c in corners]
    wood = {"thickness": f"{THICKNESS} mm", "grain": f"{grain!r} deg", "basis": basis}
    wood |= {"elastic": ELASTIC, "strength": STRENGTH, "fracture": dict(energies)}
    for name, row in zip("ABCDEFGHIJKLMNOP", rows, strict=False):
        row.setdefault("name", name)
    return {"title": "Test part", "wood": wood, "outline": {"corners": rows}, **tables}


def held():
    """Corners A and B, so that the part can neither slide nor turn."""
    return [
        {"name": "one", "kind": "fixed", "on": "corner A"},
        {"name": "two", "kind": "fixed", "on": "corner B", "axes": ["y"]},
    ]


def in_xy(grain, stress):
    """Stress (σ_0, σ_90, τ) of a grain at an angle as (σ_x, σ_y, τ_xy): the tensor turned back."""
    a = np.radians(grain)
    R = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    s = R @ np.array([[stress[0], stress[2]], [stress[2], stress[1]]]) @ R.T
    return s[0, 0], s[1, 1], s[0, 1]


def uniform(stress, grain=0.0, length=150.0, depth=80.0, **more):
    """A rectangle under a uniform stress (σ_0, σ_90, τ) in grain axes, MPa, by tractions on its four edges."""
    x, y, xy = in_xy(grain, stress)
    faces = {"A-B": (-xy, -y), "B-C": (x, xy), "C-D": (xy, y), "D-A": (-x, -xy)}
    loads = [
        {"name": name, "on": f"edge {name}", "traction": [f"{t!r} MPa" for t in map(float, pull)]}
        for name, pull in faces.items()
    ]
    corners = [(0, 0), (length, 0), (length, depth), (0, depth)]
    return document(corners, grain=grain, support=held(), load=loads, **more)


def check(doc):
    """Check a part given as a dictionary, by the mean stress alone: tests/test_cracking.py looks at energy."""
    return fesolve.check(fesolve.part_from(doc), sure=False, splits=False)


def row(result, mode):
    """The breaking mode's row of the first case."""
    return next(row for row in result.verdict.modes if row.mode == mode)
