"""What was known of a cook, as text and back; odd text is told of or passed over."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.errors import RecordingError
from scaled.core.reading import Reading
from scaled.recording import Recording, parse_recording, recording_text
from scaled.records.body import draft_start, read_start
from scaled.records.chain import Record
from scaled.records.habit import HABIT, habit_note, read_habit

if TYPE_CHECKING:
    from scaled.records.session import SessionInfo

steps = st.text(st.characters(codec="utf-8", exclude_characters="\r\n"), min_size=1)
habits = st.dictionaries(steps, st.lists(st.floats(-0.3, 0.3), max_size=12).map(tuple))

ODD: list[Any] = [
    *([], "barley", 1, True, {"barley": 0.1}, {"barley": "0.1"}, {"barley": {"0": 0.1}}),
    *({"barley": ["0.1"]}, {"barley": [None]}, {"barley": [True]}, {"barley": [[0.1]]}),
    *({"barley": [1.5]}, {"barley": [10**400]}, {"barley": [float("nan")]}),
    *({"barley": [float("inf")]}, {"barley": [0.1], "seeds": None}),
]


def noted(note: str) -> Recording:
    return parse_recording(recording_text([Reading(0.0, 1.0)], {HABIT: note}), "morning.csv")


def started(info: SessionInfo, habit: object) -> Record:
    """A record that begins a session, as another program may have written it."""
    body = json.loads(draft_start(info).body) | {HABIT: habit}
    return Record(1, info.session, 0, None, "", "session_started", json.dumps(body), "")


@given(habits)
def test_a_recordings_note_reads_back_as_it_was(habit: dict[str, tuple[float, ...]]) -> None:
    spaced = {" ".join(step.split()): offs for step, offs in habit.items()}
    assert read_habit(noted(habit_note(spaced))) == spaced


def test_a_recording_without_the_note_knows_nobody() -> None:
    recording = parse_recording(recording_text([Reading(0.0, 1.0)], {}), "morning.csv")
    assert read_habit(recording) is None


@pytest.mark.parametrize("note", ["", "nobody", "{", *(json.dumps(odd) for odd in ODD)])
def test_a_note_that_makes_no_sense_is_one_line(note: str) -> None:
    with pytest.raises(RecordingError) as caught:
        read_habit(noted(note))
    assert str(caught.value) == (
        "morning.csv: habit: not how far off portions were; export the recording anew, or remove"
        " the note"
    )


def test_the_record_that_begins_a_session_keeps_it(info: SessionInfo) -> None:
    known = replace(info, habit={"barley": (0.12, -0.0301)})
    body = draft_start(known).body
    assert json.loads(body)["habit"] == {"barley": [0.12, -0.0301]}
    assert read_start(started(known, json.loads(body)["habit"])) == known


@pytest.mark.parametrize("odd", [None, *ODD])
def test_a_session_is_read_whatever_stands_there(info: SessionInfo, odd: object) -> None:
    assert read_start(started(info, odd)) == info


def test_a_session_from_before_there_was_such_a_thing_is_read(info: SessionInfo) -> None:
    record = started(info, None)
    old = {key: value for key, value in json.loads(record.body).items() if key != HABIT}
    assert read_start(replace(record, body=json.dumps(old))) == info
