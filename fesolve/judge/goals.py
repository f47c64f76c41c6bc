"""The stresses that the verdict rests on, as weighted sums that an error estimate can follow.

A verdict is a few means: over the windows of the worst splits, over the short lines from the surface, or, where asked
for, a peak. Each is a weighted sum of stresses at a few samples; with the slope of its criterion it is the change of a
utilisation with the stress field, and so its error is a linear quantity.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ..bases import DESIGN
from ..fem.elements import TRIANGLE6
from ..fem.error import goal_error, stress_functional
from ..fem.solution import Solution
from ..wood.orthotropic import stress_rotation
from .criteria import split_utilisation
from .edges import WEIGHTS
from .modes import COMBINED_MARGIN, CaseField, Inspection, Look, of_means, of_windows
from .search import NOISE, Spot
from .splitting import Windows
from .verdict import COMBINED, SHEAR, SPLITTING, TENSION_ALONG

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]

SPOTS = 3  # hot spots of a case whose error is followed
SHARE = 0.5  # what lies below this share of the greatest utilisation is not
STEP = 1e-6  # of the size of the stresses, for the slopes of the criteria


@dataclass(frozen=True)
class Goal:
    """One utilisation as a weighted sum of stresses.

    Attributes
    ----------
    case : int
    mode : str
    utilisation : float
        As judged; of a peak, pointwise.
    at : (2,) array
        Where, mm.
    element, reference : (k,), (k, 2) arrays
        Samples in the mesh.
    weights : (k, 3) array
        On σ_0, σ_90, τ there, 1/MPa: dU = Σ w · dσ.
    grain : float
        deg.
    peak : bool
        Whether it is a stress at a point and not a mean.
    """

    case: int
    mode: str
    utilisation: float
    at: Array
    element: IntArray
    reference: Array
    weights: Array
    grain: float
    peak: bool = False


@dataclass(frozen=True)
class GoalErrors:
    """How wrong the followed utilisations are.

    Attributes
    ----------
    goals : tuple of Goal
    relative : (g,) array
        Estimated error of each over its utilisation: the sum of the sizes of the elements' shares.
    shares : (E,) array
        Of each element the greatest relative share over all goals.
    """

    goals: tuple[Goal, ...]
    relative: Array
    shares: Array

    @property
    def worst(self) -> float:
        """The greatest; 0 where nothing is loaded."""
        return float(self.relative.max(initial=0.0))


def goals_of(looks: Sequence[Look], of: Literal["mean", "peak"] = "mean") -> tuple[Goal, ...]:
    """What the verdict rests on: the hot spots, and the other deciding modes where they come near them.

    Parameters
    ----------
    looks : sequence of Look
        One a zone.
    of : {"mean", "peak"}
        With "peak" the peaks of the same modes are followed as well, except where they have no limit.
    """
    means = [(look, goal) for case in range(len(looks[0].fields)) for look, goal in _means_of(looks, case)]
    stress = max(float(np.abs(field.stress).max()) for look in looks for field in look.fields)
    noise = NOISE * stress / min(look.inspection.strength.shear for look in looks)
    least = SHARE * max((goal.utilisation for _, goal in means), default=0.0)
    kept = [(look, goal) for look, goal in means if goal.utilisation > noise and goal.utilisation >= least]
    found = tuple(goal for _, goal in kept)
    return found if of == "mean" else (*found, *_peaks_of(kept))


def _means_of(looks: Sequence[Look], case: int) -> list[tuple[Look, Goal]]:
    """The worst splits of every zone, the worst tension along the grain, and the combined mode where it decides."""
    mine: list[tuple[Look, Goal]] = []
    for look in looks:
        field = look.fields[case]
        mine += [(look, _split_goal(look.inspection, case, spot)) for spot in field.low.spots[:SPOTS]]
        mine += [(look, goal) for goal in _tension_goals(look.inspection, case, field)]
        mine += [(look, goal) for goal in _shear_goals(look.inspection, case, field)]
    parts = max((goal.utilisation for _, goal in mine), default=0.0)
    together = [
        (look, goal) for look in looks for goal in _worst_goals(look.inspection, case, look.fields[case], COMBINED)
    ]
    mine += [(look, goal) for look, goal in together if goal.utilisation > COMBINED_MARGIN * parts]
    deciding = [(look, one.name) for look in looks for one in look.inspection.further if one.mode.decides]
    return mine + [
        (look, goal) for look, mode in deciding for goal in _worst_goals(look.inspection, case, look.fields[case], mode)
    ]


def _peaks_of(means: Sequence[tuple[Look, Goal]]) -> list[Goal]:
    """The peaks of the modes of some means, each in its own zone, except where they have no limit."""
    followed = {
        (look.names, goal.case, goal.mode): (look, goal.case, goal.mode)
        for look, goal in means
        if goal.mode in _POINTWISE
    }
    found = []
    for look, case, mode in followed.values():
        field = look.fields[case]
        goal = _peak_goal(look.inspection, case, mode, field.stress)
        if look.inspection.place_near(field.name, goal.at) is None:
            found.append(goal)
    return found


def goal_errors(solution: Solution, goals: Sequence[Goal]) -> GoalErrors:
    """Error of every goal, and what each element has to do with it.

    The elements' shares are summed by size, so that what cancels is not relied on; where that leaves less than the
    signed sum with the difference between the sampled stress and the elements' own, that counts.
    """
    relative = np.zeros(len(goals))
    shares = np.zeros(solution.model.count)
    for case in sorted({goal.case for goal in goals}):
        mine = [i for i, goal in enumerate(goals) if goal.case == case]
        functionals = np.stack([functional_of(solution, goals[i]) for i in mine])
        size = np.array([goals[i].utilisation for i in mine])
        part = goal_error(solution, case, functionals) / size
        smoothed = _smoothing(solution, [goals[i] for i in mine], functionals) / size
        relative[mine] = np.maximum(np.abs(part).sum(axis=0), np.abs(part.sum(axis=0) + smoothed))
        shares = np.maximum(shares, np.abs(part).max(axis=1))
    return GoalErrors(tuple(goals), relative, shares)


def _smoothing(solution: Solution, goals: Sequence[Goal], functionals: Array) -> Array:
    """By how much (g,) the elements' own stresses exceed the nodal means that were judged, as utilisation."""
    displacement = solution.displacement[goals[0].case]
    own = np.einsum("gni,ni->g", functionals, displacement) - np.array([_unstressed(solution, goal) for goal in goals])
    judged = [
        float((_sampled(solution, goal.case, goal.element, goal.reference) * goal.weights).sum()) for goal in goals
    ]
    return np.asarray(own - np.array(judged))


def _unstressed(solution: Solution, goal: Goal) -> float:
    """What a goal's functional counts of an initial strain, which makes no stress, as utilisation."""
    if solution.initial is None:
        return 0.0
    stress = np.einsum(
        "kst,kt->ks", solution.model.cell_stiffness[goal.element], solution.initial[goal.case, goal.element]
    )
    return float(((goal.weights @ stress_rotation(goal.grain)) * stress).sum())


def functional_of(solution: Solution, goal: Goal) -> Array:
    """Nodal forces (n, 2) whose work on a displacement is the goal's utilisation: its weights turned to x, y."""
    weights = goal.weights @ stress_rotation(goal.grain)
    return stress_functional(solution.model, goal.element, goal.reference, weights)


def _slopes(function: Callable[[Array], Array], stress: Array) -> Array:
    """Central differences (3,) of a utilisation with σ_0, σ_90, τ."""
    step = STEP * float(np.abs(stress).max())
    trial = stress + step * np.concatenate([np.eye(3), -np.eye(3)])
    values = function(trial)
    return np.asarray((values[:3] - values[3:]) / (2 * step))


# ---- means over windows


def window_weights(windows: Windows, index: int, thickness: Array | None = None) -> tuple[IntArray, Array]:
    """Samples (k,) of one window and the weight (k,) of each in the mean over it.

    By the trapezium rule, and over the samples within where a step is steep; those are counted after all others.
    `thickness` (e,) mm of the elements is given where it is not the same everywhere.
    """
    lines, start, sense = windows.lines, int(windows.start[index]), int(windows.sense[index])
    stretch = int(lines.stretch[start])
    reach = float(windows.length[index] / lines.step[stretch])
    room = int(lines.first[stretch + 1] - 1 - start if sense > 0 else start - lines.first[stretch])
    ends = np.minimum(np.append(np.arange(int(reach - 1e-9) + 1), reach), room)  # in steps; the last may be part of one
    left = np.minimum(ends.astype(np.int64), max(room - 1, 0))
    share = np.diff(ends)  # of each step
    step = start + sense * left[:-1] - (sense < 0)  # the sample at its left
    place = np.minimum(np.searchsorted(lines.steep, step), max(len(lines.steep) - 1, 0))
    steep = lines.steep[place] == step if len(lines.steep) else np.zeros(len(step), dtype=bool)
    half = np.where(steep, 0.0, 0.5 * share)
    weights = np.bincount(np.concatenate([left[:-1], left[:-1] + 1]), np.concatenate([half, half]))
    used = np.flatnonzero(weights)
    q = lines.steep_weight.shape[1]
    within = len(lines.along) + place[steep][:, None] * q + np.arange(q)
    inner = share[steep][:, None] * lines.steep_weight[place[steep]] / lines.step[stretch]
    samples = np.concatenate([start + sense * used, within.ravel()])
    share = np.concatenate([weights[used], inner.ravel()])
    if thickness is None:
        return samples, share / reach
    share = share * thickness[lines.element[samples]]
    return samples, share / share.sum()


def _window_goal(
    inspection: Inspection, case: int, mode: str, windows: Windows, index: int, use: Callable[[Array], Array], at: Array
) -> Goal:
    """A goal from a window, its criterion as a function of means (k, 3), and a place."""
    samples, share = window_weights(windows, index, inspection.search.thickness)
    lines = windows.lines
    element, reference = lines.element[samples], lines.reference[samples]
    mean = np.array([windows.along[index], windows.across[index], windows.shear[index]])
    slopes = _slopes(use, mean)
    weights = share[:, None] * slopes
    stress = _sampled(inspection.solution, case, element, reference)
    if windows.across[index] > 0.0:
        weights[stress[:, 1] < 0.0, 1] = 0.0  # pressed stretches count as nothing
    if windows.short[index]:
        weights[:, 2] *= np.sign(stress[:, 2])
    utilisation = float(use(mean[None])[0])
    return Goal(case, mode, utilisation, at, element, reference, weights, lines.grain)


def _sampled(solution: Solution, case: int, element: IntArray, reference: Array) -> Array:
    """Stress (k, 3) in grain axes at samples."""
    return solution.sampler.evaluate(solution.stress_grain[case], element, reference, solution.stress_cells)


def _split_goal(inspection: Inspection, case: int, spot: Spot) -> Goal:
    def use(mean: Array) -> Array:
        return split_utilisation(mean[:, 1], mean[:, 2], inspection.strength)

    return _window_goal(inspection, case, SPLITTING, spot.windows, spot.index, use, spot.at)


def _shear_goals(inspection: Inspection, case: int, field: CaseField) -> list[Goal]:
    """The greatest mean shear, which decides on the design basis."""
    windows = max((field.low.sweep, field.low.fine), key=lambda w: float(np.abs(w.shear).max(initial=0.0)))
    if inspection.wood.basis != DESIGN or not np.abs(windows.shear).max(initial=0.0) > 0.0:
        return []
    best, f = int(np.abs(windows.shear).argmax()), inspection.wood.strengths["shear"].value
    start = windows.start[[best]]
    at = windows.lines.place(windows.lines.stretch[start], windows.lines.along[start])[0]

    def use(mean: Array) -> Array:
        return np.asarray(np.abs(mean[:, 2]) / f)

    return [_window_goal(inspection, case, SHEAR, windows, best, use, at)]


def _worst_goals(inspection: Inspection, case: int, field: CaseField, mode: str) -> list[Goal]:
    """The worst mean of the combined mode, or of one that another package brings."""
    found = []
    for windows in (field.low.sweep, field.low.fine):
        values = of_windows(inspection, mode)(windows)
        if len(values) and values.max() > 0.0:
            best = int(values.argmax())
            start = windows.start[[best]]
            at = windows.lines.place(windows.lines.stretch[start], windows.lines.along[start])[0]
            found.append(_window_goal(inspection, case, mode, windows, best, of_means(inspection, mode), at))
    return sorted(found, key=lambda goal: -goal.utilisation)[:1]


# ---- means from the surface, and peaks


def _tension_goals(inspection: Inspection, case: int, field: CaseField) -> list[Goal]:
    probes, means = inspection.probes, inspection.along(field.name, field.stress)
    if len(means) == 0 or means.max() <= 0.0:
        return []
    i = int(means.argmax())
    groups = [lines for lines in probes.together(inspection.places(field.name)) if i in lines]
    lines = groups[-1] if groups else np.array([i])
    strength = inspection.wood.bending.value
    weights = np.outer(probes.share(lines), WEIGHTS).reshape(-1, 1) * np.array([1.0, 0.0, 0.0]) / strength
    element, reference = probes.element[lines].reshape(-1), probes.reference[lines].reshape(-1, 2)
    use, grain = float(means[i]) / strength, inspection.grain
    return [Goal(case, TENSION_ALONG, use, probes.points[i], element, reference, weights, grain)]


def _split_at(inspection: Inspection, stress: Array) -> Array:
    return split_utilisation(stress[:, 1], stress[:, 2], inspection.strength)


def _tension_at(inspection: Inspection, stress: Array) -> Array:
    return np.asarray(np.maximum(stress[:, 0], 0.0) / inspection.wood.bending.value)


_POINTWISE = {SPLITTING: _split_at, TENSION_ALONG: _tension_at}


def _peak_goal(inspection: Inspection, case: int, mode: str, stress: Array) -> Goal:
    """The greatest pointwise utilisation of a mode, as a mean over the elements that meet at its stress point."""
    solution = inspection.solution
    values = _POINTWISE[mode](inspection, stress)
    point = int(values.argmax())
    element, corner = np.nonzero(solution.stress_cells == point)
    weights = np.tile(
        _slopes(lambda s: _POINTWISE[mode](inspection, s), stress[point]) / len(element), (len(element), 1)
    )
    at = solution.model.mesh.points[solution.stress_point[point]]
    reference = TRIANGLE6.places[corner]
    grain = inspection.grain
    return Goal(case, mode, float(values[point]), at, element, reference, weights, grain, peak=True)
