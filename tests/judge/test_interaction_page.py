"""The tables of docs/interaction.md, made again."""

import re
from math import atan, degrees
from pathlib import Path

import numpy as np
import pytest

import fesolve
from fesolve.judge.criteria import SplitStrength, split_utilisation
from fesolve.judge.interaction import CHOICES, PlaneStrength, interaction, off_axis_strength
from fesolve.wood.bearing import hankinson

PAGE = Path(__file__).parents[2] / "docs" / "interaction.md"
WOOD = fesolve.make_wood(species="Douglas-fir, coast", face="flat-sawn", basis="mean")
F = PlaneStrength(**{name: strength.value for name, strength in WOOD.strengths.items()})
PULLED, PRESSED = (F.tension_along, F.tension_across), (F.compression_along, F.compression_across)


def shown(name):
    """Cells of the table below a mark, as text."""
    table = PAGE.read_text(encoding="utf-8").partition(f"<!-- table: {name} -->\n")[2].split("\n\n")[0]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in table.splitlines()[2:]]


def same(cells, values):
    """Whether the cells are the values with as many digits as are printed."""
    printed = [float(cell) for cell in cells]
    last = [0.5 * 10.0 ** -len(cell.partition(".")[2]) for cell in cells]
    return all(abs(p - v) <= half * 1.0001 for p, v, half in zip(printed, values, last, strict=True))


def test_states():
    """As the mode counts them: pressure across helps shear, and nothing else."""
    f = SplitStrength(F.shear, F.tension_across, F.compression_across)
    assert len(shown("states")) == 6
    for row in shown("states"):
        along, across, shear = (np.array([float(cell)]) for cell in row[:3])
        pressed = F.shear * split_utilisation(np.minimum(across, 0.0), shear, f)
        found = [interaction(along, np.maximum(across, 0.0), pressed, F, choice)[0] for choice in CHOICES]
        assert same(row[3:], [*found, split_utilisation(across, shear, f)[0]]), row


@pytest.mark.parametrize("name", ["tension", "compression"])
def test_angles(name):
    pressed = name == "compression"
    for row in shown(name):
        angle = float(row[0])
        found = [off_axis_strength(F, angle, choice, pressed=pressed) for choice in CHOICES]
        strengths = PRESSED if pressed else PULLED
        found.append(hankinson(*strengths, angle))
        if not pressed:
            found.append(hankinson(*strengths, angle, exponent=1.5))
        assert same(row[1:], found), row
    assert len(shown(name)) >= 8


def test_slopes():
    """Beside the handbook's Table 5-12 (from memory): 93, 89, 81, 55 in bending, 100, 100, 99, 93 in compression."""
    handbook = {"1 in 20": (93, 100), "1 in 15": (89, 100), "1 in 10": (81, 99), "1 in 5": (55, 93)}
    rows = shown("slopes")
    assert [row[0] for row in rows] == list(handbook)
    for slope, bending, *pulled, compression, norris, hankin in rows:
        angle = degrees(atan(1.0 / float(slope.removeprefix("1 in "))))
        assert (int(bending), int(compression)) == handbook[slope]
        found = [
            off_axis_strength(F, angle),
            hankinson(*PULLED, angle),
            hankinson(*PULLED, angle, exponent=1.5),
        ]
        assert same(pulled, [100 * one / F.tension_along for one in found]), slope
        found = [off_axis_strength(F, angle, pressed=True), hankinson(*PRESSED, angle)]
        assert same([norris, hankin], [100 * one / F.compression_along for one in found]), slope


def test_what_the_page_says_in_words():
    text = " ".join(PAGE.read_text(encoding="utf-8").split())
    angles = np.linspace(0.0, 90.0, 181)

    def spread(pressed):
        strengths = PRESSED if pressed else PULLED
        rows = np.array(
            [
                [off_axis_strength(F, a, choice, pressed=pressed) for choice in CHOICES] + [hankinson(*strengths, a)]
                for a in angles
            ]
        )
        return rows.max(axis=1) / rows.min(axis=1)

    def said(pattern):
        return [float(number) for number in re.search(pattern, text).groups()]

    (pulled, pressed, where) = said(r"lie within (\d+) %, in compression within (\d+) %, at (\d+) deg")
    for percent, ratio in ((pulled, spread(False)), (pressed, spread(True))):
        assert percent - 1.5 < 100 * (ratio.max() - 1) < percent + 0.5
    assert angles[spread(True).argmax()] == pytest.approx(where, abs=1.5)
    shear = said(r"that would be ([\d.]+) and ([\d.]+) MPa in tension, ([\d.]+) and ([\d.]+) in compression")
    wanted = [(P * Q / part) ** 0.5 for P, Q in (PULLED, PRESSED) for part in (2, 3)]
    assert shear == pytest.approx(wanted, abs=0.051)
    assert f"({F.tension_across / F.tension_along:.3f};" in text
    at_low_end = hankinson(1.0, 0.04, degrees(atan(0.1)))
    assert round(100 * at_low_end) == 81
    assert "1 in 10 leaves 81 %" in text
