"""Mesh files: what is read from gmsh, VTU and XDMF, and what is said of those that cannot be used."""

import random
import sys

import gmsh
import meshio
import numpy as np
import pytest
from foreign_meshes import drawbar, edges_of, plate, session, write

from fesolve.errors import InputError, MissingLibraryError
from fesolve.mesh.foreign import read_foreign
from fesolve.part.model import MeshChoice

GROUPS = ("post", "gate leaf", "keeper")


def read(path, scale=1.0):
    return read_foreign(MeshChoice(file=str(path), scale=scale))


def refused(path, message):
    with pytest.raises(InputError, match=message) as raised:
        read(path)
    assert raised.value.key == "mesh.file" and path.name in raised.value.message
    return raised.value.message


def as_arrays(path, to, at):
    """The same mesh in another format, its groups as arrays of 0 and 1 at cells or points."""
    one = meshio.gmsh.read(str(path))
    cells = [(block.type, block.data) for block in one.cells if block.type in ("triangle", "line")]
    data = {"cell_data": {}, "point_data": {}}
    for name in GROUPS:
        sets = [chosen for block, chosen in zip(one.cells, one.cell_sets[name], strict=True) if block.type != "vertex"]
        if at == "cells":
            arrays = [np.zeros(len(block), dtype=np.int64) for _, block in cells]
            for array, chosen in zip(arrays, sets, strict=True):
                array[chosen] = 1
            data["cell_data"][name] = arrays
        else:
            array = np.zeros(len(one.points), dtype=np.int32)
            for (_, block), chosen in zip(cells, sets, strict=True):
                array[block[chosen]] = 1
            data["point_data"][name] = array
    if at == "points":
        cells = [(kind, block) for kind, block in cells if kind == "triangle"]
    meshio.Mesh(one.points, cells, **data).write(to)


@pytest.mark.parametrize("at", ["cells", "points"])
@pytest.mark.parametrize("kind", ["vtu", "xdmf"])
def test_names_by_arrays(tmp_path, kind, at):
    drawbar(tmp_path / "bar.msh", size=20, fine=3)
    as_arrays(tmp_path / "bar.msh", tmp_path / f"bar.{kind}", at)
    ours, theirs = read(tmp_path / "bar.msh").shape, read(tmp_path / f"bar.{kind}").shape
    for name in GROUPS:
        one, other = ([corner.at for corner in edges_of(shape.corners)[name]] for shape in (ours, theirs))
        assert np.allclose(one, other, atol=1e-12)


def test_numbered_arrays_and_groups_without_a_name(tmp_path):
    with session() as model:
        face = model.occ.addRectangle(0, 0, 0, 30, 20)
        model.occ.synchronize()
        model.addPhysicalGroup(2, [face], 7)
        model.addPhysicalGroup(1, [2], 11)
        write(tmp_path / "a.msh", version=2.2)
        write(tmp_path / "b.msh", version=4.1)
    for name in ("a.msh", "b.msh"):
        shape = read(tmp_path / name).shape
        assert shape.groups == {"11": ("11",)} and list(shape.regions) == ["7"]
    meshio.gmsh.read(str(tmp_path / "b.msh")).write(tmp_path / "c.vtu")
    assert list(read(tmp_path / "c.vtu").shape.groups) == ["11"]
    one = meshio.vtu.read(str(tmp_path / "c.vtu"))
    kinds = [np.full(len(block.data), 3, dtype=np.int32) for block in one.cells]
    meshio.Mesh(one.points, one.cells, cell_data={"board": kinds}).write(tmp_path / "d.vtu")
    assert list(read(tmp_path / "d.vtu").shape.regions) == ["board 3"]


def test_two_groups_of_one_face(tmp_path):
    """gmsh 2.2 writes each cell once for each of its groups."""
    for version in (2.2, 4.1):
        with session() as model:
            face = model.occ.addRectangle(0, 0, 0, 30, 20)
            model.occ.synchronize()
            model.addPhysicalGroup(2, [face], name="bar")
            model.addPhysicalGroup(2, [face], name="oak")
            write(tmp_path / "a.msh", version=version)
        found = read(tmp_path / "a.msh")
        assert set(found.shape.regions) == {"bar", "oak"}
        assert any("once for each of their groups" in note for note in found.notes) == (version == 2.2)


# ---- bad input


def test_no_file_a_folder_another_kind(tmp_path):
    refused(tmp_path / "none.msh", "There is no mesh file")
    (tmp_path / "folder.msh").mkdir()
    refused(tmp_path / "folder.msh", "is a folder")
    (tmp_path / "a.stl").write_text("solid")
    refused(tmp_path / "a.stl", r"not a known kind of mesh file\. Kinds: \.msh, \.vtu, \.xdmf, \.xmf")
    for name in ("a.msh", "a.vtu", "a.xdmf"):
        (tmp_path / name).write_bytes(b"")
        refused(tmp_path / name, "could not be read as")
        (tmp_path / name).write_text("title = 'a part file'\n")
        refused(tmp_path / name, "could not be read as")


def test_three_dimensions(tmp_path):
    with session() as model:
        model.occ.addBox(0, 0, 0, 30, 20, 10)
        write(tmp_path / "a.msh")
    refused(tmp_path / "a.msh", 'in three dimensions .cells "tetra"')
    with session() as model:
        face = model.occ.addRectangle(0, 0, 0, 30, 20)
        model.occ.rotate([(2, face)], 0, 0, 0, 1, 0, 0, 0.1)
        write(tmp_path / "a.msh")
    refused(tmp_path / "a.msh", "not plane: z goes from 0 to 1.99")
    with session() as model:
        model.occ.addRectangle(0, 0, 5, 30, 20)
        write(tmp_path / "a.msh")
    assert len(read(tmp_path / "a.msh").shape.corners) == 4  # all at one z


def test_stray_lines_and_points(tmp_path):
    with session() as model:
        face = model.occ.addRectangle(0, 0, 0, 30, 20)
        stray = model.occ.addLine(model.occ.addPoint(40, 0, 0), model.occ.addPoint(50, 0, 0))
        model.occ.synchronize()
        model.addPhysicalGroup(2, [face], name="bar")
        model.addPhysicalGroup(1, [stray], name="stray")
        write(tmp_path / "a.msh")
    message = refused(tmp_path / "a.msh", "lines of the mesh are no sides of its cells")
    assert "(40, 0) to" in message and "Mesh.SaveAll" in message
    one = meshio.gmsh.read(str(tmp_path / "a.msh"))
    meshio.Mesh(one.points, [block for block in one.cells if block.type == "triangle"]).write(tmp_path / "a.vtu")
    assert any("of its points are in no cell" in note for note in read(tmp_path / "a.vtu").notes)
    meshio.Mesh(one.points, [block for block in one.cells if block.type == "line"]).write(tmp_path / "b.vtu")
    refused(tmp_path / "b.vtu", "only cells of the types line; it needs some of triangle")


def test_pieces_that_only_touch(tmp_path):
    with session() as model:
        model.occ.addRectangle(0, 0, 0, 30, 20)
        model.occ.addRectangle(30, 0, 0, 30, 20)  # not fragmented: two borders in one place
        write(tmp_path / "a.msh")
    refused(tmp_path / "a.msh", "pairs of points are in one place without being the same")
    with session() as model:
        model.occ.addRectangle(0, 0, 0, 30, 20)
        model.occ.addRectangle(40, 0, 0, 30, 20)
        write(tmp_path / "a.msh")
    refused(tmp_path / "a.msh", "The mesh is in 2 pieces that share no side")


def test_third_order(tmp_path):
    plate(tmp_path / "a.msh", order=3)
    refused(tmp_path / "a.msh", '"triangle10" is not supported. Types: triangle, quad, triangle6, quad8, quad9')


def test_xdmf_without_h5py(tmp_path, monkeypatch):
    (tmp_path / "a.xdmf").write_text("<Xdmf/>")
    monkeypatch.setitem(sys.modules, "h5py", None)
    with pytest.raises(MissingLibraryError, match=r"pip install 'fesolve\[xdmf\]'"):
        read(tmp_path / "a.xdmf")


@pytest.mark.parametrize("kind", ["ascii.msh", "binary.msh", "old.msh", "a.vtu", "a.xdmf"])
def test_damaged_files(tmp_path, kind, capfd):
    """Cut off or with bytes changed a file is read or refused, by one message and no other way."""
    path = tmp_path / kind
    version = 2.2 if kind == "old.msh" else 4.1
    drawbar(tmp_path / "whole.msh", size=40, fine=10, version=version, binary=kind == "binary.msh")
    if path.suffix == ".msh":
        (tmp_path / "whole.msh").rename(path)
    else:
        as_arrays(tmp_path / "whole.msh", path, "cells")
    whole, chance = path.read_bytes(), random.Random(6)
    said = set()
    for turn in range(60):
        damaged = bytearray(whole)
        if turn % 3 == 0:
            damaged = damaged[: chance.randrange(len(whole))]
        else:
            for _ in range(chance.choice((1, 3, 30))):
                damaged[chance.randrange(len(whole))] = chance.randrange(256)
        path.write_bytes(damaged)
        try:
            read(path)
        except InputError as error:
            assert error.key == "mesh.file" and path.name in error.message
            said.add(error.message)
    assert said
    assert capfd.readouterr() == ("", "")


def test_a_unit_that_cannot_be_right_is_told(tmp_path):
    drawbar(tmp_path / "bar.msh", size=40, fine=12)
    assert not any("look whether the unit" in note for note in read(tmp_path / "bar.msh").notes)
    assert any("The part is 6.4e+05 mm wide: look whether the unit" in n for n in read(tmp_path / "bar.msh", 1e3).notes)
    assert any("The part is 0.64 mm wide" in note for note in read(tmp_path / "bar.msh", 1e-3).notes)


def test_gmsh_is_left_as_it_was():
    assert not gmsh.isInitialized()
