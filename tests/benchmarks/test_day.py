"""A long day, made short."""

from __future__ import annotations

from tests.benchmarks.day import IDLE_S, day, recorded, shifted

RATE_HZ = 5


def test_a_session_holds_no_more_in_the_evening_than_in_the_morning() -> None:
    pool = recorded(4, RATE_HZ)
    hours = list(day(8, pool, hour_s=sum(run[-1].t for run in pool)))
    assert hours[-1].build > 100
    assert all(hour.cost_us > 0 for hour in hours)
    assert max(hour.state_bytes for hour in hours) < 40_000
    # Once each run has been played; how much is held depends on where the hour ends.
    assert hours[-1].state_bytes <= 1.5 * hours[0].state_bytes


def test_runs_follow_each_other_in_time_with_idle_minutes() -> None:
    pool = recorded(2, RATE_HZ)
    assert all(run[-1].t > IDLE_S for run in pool)
    runs = shifted(pool)
    played = [reading for _ in range(5) for reading in next(runs)]
    times = [reading.t for reading in played]
    assert times == sorted(times)
    assert times[-1] > 5 * IDLE_S
