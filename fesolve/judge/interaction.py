"""Criteria for stress along the grain, across it and shear acting together.

Each is a quadratic form of the stresses, with linear terms where tension and compression are one surface, scaled by λ:
a λ² + b λ = 1. The utilisation is 1/λ = (b + sqrt(b² + 4 a))/2. Stresses and strengths in MPa, tension positive.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError

Array = NDArray[np.float64]
NORRIS = "Norris"


@dataclass(frozen=True)
class PlaneStrength:
    """Five strengths in the plane, all positive, MPa: f_t0, f_c0, f_t90, f_c90 and f_v."""

    tension_along: float
    compression_along: float
    tension_across: float
    compression_across: float
    shear: float


@dataclass(frozen=True)
class _Terms:
    """σ_0, σ_90, τ (k,), and the strengths along and across the grain by their signs."""

    s: Array
    n: Array
    t: Array
    along: Array
    across: Array
    f: PlaneStrength

    @classmethod
    def of(cls, along: Array, across: Array, shear: Array, f: PlaneStrength) -> _Terms:
        s, n, t = np.broadcast_arrays(*(np.asarray(one, dtype=float) for one in (along, across, shear)))
        f_0 = np.where(s >= 0.0, f.tension_along, f.compression_along)
        f_90 = np.where(n >= 0.0, f.tension_across, f.compression_across)
        return cls(s, n, t, f_0, f_90, f)

    @property
    def squares(self) -> Array:
        """The three squares with the strengths by sign."""
        return np.asarray((self.s / self.along) ** 2 + (self.n / self.across) ** 2 + (self.t / self.f.shear) ** 2)

    @property
    def product(self) -> tuple[float, float]:
        """f_t0 f_c0 and f_t90 f_c90."""
        f = self.f
        return f.tension_along * f.compression_along, f.tension_across * f.compression_across

    @property
    def surface(self) -> tuple[Array, Array]:
        """Squares and linear terms of one smooth surface through the four strengths along and across the grain."""
        f, (along, across) = self.f, self.product
        squares = self.s**2 / along + self.n**2 / across + (self.t / f.shear) ** 2
        linear = self.s * (1 / f.tension_along - 1 / f.compression_along)
        linear = linear + self.n * (1 / f.tension_across - 1 / f.compression_across)
        return np.asarray(squares), np.asarray(linear)


Form = Callable[[_Terms], tuple[Array, Array]]


def _norris(x: _Terms) -> tuple[Array, Array]:
    return x.squares, np.zeros_like(x.s)


def _norris_with_product(x: _Terms) -> tuple[Array, Array]:
    return x.squares - x.s * x.n / (x.along * x.across), np.zeros_like(x.s)


def _tsai_hill(x: _Terms) -> tuple[Array, Array]:
    return x.squares - x.s * x.n / x.along**2, np.zeros_like(x.s)


def _hoffman(x: _Terms) -> tuple[Array, Array]:
    squares, linear = x.surface
    return squares - x.s * x.n / x.product[0], linear


def _tsai_wu(x: _Terms) -> tuple[Array, Array]:
    squares, linear = x.surface
    along, across = x.product
    return squares - x.s * x.n / np.sqrt(along * across), linear


FORMS: dict[str, Form] = {
    NORRIS: _norris,
    "Norris with product": _norris_with_product,
    "Tsai-Hill": _tsai_hill,
    "Hoffman": _hoffman,
    "Tsai-Wu": _tsai_wu,
}
CHOICES = tuple(FORMS)


def interaction(along: Array, across: Array, shear: Array, strength: PlaneStrength, choice: str = NORRIS) -> Array:
    """Utilisation of three stresses acting together by one of the published criteria, as published.

    With f_0 and f_90 by the signs of σ_0 and σ_90, each = 1 on the stresses times λ:

    - Norris: (σ_0/f_0)² + (σ_90/f_90)² + (τ/f_v)²
    - Norris with product: the same - σ_0 σ_90/(f_0 f_90)
    - Tsai-Hill: Norris - σ_0 σ_90/f_0²
    - Hoffman: (σ_0² - σ_0 σ_90)/(f_t0 f_c0) + σ_90²/(f_t90 f_c90) + (τ/f_v)² + (1/f_t0 - 1/f_c0) σ_0
      + (1/f_t90 - 1/f_c90) σ_90
    - Tsai-Wu: Hoffman with σ_0 σ_90/sqrt(f_t0 f_c0 f_t90 f_c90) in place of its product

    Parameters
    ----------
    along, across, shear : (k,) array
        σ_0, σ_90, τ, MPa.
    strength : PlaneStrength
    choice : str
        One of `CHOICES`.

    Returns
    -------
    (k,) array
        1/λ.

    Raises
    ------
    InputError
        For a choice that is not known.

    References
    ----------
    C. B. Norris, Strength of orthotropic materials subjected to combined stresses, FPL Report 1816 (1950); V. D. Azzi,
    S. W. Tsai, Anisotropic strength of composites, Experimental Mechanics 5 (1965) 283-288; O. Hoffman, The brittle
    strength of orthotropic materials, J. Composite Materials 1 (1967) 200-206; S. W. Tsai, E. M. Wu, A general theory
    of strength for anisotropic materials, J. Composite Materials 5 (1971) 58-80; all from memory.

    Examples
    --------
    >>> f = PlaneStrength(80.0, 40.0, 2.0, 5.0, 8.0)
    >>> interaction(np.array([40.0]), np.array([1.0]), np.array([4.0]), f).round(4)    # sqrt(3 x 0.5^2)
    array([0.866])
    >>> interaction(np.array([-40.0]), np.array([0.0]), np.array([0.0]), f, "Hoffman").round(12)
    array([1.])
    """
    if choice not in FORMS:
        raise InputError(f'"{choice}" is not an interaction. Choices: {", ".join(CHOICES)}.', key="judging.combined")
    a, b = FORMS[choice](_Terms.of(along, across, shear, strength))
    return np.asarray(0.5 * (b + np.sqrt(b * b + 4.0 * np.maximum(a, 0.0))))


def check_closed(strength: PlaneStrength, choice: str) -> None:
    """Refuse strengths with which a criterion has no limit in some direction of stress.

    A form p σ_0² - q σ_0 σ_90 + r σ_90² is an ellipse only where 4 p r > q²: Tsai-Hill then needs f_90 < 2 f_0, Hoffman
    f_t90 f_c90 < 4 f_t0 f_c0; the others always close. Wood keeps far away from that.

    Raises
    ------
    InputError
        With the key ``judging.combined``.
    """
    f = strength
    if choice == "Tsai-Hill":
        worst = max(f.tension_across, f.compression_across) / (2 * min(f.tension_along, f.compression_along))
    elif choice == "Hoffman":
        worst = f.tension_across * f.compression_across / (4 * f.tension_along * f.compression_along)
    else:
        return
    if worst >= 1.0:
        raise InputError(
            f"{choice} has no limit for some stresses with strengths that are greater across the grain than along it: "
            f"tension {f.tension_along:g} along and {f.tension_across:g} across, compression {f.compression_along:g} "
            f'and {f.compression_across:g} MPa. Choose "{NORRIS}", or look at [wood.strength].',
            key="judging.combined",
        )


def off_axis_strength(strength: PlaneStrength, angle: float, choice: str = NORRIS, *, pressed: bool = False) -> float:
    """Strength under one stress at an angle to the grain: σ_0 = σ cos², σ_90 = σ sin², τ = σ sin cos.

    Parameters
    ----------
    strength : PlaneStrength
    angle : float
        Between the stress and the fibres, deg.
    choice : str
        One of `CHOICES`.
    pressed : bool
        Compression instead of tension.

    Returns
    -------
    float
        MPa, positive.

    Examples
    --------
    Where f_v² = f_t0 f_t90/2, Norris' sum is Hankinson's formula squared, term by term:

    >>> from ..wood.bearing import hankinson
    >>> f = PlaneStrength(80.0, 40.0, 2.5, 5.0, 10.0)
    >>> round(off_axis_strength(f, 20.0), 9) == round(hankinson(80.0, 2.5, 20.0), 9)
    True
    """
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    one = -1.0 if pressed else 1.0
    stress = one * np.array([[c * c], [s * s], [s * c]])
    return float(1.0 / interaction(stress[0], stress[1], stress[2], strength, choice)[0])
