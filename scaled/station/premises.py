"""What the stations of one daemon share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from scaled.catalogue import ProfileSource, parse_source

if TYPE_CHECKING:
    from datetime import datetime

    from scaled.core.profile import BuildProfile
    from scaled.station.writer import Writer

Find: TypeAlias = Callable[[str, Sequence[Path]], ProfileSource]
"""How a profile is found by its name in some folders."""


@dataclass(frozen=True, slots=True)
class Standard:
    """A build profile and the text it was read from."""

    text: str
    profile: BuildProfile


@dataclass(frozen=True, slots=True)
class Clocks:
    """What time it is.

    Attributes:
        clock: Seconds from any origin, never backwards.
        now: The wall clock, with its offset from UTC.
    """

    clock: Callable[[], float]
    now: Callable[[], datetime]


@dataclass(frozen=True, slots=True)
class Premises:
    """What the stations of one daemon share.

    Attributes:
        writer: The journal, open for writing.
        journal: Its file.
        profiles: Folders of build profiles, before the shipped ones.
        clocks: What time it is.
        software: Version of this program.
    """

    writer: Writer
    journal: Path
    profiles: tuple[Path, ...]
    clocks: Clocks
    software: str

    def read_standard(self, find: Find, name: str) -> Standard:
        """The profile of that name as it stands now; blocking.

        Raises:
            InputError: It cannot be had.
        """
        source = find(name, self.profiles)
        return Standard(source.text, parse_source(source, name))
