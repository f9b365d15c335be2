"""Whatever the scale: its zero, its tare key, its unit, its division, its pace."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from scaled.core.events import (
    BuildStarted,
    Rezeroed,
    Settled,
    UnitChanged,
)
from scaled.core.live import Ask
from scaled.core.reading import Reading, Unit
from tests.core.scripted import (
    ALL_PASS,
    BOWL_G,
    CLEAN,
    GRAIN,
    TRUTH,
    assert_never_wrong,
)
from tests.core.scripted_scale import Scale

if TYPE_CHECKING:
    from tests.core.scripted import Hire


def test_a_bowl_that_stood_there_already_is_a_build(cook: Hire) -> None:
    one = cook(scale=Scale(load_g=BOWL_G)).wait(2.0)
    for gestures in CLEAN:
        one.put(*gestures)
    one.lift(off_s=4.0)
    assert one.verdicts() == ALL_PASS
    assert one.told(BuildStarted)[0].tare_g == pytest.approx(BOWL_G, abs=1.0)


def test_a_bowl_tared_away_before_the_start_is_a_build(cook: Hire) -> None:
    one = cook(scale=Scale(load_g=BOWL_G, offset_g=-BOWL_G)).wait(2.0)
    for gestures in CLEAN:
        one.put(*gestures)
    one.lift(off_s=4.0)
    assert one.verdicts() == ALL_PASS
    assert one.finished().net_g == pytest.approx(222.0, abs=0.5)


@pytest.mark.parametrize("offset_g", [37.0, -12.5, 400.0, -150.0])
def test_where_the_scale_shows_zero_does_not_matter(cook: Hire, offset_g: float) -> None:
    one = cook(scale=Scale(offset_g=offset_g, division=0.5), division_g=0.5).build(*CLEAN)
    assert one.verdicts() == ALL_PASS
    assert one.finished().net_g == pytest.approx(222.0, abs=0.5)


def test_a_scale_zeroed_before_the_build_tells_so(cook: Hire) -> None:
    one = cook(scale=Scale(offset_g=37.0)).wait(2.0)
    one.scale.jump(-37.0)
    one.wait(2.0)
    (said,) = one.told(Rezeroed)
    assert said.shift_g == pytest.approx(-37.0, abs=1.0)
    one.build(*CLEAN)
    assert one.verdicts() == ALL_PASS


def test_a_tare_key_pressed_midway_changes_no_weight(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).wait(1.0).put(60.0)
    one.scale.jump(-(BOWL_G + 180.0))
    one.wait(2.0).put(30.0, 12.0)
    one.lift(off_s=4.0)
    assert_never_wrong(one)
    assert one.finished().net_g == pytest.approx(222.0, abs=1.0)


@pytest.mark.parametrize(("division_g", "rate_hz"), [(0.1, 5), (0.2, 10), (1.0, 10)])
def test_a_bowl_set_down_on_a_scale_set_to_zero_with_the_last_one_is_seen(
    cook: Hire, division_g: float, rate_hz: float
) -> None:
    one = cook(scale=Scale(division_g, rate_hz=rate_hz), division_g=division_g).start(20.0)
    one.scale.jump(-20.0)
    one.wait(2.0)
    for gestures in CLEAN:
        one.put(*gestures)
    one.lift(off_s=4.0)
    one.put(20.0, in_s=0.5)  # the display comes back to zero, as if by the key
    assert one.live.ask is Ask.ADD


def test_units_may_change_at_any_time(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).wait(1.0)
    for amount_g, unit, division in (
        (60.0, Unit.OZ, 0.05), (30.0, Unit.KG, 0.001), (12.0, Unit.G, 1.0),
    ):  # fmt: skip
        one.scale.unit, one.scale.division = unit, division
        one.wait(1.0).put(amount_g).wait(1.0)
    one.lift(off_s=4.0)
    assert one.verdicts() == ALL_PASS
    assert [said.unit for said in one.told(UnitChanged)] == ["oz", "kg", "g"]
    for step, true_g in TRUTH.items():
        said = one.portion(step)
        assert said.net_g is not None
        assert said.u_g is not None
        assert abs(said.net_g - true_g) <= 2 * said.u_g


def test_units_may_change_while_food_falls(cook: Hire) -> None:
    one = cook().start()
    for reading in [*one.scale.move(40.0, 0.3), *one.scale.hold(2.0)]:
        grams = reading.t * 10 % 2
        weight = reading.weight if grams else reading.weight / 28.349523125
        shown = Reading(reading.t, weight, Unit.G if grams else Unit.OZ)
        one.events += one.session.read(shown)
    assert one.told(Settled)[-1].net_g == pytest.approx(40.0, abs=0.5)


def test_a_unit_that_stays_is_no_event(cook: Hire) -> None:
    ounces = Scale(unit=Unit.OZ, division=0.05)
    assert cook(scale=ounces, division_g=1.417).build(*CLEAN).told(UnitChanged) == []


@pytest.mark.parametrize("rate_hz", [5, 10, 20])
@pytest.mark.parametrize("division_g", [0.1, 0.5, 1.0, 2.0])
def test_every_common_scale_will_do(cook: Hire, division_g: float, rate_hz: float) -> None:
    scale = Scale(division=division_g, rate_hz=rate_hz, noise_g=0.3 * division_g, seed=4)
    one = cook(scale=scale, division_g=division_g).build(*CLEAN)
    assert one.verdicts() == ALL_PASS
    for step, true_g in TRUTH.items():
        said = one.portion(step)
        assert said.net_g is not None
        assert said.u_g is not None
        assert abs(said.net_g - true_g) <= 3 * said.u_g


def test_the_division_is_learnt_when_nobody_tells_it(cook: Hire) -> None:
    scale = Scale(division=0.1, noise_g=0.05)
    one = cook(scale=scale, division_g=None).build(*CLEAN).build(*CLEAN)
    told_g = one.portion("beans", build=2).u_g
    assert told_g is not None
    assert told_g < 0.2  # a scale of 1 g steps could not know it so well
    assert one.verdicts(2) == ALL_PASS
