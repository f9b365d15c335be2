"""What README and DEVELOPERS.md say of the log and of recordings, held to the code."""

from __future__ import annotations

import json
import re
from dataclasses import fields
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

import pytest

from scaled.core.accuracy import ByClass, ByVerification
from scaled.core.events import Attribution, Doubt, Event, Verdict
from scaled.core.handoff_events import Collected
from scaled.core.reading import Reading, Unit
from scaled.recording import COLUMNS, KEY, KEYS, parse_recording
from scaled.records import check_sheet, sheet
from scaled.records.body import Draft, draft_check, draft_end, draft_readings, draft_start
from scaled.records.check import CHECKED, ScaleCheck
from scaled.records.export import _notes
from scaled.records.session import SessionInfo
from scaled.records.told import TOLD
from tests.records.checks import scale_check

ROOT: Final = Path(__file__).parents[1]
DEVELOPERS: Final = (ROOT / "DEVELOPERS.md").read_text()
README: Final = (ROOT / "README.md").read_text()
HEAD: Final = {"event", "t", "build"}
"""What every record has; explained above the tables."""

INFO: Final = SessionInfo(
    session="20261125T101500000Z-line-1",
    station="line-1",
    badge="C-014",
    profile_text="schema = 1",
    profile_id="winter-barley-bowl",
    profile_revision="3",
    format="ascii-stream",
    device="scale",
    division_g=1.0,
    started_at=datetime(2026, 11, 25, 10, 15, tzinfo=UTC),
    software="test",
    accuracy=ByClass("III", 1.0),
    position="hot line",
    habit={"barley": (0.12, -0.03)},
)
RECORDS: Final[dict[str, Draft]] = {
    draft.kind: draft
    for draft in (
        draft_start(INFO),
        draft_end(),
        draft_readings([Reading(0.0, 1.0)]),
        draft_check(scale_check()),
    )
}


def kinds(of: type[Event] = Event) -> dict[str, type[Event]]:
    """Every event class there is, by its name; the hand-off's are loaded with the others."""
    assert issubclass(Collected, Event)
    found: dict[str, type[Event]] = {}
    for kind in of.__subclasses__():
        found |= {kind.event: kind, **kinds(kind)}
    return found


def table(name: str) -> list[list[str]]:
    """The cells of a table between its two marks, without its head."""
    found = re.search(rf"<!-- {name} -->\n(.*?)<!-- end of {name} -->", DEVELOPERS, re.DOTALL)
    assert found is not None
    rows = [line.split("|")[1:-1] for line in found[1].splitlines()]
    return [[cell.strip() for cell in row] for row in rows[2:]]


def explained(name: str) -> dict[str, dict[str, str]]:
    """What a table of three columns says of each kind's fields; its own text under ""."""
    said: dict[str, dict[str, str]] = {}
    kind = ""
    for first, field, text in table(name):
        if first:
            kind = first.strip("`")
            assert kind not in said
            said[kind] = {}
        assert text
        assert field.strip("`") not in said[kind]
        said[kind][field.strip("`")] = text
    return said


def named(name: str) -> list[str]:
    """The names in the first column of a table of two."""
    rows = table(name)
    assert all(text for _, text in rows)
    return [word for names, _ in rows for word in re.findall(r"`([^`]+)`", names)]


EVENTS: Final = explained("events")
STORED: Final = explained("records")


def test_every_kind_of_event_is_explained() -> None:
    assert EVENTS.keys() == kinds().keys()
    assert STORED.keys() == {*RECORDS, sheet.HEAD}


@pytest.mark.parametrize("kind", kinds())
def test_every_field_of_an_event_is_explained_and_whether_it_may_be_null(kind: str) -> None:
    own = [field for field in fields(kinds()[kind]) if field.name not in HEAD]
    assert [*EVENTS[kind]] == ["", *(field.name for field in own)]
    for field in own:
        may_be_null = "None" in str(field.type)
        assert ("null" in EVENTS[kind][field.name]) is may_be_null, field.name


@pytest.mark.parametrize("kind", RECORDS)
def test_every_field_of_another_record_is_explained(kind: str) -> None:
    assert {*STORED[kind]} == {"", *json.loads(RECORDS[kind].body)} - HEAD


@pytest.mark.parametrize(
    ("kind", "source"), [("session_started", SessionInfo), ("scale_checked", ScaleCheck)]
)
def test_it_is_said_what_of_a_record_may_be_null(kind: str, source: type[Any]) -> None:
    said = STORED[kind]
    for field in fields(source):
        if field.name in said:
            assert ("null" in said[field.name]) is ("None" in str(field.type)), field.name


def test_what_stands_inside_a_record_is_named() -> None:
    for accuracy in (ByClass, ByVerification):
        for field in fields(accuracy):
            assert f"`{field.name}`" in STORED["session_started"]["accuracy"]
    found = json.loads(RECORDS["scale_checked"].body)["verification"]
    assert all(f"`{key}`" in STORED["scale_checked"]["verification"] for key in found)


def test_what_is_said_of_unsure_and_null_holds_in_every_capture() -> None:
    told = [
        json.loads(line)
        for file in sorted((ROOT / "tests" / "captures").glob("*/events.jsonl"))
        for line in file.read_text().splitlines()
    ]
    portions = [event for event in told if event["event"] == "portion"]
    assert {event["attribution"] for event in portions} >= {Attribution.SURE, Attribution.UNSURE}
    for event in portions:
        assert (event["net_g"] is None) is (event["attribution"] == Attribution.UNSURE)
        assert (event["u_g"] is None) is (event["net_g"] is None)
        assert bool(event["joint_with"]) is (event["attribution"] == Attribution.JOINT)
        if event["attribution"] != Attribution.SURE:
            assert (event["verdict"], event["doubt"]) == (Verdict.UNSURE, None)
        if event["skipped"]:
            assert (event["verdict"], event["net_g"]) == (Verdict.UNDER, 0.0)
    nulls = {(event["event"], key) for event in told for key in event if event[key] is None}
    assert ("settled", "verdict") in nulls
    assert all("null" in EVENTS[kind][key] for kind, key in nulls)
    taken = [event["amount_g"] for event in told if event["event"] == "taken_back"]
    assert taken
    assert min(taken) > 0


@pytest.mark.parametrize("value", [*Verdict, *Attribution, *Doubt])
def test_every_word_of_a_judgement_is_explained_to_both_readers(value: str) -> None:
    _, _, rest = DEVELOPERS.partition("## The log\n")
    general, _, _ = rest.partition("<!-- events -->")
    _, _, rest = README.partition("## Reading the log\n")
    short, _, _ = rest.partition("\n## ")
    assert f"`{value}`" in general
    assert f"`{value}`" in short


def test_every_column_of_the_spreadsheets_is_explained() -> None:
    assert sorted(named("sheet")) == sorted([*sheet.COLUMNS])
    assert sorted(named("checks")) == sorted([*check_sheet.COLUMNS])


def test_every_column_and_note_of_a_recording_is_explained() -> None:
    assert named("recording") == [*COLUMNS, KEY]
    keys = dict(table("recording"))[f"`{KEY}`"]
    assert all(f"`{key}`" in keys for key in KEYS)
    written = {*_notes(INFO, 1), CHECKED, f"{TOLD} 1", f"{TOLD} 2", sheet.HEAD}
    assert {*named("notes")} == written


def test_readmes_recording_can_be_read() -> None:
    found = re.search(r"<!-- recording -->\n```csv\n(.*?)```", README, re.DOTALL)
    assert found is not None
    recording = parse_recording(found[1], "README.md")
    assert recording.readings == (
        Reading(0.0, 0.0, Unit.G, True),
        Reading(0.1, 0.0, Unit.G, None),
        Reading(0.2, 12.0, Unit.G, False),
    )
    assert recording.scale.division_g == 1.0


def test_every_reference_between_the_two_leads_somewhere() -> None:
    headings = {
        heading.lower().replace(" ", "-") for heading in re.findall(r"^## (.+)$", DEVELOPERS, re.M)
    }
    linked = re.findall(r"\((?:DEVELOPERS\.md)?#([^)]+)\)", README + DEVELOPERS)
    assert {*linked} >= {"the-log", "recordings"}
    assert {*linked} <= headings
