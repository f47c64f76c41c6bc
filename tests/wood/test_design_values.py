"""Design values: every factor table, and adjusted values against printed ones.

NDS figures: NDS 2018 and its Supplement 2018 (read, where the table of factors says so; else from memory).
EN figures: EN 338:2016, EN 1995-1-1:2004. Examples with printed answers: tests/reference/cases_allowables.py.
"""

import math

import pytest

from fesolve.errors import InputError
from fesolve.wood import tables
from fesolve.wood.allowables import values_used
from fesolve.wood.bearing import dowel_of
from fesolve.wood.case_factors import DAY, YEAR, asd_case_factors, clear_factors, limit_case_factors
from fesolve.wood.classes import class_row
from fesolve.wood.conditions import Conditions
from fesolve.wood.grades import GROUPS, asd_factors, grade_of
from fesolve.wood.model import ALLOWABLE, LIMIT
from fesolve.wood.species import make_wood

PSI = 145.0377  # in one MPa
DF = "Douglas-fir, coast"


def lumber(grade="Douglas Fir-Larch No.2", species=DF, size=(2, 6), **more):
    conditions = Conditions(size=size, **more)
    return make_wood(species=species, face="flat-sawn", basis="design", grade=grade, conditions=conditions)


def timber(name="C24", species="Spruce, Sitka", basis="design", face="flat-sawn", **more):
    conditions = Conditions(**({"service": 1, "depth": 200.0} | more))
    return make_wood(species=species, face=face, basis=basis, strength_class=name, conditions=conditions)


def factors(letter, grade="Douglas Fir-Larch No.2", size=(2, 6), **more):
    conditions = Conditions(size=size, **more)
    return {one.name: one.value for one in asd_factors(grade_of(grade, size), letter, conditions)}


# ---- allowable stress design: C_D of the case

# NDS 2018, Table 2.3.2 (read): the longest time that each row is for
DURATIONS = [
    (1.0, 2.0), (2.0, 2.0), (600.0, 1.6), (7 * DAY, 1.25), (YEAR / 6, 1.15), (10 * YEAR, 1.0), (50 * YEAR, 0.9),
    (60.0, 1.6), (3 * DAY, 1.25), (30 * DAY, 1.15), (YEAR, 1.0),  # between rows the longer one
]  # fmt: skip


@pytest.mark.parametrize(("seconds", "wanted"), DURATIONS)
def test_load_duration(seconds, wanted):
    found = asd_case_factors(seconds)
    assert (found.strength, found.pressed) == (wanted, 1.0)
    (factor,) = found.factors
    assert (factor.name, factor.source) == ("C_D", "NDS 2018, Table 2.3.2") and factor.note.endswith("read")


def test_load_duration_is_not_for_compression_across():
    (factor,) = asd_case_factors(7 * DAY).across
    assert factor.value == 1.0 and "deformation limit" in factor.note


@pytest.mark.parametrize("more", [{"joint": True}, {"treated": True}])
def test_impact_is_refused_at_connections_and_in_treated_wood(more):
    """NDS 2018, Table 2.3.2 and its notes (read): no factor above 1.6 there."""
    (factor,) = asd_case_factors(1.0, **more).factors
    assert factor.value == 1.6 and "impact would be 2.0, but not here" in factor.note
    assert asd_case_factors(None, blow=True, **more).strength == 1.6
    assert asd_case_factors(None, blow=True).strength == 2.0
    assert asd_case_factors(7 * DAY, **more).strength == 1.25


def test_without_a_duration_reference_values_stand():
    (factor,) = asd_case_factors(None).factors
    assert factor.value == 1.0 and "nobody said" in factor.note


def test_clear_wood_keeps_its_own_curve():
    assert clear_factors(1.0).strength == 1.0 and clear_factors(1.0).factors == ()
    assert clear_factors(10 * YEAR).strength == pytest.approx(0.61, abs=0.005)  # L. W. Wood 1951, from memory


# ---- allowable stress design: factors of the wood

WET = {"Fb": 0.85, "Ft": 1.0, "Fv": 0.97, "Fc_perp": 0.67, "Fc": 0.80, "E": 0.90}  # NDS Supplement, Table 4A, read


@pytest.mark.parametrize(("letter", "wanted"), WET.items())
def test_wet_service(letter, wanted):
    big = "Douglas Fir-Larch Select Structural"  # Fb C_F 1,950 psi, Fc C_F 1,870: above the limits of the exemption
    assert factors(letter, big, wet=True)["C_M"] == wanted
    assert factors(letter, big)["C_M"] == 1.0


@pytest.mark.parametrize(
    ("grade", "size", "letter", "wanted"),
    [
        ("Douglas Fir-Larch No.3", (2, 6), "Fb", 1.0),  # 525 x 1.3 = 682 psi, at most 1,150
        ("Douglas Fir-Larch No.2", (2, 6), "Fb", 0.85),  # 900 x 1.3 = 1,170 psi
        ("Douglas Fir-Larch No.2", (2, 8), "Fb", 1.0),  # 900 x 1.2 = 1,080 psi
        ("Spruce-Pine-Fir No.3", (2, 6), "Fc", 1.0),  # 650 x 1.1 = 715 psi, at most 750
        ("Douglas Fir-Larch No.3", (2, 6), "Fc", 0.8),  # 775 x 1.1 = 852 psi
    ],
)
def test_weak_lumber_loses_nothing_when_wet(grade, size, letter, wanted):
    """NDS Supplement 2018, Table 4A (read): C_M = 1 where Fb C_F <= 1150 psi, Fc C_F <= 750 psi."""
    assert factors(letter, grade, size, wet=True)["C_M"] == wanted


# NDS 2018, Table 2.3.3 (from memory): up to 100, 125, 150 degF; Ft and E, then the others dry and wet
HEAT = [
    (38.0, 1.0, 1.0, 1.0),
    (52.0, 0.9, 0.8, 0.7),
    (66.0, 0.9, 0.7, 0.5),
    (20.0, 1.0, 1.0, 1.0),
    (40.0, 0.9, 0.8, 0.7),
]


@pytest.mark.parametrize(("heat", "pull", "dry", "wet"), HEAT)
def test_heat(heat, pull, dry, wet):
    for letter in ("Ft", "E"):
        assert factors(letter, temperature=heat)["C_t"] == factors(letter, temperature=heat, wet=True)["C_t"] == pull
    for letter in ("Fb", "Fv", "Fc", "Fc_perp"):
        assert factors(letter, temperature=heat)["C_t"] == dry
        assert factors(letter, temperature=heat, wet=True)["C_t"] == wet


# NDS Supplement 2018, Table 4A (read): Fb 2 and 3 in. thick, Fb 4 in. thick, Ft, Fc by nominal width
SIZES = {
    4: (1.5, 1.5, 1.5, 1.15), 5: (1.4, 1.4, 1.4, 1.1), 6: (1.3, 1.3, 1.3, 1.1), 8: (1.2, 1.3, 1.2, 1.05),
    10: (1.1, 1.2, 1.1, 1.0), 12: (1.0, 1.1, 1.0, 1.0), 14: (0.9, 1.0, 0.9, 0.9), 16: (0.9, 1.0, 0.9, 0.9),
}  # fmt: skip


@pytest.mark.parametrize(("width", "wanted"), SIZES.items())
def test_size(width, wanted):
    found = [factors("Fb", size=(2, width)), factors("Fb", size=(4, width)), factors("Ft", size=(2, width))]
    found.append(factors("Fc", size=(2, width)))
    assert tuple(one["C_F"] for one in found) == wanted
    assert {"C_F"}.isdisjoint({*factors("Fv"), *factors("Fc_perp"), *factors("E")})


def test_southern_pine_is_sized_already():
    """NDS Supplement 2018, Table 4B (read): No.2, Fb 1,100, 1,000, 925, 800, 750 psi by width."""
    found = [grade_of("Southern Pine No.2", (2, width)).psi["Fb"] for width in (4, 6, 8, 10, 12)]
    assert found == [1100, 1000, 925, 800, 750]
    assert factors("Fb", "Southern Pine No.2", (2, 8))["C_F"] == 1.0


@pytest.mark.parametrize(
    ("width", "wanted"), [(3, 1.0), (4, 1.1), (5, 1.1), (6, 1.15), (8, 1.15), (10, 1.2), (12, 1.2)]
)
def test_flat_use(width, wanted):
    """NDS Supplement 2018, Table 4A, 2 and 3 in. thick (read)."""
    assert factors("Fb", size=(2, width), flat_use=True)["C_fu"] == wanted
    assert factors("Fb", size=(2, width))["C_fu"] == 1.0
    assert factors("Fb", size=(4, 12), flat_use=True)["C_fu"] == 1.0  # not in the tables


def test_repetitive_members():
    assert factors("Fb", repetitive=True)["C_r"] == 1.15  # NDS 2018, 4.3.9, from memory
    assert factors("Fb")["C_r"] == 1.0


def test_which_factor_touches_which_value():
    """NDS 2018, Table 4.3.1 (read); C_D comes with the case."""
    wanted = {
        "Fb": ["C_M", "C_t", "C_F", "C_fu", "C_r"], "Ft": ["C_M", "C_t", "C_F"], "Fv": ["C_M", "C_t"],
        "Fc": ["C_M", "C_t", "C_F"], "Fc_perp": ["C_M", "C_t"], "E": ["C_M", "C_t"],
    }  # fmt: skip
    assert {letter: list(factors(letter, wet=True, flat_use=True, repetitive=True)) for letter in wanted} == wanted


def test_splitting_on_the_design_basis_is_clear_wood_at_lower_5_percent_over_2_1():
    it = lumber()
    clear = make_wood(species=DF, face="flat-sawn", basis="lower 5%")
    for name, one in it.splitting.items():
        assert one.value == pytest.approx(clear.strengths[name].value / 2.1)
        assert one.mean == clear.strengths[name].mean and one.note.startswith("own, no code value")
    assert it.strengths["tension_across"] == it.splitting["tension_across"]
    assert it.fracture == clear.fracture and it.clear_plane == clear.plane
    assert any("own, no code value" in note for note in it.notes)


def test_splitting_when_wet_takes_the_green_value_where_it_is_lower():
    """USDA Wood Handbook, Table 5-3a, coast Douglas-fir: 6.2, 2.1, 2.6 MPa green, 7.8, 2.3, 5.5 dry."""
    dry, wet = lumber().splitting, lumber(wet=True).splitting
    ratios = {name: wet[name].value / dry[name].value for name in dry}
    assert ratios == pytest.approx({"shear": 62 / 78, "tension_across": 21 / 23, "compression_across": 26 / 55})


def test_stiffness_is_the_grade_s_and_never_depends_on_duration():
    it = lumber(wet=True, temperature=50.0)
    assert pytest.approx(1_600_000 * 0.9 * 0.9, rel=1e-5) == it.plane.E_0 * PSI
    clear = make_wood(species=DF, face="flat-sawn", basis="mean").plane
    assert pytest.approx(clear.E_90 / clear.E_0) == it.plane.E_90 / it.plane.E_0
    rows = {row.name: row for row in values_used(it)}
    assert [one.name for one in rows["E_0"].factors] == ["C_M", "C_t"]
    assert "NDS Supplement" in it.elastic_source and "given in the part file" not in it.elastic_source


def test_a_grade_s_specific_gravity_is_that_of_the_notes():
    for group, one in GROUPS.items():
        rows = [row for row in tables.rows("design_values") if row["species_group_or_class"] == group]
        assert rows and all(f"specific gravity {one.specific_gravity:.2f} " in row["note"] for row in rows)
        assert set(one.species) <= set(tables.species())


def test_dowel_bearing_of_a_grade():
    """NDS 2018, Table 12.3.3, G 0.50 and 3/4 in.: 5,600 and 2,600 psi, over 4 and 5; wet 0.7 (from memory)."""
    dry, wet = dowel_of(lumber(), 19.05), dowel_of(lumber(wet=True), 19.05)
    assert (dry.along * PSI, dry.across * PSI) == (pytest.approx(1400, rel=0.005), pytest.approx(520, rel=0.01))
    assert (wet.along / dry.along, wet.across / dry.across) == pytest.approx((0.7, 0.7))


# ---- limit states

# EN 1995-1-1:2004, Table 3.1, solid timber (read)
K_MOD = {1: (0.60, 0.70, 0.80, 0.90, 1.10), 2: (0.60, 0.70, 0.80, 0.90, 1.10), 3: (0.50, 0.55, 0.65, 0.70, 0.90)}
TIMES = (50 * YEAR, 10 * YEAR, YEAR / 2, 7 * DAY, 1.0)


@pytest.mark.parametrize("service", K_MOD)
def test_k_mod_and_gamma_m(service):
    for seconds, wanted in zip(TIMES, K_MOD[service], strict=True):
        found = limit_case_factors(seconds, service)
        assert found.factors[0].value == wanted and found.strength == pytest.approx(wanted / 1.3)
        assert found.pressed == found.strength  # also across the grain
        assert limit_case_factors(seconds, service, accidental=True).strength == wanted  # gamma_M = 1.0, from memory
    assert limit_case_factors(None, service).factors[0].value == K_MOD[service][0]
    assert limit_case_factors(None, service, blow=True).strength == K_MOD[service][4]


def test_an_unknown_service_class_lists_the_choices():
    with pytest.raises(InputError, match=r"service class\. Choices: 1: indoors") as raised:
        limit_case_factors(1.0, None)
    assert raised.value.key == "wood.service"


def test_depth_factor():
    """EN 1995-1-1:2004, 3.2 (3) (read): (150/h)^0.2, at most 1.3, on bending and tension along; up to 700 kg/m3."""
    for depth, k in ((200.0, 1.0), (150.0, 1.0), (100.0, 1.5**0.2), (60.0, 2.5**0.2), (30.0, 1.3)):
        it = timber(depth=depth)
        assert it.bending.value == pytest.approx(24 * k) and it.strengths["tension_along"].value == pytest.approx(
            14.5 * k
        )
        assert it.strengths["compression_along"].value == 21.0
    dense = timber("D70", "Oak, northern red", depth=60.0)
    assert dense.bending.value == 70.0 and "denser" in dense.bending.factors[0].note


def test_cracks_count_in_shear_alone():
    it = timber()
    assert it.strengths["shear"].value == pytest.approx(4.0 * 0.67)  # k_cr, from memory
    assert it.splitting["shear"].value == 4.0
    assert timber(basis="lower 5%").strengths["shear"].value == 4.0


@pytest.mark.parametrize(("name", "species"), [("C16", "Spruce, Sitka"), ("D30", "Oak, northern red")])
def test_characteristic_values_are_those_of_the_class(name, species):
    """EN 338:2016, Tables 1 and 3 (read): C16 3.2, 0.4, 2.2, 8.5, 17, 16; D30 3.9, 0.6, 5.3, 18, 24, 30 MPa."""
    it, row = timber(name, species, basis="lower 5%"), class_row(name)
    wanted = {"C16": (3.2, 0.4, 2.2, 8.5, 17, 16), "D30": (3.9, 0.6, 5.3, 18, 24, 30)}[name]
    assert (*(one.value for one in it.strengths.values()), it.bending.value) == wanted
    assert all(not one.factors for one in it.strengths.values())
    assert tuple(float(row[f"{x}_MPa"]) for x in ("E_mean", "E90_mean", "G_mean")) == (
        it.plane.E_0,
        it.plane.E_90,
        it.plane.G,
    )
    assert it.density == pytest.approx(1e-12 * float(row["density_mean_kg_m3"]))


def test_splitting_of_a_class():
    it = timber(basis="lower 5%")
    clear = make_wood(species="Spruce, Sitka", face="flat-sawn", basis="lower 5%").strengths["tension_across"]
    assert [it.splitting[name].value for name in ("shear", "compression_across")] == [4.0, 2.5]
    assert it.splitting["tension_across"].value == clear.value and it.splitting["tension_across"].mean == clear.mean
    assert it.strengths["tension_across"].value == 0.4


def test_dowel_bearing_of_a_class():
    """EN 1995-1-1:2004, 8.5.1.1 (from memory): 0.082 (1 - 0.16) 540 for 16 mm in D35, k_90 = 0.90 + 0.24."""
    found = dowel_of(timber("D35", "Oak, northern red"), 16.0)
    assert found.along == pytest.approx(0.082 * 0.84 * 540) and found.across == pytest.approx(found.along / 1.14)


# ---- sources, and what is refused


def test_every_factor_has_its_source_and_status():
    rows = tables.rows("factors")
    assert all(row["source"] and row["status"] in {"read", "from memory"} and float(row["value"]) > 0 for row in rows)
    assert {row["family"] for row in rows} == {ALLOWABLE, LIMIT}
    for wood in (lumber(wet=True, temperature=50.0, flat_use=True, repetitive=True), timber(depth=90.0)):
        for used in values_used(wood):
            assert used.source and all(one.name and one.source for one in used.factors)
            assert used.value > 0 and math.isfinite(used.value)


REFUSED = [
    ({"grade": "Douglas Fir-Larch No.7"}, "wood.grade", 'Nearest: "Douglas Fir-Larch No.'),
    ({"grade": "qqq"}, "wood.grade", "No name comes near it"),
    ({"grade": "Hem-Fir No.2"}, "wood.species", "is no Hem-Fir.*Hemlock, western"),
    ({"conditions": Conditions()}, "wood.size", "depend on the size of the lumber.*2x6"),
    ({"conditions": Conditions(size=(5, 12))}, "wood.size", "is not dimension lumber"),
    ({"conditions": Conditions(size=(2, 7))}, "wood.size", "is not dimension lumber"),
    ({"conditions": Conditions(size=(2, 6), temperature=80.0)}, "wood.temperature", "80 degC is above 66"),
    ({"grade": "Douglas Fir-Larch Stud", "conditions": Conditions(size=(2, 8))}, "wood.size", "up to 6 in. wide"),
    ({"grade": "Southern Pine No.2", "conditions": Conditions(size=(2, 14))}, "wood.size", "up to 12 in. wide, not 14"),
    ({"basis": "mean"}, "wood.basis", "has design values alone"),
    ({"species": None}, "wood.species", "needs the tree beside it"),
    ({"strength": {"shear": 5.0}}, "wood.strength.shear", "do not go with a grade or class"),
    ({"strength_class": "C24"}, "wood.class", "give one"),
    ({"grade": None, "strength_class": "C25"}, "wood.class", "not a strength class of EN 338. Classes: C14, C16"),
    ({"grade": None, "strength_class": "C24", "basis": "lower 10%"}, "wood.basis", 'no values on "lower 10%"'),
    ({"grade": None, "strength_class": "D30"}, "wood.species", "is for hardwoods"),
    ({"grade": None}, "wood.basis", "Clear wood has no design value"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "key", "match"), REFUSED)
def test_refused(changes, key, match):
    asked = {"species": DF, "face": "flat-sawn", "basis": "design", "grade": "Douglas Fir-Larch No.2"}
    asked |= {"conditions": Conditions(size=(2, 6))} | changes
    with pytest.raises(InputError, match=match) as raised:
        make_wood(**asked)
    assert raised.value.key == key


def test_lumber_that_was_resawn_is_cautioned():
    assert any("not for what is sawn from it" in note for note in lumber(thickness=25.0).notes)
    assert not any("not for what is sawn from it" in note for note in lumber(thickness=38.0).notes)
