"""The reader's own hand figures: each usual slip is made on purpose and has to be named.

The slips themselves are common practice, no source; what is right is the textbook's (Gere, Mechanics of Materials:
V Q/(I t), 1.5 V/A in a rectangle, I = b h^3/12, Q = b h^2/8), worked out beside each test.
"""

import numpy as np
import pytest
from beams import beam_field, board, calculate, fixed, load_at, make_part, push, rest

from fesolve.errors import InputError
from fesolve.judge.verdict import ReactionRow
from fesolve.mesh.outline import part_outline

# a lever of 38 x 140 mm on a pin at x = 70, leaning on a beam at 210, pushed by 10 kN at 320: the beam gives
# 10 * 250/140 = 17.857 kN, the pin 7.857 kN; V is 7.857 kN before the beam and 10 kN beyond it
B, H, P = 38.0, 140.0, 10e3
BEAM, PIN = P * 250 / 140, P * 110 / 140
LEVER = (
    '[[hole]]\nname = "pivot"\ncenter = ["70 mm", "70 mm"]\ndiameter = "25 mm"\n'
    '[[support]]\nname = "pin"\nkind = "pin"\non = "hole pivot"\n'
    + rest("beam", 190, 230)
    + push(0, -P, on='"edge C-D"', extra='from = "90 mm"\nto = "110 mm"\n', name="log")
)
MIDDLE = 140.0


def cut(x, mine, low=0.0, high=H, name="own"):
    return f'[[cut]]\nname = "{name}"\nfrom = ["{x} mm", "{low} mm"]\nto = ["{x} mm", "{high} mm"]\nmine = {{{mine}}}\n'


def V_of(x):
    x = np.asarray(x, dtype=float)
    return np.where(x < 70, 0.0, np.where(x < 210, PIN, -P * (x < 320)))


def M_of(x):
    x = np.asarray(x, dtype=float)
    return PIN * np.clip(x - 70, 0, None) - BEAM * np.clip(x - 210, 0, None) + P * np.clip(x - 320, 0, None)


def own(x, mine, **more):
    """The comparison at a cut of the lever, on the exact beam field that statics gives."""
    part = make_part(board(420, 140), LEVER + cut(x, mine, **more))
    field = beam_field(B, 0, H, V=V_of, M=M_of)
    log = load_at([320, H], [0, -P], name="log")
    pin = ReactionRow("pin", "all loads together", (0.0, -PIN), 0.0, "pin", "hole pivot", (70.0, 70.0))
    beam = ReactionRow("beam", "all loads together", (0.0, BEAM), 0.0, "rest", "edge A-B", (210.0, 0.0))
    rows, _, _ = calculate(part, field, [log], reactions=[pin, beam], reference=P)
    (row,) = [row for row in rows if row.station == "own"]
    return row


def named(x, mine, **more):
    found = own(x, mine, **more).mine
    return found.differs, found.outcome, found.words


# ---- the three mistakes that have to be named


def test_a_forgotten_reaction():
    # without the beam's 17.857 kN the shear between pin and beam would be the log's own 10 kN
    step, outcome, words = named(MIDDLE, 'V = "10 kN", tau = "2.8 MPa"')
    assert (step, outcome, words) == ("V", "slip", 'leaves out the reaction of "beam"')


@pytest.mark.parametrize(
    ("I", "words"),
    [
        ("34.76e6 mm^4", "is b h^3/3, about the edge in place of the middle"),  # 38 * 140^3/3
        ("640000 mm^4", "has b and h swapped"),  # 140 * 38^3/12
        ("8.69e5 mm^4", "is 10 times too small: a unit slipped"),
        ("9.5e6 mm^4", "is not what your own figures give: a slip in the arithmetic"),  # 9 % more than b h^3/12
    ],
)
def test_a_wrong_I(I, words):  # noqa: E741
    step, outcome, found = named(MIDDLE, f'b = "38 mm", h = "140 mm", I = "{I}", V = "7.86 kN", tau = "2.2 MPa"')
    assert (step, outcome, found) == ("I", "slip", words)


def test_a_figure_that_no_slip_gives():
    assert named(MIDDLE, 'I = "9.5e6 mm^4"') == ("I", "unknown", "")


def test_the_hole_left_out():
    # through a hole of 25 mm A is 38 * 115 = 4,370 mm^2, not 38 * 140 = 5,320 mm^2
    step, outcome, words = named(70, 'A = "5320 mm^2", V = "7.86 kN"')
    assert (step, outcome) == ("A", "slip")
    assert "the hole is left out of account" in words
    # 1.5 * 7,857/5,320 = 2.22 MPa in place of 1.5 * 7,857/4,370 = 2.70 MPa in two beams
    assert named(70, 'tau = "2.7 MPa", V = "7.86 kN"')[0] != "tau"
    step, outcome, words = named(70, 'tau = "2.22 MPa", V = "7.86 kN"')
    assert (step, outcome) == ("tau", "slip")
    assert "the hole is left out of account" in words


# ---- other slips


@pytest.mark.parametrize(
    ("mine", "step", "words"),
    [
        ('b = "140 mm"', "b", "has b and h swapped"),
        ('h = "14 mm"', "h", "is 10 times too small: a unit slipped"),
        ('Q = "186200 mm^3"', "Q", "is twice too large"),  # 38 * 140^2/4
        ('S = "33693 mm^3"', "S", "has b and h swapped"),  # 140 * 38^2/6
        ('S = "62067 mm^3"', "S", "is I/h in place of I/(h/2)"),
        ('A = "532000 mm^2"', "A", "is 100 times too large: a unit slipped"),
        ('b = "38 mm", h = "140 mm", A = "5700 mm^2"', "A", "is not what your own figures give"),
        ('V = "27.9 kN"', "V", 'has load "log" with the wrong sign'),  # 17.857 + 10
        ('V = "17.86 kN"', "V", 'leaves out load "log"'),
        ('V = "7.86 N"', "V", "is 1,000 times too small: a unit slipped"),
        ('M = "1.8 kN*m"', "M", 'leaves out the reaction of "beam"'),  # 10 kN at 180 mm
        ('V = "7.86 kN", tau = "1.48 MPa"', "tau", "is the mean V/A"),  # 7,857/5,320
        ('V = "7.86 kN", tau = "1.97 MPa"', "tau", "is 4/3 V/A"),
        ('tau = "2.82 MPa"', "tau", 'goes with a V that leaves out the reaction of "beam"'),
        ('M = "550 N*m", sigma = "8.86 MPa"', "sigma", "takes the depth h for the distance c = h/2"),
        ('M = "550 N*m", sigma = "2.95 MPa"', "sigma", "divides by b h^2/4"),
    ],
)
def test_slips(mine, step, words):
    found = named(MIDDLE, mine)
    assert found[:2] == (step, "slip"), found
    assert found[2].startswith(words)


def test_shear_carried_on_across_the_hole():
    # deducted I and Q as if the hole could carry shear: 1.46 V/A (docs/hand-calculation.md) in place of 1.83
    step, outcome, words = named(70, 'V = "7.86 kN", tau = "2.16 MPa"')
    assert (step, outcome) == ("tau", "slip")
    assert "which no shear can cross" in words or "left out" in words


# ---- figures that are right


def test_right_figures_agree():
    # the field is the beam's own, so statics, formula and mesh are one; in US units too: 38 mm = 1.496 in
    mine = 'b = "1.496 in", h = "5.512 in", A = "8.246 in^2", I = "20.88 in^4", Q = "5.681 in^3", t = "1.496 in", '
    mine += 'V = "1766 lbf", M = "4868 lbf*in", tau = "321 psi", sigma = "643 psi"'
    row = own(MIDDLE, mine)
    assert (row.mine.differs, row.mine.outcome) == ("", "agrees")
    assert [step.step for step in row.mine.steps] == ["b", "h", "A", "I", "Q", "t", "V", "M", "tau", "sigma"]
    assert all(step.agrees for step in row.mine.steps)
    assert row.moment_statics == pytest.approx(PIN * 70)
    assert row.shear_statics == pytest.approx(PIN)


def test_signs_are_not_compared():
    assert named(MIDDLE, 'V = "-7.86 kN", M = "-550 N*m"')[1] == "agrees"


def test_formula_does_not_apply():
    # a field of another shape at the same V: the mesh's shear at mid-depth is two thirds of 1.5 V/A
    part = make_part(board(300, 60), fixed() + push(0, -900) + cut(270, 'V = "900 N", tau = "0.59 MPa"', high=60))
    beam = beam_field(B, 0, 60, V=lambda x: np.full(len(x), -900.0), M=lambda x: 900 * (300 - x))

    def even(points):
        stress = beam(points)
        stress[:, 2] = -900 / (B * 60)
        return stress

    rows, _, _ = calculate(part, even, [load_at([300, 30], [0, -900])], reference=900)
    (row,) = [row for row in rows if row.station == "own"]
    assert (row.mine.differs, row.mine.outcome) == ("tau", "formula")
    assert row.mine.why[0].startswith("M/(V h) is below 1")
    assert any('"push" is nearer than one depth' in reason for reason in row.mine.why)


def test_right_by_statics_but_not_on_the_mesh():
    part = make_part(board(420, 140), LEVER + cut(MIDDLE, 'V = "7.86 kN"'))
    field = beam_field(B, 0, H, V=lambda x: 0.9 * V_of(x), M=M_of)
    rows, _, _ = calculate(part, field, [load_at([320, H], [0, -P], name="log")], reference=P)
    (row,) = [row for row in rows if row.station == "own"]
    assert (row.mine.differs, row.mine.outcome) == ("V", "statics")


def test_a_cut_through_a_part_of_the_member():
    row = own(140, 'b = "38 mm", h = "60 mm", V = "10 kN"', high=60.0)
    assert "it goes through 60 of 140 mm of the member's depth" in row.note
    assert row.shear_statics is None
    assert not row.mine.by_statics
    # of 7,857 N the lower 60 mm carry the parabola's share, (3 * 60^2 - 2 * 60^3/140)/140^2
    assert row.mine.steps[0].agrees
    (V,) = [step for step in row.mine.steps if step.step == "V"]
    assert V.here == pytest.approx(PIN * (3 * 60**2 - 2 * 60**3 / 140) / 140**2, rel=1e-2)
    assert row.mine.differs == "V"


def test_a_layered_section_has_the_webs_t():
    # an I of 40 mm flanges 60 mm wide and a web of 20 mm: t is the web's
    web = '[[region]]\nname = "web"\nthickness = "20 mm"\ncorners = [["0 mm", "40 mm"], ["300 mm", "40 mm"], '
    web += '["300 mm", "100 mm"], ["0 mm", "100 mm"]]\n'
    part = make_part(board(300, 140), fixed() + push(0, -900) + web + cut(150, 't = "60 mm"'), b=60)
    rows, _, _ = calculate(part, lambda p: np.ones((len(p), 3)), [load_at([300, 70], [0, -900])], reference=900)
    (row,) = [row for row in rows if row.station == "own"]
    assert (row.mine.differs, row.mine.words) == ("t", "is that of another layer")


def test_figures_of_one_case_stand_in_its_row_alone():
    cases = '[[case]]\nname = "one"\nloads = {push = 1.0}\n[[case]]\nname = "two"\nloads = {push = 2.0}\n'
    part = make_part(board(300, 60), fixed() + push(0, -900) + cases + cut(150, 'V = "1.8 kN", case = "two"', high=60))
    assert part.cuts[0].case == "two"
    from fesolve.analysis import check  # the whole flow, for the cases' own rows

    rows = [row for row in check(part).verdict.hand if row.station == "own"]
    assert [row.mine is None for row in rows] == [True, False]
    assert rows[1].mine.differs == ""


def test_a_cut_that_is_not_square_to_the_member():
    # 100 mm along over 60 mm up: its edges slope beside it, and the shear stress is greatest at a face, where Q is 0
    skew = '[[cut]]\nname = "own"\nfrom = ["100 mm", "0 mm"]\nto = ["140 mm", "60 mm"]\nmine = {M = "162 N*m"}\n'
    part = make_part(board(300, 60), fixed() + push(0, -900) + skew)
    field = beam_field(B, 0, 60, V=lambda x: np.full(len(x), -900.0), M=lambda x: 900 * (300 - x))
    rows, _, _ = calculate(part, field, [load_at([300, 30], [0, -900])], reference=900)
    (row,) = [row for row in rows if row.station == "own"]
    (Q,) = [step for step in row.mine.steps if step.step == "Q"]
    assert Q.here > 0
    assert "it is 34 deg from square to the member" in row.note
    assert row.mine.steps[7].agrees  # M about the middle of the cut, at x = 120: 900 N over 180 mm


@pytest.mark.parametrize(("x", "high"), [(500, 140), (70, 80)])
def test_a_cut_that_misses_the_part(x, high):
    part = make_part(board(420, 140), LEVER + cut(x, 'b = "38 mm"', low=60, high=high))
    with pytest.raises(InputError, match=r'Cut "own" misses the part: there is no wood between .* 420 and') as raised:
        part_outline(part)
    assert raised.value.key == "cut.1.from"
