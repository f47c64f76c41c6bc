"""What a part file asks for and this version does not do, as full sentences for the verdict."""

from __future__ import annotations

from .model import Load, Support


def not_modelled(supports: tuple[Support, ...], loads: tuple[Load, ...]) -> tuple[str, ...]:
    """Collect a sentence for each thing that was read and is not modelled.

    Parameters
    ----------
    supports, loads
        As read.

    Returns
    -------
    tuple of str
        Supports first, then loads.
    """
    sentences = []
    for support in supports:
        if support.pin_stiffness is not None:
            sentences.append(f'The stiffness of pin "{support.name}" is not modelled yet: the pin is rigid.')
        if support.worn is not None:
            sentences.append(f'Pin "{support.name}" is taken as new: the play once it is worn is not computed yet.')
    for load in loads:
        if load.anywhere is not None:
            sentences.append(f'Load "{load.name}" is not moved yet: it acts at the first position of its range only.')
    return tuple(sentences)
