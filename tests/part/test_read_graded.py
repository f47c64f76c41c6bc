"""Grades, classes and kinds of action in the part file: what is read, and what mixing of families is refused."""

import pytest

from fesolve.errors import InputError
from fesolve.part.read import part_from

GRADE = {"grade": "Douglas Fir-Larch No.2", "size": "2x6", "basis": "design"}
CLASS = {"class": "C24", "service": 2, "basis": "design"}


def document(wood, load=None, **tables):
    corners = [{"at": [f"{x} mm", f"{y} mm"]} for x, y in ((0, 0), (300, 0), (300, 90), (0, 90))]
    base = {"species": "Douglas-fir, coast", "board": "flat-sawn", "thickness": "38 mm"}
    push = {"name": "logs", "on": "edge B-C", "force": ["0 N", "-1 kN"]} | (load or {})
    return {
        "wood": {key: value for key, value in (base | wood).items() if value is not None},
        "outline": {"corners": corners},
        "support": [{"name": "wall", "kind": "fixed", "on": "edge D-A"}],
        "load": [push],
        **tables,
    }


def test_a_grade_and_its_conditions_are_read():
    more = {"wet": True, "temperature": "50 degC", "flat_use": True, "repetitive": True, "treated": True}
    wood = part_from(document(GRADE | more)).wood
    assert (wood.grade, wood.size, wood.basis) == ("Douglas Fir-Larch No.2", (2, 6), "design")
    assert (wood.wet, wood.temperature, wood.flat_use, wood.repetitive, wood.treated) == (True, 50.0, True, True, True)
    assert part_from(document(GRADE | {"temperature": "122 degF"})).wood.temperature == pytest.approx(50.0)
    assert part_from(document(GRADE | {"size": "4 X 12"})).wood.size == (4, 12)


def test_a_class_is_read():
    wood = part_from(document(CLASS, {"kind": "variable"})).wood
    assert (wood.strength_class, wood.service, wood.grade) == ("C24", 2, None)
    assert part_from(document({"class": "C24", "basis": "lower 5%"})).wood.service is None


CASES = [
    {"name": "stays", "loads": {"logs": 1.0, "gravity": 1.0}},
    {"name": "half", "loads": {"logs": 0.5}},
]


@pytest.mark.parametrize(
    ("kind", "partial"), [("permanent", 1.35), ("permanent, helps", 1.0), ("variable", 1.5), ("accidental", 1.0)]
)
def test_partial_load_factors(kind, partial):
    """EN 1990:2002, Tables A1.2(B) and A1.3 (from memory): 1.35, 1.0, 1.5; with an accidental action 1.0 for all."""
    part = part_from(document(CLASS, {"kind": kind}, case=CASES, gravity={"direction": "down"}))
    weight = 1.0 if kind == "accidental" else 1.35
    assert part.cases[0].factors == {"logs": partial, "gravity": weight} == part.cases[0].partial
    assert part.cases[1].factors == {"logs": 0.5 * partial}
    assert all(case.accidental == (kind == "accidental") for case in part.cases)


def test_partial_load_factors_are_limit_states_alone():
    for wood in (GRADE, {"basis": "lower 5%"}, {"class": "C24", "basis": "lower 5%"}):
        part = part_from(document(wood, {"kind": "variable"}, case=CASES[1:]))
        assert part.cases[0].factors == {"logs": 0.5} and part.cases[0].partial == {}


def test_a_strike_is_an_accident():
    strike = {"name": "cart", "on": "edge B-C", "direction": "left", "mass": "5 kg", "speed": "0.2 m/s"}
    case = {"name": "hit", "loads": {"logs": 1.0, "cart": 1}}
    (found,) = part_from(document(CLASS, {"kind": "variable"}, strike=[strike], case=[case])).cases
    assert found.factors == {"logs": 1.0, "cart": 1.0} and found.accidental


REFUSED = [
    (GRADE | {"class": "C24"}, "wood.class", "their values and factors are not mixed"),
    (GRADE | {"basis": "mean"}, "wood.basis", 'A lumber grade has no values on basis "mean". Allowed: species'),
    (GRADE | {"basis": "lower 5%"}, "wood.basis", 'no values on basis "lower 5%"'),
    (CLASS | {"basis": "lower 10%"}, "wood.basis", 'A strength class has no values on basis "lower 10%"'),
    ({"basis": "design"}, "wood.basis", 'Clear wood has no values on basis "design"'),
    (
        CLASS | {"wet": True},
        "wood.wet",
        "wet belongs to a lumber grade .*this is a strength class.*service = 1, 2 or 3",
    ),
    (CLASS | {"size": "2x6"}, "wood.size", "size belongs to a lumber grade"),
    (GRADE | {"service": 1}, "wood.service", "service belongs to a strength class .*this is a lumber grade"),
    ({"basis": "mean", "service": 1}, "wood.service", "this is clear wood"),
    ({"basis": "mean", "repetitive": True}, "wood.repetitive", "this is clear wood"),
    (CLASS | {"service": 4}, "wood.service", "4 is not a service class. Choices: 1: indoors"),
    (CLASS | {"service": None}, "wood.service", "needs service; .*Choices: 1: indoors"),
    (GRADE | {"strength": {"shear": "5 MPa"}}, "wood.strength", "do not go with a grade"),
    (GRADE | {"species": None}, "wood.species", "come from the tree beside a grade or class"),
    (GRADE | {"size": "two by six"}, "wood.size", "is not a nominal size; write thickness by width"),
    (GRADE | {"temperature": "hot"}, "wood.temperature", "is not a temperature; write it as in"),
    (GRADE | {"wet": "yes"}, "wood.wet", "neither true nor false"),
]


@pytest.mark.parametrize(("wood", "key", "match"), REFUSED)
def test_families_are_kept_apart(wood, key, match):
    with pytest.raises(InputError, match=match) as raised:
        part_from(document(wood))
    assert raised.value.key == key


def test_a_load_of_a_class_says_its_kind():
    with pytest.raises(InputError, match=r'Load "logs".*kind of action.*"permanent": weight') as raised:
        part_from(document(CLASS))
    assert raised.value.key == "load.1.kind"
    with pytest.raises(InputError, match=r'is not a choice for kind\. Nearest: "variable"'):
        part_from(document(CLASS, {"kind": "varable"}))


def region(wood):
    return [{"name": "web", "corners": [["0 mm", "30 mm"], ["300 mm", "30 mm"], ["300 mm", "60 mm"]], "wood": wood}]


def test_a_region_stays_in_the_family_of_the_part():
    with pytest.raises(InputError, match="allowable stress design and limit states are not mixed in one part"):
        part_from(document(GRADE, region=region({"class": "C24", "species": "Larch, western", "service": 1})))
    with pytest.raises(InputError, match='Clear wood has no values on basis "design"'):
        part_from(document(GRADE, region=region({"species": "Larch, western"})))
    found = part_from(
        document(GRADE | {"wet": True}, region=region({"grade": "Hem-Fir No.2", "species": "Hemlock, western"}))
    )
    (one,) = found.regions
    assert one.wood is not None and (one.wood.grade, one.wood.size, one.wood.wet) == ("Hem-Fir No.2", (2, 6), True)
