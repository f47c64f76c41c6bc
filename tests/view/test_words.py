"""What is said on each basis, and that the first lines say all that a person needs."""

import io
import re
from dataclasses import replace

import pytest
from log_stop import CASE, make_verdict, scaled

from fesolve.judge.verdict import COMBINED, SHEAR, TENSION_ALONG, Anchor, Consequence, FaceRow, RegionRow, Takes
from fesolve.units import Formatter
from fesolve.view import words
from fesolve.view.by_energy import coloured_text
from fesolve.view.terminal import make_console, print_verdict

SI = Formatter("si")


def printed(verdict, formatter=SI, width=80):
    stream = io.StringIO()
    print_verdict(verdict, formatter, make_console(stream, width=width))
    return stream.getvalue()


def test_first_twelve_lines_say_everything_that_a_person_needs(verdict):
    # the list is what somebody at the bench asks first; figures are the fixture's
    head = " ".join(" ".join(printed(verdict).splitlines()[:12]).split())
    for piece in (
        'SPLITS: 10 kN of "log" is 1.15 times the 8.7 kN it takes',
        "5 mm below and 12 mm to the right of the pivot hole's centre",
        "runs along the grain to the right, leaves the wood at edge B-C",
        "Low 8.7 kN, best 13 kN, high 19.3 kN",
        "Mean stress over 16 mm of fibres: 65 % opening, 35 % sliding",
        "V Q/(I t), hole left out: 28 kN, 2.2 times the best",
        "log 2.4 times its limit (roughly 1.2 mm deep), cross-beam 2.1 (roughly 0.9 mm)",
        "If it goes, the log rolls free. People near: keep clear.",
        "Within a factor of 2.2. The toughness",
    ):
        assert piece in head, piece


def test_text_is_plain_and_narrow_when_piped(verdict):
    text = printed(verdict)
    assert "\x1b" not in text
    assert max(map(len, text.splitlines())) <= 80
    assert not set(text) & set("│┃┌└━─")


@pytest.mark.parametrize("width", [60, 80, 120])
def test_every_table_is_there_at_any_width(verdict, width):
    text = printed(verdict, width=width)
    for title in ("What could break it", "Where it could split", "dented or crushed", "By hand", "Sections",
                  "supports do", "Strengths used", "Proportions", "Cautions"):  # fmt: skip
        assert title in text
    assert "from memory" in text  # the status of a strength stays visible


def test_both_faces_are_told_with_the_unit_of_what_it_takes(verdict):
    both = replace(verdict, faces=(FaceRow("flat-sawn", 0.49, 13250.0), FaceRow("quarter-sawn", 0.3, 22570.0)))
    assert "takes, best Face share kN flat-sawn 0.49 13.2 quarter-sawn 0.30 22.6" in " ".join(printed(both).split())
    takes = replace(both.takes, of="all loads together")
    factor = replace(both, takes=takes, faces=(FaceRow("flat-sawn", 0.49, 1.25),))
    assert re.search(r"x loads\s+flat-sawn\s+0\.49\s+1\.25\s", printed(factor))


def test_opening_share_of_equal_shares_is_half(verdict):
    # by hand: 1.15/2.3 = 3.9/7.8 = 0.5, so opening is 0.25/(0.25 + 0.25)
    spot = replace(verdict.hotspots[0], mean_s90=1.15, mean_tau=3.9)
    assert words.opening_share(verdict, spot) == pytest.approx(0.5)


def test_mean_basis_never_says_holds():
    for factor in (0.1, 0.5, 0.99, 1.0, 3.0):
        verdict = scaled(factor / 1.15)
        said = " ".join(line.text for line in words.story(verdict, SI)).lower()
        assert "holds" not in said and "in hand" not in said
        assert not words.holds(verdict)
        assert "about half of such clear pieces split below 13 kN".lower() in said
    assert words.headline(scaled(0.5), SI).startswith("DOES NOT REACH its mean strength: 5 kN")
    assert words.headline(scaled(1.0), SI).startswith("SPLITS: 10 kN")


@pytest.mark.parametrize(
    ("factor", "people", "start", "holds"),
    [
        (0.5, "none", "HOLDS, 1.74 in hand, of clear, straight-grained pieces", True),  # 1/(0.5 * 1.15) = 1.739
        (0.7, "none", "TOO CLOSE TO CALL: 1.24 in hand, below the margin of 1.5, of clear, straight-", False),
        (1.0, "none", "SPLITS: 10 kN", False),
        (0.5, "near", "MEETS THESE FIGURES; not a release for use. 1.74 in hand, of clear", True),
        (0.5, "carried", "MEETS THESE FIGURES; not a release for use.", True),
        (0.7, "near", "TOO CLOSE TO CALL", False),
    ],
)
def test_lower_basis(factor, people, start, holds):
    verdict = scaled(factor, basis="lower 5%", if_it_breaks=Consequence("x", people, None))
    assert words.headline(verdict, SI).startswith(start)
    assert words.holds(verdict) is holds
    assert "clear, straight-grained pieces" in words.headline(verdict, SI)


@pytest.mark.parametrize(
    ("factor", "people", "start", "holds"),
    [
        (0.5, "none", "WITHIN THE DESIGN VALUE: 5 kN", True),
        (0.5, "near", "MEETS THESE FIGURES; not a release for use. Within the design value", True),
        (1.0, "near", "ABOVE THE DESIGN VALUE: 10 kN", False),
    ],
)
def test_design_basis(factor, people, start, holds):
    verdict = scaled(factor, basis="design", if_it_breaks=Consequence("x", people, None))
    assert words.headline(verdict, SI).startswith(start)
    assert words.holds(verdict) is holds


def pressed(basis, *shares, factor=0.5, people="none"):
    """Supports and loads pressed to shares of their limits, each with a name of its own."""
    first = make_verdict().beside[0]
    rows = tuple(replace(first, name=f"foot {k}", utilisation=share) for k, share in enumerate(shares, 1))
    return replace(scaled(factor, basis=basis, if_it_breaks=Consequence("x", people, None)), beside=rows)


@pytest.mark.parametrize("basis", ["mean", "lower 5%", "design"])
@pytest.mark.parametrize("people", ["none", "near"])
def test_the_first_line_tells_what_is_crushed(basis, people):
    said = words.headline(pressed(basis, 1.2, 4.9, people=people), SI)
    assert said.endswith('; but the wood is crushed at "foot 2".')
    assert ".;" not in said
    assert words.headline(pressed(basis, 2.1, 4.9, 3.0), SI).endswith('crushed at "foot 2" and 2 more.')
    assert "crushed" not in words.headline(pressed(basis, 1.2, 1.9), SI)


def test_what_is_crushed_decides_nothing_and_excuses_nothing():
    assert words.holds(pressed("lower 5%", 4.9))
    assert words.headline(pressed("lower 5%", 4.9, factor=0.7), SI).startswith("TOO CLOSE TO CALL")
    assert "crushed" not in words.headline(pressed("lower 5%", 4.9, factor=1.0), SI)  # it splits: worse than a dent
    inside = replace(pressed("lower 5%", 4.9).beside[0], name="inside")
    assert "crushed" not in words.headline(replace(scaled(0.5, basis="lower 5%"), beside=(inside,)), SI)


@pytest.mark.parametrize("mode", [TENSION_ALONG, COMBINED])
def test_fibres_that_break_are_not_said_to_split(verdict, mode):
    breaking = make_verdict(governing=replace(verdict.governing, mode=mode))
    assert words.headline(breaking, SI).startswith("BREAKS: 10 kN")
    assert words.where(breaking, SI).startswith("Breaks across the fibres 5 mm below")
    assert "pieces break below" in words.takes(breaking, SI)


def test_nothing_that_loads_it():
    verdict = make_verdict(governing=None, hotspots=(), takes=Takes(None, None, None, "log"), basis="lower 5%")
    assert words.headline(verdict, SI).startswith("NOTHING LOADS IT")
    assert words.holds(verdict)
    assert "NOTHING LOADS IT" in printed(verdict)


def test_one_value_without_a_band(verdict):
    single = make_verdict(takes=Takes(9000.0, 9000.0, 9000.0, "log"))
    assert words.takes(single, SI).startswith("9 kN. About half")
    assert "low figure" not in words.headline(single, SI)


def test_all_loads_together_are_a_factor():
    verdict = make_verdict(takes=Takes(1.3, 0.87, 1.93, words.ALL_LOADS))
    assert words.takes(verdict, SI).startswith("Low 0.87 times the loads, best 1.30 times the loads")
    assert "what acts on it is 1.15 times what it takes" in words.headline(verdict, SI)


def test_places_from_edges_and_corners():
    edge = Anchor("edge A-B", (232.0, 0.0), along=232.0, corner="A")
    assert words.offset((232.0, 24.0), edge, SI) == "24 mm above edge A-B, 232 mm from A"
    assert words.offset((232.0, 0.0), edge, SI) == "at edge A-B, 232 mm from A"
    assert words.offset((232.0, 24.0), edge, Formatter("us")) == "0.94 in above edge A-B, 9.13 in from A"


def test_a_place_without_a_limit_is_named_where_the_split_starts(verdict):
    spot = replace(verdict.hotspots[0], no_limit="corner C, not rounded", peak=None)
    told = words.where(replace(verdict, hotspots=(spot,)), Formatter("si"))
    assert told.startswith("Starts ") and " (corner C, not rounded), runs along the grain" in told
    assert "(" not in words.where(verdict, Formatter("si"))


def test_pressed_shut_and_short_lines(verdict):
    spot = replace(verdict.hotspots[0], mean_s90=-1.0, short_line=True)
    said = words.why(make_verdict(hotspots=(spot,)), SI)
    assert "all sliding (3.2 MPa shear, pressed shut by 1 MPa)" in said
    assert "shorter than the splitting length" in said


def test_several_cases_are_named(verdict):
    two = (*verdict.modes, replace(verdict.modes[0], case="storm", utilisation=0.2))
    assert words.where(make_verdict(modes=two), SI).endswith(f'In case "{CASE}".')
    assert "[storm]" in printed(make_verdict(modes=two))


def test_us_units_hold_no_millimetres(verdict):
    text = " ".join(line.text for line in words.story(verdict, Formatter("us")))
    assert "1,960 lbf" in text and "mm" not in text and "kN" not in text


@pytest.mark.parametrize(
    ("what", "said"),
    [
        (Consequence("The log rolls free.", "none", None), "If it goes, the log rolls free. No one near, as declared."),
        (Consequence(None, "near", True), "People near: keep clear. Check the second catch too."),
        (Consequence(None, "carried", False), "It carries people: a licensed engineer decides. No second catch."),
        (Consequence(None, None, None), "Not said who is near: keep clear; not a release for use."),
    ],
)
def test_risk(what, said):
    assert words.risk(make_verdict(if_it_breaks=what)) == said


def by_region(verdict):
    """The same verdict as of a part with a web of weaker wood, in which the first split lies and ends."""
    spot = replace(verdict.hotspots[0], region="web", exits_where="region web", mean_s90=1.15, mean_tau=3.9)
    rest = tuple(replace(row, regions=("part",)) for row in verdict.allowables)
    weak = tuple(replace(row, value=row.value / 2, regions=("web",)) for row in verdict.allowables)
    rows = (
        RegionRow("part", 38.0, 0.0, "Douglas-fir, coast", "flat-sawn"),
        RegionRow("web", 12.0, 90.0, "Birch, yellow", "quarter-sawn"),
    )
    governing = replace(verdict.governing, region="web")
    spots = (spot, *verdict.hotspots[1:])
    return replace(verdict, hotspots=spots, governing=governing, allowables=(*rest, *weak), regions=rows)


def test_a_split_in_a_region_says_so_and_ends_at_its_border(verdict):
    text = words.where(by_region(verdict), SI)
    assert ", in region web, runs along the grain" in text and "ends at the border of region web" in text
    assert words.inside("part") == words.inside("") == ""
    broken = replace(by_region(verdict), governing=replace(by_region(verdict).governing, mode=TENSION_ALONG))
    assert "in region web" in words.where(broken, SI)


def test_opening_goes_by_the_strengths_of_the_region(verdict):
    """Both strengths of the web are half: a and b double, and opening is still a half; with one halved it is not."""
    parted = by_region(verdict)
    assert words.opening_share(parted, parted.hotspots[0]) == pytest.approx(0.5)
    harder = tuple(
        replace(row, value=4 * row.value) if row.mode == SHEAR and row.regions == ("web",) else row
        for row in parted.allowables
    )
    share = words.opening_share(replace(parted, allowables=harder), parted.hotspots[0])
    assert share == pytest.approx(1 / (1 + 1 / 16))  # b is a quarter of a


def test_regions_and_whose_strengths_are_in_the_tables(verdict):
    text = " ".join(printed(by_region(verdict), width=100).split())
    assert "web 12 90 Birch, yellow quarter-sawn" in text
    assert "shear along grain [web]" in text
    assert "Regions" not in printed(verdict)


def test_hand_and_mesh_agree_only_where_they_speak_of_the_same(verdict):
    """A plain shear formula beside a split that opens is near it by chance; beside one that slides it agrees."""
    near = replace(verdict, hand_summary=replace(verdict.hand_summary, ratio=1.0, load=13_000.0, formula="V Q/(I t)"))
    spot = replace(near.hotspots[0], mean_s90=2.0, mean_tau=0.5)
    opens = replace(near, hotspots=(spot, *near.hotspots[1:]))
    slides = replace(near, hotspots=(replace(spot, mean_s90=0.1, mean_tau=5.0), *near.hotspots[1:]))
    assert words.by_hand(slides, SI).endswith("1.00 of the best: they agree.")
    assert words.by_hand(opens, SI).endswith("1.00 of the best: near it, though by another way of failing.")


def test_a_greater_share_that_does_not_decide_is_said_to_be_for_comparison(verdict):
    said = "A greater share that does not decide is shown for comparison only"
    worst = max(row.utilisation for row in verdict.modes if row.decides)
    for share, there in ((2.0 * worst, True), (0.5 * worst, False)):
        modes = tuple(row if row.decides else replace(row, utilisation=share) for row in verdict.modes)
        other = replace(verdict.modes[0], mode=SHEAR, decides=False, utilisation=share)
        assert (said in printed(replace(verdict, modes=(*modes, other)))) is there


def test_where_a_moment_of_a_blow_decides_shares_are_said_to_be_those_of_a_force_at_rest(verdict):
    note = "through time, 5.4 ms after the first touch"
    timed = replace(verdict, governing=replace(verdict.governing, note=note, utilisation=1.542))
    said = "Shares are those of the blow as a force at rest; through time splitting reaches 1.54, which decides"
    assert said in " ".join(printed(timed).split()) and "through time" not in printed(verdict)
    assert coloured_text(timed).startswith("colour and shares: the blow as a force at rest; through time splitting")
    assert coloured_text(verdict) == ""


def test_what_sums_leave_over_is_told_as_none_by_hand(verdict):
    row = verdict.hand[0]
    over = replace(row, station="middle", shear=1e-4 * row.shear, tau_vqit=1e-4 * row.tau_vqit)
    line = next(one for one in printed(replace(verdict, hand=(row, over)), width=100).splitlines() if "middle " in one)
    assert re.match(r"middle \*? +\S+ +0 N ", line) and line.split()[-3] == "-"
