"""docs/verification.md: made from rows, and compared with rows made again."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Mapping, Sequence
from pathlib import Path

from checks import Check, reference_cases

PAGE = Path(__file__).parents[2] / "docs" / "verification.md"

HEAD = """\
# Verification

The solver against answers that were not made with it: closed forms, published benchmarks, and converged solutions made
with general-purpose libraries. This page is written by `python tests/reference/write_table.py`; the tests make every
row again, hold it to its tolerance, and fail when this page is out of date.

- **case**: its number in `tests/reference/cases.json`, where inputs and all expected values stand, or
  in `worked_examples.json`, `interaction.json` and `codes.json` beside it.
- **status**: where the reference comes from. READ: seen in a public text, which is named; textbook: a closed form found
  in textbooks, evaluated; derived: own derivation; computed: a converged solution made with general-purpose libraries,
  apart from this solver; from memory: recalled, not read.
- **error**: the difference over the reference, or over the stress or displacement that the case is scaled by (the
  stress far away, the greatest of the points compared) where the reference is smaller than that. For an order of
  convergence: how much it falls short. In brackets after it: the errors of the meshes it was found from.
- **tolerance**: the reference's; *own* where it states none for the quantity.
- **unknowns**: displacement components of the mesh; *formula* where a formula alone is evaluated: the exact field that
  other rows use as the load on a finite piece of a plate, or the hand calculation.
- "worst of 13" means that 13 places were compared and the row shows the one with the greatest error.
- W1 is a made-up wood: E 12,000 MPa along the grain and 600 across it, G 780 MPa, Poisson's ratio 0.4.
"""

TITLES = {
    "1": "Holes in plates and strips",
    "2": "Convergence to the exact field round a hole",
    "3": "Beams, wedge, patch tests",
    "4": "Short beams",
    "5": "A pin in its hole",
    "6": "Isotropic benchmarks",
    "7": "Cracks along the grain",
    "8": "Strikes",
    "9": "Supports that push and do not pull",
    "": "Hand formulas: textbook examples of shear flow, glue lines and short beams",
    "bearing": "Bearing and lasting loads: an angle to the grain, dowel bearing in the tables of fasteners, durations",
    "interaction": "Stresses together, at an angle to the grain, and the effect of size",
    "codes": "Formulas of timber codes for notches and bearings",
    "piece": "The piece in hand: moisture, shrinkage that is held, repeated loads, sloping grain",
    "allowables": "Design values: adjusted values and factored loads of published examples",
}


BEARING = ("HA", "FA", "DL")
INTERACTION = ("IN", "SZ")
CODES = ("NO", "CO")
PIECE = ("PC",)
ALLOWABLES = ("AL",)

NOTES = {
    "bearing": "Z is the reference value of one fastener by the yield limit equations, evaluated in the tests with "
    "the program's dowel bearing strengths; what is compared is what those strengths lead to.",
    "4": "The reference looked for the greatest shear at mid-depth in few places: its value is up to 0.4 % low. "
    "Quartic elements of scikit-fem, asked every 0.25 mm, give 0.79669 for 4.iso.1, 0.98450 (at x = 0.404 h) for "
    "4.iso.1.5 and 0.80420 for 4.W1g0.2, as the meshes here do. The reference's tolerance covers the difference.",
    "5": "For 5.8 to 5.10 the reference's angles are rounded to the nearest of 4,096 places round the hole and "
    "compared there. Pressure rises like a root from the contact's end, which has a tolerance of its own: within "
    "0.5 deg of it (5.7 at 30 deg) errors are of sb. The reference's series, made again with 720, 1,440 and 2,880 "
    "places round the hole, gives 0.2422, 0.2332 and 0.2341 there. The finite plates of 5.1 to 5.7 are 20 radii "
    "wide and carry the tractions that the series gives under the pressure found.",
    "6": "The principal stresses that were read for the tapered panel (6.3) have three digits and are 0.4 % and 1.2 % "
    "from the converged ones; they are shown for information.",
    "7": "Sides of the elements at a tip are a hundredth to a two-hundredth of the crack. The total is that of the "
    "domain integral; closure is a second way to both shares, from forces and movements at the nodes.",
}


def number(value: float) -> str:
    """Six digits, and nothing where rounding is all there is."""
    return "0" if abs(value) < 1e-12 else f"{value:.6g}"


def cells_of(row: Check) -> list[str]:
    """The row as the page shows it."""
    tolerance = "information" if row.tolerance is None else f"{row.tolerance:.3g}" + (" *own*" if row.own else "")
    error = f"{row.error:.1e}" if row.error >= 1e-12 else "< 1e-12"
    mark = "" if row.met else " **not met**"
    size = f"{row.unknowns:,}" if row.unknowns else "*formula*"
    return [
        row.case, row.status, row.quantity, number(row.reference), number(row.result), error + mark, tolerance, size,
    ]  # fmt: skip


COLUMNS = ("case", "status", "quantity", "reference", "result", "error", "tolerance", "unknowns")


def page(rows: Sequence[Check]) -> str:
    """The whole page."""
    made = [row for row in rows if row.tolerance is not None]
    missed = [row for row in made if not row.met]
    cases = dict.fromkeys(row.case for row in rows)
    lost = f", {len(missed)} not met" if missed else ", all met"
    parts = [HEAD, f"{len(cases)} cases, {len(made)} rows with a tolerance{lost}.\n"]
    for section, title in TITLES.items():
        parts.append(f"## {title}\n")
        inside = [case for case in cases if section_of(case) == section]
        parts.append("\n".join(f"- **{case}** {source_line(case)}" for case in inside) + "\n")
        shown = [row for row in rows if row.case in inside]
        table = ["| " + " | ".join(COLUMNS) + " |", "|" + "---|" * len(COLUMNS)]
        table += ["| " + " | ".join(cells_of(row)) + " |" for row in shown]
        parts.append("\n".join(table) + "\n")
        if section in NOTES:
            parts.append("\n".join(textwrap.wrap(NOTES[section], 119)) + "\n")
    return "\n".join(parts)


def section_of(case: str) -> str:
    """The number before the point; nothing for textbook examples of members, which bear letters."""
    first = case.partition(".")[0]
    if case[:2] in BEARING:
        return "bearing"
    if case[:2] in INTERACTION:
        return "interaction"
    if case[:2] in CODES:
        return "codes"
    if case[:2] in PIECE:
        return "piece"
    if case[:2] in ALLOWABLES:
        return "allowables"
    return first if first.isdigit() else ""


def source_line(case: str) -> str:
    """Title, source, what the reference was checked by and how sure it is."""
    data = reference_cases()[case]
    check = f" Checked by: {data['check']}." if data["check"] else ""
    return f"{data['title']}. Source: {data['source']}.{check} Confidence: {data['confidence']}."


def shown_rows(text: str) -> Mapping[str, list[list[str]]]:
    """The page's rows by case."""
    found: dict[str, list[list[str]]] = {}
    for line in text.splitlines():
        if re.match(r"\| (\d|[A-Z]{2}-)", line):
            cells = [cell.strip() for cell in line.strip("|").split(" | ")]
            found.setdefault(cells[0], []).append(cells)
    return found


def stale(row: Check, shown: Sequence[str]) -> str | None:
    """What the page says otherwise than the row; None where they agree but for last digits.

    Another machine or another gmsh makes slightly other meshes: the result may move by three quarters of the
    tolerance, the unknowns by a fifth, and which place is the worst may change.
    """
    now = cells_of(row)
    for i in (0, 1, 6):
        if now[i] != shown[i]:
            return f"{COLUMNS[i]} is {shown[i]!r}, now {now[i]!r}"
    if _stem(now[2]) != _stem(shown[2]):
        return f"quantity is {shown[2]!r}, now {now[2]!r}"
    if ("not met" in now[5]) != ("not met" in shown[5]):
        return f"error is {shown[5]!r}, now {now[5]!r}"
    if now[2] == shown[2] and row.tolerance is not None:
        slack = 0.75 * row.tolerance * row.scale + 1e-5 * abs(row.result)
        if now[3] != shown[3] or abs(float(shown[4]) - row.result) > slack:
            return f"result is {shown[4]} for {shown[3]}, now {now[4]} for {now[3]}"
    if abs(_count(shown[7]) - row.unknowns) > 0.2 * row.unknowns:
        return f"unknowns are {shown[7]}, now {now[7]}"
    return None


def _stem(quantity: str) -> str:
    """A quantity without its worst place and without the errors in brackets."""
    return re.sub(r"(; worst of \d+|; worst node).*$", r"\1", re.sub(r" \([\d., e-]+\)$", "", quantity))


def _count(text: str) -> int:
    return 0 if text == "*formula*" else int(text.replace(",", ""))
