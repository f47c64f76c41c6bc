"""A wood from what the user names: handbook rows read back, bases, stand-ins named, refusals that say what to give."""

import pytest

from fesolve.errors import InputError
from fesolve.wood import tables
from fesolve.wood.allowables import values_used
from fesolve.wood.model import CHOICE, GIVEN, STRENGTHS
from fesolve.wood.names import nearest_species, species_name
from fesolve.wood.species import make_wood

FACES = ("flat-sawn", "quarter-sawn")
CONSTANTS = {"E_0": 12_000.0, "E_90": 600.0, "G": 780.0, "nu_0_90": 0.4}
OWN = {"shear": 8.0, "compression_across": 5.0, "tension_along": 80.0, "compression_along": 45.0}


def wood(species="Douglas-fir, coast", face="flat-sawn", basis="mean", **more):
    return make_wood(species=species, face=face, basis=basis, **more)


def said(wood, *words):
    """The one note that has all the words."""
    found = [note for note in wood.notes if all(word in note for word in words)]
    assert len(found) == 1, wood.notes
    return found[0]


def test_douglas_fir_read_back():
    # USDA Wood Handbook FPL-GTR-190 Table 5-3a, 12 % row, and FPL-GTR-282 Tables 5-1, 5-2 (read in transcriptions).
    it = wood()
    assert (it.plane.E_0, it.plane.nu_0_90, it.group) == (14_740, 0.449, "softwood")
    across = (it.plane.E_90, it.plane.G)
    assert across == pytest.approx((737, 1149.72))
    assert [it.strengths[name].value for name in STRENGTHS] == [7.8, 2.3, 5.5, 85.0, 49.9]
    assert all(one.status == "read" and one.value == one.mean for one in it.strengths.values())
    assert it.density == pytest.approx(538e-12)
    assert it.elastic_status == "read"


def test_douglas_fir_quarter_sawn():
    it = wood(face="quarter-sawn")  # ratios 0.068, 0.064, nu_LR 0.292 of the same tables
    assert (it.plane.E_90, it.plane.G, it.plane.nu_0_90) == pytest.approx((1002.32, 943.36, 0.292))


def test_white_ash_read_back():
    it = wood(
        "ash,white"
    )  # Table 5-3a, 12 % row: 13 200 kPa shear, 6 500 kPa tension across, 8 000 kPa compression across
    assert [it.strengths[name].value for name in STRENGTHS[:3]] == [13.2, 6.5, 8.0]
    assert it.group == "hardwood"


def test_lower_5_percent():
    # mean (1 - 1.645 CoV), CoV of the default rows: shear 14, tension 25, compression across 28, along 18 % (ASTM D2555
    # and USDA Wood Handbook Table 5-6, the two tensions from memory).
    it = wood(basis="lower 5%")
    wanted = {
        "shear": 7.8 * 0.7697,
        "tension_across": 2.3 * 0.58875,
        "compression_across": 5.5 * 0.5394,
        "tension_along": 85.0 * 0.58875,
        "compression_along": 49.9 * 0.7039,
    }
    assert {name: one.value for name, one in it.strengths.items()} == pytest.approx(wanted)
    assert {name: one.mean for name, one in it.strengths.items()} == {n: s.mean for n, s in wood().strengths.items()}
    assert it.fracture == wood().fracture
    assert it.plane == wood().plane
    assert "shear along the grain 14 % (read)" in said(it, "default coefficients of variation")


# z of the standard normal distribution, from tables of it: textbook
PERCENTAGES = [("lower 1%", 2.3263), ("lower 10%", 1.2816), ("lower 25 %", 0.6745), ("lower 2.5%", 1.9600)]


@pytest.mark.parametrize(("basis", "z"), PERCENTAGES)
def test_other_lower_percentages(basis, z):
    it = wood(basis=basis)
    assert it.strengths["shear"].value == pytest.approx(7.8 * (1 - z * 0.14), rel=1e-4)
    assert it.strengths["compression_across"].value == pytest.approx(5.5 * (1 - z * 0.28), rel=1e-4)
    assert it.strengths["shear"].factors[0].value == pytest.approx(1 - z * 0.14, rel=1e-4)
    assert it.strengths["shear"].mean == 7.8  # for the splitting length


def test_lower_5_percent_with_a_scatter_of_its_own():
    it = wood("Hemlock, western", basis="lower 5%")  # ASTM D2555: shear 864, standard deviation 105 lbf/in2: 12.2 %
    assert it.strengths["shear"].value == pytest.approx(8.6 * (1 - 1.645 * 0.122))
    note = said(it, "default coefficients of variation")
    assert "shear" not in note
    assert "tension across the grain 25 % (from memory)" in note


def test_fracture_of_douglas_fir():
    # 71/771 J/m2 from K_c 320 and 2230 kPa m^0.5 (USDA Wood Handbook Table 5-10, from memory); 250/800 chosen within
    # work-of-fracture tests.
    it = wood()
    assert it.fracture.G_Ic == pytest.approx((0.071, 0.250))
    assert it.fracture.G_IIc == pytest.approx((0.771, 0.800))
    assert it.fracture.status == f"computed here, {CHOICE}"
    assert "from memory" in it.fracture.source
    assert CHOICE in said(it, "Upper end", "250 J/m2", "800 J/m2")


def test_fracture_in_the_other_growth_plane_is_named():
    it = wood(face="quarter-sawn")
    assert it.fracture.G_Ic[0] == pytest.approx(0.080)
    assert it.fracture.G_IIc[0] == pytest.approx(0.771)
    assert "(TL, not RL)" in said(it, "G_IIc of Douglas-fir", "other growth plane")


def test_fracture_from_toughness_alone_is_computed():
    # Western white pine: 250 kPa m^0.5 (USDA Wood Handbook Table 5-10, from memory); no mode II row: 6 G_Ic.
    it = wood("Pine, western white")
    energy = 250**2 / it.plane.crack_stiffness()[0]
    assert it.fracture.G_Ic[0] * 1000 == pytest.approx(energy)
    assert it.fracture.G_IIc[0] == pytest.approx(6 * it.fracture.G_Ic[0])
    assert "computed here" in said(it, "toughness 250 kPa m^0.5 (from memory)")
    assert CHOICE in said(it, "G_IIc", "6 times G_Ic")


@pytest.mark.parametrize(
    ("species", "opening", "sliding"),
    [("Spruce, Sitka", (0.1, 0.25), (0.6, 0.8)), ("Ash, white", (0.16, 0.35), (1.0, 1.05))],
)
def test_fracture_without_rows(species, opening, sliding):
    it = wood(species)
    assert it.fracture.G_Ic == pytest.approx(opening)
    assert it.fracture.G_IIc == pytest.approx(sliding)
    assert CHOICE in said(it, "G_Ic", "stands in")
    assert CHOICE in said(it, "G_IIc", "stands in")


def test_tough_species_have_a_band_too():
    # Yellow-poplar 260 J/m2 (computed from K_c): 1.5 times that is above 350; western hemlock 208 and 1304 likewise.
    poplar, hemlock = wood("Yellow-poplar").fracture, wood("Hemlock, western").fracture
    assert poplar.G_Ic == pytest.approx((0.260, 0.390))
    assert poplar.G_IIc == pytest.approx((1.560, 2.340))
    assert hemlock.G_Ic == pytest.approx((0.208, 0.312))
    assert hemlock.G_IIc == pytest.approx((1.304, 1.956))
    assert "1.5 times low" in said(wood("Yellow-poplar"), "Upper end")


def test_own_energies():
    one = wood(fracture={"G_Ic": (0.2, 0.2), "G_IIc": (0.7, 0.7)}, fracture_single=("G_Ic", "G_IIc"))
    assert one.fracture.G_Ic == (0.2, 0.2)
    assert one.fracture.G_IIc == (0.7, 0.7)
    assert one.fracture.status == GIVEN
    assert not any("G_" in note for note in one.notes)
    pair = wood(fracture={"G_Ic": (0.1, 0.3), "G_IIc": (0.7, 0.7)}, fracture_single=("G_IIc",))
    assert pair.fracture.G_Ic == (0.1, 0.3)
    assert pair.fracture.G_IIc == (0.7, 0.7)


def test_own_opening_energy_beside_the_species():
    assert wood(fracture={"G_Ic": (0.2, 0.2)}).fracture.G_IIc == pytest.approx((0.771, 0.8))
    ash = wood("Ash, white", fracture={"G_Ic": (0.2, 0.3)})
    assert ash.fracture.G_IIc == pytest.approx((1.2, 1.8))
    assert CHOICE in said(ash, "G_IIc, is not given; 6 times")


def test_own_split_length_replaces_the_energies():
    it = wood(split_length=30.0)
    assert it.fracture.split_length == 30.0
    assert "no energy formula" in said(it, "splitting length 30 mm")
    assert not any("G_Ic" in note for note in it.notes)
    assert ("split_length", 30.0, "mm") in [(row.name, row.value, row.unit) for row in values_used(it)]


def test_own_strengths_on_the_mean_basis():
    it = wood(strength={"shear": 9.0})
    assert (it.strengths["shear"].value, it.strengths["shear"].mean) == (9.0, 9.0)
    assert it.strengths["shear"].status == GIVEN
    assert it.strengths["tension_across"].value == 2.3


def test_own_strengths_on_the_lower_basis_keep_the_species_mean():
    it = wood(basis="lower 5%", strength={"shear": 5.0})
    assert (it.strengths["shear"].value, it.strengths["shear"].mean) == (5.0, 7.8)
    above = wood(
        basis="lower 5%", strength={"shear": 9.0}
    )  # a 5 % value above the species' mean: not that species' mean
    assert above.strengths["shear"].mean == pytest.approx(9.0 / 0.7697)
    assert CHOICE in said(above, "shear along the grain", "only 7.8 MPa")


def test_own_tension_along_needs_no_stand_in():
    assert not any("modulus of rupture" in note for note in wood(strength={"tension_along": 100.0}).notes)
    assert "read" in said(wood(), "modulus of rupture stands in, a low estimate")


def test_tension_across_stand_ins():
    # Western white pine: no 12 % value, green 1800 kPa (Table 5-3a, read); sugar maple: neither, shear 16 100 kPa.
    green = wood("Pine, western white")
    assert green.strengths["tension_across"].value == 1.8
    assert "read" in said(green, "not tabulated at 12 %", "green value, 1.8 MPa")
    third = wood("Maple, sugar", basis="lower 5%")
    assert third.strengths["tension_across"].mean == pytest.approx(16.1 / 3)
    assert third.strengths["tension_across"].value == pytest.approx(16.1 / 3 * 0.58875)
    assert third.strengths["tension_across"].status == CHOICE
    assert CHOICE in said(third, "a third of the shear strength, 5.37 MPa")


def test_stiffness_from_memory_is_named():
    assert "from memory" in said(wood("Pine, red"), "elastic ratios")
    assert wood("Pine, red").elastic_status == "read, from memory"


def test_joined_rows_are_named():
    assert "red oak group" in said(wood("Oak, black"), "elastic ratios are those of")
    assert "southern pines together" in said(wood("Pine, slash"), "fracture energies are those of")


def test_own_constants_beside_the_species():
    it = wood("Oak, white", elastic={"G": 1100.0})  # E_T/E_L 0.072 and nu_LT 0.428 of Tables 5-1 and 5-2
    assert (it.plane.E_0, it.plane.E_90, it.plane.G, it.plane.nu_0_90) == pytest.approx((13_530, 974.16, 1100, 0.428))
    assert GIVEN in it.elastic_status
    hickory = wood("Hickory, shagbark", face=None, elastic={"E_90": 1200.0, "G": 1300.0, "nu_0_90": 0.4})
    assert hickory.plane.E_0 == 16_390


def test_wood_without_species():
    it = make_wood(basis="lower 5%", elastic=CONSTANTS, strength=OWN)
    assert (it.name, it.species, it.density, it.face) == ("own wood", None, None, None)
    assert it.strengths["shear"].value == 8.0
    assert it.strengths["shear"].mean == pytest.approx(8.0 / 0.7697)
    assert it.strengths["tension_across"].mean == pytest.approx(8.0 / 0.7697 / 3)
    assert it.fracture.G_Ic == pytest.approx((0.1, 0.25))
    said(it, "no species", "softwoods", CHOICE)
    said(it, "shear along the grain", "no mean is known", CHOICE)
    said(it, "a third of the shear strength", CHOICE)


def test_unknown_face_takes_the_lower_energy():
    assert wood(face=None, elastic=CONSTANTS).fracture.G_Ic[0] == pytest.approx(0.071)


def test_own_density():
    assert wood(density=600e-12).density == 600e-12


def test_values_used_are_what_the_wood_has():
    it = wood(basis="lower 5%")
    rows = {row.name: row for row in values_used(it)}
    assert list(rows) == [*STRENGTHS, "G_Ic low", "G_Ic high", "G_IIc low", "G_IIc high"]
    assert rows["shear"].value == it.strengths["shear"].value
    assert [(one.name, round(one.value, 6)) for one in rows["shear"].factors] == [("1 - 1.645 CoV", 0.7697)]
    assert rows["shear"].factors[0].source.startswith("normal distribution")
    assert rows["shear"].basis == "lower 5%"
    assert (rows["G_Ic low"].value, rows["G_Ic low"].status) == (pytest.approx(0.071), "computed here")
    assert rows["G_Ic high"].status == CHOICE
    assert all(row.source and row.status for row in rows.values())
    assert not values_used(wood())[0].factors


@pytest.mark.parametrize("text", ["douglas-fir,coast", "  Douglas-Fir,   COAST "])
def test_case_and_spacing_do_not_matter(text):
    assert species_name(text) == "Douglas-fir, coast"


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("coast douglas fir", "Douglas-fir, coast"),
        ("Shagbark Hickory", "Hickory, shagbark"),
        ("yelow poplar", "Yellow-poplar"),
        ("western red cedar", "Cedar, western redcedar"),
        ("white oak", "Oak, white"),
    ],
)
def test_nearest_names(text, first):
    assert nearest_species(text)[0] == first
    with pytest.raises(InputError, match=f'Species "{text}" is not in the tables. Nearest: "{first}"') as caught:
        wood(text)
    assert caught.value.key == "wood.species"


def test_southern_pine_offers_the_southern_pines():
    assert set(nearest_species("southern pine")[:4]) == {
        f"Pine, {n}" for n in ("loblolly", "longleaf", "shortleaf", "slash")
    }


def test_a_class_is_not_a_species():
    with pytest.raises(InputError, match="It is a strength class: write it as class"):
        wood("c24")
    with pytest.raises(InputError, match="It is lumber sold by grade: write it as grade"):
        wood("Douglas Fir-Larch No.2")
    with pytest.raises(InputError, match="No name comes near it"):
        wood("qqq")


@pytest.mark.parametrize(
    ("more", "key", "match"),
    [
        (
            {"species": "Oak, white"},
            "wood.elastic.G",
            r"no G on the flat-sawn.*\[wood.elastic\].*board = \"quarter-sawn\"",
        ),
        ({"species": "Hickory, pecan"}, "wood.elastic", r"Give E_90, G and nu_0_90 in \[wood.elastic\]"),
        ({"species": "Aspen, quaking"}, "wood.elastic.E_90", r"Give E_90 and G in \[wood.elastic\]\. \("),
        ({"face": None}, "wood.board", "depend on the drawn face"),
        ({"face": "unknown"}, "wood.board", "Faces: flat-sawn, quarter-sawn"),
        ({"basis": "design"}, "wood.basis", "Clear wood has no design value. Allowed: species"),
        ({"species": None}, "wood.species", "The wood is not named"),
        ({"species": None, "elastic": {"E_0": 1e4}}, "wood.elastic.E_90", "missing: E_90, G, nu_0_90"),
        (
            {"species": None, "elastic": CONSTANTS},
            "wood.strength.shear",
            r"missing: shear, compression_across, tension_along, compression_along. Give them in \[wood.strength\]",
        ),
        ({"elastic": {**CONSTANTS, "nu_0_90": 5.0}}, "wood.elastic.nu_0_90", "positive definite"),
        ({"elastic": {"nu": 0.3}}, "wood.elastic.nu", "Constants: E_0, E_90, G, nu_0_90"),
        ({"strength": {"shear": -1.0}}, "wood.strength.shear", "-1 MPa; give a finite value above 0"),
        ({"strength": {"bending": 1.0}}, "wood.strength.bending", "Strengths: shear, tension_across"),
        ({"fracture": {"G_Ic": (0.3, 0.2)}}, "wood.fracture.G_Ic", r"\[300 J/m\^2, 200 J/m\^2\] runs from high to low"),
        ({"fracture": {"G_Ic": (0.0, 0.2)}}, "wood.fracture.G_Ic", "above 0"),
        ({"fracture": {"G_c": (0.1, 0.2)}}, "wood.fracture.G_c", "Energies: G_Ic, G_IIc"),
        ({"split_length": 0.0}, "wood.fracture.split_length", "0 mm; give a finite length above 0"),
        ({"split_length": 9.0, "fracture": {"G_Ic": (1, 1)}}, "wood.fracture.split_length", "leave one out"),
        ({"density": -1e-12}, "wood.density", "-1 kg/m"),
    ],
)
def test_refusals(more, key, match):
    with pytest.raises(InputError, match=match) as caught:
        wood(**more)
    assert caught.value.key == key


@pytest.mark.parametrize("face", FACES)
def test_every_species_makes_a_wood_or_says_what_is_missing(face):
    made = 0
    for name in tables.species():
        for basis in ("mean", "lower 5%"):
            try:
                it = wood(name, face, basis)
            except InputError as error:
                assert "[wood.elastic]" in error.message
                assert error.key.startswith("wood.elastic")
                continue
            made += 1
            assert set(it.strengths) == set(STRENGTHS)
            assert 0 < it.fracture.G_Ic[0] < it.fracture.G_Ic[1]
            assert 0 < it.fracture.G_IIc[0] < it.fracture.G_IIc[1]
            assert it.fracture.G_Ic[1] >= 1.499 * it.fracture.G_Ic[0]
            assert all(note.endswith(".") for note in it.notes)
            assert all(0 < one.value <= one.mean for one in it.strengths.values())
    assert made > 60
