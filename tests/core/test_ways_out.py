"""Whatever happens to a cook who does what the screen says, it leads to the end of the build."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from scaled.core.events import Finished
from scaled.core.live import Ask
from scaled.core.reading import Unit
from tests.core.scripted import BOWL_G
from tests.core.scripted_led import LedCook
from tests.core.scripted_scale import Scale

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.core.scripted import Hire


def nothing(_: LedCook) -> None:
    """All goes well."""


def tare_key(led: LedCook) -> None:
    scale = led.cook.scale
    scale.jump(-scale.load_g - scale.offset_g)
    led.cook.wait(1.0)


def tare_key_twice(led: LedCook) -> None:
    tare_key(led)
    tare_key(led)


def unit_key(led: LedCook) -> None:
    led.cook.scale.unit, led.cook.scale.division = Unit.OZ, 0.05
    led.cook.wait(1.0)


def lift(led: LedCook, off_s: float = 3.0) -> None:
    if not led.in_hand:
        led.take_off()
        led.cook.wait(off_s)
        led.set_down()


def long_lift(led: LedCook) -> None:
    lift(led, 25.0)


def tare_key_while_off(led: LedCook) -> None:
    if not led.in_hand:
        led.take_off()
        led.cook.wait(2.0)
        tare_key(led)
        led.set_down()


def new_bowl(led: LedCook) -> None:
    """The build is thrown away, and another one begun."""
    if not led.in_hand:
        led.take_off()
    led.net_g = dict.fromkeys(led.net_g, 0.0)
    led.cook.wait(3.0)


def all_out_again(led: LedCook) -> None:
    """All that the last step got is taken out."""
    filled = [step for step, net_g in led.net_g.items() if net_g]
    if filled and not led.in_hand:
        led.add(filled[-1], -led.net_g[filled[-1]])


def spoon_left_leaning(led: LedCook) -> None:
    led.cook.put(35.0, pause_s=6.0)
    led.cook.put(-35.0, pause_s=0.0)


def link_lost(led: LedCook) -> None:
    list(led.cook.scale.hold(10.0))


MISHAPS = (
    nothing, tare_key, tare_key_twice, unit_key, lift, long_lift, tare_key_while_off, new_bowl,
    all_out_again, spoon_left_leaning, link_lost,
)  # fmt: skip


@pytest.mark.parametrize(("division_g", "rate_hz"), [(0.5, 20), (2.0, 5)])
@pytest.mark.parametrize("at", range(9))
@pytest.mark.parametrize("mishap", MISHAPS)
def test_who_does_what_the_screen_says_gets_to_the_end(
    cook: Hire, mishap: Callable[[LedCook], None], at: int, division_g: float, rate_hz: float
) -> None:
    one = cook(scale=Scale(division_g, rate_hz=rate_hz), division_g=division_g)
    led = LedCook(one)
    led.build({at: mishap})
    assert led.outside() == {}
    assert one.told(Finished)
    # The next build begins as any other.
    one.put(BOWL_G, pause_s=3.0)
    assert (one.live.ask, one.live.step) == (Ask.ADD, "grain")
    assert one.live.net_g == pytest.approx(0.0, abs=1.5 * division_g)


@pytest.mark.parametrize(
    ("unit", "step"), [(Unit.OZ, 0.05), (Unit.OZ, 0.1), (Unit.LB, 0.005), (Unit.KG, 0.002)]
)
@pytest.mark.parametrize("at", range(6))
@pytest.mark.parametrize("rate_hz", [20, 5])
def test_a_unit_key_leads_nobody_astray_on_a_scale_that_sends_no_unit(
    cook: Hire, rate_hz: float, at: int, unit: Unit, step: float
) -> None:
    one = cook(scale=Scale(2.0, rate_hz=rate_hz, labelled=False), division_g=2.0)
    led = LedCook(one)

    def press(_: LedCook) -> None:
        one.scale.unit, one.scale.division = unit, step
        one.wait(1.0)

    led.build({at: press})
    assert led.outside() == {}


@pytest.mark.parametrize(
    "mishaps",
    [
        {2: all_out_again, 5: lift},
        {3: all_out_again, 4: spoon_left_leaning},
    ],
)
@pytest.mark.parametrize("division_g", [0.1, 0.5, 2.0])
def test_two_mishaps_after_another_lead_to_the_end_as_well(
    cook: Hire, mishaps: dict[int, Callable[[LedCook], None]], division_g: float
) -> None:
    """Emptied, a bowl may be another one, or set to zero: the screen has to ask."""
    one = cook(scale=Scale(division_g, rate_hz=20), division_g=division_g)
    led = LedCook(one)
    led.build(mishaps)
    assert led.outside() == {}
    assert one.told(Finished)
