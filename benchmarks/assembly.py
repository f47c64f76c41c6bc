"""Assembly alone, in one process, contenders in turn: first against scikit-fem, repeated against FElupe's cached one.

First: from mesh arrays to the matrix that goes to the solver, everything made anew. Repeated: the same mesh, another
grain angle. fesolve makes the lower triangle, which is what its factorisation takes; the others make the whole matrix.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np
from contenders import plane_model, skfem_basis, skfem_nodes, stress_form
from plate import GRAIN, NEW_GRAIN, THICKNESS, Plate, plane_stress

AGREE = 1e-10  # of the greatest entry


def fesolve_matrix(model: Any) -> Any:
    from fesolve.fem import solve

    return solve._assemble(model)


def fesolve_product(model: Any, vector: np.ndarray) -> np.ndarray:
    """K times a vector (2n, 1) in the mesh's own numbering."""
    system = fesolve_matrix(model)
    product = system.lower.product(system.data, system.local(vector.reshape(1, -1, 2)))
    return system.world(product).reshape(-1)


def skfem_matrix(plate: Plate) -> Any:
    return stress_form(plane_stress(GRAIN)).assemble(skfem_basis(plate))


class FElupe:
    """A form on the plate whose sparsity FElupe keeps; its cell matrices are written to the same array again."""

    def __init__(self, plate: Plate) -> None:
        import felupe

        class QuadraticTriangle(felupe.QuadraticTriangle):
            def gradient(self, rs: np.ndarray) -> np.ndarray:
                """In FElupe 11.3.0 the middle of side 2-0 has 1 - 2 r - s where its slope along s has 1 - r - 2 s."""
                slopes = super().gradient(rs)
                wrong = slopes[5, 1] - 4 * (1 - rs[0] - 2 * rs[1])
                slopes[[0, 2, 5], 1] += np.array([0.5, 0.5, -1.0]) * wrong
                return slopes

        mesh = felupe.Mesh(plate.points, plate.cells, "triangle6")
        region = felupe.Region(mesh, QuadraticTriangle(), felupe.TriangleQuadrature(order=2))  # exact here
        self.field = felupe.FieldContainer([felupe.Field(region, dim=2)])
        self.volumes, self.form = region.dV * THICKNESS, felupe.IntegralForm
        self.values: list[Any] | None = None

    def matrix(self, grain: float) -> Any:
        voigt = np.array([[0, 2], [2, 1]])
        tensor = plane_stress(grain)[voigt[:, :, None, None], voigt][..., None, None]
        form = self.form([tensor], v=self.field, dV=self.volumes, u=self.field)
        self.values = form.integrate(out=self.values)
        return form.assemble(values=self.values)


def timed(make: Callable[[], Any]) -> tuple[float, Any]:
    start = time.perf_counter()
    made = make()
    return time.perf_counter() - start, made


def differences(plate: Plate, felupe: FElupe) -> list[float]:
    """How far the three matrices differ, of the greatest entry, by random vectors times them."""
    model = plane_model(plate, 0)
    vector = np.random.default_rng(1).normal(size=(2 * len(plate.points), 1))
    own = fesolve_product(model, vector)
    nodes = skfem_nodes(plate, skfem_basis(plate)).reshape(-1)
    turned = np.empty(len(nodes))
    turned[nodes] = vector[:, 0]
    others = [(skfem_matrix(plate) @ turned)[nodes], felupe.matrix(GRAIN) @ vector[:, 0]]
    return [float(np.abs(other - own).max() / np.abs(own).max()) for other in others]


def compare_assembly(plate: Plate, rounds: int) -> dict[str, list[float]]:
    """Seconds of each round: first assembly of two, repeated of two."""
    felupe, model = FElupe(plate), plane_model(plate, 0)
    worst = max(differences(plate, felupe))
    if worst > AGREE:
        raise SystemExit(f"The matrices differ by {worst:.1e}; nothing is timed.")
    fesolve_matrix(model)
    rows: dict[str, list[float]] = {
        "fesolve first": [],
        "scikit-fem first": [],
        "fesolve again": [],
        "FElupe again": [],
    }
    for number in range(rounds):
        grain = (NEW_GRAIN, GRAIN)[number % 2]
        rows["fesolve first"].append(timed(lambda: fesolve_matrix(plane_model(plate, 0)))[0])
        rows["scikit-fem first"].append(timed(lambda: skfem_matrix(plate))[0])
        rows["fesolve again"].append(timed(lambda g=grain: fesolve_matrix(model.with_(grain=g)))[0])
        rows["FElupe again"].append(timed(lambda g=grain: felupe.matrix(g))[0])
    return rows
