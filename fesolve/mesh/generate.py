"""From an outline to a mesh of six-node triangles; the one file that knows gmsh."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from ..errors import FesolveError, InputError, MissingLibraryError, SolveError
from ..part.model import Part
from .curves import Curve, FloatArray, Point, as_point
from .mesh import IntArray, Mesh
from .order import SIDES, Raised, jacobians, raise_order, side_keys
from .outline import Outline
from .patches import patches_of
from .regions import BODY, region_at
from .sizes import MARGIN, SizeField, size_field
from .splits import LABEL, ONE_SIDE, fans, opened

DEBIAN_PACKAGES = "libgl1 libglu1-mesa libgomp1 libosmesa6 libxcursor1 libxft2 libxinerama1"

OPTIONS = {
    "General.Terminal": 0,
    "General.NumThreads": 1,  # the same mesh every time
    "Mesh.Algorithm": 6,  # frontal-Delaunay: the most even triangles
    "Mesh.ElementOrder": 1,
    "Mesh.MeshSizeMin": 0,
    "Mesh.MeshSizeMax": 1e22,
    "Mesh.MeshSizeFactor": 1,
    "Mesh.MeshSizeExtendFromBoundary": 0,
    "Mesh.MeshSizeFromPoints": 0,
    "Mesh.MeshSizeFromCurvature": 0,
}


def mesh_part(part: Part, outline: Outline, *, scale: float = 1.0, size: SizeField | None = None) -> Mesh:
    """Mesh a part with six-node triangles, curved sides on its arcs.

    Parameters
    ----------
    part : Part
        The description; ``mesh.size`` (mm) caps every side, curved ones by their chord.
    outline : Outline
        The same part, drawn by `part_outline`.
    scale : float
        Multiplies all sizes; 0.5 halves them.
    size : SizeField, optional
        Sizes to use in place of the part's own, for refinement.

    Returns
    -------
    Mesh
        Cells ``triangle6``; ``edges`` (k, 3) by curve name with the wood on the left; ``point_sets``
        ``corner A`` where the corner is still there, and ``support s``, ``load l`` on corners. Where the part
        has regions, ``regions`` holds each cell once, under a region's name or ``part`` (which may be empty), and
        sides along their borders are shared by the cells on both.

    Raises
    ------
    InputError
        If more than 400,000 triangles would be needed.
    SolveError
        If no mesh with positive Jacobians could be made.
    MissingLibraryError
        If gmsh's system libraries are missing.
    """
    if not (math.isfinite(scale) and scale > 0):
        raise InputError(f"Mesh scale is {scale}; give a number above 0.")
    problem = ""
    for shrink in (1.0, 0.6):  # a second try with smaller elements where the first is folded
        field = _field(part, outline, scale * shrink, size)
        try:
            return _capped(part, outline, field)
        except SolveError as error:
            problem = error.message
    raise SolveError(f"No usable mesh could be made: {problem} Try another [mesh] size, or simplify the outline.")


def _field(part: Part, outline: Outline, scale: float, size: SizeField | None) -> SizeField:
    if size is None:
        return size_field(part, outline, scale=scale)
    cap = MARGIN * part.mesh.size if part.mesh.size is not None else math.inf
    return SizeField(size.points, size.triangles, np.minimum(size.size, cap) * scale)


def _capped(part: Part, outline: Outline, field: SizeField) -> Mesh:
    """Mesh, and mesh again with smaller sizes while a side is longer than the part allows."""
    for _ in range(3):
        mesh = _mesh_once(part, outline, field)
        longest = _longest_side(mesh)
        if part.mesh.size is None or longest <= part.mesh.size:
            return mesh
        shrunk = np.minimum(field.size, MARGIN * part.mesh.size * part.mesh.size / longest * 0.95)
        field = SizeField(field.points, field.triangles, shrunk)
    raise SolveError(f"Element sides of {longest:.3g} mm stayed longer than the {part.mesh.size:.3g} mm asked for.")


def _longest_side(mesh: Mesh) -> float:
    corners = mesh.points[mesh.cells["triangle6"][:, :3]]
    return float(np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=-1).max())


def _mesh_once(part: Part, outline: Outline, field: SizeField) -> Mesh:
    with _gmsh_model() as gmsh:
        try:
            tags = _geometry(gmsh, outline)
            _background(gmsh, field)
            gmsh.model.mesh.generate(2)
            points, triangles, chains = _linear_mesh(gmsh, tags)
        except FesolveError:
            raise
        except Exception as error:  # gmsh raises bare Exception
            raise SolveError(f"gmsh could not mesh the outline ({error}).") from error
    return _finish(part, outline, points, triangles, chains)


@contextlib.contextmanager
def _gmsh_model() -> Iterator[Any]:
    """An empty gmsh model, quiet; a session that the caller already runs is left as it was."""
    gmsh = _import_gmsh()
    with _own_session(gmsh) if not gmsh.isInitialized() else _within_session(gmsh):
        for name, value in OPTIONS.items():
            gmsh.option.setNumber(name, value)
        gmsh.model.add("fesolve outline")
        yield gmsh


@contextlib.contextmanager
def _own_session(gmsh: Any) -> Iterator[None]:
    gmsh.initialize(["fesolve"], readConfigFiles=False, run=False, interruptible=False)
    try:
        yield
    finally:
        gmsh.finalize()


@contextlib.contextmanager
def _within_session(gmsh: Any) -> Iterator[None]:
    """Put back what the model and its sizes change in a session of the caller."""
    options = {name: gmsh.option.getNumber(name) for name in OPTIONS}
    current, views = gmsh.model.getCurrent(), set(gmsh.view.getTags())
    try:
        yield
    finally:
        for tag in set(gmsh.view.getTags()) - views:
            gmsh.view.remove(tag)
        gmsh.model.remove()
        gmsh.model.setCurrent(current)
        for name, value in options.items():
            gmsh.option.setNumber(name, value)


def _import_gmsh() -> Any:
    try:
        import gmsh
    except (ImportError, OSError) as error:
        raise MissingLibraryError(
            f"gmsh, which makes the mesh, could not be loaded ({error}). On Debian or Ubuntu install the packages "
            f"{DEBIAN_PACKAGES}."
        ) from error
    return gmsh


def _geometry(gmsh: Any, outline: Outline) -> list[int]:
    """Draw the outline and all lines in it with the OpenCASCADE kernel; tags of `Outline.drawn`."""
    occ = gmsh.model.occ
    points = {
        place: occ.addPoint(*place, 0.0)
        for place in dict.fromkeys(place for curve in outline.drawn for place in (curve.start, curve.end))
    }
    tags = [_draw(occ, curve, points[curve.start], points[curve.end]) for curve in outline.drawn]
    fan = [occ.addPoint(*place, 0.0) for one in outline.splits for place in fans(one)]
    left = iter(tags)
    surface = occ.addPlaneSurface([occ.addCurveLoop([next(left) for _ in loop]) for loop in outline.loops])
    occ.synchronize()
    inner = tags[len(outline.curves) :]
    if inner:
        gmsh.model.mesh.embed(1, inner, 2, surface)
    if fan:
        gmsh.model.mesh.embed(0, fan, 2, surface)
    for tag, curve in zip(tags, outline.drawn, strict=True):
        if ONE_SIDE in curve.names:
            gmsh.model.mesh.setTransfiniteCurve(tag, 2)
    return tags


def _draw(occ: Any, curve: Curve, start: int, end: int) -> int:
    if curve.kind == "line":
        return int(occ.addLine(start, end))
    # through its middle: the sense of an arc is then never in doubt
    middle = occ.addPoint(*as_point(curve.point(curve.length / 2)), 0.0)
    tag = int(occ.addCircleArc(start, middle, end, center=False))
    occ.remove([(0, middle)])
    return tag


def _background(gmsh: Any, field: SizeField) -> None:
    """Give the sizes to gmsh as a view of loose triangles."""
    corners = field.points[field.triangles]
    zero = np.zeros(corners.shape[:2])
    data = np.concatenate([corners[..., 0], corners[..., 1], zero, field.size[field.triangles]], axis=1)
    view = gmsh.view.add("size")
    gmsh.view.addListData(view, "ST", len(data), data.ravel())
    tag = gmsh.model.mesh.field.add("PostView")
    gmsh.model.mesh.field.setNumber(tag, "ViewTag", view)
    gmsh.model.mesh.field.setAsBackgroundMesh(tag)


def _linear_mesh(gmsh: Any, tags: list[int]) -> tuple[FloatArray, IntArray, list[IntArray]]:
    """Points (n, 2), triangles (e, 3), and the sides (k, 2) on each curve; only nodes in use."""
    node_tags, coordinates, _ = gmsh.model.mesh.getNodes()
    _, nodes = gmsh.model.mesh.getElementsByType(2)
    if len(nodes) == 0:
        raise SolveError("gmsh made no triangles.")
    order = np.argsort(node_tags)
    node_tags, coordinates = node_tags[order], coordinates.reshape(-1, 3)[order, :2]
    used, triangles = np.unique(nodes, return_inverse=True)
    points = coordinates[np.searchsorted(node_tags, used)]
    chains = []
    for tag in tags:
        _, ends = gmsh.model.mesh.getElementsByType(1, tag)
        chains.append(np.searchsorted(used, ends).reshape(-1, 2).astype(np.int64))
    return points, triangles.reshape(-1, 3).astype(np.int64), chains


def _finish(part: Part, outline: Outline, points: FloatArray, triangles: IntArray, chains: list[IntArray]) -> Mesh:
    """Snap to the exact outline, raise the order, name edges and regions, check."""
    points = points.copy()
    for curve, sides in zip(outline.drawn, chains, strict=True):
        _snap(points, curve, sides)
    triangles = _counter_clockwise(points, triangles)
    raised = raise_order(points, triangles)
    count = len(outline.curves)
    _check_sides(raised, triangles, np.concatenate(chains[:count]), chains[count:])
    edges = _edges(outline, raised, chains)
    smallest = jacobians(raised.points, raised.cells)
    if not (smallest > 0).all():
        raise SolveError(f"{int((smallest <= 0).any(axis=1).sum())} elements are folded at a curved side.")
    regions = _regions(part, points[triangles].mean(axis=1))
    sets = point_sets(part, outline, points) | _split_nodes(outline, raised, chains[count:])
    whole = Mesh(raised.points, {"triangle6": raised.cells}, regions=regions, edges=edges, point_sets=sets)
    return _cracked(part, outline, whole)


def _cracked(part: Part, outline: Outline, mesh: Mesh) -> Mesh:
    """The mesh open along the cracks that the part has already; both faces of each as point sets."""
    lines = {one.name: one for one in outline.splits}
    for crack in part.cracks:
        one = opened(mesh, lines[crack.name])
        both = {f"crack {crack.name} left": one.left, f"crack {crack.name} right": one.right}
        mesh = replace(one.mesh, point_sets={**one.mesh.point_sets, **both})
    return mesh


def _edges(outline: Outline, raised: Raised, chains: list[IntArray]) -> dict[str, IntArray]:
    """Sides (k, 3) of each name, their middle nodes put on the arcs."""
    named: dict[str, list[IntArray]] = {}
    for curve, sides in zip(outline.curves, chains, strict=False):
        triple = np.column_stack([sides, raised.middles(sides)])
        if curve.radius is not None:
            raised.points[triple[:, 2]] = _on_arc(raised.points[sides].mean(axis=1), curve)
        for name in curve.names:
            named.setdefault(name, []).append(triple)
    return {name: np.concatenate(blocks) for name, blocks in named.items()}


def _regions(part: Part, centers: FloatArray) -> dict[str, dict[str, IntArray]]:
    """Cells of the rest of the part and of each region by their centres (e, 2); empty without regions."""
    if not part.regions:
        return {}
    index = region_at(part, centers)
    names = [(BODY, "part"), *((i, region.name) for i, region in enumerate(part.regions))]
    return {name: {"triangle6": np.flatnonzero(index == i)} for i, name in names}


def _snap(points: FloatArray, curve: Curve, sides: IntArray) -> None:
    """Put the nodes of a curve exactly where they belong."""
    inner = sides[1:, 0]
    if curve.radius is not None:
        points[inner] = _on_arc(points[inner], curve)
    points[sides[0, 0]], points[sides[-1, 1]] = curve.start, curve.end


def _on_arc(places: FloatArray, curve: Curve) -> FloatArray:
    """The places (k, 2) moved to the arc along its radius."""
    assert curve.radius is not None
    away = places - np.asarray(curve.center)
    return np.asarray(curve.center + curve.radius * away / np.linalg.norm(away, axis=1)[:, None])


def _counter_clockwise(points: FloatArray, triangles: IntArray) -> IntArray:
    a, b, c = points[triangles].transpose(1, 0, 2)
    twice = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    return np.where(twice[:, None] < 0, triangles[:, ::-1], triangles)


def _check_sides(raised: Raised, triangles: IntArray, sides: IntArray, between: list[IntArray]) -> None:
    """Every boundary side belongs to one curve, and runs the way its triangle does (wood on the left).

    Every side of a line between regions lies between two triangles.
    """
    directed = triangles[:, SIDES].reshape(-1, 2)
    keys = side_keys(directed, raised.corners)
    known, first, count = np.unique(keys, return_index=True, return_counts=True)
    boundary = directed[first[count == 1]]
    if count.max() > 2 or set(map(tuple, boundary.tolist())) != set(map(tuple, sides.tolist())):
        raise SolveError("the sides of the mesh do not fit the outline.")
    for chain in between:
        if len(chain) == 0 or not np.isin(side_keys(chain, raised.corners), known[count == 2]).all():
            raise SolveError("the sides of the mesh do not fit the regions.")


def _split_nodes(outline: Outline, raised: Raised, chains: list[IntArray]) -> dict[str, IntArray]:
    """Nodes along each line that can be opened, from its start: ends and middles of its sides in turn."""
    found: dict[str, list[IntArray]] = {}
    for curve, sides in zip(outline.drawn[len(outline.curves) :], chains, strict=True):
        if curve.names[0].startswith(LABEL):
            found.setdefault(curve.names[0], []).append(sides)
    chained = {name: np.concatenate(blocks) for name, blocks in found.items()}
    return {
        name: np.append(np.column_stack([sides[:, 0], raised.middles(sides)]).ravel(), sides[-1, 1])
        for name, sides in chained.items()
    }


def point_sets(part: Part, outline: Outline, points: FloatArray) -> dict[str, IntArray]:
    """The node of each corner that is still there, and of supports and loads on corners."""

    def node(place: Point) -> IntArray:
        return np.array([int(np.argmin(np.hypot(*(points - np.asarray(place)).T)))], dtype=np.int64)

    sets = {f"corner {name}": node(outline.corner_points[name]) for name in outline.sharp_corners}
    for patch in patches_of(part):
        if patch.place.kind == "corner":
            sets[patch.label] = sets[f"corner {patch.place.name}"]
    return sets
