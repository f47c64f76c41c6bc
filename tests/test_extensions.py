"""What other packages plug in: an installed one used for real, and every way in which one cannot be used."""

from __future__ import annotations

import dataclasses
import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from docs_text import ROOT, blocks
from plugged import plugged, point

import fesolve
from fesolve import extensions
from fesolve.cli import main
from fesolve.errors import ExtensionError, InputError, SolveError
from fesolve.wood import tables
from fesolve.wood.search import find_woods
from meshes import rectangle

PACKAGE = ROOT / "tests" / "example_package"

# European ash as an Eurasian handbook has it, rounded; from memory, nothing here rests on its figures
ASH: dict[str, Any] = {
    "species": "Ash, European", "group": "hardwood", "density_kg_m3": 690, "E_L_MPa": 13_400, "MOR_kPa": 115_000,
    "comp_parallel_kPa": 52_000, "comp_perp_kPa": 10_500, "shear_parallel_kPa": 12_800, "tension_perp_kPa": 7_000,
    "E_T/E_L": 0.05, "G_LT/E_L": 0.06, "nu_LT": 0.5, "source": "a handbook", "status": "from memory",
}  # fmt: skip


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder into which pip has installed the example package, from a copy and without a network."""
    folder = tmp_path_factory.mktemp("extension")
    source, target = folder / "source", folder / "site"
    shutil.copytree(PACKAGE, source)
    pip = [sys.executable, "-m", "pip", "install", "--quiet", "--no-index", "--no-deps", "--no-build-isolation"]
    done = subprocess.run([*pip, "--target", str(target), str(source)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return target


def run(site: Path, folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """The command line in a process of its own that has the package."""
    path = os.pathsep.join([str(site), str(ROOT), os.environ.get("PYTHONPATH", "")]).rstrip(os.pathsep)
    return subprocess.run(
        [sys.executable, "-m", "fesolve", *words],
        cwd=folder, capture_output=True, text=True, check=False, env={**os.environ, "PYTHONPATH": path},
    )  # fmt: skip


def refused(monkeypatch: pytest.MonkeyPatch, message: str, **groups: Any) -> None:
    """Joining the woods fails with a message, and nothing is added."""
    with plugged(monkeypatch, **groups):
        with pytest.raises(ExtensionError, match=message) as raised:
            extensions.join_woods()
        assert raised.value.exit_code == 3
        assert len(tables.species()) == 83


# ---- woods


def test_an_installed_package_brings_a_wood(site: Path, tmp_path: Path) -> None:
    listed = run(site, tmp_path, "woods", "norway").stdout
    assert "Spruce, Norway (species, softwood, from package fesolve-yard 0.3)" in listed
    assert re.search(r"shear along the grain +6\.7 MPa", listed)  # 6700 kPa in its table
    assert "from package fesolve-yard 0.3" not in run(site, tmp_path, "woods", "sitka").stdout
    text = (ROOT / "meshes" / "bench_stub.toml").read_text(encoding="utf-8")
    part = re.sub(r"(?m)^species = .*$", 'species = "spruce,  NORWAY"', text)
    (tmp_path / "stub.toml").write_text(part, encoding="utf-8")
    done = run(site, tmp_path, "check", "stub.toml", "--quick", "--no-pictures")
    assert done.returncode == 0, done.stderr
    assert re.search(r'From other packages\n- wood "Spruce, Norway": fesolve-yard 0\.3\n', done.stdout)
    verdict = json.loads((tmp_path / "stub.results" / "verdict.json").read_text(encoding="utf-8"))
    assert {"kind": "wood", "name": "Spruce, Norway", "package": "fesolve-yard", "version": "0.3"} in (
        verdict["extensions"]
    )
    assert any("fesolve-yard 0.3" in row["source"] for row in verdict["allowables"])


def test_a_wood_that_is_not_used_is_not_named(monkeypatch: pytest.MonkeyPatch) -> None:
    part = fesolve.read_part(ROOT / "meshes" / "bench_stub.toml")
    with plugged(monkeypatch, wood=[point("ash", lambda: [ASH])]):
        assert fesolve.check(part, sure=False).verdict.extensions == ()


def test_a_brought_wood_is_judged_as_its_row_says(monkeypatch: pytest.MonkeyPatch) -> None:
    """E_90 = 0.05 x 13 400, G = 0.06 x 13 400; strengths in kPa."""
    with plugged(monkeypatch, wood=[point("ash", lambda: [ASH])]):
        wood = fesolve.make_wood(species="ash, european", face="flat-sawn", basis="mean")
    constants = [wood.plane.E_0, wood.plane.E_90, wood.plane.G]
    assert constants == pytest.approx([13_400, 670, 804])
    assert {name: one.value for name, one in wood.strengths.items()} == pytest.approx(
        {"shear": 12.8, "tension_across": 7, "compression_across": 10.5, "tension_along": 115, "compression_along": 52}
    )
    assert wood.density == pytest.approx(690e-12)
    assert wood.elastic_source.startswith("E_0 at 12 % moisture, a handbook (package yard-a 1.0)")


def test_energies_and_shrinkage_of_a_brought_wood(monkeypatch: pytest.MonkeyPatch) -> None:
    """C = (S/30)/(1 - S (30 - 10)/30) with S = 7 %, the handbook's line (see fesolve.wood.shrinkage)."""
    row = {**ASH, "G_Ic_TL_J_m2": "300", "G_IIc_TL_J_m2": 1100, "radial_percent": 4, "tangential_percent": 7}
    with plugged(monkeypatch, wood=[point("ash", [row])]):
        wood = fesolve.make_wood(species="Ash, European", face="flat-sawn", basis="mean")
    assert (wood.fracture.G_Ic[0], wood.fracture.G_IIc[0]) == pytest.approx((0.3, 1.1))
    assert wood.shrinkage is not None
    assert wood.shrinkage.across == pytest.approx(0.07 / 30 / (1 - 0.07 * 20 / 30))


def test_medians_of_the_tables_do_not_change_with_what_is_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: dict[str, Any] = {"species": "Alder, red", "basis": "mean", "face": "flat-sawn", "moisture": 20.0}
    asked["elastic"] = {"E_90": 600.0, "G": 700.0, "nu_0_90": 0.4}
    alone = fesolve.make_wood(**asked)
    row = {**ASH, "radial_percent": 20, "tangential_percent": 25}
    with plugged(monkeypatch, wood=[point("ash", [row])]):
        assert fesolve.make_wood(**asked) == alone


def test_woods_are_listed_with_their_package(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with plugged(monkeypatch, wood=[point("ash", [ASH])]):
        assert main(["woods"]) == 0
        (row,) = find_woods("european")
    listed = capsys.readouterr().out
    assert re.search(r"\nAsh, European +species +hardwood +flat-sawn", listed)
    assert "\nFrom other packages\n- Ash, European: yard-a 1.0\n" in listed
    assert row.package == "yard-a 1.0" and row.faces == ("flat-sawn",)


def test_two_packages_with_one_name_are_both_named(monkeypatch: pytest.MonkeyPatch) -> None:
    both = [point("ash", [ASH], "yard-a"), point("ash", [ASH], "yard-b", "2.0")]
    refused(monkeypatch, r'the wood entry "ash" \(fesolve.woods\): yard-a 1.0 and yard-b 2.0', wood=both)
    again = {**ASH, "species": "ash,  EUROPEAN"}
    both = [point("one", [ASH], "yard-a"), point("two", [again], "yard-b", "2.0")]
    refused(monkeypatch, 'Two packages offer the species "ash,  EUROPEAN": yard-a 1.0 and yard-b 2.0', wood=both)


def no_rows() -> list[dict[str, Any]]:
    raise ValueError("the scales are broken")


def ends() -> None:
    raise SystemExit(1)


BROKEN_WOODS = [
    (ModuleNotFoundError("No module named 'scales'"), r"cannot be loaded \(ModuleNotFoundError: No module named 'sc"),
    (SystemExit(1), r"cannot be loaded \(SystemExit: 1\)"),
    (ends, r"rows cannot be had \(SystemExit: 1\)"),
    (no_rows, r"rows cannot be had \(ValueError: the scales are broken\)"),
    (7, "gives int; a list of rows is wanted"),
    ({"species": "Ash, European"}, "gives dict; a list of rows is wanted"),
    ("woods.csv", "gives str; a list of rows is wanted"),
    ([], "gives no rows"),
    (["Ash"], "Row 1 is str; give a mapping"),
    ([ASH, ASH], r'Row 2 \("Ash, European"\): this species is there twice'),
    ([{**ASH, "species": "Douglas-fir,  COAST"}], r"Row 1 .*: this species is in fesolve's own tables"),
]


@pytest.mark.parametrize(("value", "message"), BROKEN_WOODS, ids=[message[:24] for _, message in BROKEN_WOODS])
def test_a_broken_package_is_named(value: Any, message: str, monkeypatch: pytest.MonkeyPatch) -> None:
    head, tail = r'^Package yard-a 1\.0 \(fesolve\.woods: "ash"\): .*', r".* pip uninstall yard-a$"
    refused(monkeypatch, head + message + tail, wood=[point("ash", value)])


BAD_ROWS = [
    ({"shear_parallel_kPa": None}, "shear_parallel_kPa is missing; a wood has to be complete"),
    ({"source": " "}, "source is missing"),
    ({"group": "palm"}, 'group = "palm"; allowed: softwood, hardwood'),
    ({"status": "sure"}, 'status = "sure"; allowed: read, measured, computed here, from memory'),
    ({"shear": 12.8}, 'column "shear" is not known. Columns: species, group'),
    (
        {"shear_parallel_kPa": 12.8},
        "shear_parallel_kPa = 12.8 is not between 500 and 80000, where wood is; look",
    ),
    ({"E_L_MPa": "about 13"}, 'E_L_MPa = "about 13" is not a finite number'),
    ({"MOR_kPa": float("nan")}, 'MOR_kPa = "nan" is not a finite number'),
    ({"nu_LT": None}, r"nu_LT is missing beside E_T/E_L, G_LT/E_L"),
    ({"E_T/E_L": "", "G_LT/E_L": "", "nu_LT": ""}, "no elastic ratios; give E_T/E_L, G_LT/E_L, nu_LT .flat-sawn. or"),
    ({"nu_LT": 4.6}, r"the flat-sawn face cannot be \(E_T/E_L = 0.05, G_LT/E_L = 0.06, nu_LT = 4.6\): "),
    ({"radial_percent": 4}, "tangential_percent is missing beside radial_percent"),
]  # sqrt(E_0/E_90) = sqrt(20) = 4.47 is the most that nu_LT may be


@pytest.mark.parametrize(("change", "message"), BAD_ROWS, ids=[next(iter(change)) for change, _ in BAD_ROWS])
def test_a_bad_row_is_named_with_its_value(
    change: dict[str, Any], message: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    rows = [{**ASH, "species": "Ash, good"}, {**ASH, **change}]
    refused(monkeypatch, rf'yard-a 1\.0 .*Row 2 \("Ash, European"\): {message}', wood=[point("ash", rows)])


def test_a_broken_package_is_one_message_of_the_command_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with plugged(monkeypatch, wood=[point("ash", ImportError("no scales"))]):
        for words in (["woods"], ["check", str(ROOT / "meshes" / "bench_stub.toml"), "--out", "nowhere"]):
            assert main(words) == 3
            said = capsys.readouterr()
            assert said.out == "" and said.err.count("\n") == 1 and "yard-a 1.0" in said.err
    assert not Path("nowhere").exists()


# ---- solvers


def stub(**mesh: Any) -> fesolve.Part:
    """The bench stub with keys in [mesh]."""
    document = tomllib.loads((ROOT / "meshes" / "bench_stub.toml").read_text(encoding="utf-8"))
    return fesolve.part_from({**document, "mesh": {**document.get("mesh", {}), **mesh}})


def dense(matrix: Any) -> Any:
    """A solver by numpy, for small matrices."""
    return partial(np.linalg.solve, matrix.toarray())


def conjugate_gradients(matrix: Any) -> Any:
    from scipy.sparse import diags_array
    from scipy.sparse.linalg import cg

    scale = diags_array(1.0 / matrix.diagonal())

    def solve(right: Any) -> Any:
        columns = [cg(matrix, column, rtol=1e-13, maxiter=50_000, M=scale)[0] for column in right.T]
        return np.stack(columns, axis=1)

    return solve


def test_an_installed_solver_gives_the_same_verdict(site: Path, tmp_path: Path) -> None:
    text = (ROOT / "meshes" / "bench_stub.toml").read_text(encoding="utf-8") + "\n[mesh]\nrefine_limit = 1\n"
    (tmp_path / "stub.toml").write_text(text + 'solver = "yard-lu"\n', encoding="utf-8")
    done = run(site, tmp_path, "check", "stub.toml", "--quick", "--no-pictures")
    assert done.returncode == 0, done.stderr
    assert '\n- solver "yard-lu": fesolve-yard 0.3\n' in done.stdout
    verdict = json.loads((tmp_path / "stub.results" / "verdict.json").read_text(encoding="utf-8"))
    assert verdict["extensions"] == [{"kind": "solver", "name": "yard-lu", "package": "fesolve-yard", "version": "0.3"}]
    own = fesolve.check(stub(refine_limit=1), sure=False).verdict
    assert verdict["takes"]["low"] == pytest.approx(own.takes.low, rel=1e-8)
    assert verdict["equilibrium"] < 1e-9


def test_a_solver_is_called_with_the_whole_matrix(monkeypatch: pytest.MonkeyPatch) -> None:
    """An iterative solver of a general-purpose library in its place: the same displacements to its tolerance."""
    seen = []

    def watched(matrix: Any) -> Any:
        seen.append(matrix)
        return conjugate_gradients(matrix)

    mesh = rectangle("triangle6")
    model = fesolve.PlaneModel(mesh, fesolve.OrthotropicPlane(12_000, 600, 780, 0.4), thickness=20, grain=30)
    held = model.fix("left").traction("right", (1.0, 0.5))
    with plugged(monkeypatch, solver=[point("cg", watched)]):
        other = dataclasses.replace(held, solver=extensions.solver_of("cg")).solve()
    matrix = seen[-1]
    assert matrix.shape == (2 * len(mesh.points),) * 2 and abs(matrix - matrix.T).max() <= 1e-12 * abs(matrix).max()
    assert np.abs(other.displacement - held.solve().displacement).max() < 1e-9 * np.abs(other.displacement).max()


def raises(_: Any) -> Any:
    raise MemoryError("no room")


def wrong_when_large(matrix: Any) -> Any:
    """Right for the small matrix that solvers are tried on; half the answer for all others."""
    solve = conjugate_gradients(matrix)
    return solve if matrix.shape[0] < 10 else lambda right: 0.5 * solve(right)


def fails_when_large(matrix: Any) -> Any:
    return dense(matrix) if matrix.shape[0] < 10 else raises(matrix)


BROKEN_SOLVERS = [
    (7, ExtensionError, r"it gives int; a function of a matrix is wanted"),
    (ImportError("no lu"), ExtensionError, r"it cannot be loaded \(ImportError: no lu\)"),
    (raises, ExtensionError, r"tried on a small matrix: .* cannot factorise \(MemoryError: no room\)"),
    (lambda _: 1, ExtensionError, "gives int for a matrix; a function is wanted"),
    (lambda _: ends, ExtensionError, r"cannot solve \(TypeError"),
    (lambda _: lambda right: right[:, 0], ExtensionError, r"answers with shape \(6,\); \(6, 2\) was asked for"),
    (lambda _: lambda right: right * np.nan, ExtensionError, "answers with values that are not finite"),
    (lambda _: lambda right: right, ExtensionError, "it answers wrongly for a small matrix"),
    (fails_when_large, SolveError, r'Solver "lu" of package yard-a 1\.0 cannot factorise \(MemoryError: no room\)'),
    (
        wrong_when_large,
        SolveError,
        r'Solver "lu" of package yard-a 1\.0 answers with a residual of .*its answer is not',
    ),
]


@pytest.mark.parametrize(("value", "kind", "message"), BROKEN_SOLVERS, ids=[row[2][:28] for row in BROKEN_SOLVERS])
def test_a_solver_that_fails_is_refused(
    value: Any, kind: type[Exception], message: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    head = "" if kind is SolveError else r'^Package yard-a 1\.0 \(fesolve\.solvers: "lu"\): .*'
    with plugged(monkeypatch, solver=[point("lu", value)]), pytest.raises(kind, match=head + message):
        fesolve.check(stub(solver="lu", size="20 mm"), sure=False)


def test_a_solver_that_nobody_offers_is_told_before_anything_is_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    said: list[str] = []
    wanted = r'Solver "mumps" is not there\. Solvers: cg, lu\. .*\(mesh\.solver\)'
    two = [point("lu", dense), point("cg", dense)]
    with plugged(monkeypatch, solver=two), pytest.raises(InputError, match=wanted):
        fesolve.check(stub(solver="mumps"), said.append)
    with plugged(monkeypatch), pytest.raises(InputError, match="No installed package offers one"):
        fesolve.check(stub(solver="mumps"), said.append)
    assert said == []


def test_two_packages_with_one_solver_are_both_named(monkeypatch: pytest.MonkeyPatch) -> None:
    both = [point("lu", dense, "yard-a"), point("lu", dense, "yard-b", "2.0")]
    with plugged(monkeypatch, solver=both), pytest.raises(ExtensionError, match=r"yard-a 1\.0 and yard-b 2\.0"):
        fesolve.check(stub(solver="lu"))


# ---- docs/extensions.md


def test_docs_show_the_example_package_as_it_is() -> None:
    shown = {block.text for block in blocks("docs/extensions.md")}
    texts = [
        path.read_text(encoding="utf-8") for path in PACKAGE.rglob("*.*") if path.suffix in {".toml", ".py", ".csv"}
    ]
    assert len(texts) >= 3
    for text in texts:
        assert re.sub(r"\A# .*\n", "", text) in shown
