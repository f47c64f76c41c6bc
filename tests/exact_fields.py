"""Exact stress fields that meshes are loaded with: the round hole and the cantilever, in mm and MPa."""

import dataclasses

import numpy as np

import fesolve
from fesolve.fem.boundary import edge_sides, side_quadrature
from fesolve.fem.elements import ELEMENTS
from fesolve.fem.loads import side_load
from fesolve.fem.recovery import element_strain
from meshes import W1, plate_with_hole


class HoleField:
    """A round hole about the origin in an infinite orthotropic plate: Lekhnitskii's complex potentials.

    S. G. Lekhnitskii, Anisotropic Plates (1968); as written out in section 1 of the reference solutions.
    """

    def __init__(self, plane, grain, remote, radius):
        self.remote, self.a = np.asarray(remote, dtype=float), radius
        S = plane.compliance_xy(grain)
        roots = np.roots([S[0, 0], -2 * S[0, 2], 2 * S[0, 1] + S[2, 2], -2 * S[1, 2], S[1, 1]])
        self.mu = roots[roots.imag > 0]
        sx, sy, txy = self.remote
        left = np.array([[1.0, 1.0], self.mu])
        self.C = np.linalg.solve(left, 0.5 * radius * np.array([-(sy - 1j * txy), txy - 1j * sx]))

    def stress(self, points):
        """σ_x, σ_y, τ_xy (k, 3) at points (k, 2)."""
        z = points[:, :1] + self.mu * points[:, 1:]
        scale = self.a**2 * (1 + self.mu**2)
        root = np.sqrt(z * z - scale)
        root = np.where(np.abs(z + root) < np.abs(z - root), -root, root)  # the branch outside the unit circle
        zeta = (z + root) / (self.a * (1 - 1j * self.mu))
        slope = -self.C / (zeta * root)
        terms = np.stack([self.mu**2 * slope, slope, -self.mu * slope], axis=1)
        return self.remote + 2 * terms.sum(axis=2).real


def cantilever_stress(points, force, length, depth):
    """Parabolic end shear on a strip |y| <= depth/2, 0 <= x <= length, grain along it, unit thickness.

    Case 3.1 of the reference solutions: σ_x = -12 F x y/h^3, τ_xy = -(6 F/h^3)(h^2/4 - y^2).
    """
    x, y = points.T
    along = -12 * force / depth**3 * x * y
    shear = -6 * force / depth**3 * (depth**2 / 4 - y**2)
    return np.column_stack([along, np.zeros_like(x), shear])


def exact_tractions(model, edge, stress):
    """The model with the tractions of a stress field (k, 2) -> (k, 3) on an edge."""
    face = side_quadrature(model.mesh, edge_sides(model.mesh, edge))
    s = stress(face.points.reshape(-1, 2)).reshape(*face.points.shape[:2], 3)
    n = face.normals
    traction = np.stack(
        [s[..., 0] * n[..., 0] + s[..., 2] * n[..., 1], s[..., 2] * n[..., 0] + s[..., 1] * n[..., 1]], 2
    )
    force = traction * face.lengths[..., None] * float(np.mean(model.cell_thickness))
    return dataclasses.replace(model, loads=(*model.loads, side_load(edge, model.mesh, face, force)))


def energy_error(solution, stress):
    """Error of the stresses of a solution against a field, relative, in the energy norm."""
    mesh, model = solution.model.mesh, solution.model
    compliance = np.linalg.inv(model.cell_stiffness[0])
    wrong = total = 0.0
    for element, cells, place in model.blocks:
        at, weights = element.rule if element.order == 2 else ELEMENTS[f"{element.name}{2 * element.corners}"].rule
        found = element_strain(mesh.points, cells, solution.displacement[None], at, element)[:, :, 0]
        found = np.einsum("est,eqt->eqs", model.cell_stiffness[place], found)
        corner = mesh.points[cells]
        where = np.einsum("qa,eai->eqi", element.shape(at), corner)
        volume = np.linalg.det(np.einsum("qak,eai->eqik", element.gradients(at), corner)) * weights
        true = stress(where.reshape(-1, 2)).reshape(found.shape)
        wrong += np.einsum("eq,eqs,st,eqt->", volume, found - true, compliance, found - true)
        total += np.einsum("eq,eqs,st,eqt->", volume, true, compliance, true)
    return float(np.sqrt(wrong / total))


def hole_solution(kind, per_quarter, grain=0.0):
    """A square patch about a hole of radius 10 mm, loaded with the exact tractions: solution and field."""
    field = HoleField(W1, grain, (1.0, 0.0, 0.0), 10.0)
    mesh = plate_with_hole(kind, 10.0, 40.0, per_quarter, per_quarter)
    corner = {"A": [-40.0, -40.0], "B": [40.0, -40.0]}
    sets = {name: np.flatnonzero(np.abs(mesh.points - at).max(axis=1) < 1e-9) for name, at in corner.items()}
    mesh = fesolve.Mesh(mesh.points, mesh.cells, edges=mesh.edges, point_sets=sets)
    model = fesolve.PlaneModel(mesh, W1, 1.0, grain).fix("A").fix("B", axes=["y"])
    model = exact_tractions(model, "outer", field.stress)
    return model.solve(), field
