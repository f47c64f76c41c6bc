"""Where something presses on a grid: pressed fibres do not count in the combined mode so near to it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from ..fem.boundary import side_quadrature
from ..fem.picked import Picked
from ..fem.solution import Solution
from .places import Acting

Array = NDArray[np.float64]
Near = Callable[[Array], NDArray[np.bool_]]

STEPS = 40  # samples of a place by which the distance to it is told
ROUNDING = 1e-6  # of a force: a place that is sheared alone does not press


def forces_on(solution: Solution, acting: Acting) -> dict[str, Array]:
    """The force on the wood (2,) N at each place, what holds it there included."""
    found: dict[str, Array] = {}
    names = {load.name: load.resultant for load in solution.model.loads}
    reactions = solution.reactions
    for kind, place, _ in acting.loads:
        force = names[place] if place in names else names[f"{kind} {place}"]
        found[place] = found.get(place, np.zeros(2)) + force
    for place in acting.holds:
        found[place] = found.get(place, np.zeros(2)) + reactions.get(place, np.zeros(2))
    return found


def near_what_presses(solution: Solution, acting: Acting, places: Mapping[str, Picked]) -> Near:
    """A function that tells which points (k, 2) lie within a place's length of one that presses into the wood.

    Of a place all round a hole it is a diameter.
    """
    from scipy.spatial import cKDTree

    trees = []
    for name, force in forces_on(solution, acting).items():
        sides = places[name].sides
        if len(sides) == 0:
            continue
        face = side_quadrature(solution.model.mesh, sides)
        normal = np.einsum("kq,kqi->i", face.lengths, face.normals)
        closed = bool((np.unique(sides[:, :2], return_counts=True)[1] == 2).all())
        if closed or float(-force @ normal) > ROUNDING * float(np.linalg.norm(force) * np.linalg.norm(normal)):
            reach = face.length / np.pi if closed else face.length
            trees.append((cKDTree(_samples(solution.model.mesh.points[sides[:, :2]])), reach))

    def near(points: Array) -> NDArray[np.bool_]:
        found = np.zeros(len(points), dtype=bool)
        for tree, reach in trees:
            found |= tree.query(points, distance_upper_bound=reach)[0] <= reach
        return found

    return near


def _samples(ends: Array) -> Array:
    """Points along sides with ends (k, 2, 2)."""
    share = np.linspace(0.0, 1.0, max(STEPS // len(ends), 2))[:, None, None]
    return np.asarray(((1 - share) * ends[:, 0] + share * ends[:, 1]).reshape(-1, 2))
