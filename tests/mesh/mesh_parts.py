"""Parts for the tests of this room, made by hand."""

from __future__ import annotations

from typing import Any

from fesolve.part.model import Case, Corner, Hole, Load, Notch, Part, Place, Support, WoodChoice

NAMES = "ABCDEFGHIJKLMNOP"
Points = list[tuple[float, float]]
BLOCK: Points = [(0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0)]


def make_part(
    points: Points = BLOCK, rounds: dict[str, float] | None = None, bows: dict[str, float] | None = None, **more: Any
) -> Part:
    """A part with corners A, B, C … at the points."""
    corners = tuple(
        Corner(name=name, at=at, round=(rounds or {}).get(name, 0.0), bow=(bows or {}).get(name, 0.0))
        for name, at in zip(NAMES, points, strict=False)
    )
    wood = WoodChoice(thickness=38.0, basis="mean", strength={}, fracture={})
    cases = (Case(name="all loads", factors={}),)
    return Part(title="test", wood=wood, corners=corners, cases=cases, dimensions={}, source={}, **more)


def place(text: str, start: float | None = None, stop: float | None = None, *, with_rounds: bool = False) -> Place:
    """``"notch N floor"`` as a Place."""
    kind, _, name = text.partition(" ")
    face = None
    if kind == "notch" and " " in name:
        name, _, face = name.partition(" ")
    return Place.model_validate(
        {"kind": kind, "name": name, "face": face, "start": start, "stop": stop, "with_rounds": with_rounds}
    )


def support(text: str, start: float | None = None, stop: float | None = None, *, with_rounds: bool = False) -> Support:
    return Support(name="s", kind="fixed", on=place(text, start, stop, with_rounds=with_rounds))


def load(text: str, start: float | None = None, stop: float | None = None) -> Load:
    return Load(name="l", on=place(text, start, stop), force=(0.0, -1.0))


def notch(edge: str, start: float, stop: float, depth: float, round: float = 0.0, name: str = "N") -> Notch:
    return Notch(name=name, edge=edge, start=start, stop=stop, depth=depth, round=round)


def hole(x: float, y: float, diameter: float, name: str = "h") -> Hole:
    return Hole(name=name, center=(x, y), diameter=diameter)


def log_stop() -> Part:
    """An upright plank with a pivot hole, leaning on a beam and pushed by a log."""
    return make_part(
        [(0, 0), (420, 0), (420, 140), (0, 140)],
        holes=(hole(70, 70, 25, "pivot"),),
        supports=(
            Support(name="pin", kind="pin", on=place("hole pivot")),
            Support(name="beam", kind="rest", on=place("edge A-B", 190, 230)),
        ),
        loads=(Load(name="log", on=place("edge C-D", 90, 110), force=(0.0, -1000.0)),),
    )
