"""What other packages plug in: an installed one used for real, and every way in which one cannot be used."""

from __future__ import annotations

import csv
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
import parts
import pytest
import pyvista
from docs_text import ROOT, blocks
from plugged import plugged, point

import fesolve
from fesolve import extensions
from fesolve.cli import main
from fesolve.errors import ExtensionError, InputError, SolveError
from fesolve.explore.evaluate import key
from fesolve.judge.lasting import Left
from fesolve.units import Formatter
from fesolve.view.words import story
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


@pytest.fixture(scope="session")
def used(site: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Path]:
    """What the command line prints for the bench stub of the package's wood, by its solver, and the results folder."""
    folder = tmp_path_factory.mktemp("used")
    text = (ROOT / "meshes" / "bench_stub.toml").read_text(encoding="utf-8")
    part = re.sub(r"(?m)^species = .*$", 'species = "spruce,  NORWAY"', text)
    (folder / "stub.toml").write_text(f'{part}\n[mesh]\nrefine_limit = 1\nsolver = "yard-lu"\n', encoding="utf-8")
    done = run(site, folder, "check", "stub.toml", "--quick", "--no-pictures")
    assert done.returncode == 0, done.stderr
    return done.stdout, folder / "stub.results"


@pytest.fixture(scope="session")
def written(used: tuple[str, Path]) -> dict[str, Any]:
    """Its verdict.json."""
    found: dict[str, Any] = json.loads((used[1] / "verdict.json").read_text(encoding="utf-8"))
    return found


def test_the_verdict_lists_what_was_used(used: tuple[str, Path], written: dict[str, Any]) -> None:
    brought = [("wood", "Spruce, Norway"), ("mode", "matrix tension"), ("solver", "yard-lu")]
    said = "".join(f'\n- {kind} "{name}": fesolve-yard 0.3' for kind, name in brought)
    assert f"\nFrom other packages{said}\n\n" in used[0]
    assert written["extensions"] == [
        {"kind": kind, "name": name, "package": "fesolve-yard", "version": "0.3"} for kind, name in brought
    ]


def test_an_installed_package_brings_a_wood(site: Path, tmp_path: Path, written: dict[str, Any]) -> None:
    listed = run(site, tmp_path, "woods", "spruce").stdout
    assert "Spruce, Norway (species, softwood, from package fesolve-yard 0.3)" in listed
    assert listed.count("from package fesolve-yard 0.3") == 1 and "Spruce, Sitka (species, softwood)" in listed
    assert re.search(r"shear along the grain +6\.7 MPa", listed)  # 6700 kPa in its table
    assert any("(package fesolve-yard 0.3)" in row["source"] for row in written["allowables"])


def test_a_wood_that_is_not_used_is_not_named(monkeypatch: pytest.MonkeyPatch) -> None:
    part = fesolve.part_from(parts.uniform((1.0, 0.1, 0.1)))
    with plugged(monkeypatch, wood=[point("ash", lambda: [ASH])]):
        assert fesolve.check(part, sure=False, splits=False).verdict.extensions == ()


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


# ---- failure modes


def opened_or_slid(stress: Any, strengths: Any, wood: Any) -> Any:
    """As the example package has it: Z. Hashin, J. Applied Mechanics 47 (1980) 329-334, matrix in tension."""
    return np.hypot(np.maximum(stress[:, 1], 0.0) / strengths["tension_across"], stress[:, 2] / strengths["shear"])


def test_an_installed_mode_stands_beside(used: tuple[str, Path], written: dict[str, Any]) -> None:
    """In verdict.json, field.vtu and the tables; its figure is the formula's on the means that it names."""
    assert re.search(r"\nmatrix tension +0\.\d+ +1 +0\.\d+ +no ", used[0])
    row = next(row for row in written["modes"] if row["mode"] == "matrix tension")
    strength = {one["mode"]: one["value"] for one in written["allowables"]}
    _, across, shear = row["means"]
    wanted = np.hypot(max(across, 0.0) / strength["tension across grain"], shear / strength["shear along grain"])
    assert row["utilisation"] == pytest.approx(wanted, rel=1e-9)
    assert any("fesolve has checked its form" in text for text in written["cautions"])
    grid = pyvista.read(used[1] / "field.vtu")
    assert grid["utilisation_matrix_tension"].max() > 0.5 * row["utilisation"]


def test_a_mode_of_others_in_a_uniform_field(monkeypatch: pytest.MonkeyPatch) -> None:
    """1.5 MPa across and 3 MPa shear against 2 and 8 MPa: sqrt(0.75^2 + 0.375^2) = 0.8385, whatever is averaged."""
    wanted = np.hypot(1.5 / 2.0, 3.0 / 8.0)
    mode = fesolve.Mode(opened_or_slid, decides=True)
    with plugged(monkeypatch, mode=[point("matrix_tension", mode), point("half", lambda *a: 0.5 * opened_or_slid(*a))]):
        result = parts.check(parts.uniform((5.0, 1.5, 3.0)))
    verdict = result.verdict
    uses = {row.mode: row for row in verdict.modes}
    assert uses["matrix tension"].utilisation == pytest.approx(wanted, rel=1e-6)
    assert uses["half"].utilisation == pytest.approx(0.5 * wanted, rel=1e-6) and not uses["half"].decides
    assert next(iter(result.utilisation.values()))["matrix tension"] == pytest.approx(wanted, rel=1e-6)
    assert verdict.governing is not None
    assert verdict.governing.load_factor == pytest.approx(1.0 / max(wanted, uses["splitting"].utilisation), rel=1e-6)


def test_a_mode_of_others_can_govern(monkeypatch: pytest.MonkeyPatch) -> None:
    """Shear alone, three times as bad as it is: the words, the error of the mesh, and the chance go by it."""
    mode = fesolve.Mode(lambda stress, strengths, wood: 3.0 * abs(stress[:, 2]) / strengths["shear"], decides=True)
    part = fesolve.part_from(parts.uniform((2.0, 0.4, 4.0)))
    with plugged(monkeypatch, mode=[point("timid-shear", mode, "yard-b", "2.1")]):
        verdict = fesolve.check(part, splits=False, cures=False).verdict
    assert verdict.governing is not None and verdict.governing.mode == "timid shear"
    assert verdict.governing.load_factor == pytest.approx(8.0 / (3.0 * 4.0), rel=1e-6)
    assert verdict.mesh.relative_error is not None
    lines = {line.label: line.text for line in story(verdict, Formatter("si"))}
    assert lines["Where"].startswith("Breaks, by timid shear, ")
    assert lines["Why"].startswith("By timid shear, a mode of yard-b 2.1, on the mean of a length of fibres: ")
    assert verdict.chance is not None
    assert {row.what: row.share for row in verdict.chance.scatter if "energy" not in row.what} == pytest.approx(
        {"shear along the grain": 1.0}
    )


def test_a_mode_of_others_scales_with_the_loads(monkeypatch: pytest.MonkeyPatch) -> None:
    mode = fesolve.Mode(opened_or_slid, decides=True)
    with plugged(monkeypatch, mode=[point("matrix_tension", mode)]):
        one, two = (parts.check(parts.uniform((f, 0.3 * f, 0.2 * f), grain=20.0)).verdict for f in (1.0, 2.0))
    rows = [next(row for row in verdict.modes if row.mode == "matrix tension") for verdict in (one, two)]
    assert rows[1].utilisation == pytest.approx(2.0 * rows[0].utilisation, rel=1e-9)


def test_repeats_wear_a_mode_of_others_by_the_lower_line() -> None:
    left = Left(repeats=1e5, along="bending")
    assert left.of("timid shear") == min(left.of("shear along grain"), left.of("tension along grain"))


def squared(stress: Any, strengths: Any, wood: Any) -> Any:
    return opened_or_slid(stress, strengths, wood) ** 2


def below(stress: Any, strengths: Any, wood: Any) -> Any:
    return stress[:, 1] / strengths["tension_across"]


def root(stress: Any, strengths: Any, wood: Any) -> Any:
    return np.sqrt(stress[:, 1] * stress[:, 2])


def crowded(stress: Any, strengths: Any, wood: Any) -> Any:
    return abs(stress[:, 2]) + abs(stress[0, 2])


def alone(stress: Any, strengths: Any, wood: Any) -> Any:
    return opened_or_slid(stress, strengths, wood).max()


def unknown(stress: Any, strengths: Any, wood: Any) -> Any:
    return stress[:, 2] / strengths["rolling"]


BROKEN_MODES = [
    ("odd", ImportError("no rings"), r"cannot be loaded \(ImportError: no rings\)"),
    ("odd", 7, "gives int; a fesolve.Mode or a function is wanted"),
    ("odd", fesolve.Mode(opened_or_slid, end="dents"), "end is 'dents' and decides False; breaks or crushes"),  # type: ignore[arg-type]
    ("odd", lambda stress: stress[:, 0], r"it fails \(TypeError: .*takes 1 positional argument but 3 were given"),
    ("odd", unknown, r"it fails \(KeyError: 'rolling'\)"),
    ("odd", alone, r"answers with shape \(\) for 30 stresses, not \(30,\)"),
    ("odd", root, r"answers nan for σ_0 = .* MPa; a utilisation is finite and not below 0"),
    ("odd", below, r"answers -\d.*; a utilisation is finite and not below 0"),
    ("odd", squared, r"does not grow as the stresses do\. Twice the stress has .*a root, of squares"),
    ("odd", crowded, "its answer for a stress depends on the others"),
    ("combined", opened_or_slid, '"combined" is a mode of fesolve itself'),
    ("shear_along-grain", opened_or_slid, '"shear along grain" is a mode of fesolve itself'),
    ("2nd: try", opened_or_slid, "the name of a mode is of letters a to z and digits"),
]


@pytest.mark.parametrize(("name", "value", "message"), BROKEN_MODES, ids=[row[2][:28] for row in BROKEN_MODES])
def test_a_mode_that_cannot_be_used_is_refused(
    name: str, value: Any, message: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    head, tail = rf'^Package yard-a 1\.0 \(fesolve\.modes: "{name}"\): .*', r".* pip uninstall yard-a$"
    with plugged(monkeypatch, mode=[point(name, value)]), pytest.raises(ExtensionError, match=head + message + tail):
        fesolve.check(stub())


def test_a_mode_that_fails_in_the_part_alone_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """It passes where it is tried out, with few stresses, and answers nothing for many."""
    odd = lambda stress, strengths, wood: np.where(len(stress) < 50, opened_or_slid(stress, strengths, wood), np.nan)  # noqa: E731
    with plugged(monkeypatch, mode=[point("odd", odd)]), pytest.raises(ExtensionError, match="it answers nan for σ_0"):
        fesolve.check(stub(), sure=False, splits=False)


def test_two_packages_with_one_mode_are_both_named(monkeypatch: pytest.MonkeyPatch) -> None:
    both = [point("odd-one", opened_or_slid, "yard-a"), point("odd_one", opened_or_slid, "yard-b", "2.0")]
    wanted = 'Two packages offer the failure mode "odd one": yard-a 1.0 and yard-b 2.0'
    with plugged(monkeypatch, mode=both), pytest.raises(ExtensionError, match=wanted):
        fesolve.check(stub())


# ---- solvers


def stub(*, species: str | None = None, **mesh: Any) -> fesolve.Part:
    """The bench stub with keys in [mesh]."""
    document = tomllib.loads((ROOT / "meshes" / "bench_stub.toml").read_text(encoding="utf-8"))
    wood = document["wood"] | ({} if species is None else {"species": species})
    return fesolve.part_from({**document, "wood": wood, "mesh": mesh})


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


def test_with_all_that_is_brought_the_verdict_is_the_same(
    written: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The package's row of wood, with the own solver and no further mode."""
    with (PACKAGE / "fesolve_yard" / "woods.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    with plugged(monkeypatch, wood=[point("yard", rows)]):
        own = fesolve.check(stub(refine_limit=1, species="Spruce, Norway"), sure=False, splits=False).verdict
    assert own.governing is not None and written["governing"]["mode"] == own.governing.mode
    assert written["takes"]["low"] == pytest.approx(own.takes.low, rel=1e-8)
    assert written["equilibrium"] < 1e-9


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
        fesolve.check(stub(solver="lu", size="20 mm"), sure=False, splits=False)


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


# ---- kept results


def test_a_variant_is_another_one_with_another_version_of_a_package(monkeypatch: pytest.MonkeyPatch) -> None:
    part, names = stub(), []
    for version in ("1.0", "1.0", "1.1"):
        with plugged(monkeypatch, mode=[point("odd", opened_or_slid, version=version)]):
            names.append(key(part, {}))
    assert names[0] == names[1] != names[2]


# ---- docs/extensions.md


def test_docs_show_the_example_package_as_it_is() -> None:
    shown = {block.text for block in blocks("docs/extensions.md")}
    texts = [
        path.read_text(encoding="utf-8") for path in PACKAGE.rglob("*.*") if path.suffix in {".toml", ".py", ".csv"}
    ]
    assert len(texts) >= 3
    for text in texts:
        assert re.sub(r"\A# .*\n", "", text) in shown
