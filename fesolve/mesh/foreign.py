"""Meshes that others made, used as they are: read, looked at, put on the shape that is found in them, named.

A file goes `read_foreign` -> Foreign; a Mesh made in Python `foreign_of` -> Foreign. `Foreign.part` reads the rest of a
part file on its shape, and `mesh_on` names the mesh by what sits on that part.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from ..errors import InputError
from ..part.model import MeshChoice, Part, Shape
from ..part.read import part_from
from .given import KEY, Given, given_of, six_node
from .mesh import Mesh
from .names import given_in
from .traced import Traced, traced

LARGEST = 500_000_000  # bytes
SMALL, GREAT = 2.0, 50_000.0  # mm: a part less wide or wider than that is told of


@dataclass(frozen=True)
class Foreign:
    """A mesh that others made, on the shape that was found in it.

    Attributes
    ----------
    traced : Traced
    file, sha256 : str
        Where it came from; empty for one made in Python.
    """

    traced: Traced
    file: str = ""
    sha256: str = ""

    @property
    def shape(self) -> Shape:
        """What was found in it: corners, holes, openings, regions and all names."""
        return self.traced.shape

    @property
    def notes(self) -> tuple[str, ...]:
        """What had to be done to it, and what is to be known of it, a sentence each."""
        return self.traced.notes

    def part(self, document: Mapping[str, object] | Part) -> Part:
        """The rest of a part file, or of a part whose mesh was not read yet, on this shape.

        Raises
        ------
        InputError
            As `part_from`; names of places are those in the mesh.
        """
        if isinstance(document, Part):
            return part_from(document.source, file=document.file, sha256=document.sha256, shape=self.shape)
        return part_from(document, shape=self.shape)


def foreign_of(mesh: Mesh) -> Foreign:
    """A mesh made in Python, lengths in mm, of triangles or quadrilaterals, linear or quadratic.

    Parameters
    ----------
    mesh : Mesh
        Its named edges, regions and point sets are what supports, loads and regions of a part may name.

    Raises
    ------
    InputError
        For a mesh that is not one piece of wood in one layer of cells.
    """
    return _foreign(given_of(mesh))


def read_foreign(choice: MeshChoice) -> Foreign:
    """The mesh of a part file.

    Parameters
    ----------
    choice : MeshChoice
        With its file and scale.

    Raises
    ------
    InputError
        For a file that is not there, is damaged, or holds no plane mesh of one piece.
    """
    from .convert import read_mesh_file

    assert choice.file is not None  # the caller has looked
    path = Path(choice.file)
    sha256 = _fingerprint(path)
    try:
        return _foreign(given_in(read_mesh_file(path), choice.scale), choice.file, sha256)
    except InputError as error:
        named = error.message if path.name in error.message else f"Mesh {path.name}: {error.message}"
        raise InputError(named, key=error.key or KEY) from None


def _foreign(given: Given, file: str = "", sha256: str = "") -> Foreign:
    found = traced(given, six_node(given))
    width = max(corner_range(found))
    notes = list(found.notes)
    if not SMALL <= width <= GREAT:
        notes.append(f"The part is {width:.4g} mm wide: look whether the unit of the mesh is right (mesh.unit).")
    return Foreign(Traced(**{**vars(found), "notes": tuple(notes)}), file, sha256)


def corner_range(found: Traced) -> tuple[float, float]:
    """Width and height of the mesh, mm."""
    low, high = found.points.min(axis=0), found.points.max(axis=0)
    return float(high[0] - low[0]), float(high[1] - low[1])


def _fingerprint(path: Path) -> str:
    """SHA-256 of a file, or why it cannot be read."""
    try:
        if path.is_dir():
            raise InputError(f"{path} is a folder; give the mesh file in it.", key=KEY)
        if path.stat().st_size > LARGEST:
            size = path.stat().st_size / 1e6
            raise InputError(f"{path} has {size:.0f} MB; at most {LARGEST / 1e6:g} MB are read.", key=KEY)
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except FileNotFoundError:
        message = f"There is no mesh file {path}. Its path goes from the folder in which the part file lies."
        raise InputError(message, key=KEY) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise InputError(f"{path} cannot be read: {reason}.", key=KEY) from None
