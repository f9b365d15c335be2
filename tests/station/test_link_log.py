from __future__ import annotations

import logging
from dataclasses import replace

import pytest

from scaled.core.reading import Reading
from scaled.station.link import LinkState
from scaled.station.link_log import LinkLog
from scaled.station.symptoms import FLAP_SPAN_S
from tests.station.rig import LINK

Befell = tuple[LinkState, str] | float
"""A state of the link with its detail, or readings for so long, s."""


def told(caplog: pytest.LogCaptureFixture, *states: Befell) -> list[str]:
    """What is said of these, each a second after the last."""
    caplog.set_level(logging.INFO, "scaled")
    log, t = LinkLog("line-1"), 0.0
    for state in states:
        if isinstance(state, float):
            for _ in range(round(state)):
                t += 1.0
                log.hear(Reading(t, 12.0))
        else:
            t += 1.0
            log.hear(replace(LINK, t=t, state=state[0], detail=state[1]))
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
    flaps: list[Befell] = [FLAPPING, OPENING, LIVE, 10.0] * 20
    assert told(caplog, *flaps, LOST, LIVE) == [
        "line-1: comes and goes",
        "line-1: pulled",
        "line-1: weighs again",
    ]


def test_a_line_that_came_and_went_is_told_to_be_steady_once_it_is(
    caplog: pytest.LogCaptureFixture,
) -> None:
    flaps: list[Befell] = [FLAPPING, OPENING, LIVE, FLAP_SPAN_S - 1.0] * 3
    steady: list[Befell] = [FLAPPING, OPENING, LIVE, 3 * FLAP_SPAN_S]
    assert told(caplog, *flaps, *steady, *steady, LOST, LIVE) == [
        "line-1: comes and goes",
        "line-1: weighs again, for 60 s without a break",
        "line-1: comes and goes",
        "line-1: weighs again, for 60 s without a break",
        "line-1: pulled",
        "line-1: weighs again",
    ]
