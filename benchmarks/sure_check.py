"""All rows of "how sure" and the chance of failure, against one check without them.

Run: python benchmarks/sure_check.py [--rounds 5]. Both run in one process, in turn, from the part to the verdict,
without pictures; what is stated is the time that the rows add, over the time of the check without them. A first round
does not count.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

import record

import fesolve

MESHES = Path(__file__).parents[1] / "meshes"
PARTS = ("drawbar", "pump_lever", "bracket", "log_stop")
TARGET = 4.0


def timed(part: fesolve.Part, rounds: int) -> tuple[list[float], list[float]]:
    """Seconds without and with, round by round."""
    without, with_ = [], []
    for _ in range(rounds):
        for times, sure in ((without, False), (with_, True)):
            start = time.perf_counter()
            fesolve.check(part, sure=sure, splits=False)
            times.append(time.perf_counter() - start)
    return without, with_


def added(without: list[float], with_: list[float]) -> list[float]:
    """What the rows add, over the check without them."""
    return [one - 1.0 for one in record.ratios(with_, without)]


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
        what = f'all rows of "how sure" and the chance, {name}, of the time of one check without them'
        rows.append(record.row(what, added(*timed(part, options.rounds)), target=TARGET, least=False))
        print(f"{rows[-1]['value']:8.2f}  {rows[-1]['low']:6.2f} to {rows[-1]['high']:6.2f}  {what}", flush=True)
    record.save("how sure", rows, options.results)


if __name__ == "__main__":
    main()
