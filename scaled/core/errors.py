"""The one error tree, grouped by who acts on it.

::

    ScaledError
    ├── LinkError        the station acts: back off and reopen
    │   ├── LinkLost         an open line went away
    │   └── LinkRefused      the line cannot be opened at all
    │       ├── LinkAbsent       nothing is there or in reach
    │       └── LinkBusy         another program has it
    ├── InputError       the user acts: exit 2
    │   ├── ProfileError     the profile's author
    │   ├── ConfigError      whoever wrote the configuration or the command line
    │   ├── RecordingError   whoever made the recording
    │   └── ServerError      whoever chose where to listen
    ├── CommandRefused   sent back to the screen that asked
    └── JournalError     stop rather than lose a record
        └── JournalBusy      another daemon writes to it

Errors carry fields; ``str()`` of any of them is the one line a user sees. Over, under,
stale and lost are values and states, never errors.
"""

from __future__ import annotations

from collections.abc import Iterator


class ScaledError(Exception):
    """Root of all errors this program raises on purpose."""


class LinkError(ScaledError):
    """A scale's line cannot be used.

    Attributes:
        device: What was opened, as the user named it.
        reason: Why it cannot be used.
        remedy: What to do about it.
    """

    def __init__(self, device: str, reason: str, remedy: str) -> None:
        super().__init__(f"{device}: {reason}; {remedy}")
        self.device = device
        self.reason = reason
        self.remedy = remedy


class LinkLost(LinkError):
    """An open line went away: unplugged, powered off or out of range."""


class LinkRefused(LinkError):
    """The line cannot be opened: it does not exist, is busy or is not a serial line."""


class LinkAbsent(LinkRefused):
    """Nothing is there, as with a line that was unplugged, or nothing answers."""


class LinkBusy(LinkRefused):
    """Another program has the line."""


class InputError(ScaledError):
    """Something the user wrote is wrong.

    Attributes:
        where: File, address or option at fault.
        key: The place inside it (key, line, column), or "" when it is the whole.
        reason: What is wrong and what to do.
    """

    def __init__(self, where: str, key: str, reason: str) -> None:
        super().__init__(": ".join(part for part in (where, key, reason) if part))
        self.where = where
        self.key = key
        self.reason = reason


class ProfileError(InputError):
    """A build profile breaks its contract."""


class ConfigError(InputError):
    """The configuration or a command-line value is wrong."""


class RecordingError(InputError):
    """A recording cannot be read."""


class ServerError(InputError):
    """The station cannot listen where it was told to."""


class CommandRefused(ScaledError):
    """A screen asked for something that cannot be done now.

    Attributes:
        command: The command's name.
        reason: Why not, and what to do.
    """

    def __init__(self, command: str, reason: str) -> None:
        super().__init__(f"{command}: {reason}")
        self.command = command
        self.reason = reason


class JournalError(ScaledError):
    """The journal cannot be trusted or written.

    Attributes:
        path: The journal file.
        reason: What is wrong.
        remedy: What to do about it.
    """

    def __init__(self, path: str, reason: str, remedy: str) -> None:
        super().__init__(f"{path}: {reason}; {remedy}")
        self.path = path
        self.reason = reason
        self.remedy = remedy


class JournalBusy(JournalError):
    """Another daemon writes to the journal."""


def only_error(group: BaseExceptionGroup[BaseException]) -> BaseException:
    """The one error to tell when only one happened, or only such that a user can act on."""
    leaves = list(_leaves(group))
    told = len(leaves) == 1 or all(isinstance(leaf, ScaledError) for leaf in leaves)
    return leaves[0] if told else group


def _leaves(err: BaseException) -> Iterator[BaseException]:
    if isinstance(err, BaseExceptionGroup):
        for inner in err.exceptions:
            yield from _leaves(inner)
    else:
        yield err
