"""Entry points without an installation, for tests: what a package offers, and fesolve without what it joined before."""

from collections.abc import Iterator
from contextlib import contextmanager
from types import SimpleNamespace
from typing import Any

import pytest

from fesolve import extensions
from fesolve.wood import tables


def point(name: str, value: Any, package: str = "yard-a", version: str = "1.0") -> SimpleNamespace:
    """An entry point that gives `value`, or raises it."""

    def load() -> Any:
        if isinstance(value, BaseException):
            raise value
        return value

    return SimpleNamespace(name=name, load=load, dist=SimpleNamespace(name=package, version=version))


def forget() -> None:
    """As in a fresh process."""
    for kept in (
        extensions.offers,
        extensions.join_woods,
        extensions.solver_of,
        extensions.further_modes,
        extensions.plugged_in,
    ):
        kept.cache_clear()
    tables._ADDED.clear()
    tables.species.cache_clear()


@contextmanager
def plugged(monkeypatch: pytest.MonkeyPatch, **groups: list[SimpleNamespace]) -> Iterator[None]:
    """What is installed is these entry points, by kind: wood=[…], mode=[…], solver=[…]."""

    def found(group: str) -> list[SimpleNamespace]:
        return groups.get(group.removeprefix("fesolve.")[:-1], [])

    forget()
    with monkeypatch.context() as patch:
        patch.setattr(extensions, "installed", found)
        yield
    forget()
