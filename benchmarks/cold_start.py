"""A cold `fesolve check` of the log stop, with and without pictures, against importing numpy, scipy, gmsh and meshing.

Run: python benchmarks/cold_start.py [rounds]. Processes run in turn, so that a busy machine weighs on all alike.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import record

PART = Path(__file__).parents[1] / "meshes" / "pile_stop.toml"
TARGETS = (2.5, 4.0)  # without pictures, with them
BARE = f"""
import numpy, scipy.sparse, scipy.sparse.linalg
from fesolve import read_part
from fesolve.mesh.outline import part_outline
from fesolve.mesh.generate import mesh_part
part = read_part({str(PART)!r})
mesh_part(part, part_outline(part))
"""


def run(command: list[str]) -> tuple[float, float]:
    """Wall seconds and peak memory (MB) of one process."""
    start = time.perf_counter()
    # an installed package keeps its bytecode: a setting that forbids it would time the compiler
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=env)
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        raise SystemExit(f"{' '.join(command[:4])} … ended with {process.returncode}")
    return time.perf_counter() - start, usage.ru_maxrss / 1024


def main() -> None:
    """Time the three processes in turn and print the table."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    with tempfile.TemporaryDirectory() as folder:
        check = [sys.executable, "-m", "fesolve", "check", str(PART), "--quiet", "--out", f"{folder}/out"]
        commands = {
            "import and mesh once": [sys.executable, "-c", BARE],
            "check, no pictures": [*check, "--no-pictures"],
            "check, with pictures": check,
        }
        for command in commands.values():
            run(command)  # warm-up, not counted
        times: dict[str, list[tuple[float, float]]] = {name: [] for name in commands}
        for _ in range(rounds):
            for name, command in commands.items():
                times[name].append(run(command))
    report(times)


def report(times: dict[str, list[tuple[float, float]]]) -> None:
    """Print medians, and keep the ratios to the first process."""
    bare, *others = times
    base = [seconds for seconds, _ in times[bare]]
    print(f"{'process':24}{'median s':>10}{'peak MB':>10}{'ratio':>8}")
    for name, rows in times.items():
        ratio = statistics.median(record.ratios([seconds for seconds, _ in rows], base))
        median, peak = statistics.median(s for s, _ in rows), max(mb for _, mb in rows)
        print(f"{name:24}{median:10.2f}{peak:10.0f}{ratio:8.2f}")
    figures = []
    for name, target in zip(others, TARGETS, strict=True):
        found = record.ratios([seconds for seconds, _ in times[name]], base)
        figures.append(record.row(f"cold {name}, of {bare}", found, target=target, least=False))
    record.save("cold start", figures)


if __name__ == "__main__":
    main()
