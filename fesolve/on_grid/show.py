"""A solved grid to look at: in the house's picture, or in a plotter of pyvista with the house's colours."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from ..errors import InputError
from ..fem.boundary import side_quadrature
from ..judge.verdict import COMBINED, SPLITTING, LoadRow, ReactionRow
from ..units import Formatter, shorten
from ..view.grid_picture import GridShown, closed, colour_map, draw_grid
from ..view.ramp import INK, PAPER, TOP
from ..view.sketch import Piece
from ..wood.model import Wood
from .loops import patch, polygons
from .solve import Solved, utilisation_name

ALONG_NORMAL = 0.99  # cosine from which a place held along one axis is held square to itself
MOST_PIECES = 24


def picture(solved: Solved, grid: Any, mode: str, file: str | Path, units: str) -> Path:
    """Draw a solved grid as PNG, without a screen and without OpenGL.

    Raises
    ------
    InputError
        For a mode that is not there, and a file that cannot be written.
    """
    path = Path(file)
    if path.suffix.lower() != ".png":
        raise InputError(f"{path} should end in .png; other forms: grid.fesolve.plot() gives a plotter.", key="file")
    if units not in ("si", "us"):
        raise InputError(f'units is {shorten(repr(units))}; give "si" or "us".', key="units")
    values = _values(grid, mode)
    try:
        draw_grid(_shown(solved, values, mode), path, Formatter("us" if units == "us" else "si"))
    except OSError as error:
        raise InputError(f"Cannot write {path}: {error.strerror or error}.", key="file") from error
    return path


def plotter(solved: Solved, grid: Any, mode: str) -> Any:
    """A plotter of pyvista that shows a solved grid from above, in the house's colours; not shown yet.

    Raises
    ------
    InputError
        For a mode that is not there.
    """
    import pyvista

    _values(grid, mode)
    made = pyvista.Plotter()
    made.set_background(PAPER)
    bar = {"title": f"share of the strength: {mode}\n", "color": INK, "fmt": "%.1f"}
    made.add_mesh(
        grid, scalars=utilisation_name(mode), cmap=colour_map(), clim=(0.0, TOP), scalar_bar_args=bar, lighting=False
    )
    edges = grid.extract_feature_edges(boundary_edges=True, feature_edges=False, manifold_edges=False)
    made.add_mesh(edges, color=INK, line_width=2, lighting=False)
    made.view_xy()
    return made


def _values(grid: Any, mode: str) -> Any:
    name = utilisation_name(mode)
    if name in grid.point_data:
        return np.asarray(grid.point_data[name], dtype=np.float64)
    first = utilisation_name("")
    known = [one.removeprefix(first).replace("_", " ") for one in grid.point_data if one.startswith(first)]
    listed = f"Modes: {', '.join(known)}." if known else "It has none at all: see grid.fesolve.notes."
    raise InputError(f"The grid has no utilisation of {shorten(repr(mode))}. {listed}", key="mode")


def _shown(solved: Solved, values: Any, mode: str) -> GridShown:
    six, model = solved.six, solved.solution.model
    filled = np.nan_to_num(values)
    worst = int(filled.argmax())
    at = model.mesh.points[solved.solution.stress_point[worst]]
    x, y = at / solved.read.scale
    use = float(filled[worst])
    means = mode in (SPLITTING, COMBINED)
    over = "more than the strength" if use > 1 else "of the strength"
    kind = "the worst mean over a length of fibres" if means else "the stress at a point, which decides nothing"
    field = solved.on_six(values)
    return GridShown(
        title=f"{mode.capitalize()}: {use:.3g} {'times the strength' if use > 1 else over} at most",
        second=f"Ringed, at ({x:.4g}, {y:.4g}): {kind}.",
        footer=_footer(solved),
        what=f"share of the strength: {mode}",
        note="mean over a length of fibres" if means else "stress at each point",
        polygons=polygons(model.mesh),
        points=six.model.mesh.points[six.stress_point],
        cells=six.stress_cells,
        values=np.nan_to_num(field),
        worst=(float(at[0]), float(at[1])) if use > 0 else None,
        pieces=_pieces(solved),
        rows=_rows(solved),
    )


def _footer(solved: Solved) -> str:
    names = list(dict.fromkeys(w.name for w in solved.woods.woods if isinstance(w, Wood)))
    bases = list(dict.fromkeys(w.basis for w in solved.woods.woods if isinstance(w, Wood)))
    return f"{', '.join(names)}  ·  basis {', '.join(bases)}  ·  clear wood in one plane; not a release for use"


def _pieces(solved: Solved) -> list[Piece]:
    six = solved.six.model
    grain = six.cell_grain
    angles = np.unique(grain)
    if len(angles) == 1:
        return [Piece(float(angles[0]))]
    corners = six.mesh.points[six.cells[:, :3]]
    return [Piece(float(angle), corners[grain == angle]) for angle in angles[:MOST_PIECES]]


def _rows(solved: Solved) -> list[LoadRow | ReactionRow]:
    """What acts on the grid, load by load and support by support."""
    mesh, acting = solved.solution.model.mesh, solved.acting
    rows: list[LoadRow | ReactionRow] = []
    for load, (_, place, _) in zip(solved.solution.model.loads, acting.loads, strict=True):
        line = patch(mesh, solved.places[place].sides)
        at = _middle(line) if closed(line) else load.center
        rows.append(LoadRow(load.name, "", _pair(load.resultant), place, _pair(at), _points(line)))
    for one in solved.solution.case_reactions[0]:
        line = patch(mesh, solved.places[one.name].sides)
        at = one.points.mean(axis=0) if len(line) == 0 else _middle(line)
        kind = _kind(solved, one.name)
        rows.append(ReactionRow(one.name, "", _pair(one.resultant), 0.0, kind, one.name, _pair(at), _points(line)))
    return rows


def _middle(line: Any) -> Any:
    """The middle between both ends of a line (k, 2); of a closed one that of all its points."""
    return line[:-1].mean(axis=0) if closed(line) else 0.5 * (line[0] + line[-1])


def _kind(solved: Solved, place: str) -> str:
    """A wall, or rollers where a place is held along its normal alone."""
    axes, sides = solved.acting.holds[place], solved.places[place].sides
    if axes == "normal":
        return "roller"
    if len(set(axes)) == 2 or len(sides) == 0:
        return "fixed"
    face = side_quadrature(solved.solution.model.mesh, sides)
    normal = np.einsum("kq,kqi->i", face.lengths, face.normals)
    along = abs(float(normal["xy".index(axes[0])]))
    return "roller" if along > ALONG_NORMAL * float(np.linalg.norm(normal)) else "fixed"


def _pair(vector: Any) -> tuple[float, float]:
    return float(vector[0]), float(vector[1])


def _points(line: Any) -> tuple[tuple[float, float], ...]:
    return tuple(_pair(point) for point in line)
