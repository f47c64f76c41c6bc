"""Variants side by side: each checked as by itself, ranked, and drawn at one scale."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from os import PathLike, fspath
from pathlib import Path
from typing import Literal

from ..analysis import Result
from ..errors import FesolveError, InputError
from ..judge.comparison import Compared, Comparison, Loaded, compared, dents_of, loaded
from ..judge.outcome import outcome_of
from ..judge.verdict import Verdict
from ..part.differences import differences
from ..part.model import Part
from ..part.overrides import override
from ..part.read import read_part
from ..part.variant_list import AS_IT_STANDS, MOST, Wanted, check_variants, read_file, read_texts
from ..view.comparison_files import Panel, save_comparison
from ..view.files import Shown, shown_of
from .evaluate import evaluate

Progress = Callable[[str], None]
AnyPath = str | PathLike[str]


@dataclass(frozen=True)
class Compare:
    """What was compared, and what the picture is made of.

    Attributes
    ----------
    comparison : Comparison
    panels : tuple of Panel
        Of those that were checked, in the order of the comparison.
    """

    comparison: Comparison
    panels: tuple[Panel, ...]

    def save(self, folder: str | Path, *, pictures: bool = True, units: Literal["si", "us"] = "si") -> list[str]:
        """Write compare.json and compare.png; return what could not be written, a sentence each.

        Raises
        ------
        InputError
            If the folder cannot be used; nothing is left half-written.
        """
        from ..units import Formatter

        return save_comparison(folder, self.comparison, self.panels, formatter=Formatter(units), pictures=pictures)


@dataclass(frozen=True)
class _Entry:
    """One variant before it is checked: a part that could be read, or why not, and its source for the differences."""

    name: str
    part: Part
    changes: Mapping[str, str]
    source: Mapping[str, object]
    file: str | None = None
    message: str = ""


def compare_files(paths: Sequence[AnyPath], progress: Progress | None = None) -> Compare:
    """Compare part files; the first is what the others are measured against.

    Raises
    ------
    InputError
        If there are fewer than two, one is named twice, or the first cannot be read. Others that cannot be read are
        rows with their message.
    """
    names = _names([fspath(path) for path in paths])
    first = read_part(paths[0])
    entries: list[_Entry] = []
    for path, name in zip(paths, names, strict=True):
        try:
            part, message = (first if not entries else read_part(path)), ""
        except FesolveError as error:
            part, message = first, str(InputError(error.message, key=error.key))
        source = first.source if message else part.source
        entries.append(_Entry(name, part, {}, source, fspath(path), message))
    return _compare(entries, progress or (lambda _: None))


def read_wanted(paths: Sequence[AnyPath], texts: Sequence[str], file: AnyPath | None) -> list[Wanted]:
    """What is asked for beside part files: variants as texts, and a file of them.

    Raises
    ------
    InputError
        For texts and files that cannot be meant, and for variants of more than one part.
    """
    if (texts or file is not None) and len(paths) > 1:
        raise InputError("Variants are of one part: name one file with --set or --variants, or several without.")
    return [*read_texts(texts), *([] if file is None else read_file(fspath(file)))]


def compare_variants(path: AnyPath, wanted: Sequence[Wanted], progress: Progress | None = None) -> Compare:
    """Compare a part file as it stands with variants of it.

    Raises
    ------
    InputError
        For a name that the part does not have, and two variants of one name. A variant that cannot be drawn or solved
        is a row with its message.
    """
    try:
        return compare_with(read_part(path), wanted, progress)
    except FesolveError as error:
        error.file = error.file or fspath(path)
        raise


def compare(part: Part, variants: Mapping[str, Mapping[str, object]], tell: Progress | None = None) -> Compare:
    """Put a part as it stands and variants of it side by side.

    Parameters
    ----------
    part : Part
    variants : mapping of str to mapping
        By a name of your choice what is replaced, as `Part.with_` takes it: ``{"shallow": {"notch_depth": "15 mm"}}``.
    tell : callable, optional
        Told what is being checked.

    Returns
    -------
    Compare
        Its ``comparison.variants`` are in order, best first; ``save(folder)`` writes the table and the picture.

    Raises
    ------
    InputError
        For no variant, a name that the part does not have, and two variants that are the same. A variant that cannot
        be drawn or solved is a row with its message.

    Examples
    --------
    >>> import fesolve
    >>> bar = fesolve.read_part("meshes/drawbar.toml")  # doctest: +SKIP
    >>> fesolve.compare(bar, {"shallow": {"notch_depth": "15 mm"}}).comparison.variants[0].name  # doctest: +SKIP
    'shallow'
    """
    if not variants:
        raise InputError('There is nothing to compare it with: give {"shallow": {"notch_depth": "15 mm"}} or the like.')
    wanted = [Wanted(name, {key: str(to) for key, to in changes.items()}) for name, changes in variants.items()]
    return compare_with(part, wanted, tell)


def compare_with(part: Part, wanted: Sequence[Wanted], progress: Progress | None = None) -> Compare:
    """As `compare_variants`, of a part that is read already."""
    check_variants(part, wanted)
    rows = [Wanted(AS_IT_STANDS, {}), *wanted]
    entries = [_Entry(one.name, part, one.changes, override(part.source, one.changes), part.file) for one in rows]
    return _compare(entries, progress or (lambda _: None))


def _names(paths: Sequence[str]) -> list[str]:
    """Stems of the files, or whole paths where stems are alike."""
    if len(paths) < 2:
        raise InputError('There is nothing to compare it with: give --set name="value", --variants, or more parts.')
    if len(paths) > MOST:
        raise InputError(f"These are {len(paths):,} parts; at most {MOST} stand side by side.")
    if len(set(paths)) < len(paths):
        raise InputError("A part is named twice; it is the same as itself.")
    stems = [Path(path).stem for path in paths]
    return stems if len(set(stems)) == len(stems) else list(paths)


def _compare(entries: Sequence[_Entry], say: Progress) -> Compare:
    rows: list[tuple[Compared, Loaded | None]] = []
    shown: dict[str, Panel] = {}
    base: Result | None = None
    for number, entry in enumerate(entries, start=1):
        say(f"{number} of {len(entries)}: {entry.name}")
        if entry.message:
            rows.append((_row(entry, entries[0], message=entry.message), None))
            continue
        row, result = evaluate(entry.part, entry.changes, base)
        base = base or result
        if result is None or row.outcome is None:
            rows.append((_row(entry, entries[0], message=row.message), None))
            continue
        verdict = result.verdict
        rows.append((_row(entry, entries[0], verdict=verdict), loaded(verdict)))
        shown[entry.name] = Panel(entry.name, verdict, _shown(result))
    comparison = compared(entries[0].part.title, _version(shown), rows)
    return Compare(comparison, tuple(shown[one.name] for one in comparison.variants if one.name in shown))


def _shown(result: Result) -> Shown:
    whole = shown_of(result.part, result.outline, result.solution, result.utilisation, result.verdict)
    return replace(whole, point_data={})  # field.vtu's arrays, which nobody draws


def _version(shown: Mapping[str, Panel]) -> str:
    return next((one.verdict.version for one in shown.values()), "")


def _row(entry: _Entry, first: _Entry, *, verdict: Verdict | None = None, message: str = "") -> Compared:
    differs = () if entry.message else differences(first.source, entry.source)
    plain = Compared(entry.name, entry.file, dict(entry.changes), differs, None, message)
    if verdict is None:
        return plain
    takes = verdict.takes
    own = None if takes.own is None else takes.own[1]
    outcome, dents = outcome_of(verdict), dents_of(verdict)
    return replace(plain, outcome=outcome, own=own, quantity=takes.quantity, dents=dents)
