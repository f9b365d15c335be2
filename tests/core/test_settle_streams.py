"""Whatever stream of readings comes, rests are well formed, repeatable and to scale."""

from __future__ import annotations

import gc
import math
import tracemalloc
from collections.abc import Iterable
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core import movement
from scaled.core.rest import Phase, Rest
from scaled.core.settle import Settler

Told = tuple[Phase, Rest]
Sample = tuple[float, float]


def told(samples: Iterable[Sample], settler: Settler) -> list[Told]:
    return [said for t, weight in samples if (said := settler.read(t, weight))]


divisions = st.sampled_from([0.5, 1.0, 2.0, 5.0])
levels = st.one_of(st.sampled_from([0.0, 20.0, 60.0]), st.floats(-1e5, 1e5))
stretches = st.tuples(
    levels,
    st.lists(st.sampled_from([0.0, 0.0, 0.0, 0.5, -0.5, 1.0, 2.0]), min_size=1, max_size=16),
    st.one_of(st.sampled_from([0.0625, 0.125]), st.floats(0.001, 5.0)),
)
streams = st.lists(stretches, max_size=10).map(
    lambda parts: [(gap_s, level + off) for level, offs, gap_s in parts for off in offs]
)
"""A gap, s, and a weight after it, again and again: rests, movements and nonsense."""


def timed(stream: list[Sample]) -> list[Sample]:
    t, samples = 0.0, []
    for gap_s, weight in stream:
        t += gap_s
        samples.append((t, weight))
    return samples


@given(streams, divisions)
def test_any_stream_makes_well_formed_rests(stream: list[Sample], division_g: float) -> None:
    settler, resting, last_s = Settler(division_g), False, -math.inf
    samples = timed(stream)
    for i, (t, weight) in enumerate(samples):
        said = settler.read(t, weight)
        if said is None:
            continue
        phase, rest = said
        assert resting == (phase in {Phase.REFINED, Phase.ENDED})
        resting = phase in {Phase.BEGAN, Phase.REFINED}
        assert rest.begin_s <= rest.at_s <= t
        assert rest.at_s >= last_s
        last_s = rest.at_s
        assert 0 < rest.u_g < math.inf
        assert rest.pause_s >= 0
        weights = [w for _, w in samples[: i + 1]]
        assert min(weights) - rest.u_g <= rest.level_g <= max(weights) + rest.u_g
        assert rest.peak_g <= max(weights)


@given(streams, divisions, st.sampled_from([2.0, 8.0, 32.0]))
def test_a_scale_of_coarser_steps_and_heavier_loads_is_the_same_scale(
    stream: list[Sample], division_g: float, factor: float
) -> None:
    """Powers of two: floats scale exactly, so no tie is broken the other way."""
    samples = timed(stream)
    with pytest.MonkeyPatch.context() as patch:
        # How far a pan swings at a shoulder has a limit in grams, whatever the scale.
        patch.setattr(movement, "SWING_MOST_G", math.inf)
        plain = told(samples, Settler(division_g))
        scaled = told([(t, factor * w) for t, w in samples], Settler(factor * division_g))
    assert [phase for phase, _ in scaled] == [phase for phase, _ in plain]
    for (_, big), (_, small) in zip(scaled, plain, strict=True):
        assert (big.begin_s, big.at_s, big.abrupt) == (small.begin_s, small.at_s, small.abrupt)
        assert big.level_g == pytest.approx(factor * small.level_g, rel=1e-9)
        assert big.u_g == pytest.approx(factor * small.u_g, rel=1e-9)
        assert big.peak_g == factor * small.peak_g


@given(streams, divisions)
def test_the_same_readings_give_the_same_rests(stream: list[Sample], division_g: float) -> None:
    samples = timed(stream)
    assert told(samples, Settler(division_g)) == told(samples, Settler(division_g))


def test_a_long_day_takes_no_more_memory_than_a_minute() -> None:
    settler, random = Settler(1.0), Random(7)  # noqa: S311 -- noise

    def work(since_s: float, n: int) -> int:
        for i in range(n):
            load_g = 50.0 * (i // 40 % 9)  # two seconds each
            settler.read(since_s + i / 20, float(round(load_g + random.gauss(0, 0.3))))
        gc.collect()
        return tracemalloc.get_traced_memory()[0]

    tracemalloc.start()
    try:
        minute = work(0.0, 1200)
        day = work(60.0, 12_000)
    finally:
        tracemalloc.stop()
    assert day - minute < 20_000
