"""How far a long run is, in lines for a log, where there is no terminal that a bar could be drawn on."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

EVERY = 30.0  # s between lines


@dataclass
class Countdown:
    """Says now and then how many of all are done, and about how long the rest takes.

    Attributes
    ----------
    every : float
        Seconds between two lines.
    clock : callable
        Seconds since some beginning.
    """

    every: float = EVERY
    clock: Callable[[], float] = time.monotonic
    began: tuple[float, int] | None = None
    said: float = 0.0

    def __call__(self, done: int, total: int) -> str:
        """A line, or "" where it is not yet time for one.

        What was done before this run began costs nothing; the time left goes by what came since.
        """
        now = self.clock()
        if self.began is None:
            self.began, self.said = (now, done), now
        start, before = self.began
        if now - self.said < self.every or done in (before, total):
            return ""
        self.said = now
        left = (now - start) / (done - before) * (total - done)
        return f"{done:,} of {total:,} variants, about {_roughly(left)} left"


def _roughly(seconds: float) -> str:
    """A time to about a tenth.

    Examples
    --------
    >>> [_roughly(seconds) for seconds in (0.4, 42.0, 600.0, 9000.0)]
    ['1 s', '42 s', '10 minutes', '2.5 hours']
    """
    if seconds < 90.0:
        return f"{max(seconds, 1.0):.0f} s"
    return f"{seconds / 60.0:.0f} minutes" if seconds < 5400.0 else f"{seconds / 3600.0:.1f} hours"
