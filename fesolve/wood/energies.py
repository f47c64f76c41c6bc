"""Fracture energies of a crack along the grain, as a band from cautious to generous."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isfinite
from types import MappingProxyType
from typing import NamedTuple

from ..errors import InputError
from . import tables
from .model import CHOICE, GIVEN, Energy, Face, Fracture, Group
from .orthotropic import OrthotropicPlane

J_PER_M2 = 1000.0  # in one N/mm
MODES = {"G_Ic": "I", "G_IIc": "II"}
MODE_WORDS = {"G_Ic": "opening", "G_IIc": "sliding"}
LOW: Mapping[Group, Mapping[str, float]] = {
    "softwood": {"G_Ic": 100, "G_IIc": 600},
    "hardwood": {"G_Ic": 160, "G_IIc": 1000},
}
HIGH: Mapping[Group, Mapping[str, float]] = {
    "softwood": {"G_Ic": 250, "G_IIc": 800},
    "hardwood": {"G_Ic": 350, "G_IIc": 1050},
}
SLIDING_OVER_OPENING = 6.0
LEAST_BAND = 1.5
SYSTEMS: Mapping[Face, tuple[str, str]] = {"flat-sawn": ("TL", "RL"), "quarter-sawn": ("RL", "TL")}


class _Low(NamedTuple):
    """The cautious end of one energy, J/m2."""

    value: float
    source: str
    status: str
    notes: tuple[str, ...] = ()


def fracture_energies(
    species: str | None,
    group: Group,
    face: Face | None,
    plane: OrthotropicPlane,
    *,
    own: Mapping[str, tuple[float, float]],
    split_length: float | None = None,
) -> tuple[Fracture, tuple[str, ...]]:
    """Give the band of fracture energies in opening and sliding.

    Low: the species' rows for a crack in the drawn face (TL for flat-sawn, RL for quarter-sawn, the other where only
    one is there); toughness alone is turned into energy, G = K^2/E'. Without a row G_IIc = 6 G_Ic, without any the
    group's figures. High: figures within work-of-fracture tests, 250/800 J/m2 in softwoods, 350/1050 J/m2 in hardwoods,
    raised to 1.5 times low: in opening wherever they are less than that, in sliding where they do not exceed low.

    Parameters
    ----------
    species : str or None
        Name as the tables spell it.
    group : str
        ``softwood`` or ``hardwood``.
    face : str or None
        Drawn face; None takes the lower of the two crack systems.
    plane : OrthotropicPlane
        For turning toughness into energy.
    own : mapping of str to (low, high)
        Own energies, N/mm; a single figure has low = high.
    split_length : float, optional
        Own splitting length, mm; the energies are then not used for it.

    Returns
    -------
    fracture : Fracture
        Energies in N/mm.
    notes : tuple of str
        One sentence for each stand-in, with its status.

    Raises
    ------
    InputError
        For own values that are not above 0, or a low end above the high one.

    References
    ----------
    USDA Wood Handbook, Table 5-10; Sih, Paris, Irwin 1965 for K to G. The upper figures and the stand-ins are choices
    of this program.

    Examples
    --------
    320 kPa m^0.5 and E_I = 1442 MPa give 320^2 / 1442 = 71 J/m2 = 0.071 N/mm for Douglas-fir.

    >>> from .elastic import elastic_constants
    >>> plane = elastic_constants("Douglas-fir, coast", "flat-sawn", {}).plane
    >>> fracture_energies("Douglas-fir, coast", "softwood", "flat-sawn", plane, own={})[0].G_Ic
    (0.071, 0.25)
    """
    _check_own(own, split_length)
    rows = tables.fracture_rows(species) if species else ()
    low = {name: _row_energy(rows, name, face, plane) for name in MODES if name not in own}
    energies = {name: Energy(*own[name], GIVEN, GIVEN, GIVEN, GIVEN) for name in MODES if name in own}
    notes: list[str] = []
    for name in (mode for mode in MODES if mode not in own):
        if name == "G_IIc" and low[name] is None and "G_Ic" in own:
            energies[name], said = _six_times_own(own["G_Ic"])
        else:
            chosen = low[name] or _stand_in(name, group, low.get("G_Ic"), species)
            energies[name], said = _banded(name, chosen, group), chosen.notes
        notes.extend(said)
    notes.extend(_upper_note(energies))
    if species and any(low.values()) and "fracture energies" in tables.names_row(species)["note"]:
        notes.append(f'For "{species}" {tables.names_row(species)["note"]} ({tables.COMPUTED}).')
    if split_length is not None:
        notes = [
            f"The splitting length {split_length:g} mm ({GIVEN}) replaces the one that fracture energies would give: "
            "there is no band of loads and no energy formula at pins."
        ]
    return _fracture(energies, split_length, tuple(notes)), tuple(notes)


def _fracture(energies: Mapping[str, Energy], split_length: float | None, notes: tuple[str, ...]) -> Fracture:
    opening, sliding = energies["G_Ic"], energies["G_IIc"]
    ends = [f"{name} low: {e.low_source}; {name} high: {e.high_source}" for name, e in energies.items()]
    return Fracture(
        G_Ic=(opening.low, opening.high),
        G_IIc=(sliding.low, sliding.high),
        split_length=split_length,
        source="; ".join(sorted(ends)),
        status=", ".join(dict.fromkeys(s for e in (opening, sliding) for s in (e.low_status, e.high_status))),
        note=" ".join(notes),
        energies=MappingProxyType({name: energies[name] for name in MODES}),
    )


def _check_own(own: Mapping[str, tuple[float, float]], split_length: float | None) -> None:
    for name, (low, high) in own.items():
        key = f"wood.fracture.{name}"
        if name not in MODES:
            raise InputError(f'"{name}" is not a fracture energy. Energies: {", ".join(MODES)}.', key=key)
        if not (isfinite(low) and isfinite(high)) or low <= 0:
            raise InputError(f"{name} is {low * 1e3:g} J/m^2; give finite energies above 0.", key=key)
        if low > high:
            raise InputError(
                f"{name} = [{low * 1e3:g} J/m^2, {high * 1e3:g} J/m^2] runs from high to low; give [low, high].",
                key=key,
            )
    if split_length is None:
        return
    if not isfinite(split_length) or split_length <= 0:
        raise InputError(
            f"split_length is {split_length:g} mm; give a finite length above 0.", key="wood.fracture.split_length"
        )
    if own:
        raise InputError(
            f"split_length and {' and '.join(own)} are both given; the length replaces the energies: leave one out.",
            key="wood.fracture.split_length",
        )


def _row_energy(rows: Sequence[tables.Row], name: str, face: Face | None, plane: OrthotropicPlane) -> _Low | None:
    """Find the species' own energy; with no face known the lower of the two crack systems."""
    orders = [SYSTEMS[face]] if face else list(SYSTEMS.values())
    found = [_in_order(rows, name, order, plane) for order in orders]
    return min((one for one in found if one is not None), default=None, key=lambda one: one.value)


def _in_order(rows: Sequence[tables.Row], name: str, order: tuple[str, str], plane: OrthotropicPlane) -> _Low | None:
    for system in order:
        for quantity in ("G_c", "K_c"):
            for row in rows:
                if (row["mode"], row["crack_system"], row["quantity"]) != (MODES[name], system, quantity):
                    continue
                if row["value"]:
                    return _from_row(row, name, order[0], plane)
    return None


def _from_row(row: tables.Row, name: str, wanted: str, plane: OrthotropicPlane) -> _Low:
    value, source, status, notes = float(row["value"]), row["source"], row["status"], []
    if row["quantity"] == "K_c":
        stiffness = plane.crack_stiffness()[0 if name == "G_Ic" else 1]
        toughness, value = value, value**2 / stiffness  # (kPa m^0.5)^2 / MPa = J/m2
        notes.append(
            f"{name} of {row['material']}, {value:.0f} J/m2, is {tables.COMPUTED} from its toughness {toughness:g} "
            f"kPa m^0.5 ({status}) by G = K^2/E'."
        )
        source, status = f"{tables.COMPUTED} from the toughness K_c, {source}, {status}", tables.COMPUTED
    if row["crack_system"] != wanted:
        notes.append(
            f"{name} of {row['material']} is only known for a crack in the other growth plane "
            f"({row['crack_system']}, not {wanted}); {value:.0f} J/m2 of that stands in ({status})."
        )
    return _Low(value, source, status, tuple(notes))


def _stand_in(name: str, group: Group, opening: _Low | None, species: str | None) -> _Low:
    whose = f' of "{species}"' if species else ""
    if name == "G_IIc" and opening is not None:
        value, source = SLIDING_OVER_OPENING * opening.value, "6 times G_Ic"
    else:
        value, source = LOW[group][name], f"stand-in for {group}s"
    note = (
        f"The fracture energy in {MODE_WORDS[name]}, {name}{whose}, is not in the tables; {value:.0f} J/m2 stands in, "
        f"{source.replace('stand-in', 'a figure')} ({CHOICE})."
    )
    return _Low(value, source, CHOICE, (note,))


def _six_times_own(opening: tuple[float, float]) -> tuple[Energy, tuple[str, ...]]:
    low, high = (SLIDING_OVER_OPENING * end for end in opening)
    note = f"The fracture energy in sliding, G_IIc, is not given; 6 times the given G_Ic stands in ({CHOICE})."
    return Energy(low, high, "6 times G_Ic", CHOICE, "6 times G_Ic", CHOICE), (note,)


def _banded(name: str, low: _Low, group: Group) -> Energy:
    """Give low with its upper end.

    In sliding the chosen figures lie close above most low ones and are left there (800 beside 771 J/m2 for
    Douglas-fir): the width of the band is a matter of opening. They are raised only where they would not exceed low.
    """
    high, source = HIGH[group][name], f"figure for {group}s within work-of-fracture tests"
    least = LEAST_BAND * low.value
    if high < (least if name == "G_Ic" else low.value):
        high, source = least, f"{LEAST_BAND:g} times low"
    return Energy(low.value / J_PER_M2, high / J_PER_M2, low.source, low.status, source, CHOICE)


def _upper_note(energies: Mapping[str, Energy]) -> tuple[str, ...]:
    """One sentence on where the upper ends come from, own energies left out."""
    parts = [
        f"{n} {e.high * J_PER_M2:.0f} J/m2 ({e.high_source})" for n, e in energies.items() if e.high_status == CHOICE
    ]
    return (f"Upper end of the fracture energies: {', '.join(parts)}; {CHOICE}.",) if parts else ()
