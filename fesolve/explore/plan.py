"""Which worker checks which variant next: those drawn the same way go together, behind one that leads them."""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field

from ..errors import FesolveError
from ..mesh.outline import part_outline
from ..part.model import Part

WORTH = 3  # variants left of a group before a second worker makes the mesh of its lead once more


def drawing(part: Part, changes: Mapping[str, str]) -> Hashable:
    """What a variant's mesh depends on: equal for variants that are drawn the same way.

    A hint only; whether a mesh does serve again is decided where the variant is checked.
    """
    try:
        changed = part.with_(changes)
        outline = part_outline(changed)
    except FesolveError:
        return ("alone", tuple(sorted(changes.items())))
    regions = tuple((one.name, one.corners) for one in changed.regions)
    lines = repr((outline.loops, outline.interfaces, outline.splits))
    return (lines, repr(changed.mesh), changed.mesh_accuracy, changed.accuracy_of, regions)


@dataclass(eq=False)
class _Group:
    """Variants drawn the same way: those not given out yet, and the one that leads, once it is known."""

    waiting: deque[int] = field(default_factory=deque)
    lead: int | None = None
    leading: bool = False  # whether one is checked now that may become the lead
    workers: set[int] = field(default_factory=set)


class Plan:
    """Hands out variants by their numbers.

    Parameters
    ----------
    groups : sequence of hashable
        The drawing of each variant.
    known : mapping of int to bool
        Variants that need no check, and whether they have figures: the first of a group that has them leads it.
    """

    def __init__(self, groups: Sequence[Hashable], known: Mapping[int, bool]) -> None:
        by_drawing: dict[Hashable, _Group] = {}
        self._of = [by_drawing.setdefault(name, _Group()) for name in groups]
        for number, group in enumerate(self._of):
            if number not in known:
                group.waiting.append(number)
            elif known[number] and group.lead is None and not group.waiting:
                group.lead = number
        self._fresh = deque(group for group in by_drawing.values() if group.waiting)
        self._begun: list[_Group] = []
        self._held: dict[int, _Group] = {}

    def next(self, worker: int) -> tuple[int, int | None] | None:
        """A variant for a worker, and the variant that leads it (None: it may lead itself); None: nothing for now."""
        group = self._choose(worker)
        if group is None:
            return None
        self.forget(worker)
        self._held[worker] = group
        group.workers.add(worker)
        group.leading = group.lead is None
        return group.waiting.popleft(), group.lead

    def done(self, number: int, *, good: bool) -> None:
        """A variant was checked; `good`: it has figures, and may lead its group."""
        group = self._of[number]
        if group.lead is None:
            group.leading = False
            group.lead = number if good else None
        self._begun = [one for one in self._begun if one.waiting]

    def forget(self, worker: int) -> None:
        """A worker has no mesh any more."""
        group = self._held.pop(worker, None)
        if group is not None:
            group.workers.discard(worker)

    def _choose(self, worker: int) -> _Group | None:
        """Its own group; else one that nobody works on; else the largest of the others, where that is worth a mesh."""
        ready = [one for one in self._begun if one.waiting and not one.leading]
        if (held := self._held.get(worker)) in ready:
            return held
        if left := [one for one in ready if not one.workers]:
            return left[0]
        if self._fresh:
            self._begun.append(self._fresh.popleft())
            return self._begun[-1]
        largest = max(ready, key=lambda one: len(one.waiting), default=None)
        return largest if largest is not None and len(largest.waiting) >= WORTH else None
