"""The whole check of the struck log stop, with its strike followed through time, against the static check.

Run: python benchmarks/strike_check.py [--rounds 5]. The static one is the same part under a load of the struck force.
Both run in one process, in turn, from the part to the verdict, without pictures; a first round does not count.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

import record

import fesolve
from fesolve.judge.struck import standing

PART = Path(__file__).parents[1] / "meshes" / "log_stop.toml"
TARGET = 2.0


def both(path: Path = PART) -> tuple[fesolve.Part, fesolve.Part]:
    """The struck part, and the same with a load of the struck force in the strike's place."""
    part = fesolve.read_part(path)
    forces = {row.case: row.struck_high for row in fesolve.check(part, sure=False).verdict.strikes}
    return part, standing(part, forces).model_copy(update={"strikes": ()})


def timed(parts: tuple[fesolve.Part, fesolve.Part], rounds: int) -> tuple[list[float], list[float]]:
    """Seconds of each, round by round."""
    found: tuple[list[float], list[float]] = ([], [])
    for _ in range(rounds):
        for part, times in zip(parts, found, strict=True):
            start = time.perf_counter()
            fesolve.check(part, sure=False)
            times.append(time.perf_counter() - start)
    return found


def main() -> None:
    """Measure, print, keep."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--results", type=Path, default=record.RESULTS)
    options = parser.parse_args()
    struck, static = timed(both(), options.rounds)
    what = "check of the log stop with its strike through time, of the static check's time"
    row = record.row(what, record.ratios(struck, static), target=TARGET, least=False)
    print(f"{row['value']:8.2f}  {row['low']:6.2f} to {row['high']:6.2f}  {row['what']}", flush=True)
    record.save("strike check", [row], options.results)


if __name__ == "__main__":
    main()
