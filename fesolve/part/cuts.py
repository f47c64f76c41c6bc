"""The [[cut]] tables: sections at which the hand calculation is wanted, and the reader's own figures there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from ..units import shorten
from .document import Section
from .model import Case, Cut, Point
from .shape import name_of

FIGURES: Mapping[str, str] = MappingProxyType(
    {
        **{"b": "length", "h": "length", "t": "length", "A": "area", "S": "first moment", "Q": "first moment"},
        **{"I": "second moment", "N": "force", "V": "force", "M": "moment", "tau": "stress", "sigma": "stress"},
    }
)
"""What `mine` may hold, with the kind of each."""
OF_A_CASE = ("N", "V", "M", "tau", "sigma")
MAY_BE_NEGATIVE = OF_A_CASE
FORM = 'mine = {b = "38 mm", h = "140 mm", V = "12 kN", tau = "3.4 MPa"}'


def read_cuts(document: Section, cases: Sequence[Case]) -> tuple[Cut, ...]:
    """Read the sections at which the hand calculation is wanted.

    Parameters
    ----------
    document : Section
        The file.
    cases : sequence of Case
        To know which one own figures are for.

    Raises
    ------
    InputError
        For names used twice, cuts without a length, and own figures that are not known, of another kind, or of a case
        that is not there.
    """
    cuts: dict[str, Cut] = {}
    for section in document.sections("cut"):
        section.allow(("name", "from", "to", "mine"))
        name = name_of(section, cuts, "cuts")
        start, stop = section.point("from", "length"), section.point("to", "length")
        if start is None or stop is None:
            key = "from" if start is None else "to"
            raise section.missing(key, f'a point, as in {key} = ["120 mm", "0 mm"].')
        if start == stop:
            raise section.error("to", f'Cut "{name}" goes from {_at(start)} to the same point; it needs a length.')
        mine, case = _mine(section, name, cases)
        cuts[name] = Cut(name=name, start=start, stop=stop, mine=mine, case=case)
    return tuple(cuts.values())


def _at(point: Point) -> str:
    return f"({point[0]:g}, {point[1]:g}) mm"


def _mine(section: Section, name: str, cases: Sequence[Case]) -> tuple[Mapping[str, float], str | None]:
    """Read the reader's own figures, and the case that they are for."""
    if not section.has("mine"):
        return {}, None
    table = section.table["mine"]
    if not isinstance(table, Mapping):
        raise section.error("mine", f"{section.shown('mine')} is not a table of your own figures; write {FORM}.")
    own = Section(table, section.key("mine"), f'your own figures of cut "{name}"', section.names)
    own.allow((*FIGURES, "case"))
    figures = {key: _figure(own, key) for key in FIGURES if own.has(key)}
    if not figures:
        raise section.error("mine", f'There are no figures in mine of cut "{name}"; write for instance {FORM}.')
    return figures, _case(own, name, figures, cases)


def _figure(own: Section, key: str) -> float:
    value = own.needed(key, FIGURES[key]) if key in MAY_BE_NEGATIVE else own.above_zero(key, FIGURES[key])
    assert value is not None  # the caller has seen the key
    return value


def _case(own: Section, name: str, figures: Mapping[str, float], cases: Sequence[Case]) -> str | None:
    """Read which case they are for; where there are several and a force or stress is among them it has to be said."""
    names = [case.name for case in cases]
    case = own.text("case")
    listed = ", ".join(f'"{one}"' for one in names)
    if case is not None and case not in names:
        raise own.error("case", f'Cut "{name}": there is no case "{shorten(case)}". Cases: {listed}.')
    forces = [key for key in OF_A_CASE if key in figures]
    if case is None and len(names) > 1 and forces:
        said = f"{', '.join(forces)} {'is' if len(forces) == 1 else 'are'} of one case alone; say which"
        raise own.error("case", f'Cut "{name}": {said}, as in case = "{names[0]}". Cases: {listed}.')
    return case
