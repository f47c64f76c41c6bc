"""A size field from a mesh and what each of its elements should shrink to."""

from __future__ import annotations

import numpy as np

from ..errors import InputError
from .curves import FloatArray
from .mesh import Mesh
from .sizes import SizeField

STEP = 0.02  # of the logarithm of a size


def refined_sizes(mesh: Mesh, factors: FloatArray) -> SizeField:
    """Sizes for the next mesh of the same outline.

    At each corner of the mesh the size is the geometric mean over the elements that meet there.

    Parameters
    ----------
    mesh : Mesh
        Of six-node triangles.
    factors : (e,) array
        Wanted size over today's size of each element, above 0.

    Returns
    -------
    SizeField

    Raises
    ------
    InputError
        For factors of another number, or not above 0.

    Examples
    --------
    An equilateral triangle with sides of 2 mm, to be halved, asks for 1 mm at its corners.
    """
    corners = mesh.cells["triangle6"][:, :3]
    if factors.shape != (len(corners),) or not (np.isfinite(factors).all() and (factors > 0).all()):
        raise InputError(f"Size factors have shape {factors.shape}; give ({len(corners)},) values above 0.")
    size = np.log(side_lengths(mesh.points, corners) * factors)
    nodes, triangles = np.unique(corners, return_inverse=True)
    triangles = triangles.reshape(corners.shape)
    total = np.bincount(triangles.ravel(), np.repeat(size, 3))
    # in steps of 2 %, so that rounding in the solution does not make another mesh
    mean = STEP * np.round(total / np.bincount(triangles.ravel()) / STEP)
    return SizeField(mesh.points[nodes].round(6), triangles, np.exp(mean))


def side_lengths(points: FloatArray, corners: np.ndarray[tuple[int, ...], np.dtype[np.int64]]) -> FloatArray:
    """Side (e,) of the equilateral triangle of the same area as each of `corners` (e, 3)."""
    a, b, c = points[corners].transpose(1, 0, 2)
    twice = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    return np.asarray(np.sqrt(2.0 / np.sqrt(3.0) * np.abs(twice)))
