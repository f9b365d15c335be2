"""A build that is on its way from another scale is known by its weight wherever it is set down."""

from __future__ import annotations

from scaled.core.belief import Mode, empty
from scaled.core.coming import Coming
from scaled.core.food import Move
from scaled.core.moves import successors
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from scaled.core.transit import Course, Transit
from tests.core.scripted import dish

PLAN = Plan.of(dish())
ON_ITS_WAY = Coming.of(
    Transit(
        session="s", build=1, profile="test-bowl", revision="1", elapsed_s=1.0,
        courses=(
            Course(
                chance=1.0, container_g=20.0, container_u_g=0.3, weighed=True, closed=(),
                open=("grain",), open_from_g=20.0, open_from_u_g=0.3, gestures=3, clear=True,
                strange=False, gross_g=140.0, gross_u_g=0.3,
            ),
        ),
        said=(), answered=(),
    ),
    PLAN,
    0.0,
)  # fmt: skip


def test_it_may_take_the_place_of_one_that_was_ended_by_a_key() -> None:
    ended = empty(0.0, 0.1)._replace(mode=Mode.REPORTED, level_g=350.0, coming=(ON_ITS_WAY,))
    means = successors(ended, Rest(5.0, 6.0, 140.0, 0.3), PLAN)
    placed = [after for _, after, move in means if move is Move.PLACED]
    assert ON_ITS_WAY in {after.origin for after in placed}
