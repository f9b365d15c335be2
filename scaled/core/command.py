"""What a person may tell the core about the build on the pan."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Next:
    """The open step is done: go on, whatever it weighs."""


@dataclass(frozen=True, slots=True)
class Undo:
    """The last finished step is not done after all: reopen it."""


@dataclass(frozen=True, slots=True)
class Confirm:
    """Answer a check that no scale can see."""

    confirm: str
    held: bool = True


@dataclass(frozen=True, slots=True)
class Note:
    """Attach a remark to the build."""

    text: str


Command = Next | Undo | Confirm | Note
