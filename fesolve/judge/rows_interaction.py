"""Rows of the verdict on stresses that act together."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class JudgingRow:
    """How stresses were judged: ``combined`` is the criterion for all of them together."""

    combined: str
