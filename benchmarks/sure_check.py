"""All rows of "how sure" and the chance of failure, against one check without them.

Run: python benchmarks/sure_check.py [--rounds 5]. Both run in one process, in turn, from the part to the verdict,
without pictures; what is stated is the time that the rows add, over the time of the check without them. A first round
does not count.
"""

from __future__ import annotations

import time

import record

import fesolve

TARGET = 4.0


def timed(part: fesolve.Part, rounds: int) -> list[float]:
    """What the rows add, over the check without them, round by round."""
    without, with_ = [], []
    for _ in range(rounds):
        for times, sure in ((without, False), (with_, True)):
            start = time.perf_counter()
            fesolve.check(part, sure=sure, splits=False, cures=False)
            times.append(time.perf_counter() - start)
    return [one - 1.0 for one in record.ratios(with_, without)]


def main() -> None:
    """Measure, print, keep."""
    what = 'all rows of "how sure" and the chance, {name}, of the time of one check without them'
    record.on_parts(__doc__ or "", "how sure", timed, what, TARGET)


if __name__ == "__main__":
    main()
