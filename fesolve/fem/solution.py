"""What a solve gives: displacement, stress at the stress points, reactions, energy, and sampling anywhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from .elements import Element
from .recovery import gauss_strain, nodal_mean
from .sample import Sampler

if TYPE_CHECKING:
    from .constraints import Hold
    from .contact import Contact
    from .model import PlaneModel

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


ROUNDING = 1e-10  # of the stress that holding an initial strain back altogether would make


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
    stress_blocks : mapping of str to (e, a) array
        Stress points of each element, by kind as the mesh's cells.
    energy : float or (c,) array
        Strain energy, N mm.
    equilibrium : float
        Greatest imbalance of loads and reactions over all cases, relative to the loads.
    pins_held : tuple of tuple of Hold
        The half of each pin's hole that was tied, in each case.
    contacts : tuple of tuple of Contact
        What the one-way supports do, case by case, in the order of `model.contacts`.
    loose : tuple of (str or None)
        What nothing stops and no load drives in each case, in words.
    states : tuple of (r,) arrays
        State of all contact directions in each case, as `fesolve.fem.complementarity` counts them.
    initial : (c, e, 3) array, optional
        Initial strain ε_x, ε_y, γ_xy in each case and element, where there is any.
    """

    model: PlaneModel
    displacement: Array
    stress_xy: Array
    stress_grain: Array
    stress_point: IntArray
    stress_region: IntArray
    stress_blocks: Mapping[str, IntArray]
    case_reactions: tuple[tuple[Reaction, ...], ...]
    energy: Array
    equilibrium: float
    pins_held: tuple[tuple[Hold, ...], ...] = ()
    contacts: tuple[tuple[Contact, ...], ...] = ()
    loose: tuple[str | None, ...] = ()
    states: tuple[NDArray[np.int8], ...] = ()
    initial: Array | None = None

    @classmethod
    def of(
        cls,
        model: PlaneModel,
        displacement: Array,
        reactions: tuple[tuple[Reaction, ...], ...],
        energy: Array,
        imbalance: float,
        several: bool,
        initial: Array | None = None,
    ) -> Solution:
        """Recover stresses of displacements (c, n, 2) and put everything together; `initial` strain (c, e, 3)."""
        point, region, numbers = stress_points(model)
        values = [
            node_stress(model, element, cells, place, displacement, initial) for element, cells, place in model.blocks
        ]
        mean = nodal_mean([v.reshape(*v.shape[:2], -1) for v in values], numbers, len(point))
        stress_xy = _without_rounding(model, np.moveaxis(mean.reshape(len(point), -1, 3), 1, 0), initial)
        stress_grain = _in_grain(stress_xy, _point_grain(model, numbers, len(point)))
        if not several:
            displacement, stress_xy, stress_grain = displacement[0], stress_xy[0], stress_grain[0]
            energy = energy[0]
        blocks = dict(zip(model.mesh.cells, numbers, strict=True))
        return cls(
            model, displacement, stress_xy, stress_grain, point, region, blocks, reactions, energy, imbalance,
            initial=initial,
        )  # fmt: skip

    @property
    def reactions(self) -> dict[str, Array]:
        """Reaction force (2,) N of each support; with several cases (c, 2)."""
        several = self.displacement.ndim == 3
        names = [reaction.name for reaction in self.case_reactions[0]]
        stacked = {name: np.stack([rows[i].resultant for rows in self.case_reactions]) for i, name in enumerate(names)}
        return stacked if several else {name: rows[0] for name, rows in stacked.items()}

    def contact(self, name: str, case: int = 0) -> Contact:
        """How the one-way support of that name touches in a case; raises InputError naming those there are."""
        for found in self.contacts[case] if self.contacts else ():
            if found.name == name:
                return found
        names = ", ".join(contact.name for contact in self.model.contacts) or "none"
        raise InputError(f'No one-way support is named "{name}". One-way supports: {names}.')

    @cached_property
    def sampler(self) -> Sampler:
        """Interpolation at any point of the part; kept with the model for all solutions on its mesh."""
        mesh = self.model.mesh
        return self.model.keep("sampler", (mesh,), lambda: Sampler(mesh.points, mesh.cells))

    @property
    def stress_cells(self) -> IntArray:
        """Stress points (e, a) of each element of a mesh that has one kind only."""
        (cells,) = self.stress_blocks.values()
        return cells

    def stress_at(self, points: Array, case: int = 0) -> Array:
        """Stress σ_x, σ_y, τ_xy (k, 3) MPa at points (k, 2); not-a-number outside the wood."""
        stress = self.stress_xy[case] if self.stress_xy.ndim == 3 else self.stress_xy
        return self.sampler.interpolate(stress, points, self.stress_blocks)


def _without_rounding(model: PlaneModel, stress: Array, initial: Array | None) -> Array:
    """Stress (c, m, 3) with 0 in the cases in which nothing holds the initial strain back and all is rounding."""
    if initial is None:
        return stress
    held = np.abs(np.einsum("est,cet->ces", model.cell_stiffness, initial)).max(axis=(1, 2))
    nothing = np.abs(stress).max(axis=(1, 2), initial=0.0) <= ROUNDING * held
    return np.where(nothing[:, None, None], 0.0, stress)


def node_stress(
    model: PlaneModel,
    element: Element,
    cells: IntArray,
    place: slice,
    displacement: Array,
    initial: Array | None = None,
) -> Array:
    """Stress σ_x, σ_y, τ_xy of one kind of element at its own nodes, (e, a, c, 3) MPa; `initial` strain (c, E, 3)."""
    strain = gauss_strain(model.mesh.points, cells, displacement, element)
    strain = held_back(strain, initial, place)
    count, gauss, cases, _ = strain.shape
    at_gauss = np.matmul(strain.reshape(count, -1, 3), model.cell_stiffness[place].transpose(0, 2, 1))
    at_nodes = np.matmul(element.extrapolation, at_gauss.reshape(count, gauss, -1))
    return np.asarray(at_nodes.reshape(count, element.nodes, cases, 3))


def held_back(strain: Array, initial: Array | None, place: slice) -> Array:
    """Strain (e, q, c, 3) of the elements at `place` less the initial one (c, E, 3), which makes no stress."""
    return strain if initial is None else strain - initial[:, place].transpose(1, 0, 2)[:, None]


def stress_points(model: PlaneModel) -> tuple[IntArray, IntArray, list[IntArray]]:
    """Stress points: mesh point (m,), region (m,), and those of each block of cells, a list of (e, a)."""
    count = len(model.mesh.points)
    region_of = np.zeros(model.count, dtype=np.int64)
    for number, cells in enumerate(model.regions.values()):
        region_of[cells] = number
    if region_of.max(initial=0) == 0:
        return np.arange(count), np.zeros(count, dtype=np.int64), [cells for _, cells, _ in model.blocks]
    keys = [(region_of[place, None] * count + cells).reshape(-1) for _, cells, place in model.blocks]
    unique, inverse = np.unique(np.concatenate(keys), return_inverse=True)
    ends = np.cumsum([len(key) for key in keys])[:-1]
    numbers = [
        part.reshape(cells.shape)
        for part, (_, cells, _) in zip(np.split(inverse.reshape(-1), ends), model.blocks, strict=True)
    ]
    return unique % count, unique // count, numbers


def _point_grain(model: PlaneModel, numbers: list[IntArray], count: int) -> Array:
    """Grain angle at the stress points, deg: that of an element it belongs to."""
    grain = np.zeros(count)
    every = model.cell_grain
    for cells, (_, _, place) in zip(numbers, model.blocks, strict=True):
        grain[cells] = every[place, None]
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
