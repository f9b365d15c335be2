"""A build may leave whatever is in it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scaled.core import set_down
from scaled.core.belief import empty
from scaled.core.leaving import leaving
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from tests.core.scripted import BOWL_G, dish

PLAN = replace(Plan.of(dish()), positions=("hot line", "cold line", "cold line", "cold line"))
PLACED = set_down.started(empty(0.0, 0.1), Rest(0.0, 1.0, BOWL_G, 0.3), 4, None)


@pytest.mark.parametrize(("net_g", "gestures"), [(0.0, 0), (40.0, 1), (120.0, 3)])
def test_it_may_leave_before_a_step_of_another_position(net_g: float, gestures: int) -> None:
    its = leaving(PLACED.at(BOWL_G + net_g, 0.3)._replace(gestures=gestures), PLAN)
    assert 0 < its.chance < 1
    assert 0 < its.gone < its.back < 1
