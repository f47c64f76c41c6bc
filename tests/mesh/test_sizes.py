"""Sizes are the smallest of size + growth * distance, whatever shortcut finds them."""

import numpy as np
from mesh_parts import log_stop
from parts import document, held

from fesolve.mesh import sizes
from fesolve.mesh.outline import part_outline
from fesolve.mesh.sizes import ACROSS_PART, GROWTH, Sources, size_field, size_sources
from fesolve.part.read import part_from


def test_halving_finds_the_same_minimum():
    rng = np.random.default_rng(3)
    places, points = rng.uniform(0, 100, (900, 2)), rng.uniform(-10, 110, (2000, 2))
    size = rng.uniform(0.01, 3.0, 900)
    brute = (size + GROWTH * np.linalg.norm(points[:, None] - places, axis=-1)).min(axis=1)
    np.testing.assert_allclose(Sources(places, size, 2.0).at(points), np.minimum(brute, 2.0), rtol=1e-12)


def test_without_sources_the_cap_counts():
    assert Sources(np.zeros((0, 2)), np.zeros(0), 2.0).at(np.zeros((3, 2))).tolist() == [2.0] * 3


def test_field_is_the_sources_at_its_points_and_scales():
    part = log_stop()
    outline = part_outline(part)
    sources, field = size_sources(part, outline), size_field(part, outline)
    assert sources.cap == 140 / ACROSS_PART
    np.testing.assert_allclose(field.size, sources.at(field.points))
    np.testing.assert_allclose(size_field(part, outline, scale=0.5).size, field.size / 2)


def test_a_part_as_a_document():
    part = part_from(
        {
            "title": "Shelf latch",
            "wood": {"species": "Ash, white", "board": "flat-sawn", "thickness": "18 mm", "basis": "mean"},
            "outline": {
                "corners": [
                    {"at": ["0 mm", "0 mm"]},
                    {"at": ["240 mm", "0 mm"], "round": "8 mm"},
                    {"at": ["240 mm", "42 mm"], "round": "8 mm"},
                    {"at": ["0 mm", "42 mm"]},
                ]
            },
            "hole": [{"name": "pivot", "center": ["30 mm", "21 mm"], "diameter": "10 mm"}],
            "support": [
                {"name": "pivot pin", "kind": "pin", "on": "hole pivot"},
                {"name": "keeper", "kind": "rest", "on": "edge A-B", "from": "180 mm", "to": "200 mm"},
            ],
            "load": [{"name": "pull", "on": "edge B-C", "force": ["0 N", "-400 N"]}],
        }
    )
    outline = part_outline(part)
    # rectangle, less two rounded corners, less the hole
    assert abs(outline.area - (240 * 42 - 2 * (1 - np.pi / 4) * 64 - np.pi * 25)) < 1e-9
    assert outline.named("support keeper")[0].length == 20.0
    assert outline.named("load pull")[0].length == 26.0


def test_leaving_out_pairs_that_face_alike_changes_no_size(monkeypatch):
    """A bent strip that narrows to 3 mm, drawn in 120 lines: thin wood is found with pairs left out and without."""
    x = np.linspace(0.0, 200.0, 61)
    height = 20.0 * np.sin(x / 30.0)
    thick = 3.0 + 12.0 * np.abs(x - 120.0) / 120.0
    lower, upper = np.column_stack([x, height]), np.column_stack([x, height + thick])[::-1]
    part = part_from(
        document(
            [tuple(p) for p in np.vstack([lower, upper]).tolist()],
            support=held(),
            gravity={"direction": "down", "density": "600 kg/m^3"},
        )
    )
    outline = part_outline(part)
    found = size_sources(part, outline)
    monkeypatch.setattr(sizes, "MANY", 10_000)
    every = size_sources(part, outline)
    probes = np.column_stack([x, height + thick / 2])
    np.testing.assert_allclose(found.at(probes), every.at(probes), rtol=1e-12)
    assert found.at(probes).min() < 3.0 / sizes.ACROSS * 1.2
