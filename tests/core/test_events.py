"""Events as lines: what other people's tools read."""

from __future__ import annotations

import json
import re
from dataclasses import fields

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core import events
from scaled.core.event_line import event_fields, event_line
from scaled.core.events import (
    Attribution,
    BuildStarted,
    Event,
    Finished,
    Noted,
    Portion,
    Settled,
    SignalBack,
    Verdict,
)

KINDS = [
    kind
    for kind in vars(events).values()
    if isinstance(kind, type) and issubclass(kind, Event) and kind is not Event
]

PORTION = Portion(
    t=13.30049,
    build=2,
    step="lentils",
    net_g=51.12349,
    u_g=0.40825,
    verdict=Verdict.PASS,
    confidence=0.99714999,
    attribution=Attribution.SURE,
)


def test_a_portion_reads_like_this() -> None:
    # The line other people's tools parse: names, their order and the digits are a contract.
    assert event_line(PORTION) == (
        '{"event":"portion","t":13.3,"build":2,"step":"lentils","net_g":51.123,"u_g":0.408,'
        '"verdict":"pass","confidence":0.9971,"attribution":"sure","joint_with":[],'
        '"skipped":false,"u_scale_g":null,"doubt":null}'
    )


def test_the_other_final_word_reads_like_this() -> None:
    finished = Finished(
        t=25.5, build=1, net_g=None, u_g=None, verdict=Verdict.UNSURE, confidence=0.5,
        duration_s=20.40049,
    )  # fmt: skip
    assert event_line(finished) == (
        '{"event":"finished","t":25.5,"build":1,"net_g":null,"u_g":null,"verdict":"unsure",'
        '"confidence":0.5,"duration_s":20.4,"u_scale_g":null,"doubt":null}'
    )


def test_a_rest_reads_like_this() -> None:
    settled = Settled(t=0.4, build=0, step=None, net_g=None, u_g=0.3, verdict=None, confidence=1.0)
    assert event_line(settled) == (
        '{"event":"settled","t":0.4,"build":0,"step":null,"net_g":null,"u_g":0.3,'
        '"verdict":null,"confidence":1.0}'
    )


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_a_name_is_the_class_in_small_letters(kind: type[Event]) -> None:
    assert kind.event == re.sub(r"(?<!^)(?=[A-Z])", "_", kind.__name__).lower()


def test_no_two_events_share_a_name() -> None:
    assert len({kind.event for kind in KINDS}) == len(KINDS)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_every_event_begins_with_its_name_its_time_and_its_build(kind: type[Event]) -> None:
    values = {
        field.name: 1.5 if field.name.endswith(("_g", "_s")) else "x" for field in fields(kind)
    }
    line = json.loads(event_line(kind(**(values | {"t": 2.0, "build": 3}))))  # type: ignore[arg-type]
    assert list(line)[:3] == ["event", "t", "build"]
    assert (line["event"], line["t"], line["build"]) == (kind.event, 2.0, 3)
    assert list(line)[1:] == [field.name for field in fields(kind)]


# Weights to 1 mg, times to 1 ms, probabilities to 1e-4.
@given(st.floats(-1e6, 1e6), st.floats(0, 1e7), st.floats(0, 1))
def test_numbers_are_rounded_and_read_back(weight_g: float, t: float, chance: float) -> None:
    said = Settled(
        t=t, build=1, step="a", net_g=weight_g, u_g=0.5, verdict=None, confidence=chance
    )
    line = json.loads(event_line(said))
    assert line["net_g"] == round(weight_g, 3)
    assert line["t"] == round(t, 3)
    assert line["confidence"] == round(chance, 4)
    back = SignalBack(t=t, build=1, gap_s=t)
    assert event_fields(back)["gap_s"] == round(t, 3)


def test_nothing_is_written_as_minus_nothing() -> None:
    line = event_line(BuildStarted(t=-0.0, build=1, tare_g=-0.0001, u_g=-0.0))
    assert "-" not in line


@given(st.text())
def test_a_remark_stays_on_one_line_and_reads_back(text: str) -> None:
    line = event_line(Noted(t=1.0, build=1, text=text))
    assert json.loads(line)["text"] == text
    assert "\n" not in line
    assert "\r" not in line


def test_letters_of_other_alphabets_stay_readable() -> None:
    assert '"jalapeño, 多"' in event_line(Noted(t=1.0, build=1, text="jalapeño, 多"))
