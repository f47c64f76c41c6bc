"""The yard's own wood and solver for fesolve."""

import csv
from collections.abc import Callable
from importlib.resources import files
from typing import Any

from numpy.typing import NDArray


def woods() -> list[dict[str, str]]:
    """The rows of woods.csv, one a species."""
    with files(__package__).joinpath("woods.csv").open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def sparse_lu(matrix: Any) -> Callable[[NDArray[Any]], NDArray[Any]]:
    """A factorisation of a sparse matrix (N, N) that solves for right-hand sides (N, c)."""
    from scipy.sparse.linalg import splu

    factor = splu(matrix)
    return factor.solve
