"""A strike by the balance of energy: speed and mass of what strikes, the springs it meets, the force it ends in.

Pure formulas of one moving mass and springs in a row. They stand in this room because the time history of a strike
begins from them (its time step, its contact duration and its pad are theirs); what wood bears is not known here.
Any consistent units will do: mm, N, tonne, s (1 N = 1 tonne mm/s^2) as elsewhere, or pounds and inches.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from ..errors import InputError

GRAVITY = 9806.65  # mm/s^2, standard gravity (exact; NIST SP 811, appendix B)
SOLID_CYLINDER = 0.5  # I/(m r^2)


def _refuse(value: float, what: str, unit: str, *, zero: bool = False) -> None:
    if not (math.isfinite(value) and (value > 0.0 or (zero and value == 0.0))):
        raise InputError(f"{what} is {value:g} {unit}; give a value {'of 0 or more' if zero else 'above 0'}.")


# ---- what strikes


def drop_speed(height: float, gravity: float = GRAVITY) -> float:
    """Speed after a free fall, v = sqrt(2 g h).

    Parameters
    ----------
    height : float
        mm.
    gravity : float
        mm/s^2.

    Returns
    -------
    float
        mm/s.

    Raises
    ------
    InputError
        For a height below 0.

    References
    ----------
    Energy of a falling body (elementary mechanics).

    Examples
    --------
    >>> round(drop_speed(1000.0))  # one metre
    4429
    """
    _refuse(height, "The drop", "mm", zero=True)
    return math.sqrt(2.0 * gravity * height)


def rolling_speed(run: float, slope: float, turning: float = SOLID_CYLINDER, gravity: float = GRAVITY) -> float:
    """Speed after rolling down a slope from rest, v = sqrt(2 g s sin θ/(1 + κ)); sqrt(4/3 g s sin θ) for a log.

    A third of the log's energy is then in its turning. A stop without friction takes the other two thirds: the log
    goes on turning where it has stopped. Rolling resistance is left out, which is on the safe side.

    Parameters
    ----------
    run : float
        s along the slope, mm.
    slope : float
        θ from level, deg, 0 to 90.
    turning : float
        κ = I/(m r^2): 1/2 for a solid round log, 0 for what slides without friction.
    gravity : float
        mm/s^2.

    Returns
    -------
    float
        mm/s.

    Raises
    ------
    InputError
        For a run or a κ below 0, or a slope outside 0 to 90 deg.

    References
    ----------
    Energy of a body that rolls without slipping, m v^2/2 + I (v/r)^2/2 = m g s sin θ (elementary mechanics).

    Examples
    --------
    >>> round(rolling_speed(3000.0, 10.0))  # 3 m at 10 deg
    2610
    """
    _refuse(run, "The run", "mm", zero=True)
    _refuse(turning, "I/(m r^2)", "", zero=True)
    if not 0.0 <= slope <= 90.0:
        raise InputError(f"The slope is {slope:g} deg; give an angle from level, 0 to 90 deg.")
    return math.sqrt(2.0 * gravity * run * math.sin(math.radians(slope)) / (1.0 + turning))


def mass_at_arm(inertia: float, arm: float) -> float:
    """Mass that strikes like a body turning about an axis, m = I/r^2.

    Parameters
    ----------
    inertia : float
        I about the axis, tonne mm^2.
    arm : float
        r from the axis to the line of the strike, mm.

    Returns
    -------
    float
        tonne. The speed that belongs to it is ω r.

    Raises
    ------
    InputError
        For a value that is not above 0.

    References
    ----------
    I ω^2/2 = m (ω r)^2/2 (elementary mechanics).

    Examples
    --------
    A rod of 3 kg and 1 m, hinged at one end (I = m L^2/3), strikes with its other end like 1 kg:

    >>> round(mass_at_arm(0.003 * 1000**2 / 3, 1000.0), 9)
    0.001
    """
    _refuse(inertia, "The moment of inertia", "tonne mm^2")
    _refuse(arm, "The arm of the strike", "mm")
    return inertia / arm**2


# ---- one spring


def in_series(*stiffness: float) -> float:
    """Stiffness of springs in a row, 1/k = Σ 1/k_i; an infinite one gives nothing.

    Parameters
    ----------
    stiffness : float
        N/mm, each above 0; inf for what is rigid.

    Returns
    -------
    float
        N/mm.

    Raises
    ------
    InputError
        For a stiffness that is not above 0.

    Examples
    --------
    >>> in_series(3000.0, 6000.0, float("inf"))
    2000.0
    """
    for k in stiffness:
        if not k > 0.0:
            raise InputError(f"A stiffness is {k:g} N/mm; give a value above 0.")
    compliance = sum(1.0 / k for k in stiffness)
    return 1.0 / compliance if compliance > 0.0 else math.inf


def drop_factor(height: float, static_deflection: float) -> float:
    """Force of a dropped weight over the weight, n = 1 + sqrt(1 + 2 h/δ).

    Parameters
    ----------
    height : float
        h, mm.
    static_deflection : float
        δ under the weight at rest, mm.

    Returns
    -------
    float
        2 for a weight that is set down suddenly, without a drop.

    Raises
    ------
    InputError
        For a height below 0 or a deflection not above 0.

    References
    ----------
    J. M. Gere, Mechanics of Materials, 7th ed., section 2.8 (section number from memory; its table of factors for
    h/δ up to 10 was read).

    Examples
    --------
    >>> drop_factor(7.5, 1.0)
    5.0
    """
    _refuse(height, "The drop", "mm", zero=True)
    _refuse(static_deflection, "The static deflection", "mm")
    return 1.0 + math.sqrt(1.0 + 2.0 * height / static_deflection)


def strike_force(mass: float, speed: float, stiffness: float, push: float = 0.0) -> float:
    """Greatest force of a mass that runs into a spring, F = P + sqrt(P^2 + k m v^2); v sqrt(k m) without a push.

    The push P (a slope, a chain, the weight of what falls) stays on while the spring gives way. With v = 0 it is
    twice the push: the load that is suddenly applied. With P = m g and v^2 = 2 g h it is the weight times
    `drop_factor`.

    Parameters
    ----------
    mass : float
        m, tonne.
    speed : float
        v, mm/s.
    stiffness : float
        k, N/mm.
    push : float
        P, N.

    Returns
    -------
    float
        N.

    Raises
    ------
    InputError
        For a mass or stiffness not above 0, or a speed or push below 0.

    References
    ----------
    m v^2/2 + P x = k x^2/2, F = k x (derived; a published strike on a rod and published drops agree, cases 8.1 to 8.4
    of the verification table).

    Examples
    --------
    200 kg at 1.5 m/s into 2000 N/mm:

    >>> round(strike_force(0.2, 1500.0, 2000.0))
    30000
    """
    _refuse(mass, "The striking mass", "tonne")
    _refuse(speed, "The striking speed", "mm/s", zero=True)
    _refuse(stiffness, "The stiffness", "N/mm")
    _refuse(push, "The push", "N", zero=True)
    return push + math.sqrt(push**2 + stiffness * mass * speed**2)


def half_period(mass: float, stiffness: float) -> float:
    """How long a mass stays on a spring without mass that it runs into, π sqrt(m/k).

    Parameters
    ----------
    mass : float
        tonne.
    stiffness : float
        N/mm.

    Returns
    -------
    float
        s.

    References
    ----------
    Half a period of one mass on one spring (elementary mechanics).

    Examples
    --------
    >>> round(half_period(0.1, 9869.604401), 6)
    0.01
    """
    _refuse(mass, "The mass", "tonne")
    _refuse(stiffness, "The stiffness", "N/mm")
    return math.pi * math.sqrt(mass / stiffness)


def captured_share(mass: float, part_mass: float) -> float:
    """Share of the striker's energy that is left when it has taken the part's own mass along, m/(m + M).

    The capture is inelastic: momentum is kept, m v = (m + M) v', and (m + M) v'^2/2 is left. The rest goes into the
    part's own swinging, which sooner or later adds to the force again; so this lowers the force of the energy
    balance, and the time history tells how much of that is true.

    Parameters
    ----------
    mass : float
        m, of the striker.
    part_mass : float
        M, of the part as it moves at the strike (`effective_mass`).

    Returns
    -------
    float

    References
    ----------
    H. Cox 1849, as in Timoshenko's books on strength of materials (from memory): M is 17/35 of a simple beam struck
    at midspan, 33/140 of a cantilever struck at its tip.

    Examples
    --------
    >>> captured_share(3.0, 1.0)
    0.75
    """
    _refuse(mass, "The striking mass", "tonne")
    _refuse(part_mass, "The part's mass", "tonne", zero=True)
    return mass / (mass + part_mass)


# ---- waves


def wave_speed(modulus: float, density: float) -> float:
    """Speed of a wave along a bar, c = sqrt(E/ρ).

    Parameters
    ----------
    modulus : float
        E, MPa.
    density : float
        ρ, tonne/mm^3.

    Returns
    -------
    float
        mm/s.

    Raises
    ------
    InputError
        For a value that is not above 0.

    References
    ----------
    Wave equation of a bar, E u_xx = ρ u_tt (textbook; READ with σ = ρ c v in a solution of D. E. Hudson's problem
    3.38).

    Examples
    --------
    Wood of 11,000 MPa and 450 kg/m^3:

    >>> round(wave_speed(11_000.0, 450e-12))
    4944132
    """
    _refuse(modulus, "The modulus", "MPa")
    _refuse(density, "The density", "tonne/mm^3")
    return math.sqrt(modulus / density)


def wave_stress(modulus: float, density: float, speed: float) -> float:
    """Stress behind the front of a bar struck at its end, σ = ρ c v = v sqrt(E ρ), until a reflection returns.

    Parameters
    ----------
    modulus : float
        E, MPa.
    density : float
        ρ, tonne/mm^3.
    speed : float
        v that the struck end has, mm/s.

    Returns
    -------
    float
        MPa. A blow is never softer than this at its beginning, however soft the part is as a spring.

    References
    ----------
    As `wave_speed`.

    Examples
    --------
    Wood of 11,000 MPa and 450 kg/m^3, struck along the grain at 2 m/s:

    >>> round(wave_stress(11_000.0, 450e-12, 2000.0), 2)
    4.45
    """
    return density * wave_speed(modulus, density) * speed


# ---- springs in a row, one of them a pad


@dataclass(frozen=True)
class Link:
    """One spring in the row: `stiffness` N/mm up to `travel` mm, rigid beyond it.

    Attributes
    ----------
    name : str
        Of the part, the mount, the striker, the pad.
    stiffness : float
        N/mm, above 0; inf for what is rigid.
    travel : float
        mm; inf for what does not bottom out.
    """

    name: str
    stiffness: float
    travel: float = math.inf

    def __post_init__(self) -> None:
        if not self.stiffness > 0.0:
            raise InputError(f'The stiffness of "{self.name}" is {self.stiffness:g} N/mm; give a value above 0.')
        if not self.travel > 0.0:
            raise InputError(f'The travel of "{self.name}" is {self.travel:g} mm; give a value above 0.')

    @property
    def full(self) -> float:
        """Force at which it bottoms out, N."""
        return self.stiffness * self.travel


@dataclass(frozen=True)
class Stage:
    """The row between two links that bottom out: it begins at `force` N, `stroke` mm, `energy` N mm."""

    force: float
    stroke: float
    energy: float
    stiffness: float

    def at(self, force: float) -> tuple[float, float]:
        """Stroke (mm) and elastic energy (N mm) at a force in this stage."""
        further = (force - self.force) / self.stiffness
        return self.stroke + further, self.energy + 0.5 * (force + self.force) * further


@dataclass(frozen=True)
class Chain:
    """Springs in a row: stiffer, piece by piece, as links bottom out.

    Parameters
    ----------
    links : sequence of Link
        One of them at least must neither be rigid nor bottom out.
    curve : sequence of (force, stroke), optional
        One more spring, by points of its characteristic from (0, 0) upwards, N and mm: a part whose contacts grow and
        close under its load. Beyond the last point it goes on as in the last piece.

    Raises
    ------
    InputError
        If nothing in the row gives way for good: the force would have no limit.

    Examples
    --------
    A part of 2048 N/mm behind a pad of 128 N/mm that bottoms out after 4 mm, at 512 N:

    >>> chain = Chain((Link("part", 2048.0), Link("pad", 128.0, travel=4.0)))
    >>> chain.stroke(512.0), chain.stroke(2560.0), chain.bottomed(2560.0)
    (4.25, 5.25, ('pad',))
    """

    links: Sequence[Link]
    curve: Sequence[tuple[float, float]] = ()

    def __post_init__(self) -> None:
        if not self.curve and not any(math.isfinite(link.stiffness) and math.isinf(link.travel) for link in self.links):
            raise InputError("Everything in the row of springs is rigid or bottoms out: the force has no limit.")

    @property
    def stages(self) -> tuple[Stage, ...]:
        """The pieces, from force 0 upwards."""
        begins = {link.full for link in self.links if math.isfinite(link.full)}
        begins |= {force for force, _ in self.curve[:-1]}
        stages = [Stage(0.0, 0.0, 0.0, self._stiffness(0.0))]
        for force in sorted(begins - {0.0}):
            stages.append(Stage(force, *stages[-1].at(force), self._stiffness(force)))
        return tuple(stages)

    def _stiffness(self, force: float) -> float:
        """Of the row just above a force (N), N/mm."""
        left = [link.stiffness for link in self.links if link.full > force]
        for (low, start), (high, end) in pairwise(self.curve):
            if low <= force < high or (high, end) == tuple(self.curve[-1]):
                return in_series(*left, (high - low) / (end - start))
        return in_series(*left)

    def stage(self, force: float) -> Stage:
        """The piece that a force (N) lies in."""
        return [stage for stage in self.stages if stage.force <= force][-1]

    def stroke(self, force: float) -> float:
        """How far the row gives way under a force (N), mm."""
        return self.stage(force).at(force)[0]

    def energy(self, force: float) -> float:
        """Elastic energy of the row under a force (N), N mm."""
        return self.stage(force).at(force)[1]

    def bottomed(self, force: float) -> tuple[str, ...]:
        """Names of the links that have bottomed out under a force (N)."""
        return tuple(link.name for link in self.links if link.full <= force)


@dataclass(frozen=True)
class Impact:
    """How a strike ends by the balance of energy: at the greatest force, when the striker stands still.

    energy_in + push_work = energy_lost + elastic + dent_energy.

    Attributes
    ----------
    force : float
        Greatest force between striker and part, N.
    stroke : float
        How far the springs have given way, mm.
    energy_in : float
        m v^2/2, N mm.
    energy_lost : float
        What taking the part's mass along costs, N mm.
    push_work : float
        Of the steady push over stroke and dent, N mm.
    elastic : float
        In the springs, N mm.
    dent : float
        mm crushed at the limiting force; inf where the push alone exceeds it.
    dent_energy : float
        Spent there, N mm.
    bottomed : tuple of str
        The links that have bottomed out.
    """

    force: float
    stroke: float
    energy_in: float
    energy_lost: float
    push_work: float
    elastic: float
    dent: float
    dent_energy: float
    bottomed: tuple[str, ...]


def energy_balance(
    chain: Chain, mass: float, speed: float, *, push: float = 0.0, part_mass: float = 0.0, limit: float = math.inf
) -> Impact:
    """The end of a strike: energy in = energy in the springs (and in the dent, if the force is limited).

    U(F) - P x(F) = m v^2/2 · m/(m + M), F at most F_y; what is left then makes a dent of depth d at constant force,
    (F_y - P) d.

    Parameters
    ----------
    chain : Chain
        The part, its mount, the striker, a pad, in a row.
    mass : float
        m, tonne.
    speed : float
        v, mm/s.
    push : float
        P, a steady force that stays on, N: m g for what falls.
    part_mass : float
        M, the part's own mass as it moves at the strike, tonne; 0: its energy is not lost.
    limit : float
        F_y, the greatest force that the surface bears, N: above it the surface is crushed.

    Returns
    -------
    Impact

    Raises
    ------
    InputError
        For a mass or limit not above 0, or a speed or push below 0.

    References
    ----------
    As `strike_force`, with the springs' characteristic in straight pieces and a rigid-plastic dent (derived).

    Examples
    --------
    200 kg at 1.5 m/s into 2000 N/mm: 30 kN. If the surface bears 20 kN, the springs take 100 J of the 225 J and the
    rest makes a dent of 125/20 = 6.25 mm:

    >>> chain = Chain((Link("part", 2000.0),))
    >>> round(energy_balance(chain, 0.2, 1500.0).force)
    30000
    >>> soft = energy_balance(chain, 0.2, 1500.0, limit=20_000.0)
    >>> soft.force, soft.elastic, soft.dent
    (20000.0, 100000.0, 6.25)
    """
    _refuse(speed, "The striking speed", "mm/s", zero=True)
    _refuse(push, "The push", "N", zero=True)
    if not limit > 0.0:
        raise InputError(f"The limiting force is {limit:g} N; give a value above 0.")
    energy_in = 0.5 * mass * speed**2
    left = energy_in * captured_share(mass, part_mass)
    force = min(_elastic_force(chain, left, push), limit)
    stroke, elastic = chain.stroke(force), chain.energy(force)
    dent = 0.0
    if force == limit:
        rest = max(0.0, left + push * stroke - elastic)
        dent = rest / (limit - push) if limit > push else math.inf
    return Impact(
        force=force,
        stroke=stroke,
        energy_in=energy_in,
        energy_lost=energy_in - left,
        push_work=push * (stroke + dent) if push else 0.0,
        elastic=elastic,
        dent=dent,
        dent_energy=limit * dent if dent else 0.0,
        bottomed=chain.bottomed(force),
    )


def _elastic_force(chain: Chain, energy: float, push: float) -> float:
    """The root F >= P of U(F) - P x(F) = energy."""

    def spent(stage: Stage) -> float:
        return stage.energy - push * stage.stroke

    # beyond F = P what is spent only grows, so the last stage that begins below the root holds it
    stage = [s for s in chain.stages if s.force <= push or spent(s) <= energy][-1]
    rest = 2.0 * stage.stiffness * (energy - spent(stage)) + stage.force * (stage.force - 2.0 * push)
    return push + math.sqrt(max(0.0, push**2 + rest))
