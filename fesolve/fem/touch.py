"""One-way contact during a step in time: what pushes, how hard, and when it lets go.

A row measures a gap, gap_0 + r, r = b·u - e w: the displacement of a place of the part along the push, less that of the
striker (e = 1; 0 for what stands fixed). A row closes between two steps, where it is nearest to the gap of 0 that it
would cross: an impulse p >= 0 gives the place and what hits it one speed, r' = 0 (an inelastic impact on the little
mass that moves with the place alone, 1/(b·M⁻¹ b); it goes to 0 as elements shrink). While it is closed r' = 0 at the
end of every step, or r' >= 0 without force: then it has opened. Between closing and opening contact does no work, so
momentum is kept, and energy but for the impulses' loss. On fixed rows half of what a row stands open (or overlaps)
still is made up for in each step. A row on a support that gives is a spring instead, λ = -(gap_0 + r)/give where that
is above 0: it needs no closing.

No penalty is needed: the answer of all rows to unit forces is known before the first step, d = d_0 + X λ and in the
rows S λ, so that each step solves for a few forces only.

The rule at closing and the condition on r' rather than on the gap: T. A. Laursen, G. R. Love, Improved implicit
integrators for transient impact problems, Int. J. Numer. Meth. Eng. 53 (2002) 245-274; J. J. Moreau's stepping (both
from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from .bounded import BoundedForces
from .scheme import Scheme
from .spring_law import SpringLaw

Found = TypeVar("Found")
Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

NOISE = 1e-12  # of the greatest force so far: what presses less is open
CORRECTED = 0.5  # of what a closed row still stands open (or overlaps), in a step
OVERLAP = 1e-10  # mm, by which an open row may overlap: rounding of a face that stays where it was


@dataclass(frozen=True)
class Met:
    """What contact does in one step, each (k,).

    Attributes
    ----------
    forces : array
        λ through the step, N.
    impulses : array
        p at its beginning, where rows close, N s.
    pulls : array
        What the rows' accelerations change by with it, as forces, N.
    whole : array
        All of it as forces in the equations of the step, N.
    """

    forces: Array
    impulses: Array
    pulls: Array
    whole: Array


@dataclass
class Touch:
    """All rows of contact through the steps: what they answer, and what state they are in.

    Attributes
    ----------
    scheme : Scheme
    answer : (k, k) array
        S, way of r to the place in the step where the equations are met, for unit forces, mm/N.
    mobility : (k, k) array
        G, change of r' for unit impulses, 1/tonne: b·M⁻¹ b, and 1/m of the striker.
    gaps : (k,) array
        gap_0, mm: grown by what has been crushed.
    limits : (k,) array
        Greatest force of each row, N.
    law : SpringLaw or None
        If there is one, the last row is no hard contact but this spring.
    moving : (k,) bool array
        Which rows touch the striker (e = 1).
    motion : (3, k) array
        r, r', r'' at the end of the last step.
    closed : (k,) bool array
    forces : (k,) array
        λ of the last step, N.
    give : (k, k) array
        Way of the supports under unit forces on the rows, mm/N; 0 where they are rigid.
    dents : (k,) array
        Crushed so far, mm.
    lost : float
        Energy that impulses and crushing have taken so far, N mm.
    greatest : float
        Force of a row so far, N.
    """

    scheme: Scheme
    answer: Array
    mobility: Array
    gaps: Array
    limits: Array
    law: SpringLaw | None
    moving: BoolArray
    motion: Array
    closed: BoolArray
    forces: Array
    give: Array
    dents: Array = field(init=False)
    lost: float = 0.0
    greatest: float = field(default=0.0, init=False)

    def __post_init__(self) -> None:
        count = len(self.gaps)
        self.dents, self.motion = np.zeros(count), self.motion.copy()
        self.soft = np.diag(self.give) > 0.0
        self.hard = ~self.soft
        if self.law is not None:
            self.hard[-1] = False
        self.made_up = np.where(self.moving, 0.0, CORRECTED / self.scheme.step)
        self.pressing = {-1: BoundedForces(self.answer + self.give)}  # by piece of the law, -1 without it
        self.hitting = BoundedForces(self.mobility)

    @property
    def compression(self) -> float:
        """How far the spring is pressed together, mm; negative where it does not touch."""
        return -float(self.gaps[-1] + self.motion[0, -1])

    @property
    def yielded(self) -> float:
        """Energy in supports that give, where the equations of the last step are met, N mm."""
        return 0.5 * float(self.forces @ self.give @ self.forces)

    def _end(self, way: Array) -> Array:
        """r, r', r'' (3, k) at the end of a step in which r goes this way to where the equations are met."""
        update = self.scheme.update
        return np.asarray(update[:, :3] @ self.motion + update[:, 3:] * way)

    def step(self, free: Array) -> Met:
        """Go one step on.

        Parameters
        ----------
        free : (k,) array
            Way of r to where the equations are met, without anything that contact does in this step.
        """
        impulses = pulls = jumps = np.zeros(len(free))
        forces, end = self._pressed(free)
        while (closing := self._crossed(end)).any():
            blow, pull = self._close(closing)
            impulses, pulls = impulses + blow, pulls + pull
            jumps = self.scheme.carried[0] * impulses + self.scheme.carried[1] * pulls
            forces, end = self._pressed(free + self.answer @ jumps)
        before, self.motion = self.motion, end
        self._settle(forces, end[0] - before[0])
        return Met(forces, impulses, pulls, jumps + forces)

    def _settle(self, forces: Array, way: Array) -> None:
        """Which rows are closed after a step, what was crushed, what energy that took."""
        hard = self.hard
        crushed = np.where(forces >= self.limits, np.maximum(0.0, -way), 0.0)
        self.lost -= float(forces[hard] @ way[hard])
        if self.law is not None:
            crushed[-1] = max(0.0, self.compression - self.law.yields)
            crushed[self.moving] = crushed[self.moving].max()  # spring and stop have one face, and its one dent
            self.lost += self.law.at(self.compression - float(crushed[-1])) * float(crushed[-1])
        self.greatest = max(self.greatest, float(forces.max(initial=0.0)))
        self.closed = hard & (forces > NOISE * self.greatest)
        self.gaps, self.dents, self.forces = self.gaps + crushed, self.dents + crushed, forces

    def _pressed(self, free: Array) -> tuple[Array, Array]:
        """Forces of this step if no more rows close, and r, r', r'' (3, k) that it ends with."""
        if self.law is None:
            forces = self._forces(free)
            return forces, self._end(free + self.answer @ forces)
        found = self._on_one_piece(free, self.law)
        return self._balanced(free, self.law) if found is None else found

    def _on_one_piece(self, free: Array, law: SpringLaw) -> tuple[Array, Array] | None:
        """The same if the spring keeps to the piece of its law that it is on, as a row that gives; else None."""
        before = self.compression
        piece = law.piece(before)
        stroke, force, stiffness = law.stroke[piece], law.force[piece], law.stiffness[piece]
        if before < 0.0 or stiffness == 0.0:
            return None
        if piece not in self.pressing:
            give = self.give.copy()
            give[-1, -1] = 1.0 / stiffness
            self.pressing[piece] = BoundedForces(self.answer + give)
        found = self._forces(free, piece, stroke - force / stiffness)
        end = self._end(free + self.answer @ found)
        after = -float(self.gaps[-1] + end[0, -1])
        return (found, end) if after >= 0.0 and law.piece(after) == piece and found[-1] > 0.0 else None

    def _crossed(self, end: Array) -> BoolArray:
        """Which open hard rows close: they would end the step with a gap below 0, and are nearer to 0 before it."""
        overlap = -(self.gaps + end[0])
        return np.asarray(self.hard & ~self.closed & (overlap > OVERLAP) & (self.gaps + self.motion[0] <= overlap))

    def _close(self, closing: BoolArray) -> tuple[Array, Array]:
        """Close rows at the beginning of this step: impulses, and what accelerations change by, as forces."""
        self.closed = self.closed | closing
        still, before = np.zeros(len(closing)), self.motion[1].copy()
        impulses = self.hitting.solve(self.closed, before, self.limits * self.scheme.step, still)
        pulls = self.hitting.solve(self.closed, self.motion[2], self.limits, still)
        self.motion[1] += self.mobility @ impulses
        self.motion[2] += self.mobility @ pulls
        self.lost -= 0.5 * float(impulses @ (before + self.motion[1]))
        return impulses, pulls

    def _forces(self, free: Array, piece: int = -1, further: float = 0.0) -> Array:
        """Forces of the closed hard rows and of those that give (zero elsewhere) when the others do nothing more.

        With a piece of the spring's law that is one of them too, shifted so that it begins `further` on.
        """
        here = self.closed | self.soft
        if piece >= 0:
            here[-1] = True
        if not here.any():
            return np.zeros(len(free))
        # both as a way to where the equations are met: the one that leaves r' = 0, the one that leaves no opening
        gap, update = self.gaps + self.motion[0], self.scheme.update[1]
        # a support stands where it stands: what a row closed too early or too late is made up for, step by step
        speed = update[:3] @ self.motion + self.made_up * gap
        wanted = free + np.where(self.hard, speed / update[3], gap)
        wanted[-1] += further
        return self.pressing[piece].solve(here, wanted, self.limits, self.forces)

    def _balanced(self, free: Array, law: SpringLaw) -> tuple[Array, Array]:
        """The same in any case: the root of law(compression(F)) = F, whose left side falls as F grows."""
        before = self.compression
        weight = 0.5 - self.scheme.alpha_f  # 0 where the equations are met in the middle of the step

        def forces(spring: float) -> tuple[tuple[Array, Array], float]:
            found = self._forces(free + self.answer[:, -1] * spring)
            found[-1] = spring
            end = self._end(free + self.answer @ found)
            after = -float(self.gaps[-1] + end[0, -1])
            wanted = law.mean(before, after) + weight * (law.at(after) - law.at(before))
            return (found, end), max(0.0, wanted) - spring

        found, excess = forces(0.0)
        return found if excess <= 0.0 else _root(forces, excess, excess)


def _root(forces: Callable[[float], tuple[Found, float]], low_excess: float, high: float) -> Found:
    """Regula falsi with the Illinois rule between 0 and `high`: exact after a few rounds on straight pieces."""
    low, side = 0.0, 0
    found, high_excess = forces(high)
    tolerance = 1e-12 * high
    while high - low > tolerance and high_excess < 0.0:
        middle = high - high_excess * (high - low) / (high_excess - low_excess)
        found, excess = forces(middle)
        if abs(excess) <= 1e-12 * max(1.0, middle):
            break
        if excess > 0.0:
            low, low_excess = middle, excess
            high_excess *= 0.5 if side == 1 else 1.0
            side = 1
        else:
            high, high_excess = middle, excess
            low_excess *= 0.5 if side == -1 else 1.0
            side = -1
    return found
