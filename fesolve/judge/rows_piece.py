"""Rows of the verdict that speak of the piece in hand: its moisture, what was seen, repeated loads, a proof."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PieceRow:
    """What the part file says of the piece: moisture now and when it was made (%), and what was seen, as written.

    ``cracked`` is the share of the thickness that drying cracks leave for shear and splitting; 1 without any.
    """

    moisture: float | None = None
    made_at: float | None = None
    seen: tuple[str, ...] = ()
    cracked: float = 1.0


@dataclass(frozen=True)
class MoistureRow:
    """One case with a change of moisture.

    ``change`` is in percent of moisture; ``along`` and ``across`` are the strains that the free wood would take on.
    ``utilisation`` is the worst deciding one on the mesh, all elastic; ``utilisation_crept`` the same where creep has
    left the share ``crept`` of the strain's stress.
    """

    case: str
    change: float
    written: str
    along: float
    across: float
    utilisation: float
    utilisation_crept: float
    crept: float
    source: str
    status: str


@dataclass(frozen=True)
class RepeatsRow:
    """One case that comes again, or a blow that is judged for once.

    ``repeats`` is how often; None for a strike of which nobody said: it is judged for one blow, and ``counted`` is the
    number for which the figures stand beside. ``left_splitting`` and ``left_along`` are the shares of the static
    strength against splitting and along the grain, ``code_shear`` and ``code_along`` the same by the lines of a code
    for characteristic strengths. ``utilisation`` is the worst deciding one at ``counted``, and ``once`` that of a
    single time. ``note`` says where nothing is claimed.
    """

    case: str
    repeats: float | None
    written: str
    counted: float
    left_splitting: float
    left_along: float
    code_shear: float
    code_along: float
    utilisation: float
    once: float
    note: str
    source: str
    status: str


@dataclass(frozen=True)
class ProofRow:
    """A slow push that would prove the piece: N of the load ``of``, or factors on all loads.

    ``expected`` is the largest expected, ``wanted`` 1.25 times that, ``most`` 0.8 of the low end of what it takes,
    or the load at which 5 of 100 pieces break where a chance says that less does; ``load`` is the push, None where
    ``wanted`` is above ``most``: the window is empty.
    """

    of: str
    expected: float
    wanted: float
    most: float
    load: float | None
