"""What the user says, resolved: every expression evaluated, every quantity in mm, N, MPa, deg, tonne.

These are descriptions only: no geometry is built and nothing is solved here. `read.py` makes them
from a part file and refuses what cannot be meant; whether a hole lies inside the outline is a
question for `fesolve.mesh`.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field

Point = tuple[float, float]
Face = Literal["flat-sawn", "quarter-sawn"]
Interaction = Literal["Norris", "Norris with product", "Tsai-Hill", "Hoffman", "Tsai-Wu"]


class Description(BaseModel):
    """Base of all part descriptions: frozen, and closed to unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Place(Description):
    """Where a support or load sits: ``edge A-B``, ``corner A``, ``hole pivot``, ``notch N floor``.

    ``start`` and ``stop`` (mm) run along the edge before rounds and notches, from its first corner;
    both are None where the whole of it is meant. ``edges`` are those that one name stands for together.
    """

    kind: Literal["edge", "corner", "hole", "notch"]
    name: str
    face: Literal["start", "floor", "end"] | None = None
    start: float | None = None
    stop: float | None = None
    with_rounds: bool = False
    edges: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The place as the part file spells it: ``edge A-B``, ``notch N floor``."""
        return " ".join(word for word in (self.kind, self.name, self.face) if word)


class Corner(Description):
    """A corner of the outline; ``bow`` is the rise (mm, outward positive) of an arc to the next corner.

    ``edge`` is the name of the edge to the next corner where it has one of its own, else it is called by both corners.
    Outward is out of the polygon of the corners, which in an opening is into the wood.
    """

    name: str
    at: Point
    round: float = 0.0
    bow: float = 0.0
    edge: str | None = None


def edge_names(corners: tuple[Corner, ...]) -> tuple[str, ...]:
    """Names of the edges of a closed loop in order, first to second corner: ``("A-B", "B-C", …)``."""
    following = corners[1:] + corners[:1]
    return tuple(one.edge or f"{one.name}-{two.name}" for one, two in zip(corners, following, strict=True))


class Hole(Description):
    """A circular hole, or a straight slot with round ends.

    A slot has a ``length`` over its ends (mm, greater than ``diameter``, its width) and the ``angle`` of its
    long axis (deg, counter-clockwise from +x). ``key`` is where it stands in the part file, for messages.
    """

    name: str
    center: Point
    diameter: float
    length: float | None = None
    angle: float = 0.0
    key: str = ""


class Opening(Description):
    """A hole of any other form, by its corners; its edges are named as those of the outline are."""

    name: str
    corners: tuple[Corner, ...]
    key: str = ""


class Notch(Description):
    """A notch cut into a straight edge; ``start``/``stop`` as for Place; ``round`` at its floor corners.

    ``start`` to ``stop`` is its mouth, at the edge's surface. ``ramp`` is the run for a rise of 1 of the start and
    of the end face (0: square to the edge): the floor is shorter than the mouth by ``depth * (ramp[0] + ramp[1])``.
    An end notch has one face, and the other entry of ``ramp`` is 0. ``drill`` is the diameter (mm) of the hole
    that each inner corner is drilled out with, centred on the corner, where floor and face meet.
    """

    name: str
    edge: str
    start: float
    stop: float
    depth: float
    round: float = 0.0
    ramp: tuple[float, float] = (0.0, 0.0)
    drill: float | None = None


class Support(Description):
    """What holds the part. ``stiffness`` (spring) is N/mm for each mm of edge; lengths in mm.

    ``pin_stiffness`` (N/mm, in x and in y) is that of a pin which gives; None: rigid. ``worn`` is the play (hole less
    pin) once the pin is worn. ``play_limit`` is how deep the wood may be dented there.
    """

    name: str
    kind: Literal["fixed", "roller", "spring", "rest", "pin"]
    on: Place
    axes: tuple[Literal["x", "y"], ...] | None = None
    stiffness: float | None = None
    pin: float | None = None
    pin_stiffness: float | None = None
    worn: float | None = None
    gap: float | None = None
    friction: float | None = None
    play_limit: float | None = None


class Action(Description):
    """What acts at a place on the surface; where it can be anywhere in a range, ``on`` is one position of it.

    ``width`` is then how much of the edge it covers, and ``anywhere`` the range (mm along the edge) that it keeps to.
    """

    name: str
    on: Place
    width: float | None = None
    anywhere: tuple[float, float] | None = None

    def moved(self, start: float) -> Self:
        """Give it at another position: over ``start`` to ``start + width`` (mm) of its edge.

        Raises
        ------
        ValueError
            If it stays in one place.
        """
        if self.width is None:
            raise ValueError(f'"{self.name}" stays in one place')
        return self.model_copy(update={"on": self.on.model_copy(update={"start": start, "stop": start + self.width})})


class Load(Action):
    """What pushes. Exactly one of ``force`` (N, the sum), ``traction`` (MPa), ``pressure`` (MPa, into the wood).

    ``grows``: whether it grows when what the part takes is searched for. ``kind`` of action, for limit states.
    """

    force: Point | None = None
    traction: Point | None = None
    pressure: float | None = None
    grows: bool = True
    kind: str | None = None


class Pad(Description):
    """Something soft between striker and wood: ``stiffness`` in N/mm; ``travel`` (mm) is what it gives at most."""

    stiffness: float
    travel: float | None = None


class Strike(Action):
    """What hits the part: a moving mass and what is soft between it and the wood.

    ``direction`` is the unit vector along which the striker moves. Of ``mass`` (tonne) and ``inertia`` (tonne mm^2,
    about the pivot of the striker, which hits at the distance ``arm``, mm) exactly one is set; so is one of ``speed``
    (mm/s), ``drop`` (mm, the height it falls), and ``run`` (mm) down a ``slope`` (deg) that it rolls. ``push`` (N)
    goes on after the blow; None: what a drop or a slope makes of the striker's weight. ``striker_stiffness`` and
    ``mount_stiffness`` are N/mm; None: rigid.
    """

    direction: Point
    mass: float | None = None
    inertia: float | None = None
    arm: float | None = None
    speed: float | None = None
    drop: float | None = None
    run: float | None = None
    slope: float | None = None
    push: float | None = None
    striker_stiffness: float | None = None
    mount_stiffness: float | None = None
    pad: Pad | None = None


class Gravity(Description):
    """Self-weight; ``direction`` a unit vector, ``density`` in tonne/mm^3 (None: the species')."""

    direction: Point
    density: float | None = None
    grows: bool = False


class Case(Description):
    """A load case: factor by name of load and strike (``gravity`` included); how long it lasts, as written and in s.

    A case with a strike is a blow and has no duration. On the design basis of a strength class ``factors`` hold the
    partial load factors, which ``partial`` names by load, and ``accidental`` says whether one of them is an accident.
    A case with a strike is a blow and has no duration. ``repeats`` is how many times it comes (``often`` as written),
    None where nobody said. ``moisture_change`` is a change of moisture as written; in percent of moisture it is the
    factor of the load "moisture".
    """

    name: str
    factors: Mapping[str, float]
    duration: str | None = None
    seconds: float | None = None
    partial: Mapping[str, float] = Field(default_factory=dict)
    accidental: bool = False
    repeats: float | None = None
    often: str | None = None
    moisture_change: str | None = None


class Cut(Description):
    """A section at which the hand calculation is wanted, from point to point (mm).

    ``mine`` holds the reader's own figures there by their letter (b, h, t, A, S, Q, I, N, V, M, tau, sigma; mm, N,
    N mm, MPa), ``case`` the load case that they are for: None where there is one case, or none of them needs it.
    """

    name: str
    start: Point
    stop: Point
    mine: Mapping[str, float] = MappingProxyType({})
    case: str | None = None


class Crack(Description):
    """A crack that is there already: it begins ``at`` (mm) and runs ``length`` (mm) along the grain.

    ``direction`` is as written, a unit vector; None: into the wood.
    """

    name: str
    at: Point
    length: float
    direction: Point | None = None


class IfItBreaks(Description):
    """What follows when the part fails."""

    then: str | None = None
    people: Literal["none", "near", "carried"] | None = None
    second_catch: bool | None = None


class Seen(Description):
    """One thing that a look at the piece has shown; ``text`` as written.

    ``size`` (mm) is the depth of drying cracks (of one face, or ``both``), the length of an end crack or the diameter
    of a knot, None where it was not said; ``run`` that of a slope of grain, for a rise of 1.
    """

    kind: Literal["drying cracks", "end crack", "knot", "pith", "grain dives"]
    size: float | None = None
    both: bool = False
    run: float | None = None
    text: str = ""


class WoodChoice(Description):
    """The wood as the user names it; own values in MPa, N/mm (energies) and mm.

    With a lumber ``grade``: nominal ``size`` (thickness, width, in.), ``wet``, lasting ``temperature`` (degC),
    ``flat_use``, ``repetitive``, ``treated``; with a ``strength_class`` the ``service`` class.
    ``moisture`` and ``made_at`` (%) are those of the piece now and when it was made; ``shrinkage`` own strains along
    and across the grain for 1 % of moisture; ``seen`` what a look at it has shown.
    """

    species: str | None = None
    board: Literal["flat-sawn", "quarter-sawn", "unknown"] | None = None
    thickness: float
    grain: float = 0.0
    basis: str  # mean, a lower percentage as "lower 5%", design
    density: float | None = None
    elastic: Mapping[str, float] | None = None  # E_0, E_90, G (MPa), nu_0_90
    strength: Mapping[str, float] = MappingProxyType({})  # shear, tension_across, ... (MPa)
    fracture: Mapping[str, tuple[float, float]] = MappingProxyType({})  # G_Ic, G_IIc: (low, high) N/mm
    fracture_single: tuple[str, ...] = ()  # which energies were given as one value
    split_length: float | None = None
    grade: str | None = None
    strength_class: str | None = None
    size: tuple[int, int] | None = None
    wet: bool = False
    temperature: float | None = None
    flat_use: bool = False
    repetitive: bool = False
    treated: bool = False
    service: int | None = None
    moisture: float | None = None
    made_at: float | None = None
    shrinkage: Mapping[str, float] = Field(default_factory=dict)
    seen: tuple[Seen, ...] = ()
    percentile: Mapping[str, float] = Field(
        default_factory=dict
    )  # strength, toughness, stiffness: share of pieces with less


class RegionShape(Description):
    """A region of a mesh: all lines (mm) round its cells, and its ``borders``, those of them inside the wood."""

    sides: tuple[tuple[Point, Point], ...]
    borders: tuple[tuple[Point, Point], ...] = ()


class Shape(Description):
    """The shape of a mesh that is used as it is, and the names in it.

    ``groups`` are names that stand for one or several edges of the outline and the openings.
    """

    corners: tuple[Corner, ...]
    holes: tuple[Hole, ...] = ()
    openings: tuple[Opening, ...] = ()
    groups: Mapping[str, tuple[str, ...]] = Field(default_factory=dict)
    regions: Mapping[str, RegionShape] = Field(default_factory=dict)

    @property
    def chains(self) -> dict[str, tuple[str, ...]]:
        """The groups that are not called as their one edge is."""
        return {name: edges for name, edges in self.groups.items() if edges != (name,)}


class Region(Description):
    """A part of the wood that differs in thickness, grain or wood; None where it is as in the rest.

    ``corners`` (mm) go round its polygon (a strip is four of them) and may reach beyond the outline: the region is
    what lies inside both. Where regions overlap, the later one counts. ``thickness`` (mm) and ``grain`` (deg) are
    set where the user wrote them. ``wood`` is set where the user wrote any of species, board, elastic or strength,
    and is then complete: its thickness and grain are the region's, its basis the part's.

    A region of a mesh that is used as it is has a ``patch`` in place of corners.
    """

    name: str
    corners: tuple[Point, ...]
    patch: RegionShape | None = None
    thickness: float | None = None
    grain: float | None = None
    wood: WoodChoice | None = None


class Judging(Description):
    """How stresses are judged: ``combined`` names the criterion for stresses along and across the grain and shear.

    ``size_effect``: whether the effect of size is shown beside the modes.
    """

    combined: Interaction = "Norris"
    size_effect: bool = True


class MeshChoice(Description):
    """What the user asks for: ``size`` (mm) caps every element side, ``solver`` names one of another package.

    Or a mesh that is used as it is: its ``file``, and the ``scale`` (mm) of one unit of its coordinates.
    """

    size: float | None = None
    refine_limit: int | None = None
    solver: str | None = None
    file: str | None = None
    scale: float = 1.0


class DrawingUsed(Description):
    """The drawing that the outline is from: the name of its file, the SHA-256 of that, and what was made of it."""

    file: str
    sha256: str
    note: str


class Part(Description):
    """One part, as drawn, held and loaded.

    Where the shape is that of a mesh, ``shape`` is what was found in it. Until the mesh has been read there is none,
    and no corners, supports, loads and cases either: these name places on it.
    """

    title: str
    file: str | None = None
    sha256: str = ""
    mesh_accuracy: float = 0.01
    accuracy_of: Literal["mean", "peak"] = "mean"
    margin: Annotated[float, Field(ge=1.0)] = 1.5
    dimensions: Mapping[str, str] = MappingProxyType({})
    wood: WoodChoice
    corners: tuple[Corner, ...]
    holes: tuple[Hole, ...] = ()
    openings: tuple[Opening, ...] = ()
    notches: tuple[Notch, ...] = ()
    drawing: DrawingUsed | None = None
    chains: Mapping[str, tuple[str, ...]] = Field(default_factory=dict)  # edges that go by one name together
    regions: tuple[Region, ...] = ()
    cracks: tuple[Crack, ...] = ()
    supports: tuple[Support, ...] = ()
    loads: tuple[Load, ...] = ()
    strikes: tuple[Strike, ...] = ()
    gravity: Gravity | None = None
    cases: tuple[Case, ...]
    has_cases: bool = False  # False: the one case stands for "all loads act together", with the strike if there is one
    cuts: tuple[Cut, ...] = ()
    member_line: tuple[Point, ...] | None = None
    if_it_breaks: IfItBreaks = IfItBreaks()
    mesh: MeshChoice = MeshChoice()
    shape: Shape | None = None
    judging: Judging = Judging()
    source: Mapping[str, object] = MappingProxyType({})  # the parsed file before resolving, with overrides in

    def with_(self, changes: Mapping[str, object] | None = None, /, **named: object) -> Part:
        """The same part with values of its file replaced, read anew.

        Parameters
        ----------
        changes : mapping of str to object, optional
            By name as ``--set`` takes them, also those that are no Python names: ``{"wood.elastic.G": "700 MPa"}``.
        **named : object
            The same for plain names: ``pin_d="20 mm"``, ``species="Ash, white"``, ``grain="5 deg"``.

        Raises
        ------
        InputError
            For a name that does not exist and a value that cannot be meant.

        Examples
        --------
        >>> from fesolve.part.read import read_part
        >>> read_part("meshes/log_stop.toml").with_(pin_d="20 mm").dimensions["pin_d"]  # doctest: +SKIP
        '20 mm'
        """
        from .read import part_from  # which makes parts

        overrides = {**(changes or {}), **named}
        made = part_from(self.source, file=self.file, sha256=self.sha256, overrides=overrides, shape=self.shape)
        if made.mesh == self.mesh:
            return made
        return part_from(self.source, file=self.file, sha256=self.sha256, overrides=overrides)

    @property
    def edge_names(self) -> tuple[str, ...]:
        """Names of the outline's edges in order, first to second corner: ``("A-B", "B-C", …)``."""
        return edge_names(self.corners)

    @property
    def loops(self) -> tuple[tuple[Corner, ...], ...]:
        """The corners of the outline, then those of each opening."""
        return (self.corners, *(opening.corners for opening in self.openings))
