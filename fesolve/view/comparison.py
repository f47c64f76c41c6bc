"""Variants side by side, in words and as tables."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..judge.comparison import Compared, Comparison
from ..judge.outcome import Outcome
from ..part.differences import Difference
from ..part.variant_list import AS_IT_STANDS
from ..units import Formatter
from .amounts import load_text, ratio_text
from .blows import OWN, mass_text
from .tables import plain_table, print_list

if TYPE_CHECKING:
    from rich.console import Console

Cells = tuple[str, ...]
ALIKE = 1.005  # a variant that takes less than so many times as much is no better
SHOWN = 6  # differences that are told of a variant
HEAD = ("", "variant", "share", "takes, low", "takes, high", "fails by")
BESIDE = ("", "variant", "mass", "moves", "hot spot moved", "dents")


def print_comparison(comparison: Comparison, formatter: Formatter, console: Console) -> None:
    """Print a sentence, then what each variant does, then what differs.

    Parameters
    ----------
    comparison : Comparison
    formatter : Formatter
        Puts numbers in the reader's units.
    console : rich.console.Console
        Where to; from `terminal.make_console`.
    """
    style = "bold" if comparison.ranked else "bold red"
    console.print("\n".join(textwrap.wrap(comparison_headline(comparison, formatter), console.width)), style=style)
    console.print()
    console.print(
        f"{comparison.title}. Each as `fesolve check --quick` has it, fesolve {comparison.version}.", style="dim"
    )
    checked = [one for one in comparison.variants if one.outcome is not None]
    if checked:
        told = [(one, one.outcome) for one in checked if one.outcome is not None]
        console.print()
        rows = [_cells(one, outcome, comparison, formatter) for one, outcome in told]
        console.print(plain_table("What each takes, best first", HEAD, rows, right=(0, 2, 3, 4)))
        console.print()
        beside = [_beside(one, outcome, formatter) for one, outcome in told]
        console.print(plain_table("What else it does", BESIDE, beside, right=(0, 2, 3, 4)))
    _print_differences(comparison, console)
    notes = [f"{one.name}: {one.unlike}; not ranked with the others." for one in checked if one.unlike]
    print_list("Loaded or judged otherwise", notes, console)
    failed = [f"{one.name}: {one.message}" for one in comparison.variants if one.outcome is None]
    print_list("Not possible", failed, console)
    print_list("Cautions", [CAUTION], console)


CAUTION = (
    "A share is that of what the part takes with low toughness, of clear wood; that a variant takes more is no release "
    "for use. Look at the one you choose with `fesolve check`, which says how sure it is."
)


def comparison_headline(comparison: Comparison, formatter: Formatter) -> str:
    """Return ``Best: notch_depth 12 mm takes 15.4 kN, 1.62 times the 9.5 kN it takes as it stands``."""
    if not comparison.ranked:
        return "None of the variants could be checked."
    best, base = comparison.ranked[0], comparison.first
    outcome = best.outcome
    assert outcome is not None
    name = "the part as it stands" if best.name == AS_IT_STANDS else best.name
    if outcome.low is None:
        return f"Best: {name}, which nothing breaks."
    what = takes_text(best, outcome, formatter)
    if best is base:
        several = len(comparison.ranked) > 1
        among = f"of {len(comparison.ranked)} that can be ranked" if several else "beside which no other can be ranked"
        return f"Best: {name}; it {what}, {among}."
    if base.outcome is None or base.outcome.low is None or best.gain is None:
        return f"Best: {name}, {what}."
    if best.gain < ALIKE:
        return f"No variant is better: {name} {what}, as much as {_base(base)}."
    return f"Best: {name} {what}, {ratio_text(best.gain)} times {_base_takes(base, base.outcome, best, formatter)}."


def _base(base: Compared) -> str:
    return "as it stands" if base.name == AS_IT_STANDS else base.name


def takes_text(one: Compared, outcome: Outcome, formatter: Formatter) -> str:
    """Return ``takes 15.4 kN``; of a strike what it may bring: ``takes being rolled 212 mm``."""
    if one.own is not None:
        kind = "speed" if one.quantity == "speed" else "length"
        return f"stands being struck {OWN[one.quantity]} {formatter.quantity(one.own, kind)}"
    return f"takes {load_text(outcome.low or 0.0, outcome.of, formatter)}"


def _base_takes(base: Compared, outcome: Outcome, best: Compared, formatter: Formatter) -> str:
    if base.own is not None and best.own is not None:
        kind = "speed" if base.quantity == "speed" else "length"
        return f"as far from failing as {_base(base)} ({OWN[base.quantity]} {formatter.quantity(base.own, kind)})"
    return f"the {load_text(outcome.low or 0.0, outcome.of, formatter)} {_base_of(base)}"


def _base_of(base: Compared) -> str:
    return "it takes as it stands" if base.name == AS_IT_STANDS else f"of {base.name}"


def _cells(one: Compared, outcome: Outcome, comparison: Comparison, formatter: Formatter) -> Cells:
    several = len({row.outcome.case for row in comparison.ranked if row.outcome is not None}) > 1
    case = f" [{outcome.case}]" if several else ""
    return (
        "-" if one.rank is None else str(one.rank),
        one.name,
        ratio_text(outcome.utilisation) + (" !" if outcome.utilisation >= 1.0 else ""),
        "-" if outcome.low is None else load_text(outcome.low, outcome.of, formatter),
        "-" if outcome.high is None else load_text(outcome.high, outcome.of, formatter),
        (outcome.mode or "nothing") + case,
    )


def _beside(one: Compared, outcome: Outcome, formatter: Formatter) -> Cells:
    return (
        "-" if one.rank is None else str(one.rank),
        one.name,
        "-" if outcome.mass is None else mass_text(outcome.mass / 1000.0, formatter),
        formatter.length(outcome.deflection),
        "-" if one.moved is None else formatter.length(one.moved),
        ", ".join(f"{dent.name} {ratio_text(dent.utilisation)}" for dent in one.dents[:2]) or "-",
    )


def _print_differences(comparison: Comparison, console: Console) -> None:
    """One column a key, where few keys differ; else a line a variant."""
    lines = [
        f"{one.name}: {differences_text(one.differs)}"
        for one in comparison.variants
        if one.name != comparison.base and one.differs and not _named_by(one)
    ]
    print_list(f"What differs from {_base(comparison.first)}", lines, console)


def _named_by(one: Compared) -> bool:
    """Whether a variant's name already says all that it changes."""
    return one.name == ", ".join(f"{name} {value}" for name, value in one.changes.items())


def differences_text(rows: Sequence[Difference]) -> str:
    """Return ``notch_depth 12 mm, not 25 mm; wood.grain 3 deg, not 0 deg``; the first few of them."""
    told = [f"{row.name} {_quoted(row.now)}, not {_quoted(row.was)}" for row in rows[:SHOWN]]
    more = [f"{len(rows) - SHOWN} more"] if len(rows) > SHOWN else []
    return "; ".join((*told, *more))


def _quoted(value: str) -> str:
    return f'"{value}"' if "," in value and not value.startswith("[") else value
