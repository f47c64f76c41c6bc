"""How wrong a solution is: recovered stress, the error it shows in each element, and the error of a wanted quantity.

Superconvergent patch recovery: around every inner corner node a polynomial of the element's order is fitted to the
stresses at the Gauss points of the elements that meet there, within one region; its values make a stress σ* that is
more accurate than the solution's own σ_h, and their difference is the error. For a linear quantity J (a mean over a
line, say) the same is done for the field z that answers to J: the error of J is the work of one error on the other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .boundary import boundary_sides
from .elements import Element, triangle_rule
from .model import PlaneModel
from .recovery import element_strain, gauss_strain, nodal_mean
from .solution import Solution, held_back, node_stress, stress_points
from .stiffness import jacobian

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


def _basis(element: Element, local: Array) -> Array:
    """Polynomial terms (…, b) at local coordinates (…, 2): as complete as the element's displacement."""
    x, y = local[..., 0], local[..., 1]
    one = np.ones_like(x)
    if element.order == 1:
        terms = [one, x, y] if element.corners == 3 else [one, x, y, x * y]
    else:
        terms = [one, x, y, x * x, x * y, y * y]
        terms += [] if element.corners == 3 else [x * x * y, x * y * y]
    return np.stack(terms, axis=-1)


def recovered_stress(model: PlaneModel, displacement: Array, initial: Array | None = None) -> Array:
    """Stress σ* at the stress points by superconvergent patch recovery.

    Parameters
    ----------
    model : PlaneModel
    displacement : (c, n, 2) array
    initial : (c, e, 3) array, optional
        Initial strain in each element.

    Returns
    -------
    (m, c, 3) array
        σ_x, σ_y, τ_xy, MPa.

    References
    ----------
    O. C. Zienkiewicz, J. Z. Zhu, The superconvergent patch recovery and a posteriori error estimates, Int. J. Numer.
    Meth. Eng. 33 (1992) 1331-1364 and 1365-1382 (from memory).
    """
    point, _, numbers = stress_points(model)
    count = len(point)
    values = [
        node_stress(model, element, cells, place, displacement, initial) for element, cells, place in model.blocks
    ]
    fallback = nodal_mean([v.reshape(*v.shape[:2], -1) for v in values], numbers, count)
    total, weight = np.zeros_like(fallback), np.zeros(count)
    for (element, cells, place), own in zip(model.blocks, numbers, strict=True):
        patches = _fit(model, element, cells, place, own, displacement, count, initial)
        _spread(model, element, cells, own, patches, total, weight)
    known = weight > 0
    fallback[known] = total[known] / weight[known, None]
    return fallback.reshape(count, len(displacement), 3)


@dataclass(frozen=True)
class _Patches:
    """Fitted polynomials by stress point: centre, size, coefficients (m, b, s), and which were fitted."""

    center: Array
    size: Array
    coefficients: Array
    good: NDArray[np.bool_]


def _fit(
    model: PlaneModel,
    element: Element,
    cells: IntArray,
    place: slice,
    own: IntArray,
    displacement: Array,
    count: int,
    initial: Array | None,
) -> _Patches:
    points = model.mesh.points
    corner = own[:, : element.corners]
    center = np.zeros((count, 2))
    center[own] = points[cells]
    extent = np.ptp(points[cells[:, : element.corners]], axis=1).max(axis=1)
    size = np.zeros(count)
    np.maximum.at(size, corner, extent[:, None])
    size[size == 0.0] = 1.0
    gauss = np.einsum("qa,eai->eqi", element.shape(element.stress_points), points[cells], optimize=True)
    strain = held_back(gauss_strain(points, cells, displacement, element), initial, place)
    stress = np.einsum("est,eqct->eqcs", model.cell_stiffness[place], strain, optimize=True)
    stress = stress.reshape(*stress.shape[:2], -1)
    terms = _basis(element, np.zeros((1, 2))).shape[-1]
    matrix, right = np.zeros((count, terms, terms)), np.zeros((count, terms, stress.shape[2]))
    for k in range(element.corners):
        node = corner[:, k]
        basis = _basis(element, (gauss - center[node, None]) / size[node, None, None])
        _add(matrix, node, np.einsum("eqb,eqd->ebd", basis, basis, optimize=True))
        _add(right, node, np.einsum("eqb,eqs->ebs", basis, stress, optimize=True))
    samples = np.bincount(corner.reshape(-1), minlength=count) * len(element.stress_points)
    good = samples >= terms + 1
    good[_border(model, element, own)] = False
    matrix[~good] = np.eye(terms)
    matrix += 1e-10 * np.eye(terms) * np.trace(matrix, axis1=1, axis2=2)[:, None, None]
    return _Patches(center, size, np.asarray(np.linalg.solve(matrix, right), dtype=np.float64), good)


def _add(total: Array, where: IntArray, values: Array) -> None:
    """total[where] += values, where numbers repeat; (n, …) and (e, …)."""
    flat, columns = total.reshape(len(total), -1), values.reshape(len(values), -1)
    for s in range(flat.shape[1]):
        flat[:, s] += np.bincount(where, columns[:, s], minlength=len(total))


def _border(model: PlaneModel, element: Element, own: IntArray) -> IntArray:
    """Stress points on the border of their region: sides with one element only, in the stress points' numbering."""
    return np.unique(boundary_sides({element.name: own}))


def _spread(
    model: PlaneModel,
    element: Element,
    cells: IntArray,
    own: IntArray,
    patches: _Patches,
    total: Array,
    weight: Array,
) -> None:
    """Add to each node the values of the polynomials of its elements' corners."""
    places = model.mesh.points[cells]
    for k in range(element.corners):
        node = own[:, k]
        use = np.flatnonzero(patches.good[node])
        node = node[use]
        basis = _basis(element, (places[use] - patches.center[node, None]) / patches.size[node, None, None])
        values = np.matmul(basis, patches.coefficients[node])
        flat = own[use].reshape(-1)
        for s in range(total.shape[1]):
            total[:, s] += np.bincount(flat, values[..., s].reshape(-1), minlength=len(total))
        weight += np.bincount(flat, minlength=len(total))


def _energy_rule(element: Element) -> tuple[Array, Array]:
    return triangle_rule(4) if element.corners == 3 else element.rule


@dataclass(frozen=True)
class ErrorField:
    """Differences σ* - σ_h at quadrature points, ready to be paired.

    Attributes
    ----------
    differences : list of (e, q, c, 3) arrays
        MPa, by kind of element.
    compliance : list of (e, 3, 3) arrays
        1/MPa.
    volume : list of (e, q) arrays
        What each point stands for, mm^3.
    energy : (c,) array
        ∫ σ_h S σ_h dV, N mm: twice the strain energy.
    """

    differences: list[Array]
    compliance: list[Array]
    volume: list[Array]
    energy: Array

    def work(self, other: ErrorField) -> Array:
        """Work of one error on the other in each element, N mm: ∫ e S e' dV; shape (E, c, c')."""
        parts = []
        for one, two, S, volume in zip(self.differences, other.differences, self.compliance, self.volume, strict=True):
            bent = np.einsum("est,eqdt->eqds", S, two, optimize=True) * volume[..., None, None]
            parts.append(np.einsum("eqcs,eqds->ecd", one, bent, optimize=True))
        return np.concatenate(parts)

    def squares(self) -> Array:
        """Squared energy norm of the error in each element, N mm; shape (E, c)."""
        parts = []
        for one, S, volume in zip(self.differences, self.compliance, self.volume, strict=True):
            bent = np.einsum("est,eqct->eqcs", S, one, optimize=True)
            parts.append(np.einsum("eqcs,eqcs,eq->ec", one, bent, volume, optimize=True))
        return np.concatenate(parts)

    def relative(self) -> Array:
        """Estimated error in the energy norm over the norm of the whole solution, shape (c,)."""
        squares = self.squares().sum(axis=0)
        whole = self.energy + squares
        return np.asarray(np.sqrt(squares / np.where(whole > 0, whole, 1.0)))


def error_field(
    model: PlaneModel, displacement: Array, recovered: Array | None = None, initial: Array | None = None
) -> ErrorField:
    """The error of displacements (c, n, 2), from recovered stress (m, c, 3) if known; `initial` strain (c, e, 3)."""
    if recovered is None:
        recovered = recovered_stress(model, displacement, initial)
    _, _, numbers = stress_points(model)
    differences: list[Array] = []
    compliance: list[Array] = []
    volumes: list[Array] = []
    energy = np.zeros(len(displacement))
    for (element, cells, place), own in zip(model.blocks, numbers, strict=True):
        points, weights = _energy_rule(element)
        strain = held_back(element_strain(model.mesh.points, cells, displacement, points, element), initial, place)
        C = model.cell_stiffness[place]
        stress = np.einsum("est,eqct->eqcs", C, strain, optimize=True)
        better = np.einsum("qa,eacs->eqcs", element.shape(points), recovered[own], optimize=True)
        volume = _volumes(model, element, cells, place, points, weights)
        energy += np.einsum("eqcs,eqcs,eq->c", stress, strain, volume, optimize=True)
        differences.append(better - stress)
        compliance.append(np.asarray(np.linalg.inv(C), dtype=np.float64))
        volumes.append(volume)
    return ErrorField(differences, compliance, volumes, energy)


def _volumes(
    model: PlaneModel, element: Element, cells: IntArray, place: slice, points: Array, weights: Array
) -> Array:
    corner = model.mesh.points[cells]
    determinant = np.stack([jacobian(corner, slope)[1] for slope in element.gradients(points)], axis=1)
    return np.asarray(determinant * weights * model.cell_thickness[place, None])


def stress_functional(model: PlaneModel, element_of: IntArray, reference: Array, weights: Array) -> Array:
    """Nodal forces whose work is a weighted sum of stresses: J(u) = Σ_s w_s · σ(x_s) = f · u.

    Parameters
    ----------
    model : PlaneModel
    element_of : (k,) array
        Element of each sample, counted over all kinds.
    reference : (k, 2) array
        Its reference coordinates.
    weights : (k, 3) array
        On σ_x, σ_y, τ_xy.

    Returns
    -------
    (n, 2) array
    """
    force = np.zeros((len(model.mesh.points), 2))
    for element, cells, place in model.blocks:
        mine = np.flatnonzero((element_of >= place.start) & (element_of < place.stop))
        number = element_of[mine] - place.start
        slopes = element.gradients(reference[mine])
        corner = model.mesh.points[cells[number]]
        matrix = np.einsum("kai,kap->kip", corner, slopes, optimize=True)
        gradient = np.matmul(slopes, np.linalg.inv(matrix))  # dN_a/dx_i, (k, a, i)
        v = np.einsum("ks,kst->kt", weights[mine], model.cell_stiffness[place][number], optimize=True)
        share = np.empty_like(gradient)
        share[..., 0] = v[:, None, 0] * gradient[..., 0] + v[:, None, 2] * gradient[..., 1]
        share[..., 1] = v[:, None, 1] * gradient[..., 1] + v[:, None, 2] * gradient[..., 0]
        flat = cells[number].reshape(-1)
        for i in range(2):
            force[:, i] += np.bincount(flat, share[..., i].reshape(-1), minlength=len(force))
    return force


def goal_error(solution: Solution, case: int, functionals: Array) -> Array:
    """Estimated error of linear quantities in one case, element by element.

    Parameters
    ----------
    solution : Solution
    case : int
    functionals : (g, n, 2) array
        Nodal forces of each quantity, from `stress_functional`.

    Returns
    -------
    (E, g) array
        Signed shares; their sum over the elements estimates J(u) - J(u_h).

    References
    ----------
    R. Becker, R. Rannacher, An optimal control approach to a posteriori error estimation in finite element methods,
    Acta Numerica 10 (2001) 1-102 (from memory); recovered errors in place of residuals.
    """
    from .solve import answer_to

    model = solution.model
    displacement = solution.displacement if solution.displacement.ndim == 3 else solution.displacement[None]
    initial = None if solution.initial is None else solution.initial[case : case + 1]
    primal = error_field(model, displacement[case : case + 1], initial=initial)
    dual = error_field(model, answer_to(solution, case, functionals))
    return np.asarray(primal.work(dual)[:, 0, :])


def size_factors(shares: Array, wanted: float, order: int = 2, least: float = 0.25) -> Array:
    """What each element should shrink to so that the shares sum to `wanted` with the fewest elements.

    The share of an area falls as h^(2 order) for a quantity of interest; least elements, Σ r^-2, under the condition
    Σ share r^(2 order) = wanted give r ∝ share^(-1/(2 order + 2)).

    Parameters
    ----------
    shares : (e,) array
        Sizes of the elements' shares of an error.
    wanted : float
        Their sum after refinement.
    order : int
        Of the displacements.
    least : float
        No element shrinks to less than this share of its size in one round: an estimate carries no further.

    Returns
    -------
    (e,) array
        Wanted over present size, `least` to 1.

    Examples
    --------
    One share of 16 and no other, to become 1: quadratic elements there are halved.

    >>> size_factors(np.array([16.0, 0.0]), 1.0)
    array([0.5, 1. ])
    """
    power = 2.0 * order
    shares = np.maximum(shares, 1e-12 * max(float(shares.max(initial=0.0)), 1e-300))
    rank = shares ** (-1.0 / (power + 2.0))
    low, high = least / float(rank.max()), 1.0 / float(rank.min())
    for _ in range(60):  # bisection: the sum grows with the scale
        scale = float(np.sqrt(low * high))
        r = np.clip(scale * rank, least, 1.0)
        low, high = (scale, high) if float((shares * r**power).sum()) <= wanted else (low, scale)
    return np.asarray(np.clip(low * rank, least, 1.0).round(12))
