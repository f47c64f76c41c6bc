"""Failure modes that other packages bring: what they are asked, and what of their answers is checked."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ..errors import ExtensionError, unusable
from ..wood.model import Wood
from .interaction import PlaneStrength

Array = NDArray[np.float64]
Criterion = Callable[[Array, Mapping[str, float], Wood], Array]


@dataclass(frozen=True)
class Mode:
    """A failure mode as another package brings it.

    Parameters
    ----------
    criterion : function
        ``criterion(stress, strengths, wood)``: from stresses (k, 3) in grain axes (σ_0, σ_90, τ, MPa, tension
        positive), the strengths on the chosen basis by name (MPa) and the `Wood`, the utilisation (k,) of each by
        itself: finite, at least 0, and 1/λ with λ the factor on the stresses at which the criterion is met, so that
        twice the stresses have twice the utilisation.
    decides : bool
        Whether it can govern the verdict; it stands beside otherwise.
    end : {"breaks", "crushes"}
        What happens where it is reached.

    Examples
    --------
    Shear against its strength alone:

    >>> mode = Mode(lambda stress, strengths, wood: abs(stress[:, 2]) / strengths["shear"])
    >>> mode.decides, mode.end
    (False, 'breaks')
    """

    criterion: Criterion
    decides: bool = False
    end: Literal["breaks", "crushes"] = "breaks"


@dataclass(frozen=True)
class Further:
    """A mode with its name, and whose it is.

    Parameters
    ----------
    name : str
        The word of the verdict.
    package, who : str
        The package with its version; and the same as messages begin with it.
    mode : Mode
    """

    name: str
    package: str
    who: str
    mode: Mode

    def use(self, stress: Array, strength: PlaneStrength, wood: Wood) -> Array:
        """Utilisation (k,) for stresses (k, 3) in grain axes, MPa.

        Raises
        ------
        ExtensionError
            For another shape, and for what is not finite or below 0; whatever else goes wrong in it.
        """
        if len(stress) == 0:
            return np.zeros(0)
        try:
            with np.errstate(all="ignore"):
                given = self.mode.criterion(stress.copy(), MappingProxyType(asdict(strength)), wood)
                found = np.array(given, dtype=float)
        except KeyboardInterrupt:
            raise
        except BaseException as error:  # foreign code may also end the process
            said = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
            raise self._refused(f"it fails ({said}).") from error
        if found.shape != (len(stress),):
            raise self._refused(
                f"it answers with shape {found.shape} for {len(stress)} stresses, not ({len(stress)},)."
            )
        wrong = np.flatnonzero(~(np.isfinite(found) & (found >= 0.0)))
        if len(wrong):
            first = wrong[0]
            along, across, shear = stress[first]
            raise self._refused(
                f"it answers {found[first]:g} for σ_0 = {along:.4g}, σ_90 = {across:.4g}, τ = {shear:.4g} MPa; a "
                "utilisation is finite and not below 0."
            )
        return found

    def try_out(self, strength: PlaneStrength, wood: Wood) -> None:
        """Refuse a mode that does not grow as the stresses do, or does not take each stress by itself."""
        angles = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
        turn = np.stack([np.cos(angles), np.sin(angles), np.sin(2.0 * angles + 0.5)], axis=1)
        stress = np.concatenate([turn, np.eye(3), -np.eye(3)]) * [10.0, 1.0, 2.0]
        found = self.use(stress, strength, wood)
        for name, factor in (("Twice", 2.0), ("A thousandth of", 1e-3)):
            other = self.use(factor * stress, strength, wood) / factor
            off = np.abs(other - found)
            if (off > 1e-6 * max(float(found.max()), 1e-300)).any():
                i = int(off.argmax())
                raise self._refused(
                    f"it does not grow as the stresses do. {name} the stress has {factor * other[i]:.4g} for "
                    f"{found[i]:.4g}; give 1/λ, λ the factor on the stresses at which it is met (a root, of squares)."
                )
        if not np.allclose(self.use(stress[::-2], strength, wood), found[::-2], rtol=1e-9, atol=0.0):
            raise self._refused("its answer for a stress depends on the others that it is asked for.")

    def _refused(self, why: str) -> ExtensionError:
        return unusable(self.who, self.package.partition(" ")[0], why)
