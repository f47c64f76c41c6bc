"""What limits the certainty of a verdict, and the cautions that go with it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from ..fem.solution import Solution
from ..part.model import Part, Support
from ..wood.duration import blow_sentence
from .modes import Inspection, Look
from .verdict import SPLITTING, Governing, MeshInfo, Proportion, ReactionRow, Takes, VariantRow

LOCAL_CODES = (
    "This is a calculation of clear wood, not a release for use: local codes and a licensed engineer decide, above all "
    "for anything overhead, under shock, or that people depend on."
)
SHOCK = (
    "The loads count as applied slowly. A shock counts more: a load applied suddenly counts twice, a blow or a rolling "
    "mass more than that (common practice, no source)."
)
GRADED = (
    "The values are a code's, the stresses a calculation's, not a release for use: local codes and a licensed engineer "
    "decide, above all for anything overhead, under shock, or that people depend on. A code's other rules (stability, "
    "bearing length, connections, fire) are not checked here."
)
BLOWS = (
    "One blow is judged. Every blow bruises the struck place and loosens pins, and a thousand weaken the wood; look at "
    "the part often, and take a cracked one out of service (common practice, no source).",
    "A part that stops a blow is never the only barrier: keep people out of the way, and have a second catch.",
    "Through time supports are without friction and wood without damping.",
)
AGAINST = 0.1  # share of a pin's force from which two pins are said to work against each other
MATTERS = 1.03  # variants nearer to each other than this are not told in a sentence
GONE = 0.05  # share of a range from which it is told that a notch or round takes it
BAND = 1.25  # a band wider than this is the first thing that limits the certainty


def limits_of(looks: Sequence[Look], takes: Takes, governing: Governing | None, mesh: MeshInfo) -> tuple[str, ...]:
    """What limits the certainty, most important first, a sentence each."""
    if governing is None:
        return ()
    look = next((one for one in looks if governing.region in one.inspection.regions), looks[0])
    found = []
    if takes.low and takes.high and takes.high > BAND * takes.low:
        energy = look.wood.fracture.G_Ic
        found.append(f"This piece's toughness decides: {1000 * energy[0]:.0f} to {1000 * energy[1]:.0f} J/m2.")
    spots = [field.low.spots[0] for field in look.fields if field.low.spots]
    if governing.mode == SPLITTING and any(bool(spot.windows.short[spot.index]) for spot in spots):
        found.append(
            "The line of fibres is shorter than the splitting length, so the answer is rough: trust the proportions."
        )
    if any(_fits(look.inspection, support) for support in look.inspection.part.supports):
        found.append("The pin is taken as rigid and without play; a loose one bears on less of its hole.")
    notes = _wood_notes(looks)
    if notes:
        found.append(f"{len(notes)} wood value(s) are stand-ins or joined rows; see the cautions.")
    if mesh.relative_error is not None:
        found.append(f"The mesh leaves an error of about {_percent(mesh.relative_error)}, estimated on the safe side.")
    return tuple(found)


def _fits(inspection: Inspection, support: Support) -> bool:
    """Whether a pin fills its hole."""
    patch = inspection.patches["support", support.name]
    return support.kind == "pin" and patch.bearing == patch.diameter


def limits_of_variants(rows: Sequence[VariantRow]) -> tuple[str, ...]:
    """A sentence where it matters how the part is held; the worst is the one told."""
    if not rows:
        return ()
    least, most = (pick(rows, key=lambda row: row.utilisation) for pick in (min, max))
    if most.utilisation <= MATTERS * least.utilisation or least.utilisation <= 0.0:
        return ()
    return (
        f"How it is held matters by {100 * (most.utilisation / least.utilisation - 1):.0f} %: worst {most.what} "
        f"(told here), best {least.what}.",
    )


def _wood_notes(looks: Sequence[Look]) -> list[str]:
    """What stands in for missing values, of every wood; with its regions where there are several woods."""
    several = any(look.wood != looks[0].wood for look in looks)
    return [
        f"{note} (Region {', '.join(look.names)}.)" if several else note for look in looks for note in look.wood.notes
    ]


def _percent(share: float) -> str:
    return "0.1 % or less" if share <= 0.001 else f"{100 * share:.2g} %"


def _mesh_error(mesh: MeshInfo, accuracy: float) -> list[str]:
    """A caution where the accuracy asked for was not reached."""
    if mesh.relative_error is None or mesh.relative_error <= accuracy:
        return []
    return [
        f"The error of the mesh ({mesh.relative_error_of}) is about {100 * mesh.relative_error:.2g} %, above the "
        f"{100 * accuracy:.2g} % asked for (mesh_accuracy): {mesh.stopped}."
    ]


def cautions_of(
    looks: Sequence[Look],
    reactions: Sequence[ReactionRow],
    solution: Solution,
    proportions: Sequence[Proportion],
    mesh: MeshInfo,
) -> tuple[str, ...]:
    """Everything that a reader has to know besides, a sentence or two each."""
    inspection = looks[0].inspection
    part = inspection.part
    graded = inspection.wood.graded is not None
    strength = () if graded else (blow_sentence(),)
    found = [
        GRADED if graded else LOCAL_CODES,
        *((*strength, *BLOWS) if part.strikes else (SHOCK,)),
        *_mesh_error(mesh, part.mesh_accuracy),
    ]
    found += _lifted(inspection, solution)
    found += _out_of_proportion(proportions)
    found += _working_against(inspection, reactions)
    found += [
        f'Load "{load.name}" acts on a single point: stress there has no limit.'
        for load in part.loads
        if load.on.kind == "corner"
    ]
    found += _cut_short(inspection)
    found += [part.drawing.note] if part.drawing else []
    found += [] if _grain_given(part) else ["No grain is given: 0 deg, along x, is taken."]
    found += [*_wood_notes(looks), _not_seen(part)]
    return tuple(dict.fromkeys(found))


def _cut_short(inspection: Inspection) -> list[str]:
    """Ranges along an edge, as written, that a notch or a round has taken a part of."""
    found = []
    for (_, name), patch in inspection.patches.items():
        on = patch.on
        if on.kind != "edge" or on.edges or (on.start is None and on.stop is None):
            continue
        start, stop = on.start or 0.0, inspection.outline.edge_length(on.name) if on.stop is None else on.stop
        if patch.length < (1.0 - GONE) * (stop - start):
            found.append(
                f'Of the {stop - start:.4g} mm of "{name}" only {patch.length:.3g} are left: a notch or a round takes '
                "the rest."
            )
    return found


def _grain_given(part: Part) -> bool:
    """Whether [wood] has a grain; a part without a file has it always."""
    wood = part.source.get("wood")
    return not isinstance(wood, Mapping) or "grain" in wood


def _not_seen(part: Part) -> str:
    """What was left out: what a look at the piece has shown, and its moisture, as far as nobody said."""
    seen = {one.kind for one in part.wood.seen}
    left = {
        "hidden decay": True,
        "checks from drying": not seen & {"drying cracks", "end crack"},
        "knots": "knot" not in seen,
        "moisture": part.wood.moisture is None,
        "wear": True,
        "glue lines": True,
    }
    return f"Not modelled: {', '.join(what for what, yes in left.items() if yes)}."


def _lifted(inspection: Inspection, solution: Solution) -> list[str]:
    """Supports that could push and do not touch, and parts that nothing stops and no load drives, case by case."""
    part = inspection.part
    found = []
    for number, case in enumerate(part.cases):
        where = f' in case "{case.name}"' if part.has_cases else ""
        for contact in solution.contacts[number] if solution.contacts else ():
            if contact.support.others is None and not contact.touching.any():
                kind = "Pin" if contact.support.center is not None else "Rest"
                found.append(
                    f'{kind} "{contact.name}" does not touch{where}: the part lifts off it, or its gap stays open.'
                )
        loose = solution.loose[number] if solution.loose else None
        if loose:
            found.append(f"Nothing holds it{where} against a small push: {loose}. The loads alone keep it in place.")
    return found


def _working_against(inspection: Inspection, reactions: Sequence[ReactionRow]) -> list[str]:
    """Pairs of rigid pins that push or pull against each other along the line between them."""
    found = []
    pins = [row for row in reactions if row.kind == "pin"]
    for number, one in enumerate(pins):
        for other in pins[number + 1 :]:
            line = np.subtract(other.at, one.at)
            length = float(np.linalg.norm(line))
            if one.case != other.case or length == 0.0:
                continue
            first, second = (float(np.dot(row.force, line)) / length for row in (one, other))
            between = min(abs(first), abs(second))
            most = max(float(np.hypot(*row.force)) for row in (one, other))
            if first * second < 0.0 and between > AGAINST * most:
                found.append(
                    f'Pins "{one.name}" and "{other.name}" work against each other with {between:.0f} N, rigid as they '
                    "are taken here: a little play in one of them would free that force, and change this answer."
                )
    return found


def _out_of_proportion(rows: Sequence[Proportion]) -> list[str]:
    """Proportions that miss what is wanted, in one sentence."""
    missed = [f"{row.rule} {row.value:.2g}, wanted {row.wanted}" for row in rows if row.met is False]
    return [f"Proportions not met: {'; '.join(missed)}."] if missed else []
