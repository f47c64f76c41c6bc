"""Implicit stepping in time: generalised-alpha, which is average acceleration where it does not damp.

The unknown of a step is d, the way from its beginning to the place inside it where the equations are met,
d = (1 - α_f)(u_1 - u_0). With it one product with the mass matrix and one back-substitution make a step:
(K + c M) d = f - K u_0 + M (c y - α_m a_0), y what d would be without the new acceleration.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Scheme:
    """A step of generalised-alpha.

    Parameters
    ----------
    step : float
        Δt, s.
    rho : float
        ρ_∞, what is left after one step of a swing that is far too fast for it, 0 to 1. 1 is average acceleration
        (β = 1/4, γ = 1/2) with the equations met in the middle of the step: it keeps the energy of linear springs
        and, with it, of contact. Less than 1 damps what the step cannot follow; order 2 in the step all the same.

    Raises
    ------
    InputError
        For a step not above 0, or ρ_∞ outside 0 to 1.

    References
    ----------
    J. Chung, G. M. Hulbert, A time integration algorithm for structural dynamics with improved numerical dissipation:
    the generalized-α method, J. Appl. Mech. 60 (1993) 371-375 (from memory): α_m = (2 ρ - 1)/(ρ + 1),
    α_f = ρ/(ρ + 1), β = (1 - α_m + α_f)^2/4, γ = 1/2 - α_m + α_f.

    Examples
    --------
    >>> scheme = Scheme(0.5)
    >>> scheme.beta, scheme.gamma, scheme.inertia  # 4/Δt^2
    (0.25, 0.5, 16.0)
    """

    step: float
    rho: float = 1.0

    def __post_init__(self) -> None:
        if not (np.isfinite(self.step) and self.step > 0.0):
            raise InputError(f"The time step is {self.step:g} s; give a value above 0.", key="step")
        if not 0.0 <= self.rho <= 1.0:
            raise InputError(f"rho is {self.rho:g}; it says what is left of the fastest swings: 0 to 1.", key="rho")

    @property
    def alpha_m(self) -> float:
        """Where in the step inertia is met: (1 - α_m) a_1 + α_m a_0."""
        return (2.0 * self.rho - 1.0) / (self.rho + 1.0)

    @property
    def alpha_f(self) -> float:
        """Where in the step forces are met: at time t_0 + (1 - α_f) Δt."""
        return self.rho / (self.rho + 1.0)

    @property
    def beta(self) -> float:
        """Newmark's β."""
        return 0.25 * (1.0 - self.alpha_m + self.alpha_f) ** 2

    @property
    def gamma(self) -> float:
        """Newmark's γ."""
        return 0.5 - self.alpha_m + self.alpha_f

    @property
    def _gain(self) -> float:
        """What a new acceleration adds to d = y + gain · a_1, s^2."""
        return (1.0 - self.alpha_f) * self.beta * self.step**2

    @property
    def inertia(self) -> float:
        """c, 1/s^2."""
        return (1.0 - self.alpha_m) / self._gain

    @cached_property
    def predictor(self) -> Array:
        """Coefficients of (v_0, a_0) in y, shape (2,)."""
        dt, rest = self.step, 1.0 - self.alpha_f
        return np.array([rest * dt, rest * dt**2 * (0.5 - self.beta)])

    @cached_property
    def carried(self) -> Array:
        """Coefficients of (v_0, a_0) in c y - α_m a_0, shape (2,)."""
        return np.asarray(self.inertia * self.predictor - np.array([0.0, self.alpha_m]))

    @cached_property
    def update(self) -> Array:
        """(u_1, v_1, a_1) = update @ (u_0, v_0, a_0, d), shape (3, 4)."""
        dt = self.step
        acceleration = np.array([0.0, *-self.predictor, 1.0]) / self._gain
        displacement = np.array([1.0, 0.0, 0.0, 1.0 / (1.0 - self.alpha_f)])
        velocity = np.array([0.0, 1.0, dt * (1.0 - self.gamma), 0.0]) + dt * self.gamma * acceleration
        return np.stack([displacement, velocity, acceleration])
