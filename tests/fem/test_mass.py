"""The consistent mass matrix: totals, rigid motions, against scikit-fem, and the share that moves with a strike."""

import numpy as np
import pytest

import fesolve
from fesolve.errors import InputError
from fesolve.fem.elements import ELEMENTS
from fesolve.fem.mass import MassMatrix, effective_mass, element_mass
from meshes import KINDS, W1, area, plate_with_hole, rectangle

DENSITY = 450e-12  # tonne/mm^3


def plate(mesh, thickness=38.0):
    return fesolve.PlaneModel(mesh, W1, thickness, 20.0)


@pytest.mark.parametrize("kind", KINDS)
def test_total_and_rigid_motions(kind):
    """Mass = ρ t A, also of curved elements; x M 1 = ρ t ∫ x dA; turning about the middle: ρ t ∫ r^2 dA = m d^2/6."""
    mesh = plate_with_hole(kind)
    mass = MassMatrix.of(plate(mesh), DENSITY)
    assert mass.total == pytest.approx(DENSITY * 38.0 * area(mesh), rel=1e-12)
    mesh = rectangle(kind, length=40.0, depth=20.0, distort=0.2, origin=(100.0, 0.0))
    mass = MassMatrix.of(plate(mesh), DENSITY)
    whole = DENSITY * 38.0 * 800.0
    one = np.ones((len(mesh.points), 2))
    assert np.sum(mesh.points * mass.product(one), axis=0) == pytest.approx([whole * 120.0, whole * 10.0], rel=1e-12)
    arms = mesh.points - [120.0, 10.0]
    turning = np.column_stack([-arms[:, 1], arms[:, 0]])
    inertia = whole * (40.0**2 + 20.0**2) / 12
    assert np.sum(turning * mass.product(turning)) == pytest.approx(inertia, rel=1e-12)
    stacked = mass.product(np.stack([one, turning]))
    assert stacked[1] == pytest.approx(mass.product(turning), rel=1e-13, abs=1e-20)


@pytest.mark.parametrize("kind", KINDS)
def test_equals_scikit_fem(kind):
    """The same elements in scikit-fem, with more quadrature points; distorted, and curved triangles."""
    skfem = pytest.importorskip("skfem")
    mesh = rectangle(kind, distort=0.2)
    if kind == "triangle6":
        mesh = plate_with_hole(kind)
    basis, numbers = skfem_basis(skfem, kind, mesh)
    peer = skfem.BilinearForm(lambda u, v, w: 38.0 * DENSITY * u * v).assemble(basis).toarray()
    mine = MassMatrix.of(plate(mesh), DENSITY).nodes.toarray()
    assert np.abs(mine - peer[np.ix_(numbers, numbers)]).max() < 1e-12 * np.abs(mine).max()


def skfem_basis(skfem, kind, mesh):
    """A basis on the same mesh, and the number of its unknown at each of our nodes."""
    (cells,) = mesh.cells.values()
    corners = cells[:, : ELEMENTS[kind].corners]
    if kind == "triangle6":
        peer = skfem.MeshTri2(mesh.points.T, cells.T)
        element = skfem.ElementTriP2()
    else:
        count = int(corners.max()) + 1  # corners come first in these meshes
        make = skfem.MeshTri if kind == "triangle" else skfem.MeshQuad
        peer = make(mesh.points[:count].T, corners.T)
        element = {"triangle": skfem.ElementTriP1, "quad": skfem.ElementQuad1, "quad8": skfem.ElementQuadS2}[kind]()
    basis = skfem.Basis(peer, element, intorder=8)
    places = basis.doflocs.T
    distance = np.linalg.norm(mesh.points[:, None] - places[None], axis=2)
    numbers = distance.argmin(axis=1)
    return basis, numbers


def test_values_by_region_and_by_cell():
    mesh = rectangle("quad", columns=4, rows=1)
    mesh = fesolve.Mesh(
        mesh.points, mesh.cells, regions={"light": {"quad": np.array([0, 1])}, "heavy": {"quad": np.array([2, 3])}}
    )
    by_region = MassMatrix.of(plate(mesh), {"light": 300e-12, "heavy": 700e-12})
    by_cell = MassMatrix.of(plate(mesh), np.array([300e-12, 300e-12, 700e-12, 700e-12]))
    assert by_region.total == pytest.approx(500e-12 * 38 * 800, rel=1e-12)
    assert np.abs((by_region.nodes - by_cell.nodes).toarray()).max() < 1e-20
    with pytest.raises(InputError, match="No density is given for: heavy"):
        MassMatrix.of(plate(mesh), {"light": 300e-12})
    with pytest.raises(InputError, match=r"density is 0 tonne/mm\^3; give a value above 0"):
        MassMatrix.of(plate(mesh), 0.0)


@pytest.mark.parametrize("kind", KINDS)
def test_pairs_of_nodes(kind):
    mass = MassMatrix.of(plate(rectangle(kind)), DENSITY)
    every = mass.nodes.toarray()
    one, two = (index.reshape(-1) for index in np.indices(every.shape))
    assert mass.pairs(one, two) == pytest.approx(every.reshape(-1), abs=0.0)


def test_mixed_cells():
    """A quadrilateral and two triangles side by side: the mass of each kind is that of its area."""
    points = np.array([[0, 0], [10, 0], [20, 0], [20, 10], [10, 10], [0, 10]], dtype=float)
    cells = {"quad": np.array([[0, 1, 4, 5]]), "triangle": np.array([[1, 2, 3], [1, 3, 4]])}
    mass = MassMatrix.of(plate(fesolve.Mesh(points, cells)), np.array([1e-9, 2e-9, 2e-9]))
    assert mass.total == pytest.approx(38.0 * (100e-9 + 200e-9), rel=1e-12)


def test_share_of_a_cantilever_and_of_a_simple_beam():
    """33/140 and 17/35: squares of the static shapes' deflection integrated along a slender beam, and by the mesh.

    Shapes: v = (3 s^2 - s^3)/2 from the clamped end; v = 3 s - 4 s^3 on half the span (textbook, evaluated here).
    """
    s, w = np.polynomial.legendre.leggauss(8)
    s, w = (s + 1) / 2, w / 2
    assert w @ ((3 * s**2 - s**3) / 2) ** 2 == pytest.approx(33 / 140, rel=1e-12)
    assert w @ (3 * (s / 2) - 4 * (s / 2) ** 3) ** 2 == pytest.approx(17 / 35, rel=1e-12)
    stiff_in_shear = fesolve.OrthotropicPlane(E_0=1000, E_90=1000, G=5e3, nu_0_90=0.0)
    mesh = rectangle("quad8", length=300.0, depth=10.0, columns=20, rows=1)
    model = fesolve.PlaneModel(mesh, stiff_in_shear, 5.0, 0.0)
    solution = model.fix("left").force("right", (0.0, 1.0)).solve()
    mass = MassMatrix.of(model, DENSITY)
    right = mesh.edges["right"].reshape(-1)
    share = effective_mass(mass, solution.displacement, float(solution.displacement[right, 1].mean()))
    assert share / mass.total == pytest.approx(33 / 140, rel=1e-3)
    with pytest.raises(InputError, match="it must give way"):
        effective_mass(mass, solution.displacement, 0.0)


def test_one_side_of_a_curved_triangle():
    """The rule is exact on curved sides: against 20 by 20 Gauss points on the square folded to the triangle."""
    points = np.array([[0, 0], [10, 0], [0, 8], [5.5, -0.8], [5.6, 4.7], [-0.3, 4.2]], dtype=float)
    element = ELEMENTS["triangle6"]
    x, w = np.polynomial.legendre.leggauss(20)
    x, w = (x + 1) / 2, w / 2
    u, v = (g.reshape(-1) for g in np.meshgrid(x, x, indexing="ij"))
    places, weights = np.stack([u, v * (1 - u)], axis=1), np.outer(w, w).reshape(-1) * (1 - u)
    determinant = np.linalg.det(np.einsum("qak,ai->qki", element.gradients(places), points))
    values = element.shape(places)
    whole = np.einsum("q,qa,qb->ab", weights * determinant, values, values)
    mine = element_mass(points, np.arange(6)[None], np.ones(1), element)[0]
    assert mine == pytest.approx(whole[element.pairs], rel=1e-11, abs=1e-11)
