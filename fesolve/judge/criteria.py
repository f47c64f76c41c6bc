"""The criteria that stresses are held against, and the length over which a split is judged.

Stresses MPa, energies N/mm (1000 J/m^2), lengths mm. A utilisation is 1/λ, λ the factor on the stresses at which the
criterion is met; it grows in proportion to the stresses.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class SplitStrength:
    """The three strengths that splitting along the grain needs, all positive, MPa.

    Attributes
    ----------
    shear : float
        f_v, along the grain.
    tension : float
        f_t90, across the grain.
    compression : float
        f_c90, across the grain, as a positive number.
    pressure_helps : bool
        Whether pressure across the grain raises the shear strength.
    """

    shear: float
    tension: float
    compression: float
    pressure_helps: bool = True

    @property
    def reserve(self) -> float:
        """1 - r^2, r = f_c90/(f_c90 + f_t90): the square of f_v over the greatest shear under pressure."""
        return 1.0 - (self.compression / (self.compression + self.tension)) ** 2

    @property
    def shear_under_pressure(self) -> float:
        """Greatest shear f_v/sqrt(1 - r^2), met at σ_90 = -f_c90."""
        return self.shear / float(np.sqrt(self.reserve)) if self.pressure_helps else self.shear


def split_utilisation(across: Array, shear: Array, strength: SplitStrength) -> Array:
    """Utilisation of stress across the grain and shear along it, acting together.

    ((f_c90 + σ_90)/(f_c90 + f_t90))^2 + (1 - r^2)(τ/f_v)^2 = 1 on the scaled stresses (λ σ_90, λ τ); below
    λ σ_90 = -f_c90 pressure gives no further credit.

    Parameters
    ----------
    across : (k,) array
        σ_90, tension positive, MPa.
    shear : (k,) array
        τ, MPa.
    strength : SplitStrength

    Returns
    -------
    (k,) array

    References
    ----------
    SIA 265; R. Steiger, E. Gehri, Interaction of shear stresses and stresses perpendicular to the grain,
    CIB-W18/44-6-2 (2011), from memory. Its limits are checked by substitution.

    Examples
    --------
    Shear alone meets its strength at f_v, tension alone at f_t90:

    >>> f = SplitStrength(shear=7.8, tension=2.3, compression=5.5)
    >>> split_utilisation(np.array([0.0, 2.3]), np.array([7.8, 0.0]), f).round(12)
    array([1., 1.])
    """
    across = np.asarray(across, dtype=float)
    shear = np.asarray(shear, dtype=float)
    if not strength.pressure_helps:
        across = np.maximum(across, 0.0)
    total = strength.compression + strength.tension
    a = (across / total) ** 2 + strength.reserve * (shear / strength.shear) ** 2
    b = 2.0 * strength.compression * across / total**2
    c = -strength.reserve
    result = (b + np.sqrt(b * b - 4.0 * a * c)) / (-2.0 * c)
    pressed = across < -strength.compression * result
    return np.where(pressed, np.abs(shear) * np.sqrt(strength.reserve) / strength.shear, np.maximum(result, 0.0))


@dataclass(frozen=True)
class SplitLength:
    """The length of fibres over which a split is judged, as a function of the ratio of stresses.

    Attributes
    ----------
    strength : SplitStrength
        MEAN clear-wood strengths: the length belongs to the material, not to the basis.
    stiffness : (float, float)
        E'_I, E'_II of a crack along the grain, MPa.
    energy : (float, float)
        G_Ic, G_IIc, N/mm.
    fixed : float, optional
        An own length, mm, that replaces the formula.
    """

    strength: SplitStrength
    stiffness: tuple[float, float]
    energy: tuple[float, float]
    fixed: float | None = None

    def exact(self, across: Array, shear: Array) -> Array:
        """Length x0 in mm for stresses σ_90 and τ in any common measure.

        x0 = (2/π)(K/s)^2 with K = (1/(E'_I G_Ic) + ρ^2/(E'_II G_IIc))^(-1/2), ρ = τ/σ_90, s the σ_90 at which the
        criterion is met on that ray; under pressure (2/π) E'_II G_IIc/τ_c^2, τ_c the shear on the ray there.

        References
        ----------
        Mean-stress method of the timber literature (Gustafsson; Serrano; Sjödin and Serrano), from memory; mixed
        form derived so that it agrees with G_I/G_Ic + G_II/G_IIc = 1 ahead of a crack.
        """
        across, shear = np.broadcast_arrays(np.asarray(across, float), np.abs(np.asarray(shear, float)))
        if self.fixed is not None:
            return np.full(across.shape, self.fixed)
        size = np.hypot(across, shear)
        size = np.where(size == 0.0, 1.0, size)
        c, s = across / size, shear / size
        use = split_utilisation(c, s, self.strength)
        opening = self.stiffness[0] * self.energy[0]
        sliding = self.stiffness[1] * self.energy[1]
        pulled = use**2 / (c * c / opening + s * s / sliding + 1e-300)
        limit = (1.0 / self.strength.shear_under_pressure) ** 2
        pressed = sliding * np.maximum((use / np.maximum(s, 1e-12)) ** 2, limit)
        return 2.0 / np.pi * np.where(c > 0.0, pulled, pressed)

    @cached_property
    def _table(self) -> tuple[Array, Array]:
        angle = np.linspace(0.0, np.pi, 4001)
        return angle, self.exact(np.cos(angle), np.sin(angle))

    def __call__(self, across: Array, shear: Array) -> Array:
        """The same from a table over the angle of the ray, for many stresses at once (error below 1e-5)."""
        if self.fixed is not None:
            return np.full(np.shape(across), self.fixed)
        angle, length = self._table
        place = np.arctan2(np.abs(shear), across) * ((len(angle) - 1) / np.pi)
        left = np.minimum(place.astype(np.int32), len(angle) - 2)
        return np.asarray(length[left] + (place - left) * (length[left + 1] - length[left]))

    @property
    def least(self) -> float:
        """Least length over all ratios, mm."""
        return float(self._table[1].min()) if self.fixed is None else self.fixed

    @property
    def greatest(self) -> float:
        """Greatest length over all ratios, mm."""
        return float(self._table[1].max()) if self.fixed is None else self.fixed
