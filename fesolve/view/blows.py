"""What a verdict says of strikes, in sentences: what they bring, the forces side by side, and what time makes of it."""

from __future__ import annotations

import math

from ..judge.verdict import StrikeRow, Takes, ThroughTime, TimedMode, Verdict
from ..units import Formatter

POUND = 0.45359237  # kg, exact
FOOT_POUND = 1355.8179483314004  # N mm
OWN = {"speed": "at a speed of", "drop": "dropped from", "run": "rolled"}


def timed_strikes(verdict: Verdict) -> list[tuple[str, StrikeRow]]:
    """The strikes that were followed through time, each with the name of its picture.

    These are ``strike.png``, ``strike_2.png`` and so on.

    Returns
    -------
    list of (str, StrikeRow)
    """
    rows = [row for row in verdict.strikes if row.through_time is not None]
    return [("strike.png" if number == 1 else f"strike_{number}.png", row) for number, row in enumerate(rows, 1)]


def struck(verdict: Verdict, formatter: Formatter) -> str:
    """Return a sentence or two on each strike: energy in, forces, and the peaks through time.

    ``"log": 60 kg at 0.37 m/s, 4.1 J. Pushed slowly 41 N, suddenly 82 N, struck 7.5 kN; through time 9.7 kN ...``
    """
    return " ".join(_struck(row, formatter, several=len(verdict.strikes) > 1) for row in verdict.strikes)


def _struck(row: StrikeRow, formatter: Formatter, *, several: bool) -> str:
    name = f'"{row.name}": ' if several else ""
    slowly = f"pushed slowly {formatter.force(row.slow)}, suddenly {formatter.force(row.sudden)}, "
    band = formatter.force(row.struck_high)
    if row.struck_low < 0.99 * row.struck_high:
        band += f" all elastic ({formatter.force(row.struck_low)} with its dent)"
    text = f"{name}{brings(row, formatter)}: {slowly if row.slow > 0.0 else ''}struck {band}."
    return " ".join(
        [text, *_bottomed(row), *([] if row.through_time is None else [_timed(row.through_time, formatter)])]
    )


def brings(row: StrikeRow, formatter: Formatter) -> str:
    """Return ``60 kg at 0.37 m/s, 4.1 J``."""
    return (
        f"{mass_text(row.mass, formatter)} at {formatter.quantity(row.speed, 'speed')}, "
        f"{energy_text(row.energy, formatter)}"
    )


def _bottomed(row: StrikeRow) -> list[str]:
    return ["The pad bottoms out."] if row.bottomed else []


def _timed(through: ThroughTime, formatter: Formatter) -> str:
    peak = f"Through time {formatter.force(through.peak_force)} after {time_text(through.peak_time)}"
    return f"{peak}{f', {mode_text(through.modes[0])}' if through.modes else ''}."


def mode_text(mode: TimedMode) -> str:
    """Return ``splitting 1.54 after 5.4 ms``."""
    return f"{mode.mode} {mode.utilisation:.2f} after {time_text(mode.time)}"


def strike_words(verdict: Verdict, formatter: Formatter) -> list[str]:
    """Return the longer story of each strike, a sentence each."""
    words = []
    for row in verdict.strikes:
        name = f'"{row.name}": '
        words.append(
            f"{name}the part has {formatter.quantity(row.part_stiffness, 'stiffness')} where it is struck, all "
            f"springs in a row {formatter.quantity(row.stiffness, 'stiffness')}; the striker stays about "
            f"{time_text(row.contact_time)}."
        )
        share = row.part_mass / row.mass
        words.append(
            f"{name}{mass_text(row.part_mass, formatter)} of the part move with it, {100 * share:.2g} % of the striker."
            if row.part_mass > 0.0
            else f"{name}the part's own mass is not known and left out."
        )
        if row.dent > 0.0:
            words.append(
                f"{name}above {formatter.force(row.limit)} the struck face is crushed (2.5 times its strength, own "
                f"choice): a dent of {formatter.length(row.dent)} takes {energy_text(row.dent_energy, formatter)}, "
                f"and the force is {formatter.force(row.struck_low)}. The part is judged for all elastic."
            )
        if row.through_time is not None:
            words.append(f"{name}{_of_time(row.through_time, formatter)}")
    return words


def _of_time(through: ThroughTime, formatter: Formatter) -> str:
    speed = through.rebound_speed
    back = "" if speed is None else f" It goes back with {formatter.quantity(speed, 'speed')}."
    rough = "" if through.settled else " Half the step still changes this force by more than 2 %: it is rough."
    if through.settled and not through.resolved:
        rough = " The steps are longer than the first blow of the faces: a short spike there may be missed."
    return f"{through.why}{back}{rough}"


def own_quantity(found: Takes, formatter: Formatter) -> str:
    """Return what a part takes in the quantity that the user gave a strike in: ``rolled 64 mm, 170 mm, 480 mm``."""
    if found.own is None:
        return ""
    best, low, high = found.own
    values = [best] if high <= 1.005 * low else [low, best, high]
    kind = "speed" if found.quantity == "speed" else "length"
    return f"{OWN[found.quantity]} {', '.join(formatter.quantity(value, kind) for value in values)}"


def energy_text(value: float, formatter: Formatter) -> str:
    """Return an energy (N mm): ``4.1 J``, or ``3 ft lbf``."""
    if formatter.system == "us":
        return f"{_short(value / FOOT_POUND)} ft lbf"
    return f"{_short(value / 1000.0)} J"


def mass_text(value: float, formatter: Formatter) -> str:
    """Return a mass (tonne): ``60 kg``, or ``130 lb``."""
    return f"{_short(1000.0 * value / POUND)} lb" if formatter.system == "us" else f"{_short(1000.0 * value)} kg"


def time_text(seconds: float) -> str:
    """Return a short time: ``5.4 ms``."""
    return f"{_short(1000.0 * seconds)} ms"


def _short(value: float) -> str:
    """Two digits, all of whole numbers beyond that."""
    if value == 0.0:
        return "0"
    digits = max(0, 1 - math.floor(math.log10(abs(value))))
    text = f"{value:,.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
