"""What a load case does to strengths: its duration, and in limit states the material factor; each family its own.

Clear wood: Wood's curve, at most 1. Allowable stress design: C_D. Limit states: k_mod over gamma_M. They are never
mixed: reference values of the NDS hold for ten years, characteristic values for a test of some minutes.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..bases import SERVICE
from ..errors import InputError
from . import tables
from .duration import DURATION_SOURCE, DURATION_STATUS, duration_factor
from .model import ALLOWABLE, LIMIT, Factor

DAY = 86_400.0
YEAR = 365.25 * DAY
# longest duration of each row of the NDS' table, s; between rows the longer one counts
C_D = (
    (2.0, "impact"),
    (600.0, "10 minutes"),
    (7 * DAY, "7 days"),
    (YEAR / 6, "2 months"),
    (10 * YEAR, "10 years"),
)
# longest of each class of EN 1995-1-1, Table 2.1 (from memory); the minute is an own choice
K_MOD = ((60.0, "instantaneous"), (7 * DAY, "short"), (YEAR / 2, "medium"), (10 * YEAR, "long"))
SLACK = 1.0 + 1e-9  # "2 months" is a sixth of a year, as the part file counts months
CAPPED = "10 minutes"
LASTING = "duration"
DEFORMATION = "C_D is left at 1: compression across the grain rests on a deformation limit; read"


@dataclass(frozen=True)
class CaseFactors:
    """Factors on strengths in one case, in their order, and what they make together.

    Attributes
    ----------
    factors : tuple of Factor
        On strengths, and on dowel bearing.
    across : tuple of Factor
        On compression across the grain.
    """

    factors: tuple[Factor, ...] = ()
    across: tuple[Factor, ...] = ()

    @property
    def strength(self) -> float:
        """On every strength but that in compression across the grain."""
        return _product(self.factors)

    @property
    def pressed(self) -> float:
        """On compression across the grain."""
        return _product(self.across)

    @property
    def said(self) -> str:
        """What a note says of them: ``strength times 1.15 (C_D)``, ``strength times 0.61 as the load lasts``."""
        names = "/".join(factor.name.removeprefix("1/") for factor in self.factors)
        return f"strength times {self.strength:.2f} " + ("as the load lasts" if names == LASTING else f"({names})")


def _product(factors: tuple[Factor, ...]) -> float:
    product = 1.0
    for factor in factors:
        product *= factor.value
    return product


def clear_factors(seconds: float | None) -> CaseFactors:
    """Of clear wood: Wood's curve relative to five minutes, at most 1, and not across the grain.

    Parameters
    ----------
    seconds : float or None
        At full load, all times together; None: nobody said, a short test.

    Examples
    --------
    >>> clear_factors(None).strength, round(clear_factors(10 * YEAR).strength, 2), clear_factors(10 * YEAR).pressed
    (1.0, 0.61, 1.0)
    """
    value = duration_factor(seconds)
    if value == 1.0:
        return CaseFactors()
    return CaseFactors((Factor(LASTING, value, DURATION_SOURCE, DURATION_STATUS),))


def asd_case_factors(
    seconds: float | None, *, blow: bool = False, joint: bool = False, treated: bool = False, repeated: bool = False
) -> CaseFactors:
    """Of allowable stress design: C_D by the duration; at most 1.6 at a connection and in treated wood.

    Parameters
    ----------
    seconds : float or None
        At full load, all times together; None: ten years, which reference values are for.
    blow : bool
        Whether the case holds a strike.
    joint : bool
        Whether a pin, or another load on a hole, makes a connection of the part.
    treated : bool
        With water-borne preservatives or fire retardants.
    repeated : bool
        Whether the blow comes again: no credit for its shortness then.

    References
    ----------
    NDS 2018, 2.3.2 and Table 2.3.2 with its notes (read).

    Examples
    --------
    >>> asd_case_factors(60 * DAY).strength, asd_case_factors(1.0).strength, asd_case_factors(1.0, joint=True).strength
    (1.15, 2.0, 1.6)
    >>> asd_case_factors(None).strength, asd_case_factors(50 * YEAR).pressed
    (1.0, 1.0)
    """
    when, said = "10 years", "nobody said how long it lasts; ten years, which reference values are for"
    if blow or seconds is not None:
        when, said = _row_of(C_D, 1.0 if blow or seconds is None else seconds), ""
    if when == "impact" and (joint or treated):
        why = "a pin in its hole is a connection" if joint else "treated with preservatives or fire retardants"
        when, said = CAPPED, f"impact would be 2.0, but not here: {why}"
    if repeated:
        when, said = "10 years", "blows that come again have no credit for being short (own reading)"
    row = tables.factor_row(ALLOWABLE, "C_D", when, "Fv")
    note = "; ".join(text for text in (said or when, row["status"]) if text)
    value = float(row["value"])
    at_one = Factor("C_D", 1.0, row["source"], DEFORMATION)
    return CaseFactors((Factor("C_D", value, row["source"], note),), (at_one,))


def limit_case_factors(
    seconds: float | None, service: int | None, *, blow: bool = False, accidental: bool = False
) -> CaseFactors:
    """Of limit states: k_mod by service class and duration, over gamma_M.

    Parameters
    ----------
    seconds : float or None
        At full load, all times together; None: permanent, the lowest.
    service : int or None
        Service class, 1 to 3.
    blow : bool
        Whether the case holds a strike.
    accidental : bool
        Whether it holds an accidental action.

    Raises
    ------
    InputError
        Without a service class.

    References
    ----------
    EN 1995-1-1:2004, 2.4.1, Tables 2.3 (from memory) and 3.1 (read).

    Examples
    --------
    >>> round(limit_case_factors(30 * DAY, 1).strength, 4), round(limit_case_factors(None, 3).strength, 4)   # 0.8/1.3
    (0.6154, 0.3846)
    """
    if service not in SERVICE:
        listed = "; ".join(f"{number}: {meaning}" for number, meaning in SERVICE.items())
        raise InputError(f"The design values of a class need the service class. Choices: {listed}.", key="wood.service")
    when, said = "permanent", "nobody said how long it lasts: permanent, the lowest"
    if blow or seconds is not None:
        when, said = _row_of(K_MOD, 1.0 if blow or seconds is None else seconds), ""
    row = tables.factor_row(LIMIT, "k_mod", f"service class {service}, {when}", "all strengths")
    partial = tables.factor_row(
        LIMIT, "gamma_M", "accidental" if accidental or blow else "solid timber", "all strengths"
    )
    note = "; ".join(text for text in (f"service class {service}, {when}", said, row["status"]) if text)
    by = "; ".join(text for text in (partial["when"], partial["note"], partial["status"]) if text)
    both = (
        Factor("k_mod", float(row["value"]), row["source"], note),
        Factor("1/gamma_M", 1.0 / float(partial["value"]), partial["source"], f"gamma_M = {partial['value']}, {by}"),
    )
    return CaseFactors(both, both)


def _row_of(rows: tuple[tuple[float, str], ...], seconds: float) -> str:
    return next((name for longest, name in rows if seconds <= longest * SLACK), "permanent")
