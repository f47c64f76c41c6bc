"""One time step of a strike against a bare back-substitution on the same factorisation.

Run: python benchmarks/time_step.py [--sizes 20k,200k] [--rounds 7]. The plate hangs on a pin with play in its hole and
lies on a rest, both of which only push; it is struck from above beside the rest. Steps and back-substitutions are taken
in turn, so that a busy machine weighs on both alike. At the first size a whole march with its own choice of steps is
set against the static solution of the same model, both from the mesh on.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import record
from plate import DEPTH, ELASTIC, GRAIN, LENGTH, RADIUS, SIZES, THICKNESS, Plate, make_plate

import fesolve
from fesolve.fem.boundary import boundary_sides
from fesolve.fem.march import march
from fesolve.fem.mass import MassMatrix
from fesolve.fem.motion import Motion
from fesolve.fem.scheme import Scheme
from fesolve.fem.stepping import Run, Start
from fesolve.fem.striker import Striker, rows_of
from fesolve.fem.timing import at_rest, plan

DENSITY = 450e-12  # tonne/mm^3
TARGET = 1.3
STRIKER = Striker("struck", (0.0, -1.0), 0.01, 1000.0, pad_stiffness=20_000.0)
STEPS, TOGETHER = 80, 1  # of a round, and how many in turn


def model(plate: Plate) -> fesolve.PlaneModel:
    """The plate with its hole made round, on a pin and a rest."""
    points, middle = plate.points.copy(), np.array([LENGTH / 2, DEPTH / 2])
    rim = boundary_sides(plate.cells)
    away = points[rim] - middle
    hole = rim[np.linalg.norm(away, axis=2).max(axis=1) < 1.5 * RADIUS]
    nodes = np.unique(hole)
    radial = points[nodes] - middle
    points[nodes] = middle + RADIUS * radial / np.linalg.norm(radial, axis=1, keepdims=True)

    def part_of(name: str, start: float) -> np.ndarray:
        sides = plate.edges[name]
        return sides[points[sides[:, :2], 0].min(axis=1) > start]

    edges = {**plate.edges, "hole": hole, "rest": part_of("bottom", 150.0), "struck": part_of("top", 170.0)}
    mesh = fesolve.Mesh(points, {"triangle6": plate.cells}, edges=edges)
    made = fesolve.PlaneModel(mesh, fesolve.OrthotropicPlane(**ELASTIC), THICKNESS, GRAIN)
    return made.one_way_pin("hole", tuple(middle), 2 * RADIUS - 0.02).one_way("rest")


def run_of(made: fesolve.PlaneModel) -> Run:
    """A march that stands at its start, with the step of its plan."""
    mass, steady = MassMatrix.of(made, DENSITY), np.zeros_like(made.mesh.points)
    known = plan(made, STRIKER, mass, steady)
    start = Start.of(Motion.of(made, (), mass), STRIKER, rows_of(made, STRIKER), steady, at_rest(made, (), steady))
    return Run(start, Scheme(known.step, 0.8))


def bare(run: Run) -> Callable[[], None]:
    """One back-substitution with the run's factor."""
    import cvxopt
    from cvxopt import cholmod

    right = np.random.default_rng(1).normal(size=len(run.load))
    return lambda: cholmod.solve(run.equations.factor, cvxopt.matrix(right))


def seconds(what: Callable[[], object]) -> float:
    start = time.perf_counter()
    for _ in range(TOGETHER):
        what()
    return time.perf_counter() - start


def steps(made: fesolve.PlaneModel, rounds: int) -> tuple[list[float], list[float], int]:
    """Seconds of steps and of bare substitutions, round by round; how many rows of contact there are."""
    found: tuple[list[float], list[float]] = ([], [])
    for _ in range(rounds):
        run = run_of(made)
        other, taken = bare(run), np.zeros(2)
        seconds(other)
        for _ in range(STEPS // TOGETHER):
            taken += seconds(run.step), seconds(other)
        found[0].append(taken[0])
        found[1].append(taken[1])
    return *found, len(run.rows.gaps)


def marches(plate: Plate, rounds: int) -> tuple[list[float], list[float]]:
    """Seconds of whole marches and of static solutions, both from the mesh on."""
    whole, static = [], []
    for _ in range(rounds):
        start = time.perf_counter()
        made = model(plate)
        made.force("struck", (0.0, -1000.0)).solve()
        middle = time.perf_counter()
        march(model(plate), STRIKER, DENSITY)
        whole.append(time.perf_counter() - middle)
        static.append(middle - start)
    return whole, static


def main() -> None:
    """Measure, print, keep."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sizes", default="20k,200k")
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--results", type=Path, default=record.RESULTS)
    options = parser.parse_args()
    rows = []
    for number, size in enumerate(options.sizes.split(",")):
        plate = make_plate(SIZES[size])
        stepped, substituted, count = steps(model(plate), options.rounds)
        what = f"one time step with {count} rows of contact, of a bare back-substitution's time, {size}"
        rows.append(record.row(what, record.ratios(stepped, substituted), target=TARGET, least=False))
        print(f"{size}: a step takes {1e3 * np.median(stepped) / STEPS:.1f} ms", flush=True)
        if number == 0:
            whole, static = marches(plate, options.rounds)
            rows.append(
                record.row(f"a whole march, of its static solution's time, {size}", record.ratios(whole, static))
            )
            print(f"{size}: a march takes {np.median(whole):.2f} s", flush=True)
    for row in rows:
        print(f"{row['value']:8.2f}  {row['low']:6.2f} to {row['high']:6.2f}  {row['what']}", flush=True)
    record.save("time steps", rows, options.results)


if __name__ == "__main__":
    main()
