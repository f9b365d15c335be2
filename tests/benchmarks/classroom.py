"""Gives lessons on simulated scales, and examines what was learnt on bytes it never saw."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from drivers.described.decoder import decoder_maker
from drivers.learning.learn import Learnt, learn
from drivers.learning.lesson import Lesson, phases_noted
from scaled.core.reading import Reading
from scaled.protocol import Frame, load_driver
from simulators.display import Shown
from simulators.lesson import lesson, ordinary_use
from simulators.random_format import UNITS, random_format
from simulators.wire import WIRES

KNOWN_G = 200


@dataclass(frozen=True)
class Pupil:
    """A format to be learnt: how it writes, and the units on its scale's key."""

    name: str
    write: Callable[[Shown], bytes]
    units: tuple[str, ...] = UNITS


@dataclass(frozen=True)
class Mark:
    """How an examination went: frames read as shown, of how many, and the first that was not."""

    right: int
    asked: int
    wrong: str = ""

    @property
    def passed(self) -> bool:
        return 0 < self.asked == self.right


def shipped(name: str) -> Pupil:
    """A shipped format, as its simulator writes it."""
    wire, poll = WIRES[name](), load_driver(name).poll
    return Pupil(name, lambda one: wire.show(one) + (wire.answer(poll.request) if poll else b""))


def made_up(seed: int) -> Pupil:
    """A format drawn by chance."""
    drawn = random_format(seed)
    return Pupil(drawn.name, drawn.write, drawn.units)


def heard(pupil: Pupil, seed: int, known_g: int = KNOWN_G, division: str = "0.1g") -> Lesson:
    """A lesson with one known weight; it begins within a frame, as when one plugs in."""
    given = lesson(seed, known_g, pupil.units, division)
    pieces = [(one.t, pupil.write(one)) for one in given.shown]
    pieces[0] = (pieces[0][0], pieces[0][1][len(pieces[0][1]) // 2 :])
    return Lesson(pieces, phases_noted({f"at {t:.3f}": mark for t, mark in given.marks}, "here"))


def taught(pupil: Pupil, seed: int) -> Learnt | None:
    """What is learnt of it."""
    return learn(heard(pupil, seed))


def examined(pupil: Pupil, learnt: Learnt, seed: int, division: str = "0.1g") -> Mark:
    """Whether it reads later use of the same scale, frame by frame, as it was shown."""
    decoder = decoder_maker(learnt.description)()
    right = asked = 0
    wrong = ""
    for one in ordinary_use(seed, pupil.units, division):
        data = pupil.write(one)
        frames = decoder.feed(data, one.t)
        asked += 1
        if _as_shown(frames, one):
            right += 1
        else:
            wrong = wrong or f"{data!r} read as {frames}"
    return Mark(right, asked, wrong)


def _as_shown(frames: list[Frame], shown: Shown) -> bool:
    if len(frames) != 1 or not isinstance(frames[0], Reading):
        return False
    reading = frames[0]
    same = abs(reading.weight - float(shown.weight)) < 1e-9 and reading.unit == shown.unit
    return same and reading.stable == shown.stable
