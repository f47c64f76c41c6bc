"""Shear flow, glue lines and short beams from textbooks, by the formulas of the judge room's sections alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from checks import Check, reference_cases, relative

from fesolve.judge.section import Section, peak_shear, rectangle, shear_flow, shear_stress

Inputs = Mapping[str, float]


def box(high: float, webs: float, flange: float, width: float) -> Section:
    """Webs of a total width from -high to high, a flange on each end of them."""
    return Section((((-high, high), webs), ((high, high + flange), width), ((-high - flange, -high), width)))


BETWEEN = Section((((-4, 4), 2), ((3, 4), 6), ((-4, -3), 6)))
GLUED = Section((((-100, 100), 40), ((80, 100), 80), ((-100, -80), 80)))


def board_moment(width: float, start: float, stop: float) -> float:
    """First moment of one board, where its joint does not run across the whole section."""
    return width * (stop**2 - start**2) / 2


def stacked(i: Inputs) -> list[float]:
    flow = shear_flow(rectangle(i["b_mm"], i["h_mm"]), i["V_N"], i["h_mm"] / 2 - i["board_mm"])
    return [i["F_pair_nails_N"] / float(flow)]


def planks(i: Inputs) -> list[float]:
    return [i["s_mm"] * float(shear_flow(box(50, 20, 20, 100), i["V_N"], 50))]


def nailed(i: Inputs) -> list[float]:
    return [i["nail_lines"] * i["F_nail_N"] / i["s_mm"] / float(shear_flow(box(130, 100, 25, 260), 1e3, 130))]


def outside(i: Inputs) -> list[float]:
    return [2 * i["F_screw_lb"] / float(shear_flow(box(4, 2, 1, 6), i["V_lb"], 4))]


def between(i: Inputs) -> list[float]:
    return [2 * i["F_screw_lb"] * BETWEEN.I / (i["V_lb"] * board_moment(6, 3, 4))]


def boards(i: Inputs) -> list[float]:
    return [2 * i["F_screw_lb"] / float(shear_flow(box(3, 2, 1, 6), i["V_lb"], 3))]


def plywood(i: Inputs) -> list[float]:
    """Flange boards between plywood webs of full depth, one spacing a shear force."""
    low, high = i["h1_in"] / 2, i["h_in"] / 2
    flange, webs = i["b1_in"], i["b_in"] - i["b1_in"]
    section = Section((((-high, high), webs), ((low, high), flange), ((-high, -low), flange)))
    return [2 * i["F_nail_lb"] * section.I / (V * board_moment(flange, low, high)) for V in np.atleast_1d(i["V_lb"])]


def glued_box(i: Inputs) -> list[float]:
    """kPa in the joints beside the flange boards, and in the webs level with the boards' inner faces."""
    V = 1e3 * i["V_kN"]
    beside = V * board_moment(80, 80, 100) / (GLUED.I * i["glue_width_total_mm"])
    return [1e3 * beside, 1e3 * float(shear_stress(GLUED, V, 80))]


def glued_flat(i: Inputs) -> list[float]:
    return [2 * i["tau_glue_psi"] / float(shear_stress(rectangle(i["b_in"], 6.0), 1.0, 1.0))]


def overhanging(i: Inputs) -> list[float]:
    """Section modulus and area needed, the area by scaling that of the 7.5 x 9.5 in. beam."""
    beam = rectangle(7.5, 9.5)
    return [i["M_lb_in"] / i["sigma_psi"], beam.A * peak_shear(beam, i["V_lb"]).tau / i["tau_psi"]]


def short_span(i: Inputs) -> list[float]:
    """kN by bending and by shear, self-weight taken off."""
    beam, L = rectangle(i["b_mm"], i["h_mm"]), 1e3 * i["L_m"]
    q = i["gamma_kN_m3"] * 1e-6 * beam.A
    bending = 4 / L * (i["sigma_MPa"] * beam.S_high - q * L**2 / 8)
    return [bending / 1e3, 2 * (i["tau_MPa"] / peak_shear(beam, 1.0).tau - q * L / 2) / 1e3]


def round_pole(i: Inputs) -> list[float]:
    """d^3 for bending and d^2 for shear, from a pole of diameter 1 in 400 layers."""
    edges = np.sin(np.linspace(-np.pi / 2, np.pi / 2, 401)) / 2
    chords = 2 * np.sqrt(0.25 - ((edges[1:] + edges[:-1]) / 2) ** 2)
    unit = Section(tuple(((a, b), t) for a, b, t in zip(edges[:-1], edges[1:], chords, strict=True)))
    return [i["P_lb"] * i["L_in"] / i["sigma_psi"] / unit.S_high, peak_shear(unit, i["P_lb"]).tau / i["tau_psi"]]


# what is compared: name and key among the published answers, half of the last digit that is printed, in its unit
Answer = tuple[str, str, float]
EXAMPLES: Mapping[str, tuple[Callable[[Inputs], list[float]], tuple[Answer, ...]]] = {
    "SF-01": (stacked, (("nail spacing, mm", "s_mm", 0.05),)),
    "SF-02": (planks, (("force a nail, N", "F_N", 0.05),)),
    "SF-03": (nailed, (("greatest shear, kN", "Vmax_kN", 0.05),)),
    "SF-04a": (outside, (("screw spacing, in", "s_in", 0.005),)),
    "SF-04b": (between, (("screw spacing, in", "s_in", 0.005),)),
    "SF-05": (boards, (("screw spacing, in", "s_in", 0.005),)),
    "SF-06": (plywood, (("nail spacing, in", "s_in", 0.005),)),
    "GL-01": (glued_box, (("shear in joint a, kPa", "tau_a_kPa", 0.5), ("shear in joint b, kPa", "tau_b_kPa", 0.5))),
    "GL-02": (glued_flat, (("load by glue, lb", "P_lb", 5.0),)),
    "SB-03": (overhanging, (("S needed, in^3", "S_req_in3", 0.05), ("A needed, in^2", "A_req_in2", 0.05))),
    "SB-04": (short_span, (("load by bending, kN", "P_bending_kN", 0.05), ("load by shear, kN", "P_shear_kN", 0.05))),
    "SB-05": (round_pole, (("d^3, bending, in^3", "d_cubed_in3", 0.05), ("d^2, shear, in^2", "d_s_squared_in2", 5e-4))),
}  # fmt: skip


def worked_example(case: str) -> list[Check]:
    """The printed answers, to half of their last digit."""
    data = reference_cases()[case]
    formula, answers = EXAMPLES[case]
    printed = [
        (name, value, half) for name, key, half in answers for value in np.atleast_1d(data["expected"][key]).tolist()
    ]
    found = formula(data["inputs"])
    return [
        relative(case, f"formula: {name}", value, result, half / value)
        for (name, value, half), result in zip(printed, found, strict=True)
    ]


FAMILIES = dict.fromkeys(EXAMPLES, worked_example)
