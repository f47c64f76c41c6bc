"""Slots, ramped and drilled notches, and regions, as a part file gives them."""

import copy
import math
import tomllib
from typing import Any

import pytest

from fesolve.errors import InputError
from fesolve.part.model import Part
from fesolve.part.read import part_from

BEAM = """
[dimensions]
length = "600 mm"
depth = "200 mm"
relief = "8 mm"
[wood]
species = "Douglas-fir, coast"
board = "flat-sawn"
thickness = "40 mm"
grain = "2 deg"
basis = "mean"
density = "500 kg/m^3"
[wood.strength]
shear = "8 MPa"
tension_across = "2 MPa"
[outline]
corners = [{at = ["0 mm", "0 mm"]}, {at = ["length", "0 mm"]}, {at = ["length", "depth"]}, {at = ["0 mm", "depth"]}]
[[support]]
kind = "fixed"
on = "edge D-A"
[[load]]
on = "edge B-C"
force = ["0 N", "-400 N"]
"""
SQUARE = '[["0 mm", "0 mm"], ["9 mm", "0 mm"], ["9 mm", "9 mm"], ["0 mm", "9 mm"]]'


def read(more: str) -> Part:
    return part_from(tomllib.loads(BEAM + more))


def test_a_slot() -> None:
    slot, plain = read(
        '[[hole]]\ncenter = ["90 mm", "40 mm"]\ndiameter = "10 mm"\nlength = "3*10 mm"\nangle = "0.5 rad"\n'
        '[[hole]]\ncenter = ["9 mm", "9 mm"]\ndiameter = "10 mm"\n'
    ).holes
    assert slot.length == 30.0 and slot.angle == pytest.approx(math.degrees(0.5))
    assert (plain.length, plain.angle) == (None, 0.0)


def test_a_slot_takes_a_traction_and_a_clamp() -> None:
    slot = '[[hole]]\nname = "s"\ncenter = ["90 mm", "40 mm"]\ndiameter = "10 mm"\nlength = "30 mm"\n'
    part = read(
        f'{slot}[[load]]\nname = "p"\non = "hole s"\npressure = "1 MPa"\n[[support]]\nkind = "fixed"\non = "hole s"'
    )
    assert part.loads[1].pressure == 1.0


def test_ramps_and_drilled_ends() -> None:
    one, two, three = read(
        """
[[notch]]
edge = "A-B"
from = "100 mm"
to = "160 mm"
depth = "20 mm"
ramp = [1, "4/3"]
round = "25 mm"
[[notch]]
edge = "C-D"
from = "0 mm"
to = "60 mm"
depth = "20 mm"
ramp = [0, 2]
[[notch]]
edge = "C-D"
from = "100 mm"
to = "160 mm"
depth = "20 mm"
ends = "drilled relief"
"""
    ).notches
    assert one.ramp == (1.0, pytest.approx(4 / 3)) and one.drill is None and one.round == 25.0
    assert two.ramp == (0.0, 2.0)
    assert three.drill == 8.0 and three.ramp == (0.0, 0.0)


def test_a_strip_is_a_polygon_half_its_width_on_either_side() -> None:
    (region,) = read(
        '[[region]]\nname = "web"\nthickness = "10 mm"\n'
        'strip = {from = ["0 mm", "depth/2"], to = ["length", "depth/2"], width = "depth - 80 mm"}\n'
    ).regions
    assert region.corners == ((0.0, 40.0), (600.0, 40.0), (600.0, 160.0), (0.0, 160.0))
    assert (region.thickness, region.grain, region.wood) == (10.0, None, None)


def test_a_strip_aslant() -> None:
    (region,) = read(
        '[[region]]\ngrain = "90 deg"\nstrip = {from = ["0 mm", "0 mm"], to = ["30 mm", "40 mm"], width = "10 mm"}\n'
    ).regions
    assert region.corners == ((4.0, -3.0), (34.0, 37.0), (26.0, 43.0), (-4.0, 3.0))  # 3-4-5 triangle
    assert (region.name, region.grain) == ("1", 90.0)


def test_a_regions_wood_takes_over_what_it_does_not_say() -> None:
    (region,) = read(
        f'[[region]]\nname = "w"\ncorners = {SQUARE}\nthickness = "9 mm"\n[region.wood.strength]\nshear = "3 MPa"\n'
    ).regions
    wood = region.wood
    assert wood is not None
    assert (wood.species, wood.board, wood.basis) == ("Douglas-fir, coast", "flat-sawn", "mean")
    assert (wood.thickness, wood.grain) == (9.0, 2.0)
    assert dict(wood.strength) == {"shear": 3.0, "tension_across": 2.0}
    assert wood.density == pytest.approx(5e-10)


def test_another_species_takes_nothing_over_but_board_and_basis() -> None:
    (region,) = read(
        f'[[region]]\nname = "w"\ncorners = {SQUARE}\ngrain = "5 deg"\n[region.wood]\nspecies = "Oak, northern red"\n'
    ).regions
    wood = region.wood
    assert wood is not None
    assert (wood.species, wood.board, wood.basis) == ("Oak, northern red", "flat-sawn", "mean")
    assert (wood.thickness, wood.grain, wood.density, dict(wood.strength)) == (40.0, 5.0, None, {})


def test_a_faulty_quantity_of_a_region_names_its_own_key() -> None:
    with pytest.raises(InputError) as caught:
        read(f'[[region]]\ncorners = {SQUARE}\nthickness = "9"\n[region.wood]\nboard = "quarter-sawn"\n')
    assert caught.value.key == "region.1.thickness"
    with pytest.raises(InputError) as caught:
        read(f'[[region]]\ncorners = {SQUARE}\n[region.wood.strength]\nshear = "0 MPa"\n')
    assert caught.value.key == "region.1.wood.strength.shear"


def test_the_document_is_left_as_it_was() -> None:
    document: dict[str, Any] = tomllib.loads(
        BEAM + f'[[region]]\ncorners = {SQUARE}\n[region.wood.strength]\nshear = "3 MPa"\n'
    )
    before = copy.deepcopy(document)
    part_from(document, overrides={"region.1.wood.strength.shear": "4 MPa"})
    assert document == before


def test_unknown_boards_go_together() -> None:
    both = (
        BEAM.replace('"flat-sawn"', '"unknown"') + f'[[region]]\ncorners = {SQUARE}\n[region.wood]\nboard = "unknown"\n'
    )
    (region,) = part_from(tomllib.loads(both)).regions
    assert region.wood is not None and region.wood.board == "unknown"
