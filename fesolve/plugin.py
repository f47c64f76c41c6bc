"""The accessor ``grid.fesolve`` of pyvista: thin, all work is done in `fesolve.on_grid`.

pyvista loads this module on the first ``grid.fesolve`` of a session, so nothing heavy is imported here but pyvista.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import pyvista

from .errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import ArrayLike

    from .analysis import Result
    from .fem.resultants import Resultants
    from .on_grid.solve import Solved


class GridAccessor:
    """What fesolve does with a plane grid: ``grid.fesolve.solve(…)`` gives a new grid, which can be asked further.

    Parameters
    ----------
    grid : pyvista.DataSet
        Made by pyvista when ``grid.fesolve`` is first read.
    """

    def __init__(self, grid: Any) -> None:
        self._grid = grid
        self._solved: Solved | None = None

    def solve(
        self,
        wood: Any,
        thickness: Any,
        grain: Any = 0.0,
        *,
        fix: Any = None,
        traction: Mapping[str, Any] | None = None,
        force: Mapping[str, Any] | None = None,
        pressure: Mapping[str, Any] | None = None,
        places: Mapping[str, Any] | None = None,
        basis: str | None = None,
        board: str | None = None,
        woods: Mapping[Any, Any] | None = None,
        length_unit: str = "mm",
        slits: bool = False,
        utilisation: bool = True,
    ) -> Any:
        """Solve this grid in plane stress, on its own cells.

        Parameters
        ----------
        wood : str, Wood, OrthotropicPlane, mapping or array
            A name of the tables with `basis` and `board`; a `fesolve.Wood`; elastic constants alone, as
            `fesolve.OrthotropicPlane` or ``{"E_0": …, "E_90": …, "G": …, "nu_0_90": …}`` in MPa; or a name for each
            cell, as an array or the name of one.
        thickness : float, str or array
            A number in `length_unit`, a quantity (``"18 mm"``), an array with one value a cell, or its name.
        grain : float, str or array
            From +x to the fibres, deg, counter-clockwise; also one a cell, or vectors along the fibres.
        fix : str, list of str, or mapping of str to str
            Places that are held, along ``"x"``, ``"y"``, ``"xy"`` or their ``"normal"``; both axes unless said.
        traction, force, pressure : mapping of str to (x, y), (x, y), number
            By place: a stress in MPa on the surface, a sum in N spread evenly, a pressure in MPa into the wood.
        places : mapping of str to where
            Names of your own: point numbers, a true-false array of the points or its name, or a function of x and y in
            the grid's unit. ``"left"``, ``"right"``, ``"bottom"``, ``"top"`` and true-false point arrays are known.
        basis, board : str, optional
            Of woods by name: ``"mean"`` or ``"lower 5%"``; ``"flat-sawn"`` or ``"quarter-sawn"``.
        woods : mapping, optional
            Woods by the names that an array of the cells uses.
        length_unit : str
            Of the grid's points: mm, cm, m, in, ft or yd.
        slits : bool
            Whether points on one another that are not joined are meant.
        utilisation : bool
            Whether stresses are held against the wood's strengths.

        Returns
        -------
        pyvista.UnstructuredGrid
            A new grid with the arrays of this one and, at its points, `displacement` (in `length_unit`), `stress_grain`
            (σ_0, σ_90, τ) and `stress_xy` (σ_x, σ_y, τ_xy) in MPa, `utilisation_<mode>`; on its cells
            `fesolve_thickness` (mm) and `fesolve_grain` (deg). Points repeat where thickness, grain or wood steps.

        Raises
        ------
        InputError
            For whatever cannot be used; FreeMotionError if the part can slide or turn.
        """
        from .on_grid.places import Acting
        from .on_grid.solve import Chosen, solve_on_grid

        chosen = Chosen(wood, thickness, grain, basis, board, woods or {})
        acting = Acting(fix, traction, force, pressure, places)
        cells = self._as_cells()
        made, solved = solve_on_grid(cells, chosen, acting, length_unit, slits=slits, utilisation=utilisation)
        made.fesolve._solved = solved
        return made

    @property
    def notes(self) -> tuple[str, ...]:
        """What was left out of a solved grid, and why, a sentence each."""
        return self._known("notes").notes

    @property
    def reactions(self) -> dict[str, Any]:
        """Force (2,) in N that each fixed place puts on the wood of a solved grid."""
        return dict(self._known("reactions").solution.reactions)

    def resultants(self, a: ArrayLike, b: ArrayLike) -> Resultants:
        """Axial force, shear and moment through the cut from a to b, of a solved grid.

        Parameters
        ----------
        a, b : (x, y)
            Points in the grid's unit; what lies outside the wood counts nothing.

        Returns
        -------
        Resultants
            ``N, V, M``: N, N and N mm. N is tension positive; V is the force towards b that the wood on the right of
            a → b puts on the wood on its left; M is positive where it stretches the end b.

        Raises
        ------
        InputError
            If this grid is not a solved one, or the cut meets no wood.
        """
        from .on_grid.ask import resultants_of

        return resultants_of(self._known("resultants"), a, b)

    def check(self, *, sure: bool = True, title: str = "a grid of pyvista") -> Result:
        """Judge a solved grid as `fesolve.check` judges a part, on the grid's own cells.

        Parameters
        ----------
        sure : bool
            Whether to say how sure the verdict is; see `fesolve.check`.
        title : str
            What the verdict calls it.

        Returns
        -------
        Result
            With the ``verdict``; ``save("folder")`` writes verdict.json, field.vtu and the pictures.

        Raises
        ------
        InputError
            If this grid is not a solved one, its wood has no strengths, or no outline can be made of its edge.
        """
        from .on_grid.check import check_on_grid

        return check_on_grid(self._known("a verdict"), title, sure=sure)

    def plot(self, file: str | Path | None = None, *, mode: str = "splitting", units: str = "si") -> Any:
        """Show utilisation on a solved grid, in the colours of fesolve's pictures.

        Parameters
        ----------
        file : path, optional
            A PNG to draw, with grain, loads and supports; it takes neither a screen nor OpenGL.
        mode : str
            ``"splitting"``, ``"combined"``, ``"shear along grain"``, …: any with an array ``utilisation_<mode>``.
        units : {"si", "us"}
            Of the figures on the PNG.

        Returns
        -------
        pyvista.Plotter or Path
            A plotter to ``.show()`` or to add to; with a `file`, its path.

        Raises
        ------
        InputError
            If this grid is not a solved one, has no utilisation of that mode, or the file cannot be written.
        """
        from .on_grid.show import picture, plotter

        solved = self._known("a picture")
        if file is None:
            return plotter(solved, self._grid, mode)
        return picture(solved, self._grid, mode, file, units)

    def _as_cells(self) -> Any:
        if isinstance(self._grid, pyvista.UnstructuredGrid):
            return self._grid
        return self._grid.cast_to_unstructured_grid()

    def _known(self, what: str) -> Solved:
        if self._solved is None:
            raise InputError(
                f"There is no solution behind this grid for {what}: it belongs to the grid that solve() returns, "
                "and does not go over to copies and files. Call grid.fesolve.solve(…) and keep what it returns."
            )
        return self._solved


pyvista.register_dataset_accessor("fesolve", pyvista.DataSet)(GridAccessor)
