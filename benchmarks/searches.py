"""How many checks the least of a figure takes by several methods, on closed forms with noise; and indices from samples.

    python benchmarks/searches.py

Counts and distances from the least, no times: what a check costs is not ours to save here. Figures that a verdict would
give are formulas, with the scatter that a new mesh brings. docs/find-and-least.md quotes what it prints.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from fesolve.explore.least import _Search
from fesolve.explore.probe import Bound
from fesolve.explore.ranking import _cosines, explained
from fesolve.judge.outcome import Outcome, Row
from fesolve.part.axes import Span

NOISE = 3e-3  # of a figure, standard deviation of its logarithm
STARTS = 30
FINE = 160  # points along each range, for the least itself
ISHIGAMI = {"a": 0.3139, "b": 0.4424, "c": 0.0}  # first-order indices (Ishigami & Homma 1990)
Array = np.ndarray


@dataclass(frozen=True)
class Task:
    """A formula: mass and figures of values (n, k); ranges, and what the figures may be at most."""

    name: str
    formula: Callable[[Array], tuple[Array, dict[str, Array]]]
    ranges: Sequence[tuple[float, float]]
    most: dict[str, float]

    @property
    def spans(self) -> tuple[Span, ...]:
        return tuple(Span(f"x{n}", low, high, "mm", 1.0) for n, (low, high) in enumerate(self.ranges))

    def least(self) -> float:
        """The least mass within the bounds, on a fine grid that is refined about its best."""
        low, high = (np.array(end, dtype=float) for end in zip(*self.ranges, strict=True))
        best = math.inf
        for _ in range(4):
            lines = [np.geomspace(a, b, FINE if len(low) == 2 else 60) for a, b in zip(low, high, strict=True)]
            points = np.stack([one.ravel() for one in np.meshgrid(*lines)], axis=1)
            mass, figures = self.formula(points)
            kept = np.all([figures[name] <= most for name, most in self.most.items()], axis=0)
            place = int(np.argmin(np.where(kept, mass, np.inf)))
            best, at = float(mass[place]), points[place]
            step = np.array([line[1] / line[0] for line in lines]) ** 3
            ends = np.array(self.ranges)
            low, high = np.maximum(at / step, ends[:, 0]), np.minimum(at * step, ends[:, 1])
        return best


def cantilever(x: Array) -> tuple[Array, dict[str, Array]]:
    """Tip load 1 kN at 600 mm: M/S over 30 MPa, and deflection F L^3/(3 E I) with E = 12 GPa; x = b, d."""
    b, d = x.T
    return b * d, {"utilisation": 6 * 6e5 / (b * d**2) / 30, "deflection": 4 * 1e3 * 600**3 / (12e3 * b * d**3)}


def notched(x: Array) -> tuple[Array, dict[str, Array]]:
    """A made-up notched bar whose governing mode changes: bending, shear that grows with the notch, bearing in it."""
    t, d, n = x.T
    bends = 6 * 6e3 * 75 / (t * d**2) / 60
    splits = 4.5e3 / (t * (d - n)) / 8 * (1 + 3 * n / d)
    bears = 0.4 * (n / 10) ** -0.3 * 6e3 / (t * 40) / 5
    return t * (640 * d - 40 * n), {"utilisation": np.max([bends, splits, bears], axis=0)}


TASKS = (
    Task("cantilever, one bound", cantilever, [(20, 60), (60, 240)], {"utilisation": 0.8}),
    Task("cantilever, two bounds", cantilever, [(20, 60), (60, 240)], {"utilisation": 0.8, "deflection": 4.0}),
    Task("notched bar", notched, [(20, 50), (50, 120), (3, 30)], {"utilisation": 0.8}),
)


@dataclass
class Checks:
    """Formulas in place of checks, with noise that is the same whenever the same variant is asked for."""

    task: Task
    rng: np.random.Generator
    rows: list[Row] = field(default_factory=list)
    known: dict[tuple[str, ...], Row] = field(default_factory=dict)

    def say(self, _: str) -> None:
        """Nothing."""

    def row(self, changes: dict[str, str]) -> Row:
        key = tuple(changes.values())
        if key not in self.known:
            x = np.array([[float(text.split()[0]) for text in changes.values()]])
            mass, figures = self.task.formula(x)
            use, bends = (
                float(figures.get(name, np.ones(1))[0]) * math.exp(NOISE * self.rng.standard_normal())
                for name in ("utilisation", "deflection")
            )
            mode = "kinked" if len(self.task.ranges) > 2 and len(self.rows) % 2 else "one"  # kinks are not hidden
            made = Outcome(use, True, mode, "", "", 0.0, 0.0, 1.0, 1.0, 1.0, "", float(mass[0]), bends, 0.0)
            self.known[key] = Row(dict(changes), made)
            self.rows.append(self.known[key])
        return self.known[key]


def search_of(task: Task, seed: int) -> _Search:
    bounds = tuple(Bound(name, most, True) for name, most in task.most.items())
    return _Search(Checks(task, np.random.default_rng(seed)), task.spans, "mass", bounds, 400)  # type: ignore[arg-type]


def ours(search: _Search, start: Array) -> None:
    search.run(start.tolist())


def cobyla_once(search: _Search, start: Array) -> None:
    search._once(start, 0.25)


def by_scipy(method: str, **options: float) -> Callable[[_Search, Array], None]:
    def run(search: _Search, start: Array) -> None:
        from scipy.optimize import NonlinearConstraint, minimize

        kept = NonlinearConstraint(search.room, 0.0, np.inf)
        minimize(search.goal, start, method=method, bounds=[(0, 1)] * len(start), constraints=kept, options=options)

    return run


def by_surface(search: _Search, start: Array) -> None:
    """Radial basis functions through what is known, their least by differential evolution, checked, and again."""
    from scipy.interpolate import RBFInterpolator
    from scipy.optimize import differential_evolution
    from scipy.stats import qmc

    points = [start, *qmc.Sobol(len(start), rng=np.random.default_rng(0)).random_base2(4)[: 4 * len(start)]]
    for seed in range(12):
        seen = np.array([[search.goal(p), *search.room(p)] for p in points])
        surface = RBFInterpolator(np.array(points), seen, kernel="thin_plate_spline", degree=1, smoothing=1e-6)

        def worth(z: Array, surface: RBFInterpolator = surface) -> float:
            (found,) = surface(z[None])
            return float(found[0] + 20 * max(0.0, -found[1:].min()))

        best = differential_evolution(worth, [(0, 1)] * len(start), rng=seed, maxiter=60, popsize=10, tol=1e-6).x
        if np.linalg.norm(np.array(points) - best, axis=1).min() < 5e-3:
            return
        points.append(best)
    search.row(points[-1])


METHODS: dict[str, Callable[[_Search, Array], None]] = {
    "COBYLA, begun anew": ours,
    "COBYLA once": cobyla_once,
    "COBYQA": by_scipy("COBYQA", initial_tr_radius=0.25, final_tr_radius=0.01, maxfev=400),
    "SLSQP": by_scipy("SLSQP", eps=0.02, maxiter=30),
    "radial basis functions": by_surface,
}


def tried(task: Task, method: str, starts: int = STARTS) -> tuple[list[float], list[int]]:
    """How far above the least (in %; by the formula, of what keeps within the bounds by it) and in how many checks."""
    least, above, counts = task.least(), [], []
    for seed in range(starts):
        search = search_of(task, seed)
        METHODS[method](search, np.random.default_rng(seed).uniform(0.05, 0.95, len(task.ranges)))
        best = search.best()
        above.append(math.inf if best is None else 100 * (best.outcome.mass / least - 1))  # type: ignore[union-attr]
        counts.append(len(search.probe.rows))
    return above, counts


def index_errors(count: int = 320, seeds: int = 20) -> tuple[float, float]:
    """Root mean square error of Ishigami's indices: by scipy's own design of points, and from a sample of as many."""
    from scipy.stats import qmc, sobol_indices, uniform

    def function(x: Array) -> Array:
        return np.sin(x[0]) + 7 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])

    known, designed, given = np.array(list(ISHIGAMI.values())), [], []
    for seed in range(seeds):
        rng = np.random.default_rng(seed)
        dists = [uniform(-np.pi, 2 * np.pi)] * 3
        designed.append(sobol_indices(func=function, n=count // 5, dists=dists, rng=rng).first_order - known)
        x = np.pi * (2 * qmc.Sobol(3, rng=rng).random_base2(9)[:count] - 1)
        given.append(np.array([explained(_cosines(one), function(x.T)) for one in x.T]) - known)
    return tuple(float(np.sqrt(np.mean(np.square(one)))) for one in (designed, given))  # type: ignore[return-value]


def main() -> None:
    for task in TASKS:
        print(f"{task.name}: least {task.least():.5g}")
        for method in METHODS:
            above, counts = tried(task, method)
            near = sum(one < 1.0 for one in above)
            words = (
                f"{near} of {STARTS} within 1 %, worst {max(above):.1f} % above, {min(counts)} to {max(counts)} checks"
            )
            print(f"  {method:24s} {words}")
    designed, given = index_errors()
    print(f"Ishigami's indices from 320 evaluations, rms error: {designed:.3f} by a design, {given:.3f} from a sample")


if __name__ == "__main__":
    main()
