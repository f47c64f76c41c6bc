"""What a cut through a member is made of: layers of a region each, as the section that a hand calculation needs.

Layers that differ in stiffness along the member become one transformed section: each counts with its width times its
modulus over the modulus of most of the wood on the cut.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..part.model import Part, WoodChoice
from ..part.regions import BODY as REST
from ..wood.model import Wood
from .member import Layer
from .section import Section
from .zones import choice_of

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Makeup:
    """Thickness, grain and wood of the layers of a part's cuts; `woods` by region."""

    part: Part
    woods: Mapping[str, Wood]

    def choice(self, region: str) -> WoodChoice:
        """Thickness and grain of a region."""
        return choice_of(self.part, region)

    def wood(self, region: str) -> Wood:
        """The wood of a region."""
        return self.woods.get(region) or self.woods.get(REST) or next(iter(self.woods.values()))

    def strength(self, layers: Sequence[Layer], name: str) -> FloatArray:
        """One strength of each layer, ``bending`` among them, MPa, shape (k,)."""
        woods = [self.wood(layer.region) for layer in layers]
        return np.array([(one.bending if name == "bending" else one.strengths[name]).value for one in woods])

    def modulus(self, region: str, axis: FloatArray) -> float:
        """Modulus of elasticity of a region along a direction (2,), MPa: 1/S_xx of its compliance turned there.

        References
        ----------
        R. M. Jones, Mechanics of Composite Materials, 2nd ed. 1999, section 2.6 (from memory).
        """
        turned = self.choice(region).grain - float(np.degrees(np.arctan2(axis[1], axis[0])))
        return float(1.0 / self.wood(region).plane.compliance_xy(turned)[0, 0])

    def section(self, layers: Sequence[Layer], axis: FloatArray) -> Section:
        """The section of the layers of one cut, `axis` (2,) its normal."""
        thickness = [self.choice(layer.region).thickness for layer in layers]
        rows = tuple(((one.low, one.high), t) for one, t in zip(layers, thickness, strict=True))
        if len({one.region for one in layers}) == 1:
            return Section(rows)
        E = np.array([self.modulus(one.region, axis) for one in layers])
        area = np.array([(one.high - one.low) * t for one, t in zip(layers, thickness, strict=True)])
        most = max(E.tolist(), key=lambda one: float(area[one == E].sum()))
        return Section(rows, tuple((E / most).tolist()))
