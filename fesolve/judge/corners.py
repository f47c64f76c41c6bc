"""How fast stress grows towards a corner: the exponent of the field there, for any wood, angle and hold of both sides.

Near a corner the displacement is a sum of terms r^λ φ(angle), so stress goes as r^(λ - 1): without a limit where some λ
has a real part between 0 and 1.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

ORDER = 8  # of the polynomials on each piece of the angle
PIECE = np.radians(50.0)  # greatest piece
RIGID = 0.02  # exponents below this are the two slides, 0 but for rounding


def corner_exponent(stiffness: Array, start: float, end: float, held_start: Array, held_end: Array) -> float:
    """Least real part of λ above 0, at most 1 (a turn as a rigid body), of a corner's displacement r^λ φ(θ).

    The strain is r^(λ-1) (λ B_1 φ + B_2 φ'), with B_1 of the unit vector along the ray and B_2 of the one across it.
    Virtual work over all rays gives (C_0 + λ (C_1 - C_1') - λ² M) φ = 0, C_0 = ∫ B_2' D B_2 on slopes, C_1 the same of
    slopes with values, M of values, a quadratic eigenvalue problem that is solved on polynomials in θ.

    Parameters
    ----------
    stiffness : (3, 3) array
        Of the wood in x, y, MPa; rows stress, columns strain (x, y, xy).
    start, end : float
        Directions of the two sides, counter-clockwise through the wood, start < end, radians.
    held_start, held_end : (k, 2) arrays
        Directions along which each side is held: none (free), one (a smooth rest: its normal) or two (clamped).

    Returns
    -------
    float

    References
    ----------
    M. L. Williams, Stress singularities resulting from various boundary conditions in angular corners of plates in
    extension, J. Appl. Mech. 19 (1952) 526-528, for isotropic plates; D. Leguillon and E. Sanchez-Palencia, Computation
    of singular solutions in elliptic problems and elasticity, 1987, for the eigenvalue problem (both from memory).

    Examples
    --------
    A crack, both sides free, in wood: the square root of the distance, whatever the wood.

    >>> from fesolve.wood.orthotropic import OrthotropicPlane
    >>> wood = OrthotropicPlane(E_0=12_000, E_90=600, G=780, nu_0_90=0.4).reduced_stiffness()
    >>> free = np.zeros((0, 2))
    >>> round(corner_exponent(wood, -np.pi, np.pi, free, free), 4)
    0.5
    """
    slope, mixed, value = _matrices(stiffness / float(np.trace(stiffness)), start, end)
    count = len(slope) // 2
    allowed = np.eye(2 * count)
    blocks = {0: _allowed(held_start), count - 1: _allowed(held_end)}
    columns = [allowed[:, 2 * n : 2 * n + 2] @ blocks.get(n, np.eye(2)) for n in range(count)]
    basis = np.concatenate(columns, axis=1)
    slope, mixed, value = (basis.T @ matrix @ basis for matrix in (slope, mixed, value))
    size = len(slope)
    upper = np.concatenate([np.zeros((size, size)), np.eye(size)], axis=1)
    lower = np.linalg.solve(value, np.concatenate([slope, mixed - mixed.T], axis=1))
    real = np.linalg.eigvals(np.concatenate([upper, lower])).real
    return float(real[real > RIGID].min(initial=1.0))


def _allowed(held: Array) -> Array:
    """Directions (2, k), at right angles to each other, in which a side may move that is held along `held` (j, 2)."""
    if len(held) == 0:
        return np.eye(2)
    _, size, rows = np.linalg.svd(held.reshape(-1, 2))
    return np.asarray(rows[int((size > 1e-6).sum()) :].T)


def _matrices(stiffness: Array, start: float, end: float) -> tuple[Array, Array, Array]:
    """C_0, C_1 and M on Lagrange polynomials at Gauss-Lobatto points, unknowns by node, x and y together."""
    pieces = max(int(np.ceil((end - start) / PIECE)), 1)
    half = 0.5 * (end - start) / pieces
    at, weight = np.polynomial.legendre.leggauss(ORDER + 4)
    shape, slope = _lagrange(at)
    size = 2 * (pieces * ORDER + 1)
    result = np.zeros((3, size, size))
    for piece in range(pieces):
        angle = start + half * (2 * piece + 1 + at)
        c, s = np.cos(angle), np.sin(angle)
        radial, across = _strain_of(c, s), _strain_of(-s, c)
        first = np.einsum("qsi,qa->qsai", across, slope / half).reshape(len(at), 3, -1)
        second = np.einsum("qsi,qa->qsai", radial, shape).reshape(len(at), 3, -1)
        place = slice(2 * piece * ORDER, 2 * (piece + 1) * ORDER + 2)
        for one, (left, right) in zip(result, ((first, first), (first, second), (second, second)), strict=True):
            one[place, place] += np.einsum("q,qsk,st,qtl->kl", half * weight, left, stiffness, right, optimize=True)
    return result[0], result[1], result[2]


def _strain_of(x: Array, y: Array) -> Array:
    """Strain (q, 3, 2) in x, y that a displacement makes which changes along unit vectors (x, y), each (q,)."""
    none = np.zeros_like(x)
    return np.stack([np.stack([x, none], -1), np.stack([none, y], -1), np.stack([y, x], -1)], axis=1)


def _lagrange(at: Array) -> tuple[Array, Array]:
    """Values and slopes (q, ORDER + 1) of Lagrange polynomials on -1..1 at points (q,)."""
    legendre = np.polynomial.legendre.Legendre.basis(ORDER)
    nodes = np.concatenate([[-1.0], np.sort(legendre.deriv().roots().real), [1.0]])
    basis = np.linalg.inv(np.polynomial.legendre.legvander(nodes, ORDER))
    slopes = np.polynomial.legendre.legder(np.eye(ORDER + 1), axis=0)
    return (
        np.polynomial.legendre.legvander(at, ORDER) @ basis,
        np.polynomial.legendre.legvander(at, ORDER - 1) @ slopes @ basis,
    )
