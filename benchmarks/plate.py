"""The problem that all contenders solve: a plate with a round hole, straight-sided six-node triangles, wood at 20 deg.

Sides are straight, also at the hole, so that every library may use its fastest map; corner nodes come first, then the
middles of the sides in the order of their end nodes.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

LENGTH, DEPTH, RADIUS, THICKNESS = 200.0, 100.0, 15.0, 38.0  # mm
GRAIN, NEW_GRAIN = 20.0, 35.0  # deg
ELASTIC = {"E_0": 12_000.0, "E_90": 600.0, "G": 780.0, "nu_0_90": 0.4}  # MPa
SIDES = ("bottom", "right", "top", "left")
# eight cases: tractions in MPa on one side each; the first is the one that single solves use
CASES = (
    ("right", (1.0, 0.0)), ("right", (0.0, -0.1)), ("top", (0.0, -0.1)), ("top", (0.2, 0.0)),
    ("bottom", (0.0, 0.1)), ("bottom", (0.2, 0.0)), ("right", (0.7, 0.1)), ("top", (0.1, 0.1)),
)  # fmt: skip
SIZES = {"20k": 20_000, "200k": 200_000, "900k": 900_000}


@dataclass(frozen=True)
class Plate:
    """Points (n, 2) mm, cells (e, 6), and the sides (k, 3) of each edge, wood on the left."""

    points: np.ndarray
    cells: np.ndarray
    edges: dict[str, np.ndarray]

    @property
    def corners(self) -> int:
        """Number of corner nodes."""
        return int(self.cells[:, :3].max()) + 1

    @property
    def unknowns(self) -> int:
        """Two a node, held ones too."""
        return 2 * len(self.points)

    def save(self, path: Path) -> None:
        np.savez(path, points=self.points, cells=self.cells, **self.edges)

    @classmethod
    def load(cls, path: Path) -> Plate:
        with np.load(path) as data:
            return cls(data["points"], data["cells"], {name: data[name] for name in SIDES})


def plane_stress(grain: float) -> np.ndarray:
    """Reduced stiffness (3, 3) in x, y, MPa: Q = S^-1 turned by the grain angle (Voigt order x, y, xy)."""
    E_0, E_90, G, nu = ELASTIC.values()
    compliance = np.array([[1 / E_0, -nu / E_0, 0], [-nu / E_0, 1 / E_90, 0], [0, 0, 1 / G]])
    c, s = np.cos(np.radians(grain)), np.sin(np.radians(grain))
    turn = np.array([[c * c, s * s, s * c], [s * s, c * c, -s * c], [-2 * s * c, 2 * s * c, c * c - s * s]])
    return turn.T @ np.linalg.inv(compliance) @ turn


def make_plate(unknowns: int) -> Plate:
    """An even mesh by gmsh with about that many unknowns."""
    triangles = unknowns / 4
    size = np.sqrt((LENGTH * DEPTH - np.pi * RADIUS**2) / triangles / (np.sqrt(3) / 4))
    points, cells = _triangles(size)
    sides = cells[:, [[0, 1], [1, 2], [2, 0]]]
    ends, number = np.unique(np.sort(sides.reshape(-1, 2), axis=1) @ [len(points), 1], return_inverse=True)
    ends = np.stack(np.divmod(ends, len(points)), axis=1)
    middles = number.reshape(-1, 3) + len(points)
    places = np.vstack([points, points[ends].mean(axis=1)])
    return Plate(places, np.hstack([cells, middles]), _edges(places, sides.reshape(-1, 2), middles.reshape(-1)))


def _triangles(size: float) -> tuple[np.ndarray, np.ndarray]:
    import gmsh

    gmsh.initialize(["plate"], readConfigFiles=False, run=False, interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.option.setNumber("Mesh.MeshSizeMax", size)
        gmsh.option.setNumber("Mesh.MeshSizeMin", size)
        occ = gmsh.model.occ
        plate = occ.addRectangle(0, 0, 0, LENGTH, DEPTH)
        hole = occ.addDisk(LENGTH / 2, DEPTH / 2, 0, RADIUS, RADIUS)
        occ.cut([(2, plate)], [(2, hole)])
        occ.synchronize()
        gmsh.model.mesh.generate(2)
        tags, places, _ = gmsh.model.mesh.getNodes()
        _, _, nodes = gmsh.model.mesh.getElements(2)
        triangles = nodes[0].astype(np.int64).reshape(-1, 3)
    finally:
        gmsh.finalize()
    used, cells = np.unique(triangles, return_inverse=True)
    order = np.argsort(tags)
    points = places.reshape(-1, 3)[order[np.searchsorted(tags[order], used)], :2]
    cells = cells.reshape(-1, 3)
    edge = points[cells[:, 1:]] - points[cells[:, :1]]
    turned = edge[:, 0, 0] * edge[:, 1, 1] < edge[:, 0, 1] * edge[:, 1, 0]
    cells[turned] = cells[turned][:, [0, 2, 1]]
    return points, cells


def _edges(points: np.ndarray, ends: np.ndarray, middles: np.ndarray) -> dict[str, np.ndarray]:
    sides, at, tiny = np.column_stack([ends, middles]), points[middles], 1e-9 * LENGTH
    masks = (at[:, 1] < tiny, at[:, 0] > LENGTH - tiny, at[:, 1] > DEPTH - tiny, at[:, 0] < tiny)
    return {name: sides[mask] for name, mask in zip(SIDES, masks, strict=True)}
