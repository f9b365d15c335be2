from __future__ import annotations

import tempfile
from pathlib import Path

from tests.benchmarks.soak import Plan, soak
from tests.benchmarks.soak_scales import owner


def test_a_weight_tells_whose_it_is() -> None:
    assert [owner(weight_g) for weight_g in (3000.0, 3220.0, 12020.0)] == [3, 3, 12]
    assert [owner(weight_g) for weight_g in (3010.0, 3000.5, 3240.0)] == [None, None, None]


async def test_no_weight_is_taken_for_another_scales_and_nothing_grows() -> None:
    with tempfile.TemporaryDirectory() as name:  # a socket's path must be short
        outcome = await soak(Path(name), Plan(seconds=16, serial=3, ble=1, round_s=8, faults=5))
    assert (outcome.others, outcome.nobodys) == (0, 0)
    assert outcome.own > 0.9 * outcome.said
    assert outcome.own > 200
    first, *_, last = outcome.held
    assert last["tasks"] == first["tasks"]
    assert last["descriptors"] <= first["descriptors"]
    assert last["objects"] < 1.1 * first["objects"]
