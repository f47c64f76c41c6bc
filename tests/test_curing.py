"""What to change: each cure is a check of the changed part; how thickness and speed act by closed forms."""

import json
import math
import re
from dataclasses import replace

import pytest
from docs_text import read

import fesolve
from fesolve.curing import wants_cures
from fesolve.part.cures import kind_of, of_species, padded, rounder, scaled, slower, thicker, turned_grain
from fesolve.units import Formatter
from fesolve.view.cures import cure_words, cures_text
from fesolve.view.files import verdict_json
from tests.parts import document


def bar(**more):
    """A cantilever with a notch at its root, on the stretched side; dimensions of the part, of its load, and idle."""
    doc = document(
        [(0, 0), (120, 0), {"at": ["120 mm", "depth"]}, {"at": ["0 mm", "depth"]}],
        support=[{"name": "wall", "kind": "fixed", "on": "edge D-A"}],
        notch=[
            {"name": "step", "edge": "C-D", "from": "60 mm", "to": "80 mm", "depth": "cut", "round": "3 mm"},
        ],
        load=[{"name": "pull", "on": "edge B-C", "force": ["0 N", "-pull"]}],
        **more,
    )
    return {**doc, "dimensions": {"depth": "40 mm", "cut": "12 mm", "pull": "1500 N", "spare": "7 mm"}}


@pytest.fixture(scope="module")
def part():
    return fesolve.part_from(bar())


@pytest.fixture(scope="module")
def verdict(part):
    return fesolve.check(part, sure=False, cures=True).verdict


@pytest.fixture(scope="module")
def cures(verdict):
    return verdict.cures


def test_a_cure_is_a_check_of_the_changed_part(part, cures):
    for group in ("thickness", "dimension"):
        row = next(row for row in cures.rows if row.group == group)
        again = fesolve.check(part.with_(row.changes), sure=False).verdict
        assert math.isclose(row.takes, again.takes.low, rel_tol=1e-9)
        assert math.isclose(row.load_factor, again.governing.load_factor, rel_tol=1e-9)
        assert (row.mode, row.where) == (again.governing.mode, again.governing.where)


def test_the_best_come_first_and_help(verdict, cures):
    factors = [row.load_factor for row in cures.rows]
    assert factors == sorted(factors, reverse=True)
    assert all(math.isclose(row.gain, row.load_factor / verdict.governing.load_factor) for row in cures.rows)
    assert all(row.gain > 1.0 for row in cures.rows)


def test_the_thickness_needed(part, verdict, cures):
    """In plane stress the load is proportional to the thickness: t aim / load factor, to the next millimetre."""
    (row,) = (row for row in cures.rows if row.group == "thickness")
    wanted = part.wood.thickness * part.margin / verdict.governing.load_factor
    assert row.changes == {"wood.thickness": f"{math.ceil(wanted)} mm"}
    assert row.enough and math.isclose(row.gain, math.ceil(wanted) / part.wood.thickness, rel_tol=1e-6)


def test_looks_agree_with_checks(part, verdict, cures):
    """A quick look's ratio against the full check of the same change, as for "how sure"."""
    row = next(row for row in cures.looked if row.gain is not None and row.group == "dimension" and row.gain < 0.95)
    again = fesolve.check(part.with_(row.changes), sure=False).verdict
    assert math.isclose(row.gain, again.governing.load_factor / verdict.governing.load_factor, rel_tol=0.03)


def test_dimensions_that_are_no_cure(cures):
    assert cures.loads == ("pull",) and cures.idle == ("spare",)
    told = {name for row in (*cures.rows, *cures.looked) for name in row.changes}
    assert {"depth", "cut"} <= told and not {"pull", "spare"} & told


def test_a_shallower_notch_helps_and_a_deeper_one_does_not(cures):
    gains = {row.what: row.gain for row in (*cures.rows, *cures.looked)}
    assert gains["cut 10.8 mm"] > 1.0 > gains["cut 13.2 mm"]


def test_words(verdict):
    text = cures_text(verdict, Formatter("si"))
    assert text.count(";") == 2 and text.endswith("A calculation: prove it before use.")
    words = cure_words(verdict)
    assert "Only change what acts, which is no cure of the part: pull." in words
    assert "Next to nothing, 10 % up or down: spare." in words
    assert cures_text(replace(verdict, cures=replace(verdict.cures, rows=())), Formatter("si")).startswith("None of")


def test_keys_are_in_docs(verdict):
    told = set(re.findall(r"`(\w+)`", read("docs/verdict.md").partition("## verdict.json")[2]))
    cures = json.loads(verdict_json(verdict))["cures"]
    keys = {*cures, *cures["rows"][0], *cures["looked"][0]}
    assert keys - told == set()


# ---- a part that is struck


@pytest.fixture(scope="module")
def struck():
    doc = bar(
        strike=[
            {"name": "block", "on": "edge A-B", "from": "90 mm", "to": "110 mm", "direction": "up",
             "mass": "4 kg", "speed": "0.8 m/s"}
        ]
    )  # fmt: skip
    del doc["load"], doc["dimensions"]
    for corner in doc["outline"]["corners"][2:]:
        corner["at"][1] = "40 mm"
    doc["notch"][0] |= {"depth": "12 mm", "edge": "A-B", "from": "20 mm", "to": "40 mm"}
    doc["wood"]["density"] = "500 kg/m^3"
    return fesolve.part_from(doc)


def test_half_the_speed_and_a_pad(struck):
    """All is linear and nothing pushes on: half the speed is half of every force and stress (m v^2/2 = F^2/(2 k))."""
    verdict = fesolve.check(struck, sure=False, cures=False).verdict
    assert verdict.governing.utilisation > 1.0
    cures = fesolve.check(struck, sure=False, cures=True).verdict.cures
    strikes = [row for row in cures.rows if row.group == "strike"]
    slow = next(row for row in strikes if "half the speed" in row.what)
    pad = next(row for row in strikes if "pad" in row.what)
    assert slow.changes == {"strike.1.speed": "0.4 m/s"} and "(speed 0.4 m/s)" in slow.what
    assert math.isclose(slow.gain, 2.0, rel_tol=0.02)
    assert {cures.rows[0].group, cures.rows[1].group} == {"strike"} and pad.gain > 1.3


# ---- loads that grow with the part


PULL = {"load": [{"name": "pull", "on": "edge B-C", "traction": ["120 MPa", "0 MPa"]}]}
SNOW = {"load": [{"name": "snow", "on": "edge C-D", "pressure": "0.4 MPa"}]}
WEIGHT = {"gravity": {"direction": "down", "density": "1.6e6 kg/m^3"}}


@pytest.mark.parametrize("load", [PULL, SNOW, WEIGHT], ids=["traction", "pressure", "weight"])
def test_thickness_does_not_help_against_what_grows_with_it(load):
    """Stress of a plane part under a load by its area or its weight knows no thickness: b cancels in M/S."""
    wall = {"name": "wall", "kind": "fixed", "on": "edge D-A"}
    part = fesolve.part_from(document([(0, 0), (200, 0), (200, 20), (0, 20)], support=[wall], **load))
    verdict = fesolve.check(part, sure=False, cures=True).verdict
    assert verdict.governing.load_factor < 1.0
    (told,) = (row for row in verdict.cures.looked if row.group == "thickness")
    assert math.isclose(told.gain, 1.0, rel_tol=1e-6) and not any(r.group == "thickness" for r in verdict.cures.rows)
    text = cures_text(verdict, Formatter("si"))
    assert text.count("More thickness does not help.") == 1 and "hickness 2" not in text
    assert not any("thickness" in line for line in cure_words(verdict))


def test_newtons_that_grow_with_what_acts_are_told_as_a_share(verdict):
    """Twice the newtons at 1.2 times the load factor: the gain is of the share, so newtons are left out."""
    row = verdict.cures.rows[0]
    grown = replace(row, takes=2.0 * verdict.takes.low, gain=1.2, utilisation=0.8)
    text = cures_text(replace(verdict, cures=replace(verdict.cures, rows=(grown,))), Formatter("si"))
    assert ": 0.80 of what it takes." in text and "kN" not in text
    assert "N, " in cures_text(verdict, Formatter("si"))


# ---- when


@pytest.mark.parametrize(
    ("basis", "factor", "sure", "holds", "wanted"),
    [
        ("lower 5%", 1.2, "too close to call", False, True),
        ("lower 5%", 1.9, "clear", True, False),
        ("design", 0.9, "clear", False, True),
        ("mean", 0.8, "clear", False, True),
        ("mean", 1.6, "likely", False, True),
        ("mean", 4.0, "clear", False, False),
        ("mean", None, None, False, False),
    ],
)
def test_when_a_verdict_ends_with_cures(verdict, basis, factor, sure, holds, wanted):
    governing = replace(verdict.governing, load_factor=factor)
    assert wants_cures(replace(verdict, basis=basis, governing=governing, sure=sure), holds=holds) is wanted


def test_none_where_nothing_is_varied(part):
    assert fesolve.check(part, sure=False).verdict.cures is None


# ---- the changes themselves


def test_a_dimension_of_loads_and_of_the_part(part):
    assert kind_of(part, part.with_(pull="1 N")) == "load"
    assert kind_of(part, part.with_(cut="11 mm")) == "part"
    assert kind_of(part, part.with_(spare="11 mm")) == "nothing"


def test_regions_and_expressions_are_changed_in_proportion():
    strip = {"name": "web", "corners": [["0 mm", "10 mm"], ["120 mm", "10 mm"], ["120 mm", "30 mm"], ["0 mm", "30 mm"]]}
    part = fesolve.part_from(bar(region=[{**strip, "thickness": "10 mm", "grain": "90 deg"}]))
    thick = part.with_(thicker(part, 30.0).changes)
    assert (thick.wood.thickness, thick.regions[0].thickness) == (30.0, 15.0)
    left, right = (part.with_(change.changes) for change in turned_grain(part))
    assert (left.wood.grain, left.regions[0].grain) == (15.0, 105.0)
    assert (right.wood.grain, right.regions[0].grain) == (-15.0, 75.0)
    assert scaled("depth / 2", 1.1) == "(depth / 2) * 1.1" and scaled("-2e1 mm", 0.5) == "-10 mm"


def test_rounds(part):
    (doubled,) = rounder(part)
    assert part.with_(doubled.changes).notches[0].round == 6.0
    sharp = bar()
    del sharp["notch"][0]["round"]
    (added,) = rounder(fesolve.part_from(sharp))
    assert added.changes == {"notch.1.round": "3 mm"} and added.what == "round of 3 mm in notch step"


@pytest.mark.parametrize(("key", "was", "then"), [("run", 150.0, 37.5), ("drop", 150.0, 37.5)])
def test_half_the_speed_of_what_falls_or_rolls(key, was, then):
    """Speed goes as the root of the height or the way: half of it is a quarter of those."""
    part = fesolve.read_part("meshes/log_stop.toml")
    if key == "drop":
        strike = {name: value for name, value in part.source["strike"][0].items() if name not in ("run", "slope")}
        part = fesolve.part_from({**part.source, "strike": [{**strike, "drop": "150 mm"}]})
    (change,) = slower(part)
    assert getattr(part.strikes[0], key) == was
    assert getattr(part.with_(change.changes).strikes[0], key) == then


def test_a_pad_and_a_species():
    part = fesolve.read_part("meshes/log_stop.toml")
    assert part.with_(padded(part, 1, 800.0).changes).strikes[0].pad.stiffness == 800.0
    assert part.with_(of_species(part, "Ash, white").changes).wood.species == "Ash, white"
