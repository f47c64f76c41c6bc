"""The piece in hand: its moisture now and when it was made, and what a look at it has shown."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from types import MappingProxyType

from ..errors import InputError
from ..units import KINDS, NUMBER, measure, shorten
from .document import Section, is_list
from .model import Seen, WoodChoice

WETTEST = 2.5  # as a fraction: sapwood of some species holds that much when green
SATURATED = 30.0  # %: wood shrinks below this alone
SHRINKAGE = ("along", "across")
MOST_STRAIN = 0.02  # for 1 % of moisture: no wood shrinks more than 0.5 %
SINCE_MAKING = "since making"
PERCENTILES = ("strength", "toughness", "stiffness")
LEAST_SHARE = 0.001
_LENGTH = rf"({NUMBER})\s*({'|'.join(KINDS['length'].units)})"
FORMS: Mapping[str, re.Pattern[str]] = MappingProxyType(
    {
        "drying cracks": re.compile(rf"drying cracks?(?: {_LENGTH} deep)?( on both faces)?"),
        "end crack": re.compile(rf"end cracks?(?: {_LENGTH})"),
        "knot": re.compile(rf"knots?(?: {_LENGTH})?"),
        "pith": re.compile(r"pith"),
        "grain dives": re.compile(rf"grain dives ({NUMBER}) in ({NUMBER})"),
    }
)
CHOICES = (
    '"drying cracks" (depth unknown), "drying cracks 10 mm deep", "drying cracks 10 mm deep on both faces", '
    '"end crack 40 mm", "knot", "knot 20 mm", "pith", "grain dives 1 in 10"'
)


def read_moisture(section: Section, key: str) -> float | None:
    """Read a moisture of the wood, % of its dry weight; None where the key is absent.

    Raises
    ------
    InputError
        For what lies outside 0 to 250 %; without its % sign a number is a fraction.
    """
    value = section.quantity(key, "percent")
    if value is None:
        return None
    if not 0.0 <= value <= WETTEST:
        message = f'{section.shown(key)} is not a moisture between 0 and {100 * WETTEST:.0f} %, as in {key} = "15 %".'
        if "%" not in section.shown(key):
            message += f" Without its % sign it means {100.0 * value:g} %."
        raise section.error(key, message)
    return 100.0 * value


def read_percentile(section: Section, *, mean: bool) -> dict[str, float]:
    """Read where the piece lies among pieces of its species: the share of them with less, as a fraction.

    Parameters
    ----------
    section : Section
        The [wood] table.
    mean : bool
        Whether it is clear wood on the mean basis.

    Raises
    ------
    InputError
        For what lies outside 0.1 to 99.9 %, on another basis, and for a toughness beside a splitting length.
    """
    own = section.section("percentile", "[wood.percentile]")
    if own is None:
        return {}
    own.allow(PERCENTILES)
    if not mean:
        message = 'says where one piece lies among others, and goes with species or own values on basis "mean" alone.'
        raise section.error("percentile", f"[wood.percentile] {message}")
    found = {}
    for key in PERCENTILES:
        value = own.quantity(key, "percent")
        if value is None:
            continue
        if not LEAST_SHARE <= value <= 1.0 - LEAST_SHARE:
            message = f'{own.shown(key)} is not between 0.1 and 99.9 %, as in {key} = "5 %": 1 in 20 pieces has less.'
            raise own.error(key, message)
        found[key] = value
    fracture = section.table.get("fracture")
    if "toughness" in found and isinstance(fracture, Mapping) and "split_length" in fracture:
        raise own.error("toughness", "An own split_length stands in for energies, so toughness has nothing to change.")
    return found


def read_shrinkage(section: Section) -> dict[str, float]:
    """Read own strains for 1 % of moisture, as fractions.

    Raises
    ------
    InputError
        For unknown keys, no `across`, values below 0 and such as no wood has.
    """
    own = section.section("shrinkage", "[wood.shrinkage]")
    if own is None:
        return {}
    own.allow(SHRINKAGE)
    if not own.has("across"):
        raise own.missing("across", 'for each 1 % of moisture, as in across = "0.25 %".')
    found = {}
    for key in SHRINKAGE:
        value = own.not_negative(key, "percent")
        if value is not None and value > MOST_STRAIN:
            message = (
                f"{own.shown(key)} for each 1 % of moisture is more than any wood shrinks; across the grain it is "
                'about 0.1 to 0.45 %, as in across = "0.25 %".'
            )
            raise own.error(key, message)
        if value is not None:
            found[key] = value
    return found


def read_seen(section: Section) -> tuple[Seen, ...]:
    """Read what was seen on the piece, strictly.

    Raises
    ------
    InputError
        For words that are not known, the same thing twice, and sizes of 0; the message lists the choices.
    """
    if not section.has("seen"):
        return ()
    value = section.table["seen"]
    if not is_list(value):
        message = f'{section.shown("seen")} is not a list; write it as in seen = ["drying cracks 10 mm deep", "knot"].'
        raise section.error("seen", message)
    found: dict[str, Seen] = {}
    for one in value:
        seen = _seen(section, one)
        if seen.kind in found and seen.kind != "knot":
            raise section.error("seen", f'"{seen.kind}" stands in seen twice; say the worst of it once.')
        if seen.kind not in found or (seen.size or 0.0) > (found[seen.kind].size or 0.0):
            found[seen.kind] = seen
    return tuple(found.values())


def _seen(section: Section, value: object) -> Seen:
    if not isinstance(value, str):
        raise section.error("seen", f"{shorten(repr(value))} is not text. What can be seen: {CHOICES}.")
    text = " ".join(value.split())
    for kind, form in FORMS.items():
        match = form.fullmatch(text)
        if match is not None:
            return _made(section, kind, text, match)
    near = difflib.get_close_matches(text.split(" 1 in")[0], FORMS, n=1, cutoff=0.6)
    hint = f' Nearest: "{near[0]}".' if near else ""
    raise section.error("seen", f'"{shorten(text)}" is not known in seen.{hint} What can be seen: {CHOICES}.')


def _made(section: Section, kind: str, text: str, match: re.Match[str]) -> Seen:
    if kind == "pith":
        return Seen(kind="pith", text=text)
    if kind == "grain dives":
        rise, run = float(match[1]), float(match[2])
        if not (0.0 < rise < float("inf") and rise <= run < float("inf")):
            raise section.error(
                "seen", f'"{text}": write a slope as in "grain dives 1 in 10", not steeper than 1 in 1.'
            )
        return Seen(kind="grain dives", run=run / rise, text=text)
    size = None if match[1] is None else measure(float(match[1]), match[2]).value
    if size is not None and not 0.0 < size < float("inf"):
        raise section.error("seen", f'"{text}": the size has to be greater than 0.')
    both = kind == "drying cracks" and match[3] is not None
    return Seen(kind=kind, size=size, both=both, text=text)  # type: ignore[arg-type]


def check_cracks(seen: tuple[Seen, ...], thickness: float, key: str) -> None:
    """Refuse drying cracks that go through the thinnest wood of the part.

    Raises
    ------
    InputError
        With the thickness.
    """
    cracks = next((one for one in seen if one.kind == "drying cracks"), None)
    if cracks is None or cracks.size is None:
        return
    if cracks.size * (2.0 if cracks.both else 1.0) >= thickness:
        raise InputError(
            f'"{cracks.text}": so deep they go through the {thickness:g} mm of the wood; that is a split, and nothing '
            "is left to judge there.",
            key=key,
        )


def read_change(section: Section, case: str, wood: WoodChoice) -> tuple[str | None, float | None]:
    """Read how much moisture a case's wood gains or loses.

    Returns
    -------
    tuple of str or None, and float or None
        As written; and in percent of moisture, what lies above 30 % left out, since no wood shrinks there.

    Raises
    ------
    InputError
        For what is no percentage, a change of nothing, one to below 0 %, and one since making that is not known.
    """
    if not section.has("moisture_change"):
        return None, None
    if section.table["moisture_change"] == SINCE_MAKING:
        if wood.moisture is None or wood.made_at is None:
            message = (
                f'Case "{case}": a change "{SINCE_MAKING}" needs the moisture now and that at making: [wood] moisture '
                'and made_at, as in made_at = "19 %".'
            )
            raise section.error("moisture_change", message)
        start, change = wood.made_at, wood.moisture - wood.made_at
        return SINCE_MAKING, _counted(section, case, start, change)
    value = section.needed("moisture_change", "percent")
    change = 100.0 * value
    if "%" not in section.shown("moisture_change") and abs(change) >= 100.0:
        message = (
            f"{section.shown('moisture_change')} without its % sign means {change:g} % of moisture; write it as in "
            'moisture_change = "-6 %".'
        )
        raise section.error("moisture_change", message)
    if abs(change) > SATURATED and wood.moisture is None:
        message = (
            f'Case "{case}": a change by {change:+.4g} % is more than wood can shrink or swell over: that is from '
            f"{SATURATED:g} % to 0. State [wood] moisture if it starts wetter."
        )
        raise section.error("moisture_change", message)
    text = str(section.table["moisture_change"])
    start = max(0.0, -change) if wood.moisture is None else wood.moisture  # somewhere below 30 %
    return text, _counted(section, case, start, change)


def _counted(section: Section, case: str, start: float, change: float) -> float:
    """The part of a change that lies below 30 %."""
    if start + change < -1e-9:
        message = f'Case "{case}": from {start:g} % a change by {change:+.4g} % leads below 0 % of moisture.'
        raise section.error("moisture_change", message)
    counted = min(start + change, SATURATED) - min(start, SATURATED)
    if counted == 0.0:
        why = "a change of 0 is none; leave it out"
        if change != 0.0:
            why = f"from {start:g} % by {change:+.4g} % is above {SATURATED:g} %, where no wood shrinks or swells"
        raise section.error("moisture_change", f'Case "{case}": {why}.')
    return counted
