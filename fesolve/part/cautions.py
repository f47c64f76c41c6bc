"""What a part file asks for and this version does not do, as full sentences for the verdict."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from .model import Case, Hole, Support
from .shape import hole_named


def not_modelled(
    document: Mapping[str, object],
    supports: tuple[Support, ...],
    holes: tuple[Hole, ...],
    cases: tuple[Case, ...],
) -> tuple[str, ...]:
    """Collect a sentence for each thing that was read and is not modelled.

    Parameters
    ----------
    document : mapping
        The parsed part file; most sentences are there only if the user wrote the key.
    supports, holes, cases
        As read.

    Returns
    -------
    tuple of str
        Supports first, then cases, then the mesh.
    """
    sentences = [sentence for support in supports for sentence in _support(support, holes)]
    for case in cases:
        if case.duration is not None:
            sentences.append(
                f'How long case "{case.name}" lasts ({case.duration}) is not taken into account: '
                "strengths are those of a test of a few minutes."
            )
    return (*sentences, *_mesh(document))


def _support(support: Support, holes: tuple[Hole, ...]) -> Iterator[str]:
    name = f'"{support.name}"'
    if support.kind == "pin":
        diameter = hole_named(holes, support.on.name).diameter
        play = diameter - (diameter if support.pin is None else support.pin)
        amount = f" of {play:g} mm" if play > 0.0 else ""
        yield (
            f"Pin {name}: play{amount}, friction and the true contact arc are not modelled yet; it is a rigid round "
            "pin that bears on the half of the hole that faces the force."
        )
    if support.kind == "rest":
        yield f"Rest {name} holds both ways here: where its reaction pulls, the part would in truth lift off."
    if support.gap is not None:
        yield f"The gap of {support.gap:g} mm at rest {name} is not modelled: the part touches it from the start."
    if support.friction is not None:
        yield f"The friction of {support.friction:g} at {support.kind} {name} is not modelled: it slides freely."


def _mesh(document: Mapping[str, object]) -> Iterator[str]:
    if "mesh_accuracy" in document:
        yield "The accuracy of the mesh is not yet estimated, so mesh_accuracy is not checked."
    if "accuracy_of" in document:
        yield "The accuracy of the mesh is not yet estimated, so accuracy_of has no effect."
    mesh = document.get("mesh")
    if isinstance(mesh, Mapping) and "refine_limit" in mesh:
        yield "The mesh is not yet refined in rounds, so refine_limit has no effect."
