"""Partial load factors of limit states: what kind of action a load is, and by how much it counts in a case.

EN 1990:2002, A1.3, Tables A1.2(B) and A1.3 (from memory): permanent 1.35, or 1.0 where it helps; variable 1.5;
in a case with an accidental action 1.0 for all. Which part of a variable load acts beside another (ψ) is the user's to
say, by its factor in the case.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from ..bases import DESIGN
from ..errors import InputError
from .model import Case, Load, Strike, WoodChoice

KINDS: Mapping[str, str] = MappingProxyType(
    {
        "permanent": "weight and what always acts; counts 1.35 times",
        "permanent, helps": "the same where it makes the answer better; counts once",
        "variable": "what comes and goes: people, goods, snow, wind; counts 1.5 times",
        "accidental": "a rare accident; all loads of its case count once",
    }
)
PARTIAL: Mapping[str, float] = MappingProxyType(
    {"permanent": 1.35, "permanent, helps": 1.0, "variable": 1.5, "accidental": 1.0}
)
GRAVITY = "gravity"


def with_partial_factors(
    cases: Sequence[Case], loads: Sequence[Load], strikes: Sequence[Strike], wood: WoodChoice
) -> tuple[Case, ...]:
    """Cases with the partial factors of limit states in their factors; as they are on every other basis.

    Parameters
    ----------
    cases : sequence of Case
    loads, strikes : sequences
        Strikes are accidental.
    wood : WoodChoice

    Raises
    ------
    InputError
        For a load that acts and does not say which kind of action it is.
    """
    if wood.strength_class is None or wood.basis != DESIGN:
        return tuple(cases)
    kinds = {load.name: load.kind for load in loads}
    for number, load in enumerate(loads, start=1):
        if load.kind is None and any(case.factors.get(load.name) for case in cases):
            listed = "; ".join(f'"{kind}": {meaning}' for kind, meaning in KINDS.items())
            raise InputError(
                f'Load "{load.name}": with the design values of a class it has to say which kind of action it is, '
                f"which sets its partial factor. Choices: {listed}.",
                key=f"load.{number}.kind",
            )
    struck = {strike.name for strike in strikes}
    return tuple(_factored(case, kinds, struck) for case in cases)


def _factored(case: Case, kinds: Mapping[str, str | None], struck: set[str]) -> Case:
    acting = [name for name, factor in case.factors.items() if factor != 0.0]
    accidental = any(name in struck or kinds.get(name) == "accidental" for name in acting)
    partial = {name: 1.0 if accidental or name in struck else _partial(name, kinds) for name in case.factors}
    factors = {name: factor * partial[name] for name, factor in case.factors.items()}
    return case.model_copy(update={"factors": factors, "partial": partial, "accidental": accidental})


def _partial(name: str, kinds: Mapping[str, str | None]) -> float:
    kind = "permanent" if name == GRAVITY else kinds[name]
    return PARTIAL[kind or "variable"]
