"""What a wood is judged with, listed: each strength and energy as used, its factors, source and status."""

from __future__ import annotations

from dataclasses import dataclass

from .model import GIVEN, Factor, Wood


@dataclass(frozen=True)
class Used:
    """One value as used.

    Parameters
    ----------
    name : str
        A strength's name; of a grade or class also ``bending``, ``splitting: shear`` and the like, ``E_0``; ``G_Ic
        low``, ``G_Ic high``, ``G_IIc low``, ``G_IIc high`` or ``split_length``.
    value : float
        On its basis, in ``unit``.
    unit : str
        ``MPa``, ``N/mm`` or ``mm``.
    basis : str
        The wood's basis for strengths; energies and lengths are those of the material on every basis.
    factors : tuple of Factor
        What turned the source's figure into the value, in order.
    source, status, note : str
        Where it comes from.
    """

    name: str
    value: float
    unit: str
    basis: str
    factors: tuple[Factor, ...]
    source: str
    status: str
    note: str = ""


def values_used(wood: Wood) -> tuple[Used, ...]:
    """List every strength and energy that a wood is judged with.

    Parameters
    ----------
    wood : Wood
        As `make_wood` gives it.

    Returns
    -------
    tuple of Used
        The five strengths (MPa), of a grade or class those in bending and splitting and E_0, then both ends of both
        energies (N/mm) or, in their stead, an own splitting length (mm).

    Examples
    --------
    >>> from .species import make_wood
    >>> first = values_used(make_wood(species="Douglas-fir, coast", face="flat-sawn", basis="lower 5%"))[0]
    >>> first.name, round(first.value, 3), round(first.factors[0].value, 4)         # 7.8 x 0.7697
    ('shear', 6.004, 0.7697)
    """
    rows = [
        Used(name, one.value, "MPa", wood.basis, one.factors, one.source, one.status, one.note)
        for name, one in wood.strengths.items()
    ]
    if wood.graded is not None:
        more = {"bending": wood.graded.bending, "E_0": wood.graded.stiffness}
        more |= {f"splitting: {name}": one for name, one in wood.graded.splitting.items()}
        rows += [
            Used(name, one.value, "MPa", wood.basis, one.factors, one.source, one.status, one.note)
            for name, one in more.items()
        ]
    if wood.fracture.split_length is not None:
        rows.append(Used("split_length", wood.fracture.split_length, "mm", "material", (), GIVEN, GIVEN))
        return tuple(rows)
    for name, energy in wood.fracture.energies.items():
        low, high = (energy.low_source, energy.low_status), (energy.high_source, energy.high_status)
        rows.append(Used(f"{name} low", energy.low, "N/mm", "material", (), *low))
        rows.append(Used(f"{name} high", energy.high, "N/mm", "material", (), *high))
    return tuple(rows)
