"""What a user sees of an error is one line; what a program needs of it are its parts."""

from __future__ import annotations

import pytest

from scaled.core.errors import (
    CommandRefused,
    ConfigError,
    InputError,
    JournalBusy,
    LinkAbsent,
    LinkLost,
    ScaledError,
    only_error,
)

LOST = LinkLost("/dev/scale", "the line went away", "plug it in again")
ABSENT = LinkAbsent("radio", "there is none", "switch it on")
FAULT = ZeroDivisionError("of ours")


@pytest.mark.parametrize(
    ("error", "line", "parts"),
    [
        (
            LOST,
            "/dev/scale: the line went away; plug it in again",
            {"device": "/dev/scale", "reason": "the line went away", "remedy": "plug it in again"},
        ),
        (
            JournalBusy("day.journal", "another daemon writes to it", "stop that one"),
            "day.journal: another daemon writes to it; stop that one",
            {
                "path": "day.journal",
                "reason": "another daemon writes to it",
                "remedy": "stop that one",
            },
        ),
        (
            ConfigError("scaled.toml", "station", "is missing"),
            "scaled.toml: station: is missing",
            {"where": "scaled.toml", "key": "station", "reason": "is missing"},
        ),
        (
            InputError("scaled.toml", "", "is no TOML"),
            "scaled.toml: is no TOML",
            {"where": "scaled.toml", "key": "", "reason": "is no TOML"},
        ),
        (
            CommandRefused("undo", "nothing was taken yet"),
            "undo: nothing was taken yet",
            {"command": "undo", "reason": "nothing was taken yet"},
        ),
    ],
)
def test_an_error_is_one_line_and_its_parts(
    error: ScaledError, line: str, parts: dict[str, str]
) -> None:
    assert str(error) == line
    assert vars(error) == parts


def group(*errors: Exception) -> ExceptionGroup[Exception]:
    return ExceptionGroup("tasks", errors)


@pytest.mark.parametrize(
    ("inside", "told"),
    [
        (group(FAULT), FAULT),
        (group(group(LOST)), LOST),
        (group(LOST, group(ABSENT)), LOST),
    ],
)
def test_of_errors_that_a_user_can_act_on_the_first_is_told(
    inside: ExceptionGroup[Exception], told: Exception
) -> None:
    assert only_error(inside) is told


def test_a_fault_of_ours_hides_behind_no_other_error() -> None:
    both = group(LOST, FAULT)
    assert only_error(both) is both
