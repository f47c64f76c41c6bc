"""The verification table: every row within its tolerance, and docs/verification.md up to date.

References with source and status stand in cases.json and worked_examples.json; the page is written by write_table.py.
"""

from __future__ import annotations

from functools import cache

import pytest
from cases import FAMILIES, SLOW, rows_of
from checks import Check, reference_cases, status_word
from table import PAGE, cells_of, page, shown_rows, stale

# rows that miss their tolerance, each with the reason; the page marks them
NOT_MET: dict[str, str] = {}

HINT = "run python tests/reference/write_table.py"


@cache
def shown() -> dict[str, list[list[str]]]:
    return dict(shown_rows(PAGE.read_text(encoding="utf-8")))


def parameters() -> list[object]:
    return [pytest.param(case, marks=pytest.mark.slow if case in SLOW else ()) for case in FAMILIES]


@pytest.mark.parametrize("case", parameters())
def test_case(case: str) -> None:
    rows = rows_of(case)
    missed = [" | ".join(cells_of(row)) for row in rows if not row.met and row.quantity not in NOT_MET]
    assert not missed, "\n".join(missed)
    on_page = shown().get(case, [])
    assert len(on_page) == len(rows), f"docs/verification.md has {len(on_page)} rows for {case}: {HINT}"
    old = [text for row, cells in zip(rows, on_page, strict=True) if (text := stale(row, cells))]
    assert not old, f"docs/verification.md is stale ({HINT}):\n" + "\n".join(old)


def test_page_has_these_cases_and_this_text() -> None:
    assert list(shown()) == list(reference_cases()), HINT
    text = PAGE.read_text(encoding="utf-8")
    blank = page([Check(case, "", 1.0, 1.0, None, 1.0) for case in reference_cases()])
    prose = [line for line in blank.splitlines() if not line.startswith("| ") and " cases, " not in line]
    assert [line for line in text.splitlines() if not line.startswith("| ") and " cases, " not in line] == prose, HINT


def test_all_sections_are_covered() -> None:
    numbered = [case for case in FAMILIES if case[0].isdigit()]
    assert {case.split(".")[0] for case in numbered} == set("123456789")
    assert len(numbered) == 68
    assert all(status_word(data["source"]) for data in reference_cases().values())


def test_a_changed_result_makes_the_page_stale() -> None:
    row = Check("1.1", "greatest hoop stress", 5.85, 5.86, 0.005, 5.85, 1000)
    assert stale(row, cells_of(row)) is None
    moved = Check("1.1", "greatest hoop stress", 5.85, 5.83, 0.005, 5.85, 1000)
    assert "result is" in str(stale(moved, cells_of(row)))
    assert "unknowns" in str(stale(Check("1.1", "greatest hoop stress", 5.85, 5.86, 0.005, 5.85, 2000), cells_of(row)))
    missed = Check("1.1", "greatest hoop stress", 5.85, 5.9, 0.005, 5.85, 1000)
    assert not missed.met
    assert "**not met**" in cells_of(missed)[5]
