"""From a part on its mesh to a model: its woods, what holds it and what acts on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from .errors import InputError
from .extensions import solver_of
from .fem.impact import GRAVITY
from .fem.model import PlaneModel
from .fem.stiffness import volumes
from .judge.zones import choice_of, woods_by_region
from .mesh.mesh import Mesh
from .part.actions import MOISTURE
from .part.model import Load, Part, Support, WoodChoice
from .part.regions import BODY
from .wood.conditions import Conditions
from .wood.cracks import crack_factor
from .wood.model import Wood
from .wood.scatter import at_percentiles
from .wood.species import make_wood

Array = NDArray[np.float64]

FRICTIONLESS = 0.0


def wood_of(part: Part, face: str | None) -> Wood:
    """The wood of a part as seen on one face; that of ``[wood]``."""
    return _made(part.wood, face, _depth(part, part.wood), _cracks(part))


def woods_of(part: Part, face: str | None) -> dict[str, Wood]:
    """The wood of each region, ``part`` for the rest; `face` is that of all boards that are unknown.

    Raises
    ------
    InputError
        For a wood of a region that cannot be had, with the region's name and key path.
    """
    cracks = _cracks(part)
    woods = {BODY: _made(part.wood, face, _depth(part, part.wood), cracks)}
    for number, region in enumerate(part.regions, 1):
        if region.wood is None:
            woods[region.name] = woods[BODY]
            continue
        try:
            board = face if region.wood.board == "unknown" else region.wood.board
            woods[region.name] = _made(region.wood, board, _depth(part, region.wood), cracks)
        except InputError as error:
            raise InputError(f'Region "{region.name}": {error.message}', key=f"region.{number}.{error.key}") from None
    return woods


def _depth(part: Part, choice: WoodChoice) -> float:
    """Extent of the part's corners across the grain, mm: the depth that size factors go by."""
    grain = np.radians(choice.grain)
    across = np.array([-np.sin(grain), np.cos(grain)])
    return float(np.ptp(np.array([corner.at for corner in part.corners]) @ across))


def _cracks(part: Part) -> tuple[float, bool] | None:
    """Share of the thickness that drying cracks leave where the wood is thinnest, and whether their depth is known."""
    seen = next((one for one in part.wood.seen if one.kind == "drying cracks"), None)
    if seen is None:
        return None
    thinnest = min([part.wood.thickness, *(region.thickness for region in part.regions if region.thickness)])
    return crack_factor(thinnest, seen.size, both=seen.both), seen.size is not None


def _made(choice: WoodChoice, face: str | None, depth: float, cracks: tuple[float, bool] | None) -> Wood:
    wood = make_wood(
        species=choice.species,
        face=face,
        basis=choice.basis,
        elastic=choice.elastic,
        strength=choice.strength,
        fracture=choice.fracture,
        fracture_single=choice.fracture_single,
        split_length=choice.split_length,
        density=choice.density,
        grade=choice.grade,
        strength_class=choice.strength_class,
        conditions=Conditions(
            size=choice.size,
            wet=choice.wet,
            temperature=choice.temperature,
            flat_use=choice.flat_use,
            repetitive=choice.repetitive,
            service=choice.service,
            thickness=choice.thickness,
            depth=depth,
        ),
        moisture=choice.moisture,
        shrinkage=choice.shrinkage,
        cracks=cracks,
    )
    return at_percentiles(wood, choice.percentile)


def model_of(part: Part, mesh: Mesh, wood: Wood | Mapping[str, Wood]) -> PlaneModel:
    """The part on its mesh, held and loaded; its wood by region, or one for all."""
    woods = woods_by_region(part, wood)
    if part.regions:
        there = [name for name, cells in mesh.regions.items() if any(map(len, cells.values()))]  # they may cover all
        choices = {name: choice_of(part, name) for name in there}
        model = PlaneModel(
            mesh,
            {name: woods[name].plane for name in there},
            thickness={name: choice.thickness for name, choice in choices.items()},
            grain={name: choice.grain for name, choice in choices.items()},
        )
    else:
        model = PlaneModel(mesh, woods[BODY].plane, thickness=part.wood.thickness, grain=part.wood.grain)
    model = replace(model, solver=solver_of(part.mesh.solver))
    for support in part.supports:
        model = _held(model, part, support)
    for load in part.loads:
        model = _loaded(model, load)
    for crack in part.cracks:
        left, right = (mesh.point_sets[f"crack {crack.name} {side}"] for side in ("left", "right"))
        model = model.faces(left, right, crack_direction(mesh, left), name=f"crack {crack.name}")
    if part.gravity is not None:
        weight = GRAVITY * densities(model, woods, part.gravity.density)
        model = model.body_force(weight[:, None] * np.array(part.gravity.direction), name="gravity")
    dries = next((n for n, case in enumerate(part.cases, 1) if MOISTURE in case.factors), None)
    return model if dries is None else model.initial_strain(_swelling(model, woods, dries), name=MOISTURE)


def _swelling(model: PlaneModel, woods: Mapping[str, Wood], case: int) -> Array:
    """Strain (e, 2) along and across the grain for 1 % of moisture.

    Raises
    ------
    InputError
        Where it is not known, with the key of the case that needs it.
    """
    regions = model.regions or {BODY: np.arange(model.count)}
    found = np.empty((model.count, 2))
    for name, cells in regions.items():
        shrinks = woods[name].shrinkage
        if shrinks is None:
            where = f' of region "{name}"' if name != BODY else ""
            raise InputError(
                f"How much the wood{where} shrinks is not known: it has no species. Give [wood.shrinkage] with across, "
                'for each 1 % of moisture, as in across = "0.25 %".',
                key=f"case.{case}.moisture_change",
            )
        found[cells] = shrinks.along, shrinks.across
    return found


def crack_direction(mesh: Mesh, face: NDArray[np.int64]) -> tuple[float, float]:
    """Unit vector along a crack, from where it begins, by the nodes of a face in order."""
    way = mesh.points[face[-1]] - mesh.points[face[0]]
    x, y = way / np.linalg.norm(way)
    return float(x), float(y)


def densities(model: PlaneModel, woods: Mapping[str, Wood], given: float | None = None) -> Array:
    """Density of each element, tonne/mm^3: one given for all, or of the wood there.

    Raises
    ------
    InputError
        Where none is known.
    """
    regions = model.regions or {BODY: np.arange(model.count)}
    found = np.empty(model.count)
    for name, cells in regions.items():
        density = given if given is not None else woods[name].density
        if density is None and len(cells):
            where = f' of region "{name}"' if name != BODY else ""
            raise InputError(
                f"No density{where} is known for self-weight; give it with the wood, or one for all.",
                key="gravity.density",
            )
        found[cells] = np.nan if density is None else density
    return found


def densities_or_none(model: PlaneModel, woods: Mapping[str, Wood]) -> Array | None:
    """Density of each element as its wood has it, tonne/mm^3; None where one is not known."""
    known = all(woods[name].density is not None for name in (model.regions or [BODY]))
    return densities(model, woods) if known else None


def mass_of(model: PlaneModel, woods: Mapping[str, Wood]) -> float | None:
    """Mass of the part, kg; None where the density of a wood in it is not known."""
    density = densities_or_none(model, woods)
    return None if density is None else 1e3 * float(density @ volumes(model))


def _held(model: PlaneModel, part: Part, support: Support) -> PlaneModel:
    edge = f"support {support.name}"
    friction = FRICTIONLESS if support.friction is None else support.friction
    if support.kind == "pin":
        hole = next(hole for hole in part.holes if hole.name == support.on.name)
        diameter = hole.diameter if support.pin is None else support.pin
        given = support.pin_stiffness
        springs = None if given is None else (given, given)
        return model.one_way_pin(edge, hole.center, diameter, stiffness=springs, friction=friction, name=support.name)
    if support.kind == "rest":
        return model.one_way(edge, gap=support.gap or 0.0, friction=friction, name=support.name)
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
