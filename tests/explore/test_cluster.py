"""A sweep on a Dask cluster: a real one of two processes, reached over TCP."""

import socket
import sys
import time

import pytest
from docs_text import ROOT
from small import cantilever

import fesolve
from fesolve.explore.sweep import sweep

distributed = pytest.importorskip("distributed", reason="of the extra cluster")
pytestmark = pytest.mark.filterwarnings("default")  # Dask warns of its own doings
VARY = {"length": "150 mm; 0 mm", "grain": "0 deg to 6 deg in 3"}


@pytest.fixture(scope="module")
def cluster():
    """Two worker processes with two threads each, that import this copy of fesolve."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PYTHONPATH", str(ROOT))
        with distributed.LocalCluster(
            n_workers=2, threads_per_worker=2, processes=True, protocol="tcp://", dashboard_address=None
        ) as made:
            yield made


def test_figures_are_those_of_this_machine(cluster, tmp_path):
    assert cluster.scheduler_address.startswith("tcp://")
    path, heard = tmp_path / "results.sqlite", []
    tell = lambda *what: heard.append(what)  # noqa: E731
    far = sweep(cantilever(), VARY, scheduler=cluster.scheduler_address, out=path, tell=tell)
    here = sweep(cantilever(), VARY, workers=1)
    assert [row.outcome for row in far.rows] == [row.outcome for row in here.rows]
    assert [row.message for row in far.rows] == [row.message for row in here.rows]
    assert len(heard) == 7 and heard[-1][:2] == (6, 6)
    again = sweep(cantilever(), VARY, workers=1, out=path, tell=tell)
    assert len(heard) == 8 and again.rows == far.rows  # the file does not care where it was computed
    assert len(cluster.scheduler_info["workers"]) == 2  # the cluster stays as it was


def test_a_worker_that_is_killed_loses_nothing(cluster):
    killed = []

    def kill_one(done, count, row):
        if done == 2 and not killed:
            killed.append(next(iter(cluster.workers.values())).process.process.pid)
            import os

            os.kill(killed[0], 9)

    vary = {"length": "150 mm to 190 mm in 8"}
    done = sweep(cantilever(), vary, scheduler=cluster.scheduler_address, tell=kill_one)
    assert killed and all(row.outcome is not None for row in done.rows)


def test_no_scheduler_there(monkeypatch):
    """Told after ten seconds; less here."""
    from fesolve.explore import cluster as module

    assert module.ANSWERS_IN == 10.0
    monkeypatch.setattr(module, "ANSWERS_IN", 1.0)
    with socket.socket() as free:
        free.bind(("localhost", 0))
        port = free.getsockname()[1]
    start = time.monotonic()
    with pytest.raises(
        fesolve.InputError, match=rf'No Dask scheduler answers at "tcp://localhost:{port}".*--scheduler'
    ):
        sweep(cantilever(), VARY, scheduler=f"tcp://localhost:{port}")
    assert time.monotonic() - start < 10.0


@pytest.mark.parametrize("address", ["nonsense", "tcp://", "fax://localhost:8786"])
def test_what_is_no_address(address, monkeypatch):
    monkeypatch.setattr("fesolve.explore.cluster.ANSWERS_IN", 0.5)
    with pytest.raises(fesolve.InputError, match=r"An address looks like tcp://host:8786"):
        sweep(cantilever(), VARY, scheduler=address)


def test_another_version_there(cluster, monkeypatch):
    monkeypatch.setattr("fesolve.explore.cluster._here", lambda: "99.9")
    with pytest.raises(fesolve.InputError, match=r"have fesolve .*, this process has 99\.9\. Install the same"):
        sweep(cantilever(), VARY, scheduler=cluster.scheduler_address)


def test_without_dask(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(fesolve.MissingLibraryError, match=r"pip install 'fesolve\[cluster\]'"):
        sweep(cantilever(), VARY, scheduler="tcp://localhost:1")


def test_no_workers():
    with (
        distributed.LocalCluster(n_workers=0, processes=True, protocol="tcp://", dashboard_address=None) as empty,
        pytest.raises(fesolve.InputError, match=r"has no workers"),
    ):
        sweep(cantilever(), VARY, scheduler=empty.scheduler_address)
