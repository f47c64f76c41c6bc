"""The log stop as a model of tractions alone, against the figures computed with a general-purpose library.

38 x 140 x 420 mm of coast Douglas-fir, grain along it, a 25 mm hole 70 mm from the foot. With F from the log the
cross-beam pushes 1.786 F and the pin 0.786 F (statics), all three as tractions; three displacements at corners are
held. The figures come from a finite-element model written with general-purpose libraries, 0.2 to 0.35 mm elements at
the hole; those of the hand calculation and of the energy formula are arithmetic.
"""

import functools

import pytest

import fesolve

F = 10_000.0  # N, what the log pushes with below
BEAM, PIN = 250 / 140 * F, 110 / 140 * F  # moments about the pin and about the cross-beam: 1.786 F and 0.786 F
LOW, HIGH = (71, 771), (250, 800)  # J/m^2


def document(energies=None):
    corners = [(0, 0), (420, 0), (420, 140), (0, 140)]
    wood = {"species": "Douglas-fir, coast", "board": "flat-sawn", "thickness": "38 mm", "grain": "0 deg"}
    result = {
        "title": "Log stop, tractions alone",
        "wood": {**wood, "basis": "mean"},
        "outline": {"corners": [{"at": [f"{x} mm", f"{y} mm"]} for x, y in corners]},
        "hole": [{"name": "pivot", "center": ["70 mm", "70 mm"], "diameter": "25 mm"}],
        "support": [
            {"name": "corner", "kind": "fixed", "on": "corner A"},
            {"name": "other corner", "kind": "fixed", "on": "corner B", "axes": ["y"]},
        ],
        "load": [
            {"name": "log", "on": "edge C-D", "from": "90 mm", "to": "110 mm", "force": ["0 N", f"{-F} N"]},
            {"name": "beam", "on": "edge A-B", "from": "190 mm", "to": "230 mm", "force": ["0 N", f"{BEAM} N"]},
            {"name": "pin", "on": "hole pivot", "force": ["0 N", f"{-PIN} N"]},
        ],
    }
    if energies:
        result["wood"]["fracture"] = {"G_Ic": f"{energies[0]} J/m^2", "G_IIc": f"{energies[1]} J/m^2"}
    return result


@functools.cache
def result(energies=None):
    return fesolve.check(fesolve.part_from(document(energies)), sure=False, splits=False)  # the mean stress


def test_the_pin_shares_the_load_by_statics():
    """250/140 = 1.786 and 110/140 = 0.786: with them the corners take nothing."""
    assert pytest.approx(1.786, abs=5e-4) == BEAM / F
    assert pytest.approx(0.786, abs=5e-4) == PIN / F
    for row in result().verdict.reactions:
        assert row.force == pytest.approx((0.0, 0.0), abs=1e-4)


def test_by_hand_with_the_hole_left_out():
    """V Q/(I t) between the bearings reaches 7.8 MPa at 28 kN: 1.5 x F/(38 x 140)."""
    assert result().verdict.hand_summary.load * F == pytest.approx(28_000, rel=0.02)


def test_the_energy_formula_at_the_pin():
    """12.5 and 6.7 kN for G_Ic = 250 and 71 J/m^2."""
    summary = result().verdict.hand_summary
    assert summary.energy_low * F == pytest.approx(6_700, rel=0.02)
    assert summary.energy_high * F == pytest.approx(12_500, rel=0.02)


@pytest.mark.parametrize("energies", [None, LOW])
def test_splitting_with_low_energies(energies):
    """8.7 kN; beam side, 5 mm below the hole's centre, x0 = 16 mm; the species' own rows are these energies."""
    verdict = result(energies).verdict
    assert verdict.takes.low * F == pytest.approx(8_700, rel=0.10)
    worst = verdict.hotspots[0]
    assert worst.at == pytest.approx((70 + 11.4, 70 - 5), abs=1.5)
    assert worst.path[1][0] > worst.path[0][0]  # runs to the beam
    assert worst.mean_length == pytest.approx(16, rel=0.10)
    assert verdict.governing.mode == "splitting"


def test_splitting_with_high_energies():
    """19.3 kN; foot side, 5 mm above the hole's centre, x0 = 44 mm."""
    assert result().verdict.takes.high * F == pytest.approx(19_300, rel=0.10)
    verdict = result(HIGH).verdict
    assert verdict.takes.low == verdict.takes.high == pytest.approx(result().verdict.takes.high, rel=2e-3)
    worst = verdict.hotspots[0]
    assert worst.at == pytest.approx((70 - 11.4, 70 + 5), abs=1.5)
    assert worst.path[1][0] < worst.path[0][0]  # runs to the foot
    assert worst.mean_length == pytest.approx(44, rel=0.10)


def test_the_peak_alone():
    """The pointwise criterion is met at the hole's edge at 3.8 kN; it decides nothing."""
    splitting = next(row for row in result().verdict.modes if row.mode == "splitting")
    assert F / splitting.peak == pytest.approx(3_800, rel=0.10)
    assert splitting.utilisation < 0.5 * splitting.peak
