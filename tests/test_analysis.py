"""The flow as a whole, where no room tests it."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import fesolve
from fesolve import analysis
from fesolve.judge.outcome import outcome_of
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.outline import part_outline
from fesolve.modelling import model_of, woods_of
from fesolve.part.model import Gravity

WEB_BEAM = Path(__file__).parent.parent / "meshes" / "web_beam.toml"


@pytest.fixture(scope="module")
def web_beam():
    return fesolve.check_file(WEB_BEAM, sure=False)


def test_a_model_by_region():
    part = fesolve.read_part(WEB_BEAM)
    mesh = mesh_part(part, part_outline(part), scale=3.0)
    model = model_of(part, mesh, woods_of(part, "flat-sawn"))
    thickness = {name: set(model.cell_thickness[cells].tolist()) for name, cells in model.regions.items()}
    assert thickness == {"part": {90.0}, "web": {20.0}, "left block": {90.0}, "right block": {90.0}}


def test_the_web_beam_fails_by_shear_in_its_web(web_beam):
    worst = web_beam.verdict.governing
    assert (worst.mode, worst.region) == ("splitting", "web") and ", in region web" in worst.where
    spot = web_beam.verdict.hotspots[0]
    assert spot.region == "web" and spot.mean_s90 < 0.0 and abs(spot.mean_tau) > 3.0
    assert web_beam.verdict.hand_summary.shear_governs
    assert "Shear governs, not bending: V Q/(I t) reaches" in web_beam.verdict.hand_summary.sentences[-1]


def test_the_web_beams_section_by_hand(web_beam):
    """By hand: I = 90 (240^3 - 150^3)/12 + 20 * 150^3/12, Q = 90 * 45 * 97.5 + 20 * 75^2/2, tau = V Q/(I t)."""
    cut = next(row for row in web_beam.verdict.hand if row.station == "through the web")
    inertia, first = 90 * (240**3 - 150**3) / 12 + 20 * 150**3 / 12, 90 * 45 * 97.5 + 20 * 75**2 / 2
    assert (cut.I, cut.Q, cut.t, cut.width) == pytest.approx((inertia, first, 20.0, 90.0), rel=1e-9)
    assert cut.shear == pytest.approx(-12_000, rel=5e-3) and cut.shear_statics == pytest.approx(-12_000, rel=1e-9)
    assert cut.tau_vqit == pytest.approx(cut.shear * first / (inertia * 20), rel=1e-9)
    assert abs(cut.tau_mesh / cut.tau_vqit - 1) < 0.05
    assert (cut.shear_region, cut.sigma_region) == ("web", "part")


def test_shear_flow_is_one_on_both_sides_of_the_glue_line(web_beam):
    """τ b on both sides of the web's upper border, away from ends and loads: 20 and 90 mm."""
    x = np.linspace(250.0, 350.0, 11)
    flow = []
    for y, thickness in ((195 - 1e-3, 20.0), (195 + 1e-3, 90.0)):
        stress = web_beam.solution.stress_at(np.column_stack([x, np.full_like(x, y)]))
        flow.append(thickness * stress[:, 2])
    assert flow[0] == pytest.approx(flow[1], rel=0.02)


def test_a_region_of_unknown_density_is_named(web_beam):
    woods = dict(web_beam.woods)
    woods["web"] = replace(woods["web"], density=None)
    part = web_beam.part.model_copy(update={"gravity": Gravity(direction=(0.0, -1.0))})
    with pytest.raises(fesolve.InputError, match=r'No density of region "web" is known .*\(gravity\.density\)'):
        model_of(part, web_beam.mesh, woods)


@pytest.fixture(scope="module")
def drawbar():
    return fesolve.check(fesolve.read_part(WEB_BEAM.with_name("drawbar.toml")), sure=False)


@pytest.mark.parametrize(
    "change",
    [
        {"push": "9 kN"},
        {"grain": "4 deg"},
        {"species": "Maple, sugar"},
        {"thickness": "40 mm"},
        {"lining": "90 N/mm^2"},
    ],
    ids=lambda change: next(iter(change)),
)
def test_a_part_drawn_the_same_way_is_not_meshed_again(drawbar, change, monkeypatch):
    """And says the same as it does by itself, within the mesh's accuracy."""
    part = drawbar.part.with_(change)
    alone = outcome_of(fesolve.check(part, sure=False).verdict)
    monkeypatch.setattr(analysis, "mesh_part", lambda *_, **__: pytest.fail("meshed again"))
    beside = fesolve.check(part, sure=False, like=drawbar)
    assert beside.mesh is drawbar.mesh and beside.verdict.mesh.relative_error <= 0.01
    row = outcome_of(beside.verdict)
    assert row.utilisation == pytest.approx(alone.utilisation, rel=0.01) and row.mode == alone.mode


def test_a_part_drawn_otherwise_is_meshed(drawbar):
    part = drawbar.part.with_(notch_depth="20 mm")
    beside, alone = (fesolve.check(part, sure=False, like=like) for like in (drawbar, None))
    assert outcome_of(beside.verdict) == outcome_of(alone.verdict)
    coarse = drawbar.part.with_({"mesh.size": "4 mm"})
    assert fesolve.check(coarse, sure=False, like=drawbar).mesh is not drawbar.mesh
