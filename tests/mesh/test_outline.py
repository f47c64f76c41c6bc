"""Areas, lengths, names and places of outlines against closed forms."""

import math
import re

import numpy as np
import pytest
from mesh_parts import BLOCK, hole, load, log_stop, make_part, notch, support

from fesolve.errors import InputError
from fesolve.mesh.outline import part_outline
from fesolve.part.model import Corner


def names_of(outline, loop=0):
    return [curve.names for curve in outline.loops[loop]]


def closed(outline):
    return all(
        before.end == after.start
        for loop in outline.loops
        for before, after in zip(loop, loop[1:] + loop[:1], strict=True)
    )


def perimeter(outline):
    return sum(curve.length for curve in outline.loops[0])


def test_log_stop():
    outline = part_outline(log_stop())
    assert outline.area == pytest.approx(420 * 140 - math.pi * 12.5**2, rel=1e-14)
    assert outline.bounds == (0.0, 0.0, 420.0, 140.0)
    beam, log = outline.named("support beam"), outline.named("load log")
    assert [(c.start, c.end) for c in beam] == [((190.0, 0.0), (230.0, 0.0))]
    assert [(c.start, c.end) for c in log] == [((330.0, 140.0), (310.0, 140.0))]
    assert len(outline.named("support pin")) == len(outline.named("hole pivot")) == 4
    assert not any(curve.ccw for curve in outline.loops[1])
    assert outline.sharp_corners == ("A", "B", "C", "D")
    assert outline.edge_length("B-C") == 140.0


def test_rounded_rectangle():
    outline = part_outline(make_part(rounds=dict.fromkeys("ABCD", 8.0)))
    assert outline.area == pytest.approx(60 * 40 - (4 - math.pi) * 64, rel=1e-13)
    assert perimeter(outline) == pytest.approx(200 - 8 * 8 + 2 * math.pi * 8, rel=1e-13)
    assert outline.sharp_corners == ()
    assert names_of(outline)[:3] == [("round A",), ("edge A-B",), ("round B",)]
    assert outline.edge_length("A-B") == 60.0
    assert closed(outline)


def test_rounds_that_use_up_an_edge():
    outline = part_outline(make_part(rounds=dict.fromkeys("ABCD", 20.0)))
    assert outline.area == pytest.approx(20 * 40 + math.pi * 400, rel=1e-13)  # a stadium
    assert [n[0] for n in names_of(outline)] == ["round A", "edge A-B", "round B", "round C", "edge C-D", "round D"]


def test_bow_is_a_circular_segment_on_either_side():
    radius = (30**2 + 6**2) / 12
    swept = 2 * math.asin(30 / radius)
    segment = radius**2 * (swept - math.sin(swept)) / 2
    for rise, sign in ((6.0, 1), (-6.0, -1)):
        outline = part_outline(make_part(bows={"A": rise}))
        assert outline.area == pytest.approx(2400 + sign * segment, rel=1e-13)
        assert outline.edge_length("A-B") == pytest.approx(radius * swept, rel=1e-13)
        assert outline.bounds[1] == pytest.approx(min(0.0, -rise), abs=1e-12)


def test_re_entrant_round_adds_wood():
    points = [(0, 0), (60, 0), (60, 20), (20, 20), (20, 40), (0, 40)]
    outline = part_outline(make_part(points, rounds={"D": 5.0}))
    assert outline.area == pytest.approx(1200 + 400 + (1 - math.pi / 4) * 25, rel=1e-13)
    (made,) = outline.named("round D")
    assert not made.ccw


def test_rounds_beside_a_bow_keep_the_loop_closed():
    outline = part_outline(make_part(rounds={"A": 6.0, "B": 6.0}, bows={"A": 4.0, "B": -3.0}))
    assert closed(outline)
    for before, after in zip(outline.loops[0], outline.loops[0][1:] + outline.loops[0][:1], strict=True):
        if "round" in before.names[0] + after.names[0]:
            np.testing.assert_allclose(before.tangent(before.length), after.tangent(0.0), atol=1e-9)


def test_notch_with_rounded_floor():
    outline = part_outline(make_part(notches=(notch("A-B", 20, 36, 10, 2),)))
    assert outline.area == pytest.approx(2400 - 160 + 2 * (1 - math.pi / 4) * 4, rel=1e-13)
    assert [n[-1] for n in names_of(outline)][:7] == [
        "edge A-B", "notch N start", "notch N", "notch N floor", "notch N", "notch N end", "edge A-B",
    ]  # fmt: skip
    assert sum(c.length for c in outline.named("notch N floor")) == pytest.approx(12.0)
    assert len(outline.named("notch N")) == 5


def test_several_notches_on_an_edge():
    cuts = (notch("A-B", 40, 50, 5, name="two"), notch("A-B", 10, 20, 10, name="one"))
    assert part_outline(make_part(notches=cuts)).area == pytest.approx(2400 - 50 - 100, rel=1e-13)


@pytest.mark.parametrize(("start", "stop", "gone"), [(45, 60, "B"), (0, 15, "A")])
def test_end_notch_takes_the_corner_away(start, stop, gone):
    outline = part_outline(make_part(notches=(notch("A-B", start, stop, 12, 3),)))
    assert outline.area == pytest.approx(2400 - 15 * 12 + (1 - math.pi / 4) * 9, rel=1e-13)
    assert gone not in outline.sharp_corners and len(outline.sharp_corners) == 3
    faces = {name for names in names_of(outline) for name in names if name.startswith("notch N ")}
    assert faces == {"notch N floor", "notch N end" if gone == "A" else "notch N start"}
    assert closed(outline)


def test_notch_over_the_full_length_is_a_thinner_part():
    outline = part_outline(make_part(notches=(notch("A-B", 0, 60, 12),)))
    assert outline.area == pytest.approx(60 * 28, rel=1e-13)
    assert outline.named("edge A-B") == ()
    assert outline.sharp_corners == ("C", "D")


def test_end_notch_runs_out_to_a_sloping_edge():
    points = [(0, 0), (60, 0), (50, 40), (0, 40)]  # B-C leans in: at height 20 it is at x = 55
    outline = part_outline(make_part(points, notches=(notch("A-B", 40, 60, 20),)))
    (floor,) = outline.named("notch N floor")
    assert floor.end == pytest.approx((55.0, 20.0), abs=1e-12)
    assert outline.area == pytest.approx((60 + 50) / 2 * 40 - (20 + 15) / 2 * 20, rel=1e-13)


def test_either_sense_gives_the_same_shape_and_names():
    more = {"notches": (notch("A-B", 10, 25, 6, 1),), "holes": (hole(40, 25, 10),)}
    one = part_outline(make_part(bows={"B": 3.0}, rounds={"D": 5.0}, supports=(support("edge A-B", 30, 45),), **more))
    # the same corners listed the other way: edges change their names, so place everything from B
    mirror = [(60.0, 0.0), (0.0, 0.0), (0.0, 40.0), (60.0, 40.0)]  # A and B, C and D change places
    two = part_outline(
        make_part(
            mirror, bows={"D": 3.0}, rounds={"C": 5.0}, supports=(support("edge A-B", 15, 30),),
            notches=(notch("A-B", 35, 50, 6, 1),), holes=(hole(40, 25, 10),),
        )
    )  # fmt: skip
    assert two.area == pytest.approx(one.area, rel=1e-13)
    for name in ("support s", "notch N floor"):
        (first,), (second,) = one.named(name), two.named(name)
        np.testing.assert_allclose((first.start, first.end), (second.start, second.end), atol=1e-12)
    (start,) = two.named("notch N start")
    assert start.start[0] == pytest.approx(25.0) or start.end[0] == pytest.approx(25.0)  # 35 mm from A at x = 60


def test_patch_keeps_what_remains_of_its_range():
    outline = part_outline(make_part(notches=(notch("A-B", 20, 30, 5),), supports=(support("edge A-B", 10, 40),)))
    assert sum(c.length for c in outline.named("support s")) == pytest.approx(20.0)
    assert all("edge A-B" in c.names for c in outline.named("support s"))


def test_patch_with_rounds():
    rounds = {"A": 5.0, "B": 5.0}
    for place, expected in ((support("edge A-B"), 50.0), (support("edge A-B", 5, 55, with_rounds=True), 50.0),
                            (support("edge A-B", 0, 30, with_rounds=True), 25 + math.pi / 2 * 5),
                            (support("edge A-B", with_rounds=True), 50 + math.pi * 5)):  # fmt: skip
        outline = part_outline(make_part(rounds=rounds, supports=(place,)))
        assert sum(c.length for c in outline.named("support s")) == pytest.approx(expected)


def test_patch_with_rounds_on_a_reversed_loop():
    outline = part_outline(
        make_part(BLOCK[::-1], rounds={"A": 5.0}, supports=(support("edge A-B", 0, 9, with_rounds=True),))
    )
    assert {c.names[0] for c in outline.named("support s")} == {"round A", "edge A-B"}


def test_patch_ends_within_rounding_of_another_end_are_that_end():
    part = make_part(supports=(support("edge A-B", 0, 30),), loads=(load("edge A-B", 30 - 1e-6, 60 - 1e-6),))
    assert [c.names for c in part_outline(part).loops[0]][:2] == [("edge A-B", "support s"), ("edge A-B", "load l")]


def test_patches_that_overlap_share_curves():
    outline = part_outline(make_part(supports=(support("edge A-B", 10, 30),), loads=(load("edge A-B", 20, 50),)))
    both = [c for c in outline.curves if {"support s", "load l"} <= set(c.names)]
    assert [(c.start[0], c.end[0]) for c in both] == [(20.0, 30.0)]


def test_patch_on_a_bow_is_measured_along_the_arc():
    outline = part_outline(make_part(bows={"A": 6.0}, supports=(support("edge A-B", 10, 22),)))
    assert sum(c.length for c in outline.named("support s")) == pytest.approx(12.0, rel=1e-12)


def test_clip_line_past_holes_and_along_edges():
    outline = part_outline(make_part(holes=(hole(30, 20, 10),)))
    flat = [x for pair in outline.clip_line((0, 20), (60, 20)) for x in pair]
    assert flat == pytest.approx([0, 25 / 60, 35 / 60, 1])
    assert outline.clip_line((0, 25), (60, 25)) == [(0.0, 1.0)]  # touches the hole
    assert outline.clip_line((0, 0), (60, 0)) == [(0.0, 1.0)]  # along the edge
    assert outline.clip_line((0, -1), (60, -1)) == []
    assert outline.clip_line((-6, 30), (66, 30))[0] == pytest.approx((6 / 72, 66 / 72))
    (ends,) = outline.clip_line((10, 0), (10, 1), endless=True)
    assert ends == pytest.approx((0.0, 40.0))


def test_clip_line_that_touches_a_bow_from_outside():
    outline = part_outline(make_part(bows={"A": 6.0}))
    assert outline.clip_line((0, -6), (60, -6)) == []
    half = math.sqrt(78**2 - 73**2)  # R = 78, one millimetre up from the lowest point -6 + 5
    (found,) = outline.clip_line((0, -1), (60, -1))
    assert found == pytest.approx(((30 - half) / 60, (30 + half) / 60))


def test_contains_agrees_with_the_area():
    part = make_part(
        rounds={"C": 8.0}, bows={"A": 6.0, "D": -4.0}, holes=(hole(25, 22, 12),), notches=(notch("B-C", 10, 20, 7, 2),)
    )
    outline = part_outline(part)
    x0, y0, x1, y1 = outline.bounds
    n = 800
    xs, ys = x0 + (np.arange(n) + 0.37) / n * (x1 - x0), y0 + (np.arange(n) + 0.61) / n * (y1 - y0)
    grid = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    share = outline.contains(grid).mean() * (x1 - x0) * (y1 - y0)
    assert share == pytest.approx(outline.area, rel=3e-4)
    polygon_area = 0.0
    for loop in range(len(outline.loops)):
        x, y = outline.polygon(loop, 0.01).T
        polygon_area += 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    assert polygon_area == pytest.approx(outline.area, rel=1e-6)


def test_contains_at_heights_of_corners_and_arc_tops():
    outline = part_outline(make_part(holes=(hole(30, 20, 10),)))
    points = [(1, 20), (30, 20), (24, 25), (24, 15), (36, 25), (59, 20), (61, 20), (-1, 40), (-1, 0), (70, 15)]
    assert outline.contains(points).tolist() == [True, False, True, True, True, True, False, False, False, False]


def test_nearest_curve():
    distance, curve = part_outline(make_part(holes=(hole(30, 20, 10),))).nearest_curve((30, 28))
    assert (distance, curve.names[0]) == (pytest.approx(3.0), "hole h")


L_SHAPE = [(0.0, 0.0), (60.0, 0.0), (60.0, 20.0), (20.0, 20.0), (20.0, 40.0), (0.0, 40.0)]
REFUSED = {
    "two corners": (make_part(BLOCK[:2]), "outline.corners", "has 2 corners; give at least 3"),
    "twins": (make_part([*BLOCK[:3], (60, 40)]), "outline.corners.4.at", '"C" and "D" are both at (60, 40) mm'),
    "line": (make_part([(0, 0), (5, 5), (9, 9)]), "outline.corners", "encloses no area"),
    "crossing": (make_part([(0, 0), (60, 0), (0, 40), (55, 40)]), "outline.corners",
                 'edge "B-C" and edge "D-A" meet at'),
    "touching": (make_part([(0, 0), (60, 0), (60, 40), (30, 0), (0, 40)]), "outline.corners",
                 'edge "A-B" and edge "C-D" meet at (30, 0) mm'),
    "folded back": (make_part([(0, 0), (60, 0), (60, 40), (60, 20), (0, 20)]), "outline.corners",
                    'edge "B-C" and edge "C-D" meet'),
    "bows cross": (make_part(bows={"A": -25, "C": -25}), "outline.corners", 'edge "A-B" and edge "C-D" meet at'),
    "big bow": (make_part(bows={"A": 31}), "outline.corners.1.bow", "half the chord, 30 mm"),
    "flat bow": (make_part(bows={"A": 1e-5}), "outline.corners.1.bow", "too flat to matter"),
    "tiny hole": (make_part(holes=(hole(30, 20, 1e-5),)), "hole.1", 'Hole "h" has a piece only'),
    "sliver": (
        make_part(notches=(notch("A-B", 2e-5, 9, 5),)),
        "outline",
        'Edge "A-B" has a piece only 2e-05 mm long at (0, 0) mm',
    ),
    "big round": (make_part(rounds={"A": 45}), "outline.corners.1.round",
                  'Corner "A" has a round of 45 mm, too big for its edges "D-A" (40 mm long) and "A-B" (60 mm long). '
                  "The greatest possible is 40 mm"),
    "two rounds": (make_part(rounds={"B": 15, "C": 30}), "outline.corners.3.round", "greatest possible is 25 mm"),
    "equal rounds": (make_part(rounds={"A": 50, "D": 50}), "outline.corners.1.round",
                     "20 mm, with no greater rounds"),
    "round and bow": (make_part(rounds={"A": 39}, bows={"A": 10}), "outline.corners.1.round", "too big"),
    "round at nothing": (make_part([(0, 0), (30, 0), *BLOCK[1:]], rounds={"B": 3}), "outline.corners.2.round",
                         "runs straight on there"),
    "round by notch": (make_part(rounds={"A": 12}, notches=(notch("A-B", 10, 20, 5),)), "outline.corners.1.round",
                       "greatest possible is 10 mm"),
    "round and end notch": (make_part(rounds={"B": 5}, notches=(notch("A-B", 50, 60, 5),)), "outline.corners.2.round",
                            "a notch takes it away"),
    "notch edge": (make_part(notches=(notch("B-A", 10, 20, 5),)), "notch.1.edge",
                   'edge "B-A" is not on the outline. Did you mean "A-B"? Edges: "A-B", "B-C", "C-D", "D-A"'),
    "notch on bow": (make_part(bows={"A": 3}, notches=(notch("A-B", 10, 20, 5),)), "notch.1.edge",
                     "not supported in this version"),
    "notch range": (make_part(notches=(notch("A-B", 50, 70, 5),)), "notch.1.to",
                    '"to" is 70 mm, but edge "A-B" is 60 mm long'),
    "notch backwards": (make_part(notches=(notch("A-B", 30, 20, 5),)), "notch.1.to", "must be smaller than"),
    "flat notch": (make_part(notches=(notch("A-B", 10, 20, 0),)), "notch.1.depth", "give a depth above 0"),
    "deep notch": (make_part(notches=(notch("A-B", 10, 20, 45),)), "notch.1.depth",
                   'is 45 mm deep, but the wood under it is only 40 mm deep (edge "C-D")'),
    "just too deep": (make_part(notches=(notch("A-B", 10, 20, 40),)), "notch.1.depth", "is 40 mm deep"),
    "deep end notch": (make_part(L_SHAPE, notches=(notch("A-B", 40, 60, 25),)), "notch.1.depth",
                       'only 20 mm deep (edge "C-D")'),
    "end notch past": (make_part([(0, 0), (60, 0), (90, 10), (0, 60)], notches=(notch("A-B", 50, 60, 15),)),
                       "notch.1.depth", 'does not meet edge "B-C": the wood there is 10 mm deep'),
    "re-entrant end": (make_part(L_SHAPE, notches=(notch("C-D", 30, 40, 5),)), "notch.1.depth",
                       "that corner is re-entrant"),
    "notch overlap": (make_part(notches=(notch("A-B", 10, 20, 5), notch("A-B", 15, 30, 5, name="M"))), "notch.2",
                      'Notches "N" and "M" overlap or touch on edge "A-B": one ends 5 mm past'),
    "notches cross": (make_part(notches=(notch("A-B", 10, 20, 25), notch("C-D", 40, 50, 25, name="M"))), "notch.2",
                      'notch "N" and notch "M" meet'),
    "end notch on notch": (make_part(notches=(notch("A-B", 50, 60, 20), notch("B-C", 10, 25, 5, name="M"))), "notch.2",
                           "overlaps an end notch"),
    "notch round": (make_part(notches=(notch("A-B", 10, 20, 8, 6),)), "notch.1.round", "greatest possible is 5 mm"),
    "notch names": (make_part(notches=(notch("A-B", 10, 20, 8), notch("C-D", 10, 20, 8))), "notch.2.name",
                    'Two notches are named "N"'),
    "hole outside": (make_part(holes=(hole(70, 20, 10),)), "hole.1.center",
                     'outside the outline: its centre (70, 20) mm lies 10 mm beyond edge "B-C"'),
    "hole crosses": (make_part(holes=(hole(30, 4, 10),)), "hole.1.center",
                     'crosses edge "A-B": its centre is 4 mm from it and its radius is 5 mm, 1 mm too much'),
    "hole touches": (make_part(holes=(hole(30, 5, 10),)), "hole.1.center", 'touches edge "A-B"'),
    "hole in notch": (make_part(holes=(hole(30, 6, 4),), notches=(notch("A-B", 20, 40, 15),)), "hole.1.center",
                      'in the wood that notch "N" cuts away'),
    "notch on hole": (make_part(holes=(hole(30, 20, 12),), notches=(notch("A-B", 20, 40, 15),)), "notch.1.depth",
                      'crosses notch "N"'),
    "holes overlap": (make_part(holes=(hole(20, 20, 12), hole(28, 20, 12, "i"))), "hole.2.center",
                      '"h" and "i" overlap: their centres are 8 mm apart and their radii add up to 12 mm, 4 mm too'),
    "hole in hole": (make_part(holes=(hole(30, 20, 20), hole(30, 20, 4, "i"))), "hole.2.center", "overlap"),
    "support from": (make_part(supports=(support("edge A-B", -1, 5),)), "support.1.from", "60 mm long"),
    "load to": (make_part(loads=(load("edge B-C", 30, 41),)), "load.1.to",
                'Load "l": "to" is 41 mm, but edge "B-C" is 40 mm long. Give a distance from 0 to 40 mm'),
    "support edge": (make_part(supports=(support("edge B-D"),)), "support.1.on", 'edge "B-D" is not on the outline'),
    "cut away": (make_part(notches=(notch("A-B", 20, 30, 5),), loads=(load("edge A-B", 22, 28),)), "load.1.from",
                 'edge "A-B" from 22 mm to 28 mm is wholly cut away by notches or rounds. What is left of it: '
                 "0 mm to 20 mm, 30 mm to 60 mm"),
    "edge gone": (make_part(notches=(notch("A-B", 0, 60, 5),), supports=(support("edge A-B"),)), "support.1.on",
                  'edge "A-B" is wholly cut away'),
    "corner rounded": (make_part(rounds={"A": 3}, supports=(support("corner A"),)), "support.1.on",
                       'corner "A" is no longer there, its round took it away. Corners left: "B", "C", "D"'),
    "corner notched": (make_part(notches=(notch("A-B", 50, 60, 5),), loads=(load("corner B"),)), "load.1.on",
                       "a notch took it away"),
    "no corner": (make_part(supports=(support("corner Q"),)), "support.1.on", 'there is no corner "Q"'),
    "no hole": (make_part(supports=(support("hole q"),)), "support.1.on", 'there is no hole "q". Holes: none'),
    "no notch": (make_part(supports=(support("notch q"),)), "support.1.on", 'there is no notch "q"'),
    "no face": (make_part(notches=(notch("A-B", 50, 60, 5),), loads=(load("notch N end"),)), "load.1.on",
                "has no end face (an end notch or a full round takes it away). Faces it has: floor, start"),
    "range on hole": (make_part(holes=(hole(30, 20, 10),), supports=(support("hole h", 1, 2),)), "support.1.from",
                      "go with an edge"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_refusals(name):
    part, key, words = REFUSED[name]
    with pytest.raises(InputError, match=re.escape(words)) as caught:
        part_outline(part)
    assert caught.value.key == key
    assert caught.value.exit_code == 2
    assert str(caught.value).endswith(f"({key})")


def test_patches_on_edges_at_every_angle_end_where_the_edge_ends():
    """Two patches an edge, the rectangle turned by 1 to 90 deg: rounding once left two points at a corner."""
    for angle in np.radians(np.arange(1.0, 91.0)):
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        corners = [
            Corner(name=name, at=tuple((turn @ place).tolist()))
            for name, place in zip("ABCD", [(0, 0), (130, 0), (130, 89), (0, 89)], strict=True)
        ]
        part = make_part(loads=(load("edge C-D", 0, 30), load("edge C-D", 40, 90).model_copy(update={"name": "two"})))
        outline = part_outline(part.model_copy(update={"corners": tuple(corners)}))
        for one, after in zip(outline.loops[0], outline.loops[0][1:] + outline.loops[0][:1], strict=True):
            assert one.end == after.start
