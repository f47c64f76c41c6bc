"""A strike followed through time and judged: the force, what the deciding places feel, and the worst moments."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..fem.history import Frame, History
from ..fem.march import Instant, frame_solution, march
from ..fem.striker import Striker
from .goals import functional_of, goals_of
from .inspected import Inspected, inspect_part
from .lasting import duration_factors
from .struck import Struck
from .taking import breaking
from .verdict import SPLITTING, ModeRow, StrikeRow, ThroughTime, TimedMode

Array = NDArray[np.float64]

HIGHER = 1.02  # a moment is kept where what it is judged by has grown by this since the last one
ALIKE = 0.1  # of the force by energy: within this the two ways agree


@dataclass
class _Watch:
    """Utilisation of the worst of the deciding places at every step, and the part at the moment when it is greatest."""

    functionals: Array  # (g, n, 2)
    time: float = np.inf
    best: float = 0.0
    frame: Frame | None = None

    def __call__(self, now: Instant) -> float:
        if now.time < self.time:  # a new run with a finer step
            self.best, self.frame = 0.0, None
        self.time = now.time
        value = float(np.tensordot(self.functionals, now.displacement, axes=2).max(initial=0.0))
        if value > HIGHER * self.best:
            self.best, self.frame = value, now.frame()
        return value


def followed(inspected: Inspected, struck: Struck, density: Array) -> ThroughTime:
    """March a strike through time on the mesh that it was judged on, and judge its worst moments.

    The part is judged in full when the force is greatest and when the worst of its deciding places feels most; between
    these moments such places alone are watched, by their stress as weighted at the state of the energy balance.

    Parameters
    ----------
    inspected : Inspected
        The standing part, solved.
    struck : Struck
    density : (e,) array
        tonne/mm^3.
    """
    inspection = inspected.inspection
    part, model = inspection.part, inspection.solution.model
    number = [case.name for case in part.cases].index(struck.case)
    goals = [goal for goal in goals_of(inspected.looks) if goal.case == number and goal.utilisation > 0.0]
    shape = (len(goals), *model.mesh.points.shape)
    functionals = np.array([functional_of(inspection.solution, goal) for goal in goals]).reshape(shape)
    watch = _Watch(functionals)
    steady = {name: one for name, one in part.cases[number].factors.items() if name != struck.strike.name}
    history = march(model, striker_of(struck), density, loads=steady, watch=watch)
    frames = {frame.time: frame for frame in (history.peak, watch.frame) if frame is not None}
    rows = [(frame.time, row) for frame in frames.values() for row in _judged(inspected, number, frame) if row.decides]
    left = duration_factors(part)[struck.case].of(SPLITTING)
    return _told(struck, history, _worst_by_mode(rows), left)


def striker_of(struck: Struck) -> Striker:
    """The striker of a strike as the march knows it, all elastic: what is soft behind the part stands beside it."""
    strike = struck.strike
    soft = [one for one in (strike.striker_stiffness, strike.mount_stiffness) if one]
    pad = strike.pad
    return Striker(
        f"load {strike.name}",
        strike.direction,
        struck.blow.mass,
        struck.blow.speed,
        struck.blow.push,
        stiffness=1.0 / sum(1.0 / one for one in soft) if soft else np.inf,
        pad_stiffness=np.inf if pad is None else pad.stiffness,
        pad_travel=np.inf if pad is None or pad.travel is None else pad.travel,
    )


def _judged(inspected: Inspected, number: int, frame: Frame) -> list[ModeRow]:
    """All modes that break at one moment; without the hand calculation, which knows no inertia."""
    inspection = inspected.inspection
    part = inspection.part.model_copy(update={"cases": (inspection.part.cases[number],)})
    solution = frame_solution(inspection.solution.model, frame)
    seen = inspect_part(part, inspection.outline, inspected.woods, solution, further=inspection.further)
    return breaking(seen.looks, (), duration_factors(part))


def _worst_by_mode(rows: Sequence[tuple[float, ModeRow]]) -> tuple[TimedMode, ...]:
    best: dict[str, tuple[float, ModeRow]] = {}
    for time, row in rows:
        if row.utilisation > 0.0 and (row.mode not in best or row.utilisation > best[row.mode][1].utilisation):
            best[row.mode] = time, row
    found = [
        TimedMode(row.mode, row.utilisation, time, row.at, row.where, row.measured_from, row.region)
        for time, row in best.values()
    ]
    return tuple(sorted(found, key=lambda one: -one.utilisation))


def _told(struck: Struck, history: History, modes: tuple[TimedMode, ...], left: float) -> ThroughTime:
    """As the verdict carries it; `left` is the factor on strengths in its case."""
    energy = history.energy

    def column(values: Array) -> tuple[float, ...]:
        return tuple(values[1:].tolist())

    return ThroughTime(
        peak_force=history.peak_force,
        peak_time=history.peak_time,
        rebound_speed=history.rebound_speed,
        modes=modes,
        why=_why(struck, history),
        step=history.step,
        settled=history.settled,
        resolved=history.resolved is not False,
        sums=history.peak.imbalance,
        reactions=tuple(
            (one.name, (float(one.resultant[0]), float(one.resultant[1]))) for one in history.peak.reactions
        ),
        time=tuple(history.time.tolist()),
        force=tuple(history.force.tolist()),
        utilisation=tuple(float(one) / left for one in history.watched),
        striker_energy=column(energy.striker),
        part_energy=column(energy.kinetic + energy.strain),
        lost_energy=column(energy.lost + energy.numerical),
    )


def _why(struck: Struck, history: History) -> str:
    """Why the greatest force through time is not that of the energy balance."""
    ratio = history.peak_force / struck.force
    share = struck.part_mass / struck.blow.mass
    if abs(ratio - 1.0) <= ALIKE:
        return "Both ways agree: the part moves with the striker as one spring."
    mass = f"the part's own mass ({share:.2g} of the striker's moves with it)"
    if ratio < 1.0:
        return f"Through time the force is lower: {mass} has to be brought to speed, and swings on with some energy."
    return (
        f"Through time the force is higher: {mass} rings under the blow, its play closes with a jolt, or a wave comes "
        "back from its end, before the striker has stopped."
    )


def strike_row(struck: Struck, through_time: ThroughTime | None) -> StrikeRow:
    """A strike as the verdict carries it."""
    blow, low, high = struck.blow, struck.band.low, struck.band.high
    return StrikeRow(
        name=struck.strike.name,
        case=struck.case,
        on=struck.strike.on.text,
        direction=struck.strike.direction,
        mass=blow.mass,
        speed=blow.speed,
        quantity=blow.quantity,
        amount=blow.amount,
        energy=blow.energy,
        push=blow.push,
        slow=blow.push,
        sudden=struck.sudden,
        struck_low=low.force,
        struck_high=high.force,
        limit=struck.limit,
        dent=low.dent,
        dent_energy=low.dent_energy,
        stiffness=high.force / high.stroke,
        part_stiffness=struck.part_stiffness,
        part_mass=struck.part_mass,
        contact_time=struck.contact,
        bottomed=high.bottomed,
        through_time=through_time,
    )
