"""The newest readings."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from scaled.core.newest import MOST, Newest

steps = st.lists(st.tuples(st.floats(0.001, 1.0), st.floats(-1000, 1000)), max_size=60)


@given(steps, st.sampled_from([0.45, 4.0]))
def test_it_holds_what_is_no_older_than_its_span(
    stream: list[tuple[float, float]], span_s: float
) -> None:
    newest, t, seen = Newest(span_s), 0.0, []
    for gap_s, weight_g in stream:
        t += gap_s
        newest.add(t, weight_g)
        seen.append((t, weight_g))
        held = [sample for sample in seen if sample[0] >= t - span_s]
        assert list(newest.samples) == held


def test_it_begins_with_what_it_is_given() -> None:
    newest = Newest(1.0, [(0.0, 5.0), (0.8, 6.0), (1.5, 7.0)])
    assert list(newest.samples) == [(0.8, 6.0), (1.5, 7.0)]


def test_a_flood_fills_no_memory() -> None:
    newest = Newest(1.0)
    for count in range(3 * MOST):
        newest.add(count * 1e-9, 2.0)
    assert len(newest.samples) == MOST
