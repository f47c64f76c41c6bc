"""Looking woods up."""

import pytest

from fesolve.wood import tables
from fesolve.wood.search import find_woods


def test_all_woods():
    rows = find_woods()
    assert len(rows) == len(tables.species()) + len(tables.rows("design_values"))
    assert all(value.source and value.status for row in rows for value in row.values)
    assert all(row.values for row in rows)


def test_words_in_any_order_and_case():
    assert [row.name for row in find_woods("COAST doug")] == ["Douglas-fir, coast"]
    assert {row.name for row in find_woods("oak")} == {name for name in tables.species() if name.startswith("Oak")}
    assert find_woods("no such wood") == ()


def test_values_of_a_species():
    # USDA Wood Handbook FPL-GTR-190 Table 5-3a (12 % row) and FPL-GTR-282 Table 5-1, read in transcriptions.
    row = find_woods("douglas coast")[0]
    known = {(value.name, value.conditions): value for value in row.values}
    assert known["shear along the grain", "12 % moisture"].value == 7.8
    assert known["E_90/E_0", "flat-sawn face"].value == 0.050
    assert known["G_Ic, opening", "crack system TL"].status == "computed here"
    assert known["K_Ic, opening", "crack system TL"].status == "from memory"
    assert row.faces == ("flat-sawn", "quarter-sawn")


def test_incomplete_species_say_so():
    assert find_woods("white oak")[0].faces == ("quarter-sawn",)
    assert "no elastic ratios" in find_woods("shagbark")[0].note


def test_strength_class():
    # EN 338:2016 Table 1: C24 bending 24, shear 4.0, mean modulus 11 000 MPa (three agreeing transcriptions).
    (row,) = find_woods("c24")
    values = {value.name: value.value for value in row.values}
    assert (values["bending"], values["shear"], values["E_0, mean"]) == (24, 4.0, 11_000)
    assert row.kind == "strength class"
    assert row.note == "basis lower 5% or design"


def test_graded_lumber():
    # NDS Supplement 2018 Table 4A: Douglas Fir-Larch No.2, F_v 180 psi; G = E/16 is a convention, no table value.
    (row,) = find_woods("larch no 2")
    values = {value.name: value for value in row.values}
    assert values["shear"].value == pytest.approx(180 * 0.00689476, abs=0.005)
    assert values["G, mean"].status == "computed here"
    assert row.kind == "graded lumber"
