"""Measured figures kept in results.json, a section each script; page.py makes docs/performance.md of them."""

from __future__ import annotations

import argparse
import json
import os
import platform
import statistics
from collections.abc import Callable, Sequence
from importlib import metadata
from pathlib import Path
from typing import Any

import fesolve

RESULTS = Path(__file__).parent / "results.json"
MESHES = Path(__file__).parents[1] / "meshes"
PARTS = ("drawbar", "pump_lever", "bracket", "log_stop")
LIBRARIES = (
    *("fesolve", "numpy", "scipy", "cvxopt", "gmsh", "pyvista"),
    *("scikit-fem", "pypardiso", "mkl", "felupe"),
)


def row(what: str, values: Sequence[float], *, target: float | None = None, least: bool = True) -> dict[str, Any]:
    """One figure: the median of what the rounds gave, with its range.

    Parameters
    ----------
    what : str
        In words, as it stands in the table.
    values : sequence of float
        One ratio a round.
    target : float, optional
        What is to be reached.
    least : bool
        Whether the target is the least value allowed, or the greatest.
    """
    figure = {"what": what, "value": statistics.median(values), "low": min(values), "high": max(values)}
    return figure | {"rounds": len(values), "target": target, "least": least}


def ratios(one: Sequence[float], other: Sequence[float]) -> list[float]:
    """Round by round, so that a busy machine weighs on both alike."""
    return [a / b for a, b in zip(one, other, strict=True)]


def save(section: str, rows: Sequence[dict[str, Any]], path: Path = RESULTS, **more: Any) -> None:
    """Put one section's rows and tables into the results, with the machine and the versions they were measured with."""
    known = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
    known[section] = {"rows": list(rows), "machine": machine(), "versions": versions(), **more}
    path.write_text(json.dumps(known, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def on_parts(
    about: str, section: str, measure: Callable[[fesolve.Part, int], list[float]], what: str, target: float
) -> None:
    """Measure on four example parts, print and keep: the whole of a script that knows ``--rounds`` and ``--results``.

    Parameters
    ----------
    about : str
        What ``--help`` says.
    section : str
        Of the results.
    measure : callable
        A part and a number of rounds to ratios, one a round. One round before does not count.
    what : str
        In words, with ``{name}`` for the part's.
    target : float
        The greatest value allowed.
    """
    parser = argparse.ArgumentParser(description=about, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--results", type=Path, default=RESULTS)
    options = parser.parse_args()
    rows = []
    for name in PARTS:
        part = fesolve.read_part(MESHES / f"{name}.toml")
        measure(part, 1)
        rows.append(row(what.format(name=name), measure(part, options.rounds), target=target, least=False))
        one = rows[-1]
        print(f"{one['value']:8.2f}  {one['low']:6.2f} to {one['high']:6.2f}  {one['what']}", flush=True)
    save(section, rows, options.results)


def machine() -> str:
    """The machine in neutral words."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    memory = os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE") / 1e9 if hasattr(os, "sysconf") else 0
    held = f", {memory:.0f} GB of memory" if memory else ""
    return f"{cores} cores{held}, {platform.system()} {platform.machine()}, Python {platform.python_version()}"


def versions() -> dict[str, str]:
    """Versions of the libraries that are there."""
    found = {}
    for name in LIBRARIES:
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            continue
    return found
