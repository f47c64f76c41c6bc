"""Element stiffness against independent quadrature and against scikit-fem; rigid motions; loads of sides and bodies."""

import numpy as np
import pytest
import skfem

from fesolve.fem.elements import ELEMENTS, square_rule, triangle_rule
from fesolve.fem.stiffness import element_stiffness
from meshes import KINDS, W1, area, plate_with_hole, rectangle

THICKNESS = 38.0
SKFEM = {
    "triangle": (skfem.MeshTri, skfem.ElementTriP1, 2),
    "triangle6": (skfem.MeshTri, skfem.ElementTriP2, 2),
    "quad": (skfem.MeshQuad, skfem.ElementQuad1, 3),  # 2 x 2 Gauss points, as here
    "quad8": (skfem.MeshQuad, skfem.ElementQuadS2, 5),  # 3 x 3
}


def stiffness(mesh, kind, grain=30.0):
    cells = mesh.cells[kind]
    C = np.broadcast_to(W1.stiffness_xy(grain), (len(cells), 3, 3))
    return element_stiffness(mesh.points, cells, C, np.full(len(cells), THICKNESS), ELEMENTS[kind])


def dense(mesh, kind, matrices):
    cells = mesh.cells[kind]
    rows = (2 * cells[:, :, None] + [0, 1]).reshape(len(cells), -1)
    K = np.zeros((2 * len(mesh.points),) * 2)
    np.add.at(K, (rows[:, :, None], rows[:, None, :]), matrices)
    return K


def by_skfem(mesh, kind, grain):
    """The whole stiffness by scikit-fem, in the order of the mesh's own nodes."""
    mesh_class, element_class, order = SKFEM[kind]
    corners = ELEMENTS[kind].corners
    cells = mesh.cells[kind][:, :corners]
    count = cells.max() + 1
    other = mesh_class(mesh.points[:count].T, cells.T)
    basis = skfem.Basis(other, skfem.ElementVector(element_class()), intorder=order)
    C = W1.stiffness_xy(grain) * THICKNESS

    @skfem.BilinearForm
    def form(u, v, _):
        def voigt(w):
            return np.stack([w.grad[0, 0], w.grad[1, 1], w.grad[0, 1] + w.grad[1, 0]])

        return np.einsum("s...,st,t...->...", voigt(v), C, voigt(u))

    K = form.assemble(basis).toarray()
    places = basis.doflocs.T
    component = np.zeros(len(places), dtype=int)
    component[basis.nodal_dofs[1]] = 1
    if len(basis.facet_dofs):
        component[basis.facet_dofs[1]] = 1
    away = np.abs(places[:, None] - mesh.points[None]).max(axis=2)
    assert away.min(axis=1).max() < 1e-9
    order = np.argsort(2 * away.argmin(axis=1) + component)
    return K[np.ix_(order, order)]


@pytest.mark.parametrize("distort", [0.0, 0.25])
@pytest.mark.parametrize("kind", KINDS)
def test_stiffness_matches_scikit_fem(kind, distort):
    mesh = rectangle(kind, columns=3, rows=2, distort=distort)
    mine, other = dense(mesh, kind, stiffness(mesh, kind)), by_skfem(mesh, kind, 30.0)
    assert np.abs(mine - other).max() < 1e-10 * np.abs(other).max()


@pytest.mark.parametrize("kind", KINDS)
def test_stiffness_matches_quadrature_written_out(kind):
    """t ∫ B^T C B dA, B row by row, with far more Gauss points than the closed form or the rule uses."""
    mesh = rectangle(kind, columns=2, rows=2)  # affine cells: both are exact
    element, cells = ELEMENTS[kind], mesh.cells[kind]
    points, weights = collapsed(6) if element.corners == 3 else square_rule(6)
    C = W1.stiffness_xy(30.0)
    for cell, K in zip(cells, stiffness(mesh, kind), strict=True):
        total = np.zeros_like(K)
        for slope, weight in zip(element.gradients(points), weights, strict=True):
            J = mesh.points[cell].T @ slope
            gradient = slope @ np.linalg.inv(J)
            B = np.zeros((3, 2 * element.nodes))
            B[0, 0::2], B[1, 1::2], B[2, 0::2], B[2, 1::2] = (
                gradient[:, 0],
                gradient[:, 1],
                gradient[:, 1],
                gradient[:, 0],
            )
            total += THICKNESS * weight * np.linalg.det(J) * B.T @ C @ B
        assert np.abs(K - total).max() < 1e-10 * np.abs(total).max()


def collapsed(count):
    """Gauss points of a square collapsed onto the triangle: independent of the rules in the table."""
    x, w = np.polynomial.legendre.leggauss(count)
    x, w = (x + 1) / 2, w / 2
    a, b = np.meshgrid(x, x, indexing="ij")
    points = np.column_stack([a.ravel(), (b * (1 - a)).ravel()])
    return points, (np.outer(w, w) * (1 - a)).ravel()


def test_triangle_rules_integrate_monomials_exactly():
    """∫ x^p y^q over the unit triangle is p! q!/(p + q + 2)! (textbook formula)."""
    from math import factorial

    for degree in (1, 2, 4, 6):
        points, weights = triangle_rule(degree)
        for p in range(degree + 1):
            for q in range(degree + 1 - p):
                exact = factorial(p) * factorial(q) / factorial(p + q + 2)
                assert weights @ (points[:, 0] ** p * points[:, 1] ** q) == pytest.approx(exact, abs=2e-14)


@pytest.mark.parametrize(("kind", "limit"), [("triangle6", 1e-8), ("quad8", 1e-3)])
def test_quadrature_of_curved_elements_is_enough(kind, limit):
    """Sides on an arc and tapered cells make the integrand rational: little is lost against many more points.

    On tapered eight-node cells 3 by 3 points, the usual full rule, leave a few 1e-4, which fall as the mesh gets finer.
    """
    mesh = plate_with_hole(kind, per_quarter=8, rings=6)
    element, cells = ELEMENTS[kind], mesh.cells[kind]
    points, weights = collapsed(12) if element.corners == 3 else square_rule(12)
    fine = element.__class__(
        **{**{f: getattr(element, f) for f in element.__dataclass_fields__}, "rule": (points, weights)}
    )
    C = np.broadcast_to(W1.stiffness_xy(30.0), (len(cells), 3, 3))
    exact = element_stiffness(mesh.points, cells, C, np.full(len(cells), THICKNESS), fine)
    mine = stiffness(mesh, kind)
    assert np.abs(mine - exact).max() < limit * np.abs(exact).max()


@pytest.mark.parametrize("kind", KINDS)
def test_three_motions_without_energy(kind):
    """Two slides and a turn, and no other motion, cost nothing."""
    mesh = plate_with_hole(kind, per_quarter=2, rings=2, center=(300.0, -200.0))
    for cell, K in zip(mesh.cells[kind], stiffness(mesh, kind), strict=True):
        values = np.linalg.eigvalsh(K)
        assert np.abs(values[:3]).max() < 1e-12 * values[-1]
        assert values[3] > 1e-6 * values[-1]
        x, y = (mesh.points[cell] - mesh.points[cell].mean(axis=0)).T
        for motion in (np.eye(2)[0] + 0 * x[:, None], np.eye(2)[1] + 0 * x[:, None], np.column_stack([-y, x])):
            assert np.abs(K @ motion.ravel()).max() < 1e-10 * np.abs(K).max() * np.abs(motion).max()
        assert np.abs(K - K.T).max() < 1e-15 * np.abs(K).max()


@pytest.mark.parametrize("kind", ["triangle6", "quad8"])
def test_area_with_curved_sides(kind):
    """The square less the disc, to the error of a parabola on an arc; without the curve it is 50 times worse."""
    exact = 80.0**2 - np.pi * 10.0**2
    assert area(plate_with_hole(kind, per_quarter=8)) == pytest.approx(exact, abs=1e-3)
    assert abs(area(plate_with_hole(kind, per_quarter=8, round_sides=False)) - exact) > 1.0


def test_shape_functions_are_one_at_their_own_node():
    for element in ELEMENTS.values():
        assert element.shape(element.places) == pytest.approx(np.eye(element.nodes), abs=1e-15)
        inside = np.array([[0.21, 0.33]])
        step = 1e-6
        for k in (0, 1):
            move = step * np.eye(2)[k]
            slope = (element.shape(inside + move) - element.shape(inside - move)) / (2 * step)
            assert element.gradients(inside)[:, :, k] == pytest.approx(slope, abs=1e-9)
