"""Everything that a part file can get wrong: one message with its key path, what was found, what is allowed."""

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fesolve.errors import InputError
from fesolve.part.read import part_from, read_part

GOOD = """
title = "Wedge stop"
margin = 1.5
[dimensions]
length = "240 mm"
depth = "42 mm"
half = "depth/2"
[wood]
species = "Ash, white"
board = "flat-sawn"
thickness = "18 mm"
grain = "0 deg"
basis = "mean"
[outline]
corners = [
  {at = ["0 mm", "0 mm"], name = "A"},
  {at = ["length", "0 mm"], name = "B", round = "8 mm"},
  {at = ["length", "depth"], name = "C"},
  {at = ["0 mm", "depth"], name = "D"},
]
[[hole]]
name = "pivot"
center = ["30 mm", "half"]
diameter = "10 mm"
[[notch]]
name = "N"
edge = "C-D"
from = "150 mm"
to = "160 mm"
depth = "5 mm"
[[support]]
name = "pin"
kind = "pin"
on = "hole pivot"
[[support]]
name = "rest"
kind = "rest"
on = "edge A-B"
from = "180 mm"
to = "200 mm"
[[load]]
name = "pull"
on = "edge B-C"
force = ["0 N", "-400 N"]
"""

# what is replaced in the good file, what by, the message, the key path
CUT = '[[cut]]\nfrom = ["9 mm", "0 mm"]\nto = ["9 mm", "60 mm"]\n'
TWO_CASES = '[[case]]\nname = "a"\nloads = {pull = 1.0}\n[[case]]\nname = "c"\nloads = {pull = 2.0}\n'
CASES = [
    # whole tables and keys
    (
        'title = "Wedge stop"',
        'titel = "x"',
        'Key "titel" is not known in the part file. Nearest: "title". Allowed: title',
        "titel",
    ),
    ('title = "Wedge stop"', "title = 3", '3 is not text; write it in quotes: title = "..."', "title"),
    ('title = "Wedge stop"', 'title = " "', "Text of one printable line is wanted here", "title"),
    ("[wood]", "[timber]", 'Key "timber" is not known in the part file.', "timber"),
    ("thickness =", "thicknes =", 'Key "thicknes" is not known in [wood]. Nearest: "thickness".', "wood.thicknes"),
    ("margin = 1.5", "margin = 0.9", "0.9 is below 1; margin is the load factor", "margin"),
    ("margin = 1.5", "margin = true", "true is not a number", "margin"),
    ("margin = 1.5", "margin = nan", '"nan" is not a finite number.', "margin"),
    ("margin = 1.5", 'margin = "2 mm"', "is a length, but a number, without a unit, is wanted", "margin"),
    ("margin = 1.5", 'mesh_accuracy = "0 %"', '"0 %" is not between 0 and 100 %', "mesh_accuracy"),
    ("margin = 1.5", "mesh_accuracy = 1", "1 is not between 0 and 100 %, as in", "mesh_accuracy"),
    ("margin = 1.5", "mesh_accuracy = 2", "Without its % sign it means 200 %.", "mesh_accuracy"),
    ("margin = 1.5", 'accuracy_of = "max"', '"max" is not a choice for accuracy_of.', "accuracy_of"),
    ("margin = 1.5", "regions = [{}]", 'Nearest: "region"', "regions"),
    ("margin = 1.5", "wood_ = 1", 'Nearest: "wood".', "wood_"),
    ("[dimensions]", '[mesh]\nsize = "0 mm"\n[dimensions]', '"0 mm" is not greater than 0', "mesh.size"),
    (
        "[dimensions]",
        "[mesh]\nrefine_limit = 1.5\n[dimensions]",
        "1.5 is not a whole number above 0.",
        "mesh.refine_limit",
    ),
    ("margin = 1.5", "mesh = 3", "3 is not a table; write [mesh]", "mesh"),
    # dimensions
    (
        'half = "depth/2"',
        'half = "dpth/2"',
        '"dpth" in "dpth/2" is not a dimension of this part. Nearest: depth.',
        "dimensions.half",
    ),
    ('half = "depth/2"', 'half = "wide"\nwide = "half"', "Dimensions depend on each other in a circle:", "dimensions."),
    (
        'half = "depth/2"',
        "half = true",
        'A dimension is a quantity or an expression, as in half = "140 mm".',
        "dimensions.half",
    ),
    ('half = "depth/2"', 'half = "depth + 3 deg"', "adds a length and an angle", "dimensions.half"),
    ('half = "depth/2"', 'half = "depth/0"', "divides by zero", "dimensions.half"),
    ('half = "depth/2"', 'half = "21"', '"half" has no unit; a length needs mm, cm', "dimensions.half"),
    (
        'half = "depth/2"',
        'half = "21"',
        'Dimension "half" is written "21"; it is used for hole.1.center.',
        "dimensions.half",
    ),
    (
        'half = "depth/2"',
        'n = 4\nhalf = "3*n"',
        'Dimension "n" is written "4"; it is used for hole.1.center.',
        "dimensions.n",
    ),
    ('half = "depth/2"', 'half = "21 N"', '"half" is a force, but a length', "hole.1.center"),
    ('half = "depth/2"', 'half = "21 mm"\nmm = "1 in"', 'Dimension "mm" has the name of a unit', "dimensions.mm"),
    # wood
    (
        'thickness = "18 mm"',
        'thickness = "18"',
        '"18" has no unit; a length needs mm, cm, m, in, ft or yd',
        "wood.thickness",
    ),
    ('thickness = "18 mm"', "thickness = 18", '"18" has no unit; a length needs mm', "wood.thickness"),
    (
        'thickness = "18 mm"',
        'thickness = "0 mm"',
        '"0 mm" is not greater than 0; thickness has to be.',
        "wood.thickness",
    ),
    ('thickness = "18 mm"', 'thickness = "-2 mm"', '"-2 mm" is not greater than 0', "wood.thickness"),
    (
        'thickness = "18 mm"',
        'thickness = "18 N"',
        '"18 N" is a force, but a length (mm, cm, m, in, ft, yd) is wanted here.',
        "wood.thickness",
    ),
    ('thickness = "18 mm"', 'thickness = "18 furlong"', '"furlong" is not a unit.', "wood.thickness"),
    ('thickness = "18 mm"', "thickness = [1]", "[1] is not a length; write it as in", "wood.thickness"),
    ('thickness = "18 mm"', "thickness = 2020-01-01", "is not a length", "wood.thickness"),
    ('thickness = "18 mm"', "", "[wood] needs thickness; the size square to the drawing", "wood.thickness"),
    (
        'basis = "mean"',
        "",
        'which pieces is the verdict about? It has no default. Choices: "mean": half of such',
        "wood.basis",
    ),
    (
        'basis = "mean"',
        'basis = "design"',
        'Clear wood has no values on basis "design". Allowed: species',
        "wood.basis",
    ),
    ('basis = "mean"', 'basis = "lower 50%"', 'spelled alike, from "lower 0.1%" to below 50 %', "wood.basis"),
    ('basis = "mean"', 'basis = "lower 0%"', '"lower 0%" is not a basis.', "wood.basis"),
    ('basis = "mean"', 'basis = "lower"', '"lower" is not a basis. Choices: "mean"', "wood.basis"),
    ('board = "flat-sawn"', "", "which face of the board is drawn? Look at its end. Choices:", "wood.board"),
    (
        'board = "flat-sawn"',
        'board = "flatsawn"',
        '"flatsawn" is not a choice for board. Nearest: "flat-sawn".',
        "wood.board",
    ),
    ('species = "Ash, white"', "", '[wood] needs species; as in species = "Douglas-fir, coast"', "wood.species"),
    ('species = "Ash, white"', 'grade = "No.2"', 'A lumber grade has no values on basis "mean". Allowed', "wood.basis"),
    ('species = "Ash, white"', 'class = "C24"', 'A strength class has no values on basis "mean".', "wood.basis"),
    (
        "[outline]",
        '[wood.elastic]\nE_0 = "12 GPa"\n[outline]',
        "[wood.elastic] needs all of E_0, E_90, G, nu_0_90; E_90, G, nu_0_90 missing.",
        "wood.elastic.E_90",
    ),
    (
        "[outline]",
        '[wood.elastic]\nE_0 = "-1 GPa"\nE_90 = "1 GPa"\nG = "1 GPa"\nnu_0_90 = 0.4\n[outline]',
        '"-1 GPa" is not greater than 0',
        "wood.elastic.E_0",
    ),
    (
        "[outline]",
        '[wood.elastic]\nE_1 = "1 GPa"\n[outline]',
        'Key "E_1" is not known in [wood.elastic].',
        "wood.elastic.E_1",
    ),
    (
        "[outline]",
        '[wood.strength]\nshear = "-5 MPa"\n[outline]',
        '"-5 MPa" is not greater than 0; shear has to be.',
        "wood.strength.shear",
    ),
    (
        "[outline]",
        '[wood.strength]\nbending = "5 MPa"\n[outline]',
        'Key "bending" is not known in [wood.strength].',
        "wood.strength.bending",
    ),
    (
        "[outline]",
        '[wood.fracture]\nG_Ic = "250 J"\n[outline]',
        "is a moment, but an energy per area (J/m^2, N/mm, lbf/in) is wanted",
        "wood.fracture.G_Ic",
    ),
    (
        "[outline]",
        '[wood.fracture]\nG_Ic = ["250 J/m^2", "100 J/m^2"]\n[outline]',
        "write the lower value first, [low, high].",
        "wood.fracture.G_Ic",
    ),
    (
        "[outline]",
        '[wood.fracture]\nG_Ic = "0 J/m^2"\n[outline]',
        "an energy has to be greater than 0",
        "wood.fracture.G_Ic",
    ),
    (
        "[outline]",
        '[wood.fracture]\nG_Ic = ["1 J/m^2"]\n[outline]',
        "is not a pair; write [x, y]",
        "wood.fracture.G_Ic",
    ),
    (
        "[outline]",
        '[wood.fracture]\nG_Ic = "9 J/m^2"\nsplit_length = "9 mm"\n[outline]',
        "Give either split_length or energies, not both",
        "wood.fracture.split_length",
    ),
    # outline
    ('name = "C"', 'name = "A"', 'The name "A" is used for two corners; names must differ.', "outline.corners.3.name"),
    ('name = "C"', 'name = "C-1"', 'Corner "C-1": a corner\'s name has no blank and no "-"', "outline.corners.3.name"),
    (
        'at = ["length", "0 mm"]',
        'at = ["lengt", "0 mm"]',
        '"lengt" is not a dimension of this part. Nearest: length.',
        "outline.corners.2.at",
    ),
    ('at = ["length", "0 mm"]', 'at = ["length"]', "is not a pair; write [x, y]", "outline.corners.2.at"),
    (
        'at = ["length", "0 mm"]',
        'at = ["0 mm", "0 mm"]',
        'Corners "A" and "B" are in the same place, (0, 0) mm.',
        "outline.corners.2.at",
    ),
    (
        'at = ["length", "0 mm"], ',
        "",
        'Corner 2 of the outline needs at; its place, as in at = ["0 mm", "25 mm"].',
        "outline.corners.2.at",
    ),
    ('round = "8 mm"', 'round = "-8 mm"', '"-8 mm" is below 0; round must not be.', "outline.corners.2.round"),
    (
        'round = "8 mm"',
        'radius = "8 mm"',
        'Key "radius" is not known in Corner 2 of the outline. Allowed: at, name, round, bow.',
        "outline.corners.2.radius",
    ),
    (
        '  {at = ["length", "depth"], name = "C"},\n  {at = ["0 mm", "depth"], name = "D"},\n',
        "",
        "The outline has 2 corners; it needs at least 3.",
        "outline.corners",
    ),
    # holes and notches
    ('diameter = "10 mm"', 'diameter = "0 mm"', '"0 mm" is not greater than 0; diameter has to be.', "hole.1.diameter"),
    ('diameter = "10 mm"', "", '[[hole]] 1 needs diameter; as in diameter = "25 mm".', "hole.1.diameter"),
    ('center = ["30 mm", "half"]', "", "[[hole]] 1 needs center", "hole.1.center"),
    (
        'diameter = "10 mm"',
        'diameter = "10 mm"\nlength = "10 mm"',
        'Hole "pivot": length = 10 mm is not more than diameter = 10 mm, the width of the slot',
        "hole.1.length",
    ),
    ('diameter = "10 mm"', 'diameter = "10 mm"\nlength = "-1 mm"', "is not greater than 0", "hole.1.length"),
    (
        'diameter = "10 mm"',
        'diameter = "10 mm"\nangle = "30 deg"',
        'Hole "pivot": angle turns a slot, and this is a round hole; give its length too.',
        "hole.1.angle",
    ),
    (
        'diameter = "10 mm"',
        'diameter = "10 mm"\nlength = "30 mm"',
        'Support "pin": a pin in a slot is not supported in this version, and hole "pivot" is one.',
        "support.1.on",
    ),
    (
        '[[support]]\nname = "pin"\nkind = "pin"\non = "hole pivot"',
        '[[hole]]\nname = "slot"\ncenter = ["90 mm", "half"]\ndiameter = "8 mm"\nlength = "20 mm"\n'
        '[[load]]\non = "hole slot"\nforce = ["0 N", "1 N"]\n[[support]]\nkind = "pin"\non = "hole pivot"',
        "a force on a slot is not supported in this version",
        "load.1.force",
    ),
    (
        "[[notch]]",
        '[[hole]]\nname = "pivot"\n[[notch]]',
        'The name "pivot" is used for two holes; names must differ.',
        "hole.2.name",
    ),
    (
        'edge = "C-D"',
        'edge = "D-C"',
        'Notch "N": edge "D-C" is named against the order of the corners; write "C-D"',
        "notch.1.edge",
    ),
    ('edge = "C-D"', "", '[[notch]] 1 needs edge; the edge it is cut into, as in edge = "A-B".', "notch.1.edge"),
    ('depth = "5 mm"', 'depth = "0 mm"', '"0 mm" is not greater than 0; depth has to be.', "notch.1.depth"),
    ('depth = "5 mm"', "", "[[notch]] 1 needs depth", "notch.1.depth"),
    (
        'depth = "5 mm"',
        'depth = "5 mm"\nround = "6 mm"',
        "is more than its depth or width leaves room for (5 mm)",
        "notch.1.round",
    ),
    ('depth = "5 mm"', 'depth = "5 mm"\nramp = 1', "1 is not a pair", "notch.1.ramp"),
    ('depth = "5 mm"', 'depth = "5 mm"\nramp = ["2 mm", 1]', "is a length, but a number", "notch.1.ramp"),
    (
        'depth = "5 mm"',
        'depth = "5 mm"\nramp = [0, -1]',
        'Notch "N": a ramp of -1 undercuts the wood; it must not be below 0.',
        "notch.1.ramp",
    ),
    (
        'from = "150 mm"',
        'ramp = [1, 1]\nfrom = "0 mm"',
        "runs to the edge's end and has no start face; write 0 for its ramp there.",
        "notch.1.ramp",
    ),
    (
        'to = "160 mm"',
        'ramp = [1, 1]\nto = "length"',
        "runs to the edge's end and has no end face; write 0 for its ramp there.",
        "notch.1.ramp",
    ),
    (
        'depth = "5 mm"',
        'depth = "5 mm"\nends = "drilled"',
        'needs the diameter, as in ends = "drilled 10',
        "notch.1.ends",
    ),
    ('depth = "5 mm"', 'depth = "5 mm"\nends = "drilled 10"', '"10" has no unit', "notch.1.ends"),
    ('depth = "5 mm"', 'depth = "5 mm"\nends = "drilled -1 mm"', "is not greater than 0; it has to be", "notch.1.ends"),
    (
        'depth = "5 mm"',
        'depth = "5 mm"\nround = "1 mm"\nends = "drilled 4 mm"',
        "an inner corner is either rounded or drilled",
        "notch.1.ends",
    ),
    ('depth = "5 mm"', 'depth = "5 mm"\nends = "oval"', '"oval" is not a choice for ends', "notch.1.ends"),
    (
        'to = "160 mm"',
        'to = "241 mm"',
        'Notch "N": to = 241 mm is not on the edge; edge "C-D" is 240 mm long, counted from C.',
        "notch.1.to",
    ),
    (
        'name = "C"},',
        'name = "C", bow = "4 mm"},',
        'edge "C-D" is bowed; a notch is cut into a straight edge.',
        "notch.1.edge",
    ),
    # regions
    *(
        ("[[support]]", f"[[region]]\n{lines}\n[[support]]", words, key)
        for lines, words, key in (
            ('name = "part"', 'A region cannot be called "part"', "region.1.name"),
            (
                'name = "w"\n[[region]]\nname = "w"',
                'Region "w" differs in nothing; give it a thickness',
                "region.1.thickness",
            ),
            ('name = "w"\nthickness = "0 mm"', "is not greater than 0", "region.1.thickness"),
            ('name = "w"\nthickness = "9 mm"', 'Region "w" needs one of strip = {from = [x, y]', "region.1.strip"),
            ('thickness = "9 mm"\ncorners = []\nstrip = {}', "found both", "region.1.corners"),
            ('thickness = "9 mm"\ncorners = [["1 mm", "2 mm"]]', "needs at least three corners", "region.1.corners"),
            ('grain = "9 deg"\ncorners = [1, 2, 3]', "1 is not a pair; write [x, y]", "region.1.corners"),
            ('grain = "9 deg"\nstrip = 3', "3 is not a table; write strip = {from", "region.1.strip"),
            (
                'name = "w"\ngrain = "9 deg"\nstrip = {from = ["0 mm", "0 mm"], width = "9 mm"}',
                'The strip of region "w" needs to; it runs along the middle of the strip',
                "region.1.strip.to",
            ),
            (
                'grain = "9 deg"\nstrip = {from = ["0 mm", "0 mm"], to = ["0 mm", "0 mm"], width = "9 mm"}',
                "goes from (0, 0) mm to the same point; it needs a length.",
                "region.1.strip.to",
            ),
            (
                'grain = "9 deg"\nstrip = {from = ["0 mm", "0 mm"], to = ["9 mm", "0 mm"], width = "0 mm"}',
                '"0 mm" is not greater than 0',
                "region.1.strip.width",
            ),
            ('edge = "A-B"', 'Key "edge" is not known in [[region]] 1', "region.1.edge"),
            ("[region.wood]", 'The wood of region "1" is empty', "region.1.wood"),
            (
                '[region.wood]\nthickness = "9 mm"',
                "thickness is written in [[region]] itself",
                "region.1.wood.thickness",
            ),
            ('[region.wood]\nbasis = "mean"', "The basis is one for the whole part", "region.1.wood.basis"),
            ('[region.wood]\ncolor = "red"', 'Key "color" is not known in the wood of region', "region.1.wood.color"),
            ('[region.wood]\nboard = "unknown"', 'can be "unknown" only where', "region.1.wood.board"),
            ('[region.wood]\ngrade = "x"', 'A lumber grade has no values on basis "mean"', "region.1.wood.basis"),
            (
                '[region.wood.elastic]\nE_0 = "9 GPa"',
                "needs all of E_0, E_90, G, nu_0_90",
                "region.1.wood.elastic.E_90",
            ),
        )
    ),
    # places
    (
        'on = "edge A-B"',
        'on = "edge B-D"',
        'Support "rest": edge "B-D" is not on the outline. Edges: "A-B", "B-C", "C-D", "D-A".',
        "support.2.on",
    ),
    (
        'on = "edge A-B"',
        'on = "edge B-A"',
        'edge "B-A" is named against the order of the corners; write "A-B" (distances run from A).',
        "support.2.on",
    ),
    ('on = "edge A-B"', 'on = "edge A-D"', 'write "D-A" (distances run from D).', "support.2.on"),
    (
        'on = "edge A-B"',
        'on = "A-B"',
        'Support "rest": "A-B" is not a place. Write "edge A-B", "corner A"',
        "support.2.on",
    ),
    ('on = "edge A-B"', 'on = "notch M floor"', 'Support "rest": there is no notch "M". Notches: "N".', "support.2.on"),
    ('on = "edge A-B"', 'on = "notch N top"', 'there is no notch "N top"', "support.2.on"),
    ('on = "edge A-B"', "on = 3", "3 is not text", "support.2.on"),
    ('on = "edge A-B"\n', "", "[[support]] 2 needs on; the place where it sits", "support.2.on"),
    (
        'on = "hole pivot"',
        'on = "hole pivt"',
        'Support "pin": there is no hole "pivt". Nearest: "pivot". Holes: "pivot".',
        "support.1.on",
    ),
    (
        'on = "edge B-C"',
        'on = "corner E"',
        'Load "pull": there is no corner "E". Corners: "A", "B", "C", "D".',
        "load.1.on",
    ),
    (
        'from = "180 mm"',
        'from = "200 mm"',
        'Support "rest": from = 200 mm is not below to = 200 mm; edge "A-B" is 240 mm long',
        "support.2.from",
    ),
    ('from = "180 mm"', 'from = "-1 mm"', "from = -1 mm is not on the edge; edge", "support.2.from"),
    ('to = "200 mm"', 'to = "length + 1 mm"', "to = 241 mm is not on the edge", "support.2.to"),
    (
        'on = "hole pivot"',
        'on = "hole pivot"\nfrom = "1 mm"',
        'from and to run along an edge, but it sits on "hole pivot".',
        "support.1.from",
    ),
    ('on = "hole pivot"', 'on = "hole pivot"\nwith_rounds = true', "only an edge has rounds", "support.1.with_rounds"),
    (
        'on = "hole pivot"',
        'on = "hole pivot"\nwith_rounds = "yes"',
        '"yes" is neither true nor false',
        "support.1.with_rounds",
    ),
    # supports
    (
        'kind = "rest"',
        'kind = "clamp"',
        '"clamp" is not a choice for kind. Choices: "fixed": holds in x and y',
        "support.2.kind",
    ),
    ('kind = "rest"\n', "", '[[support]] 2 needs kind; one of "fixed" (holds in x and y', "support.2.kind"),
    ('kind = "rest"', 'kind = "pin"', 'Support "rest": a pin sits on hole, not on "edge A-B".', "support.2.on"),
    (
        'kind = "pin"',
        'kind = "rest"',
        'a rest sits on edge or notch, not on "hole pivot". In a hole use kind = "pin".',
        "support.1.on",
    ),
    (
        'on = "edge A-B"\nfrom = "180 mm"\nto = "200 mm"',
        'on = "corner B"',
        'a rest sits on edge or notch, not on "corner B".',
        "support.2.on",
    ),
    (
        'kind = "rest"',
        'kind = "spring"',
        "[[support]] 2 needs stiffness; force a displacement and length of edge",
        "support.2.stiffness",
    ),
    (
        'kind = "rest"',
        'kind = "spring"\nstiffness = "200 N/mm"',
        "is an energy per area, but a stiffness per length (N/mm/mm",
        "support.2.stiffness",
    ),
    (
        'kind = "rest"',
        'kind = "rest"\nstiffness = "2 N/mm/mm"',
        'stiffness belongs to a support of kind spring or pin, but this one is "rest".',
        "support.2.stiffness",
    ),
    ('kind = "rest"', 'kind = "rest"\npin = "2 mm"', "pin belongs to a support of kind pin", "support.2.pin"),
    ('kind = "rest"', 'kind = "rest"\ngap = "-1 mm"', '"-1 mm" is below 0; gap must not be.', "support.2.gap"),
    ('kind = "rest"', 'kind = "rest"\nfriction = "-1"', '"-1" is below 0; friction must not be.', "support.2.friction"),
    (
        'kind = "rest"',
        'kind = "fixed"\naxes = ["z"]',
        'axes is a list of "x" and "y", as in axes = ["x"]',
        "support.2.axes",
    ),
    ('kind = "rest"', 'kind = "fixed"\naxes = "x"', 'axes is a list of "x" and "y"', "support.2.axes"),
    (
        'kind = "rest"',
        'kind = "rest"\ncolour = "red"',
        'Key "colour" is not known in [[support]] 2. Allowed: name, kind, on, from, to, with_rounds, gap, friction, '
        "play_limit.",
        "support.2.colour",
    ),
    (
        'on = "hole pivot"',
        'on = "hole pivot"\npin = "11 mm"',
        'a pin of 11 mm does not go into hole "pivot" of 10 mm.',
        "support.1.pin",
    ),
    ('name = "rest"', 'name = "pin"', 'The name "pin" is used for two supports; names must differ.', "support.2.name"),
    # loads
    (
        'force = ["0 N", "-400 N"]',
        "",
        'Load "pull" needs exactly one of force = [fx, fy] (the sum), traction',
        "load.1.force",
    ),
    (
        'force = ["0 N", "-400 N"]',
        'force = ["0 N", "1 N"]\npressure = "1 MPa"',
        "found force and pressure.",
        "load.1.pressure",
    ),
    (
        'force = ["0 N", "-400 N"]',
        'force = "400 N"',
        '"400 N" is not a pair; write [x, y] as in ["2.5 kN", "2.5 kN"].',
        "load.1.force",
    ),
    (
        'force = ["0 N", "-400 N"]',
        'force = ["0 N", "-400"]',
        '"-400" has no unit; a force needs N, kN, kgf, lbf or kip',
        "load.1.force",
    ),
    (
        'force = ["0 N", "-400 N"]',
        'force = ["0 N", "-40 kg"]',
        "For the weight of a mass write kgf or lbf.",
        "load.1.force",
    ),
    (
        'on = "edge B-C"\nforce = ["0 N", "-400 N"]',
        'on = "corner C"\npressure = "1 MPa"',
        "a corner has no area for a pressure",
        "load.1.pressure",
    ),
    ('name = "pull"', 'name = "gravity"', 'A load cannot be called "gravity"', "load.1.name"),
    # gravity, cases, cuts, member, consequence (added at the end of the file)
    ("", "[gravity]\n", '[gravity] needs direction; "down", "up", "left", "right" or [dx, dy]', "gravity.direction"),
    (
        "",
        '[gravity]\ndirection = "south"\n',
        '"south" is not a direction. Directions: "up", "down", "left", "right" or [dx, dy].',
        "gravity.direction",
    ),
    ("", "[gravity]\ndirection = [0, 0]\n", "points nowhere", "gravity.direction"),
    ("", '[gravity]\ndirection = "down"\ndensity = "0 kg/m^3"\n', "is not greater than 0", "gravity.density"),
    (
        "",
        '[[case]]\nname = "a"\nloads = {push = 1.0}\n',
        'Case "a": there is no load "push". Loads: "pull".',
        "case.1.loads.push",
    ),
    (
        "",
        '[[case]]\nname = "a"\nloads = {gravity = 1.0}\n',
        "There is no [gravity] in this file.",
        "case.1.loads.gravity",
    ),
    (
        "",
        '[[case]]\nname = "a"\n',
        "[[case]] 1 needs loads; a factor for each load that acts, as in loads = {pull = 1.0}.",
        "case.1.loads",
    ),
    ("", '[[case]]\nname = "a"\nloads = {pull = "1 N"}\n', "is a force, but a number", "case.1.loads.pull"),
    (
        "",
        '[[case]]\nname = "a"\nloads = {pull = 1}\n[[case]]\nname = "a"\nloads = {pull = 2}\n',
        'The name "a" is used for two cases',
        "case.2.name",
    ),
    (
        "",
        '[[cut]]\nfrom = ["0 mm", "0 mm"]\nto = ["0 mm", "0 mm"]\n',
        'Cut "1" goes from (0, 0) mm to the same point',
        "cut.1.to",
    ),
    (
        "",
        '[[cut]]\nfrom = ["0 mm", "0 mm"]\n',
        '[[cut]] 1 needs to; a point, as in to = ["120 mm", "0 mm"].',
        "cut.1.to",
    ),
    (
        "",
        CUT + 'mine = {v = "1 kN"}\n',
        'Key "v" is not known in your own figures of cut "1". Allowed: b, h, t, A',
        "cut.1.mine.v",
    ),
    (
        "",
        CUT + 'mine = {I = "12 mm^3"}\n',
        '"12 mm^3" is a first moment, but a second moment (mm^4, cm^4, in^4) is wanted here.',
        "cut.1.mine.I",
    ),
    (
        "",
        CUT + 'mine = {A = "12"}\n',
        '"12" has no unit; an area needs mm^2, cm^2 or in^2, as in "120 mm^2".',
        "cut.1.mine.A",
    ),
    (
        "",
        CUT + 'mine = {t = "0 mm"}\n',
        '"0 mm" is not greater than 0; t has to be.',
        "cut.1.mine.t",
    ),
    (
        "",
        CUT + "mine = {}\n",
        'There are no figures in mine of cut "1"; write for instance mine = {b = "38 mm"',
        "cut.1.mine",
    ),
    (
        "",
        CUT + 'mine = "12 kN"\n',
        '"12 kN" is not a table of your own figures; write mine = {b = "38 mm"',
        "cut.1.mine",
    ),
    (
        "",
        CUT + 'mine = {V = "1 kN", case = "b"}\n',
        'Cut "1": there is no case "b". Cases: "all loads together".',
        "cut.1.mine.case",
    ),
    (
        "",
        CUT + 'mine = {b = "9 mm", V = "1 kN"}\n' + TWO_CASES,
        'Cut "1": V is of one case alone; say which, as in case = "a". Cases: "a", "c".',
        "cut.1.mine.case",
    ),
    ("", '[member]\nline = [["0 mm", "0 mm"]]\n', "The member's line needs at least two points", "member.line"),
    (
        "",
        '[member]\nline = [["0 mm", "0 mm"], ["0 mm", "0 mm"]]\n',
        "The member's line stays at (0, 0) mm",
        "member.line",
    ),
    (
        "",
        '[if_it_breaks]\npeople = "some"\n',
        '"some" is not a choice for people. Choices: "none": nobody can be where',
        "if_it_breaks.people",
    ),
    (
        "",
        '[if_it_breaks]\nsecond_catch = "no"\n',
        '"no" is neither true nor false; write second_catch = true, without quotes.',
        "if_it_breaks.second_catch",
    ),
]


@pytest.mark.parametrize(("old", "new", "message", "key"), CASES)
def test_refused(old: str, new: str, message: str, key: str) -> None:
    assert GOOD.count(old) >= 1
    text = GOOD.replace(old, new, 1) if old else GOOD + new
    with pytest.raises(InputError, match=re.escape(message)) as raised:
        part_from(tomllib.loads(text), file="stop.toml")
    found = str(raised.value)
    assert found.startswith("stop.toml: ")
    assert raised.value.key is not None
    assert raised.value.key.startswith(key) if key.endswith(".") else raised.value.key == key
    assert raised.value.exit_code == 2
    assert "pydantic" not in found
    assert len(found) < 600


def without(table: str) -> str:
    """Give the good file without the tables that begin with a header."""
    pieces = re.split(r"(?m)^(?=\[)", GOOD)
    return "".join(piece for piece in pieces if not piece.startswith(table))


@pytest.mark.parametrize(
    ("text", "message", "key"),
    [
        (without("[[support]]"), "Nothing holds the part; write at least one [[support]]", "support"),
        (without("[[load]]"), "Nothing loads the part; write at least one [[load]], [[strike]], or [gravity].", "load"),
        (without("[wood]"), "The part file needs [wood]; write [wood] with species", "wood"),
        (without("[outline]"), "The part file needs [outline]; write [outline]", "outline"),
        (without("[[notch]]").replace('on = "edge A-B"', 'on = "notch N"'), "The part has no notches.", "support.2.on"),
        (
            without("[outline]") + "[outline]\ncorners = 3",
            "3 is not a list of corners; write corners = [{at",
            "outline.corners",
        ),
        (
            without("[[hole]]").replace("margin = 1.5", "hole = [1]"),
            "is not a list of tables; write [[hole]] above",
            "hole",
        ),
        ("", "The part file needs [wood]", "wood"),
    ],
)
def test_missing_tables(text: str, message: str, key: str) -> None:
    with pytest.raises(InputError, match=re.escape(message)) as raised:
        part_from(tomllib.loads(text))
    assert raised.value.key == key


def test_gravity_without_any_density() -> None:
    own = """
[wood.elastic]
E_0 = "12 GPa"
E_90 = "0.6 GPa"
G = "0.78 GPa"
nu_0_90 = 0.4
[wood.strength]
shear = "8 MPa"
[outline]"""
    text = GOOD.replace('species = "Ash, white"\nboard = "flat-sawn"\n', "").replace("[outline]", own)
    assert part_from(tomllib.loads(text)).wood.species is None
    with pytest.raises(InputError, match=r"without a species it is not known\. \(gravity\.density\)"):
        part_from(tomllib.loads(text + '[gravity]\ndirection = "down"\n'))


@pytest.mark.parametrize(
    ("overrides", "message"),
    [
        (
            {"dpeth": "3 mm"},
            'Cannot set "dpeth": it is not a dimension of this part. Nearest: "depth". Dimensions: length,',
        ),
        ({"wood.species.name": "x"}, 'Cannot set "wood.species.name": the path leads nowhere at "name".'),
        ({"support.3.from": "1 mm"}, '"3" is not one of the list; there are 2, counted from 1, or by name.'),
        ({"support.0.from": "1 mm"}, '"0" is not one of the list'),
        ({"support.rests.from": "1 mm"}, '"rests" is not one of the list'),
        ({"wood.": "x"}, "the path leads nowhere"),
        ({".": "x"}, "the path leads nowhere"),
        ({"": "x"}, 'Cannot set ""'),
        ({"depth": "3"}, '"length" and "depth" are'),
        ({"wood.colour": "red"}, 'Key "colour" is not known in [wood].'),
        ({"wood": "red"}, 'Cannot set "wood"'),
    ],
)
def test_bad_overrides(overrides: dict[str, str], message: str) -> None:
    if overrides == {"depth": "3"}:
        message = '"depth" has no unit'
    with pytest.raises(InputError, match=re.escape(message)):
        part_from(tomllib.loads(GOOD), overrides=overrides)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b'title = "a\n', "The file is not TOML: "),
        (b"title = 1\ntitle = 2\n", "The file is not TOML: Cannot overwrite a value (at line 2"),
        (b"\n\n# \xff\xfe", "The file is not UTF-8 text (line 3); save it as UTF-8."),
        (b"a = " + b"[" * 5000, "nested too deep"),
        (b"a = " + b"9" * 5000, "The file is not TOML: "),
        (b"# \n" * 400_000, "The file has 1.2 MB; a part file has at most 1 MB."),
        (b"\x00", "The file is not TOML: "),
    ],
)
def test_files_that_are_no_part_files(tmp_path: Path, content: bytes, message: str) -> None:
    path = tmp_path / "stop.toml"
    path.write_bytes(content)
    with pytest.raises(InputError, match=re.escape(message)) as raised:
        read_part(path)
    assert str(raised.value).startswith(f"{path}: ")


def test_files_that_are_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"none\.toml: There is no such file; `fesolve new` writes a starter"):
        read_part(tmp_path / "none.toml")
    with pytest.raises(InputError, match="This is a folder; give the part file in it"):
        read_part(tmp_path)
    with pytest.raises(InputError, match="The file cannot be read"):
        read_part("a\x00b.toml")
    (tmp_path / "file").touch()
    with pytest.raises(InputError, match="The file cannot be read: Not a directory"):
        read_part(tmp_path / "file" / "stop.toml")


def test_a_file_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    path = tmp_path / "stop.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert read_part(path).title == "Wedge stop"


VALUES = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(max_size=8),
        st.sampled_from(["1 mm", "depth", "edge A-B"]),
    ),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=5), inner, max_size=3)),
    max_leaves=5,
)
PATHS = [
    "margin",
    "mesh_accuracy",
    "dimensions",
    "dimensions.depth",
    "wood",
    "wood.thickness",
    "wood.grain",
    "wood.basis",
    "wood.elastic",
    "wood.fracture",
    "outline",
    "outline.corners",
    "outline.corners.1",
    "outline.corners.1.at",
    "outline.corners.1.name",
    "hole",
    "hole.0",
    "hole.0.center",
    "notch.0",
    "notch.0.edge",
    "support",
    "support.0",
    "support.1.on",
    "support.1.from",
    "support.1.axes",
    "load",
    "load.0.force",
    "load.0.on",
    "gravity",
    "gravity.direction",
    "case",
    "cut",
    "member",
    "if_it_breaks",
    "mesh",
]


@settings(max_examples=300)
@given(st.sampled_from(PATHS), VALUES)
def test_any_value_anywhere_gives_a_part_or_an_input_error(path: str, value: object) -> None:
    document = tomllib.loads(GOOD)
    place: Any = document
    *way, last = path.split(".")
    for step in way:
        place = place.setdefault(step, {}) if isinstance(place, dict) else place[int(step)]
    place[int(last) if isinstance(place, list) else last] = value
    try:
        part_from(document)
    except InputError as error:
        assert error.message
        assert "validation" not in str(error)
