"""``--sample``: variants drawn from ranges, choices and the scatter of the wood, the same ones every time.

Points are those of Sobol's sequence, scrambled by a seed: they cover many ranges evenly at any number, and a longer
sample begins with the shorter one, so that nothing is checked twice when more are asked for.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..part.axes import Axis, Span
from ..part.model import Part
from ..part.piece import LEAST_SHARE, PERCENTILES
from .run import Tell, run
from .store import Store
from .sweep import Sweep
from .vary import MOST, read_varied

Array = NDArray[np.float64]

FEWEST = 2
MOST_NAMES = 40
DIGITS = 4  # of a value that is drawn
SCATTER = {name: f"wood.percentile.{name}" for name in PERCENTILES}


def sample(
    part: Part,
    vary: Mapping[str, str | Sequence[object]],
    count: int = 200,
    *,
    seed: int = 0,
    scatter: bool = False,
    workers: int | None = None,
    out: str | Path | None = None,
    scheduler: str | None = None,
    tell: Tell | None = None,
) -> Sweep:
    """Check variants of a part drawn from ranges, choices and the scatter of its wood.

    Parameters
    ----------
    part : Part
    vary : mapping of str to str or sequence
        By name as ``--set`` takes it: a range ``"5 mm to 30 mm"``, evenly likely all along, or a list or range of
        values, of which each is equally likely. May be empty with `scatter`.
    count : int
        How many variants.
    seed : int
        Another seed gives another sample; the same the same one, and more begin with those of fewer.
    scatter : bool
        Whether each variant is one piece of the wood: its strength, toughness and stiffness drawn by their scatter
        (``[wood.percentile]``). On the mean basis, of clear wood.
    workers, out, scheduler, tell
        As for `fesolve.sweep`.

    Returns
    -------
    Sweep
        One row a variant, in the order of the sample.

    Raises
    ------
    InputError
        As `fesolve.sweep`, and for a count or seed that cannot be meant, and scatter where the wood has none.

    References
    ----------
    I. M. Sobol', On the distribution of points in a cube and the approximate evaluation of integrals, USSR Comput.
    Math. Math. Phys. 7 (1967) 86-112; A. B. Owen, Scrambling Sobol' and Niederreiter-Xing points, J. Complexity 14
    (1998) 466-489 (from memory; as scipy.stats.qmc has them).
    """
    names, variants = drawn(part, vary, count, seed=seed, scatter=scatter)
    asked = {
        "sample": count,
        "seed": seed,
        "scatter": scatter,
        "vary": {name: str(text) for name, text in vary.items()},
    }
    with Store(out, part) as store:
        rows = run(
            part,
            variants,
            json.dumps(asked, ensure_ascii=False),
            store,
            workers=workers,
            scheduler=scheduler,
            tell=tell,
        )
    return Sweep(part, tuple(_seen(one, variants) for one in names), tuple(rows))


def drawn(
    part: Part, vary: Mapping[str, str | Sequence[object]], count: int, *, seed: int = 0, scatter: bool = False
) -> tuple[list[Axis | Span], list[dict[str, str]]]:
    """What is varied, and the variants of a sample; raises as `sample`."""
    names = read_varied(part, vary) if vary or not scatter else []
    if scatter:
        names = [*names, *_scatter(part, [one.name for one in names])]
    if not FEWEST <= count <= MOST:
        raise InputError(f"A sample has {FEWEST} to {MOST:,} variants, not {count}.", key="--sample")
    if seed < 0:
        raise InputError(f"A seed is a whole number from 0 on, not {seed}.", key="--seed")
    if len(names) > MOST_NAMES:
        raise InputError(f"{len(names)} names are varied; a sample takes at most {MOST_NAMES}.", key="--sample")
    points = _points(len(names), count, seed)
    texts = [_texts(one, points[:, number]) for number, one in enumerate(names)]
    listed = [one.name for one in names]
    return names, [dict(zip(listed, row, strict=True)) for row in zip(*texts, strict=True)]


def _points(names: int, count: int, seed: int) -> Array:
    """Points in the unit cube (count, names): the first of a number that is a power of 2, over which they are even."""
    from scipy.stats import qmc

    power = max(count - 1, 1).bit_length()
    return np.asarray(qmc.Sobol(names, scramble=True, rng=np.random.default_rng(seed)).random_base2(power))[:count]


def _texts(one: Axis | Span, shares: Array) -> list[str]:
    """Values at shares (0 to 1) of what one name takes."""
    if isinstance(one, Axis):
        return [one.values[number] for number in (shares * len(one.values)).astype(int).tolist()]
    values = (one.low + shares * (one.high - one.low)) / one.size
    return [one.text(float(f"{value:.{DIGITS}g}") * one.size) for value in values.tolist()]


def _scatter(part: Part, names: Sequence[str]) -> list[Span]:
    """The three percentiles of a piece, each from 0.1 to 99.9 %; toughness not beside an own splitting length."""
    found = [name for name in SCATTER if not (name == "toughness" and part.wood.split_length is not None)]
    spans = [Span(SCATTER[name], LEAST_SHARE, 1.0 - LEAST_SHARE, "%", 0.01) for name in found]
    for span in spans:
        if span.name in names:
            raise InputError(f'"{span.name}" is varied, and --scatter draws it; leave one out.', key="--scatter")
    try:
        part.with_({span.name: "50 %" for span in spans})
    except InputError as error:
        raise InputError(f"Scatter cannot be drawn: {error.message}", key="--scatter") from None
    return spans


def _seen(one: Axis | Span, variants: Sequence[Mapping[str, str]]) -> Axis:
    """What one name took in a sample, the lowest value first; choices as they were given."""
    if isinstance(one, Axis):
        return one
    texts = sorted({row[one.name] for row in variants}, key=lambda text: float(text.split()[0]))
    numbers = tuple(float(text.split()[0]) * one.size for text in texts)
    return Axis(one.name, tuple(texts), numbers, one.unit, one.size)
