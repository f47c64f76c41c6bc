"""Variants run side by side: the same figures with any number of workers, deaths and stops survived, nothing twice."""

import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from small import cantilever

import fesolve
from fesolve.explore import crew as crew_module
from fesolve.explore.crew import LocalCrew
from fesolve.explore.keeper import sent
from fesolve.explore.plan import Plan, drawing
from fesolve.explore.run import run
from fesolve.explore.store import Store
from fesolve.explore.sweep import sweep
from fesolve.judge.outcome import Outcome

ROOT = Path(__file__).parents[2]


# ---- which goes where


def handed_out(plan, workers, *, bad=()):
    """The order in which a plan hands out variants to workers that answer in turn."""
    order = []
    while True:
        given = {worker: found for worker in range(workers) if (found := plan.next(worker)) is not None}
        if not given:
            return order
        for worker, (number, lead) in given.items():
            order.append((worker, number, lead))
            plan.done(number, good=number not in bad)


def test_those_drawn_alike_follow_their_lead():
    order = handed_out(Plan(["a", "a", "b", "b", "a", "b"], {}), 2)
    assert sorted(number for _, number, _ in order) == [0, 1, 2, 3, 4, 5]
    assert {number: lead for _, number, lead in order} == {0: None, 1: 0, 4: 0, 2: None, 3: 2, 5: 2}
    assert {worker for worker, number, _ in order if number in (0, 1, 4)} == {0}


def test_the_lead_does_not_hang_on_the_number_of_workers():
    groups = [number % 3 for number in range(30)]
    leads = [
        {number: lead for _, number, lead in handed_out(Plan(groups, {}), workers, bad={0, 4})} for workers in (1, 2, 5)
    ]
    assert leads[0] == leads[1] == leads[2]
    assert leads[0][6] == 3 and leads[0][3] is None and leads[0][7] == 1


def test_a_large_group_is_shared_and_a_small_rest_is_not():
    assert {worker for worker, *_ in handed_out(Plan(["a"] * 20, {}), 2)} == {0, 1}
    assert {worker for worker, *_ in handed_out(Plan(["a"] * 3, {}), 2)} == {0}


def test_going_on_takes_the_lead_that_was():
    order = handed_out(Plan(["a"] * 4, {0: False, 1: True, 2: True}), 2)
    assert order == [(0, 3, 1)]


def test_a_worker_that_died_leaves_its_group_to_others():
    plan = Plan(["a"] * 3, {})
    assert plan.next(0) == (0, None) and plan.next(1) is None
    plan.forget(0)
    plan.done(0, good=False)
    assert plan.next(1) == (1, None)


def test_what_is_drawn_the_same_way():
    part = cantilever()
    assert drawing(part, {"grain": "3 deg"}) == drawing(part, {"push": "2 N"}) == drawing(part, {"thickness": "9 mm"})
    names = {drawing(part, changes) for changes in ({}, {"depth": "41 mm"}, {"mesh.size": "3 mm"}, {"depth": "0 mm"})}
    assert len(names) == 4


# ---- side by side

VARY = {"length": "150 mm; 0 mm; 180 mm", "grain": "0 deg to 4 deg in 3"}


@pytest.fixture(scope="module")
def alone():
    return sweep(cantilever(), VARY, workers=1)


def test_figures_are_those_of_checks(alone):
    fresh = fesolve.check(cantilever().with_(length="180 mm", grain="0 deg"), sure=False)
    assert alone.rows[6].outcome.utilisation == pytest.approx(1 / fresh.verdict.governing.load_factor, rel=1e-12)
    again = fesolve.check(cantilever().with_(length="180 mm", grain="4 deg"), sure=False, like=fresh)
    assert alone.rows[8].outcome.deflection == pytest.approx(again.verdict.deflection, rel=1e-12)


def test_what_cannot_be_drawn_is_recorded(alone):
    failed = [row for row in alone.rows if row.outcome is None]
    assert [row.changes["length"] for row in failed] == ["0 mm"] * 3
    assert all(row.message and "should not have" not in row.message for row in failed)


def test_two_workers_give_what_one_gives(alone):
    both = sweep(cantilever(), VARY, workers=2)
    assert [row.outcome for row in both.rows] == [row.outcome for row in alone.rows]


def test_going_on_gives_what_one_run_gives(alone, tmp_path):
    class StopError(Exception):
        pass

    def stop_after_five(done, count, row):
        if done == 5:
            raise StopError

    path = tmp_path / "results.sqlite"
    with pytest.raises(StopError):
        sweep(cantilever(), VARY, workers=1, out=path, tell=stop_after_five)
    heard = []
    rest = sweep(cantilever(), VARY, workers=1, out=path, tell=lambda *what: heard.append(what))
    assert heard[0] == (5, 9, None) and len(heard) == 5
    assert [row.outcome for row in rest.rows] == [row.outcome for row in alone.rows]


def test_the_same_variant_is_checked_once(tmp_path):
    heard = []
    tell = lambda done, count, row: heard.append(row)  # noqa: E731
    twice = sweep(cantilever(), {"length": "150 mm; 15 cm; 200 mm"}, workers=1, out=tmp_path / "a.sqlite", tell=tell)
    assert len(heard) == 3  # at the beginning, and for two checks
    assert twice.rows[0].outcome == twice.rows[1].outcome and twice.rows[1].changes == {"length": "15 cm"}
    sweep(cantilever(), {"length": ["200 mm"], "grain": ["0 deg"]}, workers=1, out=tmp_path / "a.sqlite", tell=tell)
    assert heard[3:] == [None]  # the part has these values already


# ---- workers that die


def test_a_worker_that_dies_is_recorded_and_replaced(monkeypatch, tmp_path):
    start = (
        "import os, fesolve.explore.keeper as k\nreal = k.Keeper.check\n"
        "def check(self, changes, lead):\n"
        "    os.kill(os.getpid(), 9) if changes['length'] == '160 mm' else None\n"
        "    return real(self, changes, lead)\n"
        "k.Keeper.check = check\n"
    )
    as_it_is = crew_module._START
    monkeypatch.setattr(crew_module, "_START", as_it_is.replace("from fesolve", f"exec({start!r}); from fesolve", 1))
    path, vary = tmp_path / "results.sqlite", {"length": "150 mm; 160 mm; 170 mm"}
    first = sweep(cantilever(), vary, workers=1, out=path)
    assert [row.outcome is None for row in first.rows] == [False, True, False]
    assert "killed from outside (signal 9), as happens when memory runs out" in first.rows[1].message
    monkeypatch.setattr(crew_module, "_START", as_it_is)
    assert sweep(cantilever(), vary, workers=1, out=path).rows[1].outcome is not None  # tried again


def test_workers_that_cannot_start(monkeypatch):
    monkeypatch.setattr(crew_module, "_START", "raise SystemExit('no room')")
    with pytest.raises(fesolve.SolveError, match=r"A worker process could not be started: exit code 1: no room"):
        sweep(cantilever(), {"length": "150 mm"}, workers=1)


@pytest.mark.parametrize("workers", [0, -1, 1000])
def test_numbers_of_workers_that_are_not_possible(workers):
    with pytest.raises(fesolve.InputError, match=r"workers are not possible; give 1 to 256"):
        sweep(cantilever(), {"length": "150 mm"}, workers=workers)


def test_processes_are_renewed_and_figures_stay(alone, monkeypatch):
    monkeypatch.setattr(crew_module, "RENEW", 4)
    started, real = [], LocalCrew._started
    monkeypatch.setattr(LocalCrew, "_started", lambda self, number: started.append(number) or real(self, number))
    again = sweep(cantilever(), VARY, workers=1)
    assert len(started) == 3  # for nine variants
    assert [row.outcome for row in again.rows] == [row.outcome for row in alone.rows]


def test_a_mesh_that_is_in_no_file_cannot_travel():
    part = cantilever().model_copy(update={"shape": object()})
    with pytest.raises(fesolve.InputError, match=r"stands on a mesh made in Python.*name it \(\[mesh\] file\)"):
        sent(part)


# ---- the run itself stopped

SCRIPT = """
import signal
import sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # it is ignored where tests run in the background
sys.path.insert(0, sys.argv[2])
from small import cantilever
import fesolve.explore.sweep as s

def tell(done, count, row):
    print(done, flush=True)

s.sweep(cantilever(), {"length": "150 mm to 190 mm in 9"}, workers=2, out=sys.argv[1], tell=tell)
"""


def begun(path, signal_):
    """A run on its own, stopped by a signal once three variants are there; gives its exit code."""
    paths = os.pathsep.join([str(ROOT), str(ROOT / "tests"), str(ROOT / "tests" / "explore")])
    command = [sys.executable, "-c", SCRIPT, str(path), str(ROOT / "tests" / "explore")]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env={**os.environ, "PYTHONPATH": paths}
    ) as process:
        for line in process.stdout:
            if int(line) >= 3:
                process.send_signal(signal_)
                break
        process.stdout.read()
        return process.wait(timeout=60)


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="signals of Unix")
@pytest.mark.parametrize("name", ["SIGKILL", "SIGINT"])
def test_a_run_that_is_stopped_loses_nothing(tmp_path, name):
    path = tmp_path / "results.sqlite"
    assert begun(path, getattr(signal, name)) != 0
    base = sqlite3.connect(path)
    assert base.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    kept = dict(base.execute("SELECT key, utilisation FROM variant"))
    base.close()
    assert 3 <= len(kept) < 9
    heard = []
    part, vary = cantilever(), {"length": "150 mm to 190 mm in 9"}
    done = sweep(part, vary, workers=2, out=path, tell=lambda *what: heard.append(what))
    assert heard[0] == (len(kept), 9, None)
    with Store(path, part) as store:
        assert all(store.get(name).outcome.utilisation == use for name, use in kept.items())
    assert np.isfinite(done["utilisation"]).all()


def test_no_worker_outlives_its_run():
    with LocalCrew(cantilever(), 2) as crew:
        processes = [one._process for one in crew._processes]
        crew.give(0, {"length": "150 mm"}, None)
        assert isinstance(crew.wait().row.outcome, Outcome)
    deadline = time.monotonic() + 10
    while any(one.poll() is None for one in processes) and time.monotonic() < deadline:
        time.sleep(0.01)
    assert all(one.poll() is not None for one in processes)


def test_run_takes_any_list_of_variants():
    part = cantilever()
    with Store(None, part) as store:
        rows = run(part, [{"length": "150 mm"}, {}], "these two", store, workers=1)
    assert [row.changes for row in rows] == [{"length": "150 mm"}, {}] and all(row.outcome for row in rows)
