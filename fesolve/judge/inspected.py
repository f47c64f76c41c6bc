"""A solved part looked at: what acts on it, and where it would split."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..fem.initial_strain import StrainLoad
from ..fem.loads import AppliedLoad
from ..fem.solution import Reaction, Solution
from ..mesh.outline import Outline
from ..part.model import Case, Part
from ..wood.model import Wood
from .further import Further
from .interaction import check_closed
from .modes import (
    Inspection,
    Look,
    inspect_case,
)
from .patches import Patch, patches_of
from .unlimited import Unlimited, growing_peaks
from .verdict import (
    LoadRow,
    ReactionRow,
)
from .zones import woods_by_region, zones_of

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Inspected:
    """A solved part looked at once: what acts on it, and its splits with the low energies.

    Attributes
    ----------
    looks : tuple of Look
        One a zone: wood of one kind with one grain.
    loads, reactions : tuple of rows
        All cases.
    actions : mapping of case name to list of (Patch, (2,) array)
        Every patch on which something acts, with the force on the wood there, N.
    """

    looks: tuple[Look, ...]
    loads: tuple[LoadRow, ...]
    reactions: tuple[ReactionRow, ...]
    actions: Mapping[str, list[tuple[Patch, Array]]]

    @property
    def inspection(self) -> Inspection:
        """That of the first zone, for what all of them share."""
        return self.looks[0].inspection

    @property
    def woods(self) -> Mapping[str, Wood]:
        """The wood of each region."""
        return {name: look.wood for look in self.looks for name in look.names}


def inspect_part(
    part: Part,
    outline: Outline,
    wood: Wood | Mapping[str, Wood],
    solution: Solution,
    before: Inspected | None = None,
    *,
    grown: tuple[Unlimited, ...] = (),
    high: bool = False,
    quick: bool = False,
    further: tuple[Further, ...] = (),
) -> Inspected:
    """Find what acts on a solved part and its worst splits: enough to see how good the mesh is.

    Parameters
    ----------
    part : Part
    outline : Outline
    wood : Wood, or mapping of str to Wood
        By region, ``part`` for the rest.
    solution : Solution
        With one entry a case of the part, in their order.
    before : Inspected, optional
        On the mesh before this one, to see which peaks grow.
    grown : tuple of Unlimited
        What is known to grow already.
    high : bool
        Search with the high energies instead of the low ones.
    quick : bool
        One coarse sweep for splits: to compare with another quick look at much the same, not to state figures from.
    further : tuple of Further
        Modes of other packages.
    """
    patches = patches_of(part, outline, solution.model.mesh)
    if before is not None:
        known = before.inspection.unlimited
        grown = (*before.inspection.grown, *growing_peaks(before.inspection.solution, solution, known))
    loads = tuple(row for case in part.cases for row in _load_rows(case, solution.model.loads, patches))
    reactions = tuple(
        _reaction_row(part, case, one, patches)
        for case, rows in zip(part.cases, solution.case_reactions, strict=True)
        for one in rows
    )
    actions = {case.name: _actions(patches, case.name, loads, reactions) for case in part.cases}
    pressing = {name: tuple(p for p, force in rows if p.pushes(force)) for name, rows in actions.items()}
    looks = []
    for zone in zones_of(part, woods_by_region(part, wood), solution):
        inspection = Inspection(part, outline, zone.wood, solution, patches, grown, zone, further)
        check_closed(inspection.plane_strength, part.judging.combined)
        fields = tuple(
            inspect_case(inspection, case.name, stress, pressing[case.name], high=high, quick=quick)
            for case, stress in zip(part.cases, solution.stress_grain, strict=True)
        )
        looks.append(Look(inspection, fields))
    return Inspected(tuple(looks), loads, reactions, actions)


def judged_again(inspected: Inspected, change: Callable[[Wood], Wood]) -> Inspected:
    """The same solution looked at quickly with other strengths or energies."""
    looks = []
    for look in inspected.looks:
        inspection = look.inspection.with_wood(change(look.wood))
        fields = tuple(
            inspect_case(inspection, field.name, field.stress, field.pressing, quick=True) for field in look.fields
        )
        looks.append(Look(inspection, fields))
    return replace(inspected, looks=tuple(looks))


def _load_rows(case: Case, loads: Sequence[AppliedLoad], patches: Mapping[tuple[str, str], Patch]) -> list[LoadRow]:
    rows = []
    for load in loads:
        factor = case.factors.get(load.name, 0.0)
        if factor == 0.0 or isinstance(load, StrainLoad):
            continue
        patch = patches.get(("load", load.name))
        force = factor * load.resultant
        at = load.center if patch is None else patch.middle
        on, outline = ("the whole part", ()) if patch is None else (patch.on.text, patch.outline)
        rows.append(LoadRow(load.name, case.name, pair(force), on, pair(at), outline, case.partial.get(load.name, 1.0)))
    return rows


def _reaction_row(part: Part, case: Case, one: Reaction, patches: Mapping[tuple[str, str], Patch]) -> ReactionRow:
    support = next(support for support in part.supports if support.name == one.name)
    patch = patches["support", one.name]
    moment = one.moment(patch.middle)
    force = pair(one.resultant)
    return ReactionRow(
        one.name, case.name, force, moment, support.kind, support.on.text, pair(patch.middle), patch.outline
    )


def pair(vector: Array) -> tuple[float, float]:
    """A vector (2,) as a tuple."""
    return float(vector[0]), float(vector[1])


def _actions(
    patches: Mapping[tuple[str, str], Patch], case: str, loads: Sequence[LoadRow], reactions: Sequence[ReactionRow]
) -> list[tuple[Patch, Array]]:
    """Every patch on which something acts in a case, with the force (2,) N on the wood there."""
    rows = [("load", row) for row in loads] + [("support", row) for row in reactions]
    return [
        (patches[kind, row.name], np.array(row.force))
        for kind, row in rows
        if row.case == case and (kind, row.name) in patches
    ]
