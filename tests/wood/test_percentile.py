"""One piece among others: where its strengths, energies and stiffness lie, by the lognormal distribution."""

import math

import pytest
from parts import uniform
from scipy.stats import lognorm, norm

import fesolve
from fesolve.modelling import wood_of
from fesolve.wood.scatter import at_percentiles, energy_sigma

DOC = uniform((0.0, 0.0, 4.0))


def fir(**percentile):
    wood = fesolve.make_wood(species="Douglas-fir, coast", face="flat-sawn", basis="mean")
    return wood, at_percentiles(wood, percentile)


@pytest.mark.parametrize("share", [0.05, 0.5, 0.9])
def test_strengths_are_those_of_scipys_lognormal(share):
    """scipy.stats.lognorm of the same mean and CoV (14 % shear, 25 % tension across: USDA Wood Handbook, Table 5-6)."""
    wood, piece = fir(strength=share)
    for name, cov in (("shear", 0.14), ("tension_across", 0.25)):
        s = math.sqrt(math.log(1 + cov**2))
        law = lognorm(s, scale=wood.strengths[name].value * math.exp(-s * s / 2))
        assert law.mean() == pytest.approx(wood.strengths[name].value)
        assert piece.strengths[name].value == pytest.approx(law.ppf(share), rel=1e-9)
        assert piece.strengths[name].mean == wood.strengths[name].mean  # that the splitting length is computed from
        assert math.prod(one.value for one in piece.strengths[name].factors[-1:]) == pytest.approx(
            piece.strengths[name].value / wood.strengths[name].value
        )
    assert piece.plane == wood.plane and piece.fracture == wood.fracture


def test_energies_are_one_value_of_the_band():
    """Its ends are 10 and 90 % of pieces where the band is wider than the scatter of toughness (34 %, Table 5-6)."""
    wood, low = fir(toughness=0.1)
    _, middle = fir(toughness=0.5)
    assert middle.fracture.G_Ic[0] == middle.fracture.G_Ic[1] == pytest.approx(math.sqrt(0.071 * 0.25), rel=0.02)
    assert low.fracture.G_Ic[0] == pytest.approx(wood.fracture.G_Ic[0], rel=1e-6)
    assert energy_sigma(None, 1.0, 1.0) == pytest.approx(math.sqrt(math.log(1 + 0.34**2)))
    assert low.fracture.energies["G_Ic"].high == low.fracture.G_Ic[1] and low.strengths == wood.strengths


def test_stiffness_is_one_factor_on_three_constants():
    """CoV 22 % (ASTM D2555 by the table): 16 % of pieces lie one s below the median exp(-s^2/2)."""
    wood, piece = fir(stiffness=float(norm.cdf(-1.0)))
    s = math.sqrt(math.log(1 + 0.22**2))
    factor = math.exp(-s - s * s / 2)
    for name in ("E_0", "E_90", "G"):
        assert getattr(piece.plane, name) == pytest.approx(factor * getattr(wood.plane, name), rel=1e-9)
    assert piece.plane.nu_0_90 == wood.plane.nu_0_90


def test_the_part_file_has_a_table_for_it():
    part = fesolve.part_from({**DOC, "wood": {**DOC["wood"], "percentile": {"strength": "5 %", "stiffness": "20 %"}}})
    assert part.wood.percentile == {"strength": 0.05, "stiffness": 0.2}
    piece, mean = wood_of(part, None), wood_of(fesolve.part_from(DOC), None)
    assert piece.strengths["shear"].value < mean.strengths["shear"].value and piece.plane.G < mean.plane.G
    assert part.with_({"wood.percentile.strength": "50 %"}).wood.percentile["strength"] == 0.5


@pytest.mark.parametrize(
    ("wood", "message"),
    [
        ({"percentile": {"strength": "0 %"}}, r"is not between 0.1 and 99.9 %.*wood.percentile.strength"),
        ({"percentile": {"strength": "5"}}, "is not between 0.1 and 99.9 %"),
        ({"percentile": {"weight": "5 %"}}, '"weight"'),
        ({"percentile": {"strength": "5 %"}, "basis": "lower 5%"}, 'on basis "mean" alone'),
        ({"percentile": {"toughness": "5 %"}, "fracture": {"split_length": "9 mm"}}, "toughness has nothing to change"),
    ],
)
def test_what_is_refused(wood, message):
    with pytest.raises(fesolve.InputError, match=message):
        fesolve.part_from({**DOC, "wood": {**DOC["wood"], **wood}})


def test_one_piece_has_no_chance_and_no_rows_of_strength():
    """Uniform shear: utilisation is the piece's, and the rows of "how sure" do not scatter its strength once more."""
    doc = uniform((0.0, 0.0, 4.0))
    mean = fesolve.check(fesolve.part_from(doc), splits=False, cures=False).verdict
    doc["wood"]["percentile"] = {"strength": "5 %"}
    piece = fesolve.check(fesolve.part_from(doc), splits=False, cures=False).verdict
    s = math.sqrt(math.log(1 + 0.14**2))
    weaker = math.exp(-1.6449 * s - s * s / 2)
    assert piece.takes.best == pytest.approx(weaker * mean.takes.best, rel=2e-3)
    assert piece.chance is None and "one piece, without a chance" in piece.no_chance
    assert mean.chance is not None and not any(row.group == "strength" for row in piece.how_sure)
