"""Zones: the pieces of a part within which fibres run on.

A zone is all wood of one kind with one direction of the grain. A grain line ends where its zone does: beyond it lie
other fibres, and the bond between the two is not modelled. Regions that differ in thickness alone are one zone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..fem.solution import Solution
from ..mesh.regions import BODY, region_at
from ..part.model import Part, WoodChoice
from ..part.regions import BODY as REST
from ..wood.model import Wood

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

SAME_GRAIN = 1e-9  # deg
NUDGE = 1e-3  # mm: a point on a border belongs to what lies so near it


@dataclass(frozen=True, eq=False)
class Zone:
    """Wood of one kind with one direction of the grain.

    Attributes
    ----------
    regions : tuple of str
        Names of the regions that it is made of, ``part`` for the rest.
    wood : Wood
    grain : float
        From +x to the fibres, deg.
    cells : mapping of str to (k,) array
        Elements of each of its regions.
    points : (m,) bool array
        Which stress points belong to it.
    """

    regions: tuple[str, ...]
    wood: Wood
    grain: float
    cells: Mapping[str, IntArray]
    points: BoolArray

    @property
    def elements(self) -> IntArray:
        """All its elements."""
        return np.concatenate(list(self.cells.values()))


def choice_of(part: Part, region: str) -> WoodChoice:
    """The wood of a region as the user names it, with the thickness and the grain that count there.

    Parameters
    ----------
    part : Part
    region : str
        Its name; ``part`` for the rest.
    """
    one = next((one for one in part.regions if one.name == region), None)
    if one is None:
        return part.wood
    changes = {"thickness": one.thickness, "grain": one.grain}
    given = {key: value for key, value in changes.items() if value is not None}
    return (one.wood or part.wood).model_copy(update=given)


def woods_by_region(part: Part, wood: Wood | Mapping[str, Wood]) -> Mapping[str, Wood]:
    """A wood for each region, ``part`` first; one wood alone serves all of them."""
    if isinstance(wood, Mapping):
        return wood
    return dict.fromkeys(region_names(part), wood)


def region_names(part: Part) -> tuple[str, ...]:
    """Names of all regions, the rest first."""
    return (REST, *(region.name for region in part.regions))


def names_at(part: Part, points: Array) -> list[str]:
    """Name of the region at each of the points (k, 2); ``part`` for the rest."""
    names = [region.name for region in part.regions]
    return [REST if i == BODY else names[i] for i in region_at(part, points).tolist()]


def zones_of(part: Part, woods: Mapping[str, Wood], solution: Solution) -> tuple[Zone, ...]:
    """Put the regions of a solved part together that have one wood and one grain.

    Parameters
    ----------
    part : Part
    woods : mapping of str to Wood
        By region.
    solution : Solution
    """
    model = solution.model
    regions = {name: cells for name, cells in model.regions.items() if len(cells)}
    if not regions:
        every = np.ones(len(solution.stress_point), dtype=bool)
        return (Zone((REST,), woods[REST], part.wood.grain, {REST: np.arange(model.count)}, every),)
    groups: list[list[str]] = []
    for name in regions:
        mine = next((group for group in groups if _alike(part, woods, group[0], name)), None)
        if mine is None:
            groups.append([name])
        else:
            mine.append(name)
    order = list(model.regions)
    zones = []
    for group in groups:
        points = np.isin(solution.stress_region, [order.index(name) for name in group])
        grain, cells = choice_of(part, group[0]).grain, {name: regions[name] for name in group}
        zones.append(Zone(tuple(group), woods[group[0]], grain, cells, points))
    return tuple(zones)


def _alike(part: Part, woods: Mapping[str, Wood], one: str, other: str) -> bool:
    turned = choice_of(part, one).grain - choice_of(part, other).grain
    return woods[one] == woods[other] and abs((turned + 90.0) % 180.0 - 90.0) <= SAME_GRAIN


def region_of(part: Part, zone: Zone | None, point: Array) -> str:
    """Name of the region at a point (2,) mm of a zone, also on a border of it; empty in a part without regions."""
    if not part.regions:
        return ""
    angles = np.radians(np.arange(0.0, 360.0, 45.0) + 7.0)
    around = point + NUDGE * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    names = names_at(part, np.concatenate([point[None], around]))
    if zone is None:
        return names[0]
    return next((name for name in names if name in zone.regions), zone.regions[0])
