"""Exact fields without a hole in wood: polynomial beams, the wedge, Kirsch's plate, Golovin's curved bar.

Written from the formulas named at each; none of it uses the package's own code.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.polynomial import polynomial
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class AiryField:
    """Stress and displacement of an Airy polynomial F = sum c_ij x^i y^j in wood of compliance S (3, 3).

    sx = F_yy, sy = F_xx, txy = -F_xy. The displacement is found by integrating the strains, which compatibility
    allows; it is held at the origin, where it also does not turn.
    """

    coefficients: Array
    S: Array

    def _stress(self) -> tuple[Array, Array, Array]:
        c = self.coefficients
        return _d(_d(c, 1), 1), _d(_d(c, 0), 0), -_d(_d(c, 0), 1)

    def stress(self, points: Array) -> Array:
        """sx, sy, txy (k, 3) at points (k, 2)."""
        return np.stack([_value(c, points) for c in self._stress()], axis=1)

    def displacement(self, points: Array) -> Array:
        """u, v (k, 2) at points (k, 2)."""
        stress = self._stress()
        shape = tuple(np.max([c.shape for c in stress], axis=0))
        padded = np.array([np.pad(c, [(0, shape[0] - c.shape[0]), (0, shape[1] - c.shape[1])]) for c in stress])
        ex, ey, gamma = np.tensordot(self.S, padded, axes=1)
        u, v = polynomial.polyint(ex, axis=0), polynomial.polyint(ey, axis=1)
        rest = _sum(gamma, -_d(u, 1), -_d(v, 0))  # f'(y) + g'(x)
        mixed = rest[1:, 1:]
        if mixed.size and np.abs(mixed).max() > 1e-9 * max(np.abs(gamma).max(), np.abs(ex).max()):
            raise ValueError("The Airy polynomial is not compatible with this compliance.")
        half = rest[0, 0] / 2
        f, g = rest[:1, :].copy(), rest[:, :1].copy()
        f[0, 0] = g[0, 0] = half
        u, v = _sum(u, polynomial.polyint(f, axis=1)), _sum(v, polynomial.polyint(g, axis=0))
        moved = np.stack([_value(u, points), _value(v, points)], axis=1)
        origin = np.zeros((1, 2))
        turn = (_value(_d(v, 0), origin) - _value(_d(u, 1), origin))[0] / 2
        at = np.array([_value(u, origin)[0], _value(v, origin)[0]])
        return moved - at - turn * np.stack([-points[:, 1], points[:, 0]], axis=1)


def _d(c: Array, axis: int) -> Array:
    return polynomial.polyder(c, axis=axis)


def _value(c: Array, points: Array) -> Array:
    return polynomial.polyval2d(points[:, 0], points[:, 1], c)


def _sum(*terms: Array) -> Array:
    shape = tuple(np.max([c.shape for c in terms], axis=0))
    total = np.zeros(shape)
    for c in terms:
        total[: c.shape[0], : c.shape[1]] += c
    return total


def cantilever(S: Array, h: float, F: float) -> AiryField:
    """A strip whose end x = 0 carries a parabolic shear of resultant F up (per unit thickness), at any grain angle.

    sx = al (x y + (S16/S11)(y^2 - h^2/12)), txy = (al/2)(h^2/4 - y^2), al = -12 F/h^3 (derived).
    """
    al, k = -12 * F / h**3, S[0, 2] / S[0, 0]
    c = np.zeros((2, 5))
    c[1, 3], c[1, 1] = al / 6, -al * h**2 / 8
    c[0, 4], c[0, 2] = al * k / 12, -al * k * h**2 / 24
    return AiryField(c, S)


def pressed_beam(S: Array, L: float, h: float, q: float) -> AiryField:
    """A strip |x| <= L/2 with pressure q on its top, carried by shear at its ends, grain along it (S16 = 0).

    sx = -(q/2I)(L^2/4 - x^2) y - (q K/I)(y^3/6 - h^2 y/40), K = E_0/G - 2 nu (derived; K = 2 is the textbook's).
    """
    inertia, K = h**3 / 12, (S[2, 2] + 2 * S[0, 1]) / S[0, 0]
    c = np.zeros((3, 6))
    c[2, 0], c[2, 1], c[2, 3] = -q / 4, -3 * q / (4 * h), q / h**3
    c[0, 5] = -q * K / (120 * inertia)
    c[0, 3] = (q * K * h**2 / 40 - q * L**2 / 8) / (6 * inertia)
    return AiryField(c, S)


@dataclass(frozen=True)
class Wedge:
    """A wedge with a force P at its apex in the direction `degrees`: sr = (A cos t + B sin t)/(r S_rr(t)), no other.

    S_rr is the compliance along the radius. A and B from int (cos, sin) sr r dt = -P (derived; exact for straight
    grain at any angle).
    """

    S: Array
    low: float
    high: float
    P: float
    degrees: float

    def _radial(self, t: Array) -> Array:
        c, s = np.cos(t), np.sin(t)
        n = np.stack([c * c, s * s, s * c], axis=-1)
        return np.einsum("...i,ij,...j->...", n, self.S, n)

    def constants(self) -> Array:
        """A and B."""
        x, w = np.polynomial.legendre.leggauss(60)
        low, high = np.radians([self.low, self.high])
        t, w = low + (x + 1) / 2 * (high - low), w * (high - low) / 2
        n = np.stack([np.cos(t), np.sin(t)])
        matrix = np.einsum("q,iq,jq->ij", w / self._radial(t), n, n)
        towards = np.radians(self.degrees)
        return np.linalg.solve(matrix, -self.P * np.array([np.cos(towards), np.sin(towards)]))

    def stress(self, points: Array) -> Array:
        """sx, sy, txy (k, 3) at points (k, 2)."""
        A, B = self.constants()
        r, t = np.hypot(points[:, 0], points[:, 1]), np.arctan2(points[:, 1], points[:, 0])
        c, s = np.cos(t), np.sin(t)
        radial = (A * c + B * s) / (r * self._radial(t))
        return radial[:, None] * np.stack([c * c, s * s, s * c], axis=1)


def polar_to_xy(radial: Array, hoop: Array, shear: Array, t: Array) -> Array:
    """sx, sy, txy (k, 3) from stresses along and square to the radius at angle t rad."""
    c, s = np.cos(t), np.sin(t)
    return np.stack(
        [
            radial * c * c + hoop * s * s - 2 * shear * s * c,
            radial * s * s + hoop * c * c + 2 * shear * s * c,
            (radial - hoop) * s * c + shear * (c * c - s * s),
        ],
        axis=1,
    )


@dataclass(frozen=True)
class Kirsch:
    """An isotropic plate with a hole of radius a under unit tension along x (Timoshenko & Goodier, art. 35)."""

    a: float

    def stress(self, points: Array) -> Array:
        """sx, sy, txy (k, 3) at points (k, 2)."""
        r, t = np.hypot(points[:, 0], points[:, 1]), np.arctan2(points[:, 1], points[:, 0])
        k, c2, s2 = (self.a / r) ** 2, np.cos(2 * t), np.sin(2 * t)
        radial = (1 - k) / 2 + (1 - 4 * k + 3 * k * k) / 2 * c2
        hoop = (1 + k) / 2 - (1 + 3 * k * k) / 2 * c2
        return polar_to_xy(radial, hoop, -(1 + 2 * k - 3 * k * k) / 2 * s2, t)


@dataclass(frozen=True)
class Golovin:
    """A curved bar a <= r <= b under a moment M that straightens it (Timoshenko & Goodier, art. 29)."""

    a: float
    b: float
    M: float

    def polar(self, r: Array) -> tuple[Array, Array]:
        """Stress along the radius and along the bar at r."""
        a, b = self.a, self.b
        N = (b * b - a * a) ** 2 - 4 * (a * b * np.log(b / a)) ** 2
        ring = (a * b / r) ** 2 * np.log(b / a)
        common = b * b * np.log(r / b) + a * a * np.log(a / r)
        factor = -4 * self.M / N
        return factor * (ring + common), factor * (common - ring + b * b - a * a)

    def stress(self, points: Array) -> Array:
        """sx, sy, txy (k, 3) at points (k, 2)."""
        r, t = np.hypot(points[:, 0], points[:, 1]), np.arctan2(points[:, 1], points[:, 0])
        radial, hoop = self.polar(r)
        return polar_to_xy(radial, hoop, np.zeros_like(r), t)
