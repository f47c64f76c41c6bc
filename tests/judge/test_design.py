"""The design basis on solved parts: what decides, by how much loads fall with each factor, what the verdict lists.

Which factor is which stands in tests/wood/test_design_values.py. Loads fall by exactly the factor, since splitting
lengths are those of clear wood on every basis.
"""

import numpy as np
import pytest

import fesolve
from fesolve.judge.criteria import split_utilisation
from fesolve.judge.modes import Inspection
from fesolve.judge.verdict import SHEAR, SPLITTING, TENSION_ALONG
from fesolve.part.read import part_from

DF = "Douglas-fir, coast"
GRADE = {"grade": "Douglas Fir-Larch No.2", "size": "2x6", "basis": "design"}
CLASS = {"class": "C24", "service": 1, "basis": "design"}


def eye(wood, cases):
    """A short plank, drawn down by a pin near its end: splitting at the hole. Cases: (load, duration).

    The loads are the same pull, as actions of three kinds.
    """
    corners = [{"at": [f"{x} mm", f"{y} mm"]} for x, y in ((0, 0), (220, 0), (220, 90), (0, 90))]
    pull = {"on": "hole pivot", "force": ["0 N", "-1 kN"]}
    return {
        "wood": {"species": DF, "board": "flat-sawn", "thickness": "38 mm"} | wood,
        "outline": {"corners": corners},
        "hole": [{"name": "pivot", "center": ["60 mm", "45 mm"], "diameter": "16 mm"}],
        "support": [
            {"name": "rail", "kind": "roller", "on": "edge A-B", "from": "110 mm", "to": "140 mm"},
            {"name": "wall", "kind": "fixed", "on": "edge B-C"},
        ],
        "load": [pull | {"name": kind, "kind": kind} for kind in ("variable", "permanent", "accidental")],
        "case": [
            {"name": f"case {number}", "loads": {load: 1.0}} | ({"duration": duration} if duration else {})
            for number, (load, duration) in enumerate(cases)
        ],
        "mesh": {"refine_limit": 1},
    }


def checked(wood, *cases, splits=False):
    return fesolve.check(part_from(eye(wood, cases)), sure=False, splits=splits)


@pytest.fixture(scope="module")
def plank():
    return checked(GRADE, ("variable", "10 years"), ("variable", "7 days"), ("variable", "impact"))


@pytest.fixture(scope="module")
def lumber(plank):
    return plank.verdict


@pytest.fixture(scope="module")
def timber():
    medium = "medium-term"
    cases = [("variable", "permanent"), ("variable", medium), ("permanent", medium), ("accidental", medium)]
    return checked(CLASS, *cases).verdict


@pytest.fixture(scope="module")
def clear():
    return checked({"basis": "lower 5%"}, ("variable", None)).verdict


def use(verdict, mode, case="case 0"):
    return next(row for row in verdict.modes if (row.mode, row.case) == (mode, case))


def test_shear_decides_on_design_and_nowhere_else(lumber, timber, clear):
    assert use(lumber, SHEAR).decides and use(timber, SHEAR).decides and not use(clear, SHEAR).decides
    assert use(lumber, SHEAR).allowable == pytest.approx(180 / 145.0377, rel=1e-4)  # F_v, NDS Supplement, Table 4A
    assert use(timber, SHEAR).allowable == pytest.approx(4.0 * 0.67 * 0.6 / 1.3)
    rows = {row.station: abs(row.tau_vqit) for row in lumber.hand if row.case == "case 0"}
    assert use(lumber, SHEAR).value >= max(rows.values()) * (1 - 1e-9)  # V Q/(I t) counts too


def test_loads_fall_by_exactly_c_d(lumber):
    for case, factor in (("case 1", 1.25), ("case 2", 1.6)):  # impact is 1.6 at a pin
        for mode in (SPLITTING, SHEAR, TENSION_ALONG):
            assert use(lumber, mode).utilisation / use(lumber, mode, case).utilisation == pytest.approx(factor)


def test_dents_know_no_c_d(lumber):
    limits = {row.case: row.allowable for row in lumber.beside if row.name == "rail"}
    assert list(limits.values()) == pytest.approx(3 * [625 / 145.0377], rel=1e-4)
    pins = {row.case: row.allowable for row in lumber.beside if row.name == "variable"}
    assert pins["case 1"] / pins["case 0"] == pytest.approx(1.25)


def test_loads_fall_by_exactly_k_mod(timber):
    for mode in (SPLITTING, SHEAR, TENSION_ALONG):
        assert use(timber, mode).utilisation / use(timber, mode, "case 1").utilisation == pytest.approx(0.8 / 0.6)
    limits = {row.case: row.allowable for row in timber.beside if row.name == "rail"}
    assert limits["case 0"] == pytest.approx(2.5 * 0.6 / 1.3) and limits["case 1"] == pytest.approx(2.5 * 0.8 / 1.3)


def test_splitting_is_clear_wood_at_lower_5_percent_over_2_1(lumber, clear):
    """Without pressure across the grain the load on design is that on lower 5 % over 2.1, at the same window."""
    row, other = use(lumber, SPLITTING), use(clear, SPLITTING)
    assert lumber.hotspots[0].mean_s90 > 0.0
    assert row.utilisation / other.utilisation == pytest.approx(
        2.1, rel=0.02
    )  # the grade's stiffness moves it a little
    assert row.at == pytest.approx(other.at, abs=0.5)


def test_by_energy_it_is_that_over_2_1_as_well():
    """The energies belong to clear wood, and a grade's lower modulus is no reason to split sooner."""
    woods = (({"basis": "lower 5%"}, None), (GRADE, "10 years"))
    clear, lumber = (checked(wood, ("variable", time), splits=True).verdict.splits[0] for wood, time in woods)
    assert clear.low.past / lumber.low.past == pytest.approx(2.1, rel=0.02)


def test_the_load_counts_with_its_partial_factor(timber):
    """EN 1990 (from memory): 1.5 for a variable load, 1.35 for a permanent one, 1 for an accident, gamma_M then 1."""
    assert [row.partial for row in timber.loads] == [1.5, 1.5, 1.35, 1.0]
    assert [row.force[1] for row in timber.loads] == pytest.approx([-1500, -1500, -1350, -1000])
    variable, lasting, accident = (use(timber, SPLITTING, f"case {number}").utilisation for number in (1, 2, 3))
    assert lasting / variable == pytest.approx(1.35 / 1.5)
    assert accident / variable == pytest.approx(1 / 1.5 / 1.3)


def test_what_it_takes_is_stated_without_the_partial_factor():
    verdict = checked(CLASS, ("permanent", "medium-term")).verdict
    governing = verdict.governing
    assert governing is not None and verdict.takes.of == "permanent"
    assert verdict.takes.judged == pytest.approx(1000 / governing.utilisation, rel=1e-9)


def test_pressure_gets_no_credit_on_design(plank):
    inspection = Inspection(plank.part, plank.outline, plank.wood, plank.solution, {})
    pressed = split_utilisation(np.array([-1.0, 0.0]), np.array([0.5, 0.5]), inspection.strength)
    assert pressed[0] == pressed[1]


def test_the_splitting_length_is_clear_wood_s(plank):
    clear = fesolve.make_wood(species=DF, face="flat-sawn", basis="mean")
    lengths = [Inspection(plank.part, plank.outline, wood, plank.solution, {}).lengths for wood in (plank.wood, clear)]
    assert lengths[0] == lengths[1]


def test_every_value_is_the_source_s_times_its_factors(lumber, timber):
    for verdict in (lumber, timber):
        for row in verdict.allowables:
            assert row.source and row.status and all(one.name and one.source for one in row.factors)
    rows = {(row.mode, row.case): row for row in lumber.allowables}
    bending = rows["bending", "case 1"]
    assert [one.name for one in bending.factors] == ["C_M", "C_t", "C_F", "C_fu", "C_r", "C_D"]
    assert bending.value * 145.0377 == pytest.approx(900 * 1.3 * 1.25, rel=1e-4)
    assert rows["compression across grain", ""].factors[-1].note.startswith("C_D is left at 1")
    impact = rows[SHEAR, "case 2"].factors[-1]
    assert (impact.name, impact.value) == ("C_D", 1.6) and "a pin in its hole is a connection" in impact.note
    assert [one.name for one in rows["E_0", ""].factors] == ["C_M", "C_t"]
    names = {one.name for row in timber.allowables for one in row.factors}
    assert {"k_mod", "1/gamma_M", "k_cr", "k_h", "1 - 1.645 CoV"} <= names
    assert names.isdisjoint({"C_D", "C_M", "C_F", "1/2.1", "duration"}) and "k_mod" not in {
        one.name for row in lumber.allowables for one in row.factors
    }


def test_the_verdict_names_its_family(lumber, timber, clear):
    found = [verdict.family for verdict in (lumber, timber, clear)]
    assert found == ["allowable stress design", "limit states", "clear wood"]
    assert lumber.wood == f"Douglas Fir-Larch No.2 ({DF})"


def bar(wood, pull=0.0, push=0.0):
    """A bar of one section, drawn at its end along the grain, or pressed down there and held in its wall."""
    corners = [{"at": [f"{x} mm", f"{y} mm"]} for x, y in ((0, 0), (400, 0), (400, 89), (0, 89))]
    return fesolve.check(
        part_from(
            {
                "wood": {"species": DF, "board": "flat-sawn", "thickness": "38 mm"} | wood,
                "outline": {"corners": corners},
                "support": [
                    {"name": "wall", "kind": "fixed", "on": "edge D-A"} | ({} if push else {"axes": ["x"]}),
                    {"name": "corner", "kind": "fixed", "on": "corner A", "axes": ["y"]},
                ],
                "load": [{"name": "end", "on": "edge B-C", "force": [f"{pull} kN", f"{push} kN"]}],
                "mesh": {"refine_limit": 1},
            }
        ),
        sure=False,
        splits=False,
    ).verdict


def test_bending_and_pull_have_strengths_of_their_own():
    """NDS: 900 x 1.5 psi in bending, 575 x 1.5 psi in a pull; with both the sum of their shares (NDS 2018, 3.9.1)."""
    wood = GRADE | {"size": "2x4"}
    bent, drawn = 900 * 1.5 / 145.0377, 575 * 1.5 / 145.0377
    pulled = use(bar(wood, pull=10.0), TENSION_ALONG, "all loads together")
    assert pulled.allowable == pytest.approx(drawn, rel=1e-3)
    pressed = use(bar(wood, push=-1.0), TENSION_ALONG, "all loads together")
    assert pressed.allowable == pytest.approx(bent, rel=0.03)
    both = bar(wood, pull=10.0, push=-1.0)
    by_hand = [10_000 / (38 * 89) / drawn + abs(row.moment) * 6 / (38 * 89**2) / bent for row in both.hand]
    assert use(both, TENSION_ALONG, "all loads together").utilisation >= 0.98 * max(by_hand)
