"""What matters: how much of the scatter of a figure each varied name explains, told only where it stands out of noise.

Any sample serves, since nothing is evaluated for it: indices by their own design of points (as
`scipy.stats.sobol_indices` wants it) cost d + 2 evaluations a point, and from as many variants those given here come
nearer to a known answer (docs/sweeps.md).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

WAVES = 4  # cosines of a share at most
A_WAVE = 8  # variants to each of them at least
FEWEST = 10  # variants below which nothing is ranked
RESAMPLES = 400
INTERVAL = (2.5, 97.5)  # %
SURE = (0.5, 99.5)  # %, of a correlation that stands out where the share alone does not


@dataclass(frozen=True)
class Influence:
    """What one varied name does to a figure.

    Attributes
    ----------
    name : str
    share : float
        Of the figure's variance that this name explains by itself (its first-order Sobol index), about 0 to 1.
    share_range : (float, float)
        95 % of bootstrap samples.
    correlation : float or None
        Rank correlation (Spearman), -1 to 1; None for choices, which have no order.
    correlation_range : (float, float) or None
        95 % of bootstrap samples.
    stands_out : bool
        Whether the share's range lies above 0, or the correlation lies on one side of 0 in 99 % of bootstrap samples,
        which tells smaller effects where they go one way; else it is not told from noise.
    """

    name: str
    share: float
    share_range: tuple[float, float]
    correlation: float | None
    correlation_range: tuple[float, float] | None
    stands_out: bool


def influences(
    columns: Mapping[str, Sequence[float] | Sequence[str]], values: Sequence[float]
) -> tuple[Influence, ...]:
    """Rank what was varied by the share of variance that it explains, the greatest first.

    Parameters
    ----------
    columns : mapping of str to sequence of float or str
        By name its value in every variant; texts are choices.
    values : sequence of float
        The figure of every variant.

    Returns
    -------
    tuple of Influence
        Empty with fewer than 10 variants, or where the figure does not change.

    References
    ----------
    I. M. Sobol', Sensitivity estimates for nonlinear mathematical models, Math. Modelling Comput. Exp. 1 (1993)
    407-414 (the index; from memory). E. Plischke, How to compute variance-based sensitivity indicators with your
    spreadsheet software, Environ. Model. Softw. 35 (2012) 188-191 (a regression on cosines of the ranks; from memory).
    C. Spearman, The proof and measurement of association between two things, Am. J. Psychol. 15 (1904) 72-101.

    Examples
    --------
    >>> x = np.linspace(0.0, 1.0, 40)
    >>> first, = influences({"depth": x.tolist()}, (1.0 / (1.0 + x)).tolist())
    >>> first.correlation, round(first.share, 2), first.stands_out
    (-1.0, 1.0, True)
    """
    y = np.asarray(values, dtype=np.float64)
    if len(y) < FEWEST or np.ptp(y) <= 1e-12 * np.abs(y).max():
        return ()
    found = [_influence(name, column, y) for name, column in columns.items()]
    return tuple(sorted(found, key=lambda one: -one.share))


def _influence(name: str, column: Sequence[float] | Sequence[str], y: Array) -> Influence:
    choice = any(isinstance(one, str) for one in column)
    basis = _groups(column) if choice else _cosines(np.asarray(column, dtype=np.float64))
    picks = np.random.default_rng(0).integers(0, len(y), (RESAMPLES, len(y)))
    share = explained(basis, y)
    again = np.array([explained(basis[pick], y[pick]) for pick in picks])
    # a resample holds points twice, so the regression fits its noise more closely: only its spread is taken over
    spread = _percentiles(again - again.mean() + share)
    if choice:
        return Influence(name, share, spread, None, None, spread[0] > 0.0)
    ranks, of_y = _ranks(np.asarray(column, dtype=np.float64)), _ranks(y)
    found = np.array([_correlation(ranks[pick], of_y[pick]) for pick in picks])
    one_way = np.prod(np.percentile(found, SURE)) > 0.0
    stands_out = spread[0] > 0.0 or bool(one_way)
    return Influence(name, share, spread, _correlation(ranks, of_y), _percentiles(found), stands_out)


def _percentiles(values: Array) -> tuple[float, float]:
    low, high = np.percentile(values, INTERVAL).tolist()
    return low, high


def _ranks(values: Array) -> Array:
    """Ranks from 0 to 1, equal values alike."""
    from scipy.stats import rankdata

    return (np.asarray(rankdata(values), dtype=np.float64) - 0.5) / len(values)


def _correlation(x: Array, y: Array) -> float:
    x, y = x - x.mean(), y - y.mean()
    scale = float(np.sqrt((x @ x) * (y @ y)))
    return round(float(x @ y) / scale, 12) if scale > 0.0 else 0.0


def _cosines(values: Array) -> Array:
    """Cosines (k, 1 + waves) of the ranks, as many as there are variants and levels for."""
    waves = max(1, min(WAVES, len(values) // A_WAVE, len(np.unique(values)) - 1))
    return np.cos(np.pi * np.outer(_ranks(values), np.arange(waves + 1)))


def _groups(column: Sequence[float] | Sequence[str]) -> Array:
    """One column a choice, 1 where it was made."""
    names = np.array([str(one) for one in column])
    return np.asarray(names[:, None] == np.unique(names)[None, :], dtype=np.float64)


def explained(basis: Array, y: Array) -> float:
    """Share of the variance of y (k,) that a regression on a basis (k, m) explains, less what noise would.

    1 - (1 - R^2)(k - 1)/(k - m): the adjusted R^2, whose mean is 0 where y has nothing to do with the basis.
    """
    left = y - basis @ np.linalg.lstsq(basis, y, rcond=None)[0]
    total = y - y.mean()
    variance = float(total @ total)
    if variance <= 0.0:
        return 0.0
    count, terms = len(y), int(np.linalg.matrix_rank(basis))
    if count <= terms:
        return 0.0
    return 1.0 - float(left @ left) / variance * (count - 1) / (count - terms)
