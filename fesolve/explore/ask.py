"""What a ``fesolve sweep`` command line asks for: a grid, a sample, a value, or the least of a figure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from ..errors import InputError
from ..part.model import Part
from ..part.read import read_part
from ..units import shorten
from .find import Found, find
from .least import Least, least
from .probe import Progress
from .run import Tell
from .sample import sample
from .sweep import Sweep, sweep

Kind = Literal["grid", "sample", "find", "least"]
NEEDS = {  # flag, what it goes with, and how that is written
    "--seed": ("sample", "--sample 200"),
    "--scatter": ("sample", "--sample 200"),
    "--until": ("find", "--find thickness"),
    "--subject": ("least", "--least mass"),
}


@dataclass(frozen=True)
class Asked:
    """The flags of one command line, as they were given.

    Attributes
    ----------
    vary : mapping of str to str
        By name the text of ``--vary``.
    sample, seed : int or None
    scatter : bool
    find, until, least : str or None
    subject : tuple of str
    """

    vary: Mapping[str, str]
    sample: int | None = None
    seed: int | None = None
    scatter: bool = False
    find: str | None = None
    until: str | None = None
    least: str | None = None
    subject: tuple[str, ...] = ()

    @property
    def kind(self) -> Kind:
        """What is asked for.

        Raises
        ------
        InputError
            For flags that contradict each other, or that want another one beside them.
        """
        given = {"--sample": self.sample, "--find": self.find, "--least": self.least}
        asked = [flag for flag, value in given.items() if value is not None]
        if len(asked) > 1:
            raise InputError(f"{asked[0]} and {asked[1]} are two things; ask for one at a time.", key=asked[1])
        kind: Kind = "grid"
        if asked:
            kind = "sample" if self.sample is not None else "find" if self.find is not None else "least"
        self._check_beside(kind)
        return kind

    def _check_beside(self, kind: Kind) -> None:
        given = {
            "--seed": self.seed is not None,
            "--scatter": self.scatter,
            "--until": self.until is not None,
            "--subject": bool(self.subject),
        }
        for flag, there in given.items():
            wanted, example = NEEDS[flag]
            if there and kind != wanted:
                raise InputError(f"{flag} goes with --{wanted}, as in {example}.", key=flag)
        if kind == "find" and self.until is None:
            raise InputError(
                "--find wants what is to be reached beside it, as in --until utilisation=0.8.", key="--find"
            )
        if kind == "least" and not self.subject:
            raise InputError('--least wants a bound beside it, as in --subject "utilisation<=0.8".', key="--least")

    def check_kept(self, workers: int | None, scheduler: str | None, csv: Path | None, parquet: Path | None) -> None:
        """Refuse what a search does not have: its checks follow one from another.

        Raises
        ------
        InputError
            For workers, a cluster, or a table beside ``--find`` or ``--least``.
        """
        kind = self.kind
        given = {"--workers": workers, "--scheduler": scheduler, "--csv": csv, "--parquet": parquet}
        for flag, value in given.items():
            if kind in ("find", "least") and value is not None:
                message = f"{flag} goes with a grid or a sample; --{kind} checks one variant after the other."
                raise InputError(message, key=flag)


def swept(
    path: str | Path,
    asked: Asked,
    overrides: Mapping[str, str],
    *,
    workers: int | None = None,
    out: str | Path | None = None,
    scheduler: str | None = None,
    tell: Tell | None = None,
) -> Sweep:
    """Read a part file and check the grid or the sample asked for.

    Raises
    ------
    FesolveError
        As `fesolve.sweep` and `fesolve.sample`; with the file's name where it is about what stands in it.
    """
    part = read_part(path, overrides)
    try:
        if asked.kind != "sample":
            return sweep(part, asked.vary, workers=workers, out=out, scheduler=scheduler, tell=tell)
        return sample(
            part, asked.vary, asked.sample or 0, seed=asked.seed or 0, scatter=asked.scatter,
            workers=workers, out=out, scheduler=scheduler, tell=tell,
        )  # fmt: skip
    except InputError as error:
        raise _of_file(error, path) from None


def searched(
    path: str | Path, asked: Asked, overrides: Mapping[str, str], progress: Progress, out: str | Path | None
) -> tuple[Part, Found | Least]:
    """Read a part file and search as asked for.

    Raises
    ------
    FesolveError
        As `fesolve.find` and `fesolve.least`; with the file's name where it is about what stands in it.
    """
    part = read_part(path, overrides)
    try:
        if asked.kind == "least":
            return part, least(part, asked.least or "", asked.subject, asked.vary, progress, out=out)
        name = asked.find or ""
        others = [one for one in asked.vary if one != name]
        if others:
            message = (
                f'--find seeks one value, and --vary gives its range: "{shorten(others[0])}" is not "{shorten(name)}".'
            )
            raise InputError(f"{message} Set others with --set.", key="--vary")
        return part, find(part, name, _until(asked.until or ""), asked.vary.get(name), progress, out=out)
    except InputError as error:
        raise _of_file(error, path) from None


def _of_file(error: InputError, path: str | Path) -> InputError:
    if not (error.key or "").startswith("--"):
        error.file = error.file or str(path)
    return error


def _until(text: str) -> dict[str, str]:
    figure, sign, value = text.partition("=")
    if not sign or not figure.strip() or not value.strip() or figure.rstrip()[-1] in "<>":
        raise InputError(f'"{shorten(text)}" is not FIGURE=VALUE, as in --until utilisation=0.8.', key="--until")
    return {figure.strip(): value.strip()}
