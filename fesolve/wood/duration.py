"""What a lasting load does to strength, and why a blow is given no credit."""

from __future__ import annotations

SHORT_TEST = 300.0  # s: the tables' strengths are those of a test of about five minutes
SHORTEST, LONGEST = 1.0, 50 * 365.25 * 86_400  # s: the curve is used between these
DURATION_SOURCE = "L. W. Wood, FPL-R-1916 (1951), curve through tests of clear wood in bending"
DURATION_STATUS = "constants from memory; against the NDS' duration factors within 2.1 %"


def strength_level(seconds: float) -> float:
    """Stress (%) of a standard short test that clear wood bears for a time, SL = 18.3 + 108.4 t^-0.04635.

    Parameters
    ----------
    seconds : float
        t at full load, above 0; between 1 s and 50 years, what lies beyond counts as the end.

    References
    ----------
    L. W. Wood, Relation of strength of wood to duration of load, FPL Report 1916, 1951 (constants from memory).

    Examples
    --------
    >>> round(strength_level(1.0), 1), round(strength_level(300.0), 1)
    (126.7, 101.5)
    """
    t = min(max(seconds, SHORTEST), LONGEST)
    return float(18.3 + 108.4 * t**-0.04635)


def duration_factor(seconds: float | None) -> float:
    """Factor on short-test strengths of clear wood for a load that lasts; at most 1.

    SL(t)/SL(5 min), so that neither blows nor short loads are credited. It is for strengths in shear, tension and
    compression along the grain and for pins; not for stiffness, and not for compression across the grain, which rests
    on a limit of deformation (NDS 2018, 2.3.2, read).

    Parameters
    ----------
    seconds : float or None
        The load's time at its full value, all times together; None where nobody said: a short test.

    Examples
    --------
    >>> duration_factor(None), duration_factor(1.0), round(duration_factor(10 * 365.25 * 86_400), 2)
    (1.0, 1.0, 0.61)
    """
    if seconds is None:
        return 1.0
    return min(1.0, strength_level(seconds) / strength_level(SHORT_TEST))


def blow_sentence() -> str:
    """What a strike means for the strengths, in one sentence or two with the sources.

    Examples
    --------
    >>> blow_sentence().startswith("A strike is judged by the strengths of a short test as they are")
    True
    """
    gain = 100 * (strength_level(1.0) / strength_level(SHORT_TEST) - 1)
    return (
        "A strike is judged by the strengths of a short test as they are, no more: the factor 2.0 for impact (NDS "
        "2018, Table 2.3.2, read) belongs to ten-year design values and not to connections such as a pin in its hole, "
        f"and the {gain:.0f} % by which a second's load may exceed five minutes' (Wood 1951, from memory) are left as "
        "a reserve."
    )
