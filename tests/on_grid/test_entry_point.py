"""The accessor in a fresh interpreter that imports nothing but pyvista."""

import subprocess
import sys
from importlib.metadata import entry_points

import pytest

SCRIPT = """
import sys
import pyvista
assert "fesolve" not in sys.modules
grid = pyvista.Plane(center=(60, 20, 0), i_size=120, j_size=40, i_resolution=24, j_resolution=8)
assert "fesolve" in dir(grid) and "fesolve.plugin" not in sys.modules
found = grid.fesolve.solve(wood="Ash, white", basis="mean", board="flat-sawn", thickness=18,
                           fix="left", force={"right": (0, -400)})
print(found.fesolve.reactions["left"].round(3), "utilisation_splitting" in found.point_data)
"""


@pytest.mark.skipif(
    not any(one.name == "fesolve" for one in entry_points(group="pyvista.accessors")),
    reason="fesolve is not installed with its entry points; pip install it, as CI does",
)
def test_with_nothing_imported_but_pyvista():
    done = subprocess.run([sys.executable, "-W", "error", "-c", SCRIPT], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.split()[-1] == "True" and "400" in done.stdout


def test_the_module_loads_nothing_heavy_but_pyvista():
    code = (
        "import sys, pyvista; before = set(sys.modules); import fesolve.plugin; new = set(sys.modules) - before; "
        "print(sorted(name for name in new if not name.startswith('fesolve')))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
