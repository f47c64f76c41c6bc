"""strike.png: written where a strike was followed through time, and drawn from the verdict's own numbers."""

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.figure import Figure

from fesolve.judge.verdict import StrikeRow, ThroughTime, TimedMode
from fesolve.units import Formatter
from fesolve.view.blows import timed_strikes
from fesolve.view.strike_chart import _force_strip, draw_strike

TIME = tuple(np.linspace(1e-4, 1e-2, 50).tolist())
THROUGH = ThroughTime(
    peak_force=9700.0, peak_time=4.2e-3, rebound_speed=360.0, why="Both ways agree.", step=1e-4, settled=True,
    resolved=True,
    sums=0.0, modes=(TimedMode("splitting", 1.54, 5.4e-3, (1.0, 2.0), "hole pivot"),), time=TIME,
    force=tuple(9700.0 * np.sin(np.pi * np.array(TIME) / 1e-2)), utilisation=(0.5,) * 50, striker_energy=(4100.0,) * 50,
    part_energy=(100.0,) * 50, lost_energy=(1.0,) * 50,
)  # fmt: skip
ROW = StrikeRow(
    name="log", case="all", on="edge C-D", direction=(0.0, -1.0), mass=0.06, speed=370.0, quantity="run", amount=150.0,
    energy=4100.0, push=41.0, slow=41.0, sudden=82.0, struck_low=7000.0, struck_high=7500.0, limit=10_000.0, dent=0.0,
    dent_energy=0.0, stiffness=6700.0, part_stiffness=6700.0, part_mass=4e-4, contact_time=9.5e-3, through_time=THROUGH,
)  # fmt: skip


def test_each_followed_strike_has_a_picture(verdict):
    assert timed_strikes(verdict) == []
    rows = (ROW, replace(ROW, through_time=None), replace(ROW, name="end"))
    assert [(name, row.name) for name, row in timed_strikes(replace(verdict, strikes=rows))] == [
        ("strike.png", "log"),
        ("strike_2.png", "end"),
    ]


@pytest.mark.parametrize("system", ["si", "us"])
def test_the_picture_is_written(verdict, system, tmp_path):
    path = tmp_path / "strike.png"
    draw_strike(replace(verdict, strikes=(ROW,)), ROW, path, Formatter(system))
    assert path.read_bytes().startswith(b"\x89PNG") and path.stat().st_size > 20_000


def test_the_force_is_the_verdicts():
    axes = Figure().add_axes((0, 0, 1, 1))
    _force_strip(axes, 1000.0 * np.array(TIME), ROW, THROUGH, Formatter("si"))
    energy, force, peak = axes.lines
    assert energy.get_ydata()[0] == pytest.approx(7.5)
    assert force.get_ydata() == pytest.approx(np.array(THROUGH.force) / 1000.0)
    assert (peak.get_xdata()[0], peak.get_ydata()[0]) == pytest.approx((4.2, 9.7))
    labels = axes.get_legend_handles_labels()[1]
    assert labels[0] == "all elastic, by energy: 7.5 kN" and labels[2] == "9.7 kN after 4.2 ms"
