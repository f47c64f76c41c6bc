"""An energy release curve of ten lengths, against one adaptive solve of the same part.

Run: python benchmarks/split_curve.py [--rounds 5]. Both run in one process, in turn. The adaptive solve is a check
without variations, cracks and pictures: meshes, solves and judgement, refined to the accuracy asked for. The curve is
one mesh along the line, ten openings solved with their contacts, both ways to the energy release rate, and the start. A
first round does not count.
"""

from __future__ import annotations

import dataclasses
import time

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

TARGET = 6.0


def prepared(part: fesolve.Part) -> tuple[Inspected, Verdict]:
    """The part looked at on a first mesh, with its worst hot spot alone."""
    outline = part_outline(part)
    woods = woods_of(part, part.wood.board)
    stands, solution, _ = solved(part, outline, mesh_part(part, outline), woods)
    inspected = inspect_part(stands, outline, woods, solution)
    verdict = assess(inspected).verdict
    return inspected, dataclasses.replace(verdict, hotspots=verdict.hotspots[:1])


def timed(part: fesolve.Part, rounds: int) -> list[float]:
    """The curve over the adaptive solve, round by round."""
    inspected, verdict = prepared(part)
    solves, curves = [], []
    for _ in range(rounds):
        start = time.perf_counter()
        fesolve.check(part, sure=False, splits=False)
        solves.append(time.perf_counter() - start)
        start = time.perf_counter()
        rows = split_rows(inspected, verdict, lambda _: None)
        curves.append(time.perf_counter() - start)
        assert any(len(row.lengths) == LENGTHS for row in rows)
    return record.ratios(curves, solves)


def main() -> None:
    """Measure, print, keep."""
    what = f"energy release curve of {LENGTHS} lengths, {{name}}, of the time of one adaptive solve"
    record.on_parts(__doc__ or "", "splitting by energy", timed, what, TARGET)


if __name__ == "__main__":
    main()
