"""[mesh] file: what goes with it, what does not, and what is read before the mesh itself."""

from pathlib import Path

import pytest

from fesolve.errors import InputError
from fesolve.part.read import part_from

WOOD = {"species": "Ash, white", "board": "flat-sawn", "thickness": "18 mm", "basis": "mean"}


def with_mesh(mesh, **tables):
    return {"wood": WOOD, "mesh": mesh, **tables}


@pytest.mark.parametrize(
    ("mesh", "scale"),
    [
        ({"unit": "mm"}, 1.0),
        ({"unit": "m"}, 1000.0),
        ({"unit": "in"}, 25.4),  # exactly, NIST SP 811
        ({"scale": "10 mm"}, 10.0),
        ({"scale": "1 ft"}, 304.8),
    ],
)
def test_the_unit_is_stated(mesh, scale):
    part = part_from(with_mesh({"file": "plate.msh", **mesh}), file="yard/plate.toml")
    assert part.mesh.scale == pytest.approx(scale, rel=1e-15)
    assert part.mesh.file == str(Path("yard") / "plate.msh")
    assert part.corners == () and part.wood.thickness == 18.0


@pytest.mark.parametrize(
    ("mesh", "message", "key"),
    [
        ({"file": "a.msh"}, 'needs one of unit = "mm" .* found neither', "mesh.unit"),
        ({"file": "a.msh", "unit": "mm", "scale": "1 mm"}, "found both", "mesh.scale"),
        ({"file": "a.msh", "unit": "furlong"}, '"furlong" is not a choice for unit', "mesh.unit"),
        ({"file": "a.msh", "scale": "0 mm"}, '"0 mm" is not greater than 0', "mesh.scale"),
        ({"file": "a.msh", "scale": 25.4}, "has no unit; a length needs mm", "mesh.scale"),
        (
            {"file": "a.msh", "unit": "mm", "size": "3 mm"},
            "used as it is; size is for meshes that are made",
            "mesh.size",
        ),
        ({"file": "a.msh", "unit": "mm", "refine_limit": 2}, "used as it is", "mesh.refine_limit"),
        ({"unit": "mm"}, "give its name too, as file", "mesh.unit"),
        ({"file": 3, "unit": "mm"}, "is not text", "mesh.file"),
    ],
)
def test_what_does_not_go_together(mesh, message, key):
    with pytest.raises(InputError, match=message) as raised:
        part_from(with_mesh(mesh))
    assert raised.value.key == key


@pytest.mark.parametrize("key", ["outline", "hole", "notch", "crack"])
def test_a_second_shape_is_refused(key):
    tables = {key: {"corners": []} if key == "outline" else [{}]}
    with pytest.raises(
        InputError, match=r"The shape is that of the mesh|opened in a mesh that is made round it"
    ) as raised:
        part_from(with_mesh({"file": "a.msh", "unit": "mm"}, **tables))
    assert raised.value.key == key


def test_changes_keep_to_the_file():
    part = part_from(with_mesh({"file": "a.msh", "unit": "mm"}), file="x/y.toml")
    assert part.with_({"mesh.unit": "in"}).mesh.scale == pytest.approx(25.4)
    assert part.with_(thickness="20 mm").mesh == part.mesh
