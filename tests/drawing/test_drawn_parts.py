"""Outlines from DXF files: the same part as the one written down, names by layers, and every refusal with its place.

The drawings are made by ezdxf, a general-purpose library that knows nothing of this project.
"""

import json
import math
import random
import re

import numpy as np
import pytest
from docs_text import ROOT
from drawn import INCHES, PLANK, drawing, part_file, plank, with_drawing

import fesolve
from fesolve.errors import InputError
from fesolve.mesh.outline import part_outline


def read(folder, document, **more):
    return fesolve.read_part(part_file(folder, document, **more))


def refused(folder, document, message, key="outline.file", **more):
    with pytest.raises(InputError, match=message) as found:
        part_outline(read(folder, document, **more))
    assert found.value.key == key


# ---- the same part


def test_a_drawing_of_the_pile_stop_gives_the_verdict_of_its_part_file(tmp_path):
    document, space = drawing()
    space.add_lwpolyline([(0, 0), (420, 0), (420, 140), (0, 140)], close=True)
    space.add_circle((70, 70), 12.5, dxfattribs={"layer": "pivot"})
    document.saveas(tmp_path / "stop.dxf")
    (tmp_path / "stop.toml").write_text(with_drawing(ROOT / "meshes" / "pile_stop.toml", "stop.dxf"))
    written = fesolve.read_part(ROOT / "meshes" / "pile_stop.toml")
    drawn = fesolve.read_part(tmp_path / "stop.toml")
    assert drawn.corners == written.corners
    assert part_outline(drawn).same_lines(part_outline(written))
    one, two = (fesolve.check(part, sure=False, splits=False) for part in (drawn, written))
    for name, result in (("one", one), ("two", two)):
        result.save(tmp_path / name, pictures=False)
    first, second = (json.loads((tmp_path / name / "verdict.json").read_text()) for name in ("one", "two"))
    note = next(text for text in first.pop("cautions") if text.startswith("Drawing "))
    assert note.startswith("Drawing stop.dxf: 420 by 140 mm, read in mm, as it says. Corners A (0, 0), B (420, 0)")
    second.pop("cautions"), first.pop("part"), second.pop("part")
    assert first == second


def test_loose_lines_and_fillets_in_inches_are_a_plank_with_rounds(tmp_path):
    document, space = drawing(INCHES)
    for start, end in (((7, 5), (1, 5)), ((1, 0), (7, 0)), ((8, 4), (8, 1)), ((0, 1), (0, 4))):
        space.add_line(start, end)
    for center, angle in (((1, 1), 180), ((7, 1), 270), ((7, 4), 0), ((1, 4), 90)):
        space.add_arc(center, 1, angle, angle + 90)
    part = read(tmp_path, document)
    assert [corner.name for corner in part.corners] == ["A", "B", "C", "D"]
    assert [corner.at for corner in part.corners] == [(0, 0), (203.2, 0), (203.2, 127), (0, 127)]
    assert {corner.round for corner in part.corners} == {25.4}
    # area of a rectangle with rounded corners: w h - (4 - pi) r^2, by hand
    assert part_outline(part).area == pytest.approx(203.2 * 127 - (4 - math.pi) * 25.4**2, rel=1e-12)


def test_arcs_that_are_no_fillets_are_bowed_edges_at_most_half_circles(tmp_path):
    document, space = drawing()
    # a paddle: a handle of 40 mm, and a disc of 120 mm that takes more than a half circle
    reach = math.sqrt(60**2 - 20**2)
    space.add_line((-200, -20), (-reach, -20))
    space.add_arc((0, 0), 60, 180 + math.degrees(math.asin(20 / 60)), 180 - math.degrees(math.asin(20 / 60)))
    space.add_line((-reach, 20), (-200, 20))
    space.add_line((-200, 20), (-200, -20))
    part = read(tmp_path, document, foot="edge E-A", push="edge C-D")
    assert len(part.corners) == 5
    swept = 2 * math.pi - 2 * math.asin(20 / 60)
    # the handle, the sector of the disc and the triangle between them, by hand
    area = 40 * (200 - reach) + 60**2 * swept / 2 + 20 * reach
    assert part_outline(part).area == pytest.approx(area, rel=1e-9)


def test_polylines_of_every_kind_blocks_and_mirrored_entities_are_one_outline(tmp_path):
    document, space = drawing()
    block = document.blocks.new("HOLES")
    block.add_circle((0, 0), 5)
    block.add_circle((40, 0), 5, dxfattribs={"layer": "peg"})
    space.add_blockref("HOLES", (50, 45), dxfattribs={"layer": "pin", "rotation": 90, "xscale": 0.5, "yscale": 0.5})
    space.add_polyline2d([(0, 0), (300, 0), (300, 90)])
    # seen from behind: x is mirrored in the entity's own axes
    space.add_lwpolyline([(-300, 90), (0, 90), (0, 0)], dxfattribs={"extrusion": (0, 0, -1)})
    part = read(tmp_path, document)
    assert [corner.at for corner in part.corners] == PLANK
    found = {hole.name: (hole.center, hole.diameter) for hole in part.holes}
    assert found == {"pin": ((50.0, 45.0), 5.0), "peg": ((50.0, 65.0), 5.0)}


def test_slots_circles_in_pieces_and_openings(tmp_path):
    document, space = drawing()
    plank(space)
    space.add_lwpolyline([(30, 20, 0), (50, 20, 1), (50, 30, 0), (30, 30, 1)], format="xyb", close=True)
    space.add_lwpolyline([(90, 45, 1), (110, 45, 1)], format="xyb", close=True, dxfattribs={"layer": "dowel"})
    space.add_lwpolyline([(200, 30), (260, 30), (260, 50), (200, 50)], close=True)
    part = read(tmp_path, document)
    slot, dowel = part.holes
    assert (slot.name, slot.center, slot.diameter, slot.length, slot.angle) == ("1", (40.0, 25.0), 10.0, 30.0, 0.0)
    assert (dowel.name, dowel.center, dowel.diameter) == ("dowel", (100.0, 45.0), 20.0)
    assert [corner.name for corner in part.openings[0].corners] == ["E", "F", "G", "H"]
    outline = part_outline(part)
    expected = 300 * 90 - (20 * 10 + math.pi * 25) - math.pi * 100 - 60 * 20
    assert outline.area == pytest.approx(expected, rel=1e-12)
    assert outline.edge_length("E-F") == 60.0


@pytest.mark.parametrize("kind", ["spline", "ellipse"])
def test_curves_are_followed_as_near_as_wanted(tmp_path, kind):
    document, space = drawing()
    space.add_lwpolyline([(0, 90), (0, 0), (300, 0), (300, 90)])
    if kind == "spline":
        space.add_spline([(300, 90), (200, 130), (100, 70), (0, 90)])
        exact = None
    else:
        space.add_ellipse((150, 90), (150, 0), 0.2, 0, math.pi)
        exact = 300 * 90 + math.pi * 150 * 30 / 2  # half an ellipse over a rectangle
    areas = []
    for within in (0.5, 0.05, 0.005):
        part = read(tmp_path, document, keys=f'within = "{within} mm"', foot="edge A-B")
        assert f"curves followed by arcs to within {within}" in part.drawing.note or "within" in part.drawing.note
        off = float(re.search(r"to within ([\d.e-]+) mm", part.drawing.note)[1])
        assert off <= within
        areas.append(part_outline(part).area)
    if exact is not None:
        assert abs(areas[0] - exact) < 0.5 * 320 and areas[-1] == pytest.approx(exact, abs=0.005 * 320)
    assert abs(areas[1] - areas[2]) < abs(areas[0] - areas[2]) + 0.05


def test_splines_of_every_kind_are_where_ezdxf_has_them(tmp_path):
    """Closed, with weights, of degree 2: against the areas of ezdxf's own fine polygons."""
    loop = [(100, 30, 0), (150, 20, 0), (200, 30, 0), (150, 60, 0)]
    made = (
        lambda space: space.add_spline().set_closed(loop),
        lambda space: space.add_spline().set_closed_rational(loop, [1, 2, 1, 3]),
        lambda space: space.add_rational_spline([*loop, loop[0]], [1, 2, 1, 3, 1], degree=2),
        lambda space: space.add_open_spline([*loop, loop[0]], degree=4),
    )
    for make in made:
        document, space = drawing()
        plank(space)
        make(space)
        (spline,) = space.query("SPLINE")
        tool = spline.construction_tool()
        knots = tool.knots()
        ts = np.linspace(knots[tool.degree], knots[len(knots) - 1 - tool.degree], 4001)
        x, y, _ = np.array([tuple(point) for point in tool.points(ts)]).T
        expected = abs(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2
        part = read(tmp_path, document, keys='within = "0.002 mm"')
        assert part_outline(part).area == pytest.approx(300 * 90 - expected, abs=0.003 * 250)


def test_a_circle_drawn_as_a_weighted_spline_is_a_round_hole(tmp_path):
    # nine points and weights 1, 1/sqrt(2): Piegl and Tiller, The NURBS Book, 7.5, from memory
    w, at = math.sqrt(0.5), [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    document, space = drawing()
    plank(space)
    points = [(60 + 12 * x, 45 + 12 * y, 0) for x, y in at]
    spline = space.add_spline(degree=2)
    spline.control_points, spline.weights = points, [1, w, 1, w, 1, w, 1, w, 1]
    spline.knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]
    (hole,) = read(tmp_path, document, keys='within = "0.001 mm"').holes
    assert math.dist(hole.center, (60, 45)) < 0.001 and hole.diameter == pytest.approx(24.0, abs=0.002)


def test_a_curve_drawn_in_four_hundred_lines_is_meshed_and_judged(tmp_path):
    document, space = drawing()
    top = [(300 * k / 400, 90 + 20 * math.sin(k / 40)) for k in range(401)]
    space.add_lwpolyline([*top, (300, 0), (0, 0)], close=True)
    part = read(tmp_path, document, foot="edge A-B")
    assert len(part.corners) > 390
    verdict = fesolve.check(part, sure=False, splits=False).verdict
    assert verdict.equilibrium < 1e-9
    assert len(verdict.hand) < 20  # no section at every one of its corners


# ---- names


def test_a_layer_names_the_one_edge_and_the_one_hole_on_it(tmp_path):
    document, space = drawing()
    space.add_lwpolyline([(170, 0), (300, 0), (300, 90), (0, 90), (0, 0), (130, 0)])
    space.add_line((130, 0), (170, 0), dxfattribs={"layer": "cross-beam"})
    space.add_circle((50, 45), 8, dxfattribs={"layer": "pivot"})
    part = read(tmp_path, document, push="edge cross-beam", foot="edge E-F")
    assert part.edge_names == ("A-B", "cross-beam", "C-D", "D-E", "E-F", "F-A")
    assert part.loads[0].on.text == "edge cross-beam"
    curves = part_outline(part).named("load push")
    assert [(curve.start, curve.end) for curve in curves] == [((130.0, 0.0), (170.0, 0.0))]
    with pytest.raises(InputError, match=r'edge "beam" is not on the outline. Edges: "A-B", "cross-beam", "C-D"'):
        read(tmp_path, document, push="edge beam", foot="edge E-F")
    with pytest.raises(InputError, match=r'there is no hole "pivto". Nearest: "pivot"'):
        read(tmp_path, document, foot="hole pivto")


def test_a_check_speaks_of_edges_by_their_layer(tmp_path):
    document, space = drawing()
    space.add_lwpolyline([(170, 0), (300, 0), (300, 90), (0, 90), (0, 0), (130, 0)])
    space.add_line((130, 0), (170, 0), dxfattribs={"layer": "cross-beam"})
    part = read(tmp_path, document, push="edge C-D", foot="edge cross-beam")
    verdict = fesolve.check(part, cures=False).verdict
    assert verdict.governing is not None and verdict.governing.measured_from is not None
    assert {row.on for row in verdict.reactions} == {"edge cross-beam"}


def test_edges_in_a_row_on_one_layer_go_by_its_name_together(tmp_path):
    document, space = drawing()
    on = {"layer": "seat"}
    space.add_lwpolyline([(200, 0), (300, 0), (300, 90), (0, 90), (0, 0), (100, 0)])
    # a step of 10 mm with a fillet of 4 mm at its foot: a line, an arc, a line
    space.add_line((100, 0), (100, 6), dxfattribs=on)
    space.add_arc((104, 6), 4, 90, 180, dxfattribs=on)
    space.add_line((104, 10), (200, 10), dxfattribs=on)
    space.add_line((200, 10), (200, 0))
    part = read(tmp_path, document, foot="edge seat", push="edge D-E")
    assert part.supports[0].on.edges == ("B-C", "C-D")
    curves = part_outline(part).named("support foot")
    assert [curve.kind for curve in curves] == ["line", "arc", "line"]
    # two lines and a quarter circle, by hand
    assert sum(curve.length for curve in curves) == pytest.approx(6 + 96 + math.pi * 4 / 2, rel=1e-12)
    with pytest.raises(InputError, match='"seat" is several edges; name one of them: "B-C", "C-D"'):
        read(tmp_path, document, foot='edge seat"\nfrom = "1 mm', push="edge D-E")
    strike = '[[strike]]\non = "edge seat"\ndirection = "into the wood"\nmass = "1 kg"\nspeed = "1 m/s"\n'
    struck = read(tmp_path, document, foot="edge D-E", push="edge D-E", more=strike).strikes[0]
    # against the mean outward normal of 10 mm facing right and 100 mm facing down: the step's chord is (100, 10)
    assert struck.direction == pytest.approx((-10 / math.hypot(10, 100), 100 / math.hypot(10, 100)))
    moving = strike.replace("direction", 'width = "5 mm"\nanywhere = ["0 mm", "9 mm"]\ndirection')
    with pytest.raises(InputError, match=r"anywhere runs along a straight edge, but .edge seat. is several edges"):
        read(tmp_path, document, foot="edge D-E", push="edge D-E", more=moving)


def test_a_layer_with_several_things_names_none_of_them(tmp_path):
    document, space = drawing()
    plank(space, layer="OUTLINE")
    for x in (50, 250):
        space.add_circle((x, 45), 8, dxfattribs={"layer": "HOLES"})
    part = read(tmp_path, document)
    assert part.edge_names == ("A-B", "B-C", "C-D", "D-A")
    assert [hole.name for hole in part.holes] == ["1", "2"]


def test_holes_and_notches_of_the_part_file_go_on_top(tmp_path):
    document, space = drawing()
    plank(space)
    space.add_circle((50, 45), 8)
    more = '[[hole]]\ncenter = ["250 mm", "45 mm"]\ndiameter = "20 mm"\n[[notch]]\nedge = "C-D"\nfrom = "100 mm"\n'
    part = read(tmp_path, document, more=more + 'to = "140 mm"\ndepth = "10 mm"\n')
    assert [hole.name for hole in part.holes] == ["1", "2"]
    assert part_outline(part).area == pytest.approx(300 * 90 - math.pi * 64 - math.pi * 100 - 400, rel=1e-12)
    clash = '[[hole]]\nname = "pivot"\ncenter = ["250 mm", "45 mm"]\ndiameter = "20 mm"\n'
    space.add_circle((150, 45), 8, dxfattribs={"layer": "pivot"})
    refused(tmp_path, document, 'Two holes are called "pivot"', more=clash)


# ---- what is closed, and what is refused


def gappy(space, gap):
    space.add_line((0, 0), (300, 0))
    space.add_lwpolyline([(300, gap), (300, 90), (0, 90), (0, 0)])


def test_gaps_are_closed_as_far_as_stated_and_told(tmp_path):
    document, space = drawing()
    gappy(space, 0.3)
    part = read(tmp_path, document, keys='gap = "0.5 mm"')
    assert part.corners[1].at == (300.0, 0.15)
    assert "1 gap of up to 0.3 mm closed" in part.drawing.note
    said = r'open between \(300, 0.3\) mm and \(300, 0\) mm, 0.3 mm apart. .* gap = "0.3 mm" closes it \(now 0.01 mm\)'
    refused(tmp_path, document, said)
    space.add_line((50, 20), (50.3, 20))
    refused(tmp_path, document, "no longer than the gap that may be closed, 0.5 mm", keys='gap = "0.5 mm"')


def test_short_pieces_of_one_polyline_are_no_gaps(tmp_path):
    document, space = drawing()
    space.add_lwpolyline([*PLANK, (0.0, 0.1), (0.05, 0.1)], close=True)
    assert len(read(tmp_path, document, keys='gap = "1 mm"', foot="edge C-D", push="edge A-B").corners) == 6


def test_lines_twice_over_count_once(tmp_path):
    document, space = drawing()
    plank(space)
    space.add_line((300, 0), (0, 0))
    for _ in range(2):
        space.add_circle((50, 45), 8)
    part = read(tmp_path, document)
    assert len(part.corners) == 4 and len(part.holes) == 1
    assert "2 of its lines left out" in part.drawing.note


def test_what_is_no_outline_is_left_aside_and_told(tmp_path):
    document, space = drawing()
    plank(space)
    space.add_text("oak")
    space.add_linear_dim(base=(0, -20), p1=(0, 0), p2=(300, 0)).render()
    document.layers.add("off").off()
    document.layers.add("cold").freeze()
    space.add_line((0, 0), (7, 9), dxfattribs={"layer": "off"})
    space.add_line((0, 0), (7, 9), dxfattribs={"layer": "cold"})
    part = read(tmp_path, document)
    assert "left aside 1 dimension, 2 on hidden layers, 1 text" in part.drawing.note


def test_layers_choose(tmp_path):
    document, space = drawing()
    plank(space, layer="Wood")
    space.add_line((-50, 45), (350, 45), dxfattribs={"layer": "axis"})
    refused(
        tmp_path, document, r"open between \(350, 45\) mm and \(-50, 45\) mm, 400 mm apart. Close it in the drawing"
    )
    assert len(read(tmp_path, document, keys='layers = ["wood"]').corners) == 4
    refused(tmp_path, document, 'Layer "wod" holds no lines .* Layers that do: "Wood", "axis"', keys='layers = ["wod"]')


def test_a_third_line_at_a_corner_is_refused(tmp_path):
    document, space = drawing()
    plank(space)
    space.add_line((300, 90), (400, 200))
    refused(tmp_path, document, r"3 lines meet at \(300, 90\) mm")


def test_two_outlines_and_islands_are_refused(tmp_path):
    document, space = drawing()
    plank(space)
    space.add_lwpolyline([(400, 0), (450, 0), (450, 50)], close=True)
    said = (
        r"two outlines side by side: one from \(0, 0\) mm to \(300, 90\) mm, and one from \(400, 0\) mm to \(450, 50\)"
    )
    refused(tmp_path, document, said)
    document, space = drawing()
    plank(space)
    space.add_circle((150, 45), 20)
    space.add_circle((150, 45), 10)
    refused(tmp_path, document, r"closed line within a hole: one from \(140, 35\) mm to \(160, 55\) mm")


def test_an_outline_that_crosses_itself_is_refused_with_the_place(tmp_path):
    document, space = drawing()
    space.add_lwpolyline([(0, 0), (300, 90), (300, 0), (0, 80)], close=True)
    refused(tmp_path, document, "crosses or touches itself", push="edge A-B", foot="edge C-D")


@pytest.mark.parametrize(
    ("corners", "message"),
    [
        ([(280, 30), (320, 30), (320, 50)], 'Opening "1" .*edge "B-C" at \\(300'),
        ([(100, 40), (130, 40), (130, 60)], 'Opening "1" crosses or touches hole "pivot"'),
    ],
)
def test_openings_that_do_not_fit_are_refused(tmp_path, corners, message):
    document, space = drawing()
    plank(space)
    space.add_circle((100, 45), 10, dxfattribs={"layer": "pivot"})
    space.add_lwpolyline(corners, close=True)
    refused(tmp_path, document, message)


def test_units_have_to_be_known_and_wrong_ones_are_told(tmp_path):
    document, space = drawing(0)
    plank(space)
    refused(tmp_path, document, r'does not say what its numbers are in \(no unit\). State it .* unit = "mm"')
    assert read(tmp_path, document, keys='unit = "mm"').corners[1].at == (300.0, 0.0)
    said = r'300000 mm long when read as stated \(unit = "m"\).*unit = "mm" \(300 mm\) or unit = "cm" \(3000 mm\)'
    refused(tmp_path, document, said, keys='unit = "m"')
    document.units = INCHES
    part = read(tmp_path, document, keys='unit = "mm"')
    assert "read in mm as stated, though it says inches itself" in part.drawing.note
    with pytest.raises(InputError, match='"furlong" is not a choice for unit'):
        read(tmp_path, document, keys='unit = "furlong"')


def test_what_is_not_flat_is_refused(tmp_path):
    document, space = drawing()
    plank(space)
    space.add_line((50, 50, 0), (60, 50, 7))
    refused(tmp_path, document, "not flat: one LINE reaches z = 7, other things lie at z = 0")
    document, space = drawing()
    plank(space)
    space.add_circle((50, 45), 5, dxfattribs={"extrusion": (1, 0, 0)})
    refused(tmp_path, document, "not flat: one CIRCLE lies in a plane that is not that of x and y")


def test_drawings_without_lines_or_with_far_too_many_are_refused(tmp_path):
    document, space = drawing()
    space.add_text("oak")
    refused(tmp_path, document, "no lines or curves that are shown. What it has: 1 TEXT")
    document.layout("Layout1").add_line((0, 0), (9, 9))
    refused(tmp_path, document, "What it has: 1 TEXT, 1 on paper layouts, of which none is read")
    for k in range(5001):
        space.add_line((k, 0), (k + 1, 1))
    refused(tmp_path, document, "more than 5000 lines and curves")


def test_keys_and_files_that_cannot_be_meant(tmp_path):
    document, space = drawing()
    plank(space)
    refused(tmp_path, document, 'is not known in .outline.. Nearest: "gap"', "outline.gab", keys='gab = "1 mm"')
    refused(tmp_path, document, "leave out either", "outline.corners", keys="corners = []")
    refused(tmp_path, document, "layers is a list of names", "outline.layers", keys="layers = 3")
    path = part_file(tmp_path, document)
    with pytest.raises(InputError, match=r'holes of this part stand in its drawing, "plank.dxf"'):
        fesolve.read_part(path, {"hole.1.diameter": "9 mm"})
    text = path.read_text()
    for name, message in (
        ("none.dxf", "There is no drawing"),
        ("plank.dwg", "no drawing of a kind that is read here"),
        (".", "no drawing of a kind"),
    ):
        path.write_text(text.replace("plank.dxf", name))
        with pytest.raises(InputError, match=message) as found:
            fesolve.read_part(path)
        assert found.value.key == "outline.file"


def test_damaged_files_give_a_message_and_never_another_part(tmp_path):
    """Truncated, with bytes changed, and noise: refused with a message, or read as what still stands there."""
    document, space = drawing()
    plank(space)
    space.add_circle((50, 45), 8)
    space.add_spline([(100, 30), (120, 50), (140, 30), (100, 30)])
    path = part_file(tmp_path, document)
    whole = (tmp_path / "plank.dxf").read_bytes()
    rng, refusals = random.Random(7), 0
    for trial in range(60):
        damaged = bytearray(whole)
        if trial % 3 == 0:
            damaged = damaged[: rng.randrange(len(whole))]
        elif trial % 3 == 1:
            for _ in range(20):
                damaged[rng.randrange(len(damaged))] = rng.randrange(256)
        else:
            damaged = bytearray(rng.randrange(256) for _ in range(300))
        (tmp_path / "plank.dxf").write_bytes(bytes(damaged))
        try:
            part_outline(fesolve.read_part(path))
        except InputError as error:
            assert error.message
            refusals += 1
    assert refusals >= 40


def test_the_same_drawing_is_read_once_and_a_new_one_anew(tmp_path):
    document, space = drawing()
    plank(space)
    part = read(tmp_path, document)
    assert part.with_(thickness="20 mm").corners is not None
    space.add_circle((50, 45), 8)
    document.saveas(tmp_path / "plank.dxf")
    again = part.with_(thickness="20 mm")
    assert len(again.holes) == 1 and again.drawing.sha256 != part.drawing.sha256


def test_an_opening_in_a_check_splits_from_its_corners(tmp_path):
    document, space = drawing()
    plank(space)
    space.add_lwpolyline([(120, 30), (180, 30), (180, 60), (120, 60)], close=True)
    part = read(tmp_path, document, push="edge C-D", more="")
    result = fesolve.check(part, sure=False, splits=False)
    x, y = result.verdict.hotspots[0].at
    near = np.hypot(np.subtract([corner.at for corner in part.openings[0].corners], (x, y)).T[0], 0)
    assert near.min() < 40 and 0 <= y <= 90
