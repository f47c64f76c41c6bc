"""The consistent mass matrix of a part, and how much of its mass moves with a strike.

M_ab,ij = δ_ij m_ab,  m_ab = ∫ ρ t N_a N_b dA: one number for a node pair, the same along x and y and in any frame, so
it is kept by node pairs as the stiffness is. It is integrated exactly: of degree 6 on curved triangles, with Gauss
points enough for the Jacobian of curved quadrilaterals.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from .elements import Element, Rule, square_rule, triangle_rule

if TYPE_CHECKING:
    from scipy.sparse import csr_array

    from .model import PlaneModel

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

Density = float | Mapping[str, float] | Array
CHUNK = 8000  # elements at a time


def mass_rule(element: Element) -> Rule:
    """Quadrature that integrates N_a N_b times the Jacobian exactly on this element, curved or not."""
    if element.corners == 3:
        return triangle_rule(2 if element.order == 1 else 6)
    return square_rule(2 * element.order)


def element_mass(points: Array, cells: IntArray, weight: Array, element: Element) -> Array:
    """Mass m_ab = ρ t ∫ N_a N_b dA of the node pairs of elements.

    Parameters
    ----------
    points : (n, 2) array
        mm.
    cells : (e, a) array
        Node numbers.
    weight : (e,) array
        ρ t, tonne/mm^2.
    element : Element

    Returns
    -------
    (e, p) array
        tonne; pairs a >= b in the element's order of pairs.

    References
    ----------
    O. C. Zienkiewicz, R. L. Taylor, The Finite Element Method, vol. 1, consistent mass (from memory).

    Examples
    --------
    A three-node triangle of 6 tonnes: m_aa = 1, m_ab = 1/2 (its sixth and twelfth, a textbook matrix):

    >>> from fesolve.fem.elements import TRIANGLE3
    >>> corner = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    >>> element_mass(corner, np.array([[0, 1, 2]]), np.array([12.0]), TRIANGLE3).round(12).tolist()
    [[1.0, 0.5, 1.0, 0.5, 0.5, 1.0]]
    """
    places, weights = mass_rule(element)
    values, slopes = element.shape(places), element.gradients(places)
    one, two = element.pairs
    products = weights[:, None] * values[:, one] * values[:, two]
    result = np.empty((len(cells), len(one)))
    for first in range(0, len(cells), CHUNK):
        part = slice(first, first + CHUNK)
        jacobian = np.einsum("qak,eai->eqki", slopes, points[cells[part]], optimize=True)
        determinant = jacobian[..., 0, 0] * jacobian[..., 1, 1] - jacobian[..., 0, 1] * jacobian[..., 1, 0]
        result[part] = weight[part, None] * (determinant @ products)
    return result


@dataclass(frozen=True)
class MassMatrix:
    """The mass of a part by node pairs.

    Attributes
    ----------
    nodes : (n, n) sparse array
        m_ab, tonne: symmetric, whole; it acts on x and y alike.
    """

    nodes: csr_array[Any]

    @classmethod
    def of(cls, model: PlaneModel, density: Density) -> MassMatrix:
        """Assemble the mass of a model.

        Parameters
        ----------
        model : PlaneModel
        density : float, mapping of region name to float, or (e,) array
            tonne/mm^3.

        Raises
        ------
        InputError
            For a density that is not above 0, or a region without one.
        """
        from scipy import sparse

        each = model._by_cell(density, "density")
        if not (each > 0.0).all():
            raise InputError(f"The density is {float(each.min()):g} tonne/mm^3; give a value above 0.")
        weight, points = each * model.cell_thickness, model.mesh.points
        rows, columns, values = [], [], []
        for element, cells, place in model.blocks:
            one, two = element.pairs
            own = element_mass(points, cells, weight[place], element)
            own[:, one == two] *= 0.5  # the diagonal is met twice below
            rows.append(cells[:, one].reshape(-1))
            columns.append(cells[:, two].reshape(-1))
            values.append(own.reshape(-1))
        pairs = np.concatenate(rows), np.concatenate(columns)
        half = sparse.coo_array((np.concatenate(values), pairs), shape=(len(points), len(points))).tocsr()
        whole = (half + half.T).tocsr()
        whole.sort_indices()
        return cls(whole)

    @property
    def total(self) -> float:
        """Mass of the part, tonne."""
        return float(self.nodes.sum())

    def product(self, vectors: Array) -> Array:
        """M v of nodal vectors (…, n, 2), e.g. inertia forces (N) of accelerations (mm/s^2)."""
        columns = np.moveaxis(vectors, -2, 0)
        flat = self.nodes @ columns.reshape(len(columns), -1)
        return np.moveaxis(np.asarray(flat).reshape(columns.shape), 0, -2)

    def pairs(self, one: IntArray, two: IntArray) -> Array:
        """m_ab of the node pairs (one, two), 0 where they share no element; the shape of `one`."""
        count = self.nodes.shape[0]
        rows = np.repeat(np.arange(count), np.diff(self.nodes.indptr))
        keys = rows * count + self.nodes.indices  # ascending, as rows and the indices within them are
        wanted = one * count + two
        place = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
        return np.asarray(np.where(keys[place] == wanted, self.nodes.data[place], 0.0))


def effective_mass(mass: MassMatrix, displacement: Array, stroke: float) -> float:
    """Share of the part's mass that moves with a strike, M = ∫ ρ t |u/u_s|^2 dA.

    u is the static deflected shape under a force at the strike, u_s how far the struck place gives way along the
    force: a mass M there has the kinetic energy of the whole part as it moves in that shape.

    Parameters
    ----------
    mass : MassMatrix
    displacement : (n, 2) array
        Any multiple of the static shape, mm.
    stroke : float
        The mean displacement of the struck place along the force in that shape, mm.

    Returns
    -------
    float
        tonne.

    Raises
    ------
    InputError
        For a stroke that is not above 0: the struck place does not give way.

    References
    ----------
    Rayleigh's method: 33/140 of a cantilever struck at its tip, 17/35 of a simple beam struck at midspan (from
    memory; tests derive both).
    """
    if not stroke > 0.0:
        raise InputError(f"Under the strike its place moves by {stroke:g} mm; it must give way, above 0.")
    return float(np.einsum("ni,ni->", displacement, mass.product(displacement))) / stroke**2
