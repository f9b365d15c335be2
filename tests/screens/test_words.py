from __future__ import annotations

from dataclasses import replace

import pytest

from scaled.core.events import Doubt
from scaled.core.live import Ask, Rung, StepState
from scaled.screens.blocks import drawable
from scaled.screens.marks import Mark
from scaled.screens.scene import Scene
from scaled.screens.wire import Away
from scaled.screens.words import advice
from scaled.station.link import LinkState
from tests.screens.scenes import BOWL, STATES, link, live, scene, state

GONE = Away("nothing answers at unix:/run/s.sock", absent=True)
SAID = {
    "no-session": (Mark.SET_DOWN, "CHOOSE A DISH", "press P and choose what is built"),
    "no-weight-yet": (Mark.WAIT, "ONE MOMENT", "waiting for the first weight"),
    "place": (
        Mark.SET_DOWN,
        "SET DOWN PAPER BOWL",
        "set an empty paper bowl, 750 mL on the scale",
    ),
    "place-laden": (
        Mark.SET_DOWN,
        "CLEAR THE SCALE",
        "take off what is on the scale, then set an empty paper bowl, 750 mL on it",
    ),
    "add": (Mark.ADD, "ADD 36 g", "add 36 g of pearl barley: one more scoop"),
    "add-first": (Mark.ADD, "ADD 118 g", "add 118 g of pearl barley: three scoops"),
    "wrong-container": (
        Mark.DOUBT,
        "WRONG CONTAINER?",
        "this is the paper bowl, 1 L: the dish asks for the paper bowl, 750 mL",
    ),
    "odd-container": (
        Mark.DOUBT,
        "WRONG CONTAINER?",
        "this container weighs 41 g, the dish's 18 g: swap it, or just begin",
    ),
    "add-ounces": (
        Mark.ADD,
        "ADD 0.40 oz",
        "add 0.40 oz of white cheese: about a third of a spoonful more",
    ),
    "take-back": (Mark.TAKE_BACK, "TAKE BACK 20 g", "take back 20 g of pearl barley"),
    "next": (
        Mark.GOOD,
        "GOOD > BROWN LENTILS",
        "good: next is brown lentils (2 fl oz spoodle, level: one spoonful)",
    ),
    "hand-over": (Mark.DONE, "GOOD > COLD LINE", "good: pass it on to the cold line"),
    "wait": (Mark.WAIT, "WAIT", "hands off for a moment: the weight is moving"),
    "check": (
        Mark.DOUBT,
        "TOMATO SAUCE IN?",
        "not clear: tomato sauce in? press N for yes, U for no, or ask the trainer",
    ),
    "return": (Mark.SET_DOWN, "PUT IT BACK", "set it back on the scale: five ingredients to go"),
    "lift": (
        Mark.DONE,
        "DONE: TAKE IT",
        "lift it off: 342 g, everything passed; four checks to answer: press C",
    ),
    "lift-amiss": (
        Mark.AMISS,
        "DONE, NOT ALL GOOD",
        "lift it off: 342 g, pearl barley over, brown lentils skipped, tomato sauce unsure; "
        "four checks to answer: press C",
    ),
    "opening": (
        Mark.GONE,
        "SCALE NOT ON YET",
        "waiting for the scale's first weight; the build is kept",
    ),
    "overload": (
        Mark.GONE,
        "TOO HEAVY",
        "more than the scale can weigh: take some off; the build is kept",
    ),
    "underload": (
        Mark.GONE,
        "BELOW ZERO",
        "empty the scale and press its zero key; the build is kept",
    ),
    "unsuccessful": (
        Mark.GONE,
        "NO WEIGHT",
        "the scale could not weigh: let it come to rest; the build is kept",
    ),
    "scale-fault": (
        Mark.GONE,
        "SCALE FAULT",
        "the scale says that it is faulty: tell the trainer; the build is kept",
    ),
    "stale": (
        Mark.GONE,
        "SCALE SILENT",
        "/dev/ttyUSB0: no readings for 2 s; check that the scale is on and its cable is in; "
        "the build is kept",
    ),
    "lost": (
        Mark.GONE,
        "SCALE LOST",
        "/dev/ttyUSB0: unplugged; plug it in again; the build is kept",
    ),
    "wrong-unit": (
        Mark.GONE,
        "WRONG UNIT",
        "press the scale's unit key; the build is kept",
    ),
    "asleep": (
        Mark.GONE,
        "SCALE ASLEEP",
        "switch the scale on again; the build is kept",
    ),
    "flapping": (
        Mark.GONE,
        "SCALE LOST AGAIN",
        "the scale comes and goes: tell the trainer; the build is kept",
    ),
    "busy": (
        Mark.GONE,
        "SCALE IN USE",
        "another program has the scale: tell the trainer; the build is kept",
    ),
    "fault": (Mark.GONE, "STATION STOPS", "journal.db: the disk is full; make room"),
    "no-station": (Mark.WAIT, "ONE MOMENT", "looking for the station"),
}


@pytest.mark.parametrize("name", STATES)
def test_every_moment_has_its_words(name: str) -> None:
    said = advice(scene(name))
    assert (said.mark, said.headlines[0], said.line) == SAID[name]


@pytest.mark.parametrize("name", STATES)
def test_every_headline_can_be_drawn_large(name: str) -> None:
    said = advice(scene(name))
    assert all(drawable(f"{said.mark} {headline}") for headline in said.headlines)


def test_every_ask_and_every_link_state_is_among_them() -> None:
    moments = [found for found in STATES.values() if found is not None]
    assert {found.live.ask for found in moments if found.live} == set(Ask)
    assert {found.link.state for found in moments} == set(LinkState)


def test_the_station_that_was_never_there_is_to_be_started() -> None:
    said = advice(scene("no-station", away=GONE))
    assert said.headlines == ("NO STATION",)
    assert said.line == ("nothing answers at unix:/run/s.sock; start one with: scaled serve")


def test_a_station_that_is_closed_to_us_is_not_to_be_started() -> None:
    closed = Away("unix:/run/s.sock may not be opened by this user")
    said = advice(scene("no-station", away=closed))
    assert said.line == "unix:/run/s.sock may not be opened by this user"


def test_the_station_that_went_away_is_waited_for() -> None:
    said = advice(scene("add", away=GONE))
    assert said.headlines == ("STATION AWAY",)
    assert "start one" not in said.line
    assert "the build is kept" in said.line


def test_a_lost_scale_before_any_build_keeps_no_build() -> None:
    moment = replace(
        state(live(BOWL, None, Ask.PLACE, build=0)), link=link(LinkState.LOST, "unplugged")
    )
    assert advice(Scene(moment, BOWL)).line == "unplugged"


def test_a_link_that_says_nothing_itself_is_explained() -> None:
    moment = replace(state(None), link=link(LinkState.STALE))
    assert advice(Scene(moment, BOWL)).line == "no weight comes from the scale"


def test_the_last_step_that_is_good_has_no_next() -> None:
    last = live(BOWL, len(BOWL.profile.steps) - 1, Ask.NEXT, net_g=8.0)
    said = advice(Scene(state(last), BOWL))
    assert said.line == "good: that was the last ingredient"


def test_without_checks_the_end_asks_for_none() -> None:
    last = live(BOWL, len(BOWL.profile.steps) - 1, Ask.LIFT, total_net_g=342.0, confirms=())
    assert advice(Scene(state(last), BOWL)).line == "lift it off: 342 g, everything passed"


def test_a_build_with_an_open_step_is_not_said_to_have_passed() -> None:
    last = live(BOWL, len(BOWL.profile.steps) - 1, Ask.LIFT, total_net_g=342.0, confirms=())
    ladder = (Rung("barley", StepState.OPEN, 117.0), *last.ladder[1:])
    said = advice(Scene(state(replace(last, ladder=ladder)), BOWL))
    assert said.line == "lift it off: 342 g"


def test_the_finished_build_is_judged_beside_the_call_for_the_next() -> None:
    before = replace(scene("place"), finished="● the whole build 342 g, pass")
    assert advice(before).line.startswith("● the whole build 342 g, pass; set an empty")
    during = replace(scene("add"), finished="● the whole build 342 g, pass")
    assert "whole build" not in advice(during).line


def test_what_this_scale_cannot_judge_is_said_before_the_first_bowl() -> None:
    waiting = scene("place")
    assert waiting.state is not None
    assert waiting.state.session is not None
    session = replace(waiting.state.session, unfit=("step 7 (pumpkin-seeds): too narrow",))
    moment = replace(waiting, state=replace(waiting.state, session=session))
    assert advice(moment).line == (
        "set an empty paper bowl, 750 mL on the scale; this scale is too coarse for one weight of"
        " this dish: tell the trainer"
    )


def test_a_step_that_cannot_be_judged_is_not_called_good() -> None:
    said = advice(Scene(state(live(BOWL, 0, Ask.NEXT, doubt=Doubt.TOO_COARSE)), BOWL))
    assert said.mark is Mark.DOUBT
    assert said.headlines[0] == "> BROWN LENTILS"
    assert said.line == ("next is brown lentils; this scale is too coarse to judge the one before")
