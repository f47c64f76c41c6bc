"""Pictures: sizes, that they change with what they show, and the cut between the two hue families."""

from dataclasses import replace

import numpy as np
import pytest
from log_stop import CASE, make_verdict
from matplotlib.image import imread

from fesolve.judge.energy import BY_ENERGY
from fesolve.judge.rows_split import SplitRow, SplitStart
from fesolve.judge.verdict import Takes
from fesolve.units import Formatter
from fesolve.view import ramp
from fesolve.view.charts import draw_member
from fesolve.view.pictures import _sketch, draw_hotspots, round_below
from fesolve.view.sheet import Sheet, inside
from fesolve.view.sketch import Look, Piece, shade, split_at


def draw(path, verdict, field, factor=1.0, formatter=None, grain=0.0):
    arrays = (field.points, field.triangles, factor * field.utilisation)
    draw_hotspots(verdict, field.polygons, *arrays, Look([Piece(grain)]), path, formatter or Formatter("si"))
    return imread(path)


def violet(image):
    return ((image[..., 2] > image[..., 0] + 0.2) & (image[..., 2] > 0.3)).sum()


def test_hotspots_is_a_readable_size_and_follows_the_field(tmp_path, verdict, field):
    image = draw(tmp_path / "a.png", verdict, field)
    height, width = image.shape[:2]
    assert 900 <= height <= 1600 and 1200 <= width <= 1600
    bar = violet(draw(tmp_path / "b.png", verdict, field, factor=0.5))  # nothing reaches 1.0: the colour bar alone
    assert violet(image) > bar + 500
    assert violet(draw(tmp_path / "c.png", verdict, field, factor=1.5)) > violet(image) + 500


def test_same_data_same_picture_and_other_units_other_picture(tmp_path, verdict, field):
    first = draw(tmp_path / "a.png", verdict, field)
    assert np.array_equal(first, draw(tmp_path / "b.png", verdict, field))
    assert not np.array_equal(first, draw(tmp_path / "c.png", verdict, field, formatter=Formatter("us")))


def by_energy(verdict, of):
    """The made-up verdict with the mean stress at 1.00, where energy decides with 1.49."""
    start = SplitStart(0.09, 0.55, 7e3, 3.0, 7e3, None, 6.7e3)
    row = SplitRow(of, CASE, (81.5, 65.0), "hole pivot", (1.0, 0.0), 338.0, 0.0, (), (), (), (), (), start, start,
                   10e3, "energy", "a short line")  # fmt: skip
    governing = replace(verdict.governing, utilisation=1.49, note=f"{BY_ENERGY}{of}; the mean stress says 1.00")
    first, *rest = verdict.hotspots
    spots = (replace(first, utilisation=1.0), *rest)
    return replace(verdict, governing=governing, hotspots=spots, splits=(row,))


@pytest.mark.parametrize("turned", [False, True])
def test_where_energy_decides_the_picture_says_so(verdict, field, turned):
    step = -1 if turned else 1
    polygons, shading = [p[:, ::step] for p in field.polygons], shade(field.points, field.triangles, field.utilisation)
    told = {of: _sketch(by_energy(verdict, of), polygons, shading, Look([Piece(0.0)]), Formatter("si"))
            for of in ("hot spot 1", "crack check")}  # fmt: skip
    said = {of: [" ".join(text.get_text().split()) for text in sheet.axes.texts] for of, sheet in told.items()}
    assert "colour: mean stress; by energy 1.49 at hot spot 1, which decides" in said["hot spot 1"]
    assert "1 1.49 by energy" in said["hot spot 1"] and "1 1.00" not in said["hot spot 1"]
    assert "2 0.94" in said["hot spot 1"]
    assert any(text.endswith("(by energy; mean stress 1.00)") for text in said["hot spot 1"])
    assert "colour: mean stress; by energy 1.49 from crack check, which decides" in said["crack check"]


def test_where_the_mean_stress_decides_nothing_is_said_of_energy(verdict, field):
    shading = shade(field.points, field.triangles, field.utilisation)
    sheet = _sketch(verdict, list(field.polygons), shading, Look([Piece(0.0)]), Formatter("si"))
    said = [" ".join(text.get_text().split()) for text in sheet.axes.texts]
    assert "1 1.15" in said and not any("energy" in text for text in said)


def test_a_standing_part_gets_another_layout(tmp_path, field):
    turned = replace(field, polygons=[p[:, ::-1] for p in field.polygons], points=field.points[:, ::-1])
    verdict = make_verdict(governing=None, hotspots=(), takes=Takes(None, None, None, "log"))
    lying = draw(tmp_path / "a.png", verdict, field)
    standing = draw(tmp_path / "b.png", verdict, turned, grain=90.0)
    assert lying.shape != standing.shape


def test_member_chart(tmp_path, verdict):
    draw_member(verdict, tmp_path / "a.png", Formatter("si"))
    draw_member(make_verdict(hand=(), diagrams=()), tmp_path / "b.png", Formatter("us"))
    a, b = imread(tmp_path / "a.png"), imread(tmp_path / "b.png")
    assert a.shape == b.shape and not np.array_equal(a, b)


def test_ramp_changes_family_exactly_at_one():
    just_below, one = ramp.colours(np.array([np.nextafter(1.0, 0.0), 1.0]))
    assert just_below[0] > just_below[2]  # more red than blue: ochre
    assert one[2] > one[0]  # violet


def test_ramp_darkens_evenly_also_for_colour_blind_eyes():
    # luminance of sRGB: weights and transfer curve of IEC 61966-2-1
    rgb = ramp.colours(np.linspace(0.0, 2.0, 41))[:, :3]
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    lightness = np.cbrt(linear @ [0.2126, 0.7152, 0.0722])
    steps = np.diff(lightness)
    assert (steps < 0.0).all()
    for half in (steps[:19], steps[20:]):
        assert half.max() / half.min() > 0.5


def test_cut_at_a_level_by_hand():
    # values 0, 0, 2 at (0,0), (1,0), (0,1), cut at 1: the tip above has a quarter of the area 1/2
    low, high = split_at(np.array([[[0.0, 0], [1, 0], [0, 1]]]), np.array([[0.0, 0.0, 2.0]]), 1.0)

    def area(corners):
        u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
        return np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).sum() / 2

    assert area(low[0]) == pytest.approx(0.375) and area(high[0]) == pytest.approx(0.125)
    assert low[1].max() == 1.0 and high[1].min() == 1.0


def test_cut_keeps_the_whole_area(field):
    shading = shade(field.points, field.triangles, field.utilisation)
    u, v = shading.corners[:, 1] - shading.corners[:, 0], shading.corners[:, 2] - shading.corners[:, 0]
    total = np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).sum() / 2
    p = field.points[field.triangles]
    u, v = p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]
    assert total == pytest.approx(np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]).sum() / 2, rel=1e-12)


def test_six_node_triangles_are_drawn_as_four():
    points = np.array([[0.0, 0], [2, 0], [0, 2], [1, 0], [1, 1], [0, 1]])
    shading = shade(points, np.array([[0, 1, 2, 3, 4, 5]]), np.zeros(6))
    assert shading.corners.shape == (4, 3, 2)


def test_inside_by_hand():
    square = np.array([[0.0, 0], [4, 0], [4, 4], [0, 4]])
    hole = np.array([[1.0, 1], [2, 1], [2, 2], [1, 2]])
    points = np.array([[0.5, 0.5], [1.5, 1.5], [5.0, 1.0], [3.0, 3.0]])
    assert inside(points, [square, hole]).tolist() == [True, False, False, True]


def test_labels_find_free_places():
    sheet = Sheet(4.0, 3.0)
    places = [(1.0, 1.0, "left", "bottom"), (1.0, 2.0, "left", "bottom")]
    first, second = sheet.label("first", places), sheet.label("second", places)
    assert second[1] > first[3]


def test_round_lengths():
    assert [round_below(value) for value in (73.0, 0.3, 100.0, 4.99)] == [50.0, 0.2, 100.0, 2.0]


def test_each_piece_has_its_own_grain_lines_and_borders_are_drawn(tmp_path, verdict, field):
    """Lines of another grain in one half of the triangles change that half; a border darkens a line of pixels."""
    corners = field.points[field.triangles[:, :3]]
    left = corners[:, :, 0].mean(axis=1) < field.points[:, 0].mean()
    arrays = (field.polygons, field.points, field.triangles, field.utilisation)
    same = [Piece(0.0, corners[left]), Piece(0.0, corners[~left])]
    turned = [Piece(0.0, corners[left]), Piece(60.0, corners[~left])]
    middle = float(field.points[:, 0].mean())
    border = [np.array([[middle, 10.0], [middle, 120.0]])]
    images = []
    for name, pieces, borders in (("a", same, ()), ("b", turned, ()), ("c", same, border)):
        draw_hotspots(verdict, *arrays, Look(pieces, borders), tmp_path / f"{name}.png", Formatter("si"))
        images.append(imread(tmp_path / f"{name}.png"))
    other = np.abs(images[1] - images[0]).sum(axis=2) > 0.05
    lines = np.abs(images[2] - images[0]).sum(axis=2) > 0.3
    half = int(other.shape[1] * 0.45)
    above = slice(0, other.shape[0] // 2)  # the sketch, without the detail below it
    assert other[above, half:].sum() > 20 * max(other[above, : half - 150].sum(), 1)
    assert lines[above].sum() > 50


def test_a_label_on_the_wood_does_not_lie_across_its_edge():
    sheet = Sheet(6.0, 4.0)
    sheet.part = [np.array([(1.0, 1.0), (4.0, 1.0), (4.0, 3.0), (1.0, 3.0)])]
    places = [(4.0, 2.0, "center", "center"), (3.0, 2.0, "center", "center")]  # across the edge, inside
    before = list(sheet.occupied)
    with sheet.on_the_wood():
        left, _, right, _ = sheet.label("leaves", places)
    assert left > 1.0 and right < 4.0
    assert sheet.occupied == [*before, (left, *sheet.occupied[-1][1:])] and len(sheet.part) == 1
    assert sheet.overlap(sheet.occupied[-1]) > 0.0  # now it is taken, and on the part besides
