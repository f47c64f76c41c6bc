"""How often a case comes: ``100000``, or ``"200 a day for 5 years"``."""

from __future__ import annotations

import math
import re

from ..units import NUMBER, shorten
from .document import Section
from .durations import UNITS

FEWEST, MOST = 1.0, 10**7.5
HOW_OFTEN = 'repeats = 100000, or as in repeats = "200 a day for 5 years"'
_RATE = re.compile(rf"({NUMBER}) (?:an?|per|each|every) ([a-z]+) for ({NUMBER}) ([a-z]+)")


def read_repeats(section: Section, case: str) -> tuple[str | None, float | None]:
    """Read how many times a case comes.

    Returns
    -------
    tuple of str or None, and float or None
        As written, and as a number.

    Raises
    ------
    InputError
        For what is no number of times, fewer than one, and more than any figure is known for.
    """
    if not section.has("repeats"):
        return None, None
    value = section.table["repeats"]
    match = _RATE.fullmatch(" ".join(value.split())) if isinstance(value, str) else None
    count = _counted(section, case, match) if match else _number(section, case)
    text = " ".join(str(value).split())
    if not math.isfinite(count) or count < FEWEST:
        message = f'Case "{case}": repeats = {shorten(text)} is not a number of times from 1 up; write {HOW_OFTEN}.'
        raise section.error("repeats", message)
    if count > MOST * (1 + 1e-9):
        message = (
            f'Case "{case}": repeats = {shorten(text)} makes {count:,.3g} times; beyond 10^7.5 (about 32 million) no '
            "figure is known of what is left of the strength, and none is given."
        )
        raise section.error("repeats", message)
    return text, count


def _number(section: Section, case: str) -> float:
    value = section.table["repeats"]
    if isinstance(value, str) and not re.fullmatch(NUMBER, value.strip()) and value.strip() not in section.names:
        message = f'Case "{case}": "{shorten(value)}" is not a number of times; write {HOW_OFTEN}.'
        raise section.error("repeats", message)
    return section.needed("repeats", "number")


def _counted(section: Section, case: str, match: re.Match[str]) -> float:
    """A rate times its time."""
    sizes = []
    for word in (match[2], match[4]):
        size = UNITS.get(word) or (UNITS.get(word[:-1]) if word.endswith("s") else None)
        if size is None:
            units = ", ".join(unit for unit in ("minute", "hour", "day", "week", "month", "year"))
            message = f'Case "{case}": "{shorten(word)}" is no time to count repeats by; write one of {units}.'
            raise section.error("repeats", message)
        sizes.append(size)
    return float(match[1]) * float(match[3]) * sizes[1] / sizes[0]
