"""What a verdict says of the piece in hand: drying, repeated loads, what to look at and how to prove it."""

from __future__ import annotations

from ..judge.growth import ALL_LOADS
from ..judge.rows_piece import MoistureRow, RepeatsRow
from ..judge.verdict import Verdict
from ..units import Formatter


def drying(verdict: Verdict) -> str:
    """Return a sentence on each case with a change of moisture: what it wants to do, and what comes of it."""
    return " ".join(_drying(row) for row in verdict.moisture_changes)


def _drying(row: MoistureRow) -> str:
    way = "shrink" if row.across < 0.0 else "swell"
    return (
        f'"{row.case}": {row.change:+.3g} % of moisture wants to {way} it by {100 * abs(row.across):.2g} % across the '
        f"grain; what holds it makes that {_share(row.utilisation_crept)} (crept to {row.crept:g}) to "
        f"{_share(row.utilisation)} (all elastic, told here) of what it takes."
    )


def repeated(verdict: Verdict) -> str:
    """Return a sentence on each case that comes again, or on a blow that is judged for once."""
    blows = [row for row in verdict.repeats if row.repeats is None]
    names = {row.case: row.name for row in verdict.strikes}
    return " ".join(_repeated(row, names.get(row.case, row.case) if len(blows) > 1 else "") for row in verdict.repeats)


def _repeated(row: RepeatsRow, blow: str) -> str:
    left = f"{row.left_splitting:.2f} of the strength against splitting, {row.left_along:.2f} along the grain"
    change = f"{_share(row.once)} becomes {_share(row.utilisation)}"
    if row.repeats is None:
        judged = f'"{blow}" is judged' if blow else "Judged"
        return f"{judged} for one blow; {row.counted:,.0f} of them leave {left}: {change}."
    beyond = " (nothing is claimed for so few)" if row.note else ""
    return f'"{row.case}" comes {row.counted:,.0f} times, which leaves {left}{beyond}: {change}.'


def _share(value: float) -> str:
    return f"{value:.2f}" if value < 2.0 else f"{value:.1f}"


def proof_words(verdict: Verdict, formatter: Formatter) -> list[str]:
    """Return how to prove the piece, a sentence each; empty where nothing pushes on it."""
    proof = verdict.proof
    if proof is None:
        return []

    def amount(value: float) -> str:
        return f"{value:.2f} times the loads" if proof.of == ALL_LOADS else formatter.force(value)

    five = verdict.chance is not None and proof.most == verdict.chance.five
    what = "at which 5 of 100 such pieces break" if five else "0.8 of the low end of what it takes"
    choices = "1.25 is a choice" if five else "both factors are choices"
    on = "all loads together" if proof.of == ALL_LOADS else f'"{proof.of}"'
    if proof.load is None:
        return [
            f"No push proves it: 1.25 times the largest expected load would be {amount(proof.wanted)} ({on}), and "
            f"above {amount(proof.most)}, {what}, the push may break it or crack it. "
            "The window is empty; make it stronger, or load it less."
        ]
    return [
        f"A slow push of {amount(proof.load)} as {on} acts, 1.25 times the largest expected; never above "
        f"{amount(proof.most)}, {what} ({choices} of this program).",
        "From behind a screen, with nobody in the way; hold it for a minute, listen for cracking, look along the grain "
        "where it would split, and push once. A piece that cracks, or ticks, is taken out of service.",
    ]
