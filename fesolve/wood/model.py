"""A wood as it is judged with: stiffness, strengths and fracture energies, each with source and status."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

from ..notebook import html_of
from .orthotropic import OrthotropicPlane

if TYPE_CHECKING:
    from .shrinkage import Shrinkage

Group = Literal["softwood", "hardwood"]
Face = Literal["flat-sawn", "quarter-sawn"]
Basis = str
"""``mean``, a lower percentage such as ``lower 5%``, or ``design``."""

CLEAR, ALLOWABLE, LIMIT = "clear wood", "allowable stress design", "limit states"
STRENGTHS = ("shear", "tension_across", "compression_across", "tension_along", "compression_along")
GIVEN = "given in the part file"
CHOICE = "choice of this program, no source"


@dataclass(frozen=True)
class Factor:
    """One step from a source's figure to a value as used.

    Parameters
    ----------
    name : str
        As its code or handbook writes it: ``C_D``, ``k_mod``, ``1 - 1.645 CoV``.
    value : float
        What is multiplied by; of an input to a formula (a specific gravity) the input.
    source : str
        Where it comes from, with edition and table.
    note : str
        What to know: from memory or read, or why it is left at 1.
    """

    name: str
    value: float
    source: str
    note: str = ""


@dataclass(frozen=True)
class Strength:
    """One strength.

    Parameters
    ----------
    mean : float
        Mean of clear wood, MPa; the length that splitting is averaged over is computed from it on every basis.
    value : float
        The strength on the chosen basis, MPa.
    cov : float
        Coefficient of variation, as a fraction.
    source, status, note : str
        Where the value comes from; ``read``, ``from memory``, ``computed here``, given or chosen; what to know.
    factors : tuple of Factor
        What turned the source's figure into ``value``, in order.
    """

    mean: float
    value: float
    cov: float
    source: str
    status: str
    note: str = ""
    factors: tuple[Factor, ...] = ()


@dataclass(frozen=True)
class Energy:
    """One fracture energy: ``low`` and ``high``, N/mm (1 N/mm = 1000 J/m2), with source and status of each end."""

    low: float
    high: float
    low_source: str
    low_status: str
    high_source: str
    high_status: str


@dataclass(frozen=True)
class Fracture:
    """What it takes to drive a crack along the grain.

    Parameters
    ----------
    G_Ic, G_IIc : (low, high)
        Fracture energies in opening and sliding, N/mm.
    split_length : float or None
        Own length (mm) that replaces the one computed from the energies.
    source, status, note : str
        Of both energies together.
    energies : mapping of str to Energy
        ``G_Ic`` and ``G_IIc`` with source and status of each end.
    """

    G_Ic: tuple[float, float]
    G_IIc: tuple[float, float]
    split_length: float | None
    source: str
    status: str
    note: str = ""
    energies: Mapping[str, Energy] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True)
class Graded:
    """The lumber grade or strength class behind a wood.

    Parameters
    ----------
    family : str
        ``"allowable stress design"`` or ``"limit states"``.
    name : str
        ``"Douglas Fir-Larch No.2"``, ``"C24"``.
    bending : Strength
        At an edge that bending stretches, where ``tension_along`` of the wood is for a pull; MPa.
    splitting : mapping of str to Strength
        ``shear``, ``tension_across``, ``compression_across`` that splitting is judged with.
    clear_plane : OrthotropicPlane
        Of the species: the splitting length is one of clear wood.
    stiffness : Strength
        E_0 as used, MPa, with its factors.
    specific_gravity : float or None
        Oven-dry, of the species combination; grades only.
    density_low : float or None
        Characteristic density, tonne/mm^3; classes only.
    bearing_factors : tuple of Factor
        On the bearing of dowels, for moisture and heat.
    """

    family: str
    name: str
    bending: Strength
    splitting: Mapping[str, Strength]
    clear_plane: OrthotropicPlane
    stiffness: Strength
    specific_gravity: float | None = None
    density_low: float | None = None
    bearing_factors: tuple[Factor, ...] = ()


@dataclass(frozen=True)
class Wood:
    """One wood, seen on one face, on one basis.

    Parameters
    ----------
    name : str
        The species' name, or ``"own wood"``.
    group : str
        ``"softwood"`` or ``"hardwood"``.
    face : str or None
        ``"flat-sawn"``, ``"quarter-sawn"``, or None where own elastic constants make it needless.
    plane : OrthotropicPlane
        Elastic constants on that face, means on every basis.
    density : float or None
        tonne/mm^3; None where nobody gave one.
    basis : str
        ``mean``, a lower percentage such as ``lower 5%``, or ``design``.
    strengths : mapping of str to Strength
        ``shear``, ``tension_across``, ``compression_across``, ``tension_along``, ``compression_along``.
    fracture : Fracture
        Fracture energies, the same on every basis.
    notes : tuple of str
        Every value that stands in for a missing one, as a full sentence with its status.
    elastic_source, elastic_status : str
        Of the elastic constants.
    species : str or None
        The species, where one was named.
    density_source, density_status : str
        Of the density; empty without one.
    graded : Graded or None
        The lumber grade or strength class, if it is one; None for clear wood.
    moisture : float or None
        %, where the part file states it; 12 % else.
    shrinkage : Shrinkage or None
        Strain along and across the grain for 1 % of moisture; None where it is not known.
    """

    name: str
    group: Group
    face: Face | None
    plane: OrthotropicPlane
    density: float | None
    basis: Basis
    strengths: Mapping[str, Strength]
    fracture: Fracture
    notes: tuple[str, ...]
    elastic_source: str
    elastic_status: str
    species: str | None = None
    density_source: str = ""
    density_status: str = ""
    graded: Graded | None = None
    moisture: float | None = None
    shrinkage: Shrinkage | None = None

    def _repr_html_(self) -> str:
        return html_of("wood", self)

    @property
    def family(self) -> str:
        """Which family the values belong to: clear wood, allowable stress design or limit states; never mixed."""
        return CLEAR if self.graded is None else self.graded.family

    @property
    def splitting(self) -> Mapping[str, Strength]:
        """The strengths that splitting is judged with: of a grade or class in part those of clear wood."""
        return self.strengths if self.graded is None else self.graded.splitting

    @property
    def bending(self) -> Strength:
        """Strength of fibres that bending stretches; where codes keep it apart from that of a pull."""
        return self.strengths["tension_along"] if self.graded is None else self.graded.bending

    @property
    def clear_plane(self) -> OrthotropicPlane:
        """Elastic constants of clear wood of the species, for the splitting length."""
        return self.plane if self.graded is None else self.graded.clear_plane
