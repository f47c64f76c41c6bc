"""Splitting by energy in whole parts: docs/fracture.md's figures, a slit against Griffith, meshes, and what is said."""

from __future__ import annotations

import dataclasses
import math
import re

import numpy as np
import pytest
from docs_text import read

import fesolve
from fesolve.cracking import split_rows
from fesolve.errors import InputError
from fesolve.judge.assess import assess
from fesolve.judge.inspected import inspect_part
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.outline import part_outline
from fesolve.modelling import woods_of
from fesolve.otherwise import solved
from fesolve.units import Formatter
from fesolve.view.split_chart import draw_split
from fesolve.view.splits import drawn_rows, split_cells, split_words
from fesolve.view.words import headline, story, takes

SPRUCE = {"species": "Spruce, Sitka", "board": "flat-sawn", "thickness": "40 mm", "basis": "mean"}


def mm(value):
    return f"{value:.9g} mm"


def corners(*points):
    return [{"at": [mm(x), mm(y)]} | more for x, y, more in points]


def notched(depth, **more):
    """A bar on an end notch of two fifths of its depth, as on the page."""
    h = depth
    step = {"name": "N", **more}
    return {
        "title": "notched",
        "wood": SPRUCE,
        "outline": {
            "corners": corners(
                *((0, 0.4 * h, {"name": "A"}), (0.5 * h, 0.4 * h, step), (0.5 * h, 0, {"name": "M"})),
                *((4 * h, 0, {"name": "B"}), (4 * h, h, {"name": "C"}), (0, h, {"name": "D"})),
            )
        },
        "support": [
            {"name": "seat", "kind": "rest", "on": "edge A-N", "from": mm(0.1 * h), "to": mm(0.3 * h)},
            {"name": "far", "kind": "rest", "on": "edge M-B", "from": mm(3 * h), "to": mm(3.25 * h)},
            {"name": "side", "kind": "fixed", "axes": ["x"], "on": "edge B-C"},
        ],
        "load": [push(h)],
    }


def pinned(depth):
    """A bar on a pin of a quarter of its depth, as on the page."""
    h = depth
    return {
        "title": "pinned",
        "wood": SPRUCE,
        "outline": {"corners": corners((0, 0, {}), (4 * h, 0, {}), (4 * h, h, {}), (0, h, {}))},
        "hole": [{"name": "pivot", "center": [mm(0.5 * h), mm(0.5 * h)], "diameter": mm(0.25 * h)}],
        "support": [
            {"name": "pin", "kind": "pin", "on": "hole pivot"},
            {"name": "far", "kind": "rest", "on": "edge A-B", "from": mm(3.5 * h), "to": mm(3.75 * h)},
        ],
        "load": [push(h)],
    }


def push(h):
    down = ["0 N", f"{-40.0 * h:.9g} N"]  # 1 MPa over depth and thickness
    return {"name": "push", "on": "edge C-D", "from": mm(1.5 * h), "to": mm(1.75 * h), "force": down}


def judged(document, spots=1):
    """What is inspected, and the verdict with its worst few hot spots, on a first mesh."""
    part = fesolve.part_from(document)
    outline = part_outline(part)
    woods = woods_of(part, "flat-sawn")
    stands, solution, _ = solved(part, outline, mesh_part(part, outline), woods)
    inspected = inspect_part(stands, outline, woods, solution)
    verdict = assess(inspected).verdict
    return inspected, dataclasses.replace(verdict, hotspots=verdict.hotspots[:spots])


def rows_of(document, spots=1):
    inspected, verdict = judged(document, spots)
    return split_rows(inspected, verdict, lambda _: None)


def on_page(depth):
    """The figures of one depth on the page, MPa."""
    line = next(line for line in read("docs/fracture.md").splitlines() if re.match(rf"\| {depth} \|", line))
    return [float(cell) for cell in line.strip("|").split("|")[1:]]


@pytest.mark.parametrize(("kind", "depth", "column"), [("hole", 160, 0), ("sharp", 20, 2), ("rounded", 40, 4)])
def test_the_page_over_the_size_of_a_part(kind, depth, column):
    rounds = {"round": mm(0.05 * depth)} if kind == "rounded" else {}
    (row,) = rows_of(pinned(depth) if kind == "hole" else notched(depth, **rounds))
    stress = np.array([row.mean_load, row.low.load]) / (40.0 * depth)
    assert stress == pytest.approx(on_page(depth)[column : column + 2], rel=0.01)
    assert row.trusted == ("" if kind == "hole" else "energy")
    both = np.array(row.closure_opening) + row.closure_sliding
    total = np.array(row.opening) + row.sliding
    assert both == pytest.approx(total, rel=0.01, abs=0.002 * total.max())


@pytest.mark.slow
@pytest.mark.parametrize("round_", [0.0, 0.25, 0.5])
def test_small_rounds_at_a_notch_are_neighbours(round_):
    """Rounds of 0, 0.25 and 0.5 mm lie within 10 % of the next, by mean stress and by energy."""
    loads = []
    for radius in (round_, round_ + 0.25):
        (row,) = rows_of(notched(80, **({"round": mm(radius)} if radius else {})))
        loads.append([row.mean_load, row.low.load])
    assert loads[1] == pytest.approx(loads[0], rel=0.10)


@pytest.mark.slow
def test_a_sharp_notch_gives_the_same_at_three_mesh_sizes():
    loads = []
    for size in (12, 6, 3):
        (row,) = rows_of(notched(80) | {"mesh": {"size": mm(size)}})
        loads.append([row.mean_load, row.low.load])
    assert loads[1:] == [pytest.approx(loads[0], rel=0.03)] * 2


# ---- a crack that is there


HELD = [
    {"name": "near", "kind": "rest", "on": "edge A-B", "from": "10 mm", "to": "30 mm"},
    {"name": "far", "kind": "rest", "on": "edge A-B", "from": "280 mm", "to": "300 mm"},
    {"name": "side", "kind": "fixed", "axes": ["x"], "on": "edge B-C"},
]


def slit(length, depth=400.0, **more):
    """A plate pulled across the grain with a slit in its middle."""
    at = [mm(depth / 2 - length / 2), mm(depth / 2)]
    pull = {"traction": ["0 MPa", "1 MPa"]}
    return {
        "title": "slit",
        "wood": SPRUCE,
        "outline": {"corners": corners((0, 0, {}), (depth, 0, {}), (depth, depth, {}), (0, depth, {}))},
        "crack": [{"name": "slit", "at": at, "length": mm(length), "direction": "right"}],
        "support": [
            {"name": "foot", "kind": "fixed", "axes": ["y"], "on": "edge A-B"},
            {"name": "side", "kind": "fixed", "axes": ["x"], "on": "corner A"},
        ],
        "load": [{"name": "pull", "on": "edge C-D", **pull}],
        **more,
    }


def test_a_slit_in_a_wide_plate_starts_at_griffiths_load():
    """σ = sqrt(E'_I G_Ic / (π a)), a slit of 2a (Sih, Paris and Irwin 1965); from both tips alike, and it runs."""
    inspected, verdict = judged(slit(40.0), spots=0)
    far, near = split_rows(inspected, verdict, lambda _: None)
    wood = inspected.woods["part"]
    E_I, _ = wood.plane.crack_stiffness()
    griffith = math.sqrt(E_I * wood.fracture.G_Ic[0] / (math.pi * 20.0))
    for row in (far, near):
        stress = row.low.load / (400.0 * 40.0)
        assert stress == pytest.approx(griffith, rel=0.01)  # a plate of 10 times the slit: sec(π a/W) adds 0.6 %
        assert row.existing == 40.0
        assert row.low.stops_at is None
    assert far.low.load == pytest.approx(near.low.load, rel=2e-3)


def test_a_crack_along_the_pull_does_nothing():
    turned = slit(40.0)
    turned["load"] = [{"name": "pull", "on": "edge B-C", "traction": ["1 MPa", "0 MPa"]}]
    turned["support"] = [
        {"name": "foot", "kind": "fixed", "axes": ["x"], "on": "edge D-A"},
        {"name": "side", "kind": "fixed", "axes": ["y"], "on": "corner A"},
    ]
    rows = rows_of(turned, spots=0)
    assert all(row.low.load is None or row.low.load > 1e3 * 400.0 * 40.0 for row in rows)


def test_a_longer_check_takes_less(tmp_path):
    """An end check in a short beam on two rests: the longer one starts at a smaller load."""
    document = pinned(80) | {"hole": [], "support": HELD}
    loads = []
    for length in (50, 90):
        check = [{"name": "end", "at": ["0 mm", "40 mm"], "length": mm(length)}]
        inspected, verdict = judged(document | {"crack": check}, spots=0)
        (row,) = split_rows(inspected, verdict, lambda _: None)
        assert row.low.length == length
        assert max(row.opening) < 0.02 * max(row.sliding)  # its faces are pressed together
        loads.append(row.low.load)
    assert loads[1] < 0.9 * loads[0]
    told = dataclasses.replace(verdict, splits=(row,))
    draw_split(told, tmp_path / "split.png", Formatter("us"))
    assert (tmp_path / "split.png").stat().st_size > 10_000
    (cells,) = split_cells(told, Formatter("us"))
    assert "in" in cells[3]
    assert "a crack of 3.54 in already" in split_words(told, Formatter("us"))[0]


def test_an_end_crack_that_was_seen_is_looked_at_in_the_middle_of_both_ends():
    """The row of the left end is that of the same crack drawn there."""
    document = pinned(80) | {"hole": [], "support": HELD}
    seen = document | {"wood": SPRUCE | {"seen": ["end crack 60 mm"]}}
    left, right = rows_of(seen, spots=0)
    assert (left.at, right.at) == (pytest.approx((0.0, 40.0)), pytest.approx((320.0, 40.0)))
    assert left.direction == pytest.approx((1.0, 0.0))
    inspected, verdict = judged(document | {"crack": [{"name": "end", "at": ["0 mm", "40 mm"], "length": "60 mm"}]}, 0)
    (drawn,) = split_rows(inspected, verdict, lambda _: None)
    assert left.low.load == pytest.approx(drawn.low.load, rel=0.01)


# ---- what it decides


def two_arms(length, **wood):
    """A bar that is split for a length from its free end, its arms of 20 mm pulled apart there."""
    end, pull = {"from": "0 mm", "to": "2 mm"}, {"force": ["0 N", "100 N"]}
    return {
        "title": "two arms",
        "wood": SPRUCE | {"thickness": "20 mm"} | wood,
        "outline": {"corners": corners((0, 0, {}), (400, 0, {}), (400, 40, {}), (0, 40, {}))},
        "crack": [{"name": "check", "at": ["0 mm", "20 mm"], "length": mm(length)}],
        "support": [{"name": "wall", "kind": "fixed", "on": "edge B-C"}],
        "load": [
            {"name": "down", "on": "edge A-B", **end, "force": ["0 N", "-100 N"]},
            {"name": "up", "on": "edge C-D", "from": "398 mm", "to": "400 mm", **pull},
        ],
    }


def arms_take(wood, length, energy):
    """N: G = 12 P^2 (a + chi h)^2 / (b^2 h^3 E_0), Williams, Int. J. Fract. 36 (1988) 101-119 (from memory).

    chi^2 = E_0/(11 G) (3 - 2 (Γ/(1 + Γ))^2) with Γ = 1.18 sqrt(E_0 E_90)/G: arms that turn and shear where they join.
    """
    h = b = 20.0
    plane = wood.plane
    gamma = 1.18 * math.sqrt(plane.E_0 * plane.E_90) / plane.G
    chi = math.sqrt(plane.E_0 / (11.0 * plane.G) * (3.0 - 2.0 * (gamma / (1.0 + gamma)) ** 2))
    return math.sqrt(energy * b**2 * h**3 * plane.E_0 / 12.0) / (length + chi * h)


def test_a_crack_that_is_there_decides_by_energy():
    """Two arms pulled apart 1 mm from their ends: low and high are the closed form's loads, not the mean stress's."""
    result = fesolve.check(fesolve.part_from(two_arms(150)), cures=False)
    verdict, takes = result.verdict, result.verdict.takes
    low, high = (arms_take(result.wood, 149.0, energy) / 100.0 for energy in result.wood.fracture.G_Ic)
    assert (takes.judged, takes.best) == pytest.approx((low, math.sqrt(low * high)), rel=0.015)
    assert (takes.low, takes.high) == pytest.approx((low, high), rel=0.015)  # no load that was varied says more
    assert verdict.governing.mode == "splitting"
    assert verdict.governing.note.startswith("by energy, from crack check; the mean stress says 0.")
    assert verdict.governing.utilisation == pytest.approx(1.0 / takes.judged)
    assert verdict.hotspots[0].utilisation < 0.9 * verdict.governing.utilisation
    told = {line.label: line.text for line in story(verdict, Formatter("si"))}
    assert "the crack check runs on at 0.98 times the loads" in told["Why"]
    assert verdict.governing.at == pytest.approx((150.0, 20.0))  # the tip: there it runs on, not at its mouth
    tip = "its tip, 20 mm above edge A-B, 150 mm from A"
    assert told["Where"] == f"The crack check runs on from {tip}, along the grain to the right."
    assert split_words(verdict, Formatter("si"))[0].startswith("Crack check (tip 20 mm above edge A-B")
    # the error told is that of the energy: the mean at the tip, a place without a limit, decides nothing
    row = verdict.splits[0]
    by_closure = (row.closure_opening[0] / row.low.G_Ic + row.closure_sliding[0] / row.low.G_IIc) * takes.judged**2
    assert verdict.mesh.relative_error_of == "splitting by energy"
    assert (
        verdict.mesh.relative_error == pytest.approx(abs(by_closure - 1.0), rel=1e-6) and abs(by_closure - 1.0) < 0.01
    )
    assert not any("error of the mesh" in text for text in verdict.cautions)
    # the loads balance one another: there is no V and no M along the bar for the plain formula
    assert (verdict.hand_summary.load, verdict.hand_summary.ratio) == (None, None)
    assert told["By hand"] == "Nothing loads the member."
    # strength enters nowhere: the load goes with the root of the energies, whose scatter alone makes the chance
    assert not [row for row in verdict.how_sure if row.group == "strength"]
    ends = [row.takes for row in verdict.how_sure if row.group == "toughness"]
    assert ends == pytest.approx([low, high], rel=0.015)
    assert ends[1] / ends[0] == pytest.approx(math.sqrt(2.5))  # 250 and 100 J/m^2
    assert [row.share for row in verdict.chance.scatter] == [0.5]
    assert verdict.chance.half == pytest.approx(math.sqrt(low * high), rel=0.015)


def test_where_energy_decides_the_chance_is_of_the_same_pieces_on_every_basis():
    """The median is the closed form's load of mean wood, although what is told on the lower basis is less."""
    document = two_arms(150, basis="lower 5%")
    result = fesolve.check(fesolve.part_from(document), cures=False)
    low, high = (arms_take(result.wood, 149.0, energy) / 100.0 for energy in result.wood.fracture.G_Ic)
    assert result.verdict.takes.best < 0.7 * math.sqrt(low * high)
    assert result.verdict.chance.half == pytest.approx(math.sqrt(low * high), rel=0.015)
    told = takes(fesolve.check(fesolve.part_from(document), sure=False).verdict, Formatter("si"))
    assert "not all the scatter of toughness: more than 1 in 20 may split below" in told
    assert "About 1 in 20" not in told


def test_what_energy_asks_for_is_what_the_first_sentence_goes_by():
    """A notch in a small bar, at a load between what energy and what the mean stress say."""
    document = notched(20) | {"wood": SPRUCE | {"basis": "lower 5%"}}
    inspected, verdict = judged(document)
    rows = split_rows(inspected, verdict, lambda _: None)
    (row,) = rows
    assert row.trusted == "energy"
    between = math.sqrt(row.low.past * row.mean_load)
    document["load"][0]["force"] = ["0 N", f"{-between:.9g} N"]
    inspected, before = judged(document)
    after = assess(inspected, splits=split_rows(inspected, before, lambda _: None)).verdict
    assert before.governing.utilisation < 1.0 < after.governing.utilisation
    assert (after.takes.judged, after.takes.high) == pytest.approx((row.low.past, row.high.past))
    assert after.governing.allowable * after.governing.utilisation == pytest.approx(after.governing.value)
    assert headline(after, Formatter("si")).startswith("SPLITS")
    assert not headline(before, Formatter("si")).startswith("SPLITS")


def quick(document, **more):
    return fesolve.check(fesolve.part_from(document), sure=False, **more)


def test_a_quick_check_opens_a_crack_that_is_there():
    result = quick(two_arms(150))
    low, high = (arms_take(result.wood, 149.0, energy) / 100.0 for energy in result.wood.fracture.G_Ic)
    takes, (row,) = result.verdict.takes, result.verdict.splits
    assert (takes.low, takes.high) == pytest.approx((low, high), rel=0.015)
    assert row.lengths == (150.0,)


def test_a_quick_check_opens_where_the_mean_stress_is_doubted():
    """As far as decides: its load is that of the whole curve within 1 %, and whether it runs is not told.

    With high energies, which ask for a length that reaches under the load in so small a part, within 7 %.
    """
    verdict = quick(notched(20)).verdict
    (row,) = verdict.splits
    (whole,) = rows_of(notched(20))
    assert not row.whole and whole.whole
    assert len(row.lengths) == 5 and row.lengths[-1] < 0.6 * whole.lengths[-1]
    assert row.low.past == pytest.approx(whole.low.past, rel=0.01)
    assert row.high.past == pytest.approx(whole.high.past, rel=0.07)
    assert verdict.takes.judged == row.low.past < 0.7 * row.mean_load
    assert verdict.governing.note.startswith("by energy, from hot spot 1")
    assert split_cells(verdict, Formatter("si"))[0][4] == "not looked at"
    assert drawn_rows(verdict) == []


@pytest.mark.parametrize(("part", "trusted"), [("drawbar", "energy"), ("pump_lever", "")])
def test_which_of_both_is_trusted_is_asked_with_high_energies_too(part, trusted):
    """Both agree with low energies, where the mean decides; with high ones its length is too much of the drawbar."""
    read = fesolve.read_part(f"meshes/{part}.toml")
    mean, told = (fesolve.check(read, sure=False, splits=splits).verdict for splits in (False, True))
    row = told.splits[0]
    assert (row.trusted, row.trusted_high) == ("", trusted)
    assert row.mean_load == pytest.approx(mean.takes.low, rel=1e-9) and told.takes.low == mean.takes.low
    assert row.mean_high == pytest.approx(mean.takes.high, rel=0.05) or part == "pump_lever"  # "combined" caps that one
    assert told.takes.high == pytest.approx(row.high.past if trusted else mean.takes.high, rel=1e-9)


def test_the_high_end_is_that_of_a_wood_with_those_energies():
    """The drawbar's 350 and 1,050 J/m2 as the wood's own, whose mean begins elsewhere: within 6 %."""
    own = {"wood.fracture.G_Ic": "350 J/m^2", "wood.fracture.G_IIc": "1050 J/m^2"}
    band, one = (
        fesolve.check(fesolve.read_part("meshes/drawbar.toml", changes), sure=False).verdict for changes in ({}, own)
    )
    assert [band.splits[0].high.G_Ic, one.splits[0].low.G_Ic] == pytest.approx([0.35, 0.35])
    assert one.splits[0].trusted == one.splits[0].trusted_high == "energy"
    assert one.takes.low == one.takes.high == pytest.approx(band.takes.high, rel=0.06)


def test_what_a_part_takes_at_most_is_no_less_than_with_low_energies():
    """A load that stays uses more than half; the energy with high ones lies below the mean with low ones."""
    document = notched(80)
    document["load"].append(document["load"][0] | {"name": "stays", "force": ["0 N", "-8 kN"], "grows": False})
    for splits in (False, True):
        takes = quick(document, splits=splits).verdict.takes
        assert takes.low <= takes.best <= takes.high


@pytest.mark.parametrize("share", [-0.5, 0.5])
def test_a_load_that_stays_counts_as_it_is(share):
    """By superposition: what stays at the same place is what the load that grows has less, or more where it helps."""
    alone, document = quick(notched(40)).verdict.takes, notched(40)
    stays = {"name": "stays", "force": ["0 N", f"{-1600.0 * share:.9g} N"], "grows": False}
    document["load"].append(document["load"][0] | stays)
    takes = quick(document).verdict.takes
    wanted = [one - 1600.0 * share for one in (alone.low, alone.high)]
    assert [takes.low, takes.high] == pytest.approx(wanted, rel=2e-3)


def test_a_quick_check_opens_nothing_else():
    assert quick(pinned(160)).verdict.splits == ()  # wood enough ahead and beside
    assert quick(notched(20), splits=False).verdict.splits == ()
    seen = pinned(80) | {"hole": [], "support": HELD, "wood": SPRUCE | {"seen": ["end crack 60 mm"]}}
    assert quick(seen).verdict.splits == ()


def test_a_crack_whose_place_is_only_assumed_decides_nothing():
    document = pinned(80) | {"hole": [], "support": HELD, "wood": SPRUCE | {"seen": ["end crack 60 mm"]}}
    inspected, verdict = judged(document, spots=0)
    rows = split_rows(inspected, verdict, lambda _: None)
    assert all(row.assumed for row in rows)
    weak = dataclasses.replace(rows[0], low=dataclasses.replace(rows[0].low, load=0.5 * verdict.takes.judged))
    told = assess(inspected, splits=[weak]).verdict
    assert told.takes == verdict.takes
    assert told.governing == verdict.governing
    assert [note for note in told.cautions if "runs on at 0.50 of the load" in note]


def test_a_hot_spot_inside_the_wood_is_not_opened():
    document = pinned(80) | {
        "hole": [],
        "support": [
            {"name": "near", "kind": "rest", "on": "edge A-B", "from": "10 mm", "to": "30 mm"},
            {"name": "far", "kind": "rest", "on": "edge A-B", "from": "180 mm", "to": "200 mm"},
            {"name": "side", "kind": "fixed", "axes": ["x"], "on": "edge B-C"},
        ],
    }
    inspected, verdict = judged(document, spots=5)
    rows = split_rows(inspected, verdict, lambda _: None)
    inside = [row for row in rows if "inside the wood" in row.why]
    assert inside
    assert inside[0].low is None
    assert "not opened" in split_words(dataclasses.replace(verdict, splits=tuple(inside)), Formatter("si"))[0]


def test_the_basis_lowers_the_load_as_it_lowers_the_strength():
    """By the strength across the grain on the basis over its mean."""
    (mean,) = rows_of(notched(40))
    inspected, verdict = judged(notched(40) | {"wood": SPRUCE | {"basis": "lower 5%"}})
    (lower,) = split_rows(inspected, verdict, lambda _: None)
    across = inspected.woods["part"].strengths["tension_across"]
    assert lower.low.load / mean.low.load == pytest.approx(across.value / across.mean, rel=1e-3)


def test_a_crack_across_the_grain_is_refused():
    wrong = slit(40.0)
    wrong["crack"][0]["direction"] = "up"
    with pytest.raises(InputError, match="90 deg to the grain"):
        fesolve.check(fesolve.part_from(wrong))


def test_where_energy_decides_weak_pieces_go_by_the_mean_stress():
    """The lower of both: a piece whose strengths are at 5 % takes what the mean stress says, if that is less."""
    part = fesolve.part_from(notched(40))
    mean, told = (fesolve.check(part, splits=splits, cures=False).verdict for splits in (False, None))
    assert told.governing.note.startswith("by energy") and told.splits[0].trusted == "energy"
    (weak, strong), (weak_mean, _) = (
        [row.takes for row in one.how_sure if row.group == "strength"] for one in (told, mean)
    )
    assert weak == pytest.approx(weak_mean, rel=0.01) and weak < 0.9 * told.takes.judged
    assert strong == pytest.approx(told.takes.judged, rel=1e-9)
    assert told.takes.low <= weak and told.chance.five <= 1.01 * mean.chance.five
    assert told.chance.ninety_five < mean.chance.ninety_five


def test_an_own_splitting_length_leaves_energy_without_a_band_and_with_its_scatter():
    wood = SPRUCE | {"fracture": {"split_length": "12 mm"}}
    verdict = fesolve.check(fesolve.part_from(notched(40) | {"wood": wood}), cures=False).verdict
    (row, *_) = verdict.splits
    assert verdict.governing.note.startswith("by energy") and row.low == row.high
    assert verdict.chance.five < 0.9 * verdict.chance.half
