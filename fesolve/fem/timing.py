"""A part before it is struck: at rest under its steady loads, how long the strike takes, how fine time steps are."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..errors import FreeMotionError, InputError
from .constraints import refuse_free_motion
from .impact import energy_balance, half_period, in_series, strike_force
from .mass import MassMatrix, effective_mass
from .one_way import solve_one_way
from .solve import Held, _assemble, _displacement, _solve_cases, answer_to
from .striker import Striker, unit_force

if TYPE_CHECKING:
    from .contact import Contact
    from .model import PlaneModel
    from .solution import Solution

Array = NDArray[np.float64]

STEPS_PER_CONTACT = 50  # own choice, as are the others
STEPS_PER_PERIOD = 10
STEPS_PER_CROSSING = 2
STEPS_PER_HAMMER = 6
MOST_STEPS_PER_CONTACT = 80
ROUNDS = 3  # of force and stiffness, where gaps close as the force grows


@dataclass(frozen=True)
class Plan:
    """What the static answer of the part tells about a strike before it is followed through time.

    Attributes
    ----------
    held : tuple of Hold
        What the pins hold under the strike.
    stiffness : float
        Of the part at the strike, N/mm; one-way supports touch as they do under `force`.
    part_mass : float
        The share of its mass that moves with the strike, tonne.
    force : float
        Greatest force by the balance of energy, none lost but in a dent, N.
    contact : float
        How long the contact lasts, about: half a period of striker and part's share on the row of springs, and the
        time in which the limiting force stops the striker, s.
    period : float
        Of the part as it swings in the static shape of the strike, s (Rayleigh).
    crossing : float
        How long the fastest wave takes through the part along the strike, s.
    hammer : float
        How long the first blow lasts, in which the part's share of mass comes up to the striker's speed: half a period
        on the striker's own spring and pad, or without them the crossing, s. Steps longer than a sixth leave it out.
    step : float
        Δt to begin with, s: the least of contact/50, period/10 and, without a spring or pad before the wood, half a
        crossing; not less than contact/80, where faster swings hardly move a force that changes so slowly.
    """

    held: Held
    stiffness: float
    part_mass: float
    force: float
    contact: float
    period: float
    crossing: float
    hammer: float
    step: float

    def resolves(self, step: float) -> bool:
        """Whether time steps of that length (s) follow the first blow."""
        return step <= self.hammer / STEPS_PER_HAMMER


def without_friction(model: PlaneModel) -> PlaneModel:
    """The same model with one-way supports that are smooth; the very model where they are."""
    if not any(contact.friction > 0.0 for contact in model.contacts):
        return model
    smooth = model.keep(
        "smooth", model.contacts, lambda: tuple(dataclasses.replace(c, friction=0.0) for c in model.contacts)
    )
    return dataclasses.replace(model, contacts=smooth)


def at_rest(model: PlaneModel, held: Held, steady: Array) -> tuple[Array, tuple[Contact, ...]]:
    """Displacement (n, 2) under steady nodal forces, pins as they are held under the strike, and one-way contacts.

    Without forces it stands unmoved, and nothing is told of contacts.
    """
    if not steady.any():
        return np.zeros_like(steady), ()
    if model.contacts:
        try:
            solution = solve_one_way(model, [{}], steady[None], several=True)
        except FreeMotionError as error:
            raise FreeMotionError(f"The steady loads, supports without friction: {error.message}") from error
        return np.asarray(solution.displacement[0]), solution.contacts[0]
    springs = tuple(spring.hold for spring in model.springs)
    refuse_free_motion(model.mesh.points, (*model.holds, *held, *springs))
    return np.asarray(_displacement(_assemble(model), held, steady[None])[0][0]), ()


def plan(model: PlaneModel, striker: Striker, mass: MassMatrix, steady: Array) -> Plan:
    """Solve the part at rest, and choose a time step from how long contact, swing and wave take.

    Parameters
    ----------
    model : PlaneModel
        One-way supports without friction.
    striker : Striker
    mass : MassMatrix
    steady : (n, 2) array
        Nodal forces that act all the time, N.

    Raises
    ------
    FreeMotionError
        If the supports cannot stop the strike.
    """
    unit = unit_force(model, striker)
    struck = _struck_one_way if model.contacts else _struck
    held, shape = struck(model, striker, unit, steady)
    stroke = float((unit * shape).sum())
    if not stroke > 0.0:
        raise InputError(
            f'The part does not give way where it is struck, on "{striker.edge}": it is held there.', key="edge"
        )
    stiffness, share = 1.0 / stroke, effective_mass(mass, shape, stroke)
    chain = striker.chain(stiffness)
    end = energy_balance(chain, striker.mass, striker.speed, push=striker.push, limit=striker.limit)
    hardest = chain.stage(end.force).stiffness
    moving = striker.mass + share
    contact, shortest = half_period(moving, end.force / end.stroke), half_period(moving, hardest)
    if end.dent > 0.0:
        contact += striker.mass * striker.speed / striker.limit
    period, crossing = 2.0 * half_period(share, stiffness), _crossing(model, striker, mass)
    step = min(shortest / STEPS_PER_CONTACT, period / STEPS_PER_PERIOD)
    if not striker.links:
        step = min(step, crossing / STEPS_PER_CROSSING)
    step = max(step, shortest / MOST_STEPS_PER_CONTACT)
    return Plan(held, stiffness, share, end.force, contact, period, crossing, _hammer(striker, share, crossing), step)


def _hammer(striker: Striker, share: float, crossing: float) -> float:
    if not striker.links:
        return crossing
    between = in_series(*(link.stiffness for link in striker.links))
    return half_period(striker.mass * share / (striker.mass + share), between)


def _holds(model: PlaneModel) -> Held:
    return (*model.holds, *model.pins, *(spring.hold for spring in model.springs))


def _struck(model: PlaneModel, striker: Striker, unit: Array, steady: Array) -> tuple[Held, Array]:
    """What pins hold under the strike; displacement (n, 2) under 1 N at the strike."""
    refuse_free_motion(model.mesh.points, _holds(model))
    system = _assemble(model)
    held: Held = ()
    if model.pins:
        first, _, _ = _solve_cases(system, unit[None])
        force = _expected(striker, unit, first[0])
        _, _, (held,) = _solve_cases(system, (force * unit + steady)[None])
    return held, _displacement(system, held, unit[None])[0][0]


def _expected(striker: Striker, unit: Array, shape: Array) -> float:
    """Force by the balance of energy on a part that moves in this shape under 1 N."""
    stroke = float((unit * shape).sum())
    if not stroke > 0.0:
        return striker.push + striker.mass * striker.speed
    return energy_balance(striker.chain(1.0 / stroke), striker.mass, striker.speed, push=striker.push).force


def _struck_one_way(model: PlaneModel, striker: Striker, unit: Array, steady: Array) -> tuple[Held, Array]:
    """Displacement (n, 2) by 1 N more at the strike, the supports touching as they do under the whole strike."""
    gaps = any(contact.gap.any() for contact in model.contacts)
    modulus = float(model.cell_stiffness[:, [0, 1], [0, 1]].max()) * float(model.cell_thickness.max())
    force = strike_force(striker.mass, striker.speed, modulus, striker.push)  # as if the part were as long as deep
    for _ in range(ROUNDS if gaps or steady.any() else 1):
        solution = _pressed(model, striker, force * unit + steady)
        shape = answer_to(solution, 0, unit[None])[0]
        before, force = force, _expected(striker, unit, shape)
        if abs(force - before) <= 0.01 * before:
            break
    return (), shape


def _pressed(model: PlaneModel, striker: Striker, force: Array) -> Solution:
    try:
        return solve_one_way(model, [{}], force[None], several=True)
    except FreeMotionError as error:
        raise FreeMotionError(
            f'The strike on "{striker.edge}", supports without friction: {error.message} To follow the part as it '
            "flies off, give a step and a time."
        ) from error


def _crossing(model: PlaneModel, striker: Striker, mass: MassMatrix) -> float:
    """Extent of the part along the strike over the greatest speed of a plane wave that way, s.

    ρ c^2 is the greatest eigenvalue of n_p C_pi,qj n_q (Christoffel's equation, textbook).
    """
    voigt = np.array([[0, 2], [2, 1]])
    n = striker.unit
    stiffness = model.cell_stiffness
    if stiffness.strides[0] == 0:
        stiffness = stiffness[:1]
    tensor = stiffness[:, voigt[:, :, None, None], voigt[None, None]]  # (e, p, i, q, j)
    acoustic = np.einsum("p,epiqj,q->eij", n, tensor, n)
    density = mass.total / MassMatrix.of(model, 1.0).total
    speed = math.sqrt(float(np.linalg.eigvalsh(acoustic).max()) / density)
    return float(np.ptp(model.mesh.points @ n)) / speed
