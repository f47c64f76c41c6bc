"""What README and docs say is true: part files in them are read, commands and Python run, output is what is printed."""

from __future__ import annotations

import json
import math
import re
import shlex
import shutil
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from docs_text import ALL_BLOCKS, PAGES, ROOT, Block, anchors, blocks, links, read

from fesolve import analysis
from fesolve.cli import main
from fesolve.errors import InputError
from fesolve.judge.assess import assess
from fesolve.judge.inspected import inspect_part
from fesolve.judge.rows_cures import CureRow, Cures, LookedRow
from fesolve.mesh.generate import mesh_part
from fesolve.modelling import model_of
from fesolve.part.read import KEYS, part_from, read_part
from fesolve.view.files import verdict_json

pytestmark = pytest.mark.filterwarnings("default")  # what is tested is what a user's own session does

check = partial(analysis.check, sure=False)  # where nothing needs to be varied
NUMBER = re.compile(r"(?<![\w.])-?\d+(?:,\d{3})*(?:\.\d+)?")
MODES = {"splitting", "combined"}  # words of `mode`, not keys
OUTPUT_TOLERANCE = 0.10  # printed figures have two to three digits, and meshes differ a little between gmsh versions


def chosen(language: str, kind: str | None = None) -> list[Block]:
    return [block for block in ALL_BLOCKS if block.language == language and kind in {None, block.kind}]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder as a reader has it: meshes/ and every file that a page shows by name."""
    shutil.copytree(ROOT / "meshes", tmp_path / "meshes")
    for block in ALL_BLOCKS:
        if block.mark.startswith("file: "):
            (tmp_path / block.mark.removeprefix("file: ")).write_text(block.text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    yield tmp_path


# ---- part files


def merged(base: dict[str, Any], more: dict[str, Any]) -> dict[str, Any]:
    """A part file with further keys: tables merge, lists and values take the place of the old ones."""
    result = dict(base)
    for key, value in more.items():
        old = result.get(key)
        if isinstance(old, dict) and isinstance(value, dict):
            result[key] = merged(old, value)
        elif key in {"hole", "notch", "support", "load", "cut", "case"} and isinstance(old, list):
            names = {item.get("name") for item in value}
            result[key] = [item for item in old if item.get("name") not in names] + value
        else:
            result[key] = value
    return result


def plank() -> dict[str, Any]:
    """The part that the pieces of part files in docs/part-file.md are added to."""
    (block,) = (block for block in blocks("docs/part-file.md") if block.mark == "file: plank.toml")
    return tomllib.loads(block.text)


@pytest.mark.parametrize("block", chosen("toml", ""), ids=str)
def test_whole_part_files_are_read(block: Block) -> None:
    assert part_from(tomllib.loads(block.text)).title


@pytest.mark.parametrize("block", chosen("toml", "piece"), ids=str)
def test_pieces_of_part_files_are_read_as_part_of_the_plank(block: Block) -> None:
    assert part_from(merged(plank(), tomllib.loads(block.text))).title


def test_every_page_shows_toml_either_whole_or_as_a_piece() -> None:
    assert {block.kind for block in chosen("toml")} <= {"", "piece", "variants"}


REFUSED = {
    "in slots": '[[hole]]\nname = "pivot"\ncenter = ["45 mm", "45 mm"]\ndiameter = "16 mm"\nlength = "30 mm"',
}


@pytest.mark.parametrize("said", REFUSED)
def test_what_is_said_to_be_refused_is_refused(said: str) -> None:
    assert said in read("docs/part-file.md")
    with pytest.raises(InputError, match="not supported in this version"):
        part_from(merged(plank(), tomllib.loads(REFUSED[said])))


def test_every_table_of_the_part_file_has_its_section() -> None:
    heads = anchors("docs/part-file.md")
    text = read("docs/part-file.md")
    for key in KEYS:
        assert key.replace("_", "-") in heads or f"`{key}`" in text, key


# ---- commands


def commands(block: Block) -> list[str]:
    return [line for line in block.text.splitlines() if line.startswith("fesolve ")]


SHOWN: dict[str, list[Block]] = {}  # blocks of output by the command that prints them, on whatever page
for _block in ALL_BLOCKS:
    if _block.mark.startswith("output: "):
        SHOWN.setdefault(_block.mark.removeprefix("output: "), []).append(_block)


def unshown(block: Block) -> list[str]:
    """Commands of a block that no block of output is compared with."""
    lines = [line.partition("  #")[0].strip() for line in commands(block)]
    return [line for line in lines if line not in SHOWN]


RUN = [block for block in chosen("sh") if unshown(block)]


@pytest.mark.parametrize("block", RUN, ids=str)
def test_commands_run(block: Block, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for line in unshown(block):
        words = shlex.split(line)[1:]
        quick = ["--no-pictures"] if words[0] in {"check", "compare"} else []
        quick += ["--quick"] if words[0] == "check" and "--quick" not in words else []
        assert main([*words, *quick]) == 0, line
        assert capsys.readouterr().out.strip()


PARTS = sorted((ROOT / "meshes").glob("*.toml"))


@pytest.mark.parametrize("path", PARTS, ids=lambda path: path.stem)
def test_commands_in_the_parts_own_comments_run(path: Path, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = re.findall(r"^#     (fesolve check .*)$", path.read_text(encoding="utf-8"), re.M)
    assert lines and lines[0] == f"fesolve check meshes/{path.name}"
    for line in (line for line in lines if line not in SHOWN):
        assert main([*shlex.split(line)[1:], "--quiet", "--quick", "--no-pictures"]) == 0, line
        assert capsys.readouterr().out.count("\n") == 1


def skeleton(text: str) -> tuple[str, list[float]]:
    """Text with its blanks evened out and its numbers taken out, and the numbers."""
    even = " ".join(text.split())
    return NUMBER.sub("#", even), [float(number.replace(",", "")) for number in NUMBER.findall(even)]


def same_number(printed: float, shown: float) -> bool:
    return math.isclose(printed, shown, rel_tol=OUTPUT_TOLERANCE, abs_tol=0.5 if abs(shown) >= 1.0 else 0.05)


@pytest.mark.parametrize("command", SHOWN)
def test_output_is_what_the_command_prints(command: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = shlex.split(command)[1:]
    words += ["--no-pictures"] if words[0] in {"check", "compare"} else []
    words += ["--no-cures"] if words[0] == "check" else []  # twice as long as all the rest: tests/test_curing.py
    assert main(words) == 0
    printed = capsys.readouterr().out
    for block in SHOWN[command]:
        if words[0] == "check":  # the sentences; tables come after
            assert_same(printed.partition("\n\n")[0], block.text.partition("\nCures ")[0])
        else:
            assert_same(printed, block.text)


def assert_same(printed: str, shown: str) -> None:
    (printed_text, printed_numbers), (shown_text, shown_numbers) = skeleton(printed), skeleton(shown)
    assert printed_text == shown_text
    pairs = zip(printed_numbers, shown_numbers, strict=True)
    assert [pair for pair in pairs if not same_number(*pair)] == []


# ---- verdict.json


def keys_of(value: object) -> Iterator[str]:
    """Every key of a JSON document, except those that are data (kinds of units)."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield key
            if key != "units":
                yield from keys_of(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from keys_of(inner)


def test_keys_of_verdict_json_and_of_docs_are_the_same() -> None:
    stub = read_part(ROOT / "meshes" / "bench_stub.toml")
    dried = stub.cases[0].model_copy(update={"factors": {**stub.cases[0].factors, "moisture": -2.0}})
    full = [analysis.check(part, cures=False).verdict for part in (stub, read_part(ROOT / "meshes" / "log_stop.toml"))]
    verdicts = [*full, check(stub.model_copy(update={"cases": (dried,)})).verdict]
    row = CureRow("a", "grain", {}, 1.0, None, 1.0, 1.0, 1.0, True, "", "", None)
    verdicts.append(replace(verdicts[0], cures=Cures(1.5, (row,), (LookedRow("a", "grain", {}, None),), (), ())))
    written = {key for verdict in verdicts for key in keys_of(json.loads(verdict_json(verdict)))}
    assert written - set(re.findall(r"`(\w+)`", read("docs/verdict.md"))) == set()
    section = read("docs/verdict.md").partition("## verdict.json")[2]
    first_column = re.findall(r"^\| ((?:`\w+`(?:, )?)+) \|", section, re.M)
    told = {name for cell in first_column for name in re.findall(r"`(\w+)`", cell)}
    for paragraph in section.split("### ")[1:]:
        told |= set(re.findall(r"`(\w+)`", paragraph)) - MODES
    assert told - written - {"null"} == set()


# ---- Python


@pytest.mark.parametrize("page", [page for page in PAGES if any(b.language == "python" for b in blocks(page))])
def test_python_runs(page: str, folder: Path) -> None:
    namespace: dict[str, Any] = {}
    for block in blocks(page):
        if block.language == "python":
            exec(compile(block.text, f"{page}, block {block.number}", "exec"), namespace)


# ---- links


@pytest.mark.parametrize("page", PAGES)
def test_links_lead_somewhere(page: str) -> None:
    here = (ROOT / page).parent
    for link in links(page):
        if link.startswith("https://"):
            continue
        target, _, anchor = link.partition("#")
        path = (here / target).resolve() if target else ROOT / page
        assert path.exists(), link
        if anchor:
            assert anchor in anchors(path.relative_to(ROOT).as_posix()), link


def test_every_page_of_docs_is_linked_from_the_readme() -> None:
    linked = {link.partition("#")[0] for link in links("README.md")}
    assert {page for page in PAGES if page.startswith("docs/")} | {"DEVELOPERS.md", "LICENSE"} <= linked


def test_pictures_are_small() -> None:
    for picture in (ROOT / "docs").glob("*.png"):
        assert picture.stat().st_size < 200_000, picture.name


# ---- the numbers of docs/examples.md


def example_rows() -> list[list[str]]:
    """Rows of the table below ``<!-- numbers: ... -->``: part, mode, place, low, best, high, hand, ratio."""
    table = read("docs/examples.md").partition("<!-- numbers: takes in kN -->")[2].strip().split("\n\n")[0]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in table.splitlines()[2:]]
    return [[re.sub(r"\[(\w+)\].*", r"\1", row[0]), *row[1:]] for row in rows]


def test_all_parts_are_worked() -> None:
    struck = {"log_stop"}  # its hand check, of energy and force, stands in its text
    again = {"drawbar_mesh"}  # the drawbar on a given mesh: docs/meshes-of-others.md
    assert {row[0] for row in example_rows()} | struck | again == {path.stem for path in PARTS}


@pytest.mark.parametrize("row", example_rows(), ids=lambda row: row[0])
def test_examples_give_the_numbers_in_docs(row: list[str]) -> None:
    """Mode and place as told, loads within 5 %: gmsh versions mesh a little differently."""
    part, mode, place, low, best, high, hand, ratio = row
    verdict = check(read_part(ROOT / "meshes" / f"{part}.toml")).verdict
    assert verdict.governing is not None
    assert verdict.governing.mode == mode
    assert verdict.governing.measured_from is not None
    assert verdict.governing.measured_from.name == place
    takes = [value and value / 1000 for value in (verdict.takes.low, verdict.takes.best, verdict.takes.high)]
    assert takes == pytest.approx([float(low), float(best), float(high)], rel=0.05)
    assert float(hand) / float(low) == pytest.approx(float(ratio), abs=0.01)
    assert 0.7 <= float(ratio) <= 1.3


SAID = [  # part, what is changed, words of docs/examples.md, low in kN
    ("drawbar", {"notch_depth": "12 mm"}, "with low toughness rises from 9.5 to 14.2 kN", 14.2),
    ("pump_lever", {"pivot_height": "depth/2"}, "with low toughness falls from 2.1 to 1.9 kN", 1.9),
    ("bracket", {"grain": "10 deg"}, "it takes 22 kN instead of 6.8", 22.0),
    ("web_beam", {"web_t": "90 mm"}, "takes 108 kN instead of 47", 108.0),
]


@pytest.mark.parametrize(("part", "changes", "words", "low"), SAID, ids=[said[0] for said in SAID])
def test_a_change_does_what_the_examples_say(part: str, changes: dict[str, str], words: str, low: float) -> None:
    assert words in " ".join(read("docs/examples.md").split())
    found = check(read_part(ROOT / "meshes" / f"{part}.toml", changes)).verdict.takes.low
    assert found == pytest.approx(1000 * low, rel=0.05)


HIGH = [  # part, its high energies in J/m2, mode and load in kN there, words of docs/examples.md
    ("pile_stop", (250, 800), "splitting", 19.1, "which then splits towards the foot, at 19 kN"),
    ("drawbar", (350, 1050), "splitting", 13.3, "and its longer curve says 13.3 kN"),
    ("pump_lever", (350, 1050), "combined", 2.56, 'High is again "combined"'),
]


@pytest.mark.parametrize(("part", "energies", "mode", "load", "words"), HIGH, ids=[high[0] for high in HIGH])
def test_the_high_end_is_what_the_examples_say(
    part: str, energies: tuple[int, int], mode: str, load: float, words: str
) -> None:
    assert words in " ".join(read("docs/examples.md").split())
    names = ("wood.fracture.G_Ic", "wood.fracture.G_IIc")
    changes = {name: f"{energy} J/m^2" for name, energy in zip(names, energies, strict=True)}
    verdict = check(read_part(ROOT / "meshes" / f"{part}.toml", changes)).verdict
    assert verdict.governing is not None
    assert verdict.governing.mode == mode
    assert verdict.takes.low == verdict.takes.high == pytest.approx(1000 * load, rel=0.05)


def test_stresses_told_in_the_examples() -> None:
    text = " ".join(read("docs/examples.md").split())
    stub, arm = (check(read_part(ROOT / "meshes" / f"{part}.toml")).solution for part in ("bench_stub", "bracket"))
    assert "beam theory gives 4 MPa there, the mesh 15" in text
    moment = 12_500 * (50 - 12.5)  # N mm, statics at mid-span: half the load times the way between the resultants
    assert moment / (89**3 / 6) == pytest.approx(4, rel=0.01)
    assert stub.stress_at(np.array([[65.0, 0.2]]))[0, 0] == pytest.approx(15, rel=0.06)
    assert "the mesh finds 1.3 MPa at the edge near it" in text
    assert arm.stress_at(np.array([[5.0, 139.98]]))[0, 0] == pytest.approx(1.3, rel=0.05)


@pytest.mark.slow
@pytest.mark.parametrize("part", [row[0] for row in example_rows()])
def test_much_finer_elements_change_what_is_taken_by_less_than_one_percent(part: str) -> None:
    """As docs/theory.md says: elements of 0.35 of the sizes that a check begins with, against the check itself."""
    result = check(read_part(ROOT / "meshes" / f"{part}.toml"), splits=False)  # the mean stress on both
    mesh = mesh_part(result.part, result.outline, scale=0.35)
    solution = model_of(result.part, mesh, result.wood).solve([case.factors for case in result.part.cases])
    finer = assess(inspect_part(result.part, result.outline, result.wood, solution)).verdict.takes
    found = result.verdict.takes
    assert [found.low, found.best, found.high] == pytest.approx([finer.low, finer.best, finer.high], rel=0.01)
