"""What other scales told a session of builds, as notes of its recording and back."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING, Final

from scaled.core.errors import RecordingError
from scaled.core.handoff_events import Collected, Expected, Forgotten, Told
from scaled.records.body import parse_event

if TYPE_CHECKING:
    from scaled.recording import Recording
    from scaled.records.reader import Records

TOLD: Final = "told"
"""The notes' key; a number follows."""


def told_notes(journal: Records, session: str) -> dict[str, str]:
    """All that a session was told, in order."""
    kinds = (Expected.event, Forgotten.event, Collected.event)
    found = [record for kind in kinds for record in journal.of_kind(session, kind)]
    found.sort(key=lambda record: record.seq)
    return {f"{TOLD} {place}": record.body for place, record in enumerate(found, 1)}


def read_told(recording: Recording) -> deque[Told]:
    """All that the session of a recording was told, oldest first.

    Raises:
        RecordingError: A note of it makes no sense.
    """
    notes = recording.notes.items()
    return deque(_event(recording, key, line) for key, line in notes if key.split()[:1] == [TOLD])


def _event(recording: Recording, key: str, line: str) -> Told:
    try:
        event = parse_event(line)
        if isinstance(event, Expected | Forgotten | Collected) and isinstance(
            event.t, float | int
        ):
            return event
    except (KeyError, TypeError, ValueError) as err:
        raise RecordingError(recording.where, key, _NO_WORD) from err
    raise RecordingError(recording.where, key, _NO_WORD)


_NO_WORD: Final = "not what a scale is told; export the recording anew, or remove the note"
