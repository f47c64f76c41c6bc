"""Exponents of corners against published ones, an independent determinant, and peaks that grow on finer meshes."""

import numpy as np
import pytest
from parts import document

import fesolve
from fesolve.judge.corners import corner_exponent
from fesolve.judge.unlimited import load_growth, unlimited_places
from fesolve.mesh.generate import mesh_part
from fesolve.mesh.outline import part_outline
from fesolve.modelling import model_of, wood_of
from meshes import rectangle

NU = 0.3
STEEL = fesolve.OrthotropicPlane(E_0=1000, E_90=1000, G=1000 / (2 + 2 * NU), nu_0_90=NU).reduced_stiffness()
WOOD = fesolve.OrthotropicPlane(E_0=12_000, E_90=600, G=780, nu_0_90=0.4)
FREE, CLAMPED, REST = np.zeros((0, 2)), np.eye(2), np.array([[0.0, 1.0]])  # a rest on the ray along +x


@pytest.mark.parametrize(
    ("angle", "exponent"), [(225, 0.6736), (240, 0.6157), (270, 0.5445), (300, 0.5122), (315, 0.5050), (360, 0.5)]
)
def test_free_corners_have_williams_exponents(angle, exponent):
    """M. L. Williams, J. Appl. Mech. 19 (1952) 526-528, symmetric mode; values from memory, to four places."""
    found = corner_exponent(STEEL, 0.3, 0.3 + np.radians(angle), FREE, FREE)
    assert found == pytest.approx(exponent, abs=6e-5)
    a = np.radians(angle)
    assert np.sin(found * a) + found * np.sin(a) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("angle", [70, 75, 90, 105, 120, 180])
def test_a_clamped_and_a_free_side_meet_williams_equation(angle):
    """sin²(λα) = ((κ + 1)² - 4 λ² sin² α)/(4 κ), κ = (3 - ν)/(1 + ν) in plane stress; the same paper, from memory."""
    a, k = np.radians(angle), (3 - NU) / (1 + NU)
    found = corner_exponent(STEEL, 0.0, a, CLAMPED, FREE)
    wanted = ((k + 1) ** 2 - 4 * found**2 * np.sin(a) ** 2) / (4 * k)
    if angle < 180:  # there λ = 1/2 + i ln(κ)/(2π)
        assert np.sin(found * a) ** 2 == pytest.approx(wanted, abs=1e-6)
    assert found == pytest.approx({90: 0.7583, 180: 0.5}.get(angle, found), abs=6e-5)


def test_a_clamped_corner_of_sixty_degrees_is_bounded():
    """The last angle without singularity is 61.7 deg for ν = 0.3 in plane stress: the equation above at λ = 1."""
    k = (3 - NU) / (1 + NU)
    last = np.degrees(np.arcsin(np.sqrt((k + 1) ** 2 / (4 * k + 4))))
    assert last == pytest.approx(61.3, abs=0.5)
    assert corner_exponent(STEEL, 0.0, np.radians(last - 1), CLAMPED, FREE) == pytest.approx(1.0, abs=1e-9)
    assert corner_exponent(STEEL, 0.0, np.radians(last + 1), CLAMPED, FREE) < 0.999


@pytest.mark.parametrize("grain", [0.0, 20.0, 77.0])
def test_cracks_and_punches_go_as_the_root_in_any_wood(grain):
    """Sih, Paris, Irwin 1965 for the crack; a smooth punch and a clamp on a half-plane: λ = 1/2 (from memory)."""
    stiffness = WOOD.stiffness_xy(grain)
    assert corner_exponent(stiffness, -np.pi, np.pi, FREE, FREE) == pytest.approx(0.5, abs=1e-4)
    for held in (REST, CLAMPED):
        assert corner_exponent(stiffness, 0.0, np.pi, held, FREE) == pytest.approx(0.5, abs=1e-4)


@pytest.mark.parametrize("grain", [0.0, 30.0, 60.0, 110.0])
def test_a_smooth_rest_is_bounded_up_to_a_square_corner(grain):
    """Mirrored in the rest a square corner is a straight edge; beyond it the corner is re-entrant."""
    stiffness = WOOD.stiffness_xy(grain)
    assert corner_exponent(stiffness, 0.0, np.pi / 2, REST, FREE) == pytest.approx(1.0, abs=1e-6)
    assert corner_exponent(stiffness, 0.0, np.radians(105), REST, FREE) < 0.9


@pytest.mark.parametrize(
    ("grain", "start", "end", "holds"),
    [(0, -180, 90, "ff"), (20, -180, 90, "ff"), (60, 0, 90, "fc"), (0, 0, 90, "cf"), (140, 10, 130, "cf")],
)
def test_exponents_in_wood_make_the_determinant_vanish(grain, start, end, holds):
    """Lekhnitskii's potentials A_k z_k^λ, z_k = cos θ + μ_k sin θ: displacement or force is 0 on each side; derived."""
    kinds = {"f": FREE, "c": CLAMPED}
    ends = np.radians([start, end])
    found = corner_exponent(WOOD.stiffness_xy(grain), *ends, kinds[holds[0]], kinds[holds[1]])
    at = [smallest(found + step, grain, ends, holds) for step in (-0.02, 0.0, 0.02)]
    assert found < 0.95
    assert at[1] < 1e-5 < 20 * at[1] + 1e-5 < min(at[0], at[2])


def smallest(exponent, grain, ends, holds):
    """Least singular value of the conditions, over the greatest, in grain axes."""
    S = WOOD.compliance()
    roots = np.roots([S[0, 0], 0.0, 2 * S[0, 1] + S[2, 2], 0.0, S[1, 1]])
    mu = roots[roots.imag > 0]
    p, q = S[0, 0] * mu**2 + S[0, 1], S[0, 1] * mu + S[1, 1] / mu
    rows = []
    for angle, kind in zip(ends - np.radians(grain), holds, strict=True):
        turns = np.round(angle / np.pi)
        z = np.cos(angle - turns * np.pi) + mu * np.sin(angle - turns * np.pi)
        power = np.abs(z) ** exponent * np.exp(1j * exponent * (np.angle(z) + turns * np.pi))
        for factor in (p / np.abs(p).max(), q / np.abs(p).max()) if kind == "c" else (mu, np.ones(2)):
            rows.append(np.concatenate([(factor * power).real, -(factor * power).imag]))
    matrix = np.array(rows)
    size = np.linalg.svd(matrix / np.linalg.norm(matrix, axis=1, keepdims=True), compute_uv=False)
    return size[-1] / size[0]


# ---- peaks on finer and finer meshes


def solved(doc, scale):
    part = fesolve.part_from(doc)
    outline = part_outline(part)
    model = model_of(part, mesh_part(part, outline, scale=scale), wood_of(part, None))
    return part, outline, model.solve([case.factors for case in part.cases])


def peak_at(doc, scale, point):
    """Stress σ_x, σ_y, τ_xy at a corner, and the size of the elements there."""
    *_, solution = solved(doc, scale)
    mesh = solution.model.mesh
    node = int(np.linalg.norm(mesh.points - point, axis=1).argmin())
    corner = mesh.points[mesh.cells["triangle6"][(mesh.cells["triangle6"] == node).any(axis=1)][:, :3]]
    size = float(np.linalg.norm(corner - np.roll(corner, 1, axis=1), axis=2).mean())
    return solution.stress_xy[0][solution.stress_point == node][0], size


def walled(grain, load=None):
    """A block pulled from a wall at its left, or loaded otherwise above a floor."""
    wall = [{"name": "wall", "kind": "fixed", "on": "edge D-A" if load is None else "edge A-B"}]
    load = load or {"name": "pull", "on": "edge B-C", "traction": ["10 MPa", "0 MPa"]}
    return document([(0, 0), (90, 0), (90, 60), (0, 60)], grain=grain, support=wall, load=[load])


@pytest.mark.parametrize(("grain", "grows"), [(0.0, True), (120.0, False)])
def test_a_peak_at_a_wall_grows_as_its_exponent_says(grain, grows):
    """In one slope of grain there is none, and the place is not told."""
    doc = walled(grain)
    (coarse, h), (fine, half) = (peak_at(doc, scale, (0, 0)) for scale in (0.5, 0.25))
    ratio = float(np.abs(fine).max() / np.abs(coarse).max())
    exponent = corner_exponent(WOOD.stiffness_xy(grain), 0.0, np.pi / 2, FREE, CLAMPED)
    assert (exponent < 0.95) == grows
    if grows:
        assert ratio == pytest.approx((half / h) ** (exponent - 1.0), rel=0.01)
    else:
        assert ratio < 1.0
    told = [place.at for place in unlimited_places(*solved(doc, 1.0))]
    assert ((0.0, 0.0) in told) == grows


@pytest.mark.parametrize("grain", [0.0, 20.0])
@pytest.mark.parametrize("load", ["press", "rub"])
def test_a_peak_where_a_load_ends_grows_by_its_logarithm(grain, load):
    """Pressure on sloping grain has one too, on straight grain not."""
    traction = (0.0, -1.0) if load == "press" else (1.0, 0.0)
    growth = load_growth(WOOD.stiffness_xy(grain), np.array([0.0, -1.0]), np.array(traction))
    peaks = [stress_at_an_end(grain, traction, columns) for columns in (60, 120)]
    assert abs(peaks[1] - peaks[0]) == pytest.approx(growth, rel=0.02, abs=0.01)
    acts = {"pressure": "1 MPa"} if load == "press" else {"traction": ["1 MPa", "0 MPa"]}
    doc = walled(grain, {"name": "p", "on": "edge C-D", "from": "30 mm", "to": "60 mm"} | acts)
    told = {place.what for place in unlimited_places(*solved(doc, 1.0)) if "load" in place.what}
    words = {"press": "on sloping grain", "rub": "which pulls along the surface"}[load]
    assert told == ({f'end of load "p", {words}'} if growth > 0.03 else set())


def stress_at_an_end(grain, traction, columns):
    """Greatest |σ_x| at x = 60 mm of a block with a load on 30 to 60 mm of its top, on even elements."""
    mesh = rectangle("triangle6", 90.0, 60.0, columns, 2 * columns // 3)
    top = mesh.edges["top"]
    middle = mesh.points[top[:, :2]].mean(axis=1)[:, 0]
    edges = {"bottom": mesh.edges["bottom"], "load": top[(middle > 30) & (middle < 60)]}
    model = fesolve.PlaneModel(fesolve.Mesh(mesh.points, mesh.cells, edges=edges), WOOD, thickness=20.0, grain=grain)
    solution = model.fix("bottom").traction("load", traction).solve()
    node = np.linalg.norm(mesh.points - [60.0, 60.0], axis=1).argmin()
    return solution.stress_xy[solution.stress_point == node][0, 0]


def test_shear_that_ends_on_an_isotropic_edge_leaves_two_over_pi():
    """σ_x = (2 τ/π) ln r, Timoshenko and Goodier, Theory of Elasticity, half-plane (from memory); pressure: none."""
    down = np.array([0.0, -1.0])
    assert load_growth(STEEL, down, np.array([3.0, 0.0])) == pytest.approx(2 / np.pi * np.log(2), rel=1e-6)
    assert load_growth(STEEL, down, np.array([0.0, -3.0])) == pytest.approx(0.0, abs=1e-6)
    assert load_growth(STEEL, down, np.zeros(2)) == 0.0
