from __future__ import annotations

import logging
from dataclasses import replace

import pytest

from scaled.station.link import LinkState
from scaled.station.link_log import LinkLog
from tests.station.rig import LINK


def told(caplog: pytest.LogCaptureFixture, *states: tuple[LinkState, str]) -> list[str]:
    caplog.set_level(logging.INFO, "scaled")
    log = LinkLog("line-1")
    for state, detail in states:
        log.tell(replace(LINK, state=state, detail=detail))
    return caplog.messages


LIVE = (LinkState.LIVE, "")
OPENING = (LinkState.OPENING, "")
LOST = (LinkState.LOST, "pulled")
FLAPPING = (LinkState.FLAPPING, "comes and goes")


def test_each_trouble_is_told_and_its_end(caplog: pytest.LogCaptureFixture) -> None:
    assert told(caplog, OPENING, LIVE, LOST, OPENING, LIVE, LOST, LIVE) == [
        "line-1: pulled",
        "line-1: weighs again",
        "line-1: pulled",
        "line-1: weighs again",
    ]


def test_a_line_that_comes_and_goes_is_told_once(caplog: pytest.LogCaptureFixture) -> None:
    flaps = [FLAPPING, OPENING, LIVE] * 20
    assert told(caplog, *flaps, LOST, LIVE) == [
        "line-1: comes and goes",
        "line-1: pulled",
        "line-1: weighs again",
    ]
