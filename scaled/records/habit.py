"""What a session was told of its cook: in the record that begins it and as a recording's note."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Final

from scaled.core.errors import RecordingError

if TYPE_CHECKING:
    from scaled.core.habit import Deviations
    from scaled.recording import Recording

HABIT: Final = "habit"
"""Key of a recording's note of it."""
_NO_HABIT: Final = "not how far off portions were; export the recording anew, or remove the note"


def habit_note(habit: Deviations) -> str:
    """How far off a cook's portions were, as a recording's note."""
    return json.dumps(dict(habit), ensure_ascii=False)


def read_habit(recording: Recording) -> Deviations | None:
    """What a recording's note says of the cook; None without one.

    Raises:
        RecordingError: The note makes no sense.
    """
    line = recording.notes.get(HABIT)
    if line is None:
        return None
    try:
        habit = understood_habit(json.loads(line))
    except ValueError as err:
        raise RecordingError(recording.where, HABIT, _NO_HABIT) from err
    if habit is None:
        raise RecordingError(recording.where, HABIT, _NO_HABIT)
    return habit


def understood_habit(said: object) -> Deviations | None:
    """How far off a cook's portions were, from any JSON value; None where it does not say that.

    A session's record need not be refused for it: nothing that was weighed hangs on it.
    """
    if not isinstance(said, dict) or not all(_are_deviations(offs) for offs in said.values()):
        return None
    return {step: tuple(float(off) for off in offs) for step, offs in said.items()}


def _are_deviations(offs: object) -> bool:
    """Whether it is a list of shares of a target; not a number (NaN) is none."""
    return isinstance(offs, list) and all(
        type(off) in {int, float} and abs(off) <= 1 for off in offs
    )
