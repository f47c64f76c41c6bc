"""The [mesh] table: sizes that the user asks for, or a mesh of others that is used as it is."""

from __future__ import annotations

from pathlib import Path

from ..units import KINDS, measure
from .actions import whole_number
from .document import Section
from .model import MeshChoice

UNITS = dict.fromkeys(KINDS["length"].units, "")
SHAPES = {
    "outline": "[outline]",
    "hole": "[[hole]]",
    "notch": "[[notch]]",
}


def read_mesh(document: Section, part_file: str | None = None) -> MeshChoice:
    """Read [mesh].

    Parameters
    ----------
    document : Section
        The part file.
    part_file : str, optional
        Its name: a mesh is looked for from the folder in which it lies.

    Returns
    -------
    MeshChoice

    Raises
    ------
    InputError
        For keys that do not go together, and a mesh without the unit of its coordinates.
    """
    section = document.section("mesh", "[mesh]")
    if section is None:
        return MeshChoice()
    section.allow(("size", "refine_limit", "solver", "file", "unit", "scale"))
    if section.has("file"):
        return _of_others(section, part_file)
    for key in ("unit", "scale"):
        if section.has(key):
            raise section.error(key, f"{key} is that of the coordinates of a mesh file; give its name too, as file.")
    size, limit = section.above_zero("size", "length"), whole_number(section, "refine_limit")
    return MeshChoice(size=size, refine_limit=limit, solver=section.text("solver"))


def _of_others(section: Section, part_file: str | None) -> MeshChoice:
    """Read the name of a mesh, and what one unit of its coordinates is."""
    name = section.text("file")
    assert name is not None  # the caller has seen the key
    for key in ("size", "refine_limit"):
        if section.has(key):
            raise section.error(key, f"A mesh from a file is used as it is; {key} is for meshes that are made here.")
    if section.has("unit") == section.has("scale"):
        found = "both" if section.has("unit") else "neither"
        message = (
            'A mesh file needs one of unit = "mm" (of its coordinates) and scale = "25.4 mm" (the length of one '
            f"unit); found {found}. Nothing in such a file tells it."
        )
        raise section.error("scale" if section.has("unit") else "unit", message)
    unit = section.choice("unit", UNITS)
    scale = section.above_zero("scale", "length") if unit is None else measure(1.0, unit).value
    assert scale is not None  # one of the two is there
    path = Path(part_file).parent / name if part_file else Path(name)
    return MeshChoice(file=str(path), scale=scale, solver=section.text("solver"))


def check_shapeless(document: Section) -> None:
    """Refuse what draws a shape, where the shape is that of a mesh.

    Raises
    ------
    InputError
        With what to do instead.
    """
    for key, title in SHAPES.items():
        if document.has(key):
            message = (
                f"The shape is that of the mesh, and {title} draws another. Leave it out, or leave out file of [mesh]."
            )
            raise document.error(key, message)
    if document.has("crack"):
        raise document.error(
            "crack",
            "A crack is opened in a mesh that is made round it, and this mesh is used as it is. Draw the part with "
            "[outline] to judge a crack that is there.",
        )
