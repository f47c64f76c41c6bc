"""Memory of a solve, estimated before it starts, and refused where there is not enough."""

from __future__ import annotations

import math
import os
from pathlib import Path

from ..errors import SolveError

MEMINFO = Path("/proc/meminfo")  # Linux
# bytes an unknown, from peaks measured at 20k, 200k and 900k unknowns of six-node triangles, some 5 % on the safe side
GROWTH, START = 110.0, 200.0


def needed_memory(unknowns: int) -> float:
    """Bytes that the first solve of a mesh takes at its peak, beside what the process already holds.

    The factor of a plane mesh has about n log2 n entries (see `ordering`), the rest grows as n.

    Parameters
    ----------
    unknowns : int
        Two a node.
    """
    return unknowns * (GROWTH * math.log2(max(unknowns, 2)) + START)


def available_memory() -> float | None:
    """Bytes that can be had without swapping, or None where the system does not tell."""
    try:
        lines = MEMINFO.read_text(encoding="ascii").splitlines()
        fields = dict(line.split(":", 1) for line in lines)
        return float(fields["MemAvailable"].split()[0]) * 1024
    except (OSError, KeyError, ValueError):
        pass
    try:
        return float(os.sysconf("SC_AVPHYS_PAGES") * os.sysconf("SC_PAGE_SIZE"))
    except (AttributeError, OSError, ValueError):  # Windows, macOS
        return None


def refuse_what_does_not_fit(unknowns: int, *, again: bool = False) -> None:
    """Raise SolveError if a solve would need more memory than there is.

    Parameters
    ----------
    unknowns : int
    again : bool
        Whether the factor of a first solve is held already and will be overwritten: little more is needed then.
    """
    available = available_memory()
    if again or available is None or needed_memory(unknowns) <= available:
        return
    raise SolveError(
        f"{unknowns:,} unknowns need about {needed_memory(unknowns) / 1e9:.1f} GB of memory, and "
        f"{available / 1e9:.1f} GB are available. Use larger elements, or free memory."
    )
