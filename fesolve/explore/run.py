"""Variants run to the end: what is in the file is taken from there, the rest is checked and written as it comes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import replace

from ..judge.outcome import Row
from ..part.model import Part
from .crew import Answer, Crew, LocalCrew, check_workers, default_workers
from .plan import Plan, drawing
from .store import Store

Tell = Callable[[int, int, Row | None], None]
"""Told how many of how many variants are done, and the last of them (None: those that were there before)."""


def run(
    part: Part,
    variants: Sequence[Mapping[str, str]],
    asked: str,
    store: Store,
    *,
    workers: int | None = None,
    scheduler: str | None = None,
    tell: Tell | None = None,
) -> list[Row]:
    """Check variants side by side.

    Parameters
    ----------
    part : Part
    variants : sequence of mapping of str to str
        What is otherwise in each.
    asked : str
        What was asked for, as it stands in the results file: the same again goes on with the same sweep.
    store : Store
        Open; every row is written as it comes.
    workers : int, optional
        Processes on this machine; as many as there are processors unless given.
    scheduler : str, optional
        Address of a Dask cluster, which takes the place of these processes.
    tell : callable, optional
        Told after each variant.

    Returns
    -------
    list of Row
        In the order of `variants`.

    Raises
    ------
    InputError
        For a number of workers that is not possible.
    SolveError
        If workers cannot be started, or the file cannot be written any more.
    """
    if workers is not None:
        check_workers(workers)
    keys = store.begin(asked, variants)
    unique = dict(zip(reversed(keys), reversed(variants), strict=True))  # equal variants are checked once
    work = _Work(part, {name: unique[name] for name in dict.fromkeys(keys)}, store, tell)
    if work.left:
        with _crew(part, scheduler, min(work.left, workers or default_workers())) as crew:
            work.through(crew)
    return [replace(work.rows[name], changes=dict(one)) for one, name in zip(variants, keys, strict=True)]


def _crew(part: Part, scheduler: str | None, workers: int) -> AbstractContextManager[Crew]:
    if scheduler is None:
        return LocalCrew(part, workers)
    from .cluster import ClusterCrew

    return ClusterCrew(part, scheduler)


class _Work:
    """Variants by the names of their content, and the rows that are there."""

    def __init__(self, part: Part, variants: Mapping[str, Mapping[str, str]], store: Store, tell: Tell | None) -> None:
        self._names, self._variants = list(variants), list(variants.values())
        self._store, self._tell = store, tell or (lambda *_: None)
        self.rows = {name: row for name in self._names if (row := store.get(name)) is not None}
        known = {
            number: self.rows[name].outcome is not None for number, name in enumerate(self._names) if name in self.rows
        }
        self._plan = Plan([drawing(part, one) for one in self._variants] if self.left else [], known)
        self._tell(len(self.rows), len(self._names), None)

    @property
    def left(self) -> int:
        """How many have no row yet."""
        return len(self._names) - len(self.rows)

    def through(self, crew: Crew) -> None:
        """Give out all that is left, and write what comes back."""
        given: dict[int, int] = {}
        while self.left:
            for worker in range(crew.workers):
                if worker not in given and (number := self._next(worker, crew)) is not None:
                    given[worker] = number
            if given:
                answer = crew.wait()
                self._take(given.pop(answer.worker), answer)

    def _next(self, worker: int, crew: Crew) -> int | None:
        """Give a worker a variant that nobody, also no other process on the same file, has checked."""
        while (found := self._plan.next(worker)) is not None:
            number, lead = found
            row = self._store.get(self._names[number])
            if row is None:
                crew.give(worker, self._variants[number], None if lead is None else self._variants[lead])
                return number
            self._keep(number, row)
        return None

    def _take(self, number: int, answer: Answer) -> None:
        if answer.row is None:
            self._plan.forget(answer.worker)
        row = answer.row or Row(self._variants[number], None, answer.why, again=True)
        self._store.add(self._names[number], row)
        self._keep(number, row)

    def _keep(self, number: int, row: Row) -> None:
        self.rows[self._names[number]] = row
        self._plan.done(number, good=row.outcome is not None)
        self._tell(len(self.rows), len(self._names), row)
