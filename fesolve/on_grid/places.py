"""Where a grid is held and loaded: names of the caller's choosing, sides of its box, points."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..fem.model import PlaneModel
from ..fem.picked import EXTREMES, Picked, at_extreme, picked, where_true
from ..mesh.from_grid import GridMesh
from ..mesh.mesh import Mesh
from ..units import parse_quantity, shorten

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

POINTS = " (points)"  # behind a place's name: its points, beside its sides
NEAR = 1e-6  # of the grid's size: how near to its extreme a point lies on "left", "right", "bottom", "top"
FORMS = "an array of point numbers, a true-false array or its name, or a function of x and y"


@dataclass(frozen=True)
class Acting:
    """What holds and loads a grid: each by place, as the caller gave it; None where nothing was given.

    Attributes
    ----------
    fix : str, sequence of str, or mapping of str to axes
    traction, force : mapping of str to (x, y)
    pressure : mapping of str to number
    places : mapping of str to where
    """

    fix: Any = None
    traction: Any = None
    force: Any = None
    pressure: Any = None
    places: Any = None

    @property
    def holds(self) -> dict[str, Any]:
        """Places that are fixed, each with its axes."""
        if self.fix is None:
            return {}
        if isinstance(self.fix, str):
            return {self.fix: "xy"}
        return dict(_mapping(self.fix, "fix", '"left": "xy"') if isinstance(self.fix, Mapping) else _listed(self.fix))

    @property
    def loads(self) -> list[tuple[str, str, Any]]:
        """Kind, place and amount of each load."""
        given = {"traction": self.traction, "force": self.force, "pressure": self.pressure}
        return [
            (kind, place, amount)
            for kind, table in given.items()
            for place, amount in _mapping(table or {}, kind, _EXAMPLES[kind]).items()
        ]

    @property
    def names(self) -> list[str]:
        """All places that are used."""
        return list(dict.fromkeys([*self.holds, *(place for _, place, _ in self.loads)]))


_EXAMPLES = {"traction": '"right": (1.0, 0.0)', "force": '"right": (0, -400)', "pressure": '"top": 0.5'}


def _mapping(given: Any, key: str, example: str) -> Mapping[str, Any]:
    if isinstance(given, Mapping) and all(isinstance(name, str) for name in given):
        return given
    raise InputError(f"{key} is {shorten(repr(given))}; give it by place: {key} = {{{example}}}.", key=key)


def _listed(given: Any) -> dict[str, Any]:
    if isinstance(given, Sequence) and all(isinstance(name, str) for name in given):
        return dict.fromkeys(given, "xy")
    message = f'fix is {shorten(repr(given))}; give places: fix = {{"left": "xy", "bottom": "y"}}, or "left" alone.'
    raise InputError(message, key="fix")


def with_places(grid: Any, read: GridMesh, acting: Acting) -> tuple[Mesh, dict[str, Picked]]:
    """The mesh with an edge and a set of points for each place that is used.

    Raises
    ------
    InputError
        For a place that is not known, or that holds no point.
    """
    places = dict(_mapping(acting.places or {}, "places", '"pad": lambda x, y: y > 40'))
    found = {name: picked(read.mesh, _inside(grid, read, name, places)) for name in acting.names}
    edges = {name: one.sides for name, one in found.items() if len(one.sides)}
    sets = {name + POINTS: one.points for name, one in found.items()}
    return replace(read.mesh, edges=edges, point_sets=sets), found


def _inside(grid: Any, read: GridMesh, name: str, places: Mapping[str, Any]) -> BoolArray:
    """Which mesh points (n,) lie in a place."""
    where, mesh = places.get(name, name), read.mesh
    if isinstance(where, str):
        if where in grid.point_data:
            inside = _marked(np.asarray(grid.point_data[where]), f'Point array "{where}"', name)[read.point]
        elif where in EXTREMES:
            inside = at_extreme(mesh, where, NEAR * mesh.size + read.rounding)
        else:
            raise _unknown(grid, name, where, places)
    elif callable(where):
        inside = where_true(name, where, mesh.points / read.scale)
    else:
        inside = _numbered(read, np.asarray(where), name)
    if not inside.any():
        low, high = mesh.points.min(axis=0) / read.scale, mesh.points.max(axis=0) / read.scale
        raise InputError(
            f'No point of the grid lies in place "{name}". Points lie from ({low[0]:.6g}, {low[1]:.6g}) to '
            f"({high[0]:.6g}, {high[1]:.6g}); compare with a tolerance, as in lambda x, y: abs(x - 20) < 0.01.",
            key=f"places.{name}",
        )
    return inside


def _unknown(grid: Any, name: str, where: str, places: Mapping[str, Any]) -> InputError:
    named = ", ".join(f'"{one}"' for one in [*EXTREMES, *places, *grid.point_data])
    known = f'Known are: {named}. Others go into places = {{"{name}": …}}: {FORMS}.'
    if where in grid.cell_data:
        return InputError(
            f'Place "{name}": "{where}" is an array of the cells, not of the points. {known}', key="places"
        )
    return InputError(f'There is no place "{where}". {known}', key="places")


def _marked(values: NDArray[Any], what: str, name: str) -> BoolArray:
    """A true-false array; numbers may stand for it if they are 0 and 1."""
    if values.ndim == 1 and values.dtype.kind in "biuf" and np.isin(values, (0, 1)).all():
        return np.asarray(values != 0)
    raise InputError(
        f'{what} is not one of true and false (1 and 0), as place "{name}" wants it.', key=f"places.{name}"
    )


def _numbered(read: GridMesh, where: NDArray[Any], name: str) -> BoolArray:
    """From point numbers of the grid, or a true-false value for each of its points."""
    if where.dtype == bool:
        if where.shape != (read.points,):
            raise InputError(
                f'Place "{name}" has {where.size} true-false values, but the grid has {read.points} points.',
                key=f"places.{name}",
            )
        return np.asarray(where[read.point])
    if where.dtype.kind not in "iu" or where.size == 0:
        raise InputError(f'Place "{name}" is {shorten(repr(where.tolist()))}; give {FORMS}.', key=f"places.{name}")
    if where.min() < 0 or where.max() >= read.points:
        strange = int(where.min() if where.min() < 0 else where.max())
        raise InputError(
            f'Place "{name}" names point {strange}; the grid has 0 to {read.points - 1}.', key=f"places.{name}"
        )
    number = read.number[where.ravel()]
    if (number < 0).any():
        lost = int(where.ravel()[int(np.argmax(number < 0))])
        raise InputError(f'Place "{name}" names point {lost}, which no cell uses.', key=f"places.{name}")
    inside = np.zeros(len(read.point), dtype=bool)
    inside[number] = True
    return inside


# ---- holding and loading


def held_and_loaded(model: PlaneModel, acting: Acting, found: Mapping[str, Picked]) -> PlaneModel:
    """The model with everything that holds and loads it.

    Raises
    ------
    InputError
        For axes and amounts that cannot be meant, and places that cannot take them; where nothing acts.
    """
    for place, axes in acting.holds.items():
        model = _held(model, place, axes, found[place])
    if not acting.loads:
        raise InputError(
            'Nothing acts on the grid; give a load: traction = {"right": (1.0, 0.0)} in MPa, force = {"right": '
            '(0, -400)} in N, or pressure = {"top": 0.5} in MPa.',
            key="force",
        )
    places = [place for _, place, _ in acting.loads]
    for kind, place, amount in acting.loads:
        name = place if places.count(place) == 1 else f"{kind} {place}"
        model = _LOADED[kind](model, place, amount, name, found[place])
    return model


def _held(model: PlaneModel, place: str, axes: Any, where: Picked) -> PlaneModel:
    key = f"fix.{place}"
    if axes == "normal":
        _sides(place, where, key)
        return model.roller(place, name=place)
    wanted = tuple(axes) if isinstance(axes, str | Sequence) else ()
    if not wanted or not set(wanted) <= {"x", "y"}:
        raise InputError(
            f'"{place}" is fixed along {shorten(repr(axes))}; give "x", "y", "xy", or "normal" (free to slide along '
            "the edge).",
            key=key,
        )
    return model.fix(place + POINTS, tuple(dict.fromkeys(wanted)), name=place)


def _sides(place: str, where: Picked, key: str) -> None:
    if len(where.sides) == 0:
        raise InputError(
            f'Place "{place}" has {len(where.points)} points, but no whole side of the grid\'s edge '
            "between them; choose all points of at least one side, middle points as well.",
            key=key,
        )


def _traction(model: PlaneModel, place: str, amount: Any, name: str, where: Picked) -> PlaneModel:
    _sides(place, where, f"traction.{place}")
    return model.traction(place, pair_of(amount, "stress", f"traction.{place}"), name=name)


def _pressure(model: PlaneModel, place: str, amount: Any, name: str, where: Picked) -> PlaneModel:
    _sides(place, where, f"pressure.{place}")
    return model.pressure(place, amount_of(amount, "stress", f"pressure.{place}"), name=name)


def _force(model: PlaneModel, place: str, amount: Any, name: str, where: Picked) -> PlaneModel:
    pair = pair_of(amount, "force", f"force.{place}")
    if len(where.points) == 1:
        return model.force(place + POINTS, pair, name=name)
    _sides(place, where, f"force.{place}")
    if where.is_round_hole(model.mesh):
        return model.bearing(place, pair, name=name)
    return model.force(place, pair, name=name)


_LOADED: dict[str, Callable[[PlaneModel, str, Any, str, Picked], PlaneModel]] = {
    "traction": _traction,
    "force": _force,
    "pressure": _pressure,
}


def pair_of(given: Any, dimension: str, key: str) -> tuple[float, float]:
    """Two numbers in N or MPa, or two quantities.

    Raises
    ------
    InputError
        For anything else.
    """
    if isinstance(given, str) or not isinstance(given, Sequence | np.ndarray) or len(given) != 2:
        raise InputError(f"{key} is {shorten(repr(given))}; give x and y, as in (0, -400).", key=key)
    return amount_of(given[0], dimension, key), amount_of(given[1], dimension, key)


def amount_of(given: Any, dimension: str, key: str) -> float:
    """A number in N or MPa, or a quantity.

    Raises
    ------
    InputError
        For anything else, and what is not finite.
    """
    if isinstance(given, str):
        return parse_quantity(given, dimension, key=key)
    try:
        value = float(given)
    except (TypeError, ValueError):
        value = float("nan")
    if not np.isfinite(value):
        raise InputError(f"{key} has {shorten(repr(given))}; give a finite number or a quantity.", key=key)
    return value
