"""The yard's own wood, failure mode and solver for fesolve."""

import csv
from collections.abc import Callable, Mapping
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

import fesolve

Array = NDArray[Any]


def woods() -> list[dict[str, str]]:
    """The rows of woods.csv, one a species."""
    with files(__package__).joinpath("woods.csv").open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def _opened_or_slid(stress: Array, strengths: Mapping[str, float], wood: fesolve.Wood) -> Array:
    """Tension across the fibres and shear by squares: Z. Hashin, J. Applied Mechanics 47 (1980), from memory."""
    opens = np.maximum(stress[:, 1], 0.0) / strengths["tension_across"]
    return np.hypot(opens, stress[:, 2] / strengths["shear"])


matrix_tension = fesolve.Mode(_opened_or_slid, decides=False, end="breaks")


def sparse_lu(matrix: Any) -> Callable[[Array], Array]:
    """A factorisation of a sparse matrix (N, N) that solves for right-hand sides (N, c)."""
    from scipy.sparse.linalg import splu

    factor = splu(matrix)
    return factor.solve
