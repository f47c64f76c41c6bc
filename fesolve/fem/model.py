"""PlaneModel: mesh, wood, thickness and grain, held and loaded; solve() gives a Solution.

Every method that adds something returns a new model. Unknowns are the displacements of the nodes in plane stress;
supports leave unknowns out, springs add stiffness, a pin ties the half of its hole that it bears on, one-way supports
push where they touch.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..mesh.mesh import Mesh
from .boundary import SideQuadrature, edge_sides, node_normals, side_owners, side_quadrature
from .constraints import Hold
from .contact import OneWay, faces, mounted, point_rest, rest, round_pin
from .elements import ELEMENTS, Element
from .initial_strain import StrainLoad, by_element, made_again, strain_load
from .loads import AppliedLoad, bearing_force, body_load, even_force, point_load, side_load
from .topology import check_mesh

if TYPE_CHECKING:
    from ..wood.orthotropic import OrthotropicPlane
    from .factor import NamedSolver
    from .solution import Solution

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

T = TypeVar("T")
AXES = {"x": np.array([1.0, 0.0]), "y": np.array([0.0, 1.0])}


def _finite(values: float | Sequence[float] | Array, what: str) -> Array:
    """The values as an array; raises InputError if one of them is not finite."""
    array = np.asarray(values, dtype=float)
    if not np.isfinite(array).all():
        shown = array if array.ndim < 2 else array[~np.isfinite(array).all(axis=1)][0]
        raise InputError(f"{what} is {shown.tolist()}: not finite.")
    return array


@dataclass(frozen=True)
class Spring:
    """An elastic support spread along sides: blocks (k, 2s, 2s) N/mm on the nodes (k, s) of sides."""

    name: str
    sides: IntArray
    blocks: Array
    hold: Hold


@dataclass(frozen=True)
class PlaneModel:
    """A part in plane stress.

    Parameters
    ----------
    mesh : Mesh
        Of triangles or quadrilaterals, linear or quadratic.
    material : OrthotropicPlane
        Stiffness in grain axes, MPa; or a mapping of region name to OrthotropicPlane.
    thickness : float, mapping of region name to float, or (e,) array
        mm.
    grain : float, mapping of region name to float, or (e,) array
        Angle from +x to the fibres, deg, counter-clockwise.
    solver : NamedSolver, optional
        Factorises the equations of the part at rest in place of the solver here; its answers are checked as well.

    Raises
    ------
    InputError
        For a mesh that cannot be used (`check_mesh` in topology: elements inside out, folded, there twice; points of
        no cell), a region without a value, or values that are not finite or, for thickness, not positive.

    Examples
    --------
    A bar of 10 mm by 2 mm by 1 mm, E = 1000 MPa, pulled by 1 MPa, grows by 0.01 mm::

        model = PlaneModel(mesh, OrthotropicPlane(1000, 1000, 400, 0.25), thickness=1, grain=0)
        model.fix("left").traction("right", (1.0, 0.0)).solve().displacement
    """

    mesh: Mesh
    material: OrthotropicPlane | Mapping[str, OrthotropicPlane]
    thickness: float | Mapping[str, float] | Array
    grain: float | Mapping[str, float] | Array
    holds: tuple[Hold, ...] = ()
    pins: tuple[Hold, ...] = ()
    springs: tuple[Spring, ...] = ()
    loads: tuple[AppliedLoad, ...] = ()
    contacts: tuple[OneWay, ...] = ()
    _: dataclasses.KW_ONLY
    solver: NamedSolver | None = None
    _kept: dict[str, Any] = field(default_factory=dict, repr=False, compare=False)

    def __post_init__(self) -> None:
        self.keep("checked", (self.mesh,), lambda: check_mesh(self.mesh))
        if not (self.cell_thickness > 0).all():
            worst = float(self.cell_thickness.min())
            raise InputError(f"Thickness is {worst:g} mm; give a value above 0.", key="wood.thickness")
        _ = self.cell_grain  # refuses what is not finite
        if isinstance(self.material, Mapping):
            self._regions(self.material, "material")

    @property
    def cells(self) -> IntArray:
        """Node numbers of the elements of a mesh that has one kind only, shape (e, a)."""
        if len(self.mesh.cells) != 1:
            raise InputError(f"The mesh has cells of several kinds: {', '.join(self.mesh.cells)}.")
        return next(iter(self.mesh.cells.values()))

    @property
    def count(self) -> int:
        """Number of elements, of all kinds."""
        return sum(len(block) for block in self.mesh.cells.values())

    @property
    def blocks(self) -> list[tuple[Element, IntArray, slice]]:
        """Kinds of element with their cells (e, a) and their place among all elements."""
        found, first = [], 0
        for kind, cells in self.mesh.cells.items():
            found.append((ELEMENTS[kind], cells, slice(first, first + len(cells))))
            first += len(cells)
        return found

    @property
    def cell_thickness(self) -> Array:
        """Thickness of each element, mm, shape (e,)."""
        return self._by_cell(self.thickness, "thickness")

    @property
    def cell_grain(self) -> Array:
        """Grain angle of each element, deg, shape (e,)."""
        return self._by_cell(self.grain, "grain")

    @property
    def cell_stiffness(self) -> Array:
        """Reduced stiffness in x, y of each element, MPa, shape (e, 3, 3)."""
        grain = self.cell_grain
        if not isinstance(self.material, Mapping):
            if np.ptp(grain) == 0.0:
                return np.broadcast_to(self.material.stiffness_xy(float(grain[0])), (len(grain), 3, 3))
            return np.asarray(self.material.stiffness_xy(grain))
        result = np.empty((len(grain), 3, 3))
        for name, cells in self._regions(self.material, "material"):
            result[cells] = self.material[name].stiffness_xy(grain[cells])
        return result

    def _by_cell(self, value: float | Mapping[str, float] | Array, what: str) -> Array:
        count = self.count
        if isinstance(value, Mapping):
            array = np.empty(count)
            for name, cells in self._regions(value, what):
                array[cells] = value[name]
        else:
            array = np.asarray(value, dtype=float)
            if array.ndim and array.shape != (count,):
                raise InputError(f"{what.capitalize()} has shape {array.shape}; give one value or ({count},) values.")
            array = np.broadcast_to(array, (count,))
        if not np.isfinite(array).all():
            raise InputError(f"{what.capitalize()} of element {int(np.argmin(np.isfinite(array)))} is not finite.")
        return array

    def _regions(self, values: Mapping[str, object], what: str) -> list[tuple[str, IntArray]]:
        regions = self.regions
        covered = np.zeros(self.count, dtype=bool)
        for name in values:
            if name not in regions:
                raise InputError(f'Region "{name}" is not in the mesh. Regions: {", ".join(regions) or "none"}.')
            covered[regions[name]] = True
        if not covered.all():
            missing = [name for name in regions if name not in values] or ["cells in no region"]
            raise InputError(f"No {what} is given for: {', '.join(missing)}.")
        return [(name, regions[name]) for name in values]

    @property
    def regions(self) -> dict[str, IntArray]:
        """Elements of each named region, counted over all kinds."""
        first = {element.name: place.start for element, _, place in self.blocks}
        return {
            name: np.concatenate([first[kind] + cells for kind, cells in blocks.items()])
            for name, blocks in self.mesh.regions.items()
        }

    def keep(self, name: str, depends: tuple[object, ...], make: Callable[[], T]) -> T:
        """What `make` returns, made once for the same objects that it depends on.

        Models that come from one another share what they keep, so that a new grain angle or another load does not
        work out again what the mesh alone decides.
        """
        known = self._kept.get(name)
        if (
            known is None
            or len(known[0]) != len(depends)
            or any(a is not b for a, b in zip(known[0], depends, strict=True))
        ):
            self._kept[name] = known = (depends, make())
        return cast(T, known[1])

    def beside(self, other: PlaneModel) -> PlaneModel:
        """The same model, sharing what another has kept; only what depends on the same objects is taken over."""
        return dataclasses.replace(self, _kept=other._kept)

    def has(self, name: str) -> bool:
        """Whether something is kept under a name."""
        return name in self._kept

    def with_(self, **changes: Any) -> PlaneModel:
        """The same model with another `material`, `thickness` or `grain`: what the mesh alone decides is kept.

        Raises
        ------
        InputError
            For another name.
        """
        allowed = ("material", "thickness", "grain")
        strange = sorted(set(changes) - set(allowed))
        if strange:
            raise InputError(f'"{strange[0]}" cannot be changed on a model; change {", ".join(allowed)}.')
        changed = dataclasses.replace(self, **changes)
        if not any(isinstance(load, StrainLoad) for load in self.loads):
            return changed
        return dataclasses.replace(changed, loads=made_again(changed))

    # ---- supports

    def fix(self, edge: str, axes: Sequence[str] = ("x", "y"), *, name: str | None = None) -> PlaneModel:
        """Hold the nodes of an edge (or point set) along x, y or both."""
        nodes = self._nodes(edge)
        holds = tuple(Hold(name or edge, nodes, np.broadcast_to(AXES[axis], (len(nodes), 2))) for axis in axes)
        return dataclasses.replace(self, holds=self.holds + holds)

    def roller(self, edge: str, *, name: str | None = None) -> PlaneModel:
        """Hold the nodes of an edge along its normal; they may slide along it."""
        nodes, normals = node_normals(self.mesh, edge_sides(self.mesh, edge))
        return dataclasses.replace(self, holds=(*self.holds, Hold(name or edge, nodes, normals)))

    def pin(self, edge: str, center: tuple[float, float], *, name: str | None = None) -> PlaneModel:
        """A rigid round pin fixed at `center` in the hole whose sides are `edge`; free to turn, no friction.

        Radial displacement is tied on the half of the hole that faces the force of a first solve with the full
        circle tied; the direction is corrected once.
        """
        nodes = np.unique(edge_sides(self.mesh, edge))
        radial = self.mesh.points[nodes] - _finite(center, f'Centre of pin "{name or edge}"')
        directions = radial / np.linalg.norm(radial, axis=1, keepdims=True)
        return dataclasses.replace(self, pins=(*self.pins, Hold(name or edge, nodes, directions)))

    def spring(
        self, edge: str, stiffness: float, axes: Sequence[str] | None = None, *, name: str | None = None
    ) -> PlaneModel:
        """An elastic support: `stiffness` in N/mm for each mm of edge, along its normal or along the axes named."""
        if not (np.isfinite(stiffness) and stiffness > 0):
            raise InputError(f"Spring stiffness is {stiffness:g} N/mm^2; give a value above 0.")
        sides = edge_sides(self.mesh, edge)
        quadrature = side_quadrature(self.mesh, sides)
        if axes is None:
            tensor = np.einsum("kqi,kqj->kqij", quadrature.normals, quadrature.normals)
        else:
            along = np.sum([np.outer(AXES[axis], AXES[axis]) for axis in axes], axis=0)
            tensor = np.broadcast_to(along, (*quadrature.lengths.shape, 2, 2))
        weight = stiffness * quadrature.lengths
        blocks = np.einsum("kq,qa,qb,kqij->kaibj", weight, quadrature.values, quadrature.values, tensor)
        spring = Spring(
            name or edge,
            sides,
            blocks.reshape(len(sides), 2 * sides.shape[1], -1),
            self._spring_hold(edge, sides, axes),
        )
        return dataclasses.replace(self, springs=(*self.springs, spring))

    def _spring_hold(self, edge: str, sides: IntArray, axes: Sequence[str] | None) -> Hold:
        nodes, normals = node_normals(self.mesh, sides)
        if axes is None:
            return Hold(edge, nodes, normals)
        directions = np.concatenate([np.broadcast_to(AXES[axis], (len(nodes), 2)) for axis in axes])
        return Hold(edge, np.tile(nodes, len(axes)), directions)

    def one_way(
        self,
        edge: str,
        *,
        gap: float | Array = 0.0,
        normal: tuple[float, float] | None = None,
        friction: float = 0.0,
        stiffness: float | None = None,
        name: str | None = None,
    ) -> PlaneModel:
        """A rest under an edge (or point set) that pushes and never pulls; the part may lift off.

        Parameters
        ----------
        edge : str
        gap : float or (n,) array
            Opening before anything moves, mm; an array has one value for each point of the mesh.
        normal : (2,), optional
            Direction out of the wood along which the rest stands; the edge's own normal unless given, node by node.
        friction : float
            Coulomb's coefficient; the rest itself does not move. Slip counts from the unloaded state, in one step.
        stiffness : float, optional
            N/mm for each mm of edge; rigid unless given.
        name : str, optional
            The edge's unless given.

        Raises
        ------
        InputError
            For a negative gap or friction, a stiffness not above 0, or a normal that points into the wood.
        """
        label = name or edge
        if edge in self.mesh.point_sets:
            if stiffness is not None:
                raise InputError(f'One-way support "{label}" stands on points; a stiffness a length needs an edge.')
            made = point_rest(self.mesh, label, self.mesh.point_sets[edge], gap, normal, friction)
        else:
            sides = edge_sides(self.mesh, edge)
            thickness = self.cell_thickness[side_owners(self.mesh.cells, sides)]
            made = rest(self.mesh, label, sides, thickness, gap, normal, friction, stiffness)
        return self._with_contact(made)

    def one_way_pin(
        self,
        edge: str,
        center: tuple[float, float],
        diameter: float,
        *,
        stiffness: tuple[float, float] | None = None,
        force: tuple[float, float] | None = None,
        friction: float = 0.0,
        name: str | None = None,
    ) -> PlaneModel:
        """A rigid round pin in the hole whose sides are `edge`, with play; it pushes where it touches.

        Fixed in place unless `stiffness` or `force` is given; it does not turn. The opening is linearised about the
        unmoved pin.

        Parameters
        ----------
        edge : str
        center : (2,)
            The pin's, before anything moves, mm.
        diameter : float
            The pin's, at most the hole's, mm.
        stiffness : (2,), optional
            That of the pin's mounting along x and y, N/mm; `inf` fixes it, 0 leaves it free.
        force : (2,), optional
            Load on the pin, N: a load of the same name as the support. Without `stiffness` the pin is free to move.
        friction : float
            Coulomb's coefficient.
        name : str, optional
            The edge's unless given.

        Raises
        ------
        InputError
            For a pin larger than its hole or in the wood, a hole that is not round, negative friction or stiffness.
        """
        label = name or edge
        sides = edge_sides(self.mesh, edge)
        thickness = self.cell_thickness[side_owners(self.mesh.cells, sides)]
        made = round_pin(self.mesh, label, sides, thickness, center, diameter, friction)
        if stiffness is not None or force is not None:
            made = mounted(made, stiffness, force)
        model = self._with_contact(made)
        if force is None:
            return model
        place, load = np.asarray([center], dtype=float), np.asarray([force], dtype=float)
        on_pin = AppliedLoad(label, place, load, np.zeros_like(self.mesh.points))
        return dataclasses.replace(model, loads=(*model.loads, on_pin))

    def faces(
        self, left: IntArray, right: IntArray, direction: tuple[float, float], *, name: str = "crack"
    ) -> PlaneModel:
        """Both faces of a crack, which press on one another without friction and part freely.

        Parameters
        ----------
        left, right : (k,) arrays
            Nodes at the same places, left and right of `direction`.
        direction : (2,)
            Unit vector along the crack.
        name : str

        Raises
        ------
        InputError
            If they do not lie on one another.
        """
        thickness = float(self.cell_thickness.mean())
        return self._with_contact(faces(self.mesh, name, left, right, direction, thickness))

    def pressed(
        self, left: IntArray, right: IntArray, direction: tuple[float, float], stiffness: float, *, name: str = "crack"
    ) -> PlaneModel:
        """Springs across a crack, along its normal, between nodes that press on one another.

        Parameters
        ----------
        left, right : (k,) arrays
            Nodes at the same places on both faces.
        direction : (2,)
            Unit vector along the crack.
        stiffness : float
            Of each pair of nodes, N/mm.
        name : str
        """
        x, y = direction
        normal = np.array([-y, x])
        block = stiffness * np.kron([[1.0, -1.0], [-1.0, 1.0]], np.outer(normal, normal))
        sides = np.column_stack([left, right])
        nothing = Hold(name, np.zeros(0, dtype=np.int64), np.zeros((0, 2)))  # they do not hold the part
        spring = Spring(name, sides, np.broadcast_to(block, (len(sides), 4, 4)), nothing)
        return dataclasses.replace(self, springs=(*self.springs, spring))

    def _with_contact(self, made: OneWay) -> PlaneModel:
        if any(other.name == made.name for other in self.contacts):
            raise InputError(f'Two one-way supports are named "{made.name}"; give each a name of its own.')
        return dataclasses.replace(self, contacts=(*self.contacts, made))

    def _nodes(self, edge: str) -> IntArray:
        if edge in self.mesh.point_sets:
            return self.mesh.point_sets[edge]
        return np.unique(edge_sides(self.mesh, edge))

    # ---- loads

    def traction(self, edge: str, stress: tuple[float, float], *, name: str | None = None) -> PlaneModel:
        """A stress (x, y) in MPa on the face of an edge."""
        quadrature, thickness = self._face(edge)
        area = quadrature.lengths * thickness[:, None]
        return self._with_load(name or edge, quadrature, area[..., None] * _finite(stress, f'Traction on "{edge}"'))

    def pressure(self, edge: str, pressure: float, *, name: str | None = None) -> PlaneModel:
        """A pressure in MPa, positive into the wood."""
        quadrature, thickness = self._face(edge)
        area = quadrature.lengths * thickness[:, None]
        into = -_finite(pressure, f'Pressure on "{edge}"') * quadrature.normals
        return self._with_load(name or edge, quadrature, area[..., None] * into)

    def force(self, edge: str, total: tuple[float, float], *, name: str | None = None) -> PlaneModel:
        """A total force (x, y) in N, spread evenly over the face of an edge, or on a point set of one node."""
        force = _finite(total, f'Force on "{edge}"')
        if edge in self.mesh.point_sets:
            load = point_load(name or edge, self.mesh, int(self.mesh.point_sets[edge][0]), force)
            return dataclasses.replace(self, loads=(*self.loads, load))
        quadrature, thickness = self._face(edge)
        return self._with_load(name or edge, quadrature, even_force(quadrature, thickness, force))

    def bearing(self, edge: str, total: tuple[float, float], *, name: str | None = None) -> PlaneModel:
        """A total force (x, y) in N on a hole, as radial pressure (2 F/(π r t)) cos θ on the pushed half."""
        quadrature, thickness = self._face(edge)
        force = bearing_force(quadrature, thickness, _finite(total, f'Force on "{edge}"'))
        return self._with_load(name or edge, quadrature, force)

    def body_force(self, density: tuple[float, float] | Array, *, name: str = "body force") -> PlaneModel:
        """A force per volume (x, y) in N/mm^3 on the whole part; also (e, 2), one an element."""
        load = body_load(name, self.mesh, self.cell_thickness, _finite(density, f'Body force "{name}"'))
        return dataclasses.replace(self, loads=(*self.loads, load))

    def initial_strain(
        self, strain: Sequence[float] | Mapping[str, Sequence[float]] | Array, *, name: str = "initial strain"
    ) -> PlaneModel:
        """A strain along and across the grain that the free wood would take on: shrinkage, or warmth.

        Parameters
        ----------
        strain : (2,) sequence, mapping of region name to such, or (e, 2) array
            That of a factor of 1. Where supports, fibres in another direction or another region hold it back, there is
            stress; a part that nothing holds back takes it on without.
        name : str

        Raises
        ------
        InputError
            For another shape, a region without a value, and what is not finite.

        References
        ----------
        Zienkiewicz and Taylor, The Finite Element Method, vol. 1 (initial strains).
        """
        load = strain_load(self, name, by_element(self, strain))
        return dataclasses.replace(self, loads=(*self.loads, load))

    def _face(self, edge: str) -> tuple[SideQuadrature, Array]:
        sides = edge_sides(self.mesh, edge)
        return side_quadrature(self.mesh, sides), self.cell_thickness[side_owners(self.mesh.cells, sides)]

    def _with_load(self, name: str, quadrature: SideQuadrature, force: Array) -> PlaneModel:
        load = side_load(name, self.mesh, quadrature, force)
        return dataclasses.replace(self, loads=(*self.loads, load))

    # ---- solve

    def solve(self, cases: Sequence[Mapping[str, float]] | None = None, names: Sequence[str] | None = None) -> Solution:
        """Displacements, reactions and stresses.

        Parameters
        ----------
        cases : sequence of mapping of load name to factor, optional
            Without it all loads act together, once.
        names : sequence of str, optional
            What messages call each case; its loads unless given.

        Returns
        -------
        Solution
            With a leading case axis in its arrays if `cases` is given.

        Raises
        ------
        FreeMotionError
            If the part can slide or turn without straining.
        SolveError
            If the equations cannot be solved, or the solution does not balance.
        """
        from .solve import solve_model

        return solve_model(self, cases, names)
