"""VTU files, read back by the two libraries that people open them with."""

import re

import numpy as np
import pytest
from mesh_parts import hole, make_part

from fesolve.errors import InputError
from fesolve.mesh.convert import from_meshio, read_vtu, to_meshio, to_pyvista, write_vtu
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.mesh import Mesh
from fesolve.mesh.outline import part_outline


@pytest.fixture(scope="module")
def mesh():
    part = make_part(holes=(hole(30, 20, 16),))
    return mesh_part(part, part_outline(part))


@pytest.fixture
def fields(mesh):
    x, y = mesh.points.T
    return {
        "displacement": np.column_stack([x, y]),
        "case/stress_grain": np.column_stack([x, y, x * y]),
        "utilisation_splitting": x + y,
        "inside": x > 30,
    }


def test_vtu_and_back(mesh, fields, tmp_path):
    path = tmp_path / "field.vtu"
    write_vtu(path, mesh, fields)
    again, data = read_vtu(path)
    np.testing.assert_array_equal(again.points, mesh.points)
    np.testing.assert_array_equal(again.cells["triangle6"], mesh.cells["triangle6"])
    np.testing.assert_array_equal(data["case/stress_grain"], fields["case/stress_grain"])
    np.testing.assert_array_equal(data["displacement"], np.pad(fields["displacement"], ((0, 0), (0, 1))))
    assert set(np.unique(data["inside"])) == {0, 1}


def test_vtu_in_pyvista(mesh, fields, tmp_path):
    import pyvista

    path = tmp_path / "field.vtu"
    write_vtu(path, mesh, fields, {"number": np.arange(len(mesh.cells["triangle6"]))})
    grid = pyvista.read(path)
    assert grid.n_cells == len(mesh.cells["triangle6"])
    np.testing.assert_array_equal(grid.cells_dict[22], mesh.cells["triangle6"])
    np.testing.assert_array_equal(grid.point_data["utilisation_splitting"], fields["utilisation_splitting"])
    np.testing.assert_array_equal(grid.cell_data["number"], np.arange(grid.n_cells))


def test_points_repeated_at_an_interface(tmp_path):
    # two triangles that share a side but no point, as stress points of two regions do
    points = np.array([(0.0, 0), (1, 0), (0, 1), (1, 0), (1, 1), (0, 1)])
    path = tmp_path / "two.vtu"
    write_vtu(path, Mesh(points, {"triangle": np.array([[0, 1, 2], [3, 4, 5]])}), {"s": np.arange(6.0)})
    again, data = read_vtu(path)
    np.testing.assert_array_equal(again.points, points)
    np.testing.assert_array_equal(data["s"], np.arange(6.0))


def test_to_pyvista(mesh, fields):
    import pyvista

    grid = to_pyvista(mesh, fields)
    assert isinstance(grid, pyvista.UnstructuredGrid)
    np.testing.assert_array_equal(grid.cells_dict[22], mesh.cells["triangle6"])
    np.testing.assert_array_equal(grid.point_data["displacement"][:, :2], fields["displacement"])


def test_mixed_cells(tmp_path):
    points = np.array([(0.0, 0), (1, 0), (1, 1), (0, 1), (2, 0)])
    both = Mesh(points, {"quad": np.array([[0, 1, 2, 3]]), "triangle": np.array([[1, 4, 2]])})
    data = {"part": np.array([7.0, 9.0])}
    write_vtu(tmp_path / "mixed.vtu", both, cell_data=data)
    again, _ = read_vtu(tmp_path / "mixed.vtu")
    np.testing.assert_array_equal(again.cells["quad"], both.cells["quad"])
    assert to_pyvista(both, cell_data=data).cell_data["part"].tolist() == [7.0, 9.0]
    assert [block.tolist() for block in to_meshio(both, cell_data=data).cell_data["part"]] == [[7.0], [9.0]]


def test_refusals(mesh, tmp_path):
    import meshio

    with pytest.raises(InputError, match=re.escape('Data "x" has shape (3,)')):
        write_vtu(tmp_path / "x.vtu", mesh, {"x": np.zeros(3)})
    with pytest.raises(InputError, match="Cannot write"):
        write_vtu(tmp_path / "no" / "folder.vtu", mesh)
    with pytest.raises(InputError, match="There is no file"):
        read_vtu(tmp_path / "none.vtu")
    (tmp_path / "broken.vtu").write_text("<VTKFile>not quite")
    with pytest.raises(InputError, match="could not be read as VTU"):
        read_vtu(tmp_path / "broken.vtu")
    with pytest.raises(InputError, match='Cell type "tetra" is not supported'):
        from_meshio(meshio.Mesh(np.zeros((4, 3)), [("tetra", np.array([[0, 1, 2, 3]]))]))
    with pytest.raises(InputError, match="no cells"):
        from_meshio(meshio.Mesh(np.zeros((2, 3)), [("line", np.array([[0, 1]]))]))
    with pytest.raises(InputError, match="not plane"):
        from_meshio(meshio.Mesh(np.eye(3), [("triangle", np.array([[0, 1, 2]]))]))
