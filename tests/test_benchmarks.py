"""The benchmark scripts run on a small plate, contenders agree, and the page is that of the figures kept."""

import json
import subprocess
import sys
from types import SimpleNamespace

import numpy as np
import pytest
from docs_text import ROOT, read

import fesolve

SCRIPTS = ROOT / "benchmarks"


@pytest.fixture
def scripts(monkeypatch):
    """The scripts' folder on the path, as when one of them is run."""
    monkeypatch.syspath_prepend(str(SCRIPTS))


def test_contenders_agree(scripts):
    import contenders
    import plate

    small = plate.make_plate(1500)
    for cases in (1, len(plate.CASES)):
        times, displacement, stress = contenders.with_fesolve(small, cases)
        peers = [contenders.with_skfem(small, cases, contenders.spsolve)] if cases == 1 else []
        if cases > 1:
            peers.append(contenders.with_skfem(small, cases, one_by_one))
        for _, peer, peer_stress in peers:
            assert np.abs(peer - displacement).max() < 1e-9 * np.abs(displacement).max()
            assert np.abs(peer_stress - stress).max() < 1e-9 * np.abs(stress).max()
        assert set(times) == {"assemble", "factorise", "after"}
    times, *_ = contenders.with_fesolve_again(small, 1)
    assert {"another load", "new grain"} < set(times)


def one_by_one(matrix, right):
    from scipy.sparse.linalg import spsolve

    return np.stack([spsolve(matrix.tocsc(), column) for column in right.T], axis=1)


def test_searches_are_compared(scripts):
    import searches

    for task in searches.TASKS:
        above, counts = searches.tried(task, "COBYLA, begun anew", starts=3)
        assert min(above) > -0.6 and max(above) < 0.6 and max(counts) < 80, task.name
    designed, given = searches.index_errors(seeds=3)
    assert given < designed


def test_a_contender_runs_as_a_process(scripts, tmp_path):
    import plate

    plate.make_plate(1500).save(tmp_path / "plate.npz")
    command = [sys.executable, "contenders.py", "fesolve", str(tmp_path / "plate.npz"), str(tmp_path / "out.npz")]
    done = subprocess.run(command, cwd=SCRIPTS, capture_output=True, text=True, check=True)
    assert json.loads(done.stdout)["peak"] > 1e7
    assert (tmp_path / "out.npz").exists()


def test_assembly_agrees_and_is_timed(scripts):
    pytest.importorskip("felupe", reason="a contender of the extra bench")
    import assembly
    import plate

    times = assembly.compare_assembly(plate.make_plate(1500), 2)
    assert all(len(seconds) == 2 and min(seconds) > 0 for seconds in times.values())


def test_one_way_supports_are_timed_and_lift_off(scripts):
    import one_way
    import plate

    mesh = one_way.rested(plate.make_plate(1500), nodes=21)
    contact = one_way.solutions(mesh)["rest"]().contact("rest")
    assert len(contact.points) == 21
    assert 0 < contact.touching.sum() < 21
    times = one_way.timed(mesh, 1)
    rows = one_way.rows_of("1500", 21, times)
    assert [row["target"] for row in rows] == [3.0, None]


def test_a_struck_check_is_timed_beside_the_static_one(scripts):
    import strike_check

    struck, static = strike_check.both()
    assert [one.name for one in struck.strikes] == ["log"] and static.strikes == ()
    assert static.loads[-1].name == "log" and static.cases[0].factors["log"] > 1000.0
    times = strike_check.timed((struck, static), 1)
    assert all(len(one) == 1 and one[0] > 0.0 for one in times)


def test_the_rows_of_how_sure_are_timed_beside_a_check_without_them(scripts, monkeypatch):
    """A check without them from 0 to 1 on the clock, one with them from 1 to 4: they add twice the former."""
    import record
    import sure_check

    ticks = iter((0.0, 1.0, 1.0, 4.0))
    monkeypatch.setattr(sure_check, "time", SimpleNamespace(perf_counter=lambda: next(ticks)))
    assert sure_check.timed(fesolve.read_part(record.MESHES / "bracket.toml"), 1) == [2.0]


def test_a_script_on_example_parts_keeps_a_row_for_each(scripts, monkeypatch, tmp_path, capsys):
    import record

    monkeypatch.setattr(sys, "argv", ["script", "--rounds", "2", "--results", str(tmp_path / "kept.json")])
    record.on_parts("about", "a section", lambda part, rounds: [1.0, 3.0][:rounds], "time of {name}", 4.0)
    rows = json.loads((tmp_path / "kept.json").read_text())["a section"]["rows"]
    assert [one["what"] for one in rows] == [f"time of {name}" for name in record.PARTS]
    assert {(one["value"], one["rounds"], one["target"], one["least"]) for one in rows} == {(2.0, 2, 4.0, False)}
    assert "time of log_stop" in capsys.readouterr().out


def test_sweeps_are_timed_and_weighed(scripts, monkeypatch):
    import sweep

    def swept(part, vary, *, workers, out=None, tell=lambda *_: None):
        for done in range(21):
            tell(done, 20, None)
        return {"seconds": np.array([9.0, 9.0, 1.0, 3.0])}

    monkeypatch.setattr(sweep.fesolve, "sweep", swept)
    monkeypatch.setattr(sweep, "cold_check", lambda name: 5.0)
    assert [(row["value"], row["target"], row["least"]) for row in sweep.variant(1)] == [(0.4, 0.5, False)] * 4
    assert [(row["target"], row["least"]) for row in sweep.workers(1)] == [(1.8, True)]
    (row,) = sweep.memory(20)
    assert 0.5 < row["value"] < 2.0 and row["target"] == 1.05
    part = sweep.at_rest()
    assert part.strikes == () and part.loads[-1].name == "log"


def test_time_steps_are_timed_with_contact(scripts):
    import plate
    import time_step

    made = time_step.model(plate.make_plate(1500))
    run = time_step.run_of(made)
    for _ in range(40):
        run.step()
    names = {contact.name: contact.touching.any() for contact in run.frame(run.now()).contacts}
    assert names == {"hole": True, "rest": True}
    stepped, substituted, count = time_step.steps(made, 1)
    assert stepped[0] > 0 and substituted[0] > 0
    assert count == sum(len(contact.nodes) for contact in made.contacts) + 1


def test_figures_are_kept_and_judged(scripts, tmp_path):
    import page
    import record

    rows = [
        record.row("speed", record.ratios([3.0, 8.0, 10.0], [1.0, 2.0, 2.0]), target=4.0),
        record.row("memory", [1.5], target=1.0, least=False),
        record.row("no target", [2.0]),
    ]
    record.save("cold start", rows, tmp_path / "results.json")
    text = page.page(json.loads((tmp_path / "results.json").read_text(encoding="utf-8")))
    assert "| speed | at least 4 | 4 | 3 to 5 | met |" in text
    assert "| memory | at most 1 | 1.5 |  | missed |" in text
    assert "| no target | 2 |  | 1 |" in text


def test_the_page_is_that_of_the_figures(scripts):
    import page

    assert page.page(json.loads((SCRIPTS / "results.json").read_text(encoding="utf-8"))) == read("docs/performance.md")
