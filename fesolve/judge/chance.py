"""The chance that a part drawn from a species fails at a load, from the scatter of strengths and energies.

Nothing is solved for it: the solution that was told is looked at again with other strengths and other energies. How
much the load hangs on each strength is read off the worst mean of stresses (by the envelope theorem the derivative of a
maximum is that of the place where it is taken).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..wood.model import CHOICE, Wood
from ..wood.scatter import BAND_ENDS, Z_BAND, log_sigma, mean_of, toughness_scatter
from .criteria import split_utilisation
from .modes import CaseField, Inspection, Look, of_windows
from .rows_interaction import SizeRow
from .rows_sure import Scatter, SizeChance
from .splitting import Windows
from .verdict import COMBINED, MODES, SHEAR, SPLITTING, TENSION_ACROSS, TENSION_ALONG

Array = NDArray[np.float64]

STRENGTHS_AT = (-1.645, 0.0, 1.645)  # where on their spread the strengths are taken: 5, 50 and 95 %
STEP = 1e-3  # of a strength, for its share
Z_CURVE = 2.6  # the curve runs from 0.5 to 99.5 %
POINTS = 53
FAR, NODES, ROWS = 6.0, 601, 1601  # of the sums: standard deviations to either side, points of strengths, loads
NOTHING = 1e-3  # of a standard deviation: below the spacing of the points
LEAST_SLOPE = 1e-6  # of the load's logarithm over z: it never falls
STRENGTH_OF = {TENSION_ACROSS: "tension_across", SHEAR: "shear"}  # of the modes that know an effect of size
NAMES = {
    "shear": "shear along the grain",
    "tension_across": "tension across the grain",
    "compression_across": "compression across the grain",
    "tension_along": "tension along the grain",
    "compression_along": "compression along the grain",
}


@dataclass(frozen=True)
class Spread:
    """How a load scatters: by strengths that are weak or strong together, and by energies independent of them.

    Attributes
    ----------
    z : tuple of float
        Points of the standard normal distribution at which the strengths were taken, rising: -1.645 for the weakest
        5 %.
    loads : tuple of float
        Loads with all strengths there. Between and beyond them the logarithm of the load is a straight line in z, which
        makes it lognormal where one strength decides.
    sigma : float
        Standard deviation of the load's logarithm from the energies alone.

    References
    ----------
    EN 14358:2016, 3.2 (logarithmic normal distribution of timber strengths; from memory). Total probability: A. H-S.
    Ang, W. H. Tang, Probability Concepts in Engineering, 2nd ed. 2007, ch. 2 (from memory).

    Examples
    --------
    One strength with a CoV of 25 % and a mean of 10: the median is 9.7, and 5 % of pieces lie below 6.47.

    >>> s = log_sigma(0.25)
    >>> points = (-1.645, 0.0, 1.645)
    >>> spread = Spread(points, tuple(10.0 * math.exp(s * z - 0.5 * s * s) for z in points), 0.0)
    >>> round(spread.chance(10.0), 3), round(spread.load(0.05), 2)
    (0.549, 6.47)
    """

    z: tuple[float, ...]
    loads: tuple[float, ...]
    sigma: float

    @cached_property
    def _table(self) -> tuple[Array, Array]:
        """Logarithms of loads, rising, and the chance that the load is below each."""
        z, weight = _normal_nodes()
        by_strength = self._line(z)
        if self.sigma < NOTHING:
            return by_strength, normal_cdf(z)
        reach = FAR * self.sigma
        x = np.linspace(by_strength[0] - reach, by_strength[-1] + reach, ROWS)
        return x, normal_cdf((x[:, None] - by_strength) / self.sigma) @ weight

    def _line(self, z: Array) -> Array:
        """Logarithm of the load with strengths at z (k,): straight between the points, and beyond them."""
        at, log = np.array(self.z), np.log(self.loads)
        piece = np.clip(np.searchsorted(at, z) - 1, 0, len(at) - 2)
        slope = np.maximum(np.diff(log) / np.diff(at), LEAST_SLOPE)[piece]
        return np.asarray(log[piece] + slope * (z - at[piece]))

    def chance(self, load: float) -> float:
        """Chance (0 to 1) that a piece fails below `load`."""
        x, chance = self._table
        return 0.0 if load <= 0.0 else float(np.interp(math.log(load), x, chance, left=0.0, right=1.0))

    def load(self, chance: float) -> float:
        """The load with a chance (between 0 and 1)."""
        x, chances = self._table
        return math.exp(float(np.interp(chance, chances, x)))

    def curve(self) -> tuple[tuple[float, float], ...]:
        """Rows of load and chance, from 0.5 to 99.5 %."""
        chances = normal_cdf(np.linspace(-Z_CURVE, Z_CURVE, POINTS)).tolist()
        return tuple((self.load(one), one) for one in chances)


def _normal_nodes() -> tuple[Array, Array]:
    """Points of the standard normal distribution, and the share of pieces that each stands for."""
    z = np.linspace(-FAR, FAR, NODES)
    weight = np.exp(-0.5 * z * z)
    return z, weight / weight.sum()


def normal_cdf(z: Array) -> Array:
    """The standard normal distribution at points of any shape."""
    from scipy.special import ndtr

    return np.asarray(ndtr(z))


def strength_shares(look: Look, field: CaseField, mode: str) -> dict[str, float]:
    """By how many per cent the load falls for one per cent less of each strength, at the worst place of a mode.

    The shares add up to 1: with all strengths lowered together the load falls as they do.
    """
    if mode in (TENSION_ALONG, SHEAR):
        return {"tension_along" if mode == TENSION_ALONG else "shear": 1.0}
    window = _worst_window(look.inspection, field, mode)
    if window is None:
        return {}
    strengths = look.wood.strengths
    found = {}
    for name in strengths:
        less, more = (
            _use_of(look.inspection.with_wood(_scaled(look.wood, name, 1.0 + step)), window, mode)
            for step in (-STEP, STEP)
        )
        share = math.log(less / more) / math.log((1.0 + STEP) / (1.0 - STEP))
        if abs(share) > 1e-6:
            found[name] = share
    return found


def _scaled(wood: Wood, name: str, factor: float) -> Wood:
    one = wood.strengths[name]
    return replace(wood, strengths={**wood.strengths, name: replace(one, value=one.value * factor)})


def _worst_window(inspection: Inspection, field: CaseField, mode: str) -> Windows | None:
    """The window that decides, alone."""
    if mode == SPLITTING and field.low.spots:
        spot = field.low.spots[0]
        return spot.windows.take(np.array([spot.index]))
    if mode in MODES and mode != COMBINED:
        return None
    every = [windows for windows in (field.low.sweep, field.low.fine) if len(windows.utilisation)]
    values = [of_windows(inspection, mode)(windows) for windows in every]
    if not values:
        return None
    worst = max(range(len(values)), key=lambda number: float(values[number].max()))
    return every[worst].take(np.array([int(values[worst].argmax())]))


def _use_of(inspection: Inspection, window: Windows, mode: str) -> float:
    if mode == SPLITTING:
        return float(split_utilisation(window.across, window.shear, inspection.strength)[0])
    return float(of_windows(inspection, mode)(window)[0])


def strength_scatter(wood: Wood, shares: Mapping[str, float]) -> tuple[Scatter, ...]:
    """What each strength adds to the scatter of the load, CoV and share as given."""
    rows = []
    for name, share in shares.items():
        one = wood.strengths[name]
        rows.append(Scatter(NAMES[name], one.cov, share, share * log_sigma(one.cov), one.source, one.status))
    return tuple(rows)


def energy_scatter(wood: Wood, share: float, low: float, high: float, *, alone: bool = False) -> Scatter | None:
    """What the energies add: the wider of their band, read as 10 and 90 %, and the scatter of toughness.

    Parameters
    ----------
    wood : Wood
    share : float
        By how many per cent the load falls for one per cent less of both energies.
    low, high : float
        Loads with the low and with the high energies.
    alone : bool
        Whether energy decides by itself.

    Returns
    -------
    Scatter or None
        None where an own splitting length stands in for energies and the mean stress decides.
    """
    if wood.fracture.split_length is not None and not alone:
        return None
    cov, source, status = toughness_scatter(wood.species)
    by_piece = max(share, 0.0) * log_sigma(cov)
    by_band = math.log(high / low) / (2.0 * Z_BAND) if high > low > 0.0 else 0.0
    if by_piece >= by_band:
        return Scatter("fracture energy", cov, share, by_piece, f"toughness: {source}", f"{status}; stand-in, {CHOICE}")
    ends = f"low and high energies as {100 * BAND_ENDS:.0f} and {100 - 100 * BAND_ENDS:.0f} %"
    spread = by_band / share if share > 0.05 else log_sigma(cov)
    return Scatter("fracture energy", math.sqrt(math.expm1(spread**2)), share, by_band, ends, CHOICE)


@dataclass(frozen=True)
class Weibull:
    """A load whose chance is that of the weakest link: 1 - exp(-(load/scale)^k), scale = mean/Gamma(1 + 1/k).

    References
    ----------
    W. Weibull, A statistical distribution function of wide applicability, J. Appl. Mech. 18 (1951) 293-297 (from
    memory).

    Examples
    --------
    With k = 5 the median of a mean of 10 is 10.1, and 5 % lie below 6:

    >>> law = Weibull(10.0, 5.0)
    >>> round(law.load(0.5), 1), round(law.load(0.05), 1)
    (10.1, 6.0)
    """

    mean: float
    exponent: float

    @property
    def scale(self) -> float:
        """The load with a chance of 1 - 1/e."""
        return self.mean / math.gamma(1.0 + 1.0 / self.exponent)

    def chance(self, load: float) -> float:
        """Chance (0 to 1) that it is below `load`."""
        return -math.expm1(-((max(load, 0.0) / self.scale) ** self.exponent))

    def load(self, chance: float) -> float:
        """The load with a chance (between 0 and 1)."""
        return self.scale * math.pow(-math.log1p(-chance), 1.0 / self.exponent)


def size_chance(rows: Sequence[SizeRow], woods: Mapping[str, Wood], acting: float) -> SizeChance | None:
    """The chance by the weakest link of the volume, of the row by which half fail at the least load.

    Parameters
    ----------
    rows : sequence of SizeRow
        Of one case, under what acts.
    woods : mapping of str to Wood
        By region.
    acting : float
        The load that acts.
    """
    found = []
    for row in rows:
        if row.utilisation:
            wood = woods.get(row.region) or next(iter(woods.values()))
            strength = wood.strengths[STRENGTH_OF[row.mode]]
            mean = acting / row.utilisation * mean_of(strength, wood.basis) / strength.value
            found.append((row, Weibull(mean, row.exponent)))
    if not found:
        return None
    row, law = min(found, key=lambda one: one[1].load(0.5))
    return SizeChance(row.mode, row.exponent, law.chance(acting), law.load(0.05), law.load(0.5), law.load(0.95))
