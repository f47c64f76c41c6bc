"""What can go wrong, as one small tree.

FesolveError                 anything fesolve says to its user; never shown as a traceback
├── InputError               what the user wrote cannot be used (exit code 2)
│   └── FreeMotionError      the part can slide or turn without straining (exit code 2)
├── SolveError               the numbers could not be had (exit code 3)
├── ExtensionError           an installed package plugs in what cannot be used (exit code 3)
└── MissingLibraryError      a system library is not installed (exit code 3)

A message says what is wrong, where (key path, edge name, value with its unit) and what to do.
"""

from __future__ import annotations


class FesolveError(Exception):
    """A message for the user.

    Parameters
    ----------
    message : str
        What is wrong, what was found, what is allowed or what to do.
    key : str, optional
        Key path in the part file, counted from 1 in lists: ``"support.2.on"``.
    file : str, optional
        The file the message is about; filled in by the reader when it is known there.

    Examples
    --------
    >>> str(InputError("Thickness is 0 mm; give a value above 0.", key="wood.thickness"))
    'Thickness is 0 mm; give a value above 0. (wood.thickness)'
    """

    exit_code = 3

    def __init__(self, message: str, *, key: str | None = None, file: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.key = key
        self.file = file

    def __str__(self) -> str:
        head = f"{self.file}: " if self.file else ""
        tail = f" ({self.key})" if self.key else ""
        return f"{head}{self.message}{tail}"


class InputError(FesolveError):
    """What the user wrote cannot be used."""

    exit_code = 2


class FreeMotionError(InputError):
    """The part can slide or turn without straining; the message says in which way."""


class SolveError(FesolveError):
    """The equations could not be solved, or the solution fails its own checks."""


class ExtensionError(FesolveError):
    """An installed package plugs in something that cannot be used; the message names the package."""


def unusable(who: str, package: str, why: str) -> ExtensionError:
    """The error for what a package plugs in: who it is, why it cannot be used, and the way out."""
    return ExtensionError(f"{who}: {why} Mend the package, or take it out: pip uninstall {package}")


class MissingLibraryError(FesolveError):
    """A system library is missing; the message names the packages to install."""
