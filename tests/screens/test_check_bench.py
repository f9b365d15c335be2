"""The cook's screen while the scale is checked: what it asks, what it shows, how it ends."""

from __future__ import annotations

from contextlib import asynccontextmanager
from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

import pytest
from textual.widgets import Input

from scaled.core.live import Ask
from scaled.core.load_asked import Hitch
from scaled.screens import bench_screen
from scaled.screens.check_view import check_ladder, result_card, result_ladder
from scaled.screens.check_words import check_advice, hitch_line
from scaled.screens.dialogs.abandon import AbandonDialog
from scaled.screens.follower import Follower
from scaled.screens.scene import Scene
from scaled.screens.view import view
from scaled.screens.widgets.keys import KEYS
from scaled.screens.wire import Away, StateMessage
from scaled.screens.words import advice
from scaled.station.link import LinkState
from tests.screens import golden
from tests.screens.benched import Bench, benched
from tests.screens.check_scenes import CHECKS, FIT, TABLE, UNFIT, checking, of, result
from tests.screens.eventually import eventually
from tests.screens.scenes import BOWL, live, state
from tests.screens.stage import staged, text

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

    from scaled.station.state import StationState

WAITING = state(live(BOWL, None, Ask.PLACE, pan_g=0.0, build=0, u_g=0.0))
UNCHECKED = replace(WAITING, check=replace(FIT, checked_at=None, table="", findings=()))
CHECKED = replace(WAITING, check=FIT)
UNDER_WAY = replace(of(checking(2, 0.0)), check=UNCHECKED.check)


def said(moment: StationState) -> StateMessage:
    return StateMessage(type="state", state=moment)


def followed(*moments: StationState) -> tuple[Scene, list[str]]:
    """What is known after these, and what was said at each."""
    follower = Follower()
    return follower.scene, [follower.take(said(moment), BOWL) for moment in moments]


@pytest.mark.parametrize("hitch", Hitch)
def test_every_hitch_is_said_in_words_and_in_large_letters(hitch: Hitch) -> None:
    told = check_advice(checking(2, 0.0, hitch=hitch))
    assert told.line == hitch_line(hitch)
    assert told.headlines


def test_all_of_it_can_be_told_apart_without_colour() -> None:
    drawn = {name: golden.file_of(name).read_text(encoding="utf-8") for name in CHECKS}
    for one, other in combinations(CHECKS, 2):
        assert drawn[one] != drawn[other], (one, other)


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("check-begins", "to begin, take everything off the pan, then hands off"),
        ("check-put-on", "put 500 g in the middle of the pan, then hands off"),
        ("check-two-weights", "put 500 g and 2000 g in the middle of the pan, then hands off"),
        ("check-corner", "put 2000 g at the front right of the pan, then hands off"),
        ("check-lies", "hands off until the 2000 g is weighed"),
        ("check-empty-it", "take everything off the pan, then hands off"),
        ("check-last", "to end, take everything off the pan, then hands off"),
        (
            "check-abandoned",
            "the check is abandoned, nothing of it is kept: take its weights off the pan",
        ),
    ],
)
def test_what_is_to_be_done(name: str, line: str) -> None:
    assert advice(CHECKS[name]).line == line


def test_an_empty_pan_that_lies_is_waited_for() -> None:
    assert check_advice(checking(2, 0.0, empty=True, lies=True)).line == (
        "hands off until the empty pan is weighed"
    )


def test_a_lost_scale_is_said_first_and_what_becomes_of_the_check() -> None:
    told = advice(CHECKS["check-lost"])
    assert told.headlines == ("SCALE LOST",)
    assert told.line.endswith("; the check goes on when it is back, S abandons it")
    shown = view(CHECKS["check-lost"]).number
    assert (shown.caption, shown.alive) == ("old weight", False)


def test_what_is_done_and_how_much_was_seen_stand_beside_it() -> None:
    lines = check_ladder(checking(3, 0.0))
    assert [(line.mark.word, line.name, line.weight) for line in lines[:4]] == [
        ("done", "500 g", "+0.2 g"),
        ("done", "2000 g", "-0.4 g"),
        ("now", "500 g and 2000 g", ""),
        ("", "2000 g", ""),
    ]
    assert lines[-1].name == "2000 g back left"
    number = view(Scene(of(checking(3, 2499.0)), BOWL)).number
    assert (number.digits, number.unit, number.caption) == ("2499", "g", "of 2500 g")


def test_nothing_is_shown_before_the_first_weight() -> None:
    moment = replace(checking(1, 0.0), shown_g=None)
    assert view(Scene(of(moment), BOWL)).number.digits == ""


def test_the_result_names_the_table_and_every_trial() -> None:
    assert TABLE in advice(CHECKS["check-fit"]).line
    assert TABLE in advice(CHECKS["check-unfit"]).line
    assert TABLE in result_card(FIT).say
    assert [(line.name, line.weight, line.mark.word) for line in result_ladder(UNFIT)] == [
        ("linearity", "7.5/3 g", "fails"),
        ("repeatability", "0.5/2 g", "pass"),
        ("eccentricity", "6.1/2 g", "fails"),
        ("zero return", "0.0/1 g", "pass"),
    ]


def test_an_unfit_scale_is_told_what_it_fails_in() -> None:
    assert result_card(UNFIT).say == "linearity: 7.5 g off at 2500 g, middle; 3 g is allowed"
    shaken = replace(
        result(0.0, 0.0, 0.0, 0.0),
        findings=tuple(replace(one, steady=False) for one in FIT.findings),
    )
    assert result_card(shaken).say == (
        "linearity: the weight did not come to rest at 2500 g, middle"
    )


def test_a_check_that_was_made_is_shown_until_the_next_build() -> None:
    follower = Follower()
    for moment in (UNCHECKED, UNDER_WAY, CHECKED, CHECKED):
        assert follower.take(said(moment), BOWL) == ""
    assert follower.scene.checked == FIT
    building = replace(CHECKED, live=live(BOWL, 0, Ask.ADD))
    follower.take(said(building), BOWL)
    assert follower.scene.checked is None


def test_a_result_gives_way_to_the_next_check() -> None:
    follower = Follower()
    for moment in (UNDER_WAY, CHECKED, replace(UNDER_WAY, check=FIT)):
        follower.take(said(moment), BOWL)
    assert follower.scene.checked is None


def test_a_check_made_while_the_station_was_away_is_shown_all_the_same() -> None:
    follower = Follower()
    follower.take(said(UNDER_WAY), BOWL)
    follower.take(Away("gone"), BOWL)
    assert follower.take(said(CHECKED), BOWL) == ""
    assert follower.scene.checked == FIT


def test_a_station_away_amid_a_check_promises_no_more_than_it_can() -> None:
    told = advice(Scene(UNDER_WAY, BOWL, Away("it is gone")))
    assert told.line == (
        "it is gone; a check may begin anew, this screen goes on when the station is back"
    )


def test_an_abandoned_check_is_said_to_be_so() -> None:
    _, told = followed(UNCHECKED, UNDER_WAY, UNCHECKED, UNCHECKED)
    line = "the check of the scale was abandoned: nothing of it is kept"
    assert told == ["", "", line, ""]
    _, told = followed(replace(UNDER_WAY, check=None), replace(UNCHECKED, check=None))
    assert told == ["", line]


def test_a_screen_that_comes_late_shows_no_old_result() -> None:
    follower = Follower()
    follower.take(said(CHECKED), BOWL)
    assert follower.scene.checked is None


@asynccontextmanager
async def showing(folder: Path, moment: StationState) -> AsyncIterator[Bench]:
    async with benched(folder, "place") as bench:
        bench.station.show(moment)
        yield bench


async def test_a_check_begins_with_the_usual_weights(tmp_path: Path) -> None:
    async with showing(tmp_path, replace(UNCHECKED, badge="Q-002")) as bench:
        await eventually(lambda: bench.app.bench._scene.state == bench.station.state)
        await bench.pilot.press("s")
        await bench.sees("500 g, 2 kg ")
        await bench.sees("not checked today")
        await bench.sees("badge Q-002")
        await bench.pilot.press("enter")
        await bench.asked({"command": "check", "weights": ["500 g", "2 kg"]})


async def test_other_weights_are_written_and_begun_by_touch(tmp_path: Path) -> None:
    nameless = replace(CHECKED, badge=None)
    async with showing(tmp_path, nameless) as bench:
        await eventually(lambda: bench.app.bench._scene.state == nameless)
        await bench.pilot.press("s")
        await bench.sees("nobody is signed in: B first names you")
        await bench.sees("checked today at 08:03: fit, by OIML R 76-1:2006, Table 6")
        bench.app.screen.query_one(Input).value = " 1 kg,200 g"
        await bench.pilot.click("#ok")
        await bench.asked({"command": "check", "weights": ["1 kg", "200 g"]})


async def test_without_weights_nothing_is_begun(tmp_path: Path) -> None:
    async with showing(tmp_path, replace(WAITING, check=None)) as bench:
        await bench.pilot.press("s")
        await bench.sees("such as 500 g, 2 kg")
        await bench.pilot.press("enter", "escape")
        await bench.pilot.press("n")
        await bench.asked({"command": "next"})


async def test_a_refused_check_can_be_put_right(tmp_path: Path) -> None:
    async with showing(tmp_path, UNCHECKED) as bench:
        await eventually(lambda: bench.app.bench._scene.state == UNCHECKED)
        bench.station.refusal = "check: a build is on the scale; finish it or lift it off first"
        await bench.pilot.press("s", "enter")
        await bench.sees("check: a build is on the scale; finish it")
        bench.station.refusal = None
        await bench.pilot.press("enter")
        await bench.sees("set an empty paper bowl")


async def test_it_leads_from_load_to_load_and_shows_the_result(tmp_path: Path) -> None:
    async with showing(tmp_path, UNDER_WAY) as bench:
        await bench.sees("put 2000 g in the middle of the pan")
        bench.station.show(replace(of(checking(3, 1999.0, empty=True)), check=UNCHECKED.check))
        await bench.sees("take everything off the pan")
        bench.station.show(replace(CHECKED, check=UNFIT))
        await bench.sees("linearity     7.5/3 g fails")
        await bench.sees("by OIML R 76-1:2006, Table 6, class III, in service (3.5.2)")
        await bench.pilot.press("space")
        await bench.sees("set an empty paper bowl")
        assert bench.station.commands == []


async def test_a_check_is_abandoned_only_on_purpose(tmp_path: Path) -> None:
    async with showing(tmp_path, UNDER_WAY) as bench:
        await bench.sees("put 2000 g in the middle of the pan")
        await bench.pilot.press("s")
        await bench.sees("Abandon it? Nothing of it is kept.")
        await bench.pilot.press(*"nubcpsq", "space", "enter", "pagedown", "tab")
        assert isinstance(bench.app.screen, AbandonDialog)
        await bench.pilot.press("escape")
        await bench.pilot.press("s")
        await bench.sees("Abandon it?")
        await bench.pilot.click("#leave")
        await eventually(lambda: bench.app.screen is bench.app.bench)
        assert bench.station.commands == []
        await bench.pilot.press("s", "y")
        await bench.asked({"command": "abandon"})


async def test_it_can_be_abandoned_by_touch(tmp_path: Path) -> None:
    async with showing(tmp_path, UNDER_WAY) as bench:
        await bench.sees("put 2000 g in the middle of the pan")
        await bench.pilot.press("s")
        await bench.sees("Abandon it?")
        await bench.pilot.click("#abandon")
        await bench.asked({"command": "abandon"})


async def test_a_station_that_hangs_amid_a_check_does_not_look_alive(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bench_screen, "_NEWS_S", 0.5)
    async with showing(tmp_path, replace(UNDER_WAY, live=None, session=None)) as bench:
        await bench.sees("put 2000 g in the middle of the pan")
        bench.station.silent = True
        await bench.sees("old weight")


async def test_the_keys_fit_at_every_size() -> None:
    for size in (golden.LEAST, golden.USUAL, golden.LARGE):
        async with staged(CHECKS["check-put-on"], size) as pilot:
            seen = text(pilot)
        for key, word, _ in KEYS:
            assert f"[{key}] {word}" in seen or f"{key} {word}" in seen, (size, word)


@pytest.mark.parametrize("size", [golden.USUAL, golden.LARGE])
@pytest.mark.parametrize("name", sorted(CHECKS))
async def test_what_to_do_is_written_in_letters_three_rows_tall_or_more(
    name: str, size: tuple[int, int]
) -> None:
    async with staged(CHECKS[name], size) as pilot:
        banner = pilot.app.query_one("Banner").region
        rows = text(pilot).splitlines()[banner.y : banner.bottom]
    assert sum(any(block in row for block in "█▀▄") for row in rows) >= 3


async def test_a_lost_link_amid_a_check_is_drawn(tmp_path: Path) -> None:
    async with showing(tmp_path, of(checking(5, 1999.0), LinkState.LOST)) as bench:
        await bench.sees("the check goes on when it is back, S")


def test_whoever_signed_in_is_named_though_nothing_can_be_built_yet() -> None:
    refused = replace(UNCHECKED, session=None, live=None, badge="Q-002")
    assert "badge Q-002" in view(Scene(refused)).facts
    assert not any("badge" in fact for fact in view(Scene(replace(refused, badge=None))).facts)
