"""The whole verdict on a grid: what a part file would say of it, written down and checked on the grid's own cells."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from ..analysis import Result, check
from ..errors import InputError
from ..extensions import make_wood
from ..fem.boundary import side_owners, side_quadrature
from ..judge.of_wood import plane_strength, split_lengths
from ..mesh.foreign import Foreign, foreign_of
from ..wood.model import Wood
from .places import amount_of, pair_of
from .solve import Solved
from .zones import MOST

AGREES = 1e-6  # of a value: a wood put together again may differ by rounding


def check_on_grid(solved: Solved, title: str, *, sure: bool) -> Result:
    """Judge a solved grid as a part is judged, on its own cells.

    Parameters
    ----------
    solved : Solved
    title : str
        What the verdict calls it.
    sure : bool
        As for `fesolve.check`.

    Raises
    ------
    InputError
        For woods without strengths, grain that changes steadily, and edges that no outline can be made of.
    """
    foreign = foreign_of(_named(solved))
    part = foreign.part(document_of(solved, foreign, title))
    result = check(part, sure=sure, on=foreign)
    _check_woods(solved, result)
    return result


def _named(solved: Solved) -> Any:
    """The grid's mesh with its places under their own names: sides, and single points."""
    mesh = solved.solution.model.mesh
    alone = {name: one.points for name, one in solved.places.items() if len(one.sides) == 0}
    several = [name for name, points in alone.items() if len(points) > 1]
    if several:
        raise InputError(
            f'Place "{several[0]}" is {len(alone[several[0]])} single points without a side between them; a verdict '
            "needs one point, or whole sides.",
            key=f"places.{several[0]}",
        )
    return replace(mesh, point_sets=alone)


def document_of(solved: Solved, foreign: Foreign, title: str) -> dict[str, object]:
    """What a part file would say of a solved grid, but for its mesh."""
    model = solved.solution.model
    thickness, grain = model.cell_thickness, model.cell_grain
    woods = [_wood_table(wood) for wood in solved.woods.woods]
    bases = sorted({str(table["basis"]) for table in woods})
    if len(bases) > 1:
        raise InputError(f"The woods stand on several bases: {', '.join(bases)}. A verdict has one.", key="wood")
    if solved.pieces.grain is None:
        raise InputError(
            f"The grain of the grid has more than {MOST} directions; a verdict looks for splits along straight fibres. "
            "Give cells that lie alike the same grain.",
            key="grain",
        )
    regions = [
        {
            "name": name,
            "thickness": f"{float(thickness[cells[0]])!r} mm",
            "grain": f"{float(grain[cells[0]])!r} deg",
            **({"wood": _without_basis(woods[number])} if len(woods) > 1 else {}),
        }
        for (name, cells), number in zip(model.regions.items(), solved.pieces.wood.tolist(), strict=False)
    ]
    first = {"thickness": f"{float(thickness[0])!r} mm", "grain": f"{float(grain[0])!r} deg"}
    return {
        "title": title,
        "wood": woods[0] | first,
        "region": regions,
        "support": [_support(foreign, name, axes) for name, axes in solved.acting.holds.items()],
        "load": _loads(solved, foreign),
    }


def _without_basis(table: dict[str, object]) -> dict[str, object]:
    return {key: value for key, value in table.items() if key != "basis"}


def _on(foreign: Foreign, name: str) -> str:
    """How a part file names a place: that of a whole round hole, a single point, or sides."""
    shape = foreign.shape
    if name in (hole.name for hole in shape.holes):
        return f"hole {name}"
    corners = [corner.name for loop in (shape.corners, *(one.corners for one in shape.openings)) for corner in loop]
    if name in corners and name not in shape.groups:
        return f"corner {name}"
    if name in shape.groups:
        return f"edge {name}"
    raise InputError(
        f'Place "{name}" does not lie on the edge of the grid; a verdict needs what holds and loads it to stand there.',
        key=f"places.{name}",
    )


def _support(foreign: Foreign, name: str, axes: Any) -> dict[str, object]:
    row: dict[str, object] = {"name": name, "on": _on(foreign, name)}
    if axes == "normal":
        return row | {"kind": "roller"}
    return row | {"kind": "fixed", "axes": sorted(set(axes))}


def _loads(solved: Solved, foreign: Foreign) -> list[dict[str, object]]:
    rows: list[dict[str, object]] = []
    for load, (kind, place, amount) in zip(solved.solution.model.loads, solved.acting.loads, strict=True):
        on, key = _on(foreign, place), f"{kind}.{place}"
        row: dict[str, object] = {"name": load.name, "on": on}
        if kind == "pressure":
            rows.append(row | {"pressure": f"{amount_of(amount, 'stress', key)!r} MPa"})
            continue
        round_hole = kind == "force" and solved.places[place].is_round_hole(solved.solution.model.mesh)
        if round_hole and not on.startswith("hole "):
            raise InputError(
                f'Place "{place}" is loaded as a round hole, but its points do not lie on one circle well enough for a '
                "verdict; give a traction instead.",
                key=key,
            )
        spread = (
            kind == "force" and on.startswith("hole ") and not round_hole
        )  # there a part file means a pin's pressure
        area = _area(solved, place) if spread else 1.0
        pair = [value / area for value in pair_of(amount, "force" if kind == "force" else "stress", key)]
        plain = kind == "force" and not spread
        rows.append(
            row | {"force" if plain else "traction": [f"{value!r} {'N' if plain else 'MPa'}" for value in pair]}
        )
    return rows


def _area(solved: Solved, place: str) -> float:
    """Area of the face that a place is, mm^2."""
    model, sides = solved.solution.model, solved.places[place].sides
    face = side_quadrature(model.mesh, sides)
    return float(face.lengths.sum(axis=1) @ model.cell_thickness[side_owners(model.mesh.cells, sides)])


# ---- woods


def _wood_table(wood: Any) -> dict[str, object]:
    """A wood as a part file says it: by its species where that says all, else by its values."""
    if not isinstance(wood, Wood):
        raise InputError(
            "A verdict needs strengths, and this wood has elastic constants alone. Name a wood of the tables, or put "
            "one together with fesolve.make_wood.",
            key="wood",
        )
    if wood.graded is not None:
        raise InputError(
            f"{wood.name} is a grade or class, whose values hang on size, moisture and duration: its verdict needs a "
            "part file with the mesh in it ([mesh] file).",
            key="wood",
        )
    table: dict[str, object] = {"basis": wood.basis}
    if wood.species is not None and wood.face is not None:
        table |= {"species": wood.species, "board": wood.face}
        if _same(make_wood(species=wood.species, face=wood.face, basis=wood.basis), wood):
            return table
    if wood.density is not None:
        table["density"] = f"{wood.density * 1e12!r} kg/m^3"
    stiff = {name: f"{getattr(wood.plane, name)!r} MPa" for name in ("E_0", "E_90", "G")}
    table["elastic"] = {**stiff, "nu_0_90": wood.plane.nu_0_90}
    table["strength"] = {name: f"{one.value!r} MPa" for name, one in wood.strengths.items()}
    table["fracture"] = {name: [f"{end!r} N/mm" for end in getattr(wood.fracture, name)] for name in ("G_Ic", "G_IIc")}
    if wood.fracture.split_length is not None:
        table["fracture"] = {"split_length": f"{wood.fracture.split_length!r} mm"}
    return table


def _same(one: Wood, other: Wood) -> bool:
    """Whether two woods are judged alike: stiffness, strengths, and splitting lengths."""
    return bool(np.allclose(_figures(one), _figures(other), rtol=AGREES, atol=0.0))


def _figures(wood: Wood) -> list[float]:
    plane, lengths = wood.plane, split_lengths(wood)
    ends = [length.least for length in lengths] + [length.greatest for length in lengths]
    return [plane.E_0, plane.E_90, plane.G, plane.nu_0_90, *vars(plane_strength(wood)).values(), *ends]


def _check_woods(solved: Solved, result: Result) -> None:
    """Refuse a verdict on another wood than was meant: not all that a Wood holds can be written into a part file."""
    for made in result.woods.values():
        if not any(isinstance(wood, Wood) and _same(made, wood) for wood in solved.woods.woods):
            raise InputError(
                f'"{made.name}" has values of its own on basis "{made.basis}" that a part file cannot say; its means '
                'are not known then. Use it on basis "mean", or a wood of the tables.',
                key="wood",
            )
