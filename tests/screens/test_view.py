from __future__ import annotations

from dataclasses import replace

import pytest

from scaled.core.live import Ask, Provisional, Rung, StepState
from scaled.screens.band import BAND_FROM, BAND_TO
from scaled.screens.marks import RungMark
from scaled.screens.scene import Scene
from scaled.screens.view import view
from scaled.screens.wire import Away
from tests.screens.scenes import BOWL, STATES, live, scene, state

OLD = {
    *("opening", "overload", "underload", "unsuccessful", "scale-fault"),
    *("stale", "asleep", "lost", "flapping", "busy", "fault"),
}


@pytest.mark.parametrize("name", [name for name in STATES if scene(name).live])
def test_an_old_weight_never_looks_alive(name: str) -> None:
    shown = view(scene(name))
    assert shown.number.alive == (name not in OLD)
    if name in OLD:
        assert shown.number.caption == "old weight"
        assert shown.gauge is not None
        assert shown.gauge.needle is None


def test_no_weight_is_alive_while_the_station_is_away() -> None:
    shown = view(scene("add", away=Away("nothing answers")))
    assert not shown.number.alive
    assert shown.facts[-1] == "\u00d7 no station"


@pytest.mark.parametrize("name", STATES)
def test_an_unfinished_step_is_never_shown_as_under(name: str) -> None:
    now = scene(name)
    shown = view(now)
    undone = [rung.state is not StepState.DONE for rung in now.live.ladder] if now.live else []
    for rung, open_ in zip(shown.ladder, undone, strict=False):
        if open_:
            assert rung.mark not in {RungMark.UNDER, RungMark.OVER, RungMark.PASS}
    if shown.gauge is not None:
        assert "under" not in shown.gauge.word


def test_the_card_says_how_to_portion() -> None:
    card = view(scene("add")).card
    assert card.kicker == "1 of 7 · hot line · contains gluten"
    assert card.name == "pearl barley, steamed"
    assert card.tool == "disher no. 16, level: three scoops"
    assert card.say
    assert card.never


def test_the_gauge_has_the_limits_and_the_target() -> None:
    gauge = view(scene("next")).gauge
    assert gauge is not None
    assert gauge.limits == ("109", "118", "127")
    assert BAND_FROM < gauge.target < BAND_TO
    assert gauge.needle is not None
    assert BAND_FROM < gauge.needle < BAND_TO
    assert gauge.word == "in the band"


def test_the_gauge_says_where_a_moving_weight_is_going() -> None:
    moving = live(BOWL, 0, Ask.WAIT, net_g=101.0, settled=False)
    for provisional, word in ((None, "moving"), (Provisional(117.8, 0.6), "about 118 g")):
        gauge = view(Scene(state(replace(moving, provisional=provisional)), BOWL)).gauge
        assert gauge is not None
        assert gauge.word == word


def test_ounces_are_shown_to_those_who_write_ounces() -> None:
    shown = view(scene("add-ounces"))
    assert (shown.number.digits, shown.number.unit) == ("0.90", "oz")
    assert shown.number.caption == "of 1.3"
    assert shown.ladder[0].weight == "2.00 oz"


def test_before_the_container_the_whole_pan_is_shown() -> None:
    moment = live(BOWL, None, Ask.PLACE, pan_g=214.0, net_g=0.0)
    number = view(Scene(state(moment), BOWL)).number
    assert (number.digits, number.unit, number.caption) == ("214", "g", "on the scale")


def test_the_ladder_says_how_every_step_went() -> None:
    ladder = view(scene("lift-amiss")).ladder
    assert [(rung.mark.word, rung.weight) for rung in ladder] == [
        ("over", "152 g"),
        ("skipped", ""),
        ("pass", "sum 78 g"),
        ("unsure", "31 g"),
        ("pass", "18 g"),
        ("pass", "40 g"),
        ("now", ""),
    ]


def test_a_filled_step_keeps_its_weight_until_its_final_word() -> None:
    moment = live(BOWL, 1, Ask.ADD, net_g=10.0, amount_g=40.0)
    ladder = (Rung("barley", StepState.OPEN, 117.0), *moment.ladder[1:])
    shown = view(Scene(state(replace(moment, ladder=ladder)), BOWL)).ladder
    assert (shown[0].mark, shown[0].weight) == (RungMark.OPEN, "117 g")
    assert shown[1].mark is RungMark.NOW


def test_checks_are_asked_once_there_is_a_build() -> None:
    assert view(scene("place")).checks == ()
    assert view(scene("add")).checks == (
        "Allergen note on the ticket read: gluten and milk are in (unsure: ask the trainer)",
        "Wells and cold tubs were checked as your local food code asks",
        "Lid closed all round, label on (takeaway)",
        "Rim wiped, bowl set on a cool plate (dine-in)",
    )


def test_the_ladder_is_there_before_the_first_weight() -> None:
    ladder = view(scene("no-weight-yet")).ladder
    assert {rung.mark for rung in ladder} == {RungMark.TODO}
    assert len(ladder) == len(BOWL.profile.steps)
