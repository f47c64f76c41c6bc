"""What searches and samples found, in words and a table."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from statistics import NormalDist
from typing import TYPE_CHECKING, Literal

from ..judge.outcome import Outcome, Row, outcome_of
from ..part.axes import Axis
from ..part.model import Part
from ..units import Formatter
from ..view.amounts import ALL_LOADS, load_text, ratio_text
from ..view.sweeps import CAUTION, Limit, changes_text, limit_of, print_sweep, variants_table
from .find import Found
from .least import Least
from .picture import draw
from .probe import FIGURES_OF, KG, figure_of
from .ranking import Influence
from .sweep import Sweep

if TYPE_CHECKING:
    from rich.console import Console

RANKED = 6  # names that a sentence lists
PIECES = Limit("stays below the strength of its piece", "stay below the strength of their piece", 1.0)


def shown_figure(outcome: Outcome, figure: str, formatter: Formatter) -> str:
    """One figure of an outcome as people read it."""
    value = figure_of(outcome, figure)
    return "not known" if value is None else figure_words(figure, value, outcome.of, formatter)


def figure_words(figure: str, value: float, of: str, formatter: Formatter) -> str:
    """A figure's value as people read it; loads in the quantity `of`."""
    if figure in FIGURES_OF:
        return load_text(value, of or ALL_LOADS, formatter)
    if figure == "mass":
        return formatter.quantity(value / KG, "mass")
    if figure == "deflection":
        return _moved(value, formatter)
    return formatter.percent(value) if figure == "error" else ratio_text(value)


def _moved(value: float, formatter: Formatter) -> str:
    """A deflection with three digits: of a millimetre or less, where lengths have one, values beside it look alike."""
    shown = formatter.convert(value, "length")
    return f"{shown:.3g} {formatter.unit('length')}" if abs(shown) < 100.0 else formatter.length(value)


def found_words(part: Part, found: Found, formatter: Formatter) -> list[str]:
    """What ``--find`` came to in a part, a sentence each."""
    if found.row is None or found.row.outcome is None:
        return [*found.notes, _count(found.rows)]
    reached = f"{found.name} {found.text}: {_told(found.row, found.figure, formatter)}."
    if found.doubt is not None:
        reached += f" The mesh's estimated error makes that up to {found.doubt:.2g} {found.unit} more or less."
    lines = [reached]
    if found.cut is not None and found.cut.outcome is not None and found.cut is not found.row:
        text = f"{found.name} {found.cut.changes[found.name]}, {_told(found.cut, found.figure, formatter)}"
        lines.append(f"Rounded to the safe side: {text}.")
    lines += _not_enough(part, found)
    if found.bracket is not None:
        lines.append(f"Beside it: {' and '.join(_beside(row, found, formatter) for row in found.bracket)}.")
    return [*lines, *found.notes, _count(found.rows)]


def _not_enough(part: Part, found: Found) -> list[str]:
    """That what was wanted is less than the basis wants, where it is; nothing on the basis "mean", without a margin."""
    row = found.row if found.cut is None else found.cut
    limit = limit_of(part.wood.basis, part.margin)
    if row is None or row.outcome is None or row.outcome.enough or not row.outcome.utilisation > limit.use:
        return []
    use = f"utilisation {ratio_text(limit.use)} or less"
    return [f'That is not enough on the basis "{part.wood.basis}": what {limit.one} has {use}.']


def _told(row: Row, figure: str, formatter: Formatter) -> str:
    assert row.outcome is not None
    place = f"{row.outcome.mode}, {row.outcome.where}".rstrip(", ") or "nothing loads it"
    return f"{figure} {shown_figure(row.outcome, figure, formatter)} ({place})"


def _beside(row: Row, found: Found, formatter: Formatter) -> str:
    figure = "not known" if row.outcome is None else shown_figure(row.outcome, found.figure, formatter)
    return f"{figure} at {row.changes[found.name]}"


def _count(rows: Sequence[Row]) -> str:
    return f"{len(rows)} check{'s' if len(rows) != 1 else ''}."


def least_words(found: Least, formatter: Formatter) -> list[str]:
    """What ``--least`` came to, a sentence each."""
    if found.row is None or found.row.outcome is None:
        return [*found.notes, _count(found.rows)]
    kept = ", ".join(f"{one.figure} {shown_figure(found.row.outcome, one.figure, formatter)}" for one in found.bounds)
    least = shown_figure(found.row.outcome, found.figure, formatter)
    lines = [f"Least {found.figure} found: {least} with {changes_text(found.row)}; {kept} ({found.row.outcome.mode})."]
    for name, end in found.at_ends.items():
        lines.append(f"{name} lies at the {end} end of its range; beyond it there may be less.")
    if found.binding:
        lines.append(f"What keeps it from being less: {' and '.join(found.binding)}.")
    if found.result is not None and found.holds:
        fresh = outcome_of(found.result.verdict)
        figures = ", ".join(f"{one.figure} {shown_figure(fresh, one.figure, formatter)}" for one in found.bounds)
        lines.append(f"Checked afresh, on a mesh of its own: {figures}; it keeps within the bounds to 0.5 %.")
    return [*lines, *found.notes, _count(found.rows)]


def ranking_words(ranking: Sequence[Influence]) -> list[str]:
    """What matters to utilisation, and what cannot be told from noise."""
    if not ranking:
        return []
    out = [_influence(one) for one in ranking if one.stands_out]
    noise = [one.name for one in ranking if not one.stands_out]
    lines = [f"What matters to utilisation: {'; '.join(out[:RANKED])}."] if out else []
    if noise:
        lines.append(f"Not told from noise: {', '.join(noise[:RANKED])}{' and others' if len(noise) > RANKED else ''}.")
    return lines


def failing_words(rows: Sequence[Row]) -> list[str]:
    """How many of a sample over the scatter of a wood fail, with what another sample might say."""
    outcomes = [row.outcome for row in rows if row.outcome is not None]
    if not outcomes:
        return []
    failed = sum(one.utilisation > 1.0 for one in outcomes)
    low, high = share_range(failed, len(outcomes))
    share, ends = 100.0 * failed / len(outcomes), f"{100.0 * low:.0f} to {100.0 * high:.0f} %"
    return [f"Of {len(outcomes)} such pieces {failed} fail: {share:.3g} %, or, by the size of the sample, {ends}."]


def share_range(count: int, of: int) -> tuple[float, float]:
    """95 % range of a share that a sample has shown (Wilson's interval).

    References
    ----------
    E. B. Wilson, Probable inference, the law of succession, and statistical inference, J. Am. Stat. Assoc. 22 (1927)
    209-212 (from memory; checked against scipy).

    Examples
    --------
    >>> low, high = share_range(10, 100)
    >>> round(low, 3), round(high, 3)
    (0.055, 0.174)
    """
    z = NormalDist().inv_cdf(0.975)
    share, weight = count / of, z * z / of
    middle = (share + weight / 2.0) / (1.0 + weight)
    half = math.sqrt(share * (1.0 - share) * weight + weight * weight / 4.0) / (1.0 + weight)
    return max(middle - half, 0.0), min(middle + half, 1.0)


def _influence(one: Influence) -> str:
    low, high = (100.0 * min(max(end, 0.0), 1.0) for end in one.share_range)
    text = f"{one.name} {100.0 * min(max(one.share, 0.0), 1.0):.0f} % of its scatter ({low:.0f} to {high:.0f})"
    if one.correlation is None:
        return text
    return f"{text}, rank correlation {one.correlation:+.2f}"


def print_search(part: Part, found: Found | Least, formatter: Formatter, console: Console, *, table: bool) -> None:
    """Print what a search came to: sentences, and the table of its checks."""
    words = found_words(part, found, formatter) if isinstance(found, Found) else least_words(found, formatter)
    for line in words:
        console.print(line)
    if table and any(row.outcome is not None for row in found.rows):
        axes = axes_of(part, found.rows)
        rows = sorted(found.rows, key=lambda row: [axis.values.index(row.changes[axis.name]) for axis in axes])
        console.print()
        console.print(variants_table(axes, rows, formatter))
        console.print()
        console.print(CAUTION, style="dim")


def print_made(made: Sweep, units: Literal["si", "us"], *, table: bool, ranked: bool) -> None:
    """Print a grid or a sample; of a sample what matters first."""
    from ..view.terminal import make_console

    console = make_console()
    if ranked:
        for line in ranking_words(made.ranking()):
            console.print(line)
    limit = limit_of(made.basis, made.part.margin)
    if any(one.name.startswith("wood.percentile.") for one in made.axes):
        limit = PIECES
        for line in failing_words(made.rows):
            console.print(line)
    print_sweep(made.axes, made.rows, limit, Formatter(units), console, table=table)


def draw_search(part: Part, found: Found | Least, path: Path, units: Literal["si", "us"]) -> bool:
    """Draw the checks of a search over one or two names; False where they are more, and nothing is written then."""
    axes = axes_of(part, found.rows)
    if len(axes) > 2:
        return False
    made = Sweep(part, tuple(axes), found.rows)
    wanted = found.wanted if isinstance(found, Found) and found.figure == "utilisation" else None
    return draw(made, path, Formatter(units), wanted=wanted)


def axes_of(part: Part, rows: Sequence[Row]) -> list[Axis]:
    """What the checks of a search varied, every value that was taken, the lowest first."""
    from .vary import read_vary

    axes = []
    for name in rows[0].changes if rows else ():
        texts = sorted({row.changes[name] for row in rows}, key=lambda text: float(text.split()[0]))
        one = read_vary(part, name, texts)
        assert isinstance(one, Axis)
        axes.append(one)
    return axes
