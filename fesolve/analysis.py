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
from .judge.zones import choice_of, woods_by_region
from .mesh.generate import mesh_part
from .mesh.mesh import Mesh
from .mesh.outline import Outline, part_outline
from .mesh.refine import refined_sizes
from .part.model import Gravity, Load, Part, Support, WoodChoice
from .part.read import read_part
from .part.regions import BODY
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
    faces = FACES if part.wood.board == "unknown" else (part.wood.board,)
    woods = [woods_of(part, face) for face in faces]
    say("drawing")
    outline = part_outline(part)
    say("meshing")
    mesh = mesh_part(part, outline)
    results = []
    for face, by_region in zip(faces, woods, strict=True):
        names = ", ".join(dict.fromkeys(wood.name for wood in by_region.values()))
        say(f"solving and judging {names}" + (f", {face}" if len(woods) > 1 else ""))
        inspected, info = _accurate(part, outline, mesh, by_region, say)
        results.append(_result(inspected, by_region, assess(inspected, info)))
    return results[0] if len(results) == 1 else _worse(results)


def _accurate(
    part: Part, outline: Outline, mesh: Mesh, wood: Mapping[str, Wood], say: Progress
) -> tuple[Inspected, MeshInfo]:
    """Solve and look, on finer meshes until the means that decide are as accurate as asked for, or a limit is met."""
    rounds, inspected = 1, None
    while True:
        solution = model_of(part, mesh, wood).solve([case.factors for case in part.cases])
        inspected = inspect_part(part, outline, wood, solution, inspected)
        errors = goal_errors(solution, goals_of(inspected.looks, part.accuracy_of))
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
    """The wood of a part as seen on one face; that of ``[wood]``."""
    return _made(part.wood, face)


def woods_of(part: Part, face: str | None) -> dict[str, Wood]:
    """The wood of each region, ``part`` for the rest; `face` is that of all boards that are unknown.

    Raises
    ------
    InputError
        For a wood of a region that cannot be had, with the region's name and key path.
    """
    woods = {BODY: wood_of(part, face)}
    for number, region in enumerate(part.regions, 1):
        if region.wood is None:
            woods[region.name] = woods[BODY]
            continue
        try:
            woods[region.name] = _made(region.wood, face if region.wood.board == "unknown" else region.wood.board)
        except InputError as error:
            raise InputError(f'Region "{region.name}": {error.message}', key=f"region.{number}.{error.key}") from None
    return woods


def _made(choice: WoodChoice, face: str | None) -> Wood:
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


def model_of(part: Part, mesh: Mesh, wood: Wood | Mapping[str, Wood]) -> PlaneModel:
    """The part on its mesh, held and loaded; its wood by region, or one for all."""
    woods = woods_by_region(part, wood)
    if part.regions:
        choices = {name: choice_of(part, name) for name in mesh.regions}
        model = PlaneModel(
            mesh,
            {name: woods[name].plane for name in mesh.regions},
            thickness={name: choice.thickness for name, choice in choices.items()},
            grain={name: choice.grain for name, choice in choices.items()},
        )
    else:
        model = PlaneModel(mesh, woods[BODY].plane, thickness=part.wood.thickness, grain=part.wood.grain)
    for support in part.supports:
        model = _held(model, part, support)
    for load in part.loads:
        model = _loaded(model, load)
    if part.gravity is not None:
        weight = STANDARD_GRAVITY * _densities(part, model, woods, part.gravity)
        model = model.body_force(weight[:, None] * np.array(part.gravity.direction), name="gravity")
    return model


def _densities(part: Part, model: PlaneModel, woods: Mapping[str, Wood], gravity: Gravity) -> Array:
    """Density of each element, tonne/mm^3: that of [gravity], or of the wood there."""
    regions = model.regions or {BODY: np.arange(model.count)}
    found = np.empty(model.count)
    for name, cells in regions.items():
        density = gravity.density if gravity.density is not None else woods[name].density
        if density is None and len(cells):
            where = f' of region "{name}"' if name != BODY else ""
            raise InputError(
                f"No density{where} is known for self-weight; give it with the wood, or one for all.",
                key="gravity.density",
            )
        found[cells] = np.nan if density is None else density
    return found


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


def _result(inspected: Inspected, woods: Mapping[str, Wood], assessment: Assessment) -> Result:
    seen = inspected.inspection
    mesh = seen.solution.model.mesh
    return Result(
        assessment.verdict, seen.part, seen.outline, mesh, woods[BODY], woods, seen.solution, assessment.utilisation
    )


def _worse(results: list[Result]) -> Result:
    """Of both faces the worse, with both in its verdict."""

    def utilisation(result: Result) -> float:
        return result.verdict.governing.utilisation if result.verdict.governing else 0.0

    worse = max(results, key=utilisation)
    faces = tuple(FaceRow(r.verdict.face, utilisation(r), r.verdict.takes.best) for r in results)
    return replace(worse, verdict=replace(worse.verdict, faces=faces))
