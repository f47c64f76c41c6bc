"""Drying cracks in the faces: what they leave of the thickness that shear and splitting go by."""

from __future__ import annotations

from dataclasses import replace

from .model import CHOICE, Factor, Strength

K_CR = 0.67  # of solid timber
K_CR_NAME, DEPTH_NAME = "k_cr, drying cracks", "thickness less drying cracks"
K_CR_SOURCE = "EN 1995-1-1, 6.1.7 (from memory)"
WEAKENED = ("shear", "tension_across")


def crack_factor(thickness: float, depth: float | None, *, both: bool = False) -> float:
    """Share of the thickness that is left, (t - d)/t; the code's k_cr = 0.67 where the depth is not known.

    Parameters
    ----------
    thickness : float
        t, mm.
    depth : float or None
        d of the deepest crack of one face, mm.
    both : bool
        Whether both faces are cracked so deep: then 2 d.

    Returns
    -------
    float
        0 where the cracks meet, or go through.

    References
    ----------
    EN 1995-1-1, 6.1.7 (k_cr, from memory); the rest derived: τ = V Q/(I t) on what is left of t.

    Examples
    --------
    >>> crack_factor(40.0, 10.0), crack_factor(40.0, 10.0, both=True), crack_factor(40.0, None)
    (0.75, 0.5, 0.67)
    """
    if depth is None:
        return K_CR
    return max(0.0, (thickness - (2.0 if both else 1.0) * depth) / thickness)


def weakened(strength: Strength, factor: float, *, known: bool) -> Strength:
    """A strength on the whole thickness where cracks leave a share of it; its mean, a matter of the wood, stays.

    Parameters
    ----------
    strength : Strength
    factor : float
        From `crack_factor`.
    known : bool
        Whether the cracks' depth was stated.
    """
    name, source = (DEPTH_NAME, CHOICE) if known else (K_CR_NAME, K_CR_SOURCE)
    left = Factor(name, factor, source)
    return replace(strength, value=strength.value * factor, factors=(*strength.factors, left))
