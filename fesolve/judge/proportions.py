"""Rules of proportion: distances round a pin, depths of notches and holes. They screen; they replace no calculation."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..part.model import Hole, Notch, Part
from .member import Cut, Member, member_of
from .pushed import pushed_rows
from .verdict import Proportion, ReactionRow
from .zones import choice_of, names_at

if TYPE_CHECKING:
    from ..mesh.outline import Outline
    from ..wood.model import Wood

FloatArray = NDArray[np.float64]

PINS = "NDS, distances for full strength, half of them for half of it (from memory)"
NOTCHES = "course sheet on the notching of sawn bending members (read)"
HOLES = "net depth as a first screen (from memory); no rule for wood this short"
TOWARDS_END = {"softwood": 7.0, "hardwood": 5.0}
NEARLY_ALONG = np.cos(np.radians(45.0))  # a pin that pushes nearer to the grain than this pushes at an end
SAME = 1e-6


def proportions(
    part: Part,
    outline: Outline,
    *,
    group: str | Mapping[str, str],
    reactions: Sequence[ReactionRow] = (),
    woods: Mapping[str, Wood] | None = None,
) -> tuple[Proportion, ...]:
    """Compare the part's distances and depths with the trade's rules.

    Parameters
    ----------
    part : Part
    outline : Outline
    group : str, or mapping of str to str
        ``"softwood"`` or ``"hardwood"``, or which of them by region; the end distance differs.
    reactions : sequence of ReactionRow
        To know towards which edge or end a pin pushes, all cases together; without them an edge is held to
        both its figures.
    woods : mapping of str to Wood, optional
        By region, for the rules that ask for strengths: shear-out, stoutness of pins, fibres behind a face.

    Returns
    -------
    tuple of Proportion
        ``value`` is a ratio: distances from the pin's centre over its hole's diameter, depths over the depth
        of the wood there.

    Examples
    --------
    A hole of 25 mm whose centre is 70 mm from the end: 70/25 = 2.8 diameters, at least 4 wanted.
    """
    member = member_of(part, outline)
    rows: list[Proportion] = []
    for hole in part.holes:
        (region,) = names_at(part, np.array([hole.center]))
        mine = group if isinstance(group, str) else group.get(region, "softwood")
        rows += _pin(part, member, hole, mine, choice_of(part, region).grain, reactions)
        rows += _hole(member, hole)
    for notch in part.notches:
        rows += _notch(part, member, notch)
    if woods is not None:
        rows += pushed_rows(part, outline, woods, reactions, _ends_at_pins(part, member))
    return tuple(rows)


def _ends_at_pins(part: Part, member: Member) -> dict[str, tuple[float, float]]:
    """By hole that something sits in: through the wood from its centre against the grain and along it, mm."""
    used = {
        place.name for place in (*(s.on for s in part.supports), *(s.on for s in part.loads)) if place.kind == "hole"
    }
    found = {}
    for hole in part.holes:
        if hole.name in used:
            (region,) = names_at(part, np.array([hole.center]))
            angle = np.radians(choice_of(part, region).grain)
            along = np.array([np.cos(angle), np.sin(angle)])
            found[hole.name] = (reach(member, hole, -along), reach(member, hole, along))
    return found


def _pin(
    part: Part, member: Member, hole: Hole, group: str, grain: float, reactions: Sequence[ReactionRow]
) -> Iterator[Proportion]:
    used = {s.on.name for s in part.supports if s.on.kind == "hole"} | {
        s.on.name for s in part.loads if s.on.kind == "hole"
    }
    if hole.name not in used or hole.length is not None:  # the rules are for round holes
        return
    angle = np.radians(grain)
    along = np.array([np.cos(angle), np.sin(angle)])
    pushes = _pushes(part, hole, reactions)
    yield _end(member, hole, along, pushes, group)
    yield from _edges(member, hole, np.array([-along[1], along[0]]), pushes)


def _pushes(part: Part, hole: Hole, reactions: Sequence[ReactionRow]) -> list[FloatArray]:
    """Collect unit directions (2,) in which the wood is pushed at a hole."""
    held = {s.name for s in part.supports if s.on.kind == "hole" and s.on.name == hole.name}
    forces = [np.array(row.force) for row in reactions if row.name in held]
    forces += [np.array(s.force) for s in part.loads if s.on.kind == "hole" and s.on.name == hole.name and s.force]
    sizes = [float(np.linalg.norm(force)) for force in forces]
    return [force / size for force, size in zip(forces, sizes, strict=True) if size > SAME]


def _end(member: Member, hole: Hole, along: FloatArray, pushes: Sequence[FloatArray], group: str) -> Proportion:
    """Hold the nearer end to its figure, or the end that the pin pushes towards where that is worse."""
    ends = []
    for sign in (1.0, -1.0):
        towards = any(sign * float(push @ along) > NEARLY_ALONG for push in pushes)
        wanted = TOWARDS_END.get(group, 7.0) if towards else 4.0
        value = reach(member, hole, sign * along) / hole.diameter
        ends.append((value / wanted, value, wanted, towards))
    _, value, wanted, towards = min(ends)
    which = "end it pushes towards" if towards else "nearer end"
    return Proportion(
        f"hole {hole.name}: centre to the {which}, over its diameter", value, _least(wanted), PINS, value >= wanted
    )


def _edges(member: Member, hole: Hole, across: FloatArray, pushes: Sequence[FloatArray]) -> Iterator[Proportion]:
    sides = []
    for sign in (1.0, -1.0):
        loaded = any(sign * float(push @ across) > np.sin(np.radians(20.0)) for push in pushes)
        sides.append((loaded, reach(member, hole, sign * across) / hole.diameter))
    rule = f"hole {hole.name}: centre to the {{}} edge, over its diameter"
    if not pushes:
        value = min(value for _, value in sides)
        met = True if value >= 4.0 else False if value < 1.5 else None
        yield Proportion(rule.format("nearer"), value, "at least 4 loaded, 1.5 unloaded", PINS, met)
        return
    for word, wanted in (("loaded", 4.0), ("unloaded", 1.5)):
        values = [value for loaded, value in sides if loaded == (word == "loaded")]
        if values:
            yield Proportion(rule.format(word), min(values), _least(wanted), PINS, min(values) >= wanted)


def _least(wanted: float) -> str:
    return f"at least {wanted:g}"


def reach(member: Member, hole: Hole, direction: FloatArray) -> float:
    """Distance from a hole's centre through the wood in one direction, up to the next edge or hole, mm."""
    x, y = hole.center
    ahead = (x + float(direction[0]), y + float(direction[1]))
    pieces = member.outline.clip_line((x, y), ahead, endless=True)
    return float(next((stop for start, stop in pieces if start >= 0.5 * hole.diameter - SAME), 0.5 * hole.diameter))


def _hole(member: Member, hole: Hole) -> Iterator[Proportion]:
    cut = member.cut(float(member.position_of(np.array([hole.center]))[0]))
    if cut is not None:
        value = hole_extent(hole, cut.left) / cut.depth
        what = "diameter" if hole.length is None else "extent across"
        wanted = "as little as the pin allows" if hole.length is None else "as little as it has to be"
        yield Proportion(f"hole {hole.name}: {what} over depth", value, wanted, HOLES)


def hole_extent(hole: Hole, direction: FloatArray) -> float:
    """Extent of a hole or slot along a unit direction (2,), mm.

    Examples
    --------
    A slot of 10 x 30 mm at 90 deg reaches over 30 mm upwards and 10 mm to the side:

    >>> slot = Hole(name="s", center=(0, 0), diameter=10, length=30, angle=90)
    >>> round(hole_extent(slot, np.array([0.0, 1.0]))), round(hole_extent(slot, np.array([1.0, 0.0])))
    (30, 10)
    """
    straight = 0.0 if hole.length is None else hole.length - hole.diameter
    angle = np.radians(hole.angle)
    return hole.diameter + straight * abs(float(direction @ np.array([np.cos(angle), np.sin(angle)])))


def _notch(part: Part, member: Member, notch: Notch) -> Iterator[Proportion]:
    """Hold a notch in a side of the member to a quarter (at an end) or a sixth of the depth; end grain is left out."""
    names = [corner.name for corner in part.corners]
    ends = dict(zip(part.edge_names, zip(names, names[1:] + names[:1], strict=True), strict=True))
    first, second = (np.array(next(c.at for c in part.corners if c.name == name)) for name in ends[notch.edge])
    length = float(np.linalg.norm(second - first))
    along = (second - first) / length
    foot = notch.start + notch.ramp[0] * notch.depth, notch.stop - notch.ramp[1] * notch.depth
    cut = _across(member, first + sum(foot) / 2 * along)
    if cut is None or abs(float(along @ cut.axis)) < NEARLY_ALONG:
        return
    at_end = notch.start <= SAME or notch.stop >= length - SAME
    deepest = notch.depth + (notch.drill or 0.0) / 2  # a drilled end reaches below the floor
    value = deepest / (cut.depth + notch.depth)
    wanted = "at most 0.25 (1/4, at an end)" if at_end else "at most 0.167 (1/6)"
    met = value <= (1 / 4 if at_end else 1 / 6) + SAME
    yield Proportion(f"notch {notch.name}: depth over the member's depth", value, wanted, NOTCHES, met)
    if not at_end and 1 / 3 < cut.position / member.length < 2 / 3:
        yield Proportion(
            f"notch {notch.name}: depth over depth, middle third", value, "none in the middle third", NOTCHES, False
        )


def _across(member: Member, point: FloatArray) -> Cut | None:
    return member.cut(float(member.position_of(point[None])[0]))
