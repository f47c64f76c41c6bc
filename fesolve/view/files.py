"""The results folder: verdict.json, hotspots.png, member.png, chance.png, split.png, strike.png, field.vtu.

Everything is written to a folder of its own beside the wanted one and renamed when it is whole, so that a
folder of results is never half of one.
"""

from __future__ import annotations

import contextlib
import json
import math
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError, SolveError
from ..judge.verdict import SPLITTING, StrikeRow, Verdict
from ..mesh.convert import write_vtu
from ..mesh.mesh import Mesh
from ..units import Formatter
from .blows import timed_strikes
from .sketch import Piece
from .splits import drawn_rows

if TYPE_CHECKING:
    from ..fem.solution import Solution
    from ..mesh.outline import Outline
    from ..part.model import Part

Array = NDArray[Any]
OUT = "--out"
VERDICT = "verdict.json"


@dataclass(frozen=True)
class Shown:
    """What pictures and field.vtu are made from.

    Parameters
    ----------
    polygons : sequence of (k, 2) arrays
        Outer outline first, then the holes, mm.
    points : (m, 2) array
        Stress points, mm.
    cells : (e, 6) array
        Six-node triangles by numbers of the points.
    utilisation : (m,) array
        Splitting in the governing case, which colours the picture.
    pieces : sequence of Piece
        The wood by the direction of its grain.
    borders : sequence of (2, 2) arrays
        Lines between regions, mm.
    cracks : sequence of (2, 2) arrays
        Cracks that the part has already, mm.
    point_data : mapping of str to (m, ...) array
        The arrays of field.vtu by name.
    """

    polygons: Sequence[Array]
    points: Array
    cells: Array
    utilisation: Array
    pieces: Sequence[Piece]
    borders: Sequence[Array]
    cracks: Sequence[Array]
    point_data: Mapping[str, Array]


def shown_of(
    part: Part, outline: Outline, solution: Solution, utilisation: Mapping[str, Mapping[str, Array]], verdict: Verdict
) -> Shown:
    """Gather what pictures and field.vtu are made from.

    Parameters
    ----------
    part : Part
    outline : Outline
    solution : Solution
        With one entry a case of the part, in their order.
    utilisation : mapping of case name to mapping of mode to (m,) array
        At the stress points.
    verdict : Verdict
        Its governing case colours the picture; the first where nothing governs.

    Returns
    -------
    Shown
        With the arrays `displacement` (m, 2) mm, `stress_grain` (m, 3) MPa, `stress_xy` (m, 3) MPa and one
        `utilisation_<mode>` (m,) a mode; behind ``case/`` where the part has cases.
    """
    data: dict[str, Array] = {}
    for number, case in enumerate(part.cases):
        prefix = f"{case.name}/" if part.has_cases else ""
        data[f"{prefix}displacement"] = solution.displacement[number][solution.stress_point]
        data[f"{prefix}stress_grain"] = solution.stress_grain[number]
        data[f"{prefix}stress_xy"] = solution.stress_xy[number]
        for mode, values in utilisation[case.name].items():
            data[f"{prefix}utilisation_{mode.replace(' ', '_')}"] = values
    shown = verdict.governing.case if verdict.governing else part.cases[0].name
    step = outline_step(outline)
    return Shown(
        polygons=[outline.polygon(number, step) for number in range(len(outline.loops))],
        points=solution.model.mesh.points[solution.stress_point],
        cells=solution.stress_cells,
        utilisation=utilisation[shown][SPLITTING],
        pieces=_pieces(part, solution),
        borders=[np.array([line.start, line.end]) for line in outline.interfaces],
        cracks=[np.array([one.start, one.at(one.tips[-1])]) for one in outline.splits],
        point_data=data,
    )


def _pieces(part: Part, solution: Solution) -> list[Piece]:
    """The wood by the direction of its grain."""
    if not part.regions:
        return [Piece(part.wood.grain)]
    corners = solution.model.mesh.points[solution.model.cells[:, :3]]
    grain = solution.model.cell_grain
    return [Piece(float(angle), corners[grain == angle]) for angle in np.unique(grain)]


def outline_step(outline: Outline) -> float:
    """Return a length (mm) by which the outline is drawn: small enough for its smallest arc to look round."""
    radii = [curve.radius for loop in outline.loops for curve in loop if curve.radius]
    return min([0.06 * radius for radius in radii], default=10.0)


def save_results(
    folder: Path | str,
    verdict: Verdict,
    shown: Shown,
    *,
    formatter: Formatter | None = None,
    pictures: bool = True,
) -> list[str]:
    """Write a results folder.

    Parameters
    ----------
    folder : path
        The results folder itself. Its parents are made; an earlier results folder is replaced whole.
    verdict : Verdict
        What verdict.json holds and the pictures say.
    shown : Shown
        Geometry and fields.
    formatter : Formatter, optional
        Units of the pictures; the files keep mm, N, N mm and MPa.
    pictures : bool
        Whether to draw hotspots.png and member.png.

    Returns
    -------
    list of str
        Notes for the user: which picture is missing, and why. Empty if all went well.

    Raises
    ------
    InputError
        If the folder holds something else, or cannot be written.
    """
    notes: list[str] = []
    with new_folder(folder) as draft:
        (draft / VERDICT).write_text(verdict_json(verdict), encoding="utf-8")
        mesh = Mesh(np.asarray(shown.points)[:, :2], {"triangle6": np.asarray(shown.cells)})
        write_vtu(draft / "field.vtu", mesh, shown.point_data)
        if pictures:
            notes = _draw(draft, verdict, shown, formatter or Formatter("si"))
    return notes


def _draw(draft: Path, verdict: Verdict, shown: Shown, formatter: Formatter) -> list[str]:
    """Draw all pictures; the verdict is worth having without them, so a failure becomes a note."""

    def hotspots(path: Path) -> None:
        from .pictures import draw_hotspots
        from .sketch import Look

        field = (shown.points, shown.cells, shown.utilisation)
        look = Look(shown.pieces, shown.borders, shown.cracks)
        draw_hotspots(verdict, shown.polygons, *field, look, path, formatter)

    def member(path: Path) -> None:
        from .charts import draw_member

        draw_member(verdict, path, formatter)

    def chance(path: Path) -> None:
        from .chance_chart import draw_chance

        draw_chance(verdict, path, formatter)

    drawings: dict[str, Callable[[Path], None]] = {"hotspots.png": hotspots, "member.png": member}
    if verdict.chance is not None:
        drawings["chance.png"] = chance
    if drawn_rows(verdict):
        drawings["split.png"] = _split(verdict, formatter)
    for name, row in timed_strikes(verdict):
        drawings[name] = _strike(verdict, row, formatter)
    return [note for name, draw in drawings.items() if (note := try_drawing(name, draw, draft / name))]


def _split(verdict: Verdict, formatter: Formatter) -> Callable[[Path], None]:
    def split(path: Path) -> None:
        from .split_chart import draw_split

        draw_split(verdict, path, formatter)

    return split


def _strike(verdict: Verdict, row: StrikeRow, formatter: Formatter) -> Callable[[Path], None]:
    def strike(path: Path) -> None:
        from .strike_chart import draw_strike

        draw_strike(verdict, row, path, formatter)

    return strike


def try_drawing(name: str, draw: Callable[[Path], None], path: Path) -> str:
    """Draw a picture; return why it is left out, if it is."""
    try:
        draw(path)
    except ImportError as error:
        path.unlink(missing_ok=True)
        return f"{name} is left out: a library for pictures is missing ({error}). Install matplotlib."
    except OSError:
        raise
    except Exception as error:
        path.unlink(missing_ok=True)
        if os.environ.get("FESOLVE_DEBUG"):
            raise
        return f"{name} is left out: drawing failed ({type(error).__name__}: {error}). Please report it."
    return ""


def verdict_json(verdict: Verdict) -> str:
    """Return the verdict as JSON text: always mm, N, N mm, MPa, and finite numbers only.

    Figures that could not be had (not a number) are null.

    Raises
    ------
    SolveError
        If the utilisation of a mode is not finite.
    """
    return json.dumps(plain(verdict), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def plain(value: Any, name: str = "") -> Any:
    """Return dataclasses, mappings, sequences and numpy scalars as what JSON knows."""
    if is_dataclass(value):
        return {each.name: plain(getattr(value, each.name), each.name) for each in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(item, str(key)) for key, item in value.items()}
    if isinstance(value, np.generic | np.ndarray):
        return plain(value.tolist(), name)
    if isinstance(value, list | tuple):
        return [plain(item, name) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        if name == "utilisation":
            raise SolveError("A utilisation is not a finite number; please report this with your part file.")
        return None
    return value


def check_folder(folder: Path | str, mark: str = VERDICT) -> Path:
    """Check, before anything is computed, that results can go to a folder.

    Parameters
    ----------
    folder : path
    mark : str
        The file by which earlier results of the same kind, which may be replaced, are known.

    Returns
    -------
    Path
        The folder, resolved.

    Raises
    ------
    InputError
        If it is a file, holds something other than earlier results, or lies where nothing may be written.
    """
    path = Path(folder)
    with _as_input_error(path):
        path = path.resolve()
        if path.is_dir():
            if any(path.iterdir()) and not (path / mark).is_file():
                raise InputError(
                    f"{folder} is not empty and holds no earlier results ({mark}). Choose a new folder.", key=OUT
                )
        elif path.exists():
            raise InputError(f"{folder} is a file, not a folder. Choose another.", key=OUT)
        parent = next(each for each in path.parents if each.exists())
        if not parent.is_dir():
            raise InputError(f"{parent} is a file; no folder can be made in it. Choose another.", key=OUT)
        if not os.access(parent, os.W_OK | os.X_OK):
            raise InputError(f"You may not write to {parent}. Choose another folder.", key=OUT)
    return path


@contextlib.contextmanager
def _as_input_error(folder: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        reason = error.strerror or str(error)
        raise InputError(f"Cannot write results to {folder}: {reason}. Choose another folder.", key=OUT) from error


@contextlib.contextmanager
def new_folder(folder: Path | str, mark: str = VERDICT) -> Iterator[Path]:
    """Give a draft folder that takes the wanted one's place when the block ends without an error.

    Raises
    ------
    InputError
        As `check_folder`, and if writing fails.
    """
    path = check_folder(folder, mark)
    made = [each for each in path.parents if not each.exists()]
    draft: Path | None = None
    try:
        with _as_input_error(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            draft = Path(tempfile.mkdtemp(prefix=f".{path.name}-", dir=path.parent))
            draft.chmod(0o777 & ~_umask())
            yield draft
            _put_in_place(draft, path)
    except BaseException:
        if draft is not None:
            shutil.rmtree(draft, ignore_errors=True)
        for each in made:  # innermost first; only those that were made here and are empty
            with contextlib.suppress(OSError):
                each.rmdir()
        raise


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _put_in_place(draft: Path, path: Path) -> None:
    """Rename the draft to its place; an earlier folder steps aside first and comes back if that fails."""
    if not path.exists():
        draft.rename(path)
        return
    aside = Path(tempfile.mkdtemp(prefix=f".{path.name}-old-", dir=path.parent))
    try:
        path.rename(aside / path.name)
        try:
            draft.rename(path)
        except OSError:
            (aside / path.name).rename(path)
            raise
    finally:
        shutil.rmtree(aside, ignore_errors=True)
