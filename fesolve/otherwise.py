"""The same part otherwise: its loads where they are worst, other friction, a worn pin."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from .errors import SolveError
from .extensions import further_modes
from .fem.model import PlaneModel
from .fem.solution import Solution
from .judge.assess import Assessment
from .judge.cautions import limits_of_variants
from .judge.inspected import Inspected, inspect_part
from .judge.patches import patches_of
from .judge.struck import Struck, standing, strikes_of
from .judge.taking import worst_use
from .judge.verdict import MeshInfo, MovingRow, VariantRow
from .mesh.generate import mesh_part
from .mesh.mesh import Mesh
from .mesh.outline import Outline, part_outline
from .modelling import densities_or_none, model_of
from .part.model import Load, Part, Strike
from .part.variants import variants
from .wood.model import Wood

Progress = Callable[[str], None]

PLACES = 7  # at which a moving load is looked at first; then half-way to both neighbours of the worst
WORSE = 1.005  # a variant by so much worse than the others decides
AS_DRAWN = "as drawn, no friction where none is given"


@dataclass(frozen=True)
class Seen:
    """A part solved and looked at, its strikes, and what is known of its mesh.

    ``part`` is as it was read, or a variant of it, with its strikes.
    """

    inspected: Inspected
    strikes: tuple[Struck, ...]
    mesh: MeshInfo
    part: Part

    @property
    def forces(self) -> dict[str, float]:
        """The force of the strike of each case that has one, N."""
        return {one.case: one.force for one in self.strikes}


@dataclass(frozen=True)
class Tried:
    """A variant of the part, looked at on the mesh of the part."""

    what: str
    seen: Seen


def prepared(
    part: Part,
    outline: Outline,
    mesh: Mesh,
    wood: Mapping[str, Wood],
    like: Solution | None = None,
    near: Mapping[str, float] | None = None,
) -> tuple[Part, PlaneModel, tuple[Struck, ...]]:
    """A part with its strikes made loads of their forces, ready to solve.

    Quicker beside a solution of much the same on the same mesh (`like`), and with forces by case that lie `near`.
    """
    stands = standing(part)
    model, strikes = model_of(stands, mesh, wood), tuple[Struck, ...]()
    if like is not None:
        model = model.beside(like.model)
    if part.strikes:
        density = densities_or_none(model, wood)
        strikes = strikes_of(part, model, density, wood, patches_of(stands, outline, mesh), near)
        stands = standing(part, {one.case: one.force for one in strikes})
    return stands, model, strikes


def solved(
    part: Part,
    outline: Outline,
    mesh: Mesh,
    wood: Mapping[str, Wood],
    like: Solution | None = None,
    near: Mapping[str, float] | None = None,
) -> tuple[Part, Solution, tuple[Struck, ...]]:
    """A part with its strikes made loads of their forces, solved; `like` and `near` as for `prepared`."""
    stands, model, strikes = prepared(part, outline, mesh, wood, like, near)
    names = [f'Case "{case.name}"' if part.has_cases else "The loads" for case in stands.cases]
    return stands, model.solve([case.factors for case in stands.cases], names), strikes


# ---- other places


def worst_places(part: Part, wood: Mapping[str, Wood], say: Progress) -> tuple[Part, tuple[MovingRow, ...]]:
    """The part with each load and strike that may sit anywhere in a range where it is worst, one after the other."""
    rows = []
    movers: list[Load | Strike] = [*part.loads, *part.strikes]
    for one in movers:
        if one.anywhere is None or one.width is None:
            continue
        say(f'looking for the worst place of "{one.name}"')
        uses: dict[float, float] = {}
        low, high = one.anywhere[0], one.anywhere[1] - one.width
        starts = np.linspace(low, high, PLACES if high > low else 1)
        for start in starts.tolist():
            uses[start] = _use_at(part, one, start, wood)
        step = (high - low) / (PLACES - 1)
        best = max(uses, key=lambda start: uses[start])
        for start in (best - step / 2, best + step / 2):
            if low < start < high:
                uses[start] = _use_at(part, one, start, wood)
        best = max(uses, key=lambda start: uses[start])
        part = _with(part, one.moved(best))
        stop = best + one.width
        rows.append(MovingRow(one.name, one.on.text, best, stop, len(uses), min(uses.values()), uses[best]))
    return part, tuple(rows)


def _use_at(part: Part, one: Load | Strike, start: float, wood: Mapping[str, Wood]) -> float:
    """Worst utilisation with a load or strike from a distance along its edge, on a first mesh."""
    there = _with(part, one.moved(start))
    outline = part_outline(there)
    stands, solution, _ = solved(there, outline, mesh_part(there, outline), wood)
    return worst_use(inspect_part(stands, outline, wood, solution, further=further_modes()))


def _with(part: Part, one: Load | Strike) -> Part:
    what = "loads" if isinstance(one, Load) else "strikes"
    rows = tuple(one if other.name == one.name else other for other in getattr(part, what))
    return part.model_copy(update={what: rows})


# ---- held otherwise


def held_otherwise(
    part: Part, seen: Seen, wood: Mapping[str, Wood], say: Progress
) -> tuple[Seen, tuple[VariantRow, ...], list[Tried], list[str]]:
    """The part and its variants on one mesh: the worst of them, a row and a look each, and what could not be solved."""
    one = seen.inspected.inspection
    rows, worst, notes = [VariantRow(AS_DRAWN, worst_use(seen.inspected))], seen, list[str]()
    tried = [Tried(AS_DRAWN, seen)]
    for variant in variants(part):
        say(f"solving and judging with {variant.what}")
        try:
            mesh, like, near = one.solution.model.mesh, one.solution, seen.forces
            stands, solution, strikes = solved(variant.part, one.outline, mesh, wood, like, near)
        except SolveError as error:
            notes.append(f"Not solved with {variant.what}: {error.message}")
            continue
        inspected = inspect_part(stands, one.outline, wood, solution, grown=one.grown, further=one.further)
        rows.append(VariantRow(variant.what, worst_use(inspected)))
        tried.append(Tried(variant.what, Seen(inspected, strikes, seen.mesh, variant.part)))
        if rows[-1].utilisation > WORSE * max(row.utilisation for row in rows[:-1]):
            worst = tried[-1].seen
    return worst, tuple(rows) if len(rows) > 1 else (), tried if len(tried) > 1 else [], notes


def with_otherwise(
    assessment: Assessment, places: tuple[MovingRow, ...], rows: tuple[VariantRow, ...], notes: list[str]
) -> Assessment:
    """The verdict with its variants and the places of its loads, and what they say of its certainty."""
    verdict = assessment.verdict
    verdict = replace(
        verdict,
        moving=places,
        variants=rows,
        limits=(*verdict.limits, *limits_of_variants(rows)),
        cautions=(*verdict.cautions, *notes),
    )
    return replace(assessment, verdict=verdict)
