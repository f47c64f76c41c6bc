"""The flow, from a part file to a verdict: the one place that runs all of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from .errors import FesolveError, InputError
from .fem.error import size_factors
from .fem.model import PlaneModel
from .fem.solution import Solution
from .judge.assess import Assessment, Inspected, assess, inspect_part, mesh_info
from .judge.goals import GoalErrors, goal_errors, goals_of
from .judge.verdict import FaceRow, MeshInfo, Verdict
from .mesh.generate import mesh_part
from .mesh.mesh import Mesh
from .mesh.outline import Outline, part_outline
from .mesh.refine import refined_sizes
from .part.model import Load, Part, Support
from .part.read import read_part
from .wood.model import Wood
from .wood.species import make_wood

Array = NDArray[np.float64]
Progress = Callable[[str], None]

ROUNDS = 4  # meshes at most, unless mesh.refine_limit says otherwise
UNKNOWNS = 300_000  # a mesh of more is not refined
AIM = 0.6  # share of the accuracy asked for that a finer mesh is made for
STANDARD_GRAVITY = 9806.65  # mm/s^2
FACES = ("flat-sawn", "quarter-sawn")


@dataclass(frozen=True)
class Result:
    """All that one check made.

    Attributes
    ----------
    verdict : Verdict
    part, outline, mesh, wood, solution
        The steps of the flow that led to it.
    utilisation : mapping of case name to mapping of mode to (m,) array
        At the stress points of the solution.
    """

    verdict: Verdict
    part: Part
    outline: Outline
    mesh: Mesh
    wood: Wood
    solution: Solution
    utilisation: Mapping[str, Mapping[str, Array]]

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
    path: str | Path, overrides: Mapping[str, str] | None = None, progress: Progress | None = None
) -> Result:
    """Read a part file and check it.

    Parameters
    ----------
    path : str or Path
    overrides : mapping of str to str, optional
        Values that replace dimensions of the file, as ``--set`` gives them.
    progress : callable, optional
        Told what is being done.

    Raises
    ------
    FesolveError
        With a message for the user that names the file.
    """
    try:
        return check(read_part(path, overrides or {}), progress)
    except FesolveError as error:
        error.file = error.file or str(path)
        raise


def check(part: Part, progress: Progress | None = None) -> Result:
    """Mesh, solve and judge a part.

    Parameters
    ----------
    part : Part
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    Result
        For a board of unknown face that of the worse face, with both faces in the verdict.
    """
    say = progress or (lambda _: None)
    if part.regions:
        raise InputError(
            f'Region "{part.regions[0].name}" is drawn and can be meshed, but a verdict by region is not supported in '
            "this version. Leave [[region]] out, or mesh and solve it from Python.",
            key="region.1",
        )
    faces = FACES if part.wood.board == "unknown" else (part.wood.board,)
    woods = [wood_of(part, face) for face in faces]
    say("drawing")
    outline = part_outline(part)
    say("meshing")
    mesh = mesh_part(part, outline)
    results = []
    for wood in woods:
        say(f"solving and judging {wood.name}" + (f", {wood.face}" if len(woods) > 1 else ""))
        inspected, info = _accurate(part, outline, mesh, wood, say)
        results.append(_result(inspected, assess(inspected, info)))
    return results[0] if len(results) == 1 else _worse(results)


def _accurate(part: Part, outline: Outline, mesh: Mesh, wood: Wood, say: Progress) -> tuple[Inspected, MeshInfo]:
    """Solve and look, on finer meshes until the means that decide are as accurate as asked for, or a limit is met."""
    rounds, inspected = 1, None
    while True:
        solution = model_of(part, mesh, wood).solve([case.factors for case in part.cases])
        inspected = inspect_part(part, outline, wood, solution, inspected)
        errors = goal_errors(solution, goals_of(inspected.inspection, inspected.fields, part.accuracy_of))
        stopped = _stopped(part, mesh, errors, rounds)
        if errors.worst <= part.mesh_accuracy or stopped:
            return inspected, mesh_info(solution, rounds, errors, stopped)
        factors = size_factors(errors.shares, AIM * part.mesh_accuracy)
        say(f"refining: the mesh's error is about {100 * errors.worst:.2g} %")
        try:
            mesh = mesh_part(part, outline, size=refined_sizes(mesh, factors))
        except FesolveError as error:  # too many triangles, or folded ones: what is there already still counts
            return inspected, mesh_info(solution, rounds, errors, f"a finer mesh failed ({error.message})")
        rounds += 1


def _stopped(part: Part, mesh: Mesh, errors: GoalErrors, rounds: int) -> str:
    """Why there is no finer mesh, if there is none; empty where the accuracy is reached."""
    if errors.worst <= part.mesh_accuracy:
        return ""
    limit = part.mesh.refine_limit or ROUNDS
    if rounds >= limit:
        return f"it stopped after {limit} mesh{'es' if limit > 1 else ''} (mesh.refine_limit)"
    if 2 * len(mesh.points) > UNKNOWNS:
        return f"it stopped at {2 * len(mesh.points):,} unknowns, more than the {UNKNOWNS:,} that it refines from"
    return ""


def wood_of(part: Part, face: str | None) -> Wood:
    """The wood of a part as seen on one face."""
    choice = part.wood
    return make_wood(
        species=choice.species,
        face=face,
        basis=choice.basis,
        elastic=choice.elastic,
        strength=choice.strength,
        fracture=choice.fracture,
        fracture_single=choice.fracture_single,
        split_length=choice.split_length,
        density=choice.density,
    )


def model_of(part: Part, mesh: Mesh, wood: Wood) -> PlaneModel:
    """The part on its mesh, held and loaded."""
    model = PlaneModel(mesh, wood.plane, thickness=part.wood.thickness, grain=part.wood.grain)
    for support in part.supports:
        model = _held(model, part, support)
    for load in part.loads:
        model = _loaded(model, load)
    if part.gravity is not None:
        density = part.gravity.density if part.gravity.density is not None else wood.density
        if density is None:
            raise InputError("No density is known for self-weight; give one.", key="gravity.density")
        x, y = part.gravity.direction
        weight = density * STANDARD_GRAVITY
        model = model.body_force((weight * x, weight * y), name="gravity")
    return model


def _held(model: PlaneModel, part: Part, support: Support) -> PlaneModel:
    edge = f"support {support.name}"
    if support.kind == "pin":
        center = next(hole.center for hole in part.holes if hole.name == support.on.name)
        return model.pin(edge, center, name=support.name)
    if support.kind == "fixed":
        return model.fix(edge, support.axes or ("x", "y"), name=support.name)
    if support.kind == "spring":
        return model.spring(edge, support.stiffness or 0.0, support.axes, name=support.name)
    return model.roller(edge, name=support.name)


def _loaded(model: PlaneModel, load: Load) -> PlaneModel:
    edge = f"load {load.name}"
    if load.force is not None and load.on.kind == "hole":
        return model.bearing(edge, load.force, name=load.name)
    if load.force is not None:
        return model.force(edge, load.force, name=load.name)
    if load.traction is not None:
        return model.traction(edge, load.traction, name=load.name)
    return model.pressure(edge, load.pressure or 0.0, name=load.name)


def _result(inspected: Inspected, assessment: Assessment) -> Result:
    seen = inspected.inspection
    mesh = seen.solution.model.mesh
    return Result(assessment.verdict, seen.part, seen.outline, mesh, seen.wood, seen.solution, assessment.utilisation)


def _worse(results: list[Result]) -> Result:
    """Of both faces the worse, with both in its verdict."""

    def utilisation(result: Result) -> float:
        return result.verdict.governing.utilisation if result.verdict.governing else 0.0

    worse = max(results, key=utilisation)
    faces = tuple(FaceRow(r.verdict.face, utilisation(r), r.verdict.takes.best) for r in results)
    return replace(worse, verdict=replace(worse.verdict, faces=faces))
