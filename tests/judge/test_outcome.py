"""One flat row of a verdict, its mass and how far it moves."""

import numpy as np
import pytest

import fesolve
from fesolve.judge.outcome import NUMBERS, OUTCOMES, outcome_of
from tests.parts import document


@pytest.fixture(scope="module")
def bar():
    """A bar of 200 x 40 x 20 mm pulled along its grain by 8 kN, 480 kg/m^3."""
    doc = document(
        [(0, 0), (200, 0), (200, 40), (0, 40)],
        support=[
            {"name": "wall", "kind": "roller", "on": "edge D-A"},
            {"name": "foot", "kind": "fixed", "on": "corner A"},
        ],
        load=[{"name": "pull", "on": "edge B-C", "force": ["8000 N", "0 N"]}],
    )
    doc["wood"]["density"] = "480 kg/m^3"
    return fesolve.check(fesolve.part_from(doc), sure=False)


def test_mass_and_deflection_of_a_pulled_bar(bar):
    """By hand: m = ρ b h L; u = F L/(E A), and across it -ν of that strain."""
    assert bar.verdict.mass == pytest.approx(480e-9 * 200 * 40 * 20, rel=1e-9)
    strain = 8000 / (12000 * 40 * 20)
    assert bar.verdict.deflection == pytest.approx(np.hypot(200 * strain, 0.4 * 40 * strain), rel=1e-6)


def test_the_row_says_what_the_verdict_says(bar):
    row, verdict = outcome_of(bar.verdict), bar.verdict
    assert row.utilisation == pytest.approx(1 / verdict.governing.load_factor) and row.enough == (row.utilisation <= 1)
    assert (row.mode, row.where, (row.x, row.y)) == (
        verdict.governing.mode, verdict.governing.where, verdict.governing.at,
    )  # fmt: skip
    assert (row.low, row.best, row.high, row.of) == (
        verdict.takes.low, verdict.takes.best, verdict.takes.high, "pull",
    )  # fmt: skip
    assert set(NUMBERS) < set(OUTCOMES)


def test_a_lower_basis_wants_the_margin():
    doc = document(
        [(0, 0), (200, 0), (200, 40), (0, 40)],
        basis="lower 5%",
        support=[{"name": "wall", "kind": "fixed", "on": "edge D-A"}],
        load=[{"name": "pull", "on": "edge B-C", "force": ["0 N", "-100 N"]}],
    )
    part = fesolve.part_from(doc)
    once = outcome_of(fesolve.check(part, sure=False).verdict)
    assert once.enough
    push = 1.2 / once.utilisation / 1.5  # between the margin and 1
    twice = outcome_of(fesolve.check(part.with_({"load.pull.force": ["0 N", f"{-100 * push} N"]}), sure=False).verdict)
    assert 1 / 1.5 < twice.utilisation < 1 and not twice.enough
