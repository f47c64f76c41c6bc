"""A strike through time: the part with its mass, the striker and the supports in one-way contact, implicit steps.

Each step is one back-substitution with K + c M, which is factorised once; contact forces are found between its forward
and its backward half.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError, SolveError
from .complementarity import HOLDS, OPEN
from .history import Energies, Frame, History
from .loads import combined
from .mass import Density, MassMatrix
from .motion import Motion
from .scheme import Scheme
from .solution import Solution
from .stepping import Moment, Run, Start
from .striker import Striker, rows_of
from .timing import Plan, at_rest, plan, without_friction

if TYPE_CHECKING:
    from .model import PlaneModel

Array = NDArray[np.float64]

HALVINGS = 4
MOST_STEPS = 400
LEFT = 2.0  # change from halving the step over the error that is left: 1 with order one, 3 with order two; own choice
BRIEF = 0.75  # of the contact: after that a force that has fallen to half will not rise again, mostly
DURATIONS = 2.0  # how many contact durations are followed at most; own choice
RESIDUAL_LIMIT = 1e-7
TOUCHING = 1e-9  # of the greatest force: what is less is rounding


@dataclass(frozen=True)
class Instant:
    """The part at the moment inside a step where the equations are met; made for a callback, valid during its call.

    Attributes
    ----------
    time : float
        s.
    force : float
        Between striker and part, N.
    """

    time: float
    force: float
    _run: Run

    @property
    def displacement(self) -> Array:
        """Of the nodes, (n, 2), mm."""
        return np.asarray(self._run.motion.world(self._run.place()[None])[0])

    def frame(self) -> Frame:
        """All of the part at this moment, to keep: accelerations, reactions and contacts too."""
        return self._run.frame(self._run.now())


class _Log:
    """What is written down step by step, and made a History of."""

    def __init__(self, run: Run, at: Sequence[float], watch: Callable[[Instant], Any] | None) -> None:
        self.run, self.at, self.watch = run, sorted(at), watch
        self.inside: list[tuple[float, float, float]] = []
        self.ends: list[tuple[float, ...]] = [(run.body[0], run.body[1], 0.0, *run.energies())]
        self.frames: list[Array] = []
        self.watched: list[Any] = []
        self.peak = Moment(0.0, run.state[0].copy(), np.zeros_like(run.load), np.zeros(len(run.places)), run.contact)
        self.bottomed, self.greatest = False, 0.0
        self.before = 0.0, run.state[0].copy()

    def step(self) -> None:
        """Let the run go one step, and write it down."""
        run = self.run
        run.step()
        force = run.force
        if force > self.greatest:
            self.greatest, self.peak = force, run.now()
        self.inside.append((run.time, force, run.stroke()))
        self.ends.append((run.body[0], run.body[1], run.touch.lost, *run.energies()))
        self.bottomed |= run.pad_is_full()
        self._frames()
        if self.watch is not None:
            self.watched.append(self.watch(Instant(run.time, force, run)))

    def _frames(self) -> None:
        """Displacements at the times asked for that lie within this step, from its neighbours in time."""
        run = self.run
        if not self.at:
            return
        (time, place), now = self.before, run.place()
        while self.at and self.at[0] <= run.time:
            share = (self.at.pop(0) - time) / (run.time - time)
            self.frames.append(run.motion.world(((1 - share) * place + share * now)[None])[0])
        self.before = run.time, now

    def history(self) -> History:
        """Everything, once it is over."""
        run = self.run
        time, force, stroke = np.array(self.inside).T
        position, velocity, lost, kinetic, strain, striker, spring, potential = np.array(self.ends).T
        work = potential - potential[0]
        whole = kinetic + strain + striker + spring + lost
        peak = run.frame(self.peak)
        if not peak.residual <= RESIDUAL_LIMIT:
            raise SolveError(f"The equations of motion were met only to {peak.residual:.1e}; look for slivers.")
        return History(
            step=run.scheme.step,
            time=time,
            force=force,
            stroke=stroke,
            ends=np.asarray(run.scheme.step * np.arange(len(position)), dtype=float),
            position=position,
            velocity=velocity,
            energy=Energies(kinetic, strain, striker, spring, lost, whole[0] + work - whole, work),
            dent=float(run.touch.dents.max()),
            blow=run.blow,
            touching=force > TOUCHING * self.greatest,
            bottomed=self.bottomed,
            peak=peak,
            frames=np.array(self.frames).reshape(-1, *peak.displacement.shape),
            watched=tuple(self.watched),
        )


def march(
    model: PlaneModel,
    striker: Striker,
    density: Density,
    *,
    loads: Mapping[str, float] | None = None,
    step: float | None = None,
    until: float | None = None,
    rho: float = 0.8,
    accuracy: float = 0.01,
    most_steps: int = MOST_STEPS,
    at: Sequence[float] = (),
    watch: Callable[[Instant], Any] | None = None,
) -> History:
    """Follow a strike through time.

    Supports of a model either hold both ways or, one-way ones, push where they touch: they close and let go from step
    to step. Friction is left out: one-way supports are smooth here whatever their coefficient. What two-way pins hold
    is found under the force of the energy balance. The first step is that of `Plan`; it is halved at least once, until
    greatest force and dent change by no more than twice the `accuracy`, at most four times.

    Parameters
    ----------
    model : PlaneModel
    striker : Striker
    density : float, mapping of region name to float, or (e,) array
        Of the part, tonne/mm^3.
    loads : mapping of load name to factor, optional
        Loads of the model that act all the time; the part is at rest under them when it is struck. Without it none:
        then it stands unmoved, and one-way supports without a gap touch it without force.
    step : float, optional
        Δt, s. Given, it is taken as it is.
    until : float, optional
        s. Without it, until the striker has left for half a swing of the part and a quarter of a contact, at most two
        contact durations.
    rho : float
        ρ_∞ of the scheme, 0 to 1: 1 keeps the energy exactly; less damps swings that the step cannot follow.
    accuracy : float
        Of the greatest force (and dent), relative, as far as steps decide: half of the change when the step is halved.
    most_steps : int
        A second halving is left out where it would take more steps than this.
    at : sequence of float
        Times at which displacements are kept, s.
    watch : callable, optional
        Called with an `Instant` after each step; what it returns is kept in `History.watched`. While the step is being
        halved it sees every run but the first; only what it returned in the last is kept.

    Returns
    -------
    History

    Raises
    ------
    InputError
        For a part that the supports do not hold against steady loads or strike, unless both step and time are given
        (then a part may fly off); for a strike that does not go into the wood; for a one-way pin that is neither fixed
        nor held by springs; for a density, step, ρ_∞ or accuracy out of range.
    SolveError
        If the equations cannot be solved.
    """
    if not accuracy > 0.0:
        raise InputError(f"The accuracy is {accuracy:g}; give a value above 0.", key="accuracy")
    if until is not None and not until > 0.0:
        raise InputError(f"The time to follow is {until:g} s; give a value above 0.", key="until")
    _refuse_pins(model, loads or {})
    model = without_friction(model)
    rows, mass = rows_of(model, striker), MassMatrix.of(model, density)
    steady = combined(model.loads, dict(loads or {}), len(model.mesh.points))
    known = None
    if step is None or until is None or model.pins:
        known = plan(model, striker, mass, steady)
    motion = Motion.of(model, known.held if known else (), mass)
    start = Start.of(motion, striker, rows, steady, at_rest(model, known.held if known else (), steady))

    def run(step: float, watch: Callable[[Instant], Any] | None, brief: bool = False) -> History:
        log = _Log(Run(start, Scheme(step, rho)), at, watch)
        _follow(log, known, until, brief)
        return replace(log.history(), resolved=known.resolves(step) if known else None)

    if step is not None:
        return run(step, watch)
    assert known is not None
    return _halved(run, known.step, accuracy, most_steps, watch)


def _refuse_pins(model: PlaneModel, loads: Mapping[str, float]) -> None:
    if model.contacts and model.pins:
        raise InputError(
            f'Pin "{model.pins[0].name}" ties half its hole and cannot stand beside one-way supports; '
            "use a one-way pin of the hole's diameter."
        )
    for pin in model.contacts:
        if any(pin.force) and loads.get(pin.name, 0.0) != 0.0:
            raise InputError(
                f'Load "{pin.name}" acts on a pin, not on the part: it cannot act while a strike is followed through '
                "time. Leave it out of the steady loads."
            )


def _follow(log: _Log, known: Plan | None, until: float | None, brief: bool) -> None:
    """Step until the time is over, or the striker has gone; or, briefly, until the force has had its greatest value.

    A greater one that comes later yet makes the next run, which is not brief, differ.
    """
    run, gone = log.run, 0.0
    pause = math.inf if until is not None or known is None else max(known.period / 2, known.contact / 4)
    end = until if until is not None else DURATIONS * known.contact if known else 0.0
    for _ in range(max(1, math.ceil(end / run.scheme.step - 1e-9))):
        log.step()
        gone = 0.0 if run.force > TOUCHING * log.greatest or log.greatest == 0.0 else gone + run.scheme.step
        past = run.time > BRIEF * (known.contact if known else math.inf) and 2 * run.force < log.greatest
        if gone > pause or (brief and past):
            break


def _halved(
    run: Callable[..., History],
    step: float,
    accuracy: float,
    most_steps: int,
    watch: Callable[[Instant], Any] | None,
) -> History:
    """Halve the step until greatest force and dent stay."""
    history, change = run(step, None, brief=True), math.inf
    for count in range(HALVINGS):
        if count and 2 * len(history.time) > most_steps:
            break
        step /= 2
        finer = run(step, watch)
        change = max(_change(finer.peak_force, history.peak_force), _change(finer.dent, history.dent))
        history = finer
        if change <= LEFT * accuracy:
            break
    return replace(history, step_change=change, settled=change <= LEFT * accuracy)


def _change(new: float, old: float) -> float:
    if new == old:
        return 0.0
    return abs(new / old - 1.0) if old > 0.0 else math.inf


def frame_solution(model: PlaneModel, frame: Frame) -> Solution:
    """A moment of a march as a solution with one case, as `model.solve([...])` gives it: stresses, reactions, contacts.

    Its loads are not in balance with its reactions, as inertia takes part; `equilibrium` is the imbalance that is left
    with it. One-way supports are those of the march, without friction.

    Parameters
    ----------
    model : PlaneModel
        That the march was made with.
    frame : Frame

    Returns
    -------
    Solution
        Arrays with a leading axis of one case.
    """
    model = without_friction(model)
    solution = Solution.of(
        model, frame.displacement[None], (frame.reactions,), np.array([frame.energy]), frame.imbalance, several=True
    )
    bears = np.concatenate([np.zeros(0, dtype=bool), *(contact.touching for contact in frame.contacts)])
    return replace(
        solution,
        pins_held=(frame.pins_held,),
        contacts=(frame.contacts,) if frame.contacts else (),
        loose=(None,) if frame.contacts else (),
        states=(np.where(bears, HOLDS, OPEN),) if frame.contacts else (),
    )
