"""The commented part file that `fesolve new` writes: it runs as it is, and asks what only its owner can answer."""

_STARTER = """\
# A part file for fesolve. It runs as it stands (a small stop on the bed of a saw); change it line by line.
#
#     fesolve check this-file.toml
#     fesolve check this-file.toml --set push="3 kN"
#
# FIRST, WHAT DO YOU WANT TO KNOW?
#   Why did it split?     Draw the part as it was, with the load it broke under; compare the split you have in your
#                         hand with the place and the direction that the verdict gives.
#   Will it hold?         Draw it as it is to be made, with the largest load that can ever come; take basis "lower 5%".
#
# A length is "25 mm", "2.5 cm", "1 in", "1.5 ft"; a force "2.5 kN", "600 lbf", "80 kgf"; a stress "5 MPa", "700 psi".
# Wherever a quantity stands, an expression may stand: "depth/2", "length - 30 mm", "2*(a + b)".

title = "Saw bed stop, first try"

[dimensions]                    # name what you may want to change; --set and sweeps take these names
length = "260 mm"
depth = "90 mm"
pivot_d = "16 mm"
push = "2.5 kN"

[wood]
species = "Ash, white"          # `fesolve woods ash` lists names, values and sources

# WHICH FACE OF THE BOARD IS DRAWN? Look at the growth rings on the board's end.
#   "flat-sawn"       the rings run about along the wide face, and the wide face is drawn
#   "quarter-sawn"    the rings stand about square to the face that is drawn
#   "unknown"         both are computed, and the worse decides
board = "unknown"
thickness = "38 mm"             # square to the drawing

# WHICH WAY DO THE FIBRES RUN? From the drawing's +x (to the right), counter-clockwise. Wood splits along them, so
# look at the piece itself: not at its edges, but at checks, pores or a splinter.
grain = "0 deg"

# WHICH PIECES IS THE VERDICT ABOUT? There is no default.
#   "mean"            half of such clear pieces are weaker: for finding out why something broke
#   "lower 5%"        1 in 20 of such clear pieces is weaker: for finding out whether it holds
basis = "lower 5%"

# WHAT DOES IT LOOK LIKE? Corners one after the other, either way round. An edge is named by its two corners, "A-B".
# A corner may have round = "8 mm" (its radius) or bow = "5 mm" (rise of an arc to the next corner, outward).
[outline]
corners = [
  {at = ["0 mm", "0 mm"], name = "A"},
  {at = ["length", "0 mm"], name = "B", round = "10 mm"},
  {at = ["length", "depth"], name = "C", round = "10 mm"},
  {at = ["0 mm", "depth"], name = "D"},
]

[[hole]]
name = "pivot"
center = ["40 mm", "depth/2"]
diameter = "pivot_d"

# A square notch, if there is one; its faces are "notch step start", "notch step floor" and "notch step end".
# [[notch]]
# name = "step"
# edge = "C-D"
# from = "0 mm"
# to = "40 mm"
# depth = "15 mm"
# round = "5 mm"                # or ends = "drilled 10 mm"; ramp = [0, 2] slopes the face at "to" out, 2 along for 1 up

# WHAT HOLDS IT, AND WHERE? kind = "pin" (in a hole), "rest" (leans on something), "fixed" (clamped; axes = ["x"] holds
# one way only), "roller" (slides along the edge), "spring" (with stiffness = "200 N/mm/mm").
# It must not be free to slide or to turn. from and to run along the edge, from its first corner.
[[support]]
name = "pivot bolt"
kind = "pin"
on = "hole pivot"
pin = "pivot_d"

[[support]]
name = "bed"
kind = "rest"
on = "edge A-B"
from = "120 mm"
to = "150 mm"

# WHAT PUSHES, WHERE, HOW HARD, AND HOW? force is the sum, [to the right, up]; it spreads evenly over from ... to.
# Something that arrives with speed pushes far harder than its weight: suddenly applied already twice. See below.
[[load]]
name = "cant"                   # the squared log that is pushed against the stop
on = "edge C-D"                 # runs from C, at the right end, back to D
from = "20 mm"
to = "50 mm"
force = ["0 N", "-push"]

# DOES SOMETHING HIT IT? How heavy is it, and how fast: speed, drop (it falls that far), or run and slope (it rolls)?
# [[strike]]
# name = "rolling cant"
# on = "edge C-D"
# from = "20 mm"
# to = "50 mm"
# direction = "into the wood"   # or "down", "left", [dx, dy]: the way it moves
# mass = "60 kg"
# speed = "0.8 m/s"
# push = "0 N"                  # what goes on pushing after the blow
# pad = {stiffness = "0.5 kN/mm", travel = "10 mm"}

# Its own weight, where that matters.
# [gravity]
# direction = "down"

# Several loads that do not always act together, and how long they last.
# [[case]]
# name = "working"
# loads = {cant = 1.0}
# duration = "2 months"

# WHAT HAPPENS IF IT BREAKS? The verdict ends with it.
[if_it_breaks]
then = "the cant slides on over the bed"
people = "near"                 # "none": nobody can be there; "near": they work or pass there; "carried": it holds them
second_catch = false            # does something else catch it?
"""


def starter() -> str:
    """Give the text of a commented starter part file.

    Returns
    -------
    str
        TOML that `read_part` reads as it stands.

    Examples
    --------
    >>> "WHAT HAPPENS IF IT BREAKS?" in starter()
    True
    """
    return _STARTER
