"""Variants side by side: each is what a check of it says, ranked among those that are loaded alike."""

import json
import math
import re
from dataclasses import replace

import pytest

import fesolve
from fesolve.cli import main
from fesolve.explore.compare import compare_with
from fesolve.judge.outcome import outcome_of
from fesolve.part.variant_list import Wanted
from fesolve.units import Formatter
from fesolve.view.comparison import comparison_headline
from fesolve.view.side_by_side import MOST, chosen_panels, grid_of
from tests.parts import document


def bar(**dimensions):
    """A cantilever; its depth, length and pull are dimensions."""
    doc = document(
        [(0, 0), {"at": ["length", "0 mm"]}, {"at": ["length", "depth"]}, {"at": ["0 mm", "depth"]}],
        support=[{"name": "wall", "kind": "fixed", "on": "edge D-A"}],
        load=[{"name": "pull", "on": "edge B-C", "force": ["0 N", "-pull"]}],
    )
    return {**doc, "dimensions": {"length": "120 mm", "depth": "40 mm", "pull": "100 N", **dimensions}}


@pytest.fixture(scope="module")
def part():
    return fesolve.part_from(bar())


@pytest.fixture(scope="module")
def done(part):
    changes = {"depth": "50 mm", "grain": "8 deg", "pull": "120 N", "wood.basis": "lower 5%"}
    rows = [Wanted(f"{name} {value}", {name: value}) for name, value in changes.items()]
    return compare_with(part, [*rows, Wanted("depth 0 mm", {"depth": "0 mm"})])


def row(done, name):
    return next(one for one in done.comparison.variants if one.name == name)


def test_a_row_is_that_of_a_check(done, part):
    for name, changes in (("depth 50 mm", {"depth": "50 mm"}), ("as it stands", {})):
        verdict = fesolve.check(part.with_(changes), sure=False).verdict
        assert row(done, name).outcome == outcome_of(verdict)


def test_in_python_changes_are_named_freely_and_need_no_texts(part, done):
    told = []
    found = fesolve.compare(part, {"deeper": {"depth": "50 mm"}, "as judged": {"margin": 2.0}}, tell=told.append)
    rows = {one.name: one for one in found.comparison.variants}
    assert rows["deeper"].outcome == row(done, "depth 50 mm").outcome
    assert rows["as judged"].differs[0].name == "margin" and told[1:] == ["2 of 3: deeper", "3 of 3: as judged"]
    with pytest.raises(fesolve.InputError, match="nothing to compare it with"):
        fesolve.compare(part, {})
    with pytest.raises(fesolve.InputError, match="dept"):
        fesolve.compare(part, {"deeper": {"dept": "50 mm"}})


def test_ranks_and_gains(done):
    """Deeper is better and a slope of the grain worse; loads and bases that differ have no rank."""
    assert [one.name for one in done.comparison.ranked] == ["depth 50 mm", "as it stands", "grain 8 deg"]
    deep, plain = row(done, "depth 50 mm"), row(done, "as it stands")
    assert math.isclose(deep.gain, plain.outcome.utilisation / deep.outcome.utilisation)
    assert plain.gain is None and plain.moved is None and deep.moved > 0.0
    assert row(done, "pull 120 N").unlike == 'loaded otherwise: "pull"'
    assert row(done, "wood.basis lower 5%").unlike == "basis lower 5%, not mean"
    assert row(done, "pull 120 N").rank is None and row(done, "pull 120 N").gain is None


def test_what_fails_is_a_row_with_its_message(done):
    failed = done.comparison.variants[-1]
    assert (failed.name, failed.outcome, failed.rank) == ("depth 0 mm", None, None)
    assert failed.message
    assert failed.differs[0].now == "0 mm"


def test_a_load_in_proportion_changes_nothing_but_the_share(done):
    """Stress is proportional to the load: what it takes stays, its share grows by a fifth."""
    more, plain = row(done, "pull 120 N").outcome, row(done, "as it stands").outcome
    assert math.isclose(more.low, plain.low, rel_tol=1e-9)
    assert math.isclose(more.utilisation, 1.2 * plain.utilisation, rel_tol=1e-9)


def test_the_headline(done):
    text = comparison_headline(done.comparison, Formatter("si"))
    assert text.startswith("Best: depth 50 mm takes ") and text.endswith(" it takes as it stands.")


def test_a_folder(done, tmp_path):
    notes = done.save(tmp_path / "out")
    assert notes == [] and {one.name for one in (tmp_path / "out").iterdir()} == {"compare.json", "compare.png"}
    told = json.loads((tmp_path / "out" / "compare.json").read_text())
    assert told["base"] == "as it stands" and told["variants"][0]["changes"] == {"depth": "50 mm"}
    assert told["variants"][0]["differs"] == [{"name": "depth", "was": "40 mm", "now": "50 mm"}]
    done.save(tmp_path / "out", pictures=False)  # earlier results are replaced whole
    assert {one.name for one in (tmp_path / "out").iterdir()} == {"compare.json"}


def test_panels_at_one_scale():
    """The grid in which a part is drawn largest; all panels share its scale."""
    lying, standing = grid_of(3, 640.0, 80.0), grid_of(3, 80.0, 640.0)
    assert (lying.columns, standing.columns) == (1, 3)
    assert lying.scale * 640.0 <= lying.wide and standing.scale * 640.0 <= standing.high


def test_more_panels_than_there_is_room_for(done):
    """The best are drawn, and the one they are measured against among them."""
    panels = [panel for panel in done.panels if panel.name != "as it stands"]
    base = next(panel for panel in done.panels if panel.name == "as it stands")
    many = [*panels[:1] * (MOST + 2), base]
    chosen = chosen_panels(done.comparison, many)
    assert len(chosen) == MOST and chosen[-1] is base


# ---- the command


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name, length in (("short", 100), ("long", 150)):
        text = "\n".join(
            (
                f'title = "{name}"\n[dimensions]\nlength = "{length} mm"',
                '[wood]\nspecies = "Ash, white"\nboard = "flat-sawn"\nthickness = "20 mm"\nbasis = "mean"',
                '[outline]\ncorners = [{at = ["0 mm", "0 mm"]}, {at = ["length", "0 mm"]}, {at = ["length", "40 mm"]}, '
                '{at = ["0 mm", "40 mm"]}]',
                '[[support]]\nname = "wall"\nkind = "fixed"\non = "edge D-A"',
                '[[load]]\nname = "pull"\non = "edge B-C"\nforce = ["0 N", "-100 N"]',
            )
        )
        (tmp_path / f"{name}.toml").write_text(text)
    return tmp_path


def test_several_files(folder, capsys):
    (folder / "broken.toml").write_text("[wood")
    assert main(["compare", "long.toml", "short.toml", "broken.toml", "--no-pictures"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Best: short takes ") and "of long." in out.replace("\n", " ")
    assert "short: length 100 mm, not 150 mm" in out
    assert "broken: The file is not TOML" in out
    assert (folder / "long.compare.results" / "compare.json").is_file()


def test_variants_of_a_file(folder, capsys):
    (folder / "list.toml").write_text('[[variant]]\nname = "thick"\nset = {wood.thickness = "40 mm"}\n')
    words = ["compare", "long.toml", "--variants", "list.toml", "--set", "length=120 mm; grain=2 deg", "--no-pictures"]
    assert main([*words, "--quiet"]) == 0
    assert capsys.readouterr().out.startswith("Best: thick takes ")
    assert main([*words, "--json", "-"]) == 0
    names = [one["name"] for one in json.loads(capsys.readouterr().out)["variants"]]
    assert names[0] == "thick" and set(names) == {"thick", "as it stands", "length 120 mm, grain 2 deg"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "Name a part file"),
        (["long.toml"], "nothing to compare it with"),
        (["long.toml", "long.toml"], "named twice"),
        (["long.toml", "short.toml", "--set", "length=1 mm"], "Variants are of one part"),
        (["long.toml", "--set", "lenght=1 mm"], 'long.toml: Cannot set "lenght"'),
        (["none.toml", "--set", "length=1 mm"], "no such file"),
        (["long.toml", "--set", "length"], "not name=value"),
        (["long.toml", "--set", "length=90 mm", "--out", "long.toml"], "is a file"),
    ],
)
def test_bad_input(folder, capsys, words, said):
    assert main(["compare", *words]) == 2
    assert said in capsys.readouterr().err


def test_nothing_that_can_be_checked(folder, capsys):
    loose = (folder / "long.toml").read_text().replace('kind = "fixed"', 'kind = "fixed"\naxes = ["x"]')
    (folder / "loose.toml").write_text(loose)
    assert main(["compare", "loose.toml", "--set", "length=120 mm", "--no-pictures"]) == 3
    assert capsys.readouterr().out.startswith("None of the variants could be checked.")


def test_the_first_may_be_the_best(part):
    """Told with how many can be ranked beside it."""
    worse = compare_with(part, [Wanted("thin", {"depth": "30 mm"})]).comparison
    assert re.fullmatch(
        r"Best: the part as it stands; it takes [\d.,]+ kN, of 2 that can be ranked\.",
        comparison_headline(worse, Formatter("si")),
    )
    alone = replace(
        worse, variants=tuple(replace(one, rank=one.rank if one.rank == 1 else None) for one in worse.variants)
    )
    assert comparison_headline(alone, Formatter("si")).endswith("beside which no other can be ranked.")
