"""One march with one step: the state of part, striker and contact."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from .contact import Contact
from .history import Frame
from .motion import Motion
from .partitioned import Partitioned
from .scheme import Scheme
from .solution import Reaction
from .solve import _imbalance, _reactions
from .striker import Rows, Striker
from .touch import Met, Touch

if TYPE_CHECKING:
    from scipy.sparse import csc_array

Array = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True)
class Moment:
    """Unknowns of the part where the equations of a step are met; M⁻¹ kick is to be added to the acceleration."""

    time: float
    place: Array
    acceleration: Array
    kick: Array
    contact: Array


@dataclass(frozen=True)
class Start:
    """A part at rest, what strikes it, and what stays the same whatever the step is.

    Attributes
    ----------
    motion : Motion
    striker : Striker
    rows : Rows
    steady : (n, 2) array
        Nodal forces that act all the time, N.
    displacement : (n, 2) array
        Under them, mm.
    forces : (k,) array
        Of the rows, N.
    places : (p,) array
        Unknowns that rows touch.
    local : (k, p) array
        b of the rows there.
    impulses : Partitioned
        M.
    """

    motion: Motion
    striker: Striker
    rows: Rows
    steady: Array
    displacement: Array
    forces: Array
    places: IntArray
    local: Array
    impulses: Partitioned

    @classmethod
    def of(
        cls, motion: Motion, striker: Striker, rows: Rows, steady: Array, at_rest: tuple[Array, tuple[Contact, ...]]
    ) -> Start:
        """Put a start together from displacement and contacts under the steady loads."""
        displacement, contacts = at_rest
        forces = np.zeros(len(rows.gaps))
        pushes = [-np.einsum("ki,ki->k", c.force, c.support.normals) for c in contacts]
        if pushes:
            forces[~rows.moving] = np.concatenate(pushes)
        local = _local_rows(motion, rows)
        places = np.flatnonzero(np.diff(local.indptr))
        return cls(
            motion, striker, rows, steady, displacement, forces, places, local[:, places].toarray(),
            motion.impulses(places),
        )  # fmt: skip


def _local_rows(motion: Motion, rows: Rows) -> csc_array[Any]:
    """B of the rows in the unknowns (k, N) by columns, 0 where supports hold."""
    from scipy import sparse

    picked = rows.matrix.tocoo()
    node, axis = np.divmod(picked.coords[1], 2)
    axes = motion.system.frames.axes[node]  # (z, c, i)
    values = picked.data[:, None] * axes[np.arange(len(node)), :, axis]
    columns = 2 * motion.system.numbering.rank[node].astype(np.int64)[:, None] + [0, 1]
    keep = (np.abs(values) > 1e-14 * np.abs(picked.data).max(initial=0.0)) & ~motion.held[columns]
    lines = np.broadcast_to(picked.coords[0][:, None], columns.shape)
    shape = (len(rows.gaps), len(motion.held))
    return sparse.csc_array((values[keep], (lines[keep], columns[keep])), shape=shape)


def _forces_update(scheme: Scheme) -> Array:
    """(f - K u, M v, M a, right) at the end of a step from (f - K u, M v, M a, right, M d) of it, (4, 5).

    K d = right - c M d, as the step's equations have it, and u goes d/(1 - α_f) on.
    """
    result = np.zeros((4, 5))
    result[0] = np.array([1.0, 0.0, 0.0, -1.0 / (1.0 - scheme.alpha_f), scheme.inertia / (1.0 - scheme.alpha_f)])
    result[1:3, [1, 2, 4]] = scheme.update[1:, 1:]
    result[3] = np.array([1.0, *scheme.carried]) @ result[:3]
    return result


class Run:
    """The state of part, striker and contact from step to step.

    What rows change at once by closing, M⁻¹ times forces at their places, is kept as these forces: velocity and
    acceleration themselves are asked for only now and then, M v and M a in every step.
    """

    def __init__(self, start: Start, scheme: Scheme) -> None:
        motion, striker = start.motion, start.striker
        self.start, self.motion, self.scheme, self.striker, self.rows = start, motion, scheme, striker, start.rows
        self.moving = start.rows.moving.astype(float)
        self.places, self.local, self.mass = start.places, start.local, motion.inner
        self.equations = motion.equations(scheme.inertia, start.places)
        count = len(motion.held)
        self.state, self.spare = np.zeros((4, count)), np.zeros((4, count))  # u, v, a; d of the step that led there
        # f - K u, M v, M a, the right side of the step that follows; M d of the step that led there
        self.forces, self.spare_forces = np.zeros((5, count)), np.zeros((5, count))
        self.forces_update = _forces_update(scheme)
        self.state[0], self.load = motion.local(np.stack([start.displacement, start.steady]))
        self.forces[0, self.places] = -(start.forces @ self.local)
        self.forces[3] = self.forces[0]
        self.body = np.array([0.0, striker.speed, striker.push / striker.mass])
        self.kicks = self.spare_kicks = np.zeros((2, len(start.places)))  # of velocity and acceleration
        self.steps, self.blow = 0, 0.0
        self.touch = self._touch()
        self.contact = start.forces

    def _touch(self) -> Touch:
        rows, moving = self.rows, self.moving
        self.at_start = self.local @ self.state[0, self.places]
        motion = np.outer(-self.body, moving)
        motion[0] += self.at_start
        both = np.outer(moving, moving) / self.striker.mass
        gaps = rows.gaps - moving * self.at_start  # the striker's from the part as its steady loads have bent it
        steady = bool(self.start.steady.any())
        touching = self.start.forces > 0.0 if steady else gaps <= 0.0
        return Touch(
            scheme=self.scheme,
            answer=self.local @ self.equations.give @ self.local.T + both / self.scheme.inertia,
            mobility=self.local @ self.start.impulses.give @ self.local.T + both,
            gaps=gaps,
            limits=rows.limits,
            law=rows.law,
            moving=rows.moving,
            motion=motion,
            closed=touching & ~rows.moving & (np.diag(rows.give) == 0.0),
            forces=self.start.forces,
            give=rows.give,
        )

    @property
    def time(self) -> float:
        """Where the equations of the last step are met, s."""
        return (self.steps - self.scheme.alpha_f) * self.scheme.step

    @property
    def force(self) -> float:
        """Between striker and part in the last step, N."""
        return float(self.contact @ self.moving)

    def step(self) -> None:
        """Go one step on."""
        scheme, striker = self.scheme, self.striker
        way = self.equations.begin(self.forces[3])
        body = (striker.push / striker.mass + scheme.carried @ self.body[1:]) / scheme.inertia
        met = self.touch.step(self.local @ way - self.moving * body)
        self.contact, pushed = met.forces, met.whole @ self.local
        self.state[3] = self.equations.end(pushed)
        self.forces[3, self.places] += pushed
        body -= float(met.whole @ self.moving) / (scheme.inertia * striker.mass)
        if met.impulses.any() or met.pulls.any():
            self._jump(met)
        self.body = scheme.update @ np.array([*self.body, body])
        self._advance()
        self.steps += 1

    def _jump(self, met: Met) -> None:
        """Speeds and accelerations that change at once where rows close."""
        for row, change in ((1, met.impulses), (2, met.pulls)):
            kick = change @ self.local
            self.kicks[row - 1] += kick
            self.forces[row, self.places] += kick
            self.body[row] -= float(change @ self.moving) / self.striker.mass
        self.blow += float(met.impulses @ self.moving)

    def _advance(self) -> None:
        update = self.scheme.update
        self.forces[4] = self.mass @ self.state[3]
        np.dot(update, self.state, out=self.spare[:3])
        np.dot(self.forces_update, self.forces, out=self.spare_forces[:4])
        self.spare[3] = self.state[3]
        self.kicks, self.spare_kicks = update[1:, 1:3] @ self.kicks, self.kicks
        self.state, self.spare = self.spare, self.state
        self.forces, self.spare_forces = self.spare_forces, self.forces

    def place(self) -> Array:
        """Displacement where the equations of the last step are met, (N,)."""
        return np.asarray(self.spare[0] + self.state[3])

    def stroke(self) -> float:
        """How far the struck patch has moved there, mm."""
        moved = self.spare[0, self.places] + self.state[3, self.places]
        return float(self.rows.share @ (self.local @ moved - self.at_start))

    def pad_is_full(self) -> bool:
        """Whether the pad has bottomed out: on the stop under a rigid striker, or on the spring's harder piece."""
        touch, law = self.touch, self.rows.law
        if law is None or math.isinf(self.striker.pad_travel):
            return False
        if self.rows.stop is not None:
            return bool(touch.closed[self.rows.stop])
        return law.at(touch.compression) >= self.striker.pad_stiffness * self.striker.pad_travel

    def energies(self) -> tuple[float, ...]:
        """Kinetic, strain, striker, spring, and the potential of push and steady loads; N mm."""
        law, spring, kick = self.rows.law, self.touch.yielded, self.kicks[0]
        speed = self.state[1, self.places] + self.start.impulses.give @ kick
        if law is not None:
            spring += law.work(min(self.touch.compression, law.yields))
        return (
            0.5 * float(self.state[1] @ self.forces[1] + kick @ speed),
            0.5 * float(self.state[0] @ self.load - self.state[0] @ self.forces[0]),
            0.5 * self.striker.mass * float(self.body[1]) ** 2,
            spring,
            float(self.load @ self.state[0]) + self.striker.push * float(self.body[0]),
        )

    def now(self) -> Moment:
        """The last step's moment, copied."""
        scheme = self.scheme
        acceleration = scheme.inertia * self.state[3] - scheme.carried @ self.spare[1:3]
        return Moment(self.time, self.place(), acceleration, -scheme.carried @ self.spare_kicks, self.contact)

    def frame(self, moment: Moment) -> Frame:
        """The part at a moment, with reactions."""
        motion, rows, moving = self.motion, self.rows, self.moving
        fast = moment.acceleration
        if moment.kick.any():
            fast = fast + self.start.impulses.under(moment.kick)
        displacement, acceleration = motion.world(np.stack([moment.place, fast]))
        strike, supports = (
            np.asarray(rows.matrix.T @ (moment.contact * own)).reshape(-1, 2) for own in (moving, 1.0 - moving)
        )
        outside = self.start.steady + strike
        held, residual, elastic = motion.balance(displacement, acceleration, outside + supports)
        contacts = self._contacts(moment.contact, displacement)
        reactions = _reactions(motion.model, displacement, held, motion.pins_held)
        reactions += [Reaction(c.name, c.points, c.force) for c in contacts]
        inertia = motion.mass.product(acceleration)
        reference = sum(float(np.linalg.norm(f, axis=1).sum()) for f in (self.start.steady, strike))
        reference = reference or float(np.linalg.norm(inertia, axis=1).sum())
        return Frame(
            time=moment.time,
            force=float(moment.contact @ moving),
            displacement=displacement,
            acceleration=acceleration,
            reactions=tuple(reactions),
            contacts=contacts,
            residual=residual,
            imbalance=_imbalance(motion.model, outside - inertia, reactions, reference),
            energy=0.5 * float((displacement * elastic).sum()),
            pins_held=motion.pins_held,
        )

    def _contacts(self, forces: Array, displacement: Array) -> tuple[Contact, ...]:
        """How the one-way supports touch, with the rows' forces (k,) and displacements (n, 2)."""
        found, first, points = [], 0, self.motion.model.mesh.points
        for support in self.motion.model.contacts:
            push = forces[first : first + len(support.nodes)]
            first += len(support.nodes)
            pin, bears = (push @ support.normals) / np.array(support.mount), push > 0.0  # where springs let a pin go
            moved = displacement[support.nodes] - pin
            gap = support.gap - np.einsum("ki,ki->k", support.normals, moved)
            with np.errstate(divide="ignore", invalid="ignore"):
                pressure = np.where(support.area > 0, push / support.area, np.nan)
            found.append(
                Contact(
                    support=support,
                    points=points[support.nodes],
                    pressure=pressure,
                    gap=np.where(bears, 0.0, np.maximum(gap, 0.0)),
                    force=-push[:, None] * support.normals,
                    slip=np.einsum("ki,ki->k", support.tangents, moved),
                    status=np.where(bears, "closed", "open").astype("<U6"),
                    moved=pin,
                )
            )
        return tuple(found)
