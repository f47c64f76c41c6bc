"""The picture of a sweep, with what matters ranked where more than two things are varied."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import InputError
from ..units import Formatter
from ..view.sweep_charts import draw_sweep
from ..view.sweeps import limit_of

if TYPE_CHECKING:
    from .sweep import Sweep

_PNG = b"\x89PNG"


def check_picture(path: str | Path) -> None:
    """See, before anything is run, that no other file is in the picture's place; raises InputError if one is."""
    path = Path(path)
    if path.is_dir():
        raise InputError(f"{path} is a folder, but the picture would go there.", key="--out")
    if path.is_file():
        with path.open("rb") as stream:
            start = stream.read(len(_PNG))
        if start and start != _PNG:
            message = f"{path} is there already and is no picture, but the picture would go there."
            raise InputError(f"{message} Choose another --out, or --no-pictures.", key="--out")


def draw(sweep: Sweep, path: str | Path, formatter: Formatter, *, wanted: float | None = None) -> bool:
    """Draw a sweep as PNG: a curve, a map with the line where it stops being enough, or a ranking of what matters.

    Parameters
    ----------
    sweep : Sweep
    path : str or Path
    formatter : Formatter
    wanted : float, optional
        A utilisation that was sought, in place of that from which a variant is no longer enough.

    Returns
    -------
    bool
        False, and nothing written, where there is nothing to draw.

    Raises
    ------
    InputError
        If something else is there, or nothing can be written.
    """
    check_picture(path)
    ranking = sweep.ranking() if len(sweep.axes) > 2 else ()
    use = limit_of(sweep.basis, sweep.part.margin).use if wanted is None else wanted
    words = "margin used up" if wanted is None else "wanted"
    more = {"title": sweep.part.title, "use_words": words}
    try:
        return draw_sweep(sweep.axes, sweep.rows, formatter, Path(path), use=use, ranking=ranking, **more)
    except OSError as error:
        raise InputError(f"{path} cannot be written: {error.strerror or error}.", key="--out") from None
