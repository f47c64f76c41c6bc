"""Which species is meant: exact but for case and spacing; otherwise the nearest names are offered."""

from __future__ import annotations

import difflib
import re

from ..errors import InputError
from . import tables

ENOUGH_ALIKE = 0.6
MOST = 5


def _squeezed(text: str) -> str:
    return "".join(text.casefold().split())


def _words(text: str) -> list[str]:
    return sorted(re.findall(r"[a-z0-9]+", text.casefold()))


def _likeness(asked: str, name: str) -> float:
    """From 0 to 2: the same words in any order count as much as the same letters."""
    mine, theirs = _words(asked), _words(name)
    if not mine or not theirs:
        return 0.0
    letters = difflib.SequenceMatcher(None, " ".join(mine), " ".join(theirs)).ratio()
    near = sum(bool(difflib.get_close_matches(word, theirs, n=1, cutoff=0.8)) for word in mine)
    return letters + near / len(mine)


def _aliases(name: str) -> set[str]:
    """Collect the names under which the other tables know it: "Pine, southern" for a loblolly pine."""
    row = tables.names_row(name)
    return {alias for alias in (name, row["elastic"], row["fracture"], row["variability"]) if alias}


def nearest_species(text: str) -> tuple[str, ...]:
    """Species whose names come nearest to a text, best first, five at the most.

    Parameters
    ----------
    text : str
        What was asked for, in any case and word order.

    Returns
    -------
    tuple of str
        Names as the tables spell them; empty where nothing is alike.

    Examples
    --------
    >>> nearest_species("coast douglas fir")[0]
    'Douglas-fir, coast'
    """
    best = {name: max(_likeness(text, alias) for alias in _aliases(name)) for name in tables.species()}
    near = [name for name in best if best[name] >= ENOUGH_ALIKE]
    near.sort(key=lambda name: (-best[name], -_likeness(text, name), name))  # a name of its own before an alias
    return tuple(near[:MOST])


def _listed_elsewhere(text: str) -> str:
    asked = _squeezed(text)
    for row in tables.rows("design_values"):
        group, grade = row["species_group_or_class"], row["grade"]
        if asked in {_squeezed(group), _squeezed(f"{group} {grade}")}:
            is_class = row["system"].startswith("EN 338")
            kind, key = ("a strength class", "class") if is_class else ("lumber sold by grade", "grade")
            return f" It is {kind}: write it as {key}, with the tree as species beside it."
    return ""


def species_name(text: str) -> str:
    """Find a species by name.

    Parameters
    ----------
    text : str
        The name; case and spacing do not matter.

    Returns
    -------
    str
        The name as the strength table spells it.

    Raises
    ------
    InputError
        For a name that is not in the table, with the nearest ones (key ``wood.species``).

    Examples
    --------
    >>> species_name("douglas-fir,  COAST")
    'Douglas-fir, coast'
    """
    asked = _squeezed(text)
    for name in tables.species():
        if _squeezed(name) == asked:
            return name
    near = nearest_species(text)
    offer = "Nearest: " + "; ".join(f'"{name}"' for name in near) + "." if near else "No name comes near it."
    raise InputError(
        f'Species "{text}" is not in the tables.{_listed_elsewhere(text)} {offer} All names: fesolve woods. For '
        "another wood leave species out and give [wood.elastic] and [wood.strength].",
        key="wood.species",
    )
