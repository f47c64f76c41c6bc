"""What a solve makes sure of itself: the pin's corrected half, and forces and moments in balance."""

import dataclasses

import numpy as np
import pytest

import fesolve
from fesolve.fem import solve as solving
from fesolve.fem.constraints import Hold
from fesolve.fem.solution import Reaction
from meshes import W1, hold_three, plate_with_hole, rectangle


def on_a_bed():
    """A plate on stiff springs pulled off its pin: the pin's force turns by 2 to 3 deg as half of its hole is freed."""
    mesh = plate_with_hole("triangle6", per_quarter=32, rings=8)
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).spring("outer", 200.0, ["x", "y"])
    return model.body_force((0.02, 0.02))


def tied(model, nodes):
    """The model with the radial displacement of nodes on the hole held, as supports of their own."""
    radial = model.mesh.points[nodes]
    hold = Hold("pin", nodes, radial / np.linalg.norm(radial, axis=1, keepdims=True))
    return dataclasses.replace(model, holds=(*model.holds, hold))


def facing(model, force):
    nodes = np.unique(model.mesh.edges["hole"])
    return nodes[model.mesh.points[nodes] @ force > 1e-8 * np.linalg.norm(force)]


def test_the_half_that_a_pin_ties_is_corrected_once():
    """Full circle, then the half that faces its force, then the half that faces the force of that; here by hand."""
    model = on_a_bed()
    circle = np.unique(model.mesh.edges["hole"])
    halves = [circle]
    for _ in range(2):
        halves.append(facing(model, tied(model, halves[-1]).solve().reactions["pin"]))
    assert set(halves[1]) != set(halves[2])  # or the correction would not be seen
    wanted = tied(model, halves[2]).solve()
    found = model.pin("hole", (0.0, 0.0), name="pin").solve()
    assert np.abs(found.displacement - wanted.displacement).max() < 1e-9 * np.abs(wanted.displacement).max()
    assert found.reactions["pin"] == pytest.approx(wanted.reactions["pin"], rel=1e-9)


@pytest.mark.parametrize("forces", [[[1.0, 0.0]], [[0.0, 5.0], [0.0, -5.0]]], ids=["a force", "a couple"])
def test_reactions_that_do_not_balance_are_refused(forces, monkeypatch):
    model = hold_three(fesolve.PlaneModel(rectangle("triangle6"), W1, 38.0, 0.0)).force("right", (0.0, -100.0))
    model = model.fix("left")
    model.solve()
    made = solving._reactions

    def wrong(*arguments):
        points = np.array([[0.0, 0.0], [40.0, 0.0]])[: len(forces)]
        return [*made(*arguments), Reaction("slip", points, np.array(forces))]

    monkeypatch.setattr(solving, "_reactions", wrong)
    with pytest.raises(fesolve.SolveError, match="Loads and reactions differ by"):
        model.solve()
