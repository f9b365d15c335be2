"""Finds the number in the frames: the place where the known weights can be read."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise, product
from typing import TYPE_CHECKING, Final, TypeAlias

from drivers.learning.lesson import Deed
from drivers.learning.sheet import units_of
from drivers.learning.written import Written, written_in

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from drivers.learning.sheet import Rest, Sheet
    from scaled.core.reading import Unit

_WIDEST: Final = 14
_FREE: Final = {
    point: re.compile(rf"(?<![0-9])(?<![0-9]\{point})[+-]?[0-9]+(?:\{point}[0-9]+)?[+-]?")
    for point in ".,"
}
"""Numbers of any width by their decimal sign; the other sign may part two of them."""
_READABLE: Final = 0.9
"""Share of the frames in which the number must be readable; others may show none."""

_WITHIN: Final = 0.98
"""Share of the numbers that must lie within what was put on: a status digit before the number
makes it a thousand times too large while the load moves."""

_FEW: Final = 4
"""Values of a digit that is a status or a unit, at most; a number's last one has all ten or, with
divisions of 2 and 5, known fewer."""

_RESTLESS: Final = 0.25
"""Share of the changes before it, while the load moves, with which a number's last digit changes
too, at least: one with divisions of 5 in every second. A status that is a digit changes when the
load begins to move and when it rests."""

_SIGNS: Final = frozenset("+- ")
_DECIMALS: Final = re.compile(r"[0-9]\.$")
"""What stands before decimals that were taken for a number."""

_UNIT_CHANGES: Final = 6
"""Times the unit is changed in a lesson, at most, and with it the decimals; a digit of the number
itself changes with every frame while the load moves."""

Span: TypeAlias = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Window:
    """Where the number stands in a frame.

    Attributes:
        begin, end: Columns, from the left, or from the right when negative; ``end`` 0 is the
            frame's end.
        nth: Instead, which of the frame's numbers it is.
        point: The decimal sign of those numbers.
        places: Decimals that are only understood.
        places_at: Column, from the end of the number, of the digit that tells the decimals.
    """

    begin: int = 0
    end: int = 0
    nth: int | None = None
    point: str = "."
    places: int = 0
    places_at: int | None = None

    def span(self, text: str) -> Span | None:
        """Where it is in this frame, None when the frame is too short."""
        if self.nth is not None:
            found = list(_FREE[self.point].finditer(text))
            return found[self.nth].span() if self.nth < len(found) else None
        size = len(text)
        begin = self.begin if self.begin >= 0 else size + self.begin
        end = self.end if self.end > 0 else size + self.end
        return (begin, end) if 0 <= begin < end <= size else None

    def read(self, text: str) -> Written | None:
        """The number there, None when there is none."""
        span = self.span(text)
        written = written_in(text[slice(*span)]) if span else None
        if span is None or written is None:
            return None
        places = self.places
        if self.places_at is not None:
            digit = text[span[1] + self.places_at : span[1] + self.places_at + 1]
            if not digit or digit not in "0123456":
                return None
            places = int(digit)
        if not places:
            return written
        return Written(written.value / 10**places, "", places, written.digits)


def find_windows(sheet: Sheet, rests: Sequence[Rest]) -> list[Window]:
    """Where the number may stand, the likeliest first."""
    shown = [(sheet.texts[rest.last], rest) for rest in rests]
    found = [window for window in _windows(shown) if _fits(window, shown)]
    ranked = [(rank, window) for window in found if (rank := _rank(window, sheet)) is not None]
    return [window for _, window in sorted(ranked, key=lambda pair: pair[0], reverse=True)]


def unit_at(window: Window, text: str, rest: Rest) -> list[Unit]:
    """The units in which what stands there may be what was on the pan."""
    written = window.read(text)
    return units_of(written.value, rest.phase, 10.0**-written.decimals) if written else []


def _windows(shown: Sequence[tuple[str, Rest]]) -> Iterator[Window]:
    texts = [text for text, _ in shown]
    shortest = min(map(len, texts))
    same = all(len(text) == shortest for text in texts)
    for begin in range(shortest):
        for end in range(begin + 1, min(shortest, begin + _WIDEST) + 1):
            yield from _with_places(Window(begin, end), texts, fixed=True)
    if same:
        return
    for end in range(shortest):
        for begin in range(end + 1, min(shortest, end + _WIDEST) + 1):
            yield from _with_places(Window(-begin, -end), texts, fixed=True)
    for nth, point in product(range(4), ".,"):
        yield from _with_places(Window(nth=nth, point=point), texts, fixed=False)


def _with_places(window: Window, texts: Sequence[str], *, fixed: bool) -> Iterator[Window]:
    """The same with each number of decimals that may be understood, where no point is written."""
    written = [window.read(text) for text in texts]
    if None in written:
        return
    yield window
    if any(one and one.point for one in written):
        return
    where = (window.begin, window.end, window.nth, window.point)
    yield from (Window(*where, places=places) for places in range(1, 5))
    if fixed:
        yield from (Window(*where, places_at=at) for at in range(3))


def _fits(window: Window, shown: Sequence[tuple[str, Rest]]) -> bool:
    """Whether the known weights can be read there."""
    return all(unit_at(window, text, rest) for text, rest in shown)


def _rank(window: Window, sheet: Sheet) -> tuple[float, ...] | None:
    """How likely it is; None when it cannot be."""
    written = [window.read(text) for text in sheet.texts]
    readable = [one for one in written if one is not None]
    if len(readable) < _READABLE * len(written):
        return None
    most = 1.5 * max(abs(one.value) for one in _settled(window, sheet))
    within = sum(abs(one.value) <= most for one in readable) / len(readable)
    if within < _WITHIN or not _last_digit_lives(window, sheet) or _is_cut(window, sheet):
        return None
    if window.places_at is not None and _changes(written) > _UNIT_CHANGES:
        return None
    span = window.span(sheet.texts[-1])
    width = span[1] - span[0] if span else 0
    edges = _edges(window, sheet)
    # Of whole numbers the free ones last: a column that holds for all frames says more.
    return (round(within, 1), edges, window.nth is None, window.places_at is not None, width)


def _changes(written: Sequence[Written | None]) -> int:
    """How often the number of decimals changed, or ceased to be one."""
    decimals = [one.decimals if one else None for one in written]
    return sum(a != b for a, b in pairwise(decimals))


def _settled(window: Window, sheet: Sheet) -> list[Written]:
    """The numbers at rest; there are always some."""
    texts = (sheet.texts[rest.last] for rest in sheet.rests())
    return [one for text in texts if (one := window.read(text)) is not None]


def _edges(window: Window, sheet: Sheet) -> int:
    """0 when a point before it, or a point or sign after it shows that it was cut short."""
    if window.nth is not None:
        return 1
    spans = [(text, window.span(text)) for text in sheet.texts]
    cuts = [(text[slice(*span)], text[span[1] : span[1] + 1]) for text, span in spans if span]
    if not any(inside[-1] != " " for inside, _ in cuts):
        return -1
    if any(_DECIMALS.search(text[: span[0]]) for text, span in spans if span):
        return 0
    signs = window.places_at is None and _SIGNS.issuperset(after for _, after in cuts)
    cut = any(
        after == "." or (signs and after == "-" and inside[-1].isdigit()) for inside, after in cuts
    )
    return 0 if cut else 1


def _is_cut(window: Window, sheet: Sheet) -> bool:
    """Whether a digit right behind it goes through digits as those of the number do."""
    spans = ((text, window.span(text)) for text in sheet.texts)
    pairs = [(text[slice(*span)], text[span[1] : span[1] + 1]) for text, span in spans if span]
    digits = [(inside, after) for inside, after in pairs if after.isdigit()]
    return len({after for _, after in digits}) > _FEW or _restless(digits)


def _restless(pairs: Sequence[tuple[str, str]]) -> bool:
    """Whether the digit that is second in each pair changes while what stands before it moves."""
    changes = [
        b[1] != c[1]
        for (a, b), (_, c) in pairwise(pairwise(pairs))
        if a[0] != b[0] and b[0] != c[0]
    ]
    return len(changes) > _FEW and sum(changes) >= _RESTLESS * len(changes)


def _last_digit_lives(window: Window, sheet: Sheet) -> bool:
    """Whether the last digit goes through digits as a scale's last one does.

    A status or unit that is a digit, right behind the number, has few values. In other units, at
    the unit key, a display has other steps.
    """
    seen: list[tuple[str, str]] = []
    values: set[float] = set()
    for text, phase in zip(sheet.texts, sheet.phases, strict=True):
        span = window.span(text)
        one = window.read(text)
        if span is None or one is None or phase.deed is Deed.UNIT_KEY:
            continue
        digits = re.sub("[^0-9]", "", text[slice(*span)])
        seen.append((digits[:-1], digits[-1]))
        values.add(one.value)
    last = {digit for _, digit in seen}
    steps = ({"0"}, {"0", "5"}, set("02468"))
    return len(values) < 12 or len(last) > _FEW or last in steps or _restless(seen)
