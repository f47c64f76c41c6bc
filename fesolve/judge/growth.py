"""What a part takes: the loads that grow are scaled until the worst deciding mode is met.

Where everything that acts grows and nothing stands off, stress is proportional to the loads, contact and friction
included: what touches, slides and lifts off is the same at any factor. Self-weight that stays, a gap or a pin's play
make it a search: contact is solved again at each factor that is tried.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import FreeMotionError
from ..fem.solution import Solution
from ..part.actions import MOISTURE
from ..part.model import Part
from .struck import Struck
from .verdict import LoadRow, ModeRow, Takes

ALL_LOADS = "all loads together"
GRAVITY = "gravity"
OPEN = 1e-6  # mm: a gap below this is none
CLOSE = 2e-3  # of the utilisation: how near 1 the search comes; the last step lands nearer still
TRIES = 8
SMALLEST, GREATEST = 1e-3, 1e4  # factors beyond which nothing is looked for
SLOPE = 0.1  # least growth of a utilisation with its loads (1: proportional) that a step relies on


@dataclass(frozen=True)
class Growth:
    """Which loads grow, and the one that the answer is stated in.

    Attributes
    ----------
    of : str
        A load, or all loads together.
    names : tuple of str
        The loads that grow.
    proportional : bool
        Whether stress grows with them as they do.
    """

    of: str
    names: tuple[str, ...]
    proportional: bool

    def scaled(self, factors: Mapping[str, float], factor: float) -> dict[str, float]:
        """A case's factors with the loads that grow multiplied."""
        return {name: one * factor if name in self.names else one for name, one in factors.items()}


def growth_of(part: Part, solution: Solution) -> Growth:
    """Find which loads of a solved part grow: those that the part file says; all of them if none does.

    The answer is stated in the only one that grows, if it acts in every case in which anything grows.
    """
    stands_off = any(float(contact.gap.max(initial=0.0)) > OPEN for contact in solution.model.contacts)
    names, stays = _growing(part)
    return Growth(stated_in(part), names, not (stays or stands_off))


def stated_in(part: Part) -> str:
    """The load that what a part takes is stated in; `ALL_LOADS` where it is a factor on several."""
    names, _ = _growing(part)
    return names[0] if len(names) == 1 and names[0] not in (GRAVITY, MOISTURE) else ALL_LOADS


def _growing(part: Part) -> tuple[tuple[str, ...], bool]:
    """The loads that grow, and whether any other acts."""
    grows = {load.name: load.grows for load in part.loads}
    if part.gravity is not None:
        grows[GRAVITY] = part.gravity.grows
    acting = {name for case in part.cases for name, factor in case.factors.items() if factor != 0.0}
    if MOISTURE in acting:
        grows[MOISTURE] = False
    names = tuple(name for name, yes in grows.items() if yes and name in acting)
    names = names or tuple(name for name in grows if name in acting)
    return names, any(name in acting for name in grows if name not in names)


def size_of(of: str, loads: Sequence[LoadRow], case: str) -> float:
    """Size of the load `of` in a case, N, without a partial factor; 1 for all together, 0 where it does not act."""
    if of == ALL_LOADS:
        return 1.0
    return next((float(np.hypot(*row.force)) / row.partial for row in loads if (row.name, row.case) == (of, case)), 0.0)


def worst_deciding(modes: Sequence[ModeRow], case: str) -> ModeRow | None:
    """The deciding row of a case with the greatest utilisation; None if nothing loads it."""
    rows = [row for row in modes if row.case == case and row.decides and row.utilisation > 0.0]
    return max(rows, key=lambda row: row.utilisation, default=None)


def factors_of(cases: Sequence[str], modes: Sequence[ModeRow]) -> list[float | None]:
    """Load factor of each case where stress is proportional to the loads: one over the worst utilisation."""
    worst = [worst_deciding(modes, case) for case in cases]
    return [None if row is None else 1.0 / row.utilisation for row in worst]


def searched(use: Callable[[list[float]], list[float]], first: Sequence[float]) -> list[float | None]:
    """Load factors at which each case's utilisation is 1, by secants of its logarithm.

    Parameters
    ----------
    use : callable
        Factors, one a case, to utilisations; a `FreeMotionError` says that one of the cases cannot stand.
    first : sequence of float
        Utilisations at factor 1.

    Returns
    -------
    list of float or None
        0 where the loads that stay break it alone; None where no factor up to 10,000 does, or the part moves first.
    """
    logs = [0.0 if u <= 0.0 else -math.log(u) for u in first]  # of the factors to try next
    before = [(0.0, math.log(u) if u > 0.0 else None) for u in first]
    done = [u <= 0.0 for u in first]
    found: list[float | None] = [None if over else math.exp(x) for over, x in zip(done, logs, strict=True)]
    for _ in range(TRIES):
        if all(done):
            break
        try:
            values = use([1.0 if over else math.exp(x) for over, x in zip(done, logs, strict=True)])
        except FreeMotionError:
            return [None] * len(first)
        for case, u in enumerate(values):
            if not done[case]:
                logs[case], before[case], done[case] = _next(logs[case], u, before[case])
                found[case] = _limited(logs[case])
    return found


def _next(x: float, u: float, before: tuple[float, float | None]) -> tuple[float, tuple[float, float | None], bool]:
    """The next logarithm of a factor, what is known of this one, and whether it is near enough."""
    y = math.log(max(u, 1e-12))
    x0, y0 = before
    slope = 1.0 if y0 is None or abs(x - x0) < 1e-12 else (y - y0) / (x - x0)
    after = x - y / max(slope, SLOPE)
    over = abs(y) <= CLOSE or not math.log(SMALLEST) < after < math.log(GREATEST)
    return after, (x, y), over


def _limited(x: float) -> float | None:
    if x <= math.log(SMALLEST):
        return 0.0
    return None if x >= math.log(GREATEST) else math.exp(x)


def takes_of(
    of: str,
    loads: Sequence[LoadRow],
    cases: Sequence[str],
    low: Sequence[float | None],
    high: Sequence[float | None],
    blows: Mapping[str, Struck],
) -> Takes:
    """The least load over all cases that meets a deciding mode, by factors with low energies and with high ones."""
    sizes = [size_of(of, loads, case) for case in cases]
    least = [
        min(
            (size * one for size, one in zip(sizes, factors, strict=True) if one is not None and size > 0), default=None
        )
        for factors in (low, high)
    ]
    if least[0] is None or least[1] is None:
        return Takes(None, None, None, of)
    best = math.sqrt(least[0] * least[1])
    struck = next((one for one in blows.values() if one.strike.name == of), None)
    if struck is None or struck.blow.amount == 0.0:
        return Takes(best, least[0], least[1], of, judged=least[0])
    own = struck.amount_at(best), struck.amount_at(least[0]), struck.amount_at(least[1])
    return Takes(best, least[0], least[1], of, struck.blow.quantity, own, least[0])
