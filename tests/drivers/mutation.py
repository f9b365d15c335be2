"""Frames of the captures, damaged in every way a line damages them, and what becomes of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from random import Random
from typing import Final

from drivers.hid_link import DESCRIPTOR, HEADER, REPORT, packet
from scaled.capture import all_bytes
from scaled.core.reading import Reading
from scaled.protocol import Decoder, Frame, load_driver
from tests.drivers.capturing import MESSAGES, capture

Damage = Callable[[bytes, int, Random], list[bytes]]

DAMAGES: Final[dict[str, Damage]] = {
    "byte lost": lambda frame, at, _: [frame[:at] + frame[at + 1 :]],
    "byte doubled": lambda frame, at, _: [frame[: at + 1] + frame[at:]],
    "bit flipped": lambda frame, at, _: [
        frame[:at] + bytes([frame[at] ^ 1 << bit]) + frame[at + 1 :] for bit in range(8)
    ],
    "byte changed": lambda frame, at, rng: [
        frame[:at] + bytes([rng.randrange(256)]) + frame[at + 1 :] for _ in range(4)
    ],
    "bytes swapped": lambda frame, at, _: [
        frame[:at] + frame[at : at + 2][::-1] + frame[at + 2 :]
    ],
    "cut short": lambda frame, at, _: [frame[:at]],
    "begun late": lambda frame, at, _: [frame[at + 1 :]],
    "interleaved": lambda frame, at, _: [frame[:at] + frame + frame[at:]],
    "noise within": lambda frame, at, rng: [frame[:at] + rng.randbytes(5) + frame[at:]],
    "wrong baud": lambda frame, at, rng: [
        bytes(rng.choice((0x00, 0x80, 0xE0, 0xF8, 0xFE, 0xFF)) for _ in frame[at:])
    ],
}
"""What a line does to a frame at one place in it."""


@dataclass
class Outcome:
    """What became of the damaged frames of one format.

    Attributes:
        dropped: Counted and thrown away.
        same: Read as what was sent.
        changed: Read as another weight, unit or mark, by damage: nothing in the frame told.
        lost_after: A whole frame after the next one was not read: must not happen.
        uncounted: Nothing was read and nothing counted: a HID device's other reports may be so.
    """

    dropped: int = 0
    same: int = 0
    changed: Counter[str] = field(default_factory=Counter)
    lost_after: int = 0
    uncounted: int = 0

    @property
    def cases(self) -> int:
        """All that were tried."""
        return self.dropped + self.same + self.changed.total() + self.uncounted


def damaged(frame: bytes, rng: Random) -> Iterator[tuple[str, bytes]]:
    """The frame with each damage at each place."""
    for kind, damage in DAMAGES.items():
        for at in range(len(frame)):
            for bad in damage(frame, at, rng):
                if bad != frame and bad.strip(b"\r\n \0"):
                    yield kind, bad


def run(name: str, seed: int = 1) -> Outcome:
    """Damage every frame of a capture, each time between whole ones."""
    rng = Random(seed)  # noqa: S311 -- repeatable on purpose
    recorded = capture(name)
    outcome, make = Outcome(), load_driver(recorded.notes["format"]).decoder
    data, before = all_bytes(recorded.chunks), b""
    wrap: Callable[[bytes], bytes] = bytes
    if name in MESSAGES:
        frames = [chunk.data for chunk in recorded.chunks]
    elif data.startswith(DESCRIPTOR):  # packets are our own: only what is in them can be damaged
        before, frames = _packets(data)
        wrap = _packed
    else:
        frames = list(_frames(data, make))
    # Below zero: nothing that stands before its sign can go unseen into it. Messages have ends.
    good = next(
        frame
        for frame in frames
        if name in MESSAGES or _is_negative(_read(make(), [before, wrap(frame)]))
    )
    for frame in frames:
        meant = _read(make(), [before, wrap(frame)])
        for kind, bad in damaged(frame, rng):
            decoder = make()
            stream = [before, *map(wrap, (good, bad, good, good))]
            _count(outcome, kind, _read(decoder, stream), (meant, decoder.dropped))
    return outcome


def _frames(data: bytes, make: Callable[[], Decoder]) -> Iterator[bytes]:
    """The shortest stretches of a stream that each say one thing, with their line ends."""
    decoder, begun = make(), 0
    for at in range(len(data)):
        told = decoder.feed(data[at : at + 1], 0.0)
        if told:
            starts = range(at, begun - 1, -1)
            start = next(i for i in starts if make().feed(data[i : at + 1], 0.0) == told)
            end = len(data) - len(data[at + 1 :].lstrip(b"\r\n"))
            yield data[start:end]
            begun = at + 1


def _packets(data: bytes) -> tuple[bytes, list[bytes]]:
    """The packet of the descriptor, and the reports."""
    contents, at = [], 0
    while at < len(data):
        _, size = HEADER.unpack_from(data, at)
        at += HEADER.size
        contents.append(data[at : at + size])
        at += size
    return packet(DESCRIPTOR, contents[0]), contents[1:]


def _is_negative(told: list[Frame]) -> bool:
    return any(isinstance(frame, Reading) and frame.weight < 0 for frame in told)


def _packed(report: bytes) -> bytes:
    return packet(REPORT, report) if report else b""


def _read(decoder: Decoder, stream: Sequence[bytes]) -> list[Frame]:
    return [frame for piece in stream if piece for frame in decoder.feed(piece, 0.0)]


def _count(outcome: Outcome, kind: str, told: list[Frame], rest: tuple[list[Frame], int]) -> None:
    meant, dropped = rest
    good, *middle = told
    if not middle or middle.pop() != good:
        outcome.lost_after += 1
    if middle[-1:] == [good]:  # the whole one right after the damaged one may go with it
        middle.pop()
    if any(frame not in (*meant, good) for frame in middle):
        outcome.changed[kind] += 1
    elif middle:
        outcome.same += 1
    elif dropped:
        outcome.dropped += 1
    else:
        outcome.uncounted += 1
