"""What the cook's screen says of the scale's check of the day."""

from __future__ import annotations

from dataclasses import replace

import pytest

from scaled.core.live import Ask
from scaled.screens.scene import Scene
from scaled.screens.view import view
from scaled.screens.words import advice
from scaled.station.day_check import CheckState, Fitness
from scaled.station.link import LinkState
from tests.screens.scenes import BOWL, STATES, link, live, state

WAITING = state(live(BOWL, None, Ask.PLACE, pan_g=0.0, build=0, u_g=0.0))
FIT = CheckState(Fitness.FIT, flagged=False, refused=False)
MISSING = CheckState(Fitness.MISSING, flagged=True, refused=False)
UNFIT = CheckState(Fitness.UNFIT, flagged=True, refused=False)
ALLOWED = CheckState(Fitness.MISSING, flagged=False, refused=False)


def seen(check: CheckState | None) -> Scene:
    return Scene(replace(WAITING, check=check), BOWL)


@pytest.mark.parametrize(
    ("check", "fact"),
    [
        (None, "scale live"),
        (ALLOWED, "scale live"),
        (FIT, "scale live, checked"),
        (MISSING, "scale not checked"),
        (UNFIT, "scale not fit"),
    ],
)
def test_the_top_line_says_how_the_scale_is(check: CheckState | None, fact: str) -> None:
    assert view(seen(check)).facts[-1][2:] == fact


def test_a_lost_scale_is_lost_first_of_all() -> None:
    lost = replace(WAITING, check=UNFIT, link=link(LinkState.LOST))
    assert view(Scene(lost, BOWL)).facts[-1][2:] == "scale lost"


def test_it_is_said_before_the_first_bowl() -> None:
    assert advice(seen(MISSING)).line.endswith(
        "; this scale was not checked today: tell the trainer"
    )
    assert advice(seen(UNFIT)).line.endswith(
        "; this scale is not fit, says today's check: tell the trainer"
    )
    for check in (None, ALLOWED, FIT):
        assert "check" not in advice(seen(check)).line


def test_where_it_is_refused_nothing_else_is_asked_for() -> None:
    no_session = STATES["no-session"]
    assert no_session is not None
    refused = replace(MISSING, refused=True)
    said = advice(Scene(replace(no_session, check=refused)))
    assert said.headlines[0] == "NO CHECK OF THE SCALE"
    assert said.line == "this scale was not checked today: no build can begin until it is: press S"
    said = advice(Scene(replace(no_session, check=replace(UNFIT, refused=True))))
    assert said.headlines[0] == "SCALE NOT FIT"
    assert said.line == (
        "this scale is not fit, says today's check: no build can begin; tell the trainer"
    )
    assert advice(Scene(replace(no_session, check=MISSING))).headlines == ("CHOOSE A DISH",)


def test_a_build_under_way_goes_on() -> None:
    refused = replace(MISSING, refused=True)
    open_ = STATES["add"]
    assert open_ is not None
    assert advice(Scene(replace(open_, check=refused), BOWL)) == advice(Scene(open_, BOWL))
