"""Which elements share a side, and refusal of meshes whose elements cannot be used."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..mesh.mesh import Mesh
from .elements import ELEMENTS, Element
from .stiffness import is_affine

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
SlotArray = NDArray[np.int32]
BoolArray = NDArray[np.bool_]

FOLD = 1e-9  # of the corners' area: what rounding may make of a Jacobian that is 0


def side_numbers(cells: Mapping[str, IntArray]) -> list[IntArray]:
    """A number for each side, the same on both of its elements: (e, s) of each block.

    Of quadratic elements it is the node in the middle.
    """
    if all(ELEMENTS[kind].order == 2 for kind in cells):
        return [block[:, ELEMENTS[kind].corners :] for kind, block in cells.items()]
    ends = [block[:, ELEMENTS[kind].sides[:, :2]] for kind, block in cells.items()]
    width = max((int(pair.max(initial=0)) for pair in ends), default=0) + 1
    keys = [pair.min(axis=2) * width + pair.max(axis=2) for pair in ends]
    numbers = np.unique(np.concatenate([key.reshape(-1) for key in keys]), return_inverse=True)[1]
    parts = np.split(numbers, np.cumsum([key.size for key in keys])[:-1])
    return [part.reshape(key.shape) for part, key in zip(parts, keys, strict=True)]


def element_neighbours(cells: Mapping[str, IntArray]) -> SlotArray:
    """The element across each side, (s, e), counted over all kinds; the number of elements where there is none."""
    numbers = side_numbers(cells)
    count = sum(len(block) for block in numbers)
    mine = np.arange(count)
    owner = np.concatenate([np.repeat(part, block.shape[1]) for part, block in _with_places(numbers)])
    flat = np.concatenate([block.reshape(-1) for block in numbers])
    users = np.bincount(flat)
    total = np.bincount(flat, owner)  # of the two element numbers: exact in double precision
    result = np.full((max(block.shape[1] for block in numbers), count), count, dtype=np.int32)
    for part, block in _with_places(numbers):
        other = total[block] - mine[part][:, None]
        result[: block.shape[1], part] = np.where(users[block] == 2, other, count).T
    return result


def _with_places(blocks: list[IntArray]) -> list[tuple[IntArray, IntArray]]:
    starts = np.cumsum([0, *[len(block) for block in blocks]])
    return [(np.arange(first, first + len(block)), block) for first, block in zip(starts[:-1], blocks, strict=True)]


# ---- what cannot be used


def check_mesh(mesh: Mesh) -> None:
    """Refuse a mesh that cannot be solved on.

    Raises
    ------
    InputError
        Without cells; for points of no cell; for elements turned inside out or folded; for elements that are there
        twice or lie on one another. The message names the first of them and where it is.
    """
    if sum(len(block) for block in mesh.cells.values()) == 0:
        raise InputError("The mesh has no cells.")
    if len({ELEMENTS[kind].order for kind in mesh.cells}) > 1:
        raise InputError(f"Linear and quadratic cells are mixed: {', '.join(mesh.cells)}. Use cells of one order.")
    _check_unused(mesh)
    first = 0
    for kind, block in mesh.cells.items():
        _check_shape(mesh.points, block, ELEMENTS[kind], first)
        first += len(block)
    _check_overlap(mesh)


def _check_unused(mesh: Mesh) -> None:
    used = np.zeros(len(mesh.points), dtype=bool)
    for block in mesh.cells.values():
        used[block] = True
    if not used.all():
        number = int(np.argmin(used))
        raise InputError(
            f"{int((~used).sum())} of {len(used)} mesh points belong to no cell; the first is point {number} at "
            f"{_places(mesh.points[[number]])} mm. Leave them out, or add the cells that are missing."
        )


def _check_shape(points: Array, cells: IntArray, element: Element, first: int) -> None:
    corner = points[cells[:, : element.corners]]
    turns = _turns(corner)
    if not (turns > 0).all():
        local = int(np.argmax(~(turns > 0)))
        x, y = corner[local].T
        turned = element.corners == 3 or (x * np.roll(y, -1) - y * np.roll(x, -1)).sum() <= 0
        what = "has its corners clockwise or on one line" if turned else "has a corner that points inwards"
        advice = "List the corners counter-clockwise." if turned else "Divide it into triangles."
        raise InputError(f"{_called(corner[local], element, first + local)} {what}. {advice}")
    if element.order == 2:
        _check_fold(points, cells, element, first)


def _turns(corner: Array) -> Array:
    """Least cross product of two sides that follow one another, (e,); of a triangle twice its area."""
    place = np.ascontiguousarray(corner.transpose(1, 2, 0))
    x, y = np.moveaxis(np.roll(place, -1, axis=0) - place, 1, 0)  # sides (s, e)
    if len(x) == 3:
        return np.asarray(x[0] * y[1] - y[0] * x[1])
    return np.asarray((x * np.roll(y, -1, axis=0) - y * np.roll(x, -1, axis=0)).min(axis=0))


def _check_fold(points: Array, cells: IntArray, element: Element, first: int) -> None:
    """Jacobians at the nodes (0 is allowed there: middles at a quarter) and at the quadrature points."""
    curved = np.flatnonzero(~is_affine(points, cells, element))
    place = points[cells[curved]]
    size = _turns(place[:, : element.corners])
    at_nodes = _determinants(place, element.gradients(element.places)).min(axis=1)
    inside = _determinants(place, element.gradients(element.rule[0])).min(axis=1)
    folded = (at_nodes < -FOLD * size) | (inside <= 0)
    if folded.any():
        local = int(np.argmax(folded))
        called = _called(place[local, : element.corners], element, first + int(curved[local]))
        raise InputError(
            f"{called} is folded by its middle nodes. Put each middle node near the middle of its side, in the order "
            "of the sides 0-1, 1-2, …"
        )


def _determinants(place: Array, gradients: Array) -> Array:
    J = np.einsum("qak,eai->eqik", gradients, place, optimize=True)
    return np.asarray(J[..., 0, 0] * J[..., 1, 1] - J[..., 0, 1] * J[..., 1, 0])


def _check_overlap(mesh: Mesh) -> None:
    """Every side has one element on each side of it at most."""
    numbers = side_numbers(mesh.cells)
    flat = np.concatenate([block.reshape(-1) for block in numbers])
    way = np.concatenate([_ways(block, ELEMENTS[kind]).reshape(-1) for kind, block in mesh.cells.items()])
    forward = np.bincount(flat, way)
    backward = np.bincount(flat) - forward
    bad = (forward > 1) | (backward > 1)
    if not bad.any():
        return
    owner = np.concatenate([np.repeat(part, block.shape[1]) for part, block in _with_places(numbers)])
    place = int(np.argmax(bad[flat]))
    same = (flat == flat[place]) & (way == way[place])
    if same.sum() < 2:  # the other way round it is
        same = (flat == flat[place]) & (way != way[place])
    one, other = owner[np.flatnonzero(same)[:2]]
    raise InputError(_overlap_words(mesh, int(one), int(other)))


def _ways(cells: IntArray, element: Element) -> BoolArray:
    """Whether each side runs from the smaller node to the greater, (e, s)."""
    ends = cells[:, element.sides[:, :2]]
    return np.asarray(ends[..., 0] < ends[..., 1])


def _overlap_words(mesh: Mesh, one: int, other: int) -> str:
    """What is wrong with two elements that lie on the same side of a side."""
    (element, cell), (_, beside) = _element(mesh, one), _element(mesh, other)
    name = _called(mesh.points[cell[: element.corners]], element, one)
    if set(cell.tolist()) == set(beside.tolist()):
        return f"{name} is there twice, as element {other} too. Leave one out."
    return f"{name} and element {other} lie on the same side of a side that they share: they overlap. Leave one out."


def _element(mesh: Mesh, number: int) -> tuple[Element, IntArray]:
    """Kind and nodes of an element that is counted over all kinds."""
    for kind, block in mesh.cells.items():
        if number < len(block):
            return ELEMENTS[kind], block[number]
        number -= len(block)
    raise IndexError(number)


def _called(corner: Array, element: Element, number: int) -> str:
    return f'Element {number} ("{element.name}", corners at {_places(corner)} mm)'


def _places(points: Array) -> str:
    return ", ".join(f"({x:.6g}, {y:.6g})" for x, y in points)
