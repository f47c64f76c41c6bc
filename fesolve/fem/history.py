"""What a march through time gives: force, ways and energy of a strike, and the moment when the force is greatest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from .constraints import Hold
    from .contact import Contact
    from .solution import Reaction

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Energies:
    """Where the energy is at the end of each step, N mm, each (s + 1,).

    kinetic + strain + striker + spring + lost + numerical = their sum at the start + work.

    Attributes
    ----------
    kinetic, strain : arrays
        Of the part; strain without steady loads starts at 0.
    striker : array
        m v^2/2.
    spring : array
        In the striker's own spring and its pad, and in one-way supports that give.
    lost : array
        At first touches (half the face's little mass times the speed squared), and in what is crushed.
    numerical : array
        The remainder: what the stepping has damped (below 0: added).
    work : array
        Of the push and of the steady loads since the start.
    """

    kinetic: Array
    strain: Array
    striker: Array
    spring: Array
    lost: Array
    numerical: Array
    work: Array


@dataclass(frozen=True)
class Frame:
    """The part at one moment.

    Attributes
    ----------
    time : float
        s.
    force : float
        Between striker and part, N.
    displacement, acceleration : (n, 2) arrays
        mm, mm/s^2.
    reactions : tuple of Reaction
        What the supports do, those that only push after the others.
    contacts : tuple of Contact
        How the one-way supports touch.
    residual : float
        How far the equations of motion are from being met, relative to the greatest force on a node.
    imbalance : float
        Greatest of |ΣF|/F_ref and |ΣM|/(F_ref size) of loads, strike, reactions and inertia, F_ref the sum of the
        sizes of strike and steady loads; without any, of the forces of inertia.
    energy : float
        Strain energy, N mm.
    pins_held : tuple of Hold
        What two-way pins held.
    """

    time: float
    force: float
    displacement: Array
    acceleration: Array
    reactions: tuple[Reaction, ...]
    contacts: tuple[Contact, ...]
    residual: float
    imbalance: float
    energy: float
    pins_held: tuple[Hold, ...] = ()


@dataclass(frozen=True)
class History:
    """A strike through time.

    Attributes
    ----------
    step : float
        Δt, s.
    time : (s,) array
        Moments inside the steps where the equations are met, s.
    force : (s,) array
        On the part along the striker's way, N.
    stroke : (s,) array
        How far the struck patch (its mean) has moved along that way, mm.
    ends : (s + 1,) array
        Ends of the steps, s; energies and the striker are told there.
    position, velocity : (s + 1,) arrays
        Of the striker along its way, mm and mm/s.
    energy : Energies
    dent : float
        How far the struck face is crushed at most, mm.
    blow : float
        Impulse of all first touches, N s: the striker loses it at once to the little mass of the struck face. `force`
        leaves it out: as a force it would be the greater the shorter the step.
    touching : (s,) bool array
        Whether striker and part press on one another.
    bottomed : bool
        Whether the pad has bottomed out.
    peak : Frame
        When the force is greatest.
    frames : (t, n, 2) array
        Displacement at the times asked for.
    watched : tuple
        What the callback returned, step by step.
    step_change : float or None
        How much the greatest force (or the dent, if that is more) changed, relatively, when the step was halved last;
        None if nobody looked. The error that is left is a third of it where all is smooth (order 2), up to all of it
        where contacts open and close.
    settled : bool
        Whether half of that is within the accuracy asked for (True if nobody looked).
    resolved : bool or None
        Whether steps are short enough for the first blow, in which the part comes up to the striker's speed
        (`Plan.hammer`): False: a spike that is there is passed over. None if nobody looked.
    """

    step: float
    time: Array
    force: Array
    stroke: Array
    ends: Array
    position: Array
    velocity: Array
    energy: Energies
    dent: float
    blow: float
    touching: NDArray[np.bool_]
    bottomed: bool
    peak: Frame
    frames: Array
    watched: tuple[Any, ...] = ()
    step_change: float | None = None
    settled: bool = True
    resolved: bool | None = None

    @property
    def peak_force(self) -> float:
        """Greatest force between striker and part, N."""
        return self.peak.force

    @property
    def peak_time(self) -> float:
        """When, s."""
        return self.peak.time

    @property
    def impulse(self) -> float:
        """What the striker has given to the part, N s: force times time, and first touches."""
        return float(self.force.sum() * self.step) + self.blow

    @property
    def duration(self) -> float:
        """From the first touch to the last, s, whatever lies between."""
        return float(np.ptp(np.flatnonzero(self.touching)) + 1) * self.step if self.touching.any() else 0.0

    @property
    def touches(self) -> int:
        """How often striker and part come together."""
        return int(np.count_nonzero(np.diff(np.concatenate([[0], self.touching.astype(int)])) == 1))

    @property
    def rebound_speed(self) -> float | None:
        """How fast the striker goes back at the end, mm/s; None if it is still touching or does not go back."""
        back = -float(self.velocity[-1])
        return back if not self.touching[-1] and back > 0.0 else None
