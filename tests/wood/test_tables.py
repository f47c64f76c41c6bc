"""The tables as shipped: joined completely, with source and status on every row, and nothing else in them."""

import re
from importlib.resources import files

import pytest

from fesolve.wood import tables

NAMES = ("strength", "elastic", "variability", "fracture", "design_values", "size_effect")

# Values in these tests are handbook rows: USDA Wood Handbook FPL-GTR-190 (2010) and FPL-GTR-282 (2021), Tables 5-1, 5-2
# and 5-3a, read in transcriptions.


@pytest.mark.parametrize("name", NAMES)
def test_every_row_has_source_and_status(name):
    for row in tables.rows(name):
        assert row["source"]
        assert row["status"] in {tables.READ, tables.COMPUTED, tables.FROM_MEMORY}


def test_number_of_rows():
    # Counts of the collected data: 35, 130, 58, 49, 60; 83 species at 12 % moisture.
    assert [len(tables.rows(name)) for name in ("elastic", "strength", "variability", "fracture", "design_values")] == [
        35,
        130,
        58,
        49,
        60,
    ]
    assert len(tables.species()) == 83


@pytest.mark.parametrize("path", sorted(p.name for p in files("fesolve.wood").joinpath("tables").iterdir()))
def test_tables_hold_published_names_only(path):
    text = files("fesolve.wood").joinpath("tables", path).read_text(encoding="utf-8")
    assert not re.search(r"https?:|www\.|/[a-z]+/|\\|\bR\d+b?\b|FROM MEMORY|web data", text)


def test_numbers_are_numbers():
    words = {"species", "group", "moisture", "source", "status", "note", "read_fields"}
    for name in ("strength", "elastic"):
        for row in tables.rows(name):
            for column in row.keys() - words:
                value = tables.number(row, column)
                assert value is None or value > 0, (row["species"], column)


def test_names_are_complete():
    named = [row["strength"] for row in tables.rows("names")]
    assert named == list(tables.species())
    known = {
        "elastic": {row["species"] for row in tables.rows("elastic")},
        "fracture": {row["material"] for row in tables.rows("fracture")},
        "variability": {row["material"] for row in tables.rows("variability")},
    }
    for row in tables.rows("names"):
        for column, names in known.items():
            assert not row[column] or row[column] in names, (row["strength"], column)


def test_every_elastic_row_but_the_tropical_ones_is_reached():
    reached = {row["elastic"] for row in tables.rows("names")}
    unreached = {row["species"] for row in tables.rows("elastic")} - reached
    assert unreached == {"Balsa", "Mahogany, African", "Mahogany, Honduras"}  # no strength rows


def test_groups_agree():
    groups = {row["species"]: row["group"] for row in tables.rows("elastic")}
    for name in tables.species():
        elastic = tables.names_row(name)["elastic"]
        assert not elastic or groups[elastic] == tables.strength_row(name)["group"]


def test_moduli_of_elastic_rows_and_strength_rows_agree():
    # Two tables of the same handbook give the bending modulus; where the species is one, E_L has to be the same.
    for name in tables.species():
        row, strength = tables.elastic_row(name), tables.strength_row(name)
        if row is not None and row["species"] == name:
            assert tables.number(row, "E_L_MPa") == tables.number(strength, "E_L_MPa"), name


def test_fifth_percentile_factors_of_scatter_rows():
    # ASTM D2555: baldcypress shear, mean 812 and standard deviation 114 lbf/in2: 14.0 %.
    assert float(tables.scatter_row("Baldcypress", "shear parallel to grain")["cov_percent"]) == pytest.approx(
        100 * 114 / 812, abs=0.05
    )
    assert tables.scatter_row("Baldcypress", "tension parallel to grain")["material"].startswith("clear")
    assert tables.scatter_row(None, "shear parallel to grain")["cov_percent"] == "14"


def test_energies_computed_from_toughness_repeat():
    # Sih, Paris, Irwin 1965: G = K^2/E'. The computed rows are repeated from the toughness rows with the 12 % stiffness
    # of the species (southern pine: loblolly); rounding to 1 J/m2, hence 1 %.
    from fesolve.wood.elastic import elastic_constants

    species = {
        "Pine, southern": "Pine, loblolly",
        "Douglas-fir": "Douglas-fir, coast",
        "Western hemlock": "Hemlock, western",
    }
    faces = {"TL": "flat-sawn", "RL": "quarter-sawn"}
    energies = [row for row in tables.rows("fracture") if row["status"] == tables.COMPUTED]
    assert len(energies) == 11
    for row in energies:
        key = (row["material"], row["mode"], row["crack_system"])
        toughness = next(
            float(r["value"])
            for r in tables.rows("fracture")
            if r["quantity"] == "K_c" and (r["material"], r["mode"], r["crack_system"]) == key
        )
        plane = elastic_constants(species.get(key[0], key[0]), faces[key[2]], {}).plane
        stiffness = plane.crack_stiffness()[0 if row["mode"] == "I" else 1]
        assert toughness**2 / stiffness == pytest.approx(float(row["value"]), rel=0.01), key
