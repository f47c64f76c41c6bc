"""The reader's own hand calculation at a cut, step by step beside the program's and the mesh's.

Sizes are compared, not signs: everyone counts V and M in a sense of his own. A step differs from more than 3 % up
(own choice: figures are written with two or three digits); a figure within 3 % of what a usual slip gives is said to
come from it. The mesh differs from more than 5 % up (own choice).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from .rows_hand import Mine, MineStep
from .slips import (
    Share,
    Slip,
    Wood,
    bending_stress_slips,
    force_slips,
    likeliest,
    own_arithmetic,
    section_slips,
    shear_stress_slips,
    unit_slips,
)

SAME = 0.03
SAME_AS_MESH = 0.05
NOTHING = 0.005  # of the greatest action: a force smaller than this counts as none
ORDER = ("b", "h", "A", "I", "S", "Q", "t", "N", "V", "M", "tau", "sigma")
SHOWN = ("b", "h", "A", "I", "Q", "t", "V", "M", "tau", "sigma")


@dataclass(frozen=True)
class AtCut:
    """All that the program knows at one cut.

    Parameters
    ----------
    wood : Wood
    accepted : mapping of str to sequence of float
        By step the figures that are right, the one that is told first.
    mesh : mapping of str to float
        N, V, M, tau and sigma of the mesh.
    shares : sequence of Share
        What each action gives to V and M.
    greatest : (float, float) or None
        V and M where they are greatest along the member; None at a cut through a part of it.
    force : float
        The greatest single action, N.
    reasons : sequence of str
        Why statics and the formulas may not hold here.
    by_statics : bool
        Whether N, V and M are by statics.
    """

    wood: Wood
    accepted: Mapping[str, Sequence[float]]
    mesh: Mapping[str, float]
    shares: Sequence[Share]
    greatest: tuple[float, float] | None
    force: float
    reasons: Sequence[str]
    by_statics: bool

    def nothing(self, step: str) -> float:
        """Size below which a figure of a step counts as none."""
        force, wood = NOTHING * self.force, self.wood
        sizes = {"M": force * wood.net.depth, "tau": force / wood.net.A, "sigma": force / wood.net.A}
        return sizes.get(step, force) if step in ("N", "V", "M", "tau", "sigma") else 0.0


def compare(mine: Mapping[str, float], at: AtCut) -> Mine:
    """Compare the reader's figures step by step; name the first that differs, and the slip that gives it.

    Parameters
    ----------
    mine : mapping of str to float
        By letter, mm, N, N mm, MPa.
    at : AtCut

    Returns
    -------
    Mine
    """
    at = _on_their_side(mine, at)
    steps = tuple(_step(step, mine, at) for step in ORDER if step in SHOWN or step in mine)
    wrong = next((one for one in steps if one.agrees is False), None)
    if wrong is not None and wrong.yours is not None:
        slip = _slip_of(wrong.step, wrong.yours, mine, at)
        if slip is None:
            return Mine(steps, wrong.step, "unknown", by_statics=at.by_statics)
        return Mine(steps, wrong.step, "slip", slip.words, by_statics=at.by_statics)
    off = next((one for one in steps if one.agrees_with_mesh is False), None)
    if off is None:
        return Mine(steps, "", "agrees", by_statics=at.by_statics)
    outcome: Literal["formula", "statics"] = "formula" if off.step in ("tau", "sigma") else "statics"
    return Mine(steps, off.step, outcome, "", tuple(at.reasons), at.by_statics)


def _on_their_side(mine: Mapping[str, float], at: AtCut) -> AtCut:
    """Where something acts on the cut itself, go on with the V, M and tau of the side that the reader's V is on."""
    if "V" not in mine:
        return at
    gaps = [abs(abs(mine["V"]) - abs(value)) for value in at.accepted["V"]]
    first = gaps.index(min(gaps))
    if not _same(mine["V"], at.accepted["V"][first], SAME, at.nothing("V")):
        return at
    turned = {key: [at.accepted[key][first], *at.accepted[key]] for key in ("V", "M", "tau")}
    return replace(at, accepted={**at.accepted, **turned})


def _step(step: str, mine: Mapping[str, float], at: AtCut) -> MineStep:
    accepted, mesh, yours = at.accepted[step], at.mesh.get(step), mine.get(step)
    if yours is None:
        return MineStep(step, None, accepted[0], mesh, None, None)
    agrees = any(_same(yours, value, SAME, at.nothing(step)) for value in accepted)
    nearest = min(accepted, key=lambda value: abs(abs(yours) - abs(value)))
    like = None if mesh is None else _same(yours, mesh, SAME_AS_MESH, at.nothing(step))
    return MineStep(step, yours, nearest if agrees else accepted[0], mesh, agrees, like)


def _same(yours: float, value: float, within: float, nothing: float) -> bool:
    gap = abs(abs(yours) - abs(value))
    return gap <= within * abs(value) or gap <= nothing


def _slip_of(step: str, yours: float, mine: Mapping[str, float], at: AtCut) -> Slip | None:
    right = at.accepted[step][0]
    slips = [slip for slip in _slips(step, mine, at) if not _same(slip.value, right, SAME, at.nothing(step))]
    found = likeliest(yours, slips, SAME) or likeliest(yours, list(unit_slips(right)), SAME)
    if found is not None:
        return found
    own = own_arithmetic(step, mine)
    if own is not None and _same(own, right, SAME, 0.0):
        return Slip(own, "is not what your own figures give: a slip in the arithmetic")
    return None


def _slips(step: str, mine: Mapping[str, float], at: AtCut) -> Iterator[Slip]:
    """The usual slips of a step, likeliest first; those of V and M count for stresses where the reader gave neither."""
    if step in ("V", "M"):
        yield from _force_slips(step, at)
    elif step == "tau":
        V, tau = at.accepted["V"][0], at.accepted["tau"][0]
        yield from shear_stress_slips(V, tau, at.wood)
        if "V" not in mine and V:
            for slip in _force_slips("V", at):
                yield Slip(tau * slip.value / V, f"goes with a V that {slip.words}")
    elif step == "sigma":
        N, M = at.accepted["N"][0], at.accepted["M"][0]
        yield from bending_stress_slips(N, M, at.wood)
        if "M" not in mine and M:
            for slip in _force_slips("M", at):
                stress = N / at.wood.net.A + slip.value / at.wood.net.S_high
                yield Slip(stress, f"goes with an M that {slip.words}")
    elif step != "N":
        yield from section_slips(step, at.wood)


def _force_slips(step: str, at: AtCut) -> Iterator[Slip]:
    """The slips of V or M; none at a cut through a part of the member, where statics tells nothing."""
    if at.greatest is not None:
        which = ("V", "M").index(step)
        yield from force_slips(at.shares, which, at.accepted[step][0], at.greatest[which])
