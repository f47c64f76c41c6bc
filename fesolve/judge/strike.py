"""The force of a strike on wood as a band: all elastic above; below, with the pressure that a surface bears.

The formulas are those of `fem.impact`; what stands here is what wood adds to them.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import InputError
from ..fem.impact import Chain, Impact, energy_balance

DENT_FACTOR = 2.5  # of f_c90, own choice


def dent_force(compression_across: float, area: float) -> float:
    """Force above which a struck face is crushed, F_y = 2.5 f_c90 A.

    f_c90 is a stress at the proportional limit, spread over a whole face; under a small patch the fibres beside it
    help, the load goes on rising while the cells fold, and a blow is faster than the test. So the limit is set at 2.5
    f_c90, an own choice without authority. It serves for the lower end of a band only: too high a limit does
    not lower the force.

    Parameters
    ----------
    compression_across : float
        f_c90, MPa.
    area : float
        A, of the struck patch, mm^2.

    Returns
    -------
    float
        N.

    Raises
    ------
    InputError
        For a value that is not above 0.

    Examples
    --------
    f_c90 = 6 MPa on 20 mm by 40 mm:

    >>> dent_force(6.0, 800.0)
    12000.0
    """
    if not (compression_across > 0.0 and area > 0.0):
        raise InputError(f"f_c90 is {compression_across:g} MPa, the area {area:g} mm^2; give values above 0.")
    return DENT_FACTOR * compression_across * area


@dataclass(frozen=True)
class StrikeBand:
    """The two ends of a struck force.

    Attributes
    ----------
    low : Impact
        With the part's own mass taken along, and the force limited by the dent.
    high : Impact
        All elastic: no energy is lost on the way. What decides.
    """

    low: Impact
    high: Impact

    @property
    def dents(self) -> bool:
        """Whether the low end is set by the surface being crushed."""
        return self.low.dent > 0.0


def strike_band(
    chain: Chain, mass: float, speed: float, *, push: float = 0.0, part_mass: float = 0.0, limit: float
) -> StrikeBand:
    """The struck force from below and from above.

    Above, the springs take all of the energy. Below, the striker takes the part's own mass along (m/(m + M) of
    its energy is left), and where the springs would press harder than `limit`, the surface is crushed at constant
    force: E m/(m + M) + P (x + d) = U(F_y) + F_y d. The dent then takes the energy that the springs do not; a
    second blow on the crushed place finds it harder, and its force lies nearer the upper end.

    Parameters
    ----------
    chain : Chain
    mass : float
        tonne.
    speed : float
        mm/s.
    push : float
        N.
    part_mass : float
        M, the part's own mass as it moves at the strike, tonne.
    limit : float
        F_y, N (`dent_force`).

    Returns
    -------
    StrikeBand

    References
    ----------
    Derived; see `fem.impact.energy_balance`. The limit is an own choice.

    Examples
    --------
    200 kg at 1.5 m/s into 2000 N/mm, on a face that bears 12 kN:

    >>> from fesolve.fem.impact import Link
    >>> band = strike_band(Chain((Link("part", 2000.0),)), 0.2, 1500.0, limit=12_000.0)
    >>> round(band.high.force), round(band.low.force), band.low.dent
    (30000, 12000, 15.75)
    """
    high = energy_balance(chain, mass, speed, push=push)
    low = energy_balance(chain, mass, speed, push=push, part_mass=part_mass, limit=limit)
    return StrikeBand(low, high)
