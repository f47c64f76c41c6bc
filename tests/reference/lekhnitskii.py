"""Exact plane fields round a circular hole in an infinite orthotropic plate, from complex potentials.

S. G. Lekhnitskii, Anisotropic Plates (from memory; derived again here). With the Airy function F = 2 Re(F_1(z_1) +
F_2(z_2)), z_k = x + mu_k y and phi_k = F_k', the stresses are sx = 2 Re sum mu_k^2 phi_k', sy = 2 Re sum phi_k',
txy = -2 Re sum mu_k phi_k', the displacements 2 Re sum p_k phi_k and 2 Re sum q_k phi_k, and along any curve the
functions U_x = dF/dx, U_y = dF/dy carry the force. zeta_k maps the outside of the hole to |zeta_k| > 1 and equals
exp(i theta) on its edge. None of this uses the package's own code.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]


def compliance_xy(E_0: float, E_90: float, G: float, nu: float, grain_deg: float) -> Array:
    """Compliance (3, 3) in x, y of wood whose fibres stand at an angle to x, by rotating the stress."""
    c, s = np.cos(np.radians(grain_deg)), np.sin(np.radians(grain_deg))
    turn = np.array([[c * c, s * s, 2 * s * c], [s * s, c * c, -2 * s * c], [-s * c, s * c, c * c - s * s]])
    grain = np.array([[1 / E_0, -nu / E_0, 0], [-nu / E_0, 1 / E_90, 0], [0, 0, 1 / G]])
    return turn.T @ grain @ turn


def roots(S: Array) -> Complex:
    """The two roots mu with positive imaginary part of the characteristic equation; (2,)."""
    mu = np.roots([S[0, 0], -2 * S[0, 2], 2 * S[0, 1] + S[2, 2], -2 * S[1, 2], S[1, 1]])
    return np.sort_complex(mu[mu.imag > 0])


@dataclass(frozen=True)
class HoleField:
    """Uniform stress far away plus phi_k = A_k ln zeta_k + sum_n c_kn zeta_k^-n.

    Parameters
    ----------
    S : (3, 3) array
        Compliance in x, y, 1/MPa.
    radius : float
        mm.
    remote : (3,) array
        Stress far away, MPa.
    logs : (2,) array
        A_k.
    powers : (2, n) array
        c_k1, c_k2, …
    """

    S: Array
    radius: float
    remote: Array
    logs: Complex
    powers: Complex

    def _mapped(self, points: Array) -> tuple[Complex, Complex, Complex]:
        """mu (2,), zeta (k, 2) and d zeta/dz (k, 2)."""
        mu, a = roots(self.S), self.radius
        z = points[:, :1] + mu * points[:, 1:]
        root = np.sqrt(z * z - a * a * (1 + mu * mu))
        scale = a * (1 - 1j * mu)
        # of the two branches the right one lies outside the unit circle
        root = np.where(np.abs(z + root) >= np.abs(z - root), root, -root)
        zeta = (z + root) / scale
        return mu, zeta, zeta / root

    def stress(self, points: Array) -> Array:
        """sx, sy, txy (k, 3) at points (k, 2)."""
        points = np.asarray(points, dtype=float)
        mu, zeta, slope = self._mapped(points)
        n = np.arange(1, self.powers.shape[1] + 1)
        inner = self.logs / zeta - np.stack(
            [_series(n * self.powers[k], zeta[:, k]) / zeta[:, k] for k in range(2)], axis=1
        )
        phi = inner * slope
        parts = [(mu * mu * phi).sum(axis=1), phi.sum(axis=1), -(mu * phi).sum(axis=1)]
        return self.remote + 2 * np.stack(parts, axis=1).real

    def displacement(self, points: Array) -> Array:
        """u, v (k, 2) mm at points (k, 2); without turning far away. The logarithm jumps across x < 0, y = 0."""
        points, S = np.asarray(points, dtype=float), self.S
        mu, zeta, _ = self._mapped(points)
        phi = self.logs * np.log(zeta) + np.stack([_series(self.powers[k], zeta[:, k]) for k in range(2)], axis=1)
        p = S[0, 0] * mu * mu + S[0, 1] - S[0, 2] * mu
        q = S[0, 1] * mu + S[1, 1] / mu - S[1, 2]
        strain = S @ self.remote
        uniform = points @ np.array([[strain[0], strain[2] / 2], [strain[2] / 2, strain[1]]])
        return uniform + 2 * np.stack([(p * phi).sum(axis=1), (q * phi).sum(axis=1)], axis=1).real

    def hoop(self, degrees: Array) -> Array:
        """Stress along the edge (k,) MPa at angles from x."""
        t = np.radians(np.asarray(degrees, dtype=float))
        stress = self.stress(self.radius * np.stack([np.cos(t), np.sin(t)], axis=1))
        return hoop_of(stress, t)


def hoop_of(stress: Array, angle: Array) -> Array:
    """Stress (k,) in the direction square to a radius at `angle` rad, from sx, sy, txy (k, 3)."""
    c, s = np.cos(angle), np.sin(angle)
    return stress[:, 0] * s * s + stress[:, 1] * c * c - 2 * stress[:, 2] * s * c


def _series(coefficients: Complex, zeta: Complex) -> Complex:
    """sum_n c_n zeta^-n, n from 1, by Horner's rule; far out the high powers no longer count."""
    total = np.zeros_like(zeta)
    for coefficient in coefficients[::-1]:
        total = (total + coefficient) / zeta
    return total


def pulled_plate(S: Array, radius: float, remote: tuple[float, float, float]) -> HoleField:
    """A free hole in a plate under uniform stress far away."""
    sx, sy, txy = remote
    mu, a = roots(S), radius
    right = np.array([-(a / 2) * (sy - 1j * txy), (a / 2) * (txy - 1j * sx)])
    first = np.linalg.solve(np.array([np.ones(2), mu]), right)
    return HoleField(S, radius, np.array(remote, dtype=float), np.zeros(2, dtype=complex), first[:, None])


def pressed_hole(S: Array, radius: float, force: float, terms: int = 1024) -> HoleField:
    """A pin's cosine pressure p = (2 F/(pi a)) cos(theta) on the half circle, pushing the plate to +x.

    The pin's force leaves logarithms that make the displacement single-valued; the rest follows from the Fourier
    series of dU_x/dtheta = a p sin(theta), dU_y/dtheta = -a p cos(theta), whose coefficients are written out.
    """
    n = np.arange(1, terms + 1)
    peak = 2 * force / np.pi  # a times the greatest pressure
    # (1/2 pi) times the integrals over the half circle of sin cos e^(-i n t) and cos^2 e^(-i n t)
    sine = -1j * peak * (_half_cosine(n - 2) - _half_cosine(n + 2)) / 4
    cosine = peak * (_half_cosine(n) / 2 + (_half_cosine(n - 2) + _half_cosine(n + 2)) / 4)
    return _from_edge(S, radius, (force, 0.0), sine, cosine)


def hole_under(S: Array, radius: float, pressure: Array) -> HoleField:
    """Any pressure (N,) MPa on a hole's edge, at evenly spaced angles from 0 on, counter-clockwise."""
    count = len(pressure)
    t = 2 * np.pi * np.arange(count) / count
    around = radius * pressure * np.stack([np.sin(t), np.cos(t)])
    sine, cosine = np.fft.fft(around, axis=1)[:, 1 : count // 2] / count
    force = 2 * np.pi * around.mean(axis=1)
    return _from_edge(S, radius, (float(force[1]), float(force[0])), sine, cosine)


def _from_edge(S: Array, radius: float, force: tuple[float, float], sine: Complex, cosine: Complex) -> HoleField:
    """The field of a pressure p whose a p sin(t) and a p cos(t) have these coefficients of e^(i n t), n from 1."""
    mu = roots(S)
    p = S[0, 0] * mu * mu + S[0, 1] - S[0, 2] * mu
    q = S[0, 1] * mu + S[1, 1] / mu - S[1, 2]
    # 2 Re(2 pi i sum g_k A_k) for g = 1, mu, p, q: the jumps of U_x, U_y, u and v round the hole
    rows = np.array([np.ones(2), mu, p, q])
    scale = np.abs(rows).max(axis=1)
    jump = 4 * np.pi * np.hstack([-rows.imag, -rows.real]) / scale[:, None]
    real = np.linalg.solve(jump, np.array([force[1], -force[0], 0.0, 0.0]) / scale)
    logs = real[:2] + 1j * real[2:]

    n = np.arange(1, len(sine) + 1)
    U_x, U_y = sine / (1j * n), -cosine / (1j * n)
    powers = np.linalg.solve(np.array([np.ones(2), mu]), np.conj(np.array([U_x, U_y])))
    return HoleField(S, radius, np.zeros(3), logs, powers)


def _half_cosine(m: NDArray[np.int64]) -> Array:
    """(1/2 pi) times the integral of cos(m t) from -pi/2 to pi/2."""
    return np.sinc(m / 2) / 2


def nearly_isotropic(E: float, nu: float, apart: float = 1e-3) -> Array:
    """Compliance of an isotropic plate whose double root i is drawn apart, which changes stresses by about apart^2."""
    spread = ((1 + apart) ** 2 + (1 + apart) ** -2) / E
    return np.array([[1 / E, -nu / E, 0], [-nu / E, 1 / E, 0], [0, 0, spread + 2 * nu / E]])
