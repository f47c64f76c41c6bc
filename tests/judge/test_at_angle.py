"""One stress at an angle to the grain against Hankinson's strength: along free edges, and at sections of the member."""

import io
import json
from pathlib import Path

import numpy as np
import pytest
from parts import STRENGTH, check, document, held

from fesolve.judge.at_angle import along_edge, free_probes
from fesolve.judge.inspected import inspect_part
from fesolve.units import Formatter
from fesolve.view.terminal import make_console, print_verdict
from fesolve.wood.bearing import hankinson

PRINTED = json.loads((Path(__file__).parents[1] / "reference" / "worked_examples.json").read_text(encoding="utf-8"))
LOVETT = next(case for case in PRINTED["cases"] if case["id"] == "HA-01")


def bar(pull, grain, strength=STRENGTH, **more):
    """A bar under an even stress along x, its long edges free."""
    load = [
        {"name": "far", "on": "edge B-C", "traction": [f"{pull!r} MPa", "0 MPa"]},
        {"name": "near", "on": "edge D-A", "traction": [f"{-pull!r} MPa", "0 MPa"]},
    ]
    line = {"line": [["0 mm", "20 mm"], ["200 mm", "20 mm"]]}  # else the member runs along the grain
    doc = document([(0, 0), (200, 0), (200, 40), (0, 40)], grain=grain, support=held(), load=load, member=line, **more)
    doc["wood"]["strength"] = dict(strength)
    return doc


def rows(result):
    return {(row.kind, row.value < 0.0): row for row in result.verdict.at_an_angle}


@pytest.mark.parametrize("index", [1, 3, 6])
def test_a_published_table_through_a_part_file(index):
    """T. Lovett's figures (P = 87.6, Q = 2.0 MPa) at 5, 15 and 30 deg, at the edge and at the section."""
    angle, printed = LOVETT["inputs"]["angles_deg"][index], LOVETT["expected"]["N_MPa"][index]
    found = rows(check(bar(3.0, float(angle), {**STRENGTH, "tension_along": "87.6 MPa"})))
    assert set(found) == {("edge", False), ("section", False)}
    for row in found.values():
        assert row.value == pytest.approx(3.0, rel=1e-5)
        assert row.angle == pytest.approx(angle, abs=1e-6)
        assert row.allowable == pytest.approx(printed, rel=1e-6)
        assert row.utilisation == pytest.approx(3.0 / printed, rel=1e-5)
        assert row.end == "breaks"


@pytest.mark.parametrize(("grain", "end"), [(20.0, "crushes"), (-70.0, "dents")])
def test_compression_at_an_angle(grain, end):
    found = rows(check(bar(-2.0, grain)))
    limit = hankinson(40.0, 5.0, abs(grain))
    assert set(found) == {("edge", True), ("section", True)}
    for row in found.values():
        assert (row.utilisation, row.end) == (pytest.approx(2.0 / limit, rel=1e-5), end)


def test_along_the_grain_there_is_nothing_to_say():
    assert check(bar(3.0, 0.5)).verdict.at_an_angle == ()


def test_a_load_that_lasts():
    """Fifty years leave 0.58 (L. W. Wood's curve); across the grain in compression nothing is lost."""
    for pull, limit in (
        (2.0, lambda k: k * hankinson(80.0, 2.0, 20.0)),
        (-2.0, lambda k: hankinson(40 * k, 5.0, 20.0)),
    ):
        case = [{"name": "long", "loads": {"far": 1.0, "near": 1.0}, "duration": "50 years"}]
        result = check(bar(pull, 20.0, case=case))
        k = next(one.allowable for one in result.verdict.modes if one.mode == "tension along grain") / 80.0
        assert k == pytest.approx(0.58, abs=0.005)
        assert rows(result)["edge", pull < 0].allowable == pytest.approx(limit(k), rel=1e-9)


def test_stress_along_any_edge_of_an_even_field():
    """n-th edge: σ_t of the tensor, and its angle to the grain (the tensor turned; any textbook)."""
    result = check(bar(3.0, 35.0))
    inspection = inspect_part(result.part, result.outline, result.wood, result.solution).inspection
    probes = inspection.probes
    stress, angle = along_edge(result.solution, result.solution.stress_grain[0], probes, 35.0)
    assert stress == pytest.approx(3.0 * probes.tangent[:, 0] ** 2, abs=1e-4)
    off = np.degrees(np.arccos(np.abs(probes.tangent @ [np.cos(np.radians(35)), np.sin(np.radians(35))])))
    assert angle == pytest.approx(off, abs=1e-6)
    assert np.linalg.norm(probes.tangent, axis=1) == pytest.approx(np.ones(len(probes.tangent)))


def test_only_free_edges_count():
    """Nothing within 5 mm of a load on an edge, nor on the half of a hole on which a pin bears."""
    pin = {"name": "pin", "kind": "pin", "on": "hole eye"}
    side = {"name": "side", "kind": "fixed", "on": "corner A", "axes": ["y"]}
    hole = {"name": "eye", "center": ["170 mm", "20 mm"], "diameter": "16 mm"}
    load = {"name": "far", "on": "edge D-A", "traction": ["-3 MPa", "0 MPa"]}
    doc = document([(0, 0), (200, 0), (200, 40), (0, 40)], support=[pin, side], load=[load], hole=[hole])
    result = check(doc)
    inspected = inspect_part(result.part, result.outline, result.wood, result.solution)
    name = result.part.cases[0].name
    free, points = free_probes(inspected.inspection, name, inspected.actions[name]), inspected.inspection.probes.points
    away = points - [170.0, 20.0]
    wall = np.linalg.norm(away, axis=1) < 8.05
    assert set(np.sign(away[wall & free][:, 0])) == {-1.0}  # the pin holds the bar back: its right half presses left
    assert free[wall & (away[:, 0] < -0.1)].all()
    assert not free[points[:, 0] < 5.0].any()
    assert free[(points[:, 0] > 20.0) & (points[:, 1] < 1e-6)].all()


def test_a_border_between_regions_is_no_edge():
    strip = {"from": ["0 mm", "20 mm"], "to": ["200 mm", "20 mm"], "width": "10 mm"}
    result = check(bar(3.0, 0.0, region=[{"name": "core", "strip": strip, "grain": "30 deg"}]))
    for row in result.verdict.at_an_angle:
        if row.kind == "edge":
            x, y = row.at
            assert min(x, 200 - x, y, 40 - y) < 1e-6


def test_it_is_told_and_never_decides():
    result = check(bar(3.0, 15.0))
    stream = io.StringIO()
    print_verdict(result.verdict, Formatter("si"), make_console(stream, width=100))
    text = stream.getvalue()
    assert "One stress at an angle to the grain (Hankinson's formula; never decides)" in text
    assert "edge, pulled" in text
    assert "member, pulled" in text
    assert result.verdict.governing.mode in {"splitting", "combined"}
