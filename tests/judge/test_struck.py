"""Strikes in the flow: force by the balance of energy, the strike through time, what the part takes in its terms."""

import math

import numpy as np
import pytest
from parts import check, document

import fesolve
from fesolve.fem.impact import GRAVITY, drop_factor, rolling_speed
from fesolve.judge.struck import blow_of
from fesolve.units import Formatter
from fesolve.view.words import headline, story

CORNERS = [(0, 0), (300, 0), (300, 40), (0, 40)]
WALL = [{"name": "wall", "kind": "fixed", "on": "edge D-A"}]
LOG = {"name": "log", "on": "edge C-D", "from": "0 mm", "to": "20 mm", "direction": "down", "mass": "40 kg"}


def struck(support=WALL, corners=CORNERS, more=None, **strike):
    doc = document(corners, support=support, strike=[LOG | strike], **(more or {}))
    doc["wood"]["density"] = "500 kg/m^3"
    return check(doc)


def stiffness(result):
    """Force over the mean give of the struck patch, by a solve of its own."""
    model = result.solution.model
    solution = model.solve([{"log": 1.0}])
    return 1.0 / float(np.einsum("ni,ni->", model.loads[0].nodal, solution.displacement[0]))


def line(result, label):
    return next(line.text for line in story(result.verdict, Formatter("si")) if line.label == label)


def test_a_mass_with_a_speed():
    """F = v sqrt(k m) (shock by energy, own derivation checked in tests/fem/test_impact.py)."""
    result = struck(speed="0.5 m/s")
    row = result.verdict.strikes[0]
    assert row.energy == pytest.approx(0.5 * 0.04 * 500**2)
    assert row.struck_high == pytest.approx(500 * math.sqrt(stiffness(result) * 0.04), rel=1e-6)
    assert (row.push, row.slow, row.sudden) == (0.0, 0.0, 0.0)
    (load,) = result.verdict.loads
    assert load.force == pytest.approx((0.0, -row.struck_high))


def test_a_mass_that_falls():
    """F = W (1 + sqrt(1 + 2 h/δ)), Gere, Mechanics of Materials, section 2.8; without a drop twice the weight."""
    result = struck(drop="20 mm")
    row, weight = result.verdict.strikes[0], 0.04 * GRAVITY
    assert row.struck_high == pytest.approx(weight * drop_factor(20.0, weight / stiffness(result)), rel=1e-6)
    assert (row.slow, row.sudden) == pytest.approx((weight, 2 * weight), rel=1e-6)


def test_a_log_that_rolls():
    """v = sqrt(4/3 g s sin θ) of a solid round log; it goes on leaning with its weight along the slope."""
    part = fesolve.part_from(document(CORNERS, support=WALL, strike=[LOG | {"run": "2 m", "slope": "5 deg"}]))
    blow = blow_of(part.strikes[0])
    assert blow.speed == pytest.approx(math.sqrt(4 / 3 * GRAVITY * 2000 * math.sin(math.radians(5))))
    assert blow.speed == rolling_speed(2000.0, 5.0)
    assert blow.push == pytest.approx(0.04 * GRAVITY * math.sin(math.radians(5)))


HOWS = [{"speed": "0.5 m/s"}, {"drop": "20 mm", "push": "0 N"}, {"run": "1 m", "slope": "2 deg"}]


@pytest.mark.parametrize("how", HOWS)
def test_what_it_takes_is_told_in_the_users_own_quantity(how):
    """A strike by the amount that the best figure names reaches the best force."""
    takes = struck(**how).verdict.takes
    assert takes.of == "log"
    key = takes.quantity
    again = struck(**(how | {key: f"{takes.own[0]!r} mm{'/s' if key == 'speed' else ''}"})).verdict
    assert again.strikes[0].struck_high == pytest.approx(takes.best, rel=1e-3)
    if key == "speed":
        assert takes.own[2] / takes.own[1] == pytest.approx(takes.high / takes.low, rel=1e-9)


def test_through_time_a_heavy_mass_behind_a_soft_pad_is_a_spring_and_a_mass():
    """Half a swing of one mass on one spring: peak v sqrt(k m), at a quarter period, rebound with the same speed."""
    pad = {"stiffness": "200 N/mm"}
    row = struck(speed="0.5 m/s", pad=pad, mass="200 kg").verdict.strikes[0]
    through = row.through_time
    assert through.peak_force == pytest.approx(row.struck_high, rel=0.02)
    assert through.peak_time == pytest.approx(row.contact_time / 2, rel=0.05)
    assert through.rebound_speed == pytest.approx(500.0, rel=0.03)
    assert through.why.startswith("Both ways agree") and through.settled
    assert through.sums < 1e-6  # loads, reactions and inertia balance at the peak
    total = np.array([through.striker_energy, through.part_energy]).sum(axis=0)
    assert total.max() <= row.energy * 1.001  # the pad holds the rest


def test_the_worse_of_both_ways_governs():
    verdict = struck(speed="0.5 m/s").verdict
    timed = verdict.strikes[0].through_time.modes[0]
    static = max(row.utilisation for row in verdict.modes if row.decides)
    assert verdict.governing.utilisation == pytest.approx(max(timed.utilisation, static))
    if timed.utilisation > static:
        assert verdict.governing.note.startswith("through time")
        assert verdict.governing.load_factor == pytest.approx(1 / timed.utilisation, rel=1e-6)


def test_a_pad_that_bottoms_out_is_said():
    pad = {"stiffness": "20 N/mm", "travel": "5 mm"}
    soft, hard = struck(speed="0.1 m/s", pad=pad), struck(speed="1 m/s", pad=pad)
    assert soft.verdict.strikes[0].bottomed == () and hard.verdict.strikes[0].bottomed == ("pad",)
    assert "The pad bottoms out." in line(hard, "Struck") and "bottoms" not in line(soft, "Struck")


def test_a_face_that_is_crushed_limits_the_low_end():
    """2.5 f_c90 on 20 mm by 20 mm (own choice): 2.5 · 5 · 400 = 5 kN."""
    row = struck(speed="3 m/s", mass="60 kg").verdict.strikes[0]
    assert row.limit == pytest.approx(5000.0)
    assert row.struck_low == pytest.approx(5000.0) and row.struck_high > 5000.0 and row.dent > 0.0


def test_play_takes_no_energy():
    """A board on rests, one with a gap: the force is that of the part once it bears, not the way before it."""
    bed = [
        {"name": "left", "kind": "rest", "on": "edge A-B", "from": "0 mm", "to": "20 mm"},
        {"name": "right", "kind": "rest", "on": "edge A-B", "from": "280 mm", "to": "300 mm", "gap": "0.5 mm"},
        {"name": "stop", "kind": "fixed", "on": "corner A", "axes": ["x"]},
    ]
    middle = {"from": "140 mm", "to": "160 mm", "speed": "0.3 m/s"}
    loose = struck(support=bed, **middle).verdict.strikes[0]
    del bed[1]["gap"]
    tight = struck(support=bed, **middle).verdict.strikes[0]
    assert loose.struck_high == pytest.approx(tight.struck_high, rel=0.03)


def test_reactions_balance_and_cautions_are_said():
    result = struck(speed="0.5 m/s")
    verdict = result.verdict
    total = np.sum([row.force for row in (*verdict.loads, *verdict.reactions)], axis=0)
    assert np.linalg.norm(total) < 1e-3 * verdict.strikes[0].struck_high
    said = " ".join(verdict.cautions)
    assert "factor 2.0 for impact" in said and "never the only barrier" in said
    assert "count as applied slowly" not in said
    assert '"log"' in headline(verdict, Formatter("si"))
    assert "40 kg at 0.5 m/s, 5 J" in line(result, "Struck")
    assert "lb at" in next(one.text for one in story(verdict, Formatter("us")) if one.label == "Struck")


def test_without_a_density_time_is_left_out():
    doc = document(CORNERS, support=WALL, strike=[LOG | {"speed": "0.5 m/s"}])
    verdict = check(doc).verdict
    row = verdict.strikes[0]
    assert row.through_time is None and row.part_mass == 0.0
    assert any("only by its energy: the wood's density is not known." in text for text in verdict.cautions)


def test_what_only_friction_holds_is_judged_by_energy_alone():
    """A slanting blow on a board that two rough rests hold along itself: without friction it would slide."""
    bed = [
        {"name": name, "kind": "rest", "on": "edge A-B", "from": f"{x} mm", "to": f"{x + 20} mm", "friction": 0.5}
        for name, x in (("left", 0), ("right", 280))
    ]
    verdict = struck(support=bed, **{"from": "140 mm", "to": "160 mm"}, speed="0.3 m/s", direction=[0.1, -1]).verdict
    assert verdict.strikes[0].struck_high > 0.0 and verdict.strikes[0].through_time is None
    assert any("is not followed through time" in text and "without friction" in text for text in verdict.cautions)
