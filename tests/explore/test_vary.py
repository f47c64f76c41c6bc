"""What --vary reads: values, ranges, choices, and what it refuses before anything is run."""

import pytest

import fesolve
from fesolve.explore.vary import read_axes, read_varied, read_vary
from fesolve.part.axes import Axis, Span, grid


@pytest.fixture(scope="module")
def drawbar():
    return fesolve.read_part("meshes/drawbar.toml")


def test_evenly_over_a_range(drawbar):
    axis = read_vary(drawbar, "notch_depth", "5 mm to 30 mm in 6")
    assert axis.values == ("5 mm", "10 mm", "15 mm", "20 mm", "25 mm", "30 mm")
    assert axis.numbers == (5, 10, 15, 20, 25, 30) and (axis.unit, axis.size) == ("mm", 1.0)


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("30 mm to 20 mm in 3", ("30 mm", "25 mm", "20 mm")),
        ("1 in to 2 in in 3", ("1 in", "1.5 in", "2 in")),
        ("1 in to 50.8 mm in 2", ("1 in", "2 in")),
        ("5 to 15 mm in 3", ("5 mm", "10 mm", "15 mm")),
        ("5 mm; 1 in", ("5 mm", "1 in")),
        ("5 mm, 8 mm,12 mm", ("5 mm", "8 mm", "12 mm")),
        ("5 mm; 8 mm; 5 mm;", ("5 mm", "8 mm")),
        (["5 mm", "8 mm"], ("5 mm", "8 mm")),
        ("0.1 mm to 0.4 mm in 4", ("0.1 mm", "0.2 mm", "0.3 mm", "0.4 mm")),
    ],
)
def test_values(drawbar, text, values):
    axis = read_vary(drawbar, "notch_depth", text)
    assert axis.values == values
    inch = [25.4 * float(one.split()[0]) if one.endswith("in") else float(one.split()[0]) for one in values]
    assert axis.numbers == pytest.approx(inch)


def test_choices_are_parted_by_semicolons(drawbar):
    axis = read_vary(drawbar, "species", "Ash, white; Oak, northern red")
    assert axis == Axis("species", ("Ash, white", "Oak, northern red"))
    assert read_vary(drawbar, "species", "Ash, white").values == ("Ash, white",)


def test_expressions_are_values_too(drawbar):
    assert read_vary(drawbar, "notch_depth", "depth/4; depth/3") == Axis("notch_depth", ("depth/4", "depth/3"))


def test_a_range_without_a_number_of_values(drawbar):
    span = read_vary(drawbar, "notch_depth", "1 in to 5 mm")
    assert (span.low, span.high, span.text(12.7)) == (5.0, 25.4, "0.5 in") and isinstance(span, Span)
    with pytest.raises(fesolve.InputError, match=r'does not say how many values; write "5 mm to 30 mm in 6"'):
        read_axes(drawbar, {"notch_depth": "5 mm to 30 mm"})


def test_a_full_grid(drawbar):
    axes = read_axes(drawbar, {"notch_depth": "5 mm; 6 mm", "grain": "0 deg; 5 deg; 10 deg"})
    variants = grid(axes)
    assert len(variants) == 6
    assert variants[1] == {"notch_depth": "5 mm", "grain": "5 deg"}


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("noch_depth", "5 mm; 6 mm", r'Cannot set "noch_depth": it is not a dimension.*Nearest: "notch_depth"'),
        ("support.keeper.gapp", "1 mm; 2 mm", r"gapp"),
        ("support.nobody.gap", "1 mm", r'"nobody" is not one of the list'),
        ("wood.elastik.G", "700 MPa", r"elastik"),
        ("notch_depth", "5 N; 6 N", r'"5 N" is a force, but "notch_depth" is a length'),
        ("notch_depth", "5; 6", r'"5" is a number without a unit, but "notch_depth" is a length'),
        ("notch_depth", "5 mm to 30 N in 6", r"One end is a length, the other a force"),
        ("notch_depth", "5 mm to deep in 6", r'"deep" is not a quantity'),
        ("notch_depth", "5 mm to 30 mm in 1", r"A range has 2 to 100,000 values, not 1"),
        ("notch_depth", "5 mm to 30 mm in 99999999999", r"A range has 2 to 100,000 values"),
        ("notch_depth", "5 mm to 5 mm in 3", r"begins and ends at the same value"),
        ("notch_depth", "5 mm; 3 furlong", r'"furlong" is not a unit'),
        ("notch_depth", "5 mm;; 6 mm", r"There are no values, or an empty one"),
        ("notch_depth", " ", r"There are no values, or an empty one"),
        ("notch_depth", [], r"There are no values"),
        ("grain", "1 mm to 2 mm in 2", r'"1 mm" is a length, but "grain" is an angle'),
        ("basis", "middle; average", r"middle"),
    ],
)
def test_what_cannot_be_meant(drawbar, name, text, said):
    with pytest.raises(fesolve.InputError, match=said):
        read_vary(drawbar, name, text)


def test_one_thing_under_two_names(drawbar):
    with pytest.raises(fesolve.InputError, match=r'"grain" and "wood.grain" are the same; vary it once'):
        read_varied(drawbar, {"grain": "0 deg; 5 deg", "wood.grain": "0 deg; 5 deg"})


def test_nothing_and_too_much(drawbar):
    with pytest.raises(fesolve.InputError, match=r'Nothing is varied: give --vary NAME="...", such as --vary length='):
        read_axes(drawbar, {})
    many = {"notch_depth": "5 mm to 30 mm in 1000", "grain": "0 deg to 20 deg in 1000"}
    with pytest.raises(fesolve.InputError, match=r"These are 1,000,000 variants; a sweep has at most 100,000"):
        read_axes(drawbar, many)


def test_fractions_of_an_inch_are_values_and_ends_of_ranges(drawbar):
    one = read_vary(drawbar, "notch_depth", "1 1/2 in; 2 in")
    assert (one.values, one.unit) == (("1 1/2 in", "2 in"), "in") and one.numbers == pytest.approx((38.1, 50.8))
    assert read_vary(drawbar, "notch_depth", "1/4 in to 1 in in 4").values == ("0.25 in", "0.5 in", "0.75 in", "1 in")
