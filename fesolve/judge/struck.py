"""Strikes on a solved part: what hits it, the force by the balance of energy, and the load that stands for it.

A strike stands in the judgement for a load of its greatest elastic force. The part's own give at the struck place is
taken from its mesh with contact solved again at several forces, as gaps close and contacts grow under a blow.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..fem.impact import (
    GRAVITY,
    Chain,
    Link,
    drop_speed,
    energy_balance,
    half_period,
    mass_at_arm,
    rolling_speed,
    strike_force,
)
from ..fem.mass import MassMatrix, effective_mass
from ..fem.model import PlaneModel
from ..part.model import Case, Load, Part, Strike
from ..wood.bearing import hankinson
from ..wood.model import Wood
from .patches import Patch
from .strike import StrikeBand, dent_force, strike_band

Array = NDArray[np.float64]
Quantity = Literal["speed", "drop", "run"]

FORCES = np.array([0.02, 0.25, 0.5, 0.75, 1.0])  # of the trial force: where the part's give is looked at
ROUNDS = 6
SLACK = 1.02  # how far beyond the last looked-at force the balance may lie


@dataclass(frozen=True)
class Blow:
    """What strikes: mass (tonne), speed (mm/s), the push that stays on (N), and how the user gave its energy.

    Attributes
    ----------
    quantity : "speed", "drop" or "run"
    amount : float
        Of it, mm/s or mm.
    per_energy : float
        Energy (N mm) over the amount: squared for a speed.
    """

    mass: float
    speed: float
    push: float
    quantity: Quantity
    amount: float

    @property
    def energy(self) -> float:
        """M v^2/2, N mm."""
        return 0.5 * self.mass * self.speed**2

    def amount_at(self, energy: float) -> float:
        """The user's quantity that carries an energy (N mm): a speed goes as its root, a drop and a run as itself."""
        share = max(energy, 0.0) / self.energy if self.energy > 0.0 else 0.0
        return self.amount * (math.sqrt(share) if self.quantity == "speed" else share)


def blow_of(strike: Strike) -> Blow:
    """Mass, speed and push of a strike of the part file.

    Without a push of its own what falls pushes on with its weight, and what rolls with the part of its weight along
    the slope.
    """
    mass = strike.mass if strike.mass is not None else mass_at_arm(strike.inertia or 0.0, strike.arm or 0.0)
    weight = mass * GRAVITY
    if strike.drop is not None:
        speed, push, quantity, amount = drop_speed(strike.drop), weight, "drop", strike.drop
    elif strike.run is not None and strike.slope is not None:
        speed, quantity, amount = rolling_speed(strike.run, strike.slope), "run", strike.run
        push = weight * math.sin(math.radians(strike.slope))
    else:
        speed, push, quantity, amount = strike.speed or 0.0, 0.0, "speed", strike.speed or 0.0
    return Blow(mass, speed, push if strike.push is None else strike.push, quantity, amount)  # type: ignore[arg-type]


@dataclass(frozen=True)
class Struck:
    """One strike in one case, by the balance of energy.

    Attributes
    ----------
    case : str
    strike : Strike
    blow : Blow
    chain : Chain
        The part by its curve, and what is soft beside it.
    part_mass : float
        Of the part as it moves at the strike, tonne.
    limit : float
        Force above which the struck face is crushed, N.
    band : StrikeBand
    sudden : float
        Force where the push comes on at once, without speed, N.
    contact : float
        How long it stays, about, s.
    """

    case: str
    strike: Strike
    blow: Blow
    chain: Chain
    part_mass: float
    limit: float
    band: StrikeBand
    sudden: float
    contact: float

    @property
    def force(self) -> float:
        """The greatest, all elastic, N: what the strike stands for."""
        return self.band.high.force

    @property
    def part_stiffness(self) -> float:
        """Of the part alone up to that force, N/mm."""
        return self.chain.curve[-1][0] / self.chain.curve[-1][1]

    def energy_at(self, force: float) -> float:
        """Energy (N mm) that the striker must bring for a greatest elastic force, N."""
        return self.chain.energy(force) - self.blow.push * self.chain.stroke(force)

    def amount_at(self, force: float) -> float:
        """The user's own quantity (mm/s or mm) at which the greatest elastic force (N) is reached."""
        return self.blow.amount_at(self.energy_at(force))


def standing(part: Part, forces: Mapping[str, float] | None = None) -> Part:
    """The part with a load of 1 N in place of each strike; in a case its factor is the force, N (1 where not known)."""
    if not part.strikes:
        return part
    names = {strike.name for strike in part.strikes}
    loads = tuple(Load(name=one.name, on=one.on, force=one.direction) for one in part.strikes)
    known = forces or {}
    cases = tuple(
        case.model_copy(
            update={
                "factors": {
                    name: known.get(case.name, 1.0) if name in names else one for name, one in case.factors.items()
                }
            }
        )
        for case in part.cases
    )
    return part.model_copy(update={"loads": (*part.loads, *loads), "cases": cases})


def strikes_of(
    part: Part,
    model: PlaneModel,
    density: Array | None,
    woods: Mapping[str, Wood],
    patches: Mapping[tuple[str, str], Patch],
    known: Mapping[str, float] | None = None,
) -> tuple[Struck, ...]:
    """Every strike of a part in its case, by the balance of energy.

    Parameters
    ----------
    part : Part
        With its strikes.
    model : PlaneModel
        Of the standing part: with a load of 1 N for each strike.
    density : (e,) array, optional
        tonne/mm^3; without it the part's own mass is left out.
    woods : mapping of str to Wood
        By region.
    patches : mapping of (kind, name) to Patch
        Of the standing part.
    known : mapping of case name to float, optional
        Forces that lie near the wanted ones, N.
    """
    by_name = {strike.name: strike for strike in part.strikes}
    found = []
    for case in part.cases:
        for name in case.factors:
            if name in by_name:
                strike, patch = by_name[name], patches["load", name]
                limit, near = _crushing_force(part, strike, patch, woods), (known or {}).get(case.name)
                found.append(_struck(case, strike, model, density, limit, near))
    return tuple(found)


def _crushing_force(part: Part, strike: Strike, patch: Patch, woods: Mapping[str, Wood]) -> float:
    """Force that crushes the struck face: 2.5 times the strength under a pressure at its angle to the grain."""
    area = float(patch.weights @ patch.thickness)
    wood = woods[patch.regions[0]]
    region = next((one for one in part.regions if one.name == patch.regions[0]), None)
    grain = part.wood.grain if region is None or region.grain is None else region.grain
    away = abs((math.degrees(math.atan2(patch.normal[1], patch.normal[0])) - grain + 90.0) % 180.0 - 90.0)
    f = wood.strengths
    return dent_force(hankinson(f["compression_along"].value, f["compression_across"].value, away), area)


def _struck(
    case: Case, strike: Strike, model: PlaneModel, density: Array | None, limit: float, near: float | None
) -> Struck:
    blow = blow_of(strike)
    steady = {name: factor for name, factor in case.factors.items() if name != strike.name}
    modulus = float(model.cell_stiffness[:, [0, 1], [0, 1]].max()) * float(model.cell_thickness.max())
    # as if the part were as long as deep, and seen at two forces only, until a force is known
    force = near or strike_force(blow.mass, blow.speed, modulus, blow.push)
    shares = FORCES if near else FORCES[[0, -1]]
    for _ in range(ROUNDS):
        curve, shape = _curve(model, steady, strike.name, force * shares)
        chain = Chain(_links(strike), curve)
        high = energy_balance(chain, blow.mass, blow.speed, push=blow.push)
        if shares is FORCES and 0.5 * force <= high.force <= SLACK * force:
            break
        force, shares = high.force, FORCES
    stroke = curve[-1][1]
    own = 0.0 if density is None else effective_mass(MassMatrix.of(model, density), shape, stroke)
    band = strike_band(chain, blow.mass, blow.speed, push=blow.push, part_mass=own, limit=max(limit, 1.001 * blow.push))
    sudden = energy_balance(chain, blow.mass, 0.0, push=blow.push).force if blow.push > 0.0 else 0.0
    secant = high.force / high.stroke if high.stroke > 0.0 else math.inf
    contact = half_period(blow.mass + own, secant)
    return Struck(case.name, strike, blow, chain, own, limit, band, sudden, contact)


def _links(strike: Strike) -> tuple[Link, ...]:
    """What is soft in the row beside the part."""
    found = [Link("striker", strike.striker_stiffness)] if strike.striker_stiffness else []
    found += [Link("mount", strike.mount_stiffness)] if strike.mount_stiffness else []
    if strike.pad is not None:
        travel = math.inf if strike.pad.travel is None else strike.pad.travel
        found.append(Link("pad", strike.pad.stiffness, travel))
    return tuple(found)


def _curve(
    model: PlaneModel, steady: Mapping[str, float], name: str, forces: Array
) -> tuple[tuple[tuple[float, float], ...], Array]:
    """Force over give (N, mm) of the struck place at some forces, and the part's displacement (n, 2) at the last.

    What the part moves before it bears (its play) is left out: it takes no energy.
    """
    proportional = not steady and all(not contact.gap.any() for contact in model.contacts)
    forces = forces[-1:] if proportional else forces
    solution = model.solve([{**steady, name: float(one)} for one in forces], [f'Strike "{name}"'] * len(forces))
    nodal = next(load.nodal for load in model.loads if load.name == name)
    give = np.einsum("ni,cni->c", nodal, solution.displacement)
    displacement = solution.displacement[-1]
    if not proportional:
        slope = (give[1] - give[0]) / (forces[1] - forces[0])
        start = give[0] - slope * forces[0]
        give, displacement = give - start, solution.displacement[-1] - solution.displacement[0]
        displacement = displacement * (give[-1] / (give[-1] - give[0]))
    if not (np.diff(give, prepend=0.0) > 0.0).all():
        raise InputError(f'Strike "{name}": the part does not give way where it is struck; it is held there.')
    return ((0.0, 0.0), *zip(forces.tolist(), give.tolist(), strict=True)), displacement
