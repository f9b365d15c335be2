"""What was learnt, in words: what is sure, and what the lesson could not show."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from drivers.described.field import BitsField, SkipField, StatusField, UnitField, WeightField
from drivers.described.file import format_toml
from drivers.learning.lesson import Deed
from scaled.core.wording import quoted

if TYPE_CHECKING:
    from collections.abc import Iterator

    from drivers.described.model import Frame, ScaleFormat
    from drivers.learning.learn import Learnt
    from drivers.learning.lesson import Lesson

_POINTS: Final = {".": "a decimal point", ",": "a decimal comma", "none": "no decimal sign"}
_FLAGS: Final = frozenset({"stable", "unstable"})


class Finding(NamedTuple):
    """One line of what was learnt, and whether the lesson showed it."""

    sure: bool
    text: str

    def __str__(self) -> str:
        return f"{'sure' if self.sure else 'not sure'}: {self.text}"


def findings(learnt: Learnt, lesson: Lesson) -> list[Finding]:
    """What is sure, then what is not."""
    description = learnt.description
    deeds = {phase.deed for phase in lesson.phases}
    said = [
        _framing(description.frame),
        *_checksum(description.frame),
        *_weight(description, deeds),
        *_unit(description, deeds),
        *_status(description),
        *_loose(description),
        Finding(False, "overload and underload: not shown; such frames are dropped and counted"),
    ]
    read, dropped = learnt.verdict.readings, learnt.verdict.dropped
    said.insert(0, Finding(True, f"{read} frames read as they should be, {dropped} not read"))
    return sorted(said, key=lambda finding: not finding.sure)


def described_toml(learnt: Learnt, lesson: Lesson) -> str:
    """The description as a file, with what is sure and what not in its first lines."""
    comments = "".join(f"# {finding}\n" for finding in findings(learnt, lesson))
    return comments + format_toml(learnt.description)


def _framing(frame: Frame) -> Finding:
    start = f"begin with {_named(frame.start)}" if frame.start else ""
    if frame.length:
        end = f"have {frame.length} bytes"
    elif frame.by_line:
        end = "are lines"
    else:
        end = f"end with {_named(frame.end or '')}"
    return Finding(True, "frames " + " and ".join(part for part in (start, end) if part))


def _named(text: str) -> str:
    return quoted(text) if text.isprintable() else text.encode("latin-1").hex(" ").upper()


def _checksum(frame: Frame) -> Iterator[Finding]:
    check = frame.checksum
    if check is None:
        yield Finding(False, "checksum: none of the known kinds is there")
        return
    yield Finding(True, f"checksum: {check.kind} over {', '.join(check.over)}, {check.written}")


def _weight(description: ScaleFormat, deeds: set[Deed]) -> Iterator[Finding]:
    weight = next(field for field in description.fields if isinstance(field, WeightField))
    width = f"{weight.width} columns" if weight.width else "as many digits as it needs"
    yield Finding(True, f"number: {width}, {_POINTS[weight.decimal]}")
    if Deed.BELOW_ZERO in deeds:
        yield Finding(True, f"sign: {weight.sign}")
    else:
        yield Finding(False, f"sign: nothing below zero was shown; taken to be {weight.sign}")


def _unit(description: ScaleFormat, deeds: set[Deed]) -> Iterator[Finding]:
    unit = next((field for field in description.fields if isinstance(field, UnitField)), None)
    weight = next(field for field in description.fields if isinstance(field, WeightField))
    if unit is None:
        one = f"never said; taken to be {weight.unit} always" if weight.unit else "never said"
        yield Finding(False, f"unit: {one}")
    elif Deed.UNIT_KEY in deeds:
        yield Finding(True, f"unit: {', '.join(unit.words) or 'its usual name'}")
    else:
        yield Finding(False, "unit: the key was not pressed; other units may look different")


def _status(description: ScaleFormat) -> Iterator[Finding]:
    meanings: set[str] = set()
    for field in description.fields:
        if isinstance(field, StatusField):
            meanings |= set(field.words.values())
        elif isinstance(field, BitsField):
            meanings |= set(field.bits.values())
    if meanings & _FLAGS:
        yield Finding(True, "stable mark: differs between motion and rest")
    else:
        yield Finding(False, "stable mark: nothing differs between motion and rest")
    if "ignored" in meanings:
        yield Finding(False, "words whose meaning was not shown are ignored")


def _loose(description: ScaleFormat) -> Iterator[Finding]:
    skipped = sum(isinstance(field, SkipField) for field in description.fields)
    if skipped:
        yield Finding(False, f"bytes that change and could not be explained: {skipped} fields")
