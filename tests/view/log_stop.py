"""A made-up verdict on a log deck's stop: the shape of a real one, with figures in the right neighbourhood.

Geometry and loads: 38 x 140 x 420 mm, hole 25 mm at (70, 70), rest on the lower edge at 190..230, a log on the
upper edge at 310..330 with 10 kN. Statics: the rest takes
10 kN * (320 - 70) / (210 - 70) = 17.86 kN, the pin 7.86 kN down.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fesolve.judge.rows_interaction import JudgingRow
from fesolve.judge.verdict import (
    COMPRESSION_ACROSS,
    COMPRESSION_ALONG,
    SHEAR,
    SPLITTING,
    TENSION_ACROSS,
    TENSION_ALONG,
    Allowable,
    Anchor,
    BesideRow,
    Consequence,
    Governing,
    HandDiagram,
    HandRow,
    HandSummary,
    HotSpot,
    LoadRow,
    MeshInfo,
    ModeRow,
    PartInfo,
    Proportion,
    ReactionRow,
    Takes,
    Verdict,
)
from fesolve.wood.model import Factor

LENGTH, DEPTH, WIDTH = 420.0, 140.0, 38.0
HOLE = Anchor("hole pivot", (70.0, 70.0))
CASE = "all loads"


def circle(center: tuple[float, float], radius: float, start: float = 0.0, stop: float = 360.0, count: int = 73):
    angle = np.radians(np.linspace(start, stop, count))
    return np.column_stack((center[0] + radius * np.cos(angle), center[1] + radius * np.sin(angle)))


def modes() -> tuple[ModeRow, ...]:
    def row(mode, decides, value, allowable, utilisation, at, where, peak, note="", anchor=None):
        return ModeRow(CASE, mode, "breaks", decides, value, allowable, utilisation, at, where, peak, note, anchor)

    return (
        row(SPLITTING, True, 1.15, 1.0, 1.15, (81.5, 65.0), "hole pivot", 2.6, anchor=HOLE),
        row(SHEAR, False, 5.1, 7.8, 0.65, (160.0, 66.0), "inside", 6.4, "V Q/(I t)"),
        row(TENSION_ACROSS, False, 6.1, 2.3, 2.65, (78.8, 61.2), "hole pivot", 6.1, "peak, shown only"),
        row(TENSION_ALONG, True, 22.0, 85.0, 0.26, (208.0, 140.0), "edge C-D", 24.0),
    )


def hot_spots() -> tuple[HotSpot, ...]:
    spot = HotSpot(
        rank=1, case=CASE, mode=SPLITTING, utilisation=1.15, at=(81.5, 65.0), where="hole pivot",
        path=((81.5, 65.0), (97.5, 65.0)), exits_at=(420.0, 65.0), exits_where="edge B-C", mean_length=16.0,
        mean_s90=1.3, mean_tau=3.2, peak=2.6, short_line=False, measured_from=HOLE,
    )  # fmt: skip
    second = replace(
        spot, rank=2, utilisation=0.94, at=(58.5, 75.0), path=((58.5, 75.0), (42.5, 75.0)), exits_at=(0.0, 75.0),
        exits_where="edge D-A", peak=1.9,
    )  # fmt: skip
    rest = Anchor("edge A-B", (232.0, 0.0), along=232.0, corner="A")
    third = replace(
        spot, rank=3, utilisation=0.71, at=(232.0, 24.0), where="edge A-B", path=((232.0, 24.0), (256.0, 24.0)),
        exits_where="edge B-C", exits_at=(420.0, 24.0), mean_s90=-1.4, measured_from=rest,
    )  # fmt: skip
    return spot, second, third


def beside() -> tuple[BesideRow, ...]:
    def dent(name, where, value, utilisation, at, depth):
        return BesideRow(
            CASE,
            COMPRESSION_ACROSS,
            "dents",
            False,
            value,
            5.5,
            utilisation,
            at,
            where,
            None,
            "",
            None,
            "",
            name,
            depth,
        )

    crush = BesideRow(
        CASE, COMPRESSION_ALONG, "crushes", False, 18.0, 49.9, 0.36, (205.0, 5.0), "edge A-B", 21.0, "", None, ""
    )
    return (
        dent("log", "edge C-D", 13.2, 2.39, (320.0, 140.0), 1.2),
        dent("cross-beam", "edge A-B", 11.7, 2.14, (210.0, 0.0), 0.9),
        dent("pivot pin", "hole pivot", 8.3, 1.5, (70.0, 57.5), 0.6),
        crush,
    )


def hand_row(station: str, x: float, shear: float, moment: float, tau: float, tau_mesh: float, note: str = ""):
    area, inertia = WIDTH * DEPTH, WIDTH * DEPTH**3 / 12
    return HandRow(
        station=station, case=CASE, at=((x, 0.0), (x, DEPTH)), depth=DEPTH, width=WIDTH, A=area, I=inertia,
        Q=WIDTH * DEPTH**2 / 8, S=WIDTH * DEPTH**2 / 6, t=WIDTH, axial=0.0, shear=shear, moment=moment,
        shear_statics=shear * 1.0004, tau_vqit=tau, tau_height=70.0, tau_mesh=tau_mesh, sigma_mcI=moment * 70 / inertia,
        sigma_mesh=moment * 72 / inertia, short=abs(moment) < abs(shear) * DEPTH, mine=None, note=note, position=x,
    )  # fmt: skip


def hand_rows() -> tuple[HandRow, ...]:
    return (
        hand_row("hole pivot", 70.0, -3930.0, 0.0, 2.02, 3.7, "two ligaments; V jumps here"),
        hand_row("beside hole pivot", 83.0, -7857.0, -102e3, 2.22, 3.0),
        hand_row("middle of pivot pin and cross-beam", 137.0, -7857.0, -526e3, 2.22, 2.3),
        hand_row("cross-beam", 210.0, 1070.0, -1100e3, 0.3, 0.5),
        hand_row("middle of cross-beam and log", 270.0, 10000.0, -500e3, 2.82, 2.9),
        hand_row("log", 320.0, 5000.0, -25e3, 1.41, 1.9),
    )


def diagram() -> HandDiagram:
    x = np.linspace(2.0, 418.0, 105)
    shear = np.zeros_like(x)
    shear -= 7857.0 * np.clip((x - 57.5) / 25.0, 0, 1)
    shear += 17857.0 * np.clip((x - 190.0) / 40.0, 0, 1)
    shear -= 10000.0 * np.clip((x - 310.0) / 20.0, 0, 1)
    moment = np.concatenate(([0.0], np.cumsum(0.5 * (shear[1:] + shear[:-1]) * np.diff(x))))
    rough = 1.0 + 0.004 * np.sin(x)
    as_tuple = lambda values: tuple(float(value) for value in values)  # noqa: E731
    return HandDiagram(
        CASE, as_tuple(x), as_tuple(shear * rough), as_tuple(moment * rough), as_tuple(shear), as_tuple(moment)
    )


def allowables() -> tuple[Allowable, ...]:
    table = "USDA Wood Handbook (FPL-GTR-190), Table 5-3a"
    scatter = (Factor("moisture 12 %", 1.0, table),)
    return (
        Allowable(SHEAR, 7.8, "mean", scatter, table, "read"),
        Allowable(TENSION_ACROSS, 2.3, "mean", scatter, table, "read"),
        Allowable(COMPRESSION_ACROSS, 5.5, "mean", scatter, table, "read"),
        Allowable(TENSION_ALONG, 85.0, "mean", scatter, "modulus of rupture stands in, same table", "fallback"),
        Allowable("G_Ic", 0.071, "low", (), "toughness summary, from memory", "from memory"),
        Allowable("G_IIc", 0.771, "low", (), "toughness summary, from memory", "from memory"),
    )


def make_verdict(**changes: object) -> Verdict:
    """The log stop's verdict, with some of its fields replaced."""
    worst = modes()[0]
    governing = Governing(**{**worst.__dict__, "load_factor": 1 / worst.utilisation})
    pin = tuple(map(tuple, circle((70.0, 70.0), 12.5, 0.0, -180.0, 19).tolist()))
    verdict = Verdict(
        part=PartInfo("Stop of a log deck, as drawn", "log_stop.toml", "0" * 64),
        version="0.1.0",
        basis="mean",
        margin=1.5,
        wood="Douglas-fir, coast",
        face="flat-sawn",
        mesh=MeshInfo(24816, 12240, 2, 1, None, None),
        equilibrium=2e-12,
        loads=(LoadRow("log", CASE, (0.0, -10000.0), "edge C-D", (320.0, 140.0), ((330.0, 140.0), (310.0, 140.0))),),
        reactions=(
            ReactionRow("pivot pin", CASE, (0.0, -7857.0), 0.0, "pin", "hole pivot", (70.0, 70.0), pin),
            ReactionRow(
                "cross-beam", CASE, (0.0, 17857.0), 21e3, "rest", "edge A-B", (210.0, 0.0), ((190.0, 0.0), (230.0, 0.0))
            ),
        ),
        modes=modes(),
        governing=governing,
        takes=Takes(best=13000.0, low=8700.0, high=19300.0, of="log"),
        hotspots=hot_spots(),
        beside=beside(),
        hand=hand_rows(),
        diagrams=(diagram(),),
        hand_summary=HandSummary(
            "V Q/(I t)", 28000.0, 28.0 / 13.0, "middle of cross-beam and log", True, True,
            ("Shear governs: M/(V h) is below R/4 at the cross-beam.",), 6700.0, 12500.0, left_out="hole",
        ),
        proportions=(Proportion("end distance of the hole over its diameter", 2.8, "at least 4", "common practice"),),
        allowables=allowables(),
        limits=(
            "The toughness of the very piece is not known; its splitting energy could be measured.",
            "The pin is taken as rigid and without play.",
        ),
        if_it_breaks=Consequence("The log rolls free", "near", False),
        judging=JudgingRow("Norris"),
        cautions=("The pin is judged without play, friction or its true arc of contact.",),
    )  # fmt: skip
    return replace(verdict, **changes)


def scaled(factor: float, **changes: object) -> Verdict:
    """The same verdict with every load, and so every utilisation, times a factor."""
    verdict = make_verdict()
    worst = verdict.governing
    assert worst is not None
    return replace(
        verdict,
        loads=tuple(replace(row, force=(factor * row.force[0], factor * row.force[1])) for row in verdict.loads),
        governing=replace(worst, utilisation=factor * worst.utilisation, load_factor=1 / (factor * worst.utilisation)),
        hotspots=tuple(replace(spot, utilisation=factor * spot.utilisation) for spot in verdict.hotspots),
        **changes,
    )


@dataclass(frozen=True)
class Field:
    """What the picture of one part is drawn from."""

    polygons: list[NDArray[np.float64]]
    points: NDArray[np.float64]
    triangles: NDArray[np.int64]
    utilisation: NDArray[np.float64]


def make_field(step: float = 6.0) -> Field:
    """Points graded to the hole, their triangles, and a smooth field that is worst beside the hole."""
    from scipy.spatial import Delaunay

    outer = np.array([[0.0, 0.0], [LENGTH, 0.0], [LENGTH, DEPTH], [0.0, DEPTH]])
    hole = circle((70.0, 70.0), 12.5)[::-1]
    nx, ny = int(LENGTH / step) + 1, int(DEPTH / step) + 1
    grid = np.stack(np.meshgrid(np.linspace(0, LENGTH, nx), np.linspace(0, DEPTH, ny)), axis=-1).reshape(-1, 2)
    rings = np.vstack([circle((70.0, 70.0), r, count=65)[:-1] for r in 12.5 * 1.09 ** np.arange(12)])
    grid = grid[np.hypot(*(grid - 70.0).T) > 12.5 * 1.09**11.5]
    points = np.vstack((grid, rings))
    triangles = Delaunay(points).simplices
    centres = points[triangles].mean(axis=1)
    triangles = triangles[np.hypot(*(centres - 70.0).T) > 12.4].astype(np.int64)
    x, y = points.T
    value = 0.62 * np.clip(1 - ((y - 70) / 70) ** 2, 0, None) * ((x > 80) & (x < 330))
    for cx, cy, top, sx, sy in ((84, 64.5, 0.7, 18, 3.5), (56, 75.5, 0.85, 18, 3.5), (238, 22, 0.5, 26, 14)):
        value = value + top * np.exp(-(((x - cx) / sx) ** 2) - ((y - cy) / sy) ** 2)
    return Field([outer, hole], points, triangles, value)
