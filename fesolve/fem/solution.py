"""What a solve gives: displacement, stress at the stress points, reactions, energy, and sampling anywhere."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .recovery import extrapolation, gauss_strain, nodal_mean
from .sample import Sampler

if TYPE_CHECKING:
    from .model import PlaneModel

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True)
class Reaction:
    """What one support does to the part: forces (k, 2) N at points (k, 2) mm."""

    name: str
    points: Array
    forces: Array

    @property
    def resultant(self) -> Array:
        """Sum of the forces, N, shape (2,)."""
        return np.asarray(self.forces.sum(axis=0))

    def moment(self, about: Array) -> float:
        """Moment about a point, N mm, counter-clockwise positive."""
        arms = self.points - about
        return float((arms[:, 0] * self.forces[:, 1] - arms[:, 1] * self.forces[:, 0]).sum())


@dataclass(frozen=True)
class Solution:
    """The solved part. Arrays carry a leading case axis (c) if cases were asked for.

    Attributes
    ----------
    displacement : (n, 2) or (c, n, 2) array
        mm.
    stress_xy : (m, 3) or (c, m, 3) array
        σ_x, σ_y, τ_xy at the stress points, MPa.
    stress_grain : (m, 3) or (c, m, 3) array
        σ_0, σ_90, τ in grain axes, MPa.
    stress_point : (m,) array
        The mesh point of each stress point: mesh points, repeated once a region at interfaces.
    stress_region : (m,) array
        Number of the region in the order of `mesh.regions`; 0 in a mesh without regions.
    stress_cells : (e, 6) array
        Stress points of each element.
    energy : float or (c,) array
        Strain energy, N mm.
    equilibrium : float
        Greatest imbalance of loads and reactions over all cases, relative to the loads.
    """

    model: PlaneModel
    displacement: Array
    stress_xy: Array
    stress_grain: Array
    stress_point: IntArray
    stress_region: IntArray
    stress_cells: IntArray
    case_reactions: tuple[tuple[Reaction, ...], ...]
    energy: Array
    equilibrium: float

    @classmethod
    def of(
        cls,
        model: PlaneModel,
        displacement: Array,
        reactions: tuple[tuple[Reaction, ...], ...],
        energy: Array,
        imbalance: float,
        several: bool,
    ) -> Solution:
        """Recover stresses of displacements (c, n, 2) and put everything together."""
        point, region, cells = stress_points(model)
        strain = np.einsum("aq,eqcs->eacs", extrapolation(), gauss_strain(model.mesh.points, model.cells, displacement))
        stress = np.einsum("est,eact->eacs", model.cell_stiffness, strain, optimize=True)
        mean = nodal_mean(stress.reshape(len(stress), 6, -1), cells, len(point))
        stress_xy = np.moveaxis(mean.reshape(len(point), -1, 3), 1, 0)
        stress_grain = _in_grain(stress_xy, _point_grain(model, cells, len(point)))
        if not several:
            displacement, stress_xy, stress_grain = displacement[0], stress_xy[0], stress_grain[0]
            energy = energy[0]
        return cls(model, displacement, stress_xy, stress_grain, point, region, cells, reactions, energy, imbalance)

    @property
    def reactions(self) -> dict[str, Array]:
        """Reaction force (2,) N of each support; with several cases (c, 2)."""
        several = self.displacement.ndim == 3
        names = [reaction.name for reaction in self.case_reactions[0]]
        stacked = {name: np.stack([rows[i].resultant for rows in self.case_reactions]) for i, name in enumerate(names)}
        return stacked if several else {name: rows[0] for name, rows in stacked.items()}

    @cached_property
    def sampler(self) -> Sampler:
        """Interpolation at any point of the part."""
        return Sampler(self.model.mesh.points, self.model.cells)

    def stress_at(self, points: Array, case: int = 0) -> Array:
        """Stress σ_x, σ_y, τ_xy (k, 3) MPa at points (k, 2); not-a-number outside the wood."""
        stress = self.stress_xy[case] if self.stress_xy.ndim == 3 else self.stress_xy
        return self.sampler.interpolate(stress, points, self.stress_cells)


def stress_points(model: PlaneModel) -> tuple[IntArray, IntArray, IntArray]:
    """Stress points: mesh point (m,), region (m,), and the elements' stress points (e, 6)."""
    cells, count = model.cells, len(model.mesh.points)
    region_of = np.zeros(len(cells), dtype=np.int64)
    for number, blocks in enumerate(model.mesh.regions.values()):
        region_of[blocks["triangle6"]] = number
    if region_of.max(initial=0) == 0:
        return np.arange(count), np.zeros(count, dtype=np.int64), cells
    keys, inverse = np.unique(region_of[:, None] * count + cells, return_inverse=True)
    return keys % count, keys // count, inverse.reshape(cells.shape)


def _point_grain(model: PlaneModel, cells: IntArray, count: int) -> Array:
    """Grain angle at the stress points, deg: that of an element it belongs to."""
    grain = np.zeros(count)
    grain[cells] = model.cell_grain[:, None]
    return grain


def _in_grain(stress_xy: Array, grain: Array) -> Array:
    """Stress (…, m, 3) turned into grain axes at angles (m,) deg."""
    c, s = np.cos(np.radians(grain)), np.sin(np.radians(grain))
    x, y, xy = stress_xy[..., 0], stress_xy[..., 1], stress_xy[..., 2]
    return np.stack(
        [
            c * c * x + s * s * y + 2 * s * c * xy,
            s * s * x + c * c * y - 2 * s * c * xy,
            (c * c - s * s) * xy - s * c * (x - y),
        ],
        axis=-1,
    )
