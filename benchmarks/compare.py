"""fesolve against scikit-fem with three solvers and FElupe's assembly: one plate, three sizes, ratios in one run.

Run: python benchmarks/compare.py [--sizes 20k,200k,900k] [--rounds 3] [--results FILE]
needs `pip install -e '.[bench]'`. Every contender has a process of its own, one after the other in every round, so
that a busy machine weighs on all alike and the peak memory is that contender's alone. Displacements must agree before
a time counts.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import record
from assembly import compare_assembly
from contenders import CONTENDERS
from plate import SIZES, Plate, make_plate

AGREE = 1e-6  # of the greatest displacement; stress the same
HERE = Path(__file__).parent
OWN, AGAIN = "fesolve", "fesolve, again"
PEERS = [name for name in CONTENDERS if name not in (OWN, AGAIN)]
END_TO_END = {"scikit-fem, spsolve": 10.0, "scikit-fem, pypardiso": 1.8, "scikit-fem, PARDISO mtype 2": 1.3}
MANY = "scikit-fem, PARDISO mtype 2"  # the only peer of the eight cases: one factorisation, eight right-hand sides

Run = dict[str, Any]


def run(name: str, plate: Path, *more: str) -> tuple[Run, Path]:
    """One contender in a fresh process; its figures, and where its displacements are."""
    out = plate.with_name(f"{name}.npz")
    command = [sys.executable, str(HERE / "contenders.py"), name, str(plate), str(out), *more]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise SystemExit(f"{name} failed:\n{done.stderr[-2000:]}")
    return json.loads(done.stdout.splitlines()[-1]), out


def agreed(one: Path, other: Path) -> float:
    """The greatest difference of displacements and of stresses, of the greatest value; ends if it is too great."""
    with np.load(one) as a, np.load(other) as b:
        worst = max(float(np.abs(a[k] - b[k]).max() / np.abs(a[k]).max()) for k in ("displacement", "stress"))
    if not worst <= AGREE:
        raise SystemExit(f"{other.stem} differs from {one.stem} by {worst:.1e}; no time counts.")
    return worst


def rounds_of(plate: Path, rounds: int) -> tuple[dict[str, list[Run]], float]:
    """All contenders in turn, `rounds` times; and the greatest difference between them."""
    runs: dict[str, list[Run]] = {}
    worst = 0.0
    for _ in range(rounds):
        found, own = run(OWN, plate)
        runs.setdefault(OWN, []).append(found)
        for name in (AGAIN, *PEERS):
            found, out = run(name, plate)
            runs.setdefault(name, []).append(found)
            worst = max(worst, agreed(own, out))
        for name in (OWN, MANY):
            found, out = run(name, plate, "--cases")
            runs.setdefault(f"{name}, cases", []).append(found)
        agreed(plate.with_name(f"{OWN}.npz"), out)
    return runs, worst


def total(runs: list[Run]) -> list[float]:
    """Seconds from arrays to stress, round by round."""
    return [sum(one["times"].values()) for one in runs]


def step(runs: list[Run], name: str) -> list[float]:
    """Seconds of one step, round by round."""
    return [one["times"][name] for one in runs]


def own_rows(runs: dict[str, list[Run]], size: str, final: bool) -> list[dict[str, Any]]:
    """fesolve against its own first solve."""
    again = runs[AGAIN]
    first = [sum(one["times"][k] for k in ("assemble", "factorise", "after")) for one in again]
    after = record.ratios(step(again, "another load"), step(again, "factorise"))
    grain = record.ratios(step(again, "new grain"), first)
    many = record.ratios(total(runs[f"{OWN}, cases"]), total(runs[OWN]))
    name = "everything after the factorisation, one case, of the factorisation's time"
    return [
        record.row(f"new grain angle on the same mesh, of the first solve, {size}", grain, target=0.65, least=False),
        record.row(f"{name}, {size}", after, target=0.35 if final else None, least=False),
        record.row(f"eight load cases, of one case, {size}", many),
    ]


def rows_of(runs: dict[str, list[Run]], size: str, final: bool) -> list[dict[str, Any]]:
    """The ratios of one size; targets hold for the greatest."""
    own = total(runs[OWN])
    rows = [
        record.row(
            f"assemble, factorise, solve, recover: {name} against fesolve, {size}",
            record.ratios(total(runs[name]), own),
            target=END_TO_END[name] if final else None,
        )
        for name in PEERS
    ]
    many = record.ratios(total(runs[f"{MANY}, cases"]), total(runs[f"{OWN}, cases"]))
    rows.append(record.row(f"eight load cases: {MANY} against fesolve, {size}", many))
    leanest = [min(runs[name][k]["peak"] for name in PEERS) for k in range(len(own))]
    memory = record.ratios([one["peak"] for one in runs[OWN]], leanest)
    what = f"peak memory, of the leanest peer's, {size}"
    return [*rows, *own_rows(runs, size, final), record.row(what, memory, target=1.0 if final else None, least=False)]


def assembly_rows(times: dict[str, list[float]], size: str) -> list[dict[str, Any]]:
    """First and repeated assembly."""
    first = record.ratios(times["scikit-fem first"], times["fesolve first"])
    again = record.ratios(times["FElupe again"], times["fesolve again"])
    least = (3.0, 1.2) if size == "200k" else (None, None)
    return [
        record.row(f"first assembly: scikit-fem against fesolve, {size}", first, target=least[0]),
        record.row(f"repeated assembly: FElupe, cached, against fesolve, {size}", again, target=least[1]),
    ]


def measured(size: str, rounds: int, folder: Path) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """Rows of one size, and its table of seconds and memory."""
    plate = make_plate(SIZES[size])
    path = folder / "plate.npz"
    plate.save(path)
    runs, worst = rounds_of(path, rounds)
    rows = rows_of(runs, size, final=size == list(SIZES)[-1])
    rows += assembly_rows(compare_assembly(Plate.load(path), max(rounds, 5)), size)
    names = [OWN, *PEERS, f"{OWN}, cases", f"{MANY}, cases"]
    table = {name: {"seconds": total(runs[name]), "peak": [one["peak"] for one in runs[name]]} for name in names}
    steps = {name: [one["times"] for one in runs[name]] for name in (OWN, AGAIN, *PEERS)}
    return rows, {"unknowns": plate.unknowns, "differ": worst, "table": table, "steps": steps}


def main() -> None:
    """Measure, print, keep."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sizes", default=",".join(SIZES))
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--results", type=Path, default=record.RESULTS)
    options = parser.parse_args()
    rows, tables = [], {}
    with tempfile.TemporaryDirectory() as folder:
        for size in options.sizes.split(","):
            found, tables[size] = measured(size, options.rounds, Path(folder))
            rows += found
            for one in found:
                print(f"{one['value']:8.2f}  {one['low']:6.2f} to {one['high']:6.2f}  {one['what']}", flush=True)
    record.save("libraries", rows, options.results, sizes=tables)


if __name__ == "__main__":
    main()
