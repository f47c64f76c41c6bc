"""One-way supports against a linear solution of the same mesh: the plate on a push-only rest, and on rollers there.

Run: python benchmarks/one_way.py [--sizes 20k,200k] [--rounds 5]. Both are made anew in every round, from mesh arrays
to stress at the nodes, in turn, so that a busy machine weighs on both alike. The plate lies with up to 151 nodes of its
lower edge on the rest and lifts off a part of it.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import record
from plate import ELASTIC, GRAIN, SIZES, THICKNESS, Plate, make_plate

import fesolve

NODES = 151
TARGET = 3.0
FRICTION = 0.3


def rested(plate: Plate, nodes: int = NODES) -> fesolve.Mesh:
    """The plate's mesh with edge "rest": the sides at the left end of its lower edge, with so many nodes."""
    bottom = plate.edges["bottom"]
    order = np.argsort(plate.points[bottom[:, 2], 0])
    edges = {**plate.edges, "rest": bottom[order][: (nodes - 1) // 2]}
    return fesolve.Mesh(plate.points, {"triangle6": plate.cells}, edges=edges)


def model(mesh: fesolve.Mesh) -> fesolve.PlaneModel:
    """The plate held along x at its left end, pushed down near it and lifted at the other end."""
    wood = fesolve.OrthotropicPlane(**ELASTIC)
    base = fesolve.PlaneModel(mesh, wood, THICKNESS, GRAIN).fix("left", ["x"])
    return base.pressure("top", 1.0).traction("right", (0.0, 1.5))


def solutions(mesh: fesolve.Mesh) -> dict[str, Callable[[], fesolve.Solution]]:
    """What is timed: rollers, a rest, a rest with friction."""
    return {
        "rollers": lambda: model(mesh).roller("rest").solve(),
        "rest": lambda: model(mesh).one_way("rest").solve(),
        "rest with friction": lambda: model(mesh).one_way("rest", friction=FRICTION).solve(),
    }


def timed(mesh: fesolve.Mesh, rounds: int) -> dict[str, list[float]]:
    """Seconds of each, round by round, after one that does not count."""
    makers = solutions(mesh)
    times: dict[str, list[float]] = {name: [] for name in makers}
    for number in range(rounds + 1):
        for name, make in makers.items():
            start = time.perf_counter()
            make()
            if number:
                times[name].append(time.perf_counter() - start)
    return times


def rows_of(size: str, nodes: int, times: dict[str, list[float]]) -> list[dict[str, object]]:
    """The ratios to the linear solution."""
    rows = []
    for name in ("rest", "rest with friction"):
        found = record.ratios(times[name], times["rollers"])
        target = TARGET if name == "rest" else None
        what = f"solution with {nodes} contact nodes, {name}, of a linear solution's time, {size}"
        rows.append(record.row(what, found, target=target, least=False))
    return rows


def main() -> None:
    """Measure, print, keep."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sizes", default="20k,200k")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--results", type=Path, default=record.RESULTS)
    options = parser.parse_args()
    rows = []
    for size in options.sizes.split(","):
        mesh = rested(make_plate(SIZES[size]))
        rows += rows_of(size, len(np.unique(mesh.edges["rest"])), timed(mesh, options.rounds))
    for row in rows:
        print(f"{row['value']:8.2f}  {row['low']:6.2f} to {row['high']:6.2f}  {row['what']}", flush=True)
    record.save("one-way supports", rows, options.results)


if __name__ == "__main__":
    main()
