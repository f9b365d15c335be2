"""The gauge: a rail with the band that passes, the target and the needle."""

from __future__ import annotations

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from scaled.screens.band import BAND_FROM, BAND_TO
from scaled.screens.shown import Gauge

_NEEDLE = "▼"
_DONE, _BAND, _REST = "█", "▒", "░"


class Rail(Widget):
    """Needle and word above, the bar, limits and target below."""

    gauge: reactive[Gauge | None] = reactive[Gauge | None](None)

    def watch_gauge(self, gauge: Gauge | None) -> None:
        """Take the colour of what is said."""
        self.set_classes(f"-{gauge.role}" if gauge else "")

    def render(self) -> Content:
        """The rail; empty when no ingredient is due."""
        width, height = self.size
        if self.gauge is None:
            return Content("")
        bar = [_bar(self.gauge, width)] * max(1, height - 2)
        return Content("\n".join([_needle(self.gauge, width), *bar, _limits(self.gauge, width)]))


def _column(share: float, width: int) -> int:
    return min(width - 1, int(share * width))


def _pointed(share: float, width: int) -> int:
    """The needle's column; outside the band never on one of the band's."""
    at = _column(share, width)
    if share < BAND_FROM:
        return min(at, _column(BAND_FROM, width) - 1)
    return at if share <= BAND_TO else max(at, _column(BAND_TO, width) + 1)


def _needle(gauge: Gauge, width: int) -> str:
    if gauge.needle is None:
        return ""
    at = _pointed(gauge.needle, width)
    word = gauge.word
    if at > len(word):
        return f"{word} {_NEEDLE}".rjust(at + 1)
    return " " * at + f"{_NEEDLE} {word}"


def _bar(gauge: Gauge, width: int) -> str:
    done = 0 if gauge.needle is None else _pointed(gauge.needle, width) + 1
    first, last = _column(BAND_FROM, width), _column(BAND_TO, width)
    rest = "".join(_BAND if first <= at <= last else _REST for at in range(width))
    return _DONE * done + rest[done:]


def _limits(gauge: Gauge, width: int) -> str:
    """``119 └──── 128 ────┘ 137``, the brackets at the band's ends."""
    lower, target, upper = gauge.limits
    first, last = _column(BAND_FROM, width), _column(BAND_TO, width)
    inside = last - first - 1
    label = f" {target} "
    at = max(0, min(inside - len(label), _column(gauge.target, width) - first - len(label) // 2))
    band = "─" * at + label + "─" * (inside - at - len(label))
    return f"{f'{lower} ':>{first}}└{band}┘ {upper}"
