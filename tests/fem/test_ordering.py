"""Nested dissection: every node once, cuts last, little fill; and what is kept from one solve to the next."""

import dataclasses

import numpy as np
import pytest
from scipy import sparse

import fesolve
from fesolve.fem import solve as solving
from fesolve.fem.factor import cholmod, superlu
from fesolve.fem.ordering import bisection_codes, number_nodes
from fesolve.fem.topology import element_neighbours
from meshes import KINDS, W1, plate_with_hole, rectangle


def numbering(mesh):
    return number_nodes(mesh.points, mesh.cells, element_neighbours(mesh.cells))


def fill(mesh, order):
    """Entries of the Cholesky factor of the node graph when nodes are eliminated in an order, by doing it."""
    count = len(mesh.points)
    rows, columns = [], []
    for block in mesh.cells.values():
        rows.append(np.repeat(block, block.shape[1], axis=1).reshape(-1))
        columns.append(np.tile(block, block.shape[1]).reshape(-1))
    graph = sparse.coo_array((np.ones(sum(map(len, rows))), (np.concatenate(rows), np.concatenate(columns)))).tocsr()
    graph = graph[order][:, order]
    later = [
        set(graph.indices[graph.indptr[i] : graph.indptr[i + 1]].tolist()) - set(range(i + 1)) for i in range(count)
    ]
    for one in later:  # column i adds its entries to its parent, the first of them
        if one:
            parent = min(one)
            later[parent] |= one - {parent}
    return count + sum(map(len, later))


@pytest.mark.parametrize("kind", KINDS)
def test_every_node_and_element_once(kind):
    mesh = plate_with_hole(kind, per_quarter=4, rings=3)
    found = numbering(mesh)
    assert sorted(found.order) == list(range(len(mesh.points)))
    assert (found.rank[found.order] == np.arange(len(mesh.points))).all()
    assert sorted(found.elements[0]) == list(range(len(mesh.cells[kind])))


def test_halves_are_halves():
    mesh = rectangle("triangle", columns=32, rows=16)
    cells = mesh.cells["triangle"]
    codes = bisection_codes(mesh.points[cells].mean(axis=1), element_neighbours(mesh.cells))
    highest = codes >> (int(codes.max()).bit_length() - 1)
    assert highest.mean() == pytest.approx(0.5, abs=0.05)
    x = mesh.points[cells].mean(axis=1)[:, 0]
    assert (
        x[highest == 0].max() < x[highest == 1].min() + 40.0 / 32 * 1.01
    )  # the longer extent is cut, the cut is short
    assert sorted(np.bincount(codes))[-1] <= 8


def test_fill_is_that_of_nested_dissection():
    """On an m by m grid the factor has at most 31/4 m^2 log2 m entries (George 1973; from memory); by rows m^3."""
    m = 40
    mesh = rectangle("quad", length=m, depth=m, columns=m, rows=m, distort=0.2)
    own = fill(mesh, numbering(mesh).order)
    assert own < 31 / 4 * m**2 * np.log2(m)
    assert own < 0.55 * fill(mesh, np.arange(len(mesh.points)))


def test_numbers_of_the_mesh_do_not_matter():
    mesh = plate_with_hole("triangle6", per_quarter=6, rings=4)
    shuffle = np.random.default_rng(3).permutation(len(mesh.points))
    back = np.argsort(shuffle)
    other = fesolve.Mesh(
        mesh.points[shuffle],
        {"triangle6": back[mesh.cells["triangle6"]][::-1]},
        edges={name: back[sides] for name, sides in mesh.edges.items()},
    )
    one, two = (
        fesolve.PlaneModel(m, W1, 38.0, 20.0).spring("outer", 50.0, ["x", "y"]).bearing("hole", (300.0, 100.0)).solve()
        for m in (mesh, other)
    )
    scale = np.abs(one.displacement).max()
    assert np.abs(one.displacement[shuffle] - two.displacement).max() < 1e-9 * scale
    assert np.abs(one.stress_xy[shuffle] - two.stress_xy).max() < 1e-9 * np.abs(one.stress_xy).max()


# ---- what is kept


@pytest.fixture
def steps(monkeypatch):
    """Counts how often each step is done."""
    done = []

    def counted(module, name):
        made = getattr(module, name)
        monkeypatch.setattr(module, name, lambda *a, **k: (done.append(name.strip("_")), made(*a, **k))[1])

    from fesolve.fem import factor, model

    for module, name in (
        (model, "check_mesh"),
        (solving, "number_nodes"),
        (solving, "_pattern"),
        (factor, "symbolic"),
    ):
        counted(module, name)
    monkeypatch.setattr(solving, "best_factoriser", lambda: factorise)

    def factorise(*arguments):
        solve = factor.cholmod(*arguments)
        done.append("numeric")
        return solve

    return done


def test_what_the_mesh_decides_is_done_once(steps):
    mesh = plate_with_hole("triangle6", per_quarter=6, rings=4)
    model = fesolve.PlaneModel(mesh, W1, 38.0, 0.0).fix("outer").bearing("hole", (300.0, 0.0), name="x")
    first = model.solve()
    once = ["check_mesh", "number_nodes", "pattern", "symbolic"]
    assert steps == [*once, "numeric"]
    model.bearing("hole", (0.0, 300.0), name="y").solve([{"x": 1.0, "y": 1.0}, {"y": 2.0}])
    assert steps == [*once, "numeric"]
    model.with_(grain=30.0).solve()
    assert steps == [*once, "numeric", "numeric"]
    held = model.fix("hole", ["x"])
    held.solve()
    assert steps == [*once, "numeric", "numeric", "numeric"]  # another support: the pattern is the same
    again = model.solve()
    assert np.array_equal(again.displacement, first.displacement)  # the factor was overwritten and made again


@pytest.mark.parametrize("factorise", [cholmod, superlu])
def test_held_nodes_stay_and_their_reactions_are_right(factorise, monkeypatch):
    monkeypatch.setattr(solving, "best_factoriser", lambda: factorise)
    mesh = rectangle("quad8", distort=0.2)
    solution = fesolve.PlaneModel(mesh, W1, 38.0, 30.0).fix("left").force("right", (500.0, -200.0)).solve()
    assert (solution.displacement[np.unique(mesh.edges["left"])] == 0.0).all()
    assert solution.reactions["left"] == pytest.approx([-500.0, 200.0], rel=1e-9)


def test_the_options_of_cvxopt_are_left_as_they_were():
    from cvxopt import cholmod as backend

    backend.options["print"] = 0
    before = dict(backend.options)
    mesh = rectangle("triangle6")
    fesolve.PlaneModel(mesh, W1, 38.0, 0.0).fix("left").force("right", (1.0, 0.0)).solve()
    assert dict(backend.options) == before


def test_no_index_array_is_wider_than_it_needs_to_be():
    model = fesolve.PlaneModel(rectangle("triangle6"), W1, 38.0, 0.0).fix("left")
    system = solving._assemble(model)
    pattern, layout, _ = model.keep("pattern", (model.mesh,), lambda: None)
    arrays = [pattern.row, pattern.start, pattern.slots, *layout, *dataclasses.astuple(system.numbering)[:2]]
    assert {array.dtype for array in arrays} == {np.dtype(np.int32)}
