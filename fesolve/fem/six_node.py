"""A solution on any kind of element, carried over to six-node triangles on the same places.

What looks along grain lines looks at six-node triangles. Triangles keep their corners; a quadrilateral is divided in
two along its shorter diagonal. The stress at the new nodes is that of the elements' own shape functions, so that of
three- and six-node triangles and of four-node parallelograms is the same field; of other quadrilaterals it is the
quadratic field through it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..mesh.mesh import Mesh
from .elements import ELEMENTS, TRIANGLE6, Element
from .model import PlaneModel
from .solution import Solution, stress_points

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

CENTRE = 8  # a quadrilateral's nodes with its middles, then its centre
_DIVIDED = np.array([
    [[0, 1, 2, 4, 5, CENTRE], [0, 2, 3, CENTRE, 6, 7]],  # along 0-2
    [[0, 1, 3, 4, CENTRE, 7], [1, 2, 3, 5, 6, CENTRE]],  # along 1-3
])  # fmt: skip


@dataclass(frozen=True)
class _Divided:
    """Elements of one kind as triangles: the element of each (t,), and of its nodes the reference place (t, 6, 2)."""

    element: IntArray
    reference: Array


def with_six_nodes(solution: Solution) -> Solution:
    """The same solution on six-node triangles.

    Parameters
    ----------
    solution : Solution
        Of any kinds of element; one of six-node triangles alone comes back as it is.

    Raises
    ------
    InputError
        If a quadrilateral's middle nodes lie so far off that a half of it is folded.
    """
    model = solution.model
    if set(model.mesh.cells) == {TRIANGLE6.name}:
        return solution
    halves = [_divided(model.mesh, element, cells) for element, cells, _ in model.blocks]
    parent = np.concatenate(
        [place.start + half.element for half, (_, _, place) in zip(halves, model.blocks, strict=True)]
    )
    places = _at_nodes(model, halves, model.mesh.points, model.mesh.cells)
    cells = _numbered(model, halves)
    points = np.empty((int(cells.max()) + 1, 2))
    points[cells] = places
    regions = {name: {TRIANGLE6.name: np.flatnonzero(np.isin(parent, mine))} for name, mine in model.regions.items()}
    finer = PlaneModel(
        Mesh(points, {TRIANGLE6.name: cells}, regions=regions),
        model.material,
        model.cell_thickness[parent],
        model.cell_grain[parent],
    )
    point, region, (numbers,) = stress_points(finer)

    def carried(values: Array, blocks: Mapping[str, IntArray], target: IntArray, count: int) -> Array:
        made = np.empty((count, values.shape[-1]))
        made[target] = _at_nodes(model, halves, values, blocks)
        return made

    def each(values: Array, blocks: Mapping[str, IntArray], target: IntArray, count: int) -> Array:
        if values.ndim == 2:
            return carried(values, blocks, target, count)
        return np.stack([carried(one, blocks, target, count) for one in values])

    return replace(
        solution,
        model=finer,
        displacement=each(solution.displacement, model.mesh.cells, cells, len(points)),
        stress_xy=each(solution.stress_xy, solution.stress_blocks, numbers, len(point)),
        stress_grain=each(solution.stress_grain, solution.stress_blocks, numbers, len(point)),
        stress_point=point,
        stress_region=region,
        stress_blocks={TRIANGLE6.name: numbers},
    )


def _divided(mesh: Mesh, element: Element, cells: IntArray) -> _Divided:
    if element.corners == 3:
        return _Divided(np.arange(len(cells)), np.broadcast_to(TRIANGLE6.places, (len(cells), 6, 2)))
    corner = mesh.points[cells[:, :4]]
    one = np.linalg.norm(corner[:, 0] - corner[:, 2], axis=1)
    other = np.linalg.norm(corner[:, 1] - corner[:, 3], axis=1)
    local = _DIVIDED[(other < one).astype(np.int64)]  # (e, 2, 6)
    nodes = np.vstack([ELEMENTS["quad8"].places, [[0.0, 0.0]]])
    return _Divided(np.repeat(np.arange(len(cells)), 2), nodes[local].reshape(-1, 6, 2))


def _at_nodes(model: PlaneModel, halves: list[_Divided], values: Array, blocks: Mapping[str, IntArray]) -> Array:
    """Nodal values (m, s) at the nodes of the triangles, (t, 6, s); `blocks` says which rows are an element's."""
    found = []
    for half, (element, _, _) in zip(halves, model.blocks, strict=True):
        shape = element.shape(half.reference.reshape(-1, 2)).reshape(len(half.element), 6, -1)
        rows = blocks[element.name][half.element]
        found.append(np.einsum("tna,tas->tns", shape, values[rows]))
    return np.concatenate(found)


def _numbered(model: PlaneModel, halves: list[_Divided]) -> IntArray:
    """Numbers for the nodes (t, 6): those of the mesh first, then one for each side without a node, and each centre."""
    count = len(model.mesh.points)
    owner = np.concatenate(
        [place.start + half.element for half, (_, _, place) in zip(halves, model.blocks, strict=True)]
    )
    corners = np.concatenate([_corners(half, cells) for half, (_, cells, _) in zip(halves, model.blocks, strict=True)])
    ends = np.sort(np.stack([corners, np.roll(corners, -1, axis=1)], axis=2), axis=2)
    key = ends[..., 0] * count + ends[..., 1]
    unique, inverse = np.unique(key, return_inverse=True)
    middles = count + inverse.reshape(key.shape)
    for element, cells, place in model.blocks:
        if element.order == 2:  # their sides have nodes already
            pair = np.sort(cells[:, element.sides[:, :2]], axis=2)
            known = np.searchsorted(unique, pair[..., 0] * count + pair[..., 1])
            renamed = np.arange(len(unique)) + count
            renamed[known] = cells[:, element.sides[:, 2]]
            mine = (owner >= place.start) & (owner < place.stop)
            middles[mine] = renamed[middles[mine] - count]
    used, tidy = np.unique(middles, return_inverse=True)
    fresh = used >= count
    final = np.where(fresh, count + np.cumsum(fresh) - 1, used)
    return np.hstack([corners, final[tidy.reshape(middles.shape)]])


def _corners(half: _Divided, cells: IntArray) -> IntArray:
    """Mesh points (t, 3) at the corners of the triangles."""
    nodes = ELEMENTS["triangle" if cells.shape[1] in (3, 6) else "quad"].places
    local = np.abs(half.reference[:, :3, None, :] - nodes).sum(axis=3).argmin(axis=2)
    return np.asarray(np.take_along_axis(cells[half.element], local, axis=1))
