"""An energy release curve of ten lengths, against one adaptive solve of the same part.

Run: python benchmarks/split_curve.py [--rounds 5]. Both run in one process, in turn. The adaptive solve is a check
without variations and pictures: meshes, solves and judgement, refined to the accuracy asked for. The curve is one mesh
along the line, ten openings solved with their contacts, both ways to the energy release rate, and the start. A first
round does not count.
"""

from __future__ import annotations

import argparse
import dataclasses
import time
from pathlib import Path

import record

import fesolve
from fesolve.cracking import LENGTHS, split_rows
from fesolve.judge.assess import assess
from fesolve.judge.inspected import Inspected, inspect_part
from fesolve.judge.verdict import Verdict
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.outline import part_outline
from fesolve.modelling import woods_of
from fesolve.otherwise import solved

MESHES = Path(__file__).parents[1] / "meshes"
PARTS = ("drawbar", "pump_lever", "bracket", "log_stop")
TARGET = 6.0


def prepared(part: fesolve.Part) -> tuple[Inspected, Verdict]:
    """The part looked at on a first mesh, with its worst hot spot alone."""
    outline = part_outline(part)
    woods = woods_of(part, part.wood.board)
    stands, solution, _ = solved(part, outline, mesh_part(part, outline), woods)
    inspected = inspect_part(stands, outline, woods, solution)
    verdict = assess(inspected).verdict
    return inspected, dataclasses.replace(verdict, hotspots=verdict.hotspots[:1])


def timed(part: fesolve.Part, rounds: int) -> tuple[list[float], list[float]]:
    """Seconds of the adaptive solve and of the curve, round by round."""
    inspected, verdict = prepared(part)
    solves, curves = [], []
    for _ in range(rounds):
        start = time.perf_counter()
        fesolve.check(part, sure=False)
        solves.append(time.perf_counter() - start)
        start = time.perf_counter()
        rows = split_rows(inspected, verdict, lambda _: None)
        curves.append(time.perf_counter() - start)
        assert any(len(row.lengths) == LENGTHS for row in rows)
    return solves, curves


def main() -> None:
    """Measure, print, keep."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--results", type=Path, default=record.RESULTS)
    options = parser.parse_args()
    rows = []
    for name in PARTS:
        part = fesolve.read_part(MESHES / f"{name}.toml")
        timed(part, 1)
        what = f"energy release curve of {LENGTHS} lengths, {name}, of the time of one adaptive solve"
        solves, curves = timed(part, options.rounds)
        rows.append(record.row(what, record.ratios(curves, solves), target=TARGET, least=False))
        print(f"{rows[-1]['value']:8.2f}  {rows[-1]['low']:6.2f} to {rows[-1]['high']:6.2f}  {what}", flush=True)
    record.save("splitting by energy", rows, options.results)


if __name__ == "__main__":
    main()
