"""The project as a whole: start-up, the README's commands and CI, the top level, words, docstrings, the wheel."""

from __future__ import annotations

import ast
import inspect
import pkgutil
import re
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest
from docs_text import PAGES, ROOT, marked, read

import fesolve

HEAVY = ("gmsh", "vtk", "vtkmodules", "scipy", "matplotlib", "meshio", "pyvista", "cvxopt", "pint", "pydantic", "rich")
TOP_LEVEL = {
    *("README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", ".gitignore", ".ci"),
    *("fesolve", "meshes", "tests", "benchmarks", "docs"),
}


def files() -> list[Path]:
    """Every file of the project; in a checkout those that git knows, otherwise all that are not made by tools."""
    if (ROOT / ".git").exists() and shutil.which("git"):
        known = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True)
        names = [ROOT / name for name in known.stdout.decode().split("\0") if name]
        return [path for path in names if path.exists()]
    made = re.compile(
        r"(^|/)(\.venv|build|dist|__pycache__|\.[a-z_]+_cache|\.hypothesis|\.benchmarks)(/|$)|\.egg-info/"
    )
    found = (path for path in ROOT.rglob("*") if path.is_file())
    return [
        path for path in found if not made.search(path.relative_to(ROOT).as_posix()) and ".results" not in str(path)
    ]


# ---- start-up


def test_import_loads_nothing_heavy() -> None:
    code = f"import sys, fesolve; print([name for name in {HEAVY} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_every_public_name_is_there() -> None:
    for name in fesolve.__all__:
        assert getattr(fesolve, name).__doc__
    with pytest.raises(AttributeError, match="module 'fesolve' has no attribute 'nothing'"):
        _ = fesolve.nothing  # type: ignore[attr-defined]


# ---- README and CI


def test_the_readme_has_two_commands_of_one_line_each() -> None:
    install, tests = marked("README.md", "install"), marked("README.md", "tests")
    assert "\n" not in install
    assert "fesolve check meshes/log_stop.toml" in install
    assert tests == ".venv/bin/pip install -e '.[test]' && .venv/bin/python -m pytest"


def test_ci_installs_the_packages_that_the_readme_names() -> None:
    wanted = re.search(r"apt-get install -y ([\w\- ]+) &&", marked("README.md", "install"))
    listed = re.search(r"^packages=\(([^)]+)\)$", read(".ci/run"), re.M)
    assert wanted and listed
    assert set(listed[1].split()) == set(wanted[1].split())


@pytest.mark.skipif(shutil.which("bash") is None, reason="bash is not there")
def test_ci_runs_the_readme_s_test_command() -> None:
    function = re.search(r"^readme_command\(\) \{\n.*?^\}$", read(".ci/run"), re.M | re.S)
    assert function
    code = f"work=/somewhere\n{function[0]}\nreadme_command tests"
    done = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == marked("README.md", "tests").replace(".venv/", "/somewhere/venv/")
    assert "readme_command tests" in read(".ci/run").partition("readme_command() {")[2]


def test_ci_can_be_run() -> None:
    assert (ROOT / ".ci" / "run").stat().st_mode & 0o111


def test_readme_begins_with_one_paragraph() -> None:
    title, first, heading = read("README.md").split("\n\n")[:3]
    assert title == "# fesolve"
    assert first.startswith("fesolve ") and heading.startswith("## ")


# ---- what is in the project


def test_top_level() -> None:
    assert {path.relative_to(ROOT).parts[0] for path in files()} <= TOP_LEVEL
    for name in TOP_LEVEL - {"benchmarks"}:
        assert (ROOT / name).exists(), name


def text_files() -> Iterator[tuple[Path, str]]:
    for path in files():
        if path.suffix in {".md", ".py", ".toml", ".csv", ".cfg", ".txt", ".json"} or path.parent.name == ".ci":
            yield path.relative_to(ROOT), path.read_text(encoding="utf-8")


# pieces are joined here so that this file does not hold what it looks for
FORBIDDEN = [
    r"(?<![\w.])/" + r"(work|root|home|Users)/",
    r"(?<![\w.])/" + r"tmp/",
    r"\bpypi" + r"\.",
    r"files\.python" + r"hosted",
    r"index" + r"-url",
    r"127\.0\.0" + r"\.1",
    r"\bissue #" + r"\d",
    r"\bAs an " + r"AI\b",
    r"\b[Cc]hat" + r"GPT\b|\bClau" + r"de\b|\bCo" + r"pilot\b",
    r"\b(TO" + r"DO|FIX" + r"ME|XX" + r"X)\b",
]


@pytest.mark.parametrize("pattern", FORBIDDEN)
def test_forbidden_words(pattern: str) -> None:
    found = [f"{path}: {match[0]}" for path, text in text_files() if (match := re.search(pattern, text))]
    assert found == []


def test_every_module_stands_in_a_known_room() -> None:
    rooms = {path.parts[1] for path, _ in text_files() if path.parts[0] == "fesolve"}
    files_at_top = {
        "__init__.py",
        "__main__.py",
        "bases.py",
        "errors.py",
        "extensions.py",
        "units.py",
        "modelling.py",
        "notebook.py",
        "otherwise.py",
        "certainty.py",
        "curing.py",
        "cracking.py",
        "analysis.py",
        "plugin.py",
        "cli.py",
    }
    assert rooms - files_at_top <= {
        "drawing",
        "part",
        "wood",
        "mesh",
        "fem",
        "judge",
        "repair",
        "view",
        "explore",
        "on_grid",
    }


def test_developers_names_every_room() -> None:
    for room in (ROOT / "fesolve").iterdir():
        if room.is_dir() and (room / "__init__.py").exists():
            assert f"`{room.name}/`" in read("DEVELOPERS.md")


# ---- docstrings and size of functions


def modules() -> list[str]:
    return [name for _, name, _ in pkgutil.walk_packages(fesolve.__path__, "fesolve.") if not name.endswith("__main__")]


@pytest.mark.parametrize("name", modules())
def test_public_things_have_docstrings(name: str) -> None:
    module = import_module(name)
    assert (module.__doc__ or "").strip()
    for label, thing in vars(module).items():
        if label.startswith("_") or getattr(thing, "__module__", None) != name:
            continue
        if inspect.isfunction(thing) or inspect.isclass(thing):
            assert (thing.__doc__ or "").strip(), f"{name}.{label}"
        if inspect.isclass(thing):
            for method, value in vars(thing).items():
                plain = value.fget if isinstance(value, property) else value
                if not method.startswith("_") and inspect.isfunction(plain):
                    assert (plain.__doc__ or "").strip() or "model_" in method, f"{name}.{label}.{method}"


@pytest.mark.parametrize("path", sorted((ROOT / "fesolve").rglob("*.py")), ids=lambda path: path.stem)
def test_no_function_is_longer_than_fifty_lines(path: Path) -> None:
    """Lines of code, docstring left out."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef):
            body = node.body[1:] if ast.get_docstring(node) else node.body
            lines = (node.end_lineno or 0) - body[0].lineno + 1 if body else 0
            assert lines <= 50, f"{path.name}: {node.name} has {lines} lines"


# ---- the wheel


@pytest.mark.slow
def test_the_wheel_holds_the_tables(tmp_path: Path) -> None:
    source = tmp_path / "source"
    for path in files():
        target = source / path.relative_to(ROOT)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, target)
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(tmp_path), str(source)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode != 0 and "No matching distribution found for setuptools" in done.stderr:
        pytest.skip("no package index can be reached for setuptools")
    assert done.returncode == 0, done.stderr
    (wheel,) = tmp_path.glob("fesolve-*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    tables = {path.relative_to(ROOT).as_posix() for path in files() if path.suffix == ".csv" and "tables" in path.parts}
    assert tables and tables <= set(names)
    assert "fesolve/py.typed" in names
    assert not [name for name in names if name.startswith(("tests/", "docs/", "meshes/", "benchmarks/"))]
    assert any(name.endswith("licenses/LICENSE") for name in names)


def test_pages_exist() -> None:
    assert len(PAGES) >= 8
