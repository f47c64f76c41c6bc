"""The usual slips of a hand calculation: what a figure would be with each of them.

None has a source; they are what people do (common practice, no source). Each slip carries words that complete a
sentence which begins with "your V".
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from .section import Section, peak_shear

FACTORS = (10.0, 100.0, 1000.0, 1e4, 1e6)


class Slip(NamedTuple):
    """A figure as it would be with a slip, and what the slip is: words after "your V"."""

    value: float
    words: str


class Share(NamedTuple):
    """What one action gives to V and M at a cut, (N, N mm), counted from before the cut and from after it.

    ``name`` is as a sentence has it: ``the reaction of "keeper"``, ``load "log"``.
    """

    name: str
    before: tuple[float, float]
    after: tuple[float, float]


@dataclass(frozen=True)
class Wood:
    """The wood on a cut as slips see it.

    Parameters
    ----------
    net, sound : Section
        As it is, and with holes and notches left out.
    pieces : sequence of (float, float)
        Heights of the wood, from below, mm.
    t, height : float
        Thickness (mm) and height (mm) where the shear stress is greatest.
    left_out : str
        What the sound section leaves out: ``the hole``, ``the notch``; empty where nothing is.
    """

    net: Section
    sound: Section
    pieces: Sequence[tuple[float, float]]
    t: float
    height: float
    left_out: str

    @property
    def b(self) -> float:
        """Greatest thickness, mm."""
        return max(width for _, width in self.net.layers)

    @property
    def holed(self) -> bool:
        """Whether there is a gap in it."""
        return len(self.pieces) > 1

    @property
    def solid(self) -> float:
        """Depth of the wood alone, gaps left out, mm."""
        return sum(stop - start for start, stop in self.pieces)


def section_slips(step: str, wood: Wood) -> Iterator[Slip]:
    """The slips of b, h, A, S, Q, I and t.

    Examples
    --------
    >>> from .section import rectangle
    >>> board = rectangle(38, 140)
    >>> slips = section_slips("I", Wood(board, board, [(-70, 70)], 38, 0, ""))
    >>> [(round(slip.value), slip.words) for slip in slips][0]
    (34757333, 'is b h^3/3, about the edge in place of the middle')
    """
    net, sound = wood.net, wood.sound
    b, h = wood.b, net.depth
    if wood.left_out and step in ("h", "A", "S", "I", "Q"):
        values = {"h": sound.depth, "A": sound.A, "S": sound.S_high, "I": sound.I, "Q": _greatest_Q(sound)}
        yield Slip(values[step], f"is that of the sound section: {wood.left_out} is left out of account")
    if wood.holed:
        yield from _pieces(step, wood)
    swapped = {"b": h, "h": b, "I": h * b**3 / 12, "S": h * b**2 / 6, "Q": h * b**2 / 8}
    if step == "I":
        yield Slip(b * h**3 / 3, "is b h^3/3, about the edge in place of the middle")
        yield Slip(net.I * 2, "is twice too large")
        yield Slip(b * h**2 / 6, "is b h^2/6, which is S")
    if step == "S":
        yield Slip(net.I / h, "is I/h in place of I/(h/2)")
        yield Slip(b * h**2 / 4, "is b h^2/4, that of a section that yields")
    if step == "Q":
        yield from _first_moments(net, wood.height)
    if step == "t":
        yield from (Slip(width, "is that of another layer") for _, width in net.layers)
        yield Slip(h, "is the depth: b and h are swapped")
    if step in swapped:
        yield Slip(swapped[step], "has b and h swapped")
    if len(set(net.ratios)) > 1:
        alike = Section(net.layers)
        plain = {"A": alike.A, "I": alike.I, "S": alike.S_high, "Q": float(alike.Q(wood.height))}
        if step in plain:
            yield Slip(plain[step], "takes all layers as one wood, though they differ in stiffness")


def _greatest_Q(section: Section) -> float:
    return float(section.Q(section.centroid))


def _first_moments(net: Section, height: float) -> Iterator[Slip]:
    Q = float(net.Q(height))
    yield Slip(2 * Q, "is twice too large: the middle of the half section lies h/4 from the axis, not h/2")
    yield Slip(Q / 2, "is half of what it is: the whole half section beyond the axis counts")
    yield Slip(4 * Q, "is that of the whole section: only the half beyond the axis counts")
    yield Slip(float(net.A * net.depth / 2), "is that of the whole section: only the half beyond the axis counts")


def _pieces(step: str, wood: Wood) -> Iterator[Slip]:
    """Slips at a gap: the pieces pushed together, or without their distance from the middle."""
    b, solid = wood.b, wood.solid
    together = {"h": solid, "I": b * solid**3 / 12, "S": b * solid**2 / 6, "Q": b * solid**2 / 8}
    if step in together:
        yield Slip(together[step], "takes the gap off the depth, as if the pieces lay together")
    if step == "I":
        own = sum(b * (stop - start) ** 3 / 12 for start, stop in wood.pieces)
        yield Slip(own, "leaves out how far the pieces lie from the middle (parallel axes)")


def force_slips(shares: Sequence[Share], which: int, total: float, greatest: float) -> Iterator[Slip]:
    """The slips of V (``which`` 0) or M (1): an action left out, with the wrong sign, counted whole, or alone.

    Parameters
    ----------
    shares : sequence of Share
    which : int
    total : float
        V or M as it is, N or N mm.
    greatest : float
        The greatest along the member.

    Examples
    --------
    A log of 10 kN beyond a beam that gives 17.86 kN: without the beam the shear is 10 kN in place of 7.86 kN.

    >>> log = Share('load "log"', (0, 0), (-10e3, 0))
    >>> beam = Share('the reaction of "beam"', (0, 0), (17.86e3, 0))
    >>> [slip for slip in force_slips([log, beam], 0, 7.86e3, 10e3)][1]
    Slip(value=-10000.0, words='leaves out the reaction of "beam"')
    """
    sides = [(share, pair[which]) for share in shares for pair in (share.before, share.after)]
    acting = [(share, part) for share, part in sides if abs(part) > 1e-6 * max(abs(total), 1e-9)]
    for share, part in acting:
        yield Slip(total - part, f"leaves out {share.name}")
    for share, part in acting:
        yield Slip(total - 2 * part, f"has {share.name} with the wrong sign")
    for share, part in acting:
        yield Slip(part, f"is that of {share.name} alone")
    if which == 0:
        for share in shares:
            whole = share.before[0] - share.after[0]
            yield Slip(whole, f"is all of {share.name}, of which only a part is carried across this cut")
            if share.before[0] and share.after[0]:
                yield Slip(total - share.before[0] + whole, f"counts all of {share.name}, which acts on the cut itself")
    yield Slip(greatest, "is the greatest along the member, not the one at this cut")
    yield Slip(total / 2, "is half of it")


def shear_stress_slips(V: float, tau: float, wood: Wood) -> Iterator[Slip]:
    """The slips of tau with the right V."""
    net, sound = wood.net, wood.sound
    if wood.left_out:
        said = f"is that of the sound section: {wood.left_out} is left out of account"
        yield Slip(peak_shear(sound, V).tau, said)
        yield Slip(V / sound.A, f"is V/A without the 1.5, and {said.removeprefix('is ')}")
    yield Slip(V / net.A, "is the mean V/A: the greatest is 1.5 times that in a rectangle")
    if wood.holed:
        said = "carries V Q/I on across the gap, which no shear can cross: the pieces are two beams"
        yield Slip(peak_shear(net, V).tau, said)
    yield Slip(4 / 3 * V / net.A, "is 4/3 V/A, which is for a round section; a rectangle has 1.5 V/A")
    yield Slip(2 * tau, "goes with a Q that is twice too large")
    yield Slip(tau / 2, "goes with half of Q, or both faces of the cut counted")
    yield Slip(tau / 4, "goes with I = b h^3/3 in place of b h^3/12")


def bending_stress_slips(N: float, M: float, wood: Wood) -> Iterator[Slip]:
    """The slips of sigma with the right N and M."""
    net, sound = wood.net, wood.sound
    b, h, axial = wood.b, net.depth, N / net.A
    if wood.left_out:
        said = f"is that of the sound section: {wood.left_out} is left out of account"
        yield from (Slip(N / sound.A + sign * M / sound.S_high, said) for sign in (1, -1))
    if N:
        yield from (Slip(sign * M / net.S_high, "leaves out N/A") for sign in (1, -1))
        yield from (Slip(axial + sign * M / net.S_high, "has N/A with the wrong sign") for sign in (1, -1))
    yield Slip(axial + M * h / net.I, "takes the depth h for the distance c = h/2 from the axis")
    yield Slip(axial + 6 * M / (h * b**2), "has b and h swapped")
    yield Slip(axial + 4 * M / (b * h**2), "divides by b h^2/4, that of a section that yields, in place of b h^2/6")
    yield Slip(axial + M * h / 2 / (b * h**3 / 3), "goes with I = b h^3/3 in place of b h^3/12")


def unit_slips(right: float) -> Iterator[Slip]:
    """A figure off by a power of ten, by 9.81 or by 25.4: a unit that slipped."""
    for factor in FACTORS:
        yield Slip(right * factor, f"is {factor:,.0f} times too large: a unit slipped")
        yield Slip(right / factor, f"is {factor:,.0f} times too small: a unit slipped")
    yield Slip(right * 9.80665, "is 9.81 times too large: a weight taken for a mass twice")
    yield Slip(right / 9.80665, "is 9.81 times too small: a mass in place of its weight")
    yield Slip(right / 25.4, "is 25.4 times too small: inches in place of millimetres")
    yield Slip(right * 25.4, "is 25.4 times too large: millimetres in place of inches")


def own_arithmetic(step: str, mine: Mapping[str, float]) -> float | None:
    """What the reader's other figures give for a step, by the plain formulas; None where some are missing.

    Examples
    --------
    >>> own_arithmetic("I", {"b": 38.0, "h": 140.0}), own_arithmetic("tau", {"V": 1.0})
    (8689333.333333334, None)
    """
    formulas: Mapping[str, tuple[str, Callable[..., float]]] = {
        "A": ("b h", lambda b, h: b * h),
        "I": ("b h", lambda b, h: b * h**3 / 12),
        "S": ("b h", lambda b, h: b * h**2 / 6),
        "Q": ("b h", lambda b, h: b * h**2 / 8),
        "tau": ("V Q I t", lambda V, Q, I, t: V * Q / (I * t)),  # noqa: E741
        "sigma": ("M S", lambda M, S: M / S),
    }
    if step not in formulas:
        return None
    letters, formula = formulas[step]
    needed = letters.split()
    return formula(*(mine[key] for key in needed)) if all(key in mine for key in needed) else None


def likeliest(yours: float, slips: Sequence[Slip], within: float) -> Slip | None:
    """The slip that gives a figure of this size, sign apart: the nearest, and of those alike the first.

    Parameters
    ----------
    yours : float
    slips : sequence of Slip
        The likeliest first.
    within : float
        Greatest difference over the slip's figure.
    """
    found = []
    for order, slip in enumerate(slips):
        size = abs(slip.value)
        error = abs(abs(yours) - size) / size if size > 0 else 0.0 if yours == 0 else float("inf")
        if error <= within:
            found.append((int(error / 0.01), order, slip))
    return min(found)[2] if found else None
