"""The HTML forms for notebooks: what they say, that all of it is escaped, and that nothing comes from elsewhere."""

from __future__ import annotations

import re
import subprocess
import sys
from html.parser import HTMLParser

import parts
import pytest

import fesolve
from fesolve.units import Formatter
from fesolve.view import html
from fesolve.view.html import verdict_html, wood_html
from fesolve.view.words import story

TAGS = {"div", "p", "b", "table", "thead", "tbody", "tr", "th", "td", "ul", "li", "details", "summary"}
SCRIPT = '<script>alert("oak & ash")</script>'


class Reader(HTMLParser):
    """Collects tags, texts and attributes, and refuses a tag that is closed wrongly."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.texts: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open.append(tag)
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


@pytest.fixture(scope="module")
def result() -> fesolve.Result:
    """A part in which every name that a user gives is HTML."""
    names = {"title": SCRIPT, "if_it_breaks": {"then": f"it falls {SCRIPT}", "people": "near", "second_catch": False}}
    doc = parts.document([(0, 0), (200, 0), (200, 60), (0, 60)], **names)
    doc["support"] = [{**one, "name": f"{one['name']} {SCRIPT}"} for one in parts.held()]
    doc["load"] = [{"name": f"pull {SCRIPT}", "on": "edge B-C", "force": ["1 kN", "400 N"]}]
    return parts.check(doc)


def test_the_verdict_says_what_the_terminal_says(result: fesolve.Result) -> None:
    verdict = result.verdict
    read = Reader(verdict_html(verdict))
    said = "\n".join(read.texts)
    for line in story(verdict, Formatter("si")):
        assert line.text in said and line.label in {"", *read.texts}
    assert {row.mode for row in verdict.modes} <= set(read.texts)
    assert set(verdict.cautions) <= set(read.texts)
    takes = verdict.takes
    assert takes.low is not None and Formatter("si").force(takes.low) in read.texts
    assert result._repr_html_() == verdict._repr_html_() == verdict_html(verdict)
    assert Formatter("us").force(takes.low) in Reader(verdict_html(verdict, Formatter("us"))).texts


def test_every_name_is_escaped(result: fesolve.Result) -> None:
    text = verdict_html(result.verdict)
    assert "<script" not in text
    assert "&lt;script&gt;alert(&quot;oak &amp; ash&quot;)&lt;/script&gt;" in text
    assert SCRIPT in Reader(text).texts


def test_nothing_comes_from_elsewhere_and_nothing_of_the_page_is_changed(result: fesolve.Result) -> None:
    for text in (verdict_html(result.verdict), wood_html(result.wood)):
        read = Reader(text)
        assert read.tags <= TAGS
        assert read.attributes <= {"style", "scope"}
        assert not re.search(r"url\(|https?:|position:|javascript", text)


def luminance(colour: str) -> float:
    """Relative luminance: WCAG 2.2, definition."""
    parts_ = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts_]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("colour", [html.GOOD, html.BAD, html.BETWEEN])
def test_colours_are_seen_in_light_and_in_dark(colour: str) -> None:
    """Contrast of 3 to white and to a notebook's dark ground, #111111: WCAG 2.2, success criterion 1.4.11."""
    one = luminance(colour)
    assert 1.05 / (one + 0.05) >= 3.0
    assert (one + 0.05) / (luminance("#111111") + 0.05) >= 3.0


def test_text_takes_the_notebook_s_own_colour(result: fesolve.Result) -> None:
    text = verdict_html(result.verdict) + wood_html(result.wood)
    assert not re.search(r"[;\"]color:", text)
    assert set(re.findall(r"background[^;\"]*", text)) == {"background:transparent"}


def test_a_wood_is_shown_with_source_and_status() -> None:
    """7.8 MPa of shear and 2.3 MPa across: USDA Wood Handbook, Table 5-3a; 1 - 1.645 x 0.14 and 0.25 of them."""
    wood = fesolve.make_wood(species="Douglas-fir, coast", face="flat-sawn", basis="lower 5%")
    texts = Reader(wood._repr_html_()).texts
    assert texts[0] == "Douglas-fir, coast (softwood, flat-sawn), basis lower 5%"
    assert "mean 7.8 MPa, CoV 14 %" in texts and "mean 2.3 MPa, CoV 25 %" in texts and "1.4 MPa" in texts
    assert texts[texts.index("shear") + 1] == "6 MPa"
    assert any(re.match(r"\[\d\] USDA Wood Handbook", text) for text in texts)
    assert {one.status for one in wood.strengths.values()} <= set(texts)
    assert set(wood.notes) <= set(texts)


def test_a_wood_of_own_values_and_one_of_a_class() -> None:
    own = fesolve.make_wood(
        basis="mean",
        elastic={"E_0": 12_000.0, "E_90": 600.0, "G": 780.0, "nu_0_90": 0.4},
        strength={"shear": 8.0, "tension_across": 2.0, "compression_across": 5.0, "tension_along": 80.0,
                  "compression_along": 40.0},
        split_length=12.0,
    )  # fmt: skip
    texts = Reader(wood_html(own)).texts
    assert texts[texts.index("splitting length") + 1] == "12 mm" and "density" not in texts
    graded = fesolve.make_wood(species="Spruce, Sitka", face="flat-sawn", basis="design", strength_class="C24")
    assert Reader(wood_html(graded)).texts[0] == "C24 (Spruce, Sitka) (softwood, flat-sawn), basis design"


def test_what_is_shown_is_loaded_when_it_is_asked_for() -> None:
    code = "import sys, fesolve.judge.verdict, fesolve.wood.model; print('fesolve.view' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
