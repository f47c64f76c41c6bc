"""The contenders: each solves the plate from arrays to recovered stress, and tells the seconds of every step.

Run by compare.py, a fresh process each: python benchmarks/contenders.py NAME PLATE.npz OUT.npz [--cases]
prints one line of JSON. Imports and a warm-up on a small plate are not counted.
"""

from __future__ import annotations

import functools
import json
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from plate import CASES, ELASTIC, GRAIN, NEW_GRAIN, THICKNESS, Plate, make_plate, plane_stress

Times = dict[str, float]
Result = tuple[Times, np.ndarray, np.ndarray]  # seconds, displacement (c, n, 2), stress σ_x, σ_y, τ_xy (c, n, 3)


class Clock:
    """Seconds of one step after another."""

    def __init__(self) -> None:
        self.times: Times = {}
        self.last = time.perf_counter()

    def step(self, name: str) -> None:
        now = time.perf_counter()
        self.times[name] = now - self.last
        self.last = now


# ---- fesolve


def plane_model(plate: Plate, cases: int) -> Any:
    import fesolve

    mesh = fesolve.Mesh(plate.points, {"triangle6": plate.cells}, edges=plate.edges)
    model = fesolve.PlaneModel(mesh, fesolve.OrthotropicPlane(**ELASTIC), THICKNESS, GRAIN).fix("left")
    for number, (edge, stress) in enumerate(CASES[:cases]):
        model = model.traction(edge, stress, name=f"case {number}")
    return model


def with_fesolve(plate: Plate, cases: int) -> Result:
    """The first solve of a mesh."""
    times, model = first_solve(plate, cases)
    last = time.perf_counter()
    solution = model.solve([{f"case {number}": 1.0} for number in range(cases)])
    times["after"] = time.perf_counter() - last
    return times, solution.displacement, solution.stress_xy


def first_solve(plate: Plate, cases: int) -> tuple[Times, Any]:
    """Everything up to the factorisation; what is made is kept by the model."""
    from fesolve.fem import solve

    clock = Clock()
    model = plane_model(plate, cases)
    system = solve._assemble(model)
    clock.step("assemble")
    solve._factorised(system, ())  # with ordering and symbolic step
    clock.step("factorise")
    return clock.times, model


def with_fesolve_again(plate: Plate, cases: int) -> Result:
    """After the first solve: another load on the same factorisation, then another grain angle on the same mesh."""
    times, model = first_solve(plate, cases)
    clock = Clock()
    solution = model.solve()
    clock.step("after")
    times |= clock.times
    model = model.traction("right", (0.0, 0.1), name="another")
    clock = Clock()
    model.solve([{"another": 1.0}])
    clock.step("another load")
    model.with_(grain=NEW_GRAIN).solve()
    clock.step("new grain")
    return times | clock.times, solution.displacement[None], solution.stress_xy[None]


# ---- scikit-fem


def stress_form(Q: np.ndarray) -> Any:
    """Bilinear form of plane stress, as few products as it takes."""
    import skfem

    Q = Q * THICKNESS

    @skfem.BilinearForm
    def form(u: Any, v: Any, _: Any) -> Any:
        x, y, xy = u.grad[0, 0], u.grad[1, 1], u.grad[0, 1] + u.grad[1, 0]
        first = (Q[0, 0] * x + Q[0, 1] * y + Q[0, 2] * xy) * v.grad[0, 0]
        second = (Q[1, 0] * x + Q[1, 1] * y + Q[1, 2] * xy) * v.grad[1, 1]
        return first + second + (Q[2, 0] * x + Q[2, 1] * y + Q[2, 2] * xy) * (v.grad[0, 1] + v.grad[1, 0])

    return form


def skfem_basis(plate: Plate) -> Any:
    """Three quadrature points, which are exact here; scikit-fem would take six by itself."""
    import skfem

    corners = np.ascontiguousarray(plate.points[: plate.corners].T)
    mesh = skfem.MeshTri(corners, np.ascontiguousarray(plate.cells[:, :3].T), sort_t=False, validate=False)
    return skfem.Basis(mesh, skfem.ElementVector(skfem.ElementTriP2()), intorder=2)


def skfem_loads(plate: Plate, basis: Any, cases: int) -> np.ndarray:
    """Right-hand sides (N, c)."""
    import skfem

    mesh, rows = basis.mesh, []
    for edge, stress in CASES[:cases]:
        at = plate.points[plate.edges[edge][0]]
        axis = int(np.argmin(np.ptp(at, axis=0)))
        facets = mesh.facets_satisfying(lambda x, i=axis, c=at[0, axis]: np.abs(x[i] - c) < 1e-9, boundaries_only=True)
        side = skfem.FacetBasis(mesh, basis.elem, facets=facets, intorder=2)
        load = skfem.LinearForm(lambda v, _, t=stress: THICKNESS * (t[0] * v[0] + t[1] * v[1]))
        rows.append(load.assemble(side))
    return np.stack(rows, axis=1)


def skfem_nodes(plate: Plate, basis: Any) -> np.ndarray:
    """Unknowns (n, 2) of the plate's nodes in scikit-fem's numbering."""
    unknowns = np.hstack([basis.nodal_dofs, basis.facet_dofs]).T
    assert np.allclose(basis.doflocs[:, unknowns[:, 0]].T, plate.points, atol=1e-9)
    return unknowns


def recovered(plate: Plate, basis: Any, Q: np.ndarray, vector: np.ndarray) -> np.ndarray:
    """Stress (n, 3): from the three inner points to the nodes, mean over elements; as in fesolve."""
    gradient = basis.interpolate(vector).grad
    strain = np.stack([gradient[0, 0], gradient[1, 1], gradient[0, 1] + gradient[1, 0]], axis=-1)  # (e, q, 3)
    linear = np.column_stack([np.ones(3), basis.X.T])
    nodes = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])
    carry = np.column_stack([np.ones(6), nodes]) @ np.linalg.inv(linear)
    at_nodes = np.matmul(carry, strain @ Q.T).reshape(-1, 3)
    flat = plate.cells.reshape(-1)
    count = np.bincount(flat)
    return np.stack([np.bincount(flat, at_nodes[:, s]) / count for s in range(3)], axis=1)


def with_skfem(plate: Plate, cases: int, solver: Callable[[Any, np.ndarray], np.ndarray]) -> Result:
    import skfem

    clock = Clock()
    Q = plane_stress(GRAIN)
    basis = skfem_basis(plate)
    K = stress_form(Q).assemble(basis)
    clock.step("assemble")
    right = skfem_loads(plate, basis, cases)
    held = basis.get_dofs(lambda x: np.abs(x[0]) < 1e-9).flatten()
    free = np.setdiff1d(np.arange(basis.N), held)
    K = skfem.condense(K, D=held, expand=False)
    full = np.zeros_like(right)
    full[free] = solver(K, right[free])
    del K
    clock.step("factorise and solve")
    stress = [recovered(plate, basis, Q, one) for one in full.T]
    clock.step("recover")
    nodes = skfem_nodes(plate, basis)
    return clock.times, np.stack([one[nodes] for one in full.T]), np.stack(stress)


def spsolve(K: Any, right: np.ndarray) -> np.ndarray:
    """scikit-fem's own default, which is scipy's spsolve (SuperLU); one case."""
    import skfem

    return skfem.solve(K, right[:, 0])[:, None]


def pardiso(K: Any, right: np.ndarray) -> np.ndarray:
    """PARDISO through pypardiso as it comes: a general matrix (mtype 11)."""
    import pypardiso

    return pypardiso.spsolve(K.tocsr(), right, squeeze=False)


def pardiso_symmetric(K: Any, right: np.ndarray) -> np.ndarray:
    """PARDISO told that the matrix is symmetric positive definite (mtype 2): its upper triangle only, one call."""
    from scipy import sparse

    return symmetric_solver().solve(sparse.triu(K, format="csr"), right)


@functools.cache
def symmetric_solver() -> Any:
    """Made once: finding the library takes longer than a small solve."""
    import pypardiso

    return pypardiso.PyPardisoSolver(mtype=2)


CONTENDERS: dict[str, Callable[[Plate, int], Result]] = {
    "fesolve": with_fesolve,
    "fesolve, again": with_fesolve_again,
    "scikit-fem, spsolve": lambda plate, cases: with_skfem(plate, cases, spsolve),
    "scikit-fem, pypardiso": lambda plate, cases: with_skfem(plate, cases, pardiso),
    "scikit-fem, PARDISO mtype 2": lambda plate, cases: with_skfem(plate, cases, pardiso_symmetric),
}


def main() -> None:
    """Run one contender and print its figures."""
    name, path, out = sys.argv[1:4]
    cases = len(CASES) if "--cases" in sys.argv else 1
    CONTENDERS[name](make_plate(2000), cases)  # warm-up
    times, displacement, stress = CONTENDERS[name](Plate.load(Path(path)), cases)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1 if sys.platform == "darwin" else 1024)
    np.savez(out, displacement=displacement, stress=stress)
    print(json.dumps({"contender": name, "cases": cases, "times": times, "peak": peak}))


if __name__ == "__main__":
    main()
