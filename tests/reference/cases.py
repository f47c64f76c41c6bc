"""Every case of the verification table, in order: which function makes its rows."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import cases_allowables
import cases_beams
import cases_bearing
import cases_codes
import cases_contact
import cases_fracture
import cases_hand
import cases_holes
import cases_interaction
import cases_isotropic
import cases_piece
import cases_strikes
from checks import Check, reference_cases

_FAMILIES = {
    **cases_holes.FAMILIES,
    **cases_contact.FAMILIES,
    **cases_beams.FAMILIES,
    **cases_isotropic.FAMILIES,
    **cases_fracture.FAMILIES,
    **cases_strikes.FAMILIES,
    **cases_hand.FAMILIES,
    **cases_bearing.FAMILIES,
    **cases_interaction.FAMILIES,
    **cases_codes.FAMILIES,
    **cases_piece.FAMILIES,
    **cases_allowables.FAMILIES,
}

FAMILIES: Mapping[str, Callable[[str], list[Check]]] = {case: _FAMILIES[case] for case in reference_cases()}

# more than about a second on one core
SLOW = (
    *("1.7", "1.8", "1.9", "2.1"),
    *(case for case in FAMILIES if case.startswith("4.") or FAMILIES[case] in cases_contact.SLOW),
    *("7.2", "7.13", "7.14"),
)


def rows_of(case: str) -> list[Check]:
    """All rows of one case, computed now."""
    return FAMILIES[case](case)
