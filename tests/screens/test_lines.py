from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pytest

from scaled.core.errors import ConfigError
from scaled.screens.client import StationClient, Update
from scaled.screens.lines import Teller, follow
from scaled.screens.wire import Away, EventsMessage, MissedMessage, StateMessage
from tests.screens.fake_station import FakeStation
from tests.screens.scenes import BOWL, STATES

BARLEY = {
    "event": "portion",
    "t": 9.0,
    "build": 4,
    "step": "barley",
    "net_g": 121.2,
    "u_g": 0.41,
    "verdict": "pass",
    "confidence": 0.99,
    "attribution": "sure",
    "joint_with": [],
    "skipped": False,
}
FINISHED = {
    "event": "finished",
    "t": 60.0,
    "build": 4,
    "net_g": 342.3,
    "u_g": 0.5,
    "verdict": "pass",
    "confidence": 0.99,
    "duration_s": 48.0,
}


def told(*updates: Update) -> list[str]:
    teller = Teller()
    return [line for update in updates for line in teller.lines(update, BOWL)]


def shown(name: str) -> StateMessage:
    state = STATES[name]
    assert state is not None
    return StateMessage(type="state", state=state)


def events(*happened: dict[str, object]) -> EventsMessage:
    return EventsMessage(type="events", events=happened)


def test_advice_and_results_read_like_a_log() -> None:
    assert told(
        shown("add-first"),
        shown("add"),
        shown("next"),
        events(BARLEY, {"event": "lifted", "t": 9.0, "build": 4, "net_g": 3.0}),
        shown("lift"),
        events(FINISHED),
    ) == [
        "build 4  add 118 g of pearl barley: three scoops",
        "build 4  add 36 g of pearl barley: one more scoop",
        "build 4  good: next is brown lentils (2 fl oz spoodle, level: one spoonful)",
        "build 4    ● pearl barley 121 g, pass",
        "build 4  lift it off: 342 g, everything passed; four checks to answer: press C",
        "build 4    ● the whole build 342 g, pass",
    ]


def test_nothing_is_said_twice_and_nothing_while_the_weight_moves() -> None:
    assert told(shown("add"), shown("wait"), shown("add"), shown("add")) == [
        "build 4  add 36 g of pearl barley: one more scoop"
    ]


def test_the_weight_of_a_build_being_lifted_is_no_news() -> None:
    before = shown("lift")
    assert before.state.live is not None
    lighter = replace(before.state.live, total_net_g=330.0)
    after = StateMessage(type="state", state=replace(before.state, live=lighter))
    assert len(told(before, after)) == 1


@pytest.mark.parametrize(
    ("change", "line"),
    [
        ({"verdict": "over", "net_g": 140.0}, "build 4    ▲ pearl barley 140 g, over"),
        (
            {"net_g": None, "verdict": "under", "skipped": True},
            "build 4    ○ pearl barley, skipped",
        ),
        (
            {"joint_with": ["lentils"], "attribution": "joint"},
            "build 4    ● pearl barley with brown lentils 121 g, pass",
        ),
        ({"verdict": "unsure", "net_g": None}, "build 4    ? pearl barley, unsure"),
        (
            {"verdict": "unsure", "net_g": 126.5, "doubt": "near_limit"},
            "build 4    ? pearl barley 126 g, unsure: too near a limit",
        ),
        (
            {"verdict": "unsure", "doubt": "too_coarse"},
            "build 4    ? pearl barley 121 g, unsure: too coarse a scale for it",
        ),
        (
            {"event": "handed_over", "net_g": 276.4, "u_g": 0.5},
            "build 4    ► passed on with 276 g in it",
        ),
        (
            {"event": "taken_over", "origin": "line-1/3", "became": 4},
            "build 4    ► goes on where the other scale left off",
        ),
        ({"event": "reopened"}, "build 4    ► pearl barley is open again"),
        (
            {"event": "odd_container", "container": None, "tare_g": 25.2}
            | {"expected": "paper bowl, 750 mL", "expected_g": 18.0},
            "build 4    ? this container weighs 25 g, the dish's 18 g: swap it, or just begin",
        ),
        (
            {"event": "odd_container", "container": "paper bowl, 1 L", "tare_g": 25.8}
            | {"expected": "paper bowl, 750 mL", "expected_g": 18.0},
            "build 4    ? this is the paper bowl, 1 L: the dish asks for the paper bowl, 750 mL",
        ),
    ],
)
def test_every_kind_of_result_has_its_line(change: dict[str, object], line: str) -> None:
    assert told(events({**BARLEY, **change})) == [line]


def test_trouble_is_said_and_so_is_its_end() -> None:
    assert told(shown("add"), shown("lost"), shown("add"), Away("nothing answers at x")) == [
        "build 4  add 36 g of pearl barley: one more scoop",
        "build 4  /dev/ttyUSB0: unplugged; plug it in again; the build is kept",
        "build 4  add 36 g of pearl barley: one more scoop",
        "build 4  nothing answers at x; the build is kept, this screen goes on when the station "
        "is back",
    ]


def test_what_was_missed_is_admitted() -> None:
    assert told(MissedMessage(type="missed", count=7)) == [
        "(7 events were too fast for this view; the journal has them)"
    ]


def test_before_the_profile_is_known_a_result_has_its_step() -> None:
    assert list(Teller().lines(events(BARLEY), None)) == ["build 4    ● barley 121 g, pass"]


async def test_lines_end_after_the_builds_that_were_asked_for(tmp_path: Path) -> None:
    station = FakeStation(shown("lift").state)
    out = io.StringIO()

    class Out(io.StringIO):
        """Finishes a build as soon as something is written."""

        def write(self, text: str) -> int:
            if not out.getvalue():
                station.happen(FINISHED)
            return out.write(text)

    async with station.serving(uds=f"{tmp_path}/s"):
        await follow(StationClient(f"unix:{tmp_path}/s"), Out(), builds=1)
    assert out.getvalue().splitlines()[-1] == "build 4    ● the whole build 342 g, pass"


async def test_lines_of_an_unknown_station_are_refused(tmp_path: Path) -> None:
    async with FakeStation(shown("lift").state).serving(uds=f"{tmp_path}/s"):
        with pytest.raises(ConfigError, match="no such station"):
            await follow(StationClient(f"unix:{tmp_path}/s", "cold"), io.StringIO())
