"""A sweep on a Dask cluster: a real one of two processes, reached over TCP."""

import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time

import pytest
from docs_text import ROOT
from small import cantilever

import fesolve
from fesolve.explore.sweep import sweep

distributed = pytest.importorskip("distributed", reason="of the extra cluster")
pytestmark = pytest.mark.filterwarnings("default")  # Dask warns of its own doings
VARY = {"length": "150 mm; 0 mm", "grain": "0 deg to 6 deg in 3"}


@contextlib.contextmanager
def scheduler(folder):
    """A scheduler as a process of its own, and its address."""
    file = folder / "scheduler.json"
    command = ["distributed.cli.dask_scheduler", "--port", "0", "--no-dashboard", "--scheduler-file", str(file)]
    with started(command) as process:
        wait_for(lambda: file.exists() and file.stat().st_size and process.poll() is None)
        yield json.loads(file.read_text())["address"]


@contextlib.contextmanager
def started(command):
    """A process of Dask that imports this copy of fesolve, with all that it starts."""
    process = subprocess.Popen(
        [sys.executable, "-m", *command], env={**os.environ, "PYTHONPATH": str(ROOT)}, start_new_session=True,
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        yield process
    finally:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()


def wait_for(what, seconds=60.0):
    deadline = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < deadline
        time.sleep(0.05)


@pytest.fixture(scope="module")
def cluster(tmp_path_factory):
    """A scheduler and two worker processes of two threads each; gives the scheduler's address."""
    with scheduler(tmp_path_factory.mktemp("scheduler")) as address:
        workers = ["distributed.cli.dask_worker", address, "--nworkers", "2", "--nthreads", "2", "--no-dashboard"]
        with started(workers), distributed.Client(address, set_as_default=False) as client:
            client.wait_for_workers(2, timeout=60)
            yield address


def test_figures_are_those_of_this_machine(cluster, tmp_path):
    assert cluster.startswith("tcp://")
    path, heard = tmp_path / "results.sqlite", []
    tell = lambda *what: heard.append(what)  # noqa: E731
    far = sweep(cantilever(), VARY, scheduler=cluster, out=path, tell=tell)
    here = sweep(cantilever(), VARY, workers=1)
    assert [row.outcome for row in far.rows] == [row.outcome for row in here.rows]
    assert [row.message for row in far.rows] == [row.message for row in here.rows]
    assert len(heard) == 7 and heard[-1][:2] == (6, 6)
    again = sweep(cantilever(), VARY, workers=1, out=path, tell=tell)
    assert len(heard) == 8 and again.rows == far.rows  # the file does not care where it was computed
    assert len(processes(cluster)) == 2  # the cluster stays as it was


def processes(address):
    """Process ids of the workers."""
    with distributed.Client(address, set_as_default=False) as client:
        return list(client.run(os.getpid).values())


def test_a_worker_that_is_killed_loses_nothing(cluster):
    first, killed = processes(cluster)[0], []

    def kill_one(done, count, row):
        if done == 2 and not killed:
            killed.append(first)
            os.kill(first, signal.SIGKILL)

    done = sweep(cantilever(), {"length": "150 mm to 190 mm in 6"}, scheduler=cluster, tell=kill_one)
    assert killed and all(row.outcome is not None for row in done.rows)
    wait_for(lambda: len(processes(cluster)) == 2)  # Dask's own nanny starts another


def test_no_scheduler_there():
    with socket.socket() as free:
        free.bind(("localhost", 0))
        port = free.getsockname()[1]
    start = time.monotonic()
    with pytest.raises(
        fesolve.InputError, match=rf'No Dask scheduler answers at "tcp://localhost:{port}".*--scheduler'
    ):
        sweep(cantilever(), VARY, scheduler=f"tcp://localhost:{port}")
    assert time.monotonic() - start < 10.0


def test_something_else_there(monkeypatch):
    """A port that takes connections and says nothing: told after ten seconds, less here."""
    from fesolve.explore import cluster as module

    assert module.ANSWERS_IN == 10.0
    monkeypatch.setattr(module, "ANSWERS_IN", 1.0)
    with socket.create_server(("localhost", 0)) as silent:
        port = silent.getsockname()[1]
        with pytest.raises(fesolve.InputError, match=r"No Dask scheduler answers.*timed out"):
            sweep(cantilever(), VARY, scheduler=f"tcp://localhost:{port}")


def greet(server):
    with server.accept()[0] as line:
        line.sendall(b"220 mail.example.org ready")


def test_another_service_there():
    with socket.create_server(("localhost", 0)) as other:
        threading.Thread(target=greet, args=(other,), daemon=True).start()
        with pytest.raises(fesolve.InputError, match=r"something else listens there"):
            sweep(cantilever(), VARY, scheduler=f"localhost:{other.getsockname()[1]}")


@pytest.mark.parametrize(
    "address", ["nonsense", "tcp://", "fax://localhost:8786", "tcp://localhost:port", "tcp://[::1"]
)
def test_what_is_no_address(address):
    with pytest.raises(fesolve.InputError, match=r"An address looks like tcp://host:8786"):
        sweep(cantilever(), VARY, scheduler=address)


def test_another_version_there(cluster, monkeypatch):
    monkeypatch.setattr("fesolve.explore.cluster._here", lambda: "99.9")
    with pytest.raises(fesolve.InputError, match=r"have fesolve .*, this process has 99\.9\. Install the same"):
        sweep(cantilever(), VARY, scheduler=cluster)


def test_without_dask(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(fesolve.MissingLibraryError, match=r"pip install 'fesolve\[cluster\]'"):
        sweep(cantilever(), VARY, scheduler="tcp://localhost:1")


def test_no_workers(tmp_path):
    with scheduler(tmp_path) as empty, pytest.raises(fesolve.InputError, match=r"has no workers"):
        sweep(cantilever(), VARY, scheduler=empty)
