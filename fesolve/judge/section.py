"""Properties of a cut through a member, and the formulas a hand calculation puts them into.

Heights run along the cut; which way is up is the caller's choice. Stress is positive in tension, and a
positive moment stretches the side of greater height: ``sigma = N/A + M (y - centroid)/I``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import InputError

FloatArray = NDArray[np.float64]
Interval = tuple[float, float]


class Peak(NamedTuple):
    """The greatest shear stress on a cut (MPa, signed as V is) and its height (mm)."""

    tau: float
    height: float


class Ligament(NamedTuple):
    """One of several pieces of wood on a cut: its share of V (N), its stress (MPa), the height (mm) of its middle."""

    shear: float
    tau: float
    middle: float
    depth: float


@dataclass(frozen=True)
class Section:
    """A cut through wood: layers of constant width, which may lie apart (a hole) or side by side (a box).

    Parameters
    ----------
    layers : sequence of ((float, float), float)
        Height interval (mm) and width (mm) of each layer. Where layers overlap their widths add.
    ratios : sequence of float
        Modulus of elasticity of each layer over one that is taken for all; without them all are alike.

    Raises
    ------
    InputError
        Without layers, for a layer that ends below its start, or a width or ratio that is not above 0.

    Notes
    -----
    All second moments are about the common centroid, with no separate bending of the single layers:
    what a hand calculation calls deducted values. With ratios they are those of the transformed section: each layer
    counts with its ratio times its width. Stress in a layer is its ratio times that of the transformed section, shear
    stress is `V Q/(I t)` with the layer's true width.

    References
    ----------
    Transformed-section method: Gere and Goodno, Mechanics of Materials, 8th ed., section 6.3; Beer and Johnston,
    Mechanics of Materials, section on members made of composite materials (both from memory).

    Examples
    --------
    An I of three 20 x 100 mm planks (I by parallel axes: 2 (6.67e4 + 2000 * 60^2) + 1.67e6 mm^4):

    >>> planks = Section((((-70, -50), 100), ((-50, 50), 20), ((50, 70), 100)))
    >>> round(planks.I / 1e6, 1), float(planks.Q(50))
    (16.2, 120000.0)

    Two layers of 10 x 10 mm, the lower one twice as stiff: A = 300 mm^2, the centroid at (20 * 50 + 10 * 150)/30 mm^2:

    >>> pair = Section((((0, 10), 10), ((10, 20), 10)), (2, 1))
    >>> pair.A, round(pair.centroid, 3), float(pair.width(5))
    (300.0, 8.333, 10.0)
    """

    layers: tuple[tuple[Interval, float], ...]
    ratios: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        layers = tuple(((float(a), float(b)), float(t)) for (a, b), t in self.layers)
        if not layers:
            raise InputError("A section needs at least one layer of wood.")
        ratios = tuple(map(float, self.ratios)) or (1.0,) * len(layers)
        if len(ratios) != len(layers) or not all(0 < n < np.inf for n in ratios):
            raise InputError(f"A section of {len(layers)} layers has the ratios {ratios}; give one above 0 for each.")
        object.__setattr__(self, "ratios", ratios)
        for (start, stop), width in layers:
            if not (start < stop and width > 0):
                raise InputError(
                    f"A layer from {start} to {stop} mm, {width} mm wide, is not wood; give start < stop, width > 0."
                )
        object.__setattr__(self, "layers", layers)

    @cached_property
    def _columns(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Start and stop of each layer, and its width times its ratio."""
        table = np.array([(a, b, n * t) for ((a, b), t), n in zip(self.layers, self.ratios, strict=True)])
        return table[:, 0], table[:, 1], table[:, 2]

    @cached_property
    def A(self) -> float:
        """Area, mm^2."""
        start, stop, width = self._columns
        return float(((stop - start) * width).sum())

    @cached_property
    def centroid(self) -> float:
        """Height of the common centroid, mm."""
        start, stop, width = self._columns
        return float(((stop**2 - start**2) / 2 * width).sum() / self.A)

    @cached_property
    def I(self) -> float:  # noqa: E743 - the trade's letter
        """Second moment of area about the common centroid, mm^4."""
        start, stop, width = self._columns
        start, stop = start - self.centroid, stop - self.centroid
        return float(((stop**3 - start**3) / 3 * width).sum())

    @property
    def low(self) -> float:
        """Height of the lower face, mm."""
        return float(self._columns[0].min())

    @property
    def high(self) -> float:
        """Height of the upper face, mm."""
        return float(self._columns[1].max())

    @property
    def depth(self) -> float:
        """From face to face, gaps included, mm."""
        return self.high - self.low

    @property
    def S_low(self) -> float:
        """Section modulus I/c at the lower face, mm^3."""
        return self.I / (self.centroid - self.low)

    @property
    def S_high(self) -> float:
        """Section modulus I/c at the upper face, mm^3."""
        return self.I / (self.high - self.centroid)

    def Q(self, y: ArrayLike) -> FloatArray:
        """First moment (mm^3) of the wood above height ``y`` (k,) about the centroid; shape as ``y``."""
        start, stop, width = self._columns
        height = np.asarray(y, dtype=float)[..., None]
        above = np.clip(height, start, stop)
        c = self.centroid
        return np.asarray((((stop - c) ** 2 - (above - c) ** 2) / 2 * width).sum(axis=-1))

    def width(self, y: ArrayLike) -> FloatArray:
        """Width of wood (mm) at height ``y`` (k,): the smaller of both sides where it steps, 0 in a gap."""
        start, stop, _ = self._columns
        width = np.array([t for _, t in self.layers])
        height = np.asarray(y, dtype=float)[..., None]
        just_above = ((height >= start) & (height < stop)) @ width
        just_below = ((height > start) & (height <= stop)) @ width
        smaller, greater = np.minimum(just_above, just_below), np.maximum(just_above, just_below)
        return np.asarray(np.where(smaller > 0, smaller, greater))  # at a face only one side is wood

    @cached_property
    def pieces(self) -> tuple[Interval, ...]:
        """The connected height intervals of wood, from below."""
        merged: list[Interval] = []
        for start, stop in sorted(interval for interval, _ in self.layers):
            if merged and start <= merged[-1][1]:
                merged[-1] = (merged[-1][0], max(merged[-1][1], stop))
            else:
                merged.append((start, stop))
        return tuple(merged)


def rectangle(b: float, h: float) -> Section:
    """Section of a plain board, centred on height 0.

    Parameters
    ----------
    b, h : float
        Width and depth, mm.

    Examples
    --------
    >>> board = rectangle(38, 140)
    >>> round(board.I), round(board.S_high), round(float(board.Q(0)))
    (8689333, 124133, 93100)
    """
    return Section((((-h / 2, h / 2), b),))


def net_section(ligaments: Sequence[Interval], b: float) -> Section:
    """Section of the pieces of wood ``ligaments`` (mm) on one cut through a board ``b`` mm thick."""
    return Section(tuple((interval, b) for interval in ligaments))


def shear_flow(section: Section, V: float, y: ArrayLike) -> FloatArray:
    """Shear force for each mm of length across a joint at height ``y``: ``q = V Q / I``, N/mm.

    Examples
    --------
    Three planks as an I, nails 25 mm apart, V = 500 N (Beer & Johnston, Concept Application 6.1): 92.6 N a nail.

    >>> planks = Section((((-70, -50), 100), ((-50, 50), 20), ((50, 70), 100)))
    >>> round(float(shear_flow(planks, 500, 50)) * 25, 1)
    92.6
    """
    return np.asarray(V * section.Q(y) / section.I)


def shear_stress(section: Section, V: float, y: ArrayLike, t: float | None = None) -> FloatArray:
    """Shear stress ``tau = V Q / (I t)`` at height ``y`` (k,), MPa; nan in a gap.

    Parameters
    ----------
    section : Section
    V : float
        Shear force, N.
    y : (k,) array or float
        Heights, mm.
    t : float, optional
        Width of the joint, mm; the section's own width at ``y`` unless given.

    References
    ----------
    Gere, Mechanics of Materials, section "Shear stresses in beams of rectangular cross section".

    Examples
    --------
    A rectangle carries 1.5 V/A at its middle.

    >>> round(float(shear_stress(rectangle(38, 140), 1000, 0) / (1000 / (38 * 140))), 6)
    1.5
    """
    width = section.width(y) if t is None else np.asarray(t, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        stress = shear_flow(section, V, y) / width
    return np.asarray(np.where(width > 0, stress, np.nan))


def peak_shear(section: Section, V: float) -> Peak:
    """Greatest ``|V Q / (I t)|`` over all heights, and where: at the centroid, or where the width steps.

    Examples
    --------
    >>> peak = peak_shear(rectangle(10, 20), 200)
    >>> round(peak.tau, 6), peak.height
    (1.5, 0.0)
    """
    steps = {edge for interval, _ in section.layers for edge in interval}
    heights = np.array(sorted(steps | {section.centroid}))
    stress = shear_stress(section, V, heights)
    best = int(np.nanargmax(np.abs(stress)))
    # where the width steps the narrower side carries more: `width` has chosen it already
    return Peak(float(stress[best]), float(heights[best]))


class InLayer(NamedTuple):
    """A stress (MPa) in one layer of a section, at a height (mm); `layer` counts them."""

    stress: float
    height: float
    layer: int


def worst_shear(section: Section, V: float, strength: FloatArray) -> InLayer:
    """``V Q / (I t)`` where it is greatest over the shear strength of its layer.

    Parameters
    ----------
    section : Section
        Of layers that do not overlap.
    V : float
        N.
    strength : (k,) array
        Of each layer, MPa.

    Examples
    --------
    An I of three planks (:class:`Section`): the web governs, with Q = 1.2e5 + 20 * 50^2/2 mm^3 at its middle.

    >>> planks = Section((((-70, -50), 100), ((-50, 50), 20), ((50, 70), 100)))
    >>> worst = worst_shear(planks, 500, np.ones(3))
    >>> round(worst.stress, 4), worst.height, worst.layer
    (0.2238, 0.0, 1)
    """
    found = []
    for number, ((low, high), t) in enumerate(section.layers):
        for y in (min(max(section.centroid, low), high), low, high):
            found.append(InLayer(V * float(section.Q(y)) / (section.I * t), y, number))
    return max(found, key=lambda one: abs(one.stress) / strength[one.layer])


def layer_stresses(section: Section, N: float, M: float) -> list[InLayer]:
    """``n (N/A + M (y - centroid)/I)`` at both faces of every layer, n its ratio.

    Examples
    --------
    >>> pair = Section((((0, 10), 10), ((10, 20), 10)), (2, 1))     # as there: A = 300 mm^2
    >>> [round(one.stress, 2) for one in layer_stresses(pair, 300, 0)]
    [2.0, 2.0, 1.0, 1.0]
    """
    return [
        InLayer(n * (N / section.A + M * (y - section.centroid) / section.I), y, number)
        for number, ((interval, _), n) in enumerate(zip(section.layers, section.ratios, strict=True))
        for y in interval
    ]


def ligament_shear(ligaments: Sequence[Interval], b: float, V: float) -> tuple[Ligament, ...]:
    """Shear in the beams that a hole leaves: V shared by shear stiffness, ``1.5 V_i / (b h_i)`` in each.

    Two beams, not one with a gap: the wood on both sides of a hole is not tied across it. At equal
    thickness the shear stiffness goes by depth.

    Parameters
    ----------
    ligaments : sequence of (float, float)
        Height intervals of wood on the cut, mm.
    b, V : float
        Thickness (mm) and shear force (N).

    Returns
    -------
    tuple of Ligament
        From below: share of V, stress at its own middle, height of the middle, depth.

    References
    ----------
    Shear stiffness k G A of parallel beams that deflect alike (derived here).

    Examples
    --------
    A 25 mm hole in the middle of 140 mm: 1.5 * 140/115 = 1.83 V/A, against 1.5 of the sound board.

    >>> upper = ligament_shear([(-70, -12.5), (12.5, 70)], b=38, V=1000)[1]
    >>> round(upper.tau / (1000 / (38 * 140)), 2), upper.middle
    (1.83, 41.25)
    """
    total = sum(stop - start for start, stop in ligaments)
    return tuple(
        Ligament(V * (stop - start) / total, 1.5 * V / (b * total), (start + stop) / 2, stop - start)
        for start, stop in ligaments
    )


def taper_shear_middle(b: float, h: float, slope: float, V: float, M: float) -> float:
    """Shear stress at mid-depth of a symmetrical taper, ``1.5 (V - M h'/h) / (b h)``, MPa.

    Parameters
    ----------
    b, h : float
        Thickness and depth here, mm.
    slope : float
        Change of depth along the member, dh/dx.
    V, M : float
        N and N mm, with dM/dx = V.

    References
    ----------
    Derived here from :func:`taper_shear` at mid-depth.

    Examples
    --------
    A wedge under a force at its tip, h = x/10 and M = V x: the sloping faces carry all of it, the middle nothing.

    >>> taper_shear_middle(b=20, h=50, slope=0.1, V=1000, M=1000 * 500)
    0.0
    """
    return 1.5 * (V - M * slope / h) / (b * h)


def taper_shear(
    b: float, edges: Interval, slopes: Interval, forces: tuple[float, float, float], y: ArrayLike
) -> FloatArray:
    """Shear stress at heights ``y`` where the edges slope: the change along x of the normal force above, per b.

    With ``sigma = N/(b h) + 12 M (y - c)/(b h^3)`` between the edges low(x) and high(x), c(x) their middle:
    ``tau = d/dx [integral of sigma from y to high]``. N is constant, ``dM/dx = V - N c'``.

    Parameters
    ----------
    b : float
        Thickness, mm.
    edges, slopes : (low, high)
        Heights of both edges (mm) and their slopes along x.
    forces : (N, V, M)
        N, N, N mm; M about the middle of the section.
    y : (k,) array or float
        Heights, mm.

    Returns
    -------
    (k,) array
        MPa, signed as V is.

    References
    ----------
    Derived here from the balance of a slice; at the edges it gives ``sigma * slope``, as a free edge must.

    Examples
    --------
    Parallel edges: 1.5 V/A at the middle, nothing at the face.

    >>> taper_shear(10, (-10, 10), (0, 0), (0, 200, 5000), [0, 10]).round(6).tolist()
    [1.5, 0.0]
    """
    (low, high), (low_slope, high_slope), (N, V, M) = edges, slopes, forces
    h, c = high - low, (low + high) / 2
    h_slope, c_slope = high_slope - low_slope, (low_slope + high_slope) / 2
    eta = np.asarray(y, dtype=float)
    # force above y: N (high - y)/h + (6 M/h^3) ((h/2)^2 - (y - c)^2), differentiated term by term
    axial = N * (high_slope / h - (high - eta) * h_slope / h**2)
    lever = (h / 2) ** 2 - (eta - c) ** 2
    lever_slope = h * h_slope / 2 + 2 * (eta - c) * c_slope
    bending = 6 / h**3 * ((V - N * c_slope) * lever - 3 * M * h_slope / h * lever + M * lever_slope)
    return np.asarray((axial + bending) / b)


def bend_tension(b: float, h: float, radius: float, M: float) -> float:
    """Stress across the grain in a bend of mean ``radius``: ``1.5 M / (r b h)``, MPa; positive when M straightens it.

    References
    ----------
    Curved-beam form of the timber codes (from memory).

    Examples
    --------
    >>> bend_tension(b=40, h=100, radius=300, M=1e6)
    1.25
    """
    return 1.5 * M / (radius * b * h)


def sloping_grain(sigma: float, angle: float) -> tuple[float, float]:
    """Stress across the grain and shear along it under ``sigma`` along an edge at ``angle`` (deg) to the grain.

    ``sigma_90 = sigma sin^2``, ``tau = sigma sin cos``, both MPa: plain rotation of a uniaxial stress.

    Examples
    --------
    >>> [round(x, 3) for x in sloping_grain(10.0, 30.0)]
    [2.5, 4.33]
    """
    s, c = np.sin(np.radians(angle)), np.cos(np.radians(angle))
    return float(sigma * s * s), float(sigma * s * c)


def pin_split_shear(b: float, h: float, h_e: float, G: float, G_Ic: float) -> float:
    """Shear beside a pin at which the wood splits from it: ``V = b sqrt(G_Ic G h_e / (0.6 (1 - h_e/h)))``, N.

    The split leaves a beam of depth ``h_e`` to carry V; the energy comes from its greater shear compliance
    alone, bending left out, so this is an upper value.

    Parameters
    ----------
    b, h, h_e : float
        Thickness, depth, and loaded edge to the pin's centre, mm.
    G : float
        Shear modulus, MPa.
    G_Ic : float
        Energy to open a crack along the grain, N/mm (J/m^2 / 1000).

    References
    ----------
    Derived here from ``G_c b = (V^2/2)(6/5)(1/(G b h_e) - 1/(G b h))``; EN 1995-1-1:2004, 8.1.4 has the same
    form with a fixed constant (from memory).

    Examples
    --------
    >>> round(pin_split_shear(b=38, h=140, h_e=70, G=1149.7, G_Ic=0.25))
    9841
    """
    return float(b * np.sqrt(G_Ic * G * h_e / (0.6 * (1 - h_e / h))))


def shear_span_ratio(V: float, M: float, h: float) -> float:
    """Shear span over depth, ``|M| / (|V| h)``; infinite where there is no shear.

    Below 1 beam theory does not apply (from memory); below a quarter of bending strength over shear
    strength shear governs (:func:`shear_governs`).

    Examples
    --------
    >>> round(shear_span_ratio(V=1.0, M=110.0, h=140.0), 3)
    0.786
    """
    return abs(M) / (abs(V) * h) if V else float("inf")


def shear_governs(span_ratio: float, strength_ratio: float) -> bool:
    """Whether a rectangle reaches its shear strength first: ``M/(V h) < R/4``, R bending over shear strength.

    References
    ----------
    Own derivation from ``1.5 V/(b h)`` and ``6 M/(b h^2)``; for a simple span it is Gere, Mechanics of
    Materials, Problem 5.8-6 with a point load.

    Examples
    --------
    >>> shear_governs(110.0 / 140.0, 10.9)
    True
    """
    return span_ratio < strength_ratio / 4
