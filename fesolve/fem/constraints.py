"""Supports as directions that may not move, node by node, and the rigid motions they leave free.

A node held along one direction gets a frame of its own (along, across), so that every support is met by leaving
unknowns out: the matrix stays symmetric and positive definite.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import FreeMotionError

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True)
class Hold:
    """One direction held at some nodes.

    Attributes
    ----------
    name : str
        The support it belongs to.
    nodes : (k,) array
        Node numbers.
    directions : (k, 2) array
        Unit vectors; the displacement along each is zero.
    """

    name: str
    nodes: IntArray
    directions: Array


@dataclass(frozen=True)
class Frames:
    """Local frames and held unknowns that a set of holds makes.

    Attributes
    ----------
    axes : (n, 2, 2) array
        Rows are the local directions of each node, in x, y.
    held : (n, 2) array
        Which local components are zero.
    turned : (n,) array
        Which nodes have a frame other than x, y.
    """

    axes: Array
    held: BoolArray
    turned: BoolArray


def node_frames(count: int, holds: tuple[Hold, ...]) -> Frames:
    """Local frames in which every held direction is one local component.

    A node held in two directions that are not parallel is held altogether.

    Parameters
    ----------
    count : int
        Number of nodes.
    holds : tuple of Hold
    """
    axes = np.broadcast_to(np.eye(2), (count, 2, 2)).copy()
    held = np.zeros((count, 2), dtype=bool)
    for hold in holds:
        nodes, along = hold.nodes, hold.directions
        fresh = ~held[nodes].any(axis=1)
        # x and y directions keep the global frame: fewer element matrices to turn
        plain = np.abs(along).max(axis=1) > 1 - 1e-14
        turn = fresh & ~plain
        axes[nodes[turn], 0] = along[turn]
        axes[nodes[turn], 1] = np.stack([-along[turn, 1], along[turn, 0]], axis=1)
        share = np.abs(np.einsum("kci,ki->kc", axes[nodes], along)) > 1e-9
        held[nodes] |= share
    return Frames(axes, held, np.abs(axes[:, 0, 0] - 1.0) > 0)


def rigid_motions(points: Array, center: Array, size: float) -> Array:
    """The three rigid motions at points: along x, along y, turning about `center`; shape (k, 2, 3)."""
    motions = np.zeros((len(points), 2, 3))
    motions[:, 0, 0] = motions[:, 1, 1] = 1.0
    motions[:, 0, 2] = -(points[:, 1] - center[1]) / size
    motions[:, 1, 2] = (points[:, 0] - center[0]) / size
    return motions


def free_motions(points: Array, holds: tuple[Hold, ...]) -> Array:
    """Rigid motions that the holds do not stop.

    Parameters
    ----------
    points : (n, 2) array
    holds : tuple of Hold
        Springs count as holds here.

    Returns
    -------
    (f, 3) array
        Each row: velocity along x, along y (of the part's middle) and turning times half its size.
    """
    center, size = points.mean(axis=0), float(np.ptp(points, axis=0).max()) / 2
    if not holds:
        return np.eye(3)
    rows = np.concatenate(
        [np.einsum("ki,kim->km", h.directions, rigid_motions(points[h.nodes], center, size)) for h in holds]
    )
    _, values, vectors = np.linalg.svd(rows, full_matrices=True)
    values = np.concatenate([values, np.zeros(3 - len(values))])
    return np.asarray(vectors[values < 1e-6 * max(1.0, float(values[0]))])


def describe_motion(motion: Array, points: Array) -> str:
    """A free rigid motion in words: which way it slides, or about which point it turns."""
    center, size = points.mean(axis=0), float(np.ptp(points, axis=0).max()) / 2
    velocity, spin = motion[:2], motion[2] / size
    if abs(motion[2]) < 1e-6 * np.linalg.norm(motion):
        angle = np.degrees(np.arctan2(velocity[1], velocity[0])) % 180
        way = {0: "left and right (along x)", 90: "up and down (along y)"}.get(int(round(angle)) % 180)
        return f"slide {way}" if way and abs(angle - round(angle)) < 1e-3 else f"slide along {angle:.0f} deg from x"
    pivot = center + np.array([-velocity[1], velocity[0]]) / spin
    if np.linalg.norm(pivot - center) > 1e4 * size:
        return "slide"
    x, y = np.round(pivot, 1) + 0.0  # no "-0.0"
    return f"turn about the point ({x:.1f}, {y:.1f}) mm"


def describe_one_way(motion: Array, points: Array) -> str:
    """A rigid motion in words, with its sense: velocity along x, y (of the part's middle), turning times half its size.

    Examples
    --------
    >>> describe_one_way(np.array([0.0, 1.0, 0.0]), np.array([[0.0, 0.0], [4.0, 2.0]]))
    'slide up'
    """
    center, size = points.mean(axis=0), float(np.ptp(points, axis=0).max()) / 2
    velocity, spin = motion[:2], motion[2] / size
    if abs(motion[2]) < 0.05 * np.linalg.norm(motion):  # about a point far off the part
        angle = float(np.degrees(np.arctan2(velocity[1], velocity[0]))) % 360
        way = {0: "to the right", 90: "up", 180: "to the left", 270: "down"}.get(round(angle) % 360)
        return f"slide {way}" if way else f"slide towards {angle:.0f} deg from x"
    x, y = np.round(center + np.array([-velocity[1], velocity[0]]) / spin, 1) + 0.0
    sense = "counter-clockwise" if spin > 0 else "clockwise"
    return f"turn {sense} about the point ({x:.1f}, {y:.1f}) mm"


def refuse_free_motion(points: Array, holds: tuple[Hold, ...]) -> None:
    """Raise FreeMotionError if the part can move without straining; the message says in which way."""
    free = free_motions(points, holds)
    if len(free) == 0:
        return
    if len(free) == 1:
        way = describe_motion(free[0], points)
    elif len(free) == 2:
        slides = np.linalg.svd(free[:, 2:].T, full_matrices=True)[2][-1] @ free
        way = f"{describe_motion(slides, points)} and turn"
    else:
        way = "slide in any direction and turn"
    raise FreeMotionError(
        f"The part is not held: it can {way}. Add a support that stops this, or hold another direction."
    )
