"""The colours of a picture: wood tones below the strength, blue-violet from it on.

Lightness falls in even steps from end to end, so that the picture survives a grey copy; the hue family
changes at exactly 1.0, from ochre to violet, a pair that people with any colour blindness tell apart.
Colours are mixed in OKLab, in which equal steps look equal.

References
----------
B. Ottosson, A perceptual color space for image processing, 2020 (the two matrices).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

PAPER = "#fcfaf5"
WOOD = "#f3e8d3"
GRAIN = "#a98b62"
INK = "#26241f"
PENCIL = "#3a3a40"
FAINT = "#77726a"
TOP = 2.0  # utilisations from here up share the darkest colour

# OKLab: lightness, green-red, blue-yellow; first and last colour of each half
_BELOW = np.array([[0.945, 0.004, 0.030], [0.640, 0.045, 0.095]])
_ABOVE = np.array([[0.560, 0.045, -0.130], [0.260, 0.050, -0.110]])
_TO_CONES = np.array(
    [[1.0, 0.3963377774, 0.2158037573], [1.0, -0.1055613458, -0.0638541728], [1.0, -0.0894841775, -1.2914855480]]
)
_TO_RGB = np.array(
    [
        [4.0767416621, -3.3077115913, 0.2309699292],
        [-1.2684380046, 2.6097574011, -0.3413193965],
        [-0.0041960863, -0.7034186147, 1.7076147010],
    ]
)


def below(utilisation: FloatArray) -> FloatArray:
    """Return the wood tones of utilisations 0 to 1 (clipped there): pale to ochre brown."""
    return _mix(_BELOW, np.clip(utilisation, 0.0, 1.0))


def above(utilisation: FloatArray) -> FloatArray:
    """Return the violets of utilisations 1 to `TOP` (clipped there): blue-violet to near black."""
    return _mix(_ABOVE, np.clip((utilisation - 1.0) / (TOP - 1.0), 0.0, 1.0))


def colours(utilisation: FloatArray) -> FloatArray:
    """Return the colour of each utilisation.

    Parameters
    ----------
    utilisation : (...) array
        Share of the strength; 1.0 and above is violet.

    Returns
    -------
    (..., 4) array
        Red, green, blue and opacity, 0 to 1.
    """
    values = np.asarray(utilisation, dtype=np.float64)
    return np.where((values >= 1.0)[..., None], above(values), below(values))


def _mix(ends: FloatArray, share: FloatArray) -> FloatArray:
    lab = ends[0] + np.asarray(share)[..., None] * (ends[1] - ends[0])
    linear = np.clip((lab @ _TO_CONES.T) ** 3 @ _TO_RGB.T, 0.0, 1.0)
    rgb = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return np.concatenate((rgb, np.ones((*rgb.shape[:-1], 1))), axis=-1)
