"""Splitting by energy: from the energy release rate over the length of a crack to the load that starts it and runs it.

A crack that is there already starts where G_I/G_Ic + G_II/G_IIc = 1. Where none is there, a finite length of fibres has
to part at once: the stress over it must suffice, and so must the energy it sets free; the length is where the load that
both need is least.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .criteria import SplitStrength, split_utilisation
from .rows_split import SplitRow
from .verdict import Takes

Array = NDArray[np.float64]

FINE = 400  # lengths between which the start is looked for
DIFFERS = 1.2  # ratio of both loads from which the verdict says which one is trusted
SHORT_SHARE = 1 / 3  # of the wood ahead, or beside the line: a mean over more of it belongs to no crack in a wide plate
RISES = 1.02  # a load that has to rise by more than this is a crack that stops


@dataclass(frozen=True)
class Curve:
    """Energy release rate of one crack at reference load, by its length.

    Attributes
    ----------
    lengths : (k,) array
        mm, growing.
    opening, sliding : (k,) arrays
        G_I and G_II, N/mm.
    ahead : float
        Length of the wood along the line, to where it leaves it, mm.
    existing : float
        Length of the crack that is there already, mm; 0 where none is.
    mean_across, mean_shear : (f,) arrays
        Means of σ_90 (pressed counts as zero unless all of it is) and of τ over the first `mean_lengths` (f,) mm of the
        line before anything has opened, MPa.
    """

    lengths: Array
    opening: Array
    sliding: Array
    ahead: float
    existing: float
    mean_lengths: Array
    mean_across: Array
    mean_shear: Array


@dataclass(frozen=True)
class Start:
    """What starts a crack and whether it runs, as factors on the reference load.

    Attributes
    ----------
    factor : float
        It starts; infinite where nothing drives it.
    length : float
        Over which it starts at once; of an existing crack its own length, mm.
    runs_at : float
        Factor at which it has run to the longest length looked at; that of the start where it runs at once.
    stops_at : float or None
        Length at which it waits for more load, mm; None where it runs.
    """

    factor: float
    length: float
    runs_at: float
    stops_at: float | None


def mixed_ratio(opening: Array, sliding: Array, energy: tuple[float, float]) -> Array:
    """G_I/G_Ic + G_II/G_IIc: 1 where a crack along the grain starts, and it grows with the square of the load.

    References
    ----------
    Linear energy criterion (from memory); Wu's form in intensities lies near it: K_I/K_Ic + (K_II/K_IIc)^2 = 1.

    Examples
    --------
    90/250 + 260/800 = 0.685:

    >>> round(float(mixed_ratio(np.array(90.0), np.array(260.0), (250.0, 800.0))), 3)
    0.685
    """
    return np.asarray(opening / energy[0] + sliding / energy[1])


def start_of(curve: Curve, energy: tuple[float, float], strength: SplitStrength) -> Start:
    """The load at which a crack starts and whether it then runs.

    Parameters
    ----------
    curve : Curve
    energy : (G_Ic, G_IIc)
        N/mm.
    strength : SplitStrength
        Mean, as the splitting length has it.

    References
    ----------
    P. Cornetti, N. Pugno, A. Carpinteri, D. Taylor, Finite fracture mechanics: a coupled stress and energy failure
    criterion, Engng Fract. Mech. 73 (2006) 2021-2033 (from memory): mean stress and mean energy release rate over one
    finite length. Ahead of a long crack the mean stress is met at the splitting length x0, and the load is Griffith's.
    """
    ratio = mixed_ratio(curve.opening, curve.sliding, energy)
    if curve.existing > 0.0:
        factor, length = _factor(ratio[0]), curve.existing
    else:
        factor, length = _coupled(curve, ratio, strength)
    return _running(curve, ratio, factor, length)


def _factor(ratio: float) -> float:
    return float(1.0 / np.sqrt(ratio)) if ratio > 0.0 else float("inf")


def _coupled(curve: Curve, ratio: Array, strength: SplitStrength) -> tuple[float, float]:
    """The least factor that meets stress and energy over one length, and that length."""
    lengths = np.geomspace(curve.lengths[0] / 4, curve.lengths[-1], FINE)
    released = _mean_ratio(curve.lengths, ratio, lengths)
    use = split_utilisation(curve.mean_across, curve.mean_shear, strength)
    stress = np.interp(lengths, curve.mean_lengths, use)
    with np.errstate(divide="ignore"):
        needed = np.maximum(1.0 / np.sqrt(np.maximum(released, 0.0)), 1.0 / np.maximum(stress, 0.0))
    best = int(np.argmin(needed))
    return float(needed[best]), float(lengths[best])


def _mean_ratio(lengths: Array, ratio: Array, at: Array) -> Array:
    """Mean of the ratio over 0..a for each a in `at`; a power of the length below the first, smooth between."""
    from scipy.interpolate import PchipInterpolator

    power = np.log(ratio[1] / ratio[0]) / np.log(lengths[1] / lengths[0]) if min(ratio[:2]) > 0.0 else 1.0
    power = float(np.clip(power, 0.0, 2.0))
    smooth = PchipInterpolator(lengths, ratio)
    first = ratio[0] * lengths[0] / (power + 1.0)
    inside = np.maximum(at, lengths[0])
    total = np.array([float(smooth.integrate(lengths[0], a)) for a in inside]) + first
    below = ratio[0] * (at / lengths[0]) ** power * at / (power + 1.0)
    return np.asarray(np.where(at < lengths[0], below, total) / at)


def past_length(curve: Curve, start: Start, energy: tuple[float, float], length: float) -> float:
    """Factor that drives a crack past a length: that of its start, or what the lengths up to there need if more."""
    ratio = mixed_ratio(curve.opening, curve.sliding, energy)
    between = (curve.lengths > start.length) & (curve.lengths <= length)
    needed = [_factor(one) for one in ratio[between]]
    if length < curve.lengths[-1] and length > start.length:
        needed.append(_factor(float(np.interp(length, curve.lengths, ratio))))
    return max([start.factor, *needed])


def _running(curve: Curve, ratio: Array, factor: float, length: float) -> Start:
    later = curve.lengths > length * 1.001
    if not np.isfinite(factor) or not later.any():
        return Start(factor, length, factor, None)
    needed = np.array([_factor(one) for one in ratio[later]])
    if needed.max() <= RISES * factor:
        return Start(factor, length, factor, None)
    first = int(np.argmax(needed > RISES * factor))
    stops = float(curve.lengths[later][max(first - 1, 0)]) if first else length
    return Start(factor, length, float(needed.max()), stops)


def trusted(
    mean: float, energy: float, mean_length: float, ahead: float, beside: float, *, short: bool
) -> tuple[str, str]:
    """Which of both loads is trusted where they differ by more than a fifth, "mean stress" or "energy", and why.

    Parameters
    ----------
    mean, energy : float
        Loads, any common unit.
    mean_length, ahead, beside : float
        Length of the mean, of the wood along the line, and across it on the thinner side, mm.
    short : bool
        Whether the line is shorter than the splitting length.

    Returns
    -------
    (str, str)
        The first is empty where they agree.
    """
    if max(mean, energy) <= DIFFERS * min(mean, energy):
        return "", "both agree within a fifth"
    why = doubted(mean_length, ahead, beside, short=short)
    if why:
        return "energy", why
    which = "energy" if energy < mean else "mean stress"
    return which, "there is wood enough ahead and beside for both; the lower one counts"


def doubted(mean_length: float, ahead: float, beside: float, *, short: bool) -> str:
    """Why a mean stress over such a length is not to be trusted, whatever the energy says; empty where it is."""
    if short or mean_length > SHORT_SHARE * ahead:
        return f"the mean goes over {mean_length:.3g} mm of the {ahead:.3g} mm of wood ahead, too much of it"
    if mean_length > SHORT_SHARE * beside:
        return f"the mean goes over {mean_length:.3g} mm, with only {beside:.3g} mm of wood beside the split"
    return ""


def pressed_mean(values: Array, lengths: Array) -> Array:
    """Means of σ_90 over the first `lengths` (f,) of values (f,) there: pressed counts as zero, unless all is."""
    pulled = _running_mean(np.maximum(values, 0.0), lengths)
    everything = _running_mean(values, lengths)
    return np.where(np.maximum.accumulate(values) > 0.0, pulled, everything)


def signed_mean(values: Array, lengths: Array) -> Array:
    """Means over the first `lengths` (f,) of values (f,) there."""
    return _running_mean(values, lengths)


def _running_mean(values: Array, lengths: Array) -> Array:
    steps = np.diff(lengths, prepend=0.0)
    before = np.concatenate([values[:1], values[:-1]])
    return np.asarray(np.cumsum(steps * (values + before) / 2) / lengths)


def spaced(first: float, last: float, count: int) -> tuple[float, ...]:
    """Lengths from first to last, each the same share longer than the one before."""
    return tuple(float(x) for x in np.geomspace(first, last, count))


def split_cautions(rows: Sequence[SplitRow], takes: Takes) -> list[str]:
    """A sentence on each crack that is only assumed and by energy runs on below what the verdict goes by."""
    judged = takes.low if takes.judged is None else takes.judged
    return [
        f"{row.of[:1].upper()}{row.of[1:]}: by energy it runs on at {row.low.load / judged:.2f} of the load that the "
        "verdict goes by."
        for row in rows
        if row.assumed and row.low is not None and row.low.load is not None and judged and row.low.load < judged
    ]
