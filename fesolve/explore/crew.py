"""Worker processes on this machine: each takes one variant at a time, and one that dies is replaced."""

from __future__ import annotations

import contextlib
import json
import os
import pickle
import queue
import subprocess
import sys
import tempfile
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from types import TracebackType
from typing import IO, Any, Protocol, Self

from ..errors import InputError, SolveError
from ..judge.outcome import Row
from ..part.model import Part
from .keeper import sent

MOST = 256
RENEW = 50  # variants after which a process makes room for a new one: 300 meshes of a small part took 50 MB more
_START = "import json, sys; sys.path[:] = json.loads(sys.argv[1]); from fesolve.explore.worker import main; main()"
_ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
_KILLED = 9


@dataclass(frozen=True)
class Answer:
    """What a worker gave: a row, or why there is none."""

    worker: int
    row: Row | None
    why: str = ""


class Crew(Protocol):
    """Workers, wherever they are."""

    @property
    def workers(self) -> int:
        """How many there are."""

    def give(self, worker: int, changes: Mapping[str, str], lead: Mapping[str, str] | None) -> None:
        """Let a worker that has nothing to do check a variant, on the mesh of its lead."""

    def wait(self) -> Answer:
        """The next answer of any of them."""


def default_workers() -> int:
    """As many as this process may use processors."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class LocalCrew:
    """Processes of their own, ended with the ``with`` statement.

    Processes rather than threads, because the mesher has one state for all of a process. They are started afresh, with
    one thread of linear algebra each, and need nothing of the script or notebook that starts them.

    Parameters
    ----------
    part : Part
        Whose variants are checked.
    workers : int
        How many.

    Raises
    ------
    InputError
        For a number of workers that is not between 1 and 256.
    """

    def __init__(self, part: Part, workers: int) -> None:
        check_workers(workers)
        self._part = pickle.dumps(sent(part))
        self._heard: queue.Queue[tuple[int, _Process, Any]] = queue.Queue()
        self._processes = [self._started(number) for number in range(workers)]

    @property
    def workers(self) -> int:
        """How many there are."""
        return len(self._processes)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for process in self._processes:
            process.end()

    def give(self, worker: int, changes: Mapping[str, str], lead: Mapping[str, str] | None) -> None:
        """Let a worker that has nothing to do check a variant, on the mesh of its lead."""
        self._processes[worker].send(pickle.dumps((dict(changes), None if lead is None else dict(lead))))

    def wait(self) -> Answer:
        """The next answer of any of them.

        Raises
        ------
        SolveError
            If a worker could not even start.
        """
        while True:
            try:
                worker, process, what = self._heard.get(timeout=0.5)  # an endless wait could not be interrupted
            except queue.Empty:
                continue
            if process is not self._processes[worker]:
                continue
            if isinstance(what, Row):
                process.served += 1
                if process.served >= RENEW:
                    process.end()
                    self._processes[worker] = self._started(worker)
                return Answer(worker, what)
            if what is None:
                process.ready = True
                continue
            why = process.why()
            if not process.ready:
                raise SolveError(f"A worker process could not be started: {why}")
            self._processes[worker] = self._started(worker)
            return Answer(worker, None, f"Its process ended before it answered: {why}")

    def _started(self, number: int) -> _Process:
        process = _Process()
        threading.Thread(target=self._listen, args=(number, process), daemon=True).start()
        process.send(self._part)
        return process

    def _listen(self, number: int, process: _Process) -> None:
        try:
            while True:
                self._heard.put((number, process, pickle.load(process.answers)))
        except Exception:  # its end, or half an answer
            self._heard.put((number, process, EOFError))
        finally:
            process.answers.close()


def check_workers(workers: int) -> None:
    """Refuse a number of workers that cannot be meant."""
    if not 1 <= workers <= MOST:
        raise InputError(f"{workers} workers are not possible; give 1 to {MOST}.", key="--workers")


class _Process:
    """One worker process, with its two pipes and what it says of its own end."""

    def __init__(self) -> None:
        self.ready = False
        self.served = 0
        self._said = tempfile.TemporaryFile()  # noqa: SIM115  # open as long as the process
        one_thread = dict.fromkeys(_ONE_THREAD, "1")
        self._process = subprocess.Popen(
            [sys.executable, "-c", _START, json.dumps(sys.path)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=self._said, env={**os.environ, **one_thread},
        )  # fmt: skip
        assert self._process.stdin is not None and self._process.stdout is not None
        self._jobs: IO[bytes] = self._process.stdin
        self.answers: IO[bytes] = self._process.stdout

    def send(self, job: bytes) -> None:
        """Write a job; if the process has just died, its end is heard of anyway."""
        with contextlib.suppress(OSError):
            self._jobs.write(job)
            self._jobs.flush()

    def why(self) -> str:
        """How it ended, in words."""
        code = self._process.wait()
        self._said.seek(0)
        lines = self._said.read().decode(errors="replace").strip().splitlines()
        self.end()
        if code == -_KILLED:
            return "it was killed from outside (signal 9), as happens when memory runs out."
        if code < 0:
            return f"it crashed (signal {-code})."
        last = lines[-1] if lines else "it said nothing"
        return f"exit code {code}: {last.rstrip('.')}."

    def end(self) -> None:
        """Kill it if it runs, and close what is open."""
        self._process.kill()
        self._process.wait()
        for stream in (self._jobs, self._said):
            with contextlib.suppress(OSError):
                stream.close()
