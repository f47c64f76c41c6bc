"""What lies between a striker and the wood as one spring: straight pieces, and a face that is crushed at a limit."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .impact import Chain

Array = NDArray[np.float64]


@dataclass(frozen=True)
class SpringLaw:
    """Force over compression in straight pieces, from 0 up to a limit at which it stays.

    Attributes
    ----------
    stroke, force, stiffness : (j,) arrays
        Where each piece begins, mm and N, and its slope, N/mm; the last slope is 0 if there is a limit.
    energy : (j,) array
        Area under the law up to there, N mm.
    """

    stroke: Array
    force: Array
    stiffness: Array
    energy: Array

    @classmethod
    def of(cls, chain: Chain, limit: float = math.inf) -> SpringLaw:
        """The law of springs in a row, its force at most `limit` N.

        Examples
        --------
        >>> from fesolve.fem.impact import Link
        >>> law = SpringLaw.of(Chain((Link("striker", 100.0),)), limit=300.0)
        >>> law.at(2.0), law.at(5.0), law.work(5.0)
        (200.0, 300.0, 1050.0)
        """
        rows = [(s.stroke, s.force, s.stiffness, s.energy) for s in chain.stages if s.force < limit]
        if math.isfinite(limit):
            rows.append((chain.stroke(limit), limit, 0.0, chain.energy(limit)))
        return cls(*(np.array(column) for column in zip(*rows, strict=True)))

    @property
    def yields(self) -> float:
        """Compression at which the limit is reached, mm; inf without one."""
        return float(self.stroke[-1]) if self.stiffness[-1] == 0.0 else math.inf

    def piece(self, compression: float) -> int:
        """Number of the piece that a compression (mm) lies on."""
        return max(0, int(np.searchsorted(self.stroke, compression, side="right")) - 1)

    def _piece(self, compression: float) -> tuple[int, float]:
        place = self.piece(compression)
        return place, max(0.0, compression - float(self.stroke[place]))

    def at(self, compression: float) -> float:
        """Force at a compression (mm), N; 0 where nothing touches."""
        place, further = self._piece(compression)
        return float(self.force[place] + self.stiffness[place] * further)

    def work(self, compression: float) -> float:
        """Area under the law up to a compression (mm), N mm."""
        place, further = self._piece(compression)
        return float(self.energy[place] + (self.force[place] + 0.5 * self.stiffness[place] * further) * further)

    def mean(self, start: float, end: float) -> float:
        """Mean force from one compression (mm) to another, N: force times way is then exactly the work.

        This is what makes a step keep the energy (O. Gonzalez 1996, discrete gradient, from memory).
        """
        way = end - start
        if abs(way) <= 1e-6 * (abs(start) + abs(end)):
            return self.at(0.5 * (start + end))
        return (self.work(end) - self.work(start)) / way
