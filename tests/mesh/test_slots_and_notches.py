"""Slots, ramped and drilled notches against closed forms."""

import doctest
import math
import re

import numpy as np
import pytest
from mesh_parts import BLOCK, hole, load, make_part, notch, support
from test_outline import closed

from fesolve.errors import InputError
from fesolve.mesh import holes
from fesolve.mesh.curves import turn_at
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.order import areas
from fesolve.mesh.outline import part_outline
from fesolve.part.model import Hole, Notch


def slot(x, y, diameter, length, angle=0.0, name="h"):
    return Hole(name=name, center=(x, y), diameter=diameter, length=length, angle=angle)


def ramped(edge, start, stop, depth, ramp, round=0.0):
    return notch(edge, start, stop, depth, round).model_copy(update={"ramp": ramp})


def drilled(edge, start, stop, depth, drill, ramp=(0.0, 0.0)):
    return notch(edge, start, stop, depth).model_copy(update={"drill": drill, "ramp": ramp})


def faces(outline):
    return {name: [(c.start, c.end) for c in outline.named(name)] for name in (
        "notch N start", "notch N floor", "notch N end")}  # fmt: skip


@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0, 135.0, -45.0, 720.0])
def test_slot(angle):
    outline = part_outline(make_part(holes=(slot(30, 20, 8, 20, angle),), loads=(load("hole h"),)))
    loop = outline.loops[1]
    assert closed(outline)
    assert outline.area == pytest.approx(2400 - 12 * 8 - math.pi * 16, rel=1e-13)
    assert sum(c.length for c in loop) == pytest.approx(24 + 8 * math.pi, rel=1e-13)
    assert {c.names for c in loop} == {("hole h", "load l")}
    assert not any(c.ccw for c in loop if c.kind == "arc")
    tip = np.add((30, 20), 10 * np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))]))
    assert min(math.dist(c.start, tip) for c in loop) < 1e-12
    for before, after in zip(loop, loop[1:] + loop[:1], strict=True):
        assert turn_at(before, after) == pytest.approx(0.0, abs=1e-9)  # tangent all round


def test_slot_in_whole_quarters_has_exact_points():
    outline = part_outline(make_part(holes=(slot(30, 20, 8, 20, 90.0),)))
    assert {c.start for c in outline.loops[1]} == {(34, 14), (34, 26), (26, 14), (26, 26), (30, 10), (30, 30)}


def test_meshed_slot():
    part = make_part(holes=(slot(30, 20, 8, 20, 20.0),), supports=(support("hole h"),))
    outline = part_outline(part)
    mesh = mesh_part(part, outline)
    assert areas(mesh.points, mesh.cells["triangle6"]).sum() == pytest.approx(outline.area, rel=1e-6)
    nodes = np.unique(mesh.edges["support s"])
    assert outline.curve_set.distances(mesh.points[nodes]).min(axis=1).max() < 1e-9
    assert len(mesh.edges["hole h"]) > 60


def test_ramped_notch_is_a_trapezium():
    outline = part_outline(make_part(notches=(ramped("A-B", 10, 40, 12, (1.0, 0.5)),)))
    assert outline.area == pytest.approx(2400 - (30 + 30 - 18) / 2 * 12, rel=1e-13)
    assert faces(outline) == {
        "notch N start": [((10, 0), (22, 12))],
        "notch N floor": [((22, 12), (34, 12))],
        "notch N end": [((34, 12), (40, 0))],
    }


def test_ramps_keep_their_sides_when_the_outline_runs_the_other_way():
    one = part_outline(make_part(notches=(ramped("A-B", 10, 40, 12, (1.0, 0.5)),)))
    two = part_outline(make_part(BLOCK[::-1], notches=(ramped("C-D", 20, 50, 12, (0.5, 1.0)),)))  # the same edge from B
    assert two.area == pytest.approx(one.area, rel=1e-13)
    assert faces(two)["notch N start"] == [((34, 12), (40, 0))]


def test_round_of_a_ramp():
    # a round of r at a turn by φ takes r²(tan(φ/2) - φ/2) away from the notch
    outline = part_outline(make_part(notches=(ramped("A-B", 10, 40, 12, (1.0, 0.0), round=6.0),)))
    fill = sum(36 * (math.tan(turn / 2) - turn / 2) for turn in (math.pi / 4, math.pi / 2))
    assert outline.area == pytest.approx(2400 - 30 * 12 + 72 + fill, rel=1e-13)
    for before, after in zip(outline.loops[0], outline.loops[0][1:], strict=False):
        if "arc" in (before.kind, after.kind):
            assert turn_at(before, after) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("start", "stop", "face", "line"),
    [(40, 60, "start", ((40, 0), (46, 12))), (0, 20, "end", ((14, 12), (20, 0)))],
)
def test_end_notch_has_one_ramp(start, stop, face, line):
    outline = part_outline(make_part(notches=(ramped("A-B", start, stop, 12, (0.5, 0.5)),)))
    found = faces(outline)
    assert found[f"notch N {face}"] == [line]
    assert outline.area == pytest.approx(2400 - 20 * 12 + 36, rel=1e-13)
    assert found[f"notch N {'end' if face == 'start' else 'start'}"] == []


def test_drilled_notch():
    # of each circle about a corner three quarters lie outside the square notch
    outline = part_outline(make_part(notches=(drilled("A-B", 20, 40, 12, 6.0),)))
    assert outline.area == pytest.approx(2400 - 240 - 2 * 0.75 * math.pi * 9, rel=1e-13)
    arcs = [c for c in outline.named("notch N") if c.kind == "arc"]
    assert [c.center for c in arcs] == [(20, 12), (40, 12)]
    assert [c.length for c in arcs] == pytest.approx([1.5 * math.pi * 3] * 2)
    assert faces(outline)["notch N floor"] == [((23, 12), (37, 12))]
    assert outline.bounds == (0, 0, 60, 40) and closed(outline)


def test_drilled_end_notch_and_ramp():
    outline = part_outline(make_part(notches=(drilled("A-B", 40, 60, 12, 6.0),)))
    assert outline.area == pytest.approx(2400 - 240 - 0.75 * math.pi * 9, rel=1e-13)
    sloped = part_outline(make_part(notches=(drilled("A-B", 10, 50, 12, 6.0, ramp=(1.0, 0.0)),)))
    # at the ramp's foot the notch takes 135 deg of the circle, 225 deg lie outside
    assert sloped.area == pytest.approx(2400 - 40 * 12 + 72 - (0.75 + 225 / 360) * math.pi * 9, rel=1e-13)


def test_a_drilled_notch_is_meshed_and_its_parts_are_named():
    part = make_part(
        notches=(drilled("A-B", 20, 40, 12, 6.0),), supports=(support("notch N floor"),), loads=(load("notch N"),)
    )
    outline = part_outline(part)
    mesh = mesh_part(part, outline)
    assert areas(mesh.points, mesh.cells["triangle6"]).sum() == pytest.approx(outline.area, rel=1e-5)
    x = mesh.points[mesh.edges["support s"]][..., 0]
    assert (x.min(), x.max()) == (23.0, 37.0)
    assert len(mesh.edges["load l"]) == len(mesh.edges["notch N"])
    assert not any("round" in name for name in mesh.edges)


REFUSED = {
    "short slot": (make_part(holes=(slot(30, 20, 10, 10),)), "hole.1.length", "has to be longer than wide"),
    "slot crosses": (make_part(holes=(slot(30, 19, 10, 42, 90.0),)), "hole.1.center",
                     'crosses edge "A-B": the line between the centres of its round ends is 3 mm from it'),
    "slot through": (make_part(holes=(slot(30, 20, 10, 90, 90.0),)), "hole.1.center", "crosses edge"),
    "slot outside": (make_part(holes=(slot(70, 20, 4, 10),)), "hole.1.center", "lies 10 mm beyond"),
    "slot on hole": (make_part(holes=(hole(40, 20, 6), slot(20, 20, 6, 36, name="i"))), "hole.2.center",
                     'their middle lines are 5 mm apart and their radii add up to 6 mm, 1 mm too much'),
    "hole on slot": (make_part(holes=(slot(20, 20, 6, 36), hole(40, 20, 6, "i"))), "hole.2.center", "5 mm apart"),
    "slots cross": (make_part(holes=(slot(30, 20, 4, 30), slot(30, 20, 4, 30, 60.0, "i"))), "hole.2.center", "overlap"),
    "ramps meet": (make_part(notches=(ramped("A-B", 20, 40, 10, (1.0, 1.0)),)), "notch.1.ramp",
                   "at 10 mm deep its ramps take 20 mm of the 20 mm between from and to, and no floor is left"),
    "long end ramp": (make_part([(0, 0), (60, 0), (50, 40), (0, 40)], notches=(ramped("A-B", 40, 60, 16, (1.0, 0)),)),
                      "notch.1.ramp", "its ramp reaches the end of the wood"),
    "ramp and round": (make_part(notches=(ramped("A-B", 20, 40, 10, (0.5, 0.5), 9.0),)), "notch.1.round",
                       "greatest possible is 8.09 mm"),  # half the floor over tan(63.435°/2) = 0.618
    "big drill": (make_part(notches=(drilled("A-B", 20, 40, 4, 9.0),)), "notch.1.ends", "has to be less than 8 mm"),
    "wide drill": (make_part(notches=(drilled("A-B", 20, 28, 10, 8.0),)), "notch.1.ends", "less than 8 mm"),
    "no drill": (make_part(notches=(drilled("A-B", 20, 28, 10, 0.0),)), "notch.1.ends", "give a diameter above"),
    "drill through": (make_part(notches=(drilled("A-B", 20, 40, 36, 9.0),)), "notch.1",
                      'notch "N" and edge "C-D" meet'),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_refusals(name):
    part, key, words = REFUSED[name]
    with pytest.raises(InputError, match=re.escape(words)) as caught:
        part_outline(part)
    assert caught.value.key == key


def test_a_ramp_goes_past_wood_that_its_mouth_would_not():
    # under the mouth the wood is 9 mm deep at the left, under the floor it is 20 mm
    points = [(0, 0), (60, 0), (60, 40), (40, 40), (20, 9), (0, 9)]
    cut = Notch(name="N", edge="A-B", start=10, stop=55, depth=12, ramp=(2.0, 0.0))
    outline = part_outline(make_part(points, notches=(cut,)))
    assert outline.named("notch N floor")[0].start == (34.0, 12.0)


def test_examples_in_docstrings():
    assert doctest.testmod(holes).failed == 0
