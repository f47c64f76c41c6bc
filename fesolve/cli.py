"""The command line: one short function a command; what is computed and said comes from elsewhere.

Exit code 0: a verdict was given; 1: with --must-hold, it does not hold; 2: bad input; 3: could not be solved.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from cyclopts import App, CycloptsError, Parameter

from .errors import FesolveError, InputError

if TYPE_CHECKING:
    from .explore.ask import Asked
    from .judge.comparison import Comparison
    from .judge.verdict import Verdict

Units = Literal["si", "us"]
SAMPLES, SEARCHES = "A sample in place of a grid", "A search in place of a grid"


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return f"fesolve {version('fesolve')}"
    except PackageNotFoundError:
        return "fesolve (not installed)"


app = App(
    name="fesolve",
    help="Where a short wooden part splits, what it takes, and whether the hand calculation agrees.",
    version=_version,
    help_format="plaintext",
    suppress_keyboard_interrupt=False,
)


@app.command
def check(
    part: Path,
    *,
    set_: Annotated[tuple[str, ...], Parameter(name="--set", negative=())] = (),
    out: Path | None = None,
    pictures: Annotated[bool, Parameter(negative="--no-pictures")] = True,
    units: Units = "si",
    must_hold: Annotated[bool, Parameter(negative=())] = False,
    quick: Annotated[bool, Parameter(negative=())] = False,
    cures: Annotated[bool | None, Parameter(negative="--no-cures")] = None,
    quiet: Annotated[bool, Parameter(negative=())] = False,
    json: Annotated[Literal["-"] | None, Parameter(allow_leading_hyphen=True)] = None,
) -> int:
    """Say where a part splits, what it takes and why; write PART.results with pictures.

    Parameters
    ----------
    part
        The part file (TOML).
    set_
        Replace a dimension of the file: --set depth="150 mm". May be repeated.
    out
        The results folder; PART.results in the current folder unless given.
    pictures
        Draw hotspots.png, member.png and the others.
    units
        What people read: si (mm, kN, MPa) or us (in, lbf, psi). Files keep mm, N, MPa.
    must_hold
        Exit with 1 when the part does not hold, the mesh's error added. Refused on the mean basis.
    quick
        Leave out how sure it is and what to change: nothing is varied, no chance of failure worked out, and only those
        cracks are opened that may decide: what is there already, and places too small for the mean stress.
    cures
        Say what to change, and check more of it; without it only where the part does not hold.
    quiet
        Print the first sentence only.
    json
        Print verdict.json instead of words: --json -
    """
    from .analysis import check_file
    from .view.files import check_folder
    from .view.words import holds, holds_with_error

    folder = check_folder(out if out is not None else f"{part.stem}.results")
    with _progress(not quiet) as progress:
        result = check_file(part, _settings(set_), progress, sure=not quick, cures=cures)
        if must_hold and result.verdict.basis == "mean":
            raise InputError('On basis "mean" nothing "holds"; take "lower 5%".', key="--must-hold", file=str(part))
        progress("drawing pictures" if pictures else "writing")
        notes = result.save(folder, pictures=pictures, units=units)
    _say(result.verdict, units, folder, json is not None, quiet)
    sys.stderr.writelines(f"{note}\n" for note in notes)
    if must_hold and holds(result.verdict) and not holds_with_error(result.verdict):
        sys.stderr.write("It holds, but not with the mesh's estimated error added; exit code 1.\n")
    return 1 if must_hold and not holds_with_error(result.verdict) else 0


@app.command
def sweep(
    part: Path,
    *,
    vary: Annotated[tuple[str, ...], Parameter(name="--vary", negative=())] = (),
    set_: Annotated[tuple[str, ...], Parameter(name="--set", negative=())] = (),
    sample: Annotated[int | None, Parameter(group=SAMPLES)] = None,
    scatter: Annotated[bool, Parameter(group=SAMPLES, negative=())] = False,
    seed: Annotated[int | None, Parameter(group=SAMPLES)] = None,
    find: Annotated[str | None, Parameter(group=SEARCHES)] = None,
    until: Annotated[str | None, Parameter(group=SEARCHES)] = None,
    least: Annotated[str | None, Parameter(group=SEARCHES)] = None,
    subject: Annotated[tuple[str, ...], Parameter(group=SEARCHES, negative=())] = (),
    out: Path | None = None,
    workers: int | None = None,
    scheduler: str | None = None,
    csv: Path | None = None,
    parquet: Path | None = None,
    pictures: Annotated[bool, Parameter(negative="--no-pictures")] = True,
    units: Units = "si",
    quiet: Annotated[bool, Parameter(negative=())] = False,
) -> int:
    """Check many variants of a part side by side; each result is kept in a file, and a stopped sweep goes on.

    Parameters
    ----------
    part
        The part file (TOML).
    vary
        What to vary: --vary notch_depth="5 mm to 30 mm in 6", or --vary species="Ash, white; Oak, northern red".
        Several: every value of one with every value of the others.
    set_
        Replace a dimension of the file in all of them: --set depth="150 mm".
    sample
        Draw so many variants from ranges (--vary depth="60 mm to 90 mm") and lists, and rank what matters.
    scatter
        Draw the strength, toughness and stiffness of each piece too, by the scatter of its wood.
    seed
        Another number draws another sample.
    find
        Find the value of a name: --find thickness --until utilisation=0.8, within its --vary range if there is one.
    until
        The figure that is to be reached: utilisation=0.8, "deflection=2 mm", "low=5 kN".
    least
        Find the least mass, deflection or utilisation within the --vary ranges: --least mass.
    subject
        What has to be kept meanwhile: --subject "utilisation<=0.8". May be repeated.
    out
        The results file (SQLite); PART.sweep.sqlite in the current folder unless given. The same command goes on with
        what is in it.
    workers
        Processes on this machine; as many as it has processors unless given.
    scheduler
        Address of a Dask cluster that checks them instead: tcp://host:8786.
    csv
        Write the table to a CSV file too.
    parquet
        Write the table to a Parquet file too.
    pictures
        Draw PART.sweep.png, beside the results file: a curve, a map, or what matters.
    units
        What people read: si (mm, kN, MPa) or us (in, lbf, psi). Files keep mm, N, MPa.
    quiet
        Print the sentences only.
    """
    from .explore.ask import Asked, swept
    from .explore.export import check_exports, export
    from .explore.picture import check_picture
    from .explore.telling import print_made

    asked = Asked(_settings(vary, "--vary"), sample, seed, scatter, find, until, least, subject)
    asked.check_kept(workers, scheduler, csv, parquet)
    check_exports(csv, parquet)
    kept = out if out is not None else Path(f"{part.stem}.sweep.sqlite")
    picture = kept.with_suffix(".png") if pictures else None
    if picture is not None:
        check_picture(picture)
    if asked.kind in ("find", "least"):
        return _search(part, asked, _settings(set_), kept, picture, units, quiet)
    with _counting(kept, not quiet) as tell:
        made = swept(part, asked, _settings(set_), workers=workers, out=kept, scheduler=scheduler, tell=tell)
    export(made, csv, parquet)
    print_made(made, units, table=not quiet, ranked=asked.kind == "sample")
    drawn = picture if picture is not None and made.draw(picture, units=units) else None
    print(f"\nResults: {', '.join(str(path) for path in (kept, drawn, csv, parquet) if path is not None)}")
    return 0 if any(row.outcome for row in made.rows) else 3


def _search(
    part: Path, asked: Asked, settings: dict[str, str], kept: Path, picture: Path | None, units: Units, quiet: bool
) -> int:
    """Seek a value, or the least of a figure; 3 where it is not found."""
    from .explore.ask import searched
    from .explore.telling import draw_search, print_search
    from .units import Formatter
    from .view.terminal import make_console

    with _progress(not quiet) as progress:
        varied, found = searched(part, asked, settings, progress, kept)
    print_search(varied, found, Formatter(units), make_console(), table=not quiet)
    drawn = picture if picture is not None and draw_search(varied, found, picture, units) else None
    print(f"\nResults: {', '.join(str(path) for path in (kept, drawn) if path is not None)}")
    return 0 if found.row is not None else 3


@app.command
def compare(
    *parts: Path,
    set_: Annotated[tuple[str, ...], Parameter(name="--set", negative=())] = (),
    variants: Path | None = None,
    out: Path | None = None,
    pictures: Annotated[bool, Parameter(negative="--no-pictures")] = True,
    units: Units = "si",
    quiet: Annotated[bool, Parameter(negative=())] = False,
    json: Annotated[Literal["-"] | None, Parameter(allow_leading_hyphen=True)] = None,
) -> int:
    """Put variants of a part, or several parts, side by side, best first.

    Parameters
    ----------
    parts
        One part file, with --set or --variants; or several, of which the first is what the others are measured against.
    set_
        One variant each time, a semicolon between its changes: --set "pin_d=20 mm" --set "pin_d=22 mm; hole_d=23 mm".
    variants
        A TOML file of them: [[variant]] with name = "thin pin" and set = {pin_d = "20 mm"}.
    out
        The results folder; PART.compare.results in the current folder unless given.
    pictures
        Draw compare.png.
    units
        What people read: si (mm, kN, MPa) or us (in, lbf, psi). Files keep mm, N, MPa.
    quiet
        Print the first sentence only.
    json
        Print compare.json instead of words: --json -
    """
    from .explore.compare import compare_files, compare_variants, read_wanted
    from .view.comparison_files import COMPARE
    from .view.files import check_folder

    if not parts:
        raise InputError("Name a part file, and what it is to be compared with: fesolve compare PART --set depth=...")
    folder = check_folder(out if out is not None else f"{parts[0].stem}.compare.results", COMPARE)
    wanted = read_wanted(parts, set_, variants)
    with _progress(not quiet) as progress:
        done = compare_variants(parts[0], wanted, progress) if wanted else compare_files(parts, progress)
        notes = done.save(folder, pictures=pictures, units=units)
    _say_comparison(done.comparison, units, folder, json is not None, quiet)
    sys.stderr.writelines(f"{note}\n" for note in notes)
    return 0 if any(one.outcome is not None for one in done.comparison.variants) else 3


@app.command
def woods(word: str = "") -> int:
    """List woods with their values, where these come from, and how sure they are.

    Parameters
    ----------
    word
        A part of the name: douglas, oak, C24. Without it, the names alone.
    """
    from .extensions import join_woods
    from .view.terminal import make_console, print_woods
    from .wood.search import find_woods

    join_woods()
    print_woods(find_woods(word), make_console(), word=word)
    return 0


@app.command
def new(file: Path | None = None) -> int:
    """Write a commented starter part file, or print it if no file is named.

    Parameters
    ----------
    file
        Where to write it; a file that is there is never overwritten.
    """
    from .part.starter import starter

    if file is None:
        sys.stdout.write(starter())
        return 0
    try:
        with file.open("x", encoding="utf-8") as stream:
            stream.write(starter())
    except FileExistsError as error:
        raise InputError(f"{file} is there already and is not overwritten. Choose another name.") from error
    except OSError as error:
        raise InputError(f"Cannot write {file}: {error.strerror or error}.") from error
    print(f"Wrote {file}. Change it, then run: fesolve check {file}")
    return 0


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command and return the exit code; every error is one message, never a traceback.

    Parameters
    ----------
    arguments : sequence of str, optional
        Those of the command line unless given.

    Returns
    -------
    int
        0, 1, 2 or 3 as at the top of this file; 130 when interrupted.
    """
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(AttributeError, ValueError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]  # a terminal may not know every sign
    try:
        code = app(
            list(arguments) if arguments is not None else None,
            exit_on_error=False, print_error=False, result_action="return_value",
        )  # fmt: skip
        sys.stdout.flush()
    except CycloptsError as error:
        return _fail(f"{error} Try: fesolve --help", 2)
    except FesolveError as error:
        return _fail(str(error), error.exit_code)
    except KeyboardInterrupt as error:
        return _fail(str(error) or "Stopped.", 130)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # nobody reads on; nothing more to flush
        return 0
    except Exception as error:
        return _unexpected(error)
    return code if isinstance(code, int) else 0


def _fail(message: str, code: int) -> int:
    print(f"fesolve: {message}", file=sys.stderr)
    return code


def _unexpected(error: Exception) -> int:
    if os.environ.get("FESOLVE_DEBUG"):
        import traceback

        traceback.print_exception(error)
    what = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
    hint = "Please report it with the part file (FESOLVE_DEBUG=1 shows where it came from)."
    return _fail(f"This should not have happened ({what}). {hint}", 3)


def _settings(texts: Sequence[str], flag: str = "--set") -> dict[str, str]:
    """Return ``name="value"`` texts as a mapping; `flag` is what they were given with."""
    settings = {}
    for text in texts:
        name, sign, value = text.partition("=")
        if not sign or not name.strip() or not value.strip():
            example = "150 mm" if flag == "--set" else "130 mm to 150 mm in 3"
            raise InputError(f'"{text}" is not name="value", as in {flag} depth="{example}".', key=flag)
        if flag == "--vary" and name.strip() in settings:
            raise InputError(f'"{name.strip()}" is varied twice; give all of its values in one.', key=flag)
        settings[name.strip()] = value.strip()
    return settings


@contextlib.contextmanager
def _progress(wanted: bool) -> Iterator[Callable[[str], None]]:
    """Give a function that shows what is being done; on a terminal only."""
    if not wanted or not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console

    console = Console(stderr=True)
    with console.status("reading") as status:
        yield status.update


@contextlib.contextmanager
def _counting(file: Path, wanted: bool) -> Iterator[Callable[[int, int, object], None]]:
    """Give a function that shows how many variants are done and the time left: a bar, or now and then a line in a log.

    When it is interrupted, it says what is kept and how to go on.
    """
    from .view.countdown import Countdown

    counts = (0, 0)

    def count(done: int, total: int, _: object) -> None:
        nonlocal counts
        counts = (done, total)
        if shown is not None:
            shown.update(task, completed=done, total=total)
        elif wanted and (line := log(done, total)):
            print(line, file=sys.stderr, flush=True)

    log = Countdown()
    shown, task = (None, None) if not (wanted and sys.stderr.isatty()) else _bar()
    try:
        with shown or contextlib.nullcontext():
            yield count
    except KeyboardInterrupt:
        done, total = counts
        if total == 0:
            raise
        message = f"Stopped after {done} of {total} variants. They are kept in {file}; the same command goes on."
        raise KeyboardInterrupt(message) from None


def _bar() -> tuple[Any, Any]:
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("variants"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(), TextColumn("left"))
    bar = Progress(*columns, console=Console(stderr=True), transient=True)
    return bar, bar.add_task("variants", total=None)


def _say_comparison(comparison: Comparison, units: Units, folder: Path, json: bool, quiet: bool) -> None:
    from .units import Formatter
    from .view.comparison import comparison_headline, print_comparison
    from .view.comparison_files import comparison_json
    from .view.terminal import make_console

    if json:
        sys.stdout.write(comparison_json(comparison))
        return
    if quiet:
        print(comparison_headline(comparison, Formatter(units)))
        return
    print_comparison(comparison, Formatter(units), make_console())
    _say_where(folder)


def _say_where(folder: Path) -> None:
    with contextlib.suppress(ValueError):
        folder = folder.relative_to(Path.cwd())
    print(f"\nPictures and files: {folder}")


def _say(verdict: Verdict, units: Units, folder: Path, json: bool, quiet: bool) -> None:
    from .units import Formatter
    from .view.files import verdict_json
    from .view.terminal import make_console, print_verdict
    from .view.words import headline

    if json:
        sys.stdout.write(verdict_json(verdict))
        return
    if quiet:
        print(headline(verdict, Formatter(units)))
        return
    print_verdict(verdict, Formatter(units), make_console())
    _say_where(folder)
