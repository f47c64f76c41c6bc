"""The plane stiffness of wood: along the grain (0), across it (90), and shear.

Index 0 is along the grain and 90 across it. For a flat-sawn drawn face 90 is the tangential
direction (E_90 = E_T, G = G_LT, nu_0_90 = nu_LT); for a quarter-sawn face it is the radial one.
Stress and strain are ordered (0, 90, shear) in grain axes and (x, y, xy) in the part's, with
engineering shear strain. Angles are in degrees, counter-clockwise from +x to the fibres.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ..errors import InputError

FloatArray = NDArray[np.float64]


def stress_rotation(angle_deg: ArrayLike) -> FloatArray:
    """Matrix that turns stress in x, y into stress along and across the grain.

    stress_grain = T @ stress_xy, with c = cos(angle), s = sin(angle)::

        T = [[c^2, s^2, 2 s c], [s^2, c^2, -2 s c], [-s c, s c, c^2 - s^2]]

    Parameters
    ----------
    angle_deg : float or (k,) array
        Angle from +x to the fibres, counter-clockwise, deg.

    Returns
    -------
    (3, 3) or (k, 3, 3) array
        Rows (0, 90, shear), columns (x, y, xy); no unit. ``stress_rotation(-angle)`` is its inverse, and
        engineering strains turn with the transposed inverse.

    References
    ----------
    R. M. Jones, Mechanics of Composite Materials, 2nd ed. 1999, eq. 2.76 (equation number from memory; checked
    by the invariants of plane stress).

    Examples
    --------
    Pull of 1 MPa along x, fibres at 30 deg: cos^2 = 0.75 along, sin^2 = 0.25 across, -sin cos = -0.433 shear.

    >>> (stress_rotation(30.0) @ [1.0, 0.0, 0.0]).round(3).tolist()
    [0.75, 0.25, -0.433]
    """
    angle = np.deg2rad(np.asarray(angle_deg, dtype=np.float64))
    c, s = np.cos(angle), np.sin(angle)
    cc, ss, sc = c * c, s * s, s * c
    rows = [[cc, ss, 2 * sc], [ss, cc, -2 * sc], [-sc, sc, cc - ss]]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


@dataclass(frozen=True)
class OrthotropicPlane:
    """Elastic constants of wood in plane stress, refused where they could give back more work than was put in.

    Parameters
    ----------
    E_0, E_90 : float
        Moduli along and across the grain, MPa, above 0.
    G : float
        Shear modulus, MPa, above 0.
    nu_0_90 : float
        Poisson's ratio: strain across for a pull along the grain, within -+sqrt(E_0/E_90).

    Raises
    ------
    InputError
        For constants that are not finite or not positive definite, with the key path ``wood.elastic.<name>``.

    Examples
    --------
    >>> plane = OrthotropicPlane(E_0=10_000, E_90=500, G=800, nu_0_90=0.4)
    >>> plane.compliance().round(6).tolist()                           # 1/10 000, 1/500, 1/800, -0.4/10 000
    [[0.0001, -4e-05, 0.0], [-4e-05, 0.002, 0.0], [0.0, 0.0, 0.00125]]
    """

    E_0: float
    E_90: float
    G: float
    nu_0_90: float

    def __post_init__(self) -> None:
        for name in ("E_0", "E_90", "G", "nu_0_90"):
            value = float(getattr(self, name))
            object.__setattr__(self, name, value)
            if not isfinite(value):
                raise InputError(f"{name} is {value}; give a finite number.", key=f"wood.elastic.{name}")
            if name != "nu_0_90" and value <= 0:
                raise InputError(
                    f"{name} is {value:g} MPa; give a value above 0: the constants have to be positive definite "
                    "(the wood resists every strain).",
                    key=f"wood.elastic.{name}",
                )
        limit = sqrt(self.E_0 / self.E_90)
        if abs(self.nu_0_90) >= limit:
            raise InputError(
                f"nu_0_90 is {self.nu_0_90:g}, but with E_0 = {self.E_0:g} MPa and E_90 = {self.E_90:g} MPa it has to "
                f"lie between -{limit:.3g} and {limit:.3g} (|nu_0_90| < sqrt(E_0/E_90)), or the elastic constants are "
                "not positive definite. Was the small ratio (nu_90_0) meant, or were E_0 and E_90 exchanged?",
                key="wood.elastic.nu_0_90",
            )

    def compliance(self) -> FloatArray:
        """Strain for unit stress in grain axes, S: 1/E_0, 1/E_90, 1/G on the diagonal, -nu_0_90/E_0 beside it.

        Returns
        -------
        (3, 3) array
            1/MPa; rows strain, columns stress, both (0, 90, shear).
        """
        cross = -self.nu_0_90 / self.E_0
        return np.array([[1 / self.E_0, cross, 0.0], [cross, 1 / self.E_90, 0.0], [0.0, 0.0, 1 / self.G]])

    def reduced_stiffness(self) -> FloatArray:
        """Stress for unit strain in plane stress and grain axes, Q, the inverse of the compliance.

        Q_00 = E_0/d, Q_9090 = E_90/d, Q_090 = nu_0_90 E_90/d, Q_ss = G, with d = 1 - nu_0_90^2 E_90/E_0.

        Returns
        -------
        (3, 3) array
            MPa; rows stress, columns strain, both (0, 90, shear).

        References
        ----------
        R. M. Jones, Mechanics of Composite Materials, 2nd ed. 1999, eq. 2.70 (equation number from memory).

        Examples
        --------
        With E_0 = 100, E_90 = 25 and nu = 1: d = 0.75, so Q_00 = 133.3 and Q_090 = 33.3.

        >>> OrthotropicPlane(E_0=100, E_90=25, G=10, nu_0_90=1.0).reduced_stiffness()[0].round(1).tolist()
        [133.3, 33.3, 0.0]
        """
        d = 1 - self.nu_0_90**2 * self.E_90 / self.E_0
        cross = self.nu_0_90 * self.E_90 / d
        return np.array([[self.E_0 / d, cross, 0.0], [cross, self.E_90 / d, 0.0], [0.0, 0.0, self.G]])

    def stiffness_xy(self, grain_deg: ArrayLike) -> FloatArray:
        """Reduced stiffness in x, y for fibres at an angle: T^-1 Q T^-T.

        Parameters
        ----------
        grain_deg : float or (k,) array
            Angle from +x to the fibres, counter-clockwise, deg.

        Returns
        -------
        (3, 3) or (k, 3, 3) array
            MPa; rows stress, columns strain, both (x, y, xy).

        Examples
        --------
        Fibres upright: what was along the grain is now along y.

        >>> plane = OrthotropicPlane(E_0=12_000, E_90=600, G=780, nu_0_90=0.4)
        >>> bool(np.isclose(plane.stiffness_xy(90.0)[1, 1], plane.reduced_stiffness()[0, 0]))
        True
        """
        back = stress_rotation(-np.asarray(grain_deg, dtype=np.float64))
        return back @ self.reduced_stiffness() @ np.swapaxes(back, -1, -2)

    def compliance_xy(self, grain_deg: ArrayLike) -> FloatArray:
        """Compliance in x, y for fibres at an angle: T' S T.

        Parameters
        ----------
        grain_deg : float or (k,) array
            Angle from +x to the fibres, counter-clockwise, deg.

        Returns
        -------
        (3, 3) or (k, 3, 3) array
            1/MPa; rows strain, columns stress, both (x, y, xy).

        Examples
        --------
        At 45 deg S_xx = (1/E_0 + 1/E_90 + 1/G - 2 nu_0_90/E_0) / 4.

        >>> plane = OrthotropicPlane(E_0=1000, E_90=100, G=50, nu_0_90=0.5)
        >>> float(plane.compliance_xy(45.0)[0, 0].round(6))       # (0.001 + 0.01 + 0.02 - 0.001) / 4
        0.0075
        """
        forth = stress_rotation(grain_deg)
        return np.swapaxes(forth, -1, -2) @ self.compliance() @ forth

    def crack_stiffness(self) -> tuple[float, float]:
        """Effective moduli of a crack along the grain, opening and sliding: G_I = K_I^2/E_I, G_II = K_II^2/E_II.

        1/E_I = sqrt(S_00 S_9090 / 2) r and 1/E_II = (S_00 / sqrt 2) r,
        r = sqrt( sqrt(S_9090/S_00) + (2 S_090 + S_ss) / (2 S_00) ).

        Returns
        -------
        (E_I, E_II) : tuple of float
            MPa.

        References
        ----------
        G. C. Sih, P. C. Paris, G. R. Irwin, On cracks in rectilinearly anisotropic bodies, International Journal
        of Fracture Mechanics 1, 1965.

        Examples
        --------
        >>> E_I, E_II = OrthotropicPlane(E_0=12_000, E_90=600, G=780, nu_0_90=0.4).crack_stiffness()
        >>> round(E_I), round(E_II)
        (1106, 4948)
        """
        S_00, S_9090, S_ss = 1 / self.E_0, 1 / self.E_90, 1 / self.G
        S_090 = -self.nu_0_90 / self.E_0
        r = sqrt(sqrt(S_9090 / S_00) + (2 * S_090 + S_ss) / (2 * S_00))
        return 1 / (sqrt(S_00 * S_9090 / 2) * r), sqrt(2) / (S_00 * r)
