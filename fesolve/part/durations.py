"""How long a load case lasts: ``"10 years"``, ``"7 days"``, ``"permanent"``, in seconds."""

from __future__ import annotations

import difflib
import re
from types import MappingProxyType

from ..units import NUMBER, shorten
from .document import Section

DAY = 86_400.0
YEAR = 365.25 * DAY
WORDS = MappingProxyType(
    {
        "permanent": 50.0 * YEAR,
        "long-term": 10.0 * YEAR,
        "medium-term": 0.5 * YEAR,
        "short-term": 7.0 * DAY,
        "instantaneous": 1.0,
        "impact": 1.0,
    }
)
"""Seconds by word; a blow counts as the shortest time for which strengths are known, a class as its longest time."""
UNITS = MappingProxyType(
    {
        **{"ms": 0.001, "s": 1.0, "second": 1.0, "min": 60.0, "minute": 60.0, "h": 3600.0, "hour": 3600.0},
        **{"day": DAY, "week": 7.0 * DAY, "month": YEAR / 12.0, "year": YEAR},
    }
)
_DURATION = re.compile(rf"\s*({NUMBER})\s*([A-Za-z]+)\s*")
CHOICES = (
    '"permanent" (50 years), "long-term" (10 years), "medium-term" (6 months), "short-term" (a week), '
    '"instantaneous" or "impact" (a second; a blow), or as in "10 years", "2 months", "7 days", "10 min", "50 ms"'
)


def read_duration(section: Section, case: str) -> tuple[str | None, float | None]:
    """Read how long a case lasts, its full load counted over all the times that it acts.

    Returns
    -------
    tuple of str or None, and float or None
        As written, and in seconds; both None where nothing is said.

    Raises
    ------
    InputError
        For what is no duration, and one of 0; the message lists the choices.
    """
    text = section.text("duration")
    if text is None:
        return None, None
    if text in WORDS:
        return text, WORDS[text]
    named = text in section.names
    seconds = section.needed("duration", "time") if named else _seconds(section, text, case)
    if not 0.0 < seconds < float("inf"):
        raise section.error("duration", f'Case "{case}": "{shorten(text)}" is not a time above 0.')
    return text, seconds


def _seconds(section: Section, text: str, case: str) -> float:
    found = _DURATION.fullmatch(text)
    unit = found[2] if found else ""
    size = UNITS.get(unit) or (UNITS.get(unit[:-1]) if unit.endswith("s") and len(unit) > 3 else None)
    if found is None or size is None:
        near = difflib.get_close_matches(unit or text, [*UNITS, *WORDS], n=1, cutoff=0.6)
        hint = f' Nearest: "{near[0]}".' if near else ""
        message = f'Case "{case}": "{shorten(text)}" is not a duration.{hint} Write {CHOICES}.'
        raise section.error("duration", message)
    return float(found[1]) * size
