"""Bearing: pressure at an angle to the grain, and what the wood bears under a round pin."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pow, radians, sin, sqrt

from ..bases import share_below
from . import tables
from .model import CHOICE, Factor, Graded, Wood
from .strengths import lower_factor

KG_PER_M3 = 1e-12  # in tonne/mm^3
MOISTURE = 0.12  # of the dry weight, at which densities are tabled
SMALL = 6.35  # mm (1/4 in.): thinner pins bear the same at every angle
LARGE = 25.4  # mm (1 in.): the formulas are for pins up to this
DOWEL_SOURCE = "NDS 2018, dowel bearing strengths by specific gravity (reproduced from its fastener tables)"
DOWEL_STATUS = "computed here"
INPUT = "input of the formula"
RD_SOURCE = "NDS 2018, Table 12.3.1B"
FH_SOURCE = "EN 1995-1-1:2004, 8.5.1.1"
DENT_BASE = 1.0  # mm at the limit, own choice
DENT_POWER = 2.2
STAND_IN = "compression along and across the grain stand in for dowel bearing"


def hankinson(along: float, across: float, angle: float, *, exponent: float = 2.0) -> float:
    """Strength under one stress at an angle to the grain, N = P Q/(P sin^n θ + Q cos^n θ).

    Parameters
    ----------
    along, across : float
        P and Q, along and across the grain, in one unit.
    angle : float
        θ, between the stress and the fibres, 0 to 90 deg.
    exponent : float
        n: 2 for compression; 1.5 to 2 are in use for tension.

    Returns
    -------
    float
        In the unit of the strengths.

    References
    ----------
    R. L. Hankinson, Investigation of crushing strength of spruce at varying angles of grain, Air Service Information
    Circular 259, 1921 (from memory); USDA Wood Handbook, ch. 5 (from memory; the exponents read).

    Examples
    --------
    >>> hankinson(40.0, 5.0, 90.0), round(hankinson(40.0, 5.0, 45.0), 3)         # 200/(20 + 2.5)
    (5.0, 8.889)
    """
    s, c = (pow(abs(one), exponent) for one in (sin(radians(angle)), cos(radians(angle))))
    return along * across / (along * s + across * c)


def oven_dry_gravity(density: float) -> float:
    """Specific gravity by weight and volume when oven-dry, from the density at 12 % moisture.

    ρ = ρ_w G (1 + M)/(1 + 0.9 M G), ρ_w = 1000 kg/m^3, M = 0.12, solved for G.

    Parameters
    ----------
    density : float
        tonne/mm^3.

    References
    ----------
    NDS Supplement, 3.1.3: density from specific gravity and moisture (from memory).

    Examples
    --------
    Coast Douglas-fir, 538 kg/m^3; the NDS has 0.50 for Douglas Fir-Larch:

    >>> round(oven_dry_gravity(538e-12), 3)
    0.507
    """
    share = density / (1000 * KG_PER_M3) / (1 + MOISTURE)
    return share / (1 - 0.9 * MOISTURE * share)


def dowel_bearing(gravity: float, diameter: float) -> tuple[float, float]:
    """Dowel bearing strength along and across the grain, F/(d t) at the 5 % offset, MPa.

    From 1/4 in. up 11,200 G psi along and 6,100 G^1.45/sqrt(D) psi across (D in inches); thinner ones 16,600 G^1.84
    psi at every angle.

    Parameters
    ----------
    gravity : float
        G, oven-dry.
    diameter : float
        Of the pin, mm.

    References
    ----------
    NDS 2018, Table 12.3.3 and its notes (from memory; checked by the design values in its fastener tables, which they
    reproduce); T. L. Wilkinson, Dowel bearing strength, FPL-RP-505, 1991 (from memory).

    Examples
    --------
    >>> [round(value * 145.038, -1) for value in dowel_bearing(0.50, 12.7)]                # 5,600 and 3,150 psi
    [5600.0, 3160.0]
    """
    psi = 4.4482216152605 / 25.4**2
    if diameter < SMALL:
        same = 16_600 * gravity**1.84 * psi
        return same, same
    return 11_200 * gravity * psi, 6_100 * gravity**1.45 / sqrt(diameter / 25.4) * psi


@dataclass(frozen=True)
class DowelBearing:
    """What one wood bears under a pin of one diameter.

    Parameters
    ----------
    diameter : float
        mm.
    along, across : float
        On the wood's basis, MPa.
    source, status, note : str
        Where the values come from, and what to know.
    factors : tuple of Factor
        What they were computed from.
    by_gravity : bool
        False where compression strengths stand in.
    """

    diameter: float
    along: float
    across: float
    source: str
    status: str
    note: str = ""
    factors: tuple[Factor, ...] = ()
    by_gravity: bool = True

    def at(self, angle: float) -> float:
        """Strength (MPa) for a force at an angle (deg) to the grain, by Hankinson's formula."""
        return hankinson(self.along, self.across, angle)


def dowel_of(wood: Wood, diameter: float) -> DowelBearing:
    """Dowel bearing strength of a wood on its basis.

    On `mean` the formulas' own values for the mean specific gravity: they are averages of tests. On `lower 5%` those
    for the specific gravity that 5 % of pieces stay below, G (1 - 1.645 CoV), as EN 1995-1-1 puts the characteristic
    density into its own formula (own choice). Without a density f_c0 and f_c90 stand in. Of a grade or class by its own
    code: `graded_dowel`.

    Parameters
    ----------
    wood : Wood
    diameter : float
        Of the pin, mm.

    Examples
    --------
    >>> from .species import make_wood
    >>> ash = make_wood(species="Ash, white", face="flat-sawn", basis="mean")
    >>> pin = dowel_of(ash, 25.0)                                # G = 0.60/(1 - 0.108 x 0.60) = 0.642
    >>> round(pin.along, 1), round(pin.across, 1)
    (49.5, 22.3)
    """
    if wood.graded is not None:
        return graded_dowel(wood, wood.graded, diameter)
    if wood.density is None:
        f = wood.strengths
        note = f"no density is known: {STAND_IN}"
        return DowelBearing(
            diameter, f["compression_along"].value, f["compression_across"].value, STAND_IN, CHOICE, note,
            by_gravity=False,
        )  # fmt: skip
    gravity = oven_dry_gravity(wood.density)
    factors = [
        Factor("diameter in inches", diameter / 25.4, INPUT),
        Factor("specific gravity", gravity, INPUT, "oven-dry"),
    ]
    if share_below(wood.basis) is not None:
        cov = float(tables.scatter_row(wood.species, "specific gravity")["cov_percent"]) / 100
        factors.append(lower_factor(wood.basis, cov))
        gravity *= factors[-1].value
    along, across = dowel_bearing(gravity, diameter)
    note = f"pin above {LARGE:g} mm, to which the formula is known" if diameter > LARGE else ""
    source = f"{DOWEL_SOURCE}; density: {wood.density_source}"
    return DowelBearing(diameter, along, across, source, DOWEL_STATUS, note, tuple(factors))


def graded_dowel(wood: Wood, graded: Graded, diameter: float) -> DowelBearing:
    """What a lumber grade or a strength class bears under a pin by its own code, the case's factors left out.

    Of a grade on the design basis the dowel bearing strength of its specific gravity over R_d of the modes in which
    wood is crushed, 4 along the grain and 5 across it (2.2 to 3 for pins under 1/4 in.); of a class f_h,k.

    Parameters
    ----------
    wood : Wood
    graded : Graded
        That of the wood.
    diameter : float
        Of the pin, mm.

    References
    ----------
    NDS 2018, 12.3 and Tables 12.3.1B, 12.3.3; EN 1995-1-1:2004, 8.5.1.1, eq. 8.31 to 8.33 (both from memory).

    Examples
    --------
    1/2 in. in Douglas Fir-Larch: 5,600/4 and 3,150/5 psi; 20 mm in C24: 0.082 (1 - 0.20) 350 along, over 1.65 across.

    >>> from .conditions import Conditions
    >>> from .species import make_wood
    >>> lumber = make_wood(species="Douglas-fir, coast", face="flat-sawn", basis="design",
    ...     grade="Douglas Fir-Larch No.2", conditions=Conditions(size=(2, 6)))
    >>> pin = dowel_of(lumber, 12.7)
    >>> round(pin.along * 145.0377, -1), round(pin.across * 145.0377, -1)
    (1400.0, 630.0)
    >>> timber = make_wood(species="Spruce, Sitka", face="flat-sawn", basis="lower 5%", strength_class="C24")
    >>> pin = dowel_of(timber, 20.0)
    >>> round(pin.along, 2), round(pin.across, 2)
    (22.96, 13.92)
    """
    if graded.density_low is not None:
        return _class_dowel(wood, graded.density_low / KG_PER_M3, diameter)
    gravity = graded.specific_gravity or 0.0
    along, across = dowel_bearing(gravity, diameter)
    inches = diameter / 25.4
    divisors = (4.0, 5.0) if diameter >= SMALL else (max(2.2, 10.0 * inches + 0.5),) * 2
    rest = 1.0
    for factor in graded.bearing_factors:
        rest *= factor.value
    note = f"pin above {LARGE:g} mm, to which the formula is known" if diameter > LARGE else ""
    factors = (
        Factor("diameter in inches", inches, INPUT),
        Factor("specific gravity", gravity, INPUT, "of the species combination"),
        Factor("1/R_d", 1.0 / divisors[0], RD_SOURCE, f"across the grain 1/{divisors[1]:.3g}; from memory"),
        *graded.bearing_factors,
    )
    return DowelBearing(
        diameter, rest * along / divisors[0], rest * across / divisors[1], DOWEL_SOURCE, DOWEL_STATUS, note, factors
    )


def _class_dowel(wood: Wood, density: float, diameter: float) -> DowelBearing:
    """f_h,0,k = 0.082 (1 - 0.01 d) rho_k, over k_90 across the grain; kg/m3 and mm."""
    along = 0.082 * (1.0 - 0.01 * diameter) * density
    k_90 = (0.90 if wood.group == "hardwood" else 1.35) + 0.015 * diameter
    note = "pin above 30 mm, to which the formula goes" if diameter > 30.0 else ""
    factors = (
        Factor("diameter in mm", diameter, INPUT),
        Factor("characteristic density", density, INPUT, "kg/m3"),
        Factor("k_90", k_90, FH_SOURCE, "divides across the grain; from memory"),
    )
    return DowelBearing(diameter, along, along / k_90, FH_SOURCE, "from memory", note, factors)


def dent_depth(ratio: float) -> float | None:
    """Rough depth (mm) of a dent, 1 mm at the limit and growing with the power 2.2 of pressure over limit.

    None below the limit, where the wood springs back. The power is ln 2/ln(1/0.73): the NDS' design stress across the
    grain for a deformation of 0.02 in. is 0.73 of that for 0.04 in. (read). The 1 mm, and to take the same power at
    pins and along the grain, are own choices.

    Parameters
    ----------
    ratio : float
        Mean pressure over its limit.

    Examples
    --------
    >>> dent_depth(0.9), dent_depth(1.0), round(dent_depth(1 / 0.73), 2)         # half the stress base, twice the depth
    (None, 1.0, 2.0)
    """
    return DENT_BASE * ratio**DENT_POWER if ratio >= 1.0 else None
