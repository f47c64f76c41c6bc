"""Workers of a Dask cluster that is there already, reached by the address of its scheduler."""

from __future__ import annotations

import contextlib
import logging
import queue
import socket
import threading
import time
import uuid
from collections.abc import Mapping
from types import TracebackType
from typing import Any, Self
from urllib.parse import urlsplit

from ..errors import InputError, MissingLibraryError, SolveError
from ..judge.outcome import Row
from ..part.model import Part
from ..units import shorten
from .crew import Answer
from .evaluate import our_version
from .keeper import Keeper, Sent, sent

ANSWERS_IN = 10.0  # seconds for the scheduler to answer
ALONE = 60.0  # seconds without any worker after which the sweep ends
MOST_FRAMES = 1000
SCHEMES = ("tcp", "tls", "ws", "wss", "ucx")
_KEY = "--scheduler"
_LOCK = threading.Lock()  # a worker with several threads checks one variant at a time: the mesher has one state
_keepers: dict[str, Keeper] = {}


class ClusterCrew:
    """One place for each worker process of a cluster; left as it is with the ``with`` statement.

    Parameters
    ----------
    part : Part
        Whose variants are checked.
    address : str
        Of the scheduler: ``tcp://host:8786``.

    Raises
    ------
    InputError
        If no scheduler answers there within 10 s, or its workers have no fesolve, or another version of it.
    MissingLibraryError
        If Dask is not installed.
    """

    def __init__(self, part: Part, address: str) -> None:
        self._address, self._part, self._token = address, sent(part), uuid.uuid4().hex
        self._client = _client(address)
        self._heard: queue.Queue[tuple[int, Any]] = queue.Queue()
        self._given: dict[int, Any] = {}
        try:
            self._places = _workers(self._client, address)
        except BaseException:
            self._close()
            raise

    @property
    def workers(self) -> int:
        """How many there are; those that join later are not used."""
        return len(self._places)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._close()

    def give(self, worker: int, changes: Mapping[str, str], lead: Mapping[str, str] | None) -> None:
        """Let a worker check a variant; if it is gone by then, another one does."""
        what = (self._token, self._part, dict(changes), None if lead is None else dict(lead))
        future = self._client.submit(
            check, *what, workers=[self._places[worker]], allow_other_workers=True, pure=False
        )  # fmt: skip
        self._given[worker] = future
        future.add_done_callback(lambda done: self._heard.put((worker, done)))

    def wait(self) -> Answer:
        """The next answer of any of them.

        Raises
        ------
        SolveError
            If the scheduler is gone, or all workers are for a minute.
        """
        last_seen = time.monotonic()
        while True:
            try:
                worker, future = self._heard.get(timeout=1.0)  # an endless wait could not be interrupted
            except queue.Empty:
                last_seen = self._look(last_seen)
                continue
            self._given.pop(worker, None)
            return self._answer(worker, future)

    def _answer(self, worker: int, future: Any) -> Answer:
        if future.status == "finished":
            return Answer(worker, future.result())
        if future.status == "cancelled":
            raise self._gone()
        error = future.exception()
        said = "its worker died" if type(error).__name__ == "KilledWorker" else f"{type(error).__name__}: {error}"
        return Answer(worker, None, f"The cluster gave no answer: {said.rstrip('.')}.")

    def _look(self, last_seen: float) -> float:
        """See whether anybody is there; when was the last time."""
        if self._client.status != "running":
            raise self._gone()
        try:
            if self._client.nthreads():
                return time.monotonic()
        except OSError:
            raise self._gone() from None
        if time.monotonic() - last_seen > ALONE:
            raise SolveError(
                f"All workers of the cluster are gone ({self._address}). What was done is kept; go on later."
            )
        return last_seen

    def _gone(self) -> SolveError:
        return SolveError(f"The scheduler at {self._address} is gone. What was done is kept; go on later.")

    def _close(self) -> None:
        with contextlib.suppress(Exception):  # the cluster may be gone
            self._client.cancel(list(self._given.values()), force=True)
        with contextlib.suppress(Exception):
            self._client.close(timeout=2)


def check(token: str, part: Sent, changes: Mapping[str, str], lead: Mapping[str, str] | None) -> Row:
    """What runs on a worker: check a variant on the mesh of its lead, as `Keeper.check` does."""
    with _LOCK:
        if token not in _keepers:
            _keepers.clear()
            _keepers[token] = Keeper(part)
        return _keepers[token].check(changes, lead)


def _client(address: str) -> Any:
    try:
        from distributed import Client
    except ImportError:
        raise MissingLibraryError("A cluster needs Dask: pip install 'fesolve[cluster]'.") from None
    _knock(address)
    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # what it says of lost connections, we say
    try:
        return Client(address, timeout=ANSWERS_IN, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        raise _nobody(address, error) from None


def _knock(address: str) -> None:
    """See that a scheduler listens at an address: Dask's own client may wait for ever for one that says nothing.

    Over plain TCP a scheduler speaks first: a count of frames in eight bytes, the lowest first, then a greeting.
    """
    try:
        parts = urlsplit(address if "://" in address else f"tcp://{address}")
        if parts.scheme not in SCHEMES or not parts.hostname or not parts.port:
            raise ValueError("that is no address")
        with socket.create_connection((parts.hostname, parts.port), timeout=ANSWERS_IN) as line:
            if (
                parts.scheme == "tcp"
                and not 0 < int.from_bytes(line.recv(8, socket.MSG_WAITALL), "little") < MOST_FRAMES
            ):
                raise ValueError("something else listens there")
    except (OSError, ValueError) as error:
        raise _nobody(address, error) from None


def _nobody(address: str, error: Exception) -> InputError:
    why = error.strerror if isinstance(error, OSError) and error.strerror else str(error) or type(error).__name__
    message = f'No Dask scheduler answers at "{shorten(address)}" ({shorten(why, 200)}).'
    return InputError(f"{message} An address looks like tcp://host:8786.", key=_KEY)


def _workers(client: Any, address: str) -> list[str]:
    """Addresses of the workers, all of which have the same fesolve as this process."""
    try:
        versions = client.run(our_version)
    except Exception as error:
        message = f"The workers of {address} cannot run fesolve ({type(error).__name__}: {error})."
        raise InputError(f"{message} Install it where they run.", key=_KEY) from None
    if not versions:
        raise InputError(f"The cluster at {address} has no workers.", key=_KEY)
    if others := sorted(set(versions.values()) - {_here()}):
        message = f"The workers of {address} have fesolve {others[0]}, this process has {_here()}."
        raise InputError(f"{message} Install the same.", key=_KEY)
    return sorted(versions)


def _here() -> str:
    return our_version()
