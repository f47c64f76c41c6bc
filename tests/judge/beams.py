"""Small members and exact stress fields for the tests of the hand calculation."""

import tomllib
from types import SimpleNamespace

import numpy as np

from fesolve.judge.hand import HandCase, hand_calculation
from fesolve.judge.verdict import Takes
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.outline import part_outline
from fesolve.part.read import part_from
from fesolve.wood.species import make_wood

WOOD = """
[wood]
species = "Douglas-fir, coast"
board = "flat-sawn"
thickness = "{b} mm"
grain = "{grain} deg"
basis = "mean"
"""


def make_part(corners, rest, *, b=38, grain=0.0):
    """A part from corners (text of the list's inside or (x, y) pairs) and the rest of its file."""
    if not isinstance(corners, str):
        corners = ",\n".join(f'{{at = ["{x} mm", "{y} mm"]}}' for x, y in corners)
    text = f'title = "Test member"\n{WOOD.format(b=b, grain=grain)}\n[outline]\ncorners = [\n{corners}\n]\n{rest}'
    return part_from(tomllib.loads(text))


def board(length, depth):
    return [(0, 0), (length, 0), (length, depth), (0, depth)]


def fixed(edge="D-A"):
    return f'[[support]]\nname = "wall"\nkind = "fixed"\non = "edge {edge}"\n'


def rest(name, start, stop, edge="A-B"):
    return f'[[support]]\nname = "{name}"\nkind = "rest"\non = "edge {edge}"\nfrom = "{start} mm"\nto = "{stop} mm"\n'


def push(fx, fy, *, on='"edge B-C"', extra="", name="push"):
    return f'[[load]]\nname = "{name}"\non = {on}\n{extra}force = ["{fx} N", "{fy} N"]\n'


def load_at(points, forces, name="push"):
    points, forces = np.atleast_2d(np.array(points, dtype=float)), np.atleast_2d(np.array(forces, dtype=float))
    return SimpleNamespace(name=name, points=points, forces=forces)


def wood_of(part, **changes):
    choice = part.wood
    given = {"species": choice.species, "face": choice.board, "basis": choice.basis}
    return make_wood(**(given | changes))


def calculate(part, stress_at, applied, *, reactions=(), reference=1.0, best=None, wood=None):
    """Run the hand calculation of one case on the real outline and mesh with a given stress field."""
    outline = part_outline(part)
    case = HandCase("all loads together", applied, reactions, stress_at, reference)
    takes = Takes(best, best, best, "push")
    mesh = mesh_part(part, outline, scale=3.0)  # only its named sides are asked for
    return hand_calculation(part, outline, wood or wood_of(part), mesh, cases=[case], takes=takes)


def beam_field(b, low, high, V, M, N=0.0, direction=0.0):
    """Exact beam stresses between parallel edges: V(x), M(x), N constant; x along `direction` (deg), y to its left.

    sigma = N/A + 12 M y/(b h^3), tau = 6 V (h^2/4 - y^2)/(b h^3): Timoshenko & Goodier, Theory of Elasticity, article
    on the bending of a cantilever loaded at the end. Only the place of mid-depth depends on the frame.
    """
    h, c = high - low, (low + high) / 2
    angle = np.radians(direction)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])

    def stress_at(points):
        x, y = np.asarray(points) @ turn.T[:, 0], np.asarray(points) @ turn.T[:, 1] - c
        sigma = N / (b * h) + 12 * M(x) * y / (b * h**3)
        tau = 6 * V(x) * (h**2 / 4 - y**2) / (b * h**3)
        local = np.zeros((len(x), 2, 2))
        local[:, 0, 0], local[:, 0, 1], local[:, 1, 0] = sigma, tau, tau
        world = np.einsum("ai,kab,bj->kij", turn, local, turn)
        return np.stack([world[:, 0, 0], world[:, 1, 1], world[:, 0, 1]], axis=1)

    return stress_at
