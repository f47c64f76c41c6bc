"""The piece in hand judged: drying that is held back, repeats, cracks in the faces, what to look at, and the proof."""

import copy
import dataclasses
import math

import numpy as np
import pytest
from parts import THICKNESS, check, document, held, row, uniform

import fesolve
from fesolve.judge.criteria import SplitStrength, split_utilisation
from fesolve.judge.lasting import Left, duration_factors
from fesolve.judge.moisture import CREPT
from fesolve.judge.piece import proof_of
from fesolve.judge.rows_sure import Chance
from fesolve.judge.verdict import COMBINED, COMPRESSION_ALONG, SHEAR, SPLITTING, TENSION_ALONG, Takes
from fesolve.units import Formatter
from fesolve.view.piece import drying, proof_words, repeated
from fesolve.view.words import headline, takes

CORNERS = [(0, 0), (150, 0), (150, 80), (0, 80)]
WOOD = {"shrinkage": {"across": "0.25 %", "along": "0.005 %"}}
E_90, F_T90 = 600.0, 2.0  # of the test's own wood


def dried(change="-6 %", support=None, load=(), **more):
    """A block that dries; between two faces that hold it across the grain unless supports are given."""
    faces = [
        {"name": "low", "kind": "fixed", "on": "edge A-B", "axes": ["y"]},
        {"name": "high", "kind": "fixed", "on": "edge C-D", "axes": ["y"]},
        {"name": "side", "kind": "fixed", "on": "corner A", "axes": ["x"]},
    ]
    loads = {"loads": {one["name"]: 1 for one in load}} if load else {}
    doc = document(
        CORNERS, support=support or faces, case=[{"name": "dry", "moisture_change": change, **loads}], **more
    )
    if load:
        doc["load"] = list(load)
    doc["wood"] |= WOOD
    return doc


def test_a_block_held_across_the_grain():
    """σ_90 = -E_90 C ΔM (closed form): 600 x 0.0025 x 6 = 9 MPa, and half of the drying half of it."""
    verdict = check(dried()).verdict
    across = next(one for one in verdict.modes if one.mode == "tension across grain")
    assert across.value == pytest.approx(9.0, rel=1e-6)
    worst = next(one for one in verdict.modes if one.mode == SPLITTING)
    assert worst.utilisation == pytest.approx(9.0 / F_T90, rel=1e-6)
    (told,) = verdict.moisture_changes
    assert (told.change, told.across, told.along) == pytest.approx((-6.0, -0.015, -0.0003))
    assert told.utilisation == pytest.approx(4.5, rel=1e-6)
    assert told.utilisation_crept == pytest.approx(CREPT * 4.5, rel=1e-6)
    assert verdict.governing.load_factor == pytest.approx(1 / 4.5, rel=1e-3)  # of the drying: nothing else grows
    assert "-6 % of moisture wants to shrink it by 1.5 % across the grain" in drying(verdict)
    assert "1.80 (crept to 0.4) to 4.5 (all elastic, told here)" in drying(verdict)
    assert not verdict.loads and verdict.proof is None  # drying is not proved by a push


def test_a_free_block_only_shrinks():
    verdict = check(dried(support=held())).verdict
    assert verdict.moisture_changes[0].utilisation == 0.0
    assert verdict.governing is None and verdict.takes.low is None
    assert headline(verdict, Formatter("si")).startswith("NOTHING LOADS IT")


def test_what_a_load_takes_beside_drying():
    """Drying by 1 % takes 1.5 of 2 MPa across the grain; a pull from above may add the rest. The search finds it."""
    pull = {"name": "pull", "on": "edge B-C", "traction": ["1 MPa", "0 MPa"]}
    alone = check(dried("-1 %", load=[pull])).verdict
    assert alone.takes.of == "pull" and alone.governing.load_factor_kind == "searched"
    more = check(dried("-2 %", load=[pull])).verdict
    assert (more.takes.low, more.governing.load_factor) == (0.0, 0.0)
    assert takes(more, Formatter("si")).startswith('Nothing of "pull": what stays on it')


def test_the_mesh_s_error_knows_of_the_strain():
    """A block held at one face: stress without a limit at its ends, yet the means settle on the first meshes."""
    foot = [{"name": "foot", "kind": "fixed", "on": "edge A-B"}]
    mesh = check(dried(support=foot)).verdict.mesh
    assert mesh.relative_error < 0.01 and mesh.stopped == ""


def test_own_wood_without_shrinkage_is_refused():
    doc = dried()
    del doc["wood"]["shrinkage"]
    with pytest.raises(fesolve.InputError, match="How much the wood shrinks is not known: it has no species") as caught:
        check(doc)
    assert caught.value.key == "case.1.moisture_change"


# ---- fasteners without such a case


def pinned(high=True, pin=None, **wood):
    holes = [{"name": "low", "center": ["40 mm", "20 mm"], "diameter": "8 mm"},
             {"name": "high", "center": ["40 mm", "60 mm"], "diameter": "8 mm"}]  # fmt: skip
    pins = [{"name": f"bolt {one['name']}", "kind": "pin", "on": f"hole {one['name']}"} for one in holes]
    if pin:
        pins = [{**one, "pin": pin} for one in pins]
    if not high:
        rest = {"name": "rest", "kind": "rest", "on": "edge A-B", "from": "100 mm", "to": "140 mm"}
        holes, pins = holes[:1], [pins[0], rest]
    load = {"name": "push", "on": "edge B-C", "force": ["0 N", "-500 N"]}
    doc = document(CORNERS, support=pins, hole=holes, load=[load])
    doc["wood"] |= WOOD | wood
    return doc


def said(verdict, words):
    return [text for text in verdict.cautions if words in text]


def test_two_tight_pins_across_the_grain_are_told():
    (text,) = said(check(pinned()).verdict, "by drying alone")
    # 40 mm x 0.25 %; 2 MPa over 600 MPa x 0.25 % a percent, and over 0.4 of that
    assert '"bolt low" and "bolt high" hold the wood 40 mm apart' in text
    assert "0.10 mm there for each 1 % of drying" in text and "1.3 % (all elastic) to 3.3 % (creep leaves 0.4" in text


def test_pins_with_play_or_along_the_grain_are_not():
    assert not said(check(pinned(pin="7.5 mm")).verdict, "drying alone")
    (text,) = said(check(pinned(grain="90 deg")).verdict, "drying alone")
    assert text.startswith('"bolt low", "bolt high" fill their holes')
    (text,) = said(check(pinned(high=False)).verdict, "drying alone")
    assert '"bolt low" fills its hole' in text and "0.12 mm for 6 % of drying" in text
    doc = pinned()
    doc["case"] = [{"name": "one", "loads": {"push": 1}}, {"name": "dry", "moisture_change": "-3 %"}]
    assert not said(check(doc).verdict, "drying alone")


# ---- repeats


def passing(**case):
    doc = uniform((20.0, 0.4, 0.8))
    loads = {one["name"]: 1.0 for one in doc["load"]}
    doc["case"] = [{"name": "once", "loads": loads}, {"name": "often", "loads": loads, **case}]
    return doc


def test_repeats_lower_each_strength_by_its_line_once():
    result = check(passing(repeats=100_000))
    verdict = result.verdict
    once, often = ({row.mode: row for row in verdict.modes if row.case == name} for name in ("once", "often"))
    # 55 % over log10(30 million) a decade, 50 % over the same: five decades
    shear, along = 1 - 5 * 0.55 / math.log10(3e7), 1 - 5 * 0.50 / math.log10(3e7)
    for mode, k in ((SPLITTING, shear), (SHEAR, shear), (TENSION_ALONG, along), (COMBINED, shear)):
        assert often[mode].utilisation == pytest.approx(once[mode].utilisation / k, rel=1e-9)
    assert "strength times 0.63 after 100,000 times, by the line for shear" in often[SPLITTING].note
    (told,) = verdict.repeats
    assert (told.left_splitting, told.left_along) == pytest.approx((shear, along))
    worst = max(row.utilisation for row in verdict.modes if row.case == "often" and row.decides)
    assert told.utilisation == pytest.approx(worst)
    assert told.once == pytest.approx(max(row.utilisation for row in once.values() if row.decides))
    assert verdict.governing.case == "often"
    assert '"often" comes 100,000 times, which leaves 0.63 of the strength against splitting, 0.67' in repeated(verdict)
    (code,) = said(verdict, "EN 1995-2")
    assert '"often" 0.44 in shear' in code  # 1 - 0.9 x 5/(6.7 x 1.2)
    spots = {name: max(s.utilisation for s in verdict.hotspots if s.case == name) for name in ("once", "often")}
    assert spots["often"] == pytest.approx(spots["once"] / shear, rel=1e-9)
    fields = result.utilisation
    assert fields["often"][COMPRESSION_ALONG] == pytest.approx(
        fields["once"][COMPRESSION_ALONG] / (1 - 5 * 0.25 / math.log10(3.5e6))
    )


def test_below_a_thousand_nothing_is_claimed():
    verdict = check(passing(repeats=200)).verdict
    assert "nothing is claimed" in verdict.repeats[0].note
    assert said(verdict, 'Case "often": below 1,000 cycles nothing is claimed')


def test_lasting_and_repeated_take_the_lower_of_both():
    part = fesolve.part_from(passing(repeats=1000, duration="10 years"))
    left = duration_factors(part)["often"]
    assert left.of(SHEAR) == left.duration == pytest.approx(0.61, abs=0.005)
    assert left.worn(SHEAR) == pytest.approx(1 - 3 * 0.55 / math.log10(3e7))
    assert Left().of(SPLITTING) == 1.0 and Left().said(SPLITTING) == ""


def test_knots_and_diving_grain_have_a_lower_line():
    doc = passing(repeats=2_000_000)
    doc["wood"]["seen"] = ["knot", "grain dives 1 in 10"]
    left = duration_factors(fesolve.part_from(copy.deepcopy(doc)))["often"]
    assert left.of(TENSION_ALONG) == pytest.approx(0.40)  # Table 5-17: both
    doc["wood"]["seen"] = ["grain dives 1 in 12"]
    assert duration_factors(fesolve.part_from(copy.deepcopy(doc)))["often"].of(TENSION_ALONG) == pytest.approx(0.50)
    doc["wood"]["seen"] = ["grain dives 1 in 15"]
    assert duration_factors(fesolve.part_from(doc))["often"].along == "tension"


STRIKE = {"name": "log", "on": "edge C-D", "from": "5 mm", "to": "15 mm", "direction": "down", "mass": "2 kg",
          "speed": "0.3 m/s"}  # fmt: skip


def struck(**case):
    doc = document(CORNERS, support=[{"name": "wall", "kind": "fixed", "on": "edge B-C"}], strike=[STRIKE])
    doc["wood"]["density"] = "600 kg/m^3"
    if case:
        doc["case"] = [{"name": "blow", "loads": {"log": 1}, **case}]
    return doc


@pytest.fixture(scope="module")
def one_blow():
    return check(struck()).verdict


def test_a_strike_is_judged_for_one_blow_and_100_000_stand_beside(one_blow):
    (told,) = one_blow.repeats
    assert told.repeats is None and told.counted == 100_000
    assert told.once == pytest.approx(one_blow.governing.utilisation)
    assert repeated(one_blow).startswith("Judged for one blow; 100,000 of them leave 0.63 of the strength")
    often = check(struck(repeats=100_000)).verdict
    assert often.governing.utilisation == pytest.approx(told.utilisation, rel=1e-6)
    assert often.repeats[0].once == pytest.approx(told.once, rel=1e-6)
    assert any("out of service" in text for text in often.look_at)


# ---- what was seen, what to look at, and the proof


def test_cracks_in_the_faces_raise_splitting_and_shear():
    sound, cracked = uniform((0.0, 0.5, 1.0)), uniform((0.0, 0.5, 1.0))
    cracked["wood"]["seen"] = ["drying cracks 5 mm deep"]
    one, two = check(sound), check(cracked)
    k = (THICKNESS - 5.0) / THICKNESS
    assert row(two, SHEAR).utilisation == pytest.approx(row(one, SHEAR).utilisation / k, rel=1e-6)
    # pressure across, 5 MPa of the test's wood, is no matter of cracks, and has a small part in the criterion
    wanted = split_utilisation(np.array([0.5]), np.array([1.0]), SplitStrength(8.0 * k, 2.0 * k, 5.0))
    assert row(two, SPLITTING).utilisation == pytest.approx(wanted[0], rel=1e-6)
    assert row(two, SPLITTING).utilisation == pytest.approx(row(one, SPLITTING).utilisation / k, rel=0.01)
    assert two.verdict.piece.cracked == pytest.approx(k) and two.verdict.piece.seen == ("drying cracks 5 mm deep",)
    used = next(one for one in two.verdict.allowables if one.mode == SHEAR)
    assert [(factor.name, factor.value) for factor in used.factors] == [("thickness less drying cracks", k)]


def test_each_thing_seen_is_a_caution_with_its_numbers():
    doc = uniform((20.0, 0.0, 0.0))
    seen = ["drying cracks", "end crack 40 mm", "knot", "pith", "grain dives 1 in 10"]
    doc["wood"] |= {"seen": seen, "moisture": "12 %"}
    verdict = check(doc).verdict
    assert said(verdict, "k_cr = 0.67") and said(verdict, '"end crack 40 mm": a crack along the grain can run on')
    assert said(verdict, "leaves 50 % in place of 60 % at 2 million times") and said(verdict, '"pith": cracks run out')
    (dives,) = said(verdict, '"grain dives 1 in 10"')
    assert "81 % in bending, 62 % in impact bending, 99 % in compression" in dives and "0.56 to 0.92" in dives
    assert "tension along the grain, 0.25 of its strength, becomes 0.31" in dives  # 20/80, and over 0.81
    assert "Not modelled: hidden decay, wear, glue lines." in verdict.cautions
    assert not any("Its moisture" in text or "nothing was said" in text for text in verdict.look_at)
    doc["wood"]["seen"] = ["grain dives 1 in 4"]
    assert said(check(doc).verdict, "the handbook's table ends at 1 in 5")


def test_the_window_of_a_proof(one_blow):
    verdict = check(uniform((20.0, 0.0, 0.0))).verdict
    # tension along at 20/80: it takes 4 times the loads; 1.25 is below 0.8 x 4
    proof = verdict.proof
    assert (proof.expected, proof.wanted, proof.load) == (1.0, 1.25, 1.25) and proof.most == pytest.approx(
        3.2, rel=1e-6
    )
    assert "A slow push of 1.25 times the loads as all loads together acts" in proof_words(verdict, Formatter("si"))[0]
    edge = dataclasses.replace(verdict, takes=Takes(2.0, 1.5625, 2.5, verdict.takes.of))
    assert proof_of(edge).load == 1.25
    empty = dataclasses.replace(verdict, takes=Takes(2.0, 1.56, 2.5, verdict.takes.of))
    assert proof_of(empty).load is None
    words = proof_words(dataclasses.replace(empty, proof=proof_of(empty)), Formatter("si"))
    assert words[0].startswith("No push proves it: 1.25 times the largest expected load would be 1.25 times the loads")
    assert proof_of(dataclasses.replace(verdict, takes=Takes(None, None, None, "x"))) is None
    # 5 of 100 pieces break below 1.3, or below 1.2: no push goes beyond that
    for five, load in ((1.3, 1.25), (1.2, None), (4.0, 1.25)):
        chance = Chance(verdict.takes.of, "lognormal", 1.0, 0.01, five, 2 * five, 4 * five, 0.4, (), ())
        seldom = dataclasses.replace(verdict, chance=chance)
        seldom = dataclasses.replace(seldom, proof=proof_of(seldom))
        assert (seldom.proof.most, seldom.proof.load) == (pytest.approx(min(five, 3.2), rel=1e-6), load)
        assert ("at which 5 of 100 such pieces break" in proof_words(seldom, Formatter("si"))[0]) is (five < 3.2)
    # of a strike the greater of both forces
    forces = one_blow.strikes[0].struck_high, one_blow.strikes[0].through_time.peak_force
    assert one_blow.proof.of == "log" and one_blow.proof.expected == pytest.approx(max(forces))
