"""What a wood brings to the judgement: strengths as criteria want them, splitting lengths, pointwise use."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..bases import DESIGN
from ..wood.model import Wood
from .criteria import SplitLength, SplitStrength, split_utilisation
from .interaction import PlaneStrength, interaction
from .verdict import COMPRESSION_ACROSS, COMPRESSION_ALONG, SHEAR, TENSION_ACROSS, TENSION_ALONG

Array = NDArray[np.float64]


def split_strength(wood: Wood) -> SplitStrength:
    """Splitting strengths on the basis."""
    f = wood.splitting
    values = (f["shear"].value, f["tension_across"].value, f["compression_across"].value)
    return SplitStrength(*values, pressure_helps=wood.basis != DESIGN)


def plane_strength(wood: Wood) -> PlaneStrength:
    """All five strengths on the basis; where codes have several, those of splitting, and of bending."""
    found = {name: one.value for name, one in {**wood.strengths, **wood.splitting}.items()}
    return PlaneStrength(**{**found, "tension_along": wood.bending.value})


def split_lengths(wood: Wood) -> tuple[SplitLength, SplitLength]:
    """Splitting length with the low and with the high energies; always from mean strengths."""
    f, g = wood.splitting, wood.fracture
    mean = SplitStrength(f["shear"].mean, f["tension_across"].mean, f["compression_across"].mean)
    stiffness = wood.clear_plane.crack_stiffness()
    return (
        SplitLength(mean, stiffness, (g.G_Ic[0], g.G_IIc[0]), g.split_length),
        SplitLength(mean, stiffness, (g.G_Ic[1], g.G_IIc[1]), g.split_length),
    )


def combined_use(mean: Array, f: PlaneStrength, strength: SplitStrength, criterion: str) -> Array:
    """Combined utilisation (k,) of means (k, 3) of σ_0, σ_90, τ by a criterion's name.

    Pressure across the grain ends in a dent and no break: it enters as it does in splitting, as help against shear. So
    f_v u_p stands for τ, u_p splitting's utilisation of (min(σ_90, 0), τ), which grows with the stresses as τ does.
    """
    along, across, shear = mean.T
    pressed = split_utilisation(np.minimum(across, 0.0), shear, strength)
    return interaction(along, np.maximum(across, 0.0), f.shear * pressed, f, criterion)


def pointwise_use(wood: Wood, stress: Array) -> dict[str, Array]:
    """Stress (m, 3) in grain axes over strength, point by point, for each mode that is one stress alone."""
    f = {name: one.value for name, one in wood.strengths.items()}
    along, across, shear = stress.T
    return {
        SHEAR: np.abs(shear) / f["shear"],
        TENSION_ACROSS: np.maximum(across, 0.0) / f["tension_across"],
        TENSION_ALONG: np.maximum(along, 0.0) / f["tension_along"],
        COMPRESSION_ALONG: np.maximum(-along, 0.0) / f["compression_along"],
        COMPRESSION_ACROSS: np.maximum(-across, 0.0) / f["compression_across"],
    }
