"""What matters, against a function whose indices are published, and against noise."""

import numpy as np
import pytest
from scipy.stats import qmc

from fesolve.explore.ranking import influences

# T. Ishigami, T. Homma, An importance quantification technique in uncertainty analysis for computer models, ISUMA 1990,
# 398-403: y = sin a + 7 sin^2 b + 0.1 c^4 sin a on [-pi, pi]^3. Variances in closed form:
# D = 7^2/8 + 0.1 pi^4/5 + 0.01 pi^8/18 + 1/2, D_a = (1 + 0.1 pi^4/5)^2/2, D_b = 7^2/8, D_c = 0.
D = 49 / 8 + 0.1 * np.pi**4 / 5 + 0.01 * np.pi**8 / 18 + 0.5
ISHIGAMI = {"a": (1 + 0.1 * np.pi**4 / 5) ** 2 / 2 / D, "b": 49 / 8 / D, "c": 0.0}


def ishigami(count, seed):
    x = -np.pi + 2 * np.pi * qmc.Sobol(3, rng=seed).random(count)
    y = np.sin(x[:, 0]) + 7 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])
    return dict(zip("abc", x.T.tolist(), strict=True)), y.tolist()


def test_shares_of_ishigami_s_function():
    for seed in range(5):
        found = influences(*ishigami(256, seed))
        assert [one.name for one in found[:2]] == ["b", "a"]
        for one in found:
            assert one.share == pytest.approx(ISHIGAMI[one.name], abs=0.05)
            assert one.share_range[0] <= ISHIGAMI[one.name] <= one.share_range[1]
            assert one.stands_out == (one.name != "c")


def test_a_rank_correlation_misses_what_rises_and_falls():
    """sin^2 b is even: no correlation, yet the greatest share."""
    of = {one.name: one for one in influences(*ishigami(256, 0))}
    assert abs(of["b"].correlation) < 0.1 and of["a"].correlation > 0.3


def test_noise_is_not_ranked():
    """Of 40 names that have nothing to do with the figure, about 1 in 40 may stand out (2.5 % on the lower side)."""
    rng = np.random.default_rng(1)
    columns = {str(number): rng.random(60).tolist() for number in range(40)}
    found = influences(columns, rng.random(60).tolist())
    assert sum(one.stands_out for one in found) <= 3
    assert sum(one.correlation_range[0] > 0 or one.correlation_range[1] < 0 for one in found) <= 6


def test_choices_have_a_share_and_no_correlation():
    """By hand: y = 1, 2, 4 by choice in equal numbers and nothing else: all of the variance."""
    woods = ["ash", "oak", "fir"] * 6
    x = np.random.default_rng(0).random(18).tolist()
    found = influences({"x": x, "species": woods}, [{"ash": 1.0, "oak": 2.0, "fir": 4.0}[wood] for wood in woods])
    assert found[0].name == "species" and found[0].share == pytest.approx(1.0) and found[0].correlation is None


def test_nothing_to_rank():
    assert influences({"x": list(range(9))}, list(range(9))) == ()
    assert influences({"x": list(range(20))}, [0.4] * 20) == ()
