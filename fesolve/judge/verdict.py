"""The verdict: plain data from which the terminal, the pictures and verdict.json are all made.

Lengths mm, forces N, moments N mm, stresses MPa, always; what people read is converted in `fesolve.view`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from ..notebook import html_of
from ..wood.model import CLEAR, Factor
from .rows_cures import Cures
from .rows_extension import ExtensionRow
from .rows_hand import CodeRow, Mine
from .rows_interaction import AngleRow, JudgingRow, SizeRow
from .rows_piece import MoistureRow, PieceRow, ProofRow, RepeatsRow
from .rows_split import SplitRow
from .rows_sure import Chance, Sure, SureRow

Point = tuple[float, float]
End = Literal["breaks", "crushes", "dents"]

SPLITTING = "splitting"
SHEAR = "shear along grain"
TENSION_ACROSS = "tension across grain"
TENSION_ALONG = "tension along grain"
COMBINED = "combined"
COMPRESSION_ALONG = "compression along grain"
COMPRESSION_ACROSS = "compression across grain"
MODES = (
    SPLITTING,
    SHEAR,
    TENSION_ACROSS,
    TENSION_ALONG,
    COMBINED,
    COMPRESSION_ALONG,
    COMPRESSION_ACROSS,
)  # any other is that of another package
UNITS = {"length": "mm", "force": "N", "moment": "N mm", "stress": "MPa", "angle": "deg", "mass": "kg"}


@dataclass(frozen=True)
class Anchor:
    """What a place is measured from: the centre of a hole, or the nearest point of an edge, notch or corner.

    ``name`` is as the part file spells it: ``hole pivot``, ``edge A-B``; ``at`` (mm) is that centre or point;
    ``along`` (mm) is, on an edge, its distance from the edge's first corner, and ``corner`` the name of that.
    """

    name: str
    at: Point
    along: float | None = None
    corner: str = ""


@dataclass(frozen=True)
class DrawingInfo:
    """A drawing by its name in the part file and its SHA-256."""

    file: str
    sha256: str


@dataclass(frozen=True)
class PartInfo:
    """Which part this verdict is about; ``drawing`` is the file that its outline is from."""

    title: str
    file: str | None
    sha256: str
    drawing: DrawingInfo | None = None


@dataclass(frozen=True)
class MeshInfo:
    """The mesh behind the numbers.

    ``relative_error`` is the greatest estimated error of the means that the verdict rests on (of their peaks too, if
    asked for), over their size, and ``relative_error_of`` the mode it belongs to; None where nothing is loaded. Where
    splitting by energy governs it is crack closure against the domain integral (`.energy.mesh_by_energy`).
    ``stopped`` says why no finer mesh was made where the error is above the accuracy asked for. Of a mesh that was
    given and is used as it is ``file`` and ``sha256`` say which, and ``notes`` what is to be known of it.
    """

    points: int
    cells: int
    order: int
    rounds: int
    relative_error: float | None
    relative_error_of: str | None
    stopped: str = ""
    file: str = ""
    sha256: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class ReactionRow:
    """What one support does to the part: ``force`` (N) and ``moment`` (N mm) about the support's centre ``at``.

    ``patch`` holds a few points (mm) along the surface it covers, in order, the wood on their left.
    """

    name: str
    case: str
    force: Point
    moment: float
    kind: str
    on: str
    at: Point
    patch: tuple[Point, ...] = ()


@dataclass(frozen=True)
class LoadRow:
    """One applied load in one case: its resultant ``force`` (N, factor in) at ``at``; ``patch`` as for supports.

    ``partial`` is the partial load factor of limit states, which is in ``force``; 1 in every other family.
    """

    name: str
    case: str
    force: Point
    on: str
    at: Point
    patch: tuple[Point, ...] = ()
    partial: float = 1.0


@dataclass(frozen=True)
class ModeRow:
    """One failure mode in one case. ``value`` against ``allowable`` (MPa); ``utilisation`` is 1/(load factor).

    ``region`` is the region that it lies in, ``part`` outside all of them; empty where the part has none. ``means`` are
    σ_0, σ_90, τ (MPa) over the fibres that were averaged, of splitting and combined.
    """

    case: str
    mode: str
    end: End
    decides: bool
    value: float
    allowable: float
    utilisation: float
    at: Point | None
    where: str
    peak: float | None
    note: str
    measured_from: Anchor | None = None
    region: str = ""
    means: tuple[float, float, float] | None = field(default=None, kw_only=True)

    @property
    def is_share(self) -> bool:
        """Whether ``value`` is a share of 1 and no stress: of all stresses together."""
        return self.mode == COMBINED or self.mode not in MODES


@dataclass(frozen=True)
class BesideRow(ModeRow):
    """A mode that dents or crushes: reported beside, never deciding.

    ``name`` is the support or load, if one, or ``inside``; ``play_limit`` (mm) is what a dent may measure there.
    """

    name: str = ""
    depth: float | None = None
    play_limit: float | None = None


@dataclass(frozen=True)
class ContactRow:
    """How one one-way support touches in one case.

    ``force`` (N) is on the part; ``pressure`` (MPa) the greatest mean over 5 mm of surface, around the point ``at``;
    None where nothing bears or the support is a point. ``length`` (mm) is what touches, ``arcs`` (deg from +x,
    counter-clockwise) where a pin does.
    ``play`` (mm) is hole less pin, or a rest's gap; ``slip`` (mm) the greatest movement past the support where they
    touch; ``open``: no force at all. ``profile`` has, along what touches, point (mm) and pressure (MPa) as drawn: x, y,
    the normal out of the wood there, and the mean over 5 mm.
    """

    name: str
    case: str
    force: Point
    pressure: float | None
    at: Point | None
    length: float
    arcs: tuple[tuple[float, float], ...]
    play: float | None
    open: bool
    slip: float
    profile: tuple[tuple[float, float, float, float, float], ...] = ()


@dataclass(frozen=True)
class Governing(ModeRow):
    """The worst deciding row. ``load_factor`` is None where nothing loads it."""

    load_factor: float | None = None
    load_factor_kind: Literal["proportional", "searched"] = "proportional"


@dataclass(frozen=True)
class Takes:
    """The load that the part takes: N of the load named ``of``, or a factor on "all loads together".

    ``best`` is the middle of low and high energies; ``low`` and ``high`` are the least and the greatest of everything
    that was varied by itself (of the energies alone where nothing else was). ``judged`` is what the answer goes by: the
    part as drawn, with low energies. Of a strike all are its greatest elastic force, and ``own`` holds the first three
    in the quantity that the user gave it in, ``quantity``: (best, low, high) in mm/s of speed, or mm of drop or run.
    """

    best: float | None
    low: float | None
    high: float | None
    of: str
    quantity: Literal["force", "speed", "drop", "run"] = "force"
    own: tuple[float, float, float] | None = None
    judged: float | None = None


@dataclass(frozen=True)
class HotSpot:
    """One separate place where splitting threatens, worst first; ``region`` as for modes.

    ``no_limit`` names the place if the stress has no limit there; ``peak`` is None then.
    """

    rank: int
    case: str
    mode: str
    utilisation: float
    at: Point
    where: str
    path: tuple[Point, Point]
    exits_at: Point
    exits_where: str
    mean_length: float
    mean_s90: float
    mean_tau: float
    peak: float | None
    short_line: bool
    measured_from: Anchor | None = None
    no_limit: str = ""
    region: str = ""


@dataclass(frozen=True)
class HandRow:
    """One station of the hand calculation beside the mesh's figures.

    Seen along the member axis: ``shear`` positive pushes the part before the cut to the left, ``moment`` positive
    stretches the left side, dM/ds = V; ``at`` runs from the right face to the left one, ``tau_height`` (mm) is counted
    from the right face. ``tau_*`` and ``sigma_*`` carry the same signs. ``width`` is the greatest thickness on the cut,
    ``t`` that at the height of ``tau_vqit``. Where its layers differ in stiffness, A, I, Q and S are those of the
    transformed section and ``ratio`` is the stiffness where ``sigma_mcI`` is, over the one that they refer to.
    ``sigma_pull`` is the greatest tension M/S + N/A (0 at least). The ``*_region`` say where each lies. ``mine`` is the
    reader's own calculation, at a cut for which there is one.
    """

    station: str
    case: str
    at: tuple[Point, Point]
    depth: float
    width: float
    A: float
    I: float  # noqa: E741 - the trade's letter for the second moment of area
    Q: float
    S: float
    t: float
    axial: float
    shear: float
    moment: float
    shear_statics: float | None
    tau_vqit: float
    tau_height: float
    tau_mesh: float
    sigma_mcI: float
    sigma_mesh: float
    short: bool
    mine: Mine | None
    note: str
    position: float = 0.0  # mm along the member axis
    sigma_90: float | None = None  # across the grain by hand: in a bend, or where the grain slopes to the edge
    sigma_90_mesh: float | None = None
    ratio: float = 1.0
    sigma_pull: float = 0.0
    shear_region: str = ""
    sigma_region: str = ""
    pull_region: str = ""
    moment_statics: float | None = None


@dataclass(frozen=True)
class HandDiagram:
    """Shear and moment along the member for one case: arrays as tuples, one entry a sampled section."""

    case: str
    position: tuple[float, ...]
    shear_mesh: tuple[float, ...]
    moment_mesh: tuple[float, ...]
    shear_statics: tuple[float, ...] | None
    moment_statics: tuple[float, ...] | None


@dataclass(frozen=True)
class HandSummary:
    """The short story of the hand calculation.

    ``load`` is the load (N, or factor) at which the plain formula, holes and notches left out, reaches its strength;
    ``ratio`` is that over ``takes.best``; ``left_out`` names what is left out of it: ``hole``, ``holes and notch``.
    ``energy`` is the pin energy formula's load where it applies.
    """

    formula: str
    load: float | None
    ratio: float | None
    station: str
    beam_theory_applies: bool
    shear_governs: bool
    sentences: tuple[str, ...] = ()
    energy_low: float | None = None
    energy_high: float | None = None
    energy_at: str = ""  # the pin or load on a hole that it is for
    left_out: str = ""


@dataclass(frozen=True)
class Proportion:
    """A rule of proportion and how the part stands to it; ``met`` is None where the rule sets no bound."""

    rule: str
    value: float
    wanted: str
    source: str
    met: bool | None = None


@dataclass(frozen=True)
class Allowable:
    """A strength as used: value (MPa, or N/mm for an energy) on its basis, its factors in order, source, status.

    ``regions`` are those of that wood; empty where the part has none. ``case`` names the cases that it is for, empty
    for all; ``note`` is what to know.
    """

    mode: str
    value: float
    basis: str
    factors: tuple[Factor, ...]
    source: str
    status: str
    regions: tuple[str, ...] = ()
    case: str = ""
    note: str = ""


@dataclass(frozen=True)
class RegionRow:
    """One region: its thickness (mm), grain (deg), wood and drawn face; ``part`` is the rest."""

    name: str
    thickness: float
    grain: float
    wood: str
    face: str


@dataclass(frozen=True)
class FaceRow:
    """One growth plane's answer, when the board was unknown."""

    face: str
    utilisation: float
    best: float | None


@dataclass(frozen=True)
class Consequence:
    """What happens if the part breaks, in the user's words and as declared."""

    then: str | None
    people: str | None
    second_catch: bool | None


@dataclass(frozen=True)
class TimedMode:
    """The greatest utilisation that a mode reaches while a strike is followed through time, and when (s)."""

    mode: str
    utilisation: float
    time: float
    at: Point | None
    where: str
    measured_from: Anchor | None = None
    region: str = ""


@dataclass(frozen=True)
class ThroughTime:
    """A strike followed through time.

    ``peak_force`` (N) is the greatest between striker and part, at ``peak_time`` (s); ``rebound_speed`` (mm/s) is None
    where the striker does not come back while it is followed. ``modes`` holds the deciding ones, worst first. The
    arrays have one entry a step: time (s), force (N), utilisation of the places that decide, and energies (N mm) of
    striker and part. ``settled`` says whether half the step changes the force by no more than 2 %, ``resolved`` whether
    steps follow the first blow of two hard faces; ``step`` in s.
    ``sums`` is what loads, strike, ``reactions`` and inertia lack of balance at the peak, over strike and loads.
    """

    peak_force: float
    peak_time: float
    rebound_speed: float | None
    modes: tuple[TimedMode, ...]
    why: str
    step: float
    settled: bool
    resolved: bool
    sums: float
    reactions: tuple[tuple[str, Point], ...] = ()
    time: tuple[float, ...] = ()
    force: tuple[float, ...] = ()
    utilisation: tuple[float, ...] = ()
    striker_energy: tuple[float, ...] = ()
    part_energy: tuple[float, ...] = ()
    lost_energy: tuple[float, ...] = ()


@dataclass(frozen=True)
class StrikeRow:
    """One strike: what it brings, and its force by the balance of energy.

    ``mass`` (tonne), ``speed`` (mm/s), and ``quantity`` with ``amount`` (mm/s or mm) as the user gave its energy;
    ``energy`` (N mm) is m v^2/2. Forces in N: ``slow`` is the push alone, ``sudden`` the push that comes on at once,
    ``struck_low`` with the part's mass taken along and the face crushed beyond ``limit`` by ``dent`` (mm, taking
    ``dent_energy``), ``struck_high`` all elastic, which the part is judged for. ``stiffness`` (N/mm) is that of the
    whole row at ``struck_high`` and ``part_stiffness`` the part's own; ``part_mass`` (tonne) moves with the strike.
    ``contact_time`` (s) is half a swing. ``bottomed`` names pads that are pressed to their stop.
    """

    name: str
    case: str
    on: str
    direction: Point
    mass: float
    speed: float
    quantity: Literal["speed", "drop", "run"]
    amount: float
    energy: float
    push: float
    slow: float
    sudden: float
    struck_low: float
    struck_high: float
    limit: float
    dent: float
    dent_energy: float
    stiffness: float
    part_stiffness: float
    part_mass: float
    contact_time: float
    bottomed: tuple[str, ...] = ()
    through_time: ThroughTime | None = None


@dataclass(frozen=True)
class MovingRow:
    """Where a load or strike that may sit anywhere in a range is worst.

    ``start`` to ``stop`` (mm along ``on``) is the worst place of ``tried``; ``least`` and ``most`` are the smallest and
    greatest utilisation met there, on a first mesh.
    """

    name: str
    on: str
    start: float
    stop: float
    tried: int
    least: float
    most: float


@dataclass(frozen=True)
class VariantRow:
    """The same part held a little differently (friction, a worn pin), and its worst utilisation on the mesh.

    Without the hand calculation, and of a strike by the balance of energy; the worst of them is the one told.
    """

    what: str
    utilisation: float


@dataclass(frozen=True)
class NoLimit:
    """A place where the elastic stress has no limit, in words; ``case`` is None where it is so in every case."""

    at: Point
    what: str
    case: str | None


@dataclass(frozen=True)
class Verdict:
    """Everything that is said about one part."""

    part: PartInfo
    version: str
    basis: str
    margin: float
    wood: str
    face: str
    mesh: MeshInfo
    equilibrium: float
    loads: tuple[LoadRow, ...]
    reactions: tuple[ReactionRow, ...]
    modes: tuple[ModeRow, ...]
    governing: Governing | None
    takes: Takes
    hotspots: tuple[HotSpot, ...]
    beside: tuple[BesideRow, ...]
    hand: tuple[HandRow, ...]
    diagrams: tuple[HandDiagram, ...]
    hand_summary: HandSummary
    proportions: tuple[Proportion, ...]
    allowables: tuple[Allowable, ...]
    limits: tuple[str, ...]  # what limits the certainty, most important first
    if_it_breaks: Consequence
    judging: JudgingRow
    at_an_angle: tuple[AngleRow, ...] = ()
    codes: tuple[CodeRow, ...] = ()
    codes_missing: tuple[str, ...] = ()  # what the codes have no formula for, a sentence each
    family: str = CLEAR  # of its values: clear wood, allowable stress design, limit states
    size_effect: tuple[SizeRow, ...] = ()
    no_limit: tuple[NoLimit, ...] = ()
    strikes: tuple[StrikeRow, ...] = ()
    moving: tuple[MovingRow, ...] = ()
    variants: tuple[VariantRow, ...] = ()
    faces: tuple[FaceRow, ...] = ()
    regions: tuple[RegionRow, ...] = ()
    contacts: tuple[ContactRow, ...] = ()
    beyond_play: tuple[str, ...] = ()  # supports that dent deeper than their play allows: the part does not hold
    piece: PieceRow = field(default_factory=PieceRow)
    moisture_changes: tuple[MoistureRow, ...] = ()
    repeats: tuple[RepeatsRow, ...] = ()
    look_at: tuple[str, ...] = ()
    proof: ProofRow | None = None
    cautions: tuple[str, ...] = ()
    splits: tuple[SplitRow, ...] = ()
    sure: Sure | None = None  # None where nothing was varied
    why_sure: str = ""
    how_sure: tuple[SureRow, ...] = ()
    chance: Chance | None = None
    mass: float | None = None  # of the part, kg; None where a density is not known
    deflection: float = 0.0  # the farthest that any point of it moves in any case, play and gaps included, mm
    extensions: tuple[ExtensionRow, ...] = ()  # what other packages brought to it
    cures: Cures | None = None  # None where it was not asked what to change
    no_chance: str = ""  # why there is none, where the rest of "how sure" is there
    units: Mapping[str, str] = field(default_factory=lambda: dict(UNITS))

    def _repr_html_(self) -> str:
        return html_of("verdict", self)
