"""Sweeps: two workers against one, one variant against a cold check, and the memory of a long run.

Run: python benchmarks/sweep.py [--rounds 3] [--variants 1000] [--only workers|variant|memory].

Workers: the drawbar with notches of 24 depths, from the call to the last row, processes started anew each time.
Variant: the mean seconds of a variant of the drawbar and of the log stop in a sweep, with one mesh for all (grain
turned) and with a mesh each (a dimension varied), over those of `fesolve check PART --no-pictures` as a process.
Memory: the log stop under a force like that of its strike, at rest, its grain turned a little in every variant; the
resident memory of this process and its workers over the last hundred variants over that about the hundredth (Linux
only). Workers make room for new ones after fifty variants, so a hundred see each of two come and go once.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import record

import fesolve

MESHES = Path(__file__).parents[1] / "meshes"
VARIED = {
    "drawbar": {"grain": "-4 deg to 4 deg in 9", "notch_depth": "20 mm to 30 mm in 9"},
    "log_stop": {"grain": "-2 deg to 2 deg in 5", "hole_d": "25 mm to 26 mm in 5"},
}
BEGIN, WINDOW = 100, 100  # the variant that memory is counted from, and how many its mean goes over


def workers(rounds: int, variants: int = 24) -> list[dict[str, object]]:
    """Time of a sweep with one worker over that with two."""
    part = fesolve.read_part(MESHES / "drawbar.toml")
    times: dict[int, list[float]] = {1: [], 2: []}
    for _ in range(rounds):
        for count, found in times.items():
            start = time.perf_counter()
            fesolve.sweep(part, {"notch_depth": f"15 mm to 35 mm in {variants}"}, workers=count)
            found.append(time.perf_counter() - start)
    what = f"one worker over two, {variants} variants of the drawbar with a mesh each"
    return [record.row(what, record.ratios(times[1], times[2]), target=1.8)]


def variant(rounds: int) -> list[dict[str, object]]:
    """Time of one variant over that of a cold check without pictures."""
    rows = []
    for name, vary in VARIED.items():
        part = fesolve.read_part(MESHES / f"{name}.toml")
        shares: dict[str, list[float]] = {varied: [] for varied in vary}
        for _ in range(rounds):
            cold = cold_check(name)
            for varied, values in vary.items():
                seconds = fesolve.sweep(part, {varied: values}, workers=1)["seconds"][
                    2:
                ]  # the first ones load libraries
                shares[varied].append(float(seconds.mean()) / cold)
        rows += [
            record.row(
                f"a variant of {name} with other {varied}, of a cold check without pictures",
                found,
                target=0.5,
                least=False,
            )
            for varied, found in shares.items()
        ]
    return rows


def cold_check(name: str) -> float:
    """Seconds of the main job as a process."""
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "fesolve", "check", str(MESHES / f"{name}.toml"), "--no-pictures"]
        paths = os.pathsep.join([str(MESHES.parent), os.environ.get("PYTHONPATH", "")])
        environment = {**os.environ, "PYTHONPATH": paths, "OPENBLAS_NUM_THREADS": "1"}
        start = time.perf_counter()
        subprocess.run(command, cwd=folder, env=environment, check=True, stdout=subprocess.DEVNULL)
        return time.perf_counter() - start


def memory(variants: int) -> list[dict[str, object]]:
    """Resident memory over the last variants over that about the hundredth."""
    part = at_rest()
    used: list[float] = []

    def tell(done: int, total: int, row: object) -> None:
        used.append(resident())
        if done % 100 == 0:
            print(f"{done:6d} of {total}: {used[-1] / 1e6:.0f} MB", flush=True)

    with tempfile.TemporaryDirectory() as folder:
        vary = {"grain": f"-3 deg to 3 deg in {variants}"}
        fesolve.sweep(part, vary, workers=2, out=Path(folder) / "sweep.sqlite", tell=tell)
    window = min(WINDOW, variants // 4)
    first = min(BEGIN, variants // 2) + window // 2
    begin, end = (sum(used[last - window : last]) / window for last in (first, len(used)))
    what = f"memory after {variants} variants of the log stop over that after {first - window // 2}, two workers"
    return [record.row(what, [end / begin], target=1.05, least=False)]


def at_rest() -> fesolve.Part:
    """The log stop with a load in the place of its strike, on its first mesh."""
    source = dict(fesolve.read_part(MESHES / "log_stop.toml").source)
    (strike,) = source.pop("strike")
    place = {key: strike[key] for key in ("name", "on", "from", "to")}
    return fesolve.part_from({**source, "load": [{**place, "force": ["0 N", "-7.5 kN"]}], "mesh": {"refine_limit": 1}})


def resident() -> float:
    """Bytes of this process and of those that it started."""
    mine, total = os.getpid(), 0
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            fields = (folder / "stat").read_text().rpartition(")")[2].split()
            pages = int((folder / "statm").read_text().split()[1])
        except OSError:  # it ended meanwhile
            continue
        if int(folder.name) == mine or int(fields[1]) == mine:
            total += pages
    return float(total * os.sysconf("SC_PAGE_SIZE"))


def main() -> None:
    """Measure, print, keep."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--variants", type=int, default=1000)
    parser.add_argument("--only", choices=["workers", "variant", "memory"])
    parser.add_argument("--results", type=Path, default=record.RESULTS)
    options = parser.parse_args()
    parts = {
        "workers": lambda: workers(options.rounds),
        "variant": lambda: variant(options.rounds),
        "memory": lambda: memory(options.variants),
    }
    for name, measure in parts.items():
        if options.only in (None, name):
            rows = measure()
            for row in rows:
                print(f"{row['value']:8.2f}  {row['low']:6.2f} to {row['high']:6.2f}  {row['what']}", flush=True)
            record.save(f"sweeps: {name}", rows, options.results)


if __name__ == "__main__":
    main()
