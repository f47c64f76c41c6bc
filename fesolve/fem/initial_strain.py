"""Strains that the wood would take on by itself, such as shrinkage: where they are held back, there is stress.

σ = Q (ε - ε_0) with ε_0 one value an element: what is held back acts as the nodal forces f_a = ∫ B_a^T Q ε_0 dV
(Zienkiewicz and Taylor, The Finite Element Method, vol. 1, initial strains), and is taken off again where stress is
recovered. Quadrature is that of the stiffness of curved elements, so that a free part takes on ε_0 exactly.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from .loads import AppliedLoad
from .stiffness import volumes

if TYPE_CHECKING:
    from .model import PlaneModel

Array = NDArray[np.float64]


@dataclass(frozen=True)
class StrainLoad(AppliedLoad):
    """A strain that a factor of 1 brings, as a load whose forces are in balance with one another.

    Attributes
    ----------
    grain_strain : (e, 2) array
        Along and across the grain in each element.
    strain : (e, 3) array
        The same in x, y: ε_x, ε_y, γ_xy.
    """

    grain_strain: Array
    strain: Array


def strain_load(model: PlaneModel, name: str, grain_strain: Array) -> StrainLoad:
    """The load of a strain (e, 2) along and across the grain of each element."""
    angle = np.radians(model.cell_grain)
    c, s = np.cos(angle), np.sin(angle)
    along, across = np.broadcast_to(grain_strain, (model.count, 2)).T
    strain = np.stack([along * c * c + across * s * s, along * s * s + across * c * c, 2 * s * c * (along - across)], 1)
    stress = np.einsum("est,et->es", model.cell_stiffness, strain) * model.cell_thickness[:, None]
    nodal = np.zeros_like(model.mesh.points)
    for element, cells, place in model.blocks:
        points, weights = element.rule
        corner = model.mesh.points[cells]
        for slopes, weight in zip(element.gradients(points), weights, strict=True):
            jacobian = np.einsum("ak,eai->eik", slopes, corner)
            gradient = np.matmul(slopes, np.linalg.inv(jacobian))  # dN_a/dx_i, (e, a, i)
            x, y, xy = (np.linalg.det(jacobian) * weight * stress[place].T)[:, :, None]
            force = gradient[..., 0] * x + gradient[..., 1] * xy, gradient[..., 1] * y + gradient[..., 0] * xy
            for i in range(2):
                nodal[:, i] += np.bincount(cells.reshape(-1), force[i].reshape(-1), minlength=len(nodal))
    center = model.mesh.points.mean(axis=0)[None]
    return StrainLoad(name, center, np.zeros((1, 2)), nodal, np.array(grain_strain), strain)


def by_element(model: PlaneModel, strain: Sequence[float] | Mapping[str, Sequence[float]] | Array) -> Array:
    """A strain along and across the grain, one for all, by region or by element, as (e, 2).

    Raises
    ------
    InputError
        For another shape, a region without a value, and what is not finite.
    """
    if isinstance(strain, Mapping):
        array = np.full((model.count, 2), np.nan)
        for region, cells in model.regions.items():
            if region not in strain and len(cells):
                raise InputError(f'No initial strain is given for region "{region}".')
            array[cells] = strain.get(region, 0.0)
    else:
        given = np.asarray(strain, dtype=float)
        if given.shape not in ((2,), (model.count, 2)):
            raise InputError(f"An initial strain has shape {given.shape}; give (2,) or ({model.count}, 2) values.")
        array = np.broadcast_to(given, (model.count, 2))
    if not np.isfinite(array).all():
        raise InputError("An initial strain is not finite.")
    return array


def made_again(model: PlaneModel) -> tuple[AppliedLoad, ...]:
    """The loads of a model whose wood, thickness or grain has been changed: those of strains follow."""
    return tuple(
        strain_load(model, load.name, load.grain_strain) if isinstance(load, StrainLoad) else load
        for load in model.loads
    )


def strains_of(loads: Sequence[AppliedLoad], cases: Sequence[Mapping[str, float]]) -> Array | None:
    """Initial strain (c, e, 3) in x, y of each case; None where no case has any."""
    held = [load for load in loads if isinstance(load, StrainLoad)]
    if not any(case.get(load.name, 0.0) != 0.0 for case in cases for load in held):
        return None
    return np.stack([np.sum([case.get(load.name, 0.0) * load.strain for load in held], axis=0) for case in cases])


def without_strain(work: Array, model: PlaneModel, moved: Array, cases: Sequence[Mapping[str, float]]) -> Array:
    """Strain energy (c,) N mm, ∫ (ε - ε_0) Q (ε - ε_0) dV / 2, from u K u / 2 of displacements (c, n, 2)."""
    strain = strains_of(model.loads, cases)
    if strain is None:
        return work
    held = [load for load in model.loads if isinstance(load, StrainLoad)]
    factors = np.array([[case.get(load.name, 0.0) for load in held] for case in cases])
    taken = np.einsum("cl,lni,cni->c", factors, np.stack([load.nodal for load in held]), moved, optimize=True)
    own = 0.5 * np.einsum("ces,est,cet,e->c", strain, model.cell_stiffness, strain, volumes(model), optimize=True)
    return np.asarray(work - taken + own)
