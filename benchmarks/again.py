"""The log stop once more in one process, with another hole: mesh, solve, judge, no picture.

Run: python benchmarks/again.py [rounds]. Beside it, in turn, the bare meshing and the bare factorisation of the same
part, and all at the default sizes and at elements small enough for about 20,000 unknowns.
"""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

import record

import fesolve
from fesolve import analysis, modelling
from fesolve.fem import solve
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.outline import part_outline

PART = Path(__file__).parents[1] / "meshes" / "pile_stop.toml"
TARGET = 0.3  # s, at about 20,000 unknowns
SIZES = {"as it comes": None, "about 20k unknowns": "9 mm"}


def part_of(diameter: float, size: str | None) -> fesolve.Part:
    """The stop with another hole."""
    import tomllib

    document = tomllib.loads(PART.read_text(encoding="utf-8"))
    if size is not None:
        document["mesh"] = {"size": size}
    return fesolve.part_from(document, overrides={"hole_d": f"{diameter:.3f} mm"})


def once(diameter: float, size: str | None) -> tuple[dict[str, float], int]:
    """Seconds of the whole check, of meshing and of factorising alone; and the unknowns."""
    part = part_of(diameter, size)
    start = time.perf_counter()
    result = analysis.check(part, cures=False)
    seconds = {"check": time.perf_counter() - start}
    start = time.perf_counter()
    mesh = mesh_part(part, part_outline(part))
    seconds["meshing"] = time.perf_counter() - start
    model = modelling.model_of(part, mesh, result.wood)
    system = solve._assemble(model)
    start = time.perf_counter()
    solve._factorised(system, model.pins)
    seconds["factorisation"] = time.perf_counter() - start
    return seconds, 2 * len(result.mesh.points)


def main() -> None:
    """Print medians, and keep the figures."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    rows = []
    for words, size in SIZES.items():
        once(25.0, size)  # warm-up, not counted
        found = [once(25.0 + 0.05 * (number + 1), size) for number in range(rounds)]
        unknowns = statistics.median(count for _, count in found)
        times = {name: [seconds[name] for seconds, _ in found] for name in ("check", "meshing", "factorisation")}
        for name, values in times.items():
            print(f"{words:20} {unknowns:8,.0f} unknowns  {name:14} {statistics.median(values):.3f} s")
        target = TARGET if size else None
        what = f"the log stop again with another hole, {words} ({unknowns:,.0f})"
        rows.append(record.row(f"{what}: seconds", times["check"], target=target, least=False))
        for name in ("meshing", "factorisation"):
            rows.append(record.row(f"{what}: of {name} alone", record.ratios(times["check"], times[name])))
    record.save("same part again", rows)


if __name__ == "__main__":
    main()
