"""A worker process: variants come in by standard input and rows go out by standard output, one pickle each.

It ends when its input ends, also in the middle of a check, so that no worker outlives the process that started it.
"""

from __future__ import annotations

import os
import pickle
import queue
import signal
import sys
import threading
from typing import IO, Any


def main() -> None:
    """Serve until the input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the process that started it, which then ends this one
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a library prints does not get between the answers
    jobs: queue.SimpleQueue[Any] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(sys.stdin.buffer, jobs), daemon=True).start()
    from .keeper import Keeper

    keeper = Keeper(jobs.get())
    _say(answers, None)
    while True:
        _say(answers, keeper.check(*jobs.get()))


def _listen(stream: IO[bytes], jobs: queue.SimpleQueue[Any]) -> None:
    try:
        while True:
            jobs.put(pickle.load(stream))
    except (EOFError, OSError, pickle.UnpicklingError):
        os._exit(0)


def _say(stream: IO[bytes], what: object) -> None:
    try:
        pickle.dump(what, stream)
        stream.flush()
    except OSError:  # nobody listens any more
        os._exit(0)
