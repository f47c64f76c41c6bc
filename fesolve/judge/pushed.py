"""Proportions of what pushes along the grain: pins towards an end, faces with wood behind them, and how stout a pin is.

They ask for strengths beside lengths, and for the forces that statics (or the mesh) gives supports; nothing is solved.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..mesh.curves import Curve
from ..part.model import Hole, Load, Part, Place
from ..wood.bearing import dowel_of
from ..wood.model import Wood
from .code_formulas import tear_out
from .verdict import Proportion, ReactionRow
from .zones import NUDGE, choice_of, names_at

if TYPE_CHECKING:
    from ..mesh.outline import Outline

FloatArray = NDArray[np.float64]

PIN_YIELD = 310.0  # MPa: 45 ksi, the NDS' bending yield strength of bolts
TEAR_OUT = "NDS 2018, appendix E, row tear-out of one fastener: F_v t e (from memory)"
STOUT = (
    "derived from the NDS' yield limit equations in double shear between steel plates, a pin of mild steel "
    "(310 MPa; from memory): a longer one bends before the wood bears along all of it"
)
BEHIND = (
    "derived: shear on one plane holds f_v t l; no more than 8 depths of the face count (DIN EN 1995-1-1/NA, front "
    "notch, from memory)"
)
COUNTS = 8.0  # depths of a pushed face
ALONG = float(np.cos(np.radians(45.0)))  # a face whose normal lies nearer to the grain than this is pushed along it
PART_OF_IT = 0.8  # of an edge's length: a patch that covers more has no wood beside it to shear from
LEAST = float(np.sin(np.radians(20.0)))  # share of a pin's force along the grain below which nothing is torn out
NOTHING = 1e-6  # depths of wood that a face asks for: what is below is round-off of a force across the grain
SAMPLES = 9


class Pushed(NamedTuple):
    """What pushes at a place: support or load, its name, where, and its force on the wood (2,) N."""

    kind: str
    name: str
    on: Place
    force: FloatArray


def pushed_rows(
    part: Part,
    outline: Outline,
    woods: Mapping[str, Wood],
    reactions: Sequence[ReactionRow],
    ends: Mapping[str, tuple[float, float]],
) -> Iterator[Proportion]:
    """Rows for pins and faces that push along the grain, and for the stoutness of each pin.

    Parameters
    ----------
    part : Part
    outline : Outline
    woods : mapping of str to Wood
        By region.
    reactions : sequence of ReactionRow
        All cases together; each place counts where it is worst.
    ends : mapping of str to (float, float)
        By hole with a pin: through the wood from its centre against the grain and along it, mm.
    """
    acting = _acting(part, outline, reactions)
    for hole in part.holes:
        if hole.name in ends and hole.length is None:
            yield from _pin(part, hole, woods, [one for one in acting if one.on.name == hole.name], ends[hole.name])
    faces: dict[str, Proportion] = {}
    for one in acting:
        row = None if one.on.kind == "hole" else _face(part, outline, woods, one)
        if row is not None and (row.rule not in faces or row.met is False):
            faces[row.rule] = row
    yield from faces.values()


def _acting(part: Part, outline: Outline, reactions: Sequence[ReactionRow]) -> list[Pushed]:
    """Everything that pushes on the wood, one entry a case of supports; loads as the part file has them."""
    supports = {support.name: support for support in part.supports}
    found = [Pushed("support", row.name, supports[row.name].on, np.array(row.force)) for row in reactions]
    found += [Pushed("load", load.name, load.on, _force(part, outline, load)) for load in part.loads]
    return [one for one in found if np.linalg.norm(one.force) > 0.0]


def _force(part: Part, outline: Outline, load: Load) -> FloatArray:
    """The sum of a load, N."""
    if load.force is not None:
        return np.array(load.force)
    curves = outline.named(f"load {load.name}")
    faces = [(curve.length * _thickness(part, curve), curve.inward(curve.length / 2)) for curve in curves]
    if load.pressure is not None:
        return np.sum([load.pressure * area * inward for area, inward in faces], axis=0) if faces else np.zeros(2)
    return sum(area for area, _ in faces) * np.array(load.traction or (0.0, 0.0))


def _thickness(part: Part, curve: Curve) -> float:
    (name,) = names_at(part, _inside(curve, curve.length / 2)[None])
    return choice_of(part, name).thickness


def _inside(curve: Curve, s: float) -> FloatArray:
    return np.asarray(curve.point(s) + NUDGE * curve.inward(s))


# ---- pins


def _pin(
    part: Part, hole: Hole, woods: Mapping[str, Wood], acting: Sequence[Pushed], ends: tuple[float, float]
) -> Iterator[Proportion]:
    (region,) = names_at(part, np.array([hole.center]))
    choice, wood = choice_of(part, region), woods.get(region) or next(iter(woods.values()))
    pins = [s.pin for s in part.supports if s.on.kind == "hole" and s.on.name == hole.name and s.pin]
    diameter = pins[0] if pins else hole.diameter
    most = stoutest(dowel_of(wood, diameter).along)
    value = choice.thickness / diameter
    rule = f"hole {hole.name}: thickness over the pin's diameter"
    yield Proportion(rule, value, f"at most {most:.2g}", STOUT, value <= most)
    grain = np.radians(choice.grain)
    along = np.array([np.cos(grain), np.sin(grain)])
    shares = []
    for one in acting:
        force = float(one.force @ along)
        if abs(force) >= LEAST * float(np.linalg.norm(one.force)):
            e = ends[1] if force > 0 else ends[0]
            shares.append(tear_out(wood.strengths["shear"].value, choice.thickness, e) / abs(force))
    if shares:
        rule = f"hole {hole.name}: f_v t e over its push along the grain (shear-out)"
        yield Proportion(rule, min(shares), "at least 1", TEAR_OUT, min(shares) >= 1.0)


def stoutest(bearing: float) -> float:
    """Greatest thickness over diameter at which a pin of mild steel bears along all of it: ``2 sqrt(2 F_yb/(3 F_e))``.

    Parameters
    ----------
    bearing : float
        Dowel bearing strength F_e of the wood, MPa.

    References
    ----------
    In double shear the NDS has F_e d t where wood bears along all of the pin (mode I_m), and
    ``2 d^2 sqrt(2 F_e F_yb/(3 (1 + R_e)))`` where it bends in all four places (mode IV), R_e = 0 between steel plates
    (from memory).

    Examples
    --------
    >>> round(stoutest(40.0), 2)
    4.55
    """
    return 2.0 * float(np.sqrt(2.0 * PIN_YIELD / (3.0 * bearing)))


# ---- faces


def _face(part: Part, outline: Outline, woods: Mapping[str, Wood], one: Pushed) -> Proportion | None:
    """The wood behind a face that is pushed along the grain: its shortest fibre over the face's depth."""
    curves = outline.named(f"{one.kind} {one.name}")
    if not curves or (one.on.kind == "edge" and _covers_all(outline, curves, one.on)):
        return None
    depth = sum(curve.length for curve in curves)
    inward = np.sum([curve.length * curve.inward(curve.length / 2) for curve in curves], axis=0) / depth
    (region,) = names_at(part, _inside(curves[0], curves[0].length / 2)[None])
    choice, wood = choice_of(part, region), woods.get(region) or next(iter(woods.values()))
    grain = np.radians(choice.grain)
    along = np.array([np.cos(grain), np.sin(grain)])
    along = along if along @ inward > 0 else -along
    force = float(one.force @ along)
    if float(along @ inward) < ALONG or force <= 0.0:
        return None
    behind = _behind(outline, curves, along)
    if behind is None:
        return None
    f = wood.strengths
    needed = force / (f["shear"].value * choice.thickness * depth)
    if needed < NOTHING:
        return None
    most = f["compression_along"].value / f["shear"].value
    value = min(behind / depth, COUNTS)
    wanted = f"at least {needed:.2g} for what acts, {most:.2g} for all that the face can bear"
    return Proportion(f"{one.name}: shortest fibre behind the face over its depth", behind / depth, wanted, BEHIND,
                      value >= needed)  # fmt: skip


def _covers_all(outline: Outline, curves: Sequence[Curve], on: Place) -> bool:
    """Whether a patch covers nearly all of its edge, so that no wood stands beside it to be sheared from."""
    whole = sum(outline.edge_length(name) for name in on.edges or (on.name,))
    return sum(curve.length for curve in curves) > PART_OF_IT * whole


def _behind(outline: Outline, curves: Sequence[Curve], along: FloatArray) -> float | None:
    """The shortest way (mm) from a face along the grain to where the wood ends; None if all ends are held."""
    ways = []
    for curve in curves:
        for s in (np.arange(SAMPLES) + 0.5) / SAMPLES * curve.length:
            start = _inside(curve, float(s))
            x, y = start.tolist()
            pieces = outline.clip_line((x, y), (x + float(along[0]), y + float(along[1])), endless=True)
            stop = next((b for a, b in pieces if a <= 0.0 < b), None)
            if stop is not None and not _held(outline, start + stop * along):
                ways.append(stop + NUDGE)
    return min(ways) if ways else None


def _held(outline: Outline, point: FloatArray) -> bool:
    """Whether a support or load sits where a fibre ends, so that it is pressed from both ends."""
    _, curve = outline.nearest_curve((float(point[0]), float(point[1])))
    return any(name.split(" ", 1)[0] in {"support", "load"} for name in curve.names)
