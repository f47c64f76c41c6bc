"""The results folder: what is in it, what is refused, and that it is never half written."""

import json
import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from log_stop import make_verdict

from fesolve.errors import InputError, SolveError
from fesolve.judge.verdict import SHEAR, SPLITTING
from fesolve.mesh.convert import read_vtu
from fesolve.view import files
from fesolve.view.files import Shown, check_folder, save_results, verdict_json
from fesolve.view.sketch import Piece

KEYS = {
    "": "part units version basis mesh reactions equilibrium modes governing takes hotspots beside hand proportions "
    "allowables cautions",
    "part": "title file sha256 drawing",
    "mesh": "points cells order rounds relative_error relative_error_of",
    "takes": "best low high of",
    "governing": "load_factor load_factor_kind mode utilisation",
    "reactions": "name case force moment",
    "modes": "case mode end decides value allowable utilisation at where peak note",
    "hotspots": "rank mode utilisation at where path exits_at mean_length mean_s90 mean_tau peak short_line",
    "beside": "case mode end decides value allowable utilisation at where peak note",
    "hand": "station at depth width A I Q t axial shear moment shear_statics tau_vqit tau_mesh sigma_mcI sigma_mesh "
    "short mine note",
    "proportions": "rule value wanted source",
    "allowables": "mode value basis factors source status",
}


@pytest.fixture
def shown():
    points = np.array([[0.0, 0], [2, 0], [0, 2], [1, 0], [1, 1], [0, 1]])
    u = np.linspace(0.0, 1.2, 6)
    cells = np.array([[0, 1, 2, 3, 4, 5]])
    return Shown([points[:3]], points, cells, u, [Piece(0.0)], [], [], {"utilisation_splitting": u})


@pytest.mark.parametrize("place", KEYS)
def test_keys_of_the_file(verdict, place):
    document = json.loads(verdict_json(verdict))
    found = document[place] if place else document
    found = found[0] if isinstance(found, list) else found
    assert set(KEYS[place].split()) <= set(found)


def test_numbers_survive_the_round_trip(verdict):
    document = json.loads(verdict_json(verdict))
    assert document["governing"]["utilisation"] == verdict.governing.utilisation
    assert document["hotspots"][0]["path"] == [list(point) for point in verdict.hotspots[0].path]
    takes = {
        "best": 13000.0,
        "low": 8700.0,
        "high": 19300.0,
        "of": "log",
        "quantity": "force",
        "own": None,
        "judged": None,
    }
    assert document["takes"] == takes
    assert json.loads(verdict_json(make_verdict(governing=None)))["governing"] is None


def test_only_finite_numbers(verdict):
    row = replace(verdict.hand[0], tau_mesh=math.nan, A=np.float64(5320.0), mine={"tau": math.inf})
    found = json.loads(verdict_json(make_verdict(hand=(row,))), parse_constant=pytest.fail)["hand"][0]
    assert (found["tau_mesh"], found["A"], found["mine"]) == (None, 5320.0, {"tau": None})
    broken = replace(verdict.modes[0], utilisation=math.inf)
    with pytest.raises(SolveError, match="not a finite number"):
        verdict_json(make_verdict(modes=(broken,)))


def test_a_folder_with_parents(tmp_path, verdict, shown):
    folder = tmp_path / "a" / "b" / "stop.results"
    assert save_results(folder, verdict, shown) == []
    assert sorted(path.name for path in folder.iterdir()) == ["field.vtu", "hotspots.png", "member.png", "verdict.json"]
    assert [path.name for path in folder.parent.iterdir()] == ["stop.results"]  # no draft is left beside it
    mesh, data = read_vtu(folder / "field.vtu")
    assert np.array_equal(mesh.points, shown.points)
    assert np.array_equal(data["utilisation_splitting"], shown.utilisation)


def test_without_pictures(tmp_path, verdict, shown):
    save_results(tmp_path / "r", verdict, shown, pictures=False)
    assert sorted(path.name for path in (tmp_path / "r").iterdir()) == ["field.vtu", "verdict.json"]


def test_an_earlier_results_folder_is_replaced_whole(tmp_path, verdict, shown):
    folder = tmp_path / "r"
    save_results(folder, verdict, shown)
    (folder / "mine.txt").write_text("left over")
    save_results(folder, verdict, shown, pictures=False)
    assert sorted(path.name for path in folder.iterdir()) == ["field.vtu", "verdict.json"]


def test_an_empty_folder_is_taken_and_any_other_refused(tmp_path, verdict, shown):
    (tmp_path / "empty").mkdir()
    save_results(tmp_path / "empty", verdict, shown, pictures=False)
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "letter.txt").write_text("dear")
    with pytest.raises(InputError, match="not empty and holds no earlier results"):
        save_results(tmp_path / "full", verdict, shown)
    assert [path.name for path in (tmp_path / "full").iterdir()] == ["letter.txt"]


def test_files_in_the_way(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="is a file, not a folder"):
        check_folder(tmp_path / "file")
    with pytest.raises(InputError, match=r"Not a directory|is a file; no folder can be made in it"):
        check_folder(tmp_path / "file" / "r")


def test_a_folder_that_may_not_be_written(tmp_path, monkeypatch):
    monkeypatch.setattr(files.os, "access", lambda *_: False)
    with pytest.raises(InputError, match="You may not write to"):
        check_folder(tmp_path / "r")


def test_nothing_is_left_of_a_failed_write(tmp_path, verdict, shown, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files, "write_vtu", full)
    with pytest.raises(InputError, match=r"Cannot write results to .*No space left on device"):
        save_results(tmp_path / "a" / "r", verdict, shown)
    assert list(tmp_path.iterdir()) == []


def test_an_earlier_folder_survives_a_failed_write(tmp_path, verdict, shown, monkeypatch):
    save_results(tmp_path / "r", verdict, shown, pictures=False)
    monkeypatch.setattr(files, "_draw", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        save_results(tmp_path / "r", verdict, shown)
    assert [path.name for path in tmp_path.iterdir()] == ["r"]
    assert (tmp_path / "r" / "verdict.json").is_file()


def test_a_missing_picture_library_is_a_note(tmp_path, verdict, shown, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "matplotlib.figure", None)
    notes = save_results(tmp_path / "r", verdict, shown)
    assert [note.partition(" ")[0] for note in notes] == ["hotspots.png", "member.png"]
    assert "library for pictures is missing" in notes[0]
    assert sorted(path.name for path in (tmp_path / "r").iterdir()) == ["field.vtu", "verdict.json"]


def stand_ins(has_cases):
    """A part of two cases, its outline and solution, with only what is read of them."""
    names = ("calm", "storm")
    part = SimpleNamespace(
        cases=[SimpleNamespace(name=name) for name in names], has_cases=has_cases, regions=(),
        wood=SimpleNamespace(grain=30.0),
    )  # fmt: skip
    square = np.array([[0.0, 0], [1, 0], [1, 1], [0, 1]])
    loops = (tuple(SimpleNamespace(radius=radius) for radius in (None, 10.0, 5.0)),)
    outline = SimpleNamespace(loops=loops, interfaces=(), splits=(), polygon=lambda number, step: square)
    model = SimpleNamespace(mesh=SimpleNamespace(points=square))
    stress = np.arange(2 * 5 * 3.0).reshape(2, 5, 3)
    solution = SimpleNamespace(
        displacement=np.arange(16.0).reshape(2, 4, 2), stress_grain=stress, stress_xy=-stress, model=model,
        stress_point=np.array([0, 1, 2, 3, 3]), stress_cells=np.zeros((1, 6), dtype=int),
    )  # fmt: skip
    u = {name: {SPLITTING: np.full(5, float(i)), SHEAR: np.zeros(5)} for i, name in enumerate(names)}
    return part, outline, solution, u


def test_arrays_of_the_field_file_with_cases(verdict):
    governing = replace(verdict.governing, case="storm")
    shown = files.shown_of(*stand_ins(True), make_verdict(governing=governing))
    names = ("displacement", "stress_grain", "stress_xy", "utilisation_splitting", "utilisation_shear_along_grain")
    assert set(shown.point_data) == {f"{case}/{name}" for case in ("calm", "storm") for name in names}
    # the fifth stress point repeats the fourth mesh point, whose displacements in the second case are 14, 15
    assert shown.point_data["storm/displacement"][[3, 4]].tolist() == [[14.0, 15.0], [14.0, 15.0]]
    assert shown.utilisation.tolist() == [1.0] * 5 and shown.pieces == [Piece(30.0)]


def test_arrays_without_cases_have_no_prefix():
    part, *others = stand_ins(False)
    part.cases = part.cases[:1]
    shown = files.shown_of(part, *others, make_verdict(governing=None))
    assert "displacement" in shown.point_data and "utilisation_splitting" in shown.point_data
    assert shown.utilisation.tolist() == [0.0] * 5


def test_arcs_are_drawn_finely():
    assert files.outline_step(stand_ins(True)[1]) == pytest.approx(0.3)  # 0.06 of the smallest radius, 5 mm
