"""A build lifted, set back, and set to zero by the key before the display came to rest."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from scaled.core.events import BuildStarted
from tests.core.scripted import ALL_PASS, BOWL_G, CLEAN, STEPS, assert_never_wrong
from tests.core.scripted_scale import Scale

if TYPE_CHECKING:
    from tests.core.scripted import Cook, Hire


def lifted_and_keyed(cook: Cook, after_s: float, then_s: float = 2.0) -> Cook:
    """Two steps done, the bowl off and back, and the key so soon after."""
    cook.start()
    for gestures in CLEAN[:2]:
        cook.put(*gestures).wait(1.0)
    cook.put(cook.lift(), in_s=0.2, pause_s=after_s)
    cook.scale.jump(-cook.scale.shown_g)
    return cook.wait(then_s)


@pytest.mark.parametrize("lag_s", [0.05, 0.12, 0.25])
@pytest.mark.parametrize("after_s", [0.4, 0.6, 0.9])
def test_the_build_goes_on(cook: Hire, lag_s: float, after_s: float) -> None:
    one = lifted_and_keyed(cook(scale=Scale(lag_s=lag_s)), after_s)
    for gestures in CLEAN[2:]:
        one.put(*gestures).wait(1.0)
    one.lift(off_s=4.0)
    # A slow display has 20 to 40 g of the build still to show when the key is pressed.
    assert_never_wrong(one, within_g=2.0 if lag_s < 0.2 else 6.0)
    assert len(one.told(BuildStarted)) == 1
    verdicts = one.verdicts()
    assert [verdicts[step] for step in STEPS[2:]] == ["pass", "pass"]


def test_food_at_once_after_the_key_is_the_next_step(cook: Hire) -> None:
    one = lifted_and_keyed(cook(), 0.6, then_s=0.2)
    for gestures in CLEAN[2:]:
        one.put(*gestures).wait(1.0)
    one.lift(off_s=4.0)
    assert_never_wrong(one)
    assert len(one.told(BuildStarted)) == 1


def test_the_next_bowl_after_a_build_was_shortly_back_is_another_build(cook: Hire) -> None:
    one = cook().start()
    for gestures in CLEAN:
        one.put(*gestures).wait(1.0)
    load_g = one.lift()
    one.put(load_g, in_s=0.2, pause_s=0.6).put(-load_g, in_s=0.2).put(BOWL_G)
    for gestures in CLEAN:
        one.put(*gestures).wait(1.0)
    one.lift(off_s=4.0)
    assert len(one.told(BuildStarted)) == 2
    assert one.verdicts(1) == one.verdicts(2) == ALL_PASS
