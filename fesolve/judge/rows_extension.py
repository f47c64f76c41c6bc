"""Rows of the verdict on what other packages brought to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

ExtensionKind = Literal["wood", "mode", "solver"]


@dataclass(frozen=True)
class ExtensionRow:
    """One thing that the verdict rests on and that another package brought: the species, mode or solver of a name."""

    kind: ExtensionKind
    name: str
    package: str
    version: str
