"""What a person, or another scale, may tell the core about a build."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scaled.core.transit import Transit


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


@dataclass(frozen=True, slots=True)
class Expect:
    """A build that left another scale may be set down here."""

    transit: Transit


@dataclass(frozen=True, slots=True)
class Forget:
    """A build that was expected will not come: it is on another scale."""

    origin: str


@dataclass(frozen=True, slots=True)
class Collect:
    """A build that left this scale is on another one."""

    build: int


Command = Next | Undo | Confirm | Note | Expect | Forget | Collect
