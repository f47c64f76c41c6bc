"""Questions to a solved grid."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ..errors import InputError
from ..fem.resultants import Resultants, resultants
from .solve import Solved


def resultants_of(solved: Solved, a: ArrayLike, b: ArrayLike) -> Resultants:
    """Axial force, shear and moment through the cut from a to b, points in the grid's unit.

    Raises
    ------
    InputError
        For points that are none, and where the cut meets no wood.
    """
    try:
        cut = np.array([a, b], dtype=np.float64)
    except (TypeError, ValueError):
        cut = np.empty(0)
    if cut.shape not in ((2, 2), (2, 3)):
        raise InputError("A cut goes from a to b, two points (x, y): grid.fesolve.resultants((20, 0), (20, 42)).")
    return resultants(solved.solution, solved.read.scale * cut[:, :2])
