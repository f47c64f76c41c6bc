"""Drawings made by ezdxf for tests, and the part files that go with them."""

import re
from pathlib import Path

import ezdxf

MM, INCHES = 4, 1  # $INSUNITS
PLANK = [(0.0, 0.0), (300.0, 0.0), (300.0, 90.0), (0.0, 90.0)]
PART = """
title = "Plank from a drawing"
[wood]
species = "Ash, white"
board = "flat-sawn"
thickness = "38 mm"
basis = "mean"
[outline]
file = "plank.dxf"
{keys}
[[support]]
name = "foot"
kind = "fixed"
on = "{foot}"
[[load]]
name = "push"
on = "{push}"
force = ["0 N", "-900 N"]
{more}
"""


def drawing(units=MM):
    document = ezdxf.new("R2010")
    document.units = units
    return document, document.modelspace()


def plank(space, **dxf):
    """The outline of a plank of 300 by 90 as one closed polyline."""
    return space.add_lwpolyline(PLANK, close=True, dxfattribs=dxf)


def part_file(folder, document, *, keys="", foot="edge D-A", push="edge B-C", more=""):
    document.saveas(folder / "plank.dxf")
    path = folder / "plank.toml"
    path.write_text(PART.format(keys=keys, foot=foot, push=push, more=more))
    return path


def with_drawing(path: Path, name: str) -> str:
    """A part file of ours with a drawing in place of its corners and holes."""
    text = re.sub(r"^corners = \[\n.*?^\]\n", f'file = "{name}"\n', path.read_text(), flags=re.M | re.S)
    return re.sub(r"^\[\[hole\]\]\n.*?\n\n", "", text, flags=re.M | re.S)
