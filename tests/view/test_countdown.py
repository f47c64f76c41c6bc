"""Lines that say how far a long run is."""

from fesolve.view.countdown import Countdown


def test_a_line_every_half_minute_with_the_time_left_by_what_this_run_has_done():
    """Begun at 100 of 1,000 kept: ten a second since, so 1,000 are done 90 s after the beginning."""
    now = [0.0]
    count = Countdown(every=30.0, clock=lambda: now[0])
    said = {}
    for second in range(91):
        now[0] = float(second)
        if line := count(100 + 10 * second, 1000):
            said[second] = line
    assert said == {
        30: "400 of 1,000 variants, about 60 s left",
        60: "700 of 1,000 variants, about 30 s left",
    }
