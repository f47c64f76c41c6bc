"""Loads as consistent nodal forces, each remembered with the points it acts on.

Work-equivalent nodal forces f_a = ∫ N_a t ds (Zienkiewicz and Taylor, vol. 1).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..mesh.mesh import Mesh
from .boundary import SideQuadrature
from .elements import ELEMENTS

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True)
class AppliedLoad:
    """One load: where it acts and what it does to the nodes.

    Attributes
    ----------
    name : str
    points : (q, 2) array
        Points it acts on, mm.
    forces : (q, 2) array
        Force at each, N.
    nodal : (n, 2) array
        Consistent nodal forces, N.
    """

    name: str
    points: Array
    forces: Array
    nodal: Array

    @property
    def resultant(self) -> Array:
        """Sum of the forces, N; shape (2,)."""
        return np.asarray(self.forces.sum(axis=0))

    @property
    def center(self) -> Array:
        """Mean of the points, weighted by the size of the force there; shape (2,)."""
        weight = np.linalg.norm(self.forces, axis=1)
        if weight.sum() == 0.0:
            return np.asarray(self.points.mean(axis=0))
        return np.asarray((weight[:, None] * self.points).sum(axis=0) / weight.sum())


def side_load(name: str, mesh: Mesh, quadrature: SideQuadrature, force: Array) -> AppliedLoad:
    """Load from forces (k, 3, 2) in N at the quadrature points of sides."""
    nodal = np.zeros((len(mesh.points), 2))
    np.add.at(nodal, quadrature.sides, np.einsum("qa,kqi->kai", quadrature.values, force))
    return AppliedLoad(name, quadrature.points.reshape(-1, 2), force.reshape(-1, 2), nodal)


def even_force(quadrature: SideQuadrature, thickness: Array, total: Array) -> Array:
    """Spread a total force (2,) N evenly over the loaded face; returns (k, 3, 2)."""
    area = quadrature.lengths * thickness[:, None]
    return np.asarray(area[..., None] / area.sum() * total)


def bearing_force(quadrature: SideQuadrature, thickness: Array, total: Array) -> Array:
    """Radial pressure p = (2 F/(π r t)) cos θ on the half of a hole that a force pushes on.

    Parameters
    ----------
    quadrature : SideQuadrature
        Of the hole's sides; normals point out of the wood, to the hole's centre.
    thickness : (k,) array
        mm.
    total : (2,) array
        The force on the wood, N. The sum of what is returned equals it exactly.

    Returns
    -------
    (k, 3, 2) array
    """
    size = float(np.linalg.norm(total))
    if size == 0.0:
        return np.zeros((*quadrature.lengths.shape, 2))
    direction = total / size
    outward = -quadrature.normals
    share = np.maximum(outward @ direction, 0.0) * quadrature.lengths * thickness[:, None]
    force = share[..., None] * outward
    along = float((force.reshape(-1, 2) @ direction).sum())
    force *= size / along
    # a polygon of sides is not quite symmetric about the force: put the remainder back evenly over the pushed half
    rest = total - force.reshape(-1, 2).sum(axis=0)
    return np.asarray(force + share[..., None] / share.sum() * rest)


def body_load(name: str, mesh: Mesh, thickness: Array, density: Array) -> AppliedLoad:
    """Load from a force per volume, (2,) or (e, 2) in N/mm^3, on all elements, e.g. self-weight; thickness (e,) mm."""
    density = np.broadcast_to(density, (len(thickness), 2))
    nodal = np.zeros((len(mesh.points), 2))
    places, forces, first = [], [], 0
    for kind, cells in mesh.cells.items():
        element = ELEMENTS[kind]
        points, weights = element.rule
        corner = mesh.points[cells]
        jacobian = np.einsum("qak,eai->eqik", element.gradients(points), corner)
        mine = slice(first, first + len(cells))
        volume = np.linalg.det(jacobian) * weights * thickness[mine, None]
        force = volume[..., None] * density[mine, None]
        values = element.shape(points)
        np.add.at(nodal, cells, np.einsum("qa,eqi->eai", values, force))
        places.append(np.einsum("qa,eai->eqi", values, corner).reshape(-1, 2))
        forces.append(force.reshape(-1, 2))
        first += len(cells)
    return AppliedLoad(name, np.concatenate(places), np.concatenate(forces), nodal)


def point_load(name: str, mesh: Mesh, node: int, force: Array) -> AppliedLoad:
    """A single force (2,) N on one node."""
    nodal = np.zeros((len(mesh.points), 2))
    nodal[node] = force
    return AppliedLoad(name, mesh.points[[node]], force[None], nodal)


def combined(loads: tuple[AppliedLoad, ...], factors: dict[str, float], count: int) -> Array:
    """Nodal forces (count, 2) of a case: each load times its factor by name.

    Raises
    ------
    InputError
        For a strange name, or a factor that is not finite.
    """
    unknown = sorted(set(factors) - {load.name for load in loads})
    if unknown:
        raise InputError(f'No load is named "{unknown[0]}". Loads: {", ".join(load.name for load in loads) or "none"}.')
    strange = [name for name, factor in factors.items() if not np.isfinite(factor)]
    if strange:
        raise InputError(f'The factor of load "{strange[0]}" is {factors[strange[0]]}: not finite.')
    total = np.zeros((count, 2))
    for load in loads:
        total += factors.get(load.name, 0.0) * load.nodal
    return total
