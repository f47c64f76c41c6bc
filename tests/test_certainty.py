"""How sure: each row against a full check of what it varies, or against a closed form; what they say together."""

from functools import cache

import numpy as np
import pytest
from docs_text import ROOT
from parts import STRENGTH, document, uniform

import fesolve
from fesolve.fem.model import PlaneModel
from fesolve.judge.criteria import SplitStrength, split_utilisation
from fesolve.judge.rows_sure import SureRow
from fesolve.judge.sure import answer_of, listed, sure_of, why_sure

DRAWBAR = ROOT / "meshes" / "drawbar.toml"
LOG_STOP = ROOT / "meshes" / "log_stop.toml"


def checked(doc, **more):
    return fesolve.check(fesolve.part_from(doc), splits=False, cures=False, **more).verdict


def row_of(verdict, words):
    (row,) = [row for row in verdict.how_sure if words in row.what]
    return row


@cache
def drawbar():
    return fesolve.check(fesolve.read_part(DRAWBAR), splits=False, cures=False).verdict


def as_checked(path, **changes):
    """The load that a full check of a changed part goes by."""
    part = fesolve.read_part(path, {name.replace("__", "."): value for name, value in changes.items()})
    return fesolve.check(part, sure=False, splits=False)


# ---- rows against full checks of the changed part


@pytest.mark.parametrize(
    ("words", "changes"),
    [
        ("grain 5 deg counter-clockwise", {"wood__grain": "5 deg"}),
        ("grain 5 deg clockwise", {"wood__grain": "-5 deg"}),
        ("board quarter-sawn", {"wood__board": "quarter-sawn"}),
    ],
)
def test_a_row_is_what_a_full_check_of_the_changed_part_says(words, changes):
    found = as_checked(DRAWBAR, **changes).verdict
    row = row_of(drawbar(), words)
    assert row.takes == pytest.approx(found.takes.judged, rel=0.02)
    assert row.utilisation == pytest.approx(found.governing.utilisation, rel=0.02)
    assert row.load_factor == pytest.approx(found.governing.load_factor, rel=0.02)
    assert row.mode == found.governing.mode
    assert row.at == pytest.approx(found.governing.at, abs=1.5)


def test_a_load_elsewhere_is_what_a_full_check_says():
    part = fesolve.read_part(DRAWBAR)
    (load,) = part.loads
    for words, by in (("towards C", -5.0), ("towards D", 5.0)):
        on = load.on.model_copy(update={"start": load.on.start + by, "stop": load.on.stop + by})
        there = part.model_copy(update={"loads": (load.model_copy(update={"on": on}),)})
        found = fesolve.check(there, sure=False, splits=False).verdict.takes.judged
        assert row_of(drawbar(), words).takes == pytest.approx(found, rel=0.02), words


def test_energy_rows_are_the_ends_that_were_judged():
    verdict, quick = drawbar(), fesolve.check(fesolve.read_part(DRAWBAR), sure=False, splits=False).verdict
    low, high = row_of(verdict, "toughness low"), row_of(verdict, "toughness high")
    assert low.takes == pytest.approx(quick.takes.low, rel=1e-9)
    assert high.takes == pytest.approx(quick.takes.high, rel=1e-9)
    assert (low.changes, verdict.governing) == ((), quick.governing)  # what decides does not change
    assert high.mode == "combined" and "mode" in high.changes
    assert verdict.takes.judged == quick.takes.low and verdict.takes.best == quick.takes.best


def test_low_and_high_are_the_least_and_the_greatest_of_the_rows():
    verdict = drawbar()
    loads = [row.takes for row in verdict.how_sure]
    assert (verdict.takes.low, verdict.takes.high) == (min(loads), max(loads))
    assert verdict.takes.low < verdict.takes.judged < verdict.takes.best < verdict.takes.high
    groups = {row.group for row in verdict.how_sure}
    assert groups == {"toughness", "strength", "grain", "place", "face"}


# ---- rows against closed forms


def test_strengths_at_5_and_95_percent_of_one_strength():
    """Even pull across the grain: the load goes as the strength, 1 -+ 1.645 x 0.25."""
    verdict = checked(uniform((0.0, 1.6, 0.0)))
    for percent, factor in (("5", 1 - 1.645 * 0.25), ("95", 1 + 1.645 * 0.25)):
        assert row_of(verdict, f"at {percent} %").takes == pytest.approx(2.0 / 1.6 * factor, rel=1e-4)


@pytest.mark.parametrize(("way", "turn"), [("counter-clockwise", 5.0), ("clockwise", -5.0)])
def test_turned_grain_in_an_even_stress(way, turn):
    """Stress turned by 5 deg (Mohr), put into the criterion."""
    a = np.radians(turn)
    pull, shear = 1.0, 1.5
    doc = uniform((0.0, pull, shear))
    across = pull * np.cos(a) ** 2 - 2 * shear * np.sin(a) * np.cos(a)
    along = shear * np.cos(2 * a) + pull * np.sin(a) * np.cos(a)
    f = SplitStrength(8.0, 2.0, 5.0)
    (wanted,) = split_utilisation(np.array([across]), np.array([along]), f)
    verdict = checked(doc)
    assert row_of(verdict, f"deg {way}").utilisation == pytest.approx(wanted, rel=2e-3)


BOARD = [(0, 0), (400, 0), (400, 24), (0, 24)]
BED = [
    {"name": "left", "kind": "rest", "on": "edge A-B", "from": "0 mm", "to": "10 mm", "friction": 0},
    {"name": "right", "kind": "rest", "on": "edge A-B", "from": "390 mm", "to": "400 mm", "friction": 0},
    {"name": "stop", "kind": "fixed", "on": "corner A", "axes": ["x"]},
]


def board(at=(100.0, 110.0), bed=BED, **load):
    """A strip that breaks in bending: strong in all but tension along the grain."""
    push = {"name": "wheel", "on": "edge C-D", "from": f"{400 - at[1]} mm", "to": f"{400 - at[0]} mm", **load}
    doc = document(BOARD, support=bed, load=[{"force": ["0 N", "-300 N"], **push}])
    others = dict.fromkeys(STRENGTH, "400 MPa")
    doc["wood"] |= {"strength": {**others, "tension_along": "80 MPa"}, "fracture": {"split_length": "20 mm"}}
    return doc


def test_a_load_elsewhere_on_a_simple_beam():
    """M = F a (L - a)/L under the load (any textbook), between reactions as they were found."""
    verdict = checked(board())
    assert verdict.governing.mode == "tension along grain" and verdict.governing.note.startswith("M/S")
    share = next(row.force[1] for row in verdict.reactions if row.name == "right") / 300.0  # a/L
    first = next(row for row in verdict.contacts if row.name == "left").at[0]
    span = (105.0 - first) / share

    def moment(shift):
        a = 105.0 - first + shift
        return a * (span - a) / span

    for corner, shift in (("C", 5.0), ("D", -5.0)):
        wanted = verdict.takes.judged * moment(0.0) / moment(shift)
        assert row_of(verdict, f"towards {corner}").takes == pytest.approx(wanted, rel=0.01)


def test_a_load_stays_on_its_edge():
    """2 mm from the end of the edge it goes 2 mm that way; on a whole edge, a corner or a hole it stays."""
    verdict = checked(board((2.0, 14.0)))
    assert [row.what for row in verdict.how_sure if row.group == "place"] == [
        '"wheel" 2 mm towards D',
        '"wheel" 5 mm towards C',
    ]
    assert not [row for row in checked(uniform((0.0, 1.0, 0.0))).how_sure if row.group == "place"]


# ---- how it is held, the other face


def test_variants_are_rows_and_are_not_run_twice():
    bed = [{key: value for key, value in one.items() if key != "friction"} for one in BED]
    verdict = checked(board(bed=bed))
    rows = [row for row in verdict.how_sure if row.group == "held"]
    assert [row.what for row in rows] == [row.what for row in verdict.variants]
    assert rows[1].what == "friction 0.3 where none is given"
    told = max(verdict.variants, key=lambda row: row.utilisation)
    assert row_of(verdict, told.what).takes == pytest.approx(verdict.takes.judged, rel=0.01)


def test_an_unknown_board_has_its_other_face_as_a_row():
    part = fesolve.read_part(ROOT / "meshes" / "bracket.toml", {"wood.board": "unknown"})
    verdict = fesolve.check(part, splits=False, cures=False).verdict
    (row,) = [row for row in verdict.how_sure if row.group == "face"]
    other = next(face for face in verdict.faces if face.face != verdict.face)
    assert row.what == f"board {other.face}" and row.utilisation == other.utilisation


# ---- strikes, and loads that are searched for


def struck(**more):
    """A lever on a loose pin that a log rolls against."""
    log = {"name": "log", "on": "edge C-D", "from": "90 mm", "to": "110 mm", "direction": "into the wood"}
    support = [
        {"name": "pivot", "kind": "pin", "on": "hole h", "pin": "24.5 mm", "friction": 0},
        {"name": "beam", "kind": "rest", "on": "edge A-B", "from": "190 mm", "to": "230 mm", "friction": 0},
    ]
    hole = [{"name": "h", "center": ["70 mm", "70 mm"], "diameter": "25 mm"}]
    corners = [(0, 0), (420, 0), (420, 140), (0, 140)]
    doc = document(corners, support=support, hole=hole, strike=[{**log, "mass": "60 kg", "speed": "0.3 m/s"}], **more)
    return fesolve.part_from(doc)


def test_a_struck_part_has_its_rows_by_the_balance_of_energy():
    verdict = fesolve.check(struck(), splits=False, cures=False).verdict
    rows = {row.what: row for row in verdict.how_sure}
    assert verdict.takes.judged < rows["strength at 95 %"].takes
    best, low, high = verdict.takes.own
    assert low < best <= high and verdict.takes.quantity == "speed"
    assert verdict.chance.own == tuple(sorted(verdict.chance.own))
    turned = fesolve.check(struck(grain=5.0), sure=False, splits=False).verdict
    assert turned.strikes[0].struck_high != pytest.approx(verdict.strikes[0].struck_high, rel=1e-3)
    assert rows["grain 5 deg counter-clockwise"].takes == pytest.approx(turned.takes.judged, rel=0.04)


def test_rows_at_loads_that_are_searched_for():
    """0.6 MPa stays, 0.4 MPa grows: at f = 2 MPa to 3.5 times, at 2 (1 - 1.645 x 0.25) to (1.1775 - 0.6)/0.4 = 1.44."""
    stays, grows = uniform((0.0, 0.6, 0.0)), uniform((0.0, 0.4, 0.0))
    loads = [{**one, "name": f"{one['name']} stays", "grows": False} for one in stays["load"]]
    verdict = checked({**grows, "load": [*grows["load"], *loads]})
    assert verdict.governing.load_factor_kind == "searched"
    assert verdict.takes.judged == pytest.approx(3.5, rel=1e-3)
    assert row_of(verdict, "at 5 %").takes == pytest.approx((2 * (1 - 1.645 * 0.25) - 0.6) / 0.4, rel=0.01)


# ---- together


def row(what, takes, changes=(), group="grain"):
    return SureRow(what, group, takes, None, 0.5, "holds", "splitting", None, "", changes, "solved again")


def test_what_a_load_factor_says():
    words = [answer_of("lower 5%", 1.5, one) for one in (0.9, 1.2, 1.6, None)]
    assert words == ["splits or breaks", "too close to call", "holds", "holds"]
    assert answer_of("mean", 1.5, 1.2) == "does not reach its mean strength"
    assert [answer_of("design", 1.5, one) for one in (0.99, 1.0)] == [
        "above the design value",
        "within the design value",
    ]


def test_clear_likely_and_too_close_to_call():
    class At:
        def __init__(self, fails):
            self.fails = fails

    same, other = row("a", 10.0, ("place",)), row("b", 5.0, ("answer",))
    third = row("c", 5.0, ("answer",), "face")
    fails, holds = "splits or breaks", "does not reach its mean strength"
    assert sure_of([same], fails, "mean", At(0.4)) == "clear"
    assert sure_of([same, other], fails, "mean", At(0.81)) == "likely"
    assert sure_of([same, other], fails, "mean", At(0.79)) == "too close to call"
    assert sure_of([same, other], holds, "mean", At(0.19)) == "likely"
    assert sure_of([other], "holds", "lower 5%", At(0.001)) == "likely"
    assert sure_of([other, third], "holds", "lower 5%", At(0.001)) == "too close to call"
    assert sure_of([], "too close to call", "lower 5%", At(0.001)) == "too close to call"
    assert why_sure([same, other], 10.0) == "The answer would change with b."
    assert why_sure([same], 9.0) == "Nothing that was varied changes the answer; what matters most is a."
    assert listed(["a", "b", "c", "d", "e"]) == "a, b, c, or 2 more"


def test_without_it_nothing_is_varied():
    verdict = checked(uniform((0.0, 1.6, 0.0)), sure=False)
    assert (verdict.sure, verdict.how_sure, verdict.chance) == (None, (), None)
    assert verdict.takes.low == verdict.takes.judged


def test_a_part_that_nothing_loads_has_no_rows():
    doc = board(force=["0 N", "0 N"])
    verdict = checked(doc)
    assert (verdict.governing, verdict.sure, verdict.how_sure) == (None, None, ())


def test_the_chance_of_failure_costs_no_solve(monkeypatch):
    from fesolve import certainty

    counted = []
    solve = PlaneModel.solve
    monkeypatch.setattr(PlaneModel, "solve", lambda self, *a, **k: counted.append(1) or solve(self, *a, **k))
    part = fesolve.part_from(uniform((0.0, 1.6, 0.0)))
    assert fesolve.check(part, splits=False, cures=False).verdict.chance is not None
    with_chance = len(counted)
    counted.clear()
    monkeypatch.setattr(certainty, "_chance_of", lambda told: (None, "left out"))
    assert fesolve.check(part, splits=False, cures=False).verdict.chance is None
    assert len(counted) == with_chance


def test_a_row_that_cannot_be_solved_is_told(monkeypatch):
    from fesolve import certainty

    def fails(*_):
        raise fesolve.SolveError("no balance.")

    monkeypatch.setattr(certainty, "_by_grain", fails)
    verdict = checked(uniform((0.0, 1.6, 0.0)))
    assert any("How sure leaves out grain 5 deg clockwise: no balance." in text for text in verdict.cautions)
    assert row_of(verdict, "at 5 %")
