"""The piece in hand, changes of moisture and repeats: what is read, and one message for each thing refused."""

import copy

import pytest
from parts import document, held

from fesolve.errors import InputError
from fesolve.part.read import part_from

CORNERS = [(0, 0), (200, 0), (200, 60), (0, 60)]
LOAD = {"name": "pull", "on": "edge B-C", "force": ["1 kN", "0 N"]}
BLOW = {"name": "log", "on": "edge C-D", "direction": "down", "mass": "60 kg", "speed": "1 m/s"}


def made(case=None, **wood):
    doc = document(CORNERS, support=held(), load=[LOAD], strike=[BLOW])
    doc["wood"] = {**doc["wood"], **wood}
    doc["case"] = [{"name": "one", "loads": {"pull": 1}, **(case or {})}]
    return part_from(copy.deepcopy(doc))


def test_moisture_and_what_is_seen():
    texts = ["drying cracks 3 mm deep on both faces", "end crack 40 mm", "knot 0.5 in", "knots", "pith"]
    texts.append("grain dives 1 in 10")
    wood = made(moisture="15 %", made_at="19 %", seen=texts).wood
    assert (wood.moisture, wood.made_at) == (pytest.approx(15.0), pytest.approx(19.0))
    cracks, end, knot, pith, dives = wood.seen
    assert (cracks.kind, cracks.size, cracks.both) == ("drying cracks", 3.0, True)
    assert (end.kind, end.size) == ("end crack", 40.0)
    assert (knot.kind, knot.size) == ("knot", 12.7)  # of several the widest
    assert pith.text == "pith" and dives.run == 10.0
    assert made(seen=["drying crack"]).wood.seen[0].size is None
    assert made(seen=["grain dives 2 in 30"]).wood.seen[0].run == 15.0
    assert made(shrinkage={"across": "0.25 %"}).wood.shrinkage == {"across": 0.0025}


@pytest.mark.parametrize(
    ("repeats", "count"),
    [
        (100_000, 1e5),
        ("1e4", 1e4),
        ("200 a day for 5 years", 200 * 5 * 365.25),
        ("12 per hour for 10 days", 2880),
        ("1 every minute for 2 weeks", 20_160),
        (1, 1),
    ],
)
def test_repeats(repeats, count):
    case = made({"repeats": repeats}).cases[0]
    assert case.repeats == pytest.approx(count) and case.often == str(repeats)


def test_a_change_of_moisture_is_a_load_of_its_case():
    case = made({"moisture_change": "-6 %"}).cases[0]
    assert case.factors == {"pull": 1.0, "moisture": pytest.approx(-6.0)} and case.moisture_change == "-6 %"
    assert made({"moisture_change": "3 %", "loads": {}}).cases[0].factors == {"moisture": pytest.approx(3.0)}
    since = made({"moisture_change": "since making"}, moisture="12 %", made_at="19 %").cases[0]
    assert since.factors["moisture"] == pytest.approx(-7.0)
    # above 30 % nothing shrinks: from 45 to 20 % counts ten
    wet = made({"moisture_change": "-25 %"}, moisture="45 %").cases[0]
    assert wet.factors["moisture"] == pytest.approx(-10.0)


def test_a_part_that_only_dries_needs_no_load():
    doc = document(CORNERS, support=held())
    doc["case"] = [{"name": "dry", "moisture_change": "-4 %"}]
    assert part_from(doc).cases[0].factors == {"moisture": pytest.approx(-4.0)}


@pytest.mark.parametrize(
    ("wood", "message", "key"),
    [
        ({"moisture": "300 %"}, '"300 %" is not a moisture between 0 and 250 %', "wood.moisture"),
        ({"moisture": 15}, "15 is not a moisture .* Without its % sign it means 1500 %", "wood.moisture"),
        ({"moisture": "-1 %"}, "is not a moisture between 0 and 250 %", "wood.moisture"),
        ({"made_at": "12 mm"}, '"12 mm" is a length', "wood.made_at"),
        ({"seen": "knot"}, '"knot" is not a list; write it as in seen', "wood.seen"),
        ({"seen": ["bark"]}, '"bark" is not known in seen. What can be seen: "drying cracks"', "wood.seen"),
        ({"seen": ["knott"]}, '"knott" is not known in seen. Nearest: "knot"', "wood.seen"),
        ({"seen": ["end crack"]}, '"end crack" is not known in seen.*"end crack 40 mm"', "wood.seen"),
        ({"seen": ["drying cracks 10 kg deep"]}, "is not known in seen", "wood.seen"),
        ({"seen": ["drying cracks 0 mm deep"]}, "the size has to be greater than 0", "wood.seen"),
        ({"seen": ["grain dives 1 in 0"]}, 'write a slope as in "grain dives 1 in 10"', "wood.seen"),
        ({"seen": ["pith", "pith"]}, '"pith" stands in seen twice', "wood.seen"),
        ({"seen": [3]}, "3 is not text. What can be seen", "wood.seen"),
        ({"seen": ["drying cracks 12 mm deep on both faces"]}, "so deep they go through the 20 mm", "wood.seen"),
        ({"shrinkage": {"along": "0.01 %"}}, "needs across; for each 1 % of moisture", "wood.shrinkage.across"),
        ({"shrinkage": {"across": "7.8 %"}}, "is more than any wood shrinks", "wood.shrinkage.across"),
        ({"shrinkage": {"radial": "1 %"}}, 'Key "radial" is not known', "wood.shrinkage.radial"),
    ],
)
def test_what_cannot_be_meant_of_the_piece(wood, message, key):
    with pytest.raises(InputError, match=message) as caught:
        made(**wood)
    assert caught.value.key == key


@pytest.mark.parametrize(
    ("case", "wood", "message", "key"),
    [
        ({"repeats": 0}, {}, "repeats = 0 is not a number of times from 1 up", "repeats"),
        ({"repeats": -5}, {}, "is not a number of times from 1 up", "repeats"),
        ({"repeats": "often"}, {}, '"often" is not a number of times; write repeats = 100000', "repeats"),
        ({"repeats": "0 a day for 5 years"}, {}, "is not a number of times from 1 up", "repeats"),
        ({"repeats": "200 a fortnight for 5 years"}, {}, '"fortnight" is no time to count repeats by', "repeats"),
        ({"repeats": 1e9}, {}, r"makes 1e\+09 times; beyond 10\^7.5", "repeats"),
        ({"repeats": "9 a minute for 20 years"}, {}, r"beyond 10\^7.5 \(about 32 million\) no figure", "repeats"),
        ({"moisture_change": -6}, {}, "without its % sign means -600 %", "moisture_change"),
        ({"moisture_change": "-6 mm"}, {}, '"-6 mm" is a length', "moisture_change"),
        ({"moisture_change": "-40 %"}, {}, "State \\[wood\\] moisture if it starts wetter", "moisture_change"),
        ({"moisture_change": "-14 %"}, {"moisture": "12 %"}, "leads below 0 % of moisture", "moisture_change"),
        ({"moisture_change": "0 %"}, {}, "a change of 0 is none", "moisture_change"),
        ({"moisture_change": "-10 %"}, {"moisture": "60 %"}, "is above 30 %, where no wood shrinks", "moisture_change"),
        ({"moisture_change": "since making"}, {"moisture": "12 %"}, "needs the moisture now", "moisture_change"),
        ({"moisture_change": "-6 %", "loads": {"log": 1}}, {}, "give each a case of its own", "moisture_change"),
    ],
)  # fmt: skip
def test_what_cannot_be_meant_of_a_case(case, wood, message, key):
    with pytest.raises(InputError, match=message) as caught:
        made(case, **wood)
    assert caught.value.key == f"case.1.{key}"


def test_the_name_of_a_change_of_moisture_is_taken():
    doc = document(CORNERS, support=held(), load=[{**LOAD, "name": "moisture"}])
    doc["case"] = [{"name": "one", "loads": {"moisture": 1}, "moisture_change": "-6 %"}]
    with pytest.raises(InputError, match='A load or strike is called "moisture"'):
        part_from(doc)


def test_the_piece_s_moisture_is_that_of_its_regions_too():
    region = {"name": "cheek", "corners": [["0 mm", "0 mm"], ["50 mm", "0 mm"], ["50 mm", "60 mm"], ["0 mm", "60 mm"]]}
    doc = document(CORNERS, support=held(), load=[LOAD])
    doc["wood"] |= {"moisture": "18 %", "seen": ["drying cracks 9 mm deep"]}
    doc["region"] = [{**region, "wood": {"species": "Ash, white", "board": "flat-sawn"}, "thickness": "10 mm"}]
    part = part_from(copy.deepcopy(doc))
    assert part.regions[0].wood.moisture == pytest.approx(18.0)
    doc["wood"]["seen"] = ["drying cracks 10 mm deep"]
    with pytest.raises(InputError, match="so deep they go through the 10 mm"):
        part_from(doc)
