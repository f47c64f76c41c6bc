"""The flow, from a part file to a verdict: the one place that runs all of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from .certainty import Judged, how_sure
from .cracking import split_rows
from .curing import cures_of, wants_cures
from .errors import FesolveError, InputError
from .extensions import cautions, further_modes, join_woods, solver_of, used
from .fem.error import size_factors
from .fem.solution import Solution
from .judge.assess import assess, mesh_info, with_splits
from .judge.energy import BY_ENERGY
from .judge.goals import GoalErrors, goal_errors, goals_of
from .judge.inspected import inspect_part
from .judge.piece import with_proof
from .judge.struck import Struck
from .judge.through_time import followed
from .judge.verdict import FaceRow, ThroughTime, Verdict
from .mesh.fitted import fitted
from .mesh.foreign import Foreign, read_foreign
from .mesh.generate import mesh_part
from .mesh.mesh import Mesh
from .mesh.outline import Outline, part_outline
from .mesh.refine import refined_sizes
from .modelling import densities_or_none, mass_of, woods_of
from .notebook import html_of
from .otherwise import Seen, held_otherwise, solved, with_otherwise, worst_places
from .part.model import Part
from .part.read import read_part
from .part.regions import BODY
from .view.words import holds
from .wood.model import Wood

Array = NDArray[np.float64]
Progress = Callable[[str], None]

ROUNDS = 4  # meshes at most, unless mesh.refine_limit says otherwise
UNKNOWNS = 300_000  # a mesh of more is not refined
AIM = 0.6  # share of the accuracy asked for that a finer mesh is made for
FACES = ("flat-sawn", "quarter-sawn")


@dataclass(frozen=True)
class Result:
    """All that one check made.

    Attributes
    ----------
    verdict : Verdict
    part, outline, mesh, wood, solution
        The steps of the flow that led to it; `wood` is that of ``[wood]``.
    woods : mapping of str to Wood
        By region, ``part`` for the rest.
    utilisation : mapping of case name to mapping of mode to (m,) array
        At the stress points of the solution.
    """

    verdict: Verdict
    part: Part
    outline: Outline
    mesh: Mesh
    wood: Wood
    woods: Mapping[str, Wood]
    solution: Solution
    utilisation: Mapping[str, Mapping[str, Array]]

    def _repr_html_(self) -> str:
        return html_of("verdict", self.verdict)

    def save(self, folder: str | Path, *, pictures: bool = True, units: Literal["si", "us"] = "si") -> list[str]:
        """Write the results folder: verdict.json, field.vtu and the pictures, labelled in `units`.

        Returns
        -------
        list of str
            What could not be written, a sentence each.

        Raises
        ------
        InputError
            If the folder cannot be used; nothing is left half-written.
        """
        from .units import Formatter
        from .view.files import save_results, shown_of

        shown = shown_of(self.part, self.outline, self.solution, self.utilisation, self.verdict)
        return save_results(folder, self.verdict, shown, formatter=Formatter(units), pictures=pictures)


def check_file(
    path: str | Path,
    overrides: Mapping[str, str] | None = None,
    progress: Progress | None = None,
    *,
    sure: bool = True,
    cures: bool | None = None,
) -> Result:
    """Read a part file and check it.

    Parameters
    ----------
    path : str or Path
    overrides : mapping of str to str, optional
        Values that replace dimensions of the file, as ``--set`` gives them.
    progress : callable, optional
        Told what is being done.
    sure, cures : bool
        As for `check`.

    Raises
    ------
    FesolveError
        With a message for the user that names the file.
    """
    try:
        return check(read_part(path, overrides or {}), progress, sure=sure, cures=cures)
    except FesolveError as error:
        error.file = error.file or str(path)
        raise


def check(
    part: Part,
    progress: Progress | None = None,
    *,
    sure: bool = True,
    splits: bool | None = None,
    cures: bool | None = None,
    like: Result | None = None,
    on: Foreign | None = None,
) -> Result:
    """Mesh, solve and judge a part.

    Parameters
    ----------
    part : Part
    progress : callable, optional
        Told what is being done.
    sure : bool
        Whether to vary what is not known exactly, one thing at a time, and to work out the chance of failure: it takes
        half to three times as long again. Without it ``takes`` runs from the low fracture energies to the high ones.
    splits : bool, optional
        Whether to open cracks from where it may split and judge them by energy. As `sure` unless given, but for what
        may decide and is known to beforehand: cracks that are there, and places too small for the mean stress.
    cures : bool, optional
        Whether to look for what to change: some twenty quick looks at the part changed, and full checks of the best.
        Unless given, with `sure` and where the part does not hold.
    like : Result, optional
        Of much the same part: where nothing is drawn otherwise, its mesh serves again, made finer only where
        the accuracy asked for is missed.
    on : Foreign, optional
        A mesh to use as it is, on whose shape the part stands (``on.part(document)``); that of ``[mesh] file``
        unless given.

    Returns
    -------
    Result
        For a board of unknown face that of the worse face, with both faces in the verdict.
    """
    say = progress or (lambda _: None)
    join_woods()
    solver_of(part.mesh.solver)  # an unknown one is told before anything is drawn
    part, on = _on_mesh(part, on, say)
    faces = FACES if part.wood.board == "unknown" else (part.wood.board,)
    woods = [woods_of(part, face) for face in faces]
    read = part
    part, places = worst_places(part, woods[0], say)
    say("drawing")
    outline = part_outline(part)
    drawn = _drawn(part, outline, like, on, say)
    made = []
    for face, by_region in zip(faces, woods, strict=True):
        names = ", ".join(dict.fromkeys(wood.name for wood in by_region.values()))
        say(f"solving and judging {names}" + (f", {face}" if len(woods) > 1 else ""))
        seen = _accurate(part, outline, drawn, by_region, say)
        worst, rows, tried, notes = held_otherwise(part, seen, by_region, say)
        strikes, more = _through_time(worst, by_region, say)
        assessment = assess(worst.inspected, worst.mesh, strikes)
        if splits or splits is None:
            opened = split_rows(worst.inspected, assessment.verdict, say, whole=sure or bool(splits))
            assessment = with_splits(assessment, worst.inspected, strikes, opened)
        assessment = with_otherwise(assessment, places, rows, [*notes, *more])
        made.append(Judged(worst, by_region, assessment, tuple(tried)))
    worse, *others = sorted(made, key=lambda one: -one.utilisation)
    if sure:
        worse = how_sure(worse, others, say)
    result = _result(worse, made, on)
    if cures or (cures is None and sure and wants_cures(result.verdict, holds=holds(result.verdict))):
        return _with_cures(read, worse, result, on, say, every=bool(cures))
    return result


def _with_cures(
    part: Part, judged: Judged, result: Result, on: Foreign | None, say: Progress, *, every: bool
) -> Result:
    """The verdict with what to change; changed parts are judged by energy where that decides as told."""
    governing = result.verdict.governing
    splits = True if governing is not None and governing.note.startswith(BY_ENERGY) else None

    def again(changed: Part) -> Verdict:
        return check(changed, sure=False, splits=splits, like=result, on=on).verdict

    return replace(result, verdict=replace(result.verdict, cures=cures_of(part, judged, again, say, every=every)))


@dataclass(frozen=True)
class _Drawn:
    """A mesh to begin with, which round it is, and a solution on it, if there is one."""

    mesh: Mesh
    round: int = 1
    solution: Solution | None = None


def _on_mesh(part: Part, on: Foreign | None, say: Progress) -> tuple[Part, Foreign | None]:
    """The part on the shape of the mesh that is used as it is, if it has one, and that mesh."""
    if on is None and part.mesh.file is not None:
        say("reading the mesh")
        on = read_foreign(part.mesh)
    if on is None or part.shape == on.shape:
        return part, on
    if part.shape is not None:
        raise InputError("The mesh is no longer that which the part was read with. Read it again.", key="mesh.file")
    return on.part(part), on


def _drawn(part: Part, outline: Outline, like: Result | None, on: Foreign | None, say: Progress) -> _Drawn:
    """That of a part drawn the same way, the one to be used as it is, or a new one."""
    if on is not None:
        mesh = fitted(part, outline, on.traced)
        same = like is not None and _same_drawing(part, outline, like) and np.array_equal(like.mesh.points, mesh.points)
        return _Drawn(like.mesh, 1, like.solution) if same and like is not None else _Drawn(mesh)
    if like is not None and _same_drawing(part, outline, like):
        return _Drawn(like.mesh, like.verdict.mesh.rounds, like.solution)
    say("meshing")
    return _Drawn(mesh_part(part, outline))


def _same_drawing(part: Part, outline: Outline, like: Result) -> bool:
    """Whether a mesh of `like` is one of this part: its lines, regions, and what the user asks of the mesh."""
    mine, others = (
        (one.mesh, one.mesh_accuracy, one.accuracy_of, [(region.name, region.corners) for region in one.regions])
        for one in (part, like.part)
    )
    return mine == others and outline.same_lines(like.outline)


def _accurate(part: Part, outline: Outline, drawn: _Drawn, wood: Mapping[str, Wood], say: Progress) -> Seen:
    """Solve and look, on finer meshes until the means that decide are as accurate as asked for, or a limit is met."""
    mesh, rounds, like, inspected = drawn.mesh, drawn.round, drawn.solution, None
    while True:
        stands, solution, strikes = solved(part, outline, mesh, wood, like)
        inspected = inspect_part(stands, outline, wood, solution, inspected, further=further_modes())
        errors = goal_errors(solution, goals_of(inspected.looks, part.accuracy_of))
        stopped = _stopped(part, mesh, errors, rounds)
        if errors.worst <= part.mesh_accuracy or stopped:
            return Seen(inspected, strikes, mesh_info(solution, rounds, errors, stopped), part)
        factors = size_factors(errors.shares, AIM * part.mesh_accuracy)
        say(f"refining: the mesh's error is about {100 * errors.worst:.2g} %")
        try:
            mesh = mesh_part(part, outline, size=refined_sizes(mesh, factors))
        except FesolveError as error:  # too many triangles, or folded ones: what is there already still counts
            said = f"a finer mesh failed ({error.message})"
            return Seen(inspected, strikes, mesh_info(solution, rounds, errors, said), part)
        rounds, like = rounds + 1, None


def _through_time(
    seen: Seen, wood: Mapping[str, Wood], say: Progress
) -> tuple[list[tuple[Struck, ThroughTime | None]], list[str]]:
    """Each strike, followed through time where that can be done; and why it could not, a sentence each."""
    density = densities_or_none(seen.inspected.inspection.solution.model, wood)
    found: list[tuple[Struck, ThroughTime | None]] = []
    notes = []
    for struck in seen.strikes:
        say(f'following strike "{struck.strike.name}" through time')
        through, why = None, "the wood's density is not known"
        try:
            through = None if density is None else followed(seen.inspected, struck, density)
        except FesolveError as error:  # only friction holds the part, or a pin stands on a load of its own
            why = error.message
        if through is None:
            notes.append(f'Strike "{struck.strike.name}" is not followed through time, only by its energy: {why}')
        found.append((struck, through))
    return found, [note if note.endswith(".") else f"{note}." for note in notes]


def _stopped(part: Part, mesh: Mesh, errors: GoalErrors, rounds: int) -> str:
    """Why there is no finer mesh, if there is none; empty where the accuracy is reached."""
    if errors.worst <= part.mesh_accuracy:
        return ""
    if part.shape is not None:
        return "it is used as it was given (mesh.file)"
    limit = part.mesh.refine_limit or ROUNDS
    if rounds >= limit:
        return f"it stopped after {limit} mesh{'es' if limit > 1 else ''} (mesh.refine_limit)"
    if 2 * len(mesh.points) > UNKNOWNS:
        return f"it stopped at {2 * len(mesh.points):,} unknowns, more than the {UNKNOWNS:,} that it refines from"
    return ""


def _result(judged: Judged, every: Sequence[Judged], on: Foreign | None) -> Result:
    """What was told, with both faces in the verdict where both were judged, and the mesh that was given."""
    one, verdict = judged.seen.inspected.inspection, judged.assessment.verdict
    if len(every) > 1:
        told = [(face.assessment.verdict, face.utilisation) for face in every]
        verdict = replace(verdict, faces=tuple(FaceRow(v.face, use, v.takes.best) for v, use in told))
    model, woods, fields = one.solution.model, judged.woods, judged.assessment.utilisation
    moved = float(np.linalg.norm(one.solution.displacement, axis=-1).max())
    verdict = replace(verdict, cautions=(*verdict.cautions, *cautions()))
    verdict = replace(
        with_proof(verdict), mass=mass_of(model, woods), deflection=moved, extensions=used(one.part, woods.values())
    )
    if on is not None:
        given = replace(verdict.mesh, file=on.file, sha256=on.sha256, notes=on.notes)
        verdict = replace(verdict, mesh=given)
    mesh = model.mesh
    return Result(verdict, one.part, one.outline, mesh, woods[BODY], woods, one.solution, fields)
