"""The reader's own hand figures beside the program's: a sentence, and a table of the steps."""

from __future__ import annotations

from ..judge.rows_hand import Mine, MineStep
from ..judge.verdict import HandRow, Verdict
from ..units import Formatter

KIND = {
    **{"b": "length", "h": "length", "t": "length", "A": "area", "S": "first moment", "Q": "first moment"},
    **{"I": "second moment", "N": "force", "V": "force", "M": "moment", "tau": "stress", "sigma": "stress"},
}
FORMULA = {"tau": "V Q/(I t)", "sigma": "M/S"}
REASONS = 3  # that a sentence tells at most


def own_figures(verdict: Verdict, formatter: Formatter) -> str:
    """Return a sentence on the reader's own figures at each cut that has some; empty where none has.

    Parameters
    ----------
    verdict : Verdict
    formatter : Formatter
    """
    return " ".join(_sentence(row, row.mine, formatter) for row in verdict.hand if row.mine is not None)


def _sentence(row: HandRow, mine: Mine, formatter: Formatter) -> str:
    at = f'at "{row.station}"'
    step = next((one for one in mine.steps if one.step == mine.differs), None)
    if step is None or step.yours is None:
        return f"Your figures {at} agree with the hand calculation and with the mesh."
    yours, here = figure(step, step.yours, formatter), figure(step, step.here, formatter)
    if mine.outcome == "slip":
        return f"Your {step.step} {at} {mine.words}: {yours} against {here}."
    if mine.outcome == "unknown":
        return f"Your {step.step} {at} is {yours}, here it is {here}; none of the usual slips gives that figure."
    mesh = figure(step, step.mesh or 0.0, formatter)
    why = "; ".join(mine.why[:REASONS])
    if mine.outcome == "statics":
        first = f"Your {step.step} {at} is right by statics, {here}; the mesh has {mesh}"
        return f"{first}: {why}." if why else f"{first}: a wide support bears where it likes, not in its middle."
    first = f"Your figures {at} are right, but the formula does not apply there: {FORMULA[step.step]} gives {here}"
    return f"{first}, the mesh has {mesh}" + (f" ({why})." if why else ".")


def figure(step: MineStep, value: float, formatter: Formatter) -> str:
    """Return the size of a figure of one step with its unit."""
    return formatter.quantity(abs(value), KIND[step.step])


def own_rows(verdict: Verdict, formatter: Formatter) -> list[tuple[str, ...]]:
    """Return the rows of the table: cut, step, yours, by hand, by the mesh, and a word on each that differs."""
    return [
        ("" if number else row.station, step.step, *_cells(step, formatter), _word(step))
        for row in verdict.hand
        if row.mine is not None
        for number, step in enumerate(row.mine.steps)
    ]


def _cells(step: MineStep, formatter: Formatter) -> tuple[str, str, str]:
    yours, here, mesh = (
        "-" if value is None else figure(step, value, formatter) for value in (step.yours, step.here, step.mesh)
    )
    return yours, here, mesh


def _word(step: MineStep) -> str:
    if step.agrees is False:
        return "differs"
    return "not on the mesh" if step.agrees_with_mesh is False else ""
