"""Writes docs/performance.md from results.json. Run: python benchmarks/page.py"""

from __future__ import annotations

import json
import statistics
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import record

PAGE = Path(__file__).parents[1] / "docs" / "performance.md"
SECTIONS = {  # order on the page; a section without results is left out
    "libraries": "Against general-purpose libraries",
    "cold start": "Cold start",
    "one-way supports": "Supports that push and do not pull",
    "time steps": "A strike through time",
    "strike check": "The whole check with a strike",
    "how sure": "How sure",
    "splitting by energy": "Splitting by energy",
    "sweeps: workers": "Sweeps: two workers",
    "sweeps: variant": "Sweeps: one variant",
    "sweeps: memory": "Sweeps: memory",
    "accuracy": "Accuracy per unknown",
    "same part again": "The same part again",
}
HEAD = """# Performance

Written by `benchmarks/page.py` from what the scripts in benchmarks/ measured; what each does is told in
[benchmarks/README.md](../benchmarks/README.md). Every figure is a ratio of two times (or two peaks of memory) taken in
turn in one run, so it carries over to another machine better than seconds do; it is the median of the rounds, with the
least and the greatest beside it. Seconds are shown for scale only.
"""


def page(results: dict[str, Any]) -> str:
    """The whole page."""
    parts = [HEAD, _targets(results)]
    for name, title in SECTIONS.items():
        if name in results:
            parts.append(_section(title, results[name]))
    return "\n".join(parts)


def _targets(results: dict[str, Any]) -> str:
    rows = [row for name in SECTIONS if name in results for row in results[name]["rows"] if row["target"] is not None]
    lines = [
        [row["what"], f"at {'least' if row['least'] else 'most'} {row['target']:g}", *_values(row), _word(row)]
        for row in rows
    ]
    return "## Figures to reach\n\n" + _table(["what", "target", "measured", "range", ""], lines)


def _word(row: dict[str, Any]) -> str:
    return "met" if (row["value"] >= row["target"]) == row["least"] or row["value"] == row["target"] else "missed"


def _values(row: dict[str, Any]) -> list[str]:
    value, low, high = (_number(row[key]) for key in ("value", "low", "high"))
    return [value, f"{low} to {high}" if row["rounds"] > 1 else ""]


def _number(value: float) -> str:
    """Three digits."""
    return f"{value:.3g}" if abs(value) < 1000 else f"{value:,.0f}"


def _section(title: str, section: dict[str, Any]) -> str:
    libraries = ", ".join(f"{name} {version}" for name, version in section["versions"].items())
    rows = [[row["what"], *_values(row), str(row["rounds"])] for row in section["rows"]]
    parts = [f"## {title}\n\n{section['machine']}; {libraries}.\n", section.get("text", "")]
    parts.append(_table(["what", "ratio", "range", "rounds"], rows))
    parts += [_size(size, table) for size, table in section.get("sizes", {}).items()]
    return "\n".join(part for part in parts if part)


def _size(size: str, found: dict[str, Any]) -> str:
    rows = [
        [name, _median(one["seconds"]), f"{statistics.median(one['peak']) / 1e9:.2f}"]
        for name, one in found["table"].items()
    ]
    parts = [
        f"### {size}: {found['unknowns']:,} unknowns\n\nContenders differ by at most {found['differ']:.0e} of the "
        "greatest displacement or stress.\n",
        _table(["contender", "seconds", "peak memory, GB"], rows),
        _table(["step", "seconds"], [[f"{name}: {step}", s] for name, step, s in _steps(found["steps"])]),
    ]
    return "\n".join(parts)


def _steps(steps: dict[str, Any]) -> list[tuple[str, str, str]]:
    return [(name, step, _median([run[step] for run in runs])) for name, runs in steps.items() for step in runs[0]]


def _median(values: Sequence[float]) -> str:
    return f"{statistics.median(values):.2g}" if statistics.median(values) < 10 else f"{statistics.median(values):.0f}"


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(json.loads(record.RESULTS.read_text(encoding="utf-8"))), encoding="utf-8")
