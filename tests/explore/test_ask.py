"""fesolve sweep --sample, --find and --least: what is printed, kept and drawn, and flags that contradict each other."""

import sqlite3

import pytest
from scipy.stats import binomtest

from fesolve.cli import main
from fesolve.explore.telling import share_range

CANTILEVER = """
title = "Cantilever"
[dimensions]
depth = "40 mm"
push = "100 N"
[wood]
species = "Douglas-fir, coast"
board = "flat-sawn"
thickness = "20 mm"
basis = "mean"
[mesh]
refine_limit = 1
[outline]
corners = [
  {at = ["0 mm", "0 mm"], name = "A"}, {at = ["200 mm", "0 mm"], name = "B"},
  {at = ["200 mm", "depth"], name = "C"}, {at = ["0 mm", "depth"], name = "D"},
]
[[support]]
name = "wall"
kind = "fixed"
on = "edge D-A"
[[load]]
name = "push"
on = "edge B-C"
force = ["0 N", "-push"]
"""


@pytest.fixture
def run(tmp_path, monkeypatch, capsys):
    (tmp_path / "bar.toml").write_text(CANTILEVER, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "120")

    def call(*words):
        code = main(["sweep", "bar.toml", *words])
        told = capsys.readouterr()
        return code, " ".join(told.out.split()), told.err

    return call


def test_a_value_is_found_and_kept(run, tmp_path):
    """Stress and deflection are proportional to the load, so utilisation is: the push goes with it."""
    code, out, _ = run("--find", "push", "--until", "utilisation=0.5")
    assert code == 0 and out.startswith("push ") and "utilisation 0.50" in out and "checks." in out
    assert (tmp_path / "bar.sweep.png").is_file()
    base = sqlite3.connect(tmp_path / "bar.sweep.sqlite")
    rows = base.execute("SELECT count(*) FROM variant").fetchone()[0]
    assert rows >= 3
    again, repeated, _ = run("--find", "push", "--until", "utilisation=0.5", "--quiet")
    assert again == 0 and repeated.split(".")[0] == out.split(".")[0]
    assert base.execute("SELECT count(*) FROM variant").fetchone()[0] == rows  # nothing was checked twice
    base.close()


def test_what_is_not_met_says_so(run):
    code, out, _ = run("--find", "depth", "--until", "utilisation=9", "--vary", "depth=30 mm to 60 mm", "--no-pictures")
    assert code == 3 and "utilisation 9 was not met: utilisation stays below it" in out


def test_the_least_mass_is_told_with_what_binds(run):
    words = ("--subject", "deflection<=0.25 mm", "--vary", "depth=30 mm to 60 mm", "--no-pictures", "--quiet")
    code, out, _ = run("--least", "mass", *words)
    assert code == 0 and "What keeps it from being less: deflection <= 0.25 mm." in out
    assert "Checked afresh, on a mesh of its own: deflection 0.25 mm" in out


def test_a_sample_says_what_matters_and_how_many_fail(run, tmp_path):
    code, out, _ = run(
        "--sample", "12", "--scatter", "--seed", "2", "--vary", "push=1000 N to 1400 N", "--workers", "1", "--set",
        "wood.fracture.split_length=9 mm",
    )  # fmt: skip
    assert code == 0 and "What matters to utilisation: strength" not in out
    assert "wood.percentile.strength" in out.partition("Of 12 such pieces")[0]
    assert "below the strength of their piece" in out and "wood.percentile.toughness" not in out
    assert (tmp_path / "bar.sweep.png").is_file()


def test_the_range_of_a_share_is_scipys():
    """scipy.stats.binomtest(...).proportion_ci(method="wilson")."""
    for count, of in ((0, 20), (3, 20), (20, 20), (117, 200)):
        wanted = binomtest(count, of).proportion_ci(method="wilson")
        assert share_range(count, of) == pytest.approx((wanted.low, wanted.high), abs=1e-12)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--find", "depth"], "--find wants what is to be reached beside it"),
        (["--find", "depth", "--until", "utilisation"], '"utilisation" is not FIGURE=VALUE'),
        (["--find", "depth", "--until", "utilisation<=1"], "is not FIGURE=VALUE"),
        (["--until", "utilisation=1"], "--until goes with --find, as in --find thickness"),
        (["--least", "mass", "--vary", "depth=30 mm to 60 mm"], "--least wants a bound beside it"),
        (["--subject", "utilisation<=1"], "--subject goes with --least"),
        (["--sample", "5", "--find", "depth", "--until", "mass=1 kg"], "--sample and --find are two things"),
        (["--scatter", "--vary", "depth=30 mm to 60 mm in 3"], "--scatter goes with --sample"),
        (["--seed", "1", "--vary", "depth=30 mm to 60 mm in 3"], "--seed goes with --sample"),
        (["--find", "depth", "--until", "mass=1 kg", "--workers", "2"], "--workers goes with a grid or a sample"),
        (["--find", "depth", "--until", "mass=1 kg", "--vary", "push=1 N to 2 N"], '"push" is not "depth"'),
        (["--find", "deep", "--until", "mass=1 kg"], 'bar.toml: Cannot set "deep": it is not a dimension'),
        (["--sample", "5", "--scatter", "--set", "basis=lower 5%"], "Scatter cannot be drawn"),
    ],
)
def test_flags_that_contradict_each_other(run, tmp_path, words, message):
    code, _, error = run(*words)
    assert code == 2 and message in error
    assert not (tmp_path / "bar.sweep.png").exists()
