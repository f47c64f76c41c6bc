"""The tip of a crack along the grain: its fields, its energy release rate and how that splits into both modes.

Axes at the tip: x ahead along the crack, y across it. With the crack along the fibres these are grain axes, and energy
release splits without a mixed term: G = K_I^2 / E'_I + K_II^2 / E'_II.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..errors import SolveError
from .elements import Element
from .stiffness import element_stiffness

if TYPE_CHECKING:
    from ..wood.orthotropic import OrthotropicPlane
    from .solution import Solution

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

EQUAL_ROOTS = 1e-4  # relative distance kept between the characteristic roots of a material that is nearly isotropic
INNER = 0.4  # of the radius of integration: within it the weight is 1
LEAST = 12  # elements to integrate over


@dataclass(frozen=True)
class Tip:
    """Where a crack ends.

    Attributes
    ----------
    at : (2,)
        mm.
    direction : (2,)
        Unit vector ahead, along the crack.
    radius : float
        How far around it there is nothing but one wood and the crack itself, mm.
    """

    at: tuple[float, float]
    direction: tuple[float, float]
    radius: float


@dataclass(frozen=True)
class Release:
    """Energy release rate at a tip, N/mm (1 N/mm = 1000 J/m^2).

    Attributes
    ----------
    opening, sliding : float
        G_I and G_II.
    total : float
        By the domain integral itself.
    K_I, K_II : float
        Stress intensities, MPa mm^0.5; K_I is negative where the faces would overlap.
    """

    opening: float
    sliding: float
    total: float
    K_I: float
    K_II: float


def characteristic_roots(plane: OrthotropicPlane) -> tuple[complex, complex]:
    """Roots with positive imaginary part of S_00 μ^4 + (2 S_090 + S_ss) μ^2 + S_9090 = 0; kept apart if equal.

    References
    ----------
    G. C. Sih, P. C. Paris, G. R. Irwin, On cracks in rectilinearly anisotropic bodies, Int. J. Fract. Mech. 1 (1965).
    """
    compliance = plane.compliance()
    a, b, c = compliance[0, 0], 2 * compliance[0, 1] + compliance[2, 2], compliance[1, 1]
    spread = np.sqrt(complex(b * b - 4 * a * c))
    least = EQUAL_ROOTS * b
    if abs(spread) < least:
        spread = complex(least)
    first, second = (np.sqrt(complex((-b + sign * spread) / (2 * a))) for sign in (1, -1))
    return tuple(complex(root if root.imag > 0 else -root) for root in (first, second))  # type: ignore[return-value]


def tip_fields(plane: OrthotropicPlane, x: Array, y: Array) -> tuple[Array, Array]:
    """Fields of unit K_I and unit K_II around a tip at the origin, the crack on the negative x axis.

    Parameters
    ----------
    plane : OrthotropicPlane
        Its grain along x.
    x, y : (k,) arrays
        mm.

    Returns
    -------
    stress : (2, k, 3) array
        σ_x, σ_y, τ_xy for K_I = 1 and K_II = 1 MPa mm^0.5, MPa.
    slope : (2, k, 2, 2) array
        du_i/dx_j.

    References
    ----------
    Sih, Paris and Irwin (1965), as above; H. Tada, P. C. Paris, G. R. Irwin, The Stress Analysis of Cracks Handbook
    (from memory; the energy they release is checked against case 7.1 of the published conversion).
    """
    s = plane.compliance()
    mu = np.array(characteristic_roots(plane))[:, None]
    p = s[0, 0] * mu**2 + s[0, 1]
    q = s[0, 1] * mu + s[1, 1] / mu
    root = 1.0 / np.sqrt(2.0 * np.pi * (x + mu * y))  # cut along the crack
    one, two = mu[:, 0]
    # potentials φ_j' = w_j root_j: σ_x = Re Σ μ_j^2 φ_j', σ_y = Re Σ φ_j', τ = -Re Σ μ_j φ_j'
    weights = np.array([[-two, one], [-1.0, 1.0]]) / (one - two)
    f = weights[:, :, None] * root  # (mode, root, k)
    stress = np.stack([(mu**2 * f).sum(1), f.sum(1), -(mu * f).sum(1)], axis=2)
    u, v = p * f, q * f
    slope = np.stack([u.sum(1), (mu * u).sum(1), v.sum(1), (mu * v).sum(1)], axis=2)
    return stress.real, slope.real.reshape(2, -1, 2, 2)


def energy_release(solution: Solution, tip: Tip, case: int = 0) -> Release:
    """Energy release rate at the tip of a crack along the grain, by domain integrals.

    J = ∫ (σ_ij u_i,1 - W δ_1j) q,j dA over the elements around the tip, q falling from 1 to 0; with the unit tip fields
    beside the solution the mixed terms of the same integral give K_I and K_II one by one.

    Parameters
    ----------
    solution : Solution
        Of a mesh that is open along the crack.
    tip : Tip
        Its direction within a degree of the grain there.
    case : int
        Number of the load case.

    Raises
    ------
    SolveError
        If the mesh around the tip is too coarse to integrate over.

    References
    ----------
    J. F. Yau, S. S. Wang, H. T. Corten, A mixed-mode crack analysis of isotropic solids using conservation laws of
    elasticity, J. Appl. Mech. 47 (1980); F. Z. Li, C. F. Shih, A. Needleman, Engng Fract. Mech. 21 (1985) (both from
    memory). Crack faces without traction, no load within the radius; where faces press on one another without friction
    their pressure adds nothing either, since neither their distance nor that of the sliding field changes along them.
    """
    near = _Around.of(solution, tip, case)
    plane = near.plane
    stress, slope = near.stress, near.slope
    aux_stress, aux_slope = tip_fields(plane, near.x, near.y)
    total = near.integral(stress, slope, stress, slope) / 2.0
    mixed = [near.integral(stress, slope, s, g) for s, g in zip(aux_stress, aux_slope, strict=True)]
    E_I, E_II = plane.crack_stiffness()
    K_I, K_II = E_I * mixed[0] / 2.0, E_II * mixed[1] / 2.0
    opening, sliding = max(K_I, 0.0) ** 2 / E_I, K_II**2 / E_II
    # the total comes out an order better than the intensities, whose squares give only the shares
    scale = total / (opening + sliding) if opening + sliding > 0.0 and total > 0.0 else 1.0
    return Release(opening * scale, sliding * scale, total, K_I, K_II)


@dataclass(frozen=True)
class _Around:
    """Gauss points (k,) around a tip, in the tip's axes."""

    plane: OrthotropicPlane
    x: Array
    y: Array
    weight: Array  # of the integral over the plane, mm^2
    stress: Array  # (k, 3)
    slope: Array  # (k, 2, 2)
    falling: Array  # (k, 2) dq/dx_j

    @classmethod
    def of(cls, solution: Solution, tip: Tip, case: int) -> _Around:
        model = solution.model
        displacement = solution.displacement if solution.displacement.ndim == 2 else solution.displacement[case]
        c, s = tip.direction
        turn = np.array([[c, s], [-s, c]])
        blocks = []
        for element, cells, place in model.blocks:
            local = (model.mesh.points[cells] - tip.at) @ turn.T
            near = np.flatnonzero((np.linalg.norm(local[:, : element.corners], axis=2) < tip.radius).any(axis=1))
            if len(near):
                moved = displacement[cells[near]] @ turn.T
                found = _gauss(element, local[near], moved, tip.radius)
                free = _own_slope(solution, case, place.start + near, turn)
                found[3][:] -= np.repeat(free, len(element.rule[1]), axis=0)
                blocks.append((found, place.start + near))
        if sum(len(numbers) for _, numbers in blocks) < LEAST:
            raise SolveError(f"The mesh is too coarse around the crack's tip at ({tip.at[0]:.6g}, {tip.at[1]:.6g}) mm.")
        gauss = [np.concatenate(parts) for parts in zip(*(found for found, _ in blocks), strict=True)]
        x, y, weight, slope, falling = gauss
        plane = _plane_of(model.material, model.regions, int(blocks[0][1][0]))
        strain = np.stack([slope[:, 0, 0], slope[:, 1, 1], slope[:, 0, 1] + slope[:, 1, 0]], axis=1)
        return cls(plane, x, y, weight, strain @ plane.reduced_stiffness(), slope, falling)

    def integral(self, one: Array, slope: Array, other: Array, other_slope: Array) -> float:
        """∫ (σ_ij u'_i,1 + σ'_ij u_i,1 - σ_ij ε'_ij δ_1j) q,j dA of two fields; twice J for one with itself."""
        tensor, other_tensor = (s[:, [[0, 2], [2, 1]]] for s in (one, other))
        flow = np.einsum("kij,ki->kj", tensor, other_slope[:, :, 0])
        flow += np.einsum("kij,ki->kj", other_tensor, slope[:, :, 0])
        flow[:, 0] -= np.einsum("kij,kij->k", tensor, other_slope)
        return float(np.einsum("k,kj,kj->", self.weight, flow, self.falling))


def _own_slope(solution: Solution, case: int, cells: IntArray, turn: Array) -> Array:
    """What the wood takes on by itself (shrinkage) in elements, as du_i/dx_j (k, 2, 2) in the tip's axes.

    It is the same all round a tip, so what is left of the slopes is an elastic field of its own.
    """
    if solution.initial is None:
        return np.zeros((len(cells), 2, 2))
    x, y, xy = solution.initial[case][cells].T
    tensor = np.stack([x, xy / 2.0, xy / 2.0, y], axis=1).reshape(-1, 2, 2)
    return np.asarray(turn @ tensor @ turn.T)


def _gauss(element: Element, local: Array, moved: Array, radius: float) -> tuple[Array, Array, Array, Array, Array]:
    """x, y, weight (k,), slope (k, 2, 2) and dq/dx (k, 2) at the Gauss points of elements (e, a, 2)."""
    points, weights = element.rule
    values, gradients = element.shape(points), element.gradients(points)
    matrix = np.einsum("eai,qak->eqik", local, gradients)
    size = np.linalg.det(matrix)
    by_place = np.einsum("qak,eqki->eqai", gradients, np.linalg.inv(matrix))
    q = np.clip((radius - np.linalg.norm(local, axis=2)) / ((1.0 - INNER) * radius), 0.0, 1.0)
    at = np.einsum("qa,eai->eqi", values, local).reshape(-1, 2)
    slope = np.einsum("eqaj,eai->eqij", by_place, moved).reshape(-1, 2, 2)
    falling = np.einsum("eqai,ea->eqi", by_place, q).reshape(-1, 2)
    return at[:, 0], at[:, 1], (size * weights).reshape(-1), slope, falling


def _plane_of(
    material: OrthotropicPlane | Mapping[str, OrthotropicPlane], regions: Mapping[str, IntArray], cell: int
) -> OrthotropicPlane:
    if not isinstance(material, Mapping):
        return material
    return next(plane for name, plane in material.items() if (regions[name] == cell).any())


# ---- crack closure


def closure(solution: Solution, tip: Tip, behind: tuple[IntArray, IntArray], case: int = 0) -> tuple[float, float]:
    """G_I and G_II (N/mm) by virtual crack closure: forces ahead of the tip times the movement of the faces behind it.

    G = (F_tip Δu(-a) + F_middle Δu(-a/2)) / (2 a t), a the length of the element sides on both sides of the tip.

    Parameters
    ----------
    solution : Solution
        Of six-node triangles, a side of the same length on either side of the tip.
    tip : Tip
    behind : ((2,) array, (2,) array)
        The corner one side behind the tip and the middle node of that side, on the left and on the right face.
    case : int
        Number of the load case.

    References
    ----------
    R. Krueger, Virtual crack closure technique: history, approach and applications, Appl. Mech. Rev. 57 (2004)
    109-143, for elements with middle nodes (from memory).
    """
    displacement = solution.displacement if solution.displacement.ndim == 2 else solution.displacement[case]
    c, s = tip.direction
    turn = np.array([[c, s], [-s, c]])
    length = float(np.linalg.norm(solution.model.mesh.points[behind[1][0]] - tip.at))
    force, thickness = _force_ahead(solution, displacement, case, tip, length, turn)
    left, right = behind
    work = -(force * ((displacement[left] - displacement[right]) @ turn.T)).sum(axis=0)
    sliding, opening = work / (2.0 * length * thickness)
    return float(opening), float(sliding)


def _force_ahead(
    solution: Solution, displacement: Array, case: int, tip: Tip, length: float, turn: Array
) -> tuple[Array, float]:
    """Forces (2, 2) N on the wood left of the line ahead, at the tip and at the next middle node; and thickness, mm."""
    model = solution.model
    points, cells = model.mesh.points, model.cells
    ahead = [_node_at(points, np.add(tip.at, np.multiply(d * length, tip.direction))) for d in (0.0, 0.5)]
    near = np.flatnonzero(np.isin(cells, ahead).any(axis=1))
    left = near[((points[cells[near, :3]].mean(axis=1) - tip.at) @ turn.T)[:, 1] > 0.0]
    own = cells[left]
    thickness = model.cell_thickness[left]
    stiffness = element_stiffness(points, own, model.cell_stiffness[left], thickness)
    moved = displacement[own]
    if solution.initial is not None:  # without what the wood takes on by itself: an affine movement of each element
        x, y, xy = solution.initial[case][left].T
        free = np.stack([x, xy / 2.0, xy / 2.0, y], axis=1).reshape(-1, 2, 2)
        moved = moved - np.einsum("eij,eaj->eai", free, points[own] - np.array(tip.at))
    forces = np.einsum("eij,ej->ei", stiffness, moved.reshape(len(own), -1)).reshape(len(own), -1, 2)
    found = np.array([forces[own == node].sum(axis=0) for node in ahead])
    return found @ turn.T, float(thickness.mean())


def _node_at(points: Array, place: Array) -> int:
    return int(np.argmin(np.linalg.norm(points - place, axis=1)))
