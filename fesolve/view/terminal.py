"""The verdict on a terminal: sentences that a person can act on, then tables.

Tables have no frames, so that they survive a pipe, a narrow window and a printer; a colour never says what
the words do not.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING

from ..judge.verdict import BesideRow, HandRow, HotSpot, ModeRow, Point, ReactionRow, Verdict
from ..units import Formatter
from .amounts import ratio_text
from .blows import strike_words
from .by_energy import timed_text
from .certainty import scatter_words, sure_rows
from .codes import HEAD as CODE_HEAD
from .codes import code_cells, code_title, code_words
from .cures import HEAD as CURE_HEAD
from .cures import TITLE as CURE_TITLE
from .cures import cure_cells, cure_words
from .interaction_tables import ANGLE_HEAD, ANGLE_TITLE, SIZE_HEAD, SIZE_TITLE, angle_cells, size_cells, size_words
from .own_figures import own_rows
from .piece import proof_words
from .splits import HEAD as SPLIT_HEAD
from .splits import TITLE as SPLIT_TITLE
from .splits import split_cells, split_words
from .strengths import HEAD, factor_words, strength_rows, strength_sources
from .tables import Cells
from .tables import plain_table as _table
from .tables import print_list as _print_list
from .words import (
    DEEPEST,
    amount_text,
    beside_place,
    direction,
    holds,
    inside,
    offset,
    place_name,
    run_of,
    story,
)

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from ..wood.search import WoodRow, WoodValue

WIDEST = 100
LABEL = 9
ROUNDING = 1e-9  # of a strength: a stress below that is none
NEXT_TO_NOTHING = 2e-3  # of the greatest of its column: what rounding and the search of a station leave over
MODE_HEAD = ("Breaks by", "mean", "strength", "share", "decides", "where")


def make_console(stream: IO[str] | None = None, *, width: int | None = None) -> Console:
    """Return a console for the verdict: at most 100 columns, 80 where the output is piped."""
    from rich.console import Console

    class PlainConsole(Console):
        def on_broken_pipe(self) -> None:  # rich would end the process with 1; the command line knows what to do
            raise BrokenPipeError

    console = PlainConsole(file=stream, width=width, highlight=False, markup=False, emoji=False)
    console.width = min(console.width, WIDEST)
    return console


def print_verdict(verdict: Verdict, formatter: Formatter, console: Console) -> None:
    """Print everything: sentences first, then one table for each kind of figure.

    Parameters
    ----------
    verdict : Verdict
        What was found.
    formatter : Formatter
        Puts numbers in the reader's units.
    console : rich.console.Console
        Where to; from `make_console`.
    """
    from rich.text import Text

    print_story(verdict, formatter, console)
    console.print()
    console.print(Text(about(verdict)), style="dim")
    for table in _tables(verdict, formatter):
        console.print()
        console.print(table)
    sources = [f"[{number}] {name}" for name, number in strength_sources(verdict).items()]
    _print_list("Sources of the strengths", sources, console)
    _print_list("Factors on the strengths", factor_words(verdict), console)
    _print_list("From other packages", brought(verdict), console)
    _print_list("What was measured", _measured(verdict), console)
    _print_list("Effect of size", size_words(verdict), console)
    _print_list("Strikes", strike_words(verdict, formatter), console)
    _print_list("Hand calculation, in words", _hand_words(verdict, formatter), console)
    _print_list("Codes' formulas, in words", code_words(verdict), console)
    _print_list("What the chance is made of", scatter_words(verdict), console)
    _print_list("Splitting by energy, in words", split_words(verdict, formatter), console)
    _print_list("What else was looked at", cure_words(verdict), console)
    _print_list("What limits the certainty", verdict.limits, console)
    _print_list("Cautions", verdict.cautions, console)
    _print_list("Look at the piece", verdict.look_at, console)
    _print_list("Prove it", proof_words(verdict, formatter), console)


def print_story(verdict: Verdict, formatter: Formatter, console: Console) -> None:
    """Print the sentences alone, each with its label and a hanging indent."""
    from rich.text import Text

    headline, *lines = story(verdict, formatter)
    console.print("\n".join(textwrap.wrap(headline.text, console.width)), style=_headline_style(verdict))
    for line in lines:
        wrapped = textwrap.wrap(line.text, console.width - LABEL, break_on_hyphens=False)
        console.print(Text.assemble((line.label.ljust(LABEL), "bold"), ("\n" + " " * LABEL).join(wrapped)))


def is_bad(verdict: Verdict) -> bool:
    """Whether its strength is used up."""
    worst = verdict.governing
    return worst is not None and worst.utilisation >= 1.0


def _headline_style(verdict: Verdict) -> str:
    if holds(verdict):
        return "bold green"
    return "bold red" if is_bad(verdict) else "bold yellow"


def about(verdict: Verdict) -> str:
    """Return what the verdict is about, in a line: title, wood, basis, mesh, version."""
    face = f", {verdict.face}" if verdict.face else ""
    mesh = f"{verdict.mesh.cells:,} elements, {verdict.mesh.points:,} points"
    wood = f"{verdict.wood}{face}, basis {verdict.basis}"
    said = [f"{verdict.part.title}. {wood}. {mesh}, fesolve {verdict.version}."]
    if verdict.mesh.file:
        said.append(f"The mesh is {Path(verdict.mesh.file).name} as it is.")
    return " ".join((*said, *verdict.mesh.notes))


def _region_table(verdict: Verdict, formatter: Formatter) -> Table:
    rows = [
        (row.name, formatter.length(row.thickness), f"{row.grain:.3g} deg", row.wood, row.face)
        for row in verdict.regions
    ]
    return _table("Regions", ("Region", "thickness", "grain", "wood", "face"), rows, right=(1, 2))


def _tables(verdict: Verdict, formatter: Formatter) -> list[Table]:
    """Return the tables that have rows; a column for the case only where there are several."""
    tables = [
        _region_table(verdict, formatter),
        _mode_table(verdict, formatter),
        _spot_table(verdict, formatter),
        _table(SPLIT_TITLE, SPLIT_HEAD, split_cells(verdict, formatter), right=(1, 2, 3, 5, 6)),
        _beside_table(verdict, formatter),
        _angle_table(verdict, formatter),
        _size_table(verdict, formatter),
        _hand_table(verdict, formatter),
        _section_table(verdict, formatter),
        _mine_table(verdict, formatter),
        _code_table(verdict, formatter),
        _reaction_table(verdict, formatter),
        _contact_table(verdict, formatter),
        _variant_table(verdict),
        _sure_table(verdict, formatter),
        _face_table(verdict, formatter),
        _table(CURE_TITLE, CURE_HEAD, cure_cells(verdict, formatter), right=(2, 3, 4)),
        _table("Strengths used", HEAD, strength_rows(verdict, formatter), right=(1,)),
        _proportion_table(verdict),
    ]
    return [table for table in tables if table.row_count]


def _several(verdict: Verdict) -> bool:
    return len({row.case for row in verdict.modes} | {row.case for row in verdict.reactions}) > 1


def _case(row: ModeRow | HotSpot | HandRow | ReactionRow, verdict: Verdict) -> str:
    return f" [{row.case}]" if _several(verdict) else ""


def mode_cells(verdict: Verdict, formatter: Formatter) -> list[Cells]:
    """Rows for the table of what could break it, under `MODE_HEAD`: what decides first, worst first."""
    return [
        (
            row.mode + _case(row, verdict),
            ratio_text(row.value)
            if row.is_share
            else formatter.stress(row.value if row.utilisation > ROUNDING else 0.0),
            "1" if row.is_share else formatter.stress(row.allowable),
            ratio_text(row.utilisation),
            "yes" if row.decides else "no",
            _where(row, formatter),
        )
        for row in sorted(verdict.modes, key=lambda row: (not row.decides, -row.utilisation))
    ]


def _mode_table(verdict: Verdict, formatter: Formatter) -> Table:
    table = _table("What could break it", MODE_HEAD, mode_cells(verdict, formatter), right=(1, 2, 3))
    deciding = max((row.utilisation for row in verdict.modes if row.decides), default=0.0)
    timed = timed_text(verdict)
    captions = [f"Shares are those of the blow as a force at rest; {timed}, which decides"] if timed else []
    if any(row.utilisation > deciding for row in verdict.modes if not row.decides):
        captions.append("A greater share that does not decide is shown for comparison only")
    table.caption, table.caption_justify = "\n".join(captions), "left"
    return table


def _where(row: ModeRow, formatter: Formatter) -> str:
    if row.at is not None and row.measured_from is not None:
        return offset(row.at, row.measured_from, formatter) + inside(row.region)
    return place_name(row.where)


def _spot_table(verdict: Verdict, formatter: Formatter) -> Table:
    rows = [
        (
            f"{spot.rank}{_case(spot, verdict)}",
            ratio_text(spot.utilisation),
            offset(spot.at, spot.measured_from, formatter) + inside(spot.region)
            if spot.measured_from
            else place_name(spot.where),
            direction(run_of(spot)),
            formatter.length(spot.mean_length) + (" (short)" if spot.short_line else ""),
            formatter.stress(spot.mean_s90),
            formatter.stress(spot.mean_tau),
        )
        for spot in verdict.hotspots
    ]
    head = ("No.", "share", "starts", "runs", "mean over", "across", "shear")
    return _table("Where it could split", head, rows, right=(1, 4, 5, 6))


def _beside_table(verdict: Verdict, formatter: Formatter) -> Table:
    rows = [_beside_row(row, verdict, formatter) for row in sorted(verdict.beside, key=lambda row: -row.utilisation)]
    head = ("At", "", "pressure", "limit", "share", "rough depth")
    decides = "decides where it is beyond its play" if verdict.beyond_play else "never decides"
    return _table(f"What is dented or crushed ({decides})", head, rows, right=(2, 3, 4, 5))


def _beside_row(row: BesideRow, verdict: Verdict, formatter: Formatter) -> Cells:
    return (
        beside_place(row, formatter) + _case(row, verdict),
        row.end,
        formatter.stress(row.value),
        formatter.stress(row.allowable),
        ratio_text(row.utilisation),
        "-" if row.depth is None else formatter.length(row.depth) if row.depth <= DEEPEST else "crushed",
    )


def _angle_table(verdict: Verdict, formatter: Formatter) -> Table:
    rows = angle_cells(verdict, formatter, several=_several(verdict))
    return _table(ANGLE_TITLE, ANGLE_HEAD, rows, right=(1, 2, 3, 4))


def _size_table(verdict: Verdict, formatter: Formatter) -> Table:
    rows = size_cells(verdict, formatter, several=_several(verdict))
    return _table(SIZE_TITLE, SIZE_HEAD, rows, right=range(1, 7))


def _hand_table(verdict: Verdict, formatter: Formatter) -> Table:
    greatest = {
        name: max((abs(getattr(row, name)) for row in verdict.hand), default=0.0)
        for name in ("shear", "moment", "tau_vqit", "tau_mesh", "sigma_mcI", "sigma_mesh")
    }

    def told(row: HandRow, name: str) -> float:
        """A figure of the row; next to nothing beside the greatest is what sums leave over, and is told as none."""
        value: float = getattr(row, name)
        return 0.0 if abs(value) < NEXT_TO_NOTHING * greatest[name] else value

    rows = [
        (
            row.station + _case(row, verdict) + (" *" if row.short else ""),
            formatter.length(row.position),
            formatter.force(told(row, "shear")),
            formatter.moment(told(row, "moment")),
            formatter.stress(told(row, "tau_vqit")),
            formatter.stress(told(row, "tau_mesh")),
            _quotient(row.tau_mesh, told(row, "tau_vqit")),
            formatter.stress(told(row, "sigma_mcI")),
            formatter.stress(told(row, "sigma_mesh")),
        )
        for row in verdict.hand
    ]
    head = ("Station", "at", "V", "M", "VQ/It", "mesh", "ratio", "M/S", "mesh")
    table = _table("By hand, along the member", head, rows, right=range(1, 9))
    if any(row.short for row in verdict.hand):
        table.caption = "* M/(V h) is below 1: beam theory does not apply there"
        table.caption_justify = "left"
    return table


def _quotient(top: float, bottom: float) -> str:
    return ratio_text(abs(top / bottom)) if bottom and math.isfinite(top) else "-"


def _section_table(verdict: Verdict, formatter: Formatter) -> Table:
    first_case = verdict.hand[0].case if verdict.hand else ""
    rows = [
        (
            row.station,
            formatter.length(row.width),
            formatter.length(row.depth),
            formatter.length(row.t),
            _power(row.A, 2, formatter),
            _power(row.I, 4, formatter),
            _power(row.Q, 3, formatter),
            _power(row.S, 3, formatter),
        )
        for row in verdict.hand
        if row.case == first_case
    ]
    return _table("Sections", ("Station", "b", "h", "t", "A", "I", "Q", "S"), rows, right=range(1, 8))


def _power(value: float, power: int, formatter: Formatter) -> str:
    """Return an area, first or second moment with three digits: ``5320 mm2``, ``8.69e6 mm4``."""
    unit, size = ("in", 25.4) if formatter.system == "us" else ("mm", 1.0)
    return f"{value / size**power:.3g} {unit}{power}".replace("e+0", "e").replace("e+", "e")


def _mine_table(verdict: Verdict, formatter: Formatter) -> Table:
    head = ("Cut", "step", "yours", "by hand", "mesh", "")
    return _table("Your own figures (sizes)", head, own_rows(verdict, formatter), right=(2, 3, 4))


def _code_table(verdict: Verdict, formatter: Formatter) -> Table:
    return _table(code_title(verdict), CODE_HEAD, code_cells(verdict, formatter, _several(verdict)), right=(3, 4, 5, 6))


def _reaction_table(verdict: Verdict, formatter: Formatter) -> Table:
    forces = [row.force for row in verdict.loads] + [row.force for row in verdict.reactions]
    largest = max((math.hypot(*force) for force in forces), default=0.0)
    rows = [
        (
            row.name + _case(row, verdict),
            row.kind,
            place_name(row.on),
            _signed(row.force, largest, formatter),
            formatter.moment(row.moment) if abs(row.moment) > 1.0 else "0",
        )
        for row in verdict.reactions
    ]
    return _table("What the supports do to the part", ("Support", "kind", "on", "force", "moment"), rows, right=(4,))


def _contact_table(verdict: Verdict, formatter: Formatter) -> Table:
    several = _several(verdict)
    rows = [
        (
            row.name + (f" [{row.case}]" if several else ""),
            formatter.force(math.hypot(*row.force)),
            "-" if row.pressure is None else formatter.stress(row.pressure),
            formatter.length(row.length),
            ", ".join(f"{start:.0f} to {stop:.0f}" for start, stop in row.arcs) or "-",
            "-" if not row.play else formatter.length(row.play),
        )
        for row in verdict.contacts
        if not row.open
    ]
    head = ("Touches", "force", "pressure", "over", "from, to (deg)", "play or gap")
    return _table("Where supports touch", head, rows, right=(1, 2, 3, 5))


def _signed(force: Point, largest: float, formatter: Formatter) -> str:
    """Return a force by its parts: ``7.9 kN down``, ``1.2 kN right, 300 N up``; what is next to nothing is left out."""
    least = max(1e-3 * max(abs(force[0]), abs(force[1])), 1e-5 * largest)
    parts = []
    if abs(force[0]) > least:
        parts.append(f"{formatter.force(abs(force[0]))} {'right' if force[0] > 0 else 'left'}")
    if abs(force[1]) > least:
        parts.append(f"{formatter.force(abs(force[1]))} {'up' if force[1] > 0 else 'down'}")
    return ", ".join(parts) or "0"


def _variant_table(verdict: Verdict) -> Table:
    rows = [(row.what, ratio_text(row.utilisation)) for row in verdict.variants]
    return _table("Held otherwise (the worst is told)", ("What", "share"), rows, right=(1,))


def _sure_table(verdict: Verdict, formatter: Formatter) -> Table:
    head = ("Varied alone", "takes", "share", "it", "changes")
    return _table("How sure: one thing varied at a time", head, sure_rows(verdict, formatter), right=(1, 2))


def _face_table(verdict: Verdict, formatter: Formatter) -> Table:
    rows = [
        (row.face, ratio_text(row.utilisation), amount_text(row.best, verdict, formatter) if row.best else "-")
        for row in verdict.faces
    ]
    return _table("Both faces of the board", ("Face", "share", "takes, best"), rows, right=(1, 2))


def _proportion_table(verdict: Verdict) -> Table:
    rows = [
        (row.rule, f"{row.value:.3g}", f"{row.wanted} - missed" if row.met is False else row.wanted, row.source)
        for row in verdict.proportions
    ]
    return _table("Proportions", ("Rule", "is", "wanted", "source"), rows, right=(1,))


def brought(verdict: Verdict) -> list[str]:
    """Return what other packages brought to the verdict, a line each."""
    return [f'{row.kind} "{row.name}": {row.package} {row.version}' for row in verdict.extensions]


def _measured(verdict: Verdict) -> list[str]:
    """Return what each mode's figure is: one line a mode and note."""
    rows = [*verdict.modes, *verdict.beside]
    notes = dict.fromkeys((f"{row.mode}{_named(row)}", row.note) for row in rows if row.note)
    return [f"{what}: {note}" for what, note in notes]


def _named(row: ModeRow) -> str:
    """Return `` at "log"`` where a row is that of one support or load."""
    return f' at "{row.name}"' if isinstance(row, BesideRow) and row.name and row.measured_from is None else ""


def _hand_words(verdict: Verdict, formatter: Formatter) -> list[str]:
    summary = verdict.hand_summary
    words = list(summary.sentences)
    if summary.energy_low is not None and summary.energy_high is not None:
        low, high = (amount_text(load, verdict, formatter) for load in (summary.energy_low, summary.energy_high))
        at = f' at "{summary.energy_at}"' if summary.energy_at else ""
        words.append(f"Energy formula for a force across the grain{at}: {low} to {high}.")
    notes = dict.fromkeys((row.station, row.note) for row in verdict.hand if row.note not in {"", "V Q/(I t)"})
    return words + [f"{station}: {note}." for station, note in notes]


def print_woods(rows: Sequence[WoodRow], console: Console, *, word: str = "") -> None:
    """Print woods with their values, where these come from, and how sure they are.

    Parameters
    ----------
    rows : sequence of WoodRow
        From `fesolve.wood.search.find_woods`.
    console : rich.console.Console
        Where to.
    word : str
        What was searched for; without it only names are printed, for there are many.
    """
    if not rows:
        console.print(f'No wood has "{word}" in its name. Try a shorter part of it, or: fesolve woods')
        return
    if not word:
        cells = [(row.name, row.kind, row.group, ", ".join(row.faces) or "-") for row in rows]
        console.print(_table("", ("Name", "", "group", "faces that can be judged"), cells))
        _print_list("From other packages", [f"{row.name}: {row.package}" for row in rows if row.package], console)
        console.print("\nValues, sources and status of one: fesolve woods NAME")
        return
    for number, row in enumerate(rows):
        if number:
            console.print()
        _print_wood(row, console)


def _figure(value: WoodValue) -> str:
    number = f"{value.value:,.0f}" if abs(value.value) >= 1000.0 else f"{value.value:.4g}"
    return number if value.unit == "1" else f"{number} {value.unit}"


def _print_wood(row: WoodRow, console: Console) -> None:
    """Print one wood: its values in a table, then the sources by number and what to know before using it."""
    sources = {name: number for number, name in enumerate(dict.fromkeys(value.source for value in row.values), start=1)}
    cells = [
        (value.name, _figure(value), value.conditions, value.status, f"[{sources[value.source]}]")
        for value in row.values
    ]
    kind = f"{row.kind}, {row.group}" if row.group else row.kind
    kind += f", from package {row.package}" if row.package else ""
    head = ("value", "", "conditions", "status", "source")
    console.print(_table(f"{row.name} ({kind})", head, cells, right=(1,)))
    notes = [f"[{number}] {name}" for name, number in sources.items()]
    notes += [row.note] if row.note else []
    for note in notes:
        console.print(textwrap.fill(note, console.width, initial_indent="  ", subsequent_indent="    "))
