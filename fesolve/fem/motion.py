"""The equations of motion of a held part, (K + c M) d = right, and its mass alone, ready for contact at some places."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from .mass import MassMatrix
from .partitioned import Partitioned, partitioned
from .solve import Held, _assemble, _held, _System

if TYPE_CHECKING:
    from scipy.sparse import csc_array, csr_array

    from .model import PlaneModel

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True)
class Motion:
    """Stiffness and mass of a part in the nodes' frames, numbered as the equations are.

    Vectors (N,) of the unknowns are 0 where supports hold.

    Attributes
    ----------
    model : PlaneModel
    pins_held : tuple of Hold
        What the pins hold.
    mass : MassMatrix
    system : _System
        K.
    held : (N,) bool array
        Unknowns that supports and pins hold.
    whole : (N, N) sparse array
        M.
    """

    model: PlaneModel
    pins_held: Held
    mass: MassMatrix
    system: _System
    held: BoolArray
    whole: csc_array[Any]

    @classmethod
    def of(cls, model: PlaneModel, pins_held: Held, mass: MassMatrix) -> Motion:
        """Assemble K and M."""
        system = _assemble(model)
        return cls(model, pins_held, mass, system, _held(system, pins_held), _mass_of_unknowns(system, mass))

    @cached_property
    def mass_data(self) -> Array:
        """Entries (Z,) of M on the lower triangle of the equations."""
        from scipy import sparse

        lower, half = self.system.lower, sparse.tril(self.whole, format="csc")
        half.sort_indices()
        data = np.zeros(len(lower.rows))
        data[np.searchsorted(_keys(lower.rows, lower.pointer), _keys(half.indices, half.indptr))] = half.data
        return data

    @cached_property
    def inner(self) -> csr_array[Any]:
        """M with what is held left out."""
        from scipy import sparse

        free = sparse.diags_array((~self.held).astype(float))
        inner: csr_array[Any] = (free @ self.whole @ free).tocsr()
        inner.eliminate_zeros()
        inner.indices, inner.indptr = inner.indices.astype(np.int32), inner.indptr.astype(np.int32)  # half the traffic
        return inner

    def equations(self, inertia: float, places: IntArray) -> Partitioned:
        """K + c M, factorised with some places last; c in 1/s^2."""
        lower = self.system.lower
        return partitioned(lower, lower.hold(self.system.data + inertia * self.mass_data, self.held), places)

    def impulses(self, places: IntArray) -> Partitioned:
        """M, factorised with some places last: changes of velocity under impulses."""
        lower = self.system.lower
        return partitioned(lower, lower.hold(self.mass_data, self.held), places)

    def local(self, vectors: Array) -> Array:
        """Nodal vectors (c, n, 2) in x, y as rows (c, N)."""
        return np.ascontiguousarray(np.where(self.held, 0.0, self.system.local(vectors).T))

    def world(self, rows: Array) -> Array:
        """The reverse of `local`."""
        return self.system.world(rows.T)

    def balance(self, displacement: Array, acceleration: Array, force: Array) -> tuple[Array, float, Array]:
        """Forces (n, 2) that supports which hold exert, K u + M a - f there; what is left elsewhere; and K u (n, 2).

        Parameters
        ----------
        displacement, acceleration, force : (n, 2) arrays
            At one moment; `force` is all that acts from outside, contact included.

        Returns
        -------
        reactions : (n, 2) array
        residual : float
            Greatest of |K u + M a - f| at free unknowns over the greatest of |f| and of |K u| there.
        elastic : (n, 2) array
        """
        moved, fast, local = self.system.local(np.stack([displacement, acceleration, force])).T
        elastic = self.system.lower.product(self.system.data, moved[:, None])[:, 0]
        left, free = elastic + self.whole @ fast - local, ~self.held
        scale = max(float(np.abs(v[free]).max(initial=0.0)) for v in (local, elastic)) or 1.0
        residual = float(np.abs(left[free]).max(initial=0.0)) / scale
        left[free] = 0.0
        reactions, elastic = self.world(np.stack([left, elastic]))
        return reactions, residual, elastic


def _keys(rows: Any, pointer: Any) -> IntArray:
    """A number for each entry that rises through a matrix kept by columns."""
    size = len(pointer) - 1
    return np.asarray(np.repeat(np.arange(size, dtype=np.int64), np.diff(pointer)) * size + rows)


def _mass_of_unknowns(system: _System, mass: MassMatrix) -> csc_array[Any]:
    """M (N, N) of the unknowns in the nodes' frames, in the order of the equations."""
    from scipy import sparse

    order, frames = system.numbering.order, system.frames
    whole = sparse.kron(mass.nodes[order][:, order], sparse.eye_array(2), format="csr")
    if frames.turned.any():
        count = len(order)
        turn = sparse.bsr_array(
            (frames.axes[order], np.arange(count), np.arange(count + 1)), shape=(2 * count, 2 * count)
        ).tocsr()
        whole = turn @ whole @ turn.T
        whole.eliminate_zeros()
    return whole.tocsc()
