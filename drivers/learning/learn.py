"""Learns a description from a lesson: tries what may be, and keeps what reads the lesson best."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Final

from drivers.described.decoder import decoder_maker
from drivers.learning.checks import checked, find_checksum
from drivers.learning.cutting import framings
from drivers.learning.describe import describe
from drivers.learning.sheet import Sheet
from drivers.learning.verdict import Verdict, judge
from drivers.learning.window import find_windows

if TYPE_CHECKING:
    from collections.abc import Iterator

    from drivers.described.model import Checksum, ScaleFormat
    from drivers.learning.cutting import Framing
    from drivers.learning.lesson import Lesson

MOST_DATA: Final = 256 * 1024
"""Bytes in the longest lesson; one of two minutes at a fast scale has half of it."""

_TRIED: Final = 6
"""Places of the number tried for each way to cut the stream: of those that can be described the
right one is among the first."""
_LOOKED: Final = 40
"""Places looked at for that: where all numbers have as many digits, many columns fit them."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """What was learnt: a format, and how well it reads the lesson."""

    description: ScaleFormat
    verdict: Verdict


def learn(lesson: Lesson) -> Learnt | None:
    """The description that reads this lesson best; None when there is none.

    Never raises on any bytes. The same lesson gives the same description.
    """
    if len(lesson.data) > MOST_DATA:
        return None
    best: Learnt | None = None
    for description in _descriptions(lesson):
        verdict = judge(lesson, decoder_maker(description)(), description)
        if verdict.reads and (best is None or verdict.score > best.verdict.score):
            best = Learnt(description, verdict)
    return best


def _descriptions(lesson: Lesson) -> Iterator[ScaleFormat]:
    for framing in framings(lesson.data):
        checksum = find_checksum(framing)
        sheet = _sheet(lesson, framing, checksum)
        rests = sheet.rests()
        if len({rest.phase for rest in rests}) < len(lesson.phases):
            continue  # in some phase nothing was heard that can be cut so
        windows = find_windows(sheet, rests)[:_LOOKED]
        described = (describe(framing, checksum, sheet, window, rests) for window in windows)
        yield from islice((each for each in described if each is not None), _TRIED)


def _sheet(lesson: Lesson, framing: Framing, checksum: Checksum | None) -> Sheet:
    frames = checked(framing, checksum)
    phases = lesson.phases_at([frame.ends_at - 1 for frame in frames])
    return Sheet([frame.text for frame in frames], [lesson.phases[at] for at in phases])
