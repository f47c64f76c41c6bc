"""Outlines from SVG files: units, y upwards, transforms, names, and nothing taken from outside the file.

Rules of SVG are those of Scalable Vector Graphics (SVG) 2, W3C Candidate Recommendation (2018), from memory.
"""

import math
import random
import re

import pytest
from docs_text import ROOT
from drawn import PART, with_drawing

import fesolve
from fesolve.errors import InputError
from fesolve.judge.where import curve_name
from fesolve.mesh.outline import part_outline

SPACES = (
    'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"'
)
PAGE = 'width="300mm" height="90mm" viewBox="0 0 300 90"'
PLANK = '<rect width="300" height="90"/>'


def part_file(folder, body, *, page=PAGE, keys="", foot="edge D-A", push="edge B-C"):
    path = folder / "plank.toml"
    path.write_text(PART.format(keys=keys, foot=foot, push=push, more="").replace("plank.dxf", "plank.svg"))
    (folder / "plank.svg").write_text(f"<svg {SPACES} {page}>{body}</svg>")
    return path


def read(folder, body, **more):
    return fesolve.read_part(part_file(folder, body, **more))


def refused(folder, body, message, **more):
    with pytest.raises(InputError, match=message) as found:
        part_outline(read(folder, body, **more))
    assert found.value.key == "outline.file"


def test_an_svg_of_the_pile_stop_is_its_part_file(tmp_path):
    (tmp_path / "stop.svg").write_text(
        f'<svg {SPACES} width="42cm" height="14cm" viewBox="0 0 420 140">'
        '<path d="M0 0h420v140H0z"/><circle id="pivot" cx="70" cy="70" r="12.5"/></svg>'
    )
    (tmp_path / "stop.toml").write_text(with_drawing(ROOT / "meshes" / "pile_stop.toml", "stop.svg"))
    drawn, written = (fesolve.read_part(p) for p in (tmp_path / "stop.toml", ROOT / "meshes" / "pile_stop.toml"))
    assert drawn.corners == written.corners
    assert part_outline(drawn).same_lines(part_outline(written))


def test_y_is_turned_upwards_from_the_lower_left_of_the_page(tmp_path):
    part = read(tmp_path, '<path d="M10 15 H310 V95 L10 105 z"/><circle cx="60" cy="25" r="4"/>',
                page='width="310mm" height="100mm" viewBox="10 10 310 100"')  # fmt: skip
    assert [corner.at for corner in part.corners] == [(0, 5), (300, 15), (300, 95), (0, 95)]
    assert part.holes[0].center == (50.0, 85.0)


def test_arcs_rounds_slots_and_curves_keep_their_area(tmp_path):
    body = (
        '<path d="M0 0H80A87.5 87.5 0 0 0 220 0H300V90H0Z"/><rect x="20" y="40" width="30" height="10" rx="5"/>'
        '<ellipse cx="150" cy="65" rx="20" ry="10"/><polygon points="240,40 260,40 260,60 240,60"/>'
    )
    part = read(tmp_path, body, keys='within = "0.005 mm"', foot="edge A-B", push="edge D-E")
    assert part.corners[3].bow == -35.0
    assert (part.holes[0].length, part.holes[0].diameter) == (30.0, 10.0)
    assert len(part.openings) == 2
    half = 2 * math.asin(70 / 87.5)
    segment = 87.5**2 * (half - math.sin(half)) / 2
    # plank less segment, slot, ellipse and square, by hand
    expected = 300 * 90 - segment - (20 * 10 + math.pi * 25) - math.pi * 200 - 400
    assert part_outline(part).area == pytest.approx(expected, abs=0.005 * 100)


def test_transforms_and_uses_are_followed(tmp_path):
    body = (
        f'<defs><circle id="peg" r="2"/></defs><g transform="translate(300,0) scale(-1,1)">{PLANK}'
        '<use href="#peg" x="100" y="30" transform="scale(2)"/></g>'
        '<g transform="translate(50 50) rotate(90)"><rect x="-5" y="-10" width="10" height="20" rx="5"/></g>'
    )
    part = read(tmp_path, body)
    slot, peg = part.holes
    assert (peg.name, peg.center, peg.diameter) == ("peg", (100.0, 30.0), 8.0)
    assert (slot.center, slot.length, slot.angle) == ((50.0, 40.0), 20.0, 0.0)


def test_names_come_from_labels_and_ids_but_not_from_those_that_programs_make(tmp_path):
    body = (
        '<g inkscape:groupmode="layer" inkscape:label="Layer 1"><path id="path42" d="M130 90 H0 V0 H300 V90 H170"/>'
        '<path id="cross-beam" d="M130 90 H170"/></g>'
        '<g id="pins"><circle id="circle7" cx="40" cy="40" r="5"/></g>'
    )
    part = read(tmp_path, body, push="edge cross-beam", foot="hole pins")
    assert part.edge_names == ("A-B", "cross-beam", "C-D", "D-E", "E-F", "F-A")
    assert [hole.name for hole in part.holes] == ["pins"]
    assert len(read(tmp_path, body, keys='layers = ["layer 1"]', foot="edge E-F", push="edge C-D").holes) == 0
    refused(
        tmp_path, body, 'Layer "x" holds no lines .* Layers that do: "Layer 1", "cross-beam"', keys='layers = ["x"]'
    )


def test_a_drawn_curve_goes_by_one_name(tmp_path):
    body = '<path d="M300 0 V90 H0 V0"/><path id="crown" d="M0 0 C 100 30 200 30 300 0"/>'
    part = read(tmp_path, body, push="edge crown", foot="edge A-B")
    assert part.loads[0].on.edges == tuple(part.edge_names[2:-1])
    outline = part_outline(part)
    curves = outline.named("load push")
    assert curves and all(curve.kind == "arc" for curve in curves)
    verdict = fesolve.check(part, sure=False, splits=False).verdict
    assert sum(row.force[1] for row in verdict.reactions) == pytest.approx(900.0, rel=1e-6)
    assert not [row for row in verdict.hand if row.station.startswith("corner")]
    (load,) = verdict.loads
    # a cubic Bezier piece at t = 1/2: 3/4 of 30 mm below the top of the page
    assert min(math.dist(place, (150.0, 90.0 - 22.5)) for place in load.patch) < 3.0
    assert math.dist(load.patch[0], (300.0, 90.0)) < 1e-9 and math.dist(load.patch[-1], (0.0, 90.0)) < 1e-9
    assert verdict.part.drawing is not None and verdict.part.drawing.sha256 == part.drawing.sha256
    curve = next(curve for curve in curves if curve.nearest((150.0, 67.5))[0] < 0.05)
    assert curve_name(curve) == "edge crown"
    with pytest.raises(InputError, match='"crown" is several edges; name one of them: "C-D"'):
        path = part_file(tmp_path, body, push='edge crown"\nfrom = "3 mm', foot="edge A-B")
        fesolve.read_part(path)


def test_units_are_those_of_the_page_or_stated(tmp_path):
    inches = 'width="12in" height="4in" viewBox="0 0 12 4"'
    assert read(tmp_path, '<rect width="12" height="4"/>', page=inches).corners[2].at == (304.8, 101.6)
    pixels = read(tmp_path, '<rect width="300mm" height="9cm"/>', page='width="300mm" height="90mm"')
    assert pixels.corners[2].at == (300.0, 90.0)
    for page, said in (('width="300" height="90"', 'its width is "300", no true length'), ("", "it has no width")):
        refused(tmp_path, PLANK, f"does not say what its numbers are in .{said}", page=page)
        assert read(tmp_path, PLANK, page=page, keys='unit = "mm"').corners[1].at[0] == 300.0
    refused(
        tmp_path, PLANK, "stretches what is drawn", page=f'{PAGE.replace("90mm", "50mm")} preserveAspectRatio="none"'
    )


def test_what_is_not_shown_or_no_line_is_left_aside_and_told(tmp_path):
    body = (
        f'{PLANK}<text x="9">oak</text><image href="file:///etc/hostname"/><use href="other.svg#a"/>'
        '<line x2="50" style="display:none"/><g visibility="hidden"><line x2="50"/></g><!-- a note -->'
    )
    part = read(tmp_path, body)
    assert "left aside 1 IMAGE, 2 hidden, 1 references to other files, 1 text" in part.drawing.note


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ('<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/hostname">]><svg>&a;</svg>', "declares an entity"),
        ('<!DOCTYPE svg [<!ENTITY a "aa"><!ENTITY b "&a;&a;">]><svg>&b;</svg>', "declares an entity"),
        ("<svg", "cannot be read as SVG"),
        ("", "cannot be read as SVG"),
        ("<html/>", 'outermost element is "html"'),
        ("<svg>" + "<g>" * 200 + "</g>" * 200 + "</svg>", "more than 100 deep"),
        ('<svg><g id="a"><use href="#a"/></g></svg>', "use themselves"),
        (
            "<svg>" + "".join(f'<g id="a{k}"><use href="#a{k + 1}"/><use href="#a{k + 1}"/></g>' for k in range(30))
            + '<g id="a30"><path d="M0 0 1 1"/></g></svg>',
            "more than 20000 elements",
        ),
        ('<svg width="9mm" viewBox="0 0 9 9"><path d="M0 0 L banana"/></svg>', "cannot be read as SVG"),
        ('<svg width="9mm" viewBox="0 0 9 9"><rect width="50%" height="3"/></svg>', 'width = "50%" of a rect'),
        ('<svg width="9mm" viewBox="0 0 9 9"><path d="M0 0 L1e400 3"/></svg>', "not finite"),
        ("<svg/>", "no lines or curves that are shown"),
    ],
)  # fmt: skip
def test_files_that_are_not_read(tmp_path, content, message):
    path = part_file(tmp_path, PLANK)
    (tmp_path / "plank.svg").write_text(content)
    with pytest.raises(InputError, match=re.escape(message)):
        fesolve.read_part(path)


def test_a_plain_doctype_is_no_harm(tmp_path):
    path = part_file(tmp_path, PLANK)
    kind = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    (tmp_path / "plank.svg").write_text(kind + (tmp_path / "plank.svg").read_text())
    assert len(fesolve.read_part(path).corners) == 4


def test_open_and_doubtful_outlines_are_refused_with_the_place(tmp_path):
    refused(
        tmp_path, '<path d="M0 0H300V90H0V1"/>', r"open between \(0, 89\) mm and \(0, 90\) mm, 1 mm apart.*gap = .1 mm"
    )
    refused(tmp_path, PLANK + '<path d="M300 90 L 350 90"/>', r"3 lines meet at \(300, 0\) mm")


def test_damaged_files_give_a_message(tmp_path):
    body = (
        f'{PLANK}<g id="pin" transform="translate(9,2) rotate(3)"><circle cx="50" cy="45" r="8"/></g>'
        '<path d="M100 30 C 110 50 120 50 140 30 Q 120 20 100 30 Z M 200 40 a 5 9 0 1 0 9 9 z"/>'
    )
    path = part_file(tmp_path, body)
    whole = (tmp_path / "plank.svg").read_bytes()
    rng = random.Random(3)
    for trial in range(150):
        damaged = bytearray(whole)
        if trial % 3 == 0:
            damaged = damaged[: rng.randrange(len(whole))]
        elif trial % 3 == 1:
            for _ in range(rng.choice((1, 3, 10))):
                damaged[rng.randrange(len(damaged))] = rng.choice(b'0123456789.-eMLCZ "<>/ab') if trial % 2 else 200
        else:
            damaged = bytearray(rng.randrange(256) for _ in range(200))
        (tmp_path / "plank.svg").write_bytes(bytes(damaged))
        try:
            part_outline(fesolve.read_part(path))
        except InputError as error:
            assert error.message
