"""The same part with each load and strike a little along its edge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .model import Action, Case, Corner, Load, Part, Strike, edge_names
from .places import edge_lengths

SHIFT = 5.0  # mm
LEAST = 0.5  # mm: with less room than this before the edge ends it stays
MOST = 6  # loads and strikes that are shifted: the first of the part file


@dataclass(frozen=True, eq=False)
class Shift:
    """A load or strike elsewhere: `of` is its name, `one` itself under a name of its own, `what` in words."""

    of: str
    one: Load | Strike
    what: str

    @property
    def name(self) -> str:
        """Under which it stands beside the first."""
        return self.one.name


def shifts_of(part: Part) -> tuple[Shift, ...]:
    """5 mm either way for each load and strike on a piece of an edge, or as far as its edge goes.

    What covers a whole edge stays, and so does what may sit anywhere: its worst place has been looked for.
    """
    lengths = {name: length for loop in part.loops for name, length in edge_lengths(loop).items()}
    ends = {name: pair for loop in part.loops for name, pair in _ends(loop).items()}
    actions: list[Load | Strike] = [*part.loads, *part.strikes]
    acting = {name for case in part.cases for name, factor in case.factors.items() if factor != 0.0}
    movable = [one for one in actions if one.name in acting and _on_a_piece(one)]
    found = []
    for one in movable[:MOST]:
        first, last = ends[one.on.name]
        start, stop = one.on.start or 0.0, one.on.stop if one.on.stop is not None else lengths[one.on.name]
        for corner, by in ((last, min(SHIFT, lengths[one.on.name] - stop)), (first, -min(SHIFT, start))):
            if abs(by) < LEAST:
                continue
            on = one.on.model_copy(update={"start": start + by, "stop": stop + by})
            there = one.model_copy(update={"name": f"{one.name} {by:+.6g} mm", "on": on})
            found.append(Shift(one.name, there, f'"{one.name}" {abs(by):.2g} mm towards {corner}'))
    return tuple(found)


def _ends(loop: tuple[Corner, ...]) -> dict[str, tuple[str, str]]:
    """Names of the corners at both ends of each edge."""
    names = [corner.name for corner in loop]
    return dict(zip(edge_names(loop), zip(names, names[1:] + names[:1], strict=True), strict=True))


def _on_a_piece(one: Action) -> bool:
    """Whether it stands on a piece of an edge, and nowhere else."""
    return one.on.kind == "edge" and one.anywhere is None and (one.on.start is not None or one.on.stop is not None)


def shifted(part: Part, shifts: Sequence[Shift]) -> tuple[Part, dict[str, tuple[str, Shift | None]]]:
    """A part with all shifts beside its loads, and its cases again with each of them in place of what it is of.

    Returns
    -------
    part : Part
    cases : dict of str to (str, Shift or None)
        For each case of it the case that it is like, and what is elsewhere in it.
    """
    cases = list(part.cases)
    like: dict[str, tuple[str, Shift | None]] = {case.name: (case.name, None) for case in part.cases}
    for shift in shifts:
        for case in part.cases:
            if case.factors.get(shift.of, 0.0) != 0.0:
                cases.append(_instead(case, shift))
                like[cases[-1].name] = case.name, shift
    loads = (*part.loads, *(shift.one for shift in shifts if isinstance(shift.one, Load)))
    strikes = (*part.strikes, *(shift.one for shift in shifts if isinstance(shift.one, Strike)))
    return part.model_copy(update={"cases": tuple(cases), "loads": loads, "strikes": strikes}), like


def _instead(case: Case, shift: Shift) -> Case:
    factors = {shift.name if name == shift.of else name: one for name, one in case.factors.items()}
    return case.model_copy(update={"name": f"{case.name}, {shift.name}", "factors": factors})
