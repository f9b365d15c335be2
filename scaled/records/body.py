"""Bodies: what each kind of record says, as one JSON object with ``event``, ``t``, ``build``."""

from __future__ import annotations

import json
import zlib
from dataclasses import asdict, dataclass, fields, replace
from typing import TYPE_CHECKING, Any, Final

from scaled.core.accuracy import ByClass, ByVerification
from scaled.core.event_line import event_line
from scaled.core.events import Attribution, Doubt, Event, Verdict
from scaled.core.handoff_events import Collected, Expected, Forgotten, HandedOver, TakenOver
from scaled.core.transit_json import parse_transit
from scaled.recording import parse_recording, recording_text
from scaled.records.chain import READINGS, Record, chunk_hash
from scaled.records.check import SCALE_CHECKED, ScaleCheck, check_fields
from scaled.records.habit import understood_habit
from scaled.records.session import SessionInfo, instant_text, parse_instant

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from scaled.core.reading import Reading

SESSION_STARTED: Final = "session_started"
SESSION_ENDED: Final = "session_ended"
OTHER_KINDS: Final = frozenset({SESSION_STARTED, SESSION_ENDED, READINGS, SCALE_CHECKED})
"""Kinds of records that are not events of the core."""

_HANDOFF: Final[list[type[Event]]] = [Collected, Expected, Forgotten, HandedOver, TakenOver]
_EVENTS: Final = {kind.event: kind for kind in [*Event.__subclasses__(), *_HANDOFF]}


@dataclass(frozen=True, slots=True)
class Draft:
    """A record that has no place in the chain yet."""

    kind: str
    body: str
    build: int = 0
    t: float | None = None
    chunk: bytes | None = None


def draft_start(info: SessionInfo) -> Draft:
    """The record that opens a session."""
    said = asdict(info) | {"started_at": instant_text(info.started_at)}
    del said["session"]  # the record says it
    return Draft(SESSION_STARTED, _json(_head(SESSION_STARTED, None) | said))


def draft_end() -> Draft:
    """The record that closes a session."""
    return Draft(SESSION_ENDED, _json(_head(SESSION_ENDED, None)))


def draft_check(check: ScaleCheck) -> Draft:
    """The record of a check of a scale."""
    return Draft(SCALE_CHECKED, _json(_head(SCALE_CHECKED, None) | check_fields(check)))


def draft_event(event: Event) -> Draft:
    """The record of one event, rounded as events are."""
    # A whole number would be spelled otherwise in the body than as the REAL that SQLite keeps.
    body = event_line(replace(event, t=float(event.t)))
    return Draft(event.event, body, event.build, json.loads(body)["t"])


def draft_readings(readings: Sequence[Reading]) -> Draft:
    """The record of some readings, at least one: a compressed recording and what is in it."""
    chunk = zlib.compress(recording_text(readings, {}).encode())
    # As events round it; adding 0.0 makes -0.0 a plain zero, as SQLite stores it.
    first_s, last_s = (round(float(one.t), 3) + 0.0 for one in (readings[0], readings[-1]))
    said = {"count": len(readings), "from_s": first_s, "sha256": chunk_hash(chunk)}
    return Draft(READINGS, _json(_head(READINGS, last_s) | said), 0, last_s, chunk)


def read_start(record: Record) -> SessionInfo:
    """The session that a record opens."""
    said = json.loads(record.body)
    said["started_at"] = parse_instant(said["started_at"])
    if said.get("accuracy") is not None:
        kind = ByVerification if "error_g" in said["accuracy"] else ByClass
        said["accuracy"] = kind(**said["accuracy"])
    said["habit"] = understood_habit(said.get("habit"))
    wanted = {field.name: said[field.name] for field in fields(SessionInfo) if field.name in said}
    return SessionInfo(session=record.session, **wanted)


def read_event(record: Record) -> Event:
    """The event that a record holds."""
    return parse_event(record.body)


def parse_event(line: str) -> Event:
    """The event that a line of JSON says.

    Raises:
        ValueError: It is not JSON, or a value makes no sense.
        TypeError: Not an object, or its keys are not those of its kind.
        KeyError: No such kind.
    """
    said = json.loads(line)
    kind = _EVENTS[said.pop("event")]
    return kind(**{name: _typed(name, value) for name, value in said.items()})


def read_readings(record: Record) -> tuple[Reading, ...]:
    """The readings in a record's chunk, oldest first."""
    text = zlib.decompress(record.chunk or b"").decode()
    return parse_recording(text, f"record {record.seq}").readings


def _head(kind: str, t: float | None) -> dict[str, Any]:
    return {"event": kind, "t": t, "build": 0}


def _json(said: dict[str, Any]) -> str:
    return json.dumps(said, ensure_ascii=False, separators=(",", ":"))


def _typed(name: str, value: Any) -> Any:  # noqa: ANN401 -- any JSON value
    read = _READ.get(name)
    return value if value is None or read is None else read(value)


_READ: Final[dict[str, Callable[[Any], object]]] = {
    "verdict": Verdict,
    "attribution": Attribution,
    "doubt": Doubt,
    "joint_with": tuple,
    "transit": parse_transit,
}
"""Fields of events that JSON has no values for."""
