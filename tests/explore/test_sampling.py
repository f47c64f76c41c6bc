"""Samples over ranges, choices and the scatter of a wood: the same every time, even, and by the right distribution."""

import math

import numpy as np
import pytest
from parts import ELASTIC, STRENGTH, document
from scipy.stats import kstest, norm, spearmanr
from small import cantilever

import fesolve
from fesolve.errors import InputError
from fesolve.explore.evaluate import evaluate
from fesolve.explore.sample import drawn, sample

VARY = {"length": "150 mm to 250 mm", "push": "80 N; 100 N; 120 N", "grain": "0 deg to 4 deg in 5"}


@pytest.fixture(scope="module")
def part():
    return cantilever()


def column(variants, name):
    return [one[name] for one in variants]


def values(variants, name):
    return np.array([float(text.split()[0]) for text in column(variants, name)])


def test_the_same_every_time_and_longer_ones_begin_alike(part):
    _, first = drawn(part, VARY, 20, seed=3)
    _, longer = drawn(part, VARY, 75, seed=3)
    assert longer[:20] == first == drawn(part, VARY, 20, seed=3)[1]
    assert drawn(part, VARY, 20, seed=4)[1] != first


def test_ranges_are_even_and_choices_equally_often(part):
    """128 of Sobol's points: one in each of 128 equal pieces of a range, so its distribution is even to 1/128."""
    _, variants = drawn(part, VARY, 128)
    length = values(variants, "length")
    assert kstest(length, "uniform", args=(150, 100)).statistic < 2 / 128
    assert [column(variants, "push").count(text) for text in ("80 N", "100 N", "120 N")] == pytest.approx(
        [43] * 3, abs=2
    )
    assert set(column(variants, "grain")) == {"0 deg", "1 deg", "2 deg", "3 deg", "4 deg"}
    assert abs(spearmanr(length, values(variants, "push")).statistic) < 0.1


def test_scatter_draws_three_percentiles_independently(part):
    axes, variants = drawn(part, {"length": "150 mm to 250 mm"}, 256, scatter=True)
    names = [f"wood.percentile.{name}" for name in ("strength", "toughness", "stiffness")]
    assert [one.name for one in axes] == ["length", *names]
    found = np.array([values(variants, name) for name in names])
    for one in found:
        assert one.min() >= 0.1 and one.max() <= 99.9
        assert kstest(one, "uniform", args=(0.1, 99.8)).statistic < 0.02
    assert np.abs(np.corrcoef(found) - np.eye(3)).max() < 0.05
    own = part.with_({"wood.fracture": {"split_length": "9 mm"}})
    assert [one.name for one in drawn(own, {}, 4, scatter=True)[0]] == [names[0], names[2]]


def test_the_share_that_fails_is_that_of_the_lognormal_law():
    """A bar pulled along its grain at 0.8 of its mean strength: P = Phi((ln 0.8 + s^2/2)/s), s by a CoV of 25 %.

    EN 14358 (lognormal, from memory), USDA Wood Handbook, Table 5-6 (CoV of tension along the grain, by the table).
    """
    doc = document(
        [(0, 0), (60, 0), (60, 20), (0, 20)],
        support=[
            {"name": "wall", "kind": "roller", "on": "edge D-A"},
            {"name": "foot", "kind": "fixed", "on": "corner A"},
        ],
        load=[{"name": "pull", "on": "edge B-C", "force": [f"{0.8 * 80 * 20 * 20} N", "0 N"]}],
    )
    doc["wood"] |= {"elastic": ELASTIC, "strength": STRENGTH}
    bar = fesolve.part_from(doc)
    _, variants = drawn(bar, {}, 32, scatter=True)
    rows, last = [], None
    for changes in variants:
        row, last = evaluate(bar, changes, last)
        rows.append(row)
    failed = np.mean([row.outcome.utilisation > 1.0 for row in rows])
    s = math.sqrt(math.log(1 + 0.25**2))
    assert failed == pytest.approx(norm.cdf((math.log(0.8) + s * s / 2) / s), abs=1.5 / 32)
    assert {row.outcome.mode for row in rows} == {"tension along grain"}


def test_a_sample_is_kept_and_more_of_it_goes_on(part, tmp_path):
    told = []
    more = {"workers": 1, "out": tmp_path / "s.sqlite", "tell": lambda *one: told.append(one)}
    vary = {"length": "150 mm to 250 mm", "push": "80 N to 120 N"}
    first = sample(part, vary, 3, **more)
    longer = sample(part, vary, 5, **more)
    assert [row.changes for row in longer.rows[:3]] == [row.changes for row in first.rows]
    assert told[4][:2] == (3, 5)  # three of the five were there before
    use = longer["utilisation"] / (longer["push"] * longer["length"])
    assert np.ptp(use) / use.mean() < 0.06  # a cantilever's moment is P L
    assert longer["length"].tolist() == values([row.changes for row in longer.rows], "length").tolist()


@pytest.mark.parametrize(
    ("vary", "count", "more", "message"),
    [
        ({}, 10, {}, "Nothing is varied"),
        (VARY, 1, {}, "A sample has 2 to 100,000 variants, not 1"),
        (VARY, 10, {"seed": -1}, "A seed is a whole number from 0 on"),
        ({"wood.percentile.strength": "5 % to 50 %"}, 10, {"scatter": True}, "--scatter draws it; leave one out"),
    ],
)
def test_what_cannot_be_drawn(part, vary, count, more, message):
    with pytest.raises(InputError, match=message):
        drawn(part, vary, count, **more)


def test_scatter_wants_the_mean_basis(part):
    with pytest.raises(InputError, match=r'Scatter cannot be drawn: .* on basis "mean" alone. \(--scatter\)'):
        drawn(part.with_(basis="lower 5%"), {}, 10, scatter=True)
